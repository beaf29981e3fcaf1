"""Each broken bench is refused in one line that says where, what was found, and what would be right."""

import pytest

from simcal.errors import InputError
from simcal.files.bench_file import load_bench
from tests.files.bad_around import BAD_AROUND
from tests.files.bad_parts import BAD_PARTS
from tests.files.bad_runs import BAD_RUNS
from tests.files.bad_seals import BAD_SEALS, FACE, NUT
from tests.files.good_bench import GOOD

BROKEN = [*BAD_PARTS, *BAD_RUNS, *BAD_SEALS, *BAD_AROUND]


def test_the_good_bench_is_good(tmp_path):
    path = tmp_path / "bench.toml"
    path.write_text(GOOD, encoding="utf-8")
    assert load_bench(path).name == "good"


@pytest.mark.parametrize("seal", [FACE, NUT])
def test_the_good_bench_with_a_seal_is_good_and_tells_what_it_came_to(seal, tmp_path):
    path = tmp_path / "bench.toml"
    path.write_text(GOOD + seal, encoding="utf-8")
    bench = load_bench(path)
    assert [one.value.split(",")[0] for one in bench.assumed if one.key == "seal.face"] == ["good"]
    assert bench.spreads["seal.face.nut_factor"].shape == "log"


def test_there_are_enough_broken_benches():
    assert len(BROKEN) >= 150
    assert len(set(BROKEN)) == len(BROKEN)


@pytest.mark.parametrize("broken", BROKEN, ids=lambda b: f"{b.place[:40]}: {b.text[:40]}")
def test_a_broken_bench_is_refused_in_one_clear_line(tmp_path, broken):
    assert not broken.old or broken.old in GOOD
    text = GOOD.replace(broken.old, broken.new, 1) if broken.old else f"{GOOD}{broken.new}"
    path = tmp_path / "bench.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_bench(path)
    line = caught.value.line()
    assert (caught.value.place == broken.place) or (broken.place and caught.value.place.startswith(broken.place + ","))
    assert line.startswith(f"{path}: {broken.place}" if broken.place else f"{path}: ")
    assert broken.text in line
    assert caught.value.right
    assert len(line) - len(str(path)) < 400
