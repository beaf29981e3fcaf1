"""The one sentence that people paste, and the lines that must stand before it."""

from collections import Counter
from collections.abc import Iterable, Sequence

from simcal.analysis.settle.result import Cycle, DeviceResult, PointResult, SettleResult
from simcal.show import words
from simcal.show.missed import TOO_MUCH_LEFT, missed
from simcal.show.scales import Scales

LIMITS = {
    "line": "line difference",
    "rate": "rate of change",
    "sensor": "sensor shift",
    "leak": "leak flow",
    "control": "distance from target",
    "device": "after-effect",
}
"""What holds a point back, in words that follow "limited by"; a name not listed says enough itself."""


def limit_words(name: str | None) -> str:
    """A limit in words."""
    return words.NONE if name is None else LIMITS.get(name, name)


HUNTING_FROM = 0.1
"""Share of the allowance from which a cycle stands in the sentence; smaller ones are in the notes: a choice of ours."""

MOST_FIRST = 5
"""Lines of broken limits before the answer; the rest stand in the notes."""


def warnings_first(result: SettleResult, scales: Scales) -> tuple[str, ...]:
    """Device limits that were broken, one line each: these come before anything else."""
    lines = [f"DEVICE LIMIT BROKEN: {scales.name(text)}" for text in result.violations]
    more = len(lines) - MOST_FIRST
    if more <= 0:
        return tuple(lines)
    return (*lines[:MOST_FIRST], f"DEVICE LIMIT BROKEN: {words.counted(more, 'more time')}, see the notes")


def sentence(result: SettleResult, scales: Scales) -> str:
    """The answer in one sentence, bad news first."""
    parts = [_state(result), _failed(result), _dwells(result, scales), _run(result, scales), _error(result, scales)]
    name = scales.name(result.bench, 60)
    return f"{name}: {'; '.join(part for part in parts if part)}."


def place(point: PointResult, scales: Scales) -> str:
    """Where a point is: its level and the way it was reached."""
    way = "vented" if point.mode == "vent" else point.direction
    return f"{scales.level_named(point.target_Pa)} {way}"


def usable(points: Iterable[PointResult]) -> list[PointResult]:
    """Points that were reached and may be read."""
    return [p for p in points if p.reached and p.void is None and p.dwell_s is not None]


def main_limit(points: Sequence[PointResult]) -> str | None:
    """What limits most points; the earlier in the run of two that tie."""
    found = Counter(p.limited_by for p in points if p.limited_by)
    return found.most_common(1)[0][0] if found else None


def largest_share(points: Sequence[PointResult]) -> tuple[PointResult, DeviceResult] | None:
    """The point and, of all its devices, the one whose error takes most of its own allowance."""
    known = [(p, d) for p in points for d in p.devices.values() if d.error_at_reading_Pa is not None and d.allowance_Pa]
    return max(known, key=lambda one: abs(one[1].error_at_reading_Pa or 0.0) / one[1].allowance_Pa, default=None)


def _state(result: SettleResult) -> str:
    every = len(result.points)
    void = [p for p in result.points if p.reached and p.void is not None]
    said = []
    for word in dict.fromkeys(missed(p) for p in result.points if not p.reached):
        some = [p for p in result.points if missed(p) == word]
        share = f"{len(some)} of {words.counted(every, 'point')}"
        said.append(
            f"too much error left at {share} ({_numbers(some)})"
            if word == TOO_MUCH_LEFT
            else f"{share} {word} ({_numbers(some)})"
        )
    if void:
        said.append(f"{len(void)} of {words.counted(every, 'point')} void ({_numbers(void)})")
    if not result.reached_end:
        said.append("the run ended early")
    if every == 0:
        return "no point was run"
    good = "1 point can be read" if every == 1 else f"all {every} points can be read"
    hunting = [p for p in result.points if p.cycle is not None and _hunts(p.cycle)]
    loop = [f"the loop hunts at {words.counted(len(hunting), 'point')} ({_numbers(hunting)})"] if hunting else []
    return ", ".join([*(said or [good]), *loop])


def _hunts(cycle: Cycle) -> bool:
    """Whether a cycle is worth a word in the one sentence."""
    return max(cycle.share, cycle.reference_share) >= HUNTING_FROM


def _numbers(points: Sequence[PointResult]) -> str:
    shown = ", ".join(str(p.number) for p in points[:6])
    return f"no. {shown}" + (" and more" if len(points) > 6 else "")


def _dwells(result: SettleResult, scales: Scales) -> str:
    if result.fixed_dwell_s is not None:
        longer = any(
            (p.dwell_s or 0.0) > 1.001 * result.fixed_dwell_s and p.limited_by == "soak" for p in result.points
        )
        return f"dwell fixed at {words.seconds(result.fixed_dwell_s)}" + ", longer where the soak is" * longer
    points = usable(result.points)
    if not points:
        return ""
    longest = max(points, key=lambda p: p.dwell_s or 0.0)
    shortest = min(p.dwell_s or 0.0 for p in points)
    top = scales.time_named(longest.dwell_s)
    if longest.dwell_s == 0.0:
        which = "each point" if len(points) == len(result.points) else "each of the others"
        return f"no dwell: {which} is good as soon as the pressure arrives"
    if len(points) == 1:
        spread, at = top, f" at {place(longest, scales)}"
    elif scales.time(shortest) == scales.time(longest.dwell_s):
        spread, at = top, " at every point"
    else:
        spread, at = f"{scales.time(shortest)} to {top}", f" (longest at {place(longest, scales)})"
    limit = main_limit(points)
    return f"dwell {spread}{at}" + (f", mostly limited by {limit_words(limit)}" if limit else "")


def _failed(result: SettleResult) -> str:
    """How many trials failed; empty without trials and where none did."""
    if result.trials is None or not result.trials.not_reached:
        return ""
    every = words.counted(result.trials.count, "trial")
    return f"{result.trials.not_reached} of {every} failed: at least one point not reached"


def _run(result: SettleResult, scales: Scales) -> str:
    gas = words.in_units(result.gas_used_kg, words.MASSES, scales.marks.unicode)
    trials = result.trials
    band = ""
    if trials is not None and trials.total_low_s is not None:
        high = trials.total_high_s
        end = "or more" if high is None else f"to {words.duration(high)}"
        band = f" (90 % of {trials.count} trials: {words.duration(trials.total_low_s)} {end})"
    return f"run {words.duration(result.total_s)}{band}{_in_vain(result)}, {gas} of gas"


def _in_vain(result: SettleResult) -> str:
    """How much of the run's time went into points that were given up; empty where none was."""
    moves = [*result.preloads, *result.points]
    lost = [p for p in (moves if result.reached_end else moves[:-1]) if not p.reached and p.spent_s is not None]
    if not lost:
        return ""
    points = len([p for p in lost if p in result.points])
    kinds = [words.counted(points, "point")] * (points > 0)
    kinds += [words.counted(len(lost) - points, "preload")] * (len(lost) > points)
    spent = words.duration(sum(p.spent_s or 0.0 for p in lost))
    return f" ({spent} of it in vain: {' and '.join(kinds)} took the longest time allowed)"


def _error(result: SettleResult, scales: Scales) -> str:
    read = result.points if result.fixed_dwell_s is not None else usable(result.points)
    worst = largest_share([p for p in read if p.ready_s is not None])
    if worst is None:
        return ""
    p, d = worst
    left = f"{scales.small(abs(d.error_at_reading_Pa or 0.0))} of {scales.small_named(d.allowance_Pa)}"
    device = f" (device {scales.name(d.name, 24)})" if len(p.devices) > 1 else ""
    return f"error left at the reading: largest share of its allowance {left}, at {place(p, scales)}{device}"
