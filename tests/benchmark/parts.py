"""What is measured: every part is a function that prints its lines and returns figures for the history.

Times are of the process's own work where one process does it (the machine may be shared) and by the clock otherwise.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from simcal.engine import simulate
from simcal.engine.simulate import CONTROL, Command
from tests.benchmark import native, solver
from tests.engine import networks
from tests.hold_files import LEAK, SLIGHT, TIGHT, written

FULL, ROOM_PA = 2e6, 101325.0
SAMPLES = 30_000  # 300 s at each of the 21 setpoints
SETPOINTS = [i / 10 for i in range(11)] + [i / 10 for i in range(9, -1, -1)]
TARGETS = ROOM_PA + FULL * np.array(SETPOINTS)
NOISE = 2e-6 * FULL
BENCH = Path(__file__).parents[2] / "configs" / "hard-piped-6bar.toml"
PULSE_S = 1e-3
Figures = dict[str, float]


def say(text: str, target: str = "") -> None:
    """One line, with what it should be."""
    print(f"  {text:<80} {target}".rstrip(), flush=True)


def spent(work: Callable[[], object]) -> float:
    """Seconds of this process's computing."""
    started = time.process_time()
    work()
    return time.process_time() - started


def clocked(work: Callable[[], object]) -> float:
    """Seconds by the clock."""
    started = time.perf_counter()
    work()
    return time.perf_counter() - started


def engine_run(system: simulate.System, samples: int = SAMPLES, noise: bool = True) -> list[simulate.Trace]:
    """The 21-point run from rest."""
    state, traces = simulate.begin(system), []
    for target in TARGETS:
        state, trace = simulate.advance(system, state, Command(CONTROL, float(target), noise), samples)
        if trace.reason is not None:
            raise RuntimeError(trace.reason)
        traces.append(trace)
    return traces


def equal_to_native(samples: int, folder: Path, cc: str) -> float:
    """Largest difference between the engine's and the C version's pressures over the run, as a share of full scale."""
    system = networks.yardstick(noise=NOISE)
    found = np.concatenate([trace.pressure_Pa for trace in engine_run(system, samples)])
    right = native.Native(folder, cc).run(system, TARGETS, samples).trace[:, :2]
    return float(np.abs(found - right).max()) / FULL


def run(repeats: int) -> Figures:
    """The 21-point run against the C version, in turns."""
    system = networks.yardstick(noise=NOISE)
    engine_run(system, 300)
    cc, ours, theirs = native.compiler(), [], []
    with tempfile.TemporaryDirectory() as folder:
        other = native.Native(Path(folder), cc) if cc else None
        for _ in range(repeats):
            if other:
                theirs.append(other.run(system, TARGETS, SAMPLES).seconds)
            ours.append(spent(lambda: engine_run(system)))
        apart = equal_to_native(SAMPLES, Path(folder), cc) if cc else float("nan")
    figures = {"run_s": statistics.median(ours)}
    say(f"21 setpoints, 6300 s, 630,000 samples: {figures['run_s']:.3f} s", "(target 0.3 s)")
    if other is None:
        say("no C compiler here: the C version is left out")
        return figures
    ratios = [a / b for a, b in zip(ours, theirs, strict=True)]
    figures |= {"c_s": statistics.median(theirs), "engine_over_c": statistics.median(ratios), "apart": apart}
    say(
        f"the same in C ({other.flags}): {figures['c_s']:.3f} s; traces {apart:.1e} of full scale apart", "(limit 1e-7)"
    )
    say(f"engine / C: {figures['engine_over_c']:.2f}", "(target 1.3)")
    return figures


def general_solver(repeats: int) -> Figures:
    """A general stiff solver restarted at each sample: 20 s after a step, of which the last 10 s count."""
    system = networks.yardstick(noise=NOISE)
    engine_run(system, 300)
    ours = statistics.median(spent(lambda: engine_run(system)) for _ in range(repeats))
    target, figures = float(TARGETS[1]), {}
    _, trace = simulate.advance(system, simulate.begin(system), Command(CONTROL, target), 2000)
    for name, rates in (("scipy", solver.Real(system)), ("scipy_ideal", solver.Ideal())):
        solved = solver.solve(rates, system, target, 20.0)
        whole = (solved.spent[-1] - solved.spent[1000]) / 999 * SAMPLES * len(TARGETS)
        apart = np.abs(solved.gauge - trace.gauge_Pa[:, 0]).max() / FULL
        figures[f"{name}_over_engine"] = whole / ours
        law = "the engine's laws" if name == "scipy" else "an ideal gas in plain numbers"
        say(f"LSODA, {law}: {whole:.0f} s for the run; {apart:.0e} of full scale apart")
    say(f"LSODA / engine: {figures['scipy_over_engine']:.0f}", "(target 3000)")
    say(f"LSODA on an ideal gas / engine on the real one: {figures['scipy_ideal_over_engine']:.0f}")
    return figures


def pulsed(repeats: int) -> Figures:
    """The run with pulsed valves, every pulse at least 1 ms, and with pulses of any length."""
    figures = {}
    for name, shortest in (("pulsed_s", PULSE_S), ("pulsed_any_s", 0.0)):
        system = networks.yardstick(noise=NOISE, pulse=(1.0, 1.0, shortest, shortest))
        net = system.net._replace(valve_lag=np.full(2, np.inf))
        system = simulate.System(net, system.table, system.controller, system.names, system.start_Pa)
        engine_run(system, 300)
        figures[name] = statistics.median(spent(lambda s=system: engine_run(s)) for _ in range(max(1, repeats // 3)))
        say(f"pulses of {shortest * 1e3:g} ms and longer: {figures[name]:.2f} s", "(target 5 s)")
    return figures


def trials(_repeats: int) -> Figures:
    """`simcal settle --trials 200` on the first bench, without starting a process."""
    from simcal.analysis.settle.settle import settle
    from simcal.files.bench_file import load_bench

    bench = load_bench(BENCH)
    settle(bench, trials=2)
    once = clocked(lambda: settle(bench))
    seconds = clocked(lambda: settle(bench, trials=200))
    say(f"settle {BENCH.name}: {once:.2f} s; with 200 trials {seconds:.1f} s by the clock", "(target 30 s, 2 cores)")
    return {"settle_s": once, "trials_s": seconds}


def _hold_system(rng: np.random.Generator) -> tuple[simulate.System, simulate.State]:
    """The yardstick with a drawn leak, volume, film, pressure and temperatures."""
    base = networks.yardstick()
    net, volume, film = base.net, rng.uniform(0.5, 2.0), rng.uniform(0.7, 1.4)
    edge_par, node_par, node_film = net.edge_par.copy(), net.node_par.copy(), net.node_film.copy()
    edge_par[3, 0] *= 10 ** rng.normal(0.0, 0.7)
    node_par[:, 0] *= volume
    node_film[:, 3] *= film
    net = net._replace(edge_par=edge_par, node_par=node_par, node_film=node_film)
    start = np.full(2, rng.uniform(0.3e6, 2.1e6))
    system = simulate.System(net, base.table, base.controller, base.names, start)
    state = simulate.begin(system)
    x = state.x.copy()
    x[2:4] *= 1.0 + rng.normal(0.0, 5.0) / 293.15
    x[4:6] += rng.normal(0.0, 0.5)
    return system, simulate.State(x, state.totals, state.memory)


def trajectories(repeats: int) -> Figures:
    """Isolated holds of 120 s with 1,201 values: time against their number."""
    rng, times = np.random.default_rng(0), np.linspace(0.0, 120.0, 1201)
    drawn = [_hold_system(rng) for _ in range(1000)]

    def hold(count: int) -> None:
        for system, state in drawn[:count]:
            simulate.hold(system, state, times)

    hold(2)
    seconds = {n: statistics.median(spent(lambda n=n: hold(n)) for _ in range(repeats)) for n in (125, 250, 500, 1000)}
    for count, value in seconds.items():
        say(f"{count} holds of 120 s: {value:.3f} s, {value / count * 1e6:.0f} us each")
    even = seconds[1000] / seconds[125] / 8.0
    say(f"eight times as many holds take {8.0 * even:.2f} times as long", "(linear: 8)")
    return {"holds_1000_s": seconds[1000], "holds_growth": 8.0 * even}


def _microseconds(system: simulate.System, repeats: int) -> tuple[float, float]:
    """A sample's cost while slewing and once quiet."""
    start, order = simulate.begin(system), Command(CONTROL, float(TARGETS[3]))
    simulate.advance(system, start, order, 10)
    state, _ = simulate.advance(system, start, order, 6000)
    slewing = statistics.median(spent(lambda: simulate.advance(system, start, order, 300)) for _ in range(repeats))
    quiet = statistics.median(spent(lambda: simulate.advance(system, state, order, 6000)) for _ in range(repeats))
    return slewing / 300 * 1e6, quiet / 6000 * 1e6


def nodes(repeats: int) -> Figures:
    """Microseconds a sample, slewing and quiet, with the test volume cut into more and more parts."""
    figures = {}
    for count in (2, 4, 8, 16, 32):
        slewing, quiet = _microseconds(networks.yardstick(count), repeats)
        figures |= {f"slew_us_{count}": slewing, f"quiet_us_{count}": quiet}
        say(f"{count} volumes: {slewing:.1f} us a sample slewing, {quiet:.2f} us quiet")
    return figures


def _process(arguments: list[str], cache: Path, answers: tuple[int, ...] = (0,)) -> float:
    """Seconds of a whole `simcal` process, which must end with one of these codes."""
    environment = os.environ | {"SIMCAL_CACHE_DIR": str(cache)}
    command = [sys.executable, "-m", "simcal", *arguments]

    def work() -> None:
        done = subprocess.run(command, check=False, capture_output=True, env=environment)
        if done.returncode not in answers:
            raise RuntimeError(done.stderr.decode(errors="replace"))

    return clocked(work)


def processes(repeats: int) -> Figures:
    """Whole processes: the first compile into an empty cache, `--help`, and a warm settle."""
    with tempfile.TemporaryDirectory() as folder:
        cache = Path(folder)
        first = _process(["settle", str(BENCH)], cache)
        warm = statistics.median(_process(["settle", str(BENCH)], cache) for _ in range(repeats))
        usage = statistics.median(_process(["--help"], cache) for _ in range(repeats))
    figures = {"compile_s": first - warm, "settle_process_s": warm, "help_process_s": usage}
    say(f"compiling into an empty cache: {figures['compile_s']:.1f} s", "(target 40 s)")
    say(f"simcal settle {BENCH.name}, warm: {warm:.2f} s", "(target 3 s)")
    say(f"simcal --help: {usage:.2f} s", "(target 0.4 s)")
    return figures


def _records(folder: Path) -> dict[str, Path]:
    """A million rows as a plain table and as loggers in other countries write them."""
    rng, count = np.random.default_rng(0), 1_000_000
    times, pressures = np.arange(count) * 0.1, 7e5 + rng.normal(0.0, 5.0, count)
    start = np.datetime64("2026-03-14T10:00:00.000")
    stamps = np.datetime_as_string(start + (times * 1e3).astype("timedelta64[ms]"))
    rows = list(zip(times.tolist(), stamps.tolist(), pressures.tolist(), strict=True))
    german = [f"{s[8:10]}.{s[5:7]}.{s[:4]} {s[11:]};{p:,.2f};ok\n" for _, s, p in rows]
    texts = {
        "clean": "time_s,pressure_Pa,temperature_K\n" + "".join(f"{t:.1f},{p:.2f},293.15\n" for t, _, p in rows),
        "stamps": "time,pressure_bar_abs\n" + "".join(f"{s},{p / 1e5:.7f}\n" for _, s, p in rows),
        "ugly": "Zeit;Druck [Pa];Notiz\n" + "".join(german).replace(",", "_").replace(".", ",").replace("_", "."),
    }
    texts["ugly"] = texts["ugly"].replace("14,03,2026", "14.03.2026").replace("15,03,2026", "15.03.2026")
    for name, text in texts.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    return {name: folder / f"{name}.csv" for name in texts}


def records(repeats: int) -> Figures:
    """Reading a million rows, against the plain reader of numpy on the plain table."""
    from simcal.bench.about import About
    from simcal.files.records.reader import read_record

    figures: Figures = {}
    with tempfile.TemporaryDirectory() as folder:
        paths = _records(Path(folder))
        plain = statistics.median(
            spent(lambda: np.loadtxt(paths["clean"], delimiter=",", skiprows=1)) for _ in range(min(repeats, 3))
        )
        say(f"numpy.loadtxt, a million plain rows: {plain:.2f} s")
        for name, target in (("clean", 3), ("stamps", 3), ("ugly", 15)):
            seconds = statistics.median(
                spent(lambda p=paths[name]: read_record(p, About())) for _ in range(min(repeats, 3))
            )
            figures |= {f"read_{name}_s": seconds, f"read_{name}_over_loadtxt": seconds / plain}
            say(f"a million {name} rows: {seconds:.2f} s, {seconds / plain:.1f} times", f"(target {target} s)")
    return figures


def judging(repeats: int) -> Figures:
    """Judging a long record once, and many records in a whole process."""
    from simcal.analysis.judge import judge
    from simcal.files.about_file import load_about
    from simcal.files.records.reader import read_record

    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        long = written(place, "long", SLIGHT, count=10_000)
        about = load_about(long.with_suffix(".toml"))
        record = read_record(long, about)
        judge(record, about)
        once = statistics.median(spent(lambda: judge(record, about)) for _ in range(repeats))
        slopes = (TIGHT, SLIGHT, LEAK)
        many = [str(written(place, f"hold{n}", slopes[n % 3], seed=n, count=500)) for n in range(250)]
        _process(["judge", many[0]], place / "cache")
        whole = statistics.median(
            _process(["judge", *many, "--quiet"], place / "cache", (1,)) for _ in range(min(repeats, 3))
        )
    say(f"10,000 samples judged, warm: {once:.3f} s", "(target 0.2 s)")
    say(f"simcal judge, 250 records of 500 samples, whole process: {whole:.1f} s", "(target 30 s)")
    return {"judge_10000_s": once, "judge_250_process_s": whole}


PARTS: dict[str, Callable[[int], Figures]] = {
    "run": run,
    "solver": general_solver,
    "pulsed": pulsed,
    "trials": trials,
    "trajectories": trajectories,
    "nodes": nodes,
    "processes": processes,
    "records": records,
    "judging": judging,
}
