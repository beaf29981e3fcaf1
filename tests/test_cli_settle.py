"""`simcal settle` as a user types it: what is printed, what is written, and how it is run again."""

import functools
import hashlib
import json
from pathlib import Path

import jsonschema
import pytest

SCHEMAS = Path(__file__).resolve().parent.parent / "simcal" / "show" / "schemas"


def held_to_its_schema(text):
    """The one document a command printed, checked against the schema it names."""
    document = json.loads(text, parse_constant=lambda name: pytest.fail(f"{name} in JSON"))
    _, name, _ = document["schema"].split("/")
    schema = json.loads((SCHEMAS / f"{name}.schema.json").read_text(encoding="utf-8"))
    jsonschema.validate(document, schema)
    return document


@pytest.fixture
def answered(simcal, short_bench):
    """The document of the short bench and the file it was saved in."""
    ran = simcal("settle", short_bench, "--json", "--quiet")
    assert (ran.code, ran.err) == (0, "")
    path = short_bench.with_name("result.json")
    path.write_text(ran.out, encoding="utf-8")
    return held_to_its_schema(ran.out), path


def test_the_text_ends_with_version_and_seed(simcal, short_bench):
    ran = simcal("settle", short_bench, "--seed", "7", "--quiet")
    assert (ran.code, ran.err) == (0, "")
    assert "all 3 points can be read" in ran.out
    assert ran.out.rstrip().endswith("seed 7")


def test_json_is_one_document_with_what_is_needed_to_ask_again(answered, short_bench):
    document, _ = answered
    assert document["arguments"] == {
        "bench": "short.toml", "device": None, "sequence": None, "trials": 0, "groups": None, "dwell": None,
        "seed": 1, "set": [], "self_check": False,
    }  # fmt: skip
    text = short_bench.read_text(encoding="utf-8")
    digest = hashlib.sha256(text.encode("utf-8")).hexdigest()
    assert document["inputs"] == {"short.toml": {"sha256": digest, "text": text}}
    assert str(short_bench.parent) not in json.dumps(document)


def test_the_self_check_finds_the_same_answer_with_half_the_error_bounds(simcal, short_bench):
    document = held_to_its_schema(simcal("settle", short_bench, "--self-check", "--json", "--quiet").out)
    check, points = document["self_check"], document["points"]
    assert (check["points"], check["other"]) == (len(points), 0)
    assert check["dwell_s"] <= 0.02
    assert check["error_Pa"] <= 0.01 * min(point["allowance_Pa"] for point in points)


def test_a_point_that_is_not_reached_is_bad_news(simcal, short_bench):
    ran = simcal("settle", short_bench, "--set", "sequence.up_down.longest=1s", "--json", "--quiet")
    assert (ran.code, ran.err) == (1, "")
    points = held_to_its_schema(ran.out)["points"]
    assert not all(point["reached"] for point in points)
    assert all(point["reached"] or point["reason"] for point in points)


def test_a_dwell_that_is_given_leaves_an_error(simcal, short_bench):
    ran = simcal("settle", short_bench, "--dwell", "10s", "--json", "--quiet")
    document = held_to_its_schema(ran.out)
    assert ran.code == 0
    assert document["fixed_dwell_s"] == 10.0
    assert {point["dwell_s"] for point in document["points"]} == {10.0}


def test_few_dwells_and_trials_reach_the_document(simcal, short_bench):
    words = ("--groups", "1", "--trials", "19", "--workers", "2", "--json", "--quiet")
    document = held_to_its_schema(simcal("settle", short_bench, *words).out)
    assert len(document["groups"]["groups"]) <= 2
    assert document["trials"]["count"] == 19


def test_interrupted_trials_are_taken_up_and_give_the_same_answer(simcal, short_bench, monkeypatch, tmp_path):
    """The third trial of the second chunk is interrupted; what the first chunk found is not computed again."""
    from simcal.analysis.settle import trials

    monkeypatch.setenv("SIMCAL_CACHE_DIR", str(tmp_path / "cache"))
    drawn, plain = [], trials.draw
    interrupt = [12]

    def counting(bench, seed, trial):
        drawn.append(trial)
        if trial in interrupt:
            raise KeyboardInterrupt
        return plain(bench, seed, trial)

    monkeypatch.setattr(trials, "draw", counting)
    monkeypatch.setattr(trials, "chunks", functools.partial(trials.chunks, size=10))
    words = ("settle", short_bench, "--trials", "19", "--workers", "1", "--json")
    stopped = simcal(*words)
    assert (stopped.code, stopped.out) == (130, "") and "interrupted" in stopped.err
    interrupt.clear()
    drawn.clear()
    resumed = simcal(*words, "--resume", "--quiet")
    assert sorted(set(drawn)) == list(range(10, 19))
    assert json.loads(resumed.out) == json.loads(simcal(*words, "--quiet").out)
    assert not list((tmp_path / "cache").glob("ensemble-*"))


def test_a_folder_is_written_and_runs_again_to_equal(simcal, short_bench, tmp_path):
    ran = simcal("settle", short_bench, "--self-check", "--out", tmp_path / "out", "--quiet")
    assert (ran.code, ran.err) == (0, "")
    names = {path.name for path in (tmp_path / "out").iterdir()}
    assert {"result.json", "page.html", "points.csv"} <= names
    short_bench.unlink()
    again = simcal("settle", tmp_path / "out" / "result.json", "--quiet")
    assert (again.code, again.out, again.err) == (0, "equal\n", "")


def test_the_first_key_that_differs_is_named_with_both_values(simcal, answered):
    document, path = answered
    now = document["points"][1]["arrival_s"]
    document["points"][1]["arrival_s"] += 0.5
    document["version"] = "0.0.0"
    document["sentence"] = "another"
    path.write_text(json.dumps(document), encoding="utf-8")
    ran = simcal("settle", path, "--quiet")
    assert (ran.code, ran.out) == (1, f"points.1.arrival_s: saved {now + 0.5}, now {now}\n")
    said = held_to_its_schema(simcal("settle", path, "--quiet", "--json").out)
    assert (said["first"], said["saved"], said["now"]) == ("points.1.arrival_s", now + 0.5, now)


def _changed(path, change):
    document = json.loads(path.read_text(encoding="utf-8"))
    change(document)
    path.write_text(json.dumps(document), encoding="utf-8")


@pytest.mark.parametrize(
    ("change", "line"),
    [
        (lambda d: d.update(schema="simcal/hold/1"), "schema: 'simcal/hold/1'; "),
        (lambda d: d.pop("arguments"), "arguments: absent; "),
        (lambda d: d["arguments"].pop("bench"), "arguments.bench: None; "),
        (lambda d: d["arguments"].update(seed=True), "arguments.seed: True; "),
        (lambda d: d["arguments"].update(set="x"), "arguments.set: 'x'; "),
        (lambda d: d.pop("inputs"), "inputs: absent; "),
        (lambda d: d["inputs"].update({"short.toml": 3}), "inputs.short.toml: no text; "),
        (lambda d: d["inputs"]["short.toml"].update(text="gas = 1"), "inputs.short.toml.sha256: does not fit the text"),
    ],
)
def test_a_result_that_was_tampered_with_is_refused(simcal, answered, change, line):
    _, path = answered
    _changed(path, change)
    ran = simcal("settle", path)
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.startswith(f"{path}: {line}")
    assert ran.err.count("\n") == 1


@pytest.mark.parametrize(
    ("option", "value"), [("trials", 10**9), ("groups", 0), ("seed", -1), ("dwell", "9**9 s"), ("dwell", "3")]
)
def test_a_recorded_question_is_checked_like_a_typed_one(simcal, answered, option, value):
    _, path = answered
    _changed(path, lambda d: d["arguments"].update({option: value}))
    ran = simcal("settle", path)
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.startswith(f"command line: --{option}: ")


@pytest.mark.parametrize("name", ["../../etc/passwd", "/etc/passwd", "other.toml"])
def test_only_recorded_texts_are_read(simcal, answered, name):
    _, path = answered
    _changed(path, lambda d: d["arguments"].update(bench=name))
    ran = simcal("settle", path)
    assert (ran.code, ran.out) == (2, "")
    assert "its text is not among the recorded inputs" in ran.err


@pytest.mark.parametrize("text", ["", "{", "[]", "3", '"x"', "nan", "NaN", "[" * 100_000, "1" * 100_000, "\0"])
def test_what_is_no_result_is_refused(simcal, tmp_path, text):
    path = tmp_path / "result.json"
    path.write_text(text, encoding="utf-8")
    ran = simcal("settle", path)
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.startswith(f"{path}: ")
    assert ran.err.count("\n") == 1


NOWHERE = {"HOME": None, "SIMCAL_CACHE_DIR": None, "XDG_CACHE_HOME": "/dev/null/x", "PYTHONDONTWRITEBYTECODE": "1"}
SETTLE = "import sys; from simcal.cli import main; sys.exit(main(['settle', *sys.argv[1:]]))"


def _close(one, other):
    """The same dwells to 1e-6 s and errors to 1 mPa, plain or compiled."""
    for a, b in zip(one["points"], other["points"], strict=True):
        assert a["dwell_s"] == pytest.approx(b["dwell_s"], abs=1e-6)
        assert a["error_at_reading_Pa"] == pytest.approx(b["error_at_reading_Pa"], abs=1e-3)


def test_without_a_home_and_without_compiling_the_answer_is_the_same(python, answered, short_bench):
    ran = python(SETTLE, str(short_bench), "--json", **NOWHERE, NUMBA_DISABLE_JIT="1")
    assert (ran.code, ran.err) == (0, "")
    _close(held_to_its_schema(ran.out), answered[0])


@pytest.mark.campaign
def test_without_a_home_and_a_cache_the_engine_compiles_and_says_so_in_one_line(python, answered, short_bench):
    ran = python(SETTLE, str(short_bench), "--json", **NOWHERE, NUMBA_DISABLE_JIT=None)
    assert ran.code == 0
    assert [line.partition(" (")[0] for line in ran.err.splitlines()] == [
        "simcal: no cache",
        "simcal: compiling the engine once, about 40 s",
    ]
    assert held_to_its_schema(ran.out) == answered[0]
