"""A small bench for the settling analysis, and a way to vary it."""

from collections.abc import Callable
from pathlib import Path

import pytest

from simcal.bench.bench import Bench
from simcal.files.bench_file import load_bench

TEXT = """
schema = "simcal/bench/1"
name = "small bench"
gas = "nitrogen"
room = { temperature = "20 degC", barometer = "1000 hPa abs" }
[volume.manifold]
capacity = "20 cm3"
wall = { material = "steel", shape = "cylinder", bore = "20 mm", thickness = "3 mm", film_factor = "1 +- 0.1" }
[volume.port]
capacity = "100 cm3 +- 5 %"
wall = { material = "steel", shape = "cylinder", bore = "40 mm", thickness = "3 mm", film_factor = "1 +- 0.1" }
[line.run]
between = ["manifold", "port"]
bore = "1.5 mm"
length = "1 m"
[valve.inlet]
between = ["supply", "manifold"]
conductance = "1e-10 m3/(s Pa)"
[valve.outlet]
between = ["manifold", "exhaust"]
conductance = "3e-10 m3/(s Pa)"
[valve.vent]
between = ["manifold", "room"]
conductance = "1e-9 m3/(s Pa)"
[supply]
pressure = "9 bar abs"
[sensor.reference]
at = "manifold"
full_scale = "6 bar gauge"
accuracy = { reading = "0.025 %", floor = "20 %", is = "k=2" }
noise = "2 Pa"
[device.one]
at = "port"
full_scale = "6 bar gauge"
accuracy = { span = "0.05 %", is = "limits" }
lag = "50 ms"
resolution = "5 Pa"
[controller]
reads = "reference"
gains = { kp = 40, ti = "1 s", td = "10 ms", filter = "20 ms", track = "0.5 s" }
[leak.fitting]
at = "port"
rate = "1e-8 mol/s"
rate_at = "6 bar abs"
law = "laminar"
[sequence.up_down]
points = ["0 %", "50 %", "20 %"]
read = "held"
"""


@pytest.fixture(scope="session")
def make_bench(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Bench]:
    """`make_bench("sequence.up_down.skew='0.2 s'", extra="[leak.b]...")` reads a variant of the small bench."""
    folder: Path = tmp_path_factory.mktemp("benches")

    def make(*sets: str, extra: str = "", without: str = "") -> Bench:
        text = TEXT
        if without:
            start = text.index(f"[{without}]")
            end = text.find("\n[", start)
            text = text[:start] + text[end + 1 :]
        path = folder / "small.toml"
        path.write_text(text + extra, encoding="utf-8")
        return load_bench(path, sets)

    return make
