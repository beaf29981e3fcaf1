"""What was asked of `settle`: from the command line or from a result.json, in one form."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simcal.errors import InputError

if TYPE_CHECKING:
    from simcal.bench.bench import Bench
    from simcal.bench.values import Level

LEAST_TRIALS = 19
"""Fewest trials of a 90 % band: the smallest and the largest of n lie on average 1 / (n + 1) inside the ends of what is
drawn from (H. A. David and H. N. Nagaraja, Order Statistics, 3rd ed. 2003, chapter 2), and from 19 on that is 5 %."""
MOST_TRIALS = 1_000_000
MOST_GROUPS = 1_000
MOST_SEED = 2**63 - 1


@dataclass(frozen=True)
class Asked:
    """The options that decide the answer, as the user wrote them; how it is shown is not among them."""

    bench: str
    device: str | None = None
    sequence: str | None = None
    trials: int = 0
    groups: int | None = None
    dwell: str | None = None
    seed: int = 1
    set: tuple[str, ...] = ()
    self_check: bool = False

    def __post_init__(self) -> None:
        if self.trials != 0 and not LEAST_TRIALS <= self.trials <= MOST_TRIALS:
            right = f"a whole number from {LEAST_TRIALS} to {MOST_TRIALS}, fewer make no 90 % band; or 0"
            raise usage("--trials", str(self.trials), right)
        _within("--groups", self.groups, 1, MOST_GROUPS)
        checked_seed(self.seed)
        if self.groups is not None and self.dwell is not None:
            raise usage(
                "--groups", "--groups together with --dwell", "one of them: a given dwell leaves nothing to group"
            )
        self.dwell_s()

    def dwell_s(self) -> float | None:
        """The dwell of the reverse question in s, None when it was not asked.

        Raises:
            InputError: it is not a time of 0 s or more.
        """
        if self.dwell is None:
            return None
        return time_of("--dwell", self.dwell)

    def load(self, texts: Mapping[str, str] | None = None) -> "Bench":
        """The checked bench with every --set put in; from `texts` (name -> text) when given, else from disk."""
        from simcal.files.bench_file import load_bench

        return load_bench(self.bench, self.set, device=self.device, texts=texts)

    def arguments(self) -> dict[str, Any]:
        """For result.json: the same with the file's name alone."""
        return {**asdict(self), "bench": Path(self.bench).name, "set": list(self.set)}


def usage(option: str, found: str, right: str) -> InputError:
    """An error of the command line."""
    return InputError("command line", option, found, right)


def time_of(option: str, text: str) -> float:
    """A time of 0 s or more without a spread, s.

    Raises:
        InputError: the text is another thing.
    """
    from simcal import units

    try:
        parsed = units.parse(text, "time")
    except units.UnitError as error:
        raise usage(option, error.found, error.right) from error
    if parsed.shape != "exact" or parsed.value < 0.0:
        raise usage(option, repr(text), "a time of 0 s or more without a spread, like 30s")
    return parsed.value


def level_of(option: str, text: str) -> "Level":
    """A pressure level without a spread.

    Raises:
        InputError: the text is another thing.
    """
    from simcal import units
    from simcal.bench.values import Level

    try:
        parsed = units.parse(text, "pressure")
    except units.UnitError as error:
        raise usage(option, error.found, error.right) from error
    if parsed.shape != "exact":
        raise usage(option, repr(text), 'a level without a spread, like "5 bar gauge"')
    return Level(parsed.value, parsed.reference == "gauge")


def leak_of(option: str, text: str, zero: bool = False) -> tuple[float, str]:
    """A leak without a spread: its number in SI and whether it is an "amount" (mol/s) or a "pressure rate" (Pa/s).

    zero: nought is one, too.

    Raises:
        InputError: the text is another thing.
    """
    from simcal import units

    try:
        parsed, form = units.parse(text, "flow_amount"), "amount"
    except units.UnitError as error:
        try:
            parsed, form = units.parse(text, "rate_pressure"), "pressure rate"
        except units.UnitError:
            raise usage(option, error.found, f"{error.right}, or a rate like 50 Pa/min") from error
    if parsed.shape != "exact" or parsed.value < 0.0 or (parsed.value == 0.0 and not zero):
        least = "of 0 or more" if zero else "above 0"
        raise usage(option, repr(text), f"a rate {least} without a spread, like 2e-7 mol/s")
    return parsed.value, form


def share_of(option: str, text: str, low: float, high: float) -> float:
    """A share from low to high without a spread.

    Raises:
        InputError: the text is another thing.
    """
    from simcal import units

    try:
        parsed = units.parse(text, "share")
    except units.UnitError as error:
        raise usage(option, error.found, error.right) from error
    if parsed.shape != "exact" or not low <= parsed.value <= high:
        raise usage(option, repr(text), f"a share from {100.0 * low:g} % to {100.0 * high:g} % without a spread")
    return parsed.value


def checked_seed(seed: int) -> None:
    """Refuse a seed outside 0 to `MOST_SEED`."""
    _within("--seed", seed, 0, MOST_SEED)


def _within(option: str, number: int | None, low: int, high: int) -> None:
    if number is not None and not low <= number <= high:
        raise usage(option, str(number), f"a whole number from {low} to {high}")
