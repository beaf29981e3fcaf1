"""Error-controlled steps across a given span of time."""

from __future__ import annotations

import numpy as np

from simcal.engine.arrays import Floats, Network
from simcal.engine.between import pass_on
from simcal.engine.rosenbrock import Work, step
from simcal.jit import merged
from simcal.tables.gas import GasTable

OK, LEFT_TABLE, STUCK = 0, 1, 2
SMALLEST_STEP = 1e-9


@merged
def stretch(
    net: Network,
    table: GasTable,
    x: Floats,
    totals: Floats,
    command: Floats,
    slope: float,
    servo_on: float,
    span: float,
    tolerance: float,
    share: float,
    h: float,
    w: Work,
    between: Floats,
) -> tuple[int, float]:
    """Advance by `span` s in error-controlled steps, first try h s; returns status and the next step to try.

    w.gas: at x before, not after. between [n, 6]: the extremes, as in `between`, whose last step has not arrived.
    """
    done, fresh, known = 0.0, True, span > 0.0
    while done < span * (1.0 - 1e-12):
        last = h >= span - done
        size = span - done if last else h
        err = step(net, table, x, totals, command, slope, servo_on, size, tolerance, share, w, fresh, known)
        if err <= 1.0:
            pass_on(net, w.gas, w.f[0], size, between)
            done += size
            fresh, known = True, False
            grown = size * min(4.0, 0.9 * (err + 1e-12) ** (-1.0 / 3.0))
            h = max(h, grown) if last else grown
            continue
        fresh = False
        h = size * (0.1 if err == np.inf else max(0.1, 0.9 * err ** (-1.0 / 3.0)))
        if h < SMALLEST_STEP:
            return (LEFT_TABLE if err == np.inf else STUCK), h
    return OK, h
