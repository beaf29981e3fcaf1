"""The folder of a criterion: the answer, the curve, the benches, what a procedure says, the figure, the page."""

import json
from collections.abc import Mapping
from itertools import zip_longest
from pathlib import Path
from typing import Any

from simcal.analysis.criterion import CriterionResult
from simcal.bench.bench import Bench
from simcal.show.criterion_page import criterion_page
from simcal.show.criterion_text import about_block, procedure
from simcal.show.drawing import png, svg
from simcal.show.figure_criterion import criterion_drawing
from simcal.show.rows import csv_bytes
from simcal.show.save import RESULT, check_output_place, save_whole


def save_criterion(
    result: CriterionResult, bench: Bench, document: Mapping[str, Any], directory: Path | str, force: bool, shop: str
) -> None:
    """Write result.json, tables, texts, figure and page into a new folder; whole or not at all.

    Raises:
        InputError: the place is not usable; what stood there before is untouched.
    """
    place = Path(directory)
    check_output_place(place, force)
    contents: dict[str, bytes] = {}
    drawings = [criterion_drawing(result, shop)] if result.curve else []
    pictures = {drawing.name: svg(drawing, result.version) for drawing in drawings}
    for drawing in drawings:
        contents[f"{drawing.name}.svg"] = pictures[drawing.name]
        contents[f"{drawing.name}.png"] = png(drawing, result.version)
    if result.curve:
        heads = ["leak_mol_per_s", "fails", "low", "high", "fails_rise", "change_Pa"]
        contents["curve.csv"] = csv_bytes(heads, [[getattr(one, name) for name in heads] for one in result.curve])
        changes = list(zip_longest(*result.changes_Pa.values()))
        contents["changes.csv"] = csv_bytes([f"{name}_Pa" for name in result.changes_Pa], changes)
    if result.curve and not result.explained:
        contents["procedure.txt"] = (procedure(result, bench) + "\n").encode("utf-8")
        contents["criterion.toml"] = ("\n".join(about_block(result)) + "\n").encode("utf-8")
    contents["page.html"] = criterion_page(result, bench, document, drawings, pictures, shop)
    listed = {**document, "files": sorted([*contents, RESULT])}
    contents[RESULT] = (json.dumps(listed, indent=1, allow_nan=False) + "\n").encode("ascii")
    save_whole(place, contents, force)
