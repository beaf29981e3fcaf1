"""Where simcal keeps what it may compute again: one private folder, whole files, and the version's name."""

import contextlib
import functools
import logging
import os
import shutil
import stat
import tempfile
import time
from pathlib import Path

log = logging.getLogger("simcal")

KEPT = 8
"""Folders of other versions that are kept however long ago they were used."""
UNUSED_DAYS = 30.0
"""Beyond those, days after its last use at which a folder goes: another checkout may be at work with it until then."""
STAMP = ".used"
"""The file whose time says when a folder was last used."""


def version() -> str:
    """Version of the installed distribution, "0+unknown" when the sources are used without an install."""
    from importlib import metadata

    try:
        return metadata.version("simcal-engine")
    except metadata.PackageNotFoundError:
        return "0+unknown"


def folder() -> Path | None:
    """The cache folder, made when missing; None when there is no place to write (said once, as a warning).

    SIMCAL_CACHE_DIR names it, else the user's cache folder of the platform.
    """
    return _made(os.environ.get("SIMCAL_CACHE_DIR") or _users_folder())


def subfolder(name: str) -> Path | None:
    """A folder of that name inside the cache folder, readable by this user only (0700).

    None when there is no cache folder or when what stands there belongs to somebody else: compiled code is
    loaded from it, so it must be ours.
    """
    base = folder()
    if base is None:
        return None
    path = base / name
    try:
        path.mkdir(mode=0o700, exist_ok=True)
        return path if _ours(path) else None
    except OSError:
        return None


def used(path: Path) -> None:
    """Note that a folder of the cache is used now."""
    with contextlib.suppress(OSError):
        (path / STAMP).touch(mode=0o600)


def drop_unused(current: Path, start: str) -> None:
    """Remove the folders beside `current` whose names begin with `start` and that nobody has used for long.

    The `KEPT` used last stay, and so does every one used within `UNUSED_DAYS`.
    """
    others = [path for path in current.parent.glob(f"{start}*") if path != current and path.is_dir()]
    others.sort(key=_last_use, reverse=True)
    for path in others[KEPT:]:
        if time.time() - _last_use(path) > UNUSED_DAYS * 86400.0:
            shutil.rmtree(path, ignore_errors=True)


def write_whole(path: Path, content: bytes) -> None:
    """Write `content` so that `path` is either the old file or the whole new one, also after a crash.

    Raises:
        OSError: the folder is not writable.
    """
    handle, part = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        Path(part).replace(path)
    except BaseException:
        Path(part).unlink(missing_ok=True)
        raise


def _last_use(path: Path) -> float:
    """When a folder was last used, s since the epoch; by the folder itself where no stamp was set."""
    for one in (path / STAMP, path):
        with contextlib.suppress(OSError):
            return one.stat().st_mtime
    return 0.0


def _users_folder() -> str:
    import platformdirs

    return platformdirs.user_cache_dir("simcal", appauthor=False)


@functools.cache
def _made(place: str) -> Path | None:
    path = Path(place)
    try:
        if not path.is_absolute() and not os.environ.get("SIMCAL_CACHE_DIR"):
            raise OSError("no home folder")  # the platform's answer starts with an unexpanded "~"
        path.mkdir(mode=0o700, parents=True, exist_ok=True)
        _try_writing(path)
    except OSError as error:
        reason = error.strerror or str(error)
        log.warning("no cache (%s: %s): the engine compiles anew in each run; SIMCAL_CACHE_DIR names a folder",
                    path, reason)  # fmt: skip
        return None
    return path.absolute()


def _try_writing(path: Path) -> None:
    handle, name = tempfile.mkstemp(dir=path, prefix=".probe.")
    os.close(handle)
    Path(name).unlink()


def _ours(path: Path) -> bool:
    """True for a real folder of this user that nobody else may write."""
    found = os.lstat(path)
    if not stat.S_ISDIR(found.st_mode):
        return False
    if os.name != "posix":
        return True
    return found.st_uid == os.geteuid() and not found.st_mode & 0o022
