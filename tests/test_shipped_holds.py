"""The shipped records of holds and the class: judged as their first lines say, and made by their script."""

import importlib.util
import json
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
CONFIGS = ROOT / "configs"
CLASS = sorted((CONFIGS / "class").glob("*.csv"))


@pytest.mark.parametrize(
    ("name", "code"), [("tight-hold-6bar", 0), ("leaking-hold-6bar", 1), ("undecided-hold-6bar", 3)]
)
def test_a_record_is_judged_as_its_name_says(simcal, name, code):
    ran = simcal("judge", CONFIGS / f"{name}.csv")
    assert (ran.code, ran.err) == (code, "")


def test_the_pair_says_more_together_than_each_alone(simcal):
    pair = [CONFIGS / f"pair-{side}-6bar.csv" for side in ("below", "above")]
    answers = [json.loads(simcal("judge", *one, "--json").out) for one in ([pair[0]], [pair[1]], [*pair, "--together"])]
    widths = [one["high_mol_per_s"] - one["low_mol_per_s"] for one in answers]
    assert widths[2] < max(widths[:2])
    assert answers[2]["verdict"] == "tight" and len(answers[2]["records"]) == 2


def test_the_class_is_judged_without_a_wrong_verdict(simcal):
    # the six and their seeds were fixed before any was judged; truths are those of `simcal hold`
    ran = simcal("judge", *CLASS, "--answers", CONFIGS / "class-answers", "--json")
    documents = [json.loads(line) for line in ran.out.splitlines()]
    assert [one["answer"]["verdict"] for one in documents] == ["tight", "leak", "tight", "leak", "leak", "leak"]
    marks = [one["answer"]["mark"] for one in documents]
    assert "wrong" not in marks and marks.count("right") >= 5
    assert all(one["answer"]["inside"] for one in documents)
    assert ran.code == 1


def test_the_class_does_not_tell_its_answers():
    assert len(CLASS) == 6
    texts = [path.with_suffix(".toml").read_text(encoding="utf-8") for path in CLASS]
    assert all(word not in text for text in texts for word in ("seed", "rate =", "warmer", "seat", "hold_set"))
    assert len({text.splitlines()[0] for text in texts}) == 1


def test_the_class_is_copied_with_its_answers_apart_and_never_over_a_folder(simcal, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    ran = simcal("example", "class")
    assert (ran.code, ran.out) == (0, "class\nclass-answers\n")
    assert sorted(p.name for p in (tmp_path / "class").glob("*.csv")) == [path.name for path in CLASS]
    assert {p.suffix for p in (tmp_path / "class-answers").iterdir()} == {".json"}
    (tmp_path / "class" / "hold-1.csv").write_text("mine", encoding="ascii")
    again = simcal("example", "class")
    assert (again.code, again.err) == (2, "class: is already there; another folder, or move it away\n")
    assert (tmp_path / "class" / "hold-1.csv").read_text(encoding="ascii") == "mine"


def test_the_script_makes_what_is_shipped(tmp_path, capsys):
    spec = importlib.util.spec_from_file_location("make_records", ROOT / "studies" / "make_records.py")
    script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(script)
    script.make(tmp_path, ["hold-2"])
    made, shipped = ((place / "class" / "hold-2.csv").read_text("ascii").split() for place in (tmp_path, CONFIGS))
    assert made[0] == shipped[0] and len(made) == len(shipped)
    for now, before in zip(made[1:], shipped[1:], strict=True):
        # a reading may fall on the other side of a rounding on another machine
        assert [float(one) for one in now.split(",")] == pytest.approx(
            [float(one) for one in before.split(",")], abs=1.0
        )
    texts = [(place / "class" / "hold-2.toml").read_text("utf-8") for place in (tmp_path, CONFIGS)]
    assert texts[0] == texts[1]
    truths = [json.loads((p / "class-answers" / "hold-2.json").read_text("ascii")) for p in (tmp_path, CONFIGS)]
    assert truths[0]["truth"] == pytest.approx(truths[1]["truth"], rel=1e-6)
    assert truths[0]["made_by"] == truths[1]["made_by"]
