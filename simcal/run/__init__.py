"""Many runs: the same function over 0..count-1 on this machine's cores, results in order, stopped by Ctrl-C."""

from simcal.run.many import Progress, cores, run_many
from simcal.run.progress import NamedProgress, on_terminal

__all__ = ["NamedProgress", "Progress", "cores", "on_terminal", "run_many"]
