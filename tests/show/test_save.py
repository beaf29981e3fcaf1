"""A saved folder is whole or not there, never replaces what simcal did not write, and reads back exactly."""

import csv
import json
from pathlib import Path

import pytest

from simcal.errors import InputError
from simcal.show import save
from simcal.show.jsonout import settle_document
from simcal.show.rows import cell
from simcal.show.save import check_output_place, save_settle, save_whole
from tests.show import fabricated

MADE = {"result.json": b'{"schema": "simcal/settle/1", "files": ["result.json", "a.csv"]}', "a.csv": b"x\n1\n"}


def put(place: Path, force: bool = False) -> None:
    """Save a made-up answer."""
    result = fabricated.grouped(fabricated.settled(3, devices=("one", "=two"), trials=5))
    save_settle(result, settle_document(result, None, {"bench": "six.toml"}), place, force)


@pytest.fixture(scope="module")
def saved(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One folder for the tests that only read."""
    place = tmp_path_factory.mktemp("saved") / "out"
    put(place)
    return place


def test_everything_is_in_the_folder_and_nothing_is_beside_it(saved: Path) -> None:
    names = {path.name for path in saved.iterdir()}
    stems = ("run", "dwell", "margins")
    tables = {"points.csv", "devices.csv", "assumed.csv", "groups.csv", "run.csv", "sensitivity.csv", "trials.csv"}
    assert names >= {"result.json", "page.html", *tables, *(f"{s}.{e}" for s in stems for e in ("svg", "png"))}
    assert names == set(json.loads((saved / "result.json").read_text(encoding="utf-8"))["files"])
    assert [path.name for path in saved.parent.iterdir()] == ["out"]


def test_tables_are_utf8_with_plain_point_decimals(saved: Path) -> None:
    with (saved / "points.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    document = json.loads((saved / "result.json").read_text(encoding="utf-8"))
    assert [float(row["dwell_s"]) for row in rows] == [p["dwell_s"] for p in document["points"]]
    assert [row["error_part_line_Pa"] for row in rows] == [
        repr(p["error_parts_Pa"]["line"]) for p in document["points"]
    ]


def test_a_name_cannot_become_a_formula_in_a_spreadsheet(saved: Path) -> None:
    assert ",'=two," in (saved / "devices.csv").read_text(encoding="utf-8")
    assert [cell(v) for v in ("=1", "-x", -1.5, float("nan"), None, True, "a\nb")] == [
        "'=1", "'-x", "-1.5", "", "", "true", "a b",
    ]  # fmt: skip


def test_an_existing_folder_is_refused_unless_forced(tmp_path: Path) -> None:
    place = tmp_path / "out"
    save_whole(place, MADE)
    with pytest.raises(InputError, match=r"out exists already; a new name, or --force to replace it"):
        check_output_place(place)
    save_whole(place, {**MADE, "a.csv": b"x\n2\n"}, force=True)
    assert (place / "a.csv").read_bytes() == b"x\n2\n"
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_force_never_removes_what_simcal_did_not_write(tmp_path: Path) -> None:
    place = tmp_path / "out"
    save_whole(place, MADE)
    (place / "notes.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match=r"holds notes\.txt, which simcal did not write"):
        check_output_place(place, force=True)
    with pytest.raises(InputError, match=r"holds notes\.txt"):
        save_whole(place, MADE, force=True)
    assert (place / "notes.txt").read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize(
    "result", ["", "[]", "{}", "no json", '{"schema": "other", "files": ["result.json"]}', "[" * 100_000]
)
def test_a_folder_with_another_result_json_is_not_ours(tmp_path: Path, result: str) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out/result.json").write_text(result, encoding="utf-8")
    with pytest.raises(InputError, match=r"holds result\.json, which simcal did not write"):
        check_output_place(tmp_path / "out", force=True)


def test_an_empty_folder_may_be_replaced_a_file_or_a_link_not(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    check_output_place(tmp_path / "empty", force=True)
    (tmp_path / "file").write_text("x", encoding="utf-8")
    (tmp_path / "link").symlink_to(tmp_path / "empty")
    (tmp_path / "broken").symlink_to(tmp_path / "nowhere")
    for name in ("file", "link", "broken"):
        with pytest.raises(InputError, match="is not a folder"):
            check_output_place(tmp_path / name, force=True)
        with pytest.raises(InputError, match="exists already"):
            check_output_place(tmp_path / name)


def test_the_folder_one_stands_in_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "in").mkdir()
    monkeypatch.chdir(tmp_path / "in")
    for place in (".", "..", tmp_path):
        with pytest.raises(InputError, match="the folder you are in"):
            check_output_place(place, force=True)


@pytest.mark.parametrize("place", ["missing/out", "file/out"])
def test_a_place_that_cannot_be_written_is_refused_before_any_work(tmp_path: Path, place: str) -> None:
    (tmp_path / "file").write_text("x", encoding="utf-8")
    with pytest.raises(InputError, match="cannot write in"):
        check_output_place(tmp_path / place)


def test_a_failing_write_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = Path.write_bytes

    def full(path: Path, content: bytes) -> int:
        if path.name == "page.html":
            raise OSError(28, "No space left on device")
        return real(path, content)

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(InputError, match=r"cannot write .*out \(No space left on device\)"):
        put(tmp_path / "out")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("which", [1, 2])
def test_a_failing_rename_keeps_the_old_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, which: int) -> None:
    place = tmp_path / "out"
    save_whole(place, MADE)
    real, calls = Path.rename, []

    def fails(path: Path, target: Path) -> Path:
        calls.append(path)
        if len(calls) == which:
            raise OSError(13, "Permission denied")
        return real(path, target)

    monkeypatch.setattr(Path, "rename", fails)
    with pytest.raises(InputError, match="Permission denied"):
        save_whole(place, {**MADE, "a.csv": b"new"}, force=True)
    assert (place / "a.csv").read_bytes() == b"x\n1\n"
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_a_defect_while_drawing_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> dict[str, bytes]:
        raise ZeroDivisionError

    monkeypatch.setattr(save, "_contents", broken)
    with pytest.raises(ZeroDivisionError):
        put(tmp_path / "out")
    assert list(tmp_path.iterdir()) == []


def test_the_folder_has_the_rights_of_any_new_folder(saved: Path) -> None:
    other = saved.parent.with_name(f"{saved.parent.name}-other")
    other.mkdir()
    assert saved.stat().st_mode == other.stat().st_mode
