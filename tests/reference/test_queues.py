"""Queues, repair and spares: the simulated laboratory against the closed forms of queueing and reliability theory.

Every case runs through the code that simulates a laboratory. A mean is compared by Student's t of independent batches
(a chance of 1 in 10,000 each, there are some sixty; seeds fixed), and the standard error itself is bounded, so that a
wrong model fails; the campaign runs ten times as long, for about half of that error.
Sources: F. S. Hillier and G. J. Lieberman, Introduction to Operations Research, queueing chapter (H1, H2); R. Bronson,
Operations Research (1982), example 24.6 (H3); Erlang's C and B (H4, H5); Pollaczek and Khinchine (H6); the finite
source model of any text (H7 to H11); Palm's theorem (H12); arithmetic of the calendar (H13); reliability texts (H14 to
H16); J. D. C. Little, Operations Research 9 (1961) 383 (H17). Numbers were computed from the formulas.
"""

import math

import numpy as np
import pytest
from scipy.stats import poisson, t

from simcal.analysis.year import fleet
from simcal.analysis.year.floor import Floor
from simcal.analysis.year.luck import Luck
from simcal.analysis.year.shop import FIRST_USE, PLAN, Job, Kind, Sensor, Shop
from simcal.analysis.year.tally import Tally
from simcal.stats.lasting import EVEN, EXPONENTIAL, Lasting, fixed

BATCHES = 25
DAY = 86400.0


def simulated(shop, jobs=(), seed=1, begin=0.0, end=1.0):
    """The tally of one run from 0 on; Little's law is held in every one of them (H17)."""
    tally = Tally(shop.hours, begin, end)
    floor = Floor(shop, list(jobs), Luck(seed, 0), tally, 0.0)
    fleet.begin(floor)
    floor.run()
    assert tally.sojourns(list(jobs)) == pytest.approx(tally.area, rel=1e-9, abs=1e-9)
    return tally


def expected(values, want, within):
    """The mean of independent values is `want`; their standard error is below `within` of it."""
    values = np.asarray(values)
    error = values.std(ddof=1) / math.sqrt(len(values))
    assert error < within * want, error
    bound = float(t.ppf(1.0 - 0.5e-4, len(values) - 1)) * error
    assert abs(values.mean() - want) < bound, (values.mean(), want, error)


def birth_death(birth, death, count):
    """Probabilities of 0..count from the balance of neighbours."""
    weights = [1.0]
    for n in range(count):
        weights.append(weights[-1] * birth(n) / death(n + 1))
    return np.array(weights) / sum(weights)


def stream(rate, service, count, seed):
    """Poisson arrivals, each with its service."""
    rows, at, jobs = Luck(seed, 0).table("queue", count, 2), 0.0, []
    for number, (gap, lasts) in enumerate(rows):
        at += Lasting(EXPONENTIAL, 1.0 / rate).at(gap)
        jobs.append(Job(number, 0, at, work_s=service.at(lasts)))
    return jobs


def queue(rate, service, servers, count, seed):
    """(Jobs in the system, waits of batches) of one long queue, its first tenth left out."""
    jobs = stream(rate, service, count, seed)
    shop = Shop(benches=servers, layout=((),) * servers)
    tally = simulated(shop, jobs, seed, jobs[count // 10].arrival, jobs[-1].arrival)
    waits = [tally.started[j.number] - j.arrival for j in jobs[count // 10 :] if j.number in tally.started]
    parts = [part.mean() for part in np.array_split(waits, BATCHES)]
    return tally.area / (tally.end - tally.begin), parts


LONGER = [1, pytest.param(10, marks=pytest.mark.campaign)]
QUEUES = [  # arrivals, service, servers, L, Wq, largest relative standard error of it
    ("H1 M/M/1", 2.0, Lasting(EXPONENTIAL, 1 / 3), 1, 2.0, 2 / 3, 0.12),
    ("H2 M/M/2", 2.0, Lasting(EXPONENTIAL, 1 / 3), 2, 0.75, 1 / 24, 0.12),
    ("H3 M/M/3, per day", 300 / 365, Lasting(EXPONENTIAL, 2.0), 3, 1.996262, 0.428785, 0.12),
    ("H4 M/M/5", 4.0, Lasting(EXPONENTIAL, 1.0), 5, 6.216450, 0.554113, 0.18),
    ("H4 M/M/10", 8.0, Lasting(EXPONENTIAL, 1.0), 10, 9.636721, 0.204590, 0.18),
    ("H6 M/D/1", 0.8, fixed(1.0), 1, 2.4, 2.0, 0.12),
    ("H6 M/M/1", 0.8, Lasting(EXPONENTIAL, 1.0), 1, 4.0, 4.0, 0.18),
    ("H6 M/G/1, even service", 0.8, Lasting(EVEN, 0.1, 1.9), 1, 2.832, 2.54, 0.15),
]


@pytest.mark.parametrize("longer", LONGER)
@pytest.mark.parametrize(("name", "rate", "service", "servers", "inside", "wait", "within"), QUEUES)
def test_a_queue_waits_as_theory_says(name, rate, service, servers, inside, wait, within, longer):
    found, waits = queue(rate, service, servers, 5_000 * longer, seed=11)
    expected(waits, wait, within if longer == 1 else 0.65 * within)
    assert inside == pytest.approx(rate * (wait + service.mean()), rel=1e-5)
    if longer > 1:  # the shorter run tells the wait alone: both are one by Little's law
        assert found == pytest.approx(inside, rel=within)


@pytest.mark.parametrize(("load", "servers", "refused"), [(1.0, 1, 0.5), (2.0, 2, 0.4), (5.0, 5, 0.284868)])
def test_who_may_not_wait_is_refused_as_by_erlang(load, servers, refused):
    """H5. Nobody may wait: a job is refused when all benches work."""
    shares = []
    for seed in range(12):
        jobs = stream(load, Lasting(EXPONENTIAL, 1.0), 1000, seed)
        tally = Tally(Shop().hours, 0.0, jobs[-1].arrival)
        floor = _Loss(Shop(benches=servers, layout=((),) * servers), jobs, Luck(seed, 0), tally, 0.0)
        floor.run()
        shares.append(len(tally.refused) / len(jobs))
    expected(shares, refused, 0.025)


class _Loss(Floor):
    """Where nobody may wait: an arrival that finds every bench at work is turned away."""

    def _arrivals(self):
        for job in self.jobs:
            yield self.env.timeout(job.arrival - self.env.now)
            if not any(event is not None for event in self.idle):
                self.tally.refused[job.number] = self.env.now
                continue
            self._queues[1][0].append(job)
            self._waits(1)
            self.wake()


def shares(shop, days, runs=BATCHES, begin=0.1):
    """Share of calendar time with each set of sensors, a dict a run."""
    found = []
    for seed in range(runs):
        tally = simulated(shop, (), seed, begin * days * DAY, days * DAY)
        whole = sum(tally.calendar_in.values())
        assert whole == pytest.approx((1.0 - begin) * days * DAY)
        found.append({mask: time / whole for (mask, _), time in tally.calendar_in.items()})
    return found


def up(found, most=99):
    """Mean number present, at most `most` of which are wanted, of every run."""
    return [sum(min(mask.bit_count(), most) * share for mask, share in run.items()) for run in found]


def at_least(found, count):
    return [sum(share for mask, share in run.items() if mask.bit_count() >= count) for run in found]


def fleet_of(count, uptime, away, slots=None, spares=0):
    """Sensors that leave after an exponential time in use; spares lie on the shelf and do not age."""
    whole = count + spares
    sensors = tuple(Sensor(f"s{i}", -math.inf, Lasting(EXPONENTIAL, uptime * DAY)) for i in range(whole))
    return Shop(
        sensors=sensors, layout=(tuple(range(count)),), away=Lasting(EXPONENTIAL, away * DAY), slots=slots,
        counts_from=FIRST_USE, twins=dict.fromkeys(range(whole), (1 << whole) - 1),
    )  # fmt: skip


REPAIR = [  # machines, days up, days of repair, repairmen, mean up, largest standard error
    ("H7", 5, 10.0, 1.0, 1, 4.360478),
    ("H8, one", 5, 30.0, 2.0, 1, 4.601591),
    ("H8, two", 5, 30.0, 2.0, 2, 4.684064),
    ("H9", 10, 20.0, 2.0, 2, 8.961362),
    ("H10, independent", 5, 365.0, 21.0, 5, 4.727979),
    ("H10, one slot", 5, 365.0, 21.0, 1, 5 * 0.932685),
]


@pytest.mark.parametrize("longer", LONGER)
@pytest.mark.parametrize(("name", "machines", "days", "repair", "slots", "mean"), REPAIR)
def test_machines_are_up_as_the_finite_source_model_says(name, machines, days, repair, slots, mean, longer):
    down = birth_death(lambda n: (machines - n) / days, lambda n: min(n, slots) / repair, machines)
    assert machines - down @ np.arange(machines + 1) == pytest.approx(mean, rel=2e-6)
    found = shares(fleet_of(machines, days, repair, slots), 40.0 * longer * days)
    expected(up(found), mean, 0.006 / math.sqrt(longer))
    expected(at_least(found, machines), down[0], 0.03 / math.sqrt(longer))


@pytest.mark.parametrize(("spares", "five", "working"), [(0, 0.756010, 4.727979), (1, 0.966457, 4.963862),
                                                         (2, 0.996847, 4.996663)])  # fmt: skip
def test_cold_spares_keep_five_working(spares, five, working):
    """H11; H12 is Palm's estimate of the same, which takes demand as if all five always worked."""
    away = birth_death(lambda n: min(5, 5 + spares - n) / 365, lambda n: n / 21, 5 + spares)
    assert away[: spares + 1].sum() == pytest.approx(five, abs=1e-6)
    assert poisson.cdf(spares, 5 * 21 / 365) == pytest.approx(five, abs=0.007)
    found = shares(fleet_of(5, 365.0, 21.0, spares=spares), 365.0 * 40)
    expected(at_least(found, 5), five, 0.012)
    expected(up(found, most=5), working, 0.003)


def test_absences_of_any_distribution_leave_the_same_share():
    """H10: with a slot for each, the share depends on the mean absence alone."""
    shop = fleet_of(5, 365.0, 21.0)
    found = shares(Shop(**{**vars(shop), "away": fixed(21.0 * DAY)}), 365.0 * 40)
    expected(at_least(found, 5), 0.756010, 0.01)


@pytest.mark.parametrize(("first", "all_five"), [((0, 0, 0, 0, 0), 0.942466), ((0, 30, 60, 90, 120), 0.712329)])
def test_fixed_dates_together_or_staggered(first, all_five):
    """H13 and H10: one absence of 21 days in each year of 365, exact; 0.942 all together, 0.712 one after the other."""
    sensors = tuple(Sensor(f"s{i}", day * DAY, fixed(365.0 * DAY)) for i, day in enumerate(first))
    shop = Shop(sensors=sensors, layout=(tuple(range(5)),), away=fixed(21.0 * DAY), counts_from=PLAN)
    found = shares(shop, 3650.0, runs=1)
    assert at_least(found, 5)[0] == pytest.approx(all_five, abs=1e-6)
    assert up(found)[0] == pytest.approx(5 * 0.942466, abs=1e-5)


NEEDS = [  # which of five must be there; H15 at 0.99 each
    ("five in series", frozenset(1 << i for i in range(5)), 0.950990),
    ("two in parallel", frozenset({0b11}), 0.999900),
    ("two of three", frozenset({0b011, 0b110, 0b101}), 0.999702),
]


@pytest.mark.parametrize(("name", "need", "want"), NEEDS)
def test_a_need_is_met_as_series_and_parallel_systems_work(name, need, want):
    """H14 (990/10 h: 0.99) and H15, by what jobs find that come at even moments."""
    shop = fleet_of(5, 990.0 / 24.0, 10.0 / 24.0)
    shop = Shop(**{**vars(shop), "kinds": (Kind("one", need=need),), "patience_s": 0.0})
    starts = []
    for seed in range(BATCHES):
        jobs = [Job(i, 0, (200.0 + 37.0 * i) * 3600.0, work_s=0.0) for i in range(250)]
        tally = simulated(shop, jobs, seed, 0.0, jobs[-1].arrival + 1.0)
        starts.append(np.mean(list(tally.could_start.values())))
    if want > 0.999:
        missed = round(sum((1.0 - np.array(starts)) * 250))
        assert poisson.cdf(missed, (1.0 - want) * 250 * BATCHES) > 0.0005
        assert poisson.sf(missed - 1, (1.0 - want) * 250 * BATCHES) > 0.0005
    else:
        expected(starts, want, 0.005)


@pytest.mark.parametrize(("between", "repair", "want"), [(1000.0, 10.0, 0.990099), (2000.0, 24.0, 0.988142),
                                                        (365.0, 21.0, 0.945596), (8760.0, 72.0, 0.991848)])  # fmt: skip
def test_a_bench_that_fails_is_available_as_by_its_mean_times(between, repair, want):
    """H14."""
    shop = Shop(fails=Lasting(EXPONENTIAL, between * 3600), repair=Lasting(EXPONENTIAL, repair * 3600))
    found = []
    for seed in range(BATCHES):
        tally = simulated(shop, (), seed, 0.0, 200 * (between + repair) * 3600)
        found.append(sum(time for (_, alive), time in tally.calendar_in.items() if alive) / tally.end)
    expected(found, want, 0.002)


def test_availability_soon_after_the_start():
    """H16: 1000 h up, 10 h of repair, 10 h after the start: 0.993705, and not the 0.990099 of long times."""
    shop = Shop(fails=Lasting(EXPONENTIAL, 1000 * 3600), repair=Lasting(EXPONENTIAL, 10 * 3600))
    found = []
    for batch in range(BATCHES):
        alive = 0
        for i in range(240):
            tally = simulated(shop, (), 1000 * batch + i, 36000.0, 36000.0 + 1e-3)
            alive += any(up and time > 0.0 for (_, up), time in tally.calendar_in.items())
        found.append(alive / 240)
    expected(found, 0.993705, 0.0015)
