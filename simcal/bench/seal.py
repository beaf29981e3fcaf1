"""A rubber ring in a joint, as a bench file states it."""

from dataclasses import dataclass

from simcal.bench.meta import key

NO_STOP, METAL_STOP, RADIAL = "no stop", "metal stop", "radial"


@dataclass(frozen=True, kw_only=True)
class Seal:
    """A ring in one of three joints and its condition; what leaks past it is a stated teaching assumption."""

    at: str = key("node", "the volume it closes")
    to: str = key("node", 'where the gas goes: "room", or another volume', default="room", choices=("room",))
    joint: str = key(
        "choice",
        "only the ring stands against the screws; a groove whose faces meet; a ring round a plug in its bore",
        choices=(NO_STOP, METAL_STOP, RADIAL),
    )
    diameter: float = key("length", "mean diameter of the ring, taken as the sealed one", within="1 mm..1 m")
    section: float = key("length", "diameter of the ring's section", within="0.5 mm..12 mm")
    gland: float | None = key(
        "length", "what is left for the section when the joint is closed", default=None, within="0.2 mm..12 mm"
    )
    width: float | None = key(
        "length", "of the groove, to see that it takes the ring", default=None, within="0.3 mm..50 mm"
    )
    hardness: float = key("number", "of the rubber, Shore A", default=75.0, within="40..95", why="a common rubber")
    finish: float = key(
        "length", "depth of the face's roughness", default="1.6 um", within="0.05 um..20 um", why="a turned face"
    )
    clearance: float = key(
        "length", "gap behind the ring that pressure may draw it into", default="0 mm", within="0 mm..2 mm"
    )
    torque: float | None = key("torque", "on each screw or on the nut", default=None, within="0 N m..2000 N m")
    screws: int = key("integer", "how many, or 1 for a nut", default=1, within="1..64")
    thread: float | None = key("length", "nominal diameter of screw or nut", default=None, within="1 mm..500 mm")
    nut_factor: float = key(
        "ratio",
        "torque over force times thread; its default spread is a factor of two (95 %)",
        default="0.2",
        within="0.05..1",
        why="steel, oiled or plated; lubricants and platings reach from 0.1 to 0.4",
    )
    stiffness: float | None = key(
        "stiffness",
        "force that parts the faces over their distance",
        default=None,
        within="1 N/mm..1000 kN/mm",
        derived="from the screws",
    )
    nick: float = key("length", "depth of a cut across the ring", default="0 mm", within="0 mm..1 mm")
    dirt: float = key("length", "size of what lies across the ring", default="0 mm", within="0 mm..2 mm")
    set_share: float = key(
        "share",
        "compression set, now or after set_time: share of the squeeze that stays",
        default="0 %",
        within="0 %..95 %",
        name="set",
    )
    set_time: float | None = key("time", "after which that set was measured", default=None, within="1 h..1e6 h")
    age: float | None = key("time", "since the ring was squeezed", default=None, within="0 h..1e6 h")
    permeability: float | None = key(
        "permeability",
        "of the rubber for this gas, for what goes through the ring itself",
        default=None,
        within="0 mol/(m s Pa)..1e-9 mol/(m s Pa)",
    )
    diffusivity: float | None = key(
        "diffusivity", "of this gas in the rubber, for its lag", default=None, within="1e-13 m2/s..1e-6 m2/s"
    )
