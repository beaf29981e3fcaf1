"""Growing records of `tests/independent/holds` looked at after each new bin, and how often a look was ever wrong.

`python -m tests.campaign.followed --count 60` tries fewer; the file it leaves says how many.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass
from multiprocessing import get_context
from typing import Any

import numpy as np

from simcal.analysis.judge import Look, every_look, follow, price
from simcal.bench.about import About
from simcal.bench.record import Record
from simcal.files.about_file import load_about
from tests.campaign import ledger
from tests.independent.holds import population
from tests.independent.holds.running import SHARE
from tests.independent.holds.scoring import broken, median
from tests.independent.holds.text import toml

NAME, ENTRY = "follow-honesty", "simcal.analysis.judge"
COUNT, SEED = 300, 20272
"""records, and their seed (fixed beforehand)"""
LEAST = 40
"""looks a record; one with too few rows for that is passed over, by its rows alone"""
PROMISED = 0.05
AGAIN = 2
"""records of each part that the ordinary tests follow again: 2 % of all"""
WRONG = {True: "tight", False: "leak"}
"""what is wrong of a record whose |net leak| is above the permitted rate, and of one where it is not"""


@dataclass(frozen=True)
class Followed:
    """One record: how its looks went. `ever_wrong` counts looks after the first that decided, too."""

    part: str
    index: int
    looks: int
    verdict: str
    decided_s: float | None  # hold until the first look that decided
    single_s: float | None  # until one look planned beforehand would have
    single_at_end: str  # verdict of one look at the end
    bin_s: float
    wrong: bool  # the first that decided
    ever_wrong: bool
    plain_ever_wrong: bool  # where each look gives the plain 95 % interval


def given(own: population.Record) -> tuple[Record, About]:
    """The record as the judge gets it."""
    about = load_about("record.toml", texts={"record.toml": toml(own.about)})
    record = Record(
        name="record",
        time_s=own.time_s,
        pressure_Pa=own.pressure_Pa,
        temperature_K=own.temperature_K,
        reference=own.about["reading"],
        resolution_Pa=own.about["sensor"]["resolution"] or None,
    )
    return record, about


def bins(own: population.Record) -> tuple[float, int]:
    """Length of a bin of the watch, s, and how many of them end with new rows, 16 or more in all."""
    about = own.about
    shut, start, end = about["isolated_at"], about["watch_from"], about["watch_until"]
    each = (end - start) / 60.0
    ends = start + each * np.arange(1, 61)
    ends = ends[ends - start >= min(10.0, (end - start) / 3.0)]
    rows = np.searchsorted(own.time_s[own.time_s >= shut], ends, side="right")
    return each, len(np.unique(rows[rows >= 16]))


def one(task: tuple[str, int, int]) -> Followed | None:
    """Make the record, look at it after each new bin; None where it has too few rows for `LEAST` looks."""
    part, seed, index = task
    own = population.record(part, seed, index)
    if bins(own)[1] < LEAST:
        return None
    return summary(own, list(every_look(*given(own))))


def again(part: str, index: int) -> tuple[str, float | None]:
    """Verdict of the first look that decides, and the hold until then."""
    *_, last = follow(*given(population.record(part, SEED, index)))
    return last.verdict, None if last.verdict == "undecided" else last.held_s


def summary(own: population.Record, looks: list[Look]) -> Followed:
    """How the looks went."""
    wrong = WRONG[abs(own.truth["leak_mol_per_s"]) > own.truth["permitted_mol_per_s"]]
    first = next((n for n, look in enumerate(looks) if look.verdict != "undecided"), len(looks) - 1)
    cost, verdict = price(looks[: first + 1]), looks[first].verdict
    return Followed(
        part=own.part,
        index=own.index,
        looks=len(looks),
        verdict=verdict,
        decided_s=None if cost is None else cost.followed_s,
        single_s=None if cost is None else cost.single_s,
        single_at_end=looks[-1].single_verdict,
        bin_s=bins(own)[0],
        wrong=verdict == wrong,
        ever_wrong=any(look.verdict == wrong for look in looks),
        plain_ever_wrong=any(look.single_verdict == wrong for look in looks),
    )


def followed(count: int, workers: int = 2) -> tuple[list[Followed], int]:
    """`count` records, the parts as in `running.SHARE`; and how many were passed over."""
    found, passed = [], 0
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
        for part, share in SHARE.items():
            mine, begun, wanted = [], 0, round(share * count)
            while len(mine) < wanted:
                tasks = [(part, SEED, begun + n) for n in range(wanted - len(mine))]
                got = list(pool.map(one, tasks, chunksize=4))
                mine += [each for each in got if each is not None]
                passed, begun = passed + got.count(None), begun + len(tasks)
            found += mine
    return found, passed


def counts(found: list[Followed]) -> dict[str, Any]:
    """What came out of one group of records."""
    costs = [one.decided_s / one.single_s for one in found if one.decided_s is not None and one.single_s]
    wrong = sum(one.ever_wrong for one in found)
    return {
        "records": len(found),
        "fewest_looks": min(one.looks for one in found),
        "looks": sum(one.looks for one in found),
        "decided": len(costs),
        "decided_by_one_look_at_the_end": sum(one.single_at_end != "undecided" for one in found),
        "decided_wrong": sum(one.wrong for one in found),
        "ever_wrong": wrong,
        "plain_ever_wrong": sum(one.plain_ever_wrong for one in found),
        "broken": broken(wrong, len(found), PROMISED),
        "median_price": median(costs),
        "price_of_nine_in_ten": float(np.quantile(costs, 0.9)) if costs else None,
    }


def run(count: int, say: Callable[[str], None] = print) -> dict[str, Any]:
    """Follow `count` records, write tests/campaign/follow-honesty.json, and return what stands in it."""
    found, passed = followed(count)
    parts = {part: [one for one in found if one.part == part] for part in SHARE}
    kept = ("index", "verdict", "decided_s", "bin_s")
    document = {
        "seed": SEED,
        "count": len(found),
        "passed_over": passed,
        "counts": {name: counts(group) for name, group in {**parts, "all": found}.items()},
        "wrong": [f"{one.part} {one.index}" for one in found if one.ever_wrong],
        "first": {
            part: [{key: asdict(one)[key] for key in kept} for one in group[:AGAIN]] for part, group in parts.items()
        },
    }
    ledger.write(NAME, ENTRY, document)
    for name, group in document["counts"].items():
        say(f"{name}: {group}")
    return document


if __name__ == "__main__":
    parser = argparse.ArgumentParser(prog="python -m tests.campaign.followed", description=__doc__)
    parser.add_argument("--count", type=int, default=COUNT)
    run(parser.parse_args().count)
