"""Numbers, names and units as people read them."""

import math

import pytest

from simcal.show import words
from simcal.show.level_units import level_decimals, level_unit, unit_in
from simcal.show.table import Column, aligned, width


@pytest.mark.parametrize(
    ("value", "shown"),
    [(0.341, "0.35 s"), (9.991, "10.00 s"), (12.31, "12.4 s"), (1000.2, "1001 s"), (0.35, "0.35 s"), (None, "-")],
)
def test_a_time_is_rounded_up_so_that_nobody_reads_too_early(value: float | None, shown: str) -> None:
    assert words.seconds(value) == shown


@pytest.mark.parametrize(
    ("value", "shown"),
    [(45.2, "45.2 s"), (120.0, "2 min"), (119.6, "2 min"), (680.0, "11 min 20 s"), (6300.0, "1 h 45 min"),
     (7199.0, "2 h"), (math.nan, "-")],
)  # fmt: skip
def test_a_length_of_time_reads_like_a_clock(value: float, shown: str) -> None:
    assert words.duration(value) == shown


@pytest.mark.parametrize(
    ("value", "spread", "shown"),
    [(52.0, 2.6, "52.0 +- 2.6"), (52.0, 5.0, "52 +- 5"), (0.12345, 0.00213, "0.1235 +- 0.0021"),
     (1234.5, 31.0, "1234 +- 31")],
)  # fmt: skip
def test_a_quantity_has_the_decimals_of_its_uncertainty(value: float, spread: float, shown: str) -> None:
    assert words.with_spread(value, spread, unicode=False) == shown


def test_no_number_reads_as_a_dash_and_zero_has_no_sign() -> None:
    assert [words.fixed(v, 1) for v in (None, math.nan, math.inf, -0.04)] == ["-", "-", "-", "0.0"]


@pytest.mark.parametrize(
    ("value", "shown"), [(0.0, "0"), (1234.6, "1235"), (0.0012345, "0.00123"), (2.5e7, "2.50e+07"), (-31.46, "-31.5")]
)
def test_three_figures(value: float, shown: str) -> None:
    assert words.figures(value) == shown


@pytest.mark.parametrize(
    ("name", "shown"),
    [("Prüfling", "Prufling"), ("±5 µm", "+-5 um"), ("a\x1b[31mb\nc", "a?[31mb c"), ("日本", "\\u65e5\\u672c"),
     ("right\u202eleft", "right?left")],
)  # fmt: skip
def test_a_name_is_one_line_of_ascii_without_control_characters(name: str, shown: str) -> None:
    assert words.plain(name, unicode=False) == shown


def test_a_long_name_is_cut_with_dots() -> None:
    assert words.plain("a" * 30, True, 10) == "a" * 9 + "…"
    assert words.plain("a" * 30, False, 10) == "a" * 7 + "..."


def test_the_unit_of_levels_is_the_users_own() -> None:
    texts = {"a": 'full_scale = "20 bar gauge"\npressure = "25 bar abs"', "b": 'barometer = "1013.2 hPa abs"'}
    assert unit_in(texts) == "bar"
    assert unit_in({}) is None
    assert level_unit([2.0e6], "kPa") == "kPa"
    assert level_unit([2.0e6], "hPa") == "hPa"


@pytest.mark.parametrize(("largest", "unit"), [(9e4, "kPa"), (6e5, "bar"), (2e6, "bar"), (3e7, "MPa")])
def test_without_a_wish_the_size_chooses_the_unit(largest: float, unit: str) -> None:
    assert level_unit([0.0, largest], None) == unit


def test_levels_have_as_many_decimals_as_they_need() -> None:
    assert level_decimals([0.0, 10.0, 20.0]) == 2
    assert level_decimals([0.0, 12.3456, 20.0]) == 4
    assert level_decimals([0.0, 160.0]) == 1


def test_columns_stay_aligned_with_wide_and_combining_characters() -> None:
    lines = aligned([Column("name", left=True), Column("n")], [["日本", "1"], ["u\u0308", "12"], ["plain", "3"]])
    assert {width(line) for line in lines} == {9}
