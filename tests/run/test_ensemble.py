"""Ensembles: the same rows for any workers, chunks and interruptions; bounded memory; what a broken cache does."""

import os
import subprocess
import sys
import threading
import tracemalloc

import numpy as np
import pytest

from simcal.run import Store, chunks, together
from simcal.stats.streams import generator


def draws(number):
    """A trial that belongs to its number alone."""
    numbers = generator(7, number, "x").random(3)
    return {"numbers": numbers, "sum": float(numbers.sum())}


def same(one, other):
    return one.keys() == other.keys() and all(np.array_equal(one[key], other[key]) for key in one)


@pytest.fixture
def kept(monkeypatch, tmp_path):
    """A cache folder of its own; the chunks in it."""
    monkeypatch.setenv("SIMCAL_CACHE_DIR", str(tmp_path))
    return lambda: sorted(path.name for path in tmp_path.rglob("*.npz"))


@pytest.mark.parametrize(("workers", "size"), [(1, 64), (2, 64), (3, 7), (2, 1000)])
def test_rows_are_the_same_bit_for_bit_for_any_workers_and_chunks(workers, size):
    rows = together(chunks(draws, 150, workers=workers, size=size))
    assert same(rows, {key: np.array([draws(i)[key] for i in range(150)]) for key in rows})


def test_a_trial_is_the_same_in_a_longer_ensemble_and_when_begun_later():
    short, long = together(chunks(draws, 20)), together(chunks(draws, 200, workers=2))
    assert same(short, {key: rows[:20] for key, rows in long.items()})
    assert same(together(chunks(draws, 50, first=150)), {key: rows[150:] for key, rows in long.items()})


def test_no_trials_have_no_rows():
    assert together(chunks(draws, 0)) == {}


def test_an_interrupted_ensemble_is_taken_up_where_it_was(kept):
    done = []

    def stops(number):
        if number >= 25:
            raise KeyboardInterrupt
        done.append(number)
        return draws(number)

    with pytest.raises(KeyboardInterrupt):
        together(chunks(stops, 40, store=Store("asked"), workers=1, size=10))
    assert kept() == ["trials-0-10.npz", "trials-10-20.npz"]
    fresh, told = [], []

    def goes_on(number):
        fresh.append(number)
        return draws(number)

    store = Store("asked", resume=True)
    tell = lambda done, count: told.append((done, count))  # noqa: E731
    rows = together(chunks(goes_on, 40, store=store, workers=1, size=10, progress=tell))
    assert (sorted(fresh), store.taken_up) == (list(range(20, 40)), 20)
    assert (told[0], told[-1]) == ((10, 40), (40, 40)) and told == sorted(told)
    assert same(rows, together(chunks(draws, 40)))
    store.drop()
    assert kept() == []


def test_what_was_kept_is_not_taken_up_unasked_nor_for_another_question(kept):
    together(chunks(draws, 10, store=Store("asked"), size=10))
    other = Store("asked otherwise", resume=True)
    assert other.read("trials", 0, 10) is None
    assert Store("asked", resume=True).read("trials", 0, 10) is not None
    assert Store("asked").read("trials", 0, 10) is None and kept() == []


def test_nothing_is_left_where_no_chunk_was_finished(kept, tmp_path):
    Store("asked", resume=True).read("trials", 0, 10)
    Store("asked otherwise")
    assert not list(tmp_path.glob("ensemble-*"))


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 half a chunk", b"something else"])
def test_a_chunk_that_is_not_whole_is_computed_anew(kept, tmp_path, content):
    together(chunks(draws, 20, store=Store("asked"), size=10))
    next(tmp_path.rglob("trials-0-10.npz")).write_bytes(content)
    store = Store("asked", resume=True)
    assert same(together(chunks(draws, 20, store=store, size=10)), together(chunks(draws, 20)))
    assert store.taken_up == 10


def test_without_a_cache_nothing_is_kept_and_the_rows_are_the_same(monkeypatch):
    monkeypatch.setattr("simcal.cache.folder", lambda: None)
    store = Store("asked", resume=True)
    assert same(together(chunks(draws, 30, store=store, size=10)), together(chunks(draws, 30)))
    store.drop()


def test_a_long_ensemble_holds_one_chunk_at_a_time():
    """20,000 trials of 8 kB would be 160 MB; summed up chunk by chunk they take what one chunk takes."""
    tracemalloc.start()
    total = sum(float(rows["a"].sum()) for rows in chunks(lambda i: {"a": np.full(1000, float(i))}, 2_000, workers=1))
    one = tracemalloc.get_traced_memory()[1]
    tracemalloc.reset_peak()
    more = sum(float(rows["a"].sum()) for rows in chunks(lambda i: {"a": np.full(1000, float(i))}, 20_000, workers=1))
    many = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert (total, more) == (1000 * 1999 * 1000, 1000 * 19_999 * 10_000)
    assert many < 1.5 * one


KILLED = """
import sys, time
from simcal.run import Store, chunks, together
from tests.run.test_ensemble import draws

def slow(number):
    print(number, flush=True)
    time.sleep(0.01)
    return draws(number)

together(chunks(slow, 100, store=Store("killed"), workers=2, size=5))
"""


@pytest.mark.parametrize("after", [3, 22, 61])
def test_a_killed_ensemble_loses_no_finished_chunk(kept, after, request):
    process = subprocess.Popen(
        [sys.executable, "-c", KILLED], stdout=subprocess.PIPE, text=True, cwd=request.config.rootpath,
        env={**os.environ, "PYTHONPATH": str(request.config.rootpath)},
    )  # fmt: skip
    guard = threading.Timer(60.0, process.kill)
    guard.start()
    for _ in range(after):
        process.stdout.readline()
    process.kill()
    process.wait()
    guard.cancel()
    process.stdout.close()
    finished = len(kept())
    assert after // 5 - 1 <= finished < 20
    store = Store("killed", resume=True)
    assert same(together(chunks(draws, 100, store=store, size=5)), together(chunks(draws, 100)))
    assert store.taken_up == 5 * finished
