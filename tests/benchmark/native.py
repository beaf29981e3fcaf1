"""The yardstick in C: compiled here, fed with the numbers of the engine's own network, controller and gas table."""

from __future__ import annotations

import ctypes
import shutil
import subprocess
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from simcal.engine import box, loop, rosenbrock, simulate, slow
from simcal.engine.arrays import B_CSTAR, B_ENTHALPY, B_PRESSURE, B_TEMPERATURE, B_VISCOSITY, B_Z

SOURCE = Path(__file__).with_name("yardstick.c")
FLAGS = (["-O3", "-march=native"], ["-O3"])  # the first that the compiler takes
Doubles = np.ctypeslib.ndpointer(np.float64, flags="C_CONTIGUOUS")
Longs = np.ctypeslib.ndpointer(np.int64, flags="C_CONTIGUOUS")


@dataclass(frozen=True)
class Answer:
    """A run: trace [samples, 4] pressures, gauge, drive; mass and energy by edge, heat; seconds of computing."""

    trace: np.ndarray
    totals: np.ndarray
    seconds: float
    maps: int
    in_steps: int


def compiler() -> str | None:
    """A C compiler's path, None where there is none."""
    return next((found for name in ("cc", "gcc", "clang") if (found := shutil.which(name))), None)


class Native:
    """The compiled library; `run` gives the trace of a yardstick system under a list of targets (Pa abs)."""

    def __init__(self, folder: Path, cc: str) -> None:
        library = folder / "yardstick.so"
        for flags in FLAGS:
            command = [cc, *flags, "-shared", "-fPIC", str(SOURCE), "-o", str(library), "-lm"]
            done = subprocess.run(command, capture_output=True, text=True, check=False)
            if done.returncode == 0:
                break
        else:
            raise RuntimeError(f"the C compiler failed: {done.stderr}")
        self.flags = " ".join(flags)
        self._library = ctypes.CDLL(str(library))
        self._library.yardstick.argtypes = [Doubles] * 4 + [ctypes.c_int] * 2 + [Doubles] * 3 + [Longs]

    def run(self, system: simulate.System, targets: np.ndarray, samples: int) -> Answer:
        """From rest; `samples` per target. The same noise as the engine's first stream where the controller has any."""
        numbers = bench_numbers(system)
        if self._library.size_of_bench() != len(numbers):
            raise RuntimeError("yardstick.c and native.py do not agree about the numbers of a bench")
        method = np.concatenate([
            rosenbrock.STAGE.ravel(), rosenbrock.COUPLE.ravel(), rosenbrock.WEIGHT, rosenbrock.ERROR
        ])  # fmt: skip
        x, totals = simulate.begin(system).x[:-1].copy(), np.zeros(9)  # without the room, which stays as it is
        out, counts = np.empty((len(targets) * samples, 4)), np.zeros(2, np.int64)
        started = time.process_time()
        legs = self._library.yardstick(
            numbers,
            system.table.coef,
            method,
            np.asarray(targets, float),
            len(targets),
            samples,
            x,
            totals,
            out,
            counts,
        )
        seconds = time.process_time() - started
        if legs != len(targets):
            raise RuntimeError("the C version left the gas table")
        return Answer(out, totals, seconds, int(counts[0]), int(counts[1]))


def bench_numbers(system: simulate.System) -> np.ndarray:
    """The numbers of `Bench` in yardstick.c, in their order."""
    net, table, ctl = system.net, system.table, system.controller
    rows = [B_PRESSURE, B_TEMPERATURE, B_ENTHALPY, B_Z, B_VISCOSITY, B_CSTAR]
    film = net.node_film
    return np.concatenate([
        [table.r, table.molar_mass, table.gamma0],
        [table.drho, table.s0, table.ds, table.rho_max, table.T_min, table.T_max, table.n_rho, table.n_s],
        net.bound[0, rows], net.bound[1, rows],
        net.node_par[:, 0], net.node_par[:, 1], net.node_par[:, 2], film[:, 1] * film[:, 3] * film[:, 4],
        net.edge_par[0, :2], net.edge_par[1, :2], net.edge_par[2, :3], net.edge_par[3, :1],
        net.gauge_lag, net.valve_lag, ctl.scale[:3], ctl.gains[:7],
        [box.SPAN, box.PRESSURE, box.KELVIN, box.KELVIN_LEAST, box.FILM, box.OPENING, box.DIFFERENCE, box.STRAIGHT],
        [box.LAMINAR, loop.LIVES, loop.FINE, loop.FINE_SHARE, loop.NOISE_SHARE, loop.FORGET, loop.SELDOM, loop.TORN],
        [simulate.STEP_TOLERANCE * ctl.scale[1], loop.STEP_SHARE, rosenbrock.LEAST, slow.SLOW_STEP, 1.0],
    ])  # fmt: skip
