"""The formulas behind `settle`, in words for `settle --method`; rules of habit are marked as such."""

METHOD = """\
HOW settle GETS ITS NUMBERS

Signs      Every error and every part of it is device minus reference. Pressures inside are absolute.

Run        The bench is a network of gas volumes with walls, lines and valves, under its sampled controller. Setpoints
           are commanded one after the other; the next command comes when the window of the last reading is over, and
           the state is carried over. 0 gauge is a vent through the vent valve, not control.
           A controller known from outside goes at its rate; `settled_in` counts from the end of the way, step / rate
           after the command, until the pressure is inside its ripple.

Readings   d(t), r(t): true pressure at the device's port and at the reference, each through its own lag (first
           order), plus shifts. The later of the two is read in the window, the other one |skew| before.
           The known head is removed. Shifts, drifts and zero shifts are added to what is read. The loop sees those of
           its own sensor, which move the pressure: drift and `step_shift` as they go on, `zero_shift` as it is at the
           command. A controller known from outside sees drifts as they are at the command, too.
           With the barometer at p0 + drift t a gauge instrument falls behind an absolute one by drift t; two gauge
           instruments agree. At a vent the gas goes with the room. This counts with the sensors.

Nearness   |r - target| <= N, N = the larger of 1 % of the step and the allowance, or as given.
           [common practice, no source]
           Being off the target is no error of the comparison. Points read more than ten allowances off, and vents more
           than one, are named [our choice].
Allowance  A = a tenth of the device's accuracy figure as stated, or as given.
           [common practice, no source]

Random     Noise s and resolution q of an instrument, mean of n independent readings,
           n = window / (the larger of the controller's period and the instrument's lag), at least 1:
             b^2 = sum over k of q^2/(2 pi^2 k^2) exp(-4 pi^2 k^2 s^2/q^2)      rounding that does not average out
             u^2 = (s^2 + q^2/12 - b^2)/n + b^2
           Random part R = 2 sqrt(u_device^2 + u_reference^2).
           [Widrow and Kollar, Quantization Noise, Cambridge 2008; JCGM 100:2008, 4.2.3 and F.2.2.1]

Ready      Earliest window in which at every controller sample |r - target| <= N and |d - r| + R <= A.
           arrival = last entry of r into nearness before that window; dwell = from there to the window's start;
           ready = arrival + dwell, from the command.
           Isolated: the valves shut when r has been inside nearness for `soak`; the window comes after that.
           latest = latest start of such a window while the valves stay shut. Where a soak is too short, longer ones are
           tried on branches of the point, doubled and then halved in between; one that works is named, rounded up.
           A point that is not ready within `longest` is not reached; the run's time holds the time it took in vain.
           Dwell given: the window comes when r has been inside nearness for that long, the soak before the valves shut
           counted, and not before they shut; the point is reached if every sample of that window is good as above,
           which a mean over it does not tell of a pressure that cycles.

Parts      means over the window, p the true pressures:
             line    = mean(p_port - p_reference) - leak       make-up for gas that cools or warms
             leak    = share of that difference which the standing leaks' flow makes (below)
             rate    = what the lags and the skew make of a changing pressure; at a steady rate v it is
                       v (skew + lag of reference - lag of device)
             sensor  = what shifts of the two sensors after the step add
             control = mean(r) - setpoint, only with reference_value = "setpoint"
             device  = the device's own after-effect, only with wait_for_after_effect = true
           They sum to the error. `ripple` is the random one and is no term of that sum: 2 standard deviations of the
           mean, from R and, where the pressure cycles with amplitude a and period P,
             a/sqrt(2) |sin(pi W/P)/(pi W/P)| over a window of W; where the loop goes on in a lasting cycle (below), the
             standard deviation of the means of all windows there.

Leak share Every line passes m = G dp at the window's state. The flows q of the leaks alone are put on this network:
           held, the control node takes up the sum; isolated, every volume gives in proportion to the gas it stores per
           pressure, V d(rho)/dp. The pressure difference port minus reference of that linear network is the share.

Governs    limited_by is the largest part, on the error's own side, at the last sample that was not yet good. It is
           ripple where the difference swings by more than that within a window, or where, in a lasting cycle, the
           difference there is further from its mean over a period to each side than that mean is from 0. It is soak
           where the valves shut while the error was good already, and arrival where nothing had to be waited for.

Head       head = -(rho - rho_air) g (height of device - height of reference) for a gauge device, rho_air = 1.2 kg/m3;
           rho alone for an absolute one. Device minus reference, removed from the error.
           [hydrostatics; EURAMET cg-17 asks for the correction, 5.1]

After-effect  device: -f (step) exp(-t/T) from the command on, f and T as stated: it lags behind the step. It
           is reported beside the error; with wait_for_after_effect = true it is a part of it and the dwell waits.
Shift      sensor: f (step) exp(-t/T) from the command on. Steps before it decay on.

Exposure   Overshoot, peak and peak rate: true pressure at the port, from the command to the end of the window.
           Between samples too, wherever the run goes in steps; where it rides on a map hardly anything moves.
           A point overshot beyond the device's limit is void: it was not read on the way of its direction. Direction
           and step count from the target before, or, where that was not reached, from the pressure at the command; an
           overshoot is held against the limit only where both points were reached.

Make-up    inlet minus outlet, mean over the window. Gas used: through the inlet to the end of the last window. Of a
           controller known from outside only the sum of inlet and outlet is known: its gas used is what each step takes
           in on balance, nothing for a step down; what it lets out again within a step is not counted.
Seals      squeeze, contact pressure and lift-off of a ring by published laws; what leaks past it is a stated teaching
           assumption: round channels that close with the contact pressure P as exp(-P/R), to which pressure adds. Where
           faces part the ring loses squeeze by the end load over the joint's stiffness, and contact pressure with it.
           [force: Lindley 1966; exp: Roth 1966; numbers of the channels: mechanism only, nothing measured]
Energy     isentropic expansion of the real gas from the highest pressure to the room, all volumes and lines, without
           condensation: to 35 MPa up to 12 % low for argon, which would condense, up to 3 % high for nitrogen, air.

Authority  Flow of the fully open inlet and outlet at each setpoint, as a share of the choked flow of the same valve at
           the same upstream pressure. Reported as lost below 30 % of it, or below twice the flow the window asked for.
           [common practice, no source]
Tuning     simc: of the bench's own linear models, with a peak sensitivity of at most 1.7 at every pressure looked at.
           [Skogestad, J. Process Control 13 (2003) 291]  ziegler-nichols: 0.45 Ku, Pu/1.2; -pid: 0.6 Ku, Pu/2, Pu/8, of
           the valve and pressure with the smallest Ku. [Ziegler and Nichols, Trans. ASME 64 (1942) 759, ultimate gain]
Margins    of the linearised sampled loop with its hold and delay at each setpoint, through the inlet and through the
           outlet; the worse of each figure counts. Gains that are tuned hold a peak sensitivity of 1.7 with every valve
           of at least a twentieth of the strongest one; where a loop passes 2 a note names it.
           [Astrom and Hagglund, Advanced PID Control, ISA 2006, chapter 4]
Cycle      The run goes on holding for 10 s, or up to 600 s where valves or reading lack continuity, as a branch. Its
           last two thirds are looked at alone, too, and with the second half of the point before it. A cycle is three
           periods or more that repeat themselves (autocorrelation 0.5 one period later), or four or more of nearly
           equal swing whose period changes steadily, and does not die away: amplitude, half of peak to peak, and
           period at device and reference. So a cycle slower than 3 s, or than 130 s there, is not seen, nor one that
           the loop comes to only later, nor one below 1 % of the allowance.
           Where the period is above half the window and the swing above 10 % of the allowance [our choice], a note
           says how far the means of other windows in the branch, and single readings, are from the error reported.

Trials     Trial i draws every stated spread from (seed, i), rebuilds the bench and runs it with the noise in its loop;
           gains that were tuned stay those of the nominal bench. Drifts and zero shifts have mean 0 and half the stated
           size as standard deviation; accuracy is not drawn, it is what the calibration is to find. The band holds 90 %
           of the trials, of the dwells or, where the dwell is given, of the errors. A trial with a point that is not
           reached counts as one whose dwell and run never end. Shares: rank regression of the sum of the dwells, or of
           the largest share of an allowance where the dwell is given, on the unknowns.
           [Iman and Conover, Technometrics 21 (1979) 499]
Groups     Dwells are rounded up (1 s to 10 s, 5 s to a minute, 10 s to 5 minutes, 30 s beyond [common practice, no
           source]) and shared by neighbours in pressure of one direction so that the run is shortest (exact dynamic
           programme); the run is made again with them. With trials the upper ends of the bands are shared.
"""
