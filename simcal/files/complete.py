"""What one key of a table means for another: exclusive pairs, and defaults that follow from other values.

A function of `COMPLETE` gets the values that were read (by field name), fills in what follows, and reports
what contradicts; `UNSAID` names the defaults that do not matter beside those values and need no word in
`assumed`.
"""

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from simcal.bench.bench import Bench
from simcal.bench.control import Controller, Gains
from simcal.bench.gauges import Accuracy, Device, Figure
from simcal.bench.lab import BANDS, Air, Instrument, Reference, Rule
from simcal.bench.meta import Key, keys_of
from simcal.bench.parts import Exhaust, Leak, Room, Supply, Valve, Volume, Wall
from simcal.bench.seal import RADIAL, Seal
from simcal.bench.sequence import Point, Sequence
from simcal.bench.year import Away, Exchange, Failures, Staff, Work
from simcal.files.complete_lab import complete_air, complete_instrument, complete_reference, complete_rule
from simcal.files.complete_seal import complete_seal
from simcal.files.complete_year import complete_exchange, complete_spell, complete_staff, complete_work
from simcal.files.context import FACTOR_TWO, Context
from simcal.files.leak_rate import amount

_DERIVED_SPREAD = 0.1
_LONGEST_RATIO = 5000.0
_SHORTEST_RATIO = 0.02

Values = dict[str, Any]


def _meta(cls: type, name: str) -> Key:
    return keys_of(cls)[name][1]


def _room(values: Values, _place: str, context: Context) -> None:
    context.barometer = values.get("barometer", Room.barometer)
    context.room_temperature = values.get("temperature", Room.temperature)


def _supply(values: Values, place: str, context: Context) -> None:
    values.setdefault("temperature", context.room_temperature)
    context.supply_pressure = values["pressure"]
    if ("droop" in values) != ("droop_at" in values):
        missing = "droop_at" if "droop" in values else "droop"
        context.report.add(f"{place}.{missing}", "missing", "droop and droop_at come together")
    elif values.get("droop", 0.0) >= values["pressure"]:
        context.report.add(f"{place}.droop", "as large as the pressure", "a smaller droop")


def _exhaust(values: Values, place: str, context: Context) -> None:
    if "pressure" not in values:
        values["pressure"] = context.barometer
        context.assume(f"{place}.pressure", f"{context.barometer:.6g} Pa abs", "leads to the room")


def _wall(_values: Values, place: str, context: Context) -> None:
    stated = f"{place}.film" in context.spreads or f"{place}.film_factor" in context.spreads
    if not stated:
        context.spread(f"{place}.film_factor", FACTOR_TWO, "log", _meta(Wall, "film_factor"))


def _volume(values: Values, place: str, context: Context) -> None:
    wall: Wall | None = values.get("wall")
    if "capacity" not in values:
        capacity = _capacity(wall, values.get("length"))
        if capacity is None:
            right = 'state it, or a wall with bore and the length: capacity = "100 cm3"'
            context.report.add(f"{place}.capacity", "missing or unknown", right)
            return
        values["capacity"] = capacity
        context.spread(f"{place}.capacity", _DERIVED_SPREAD * capacity, "normal", _meta(Volume, "capacity"))
        context.assume(f"{place}.capacity", f"{capacity * 1e6:.4g} cm3 +- 10 %", "from the bore and length of the wall")
    if wall is None:
        values["wall"] = _default_wall(values["capacity"], f"{place}.wall", context)
    elif wall.bore == 0.0:
        values["wall"] = replace(wall, bore=_bore(values["capacity"], wall.shape))
        _assume_bore(values["wall"].bore, f"{place}.wall", context)
    _check_shape(values, place, context)


def _capacity(wall: Wall | None, length: float | None) -> float | None:
    """Of a stated hollow, m3; None when it is not stated enough."""
    if wall is None or wall.bore == 0.0 or wall.shape == "slab":
        return None
    if wall.shape == "sphere":
        return math.pi / 6.0 * wall.bore**3
    return math.pi / 4.0 * wall.bore**2 * length if length else None


def _bore(capacity: float, shape: str) -> float:
    """Bore of a hollow of known capacity: of a cylinder two bores long, a sphere, a flat slab."""
    if shape == "sphere":
        return (6.0 * capacity / math.pi) ** (1.0 / 3.0)
    if shape == "slab":
        return 0.2 * capacity ** (1.0 / 3.0)
    return (2.0 * capacity / math.pi) ** (1.0 / 3.0)


def _default_wall(capacity: float, place: str, context: Context) -> Wall:
    wall = Wall(bore=_bore(capacity, "cylinder"))
    context.spread(f"{place}.bore", FACTOR_TWO, "log", _meta(Wall, "bore"))
    context.spread(f"{place}.thickness", FACTOR_TWO, "log", _meta(Wall, "thickness"))
    context.spread(f"{place}.film_factor", FACTOR_TWO, "log", _meta(Wall, "film_factor"))
    shown = f"steel cylinder, bore {wall.bore * 1e3:.3g} mm, 3 mm thick, both within a factor of two"
    context.assume(place, shown, "no wall stated: two bores long")
    return wall


def _assume_bore(bore: float, place: str, context: Context) -> None:
    context.spread(f"{place}.bore", FACTOR_TWO, "log", _meta(Wall, "bore"))
    context.assume(
        f"{place}.bore", f"{bore * 1e3:.3g} mm, within a factor of two", "from the capacity and a usual shape"
    )


def _check_shape(values: Values, place: str, context: Context) -> None:
    """A capacity and a wall that cannot belong together."""
    wall, capacity = values["wall"], values["capacity"]
    if wall.shape == "sphere":
        whole = math.pi / 6.0 * wall.bore**3
        if not 0.5 <= capacity / whole <= 2.0:
            found = f"a sphere of that bore holds {whole * 1e6:.4g} cm3, not {capacity * 1e6:.4g} cm3"
            context.report.add(f"{place}.wall.bore", found, "the bore that goes with the capacity")
    if wall.shape == "cylinder":
        ratio = capacity / (math.pi / 4.0 * wall.bore**2) / wall.bore
        if not _SHORTEST_RATIO <= ratio <= _LONGEST_RATIO:
            found = f"a cylinder of that bore and capacity is {ratio:.3g} bores long"
            context.report.add(f"{place}.wall.bore", found, "the bore that goes with the capacity")


def _valve(values: Values, place: str, context: Context) -> None:
    _exactly_one(values, ("conductance", "kv"), place, 'conductance = "1e-10 m3/(s Pa)"', context)
    if "seat_at" not in values:
        values["seat_at"] = context.supply_pressure
        if values.get("seat", 0.0) > 0.0:
            context.assume(f"{place}.seat_at", f"{context.supply_pressure / 1e5:.6g} bar abs", "the supply's pressure")
    if values.get("drive") == "pulsed" and values.get("min_pulse", 0.0) <= 0.0:
        context.report.add(f"{place}.min_pulse", "missing", 'a pulsed valve has one, min_pulse = "1 ms"')


def _leak(values: Values, place: str, context: Context) -> None:
    if values["at"] == values.get("to"):
        context.report.add(f"{place}.to", "leaks into itself", '"room", or another volume')
    if "rate" in values:
        amount(values, place, context)
    if values.get("law") == "permeation":
        _permeation(values, place, context)
        return
    for name in ("lag", "permeability", "diffusivity", "area", "thickness"):
        if name in values:
            context.report.add(f"{place}.{name}", "is of permeation only", 'law = "permeation", or leave it out')
    if not _exactly_one(values, ("rate", "diameter"), place, 'rate = "2e-8 mol/s"', context):
        return
    if "rate" in values and "rate_at" not in values:
        right = 'the pressure of that rate, rate_at = "20 bar abs"'
        context.report.add(f"{place}.rate_at", "missing", right)
    if "diameter" in values and values.get("law", "hole") != "hole":
        context.report.add(f"{place}.diameter", "a diameter is that of a hole", 'law = "hole", or state a rate')


def _permeation(values: Values, place: str, context: Context) -> None:
    """A rate with its pressure, or the wall's permeability and size; a lag, or diffusivity and thickness."""
    if "diameter" in values:
        context.report.add(f"{place}.diameter", "a diameter is that of a hole", 'law = "hole", or leave it out')
    if not _exactly_one(values, ("rate", "permeability"), place, 'rate = "1e-11 mol/s"', context):
        return
    if not _exactly_one(values, ("lag", "diffusivity"), place, 'lag = "2 h"', context):
        return
    needed = {"rate_at": '"20 bar abs"'} if "rate" in values else {"area": '"300 mm2"', "thickness": '"2 mm"'}
    if "diffusivity" in values:
        needed["thickness"] = '"2 mm"'
    for name, example in needed.items():
        if name not in values:
            context.report.add(f"{place}.{name}", "missing", f"add {name} = {example}")


def _accuracy(values: Values, place: str, context: Context) -> None:
    _figure(values, place, context, '{ span = "0.1 %", is = "limits" }')


def _figure(values: Values, place: str, context: Context, right: str = '{ span = "0.1 %" }') -> None:
    if values.get("span", 0.0) == 0.0 and values.get("reading", 0.0) == 0.0:
        context.report.add(place, "states neither span nor reading", right)
    if values.get("floor", 0.0) > 0.0 and values.get("reading", 0.0) == 0.0:
        context.report.add(f"{place}.floor", "a floor without reading", 'reading = "0.025 %" beside it')


def _device(values: Values, place: str, context: Context) -> None:
    if "accuracy" not in values and "allowance" not in values:
        right = 'accuracy = { span = "0.1 %", is = "limits" }, or an allowance'
        context.report.add(f"{place}.accuracy", "missing", right)


def _gains(values: Values, _place: str, _context: Context) -> None:
    values.setdefault("filter", values.get("td", 0.0) / 8.0)
    values.setdefault("track", values.get("ti", math.inf))


def _controller(values: Values, place: str, context: Context) -> None:
    ways = ("tuning", "gains", "behaviour")
    stated = [way for way in ways if way in values]
    if not stated:
        values["tuning"] = "simc"
        context.assume(f"{place}.tuning", "simc", "nothing said of its gains or behaviour")
    elif len(stated) > 1:
        context.report.add(f"{place}.{stated[1]}", f"{' and '.join(stated)} are given", "one of them")


def _sequence(values: Values, _place: str, _context: Context) -> None:
    values.setdefault("soak", values.get("window", Sequence.window))


def _bench(values: Values, _place: str, context: Context) -> None:
    if "exhaust" not in values:
        exhaust: Values = {}
        _exhaust(exhaust, "exhaust", context)
        values["exhaust"] = Exhaust(**exhaust)
    if "room" not in values:
        context.assume("room", "20 degC, 101325 Pa abs, steady", "no [room] stated")
    if not values.get("sequences"):
        points = tuple(Point(percent=share) for share in (0.0, 50.0, 100.0, 50.0, 0.0))
        values["sequences"] = {"up_down": Sequence(points=points, soak=Sequence.window)}
        context.assume("sequence.up_down", "0 %, 50 %, 100 %, 50 %, 0 %, held", "no sequence stated")


def _exactly_one(values: Values, pair: tuple[str, str], place: str, example: str, context: Context) -> bool:
    stated = [name for name in pair if name in values]
    if len(stated) == 1:
        return True
    if not stated:
        context.report.add(f"{place}.{pair[0]}", "missing", f"add {example}, or {pair[1]}")
    else:
        context.report.add(f"{place}.{pair[1]}", f"{pair[0]} and {pair[1]} are both given", "one of them")
    return False


COMPLETE: dict[type, Callable[[Values, str, Context], None]] = {
    Room: _room,
    Supply: _supply,
    Exhaust: _exhaust,
    Wall: _wall,
    Volume: _volume,
    Valve: _valve,
    Leak: _leak,
    Seal: complete_seal,
    Figure: _figure,
    Accuracy: _accuracy,
    Device: _device,
    Gains: _gains,
    Controller: _controller,
    Sequence: _sequence,
    Bench: _bench,
    Air: complete_air,
    Instrument: complete_instrument,
    Reference: complete_reference,
    Rule: complete_rule,
    Staff: complete_staff,
    Work: complete_work,
    Away: complete_spell,
    Failures: complete_spell,
    Exchange: complete_exchange,
}
UNSAID: dict[type, Callable[[Values], tuple[str, ...]]] = {
    Valve: lambda values: ("terminal_ratio",) if "conductance" in values else ("critical_ratio",),
    Leak: lambda values: ("law",) if "diameter" in values else (),
    Seal: lambda values: ("nut_factor",) if values["joint"] == RADIAL else (),
    Rule: lambda values: () if any(name in values for name in BANDS) else ("zone",),
}
