"""Which column holds the pressure and the temperature, in which unit: the plan of reading."""

from simcal.bench.about import Columns, FileForm
from simcal.errors import InputError
from simcal.files.records import words
from simcal.files.records.cell import NUMBER, Form, number
from simcal.files.records.forms import forms_of
from simcal.files.records.layout import SEPARATORS, Layout
from simcal.files.records.longform import channels_of, warm_unit
from simcal.files.records.plan import LongForm, Plan
from simcal.files.records.roles import Roles
from simcal.files.records.times import Timing, timing_of
from simcal.files.records.words import PRESSURE, TEMPERATURE, Unit
from simcal.units import clip


def plan_of(shown: str, layout: Layout, columns: Columns, form: FileForm) -> Plan:
    """The plan of reading a record.

    Raises:
        InputError: a column, a unit or a mark cannot be told; it names the key that would say it.
    """
    if layout.double:
        found = f"{layout.width} columns under {layout.width // 2} names: a decimal comma between commas"
        raise InputError(shown, "file.separator", found, "export with another separator or decimal mark")
    roles = Roles(shown, layout, columns, form)
    roles.assume("file.separator", f'"{SEPARATORS[layout.separator]}"', layout.why)
    if layout.header_line > 0 and form.header_row is None:
        roles.assume("file.header_row", str(layout.header_line + 1), "the line before the rows")
    long = channels_of(roles)
    timing = timing_of(roles)
    pressure = _long_value(roles) if long else _pressure(roles, timing)
    temperature = None if long else _temperature(roles, timing, pressure)
    wanted = [pressure, *([] if temperature is None else [temperature])]
    wanted += [column for column in timing.columns if timing.numeric]
    sample = {n: roles.cells(n) for n, kind in enumerate(layout.kinds) if kind == NUMBER or n in wanted}
    forms, why = forms_of(shown, sample, wanted, form)
    roles.assume("file.decimal", f'"{forms[pressure].decimal}"', why)
    if form.thousands is None and forms[pressure].thousands:
        roles.assume("file.thousands", f'"{forms[pressure].thousands}"'.replace('" "', '"blank"'), "numbers prove it")
    timing = timing.with_values(roles, forms)
    unit = _pressure_unit(roles, pressure, forms[pressure].decimal, long)
    warm = warm_unit(roles, long) if long else _temperature_unit(roles, temperature)
    if warm is None:
        temperature = None
    return Plan(
        layout=layout,
        time=timing.columns,
        time_kind=timing.kind,
        time_unit=timing.unit,
        pressure=pressure,
        unit=unit,
        temperature=temperature,
        temperature_unit=warm,
        forms=forms,
        long=long,
        assumed=tuple(roles.assumed),
        notes=tuple(roles.notes),
        shown=_shown(roles, timing, pressure, unit, temperature, warm, long),
    )


def _pressure(roles: Roles, timing: Timing) -> int:
    """The column of the pressure: as stated, by header or unit, else the only one left."""
    stated = roles.stated("pressure", roles.columns.pressure)
    if stated is not None:
        return stated
    free = [n for n in range(roles.layout.width) if n not in timing.columns and roles.layout.kinds[n] == NUMBER]
    known = [n for n in free if roles.role(n) == PRESSURE]
    plain = [n for n in known if not words.ASIDE & set(words.tokens_of(roles.names[n]))]
    found = plain if len(known) > 1 and len(plain) == 1 else known
    why = "its header names a pressure"
    if not known:
        aside = words.COUNTERS | words.ASIDE
        open_roles = (None, words.VALUE)
        found = [n for n in free if roles.role(n) in open_roles and not aside & set(words.tokens_of(roles.names[n]))]
        why = "the only other column of numbers"
    if len(found) == 1:
        if len(known) > 1:
            why = "the only pressure that is no setpoint, limit or other place"
        roles.assume("columns.pressure", roles.key(found[0]), why)
        return found[0]
    if not found:
        names = ", ".join(roles.name(n) for n in range(min(roles.layout.width, 8)))
        raise roles.fault("columns.pressure", "no column of pressures was found", f"say which of {names}")
    names = ", ".join(roles.name(n) for n in found[:6])
    raise roles.fault("columns.pressure", f"{len(found)} columns may be the pressure: {names}", "say which")


def _long_value(roles: Roles) -> int:
    stated = roles.stated("value", roles.columns.value)
    if stated is not None:
        return stated
    found = next(n for n in range(roles.layout.width) if roles.role(n) == words.VALUE)
    roles.assume("columns.value", roles.key(found), "its header says so")
    return found


def _temperature(roles: Roles, timing: Timing, pressure: int) -> int | None:
    """The column of the temperature: as stated, else the only one that a header names."""
    stated = roles.stated("temperature", roles.columns.temperature)
    if stated is not None:
        return stated
    found = [
        n
        for n in range(roles.layout.width)
        if n not in timing.columns and n != pressure and roles.layout.kinds[n] == NUMBER
        and roles.role(n) == TEMPERATURE
    ]  # fmt: skip
    if len(found) == 1:
        roles.assume("columns.temperature", roles.key(found[0]), "its header names a temperature")
        return found[0]
    if found:
        names = ", ".join(roles.name(n) for n in found[:6])
        roles.notes.append(
            f"no temperature is taken: {len(found)} columns may be it ({names}); say columns.temperature"
        )
    return None


def _pressure_unit(roles: Roles, column: int, decimal: str, long: LongForm | None) -> Unit | None:
    """The unit of the pressure; None where cells or rows carry their own."""
    said = roles.unit(column)
    if roles.columns.unit is not None:
        return Unit(PRESSURE, roles.columns.unit)
    if long is not None and long.unit is not None:
        return None
    if long is not None:
        said = words.header_unit(long.pressure) or said
    if said is not None and said.kind == PRESSURE:
        if said.name in words.AMBIGUOUS:
            found = f"{roles.name(column)} is in {said.name} without the temperature meant"
            raise roles.fault("columns.unit", found, f'"{words.AMBIGUOUS[said.name]}" or another unit')
        roles.assume("columns.unit", f'"{said.name}"', f"header of {roles.name(column)}")
        return said
    in_cells = [unit for cell in roles.cells(column)[:50] if (unit := _cell_unit(cell, decimal)) is not None]
    if in_cells and all(unit.kind == PRESSURE for unit in in_cells):
        roles.assume("columns.unit", f'"{in_cells[0].name}"', "written in the cells")
        return None
    what = (
        f"{roles.name(column)} is in {said.name}"
        if said is not None
        else f"{roles.name(column)} names no unit of pressure"
    )
    raise roles.fault("columns.unit", what, 'the unit of the pressure, columns = { unit = "kPa" }')


def _cell_unit(cell: str, decimal: str) -> Unit | None:
    return number(cell, Form(decimal, "" if decimal == "." else "."))[1]


def _temperature_unit(roles: Roles, column: int | None) -> Unit | None:
    if column is None:
        return None
    if roles.columns.temperature_unit is not None:
        return Unit(TEMPERATURE, roles.columns.temperature_unit)
    said = roles.unit(column)
    if said is not None and said.kind == TEMPERATURE:
        roles.assume("columns.temperature_unit", f'"{said.name}"', f"header of {roles.name(column)}")
        return said
    if roles.columns.temperature is not None:
        found = f"{roles.name(column)} names no unit"
        raise roles.fault("columns.temperature_unit", found, 'temperature_unit = "degC"')
    roles.notes.append(f"no temperature is taken: {roles.name(column)} names no unit; say columns.temperature_unit")
    roles.assumed[:] = [one for one in roles.assumed if one.key != "columns.temperature"]
    return None


def _shown(
    roles: Roles,
    timing: Timing,
    pressure: int,
    unit: Unit | None,
    temperature: int | None,
    warm: Unit | None,
    long: LongForm | None,
) -> dict[str, str]:
    """What is read from where, for people."""
    time = " and ".join(roles.name(n) for n in timing.columns)
    found = {"time": f"{time}, {timing.said}"}
    own = unit.name if unit is not None else "its own units"
    if long is not None:
        found["pressure"] = f"{roles.name(pressure)} where {roles.name(long.channel)} is {clip(long.pressure)}, {own}"
        if long.temperature is not None:
            found["temperature"] = f"the same where it is {clip(long.temperature)}"
        return found
    found["pressure"] = f"{roles.name(pressure)}, {own}"
    if temperature is not None and warm is not None:
        found["temperature"] = f"{roles.name(temperature)}, {warm.name}"
    return found
