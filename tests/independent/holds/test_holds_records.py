"""Independent re-implementation, shares nothing with simcal/: the records keep the rules of their parts."""

import tomllib

import numpy as np
import pytest

from tests.independent.holds import population, reference, scoring, text


@pytest.mark.parametrize("part", population.PARTS)
def test_a_record_is_the_same_for_the_same_seed_and_keeps_its_part(part):
    one, again = population.record(part, 5, 3), population.record(part, 5, 3)
    assert np.array_equal(one.pressure_Pa, again.pressure_Pa) and one.truth == again.truth and one.about == again.about
    truth = one.truth
    share = abs(truth["leak_mol_per_s"]) / truth["permitted_mol_per_s"]
    factor = truth["S_Pa"] / truth["u_Pa"]
    if part == "clear-cut":
        assert factor >= 10.0 and (share <= 1.0 / 3.0 or share >= 3.0)
        assert abs(one.about["capacity"] / one.told["vessel"].volume - 1.0) < 0.1
    else:
        assert 0.7 <= factor <= 20.0
    assert bool(truth["confounders"]) == (part == "confounded")
    assert sum(truth["parts_Pa"].values()) == pytest.approx(truth["change_Pa"], abs=1e-6 * truth["S_Pa"])


def test_other_ranges_change_what_imitates_a_leak_and_nothing_else():
    usual, other = (population.record("confounded", 5, 3, ranges) for ranges in (population.USUAL, population.OTHER))
    assert usual.truth["permitted_mol_per_s"] == other.truth["permitted_mol_per_s"]
    assert usual.truth["u_parts_Pa"] == other.truth["u_parts_Pa"]
    assert usual.truth["parts_Pa"]["leak"] != other.truth["parts_Pa"]["leak"]  # a seat that passes


def test_the_files_say_what_the_record_holds():
    record = population.record("hard", 5, 0)
    rows = text.csv(record).splitlines()
    assert len(rows) == record.time_s.size + 1
    first = [float(x) for x in rows[1].split(",")]
    assert first[:2] == pytest.approx([record.time_s[0], record.pressure_Pa[0]], abs=1e-3)
    about = tomllib.loads(text.toml(record.about))
    assert about["gas"] == record.about["gas"]
    assert float(about["permitted_leak"].split()[0]) == pytest.approx(record.about["permitted_leak"])
    assert float(about["sensor"]["drift"].split()[0]) == pytest.approx(3600.0 * record.about["sensor"]["drift"])


def test_the_counts_are_those_of_the_verdicts():
    def said(leak, verdict, low, high):
        return scoring.Answer("hard", 0, leak, 1.0, verdict, low, high, 0.5 * (low + high))

    answers = [
        said(0.9, "leak", 1.1, 1.3), said(1.0, "tight", 0.8, 1.0), said(-1.5, "tight", -0.9, 0.0),
        said(2.0, "leak", 1.8, 2.2), said(3.0, "undecided", 0.0, 4.0),
    ]  # fmt: skip
    found = scoring.table(answers)["all"]
    assert (found["false_accusations"], found["tight"], found["missed"], found["leaky"]) == (1, 2, 1, 3)
    assert (found["outside_interval"], found["undecided"]) == (2, 1)
    # 5 % promised, 1,000 trials: 67 are no proof, 68 are (scipy.stats.binom.sf 1.06 % and 0.74 %)
    assert not scoring.broken(67, 1000, 0.05) and scoring.broken(68, 1000, 0.05)
    assert scoring.table(answers)["near the limit"]["records"] == 4


@pytest.mark.campaign  # the reference serves the campaign only, and compiling it takes seconds
def test_the_reference_finds_a_clear_leak_and_keeps_its_heat():
    record = population.record("clear-cut", 1, 3)  # 4.6 times the limit, inwards
    said = reference.judge(record.time_s, record.pressure_Pa, record.temperature_K, record.about, record.told)
    assert said["verdict"] == "leak"
    assert said["low"] < record.truth["leak_mol_per_s"] < said["high"] < 0.0
    told = population.record("hard", 1, 1).told
    t = np.linspace(0.0, told["vessel"].hold, 400)
    thermal = reference.Thermal(told, t)
    thermal.face = thermal.body_out = 0.0  # nothing leaves: the heat in gas, wall and body stays
    states = thermal.states(np.zeros(reference.KNOTS), 0.0, np.zeros(t.size))
    heat = states @ np.concatenate([thermal.gas[:1], thermal.wall])
    assert np.ptp(states[:, 0]) > 0.1
    assert heat == pytest.approx(heat[0], rel=1e-9)
