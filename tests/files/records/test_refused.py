"""What cannot be known is refused in one line that names the key of the about-file; stated, the record is read."""

import pytest

from simcal.errors import InputError
from simcal.files.about_file import load_about
from simcal.files.records.reader import read_record
from tests.files.records.refused import REFUSED


def about_of(text):
    """The about-file of a text."""
    return load_about("record.toml", texts={"record.toml": text})


@pytest.mark.parametrize("case", REFUSED, ids=lambda case: f"{case.place}: {case.text[:40]} {case.about[:30]}")
@pytest.mark.parametrize("careful", [False, True], ids=["quick", "careful"])
def test_a_record_is_refused_in_one_clear_line(case, careful):
    with pytest.raises(InputError) as caught:
        read_record("record.csv", about_of(case.about), raw=case.raw, careful=careful)
    line = caught.value.line()
    assert caught.value.place == case.place
    assert case.text in line and caught.value.right
    assert len(line) < 400 and line.isprintable()


def test_a_refusal_says_in_which_file_its_key_is_stated():
    for about, where in ((None, "hold.toml beside it"), (about_of("gas = 'air'"), "record.toml")):
        with pytest.raises(InputError) as caught:
            read_record("hold.csv", about, raw=b"t_s,p\n0,7\n1,7\n")
        right = f'the unit of the pressure, columns = {{ unit = "kPa" }}; stated in {where}'
        assert (caught.value.place, caught.value.right) == ("columns.unit", right)


def test_no_two_are_the_same():
    assert len(set(REFUSED)) == len(REFUSED) >= 60


CURES = [
    (b"t [s];p [Pa]\n0;7,001\n1;7,002\n2;7,003\n", 'file.decimal = ","', (0.0, 7.001)),
    (b"t [s];p [Pa]\n0;7,001\n1;7,002\n2;7,003\n", 'file.decimal = "."', (0.0, 7001.0)),
    (b"0,7\n1,7\n2,7.1\n", 'columns = { time = 1, time_unit = "min", pressure = 2, unit = "bar" }', (0.0, 7e5)),
    (b"0,7\n1,7\n2,7.1\n", 'columns = { time = 2, time_unit = "ms", pressure = 1, unit = "kPa" }', (0.007, 0.0)),
    (b"t_s,p1_bar,p2_bar\n0,7,8\n1,7,8\n", 'columns.pressure = "p2_bar"', (0.0, 8e5)),
    (b"t_s,p [psia]\n0,10\n1,10\n", 'columns.unit = "bar"\nreading = "gauge"', (0.0, 1e6)),
    (b"t_us;p_bar\n0;7.315\n100.000;7.316\n1.200.000;7.3\n", 'file.decimal = "."', (0.0, 7.315e5)),
    (
        b"x;y\n1;2\n3;4\n# 5;6\n",
        'columns = { time = "x", time_unit = "h", pressure = "y", unit = "MPa" }',
        (3600.0, 2e6),
    ),
    (b"head\nt_s,p_bar\n0,7\n1,7\n9,9\n", "file = { first_row = 4, last_row = 4, header_row = 2 }", (1.0, 7e5)),
    (b"t_s,p\n0,7\n1,7\n", 'columns.unit = "mbar"', (0.0, 700.0)),
    (b"time,p_bar\n10:01,7\n10:02,7\n", 'columns.time_unit = "mm:ss"', (601.0, 7e5)),
    (b"t_s,channel,value\n0,A,1\n0,B,2\n1,A,1\n1,B,2\n", 'columns = { pressure = "B", unit = "bar" }', (0.0, 2e5)),
    (
        b"t_s,k,w\n0,A,1\n0,B,2\n1,A,1\n",
        'columns = { channel = "k", value = "w", pressure = "A", unit = "bar" }',
        (0.0, 1e5),
    ),
]


@pytest.mark.parametrize(("raw", "about", "first"), CURES, ids=[about[:50] for _, about, _ in CURES])
def test_a_few_lines_about_it_settle_a_record(raw, about, first):
    record = read_record("record.csv", about_of(about), raw=raw)
    assert (record.time_s[0], record.pressure_Pa[0]) == pytest.approx(first, rel=1e-12)


def test_prose_with_one_line_of_numbers_is_refused():
    prose = b"<p>words and words\n" * 6000
    for raw in (
        prose + b"1,2\n" + prose,
        prose + b"1,2\n2,3\n3,4\n" + prose,
        b"1 2\n" + prose + b"1 2 3\n" * 9 + prose,
    ):
        with pytest.raises(InputError):
            read_record("record.csv", about_of(""), raw=raw)
