"""A year's intervals and bands over 1,000 repeated experiments, and the speed of a large laboratory.

Each experiment is what `simcal year` does by default: 40 replications. Its 95 % interval of the uptime must hold the
true mean, taken from all 40,000 replications (whose own error is a thirtieth of an experiment's), and its band of nine
years of ten one fresh year, which is the first replication of the next experiment. Both counts are binomial; a promise
is broken when an exact test says so at 1 %.
"""

from __future__ import annotations

import time
from dataclasses import replace

import numpy as np
import pytest

from simcal.analysis.year.model import Replicated
from simcal.analysis.year.year import estimate, replicated
from simcal.run import Processes
from tests.analysis.shops import MODEL, SHOP
from tests.campaign import ledger
from tests.counting import broken

NAME = "year-band"
ENTRY = "simcal.analysis.year"
EXPERIMENTS, REPLICATIONS, SEED = 1000, 40, 20266  # 20264 told that Student's own t misses 6.7 %
SHARE = 0.02
"""of the experiments that the ordinary tests run again"""
FEW = replace(MODEL, shop=replace(SHOP, kinds=tuple(replace(kind, count=kind.count / 5.0) for kind in SHOP.kinds)))
LONGEST_S = 60.0


def uptimes(first: int, count: int, workers: int | None) -> np.ndarray:
    """Uptime of each replication [experiment, replication]."""
    with Processes(Replicated(FEW, SEED), workers) as many:
        rows = many(first * REPLICATIONS, count * REPLICATIONS)
    return np.array([row["uptime"] for row in rows]).reshape(count, REPLICATIONS)


@pytest.mark.campaign
def test_a_thousand_experiments_keep_interval_and_band() -> None:
    """The counts go to tests/campaign/year-band.json."""
    values = uptimes(0, EXPERIMENTS, None)
    true = float(values.mean())
    found = [estimate(one) for one in values]
    missed = sum(not one.low <= true <= one.high for one in found)
    fresh = np.roll(values[:, 0], -1)
    outside = sum(not one.year_low <= year <= one.year_high for one, year in zip(found, fresh, strict=True))
    counts = {
        "seed": SEED, "experiments": EXPERIMENTS, "replications": REPLICATIONS, "mean": true,
        "interval_missed": missed, "interval_promised": 0.05, "band_outside": outside, "band_promised": 0.10,
        "first_means": values[: round(SHARE * EXPERIMENTS)].mean(axis=1).tolist(),
    }  # fmt: skip
    ledger.write(NAME, ENTRY, counts)
    assert not broken(missed, EXPERIMENTS, 0.05), missed
    assert not broken(outside, EXPERIMENTS, 0.10), outside


def test_the_recorded_campaign_kept_its_promises() -> None:
    found = ledger.read(NAME)
    assert (found["experiments"], found["replications"], found["seed"]) == (EXPERIMENTS, REPLICATIONS, SEED)
    assert not broken(found["interval_missed"], EXPERIMENTS, found["interval_promised"])
    assert not broken(found["band_outside"], EXPERIMENTS, found["band_promised"])


def test_two_per_cent_of_the_campaign_come_out_again() -> None:
    found = ledger.read(NAME)
    count = round(SHARE * EXPERIMENTS)
    again = uptimes(0, 4, 1).mean(axis=1)  # of the twenty on file four: a fifth, for the time of it
    assert len(found["first_means"]) == count
    if found["hash"] == ledger.rooms_hash(ENTRY):
        assert again == pytest.approx(found["first_means"][:4], rel=1e-9)
    else:
        assert again == pytest.approx(found["first_means"][:4], abs=0.05)


@pytest.mark.campaign
def test_200_replications_of_3000_jobs_take_less_than_a_minute_and_are_the_same_on_one_or_two_workers() -> None:
    large = replace(MODEL, shop=replace(SHOP, kinds=tuple(replace(k, count=10.0 * k.count) for k in SHOP.kinds)))
    start = time.perf_counter()
    two = replicated(large, 1, 200, workers=2)
    took = time.perf_counter() - start
    assert two["jobs"].mean() == pytest.approx(3000.0, rel=0.03)
    one = replicated(large, 1, 20, workers=1)
    assert all(np.array_equal(one[key], two[key][:20]) for key in one)
    assert took < LONGEST_S, took
