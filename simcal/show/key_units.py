"""The unit in which the value under a key of a bench file is shown: that of its range, as `simcal keys` prints it."""

from simcal.bench.bench import Bench
from simcal.bench.meta import keys_of
from simcal.units import KINDS, TABLE

DIMENSION = {"portion": "pressure", "leak_rate": "amount flow"}
"""of the kinds that take quantities of more than one kind; their values are kept in this one"""


def unit_of_key(bench: Bench, dotted: str) -> tuple[float, str]:
    """SI size and name of the unit; (1, "") for a plain number.

    Args:
        bench: the bench.
        dotted: a key that has a value in it, such as "volume.port.capacity".
    """
    place, _, name = dotted.rpartition(".")
    meta = keys_of(type(bench.value(place) if place else bench))[name][1]
    units = [KINDS["volume"].unit] if meta.kind == "volume" else []
    units += [bound.strip().partition(" ")[2] for bound in meta.within.split("..")]
    dimension = DIMENSION.get(meta.kind) or (KINDS[meta.kind].dimension if meta.kind in KINDS else "")
    for unit in units:
        bare = unit.removesuffix(" abs").removesuffix(" gauge")
        if bare in TABLE.get(dimension, {}):
            return TABLE[dimension][bare], bare
    return 1.0, ""
