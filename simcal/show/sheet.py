"""What every page is made of: one file that opens anywhere, no scripts, nothing fetched, figures inline.

A command says what stands on its page (`Content`); this makes the HTML.
"""

import base64
import hashlib
import html
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import jinja2

from simcal.show import words
from simcal.show.drawing import Drawing

LARGEST = 2_000_000
"""Bytes of a page, at most; inputs are cut before that."""
INPUT_LETTERS = 400_000
"""Characters of the inputs on the page, at most; result.json holds them whole."""

POLICY = "default-src 'none'; style-src 'sha256-{style}'; base-uri 'none'; form-action 'none'"
"""Content-Security-Policy: no scripts, fonts, pictures or forms, and the one style sheet of the page by its hash."""
TEMPLATES = Path(__file__).parent / "templates"


class Inline(str):
    """Markup made here, from figures only, that the template takes as it is."""

    def __html__(self) -> str:
        """What the template asks for."""
        return str(self)


@dataclass(frozen=True)
class Content:
    """What stands on a page, in words; tables as `table` makes them; arguments by name, in words."""

    title: str
    warnings: Sequence[str]
    sentence: str
    good: bool
    tables: Sequence[Mapping[str, Any]]
    details: Sequence[Mapping[str, Any]]
    remarks: Sequence[str]
    cautions: Sequence[str]
    arguments: Sequence[tuple[str, str]]
    closing: str


def table(
    caption: str, heads: Sequence[str], rows: Sequence[Sequence[str]], left: Sequence[int] = ()
) -> dict[str, Any]:
    """A table of a page: heads with units, cells of text; left: the columns that are text."""
    return {"caption": caption, "heads": list(heads), "rows": [list(r) for r in rows], "left": list(left)}


def made(content: Content, inputs: Mapping[str, Any], drawings: Sequence[Drawing], svgs: Mapping[str, bytes]) -> bytes:
    """The page in UTF-8, under `LARGEST` bytes.

    Args:
        content: what stands on it.
        inputs: name -> text and sha256, as a document holds them.
        drawings: the figures, in order.
        svgs: their SVG by `Drawing.name`. Figures that do not fit are left out, the last first.
    """
    shown = list(drawings)
    while True:
        page = _rendered(content, inputs, shown, svgs)
        if len(page) < LARGEST or not shown:
            return page
        shown.pop()


def _rendered(
    content: Content, inputs: Mapping[str, Any], drawings: Sequence[Drawing], svgs: Mapping[str, bytes]
) -> bytes:
    style = (TEMPLATES / "page.css").read_text(encoding="utf-8")
    page = (
        _environment()
        .get_template("page.html")
        .render(
            **vars(content),
            policy=POLICY.format(style=_hash(style)),
            style=Inline(style),
            figures=[(d, Inline(inline_svg(svgs[d.name].decode("utf-8"), d))) for d in drawings],
            inputs=_inputs(inputs),
        )
    )
    return page.encode("utf-8", "replace")


def _hash(style: str) -> str:
    return base64.b64encode(hashlib.sha256(style.encode("utf-8")).digest()).decode("ascii")


def _environment() -> jinja2.Environment:
    """Templates beside this file; every value is escaped, a missing one is an error."""
    return jinja2.Environment(
        loader=jinja2.FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _inputs(inputs: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Name, hash and text of every input, cut where the page would grow too large."""
    left, shown = INPUT_LETTERS, []
    for name, given in inputs.items():
        whole = _printable(given["text"])
        shown.append(
            {
                "name": words.plain(name),
                "sha256": given["sha256"],
                "text": whole[:left],
                "cut": max(0, len(whole) - left),
            }
        )
        left = max(0, left - len(whole))
    return shown


def asked(arguments: Mapping[str, Any], names: Mapping[str, str]) -> list[tuple[str, str]]:
    """What was asked for, in words and in the order of `names`; what was left alone is not listed."""
    given = {key: arguments[key] for key in (*names, *arguments) if key in arguments}
    return [
        (words.plain(names.get(key, key)), words.plain(_argument(value)))
        for key, value in given.items()
        if value is not None and value is not False and value != [] and (key, value) != ("trials", 0)
    ]


def _argument(value: Any) -> str:
    if isinstance(value, list):
        return "; ".join(str(one) for one in value)
    return "yes" if value is True else str(value)


def _printable(whole: str) -> str:
    """A text without control characters other than new lines and tabs."""
    return "".join(c if c.isprintable() or c in "\n\t" else "\ufffd" for c in whole.replace("\r\n", "\n"))


def inline_svg(svg: str, drawing: Drawing) -> str:
    """A figure's SVG as an element of a page: its own names, no metadata, title and description.

    Styles become attributes of their elements, so that the page's policy need not allow any.
    """
    body = svg[svg.index("<svg") :]
    for element in ("metadata", "title", "style"):
        body = re.sub(rf"\s*<{element}\b[^>]*>.*?</{element}>", "", body, flags=re.DOTALL)
    body = re.sub(r'\sstyle="([^"]*)"', _as_attributes, body)
    body = re.sub(r'\bid="', f'id="{drawing.name}-', body)
    body = re.sub(r'href="#', f'href="#{drawing.name}-', body)
    body = body.replace("url(#", f"url(#{drawing.name}-")
    head, rest = body.split(">", 1)
    head = re.sub(r'\s(width|height)="[^"]*"', "", head)
    joins = 'stroke-linejoin="round" stroke-linecap="butt"'
    label = f'role="img" aria-labelledby="{drawing.name}-title" aria-describedby="{drawing.name}-desc"'
    title = f'<title id="{drawing.name}-title">{html.escape(drawing.title)}</title>'
    description = f'<desc id="{drawing.name}-desc">{html.escape(drawing.description)}</desc>'
    return f"{head} {joins} {label}>{title}{description}{rest}"


def _as_attributes(found: re.Match[str]) -> str:
    """The declarations of a style attribute as attributes of their own."""
    pairs = [part.split(":", 1) for part in found.group(1).split(";") if ":" in part]
    return "".join(f' {name.strip()}="{value.strip()}"' for name, value in pairs)
