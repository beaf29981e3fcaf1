"""What the text, the page and the tables of `cover` say alike: units, the rule in words, the sentence, rows."""

from collections.abc import Sequence
from dataclasses import dataclass

from simcal.analysis.cover.cover import ALL, BUDGET
from simcal.analysis.cover.gaps import Gap, gaps
from simcal.analysis.cover.result import SENSOR, VENT, CoverResult, InstrumentCover, PointCover
from simcal.bench.lab import WITH_DEVICE, Lab
from simcal.show import words
from simcal.show.scales import level_unit, unit_in

FOUR = 4
"""Figures of a pressure."""


@dataclass(frozen=True)
class Words:
    """How one answer is written: unit of its levels, currency, and whether the stream has more than ASCII."""

    unit: str
    currency: str
    unicode: bool
    barometer_Pa: float

    @classmethod
    def of(cls, lab: Lab, unicode: bool = False) -> "Words":
        """For the answer of a laboratory."""
        largest = [one.range.high for one in lab.instruments.values()]
        unit = level_unit([sorted(largest)[len(largest) // 2]], unit_in(lab.texts))
        return cls(unit, words.plain(lab.currency, unicode), unicode, lab.room.barometer)

    def name(self, text: object, longest: int = 30) -> str:
        """A user's word."""
        return words.plain(text, self.unicode, longest)

    def number(self, pascal: float) -> str:
        """A pressure in the unit of this answer."""
        return f"{pascal / words.PRESSURE_UNITS[self.unit]:.{FOUR}g}" if abs(pascal) > 1e-6 else "0"

    def level(self, stated: float, gauge: bool) -> str:
        """A level with its unit and reference."""
        return f"{self.number(stated)} {self.unit} {'gauge' if gauge else 'abs'}"

    def span(self, low: float, high: float, gauge: bool) -> str:
        """A range."""
        return f"{self.number(low)}..{self.level(high, gauge)}" if high > low else self.level(low, gauge)

    def money(self, cost: float | None) -> str:
        """A cost."""
        if cost is None:
            return words.NONE
        return f"{cost:.0f} {self.currency}".rstrip() if cost == round(cost) else f"{cost:.2f} {self.currency}".rstrip()


def count(number: float) -> str:
    """Calibrations a year."""
    return f"{number:.0f}" if number == round(number) else words.figures(number)


def percent(share: float | None, places: int = 3) -> str:
    """A share in %."""
    return words.NONE if share is None else f"{100.0 * share:.{places}g} %"


def rule_words(result: CoverResult) -> str:
    """The user's rule."""
    whose = "device counted" if result.uncertainty == WITH_DEVICE else "bench alone"
    if result.rule == "ratio":
        return f"a ratio of {result.limit:g} or more ({whose})"
    if result.rule == "consumer_risk":
        return f"a consumer's risk of {percent(result.limit)} or less ({whose}, {risk_basis(result)})"
    if result.rule == "specific_risk":
        return f"a guard band for {percent(result.limit)} at one reading ({whose})"
    return f"a guard band of {percent(result.limit)} of U ({whose})"


def risk_basis(result: CoverResult) -> str:
    """What the risks rest on."""
    if result.prior is None:
        return "worst case, no prior stated"
    return f"{percent(result.in_tolerance, 4)} in tolerance, {result.prior} errors"


def sentence(result: CoverResult, lab: Lab, unicode: bool = False) -> str:
    """The answer in one sentence."""
    w, plan = Words.of(lab, unicode), result.plan
    share = plan.count / result.count if result.count else plan.kinds / max(result.kinds, 1)
    sensors = words.counted(len(plan.sensors), "sensor")
    covers = f"{sensors} {'covers' if len(plan.sensors) == 1 else 'cover'}"
    whole = (
        f"all {result.kinds} kinds of instrument, {count(result.count)} calibrations a year,"
        if result.good
        else f"{plan.kinds} of {result.kinds} kinds of instrument, {count(plan.count)} of {count(result.count)} "
        f"calibrations a year ({percent(share)}),"
    )
    bought = [one for one in result.sensors if one.chosen and not one.owned]
    buy = f"; {len(bought)} to buy for {w.money(plan.cost)}" if bought else "; nothing to buy"
    names = {
        ALL: "the cheapest that covers what can be covered" if not result.good else "the cheapest that covers all",
        BUDGET: f"the most for {w.money(result.budget)}",
    }
    best = names.get(plan.kind, f"the most within {result.places} places")
    proof = f"proved {best}" if plan.proved else f"{best} that was found, not proved (gap {percent(plan.gap)})"
    return f"{w.name(result.lab, 60)}: {covers} {whole} at {rule_words(result)}{buy}; {proof}{_lack(result, w)}"


def _lack(result: CoverResult, w: Words) -> str:
    """The largest gaps by name."""
    found = gaps(result.instruments)
    if not found or len(result.instruments) < result.kinds:
        return ""
    named = [f"{w.name(gap.instrument)} at {w.span(gap.low_Pa, gap.high_Pa, gap.gauge)}" for gap in found[:3]]
    more = f" and {len(found) - 3} more" if len(found) > 3 else ""
    return f"; gaps: {', '.join(named)}{more}"


def one_sentence(result: CoverResult, one: InstrumentCover, lab: Lab, unicode: bool = False) -> str:
    """The answer for one instrument."""
    w = Words.of(lab, unicode)
    used = list(dict.fromkeys(p.sensor for p in one.points if p.sensor is not None))
    lacking = sum(p.mode not in (SENSOR, VENT) for p in one.points)
    served = "every point is served" if one.covered else f"{lacking} of {len(one.points)} points are not served"
    by = f" by {', '.join(w.name(name) for name in used)}" if used else ""
    switch = f"{words.counted(one.switches, 'switch', 'switches')}, {words.seconds(one.switch_s)}"
    run = "" if one.run_s is None else f" beside a run of {words.duration(one.run_s)} on bench {w.name(one.bench)}"
    return f"{w.name(one.name, 60)}: {served}{by} at {rule_words(result)}; {switch}{run}"


SENSOR_HEADS = ("sensor", "range", "state", "cost", "could serve", "reads", "alone")


def sensor_rows(result: CoverResult, w: Words, every: bool) -> list[list[str]]:
    """Cells of the sensors: those of the plan and the owned ones, or every one."""
    return [
        [
            w.name(one.name),
            w.span(one.low_Pa, one.high_Pa, one.gauge),
            ("owned" if one.owned else "buy") if one.chosen else ("owned, not needed" if one.owned else "not chosen"),
            "-" if one.owned else w.money(one.cost),
            str(one.serves),
            str(one.used),
            str(one.only) if one.chosen else "-",
        ]
        for one in result.sensors
        if every or one.chosen or one.owned
    ]


GAP_HEADS = ("instrument", "a year", "points", "where", "best ratio", "why")


def gap_rows(found: Sequence[Gap], w: Words) -> list[list[str]]:
    """Cells of the gaps."""
    return [
        [
            w.name(gap.instrument),
            count(gap.count),
            str(len(gap.points)),
            w.span(gap.low_Pa, gap.high_Pa, gap.gauge),
            words.figures(gap.ratio),
            words.plain("; ".join(gap.reasons), w.unicode, 90),
        ]
        for gap in found
    ]


POINT_HEADS = ("no.", "pressure", "tolerance", "read with", "ratio", "with device", "consumer", "producer")


def point_rows(points: Sequence[PointCover], gauge: bool, w: Words) -> list[list[str]]:
    """Cells of one instrument's points; what no sensor serves is told of the nearest, in brackets."""
    return [
        [
            str(p.number),
            w.level(p.stated_Pa, gauge),
            words.in_units(p.tolerance_Pa, words.DIFFERENCES, w.unicode),
            p.mode
            if p.mode == VENT
            else w.name(p.sensor)
            if p.sensor
            else f"({w.name(p.nearest)})"
            if p.nearest
            else "none",
            words.figures(p.ratio),
            words.figures(p.ratio_with_device),
            percent(p.consumer_risk, 2),
            percent(p.producer_risk, 2),
        ]
        for p in points
    ]


MORE_HEADS = ("beside", "sensor", "kinds more", "a year more", "cost", "place")


def more_rows(result: CoverResult, w: Words) -> list[list[str]]:
    """Cells of what one more sensor buys."""
    return [
        [
            "those owned" if one.beside == "owned" else "the set",
            w.name(one.sensor),
            str(one.kinds),
            count(one.count),
            w.money(one.cost),
            "free" if one.place_free else "none free",
        ]
        for one in result.one_more
    ]


CROSS_HEADS = ("better below", "better above", "equal at", "U (k=2) there")


def cross_rows(result: CoverResult, w: Words) -> list[list[str]]:
    """Cells of the crossovers; a level is told as the first sensor reads it."""
    gauge = {one.name: one.gauge for one in result.sensors}
    return [
        [
            w.name(one.below),
            w.name(one.above),
            w.level(one.pressure_Pa - (w.barometer_Pa if gauge[one.below] else 0.0), gauge[one.below]),
            words.in_units(2.0 * one.uncertainty_Pa, words.DIFFERENCES, w.unicode),
        ]
        for one in result.crossovers
    ]
