"""What pressures do between two samples: their extremes and fastest rates, kept while stepping.

A sample on the map needs none of it: the map is used where hardly anything moves.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simcal.engine.arrays import Floats, Ints, Network
from simcal.engine.box import pressure_of
from simcal.engine.plant import P
from simcal.jit import inlined, kernel, merged

HIGHEST, LOWEST, FASTEST, BEGAN, SPEED, CAME = range(6)
"""columns of the extremes [n, 6]: Pa, Pa, Pa/s of either sign; then of the last step pressure and rate at its start,
and its length, s"""


class Record(NamedTuple):
    """Where a run writes: rows [k, n + g + 1]; `stepped`, the rows of samples that were advanced in steps, and for each
    of these highest, lowest and fastest in between [n, 3]; only the first of both are filled, as many as there were.
    """

    rows: Floats
    stepped: Ints
    extremes: Floats


def new_record(samples: int, nodes: int, gauges: int) -> Record:
    """Room for a run of so many samples."""
    rows, extremes = np.empty((samples, nodes + gauges + 1)), np.empty((samples, nodes, 3))
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


@merged
def begin_sample(gas: Floats, between: Floats) -> None:
    """Start with the pressures of the gas scratch."""
    for i in range(between.shape[0]):
        b = between[i]
        b[HIGHEST] = b[LOWEST] = gas[i, P]
        b[FASTEST] = b[CAME] = 0.0


@inlined
def reach(b: Floats, end: float, leaves: float, arrives: float) -> None:
    """Take up the step of one volume that ended at the pressure `end`, with slopes as changes over the whole step."""
    top, low = max(b[HIGHEST], end), min(b[LOWEST], end)
    if leaves * arrives < 0.0:
        value = turn(b[BEGAN], end, leaves, arrives)
        top, low = max(top, value), min(low, value)
    b[HIGHEST], b[LOWEST] = top, low


@merged
def pass_on(net: Network, gas: Floats, f: Floats, h: float, between: Floats) -> None:
    """A step of h s begins at `gas` with the rates f [states]; it takes up the one before."""
    for i in range(between.shape[0]):
        b = between[i]
        p, speed, came = gas[i, P], pressure_of(gas, net.node_strain, f, i), b[CAME]
        if came > 0.0:
            reach(b, p, came * b[SPEED], came * speed)
        b[BEGAN], b[SPEED], b[CAME] = p, speed, h
        b[FASTEST] = max(b[FASTEST], abs(speed))


@inlined
def arrive(gas: Floats, between: Floats) -> None:
    """The last step ends at `gas`: what follows may set out anew, so a parabola stands for this step."""
    for i in range(between.shape[0]):
        b = between[i]
        p, came, leaves = gas[i, P], b[CAME], b[CAME] * b[SPEED]
        rise = p - b[BEGAN]
        reach(b, p, leaves, 2.0 * rise - leaves)
        b[FASTEST] = max(b[FASTEST], abs(rise) / came)
        b[CAME] = 0.0
