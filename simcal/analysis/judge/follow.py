"""`follow`: judging while the hold goes on, honest however often one looks.

A fixed interval looked at again and again ends up outside the truth sooner or later. Here the interval of every look is
that of the prior-posterior ratio (`stats.sequential`), which holds the truth at all looks together: one may stop at
the first look that decides. The price is a wider interval at each single look, so a longer hold (`price`).

That argument asks for one prior and one model at all looks, so laws and slow yielding are those of a hold as long as is
thought of (`horizon_s`). It does not cover what is found anew at each look: the noise and the curve about which all is
linear. Records of a finer model do (tests/campaign).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.judge import assemble
from simcal.analysis.judge.case import Case
from simcal.analysis.judge.infer import Inference, infer, mol_per_pascal
from simcal.analysis.judge.interval import HOPELESS_FIT, Interval, fall_interval, rate_interval, rate_mixture
from simcal.analysis.judge.judge import mean_pressure
from simcal.analysis.judge.judgement import UNDECIDED, verdict
from simcal.analysis.judge.posterior import LEAKS
from simcal.bench.about import About
from simcal.bench.record import Record
from simcal.errors import InputError
from simcal.stats.mixture import times_lognormal
from simcal.stats.sequential import lasting_interval

Vector = NDArray[np.float64]

ALPHA = 0.05
"""probability that the truth is ever outside, over all looks"""
BINS = 60
"""even parts of the watch that is thought of; after each there is a look"""
FIRST = 10.0
"""s, the shortest watch that is looked at, where that is less than a third of what is thought of"""
UNTOLD = 600.0
"""s, hold thought of while it goes on where nobody said how long; doubled when it is reached"""


@dataclass(frozen=True)
class Look:
    """One look: the record's time it was taken at, and what then is known of the leak.

    `low`, `high` and `verdict` hold at all looks together; `single_` is what one look planned beforehand would say.
    """

    time_s: float
    held_s: float  # since the valves shut
    verdict: str
    leak_mol_per_s: float
    low_mol_per_s: float
    high_mol_per_s: float
    permitted_mol_per_s: float
    fits: bool
    single_verdict: str
    single_low_mol_per_s: float
    single_high_mol_per_s: float


class Price(NamedTuple):
    """What looking on cost: hold until one look planned beforehand decides, and until following did, s."""

    single_s: float
    followed_s: float


def look(record: Record, about: About, horizon_s: float | None = None) -> Look:
    """What the rows so far say; `horizon_s` is the longest hold that is thought of (default: the present one).

    Keep `horizon_s` the same at all looks: the explanations that are weighed are those for a hold of that length.
    Raises InputError as `judge`, and where gas, capacity or the permitted leak are missing.
    """
    case, shut = assemble.case(record, about)
    limit = case.permitted
    if limit is None:
        raise _nothing_to_decide(about)
    case = replace(case, horizon=horizon_s)
    inference = infer((case,))
    p_mean = mean_pressure(case)
    found, single = lasting(case, inference, p_mean), rate_interval(case, inference, p_mean)
    fits = inference.misfit <= HOPELESS_FIT
    held = float(case.time[-1])
    return Look(
        time_s=shut + held,
        held_s=held,
        verdict=verdict(found.low, found.high, limit) if fits else UNDECIDED,
        leak_mol_per_s=found.middle,
        low_mol_per_s=found.low,
        high_mol_per_s=found.high,
        permitted_mol_per_s=limit,
        fits=fits,
        single_verdict=verdict(single.low, single.high, limit) if fits else UNDECIDED,
        single_low_mol_per_s=single.low,
        single_high_mol_per_s=single.high,
    )


class Following:
    """Looks at a record that may grow: after each new bin, whatever the pace at which its rows come.

    Raises InputError at once where there is nothing to decide.
    """

    def __init__(self, about: About, horizon_s: float | None = None) -> None:
        if about.permitted_leak is None or about.gas is None or about.capacity is None:
            raise _nothing_to_decide(about)
        self.about, self.horizon = about, horizon_s
        self.due: Iterator[tuple[float, float]] | None = None
        self.next = 0.0, 0.0
        self.looked: float | None = None  # the record's time up to which rows were looked at
        self.rows = 0  # since the valves shut, at that look

    def more(self, record: Record, finished: bool = False) -> Iterator[Look]:
        """The looks that the record as it now is allows and that were not taken yet.

        `finished`: no row will come any more; then the last look is at the last row, and faults are raised that might
        mend themselves while rows still come.
        """
        shut, start, until = self._moments(record)
        reached = float(record.time_s[-1]) if len(record.segments) < 2 else float(record.time_s.max())
        over = finished or (until is not None and reached >= until)
        if self.due is None and reached > start:
            end = until if until is not None else reached if finished else None
            self.due = _due(start - shut, self.horizon or (None if end is None else end - shut))
            self.next = next(self.due)
        while self.due is not None and self.next[0] + shut <= (reached if until is None else min(reached, until)):
            held, horizon = self.next
            self.next = next(self.due)
            yield from self._early(_so_far(record, shut + held), shut + held, horizon)
        end = reached if until is None else min(reached, until)
        if over and (self.looked is None or self.looked < end - 1e-6 * abs(end - shut)):
            self.looked = end
            yield look(record, self.about, self.next[1] or None)

    def ended(self, record: Record) -> bool:
        """Whether the rows reach the stated end of the watch."""
        until = self._moments(record)[2]
        return until is not None and float(record.time_s[-1]) >= until

    def _early(self, record: Record, until: float, horizon: float) -> Iterator[Look]:
        """A look while rows may still come, if there are enough of them and they can be judged as yet."""
        shut = self._moments(record)[0]
        rows = int(((record.time_s >= shut) & (record.time_s <= until) & ~record.hung()).sum())
        if rows < 2 * assemble.FEWEST or rows == self.rows:
            return
        try:
            found = look(record, replace(self.about, watch_until=until), horizon)
        except InputError:
            return
        self.looked, self.rows = until, rows
        yield found

    def _moments(self, record: Record) -> tuple[float, float, float | None]:
        """When the valves shut, when the watch begins, and when it ends if that is stated; on the record's clock."""
        about = self.about
        if about.isolated_at is None:
            raise InputError(about.file, "isolated_at", "missing", 'when the valves shut: isolated_at = "30 s"')
        shut = assemble.moment(record, about, "isolated_at")
        start = shut if about.watch_from is None else assemble.moment(record, about, "watch_from")
        return shut, start, None if about.watch_until is None else assemble.moment(record, about, "watch_until")


def follow(record: Record, about: About, horizon_s: float | None = None) -> Iterator[Look]:
    """Looks at a recorded hold as if it were still going on, after each new bin, to the first that decides.

    The last look, at the end of the record, comes in any case when none decided before.
    """
    for found in every_look(record, about, horizon_s):
        yield found
        if found.verdict != UNDECIDED:
            return


def every_look(record: Record, about: About, horizon_s: float | None = None) -> Iterator[Look]:
    """The same, going on after a look that decided."""
    return Following(about, horizon_s).more(record, finished=True)


def price(looks: Sequence[Look]) -> Price | None:
    """What following cost against one look planned beforehand; None where following did not decide.

    One look would have decided from the first look on after which the plain 95 % interval always said the same as in
    the end: what it said by chance at one look before counts for nothing.
    """
    last = looks[-1]
    if last.verdict == UNDECIDED:
        return None
    single = last
    for one in reversed(looks):
        if one.single_verdict != last.verdict:
            break
        single = one
    return Price(single.held_s, last.held_s)


def lasting(case: Case, inference: Inference, p_mean: float) -> Interval:
    """The interval of the rate that holds at all looks together, mol/s; that it holds at all is its reserve."""
    assert case.permitted is not None
    per_pascal = mol_per_pascal(case, p_mean)
    middle = fall_interval(inference).middle
    prior_weight, prior_sd = (np.array(column) for column in zip(*LEAKS, strict=True))
    prior = times_lognormal(prior_weight, np.zeros(len(LEAKS)), prior_sd * case.permitted, case.volume_sd)
    low, high = lasting_interval(rate_mixture(case, inference, per_pascal), prior, ALPHA)
    return Interval(low, middle * per_pascal, high)


def _due(start: float, horizon: float | None) -> Iterator[tuple[float, float]]:
    """Hold after which each look comes and hold that is thought of then, s; watch and horizon since the valves shut.

    Bins are a part of the watch thought of. Beyond it both are doubled, so that looks grow rare on an endless hold.
    """
    whole = horizon if horizon is not None and horizon > start else max(UNTOLD, 2.0 * start)
    first, bins = min(FIRST, (whole - start) / 3.0), 1
    while True:
        step = (whole - start) / BINS
        for number in range(bins, BINS + 1):
            if number * step >= first * (1.0 - 1e-9):
                yield start + number * step, whole
        whole, bins = start + 2.0 * (whole - start), BINS // 2 + 1


def _so_far(record: Record, until: float) -> Record:
    """The rows up to a time, as they stood in the file then; of a record with restarts, all."""
    count = int(np.searchsorted(record.time_s, until, side="right"))
    if len(record.segments) > 1 or count >= len(record.time_s) or count < 2:
        return record
    warm = record.temperature_K
    return replace(
        record,
        time_s=record.time_s[:count],
        pressure_Pa=record.pressure_Pa[:count],
        temperature_K=None if warm is None else warm[:count],
        segments=((0, count - 1),),
        flags=tuple(flag for flag in record.flags if flag.last < count),
    )


def _nothing_to_decide(about: About) -> InputError:
    return InputError(about.file, "permitted_leak", "nothing to decide", "gas, capacity and permitted_leak")
