"""The answer of `cover` as text: a sentence, the sensors, the gaps, crossovers, what one more buys, notes."""

from collections.abc import Sequence

from simcal.analysis.cover.gaps import gaps
from simcal.analysis.cover.result import CoverResult, InstrumentCover, PointCover
from simcal.bench.lab import Lab
from simcal.show import cover_words as cw
from simcal.show import words
from simcal.show.table import Column, aligned
from simcal.show.wrapping import wrapped

MOST_ROWS = 20
"""Rows of one table in the text; all are in the tables of --out."""
FEW_ROWS = 8
"""The same of what one sensor more buys, the best first."""
MEANT = (
    "ratio is tolerance over expanded uncertainty (k=2) of the bench; with device: the instrument's resolution and "
    "repeatability counted too"
)


def cover_text(result: CoverResult, lab: Lab, unicode: bool = False) -> str:
    """The whole answer, ending in one newline."""
    w = cw.Words.of(lab, unicode)
    blocks = [
        wrapped([cw.sentence(result, lab, unicode)], ""),
        ["sensors, with the points they could serve, read, and serve alone:", *_sensors(result, w)],
        _table("gaps:", cw.GAP_HEADS, cw.gap_rows(gaps(result.instruments), w), (0, 3, 5)),
        _table(
            "crossovers, of accuracy, drift, calibration and resolution:",
            cw.CROSS_HEADS,
            cw.cross_rows(result, w),
            (0, 1),
        ),
        _table("one sensor more buys:", cw.MORE_HEADS, cw.more_rows(result, w), (0, 1, 5), FEW_ROWS),
        wrapped(remarks(result, unicode), "- "),
        [closing(result)],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def instrument_text(result: CoverResult, one: InstrumentCover, lab: Lab, unicode: bool = False) -> str:
    """The answer for one instrument."""
    w = cw.Words.of(lab, unicode)
    why: dict[str, list[PointCover]] = {}
    for p in one.points:
        if p.reason:
            why.setdefault(p.reason, []).append(p)
    blocks = [
        wrapped([cw.one_sentence(result, one, lab, unicode)], ""),
        _table("", cw.POINT_HEADS, cw.point_rows(one.points, one.gauge, w), (3,), len(one.points)),
        wrapped([_why(reason, points, w) for reason, points in why.items()], "- "),
        wrapped([f"{MEANT}; risks: {cw.risk_basis(result)}", *_largest(one, w)], "- "),
        [closing(result)],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def remarks(result: CoverResult, unicode: bool = False) -> list[str]:
    """Notes and assumptions, one line each."""
    return [
        f"{MEANT}; risks rest on: {cw.risk_basis(result)}",
        *[words.plain(note, unicode) for note in result.notes],
        *[words.plain(f"assumed {a.key} = {a.value} ({a.why})", unicode) for a in result.assumed],
    ]


def closing(result: CoverResult) -> str:
    """The version, which makes the answer repeatable; nothing is drawn by chance."""
    return f"simcal {result.version}"


def _why(reason: str, points: Sequence[PointCover], w: cw.Words) -> str:
    """Why points are not served, and the acceptance limit that would hold a rule of risk at all of them."""
    numbers = ", ".join(str(p.number) for p in points)
    said = f"point{'s' if len(points) > 1 else ''} {numbers}: {words.plain(reason, w.unicode)}"
    limits = [p.limit_for_risk_Pa for p in points if p.limit_for_risk_Pa is not None]
    if len(limits) < len(points):
        return said
    least = words.in_units(min(limits), words.DIFFERENCES, w.unicode)
    return f"{said}; with readings accepted up to {least} the rule would hold"


def _largest(one: InstrumentCover, w: cw.Words) -> list[str]:
    """What the uncertainty at the worst point is made of."""
    told = [p for p in one.points if p.ratio is not None and p.uncertainty_Pa]
    if not told:
        return []
    worst = min(told, key=lambda p: p.ratio or 0.0)
    parts = sorted(worst.uncertainty_Pa.items(), key=lambda part: -part[1])
    shown = [f"{name} {words.in_units(size, words.DIFFERENCES, w.unicode)}" for name, size in parts if size > 0.0]
    return [f"standard uncertainties at point {worst.number}, the one of the least ratio: {', '.join(shown)}"]


def _sensors(result: CoverResult, w: cw.Words) -> list[str]:
    return _table("", cw.SENSOR_HEADS, cw.sensor_rows(result, w, every=False), (0, 1, 2))


def _table(
    title: str, heads: Sequence[str], rows: Sequence[Sequence[str]], left: Sequence[int], most: int = MOST_ROWS
) -> list[str]:
    if not rows:
        return []
    more = [f"({len(rows) - most} more rows in the tables of --out)"] if len(rows) > most else []
    columns = [Column(head, left=i in left) for i, head in enumerate(heads)]
    return [*([title] if title else []), *aligned(columns, rows[:most]), *more]
