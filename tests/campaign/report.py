"""The README's lines on campaigns, from the files they left: `python -m tests.campaign.report` puts them in."""

from __future__ import annotations

from pathlib import Path

from tests.campaign import ledger

README = Path(__file__).parents[2] / "README.md"
BEGIN, END = "<!-- campaign: begin -->\n", "<!-- campaign: end -->\n"
PARTS = ("clear-cut", "hard", "confounded", "near the limit")


def block() -> str:
    """All lines between the two marks."""
    return "\n".join([*settle_lines(), *follow_lines(), "", *judge_lines()]) + "\n"


def settle_lines() -> list[str]:
    """What fresh trials said of the bands of `settle --trials`."""
    found = ledger.read("settle-band")
    return [
        f"90 % bands of {found['making']:,} trials on {len(found['benches'])} benches held {found['inside']:,} of "
        f"{found['of']:,} fresh ones, {100.0 * found['coverage']:.1f} % (measured on {found['hash']})."
    ]


def follow_lines() -> list[str]:
    """What growing records of a finer model said of looking again and again."""
    found = ledger.read("follow-honesty")
    c = found["counts"]["all"]
    return [
        f"`judge --follow`, {c['records']:,} growing records of a finer model, {c['fewest_looks']} to 60 looks each: "
        f"{c['ever_wrong']} ever declared wrong{'!' * c['broken']} (promised 5 %; by plain intervals "
        f"{c['plain_ever_wrong']}), {c['decided']} decided (by one look at the end "
        f"{c['decided_by_one_look_at_the_end']}), at the median after {c['median_price']:.2f}, nine in ten within "
        f"{c['price_of_nine_in_ten']:.1f} times the hold that one planned look needs (measured on {found['hash']})."
    ]


def judge_lines() -> list[str]:
    """What records of a finer model said of the judge, by part."""
    found = ledger.read("judge-honesty")
    hard = found["hard"]
    before, reference = (hard[who]["undecided"] for who in ("before_calibration", "reference"))
    over = "!" * ("hard: undecided over the reference's" in found["broken"])
    rows = [
        f"The judge on {found['count']:,} records of a finer model that is not its own (measured on {found['hash']}; "
        "! where a promise of 2.5 %, 2.5 %, 95 % is broken). Before calibration it leaves "
        f"{before} of {hard['reference']['records']} hard ones undecided, a reference told room, start and wall "
        f"{reference}: {hard['ratio']:.2f}{over} times (promised 1.25).",
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
