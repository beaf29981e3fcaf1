"""The page of `year`: numbers, ranges, other ways; where time goes, costs and exposure below."""

from collections.abc import Mapping, Sequence
from typing import Any

from simcal.analysis.year.result import YearResult
from simcal.bench.lab import Lab
from simcal.show import sheet, words
from simcal.show import year_words as yw
from simcal.show.cautions import ESTIMATE
from simcal.show.cover_words import Words
from simcal.show.drawing import Drawing
from simcal.show.year_text import closing, remarks

ARGUMENTS = {
    "lab": "LAB file", "years": "years a replication", "replications": "replications", "width": "width asked for",
    "compare": "compared", "seed": "seed", "set": "changed with --set",
}  # fmt: skip


def year_page(
    result: YearResult, lab: Lab, document: Mapping[str, Any], drawings: Sequence[Drawing], svgs: Mapping[str, bytes]
) -> bytes:
    """The whole answer as one HTML page; document: its JSON."""
    w = Words.of(lab, unicode=True)
    content = sheet.Content(
        title=f"A year of {words.plain(result.lab, longest=80)}",
        warnings=[],
        sentence=yw.sentence(result, lab, True),
        good=result.met is not False,
        tables=_tables([
            ("Numbers of a year.", yw.HEADS, yw.number_rows(result)),
            ("A job of each range could start in this share of time.", yw.RANGE_HEADS, yw.range_rows(result, w)),
            ("Compared, by the same draws; differences in percentage points.", yw.VARIANT_HEADS,
             yw.variant_rows(result, w)),
        ]),
        details=_tables([
            ("Where the benches' staffed time goes.", ("what", "share", "95 % interval"), yw.time_rows(result)),
            ("Cost a year.", ("what", "mean", "95 % interval"), yw.cost_rows(result, w)),
            ("Sensors found out of tolerance in the first replication; exposed.csv lists the jobs.", yw.EXPOSED_HEADS,
             yw.exposed_rows(result, w)),
        ]),
        remarks=remarks(result, w),
        cautions=[ESTIMATE],
        arguments=sheet.asked(document["arguments"], ARGUMENTS),
        closing=closing(result),
    )  # fmt: skip
    return sheet.made(content, document["inputs"], drawings, svgs)


def _tables(wanted: Sequence[tuple[str, Sequence[str], list[list[str]]]]) -> list[dict[str, Any]]:
    return [sheet.table(caption, heads, rows, [0]) for caption, heads, rows in wanted if rows]
