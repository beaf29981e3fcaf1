"""What happens in a laboratory, on cases small enough to work out by hand."""

from dataclasses import replace

import pytest

from simcal.analysis.year.hours import DAY
from simcal.analysis.year.shop import PLAN, Check, Exchange, Job, Return, Sensor, Shop
from simcal.stats.lasting import fixed
from tests.analysis.shops import HOUR, OFFICE, kind, run

ONE = Shop(hours=OFFICE, kinds=(kind("one", 1.0, 0b1),), sensors=(Sensor("A", 900 * DAY, fixed(365 * DAY)),),
           layout=((0,),))  # fmt: skip
LUCKY = (0.5, 0.5, 0.5, 0.5, 0.5)
WORK = 2400.0


def job(number, hour, luck=LUCKY, **more):
    return Job(number, 0, hour * HOUR, luck=luck, **more)


def test_a_job_takes_its_time_within_staffed_hours():
    tally = run(ONE, [job(0, 9.0), job(1, 15.5)])
    assert tally.ended[0] == pytest.approx(9 * HOUR + WORK)
    assert tally.ended[1] == pytest.approx((24 + 8) * HOUR + WORK - 1800.0, abs=1e-3)
    assert tally.spent["running"] == pytest.approx(2 * 1200.0)
    assert sum(tally.spent.values()) == pytest.approx(OFFICE.staffed(20 * DAY))


def test_urgent_jobs_go_first_and_the_others_as_they_came():
    jobs = [job(0, 9.0), job(1, 9.1), job(2, 9.2), job(3, 9.3, urgent=True)]
    tally = run(ONE, jobs)
    assert sorted(tally.started, key=tally.started.get) == [0, 3, 1, 2]


@pytest.mark.parametrize(
    ("luck", "extra"),
    [
        (LUCKY, 0.0),
        ((0.01, 0.5, 0.5, 0.5, 0.5), 900.0),  # leaks and is seen: connected anew and checked again
        ((0.01, 0.01, 0.5, 0.5, 0.5), 0.0),  # leaks and is missed
        ((0.5, 0.5, 0.01, 0.5, 0.5), 900.0),  # tight, and seems to leak
        ((0.01, 0.5, 0.01, 0.5, 0.5), 900.0),  # one cause is enough
    ],
)
def test_a_leak_check_costs_time_when_it_sees_something(luck, extra):
    shop = replace(ONE, check=Check(bad=0.03, false_alarm=0.02, miss=0.05, again_s=600.0))
    assert run(shop, [job(0, 9.0, luck)]).ended[0] == pytest.approx(9 * HOUR + WORK + extra)


def test_a_sensor_that_is_away_keeps_its_jobs_waiting_and_others_go_on():
    kinds = (kind("one", 1.0, 0b1), kind("other", 1.0, 0b10))
    sensors = (Sensor("A", 1 * DAY, fixed(365 * DAY)), Sensor("B", 900 * DAY, fixed(365 * DAY)))
    shop = replace(ONE, kinds=kinds, sensors=sensors, layout=((0, 1),), away=fixed(5 * DAY))
    tally = run(shop, [job(0, 33.0), Job(1, 1, 34.0 * HOUR, luck=LUCKY)])
    leaves = (24 + 8) * HOUR  # the first staffed moment of its date
    assert tally.could_start == {0: False, 1: True}
    assert tally.ended[1] == pytest.approx(34 * HOUR + WORK)
    assert tally.started[0] == pytest.approx(7 * DAY + 8 * HOUR, abs=1.0) or tally.started[0] >= leaves + 5 * DAY
    assert tally.calendar_in[(0b10, True)] == pytest.approx(5 * DAY)
    assert tally.spent["no sensor"] > 0.0


def test_taking_out_checking_and_putting_in_take_the_bench():
    shop = replace(ONE, sensors=(Sensor("A", 0.0, fixed(365 * DAY)),), away=fixed(DAY), counts_from=PLAN,
                   exchange=Exchange(takes_s=1500.0, check_s=300.0), back=Return(accept_s=3600.0))  # fmt: skip
    tally = run(shop, [job(0, 9.0)])
    back = (24 + 8) * HOUR + 1800.0
    assert tally.started[0] == pytest.approx(back + 3600.0 + 1800.0)
    assert (tally.spent["exchange"], tally.spent["acceptance"]) == (pytest.approx(3600.0), pytest.approx(3600.0))
    assert (tally.exchanges, tally.calibrations) == (2, 1)
    assert [(mark.what, mark.row) for mark in tally.marks] == [
        ("away", "sensor A"), ("waits for acceptance", "sensor A")]  # fmt: skip


def test_a_spare_of_its_name_takes_the_place():
    sensors = (Sensor("A", 1 * DAY, fixed(365 * DAY)), Sensor("A no. 2", 900 * DAY, fixed(365 * DAY)))
    shop = replace(ONE, sensors=sensors, kinds=(kind("one", 1.0, 0b11),), twins={0: 0b11, 1: 0b11}, away=fixed(5 * DAY))
    tally = run(shop, [job(0, 40.0)])
    assert tally.could_start[0] and tally.started[0] == 40 * HOUR
    assert tally.sensors_of[0] == 0b10


def test_with_too_few_places_sensors_are_fetched_for_each_job():
    kinds = (kind("one", 1.0, 0b1), kind("other", 1.0, 0b10))
    sensors = tuple(Sensor(name, 900 * DAY, fixed(365 * DAY)) for name in "AB")
    shop = replace(ONE, places=1, kinds=kinds, sensors=sensors, exchange=Exchange(takes_s=1200.0))
    jobs = [Job(i, i % 2, (9.0 + i) * HOUR, luck=LUCKY) for i in range(4)]
    tally = run(shop, jobs)
    assert [round(tally.ended[i] - jobs[i].arrival) for i in range(4)] == [2400, 3600, 3600, 3600]
    assert tally.exchanges == 3
    assert all(tally.could_start.values())


def test_a_second_bench_does_not_rob_the_first_of_what_it_could_do_itself():
    shop = replace(ONE, benches=2, layout=((0,), ()), exchange=Exchange(takes_s=1200.0))
    tally = run(shop, [job(i, 9.0 + i) for i in range(5)])
    assert tally.exchanges == 0


def test_a_seal_is_found_or_missed_and_then_found_by_a_job():
    base = replace(ONE, sensors=(Sensor("A", 0.0, fixed(365 * DAY)),), away=fixed(DAY), counts_from=PLAN)
    seen = run(replace(base, exchange=Exchange(600.0, 300.0, 0.999999, 0.0, 7200.0)), [job(0, 9.0)], end=4 * DAY)
    assert seen.spent["reseating"] > 3 * 7500.0  # it never holds
    missed = replace(base, exchange=Exchange(600.0, 300.0, 0.999999, 1.0, 7200.0), check=Check(miss=0.4))
    luckless = (0.5, 0.5, 0.5, 0.3, 0.5)
    tally = run(missed, [job(0, 60.0, luckless), job(1, 61.0), job(2, 62.0)])
    assert tally.leaky == {0, 1}  # the first does not see it, the second does
    assert tally.spent["reseating"] == pytest.approx(7500.0)


def test_a_failure_loses_the_job_and_it_begins_again():
    shop = replace(ONE, fails=fixed(1.5 * HOUR), repair=fixed(1 * HOUR))
    tally = run(shop, [job(0, 9.0)], end=11.5 * HOUR)
    assert tally.spent["lost"] == pytest.approx(1800.0)
    assert tally.ended[0] == pytest.approx(10.5 * HOUR + WORK)
    assert tally.spent["failed"] == pytest.approx(3600.0)


def test_jobs_are_refused_when_too_many_wait_and_taken_back_when_they_wait_too_long():
    tally = run(replace(ONE, queue=2), [job(i, 9.0 + 0.01 * i) for i in range(5)])
    assert set(tally.refused) == {3, 4}
    tally = run(replace(ONE, patience_s=1800.0), [job(i, 9.0 + 0.01 * i) for i in range(3)])
    assert set(tally.ended) == {0}
    assert set(tally.taken_back) == {1, 2}
    nobody = replace(ONE, kinds=(kind("one", 1.0, 0),))
    assert set(run(nobody, [job(0, 9.0)]).refused) == {0}


def test_as_found_errors_grow_with_the_time_in_use():
    """The share beyond the limit is that stated after one interval."""
    beyond = {}
    for days, growth in ((30.0, 0.5), (7.5, 0.5), (7.5, 1.0)):
        shop = Shop(sensors=(Sensor("A", 0.0, fixed(days * DAY), rated=30 * DAY),), layout=((0,),), away=fixed(0.01),
                    back=Return(out=0.2, growth=growth))  # fmt: skip
        tally = run(shop, [], end=3000 * days * DAY)
        sizes = [trip.size for trip in tally.trips]
        beyond[days, growth] = sum(abs(size) > 1.0 for size in sizes) / len(sizes)
    assert beyond[30.0, 0.5] == pytest.approx(0.2, abs=0.03)
    assert beyond[7.5, 0.5] == pytest.approx(0.01037, abs=0.008)  # 2 Phi(-2.563)
    assert beyond[7.5, 1.0] == 0.0  # 2 Phi(-5.13)
