"""The share of a standing leak, on networks that can be solved by hand."""

import numpy as np
import pytest

from simcal.analysis.settle import standing

CHAIN = [(0, 1, 2e-9), (1, 2, 4e-9)]
STORED = np.array([1e-9, 1e-9, 2e-9])


def test_held_the_leak_flows_through_every_path_on_its_way() -> None:
    """Ohm's law along a chain: q/G1 to the middle, q/G1 + q/G2 to the end."""
    found = standing.differences(3, CHAIN, np.array([0.0, 0.0, 8e-9]), STORED, ground=0)
    assert found == pytest.approx([0.0, -4.0, -6.0], rel=1e-9)


def test_a_leak_at_the_control_node_makes_no_difference() -> None:
    """The controller makes up for it where it is."""
    found = standing.differences(3, CHAIN, np.array([8e-9, 0.0, 0.0]), STORED, ground=0)
    assert found == pytest.approx([0.0, 0.0, 0.0], abs=1e-12)


def test_isolated_every_volume_gives_by_what_it_stores() -> None:
    """Half of the gas is stored in the leaking end: it gives half itself, a quarter comes from each of the others."""
    found = standing.differences(3, CHAIN, np.array([0.0, 0.0, 8e-9]), STORED, ground=None)
    assert found[1] - found[0] == pytest.approx(-2e-9 / 2e-9, rel=1e-9)
    assert found[2] - found[1] == pytest.approx(-4e-9 / 4e-9, rel=1e-9)


def test_parallel_paths_share_the_flow_and_a_separate_part_stands_apart() -> None:
    """Two equal paths halve the difference; a part without the held volume gives its own gas."""
    links = [(0, 1, 1e-9), (0, 1, 1e-9), (2, 3, 1e-9)]
    found = standing.differences(4, links, np.array([0.0, 2e-9, 0.0, 4e-9]), np.ones(4), ground=0)
    assert found[1] - found[0] == pytest.approx(-1.0, rel=1e-9)
    assert found[3] - found[2] == pytest.approx(-2.0, rel=1e-9)
    assert standing.connected(4, links) == [[0, 1], [2, 3]]
