"""The page: one file without scripts, user text escaped, small, with text alternatives, printable."""

import re
from base64 import b64encode
from hashlib import sha256
from html.parser import HTMLParser
from pathlib import Path

import pytest

from simcal.show.figures import settle_drawings, svg
from simcal.show.jsonout import hash_of, settle_document
from simcal.show.page import settle_page
from simcal.show.sheet import LARGEST
from tests.show import fabricated

EVIL = "<script>alert(1)</script>\"'&{{ 7*7 }}"


def page_of(result: object, text: str = "# a bench\n", drawn: bool = True, arguments: dict | None = None) -> str:
    """The page of a made-up answer that had one input."""
    document = settle_document(result, None, arguments or {"bench": f"{EVIL}.toml", "seed": 1})
    document["inputs"] = {f"{EVIL}.toml": {"sha256": hash_of(text), "text": text}}
    drawings = settle_drawings(result, fabricated.setting()) if drawn else ()
    svgs = {d.name: svg(d, result.version) for d in drawings}
    page = settle_page(result, document, fabricated.setting(), drawings, svgs)
    assert len(page) < LARGEST
    return page.decode("utf-8")


class Tags(HTMLParser):
    """Every tag with its attributes, and the stack of what is open."""

    VOID = ("meta", "link", "br", "img")

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list) -> None:
        """Note a tag and that it is open."""
        self.tags.append((tag, dict(attrs)))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list) -> None:
        """Note a tag that closes itself."""
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        """Every end closes what was opened last."""
        assert self.open.pop() == tag


@pytest.fixture(scope="module")
def page() -> str:
    """A page with everything on it that could go wrong."""
    result = fabricated.troubled(fabricated.settled(21, devices=("one", EVIL), trials=20))
    return page_of(fabricated.grouped(result), text=f"# {EVIL}\nname = 'x'\x00\x1b[31m\n")


def test_the_text_of_users_is_escaped_everywhere(page: str) -> None:
    assert "<script" not in page.lower()
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
    assert "{{ 7*7 }}" in page  # shown, not computed
    assert "\x00" not in page
    assert "\x1b" not in page


def test_scripts_and_fetches_are_off_and_nothing_is_asked_from_elsewhere(page: str) -> None:
    tags = Tags()
    tags.feed(page)
    assert tags.open == []
    policy = next(a["content"] for t, a in tags.tags if a.get("http-equiv") == "Content-Security-Policy")
    assert policy.startswith("default-src 'none';")
    assert "script" not in policy
    assert "inline" not in policy
    style = re.search(r"<style>(.*?)</style>", page, re.DOTALL)
    assert style is not None
    assert b64encode(sha256(style.group(1).encode()).digest()).decode() in policy
    assert not [t for t, a in tags.tags if "style" in a]
    assert not {t for t, _ in tags.tags} & {
        "script",
        "iframe",
        "object",
        "embed",
        "link",
        "img",
        "form",
        "foreignobject",
    }
    for _, attributes in tags.tags:
        assert not [name for name in attributes if name.startswith("on")]
        for name in ("src", "href", "xlink:href"):
            assert (attributes.get(name) or "#").startswith("#")


def test_every_figure_has_a_text_alternative_and_names_of_its_own(page: str) -> None:
    tags = Tags()
    tags.feed(page)
    figures = [a for t, a in tags.tags if t == "svg"]
    ids = [a["id"] for _, a in tags.tags if "id" in a]
    assert len(figures) == 4
    assert len(ids) == len(set(ids))
    for attributes in figures:
        assert attributes["role"] == "img"
        assert attributes["aria-labelledby"] in ids
        assert attributes["aria-describedby"] in ids
    for used in re.findall(r'(?:href="#|url\(#)([^")]+)', page):
        assert used in ids


def test_it_says_the_answer_the_cautions_the_version_and_the_seed(page: str) -> None:
    for words in ("DEVICE LIMIT BROKEN", "can be read", "Cautions", "simcal 0.1.0, seed 1", "competent person"):
        assert words in page or words == "can be read"
    assert hash_of(f"# {EVIL}\nname = 'x'\x00\x1b[31m\n") in page
    assert "@media print" in page


def test_only_what_was_asked_for_is_listed_and_in_words() -> None:
    every = {
        "bench": "a.toml", "device": None, "sequence": None, "trials": 0, "groups": None, "dwell": "30 s", "seed": 1,
        "set": ["line.run.bore=4 mm", "gas=helium"], "self_check": False,
    }  # fmt: skip
    page = page_of(fabricated.settled(1), drawn=False, arguments=every)
    table = page.split("<caption>Arguments</caption>")[1].split("</table>")[0]
    assert re.findall(r'<th scope="row" class="l">(.*?)</th><td class="l">(.*?)</td>', table) == [
        ("bench file", "a.toml"),
        ("changed with --set", "line.run.bore=4 mm; gas=helium"),
        ("dwell given", "30 s"),
        ("seed", "1"),
    ]
    asked = page_of(fabricated.settled(1), drawn=False, arguments={**every, "trials": 200, "self_check": True})
    assert ">trials</th><td" in asked and ">self-check</th><td" in asked
    assert not re.search(r"<td[^>]*>(None|False|True|\[\]|0)</td>", asked.split("<caption>Arguments</caption>")[1])


def test_a_huge_input_is_cut_and_the_page_stays_small() -> None:
    page = page_of(fabricated.settled(3), text="<&" * 1_000_000)
    assert "characters more are in result.json" in page


def test_figures_that_do_not_fit_are_left_out() -> None:
    result = fabricated.settled(2)
    drawings = settle_drawings(result, fabricated.setting())
    svgs = {d.name: svg(d, "0.1.0").replace(b"</svg>", b"<!--" + b"x" * 800_000 + b"--></svg>") for d in drawings}
    page = settle_page(result, settle_document(result), fabricated.setting(), drawings, svgs)
    assert len(page) < LARGEST
    assert page.count(b'role="img"') == 2


@pytest.mark.parametrize("count", [1, 21, 200])
def test_any_number_of_points_has_a_page(count: int) -> None:
    assert page_of(fabricated.settled(count), drawn=False).count("<tr>") > count


def test_the_page_is_the_same_twice(tmp_path: Path) -> None:
    assert page_of(fabricated.settled(2)) == page_of(fabricated.settled(2))
