"""What one key of a LAB's year means for another."""

from typing import Any

from simcal.bench.year import WEEKDAYS, Staff
from simcal.files.context import Context
from simcal.files.faults import did_you_mean

Values = dict[str, Any]

WEEK, MONTHS = 7, 12


def complete_staff(values: Values, place: str, context: Context) -> None:
    """Days of a week, each once, and a close after the opening."""
    days = values.get("days", WEEKDAYS[:5])
    for one in days:
        if one not in WEEKDAYS:
            context.report.add(f"{place}.days", f'"{one}" is no day', did_you_mean(one, WEEKDAYS))
    if not days or len(set(days)) < len(days):
        context.report.add(f"{place}.days", "none, or one twice", '["Mon", "Tue", "Wed", "Thu", "Fri"]')
    if values.get("closes", Staff.closes) <= values.get("opens", Staff.opens):
        context.report.add(f"{place}.closes", "is not after the opening", 'opens = "8 h", closes = "16 h"')


def complete_work(values: Values, place: str, context: Context) -> None:
    """So many weights as there are days and months."""
    for name, count in (("week", WEEK), ("season", MONTHS)):
        if name in values and len(values[name]) != count:
            context.report.add(f"{place}.{name}", f"{len(values[name])} weights", f"{count}")


def complete_spell(values: Values, place: str, context: Context) -> None:
    """What one in ten exceeds is not below the median."""
    if values["late"] < values["usual"]:
        context.report.add(f"{place}.late", "is shorter than the usual time", "a time that one in ten exceeds")


def complete_exchange(values: Values, place: str, context: Context) -> None:
    """Seals that leak: a share, or a seal with its limit."""
    if "bad" in values and "file" in values:
        context.report.add(f"{place}.file", "bad and file are both given", "one of them")
    if "file" in values and "permitted_leak" not in values:
        right = 'what a tight seal may leak, permitted_leak = "1e-9 mol/s"'
        context.report.add(f"{place}.permitted_leak", "missing", right)
    for name in ("seal", "habit", "permitted_leak"):
        if name in values and "file" not in values:
            context.report.add(f"{place}.{name}", "says nothing without a file", "file, or leave it out")
