"""Where answers go: to stdout, everything else to stderr, a closed one ends quietly; and the folder of --out."""

import io
import os
import sys
from typing import TextIO

from simcal.errors import InputError, one_line

BEYOND_ASCII = "±µ³·–×"
"""What a table may hold on a stream that can do more than ASCII."""


def unicode_on_stdout() -> bool:
    """True when stdout's encoding has the characters of `BEYOND_ASCII`."""
    encoding = getattr(sys.stdout, "encoding", None) or "ascii"
    try:
        BEYOND_ASCII.encode(encoding)
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def say(text: str) -> bool:
    """Write an answer to stdout; what its encoding lacks becomes an escape. False once nobody reads it.

    Raises:
        InputError: stdout cannot be written, for another reason than its reader having left.
    """
    if sys.stdout is None:
        return False
    try:
        sys.stdout.write(_encodable(text, sys.stdout))
        sys.stdout.flush()
    except BrokenPipeError:
        _drop_stdout()
        return False
    except OSError as error:
        _drop_stdout()
        raise InputError("", "standard output", str(error.strerror), "a place that can be written") from error
    return True


def check_folder(directory: str | None, force: bool) -> None:
    """Refuse a folder of --out that cannot be used, before any work.

    Raises:
        InputError: it is there and not to be replaced, or nothing can be written there.
    """
    if directory is not None:
        from simcal.show.save import check_output_place

        check_output_place(directory, force)


def finish() -> None:
    """Bring out what is still buffered, so that the interpreter finds nothing to fail on at its end."""
    say("")


def complain(text: str) -> None:
    """Write one line to stderr."""
    complain_text(one_line(text) + "\n")


def complain_text(text: str) -> None:
    """Write a text to stderr; when nobody can read it, nothing happens."""
    if sys.stderr is None:
        return
    try:
        sys.stderr.write(_encodable(text, sys.stderr))
        sys.stderr.flush()
    except OSError:
        return


def _encodable(text: str, stream: TextIO) -> str:
    encoding = getattr(stream, "encoding", None) or "ascii"
    return text.encode(encoding, "backslashreplace").decode(encoding)


def _drop_stdout() -> None:
    """Point stdout at nothing; the code of the answer is still returned."""
    try:
        number = sys.stdout.fileno()
    except (OSError, io.UnsupportedOperation):
        return
    nothing = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, number)
    os.close(nothing)
