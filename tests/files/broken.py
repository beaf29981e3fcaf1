"""A broken bench: what is edited in the good one, at which place the fault is reported, and in which words."""

from typing import NamedTuple


class Broken(NamedTuple):
    """`old` becomes `new` (added at the end when `old` is empty); the first fault is at `place` and says `text`."""

    old: str
    new: str
    place: str
    text: str
