"""Following a hold while it goes on."""

from dataclasses import replace

import numpy as np
import pytest

from simcal.analysis.judge import follow, judge, look
from simcal.errors import InputError
from tests.analysis.holds import P, about, isothermal, record


def test_a_clear_leak_is_called_long_before_the_end():
    looks = list(follow(record(isothermal(4e-7)), about(), growth=1.5))
    assert looks[-1].verdict == "leak" and looks[-1].time_s < 150.0
    assert all(one.verdict == "undecided" for one in looks[:-1])
    assert looks[-1].low_mol_per_s < 4e-7 < looks[-1].high_mol_per_s


def test_a_tight_vessel_is_never_called_a_leak_at_any_look():
    looks = [
        look(record(lambda t: P + 0.0 * t, np.linspace(0.5, n, 2 * n)), about(), 300.0) for n in (20, 60, 140, 300)
    ]
    assert {one.verdict for one in looks} <= {"undecided", "tight"}
    assert looks[-1].verdict == "tight"
    widths = [one.high_mol_per_s - one.low_mol_per_s for one in looks]
    assert widths[-1] < 0.5 * widths[0]


def test_the_last_look_comes_when_none_decides():
    course = isothermal(2e-8)  # at the limit
    looks = list(follow(record(course), about(), growth=2.0))
    assert looks[-1].time_s == pytest.approx(300.0) and looks[-1].verdict == "undecided"
    assert np.all(np.diff([one.time_s for one in looks]) > 0.0)


def test_one_look_is_less_sure_than_one_judgement():
    one, whole = look(record(isothermal(4e-7)), about()), judge(record(isothermal(4e-7)), about())
    assert one.high_mol_per_s - one.low_mol_per_s > whole.high_mol_per_s - whole.low_mol_per_s
    assert one.leak_mol_per_s == whole.leak_mol_per_s


def test_without_a_limit_there_is_nothing_to_follow():
    with pytest.raises(InputError, match="permitted_leak"):
        look(record(isothermal(4e-7)), replace(about(), permitted_leak=None))
