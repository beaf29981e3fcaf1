"""`simcal judge` as a user types it: codes, lines, refusals, several records, answers, running again."""

import json
import re
from pathlib import Path

import jsonschema
import pytest

import simcal as library
from tests.hold_files import LEAK, SLIGHT, TIGHT, written

SCHEMAS = Path(library.__file__).parent / "show" / "schemas"


def lines_of(text, name="judge"):
    """The documents a command printed, each held to the schema."""
    schema = json.loads((SCHEMAS / f"{name}.schema.json").read_text(encoding="utf-8"))
    found = [json.loads(line, parse_constant=lambda odd: pytest.fail(f"{odd} in JSON")) for line in text.splitlines()]
    for one in found:
        jsonschema.validate(one, schema)
    return found


@pytest.mark.parametrize(
    ("slope", "code", "verdict"), [(TIGHT, 0, "tight"), (LEAK, 1, "leak"), (SLIGHT, 3, "undecided")]
)
def test_the_code_is_the_verdict(simcal, tmp_path, slope, code, verdict):
    path = written(tmp_path, "hold", slope)
    ran = simcal("judge", path)
    assert (ran.code, ran.err) == (code, "")
    assert ran.out.startswith(f"hold.csv: {verdict}, net outflow ")
    assert "vent and confirm" in ran.out.replace("\n  ", " ") and "seed 1" in ran.out.splitlines()[-1]
    (document,) = lines_of(simcal("judge", path, "--json").out)
    assert document["verdict"] == verdict


def test_less_said_means_undecided_and_what_is_missing(simcal, tmp_path):
    path = written(tmp_path, "hold", LEAK, permitted_leak=None)
    ran = simcal("judge", path)
    said = re.search(r"no verdict without a permitted leak, net outflow (\S+) to (\S+) nmol/s", ran.out)
    assert ran.code == 3 and said is not None
    true = 1e9 * LEAK * 100e-6 / (8.314462618 * 293.15)  # nmol/s of an ideal gas; nitrogen at 5 bar differs by 0.2 %
    assert float(said[1]) < true < float(said[2])
    path = written(tmp_path, "hold", LEAK, gas=None, capacity=None)
    ran = simcal("judge", path)
    assert ran.code == 3 and "no verdict, a rate needs gas and capacity" in ran.out and "mol/s" not in ran.out
    (document,) = lines_of(simcal("judge", path, "--json").out)
    assert document["verdict"] is None and document["low_mol_per_s"] is None


@pytest.mark.parametrize("command", ["read", "judge"])
@pytest.mark.parametrize("place", [".", "/", ""])
def test_a_folder_in_the_place_of_a_record_is_one_line_and_2(simcal, command, place):
    ran = simcal(command, place)
    assert (ran.code, ran.out) == (2, "") and "is a folder; the name of a logger's file" in ran.err
    assert ran.err.count("\n") == 1


def test_a_bare_capacity_is_told_with_the_spread_that_was_assumed(simcal, tmp_path):
    said = " ".join(simcal("judge", written(tmp_path, "hold", LEAK, capacity='"100 cm3"')).out.split())
    assert "100 +- 5 cm3" in said.replace("±", "+-")
    assert "assumed capacity = 100 cm3 +- 5 % (no spread was stated; common practice, no source)" in said
    exact = " ".join(simcal("judge", written(tmp_path, "hold", LEAK, capacity='"100 cm3 +- 0 %"')).out.split())
    assert "100.0 cm3" in exact and "assumed capacity" not in exact


def test_only_what_is_missing_is_asked_for(simcal, tmp_path):
    said = " ".join(simcal("judge", written(tmp_path, "hold", LEAK, capacity=None)).out.split())
    assert "next: state capacity (everything between the closed valves): there is no rate without it" in said


@pytest.mark.parametrize(
    ("changed", "line"),
    [
        ({"reading": None}, 'hold.toml: reading: missing; reading = "gauge" or "absolute": it is never guessed\n'),
        ({"isolated_at": None}, 'hold.toml: isolated_at: missing; when the valves shut: isolated_at = "30 s"\n'),
        ({"isolated_at": '"900 s"'}, "hold.csv: isolated_at: 900 s, but the record goes from 0.5 s to 300 s; "),
        ({"capacity": '"100 cm3 gauge"'}, "hold.toml: capacity: "),
        ({"permitted_leak": '"0.2 sccm"'}, "hold.toml: permitted_leak: "),
        ({"gas": '"oxygen"'}, 'hold.toml: gas: "oxygen" is not known; '),
        ({"watch_from": '"299.9 s"', "watch_until": '"299.8 s"'}, "hold.toml: watch_until: 299.8 s is not after "),
    ],
)
def test_a_bad_input_is_one_line_and_2(simcal, tmp_path, changed, line):
    path = written(tmp_path, "hold", LEAK, **changed)
    ran = simcal("judge", path)
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.removeprefix(f"{tmp_path}/").startswith(line) and ran.err.count("\n") == 1


def test_a_reading_that_never_changes_is_no_tight_vessel(simcal, tmp_path):
    """A logger of 0.01 bar shows 4.00 all along while 1 Pa/s, twice the limit, leaves: without its step no verdict."""
    path = written(tmp_path, "hold", TIGHT, sensor=None)
    rows = "".join(f"{t},{(4.0e5 + 300.0 - 1.0 * t) / 1e5:.2f}\n" for t in range(0, 600, 2))
    path.write_text("time_s,pressure_bar\n" + rows, encoding="ascii")
    ran = simcal("judge", path)
    assert (ran.code, ran.out) == (2, "") and "hold.csv: pressure: the reading never changes once " in ran.err
    ran = simcal("judge", path, "--set", "sensor.resolution=1 kPa")
    assert (ran.code, ran.err) == (3, "")


def test_without_an_about_file_it_asks_for_what_is_never_guessed(simcal, tmp_path):
    path = written(tmp_path, "hold", LEAK)
    path.with_suffix(".toml").unlink()
    ran = simcal("judge", path)
    assert (ran.code, ran.out) == (2, "")
    assert ran.err == 'hold.toml: reading: missing; reading = "gauge" or "absolute": it is never guessed\n'
    ran = simcal("judge", path, "--set", "reading=gauge", "--set", "isolated_at=0 s")
    assert (ran.code, ran.err) == (3, "")


@pytest.mark.parametrize(
    ("words", "line"),
    [
        ([], "command line: RECORD: no record; "),
        (["hold.csv", "--seed", "-1"], "command line: --seed: -1; "),
        (["result.json", "hold.csv"], "command line: RECORD: an earlier result together with other options"),
        (["result.json", "--together"], "command line: RECORD: an earlier result together with other options"),
        (
            ["hold.csv", "--follow", "--together"],
            "command line: --follow: together with --together, --answers or --out",
        ),
        (["missing.csv", "--follow", "--patience", "0s"], "missing.csv: no such file; "),
        (["hold.csv", "--patience", "1s"], "command line: --patience: without --follow; "),
        (["hold.csv", "--follow", "--patience", "-1 s"], "command line: --patience: '-1 s'; a time of 0 s or more"),
        (["-", "--follow"], "command line: --about: missing; "),
        (["-", "hold.csv", "--follow"], "command line: RECORD: standard input together with other records; "),
        (["result.json", "--follow"], "command line: RECORD: an earlier result together with other options"),
        (["missing.csv"], "missing.csv: no such file; "),
        (["missing.json"], "missing.json: no such file; the result.json of an earlier run"),
        (["hold.csv", "--about", "missing.toml"], "missing.toml: no such file; "),
        (["hold.csv", "--together"], "command line: --together: one record; "),
        (["hold.csv", "--answers", "nowhere"], "nowhere: is no folder; "),
        (["hold.csv", "--out", "no/such"], "command line: --out: cannot write in "),
    ],
)
def test_what_cannot_be_asked_is_one_line(simcal, tmp_path, monkeypatch, words, line):
    written(tmp_path, "hold", TIGHT)
    monkeypatch.chdir(tmp_path)
    ran = simcal("judge", *words)
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.startswith(line) and ran.err.count("\n") == 1


@pytest.mark.parametrize(
    ("names", "code"),
    [("ts", 3), ("tl", 1), ("sl", 1), ("tt", 0), ("tm", 2), ("lm", 2), ("stl", 1)],
)
def test_the_code_of_several_records(simcal, tmp_path, monkeypatch, names, code):
    slopes = {"t": TIGHT, "l": LEAK, "s": SLIGHT}
    paths = [tmp_path / f"{n}{k}.csv" for k, n in enumerate(names)]
    for k, n in enumerate(names):
        if n in slopes:
            written(tmp_path, f"{n}{k}", slopes[n])
    ran = simcal("judge", *paths, "--json")
    assert ran.code == code
    assert [one["record"] for one in lines_of(ran.out)] == [path.name for path in paths]
    assert ran.err.count("\n") == names.count("m")


def test_a_defect_in_one_record_gives_70_and_the_others_their_line(simcal, tmp_path, monkeypatch):
    from simcal.analysis import judge as room

    paths, right = [written(tmp_path, name, LEAK) for name in ("a", "b")], room.judge

    def broken(record, about):
        if record.name == "a.csv":
            raise ZeroDivisionError("made for this test")
        return right(record, about)

    monkeypatch.setattr(room, "judge", broken)
    ran = simcal("judge", *paths, "missing.csv", "--json")
    assert ran.code == 70
    documents = lines_of(ran.out)
    assert documents[0]["error"] == "a defect of simcal: ZeroDivisionError: made for this test"
    assert documents[1]["verdict"] == "leak" and documents[2]["error"].startswith("missing.csv: ")


def test_several_records_get_a_line_each_and_a_count(simcal, tmp_path):
    paths = [written(tmp_path, name, slope) for name, slope in (("a", TIGHT), ("b", LEAK), ("c", TIGHT))]
    ran = simcal("judge", *paths, "--workers", "2")
    assert (ran.code, ran.err) == (1, "")
    lines = ran.out.splitlines()
    assert [line.split(",")[0] for line in lines[:3]] == ["a.csv: tight", "b.csv: leak", "c.csv: tight"]
    assert lines[4] == "3 records: 1 leak, 2 tight"
    assert simcal("judge", *paths, "--workers", "1").out == ran.out


def test_one_about_file_counts_for_all(simcal, tmp_path):
    paths = [written(tmp_path, name, TIGHT) for name in ("a", "b")]
    about = paths[0].with_suffix(".toml").rename(tmp_path / "all.toml")
    paths[1].with_suffix(".toml").unlink()
    assert simcal("judge", *paths, "--about", about).code == 0


def test_holds_of_one_set_are_judged_together_and_tell_more(simcal, tmp_path):
    paths = [written(tmp_path, n, TIGHT, seed=k, hold_set='"A"') for k, n in enumerate("abc")]
    alone, both = (lines_of(simcal("judge", *paths, *more, "--json").out) for more in ([], ["--together"]))
    assert [len(alone), len(both)] == [3, 1]
    assert both[0]["records"] == ["a.csv", "b.csv", "c.csv"] and both[0]["verdict"] == "tight"
    widths = [one["high_mol_per_s"] - one["low_mol_per_s"] for one in (*both, *alone)]
    assert widths[0] < min(widths[1:])


@pytest.mark.parametrize(
    ("changed", "line"),
    [
        ({"hold_set": '"B"'}, 'b.toml: hold_set: "B" for b.csv, but "A" for a.csv; '),
        ({"hold_set": None}, 'b.toml: hold_set: not stated for b.csv, but "A" for a.csv; '),
        ({"gas": '"helium"'}, 'b.toml: gas: "helium" for b.csv, but "nitrogen" for a.csv; '),
        ({"capacity": '"50 cm3"'}, "b.toml: capacity: 5e-05 for b.csv, but 0.0001 for a.csv; "),
        ({"permitted_leak": '"5e-9 mol/s"'}, "b.toml: permitted_leak: 5e-09 mol/s for b.csv, but 2e-08 mol/s for "),
        ({"permitted_leak": None}, "b.toml: permitted_leak: not stated for b.csv, but 2e-08 mol/s for a.csv; "),
    ],
)
def test_holds_that_do_not_belong_together_are_refused(simcal, tmp_path, changed, line):
    paths = [
        written(tmp_path, "a", TIGHT, hold_set='"A"'),
        written(tmp_path, "b", TIGHT, **{"hold_set": '"A"', **changed}),
    ]
    ran = simcal("judge", *paths, "--together")
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.startswith(line) and ran.err.count("\n") == 1


@pytest.mark.parametrize(
    ("slope", "truth", "said"),
    [(LEAK, 8e-8, "right, it is leak"), (TIGHT, 8e-8, "wrong, it is leak"), (SLIGHT, 2.05e-8, "undecided, it is leak"),
     (LEAK, -8e-8, "right, it is leak"), (TIGHT, 1e-9, "right, it is tight"), (LEAK, 0.0, "wrong, it is tight")],
)  # fmt: skip
def test_a_verdict_is_marked_against_a_known_answer(simcal, tmp_path, slope, truth, said):
    path = written(tmp_path, "hold", slope)
    (tmp_path / "answers").mkdir()
    answer = {"truth": {"leak_mol_per_s": truth, "permitted_mol_per_s": 2e-8}}
    (tmp_path / "answers" / "hold.json").write_text(json.dumps(answer), encoding="ascii")
    ran = simcal("judge", path, "--answers", tmp_path / "answers")
    assert f"answer: {said} (" in ran.out
    (document,) = lines_of(simcal("judge", path, "--answers", tmp_path / "answers", "--json").out)
    assert document["answer"]["mark"] == said.split(",")[0]
    assert document["answer"]["inside"] is (document["low_mol_per_s"] <= truth <= document["high_mol_per_s"])


@pytest.mark.parametrize(
    ("content", "line"),
    [
        (None, "no such answer; "),
        ("{", "cannot be read ("),
        ("[]", "truth: missing; "),
        ('{"truth": {"leak_mol_per_s": 1}}', "truth.permitted_mol_per_s: None; a number in mol/s"),
        (
            '{"truth": {"leak_mol_per_s": NaN, "permitted_mol_per_s": 1}}',
            "truth.leak_mol_per_s: nan; a number in mol/s",
        ),
    ],
)
def test_an_answer_that_is_none_is_one_line(simcal, tmp_path, content, line):
    path = written(tmp_path, "hold", TIGHT)
    if content is not None:
        (tmp_path / "hold.json").write_text(content, encoding="ascii")
    ran = simcal("judge", path, "--answers", tmp_path)
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.startswith(f"{tmp_path / 'hold.json'}: {line}") and ran.err.count("\n") == 1


def test_a_folder_is_whole_and_runs_again_alone(simcal, tmp_path):
    path, place = written(tmp_path, "hold", SLIGHT), tmp_path / "out"
    assert simcal("judge", path, "--out", place).code == 3
    files = {
        "assumed.csv",
        "blocks.csv",
        "causes.csv",
        "judge.png",
        "judge.svg",
        "page.html",
        "parts.csv",
        "result.json",
    }
    assert {one.name for one in place.iterdir()} == files
    assert simcal("judge", path, "--out", place).code == 2
    assert simcal("judge", path, "--out", place, "--force").code == 3
    path.unlink()
    path.with_suffix(".toml").unlink()
    again = simcal("judge", place / "result.json")
    assert (again.code, again.out, again.err) == (0, "equal\n", "")
    document = json.loads((place / "result.json").read_text(encoding="ascii"))
    assert set(document["files"]) == files and str(tmp_path) not in json.dumps(document)
    document["low_mol_per_s"] *= 1.5
    (place / "result.json").write_text(json.dumps(document), encoding="ascii")
    told = simcal("judge", place / "result.json", "--json")
    assert told.code == 1 and lines_of(told.out, "again")[0]["first"] == "low_mol_per_s"
    document["inputs"]["hold.csv"]["text"] += " "
    (place / "result.json").write_text(json.dumps(document), encoding="ascii")
    assert simcal("judge", place / "result.json").err.endswith(
        "inputs.hold.csv.sha256: does not fit the record; the record that was judged\n"
    )


def test_several_records_get_a_folder_each(simcal, tmp_path):
    paths, place = [written(tmp_path, name, TIGHT, hold_set='"A"') for name in ("a", "b")], tmp_path / "out"
    assert simcal("judge", *paths, "--out", place).code == 0
    assert sorted(one.name for one in place.iterdir()) == ["a", "b", "result.json", "verdicts.csv"]
    assert (place / "verdicts.csv").read_text(encoding="utf-8").splitlines()[1].startswith("a.csv,tight,")
    assert simcal("judge", place / "b" / "result.json").out == "equal\n"
    (place / "b" / "mine.txt").write_text("mine", encoding="utf-8")
    refused = simcal("judge", *paths, "--out", place, "--force")
    assert (refused.code, refused.out) == (2, "") and "holds b/mine.txt, which simcal did not write" in refused.err
    (place / "b" / "mine.txt").unlink()
    assert simcal("judge", *paths, "--together", "--out", place, "--force").code == 0
    assert simcal("judge", place / "result.json").out == "equal\n"


def test_a_long_record_is_kept_by_its_hash_and_found_beside_the_result(simcal, tmp_path, monkeypatch):
    monkeypatch.setattr("simcal.files.records.kept.LONGEST", 100)
    path, place = written(tmp_path, "hold", TIGHT), tmp_path / "out"
    assert simcal("judge", path, "--out", place).code == 0
    result = place / "result.json"
    assert json.loads(result.read_text(encoding="ascii"))["inputs"]["hold.csv"]["text"] is None
    missing = simcal("judge", result)
    assert missing.code == 2 and "inputs.hold.csv: the record was too long to be kept" in missing.err
    (place / "hold.csv").write_bytes(path.read_bytes())
    assert simcal("judge", result).out == "equal\n"


def test_a_record_that_is_no_utf8_runs_again(simcal, tmp_path):
    path, place = written(tmp_path, "hold", TIGHT), tmp_path / "out"
    path.write_bytes(path.read_bytes().replace(b"time_s,", "Zeit Pr\u00fcfling [s],".encode("latin-1"), 1))
    assert simcal("judge", path, "--out", place, "--set", "columns.time=1").code == 0
    assert (
        json.loads((place / "result.json").read_text(encoding="ascii"))["inputs"]["hold.csv"]["encoding"] == "latin-1"
    )
    assert simcal("judge", place / "result.json").out == "equal\n"


def test_the_library_judges_what_it_read(tmp_path):
    paths = [written(tmp_path, name, LEAK) for name in ("a", "b")]
    from simcal.files.about_file import load_about

    holds = [
        (record, load_about(path.with_suffix(".toml")))
        for record, path in zip(library.read(*paths), paths, strict=True)
    ]
    assert library.judge(*holds[0]).verdict == library.judge_together(holds).verdict == "leak"
