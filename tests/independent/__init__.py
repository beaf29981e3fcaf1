"""An independent re-implementation of a bench for the tests; it shares nothing with simcal/.

`gas`, `flow`, `heat`: the laws written again from their published or documented formulas; `plant`: the bench in plain
numbers and its differential equations, with temperature where the engine has energy; `solve`: scipy's stiff solver,
restarted at every sample of a controller that is written again as well. `base`: what the benches have in common, as
file and in numbers, for `benches` and `dwell_benches` to say what differs.
"""
