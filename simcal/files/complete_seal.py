"""What one key of a seal means for another, and geometry that cannot be."""

from typing import Any

from simcal.bench import sealing
from simcal.bench.meta import keys_of
from simcal.bench.seal import METAL_STOP, NO_STOP, RADIAL, Seal
from simcal.files.context import FACTOR_TWO, Context
from simcal.physics import ring

Values = dict[str, Any]


def complete_seal(values: Values, place: str, context: Context) -> None:
    """What each joint needs, what cannot be, and what the seal comes to as it is closed."""
    before = len(context.report.faults)
    report, joint = context.report, values["joint"]
    if values["at"] == values.get("to"):
        report.add(f"{place}.to", "leaks into itself", '"room", or another volume')
    needed = {
        NO_STOP: ("torque", "thread", "clearance"),
        METAL_STOP: ("torque", "thread", "gland"),
        RADIAL: ("gland", "clearance"),
    }[joint]
    for name in needed:
        if name not in values:
            report.add(f"{place}.{name}", "missing", f"a joint of this kind needs it: {name} = {_SEAL_EXAMPLES[name]}")
    if joint == NO_STOP and "gland" in values:
        report.add(f"{place}.gland", "is of a joint with a stop", f'joint = "{METAL_STOP}", or leave it out')
    for one, other in (("permeability", "diffusivity"), ("diffusivity", "permeability"), ("age", "set_time")):
        if one in values and other not in values:
            report.add(f"{place}.{other}", "missing", f"{one} and {other} come together")
    if "set_time" in values and "age" not in values:
        report.add(f"{place}.age", "missing", "age and set_time come together")
    if "set_time" in values and "set_share" not in values:
        report.add(f"{place}.set", "missing", 'the set after set_time, set = "15 %"')
    _ring_fits(values, place, context)
    if len(report.faults) > before:
        return
    if joint != RADIAL and f"{place}.nut_factor" not in context.spreads:
        context.spread(f"{place}.nut_factor", FACTOR_TWO, "log", keys_of(Seal)["nut_factor"][1])
    fit = sealing.fitted(Seal(**values))
    if fit.squeeze > ring.MOST_SQUEEZE:
        found = f"squeezes the ring by {100.0 * fit.squeeze:.0f} %"
        right = f"at most {100.0 * ring.MOST_SQUEEZE:.0f} %: less of it, or a joint with a metal stop"
        report.add(f"{place}.{'gland' if joint == RADIAL else 'torque'}", found, right)
        return
    context.assume(place, sealing.summary(fit), sealing.ASSUMPTION)


_SEAL_EXAMPLES = {"torque": '"5 N m"', "thread": '"6 mm"', "clearance": '"0.1 mm"', "gland": '"2.1 mm"'}
_LEAST_RING = 1.5
"""mean diameter of a ring over its section"""


def _ring_fits(values: Values, place: str, context: Context) -> None:
    """Geometry that cannot be: a ring without a hole, a groove as deep as the ring or far too shallow or narrow."""
    section, gland, width = values["section"], values.get("gland"), values.get("width")
    shown = f"{section * 1e3:.4g} mm"
    if values["diameter"] < _LEAST_RING * section:
        found = f"{values['diameter'] * 1e3:.4g} mm is no ring of section {shown}"
        context.report.add(f"{place}.diameter", found, f"more than {_LEAST_RING * section * 1e3:.4g} mm")
    if gland is None:
        return
    least = (1.0 - ring.MOST_SQUEEZE) * section
    if gland >= section:
        found = f"{gland * 1e3:.4g} mm is as deep as the ring, {shown}: nothing is squeezed"
        context.report.add(f"{place}.gland", found, f"{least * 1e3:.4g} mm to less than {shown}")
    elif gland < least:
        found = f"{gland * 1e3:.4g} mm squeezes the ring by {100.0 * (1.0 - gland / section):.0f} %"
        context.report.add(f"{place}.gland", found, f"at least {least * 1e3:.4g} mm")
    elif width is not None and ring.fill(section, width, gland) > 1.0:
        found = f"a ring of {shown} fills {100.0 * ring.fill(section, width, gland):.0f} % of that groove"
        context.report.add(f"{place}.width", found, "a wider groove; 85 % filled is common practice")
