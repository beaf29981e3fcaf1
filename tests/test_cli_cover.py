"""`simcal cover`: text, JSON, folder, running again, exit codes."""

import csv
import json
import re

import jsonschema
import pytest

from tests.analysis.labs import HEAD, READING, instrument, sensor
from tests.test_cli_hold import SCHEMAS

SCHEMA = json.loads((SCHEMAS / "cover.schema.json").read_text(encoding="utf-8"))
PARTS = (
    instrument("gauge", "0..6 bar gauge", 'tolerance = { span = "0.1 %" }\ncount = 30\nresolution = "20 Pa"'),
    instrument("long", "0..160 bar gauge", 'tolerance = { span = "0.1 %" }\ncount = 12'),
    instrument("vacuum", "-0.9..0 bar gauge", 'class = "1"\ncount = 3'),
    sensor("A-6", "0..6 bar gauge", rest="owned = true"),
    sensor("B-6", "0..6 bar gauge", READING, "cost = 5200"),
    sensor("A-160", "0..160 bar gauge", rest="cost = 4300"),
)


@pytest.fixture
def made(tmp_path):
    """The laboratory on disk: one kind of three is a gap."""
    path = tmp_path / "lab.toml"
    path.write_text("\n".join([HEAD, 'currency = "EUR"', *PARTS]), encoding="utf-8")
    return path


@pytest.fixture
def whole(made):
    """The same without the gap."""
    text = made.read_text(encoding="utf-8").replace(PARTS[2], "")
    made.write_text(text, encoding="utf-8")
    return made


def test_the_text_says_what_covers_what_is_lacking_and_what_one_more_buys(simcal, made):
    ran = simcal("cover", made)
    assert (ran.code, ran.err) == (1, "")
    assert ran.out.isascii()
    first = " ".join(ran.out.split("\n\n")[0].split())
    assert first == (
        "Quillmoor test room: 2 sensors cover 2 of 3 kinds of instrument, 42 of 45 calibrations a year (93.3 %), at a "
        "ratio of 4 or more (bench alone); 1 to buy for 4300 EUR; proved the cheapest that covers what can be covered; "
        "gaps: vacuum at -0.9..-0.18 bar gauge"
    )
    assert re.search(r"(?m)^A-160 +0..160 bar gauge +buy +4300 EUR ", ran.out)
    assert re.search(r"(?m)^vacuum +3 +5 +-0.9..-0.18 bar gauge +- +no sensor has it in its range", ran.out)
    assert re.search(r"(?m)^those owned +A-160 +1 +12 +4300 EUR +free$", ran.out)
    assert "worst case" in ran.out
    assert max(map(len, ran.out.splitlines())) <= 120


def test_exit_codes_are_those_of_the_answer(simcal, whole, tmp_path):
    assert simcal("cover", whole).code == 0
    assert simcal("cover", whole, "--set", "budget=0").code == 1
    assert simcal("cover", whole, "--instrument", "gauge", "--set", "budget=0").code == 0
    for words, line in (
        ((), "command line: LAB: no LAB file"),
        ((tmp_path / "no.toml",), "no such file"),
        ((whole, "--instrument", "gaug"), 'no instrument "gaug"; did you mean "gauge"?'),
        ((whole, "--set", "rule.ratio=0"), "rule.ratio: 0 is outside 0.1..1000"),
        ((whole, "--out", tmp_path), "exists already"),
    ):
        ran = simcal("cover", *words)
        assert (ran.code, ran.out) == (2, "")
        assert line in ran.err
        assert ran.err.count("\n") == 1


@pytest.mark.parametrize("words", [(), ("--instrument", "long"), ("--set", 'rule={consumer_risk="1 %"}')])
def test_the_document_keeps_to_its_schema(simcal, made, words):
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    found = json.loads(simcal("cover", made, "--json", *words).out)
    jsonschema.validate(found, SCHEMA)
    assert found["arguments"]["lab"] == "lab.toml"
    assert found["seed"] is None
    assert "seed" in found["reasons"]
    assert len(found["instruments"]) == (1 if "--instrument" in words else 3)
    total = sum(one["calibrations_per_year"] for one in found["instruments"] if one["covered"])
    assert "--instrument" in words or total == found["plan"]["calibrations_per_year"]


def test_one_instrument_has_its_sensors_switches_and_parts(simcal, made):
    ran = simcal("cover", made, "--instrument", "gauge")
    assert ran.code == 0
    assert "every point is served by A-6" in ran.out
    assert "0 switches, 0.00 s" in ran.out
    assert len(re.findall(r"(?m)^ *\d+ +[\d.]+ bar gauge +600 Pa +(?:vent|A-6) ", ran.out)) == 11
    assert "standard uncertainties at point" in ran.out
    lacking = simcal("cover", made, "--instrument", "vacuum")
    assert lacking.code == 1
    assert "points 1, 2, 3, 4, 5: no sensor has it in its range" in lacking.out


def test_the_folder_holds_the_answer_its_tables_the_map_and_the_page(simcal, made, tmp_path):
    out = tmp_path / "answer"
    assert simcal("cover", made, "--out", out).code == 1
    document = json.loads((out / "result.json").read_text(encoding="utf-8"))
    jsonschema.validate(document, SCHEMA)
    assert sorted(document["files"]) == sorted(path.name for path in out.iterdir())
    rows = list(csv.DictReader((out / "points.csv").read_text(encoding="utf-8").splitlines()))
    assert len(rows) == 11 + 11 + 6
    assert {row["mode"] for row in rows} == {"vent", "sensor", "none"}
    assert [row["instrument"] for row in csv.DictReader((out / "gaps.csv").read_text("utf-8").splitlines())] == [
        "vacuum"
    ]
    page = (out / "page.html").read_text(encoding="utf-8")
    assert "<svg" in page
    assert "<script" not in page
    assert "One row a sensor" in page
    assert (out / "map.svg").read_bytes().startswith(b"<?xml")
    colours = set(re.findall(r"#([0-9a-f]{6})\b", (out / "map.svg").read_text(encoding="utf-8")))
    assert colours
    assert all(one[:2] == one[2:4] == one[4:] for one in colours)  # nothing is told by a colour
    again = simcal("cover", out / "result.json")
    assert (again.code, again.out, again.err) == (0, "equal\n", "")


def test_running_again_names_the_first_key_that_differs(simcal, made, tmp_path):
    out = tmp_path / "answer"
    simcal("cover", made, "--out", out)
    path = out / "result.json"
    document = json.loads(path.read_text(encoding="utf-8"))
    document["plan"]["cost"] = 1.0
    path.write_text(json.dumps(document), encoding="utf-8")
    ran = simcal("cover", path)
    assert (ran.code, ran.out) == (1, "plan.cost: saved 1.0, now 4300.0\n")
    assert simcal("cover", path, "--out", tmp_path / "x").code == 2
    assert "simcal cover" in simcal("settle", path).err


def test_the_method_stands_for_itself(simcal):
    ran = simcal("cover", "--method")
    assert (ran.code, ran.err) == (0, "")
    assert "JCGM 106:2012" in ran.out
    assert max(map(len, ran.out.splitlines())) <= 120


def test_a_bench_or_a_lab_given_to_the_other_command_is_told_where_it_goes(simcal, made, short_bench):
    assert "`simcal settle` and `simcal hold` take one" in simcal("cover", short_bench).err
    assert "`simcal cover` and `simcal year` take one" in simcal("settle", made).err
