"""The folder of an answer to `cover`: result.json, tables, the map, the page."""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from simcal.analysis.cover.result import CoverResult
from simcal.bench.lab import Lab
from simcal.show.cover_page import cover_page
from simcal.show.cover_tables import cover_tables
from simcal.show.drawing import png, svg
from simcal.show.figure_cover import cover_drawing
from simcal.show.save import RESULT, check_output_place, save_whole


def save_cover(
    result: CoverResult, lab: Lab, document: Mapping[str, Any], directory: Path | str, force: bool = False
) -> None:
    """Write the whole answer, or that for one instrument, into a new folder; whole or not at all.

    Raises:
        InputError: the place is not usable; what stood there before is untouched.
    """
    place = Path(directory)
    check_output_place(place, force)
    asked = document["instrument"]
    shown = tuple(one for one in result.instruments if asked in (None, one.name))
    drawing = cover_drawing(result, lab, shown)
    picture = svg(drawing, result.version)
    contents = {
        **cover_tables(result, shown),
        f"{drawing.name}.svg": picture,
        f"{drawing.name}.png": png(drawing, result.version),
        "page.html": cover_page(result, lab, document, shown, [drawing], {drawing.name: picture}),
    }
    listed = {**document, "files": sorted([*contents, RESULT])}
    contents[RESULT] = (json.dumps(listed, indent=1, allow_nan=False) + "\n").encode("ascii")
    save_whole(place, contents, force)
