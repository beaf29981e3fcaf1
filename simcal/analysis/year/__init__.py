"""A year of a laboratory, simulated: jobs that wait for benches and for sensors, sensors that go away and come back.

building (from a LAB and its `cover`) -> luck, demand (what is drawn) -> floor, fleet (what happens, by simpy) -> tally
(what is summed up) -> model (one replication) -> year, compare (all of them) -> result.
"""

from simcal.analysis.year.result import YearResult
from simcal.analysis.year.year import year

__all__ = ["YearResult", "year"]
