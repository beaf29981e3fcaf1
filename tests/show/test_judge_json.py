"""The JSON of a judgement: its schema, the names of the contract, reasons where a value is missing."""

import json
import math
from pathlib import Path

import jsonschema
import pytest

from simcal.analysis.judge.judgement import ACTIONS, CAUSES, PARTS
from simcal.show import judge_json
from simcal.show.judge_json import judge_document
from tests.show.judged import KINDS, judged

SCHEMA = json.loads((Path(judge_json.__file__).parent / "schemas" / "judge.schema.json").read_text(encoding="utf-8"))
CONTRACT = {
    "record", "verdict", "leak_mol_per_s", "low_mol_per_s", "high_mol_per_s", "permitted_mol_per_s",
    "leak_Pa_m3_per_s", "low_Pa_m3_per_s", "high_Pa_m3_per_s", "permitted_Pa_m3_per_s", "change_Pa",
    "change_parts_Pa", "causes", "next_action", "assumed", "reasons", "schema", "version", "seed", "inputs",
    "arguments",
}  # fmt: skip
"""Names that others rely on."""


@pytest.mark.parametrize("kind", KINDS)
def test_every_document_keeps_to_the_schema(kind):
    arguments = {"records": ["hold.csv"], "about": None, "set": [], "together": False, "seed": 1}
    document = judge_document(judged(kind), {}, arguments)
    jsonschema.validate(document, SCHEMA)
    assert set(document) >= CONTRACT
    assert json.loads(json.dumps(document, allow_nan=False)) == document


@pytest.mark.parametrize("kind", KINDS)
def test_parts_sum_to_the_change_and_weights_to_one(kind):
    document = judge_document(judged(kind))
    assert sum(document["change_parts_Pa"].values()) == pytest.approx(document["change_Pa"], abs=1e-6)
    assert sum(document["causes"].values()) == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("kind", KINDS)
def test_the_four_rates_are_given_in_both_units(kind):
    # 1 Pa m3/s at 20 degC is 4.102758e-4 mol/s (check D4)
    document = judge_document(judged(kind))
    for name in ("leak", "low", "high", "permitted"):
        amount, flow = document[f"{name}_mol_per_s"], document[f"{name}_Pa_m3_per_s"]
        assert (amount is None) == (flow is None) == (f"{name}_mol_per_s" in document["reasons"])
        assert amount is None or math.isclose(flow * 4.102758e-4, amount, rel_tol=1e-6)


def test_the_schema_lists_what_the_judge_can_say():
    properties = SCHEMA["$defs"]["answer"]["properties"]
    assert properties["next_action"]["properties"]["kind"]["enum"] == list(ACTIONS)
    assert list(properties["causes"]["properties"]) == list(CAUSES)
    assert list(properties["change_parts_Pa"]["properties"]) == list(PARTS)


def test_a_document_that_breaks_the_contract_is_refused_by_the_schema():
    document = judge_document(judged("leak"))
    for change in ({"verdict": "maybe"}, {"leak_mol_per_s": None}, {"extra": 1}, {"watch_from_s": "0"}):
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate({**document, **change}, SCHEMA)
