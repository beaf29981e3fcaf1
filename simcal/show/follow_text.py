"""Looks at a hold while it goes on: a line for each, and at the end a sentence, the price, the method; or JSON.

With --json every look is a line of schema simcal/look/1 and the last line a document of schema simcal/follow/1.
"""

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from simcal import cache
from simcal.analysis.judge import Look, price
from simcal.analysis.judge.judgement import UNDECIDED
from simcal.analysis.judge.method import SEQUENTIAL
from simcal.show import words
from simcal.show.judge_text import closing
from simcal.show.wrapping import wrapped

UPDATE, SCHEMA = "simcal/look/1", "simcal/follow/1"
TOLD = "`simcal judge --method` says how"


@dataclass(frozen=True)
class Shown:
    """How the looks at one record are shown."""

    record: str
    seed: int
    unicode: bool = False

    def update(self, looks: Sequence[Look], as_json: bool) -> str:
        """The line of the last look."""
        if as_json:
            head = {"schema": UPDATE, "record": self.record, "look": len(looks)}
            return json.dumps(head | asdict(looks[-1]), allow_nan=False) + "\n"
        return f"{self._named()}: {look_line(looks, self.unicode)}\n"

    def end(self, looks: Sequence[Look], ended: str, as_json: bool) -> str:
        """What stands below the last look."""
        if as_json:
            return json.dumps(follow_document(self.record, looks, ended, self.seed), allow_nan=False) + "\n"
        said = f"{self._named()}: {follow_sentence(looks, ended, self.unicode)}"
        lines = [said, price_line(looks, self.unicode), f"method: {SEQUENTIAL}; {TOLD}"]
        blocks = [*(wrapped([one], "") for one in lines), [closing(self.seed)]]
        return "\n" + "\n\n".join("\n".join(block) for block in blocks) + "\n"

    def _named(self) -> str:
        return words.plain(self.record, self.unicode)


def look_line(looks: Sequence[Look], unicode: bool = False) -> str:
    """One look: its number, its time, whether it decided, its interval; in the unit that suits the limit."""
    last = looks[-1]
    size, unit = words.scale(last.permitted_mol_per_s, words.AMOUNTS)
    said = last.verdict if last.fits else f"{last.verdict}, fits nothing"
    return (
        f"look {len(looks)} at {last.time_s:.1f} s: {said}, net outflow "
        f"{_ends(last.low_mol_per_s, last.high_mol_per_s, size)} {words.with_micro(unit, unicode)}, "
        f"permitted {words.figures(last.permitted_mol_per_s / size)}"
    )


def follow_sentence(looks: Sequence[Look], ended: str, unicode: bool = False) -> str:
    """Which look decided, or that none did and why no other came, on one line."""
    last = looks[-1]
    size, unit = words.scale(last.permitted_mol_per_s, words.AMOUNTS)
    when = f"{last.time_s:.1f} s, {_hold(last.held_s)} after the valves shut, at look {len(looks)}"
    verdict = f"{last.verdict}, decided at {when}"
    if last.verdict == UNDECIDED:
        verdict = f"still undecided at {when} ({ended})"
    return (
        f"{verdict}: net outflow {_ends(last.low_mol_per_s, last.high_mol_per_s, size)} "
        f"{words.with_micro(unit, unicode)}, permitted {words.figures(last.permitted_mol_per_s / size)}; "
        "the interval holds at 95 % over all looks"
    )


def price_line(looks: Sequence[Look], unicode: bool = False) -> str:
    """What looking on cost in hold against one look planned beforehand."""
    last, cost = looks[-1], price(looks)
    if cost is not None and cost.followed_s > cost.single_s:
        return (
            f"price of looking on: {_hold(cost.followed_s - cost.single_s)} of hold; a single look, planned "
            f"beforehand for {_hold(cost.single_s)} or later, would have decided, following took "
            f"{_hold(cost.followed_s)}, {cost.followed_s / cost.single_s:.2f} times as long"
        )
    if cost is not None:
        return "price of looking on: none here, a single look would have decided no earlier"
    size, unit = words.scale(last.permitted_mol_per_s, words.AMOUNTS)
    single = (
        f"{last.single_verdict}, {_ends(last.single_low_mol_per_s, last.single_high_mol_per_s, size)} "
        f"{words.with_micro(unit, unicode)}"
    )
    return (
        f"price of looking on: a single look, planned beforehand for {_hold(last.held_s)}, would have said {single}; "
        "that counts for no one who has looked before"
    )


def follow_document(record: str, looks: Sequence[Look], ended: str, seed: int) -> dict[str, Any]:
    """All looks, ready for `json.dumps(..., allow_nan=False)`; `decided_at_s` is null where none decided."""
    last, cost = looks[-1], price(looks)
    why = f"no look decided ({ended})"
    return {
        "schema": SCHEMA,
        "version": cache.version(),
        "seed": seed,
        "sentence": f"{words.plain(record, False)}: {follow_sentence(looks, ended)}",
        "record": record,
        "verdict": last.verdict,
        "ended": ended,
        "decided_at_s": None if cost is None else last.time_s,
        "decided_after_s": None if cost is None else cost.followed_s,
        "single_look_after_s": None if cost is None else cost.single_s,
        "price": price_line(looks),
        "method": SEQUENTIAL,
        "looks": [asdict(one) for one in looks],
        "reasons": {} if cost is not None else dict.fromkeys(
            ("decided_at_s", "decided_after_s", "single_look_after_s"), why
        ),
    }  # fmt: skip


def _ends(low: float, high: float, size: float) -> str:
    return f"{words.figures(low / size)} to {words.figures(high / size)}"


def _hold(seconds: float) -> str:
    return f"{words.figures(seconds)} s" if seconds < 1000.0 else f"{seconds:.0f} s"
