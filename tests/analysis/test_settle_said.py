"""What is said of points that took time in vain, of a dwell that a soak is part of, of zeros that are none."""

import json
import re
from pathlib import Path

import numpy as np
import pytest
from jsonschema import Draft202012Validator

import simcal.show
from simcal.analysis.settle import settle
from simcal.files.bench_file import load_bench
from simcal.show.jsonout import settle_document
from simcal.show.scales import Setting
from simcal.show.text import settle_text

ROOT = Path(__file__).resolve().parent.parent.parent
SHUT = 'sequence.up_down.read="isolated"'
WEAK = ('valve.inlet.conductance="1e-12 m3/(s Pa)"', 'sequence.up_down.longest="20 s"')


def document(result, bench):
    """The JSON of an answer, held to its schema."""
    made = json.loads(json.dumps(settle_document(result, bench), allow_nan=False))
    schema = json.loads((Path(simcal.show.__file__).parent / "schemas/settle.schema.json").read_text(encoding="utf-8"))
    Draft202012Validator(schema).validate(made)
    return made


def test_a_point_not_reached_has_no_times_and_the_total_says_what_it_took(make_bench):
    """Null with a reason each; nothing that never arrived is limited by its arrival being good."""
    bench = make_bench(*WEAK)
    result = settle(bench)
    made = document(result, bench)
    for i in (1, 2):
        for key in ("arrival_s", "dwell_s", "ready_s", "limited_by", "off_target_Pa"):
            assert made["points"][i][key] is None
            assert made["reasons"][f"points.{i}.{key}"].startswith("not reached: the reference comes no nearer than")
        assert made["points"][i]["limited_words"] == ""
    assert result.total_s == pytest.approx(41.0)
    assert "run 41.0 s (40.0 s of it in vain: 2 points took the longest time allowed)" in made["sentence"]
    assert "no dwell: each of the others is good as soon as the pressure arrives" in made["sentence"]


def test_a_preload_that_is_not_reached_takes_its_time_too(make_bench):
    bench = make_bench(*WEAK, 'sequence.up_down.preloads=["100 %"]', 'sequence.up_down.points=["0 %"]')
    said = document(settle(bench), bench)["sentence"]
    assert "(20.0 s of it in vain: 1 preload took the longest time allowed)" in said


def test_nothing_is_said_of_time_in_vain_where_every_point_is_read(make_bench):
    bench = make_bench()
    assert "in vain" not in document(settle(bench), bench)["sentence"]


@pytest.mark.parametrize(("dwell", "reading"), [(12.0, 12.0), (3.0, 8.0)])
def test_a_given_dwell_counts_from_the_arrival_the_soak_included(make_bench, dwell, reading):
    """The window opens max(dwell, soak) after the arrival, the valves shut after the soak of 8 s."""
    bench = make_bench(SHUT, 'sequence.up_down.soak="8 s"')
    result = settle(bench, dwell_s=dwell)
    for point in result.points[1:]:
        assert point.shut_s == pytest.approx(point.arrival_s + 8.0)
        assert point.dwell_s == pytest.approx(reading)
        assert point.ready_s == pytest.approx(point.arrival_s + reading)
        assert point.limited_by == ("dwell" if reading == dwell else "soak")
    (note,) = [n for n in result.notes if "dwell" in n]
    said = document(result, bench)["sentence"]
    if dwell > 8.0:
        assert note == "the dwell of 12 s counts from the arrival: 8 s of it are the soak before the valves shut"
        assert "dwell fixed at 12.0 s;" in said
    else:
        assert "isolated points are read after 8 s instead of 3 s; a shorter sequence.up_down.soak" in note
        assert "dwell fixed at 3.00 s, longer where the soak is" in said


def test_a_vent_that_is_compared_before_it_is_at_zero_is_named(make_bench):
    """1 % of 6 bar is 6000 Pa: the window opens when the reading is that near, not when it is at the room's."""
    sets = ('sequence.up_down.points=["100 %", "0 %"]', 'device.one.allowance="60 Pa"')
    bench = make_bench(*sets, 'valve.vent.conductance="2e-11 m3/(s Pa)"', 'line.run.bore="6 mm"')
    result = settle(bench)
    vent, zoom = result.points[1], result.zooms[1]
    inside = (zoom.time_s >= vent.ready_s - 1e-9) & (zoom.time_s <= vent.ready_s + vent.window_s + 1e-9)
    assert vent.off_target_Pa == pytest.approx(float(np.abs(zoom.reference_Pa[inside] - 1e5).max()), rel=0.01)
    assert 60.0 < vent.off_target_Pa <= vent.nearness_Pa == pytest.approx(6000.0)
    (note,) = result.notes
    found = re.match(r"compared while still off the target: point 2 by ([\d.e+]+) Pa", note)
    assert found is not None and float(found[1]) == pytest.approx(vent.off_target_Pa, rel=0.01)
    assert "sequence.up_down.nearness asks for more" in note
    near = settle(make_bench(*sets, 'sequence.up_down.nearness="60 Pa"'))
    assert near.notes == () and near.points[1].off_target_Pa <= 60.0


def test_gas_of_a_controller_known_from_outside_is_said_to_be_the_net():
    bench = load_bench(ROOT / "configs/nitrogen-160bar.toml", ['sequence.up_down.points=["0 %", "25 %"]'])
    result = settle(bench)
    (note,) = [n for n in result.notes if "gas used" in n]
    assert "net inflow of each step up" in note
    assert "net inflow of each step up" in " ".join(settle_text(result, Setting.of(bench, result.device)).split())
