"""Tightening by feel costs bench hours and unnoticed leaks, and hardly any uptime.

Claim: by feel a tenth of the closings of the hand-tightened nut leak, torque-limited none. With a place for each of the
three sensors one is put in or taken out six times a year, and a leaking seal costs an hour. With two places, sensors
are exchanged for the work as well, three times as often, and the hours and the jobs done while the bench leaked
unnoticed are three times as many; the uptime falls by a tenth of a point.

What a seal leaks, and so the share of leaking ones, is a stated teaching assumption.

    python studies/09_torque_by_feel.py [--quick] [--out FOLDER]

prints the table (recorded in 09_torque_by_feel.txt beside this file) and, with --out, saves its figure there.
"""

from pathlib import Path

import showing
import years

from simcal.analysis.year.floor import RESEAT
from simcal.analysis.year.model import SPENT

PLACES = {6: "six places", 2: "two places"}
HABITS = ("torque-limited", "by feel")


def made(quick: bool) -> showing.Made:
    places = [2] if quick else list(PLACES)
    found = {
        (count, habit): years.rows(years.model(years.works(f"places={count}", f"year.exchange.habit={habit}")))
        for count in places
        for habit in HABITS
    }
    lines = [f"{'':34} {'exchanges':>10}  {'uptime, %':>10}  {'seals, h':>10}  {'leaky jobs':>10}"]
    staffed = 2218.0  # of a year
    for (count, habit), one in found.items():
        seals = staffed * one["spent"][:, SPENT.index(RESEAT)].mean()
        leaky = f"{one['leaky'].mean():.1f}"
        cells = [f"{one['exchanges'].mean():.0f}", years.percent(one["uptime"]), f"{seals:.1f}", leaky]
        lines.append(years.line(f"{PLACES[count]}, {habit}", cells))

    def draw(folder: Path) -> None:
        drawn, axes = showing.pyplot().subplots(figsize=(6.3, 2.6), layout="constrained")
        labels = [f"{PLACES[count]}, {habit}" for count, habit in found]
        values = [staffed * one["spent"][:, SPENT.index(RESEAT)].mean() for one in found.values()]
        axes.barh(labels, values, color="0.8", edgecolor="black", height=0.6)
        axes.invert_yaxis()
        axes.set_xlabel("hours a year spent on leaking seals")
        showing.save(drawn, folder, __file__)

    return "\n".join(lines), draw


if __name__ == "__main__":
    showing.run(__doc__, "two places only", made)
