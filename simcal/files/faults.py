"""Faults are collected, so that one reading of a file tells them all."""

import difflib
from collections.abc import Iterable
from typing import Any

from simcal import units
from simcal.errors import InputError

_LINE = 60
MOST = 200
"""Faults kept; a file with more has said enough."""


class Report:
    """The faults of one input and where each key came from.

    Args:
        file: the file a fault belongs to when its key has no other origin.
    """

    def __init__(self, file: str) -> None:
        self.file = file
        self.origin: dict[str, str] = {}
        self.faults: list[InputError] = []

    def add(self, place: str, found: str, right: str) -> None:
        """Note one fault at a dotted key."""
        if len(self.faults) < MOST:
            self.faults.append(InputError(self.file_of(place), place, found, right))

    def file_of(self, place: str) -> str:
        """The file that states a dotted key, else the one that states the nearest table above it."""
        while place:
            if place in self.origin:
                return self.origin[place]
            place = place.rpartition(".")[0]
        return self.file

    def finish(self) -> None:
        """Raise what was noted, if anything."""
        if self.faults:
            raise InputError.of(self.faults)


def near(name: str, known: Iterable[str]) -> str:
    """The known name that looks most like `name`, "" when none does."""
    known = list(known)
    for one in known:
        if one.lower() == name.lower():
            return one
    close = difflib.get_close_matches(name[:80], known, n=1, cutoff=0.6)
    return close[0] if close else ""


def one_of(name: str, known: Iterable[str]) -> str:
    """What to say after a choice that is none: the nearest one, and all where they fit a line."""
    known = list(known)
    close = near(name, known)
    every = ", ".join(known)
    return f'did you mean "{close}"? known are: {every}' if close and len(every) <= _LINE else did_you_mean(name, known)


def did_you_mean(name: str, known: Iterable[str]) -> str:
    """What to say after an unknown name: the nearest known one, or all of them."""
    known = list(known)
    close = near(name, known)
    if close:
        return f'did you mean "{close}"?'
    return f"known are: {', '.join(known)}" if known else "there is none"


def found_in(value: Any) -> str:
    """What a value of the wrong type is, in words."""
    if isinstance(value, bool):
        return f"{'true' if value else 'false'} (a flag)"
    if isinstance(value, (int, float)):
        return f"{short(value)} (a number without unit)"
    if isinstance(value, str):
        return f"{units.clip(value)} (a text)"
    if isinstance(value, list):
        return f"a list of {len(value)}"
    return "a table" if isinstance(value, dict) else "a date or time"


def short(value: int | float) -> str:
    """A number in at most twelve figures."""
    try:
        return f"{value:.12g}"
    except OverflowError:
        return "a huge number"
