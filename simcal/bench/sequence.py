"""What is done with a device: points, how they are read, and what counts as arrived."""

from dataclasses import dataclass

from simcal.bench.meta import key
from simcal.bench.values import Level, Range


@dataclass(frozen=True)
class Point:
    """One setpoint, in percent of a device's span or as a pressure; exactly one of the two is set."""

    percent: float | None = None
    level: Level | None = None

    def absolute(self, range_: Range, barometer: float) -> float:
        """Absolute pressure, Pa, where percent count of `range_`."""
        if self.level is not None:
            return self.level.absolute(barometer)
        return range_.absolute(range_.low + (self.percent or 0.0) / 100.0 * range_.span, barometer)

    def text(self) -> str:
        """As one would write it: "50 %", "10 bar gauge"."""
        if self.level is None:
            return f"{self.percent:g} %"
        return f"{self.level.value / 1e5:.6g} bar {'gauge' if self.level.gauge else 'abs'}"


@dataclass(frozen=True, kw_only=True)
class Sequence:
    """The points of a run and how each is read."""

    points: tuple[Point, ...] = key("points", 'in order, each "50 %" of the device\'s span or "10 bar gauge"')
    preloads: tuple[Point, ...] = key("points", "gone to beforehand, not read", default=())
    read: str = key(
        "choice",
        "with the controller on, or with the valves shut",
        default="held",
        choices=("held", "isolated"),
    )
    window: float = key(
        "time", "over which one reading is the mean", default="1 s", within="1 ms..3600 s", spread=False
    )
    skew: float = key("time", "device read after the reference", default="0 s", within="-600 s..600 s")
    soak: float = key(
        "time",
        "inside nearness before the valves shut",
        default=0.0,
        derived="one window",
        within="0 s..100000 s",
        spread=False,
    )
    longest: float = key("time", "given to one point", default="1800 s", within="1 s..100000 s", spread=False)
    dwell: float | None = key(
        "time",
        "fixed, from the arrival; absent: until ready",
        default=None,
        within="0 s..100000 s",
        spread=False,
    )
    nearness: float | None = key(
        "pressure_difference",
        "off target; absent: the larger of 1 % of the step and the allowance",
        default=None,
        within="1e-3 Pa..35 MPa",
        spread=False,
    )
    allowance: float | None = key(
        "pressure_difference",
        "error allowed at reading; absent: that of the device",
        default=None,
        within="1e-4 Pa..35 MPa",
        spread=False,
    )
    reference_value: str = key(
        "choice", "what the device is compared with", default="reading", choices=("reading", "setpoint")
    )
    ramp: float | None = key(
        "rate_pressure",
        "rate of the setpoint between points; absent: a step",
        default=None,
        within="1e-3 Pa/s..1e9 Pa/s",
        spread=False,
    )
    device: str = key("text", "the one whose span % means", default="", derived="the only one")
    reference: str = key("text", "the sensor compared with", default="", derived="the controller's")
    wait_for_after_effect: bool = key(
        "flag", "count the devices' own after-effect in error and dwell; else it is reported beside", default=False
    )
    noise: bool = key("flag", "put the sensors' noise into the simulated loop", default=False)
