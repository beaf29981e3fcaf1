"""The about-file becomes a checked object in SI."""

import datetime as dt

import pytest

from simcal.bench.about import About, PermittedLeak
from simcal.bench.meta import keys_of
from simcal.bench.values import Level
from simcal.errors import InputError
from simcal.files.about_file import load_about
from tests.files.bad_abouts import BAD_ABOUTS
from tests.files.good_about import GOOD


def about(text, *sets):
    """The about-file of a text."""
    return load_about("about.toml", sets, texts={"about.toml": text})


def test_every_key_is_read_into_si():
    got = about(GOOD)
    assert (got.gas, got.capacity, got.reading, got.barometer) == ("nitrogen", 2.5e-4, "gauge", 101320.0)
    assert got.permitted_leak == PermittedLeak(2e-7, "amount", "mol/s")
    assert (got.limit_at, got.came_from) == (Level(2e6, False), Level(0.0, True))
    assert (got.isolated_at, got.watch_from, got.watch_until) == (30.0, 60.0, 900.0)
    assert (got.supply, got.outlet, got.port) == ("vented", "room", "device")
    assert got.columns.pressure == 2 and got.form.zone == "+01:00" and got.criterion.allowed_drop == 50.0
    for cls, one in [
        (About, got),
        *((meta.of, getattr(got, f.name)) for f, meta in keys_of(About).values() if meta.of),
    ]:
        unread = [name for name, (field, _) in keys_of(cls).items() if getattr(one, field.name) is None]
        assert not unread, (cls, unread)


def test_what_is_not_said_is_none():
    got = about("")
    assert all(getattr(got, field.name) is None for field, _ in keys_of(About).values())


def test_spreads_lie_aside_and_sizes_of_unknown_sign_are_nothing_but_spread():
    got = about(GOOD)
    assert got.spreads["capacity"].sd == pytest.approx(0.05 * 2.5e-4)
    assert got.spreads["barometer"].sd == pytest.approx(50.0)
    assert (got.sensor.drift, got.spreads["sensor.drift"].sd) == (0.0, pytest.approx(10.0 / 3600.0))
    assert (got.temperature.accuracy, got.spreads["temperature.accuracy"].sd) == (0.0, 0.15)


def test_a_capacity_stated_as_exact_is_told_from_a_bare_one():
    assert about('capacity = "250 cm3 +- 0 %"').spreads["capacity"].sd == 0.0
    assert "capacity" not in about('capacity = "250 cm3"').spreads


@pytest.mark.parametrize(
    ("text", "value", "form"),
    [
        # 1 sccm(0 degC) = 7.4358e-7 mol/s from 22 413.97 cm3/mol (CODATA 2018 molar volume at 101 325 Pa)
        ("0.2 sccm(0 degC)", 0.2 / 22413.96954 / 60.0, "amount"),
        # 1e-4 Pa m3/s over R times 293.15 K
        ("1e-4 Pa m3/s", 1e-4 / (8.314462618 * 293.15), "amount"),
        ("50 Pa/min", 50.0 / 60.0, "pressure rate"),
    ],
)
def test_a_limit_is_an_amount_or_a_pressure_rate(text, value, form):
    limit = about(f'permitted_leak = "{text}"').permitted_leak
    assert (limit.value, limit.form) == (pytest.approx(value, rel=1e-8), form)


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        ('"30 s"', 30.0),
        ('"1.5 min"', 90.0),
        ('"10:32:05"', dt.time(10, 32, 5)),
        ("10:32:05", dt.time(10, 32, 5)),
        ('"2026-03-14 10:32:05.5"', dt.datetime(2026, 3, 14, 10, 32, 5, 500000)),
        ("2026-03-14T10:32:05+01:00", dt.datetime(2026, 3, 14, 9, 32, 5, tzinfo=dt.UTC)),
    ],
)
def test_a_moment_is_elapsed_or_a_clock_time(text, moment):
    assert about(f"isolated_at = {text}").isolated_at == moment


def test_there_are_enough_broken_ones():
    assert len(set(BAD_ABOUTS)) == len(BAD_ABOUTS) >= 70


@pytest.mark.parametrize("broken", BAD_ABOUTS, ids=lambda b: f"{b.place[:40]}: {b.text[:40]}")
def test_a_broken_about_file_is_refused_in_one_clear_line(broken):
    assert not broken.old or broken.old in GOOD
    text = GOOD.replace(broken.old, broken.new, 1) if broken.old else f"{GOOD}{broken.new}"
    with pytest.raises(InputError) as caught:
        about(text)
    line = caught.value.line()
    assert caught.value.place.startswith(broken.place)
    assert line.startswith("about.toml: ") and broken.text in line and caught.value.right
    assert len(line) < 400
