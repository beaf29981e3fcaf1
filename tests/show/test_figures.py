"""The figures: same bytes for the same run, readable words in place of what the font lacks, nothing left changed."""

import os
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import matplotlib
import numpy as np
import pytest
from matplotlib.text import Text

from simcal.show.drawing import Drawing, named, png, style, svg, thinned, tick
from simcal.show.figure_point import point_drawing
from simcal.show.figures import settle_drawings
from simcal.show.scales import scales
from tests.show import fabricated

ODD = ("one", "Prüfling 日本 $x_1$ <script>alert(1)</script> and more", "_three", "four", "five", "six", "seven", "$")

PRINT_HASHES = """
import hashlib
from simcal.show.figures import settle_drawings, svg
from tests.show import fabricated
result = fabricated.settled(5, devices=("one", "two"), trials=20)
for d in settle_drawings(result, fabricated.setting()):
    print(d.name, hashlib.sha256(svg(d, "0.1.0")).hexdigest())
"""


def hashes(tmp_path: Path, seed: str, settings: str) -> str:
    """What another process draws, with another order of hashes and other settings of the user."""
    (tmp_path / "matplotlibrc").write_text(settings, encoding="utf-8")
    where = {"PYTHONHASHSEED": seed, "MATPLOTLIBRC": str(tmp_path / "matplotlibrc")}
    root = Path(__file__).resolve().parents[2]
    done = subprocess.run(
        [sys.executable, "-c", PRINT_HASHES], env={**os.environ, **where}, cwd=root, capture_output=True, text=True,
        check=True,
    )  # fmt: skip
    return done.stdout


def test_the_same_run_gives_the_same_svg_in_every_process(tmp_path: Path) -> None:
    first = hashes(tmp_path, "1", "")
    assert len(first.splitlines()) == 4
    assert first == hashes(tmp_path, "2", "font.size: 17\nsvg.hashsalt: other\naxes.facecolor: red\n")


@pytest.mark.parametrize("result", [
    fabricated.settled(1), fabricated.settled(1, mode="isolated", gauge=False), fabricated.settled(2),
    fabricated.bare(fabricated.settled(2)),
    fabricated.troubled(fabricated.settled(21, devices=ODD, trials=20)), fabricated.settled(60),
], ids=["one", "isolated", "two", "bare", "odd names", "sixty"])  # fmt: skip
def test_every_run_can_be_drawn_with_labelled_axes(result: object) -> None:
    drawings = settle_drawings(result, fabricated.setting())
    assert {d.name.rstrip("0123456789") for d in drawings} >= {"run", "dwell", "point_"}
    for drawing in drawings:
        assert drawing.title
        assert drawing.description
        assert drawing.figure.axes[-1].get_xlabel()
        assert all(axes.get_ylabel() for axes in drawing.figure.axes)
        assert b"<dc:date>" not in svg(drawing, "0.1.0")


@pytest.fixture(scope="module")
def crowded() -> tuple[Drawing, ...]:
    """The figures of a run with many points and odd names, laid out."""
    result = fabricated.troubled(fabricated.settled(21, devices=ODD, trials=20))
    drawings = settle_drawings(result, fabricated.setting())
    for drawing in drawings:
        assert png(drawing, "0.1.0", 60).startswith(b"\x89PNG")
    return drawings


def test_no_text_leaves_the_figure_and_none_is_smaller_than_seven_points(crowded: tuple[Drawing, ...]) -> None:
    for drawing in crowded:
        width, height = drawing.figure.bbox.size
        for text in drawing.figure.findobj(Text):
            if not text.get_text() or not text.get_visible():
                continue
            box = text.get_window_extent()
            inside = box.x0 >= -1 and box.y0 >= -1 and box.x1 <= width + 1 and box.y1 <= height + 1
            ticks_outside = not np.isfinite([box.x0, box.x1]).all() or text.get_figure() is None
            assert inside or ticks_outside or _is_spare_tick(text), (drawing.name, text.get_text(), box)
            assert text.get_fontsize() >= 7.0


def _is_spare_tick(text: Text) -> bool:
    """Tick labels beyond the limits of their axis exist but are not drawn."""
    return bool(re.fullmatch(r"[−\d.·⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+", text.get_text()))


def test_the_legend_is_never_over_the_data(crowded: tuple[Drawing, ...]) -> None:
    for drawing in crowded:
        for legend in drawing.figure.legends:
            bottom = legend.get_window_extent().y0
            assert all(axes.get_window_extent().y1 <= bottom for axes in drawing.figure.axes)


@pytest.mark.parametrize(("share", "seen"), [(0.05, True), (0.002, False)])
def test_the_legend_of_the_run_names_nearness_where_it_can_be_seen(share: float, seen: bool) -> None:
    result = fabricated.settled(3)
    points = tuple(replace(p, nearness_Pa=share * 20e5) for p in result.points)
    made = settle_drawings(replace(result, points=points), fabricated.setting())
    shown = next(d for d in made if d.name == "run")
    assert ("nearness" in [text.get_text() for text in shown.figure.legends[0].get_texts()]) is seen
    assert ("and their nearness bands" in shown.description) is seen
    assert ("thinner than their line" in shown.description) is not seen


@pytest.mark.parametrize("mode", ["held", "isolated"])
def test_no_words_stand_among_the_curves_of_a_point(mode: str) -> None:
    """Allowance, nearness, arrival and reading are named in the legend, the dwell above the axes."""
    result = fabricated.settled(3, mode=mode)
    shown = point_drawing(result, scales(result, fabricated.setting()), 2)
    assert shown is not None and png(shown, "0.1.0", 60)
    names = [text.get_text() for text in shown.figure.legends[0].get_texts()]
    assert {"allowance 200 Pa", "nearness", "arrival", "reading"} <= set(names)
    assert ("valves shut" in names) is (mode == "isolated") is ("The valves shut" in shown.description)
    for axes in shown.figure.axes:
        top = axes.get_window_extent().y1
        assert all(text.get_window_extent().y0 >= top for text in axes.texts if text.get_text())
    assert any(text.get_text().startswith("dwell ") for text in shown.figure.axes[0].texts)


def test_the_run_marks_when_the_valves_shut() -> None:
    result = fabricated.settled(3, mode="isolated")
    shown = settle_drawings(result, fabricated.setting())[0]
    assert "valves shut" in [text.get_text() for text in shown.figure.legends[0].get_texts()]
    held = settle_drawings(fabricated.settled(3), fabricated.setting())[0]
    assert "valves shut" not in [text.get_text() for text in held.figure.legends[0].get_texts()]


def test_lines_differ_without_their_colours() -> None:
    drawing = settle_drawings(fabricated.settled(3, devices=ODD[:6]), fabricated.setting())[0]
    (legend,) = drawing.figure.legends
    dashes = {
        str(line._dash_pattern) + str(line.get_linewidth()) + str(line.get_marker()) for line in legend.get_lines()
    }
    assert len(dashes) == len(legend.get_lines())


def test_no_setting_of_matplotlib_stays_changed() -> None:
    before = dict(matplotlib.rcParams)
    settle_drawings(fabricated.settled(1), fabricated.setting())
    with pytest.raises(ZeroDivisionError), style():
        raise ZeroDivisionError
    assert dict(matplotlib.rcParams) == before
    assert "matplotlib.pyplot" not in sys.modules or not sys.modules["matplotlib.pyplot"].get_fignums()


def test_what_the_font_lacks_becomes_a_question_mark() -> None:
    assert named("日本 Prüfling") == "?? Prüfling"


def test_thinning_keeps_peaks_and_ends() -> None:
    time = np.arange(100_000) * 0.01
    values = np.sin(time)
    values[54_321] = 9.0
    thin_time, thin = thinned(time, values)
    assert thin.size <= 1300
    assert thin.max() == 9.0
    assert thin_time[0] == time[0]
    assert thin_time[-1] == time[-1]


@pytest.mark.parametrize(
    ("value", "shown"),
    [(0.0, "0"), (200.0, "200"), (-2000.0, "−2000"), (1e6, "10⁶"), (2e5, "2·10⁵"), (-1e7, "−10⁷"), (1e-4, "10⁻⁴")],
)
def test_ticks_are_plain_numbers_or_powers_of_ten(value: float, shown: str) -> None:
    assert tick(value) == shown


@pytest.mark.parametrize(("step", "power"), [(2e3, False), (4e5, True)])
def test_one_figure_writes_its_ticks_in_one_form(step: float, power: bool) -> None:
    """A point whose axes reach 1e5 has powers of ten in all its panels, another none."""
    result = fabricated.settled(3)
    points = tuple(replace(p, step_Pa=step, nearness_Pa=100.0, allowance_Pa=20.0) for p in result.points)
    result = replace(result, points=points)
    shown = point_drawing(result, scales(result, fabricated.setting()), 2)
    assert shown is not None
    shown.figure.canvas.draw()
    panels = [
        [text.get_text() for text in axes.get_yticklabels() if low <= text.get_position()[1] <= high]
        for axes in shown.figure.axes
        for low, high in [axes.get_ylim()]
    ]
    assert all(len(labels) > 1 for labels in panels)
    raised = {any(mark in text for mark in "⁰¹²³⁴⁵⁶⁷⁸⁹") for labels in panels for text in labels if text}
    assert raised == {power}
