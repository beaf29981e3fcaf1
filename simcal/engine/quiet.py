"""The exact one-sample map of the plant linearised where it is: what makes a quiet loop cheap.

Around x* the deviation d obeys d' = A d + f* + B c, so over a time h
    d(h) = E d + F1 (f* + B c),   integral of d = F1 d + F2 (f* + B c),
with E = exp(A h), F1 = integral of E, F2 = integral of F1, F3 = integral of F2 (Van Loan, IEEE Trans. Automatic Control
23 (1978) 395-404).
A linear map keeps every linear balance, so mass and energy are kept to rounding.

What the linearisation leaves out, r = f(x) - f* - A d, is looked up every few samples (`probe`), carried on as a
straight line in time (with F2 and F3 for its slope) and added to f*; the totals take the same, so the balances stand.
It is what makes rates right to parts in a thousand while a film or a tube's flow dies away, at one evaluation of the
plant for many samples. What is left out of the pressures is drawn straight between two looks, once the second is known.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simcal.engine.arrays import Floats, Network, sizes
from simcal.engine.box import pressure_of
from simcal.engine.plant import CV, P, T, plant, rates
from simcal.engine.slow import add_jets, add_slow
from simcal.engine.vectors import copy, inner, multiply, multiply_first, product, whole
from simcal.jit import kernel, merged, summed
from simcal.tables.gas import GasTable

TERMS, NORM = 17, 1.0
"""Taylor terms, up to such a norm of the matrix times the step: the rest is under 1e-14 of the result"""


@kernel
def exponentials(
    a: Floats, scale: Floats, h: float, e: Floats, f1: Floats, f2: Floats, f3: Floats, work: Floats
) -> None:
    """E, F1, F2 and F3 of the matrix a [n, n] over h s into e, f1, f2, f3; work [2, n, 4 n].

    A Taylor series at a small step, then doubled: F3 <- F3 + t F2 + t^2/2 F1 + E F3, F2 <- F2 + t F1 + E F2,
    F1 <- F1 + E F1, E <- E E. The norm that sets the number of doublings is taken in units of `scale` [n] > 0, so
    kilograms beside joules do not inflate it.
    """
    n = a.shape[0]
    norm = 0.0
    for i in range(n):
        total = 0.0
        for j in range(n):
            total += abs(a[i, j]) * scale[j]
        norm = max(norm, total / scale[i])
    doublings = 0
    t = h
    while norm * t > NORM and doublings < 60:
        t *= 0.5
        doublings += 1
    f3[:, :] = 0.0
    for i in range(n):
        f3[i, i] = 1.0
    for term in range(TERMS, 3, -1):
        multiply(a, f3, f1)
        for i in range(n):
            for j in range(n):
                f3[i, j] = f1[i, j] * t / term
            f3[i, i] += 1.0
    for i in range(n):
        for j in range(n):
            f3[i, j] *= t * t * t / 6.0
    multiply(a, f3, f2)
    for i in range(n):
        f2[i, i] += 0.5 * t * t
    multiply(a, f2, f1)
    for i in range(n):
        f1[i, i] += t
    multiply(a, f1, e)
    for i in range(n):
        e[i, i] += 1.0
    now, ahead = work[0], work[1]
    for i in range(n):
        for j in range(n):
            now[i, j], now[i, n + j], now[i, 2 * n + j], now[i, 3 * n + j] = e[i, j], f1[i, j], f2[i, j], f3[i, j]
    for _ in range(doublings):
        multiply_first(now, ahead)
        for i in range(n):
            for j in range(n):
                first, second = now[i, n + j], now[i, 2 * n + j]
                now[i, 3 * n + j] += t * (second + 0.5 * t * first) + ahead[i, 3 * n + j]
                now[i, 2 * n + j] += t * first + ahead[i, 2 * n + j]
                now[i, n + j] += ahead[i, n + j]
                now[i, j] = ahead[i, j]
        t *= 2.0
    for i in range(n):
        for j in range(n):
            e[i, j], f1[i, j], f2[i, j], f3[i, j] = now[i, j], now[i, n + j], now[i, 2 * n + j], now[i, 3 * n + j]


@kernel
def scales(net: Network, x: Floats, gas: Floats, scale: Floats) -> None:
    """Sizes of the states at x, for the norm of `exponentials`."""
    n = net.node_par.shape[0]
    for i in range(n):
        scale[i], scale[n + i], scale[2 * n + i] = (
            x[i],
            abs(x[n + i]) + x[i] * gas[i, CV] * gas[i, T],
            gas[i, T],
        )
    for i in range(3 * n, x.shape[0]):
        scale[i] = 1.0
    gauge = x.shape[0] - 1 - net.valve_lag.shape[0] - net.gauge_node.shape[0]
    for j in range(net.gauge_node.shape[0]):
        scale[gauge + j] = gas[net.gauge_node[j], P]
    scale[x.shape[0] - 1] = gas[0, T]


class Map(NamedTuple):
    """A one-sample map and what is carried on it. c = s - 1 - v states are neither openings nor the room's temperature.

    x0 [s] point of linearisation; e, f1, f2, f3 [s, s]; z [s + v + 1, in whole blocks]: deviation, then what commands
    and the room's slope add; opened [v], forces [v]: its parts of the openings and of the commands; rows [c, z in
    whole blocks]: what each of z adds to the next deviation; own, still [c]: what comes without any, of x0 alone and
    now; ahead [c] the next deviation; decay, gain [v] of the openings, pace [v] 1/lag; f [s] rates at x0, those of
    openings and room set to nought; rate [a], tot [a, s] totals' rates and derivatives; sums [z] over the samples.

    rest [4, s], rest_totals [2, a]: what is left out of rates and totals' rates, now and its change in a sample (rest
    also: by how much it was not foreseen, and how far that moves the states in a sample); rested [2, s] their sums over
    the samples; step [c] what its change adds to `still` every sample; seen [s], seen_rate [a] the last look's rates;
    bend [n] what is left out of the pressures there.
    """

    x0: Floats
    e: Floats
    f1: Floats
    f2: Floats
    f3: Floats
    z: Floats
    opened: Floats
    forces: Floats
    rows: Floats
    own: Floats
    still: Floats
    ahead: Floats
    decay: Floats
    gain: Floats
    pace: Floats
    f: Floats
    rate: Floats
    jac: Floats
    tot: Floats
    sums: Floats
    rest: Floats
    rest_totals: Floats
    rested: Floats
    step: Floats
    seen: Floats
    seen_rate: Floats
    bend: Floats
    spare: Floats


def new_map(net: Network) -> Map:
    """Room for a map."""
    size = sizes(net)
    s, v, a = size.states, size.valves, size.totals
    wide, core = whole(s + v + 1, 2), whole(size.valve)
    z = np.zeros(wide)
    return Map(
        x0=np.zeros(s),
        e=np.zeros((s, s)),
        f1=np.zeros((s, s)),
        f2=np.zeros((s, s)),
        f3=np.zeros((s, s)),
        z=z,
        opened=z[size.valve : size.room],
        forces=z[s : s + v],
        rows=np.zeros((core, wide)),
        own=np.zeros(core),
        still=np.zeros(core),
        ahead=np.zeros(core),
        decay=np.zeros(v),
        gain=np.zeros(v),
        pace=1.0 / net.valve_lag,
        f=np.zeros(s),
        rate=np.zeros(a),
        jac=np.zeros((s, s)),
        tot=np.zeros((a, s)),
        sums=np.zeros(wide),
        rest=np.zeros((4, s)),
        rest_totals=np.zeros((2, a)),
        rested=np.zeros((2, s)),
        step=np.zeros(core),
        seen=np.zeros(s),
        seen_rate=np.zeros(a),
        bend=np.zeros(size.nodes),
        spare=np.zeros((2, s, 4 * s)),
    )


@kernel
def derivatives(
    net: Network,
    table: GasTable,
    x: Floats,
    command: Floats,
    servo_on: float,
    gas: Floats,
    spare: Floats,
    f: Floats,
    rate: Floats,
    jac: Floats,
    tot: Floats,
) -> None:
    """Rates at x and their whole derivatives; gas scratch is left as it is at x, `spare` is another."""
    wanted = x.shape[0] > 0  # not a literal, for which the compiler would make a second version
    plant(net, table, x, command, 0.0, servo_on, gas, f, rate, jac, tot, wanted)
    add_slow(net, table, x, gas, spare, rate, jac, tot)
    add_jets(net, x, gas, rate, jac, tot)


@kernel
def build_map(
    net: Network,
    table: GasTable,
    x: Floats,
    command: Floats,
    servo_on: float,
    period: float,
    gas: Floats,
    spare: Floats,
    m: Map,
) -> None:
    """The map over one period (s) around x, into m; gas scratch is left as it is at x, `spare` is another."""
    nx, v = x.shape[0], net.valve_lag.shape[0]
    valve = nx - 1 - v
    derivatives(net, table, x, command, servo_on, gas, spare, m.f, m.rate, m.jac, m.tot)
    scales(net, x, gas, m.spare[1, 0])
    exponentials(m.jac, m.spare[1, 0], period, m.e, m.f1, m.f2, m.f3, m.spare)
    for i in range(v + 1):
        m.f[valve + i] = 0.0  # their inputs are renewed every sample
    for i in range(valve):
        m.own[i] = 0.0
        for j in range(nx):
            m.own[i] += m.f1[i, j] * m.f[j]
            m.rows[i, j] = m.e[i, j]
        m.still[i] = m.own[i]
        for j in range(v + 1):
            m.rows[i, nx + j] = m.f1[i, valve + j]
    for j in range(v):
        m.decay[j], m.gain[j] = m.e[valve + j, valve + j], m.f1[valve + j, valve + j]
    copy(x, m.x0)
    m.z[:] = 0.0
    m.sums[:] = 0.0
    m.rest[:, :] = 0.0
    m.rest_totals[:, :] = 0.0
    m.bend[:] = 0.0
    m.rested[:, :] = 0.0
    m.step[:] = 0.0


@merged
def carry_rest(m: Map, totals: Floats, since: int, period: float) -> None:
    """Account for the rest of `since` samples and bring it up to now."""
    valve = m.x0.shape[0] - 1 - m.pace.shape[0]
    k, j = float(since), 0.5 * since * (since - 1.0)
    for i in range(valve):
        m.rested[0, i] += k * m.rest[0, i] + j * m.rest[1, i]
        m.rested[1, i] += k * m.rest[1, i]
        m.rest[0, i] += k * m.rest[1, i]
    for a in range(totals.shape[0]):
        now, change = m.rest_totals[0, a], m.rest_totals[1, a]
        totals[a] += period * (k * (now + 0.5 * change) + j * change)
        m.rest_totals[0, a] = now + k * change


@summed
def _responses(f1: Floats, f2: Floats, i: int, rest: Floats) -> tuple[float, float, float, float]:
    """What state i makes of rows 0, 1 and 2 of rest [4, s] by F1, and of row 1 by F2."""
    kept, change, surprise, grown = 0.0, 0.0, 0.0, 0.0
    for j in range(f1.shape[1]):
        kept += f1[i, j] * rest[0, j]
        change += f1[i, j] * rest[1, j]
        surprise += f1[i, j] * rest[2, j]
        grown += f2[i, j] * rest[1, j]
    return kept, change, surprise, grown


@merged
def probe(
    net: Network,
    table: GasTable,
    x: Floats,
    command: Floats,
    servo_on: float,
    base: Floats,
    gas: Floats,
    m: Map,
    since: int,
    period: float,
) -> float:
    """Look up the rest at x = x0 + d, `since` samples after the last look; its change is that since then.

    base, gas: gas scratch at x0 and at x. Call `carry_rest` before. Returns by how much the largest change of a
    pressure in a sample was not foreseen, Pa.
    """
    nx, v, n = x.shape[0], net.valve_lag.shape[0], net.node_par.shape[0]
    valve = nx - 1 - v
    wanted = nx < 0  # not a literal, for which the compiler would make a second version
    rates(net, table, x, command, 0.0, servo_on, gas, m.seen, m.seen_rate, m.jac, m.tot, wanted, not wanted)
    for i in range(valve):
        value = m.seen[i] - m.f[i] - inner(m.jac, i, m.z)
        m.rest[2, i] = value - m.rest[0, i]
        m.rest[1, i] += m.rest[2, i] / since
        m.rest[0, i] = value
    for a in range(m.rate.shape[0]):
        value = m.seen_rate[a] - m.rate[a] - inner(m.tot, a, m.z)
        m.rest_totals[1, a] += (value - m.rest_totals[0, a]) / since
        m.rest_totals[0, a] = value
    for i in range(valve):
        kept, m.step[i], m.rest[3, i], grown = _responses(m.f1, m.f2, i, m.rest)
        m.still[i] = m.own[i] + kept + grown / period
    worst = 0.0
    for i in range(n):
        worst = max(worst, abs(pressure_of(base, net.node_strain, m.rest[3], i)))
    return worst


@merged
def look_ahead(m: Map, period: float) -> None:
    """Go one sample of `period` s ahead of a new map, for a first look: what it leaves out grows from there on."""
    nx, v = m.x0.shape[0], m.pace.shape[0]
    valve = nx - 1 - v
    product(m.rows, m.z, m.still, m.ahead)
    for i in range(valve):
        m.z[i] = m.ahead[i]
    for j in range(v):
        m.opened[j] = m.gain[j] * m.forces[j]
    m.z[nx - 1] = period * m.z[nx + v]


@merged
def step_back(m: Map) -> None:
    """Back to the start of a new map after a look ahead, of which how the rest begins to grow is kept."""
    nx = m.x0.shape[0]
    for i in range(nx - 1 - m.pace.shape[0]):
        m.still[i] -= m.step[i]  # at the start nothing is left out
    m.rest[0] = 0.0
    m.rest_totals[0] = 0.0
    m.z[:nx] = 0.0


@merged
def bend_rows(net: Network, base: Floats, gas: Floats, m: Map, since: int, rows: Floats) -> None:
    """Add to the pressures in rows [k, >= n] what the linearisation leaves out of them.

    The rows are those of the `since` samples that followed the last look, now at x (the last may be missing); base,
    gas: gas scratch at x0 and at x. Drawn straight between the two looks, so that pressures have no jump anywhere.
    """
    for i in range(net.node_par.shape[0]):
        value = gas[i, P] - base[i, P] - pressure_of(base, net.node_strain, m.z, i)
        slope = (value - m.bend[i]) / since
        for k in range(rows.shape[0]):
            rows[k, i] += m.bend[i] + (k + 1) * slope
        m.bend[i] = value


@merged
def close_map(m: Map, totals: Floats, lived: int, period: float) -> None:
    """Add to the totals what `lived` samples carried: rate* t + W (F1 sum of d + F2 and F3 sums of what forces)."""
    nx, v = m.x0.shape[0], m.pace.shape[0]
    valve = nx - 1 - v
    for i in range(nx):
        integral = 0.0
        for j in range(nx):
            force = lived * m.f[j] + m.rested[0, j] if j < valve else m.sums[nx + j - valve]
            integral += m.f1[i, j] * m.sums[j] + m.f2[i, j] * force + m.f3[i, j] * m.rested[1, j] / period
        for a in range(totals.shape[0]):
            totals[a] += m.tot[a, i] * integral
    for a in range(totals.shape[0]):
        totals[a] += m.rate[a] * lived * period
