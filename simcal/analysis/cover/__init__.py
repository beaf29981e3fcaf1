"""Covering: from a laboratory to the sensors that serve its work.

dwell (runs of its benches) -> budget (every comparison) -> rule -> choose (the set) -> route, served -> result.
"""

from simcal.analysis.cover.cover import cover
from simcal.analysis.cover.result import CoverResult

__all__ = ["CoverResult", "cover"]
