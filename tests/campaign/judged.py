"""The judge as the seeded records of `tests/independent/holds` ask it: arrays and a plain table in, a mapping out."""

from __future__ import annotations

from typing import Any

import numpy as np

from simcal.analysis.judge import judge
from simcal.bench.record import Record
from simcal.files.about_file import load_about
from tests.independent.holds.text import toml


def judged(
    time_s: np.ndarray, pressure_Pa: np.ndarray, temperature_K: np.ndarray | None, about: dict[str, Any]
) -> dict[str, Any]:
    """The verdict and the interval, mol/s out; the about-file goes through the door as its text."""
    known = load_about("record.toml", texts={"record.toml": toml(about)})
    record = Record(
        name="record",
        time_s=time_s,
        pressure_Pa=pressure_Pa,
        temperature_K=temperature_K,
        reference=about["reading"],
        resolution_Pa=about["sensor"]["resolution"] or None,
    )
    said = judge(record, known)
    return {
        "verdict": said.verdict,
        "low": said.low_mol_per_s,
        "high": said.high_mol_per_s,
        "median": said.leak_mol_per_s,
    }
