"""The formulas behind `hold`, in words for `hold --method`; rules of habit are marked as such."""

METHOD = """\
HOW hold GETS ITS NUMBERS

Bench      One bench is drawn: every stated spread, sizes of unknown sign with mean 0 and half their size as standard
           deviation, and all noise come from the seed. Another seed is another bench of the same file. Gains that were
           tuned stay those of the nominal bench, as in the trials of `settle`: nobody tunes anew for what was drawn.

Course     From rest at the room's pressure the controller moves on. The soak begins when the reading is inside 1 % of
           the step, or twice a known ripple, and stays there for 1 s [our choice, as `settle`]; at its end inlet,
           outlet and vent shut. `wait` is not counted, `watch` is. From below: from the room's pressure, or, where the
           hold is below that, from half of the hold's pressure. From above: from 1.5 times it or 98 % of the highest
           that the bench allows, or from the room's pressure where that is above [our choice].
Record     What the logged sensor reads: the true pressure behind the sensor's lag, + drift t + zero_shift times the
           room's change since the zero was set, at the start of the run, + step_shift step exp(-t/T), a gauge one
           less the barometer p0 + barometer_drift t, + noise, rounded to the resolution. The loop is not moved by what
           its sensor reads too much. The record shows the last 30 s of the soak.

Leak       Gas that left the isolated volume and the pockets that only a leak joins to it, net, per time of the watch;
           outward positive, what a seat or a leak lets in is negative. What outgassing gives is not in it, nor what
           the controller's valves pass while they go shut.
Parts      The isolated volumes i of capacity V at p, T hold M = sum V rho(p, T), real gas. With S = sum V (d rho/dp)_T
             leak        = -(kg that left) mean over the watch of 1/S
             thermal     = -integral of sum V (d rho/dT)_p dT_i / S          (ideal gas, one volume: p dT/T)
             other       = the rest of the sensor's smooth change: pockets that fill or empty, walls that give way, gas
                           from surfaces, volumes not at one pressure, drift, zero shift, shift after the step,
                           barometer
             unexplained = noise and rounding of the two readings
           They sum to the change from the first to the last reading of the watch.
Limit      --permitted-leak as an amount holds at this pressure; as a fall of pressure it is V d(rho)/dp of the
           isolated gas at the watch's mean pressure and the room's temperature.

Hand       Its heat goes into the wall of the volume in pieces of 0.5 s. It acts from shutting the valves on.
Surface    Gives rate age / (age + t), t from the start of the run; that law, 1/t, is the usual one for metals
           [common practice, no source]. Until the valves shut the controller takes it up, at the first rate.
Warm body  `wall.warmer`: the wall begins so much above the room and cools to it through its outer film.
Thermometer on the wall, behind its lag; its error is drawn with half of `accuracy` as standard deviation.
"""
