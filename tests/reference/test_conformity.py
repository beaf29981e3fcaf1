"""Uncertainty and conformity against published figures and an integration of its own (tests/independent/risk.py)."""

import math
import random

import numpy as np
import pytest

from simcal.stats.conformity import (
    acceptance_limit,
    global_risks,
    guard_band_for,
    least_ratio,
    prior_sd,
    probability_inside,
    worst_risks,
)
from simcal.stats.uncertainty import combined, resolved, standard
from tests.independent.risk import risks


def test_the_gauge_block_of_the_guide_has_32_nm():
    # JCGM 100:2008, H.1 (from memory): 25, 9.7, 2.9, 16.6 nm give 31.7 nm, printed as 32 nm; check E13
    assert combined(25.0, 9.7, 2.9, 16.6) == pytest.approx(31.7, abs=0.1)


def test_four_rectangular_inputs_of_unit_deviation_have_two():
    # JCGM 101:2008, 9.2.3 (from memory); check E14: u = 2, 95 % interval by the guide +-3.92, exact +-3.879407
    one = standard(math.sqrt(3.0), "limits")
    assert combined(one, one, one, one) == pytest.approx(2.0, rel=1e-12)
    exact = 2.0 * math.sqrt(3.0) * (2.0 - 0.6**0.25)
    assert 1.959964 * combined(one, one, one, one) == pytest.approx(3.92, abs=1e-3)
    assert exact == pytest.approx(3.879407, abs=1e-5)
    assert standard(0.5, "k=2") == 0.25
    assert standard(0.5, "k=1") == 0.5
    assert resolved(math.sqrt(12.0)) == pytest.approx(1.0)


def test_conformance_probabilities():
    # JCGM 106:2012, clause 7; check E15. The second is check E26 too: 0.9 T at a ratio of 4 is out with 21.2 %
    assert probability_inside(-math.inf, 1.0, 0.95, 0.04) == pytest.approx(0.894350, abs=1e-6)
    assert probability_inside(-1.0, 1.0, 0.9, 0.125) == pytest.approx(0.788145, abs=1e-6)


@pytest.mark.parametrize(
    ("share", "ratio", "consumer", "producer"),
    [
        # JCGM 106:2012, clause 9, by numeric integration; check E16
        (0.95, 1.0, 0.018012, 0.129572), (0.95, 1.5, 0.015412, 0.066245), (0.95, 2.0, 0.013373, 0.041775),
        (0.95, 3.0, 0.010485, 0.022936), (0.95, 4.0, 0.008583, 0.015537), (0.95, 10.0, 0.004060, 0.005162),
        # the same, check E17
        (0.90, 1.0, 0.032509, 0.136452), (0.90, 2.0, 0.022638, 0.050834), (0.90, 4.0, 0.013741, 0.020888),
        (0.90, 10.0, 0.006220, 0.007367),
    ],
)  # fmt: skip
def test_global_risks_of_simple_acceptance(share, ratio, consumer, producer):
    found = global_risks(prior_sd(share, 1.0), 0.5 / ratio, 1.0, 1.0)
    assert found == (pytest.approx(consumer, abs=2e-6), pytest.approx(producer, abs=2e-6))


def test_the_trades_eight_tenths_of_a_percent_need_the_observed_share():
    # Harben and Reese, NCSLI Measure 2012 (0.8 % from memory); check E18
    s = prior_sd(0.95, 1.0, 0.125, observed=True)
    consumer, producer = global_risks(s, 0.125, 1.0, 1.0)
    assert (consumer, producer) == (pytest.approx(0.007705, abs=2e-6), pytest.approx(0.014484, abs=2e-6))
    assert np.isnan(prior_sd(0.95, 1.0, 0.6, observed=True))


@pytest.mark.parametrize(
    ("ratio", "consumer", "producer"),
    # JCGM 106:2012, 8.3, guard band U; check E19
    [(4.0, 2.077e-4, 0.10357), (2.0, 3.593e-4, 0.32921), (1.5, 4.377e-4, 0.53486)],
)
def test_a_guard_band_of_the_whole_uncertainty(ratio, consumer, producer):
    found = global_risks(prior_sd(0.95, 1.0), 0.5 / ratio, 1.0, 1.0 - 1.0 / ratio)
    assert found == (pytest.approx(consumer, abs=1e-7), pytest.approx(producer, abs=1e-5))


@pytest.mark.parametrize(("ratio", "accept"), [(1.0, 0.79240), (1.5, 0.91635), (2.0, 0.97315), (3.0, 1.0)])
def test_the_acceptance_limit_of_two_percent(ratio, accept):
    # ANSI/NCSL Z540.3, 5.3: at most 2 % (quoted in a conference paper); check E20
    assert acceptance_limit(0.02, 0.5 / ratio, 1.0, float(prior_sd(0.90, 1.0))) == pytest.approx(accept, abs=1e-4)


def test_two_percent_whatever_the_share_in_tolerance():
    # Harben and Reese, the rules of 4.6:1 and 89 % (from memory); check E21
    assert worst_risks(0.5 / 4.6, 1.0, 1.0)[0] == pytest.approx(0.01965, abs=1e-4)
    assert worst_risks(0.5 / 4.0, 1.0, 1.0)[0] == pytest.approx(0.02238, abs=1e-4)
    assert 4.0 < least_ratio(0.02) < 4.6
    assert worst_risks(0.5 / least_ratio(0.02), 1.0, 1.0)[0] == pytest.approx(0.02, abs=1e-8)
    for share, worst in ((0.89, 0.01951), (0.88, 0.02140)):
        u = np.geomspace(0.01, 0.6, 4000)
        s = prior_sd(share, 1.0, u, observed=True)
        some = np.isfinite(s)
        assert global_risks(s[some], u[some], 1.0, 1.0)[0].max() == pytest.approx(worst, abs=1e-4)


@pytest.mark.parametrize("ratio", [1.5, 2.0, 3.0, 4.0, 4.6])
def test_the_worst_case_limit_lies_within_a_hundredth_of_the_handbooks_formula(ratio):
    # "method 6" of the Z540.3 handbook (formula from memory), a fit to 2 % at the worst prior; check E22
    formula = min(1.0, 1.0 - (1.04 - math.exp(0.38 * math.log(ratio) - 0.54)) / ratio)
    assert acceptance_limit(0.02, 0.5 / ratio, 1.0) == pytest.approx(formula, abs=0.01)
    assert acceptance_limit(0.02, 0.5 / ratio, 1.0) >= formula - 1e-6  # the fit stays on the side of caution


@pytest.mark.parametrize(
    ("band", "consumer", "producer"),
    # inputs like the example of JCGM 106:2012, 9.5 (unconfirmed), figures by numeric integration; check E23
    [(0.0, 0.018942, 0.037208), (0.02, 0.009878, 0.069027), (0.04, 0.004334, 0.114657), (0.08, 0.000469, 0.247670),
     (-0.04, 0.044898, 0.007097)],
)  # fmt: skip
def test_guard_bands_of_either_sign(band, consumer, producer):
    found = global_risks(0.12, 0.04, 0.2, 0.2 - band)
    assert found == (pytest.approx(consumer, abs=2e-6), pytest.approx(producer, abs=2e-6))
    assert probability_inside(-0.2, 0.2, 0.0, 0.12) == pytest.approx(0.904419, abs=2e-6)


def test_the_specific_risk_at_the_limit():
    # JCGM 106:2012, 8.3.2; check E24
    assert 1.0 - probability_inside(-math.inf, 1.0, 1.0 - 2.0 * 0.1, 0.1) == pytest.approx(0.0227501, abs=1e-6)
    assert guard_band_for(0.05, 1.0) == pytest.approx(1.644854, abs=1e-6)
    assert guard_band_for(0.01, 0.5) == pytest.approx(1.163174, abs=1e-6)  # U = 1


def test_global_risks_agree_with_an_integration_of_their_own():
    draw = random.Random(7)
    for _ in range(12):
        s, u = draw.uniform(0.05, 3.0), draw.uniform(0.02, 2.0)
        accept = draw.uniform(0.2, 1.4)
        found = global_risks(s, u, 1.0, accept)
        assert found == tuple(pytest.approx(one, abs=1e-9) for one in risks(s, u, 1.0, accept))


def test_no_prior_gives_more_than_the_worst_case():
    draw = random.Random(11)
    for _ in range(20):
        u, accept = draw.uniform(0.02, 0.7), draw.uniform(0.4, 1.2)
        worst = worst_risks(u, 1.0, accept)
        for s in np.geomspace(0.01, 30.0, 300):
            one = global_risks(s, u, 1.0, accept)
            assert one[0] <= worst[0] + 1e-12
            assert one[1] <= worst[1] + 1e-12
