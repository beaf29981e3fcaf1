"""A large laboratory: 500 kinds of instrument, 40 candidates (ten at one price), six places, proved best in time."""

import time

import pytest

from simcal.analysis.cover import cover
from simcal.files.lab_file import load_lab
from tests.lab_made import made

pytestmark = pytest.mark.campaign

LONGEST_S = 20.0


@pytest.mark.parametrize(("seed", "budget"), [(20261125, None), (1, None), (2, 16000), (3, 16000)])
def test_a_large_laboratory_is_proved_within_twenty_seconds(tmp_path, seed, budget):
    path = made(tmp_path, 500, 40, seed)
    start = time.perf_counter()
    lab = load_lab(path, [] if budget is None else [f"budget={budget}"])
    found = cover(lab)
    took = time.perf_counter() - start
    assert (len(lab.instruments), len(lab.sensors), lab.places) == (500, 40, 6)
    assert found.plan.proved
    assert found.plan.gap == 0.0
    assert found.plan.kinds > 300
    assert took < LONGEST_S
