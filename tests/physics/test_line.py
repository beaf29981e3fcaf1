"""A line cut into pieces passes what the whole line passes: the velocity head counts once."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from simcal.physics.flow import HOLE, PARAMETERS, TUBE, edge_flow
from simcal.physics.stated import upstream
from simcal.tables.gas import load

T = 293.15
CELLS = (0, 1, 4, 16, 64)


def passed(gas, law, p_up, p_down, *numbers):
    a = np.zeros(PARAMETERS)
    a[: len(numbers)] = numbers
    return edge_flow(law, p_up, p_down, T, upstream(gas, p_up, T), a)[0]


def pieces(length, cells):
    """Lengths from middle to middle of the cells, as the network is built."""
    return [length] if cells == 0 else [length / cells * share for share in (0.5, *[1.0] * (cells - 1), 0.5)]


def line_flow(gas, bore, length, p_in, p_out, cells):
    """Steady flow (kg/s) through the pieces one after another, each cell at the room's temperature."""
    lengths = pieces(length, cells)

    def left(m):
        """What the last piece can pass beyond m; negative where a piece before it cannot pass m."""
        p = p_in
        for part in lengths[:-1]:
            numbers = (bore, part, 1.5e-6, len(lengths))
            if passed(gas, TUBE, p, p_out, *numbers) < m:
                return -m
            p = brentq(lambda q, p=p, n=numbers: passed(gas, TUBE, p, q, *n) - m, p_out, p, xtol=1e-7, rtol=1e-13)
        return passed(gas, TUBE, p, p_out, bore, lengths[-1], 1.5e-6, len(lengths)) - m

    most = 2.0 * nozzle_flow(gas, bore, p_in, p_out)
    return brentq(left, 1e-6 * most, most, rtol=1e-8)


def nozzle_flow(gas, bore, p_in, p_out):
    return passed(gas, HOLE, p_in, p_out, 0.25 * math.pi * bore**2)


@pytest.mark.parametrize(("bore", "length"), [(2e-3, 2.0), (4e-3, 1.0), (10e-3, 0.1)])
def test_the_flow_of_a_line_does_not_depend_on_its_cells(bore, length):
    gas = load("nitrogen")
    flows = [line_flow(gas, bore, length, 6e5, 5e5, cells) for cells in CELLS]
    assert flows == pytest.approx([flows[0]] * len(CELLS), rel=0.02)


@pytest.mark.parametrize("name", ["nitrogen", "helium"])
@pytest.mark.parametrize(("bore", "length"), [(2e-3, 2.0), (4e-3, 1.0), (10e-3, 0.1), (10e-3, 0.01)])
def test_a_line_never_passes_more_than_the_ideal_nozzle_of_its_bore(name, bore, length):
    gas = load(name)
    for p_out in (5e5, 3e5, 1e5):
        most = nozzle_flow(gas, bore, 6e5, p_out)
        assert max(line_flow(gas, bore, length, 6e5, p_out, cells) for cells in CELLS) < 1.02 * most


@pytest.mark.parametrize("length", [0.01, 0.3, 1.0])
def test_a_choked_line_in_pieces_is_little_below_the_whole_one(length):
    """By at most 11 %: the whole line lies up to 11 % above adiabatic flow with the same friction (`tube`)."""
    gas = load("nitrogen")
    flows = [line_flow(gas, 4e-3, length, 6e5, 1e5, cells) for cells in CELLS]
    assert all(0.89 * flows[0] < one <= flows[0] * (1.0 + 1e-9) for one in flows)
