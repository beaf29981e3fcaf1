"""The answer to `cover`: what is covered and why not, the rules, the set, what one more buys."""

import dataclasses

import pytest

from simcal.analysis.cover.gaps import gaps
from simcal.analysis.settle import settle
from simcal.bench.gauges import Accuracy, Device
from simcal.files.bench_file import load_bench
from simcal.files.lab_file import load_lab
from simcal.stats.conformity import acceptance_limit, global_risks, prior_sd, worst_risks
from tests.analysis.labs import HEAD, READING, answer, instrument, lab, sensor

OWNED = "owned = true"


def test_what_a_longer_range_cannot_serve_is_a_gap_with_its_reason(tmp_path):
    found = answer(
        tmp_path,
        instrument("low", "0..1 bar gauge"),
        instrument("high", "0..200 bar gauge", 'class = "1"'),
        instrument("fit", "0..160 bar gauge"),
        sensor("S", "0..160 bar gauge", rest=OWNED),
    )
    assert [one.covered for one in found.instruments] == [False, False, True]
    assert not found.good
    by_name = {gap.instrument: gap for gap in gaps(found.instruments)}
    assert by_name["low"].reasons == ("no sensor is good enough",)
    assert by_name["low"].ratio == pytest.approx(100.0 / 2400.0, rel=1e-3)
    assert by_name["high"].reasons == ("no sensor has it in its range",)
    assert (by_name["high"].low_Pa, by_name["high"].high_Pa) == (200e5, 200e5)
    assert "2 of 3 kinds of instrument could not be covered by all sensors together" in found.notes


def test_the_cheapest_set_one_more_and_what_is_owned(tmp_path):
    found = answer(
        tmp_path,
        instrument("a", "0..6 bar gauge", 'tolerance = { span = "0.1 %" }\ncount = 30'),
        instrument("b", "0..160 bar gauge", 'tolerance = { span = "0.1 %" }\ncount = 12'),
        sensor("six", "0..6 bar gauge", rest=OWNED),
        sensor("dear", "0..160 bar gauge", rest="cost = 5000"),
        sensor("cheap", "0..160 bar gauge", rest="cost = 4000"),
    )
    assert found.good
    assert found.plan.sensors == ("six", "cheap")
    assert (found.plan.cost, found.plan.proved, found.plan.gap) == (4000.0, True, 0.0)
    assert (found.owned.sensors, found.owned.kinds, found.owned.count) == (("six",), 1, 30.0)
    told = [(one.beside, one.sensor, one.kinds, one.count, one.cost) for one in found.one_more]
    assert told == [("owned", "cheap", 1, 12.0, 4000.0), ("owned", "dear", 1, 12.0, 5000.0)]


def test_a_budget_and_few_places_cover_the_most(tmp_path):
    parts = (
        instrument("a", "0..6 bar gauge", 'tolerance = { span = "0.1 %" }\ncount = 30'),
        instrument("b", "0..160 bar gauge", 'tolerance = { span = "0.1 %" }\ncount = 12'),
        sensor("six", "0..6 bar gauge", rest="cost = 3000"),
        sensor("long", "0..160 bar gauge", rest="cost = 2000"),
    )
    assert answer(tmp_path, *parts, sets=("budget=4000",)).plan.sensors == ("six",)
    assert answer(tmp_path, *parts, sets=("budget=2500",)).plan.sensors == ("long",)
    assert answer(tmp_path, *parts, sets=("budget=0",)).plan.sensors == ()
    few = answer(tmp_path, *parts, sets=("places=1",))
    assert (few.plan.kind, few.plan.sensors, few.good) == ("most within the places", ("six",), False)
    (more,) = [one for one in few.one_more if one.beside == "plan"]
    assert (more.sensor, more.place_free) == ("long", False)


def test_of_more_owned_sensors_than_places_the_best_count(tmp_path):
    found = answer(
        tmp_path,
        instrument("a", "0..6 bar gauge", 'tolerance = { span = "0.1 %" }\ncount = 3'),
        instrument("b", "0..40 bar gauge", 'tolerance = { span = "0.1 %" }\ncount = 5'),
        instrument("c", "0..160 bar gauge", 'tolerance = { span = "0.1 %" }\ncount = 4'),
        *[sensor(f"s{bar}", f"0..{bar} bar gauge", rest=OWNED) for bar in (6, 40, 160)],
        sets=("places=2",),
    )
    assert (found.owned.sensors, found.owned.count) == (("s40", "s160"), 9.0)
    assert (found.plan.sensors, found.plan.cost) == (("s40", "s160"), 0.0)


def test_two_sensors_serve_one_instrument_with_switches_and_their_time(tmp_path):
    found = answer(
        tmp_path,
        instrument("i", "0..160 bar gauge", 'tolerance = { reading = "0.2 %", floor = "1 %" }\n'
                   'points = ["0 %", "2 %", "50 %", "100 %", "50 %", "2 %", "0 %"]'),
        sensor("low", "0..6 bar gauge"),
        sensor("high", "0..160 bar gauge"),
    )  # fmt: skip
    (one,) = found.instruments
    assert [p.sensor for p in one.points] == [None, "low", "high", "high", "high", "low", None]
    assert (one.switches, one.switch_s) == (2, 80.0)
    assert [p.able for p in one.points][1:3] == [("low",), ("high",)]


def test_the_risks_follow_the_prior_and_without_one_are_the_worst_case(tmp_path):
    parts = (instrument("i", "0..6 bar gauge"), sensor("S", "0..6 bar gauge"))
    u = 0.5 * 1.5e-4 * 6e5 / 600.0  # of the tolerance
    known = answer(tmp_path, *parts, head=HEAD + 'prior = { in_tolerance = "90 %", of = "true" }\n')
    point = known.instruments[0].points[-1]
    consumer, producer = global_risks(prior_sd(0.9, 1.0), u, 1.0, 1.0)
    assert (point.consumer_risk, point.producer_risk) == (
        pytest.approx(consumer, rel=1e-4),
        pytest.approx(producer, rel=1e-4),
    )
    assert point.specific_risk == pytest.approx(0.5, abs=1e-6)  # a reading at the limit of a tolerance
    unknown = answer(tmp_path, *parts)
    point = unknown.instruments[0].points[-1]
    assert point.consumer_risk == pytest.approx(worst_risks(u, 1.0, 1.0)[0], rel=1e-4)
    assert any("worst case" in note for note in unknown.notes)


@pytest.mark.parametrize(
    ("rule", "good"),
    [
        ("ratio = 6.6", True), ("ratio = 6.7", False),  # the ratio at full scale is 6.667
        ('consumer_risk = "1.4 %"', True), ('consumer_risk = "1.3 %"', False),  # worst case there: 1.383 %
        ('guard_band = "100 %"\nzone = "84 %"', True), ('guard_band = "100 %"\nzone = "86 %"', False),  # 1 - 1/6.667
        # 1 - 1.645/13.33
        ('specific_risk = "5 %"\nzone = "87 %"', True), ('specific_risk = "5 %"\nzone = "88 %"', False),
    ],
)  # fmt: skip
def test_each_rule_has_its_own_edge(tmp_path, rule, good):
    head = HEAD.replace("rule = { ratio = 4 }", "")
    parts = (instrument("i", "0..6 bar gauge"), sensor("S", "0..6 bar gauge"))
    assert answer(tmp_path, *parts, f"[rule]\n{rule}\n", head=head).good is good


def test_a_rule_of_risk_is_not_kept_by_accepting_nothing(tmp_path):
    # joint consumer's risk of 99 % in tolerance stays below 1 % however bad the sensor; a ratio of 1 is asked besides
    head = HEAD.replace(
        "rule = { ratio = 4 }", 'rule = { consumer_risk = "1 %" }\nprior = { in_tolerance = "99 %", of = "true" }'
    )
    bad = 'accuracy = { span = "0.2 %", is = "k=2", contains = ["drift", "calibration"] }'
    found = answer(tmp_path, instrument("i", "0..6 bar gauge"), sensor("S", "0..6 bar gauge", bad), head=head)
    assert not found.good
    assert found.instruments[0].points[-1].consumer_risk < 0.01


def test_a_guard_band_that_would_hold_a_rule_of_risk_is_told(tmp_path):
    head = HEAD.replace("rule = { ratio = 4 }", 'rule = { consumer_risk = "1 %" }')
    found = answer(tmp_path, instrument("i", "0..6 bar gauge"), sensor("S", "0..6 bar gauge"), head=head)
    point = found.instruments[0].points[-1]
    u = 0.5 * 600.0 / point.ratio
    assert (point.mode, point.reason) == ("none", "no sensor is good enough")
    assert 0.98 * acceptance_limit(0.01, u, 600.0) < point.limit_for_risk_Pa < 600.0
    assert worst_risks(u, 600.0, point.limit_for_risk_Pa)[0] <= 0.01


def test_the_device_counts_where_the_rule_says_so(tmp_path):
    coarse = 'tolerance = { span = "0.1 %" }\nresolution = "0.05 %"'
    parts = (instrument("i", "0..6 bar gauge", coarse), sensor("S", "0..6 bar gauge"))
    assert answer(tmp_path, *parts).good
    assert not answer(tmp_path, *parts, sets=('rule.uncertainty="with device"',)).good


def test_a_prior_of_observed_errors_that_cannot_be_is_no_risk_at_all(tmp_path):
    head = HEAD.replace(
        "rule = { ratio = 4 }", 'rule = { consumer_risk = "20 %" }\nprior = { in_tolerance = "99 %", of = "observed" }'
    )
    bad = 'accuracy = { span = "0.1 %", is = "k=2", contains = ["drift", "calibration"] }'
    found = answer(tmp_path, instrument("i", "0..6 bar gauge"), sensor("S", "0..6 bar gauge", bad), head=head)
    assert found.instruments[0].points[-1].consumer_risk is None
    assert not found.good


def test_what_the_dwell_leaves_is_what_settle_finds_on_the_bench(tmp_path, short_bench):
    text = short_bench.read_text(encoding="utf-8")
    (tmp_path / "short.toml").write_text(text, encoding="utf-8")
    head = HEAD.replace(', dwell = "0 Pa"', "") + '[bench.one]\nfile = "short.toml"\n'
    work = instrument("i", "0..6 bar gauge", 'tolerance = { span = "0.1 %" }\npoints = ["0 %", "20 %", "10 %"]')
    beyond = instrument("long", "0..160 bar gauge")
    made = lab(tmp_path, work, beyond, sensor("S", "0..6 bar gauge"), sensor("L", "0..160 bar gauge"), head=head)
    from simcal.analysis.cover import cover

    found = cover(made)
    one, long = found.instruments
    bench = load_bench(short_bench)
    stood = bench.devices["gauge"]
    device = Device(
        at=stood.at, range=stood.range, accuracy=Accuracy(span=1e-3, is_="limits"), lag=stood.lag, height=stood.height
    )
    bench = dataclasses.replace(bench, devices={"gauge": device})
    run = settle(bench)
    assert (one.bench, long.bench) == ("one", None)
    assert one.run_s == pytest.approx(run.total_s, rel=1e-9)
    for p, q in zip(one.points, run.points, strict=True):
        of_run = q.devices["gauge"]
        expected = (of_run.error_at_reading_Pa**2 / 3.0 + 0.25 * of_run.random_Pa**2) ** 0.5
        assert p.uncertainty_Pa["dwell"] == pytest.approx(expected, rel=1e-9)
    assert long.points[-1].uncertainty_Pa["dwell"] == pytest.approx(0.1 * 16000.0 / 3.0**0.5)
    assert any("no bench of this LAB reaches all points of long" in note for note in found.notes)
    assert cover(made) == found  # from the cache


def test_the_answer_does_not_depend_on_where_the_tables_stand(tmp_path):
    plain = lab(tmp_path, instrument("i", "0..6 bar gauge"), sensor("S", "0..6 bar gauge", READING))
    (tmp_path / "work.csv").write_text("name;range;tolerance.span\ni;0..6 bar gauge;0.1 %\n", encoding="utf-8")
    (tmp_path / "own.csv").write_text(
        "name,range,accuracy.reading,accuracy.floor,accuracy.is,accuracy.contains,cost\n"
        "S,0..6 bar gauge,0.025 %,20 %,k=2,drift | calibration,4000\n",
        encoding="utf-8",
    )
    path = tmp_path / "tables.toml"
    path.write_text('workload = "work.csv"\ncandidates = "own.csv"\n' + HEAD, encoding="utf-8")
    tables = load_lab(path)
    assert dataclasses.replace(tables.instruments["i"], source="") == plain.instruments["i"]
    assert dataclasses.replace(tables.sensors["S"], source="") == plain.sensors["S"]
    assert load_lab(path.name, texts=tables.texts) == tables
