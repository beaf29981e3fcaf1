"""Each of the twenty-two ugly files gives the course it was made from, or a refusal that says what to write."""

import numpy as np
import pytest

from simcal.errors import InputError
from simcal.files.about_file import load_about
from simcal.files.records.reader import read_record
from tests.files.records.variants import VARIANTS


def about_of(text):
    """The about-file of a text."""
    return load_about("record.toml", texts={"record.toml": text})


def all_words(record):
    """Everything that a record tells a reader besides its numbers."""
    told = [one.key for one in record.assumed]
    return " | ".join([*told, *record.notes, *record.marks])


@pytest.mark.parametrize("maker", VARIANTS, ids=lambda maker: maker.__name__)
@pytest.mark.parametrize("careful", [False, True], ids=["quick", "careful"])
def test_an_ugly_file_gives_the_course_it_was_made_from(maker, careful):
    ugly = maker()
    if ugly.refusal:
        with pytest.raises(InputError) as caught:
            read_record("record.csv", raw=ugly.raw)
        assert ugly.refusal in caught.value.line()
    record = read_record("record.csv", about_of(ugly.about), raw=ugly.raw, careful=careful)
    assert record.time_s == pytest.approx(ugly.time, abs=ugly.within[1])
    assert record.pressure_Pa == pytest.approx(ugly.pressure, abs=ugly.within[0])
    assert record.reference == ugly.reference
    assert record.dropped == ugly.dropped
    assert len(record.segments) == ugly.segments
    assert record.segments[0][0] == 0 and record.segments[-1][1] == len(ugly.time) - 1
    if ugly.warm is None:
        assert record.temperature_K is None
    else:
        assert record.temperature_K == pytest.approx(ugly.warm, abs=0.006)
    if ugly.resolution is not None:
        assert record.resolution_Pa == pytest.approx(ugly.resolution, rel=1e-6)
    assert [word for word in ugly.says if word not in all_words(record)] == []


@pytest.mark.parametrize("maker", VARIANTS, ids=lambda maker: maker.__name__)
def test_what_was_assumed_written_down_leaves_nothing_to_assume(maker):
    """The lines that `simcal read` offers for the about-file give the same record and an empty block."""
    ugly = maker()
    first = read_record("record.csv", about_of(ugly.about), raw=ugly.raw)
    lines = [f"{one.key} = {one.value}" for one in first.assumed]
    tables = [line.partition(".")[0] for line in lines if "." in line.partition("=")[0]]
    stated = ugly.about.replace("file = { zone", "file.zone").replace(" }", "") if "file" in tables else ugly.about
    again = read_record("record.csv", about_of("\n".join([stated, *lines])), raw=ugly.raw)
    assert again.assumed == ()
    assert np.array_equal(again.time_s, first.time_s) and np.array_equal(again.pressure_Pa, first.pressure_Pa)


def test_there_are_twenty_two():
    assert len(VARIANTS) == 22
