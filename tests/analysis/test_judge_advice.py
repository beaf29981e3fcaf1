"""The next action: cheap, decided by the numbers, and never work on a joint under pressure."""

from dataclasses import replace

import numpy as np
import pytest

from simcal.analysis.judge import judge
from simcal.analysis.judge.judgement import ACTIONS
from simcal.bench.about import HoldSensor, PermittedLeak
from simcal.bench.values import Level, Spread
from tests.analysis.holds import VOLUME, P, R, T, about, isothermal, record

LIMIT = 2e-8


def short(seconds, course=lambda t: P + 0.0 * t, **more):
    return record(course, np.linspace(0.5, seconds, int(2 * seconds)), **more)


def test_a_hold_too_short_is_to_be_held_longer_and_then_decides():
    loud = about(sensor=HoldSensor(noise=40.0, resolution=0.1, drift=0.0, zero_shift=0.0))
    early = judge(short(60.0, noise=40.0), loud)
    assert early.verdict == "undecided" and early.next_action.kind == "hold_longer"
    action = early.next_action
    assert action.until_s == 0.0 and action.for_s > 60.0
    assert -LIMIT < action.expected_low_mol_per_s < action.expected_high_mol_per_s < LIMIT
    late = judge(short(action.until_s + action.for_s, noise=40.0, seed=7), loud)
    assert late.verdict == "tight"


def test_heat_that_still_flows_asks_for_a_later_watch():
    # 3 kPa with a time constant of 60 s, as a warm body would make it; the limit takes 0.5 Pa/s
    untold = about(came_from=None, moved_in=None, soak=None)
    found = judge(short(60.0, lambda t: P + 3000.0 * np.exp(-t / 60.0)), untold)
    assert found.verdict == "undecided"
    assert found.next_action.kind in ("wait_longer", "hold_longer")
    assert found.next_action.until_s + found.next_action.for_s > 60.0


def test_a_vague_capacity_is_to_be_measured():
    rate = 1.1 * LIMIT
    found = judge(record(isothermal(rate)), about(spreads={"capacity": Spread(0.3 * VOLUME)}))
    assert found.verdict == "undecided" and found.next_action.kind == "second_volume"


def test_a_drifting_sensor_is_to_be_seen_with_the_port_vented():
    # limit 0.5 Pa/s; a sensor whose drift may be twice that, however long one holds
    drifting = about(
        spreads={"sensor.drift": Spread(1.0)}, sensor=replace(about().sensor, drift=0.0), came_from=Level(P, False)
    )
    found = judge(record(lambda t: P + 0.0 * t), drifting)
    assert found.verdict == "undecided" and found.next_action.kind == "vent_port"


def test_after_a_leak_the_first_thing_is_to_vent():
    found = judge(record(isothermal(2e-7)), about(port="device"))
    assert found.next_action.kind == "vent_and_confirm_zero"
    assert "before any work" in found.next_action.text and "plug" in found.next_action.text


@pytest.mark.parametrize("seed", range(6))
def test_no_action_touches_a_joint_under_pressure(seed):
    rng = np.random.default_rng(seed)
    slope, size, tau = (
        rng.normal(0.0, 3.0) * LIMIT * R * T / VOLUME,
        rng.normal(0.0, 300.0),
        10.0 ** rng.uniform(0.5, 2.5),
    )
    said = about(
        came_from=Level(P * rng.uniform(0.2, 1.8), False),
        soak=rng.uniform(5.0, 100.0),
        permitted_leak=PermittedLeak(LIMIT * rng.uniform(0.5, 2.0), "amount", "mol/s"),
        supply=[None, "vented", Level(2.0 * P, False)][seed % 3],
    )
    action = judge(record(lambda t: P - slope * t + size * np.exp(-t / tau), seed=seed), said).next_action
    assert action.kind in ACTIONS and action.text.isascii()
    assert not any(word in action.text.lower() for word in ("tighten", "torque", "loosen", "raise the pressure"))
    if action.until_s is not None:
        assert action.for_s > 0.0
