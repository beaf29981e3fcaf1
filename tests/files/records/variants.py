"""Ugly logger files made from one known course of pressure: the twenty-two kinds that loggers are met with.

Each maker returns the bytes, what the about-file must say before the record can be read ("" where nothing), what
the refusal says as long as it is silent, and what must come out. Written for these tests alone.
"""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

ROWS = 120
START = dt.datetime(2026, 3, 14, 10, 0, 0)
TIME = np.arange(ROWS) * 0.5
PRESSURE = np.round(700120.0 - 40.0 * (1.0 - np.exp(-TIME / 12.0)) + 3.0 * np.sin(TIME), 1)
WARM = np.round(294.5 - 0.4 * (1.0 - np.exp(-TIME / 20.0)), 2)


@dataclass(frozen=True)
class Ugly:
    """One file and what must be understood of it; `within` are the bounds for pressure and time."""

    raw: bytes
    about: str = ""
    refusal: str = ""
    time: np.ndarray = field(default_factory=lambda: TIME)
    pressure: np.ndarray = field(default_factory=lambda: PRESSURE)
    warm: np.ndarray | None = None
    reference: str | None = None
    within: tuple[float, float] = (0.051, 1e-6)
    resolution: float | None = None
    segments: int = 1
    dropped: dict[str, int] = field(default_factory=dict)
    says: tuple[str, ...] = ()


def _bar(digits: int = 6) -> list[str]:
    return [f"{p / 1e5:.{digits}f}" for p in PRESSURE]


def _comma(texts: list[str]) -> list[str]:
    return [text.replace(".", ",") for text in texts]


def _clock(form: str, step: float = 0.5) -> list[str]:
    stamps = [START + dt.timedelta(seconds=step * n) for n in range(ROWS)]
    return [one.strftime(form.replace("%f", f"{one.microsecond // 1000:03d}")) for one in stamps]


def _lines(header: str, *columns: list[str], sep: str = ",", end: str = "\n") -> str:
    rows = [sep.join(one) for one in zip(*columns, strict=True)]
    return end.join([*([header] if header else []), *rows]) + end


def _celsius(digits: int = 2) -> list[str]:
    return [f"{t - 273.15:.{digits}f}" for t in WARM]


SECONDS = [f"{t:.1f}" for t in TIME]


def decimal_comma_and_day_first() -> Ugly:
    text = _lines("Zeit;Druck [bar];Temperatur [°C]", _clock("%d.%m.%Y %H:%M:%S,%f"), _comma(_bar()),
                  _comma(_celsius()), sep=";")  # fmt: skip
    return Ugly(text.encode(), warm=WARM, resolution=0.1, says=("file.date_order", "file.decimal"))


def thousands_and_decimal_comma() -> Ugly:
    cells = [f"{p:,.1f}".replace(",", "_").replace(".", ",").replace("_", ".") for p in PRESSURE]
    return Ugly(
        _lines("t [s];p [Pa]", _comma(SECONDS), cells, sep=";").encode(), says=("file.thousands",), resolution=0.1
    )


def mark_quotes_and_carriage_returns() -> Ugly:
    text = _lines('"time_s","pressure_bar"', *[[f'"{c}"' for c in col] for col in (SECONDS, _bar())], end="\r\n")
    return Ugly(b"\xef\xbb\xbf" + text.encode())


def utf16_with_tabs() -> Ugly:
    return Ugly(
        _lines("Zeit (s)\tDruck (kPa)", SECONDS, [f"{p / 1e3:.4f}" for p in PRESSURE], sep="\t").encode("utf-16")
    )


def latin1_degree_sign() -> Ugly:
    text = _lines("time [s],pressure [bar],temperature [°C]", SECONDS, _bar(), _celsius())
    return Ugly(text.encode("latin-1"), warm=WARM, says=("file.encoding",))


def preamble_header_units() -> Ugly:
    head = "Quillmoor data recorder\nSerial: 4711, channel list: p; T\nStart,14 March,bench 2\nInterval,0.5 s\n\n"
    text = (
        head
        + "Time,Pressure,Temperature\ns,kPa,°C\n"
        + _lines("", SECONDS, [f"{p / 1e3:.4f}" for p in PRESSURE], _celsius())
    )
    return Ugly(text.encode(), warm=WARM, says=("file.header_row",))


def comments_blanks_scientific() -> Ugly:
    rows = [f"  {t:8.1f}   {p:.7E}" for t, p in zip(TIME, PRESSURE, strict=True)]
    rows.insert(40, "# operator looked at the gauge")
    return Ugly(("# run 12\n# time_s   pressure_Pa\n" + "\n".join(rows) + "\n").encode(), dropped={"comment": 1})


def words_for_missing() -> Ugly:
    cells = _bar()
    for row, word in ((10, "OL"), (11, "OL"), (20, "----"), (30, "9.99E+37"), (40, "-9999"), (50, "#N/A"), (60, "")):
        cells[row] = word
    keep = np.setdiff1d(np.arange(ROWS), [10, 11, 20, 30, 40, 50, 60])
    dropped = {'pressure reads "OL"': 2, 'pressure reads "----"': 1, 'pressure reads "9.99E+37"': 1,
               "pressure reads -9999": 1, 'pressure reads "#N/A"': 1, "no pressure": 1}  # fmt: skip
    text = _lines("index,time [s],pressure [bar]", [str(n) for n in range(ROWS)], SECONDS, cells)
    return Ugly(text.encode(), time=TIME[keep], pressure=PRESSURE[keep], dropped=dropped)


def summer_time_ends() -> Ugly:
    start = dt.datetime(2026, 10, 25, 0, 59, 40, tzinfo=dt.UTC)  # 02:59:40 local, the hour then comes again
    local = [(start + dt.timedelta(seconds=0.5 * n // 1)) for n in range(ROWS)]
    offset = [2 if one < dt.datetime(2026, 10, 25, 1, 0, tzinfo=dt.UTC) else 1 for one in local]
    cells = [(one + dt.timedelta(hours=h)).strftime("%Y-%m-%d %H:%M:%S") for one, h in zip(local, offset, strict=True)]
    return Ugly(
        _lines("timestamp,pressure [bar]", cells, _bar()).encode(),
        about='file = { zone = "Europe/Berlin" }',
        refusal="file.zone: the clock goes back by an hour at 2026-10-25 02:00:00",
        time=np.floor(TIME),
        says=("same time",),
    )


def date_and_time_apart_month_first() -> Ugly:
    date = [one.strftime("%m/%d/%Y") for one in (dt.datetime(2026, 3, 4, 23, 59, 40),) * ROWS]
    stamps = [dt.datetime(2026, 3, 4, 11, 59, 40) + dt.timedelta(seconds=0.5 * n) for n in range(ROWS)]
    clock = [one.strftime(f"%I:%M:%S.{one.microsecond // 1000:03d} %p") for one in stamps]
    return Ugly(
        _lines("Date,Time,Pressure (psi)", date, clock, [f"{p / 6894.757293168362:.6f}" for p in PRESSURE]).encode(),
        about='file.date_order = "mdy"',
        refusal='file.date_order: 03/04/2026 can be read in several orders; "dmy" or "mdy"',
    )


def spreadsheet_days() -> Ugly:
    days = [f"{46095.416666667 + t / 86400.0:.9f}" for t in TIME]
    return Ugly(_lines("Date/Time;Pressure [bar]", days, _bar(), sep=";").encode(), within=(0.051, 1e-4),
                says=("columns.time_unit",))  # fmt: skip


def unit_in_every_cell() -> Ugly:
    cells = [f"{p / 1e5:.6f} bar" if n < 70 else f"{p / 1e3:.4f} kPa" for n, p in enumerate(PRESSURE)]
    return Ugly(
        _lines("time [s],reading", SECONDS, cells).encode(), says=("the unit changes: bar from row 1, kPa from row 71",)
    )


def restart_with_header() -> Ugly:
    head = "time [s],pressure [bar]"
    first = _lines(head, SECONDS[:70], _bar()[:70])
    second = _lines(head, SECONDS[:50], _bar()[70:])
    time = np.concatenate([TIME[:70], TIME[:50]])
    return Ugly((first + second).encode(), time=time, segments=2, dropped={"repeated header": 1})


def trailing_separator_and_footer() -> Ugly:
    rows = [f"{t};{p};" for t, p in zip(SECONDS, _bar(), strict=True)]
    text = "time [s];pressure [bar];\n" + "\n".join(rows) + "\nMin;7.0007;\nMax;7.0013;\nEND\n"
    return Ugly(text.encode(), dropped={"line after the last row": 3})


def free_text_with_commas() -> Ugly:
    notes = ["ok" if n % 9 else "door open, fan on, again" for n in range(ROWS)]
    return Ugly(_lines("time [s],pressure [bar],remark", SECONDS, _bar(), notes).encode())


def long_form() -> Ugly:
    rows = ["time [s],channel,value,unit"]
    for t, p, warm in zip(TIME, PRESSURE, WARM, strict=True):
        rows += [f"{t:.3f},P1,{p / 1e5:.6f},bar", f"{t + 0.05:.3f},T1,{warm - 273.15:.2f},°C"]
    warm = np.interp(TIME, TIME + 0.05, WARM)
    return Ugly(("\n".join(rows) + "\n").encode(), warm=warm, says=("the temperature has its own rows",))


def truncated_last_line() -> Ugly:
    text = _lines("time [s],pressure [bar]", SECONDS, _bar())
    return Ugly(text[:-5].encode(), time=TIME[:-1], pressure=PRESSURE[:-1], dropped={"last line without its end": 1})


def unix_milliseconds_with_jitter() -> Ugly:
    jitter = np.random.default_rng(4).integers(-3, 4, ROWS)
    stamps = (1773482400000 + 500 * np.arange(ROWS) + jitter).astype(np.int64)
    coarse = np.round((PRESSURE + 600.0 * np.sin(0.3 * TIME)) / 1e3) / 1e2
    return Ugly(
        _lines("timestamp,pressure_bar", [str(s) for s in stamps], [f"{p:.2f}" for p in coarse]).encode(),
        time=(stamps - stamps[0]) / 1e3,
        pressure=coarse * 1e5,
        resolution=1000.0,
    )


def zero_padding() -> Ugly:
    return Ugly(
        _lines("time [s],pressure [bar]", SECONDS, _bar()).encode() + b"\0" * 3000, dropped={"line of zero bytes": 1}
    )


def comma_for_everything_quoted() -> Ugly:
    columns = [[f'"{c}"' for c in _comma(col)] for col in (SECONDS, _bar())]
    return Ugly(_lines('"Zeit [s]","Druck [bar]"', *columns).encode())


def logged_on_change() -> Ugly:
    steps = np.array([0.5, 0.5, 1.0, 40.0, 0.5, 7.0, 0.5, 100.0])[np.arange(ROWS - 1) % 8]
    time = np.concatenate([[0.0], np.cumsum(steps)])
    return Ugly(_lines("time [s],pressure [bar]", [f"{t:.1f}" for t in time], _bar()).encode(), time=time,
                says=("logged on change",))  # fmt: skip


def elapsed_beyond_a_day() -> Ugly:
    whole = [f"{int(26 + t // 3600)}:{int(t // 60 % 60):02d}:{t % 60:04.1f}" for t in TIME]
    gauge = [f"{(p - 700110.0) / 1e2:.3f}".replace("-", "−") for p in PRESSURE]
    return Ugly(
        _lines("Elapsed;Pressure [mbar gauge]", _comma(whole), _comma(gauge), sep=";").encode(),
        time=TIME + 26 * 3600.0,
        pressure=PRESSURE - 700110.0,
        reference="gauge",
    )


VARIANTS: list[Callable[[], Ugly]] = [
    decimal_comma_and_day_first, thousands_and_decimal_comma, mark_quotes_and_carriage_returns, utf16_with_tabs,
    latin1_degree_sign, preamble_header_units, comments_blanks_scientific, words_for_missing, summer_time_ends,
    date_and_time_apart_month_first, spreadsheet_days, unit_in_every_cell, restart_with_header,
    trailing_separator_and_footer, free_text_with_commas, long_form, truncated_last_line,
    unix_milliseconds_with_jitter, zero_padding, comma_for_everything_quoted, logged_on_change, elapsed_beyond_a_day,
]  # fmt: skip
