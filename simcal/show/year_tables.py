"""Tables of `year` as CSV: SI, unit at the end of the heading."""

from dataclasses import asdict

from simcal.analysis.year.result import Estimate, YearResult
from simcal.show.rows import csv_bytes
from simcal.show.year_words import by_job

ESTIMATE = ("mean", "low", "high", "year_low", "year_high")


def year_tables(result: YearResult, kinds: list[str]) -> dict[str, bytes]:
    """File name -> content; kinds: names of the kinds of instrument by their number."""
    numbers = {**result.numbers, **{f"time: {k}": v for k, v in result.spent.items()}}
    numbers |= {f"cost: {k}": v for k, v in result.cost.items()}
    ranges = [
        [one.low_Pa, one.high_Pa, one.gauge, "; ".join(one.kinds), one.count, *_cells(one.hours), *_cells(one.calendar)]
        for one in result.ranges
    ]
    compared = ("uptime", "more", "late_share", "exceeded", "cost")
    variants = [
        [one.label, *[cell for name in compared for cell in _cells(getattr(one, name))], "; ".join(map(str, one.dates))]
        for one in result.variants
    ]
    names = [one.name for one in result.sensors]
    exposed = [
        [
            names[one.trip.sensor], one.trip.since, one.trip.back, one.trip.size, one.job.number,
            kinds[one.job.kind], one.job.arrival, one.point.number, one.error_Pa, one.margin_Pa, one.exceeds,
        ]
        for one in by_job(result.shown.exposures.points)
    ]  # fmt: skip
    return {
        "numbers.csv": csv_bytes(["name", *ESTIMATE], [[name, *_cells(one)] for name, one in numbers.items()]),
        "ranges.csv": csv_bytes(
            ["low_Pa", "high_Pa", "gauge", "kinds", "count", *_heads("hours"), *_heads("calendar")], ranges
        ),
        "variants.csv": csv_bytes(["label", *[h for name in compared for h in _heads(name)], "dates"], variants),
        "sensors.csv": csv_bytes(
            ["name", "first_due_s", "interval_s", "batch"], [list(asdict(one).values()) for one in result.sensors]
        ),
        "exposed.csv": csv_bytes(
            ["sensor", "since_s", "back_s", "error_over_limit", "job", "kind", "arrival_s", "point", "error_Pa",
             "margin_Pa", "beyond_margin"],
            exposed,
        ),
        "events.csv": csv_bytes(
            ["row", "start_s", "end_s", "what"], [[m.row, m.start, m.end, m.what] for m in result.shown.marks]
        ),
        "assumed.csv": csv_bytes(["key", "value", "why"], [[a.key, a.value, a.why] for a in result.assumed]),
    }  # fmt: skip


def _cells(one: Estimate) -> list[float | None]:
    return [getattr(one, name) for name in ESTIMATE]


def _heads(name: str) -> list[str]:
    return [name if end == "mean" else f"{name}_{end}" for end in ESTIMATE]
