"""Made laboratories: the two tables of a LAB file, drawn by a seed."""

import random
from pathlib import Path

RULE = """schema = "simcal/lab/1"
gas = "nitrogen"
room = {{ barometer = "1013.2 hPa abs +- 5 Pa" }}
workload = "work.csv"
candidates = "sensors.csv"
places = {places}
rule = {{ ratio = 4 }}
comparison = {{ height = "0 mm +- 5 mm", dwell = "5 %" }}
"""


def made(folder: Path, instruments: int, sensors: int, seed: int, places: int = 6, equal: int = 10) -> Path:
    """Write a LAB of so many kinds and candidates, `equal` of them at one price; its path.

    Full scales are drawn evenly in the logarithm and most tolerances are wide, so that many sensors serve each point
    and many sets are nearly as good.
    """
    draw = random.Random(seed)
    work = ["name,range,tolerance.span,tolerance.reading,tolerance.floor,points,count"]
    for number in range(instruments):
        high = 2.0 * 150.0 ** draw.random()
        kind = draw.choice(("gauge", "gauge", "gauge", "abs"))
        share = f"{0.1 * 16.0 ** draw.random():.3g} %"
        span, reading, floor = draw.choice(((share, "", ""), ("", share, "20 %")))
        points = draw.choice(("", "0 % | 50 % | 100 %", "10 % | 30 % | 70 % | 100 %"))
        low = 0 if kind == "gauge" else 0.2
        work.append(f"i{number},{low}..{high:.4g} bar {kind},{span},{reading},{floor},{points},{draw.randint(1, 60)}")
    rows = ["name,full_scale,accuracy.span,accuracy.reading,accuracy.floor,accuracy.is,accuracy.contains,cost,owned"]
    for number in range(sensors):
        full = 320.0 if number in (3, 17, 30) else 2.0 * 160.0 ** draw.random()
        kind = draw.choice(("gauge", "gauge", "abs"))
        figure = draw.choice(("0.015 %,,", ",0.025 %,20 %", "0.02 %,,", ",0.015 %,30 %", "0.008 %,,"))
        cost = 4000 if number < equal else draw.randint(2500, 9000)
        owned = "true" if number == equal + 10 else ""
        rows.append(f"s{number},{full:.4g} bar {kind},{figure},k=2,drift | calibration,{cost},{owned}")
    (folder / "work.csv").write_text("\n".join(work) + "\n", encoding="utf-8")
    (folder / "sensors.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    path = folder / "lab.toml"
    path.write_text(RULE.format(places=places), encoding="utf-8")
    return path
