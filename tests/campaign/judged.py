"""The judge as the seeded records of `tests/independent/holds` ask it: arrays and a plain table in, a mapping out."""

from __future__ import annotations

from typing import Any

import numpy as np

from simcal.analysis.judge import assemble, judge
from simcal.analysis.judge.infer import infer
from simcal.analysis.judge.interval import HOPELESS_FIT, rate_interval
from simcal.analysis.judge.judgement import UNDECIDED, verdict
from simcal.bench.about import About
from simcal.bench.record import Record
from simcal.files.about_file import load_about
from tests.independent.holds.text import toml


def handed(
    time_s: np.ndarray, pressure_Pa: np.ndarray, temperature_K: np.ndarray | None, about: dict[str, Any]
) -> tuple[Record, About]:
    """The record and what is said of it; the about-file goes through the door as its text."""
    record = Record(
        name="record",
        time_s=time_s,
        pressure_Pa=pressure_Pa,
        temperature_K=temperature_K,
        reference=about["reading"],
        resolution_Pa=about["sensor"]["resolution"] or None,
    )
    return record, load_about("record.toml", texts={"record.toml": toml(about)})


def judged(*given: Any) -> dict[str, Any]:
    """The verdict and the interval, mol/s out, of time, pressure, temperature and about."""
    said = judge(*handed(*given))
    return {
        "verdict": said.verdict,
        "low": said.low_mol_per_s,
        "high": said.high_mol_per_s,
        "median": said.leak_mol_per_s,
    }


def before_calibration(*given: Any) -> dict[str, Any]:
    """The same by the plain posterior: neither widened nor for those who doubt, as the reference's interval is."""
    case, _shut = assemble.case(*handed(*given))
    inference = infer((case,))
    rate = rate_interval(case, inference, float(case.pressure[case.time >= case.watch[0]].mean()), widen=False)
    said = verdict(rate.low, rate.high, case.permitted) if inference.misfit <= HOPELESS_FIT else UNDECIDED
    return {"verdict": said, "low": rate.low, "high": rate.high, "median": rate.middle}
