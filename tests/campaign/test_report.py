"""The README says of the campaigns what their files say."""

from __future__ import annotations

from tests.campaign import report


def test_the_readme_holds_the_figures_on_file() -> None:
    text = report.README.read_text(encoding="utf-8")
    assert report.BEGIN + report.block() + report.END in text
