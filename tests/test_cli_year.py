"""`simcal year`: text, JSON, folder, running again, exit codes, faults of the LAB's year."""

import csv
import json
import re

import jsonschema
import pytest

from simcal.analysis.year.model import Replicated
from tests.analysis.labs import FULL_SCALE, HEAD, instrument, sensor
from tests.test_cli_hold import SCHEMAS

SCHEMA = json.loads((SCHEMAS / "year.schema.json").read_text(encoding="utf-8"))
YEAR = """
[year]
target = "90 %"
warm_up = "20 d"
[year.staff]
days = ["Mon", "Tue", "Wed", "Thu", "Fri"]
opens = "8 h"
closes = "16 h"
[year.work]
run = "40 min"
batch = 2
urgent = "10 %"
season = [1, 1, 1, 1, 1, 1, 0.5, 0.5, 1, 1, 1, 1]
[year.check]
bad = "3 %"
false_alarm = "2 %"
[year.away]
usual = "21 d"
late = "35 d"
out_of_tolerance = "20 %"
[year.exchange]
bad = "5 %"
miss = "20 %"
[year.failures]
every = "1000 h"
usual = "2 d"
late = "6 d"
[year.cost]
calibration = 450
late = 40
"""
PARTS = (
    instrument("gauge", "0..6 bar gauge", 'tolerance = { span = "0.1 %" }\ncount = 120'),
    instrument("long", "0..160 bar gauge", 'tolerance = { span = "0.1 %" }\ncount = 60'),
    instrument("vacuum", "-0.9..0 bar gauge", 'class = "1"\ncount = 3'),
    sensor("A-6", "0..6 bar gauge", FULL_SCALE, "owned = true\ncost = 3900"),
    sensor("A-160", "0..160 bar gauge", FULL_SCALE, 'owned = true\ncost = 4300\ncalibrated = "200 d"'),
)
FEW = ("--replications", "20", "--workers", "1", "--quiet")


@pytest.fixture
def made(tmp_path):
    """The laboratory on disk."""
    path = tmp_path / "lab.toml"
    path.write_text("\n".join([HEAD, 'currency = "EUR"', *PARTS, YEAR]), encoding="utf-8")
    return path


def test_the_text_says_uptime_ranges_time_cost_and_what_is_left_out(simcal, made):
    ran = simcal("year", made, *FEW)
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.isascii()
    assert max(map(len, ran.out.splitlines())) <= 120
    first = " ".join(ran.out.split("\n\n")[0].split())
    assert re.match(
        r"Quillmoor test room: uptime 9\d\.\d % \(95 % interval 9\d\.\d % to 9\d\.\d %; nine years of ten: [\d.]+ % to "
        r"[\d.]+ %\) with 2 sensors on 1 bench, 18\d jobs a year; the target of 90.0 % is met; [\d.]+ % late, ",
        first,
    ), first
    assert re.search(r"(?m)^0..160 bar gauge +60.0 +\d+\.\d % ", ran.out)
    assert re.search(r"(?m)^no work +\d\d\.\d % ", ran.out)
    assert re.search(r"(?m)^together +\d+ EUR ", ran.out)
    assert "no sensor of the year serves vacuum: 3 jobs a year are refused" in " ".join(ran.out.split())
    assert "sensor.*.calibrated = evenly spread (no date is stated of A-6)" in " ".join(ran.out.split())
    assert "none stated" not in ran.out
    assert ran.out.endswith("seed 1, 20 replications\n")


def test_exit_codes_are_those_of_the_answer(simcal, made):
    assert simcal("year", made, *FEW, "--set", "year.target=99.9 %").code == 1
    assert simcal("year", made, "--replications", "2", "--set", "year.target=95 %").code in (0, 1, 3)
    document = json.loads(simcal("year", made, *FEW, "--json").out)
    mean = document["numbers"]["uptime"]["mean"]
    undecided = simcal("year", made, *FEW, "--json", "--set", f"year.target={100 * mean:.4f} %")
    assert undecided.code == 3
    assert json.loads(undecided.out)["good"] is None
    for words, line in (
        ((), "command line: LAB: no LAB file"),
        ((made, "--replications", "1"), "command line: --replications: 1; a whole number from 2 to"),
        ((made, "--width", "2"), "command line: --width:"),
        ((made, "--width", "90 %"), "a share from 0.01 % to 50 %"),
        ((made, "--compare", "prices"), "command line: --compare: 'prices'; one of spares, plans, intervals"),
        ((made, "--set", "year.away.late=5 d"), "year.away.late: is shorter than the usual time"),
    ):
        ran = simcal("year", *words)
        assert (ran.code, ran.out) == (2, "")
        assert line in ran.err
        assert ran.err.count("\n") == 1


@pytest.mark.parametrize("compare", [None, "spares", "plans", "intervals"])
def test_the_document_keeps_to_its_schema(simcal, made, compare):
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    words = ["--replications", "4"] + ([] if compare is None else ["--compare", compare])
    found = json.loads(simcal("year", made, "--json", *words).out)
    jsonschema.validate(found, SCHEMA)
    assert found["compared"] == compare
    assert ("compared" in found["reasons"]) == (compare is None)
    assert len(found["variants"]) == {None: 0, "spares": 5, "plans": 3, "intervals": 4}[compare]
    assert sum(one["mean"] for one in found["time"].values()) == pytest.approx(1.0)
    parts = [one["mean"] for name, one in found["cost"].items() if name != "together"]
    assert sum(parts) == pytest.approx(found["cost"]["together"]["mean"])
    assert found["cost"]["sensors"]["mean"] == pytest.approx((3900 + 4300) / 5)
    assert found["numbers"]["uptime"]["year_low"] is None and "*.year_low" in found["reasons"]
    assert found["arguments"]["lab"] == "lab.toml"


def test_replications_are_added_until_the_asked_width(simcal, made):
    found = json.loads(simcal("year", made, "--json", *FEW, "--width", "1 %").out)
    up = found["numbers"]["uptime"]
    assert found["replications"] > 20
    assert 0.5 * (up["high"] - up["low"]) <= 0.01
    jsonschema.validate(found, SCHEMA)


def test_the_folder_holds_the_answer_its_tables_the_charts_and_the_page(simcal, made, tmp_path):
    out = tmp_path / "answer"
    assert simcal("year", made, "--out", out, *FEW, "--compare", "plans").code == 0
    document = json.loads((out / "result.json").read_text(encoding="utf-8"))
    jsonschema.validate(document, SCHEMA)
    assert sorted(document["files"]) == sorted(path.name for path in out.iterdir())
    exposed = list(csv.DictReader((out / "exposed.csv").read_text(encoding="utf-8").splitlines()))
    assert len({(row["sensor"], row["job"]) for row in exposed}) == sum(one["jobs"] for one in document["exposed"])
    assert all((abs(float(r["error_Pa"])) > float(r["margin_Pa"])) == (r["beyond_margin"] == "true") for r in exposed)
    events = list(csv.DictReader((out / "events.csv").read_text(encoding="utf-8").splitlines()))
    assert {row["what"] for row in events} >= {"away", "waits for acceptance"}
    page = (out / "page.html").read_text(encoding="utf-8")
    assert "<svg" in page and "<script" not in page and "found by search" in page
    for name in ("year", "compared"):
        colours = set(re.findall(r"#([0-9a-f]{6})\b", (out / f"{name}.svg").read_text(encoding="utf-8")))
        assert all(one[:2] == one[2:4] == one[4:] for one in colours)  # nothing is told by a colour
    again = simcal("year", out / "result.json", "--quiet")
    assert (again.code, again.out, again.err) == (0, "equal\n", "")
    assert simcal("year", out / "result.json", "--seed", "2").code == 2
    assert "simcal year" in simcal("cover", out / "result.json").err


def test_an_interrupted_answer_is_taken_up(simcal, made, monkeypatch):
    many = ("--replications", "70", "--workers", "1", "--json")
    whole = simcal("year", made, *many).out
    asked = []
    real = Replicated.__call__

    def until(self, replication):
        asked.append(replication)
        if len(asked) == 67:
            raise KeyboardInterrupt
        return real(self, replication)

    monkeypatch.setattr(Replicated, "__call__", until)
    assert simcal("year", made, *many).code == 130
    assert simcal("year", made, *many, "--resume").out == whole
    assert asked[67:] == list(range(64, 70))  # a whole chunk was kept


BAD = [
    (YEAR, "", "year", "missing; a table [year]"),
    ("owned = true\ncost = 3900", "cost = 3900", None, None),
    ('usual = "21 d"\n', "", "year.away.usual", "missing"),
    ('"Fri"]', '"Fry"]', "year.staff.days", 'did you mean "Fri"?'),
    ('"Fri"]', '"Mon"]', "year.staff.days", "one twice"),
    ('closes = "16 h"', 'closes = "7 h"', "year.staff.closes", "is not after the opening"),
    ("season = [1, 1,", "season = [1,", "year.work.season", "11 weights; 12"),
    ("season = [1, 1,", "season = [1, -1,", "year.work.season", "a list of numbers"),
    ("batch = 2", "batch = 0.5", "year.work.batch", "outside 1..1000"),
    ('bad = "5 %"', 'bad = "5 %"\nfile = "x.toml"\npermitted_leak = "1e-9 mol/s"', "year.exchange.file", "one of them"),
    ('bad = "5 %"', 'habit = "by feel"', "year.exchange.habit", "says nothing without a file"),
    ('bad = "5 %"', 'file = "x.toml"', "year.exchange.permitted_leak", "missing"),
    ('every = "1000 h"', 'evry = "1000 h"', "year.failures.evry", 'did you mean "every"?'),
    ('late = "6 d"', 'late = "1 d"', "year.failures.late", "is shorter"),
    ('calibrated = "200 d"', 'calibrated = "200"', "sensor.A-160.calibrated", "has no unit"),
]


@pytest.mark.parametrize(("old", "new", "place", "part"), BAD, ids=[f"{i}" for i in range(len(BAD))])
def test_a_fault_of_the_year_is_one_line_with_its_place(simcal, made, old, new, place, part):
    text = made.read_text(encoding="utf-8")
    assert old in text
    made.write_text(text.replace(old, new, 1), encoding="utf-8")
    if place is None:  # one owned sensor is left: it is an answer
        assert simcal("year", made, *FEW).code in (0, 1, 3)
        return
    ran = simcal("year", made)
    assert (ran.code, ran.out) == (2, "")
    assert f"{place}: " in ran.err and part in ran.err
    assert ran.err.count("\n") == 1


def test_without_an_owned_sensor_it_says_so(simcal, made):
    made.write_text(made.read_text(encoding="utf-8").replace("owned = true", "owned = false"), encoding="utf-8")
    ran = simcal("year", made)
    assert (ran.code, ran.out) == (2, "")
    assert "year.sensors: no sensor is owned" in ran.err
    assert simcal("year", made, *FEW, "--set", "year.sensors=plan").code in (0, 1, 3)


@pytest.mark.parametrize(
    ("old", "new", "line"),
    [
        ("count = 120", "count = 600000", "instrument.*.count: 600063 jobs a year; some, and at most 500000"),
        ("batch = 2", "week = [0, 0, 0, 0, 0, 1, 1]", "year.work.week: nothing comes on a staffed day"),
        (
            "owned = true\ncost = 3900",
            "owned = true\npieces = 60\ncost = 3900",
            "61 pieces of sensors; at most 60",
        ),
    ],
)
def test_a_year_that_cannot_be_simulated_is_refused(simcal, made, old, new, line):
    made.write_text(made.read_text(encoding="utf-8").replace(old, new, 1), encoding="utf-8")
    ran = simcal("year", made)
    assert (ran.code, ran.out) == (2, "")
    assert line in ran.err
    assert ran.err.count("\n") == 1


def test_work_that_asks_for_more_sensors_than_a_bench_has_places_is_refused(simcal, made):
    both = instrument(
        "both", "0..160 bar gauge", 'tolerance = { reading = "0.25 %", floor = "3 %" }\n'
        'points = ["3 bar gauge", "160 bar gauge"]\ncount = 10',
    )  # fmt: skip
    made.write_text(made.read_text(encoding="utf-8").replace(PARTS[2], both), encoding="utf-8")
    assert "serves both" not in " ".join(simcal("year", made, *FEW).out.split())
    one = simcal("year", made, *FEW, "--set", "places=1")
    assert "no sensor of the year serves both: 10 jobs a year are refused" in " ".join(one.out.split())


def test_an_interval_without_width_is_no_certainty(simcal, made):
    never = [f"sensor.{name}.{key}" for name in ("A-6", "A-160") for key in ("interval=9000 d", "calibrated=0 d")]
    sets = [word for one in [*never, "year.failures.every=1000000 h"] for word in ("--set", one)]
    ran = simcal("year", made, *FEW, *sets)
    said = " ".join(ran.out.split())
    assert "uptime 100.0 %" in said
    assert "every replication gave the same uptime, as it is: what happens less often than once in 20" in said


def test_the_method_stands_for_itself(simcal):
    ran = simcal("year", "--method")
    assert (ran.code, ran.err) == (0, "")
    assert "Little" in ran.out
    assert max(map(len, ran.out.splitlines())) <= 120
