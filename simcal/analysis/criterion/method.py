"""The formulas behind `criterion`, in words for `criterion --method`; rules of habit are marked as such."""

METHOD = """\
HOW criterion GETS ITS NUMBERS

Question   soak with the controller on, shut the valves, wait, watch: which times, and which limits on the change of
           the reading, tell a leak that is permitted at most from a healthy one? A miss is a pass with the permitted
           leak, a false alarm a fail with the healthy one (a tenth of it unless said). Both stay within what is asked
           on average and for 95 % of the benches that the stated spreads allow.
Leak       The tried leak, law --leak-law, sits at the first device that the valves shut in, else at the sensor, and
           takes the place of all leaks and seals to the room that the file has; trapped volumes stay.
auto       What the first device shut in allows: its allowance a, else a tenth of its accuracy [common practice, no
           source], may be taken up whole by a leak. Held: the leak at the device's end makes the line's pressure
           difference, p(sensor) - p(device) = a by the flow law of the lines between. Isolated:
             q = V (d rho/dp)_T / M  a / max(window, |skew - lag(device) + lag(sensor)|)
           so that neither the readings' being apart nor the pressure's moving while one reads makes more than a. The
           smaller governs.
Compared   Mean of the last n readings of the watch less mean of its first n; gauge or absolute as the sensor is; not
           corrected for temperature. The watch runs from the first of these readings to the last.
           More than the limit in the leak's sense: a leak. More than the other limit: no pass either, but no leak: an
           inlet that passes, a warm body, gas from surfaces.

Benches    Drawn once a bench: volumes, walls, films, sensor drift and zero shift, whatever else has a spread.
Runs       Drawn for every hold: the room's drift and the phase of its swing, the barometer's drift, the warmth of a
           body, noise, and the side with --from either. Trial i draws from (seed, i) alone.
A hold     of a run is a sum: the bench's own hold, simulated whole through fill, soak and shut valves, without and with
           the leak; plus what each drawn part adds for one unit of it, simulated too; sensor and barometer in closed
           form. That a sum stands for a whole hold is checked on 3 runs simulated whole, and the difference printed.
Search     All soaks, waits and watches of a grid of round times, the shortest in all that leaves room for a limit. With
           m, s mean and standard deviation over the runs of a bench, u the quantile of the normal distribution:
             limit >= m(healthy) + u(1 - 0.8 alarm) s,   limit <= m(permitted) - u(1 - miss) s,
             other limit >= -m(healthy) + u(1 - 0.2 alarm) s, and not below 3 standard deviations of the noise,
           each for 97 % of the benches and for 0.8 of the risks: room for what fresh benches do otherwise. The limit is
           a round number from the middle half of what is left. Where fresh benches break it, they are looked at as
           well, with more room, and others check.
Risks      As counted on fresh benches, their readings noisy and rounded one by one. Intervals (95 %) are the exact
           binomial ones (Clopper and Pearson, 1934), benches counted as clusters (Korn and Graubard, 1998). "For 95 %
           of benches": the quantile of each bench's own chance; its interval from order statistics.
Span       Other capacities and pressures: up to where the nominal bench, with the room kept that the other benches
           needed, still fits the limit.
Chances    With a share b of bad seals, each with the permitted leak, all others healthy (Bayes' rule):
             a fail is bad   b (1 - miss) / (b (1 - miss) + (1 - b) alarm)
             a pass is good  (1 - b)(1 - alarm) / ((1 - b)(1 - alarm) + b miss)
Half-way limits and 5 % risks are usual [common practice, no source]; the times of the grid are our choice.
"""
