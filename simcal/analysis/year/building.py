"""From a LAB and what `cover` says of it to the model of its year."""

import math
from collections.abc import Iterator, Sequence

from scipy.special import ndtri

from simcal.analysis.cover.result import VENT, CoverResult, InstrumentCover, PointCover
from simcal.analysis.year.demand import Demand
from simcal.analysis.year.hours import DAYS, Hours
from simcal.analysis.year.model import Model, Prices
from simcal.analysis.year.plans import by_date, staggered, together
from simcal.analysis.year.shop import Check, Exchange, Kind, Need, PointOfKind, Return, Sensor, Shop
from simcal.bench.lab import Lab, Reference
from simcal.bench.year import OWNED, STAGGERED, TOGETHER, WALK, Year
from simcal.errors import InputError
from simcal.stats.lasting import EXPONENTIAL, Lasting, fixed, skewed

ASSUMED_PRIOR = 0.95
"""Instruments in tolerance where no prior is stated: sets the margins that errors of sensors are held against"""
MOST_PIECES = 60
MOST_JOBS = 500_000
"""A year, at most"""


def year_of(lab: Lab) -> Year:
    """The LAB's year.

    Raises:
        InputError: it has none, or no sensor to begin with.
    """
    if lab.year is None:
        raise InputError(lab.file, "year", "missing", 'a table [year] with [year.away] usual = "21 d", late = "35 d"')
    if lab.year.sensors == OWNED and not any(one.owned for one in lab.sensors.values()):
        raise InputError(
            lab.file, "year.sensors", "no sensor is owned", 'owned = true at a sensor, or sensors = "plan"'
        )
    _check_pieces(lab, sum(one.pieces for one in lab.sensors.values() if one.owned) if lab.year.sensors == OWNED else 0)
    jobs = sum(one.count for one in lab.instruments.values())
    if not 0.0 < jobs <= MOST_JOBS:
        raise InputError(lab.file, "instrument.*.count", f"{jobs:.12g} jobs a year", f"some, and at most {MOST_JOBS}")
    if not any(lab.year.work.week[DAYS.index(day)] for day in lab.year.staff.days):
        raise InputError(lab.file, "year.work.week", "nothing comes on a staffed day", "a weight above 0 on one")
    return lab.year


def _check_pieces(lab: Lab, count: int) -> None:
    if count > MOST_PIECES:
        raise InputError(lab.file, "sensor.*.pieces", f"{count} pieces of sensors", f"at most {MOST_PIECES}")


def used_sensors(lab: Lab, cover: CoverResult) -> dict[str, Reference]:
    """The sensors of the year: those owned, or those of the set that `cover` found."""
    year = year_of(lab)
    chosen = cover.plan.sensors if year.sensors != OWNED else [n for n, one in lab.sensors.items() if one.owned]
    return {name: lab.sensors[name] for name in chosen}


def pieces_of(sensors: dict[str, Reference]) -> list[tuple[str, int]]:
    """(Name, number from 0) of every piece, the first pieces of all sensors before the second ones."""
    most = max((one.pieces for one in sensors.values()), default=0)
    return [(name, k) for k in range(most) for name, one in sensors.items() if k < one.pieces]


def model_of(lab: Lab, cover: CoverResult, bad_seals: float, years: int = 1) -> Model:
    """The model; bad_seals: share of exchanges after which a seal leaks.

    Raises:
        InputError: more pieces of sensors than can be told apart.
    """
    year = year_of(lab)
    sensors = used_sensors(lab, cover)
    pieces = pieces_of(sensors)
    _check_pieces(lab, len(pieces))
    bits = {name: [i for i, (one, _) in enumerate(pieces) if one == name] for name in sensors}
    by_name = {i: sum(1 << k for k in of) for of in bits.values() for i in of}
    hours = Hours(year.staff.opens, year.staff.closes, tuple(sorted(DAYS.index(one) for one in year.staff.days)))
    away, fails, ex = year.away, year.failures, year.exchange
    shop = Shop(
        hours=hours,
        benches=year.benches,
        places=lab.places,
        kinds=tuple(_kind(lab, year, one, bits) for one in cover.instruments),
        sensors=tuple(_piece(sensors[name], name, k) for name, k in pieces),
        layout=tuple(tuple(_on_bench(pieces, b, lab.places)) for b in range(year.benches)),
        away=skewed(away.usual, away.late),
        slots=away.slots,
        counts_from=away.counts_from,
        check=Check(year.check.bad, year.check.false_alarm, year.check.miss, year.check.again),
        exchange=Exchange(ex.takes, ex.check, bad_seals, ex.miss, ex.reseat),
        back=Return(
            away.accept, away.refuse, away.zero_shift, away.zero_time, away.zero_miss, away.out_of_tolerance,
            0.5 if away.growth == WALK else 1.0,
        ),
        fails=None if fails is None else Lasting(EXPONENTIAL, fails.every),
        repair=fixed(0.0) if fails is None else skewed(fails.usual, fails.late),
        queue=year.work.queue,
        patience_s=math.inf if year.work.patience is None else year.work.patience,
        reading_sd=1.0 / float(ndtri(0.5 + 0.5 * (ASSUMED_PRIOR if lab.prior is None else lab.prior.in_tolerance))),
        twins=by_name,
    )  # fmt: skip
    plan = {TOGETHER: together, STAGGERED: staggered}.get(away.plan, by_date)
    return Model(plan(shop, year.warm_up), _demand(year), _prices(year, sensors, pieces), years, year.warm_up)


def _demand(year: Year) -> Demand:
    work = year.work
    return Demand(work.batch, work.week, work.season, work.urgent, work.promise, work.urgent_promise)


def _prices(year: Year, sensors: dict[str, Reference], pieces: Sequence[tuple[str, int]]) -> Prices:
    c = year.cost
    each = tuple((sensors[name].cost or 0.0) / c.write_off for name, _ in pieces)
    return Prices(each, c.calibration, c.bench, c.hour, c.late, c.refused)


def _piece(one: Reference, name: str, k: int) -> Sensor:
    """Piece k of a sensor; where nobody said when it was calibrated, its date is not yet known."""
    shown = name if k == 0 else f"{name} no. {k + 1}"
    batch = one.batch if k == 0 or not one.batch else f"{one.batch} no. {k + 1}"
    due = math.nan
    if one.calibrated is not None:
        left = one.interval - one.calibrated
        due = left if k == 0 else (left + k * one.interval / one.pieces) % one.interval
    return Sensor(shown, due, fixed(one.interval), batch)


def _on_bench(pieces: Sequence[tuple[str, int]], b: int, places: int) -> Iterator[int]:
    """The b-th piece of every sensor, as far as there are places; the others lie on the shelf."""
    mine = [i for i, (_, k) in enumerate(pieces) if k == b]
    yield from mine[:places]


def _kind(lab: Lab, year: Year, one: InstrumentCover, bits: dict[str, list[int]]) -> Kind:
    asked = [p for p in one.points if p.mode != VENT]
    run = year.work.run if one.run_s is None else one.run_s
    return Kind(
        name=one.name,
        count=one.count,
        need=_need(asked, bits, lab.places),
        connect_s=year.work.connect,
        run_s=run + one.switch_s,
        check_s=year.check.takes,
        release_s=year.work.release,
        points=tuple(_point(lab, p, bits) for p in asked),
    )


def _need(points: Sequence[PointCover], bits: dict[str, list[int]], places: int) -> Need:
    """What its points ask for; the empty set besides, which nothing meets, where a bench has too few places for it."""
    need = frozenset(sum(1 << i for name in p.able for i in bits.get(name, ())) for p in points)
    taken, count = 0, 0
    for mask in sorted(need, key=int.bit_count):
        if not mask & taken:
            taken, count = taken | mask & -mask, count + 1
    return need if count <= places else need | {0}


def _point(lab: Lab, p: PointCover, bits: dict[str, list[int]]) -> PointOfKind:
    """The sensors that serve a point, those with the smallest limit of error first."""
    found = []
    for name in p.able:
        one = lab.sensors[name]
        limit = one.accuracy.error_at(one.range.stated(p.pressure_Pa, lab.room.barometer), one.range)
        found += [(limit, i) for i in bits.get(name, ())]
    found.sort()
    return PointOfKind(p.number, p.tolerance_Pa, tuple(i for _, i in found), tuple(limit for limit, _ in found))
