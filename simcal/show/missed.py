"""What became of a point that cannot be read, in a word or two: taken from the reason that its result gives."""

from simcal.analysis.settle.result import PointResult

NOT_REACHED, TOO_MUCH_LEFT, NEVER_QUIET = "not reached", "too much left", "never quiet"
WORDS = (
    ("the run ended here", "cut short"),
    ("cannot give", "out of reach"),
    ("cannot take", "out of reach"),
    ("comes no nearer", NOT_REACHED),
    ("noise and resolution alone", "too noisy"),
    ("the reading leaves nearness", "drifted off"),
    ("has left nearness again", "drifted off"),
    ("does not stay inside nearness", "did not stay"),
    (" is missing", "not read"),
    (" are left", TOO_MUCH_LEFT),
)
"""A part of the reason -> the word; names of devices have no blanks, so that no name is taken for a reason."""
CYCLES = "ripple"


def missed(p: PointResult) -> str:
    """The word for a point that cannot be read, "" for one that was reached."""
    if p.reached:
        return ""
    word = next((word for part, word in WORDS if part in (p.reason or "")), NOT_REACHED)
    if word == TOO_MUCH_LEFT and p.ready_s is None and p.limited_by == CYCLES:
        return NEVER_QUIET
    return word
