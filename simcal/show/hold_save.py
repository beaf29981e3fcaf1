"""The folder of a simulated hold: the record, its about-file, the answer, its parts, the figure, the page."""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any, NamedTuple

from simcal.analysis.hold.result import HoldResult
from simcal.bench.bench import Bench
from simcal.show.drawing import png, svg
from simcal.show.figure_hold import hold_drawing
from simcal.show.hold_page import hold_page
from simcal.show.hold_record import ABOUT, RECORD, about_toml, record_csv
from simcal.show.hold_text import MEANT
from simcal.show.rows import csv_bytes
from simcal.show.save import RESULT, check_output_place, save_whole


class Told(NamedTuple):
    """What the user says of a hold: name of its record and folder, leak limit as written, set of holds."""

    name: str = ""
    permitted: str | None = None
    hold_set: str | None = None


def save_hold(
    result: HoldResult, bench: Bench, document: Mapping[str, Any], directory: Path | str, force: bool = False,
    told: Told | None = None,
) -> None:  # fmt: skip
    """Write the record, its about-file, result.json, tables, figure and page into a new folder; whole or not at all.

    The folder is `directory`, or with a name a folder of that name in it, so that several holds share `directory`.

    Raises:
        InputError: the place is not usable; what stood there before is untouched.
    """
    place, told = Path(directory), told or Told()
    if told.name:
        if not place.exists():
            check_output_place(place)
            place.mkdir(exist_ok=True)
        place /= told.name
    check_output_place(place, force)
    record, about = (f"{told.name}.csv", f"{told.name}.toml") if told.name else (RECORD, ABOUT)
    drawing, parts = hold_drawing(result, bench), result.truth.parts_Pa.items()
    picture = svg(drawing, result.version)
    contents = {
        record: record_csv(result),
        about: about_toml(result, bench, told.permitted, record, told.hold_set),
        "parts.csv": csv_bytes(["part", "change_Pa", "what"], [[*one, MEANT[one[0]]] for one in parts]),
        "drawn.csv": csv_bytes(["key", "value_SI"], result.truth.drawn.items()),
        f"{drawing.name}.svg": picture,
        f"{drawing.name}.png": png(drawing, result.version),
        "page.html": hold_page(result, bench, document, [drawing], {drawing.name: picture}),
    }
    listed = {**document, "files": sorted([*contents, RESULT])}
    contents[RESULT] = (json.dumps(listed, indent=1, allow_nan=False) + "\n").encode("ascii")
    save_whole(place, contents, force)
