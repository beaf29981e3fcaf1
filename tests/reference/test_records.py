"""Measured records of others, read as they were published.

pressure-loop-steps: a closed gas-pressure loop logged at 100 Hz (open data of a breathing-machine project, Apache-2.0).
printed-air-chambers: closed chambers logged at 10 Hz after filling (open data of a thesis, CC0). Lengths, steps and
levels are those that their publishers state; the time of the chambers counts microseconds with points between groups
of three digits, while the same point is the decimal mark of the pressure.
"""

import numpy as np
import pytest

from simcal.errors import InputError
from simcal.files.about_file import load_about
from simcal.files.records.reader import read_record

CHAMBER = 'columns = { time = 1, pressure = 3, unit = "bar", time_unit = "us" }\n'
LOOP = 'columns.unit = "cmH2O(4 degC)"\nreading = "gauge"'
WATER = 98.0638  # Pa in 1 cm of water at 4 degC, NIST SP 811 (2008), appendix B.8


def read(path, about):
    """A measured record with what is said about it."""
    return read_record(path, load_about("about.toml", texts={"about.toml": about}))


@pytest.mark.parametrize(
    ("name", "rows", "first", "last"),
    [("aluminium", 1507, 7.315, 7.285), ("plastic-a", 1434, 7.646, 7.547), ("plastic-b-015", 1425, 7.652, 0.073)],
)
def test_a_closed_chamber(measured, name, rows, first, last):
    path = measured / "printed-air-chambers" / f"{name}.csv"
    with pytest.raises(InputError, match=r'column 3: "\." in numbers like 1\.234 may be the decimal mark or group'):
        read(path, CHAMBER)
    record = read(path, f'{CHAMBER}file.decimal = "."')
    assert (len(record.time_s), record.segments) == (rows, ((0, rows - 1),))
    assert np.median(np.diff(record.time_s)) == pytest.approx(0.1, abs=0.002)  # 10 Hz for about 140 s
    assert 135.0 < record.time_s[-1] < 155.0
    assert record.pressure_Pa[[0, -1]] == pytest.approx([first * 1e5, last * 1e5])
    assert record.resolution_Pa == pytest.approx(100.0)
    assert record.dropped == {"last line without its end": 1}


def test_a_chamber_with_a_header_and_a_decimal_comma(measured):
    path = measured / "printed-air-chambers" / "rerun-untouched.csv"
    with pytest.raises(InputError, match="8 columns may be the pressure"):
        read(path, "")
    record = read(path, 'columns = { pressure = "0 Meting", unit = "mbar" }')
    assert len(record.time_s) == 1356
    assert np.diff(record.time_s) == pytest.approx(0.1)
    assert record.pressure_Pa[[0, 1]] == pytest.approx([0.0, 200.0])


@pytest.mark.parametrize(
    ("name", "rows", "first"), [("hose-disconnected", 2046, 4.529), ("setpoint-staircase", 7660, 4.987)]
)
def test_a_loop_under_control(measured, name, rows, first):
    path = measured / "pressure-loop-steps" / f"{name}.dat"
    with pytest.raises(InputError, match=r'columns\.unit: column . "pressure" names no unit of pressure'):
        read(path, "")
    record = read(path, LOOP)
    assert (len(record.time_s), record.dropped, record.reference) == (rows, {}, "gauge")
    assert np.diff(record.time_s) == pytest.approx(0.01, abs=1e-6)
    assert record.pressure_Pa[0] == pytest.approx(first * WATER, rel=1e-6)
    assert record.resolution_Pa == pytest.approx(0.001 * WATER, rel=1e-5)


def test_a_vessel_in_long_form(measured):
    """One row a channel: 15 pressures in bar absolute and the mean temperature of the gas on its own times."""
    record = read(measured / "vessel-transients" / "air-discharge-790kPa.csv", "")
    assert (len(record.time_s), record.reference) == (15, "absolute")
    assert record.pressure_Pa[0] == pytest.approx(768830.0)
    assert 255.0 < record.temperature_K.min() < record.temperature_K.max() < 300.0
