"""A laboratory: what comes to be calibrated, which reference sensors there are, and by which rule they must serve.

One file for every question about a laboratory; `cover` asks which sensors serve the work.
"""

# ruff: noqa: RUF009 - key() makes a dataclass field, as dataclasses.field() does

from dataclasses import dataclass, field

from simcal.bench.bench import GASES, Bench
from simcal.bench.gauges import Accuracy, Figure
from simcal.bench.meta import key
from simcal.bench.sequence import Point
from simcal.bench.values import Assumed, Portion, Range, Spread
from simcal.bench.year import Year

SCHEMA = "simcal/lab/1"
CLASSES = ("0.1", "0.25", "0.6", "1", "1.6", "2.5", "4")
"""Accuracy classes of EN 837-1:1996, table 11: the limit of error in % of the span."""
DRIFT, CALIBRATION = "drift", "calibration"
"""Words in `contains` of a sensor's accuracy that keep its own drift and calibration from being counted twice."""
BENCH, WITH_DEVICE = "bench", "with device"
TRUE, OBSERVED = "true", "observed"
CORRECTED, UNCORRECTED = "corrected", "not corrected"
RULES = ("ratio", "consumer_risk", "guard_band", "specific_risk")
BANDS = ("guard_band", "specific_risk")
"""Rules that accept inside the tolerance only."""
HEIGHT_KNOWN = 0.01
"""m; standard deviation of a height difference where nobody states one: levels set by eye"""

_RANGE = 'its range: full_scale = "6 bar gauge" (from 0), or range = "-1..5 bar gauge"'


@dataclass(frozen=True, kw_only=True)
class Instrument:
    """Instruments of one kind that come to be calibrated."""

    range: Range = key("range", _RANGE, name="full_scale", other="range")
    tolerance: Figure | None = key("table", "limits of its error; or a class", default=None, of=Figure)
    class_: str | None = key("choice", "of EN 837-1, % of span", default=None, choices=CLASSES, name="class")
    resolution: Portion = key(
        "portion", "smallest step it shows, Pa or % of span", default=Portion(0.0), derived="0 Pa"
    )
    repeatability: Portion = key(
        "portion", "standard deviation of one reading of it, Pa or % of span", default=Portion(0.0), derived="0 Pa"
    )
    points: tuple[Point, ...] = key(
        "points", "in order; in a table with | between them", default=(), derived="0 to 100 %, 11 or 6 points by class"
    )
    count: float = key("number", "calibrations a year", default=1.0, within="0..1000000")
    bench: str = key("text", "the [bench.NAME] it goes to", default="", derived="the first that reaches its points")
    source: str = ""

    def limit_at(self, stated: float) -> float:
        """Limit of its error, Pa, at a reading of `stated` Pa in its own reference."""
        assert self.tolerance is not None
        return self.tolerance.error_at(stated, self.range)


@dataclass(frozen=True, kw_only=True)
class Reference:
    """A reference sensor, owned or to be had."""

    range: Range = key("range", _RANGE, name="full_scale", other="range")
    accuracy: Accuracy = key(
        "table", 'its accuracy figure; contains = ["drift", "calibration"] says what need not be added', of=Accuracy
    )
    drift: Accuracy | None = key("table", "its change until the next calibration", default=None, of=Accuracy)
    calibration: Accuracy | None = key("table", "uncertainty of its own calibration", default=None, of=Accuracy)
    resolution: Portion = key(
        "portion", "smallest step it shows, Pa or % of span", default=Portion(0.0), derived="0 Pa"
    )
    cost: float | None = key("number", "to buy it; needed unless it is owned", default=None, within="0..1e12")
    owned: bool = key("flag", "whether it is there already", default=False)
    pieces: int = key("integer", "how many of it there are, for `year`", default=1, within="1..100")
    interval: float = key("time", "between two calibrations", default="365 d", within="7 d..10000 d", spread=False)
    calibrated: float | None = key("time", "before the year begins, its last calibration", default=None,
                                   within="0 d..10000 d", spread=False,
                                   derived="dates evenly spread")  # fmt: skip
    batch: str = key("text", "sensors of one batch leave and come back together", default="", derived="alone")
    source: str = ""

    @property
    def price(self) -> float:
        """What it still costs: nothing when owned."""
        return 0.0 if self.owned else self.cost or 0.0


@dataclass(frozen=True, kw_only=True)
class LabBench:
    """A bench of the laboratory."""

    file: str = key("text", "its bench file, beside this one")
    sequence: str = key("text", "the sequence whose way of reading is used", default="", derived="the only one")
    bench: Bench | None = None


@dataclass(frozen=True, kw_only=True)
class Air:
    """The air about the benches."""

    barometer: float = key(
        "pressure",
        "absolute pressure; +- how well it is known while reading, needed where gauge meets absolute",
        default="1013.25 hPa abs",
        within="30 kPa..120 kPa",
    )
    temperature: float = key("temperature", "of the gas in the lines", default="20 degC", within="250 K..330 K")


@dataclass(frozen=True, kw_only=True)
class Rule:
    """When a sensor serves a point: one of ratio, consumer_risk, guard_band and specific_risk."""

    ratio: float | None = key("ratio", "least tolerance over expanded uncertainty (k=2)", default=None,
                              within="0.1..1000", spread=False)  # fmt: skip
    consumer_risk: float | None = key("share", "largest share of all that is out of tolerance and accepted",
                                      default=None, within="10 ppm..50 %", spread=False)  # fmt: skip
    guard_band: float | None = key("ratio", "acceptance limits inside the tolerance by this share of U",
                                   default=None, within="0..10", spread=False)  # fmt: skip
    specific_risk: float | None = key("share", "guard band: any accepted reading is out with this chance at most",
                                      default=None, within="10 ppm..50 %", spread=False)  # fmt: skip
    zone: float = key("share", "what a guard band must leave of the tolerance", default="50 %",
                      within="1 %..100 %", spread=False, why="half of it; our choice, no source")  # fmt: skip
    uncertainty: str = key(
        "choice", "whether the device's own share counts", default=BENCH, choices=(BENCH, WITH_DEVICE)
    )

    @property
    def kind(self) -> str:
        """Which of them it is: the key's name."""
        return next(name for name in RULES if getattr(self, name) is not None)


@dataclass(frozen=True, kw_only=True)
class Prior:
    """What is known of the instruments before they are measured."""

    in_tolerance: float = key("share", "how many come in tolerance", within="1 %..99.9999 %", spread=False)
    of: str = key("choice", "a share of true or of measured (observed) errors", choices=(TRUE, OBSERVED))


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """What stands between sensor and instrument."""

    height: float = key("length", "device above the sensor; +- how well that is known", default="0 mm",
                        within="-100 m..100 m")  # fmt: skip
    head: str = key("choice", "whether the gas column is corrected", default=CORRECTED,
                    choices=(CORRECTED, UNCORRECTED))  # fmt: skip
    line: Portion | None = key("portion", "limit of the pressure difference along the line, Pa or % of reading",
                               default=None, derived="0 Pa")  # fmt: skip
    dwell: Portion = key("portion", "limit of what the dwell leaves, Pa or % of tolerance, where no bench's run says",
                         default=Portion(fraction=0.1), derived="10 %")  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Lab:
    """A checked LAB file with its tables; `spreads` holds the spread of a value under its key, "room.barometer"."""

    schema: str = key("choice", "what this file is", choices=(SCHEMA,))
    name: str = key("text", "shown in answers", default="", derived="the file's name")
    gas: str = key("choice", "in the lines", choices=GASES)
    room: Air = key("table", "the air about the benches", default=Air(), of=Air)
    places: int = key("integer", "reference sensors that the bench takes at once", within="1..1000")
    switch: float = key("time", "from one sensor to another", default="60 s", within="0 s..100000 s", spread=False,
                        why="a valve, a zero and a look; common practice, no source")  # fmt: skip
    budget: float | None = key("number", "to spend on sensors; absent: what covers all", default=None,
                               within="0..1e12")  # fmt: skip
    currency: str = key("text", "of every cost", default="")
    vent: bool = key("flag", "0 gauge is served by venting", default=True)
    workload: str = key("text", "CSV table of instruments, a row each", default="")
    candidates: str = key("text", "CSV table of sensors, a row each", default="")
    rule: Rule = key("table", "when a sensor serves a point", of=Rule)
    prior: Prior | None = key("table", "share of instruments in tolerance; absent: the worst case", default=None,
                              of=Prior)  # fmt: skip
    comparison: Comparison = key("table", "between sensor and instrument", default=Comparison(), of=Comparison)
    benches: dict[str, LabBench] = key("tables", "its benches", default={}, of=LabBench, name="bench")
    instruments: dict[str, Instrument] = key("tables", "what comes to be calibrated", default={}, of=Instrument,
                                             name="instrument")  # fmt: skip
    sensors: dict[str, Reference] = key("tables", "reference sensors", default={}, of=Reference, name="sensor")
    year: Year | None = key("table", "for `simcal year`: hours, work, absences, failures, costs", default=None, of=Year)
    file: str = ""
    spreads: dict[str, Spread] = field(default_factory=dict)
    assumed: tuple[Assumed, ...] = ()
    texts: dict[str, str] = field(default_factory=dict)
    hashes: dict[str, str] = field(default_factory=dict)

    def spread(self, dotted: str) -> float:
        """Standard deviation of a value by its key, 0 where none was stated."""
        found = self.spreads.get(dotted)
        return 0.0 if found is None else found.sd
