"""The README says of the campaigns what their files say."""

from __future__ import annotations

import pytest

from tests.campaign import ledger, report


@pytest.mark.skipif(
    not all((ledger.HERE / f"{name}.json").exists() for name in ("settle-band", "judge-honesty")),
    reason="the campaigns have not been run yet",
)
def test_the_readme_holds_the_figures_on_file() -> None:
    text = report.README.read_text(encoding="utf-8")
    assert report.BEGIN + report.block() + report.END in text
