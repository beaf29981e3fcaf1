"""The tables of the page: captions, heads with units, cells of text."""

from typing import Any

from simcal.analysis.settle.result import PARTS, SettleResult
from simcal.show import text, words
from simcal.show.scales import Scales
from simcal.show.sheet import table


def main_tables(result: SettleResult, units: Scales) -> list[dict[str, Any]]:
    """The tables that answer the question: caption, heads with units, rows, and which columns are text."""
    made = [_dwell(result, units)]
    if result.groups is not None:
        made.append(_grouped(result, units))
    if result.sensitivity:
        made.append(_shares(result, units))
    return [one for one in made if one["rows"]]


def detail_tables(result: SettleResult, units: Scales) -> list[dict[str, Any]]:
    """The tables behind them."""
    made = [_parts(result, units), _exposure(result, units), _loop(result, units)]
    if len({name for p in result.points for name in p.devices}) > 1:
        made.append(_devices(result, units))
    return [one for one in made if one["rows"]]


def _dwell(result: SettleResult, units: Scales) -> dict[str, Any]:
    banded = any(p.dwell_low_s is not None for p in result.points)
    spread = any(p.error_low_Pa is not None for p in result.points)
    several = len({name for p in result.points for name in p.devices}) > 1
    shut = any(p.mode == "isolated" for p in result.points)
    heads = [
        "no.",
        f"setpoint, {units.level_unit}",
        "way",
        "arrives, s",
        "dwell, s",
        *["90 % band, s"] * banded,
        "ready, s",
        *["latest, s"] * shut,
        f"error at reading, {units.small_unit}",
        *[f"90 % band, {units.small_unit}"] * spread,
        f"random, {units.small_unit}",
        f"allowed, {units.small_unit}",
        *["governed by"] * several,
        "limited by",
    ]
    rows = [
        [*row[:-1], *[units.name(p.device, 40)] * several, row[-1]]
        for p in result.points
        for row in [text.dwell_row(p, units, banded, spread, shut, False)]
    ]
    caption = "Arrival and dwell at every setpoint; times rounded up, arrival and ready counted from the command."
    return table(caption, heads, rows, [2, *[len(heads) - 2] * several, len(heads) - 1])


def _parts(result: SettleResult, units: Scales) -> dict[str, Any]:
    shown = [part for part in PARTS if any(part in p.error_parts_Pa for p in result.points)]
    heads = [
        "no.",
        f"setpoint, {units.level_unit}",
        f"error, {units.small_unit}",
        *[_part_head(x, units) for x in shown],
    ]
    rows = [
        [
            str(p.number),
            units.level(p.target_Pa),
            units.small(p.error_at_reading_Pa),
            *[units.small(p.error_parts_Pa.get(x)) for x in shown],
        ]
        for p in result.points
        if p.ready_s is not None
    ]
    return table("The error at the reading and its parts, device minus reference, head removed.", heads, rows)


def _part_head(part: str, units: Scales) -> str:
    return f"{part} (2 std. dev.), {units.small_unit}" if part == "ripple" else f"{part}, {units.small_unit}"


def _devices(result: SettleResult, units: Scales) -> dict[str, Any]:
    small = units.small_unit
    heads = [
        "no.",
        f"setpoint, {units.level_unit}",
        "device",
        "ready, s",
        f"error, {small}",
        f"random, {small}",
        f"allowed, {small}",
        f"peak, {units.level_unit}",
        f"after-effect, {small}",
        f"head, {small}",
    ]
    rows = [
        [
            str(p.number),
            units.level(p.target_Pa),
            units.name(name, 40),
            units.time(d.ready_s),
            units.small(d.error_at_reading_Pa if p.ready_s is not None else None),
            units.small(d.random_Pa if p.ready_s is not None else None),
            units.small(d.allowance_Pa),
            units.level(d.peak_Pa),
            units.small(d.device_effect_Pa),
            units.small(d.head_Pa),
        ]
        for p in result.points
        for name, d in p.devices.items()
    ]
    return table("Every device at every setpoint.", heads, rows, [2])


def _exposure(result: SettleResult, units: Scales) -> dict[str, Any]:
    columns, rows = text.exposure_rows(result, units)
    heads = ["no.", *[f"{c.head}, {c.unit}" if c.unit else "governed by" for c in columns[1:]]]
    left = [1] if any(c.head == "governs" for c in columns) else []
    caption = "What the governing device was exposed to on each step, and what the controller fed."
    return table(caption, heads, rows, left)


def _loop(result: SettleResult, units: Scales) -> dict[str, Any]:
    heads = [
        "no.",
        f"setpoint, {units.level_unit}",
        "way",
        "gain margin",
        "phase margin, °",
        "delay margin, ms",
        "peak sensitivity",
        f"cycle, {units.small_unit}",
        "cycle, s",
    ]
    rows = []
    for p in result.points:
        if p.margins is None and p.cycle is None:
            continue
        m, c = p.margins, p.cycle
        delay = None if m is None or m.delay_s is None else 1e3 * m.delay_s
        seen = [
            words.figures(getattr(m, "gain", None)),
            words.figures(getattr(m, "phase_deg", None), 2),
            words.figures(delay),
            words.figures(getattr(m, "peak_sensitivity", None)),
        ]
        cycle = [
            units.small(getattr(c, "amplitude_Pa", None)),
            words.figures(getattr(c, "period_s", None), 2),
        ]
        rows.append([str(p.number), units.level(p.target_Pa), p.direction, *seen, *cycle])
    caption = "The loop at each setpoint: margins of the linearised sampled loop, and a cycle where one is seen."
    return table(caption, heads, rows, [2])


def _grouped(result: SettleResult, units: Scales) -> dict[str, Any]:
    columns, rows, cost = text.group_rows(result, units)
    heads = [f"{c.head}, {c.unit}" if c.unit else c.head for c in columns]
    return table(f"The same in few dwells: {cost}.", heads, rows, [0, len(heads) - 1])


def _shares(result: SettleResult, units: Scales) -> dict[str, Any]:
    rows = [[units.name(i.key), f"{words.fixed(100.0 * i.share, 1)} %"] for i in result.sensitivity]
    return table(
        "Which unknown widens the sum of the dwells, by its share of the variance.",
        ["key", "share"],
        rows,
        [0],
    )
