"""A year as a whole: what is drawn, that it does not hang on what is done with it, exposure, plans, intervals."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ndtri
from scipy.stats import chisquare

from simcal.analysis.year.compare import COMPARISONS
from simcal.analysis.year.exposure import exposures
from simcal.analysis.year.hours import DAY
from simcal.analysis.year.luck import Luck
from simcal.analysis.year.model import Replicated, jobs, simulated, without_work
from simcal.analysis.year.plans import by_date, planned, staggered, together, with_intervals, with_spare
from simcal.analysis.year.shop import PLAN
from simcal.analysis.year.year import estimate, replicated
from simcal.run import Processes
from simcal.stats.lasting import fixed
from tests.analysis.shops import DEMAND, MODEL, SHOP, with_shop

MANY = replace(MODEL, years=20)


def drawn(model=MODEL, replication=0):
    return jobs(model.demand, model.shop.kinds, model.calendar(), Luck(1, replication))


def test_jobs_come_by_week_and_season_in_batches_within_staffed_hours():
    work = [job for job in drawn(MANY) if job.arrival >= 0.0]
    first = [b for a, b in zip([None, *work], work, strict=False) if a is None or a.arrival != b.arrival]
    assert len(work) / 20 == pytest.approx(300.0, rel=0.05)
    assert len(work) / len(first) == pytest.approx(2.0, rel=0.04)
    day = np.array([job.arrival for job in first]) // DAY
    weekday = np.bincount((day % 7).astype(int), minlength=7)
    assert weekday[5] == weekday[6] == 0
    assert chisquare(weekday[:5], np.array([3, 2, 2, 2, 1]) / 10 * len(first)).pvalue > 0.001
    half = np.mean(day % 365 < 181)
    assert half == pytest.approx(181 * 1.5 / (181 * 1.5 + 184 * 0.5), abs=0.02)
    hour = np.array([job.arrival for job in work]) % DAY / 3600.0
    assert hour.min() >= 8.0 and hour.max() <= 16.0
    assert np.mean([job.urgent for job in work]) == pytest.approx(0.1, abs=0.02)
    assert {round((job.due - job.arrival) / DAY) for job in work} == {3, 10}
    counts = np.bincount([job.kind for job in first], minlength=3)
    assert chisquare(counts, np.array([150, 100, 50]) / 300 * len(first)).pvalue > 0.001


def test_nothing_in_the_laboratory_changes_what_comes():
    spare = replace(MODEL, shop=with_spare(SHOP, 0, MODEL.warm_up_s))
    other = with_shop(fails=None, benches=2, layout=((0, 1, 2), ()), away=fixed(DAY))
    assert drawn() == drawn(spare) == drawn(other)
    assert [job.arrival for job in drawn()] == [job.arrival for job in drawn(MANY)][: len(drawn())]


def test_a_spare_never_keeps_a_job_from_starting():
    """By the same draws: absences and failures are the same with it."""
    spare = replace(MODEL, shop=with_spare(SHOP, 0, MODEL.warm_up_s))
    better = 0
    for replication in range(6):
        base, more = (simulated(m, 1, replication)[1].could_start for m in (MODEL, spare))
        assert all(more[n] >= base[n] for n in base)
        better += sum(more.values()) - sum(base.values())
    assert better > 10


def test_the_same_numbers_on_one_and_on_two_workers_and_in_any_number():
    task, alone = Replicated(MODEL, 3), replicated(MODEL, 3, 6, workers=1)
    with Processes(task, 2) as many:
        two = many(0, 6)
    for i, row in enumerate(two):
        assert all(np.array_equal(row[key], alone[key][i]) for key in alone)
    assert np.array_equal(replicated(MODEL, 3, 3, workers=1)["wait_s"], alone["wait_s"][:3])


def test_a_row_is_whole():
    for replication in range(4):
        row = Replicated(MODEL, 1)(replication)
        assert row["little"] < 1e-12
        assert row["spent"].sum() == pytest.approx(1.0)
        assert 0.0 <= row["uptime"] <= 1.0
        assert row["kinds"] == pytest.approx(row["kinds_calendar"], abs=0.1)
        assert row["exceeded"] <= row["touched"] <= row["done"]


def test_uptime_is_what_the_state_of_sensors_says_when_nothing_fails():
    model = with_shop(fails=None)
    rows = replicated(model, 1, 30)
    state = [without_work(model, 1, i) for i in range(30)]
    difference = estimate(rows["uptime"] - np.array(state))
    assert difference.low < 0.0 < difference.high
    assert difference.high - difference.low < 0.04


def test_exposed_jobs_are_those_read_since_the_calibration_before():
    model = with_shop(back=replace(SHOP.back, out=0.6))
    found = 0
    for replication in range(3):
        work, tally = simulated(model, 1, replication)
        exposed = exposures(model.shop, work, tally)
        assert [t for t in tally.trips if abs(t.size) > 1.0 and 0.0 <= t.back < model.end] == list(exposed.events)
        wanted = {
            (trip.sensor, n)
            for trip in exposed.events
            for n, sensors in tally.sensors_of.items()
            if sensors >> trip.sensor & 1
            and trip.since < tally.ended[n] <= trip.left
            and work[n].kind == 0
            and (
                trip.sensor == 0
            )  # B reads point 2 only where A is not on the bench, and then no job of this kind goes
        }
        assert {(one.trip.sensor, one.job.number) for one in exposed.points} == wanted
        for one in exposed.points:
            assert one.error_Pa == pytest.approx(one.trip.size * 90.0)
            reading = 0.5 * float(ndtri(one.job.luck[4]))
            assert one.margin_Pa == pytest.approx(600.0 * abs(1.0 - abs(reading)))
            assert one.exceeds == (abs(one.error_Pa) > one.margin_Pa)
        found += len(exposed.points)
    assert found > 50


def test_plans_keep_their_dates():
    shop = planned(SHOP, [0.5, 0.5, 0.25], 0.0)
    assert [one.first_due / DAY for one in shop.sensors] == [182.5, 182.5, 91.25]
    assert shop.sensors[0].batch == shop.sensors[1].batch != shop.sensors[2].batch
    assert shop.counts_from == PLAN
    assert len({one.batch for one in together(SHOP, 0.0).sensors}) == 1
    days = [one.first_due / DAY for one in staggered(SHOP, 0.0).sensors]
    assert np.diff(days) == pytest.approx([365 / 3] * 2)


def test_stated_dates_are_kept_and_the_others_evenly_spread():
    nan = float("nan")
    stated = [replace(one, first_due=due) for one, due in zip(SHOP.sensors, (300 * DAY, -5 * DAY, nan), strict=True)]
    days = [one.first_due / DAY for one in by_date(replace(SHOP, sensors=tuple(stated)), 30 * DAY).sensors]
    assert days == [300.0, 0.0, 182.5]  # what is overdue leaves when the year begins, not before
    spread = [replace(one, first_due=nan) for one in SHOP.sensors]
    days = [one.first_due / DAY for one in by_date(replace(SHOP, sensors=tuple(spread)), 70 * DAY).sensors]
    assert days == pytest.approx([365 / 6, 365 / 2, 365 * 5 / 6 - 365])  # the last one leaves before what counts


def test_all_together_and_staggered_are_seen_as_what_they_are():
    """Every job needs all three: together they are missing once, staggered three times as long."""
    kinds = (replace(SHOP.kinds[0], need=frozenset({1, 2, 4})),)
    model = replace(with_shop(kinds=kinds, fails=None, away=fixed(21 * DAY), back=replace(SHOP.back, refused=0.0)),
                    demand=replace(DEMAND, week=(1.0,) * 7, season=(1.0,) * 12))  # fmt: skip
    up = {}
    for plan in (together, staggered):
        one = replace(model, shop=plan(model.shop, model.warm_up_s))
        up[plan] = without_work(one, 1, 0)
    assert up[together] == pytest.approx(1.0 - 21 / 365, abs=0.01)
    assert up[staggered] == pytest.approx(1.0 - 63 / 365, abs=0.02)


def test_the_search_finds_the_quiet_season():
    quiet = (1.0,) * 6 + (0.02, 0.02) + (1.0,) * 4
    kinds = (replace(SHOP.kinds[0], need=frozenset({1, 2, 4})),)
    model = replace(with_shop(kinds=kinds, away=fixed(21 * DAY)), demand=replace(DEMAND, season=quiet))
    ways = {label: (way, dates) for label, way, dates in COMPARISONS["plans"](model, 1)}
    way, dates = ways["found by search"]
    assert all(181 <= part * 365 <= 243 for part in dates)
    assert without_work(way, 1, 7) > without_work(ways["evenly staggered"][0], 1, 7) + 0.1


def test_spares_are_bought_in_the_order_of_what_they_help():
    ways = list(COMPARISONS["spares"](MODEL, 1))
    assert [label.count("+") for label, _, _ in ways] == [1, 2, 3, 4, 0]
    assert ways[0][0] == "+ A"  # two kinds need it, nobody stands in for it
    assert ways[-1][1].shop.benches == 2
    ups = [without_work(way, 1, 3) for _, way, _ in ways[:4]]
    assert ups == sorted(ups)


def test_longer_intervals_save_calibrations_and_find_more_out_of_tolerance():
    found = {}
    for factor in (0.5, 1.0, 2.0):
        model = replace(with_shop(back=replace(SHOP.back, out=0.3)), years=8)
        model = replace(model, shop=with_intervals(model.shop, factor, model.warm_up_s))
        rows = replicated(model, 1, 6, workers=1)
        found[factor] = rows["calibrations"].mean(), rows["found_out"].sum() / rows["calibrations"].sum()
    assert found[0.5][0] > 1.8 * found[1.0][0] > 3.2 * found[2.0][0]
    assert found[0.5][1] < found[1.0][1] < found[2.0][1]
    assert found[1.0][1] == pytest.approx(0.3, abs=0.08)


def test_seals_that_leak_move_the_uptime():
    rows = [
        replicated(with_shop(exchange=replace(SHOP.exchange, bad=bad, reseat_s=36000.0)), 1, 12)["hours"]
        for bad in (0.0, 0.5)
    ]
    difference = estimate(rows[1] - rows[0])
    assert difference.high < 0.0
