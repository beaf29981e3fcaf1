"""Judging: from the record of an isolated hold to leak, tight or undecided, why, and what to do next.

assemble (record and about-file -> case) -> bins, history, scene (what is to be explained, on its grid) -> fit (the
explained curve) -> rows, posterior, infer (many explanations weighed) -> interval, parts, causes, advice, criterion ->
judge -> Judgement. `follow` looks while the hold goes on.
"""

from simcal.analysis.judge.follow import Look, follow, look
from simcal.analysis.judge.judge import judge, judge_together
from simcal.analysis.judge.judgement import Judgement

__all__ = ["Judgement", "Look", "follow", "judge", "judge_together", "look"]
