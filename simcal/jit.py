"""The one door to the compiler: `kernel`, and a cache that notices a change in any kernel's source.

The compiler's own file cache looks at the file of a function, not at the files of what it calls. Here the cache
folder is named by a hash of all kernel sources and of the versions that matter, so that a change anywhere
compiles anew. NUMBA_DISABLE_JIT=1 leaves all kernels plain Python.
"""

import functools
import hashlib
import logging
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar, cast

import numba
from numba.core import event

from simcal import cache

log = logging.getLogger("simcal")

ABOUT_S = 40
"""Seconds that the first compile takes on a machine of two ordinary cores; said to the user, nothing else."""

Function = TypeVar("Function", bound=Callable[..., Any])
_SETTINGS: Any = numba.config
_NJIT: Any = numba.njit
_HERE = Path(__file__).resolve().parent
_ROOMS = ("physics", "control", "engine")
_FILES = ("jit.py", "tables/gas.py")


def kernel(function: Function) -> Function:
    """Compile `function` on first use, without the interpreter's lock, with IEEE division; cached on disk.

    Products and sums may be contracted into one rounding, as C compilers do: machines may differ in the last digit.

    Arrays are not counted inside (`_nrt`), which would cost more than the arithmetic: a kernel makes none, it works in
    what the caller hands in.
    """
    return _compiled(function)


def inlined(function: Function) -> Function:
    """As `kernel`, and written out wherever it is called: for small functions in a loop that counts nanoseconds."""
    return _compiled(function, forceinline=True)


def merged(function: Function) -> Function:
    """As `inlined`, and not compiled by itself: its text becomes part of its caller's, of which there should be one.

    A function that is compiled on its way into another costs the whole of its machine code twice.
    """
    return _compiled(function, inline="always")


def summed(function: Function) -> Function:
    """As `inlined`, for sums whose terms may be added in any order, so that the compiler makes vectors of them."""
    return _compiled(function, forceinline=True, fastmath={"reassoc", "contract"})


def _compiled(function: Function, **options: Any) -> Function:
    place = folder()
    with _numba_cache_at(place):
        options = {"fastmath": {"contract"}} | options | {"cache": place is not None, "nogil": True, "_nrt": False}
        compiled: Any = _NJIT(error_model="numpy", **options)(function)
    return cast(Function, compiled)


@functools.cache
def folder() -> Path | None:
    """The folder of this version's compiled kernels, None without a cache or without the compiler."""
    if _SETTINGS.DISABLE_JIT:
        return None
    place = cache.subfolder(f"kernels-{fingerprint()}")
    if place is not None:
        cache.used(place)
        cache.drop_unused(place, "kernels-")
    return place


@functools.cache
def fingerprint() -> str:
    """Sixteen hexadecimal digits that change with any kernel source, the compiler and the interpreter."""
    digest = hashlib.sha256(f"{sys.version}|{numba.__version__}|{_HERE}".encode())
    for path in sources():
        digest.update(path.relative_to(_HERE).as_posix().encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()[:16]


def sources() -> list[Path]:
    """The files whose text is compiled, in a fixed order."""
    rooms = [path for room in _ROOMS for path in (_HERE / room).rglob("*.py")]
    files = [_HERE / name for name in _FILES]
    return sorted(path for path in [*rooms, *files] if path.is_file())


@contextmanager
def _numba_cache_at(place: Path | None) -> Iterator[None]:
    """The compiler's cache folder for the functions decorated inside; a user's own functions keep theirs."""
    before = _SETTINGS.CACHE_DIR
    _SETTINGS.CACHE_DIR = str(place) if place is not None else before
    try:
        yield
    finally:
        _SETTINGS.CACHE_DIR = before


class _Announce(event.Listener):
    """Says once that compiling takes a while, and adds up what it took."""

    def __init__(self) -> None:
        self.said = False

    def on_start(self, event: event.Event) -> None:
        dispatcher = (event.data or {}).get("dispatcher")
        module = getattr(getattr(dispatcher, "py_func", None), "__module__", "") or ""
        if self.said or not module.startswith("simcal."):
            return
        self.said = True
        log.warning("compiling the engine once, about %d s", ABOUT_S)

    def on_end(self, event: event.Event) -> None:
        pass


event.register("numba:compile", _Announce())
