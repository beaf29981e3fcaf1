"""Odd records that are read: marks, restarts, order, zones, units, encodings; nothing is lost without a count."""

import datetime as dt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simcal.bench.record import FROZEN, GAP, SPIKE, Flag
from simcal.files.about_file import load_about
from simcal.files.records.reader import read_record

HEAD = "t_s,p_bar\n"


def read(text, about="", **more):
    """The record of a text."""
    raw = text if isinstance(text, bytes) else text.encode()
    return read_record("record.csv", load_about("a.toml", texts={"a.toml": about}), raw=raw, **more)


def course(rows=200, **changes):
    """Rows with a little noise; `changes` are texts put at some rows."""
    noise = np.random.default_rng(8).integers(0, 40, rows)
    cells = [f"7.00{n:02d}" for n in noise]
    for row, text in changes.items():
        cells[int(row[1:])] = text
    return cells


UNITS = [  # header, SI size of one, reference; sizes from NIST SP 811 (2008), appendix B.8 and B.9
    ("pressure [Pa]", 1.0, None), ("p_hPa", 100.0, None), ("Druck in kPa", 1e3, None), ("P (MPa)", 1e6, None),
    ("p/mbar", 100.0, None), ("p [bar]", 1e5, None), ("p [barg]", 1e5, "gauge"), ("p [bar(g)]", 1e5, "gauge"),
    ("p [bar g]", 1e5, "gauge"), ("p_bar_abs", 1e5, "absolute"), ("p [bara]", 1e5, "absolute"),
    ("Pressure (PSIG)", 6894.757, "gauge"), ("Pressure, psia", 6894.757, "absolute"), ("p [psi]", 6894.757, None),
    ("Überdruck [bar]", 1e5, "gauge"), ("Absolutdruck [mbar]", 100.0, "absolute"), ("p rel. [kPa]", 1e3, "gauge"),
    ("gauge pressure [kPa]", 1e3, "gauge"), ("p [mmHg]", 133.3224, None), ("p [Torr]", 133.3224, None),
    ("p [kgf/cm2]", 98066.5, None), ("p [atm]", 101325.0, None), ("p [N/mm²]", 1e6, None), ("p [inHg]", 3386.389, None),
    ("p [cmH2O(4 degC)]", 98.06375, None), ("p [kPa abs]", 1e3, "absolute"), ("p [bar gauge]", 1e5, "gauge"),
]  # fmt: skip


@pytest.mark.parametrize(("header", "size", "reference"), UNITS, ids=[one[0] for one in UNITS])
def test_units_and_references_as_loggers_write_them(header, size, reference):
    record = read(f"t_s;{header}\n0;2.0\n1;2.0\n2;2.5\n")
    assert record.pressure_Pa[0] == pytest.approx(2.0 * size, rel=1e-6)
    assert record.reference == reference


TIMES = [  # header and cells -> seconds
    ("t [ms]", ["0", "500", "1000"], [0.0, 0.5, 1.0]),
    ("time_min", ["0", "1", "2"], [0.0, 60.0, 120.0]),
    ("Zeit in h", ["0", "0.5", "1"], [0.0, 1800.0, 3600.0]),
    ("elapsed (s)", ["5", "6", "7"], [5.0, 6.0, 7.0]),
    ("seconds", ["5", "6", "7"], [5.0, 6.0, 7.0]),
    ("time", ["0:00:01", "0:00:02", "0:00:03"], [1.0, 2.0, 3.0]),
    ("Elapsed", ["25:00:00", "25:00:01", "25:00:02"], [90000.0, 90001.0, 90002.0]),
    ("elapsed", ["0.23:59:59", "1.00:00:00", "1.00:00:01"], [86399.0, 86400.0, 86401.0]),
    ("time", ["0:01.5", "0:02.5", "1:00.0"], [1.5, 2.5, 60.0]),
    ("time", ["23:59:59", "00:00:00", "00:00:01.5"], [0.0, 1.0, 2.5]),
    ("time", ["11:59:59 PM", "12:00:00 AM", "12:00:01 AM"], [0.0, 1.0, 2.0]),
    ("when", ["2026-03-14 10:00:00", "2026-03-14 10:00:00.250", "2026-03-14 10:00:01"], [0.0, 0.25, 1.0]),
    ("when", ["2026-03-14T10:00:00Z", "2026-03-14T10:00:01Z", "2026-03-14T10:00:02Z"], [0.0, 1.0, 2.0]),
    ("when", ["2026-03-14T10:00:00+01:00", "2026-03-14T09:00:01Z", "2026-03-14T10:00:02+01:00"], [0.0, 1.0, 2.0]),
    ("when", ["20260314T100000", "20260314T100001", "20260314T100002"], [0.0, 1.0, 2.0]),
    ("when", ["14-Mar-2026 23:59:59", "15-Mar-2026 00:00:00", "15-Mar-2026 00:00:01"], [0.0, 1.0, 2.0]),
    ("when", ["14. März 2026 10:00:00", "14. März 2026 10:00:01", "14. März 2026 10:00:02"], [0.0, 1.0, 2.0]),
    ("when", ["31/12/2026 23:59:59", "01/01/2027 00:00:00", "01/01/2027 00:00:01"], [0.0, 1.0, 2.0]),
    ("when", ["03/04/2026 23:59:59", "04/04/2026 00:00:00", "04/04/2026 00:00:01"], [0.0, 1.0, 2.0]),
    ("when", ["2026/03/14 10:00", "2026/03/14 10:01", "2026/03/14 10:02"], [0.0, 60.0, 120.0]),
    ("epoch", ["1773482400", "1773482401", "1773482402"], [0.0, 1.0, 2.0]),
    ("timestamp_ms", ["1773482400000", "1773482400500", "1773482401000"], [0.0, 0.5, 1.0]),
    ("timestamp", ["1773482400000000", "1773482400500000", "1773482401000000"], [0.0, 0.5, 1.0]),
]


@pytest.mark.parametrize(("header", "cells", "seconds"), TIMES, ids=[f"{h} {c[0]}" for h, c, _ in TIMES])
def test_times_as_loggers_write_them(header, cells, seconds):
    record = read(f"{header};p_bar\n" + "".join(f"{cell};7.0\n" for cell in cells))
    assert record.time_s == pytest.approx(seconds, abs=1e-6)
    assert len(record.segments) == 1


@pytest.mark.parametrize(
    ("encoding", "told"),
    [("utf-8", "utf-8"), ("utf-8-sig", "utf-8"), ("utf-16", "utf-16"), ("utf-16-le", "utf-16-le"),
     ("utf-16-be", "utf-16-be"), ("utf-32", "utf-32"), ("latin-1", "cp1252"), ("cp1252", "cp1252")],
)  # fmt: skip
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_encodings_and_line_ends(encoding, told, end):
    text = end.join(["Zeit [s];Druck [bar];Temperatur [°C]", *(f"{n};7,{n:03d};21,5" for n in range(1200))]) + end
    record = read(text.encode(encoding))
    assert (len(record.time_s), record.dropped) == (1200, {})
    assert record.temperature_K[0] == pytest.approx(294.65)
    assert {a.key: a.value for a in record.assumed}["file.encoding"] == f'"{told}"'


@pytest.mark.parametrize(
    ("unit", "cell"), [("degC", "-20"), ("degC", "120"), ("K", "253"), ("K", "393"), ("degF", "-4")]
)
def test_cold_and_hot_benches_are_no_wrong_unit(unit, cell):
    record = read(f"t_s,p_bar,T_{unit}\n" + "".join(f"{n},7,{cell if n != 3 else -9999}\n" for n in range(9)))
    assert 250.0 < record.temperature_K.min() <= record.temperature_K.max() < 400.0


@pytest.mark.parametrize("stated", ["cp437", "cp850", "mac-roman", "shift_jis"])
def test_a_stated_encoding_counts(stated):
    record = read("t_s,p_bar,note\n0,7,ok\n1,7,ok\n".encode(stated), f'file.encoding = "{stated}"')
    assert "file.encoding" not in {one.key for one in record.assumed}


def test_what_stands_out_is_marked_and_kept():
    cells = course(r50="9.0000", r51="9.0000")
    cells[100:140] = ["7.0020"] * 40
    times = [n + (60 if n >= 170 else 0) for n in range(200)]
    record = read(HEAD + "".join(f"{t},{p}\n" for t, p in zip(times, cells, strict=True)))
    assert len(record.time_s) == 200 and record.dropped == {}
    assert record.flags == (Flag(SPIKE, 50, 51), Flag(FROZEN, 100, 139), Flag(GAP, 169, 170))
    assert record.marks == {FROZEN: 1, GAP: 1, SPIKE: 1}


def test_a_step_a_ramp_and_a_quiet_coarse_record_are_not_marked():
    step = [7.0] * 100 + [9.0] * 100
    ramp = list(np.linspace(1.0, 7.0, 200))
    coarse = [round(7.0 - 0.01 * (n // 40), 2) for n in range(200)]
    for cells in (ramp, coarse):
        assert read(HEAD + "".join(f"{n},{p:.4f}\n" for n, p in enumerate(cells))).marks == {}
    noisy = [p + 0.0001 * (n * 7 % 11) for n, p in enumerate(step)]
    assert read(HEAD + "".join(f"{n},{p:.4f}\n" for n, p in enumerate(noisy))).marks == {}


def rows_of(values, step):
    """The text of a record that shows `values` to the nearest `step`, a second apart."""
    return HEAD + "".join(f"{n},{round(p / step) * step:.6f}\n" for n, p in enumerate(values))


T = np.arange(600.0)
WHITE = np.random.default_rng(3).normal(0.0, 1.0, 600)
HONEST = {  # a quiet gauge with a step of 0.01 bar: long stretches of one value, none of them a fault
    "comes to rest": (7.0 + 0.5 * np.exp(-T / 60.0), 0.01),
    "comes to rest, a little noise": (7.0 + 0.5 * np.exp(-T / 60.0) + 0.001 * WHITE, 0.01),
    "noise at the edge of a step": (7.0 + 0.08 * np.exp(-T / 200.0) + 0.003 * WHITE, 0.01),
    "turns": (7.0 + 1e-6 * (T - 300.0) ** 2, 0.01),
    "a slow leak": (7.0 - 1e-4 * T + 0.0005 * WHITE, 0.01),
    "a staircase": (np.interp(T, [0, 50, 250, 300, 500, 599], [1, 3, 3, 5, 5, 7]), 0.01),
    "noise finer than the step, then quiet": (7.0 + 0.004 * WHITE * (T < 200), 0.01),
    "half a step of noise": (7.0 + 0.005 * WHITE, 0.01),
}


@pytest.mark.parametrize("name", HONEST)
def test_equal_readings_of_a_coarse_gauge_are_honest(name):
    values, step = HONEST[name]
    assert FROZEN not in read(rows_of(values, step)).marks


@pytest.mark.parametrize(("slope", "noise"), [(1e-3, 0.0), (1e-3, 0.003), (0.0, 0.02), (1e-4, 0.01)])
@pytest.mark.parametrize("rows", [(200, 299), (430, 599)], ids=["goes on", "to the end"])
def test_a_logger_that_hangs_is_told(slope, noise, rows):
    first, last = rows
    values = 7.0 - slope * T + noise * WHITE
    values[first : last + 1] = values[first]
    if last == 599 and noise < 0.01:  # a coarse gauge that stands still at the end may be at rest: not told apart
        assert FROZEN not in read(rows_of(values, 0.01)).marks
        return
    (flag,) = [one for one in read(rows_of(values, 0.01)).flags if one.kind == FROZEN]
    assert abs(flag.first - first) <= 10 and abs(flag.last - last) <= 10


def test_a_step_that_is_stated_makes_equal_readings_honest():
    values = 7.0 + 0.02 * WHITE
    values[200:300] = values[200]
    text = rows_of(values, 0.01)
    assert FROZEN in read(text).marks
    assert FROZEN not in read(text, 'sensor.resolution = "50 mbar"').marks


def test_a_file_from_the_last_row_to_the_first_is_turned():
    record = read(HEAD + "".join(f"{n},7.{n:02d}\n" for n in range(50, -1, -1)))
    assert record.time_s[0] == 0.0 and record.pressure_Pa[0] == 7e5 and record.segments == ((0, 50),)
    assert "was turned" in record.notes[0]


def test_time_back_to_zero_begins_a_segment_and_one_row_astray_is_left_out():
    record = read(HEAD + "".join(f"{n % 60},7.0\n" for n in range(180)))
    assert record.segments == ((0, 59), (60, 119), (120, 179))
    astray = read(HEAD + "".join(f"{900 if n == 20 else n},7.0{n % 7}\n" for n in range(60)))
    assert astray.segments == ((0, 58),)
    assert astray.dropped == {"time out of order for one row": 1}


@pytest.mark.parametrize("word", ["OL", "----", "#N/A", "nan", "inf", "-inf", "1e400", "9.9E37", "NaN", "Overload"])
def test_every_way_to_say_that_there_is_no_value_is_counted(word):
    record = read(HEAD + "0,7.0\n1,7.1\n" + f"2,{word}\n" + "3,7.2\n4,7.0\n")
    assert len(record.time_s) == 4
    assert record.dropped == {f'pressure reads "{word}"': 1}


@pytest.mark.parametrize(("value", "kept"), [("-9999", False), ("9999", False), ("-999.25", False), ("7.5", True)])
def test_a_number_that_stands_for_none_is_left_out_where_it_cannot_be_one(value, kept):
    record = read(HEAD + "".join(f"{n},{value if n == 30 else '7.0' + str(n % 9)}\n" for n in range(60)))
    assert (len(record.time_s) == 60) == kept
    near = read("t_s,p_Pa\n" + "".join(f"{n},{-9990 - n % 20}\n" for n in range(60)))
    assert near.dropped == {}


def test_a_row_with_a_missing_column_is_not_shifted():
    record = read("t_s,flow,p_bar\n0,1,7.0\n1,1,7.1\n2,7.2\n3,1,7.3\n4,1,7.4\n")
    assert record.pressure_Pa == pytest.approx([7e5, 7.1e5, 7.3e5, 7.4e5])
    assert record.dropped == {"fewer columns than other rows": 1}
    message = read("t_s,note,p_bar\n" + "".join(f"{n},{'a, b' if n == 2 else 'ok'},7.{n}\n" for n in range(9)))
    assert message.pressure_Pa == pytest.approx([(7.0 + n / 10.0) * 1e5 for n in range(9)])


def test_zero_bytes_in_the_middle_break_the_row_they_stand_in_and_no_other():
    rows = [f"{n},7.{n:03d}\n".encode() for n in range(100)]
    rows[40] = b"40,7.0\0\0\0\0\n"
    rows[60] = b"\0\0\0" + rows[60]
    record = read(HEAD.encode() + b"".join(rows))
    assert record.dropped == {"broken by zero bytes": 1}
    assert record.time_s == pytest.approx([n for n in range(100) if n != 40])


def test_a_hole_in_the_temperature_is_bridged_and_said():
    record = read("t_s,p_bar,T_C\n0,7,20\n1,7,\n2,7,OL\n3,7,23\n")
    assert record.temperature_K == pytest.approx([293.15, 294.15, 295.15, 296.15])
    assert any("missing in 2 of 4 rows" in note for note in record.notes)


@pytest.mark.parametrize(
    ("values", "step"),
    [
        ([7.00, 7.02, 7.04, 7.02, 7.00], 2000.0),
        ([7.00, 7.01, 7.03, 7.00], 1000.0),
        ([7.000345, 7.000690, 7.001034, 7.000690, 7.001379, 7.000345], 34.475),  # 0.005 psi through six digits
    ],
)
def test_the_resolution_is_the_smallest_step_shown(values, step):
    digits = 2 if values[0] == 7.0 else 6
    record = read(HEAD + "".join(f"{n},{p:.{digits}f}\n" for n, p in enumerate(values * 4)))
    assert record.resolution_Pa == pytest.approx(step, rel=0.01)


def test_a_repeated_hour_counts_on_in_its_zone_and_the_clock_is_told():
    local = ["02:59:58", "02:59:59", "02:00:00", "02:00:01"]
    text = "when,p_bar\n" + "".join(f"2026-10-25 {one},7.0\n" for one in local)
    record = read(text, 'file.zone = "Europe/Berlin"')
    assert record.time_s == pytest.approx([0.0, 1.0, 2.0, 3.0])
    assert record.clock_start == dt.datetime(2026, 10, 25, 0, 59, 58, tzinfo=dt.UTC)
    fixed = read(text, 'file.zone = "+01:00"')
    assert len(fixed.segments) == 2


def test_a_footer_is_no_row_whatever_its_width():
    foot = "END OF DATA\nrows,5,of,5\nMin,7.0\n"
    record = read(HEAD + "0,7.0\nbroken\n1,7.1\n2,7.0\n3,7.1\n4,7.0\n" + foot)
    assert record.dropped == {"fewer columns than other rows": 1, "line after the last row": 3}


FORMS = [
    "%Y-%m-%d %H:%M:%S.%f", "%d.%m.%Y %H:%M:%S,%f", "%d/%m/%Y %I:%M:%S %p", "%d-%b-%Y %H:%M:%S", "%m/%d/%y %H:%M:%S",
    "%Y%m%dT%H%M%S", "%Y/%m/%d %H:%M:%S", "%B %d, %Y %H:%M:%S",
]  # fmt: skip


@pytest.mark.parametrize("form", FORMS)
@given(start=st.datetimes(dt.datetime(2001, 1, 1), dt.datetime(2068, 1, 1)), step=st.integers(1, 40_000))
@settings(max_examples=15)
def test_dates_are_those_of_the_standard_library(form, start, step):
    """Against strftime: the clock of the first row and the seconds that follow, over days, months and years."""
    start = start.replace(microsecond=start.microsecond if "%f" in form else 0)
    cells = [(start + n * dt.timedelta(seconds=step)).strftime(form) for n in range(4)]
    order = "mdy" if form.startswith("%m") else "dmy"
    about = f'file = {{ date_order = "{order}", zone = "+00:00" }}' if form[1] in "md" else 'file.zone = "+00:00"'
    record = read("when;p_bar\n" + "".join(f"{cell};7.0\n" for cell in cells), about)
    assert record.clock_start.replace(tzinfo=None) == pytest.approx(start, abs=dt.timedelta(microseconds=2))
    assert record.time_s == pytest.approx([0.0, step, 2.0 * step, 3.0 * step], abs=2e-6)


def test_a_clock_time_is_placed_on_the_record():
    record = read("when,p_bar\n2026-03-14 23:59:58,7\n2026-03-14 23:59:59,7\n2026-03-15 00:00:00,7\n")
    assert record.elapsed(dt.time(23, 59, 59)) == 1.0
    assert record.elapsed(dt.time(0, 0, 5)) == 7.0
    assert record.elapsed(dt.datetime(2026, 3, 15, 0, 0, 1)) == 3.0
    with pytest.raises(ValueError, match="says no zone"):
        record.elapsed(dt.datetime(2026, 3, 15, tzinfo=dt.UTC))
    with pytest.raises(ValueError, match="no clock"):
        read(HEAD + "0,7\n1,7\n").elapsed(dt.time(1))
