"""Gains that the tuning rule finds for a bench: good wherever the points of its sequences lead."""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from simcal.bench.bench import Bench
from simcal.bench.parts import REGULATOR
from simcal.control.pid import Gains
from simcal.control.tuning import Plant, Vector, tune_everywhere, tune_ultimate
from simcal.engine import simulate
from simcal.errors import InputError

RULES: dict[str, Callable[[Sequence[Plant], Vector, float], Gains]] = {
    "simc": tune_everywhere,
    "ziegler-nichols": tune_ultimate,
    "ziegler-nichols-pid": functools.partial(tune_ultimate, derivative=True),
}
"""Name of a tuning rule -> the function that finds gains by it; the names are the choices of `Controller.tuning`."""
NEAR_SUPPLY = 0.95
"""of the supply's pressure, above which the inlet is too weak for its response to say anything"""


def tuned(bench: Bench, system: simulate.System) -> Gains:
    """Gains by the tuning rule, for the top, the middle and the bottom of the points and where the inlet chokes.

    Raises InputError where no gains can be found.
    """
    control = bench.controller
    size, ctl = system.sizes, system.controller
    assert control.tuning is not None
    row = np.zeros(size.states)
    row[size.gauge + ctl.index[0]] = 1.0 / ctl.scale[1]
    try:
        plants = [_plant(bench, system, pressure) for pressure in tuning_pressures(bench)]
        gains = RULES[control.tuning](plants, row, control.period)
    except ValueError as error:
        found = f"no gains by {control.tuning}: {str(error).rstrip('.')}"
        right = 'state them, gains = { kp = 50, ti = "0.5 s" }, or a behaviour'
        raise InputError(bench.file, "controller.tuning", found, right) from error
    if control.setpoint_weight is not None:
        gains = gains._replace(setpoint_weight=control.setpoint_weight)
    return gains


def tuning_pressures(bench: Bench) -> list[float]:
    """Where the loop is looked at, Pa abs, rising: what all points reach, and where the inlet just chokes."""
    reached = [
        point.absolute(bench.device_of(name).range, bench.room.barometer)
        for name, sequence in bench.sequences.items()
        for point in (*sequence.points, *sequence.preloads)
    ]
    top = min(max(reached), NEAR_SUPPLY * bench.supply.pressure)
    low = min(*reached, top)
    chokes = min(max(_choking_ratio(bench) * bench.supply.pressure, low), top)
    return sorted({low, 0.5 * (low + top), chokes, top})


def _choking_ratio(bench: Bench) -> float:
    """Pressure ratio at which the inlet starts to choke (of a Kv with cp/cv 1.4)."""
    inlet = bench.valves["inlet"]
    return 1.0 - inlet.terminal_ratio if inlet.kv is not None else inlet.critical_ratio


def _plant(bench: Bench, system: simulate.System, pressure: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The sampled plant with all volumes of the bench at one pressure, one column for the drive of each valve."""
    start = np.full_like(system.start_Pa, pressure)
    if REGULATOR in system.names.node:
        start[system.names.node[REGULATOR]] = bench.supply.pressure
    state = simulate.begin(dataclasses.replace(system, start_Pa=start))
    linear = simulate.linear_model(system, state)
    columns = [
        sign / (1.0 - bench.valves[name].dead_band) * linear.G[:, system.names.valve[name]]
        for name, sign in (("inlet", 1.0), ("outlet", -1.0))
    ]
    return linear.E, np.column_stack(columns)
