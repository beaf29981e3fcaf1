"""What a comparison's uncertainty is made of, sensor by sensor and point by point."""

import math

import numpy as np
import pytest

from simcal.analysis.cover.budget import sizes
from simcal.analysis.cover.crossing import crossovers
from simcal.bench.gauges import Accuracy, Figure
from simcal.bench.lab import CLASSES, Reference
from simcal.bench.values import Range
from tests.analysis.labs import FULL_SCALE, HEAD, READING, answer, instrument, sensor

PSI = 6894.757293168


@pytest.mark.parametrize(
    ("percent", "a", "b"),
    # arithmetic of two invented sensors of 100 psi, 0.02 % of full scale and 0.01 % of reading from 30 % on; check I1
    [(1, 137.895, 20.684), (3, 137.895, 20.684), (10, 137.895, 20.684), (30, 137.895, 20.684), (50, 137.895, 34.474),
     (100, 137.895, 68.948)],
)  # fmt: skip
def test_the_two_kinds_of_accuracy(percent, a, b):
    span = Range(0.0, 100.0 * PSI, gauge=True)
    at = np.array([percent / 100.0 * span.span])
    assert sizes(Figure(span=0.0002), span, at)[0] == pytest.approx(a, abs=6e-4)
    assert sizes(Figure(reading=0.0001, floor=0.3), span, at)[0] == pytest.approx(b, abs=6e-4)
    assert sizes(Figure(reading=0.0001, floor=0.3), span, at)[0] == Figure(reading=0.0001, floor=0.3).error_at(
        at[0], span
    )


def test_full_scale_and_reading_kind_cross_at_sixty_percent_of_span():
    # our invented set: 0.015 % of full scale against 0.025 % of reading with its floor at 20 %; section I
    for bar in (6.0, 160.0, 300.0):
        span = Range(0.0, bar * 1e5, gauge=True)
        pair = {
            "full": Reference(range=span, accuracy=Accuracy(span=1.5e-4, is_="k=2")),
            "reading": Reference(range=span, accuracy=Accuracy(reading=2.5e-4, floor=0.2, is_="k=2")),
        }
        (one,) = crossovers(pair, 101325.0)
        assert one.pressure_Pa - 101325.0 == pytest.approx(0.6 * span.span, rel=1e-7)
        assert (one.below, one.above) == ("reading", "full")
        assert one.uncertainty_Pa == pytest.approx(0.5 * 1.5e-4 * span.span, rel=1e-7)


def test_sensors_that_never_cross_have_no_crossover():
    span = Range(0.0, 100.0 * PSI, gauge=True)
    pair = {
        "a": Reference(range=span, accuracy=Accuracy(span=2e-4, is_="k=2")),
        "b": Reference(range=span, accuracy=Accuracy(reading=1e-4, floor=0.3, is_="k=2")),
    }
    assert crossovers(pair, 101325.0) == ()
    assert crossovers({"a": pair["a"], "c": pair["a"]}, 101325.0) == ()


def test_a_ratio_of_four_by_the_accuracy_figure_alone(tmp_path):
    # a tolerance of 0.05 % of span and two sensors of the same span, accuracy figures alone; check I5
    a = 'accuracy = { span = "0.02 %", is = "k=2", contains = ["drift", "calibration"] }'
    b = 'accuracy = { reading = "0.01 %", floor = "30 %", is = "k=2", contains = ["drift", "calibration"] }'
    work = instrument("fine", "0..100 psi gauge", 'tolerance = { span = "0.05 %" }')
    assert not answer(tmp_path, work, sensor("A", "0..100 psi gauge", a)).good
    found = answer(tmp_path, work, sensor("B", "0..100 psi gauge", b))
    assert found.good
    assert min(p.ratio for p in found.instruments[0].points[1:]) == pytest.approx(5.0, rel=1e-3)


@pytest.mark.parametrize("name", CLASSES)
def test_the_limits_of_the_classes_of_en_837(tmp_path, name):
    # EN 837-1:1996, table 11: the class is the limit in % of the span; checks E7 and E9
    found = answer(tmp_path, instrument("dial", "0..10 bar gauge", f'class = "{name}"'), sensor("S", "0..10 bar gauge"))
    assert {p.tolerance_Pa for p in found.instruments[0].points} == {float(name) / 100.0 * 10e5}
    # EN 837-1, number of points, at second hand: 10 or more up to class 0.6, else 5 or more; check E8
    assert len(found.instruments[0].points) >= (10 if float(name) <= 0.6 else 5)


def test_a_class_counts_of_the_whole_span(tmp_path):
    # class 1 of -1...5 bar: 0.06 bar; check E9
    found = answer(tmp_path, instrument("c", "-1..5 bar gauge", 'class = "1"'), sensor("S", "-1..5 bar gauge"))
    assert found.instruments[0].points[0].tolerance_Pa == pytest.approx(6000.0, rel=1e-12)


def test_the_simple_ratio(tmp_path):
    # tolerance 0.1 % of full scale, U 0.025 %: 4.0; check E26
    figure = 'accuracy = { span = "0.025 %", is = "k=2", contains = ["drift", "calibration"] }'
    found = answer(tmp_path, instrument("i", "0..10 bar gauge"), sensor("S", "0..10 bar gauge", figure))
    assert found.instruments[0].points[-1].ratio == pytest.approx(4.0, rel=1e-6)


def test_every_part_counts_as_it_is_stated(tmp_path):
    head = HEAD.replace('height = "0 mm +- 1 um", dwell = "0 Pa"',
                        'height = "100 mm +- 10 mm", dwell = "12 Pa", line = "0.01 %",'
                        ' head = "not corrected"')  # fmt: skip
    figures = """accuracy = { span = "0.01 %", is = "k=1" }
        drift = { span = "0.02 %", is = "limits" }
        calibration = { reading = "0.01 %", is = "k=2" }
        resolution = "10 Pa" """
    work = instrument("i", "0..10 bar abs", 'tolerance = { span = "1 %" }\nresolution = "60 Pa"\n'
                      'repeatability = "0.01 %"\npoints = ["100 %"]')  # fmt: skip
    found = answer(tmp_path, work, sensor("S", "0..12 bar gauge", figures), head=head)
    parts = found.instruments[0].points[0].uncertainty_Pa
    shown = 10e5 - 1e5  # as a gauge sensor reads 10 bar abs in a room of 1 bar
    assert parts["sensor"] == pytest.approx(1e-4 * 12e5)
    assert parts["drift"] == pytest.approx(2e-4 * 12e5 / math.sqrt(3.0))
    assert parts["calibration"] == pytest.approx(0.5e-4 * shown)
    assert parts["resolution"] == pytest.approx(10.0 / math.sqrt(12.0))
    assert parts["barometer"] == pytest.approx(5.0)
    assert parts["line"] == pytest.approx(1e-4 * 10e5 / math.sqrt(3.0))
    assert parts["dwell"] == pytest.approx(12.0 / math.sqrt(3.0))
    # nitrogen at 1 MPa abs and 293.15 K: 112.9565 Pa/m by the gas library; check E10
    assert parts["head"] == pytest.approx(112.9565 * math.hypot(0.01, 0.1 / math.sqrt(3.0)), rel=1e-4)
    assert parts["device"] == pytest.approx(math.hypot(60.0 / math.sqrt(12.0), 1e-4 * 10e5))
    u = math.sqrt(sum(part**2 for name, part in parts.items() if name != "device"))
    point = found.instruments[0].points[0]
    assert point.ratio == pytest.approx(1e4 / (2.0 * u))
    assert point.ratio_with_device == pytest.approx(1e4 / (2.0 * math.hypot(u, parts["device"])))


def test_a_gauge_instrument_has_the_rooms_air_on_its_other_side(tmp_path):
    # (rho - 1.2 kg/m3) g: 101.1885 Pa/m at 1 MPa abs; check E11
    head = HEAD.replace("1000 hPa abs +- 5 Pa", "1000 hPa abs").replace("0 mm +- 1 um", "0 mm +- 1 m")
    work = instrument("i", "0..9 bar gauge", 'tolerance = { span = "1 %" }\npoints = ["100 %"]')
    found = answer(tmp_path, work, sensor("S", "0..9 bar gauge"), head=head)
    assert found.instruments[0].points[0].uncertainty_Pa["head"] == pytest.approx(101.1885, rel=1e-4)


def test_zero_gauge_is_the_vents_unless_the_laboratory_does_not_vent(tmp_path):
    work, one = instrument("i", "0..6 bar gauge"), sensor("S", "0..6 bar gauge", READING)
    point = answer(tmp_path, work, one).instruments[0].points[0]
    assert (point.mode, point.sensor) == ("vent", None)
    assert point.uncertainty_Pa["sensor"] == 0.0
    dry = answer(tmp_path, work, one, head=HEAD + "vent = false\n").instruments[0].points[0]
    assert (dry.mode, dry.sensor) == ("sensor", "S")


@pytest.mark.parametrize(("kind", "other"), [("gauge", "abs"), ("abs", "gauge")])
def test_the_other_kind_of_sensor_needs_the_barometer(tmp_path, kind, other):
    work = instrument("i", f"0.5..5 bar {kind}", 'tolerance = { span = "1 %" }')
    one = sensor("S", f"0..10 bar {other}") if other == "abs" else sensor("S", "-1..10 bar gauge")
    known = answer(tmp_path, work, one)
    assert known.good
    assert {p.uncertainty_Pa["barometer"] for p in known.instruments[0].points} == {5.0}
    unknown = answer(tmp_path, work, one, head=HEAD.replace(" +- 5 Pa", ""))
    assert not unknown.good
    assert "the barometer states no +-" in unknown.instruments[0].points[0].reason


def test_what_nobody_says_of_a_sensor_is_assumed_in_words(tmp_path):
    bare = 'accuracy = { span = "0.015 %", is = "k=2" }'
    found = answer(tmp_path, instrument("i", "0..6 bar gauge"), sensor("S", "0..6 bar gauge", bare))
    assert {"sensor.*.drift", "sensor.*.calibration"} <= {a.key for a in found.assumed}
    assert "too good" in next(a.why for a in found.assumed if a.key == "sensor.*.drift")
    told = answer(tmp_path, instrument("i", "0..6 bar gauge"), sensor("S", "0..6 bar gauge", FULL_SCALE))
    assert not {"sensor.*.drift", "sensor.*.calibration"} & {a.key for a in told.assumed}
