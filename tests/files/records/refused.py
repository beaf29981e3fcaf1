"""Records that must not be read as they are: the file, what its about-file says, the place and words of the refusal."""

from typing import NamedTuple


class Refused(NamedTuple):
    """`about` is the text of the about-file; the refusal is at `place` and says `text`."""

    raw: bytes
    place: str
    text: str
    about: str = ""


R = Refused
ROWS = b"0,7\n1,7\n2,7.1\n"
HEADED = b"t_s,p_bar\n" + ROWS
GROUPS = b"t [s];p [Pa]\n0;7,001\n1;7,002\n2;7,003\n"


def clock(*cells: str, header: str = "when,p_bar") -> bytes:
    """A record with these times."""
    return "\n".join([header, *(f"{cell},7.0" for cell in cells), ""]).encode()


NO_TABLE = [
    R(b"", "", "is empty"),
    R(b"\n\n  \n", "", "is empty"),
    R(b"\0" * 500, "", "is empty"),
    R(b"t_s,p_bar\n", "", "no table of numbers"),
    R(b"once upon a time\nthere was a gauge\n", "", "no table of numbers"),
    R(b"p_bar\n7.0\n7.1\n7.2\n", "", "no table of numbers"),
    R(b"t_s,p_bar\n0,OL\n1,OL\n", "", "no table of numbers"),
    R(bytes(range(256)) * 40, "", "no table of numbers"),
    R(b",".join(b"%d" % n for n in range(3000)) + b"\n", "", "no table of numbers"),
    R(b"1,2," * 100_000, "", "lines longer than"),
    R(b"PK\x03\x04rest", "", "is a workbook or an archive; export the table as CSV text"),
    R(b"\xd0\xcf\x11\xe0rest", "", "is an old workbook"),
    R(b"\x1f\x8brest", "", "is compressed"),
    R(b"%PDF-1.7", "", "is a PDF"),
    R(b"\x89PNG\r\n", "", "is a picture"),
    R(b"\x89HDF\r\n", "", "is a binary data file"),
    R(HEADED, "file", "no table of numbers with this separator", 'file.separator = ";"'),
    R(HEADED, "file", "no table of numbers with this separator", "file.first_row = 100"),
    R(b"t_s,p_bar\n0,7 \xff\n", "line 2", "is not utf-8; file.encoding", 'file.encoding = "utf-8"'),
]
WHICH = [
    R(ROWS, "columns.time", "no column of times was found; columns = { time = 1"),
    R(ROWS, "columns.time_unit", "names no unit", "columns.time = 1"),
    R(ROWS, "columns.unit", "names no unit of pressure", 'columns = { time = 1, time_unit = "s" }'),
    R(b"No,p_bar\n0,7\n1,7\n", "columns.time", 'no column of times was found; say which of column 1 "No"'),
    R(b"t_s,elapsed_min,p_bar\n0,0,7\n60,1,7\n", "columns.time", "2 columns may be the time"),
    R(b"t_s,p1_bar,p2_bar\n0,7,8\n1,7,8\n", "columns.pressure", "2 columns may be the pressure"),
    R(b"t_s,p min [bar],p mean [bar],p max [bar]\n0,1,2,3\n1,1,2,3\n", "columns.pressure", "3 columns may be"),
    R(b"t_s,T_C\n0,20\n1,21\n", "columns.pressure", "no column of pressures was found"),
    R(HEADED, "columns.pressure", 'no column named "druck"; the header has t_s, p_bar', 'columns.pressure = "druck"'),
    R(HEADED, "columns.pressure", "column 3; the rows have 2 columns", "columns.pressure = 3"),
    R(HEADED, "columns.time", 'no column named "clock"', 'columns.time = "clock"'),
    R(b"t_s,p,p\n0,7,7\n1,7,7\n", "columns.pressure", "its number, 2 or 3", 'columns.pressure = "p"'),
    R(b"t_s,channel,value\n0,A,1\n0,B,2\n1,A,1\n1,B,2\n", "columns.pressure", "no channel is known to be the pressure"),
    R(b"t_s,channel,value\n0,P1 [bar],1\n0,P2 [bar],2\n1,P1 [bar],1\n", "columns.pressure", "2 channels may be"),
    R(b"t_s,channel,value\n0,A,1\n0,B,2\n1,A,1\n1,B,2\n", "columns.pressure", 'no channel "C"; one of A, B',
      'columns.pressure = "C"'),
]  # fmt: skip
UNITS = [
    R(b"time,p_bar\n" + ROWS, "columns.time_unit", 'columns = { time_unit = "s" }'),
    R(b"t_s,p\n" + ROWS, "columns.unit", 'columns = { unit = "kPa" }'),
    R(b"t_s,p [mA]\n" + ROWS, "columns.unit", "names no unit of pressure"),
    R(b"t_s,pressure [%]\n" + ROWS, "columns.unit", "names no unit of pressure"),
    R(b"t_s,pressure [V]\n" + ROWS, "columns.unit", "names no unit of pressure"),
    R(b"t_s,p [inH2O]\n" + ROWS, "columns.unit", 'without the temperature meant; "inH2O(4 degC)"'),
    R(b"t_s,p [cmH2O]\n" + ROWS, "columns.unit", 'without the temperature meant; "cmH2O(4 degC)"'),
    R(HEADED, "columns.time_unit", "holds plain numbers", 'columns.time_unit = "hh:mm:ss"'),
    R(clock("10:01", "10:02", "10:03"), "columns.time_unit", '"hh:mm" or "mm:ss"'),
    R(clock("10:00:01", "10:00:02"), "columns.time_unit", "holds times like 10:00:01", 'columns.time_unit = "ms"'),
    R(b"t_s,p [barg]\n" + ROWS, "reading", "absolute, but the record says gauge", 'reading = "absolute"'),
    R(b"t_s,p [psia]\n" + ROWS, "reading", "gauge, but the record says absolute", 'reading = "gauge"'),
    R(b"t_s,p_bar,T\n0,7,20\n1,7,21\n", "columns.temperature_unit", "names no unit", 'columns.temperature = "T"'),
]
WARM = [
    R(b"t_s,p_bar,T_degC\n0,7,293.1\n1,7,293.2\n2,7,293.2\n", "columns.temperature_unit",
      'read about 293.2 degC, which no bench has; columns.temperature_unit = "K" makes it 20.05 degC'),
    R(b"t_s,p_bar,T_K\n0,7,20.1\n1,7,20.2\n", "columns.temperature_unit",
      'about 20.15 K, which no bench has; columns.temperature_unit = "degC" makes it 20.15 degC'),
    R(b"t_s,p_bar,T_K\n0,7,68\n1,7,68\n", "columns.temperature_unit",
      'about 68 K, which no bench has; columns.temperature_unit = "degF" makes it 20 degC'),
    R(b"t_s,p_bar,T_degC\n0,7,-400\n1,7,-400\n", "columns.temperature_unit", "about -400 degC, which no bench has"),
    R(b"t_s,p_bar,T\n0,7,293\n1,7,293\n", "columns.temperature_unit", "about 293 degC, which no bench has",
      'columns = { temperature = "T", temperature_unit = "degC" }'),
    R(b"t_s,channel,value\n0,p [bar],7\n0,T [degC],293\n1,p [bar],7\n1,T [degC],293\n", "columns.temperature_unit",
      "about 293 degC, which no bench has"),
]  # fmt: skip
MARKS = [
    R(
        GROUPS,
        "column 2",
        '"," in numbers like 1,234 may be the decimal mark or group digits; file.decimal = "," or "."',
    ),
    R(b"t_s,p_bar\n0,0,7,01\n0,5,7,02\n1,0,7,03\n", "file.separator", "a decimal comma between commas"),
    R(b"t_s;p_Pa\n0;1.234.567\n1;1.5\n2;1.234.568\n", "column 2", "is the decimal mark in some rows and groups digits"),
    R(b"t_us;p_bar\n0;7.315\n100.000;7.316\n1.200.000;7.317\n", "column 2", '"." in numbers like 1.234 may be'),
]
CLOCKS = [
    R(clock("03/04/2026 10:00:00", "03/04/2026 10:00:01"), "file.date_order", 'several orders; "dmy" or "mdy"'),
    R(clock("03-04-2026 10:00:00", "05-06-2026 10:00:01"), "file.date_order", "several orders"),
    R(clock("01/02/03 10:00:00", "01/02/03 10:00:01"), "file.date_order", '"ymd" or "dmy" or "mdy"'),
    R(clock("13/04/2026 10:00:00", "04/13/2026 10:00:01"), "file.date_order", "fit no order"),
    R(clock("13/04/2026 10:00:00", "14/04/2026 10:00:01"), "file.date_order", "do not fit mdy; dmy",
      'file.date_order = "mdy"'),
    R(clock("31/02/2026 10:00:00", "31/02/2026 10:00:01"), "file.date_order", "fit no order"),
    R(clock("2026-10-25 02:59:59", "2026-10-25 02:00:00", "2026-10-25 02:00:01"), "file.zone", "goes back by an hour"),
    R(clock("2026-03-29 01:59:58", "2026-03-29 01:59:59", "2026-03-29 03:00:00"), "file.zone", "leaves out an hour"),
    R(clock("02:59:58", "02:59:59", "02:00:00", "02:00:01"), "file.zone", "goes back by an hour at 02:00:00"),
    R(clock("2026-03-14T10:00:00Z", "2026-03-14T10:00:01", "2026-03-14T10:00:02"), "file.zone", "others have none"),
]  # fmt: skip
REFUSED = [*NO_TABLE, *WHICH, *UNITS, *WARM, *MARKS, *CLOCKS]
