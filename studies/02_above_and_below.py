"""From above the heat changes its sign and the leak keeps its own.

Claim: on the bench for holds, right after a move, gas that cools makes the pressure of a tight volume fall when it was
reached from below and rise when it was reached from above. A leak makes it fall both times, by the same. So two holds,
one from each side, say what is leak without waiting for the heat, if both are modelled: their plain mean is not the
leak, because the two moves are not mirror images of each other.

Why: compression leaves gas and body warmer than the room, expansion leaves them colder; a hole does not know what came
before. Up goes through the smaller valve, so the gas loses more of its heat on the way.

    python studies/02_above_and_below.py [--quick] [--out FOLDER]

prints the table (recorded beside this file) and, with --out, saves its figure there.
"""

import argparse
from pathlib import Path

import simcal
from simcal.analysis.hold import HoldResult
from simcal.bench.values import Level

HERE = Path(__file__).resolve().parent
BENCH = HERE.parent / "configs" / "holds-6bar.toml"
SURE = [
    *(f"{key}={value}" for key, value in {
        "room.drift": "0 K/h", "sensor.reference.drift": "0 Pa/h", "sensor.reference.zero_shift": "0 Pa/K",
        "sensor.reference.noise": "0 Pa", "sensor.reference.resolution": "0 Pa",
        "volume.manifold.capacity": "20 cm3", "volume.port.capacity": "100 cm3",
        "volume.manifold.wall.film_factor": 1, "volume.port.wall.film_factor": 1,
    }.items()),
]  # fmt: skip
"""nothing is left to be drawn: what differs is what is changed here"""

HOLDS: dict[str, tuple[str, str]] = {
    "tight, from below": ("0 mol/s", "below"),
    "tight, from above": ("0 mol/s", "above"),
    "leak, from below": ("5e-8 mol/s", "below"),
    "leak, from above": ("5e-8 mol/s", "above"),
}
QUICK = 4
"""rows of the reduced run: all"""
SOAK, WATCH, PRESSURE = 30.0, 300.0, 3e5

Row = tuple[str, HoldResult]


def held(name: str) -> Row:
    rate, side = HOLDS[name]
    bench = simcal.load(BENCH, [*SURE, f"leak.fitting.rate={rate}"])
    level = Level(PRESSURE, True)
    return name, simcal.hold(bench, pressure=level, soak_s=SOAK, watch_s=WATCH, direction=side)


def table(rows: list[Row]) -> str:
    lines = [f"{'3 bar gauge, 5 min':22} {'leak Pa':>9} {'thermal Pa':>11} {'change Pa':>10}"]
    for name, one in rows:
        parts = one.truth.parts_Pa
        leak = parts["leak"] if abs(parts["leak"]) > 0.05 else 0.0
        lines.append(f"{name:22}  {leak:8.1f}   {parts['thermal']:10.1f}   {one.truth.change_Pa:8.1f}")
    return "\n".join(lines)


def figure(rows: list[Row], folder: Path) -> Path:
    import matplotlib

    matplotlib.use("Agg")
    matplotlib.rcParams["svg.hashsalt"] = "simcal"
    from matplotlib import pyplot

    styles = {
        "tight, from below": {"color": "#0a5a8c", "linestyle": "-"},
        "tight, from above": {"color": "#0a5a8c", "linestyle": (0, (6, 1.5))},
        "leak, from below": {"color": "#c2560a", "linestyle": "-", "linewidth": 2.4},
        "leak, from above": {"color": "#c2560a", "linestyle": (0, (6, 1.5)), "linewidth": 2.4},
    }
    drawn, axes = pyplot.subplots(figsize=(6.3, 3.4), layout="constrained")
    for name, one in rows:
        watch = one.truth.times_s >= one.watch_from_s - 1e-9
        time, true = one.truth.times_s[watch], one.truth.pressure_Pa[watch]
        axes.plot((time - time[0]) / 60.0, true - true[0], label=name, **styles[name])
    axes.axhline(0.0, color="0.5", linewidth=0.7)
    axes.set_xlabel("time from shutting the valves, min")
    axes.set_ylabel("change of the pressure, Pa")
    axes.grid(color="0.85", linewidth=0.5)
    drawn.legend(loc="outside upper left", ncols=2, frameon=False, handlelength=4)
    path = folder / "02_above_and_below.svg"
    drawn.savefig(path, metadata={"Date": None})
    pyplot.close(drawn)
    return path


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--quick", action="store_true", help=f"the first {QUICK} rows only")
    parser.add_argument("--out", type=Path, help="folder for the figure")
    asked = parser.parse_args()
    rows = [held(name) for name in list(HOLDS)[: QUICK if asked.quick else None]]
    print(table(rows))
    if asked.out is not None:
        asked.out.mkdir(parents=True, exist_ok=True)
        figure(rows, asked.out)


if __name__ == "__main__":
    main()
