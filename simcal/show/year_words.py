"""What the text, the page and the tables of `year` say alike: units, the sentence, rows."""

from collections.abc import Sequence

from simcal.analysis.year.exposure import Exposed
from simcal.analysis.year.hours import DAY
from simcal.analysis.year.result import Estimate, YearResult
from simcal.bench.lab import Lab
from simcal.show import words
from simcal.show.cover_words import Words

NUMBERS = (
    ("uptime", "jobs that could start when they came", "%"),
    ("hours", "staffed time in which jobs could start", "%"),
    ("calendar", "all time in which jobs could start", "%"),
    ("utilisation", "staffed time in which benches work", "%"),
    ("jobs", "jobs that came", ""),
    ("done", "jobs done", ""),
    ("lost", "jobs refused or taken back", ""),
    ("late", "jobs late", ""),
    ("late_share", "late, of those promised", "%"),
    ("wait_s", "wait for a bench, mean", "s"),
    ("wait_90_s", "wait that one in ten exceeds", "s"),
    ("in_house", "jobs in the laboratory", ""),
    ("exchanges", "sensors put in or taken out", ""),
    ("calibrations", "calibrations of sensors", ""),
    ("found_out", "sensors found out of tolerance", ""),
    ("touched", "jobs read with one of those", ""),
    ("exceeded", "of these, error beyond the margin", ""),
    ("leaky", "jobs done on a leaking bench", ""),
    ("zero_unseen", "zeros shifted and not seen", ""),
)
"""Name, words, and how it is written; counts are those of a year."""
HEADS = ("a year", "mean", "95 % interval", "nine years of ten")
RANGE_HEADS = ("range", "jobs a year", "staffed time", "95 % interval", "nine years of ten", "calendar")
VARIANT_HEADS = ("instead", "uptime", "more", "95 % interval", "late", "beyond margin", "cost a year")
EXPOSED_HEADS = ("sensor", "back on day", "error / limit", "jobs", "points", "jobs beyond margin")


def percent(share: float) -> str:
    """A share in %, one decimal; two where it is close to an end."""
    value = 100.0 * share
    return f"{words.fixed(value, 2 if min(abs(value), abs(100.0 - value)) < 1.0 and 0.0 < value < 100.0 else 1)} %"


def written(value: float | None, kind: str) -> str:
    """A number in the way of its kind."""
    if value is None:
        return words.NONE
    if kind == "%":
        return percent(value)
    return words.duration(max(value, 0.0)) if kind == "s" else words.figures(value)


def interval(one: Estimate, kind: str, least: float | None = 0.0) -> str:
    """The interval of the mean; a count or share does not reach below 0."""
    low = one.low if least is None else max(one.low, least)
    high = min(one.high, 1.0) if kind == "%" and least is not None else one.high
    return f"{written(low, kind)} to {written(high, kind)}"


def spread(one: Estimate, kind: str) -> str:
    """The band of a year."""
    if one.year_low is None or one.year_high is None:
        return words.NONE
    return f"{written(one.year_low, kind)} to {written(one.year_high, kind)}"


def sentence(result: YearResult, lab: Lab, unicode: bool = False) -> str:
    """The answer in one sentence."""
    w = Words.of(lab, unicode)
    up, numbers = result.numbers["uptime"], result.numbers
    benches = words.counted(lab.year.benches if lab.year else 1, "bench", "benches")
    band = "" if up.year_low is None else f"; nine years of ten: {spread(up, '%')}"
    aim = {True: "met", False: "missed", None: "not decided by these replications"}[result.met]
    target = "" if result.target is None else f"; the target of {percent(result.target)} is {aim}"
    return (
        f"{w.name(result.lab, 60)}: uptime {percent(up.mean)} (95 % interval {interval(up, '%')}{band}) with "
        f"{words.counted(len(result.sensors), 'sensor')} on {benches}, {words.figures(numbers['jobs'].mean)} jobs a "
        f"year{target}; {percent(numbers['late_share'].mean)} late, {words.figures(numbers['lost'].mean)} jobs a year "
        f"refused or taken back{_best(result, w)}"
    )


def _best(result: YearResult, w: Words) -> str:
    """What the best of the other ways brings."""
    if not result.variants:
        return ""
    best = max(result.variants, key=lambda one: one.uptime.mean)
    return f"; {w.name(best.label, 60)}: {_points(best.more.mean)} of uptime ({more(best.more)})"


def _points(share: float) -> str:
    return f"{100.0 * share:+.1f} percentage points"


def more(one: Estimate) -> str:
    """The interval of a difference of two uptimes, in percentage points."""
    return f"{100.0 * one.low:+.1f} to {100.0 * one.high:+.1f}"


def number_rows(result: YearResult) -> list[list[str]]:
    """Cells of the numbers of a year."""
    return [
        [label, written(one.mean, kind), interval(one, kind), spread(one, kind)]
        for name, label, kind in NUMBERS
        for one in (result.numbers[name],)
    ]


def range_rows(result: YearResult, w: Words) -> list[list[str]]:
    """Cells of the ranges."""
    return [
        [
            w.span(one.low_Pa, one.high_Pa, one.gauge),
            words.figures(one.count),
            percent(one.hours.mean),
            interval(one.hours, "%"),
            spread(one.hours, "%"),
            percent(one.calendar.mean),
        ]
        for one in result.ranges
    ]


def time_rows(result: YearResult) -> list[list[str]]:
    """Cells of where staffed time goes."""
    return [[what, percent(one.mean), interval(one, "%")] for what, one in result.spent.items() if one.high > 0.0]


def cost_rows(result: YearResult, w: Words) -> list[list[str]]:
    """Cells of the costs; nothing where none is stated."""
    if result.cost["together"].high <= 0.0:
        return []
    return [
        [what, w.money(round(one.mean)), f"{w.money(round(max(one.low, 0.0)))} to {w.money(round(one.high))}"]
        for what, one in result.cost.items()
        if one.high > 0.0
    ]


def variant_rows(result: YearResult, w: Words) -> list[list[str]]:
    """Cells of the other ways."""
    return [
        [
            w.name(one.label, 60),
            percent(one.uptime.mean),
            f"{100.0 * one.more.mean:+.1f}",
            more(one.more),
            percent(one.late_share.mean),
            words.figures(one.exceeded.mean),
            w.money(round(one.cost.mean)),
        ]
        for one in result.variants
    ]


def dates(result: YearResult, w: Words) -> list[str]:
    """The dates of a plan that was found, in words."""
    found = []
    for one in result.variants:
        if one.dates:
            shortest = min(sensor.interval_s for sensor in result.sensors)
            days: dict[int, list[str]] = {}
            for sensor, part in zip(result.sensors, one.dates, strict=True):
                days.setdefault(round(part * shortest / DAY), []).append(w.name(sensor.name))
            told = "; ".join(f"day {day}: {', '.join(names)}" for day, names in sorted(days.items()))
            found.append(f"{one.label}, days of the interval of {shortest / DAY:.0f} d: {told}")
    return found


def exposed_rows(result: YearResult, w: Words) -> list[list[str]]:
    """Cells of the sensors found out of tolerance in the first replication."""
    found = result.shown.exposures
    rows = []
    for trip in found.events:
        points = [one for one in found.points if one.trip is trip]
        beyond = len({one.job.number for one in points if one.exceeds})
        rows.append([
            w.name(result.sensors[trip.sensor].name), f"{trip.back / DAY:.0f}", f"{trip.size:+.2f}",
            str(len({one.job.number for one in points})), str(len(points)), str(beyond),
        ])  # fmt: skip
    return rows


def by_job(points: Sequence[Exposed]) -> list[Exposed]:
    """Points in the order of their jobs and numbers."""
    return sorted(points, key=lambda one: (one.job.number, one.point.number))
