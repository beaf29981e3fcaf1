"""The valley of the torque belongs to the joint without a stop; a stopped joint has a plateau, a radial one no torque.

Claim: where nothing but the ring stands against the nut, the same ring at 6 bar gauge leaks little only within a band
of torque: below it the face is open, above it the ring's edge is bitten. The band is hardly wider than the scatter of
a thread, a factor of two. Where metal faces meet, all torque beyond that point goes into spare clamp force, which
stops no further leak and says at which pressure the faces part. Round a plug in its bore the squeeze is the
geometry's.

Squeeze, contact and lift-off are published laws; the height of every curve is a stated teaching assumption.

    python studies/06_torque_of_three_joints.py [--quick] [--out FOLDER]

prints the table (recorded in 06_torque_of_three_joints.txt beside this file) and, with --out, saves its figure there.
"""

import dataclasses
from pathlib import Path

import numpy as np
import showing

import simcal
from simcal.bench import sealing
from simcal.bench.leaking import seal_rates
from simcal.physics.joint import nut_factor

BENCH = simcal.load(showing.CONFIGS / "seals-6bar.toml")
GAUGE = 6e5
TORQUES = (0.01, 0.02, 0.05, 0.1, 0.15, 0.2, 0.3, 0.5, 0.7, 1.0, 1.5, 2.0)
QUICK = 4
"""rows of the reduced run: every fourth of the table"""
KEEN, DULL = (nut_factor(pitch=1.75e-3, flank=10.863e-3, head=16e-3, thread=12e-3, friction=mu) for mu in (0.08, 0.20))
"""nut factors of an M12 nut, greased and dry (VDI 2230-1)"""
RUBBER = {"permeability": 4.4615e-16, "diffusivity": 3e-11}
JOINTS = {
    "no stop": {"joint": "no stop", "gland": None},
    "metal stop": {"joint": "metal stop", "gland": 2.08e-3},
    "radial": {"joint": "radial", "gland": 2.15e-3},
}


def leak(name: str, torque: float, factor: float = 0.2) -> float:
    """What leaks past the ring in a joint, mol/s."""
    ring = dataclasses.replace(BENCH.seals["nut"], torque=torque, nut_factor=factor, **JOINTS[name], **RUBBER)
    bench = dataclasses.replace(BENCH, seals={"one": ring})
    return sum(seal_rates(bench, "one", BENCH.room.barometer + GAUGE).values())


def parts_at(torque: float) -> float:
    """Gauge pressure at which the stopped joint parts, bar."""
    ring = dataclasses.replace(BENCH.seals["nut"], torque=torque, **JOINTS["metal stop"])
    return sealing.fitted(ring).lifts_at / 1e5


def table(torques: tuple[float, ...]) -> str:
    lines = [f"{'leak at 6 bar gauge, pmol/s':28} " + " ".join(f"{name:>11}" for name in JOINTS) + "  parts at, bar"]
    for torque in torques:
        rates = " ".join(f"{1e12 * leak(name, torque):11.1f}" for name in JOINTS)
        lines.append(f"{f'torque {torque:g} N m':28} {rates}  {parts_at(torque):13.1f}")
    return "\n".join(lines)


def figure(folder: Path) -> None:
    torques = np.geomspace(0.005, 2.5, 90)
    drawn, axes = showing.pyplot().subplots(figsize=(6.3, 4.0), layout="constrained")
    looks = {"no stop": ("black", "-", 2.0), "metal stop": ("#2b6a94", "--", 2.0), "radial": ("0.45", ":", 2.5)}
    for name, (colour, dashes, width) in looks.items():
        axes.loglog(torques, [leak(name, t) for t in torques], dashes, color=colour, linewidth=width, label=name)
    band = np.array([[leak("no stop", t, factor) for t in torques] for factor in np.geomspace(KEEN, DULL, 9)])
    axes.fill_between(
        torques, band.min(axis=0), band.max(axis=0), facecolor="0.88", edgecolor="0.6", hatch="////", linewidth=0.0,
        label=f"no stop, nut factor {KEEN:.2f} to {DULL:.2f}", zorder=0,
    )  # fmt: skip
    for words, torque, rate in (("face open", 0.0055, 2e-9), ("edge bitten", 1.0, 2e-9), ("faces meet", 0.9, 1.7e-11)):
        axes.text(torque, rate, words, fontsize="small")
    axes.set_xlabel("torque on the nut, N m")
    axes.set_ylabel("leak at 6 bar gauge, mol/s")
    axes.set_xlim(torques[0], torques[-1])
    axes.secondary_yaxis("right", functions=(lambda n: n / 7.435839e-7, lambda q: q * 7.435839e-7)).set_ylabel(
        "sccm (0 °C)"
    )
    axes.grid(color="0.88", linewidth=0.5)
    axes.legend(loc="upper center", frameon=True, framealpha=1.0, fontsize="small")
    axes.set_title("Mechanism only: a stated teaching assumption, nothing measured", fontsize="small", loc="left")
    showing.save(drawn, folder, __file__)


def made(quick: bool) -> showing.Made:
    return table(TORQUES[:: QUICK if quick else 1]), figure


if __name__ == "__main__":
    showing.run(__doc__, f"every {QUICK}th row only", made)
