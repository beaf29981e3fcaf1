"""One good bench that uses most keys; the broken ones are small edits of it."""

GOOD = """\
schema = "simcal/bench/1"
name = "good"
gas = "nitrogen"
room = { temperature = "20 degC", drift = "0.3 K/h", barometer = "1013.2 hPa abs" }

[volume.manifold]
capacity = "20 cm3 +- 5 %"
wall = { material = "steel", shape = "cylinder", bore = "20 mm", thickness = "3 mm" }
[volume.port]
capacity = "100 cm3 +- 5 %"
[volume.buffer]
capacity = "200 cm3"

[line.run]
between = ["manifold", "port"]
bore = "2 mm"
length = "1 m"
cells = 2

[valve.inlet]
between = ["supply", "manifold"]
conductance = "1e-10 m3/(s Pa)"
critical_ratio = 0.3
lag = "5 ms"
seat = "1e-10 mol/s"
[valve.outlet]
between = ["manifold", "exhaust"]
kv = "0.001 m3/h"
terminal_ratio = 0.7
[valve.vent]
between = ["port", "room"]
conductance = "1e-9 m3/(s Pa)"
[valve.side]
between = ["manifold", "buffer"]
conductance = "1e-9 m3/(s Pa)"
open = true

[supply]
pressure = "25 bar abs"
droop = "0.2 bar"
droop_at = "1 g/s"
[exhaust]
pressure = "1013.2 hPa abs"

[sensor.reference]
at = "manifold"
full_scale = "20 bar gauge"
accuracy = { reading = "0.025 %", floor = "20 %", is = "k=2", contains = ["drift of a year"] }
noise = "5 Pa"
drift = "20 Pa/h"
zero_shift = "1 Pa/K"

[device.one]
at = "port"
full_scale = "20 bar gauge"
accuracy = { span = "0.1 %", is = "limits" }
highest = "22 bar gauge"
highest_rate = "10 bar/s"
overshoot = "0.5 %"

[controller]
reads = "reference"
period = "10 ms"
gains = { kp = 60, ti = "0.5 s", td = "10 ms", filter = "20 ms", track = "0.5 s" }

[leak.fitting]
at = "port"
rate = "2e-8 mol/s"
rate_at = "20 bar abs"
law = "hole"

[sequence.up_down]
points = ["0 %", "50 %", "20 bar gauge", "50 %", "0 %"]
preloads = ["100 %"]
read = "held"
window = "1 s"
"""
