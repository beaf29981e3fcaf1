"""A record that still grows: a file that a logger appends to, or lines that come through standard input.

Both hand over bytes as they come and say how long nothing has come. The file is looked at by its size, because a notice
of changes is not to be had on every drive; input is read by a thread of its own, because a pipe cannot be asked
everywhere whether it holds something.
"""

from __future__ import annotations

import os
import queue
import stat
import threading
import time
from pathlib import Path
from typing import Protocol

from simcal.errors import InputError
from simcal.files.records.source import LARGEST, encoding_of

KEPT = 4096
"""bytes of the beginning that are compared at every change: a logger that began anew is noticed"""
PIECE = 65536
RIGHT = "a file that only grows while it is followed"


class Growing(Protocol):
    """Where rows come from: all bytes so far, whether more may come, and for how long none came."""

    raw: bytearray
    closed: bool

    def take(self, wait_s: float) -> bool:
        """Take in what comes within `wait_s`; whether something did."""

    def quiet_s(self) -> float:
        """Seconds since something came."""


class GrowingFile:
    """A file that is appended to; it need not be there yet.

    Raises InputError where it is no plain file, may not be read, becomes shorter or is replaced.
    """

    def __init__(self, path: Path, shown: str) -> None:
        self.path, self.shown = path, shown
        self.raw = bytearray()
        self.closed = False
        self.file: tuple[int, int] | None = None
        self.changed = time.monotonic()
        found = self._status()
        if found is not None:  # when it changed last, by the clock that its drive stamps it with
            self.changed -= max(time.time() - found.st_mtime, 0.0)

    def take(self, wait_s: float) -> bool:
        """Wait, then take in what was appended; whether something was."""
        if wait_s > 0.0:
            time.sleep(wait_s)
        first = self.file is None
        found = self._status()
        if found is None:
            if not first:
                raise InputError(self.shown, "", "was taken away while it was followed", RIGHT)
            return False
        if not first and self.file != (found.st_dev, found.st_ino):
            raise InputError(self.shown, "", "was replaced by another file while it was followed", RIGHT)
        self.file = found.st_dev, found.st_ino
        if found.st_size < len(self.raw):
            size = f"{len(self.raw)} bytes, then {found.st_size}"
            raise InputError(self.shown, "", f"became shorter while it was followed ({size})", RIGHT)
        if found.st_size == len(self.raw):
            return False
        came = self._read()
        if came and not first:
            self.changed = time.monotonic()
        return came

    def quiet_s(self) -> float:
        """Seconds since it grew; before it was seen to grow, since its last change."""
        return time.monotonic() - self.changed

    def _status(self) -> os.stat_result | None:
        try:
            found = self.path.stat()
        except FileNotFoundError:
            return None
        except (OSError, ValueError) as error:
            raise InputError(self.shown, "", f"cannot be read ({error})", "the name of a logger's file") from None
        if not stat.S_ISREG(found.st_mode):
            what = "is a folder" if stat.S_ISDIR(found.st_mode) else "is not a plain file"
            raise InputError(self.shown, "", what, "the name of a logger's file")
        return found

    def _read(self) -> bool:
        """Append what is new; the beginning must still be what it was."""
        start = bytes(self.raw[:KEPT])
        try:
            with self.path.open("rb") as file:
                if file.read(len(start)) != start:
                    raise InputError(self.shown, "", "was written anew while it was followed", RIGHT)
                file.seek(len(self.raw))
                more = file.read(LARGEST + 1 - len(self.raw))
        except FileNotFoundError:
            return False  # the next look at it says so
        except PermissionError:
            raise InputError(self.shown, "", "may not be read", "give yourself the right to read it") from None
        except OSError as error:
            raise InputError(self.shown, "", f"cannot be read ({error})", "the name of a logger's file") from None
        self.raw += more
        _check_size(self.raw, self.shown)
        return bool(more)


class GrowingInput:
    """Bytes from an open descriptor, read by a thread that ends with the process."""

    def __init__(self, descriptor: int, shown: str) -> None:
        self.shown = shown
        self.raw = bytearray()
        self.closed = False
        self.changed = time.monotonic()
        self.pieces: queue.Queue[bytes] = queue.Queue(maxsize=64)
        threading.Thread(target=self._read, args=(descriptor,), name="simcal-input", daemon=True).start()

    def _read(self, descriptor: int) -> None:
        while True:
            try:  # not through sys.stdin: its lock, held by a waiting thread, would keep the process from ending
                piece = os.read(descriptor, PIECE)
            except OSError:
                piece = b""
            self.pieces.put(piece)
            if not piece:
                return

    def take(self, wait_s: float) -> bool:
        """Wait for the first piece, then take in all that is there; whether something came."""
        if self.closed:
            return False
        before = len(self.raw)
        try:
            piece = self.pieces.get(timeout=max(wait_s, 0.0)) if wait_s > 0.0 else self.pieces.get_nowait()
            while piece:
                self.raw += piece
                _check_size(self.raw, self.shown)
                piece = self.pieces.get_nowait()
            self.closed = True
        except queue.Empty:
            pass
        if len(self.raw) > before:
            self.changed = time.monotonic()
        return len(self.raw) > before

    def quiet_s(self) -> float:
        """Seconds since something came."""
        return time.monotonic() - self.changed


def whole_lines(raw: bytearray, encoding: str | None = None) -> bytes:
    """The bytes up to the end of the last whole line: one that is still being written may break even a character.

    encoding: as stated in an about-file, else by the first bytes.
    """
    name = (encoding or encoding_of(bytes(raw[:KEPT]))[0]).lower()
    width = {"utf-16": 2, "utf-32": 4}.get(name[:6], 1)
    if width == 1:
        at = raw.rfind(b"\n")
        return bytes(raw[: (at if at >= 0 else raw.rfind(b"\r")) + 1])
    big = name.endswith("be") or bytes(raw[:2]) in (b"\xfe\xff", b"\0\0")
    end = "\n".encode(f"{name[:6]}-{'be' if big else 'le'}")
    at = raw.rfind(end)
    while at > 0 and at % width:
        at = raw.rfind(end, 0, at + width - 1)
    return bytes(raw[: at + width]) if at >= 0 else b""


def _check_size(raw: bytearray, shown: str) -> None:
    if len(raw) > LARGEST:
        raise InputError(shown, "", f"larger than {LARGEST // 2**20} MB", "a part of it")
