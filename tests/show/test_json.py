"""The document of an answer: its schema, null with reasons, inputs, and the comparison of two documents."""

import json
import math
from copy import deepcopy
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from jsonschema import Draft202012Validator

import simcal.show
from simcal.show.jsonout import clean, first_difference, hash_of, settle_document
from tests.show import fabricated

SCHEMA = json.loads((Path(simcal.show.__file__).parent / "schemas/settle.schema.json").read_text(encoding="utf-8"))


def check(document: dict) -> None:
    """Hold a document to the schema, through the text that is printed."""
    read_back = json.loads(json.dumps(document, allow_nan=False))
    Draft202012Validator(SCHEMA).validate(read_back)
    assert read_back == document


def test_the_schema_is_one() -> None:
    Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("count", [1, 2, 21])
@pytest.mark.parametrize("mode", ["held", "isolated"])
@pytest.mark.parametrize("trials", [0, 20])
def test_every_answer_keeps_to_the_schema(count: int, mode: str, trials: int) -> None:
    result = fabricated.settled(count, devices=("one", "zwö"), mode=mode, trials=trials)
    check(settle_document(result, None, {"bench": "six.toml"}))
    check(settle_document(fabricated.grouped(result)))


def test_an_answer_with_troubles_keeps_to_the_schema_and_gives_its_reasons() -> None:
    check(settle_document(fabricated.bare(fabricated.settled())))
    document = settle_document(fabricated.troubled(fabricated.settled()))
    check(document)
    assert document["points"][2]["dwell_s"] is None
    assert document["reasons"]["points.2.dwell_s"] == "not reached: the supply is too low for this setpoint"
    assert document["reasons"]["points.*.latest_s"].startswith("only a point read with the valves shut")
    assert document["good"] is False


def test_a_number_that_is_none_becomes_null_with_its_reason() -> None:
    result = fabricated.settled()
    points = (replace(result.points[0], make_up_mol_per_s=math.nan), *result.points[1:])
    document = settle_document(replace(result, points=points))
    check(document)
    assert document["points"][0]["make_up_mol_per_s"] is None
    assert document["reasons"]["points.0.make_up_mol_per_s"] == "not a finite number (nan)"


def test_arrays_and_numbers_of_numpy_become_plain_ones() -> None:
    reasons: dict[str, str] = {}
    assert clean({"a": np.array([1.0, np.inf]), "b": np.float64(2.0), "c": (np.int64(3), True)}, "", reasons) == {
        "a": [1.0, None],
        "b": 2.0,
        "c": [3, True],
    }
    assert list(reasons) == ["a.1"]


def test_every_input_comes_with_its_text_and_its_hash() -> None:
    # SHA-256 of "abc": FIPS 180-4, example of appendix B.1
    assert hash_of("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def test_equal_documents_have_no_first_difference() -> None:
    document = settle_document(fabricated.settled())
    assert first_difference(document, deepcopy(document)) is None


@pytest.mark.parametrize(
    ("place", "value", "found"),
    [
        (("seed",), 2, "seed"),
        (("points", 3, "dwell_s"), 1.0, "points.3.dwell_s"),
        (("points", 1, "error_parts_Pa", "line"), None, "points.1.error_parts_Pa.line"),
        (("good",), 1, "good"),
        (("new",), 1, "new"),
    ],
)
def test_the_first_difference_is_named_by_its_key(place: tuple, value: object, found: str) -> None:
    document = settle_document(fabricated.settled())
    changed = deepcopy(document)
    inner = changed
    for key in place[:-1]:
        inner = inner[key]
    inner[place[-1]] = value
    there, back = first_difference(document, changed), first_difference(changed, document)
    assert there is not None and back is not None
    assert (there.key, there.b) == (found, value)
    assert (back.key, back.a, back.b) == (found, value, there.a)


def test_a_list_that_is_shorter_differs_where_it_ends() -> None:
    assert first_difference({"points": [1, 2]}, {"points": [1]}) == ("points.1", 2, None)


def test_another_machine_may_differ_in_the_ninth_place_only() -> None:
    assert first_difference({"dwell_s": 10.0}, {"dwell_s": 10.0 + 5e-9}) is None
    assert first_difference({"dwell_s": 10.0}, {"dwell_s": 10.0 + 5e-8}) == ("dwell_s", 10.0, 10.0 + 5e-8)
    assert first_difference({"parts_Pa": {"line": 0.0}}, {"parts_Pa": {"line": 5e-7}}) is None
    assert first_difference({"leak_mol_per_s": 0.0}, {"leak_mol_per_s": 1e-11}) == ("leak_mol_per_s", 0.0, 1e-11)
