"""The README's lines on campaigns, from the files they left: `python -m tests.campaign.report` puts them in."""

from __future__ import annotations

from pathlib import Path

from tests.campaign import ledger

README = Path(__file__).parents[2] / "README.md"
BEGIN, END = "<!-- campaign: begin -->\n", "<!-- campaign: end -->\n"
PARTS = ("clear-cut", "hard", "confounded", "near the limit")


def block() -> str:
    """All lines between the two marks."""
    return "\n".join([*settle_lines(), "", *judge_lines()]) + "\n"


def settle_lines() -> list[str]:
    """What fresh trials said of the bands of `settle --trials`."""
    found = ledger.read("settle-band")
    return [
        f"90 % bands of {found['making']:,} trials on {len(found['benches'])} benches held {found['inside']:,} of "
        f"{found['of']:,} fresh ones, {100.0 * found['coverage']:.1f} % (measured on {found['hash']})."
    ]


def judge_lines() -> list[str]:
    """What records of a finer model said of the judge, by part."""
    found = ledger.read("judge-honesty")
    rows = [
        f"The judge on {found['count']:,} records of a finer model that is not its own (measured on {found['hash']}; "
        "! where a promise of 2.5 %, 2.5 %, 95 % is broken):",
        "",
        "| part | records | tight called leak | leak called tight | 95 % interval holds | undecided | rate error |",
        "|---|---|---|---|---|---|---|",
    ]
    for part in PARTS:
        c = found["counts"][part]
        error = "-" if c["median_rate_error"] is None else f"{100.0 * c['median_rate_error']:.1f} %"
        rows.append(
            f"| {part} | {c['records']} | {_of(c['false_accusations'], c['tight'], c['false_broken'])} "
            f"| {_of(c['missed'], c['leaky'], c['missed_broken'])} "
            f"| {100.0 * c['coverage']:.1f} %{'!' * c['coverage_broken']} "
            f"| {100.0 * c['undecided'] / c['records']:.0f} % | {error} |"
        )
    return rows


def _of(count: int, n: int, broken: bool) -> str:
    return f"{count} of {n}{'!' * broken}"


def main() -> None:
    """Put the lines into the README."""
    text = README.read_text(encoding="utf-8")
    before, rest = text.split(BEGIN)
    _, after = rest.split(END)
    README.write_text(before + BEGIN + block() + END + after, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
