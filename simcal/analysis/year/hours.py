"""The week of a laboratory: which hours are staffed, and how work that takes so long lies in them.

Times are seconds; 0 is 0:00 on a Monday. Work that is not done at the close goes on when it opens again.
"""

from dataclasses import dataclass
from functools import cached_property

DAY = 86400.0
WEEK = 7.0 * DAY
DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_INSTANT = 1e-6
"""s; work that ends as close to an opening ended at the close before it"""


@dataclass(frozen=True)
class Hours:
    """Staffed from `opens` to `closes`, s of a day, on `days` (0 is Monday), in rising order."""

    opens: float = 0.0
    closes: float = DAY
    days: tuple[int, ...] = (0, 1, 2, 3, 4, 5, 6)

    @cached_property
    def always(self) -> bool:
        """Whether there is no break."""
        return self.day_s >= DAY and len(self.days) == len(DAYS)

    @cached_property
    def day_s(self) -> float:
        """Staffed seconds of a staffed day."""
        return self.closes - self.opens

    @cached_property
    def week_s(self) -> float:
        """Staffed seconds of a week."""
        return self.day_s * len(self.days)

    @cached_property
    def _before(self) -> tuple[float, ...]:
        """Staffed seconds of a week before each of its days, and of all: rounding may reach the end of a week."""
        return tuple(self.day_s * sum(one < day for one in self.days) for day in range(len(DAYS) + 1))

    def staffed(self, t: float) -> float:
        """Staffed seconds from 0 to t; negative before 0."""
        if self.always:
            return t
        weeks, rest = divmod(t, WEEK)
        day, clock = divmod(rest, DAY)
        number = int(day)
        inside = min(max(clock, self.opens), self.closes) - self.opens if number in self.days else 0.0
        return weeks * self.week_s + self._before[number] + inside

    def after(self, t: float, work: float) -> float:
        """When `work` >= 0 seconds of work begun at t are done; with none, t itself."""
        if work <= 0.0:
            return t
        if self.always:
            return t + work
        weeks, rest = divmod(self.staffed(t) + work, self.week_s)
        number, inside = divmod(rest, self.day_s)
        if inside < _INSTANT:
            number, inside = number - 1.0, self.day_s
            if number < 0.0:
                weeks, number = weeks - 1.0, len(self.days) - 1.0
        return max(t, weeks * WEEK + self.days[int(number)] * DAY + self.opens + inside)

    def opening(self, t: float) -> float:
        """The first staffed moment from t on."""
        if self.always:
            return t
        weeks, rest = divmod(t, WEEK)
        day, clock = divmod(rest, DAY)
        if int(day) in self.days and clock < self.closes:
            return t if clock >= self.opens else weeks * WEEK + day * DAY + self.opens
        later = [one for one in self.days if one > int(day)]
        first = later[0] * DAY if later else WEEK + self.days[0] * DAY
        return weeks * WEEK + first + self.opens
