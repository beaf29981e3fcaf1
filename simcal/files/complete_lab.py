"""What one key of a LAB file means for another; see `complete`."""

from typing import Any

from simcal.bench.gauges import Figure
from simcal.bench.lab import BANDS, CALIBRATION, DRIFT, RULES, Air
from simcal.bench.sequence import Point
from simcal.bench.values import Range
from simcal.files.context import Context
from simcal.units import pressure_text

Values = dict[str, Any]

FINEST = 0.006
"""Share of span up to which a tolerance gets the many points."""
MANY, FEW = 11, 6
"""Points from 0 to 100 %, evenly spread: EN 837-1 asks for 10 or more up to class 0.6 and 5 or more above (as a gauge
test instruction cites it); EURAMET cg-17, 5.2.1 for 6."""
_SLACK = 1e-9


def complete_air(values: Values, _place: str, context: Context) -> None:
    """The barometer and temperature that later keys refer to."""
    context.barometer = values.get("barometer", Air.barometer)
    context.room_temperature = values.get("temperature", Air.temperature)


def complete_rule(values: Values, place: str, context: Context) -> None:
    """Exactly one rule."""
    stated = [name for name in RULES if name in values]
    if not stated:
        context.report.add(place, "states no rule", 'ratio = 4, consumer_risk = "2 %" or guard_band = "100 %"')
    elif len(stated) > 1:
        context.report.add(f"{place}.{stated[1]}", f"{' and '.join(stated)} are given", "one of them")
    elif "zone" in values and not any(name in values for name in BANDS):
        context.report.add(f"{place}.zone", "a zone belongs to a guard band", 'guard_band = "100 %", or leave it out')


def complete_instrument(values: Values, place: str, context: Context) -> None:
    """The tolerance of a class, the points, and whether they can be calibrated at all."""
    if "tolerance" in values and "class_" in values:
        context.report.add(f"{place}.class", "tolerance and class are both given", "one of them")
        return
    if "class_" in values:
        values["tolerance"] = Figure(span=float(values["class_"]) / 100.0)
    if "tolerance" not in values:
        context.report.add(f"{place}.tolerance", "missing", 'tolerance = { span = "0.1 %" }, or class = "1"')
        return
    tolerance: Figure = values["tolerance"]
    if not values.get("points"):
        number = MANY if tolerance.span + tolerance.reading <= FINEST * (1.0 + _SLACK) else FEW
        values["points"] = tuple(Point(percent=round(100.0 * i / (number - 1), 12)) for i in range(number))
    range_: Range = values["range"]
    for number, point in enumerate(values["points"], start=1):
        _check_point(number, point, tolerance, range_, place, context)


def _check_point(number: int, point: Point, tolerance: Figure, range_: Range, place: str, context: Context) -> None:
    stated = range_.stated(point.absolute(range_, context.barometer), context.barometer)
    slack = _SLACK * range_.span
    if not range_.low - slack <= stated <= range_.high + slack:
        right = f"{pressure_text(range_.low)} to {pressure_text(range_.high)} {'gauge' if range_.gauge else 'abs'}"
        context.report.add(f"{place}.points", f"point {number}, {point.text()}, is outside the range", right)
    elif tolerance.error_at(stated, range_) <= 0.0 and not (range_.gauge and abs(stated) <= slack):
        found = f"no error is allowed at point {number}, {point.text()}"
        context.report.add(f"{place}.tolerance", found, 'a floor, tolerance = { reading = "0.1 %", floor = "10 %" }')


def complete_reference(values: Values, place: str, context: Context) -> None:
    """A price unless it is owned; nothing counted twice."""
    if not values.get("owned") and "cost" not in values:
        context.report.add(f"{place}.cost", "missing", "what it costs, cost = 4200, or owned = true")
    contains = values["accuracy"].contains if "accuracy" in values else ()
    for name in (DRIFT, CALIBRATION):
        if name in values and holds(contains, name):
            found = f"the accuracy contains {name}, and {name} is given"
            context.report.add(f"{place}.{name}", found, "one of them, else it counts twice")


def holds(contains: tuple[str, ...], name: str) -> bool:
    """Whether what an accuracy figure is said to contain names `name`."""
    return any(name in one.lower() for one in contains)
