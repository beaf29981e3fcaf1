"""How often is the judge wrong, and how often does it decide, on records of a finer model that is not its own?

2,000 seeded records of `tests/independent/holds`: clear-cut, hard, confounded. A false accusation is `leak` on a record
whose |net leak| is at or below the permitted rate, a miss `tight` on one above it. Promised: each at most 2.5 %, the
95 % interval covers, by part; a promise is broken when an exact binomial test says so at 1 %.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import pytest

from tests.campaign import ledger
from tests.independent.holds.running import answers, tasks
from tests.independent.holds.scoring import Answer, table

NAME, ENTRY = "judge-honesty", "simcal.analysis.judge"
JUDGE = "tests.campaign.judged:judged"
COUNT, SEED, SHARE = 2000, 20264, 0.02
"""records, their seed (fixed beforehand), and the share that the ordinary tests judge again"""
KEPT = ("verdict", "low", "high", "median")


@pytest.mark.campaign
def test_2000_records_are_judged_honestly() -> None:
    """Counts by part go to tests/campaign/judge-honesty.json whether the promises are kept or not."""
    got = answers(tasks(JUDGE, COUNT, SEED, False))
    counts = table(got)
    first: dict[str, list[dict[str, Any]]] = {}
    for answer in got:
        same = first.setdefault(answer.part, [])
        if len(same) < round(SHARE * COUNT / 3):
            same.append({key: asdict(answer)[key] for key in KEPT})
    ledger.write(NAME, ENTRY, {"seed": SEED, "count": COUNT, "counts": counts, "first": first})
    broken = {name: [key for key in one if key.endswith("_broken") and one[key]] for name, one in counts.items()}
    assert not any(broken.values()), broken


def test_the_recorded_campaign_is_whole() -> None:
    """Full counts of the seed fixed beforehand are on file."""
    found = ledger.read(NAME)
    assert found["seed"] == SEED and found["counts"]["all"]["records"] == found["count"] == COUNT


@pytest.mark.parametrize("part", ["clear-cut", "hard", "confounded"])
def test_two_per_cent_of_the_campaign_come_out_again(part: str) -> None:
    """The first records of each part get the interval on file: exactly where the sources are the same, else near it."""
    found = ledger.read(NAME)
    on_file = found["first"][part]
    same = found["hash"] == ledger.rooms_hash(ENTRY)
    if not same:
        print(f"{NAME}: the campaign ran on {found['hash']}, the sources are now {ledger.rooms_hash(ENTRY)}")
    again: list[Answer] = answers(tasks(JUDGE, len(on_file), SEED, False, (part,)), workers=1)
    width = [max(one["high"] - one["low"], 1e-300) for one in on_file]
    close = 1e-6 if same else 1.0
    for one, now, scale in zip(on_file, again, width, strict=True):
        assert abs(now.low - one["low"]) <= close * scale and abs(now.high - one["high"]) <= close * scale
