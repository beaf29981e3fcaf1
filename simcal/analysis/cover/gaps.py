"""Where the gaps are: for every instrument that is not covered, what is not served and why."""

from collections.abc import Sequence
from dataclasses import dataclass

from simcal.analysis.cover.result import NONE, InstrumentCover


@dataclass(frozen=True)
class Gap:
    """What one instrument lacks; pressures in its own reference."""

    instrument: str
    gauge: bool
    count: float  # calibrations a year
    possible: bool  # all sensors together would cover it
    points: tuple[int, ...]
    low_Pa: float
    high_Pa: float
    ratio: float | None  # the worst of the best that any sensor has there
    reasons: tuple[str, ...]


def gaps(instruments: Sequence[InstrumentCover]) -> tuple[Gap, ...]:
    """The gaps, those of most calibrations first."""
    found = [_gap(one) for one in instruments if not one.covered]
    return tuple(sorted(found, key=lambda gap: -gap.count))


def _gap(one: InstrumentCover) -> Gap:
    missing = [p for p in one.points if p.mode == NONE]
    ratios = [p.ratio for p in missing]
    known = [r for r in ratios if r is not None]
    return Gap(
        instrument=one.name,
        gauge=one.gauge,
        count=one.count,
        possible=one.possible,
        points=tuple(p.number for p in missing),
        low_Pa=min(p.stated_Pa for p in missing),
        high_Pa=max(p.stated_Pa for p in missing),
        ratio=min(known) if len(known) == len(ratios) else None,
        reasons=tuple(dict.fromkeys(p.reason or "" for p in missing)),
    )
