"""`simcal criterion` as a user types it: text, JSON, folder, given criteria, what is refused, running again."""

import json
import re
from html.parser import HTMLParser
from pathlib import Path

import jsonschema
import pytest

from simcal.files.about_file import load_about

SCHEMAS = Path(__file__).resolve().parent.parent / "simcal" / "show" / "schemas"
QUICK = ("--pressure", "5 bar gauge", "--soak", "30s", "--wait", "120s", "--benches", "20", "--quiet")
LEAK = ("--permitted-leak", "0.2 sccm(0 degC)")
CLEAR = (*QUICK, *LEAK, "--watch", "60s")
OUGHT = ["changes.csv", "criterion.png", "criterion.svg", "criterion.toml", "curve.csv", "page.html", "procedure.txt",
         "result.json"]  # fmt: skip


def held_to_its_schema(text, name="criterion"):
    """The one document a command printed, checked against its schema."""
    document = json.loads(text, parse_constant=lambda found: pytest.fail(f"{found} in JSON"))
    jsonschema.validate(document, json.loads((SCHEMAS / f"{name}.schema.json").read_text(encoding="utf-8")))
    return document


def about_file(folder, **changed):
    said = {
        "reading": '"gauge"', "isolated_at": '"0 s"', "soak": '"30 s"',
        "criterion": '{ wait = "60 s", watch = "60 s", allowed_drop = "50 Pa" }',
    } | changed  # fmt: skip
    path = folder / "shop.toml"
    path.write_text("".join(f"{key} = {value}\n" for key, value in said.items() if value), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def saved(tmp_path_factory):
    """A folder with an answer, and the text that was printed."""
    from simcal.cli import main

    place = tmp_path_factory.mktemp("criterion") / "out"
    root = Path(__file__).resolve().parent.parent
    bench = root / "configs" / "holds-6bar.toml"
    assert main(["criterion", str(bench), *CLEAR, "--bad-share", "2 %", "--out", str(place)]) == 0
    return place


def test_a_folder_holds_all_that_a_procedure_needs_and_runs_again(simcal, saved):
    assert sorted(path.name for path in saved.iterdir()) == OUGHT
    document = held_to_its_schema((saved / "result.json").read_text(encoding="ascii"))
    assert document["files"] == OUGHT
    assert (document["soak_s"], document["wait_s"], document["watch_s"]) == (30.0, 120.0, 60.0)
    assert document["false_alarm"] <= 0.05 and document["miss"] <= 0.05
    again = simcal("criterion", saved / "result.json", "--quiet")
    assert (again.code, again.out, again.err) == (0, "equal\n", "")


def test_the_block_for_an_about_file_is_one(saved, tmp_path):
    document = json.loads((saved / "result.json").read_text(encoding="ascii"))
    text = (saved / "criterion.toml").read_text(encoding="utf-8")
    (tmp_path / "hold.toml").write_text(f'reading = "gauge"\n{text}', encoding="utf-8")
    about = load_about(tmp_path / "hold.toml")
    assert about.criterion.allowed_drop == document["allowed_drop_Pa"]
    assert (about.soak, about.criterion.wait, about.criterion.watch) == (30.0, 120.0, 60.0)
    assert about.permitted_leak.value == pytest.approx(document["permitted_mol_per_s"], rel=1e-5)


def test_the_procedure_is_in_the_units_of_the_shop_and_warns(saved):
    words = (saved / "procedure.txt").read_text(encoding="utf-8")
    document = json.loads((saved / "result.json").read_text(encoding="ascii"))
    assert words.startswith("Go to 5.000 bar gauge from below with the controller on and stay for 30 s (soak).")
    drop = document["allowed_drop_Pa"]
    assert f"fallen by at most {drop:.4g} Pa ({drop / 100:.4g} mbar)" in words
    assert "do not tighten anything under pressure" in words and "Risen by more: no pass" in words
    assert not re.search(r"(?i)\bsafe", words)


def test_the_page_stands_alone_and_shows_the_figure(saved):
    page = (saved / "page.html").read_text(encoding="utf-8")
    HTMLParser().feed(page)
    assert page.count("<svg") == 1 and "<script" not in page
    for words in ("What the procedure says.", "Chance of a fail by the leak.", "The worst of the fresh benches."):
        assert words in page
    assert "Upper panel: share of the holds that fail against the leak" in page


def test_json_is_one_document_and_says_what_is_compared(simcal, short_bench):
    ran = simcal(
        "criterion", short_bench, *CLEAR, "--from", "above", "--pressure", "1 bar gauge", "--readings", "3", "--json"
    )
    assert (ran.code, ran.err) == (0, "")
    document = held_to_its_schema(ran.out)
    assert document["compare"] == {
        "sensor": "reference", "readings": 3, "every_s": 1.0, "reading": "gauge", "temperature_corrected": False,
        "holds": 1,
    }  # fmt: skip
    assert document["decision"] is None and "decision" in document["reasons"]
    assert document["permitted_mol_per_s"] == pytest.approx(0.2e-6 / 60 * 101325 / (8.314462618 * 273.15))
    assert document["healthy_mol_per_s"] == pytest.approx(0.1 * document["permitted_mol_per_s"])
    assert {"key": "leak.fitting", "value": "put aside"}.items() <= document["assumed"][-1].items()
    assert str(short_bench.parent) not in ran.out


def test_an_infeasible_one_says_why_and_what_would_help(simcal, short_bench):
    words = (*QUICK, "--permitted-leak", "1e-10 mol/s", "--longest", "400s")
    ran = simcal("criterion", short_bench, *words)
    assert (ran.code, ran.err) == (1, "")
    assert ran.out.startswith(
        "no criterion for 0.100 nmol/s (0.000134 sccm(0 degC)) at 5.000 bar gauge from below: within"
    )
    assert "what would make it feasible, each alone:\n- a permitted leak " in ran.out


def test_a_given_criterion_is_explained(simcal, short_bench, tmp_path):
    """Its leak by hand: 50 Pa in 60 s less the 4 s of the means, of an ideal gas, is what fails in half of the holds,
    but for the heat that makes part of the fall."""
    about = about_file(tmp_path)
    ran = simcal(
        "criterion",
        short_bench,
        "--pressure",
        "5 bar gauge",
        "--benches",
        "20",
        "--explain",
        about,
        "--json",
        "--quiet",
    )
    document = held_to_its_schema(ran.out)
    assert (ran.code, document["explained"], document["allowed_rise_Pa"], document["miss"]) == (0, True, None, None)
    capacity = document["catches"]["capacity_m3"]
    cold = 50.0 / 56.0 * capacity / (8.314462618 * 293.15)
    assert 0.2 * cold < document["catches"]["half_mol_per_s"] < cold
    rates = [one["half_mol_per_s"] for one in document["caught"]]
    assert rates == sorted(rates) and len(rates) == 7
    assert {"short.toml", "shop.toml"} <= document["inputs"].keys()


def test_a_given_criterion_that_does_not_keep_its_risks_is_bad_news(simcal, short_bench, tmp_path):
    about = about_file(tmp_path, permitted_leak='"1e-9 mol/s"')
    words = ("--pressure", "5 bar gauge", "--benches", "20", "--explain", about, "--quiet")
    ran = simcal("criterion", short_bench, *words, "--out", tmp_path / "out")
    assert ran.code == 1 and "and the miss was " in " ".join(ran.out.split())
    assert "what it catches by what the valves shut in:" in ran.out
    assert simcal("criterion", tmp_path / "out" / "result.json", "--quiet").out == "equal\n"


@pytest.mark.parametrize(
    ("words", "line"),
    [
        ((), "--permitted-leak: missing"),
        ((*LEAK, "--permitted-leak", "0 mol/s"), "a rate above 0 without a spread"),
        ((*LEAK, "--healthy-leak", "1 bar"), "--healthy-leak: "),
        ((*LEAK, "--healthy-leak", "0.3 sccm(0 degC)"), "--healthy-leak: 1.5 of the permitted one"),
        ((*LEAK, "--false-alarm", "0.05"), 'write "0.05 %" or "5 %"'),
        ((*LEAK, "--miss", "50 %"), "a share from 0.1 % to 40 %"),
        ((*LEAK, "--from", "beside"), '--from: "beside"; one of below, above, either, both'),
        ((*LEAK, "--leak-law", "seat"), '--leak-law: "seat"'),
        ((*LEAK, "--benches", "5"), "--benches: 5; a whole number from 20"),
        ((*LEAK, "--readings", "0"), "--readings: 0"),
        ((*LEAK, "--watch", "5s"), "a watch of at least 10 s"),
        ((*LEAK, "--longest", "2 d"), "a time from 10 s to 24 h"),
        ((*LEAK, "--longest", "20s"), "s at least for soak, wait and watch"),
        ((*LEAK, "--pressure", "5 bar"), "--pressure: "),
        ((*LEAK, "--pressure", "50 bar gauge"), "is out of reach"),
        ((*LEAK, "--sensor", "x"), 'no sensor "x"'),
        ((*LEAK, "--explain", "nowhere.toml"), "nowhere.toml"),
        ((*LEAK, "--explain", "nowhere.toml", "--wait", "5s"), "--explain: together with"),
        ((*LEAK, "--set", "volume.port.capacity=big"), "volume.port.capacity"),
    ],
)
def test_a_bad_input_is_one_line_and_2(simcal, short_bench, words, line):
    ran = simcal("criterion", short_bench, "--quiet", *words)
    assert (ran.code, ran.out) == (2, "")
    assert line in ran.err and ran.err.count("\n") == 1


@pytest.mark.parametrize("criterion", ["", '{ wait = "60 s", watch = "60 s" }', '{ allowed_drop = "50 Pa" }'])
def test_an_about_file_without_a_whole_criterion_is_refused(simcal, short_bench, tmp_path, criterion):
    ran = simcal("criterion", short_bench, *LEAK, "--explain", about_file(tmp_path, criterion=criterion))
    assert ran.code == 2 and "shop.toml: criterion: " in ran.err and ran.err.count("\n") == 1


def test_an_earlier_result_stands_alone(simcal, tmp_path):
    (tmp_path / "result.json").write_text("{}", encoding="ascii")
    for words in (LEAK, ("--miss", "1 %"), ("--benches", "50"), ("--from", "above"), ("--seed", "2"), ("--resume",)):
        ran = simcal("criterion", tmp_path / "result.json", *words)
        assert ran.code == 2 and "an earlier result together with other options" in ran.err, words
    ran = simcal("criterion")
    assert ran.code == 2 and "no bench file" in ran.err


def test_the_method_is_told(simcal):
    ran = simcal("criterion", "--method")
    assert ran.code == 0 and "limit >= m(healthy)" in ran.out
    assert max(map(len, ran.out.splitlines())) <= 120
