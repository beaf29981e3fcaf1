"""The objects of a bench, frozen; numbers are plain floats in SI, pressures absolute unless a type says so.

Each field carries its kind, range, unit, default and help as metadata (`meta.key`); the loader in
`simcal.files` and the key reference are both made from it. Spreads live aside, in `Bench.spreads`, under
the dotted key of their value.
"""
