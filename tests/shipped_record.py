"""Writes the small record that is shipped: `python -m tests.shipped_record`, from the top of the repository.

The course is a formula with a fixed seed, made for the reader only: gas that cools after filling (1.8 kPa in 25 s), a
body that follows (0.6 kPa in 600 s), a steady loss of 1.5 Pa/s, noise of 20 Pa, shown in steps of 0.1 mbar. It is
written as a logger set up in Germany writes it.
"""

import datetime as dt
from pathlib import Path

import numpy as np

PLACE = Path(__file__).parents[1] / "configs" / "logged-hold-6bar.csv"
ROWS = 480
_HEAD = ["Quillmoor recorder 2; invented laboratory", "Kanal 1: Druck; Kanal 2: Blocktemperatur", ""]


def text() -> str:
    """The record."""
    rng = np.random.default_rng(20260314)
    time = np.arange(ROWS, dtype=np.float64)
    pressure = 601_500.0 + 1800.0 * np.exp(-time / 25.0) + 600.0 * np.exp(-time / 600.0) - 1.5 * time
    pressure += rng.normal(0.0, 20.0, ROWS)
    warm = 22.4 - 0.25 * (1.0 - np.exp(-time / 600.0)) + rng.normal(0.0, 0.01, ROWS)
    start = dt.datetime(2026, 3, 14, 10, 30)
    lines = [*_HEAD, "Zeit;Druck [mbar];Temperatur [°C]"]
    for second, p, t in zip(time, pressure, warm, strict=True):
        cells = f"{p / 100.0:,.1f};{t:.2f}".replace(",", "_").replace(".", ",").replace("_", ".")
        lines.append(f"{start + dt.timedelta(seconds=second):%d.%m.%Y %H:%M:%S};{cells}")
    low, high = pressure.min() / 100.0, pressure.max() / 100.0
    lines.append(f"Min/Max;{low:.1f};{high:.1f}".replace(".", ","))
    return "\r\n".join(lines) + "\r\n"


def raw() -> bytes:
    """The bytes of the shipped file."""
    return text().encode("cp1252")


if __name__ == "__main__":
    PLACE.write_bytes(raw())
