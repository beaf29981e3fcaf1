"""The answer of `judge` as text: the sentence to paste, the parts of the change, the next action, what it rests on."""

from collections.abc import Mapping

from simcal import cache
from simcal.analysis.judge import Judgement
from simcal.analysis.judge.judgement import LEAK, TIGHT, UNDECIDED
from simcal.bench.about import ShopCriterion
from simcal.bench.record import FROZEN
from simcal.bench.values import Assumed
from simcal.files.answers import Mark
from simcal.show import words
from simcal.show.cautions import brief_caution, cautions
from simcal.show.judge_units import Judged, RateUnits, capacity_named, hazard, level_named, rate_units
from simcal.show.table import Column, aligned
from simcal.show.wrapping import wrapped

PARTS = {
    "leak": "leaks, net: - gas went out, + it came in",
    "thermal": "temperature of the gas, by wall, body and room",
    "other": "slow yielding, the sensor's drift, the barometer",
    "unexplained": "what no explanation takes up",
}
CAUSES = {
    "leak": "gas that leaves the volume",
    "gas": "gas that comes to the wall's temperature",
    "body": "metal that comes to the room's temperature",
    "room": "the room's temperature wanders",
    "creep": "a hose or seal that yields slowly",
    "trapped": "a pocket behind a narrow way",
    "seat": "an inlet that passes, seen or hidden",
    "outgassing": "surfaces that give off gas",
    "barometer": "the barometer moves",
    "sensor": "the sensor drifts",
    "unknown": "not told apart",
}
WIDENS = {
    "heat": "heat between gas, wall and room",
    "slow": "slow yielding",
    "room": "the room's temperature",
    "drift": "the sensor's drift",
    "barometer": "the barometer",
    "noise": "noise",
    "thermometer": "the thermometer",
    "capacity": "the capacity's spread",
}
MOST_NAMES = 3
LEAST_WEIGHT = 0.005
"""Causes and sources below it are left out of a text; the document has them all."""


def judge_sentence(judged: Judged, unicode: bool = False) -> str:
    """What one would paste, on one line: verdict, rate, limit, state, watch, thermal share, what is missing."""
    found, rates = judged.found, rate_units(judged, unicode)
    said = [f"{_named(found, unicode)}: {_ruling(found, rates)}", _state(judged, unicode), _watch(found)]
    said.append(_shares(found))
    if found.verdict in (None, UNDECIDED):
        said.append(f"next: {found.next_action.text}")
    return words.plain("; ".join(part for part in said if part), unicode)


def judge_text(judged: Judged, marked: str = "", unicode: bool = False) -> str:
    """The whole answer, ending in one newline. marked: how it compares with a known answer, a line."""
    rates = rate_units(judged, unicode)
    blocks = [
        wrapped([judge_sentence(judged, unicode)], ""),
        *(tables(judged.found) if judged.found.leak_mol_per_s is not None and judged.found.fits else []),
        wrapped([next_line(judged.found, rates)] if judged.found.verdict is not None else [], ""),
        wrapped([marked] if marked else [], ""),
        wrapped(remarks(judged, unicode), "- "),
        wrapped([brief_caution(hazard(judged), unicode)], "! "),
        [closing(judged.seed)],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def tables(found: Judgement) -> list[list[str]]:
    """Parts and causes; nothing is attributed without a rate or by what does not fit: there are none then."""
    return [
        ["change of the reading over the watch:", *aligned(PART_COLUMNS, part_rows(found))],
        ["causes by weight:", *aligned(CAUSE_COLUMNS, cause_rows(found))],
    ]


def marked_line(judged: Judged, mark: Mark, unicode: bool = False) -> str:
    """How a verdict compares with what is known to be true."""
    rates = rate_units(judged, unicode)
    held = {True: "inside the interval", False: "outside the interval", None: "no interval"}[mark.inside]
    return f"answer: {mark.mark}, it is {mark.verdict} ({rates.one(mark.leak_mol_per_s)}, {held})"


def tally(verdicts: Mapping[str, int], marks: Mapping[str, int], last: Judged, seed: int, unicode: bool = False) -> str:
    """What stands below the lines of several records: counts, cautions, version."""
    lines = ["", f"{sum(verdicts.values())} records: {_counts(verdicts)}"]
    lines += [f"against the answers: {_counts(marks)}"] if marks else []
    return "\n".join([*lines, "", *wrapped([brief_caution(hazard(last), unicode)], "! "), "", closing(seed)]) + "\n"


def _counts(found: Mapping[str, int]) -> str:
    return ", ".join(f"{count} {name}" for name, count in sorted(found.items()))


def closing(seed: int) -> str:
    """Version and seed."""
    return f"simcal {cache.version()}, seed {seed} (nothing is drawn here)"


def _named(found: Judgement, unicode: bool) -> str:
    if not found.records:
        return words.plain(found.record, unicode)
    more = len(found.records) - MOST_NAMES
    names = " + ".join(words.plain(name, unicode) for name in found.records[:MOST_NAMES])
    return f"{names}{f' and {more} more' if more > 0 else ''}, judged together"


def _ruling(found: Judgement, rates: RateUnits) -> str:
    """Verdict, interval and limit, or what is missing for them."""
    if found.low_mol_per_s is None or found.high_mol_per_s is None:
        return f"no verdict, {found.reasons.get('leak_mol_per_s', 'no rate')}"
    between = f"net outflow {rates.between(found.low_mol_per_s, found.high_mol_per_s)}"
    if not found.fits:
        limit = "" if found.permitted_mol_per_s is None else f", permitted are {rates.one(found.permitted_mol_per_s)}"
        return f"{found.verdict or 'no verdict'}, the record fits no explanation; the nearest gives {between}{limit}"
    interval = f"{between} at 95 %"
    if found.permitted_mol_per_s is None:
        return f"no verdict without a permitted leak, {interval}"
    limit = f"permitted {rates.one(found.permitted_mol_per_s)}"
    how = {LEAK: "beyond", TIGHT: "within", UNDECIDED: "not parted from"}[found.verdict or UNDECIDED]
    return f"{found.verdict}, {interval}, {how} the {limit}"


def _state(judged: Judged, unicode: bool) -> str:
    capacity = capacity_named(judged, unicode)
    parts = (judged.about.gas, level_named(judged, judged.found.pressure_Pa), capacity)
    return ", ".join(part for part in parts if part)


def _watch(found: Judgement) -> str:
    length = words.duration(found.watch_until_s - found.watch_from_s)
    return f"watched {length} from {words.figures(found.watch_from_s, 4)} s"


def _shares(found: Judgement) -> str:
    """How much of the change is thermal, where it is known at all."""
    change = f"the reading changes by {words.figures(found.change_Pa)} Pa"
    if found.leak_mol_per_s is None:
        return f"{change}, {found.statements[-1]}" if found.statements else change
    if not found.fits:
        return change
    thermal = found.change_parts_Pa["thermal"]
    whole = sum(abs(part) for part in found.change_parts_Pa.values())
    share = f" ({words.fixed(100.0 * abs(thermal) / whole, 0)} % of what moved it)" if whole > 0.0 else ""
    return f"{change}, thermal {words.figures(thermal)} Pa{share}"


PART_COLUMNS = [Column("part", left=True), Column("change", "Pa"), Column("what it is", left=True)]
CAUSE_COLUMNS = [Column("cause", left=True), Column("weight", "%"), Column("what it is", left=True)]


def part_rows(found: Judgement) -> list[list[str]]:
    """Cells of the parts and of their sum."""
    places = words.decimals_for(max(abs(found.change_Pa), *map(abs, found.change_parts_Pa.values())))
    rows = [[name, words.fixed(part, places), PARTS[name]] for name, part in found.change_parts_Pa.items()]
    return [*rows, ["whole", words.fixed(found.change_Pa, places), "the reading's change, smoothed"]]


def cause_rows(found: Judgement) -> list[list[str]]:
    """Cells of the causes that count, the heaviest first."""
    heavy = sorted(found.causes.items(), key=lambda one: -one[1])
    return [[name, words.fixed(100.0 * w, 0), CAUSES[name]] for name, w in heavy if w >= LEAST_WEIGHT]


def next_line(found: Judgement, rates: RateUnits) -> str:
    """The next action and what it is expected to bring."""
    action = found.next_action
    said = f"next: {action.text}"
    if action.until_s is not None and action.for_s is not None:
        said += f" (watch from {words.figures(action.until_s, 4)} s for {words.duration(action.for_s)})"
    if action.expected_low_mol_per_s is not None and action.expected_high_mol_per_s is not None:
        whose = ", were it the device's," if action.kind == "plug_port" else ""
        between = rates.between(action.expected_low_mol_per_s, action.expected_high_mol_per_s)
        said += f"; expected then{whose} {between}"
    return words.plain(said, rates.unicode)


def remarks(judged: Judged, unicode: bool = False) -> list[str]:
    """What is read with the verdict: what widens it, the shop's criterion, what was dropped and assumed."""
    found = judged.found
    attributed = found.leak_mol_per_s is not None
    first = [*found.statements, _widened(found)] if attributed else found.statements[:-1]  # the sentence has the last
    said = [*first, _criterion(judged), *_dropped(judged), *_assumed(judged)]
    return [words.plain(one, unicode) for one in said if one]


def _widened(found: Judgement) -> str:
    heavy = sorted(found.widened_by.items(), key=lambda one: -one[1])
    parts = [f"{WIDENS.get(name, name)} {words.fixed(100.0 * w, 0)} %" for name, w in heavy if w >= LEAST_WEIGHT]
    return f"what widens the answer, by variance: {', '.join(parts)}" if parts else ""


def _criterion(judged: Judged) -> str:
    """The shop's own criterion beside the verdict."""
    shop, stated = judged.found.criterion, judged.about.criterion
    if shop is None or stated is None:
        return ""
    rule = f"the shop's own criterion ({_rule(stated)})"
    if shop.verdict is None or shop.change_Pa is None:
        return f"{rule} says nothing: {shop.why}"
    how = "" if shop.agrees is None else ", as here" if shop.agrees else ", unlike here"
    return (
        f"{rule} would say {shop.verdict}{how}: its reading changes by {words.figures(shop.change_Pa)} Pa; {shop.why}"
    )


def _rule(stated: ShopCriterion) -> str:
    parts = [f"wait {words.duration(stated.wait or 0.0)}"]
    parts += [] if stated.watch is None else [f"watch {words.duration(stated.watch)}"]
    for word, size in (("drop", stated.allowed_drop), ("rise", stated.allowed_rise)):
        parts += [] if size is None else [f"{word} up to {words.figures(size)} Pa"]
    return ", ".join(parts)


def _dropped(judged: Judged) -> list[str]:
    """What the reader left out or asks to look at."""
    said = []
    for record in judged.records:
        odd = [f"{count} x {reason}" for reason, count in record.dropped.items()]
        odd += [f"{count} x {kind} kept" for kind, count in record.marks.items() if kind != FROZEN]
        if odd:
            said.append(f"{record.name}: {', '.join(odd)}; `simcal read` shows where")
    return said


def _assumed(judged: Judged) -> list[str]:
    """What the judge assumed, one a line, and what the reader did, in short."""
    said = [f"assumed {a.key} = {a.value} ({a.why})" for a in dict.fromkeys(judged.found.assumed)]
    read = dict.fromkeys(f"{a.key} = {a.value}" for record in judged.records for a in record.assumed)
    return [*said, f"the reader assumed {', '.join(read)}; `simcal read` shows why"] if read else said


def assumed(judged: Judged) -> tuple[Assumed, ...]:
    """What the judge and the reader assumed, each once."""
    own = dict.fromkeys(judged.found.assumed)
    return tuple(own | dict.fromkeys(a for record in judged.records for a in record.assumed))


def judge_cautions(judged: Judged) -> tuple[str, ...]:
    """All cautions, for a document and a page."""
    return cautions(hazard(judged))
