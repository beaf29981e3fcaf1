"""An answer's folder: written beside its place under a passing name, then renamed; whole or not at all."""

import json
import secrets
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from simcal.analysis.settle.result import SettleResult
from simcal.errors import InputError
from simcal.show.scales import Setting

RESULT = "result.json"
"""By this file, and the list of files in it, a folder of simcal's is known."""


def save_settle(
    result: SettleResult,
    document: Mapping[str, Any],
    directory: Path | str,
    force: bool = False,
    setting: Setting | None = None,
) -> None:
    """Write result.json, tables as CSV, figures as SVG and PNG, and page.html into a new folder.

    Args:
        result: the answer.
        document: its JSON document, see `jsonout.settle_document`.
        directory: the folder to make; it appears only when complete.
        force: replace a folder that an earlier run made and that holds nothing else.
        setting: the bench's setting; None takes it from the document.

    Raises:
        InputError: the place is not usable, or became so while writing; what stood there before is untouched.
    """
    place = Path(directory)
    check_output_place(place, force)
    save_whole(place, _contents(result, document, setting or Setting.of_document(document)), force)


def _contents(result: SettleResult, document: Mapping[str, Any], setting: Setting) -> dict[str, bytes]:
    from simcal.show.figures import png, settle_drawings, svg
    from simcal.show.page import settle_page
    from simcal.show.rows import settle_tables

    drawings = settle_drawings(result, setting)
    contents = settle_tables(result)
    shown = {}
    for drawing in drawings:
        shown[drawing.name] = contents[f"{drawing.name}.svg"] = svg(drawing, result.version)
        contents[f"{drawing.name}.png"] = png(drawing, result.version)
    contents["page.html"] = settle_page(result, document, setting, drawings, shown)
    listed = {**document, "files": sorted([*contents, RESULT])}
    contents[RESULT] = (json.dumps(listed, indent=1, allow_nan=False) + "\n").encode("ascii")
    return contents


def save_whole(directory: Path, contents: Mapping[str, bytes], force: bool = False) -> None:
    """Make `directory` with these files; a failure leaves the place as it was.

    Raises:
        InputError: it cannot be written.
    """
    place = Path(directory).absolute()
    made = place.with_name(f".{place.name}.{secrets.token_hex(4)}.part")
    try:
        made.mkdir()
        for name, content in contents.items():
            (made / name).parent.mkdir(exist_ok=True)
            (made / name).write_bytes(content)
        _put(made, place, force)
    except OSError as error:
        raise _refused(f"cannot write {directory} ({error.strerror})", "a folder that can be written") from error
    finally:
        shutil.rmtree(made, ignore_errors=True)


def _put(made: Path, place: Path, force: bool) -> None:
    """Rename the complete folder into its place, the old one out of the way first."""
    if not _exists(place):
        made.rename(place)
        return
    check_output_place(place, force)  # it may have come while we worked
    old = place.with_name(f".{place.name}.{secrets.token_hex(4)}.old")
    place.rename(old)
    try:
        made.rename(place)
    except OSError:
        old.rename(place)
        raise
    shutil.rmtree(old, ignore_errors=True)


def check_output_place(directory: Path | str, force: bool = False) -> None:
    """Return when `directory` can be made, or replaced with `force`: asked before any work.

    Raises:
        InputError: it cannot, with what would be right.
    """
    place = Path(directory)
    if _exists(place):
        if not force:
            raise _refused(f"{place} exists already", "a new name, or --force to replace it")
        _check_replaceable(place)
    parent = place.absolute().parent
    try:
        with tempfile.TemporaryDirectory(dir=parent, prefix=".simcal-"):
            return
    except OSError as error:
        raise _refused(f"cannot write in {parent} ({error.strerror})", "a folder that can be written") from error


def _check_replaceable(place: Path) -> None:
    """Only a folder that simcal made and that nobody has put anything into is ever removed."""
    if place.is_symlink() or not place.is_dir():
        raise _refused(f"{place} is not a folder", "a new name; --force replaces a folder that simcal made")
    if place.resolve() in [Path.cwd(), *Path.cwd().parents]:
        raise _refused(f"{place} is the folder you are in", "a new name")
    listed = _listed(place / RESULT)
    known = listed | {Path(name).parent.as_posix() for name in listed}
    foreign = sorted({entry.relative_to(place).as_posix() for entry in place.rglob("*")} - known)
    if foreign:
        raise _refused(f"{place} holds {foreign[0]}, which simcal did not write", "a new name, or move it away first")


def _listed(result: Path) -> set[str]:
    """The files an earlier run wrote, from its own list; none when there is no such list."""
    try:
        document = json.loads(result.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return set()
    if not isinstance(document, dict) or not str(document.get("schema", "")).startswith("simcal/"):
        return set()
    files = document.get("files")
    return {name for name in files if isinstance(name, str)} if isinstance(files, list) else set()


def _exists(place: Path) -> bool:
    return place.is_symlink() or place.exists()


def _refused(found: str, right: str) -> InputError:
    return InputError("command line", "--out", found, right)
