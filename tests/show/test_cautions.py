"""What is said about compressed gas, and the words that are never said. Rules: those of design and of the trade.

Facts behind the texts: HSE guidance note GS4 (test fittings, hoses), 29 CFR 1910.146 (19.5 % oxygen), CSB safety
bulletin 2003-10-B (nitrogen), ASME PCC-2 article 501 (stored energy; other formulas give other figures).
"""

import re
from dataclasses import replace

import pytest

from simcal.show.cautions import Hazard, brief_caution, cautions
from simcal.show.jsonout import settle_document
from simcal.show.page import settle_page
from simcal.show.text import settle_text
from tests.show import fabricated

BASE = Hazard("nitrogen", 2.1e6, 101325.0, 101325.0, 312.0, fabricated.METHOD)
FORBIDDEN = re.compile(r"saf[e]|harmless|no risk|without risk|permitted distance|relief size", re.IGNORECASE)


def test_the_stored_energy_comes_with_the_name_of_its_method() -> None:
    for text in (" ".join(cautions(BASE)), brief_caution(BASE)):
        assert "about 312 J stored at the highest pressure" in text
        assert fabricated.METHOD.split(",")[0] in text
        assert "local codes" in text.lower()
        assert "competent person" in text
        assert "licensed" in text
        assert "under pressure: vent" in text
        assert "oil" in text


@pytest.mark.parametrize(("gas", "named"), [("nitrogen", True), ("helium", True), ("argon", True), ("air", False)])
def test_gases_that_displace_air_are_named(gas: str, named: bool) -> None:
    hazard = replace(BASE, gas=gas)
    assert (f"{gas.capitalize()} displaces" in " ".join(cautions(hazard))) is named
    assert (f"{gas.capitalize()} displaces" in brief_caution(hazard)) is named


def test_vacuum_and_loud_vents_are_mentioned_where_they_occur() -> None:
    assert not any("implode" in text for text in cautions(BASE))
    assert any("implode" in text for text in cautions(replace(BASE, lowest_Pa=1e3)))
    assert any("hearing" in text for text in cautions(BASE))
    assert not any("hearing" in text for text in cautions(replace(BASE, highest_Pa=7e5)))


def test_an_energy_that_is_missing_is_said_to_be_missing() -> None:
    assert "not computed" in " ".join(cautions(replace(BASE, stored_energy_J=None)))


def test_no_rendered_text_ever_gives_an_all_clear() -> None:
    for result in (fabricated.settled(), fabricated.grouped(fabricated.troubled(fabricated.settled(trials=20)))):
        for gas in ("nitrogen", "air", ""):
            setting = fabricated.setting(gas=gas)
            document = settle_document(result)
            page = settle_page(result, document, setting, [], {}).decode("utf-8")
            for text in (settle_text(result, setting), str(document), page):
                assert FORBIDDEN.search(text) is None
