"""A soak that is too short is answered with one that is long enough, and not longer than it must be."""

from pathlib import Path

import pytest

from simcal.analysis.settle import settle
from simcal.files.bench_file import load_bench
from simcal.show.jsonout import settle_document

ROOT = Path(__file__).resolve().parent.parent.parent
SETS = ('sequence.up_down.read="isolated"', 'sequence.up_down.nearness="40 Pa"', 'sequence.up_down.longest="60 s"')


@pytest.fixture(scope="module")
def short(make_bench):
    """The gas is still warm when the valves shut after one second."""
    return settle(make_bench(*SETS))


def test_too_short_a_soak_is_said_with_its_cure(make_bench, short):
    missed = short.points[1]
    assert not missed.reached and not short.good
    assert "leaves nearness" in missed.reason
    assert missed.reason.endswith(f"sequence.up_down.soak is 1 s, {missed.shortest_soak_s:g} s would do")
    assert missed.ready_s is None and missed.end_s == 60.0
    assert short.points[2].start_s == pytest.approx(missed.start_s + 60.0)
    most = max(p.shortest_soak_s for p in short.points[1:])
    assert short.notes[0].startswith(f"sequence.up_down.soak = '{most:g} s' would serve points 2, 3")
    assert short.points[0].shortest_soak_s is None
    made = settle_document(short, make_bench(*SETS))
    assert made["points"][1]["shortest_soak_s"] == missed.shortest_soak_s


@pytest.mark.parametrize("place", [1, 2])
def test_the_soak_it_names_serves_and_one_a_step_shorter_does_not(make_bench, short, place):
    """Rounded up to 1 s below 10 s and to 5 s above, so that a whole step less is too short."""
    named = short.points[place].shortest_soak_s
    step = 1.0 if named <= 10.0 else 5.0
    assert named > 1.0 and named % step == 0.0
    for soak, works in ((named, True), (named - step, False)):
        # each point is looked at after a soak long enough for the one before
        first = settle(make_bench(*SETS, f'sequence.up_down.soak="{soak:g} s"'))
        assert first.points[place].reached is works, (soak, first.points[place].reason)


def test_where_no_soak_helps_that_is_said(make_bench):
    """A leak takes the reading out of nearness within the second that it is to be read, however long the soak."""
    sets = (*SETS, 'leak.fitting.rate="2e-5 mol/s"')
    point = settle(make_bench(*sets)).points[1]
    assert not point.reached and point.shortest_soak_s is None
    assert point.reason.endswith("no sequence.up_down.soak up to 59 s changes that")


def test_a_given_dwell_holds_the_soak_that_is_named(make_bench):
    """Of a dwell of 30 s the valves may be open for longer."""
    point = settle(make_bench(*SETS), dwell_s=30.0).points[1]
    assert not point.reached and 1.0 < point.shortest_soak_s <= 30.0
    longer = f'sequence.up_down.soak="{point.shortest_soak_s:g} s"'
    again = settle(make_bench(*SETS, longer), dwell_s=30.0).points[1]
    assert again.reached and again.dwell_s == pytest.approx(30.0)


def test_a_bench_that_ships_is_told_its_soak():
    """Helium at 300 bar, read isolated after one second: the gas that was compressed is still warm."""
    sets = ["sequence.up_down.read=isolated", 'sequence.up_down.points=["20 %", "60 %"]']
    missed, read = (
        settle(load_bench(ROOT / "configs/helium-300bar.toml", [*sets, f'sequence.up_down.soak="{soak} s"'])).points[1]
        for soak in (1, 3)
    )
    assert not missed.reached and missed.shortest_soak_s == 3.0
    assert read.reached and read.shortest_soak_s is None
