"""From a path to the text of a record: size, kind of file, encoding, and its lines in blocks."""

import codecs
import io
import re
import stat
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from simcal.errors import InputError

LARGEST = 200 * 2**20
"""Largest record read, bytes."""
WIDEST = 20_000
"""Longest line taken for a row, characters."""
BLOCK = 4 * 2**20
"""Characters read at a time."""
SAMPLE = 64 * 1024
"""Bytes of the head, the middle and the tail that the form is found from."""
_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_OTHERS = (
    (b"PK\x03\x04", "is a workbook or an archive"),
    (b"\xd0\xcf\x11\xe0", "is an old workbook"),
    (b"\x1f\x8b", "is compressed"),
    (b"%PDF", "is a PDF"),
    (b"\x89PNG", "is a picture"),
    (b"\x89HDF", "is a binary data file"),
)
_NOT_UTF8 = "the bytes are not UTF-8"
_TWINS = str.maketrans({"−": "-", "\u00a0": " ", "\u202f": " ", "\u2009": " ", "\u2007": " ", "\ufeff": ""})


@dataclass(frozen=True)
class Source:
    """The bytes of a record with their encoding, and why it is this one ("" when the user said so)."""

    shown: str
    raw: bytes
    encoding: str
    why: str

    def blocks(self, skip: int = 0) -> Iterator[list[str]]:
        """All lines after the first `skip` in blocks, each with its end if it has one."""
        with io.TextIOWrapper(io.BytesIO(self.raw), encoding=self.encoding, errors="replace", newline=None) as text:
            for _ in range(skip):
                text.readline()
            while lines := text.readlines(BLOCK):
                yield lines

    def head(self, size: int = SAMPLE) -> list[str]:
        """The first lines."""
        return self._lines(0, size)

    def elsewhere(self, size: int = SAMPLE // 4) -> list[str]:
        """Lines from the middle and the tail, without those cut by the edges; none in a short file."""
        if len(self.raw) < SAMPLE + 2 * size:
            return []
        middle = len(self.raw) // 2 & ~3
        return self._lines(middle, middle + size)[1:-1] + self._lines((len(self.raw) - size) & ~3, len(self.raw))[1:-1]

    def terminated(self) -> bool:
        """Whether the last line has its end."""
        return self._lines((len(self.raw) - 64) & ~3 if len(self.raw) > 64 else 0, len(self.raw))[-1:] == [""]

    def _lines(self, start: int, end: int) -> list[str]:
        encoding = self.encoding
        if start and encoding in ("utf-16", "utf-32"):
            low = self.raw[:1] == b"\xff"
            encoding += "-le" if low else "-be"
        text = self.raw[start:end].decode(encoding, "replace")
        return text.replace("\r\n", "\n").replace("\r", "\n").split("\n")


_OURS = re.compile(rb'^\s*"?schema"?\s*[=:]\s*"simcal/(\w+)/', re.MULTILINE)
_KINDS = {
    b"bench": ("is a bench file", "`simcal settle` and `simcal hold` take it; a record is what a logger wrote"),
    b"about": ("is an about-file", "the record itself, beside which it lies or to which --about FILE gives it"),
}
_ANSWER = ("is an answer of simcal", "a record, as a logger wrote it; `simcal judge` runs its own result.json again")


def open_source(path: Path, shown: str, encoding: str | None = None, raw: bytes | None = None) -> Source:
    """The file with its encoding: as stated, by its mark, UTF-8, else Western (cp1252).

    Raises:
        InputError: missing, no plain file, unreadable, empty, too large, no text, not in the stated encoding.
    """
    raw = _bytes(path, shown) if raw is None else raw
    if not raw.strip(b"\0\r\n\t "):
        raise InputError(shown, "", "is empty", "a logger's file with a table of numbers")
    for start, what in _OTHERS:
        if raw.startswith(start):
            raise InputError(shown, "", what, "export the table as CSV text")
    ours = _OURS.search(raw[:SAMPLE])
    if ours:
        raise InputError(shown, "", *_KINDS.get(ours.group(1), _ANSWER))
    found, why = (encoding, "") if encoding else encoding_of(raw)
    line = _first_undecodable(raw, found)
    if line and not why:
        raise InputError(shown, f"line {line}", f"is not {found}", "file.encoding as the file is written")
    if line:
        found, why = "cp1252", _NOT_UTF8
    return Source(shown, raw, found, why)


def tidy(line: str) -> str:
    """A line without what has no meaning in a table: look-alikes become their ASCII twins."""
    return line if line.isascii() else line.translate(_TWINS)


def _bytes(path: Path, shown: str) -> bytes:
    try:
        mode = path.stat().st_mode
        if not stat.S_ISREG(mode):
            what = "is a folder" if stat.S_ISDIR(mode) else "is not a plain file"
            raise InputError(shown, "", what, "the name of a logger's file")
        with path.open("rb") as file:
            raw = file.read(LARGEST + 1)
    except FileNotFoundError:
        raise InputError(shown, "", "no such file", "the name of a logger's file") from None
    except PermissionError:
        raise InputError(shown, "", "may not be read", "give yourself the right to read it") from None
    except (OSError, ValueError) as error:
        raise InputError(shown, "", f"cannot be read ({error})", "the name of a logger's file") from None
    if len(raw) > LARGEST:
        raise InputError(shown, "", f"larger than {LARGEST // 2**20} MB", "a part of it")
    return raw


def encoding_of(raw: bytes) -> tuple[str, str]:
    """Encoding and why, from the first bytes."""
    for mark, name in _MARKS:
        if raw.startswith(mark):
            return name, "its byte order mark"
    head = raw[:4096]
    even, odd = head[0::2].count(0), head[1::2].count(0)
    pairs = max(len(head) // 2, 1)
    if odd > 0.4 * pairs and even < 0.1 * pairs:
        return "utf-16-le", "every second byte is zero"
    if even > 0.4 * pairs and odd < 0.1 * pairs:
        return "utf-16-be", "every second byte is zero"
    return "utf-8", "the bytes are UTF-8"


def _first_undecodable(raw: bytes, encoding: str) -> int:
    """The line of the first byte that is not of the encoding, 0 when all are."""
    decoder = codecs.getincrementaldecoder(encoding)("strict")
    step = 2**20
    for start in range(0, len(raw), step):
        try:
            decoder.decode(raw[start : start + step], final=start + step >= len(raw))
        except UnicodeDecodeError as error:
            return raw[: start + error.start].count(b"\n") + 1
    return 0
