"""The bench: everything `settle`, `hold`, `criterion` and `size` ask about."""

# ruff: noqa: RUF009 - key() makes a dataclass field, as dataclasses.field() does

import dataclasses
from dataclasses import dataclass, field
from typing import Any

from simcal.bench.around import Outgassing, Thermometer, Touch
from simcal.bench.control import Controller
from simcal.bench.gauges import Device, Sensor
from simcal.bench.meta import key, keys_of
from simcal.bench.parts import Exhaust, Leak, Line, Room, Supply, Valve, Volume
from simcal.bench.seal import Seal
from simcal.bench.sequence import Sequence
from simcal.bench.values import Assumed, Spread

SCHEMA = "simcal/bench/1"
GASES = ("nitrogen", "air", "helium", "argon")


@dataclass(frozen=True, kw_only=True)
class Bench:
    """A checked bench file; `spreads` holds the spread of a value under its key, "volume.port.capacity"."""

    schema: str = key("choice", "what this file is", choices=(SCHEMA,))
    name: str = key("text", "shown in answers", default="", derived="the file's name")
    gas: str = key("choice", "the gas", choices=GASES)
    room: Room = key("table", "the air about the bench", default=Room(), of=Room)
    supply: Supply = key("table", "the regulated gas", of=Supply)
    exhaust: Exhaust = key("table", "where the outlet leads", default=Exhaust(), of=Exhaust)
    volumes: dict[str, Volume] = key("tables", "vessels, manifolds, ports", of=Volume, name="volume")
    lines: dict[str, Line] = key("tables", "tubes between volumes", default={}, of=Line, name="line")
    valves: dict[str, Valve] = key(
        "tables", "inlet, outlet, vent and isolation valves", default={}, of=Valve, name="valve"
    )
    sensors: dict[str, Sensor] = key("tables", "reference sensors", of=Sensor, name="sensor")
    devices: dict[str, Device] = key("tables", "devices under test", of=Device, name="device")
    controller: Controller = key("table", "what drives the valves", of=Controller)
    leaks: dict[str, Leak] = key("tables", "plain leaks", default={}, of=Leak, name="leak")
    seals: dict[str, Seal] = key("tables", "rubber rings in joints", default={}, of=Seal, name="seal")
    outgassing: dict[str, Outgassing] = key("tables", "gas given off by surfaces", default={}, of=Outgassing)
    touches: dict[str, Touch] = key("tables", "hands on a body in a hold", default={}, of=Touch, name="touch")
    thermometer: Thermometer | None = key("table", "on a body, for records", default=None, of=Thermometer)
    sequences: dict[str, Sequence] = key("tables", "runs", default={}, of=Sequence, name="sequence")
    file: str = ""
    spreads: dict[str, Spread] = field(default_factory=dict)
    assumed: tuple[Assumed, ...] = ()
    texts: dict[str, str] = field(default_factory=dict)
    hashes: dict[str, str] = field(default_factory=dict)

    def replace(self, dotted: str, value: Any) -> "Bench":
        """This bench with one value changed, by the key it has in the file ("volume.port.capacity").

        An exhaust at the room's pressure follows "room.barometer", a supply at the room's temperature follows
        "room.temperature". Nothing is checked: the value is SI and in range.

        Raises:
            KeyError: naming the key, when there is no such value.
        """
        changed: Bench = _replaced(self, dotted.split("."), value, dotted)
        if dotted == "room.barometer" and self.exhaust.pressure == self.room.barometer:
            return dataclasses.replace(changed, exhaust=Exhaust(pressure=value))
        if dotted == "room.temperature" and self.supply.temperature == self.room.temperature:
            supply = dataclasses.replace(changed.supply, temperature=value)
            return dataclasses.replace(changed, supply=supply)
        return changed

    def value(self, dotted: str) -> Any:
        """The value under a dotted key of the file; KeyError when there is none."""
        part: Any = self
        for name in dotted.split("."):
            part = part[name] if isinstance(part, dict) else getattr(part, _field(part, name, dotted))
        return part

    def device_of(self, sequence: str) -> Device:
        """The device whose span % means in a sequence: the one it names, else the only one."""
        name = self.sequences[sequence].device or next(iter(self.devices))
        return self.devices[name]


def _replaced(part: Any, path: list[str], value: Any, dotted: str) -> Any:
    if isinstance(part, dict):
        if path[0] not in part:
            raise KeyError(f"{dotted}: no {path[0]}")
        inner = value if len(path) == 1 else _replaced(part[path[0]], path[1:], value, dotted)
        return {**part, path[0]: inner}
    name = _field(part, path[0], dotted)
    inner = value if len(path) == 1 else _replaced(getattr(part, name), path[1:], value, dotted)
    return dataclasses.replace(part, **{name: inner})


def _field(part: Any, name: str, dotted: str) -> str:
    """The attribute that holds a key of the file."""
    known = keys_of(type(part)) if dataclasses.is_dataclass(part) else {}
    if name not in known:
        raise KeyError(f"{dotted}: no {name}")
    return known[name][0].name
