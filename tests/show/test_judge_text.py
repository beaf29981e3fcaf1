"""The text of a judgement: one sentence to paste, units, what is missing, what it rests on."""

import re

import pytest

from simcal.files.answers import Truth, mark
from simcal.show.judge_text import judge_sentence, judge_text, marked_line, part_rows, tally
from simcal.show.judge_units import rate_units
from tests.analysis.holds import VOLUME
from tests.show.judged import KINDS, PASCAL, judged

NUMBER = r"-?\d+(?:\.\d+)?"


@pytest.mark.parametrize("kind", KINDS)
def test_the_sentence_is_one_ascii_line_and_every_text_ends_with_version_and_seed(kind):
    sentence, text = judge_sentence(judged(kind)), judge_text(judged(kind))
    assert "\n" not in sentence and sentence.isascii() and text.isascii()
    assert text.replace("\n", " ").startswith(sentence)
    assert re.search(r"\nsimcal \S+, seed 1 \(nothing is drawn here\)\n$", text)
    assert "vent and confirm zero first" in text.replace("\n  ", " ")
    assert not re.search(r"(?i)\bsafe", text)
    assert max(map(len, text.splitlines())) <= 100


@pytest.mark.parametrize(
    ("kind", "how"),
    [
        ("tight", r"hold\.csv: tight, net outflow .* at 95 %, within the permitted 20\.0 nmol/s "),
        ("leak", r"hold\.csv: leak, net outflow .* at 95 %, beyond the permitted 20\.0 nmol/s "),
        ("undecided", r"hold\.csv: undecided, net outflow .* not parted from the permitted .*; next: "),
        ("no limit", r"hold\.csv: no verdict without a permitted leak, net outflow .*; next: state permitted_leak"),
        ("no rate", r"hold\.csv: no verdict, a rate needs gas and capacity; .*; next: state gas and capacity"),
        ("misfit", r"hold\.csv: undecided, the record fits no explanation; the nearest gives net outflow "),
        ("together", r"1\.csv \+ 2\.csv \+ 3\.csv and 1 more, judged together: leak, "),
    ],
)
def test_the_sentence_says_the_verdict_and_what_is_missing(kind, how):
    assert re.match(how, judge_sentence(judged(kind)))


def test_what_fits_nothing_gets_neither_parts_nor_a_level_of_confidence():
    text = judge_text(judged("misfit"))
    assert "thermal" not in text and "causes by weight" not in text and "95 %" not in text


def test_the_sentence_holds_pressure_volume_watch_and_the_thermal_share():
    sentence = judge_sentence(judged("leak"))
    assert "; nitrogen, 5.0" in sentence or "; nitrogen, 4.9" in sentence
    assert " bar abs, 100.0 +- 1.0 cm3; watched 5 min from 0 s; the reading changes by -" in sentence
    assert re.search(rf"thermal {NUMBER} Pa \(\d+ % of what moved it\)", sentence)
    assert " bar gauge, 100.0" in judge_sentence(judged("gauge"))


def test_a_rate_is_never_given_without_gas_and_capacity():
    text = judge_text(judged("no rate"))
    assert "mol/s" not in text and "sccm" not in text and "causes by weight" not in text
    assert "a steady slope of" in text


def test_the_shops_unit_stands_beside_mol_per_s():
    # 1 sccm(0 degC) is 7.4358e-7 mol/s: 101325 Pa cm3/min over R x 273.15 K, worked by hand
    rates = rate_units(judged("leak"), False)
    assert rates.one(2.0 * 7.4358e-7) == "1487 nmol/s (2.00 sccm(0 degC))"
    assert rates.between(-1e-8, 2e-7) == "-10 to 200 nmol/s (-0.013 to 0.269 sccm(0 degC))"
    assert rate_units(judged("gauge"), False).one(2e-7).endswith("sccm(20 degC))")
    assert rate_units(judged("leak"), True).amount == rates.amount


def test_a_limit_stated_as_a_pressure_rate_is_answered_as_one():
    # ideal gas, dp/dt = rate R T / V; nitrogen at 5 bar is within 0.3 % of it (check D21)
    size, unit = rate_units(judged("pressure rate"), False).shop
    assert unit == "Pa/min"
    assert size == pytest.approx(VOLUME / (8.314462618 * 293.15) / 60.0, rel=3e-3)
    assert judged("pressure rate").found.permitted_mol_per_s / size == pytest.approx(PASCAL, rel=1e-6)


@pytest.mark.parametrize("kind", KINDS)
def test_the_parts_shown_sum_to_the_change(kind):
    *parts, whole = [float(row[1]) for row in part_rows(judged(kind).found)]
    step = 10.0 ** -len(part_rows(judged(kind).found)[0][1].partition(".")[2])
    assert abs(sum(parts) - whole) <= 2.6 * step


def test_the_criterion_of_the_shop_stands_beside_with_why_it_differs():
    text = judge_text(judged("shop")).replace("\n  ", " ")
    assert "the shop's own criterion (wait 60.0 s, watch 60.0 s, drop up to 40.0 Pa) would say leak" in text
    assert "hold.csv: 2 x line after the last row; `simcal read` shows where" in text


def test_the_next_action_tells_what_it_is_expected_to_bring():
    found = judged("undecided").found
    text = judge_text(judged("undecided")).replace("\n", " ")
    assert f"next: {found.next_action.text}" in text
    assert (found.next_action.expected_low_mol_per_s is not None) == ("; expected then " in text)


def test_more_than_ascii_is_used_where_it_can_be():
    assert "100.0 ± 1.0 cm3" in judge_sentence(judged("leak"), unicode=True)


def test_a_known_answer_is_told_and_several_are_counted():
    one = judged("leak")
    found = one.found
    marked = mark(Truth(2e-7, 2e-8), found.verdict, found.low_mol_per_s, found.high_mol_per_s)
    assert (
        marked_line(one, marked) == "answer: right, it is leak (200 nmol/s (0.269 sccm(0 degC)), inside the interval)"
    )
    told = tally({"leak": 2, "tight": 1}, {"right": 2, "wrong": 1}, one, 1)
    assert "\n3 records: 2 leak, 1 tight\nagainst the answers: 2 right, 1 wrong\n" in told
    assert mark(Truth(2e-7, 2e-8), None, None, None).mark == "not judged"
