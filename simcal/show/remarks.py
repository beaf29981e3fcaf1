"""The notes under the tables: what is wrong and its cure, the loop, what was assumed, what matters most."""

from collections.abc import Sequence

from simcal.analysis.settle.result import Influence, PointResult, SettleResult
from simcal.show import words
from simcal.show.missed import missed
from simcal.show.scales import Scales
from simcal.show.sentence import MOST_FIRST

BOUNDING_TRIALS = 72
"""Fewest trials of which one lies beyond the 5th percentile with 97.5 % confidence: 0.95^72 < 0.025."""


def remarks(result: SettleResult, units: Scales) -> list[str]:
    """Notes under the tables: troubles of points, the loop, what was assumed, which unknown matters most."""
    said = [f"device limit broken: {units.name(text)}" for text in result.violations[MOST_FIRST:]]
    told: set[str] = set()
    said += [text for p in [*result.preloads, *result.points] for text in point_remarks(p, units, told)]
    said += [loop_remark(result, units)]
    said += [units.name(text) for text in result.notes]
    said += assumptions(result, units)
    said += [influence_remark(result, units), few_trials_remark(result), self_check_remark(result)]
    said += [
        "Errors are device minus reference, known head removed; random is two standard deviations of the mean, "
        "beside the error; times are rounded up, arrival and ready counted from the command."
    ]
    return [text for text in said if text]


def assumptions(result: SettleResult, units: Scales) -> list[str]:
    """What was assumed, one line for each value and reason: the keys, the value and why."""
    keys: dict[tuple[str, str], list[str]] = {}
    for one in result.assumed:
        keys.setdefault((units.name(one.value), units.name(one.why)), []).append(units.name(one.key))
    return [f"assumed {', '.join(names)} = {value} ({why})" for (value, why), names in keys.items()]


def point_remarks(p: PointResult, units: Scales, told: set[str]) -> list[str]:
    """What is wrong with a point, with its cure where there is one; cures of the causes in `told` were given before."""
    said = []
    if not p.reached:
        said.append(f"point {p.number} {missed(p)}: {units.name(p.reason or 'no reason given')}")
    elif p.void is not None:
        said.append(f"point {p.number} void: {units.name(p.void)}")
    if p.cycle is not None:
        c = p.cycle
        cures = f"; cures: {'; or '.join(units.name(x) for x in c.cures)}" if c.cures else ""
        cures = "; cures: as above" if cures and c.cause in told else cures
        told.add(c.cause)
        said.append(
            f"point {p.number} hunts: {units.marks.plus_minus}{units.small_named(c.amplitude_Pa)} every "
            f"{words.figures(c.period_s, 2)} s at the device ({words.fixed(100.0 * c.share, 0)} % of the "
            f"allowance), {words.fixed(100.0 * c.reference_share, 0)} % at the reference; "
            f"cause: {units.name(c.cause)}{cures}"
        )
    if p.authority is not None and p.authority.lost:
        said.append(f"point {p.number}: loss of authority, {units.name(p.authority.lost)}")
    return said + [f"point {p.number}: {units.name(note)}" for note in p.notes]


def self_check_remark(result: SettleResult) -> str:
    """How far the answer moved when the engine's error bounds were halved; empty when that was not asked."""
    check = result.self_check
    if check is None:
        return ""
    other = f"; {words.counted(check.other, 'point')} reached in one run only" if check.other else ""
    return (
        f"self-check, error bounds of the engine halved: dwells of {words.counted(check.points, 'point')} move by at "
        f"most {words.figures(check.dwell_s, 2)} s, errors by at most {words.figures(check.error_Pa, 2)} Pa{other}"
    )


def loop_remark(result: SettleResult, units: Scales) -> str:
    """The smallest margins of the loop over the run, each with its place; empty when none were computed."""
    known = [p for p in result.points if p.margins is not None]
    parts = [
        _least(known, "gain", "gain margin x", "", 1.0, units),
        _least(known, "phase_deg", "phase margin ", units.marks.degree, 1.0, units),
        _least(known, "delay_s", "delay margin ", " ms", 1e3, units),
    ]
    parts = [part for part in parts if part]
    return f"loop, smallest over the run: {', '.join(parts)}" if parts else ""


def _least(points: Sequence[PointResult], field: str, name: str, unit: str, factor: float, units: Scales) -> str:
    found = [(getattr(p.margins, field), p) for p in points if getattr(p.margins, field) is not None]
    if not found:
        return ""
    value, p = min(found, key=lambda pair: pair[0])
    return f"{name}{words.figures(value * factor, 2)}{unit} at {units.level_named(p.target_Pa)}"


def influence_remark(result: SettleResult, units: Scales) -> str:
    """Which unknown widens the answer most, or how to find out."""
    if result.trials is None:
        return "no spread was drawn: --trials 200 gives the 90 % band and names the unknown that widens it most"
    known = [i for i in result.sensitivity if i.share > 0.0]
    missed = result.trials.not_reached
    lost = f"; in {words.counted(missed, 'trial')} at least one point was not reached" if missed else ""
    if not known:
        return f"no unknown with a stated spread stands out as the one that widens the answer{lost}"
    first, *rest = [_share(i, units) for i in known[:3]]
    return f"widens the answer most: {first}" + (f"; then {', '.join(rest)}" if rest else "") + lost


def few_trials_remark(result: SettleResult) -> str:
    """That too few trials do not bound the ends of the band; empty where they do or nothing was drawn."""
    if result.trials is None or result.trials.count >= BOUNDING_TRIALS:
        return ""
    return (
        f"{words.counted(result.trials.count, 'trial')} tell only how wide the 90 % band is at least; "
        f"{BOUNDING_TRIALS} or more bound its ends from both sides, at 95 % confidence"
    )


def _share(influence: Influence, units: Scales) -> str:
    return f"{units.name(influence.key)} ({words.fixed(100.0 * influence.share, 0)} % of the variance)"
