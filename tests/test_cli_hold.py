"""`simcal hold` as a user types it: what is printed, what is written, how it is run again, what is refused."""

import json
import re
from pathlib import Path

import jsonschema
import pytest

SCHEMAS = Path(__file__).resolve().parent.parent / "simcal" / "show" / "schemas"
SHORT = ("--soak", "5s", "--watch", "20s", "--quiet")


def held_to_its_schema(text, name="hold"):
    """The one document a command printed, checked against its schema."""
    document = json.loads(text, parse_constant=lambda found: pytest.fail(f"{found} in JSON"))
    jsonschema.validate(document, json.loads((SCHEMAS / f"{name}.schema.json").read_text(encoding="utf-8")))
    return document


def test_the_text_tells_the_parts_and_ends_with_the_seed(simcal, short_bench):
    ran = simcal("hold", short_bench, *SHORT, "--seed", "7")
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith("hold at 6.000 bar gauge from below after 5.00 s of soak: the reading changes by -")
    assert ran.out.rstrip().endswith("seed 7")


def test_a_broken_limit_of_a_device_comes_first(simcal, short_bench):
    words = (*SHORT, "--pressure", "6 bar gauge", "--set", "device.gauge.highest=6 bar gauge")
    assert simcal("hold", short_bench, *words).out.startswith("DEVICE LIMIT BROKEN: gauge may see 7.0132 bar abs, the")


def test_json_is_one_document_with_what_was_asked(simcal, short_bench):
    words = ("--pressure", "3 bar gauge", "--from", "above", "--every", "0.5 s", "--permitted-leak", "2e-8 mol/s")
    ran = simcal("hold", short_bench, *SHORT, *words, "--set", "gas=helium", "--json")
    assert (ran.code, ran.err) == (0, "")
    document = held_to_its_schema(ran.out)
    assert document["arguments"] == {
        "bench": "short.toml", "pressure": "3 bar gauge", "soak": "5s", "wait": "0 s", "watch": "20s",
        "direction": "above", "every": "0.5 s", "sensor": None, "permitted_leak": "2e-8 mol/s", "seed": 1,
        "set": ["gas=helium"],
    }  # fmt: skip
    assert document["gas"] == "helium"
    assert document["truth"]["permitted_mol_per_s"] == 2e-8
    assert str(short_bench.parent) not in ran.out


def test_a_folder_holds_record_and_about_file_and_runs_again(simcal, short_bench, tmp_path):
    place = tmp_path / "out"
    assert simcal("hold", short_bench, *SHORT, "--out", place).code == 0
    assert {"record.csv", "record.toml", "result.json", "page.html", "parts.csv"} <= {p.name for p in place.iterdir()}
    assert simcal("hold", short_bench, *SHORT, "--out", place).code == 2
    assert simcal("hold", short_bench, *SHORT, "--out", place, "--force").code == 0
    again = simcal("hold", place / "result.json")
    assert (again.code, again.out, again.err) == (0, "equal\n", "")
    told = simcal("hold", place / "result.json", "--json")
    assert held_to_its_schema(told.out, "again")["equal"] is True
    document = json.loads((place / "result.json").read_text(encoding="ascii"))
    document["truth"]["leak_mol_per_s"] *= 2.0
    (place / "result.json").write_text(json.dumps(document), encoding="ascii")
    changed = simcal("hold", place / "result.json")
    assert changed.code == 1 and changed.out.startswith("truth.leak_mol_per_s: saved ")


def test_two_holds_of_one_set_share_a_folder_and_are_judged_together(simcal, short_bench, tmp_path):
    place, limit = tmp_path / "pair", ("--permitted-leak", "5e-8 mol/s")
    for way in ((), ("--from", "above", "--pressure", "5 bar gauge")):
        words = (*SHORT, *limit, "--hold-set", "A", "--out", place, *way)
        assert simcal("hold", short_bench, *words).code == 0
        assert simcal("hold", short_bench, *words).code == 2  # it is there already
    assert sorted(p.name for p in place.iterdir()) == ["above", "below"]
    assert 'hold_set = "A"' in (place / "above" / "above.toml").read_text(encoding="utf-8")
    ran = simcal("judge", "--together", place / "below" / "below.csv", place / "above" / "above.csv")
    assert ran.err == "" and ran.out.startswith("below.csv + above.csv, judged together: ")
    assert simcal("hold", place / "above" / "result.json").out == "equal\n"
    assert simcal("hold", short_bench, *SHORT, "--name", "third", "--out", place).code == 0
    assert "hold_set" not in (place / "third" / "third.toml").read_text(encoding="utf-8")


def test_hold_read_and_judge_tell_one_level_in_the_benchs_own_unit(simcal, tmp_path):
    # 160 bar would be MPa by size; the bench file writes bar, and so does all that follows from it
    bench, place = SCHEMAS.parents[2] / "configs" / "nitrogen-160bar.toml", tmp_path / "out"
    limit = ("--permitted-leak", "1e-6 mol/s")
    said = simcal("hold", bench, *SHORT, *limit, "--every", "0.5s", "--out", place).out
    read, judged = (simcal(command, place / "record.csv").out for command in ("read", "judge"))
    assert said.startswith("hold at 160.0 bar gauge from below")
    assert re.search(r"1\d\d\.\d+ to 16\d\.\d+ bar gauge", read)
    assert re.search(r"nitrogen,\s+1\d\d\.\d\s+bar\s+gauge", judged)
    assert re.search(r"volume\.port\.capacity +5\d\.\d\d +50\.00 +cm3\n", said)
    assert re.search(r"room\.drift +-?\d\.\d+ +0 +K/h\n", said)
    for answer in (said, judged):
        assert "leaks, net: - gas went out, + it came in" in answer


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("--name", "a"), "command line: --name: nothing is saved; --name together with --out DIR\n"),
        (("--hold-set", "A"), "command line: --hold-set: nothing is saved; --hold-set together with --out DIR\n"),
        (("--name", "../a", "--out", "o"), "command line: --name: '../a'; up to 60 letters"),
        (("--name", "parts", "--out", "o"), "command line: --name: 'parts'; a name other than"),
        (("--hold-set", 'A"', "--out", "o"), "command line: --hold-set: 'A\"'; up to 60 letters"),
    ],
)
def test_a_name_or_a_set_that_cannot_be_saved_is_refused(simcal, short_bench, words, line):
    ran = simcal("hold", short_bench, *SHORT, *words)
    assert (ran.code, ran.out) == (2, "") and ran.err.startswith(line)


def test_a_result_of_another_command_is_refused(simcal, short_bench, tmp_path):
    saved = tmp_path / "result.json"
    saved.write_text(json.dumps({"schema": "simcal/settle/1"}), encoding="ascii")
    ran = simcal("hold", saved)
    assert (
        ran.code == 2
        and "simcal/hold/1" in ran.err
        and f"simcal settle {saved}" in ran.err
        and ran.err.count("\n") == 1
    )


@pytest.mark.parametrize("option", ["--pressure", "--out", "--seed", "--set", "--name", "--hold-set"])
def test_an_earlier_result_stands_alone(simcal, tmp_path, option):
    saved = tmp_path / "result.json"
    saved.write_text("{}", encoding="ascii")
    values = {"--pressure": "1 bar abs", "--out": str(tmp_path / "o"), "--seed": "3", "--set": "gas=air"}
    ran = simcal("hold", saved, option, values.get(option, "A"))
    assert ran.code == 2 and "an earlier result together with other options" in ran.err


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("--pressure", "5 bar"), "--pressure: "),
        (("--pressure", "5 bar gauge +- 1 %"), "a level without a spread"),
        (("--pressure", "50 bar gauge"), "is out of reach; more than 1.0132 bar abs, at most 7.0132 bar abs"),
        (("--from", "beside"), '--from: "beside"; below or above'),
        (("--soak", "5"), "--soak: "),
        (("--watch", "0.5 s"), "a time from 1 s to 7 d"),
        (("--watch", "8 d"), "a time from 1 s to 7 d"),
        (("--wait", "-1 s"), "a time of 0 s or more"),
        (("--every", "30 s", "--watch", "20 s"), "20 s holds no row"),
        (("--every", "1 us"), "--every: "),
        (("--watch", "7 d", "--every", "10 ms"), "leaves at most 1000000 rows"),
        (("--sensor", "x"), '--sensor: no sensor "x"; one of: reference'),
        (("--permitted-leak", "3 bar"), "--permitted-leak: "),
        (("--permitted-leak", "0 mol/s"), "a rate above 0 without a spread"),
        (("--permitted-leak", "1e-8 mol/s +- 5 %"), "a rate above 0 without a spread"),
        (("--seed", "-1"), "--seed: "),
        (("--set", "leak.fitting.at=nowhere"), "there is no volume"),
    ],
)
def test_a_bad_input_is_one_line_and_2(simcal, short_bench, words, line):
    ran = simcal("hold", short_bench, "--quiet", *words)
    assert ran.code == 2 and ran.out == ""
    assert line in ran.err and ran.err.count("\n") == 1


def test_without_a_bench_there_is_one_line(simcal):
    ran = simcal("hold")
    assert ran.code == 2 and "no bench file" in ran.err and ran.err.count("\n") == 1


def test_the_method_is_told(simcal):
    ran = simcal("hold", "--method")
    assert ran.code == 0 and "thermal     = -integral" in ran.out
    assert max(map(len, ran.out.splitlines())) <= 120
