"""Broken benches, third part: seals, of geometry that cannot be and of joints that lack something."""

from tests.files.broken import Broken

FACE = """
[seal.face]
at = "port"
joint = "metal stop"
diameter = "25 mm"
section = "2.62 mm"
gland = "2.08 mm"
width = "3.56 mm"
torque = "5 N m"
thread = "6 mm"
screws = 2
"""
NUT = """
[seal.face]
at = "port"
joint = "no stop"
diameter = "14 mm"
section = "2.62 mm"
torque = "0.3 N m"
thread = "12 mm"
clearance = "0.1 mm"
"""


def face(old: str, new: str, key: str, text: str, whole: str = FACE) -> Broken:
    """The good bench with a seal in which `old` became `new` (or was added, when `old` is empty)."""
    assert old in whole
    return Broken("", whole.replace(old, new, 1) if old else f"{whole}{new}\n", f"seal.face.{key}", text)


BAD_SEALS = [
    face('at = "port"', 'at = "prt"', "at", 'there is no volume "prt"; did you mean "port"?'),
    face('at = "port"', 'at = "port"\nto = "port"', "to", "leaks into itself"),
    face('joint = "metal stop"\n', "", "joint", 'missing; add joint = "no stop" or "metal stop" or "radial"'),
    face('"metal stop"', '"metal stopp"', "joint", 'did you mean "metal stop"?'),
    face('"metal stop"', '"radial"', "clearance", "missing; a joint of this kind needs it: clearance ="),
    face('gland = "2.08 mm"\n', "", "gland", "missing; a joint of this kind needs it: gland ="),
    face('torque = "5 N m"\n', "", "torque", "missing; a joint of this kind needs it: torque ="),
    face('thread = "6 mm"\n', "", "thread", "missing; a joint of this kind needs it: thread ="),
    face(
        '"2.08 mm"', '"2.62 mm"', "gland", "2.62 mm is as deep as the ring, 2.62 mm: nothing is squeezed; 1.048 mm to"
    ),
    face('"2.08 mm"', '"4 mm"', "gland", "4 mm is as deep as the ring, 2.62 mm: nothing is squeezed"),
    face('"2.08 mm"', '"0.5 mm"', "gland", "0.5 mm squeezes the ring by 81 %; at least 1.048 mm"),
    face('"2.08 mm"', '"-2 mm"', "gland", "is outside 0.2 mm..12 mm"),
    face('"3.56 mm"', '"2.5 mm"', "width", "a ring of 2.62 mm fills 104 % of that groove; a wider groove"),
    face('"25 mm"', '"3 mm"', "diameter", "3 mm is no ring of section 2.62 mm; more than 3.93 mm"),
    face('"2.62 mm"', '"0 mm"', "section", "is outside 0.5 mm..12 mm"),
    face('"5 N m"', '"-5 N m"', "torque", "is outside 0 N m..2000 N m"),
    face('"5 N m"', '"5 Nm"', "torque", 'unknown unit "Nm"; did you mean "N m"?'),
    face('"5 N m"', '"5 J"', "torque", "is in units of energy; a torque is wanted"),
    face("screws = 2", "screws = 0", "screws", "0 is outside 1..64"),
    face("", "hardness = 20", "hardness", "20 is outside 40..95"),
    face("", "nut_factor = 3", "nut_factor", "3 is outside 0.05..1"),
    face("", 'nick = "-5 um"', "nick", "is outside 0 mm..1 mm"),
    face("", 'set = "120 %"', "set", "is outside 0 %..95 %"),
    face("", 'set = "15 %"\nage = "1000 h"', "set_time", "missing; age and set_time come together"),
    face("", 'set = "15 %"\nset_time = "1000 h"', "age", "missing; age and set_time come together"),
    face("", 'age = "9000 h"\nset_time = "1000 h"', "set", 'missing; the set after set_time, set = "15 %"'),
    face("", 'permeability = "1 barrer"', "diffusivity", "missing; permeability and diffusivity come together"),
    face("", 'diffusivity = "1e-10 m2/s"', "permeability", "missing; diffusivity and permeability come together"),
    face("", 'squeeze = "-10 %"', "squeeze", "unknown key"),
    face("", 'gland = "2.08 mm"', "gland", 'is of a joint with a stop; joint = "metal stop", or leave it out', NUT),
    face('clearance = "0.1 mm"\n', "", "clearance", "missing; a joint of this kind needs it", NUT),
    face('"0.3 N m"', '"30 N m"', "torque", "squeezes the ring by 8", NUT),
]
