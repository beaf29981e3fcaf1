"""The formulas behind `judge` and `judge --follow`, for `judge --method`; rules of habit are marked as such."""

from simcal.analysis.judge.follow import ALPHA, BINS, FIRST, UNTOLD
from simcal.analysis.judge.interval import DOUBT, WIDER

SEQUENTIAL = (
    "confidence sequence of the prior-posterior ratio (Waudby-Smith and Ramdas, NeurIPS 33, 2020, after Robbins 1970)"
)

METHOD = f"""\
HOW judge GETS ITS NUMBERS

Rate       Net flow out of the shut volume V, signed, at the mean absolute pressure of the watch. A fall of 1 Pa over a
           watch of T is V (d rho/dp)_T / (M T) mol/s, real gas.
Reading    What the sensor reads since the valves shut, in blocks even in time and even in its logarithm:
             reading = gas cooling to the wall and body cooling to the room (gas and five shells of the wall, started by
                       the first law from what came before) + leak (its course by law: hole, laminar, molecular,
                       permeation) + room that wanders + something that yields slowly + drift, zero shift, barometer
                       + noise, rounding, and what the model of the gas misses
           The sizes that are not known are normal about what the about-file or geometry says, as wide as `assumed`
           lists them.
Evidence   About the most probable curve all is linear, so everything but the leak is integrated out. What is left is
           one normal distribution of the leak for each explanation: past, room, law, spread of leaks, slow yielding.
           They are weighed by how well each foretold the record (a t distribution: the noise is not wholly believed).
Interval   2.5 % and 97.5 % of that mixture times the capacity's spread (log-normal), and of the same mixture as one
           sees it who holds a yielding that could be the whole of a leak {DOUBT:g} times as likely, as odds: the
           farther ends count. Half-widths are times {WIDER:g}, found on records of a finer model [our calibration].
Verdict    leak: the interval lies wholly outside -permitted .. permitted; tight: wholly inside; else undecided, and
           always where no explanation fits. The limit is moved to the record's pressure by `limit_law`.
Causes     Each source's share of what moved the reading over the watch; `widened by`: its share of the variance.
Next       The best explanation is run on for holds as proposed, and the same mixture asked for its interval then.

HOW judge --follow KEEPS LOOKING HONEST

Looks      One after each new bin, a {BINS}th of the watch up to `watch_until`, from {FIRST:g} s or a third of it on;
           where no end is said, of {UNTOLD:g} s, doubled each time that it is over (of a finished file, of its length).
           Between bins the answer stands. Explanations are those of a hold of that whole length at every look.
Method     With the leak's prior p(x) and p(x | rows so far), both mixtures as above and not widened, a look's interval
           is the smallest that holds every x with  p(x) / p(x | rows) < 1/{ALPHA:g}.  At the true x that ratio is a
           martingale of mean 1, so it ever reaches 1/{ALPHA:g} with {100 * ALPHA:g} % at most, however many looks and
           whenever one stops.
           [I. Waudby-Smith and A. Ramdas, NeurIPS 33 (2020), prior-posterior ratio; H. Robbins, Ann. Math. Statist. 41
           (1970) 1397, mixtures; J. Ville 1939, the inequality]
           A look may give a wider interval than the one before: it counts by itself. The first that decides ends it.
           Noise and the curve are found anew at every look; the argument does not cover that, records of a finer model
           do (tests/campaign/test_follow_honesty.py).
Price      The hold after which a single look would have decided: the first look from which on the interval of one look
           always said what was decided in the end. It counts only if its moment was planned and nobody looked
           before.
"""
