"""A record kept inside an answer, so that it can be judged again: its text while that is short, always its hash."""

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from simcal.errors import InputError

LONGEST = 1_000_000
"""Bytes of a record whose text is kept, at most; of a longer one the hash alone."""
EXACT, BYTES = "utf-8", "latin-1"
"""How the bytes are written as text: by what they say, or, where they are no UTF-8, one character a byte."""


def keep(path: Path) -> dict[str, Any]:
    """sha256 of the file's bytes, its text (None beyond `LONGEST`), and the encoding that gives the bytes back."""
    with path.open("rb") as file:
        found = hashlib.file_digest(file, "sha256").hexdigest()
        size = file.tell()
        file.seek(0)
        raw = file.read() if size <= LONGEST else None
    if raw is None:
        return {"sha256": found, "text": None, "encoding": None}
    try:
        return {"sha256": found, "text": raw.decode(EXACT), "encoding": EXACT}
    except UnicodeDecodeError:
        return {"sha256": found, "text": raw.decode(BYTES), "encoding": BYTES}


def kept(entry: Mapping[str, Any], name: str, shown: str, folder: Path) -> bytes:
    """The bytes of a kept record; one that was too long is looked for in `folder` under its name.

    Raises:
        InputError: it is not there, or the bytes do not fit the hash. `shown` is the answer's file.
    """
    text, encoding = entry.get("text"), entry.get("encoding")
    if isinstance(text, str) and encoding in (EXACT, BYTES):
        try:
            raw = text.encode(encoding)
        except UnicodeEncodeError:
            raise InputError(
                shown, f"inputs.{name}.text", "is not what was read", "the result as it was written"
            ) from None
    else:
        try:
            raw = (folder / Path(name).name).read_bytes()
        except OSError:
            found = "the record was too long to be kept, and is not beside this file"
            raise InputError(shown, f"inputs.{name}", found, f"a copy of {name} there") from None
    if hashlib.sha256(raw).hexdigest() != entry.get("sha256"):
        raise InputError(shown, f"inputs.{name}.sha256", "does not fit the record", "the record that was judged")
    return raw
