"""What counts as exercised by a campaign."""

from __future__ import annotations

from tests.campaign import ledger


def names(entry: str) -> set[str]:
    return {path.relative_to(ledger.PACKAGE).as_posix() for path in ledger.exercised(entry)}


def test_all_that_an_entry_reaches_is_exercised_and_nothing_above_it() -> None:
    found = names("simcal.analysis.settle")
    assert {"analysis/settle/point.py", "bench/network.py", "engine/loop.py", "physics/gas.py", "jit.py"} <= found
    assert any(name.endswith(".npz") for name in found)
    assert not any(name.startswith(("show/", "cli/", "files/")) for name in found)


def test_what_reads_no_gas_depends_on_no_table() -> None:
    assert names("simcal.stats") and not any(name.startswith("tables/") for name in names("simcal.stats"))


def test_hash_differs_between_entries() -> None:
    assert ledger.rooms_hash("simcal.stats") != ledger.rooms_hash("simcal.analysis.settle")
