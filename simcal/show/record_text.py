"""What the reader understood of a record, as text: figures first, then the lines for the about-file."""

import numpy as np

from simcal.bench.about import About
from simcal.bench.record import FROZEN, GAP, SAME_TIME, SPIKE, Flag, Record
from simcal.show.level_units import level_unit, unit_of_levels
from simcal.show.table import Column, aligned
from simcal.show.words import PRESSURE_UNITS, plain

_NAMES = {
    SPIKE: ("spike", "spikes"),
    GAP: ("gap", "gaps"),
    FROZEN: ("frozen stretch", "frozen stretches"),
    SAME_TIME: ("stretch of one time", "stretches of one time"),
}
_LISTED = 5


_FOR_A_RATE = {
    "reading": '"gauge" or "absolute": what the pressure is above, never guessed',
    "isolated_at": 'when the valves shut, like "30 s" on the record\'s time or "10:30:20" on its clock',
    "gas": '"nitrogen", "air", "helium" or "argon"',
    "capacity": 'everything between the closed valves, like "250 cm3 +- 5 %"',
}
_FOR_A_VERDICT = {
    "permitted_leak": 'like "2e-7 mol/s", "1e-4 Pa m3/s", "0.2 sccm(0 degC)" or "50 Pa/min"',
}


def record_text(record: Record, said: About, about: str, unicode: bool = True) -> str:
    """All that a person needs to see whether a record was understood.

    Args:
        record: the record.
        said: what is stated about it.
        about: name of the about-file in which what was assumed can be stated.
        unicode: whether the stream takes more than ASCII.
    """
    lines = [
        _sentence(record, said),
        "",
        *_columns(record),
        "",
        *_rows(record, said),
        "",
        *_remarks(record),
        *_assumed(record, about),
        *_missing(record, said, about),
    ]
    text = "\n".join(line.rstrip() for line in lines)
    return (text if unicode else text.encode("ascii", "replace").decode("ascii")) + "\n"


def _sentence(record: Record, said: About) -> str:
    span = sum(record.time_s[last] - record.time_s[first] for first, last in record.segments)
    scale, unit = _scale(record, said)
    low, high = float(record.pressure_Pa.min()) / scale, float(record.pressure_Pa.max()) / scale
    digits = _digits(record, scale)
    what = f" {record.reference}" if record.reference else ", gauge or absolute not stated"
    rows = f"{len(record.time_s)} row{'s' if len(record.time_s) != 1 else ''}"
    return f"{plain(record.name)}: {rows} over {span:.6g} s, {low:.{digits}f} to {high:.{digits}f} {unit}{what}"


def _columns(record: Record) -> list[str]:
    return [f"{name}: {plain(text)}" for name, text in record.columns.items()]


def _rows(record: Record, said: About) -> list[str]:
    """First and last rows of the record."""
    count = len(record.time_s)
    shown = list(range(min(3, count))) + list(range(max(count - 2, 3), count))
    scale, unit = _scale(record, said)
    digits = _digits(record, scale)
    columns = [Column("row"), Column("time", "s"), Column("pressure", unit)]
    if record.temperature_K is not None:
        columns.append(Column("temperature", "degC"))
    cells = []
    for n in shown:
        row = [str(n), f"{record.time_s[n]:.10g}", f"{record.pressure_Pa[n] / scale:.{digits}f}"]
        if record.temperature_K is not None:
            row.append(f"{record.temperature_K[n] - 273.15:.3f}")
        cells.append(row)
    return aligned(columns, cells)


def _remarks(record: Record) -> list[str]:
    """Segments, step, what was dropped, what was marked and kept."""
    lines = []
    if len(record.segments) > 1:
        shown = ", ".join(f"{first}..{last}" for first, last in record.segments[:_LISTED])
        more = len(record.segments) - _LISTED
        lines.append(f"{len(record.segments)} segments, rows {shown}{f' and {more} more' if more > 0 else ''}")
    steps = np.diff(record.time_s)
    steps = steps[steps > 0.0]
    if len(steps):
        lines.append(f"usual step {float(np.median(steps)):.4g} s")
    if record.clock_start is not None:
        form = "%Y-%m-%d %H:%M:%S" if record.dated else "%H:%M:%S"
        lines.append(f"0 s is {record.clock_start.strftime(form)}{record.clock_start.strftime(' %z').rstrip()}")
    lines.append(
        "the pressure never changes"
        if record.resolution_Pa is None
        else f"smallest step of the pressure {record.resolution_Pa:.4g} Pa"
    )
    for reason, count in record.dropped.items():
        lines.append(f"dropped: {count} x {plain(reason)}")
    for kind, count in record.marks.items():
        lines.append(_marked(kind, count, [flag for flag in record.flags if flag.kind == kind]))
    return [*lines, *(plain(note) for note in record.notes), ""]


def _marked(kind: str, count: int, flags: list[Flag]) -> str:
    one, many = _NAMES[kind]
    shown = ", ".join(f"{flag.first}..{flag.last}" for flag in flags[:_LISTED])
    more = f" and {count - _LISTED} more" if count > _LISTED else ""
    but = "; `judge` leaves them out but for the first row" if kind == FROZEN else ""
    return f"marked and kept: {count} {one if count == 1 else many}, rows {shown}{more}{but}"


def _assumed(record: Record, about: str) -> list[str]:
    """What nobody stated, as the lines that would state it."""
    if not record.assumed:
        return ["nothing was assumed"]
    written = [f"    {one.key} = {one.value}" for one in record.assumed]
    wide = max(map(len, written))
    head = f"assumed; at the top of {plain(about)} these lines state it, changed where they are wrong:"
    return [head, *(f"{w:<{wide}}  # {plain(a.why)}" for w, a in zip(written, record.assumed, strict=True))]


def _missing(record: Record, said: About, about: str) -> list[str]:
    """What `judge` still needs, as lines to fill in: an example taken over as it stands would be a guess."""
    lines: list[str] = []
    for aim, wanted in (("a rate", _FOR_A_RATE), ("a verdict", _FOR_A_VERDICT)):
        lacking = [key for key in wanted if getattr(said, key) is None]
        lacking = [key for key in lacking if key != "reading" or record.reference is None]
        if lacking:
            wide = max(map(len, lacking))
            lines += ["", f"for {aim} add to {plain(about)}, filled in:"]
            lines += [f'    {key:<{wide}} = "..."  # {wanted[key]}' for key in lacking]
    return lines


def _scale(record: Record, said: About) -> tuple[float, str]:
    """Pa in the unit of the text, and its name: as `judge` and `hold` choose it."""
    unit = level_unit([float(np.abs(record.pressure_Pa).max())], unit_of_levels(said.texts))
    return PRESSURE_UNITS[unit], unit


def _digits(record: Record, scale: float) -> int:
    """Decimals that show the smallest step."""
    if record.resolution_Pa is None or record.resolution_Pa <= 0.0:
        return 3
    return int(np.clip(np.ceil(-np.log10(record.resolution_Pa / scale) - 1e-6), 0, 9))
