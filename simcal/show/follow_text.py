"""Looks at a hold while it goes on: a sentence and a table, or a JSON document of schema simcal/follow/1."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from simcal import cache
from simcal.analysis.judge import Look
from simcal.analysis.judge.judgement import UNDECIDED
from simcal.bench.record import Record
from simcal.show import words
from simcal.show.judge_text import closing
from simcal.show.table import Column, aligned
from simcal.show.wrapping import wrapped

SCHEMA = "simcal/follow/1"


def follow_sentence(record: Record, looks: Sequence[Look], unicode: bool = False) -> str:
    """Which look decided, or that none did, on one line."""
    last = looks[-1]
    size, unit = _unit(looks)
    when = f"{words.figures(last.time_s, 4)} s of a record that ends at {words.figures(float(record.time_s[-1]), 4)} s"
    verdict = "still undecided at" if last.verdict == UNDECIDED else f"{last.verdict}, decided at"
    ends = " to ".join(words.figures(rate / size) for rate in (last.low_mol_per_s, last.high_mol_per_s))
    return words.plain(
        f"{record.name}: {verdict} {when}, at look {len(looks)}: net outflow {ends} {words.with_micro(unit, unicode)}, "
        f"permitted {words.figures(last.permitted_mol_per_s / size)}; the interval holds at 95 % over all looks",
        unicode,
    )


def follow_text(record: Record, looks: Sequence[Look], seed: int, unicode: bool = False) -> str:
    """The sentence and every look."""
    size, unit = _unit(looks)
    name = words.with_micro(unit, unicode)
    columns = [
        Column("look"),
        Column("at", "s"),
        Column("verdict", left=True),
        Column("low", name),
        Column("high", name),
    ]
    places = words.decimals_for(max(abs(looks[-1].low_mol_per_s), abs(looks[-1].high_mol_per_s)) / size)
    rows = [
        [
            str(number), words.fixed(one.time_s, 1), one.verdict if one.fits else f"{one.verdict}, fits nothing",
            words.fixed(one.low_mol_per_s / size, places), words.fixed(one.high_mol_per_s / size, places),
        ]
        for number, one in enumerate(looks, start=1)
    ]  # fmt: skip
    blocks = [wrapped([follow_sentence(record, looks, unicode)], ""), aligned(columns, rows), [closing(seed)]]
    return "\n\n".join("\n".join(block) for block in blocks) + "\n"


def follow_document(record: Record, looks: Sequence[Look], seed: int) -> dict[str, Any]:
    """All looks, ready for `json.dumps(..., allow_nan=False)`; `decided_at_s` is null where none decided."""
    last = looks[-1]
    decided = last.verdict != UNDECIDED
    return {
        "schema": SCHEMA,
        "version": cache.version(),
        "seed": seed,
        "sentence": follow_sentence(record, looks),
        "record": record.name,
        "verdict": last.verdict,
        "decided_at_s": last.time_s if decided else None,
        "looks": [asdict(one) for one in looks],
        "reasons": {} if decided else {"decided_at_s": "no look decided before the record ended"},
    }


def _unit(looks: Sequence[Look]) -> tuple[float, str]:
    """The unit of the rates, by the limit and the last interval."""
    last = looks[-1]
    return words.scale(max(abs(last.low_mol_per_s), abs(last.high_mol_per_s), last.permitted_mol_per_s), words.AMOUNTS)
