"""The answer to `settle`: run, assess, trials, groups, and everything that is said beside."""

import math
from collections.abc import Callable
from dataclasses import replace

from simcal import cache
from simcal.analysis.settle import groups as gr
from simcal.analysis.settle import trace
from simcal.analysis.settle import trials as tr
from simcal.analysis.settle.assess import assess
from simcal.analysis.settle.authority import authority
from simcal.analysis.settle.hunting import Hunt, hunt
from simcal.analysis.settle.notes import run_notes
from simcal.analysis.settle.point import PointRun
from simcal.analysis.settle.result import Group, Groups, PointResult, SelfCheck, SettleResult
from simcal.analysis.settle.rig import Rig, capacity, finite, make
from simcal.analysis.settle.run import Dwells, Run, nothing, run_steps
from simcal.analysis.settle.sequence import HELD, ISOLATED, choose_device, choose_sequence
from simcal.analysis.settle.soak import with_soak
from simcal.analysis.settle.stability import margins, named_cycle
from simcal.bench.bench import Bench
from simcal.engine.simulate import Effort
from simcal.errors import InputError
from simcal.physics.energy import STORED_ENERGY_METHOD, stored_energy
from simcal.run.ensemble import Store

HARDER = Effort(box=0.5, tolerance=0.5)
Progress = Callable[[str, int, int], None]
"""Called with what is being done, how much of it is done, and how much there is"""


def settle(
    bench: Bench,
    device: str | None = None,
    sequence: str | None = None,
    trials: int = 0,
    groups: int | None = None,
    dwell_s: float | None = None,
    seed: int = 1,
    workers: int | None = None,
    progress: Progress | None = None,
    self_check: bool = False,
    resume: bool = False,
) -> SettleResult:
    """Dwell at every setpoint, what limits it, what error is left, what the devices were exposed to.

    Args:
        bench: a checked bench.
        device: answer for this device alone, % are of its span; None: all devices are waited for.
        sequence: the sequence to run; None: the only one.
        trials: number of runs over the stated spreads, for the 90 % bands; 0: none.
        groups: at most so many dwells for the whole table; None: one for each point.
        dwell_s: the reverse question: this dwell [s] is given at every point, what error is left?
        seed: of everything that is drawn.
        workers: threads of the trials; None: one for each core.
        progress: told what is done.
        self_check: run once more with the engine's box and step tolerance halved, and say how far the answer moves.
        resume: take up the trials of an interrupted run of the same question.

    Raises:
        InputError: the sequence, the device or an allowance is missing or not known.
    """
    _check(trials, groups, dwell_s)
    name = choose_sequence(bench, sequence)
    chosen = choose_device(bench, name, device)
    rig = make(bench, name, chosen, (chosen,) if device else tuple(bench.devices))
    fixed = dwell_s if dwell_s is not None else rig.sequence.dwell
    if groups is not None and fixed is not None:
        raise InputError("command line", "--groups", f"{name} has a dwell of its own", "a sequence without `dwell`")
    dwells = nothing if fixed is None else lambda _number: fixed
    run = run_steps(rig, seed, dwells, progress=_part(progress, "points"))
    points = tuple(_answer(rig, p, fixed) for p in run.points)
    result = _result(rig, run, points, fixed, seed)
    if trials > 0:
        store = Store(f"settle|{bench!r}|{name}|{chosen}|{bool(device)}|{fixed}|{seed}", resume)
        drawn = tr.run_trials(rig, trials, seed, workers, fixed, _part(progress, "trials"), store)
        store.drop()
        result = replace(result, trials=tr.summary(drawn), points=tr.with_bands(points, drawn))
    if self_check:
        result = replace(result, self_check=_try_harder(rig, points, seed, dwells, fixed))
    if groups is not None:
        result = replace(result, groups=few_dwells(rig, result, groups, seed))
    return result


def _try_harder(rig: Rig, points: tuple[PointResult, ...], seed: int, dwells: Dwells, fixed: float | None) -> SelfCheck:
    """The same run with half the box and half the step tolerance, against the answer."""
    harder = replace(rig, system=replace(rig.system, effort=HARDER))
    again = [assess(harder, p, fixed) for p in run_steps(harder, seed, dwells).points]
    pairs = list(zip(points, again, strict=False))
    both = [(a, b) for a, b in pairs if a.reached and b.reached]
    return SelfCheck(
        dwell_s=max((abs((a.dwell_s or 0.0) - (b.dwell_s or 0.0)) for a, b in both), default=0.0),
        error_Pa=max((abs(_error(a) - _error(b)) for a, b in both), default=0.0),
        points=len(both),
        other=sum(a.reached != b.reached for a, b in pairs) + abs(len(points) - len(again)),
    )


def _error(point: PointResult) -> float:
    return point.error_at_reading_Pa or 0.0


def _check(trials: int, groups: int | None, dwell_s: float | None) -> None:
    if trials < 0:
        raise InputError("command line", "--trials", str(trials), "0 or more")
    if groups is not None and groups < 1:
        raise InputError("command line", "--groups", str(groups), "1 or more")
    if dwell_s is not None and not 0.0 <= dwell_s <= 1e5:
        raise InputError("command line", "--dwell", f"{dwell_s:g} s", "0 s to 100000 s")
    if groups is not None and dwell_s is not None:
        raise InputError("command line", "--groups with --dwell", "both", "one of the two")


def _part(progress: Progress | None, what: str) -> Callable[[int, int], None] | None:
    if progress is None:
        return None
    return lambda done, count: progress(what, done, count)


def _answer(rig: Rig, run: PointRun, dwell_s: float | None) -> PointResult:
    """Everything about one point, its loop included."""
    found = hunt(rig, run)
    point = _with_loop(rig, run, assess(rig, run, dwell_s, found), found)
    return with_soak(rig, run, point, dwell_s)


def _with_loop(rig: Rig, run: PointRun, point: PointResult, found: Hunt | None) -> PointResult:
    """The point with its margins, its cycle and the authority of the valves."""
    if point.mode not in (HELD, ISOLATED) or run.arrival is None or run.failure is not None:
        return point
    state = run.state_at(run.shut) if run.shut is not None else run.at_end
    held = run.shut is None
    loop = margins(rig, state)
    needed = (point.make_up_mol_per_s or 0.0) * rig.system.table.molar_mass if held else 0.0
    power = authority(rig, state, needed)
    named = named_cycle(rig, found, point.device, point.allowance_Pa, loop, power)
    return replace(point, margins=loop, authority=power, cycle=named)


def _result(rig: Rig, run: Run, points: tuple[PointResult, ...], fixed: float | None, seed: int) -> SettleResult:
    bench = rig.bench
    preloads = tuple(assess(rig, p) for p in run.preloads)
    parts = [(capacity(rig), bench.room.temperature)]
    notes = [] if run.ended is None else [f"the run ended early: {run.ended}"]
    notes += [f"{len(rig.steps) - len(run.steps)} points were not run"] if run.ended else []
    notes += run_notes(rig, points, fixed)
    return SettleResult(
        bench=bench.name or bench.file,
        sequence=rig.sequence_name,
        device=rig.device_name,
        reference=rig.reference.name,
        points=points,
        total_s=round(run.total_s, 9),
        gas_used_kg=run.gas_used_kg,
        stored_energy_J=stored_energy(rig.system.table, parts, run.highest_Pa, bench.room.barometer),
        stored_energy_method=STORED_ENERGY_METHOD,
        seed=seed,
        version=cache.version(),
        assumed=bench.assumed,
        violations=_violations(preloads, points),
        highest_Pa=run.highest_Pa,
        preloads=preloads,
        fixed_dwell_s=fixed,
        trace=trace.whole(rig, run.steps),
        zooms=tuple(trace.zoom(rig, r, p) for r, p in zip(run.points, points, strict=True)),
        notes=tuple(notes),
        reached_end=run.ended is None,
    )


def _violations(preloads: tuple[PointResult, ...], points: tuple[PointResult, ...]) -> tuple[str, ...]:
    named = [(f"preload {p.number}", p) for p in preloads] + [(f"point {p.number}", p) for p in points]
    return tuple(f"{where}, {text}" for where, p in named for text in p.violations)


def few_dwells(rig: Rig, result: SettleResult, most: int, seed: int) -> Groups:
    """The same table in at most `most` dwells, run again with them."""
    if any(p.dwell_s is None for p in result.points) or not result.points:
        return Groups((), None, None, note="not every point was reached, so there are no dwells to share")
    endless = [p.number for p in result.points if p.dwell_high_s is None] if result.trials is not None else []
    if endless:
        where = f"point{'s' * (len(endless) > 1)} {', '.join(map(str, endless))}"
        return Groups((), None, None, note=f"no dwell covers 95 % of the trials at {where}")
    needs = [_need(p) for p in result.points]
    found = gr.group(needs, most)
    if found is None:
        return Groups((), None, None, note="an isolated point cannot wait as long as its neighbours need")
    stretches, _ = found
    by_number = {number: s.dwell_s for s in stretches for number in s.points}
    targets = {p.number: p.target_Pa for p in result.points}
    dwells: Dwells = by_number.get
    run = run_steps(rig, seed, dwells)
    checked = [assess(rig, p, by_number[p.step.number]) for p in run.points]
    shares = [tr.largest_share(p) for p in checked]
    late = [p.number for p in checked if not p.reached]
    note = f"with these dwells not good: point {', '.join(map(str, late))}" if late else ""
    return Groups(
        groups=tuple(
            Group(
                s.direction, min(targets[n] for n in s.points), max(targets[n] for n in s.points), s.dwell_s, s.points
            )
            for s in stretches
        ),
        total_s=round(run.total_s, 9),
        extra_s=round(run.total_s - result.total_s, 9),
        largest_share=finite(max(shares, default=math.inf)),
        note=note,
    )


def _need(point: PointResult) -> gr.Need:
    """What a point asks of its group: with trials the upper end of its band."""
    dwell = point.dwell_high_s if point.dwell_high_s is not None else point.dwell_s
    most = float("inf")
    if point.latest_s is not None:
        most = point.latest_s - (point.arrival_s or 0.0)
    return gr.Need(point.number, point.direction, point.target_Pa, dwell or 0.0, most)
