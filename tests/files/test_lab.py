"""The LAB file and its tables become a checked object in SI, or one clear line for every fault."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simcal.bench.lab import Lab
from simcal.bench.sequence import Point
from simcal.bench.values import Level, Portion, Range
from simcal.errors import InputError
from simcal.files.lab_file import load_lab
from tests.files.good_lab import LAB, OWN, WORK

GOOD = {"lab.toml": LAB, "work.csv": WORK, "own.csv": OWN}


def loaded(*sets, **changed):
    """The laboratory of the good texts with some replaced."""
    return load_lab("lab.toml", sets, texts={**GOOD, **{f"{k}.csv": v for k, v in changed.items()}})


def refused(texts, *sets):
    with pytest.raises(InputError) as caught:
        load_lab("lab.toml", sets, texts=texts)
    return caught.value


def test_every_key_is_read_into_si():
    lab = loaded()
    assert (lab.room.barometer, lab.spread("room.barometer"), lab.room.temperature) == (101320.0, 10.0, 294.15)
    assert (lab.places, lab.switch, lab.budget, lab.currency) == (6, 40.0, 9000.0, "EUR")
    assert (lab.rule.kind, lab.rule.guard_band, lab.rule.zone) == ("guard_band", 1.0, 0.4)
    assert (lab.prior.in_tolerance, lab.prior.of) == (0.95, "observed")
    assert (lab.comparison.height, lab.spread("comparison.height")) == (0.05, 0.005)
    assert (lab.comparison.line, lab.comparison.dwell) == (Portion(pascal=2.0), Portion(fraction=0.05))
    assert list(lab.instruments) == ["dial", "dial 6", "compound", "reading"]
    assert list(lab.sensors) == ["mine", "A-6", "B-6"]
    dial = lab.instruments["dial"]
    assert (dial.range, dial.tolerance.span, dial.count) == (Range(0.0, 6e5, True), 0.016, 12.0)
    assert (dial.resolution, dial.repeatability) == (Portion(fraction=0.001), Portion(pascal=50.0))
    assert lab.sensors["mine"].drift.is_ == "limits"
    assert lab.assumed == ()


def test_a_row_is_what_its_table_would_be():
    lab = loaded()
    compound = lab.instruments["compound"]
    assert compound.range == Range(-1e5, 5e5, True)
    assert compound.points == (Point(level=Level(-1e5, True)), Point(percent=0.0), Point(percent=100.0))
    assert (compound.count, compound.source) == (2.5, "work.csv")
    reading = lab.instruments["reading"]
    assert (reading.tolerance.reading, reading.tolerance.floor, reading.count) == (0.001, 0.1, 1.0)
    assert [p.percent for p in reading.points] == [10.0 * i for i in range(11)]
    assert [p.percent for p in lab.instruments["dial 6"].points] == [20.0 * i for i in range(6)]
    assert lab.sensors["B-6"].accuracy.contains == ("drift", "calibration")
    assert (lab.sensors["A-6"].owned, lab.sensors["A-6"].price) == (True, 0.0)
    assert (lab.sensors["B-6"].owned, lab.sensors["B-6"].price) == (False, 5200.0)


@pytest.mark.parametrize("mark", [";", "\t"])
def test_tables_may_have_other_separators_line_ends_and_a_byte_order_mark(tmp_path, mark):
    for name, text in GOOD.items():
        text = text.replace(",", mark) if name.endswith(".csv") else text
        (tmp_path / name).write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    assert load_lab(tmp_path / "lab.toml").instruments == loaded().instruments


def test_a_laboratory_loads_alike_from_disk_and_from_its_recorded_texts(tmp_path):
    for name, text in GOOD.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    lab = load_lab(tmp_path / "lab.toml")
    assert load_lab("lab.toml", texts=lab.texts) == lab
    assert set(lab.texts) == set(GOOD)


BAD = [  # what to replace in lab.toml, with what; place; a part of the line
    ('schema = "simcal/lab/1"\n', "", "schema", "missing"),
    ('schema = "simcal/lab/1"', 'schema = "simcal/bench/1"', "schema", "is a bench file"),
    ("places = 6", "place = 6", "place", 'did you mean "places"?'),
    ("places = 6", 'places = "six"', "places", "a whole number"),
    ("places = 6", "places = 0", "places", "outside 1..1000"),
    ('switch = "40 s"', "switch = 40", "switch", "quotes with its unit"),
    ("budget = 9000", "budget = -1", "budget", "is outside"),
    ("budget = 9000", 'budget = "9,000"', "budget", "has a comma"),
    ("vent = true", 'vent = "yes"', "vent", "true or false"),
    ('guard_band = "100 %"\n', "", "rule", "states no rule"),
    ('guard_band = "100 %"\n', 'guard_band = "100 %"\nratio = 4\n', "rule.guard_band", "one of them"),
    ('guard_band = "100 %"\n', "ratio = 4\n", "rule.zone", "a zone belongs to a guard band"),
    ('of = "observed"\n', "", "prior.of", "missing"),
    ('in_tolerance = "95 %"', 'in_tolerance = "0.95"', "prior.in_tolerance", 'write "0.95 %" or "95 %"'),
    ('in_tolerance = "95 %"', 'in_tolerance = "100 %"', "prior.in_tolerance", "is outside"),
    ('height = "50 mm', 'height = "50 bar', "comparison.height", "is in units of pressure"),
    ('class = "1.6"', 'class = "1.5"', "instrument.dial.class", "is not known"),
    ('class = "1.6"', 'class = "1.6"\ntolerance = { span = "1 %" }', "instrument.dial.class", "both given"),
    ('class = "1.6"\n', "", "instrument.dial.tolerance", "missing"),
    ('class = "1.6"', 'tolerance = { floor = "10 %" }', "instrument.dial.tolerance", "neither span nor reading"),
    ('class = "1.6"', 'tolerance = { reading = "1 %", is = "k=2" }', "instrument.dial.tolerance.is", "unknown key"),
    ('points = ["0 %"', 'points = ["7 bar gauge"', "instrument.dial.points", "point 1, 7 bar gauge, is outside"),
    ('full_scale = "6 bar gauge"\nclass', 'full_scale = "6 bar"\nclass', "instrument.dial.full_scale", "abs or gauge"),
    (
        'full_scale = "6 bar gauge"\nclass = "1.6"',
        'full_scale = "6 bar abs"\ntolerance = { reading = "1 %" }',
        "instrument.dial.tolerance",
        "no error is allowed at point 1, 0 %",
    ),
    ("owned = true", "owned = false", "sensor.mine.cost", "what it costs"),
    ('contains = ["calibration"]', 'contains = ["drift"]', "sensor.mine.drift", "else it counts twice"),
    ('is = "k=2", ', "", "sensor.mine.accuracy.is", "missing"),
    ("[sensor.mine]", "[sensor.A-6]", "name", '"A-6" is also a table of lab.toml'),
    ('"work.csv"', '"/elsewhere/work.csv"', "workload", "is a whole path"),
    ("[rule]", '[bench.one]\nfile = "C:/b.toml"\n[rule]', "bench.one.file", "is a whole path"),
    ("[rule]", '[bench.one]\nfile = "nowhere.toml"\n[rule]', "", "its text is not among the recorded inputs"),
]


@pytest.mark.parametrize(("old", "new", "place", "part"), BAD, ids=[f"{i}-{one[2]}" for i, one in enumerate(BAD)])
def test_a_fault_of_the_file_is_one_line_with_its_place(old, new, place, part):
    assert old in LAB
    error = refused({**GOOD, "lab.toml": LAB.replace(old, new, 1)})
    assert place in [fault.place for fault in error.faults], [fault.line() for fault in error.faults]
    fault = next(fault for fault in error.faults if fault.place == place)
    assert part in fault.line()
    assert fault.right
    assert "\n" not in fault.line()


ROWS = [  # table, what to replace, with what; place; a part of the line
    ("work", WORK, "", "", "is empty"),
    ("work", "name,", "nam,", "line 2", "no column name"),
    ("work", "tolerance.span", "tolerance.spam", "line 2", 'did you mean "tolerance.span"?'),
    ("work", "tolerance.floor", "tolerance.span", "line 2", "two columns"),
    ("work", "0.05 bar,,,60,", "0.05 bar,,,60", "line 3", "11 cells below 12 columns"),
    ("work", "dial 6,", ",", "line 3", "cannot be a name"),
    ("work", "reading,160", "dial 6,160", "line 6", '"dial 6" stands in line 3 already'),
    ("work", "6 bar gauge,,1,", "6 bar,,1,", "line 3, full_scale", "does not say abs or gauge"),
    ("work", "6 bar gauge,,1,", "six,,1,", "line 3, full_scale", "does not begin with a number"),
    ("work", "6 bar gauge,,1,", "6 bar gauge,,1.2,", "line 3, class", "is not known"),
    ("work", "6 bar gauge,,1,", "6 bar gauge,,,", "line 3, tolerance", "missing"),
    ("work", "0.05 bar", "0.05", "line 3, resolution", "a pressure difference or a share"),
    ("work", "2.5,\n", "-1,\n", "line 4, count", "is outside"),
    ("work", "2.5,\n", "many,\n", "line 4, count", "does not begin with a number"),
    ("work", "| 0 %", "| 0", "line 4, points", "point 2"),
    ("work", "2.5,\n", "2.5,low\n", "compound", "there is no [bench.low]"),
    ("work", "0.5 %", '"0.5 %', "line 6", "cannot be read"),
    ("own", "k=2,drift | calibration,3900", "95 %,drift,3900", "line 2, accuracy.is", "is not known"),
    ("own", "5200", "", "line 3, cost", "what it costs"),
    ("own", "yes", "maybe", "line 2, owned", "true or false"),
    ("own", "0.025 %", "", "line 3, accuracy", "states neither span nor reading"),
    ("own", "0.015 %,,,k=2,drift | calibration", ",,,,", "line 2, accuracy", "cells below accuracy.*"),
]


@pytest.mark.parametrize(
    ("table", "old", "new", "place", "part"), ROWS, ids=[f"{i}-{one[3]}" for i, one in enumerate(ROWS)]
)
def test_a_fault_of_a_table_names_line_and_column(table, old, new, place, part):
    text = GOOD[f"{table}.csv"]
    assert old in text
    error = refused({**GOOD, f"{table}.csv": text.replace(old, new, 1)})
    assert (error.faults[0].file, error.faults[0].place) == (f"{table}.csv", place)
    assert part in error.faults[0].line()


def test_every_row_that_makes_no_sense_is_listed():
    text = WORK.replace("dial 6,6 bar gauge", "dial 6,6 bar").replace("160 bar gauge,,", "160 bar vacuum,,")
    error = refused({**GOOD, "work.csv": text, "own.csv": OWN.replace("3900,yes", "x,yes")})
    assert [(fault.file, fault.place) for fault in error.faults] == [
        ("work.csv", "line 3, full_scale"),
        ("work.csv", "line 6, full_scale"),
        ("own.csv", "line 2, cost"),
    ]
    assert str(error).endswith("(and 2 more; --all-errors)")


def test_what_is_missing_or_named_wrongly_says_what_would_be_right(tmp_path):
    (tmp_path / "lab.toml").write_text(LAB, encoding="utf-8")
    with pytest.raises(InputError, match=r"work\.csv: no such file; the CSV table that workload in .*lab\.toml names"):
        load_lab(tmp_path / "lab.toml")
    bare = LAB.replace('workload = "work.csv"\n', "").replace("[instrument.dial]", "[instrument2.dial]")
    assert "instrument2" in refused({**GOOD, "lab.toml": bare}).line()


def test_the_bench_of_a_laboratory_must_fit(tmp_path, short_bench):
    (tmp_path / "b.toml").write_text(short_bench.read_text(encoding="utf-8"), encoding="utf-8")
    for name, text in GOOD.items():
        (tmp_path / name).write_text(
            text + ('[bench.one]\nfile = "b.toml"\n' if name == "lab.toml" else ""), encoding="utf-8"
        )
    lab = load_lab(tmp_path / "lab.toml")
    assert list(lab.benches["one"].bench.sequences) == ["up_down"]
    assert load_lab("lab.toml", texts=lab.texts) == lab
    with pytest.raises(InputError, match="is filled with nitrogen"):
        load_lab(tmp_path / "lab.toml", ["gas=helium"])
    with pytest.raises(InputError, match=r'bench\.one\.sequence: no sequence "down"; did you mean "up_down"\?'):
        load_lab(tmp_path / "lab.toml", ["bench.one.sequence=down"])


def test_benches_and_tables_may_lie_in_folders(tmp_path, short_bench):
    (tmp_path / "benches").mkdir()
    text = short_bench.read_text(encoding="utf-8")
    head, mark, rest = text.partition("[sequence.up_down]")
    (tmp_path / "benches" / "b.toml").write_text('include = ["../run.toml"]\n' + head, encoding="utf-8")
    (tmp_path / "run.toml").write_text(mark + rest, encoding="utf-8")
    lab_text = LAB.replace('"work.csv"', '"benches/work.csv"') + '[bench.one]\nfile = "benches/b.toml"\n'
    for name, content in {"lab.toml": lab_text, "benches/work.csv": WORK, "own.csv": OWN}.items():
        (tmp_path / name).write_text(content, encoding="utf-8")
    lab = load_lab(tmp_path / "lab.toml")
    assert set(lab.texts) == {"lab.toml", "benches/work.csv", "own.csv", "benches/b.toml", "run.toml"}
    again = load_lab("lab.toml", texts=lab.texts)
    assert (again.instruments, again.texts) == (lab.instruments, lab.texts)
    assert again.benches["one"].bench.sequences == lab.benches["one"].bench.sequences


CELLS = st.text(st.characters(codec="utf-8"), max_size=12)


@settings(max_examples=60)
@given(st.sampled_from(["work.csv", "own.csv", "lab.toml"]), st.integers(0, 400), st.integers(0, 12), CELLS)
def test_whatever_stands_there_it_is_a_laboratory_or_a_refusal(name, at, cut, inserted):
    text = GOOD[name]
    at %= len(text)
    try:
        found = load_lab("lab.toml", texts={**GOOD, name: text[:at] + inserted + text[at + cut :]})
    except InputError as error:
        assert "\n" not in str(error)
    else:
        assert isinstance(found, Lab)
