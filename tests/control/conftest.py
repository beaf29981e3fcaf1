"""A linear pneumatic network for the tests of the control room."""

import numpy as np
import pytest
from scipy.linalg import expm


@pytest.fixture
def network():
    """Function that gives E_x, E_u (inlet, outlet), c of two volumes and a line, sampled with a hold.

    Per volume: pressure, and the pressure that its gas would have at the wall's temperature (from 1.4 times,
    at `relax` per s); then the sensor's reading and the two openings. v: m3; line: Pa m3/s per Pa; flow:
    Pa m3/s at full opening; times in s.
    """

    def build(
        v=(20e-6, 100e-6),
        line=1e-2,
        flow=(26.0, 52.0),
        full=2e6,
        valve=0.005,
        sensor=0.01,
        period=0.01,
        at=0,
        leak=0.0,
        relax=5.0,
    ):
        a, b = np.zeros((7, 7)), np.zeros((7, 2))
        for i, sign in ((0, -1.0), (1, 1.0)):
            p, q = 2 * i, 2 * i + 1
            a[p, p] -= relax
            a[p, q] += relax
            for row, factor in ((p, 1.4), (q, 1.0)):
                a[row, 0] += sign * factor * line / v[i]
                a[row, 2] -= sign * factor * line / v[i]
                a[row, p] -= factor * leak / v[i]
                if i == 0:
                    a[row, 5] += factor * flow[0] / v[0]
                    a[row, 6] += factor * flow[1] / v[0]
        a[4, 4], a[4, 2 * at] = -1.0 / sensor, 1.0 / sensor
        for i in (5, 6):
            a[i, i] = -1.0 / valve
            b[i, i - 5] = 1.0 / valve
        whole = np.zeros((9, 9))
        whole[:7, :7], whole[:7, 7:] = a, b
        e = expm(whole * period)
        c = np.zeros(7)
        c[4] = 1.0 / full
        return e[:7, :7], e[:7, 7:], c

    return build
