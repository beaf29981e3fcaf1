"""`simcal read`: text, JSON lines held to their schema, several records, exit codes."""

import json
from pathlib import Path

import jsonschema
import pytest

import simcal as library
from tests.files.records.variants import VARIANTS, preamble_header_units, truncated_last_line

SCHEMA = Path(library.__file__).parent / "show" / "schemas" / "read.schema.json"


def lines_of(text):
    """The documents a command printed, each held to the schema."""
    schema = json.loads(SCHEMA.read_text(encoding="utf-8"))
    found = [json.loads(line) for line in text.splitlines()]
    for one in found:
        jsonschema.validate(one, schema)
    return found


@pytest.fixture
def record(tmp_path):
    """A readable record and its folder."""
    path = tmp_path / "hold.csv"
    path.write_bytes(preamble_header_units().raw)
    return path


def test_every_ugly_record_keeps_to_the_schema(simcal, tmp_path):
    paths = []
    for maker in VARIANTS:
        ugly = maker()
        paths.append(tmp_path / f"{maker.__name__}.csv")
        paths[-1].write_bytes(ugly.raw)
        paths[-1].with_suffix(".toml").write_text(ugly.about, encoding="utf-8")
    ran = simcal("read", *paths, "--json")
    assert (ran.code, ran.err) == (0, "")
    documents = lines_of(ran.out)
    assert [one["record"] for one in documents] == [path.name for path in paths]
    for one in documents:
        rows = len(one["time_s"])
        assert rows == len(one["pressure_Pa"]) == len(one["temperature_K"] or one["time_s"])
        assert (one["temperature_K"] is None) == ("temperature_K" in one["reasons"])


def test_the_text_shows_what_was_understood_and_how_to_state_it(simcal, record):
    ran = simcal("read", record)
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith(
        "hold.csv: 120 rows over 59.5 s, 7.000774 to 7.001200 bar, gauge or absolute not stated\n"
    )
    for part in (
        'pressure: column 2 "Pressure", kPa',
        "  0     0  7.001200       21.350\n",
        "usual step 0.5 s",
        "for a rate add to hold.toml, filled in:",
        '    reading     = "..."  # "gauge" or "absolute"',
        "    file.header_row = 6",
    ):
        assert part in ran.out


def test_the_lines_of_the_text_are_an_about_file_after_which_nothing_is_assumed(simcal, record):
    out = simcal("read", record).out
    stated = [line for line in out.splitlines() if line.startswith("    ") and " = " in line and '"..."' not in line]
    record.with_suffix(".toml").write_text("\n".join([*stated, 'reading = "gauge"']), encoding="utf-8")
    again = simcal("read", record).out
    assert "bar gauge\n" in again and "nothing was assumed" in again and "reading  " not in again


def test_what_is_missing_for_a_rate_and_a_verdict_is_listed(simcal, record):
    def lacking(*lines):
        record.with_suffix(".toml").write_text("\n".join(lines), encoding="utf-8")
        out = simcal("read", record).out
        return [line.split()[0] for line in out.splitlines() if '= "..."' in " ".join(line.split())], out

    rate = ['reading = "gauge"', 'isolated_at = "2 s"', 'gas = "air"', 'capacity = "100 cm3"']
    assert lacking()[0] == ["reading", "isolated_at", "gas", "capacity", "permitted_leak"]
    keys, out = lacking(*rate)
    assert keys == ["permitted_leak"] and "for a verdict add to hold.toml" in out and "for a rate" not in out
    assert lacking(*rate, 'permitted_leak = "1e-7 mol/s"')[0] == []


def test_one_unreadable_record_of_several_gets_its_line(simcal, record, tmp_path):
    other = tmp_path / "other.csv"
    other.write_bytes(truncated_last_line().raw)
    ran = simcal("read", record, tmp_path / "missing.csv", other, "--json")
    assert ran.code == 2
    assert [one.get("error") for one in lines_of(ran.out)] == [
        None,
        f"{tmp_path / 'missing.csv'}: no such file; the name of a logger's file",
        None,
    ]
    assert ran.err.count("\n") == 1


def test_an_about_file_is_given_for_all_or_lies_beside(simcal, record, tmp_path):
    about = tmp_path / "all.toml"
    about.write_text('reading = "absolute"', encoding="utf-8")
    assert lines_of(simcal("read", record, "--about", about, "--json").out)[0]["reference"] == "absolute"
    record.with_suffix(".toml").write_text('reading = "gauge"', encoding="utf-8")
    assert lines_of(simcal("read", record, "--json").out)[0]["reference"] == "gauge"
    assert lines_of(simcal("read", record, "--json", "--set", "reading=absolute").out)[0]["reference"] == "absolute"


def test_a_faulty_about_file_is_one_line(simcal, record):
    record.with_suffix(".toml").write_text('reading = "guage"', encoding="utf-8")
    ran = simcal("read", record)
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.endswith(
        'hold.toml: reading: "guage" is not known; did you mean "gauge"? known are: gauge, absolute\n'
    )


def test_no_record_is_said(simcal):
    assert simcal("read").err == "command line: RECORD: no record; simcal read FILE.csv\n"


def test_a_defect_of_one_record_keeps_its_code_and_the_others_their_answer(simcal, record, monkeypatch):
    def broken(path, about):
        raise ZeroDivisionError("made for this test")

    monkeypatch.setattr("simcal.files.records.reader.read_record", broken)
    ran = simcal("read", record, "missing.csv", "--json")
    assert ran.code == 70
    assert [one["error"] for one in lines_of(ran.out)] == [
        "a defect of simcal: ZeroDivisionError: made for this test"
    ] * 2


def test_records_are_read_by_the_library(record):
    one, other = library.read(record, record)
    assert one.name == "hold.csv" and len(other.time_s) == 120 and one.elapsed(12.0) == 12.0
