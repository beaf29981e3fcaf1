"""Sparse elimination on dense storage: which entries matter is found once, in Python, for the network at hand.

Walls, gauges and openings touch one volume only, so a minimum-degree order eliminates them first and a tree of volumes
costs no fill: a step is then linear in the number of volumes, loops included at the price of their fill.
"""

from __future__ import annotations

import numpy as np

from simcal.engine.arrays import Floats, Indices, Network, sizes
from simcal.jit import kernel


def plan(pattern: np.ndarray) -> tuple[Indices, Indices, Indices]:
    """Elimination order and lists for a square bool pattern [k, k] (True where the Jacobian may be non-zero).

    Returns order [k], heads [k + 1], lists [...]: rows that pivot order[i] meets are lists[heads[i]:heads[i+1]].
    The pattern is symmetrised; every pivot is taken from the diagonal.
    """
    near = pattern | pattern.T
    graph = {i: {int(j) for j in np.flatnonzero(near[i])} - {i} for i in range(len(near))}
    order, heads, lists = [], [0], []
    while graph:
        pivot = min(graph, key=lambda i: (len(graph[i]), i))
        meets = graph.pop(pivot)
        for i in meets:
            graph[i] = (graph[i] | meets) - {i, pivot}
        order.append(pivot)
        lists.extend(sorted(meets))
        heads.append(len(lists))
    return np.array(order, np.uint64), np.array(heads, np.uint64), np.array(lists, np.uint64)


@kernel
def factor(a: Floats, order: Indices, heads: Indices, lists: Indices) -> None:
    """LU factors of `a` [k, k] in place, along the plan; pivots are kept inverted."""
    for step in range(order.shape[0]):
        pivot, head, tail = order[step], heads[step], heads[step + 1]
        inverse = 1.0 / a[pivot, pivot]
        a[pivot, pivot] = inverse
        for p in range(head, tail):
            i = lists[p]
            share = a[i, pivot] * inverse
            a[i, pivot] = share
            if share != 0.0:
                for q in range(head, tail):
                    j = lists[q]
                    a[i, j] -= share * a[pivot, j]


@kernel
def solve(a: Floats, order: Indices, heads: Indices, lists: Indices, b: Floats) -> None:
    """Solution of the factored system for the right-hand side `b` [k], in place."""
    for step in range(order.shape[0]):
        pivot = order[step]
        value = b[pivot]
        if value != 0.0:
            for p in range(heads[step], heads[step + 1]):
                b[lists[p]] -= a[lists[p], pivot] * value
    for step in range(order.shape[0] - 1, -1, -1):
        pivot = order[step]
        value = b[pivot]
        for p in range(heads[step], heads[step + 1]):
            value -= a[pivot, lists[p]] * b[lists[p]]
        b[pivot] = value * a[pivot, pivot]


def with_plan(net: Network) -> Network:
    """The network with the elimination program that fits its structure."""
    size = sizes(net)
    n, near = size.nodes, np.eye(size.states, dtype=bool)
    own = []
    for i in range(n):
        states = [i, n + i, 2 * n + i]
        if net.node_strain[i] >= 0:
            states += [net.node_strain[i], net.node_strain[i] + 1]
        near[np.ix_(states, states)] = True
        near[2 * n + i, size.room] = True
        own.append([i, n + i, *states[3:]])
    for a, b, _, valve in net.edge_int:
        ends = [i for i in (a, b) if i < n]
        columns = [c for i in ends for c in own[i]]
        rows = [r for i in ends for r in (i, n + i)]
        near[np.ix_(rows, columns)] = True
        if valve >= 0:
            near[rows, size.valve + valve] = True
    for j, i in enumerate(net.gauge_node):
        near[size.gauge + j, own[i]] = True
    order, heads, lists = plan(near)
    return net._replace(order=order, heads=heads, lists=lists)
