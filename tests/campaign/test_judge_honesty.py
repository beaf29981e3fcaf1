"""How often is the judge wrong, and how often does it decide, on records of a finer model that is not its own?

2,000 seeded records of `tests/independent/holds`: clear-cut, hard, confounded. A false accusation is `leak` on a record
whose |net leak| is at or below the permitted rate, a miss `tight` on one above it. Promised, by part and near the
limit: each at most 2.5 %, the 95 % interval covers. Of the clear-cut: at most 5 % undecided, median rate error at most
5 %. Of the hard: undecided at most 1.25 times as often as the reference that is told more, both before calibration.
A promise is broken when an exact binomial test says so at 1 %.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import pytest

from tests.campaign import ledger
from tests.independent.holds.population import PARTS
from tests.independent.holds.running import answers, each, tasks
from tests.independent.holds.scoring import Answer, broken, counts, table

NAME, ENTRY = "judge-honesty", "simcal.analysis.judge"
JUDGE, BEFORE = "tests.campaign.judged:judged", "tests.campaign.judged:before_calibration"
REFERENCE = "tests.independent.holds.reference:judge"
COUNT, SEED, SHARE = 2000, 20273, 0.02
"""records, their seed (fixed beforehand), and the share that the ordinary tests judge again"""
UNDECIDED, ERROR, RATIO = 0.05, 0.05, 1.25
"""promised of the clear-cut: undecided, median rate error; of the hard: undecided over the reference's"""
KEPT = ("verdict", "low", "high", "median")


def of_judges(part: str) -> tuple[tuple[str, bool], ...]:
    """Who judges a record of the part, and whether it is told what only a reference may know."""
    ours = ((JUDGE, False),)
    return (*ours, (BEFORE, False), (REFERENCE, True)) if part == "hard" else ours


def promises(found: dict[str, dict[str, Any]], before: dict[str, Any], reference: dict[str, Any]) -> list[str]:
    """Those that are broken; the reference's share of undecided is taken as it was counted on the same records."""
    bad = [f"{name}: {key}" for name, one in found.items() for key in one if key.endswith("_broken") and one[key]]
    clear = found["clear-cut"]
    if broken(clear["undecided"], clear["records"], UNDECIDED):
        bad.append("clear-cut: undecided")
    if clear["median_rate_error"] > ERROR:
        bad.append("clear-cut: rate error")
    if broken(before["undecided"], before["records"], RATIO * reference["undecided"] / reference["records"]):
        bad.append("hard: undecided over the reference's")
    return bad


@pytest.mark.campaign
def test_2000_records_are_judged_honestly() -> None:
    """Counts by part go to tests/campaign/judge-honesty.json whether the promises are kept or not."""
    todo = [(of_judges(part), part, seed, index) for _, part, seed, index, _ in tasks(JUDGE, COUNT, SEED, False)]
    got = answers(todo, by=each)
    ours = [said[0] for said in got]
    found = table(ours)
    before, reference = (counts([said[k] for said in got if len(said) > 1]) for k in (1, 2))
    bad = promises(found, before, reference)
    first = {
        part: [
            {key: asdict(answer)[key] for key in KEPT}
            for answer in [one for one in ours if one.part == part][: round(SHARE * COUNT / len(PARTS))]
        ]
        for part in PARTS
    }
    hard = {"before_calibration": before, "reference": reference, "ratio": before["undecided"] / reference["undecided"]}
    ledger.write(
        NAME, ENTRY, {"seed": SEED, "count": COUNT, "counts": found, "hard": hard, "broken": bad, "first": first}
    )
    assert not bad, bad


def test_the_recorded_campaign_is_whole() -> None:
    """Full counts of the seed fixed beforehand are on file."""
    found = ledger.read(NAME)
    assert found["seed"] == SEED and found["counts"]["all"]["records"] == found["count"] == COUNT
    before, reference = (found["hard"][who] for who in ("before_calibration", "reference"))
    assert before["records"] == reference["records"] == found["counts"]["hard"]["records"]
    assert found["broken"] == promises(found["counts"], before, reference)


def test_a_promise_that_is_broken_is_named() -> None:
    """1.25 times 100 of 800 are 125: P(X >= 149) is 1.24 %, P(X >= 150) 0.97 % (scipy.stats.binom.sf at 0.15625)."""
    kept = {"records": 800, "undecided": 40, "median_rate_error": 0.03, "coverage_broken": False}
    found = {"clear-cut": kept, "hard": kept}
    assert promises(found, kept | {"undecided": 149}, kept | {"undecided": 100}) == []
    over = promises(found, kept | {"undecided": 150}, kept | {"undecided": 100})
    assert over == ["hard: undecided over the reference's"]
    bad = kept | {"undecided": 60, "median_rate_error": 0.06, "coverage_broken": True}
    names = ["clear-cut: coverage_broken", "clear-cut: undecided", "clear-cut: rate error"]
    assert promises(found | {"clear-cut": bad}, kept, kept) == names


@pytest.mark.parametrize("part", PARTS)
def test_two_per_cent_of_the_campaign_come_out_again(part: str) -> None:
    """The first records of each part get the verdict and the interval on file, where the sources are the same.

    To 1 % of its width: readings are rounded to the gauge's step, so the last bit of another processor's arithmetic can
    turn a digit of a simulated reading, which moves an interval by up to about its share of the noise. Where the
    sources differ, to its width.
    """
    found = ledger.read(NAME)
    on_file = found["first"][part]
    same = found["hash"] == ledger.rooms_hash(ENTRY)
    if not same:
        print(f"{NAME}: the campaign ran on {found['hash']}, the sources are now {ledger.rooms_hash(ENTRY)}")
    again: list[Answer] = answers(tasks(JUDGE, len(on_file), SEED, False, (part,)), workers=1)
    close = 1e-2 if same else 1.0
    for one, now in zip(on_file, again, strict=True):
        scale = close * max(one["high"] - one["low"], 1e-300)
        assert abs(now.low - one["low"]) <= scale and abs(now.high - one["high"]) <= scale
        assert now.verdict == one["verdict"] or not same
