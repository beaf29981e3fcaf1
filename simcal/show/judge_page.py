"""The page of `judge`: verdict, parts, causes, next action, what it rests on."""

from collections.abc import Mapping, Sequence
from typing import Any

from simcal.analysis.judge.judgement import TIGHT
from simcal.show import sheet, words
from simcal.show.drawing import Drawing
from simcal.show.judge_text import (
    CAUSE_COLUMNS,
    PART_COLUMNS,
    assumed,
    cause_rows,
    closing,
    judge_cautions,
    judge_sentence,
    next_line,
    part_rows,
    remarks,
)
from simcal.show.judge_units import Judged, rate_units
from simcal.show.table import Column

ARGUMENTS = {
    "records": "records",
    "about": "about-file for all",
    "set": "changed with --set",
    "together": "judged together",
    "seed": "seed",
}
"""An argument in words, in the order of the page."""


def judge_page(
    judged: Judged, document: Mapping[str, Any], drawings: Sequence[Drawing], svgs: Mapping[str, bytes]
) -> bytes:
    """The whole answer as one HTML page; document: its JSON, of which inputs and arguments are taken."""
    found = judged.found
    off = "" if found.fits else " by the nearest explanation, which does not fit"
    parts = sheet.table(
        f"What the change of the reading is made of{off}.", _heads(PART_COLUMNS), part_rows(found), [0, 2]
    )
    causes = sheet.table(f"Causes by weight{off}.", _heads(CAUSE_COLUMNS), cause_rows(found), [0, 2])
    taken = [[words.plain(a.key), words.plain(str(a.value)), words.plain(a.why)] for a in assumed(judged)]
    details = [sheet.table("What was assumed.", ["key", "value", "why"], taken, [0, 1, 2])] if taken else []
    content = sheet.Content(
        title=f"An isolated hold, judged: {words.plain(found.record, longest=80)}",
        warnings=(),
        sentence=judge_sentence(judged, unicode=True),
        good=found.verdict == TIGHT,
        tables=[parts, causes],
        details=details,
        remarks=[next_line(found, rate_units(judged, True)), *remarks(judged, unicode=True)],
        cautions=judge_cautions(judged),
        arguments=sheet.asked(document["arguments"], ARGUMENTS),
        closing=closing(judged.seed),
    )
    return sheet.made(content, _texts(document["inputs"]), drawings, svgs)


def _heads(columns: Sequence[Column]) -> list[str]:
    return [f"{one.head}, {one.unit}" if one.unit else one.head for one in columns]


def _texts(inputs: Mapping[str, Any]) -> dict[str, dict[str, str]]:
    """The inputs with a word where a record was too long to be kept."""
    return {
        name: {"sha256": one["sha256"], "text": one["text"] if one["text"] is not None else "(too long to be kept)"}
        for name, one in inputs.items()
    }
