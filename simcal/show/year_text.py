"""The answer of `year` as text: a sentence, the numbers, ranges, where time goes, costs, other ways, notes."""

from collections.abc import Sequence

from simcal.analysis.year.result import YearResult
from simcal.bench.lab import Lab
from simcal.show import words
from simcal.show import year_words as yw
from simcal.show.cover_words import Words
from simcal.show.table import Column, aligned
from simcal.show.wrapping import wrapped

MEANT = (
    "uptime: share of the jobs that some sensor of the year serves that could start when they came, whether or not a "
    "bench was free; 95 % interval: of the mean; nine years of ten: 5 % to 95 % of the replications"
)


def year_text(result: YearResult, lab: Lab, unicode: bool = False) -> str:
    """The whole answer, ending in one newline."""
    w = Words.of(lab, unicode)
    blocks = [
        wrapped([yw.sentence(result, lab, unicode)], ""),
        _table("", yw.HEADS, yw.number_rows(result), (0,)),
        _table("a job of each range could start in:", yw.RANGE_HEADS, yw.range_rows(result, w), (0,)),
        _table("where the benches' staffed time goes:", ("what", "share", "95 % interval"), yw.time_rows(result), (0,)),
        _table("cost a year:", ("what", "mean", "95 % interval"), yw.cost_rows(result, w), (0,)),
        _table(f"compared, {result.compared}, in percentage points:", yw.VARIANT_HEADS,
               yw.variant_rows(result, w), (0,)),
        _table("found out of tolerance in the first replication (exposed.csv of --out lists the jobs):",
               yw.EXPOSED_HEADS, yw.exposed_rows(result, w), (0,)),
        wrapped(remarks(result, w), "- "),
        [closing(result)],
    ]  # fmt: skip
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def remarks(result: YearResult, w: Words) -> list[str]:
    """Notes and assumptions, one line each."""
    seals = f"{yw.percent(result.bad_seals)} of exchanges leave a leaking seal"
    return [
        MEANT,
        *yw.dates(result, w),
        *([seals] if result.bad_seals > 0.0 else []),
        *[words.plain(note, w.unicode) for note in result.notes],
        *[words.plain(f"assumed {a.key} = {a.value} ({a.why})", w.unicode) for a in result.assumed],
    ]


def closing(result: YearResult) -> str:
    """What makes the answer repeatable."""
    each = "" if result.years == 1 else f" of {result.years} years"
    return f"simcal {result.version}, seed {result.seed}, {result.replications} replications{each}"


def _table(title: str, heads: Sequence[str], rows: Sequence[Sequence[str]], left: Sequence[int]) -> list[str]:
    if not rows:
        return []
    columns = [Column(head, left=i in left) for i, head in enumerate(heads)]
    return [*([title] if title else []), *aligned(columns, rows)]
