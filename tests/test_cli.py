"""The command line: exit codes, one line for an error, streams that close, what is refused before any work."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from simcal import errors
from simcal.cli import output
from simcal.cli.asked import LEAST_TRIALS, Asked


@pytest.fixture
def breaks(monkeypatch):
    """`breaks(error)` makes the reading of the bench file raise `error`."""

    def arrange(error):
        def load(self, texts=None):
            raise error

        monkeypatch.setattr(Asked, "load", load)

    return arrange


def test_version_is_one_line(simcal):
    from simcal.cache import version

    ran = simcal("--version")
    assert (ran.code, ran.out, ran.err) == (0, f"simcal {version()}\n", "")


@pytest.mark.parametrize("command", ["", "settle", "hold", "read", "judge", "cover", "example", "keys"])
def test_help_is_plain_ascii_within_eighty_columns(simcal, command):
    ran = simcal(*command.split(), "--help")
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.isascii()
    assert max(map(len, ran.out.splitlines())) <= 80


@pytest.mark.parametrize(
    ("words", "text"),
    [
        ([], "Missing command"),
        (["nope"], "No such command 'nope'"),
        (["settle", "b.toml", "--nope"], "No such option: --nope"),
        (["settle", "b.toml", "c.toml"], "unexpected extra argument"),
        (["settle", "b.toml", "--seed"], "requires an argument"),
        (["settle", "b.toml", "--seed", "x"], "--seed"),
        (["settle", "b.toml", "--trials", "1.5"], "--trials"),
        (["settle", "b.toml", "--workers", "0"], "--workers"),
        (["settle", "b.toml", "--against", "r.csv"], "No such option: --against"),
    ],
)
def test_a_command_line_that_cannot_be_parsed_gives_2_and_one_line(simcal, words, text):
    ran = simcal(*words)
    assert (ran.code, ran.out) == (errors.UNUSABLE, "")
    assert ran.err.startswith("simcal: ")
    assert text in ran.err
    assert ran.err.count("\n") == 1


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (["settle"], "command line: BENCH: no bench file; "),
        (
            ["settle", "b.toml", "--trials", "-1"],
            "command line: --trials: -1; a whole number from 19 to 1000000, ",
        ),
        (["settle", "b.toml", "--trials", "1"], "command line: --trials: 1; a whole number from 19 to 1000000"),
        (["settle", "b.toml", "--trials", "18"], "command line: --trials: 18; "),
        (["settle", "b.toml", "--groups", "0"], "command line: --groups: 0; a whole number from 1 to 1000"),
        (["settle", "b.toml", "--seed", "-1"], "command line: --seed: -1; "),
        (["settle", "b.toml", "--dwell", "30"], "command line: --dwell: "),
        (["settle", "b.toml", "--dwell", "1,5 s"], "command line: --dwell: "),
        (["settle", "b.toml", "--dwell=-3s"], "command line: --dwell: "),
        (["settle", "b.toml", "--dwell", "3s +- 1s"], "command line: --dwell: "),
        (["settle", "b.toml", "--dwell", "3s", "--groups", "2"], "command line: --groups: "),
        (["settle", "r.json", "--groups", "2"], "command line: BENCH: an earlier result together with other options"),
        (["settle", "r.json", "--out", "d"], "command line: BENCH: an earlier result together with other options"),
    ],
)
def test_what_cannot_be_asked_is_refused_before_any_work(simcal, breaks, words, line):
    breaks(AssertionError("work was begun"))
    ran = simcal(*words)
    assert (ran.code, ran.out) == (errors.UNUSABLE, "")
    assert ran.err.startswith(line)
    assert ran.err.count("\n") == 1


def test_the_fewest_trials_are_those_whose_outermost_lie_at_the_percentiles_of_the_band():
    """Expectation of the smallest of n uniform draws is 1 / (n + 1): David and Nagaraja, Order Statistics, ch. 2."""
    assert 1.0 / (LEAST_TRIALS + 1) <= 0.05 < 1.0 / LEAST_TRIALS
    assert Asked("b.toml", trials=LEAST_TRIALS).trials == 19
    assert Asked("b.toml").trials == 0


def test_the_output_place_is_checked_before_any_work(simcal, breaks, tmp_path):
    breaks(AssertionError("work was begun"))
    there = tmp_path / "there"
    there.mkdir()
    (there / "letter.txt").write_text("mine", encoding="utf-8")
    for words, text in (
        (["--out", there], "exists already"),
        (["--out", there, "--force"], "letter.txt"),
        (["--out", tmp_path / "no" / "such"], "cannot write"),
    ):
        ran = simcal("settle", "b.toml", *words)
        assert (ran.code, ran.out) == (errors.UNUSABLE, "")
        assert ran.err.startswith("command line: --out: ")
        assert text in ran.err
    assert [path.name for path in tmp_path.iterdir()] == ["there"]


@pytest.mark.parametrize("error", [ValueError("two\nlines"), KeyError("x"), RecursionError(), errors.SimcalError("x")])
def test_a_defect_gives_70_and_one_line_never_1(simcal, breaks, error):
    breaks(error)
    ran = simcal("settle", "b.toml")
    assert (ran.code, ran.out) == (errors.DEFECT, "")
    assert ran.err.startswith(f"simcal: a defect of simcal: {type(error).__name__}: ")
    assert ran.err.endswith("--debug shows where\n")
    assert ran.err.count("\n") == 1


def test_a_defect_shows_where_it_happened_on_demand(simcal, breaks):
    breaks(ValueError("odd"))
    ran = simcal("settle", "b.toml", "--debug")
    assert ran.code == errors.DEFECT
    assert "Traceback" in ran.err
    assert ran.err.endswith("simcal: a defect of simcal: ValueError: odd\n")


def test_an_input_that_is_not_usable_gives_2_and_the_first_fault(simcal, breaks):
    breaks(errors.InputError.of([errors.InputError("b.toml", f"key{n}", "odd", "even") for n in range(3)]))
    ran = simcal("settle", "b.toml")
    assert (ran.code, ran.out) == (errors.UNUSABLE, "")
    assert ran.err == "b.toml: key0: odd; even (and 2 more; --all-errors)\n"


def test_all_faults_are_named_on_demand_one_a_line(simcal, breaks):
    breaks(errors.InputError.of([errors.InputError("b.toml", f"key{n}", "odd", "even") for n in range(3)]))
    ran = simcal("settle", "b.toml", "--all-errors", "--debug")
    assert ran.code == errors.UNUSABLE
    assert ran.err == "".join(f"b.toml: key{n}: odd; even\n" for n in range(3))


@pytest.mark.parametrize("error", [KeyboardInterrupt(), errors.Interrupted()])
def test_an_interrupt_gives_130(simcal, breaks, error):
    breaks(error)
    ran = simcal("settle", "b.toml")
    assert (ran.code, ran.out, ran.err) == (errors.INTERRUPTED, "", "simcal: interrupted\n")


CALL = "import sys; from simcal.cli import main; sys.exit(main(sys.argv[1:]))"


@pytest.mark.skipif(os.name != "posix", reason="pipes of this platform close otherwise")
def test_a_reader_that_leaves_ends_quietly():
    reading, writing = os.pipe()
    os.close(reading)
    done = subprocess.run(
        [sys.executable, "-c", CALL, "settle", "--method"], stdout=writing, stderr=subprocess.PIPE, check=False
    )
    os.close(writing)
    assert (done.returncode, done.stderr) == (0, b"")


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no device that is always full")  # noqa: PTH110
def test_a_full_disk_under_stdout_gives_2_and_one_line():
    with open("/dev/full", "wb") as full:  # noqa: PTH123
        done = subprocess.run(
            [sys.executable, "-c", CALL, "settle", "--method"], stdout=full, stderr=subprocess.PIPE, check=False
        )
    assert done.returncode == errors.UNUSABLE
    assert done.stderr.startswith(b"standard output: ")
    assert done.stderr.count(b"\n") == 1


def test_a_stdout_that_was_never_open_is_no_defect():
    closed = f'"{sys.executable}" -c "{CALL}" settle --method >&-'
    done = subprocess.run(closed, shell=True, stderr=subprocess.PIPE, check=False)
    assert (done.returncode, done.stderr) == (0, b"")


@pytest.mark.parametrize(("encoding", "more"), [("ascii", False), ("latin-1", False), ("utf-8", True), ("bad", False)])
def test_more_than_ascii_is_shown_only_where_it_can_be(monkeypatch, encoding, more):
    class Stream:
        pass

    stream = Stream()
    stream.encoding = encoding
    monkeypatch.setattr(sys, "stdout", stream)
    assert output.unicode_on_stdout() is more


def test_what_the_stream_lacks_becomes_an_escape(python):
    source = "from simcal.cli import output; output.say('5 \\u00b5m \\udcff\\n')"
    assert python(source, PYTHONIOENCODING="ascii").out == "5 \\xb5m \\udcff\n"
    assert python(source, PYTHONIOENCODING="utf-8").out == "5 µm \\udcff\n"


def test_quiet_leaves_warnings_out(python):
    source = (
        "import logging\nfrom simcal.cli import guard\nimport sys\n"
        "sys.exit(guard.guarded(lambda: logging.getLogger('simcal').warning('hello') or 0, sys.argv[1:]))"
    )
    assert python(source).err == "simcal: hello\n"
    assert python(source, "--quiet").err == ""


def test_the_module_runs_like_the_command():
    done = subprocess.run([sys.executable, "-m", "simcal", "--version"], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout[:7]) == (0, "simcal ")


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("judge", "holds-6bar.toml"), "is a bench file; `simcal settle` and `simcal hold` take it"),
        (("read", "tight-hold-6bar.toml"), "is an about-file; the record itself, beside which it lies"),
        (
            ("settle", "tight-hold-6bar.csv"),
            "is a table, as loggers write records; the name of a TOML file here; `simcal",
        ),
        (("hold", "logged-hold-6bar.csv"), "is a table, as loggers write records; "),
        (("judge", "tight-hold-6bar.csv", "--about", "tight-hold-6bar.csv"), "is a table, as loggers write records; "),
    ],
)
def test_a_file_of_another_kind_gets_a_hint_in_its_one_line(simcal, words, line):
    configs = Path(__file__).resolve().parent.parent / "configs"
    ran = simcal(*(configs / word if "." in word else word for word in words))
    assert (ran.code, ran.out) == (2, "") and ran.err.count("\n") == 1
    assert f"{words[-1]}: {line}" in ran.err
