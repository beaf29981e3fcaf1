"""The page of `hold`: what the change is made of, the record, what was drawn."""

from collections.abc import Mapping, Sequence
from typing import Any

from simcal.analysis.hold.result import HoldResult
from simcal.bench.bench import Bench
from simcal.show import sheet, words
from simcal.show.drawing import Drawing
from simcal.show.hold_text import broken, closing, drawn_rows, facts, hold_cautions, hold_sentence, part_rows

ARGUMENTS = {
    "bench": "bench file",
    "pressure": "pressure",
    "direction": "from",
    "soak": "soak",
    "wait": "wait",
    "watch": "watch",
    "every": "between two rows",
    "sensor": "sensor",
    "permitted_leak": "permitted leak",
    "set": "changed with --set",
    "seed": "seed",
}
"""An argument in words, in the order of the page."""


def hold_page(
    result: HoldResult,
    bench: Bench,
    document: Mapping[str, Any],
    drawings: Sequence[Drawing],
    svgs: Mapping[str, bytes],
) -> bytes:
    """The whole answer as one HTML page; document: its JSON, of which inputs and arguments are taken."""
    heads = ["part", "change, Pa", "what it is"]
    parts = sheet.table("What the change of the reading over the watch is made of.", heads, part_rows(result), [0, 2])
    details = []
    if result.truth.drawn:
        heads = ["key", "drawn", "stated", "unit"]
        details.append(
            sheet.table("What this hold drew of the stated spreads.", heads, drawn_rows(result, bench, True), [0, 3])
        )
    if result.assumed:
        rows = [[words.plain(a.key), words.plain(str(a.value)), words.plain(a.why)] for a in result.assumed]
        details.append(sheet.table("What was assumed.", ["key", "value", "why"], rows, [0, 1, 2]))
    content = sheet.Content(
        title=f"An isolated hold, simulated: {words.plain(result.bench, longest=80)}",
        warnings=broken(result),
        sentence=hold_sentence(result, bench, unicode=True),
        good=True,
        tables=[parts],
        details=details,
        remarks=facts(result, unicode=True),
        cautions=hold_cautions(result, bench),
        arguments=sheet.asked(document["arguments"], ARGUMENTS),
        closing=closing(result),
    )
    return sheet.made(content, document["inputs"], drawings, svgs)
