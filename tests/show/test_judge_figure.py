"""The figure and the page of a judgement."""

from dataclasses import replace

import matplotlib
import numpy as np
import pytest

from simcal.show.drawing import png, svg
from simcal.show.figure_judge import judge_drawing
from simcal.show.judge_json import judge_document
from simcal.show.judge_page import judge_page
from tests.show.judged import KINDS, judged
from tests.show.test_page import EVIL, Tags


@pytest.mark.parametrize("kind", KINDS)
def test_every_judgement_can_be_drawn_with_labelled_axes(kind):
    drawing = judge_drawing(judged(kind))
    axes = drawing.figure.axes
    assert len(axes) == (1 if kind == "no rate" else 3)
    assert axes[-1].get_xlabel() and all(one.get_ylabel() for one in axes)
    assert ("permitted" in [text.get_text() for text in drawing.figure.legends[0].texts]) == (
        kind not in ("no rate", "no limit")
    )


def test_the_strip_shows_the_interval_and_the_limit_to_scale():
    one = judged("leak")
    strip = judge_drawing(one).figure.axes[-1]
    (bar,) = [c for c in strip.collections if hasattr(c, "get_segments")]
    (ends,) = bar.get_segments()
    low, high = ends[:, 0]
    assert (low, high) == pytest.approx((one.found.low_mol_per_s * 1e9, one.found.high_mol_per_s * 1e9))
    (band,) = strip.patches
    x = band.get_x()
    assert (x, x + band.get_width()) == pytest.approx((-20.0, 20.0))


def test_the_explanation_runs_through_the_blocks():
    seen = judged("leak").found.explained
    assert np.abs(seen.reading_Pa - seen.explained_Pa).max() < 5.0 * seen.sd_Pa.max()


def test_lines_differ_without_colour():
    middle = judge_drawing(judged("leak")).figure.axes[1]
    patterns = [line._unscaled_dash_pattern for line in middle.lines[:3]]
    assert len(set(map(str, patterns))) == 3


def test_the_same_judgement_gives_the_same_bytes_whatever_the_users_settings(monkeypatch):
    first = svg(judge_drawing(judged("shop")), "0.1.0")
    with matplotlib.rc_context({"font.size": 17, "svg.hashsalt": "other", "axes.facecolor": "red"}):
        assert svg(judge_drawing(judged("shop")), "0.1.0") == first
    assert b"<dc:date>" not in first


def test_no_text_leaves_the_figure():
    one = judged("undecided")
    drawing = judge_drawing(replace(one, found=replace(one.found, record="Prüfling 日本 $x_1$ " * 5)))
    assert png(drawing, "0.1.0", 60).startswith(b"\x89PNG")
    width, height = drawing.figure.get_size_inches()
    box = drawing.figure.get_tightbbox()
    assert box.x0 > -0.02 and box.y0 > -0.02 and box.x1 < width + 0.02 and box.y1 < height + 0.02


def test_the_page_holds_the_answer_and_no_script_of_a_user():
    one = judged("shop")
    one = replace(one, found=replace(one.found, record=EVIL))
    document = judge_document(one, {EVIL: {"sha256": "0" * 64, "text": None}}, {"records": [EVIL], "seed": 1})
    drawing = judge_drawing(one)
    page = judge_page(one, document, [drawing], {drawing.name: svg(drawing, "0.1.0")}).decode("utf-8")
    tags = Tags()
    tags.feed(page)
    assert tags.open == [] and "script" not in [tag for tag, _ in tags.tags]
    for part in (
        "What the change of the reading is made of",
        "Causes by weight",
        "own criterion",
        "too long to be kept",
    ):
        assert part in page
    assert "beyond the permitted" in page and 'role="img"' in page
