"""The 90 % band of `settle --trials`: does it hold what fresh trials find?

2,000 trials make the bands of three benches, 400 fresh ones with other seeds are held against them. The dwells of one
trial hang together, so of each fresh trial one point counts, drawn beforehand: the counts are then binomial, with the
band's own counting error (the coverage of an interval between order statistics is beta distributed, David and Nagaraja,
Order Statistics, 3rd ed. 2003, section 2.5) the beta-binomial of the test.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import betabinom

from simcal.analysis.settle.rig import Rig, make
from simcal.analysis.settle.sequence import choose_device, choose_sequence
from simcal.analysis.settle.trials import Trial, run_trials
from simcal.files.bench_file import load_bench
from simcal.stats.band import band
from tests.campaign import ledger

NAME = "settle-band"
ENTRY = "simcal.analysis.settle"
BENCHES = ("hard-piped-6bar", "helium-300bar", "low-absolute")
PROMISED, LEVEL = 0.90, 0.01
MAKING, FRESH = 2000, 400
SEEDS = {"making": 20261, "fresh": 20262, "points": 20263}
SHARE = 0.02
"""of the counts that the ordinary tests run again"""


def rig(name: str) -> Rig:
    """The bench with its own sequence, all devices waited for."""
    bench = load_bench(ledger.PACKAGE.parent / "configs" / f"{name}.toml")
    sequence = choose_sequence(bench, None)
    return make(bench, sequence, choose_device(bench, sequence, None), tuple(bench.devices))


def dwells(trials: list[Trial]) -> np.ndarray:
    """Dwell [trial, point], s, inf where a point was not reached."""
    return np.array([trial.dwell_s for trial in trials])


def inside(fresh: np.ndarray, ends: list[list[float]], draw: np.random.Generator) -> list[bool]:
    """Whether the drawn point of each fresh trial lies in its band; None is no end."""
    points = draw.integers(0, fresh.shape[1], fresh.shape[0])
    low = np.array([-math.inf if pair[0] is None else pair[0] for pair in ends])
    high = np.array([math.inf if pair[1] is None else pair[1] for pair in ends])
    found = fresh[np.arange(fresh.shape[0]), points]
    return [bool(low[p] - 1e-9 <= value <= high[p] + 1e-9) for p, value in zip(points, found, strict=True)]


def kept(count: int, n: int, making: int) -> bool:
    """Whether `count` of n inside keep the promise, the bands' own counting error included."""
    chance = betabinom.cdf(count, n, PROMISED * (making + 1), (1.0 - PROMISED) * (making + 1))
    return bool(chance >= LEVEL)


def finite(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


@pytest.mark.campaign
def test_bands_of_2000_trials_hold_nine_of_ten_fresh_ones() -> None:
    """Pooled over the points of three benches; the counts go to tests/campaign/settle-band.json."""
    draw = np.random.default_rng(SEEDS["points"])
    found: dict = {"seeds": SEEDS, "making": MAKING, "fresh": FRESH, "promised": PROMISED, "benches": {}}
    hits: list[bool] = []
    for name in BENCHES:
        own = rig(name)
        made = dwells(run_trials(own, MAKING, SEEDS["making"]))
        bands = [band(made[:, i], PROMISED) for i in range(made.shape[1])]
        ends = [[finite(b.low), finite(b.high)] for b in bands]
        fresh = dwells(run_trials(own, FRESH, SEEDS["fresh"]))
        one = inside(fresh, ends, draw)
        hits += one
        first = [[finite(v) for v in row] for row in fresh[: round(SHARE * FRESH)]]
        found["benches"][name] = {"inside": sum(one), "of": len(one), "bands_s": ends, "first_fresh_s": first}
    found |= {"inside": sum(hits), "of": len(hits), "coverage": sum(hits) / len(hits)}
    found["kept"] = kept(sum(hits), len(hits), MAKING)
    ledger.write(NAME, ENTRY, found)
    assert found["kept"], found


def test_the_recorded_campaign_kept_its_promise() -> None:
    """The counts on file pass the rule they were made for, and are full counts."""
    found = ledger.read(NAME)
    assert found["of"] == FRESH * len(BENCHES) and found["making"] == MAKING and found["seeds"] == SEEDS
    assert kept(found["inside"], found["of"], found["making"])
    assert sum(one["inside"] for one in found["benches"].values()) == found["inside"]


@pytest.mark.parametrize("name", BENCHES)
def test_two_per_cent_of_the_campaign_come_out_again(name: str) -> None:
    """The first fresh trials give the dwells on file: to a sample where the rooms are the same, else near them."""
    found = ledger.read(NAME)
    same = found["hash"] == ledger.rooms_hash(ENTRY)
    recorded = np.array([[np.inf if v is None else v for v in row] for row in found["benches"][name]["first_fresh_s"]])
    again = dwells(run_trials(rig(name), len(recorded), SEEDS["fresh"]))
    if not same:
        print(f"{NAME}: the campaign ran on {found['hash']}, the rooms are now {ledger.rooms_hash(ENTRY)}")
    period = 0.02
    off = np.abs(again - recorded)[np.isfinite(recorded)]
    assert np.isfinite(again[np.isfinite(recorded)]).all()
    assert np.median(off) <= (period if same else 5 * period)
    assert off.max() <= (period if same else 0.2 * recorded[np.isfinite(recorded)].max() + period)
