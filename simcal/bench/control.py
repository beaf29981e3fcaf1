"""The controller of a bench: gains, a tuning rule, or a behaviour known from outside."""

# ruff: noqa: RUF009 - key() makes a dataclass field, as dataclasses.field() does

import math
from dataclasses import dataclass

from simcal.bench.meta import key
from simcal.bench.values import Portion


@dataclass(frozen=True, kw_only=True)
class Gains:
    """Of a sampled PID whose output runs from -1 (outlet open) to 1 (inlet open)."""

    kp: float = key("number", "output per error, the error as a share of the sensor's span", within="1e-6..1e7")
    ti: float = key("time", "integral time", default=math.inf, derived="no integral action", within="1e-4 s..100000 s")
    td: float = key("time", "derivative time, on the measurement", default="0 s", within="0 s..1000 s")
    filter: float = key(
        "time",
        "time constant of the derivative's filter",
        default=0.0,
        derived="td / 8",
        within="0 s..1000 s",
    )
    track: float = key("time", "anti-windup tracking time", default=math.inf, derived="ti", within="1e-4 s..100000 s")


@dataclass(frozen=True, kw_only=True)
class Behaviour:
    """A controller of which only the approach is known."""

    rate: float = key("rate_pressure", "rate of change on the way", within="1e-3 Pa/s..1e9 Pa/s")
    overshoot: Portion = key(
        "portion",
        "beyond the setpoint, Pa or % of the step",
        default=Portion(pascal=0.0),
        derived="0 Pa",
        within="0 Pa..35 MPa",
    )
    settled_in: float = key(
        "time", "from the end of the way, step / rate, until inside the ripple", within="0 s..10000 s"
    )
    ripple: float = key(
        "pressure_difference", "half the width of the band it stays in", default="0 Pa", within="0 Pa..1 MPa"
    )
    loop_time: float = key(
        "time",
        "time constant of its corrections",
        default="1 s",
        within="0.1 ms..1000 s",
        why="a common pressure controller",
    )


@dataclass(frozen=True, kw_only=True)
class Controller:
    """What drives the inlet and the outlet; exactly one of tuning, gains and behaviour is set."""

    reads: str = key("text", "the sensor it sees")
    period: float = key(
        "time",
        "between its samples",
        default="10 ms",
        within="0.1 ms..60 s",
        why="a common sampling period",
        spread=False,
    )
    tuning: str | None = key(
        "choice",
        "published rule by which its gains are found: simc calm, ziegler-nichols (PI, or with -pid) quick and ringing",
        default=None,
        choices=("simc", "ziegler-nichols", "ziegler-nichols-pid"),
    )
    gains: Gains | None = key("table", "its gains", default=None, of=Gains)
    behaviour: Behaviour | None = key("table", "what is known of it from outside", default=None, of=Behaviour)
    ramp: float | None = key(
        "rate_pressure",
        "rate of its setpoint; absent: a step",
        default=None,
        within="1e-3 Pa/s..1e9 Pa/s",
        spread=False,
    )
    setpoint_weight: float | None = key(
        "ratio",
        "weight of the setpoint in the proportional part; default 1, or the tuning rule's",
        default=None,
        within="0..1",
        spread=False,
    )
