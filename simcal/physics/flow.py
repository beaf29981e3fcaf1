"""Flow laws of all kinds behind one dispatcher.

Every law is `law(p_up, p_down, T_up, gas, a) -> (m, dm/dp_up, dm/dp_down, dm/dT_up)`: mass flow [kg/s] from
the side of higher pressure to the other, and its derivatives with the properties in `gas` held. All of them
are zero at equal pressure, have a finite slope there, and are smooth (C1) everywhere. All rise with the pressure
difference but `seal`, whose path may close with it.
"""

from __future__ import annotations

from simcal.jit import kernel
from simcal.physics.leaks import laminar, linear, molecular, seal, seat
from simcal.physics.nozzle import hole, iso, kv
from simcal.physics.tube import tube
from simcal.physics.upstream import Floats, Upstream

__all__ = [
    "HOLE",
    "ISO",
    "KV",
    "LAMINAR",
    "LAWS",
    "MOLECULAR",
    "PARAMETERS",
    "REGULATOR",
    "SEAL",
    "SEAT",
    "SERVO",
    "TUBE",
    "Upstream",
    "edge_flow",
]

ISO = 0
KV = 1
HOLE = 2
TUBE = 3
LAMINAR = 4
MOLECULAR = 5
SEAT = 6
REGULATOR = 7
SERVO = 8
SEAL = 9

LAWS = {
    "iso": ISO,
    "kv": KV,
    "hole": HOLE,
    "tube": TUBE,
    "laminar": LAMINAR,
    "molecular": MOLECULAR,
    "seat": SEAT,
    "regulator": REGULATOR,
    "servo": SERVO,
    "seal": SEAL,
}
"""Name of every law -> the code `edge_flow` takes."""

PARAMETERS = 10
"""Length of the parameter array `a` of every law; unused places are zero."""


@kernel
def edge_flow(
    kind: int, p_up: float, p_down: float, T_up: float, gas: Upstream, a: Floats
) -> tuple[float, float, float, float]:
    """Return (m, dm/dp_up, dm/dp_down, dm/dT_up) of the law `kind`: kg/s, kg/(s Pa), kg/(s Pa), kg/(s K).

    kind: code of the law [-], one of LAWS
    p_up: upstream pressure [Pa]
    p_down: downstream pressure [Pa], not above p_up
    T_up: upstream temperature [K]
    gas: gas of the upstream side
    a: parameters of the law, float64[10], as its docstring lists them
    """
    if kind == ISO:
        return iso(p_up, p_down, T_up, gas, a)
    if kind == TUBE:
        return tube(p_up, p_down, T_up, gas, a)
    if kind == KV:
        return kv(p_up, p_down, T_up, gas, a)
    if kind == HOLE:
        return hole(p_up, p_down, T_up, gas, a)
    if kind == LAMINAR:
        return laminar(p_up, p_down, T_up, gas, a)
    if kind == MOLECULAR:
        return molecular(p_up, p_down, T_up, gas, a)
    if kind == SEAT:
        return seat(p_up, p_down, T_up, gas, a)
    if kind == SEAL:
        return seal(p_up, p_down, T_up, gas, a)
    return linear(p_up, p_down, T_up, gas, a)
