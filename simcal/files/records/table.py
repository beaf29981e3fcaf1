"""The rows of a record as arrays, before they are put into order."""

from collections import Counter
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from simcal.bench.record import FloatArray
from simcal.files.records.clock import Stamps
from simcal.files.records.words import Unit


@dataclass
class Table:
    """The rows of a record, as the file has them.

    `time` is elapsed seconds or seconds of a clock's day, `which` the number of the row's date text (None without
    dates), `pressure` in Pa, `temperature` in K with NaN where it is missing (None without one). `breaks` are the
    rows before which a header stood again. In long form `warm` holds the temperature's own rows.
    """

    time: FloatArray
    which: np.ndarray | None
    pressure: FloatArray
    temperature: FloatArray | None
    breaks: tuple[int, ...]
    dropped: Counter[str]
    stamps: Stamps
    units: dict[Unit, int]
    warm: "Table | None" = None


@dataclass
class Rows:
    """Arrays of one kind of rows, block by block."""

    time: list[FloatArray] = field(default_factory=list)
    which: list[np.ndarray] = field(default_factory=list)
    value: list[FloatArray] = field(default_factory=list)
    second: list[FloatArray] = field(default_factory=list)

    def add(self, time: FloatArray, which: np.ndarray | None, value: FloatArray, second: FloatArray | None) -> None:
        """Keep a block of rows."""
        self.time.append(time)
        self.value.append(value)
        if which is not None:
            self.which.append(which)
        if second is not None:
            self.second.append(second)


def joined_rows(rows: Rows) -> dict[str, Any]:
    """The arrays of a `Table`, all blocks in one."""
    return {
        "time": np.concatenate(rows.time),
        "which": np.concatenate(rows.which) if rows.which else None,
        "pressure": np.concatenate(rows.value),
        "temperature": np.concatenate(rows.second) if rows.second else None,
    }
