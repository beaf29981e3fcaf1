"""What is summed up of a simulated year: only what lies within the counted time [begin, end]."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

from simcal.analysis.year.hours import Hours
from simcal.analysis.year.shop import Job

State = tuple[int, bool]
"""Usable sensors that are there, as bits; whether a bench is up"""


@dataclass(slots=True)
class Trip:
    """One absence of a sensor, told when it comes back into use."""

    sensor: int
    left: float
    back: float
    since: float  # its calibration before this one
    size: float  # as-found error over its stated limit
    zero: bool  # came back with a shifted zero
    seen: bool  # which was seen


@dataclass(slots=True)
class Mark:
    """What a bench or a sensor did for a time, for the chart of a year."""

    row: str
    start: float
    end: float
    what: str


@dataclass
class Tally:
    """Sums of one replication; times are seconds."""

    hours: Hours
    begin: float
    end: float
    spent: dict[str, float] = field(default_factory=lambda: defaultdict(float))  # staffed time of benches by what
    staffed_in: dict[State, float] = field(default_factory=lambda: defaultdict(float))
    calendar_in: dict[State, float] = field(default_factory=lambda: defaultdict(float))
    area: float = 0.0  # of jobs in the laboratory over time
    inside: int = 0
    trips: list[Trip] = field(default_factory=list)
    started: dict[int, float] = field(default_factory=dict)  # job -> when
    ended: dict[int, float] = field(default_factory=dict)
    sensors_of: dict[int, int] = field(default_factory=dict)  # job -> sensors on its bench
    refused: dict[int, float] = field(default_factory=dict)
    taken_back: dict[int, float] = field(default_factory=dict)
    could_start: dict[int, bool] = field(default_factory=dict)
    leaky: set[int] = field(default_factory=set)  # jobs run while the bench leaked unnoticed
    exchanges: int = 0
    calibrations: int = 0
    marks: list[Mark] | None = None
    queue: list[tuple[float, int]] = field(default_factory=list)
    changes: list[tuple[float, State]] = field(default_factory=list)
    _state: State = (0, True)
    _state_since: float = 0.0
    _inside_since: float = 0.0

    def clip(self, t: float) -> float:
        """A time moved into the counted ones."""
        return min(max(t, self.begin), self.end)

    def counted(self, t: float) -> bool:
        """Whether a moment counts."""
        return self.begin <= t < self.end

    def work(self, parts: Sequence[tuple[str, float]], start: float, end: float) -> None:
        """Staffed time of a bench between two moments, which went into parts by their sizes."""
        a, b = self.clip(start), self.clip(end)
        if b > a:
            share = (self.hours.staffed(b) - self.hours.staffed(a)) / sum(size for _, size in parts)
            for what, size in parts:
                self.spent[what] += size * share

    def state(self, now: float, state: State) -> None:
        """The equipment is in that state from now on."""
        a, b = self.clip(self._state_since), self.clip(now)
        if b > a:
            self.staffed_in[self._state] += self.hours.staffed(b) - self.hours.staffed(a)
            self.calendar_in[self._state] += b - a
        if state != self._state or not self.changes:
            self.changes.append((now, state))
        self._state, self._state_since = state, now

    def came(self, now: float, more: int) -> None:
        """So many jobs more in the laboratory."""
        self.area += self.inside * (self.clip(now) - self.clip(self._inside_since))
        self.inside, self._inside_since = self.inside + more, now

    def mark(self, row: str, start: float, end: float, what: str) -> None:
        """Remember it for the chart, when there will be one."""
        if self.marks is not None:
            self.marks.append(Mark(row, start, end, what))

    def close(self) -> None:
        """At the end of the counted time."""
        self.state(self.end, self._state)
        self.came(self.end, 0)

    def sojourns(self, jobs: list[Job]) -> float:
        """Time that jobs spent in the laboratory, job by job: by Little's law the same as `area`."""
        whole = 0.0
        for job in jobs:
            if job.arrival < self.end and job.number not in self.refused:
                left = self.ended.get(job.number, self.taken_back.get(job.number, self.end))
                whole += self.clip(left) - self.clip(job.arrival)
        return whole
