"""The files of a simulated hold: record and about-file read again, JSON by its schema, page, figure, whole or not."""

import csv
import json
import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from jsonschema import Draft202012Validator

import simcal.show
from simcal.analysis.hold import hold
from simcal.bench.values import Level
from simcal.errors import InputError
from simcal.files.about_file import load_about
from simcal.files.bench_file import load_bench
from simcal.show.drawing import svg
from simcal.show.figure_hold import hold_drawing
from simcal.show.hold_json import hold_document
from simcal.show.hold_record import about_toml, isolated_capacity, record_csv
from simcal.show.hold_save import Told, save_hold
from simcal.show.hold_text import hold_sentence, hold_text

ROOT = Path(__file__).resolve().parents[2]
SCHEMA = json.loads((Path(simcal.show.__file__).parent / "schemas/hold.schema.json").read_text(encoding="utf-8"))
MORE = """
[thermometer]
at = "port"
lag = "15 s"
accuracy = "0.2 K"
[volume.pocket]
capacity = "1 cm3"
[leak.thread]
at = "port"
to = "pocket"
rate = "1e-9 mol/s"
rate_at = "6 bar abs"
"""


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    """The shipped 6 bar bench with everything an about-file can tell, and a pocket that it cannot."""
    path = tmp_path_factory.mktemp("bench") / "full.toml"
    text = (ROOT / "configs" / "hard-piped-6bar.toml").read_text(encoding="utf-8")
    room = 'room = { temperature = "21 degC", drift = "0.4 K/h", ramp = "-0.5 K/h", cycle = "0.1 K", \
cycle_period = "900 s", barometer = "990 hPa abs", barometer_drift = "1 hPa/h" }'
    text = re.sub(r"(?m)^room = .*$", room, text)
    text = text.replace('pressure = "1013.2 hPa abs"', 'pressure = "990 hPa abs"')
    path.write_text(text + MORE, encoding="utf-8")
    sets = ("sensor.reference.drift='20 Pa/h'", "sensor.reference.zero_shift='3 Pa/K'",
            "sensor.reference.resolution='1 Pa'", "volume.port.wall.film='12 W/(m2 K)'")  # fmt: skip
    return load_bench(path, sets)


@pytest.fixture(scope="module")
def result(bench):
    """A hold of it at 4 bar gauge from above."""
    return hold(bench, pressure=Level(4e5, True), direction="above", soak_s=20.0, wait_s=5.0, watch_s=60.0,
                permitted=(50.0 / 60.0, "pressure rate"), seed=3)  # fmt: skip


def test_the_record_holds_time_pressure_and_temperature_as_read(result):
    rows = list(csv.reader(record_csv(result).decode("ascii").splitlines()))
    assert rows[0] == ["time_s", "pressure_Pa", "temperature_K"]
    values = np.array(rows[1:], float)
    assert values[:, 0] == pytest.approx(result.rows.time_s, abs=1e-9)
    assert (values[:, 1] == np.round(values[:, 1])).all()  # the resolution of 1 Pa
    assert values[:, 1] == pytest.approx(result.rows.pressure_Pa, abs=1e-6)
    assert values[:, 2] == pytest.approx(result.rows.temperature_K, abs=1e-4)


def test_a_leak_that_only_rounding_makes_is_told_as_none(bench, result):
    truth = replace(result.truth, leak_mol_per_s=9e-21, parts_Pa=result.truth.parts_Pa | {"leak": -8e-11})
    assert "of which 0 Pa is leak (0 mol/s, net outward)" in hold_sentence(replace(result, truth=truth), bench)


def test_the_about_file_says_again_what_the_bench_file_states(tmp_path, bench, result):
    path = tmp_path / "record.toml"
    path.write_bytes(about_toml(result, bench, "50 Pa/min"))
    about = load_about(path)
    assert (about.gas, about.reading, about.port, about.outlet) == ("nitrogen", "gauge", "device", "room")
    assert about.barometer == pytest.approx(bench.room.barometer)
    assert about.supply.absolute(bench.room.barometer) == pytest.approx(bench.supply.pressure)
    assert about.came_from.value == pytest.approx(result.plan.start_Pa)
    assert (about.isolated_at, about.watch_from, about.watch_until) == pytest.approx(
        (result.isolated_at_s, result.watch_from_s, result.watch_until_s)
    )
    assert (about.moved_in, about.soak) == pytest.approx((result.moved_in_s, 20.0))
    assert about.permitted_leak.value == pytest.approx(50.0 / 60.0)
    assert about.limit_at.value == pytest.approx(result.plan.pressure_Pa)
    port = bench.volumes["port"].wall
    assert (about.wall.material, about.wall.shape) == (port.material, port.shape)
    assert (about.wall.bore, about.wall.thickness, about.wall.film) == pytest.approx((0.04, 0.003, 12.0))
    room, sensor = bench.room, bench.sensors["reference"]
    assert (about.room.temperature, about.room.ramp) == pytest.approx((room.temperature, room.ramp))
    assert (about.room.cycle, about.room.cycle_period) == pytest.approx((room.cycle, room.cycle_period))
    assert (about.sensor.noise, about.sensor.resolution) == (sensor.noise, sensor.resolution)
    assert (about.temperature.of, about.temperature.lag) == ("wall", pytest.approx(15.0))
    same = {"barometer_drift": "room.barometer_drift", "room.drift": "room.drift",
            "sensor.drift": "sensor.reference.drift", "sensor.zero_shift": "sensor.reference.zero_shift"}  # fmt: skip
    for there, here in same.items():
        assert about.spreads[there].sd == pytest.approx(bench.spreads[here].sd), there
    assert about.spreads["temperature.accuracy"].sd == pytest.approx(0.1)  # half of 0.2 K, sign unknown
    drawn = result.truth.drawn
    assert drawn["volume.port.capacity"] != bench.volumes["port"].capacity  # and it is not what the file tells
    tube = 0.25 * np.pi * bench.lines["run"].bore ** 2 * 2.0
    assert about.capacity == pytest.approx(120e-6 + tube)  # the pocket is nobody's knowledge
    assert about.spreads["capacity"].sd == pytest.approx(np.hypot(np.hypot(1e-6, 5e-6), 0.06 * tube), rel=0.01)
    assert isolated_capacity(bench, "reference")[0] == pytest.approx(120e-6 + tube)


def test_what_was_assumed_of_a_wall_is_not_told_as_known(tmp_path, result):
    path = tmp_path / "bare.toml"
    text = (ROOT / "configs" / "hard-piped-6bar.toml").read_text(encoding="utf-8")
    path.write_text(text.replace(', shape = "cylinder", bore = "40 mm", thickness = "3 mm"', ""), encoding="utf-8")
    about = about_toml(result, load_bench(path)).decode("utf-8")
    assert 'wall = { material = "stainless" }' in about
    path.write_text(re.sub(r'(?m)^wall = \{ material = "stainless".*$', "", text), encoding="utf-8")
    assert "wall" not in about_toml(result, load_bench(path)).decode("utf-8")


def test_the_document_keeps_to_its_schema(bench, result):
    Draft202012Validator.check_schema(SCHEMA)
    document = hold_document(result, bench, {"bench": "full.toml"})
    read_back = json.loads(json.dumps(document, allow_nan=False))
    Draft202012Validator(SCHEMA).validate(read_back)
    assert read_back == document
    assert sum(document["truth"]["parts_Pa"].values()) == pytest.approx(document["truth"]["change_Pa"], abs=1e-9)
    without = hold(bench, pressure=Level(4e5, True), watch_s=5.0)
    document = hold_document(without, bench)
    Draft202012Validator(SCHEMA).validate(json.loads(json.dumps(document)))
    assert document["truth"]["permitted_mol_per_s"] is None
    assert "truth.permitted_mol_per_s" in document["reasons"]


def test_the_figure_is_the_same_bytes_for_the_same_run(bench, result):
    one, two = (svg(hold_drawing(result, bench), result.version) for _ in range(2))
    assert one == two
    assert b"<script" not in one
    drawing = hold_drawing(result, bench)
    assert "leak" in drawing.description and "grey column is the watch" in drawing.description
    for axes in drawing.figure.axes:
        assert re.search(r", (Pa|s|min|h)$", axes.get_xlabel())


class Tags(HTMLParser):
    """What a page holds: tags, figures, text."""

    def __init__(self):
        super().__init__()
        self.tags, self.text = [], []

    def handle_starttag(self, tag, attrs):
        """Note a tag."""
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data):
        """Note a text."""
        self.text.append(data)


def test_a_folder_comes_whole_and_its_page_tells_all(tmp_path, bench, result):
    place = tmp_path / "out"
    document = hold_document(result, bench, {"bench": "full.toml", "seed": 3, "permitted_leak": "50 Pa/min"})
    save_hold(result, bench, document, place, told=Told(permitted="50 Pa/min"))
    names = sorted(path.name for path in place.iterdir())
    assert names == ["drawn.csv", "hold.png", "hold.svg", "page.html", "parts.csv", "record.csv", "record.toml",
                     "result.json"]  # fmt: skip
    saved = json.loads((place / "result.json").read_text(encoding="ascii"))
    Draft202012Validator(SCHEMA).validate(saved)
    assert saved["files"] == names
    parts = list(csv.reader((place / "parts.csv").read_text(encoding="utf-8").splitlines()))
    assert parts[0] == ["part", "change_Pa", "what"]
    assert {row[0]: float(row[1]) for row in parts[1:]} == dict(result.truth.parts_Pa)
    drawn = list(csv.reader((place / "drawn.csv").read_text(encoding="utf-8").splitlines()))
    assert {row[0]: float(row[1]) for row in drawn[1:]} == dict(result.truth.drawn)
    page = Tags()
    page.feed((place / "page.html").read_text(encoding="utf-8"))
    figures = [attrs for tag, attrs in page.tags if tag == "svg"]
    assert len(figures) == 1 and figures[0]["aria-describedby"]
    assert not {tag for tag, _ in page.tags} & {"script", "img", "link", "iframe", "form"}
    text = " ".join(page.text)
    for words in ("An isolated hold, simulated", "unexplained", "volume.port.capacity", "permitted leak", "50 Pa/min",
                  "competent person", "seed 3", "barometer_drift"):  # fmt: skip
        assert words in text, words


def test_a_place_that_is_taken_stays_as_it_was(tmp_path, bench, result, monkeypatch):
    document = hold_document(result, bench)
    (tmp_path / "mine").mkdir()
    with pytest.raises(InputError, match="exists already"):
        save_hold(result, bench, document, tmp_path / "mine")
    monkeypatch.setattr("simcal.show.save.RESULT", "no/such/place")
    monkeypatch.setattr("simcal.show.hold_save.RESULT", "no/such/place")
    with pytest.raises(InputError, match="cannot write"):
        save_hold(result, bench, document, tmp_path / "new")
    assert [path.name for path in tmp_path.iterdir()] == ["mine"]


def test_the_text_says_what_the_change_is_made_of(bench, result):
    text = hold_text(result, bench)
    assert text.isascii() and max(map(len, text.splitlines())) <= 100
    whole = float(re.search(r"(?m)^whole +(\S+)", text)[1])
    assert sum(float(n) for n in re.findall(r"(?m)^(?:leak|thermal|other|unexplained) +(-?[\d.]+)", text)) == (
        pytest.approx(whole, abs=0.5)
    )
    assert "from above after 20.0 s of soak" in text and "permitted are" in text
    assert text.rstrip().endswith("seed 3")
