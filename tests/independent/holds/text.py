"""Independent re-implementation, shares nothing with simcal/: a record as the two files that a user would hand in."""

from pathlib import Path
from typing import Any

from tests.independent.holds.population import Record


def csv(record: Record) -> str:
    """The logger's file: time s, pressure Pa, temperature degC where there is a thermometer."""
    warm = record.temperature_K
    rows = ["time_s,pressure_Pa" + ("" if warm is None else ",temperature_degC")]
    for i, (t, p) in enumerate(zip(record.time_s, record.pressure_Pa, strict=True)):
        rows.append(f"{t:.4f},{p:.10g}" + ("" if warm is None else f",{warm[i] - 273.15:.4f}"))
    return "\n".join(rows) + "\n"


def number(x: float) -> str:
    """A number with a digit on both sides of its point."""
    return f"{x:.9g}" if "e" in f"{x:.9g}" else repr(float(f"{x:.9g}"))


def quantity(x: float, unit: str) -> str:
    """A TOML string."""
    return f'"{number(x)} {unit}"'


def inline(table: dict[str, str]) -> str:
    """A TOML table on one line."""
    return "{ " + ", ".join(f"{key} = {value}" for key, value in table.items()) + " }"


def toml(about: dict[str, Any]) -> str:
    """The about-file of a record."""
    rows = {
        "gas": f'"{about["gas"]}"',
        "capacity": f'"{number(1e6 * about["capacity"])} cm3 +- {number(1e6 * about["spreads"]["capacity"])} cm3"',
        "reading": f'"{about["reading"]}"',
        "permitted_leak": quantity(about["permitted_leak"], "mol/s"),
        "limit_law": f'"{about["limit_law"]}"',
        "outlet": f'"{about["outlet"]}"',
        "port": f'"{about["port"]}"',
        "barometer": quantity(about["barometer"], "Pa abs"),
    }
    for key in ("isolated_at", "watch_from", "watch_until", "moved_in", "soak"):
        if key in about:
            rows[key] = quantity(about[key], "s")
    if "came_from" in about:
        rows["came_from"] = quantity(about["came_from"], "Pa abs")
    rows["supply"] = '"vented"' if about["supply"] == "vented" else quantity(about["supply"], "Pa abs")
    if "barometer_drift" in about:
        rows["barometer_drift"] = quantity(3600.0 * about["barometer_drift"], "Pa/h")
    if "wall" in about:
        wall = about["wall"]
        rows["wall"] = inline(
            {key: f'"{wall[key]}"' for key in ("material", "shape")}
            | {key: quantity(1e3 * wall[key], "mm") for key in ("bore", "thickness")}
        )
    sensor = about["sensor"]
    rows["sensor"] = inline(
        {
            "noise": quantity(sensor["noise"], "Pa"),
            "resolution": quantity(sensor["resolution"], "Pa"),
            "drift": quantity(3600.0 * sensor["drift"], "Pa/h"),
            "zero_shift": quantity(sensor["zero_shift"], "Pa/K"),
        }
    )
    if "room" in about:
        room = about["room"]
        rows["room"] = inline({"drift": quantity(3600.0 * room["drift"], "K/h"), "cycle": quantity(room["cycle"], "K")})
    if "temperature" in about:
        warm = about["temperature"]
        rows["temperature"] = inline(
            {"of": f'"{warm["of"]}"', "lag": quantity(warm["lag"], "s"), "accuracy": quantity(warm["accuracy"], "K")}
        )
    return "".join(f"{key} = {value}\n" for key, value in rows.items())


def write(record: Record, folder: Path, name: str = "record") -> Path:
    """NAME.csv and NAME.toml in the folder; the path of the first."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{name}.csv"
    path.write_text(csv(record), encoding="utf-8")
    path.with_suffix(".toml").write_text(toml(record.about), encoding="utf-8")
    return path
