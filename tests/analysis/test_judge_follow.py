"""Following a hold while it goes on."""

import itertools
from dataclasses import replace

import numpy as np
import pytest

from simcal.analysis.judge import Following, Look, every_look, follow, judge, look, price
from simcal.analysis.judge.follow import BINS, _due
from simcal.errors import InputError
from tests.analysis.holds import P, about, isothermal, record


def test_a_clear_leak_is_called_long_before_the_end():
    looks = list(follow(record(isothermal(4e-7)), about()))
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
    few = np.linspace(0.5, 300.0, 24)
    looks = list(follow(record(isothermal(2e-8), few), about()))  # at the limit
    assert looks[-1].time_s == pytest.approx(300.0) and looks[-1].verdict == "undecided" and price(looks) is None
    assert np.all(np.diff([one.time_s for one in looks]) > 0.0)


def test_one_look_is_less_sure_than_one_judgement():
    one, whole = look(record(isothermal(4e-7)), about()), judge(record(isothermal(4e-7)), about())
    assert one.high_mol_per_s - one.low_mol_per_s > whole.high_mol_per_s - whole.low_mol_per_s
    assert one.leak_mol_per_s == whole.leak_mol_per_s
    assert (one.single_low_mol_per_s, one.single_high_mol_per_s) == (whole.low_mol_per_s, whole.high_mol_per_s)


def test_without_a_limit_there_is_nothing_to_follow():
    with pytest.raises(InputError, match="permitted_leak"):
        look(record(isothermal(4e-7)), replace(about(), permitted_leak=None))
    with pytest.raises(InputError, match="permitted_leak"):
        Following(replace(about(), permitted_leak=None))


@pytest.mark.parametrize("hold", [31.0, 120.0, 300.0, 7200.0])
def test_a_watch_of_known_length_has_forty_looks_or_more(hold):
    times = [due for due, _ in zip(_due(0.0, hold), range(BINS), strict=False) if due[0] <= hold * (1.0 + 1e-9)]
    assert 40 <= len(times) <= BINS and times[-1][0] == pytest.approx(hold)
    assert {horizon for _, horizon in times} == {hold}


def test_on_an_endless_hold_looks_grow_rare():
    due = _due(0.0, None)
    times = []
    while not times or times[-1][0] < 100_000.0:
        times.append(next(due))
    assert len(times) < 60 + 30 * 8 and all(held <= horizon for held, horizon in times)
    assert max(np.diff([held for held, _ in times]) / [held for held, _ in times[:-1]]) <= 1.0


def growing(whole, counts):
    """The record as it stands after so many rows, time after time."""
    for n in counts:
        yield replace(whole, time_s=whole.time_s[:n], pressure_Pa=whole.pressure_Pa[:n], segments=((0, n - 1),))


def test_the_looks_do_not_depend_on_when_the_file_is_looked_at():
    whole = record(isothermal(4e-7), np.linspace(0.5, 300.0, 30))
    said = replace(about(), watch_until=300.0)
    expected = list(itertools.islice(every_look(whole, said), 4))
    for counts in ([20], [2, 3, 5, 20], range(2, 21)):
        following, found = Following(said), []
        for one in growing(whole, counts):
            found += following.more(one)
        assert found == expected


def test_before_there_are_rows_enough_no_look_and_no_fault():
    following, still = Following(about()), record(lambda t: P + 0.0 * t, np.linspace(0.5, 40.0, 20), noise=0.0)
    assert list(following.more(next(growing(still, [5])))) == []


def made(held, verdict, single):
    return Look(held, held, verdict, 0.0, 0.0, 0.0, 1.0, True, single, 0.0, 0.0)


@pytest.mark.parametrize(
    ("singles", "expected"),
    [
        ("uuttt", (30.0, 50.0)),
        ("tuttt", (30.0, 50.0)),  # what one look said by chance before counts for nothing
        ("lluut", (50.0, 50.0)),
        ("uuuuu", (50.0, 50.0)),
    ],
)
def test_the_price_is_counted_from_the_look_after_which_a_single_one_always_decided(singles, expected):
    words = {"u": "undecided", "t": "tight", "l": "leak"}
    looks = [made(10.0 * (n + 1), "tight" if n == 4 else "undecided", words[s]) for n, s in enumerate(singles)]
    assert price(looks) == expected
    assert price(looks[:4]) is None
