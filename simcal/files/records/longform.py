"""Records with one row a channel: which channel is the pressure, which the temperature."""

from collections.abc import Sequence

from simcal.files.records import words
from simcal.files.records.cell import NUMBER, TEXT
from simcal.files.records.plan import LongForm
from simcal.files.records.roles import Roles
from simcal.files.records.words import PRESSURE, TEMPERATURE, Unit
from simcal.units import clip


def channels_of(roles: Roles) -> LongForm | None:
    """The channels of a record in long form; None for a record with a column for each quantity.

    Raises:
        InputError: no channel, or several, can be the pressure.
    """
    channel = roles.stated("channel", roles.columns.channel)
    if channel is None:
        channel = _by_header(roles)
    if channel is None:
        return None
    unit = _only(roles, words.UNIT, TEXT)
    names = list(dict.fromkeys(name for name in roles.cells(channel) if name))
    pressure = _pressure(roles, names, _units(roles, channel, unit))
    if roles.columns.channel is None:
        roles.assume("columns.channel", roles.key(channel), "its header says so")
    return LongForm(channel, unit, pressure, _temperature(roles, names, pressure, _units(roles, channel, unit)))


def warm_unit(roles: Roles, long: LongForm) -> Unit | None:
    """The unit of the temperature's channel; None where each row says its own, or there is no such channel."""
    if long.temperature is None or long.unit is not None:
        return None
    if roles.columns.temperature_unit is not None:
        return Unit(TEMPERATURE, roles.columns.temperature_unit)
    return words.header_unit(long.temperature)


def _by_header(roles: Roles) -> int | None:
    """The column of channel names, where headers name it and a column of values, and none names a pressure."""
    value, channel = _only(roles, words.VALUE, NUMBER), _only(roles, words.CHANNEL, TEXT)
    named = any(roles.role(n) == PRESSURE for n, kind in enumerate(roles.layout.kinds) if kind == NUMBER and n != value)
    return None if value is None or named else channel


def _only(roles: Roles, role: str, kind: str) -> int | None:
    """The only column of a role and kind."""
    found = [n for n, one in enumerate(roles.layout.kinds) if one == kind and roles.role(n) == role]
    return found[0] if len(found) == 1 else None


def _units(roles: Roles, channel: int, unit: int | None) -> dict[str, Unit]:
    """Unit of each channel, by the unit column or by its own name."""
    found = {}
    for row in roles.layout.rows:
        name = row[channel].strip()
        known = words.unit_of(row[unit]) if unit is not None else words.header_unit(name)
        if name not in found and known is not None:
            found[name] = known
    return found


def _pressure(roles: Roles, names: Sequence[str], units: dict[str, Unit]) -> str:
    wanted = roles.columns.pressure
    if wanted is not None:
        found = [name for name in names if name.casefold() == str(wanted).casefold()]
        if found:
            return found[0]
        raise roles.fault("columns.pressure", f"no channel {clip(wanted)}", f"one of {', '.join(names)[:150]}")
    by_unit = [name for name in names if name in units and units[name].kind == PRESSURE]
    found = by_unit or [name for name in names if words.role_of(name) == PRESSURE]
    plain = [name for name in found if not words.ASIDE & set(words.tokens_of(name))]
    found = plain if len(found) > 1 and plain else found
    if len(found) == 1:
        roles.assume("columns.pressure", f'"{found[0]}"', "the only channel that is a pressure")
        return found[0]
    what = f"{len(found)} channels may be the pressure" if found else "no channel is known to be the pressure"
    raise roles.fault("columns.pressure", what, f"one of {', '.join(names)[:150]}")


def _temperature(roles: Roles, names: Sequence[str], pressure: str, units: dict[str, Unit]) -> str | None:
    wanted = roles.columns.temperature
    if wanted is not None:
        found = [name for name in names if name.casefold() == str(wanted).casefold()]
        if found:
            return found[0]
        raise roles.fault("columns.temperature", f"no channel {clip(wanted)}", f"one of {', '.join(names)[:150]}")
    found = [name for name in names if name != pressure and name in units and units[name].kind == TEMPERATURE]
    if len(found) == 1:
        roles.assume("columns.temperature", f'"{found[0]}"', "the only channel that is a temperature")
        return found[0]
    if found:
        roles.notes.append(f"no temperature is taken: channels {', '.join(found)[:150]}; say columns.temperature")
    return None
