"""Make the shipped records of holds, the class and its answers; the same files for the same engine.

Each is `simcal hold` on the shipped bench configs/holds-6bar.toml with what is listed here and a seed fixed
beforehand: what the bench states with a spread was drawn by the seed, and the about-file says only what somebody at
that bench would know. Run from anywhere:  python studies/make_records.py [--out FOLDER]
"""

import argparse
import json
import shlex
import shutil
import tempfile
from collections.abc import Sequence
from pathlib import Path

from simcal.cli import main

CONFIGS = Path(__file__).resolve().parent.parent / "configs"
BENCH = CONFIGS / "holds-6bar.toml"
PERMITTED = "0.05 sccm(0 degC)"
"""37 nmol/s at the pressure of the hold."""
KNOWN = ("room.barometer_drift=0.5 hPa/h", "room.cycle=0.05 K")
"""What this laboratory knows of its room beyond the bench file; every hold draws its own from these."""
CRITERION = 'criterion = { wait = "30 s", watch = "60 s", allowed_drop = "20 Pa", allowed_rise = "20 Pa" }\n'
"""The laboratory's own rule, which knows nothing of heat."""
FORM = 'columns = { time = "time_s", pressure = "pressure_Pa", time_unit = "s", unit = "Pa" }\n'


class Hold:
    """One hold: its seed, how it was reached, and the leak that nobody at the bench knows of."""

    def __init__(
        self, seed: int, leak: str, *sets: str, way: str = "below", soak: str = "60s", watch: str = "300s"
    ) -> None:
        self.seed, self.way, self.soak, self.watch = seed, way, soak, watch
        self.sets = (f"leak.fitting.rate={leak}", *KNOWN, *sets)

    def words(self) -> list[str]:
        """The command line after `simcal`."""
        asked = ["--pressure", "5 bar gauge", "--from", self.way, "--soak", self.soak, "--watch", self.watch]
        asked += ["--every", "1s", "--permitted-leak", PERMITTED, "--seed", str(self.seed), "--quiet"]
        return ["hold", str(BENCH), *asked, *(word for one in self.sets for word in ("--set", one))]


RECORDS = {
    "tight-hold-6bar": (
        Hold(101, "1e-9 mol/s", soak="120s", watch="900s"),
        "A tight hold of 15 minutes: nearly all of its drop is heat.",
    ),
    "leaking-hold-6bar": (
        Hold(102, "4e-7 mol/s"),
        "A hold with a leak ten times the permitted one, seen through the heat of the fill.",
    ),
    "undecided-hold-6bar": (
        Hold(103, "3.7e-8 mol/s"),
        "A hold with a leak at the limit itself: no honest judge can say more than what to do next.",
    ),
    "pair-below-6bar": (
        Hold(104, "1e-8 mol/s", soak="20s", watch="240s"),
        "One of two short holds of one vessel, come to from below: judge both with --together.",
    ),
    "pair-above-6bar": (
        Hold(104, "1e-8 mol/s", way="above", soak="20s", watch="240s"),
        "The other short hold of that vessel, come to from above: judge both with --together.",
    ),
}
CLASS = {
    "hold-1": Hold(201, "2e-9 mol/s", soak="10s"),
    "hold-2": Hold(202, "2.5e-7 mol/s", way="above", soak="20s"),
    "hold-3": Hold(203, "1.5e-9 mol/s", "volume.port.wall.warmer=1 K", watch="900s"),
    "hold-4": Hold(204, "1e-9 mol/s", "valve.inlet.seat=3e-7 mol/s", watch="900s"),
    "hold-5": Hold(205, "4.4e-8 mol/s", soak="10s"),
    "hold-6": Hold(206, "2e-7 mol/s", soak="120s", watch="600s"),
}
"""Heat alone, a leak behind heat that rises, a warm body, a passing inlet, a leak at the limit, a plain leak."""


def make(folder: Path, names: Sequence[str] = (*RECORDS, *CLASS)) -> None:
    """Write those of the given names below `folder`."""
    for name, (hold, line) in RECORDS.items():
        if name in names:
            simulated(hold, folder, name, line, 'hold_set = "pair"\n' if name.startswith("pair") else "")
    for name, hold in CLASS.items():
        if name in names:
            truth = simulated(hold, folder / "class", name, "A hold to be judged blind: leak, tight or undecided?")
            made_by = shlex.join(["simcal", "hold", BENCH.name, *hold.words()[2:]])
            text = json.dumps({"record": f"{name}.csv", "truth": truth, "made_by": made_by}, indent=1) + "\n"
            (folder / "class-answers").mkdir(exist_ok=True)
            (folder / "class-answers" / f"{name}.json").write_text(text, encoding="ascii")


def simulated(hold: Hold, folder: Path, name: str, line: str, more: str = "") -> dict[str, float]:
    """Write NAME.csv and NAME.toml; what is true of the hold."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as room:
        place = Path(room) / "out"
        if main([*hold.words(), "--out", str(place)]) != 0:
            raise SystemExit(f"{name} could not be made")
        shutil.copyfile(place / "record.csv", folder / f"{name}.csv")
        told = (place / "record.toml").read_text(encoding="utf-8").splitlines(keepends=True)[1:]
        where = "recorded on Quillmoor bench 10 (invented; see holds-6bar.toml)"
        head = f"# {line}\n# What is known about {name}.csv, {where}.\n"
        (folder / f"{name}.toml").write_text(head + "".join(told) + FORM + CRITERION + more, encoding="utf-8")
        truth = json.loads((place / "result.json").read_text(encoding="ascii"))["truth"]
    return {key: truth[key] for key in ("leak_mol_per_s", "permitted_mol_per_s")}


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--out", type=Path, default=CONFIGS, help="where the three folders are written")
    make(parser.parse_args().out)
