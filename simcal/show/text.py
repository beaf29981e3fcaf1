"""The answer of `settle` as plain text: a sentence, tables, notes; made to be pasted."""

from collections.abc import Iterable, Sequence

from simcal.analysis.settle.result import DeviceResult, Groups, PointResult, SettleResult
from simcal.show import words
from simcal.show.cautions import brief_caution
from simcal.show.hazard import hazard
from simcal.show.missed import missed
from simcal.show.remarks import remarks
from simcal.show.scales import Scales, Setting, scales
from simcal.show.sentence import limit_words, sentence, warnings_first
from simcal.show.table import Column, aligned
from simcal.show.wrapping import wrapped


def settle_text(result: SettleResult, setting: Setting | None = None, unicode: bool = False) -> str:
    """The whole answer, ending in one newline. ASCII unless `unicode`."""
    known = setting or Setting()
    units = scales(result, known, unicode)
    blocks = [
        wrapped(warnings_first(result, units), ""),
        wrapped([sentence(result, units)], ""),
        dwell_table(result, units),
        [f"exposure of the {'governing ' * (len(_names(result)) > 1)}device:", *exposure_table(result, units)],
        _titled("devices, worst over the run:", device_table(result, units)),
        _titled("in few dwells:", group_table(result, units)),
        wrapped(remarks(result, units), "- "),
        wrapped([brief_caution(hazard(result, known), unicode)], "! "),
        [closing(result)],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def closing(result: SettleResult) -> str:
    """Version and seed, which make the answer repeatable."""
    drawn = f", {words.counted(result.trials.count, 'trial')}" if result.trials else ""
    return f"simcal {result.version}, seed {result.seed}{drawn}"


def dwell_table(result: SettleResult, units: Scales) -> list[str]:
    """One line a setpoint: when it arrives, how long to dwell, what is left and what limits it."""
    points = result.points
    banded = any(p.dwell_low_s is not None for p in points)
    spread = any(p.error_low_Pa is not None for p in points)
    shut = any(p.mode == "isolated" for p in points)
    several = len(_names(result)) > 1
    columns = [
        Column("no"),
        Column("target", units.level_unit),
        Column("way", left=True),
        Column("arrives", "s"),
        Column("dwell", "s"),
        *[Column("90 % band", "s")] * banded,
        Column("ready", "s"),
        *[Column("latest", "s")] * shut,
        Column("error", units.small_unit),
        *[Column("90 % band", units.small_unit)] * spread,
        Column("random", units.small_unit),
        Column("allowed", units.small_unit),
        *[Column("governs", left=True)] * several,
        Column("limited by", left=True),
    ]
    rows = [dwell_row(p, units, banded, spread, shut, several) for p in points]
    return aligned(columns, rows)


def dwell_row(p: PointResult, units: Scales, banded: bool, spread: bool, shut: bool, several: bool) -> list[str]:
    """Cells of one line of the dwell table; `banded` with the trials' dwells, `spread` with their errors.

    A point without a reading has no error at it.
    """
    read = p.ready_s is not None
    random = p.error_parts_Pa.get("ripple") if read else None
    return [
        str(p.number),
        units.level(p.target_Pa),
        _way(p),
        units.time(p.arrival_s),
        units.time(p.dwell_s),
        *[_band(p, units)] * banded,
        units.time(p.ready_s),
        *[words.fixed(p.latest_s, units.time_decimals)] * shut,
        units.small(p.error_at_reading_Pa if read else None),
        *[_error_band(p, units)] * spread,
        units.small(random),
        units.small(p.allowance_Pa),
        *[units.name(p.device, 16)] * several,
        _limit(p),
    ]


def _way(p: PointResult) -> str:
    return "vent" if p.mode == "vent" else f"{p.direction}, shut" if p.mode == "isolated" else p.direction


def _band(p: PointResult, units: Scales) -> str:
    if p.dwell_low_s is None or p.dwell_high_s is None:
        return words.NONE
    return f"{words.fixed(p.dwell_low_s, units.time_decimals)}..{units.time(p.dwell_high_s)}"


def _error_band(p: PointResult, units: Scales) -> str:
    if p.error_low_Pa is None or p.error_high_Pa is None:
        return words.NONE
    return f"{units.small(p.error_low_Pa)}..{units.small(p.error_high_Pa)}"


def _limit(p: PointResult) -> str:
    if not p.reached:
        return missed(p).upper()
    return "VOID" if p.void is not None else limit_words(p.limited_by)


def exposure_table(result: SettleResult, units: Scales) -> list[str]:
    """What the governing device saw on each step."""
    return aligned(*exposure_rows(result, units))


def exposure_rows(result: SettleResult, units: Scales) -> tuple[list[Column], list[list[str]]]:
    """The same as columns and cells."""
    factor, rate = units.rate
    moles, amount = units.amount
    fast = words.decimals_for(max((p.peak_rate_Pa_per_s for p in result.points), default=0.0) / factor)
    flow = words.decimals_for(max((abs(p.make_up_mol_per_s or 0.0) for p in result.points), default=0.0) / moles)
    several = len(_names(result)) > 1
    columns = [
        Column("no"),
        *[Column("governs", left=True)] * several,
        Column("peak", units.level_unit),
        Column("overshoot", units.small_unit),
        Column("fastest", rate),
        Column("after-effect", units.small_unit),
        Column("head", units.small_unit),
        Column("make-up", units.micro(amount)),
    ]
    rows = [
        [
            str(p.number),
            *[units.name(p.device, 16)] * several,
            words.fixed(units.number(p.peak_Pa), units.decimals),
            units.small(p.overshoot_Pa),
            words.fixed(p.peak_rate_Pa_per_s / factor, fast),
            units.small(p.device_effect_Pa),
            units.small(p.head_Pa),
            words.fixed(
                None if p.ready_s is None or p.make_up_mol_per_s is None else p.make_up_mol_per_s / moles, flow
            ),
        ]
        for p in result.points
    ]
    return columns, rows


def device_table(result: SettleResult, units: Scales) -> list[str]:
    """With several devices: the worst of each over the run, and how often it governs."""
    names = _names(result)
    if len(names) < 2:
        return []
    columns = [
        Column("device", left=True),
        Column("governs", "points"),
        Column("ready by" if result.fixed_dwell_s is None else "would be ready", "s"),
        Column("largest error", units.small_unit),
        Column("allowed", units.small_unit),
        Column("peak", units.level_unit),
        Column("overshoot", units.small_unit),
        Column("head", units.small_unit),
    ]
    return aligned(columns, [_device_row(result, name, units) for name in names])


def _device_row(result: SettleResult, name: str, units: Scales) -> list[str]:
    seen = [p.devices[name] for p in result.points if name in p.devices]
    ready = [d.ready_s for d in seen if d.ready_s is not None]
    read = [p.devices[name] for p in result.points if name in p.devices and p.ready_s is not None]
    worst = max(read, key=lambda d: abs(d.error_at_reading_Pa or 0.0) / (d.allowance_Pa or 1.0), default=None)
    return [
        units.name(name, 24),
        str(sum(p.device == name for p in result.points)),
        units.time(max(ready, default=None)),
        units.small(worst.error_at_reading_Pa if worst else None),
        units.small(worst.allowance_Pa if worst else None),
        units.level(max(d.peak_Pa for d in seen)),
        units.small(max(d.overshoot_Pa for d in seen)),
        units.small(_widest(d.head_Pa for d in seen)),
    ]


def _widest(values: Iterable[float]) -> float:
    return max(values, key=abs)


def group_table(result: SettleResult, units: Scales) -> list[str]:
    """The same points in few, rounded-up dwells, and what that costs."""
    if result.groups is None:
        return []
    columns, rows, cost = group_rows(result, units)
    return [*(aligned(columns, rows) if rows else []), *wrapped([cost], "")]


def group_rows(result: SettleResult, units: Scales) -> tuple[list[Column], list[list[str]], str]:
    """The same as columns, cells, and a line on what it costs."""
    groups = result.groups or Groups((), None, None)
    columns = [
        Column("way", left=True),
        Column("from", units.level_unit),
        Column("to", units.level_unit),
        Column("dwell", "s"),
        Column("points", left=True),
    ]
    rows = [
        [
            g.direction,
            units.level(g.low_Pa),
            units.level(g.high_Pa),
            f"{g.dwell_s:g}",
            _ranges(g.points),
        ]
        for g in groups.groups
    ]
    if groups.total_s is None or groups.extra_s is None:
        return columns, rows, units.name(groups.note)
    change = "longer" if groups.extra_s >= 0.0 else "shorter"
    cost = f"run {words.duration(groups.total_s)}, {words.duration(abs(groups.extra_s))} {change}"
    share = groups.largest_share
    used = "" if share is None else f"; at most {words.fixed(100.0 * share, 0)} % of the allowance is used"
    return columns, rows, cost + used + (f"; {units.name(groups.note)}" if groups.note else "")


def _ranges(numbers: Sequence[int]) -> str:
    """1, 2, 3, 7 as "1-3, 7"."""
    runs: list[list[int]] = []
    for n in sorted(numbers):
        if runs and n == runs[-1][1] + 1:
            runs[-1][1] = n
        else:
            runs.append([n, n])
    return ", ".join(str(a) if a == b else f"{a}-{b}" for a, b in runs)


def _names(result: SettleResult) -> list[str]:
    names: dict[str, DeviceResult] = {}
    for p in result.points:
        names.update(p.devices)
    return list(names)


def _titled(title: str, lines: list[str]) -> list[str]:
    return [title, *lines] if lines else []
