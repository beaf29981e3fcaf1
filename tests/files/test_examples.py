"""The shipped files are found and copied whole, never over a file."""

import pytest

from simcal.errors import InputError
from simcal.files import examples as shipped
from simcal.files.examples import copy_example, examples


def configs(tmp_path):
    """A folder of shipped files of our own: one bench that includes another file."""
    place = tmp_path / "configs"
    place.mkdir()
    (place / "one.toml").write_text(
        '# The first bench.\nschema = "simcal/bench/1"\ninclude = ["devices.toml"]\n', "utf-8"
    )
    (place / "devices.toml").write_text("# Devices.\n", "utf-8")
    return place


def test_the_shipped_files_are_listed_with_kind_and_first_comment():
    names = {one.name: one for one in examples()}
    assert names["hard-piped-6bar"].kind == "bench"
    assert names["hard-piped-6bar"].line.startswith("A hard-piped bench")
    assert all(one.line for one in names.values())


def test_a_copy_brings_what_it_includes(tmp_path):
    target = tmp_path / "here"
    target.mkdir()
    made = copy_example("one", target, configs(tmp_path))
    assert sorted(path.name for path in target.iterdir()) == ["devices.toml", "one.toml"]
    assert [path.name for path in made] == ["one.toml", "devices.toml"]


def test_a_copy_brings_the_record_that_it_is_about(tmp_path):
    place, target = configs(tmp_path), tmp_path / "here"
    target.mkdir()
    (place / "two.toml").write_text('# A record.\nschema = "simcal/about/1"\n', "utf-8")
    (place / "two.csv").write_bytes(b"t_s,p_bar\n")
    assert [path.name for path in copy_example("two", target, place)] == ["two.toml", "two.csv"]
    assert (target / "two.csv").read_bytes() == b"t_s,p_bar\n"


def test_a_copy_never_goes_over_a_file_and_then_copies_nothing(tmp_path):
    place, target = configs(tmp_path), tmp_path / "here"
    target.mkdir()
    (target / "devices.toml").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match=r"devices.toml: is already there; another folder, or move it away"):
        copy_example("one.toml", target, place)
    assert [path.name for path in target.iterdir()] == ["devices.toml"]
    assert (target / "devices.toml").read_text(encoding="utf-8") == "mine"


def test_a_copy_that_fails_half_way_leaves_nothing(tmp_path, monkeypatch):
    place, target = configs(tmp_path), tmp_path / "here"
    target.mkdir()
    real = shipped._move

    def broken(whole, final):
        if final.name == "devices.toml":
            raise OSError(28, "No space left on device")
        real(whole, final)

    monkeypatch.setattr(shipped, "_move", broken)
    with pytest.raises(InputError, match=r"here: cannot be written to \(No space left on device\)"):
        copy_example("one", target, place)
    assert list(target.iterdir()) == []


def test_an_unknown_name_and_a_target_that_is_no_folder_are_refused(tmp_path):
    place = configs(tmp_path)
    with pytest.raises(InputError, match=r'command line: NAME: no example "on"; did you mean "one"\?'):
        copy_example("on", tmp_path, place)
    with pytest.raises(InputError, match="nowhere: is no folder; a folder that exists"):
        copy_example("one", tmp_path / "nowhere", place)
