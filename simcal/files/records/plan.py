"""What the reader decided before it reads all rows."""

from dataclasses import dataclass, field

from simcal.bench.values import Assumed
from simcal.files.records.cell import Form
from simcal.files.records.layout import Layout
from simcal.files.records.words import Unit

SECONDS = {
    "s": 1.0, "ms": 1e-3, "us": 1e-6, "min": 60.0, "h": 3600.0, "d": 86400.0, "unix s": 1.0, "unix ms": 1e-3,
    "unix us": 1e-6, "spreadsheet day": 86400.0,
}  # fmt: skip
"""Units of a time in plain numbers; the last four count a clock."""
CLOCKS = ("unix s", "unix ms", "unix us", "spreadsheet day")
NUMBERS = "numbers"
"""Kind of a time column that holds plain numbers; the others are those of `clock`."""


@dataclass(frozen=True)
class LongForm:
    """One row a channel: column of the channel's name, of the unit (None: none), and the names that count."""

    channel: int
    unit: int | None
    pressure: str
    temperature: str | None


@dataclass(frozen=True)
class Plan:
    """Which column is read as what; columns are counted from 0.

    `time` are the columns joined to one time, `time_kind` how they are read, `time_unit` the unit (or the
    form of an elapsed time). `unit` is that of the pressure, None where each cell or row has its own.
    """

    layout: Layout
    time: tuple[int, ...]
    time_kind: str
    time_unit: str
    pressure: int
    unit: Unit | None
    temperature: int | None
    temperature_unit: Unit | None
    forms: dict[int, Form]
    long: LongForm | None = None
    assumed: tuple[Assumed, ...] = ()
    notes: tuple[str, ...] = ()
    shown: dict[str, str] = field(default_factory=dict)

    @property
    def seconds(self) -> float:
        """Seconds in one unit of a time in plain numbers."""
        return SECONDS[self.time_unit]

    @property
    def needed(self) -> tuple[int, ...]:
        """Every column that is read, from left to right."""
        columns = {*self.time, self.pressure}
        if self.temperature is not None:
            columns.add(self.temperature)
        if self.long is not None:
            columns.add(self.long.channel)
            if self.long.unit is not None:
                columns.add(self.long.unit)
        return tuple(sorted(columns))
