"""The risks that `criterion` promises, on holds of the separately written finer model.

A criterion is found for a bench of one vessel; 1,000 vessels of `tests.independent.holds` (gas and wall by shells, the
convection of another law, a room that wanders) go through its soak, wait and watch with the healthy and with the
permitted leak, each in a room of its own, and each is read 10 times with the sensor's noise, rounding and drift:
20,000 holds. Counted are fails; the promise is broken when the interval of the count, with the vessels as clusters,
lies above the risk that was promised plus one percentage point.
"""

from __future__ import annotations

import math
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

import numpy as np
import pytest

from simcal.analysis.criterion import CriterionResult, criterion
from simcal.bench.values import Level
from simcal.files.bench_file import load_bench
from simcal.stats.binomial import clustered
from tests.campaign import ledger
from tests.independent.holds import laws
from tests.independent.holds.confounders import room_course
from tests.independent.holds.model import Vessel, run

NAME = "criterion"
ENTRY = "simcal.analysis.criterion"
VESSELS, READ = 1000, 10
SEEDS = {"criterion": 20271, "vessels": 20272}
LEAKS = {"healthy": 0.1, "permitted": 1.0}
PERMITTED = 3e-8  # mol/s
P, BAROMETER, ROOM_K = 6e5, 101325.0, 293.15
DRIFT, NOISE, STEP, SENSOR_DRIFT = 0.5 / 3600.0, 2.0, 1.0, 10.0 / 3600.0  # K/s, Pa, Pa, Pa/s
ALLOWED, ROOM_FOR = 0.05, 0.01
SHARE = 0.02
"""of the vessels that the ordinary tests run again"""
BENCH = f"""
schema = "simcal/bench/1"
name = "one vessel"
gas = "nitrogen"
[room]
temperature = "293.15 K"
drift = "0.5 K/h"
cycle = "0.05 K"
cycle_period = "800 s"
barometer = "{BAROMETER} Pa abs"
[volume.vessel]
capacity = "100 cm3 +- 5 %"
wall = {{ material = "steel", shape = "cylinder", bore = "40 mm", thickness = "3 mm", outside = "8 W/(m2 K) +- 35 %" }}
[supply]
pressure = "8 bar abs"
[sensor.reference]
at = "vessel"
full_scale = "7 bar abs"
noise = "{NOISE} Pa"
resolution = "{STEP} Pa"
drift = "10 Pa/h"
[device.vessel]
at = "vessel"
full_scale = "7 bar abs"
accuracy = {{ span = "0.1 %", is = "limits" }}
[controller]
reads = "reference"
period = "20 ms"
behaviour = {{ rate = "1 bar/s", settled_in = "2 s", loop_time = "0.5 s" }}
[sequence.one]
points = ["100 %"]
"""


def found(folder, benches: int = 100) -> CriterionResult:
    path = folder / "vessel.toml"
    path.write_text(BENCH, encoding="utf-8")
    asked = {"pressure": Level(P, False), "permitted": (PERMITTED, "amount"), "seed": SEEDS["criterion"]}
    return criterion(load_bench(path), **asked, benches=benches, workers=2)


def vessel(number: int, soak: float, move: float, hold: float, leak: float) -> Vessel:
    """A vessel of the finer model that the bench's file allows; the same for every leak."""
    rng = np.random.default_rng([SEEDS["vessels"], number])
    n = rng.uniform(0.24, 0.33)
    nu8 = 58.0 * math.exp(rng.normal(0.0, 0.3))  # within about a factor of two, as a film is stated
    volume = 1e-4 * (1.0 + 0.05 * rng.normal())
    course = room_course(rng, -(soak + move), hold, DRIFT, 0.05, unsteady=False)
    return Vessel(
        gas="nitrogen", volume=volume, shape="cylinder", bore=0.04, thickness=0.003, wall=(60.5, 3.41e6), p=P,
        came_from=BAROMETER, supply=8e5, move=move, soak=soak, hold=hold, film_rad=rng.uniform(2.0, 5.0),
        film_nat=rng.uniform(1.2, 3.5), film_forced=rng.uniform(0.0, 3.0), convection=(nu8 / 1e8**n, n, 3.0, 0.2),
        law=laws.HOLE, leak=leak / P, beyond=BAROMETER, room0=ROOM_K, room=ROOM_K + course.K, room_t0=course.t0,
        room_dt=course.dt,
    )  # fmt: skip


def changes(number: int, soak: float, wait: float, watch: float, move: float) -> dict[str, list[float]]:
    """Change of the means of five readings over the watch, READ times, for each leak."""
    rng = np.random.default_rng([SEEDS["vessels"], number, 1])
    times = np.concatenate([wait + np.arange(5.0), wait + watch - np.arange(5.0)[::-1]])
    drift, noise = 0.5 * SENSOR_DRIFT * rng.normal(), NOISE * rng.normal(size=(READ, 10))
    out = {}
    for name, share in LEAKS.items():
        trace = run(vessel(number, soak, move, wait + watch, share * PERMITTED), times)
        seen = np.round((trace.p + drift * times + noise) / STEP) * STEP
        out[name] = (seen[:, 5:].mean(axis=1) - seen[:, :5].mean(axis=1)).tolist()
    return out


def fails(change: np.ndarray, drop: float, rise: float) -> np.ndarray:
    return (change < -drop) | (change > rise)


@pytest.mark.campaign
def test_promised_risks_hold_on_20000_holds_of_the_finer_model(tmp_path) -> None:
    """Counts go to tests/campaign/criterion.json."""
    result = found(tmp_path)
    assert result.feasible
    times = (result.soak_s, result.wait_s, result.watch_s, result.moved_in_s)
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        got = list(pool.map(changes, range(VESSELS), *([time] * VESSELS for time in times), chunksize=10))
    change = {name: np.array([one[name] for one in got]) for name in LEAKS}
    failed = {
        name: fails(one, result.allowed_drop_Pa, result.allowed_rise_Pa).sum(axis=1) for name, one in change.items()
    }
    alarm, alarm_between = clustered(failed["healthy"], READ)
    miss, miss_between = clustered(READ - failed["permitted"], READ)
    first = round(SHARE * VESSELS)
    counted = {
        "seeds": SEEDS, "vessels": VESSELS, "read": READ, "soak_wait_watch_move_s": times,
        "allowed_drop_Pa": result.allowed_drop_Pa, "allowed_rise_Pa": result.allowed_rise_Pa,
        "promised": {"false_alarm": result.false_alarm.mean, "false_alarm_between": result.false_alarm.between,
                     "miss": result.miss.mean, "miss_between": result.miss.between},
        "false_alarms": int(failed["healthy"].sum()), "misses": int((READ - failed["permitted"]).sum()),
        "of": VESSELS * READ, "false_alarm": alarm, "false_alarm_between": alarm_between, "miss": miss,
        "miss_between": miss_between, "first_changes_Pa": {name: one[:first].tolist() for name, one in change.items()},
    }  # fmt: skip
    counted["kept"] = kept(counted)
    ledger.write(NAME, ENTRY, counted)
    assert counted["kept"], counted


def kept(counted: dict) -> bool:
    """Whether neither count is above what was promised, at most 5 %, with its uncertainty and one percentage point."""
    promised = counted["promised"]
    return all(
        counted[name] <= ALLOWED + ROOM_FOR
        and counted[f"{name}_between"][0] <= promised[f"{name}_between"][1] + ROOM_FOR
        for name in ("false_alarm", "miss")
    )


def test_the_recorded_campaign_kept_the_promise() -> None:
    """The counts on file pass the rule they were made for, and are full counts."""
    counted = ledger.read(NAME)
    assert (counted["vessels"], counted["read"], counted["seeds"]) == (VESSELS, READ, SEEDS)
    assert counted["of"] == VESSELS * READ and kept(counted)
    assert counted["false_alarm"] == counted["false_alarms"] / counted["of"]
    assert counted["miss"] == counted["misses"] / counted["of"]


def test_two_per_cent_of_the_campaign_come_out_again() -> None:
    """The finer model's own holds do not hang on the package: the same changes to a rounding step of the mean."""
    counted = ledger.read(NAME)
    first = counted["first_changes_Pa"]
    for number in range(0, round(SHARE * VESSELS), 4):
        again = changes(number, *counted["soak_wait_watch_move_s"])
        for name, change in again.items():
            assert np.abs(np.array(change) - first[name][number]).max() <= 2.0 * STEP / 5.0 + 1e-9
