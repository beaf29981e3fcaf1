"""One page that opens anywhere: no scripts, nothing fetched, figures inline with text alternatives."""

import base64
import hashlib
import html
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import jinja2

from simcal.analysis.settle.result import SettleResult
from simcal.show import text, words
from simcal.show.cautions import cautions
from simcal.show.drawing import Drawing
from simcal.show.hazard import hazard
from simcal.show.page_tables import detail_tables, main_tables
from simcal.show.remarks import remarks
from simcal.show.scales import Setting, scales
from simcal.show.sentence import sentence, warnings_first

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


def settle_page(
    result: SettleResult,
    document: Mapping[str, Any],
    setting: Setting,
    drawings: Sequence[Drawing],
    svgs: Mapping[str, bytes],
) -> bytes:
    """The whole answer as one HTML page, in UTF-8, under `LARGEST` bytes.

    Args:
        result: the answer.
        document: its JSON document; inputs and arguments are taken from it.
        setting: how levels are written.
        drawings: the figures, in order.
        svgs: their SVG by `Drawing.name`. Figures that do not fit are left out, the last first.
    """
    shown = list(drawings)
    while True:
        page = _rendered(result, document, setting, shown, svgs)
        if len(page) < LARGEST or not shown:
            return page
        shown.pop()


def _rendered(
    result: SettleResult,
    document: Mapping[str, Any],
    setting: Setting,
    drawings: Sequence[Drawing],
    svgs: Mapping[str, bytes],
) -> bytes:
    units = scales(result, setting)
    style = (TEMPLATES / "page.css").read_text(encoding="utf-8")
    page = (
        _environment()
        .get_template("page.html")
        .render(
            policy=POLICY.format(style=_hash(style)),
            style=Inline(style),
            title=f"Dwell at every setpoint: {words.plain(result.bench, longest=80)}",
            warnings=warnings_first(result, units),
            sentence=sentence(result, units),
            good=result.good,
            tables=main_tables(result, units),
            details=detail_tables(result, units),
            figures=[(d, Inline(inline_svg(svgs[d.name].decode("utf-8"), d))) for d in drawings],
            remarks=remarks(result, units),
            cautions=cautions(hazard(result, setting)),
            inputs=_inputs(document["inputs"]),
            arguments=_asked(document["arguments"]),
            closing=text.closing(result),
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


ARGUMENTS = {
    "bench": "bench file",
    "device": "device",
    "sequence": "sequence",
    "set": "changed with --set",
    "trials": "trials",
    "groups": "rounded-up dwells, at most",
    "dwell": "dwell given",
    "seed": "seed",
    "self_check": "self-check",
}
"""An argument in words, in the order of the page."""


def _asked(arguments: Mapping[str, Any]) -> list[tuple[str, str]]:
    """What was asked for, in words; what was left alone is not listed."""
    given = {key: arguments[key] for key in (*ARGUMENTS, *arguments) if key in arguments}
    return [
        (words.plain(ARGUMENTS.get(key, key)), words.plain(_argument(value)))
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
