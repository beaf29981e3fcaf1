"""Tables of plain text, aligned in columns so that they survive pasting in a fixed-width font."""

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Column:
    """One column: its heading, the unit under it, and on which side its cells are aligned."""

    head: str
    unit: str = ""
    left: bool = False


def width(text: str) -> int:
    """Columns of a terminal that `text` takes: wide characters count two, combining marks none."""
    return sum(_cells(c) for c in text)


def _cells(character: str) -> int:
    if unicodedata.combining(character):
        return 0
    return 2 if unicodedata.east_asian_width(character) in "WF" else 1


def aligned(columns: Sequence[Column], rows: Sequence[Sequence[str]], indent: str = "") -> list[str]:
    """Lines of a table: heads, units when there are any, a rule, then the rows."""
    heads = [[c.head for c in columns]]
    if any(c.unit for c in columns):
        heads.append([c.unit for c in columns])
    widths = [max(width(row[i]) for row in [*heads, *rows]) for i in range(len(columns))]
    rule = ["-" * w for w in widths]
    return [indent + _line(row, columns, widths) for row in [*heads, rule, *rows]]


def _line(row: Sequence[str], columns: Sequence[Column], widths: Sequence[int]) -> str:
    cells = [_pad(cell, w, c.left) for cell, c, w in zip(row, columns, widths, strict=True)]
    return "  ".join(cells).rstrip()


def _pad(text: str, cells: int, left: bool) -> str:
    blank = " " * (cells - width(text))
    return text + blank if left else blank + text
