"""Honesty in small: seeded records of a model that is not the judge's own, held to the promised rates."""

import numpy as np
import pytest

from simcal.analysis.judge import judge, judge_together
from simcal.bench.about import About, HoldRoom, HoldSensor, HoldWall, PermittedLeak
from simcal.bench.record import Record
from simcal.bench.values import Level, Spread
from tests import counting
from tests.independent import lumped_holds

COUNT, SEED = 30, 20


def said(hold):
    spreads = {
        "capacity": Spread(hold["spread"] * hold["volume"]),
        "sensor.drift": Spread(0.5 * hold["sheet"]),
        "room.drift": Spread(0.5 * hold["drift"]),
    }
    told = {"came_from": Level(hold["came"], False), "moved_in": hold["move"], "soak": hold["soak"]}
    about = About(
        gas="nitrogen",
        capacity=hold["volume"],
        reading="absolute",
        permitted_leak=PermittedLeak(hold["permitted"], "amount", "mol/s"),
        isolated_at=0.0,
        supply="vented",
        wall=HoldWall(material="steel", shape="cylinder", bore=hold["bore"], thickness=hold["thickness"]),
        sensor=HoldSensor(noise=hold["noise"], resolution=0.0, drift=0.0, zero_shift=0.0),
        room=HoldRoom(temperature=293.15, drift=0.0, cycle=hold["cycle"]),
        spreads=spreads,
        **(told if hold["told"] else {}),
    )
    return Record(name="lumped", time_s=hold["time"], pressure_Pa=hold["pressure"]), about


def judged(hold):
    return judge(*said(hold))


@pytest.mark.parametrize("part", ["clear", "hard"])
def test_the_stated_rates_are_kept_on_a_model_that_is_not_our_own(part):
    # promised: false accusation and miss at most 2.5 %, coverage 95 %, by exact binomial test at 1 %
    accused = missed = covered = open_ = 0
    errors = []
    for i in range(COUNT):
        hold = lumped_holds.hold(np.random.default_rng([SEED, i]), part)
        found, tight = judged(hold), hold["leak"] <= hold["permitted"]
        accused += found.verdict == "leak" and tight
        missed += found.verdict == "tight" and not tight
        open_ += found.verdict == "undecided"
        covered += found.low_mol_per_s <= hold["leak"] <= found.high_mol_per_s
        if not tight:
            errors.append(abs(found.leak_mol_per_s / hold["leak"] - 1.0))
    assert not counting.broken(accused, COUNT, 0.025)
    assert not counting.broken(missed, COUNT, 0.025)
    assert not counting.broken(COUNT - covered, COUNT, 0.05)
    if part == "clear":
        assert not counting.broken(open_, COUNT, 0.05)
        assert np.median(errors) < 0.05
    else:
        assert open_ < COUNT  # it does decide some


def test_two_sides_together_are_narrower_than_either_and_as_honest():
    covered, narrower, count = 0, 0, 12
    for i in range(count):
        first = lumped_holds.hold(np.random.default_rng([SEED, i]), "hard")
        second = lumped_holds.hold(np.random.default_rng([SEED, i]), "hard", like=first)
        second["volume"], first["told"], second["told"] = first["volume"], True, True
        one, both = judged(first), judge_together([said(first), said(second)])
        covered += both.low_mol_per_s <= first["leak"] <= both.high_mol_per_s
        narrower += both.high_mol_per_s - both.low_mol_per_s < one.high_mol_per_s - one.low_mol_per_s
    assert not counting.broken(count - covered, count, 0.05)
    assert narrower >= count - 2
