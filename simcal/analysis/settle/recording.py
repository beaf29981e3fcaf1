"""What has been recorded of one point so far: samples from the command on, growing chunk by chunk."""

import numpy as np
from numpy.typing import NDArray

from simcal.engine.simulate import Command, State, System, Trace, advance

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class Recording:
    """Samples of one point with checkpoints, so that a state at any recorded sample can be had again.

    pressure [k, n], gauge [k, g], drive [k]: row k at k periods after the command.
    """

    def __init__(self, system: System) -> None:
        self._system = system
        self._pieces: list[tuple[Floats, Floats, Floats]] = []
        self._joined: tuple[Floats, Floats, Floats] | None = None
        self._marks: list[tuple[int, State, Command]] = []
        self._between: list[tuple[Ints, Floats, Floats, Floats]] = []
        self.count = 0
        self.reason: str | None = None

    def add(self, state: State, command: Command, samples: int) -> State:
        """Advance from `state`, which stands at the end of what is recorded, and record it; the state after it."""
        self._marks.append((self.count, state, command))
        after, trace = advance(self._system, state, command, samples)
        self._take(trace)
        return after

    def _take(self, trace: Trace) -> None:
        drive = trace.drive
        if self._marks[-1][2].mode != 0:
            drive = np.full_like(drive, np.nan)
        self._pieces.append((trace.pressure_Pa, trace.gauge_Pa, drive))
        self._joined = None
        rows = self.count + trace.stepped
        self._between.append((rows, trace.highest_Pa, trace.lowest_Pa, trace.fastest_Pa_per_s))
        self.count += trace.drive.shape[0]
        self.reason = self.reason or trace.reason

    def cut(self, count: int) -> State:
        """Forget everything from sample `count` on; the state there."""
        state = self.state_at(count)
        kept = tuple(a[:count] for a in self._all())
        self._pieces, self._joined, self.count = [(kept[0], kept[1], kept[2])], None, count
        self._marks = [m for m in self._marks if m[0] < count]
        self._between = [tuple(a[rows[0] < count] for a in rows) for rows in self._between]  # type: ignore[misc]
        return state

    def until(self, count: int) -> "Recording":
        """The first `count` samples as a recording of their own, to go on from there otherwise."""
        own = Recording(self._system)
        pressure, gauge, drive = (a[:count] for a in self._all())
        own._pieces, own.count, own._marks = [(pressure, gauge, drive)], count, list(self._marks)
        return own

    def state_at(self, count: int) -> State:
        """The state `count` periods after the command, run again from the last checkpoint before it."""
        place, state, command = next(m for m in reversed(self._marks) if m[0] <= count)
        if count == place:
            return state
        return advance(self._system, state, command, count - place)[0]

    def _all(self) -> tuple[Floats, Floats, Floats]:
        if self._joined is None:
            pieces = self._pieces
            if len(pieces) > 1:
                pieces = [(_join(pieces, 0), _join(pieces, 1), _join(pieces, 2))]
                self._pieces = pieces
            self._joined = pieces[0]
        return self._joined

    def between(self, end: int) -> tuple[Floats, Floats, Floats]:
        """Highest, lowest [m, n] Pa abs and fastest [m, n] Pa/s between samples before `end`, where steps were made."""
        kept = [[a[rows[0] < end] for a in rows[1:]] for rows in self._between]
        none = np.empty((0, self._system.sizes.nodes))
        highest, lowest, fastest = (np.concatenate([none, *(k[i] for k in kept)]) for i in range(3))
        return highest, lowest, fastest

    @property
    def pressure(self) -> Floats:
        """True pressures of the volumes [k, n], Pa abs."""
        return self._all()[0]

    @property
    def gauge(self) -> Floats:
        """Readings behind their lags [k, g], Pa abs."""
        return self._all()[1]

    @property
    def drive(self) -> Floats:
        """The controller's drive [k], NaN while it does not control."""
        return self._all()[2]


def _join(pieces: list[tuple[Floats, Floats, Floats]], which: int) -> Floats:
    return np.concatenate([p[which] for p in pieces])
