"""The page of `cover`: sensors, gaps, crossovers, what one more buys; every instrument and its points below."""

from collections.abc import Mapping, Sequence
from typing import Any

from simcal.analysis.cover.gaps import gaps
from simcal.analysis.cover.result import CoverResult, InstrumentCover
from simcal.bench.lab import Lab
from simcal.show import cover_words as cw
from simcal.show import sheet, words
from simcal.show.cautions import ESTIMATE
from simcal.show.cover_text import closing, remarks
from simcal.show.drawing import Drawing

ARGUMENTS = {"lab": "LAB file", "instrument": "instrument", "set": "changed with --set"}
MOST_DETAILS = 30
"""Instruments whose points are on the page; points.csv holds all."""


def cover_page(
    result: CoverResult,
    lab: Lab,
    document: Mapping[str, Any],
    shown: Sequence[InstrumentCover],
    drawings: Sequence[Drawing],
    svgs: Mapping[str, bytes],
) -> bytes:
    """The whole answer as one HTML page; document: its JSON."""
    w = cw.Words.of(lab, unicode=True)
    one = shown[0] if document["instrument"] is not None else None
    title = f"Sensors for {words.plain(result.lab, longest=80)}"
    content = sheet.Content(
        title=title if one is None else f"{title}: {words.plain(one.name, longest=60)}",
        warnings=[],
        sentence=cw.sentence(result, lab, True) if one is None else cw.one_sentence(result, one, lab, True),
        good=document["good"],
        tables=_tables(result, w) if one is None else [_points(one, w)],
        details=_details(result, shown, w) if one is None else [],
        remarks=remarks(result, unicode=True),
        cautions=[ESTIMATE],
        arguments=sheet.asked(document["arguments"], ARGUMENTS),
        closing=closing(result),
    )
    return sheet.made(content, document["inputs"], drawings, svgs)


def _tables(result: CoverResult, w: cw.Words) -> list[dict[str, Any]]:
    found = gaps(result.instruments)
    tables = [
        ("The sensors, with the points they could serve, read, and serve alone.", cw.SENSOR_HEADS,
         cw.sensor_rows(result, w, every=True), [0, 1, 2]),
        ("The gaps.", cw.GAP_HEADS, cw.gap_rows(found, w), [0, 3, 5]),
        ("Crossovers: where two sensors are equally good.", cw.CROSS_HEADS, cw.cross_rows(result, w), [0, 1]),
        ("What one sensor more buys.", cw.MORE_HEADS, cw.more_rows(result, w), [0, 1, 5]),
    ]  # fmt: skip
    return [sheet.table(caption, heads, rows, left) for caption, heads, rows, left in tables if rows]


def _details(result: CoverResult, shown: Sequence[InstrumentCover], w: cw.Words) -> list[dict[str, Any]]:
    first = sorted(shown, key=lambda one: (one.covered, -one.count))[:MOST_DETAILS]
    details = [_points(one, w) for one in first]
    if result.assumed:
        rows = [[words.plain(a.key), words.plain(str(a.value)), words.plain(a.why)] for a in result.assumed]
        details.append(sheet.table("What was assumed.", ["key", "value", "why"], rows, [0, 1, 2]))
    return details


def _points(one: InstrumentCover, w: cw.Words) -> dict[str, Any]:
    state = "covered" if one.covered else "not covered"
    caption = f"{w.name(one.name, 60)}: {state}, {cw.count(one.count)} calibrations a year, {one.switches} switches."
    return sheet.table(caption, cw.POINT_HEADS, cw.point_rows(one.points, one.gauge, w), [3])
