"""Records of holds and their about-files on disk, from closed forms."""

from pathlib import Path

import numpy as np

P = 4e5  # Pa gauge
GOOD = {
    "schema": '"simcal/about/1"',
    "gas": '"nitrogen"',
    "capacity": '"100 cm3 +- 1 %"',
    "reading": '"gauge"',
    "barometer": '"1013.2 hPa abs"',
    "barometer_drift": '"0.1 hPa/h"',
    "permitted_leak": '"2e-8 mol/s"',
    "isolated_at": '"0 s"',
    "came_from": '"5 bar abs"',
    "moved_in": '"5 s"',
    "soak": '"600 s"',
    "supply": '"vented"',
    "wall": '{ material = "steel", shape = "cylinder", bore = "40 mm", thickness = "3 mm" }',
    "sensor": '{ noise = "2 Pa", resolution = "0.1 Pa", drift = "2 Pa/h", zero_shift = "0 Pa/K" }',
    "room": '{ temperature = "20 degC", drift = "0.1 K/h", cycle = "0.02 K" }',
}
TIGHT, LEAK, SLIGHT = 0.0, 2.0, 0.5
"""Slopes, Pa/s: 2e-8 mol/s take 0.49 Pa/s out of 100 cm3 at 20 degC (ideal gas: R T / V)."""


def written(folder: Path, name: str, slope: float, seed: int = 1, count: int = 400, **changed: str | None) -> Path:
    """NAME.csv with a steady slope, Pa/s, and NAME.toml; `changed` replaces lines of the about-file, None drops one."""
    time = np.linspace(0.5, 300.0, count)
    reading = P - slope * time + np.random.default_rng(seed).normal(0.0, 2.0, len(time))
    rows = "".join(f"{t:.4f},{p:.1f}\n" for t, p in zip(time, reading, strict=True))
    path = folder / f"{name}.csv"
    path.write_text("time_s,pressure_Pa\n" + rows, encoding="ascii")
    lines = [f"{key} = {value}" for key, value in (GOOD | changed).items() if value is not None]
    path.with_suffix(".toml").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path
