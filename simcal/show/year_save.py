"""The folder of an answer to `year`: result.json, tables, figures, the page."""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from simcal.analysis.year.result import YearResult
from simcal.bench.lab import Lab
from simcal.show.drawing import png, svg
from simcal.show.figure_year import year_drawings
from simcal.show.save import RESULT, check_output_place, save_whole
from simcal.show.year_page import year_page
from simcal.show.year_tables import year_tables


def save_year(
    result: YearResult, lab: Lab, document: Mapping[str, Any], directory: Path | str, force: bool = False
) -> None:
    """Write the whole answer into a new folder; whole or not at all.

    Raises:
        InputError: the place is not usable; what stood there before is untouched.
    """
    place = Path(directory)
    check_output_place(place, force)
    drawings = year_drawings(result)
    pictures = {one.name: svg(one, result.version) for one in drawings}
    contents = {
        **year_tables(result, list(lab.instruments)),
        **{f"{name}.svg": picture for name, picture in pictures.items()},
        **{f"{one.name}.png": png(one, result.version) for one in drawings},
        "page.html": year_page(result, lab, document, drawings, pictures),
    }
    listed = {**document, "files": sorted([*contents, RESULT])}
    contents[RESULT] = (json.dumps(listed, indent=1, allow_nan=False) + "\n").encode("ascii")
    save_whole(place, contents, force)
