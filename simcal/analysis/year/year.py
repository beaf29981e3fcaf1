"""The answer to `year`: replications of a laboratory's year, until they are enough."""

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from simcal import cache
from simcal.analysis.cover import cover
from simcal.analysis.cover.result import CoverResult
from simcal.analysis.year.building import ASSUMED_PRIOR, model_of, used_sensors, year_of
from simcal.analysis.year.compare import COMPARISONS
from simcal.analysis.year.exposure import exposures
from simcal.analysis.year.hours import DAY
from simcal.analysis.year.model import COSTS, SPENT, Model, Replicated, simulated
from simcal.analysis.year.result import Estimate, RangeYear, SensorYear, Shown, Variant, YearResult
from simcal.analysis.year.seals import bad_share
from simcal.bench.lab import Lab
from simcal.bench.values import Assumed
from simcal.bench.year import Year
from simcal.run import Processes, Rows, Store, chunks, together
from simcal.stats.band import band
from simcal.stats.mean import mean_interval

Array = NDArray[np.float64]
Progress = Callable[[str, int, int], None]
FEWEST = 20
"""Replications from which a 90 % band is told, and by which more are added"""
MOST = 2000
"""Replications that are made for an asked width"""
ALONE = 30_000
"""Jobs up to which all is computed in one process: others take a second to begin"""
NUMBERS = (
    "uptime", "hours", "calendar", "jobs", "done", "lost", "late", "late_share", "wait_s", "wait_90_s", "in_house",
    "utilisation", "exchanges", "calibrations", "found_out", "touched", "exceeded", "leaky", "zero_unseen",
)  # fmt: skip


def year(
    lab: Lab, *, years: int = 1, replications: int = 40, width: float | None = None, compare: str | None = None,
    seed: int = 1, workers: int | None = None, progress: Progress | None = None, resume: bool = False,
) -> YearResult:  # fmt: skip
    """How a laboratory fares: uptime, waiting, lateness, where time goes, exposure, cost.

    Args:
        lab: a checked laboratory with a [year].
        years: that each replication counts.
        replications: independent ones, from 2 on.
        width: half width of the 95 % interval of the uptime, until which replications are added.
        compare: a key of `COMPARISONS`.
        seed: of everything drawn.
        workers: processes; None: one for each core where there is much to do.
        progress: told what is done.
        resume: take up the replications of an interrupted answer to the same question.

    Raises:
        InputError: the LAB has no year, or no sensors for it.
    """
    stated = year_of(lab)
    covered = cover(lab, workers, progress)
    bad = _bad_seals(stated)
    model = model_of(lab, covered, bad, years)
    store = Store(f"year|{model!r}|{seed}", resume)
    rows = replicated(model, seed, replications, width, workers, progress, store)
    variants: tuple[Variant, ...] = ()
    if compare is not None:
        count = len(rows["uptime"])
        variants = tuple(
            _variant(label, rows, replicated(other, seed, count, None, workers, progress, None, label), dates)
            for label, other, dates in COMPARISONS[compare](model, seed)
        )
    store.drop()
    kinds = [(kind.name, kind.count) for kind in model.shop.kinds]
    work, tally = simulated(model, seed, 0, marks=True)
    return YearResult(
        lab=lab.name,
        years=years,
        replications=len(rows["uptime"]),
        seed=seed,
        width=width,
        target=stated.target,
        numbers={name: estimate(rows[name]) for name in NUMBERS},
        ranges=_ranges(covered, kinds, {kind.name for kind in model.shop.kinds if 0 in kind.need}, rows),
        spent={what: estimate(rows["spent"][:, i]) for i, what in enumerate(SPENT)},
        cost={what: estimate(rows["cost"][:, i]) for i, what in enumerate(COSTS)}
        | {"together": estimate(rows["cost"].sum(axis=1))},
        sensors=tuple(SensorYear(s.name, s.first_due, s.interval.usual, s.batch) for s in model.shop.sensors),
        bad_seals=bad,
        little=float(rows["little"].max()),
        compared=compare,
        variants=variants,
        shown=Shown(tuple(tally.marks or ()), tuple(tally.queue), exposures(model.shop, work, tally)),
        notes=(*_notes(lab, stated, covered, model), *_all_alike(rows, variants)),
        assumed=(*lab.assumed, *_assumed(lab, covered)),
        version=cache.version(),
    )


def replicated(
    model: Model, seed: int, count: int, width: float | None = None, workers: int | None = None,
    progress: Progress | None = None, store: Store | None = None, name: str = "as it is",
) -> Rows:  # fmt: skip
    """Rows of so many replications, or of more until the uptime is known to within `width`; any workers, same rows."""
    task = Replicated(model, seed)
    jobs = sum(kind.count for kind in model.shop.kinds) * model.years
    alone = width is None and jobs * count <= ALONE
    tell = None if progress is None else lambda done, of: progress(f"years, {name}", done, of)
    with Processes(task, 1 if alone else workers) as many:
        parts = [together(chunks(task, count, name="years", store=store, progress=tell, many=many))]
        while width is not None and count < MOST and _half_width(parts) > width:
            more = min(max(FEWEST, count // 2), MOST - count)
            part = chunks(task, more, first=count, name="years", store=store, progress=tell, many=many)
            parts.append(together(part))
            count += more
    return {key: np.concatenate([part[key] for part in parts]) for key in parts[0]}


def _half_width(parts: Sequence[Rows]) -> float:
    one = estimate(np.concatenate([part["uptime"] for part in parts]))
    return 0.5 * (one.high - one.low)


def estimate(values: Array) -> Estimate:
    """Mean, its interval and the band of the values (n,), n >= 2."""
    mean, low, high = mean_interval(values)
    ends = band(values) if len(values) >= FEWEST else None
    return Estimate(mean, low, high, ends.low if ends else None, ends.high if ends else None)


def _variant(label: str, base: Rows, rows: Rows, dates: tuple[float, ...]) -> Variant:
    return Variant(
        label=label,
        uptime=estimate(rows["uptime"]),
        more=estimate(rows["uptime"] - base["uptime"]),
        late_share=estimate(rows["late_share"]),
        exceeded=estimate(rows["exceeded"]),
        cost=estimate(rows["cost"].sum(axis=1)),
        dates=dates,
    )


def _ranges(
    covered: CoverResult, kinds: Sequence[tuple[str, float]], never: set[str], rows: Rows
) -> tuple[RangeYear, ...]:
    """Kinds of one range together, weighed by their jobs, without those that no sensor serves."""
    by_range: dict[tuple[bool, float, float], list[int]] = {}
    for i, one in enumerate(covered.instruments):
        by_range.setdefault((one.gauge, one.low_Pa, one.high_Pa), []).append(i)
    found = []
    for (gauge, low, high), members in by_range.items():
        whole = np.array([kinds[i][1] for i in members])
        counts = np.array([0.0 if covered.instruments[i].name in never else kinds[i][1] for i in members])
        weights = counts / counts.sum() if counts.sum() > 0.0 else np.full(len(members), 1.0 / len(members))
        hours, calendar = (rows[key][:, members] @ weights for key in ("kinds", "kinds_calendar"))
        names = tuple(kinds[i][0] for i in members)
        found.append(RangeYear(gauge, low, high, names, float(whole.sum()), estimate(hours), estimate(calendar)))
    return tuple(found)


def _bad_seals(stated: Year) -> float:
    """Share of exchanges after which a seal leaks: as stated, or from the seal of the bench file."""
    one = stated.exchange
    if one.bench is None or one.permitted_leak is None:
        return one.bad or 0.0
    return bad_share(one.bench, one.seal, one.habit, one.permitted_leak)


def _notes(lab: Lab, stated: Year, covered: CoverResult, model: Model) -> list[str]:
    """What a reader must know beside the numbers."""
    notes = [f"each replication begins {stated.warm_up / DAY:g} d before what counts, with nothing waiting"]
    never = [kind.name for kind in model.shop.kinds if 0 in kind.need]
    if never:
        count = sum(kind.count for kind in model.shop.kinds if 0 in kind.need)
        names = ", ".join(never[:4]) + (f" and {len(never) - 4} more" if len(never) > 4 else "")
        notes.append(f"no sensor of the year serves {names}: {count:g} jobs a year are refused, see `simcal cover`")
    left = [
        ("failures of a bench", stated.failures is None),
        ("sensors out of tolerance", stated.away.out_of_tolerance == 0.0),
        ("seals that leak after an exchange", stated.exchange.bad is None and stated.exchange.bench is None),
        ("connections that leak", stated.check.bad == 0.0),
    ]
    silent = [what for what, none in left if none]
    if silent:
        notes.append(f"none stated, so none happen: {', '.join(silent)}; the year is then too good")
    without = [name for name, one in used_sensors(lab, covered).items() if one.cost is None]
    if without and any(one.cost is not None for one in lab.sensors.values()):
        notes.append(f"no cost is stated of {', '.join(without[:4])}: it counts nothing")
    return notes


def _all_alike(rows: Rows, variants: Sequence[Variant]) -> list[str]:
    """Whose interval has no width, because every replication gave the same."""
    alike = ["as it is"] if not np.ptp(rows["uptime"]) else []
    alike += [one.label for one in variants if one.uptime.low == one.uptime.high]
    if not alike:
        return []
    return [
        f"every replication gave the same uptime, {'; '.join(alike)}: what happens less often than once in "
        f"{len(rows['uptime'])} replications is not in its interval"
    ]


def _assumed(lab: Lab, covered: CoverResult) -> list[Assumed]:
    """What nobody said of the year."""
    found = []
    without = [name for name, one in used_sensors(lab, covered).items() if one.calibrated is None]
    if without and year_of(lab).away.plan == "by date":
        found.append(Assumed("sensor.*.calibrated", "evenly spread", f"no date is stated of {', '.join(without[:4])}"))
    if lab.prior is None:
        found.append(Assumed("prior.in_tolerance", f"{ASSUMED_PRIOR:.0%}", "for the margins of jobs"))
    return found
