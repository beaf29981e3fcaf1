"""What the headers and the user say of each column."""

from dataclasses import dataclass, field

from simcal.bench.about import Columns, FileForm
from simcal.bench.values import Assumed
from simcal.errors import InputError
from simcal.files.records import words
from simcal.files.records.layout import Layout
from simcal.files.records.words import TEMPERATURE, Unit
from simcal.units import clip


@dataclass
class Roles:
    """The columns of one record while their meaning is found; what was not stated collects in `assumed`."""

    shown: str
    layout: Layout
    columns: Columns
    form: FileForm
    assumed: list[Assumed] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    @property
    def names(self) -> tuple[str, ...]:
        """Header text of each column, "" where there is none."""
        return self.layout.header or ("",) * self.layout.width

    def cells(self, column: int) -> list[str]:
        """The sample of one column."""
        return [fields[column].strip() for fields in self.layout.rows]

    def name(self, column: int) -> str:
        """A column for people."""
        text = self.names[column]
        return f"column {column + 1} {clip(text)}" if text else f"column {column + 1}"

    def key(self, column: int) -> str:
        """A column as one would write it in an about-file."""
        text = self.names[column]
        plain = text.isprintable() and not set('"\\') & set(text) and self.names.count(text) == 1
        return f'"{text}"' if text and plain and len(text) <= 200 else str(column + 1)

    def fault(self, place: str, found: str, right: str) -> InputError:
        """A refusal."""
        return InputError(self.shown, place, found, right)

    def assume(self, key: str, value: str, why: str) -> None:
        """Note what nobody stated, as it would be written in the about-file."""
        if why:
            self.assumed.append(Assumed(key, value, why))

    def stated(self, key: str, wanted: str | int | None) -> int | None:
        """The column the user named, from 0; None when the user named none.

        Raises:
            InputError: there is no such column, or there are two.
        """
        if wanted is None:
            return None
        if isinstance(wanted, int):
            if wanted > self.layout.width:
                raise self.fault(f"columns.{key}", f"column {wanted}", f"the rows have {self.layout.width} columns")
            return wanted - 1
        texts = [text.casefold() for text in self.names]
        found = [n for n, text in enumerate(texts) if text == wanted.casefold()]
        if not found:
            bare = [_bare(text) for text in texts]
            found = [n for n, text in enumerate(bare) if text == _bare(wanted.casefold())]
        if len(found) == 1:
            return found[0]
        if found:
            right = f"its number, {' or '.join(str(n + 1) for n in found)}"
            raise self.fault(f"columns.{key}", f"{len(found)} columns named {clip(wanted)}", right)
        known = ", ".join(text for text in self.names if text) or "none; give its number from 1"
        raise self.fault(f"columns.{key}", f"no column named {clip(wanted)}", f"the header has {known[:150]}")

    def unit(self, column: int) -> Unit | None:
        """The unit of a column by its header or the units row."""
        if self.layout.units and self.layout.units[column]:
            unit = words.unit_of(self.layout.units[column])
            if unit is not None:
                return unit
        return words.header_unit(self.names[column])

    def role(self, column: int) -> str | None:
        """What a column's header says it holds."""
        unit, said = self.unit(column), words.role_of(self.names[column])
        if unit is None or said in (words.CHANNEL, words.DATE):
            return said
        if unit.kind == words.TIME and said not in (None, words.TIME, TEMPERATURE):
            return said
        return unit.kind


def _bare(text: str) -> str:
    """A header without its unit."""
    for mark in "[(":
        text = text.partition(mark)[0]
    return text.strip(" _:")
