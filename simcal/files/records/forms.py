"""Decimal and thousands marks, settled by what the numbers of all columns prove."""

from collections import Counter
from collections.abc import Mapping, Sequence

from simcal.bench.about import FileForm
from simcal.errors import InputError
from simcal.files.records.cell import Form, proofs

_NAMES = {"blank": " ", "none": ""}


def forms_of(
    shown: str, cells: Mapping[int, Sequence[str]], wanted: Sequence[int], form: FileForm
) -> tuple[dict[int, Form], str]:
    """The form of each wanted column, and why ("" when stated).

    A mark is a column's decimal mark when a cell proves it (7,25), its thousands mark when a cell proves that
    (1.234.567). What a column leaves open is settled by the other columns; what they leave open too is refused,
    except a single point, which is decimal where nothing speaks for groups.

    Args:
        shown: the record's name.
        cells: a sample of the cells of every column with numbers.
        wanted: the columns that are read.
        form: what the user said.

    Raises:
        InputError: a mark that could be either.
    """
    found = {column: proofs(sample) for column, sample in cells.items()}
    every: Counter[str] = Counter()
    for one in found.values():
        every.update(one)
    if form.decimal is not None:
        return {column: _stated(found[column], form) for column in wanted}, ""
    settled = {column: _settled(shown, column, found[column], every, form) for column in wanted}
    comma = any(one.decimal == "," for one in settled.values())
    return settled, "numbers like 7,25 prove it" if comma else "no number speaks against it"


def _stated(own: Counter[str], form: FileForm) -> Form:
    decimal = form.decimal or "."
    other = "," if decimal == "." else "."
    if own[f"thousands {decimal}"] and not own[f"decimal {decimal}"]:
        return Form(other, decimal)  # several such marks in one number can only be groups
    return Form(decimal, _thousands(own, other, form))


def _thousands(own: Counter[str], other: str, form: FileForm) -> str:
    if form.thousands is not None:
        return _NAMES.get(form.thousands, form.thousands)
    seen = [mark for mark in (" ", "'", other) if own[f"thousands {mark}"] or own[f"either {mark}"]]
    return seen[0] if seen else ""


def _settled(shown: str, column: int, own: Counter[str], every: Counter[str], form: FileForm) -> Form:
    """The form of one column from its own proofs, then from everybody's."""
    for mark in ".,":
        if own[f"decimal {mark}"] and own[f"thousands {mark}"]:
            place, found = (
                f"column {column + 1}",
                f'"{mark}" is the decimal mark in some rows and groups digits in others',
            )
            raise InputError(shown, place, found, "one way of writing numbers, or file.decimal and file.thousands")
    for mark, other in ((".", ","), (",", ".")):
        if own[f"thousands {mark}"]:
            return Form(other, mark)
    for mark, other in ((".", ","), (",", ".")):
        if own[f"decimal {mark}"]:
            return Form(mark, _thousands(own, other, form))
    for mark, other in ((",", "."), (".", ",")):
        if own[f"either {mark}"]:
            return _either(shown, column, mark, other, own, every, form)
    mark = "," if every["decimal ,"] and not every["decimal ."] else "."
    return Form(mark, _thousands(own, "." if mark == "," else ",", form))


def _either(
    shown: str, column: int, mark: str, other: str, own: Counter[str], every: Counter[str], form: FileForm
) -> Form:
    """A column in which every number with a mark is like 1,234."""
    stated = _NAMES.get(form.thousands, form.thousands) if form.thousands is not None else None
    if stated == mark or (every[f"decimal {other}"] and not every[f"decimal {mark}"]):
        return Form(other, mark)
    if stated is not None or (every[f"decimal {mark}"] and not every[f"thousands {mark}"]):
        return Form(mark, _thousands(own, other, form))
    if mark == "." and not every["thousands ."]:
        return Form(".", _thousands(own, ",", form))
    found = f'"{mark}" in numbers like 1{mark}234 may be the decimal mark or group digits'
    raise InputError(shown, f"column {column + 1}", found, f'file.decimal = "{mark}" or "{other}"')
