"""Many runs on threads: the order of the results, failures, Ctrl-C, progress."""

import threading

import pytest

from simcal.run import cores, on_terminal, run_many


@pytest.mark.parametrize("workers", [1, 2, 5, None])
def test_results_come_in_order_for_any_number_of_workers(workers):
    assert run_many(lambda i: i * i, 50, workers) == [i * i for i in range(50)]


def test_no_runs_give_an_empty_list():
    assert run_many(lambda i: i, 0) == []


@pytest.mark.parametrize("workers", [1, 3])
def test_the_lowest_failure_is_raised_and_the_rest_is_dropped(workers):
    begun = []

    def fails(i):
        begun.append(i)
        if i in (4, 7):
            raise ValueError(f"number {i}")
        return i

    with pytest.raises(ValueError, match="number 4"):
        run_many(fails, 10_000, workers)
    assert len(begun) < 10_000


@pytest.mark.parametrize("workers", [1, 2])
def test_progress_is_told_in_the_callers_thread_and_ends_complete(workers):
    told = []

    def tell(done, count):
        told.append((done, count, threading.current_thread()))

    run_many(lambda i: i, 20, workers, tell)
    assert told[0][:2] == (0, 20)
    assert told[-1][:2] == (20, 20)
    assert [done for done, _, _ in told] == sorted(done for done, _, _ in told)
    assert {thread for _, _, thread in told} == {threading.main_thread()}


@pytest.mark.parametrize("workers", [1, 2])
def test_an_interrupt_leaves_at_once_and_begins_nothing_more(workers):
    begun = []
    release = threading.Event()

    def wait(i):
        begun.append(i)
        release.wait(0.3)

    def interrupt(done, count):
        if begun or done:
            raise KeyboardInterrupt

    try:
        with pytest.raises(KeyboardInterrupt):
            run_many(wait, 1000, workers, interrupt)
    finally:
        release.set()
    assert len(begun) <= 4


@pytest.mark.parametrize(("count", "workers", "text"), [(-1, 1, "count"), (3, 0, "workers"), (3, -2, "workers")])
def test_impossible_numbers_are_named(count, workers, text):
    with pytest.raises(ValueError, match=rf"{text}\(=-?\d\) must be >="):
        run_many(lambda i: i, count, workers)


def test_there_is_at_least_one_core():
    assert cores() >= 1


def test_no_bar_is_drawn_where_stderr_is_no_terminal():
    with on_terminal() as progress:
        assert progress is None


def test_bars_are_drawn_on_a_terminal_and_not_when_quiet(monkeypatch, capsys):
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    with on_terminal(quiet=True) as progress:
        assert progress is None
    with on_terminal() as progress:
        progress("points", 1, 2)
        progress("trials", 1, 2)
    assert capsys.readouterr().out == ""
