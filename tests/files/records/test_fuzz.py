"""Whatever stands in a record or an about-file, the answer is a record or a refusal in one line; nothing else."""

import time

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from simcal.bench.about import About
from simcal.bench.record import Record
from simcal.errors import InputError
from simcal.files.about_file import load_about
from simcal.files.records.reader import read_record
from tests.files.good_about import GOOD
from tests.files.records.variants import VARIANTS

LONGEST = 20.0
"""Seconds that one small record may take on a busy machine; a usual one takes milliseconds."""
FILES = [maker().raw for maker in VARIANTS]
ABOUTS = [
    About(),
    *(
        load_about("a.toml", texts={"a.toml": text})
        for text in (
            'columns = { time = 1, time_unit = "s", pressure = 2, unit = "bar" }',
            'file = { date_order = "mdy", zone = "Europe/Berlin", decimal = "," }',
            'columns = { channel = 2, value = 3, pressure = "a", unit = "kPa" }',
            'columns.time_unit = "mm:ss"\nfile.separator = ","',
            "file = { first_row = 3, last_row = 40 }",
        )
    ),
]
CELLS = st.one_of(
    st.floats(allow_nan=True).map(repr),
    st.floats(-1e6, 1e6).map(lambda x: f"{x:.3f}"),
    st.integers(-(10**12), 10**12).map(str),
    st.text(st.characters(codec="utf-8"), max_size=8),
    st.sampled_from([
        "", "OL", "1,5", "1.234.567", "1 234,5", "2026-03-14 10:00:00", "14.03.2026", "03/04/2026 11:59 PM", "10:00:00",
        "9.99E+37", "7.0 bar", "7.0 kPa", "99:99:99", "2026-13-45T99:99:99", "1e999", "NaT", "-", '"', "t [s]", "p_bar",
        "0001-01-01 00:00:00", "9999-12-31 23:59:59", "\0", "T_C", "channel", "value", "46095.5",
        "1773482400000", "_1_0",
    ]),
)  # fmt: skip
TABLES = st.lists(st.lists(CELLS, min_size=1, max_size=5), max_size=12)


def record_or_refusal(raw, about):
    """The record of bytes, or None when it is refused; any other exception fails the test."""
    began = time.monotonic()
    try:
        record = read_record("fuzz.csv", about, raw=raw)
    except InputError as error:
        assert error.found and error.right and "\n" not in error.line()
        return None
    finally:
        assert time.monotonic() - began < LONGEST
    assert isinstance(record, Record)
    rows = len(record.time_s)
    assert rows == len(record.pressure_Pa) >= 1
    arrays = [record.time_s, record.pressure_Pa, *([] if record.temperature_K is None else [record.temperature_K])]
    assert all(np.isfinite(one).all() and len(one) == rows for one in arrays)
    assert record.segments[0][0] == 0 and record.segments[-1][1] == rows - 1
    for first, last in record.segments:
        assert (np.diff(record.time_s[first : last + 1]) >= 0.0).all()
    assert all(0 <= flag.first <= flag.last < rows for flag in record.flags)
    assert all(count > 0 for count in record.dropped.values())
    assert record.resolution_Pa is None or record.resolution_Pa > 0.0
    return record


@settings(max_examples=200)
@given(st.binary(max_size=400), st.sampled_from(ABOUTS))
def test_any_bytes(raw, about):
    record_or_refusal(raw, about)


@settings(max_examples=200)
@given(st.text(max_size=300), st.sampled_from(["utf-8", "utf-16", "utf-16-be"]), st.sampled_from(ABOUTS))
def test_any_text(text, encoding, about):
    record_or_refusal(text.encode(encoding, "replace"), about)


@settings(max_examples=500)
@given(TABLES, st.sampled_from([",", ";", "\t", " ", "|"]), st.sampled_from(["t_s,p_bar,T_C", "", "Date,Time,p [kPa]"]),
       st.sampled_from(ABOUTS))  # fmt: skip
def test_any_table(rows, separator, header, about):
    lines = [header.replace(",", separator), *(separator.join(row) for row in rows), ""]
    record_or_refusal("\n".join(lines).encode(), about)


@settings(max_examples=400)
@given(
    st.sampled_from(FILES),
    st.lists(st.tuples(st.integers(0, 10**6), st.integers(0, 12), st.binary(max_size=6)), min_size=1, max_size=4),
    st.sampled_from(ABOUTS),
)
def test_an_ugly_file_with_bytes_taken_out_put_in_or_changed(raw, edits, about):
    for place, length, new in edits:
        at = place % (len(raw) + 1)
        raw = raw[:at] + new + raw[at + length :]
    record_or_refusal(raw, about)


@settings(max_examples=100)
@given(st.sampled_from(FILES), st.data())
def test_an_ugly_file_with_lines_moved(raw, data):
    lines = raw.split(b"\n")
    for _ in range(data.draw(st.integers(1, 4))):
        line = lines.pop(data.draw(st.integers(0, len(lines) - 1)))
        lines.insert(data.draw(st.integers(0, len(lines))), line)
    record_or_refusal(b"\n".join(lines), About())


NUMBERS = st.lists(
    st.tuples(st.floats(0.01, 2.0), st.floats(1e5, 9e5), st.floats(-50.0, 90.0)), min_size=3, max_size=60
)


@settings(max_examples=200)
@given(NUMBERS, st.sampled_from([(",", "."), (";", ","), (";", "."), ("\t", "."), ("\t", ",")]), st.integers(3, 6))
def test_a_clean_file_reads_alike_at_a_glance_and_line_by_line(rows, marks, digits):
    """Both ways give the numbers that stand there, bit for bit, whatever the separator and decimal mark."""
    separator, decimal = marks
    times = np.cumsum([step for step, _, _ in rows])
    cells = [[f"{t:.4f}", f"{p:.{digits + 1}f}", f"{c:.2f}"] for t, (_, p, c) in zip(times, rows, strict=True)]
    head = separator.join(["t [s]", "p [Pa]", "T [°C]"])
    text = "\n".join([head, *(separator.join(row).replace(".", decimal) for row in cells), ""])
    about = load_about("a.toml", texts={"a.toml": f'file.decimal = "{decimal}"'})
    quick = read_record("clean.csv", about, raw=text.encode())
    careful = read_record("clean.csv", about, raw=text.encode(), careful=True)
    for name in ("time_s", "pressure_Pa", "temperature_K"):
        assert np.array_equal(getattr(quick, name), getattr(careful, name))
    assert (quick.dropped, quick.flags, quick.assumed) == (careful.dropped, careful.flags, careful.assumed)
    assert np.array_equal(quick.pressure_Pa, [float(row[1]) for row in cells])


KEYS = ["gas", "capacity", "reading", "permitted_leak", "isolated_at", "watch_until", "supply", "port", "wall",
        "wall.bore", "columns.time", "columns.unit", "file.zone", "file.first_row", "criterion.watch",
        "temperature"]  # fmt: skip
VALUES = st.one_of(
    st.text(max_size=20), st.floats().map(repr), st.integers().map(repr),
    st.sampled_from(["true", "[]", "{}", "10:32:05", "2026-03-14", '"5 sccm"', '"1e-4 Pa m3/s"', '"20 bar gauge"']),
)  # fmt: skip


@settings(max_examples=300)
@given(st.lists(st.tuples(st.sampled_from(KEYS), VALUES), min_size=1, max_size=3))
def test_an_about_file_with_anything_set(sets):
    try:
        got = load_about("about.toml", [f"{key}={value}" for key, value in sets], texts={"about.toml": GOOD})
    except InputError as error:
        assert all("\n" not in one.line() and one.found and one.right for one in error.faults)
    else:
        assert isinstance(got, About)


@settings(max_examples=200)
@given(st.lists(st.tuples(st.integers(0, len(GOOD) - 1), st.integers(0, 3), st.characters(codec="utf-8")), max_size=4))
def test_a_good_about_file_with_characters_changed(edits):
    text = GOOD
    for place, length, character in edits:
        text = text[:place] + character + text[place + length :]
    try:
        assert isinstance(load_about("about.toml", texts={"about.toml": text}), About)
    except InputError as error:
        assert error.found and error.right
