"""The answer of `criterion` as text: a sentence, a paragraph for a procedure, the curve, why and what else."""

import textwrap

from simcal.analysis.criterion import CriterionResult
from simcal.analysis.criterion.verify import Risk
from simcal.bench.bench import Bench
from simcal.show import words
from simcal.show.cautions import Hazard, brief_caution, cautions
from simcal.show.hold_text import level
from simcal.show.scales import unit_in
from simcal.show.table import Column, aligned
from simcal.units import TABLE

LINE = 100
USUAL = "sccm(0 degC)"
"""The unit beside mol/s where the limit does not name one."""
SMALL_OF = {"bar": "mbar", "MPa": "kPa"}
"""The unit in which a shop writes a small difference, where it writes levels so"""
FROM = {
    "below": "from below",
    "above": "from above",
    "either": "from either side",
    "both": "twice, from below and from above",
}


def criterion_text(result: CriterionResult, bench: Bench, shop: str = USUAL, unicode: bool = False) -> str:
    """The whole answer, ending in one newline; shop: the unit of rates beside mol/s."""
    blocks = [
        _wrapped([criterion_sentence(result, bench, shop, unicode)], ""),
        _wrapped(worst_lines(result, unicode), ""),
        ["chance of a fail by the leak:", *aligned(*curve_table(result, shop, unicode))] if result.curve else [],
        ["what it catches by what the valves shut in:", *aligned(*caught_table(result, shop, unicode))]
        if result.caught else [],
        ["what would make it feasible, each alone:", *_wrapped(cure_lines(result), "- ")] if result.cures else [],
        ["for the procedure:", *_wrapped([procedure(result, bench)], "  ")] if _is_new(result) else [],
        ["for an about-file:", *(f"  {line}" for line in about_block(result))] if _is_new(result) else [],
        _wrapped(facts(result, bench, shop, unicode), "- "),
        _wrapped([brief_caution(hazard(result, bench), unicode)], "! "),
        [closing(result)],
    ]  # fmt: skip
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def criterion_sentence(result: CriterionResult, bench: Bench, shop: str = USUAL, unicode: bool = False) -> str:
    """What one would paste."""
    at, leak = level(result.pressure_Pa, bench), rate(result.permitted_mol_per_s, shop, unicode)
    if result.soak_s is None:
        return f"no criterion for {leak} at {at} {FROM[result.asked.direction]}: {result.reason}"
    times = (
        f"criterion at {at} {FROM[result.asked.direction]}: soak {clock(result.soak_s)}, wait "
        f"{clock(result.wait_s)}, watch {clock(result.watch_s)}, allow {allowed(result)}"
    )
    if result.false_alarm is None or result.miss is None:
        return f"{times}; {catches(result, shop, unicode)}"
    broken = f"; NOT KEPT: {result.reason}" if result.reason else ""
    return (
        f"{times}; false alarm {share(result.false_alarm.mean)} at {rate(result.healthy_mol_per_s, shop, unicode)}, "
        f"miss {share(result.miss.mean)} at {leak}, for 95 % of benches at most {share(result.false_alarm.most)} and "
        f"{share(result.miss.most)}{broken}"
    )


def allowed(result: CriterionResult) -> str:
    """Both limits in Pa."""
    sides = [("a drop", result.allowed_drop_Pa), ("a rise", result.allowed_rise_Pa)]
    return " and ".join(f"{name} of {short(v)} Pa" for name, v in sides if v is not None) or "anything"


def catches(result: CriterionResult, shop: str, unicode: bool) -> str:
    """Which leaks it finds with a half and with 95 %."""
    if result.catches is None:
        return ""
    half, most = result.catches.half_mol_per_s, result.catches.most_mol_per_s
    if half is None:
        return f"it finds less than half of all leaks of {rate(result.curve[-1].leak_mol_per_s, shop, unicode)}"
    text = f"a leak of {rate(half, shop, unicode)} fails in half of the holds"
    return text + (f", one of {rate(most, shop, unicode)} in 95 %" if most is not None else "")


def worst_lines(result: CriterionResult, unicode: bool = False) -> list[str]:
    """The worst bench, what makes it so, and the cure."""
    worst = result.worst
    if worst is None:
        return []
    risks = f"false alarm {share(worst.false_alarm)}, miss {share(worst.miss)}"
    if worst.cause is None or worst.cause_value is None:
        return [f"worst of {words.counted(result.asked.benches, 'fresh bench', 'fresh benches')}: {risks}; no single "
                "value makes it so"]  # fmt: skip
    return [
        f"worst of {words.counted(result.asked.benches, 'fresh bench', 'fresh benches')}: {risks}; "
        f"{words.plain(worst.cause, unicode)} = {words.figures(worst.cause_value)} there, stated "
        f"{words.figures(worst.cause_stated)} (SI), makes {100.0 * (worst.cause_share or 0.0):.0f} % of what parts the "
        "benches: measure that value on your own bench, state it with its smaller spread, and ask again"
    ]


def curve_table(result: CriterionResult, shop: str, unicode: bool) -> tuple[list[Column], list[list[str]]]:
    """The operating curve."""
    size, unit = words.scale(result.permitted_mol_per_s, words.AMOUNTS)
    heads = [
        Column("leak", words.with_micro(unit, unicode)), Column("leak", shop), Column("fails", "%"),
        Column("95 %", "from"), Column("", "to"), Column("other side", "%"), Column("mean change", "Pa"),
    ]  # fmt: skip
    rows = [
        [
            words.figures(p.leak_mol_per_s / size), words.figures(in_shop(p.leak_mol_per_s, shop)), percent(p.fails),
            percent(p.low), percent(p.high), percent(p.fails_rise), words.figures(p.change_Pa),
        ]
        for p in result.curve
    ]  # fmt: skip
    return heads, rows


def caught_table(result: CriterionResult, shop: str, unicode: bool) -> tuple[list[Column], list[list[str]]]:
    """What a given criterion catches, by capacity."""
    size, unit = words.scale(result.permitted_mol_per_s, words.AMOUNTS)
    unit = words.with_micro(unit, unicode)
    heads = [Column("capacity", "cm3"), Column("fails in half", unit), Column("fails in 95 %", unit), Column("", shop)]
    rows = [
        [
            words.figures(one.capacity_m3 * 1e6), words.figures(_over(one.half_mol_per_s, size)),
            words.figures(_over(one.most_mol_per_s, size)),
            words.figures(None if one.most_mol_per_s is None else in_shop(one.most_mol_per_s, shop)),
        ]
        for one in result.caught
    ]  # fmt: skip
    return heads, rows


def _over(value: float | None, size: float) -> float | None:
    return None if value is None else value / size


def cure_lines(result: CriterionResult) -> list[str]:
    """What would make it feasible."""
    return [
        words.to_ascii(one.text) + ("" if one.total_s is None else f": {clock(one.total_s)} in all")
        for one in result.cures
    ]


def procedure(result: CriterionResult, bench: Bench) -> str:
    """A paragraph for a procedure, in the units of the shop, with what to do and what not to do after a fail."""
    one = result.compare
    small = _small_unit(bench)
    sides = {
        "both": "Do this twice, coming from below and coming from above, and take the mean of the two changes. ",
        "either": "It does not matter from which side the pressure comes. ",
    }
    way = {"below": "from below", "above": "from a higher pressure"}.get(result.asked.direction, "")
    readings = "one reading" if one.readings == 1 else (
        f"the mean of {one.readings} readings, one every {short(one.every_s)} s"
    )  # fmt: skip
    drop, rise = (_in_shop_pressure(v, small) for v in (result.allowed_drop_Pa, result.allowed_rise_Pa))
    leaks, other = ("fallen", "risen") if result.pressure_Pa > bench.room.barometer else ("risen", "fallen")
    return (
        f"Go to {level(result.pressure_Pa, bench)}{' ' + way if way else ''} with the controller on and stay for "
        f"{clock(result.soak_s)} (soak). {sides.get(result.asked.direction, '')}Shut inlet, outlet and vent; "
        f"wait {clock(result.wait_s)}. Take {readings}, of {one.sensor} ({one.reading}, not corrected for "
        f"temperature), and the same again so that the last of them comes {clock(result.watch_s)} after the "
        f"first. Pass: the pressure has fallen by at most {drop} and risen by at most {rise}. "
        f"{leaks.capitalize()} by more: a leak, or a bench outside what this is valid for; do not tighten anything "
        f"under pressure: vent, confirm zero, then look. {other.capitalize()} by more: no pass; look for a valve that "
        "passes or a warm body, vent the supply and repeat."
    )


def _small_unit(bench: Bench) -> str:
    unit = unit_in(bench.texts) or "Pa"
    return SMALL_OF.get(unit, unit)


def _in_shop_pressure(value: float | None, unit: str) -> str:
    if value is None:
        return "any amount"
    plain = f"{short(value)} Pa"
    return plain if unit == "Pa" else f"{plain} ({short(value / words.PRESSURE_UNITS[unit])} {unit})"


def about_block(result: CriterionResult) -> list[str]:
    """The criterion as an about-file states it."""
    limits = [("allowed_drop", result.allowed_drop_Pa), ("allowed_rise", result.allowed_rise_Pa)]
    stated = "".join(f', {name} = "{_toml(v)} Pa"' for name, v in limits if v is not None)
    return [
        f'permitted_leak = "{result.permitted_mol_per_s:.6g} mol/s"',
        f'soak = "{_toml(result.soak_s)} s"',
        f'criterion = {{ wait = "{_toml(result.wait_s)} s", watch = "{_toml(result.watch_s)} s"{stated} }}',
    ]


def _toml(value: float | None) -> str:
    return f"{value or 0.0:.10g}"


def facts(result: CriterionResult, bench: Bench, shop: str, unicode: bool = False) -> list[str]:
    """What is compared, where it is valid, how sure it is, what was assumed; one line each."""
    one, asked = result.compare, result.asked
    lines = [
        f"compared are means of {words.counted(one.readings, 'reading')} of {words.plain(one.sensor, unicode)} "
        f"({one.reading}) at both ends of the watch, one every {short(one.every_s)} s, not corrected for "
        f"temperature{'; the changes of two holds are averaged' if one.holds == 2 else ''}"
    ]
    if result.false_alarm is not None and result.miss is not None:
        lines.append(
            f"counted on {asked.benches} fresh benches of {asked.runs} holds each: false alarm "
            f"{between(result.false_alarm)}, miss {between(result.miss)} (95 %); {catches(result, shop, unicode)}"
        )
        lines.append(
            f"what 95 % of such benches keep to, as far as {asked.benches} tell: false alarm "
            f"{most_between(result.false_alarm)}, miss {most_between(result.miss)} (95 %)"
        )
    if result.decision is not None:
        d = result.decision
        lines.append(
            f"where {share(d.bad_share)} of the seals leak as much as is permitted and the others are healthy, a fail "
            f"is a bad seal with {share(d.fail_is_bad)}, a pass a good one with {share(d.pass_is_good)}"
        )
    if result.valid_for is not None:
        v = result.valid_for
        low, high = (words.figures(x * 1e6) for x in v.capacity_m3)
        p = [level(x, bench) for x in v.pressure_Pa]
        lines.append(
            f"valid for {low} to {high} cm3 between the shut valves (here "
            f"{words.figures(v.capacity_stated_m3 * 1e6)}), for {p[0]} to {p[1]}, {bench.gas}, a leak of the law "
            f"{result.law}, and the room, weather and sensor as stated; one end at a time, by the nominal bench"
        )
    if result.checked_Pa is not None:
        lines.append(
            f"a sum of parts differed from a hold simulated whole by at most {words.figures(result.checked_Pa, 2)} Pa"
        )
    lines += [words.plain(note, unicode) for note in result.notes]
    lines += [words.plain(f"assumed {a.key} = {a.value} ({a.why})", unicode) for a in result.assumed]
    return lines


def closing(result: CriterionResult) -> str:
    """Version and seed, which make the answer repeatable."""
    return f"simcal {result.version}, seed {result.asked.seed}"


def between(risk: Risk) -> str:
    """A counted risk with its interval."""
    low, high = risk.between
    return f"{share(risk.mean)} ({percent(low)} to {percent(high)} %)"


def most_between(risk: Risk) -> str:
    """What 95 % of the benches keep to, with its interval."""
    low, high = risk.most_between
    return f"{share(risk.most)} ({percent(low)} to {percent(high)} %)"


def short(value: float) -> str:
    """A number of few figures, without noughts at its end."""
    return f"{value:.6g}" if abs(value) >= 1e4 else f"{value:.4g}"


def clock(time: float | None) -> str:
    """A stated time: "30 s", "2 min", "1 h 5 min"."""
    return words.duration(time).replace(".0 s", " s").replace(".00 s", " s")


def share(value: float) -> str:
    """A share in per cent."""
    return f"{percent(value)} %"


def percent(value: float) -> str:
    """A share in per cent, without its sign."""
    return words.fixed(100.0 * value, 2 if value < 0.0995 else 1)


def rate(value: float, shop: str, unicode: bool = False) -> str:
    """A leak rate in mol/s and in the shop's unit."""
    return f"{words.in_units(value, words.AMOUNTS, unicode)} ({words.figures(in_shop(value, shop))} {shop})"


def in_shop(value: float, shop: str) -> float:
    """A leak rate [mol/s] in the shop's unit."""
    return value / TABLE["amount flow"][shop]


def hazard(result: CriterionResult, bench: Bench) -> Hazard:
    """What the cautions need to know."""
    return Hazard(
        gas=bench.gas,
        highest_Pa=result.highest_Pa,
        lowest_Pa=min(result.pressure_Pa, bench.room.barometer),
        room_Pa=bench.room.barometer,
        stored_energy_J=result.stored_energy_J,
        stored_energy_method=result.stored_energy_method,
    )


def criterion_cautions(result: CriterionResult, bench: Bench) -> tuple[str, ...]:
    """All cautions, for a document."""
    return cautions(hazard(result, bench))


def _is_new(result: CriterionResult) -> bool:
    return result.soak_s is not None and not result.explained


def _wrapped(texts: list[str], mark: str) -> list[str]:
    blank = " " * len(mark)
    return [line for text in texts for line in textwrap.wrap(text, LINE, initial_indent=mark, subsequent_indent=blank)]
