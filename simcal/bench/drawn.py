"""A bench with every unknown drawn: one of the benches that the stated spreads allow."""

from simcal.bench.bench import Bench
from simcal.stats.streams import generator, probability


def draw(bench: Bench, seed: int, trial: int) -> tuple[Bench, dict[str, float]]:
    """The bench of one trial, and the share of its spread that every unknown drew (0..1, exclusive).

    A share says where in its spread a value lies, so it serves for every shape.
    """
    drawn, out = {}, bench
    for key in sorted(bench.spreads):
        drawn[key] = probability(generator(seed, trial, key))
        out = out.replace(key, bench.spreads[key].at(bench.value(key), drawn[key]))
    return out, drawn
