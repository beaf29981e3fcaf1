"""Staffed hours: work lies in them, and time goes on where it stopped."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simcal.analysis.year.hours import DAY, WEEK, Hours

OFFICE = Hours(8 * 3600.0, 16 * 3600.0, (0, 1, 2, 3, 4))
HOUR = 3600.0


def test_a_week_has_its_hours():
    assert OFFICE.staffed(WEEK) == 40 * HOUR
    assert OFFICE.staffed(9 * HOUR) == HOUR
    assert OFFICE.staffed(-WEEK) == -40 * HOUR
    assert Hours().staffed(12345.6) == 12345.6


@pytest.mark.parametrize(
    ("begun", "hours", "done"),
    [
        (9.0, 2.0, 11.0),
        (15.0, 2.0, 24.0 + 9.0),  # goes on the next morning
        (4 * 24 + 15.0, 1.5, 7 * 24 + 8.5),  # Friday to Monday
        (15.0, 1.0, 16.0),  # ends at the close, not at the next opening
        (4 * 24 + 15.0, 1.0, 4 * 24 + 16.0),
        (20.0, 0.5, 24.0 + 8.5),  # begun after the close
        (9.0, 0.0, 9.0),
        (9.0, 80.0, 14 * 24 + 9.0),
    ],
)
def test_work_lies_in_staffed_hours(begun, hours, done):
    assert OFFICE.after(begun * HOUR, hours * HOUR) == pytest.approx(done * HOUR, abs=1e-3)


@given(st.floats(-3e7, 3e7), st.floats(1.0, 1e7))
def test_staffed_time_passes_by_the_work_done(begun, work):
    done = OFFICE.after(begun, work)
    assert OFFICE.staffed(done) - OFFICE.staffed(begun) == pytest.approx(work, abs=1e-4)


@pytest.mark.parametrize(("moment", "opens"), [(0.0, 8.0), (9.0, 9.0), (16.0, 32.0), (4 * 24 + 17.0, 7 * 24 + 8.0)])
def test_the_next_staffed_moment(moment, opens):
    assert OFFICE.opening(moment * HOUR) == opens * HOUR
    assert Hours().opening(moment * HOUR) == moment * HOUR
    assert OFFICE.staffed(OFFICE.opening(moment * HOUR)) == pytest.approx(OFFICE.staffed(moment * HOUR))


def test_every_day_round_the_clock_is_recognised():
    assert Hours().always
    assert not Hours(0.0, DAY, (0, 1, 2, 3, 4)).always
