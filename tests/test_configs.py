"""Each shipped bench loads, answers, and shows what its comments say it shows."""

import functools
import json
import re
import shlex
import tomllib
from itertools import pairwise
from pathlib import Path

import pytest

from simcal.analysis.hold import hold
from simcal.analysis.settle import SettleResult, settle
from simcal.bench.values import Level
from simcal.files.bench_file import load_bench
from simcal.files.examples import examples
from simcal.files.lab_file import load_lab
from tests import shipped_record

CONFIGS = Path(__file__).resolve().parent.parent / "configs"
FILES = sorted(CONFIGS.glob("*.toml"))
KINDS = {path.stem: tomllib.loads(path.read_text(encoding="utf-8")).get("schema", "") for path in FILES}
BENCHES = [name for name, schema in KINDS.items() if schema.startswith("simcal/bench/")]
LABS = [name for name, schema in KINDS.items() if schema.startswith("simcal/lab/")]
RECORDS = [name for name, schema in KINDS.items() if schema.startswith("simcal/about/")]


@functools.cache
def answer(name: str, *sets: str) -> SettleResult:
    """What `simcal settle NAME.toml --set ...` finds."""
    return settle(load_bench(CONFIGS / f"{name}.toml", sets))


def total_ready(result: SettleResult) -> float:
    """Seconds from command to reading, summed over the points."""
    return sum(point.ready_s for point in result.points)


def test_the_shipped_benches_are_at_least_six_and_all_are_listed():
    assert len(BENCHES) >= 6
    assert [one.name for one in examples() if one.kind == "bench"] == BENCHES
    assert [one.name for one in examples() if one.kind == "about"] == RECORDS
    assert [one.name for one in examples() if one.kind == "lab"] == LABS
    assert [one.name for one in examples()][-1] == "class"
    assert len(examples()) == len(BENCHES) + len(RECORDS) + len(LABS) + 1
    assert all(len(one.line) > 30 for one in examples())


@pytest.mark.parametrize("name", RECORDS)
def test_every_record_is_read_with_what_is_known_of_it(simcal, name):
    ran = simcal("read", CONFIGS / f"{name}.csv")
    assert (ran.code, ran.err) == (0, "")
    assert 'reading = "..."' not in " ".join(ran.out.split())
    lines = (CONFIGS / f"{name}.toml").read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("# ") and max(map(len, lines)) <= 120


def test_the_shipped_record_is_what_its_maker_writes():
    assert (CONFIGS / "logged-hold-6bar.csv").read_bytes() == shipped_record.raw()


@pytest.mark.parametrize("name", BENCHES)
def test_every_bench_can_be_read_at_every_point(name):
    result = answer(name)
    assert result.good, [point.reason for point in result.points]
    assert result.violations == ()
    assert result.bench.startswith("Quillmoor bench ")
    for point in result.points:
        for device in point.devices.values():
            if device.error_at_reading_Pa is not None:
                assert abs(device.error_at_reading_Pa) + device.random_Pa <= device.allowance_Pa


@pytest.mark.parametrize("name", BENCHES)
def test_a_bench_states_what_it_needs_and_explains_itself(name):
    bench = load_bench(CONFIGS / f"{name}.toml")
    assert not {a.key.split(".")[0] for a in bench.assumed} - {"line", "valve", "seal"}, bench.assumed
    for text in bench.texts.values():
        lines = text.splitlines()
        assert lines[0].startswith("# ") and max(map(len, lines)) <= 120
        assert sum("#" in line for line in lines) >= 4


@pytest.mark.parametrize("name", BENCHES)
def test_the_variations_that_comments_suggest_are_understood(name):
    comments = (CONFIGS / f"{name}.toml").read_text(encoding="utf-8").replace("\\\n#", "")
    for line in re.findall(r"(?m)^#     (simcal (?:settle|hold) .*)$", comments):
        words = shlex.split(line)
        assert words[2] == f"{name}.toml"
        load_bench(CONFIGS / words[2], [word for before, word in pairwise(words) if before == "--set"])


def test_hard_piped_6bar_waits_for_the_flow_through_its_line():
    result = answer("hard-piped-6bar")
    down = [p for p in result.points if p.direction == "down" and p.mode == "held"]
    up = {p.target_Pa: p for p in result.points if p.direction == "up"}
    assert {p.limited_by for p in down} == {"line"}
    assert all(p.dwell_s > up[p.target_Pa].dwell_s for p in down)
    wide = answer("hard-piped-6bar", "line.run.bore=4 mm")
    assert max(p.dwell_s for p in wide.points) < 0.3 * max(p.dwell_s for p in result.points)


def test_hard_piped_6bar_reports_the_after_effect_and_the_head_without_waiting_for_them():
    top = next(p for p in answer("hard-piped-6bar").points if p.percent == 100.0)
    assert top.device_effect_Pa < -60.0  # beyond the allowance, lagging behind the step
    assert -8.0 < top.head_Pa < -6.0  # (8.06 - 1.2) kg/m3 x 9.81 m/s2 x 0.1 m


def test_nitrogen_160bar_goes_as_its_controller_was_described_from_outside():
    result = answer("nitrogen-160bar")
    for p in result.points:
        if p.mode == "held":
            assert 10.0 <= p.arrival_s <= 20.0  # 40 bar at 4 bar/s, settled 10 s after that
            assert p.overshoot_Pa <= 2000.0 + 500.0  # 0.05 % of the step, and the ripple
            assert p.margins is None and p.authority is None
    shifted = [p.number for p in result.points if p.limited_by == "sensor"]
    assert shifted == [4, 5]
    assert result.preloads[0].peak_Pa > 160e5


def test_helium_300bar_settles_faster_than_nitrogen_in_the_same_vessel():
    helium, nitrogen = answer("helium-300bar"), answer("helium-300bar", "gas=nitrogen")
    for one, other in zip(helium.points, nitrogen.points, strict=True):
        assert one.ready_s < other.ready_s
    shut = [answer("helium-300bar", f"gas={gas}", "sequence.up_down.read=isolated") for gas in ("helium", "nitrogen")]
    left = [[p.latest_s - p.ready_s if p.reached else 0.0 for p in result.points] for result in shut]
    assert sum(left[0]) > 2.0 * sum(left[1])


def test_low_absolute_reaches_1_kpa_last_and_waits_there_for_the_line():
    result = answer("low-absolute")
    lowest = min(result.points, key=lambda p: p.target_Pa)
    assert lowest.target_Pa == pytest.approx(1000.0)
    assert lowest.limited_by == "line"
    assert lowest.ready_s == max(p.ready_s for p in result.points)
    bores = ("3 mm", "6 mm")  # read after the same dwell
    runs = [answer("low-absolute", f"line.run.bore={bore}", "sequence.down_up.dwell=1 s").points for bore in bores]
    narrow, wide = (abs(points[lowest.number - 1].error_parts_Pa["line"]) for points in runs)
    assert wide < 0.1 * narrow


def test_manifold_four_waits_for_the_slowest_device_and_keeps_the_limit_of_the_weakest():
    result = answer("manifold-four")
    assert {p.device for p in result.points} == {"fine", "coarse"}
    assert set(result.points[0].devices) == {"fine", "middle", "coarse", "delicate"}
    for p in result.points:
        own = [d.ready_s for d in p.devices.values()]
        assert p.ready_s >= max(own)
    tight = answer("manifold-four", "device.delicate.highest=6 bar gauge")
    assert "point 5, delicate: the pressure at its port reaches" in tight.violations[0]
    alone = settle(load_bench(CONFIGS / "manifold-four.toml"), device="fine")
    assert {p.device for p in alone.points} == {"fine"}
    assert alone.total_s < result.total_s


def test_manifold_four_is_steadier_and_slower_with_its_buffer():
    shut, opened = answer("manifold-four"), answer("manifold-four", "valve.buffer.open=true")
    assert max(p.overshoot_Pa for p in opened.points) < 0.5 * max(p.overshoot_Pa for p in shut.points)
    assert total_ready(opened) > 1.5 * total_ready(shut)


def test_tiny_volume_hunts_with_its_cause_and_each_cure_works():
    hunting = [p.cycle for p in answer("tiny-volume").points if p.cycle is not None]
    assert {c.cause for c in hunting} == {"quantised drive"}
    assert max(c.share for c in hunting) > 1.0  # of the allowance
    assert all(any("more volume" in cure for cure in c.cures) for c in hunting)
    fine = ("valve.inlet.levels=4096", "valve.outlet.levels=4096")
    for cured in (answer("tiny-volume", "volume.port.capacity=100 cm3"), answer("tiny-volume", *fine)):
        assert all(p.cycle is None or p.cycle.share < 0.1 for p in cured.points)


def test_pulsed_6bar_hunts_by_its_pulses_and_longer_ones_spoil_a_point():
    result = answer("pulsed-6bar")
    assert {p.cycle.cause for p in result.points if p.cycle is not None} == {"pulsed drive"}
    longer = answer("pulsed-6bar", "valve.inlet.min_pulse=5 ms", "valve.outlet.min_pulse=5 ms")
    missed = [p for p in longer.points if not p.reached]
    assert missed and not longer.good
    assert all("are left after 120 s, 150 Pa are allowed" in p.reason for p in missed)
    smallest = [p.authority.smallest_step_Pa for r in (result, longer) for p in r.points[1:2]]
    assert smallest[1] == pytest.approx(2.5 * smallest[0], rel=0.02)


def test_pulsed_6bar_without_its_bleed_hunts_ever_more_slowly_and_a_window_may_lie_between(tmp_path):
    """While the gas cools less and less is made up for: each pulse is further from the last, as high as ever."""
    text = (CONFIGS / "pulsed-6bar.toml").read_text(encoding="utf-8")
    start = text.index("[leak.bleed]")
    path = tmp_path / "pulsed.toml"
    path.write_text(text[:start] + text[text.index("[sequence", start) :], encoding="utf-8")
    pulses = ["valve.inlet.min_pulse=5 ms", "valve.outlet.min_pulse=5 ms"]
    slow = [p for p in settle(load_bench(path, pulses)).points if p.mode == "held"]
    assert all(p.cycle is not None and p.cycle.cause == "pulsed drive" for p in slow)
    assert all(150.0 < p.cycle.reference_amplitude_Pa < 400.0 for p in slow)
    assert [p.limited_by for p in slow] == ["ripple", "rate", "ripple"]
    assert all("the window lies between two swings" in p.notes[0] for p in slow if p.cycle.period_s > 1.0)
    assert not any(p.notes for p in slow if p.cycle.period_s < 1.0)


def test_hose_6bar_says_how_long_an_isolated_reading_may_be_put_off_and_creep_shortens_it():
    result = answer("hose-6bar")
    shut = [p for p in result.points if p.mode == "isolated"]
    assert len(shut) == 3 and all(p.latest_s >= p.ready_s == pytest.approx(p.shut_s) for p in shut)
    assert {p.limited_by for p in shut} == {"soak"}
    assert sum(note.startswith("latest: points 2, 4 can still be read at the end") for note in result.notes) == 1
    still = answer("hose-6bar", "volume.hose.creep=0 1/Pa")
    top = max(shut, key=lambda p: p.target_Pa)
    without = max((p for p in still.points if p.mode == "isolated"), key=lambda p: p.target_Pa)
    assert top.latest_s < 0.8 * without.latest_s


def test_the_command_line_gives_the_same_answer(simcal):
    ran = simcal("settle", CONFIGS / "low-absolute.toml", "--quiet")
    assert (ran.code, ran.err) == (0, "")
    assert "Quillmoor bench 4, low absolute: all 7 points can be read" in ran.out


def test_seals_6bar_says_what_it_assumes_and_a_bad_seal_shortens_the_hold():
    result = answer("seals-6bar")
    whys = {one.key: one.why for one in result.assumed if one.key.startswith("seal.")}
    assert set(whys) == {"seal.nut", "seal.cover", "seal.plug"}
    assert all("teaching assumption" in why for why in whys.values())
    full = {p.number: p.latest_s for p in result.points if p.mode == "isolated"}
    assert min(full.values()) > 800.0
    for bad in ("seal.nut.torque=0.001 N m", "seal.nut.torque=2 N m", "seal.nut.nick=15 um"):
        found = answer("seals-6bar", bad)
        assert all(p.latest_s < 0.7 * full[p.number] for p in found.points if p.number in full), bad


def test_holds_6bar_shows_each_confounder_that_it_offers(simcal, tmp_path):
    """As the comments say: a warm body, a passing inlet, a drift, a barometer, and what is switched on by taking #."""
    text = (CONFIGS / "holds-6bar.toml").read_text(encoding="utf-8")
    start = text.index("# [touch.hand]")
    path = tmp_path / "on.toml"
    path.write_text(text[:start] + re.sub(r"(?m)^# ", "", text[start:]), encoding="utf-8")

    def parts(file, *sets):
        how = {"pressure": Level(4e5, True), "wait_s": 30.0, "watch_s": 120.0}
        return hold(load_bench(file, sets), **how).truth.parts_Pa

    plain = parts(CONFIGS / "holds-6bar.toml")
    assert parts(CONFIGS / "holds-6bar.toml", "volume.port.wall.warmer=2 K")["thermal"] < plain["thermal"] - 50.0
    assert parts(CONFIGS / "holds-6bar.toml", "valve.inlet.seat=2e-8 mol/s")["leak"] > 0.0 > plain["leak"]
    assert parts(CONFIGS / "holds-6bar.toml", "leak.fitting.rate=2e-8 mol/s")["leak"] < 8.0 * plain["leak"]
    moved = parts(CONFIGS / "holds-6bar.toml", "room.barometer_drift=3 hPa/h")["other"] - plain["other"]
    assert abs(moved) > 1.0
    on = parts(path)
    assert on["thermal"] > plain["thermal"] + 30.0 and on["other"] < plain["other"] - 1.0


@pytest.mark.parametrize("name", LABS)
def test_a_laboratory_loads_and_its_suggestions_are_understood(name):
    lab = load_lab(CONFIGS / f"{name}.toml")
    assert {a.key for a in lab.assumed} <= {"comparison.line"}
    assert lab.places == 6
    for text in [text for file, text in lab.texts.items() if file.startswith("quillmoor")]:
        lines = text.splitlines()
        assert lines[0].startswith("# ")
        assert max(map(len, lines)) <= 160
    for line in re.findall(r"(?m)^#     (simcal (?:cover|year) .*)$", lab.texts[f"{name}.toml"]):
        words = shlex.split(line)
        sets = [word for before, word in pairwise(words) if before == "--set"]
        again = load_lab(CONFIGS / words[2], sets)
        assert all(word in again.instruments for before, word in pairwise(words) if before == "--instrument")


def test_the_laboratorys_answer_is_what_its_tables_say(simcal, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    copied = simcal("example", "quillmoor-lab").out.splitlines()
    assert {"quillmoor-lab.toml", "quillmoor-workload.csv", "quillmoor-sensors.csv"} < set(copied)
    ran = simcal("cover", "quillmoor-lab.toml", "--json", "--quiet")
    found = json.loads(ran.out)
    assert (ran.code, ran.err) == (1, "")
    assert found["plan"]["proved"]
    assert len(found["plan"]["sensors"]) == found["places"] == 6
    hopeless = [gap["instrument"] for gap in found["gaps"] if not gap["possible"]]
    assert hopeless == ["gauge-6-half"]  # 0.05 % of span at a ratio of 4 asks for 0.0125 %, no sensor has it at the top
    (cross,) = found["crossovers"]
    assert cross["pressure_Pa"] - found["barometer_Pa"] == pytest.approx(0.6 * 6e5, rel=1e-4)  # section I
    runs = {one["name"]: one["bench"] for one in found["instruments"]}
    assert (runs["gauge-6"], runs["transmitter-160"], runs["cylinder-300"]) == ("low", "high", None)


def test_the_works_miss_their_target_and_two_spares_reach_it(simcal, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    copied = simcal("example", "quillmoor-works").out.splitlines()
    assert {"quillmoor-works.toml", "seals-6bar.toml", "hard-piped-6bar.toml"} < set(copied)
    text = (tmp_path / "quillmoor-works.toml").read_text(encoding="utf-8")
    text = re.sub(r"(?m)^count = (\d+)0$", r"count = \1", text)  # a tenth of the jobs, for the time of it
    (tmp_path / "quillmoor-works.toml").write_text(text, encoding="utf-8")
    ran = simcal("year", "quillmoor-works.toml", "--json", "--quiet", "--compare", "spares")
    found = json.loads(ran.out)
    assert ran.code == 1
    assert found["good"] is False
    ups = [one["uptime"]["mean"] for one in found["variants"]]
    assert ups[0] < 0.99 < ups[1]
    assert found["bad_seals"] == 0.0
    assert {one["name"] for one in found["sensors"]} == {"A-6", "A-160", "B-6"}
