"""What reads the pressure: accuracy figures, reference sensors, devices under test."""

# ruff: noqa: RUF009 - key() makes a dataclass field, as dataclasses.field() does

from dataclasses import dataclass

from simcal.bench.meta import key
from simcal.bench.values import Level, Portion, Range

MEANINGS = ("k=2", "k=1", "limits")


@dataclass(frozen=True, kw_only=True)
class Figure:
    """A size in parts of a range: a share of span, a share of reading with a floor, or both added."""

    span: float = key("share", "of the span", default="0 %", within="0 %..100 %", spread=False)
    reading: float = key("share", "of the reading", default="0 %", within="0 %..100 %", spread=False)
    floor: float = key(
        "share",
        "point of the span below which the error no longer shrinks",
        default="0 %",
        within="0 %..100 %",
        spread=False,
    )

    def error_at(self, stated: float, range_: Range) -> float:
        """The figure in Pa, as stated, at a reading of `stated` Pa: span + reading x max(p, floor x span)."""
        return self.span * range_.span + self.reading * max(abs(stated), self.floor * range_.span)


@dataclass(frozen=True, kw_only=True)
class Accuracy(Figure):
    """An accuracy figure: what it is and what it contains."""

    is_: str = key("choice", "what the figure is", choices=MEANINGS, name="is")
    contains: tuple[str, ...] = key("names", "what it covers, in words", default=())


@dataclass(frozen=True, kw_only=True)
class Gauge:
    """What a reference sensor and a device have in common."""

    at: str = key("node", "the volume it reads")
    range: Range = key(
        "range",
        'its range: full_scale = "20 bar gauge" (from 0), or range = "-1..5 bar gauge"',
        name="full_scale",
        other="range",
    )
    accuracy: Accuracy | None = key("table", "its accuracy figure", default=None, of=Accuracy)
    lag: float = key(
        "time",
        "of the reading behind the pressure",
        default="10 ms",
        within="0 s..600 s",
        why="a common electronic gauge",
    )
    noise: float = key(
        "pressure_difference",
        "standard deviation of one reading",
        default="0 Pa",
        within="0 Pa..1 MPa",
        spread=False,
    )
    resolution: float = key(
        "pressure_difference", "smallest step it shows", default="0 Pa", within="0 Pa..1 MPa", spread=False
    )
    drift: float = key(
        "rate_pressure",
        "size of its drift, sign unknown",
        default="0 Pa/h",
        within="0 Pa/h..1 MPa/h",
        signless=True,
    )
    zero_shift: float = key(
        "zero_shift",
        "size of its zero's shift with temperature, sign unknown",
        default="0 Pa/K",
        within="0 Pa/K..100 kPa/K",
        signless=True,
    )
    step_shift: float = key("share", "shift after a step, in % of the step", default="0 %", within="0 %..5 %")
    step_recovery: float = key(
        "time", "time constant with which that shift goes", default="60 s", within="0.01 s..100000 s"
    )
    height: float = key("length", "above the volume it reads", default="0 m", within="-100 m..100 m")


@dataclass(frozen=True, kw_only=True)
class Sensor(Gauge):
    """A reference sensor."""


@dataclass(frozen=True, kw_only=True)
class Device(Gauge):
    """A device under test, with the limits of what may be done to it."""

    highest: Level | None = key("level", "highest pressure it may see", default=None)
    highest_rate: float | None = key(
        "rate_pressure",
        "highest rate of change it may see",
        default=None,
        within="1e-3 Pa/s..1e9 Pa/s",
        spread=False,
    )
    overshoot: Portion | None = key(
        "portion",
        "limit of overshoot against the run's direction, Pa or % of span",
        default=None,
        within="0 Pa..35 MPa",
    )
    after_effect: float = key("share", "elastic after-effect, in % of the step", default="0 %", within="0 %..5 %")
    after_time: float = key("time", "its time constant", default="60 s", within="0.01 s..100000 s")
    allowance: float | None = key(
        "pressure_difference",
        "error allowed at reading; absent: a tenth of the accuracy",
        default=None,
        within="1e-4 Pa..35 MPa",
        spread=False,
    )

    def allowance_at(self, stated: float) -> float:
        """Error allowed at a reading of `stated` Pa: as given, else a tenth of the accuracy figure, Pa."""
        if self.allowance is not None:
            return self.allowance
        return 0.1 * self.accuracy.error_at(stated, self.range) if self.accuracy is not None else 0.0
