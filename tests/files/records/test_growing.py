"""Bytes as they come from a file that grows or through a pipe."""

import os
import time

import pytest

from simcal.errors import InputError
from simcal.files.records.growing import GrowingFile, GrowingInput, whole_lines


def until_closed(source):
    while not source.closed:
        source.take(1.0)
    return bytes(source.raw)


def test_a_file_is_taken_in_as_it_grows(tmp_path):
    path = tmp_path / "hold.csv"
    source = GrowingFile(path, "hold.csv")
    assert not source.take(0.0) and source.quiet_s() < 400.0
    path.write_bytes(b"a,b\n")
    assert source.take(0.0) and not source.take(0.0)
    with path.open("ab") as file:
        file.write(b"1,2")
    assert source.take(0.0) and source.raw == b"a,b\n1,2"


def test_a_file_at_rest_has_been_quiet_since_its_last_change_until_it_grows(tmp_path):
    path = tmp_path / "hold.csv"
    path.write_bytes(b"a,b\n")
    os.utime(path, (time.time() - 500.0,) * 2)
    source = GrowingFile(path, "hold.csv")
    assert source.take(0.0) and source.quiet_s() > 499.0
    with path.open("ab") as file:
        file.write(b"1,2\n")
    assert source.take(0.0) and source.quiet_s() < 400.0
    os.utime(path, (time.time() + 500.0,) * 2)
    assert 0.0 <= GrowingFile(path, "hold.csv").quiet_s() < 400.0


def shorter(path):
    path.write_bytes(b"a")


def gone(path):
    path.unlink()


def another(path):
    other = path.with_suffix(".new")
    other.write_bytes(path.read_bytes() + b"3,4\n")
    other.replace(path)


def anew(path):
    path.write_bytes(b"0,0\n0,0\n0,0\n")


@pytest.mark.parametrize(
    ("change", "said"),
    [(shorter, "became shorter"), (gone, "was taken away"), (another, "was replaced"), (anew, "was written anew")],
)
def test_a_file_that_does_not_only_grow_is_refused(tmp_path, change, said):
    path = tmp_path / "hold.csv"
    path.write_bytes(b"a,b\n1,2\n")
    source = GrowingFile(path, "hold.csv")
    source.take(0.0)
    change(path)
    with pytest.raises(InputError, match=f"hold.csv: {said}.*; a file that only grows"):
        source.take(0.0)


def test_what_is_no_file_is_refused_at_once(tmp_path):
    with pytest.raises(InputError, match="is a folder"):
        GrowingFile(tmp_path, "x")


def test_a_pipe_is_read_to_its_end():
    out, into = os.pipe()
    source = GrowingInput(out, "input")
    assert not source.take(0.01) and not source.closed
    os.write(into, b"1,")
    assert source.take(5.0) and source.raw == b"1," and not source.closed
    os.write(into, b"2\n" * 100_000)
    os.close(into)
    assert until_closed(source) == b"1," + b"2\n" * 100_000
    os.close(out)


def test_more_than_may_be_read_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr("simcal.files.records.growing.LARGEST", 2**20)
    path = tmp_path / "hold.csv"
    path.write_bytes(b"1" * (2**20 + 5))
    with pytest.raises(InputError, match="larger than 1 MB"):
        GrowingFile(path, "hold.csv").take(0.0)


@pytest.mark.parametrize("encoding", ["ascii", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "cp1252"])
def test_a_half_written_line_is_left_out_wherever_it_is_cut(encoding):
    """Every cut of three rows, one with a character that ends in the byte of a new line in UTF-16."""
    text = "t;p\n1;2\n3;4\n" if encoding in ("ascii", "cp1252") else "t;\u010a\u0a0d\n1;\u0a41\n3;4\n"
    raw = text.encode(encoding)
    stated = encoding if encoding[-3:] in ("-le", "-be") else None
    found = {whole_lines(bytearray(raw[:cut]), stated) for cut in range(4, len(raw) + 1)}
    lines = text.splitlines(keepends=True)
    mark = raw[: len(raw) - len(text.encode(encoding.removesuffix("-sig"))) or None] if encoding == "utf-8-sig" else b""
    whole = {"".join(lines[:n]).encode(encoding) for n in (1, 2, 3)}
    assert found - {b"", mark} == whole


def test_lines_that_end_in_a_return_alone_are_whole_too():
    assert whole_lines(bytearray(b"1,2\r3,4\r5")) == b"1,2\r3,4\r"
    assert whole_lines(bytearray(b"1,2\r\n3,4\r")) == b"1,2\r\n"
