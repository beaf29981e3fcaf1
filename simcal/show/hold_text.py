"""The answer of `hold` as text: a sentence, what the change is made of, what was drawn, cautions."""

import textwrap

from simcal.analysis.hold.notes import BROKEN
from simcal.analysis.hold.result import PARTS, HoldResult
from simcal.bench.bench import Bench
from simcal.show import words
from simcal.show.cautions import Hazard, brief_caution, cautions
from simcal.show.key_units import unit_of_key
from simcal.show.level_units import level_unit, unit_in
from simcal.show.table import Column, aligned

LINE = 100
ROUNDING = 1e-12
"""of the pressure: a leak's part below it is what sums of numbers leave, and is told as none"""
MEANT = {
    "leak": "leaks, net: - gas went out, + it came in",
    "thermal": "temperature of the gas",
    "other": "creep, pockets, surfaces, sensor, barometer",
    "unexplained": "noise and rounding of the two readings",
}


def hold_sentence(result: HoldResult, bench: Bench, unicode: bool = False) -> str:
    """What one would paste."""
    plan, truth = result.plan, result.truth
    share = truth.parts_Pa["leak"]
    none = abs(share) < ROUNDING * plan.pressure_Pa
    leak = "0 mol/s" if none else words.in_units(abs(truth.leak_mol_per_s), words.AMOUNTS, unicode)
    way = "inward" if truth.leak_mol_per_s < 0.0 and not none else "outward"
    share = 0.0 if none else share
    return (
        f"hold at {level(plan.pressure_Pa, bench)} from {plan.direction} after {words.duration(plan.soak_s)} of soak: "
        f"the reading changes by {words.figures(truth.change_Pa)} Pa in {words.duration(plan.watch_s)}, of which "
        f"{words.figures(share)} Pa is leak ({leak}, net {way}) and "
        f"{words.figures(truth.parts_Pa['thermal'])} Pa thermal"
    )


def hold_text(result: HoldResult, bench: Bench, unicode: bool = False) -> str:
    """The whole answer, ending in one newline."""
    blocks = [
        _wrapped(broken(result, unicode), ""),
        _wrapped([hold_sentence(result, bench, unicode)], ""),
        ["change over the watch:", *parts_table(result)],
        ["drawn:", *drawn_table(result, bench, unicode)] if result.truth.drawn else [],
        _wrapped(facts(result, unicode), "- "),
        _wrapped([brief_caution(hold_hazard(result, bench), unicode)], "! "),
        [closing(result)],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def facts(result: HoldResult, unicode: bool = False) -> list[str]:
    """What goes with the record, notes and assumptions, one line each."""
    plan, permitted = result.plan, result.truth.permitted_mol_per_s
    limit = "" if permitted is None else f"; permitted are {words.in_units(permitted, words.AMOUNTS, unicode)}"
    return [
        f"sensor {words.plain(plan.sensor, unicode)} ({result.reading}), moved in {words.seconds(result.moved_in_s)}, "
        f"{len(result.rows.time_s)} rows every {words.figures(plan.every_s)} s; on the record's clock the valves "
        f"shut at {words.figures(result.isolated_at_s)} s, the watch is {words.figures(result.watch_from_s)} s "
        f"to {words.figures(result.watch_until_s)} s{limit}",
        *[words.plain(note, unicode) for note in result.notes if not note.startswith(BROKEN)],
        *[words.plain(f"assumed {a.key} = {a.value} ({a.why})", unicode) for a in result.assumed],
        "this is one bench of those that the stated spreads allow; another --seed draws another",
    ]


def broken(result: HoldResult, unicode: bool = False) -> list[str]:
    """Limits of devices that this hold broke, which come before all else."""
    return [words.plain(note, unicode) for note in result.notes if note.startswith(BROKEN)]


def closing(result: HoldResult) -> str:
    """Version and seed, which make the answer repeatable."""
    return f"simcal {result.version}, seed {result.seed}"


def parts_table(result: HoldResult) -> list[str]:
    """Parts of the change, Pa."""
    return aligned(
        [Column("part", left=True), Column("change", "Pa"), Column("what it is", left=True)], part_rows(result)
    )


def part_rows(result: HoldResult) -> list[list[str]]:
    """Cells of the parts and of their sum."""
    size = max(abs(result.truth.parts_Pa[part]) for part in PARTS)
    places = words.decimals_for(size)
    rows = [[part, words.fixed(result.truth.parts_Pa[part], places), MEANT[part]] for part in PARTS]
    return [*rows, ["whole", words.fixed(result.truth.change_Pa, places), "the reading's change"]]


DRAWN = [Column("key", left=True), Column("drawn"), Column("stated"), Column("unit", left=True)]


def drawn_table(result: HoldResult, bench: Bench, unicode: bool = False) -> list[str]:
    """What this hold drew of the stated spreads beside what is stated."""
    return aligned(DRAWN, drawn_rows(result, bench, unicode))


def drawn_rows(result: HoldResult, bench: Bench, unicode: bool = False) -> list[list[str]]:
    """Its cells; a size of unknown sign is stated as nought."""
    rows = []
    for key, value in result.truth.drawn.items():
        size, unit = unit_of_key(bench, key)
        numbers = [words.figures(one / size, 4) for one in (value, float(bench.value(key)))]
        rows.append([words.plain(key, unicode), *numbers, unit])
    return rows


def hold_hazard(result: HoldResult, bench: Bench) -> Hazard:
    """What the cautions need to know."""
    return Hazard(
        gas=bench.gas,
        highest_Pa=result.highest_Pa,
        lowest_Pa=min(result.plan.pressure_Pa, bench.room.barometer),
        room_Pa=bench.room.barometer,
        stored_energy_J=result.stored_energy_J,
        stored_energy_method=result.stored_energy_method,
    )


def hold_cautions(result: HoldResult, bench: Bench) -> tuple[str, ...]:
    """All cautions, for a document."""
    return cautions(hold_hazard(result, bench))


def level(pressure: float, bench: Bench) -> str:
    """A level, Pa abs, as the bench's sensors read it, with its unit."""
    gauge = bench.sensors[bench.controller.reads].range.gauge
    shown = pressure - bench.room.barometer if gauge else pressure
    unit = level_unit([shown], unit_in(bench.texts))
    return f"{words.figures(shown / words.PRESSURE_UNITS[unit], 4)} {unit} {'gauge' if gauge else 'abs'}"


def _wrapped(texts: list[str], mark: str) -> list[str]:
    blank = " " * len(mark)
    return [line for text in texts for line in textwrap.wrap(text, LINE, initial_indent=mark, subsequent_indent=blank)]
