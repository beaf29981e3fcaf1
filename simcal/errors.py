"""The few exceptions of simcal and the exit codes they become.

Rooms raise, they never print and never exit; only the command line turns an exception into a line and a code.
"""

from collections.abc import Sequence

GOOD = 0
"""Answered, and the answer is good."""
BAD_NEWS = 1
"""Answered, and the answer is bad news; only ever set by an answer."""
UNUSABLE = 2
"""Input, command line or output place not usable."""
UNDECIDED = 3
"""Answered: undecided."""
DEFECT = 70
"""A defect of simcal itself."""
INTERRUPTED = 130
"""Stopped by the user."""


class SimcalError(Exception):
    """Anything simcal raises on purpose."""


class InputError(SimcalError):
    """Something the user gave is not usable: where, what was found, what would be right.

    Args:
        file: name of the file as the user wrote it, or "command line" and the like; "" when there is none.
        place: line and column for syntax ("line 3, column 7"), the dotted key for meaning, the option's name.
        found: what was found there.
        right: what would be right there.
        faults: every fault found in the same input, this one first; empty means this one only.
    """

    def __init__(self, file: str, place: str, found: str, right: str, faults: Sequence["InputError"] = ()) -> None:
        self.file = str(file)
        self.place = str(place)
        self.found = str(found)
        self.right = str(right)
        self.faults: tuple[InputError, ...] = tuple(faults) or (self,)
        super().__init__(self.line())

    def line(self) -> str:
        """This fault alone as `FILE: place: found; right`; a part that is empty is left out."""
        where = [part for part in (self.file, self.place) if part]
        what = "; ".join(part for part in (self.found, self.right) if part)
        return one_line(": ".join([*where, what]))

    def __str__(self) -> str:
        more = len(self.faults) - 1
        return f"{self.line()} (and {more} more; --all-errors)" if more > 0 else self.line()

    def __reduce__(self) -> tuple[type["InputError"], tuple[object, ...]]:
        """Made again from its parts, so that it crosses from one process to another."""
        others = () if self.faults == (self,) else self.faults
        return type(self), (self.file, self.place, self.found, self.right, others)

    @classmethod
    def of(cls, faults: Sequence["InputError"]) -> "InputError":
        """One exception that carries all of `faults` (at least one) and reads as the first of them."""
        first = faults[0]
        return cls(first.file, first.place, first.found, first.right, faults)


class Interrupted(SimcalError):
    """The user stopped the work."""


def one_line(text: str) -> str:
    """`text` on one line: control characters become their escapes, runs of white space one blank."""
    plain = " ".join(text.split())
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in plain)
