"""The formulas behind `cover`, in words for `cover --method`; rules of habit are marked as such."""

METHOD = """\
HOW cover GETS ITS NUMBERS

Signs      Pressures inside are absolute; every figure is held against the range it was stated for. All uncertainties
           are standard ones (k=1), U is twice that, and independent parts add as squares.
           [JCGM 100:2008, 4.3 and 5.1.2; "limits" are rectangular: half-width / sqrt(3)]

Tolerance  T = span x S + reading x max(|p|, floor x S), S the span of the instrument; or its class, in % of
           span; the class's allowance for temperature is not counted.
           [EN 837-1:1996, table 11]
Points     as given, else 0 to 100 % evenly, 11 up to a tolerance of 0.6 % and 6 above.
           [EN 837-1 asks for 10 and 5 or more, at second hand; EURAMET cg-17, 5.2.1 for 6]

Sensor     its accuracy figure at the point, its drift until the next calibration and the uncertainty of its own
           calibration where the figure does not contain them, resolution / sqrt(12).
Barometer  a gauge instrument on an absolute sensor, or the reverse, adds the barometer with its stated +-. Without one
           such a pair is not used.
Head       rho g h of the gas in the line at the point (less the room's air for a gauge instrument): corrected, how
           well h is known is left; not corrected, the whole head counts as limits besides.
           [hydrostatics; EURAMET cg-17, 5.1]
Line       limits of the pressure difference along the line, as stated.
Dwell      from a run of `settle` on the first bench of the LAB that reaches all the instrument's points: the bench with
           the instrument's range, tolerance and points in the place of its device. The error left at the reading counts
           as limits, the random part (two standard deviations) as it is. The line's difference is in that error. Runs
           are kept in the cache. Without a bench as stated, else 10 % of the tolerance as limits.
           [a tenth: common practice, no source]
Device     its resolution / sqrt(12) and its repeatability (k=1), beside the bench.
Vent       0 gauge is read against the room: no sensor counts and no rule is asked; head, line and dwell remain.

Ratio      T / U, of the bench alone and with the device's share. [4:1: common practice, no source]
Risks      true errors normal about 0 with standard deviation s, readings add a normal error of standard deviation u.
           Consumer's risk: out of tolerance and accepted; producer's: in tolerance and rejected; shares of all
           instruments. s from the stated share in tolerance, of true or of observed errors (s^2 + u^2); without a prior
           each risk is the largest over all s: the worst case.
           [JCGM 106:2012, clause 9; Owen, Ann. Math. Statist. 27 (1956) 1075]
Rules      ratio: T/U at least as large. consumer_risk: the risk at most as large with readings up to T accepted, and
           T/U at least 1, because below that the risk falls again while hardly anything is accepted [our choice].
           guard_band g: readings up to A = T - g U are accepted, and A is at least `zone` of T [half: our choice].
           specific_risk r: the same with A = T - z(1 - r) u, so that an instrument with an accepted reading is out with
           a chance of r at most. [JCGM 106:2012, 8.3.2] Told with every rule for a reading at A.

Set        cheapest set with a sensor for every point of every instrument that all sensors together could cover, of at
           most `places` sensors; where there is none, or with a budget, the set that covers most calibrations a year.
           Owned sensors cost nothing. Of equals the cheaper, then the smaller, then the one listed first. A kind that
           never comes counts as a thousandth of a calibration.
           [integer programmes, scipy.optimize.milp (HiGHS); proved where its gap is nought]
Route      the sensor of each point of a run in its order: fewest switches, then the smallest sum of U / T; exact, by
           dynamic programming. At a vent the sensor in use stays. A switch takes `switch`. Sensors whose range ends
           below the run's other points are taken to be shut off then.
Crossover  pressure at which the uncertainties of two sensors, their own parts alone, are equal.
One more   what each sensor would add to those owned, and to the set.
"""
