"""What is collected of a bench before it becomes arrays."""

from __future__ import annotations

import dataclasses


@dataclasses.dataclass
class Parts:
    """What is collected before it becomes arrays: one list per kind of row."""

    node: dict[str, int] = dataclasses.field(default_factory=dict)
    node_par: list[list[float]] = dataclasses.field(default_factory=list)
    film: list[list[float]] = dataclasses.field(default_factory=list)
    jet: list[float] = dataclasses.field(default_factory=list)
    warmer: dict[str, float] = dataclasses.field(default_factory=dict)
    edges: dict[str, tuple[str, str, int, int, list[float]]] = dataclasses.field(default_factory=dict)

    def note_jet(self, node: str, bore: float) -> None:
        """Remember the widest opening through which gas may blow into a volume; a tube's own cells have no jet."""
        self.jet[self.node[node]] = max(self.jet[self.node[node]], bore)
