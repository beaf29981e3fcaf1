"""How often is a growing record ever declared wrong, however often one looks, and what does looking on cost?

300 seeded records of `tests/independent/holds`, clear-cut, hard and confounded as in `running.SHARE`, each looked at
after each new bin, 40 looks or more. Ever wrong: `leak` at any look of a record whose |net leak| is at or below the
permitted rate, or `tight` at any look of one above it. Promised: at most 5 % of the records; a promise is broken when
an exact binomial test says so at 1 %.
"""

from __future__ import annotations

import pytest

from tests.campaign import followed, ledger


@pytest.mark.campaign
def test_300_growing_records_are_hardly_ever_declared_wrong() -> None:
    """Counts and the price go to tests/campaign/follow-honesty.json whether the promise is kept or not."""
    found = followed.run(followed.COUNT)
    every = found["counts"]["all"]
    assert every["records"] == found["count"] == followed.COUNT and every["fewest_looks"] >= followed.LEAST
    assert not every["broken"], found["wrong"]


def test_the_recorded_counts_keep_the_promise() -> None:
    """By the seed fixed beforehand; one wrong record more than the binomial rule allows fails."""
    found = ledger.read(followed.NAME)
    every = found["counts"]["all"]
    assert found["seed"] == followed.SEED and every["records"] == found["count"]
    assert every["fewest_looks"] >= followed.LEAST and every["ever_wrong"] == len(found["wrong"])
    assert not followed.broken(every["ever_wrong"], every["records"], followed.PROMISED)


@pytest.mark.parametrize("part", ["clear-cut", "hard", "confounded"])
def test_two_per_cent_of_the_followed_come_out_again(part: str) -> None:
    """The first of each part decide the same at the same bin; where the sources differ, never the opposite.

    Two bins either way: where an interval ends at the limit to the last digits, machines may differ by a look.
    """
    found = ledger.read(followed.NAME)
    same = found["hash"] == ledger.rooms_hash(followed.ENTRY)
    if not same:
        print(f"{followed.NAME}: ran on {found['hash']}, the sources are now {ledger.rooms_hash(followed.ENTRY)}")
    for one in found["first"][part]:
        verdict, decided_s = followed.again(part, one["index"])
        if same:
            assert verdict == one["verdict"]
            assert (decided_s is None) == (one["decided_s"] is None)
            assert decided_s is None or abs(decided_s - one["decided_s"]) <= 2.0 * one["bin_s"]
        else:
            assert {verdict, one["verdict"]} != {"leak", "tight"}
