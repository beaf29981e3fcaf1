"""What leak a bench's own accuracy permits, against closed forms."""

import dataclasses
import math

import pytest

from simcal.analysis.criterion import criterion
from simcal.analysis.criterion.permit import permit
from simcal.analysis.hold.plan import plan
from simcal.bench.values import Level
from simcal.errors import InputError
from tests.analysis.test_hold_parts import GAS, ROOM_K, R

VISCOSITY = 17.6e-6  # Pa s, nitrogen at 20 degC, E. W. Lemmon and R. T Jacobsen, Int. J. Thermophys. 25 (2004) 21


def permitted(bench, pressure=2e5):
    asked = plan(bench, Level(pressure, False), 60.0, 0.0, 60.0, "below", None, None)
    return permit(bench, asked)


@pytest.mark.parametrize("length", [1.0, 4.0])
def test_held_it_is_the_flow_that_makes_the_lines_pressure_difference(make_bench, length):
    """Hagen and Poiseuille, isothermal and compressible: q = pi d^4 (p1^2 - p2^2)/(256 mu L R T), for 1.5 mm of bore
    and a difference of 5 Pa at 2 bar, where the Reynolds number is below 100."""
    bench = make_bench("line.run.bore='1.5 mm'", f"line.run.length='{length} m'", "device.one.allowance='5 Pa'")
    closed = math.pi * 1.5e-3**4 * (2e5**2 - (2e5 - 5.0) ** 2) / (256.0 * VISCOSITY * length * R * ROOM_K)
    # the line's ends count in the tube's law: some per cent of the difference
    assert permitted(bench).held == pytest.approx(closed, rel=0.05)


def test_isolated_it_is_the_rate_that_the_readings_see_apart(make_bench):
    """dn/dt = V/(R T) dp/dt with 20 Pa within 0.5 s of skew, less 50 ms of the device's lag, plus 10 ms of the
    sensor's; nitrogen at 2 bar is ideal to 0.1 %."""
    bench = make_bench(
        "device.one.allowance='20 Pa'", "sequence.up_down.skew='-0.5 s'", "sequence.up_down.window='0.1 s'"
    )
    rate = 20.0 / (0.5 + 0.05 - 0.01)
    assert permitted(bench).isolated == pytest.approx(GAS / (R * ROOM_K) * rate, rel=3e-3)


def test_the_window_counts_where_it_is_longer(make_bench):
    bench = make_bench("device.one.allowance='20 Pa'", "sequence.up_down.window='4 s'")
    assert permitted(bench).isolated == pytest.approx(GAS / (R * ROOM_K) * 20.0 / 4.0, rel=3e-3)


def test_the_smaller_governs_and_the_formulas_are_told(make_bench):
    found = permitted(make_bench("line.run.bore='0.3 mm'"))
    assert found.rate == found.held < found.isolated
    assert "a tenth of one's accuracy, 30 Pa [common practice, no source]" in found.said[0]
    assert found.said[-1] == f"the smaller governs: held, {found.rate:.3g} mol/s"
    wide = permitted(make_bench("line.run.bore='6 mm'"))
    assert wide.rate == wide.isolated < wide.held


def test_a_device_at_the_sensor_has_no_line(make_bench):
    assert permitted(make_bench("device.one.at=manifold")).held is None


def test_a_criterion_for_what_the_device_permits(make_bench):
    bench = make_bench()
    result = criterion(
        bench, permitted="auto", pressure=Level(2e5, False), benches=4, soak_s=10.0, wait_s=30.0, watch_s=30.0
    )
    assert result.permitted_mol_per_s == permitted(bench).rate
    assert result.notes == permitted(bench).said


def test_without_a_device_shut_in_there_is_nothing_to_permit(make_bench):
    """The device sits behind a shut isolation valve, and the sensor's volume holds no other."""
    extra = """
[volume.aside]
capacity = "10 cm3"
[valve.aside]
between = ["manifold", "aside"]
conductance = "1e-9 m3/(s Pa)"
open = false
"""
    bench = make_bench(extra=extra)
    moved = dataclasses.replace(bench.devices["one"], at="aside")
    with pytest.raises(InputError, match="no device is shut in with reference"):
        permitted(dataclasses.replace(bench, devices={"one": moved}))
