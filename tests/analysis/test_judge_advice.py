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
    for port, words in ((None, "state what is on the port"), ("plugged", "it is the bench's own")):
        action = judge(record(isothermal(2e-7)), about(port=port)).next_action
        assert action.kind == "vent_and_confirm_zero"
        assert "before any work" in action.text and words in action.text


def test_a_leak_with_a_device_on_the_port_is_parted_by_a_plug_and_what_is_expected_then_comes():
    found = judge(record(isothermal(2e-7)), about(port="device"))
    action = found.next_action
    assert found.verdict == "leak" and action.kind == "plug_port"
    assert action.text.startswith("vent and confirm the zero before any work on a joint; then plug the port")
    assert action.for_s == pytest.approx(299.5, abs=1.0)
    # what is expected if the leak goes with the device tells the two apart: it leaves out the leak that was found
    assert action.expected_low_mol_per_s < 0.0 < action.expected_high_mol_per_s < found.low_mol_per_s
    # the hold with a plug, drawn anew, for both truths: the device's own leak gone, the bench's still there
    bench = judge(record(isothermal(2e-7), seed=5), about(port="plugged"))
    device = judge(record(isothermal(0.0), seed=5), about(port="plugged"))
    assert bench.verdict == "leak" and device.verdict == "tight"
    assert action.expected_low_mol_per_s < device.leak_mol_per_s < action.expected_high_mol_per_s
    width = action.expected_high_mol_per_s - action.expected_low_mol_per_s
    assert width == pytest.approx(device.high_mol_per_s - device.low_mol_per_s, rel=0.5)


def hose(t):
    """A leak near the limit, and a hose that yields with the logarithm of time: no longer hold is seen to decide."""
    return isothermal(1.5 * LIMIT)(t) - 20.0 * np.log1p(t / 20.0)


@pytest.mark.parametrize(
    ("rating", "kind", "words"),
    [
        (None, "from_above", "from just above, within the lowest rating of all parts and"),
        (Level(6e5, False), "from_above", "from just above, at most 6 bar abs, the rating and"),
        (Level(P + 2e3, False), None, ""),
    ],
    ids=["not stated", "room above", "no room above"],
)
def test_no_action_goes_above_the_rating(rating, kind, words):
    untold = about(came_from=Level(1e5, False), soak=20.0, rating=rating)
    found = judge(record(hose), untold)
    assert found.verdict == "undecided"
    if kind is None:
        assert found.next_action.kind != "from_above" and "above" not in found.next_action.text
    else:
        assert found.next_action.kind == kind and words in found.next_action.text


def test_a_record_above_the_stated_rating_says_so():
    found = judge(record(isothermal(2e-7)), about(rating=Level(4e5, False)))
    assert any("above the stated rating" in line for line in found.statements)


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
