"""The bench as the criterion sees it: which leak is tried, what is drawn for a bench and what for every run."""

from dataclasses import dataclass, replace

from simcal.analysis.criterion.question import ABOVE, BELOW, BOTH, EITHER, Grid, Question, grid
from simcal.analysis.hold.plan import Plan, plan
from simcal.bench.bench import Bench
from simcal.bench.checks import LEAST_DRIVE
from simcal.bench.network import build
from simcal.bench.parts import Leak
from simcal.bench.reach import isolated_with
from simcal.bench.values import Spread
from simcal.control.pid import FILTER, KP, TD, TI, TRACK, WEIGHT, Gains
from simcal.errors import InputError

TRIED = "under test"
"""name of the leak that is tried; a file's names hold no blank"""
DIRECTION, DRIFT, BAROMETER, CYCLE = "direction", "room.drift", "room.barometer_drift", ("cycle.sine", "cycle.cosine")


WARM = ".wall.warmer"


@dataclass(frozen=True)
class Setup:
    """bench: with the tried leak in the place of its own, spreads of whole benches alone; per_run: key -> the spread of
    what every run draws; put_aside: leaks and seals of the file that the tried one replaces.

    cases: what the change of a reading is a sum of: "tight", "leak" (the permitted one), then what a unit of every
    random part adds; outward: whether the tried leak makes the pressure fall.
    """

    asked: Question
    bench: Bench
    plans: tuple[Plan, ...]
    grid: Grid
    gains: Gains | None
    per_run: dict[str, Spread]
    cases: tuple[str, ...]
    put_aside: tuple[str, ...]
    gauge: bool
    outward: bool

    def at(self, soak: int, wait: int, watch: int) -> "Setup":
        """The same with one set of times alone, by their index."""
        times = self.grid
        stated = (float(times.soaks[soak]), float(times.waits[wait]), float(times.watches[watch]))
        asked = replace(self.asked, soak_s=stated[0], wait_s=stated[1], watch_s=stated[2])
        last = float(times.waits[wait] + times.watches[watch])
        plans = tuple(replace(one, watch_s=last) for one in self.plans)
        return replace(self, asked=asked, grid=grid(asked), plans=plans)

    @property
    def pressure_Pa(self) -> float:
        """Of the hold, absolute."""
        return self.plans[0].pressure_Pa

    @property
    def drift_key(self) -> str:
        """The key of the sensor's drift."""
        return f"sensor.{self.plans[0].sensor}.drift"

    @property
    def holds(self) -> int:
        """Holds that one decision takes."""
        return 2 if self.asked.direction == BOTH else 1


def setup(bench: Bench, asked: Question, gains: Gains | None = None) -> Setup:
    """Look up everything once; gains: those of the nominal bench, where they are known already.

    Raises:
        InputError: a pressure, a sensor or times that cannot be.
    """
    asked.healthy_share()
    times = grid(asked)
    longest = float(times.ends[-1])
    sides = {BELOW: (BELOW,), ABOVE: (ABOVE,)}.get(asked.direction, (BELOW, ABOVE))
    plans = tuple(
        plan(bench, asked.pressure, float(times.soaks.min()), 0.0, longest, side, asked.every_s, asked.sensor)
        for side in sides
    )
    sensor, pressure = plans[0].sensor, plans[0].pressure_Pa
    if abs(pressure - bench.room.barometer) <= LEAST_DRIVE * bench.room.barometer:
        found = "the room's pressure, at which nothing leaks"
        raise InputError("command line", "--pressure", found, "a pressure above or below it")
    inside = isolated_with(bench, bench.sensors[sensor].at)
    aside = [name for name, leak in bench.leaks.items() if leak.to == "room"]
    seals = [name for name, seal in bench.seals.items() if seal.to == "room"]
    value, form = asked.permitted
    at = next((one.at for one in bench.devices.values() if one.at in inside), bench.sensors[sensor].at)
    tried = Leak(at=at, rate=value if form == "amount" else 1e-9, rate_at=pressure, law=asked.law)
    leaks = {name: leak for name, leak in bench.leaks.items() if name not in aside}
    dropped = [f"leak.{name}." for name in aside] + [f"seal.{name}." for name in seals]
    spreads = {key: one for key, one in bench.spreads.items() if not key.startswith(tuple(dropped))}
    cleared = replace(
        bench,
        leaks={**leaks, TRIED: tried},
        seals={name: seal for name, seal in bench.seals.items() if name not in seals},
        spreads={},
    )
    warm = [key for key in spreads if key.endswith(WARM)]
    runs = [key for key in (DRIFT, BAROMETER, *warm) if key in spreads]
    gauge = bench.sensors[sensor].range.gauge
    if not gauge and BAROMETER in runs:
        runs.remove(BAROMETER)
    cases = ["tight", "leak", *runs]
    cases += [f"sensor.{sensor}.drift"] if f"sensor.{sensor}.drift" in spreads else []
    cases += list(CYCLE) if bench.room.cycle > 0.0 or "room.cycle" in spreads else []
    cases += [DIRECTION] if asked.direction == EITHER else []
    return Setup(
        asked=asked,
        bench=replace(cleared, spreads={key: one for key, one in spreads.items() if key not in (*runs, BAROMETER)}),
        plans=plans,
        grid=times,
        gains=gains or _gains(cleared),
        per_run={key: spreads[key] for key in runs},
        cases=tuple(cases),
        put_aside=(*(f"leak.{name}" for name in aside), *(f"seal.{name}" for name in seals)),
        gauge=gauge,
        outward=pressure > bench.room.barometer,
    )


def _gains(bench: Bench) -> Gains | None:
    """Gains that the tuning rule finds for the nominal bench: drawn ones keep them."""
    if not bench.controller.tuning:
        return None
    g = build(bench).controller.gains
    return Gains(*(float(g[i]) for i in (KP, TI, TD, FILTER, TRACK, WEIGHT)))
