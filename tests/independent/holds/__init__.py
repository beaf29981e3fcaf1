"""Independent re-implementation, shares nothing with simcal/: records of isolated holds from a finer model.

`gases.py` the real gas, `laws.py` what flows, `model.py` gas and wall by shells, `confounders.py` what imitates a leak,
`logger.py` how a sensor and a logger see it, `population.py` seeded cases by part, `text.py` the files a user hands
in, `reference.py` an estimator that is told what a judge is not, `scoring.py` counts, `__main__.py` runs a judge.
"""
