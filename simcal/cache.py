"""Where simcal keeps what it may compute again: one private folder, whole files, and the version's name."""

import functools
import logging
import os
import stat
import tempfile
from pathlib import Path

log = logging.getLogger("simcal")


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
