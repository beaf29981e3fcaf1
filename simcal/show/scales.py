"""The units of one answer, chosen once: how levels, differences, rates and times are written."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from simcal.analysis.settle.result import SettleResult
from simcal.bench.bench import Bench
from simcal.show import words
from simcal.show.level_units import level_decimals, level_unit, unit_in

SMALL_KPA_FROM = 1.0e4
"""Allowances from here on are written in kPa, Pa: a choice of ours for short columns."""


@dataclass(frozen=True)
class Setting:
    """What a reader must know of the bench beside the result. Pressures absolute, Pa."""

    gas: str = ""
    room_Pa: float = 101325.0
    gauge: bool = False  # levels are written as gauge
    unit: str | None = None  # the unit the user writes levels in; None: by size

    @classmethod
    def of(cls, bench: Bench, device: str) -> "Setting":
        """The setting of a bench, with levels written as the named device reads them."""
        named = bench.devices.get(device) or next(iter(bench.devices.values()), None)
        return cls(
            gas=bench.gas,
            room_Pa=bench.room.barometer,
            gauge=bool(named is not None and named.range.gauge),
            unit=unit_in(bench.texts),
        )

    @classmethod
    def of_document(cls, document: Mapping[str, Any]) -> "Setting":
        """The setting that a document of an answer was made with."""
        texts = {name: given["text"] for name, given in document["inputs"].items()}
        return cls(
            gas=document["gas"] or "",
            room_Pa=document["barometer_Pa"],
            gauge=document["levels"] == "gauge",
            unit=unit_in(texts),
        )


@dataclass(frozen=True)
class Scales:
    """Factors and names of the units of one answer; see `scales`."""

    marks: words.Marks
    unit: str
    zero_Pa: float
    reference: str  # "gauge" or "abs"
    decimals: int
    small_unit: str
    small_decimals: int
    time_decimals: int
    rate: tuple[float, str]
    amount: tuple[float, str]

    @property
    def level_unit(self) -> str:
        """Name of the unit of a pressure level, such as "bar gauge"."""
        return f"{self.unit} {self.reference}"

    def number(self, level_Pa: float) -> float:
        """An absolute level in the unit and from the zero of this answer."""
        return (level_Pa - self.zero_Pa) / words.PRESSURE_UNITS[self.unit]

    def level(self, level_Pa: float | None) -> str:
        """A level without its unit."""
        return words.NONE if level_Pa is None else words.fixed(self.number(level_Pa), self.decimals)

    def level_named(self, level_Pa: float) -> str:
        """A level with its unit and reference."""
        return f"{self.level(level_Pa)} {self.level_unit}"

    def small_number(self, difference_Pa: float) -> float:
        """A difference in the answer's small unit."""
        return difference_Pa / words.PRESSURE_UNITS[self.small_unit]

    def small(self, difference_Pa: float | None) -> str:
        """A difference without its unit."""
        if difference_Pa is None:
            return words.NONE
        return words.fixed(self.small_number(difference_Pa), self.small_decimals)

    def small_named(self, difference_Pa: float | None) -> str:
        """A difference with its unit."""
        return f"{self.small(difference_Pa)} {self.small_unit}"

    def time(self, seconds: float | None) -> str:
        """A time rounded up to this answer's decimals, without its unit."""
        return words.fixed(words.rounded_up(seconds, self.time_decimals), self.time_decimals)

    def time_named(self, seconds: float | None) -> str:
        """A time with its unit, rounded up."""
        return f"{self.time(seconds)} s"

    def micro(self, unit: str) -> str:
        """A unit's name with the micro sign where the stream has it."""
        return words.with_micro(unit, self.marks.unicode)

    def name(self, text: object, longest: int | None = None) -> str:
        """A user's word as this answer may print it."""
        return words.plain(text, self.marks.unicode, longest)


def scales(result: SettleResult, setting: Setting, unicode: bool = True) -> Scales:
    """The units for one answer of `settle`."""
    zero = setting.room_Pa if setting.gauge else 0.0
    points = result.points
    unit = level_unit([p.target_Pa - zero for p in points], setting.unit)
    factor = words.PRESSURE_UNITS[unit]
    allowances = [d.allowance_Pa for p in points for d in p.devices.values()] or [p.allowance_Pa for p in points]
    small = "kPa" if max(allowances, default=0.0) >= SMALL_KPA_FROM else "Pa"
    least = min((a for a in allowances if a > 0.0), default=1.0) / words.PRESSURE_UNITS[small]
    return Scales(
        marks=words.marks(unicode),
        unit=unit,
        zero_Pa=zero,
        reference="gauge" if setting.gauge else "abs",
        decimals=level_decimals([(p.target_Pa - zero) / factor for p in points]),
        small_unit=small,
        small_decimals=min(words.decimals_for(least), 4),
        time_decimals=words.time_decimals(t for p in points for t in (p.ready_s, p.arrival_s, p.dwell_high_s)),
        rate=(factor, f"{unit}/s"),
        amount=words.scale(max((abs(p.make_up_mol_per_s or 0.0) for p in points), default=1.0), words.AMOUNTS),
    )
