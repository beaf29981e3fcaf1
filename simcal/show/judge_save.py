"""The folder of a judgement: the answer, its tables, the figure, the page; a folder each where there are several."""

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from simcal.show.drawing import png, svg
from simcal.show.figure_judge import judge_drawing
from simcal.show.judge_page import judge_page
from simcal.show.judge_text import assumed
from simcal.show.judge_units import Judged
from simcal.show.rows import csv_bytes
from simcal.show.save import RESULT, check_output_place, save_whole

SET = "simcal/judge-set/1"
"""Schema of the list of several answers."""
COLUMNS = ("record", "verdict", "leak_mol_per_s", "low_mol_per_s", "high_mol_per_s", "permitted_mol_per_s")


def save_judged(
    answers: Sequence[tuple[Judged, Mapping[str, Any]]], directory: Path | str, force: bool = False
) -> None:
    """Write each answer with its document; whole or not at all.

    One answer fills the folder itself; several get a folder each, beside verdicts.csv and a list of them.

    Raises:
        InputError: the place is not usable; what stood there before is untouched.
    """
    place = Path(directory)
    check_output_place(place, force)
    if len(answers) == 1:
        contents = _contents(*answers[0])
        listed = {**answers[0][1], "files": sorted([*contents, RESULT])}
    else:
        contents, listed = _several(answers)
    contents[RESULT] = _json(listed)
    save_whole(place, contents, force)


def _contents(judged: Judged, document: Mapping[str, Any]) -> dict[str, bytes]:
    """Files of one answer but its document."""
    found, drawing = judged.found, judge_drawing(judged)
    picture = svg(drawing, document["version"])
    return {
        "blocks.csv": _blocks(judged),
        "parts.csv": csv_bytes(["part", "change_Pa"], found.change_parts_Pa.items()),
        "causes.csv": csv_bytes(["cause", "weight"], found.causes.items()),
        "assumed.csv": csv_bytes(["key", "value", "why"], [[a.key, a.value, a.why] for a in assumed(judged)]),
        f"{drawing.name}.svg": picture,
        f"{drawing.name}.png": png(drawing, document["version"]),
        "page.html": judge_page(judged, document, [drawing], {drawing.name: picture}),
    }


def _several(answers: Sequence[tuple[Judged, Mapping[str, Any]]]) -> tuple[dict[str, bytes], dict[str, Any]]:
    """Files of several answers, each under its own folder, and the list of them."""
    contents: dict[str, bytes] = {}
    listed: list[dict[str, Any]] = []
    for judged, document in answers:
        folder = _folder(document["record"], {one["folder"] for one in listed})
        own = _contents(judged, document)
        own[RESULT] = _json({**document, "files": sorted([*own, RESULT])})
        contents |= {f"{folder}/{name}": content for name, content in own.items()}
        listed.append({"folder": folder, **{key: document[key] for key in COLUMNS}})
    rows = [[one[key] for key in COLUMNS] for one in listed]
    contents["verdicts.csv"] = csv_bytes(list(COLUMNS), rows)
    files = sorted([*contents, RESULT])
    return contents, {"schema": SET, "version": answers[0][1]["version"], "records": listed, "files": files}


def _folder(record: str, taken: set[str]) -> str:
    """A folder's name for a record, not yet taken."""
    stem = "".join(c if c.isalnum() or c in "-_." else "_" for c in Path(record).stem).strip(".") or "record"
    names = [stem, *(f"{stem}-{n}" for n in range(2, len(taken) + 3))]
    return next(name for name in names if name not in taken)


def _blocks(judged: Judged) -> bytes:
    """The record in blocks, what explains it, and the parts since the start of the watch."""
    seen = judged.found.explained
    heads = ["time_s", "reading_Pa_abs", "sd_Pa", "explained_Pa_abs", *(f"{name}_Pa" for name in seen.parts_Pa)]
    columns = [seen.time_s, seen.reading_Pa, seen.sd_Pa, seen.explained_Pa, *seen.parts_Pa.values()]
    return csv_bytes(heads, zip(*(column.tolist() for column in columns), strict=True))


def _json(document: Mapping[str, Any]) -> bytes:
    return (json.dumps(document, indent=1, allow_nan=False) + "\n").encode("ascii")
