"""From a path to TOML data: size, encoding and syntax, each fault with its line and column."""

import os
import re
import stat
import tomllib
from pathlib import Path
from typing import Any

from simcal.errors import InputError
from simcal.files.examples import examples
from simcal.files.faults import near

LARGEST = 256 * 1024
"""Largest bench file read, bytes."""
WIDEST = 8000
"""Longest line read, characters."""
DEEPEST = 20
"""Deepest nesting of tables and arrays."""
_DOTS = 40  # outside quotes in one line; the time the TOML reader takes for a dotted key grows with their square
_QUOTED = re.compile(r'"(?:[^"\\]|\\.)*"|\'[^\']*\'')

_HINTS = (
    ("Cannot overwrite a value", "state each key once"),
    ("Cannot declare", "state each table once"),
    ("Cannot mutate immutable", "extend the table where it is written"),
    ("Unclosed array", "close the list with ]"),
    ("Unclosed inline table", "close the table with } on the same line"),
    ("Unterminated string", "close the text with a quote"),
    ("Illegal character", "close the text with a quote on the same line"),
    ("Expected newline or end of document", 'one key a line; a quantity stands in quotes, "20 cm3"'),
    ("Invalid value", 'a number as 0.3, true or false, all else in quotes, "20 cm3"'),
    ("Invalid statement", 'write key = "value" or [table]'),
    ("Expected '=' after a key", 'write key = "value"'),
    ("Invalid initial character for a key part", 'write key = "value"'),
    ("Unescaped '\\'", "write \\\\ for a backslash, or use single quotes"),
    ("Expected ']' at the end of a table declaration", "close the table's name with ]"),
)


_TABLES = (".csv", ".tsv")


def read_text(path: Path, shown: str, largest: int = LARGEST) -> str:
    """The text of a UTF-8 file (a byte order mark is dropped).

    Raises:
        InputError: missing, not a plain file, unreadable, too large, not UTF-8.
    """
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            raise InputError(shown, "", "is a folder", _inside(path))
        if not stat.S_ISREG(mode):
            raise InputError(shown, "", "is not a plain file", "the name of a TOML file")
        with path.open("rb") as file:
            raw = file.read(largest + 1)
    except FileNotFoundError:
        raise InputError(shown, "", "no such file", _neighbour(path)) from None
    except PermissionError:
        raise InputError(shown, "", "may not be read", "give yourself the right to read it") from None
    except (OSError, ValueError) as error:
        raise InputError(shown, "", f"cannot be read ({error})", "the name of a TOML file") from None
    if len(raw) > largest:
        raise InputError(shown, "", f"larger than {largest // 1024} kB", "a smaller file")
    return _decoded(raw, shown)


def read_toml_text(path: Path, shown: str) -> str:
    """The text of a TOML file; a table, as loggers write records, is refused by its name.

    Raises:
        InputError: as `read_text`, or it is a table.
    """
    if path.suffix.lower() in _TABLES and os.path.isfile(path):  # noqa: PTH113 - Path.is_file raises for a name too long
        right = "the name of a TOML file here; `simcal read` and `simcal judge` take records"
        raise InputError(shown, "", "is a table, as loggers write records", right)
    return read_text(path, shown)


def parse_toml(text: str, shown: str) -> dict[str, Any]:
    """The data of a TOML text.

    Raises:
        InputError: with line and column of the syntax fault, or when it is nested too deeply.
    """
    for number, line in enumerate(text.split("\n"), start=1):
        if len(line) > WIDEST:
            raise InputError(shown, f"line {number}", f"{len(line)} characters", "break the line into several")
        if line.count(".") > _DOTS and _QUOTED.sub("", line).count(".") > _DOTS:
            raise InputError(shown, f"line {number}", f"more than {_DOTS} points outside quotes", "a shorter line")
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _syntax(str(error), text, shown) from None
    except (RecursionError, OverflowError, ValueError) as error:
        what = "nested too deeply" if isinstance(error, RecursionError) else f"cannot be read ({error})"
        raise InputError(shown, "", what, "a simpler file") from None
    if _depth(data) > DEEPEST:
        raise InputError(shown, "", f"tables nested deeper than {DEEPEST}", "a simpler file")
    return data


def _decoded(raw: bytes, shown: str) -> str:
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise InputError(shown, "line 1, column 1", "UTF-16 text", "save the file as UTF-8")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = raw[: error.start]
        line = before.count(b"\n") + 1
        column = len(before.rpartition(b"\n")[2].decode("utf-8", "replace")) + 1
        found = f"byte 0x{raw[error.start]:02X} is not UTF-8"
        raise InputError(shown, f"line {line}, column {column}", found, "save the file as UTF-8") from None


def _syntax(message: str, text: str, shown: str) -> InputError:
    at = re.search(r" \(at line (\d+), column (\d+)\)$", message)
    if at:
        place, message = f"line {at.group(1)}, column {at.group(2)}", message[: at.start()]
    else:
        lines = text.split("\n")
        place = f"line {len(lines)}, column {len(lines[-1]) + 1}"
        message = message.removesuffix(" (at end of document)")
    right = next((hint for start, hint in _HINTS if message.startswith(start)), "TOML as in the examples")
    return InputError(shown, place, message[:1].lower() + message[1:], right)


def _depth(data: Any) -> int:
    deepest, stack = 0, [(data, 1)]
    while stack:
        part, depth = stack.pop()
        deepest = max(deepest, depth)
        if depth > DEEPEST:
            break
        inner = part.values() if isinstance(part, dict) else part
        stack.extend((one, depth + 1) for one in inner if isinstance(one, (dict, list)))
    return deepest


def _inside(path: Path) -> str:
    """What to say to a folder: the answer it holds, else what else could have been meant."""
    if (path / "result.json").is_file():
        return f"did you mean {path.name}/result.json?"
    return _neighbour(path)


def _neighbour(path: Path) -> str:
    """What to say where there is no such file: one that lies there, or one that is shipped, of nearly that name."""
    if path.suffix.lower() == ".json":
        return "the result.json of an earlier run"
    name = path.name.removesuffix(".toml")
    try:
        beside = [one.stem for one in sorted(path.parent.glob("*.toml"))[:200]]
    except (OSError, ValueError):
        beside = []
    try:
        shipped = [one.name for one in examples()]
    except (InputError, OSError):
        shipped = []
    if name in shipped and name not in beside:
        return f"`simcal example {name}` copies the shipped file of that name here"
    if close := near(name, beside):
        return f"did you mean {close}.toml?"
    if close := near(name, shipped):
        return f"did you mean the shipped {close}? `simcal example {close}` copies it here"
    return "the name of a TOML file; `simcal example` lists the shipped ones"
