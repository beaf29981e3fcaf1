"""The words loggers use in headers and cells: units with their reference, and what a column holds.

Names of units as people and instruments write them; the factors are those of `simcal.units`. Which words stand
for time, pressure and so on is common practice, no source.
"""

import re
from typing import NamedTuple

from simcal.bench.record import FloatArray
from simcal.units import TABLE, ZERO_OF

PRESSURE, TEMPERATURE, TIME, DATE, CHANNEL, VALUE, UNIT = (
    "pressure", "temperature", "time", "date", "channel", "value", "unit",
)  # fmt: skip
_PRESSURE = {name.lower(): name for name in TABLE["pressure"] if "(" not in name} | {
    "µbar": "ubar", "μbar": "ubar", "n/mm2": "MPa", "n/mm²": "MPa", "kg/cm2": "kgf/cm2", "kg/cm²": "kgf/cm2",
    "kgf/cm²": "kgf/cm2", "mmhg": "mmHg(0 degC)", "inhg": "inHg(0 degC)", "pascal": "Pa",
    "lbf/in2": "psi",
}  # fmt: skip
_PRESSURE |= {name.lower(): name for name in TABLE["pressure"]}
AMBIGUOUS = {"inh2o": "inH2O(4 degC)", "cmh2o": "cmH2O(4 degC)", "mmh2o": "mmH2O(4 degC)", "inwc": "inH2O(4 degC)"}
"""Columns of water: their unit differs by up to 0.2 % with the temperature meant, so that it must be said."""
_GAUGE = {"g", "ga", "gauge", "rel", "relative", "relativ", "ü", "überdruck", "ueberdruck", "manometric"}
_ABSOLUTE = {"a", "abs", "absolute", "absolut", "absolutdruck", "absolu", "absoluta"}
_TEMPERATURE = {
    "°c": "degC", "℃": "degC", "degc": "degC", "deg c": "degC", "c": "degC", "celsius": "degC", "k": "K", "kelvin": "K",
    "°f": "degF", "degf": "degF", "deg f": "degF", "f": "degF", "fahrenheit": "degF", "grad c": "degC", "ºc": "degC",
}  # fmt: skip
_TIME = {
    "s": "s", "sec": "s", "secs": "s", "second": "s", "seconds": "s", "sek": "s", "sekunden": "s", "ms": "ms",
    "msec": "ms", "millisecond": "ms", "milliseconds": "ms", "millis": "ms", "us": "us", "µs": "us", "μs": "us",
    "min": "min", "mins": "min", "minute": "min", "minutes": "min", "minuten": "min", "h": "h", "hr": "h", "hrs": "h",
    "hour": "h", "hours": "h", "stunden": "h", "d": "d", "day": "d", "days": "d", "tage": "d",
    "hh:mm:ss": "hh:mm:ss", "h:mm:ss": "hh:mm:ss", "hh:mm": "hh:mm", "mm:ss": "mm:ss",
}  # fmt: skip
_WORDS = {
    PRESSURE: {"p", "pressure", "press", "pres", "druck", "druk", "pression", "presion", "presión", "pressione"},
    TEMPERATURE: {"t", "temp", "temperature", "temperatur", "température", "temperatura", "temperatuur"},
    TIME: {
        "t", "ts", "time", "timestamp", "stamp", "datetime", "zeit", "zeitstempel", "uhrzeit", "tijd", "temps", "heure",
        "hora", "tiempo", "tempo", "elapsed", "clock", "epoch", "unix", "unixtime", "seconds", "sec", "sekunden",
        "laufzeit", "millis", "milliseconds",
    },
    DATE: {"date", "datum", "fecha", "data", "jour"},
    CHANNEL: {"channel", "chan", "kanal", "signal", "tag", "series", "parameter", "variable", "sensor", "quantity"},
    VALUE: {"value", "wert", "reading", "messwert", "valeur", "valor"},
    UNIT: {"unit", "units", "einheit"},
}  # fmt: skip
ASIDE = {
    "setpoint", "set", "sp", "target", "soll", "sollwert", "command", "min", "max", "minimum", "maximum", "std", "sd",
    "baro", "barometer", "barometric", "ambient", "atm", "atmospheric", "atmosphere", "supply", "inlet", "exhaust",
    "outlet", "limit", "error", "rate", "flow", "mean", "avg", "average",
}  # fmt: skip
"""Words that make a pressure another one than that of the volume, or a figure of several samples."""
COUNTERS = {"no", "nr", "index", "scan", "row", "sample", "n", "id", "count", "number", "record"}


class Unit(NamedTuple):
    """A unit in a header or cell: its kind (PRESSURE ...), its name in the table, gauge or absolute if it says so."""

    kind: str
    name: str
    reference: str | None = None


def unit_of(text: str) -> Unit | None:
    """The unit a text is, None when it is none."""
    plain = text.strip().strip("[]{}").strip().lower().replace("  ", " ")
    if plain.startswith("(") and plain.endswith(")"):
        plain = plain[1:-1].strip()
    if not plain or len(plain) > 30:
        return None
    pressure = _pressure(plain)
    if pressure is not None:
        return pressure
    if plain in _TEMPERATURE:
        return Unit(TEMPERATURE, _TEMPERATURE[plain])
    return Unit(TIME, _TIME[plain]) if plain in _TIME else None


def _pressure(plain: str) -> Unit | None:
    close = plain.replace(" ", "")
    for known in (plain, close):
        if known in _PRESSURE:
            return Unit(PRESSURE, _PRESSURE[known])
    if close in AMBIGUOUS:
        return Unit(PRESSURE, close)
    split = re.fullmatch(
        r"(.+?)[ _.\-]*[(\[]?(" + "|".join(sorted(_GAUGE | _ABSOLUTE, key=len, reverse=True)) + r")\.?\)?\]?", plain
    )
    if split is None:
        return None
    base = _pressure(split.group(1).strip(" _.-"))
    if base is None or base.reference is not None:
        return None
    return base._replace(reference="gauge" if split.group(2) in _GAUGE else "absolute")


def tokens_of(text: str) -> list[str]:
    """The words of a header, lower case."""
    return [word for word in re.split(r"[^0-9a-zà-ÿµ°%]+", text.lower()) if word]


def reference_of(text: str) -> str | None:
    """Gauge or absolute, where a header says one of them and not the other."""
    words = set(tokens_of(text)) - {"a", "g"}
    gauge, absolute = bool(words & _GAUGE), bool(words & _ABSOLUTE)
    return None if gauge == absolute else "gauge" if gauge else "absolute"


def header_unit(text: str) -> Unit | None:
    """The unit a header names: in brackets, after a slash, a comma or "in", else as its last word."""
    whole = unit_of(text)
    if whole is not None and (len(text) > 1 or text == "s") and text.lower() not in ("min", "max"):
        return whole
    for inner in re.findall(r"[\[(]([^\[\]()]*(?:\([^()]*\))?[^\[\]()]*)[\])]", text):
        unit = unit_of(inner)
        if unit is not None:
            return unit
    for mark in ("/", ",", ";", " in ", ":"):
        _, found, after = text.partition(mark)
        unit = unit_of(after) if found else None
        if unit is not None:
            return unit
    words = re.split(r"[ _\-]+", text.strip())
    for count in (1, 2):
        if len(words) > count:
            unit = unit_of(" ".join(words[-count:]))
            if unit is not None and (unit.kind != TIME or role_of(" ".join(words[:-count])) == TIME):
                return unit
    return None


def role_of(text: str) -> str | None:
    """What the words of a header say its column holds, None when they do not say."""
    words = tokens_of(text)
    joined = [re.sub(r"\d+$", "", word) for word in words]
    if not words:
        return None
    for role in (PRESSURE, DATE, CHANNEL, UNIT, VALUE):
        if any(word in _WORDS[role] for word in joined) and not (role == DATE and _WORDS[TIME] & set(joined)):
            return role
    if any(word.endswith(("druck", "pressure")) for word in joined):
        return PRESSURE
    if joined == ["t"]:
        return TEMPERATURE if text.strip().strip("\"'")[:1] == "T" else TIME
    for role in (TEMPERATURE, TIME):
        if any(word in _WORDS[role] - {"t"} for word in joined):
            return role
    if joined[0] == "t":
        return TEMPERATURE if text.strip().strip("\"'")[:1] == "T" else TIME
    return None


def kelvin(values: FloatArray, unit: str) -> FloatArray:
    """Temperature levels in K."""
    return values * TABLE["temperature"][unit] + ZERO_OF[unit]
