"""One run: network arrays and a command in, a trace out.

Data flow inside the room: `arrays` (what a network is) -> `plant` (rates and their derivatives) -> `rosenbrock`
(one error-controlled step, for slewing and free holds), `quiet` (the exact one-sample map) and `pulses` (those of
pulsed valves) -> `loop` and `hold` (the two compiled runs; `between` keeps what pressures do from one sample to the
next) -> `simulate` (the Python side: states, commands, traces, a status put into words).
"""
