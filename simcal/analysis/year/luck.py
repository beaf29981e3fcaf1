"""Everything that is drawn in a year: one stream a name, so that one thing more changes nothing else that is drawn."""

from collections.abc import Iterator

from simcal.stats.streams import generator, probabilities

_BLOCK = 64


class Luck:
    """Draws of one replication: `luck("bench 1")` is the next one of that stream."""

    def __init__(self, seed: int, replication: int) -> None:
        self._seed, self._replication = seed, replication
        self._streams: dict[str, Iterator[float]] = {}

    def __call__(self, name: str) -> float:
        """The next number from (0, 1) of the stream of that name."""
        if name not in self._streams:
            self._streams[name] = self._numbers(name)
        return next(self._streams[name])

    def table(self, name: str, rows: int, columns: int) -> list[list[float]]:
        """Rows of numbers from (0, 1)."""
        drawn = probabilities(generator(self._seed, self._replication, name), rows * columns)
        whole: list[list[float]] = drawn.reshape(rows, columns).tolist()
        return whole

    def _numbers(self, name: str) -> Iterator[float]:
        source = generator(self._seed, self._replication, name)
        while True:
            yield from probabilities(source, _BLOCK).tolist()
