"""Small laboratories as models of a year, for tests to change."""

from dataclasses import replace

from simcal.analysis.year import fleet
from simcal.analysis.year.demand import Demand
from simcal.analysis.year.floor import Floor
from simcal.analysis.year.hours import DAY, Hours
from simcal.analysis.year.luck import Luck
from simcal.analysis.year.model import Model
from simcal.analysis.year.shop import Check, Exchange, Kind, PointOfKind, Return, Sensor, Shop
from simcal.analysis.year.tally import Tally
from simcal.stats.lasting import EXPONENTIAL, Lasting, fixed, skewed

HOUR = 3600.0
OFFICE = Hours(8 * HOUR, 16 * HOUR, (0, 1, 2, 3, 4))


def kind(name, count, *masks, points=()):
    """40 min of work in all."""
    return Kind(name, count, frozenset(masks), 600.0, 1200.0, 300.0, 300.0, points)


POINTS = (PointOfKind(1, 600.0, (0,), (90.0,)), PointOfKind(2, 600.0, (0, 1), (90.0, 150.0)))
SHOP = Shop(
    hours=OFFICE,
    places=6,
    kinds=(kind("low", 150.0, 0b001, points=POINTS), kind("high", 100.0, 0b110), kind("both", 50.0, 0b001, 0b100)),
    sensors=tuple(Sensor(name, (60 + 110 * i) * DAY, fixed(365 * DAY)) for i, name in enumerate(("A", "B", "C"))),
    layout=((0, 1, 2),),
    away=skewed(21 * DAY, 35 * DAY),
    check=Check(0.03, 0.02, 0.05, 600.0),
    exchange=Exchange(1500.0, 300.0, 0.0, 0.2, 7200.0),
    back=Return(3600.0, 0.02, 0.05, 1800.0, 0.1, 0.05, 0.5),
    fails=Lasting(EXPONENTIAL, 1000 * HOUR),
    repair=skewed(2 * DAY, 6 * DAY),
    reading_sd=0.5,
)
DEMAND = Demand(2.0, (3.0, 2.0, 2.0, 2.0, 1.0, 0.0, 0.0), (1.5,) * 6 + (0.5,) * 6, 0.1, 10 * DAY, 3 * DAY)
MODEL = Model(SHOP, DEMAND, warm_up_s=30 * DAY)


def with_shop(**changes):
    """The model with another shop."""
    return replace(MODEL, shop=replace(SHOP, **changes))


def run(shop, jobs, end=20 * DAY, seed=1):
    """The tally of given jobs from 0 to `end`."""
    tally = Tally(shop.hours, 0.0, end, marks=[])
    floor = Floor(shop, jobs, Luck(seed, 0), tally, 0.0)
    fleet.begin(floor)
    floor.run()
    assert abs(tally.area - tally.sojourns(jobs)) <= 1e-9 * max(tally.area, 1.0)
    return tally
