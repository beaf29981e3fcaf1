"""The ground floor: errors as lines, the cache folder, whole files, and the key of the compiled kernels."""

import os
import pickle
import stat
import time

import pytest

from simcal import cache, errors, jit
from simcal.errors import InputError, one_line
from simcal.units import UnitError


@pytest.fixture(autouse=True)
def fresh():
    """Every test finds the cache folder anew."""
    cache._made.cache_clear()
    yield
    cache._made.cache_clear()


def test_a_fault_reads_as_file_place_found_right():
    fault = InputError("bench.toml", "volume.port.capacity", "-3 cm3", "more than 0")
    assert str(fault) == "bench.toml: volume.port.capacity: -3 cm3; more than 0"
    assert fault.faults == (fault,)


@pytest.mark.parametrize(
    ("parts", "line"),
    [(("b.toml", "", "no such file", "a name"), "b.toml: no such file; a name"),
     (("", "standard output", "full", ""), "standard output: full")],
)  # fmt: skip
def test_an_empty_part_is_left_out(parts, line):
    assert str(InputError(*parts)) == line


def test_the_first_of_many_faults_counts_the_others():
    faults = [InputError("b.toml", f"key{n}", "x", "y") for n in range(5)]
    error = InputError.of(faults)
    assert str(error) == "b.toml: key0: x; y (and 4 more; --all-errors)"
    assert [fault.line() for fault in error.faults] == [f"b.toml: key{n}: x; y" for n in range(5)]


MADE = {
    "SimcalError": errors.SimcalError("what happened"),
    "InputError": InputError("b.toml", "line 3", "x", "y"),
    "Interrupted": errors.Interrupted("stopped"),
    "UnitError": UnitError("5 apples", "a pressure"),
}
CLASSES = [name for name, kind in vars(errors).items() if isinstance(kind, type) and issubclass(kind, Exception)]


@pytest.mark.parametrize("name", [*CLASSES, "UnitError"])
def test_an_error_crosses_from_one_process_to_another(name):
    """A pool of processes hands it over by pickle, and breaks where it cannot be made again."""
    again = pickle.loads(pickle.dumps(MADE[name]))
    assert type(again) is type(MADE[name])
    assert str(again) == str(MADE[name])


def test_so_do_the_faults_that_an_error_carries():
    one = pickle.loads(pickle.dumps(InputError("b.toml", "line 3", "x", "y")))
    assert (one.file, one.place, one.found, one.right, one.faults) == ("b.toml", "line 3", "x", "y", (one,))
    many = InputError.of([InputError("b.toml", f"key{n}", "x", "y") for n in range(5)])
    again = pickle.loads(pickle.dumps(many))
    assert str(again) == str(many)
    assert [fault.line() for fault in again.faults] == [fault.line() for fault in many.faults]


def test_a_line_stays_one_line_whatever_the_text_holds():
    assert one_line("a\nb\x1b[31m\tc\0") == "a b\\x1b[31m c\\x00"
    assert one_line("5 °C ± 1") == "5 °C ± 1"


def test_the_cache_folder_is_the_one_named_and_private(monkeypatch, tmp_path):
    monkeypatch.setenv("SIMCAL_CACHE_DIR", str(tmp_path / "new"))
    assert cache.folder() == tmp_path / "new"
    inner = cache.subfolder("kernels")
    assert inner == tmp_path / "new" / "kernels"
    if os.name == "posix":
        for path in (tmp_path / "new", inner):
            assert stat.S_IMODE(path.stat().st_mode) == 0o700


@pytest.mark.parametrize("place", ["/dev/null/cache", "/proc/cache"])
def test_without_a_place_to_write_there_is_no_cache_and_one_line_says_so(monkeypatch, caplog, place):
    monkeypatch.setenv("SIMCAL_CACHE_DIR", place)
    assert cache.folder() is None
    assert cache.subfolder("kernels") is None
    assert len(caplog.messages) == 1
    assert caplog.messages[0].startswith(f"no cache ({place}: ")


def test_a_home_that_cannot_be_found_is_no_place(monkeypatch, caplog):
    monkeypatch.delenv("SIMCAL_CACHE_DIR", raising=False)
    monkeypatch.setattr("platformdirs.user_cache_dir", lambda *_, **__: "~/.cache/simcal")
    assert cache.folder() is None
    assert "no home folder" in caplog.text


def test_a_subfolder_that_others_may_write_is_not_used(monkeypatch, tmp_path):
    monkeypatch.setenv("SIMCAL_CACHE_DIR", str(tmp_path))
    (tmp_path / "open").mkdir()
    (tmp_path / "open").chmod(0o777)
    (tmp_path / "aside").mkdir(mode=0o700)
    (tmp_path / "link").symlink_to(tmp_path / "aside")
    assert cache.subfolder("open") is None
    assert cache.subfolder("link") is None
    assert cache.subfolder("aside") == tmp_path / "aside"


def test_a_file_is_written_whole_or_not_at_all(monkeypatch, tmp_path):
    path = tmp_path / "data"
    cache.write_whole(path, b"old")

    def fails(*_):
        raise OSError("disk full")

    monkeypatch.setattr("pathlib.Path.replace", fails)
    with pytest.raises(OSError, match="disk full"):
        cache.write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert [one.name for one in tmp_path.iterdir()] == ["data"]


def _aged(path, days):
    """A folder of compiled code that was used so many days ago, in which a file was written today."""
    path.mkdir()
    cache.used(path)
    then = time.time() - days * 86400.0
    os.utime(path / cache.STAMP, (then, then))
    (path / "code").write_bytes(b"x")


def test_only_what_nobody_used_for_long_leaves_the_cache_and_a_number_of_them_stays(tmp_path):
    ages = [100, 1, 40, 31, 29, 45, 60, 0, 90, 29.9, 50, 70]
    for days in ages:
        _aged(tmp_path / f"kernels-{days}", days)
    _aged(tmp_path / "letters", 1000)
    current = tmp_path / "kernels-current"
    _aged(current, 1000)
    cache.drop_unused(current, "kernels-")
    left = {path.name.removeprefix("kernels-") for path in tmp_path.iterdir()} - {"current", "letters"}
    assert left == {str(days) for days in sorted(ages)[: cache.KEPT]}
    assert current.is_dir() and (tmp_path / "letters").is_dir()


def test_any_number_of_checkouts_in_use_keep_their_kernels(tmp_path):
    for n in range(3 * cache.KEPT):
        _aged(tmp_path / f"kernels-{n}", cache.UNUSED_DAYS - 1)
    _aged(tmp_path / "kernels-old", cache.UNUSED_DAYS + 1)
    cache.drop_unused(tmp_path / "kernels-0", "kernels-")
    assert len(list(tmp_path.glob("kernels-*"))) == 3 * cache.KEPT
    assert not (tmp_path / "kernels-old").exists()


def test_a_use_is_noted(tmp_path):
    _aged(tmp_path / "kernels-1", 300)
    cache.used(tmp_path / "kernels-1")
    assert time.time() - (tmp_path / "kernels-1" / cache.STAMP).stat().st_mtime < 60.0


def test_the_version_is_the_distributions():
    from importlib import metadata

    assert cache.version() == metadata.version("simcal-engine")


def test_the_key_of_the_kernels_changes_with_any_kernel_source(monkeypatch, tmp_path):
    room = tmp_path / "physics"
    room.mkdir()
    (room / "law.py").write_text("x = 1\n", encoding="utf-8")
    monkeypatch.setattr(jit, "_HERE", tmp_path)
    first = jit.fingerprint.__wrapped__()
    (room / "law.py").write_text("x = 2\n", encoding="utf-8")
    second = jit.fingerprint.__wrapped__()
    (room / "more.py").write_text("", encoding="utf-8")
    assert len({first, second, jit.fingerprint.__wrapped__()}) == 3


def test_all_kernel_sources_count():
    names = {path.parent.name + "/" + path.name for path in jit.sources()}
    assert {"simcal/jit.py", "tables/gas.py", "physics/gas.py", "control/pid.py", "engine/loop.py"} <= names


COMPILES = """
import sys, types
from pathlib import Path
text = "from simcal.jit import kernel\\n@kernel\\ndef half(x):\\n    return x / 2.0\\n"
path = Path("probe.py").resolve()
path.write_text(text, encoding="utf-8")
probe = sys.modules["simcal.probe"] = types.ModuleType("simcal.probe")
exec(compile(text, str(path), "exec"), probe.__dict__)
stats = getattr(probe.half, "stats", None)
print(probe.half(3.0), bool(stats and stats.cache_hits))
"""
"""A process that compiles one kernel, prints half of three and whether the machine code came from the cache."""


def test_the_first_compile_is_said_once_and_the_second_process_loads_it(python, tmp_path):
    place = str(tmp_path / "cache")
    first = python(COMPILES, SIMCAL_CACHE_DIR=place, NUMBA_DISABLE_JIT=None)
    assert (first.code, first.out.split()) == (0, ["1.5", "False"])
    assert first.err.startswith("compiling the engine once, about ")
    assert first.err.count("\n") == 1
    assert [path.name for path in (tmp_path / "cache").glob("kernels-*/.used")] == [".used"]
    second = python(COMPILES, SIMCAL_CACHE_DIR=place, NUMBA_DISABLE_JIT=None)
    assert (second.out.split(), second.err) == (["1.5", "True"], "")


def test_without_a_cache_kernels_compile_and_one_line_says_so(python):
    ran = python(COMPILES, SIMCAL_CACHE_DIR="/dev/null/cache", NUMBA_DISABLE_JIT=None)
    assert (ran.code, ran.out.split()) == (0, ["1.5", "False"])
    assert ran.err.count("no cache (") == 1


def test_kernels_are_plain_python_on_demand(python):
    ran = python(COMPILES, NUMBA_DISABLE_JIT="1")
    assert (ran.out.split(), ran.err) == (["1.5", "False"], "")
