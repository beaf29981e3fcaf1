"""Judging: from the record of an isolated hold to leak, tight or undecided, why, and what to do next.

assemble (record and about-file -> case) -> bins, history, scene (what is to be explained, on its grid) -> fit (the
explained curve) -> rows, posterior, infer (many explanations weighed) -> interval, parts, causes, advice, criterion ->
judge -> Judgement. `follow` looks while the hold goes on.
"""

from simcal.analysis.judge.follow import Following, Look, Price, every_look, follow, look, price
from simcal.analysis.judge.judge import judge, judge_together
from simcal.analysis.judge.judgement import Judgement

__all__ = [
    "Following", "Judgement", "Look", "Price", "every_look", "follow", "judge", "judge_together", "look", "price",
]  # fmt: skip
