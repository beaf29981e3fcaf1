"""What each point of each instrument is read with, how well, and why not where it is not."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.cover.budget import Budget, instrument_slices
from simcal.analysis.cover.choose import Need
from simcal.analysis.cover.dwell import Left
from simcal.analysis.cover.result import NONE, SENSOR, VENT, InstrumentCover, PointCover
from simcal.analysis.cover.route import route
from simcal.analysis.cover.rule import Judged, judged, limit_for_risk, ratios
from simcal.bench.lab import WITH_DEVICE, Lab

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Matter:
    """All comparisons of a laboratory; arrays [points, sensors]."""

    lab: Lab
    whole: Budget
    bench: Array  # standard uncertainty without the device's share
    device: Array  # with it
    serves: Mask
    left: Mapping[str, Left]


def instrument_cover(matter: Matter, chosen: Sequence[int], needs: Sequence[Need]) -> tuple[InstrumentCover, ...]:
    """The answer for every instrument with the chosen sensors."""
    lab, whole = matter.lab, matter.whole
    slices = instrument_slices([len(one.points) for one in lab.instruments.values()])
    ruled = ratios(whole.tolerance[:, None], matter.device if lab.rule.uncertainty == WITH_DEVICE else matter.bench)
    columns = list(chosen)
    reads = np.full(len(whole.stated), -1, dtype=np.int64)  # the sensor, or -1
    switches = []
    for part in slices:
        free = whole.vent[part] & whole.held[part]
        way, count = route(matter.serves[part][:, columns], ruled[part][:, columns], free)
        reads[part] = [-1 if k is None else columns[k] for k in way]
        switches.append(count)
    nearest = np.argmax(np.where(whole.inside, ruled, -1.0), axis=1)
    at = np.where(reads >= 0, reads, nearest)
    rows = np.arange(len(at))
    vent = whole.vent & whole.held
    bench = np.where(vent, whole.at_vent(), matter.bench[rows, at])
    device = np.hypot(bench, whole.device)
    risks = judged(lab, whole.tolerance, device if lab.rule.uncertainty == WITH_DEVICE else bench)
    table = _Table(matter, reads, at, vent, bench, device, risks, frozenset(chosen))
    return tuple(
        InstrumentCover(
            name=name,
            count=one.count,
            gauge=one.range.gauge,
            low_Pa=one.range.low,
            high_Pa=one.range.high,
            covered=bool(((reads[part] >= 0) | vent[part]).all()),
            possible=0 not in need,
            points=tuple(table.point(p, number) for number, p in enumerate(range(part.start, part.stop), start=1)),
            switches=count,
            switch_s=count * lab.switch,
            bench=matter.left[name].bench,
            run_s=matter.left[name].run_s,
        )
        for (name, one), part, count, need in zip(lab.instruments.items(), slices, switches, needs, strict=True)
    )


@dataclass(frozen=True)
class _Table:
    """Columns [points] from which the points are told."""

    matter: Matter
    reads: NDArray[np.int64]
    at: NDArray[np.int64]
    vent: Mask
    bench: Array
    device: Array
    risks: Judged
    chosen: frozenset[int]

    def point(self, p: int, number: int) -> PointCover:
        """One point."""
        whole, names = self.matter.whole, tuple(self.matter.lab.sensors)
        vent, read, k = bool(self.vent[p]), int(self.reads[p]), int(self.at[p])
        mode = VENT if vent else SENSOR if read >= 0 else NONE
        somewhere = vent or bool(whole.inside[p].any())
        tolerance = float(whole.tolerance[p])
        return PointCover(
            number=number,
            stated_Pa=float(whole.stated[p]),
            pressure_Pa=float(whole.pressure[p]),
            tolerance_Pa=tolerance,
            mode=mode,
            sensor=names[read] if mode == SENSOR else None,
            ratio=_ratio(tolerance, self.bench[p]) if somewhere else None,
            ratio_with_device=_ratio(tolerance, self.device[p]) if somewhere else None,
            consumer_risk=_finite(self.risks.consumer[p]) if somewhere else None,
            producer_risk=_finite(self.risks.producer[p]) if somewhere else None,
            specific_risk=_finite(self.risks.specific[p]) if somewhere else None,
            limit_for_risk_Pa=self._limit(p) if mode == NONE and somewhere and whole.held[p] else None,
            acceptance_Pa=float(self.risks.acceptance[p]) if somewhere else None,
            uncertainty_Pa=self._parts(p, k, vent) if somewhere else {},
            reason=self._reason(p, k) if mode == NONE else None,
            nearest=names[k] if mode == NONE and somewhere else None,
            able=() if vent else tuple(names[i] for i in np.flatnonzero(self.matter.serves[p])),
        )

    def _limit(self, p: int) -> float | None:
        """With the nearest sensor."""
        lab = self.matter.lab
        u = self.device if lab.rule.uncertainty == WITH_DEVICE else self.bench
        return limit_for_risk(lab, float(self.matter.whole.tolerance[p]), float(u[p]))

    def _parts(self, p: int, k: int, vent: bool) -> dict[str, float]:
        whole = self.matter.whole
        sensor = {name: 0.0 if vent else float(part[p, k]) for name, part in whole.of_sensor.items()}
        bench = {name: float(part[p]) for name, part in whole.of_bench.items()}
        return {**sensor, **bench, "device": float(whole.device[p])}

    def _reason(self, p: int, k: int) -> str:
        """Why no chosen sensor serves a point."""
        whole, lab = self.matter.whole, self.matter.lab
        if not whole.held[p]:
            return "the bench's run does not reach it"
        if not whole.inside[p].any():
            return "no sensor has it in its range" + _mixed(lab, float(whole.pressure[p]))
        if not self.matter.serves[p].any():
            return "no sensor is good enough"
        who = [name for i, name in enumerate(lab.sensors) if self.matter.serves[p, i]]
        best = list(lab.sensors)[k]
        one = best if best in who else who[0]
        return f"needs {one}" if len(who) == 1 else f"needs one of {len(who)} sensors, such as {one}"


def _mixed(lab: Lab, pressure: float) -> str:
    """Whether the barometer keeps a sensor of the other kind from it."""
    if lab.spread("room.barometer") > 0.0:
        return ""
    zero = lab.room.barometer
    for one in lab.sensors.values():
        stated = one.range.stated(pressure, zero)
        if one.range.low <= stated <= one.range.high:
            return "; one of the other kind has, but the barometer states no +-"
    return ""


def _ratio(tolerance: float, u: float) -> float | None:
    return _finite(float(ratios(np.array([tolerance]), np.array([u]))[0]))


def _finite(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
