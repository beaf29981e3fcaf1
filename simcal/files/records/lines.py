"""One line of a record as the fields of a row, or what it is instead."""

from simcal.files.records.layout import COMMENTS, split
from simcal.files.records.plan import Plan
from simcal.files.records.source import WIDEST, tidy

HEADER, COMMENT, BROKEN = "repeated header", "comment", "broken by zero bytes"
FEWER, MORE = "fewer columns than other rows", "more columns than other rows"


def fields_of(raw: str, plan: Plan) -> list[str] | str:
    """The fields of a row; none for a blank line; else, as text, why the line is no row (`HEADER`: it stands again)."""
    line = tidy(raw).strip("\r\n")
    if "\0" in line:
        line = line.lstrip("\0")
        if "\0" in line or not line:
            return BROKEN if line.strip("\0 ") else "line of zero bytes"
    text = line.strip()
    if not text:
        return []
    if text.startswith(COMMENTS):
        return COMMENT
    if text == plan.layout.header_text:
        return HEADER
    if len(line) > WIDEST:
        return f"line longer than {WIDEST} characters"
    fields = split(line, plan.layout.separator)
    return fields if len(fields) == plan.layout.width else _repaired(fields, plan)


def _repaired(fields: list[str], plan: Plan) -> list[str] | str:
    """A row with more or fewer fields than usual, where the needed ones are still certain."""
    layout, needed = plan.layout, plan.needed
    surplus = len(fields) - layout.width
    if surplus > 0:
        if not any(field.strip() for field in fields[layout.width :]) or layout.kinds[-1] == "text":
            return fields[: layout.width]
        texts = [n for n, kind in enumerate(layout.kinds) if kind == "text" and n not in needed]
        return MORE if len(texts) != 1 else fields[: texts[0] + 1] + fields[texts[0] + 1 + surplus :]
    if len(fields) > needed[-1] and all(kind in ("text", "blank") for kind in layout.kinds[len(fields) :]):
        return fields + [""] * -surplus
    return FEWER
