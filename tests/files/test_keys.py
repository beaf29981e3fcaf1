"""The key reference is made from the metadata that also reads the files, and every key is documented."""

import pytest

from simcal.bench.about import About
from simcal.bench.bench import Bench
from simcal.bench.lab import Lab
from simcal.bench.meta import keys_of
from simcal.errors import InputError
from simcal.files import keys
from simcal.files.context import bounds
from simcal.files.readers import READERS
from simcal.units import KINDS, parse
from tests.files.good_bench import GOOD


def classes(cls=Bench, seen=None):
    """A class and those of its tables, each once."""
    seen = set() if seen is None else seen
    seen.add(cls)
    for _, meta in keys_of(cls).values():
        if meta.of is not None and meta.of not in seen:
            classes(meta.of, seen)
    return seen


EVERY = sorted(classes() | classes(About) | classes(Lab), key=str)
ALL = [(cls, name, field, meta) for cls in EVERY for name, (field, meta) in keys_of(cls).items()]


@pytest.mark.parametrize(("cls", "name", "field", "meta"), ALL, ids=lambda x: getattr(x, "__name__", str(x))[:30])
def test_every_key_has_help_a_known_kind_and_a_default_inside_its_range(cls, name, field, meta):
    assert meta.help
    assert meta.kind in {*KINDS, *READERS, "table", "tables"}
    assert (meta.kind in ("table", "tables")) == (meta.of is not None)
    if meta.kind in KINDS and meta.kind not in ("pressure",):
        assert meta.within
    if meta.within:
        low, high = bounds(meta)
        assert low < high
        if meta.default and not meta.derived and meta.kind in KINDS:
            assert low <= parse(meta.default, meta.kind).value <= high


def test_the_reference_names_every_key_once_with_unit_range_and_default():
    rows = {row.key: row for row in keys.rows("bench")}
    assert len(rows) == len(keys.rows("bench"))
    assert rows["volume.NAME.capacity"].unit == "cm3"
    assert (rows["device.NAME.accuracy.span"].kind, rows["device.NAME.accuracy.span"].unit) == (
        "share",
        "%, written with its sign",
    )
    for plain in ("volume.NAME.wall.film_factor", "valve.NAME.critical_ratio", "controller.gains.kp"):
        assert (rows[plain].kind, rows[plain].unit) == ("plain number", "")
    assert rows["line.NAME.bore"].range == "0.01 mm..200 mm"
    assert (rows["valve.NAME.lag"].default, rows["valve.NAME.lag"].unit) == ("5 ms", "ms")
    assert rows["supply.pressure"].default == "required"
    assert rows["device.NAME.full_scale"].default == "required, or range"
    assert rows["device.NAME.range"].default == "required, or full_scale"
    assert "nitrogen" in rows["gas"].range


def test_every_key_of_the_good_bench_is_in_the_reference():
    named = {row.key.rpartition(".")[2] for row in keys.rows("bench")}
    used = {line.partition("=")[0].strip() for line in GOOD.splitlines() if "=" in line}
    assert used - named <= {"room", "wall", "accuracy", "gains"}


def test_a_kind_that_is_not_known_is_refused():
    with pytest.raises(InputError, match=r'command line: KIND: "bnch" is no kind of file; did you mean "bench"\?'):
        keys.rows("bnch")
