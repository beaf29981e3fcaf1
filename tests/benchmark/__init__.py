"""How fast the engine is: `python -m tests.benchmark --help`. Nothing here is asserted but that two answers agree."""
