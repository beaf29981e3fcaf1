"""What a reader of a hold's answer has to be told besides: things on the bench that do not act, or not as meant."""

from collections.abc import Iterator

from simcal.analysis.hold.plan import Plan
from simcal.bench.bench import Bench
from simcal.units import pressure_text

BROKEN = "DEVICE LIMIT BROKEN"
"""how a note begins that comes before the answer"""


def notes(bench: Bench, plan: Plan, watch_s: float, highest_Pa: float) -> tuple[str, ...]:
    """Limits that were broken first; watch_s: as it was asked for; highest_Pa: of the whole run."""
    return tuple(_notes(bench, plan, watch_s, highest_Pa))


def _notes(bench: Bench, plan: Plan, watch_s: float, highest_Pa: float) -> Iterator[str]:
    for name, device in bench.devices.items():
        if device.highest is not None and highest_Pa > device.highest.absolute(bench.room.barometer):
            limit = pressure_text(device.highest.absolute(bench.room.barometer), "abs")
            yield f"{BROKEN}: {name} may see {limit}, the peak was {pressure_text(highest_Pa, 'abs')}"
    if abs(plan.watch_s - watch_s) > 1e-6 * watch_s:
        yield f"the watch of {watch_s:g} s became {plan.watch_s:g} s, a whole number of rows"
    for name in bench.outgassing:
        if plan.pressure_Pa > bench.room.barometer:
            yield (
                f"outgassing.{name} is taken as at low pressure; above the room's pressure a surface gives off less, "
                "or takes up gas"
            )
    for name, touch in bench.touches.items():
        if touch.after >= plan.wait_s + plan.watch_s:
            yield f"touch.{name} comes after the hold has ended"
