"""What the studies of a laboratory's year share: the Quillmoor works with a tenth of its jobs, replications, a row."""

from collections.abc import Sequence

import numpy as np
import showing

from simcal.analysis.cover import cover
from simcal.analysis.year.building import model_of
from simcal.analysis.year.model import Model
from simcal.analysis.year.seals import bad_share
from simcal.analysis.year.year import replicated
from simcal.bench.lab import Lab
from simcal.files.lab_file import load_lab
from simcal.run import Rows

WORKS = showing.CONFIGS / "quillmoor-works.toml"
COUNTS = {"dial-6": 110, "dial-160": 90, "gauge-6": 45, "transmitter-160": 40, "reading-6": 15}
FEWER = [f"instrument.{name}.count={count}" for name, count in COUNTS.items()]
"""uptime is of the equipment and hardly asks how many jobs there are"""
REPLICATIONS, SEED = 40, 1


def works(*sets: str) -> Lab:
    """The works with some keys changed."""
    return load_lab(WORKS, [*FEWER, *sets])


def model(lab: Lab) -> Model:
    """Its year."""
    one = lab.year.exchange
    return model_of(lab, cover(lab, workers=1), bad_share(one.bench, one.seal, one.habit, one.permitted_leak))


def rows(one: Model) -> Rows:
    """The replications of a study."""
    return replicated(one, SEED, REPLICATIONS, workers=1)


def line(label: str, cells: Sequence[str]) -> str:
    """A row of a printed table."""
    return f"{label:34} " + "  ".join(f"{cell:>10}" for cell in cells)


def percent(values: np.ndarray) -> str:
    """A mean share in %."""
    return f"{100.0 * values.mean():.2f}"
