"""Running text in lines that survive pasting."""

import re
import textwrap
from collections.abc import Iterable

LINE = 100
"""Columns that running text is wrapped to; tables keep their own width."""
TOGETHER = re.compile(r"(?<=\d) (?=[^\W\d_]|%)|(?<=\bno\.) (?=\d)|(?<=[a-z]) (?=(?:gauge|abs)\b)")
"""Blanks at which no line is broken: a number and its unit, a unit and its reference."""
TIED = "\u00a0"


def wrapped(texts: Iterable[str], mark: str) -> list[str]:
    """Each text in lines of at most `LINE` columns, the first behind `mark`, the others below it."""
    blank = " " * len(mark)
    return [
        line.replace(TIED, " ")
        for text in texts
        for line in textwrap.wrap(
            TOGETHER.sub(TIED, text),
            LINE,
            initial_indent=mark,
            subsequent_indent=blank,
            break_long_words=False,
            break_on_hyphens=False,
        )
    ]
