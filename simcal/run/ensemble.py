"""An ensemble: many trials in chunks, each summed up or dropped before the next, and kept on disk until the end.

Trial i must depend on its number alone (`stats.streams` gives it its own random numbers): then trial i of 100 is trial
i of 10,000, and the rows are the same, bit for bit, on any number of workers, and whether chunks were computed now or
taken up from an interrupted run.
"""

import hashlib
import io
import shutil
import zipfile
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from simcal import cache
from simcal.run.many import Progress, run_many

Rows = dict[str, NDArray[np.float64]]
"""Name -> one row a trial: what the trials of a chunk found"""

Many = Callable[[int, int, Progress | None], list[Mapping[str, ArrayLike]]]
"""(first, count, progress) -> what the trials found, in order"""
CHUNK = 64
"""Trials of a chunk: what an interruption may cost, and what is in memory at a time"""
_START = "ensemble-"
_HERE = Path(__file__).resolve().parent.parent


class Store:
    """Chunks of an unfinished ensemble in the user's cache; without a cache nothing is kept and all is computed.

    Its folder is named by a hash of `asked` (everything that decides the numbers: inputs, arguments, seed), of the
    version and of the sources. Chunks of an earlier run are taken up only with `resume`, else they go.
    """

    def __init__(self, asked: str, resume: bool = False) -> None:
        base = cache.folder()
        self._folder = None if base is None else base / (_START + _hash(asked))
        self.taken_up = 0
        if not resume and self._folder is not None:
            shutil.rmtree(self._folder, ignore_errors=True)

    def read(self, name: str, first: int, last: int) -> Rows | None:
        """The chunk of trials first to last - 1; None when it is not there or not whole."""
        if self._folder is None:
            return None
        try:
            content = io.BytesIO(self._place(self._folder, name, first, last).read_bytes())
            with np.load(content, allow_pickle=False) as found:
                rows = {key: found[key] for key in found.files}
        except (OSError, ValueError, EOFError, zipfile.BadZipFile):
            return None
        if any(len(one) != last - first for one in rows.values()):
            return None
        self.taken_up += last - first
        return rows

    def write(self, name: str, first: int, last: int, rows: Rows) -> None:
        """Keep a chunk, whole or not at all; a full disk costs only the resuming. The folder is made by the first."""
        if self._folder is None:
            return
        self._folder = cache.subfolder(self._folder.name)
        if self._folder is None:
            return
        content = io.BytesIO()
        np.savez(content, allow_pickle=False, **rows)
        try:
            cache.write_whole(self._place(self._folder, name, first, last), content.getvalue())
        except OSError:
            self._folder = None
            return
        cache.used(self._folder)
        cache.drop_unused(self._folder, _START)

    def drop(self) -> None:
        """The ensemble is finished: nothing needs to be taken up."""
        if self._folder is not None:
            shutil.rmtree(self._folder, ignore_errors=True)
            self._folder = None

    @staticmethod
    def _place(folder: Path, name: str, first: int, last: int) -> Path:
        return folder / f"{name}-{first}-{last}.npz"


def chunks(
    trial: Callable[[int], Mapping[str, ArrayLike]], count: int, *, first: int = 0, name: str = "trials",
    store: Store | None = None, workers: int | None = None, progress: Progress | None = None, size: int = CHUNK,
    many: Many | None = None,
) -> Iterator[Rows]:  # fmt: skip
    """Rows of the trials `first` to `first + count - 1`, chunk after chunk in their order.

    Args:
        trial: number -> name -> numbers, for every trial the same names and shapes.
        count: how many.
        first: the number of the first one.
        name: of this ensemble among those of one command.
        store: where chunks are kept until `Store.drop`.
        workers: threads; None: one for each core.
        progress: told how many trials are done.
        size: trials of a chunk.
        many: computes (first, count, progress) in another way than on threads.
    """
    end = first + count
    for begin in range(first, end, size):
        last = min(begin + size, end)
        rows = store.read(name, begin, last) if store is not None else None
        if rows is None:
            tell = _part(progress, begin - first, count)
            if many is None:
                found = run_many(_from(trial, begin), last - begin, workers, tell)
            else:
                found = many(begin, last - begin, tell)
            rows = {key: np.array([one[key] for one in found], dtype=np.float64) for key in found[0]}
            if store is not None:
                store.write(name, begin, last, rows)
        elif progress is not None:
            progress(last - first, count)
        yield rows


def together(parts: Iterator[Rows]) -> Rows:
    """All rows of an ensemble whose rows are few enough to hold; empty for no trial."""
    found = list(parts)
    return {key: np.concatenate([rows[key] for rows in found]) for key in found[0]} if found else {}


def _from(trial: Callable[[int], Mapping[str, ArrayLike]], begin: int) -> Callable[[int], Mapping[str, ArrayLike]]:
    return lambda number: trial(begin + number)


def _part(progress: Progress | None, before: int, count: int) -> Progress | None:
    return None if progress is None else lambda done, _count: progress(before + done, count)


def _hash(asked: str) -> str:
    """Names what was asked of this version of the sources."""
    digest = hashlib.sha256(f"{cache.version()}|{asked}|".encode())
    for path in sorted(_HERE.rglob("*.py")):
        digest.update(path.relative_to(_HERE).as_posix().encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()[:24]
