"""What acts on a hold from around it: hands on bodies, surfaces that give off gas, a thermometer on a wall."""

from dataclasses import dataclass

from simcal.bench.meta import key


@dataclass(frozen=True, kw_only=True)
class Touch:
    """A hand laid on a body during a hold; `settle` knows no hands."""

    at: str = key("node", "the volume that is touched, in a hold; settle leaves touches out")
    after: float = key("time", "from shutting the valves", within="0 s..100000 s")
    lasts: float = key("time", "how long the hand stays", default="5 s", within="0.1 s..3600 s")
    power: float = key("heat_flow", "heat that the body takes up", default="5 W", within="-1000 W..1000 W")


@dataclass(frozen=True, kw_only=True)
class Outgassing:
    """Gas that the inner surface gives off at low pressure, fading as 1/t."""

    at: str = key("node", "the volume whose surface it is")
    rate: float = key(
        "flow_amount", "gas given off when a run begins; it fades in holds only", within="0 mol/s..1e-3 mol/s"
    )
    age: float = key(
        "time",
        "time under low pressure until then; the rate falls as age / (age + t)",
        default="1 h",
        within="1 s..10000000 s",
        why="an hour of pumping",
    )


@dataclass(frozen=True, kw_only=True)
class Thermometer:
    """A thermometer on a body, whose reading a record holds beside the pressure."""

    at: str = key("node", "the volume on whose wall it sits; for the records of holds")
    lag: float = key("time", "behind the wall", default="20 s", within="0 s..3600 s", why="stuck on from outside")
    accuracy: float = key(
        "temperature_difference",
        "size of its error, sign unknown",
        default="0.3 K",
        within="0 K..10 K",
        why="an ordinary sensor",
        spread=False,
    )
    noise: float = key(
        "temperature_difference", "standard deviation of one reading", default="0 K", within="0 K..10 K", spread=False
    )
    resolution: float = key(
        "temperature_difference", "smallest step it shows", default="0 K", within="0 K..10 K", spread=False
    )
