"""Run again from a result.json and say `equal`, or the first key that differs and both its values."""

import json
import re
from pathlib import Path
from typing import Any

from simcal import errors
from simcal.cli import output
from simcal.cli.answer import answer, document_of
from simcal.cli.asked import Asked, usage
from simcal.errors import InputError

LARGEST = 64 * 2**20
"""Largest result.json read, bytes."""
LAST = ("sentence", "version", "arguments", "inputs")
"""Keys compared after all others, so that a changed number is named before the words that tell it."""
NOT_COMPARED = ("files",)
"""Keys that only a saved document has."""
COMMAND = re.compile(r"simcal/(settle|hold|judge|criterion|cover|year)/\d+")
"""Schema of a result that can run again, and its command."""
ALONE = "result.json alone, with --workers or --json; it holds what was asked"
LETTERS = 60
"""Longest value shown beside a key that differs."""


def settle(path: str, workers: int | None, as_json: bool, quiet: bool) -> int:
    """Repeat the run that wrote `path`; 0 when the answer is equal, 1 when a key differs.

    Raises:
        InputError: the file is no complete result of `settle`.
    """
    before = read(path, "simcal/settle/1")
    asked = Asked(**arguments_of(before, path, SETTLE))
    bench = asked.load(texts_of(before, path))
    return compare(before, document_of(answer(bench, asked, workers, quiet), bench, asked), as_json)


def refuse_options(argument: str, given: bool, right: str = ALONE) -> None:
    """Refuse what would ask otherwise than the result.json that is run again."""
    if given:
        raise usage(argument, "an earlier result together with other options", right)


def compare(before: dict[str, Any], now: dict[str, Any], as_json: bool) -> int:
    """Say `equal`, or the first key that differs between two documents; the exit code."""
    from simcal.show.jsonout import first_difference

    different = first_difference(_in_order(before), _in_order(now))
    first, saved, new = different or (None, None, None)
    if as_json:
        said = {"schema": "simcal/again/1", "equal": different is None, "first": first, "saved": saved, "now": new}
        output.say(json.dumps(said, allow_nan=False) + "\n")
    else:
        output.say("equal\n" if different is None else f"{first}: saved {_value(saved)}, now {_value(new)}\n")
    return errors.GOOD if different is None else errors.BAD_NEWS


def _value(value: Any) -> str:
    """A value of a document on one short line."""
    text = json.dumps(value)
    return text if len(text) <= LETTERS else f"{text[:LETTERS]}..."


def read(path: str, schema: str) -> dict[str, Any]:
    """The document of a result.json of that schema.

    Raises:
        InputError: not readable, not JSON, or the answer of another command.
    """
    from simcal.files.source import read_text

    text = read_text(Path(path), path, LARGEST)
    try:
        document = json.loads(text, parse_constant=_no_number)
    except json.JSONDecodeError as error:
        raise InputError(
            path, f"line {error.lineno}, column {error.colno}", error.msg, "the JSON that simcal wrote"
        ) from None
    except (RecursionError, ValueError) as error:
        raise InputError(path, "", f"cannot be read ({error})", "the JSON that simcal wrote") from None
    if not isinstance(document, dict) or document.get("schema") != schema:
        found = document.get("schema") if isinstance(document, dict) else type(document).__name__
        other = COMMAND.fullmatch(found) if isinstance(found, str) else None
        hint = f"; it is of another command: simcal {other[1]} {path}" if other else ""
        raise InputError(path, "schema", f"{found!r}", f'"{schema}"{hint}')
    return document


def _no_number(name: str) -> None:
    raise ValueError(f"{name} is no number of JSON")


def _in_order(document: dict[str, Any]) -> dict[str, Any]:
    first = [key for key in document if key not in (*LAST, *NOT_COMPARED)]
    return {key: document[key] for key in [*first, *(key for key in LAST if key in document)]}


Kinds = dict[str, tuple[type, ...]]
TEXT, OPTIONAL = (str,), (str, type(None))
SETTLE: Kinds = {
    "bench": TEXT,
    "device": OPTIONAL,
    "sequence": OPTIONAL,
    "trials": (int,),
    "groups": (int, type(None)),
    "dwell": OPTIONAL,
    "seed": (int,),
    "set": (list,),
    "self_check": (bool,),
}


def arguments_of(document: dict[str, Any], path: str, kinds: Kinds) -> dict[str, Any]:
    """What was asked, from the document's `arguments`; every value is checked, a file may come from anywhere."""
    arguments = document.get("arguments")
    if not isinstance(arguments, dict):
        raise InputError(path, "arguments", "absent", "a complete result")
    for key, kind in kinds.items():
        value = arguments.get(key)
        if not isinstance(value, kind) or (isinstance(value, bool) and bool not in kind):
            raise InputError(path, f"arguments.{key}", repr(value)[:80], "what simcal wrote there")
    return {key: tuple(map(str, arguments[key])) if key == "set" else arguments[key] for key in kinds}


def texts_of(document: dict[str, Any], path: str) -> dict[str, str]:
    """The recorded inputs by name, each held against its hash."""
    from simcal.show.jsonout import hash_of

    inputs = document.get("inputs")
    if not isinstance(inputs, dict):
        raise InputError(path, "inputs", "absent", "a complete result")
    texts: dict[str, str] = {}
    for name, one in inputs.items():
        text = one.get("text") if isinstance(one, dict) else None
        if not isinstance(text, str):
            raise InputError(path, f"inputs.{name}", "no text", "what simcal wrote there")
        if hash_of(text) != one.get("sha256"):
            raise InputError(path, f"inputs.{name}.sha256", "does not fit the text", "the result as simcal wrote it")
        texts[name] = text
    return texts
