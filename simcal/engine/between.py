"""What pressures do between two samples: their extremes and fastest rates, kept while stepping.

A sample on the map needs none of it: the map is used where hardly anything moves.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simcal.engine.arrays import Floats, Ints, Network
from simcal.engine.box import pressure_of
from simcal.engine.plant import P
from simcal.jit import inlined, kernel

HIGHEST, LOWEST, FASTEST, BEGAN, SPEED = range(5)
"""rows of the extremes [5, n]: Pa, Pa, Pa/s of either sign, then pressure and its rate at the start of the last step"""


class Record(NamedTuple):
    """Where a run writes: rows [k, n + g + 1]; `stepped`, the rows of samples that were advanced in steps, and for each
    of these highest, lowest and fastest in between [3, n]; only the first of both are filled, as many as there were.
    """

    rows: Floats
    stepped: Ints
    extremes: Floats


def new_record(samples: int, nodes: int, gauges: int) -> Record:
    """Room for a run of so many samples."""
    rows, extremes = np.empty((samples, nodes + gauges + 1)), np.empty((samples, 3, nodes))
    return Record(rows, np.empty(samples, np.int64), extremes)


@kernel
def turn(start: float, end: float, leaves: float, arrives: float) -> float:
    """The extreme inside a cubic over [0, 1] with these values and slopes at its ends; an end where there is none.

    Meant for slopes of opposite sign, where there is exactly one.
    """
    rise = end - start
    square, cube = 3.0 * rise - 2.0 * leaves - arrives, leaves + arrives - 2.0 * rise
    root = 4.0 * square * square - 12.0 * cube * leaves
    if not root >= 0.0:
        return start
    q = -(square + (root**0.5 * 0.5 if square >= 0.0 else -(root**0.5) * 0.5))
    value = start
    for s in (leaves / q if q != 0.0 else -1.0, q / (3.0 * cube) if cube != 0.0 else -1.0):
        if 0.0 < s < 1.0:
            value = start + s * (leaves + s * (square + s * cube))
    return value


@inlined
def begin_sample(gas: Floats, between: Floats) -> None:
    """Start with the pressures of the gas scratch."""
    for i in range(between.shape[1]):
        between[HIGHEST, i] = between[LOWEST, i] = gas[i, P]
        between[FASTEST, i] = 0.0


@inlined
def _reach(between: Floats, i: int, end: float, leaves: float, arrives: float) -> None:
    """Take up the step of volume i that ended at the pressure `end`, with slopes as changes over the whole step."""
    if end > between[HIGHEST, i]:
        between[HIGHEST, i] = end
    if end < between[LOWEST, i]:
        between[LOWEST, i] = end
    if leaves * arrives < 0.0:
        value = turn(between[BEGAN, i], end, leaves, arrives)
        between[HIGHEST, i] = max(between[HIGHEST, i], value)
        between[LOWEST, i] = min(between[LOWEST, i], value)


@inlined
def pass_on(net: Network, gas: Floats, f: Floats, came: float, between: Floats) -> None:
    """A step begins at `gas` with the rates f [states], after one of `came` s (0: it is the first)."""
    for i in range(between.shape[1]):
        p, speed = gas[i, P], pressure_of(gas, net.node_strain, f, i)
        if came > 0.0:
            _reach(between, i, p, came * between[SPEED, i], came * speed)
        between[BEGAN, i], between[SPEED, i] = p, speed
        between[FASTEST, i] = max(between[FASTEST, i], abs(speed))


@inlined
def arrive(gas: Floats, came: float, between: Floats) -> None:
    """The last step, of `came` s, ends at `gas`: what follows may set out anew, so a parabola stands for this step."""
    for i in range(between.shape[1]):
        p, leaves = gas[i, P], came * between[SPEED, i]
        rise = p - between[BEGAN, i]
        _reach(between, i, p, leaves, 2.0 * rise - leaves)
        between[FASTEST, i] = max(between[FASTEST, i], abs(rise) / came)
