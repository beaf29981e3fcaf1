"""What would make an infeasible criterion feasible, each with its number; found on the holds already simulated."""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from simcal.analysis.criterion.result import Cure
from simcal.analysis.criterion.search import View, best
from simcal.analysis.criterion.setup import BAROMETER, DIRECTION, DRIFT, Setup

MOST, STEPS = 1000.0, 12
"""largest factor on the permitted leak that is looked at; halvings of an interval of factors"""
READING_SHARE = 0.1
"""of the time, that the readings of a mean may take"""
WORDS = {
    DRIFT: "the room's drift",
    BAROMETER: "the barometer's drift",
    "room.cycle": "the room's regular swing",
}


@dataclass(frozen=True)
class _Asked:
    setup: Setup
    tightening: tuple[float, float]

    def total(self, seen: View) -> float | None:
        """Time of the shortest criterion, s; None where there is none."""
        found = best(seen, self.tightening)
        return None if found is None else found.total_s


def cures(
    one: Setup, seen: View, nominal: View, permitted: float, worst: str | None, tightening: tuple[float, float]
) -> tuple[Cure, ...]:
    """Every single change that helps alone; permitted: mol/s; worst: the key that parts the benches most;
    tightening: with which there was none."""
    return tuple(_cures(_Asked(one, tightening), seen, nominal, permitted, worst))


def _cures(one: _Asked, seen: View, nominal: View, permitted: float, worst: str | None) -> Iterator[Cure]:
    factor = _smallest(lambda f: one.total(_larger_leak(seen, f)), 1.0, MOST)
    if factor is not None:
        yield Cure(
            "permitted leak", permitted, factor * permitted, one.total(_larger_leak(seen, factor)),
            f"a permitted leak {factor:.3g} times as large, the healthy one in proportion",
        )  # fmt: skip
    known = replace(nominal, drift=0.0 * nominal.drift)
    named = f" ({worst} before all)" if worst else ""
    if (total := one.total(known)) is not None:
        yield Cure("bench", None, None, total, f"a bench whose uncertain values{named} are measured")
        yield from _quieter_runs(one, seen, "")
    else:
        yield from _quieter_runs(one, seen, "")
        yield from _quieter_runs(one, known, f"a bench whose uncertain values{named} are measured, and ")
    for risk in (0.1, 0.2):
        asked = replace(seen, false_alarm=max(risk, seen.false_alarm), miss=max(risk, seen.miss))
        if (total := one.total(asked)) is not None:
            stated = max(seen.false_alarm, seen.miss)
            yield Cure(
                "risks", stated, risk, total, f"risks of {100.0 * risk:.0f} % in place of {100.0 * stated:.3g} %"
            )
            return


def _quieter_runs(one: _Asked, seen: View, before: str) -> Iterator[Cure]:
    """Each part of what differs from run to run, and the sensor, brought down until it is feasible."""
    changes: dict[str, tuple[str, Callable[[float], View]]] = {}
    for part, sizes in seen.parts.items():
        if part != DIRECTION and float(np.max(sizes)) > 0.0:
            words = WORDS.get(part, f"the spread of {part}")
            changes[part] = (words, lambda f, part=part: _quieter(seen, part, f))  # type: ignore[misc]
    changes["noise"] = ("noise and step of the sensor", lambda f: replace(seen, noise=f * seen.noise))
    if np.any(seen.drift):
        changes["sensor drift"] = ("the sensor's drift", lambda f: replace(seen, drift=f * seen.drift))
    if seen.parts:
        words = "all that differs from run to run, noise among it,"
        changes["runs"] = (words, lambda f: _quieter_all(seen, f))
    for what, (words, changed) in changes.items():
        share = _largest(lambda f, changed=changed: one.total(changed(f)))  # type: ignore[misc]
        if share is None or share <= 0.0:
            continue
        total, count = one.total(changed(share)), math.ceil(one.setup.asked.readings / share**2)
        fits = what == "noise" and total is not None and count * one.setup.asked.every_s < READING_SHARE * total
        more = f", or means of {count} readings" if fits else ""
        text = f"{before}{words} down to {100.0 * share:.3g} % of it{more}"
        yield Cure(f"bench, {what}" if before else what, 1.0, share, total, text)


def _larger_leak(seen: View, factor: float) -> View:
    return replace(seen, leak=seen.tight + factor * (seen.leak - seen.tight))


def _quieter(seen: View, part: str, factor: float) -> View:
    return replace(seen, parts={**seen.parts, part: factor * seen.parts[part]})


def _quieter_all(seen: View, factor: float) -> View:
    return replace(seen, parts={name: factor * one for name, one in seen.parts.items()}, noise=factor * seen.noise)


def _smallest(total: Callable[[float], float | None], low: float, high: float) -> float | None:
    """The smallest factor that is feasible, rounded up; None where the largest is not."""
    if total(high) is None:
        return None
    a, b = np.log(low), np.log(high)
    for _ in range(STEPS):
        middle = 0.5 * (a + b)
        a, b = (a, middle) if total(float(np.exp(middle))) is not None else (middle, b)
    return float(np.ceil(np.exp(b) * 100.0) / 100.0)


def _largest(total: Callable[[float], float | None]) -> float | None:
    """The largest share 0..1 that is feasible, rounded down; None where nought is not."""
    if total(0.0) is None:
        return None
    a, b = 0.0, 1.0
    for _ in range(STEPS):
        middle = 0.5 * (a + b)
        a, b = (middle, b) if total(middle) is not None else (a, middle)
    return float(np.floor(a * 1000.0) / 1000.0)
