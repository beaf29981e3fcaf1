"""An isolated hold: go to a pressure, soak, shut the valves, wait, watch; what a logger shows of it and what is true.

Start reading at `hold.py`.
"""

from simcal.analysis.hold.hold import hold
from simcal.analysis.hold.result import HoldResult

__all__ = ["HoldResult", "hold"]
