"""The folder of a simulated hold: the record, its about-file, the answer, its parts, the figure, the page."""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from simcal.analysis.hold.result import HoldResult
from simcal.bench.bench import Bench
from simcal.show.drawing import png, svg
from simcal.show.figure_hold import hold_drawing
from simcal.show.hold_page import hold_page
from simcal.show.hold_record import ABOUT, RECORD, about_toml, record_csv
from simcal.show.hold_text import MEANT
from simcal.show.rows import csv_bytes
from simcal.show.save import RESULT, check_output_place, save_whole


def save_hold(
    result: HoldResult, bench: Bench, document: Mapping[str, Any], directory: Path | str, force: bool = False,
    permitted: str | None = None,
) -> None:  # fmt: skip
    """Write the record, its about-file, result.json, tables, figure and page into a new folder; whole or not at all.

    permitted: the leak limit as the user wrote it.

    Raises:
        InputError: the place is not usable; what stood there before is untouched.
    """
    place = Path(directory)
    check_output_place(place, force)
    drawing, parts = hold_drawing(result, bench), result.truth.parts_Pa.items()
    picture = svg(drawing, result.version)
    contents = {
        RECORD: record_csv(result),
        ABOUT: about_toml(result, bench, permitted),
        "parts.csv": csv_bytes(["part", "change_Pa", "what"], [[*one, MEANT[one[0]]] for one in parts]),
        "drawn.csv": csv_bytes(["key", "value_SI"], result.truth.drawn.items()),
        f"{drawing.name}.svg": picture,
        f"{drawing.name}.png": png(drawing, result.version),
        "page.html": hold_page(result, bench, document, [drawing], {drawing.name: picture}),
    }
    listed = {**document, "files": sorted([*contents, RESULT])}
    contents[RESULT] = (json.dumps(listed, indent=1, allow_nan=False) + "\n").encode("ascii")
    save_whole(place, contents, force)
