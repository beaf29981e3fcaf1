"""Numbers on a regular grid: derivatives by differences, and bicubic Hermite cells from node values."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

# Molar gas constant, J/(mol K), exact in the SI (CODATA 2018).
R = 8.314462618

_POINTS = 5  # points of a difference formula: fourth order, also at the edges; few, so that a kink stays local

# Rows: powers 0..3 of x in [0, 1]; columns: f(0), f(1), f'(0), f'(1).
_HERMITE = np.array([[1.0, 0, 0, 0], [0, 0, 1, 0], [-3, 3, -2, -1], [2, -2, 1, 1]])


def difference_weights(n: int, h: float) -> NDArray[np.float64]:
    """Matrix D [n, n] with D @ f = df/dx on n >= 5 even points of spacing h, five-point formulas."""
    weights = np.zeros((n, n))
    for i in range(n):
        first = min(max(i - _POINTS // 2, 0), n - _POINTS)
        offsets = np.arange(first, first + _POINTS) - i
        powers = np.vander(offsets.astype(float), _POINTS, increasing=True).T
        unit = np.zeros(_POINTS)
        unit[1] = 1.0
        weights[i, first : first + _POINTS] = np.linalg.solve(powers, unit) / h
    return weights


def node_derivatives(
    values: NDArray[np.float64], x: NDArray[np.float64], y: NDArray[np.float64], fine: int
) -> NDArray[np.float64]:
    """[n_x, n_y, 4] = f, f_x, f_y, f_xy at every `fine`-th point of values on the even grids x and y."""
    d_x = difference_weights(len(x), x[1] - x[0])
    d_y = difference_weights(len(y), y[1] - y[0])
    f_x = d_x @ values
    parts = np.stack([values, f_x, values @ d_y.T, f_x @ d_y.T], axis=-1)
    return parts[::fine, ::fine]


def cell_coefficients(nodes: NDArray[np.float64], dx: float, dy: float) -> NDArray[np.float64]:
    """[n_x-1, n_y-1, k, 4, 4] local cubic coefficients from nodes [n_x, n_y, k, 4] (f, f_x, f_y, f_xy).

    In a cell f = sum_ab c[a, b] x^a y^b with x, y in [0, 1]; the joined surface has continuous first
    derivatives.
    """
    scaled = nodes * np.array([1.0, dx, dy, dx * dy])
    corners = np.empty((nodes.shape[0] - 1, nodes.shape[1] - 1, nodes.shape[2], 4, 4))
    for a in range(2):
        for b in range(2):
            node = scaled[a : a + corners.shape[0], b : b + corners.shape[1]]
            corners[..., a, b] = node[..., 0]
            corners[..., 2 + a, b] = node[..., 1]
            corners[..., a, 2 + b] = node[..., 2]
            corners[..., 2 + a, 2 + b] = node[..., 3]
    return np.ascontiguousarray(_HERMITE @ corners @ _HERMITE.T)
