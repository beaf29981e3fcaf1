"""How every figure is made: sizes, lines that differ in grey print, and the bytes of SVG and PNG.

No pyplot, no global style: matplotlib's settings are its own defaults plus `STYLE`, only inside `style()`.
"""

import functools
import io
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.font_manager import get_font
from matplotlib.ft2font import FT2Font
from matplotlib.text import Text

from simcal.show import words

WIDTH = 6.3
"""Inches: the text width of an A4 page with usual margins, so that 9 points stay 9 points when pasted."""

MOST_SAMPLES = 1200
"""Samples of one line in a figure, about three for each dot of a screen."""

LEGEND_LETTERS = 100
"""Letters of a legend's 8 points that fit `WIDTH`."""

FONT = "DejaVu Sans"
STYLE: dict[str, Any] = {
    "axes.formatter.use_mathtext": False,
    "axes.formatter.useoffset": False,
    "axes.grid": True,
    "axes.labelsize": 9,
    "axes.linewidth": 0.7,
    "axes.titlesize": 9,
    "axes.unicode_minus": True,
    "figure.constrained_layout.h_pad": 0.05,
    "figure.constrained_layout.use": True,
    "font.family": [FONT],
    "font.size": 9,
    "grid.color": "0.85",
    "grid.linewidth": 0.5,
    "hatch.linewidth": 0.6,
    "legend.fontsize": 8,
    "legend.frameon": False,
    "legend.handlelength": 3.2,
    "lines.linewidth": 1.3,
    "svg.fonttype": "path",
    "svg.hashsalt": "simcal",
    "xtick.labelsize": 8,
    "ytick.labelsize": 8,
}

BLACK = "#000000"
GREY = "#767676"
BAND = "#d5d5d5"
ARRIVAL: dict[str, Any] = {"color": BLACK, "linewidth": 0.9, "linestyle": (0, (1, 1.5))}
SHUT: dict[str, Any] = {"color": BLACK, "linewidth": 0.9, "linestyle": (0, (7, 2, 1, 2, 1, 2))}
"""The moments of arrival and of shutting the valves."""
LINES: tuple[dict[str, Any], ...] = (
    {"color": "#0a5a8c", "linestyle": (0, (6, 1.5))},
    {"color": "#c2560a", "linestyle": (0, (1.5, 1.2))},
    {"color": "#3d7a2a", "linestyle": (0, (7, 1.5, 1.5, 1.5))},
    {"color": "#8a3a86", "linestyle": (0, (2.5, 4))},
    {"color": "#6b5a00", "linestyle": (0, (5, 1.5, 1.2, 1.5, 1.2, 1.5))},
    {"color": "#20666b", "linestyle": (0, (10, 3))},
)
"""Dash patterns first, colours of different lightness second."""
MARKERS = "ovsD^P"


@dataclass(frozen=True)
class Drawing:
    """One figure with the words that stand for it where it cannot be seen."""

    name: str  # of the file, without its ending
    title: str
    description: str
    figure: Figure


@contextmanager
def style() -> Iterator[None]:
    """Matplotlib's defaults and ours, whatever the user's own settings are; put back afterwards."""
    with matplotlib.rc_context():
        matplotlib.rcdefaults()
        settings: Any = matplotlib.rcParams
        settings.update(STYLE)
        yield


def blank(height: float) -> Figure:
    """An empty figure of the common width; heights in inches."""
    return Figure(figsize=(WIDTH, height))


def line(index: int) -> dict[str, Any]:
    """Style of the `index`-th line, marked as well once the dash patterns have been used up."""
    lap, place = divmod(index, len(LINES))
    marker = {} if lap == 0 else {"marker": MARKERS[(lap - 1) % len(MARKERS)], "markevery": 0.13, "markersize": 3}
    return {**LINES[place], **marker}


def legend(figure: Figure, handles: list[Any], labels: list[str]) -> None:
    """One legend above the axes, never over the data, in as many columns as fit the width."""
    columns = next(n for n in range(len(labels), 0, -1) if n == 1 or _letters(labels, n) <= LEGEND_LETTERS)
    figure.legend(handles, labels, loc="outside upper left", ncols=columns, borderaxespad=0.3, columnspacing=1.6)


def _letters(labels: list[str], columns: int) -> int:
    """Width of a legend in letters, its signs and gaps included; the first columns hold one more where it is uneven."""
    lengths = np.array([len(label) for label in labels])
    return sum(int(part.max()) + 10 for part in np.array_split(lengths, columns))


def finish(figure: Figure) -> Figure:
    """No text of a user is read as a formula, and tick labels are plain numbers."""
    for text in figure.findobj(Text):
        text.set_parse_math(False)
    return figure


def named(text: object, longest: int = 26) -> str:
    """A user's word as the figures' font can draw it: what it lacks becomes "?"."""
    short = words.plain(text, True, longest)
    return "".join(c if ord(c) in _drawable() else "?" for c in short)


@functools.cache
def _drawable() -> frozenset[int]:
    font: FT2Font = get_font(matplotlib.font_manager.findfont(FONT, fallback_to_default=False))
    return frozenset(font.get_charmap())


RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def plain(value: float) -> bool:
    """Whether a tick may be written without a power of ten: from 0.001 to 99 999."""
    return value == 0.0 or 1e-3 <= abs(value) < 1e5


def tick(value: float, raised: bool = False) -> str:
    """A tick's label, with a power of ten where it cannot be plain or `raised` asks for it: one form in one figure."""
    if value == 0.0 or (plain(value) and not raised):
        return f"{value:.6g}".replace("-", "−")
    mantissa, exponent = f"{value:.3e}".split("e")
    front = mantissa.rstrip("0").rstrip(".").replace("-", "−")
    power = f"10{str(int(exponent)).translate(RAISED)}"
    return power if front == "1" else f"{front.removesuffix('1') if front == '−1' else front + '·'}{power}"


def thinned(time: np.ndarray, values: np.ndarray, most: int = MOST_SAMPLES) -> tuple[np.ndarray, np.ndarray]:
    """At most about `most` samples: the lowest and highest of each stretch, so that no peak is lost."""
    if time.size <= most:
        return time, values
    edges = np.linspace(0, time.size, most // 2 + 1).astype(int)
    kept = {0, time.size - 1}
    for start, stop in pairwise(edges):
        piece = values[start:stop]
        if np.isfinite(piece).any():
            kept |= {start + int(np.nanargmin(piece)), start + int(np.nanargmax(piece))}
    places = np.array(sorted(kept))
    return time[places], values[places]


def draw(axes: Axes, time: np.ndarray, values: np.ndarray, **how: Any) -> Any:
    """Draw one thinned line; its handle."""
    return axes.plot(*thinned(np.asarray(time), np.asarray(values)), **how)[0]


def svg(drawing: Drawing, version: str) -> bytes:
    """The figure as SVG: the same bytes for the same run and matplotlib, without a date."""
    made = io.BytesIO()
    about = {"Date": None, "Creator": f"simcal {version}", "Title": drawing.title}
    with style():
        FigureCanvasSVG(drawing.figure).print_svg(made, metadata=about)
    return made.getvalue()


def png(drawing: Drawing, version: str, dots_per_inch: int = 200) -> bytes:
    """The figure as PNG."""
    made = io.BytesIO()
    about = {"Software": f"simcal {version}", "Title": drawing.title, "Description": drawing.description}
    with style():
        drawing.figure.set_dpi(dots_per_inch)
        FigureCanvasAgg(drawing.figure).print_png(made, metadata=about)
    return made.getvalue()
