"""`simcal example` and `simcal keys`."""

import json
import re
import tomllib

import pytest

BENCH = "hard-piped-6bar"


def test_every_shipped_file_is_listed_with_its_first_line(simcal):
    ran = simcal("example")
    assert (ran.code, ran.err) == (0, "")
    assert f"{BENCH}: A hard-piped bench" in ran.out
    listed = json.loads(simcal("example", "--json").out)
    assert listed["schema"] == "simcal/example/1"
    assert BENCH in [one["name"] for one in listed["examples"]]


def test_an_example_is_copied_here_and_never_over_a_file(simcal, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    ran = simcal("example", BENCH)
    assert (ran.code, ran.out.splitlines()[0]) == (0, f"{BENCH}.toml")
    copied = tmp_path / f"{BENCH}.toml"
    assert tomllib.loads(copied.read_text(encoding="utf-8"))["schema"] == "simcal/bench/1"
    copied.write_text("mine", encoding="utf-8")
    again = simcal("example", BENCH)
    assert (again.code, again.out) == (2, "")
    assert "is already there" in again.err
    assert copied.read_text(encoding="utf-8") == "mine"


def test_an_unknown_example_names_the_nearest(simcal):
    ran = simcal("example", "hard-piped-6br")
    assert (ran.code, ran.out) == (2, "")
    assert f'did you mean "{BENCH}"?' in ran.err


def test_keys_show_unit_range_and_default(simcal):
    ran = simcal("keys")
    assert (ran.code, ran.err) == (0, "")
    assert re.search(r"^volume\.NAME\.capacity: .*\n    volume \[.*\]; .*", ran.out, re.M)
    assert "gas: the gas\n    one of nitrogen, air, helium, argon; required\n" in ran.out
    assert max(map(len, ran.out.splitlines())) <= 200


def test_keys_of_one_kind_of_file_or_one_table(simcal):
    every = [simcal("keys", kind).out for kind in ("bench", "about", "lab")]
    assert simcal("keys").out == "\n".join(every)
    volumes = json.loads(simcal("keys", "volume", "--json").out)
    assert volumes["schema"] == "simcal/keys/1"
    assert volumes["keys"]
    assert all(row["key"].startswith("volume.NAME.") and row["file"] == "bench" for row in volumes["keys"])


@pytest.mark.parametrize("kind", ["volumes", "gas"])
def test_an_unknown_kind_names_all(simcal, kind):
    ran = simcal("keys", kind)
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.startswith(f'command line: KIND: "{kind}"; one of bench, about, lab, room, ')
