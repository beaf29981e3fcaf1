"""A small laboratory as text, for tests to change."""

from pathlib import Path

from simcal.analysis.cover import CoverResult, cover
from simcal.bench.lab import Lab
from simcal.files.lab_file import load_lab

HEAD = """
schema = "simcal/lab/1"
name = "Quillmoor test room"
gas = "nitrogen"
room = { barometer = "1000 hPa abs +- 5 Pa", temperature = "20 degC" }
places = 6
switch = "40 s"
rule = { ratio = 4 }
comparison = { height = "0 mm +- 1 um", dwell = "0 Pa" }
"""
FULL_SCALE = 'accuracy = { span = "0.015 %", is = "k=2", contains = ["drift", "calibration"] }'
READING = 'accuracy = { reading = "0.025 %", floor = "20 %", is = "k=2", contains = ["drift", "calibration"] }'


def sensor(name: str, range_: str, accuracy: str = FULL_SCALE, rest: str = "cost = 4000") -> str:
    """One sensor's table."""
    return f'[sensor.{name}]\nrange = "{range_}"\n{accuracy}\n{rest}\n'


def instrument(name: str, range_: str, rest: str = 'tolerance = { span = "0.1 %" }') -> str:
    """One instrument's table."""
    return f'[instrument.{name}]\nrange = "{range_}"\n{rest}\n'


def lab(folder: Path, *parts: str, head: str = HEAD, sets: tuple[str, ...] = ()) -> Lab:
    """The checked laboratory of these tables."""
    path = folder / "lab.toml"
    path.write_text("\n".join([head, *parts]), encoding="utf-8")
    return load_lab(path, sets)


def answer(folder: Path, *parts: str, head: str = HEAD, sets: tuple[str, ...] = ()) -> CoverResult:
    """What `cover` finds."""
    return cover(lab(folder, *parts, head=head, sets=sets), workers=1)
