"""simcal simulates gas-pressure calibration benches.

The package is also a library: one function for each command, loaded on first use.

    import simcal

    result = simcal.settle(simcal.load("bench.toml"))
"""

import importlib
from typing import Any

_PLACES = {
    "InputError": ("simcal.errors", "InputError"),
    "cover": ("simcal.analysis.cover", "cover"),
    "criterion": ("simcal.analysis.criterion", "criterion"),
    "hold": ("simcal.analysis.hold", "hold"),
    "judge": ("simcal.analysis.judge", "judge"),
    "judge_together": ("simcal.analysis.judge", "judge_together"),
    "load": ("simcal.files.bench_file", "load_bench"),
    "load_lab": ("simcal.files.lab_file", "load_lab"),
    "read": ("simcal.files.records.reader", "read"),
    "settle": ("simcal.analysis.settle", "settle"),
    "year": ("simcal.analysis.year", "year"),
}

__all__ = [  # noqa: F822 - given by __getattr__
    "InputError", "__version__", "cover", "criterion", "hold", "judge", "judge_together", "load", "load_lab", "read",
    "settle", "year",
]  # fmt: skip


def __getattr__(name: str) -> Any:
    if name == "__version__":
        return importlib.import_module("simcal.cache").version()
    if name not in _PLACES:
        raise AttributeError(f"module 'simcal' has no attribute {name!r}; it has {', '.join(__all__)}")
    module, attribute = _PLACES[name]
    value = getattr(importlib.import_module(module), attribute)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
