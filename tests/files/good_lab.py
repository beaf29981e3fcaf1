"""A LAB with both of its tables, every key stated."""

LAB = """
schema = "simcal/lab/1"
name = "good"
gas = "nitrogen"
places = 6
switch = "40 s"
budget = 9000
currency = "EUR"
vent = true
workload = "work.csv"
candidates = "own.csv"
room = { barometer = "1013.2 hPa abs +- 10 Pa", temperature = "21 degC" }

[rule]
guard_band = "100 %"
zone = "40 %"
uncertainty = "with device"

[prior]
in_tolerance = "95 %"
of = "observed"

[comparison]
height = "50 mm +- 5 mm"
head = "not corrected"
line = "2 Pa"
dwell = "5 %"

[instrument.dial]
full_scale = "6 bar gauge"
class = "1.6"
resolution = "0.1 %"
repeatability = "50 Pa"
points = ["0 %", "50 %", "100 %"]
count = 12

[sensor.mine]
full_scale = "6 bar gauge"
accuracy = { span = "0.015 %", is = "k=2", contains = ["calibration"] }
drift = { span = "0.01 %", is = "limits" }
resolution = "1 Pa"
owned = true
"""
WORK = """# what came
name,full_scale,range,class,tolerance.span,tolerance.reading,tolerance.floor,resolution,repeatability,points,count,bench
dial 6,6 bar gauge,,1,,,,0.05 bar,,,60,
compound,,-1..5 bar gauge,,0.5 %,,,,10 Pa,-1 bar gauge | 0 % | 100 %,2.5,

reading,160 bar gauge,,,,0.1 %,10 %,,,,,
"""
OWN = """name,full_scale,accuracy.span,accuracy.reading,accuracy.floor,accuracy.is,accuracy.contains,cost,owned
A-6,6 bar gauge,0.015 %,,,k=2,drift | calibration,3900,yes
B-6,6 bar gauge,,0.025 %,20 %,k=2,drift | calibration,5200,no
"""
