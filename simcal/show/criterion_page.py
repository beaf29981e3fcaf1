"""The page of `criterion`: what a procedure says, the curve, why, and what else."""

from collections.abc import Mapping, Sequence
from typing import Any

from simcal.analysis.criterion import CriterionResult
from simcal.bench.bench import Bench
from simcal.show import criterion_text as text
from simcal.show import sheet, words
from simcal.show.drawing import Drawing
from simcal.show.table import Column

ARGUMENTS = {
    "bench": "bench file",
    "permitted_leak": "permitted leak",
    "healthy_leak": "healthy leak",
    "pressure": "pressure",
    "direction": "from",
    "false_alarm": "false alarm at most",
    "miss": "miss at most",
    "soak": "soak",
    "wait": "wait",
    "watch": "watch",
    "longest": "longest in all",
    "readings": "readings of a mean",
    "every": "between two readings",
    "sensor": "sensor",
    "leak_law": "law of the leak",
    "bad_share": "share of bad seals",
    "benches": "benches drawn",
    "explain": "criterion explained",
    "set": "changed with --set",
    "seed": "seed",
}
"""An argument in words, in the order of the page."""


def criterion_page(
    result: CriterionResult, bench: Bench, document: Mapping[str, Any], drawings: Sequence[Drawing],
    svgs: Mapping[str, bytes], shop: str,
) -> bytes:  # fmt: skip
    """The whole answer as one HTML page; document: its JSON, of which inputs and arguments are taken."""
    new = result.soak_s is not None and not result.explained
    tables = []
    if new:
        rows = [[text.procedure(result, bench)]]
        tables.append(sheet.table("What the procedure says.", ["in words"], rows, [0]))
    if result.cures:
        rows = [[line] for line in text.cure_lines(result)]
        tables.append(sheet.table("What would make it feasible, each alone.", ["change"], rows, [0]))
    if result.caught:
        tables.append(_table("What it catches, by what the valves shut in.", *text.caught_table(result, shop, True)))
    details = []
    if result.curve:
        details.append(_table("Chance of a fail by the leak.", *text.curve_table(result, shop, True)))
    if new:
        rows = [[line] for line in text.about_block(result)]
        details.append(sheet.table("For an about-file.", ["lines"], rows, [0]))
    if result.worst is not None:
        rows = [
            [words.plain(key), words.figures(value, 4), words.figures(float(bench.value(key)), 4)]
            for key, value in result.worst.drawn.items()
        ]
        details.append(sheet.table("The worst of the fresh benches.", ["key", "drawn, SI", "stated, SI"], rows, [0]))
    content = sheet.Content(
        title=f"A criterion for holds: {words.plain(result.bench, longest=80)}",
        warnings=[],
        sentence=text.criterion_sentence(result, bench, shop, unicode=True),
        good=result.feasible,
        tables=tables,
        details=details,
        remarks=[*text.worst_lines(result, True), *text.facts(result, bench, shop, unicode=True)],
        cautions=text.criterion_cautions(result, bench),
        arguments=sheet.asked(document["arguments"], ARGUMENTS),
        closing=text.closing(result),
    )
    return sheet.made(content, document["inputs"], drawings, svgs)


def _table(caption: str, columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> dict[str, Any]:
    heads = [", ".join(part for part in (column.head, column.unit) if part) for column in columns]
    return sheet.table(caption, heads, rows)
