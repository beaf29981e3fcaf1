"""What is said about a record: the about-file that lies beside it."""

# ruff: noqa: RUF009 - key() makes a dataclass field, as dataclasses.field() does

from dataclasses import dataclass, field

from simcal.bench.bench import GASES
from simcal.bench.meta import key
from simcal.bench.parts import MATERIALS
from simcal.bench.values import Assumed, Level, Moment, Spread

SCHEMA = "simcal/about/1"
AMOUNT, PRESSURE_RATE = "amount", "pressure rate"
TIME_UNITS = (
    "s",
    "ms",
    "us",
    "min",
    "h",
    "d",
    "hh:mm:ss",
    "hh:mm",
    "mm:ss",
    "unix s",
    "unix ms",
    "unix us",
    "spreadsheet day",
)
ENCODINGS = (
    "utf-8", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "cp1252", "latin-1", "iso8859-15", "cp1250", "cp1251",
    "cp437", "cp850", "mac-roman", "shift_jis", "gb18030", "big5", "euc-kr",
)  # fmt: skip


@dataclass(frozen=True)
class PermittedLeak:
    """A leak limit as stated: mol/s where `form` is "amount", Pa/s where it is "pressure rate"; `unit` as written."""

    value: float
    form: str
    unit: str


@dataclass(frozen=True, kw_only=True)
class HoldWall:
    """What holds the gas, as far as it is known."""

    material: str | None = key("choice", "of the body", default=None, choices=MATERIALS)
    shape: str | None = key("choice", "of the hollow", default=None, choices=("cylinder", "sphere", "slab"))
    bore: float | None = key("length", "inner diameter; of a slab its gap", default=None, within="0.1 mm..2 m")
    thickness: float | None = key("length", "of the metal", default=None, within="0.05 mm..200 mm")
    film: float | None = key("film", "gas to wall, fixed", default=None, within="0.01 W/(m2 K)..100000 W/(m2 K)")
    outside: float | None = key("film", "wall to room", default=None, within="0.01 W/(m2 K)..10000 W/(m2 K)")


@dataclass(frozen=True, kw_only=True)
class HoldSensor:
    """What read the pressure."""

    noise: float | None = key(
        "pressure_difference",
        "standard deviation of one reading",
        default=None,
        within="0 Pa..1 MPa",
        spread=False,
    )
    resolution: float | None = key(
        "pressure_difference", "smallest step it shows", default=None, within="0 Pa..1 MPa", spread=False
    )
    drift: float | None = key(
        "rate_pressure", "size of its drift, sign unknown", default=None, within="0 Pa/h..1 MPa/h", signless=True
    )
    zero_shift: float | None = key(
        "zero_shift",
        "size of its zero's shift with temperature, sign unknown",
        default=None,
        within="0 Pa/K..100 kPa/K",
        signless=True,
    )


@dataclass(frozen=True, kw_only=True)
class HoldRoom:
    """The air about the bench while it was recorded."""

    temperature: float | None = key("temperature", "mean temperature", default=None, within="250 K..330 K")
    drift: float | None = key(
        "rate_temperature",
        "size of a steady drift of unknown sign",
        default=None,
        within="0 K/h..20 K/h",
        signless=True,
    )
    ramp: float | None = key("rate_temperature", "a known drift, with its sign", default=None, within="-20 K/h..20 K/h")
    cycle: float | None = key(
        "temperature_difference", "amplitude of a regular swing", default=None, within="0 K..10 K"
    )
    cycle_period: float | None = key("time", "period of that swing", default=None, within="10 s..100000 s")


@dataclass(frozen=True, kw_only=True)
class Thermometer:
    """What the temperature of the record is of."""

    column: str | int | None = key("column", "the column it stands in", default=None)
    of: str | None = key("choice", "what it touches", default=None, choices=("gas", "wall", "room", "sensor"))
    lag: float | None = key("time", "behind what it touches", default=None, within="0 s..36000 s")
    accuracy: float | None = key(
        "temperature_difference", "size of its error, sign unknown", default=None, within="0 K..20 K", signless=True
    )


@dataclass(frozen=True, kw_only=True)
class Columns:
    """Which column holds what; by header text, or by number from 1."""

    time: str | int | None = key("column", "time, or time of day beside a date", default=None)
    date: str | int | None = key("column", "date, where it stands apart", default=None)
    pressure: str | int | None = key("column", "pressure; with channel its name there", default=None)
    temperature: str | int | None = key("column", "temperature; with channel its name there", default=None)
    channel: str | int | None = key("column", "names of channels, where each row holds one", default=None)
    value: str | int | None = key("column", "their values", default=None)
    unit: str | None = key("unit", "of the pressure", default=None, choices=("pressure_difference",))
    temperature_unit: str | None = key("unit", "of the temperature", default=None, choices=("temperature_difference",))
    time_unit: str | None = key("choice", "of the time", default=None, choices=TIME_UNITS)


@dataclass(frozen=True, kw_only=True)
class FileForm:
    """How the file is written; lines are counted from 1."""

    encoding: str | None = key("choice", "of its text", default=None, choices=ENCODINGS)
    separator: str | None = key("choice", "between columns", default=None, choices=(",", ";", "tab", "|", "blank"))
    decimal: str | None = key("choice", "mark in a number", default=None, choices=(".", ","))
    thousands: str | None = key(
        "choice", "mark between groups of three digits", default=None, choices=(".", ",", "'", "blank", "none")
    )
    date_order: str | None = key(
        "choice", "day, month and year as written", default=None, choices=("dmy", "mdy", "ymd")
    )
    zone: str | None = key("zone", 'of its clock, "+01:00" or "Europe/Berlin"', default=None)
    header_row: int | None = key("integer", "line of the column names", default=None, within="1..1000000")
    first_row: int | None = key("integer", "first line with values", default=None, within="1..1000000000")
    last_row: int | None = key("integer", "last line with values", default=None, within="1..1000000000")


@dataclass(frozen=True, kw_only=True)
class ShopCriterion:
    """What the shop would have decided, shown beside the verdict."""

    wait: float | None = key("time", "after isolation, not counted", default=None, within="0 s..1000000 s")
    watch: float | None = key("time", "that counts", default=None, within="0.1 s..10000000 s")
    allowed_drop: float | None = key(
        "pressure_difference", "over the watch", default=None, within="0 Pa..35 MPa", spread=False
    )
    allowed_rise: float | None = key(
        "pressure_difference", "over the watch", default=None, within="0 Pa..35 MPa", spread=False
    )


@dataclass(frozen=True, kw_only=True)
class About:
    """A checked about-file; what it leaves out is None. `spreads` holds the spread of a value under its key.

    A key of a size whose sign is unknown ("sensor.drift") is 0.0 where stated, and its size lies in `spreads`.
    """

    schema: str | None = key("choice", "what this file is", default=None, choices=(SCHEMA,))
    gas: str | None = key("choice", "the gas; needed for a rate", default=None, choices=GASES)
    capacity: float | None = key(
        "volume", "everything between the closed valves; needed for a rate", default=None, within="0.01 mL..2 m3"
    )
    reading: str | None = key(
        "choice", "what the pressure is above; never guessed, needed to judge", default=None,
        choices=("gauge", "absolute"),
    )  # fmt: skip
    barometer: float | None = key("pressure", "absolute pressure of the room", default=None, within="30 kPa..120 kPa")
    barometer_drift: float | None = key(
        "rate_pressure",
        "size of the barometer's drift, sign unknown",
        default=None,
        within="0 Pa/h..2 kPa/h",
        signless=True,
    )
    permitted_leak: PermittedLeak | None = key(
        "leak",
        "largest leak allowed, like 2e-7 mol/s, 1e-4 Pa m3/s, 0.2 sccm(0 degC) or 50 Pa/min; needed for a verdict",
        default=None,
    )
    limit_at: Level | None = key("level", "pressure that limit was stated for", default=None)
    limit_law: str | None = key(
        "choice",
        "how the limit goes with pressure",
        default=None,
        choices=("hole", "laminar", "molecular", "none"),
    )
    isolated_at: Moment | None = key(
        "moment",
        "when the valves shut, like 30 s on the record's time or 14:03:20 on its clock; needed to judge",
        default=None,
    )
    watch_from: Moment | None = key("moment", "where the watch begins", default=None)
    watch_until: Moment | None = key("moment", "where the watch ends", default=None)
    came_from: Level | None = key("level", "pressure before the move to the test pressure", default=None)
    moved_in: float | None = key("time", "of that move", default=None, within="0 s..1000000 s")
    soak: float | None = key("time", "with the controller on at pressure", default=None, within="0 s..10000000 s")
    supply: Level | str | None = key("level", "behind the inlet", default=None, choices=("vented",))
    outlet: Level | str | None = key("level", "behind the outlet", default=None, choices=("room",))
    port: str | None = key("choice", "what is on the port", default=None, choices=("device", "plugged", "vented"))
    rating: Level | None = key(
        "level", "lowest rated pressure of all parts; no next action goes above it", default=None
    )
    hold_set: str | None = key("text", "records of one set may be judged together", default=None)
    wall: HoldWall | None = key("table", "what holds the gas", default=None, of=HoldWall)
    sensor: HoldSensor | None = key("table", "what read the pressure", default=None, of=HoldSensor)
    room: HoldRoom | None = key("table", "the air about the bench", default=None, of=HoldRoom)
    temperature: Thermometer | None = key("table", "what the temperature is of", default=None, of=Thermometer)
    columns: Columns | None = key("table", "which column holds what", default=None, of=Columns)
    form: FileForm | None = key("table", "how the record is written", default=None, of=FileForm, name="file")
    criterion: ShopCriterion | None = key("table", "what the shop would have decided", default=None, of=ShopCriterion)
    file: str = ""
    spreads: dict[str, Spread] = field(default_factory=dict)
    assumed: tuple[Assumed, ...] = ()
    texts: dict[str, str] = field(default_factory=dict)
    hashes: dict[str, str] = field(default_factory=dict)
