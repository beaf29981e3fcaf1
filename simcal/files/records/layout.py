"""The table in a file: separator, first line with values, header, units row, and what each column looks like."""

import csv
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from simcal.bench.about import FileForm
from simcal.errors import InputError
from simcal.files.records.cell import BLANK, MARKS, NUMBER, STAMP, TEXT, kind_of
from simcal.files.records.source import WIDEST, Source, tidy
from simcal.files.records.words import unit_of

SEPARATORS = {"\t": "tab", ";": ";", "|": "|", ",": ",", " ": "blank"}
"""Separator -> its name in an about-file, in the order in which equals are preferred."""
MOST_COLUMNS = 1000
COMMENTS = ("#", "%", "//")
_HEAD = 400
_FEWEST, _ABOVE = 2, 4


@dataclass(frozen=True)
class Layout:
    """What was found before the columns were understood.

    `separator` is one character (" " for any white space), `width` the usual number of fields of a row, `first`
    the line (from 0) from which on lines count, `header` and `units` the texts of the columns ("" where there are
    none), `header_line` that of the header (-1: none), `kinds` what the columns look like, `rows` a sample of rows
    as fields, `why` how the separator is known ("" when stated), `double` whether the header has half the columns.
    """

    separator: str
    width: int
    first: int
    header: tuple[str, ...]
    units: tuple[str, ...]
    header_line: int
    header_text: str
    kinds: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    why: str
    double: bool = False


def split(line: str, separator: str) -> list[str]:
    """The fields of one line; a separator inside double quotes is part of its field."""
    if separator == " ":
        return line.replace('"', "").split() if '"' not in line else _quoted(" ".join(line.split()), " ")
    if '"' in line:
        return _quoted(line, separator)
    return line.split(separator)


def find_layout(source: Source, form: FileForm) -> Layout:
    """The table of a record.

    Raises:
        InputError: no line with at least two numbers or times is followed by more of its kind.
    """
    head = [tidy(line.strip("\0")) for line in source.head()]
    if len(head) > 1 and len(source.raw) > 64 * 1024:
        head.pop()
    if max(map(len, head[:_HEAD])) > WIDEST:
        raise InputError(source.shown, "", f"lines longer than {WIDEST} characters", "a table with one row a line")
    start, end = (form.first_row or 1) - 1, form.last_row
    lines = [(n, line) for n, line in enumerate(head[:_HEAD]) if n >= start and (end is None or n < end)]
    others = [] if end is not None else [tidy(line.strip("\0")) for line in source.elsewhere()]
    separators = [key for key, name in SEPARATORS.items() if form.separator in (None, name)]
    tried = [(_score(lines, others, one), -rank, one) for rank, one in enumerate(separators)]
    (best, width), _, separator = max(tried)
    layout = _layout(head, lines, others, separator, width, form) if best > 0.0 else None
    if layout is None:
        raise InputError(source.shown, *_no_table(form, start))
    return layout


def _no_table(form: FileForm, start: int) -> tuple[str, str, str]:
    if form.separator is not None or start > 0:
        return "file", "no table of numbers with this separator and first row", "file.separator, file.first_row"
    return "", "no table of numbers", "rows with at least a time and a pressure, in columns"


def _score(lines: Sequence[tuple[int, str]], others: Sequence[str], separator: str) -> tuple[float, int]:
    """How much of a sample is a steady table under a separator, and its width."""
    texts = [line for _, line in lines] + list(others)
    shapes = Counter(shape for text in texts if text.strip() and (shape := _shape(split(text, separator))))
    if not shapes:
        return 0.0, 0
    widths: Counter[int] = Counter()
    for (width, _), count in shapes.items():
        widths[width] += count
    width, count = max(widths.items(), key=lambda one: (one[1], one[0]))
    values = sum(n * shape_values for (w, shape_values), n in shapes.items() if w == width) / count
    return count * values / width, width


def _shape(fields: list[str]) -> tuple[int, int] | None:
    """Number of fields and of values among them, for a line that can be a row."""
    if not 2 <= len(fields) <= MOST_COLUMNS:
        return None
    values = sum(kind_of(field) in (NUMBER, STAMP) for field in fields)
    return (len(fields), values) if values >= _FEWEST else None


def _layout(
    head: list[str],
    lines: Sequence[tuple[int, str]],
    others: Sequence[str],
    separator: str,
    width: int,
    form: FileForm,
) -> Layout | None:
    """The layout once separator and width are known; None where no row of the head has that width."""
    rows = [(n, split(line, separator)) for n, line in lines]
    full = [(n, fields) for n, fields in rows if len(fields) == width and _shape(fields)]
    if not full:
        return None
    late = [fields for line in others if len(fields := split(line, separator)) == width and _shape(fields)]
    kinds = _kinds([fields for _, fields in full] + late, width)
    steady = [(n, fields) for n, fields in full if _fits(fields, kinds)]
    if not steady or len(steady) < _FEWEST <= len(full):
        steady = full
    first = form.first_row - 1 if form.first_row else steady[0][0]
    header_line, header, units = _header(head, first, separator, kinds, form)
    if form.first_row is None:
        first = _first(head, first, header_line, bool(units), separator, width)
    return Layout(
        separator=separator,
        width=width,
        first=first,
        header=_padded(header, kinds, separator),
        units=_padded(units, kinds, separator),
        header_line=header_line,
        header_text=head[header_line].strip() if header_line >= 0 else "",
        kinds=kinds,
        rows=tuple(tuple(fields) for fields in [fields for _, fields in steady] + late),
        why="" if form.separator else "gives the steadiest table",
        double=separator == "," and bool(header) and len(header) * 2 == width,
    )


def _first(head: list[str], steady: int, header_line: int, with_units: bool, separator: str, width: int) -> int:
    """The line from which on every line counts: after the header, else the first of rows like those that follow."""
    if header_line >= 0:
        after = [n for n in range(header_line + 1, steady) if head[n].strip()]
        return after[0] + 1 if with_units and after else header_line + 1
    at = steady
    while at > 0 and head[at - 1].strip():
        fields = split(head[at - 1], separator)
        if len(fields) != width or kind_of(fields[0]) not in (NUMBER, STAMP):
            break
        at -= 1
    return at


def _kinds(rows: Sequence[Sequence[str]], width: int) -> tuple[str, ...]:
    """What each column looks like in most rows; a column with values in some and blanks in others holds values."""
    kinds = []
    for column in range(width):
        seen = Counter(kind_of(fields[column]) for fields in rows)
        seen_values = Counter({kind: count for kind, count in seen.items() if kind != BLANK})
        kinds.append(seen_values.most_common(1)[0][0] if seen_values else BLANK)
    return tuple(kinds)


def _fits(fields: Sequence[str], kinds: Sequence[str]) -> bool:
    """Whether a row has values where most rows have them; one may be missing."""
    wrong = 0
    for field, kind in zip(fields, kinds, strict=True):
        if kind in (NUMBER, STAMP) and kind_of(field) != kind:
            wrong += 1
    return wrong == 0


def _header(
    head: list[str], first: int, separator: str, kinds: tuple[str, ...], form: FileForm
) -> tuple[int, tuple[str, ...], tuple[str, ...]]:
    """Line, texts and units of the header: the lines of text right before the rows."""
    if form.header_row:
        at = form.header_row - 1
        if at >= len(head):
            return -1, (), ()
        between = [n for n in range(at + 1, min(first, len(head))) if head[n].strip()]
        units = _texts(head[between[0]], separator) if between else ()
        return at, _texts(head[at], separator), units if _are_units(units) else ()
    units, tried = (), 0
    for n in range(first - 1, -1, -1):
        texts = _texts(head[n], separator)
        if not texts or _lacks_values(texts, kinds):
            continue
        if not units and _are_units(texts):
            units = texts
        elif _is_header(texts, len(kinds)):
            return n, texts, units
        elif units or tried == _ABOVE:
            break
        tried += 1
    return -1, (), units


def _lacks_values(texts: Sequence[str], kinds: Sequence[str]) -> bool:
    """Whether a line is a row in which marks stand for some of the values."""
    if len(texts) > len(kinds):
        return False
    pairs = [(text, kind) for text, kind in zip(texts, kinds, strict=False) if kind in (NUMBER, STAMP)]
    good = [kind_of(text) == kind for text, kind in pairs]
    return any(good) and all(
        fits or text.lower() in MARKS or not text for fits, (text, _) in zip(good, pairs, strict=True)
    )


def _texts(line: str, separator: str) -> tuple[str, ...]:
    """The fields of a header line, without a comment sign before them and empty ones behind."""
    plain = line.strip()
    for sign in COMMENTS:
        plain = plain.removeprefix(sign)
    if separator == " ":
        plain = re.sub(r"\s+([\[(])", r"\1", plain)  # "p [bar]" is one name
    fields = [field.strip().strip('"').strip() for field in split(plain.strip(" "), separator)]
    while fields and not fields[-1]:
        fields.pop()
    return tuple(fields)


def _are_units(texts: Sequence[str]) -> bool:
    """Whether a line holds units: more of its texts are known ones than are not, and all are short."""
    words = [text for text in texts if text.strip("-[]() ")]
    known = sum(unit_of(text) is not None for text in words)
    return 2 * known > len(words) and all(len(text.strip("[]()")) <= 14 for text in words)


def _is_header(texts: Sequence[str], width: int) -> bool:
    """Whether a line names columns: about as many as a row has, most of them words."""
    if not texts or len(texts) > width + 1:
        return False
    words = sum(kind_of(text) == TEXT for text in texts)
    return words >= 1 and words * 2 >= len(texts) and (len(texts) * 2 >= width)


def _padded(texts: tuple[str, ...], kinds: tuple[str, ...], separator: str) -> tuple[str, ...]:
    """The texts brought to the number of columns: under blanks as separator a date and its time have one name."""
    missing = len(kinds) - len(texts)
    if texts and separator == " " and 0 < missing <= 2:
        for column in range(len(kinds) - 1):
            if kinds[column] == STAMP and kinds[column + 1] in (STAMP, TEXT):
                texts = texts[: column + 1] + (texts[column],) * missing + texts[column + 1 :]
                break
    return (texts + ("",) * len(kinds))[: len(kinds)] if texts else ()


def _quoted(line: str, separator: str) -> list[str]:
    """Fields of a line with quotes; unbalanced quotes are plain characters."""
    if line.count('"') % 2:
        return line.split(separator)
    try:
        return next(csv.reader([line], delimiter=separator))
    except (csv.Error, StopIteration):
        return line.split(separator)
