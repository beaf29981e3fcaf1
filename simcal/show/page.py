"""The page of `settle`: dwells, figures, what lies behind them."""

from collections.abc import Mapping, Sequence
from typing import Any

from simcal.analysis.settle.result import SettleResult
from simcal.show import sheet, text, words
from simcal.show.cautions import cautions
from simcal.show.drawing import Drawing
from simcal.show.hazard import hazard
from simcal.show.page_tables import detail_tables, main_tables
from simcal.show.remarks import remarks
from simcal.show.scales import Setting, scales
from simcal.show.sentence import sentence, warnings_first

ARGUMENTS = {
    "bench": "bench file",
    "device": "device",
    "sequence": "sequence",
    "set": "changed with --set",
    "trials": "trials",
    "groups": "rounded-up dwells, at most",
    "dwell": "dwell given",
    "seed": "seed",
    "self_check": "self-check",
}
"""An argument in words, in the order of the page."""


def settle_page(
    result: SettleResult,
    document: Mapping[str, Any],
    setting: Setting,
    drawings: Sequence[Drawing],
    svgs: Mapping[str, bytes],
) -> bytes:
    """The whole answer as one HTML page, in UTF-8, under `sheet.LARGEST` bytes.

    Args:
        result: the answer.
        document: its JSON document; inputs and arguments are taken from it.
        setting: how levels are written.
        drawings: the figures, in order.
        svgs: their SVG by `Drawing.name`. Figures that do not fit are left out, the last first.
    """
    units = scales(result, setting)
    content = sheet.Content(
        title=f"Dwell at every setpoint: {words.plain(result.bench, longest=80)}",
        warnings=warnings_first(result, units),
        sentence=sentence(result, units),
        good=result.good,
        tables=main_tables(result, units),
        details=detail_tables(result, units),
        remarks=remarks(result, units),
        cautions=cautions(hazard(result, setting)),
        arguments=sheet.asked(document["arguments"], ARGUMENTS),
        closing=text.closing(result),
    )
    return sheet.made(content, document["inputs"], drawings, svgs)
