"""The frozen objects: replacing a value by its key, stated pressures, accuracy figures, spreads."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simcal.bench.checks import faults_of
from simcal.bench.gauges import Accuracy
from simcal.bench.reach import isolated_with, pockets, reached_from
from simcal.bench.sequence import Point
from simcal.bench.values import Level, Portion, Range, Spread
from simcal.files.bench_file import load_bench
from tests.files.good_bench import GOOD


@pytest.fixture(scope="module")
def bench():
    return load_bench("bench.toml", texts={"bench.toml": GOOD})


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("volume.port.capacity", 5e-5),
        ("volume.port.wall.film_factor", 1.5),
        ("room.drift", 1e-4),
        ("device.one.accuracy.is", "k=1"),
        ("controller.gains.kp", 10.0),
        ("gas", "helium"),
        ("sensor.reference.zero_shift", 2.0),
    ],
)
def test_replace_changes_the_value_of_a_key_and_nothing_else(bench, key, value):
    changed = bench.replace(key, value)
    assert changed.value(key) == value
    assert changed.replace(key, bench.value(key)) == bench


def test_every_spread_is_that_of_a_value_that_can_be_replaced(bench):
    for key, spread in bench.spreads.items():
        value = bench.value(key)
        changed = bench.replace(key, spread.at(value, 0.9))
        assert changed.value(key) > value


@pytest.mark.parametrize("key", ["volume.prt.capacity", "volume.port.capcity", "room", "x", "file", "gas.x", ""])
def test_replacing_a_key_that_is_none_names_it(bench, key):
    if key == "room":
        assert bench.value(key) is bench.room
        return
    with pytest.raises(KeyError, match=f"{key}: no"):
        bench.replace(key, 1.0)
    with pytest.raises(KeyError):
        bench.value(key)


def test_what_stands_at_the_rooms_state_follows_the_room(bench):
    changed = bench.replace("room.barometer", 99000.0).replace("room.temperature", 300.0)
    assert (changed.exhaust.pressure, changed.supply.temperature) == (99000.0, 300.0)
    pumped = bench.replace("exhaust.pressure", 500.0).replace("room.barometer", 99000.0)
    assert pumped.exhaust.pressure == 500.0


def test_stated_pressures_become_absolute_with_the_barometer():
    assert Level(2e6, True).absolute(101325.0) == 2101325.0
    assert Level(2e6, False).absolute(101325.0) == 2e6
    gauge = Range(-1e5, 5e5, True)
    assert gauge.span == 6e5
    assert gauge.stated(gauge.absolute(1e5, 101325.0), 101325.0) == 1e5


def test_percent_counts_from_the_low_end_of_the_range():
    point = Point(percent=50.0)
    assert point.absolute(Range(-1e5, 5e5, True), 1e5) == 3e5
    assert point.absolute(Range(0.0, 1e6, False), 1e5) == 5e5
    assert Point(level=Level(1e6, True)).absolute(Range(0.0, 1.0, False), 1e5) == 1.1e6
    assert (point.text(), Point(level=Level(1e6, True)).text()) == ("50 %", "10 bar gauge")


def test_a_figure_of_reading_shrinks_down_to_its_floor():
    """Check I: reading 0.01 % with its floor at 30 % of 100 psi: 68.948, 34.474, 20.684, 20.684 Pa."""
    span = 689475.7293
    figure = Accuracy(reading=1e-4, floor=0.3, is_="k=2")
    for percent, pascal in ((100, 68.948), (50, 34.474), (30, 20.684), (1, 20.684)):
        assert figure.error_at(span * percent / 100.0, Range(0.0, span, True)) == pytest.approx(pascal, rel=1e-4)


def test_a_figure_of_full_scale_is_the_same_everywhere():
    """Check I: 0.02 % of 100 psi full scale is 137.895 Pa."""
    span = 689475.7293
    figure = Accuracy(span=2e-4, is_="k=2")
    assert {round(figure.error_at(span * x, Range(0.0, span, True)), 3) for x in (0.01, 0.5, 1.0)} == {137.895}


def test_span_and_reading_add_whatever_the_figure_is():
    whole = Range(0.0, 1e6, False)
    for is_ in ("k=1", "k=2", "limits"):
        figure = Accuracy(span=1e-4, reading=1e-4, is_=is_)
        assert figure.error_at(5e5, whole) == pytest.approx(150.0)


def test_the_allowance_of_a_device_is_a_tenth_of_its_figure_unless_stated(bench):
    one = bench.devices["one"]
    assert one.allowance_at(1e6) == pytest.approx(0.1 * 1e-3 * 2e6)
    assert bench.replace("device.one.allowance", 7.0).devices["one"].allowance_at(1e6) == 7.0


def test_a_portion_is_pascal_or_a_share():
    assert Portion(pascal=5.0).of(100.0) == 5.0
    assert Portion(fraction=0.01).of(1e5) == pytest.approx(1e3)


SPREADS = st.builds(
    Spread, st.floats(1e-6, 0.5), st.sampled_from(["normal", "uniform", "log"]), st.just(0.2), st.just(5.0)
)


@given(SPREADS, st.floats(0.5, 2.0), st.lists(st.floats(0.0, 1.0), min_size=2, max_size=5))
def test_a_draw_stays_possible_and_rises_with_its_share(spread, value, shares):
    drawn = [spread.at(value, share) for share in sorted(shares)]
    assert all(0.2 <= one <= 5.0 for one in drawn)
    assert drawn == sorted(drawn)


def test_quantiles_of_a_spread_are_those_of_its_shape():
    normal = 0.8413447460685429  # Phi(1)
    assert Spread(2.0).at(10.0, normal) == pytest.approx(12.0)
    assert Spread(2.0).at(10.0, 0.5) == pytest.approx(10.0)
    assert Spread(2.0, "uniform").at(10.0, 1.0) == pytest.approx(10.0 + 2.0 * math.sqrt(3.0))
    assert Spread(math.log(2.0), "log").at(1.0, normal) == pytest.approx(2.0)
    assert Spread(1.0, "normal", low=0.0).at(0.0, 0.5) == pytest.approx(0.6744897501960817)  # half normal


def test_a_shut_valve_and_a_boundary_stop_the_way(bench):
    assert reached_from(bench, {"manifold"}) == {"manifold", "port", "buffer"}
    shut = bench.replace("valve.side.open", False)
    assert reached_from(shut, {"manifold"}) == {"manifold", "port"}
    assert reached_from(shut, {"manifold"}, every_way=True) == {"manifold", "port", "buffer"}
    assert reached_from(bench, {"supply"}) == {"manifold", "port", "buffer"}


def test_shut_valves_part_what_is_isolated_and_a_leak_leads_to_a_pocket(tmp_path):
    text = (
        f'{GOOD}[volume.thread]\ncapacity = "1 cm3"\n[leak.thread]\nat = "port"\nto = "thread"\n'
        'rate = "1e-9 mol/s"\nrate_at = "20 bar abs"\n'
    )
    path = tmp_path / "pocket.toml"
    path.write_text(text, encoding="utf-8")
    bench = load_bench(path)
    assert isolated_with(bench, "port") == {"manifold", "port", "buffer"}
    assert pockets(bench, {"manifold", "port", "buffer"}) == {"thread"}
    shut = bench.replace("valve.side.open", False)
    assert isolated_with(shut, "manifold") == {"manifold", "port"}
    assert pockets(shut, {"manifold", "port"}) == {"thread"}  # the buffer is behind a valve, not behind a leak
    assert faults_of(bench) == []


def test_a_good_bench_has_no_faults_and_a_changed_one_tells_them(bench):
    assert faults_of(bench) == []
    assert faults_of(bench.replace("supply.pressure", 3e5))[0][0] == "sequence.up_down.points"
    assert faults_of(bench.replace("line.run.cells", 300))[0][:2] == ("volume", "303 volumes and cells of lines")
