"""A year of a laboratory, simulated: jobs that wait for benches and for sensors, sensors that go away and come back.

luck (what is drawn) -> floor, fleet (what happens, by simpy) -> tally (what is summed up).
"""
