"""The pneumatic parts of a bench: room, walls, volumes, lines, valves, supply, exhaust, leaks."""

# ruff: noqa: RUF009 - key() makes a dataclass field, as dataclasses.field() does

from dataclasses import dataclass

from simcal.bench.meta import key

BOUNDARIES = ("supply", "exhaust", "room")
"""Names that stand in `between` for what is outside the network."""
REGULATOR, SERVO, SURFACE = "regulator", "servo", "outgassing"
"""Names of what the network adds: the volume behind a drooping supply, the ideal source of a known controller, the
boundary from which surfaces give off gas."""
MATERIALS = ("steel", "stainless", "aluminium", "brass", "copper", "titanium", "plastic", "glass")


@dataclass(frozen=True, kw_only=True)
class Room:
    """The air about the bench."""

    temperature: float = key(
        "temperature",
        "mean temperature",
        default="20 degC",
        within="250 K..330 K",
        why="an ordinary measuring room",
    )
    barometer: float = key(
        "pressure",
        "absolute pressure of the room",
        default="101325 Pa abs",
        within="30 kPa..120 kPa",
        why="standard atmosphere",
    )
    drift: float = key(
        "rate_temperature",
        "size of a steady drift of unknown sign",
        default="0 K/h",
        within="0 K/h..20 K/h",
        signless=True,
    )
    ramp: float = key("rate_temperature", "a known drift, with its sign", default="0 K/h", within="-20 K/h..20 K/h")
    cycle: float = key("temperature_difference", "amplitude of a regular swing", default="0 K", within="0 K..10 K")
    cycle_period: float = key("time", "period of that swing", default="1200 s", within="10 s..100000 s")
    barometer_drift: float = key(
        "rate_pressure",
        "size of the barometer's drift, sign unknown",
        default="0 Pa/h",
        within="0 Pa/h..2 kPa/h",
        signless=True,
    )


@dataclass(frozen=True, kw_only=True)
class Wall:
    """What holds the gas: its shape sets the surface, its metal the heat that is kept."""

    material: str = key("choice", "of the body", default="steel", choices=MATERIALS, why="the usual body of a bench")
    shape: str = key(
        "choice",
        "of the hollow",
        default="cylinder",
        choices=("cylinder", "sphere", "slab"),
        why="the usual hollow",
    )
    bore: float = key(
        "length",
        "inner diameter; of a slab its gap",
        within="0.1 mm..2 m",
        default=0.0,
        derived="from the capacity",
        why="from the capacity and a usual shape",
    )
    thickness: float = key("length", "of the metal", default="3 mm", within="0.05 mm..200 mm", why="a small vessel")
    film: float | None = key(
        "film",
        "gas to wall, fixed",
        default=None,
        derived="published correlations",
        why="published correlations",
        within="0.01 W/(m2 K)..100000 W/(m2 K)",
    )
    outside: float | None = key(
        "film",
        "wall to room",
        default=None,
        derived="still air and radiation",
        why="published correlations",
        within="0.01 W/(m2 K)..10000 W/(m2 K)",
    )
    film_factor: float = key(
        "ratio",
        "factor on the gas film; its default spread is a factor of two (95 %)",
        default="1",
        within="0.01..100",
    )
    warmer: float = key(
        "temperature_difference",
        "by how much the body is warmer than the room when a run begins",
        default="0 K",
        within="-50 K..50 K",
    )


@dataclass(frozen=True, kw_only=True)
class Volume:
    """A vessel, manifold or port: one gas temperature, one wall."""

    capacity: float = key(
        "volume",
        "of the gas",
        default=0.0,
        derived="from the wall's bore and the length",
        why="from the wall's bore and the length",
        within="0.01 mL..2 m3",
    )
    length: float | None = key(
        "length",
        "of a cylinder; needed only where the capacity is unknown",
        default=None,
        within="0.1 mm..100 m",
    )
    wall: Wall = key(
        "table", "absent: a steel cylinder of two bores' length, with a wide spread", default=None, of=Wall
    )
    height: float = key("length", "above the bench's own level", default="0 m", within="-100 m..100 m")
    stretch: float = key(
        "compliance",
        "relative growth of the capacity per pressure (hose)",
        default="0 1/Pa",
        within="0 1/Pa..1e-6 1/Pa",
    )
    creep: float = key("compliance", "further growth that comes late", default="0 1/Pa", within="0 1/Pa..1e-6 1/Pa")
    creep_time: float = key("time", "time constant of that growth", default="300 s", within="1 s..1000000 s")


@dataclass(frozen=True, kw_only=True)
class Line:
    """A tube between two volumes."""

    between: tuple[str, str] = key("between", "the two volumes it joins")
    bore: float = key("length", "inner diameter", within="0.01 mm..200 mm")
    length: float = key("length", "of the tube", within="1 mm..1000 m")
    roughness: float = key("length", "of the inner wall", default="1.5 um", within="0 um..1 mm", why="drawn tube")
    cells: int = key(
        "integer",
        "parts with a gas state of their own; 0 gives half the gas to each end",
        default=1,
        within="0..64",
    )
    thickness: float = key("length", "of the tube's wall", default="1 mm", within="0.05 mm..50 mm", why="a common tube")
    material: str = key("choice", "of the tube", default="stainless", choices=MATERIALS, why="a common tube")


@dataclass(frozen=True, kw_only=True)
class Valve:
    """A valve or restriction; `inlet` and `outlet` are driven by the controller, `vent` opens to the room."""

    between: tuple[str, str] = key(
        "between", 'two volumes, or a volume and "supply", "exhaust" or "room"', choices=BOUNDARIES
    )
    conductance: float | None = key(
        "conductance_iso",
        "sonic conductance C of ISO 6358, stated for air",
        default=None,
        within="1e-16 m3/(s Pa)..1e-3 m3/(s Pa)",
    )
    kv: float | None = key(
        "kv",
        "flow coefficient Kv of IEC 60534, instead of conductance",
        default=None,
        within="1e-8 m3/h..1000 m3/h",
    )
    critical_ratio: float = key(
        "ratio",
        "critical pressure ratio b of ISO 6358",
        default="0.3",
        within="0..0.6",
        why="a common valve",
    )
    terminal_ratio: float = key(
        "ratio", "xT of IEC 60534, with kv", default="0.7", within="0.1..1", why="a common globe valve"
    )
    lag: float = key(
        "time",
        "of the opening behind its command",
        default="5 ms",
        within="0 s..60 s",
        why="a fast small valve",
    )
    dead_band: float = key("share", "share of the drive that does not open it", default="0 %", within="0 %..90 %")
    seat: float = key(
        "flow_amount",
        "leak through the shut seat, both ways",
        default="0 mol/s",
        within="0 mol/s..1e-2 mol/s",
    )
    seat_at: float = key(
        "pressure",
        "upstream pressure of that figure, against the room",
        default=0.0,
        derived="the supply's",
        why="the supply's pressure",
        within="1 kPa..35 MPa",
    )
    levels: int = key("integer", "steps of a quantised drive; 0 is continuous", default=0, within="0..1048576")
    drive: str = key("choice", "how it opens", default="proportional", choices=("proportional", "pulsed"))
    min_pulse: float = key("time", "shortest pulse of a pulsed valve", default="0 s", within="0 s..10 s")
    open: bool = key("flag", "of an isolation valve", default=True)


@dataclass(frozen=True, kw_only=True)
class Supply:
    """Regulated gas, from a cylinder or a main."""

    pressure: float = key("pressure", "behind the regulator, at no flow", within="1 kPa..35 MPa")
    temperature: float = key("temperature", "of the gas", default=0.0, derived="the room's", within="250 K..330 K")
    droop: float = key(
        "pressure_difference",
        "fall of that pressure at the flow droop_at",
        default="0 Pa",
        within="0 Pa..35 MPa",
    )
    droop_at: float | None = key("mass_flow", "the flow of droop", default=None, within="1e-9 kg/s..100 kg/s")


@dataclass(frozen=True, kw_only=True)
class Exhaust:
    """Where the outlet leads: the room, or a pump."""

    pressure: float = key(
        "pressure",
        "the room's, or the floor of a pump",
        default=0.0,
        derived="the room's",
        why="leads to the room",
        within="1 Pa..35 MPa",
    )


@dataclass(frozen=True, kw_only=True)
class Leak:
    """A plain leak at a volume."""

    at: str = key("node", "the volume that leaks")
    to: str = key("node", 'where the gas goes: "room", or another volume', default="room", choices=("room",))
    rate: float | None = key(
        "leak_rate",
        "gas per time at rate_at against the room: amount, grams of the gas, or fall of pressure in rate_in",
        default=None,
        within="0 mol/s..1 mol/s",
    )
    rate_in: float | None = key(
        "volume", "all that lost pressure, where the rate is a fall of it", default=None, within="0.01 mL..2 m3"
    )
    rate_at: float | None = key("pressure", "the pressure of that rate", default=None, within="1 kPa..35 MPa")
    diameter: float | None = key("length", "of a hole, instead of rate", default=None, within="0.01 um..5 mm")
    law: str = key(
        "choice",
        "how the rate goes with pressure",
        default="hole",
        choices=("hole", "laminar", "molecular", "seat", "permeation"),
        why="the usual law of a fitting",
    )
    lag: float | None = key(
        "time",
        "of permeation behind the pressure, thickness^2/(6 diffusivity); or state diffusivity",
        default=None,
        within="1 s..1e8 s",
    )
    permeability: float | None = key(
        "permeability",
        "of the wall that permeation goes through, instead of rate",
        default=None,
        within="0 mol/(m s Pa)..1e-9 mol/(m s Pa)",
    )
    diffusivity: float | None = key(
        "diffusivity", "of the gas in that wall, instead of lag", default=None, within="1e-15 m2/s..1e-6 m2/s"
    )
    area: float | None = key("area", "of that wall", default=None, within="0.01 mm2..10 m2")
    thickness: float | None = key("length", "of that wall", default=None, within="1 um..100 mm")
