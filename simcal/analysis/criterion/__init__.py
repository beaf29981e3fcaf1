"""What a procedure should say of a hold: soak, wait, watch, allowed drop and rise, and the risks of deciding by them.

Start reading at `criterion.py`.
"""

from simcal.analysis.criterion.criterion import Given, criterion
from simcal.analysis.criterion.question import Question
from simcal.analysis.criterion.result import CriterionResult

__all__ = ["CriterionResult", "Given", "Question", "criterion"]
