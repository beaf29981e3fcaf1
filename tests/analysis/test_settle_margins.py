"""Margins through both valves at every setpoint, and a word where one of them is poorly damped."""

import math
from pathlib import Path

import pytest

from simcal.analysis.settle import settle
from simcal.analysis.settle.stability import worst_of
from simcal.control.margins import Margins
from simcal.files.bench_file import load_bench
from simcal.show.jsonout import settle_document

ROOT = Path(__file__).resolve().parent.parent.parent
FIGURES = (("gain", min), ("phase_deg", min), ("delay_s", min), ("peak_sensitivity", max))


@pytest.fixture(scope="module")
def low():
    """At 1 kPa the outlet passes a hundredth of what it passes at the top."""
    bench = load_bench(ROOT / "configs/low-absolute.toml", ['sequence.down_up.points=["50 kPa abs", "1 kPa abs"]'])
    return settle(bench), bench


def test_the_worse_valve_counts_in_every_figure(low):
    for point in low[0].points:
        assert set(point.margins.valves) == {"inlet", "outlet"}
        for name, worse in FIGURES:
            assert getattr(point.margins, name) == worse(getattr(m, name) for m in point.margins.valves.values())


def test_a_weak_valve_is_named_with_what_steadies_it(low):
    """PI on an integrator: the smaller gain k' Ti, the less phase is left, whatever the gain margin says."""
    result, bench = low
    high, point = result.points
    inlet, outlet = point.margins.valves["inlet"], point.margins.valves["outlet"]
    assert outlet.gain > 10.0 * inlet.gain, "the gain margin alone hides it"
    assert outlet.phase_deg < 30.0 < inlet.phase_deg and outlet.peak_sensitivity > 2.0
    # at the crossover |L| = 1 the peak of 1/|1 + L| is at least 1/(2 sin(phase margin / 2))
    assert outlet.peak_sensitivity >= 0.99 / (2.0 * math.sin(math.radians(outlet.phase_deg) / 2.0))
    assert point.margins.note == "through the outlet" and high.margins.peak_sensitivity < 2.0
    (note,) = [n for n in result.notes if "poorly damped" in n]
    assert note.startswith(
        f"poorly damped through the outlet: point 2, peak sensitivity {outlet.peak_sensitivity:.2g} "
    )
    assert note.endswith("a longer integral time or a larger outlet steadies it")
    made = settle_document(result, bench)["points"][1]["margins"]["valves"]
    assert made["outlet"]["phase_deg"] == outlet.phase_deg and made["inlet"]["stable"] is True


def test_a_longer_integral_time_does(tmp_path):
    """The same gain with four times the integral time: the note is gone."""
    text = (ROOT / "configs/low-absolute.toml").read_text(encoding="utf-8")
    assert text.count('tuning = "simc"') == 1
    path = tmp_path / "low.toml"
    gains = 'gains = { kp = 33.8, ti = "3.7 s", track = "1.8 s" }\nsetpoint_weight = 0.5'
    path.write_text(text.replace('tuning = "simc"', gains), encoding="utf-8")
    result = settle(load_bench(path, ['sequence.down_up.points=["50 kPa abs", "1 kPa abs"]']))
    assert all(p.margins.peak_sensitivity < 2.0 for p in result.points)
    assert not [n for n in result.notes if "poorly damped" in n]


def test_the_note_names_the_valve_that_is_nearest_to_swinging():
    calm, lively = Margins(2.0, 60.0, 0.1, 1.5, True), Margins(9.0, 20.0, math.inf, 2.8, True)
    found = worst_of({"inlet": calm, "outlet": lively})
    assert (found.gain, found.phase_deg, found.delay_s, found.peak_sensitivity) == (2.0, 20.0, 0.1, 2.8)
    assert found.note == "through the outlet" and found.valves["outlet"].delay_s is None
    unstable = Margins(0.8, -3.0, 0.0, 2.0, False)
    assert worst_of({"inlet": unstable, "outlet": lively}).note == "through the inlet; unstable"
