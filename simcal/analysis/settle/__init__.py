"""Settling: from a bench and a sequence to the dwell at every setpoint, its cause, and what the devices saw.

sequence -> rig -> run (point by point) -> assess (parts, limits) -> settle (trials, groups, margins) -> result.
"""

from simcal.analysis.settle.method import METHOD
from simcal.analysis.settle.result import SettleResult
from simcal.analysis.settle.settle import settle

__all__ = ["METHOD", "SettleResult", "settle"]
