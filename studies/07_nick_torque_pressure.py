"""Torque tells a nicked ring from a loose one, and pressure tells it from a weak one.

Claim: more torque cures a loose joint by orders of magnitude, and a nick hardly at all: it only narrows it. And a
ring that barely touches leaks at low pressure and is closed by a higher one, because the ring passes pressure on to
its face, while the leak of a nick grows with pressure. A check at a few bar meets the weak ring, one at 60 bar misses
it; at a still higher pressure it lifts off. A stopped joint with too little clamp force is tight until its faces have
parted so far that the ring is drawn into the gap: that is met at high pressure only.

Squeeze, contact and lift-off are published laws; the height of every curve is a stated teaching assumption.

    python studies/07_nick_torque_pressure.py [--quick] [--out FOLDER]

prints the table (recorded in 07_nick_torque_pressure.txt beside this file) and, with --out, saves its figure there.
"""

import dataclasses
from pathlib import Path

import numpy as np
import showing

import simcal
from simcal.bench.leaking import seal_rates

BENCH = simcal.load(showing.CONFIGS / "seals-6bar.toml")
NUT, COVER = BENCH.seals["nut"], BENCH.seals["cover"]
RUBBER = {"permeability": 4.4615e-16, "diffusivity": 3e-11}
GOOD = dataclasses.replace(NUT, clearance=0.05e-3, **RUBBER)
FRESH = dataclasses.replace(COVER, set_share=0.0, set_time=None, age=None)
RINGS = {
    "good": GOOD,
    "weak, 0.003 N m": dataclasses.replace(GOOD, torque=0.003),
    "nick 5 um": dataclasses.replace(GOOD, nick=5e-6),
    "nick 15 um": dataclasses.replace(GOOD, nick=15e-6),
    "stopped, 0.5 N m": dataclasses.replace(FRESH, torque=0.5),
}
TORQUES = (0.02, 0.05, 0.1, 0.2, 0.3)
PRESSURES = (0.5, 2.0, 6.0, 20.0, 60.0)
QUICK = 2
"""rings of the reduced run, the first and every second after it"""


def leak(ring, gauge_bar: float) -> float:
    """What leaks past a ring, mol/s."""
    bench = dataclasses.replace(BENCH, seals={"one": ring})
    return sum(seal_rates(bench, "one", BENCH.room.barometer + 1e5 * gauge_bar).values())


def table(step: int) -> str:
    lines = [f"{'leak by gauge pressure':26} pmol/s at {', '.join(f'{p:g}' for p in PRESSURES)} bar"]
    for name in list(RINGS)[::step]:
        lines.append(f"{name:26} " + " ".join(f"{1e12 * leak(RINGS[name], p):12.1f}" for p in PRESSURES))
    lines.append(f"{'leak by torque, 6 bar':26} pmol/s at {', '.join(f'{t:g}' for t in TORQUES)} N m")
    for nick in (0.0, 5e-6, 15e-6)[::step]:
        rings = [dataclasses.replace(GOOD, nick=nick, torque=t) for t in TORQUES]
        rates = " ".join(f"{1e12 * leak(ring, 6.0):12.1f}" for ring in rings)
        lines.append(f"{f'torque, nick {1e6 * nick:g} um':26} {rates}")
    return "\n".join(lines)


def figure(folder: Path) -> None:
    drawn, (left, right) = showing.pyplot().subplots(1, 2, figsize=(7.2, 3.6), layout="constrained", sharey=True)
    torques = np.geomspace(0.003, 0.37, 60)
    looks = {"whole": ("black", "-", 0.0), "nick 5 µm": ("0.4", "--", 5e-6), "nick 15 µm": ("#2b6a94", "-.", 15e-6)}
    for name, (colour, dashes, nick) in looks.items():
        rates = [leak(dataclasses.replace(GOOD, nick=nick, torque=t), 6.0) for t in torques]
        left.loglog(torques, rates, dashes, color=colour, linewidth=2.0, label=name)
    left.set_xlabel("torque on the nut, N m")
    left.set_ylabel("leak, mol/s")
    left.set_title("6 bar gauge", fontsize="small")
    pressures = np.geomspace(0.2, 200.0, 90)
    styles = (("black", "-"), ("0.55", ":"), ("0.4", "--"), ("#2b6a94", "-."), ("black", (0, (5, 1, 1, 1, 1, 1))))
    for (name, ring), (colour, dashes) in zip(RINGS.items(), styles, strict=True):
        right.loglog(
            pressures, [leak(ring, p) for p in pressures], linestyle=dashes, color=colour, linewidth=2.0,
            label=name.replace(" um", " µm"),
        )  # fmt: skip
    right.set_xlabel("pressure, bar gauge")
    right.set_title("0.25 N m, or as said", fontsize="small")
    right.set_ylim(1e-13, 1e-3)
    for axes in (left, right):
        axes.grid(color="0.88", linewidth=0.5)
    left.legend(loc="upper right", fontsize="x-small", frameon=True, framealpha=1.0)
    right.legend(loc="upper left", fontsize="x-small", frameon=True, framealpha=1.0)
    drawn.suptitle("Mechanism only: a stated teaching assumption, nothing measured", fontsize="small")
    showing.save(drawn, folder, __file__)


def made(quick: bool) -> showing.Made:
    return table(QUICK if quick else 1), figure


if __name__ == "__main__":
    showing.run(__doc__, f"every {QUICK}nd ring only", made)
