"""Which volumes of a bench are joined to which."""

from simcal.bench.bench import Bench
from simcal.bench.parts import BOUNDARIES

DRIVEN = ("inlet", "outlet", "vent")
"""valves that are shut while a volume is isolated"""


def reached_from(bench: Bench, starts: set[str], every_way: bool = False) -> set[str]:
    """The volumes that open valves and lines join to any of `starts`; boundaries are ends, not ways.

    every_way: shut valves, leaks and seals join, too.
    """
    pairs = [line.between for line in bench.lines.values()]
    pairs += [valve.between for valve in bench.valves.values() if valve.open or every_way]
    if every_way:
        pairs += _leaks(bench)
    return _joined(starts, pairs)


def isolated_with(bench: Bench, start: str) -> set[str]:
    """The volumes that stay openly joined to the volume `start` when the controller's valves and the vent are shut."""
    pairs = [line.between for line in bench.lines.values()]
    pairs += [valve.between for name, valve in bench.valves.items() if valve.open and name not in DRIVEN]
    return _joined({start}, pairs)


def pockets(bench: Bench, isolated: set[str]) -> set[str]:
    """The volumes that only a leak or a seal joins to those `isolated`."""
    joined = _joined(isolated, _leaks(bench)) - isolated
    openly = isolated.union(*(isolated_with(bench, name) for name in joined))
    return openly - isolated


def _leaks(bench: Bench) -> list[tuple[str, str]]:
    leaks = [(leak.at, leak.to) for leak in bench.leaks.values()]
    return leaks + [(seal.at, seal.to) for seal in bench.seals.values()]


def _joined(starts: set[str], pairs: list[tuple[str, str]]) -> set[str]:
    seen, todo = set(starts), list(starts)
    while todo:
        here = todo.pop()
        if here in BOUNDARIES and here not in starts:
            continue
        for one, two in pairs:
            for near, far in ((one, two), (two, one)):
                if near == here and far not in seen:
                    seen.add(far)
                    todo.append(far)
    return seen - set(BOUNDARIES)
