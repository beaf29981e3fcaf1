"""Whatever stands in a bench file, the answer is a bench or a refusal; nothing else escapes."""

import math
import re

from hypothesis import given, settings
from hypothesis import strategies as st

from simcal.bench.bench import Bench
from simcal.errors import InputError
from simcal.files.bench_file import load_bench
from tests.files.good_bench import GOOD

LINES = GOOD.splitlines()
FIGURES = list(re.finditer(r"(?<=\")[0-9.]+(?= )", GOOD))
KEYS = [
    "gas", "name", "room", "room.barometer", "volume.port.capacity", "volume.port.wall", "volume.port.wall.bore",
    "line.run.between", "line.run.cells", "valve.inlet.conductance", "valve.inlet.levels", "valve.side.open",
    "supply.pressure", "exhaust.pressure", "sensor.reference.full_scale", "sensor.reference.accuracy",
    "device.one.overshoot", "device.one.highest", "controller.gains", "controller.gains.kp", "controller.reads",
    "leak.fitting.rate", "leak.fitting.to", "sequence.up_down.points", "sequence.up_down.window", "volume", "device",
]  # fmt: skip
NUMBERS = st.one_of(
    st.integers(-(10**400), 10**400), st.floats(allow_nan=True, allow_infinity=True), st.sampled_from([0, 1, -1, 1e308])
)
UNITS = [
    "bar abs",
    "bar gauge",
    "bar",
    "Pa",
    "cm3",
    "mm",
    "m",
    "s",
    "ms",
    "%",
    "K",
    "degC",
    "mol/s",
    "m3/(s Pa)",
    "",
    "1/Pa",
]
QUANTITIES = st.builds(
    lambda number, unit, spread: f"{number:.6g} {unit}{spread}",
    st.floats(-1e12, 1e12),
    st.sampled_from(UNITS),
    st.sampled_from(["", " +- 5 %", " +- 1 mm", " +- 10 % (limits)", "..20 bar gauge", ".."]),
)
TEXTS = st.text(st.characters(codec="utf-8"), max_size=30)
VALUES = st.recursive(
    st.one_of(NUMBERS.map(repr), QUANTITIES.map(lambda q: f'"{q}"'), TEXTS.map(lambda t: f"'{t}'"), TEXTS,
              st.sampled_from(["true", "2026-01-01", '""', "{}", "[]", '"unknown"'])),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3).map(lambda parts: f"[{', '.join(parts)}]"),
        st.lists(inner, max_size=3).map(lambda parts: f"{{{', '.join(f'k{i} = {p}' for i, p in enumerate(parts))}}}"),
    ),
    max_leaves=5,
)  # fmt: skip


def bench_or_refusal(text, sets=()):
    """The bench of a text, or None when it is refused; any other exception fails the test."""
    try:
        bench = load_bench("bench.toml", sets, texts={"bench.toml": text})
    except InputError as error:
        assert error.faults
        assert all("\n" not in one.line() and one.found and one.right for one in error.faults)
        return None
    assert isinstance(bench, Bench)
    assert all(math.isfinite(spread.sd) and spread.sd > 0.0 for spread in bench.spreads.values())
    assert all(0.0 < volume.capacity < 10.0 and volume.wall.bore > 0.0 for volume in bench.volumes.values())
    return bench


@given(st.text(st.characters(codec="utf-8"), max_size=200))
def test_any_text(text):
    assert bench_or_refusal(text) is None


@settings(max_examples=300)
@given(st.lists(st.tuples(st.integers(0, len(GOOD) - 1), st.integers(0, 3), st.characters(codec="utf-8")), max_size=4))
def test_a_good_bench_with_characters_taken_out_put_in_or_changed(edits):
    text = GOOD
    for place, length, character in edits:
        text = text[:place] + character + text[place + length :]
    bench_or_refusal(text)


@settings(max_examples=200)
@given(st.lists(st.tuples(st.integers(0, len(LINES) - 1), st.integers(0, len(LINES) - 1)), max_size=5))
def test_a_good_bench_with_lines_moved(moves):
    lines = list(LINES)
    for source, target in moves:
        lines.insert(target, lines.pop(source))
    bench_or_refusal("\n".join(lines))


@settings(max_examples=300)
@given(st.lists(st.tuples(st.integers(0, len(LINES) - 1), VALUES), min_size=1, max_size=3))
def test_a_good_bench_with_any_values(edits):
    lines = list(LINES)
    for number, value in edits:
        key, mark, _ = lines[number].partition("=")
        if mark:
            lines[number] = f"{key}= {value}"
    bench_or_refusal("\n".join(lines))


@settings(max_examples=300)
@given(st.lists(st.tuples(st.integers(0, len(FIGURES) - 1), st.integers(-4, 4)), min_size=1, max_size=4))
def test_a_good_bench_with_numbers_moved_by_powers_of_ten(moves):
    text = GOOD
    for number, power in sorted(moves, reverse=True):
        start, end = FIGURES[number].span()
        text = f"{text[:start]}{float(FIGURES[number].group()) * 10.0**power:.6f}{text[end:]}"
    bench_or_refusal(text)


@settings(max_examples=300)
@given(st.lists(st.tuples(st.sampled_from(KEYS), VALUES), min_size=1, max_size=2))
def test_a_good_bench_with_anything_set(sets):
    bench_or_refusal(GOOD, [f"{key}={value}" for key, value in sets])


@given(st.lists(st.text(max_size=40), max_size=3))
def test_a_good_bench_with_any_text_as_set(sets):
    bench_or_refusal(GOOD, sets)


@settings(max_examples=200)
@given(st.binary(max_size=300), st.integers(0, len(GOOD)), st.integers(0, 20))
def test_a_good_bench_with_bytes_of_any_kind_in_it(tmp_path_factory, raw, place, length):
    path = tmp_path_factory.getbasetemp() / "fuzz.toml"
    good = GOOD.encode()
    path.write_bytes(good[:place] + raw + good[place + length :])
    try:
        assert isinstance(load_bench(path), Bench)
    except InputError as error:
        assert str(path) in error.line()
