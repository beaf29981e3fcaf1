"""Many runs: the same function over 0..count-1 on this machine's cores, results in order, stopped by Ctrl-C."""

from simcal.run.ensemble import Rows, Store, chunks, together
from simcal.run.many import Progress, cores, run_many
from simcal.run.processes import Processes
from simcal.run.progress import NamedProgress, on_terminal

__all__ = [
    "NamedProgress", "Processes", "Progress", "Rows", "Store", "chunks", "cores", "on_terminal", "run_many",
    "together",
]  # fmt: skip
