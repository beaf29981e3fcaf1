"""`criterion`: the shortest soak, wait and watch, and the limits, that tell the permitted leak from a healthy one."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from simcal.analysis.criterion.answer import answer, empty
from simcal.analysis.criterion.cures import cures
from simcal.analysis.criterion.permit import permit
from simcal.analysis.criterion.question import ABOVE, BELOW, BOTH, SHARE, Question
from simcal.analysis.criterion.result import CriterionResult, Cure
from simcal.analysis.criterion.search import TIGHTENING, Array, Candidate, View, best, limits, view
from simcal.analysis.criterion.setup import Setup, setup
from simcal.analysis.criterion.span import caught, nominal_view, span
from simcal.analysis.criterion.trace import Drawn, trial
from simcal.analysis.criterion.verify import LEVELS, Checked, check
from simcal.analysis.criterion.worst import leading_key
from simcal.bench.bench import Bench
from simcal.errors import InputError
from simcal.run.ensemble import Rows, Store, chunks, together

AUTO = "auto"
WIDE = (0.0, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 1.0, 1.2, 1.5, 2.0, 3.0, 4.0, 6.0, 10.0)
"""leaks at which a given criterion is looked at, as shares of the permitted one"""
FEWER, LONGER = 40, 3.0
"""benches on which it is looked whether something else would help; so many times longer holds among it"""
Progress = Callable[[str, int, int], None]


@dataclass(frozen=True)
class Given:
    """A criterion that somebody has: times s, limits on the change Pa, None: no such limit."""

    soak_s: float
    wait_s: float
    watch_s: float
    allowed_drop_Pa: float | None
    allowed_rise_Pa: float | None


def criterion(
    bench: Bench, *, given: Given | None = None, workers: int | None = None, progress: Progress | None = None,
    resume: bool = False, **asked: Any,
) -> CriterionResult:  # fmt: skip
    """Find a criterion for the bench's holds, or say what a given one does.

    Args:
        bench: a checked bench; the leak that is tried takes the place of its leaks and seals to the room.
        given: a criterion to explain; None: find the shortest.
        workers: threads; None: one for each core.
        progress: told what is done.
        resume: take up what an interrupted run of the same question had done.
        asked: the fields of `question.Question`, permitted before all; with `given` it may be None, and "auto" is
            what the accuracy of the bench's device permits (`permit`).

    Raises:
        InputError: a pressure, a sensor, times or leaks that cannot be.
    """
    notes: tuple[str, ...] = ()
    if asked.get("permitted") == AUTO:
        unit = setup(bench, _question(given, {**asked, "permitted": (1e-9, "amount"), "healthy": None}))
        found = permit(bench, unit.plans[0], unit.gains)
        asked, notes = {**asked, "permitted": (found.rate, "amount")}, found.said
    question = _question(given, asked)
    store = Store(f"criterion|{bench!r}|{question!r}|{given!r}", resume)
    work = _Work(bench, setup(bench, question), store, workers, progress)
    result = _found(work) if given is None else _explained(work, given, asked.get("permitted") is None)
    store.drop()
    return replace(result, notes=(*notes, *result.notes))


def _question(given: Given | None, asked: dict[str, Any]) -> Question:
    if given is None:
        return Question(**asked)
    times = {"soak_s": given.soak_s, "wait_s": given.wait_s, "watch_s": given.watch_s}
    times["longest_s"] = sum(times.values())
    if asked.get("permitted") is None:  # a leak of the size that the limit stands for, as a scale
        limit = max(given.allowed_drop_Pa or 0.0, given.allowed_rise_Pa or 0.0, 1e-3)
        asked = {**asked, "permitted": (limit / given.watch_s, "pressure rate")}
    return Question(**{**asked, **times})


@dataclass(frozen=True)
class _Work:
    """What both ways of asking need."""

    bench: Bench
    one: Setup
    store: Store
    workers: int | None
    progress: Progress | None

    def told(self, what: str) -> Callable[[int, int], None] | None:
        """Progress under one name."""
        tell = self.progress
        return None if tell is None else lambda done, count: tell(what, done, count)

    def look(self, one: Setup, name: str = "benches", lap: int = 0) -> Rows:
        """Drawn benches, at all times of the grid."""
        count = one.asked.benches
        parts = chunks(self._trial(one), count, first=lap * count, name=name, store=self.store, workers=self.workers,
                       progress=self.told(name if lap == 0 else f"{name} {lap + 1}"))  # fmt: skip
        return together(parts)

    def otherwise(self, name: str, **changed: Any) -> float | None:
        """Time of the shortest criterion where something else is asked, on fewer benches, s; None: there is none."""
        asked = self.one.asked
        asked = replace(asked, benches=min(asked.benches, FEWER), **changed)
        try:
            other = setup(self.bench, asked, self.one.gains)
            found = best(view(other, self.look(other, name)))
        except InputError:
            return None
        return None if found is None else found.total_s

    def check(self, own: Setup, limit: Candidate, lap: int, levels: tuple[float, ...]) -> Checked:
        """Fails of fresh benches at one set of times."""
        count = own.asked.benches
        first = count * (lap + 1)
        parts = chunks(self._trial(own), count, first=first, name=f"fresh-{lap}", store=self.store,
                       workers=self.workers, progress=self.told(f"fresh benches {lap + 1}"))  # fmt: skip
        return check(own, limit, parts, first, levels)

    @staticmethod
    def _trial(one: Setup) -> Callable[[int], dict[str, Any]]:
        return lambda number: trial(one, number)


def _found(work: _Work) -> CriterionResult:
    """The shortest criterion whose risks hold on benches on which it was not looked for.

    Where fresh benches break one, they are looked at as well, it is looked for with more to spare, and others check it.
    """
    one, rows = work.one, work.look(work.one)
    _, nominal = nominal_view(one.at(0, 0, int(np.argmax(one.grid.at[0]))))
    reason = ""
    for lap, tightening in enumerate(TIGHTENING):
        if lap > 0:
            more = work.look(one, lap=lap)
            rows = {key: np.concatenate([rows[key], more[key]]) for key in rows}
        seen = view(one, rows)
        found = best(seen, tightening)
        if found is None:
            return _none(work, seen, rows, nominal, tightening, reason)
        own, at = one.at(found.soak, found.wait, found.watch), replace(found, soak=0, wait=0, watch=0)
        fresh = work.check(own, at, lap, LEVELS)
        broken = _broken(own, fresh)
        if not broken:
            good = answer(work.bench, own, at, fresh, nominal)
            return replace(good, valid_for=span(own, at, work.bench, work.workers))
        reason = f"{_told(own)}, with a limit of {at.limit:.3g} Pa, was not kept by fresh benches: {broken}"
    few = f"; more benches than {one.asked.benches} show better what they have in common"
    return empty(work.bench, one, nominal, reason + few)


def _told(own: Setup) -> str:
    times = own.grid
    return f"a soak of {times.soaks[0]:g} s, a wait of {times.waits[0]:g} s and a watch of {times.watches[0]:g} s"


def _none(
    work: _Work, seen: View, rows: Rows, nominal: Drawn, tightening: tuple[float, float], before: str
) -> CriterionResult:
    """That nothing parts the leaks, why, and what would."""
    one, nearest = work.one, _nearest(seen, tightening)
    key = leading_key(one, seen.healthy_mean()[:, *nearest], rows["share"])
    wide, _ = nominal_view(one)
    why = _why(one, seen, nearest, tightening) + (f"; {before}" if before else "")
    helping = list(cures(one, seen, wide, nominal.permitted_mol_per_s, key, tightening))
    if one.asked.direction in (BELOW, ABOVE) and (total := work.otherwise("both sides", direction=BOTH)) is not None:
        helping.append(Cure("two directions", None, None, total, "one hold from below and one from above, averaged"))
    longer = LONGER * one.asked.longest_s
    if (total := work.otherwise("longer", longest_s=longer)) is not None:
        helping.append(Cure("longest", one.asked.longest_s, total, total, f"{total:g} s for soak, wait and watch"))
    return replace(empty(work.bench, one, nominal, why), cures=tuple(helping))


def _broken(own: Setup, fresh: Checked) -> str:
    """Which risks fresh benches do not keep; empty when they keep both."""
    healthy = own.asked.healthy_share()
    pairs = ((fresh.fails(healthy), own.asked.false_alarm, "false alarm"), (fresh.passes(1.0), own.asked.miss, "miss"))
    return " and ".join(
        f"the {name} was {100.0 * risk.mean:.3g} % on average and {100.0 * risk.most:.3g} % at 95 % of them"
        for risk, most, name in pairs
        if risk.mean > most or risk.most > most
    )


def _nearest(seen: View, tightening: tuple[float, float]) -> tuple[int, int, int]:
    """Where the limits asked for are nearest to leaving room, counted in what the leaks differ by."""
    needs = limits(seen, tightening)
    gap = np.where(np.isfinite(seen.total), (needs.highest - needs.lowest) / _made(seen), -np.inf)
    s, w, h = (int(i) for i in np.unravel_index(int(np.argmax(gap)), gap.shape))
    return s, w, h


def _made(seen: View) -> Array:
    """What the two leaks differ by [s, w, h], median of the benches, Pa."""
    return np.asarray(np.median(seen.leaking_mean() - seen.healthy_mean(), axis=0))


def _why(one: Setup, seen: View, nearest: tuple[int, int, int], tightening: tuple[float, float]) -> str:
    """Why nothing parts the two leaks: where it is nearest, what it would take."""
    needs, (s, w, h) = limits(seen, tightening), nearest
    place = (slice(None), s, w, h)
    times = one.grid
    parts = {name: float(np.median(part[place])) for name, part in seen.parts.items()}
    parts |= {"noise and step": seen.noise, "one bench and the next": float(np.std(seen.healthy_mean()[place]))}
    largest = sorted(parts.items(), key=lambda item: -item[1])[:3]
    return (
        f"within {one.asked.longest_s:g} s nothing parts the two leaks; nearest is a soak of {times.soaks[s]:g} s, a "
        f"wait of {times.waits[w]:g} s and a watch of {times.watches[h]:g} s: {100.0 * SHARE:g} % of the good benches "
        f"need a limit of at least {needs.lowest[s, w, h]:.3g} Pa, of the leaking ones at most "
        f"{needs.highest[s, w, h]:.3g} Pa; the leaks differ by {_made(seen)[s, w, h]:.3g} Pa there, against standard "
        "deviations of " + ", ".join(f"{size:.2g} Pa ({name})" for name, size in largest)
    )


def _explained(work: _Work, given: Given, only_scale: bool) -> CriterionResult:
    """What a criterion catches that somebody gives."""
    own = work.one.at(0, 0, 0)
    along, against = (given.allowed_drop_Pa, given.allowed_rise_Pa)[:: 1 if own.outward else -1]
    limit = Candidate(
        0, 0, 0, np.inf if along is None else along, np.inf if against is None else against, 0.0, 0.0,
        float(own.grid.total(own.holds)[0, 0, 0]),
    )  # fmt: skip
    fresh = work.check(own, limit, 0, WIDE)
    _, nominal = nominal_view(own)
    found = answer(work.bench, own, limit, fresh, nominal)
    reason = "" if only_scale else _broken(own, fresh)
    by_size = caught(own, limit.limit, work.bench) if np.isfinite(limit.limit) else ()
    found = replace(found, explained=True, feasible=not reason, reason=reason, caught=by_size)
    if only_scale:
        found = replace(found, false_alarm=None, miss=None, worst=None, decision=None)
    return found
