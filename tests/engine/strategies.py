"""Random networks for invariants, in one place: a network follows from one drawn integer."""

from __future__ import annotations

import numpy as np
from hypothesis import strategies as st

from simcal.physics import flow
from tests.engine import networks

seeds = st.integers(0, 2**32 - 1)


def random_seal(rng: np.random.Generator) -> list[float]:
    """Channels under a seal that close with the pressure and open again at a higher one."""
    flows, closing = [10 ** rng.uniform(-22, -20), 1e-16], 10 ** rng.uniform(-7.5, -6.0)
    opens = 10 ** rng.uniform(5.5, 6.5)
    return [*flows, rng.uniform(0, 0.3), rng.uniform(0, 1), closing, opens, 1e-6, 1e-9, 0.5 * opens, 2.0 * closing]


def random_system(seed: int, most: int = 5, kp: float = 20.0):
    """A connected network of 1..most volumes, loops allowed, with inlet, outlet, leaks, a seal, films of all kinds."""
    rng = np.random.default_rng(seed)
    table = networks.load(str(rng.choice(["nitrogen", "air", "helium", "argon"])))
    n = int(rng.integers(1, most + 1))
    edges = [
        (n, 0, flow.ISO, 0, 10 ** rng.uniform(-11, -9), 0.3),
        (0, n + 1, flow.ISO, 1, 10 ** rng.uniform(-11, -9), 0.4),
    ]
    for i in range(1, n):
        edges.append(
            (int(rng.integers(0, i)), i, flow.TUBE, -1, rng.uniform(1e-3, 4e-3), rng.uniform(0.05, 2.0), 1.5e-6)
        )
    if n > 2 and rng.random() < 0.7:
        edges.append((0, n - 1, flow.TUBE, -1, 2e-3, 0.5, 1.5e-6))
    leak = int(rng.integers(0, n))
    edges.append((leak, n + 1, flow.HOLE, -1, 10 ** rng.uniform(-13, -11)))
    edges.append((leak, n + 1, flow.LAMINAR, -1, 10 ** rng.uniform(-23, -21)))
    edges.append((leak, n + 1, flow.SEAL, -1, *random_seal(np.random.default_rng([seed, 1]))))
    edges.append((n, leak, flow.SEAT, -1, 10 ** rng.uniform(-24, -22), 1e-16))
    films = []
    for _ in range(n):
        kind = int(rng.integers(0, 4))
        films.append([kind, rng.uniform(2e-3, 2e-2), rng.uniform(0.005, 0.05), 1.0, rng.uniform(1, 20), 2e-3])
    strains = {0: (2e-9, 0.02, 1e-9, 30.0)} if rng.random() < 0.4 else None
    net = networks.network(
        table, list(10 ** rng.uniform(-5.3, -3.7, n)), edges, [3e6, networks.ROOM_PA], films=films,
        wall_heat=list(rng.uniform(20, 300, n)), room_link=list(rng.uniform(0.05, 0.5, n)),
        gauges=[(0, 0.01), (n - 1, 0.05)], valve_lags=[0.005, 0.005], strains=strains,
        room=(293.15, 1e-4, 0.2, 300.0, 0.3),
    )  # fmt: skip
    return networks.system(net, table, networks.pid(2, gains=(kp, 1.0, 0.0, 0.02, 0.5), weight=0.5))
