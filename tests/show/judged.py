"""Judgements of every kind for the tests of what is shown, each made once."""

import functools
from dataclasses import replace

import numpy as np

from simcal.analysis.judge import judge, judge_together
from simcal.bench.about import PermittedLeak, ShopCriterion
from simcal.bench.record import Record
from simcal.bench.values import Spread
from simcal.show.judge_units import Judged
from tests.analysis import holds

KINDS = ("tight", "leak", "undecided", "no limit", "no rate", "misfit", "shop", "gauge", "together", "pressure rate")
PASCAL = 50.0
"""Pa/min, a limit stated so."""


@functools.cache
def judged(kind: str) -> Judged:
    """A judgement of one kind."""
    if kind == "together":
        pairs = [(_record("leak", seed, f"{seed}.csv"), _about("leak")) for seed in (1, 2, 3, 4)]
        return Judged(judge_together(pairs), tuple(r for r, _ in pairs), tuple(a for _, a in pairs))
    record, about = _record(kind), _about(kind)
    return Judged(judge(record, about), (record,), (about,))


def _about(kind: str):
    changes = {
        "no limit": {"permitted_leak": None},
        "no rate": {"gas": None, "capacity": None, "spreads": {"capacity": Spread(0.0)}},
        "shop": {"criterion": ShopCriterion(wait=60.0, watch=60.0, allowed_drop=40.0)},
        "gauge": {"reading": "gauge", "permitted_leak": PermittedLeak(2e-8, "amount", "sccm(20 degC)")},
        "pressure rate": {"permitted_leak": PermittedLeak(PASCAL / 60.0, "pressure rate", "Pa/min")},
    }
    return holds.about(**changes.get(kind, {}))


def _record(kind: str, seed: int = 1, name: str = "hold.csv") -> Record:
    rates = {"tight": 0.0, "undecided": 2e-8, "misfit": 2e-7}
    course = holds.isothermal(rates.get(kind, 2e-7))
    if kind == "misfit":
        steady = course
        course = lambda t: steady(t) + 4e3 * np.sin(t / 2.0)  # noqa: E731 - a pump that nothing here explains
    record = holds.record(course, seed=seed, name=name)
    return replace(record, dropped={"line after the last row": 2}) if kind == "shop" else record
