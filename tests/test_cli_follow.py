"""`simcal judge --follow`: files that grow, lines on standard input, how each ends."""

import json
import os
import signal
import subprocess
import sys
import threading
import time

import pytest

from simcal.analysis.judge.follow import BINS
from tests.hold_files import LEAK, SLIGHT, TIGHT, written
from tests.test_cli_judge import lines_of

NOW = "--patience", "0s"


def started(folder, *words, **more):
    """`simcal judge ...` in a process of its own."""
    return subprocess.Popen(
        [sys.executable, "-m", "simcal", "judge", *map(str, words)],
        cwd=folder, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding="utf-8", **more,
    )  # fmt: skip


def looks(text):
    """The lines of looks."""
    return [line for line in text.splitlines() if ": look " in line]


@pytest.mark.parametrize(
    ("slope", "code", "verdict"), [(TIGHT, 0, "tight"), (LEAK, 1, "leak"), (SLIGHT, 3, "undecided")]
)
def test_following_stops_at_the_first_look_that_decides(simcal, tmp_path, slope, code, verdict):
    path = written(tmp_path, "hold", slope, count=30 if slope == SLIGHT else 80)
    ran = simcal("judge", path, "--follow", *NOW)
    assert (ran.code, ran.err) == (code, "")
    *updates, document = lines_of(simcal("judge", path, "--follow", *NOW, "--json").out, "follow")
    assert [{key: one[key] for key in document["looks"][0]} for one in updates] == document["looks"]
    assert [one["look"] for one in updates] == list(range(1, len(updates) + 1))
    *before, last = [look["verdict"] for look in document["looks"]]
    assert set(before) <= {"undecided"} and last == document["verdict"] == verdict
    assert (document["decided_at_s"] is None) == (verdict == "undecided")
    assert document["ended"] == ("no more rows" if verdict == "undecided" else "decided")
    assert len(looks(ran.out)) == len(updates)
    said = " ".join(ran.out.replace("\u00b5", "u").split())
    assert document["sentence"] in said and document["price"] in said and f"method: {document['method']}" in said


def test_following_needs_a_limit_and_gives_each_record_its_lines(simcal, tmp_path):
    paths = [written(tmp_path, "a", LEAK, count=80), written(tmp_path, "b", LEAK, permitted_leak=None)]
    ran = simcal("judge", *paths, "--follow", "--json")
    assert ran.code == 2
    *_, whole, refused = lines_of(ran.out, "follow")
    assert (whole["record"], whole["verdict"]) == ("a.csv", "leak") and refused["record"] == "b.csv"
    assert ran.err == "b.toml: permitted_leak: nothing to decide; gas, capacity and permitted_leak\n"


def test_a_file_at_rest_or_at_its_stated_end_is_not_waited_for(simcal, tmp_path):
    path = written(tmp_path, "hold", SLIGHT, count=20)
    os.utime(path, (time.time() - 700.0,) * 2)
    before = time.monotonic()
    assert simcal("judge", path, "--follow", "--patience", "600s").code == 3
    fresh = written(tmp_path, "fresh", SLIGHT, count=20, watch_until='"299 s"')
    ran = simcal("judge", fresh, "--follow", "--patience", "600s")
    assert (ran.code, ran.err) == (3, "") and "(watch_until)" in ran.out
    assert time.monotonic() - before < 500.0


def append(path, text, pieces, pause):
    """Write a text bit by bit, lines cut anywhere, as a logger does that fills its buffer."""
    size = len(text) // pieces + 1
    for at in range(0, len(text), size):
        with path.open("ab") as file:
            file.write(text[at : at + size])
        time.sleep(pause)


def test_a_growing_file_gets_the_looks_that_the_finished_one_gets(simcal, tmp_path):
    """Not there at first, then its header, then rows in pieces that end inside a line."""
    path = written(tmp_path, "hold", LEAK, count=80, watch_until='"299 s"')
    whole = simcal("judge", path, "--follow")
    text = path.read_bytes()
    path.unlink()
    logger = threading.Timer(0.5, append, (path, text, 40, 0.03))
    logger.start()
    ran = simcal("judge", path, "--follow", "--patience", "60s")
    logger.join()
    assert (ran.code, ran.out) == (whole.code, whole.out) == (1, whole.out)
    assert ran.err.startswith(f"simcal: waiting for rows of {path}, 60 s at most; ") and ran.err.count("\n") == 1


def test_when_nothing_more_comes_the_answer_so_far_stands(simcal, tmp_path):
    path = written(tmp_path, "hold", SLIGHT, count=20)
    before = time.monotonic()
    ran = simcal("judge", path, "--follow", "--patience", "1s", "--quiet")
    assert (ran.code, ran.err) == (3, "") and "(no more rows)" in ran.out
    assert time.monotonic() - before > 0.8


def test_a_header_alone_is_no_record(simcal, tmp_path):
    path = written(tmp_path, "hold", LEAK)
    path.write_text("time_s,pressure_Pa\n", encoding="ascii")
    ran = simcal("judge", path, "--follow", "--patience", "0.3 s", "--quiet")
    assert (ran.code, ran.out) == (2, "") and ran.err.startswith(f"{path}: ") and ran.err.count("\n") == 1


def test_what_can_never_be_read_is_not_waited_for(simcal, tmp_path):
    path = written(tmp_path, "hold", LEAK)
    path.write_text(path.read_text(encoding="ascii").replace("pressure_Pa", "pressure_furlong"), encoding="ascii")
    before = time.monotonic()
    ran = simcal("judge", path, "--follow", "--patience", "600s")
    assert ran.code == 2 and ran.err.count("\n") == 1 and time.monotonic() - before < 500.0


@pytest.mark.parametrize(
    ("change", "line"),
    [
        (lambda path: path.write_bytes(path.read_bytes()[:300]), "became shorter while it was followed ("),
        (lambda path: path.unlink(), "was taken away while it was followed; "),
        (lambda path: path.write_bytes(b"now," + path.read_bytes()), "was written anew while it was followed; "),
    ],
)
def test_a_file_that_does_not_only_grow_is_one_line_and_2(simcal, tmp_path, change, line):
    path = written(tmp_path, "hold", SLIGHT, count=20)
    threading.Timer(1.5, change, (path,)).start()
    ran = simcal("judge", path, "--follow", "--patience", "60s", "--quiet")
    assert ran.code == 2 and ran.err.startswith(f"{path}: {line}") and ran.err.count("\n") == 1


def german(path):
    """The rows of a record as a logger with decimal commas writes them."""
    header, *rows = path.read_text(encoding="ascii").splitlines()
    assert header == "time_s,pressure_Pa"
    return ["Zeit [s];Druck [Pa]\n", *(row.replace(",", ";").replace(".", ",") + "\n" for row in rows)]


def test_each_line_of_standard_input_is_answered_before_the_next_comes(tmp_path):
    """With decimal commas; the input stays open until the answer to a part of it has been read."""
    path = written(tmp_path, "hold", LEAK, count=80, watch_until='"299 s"')
    rows = german(path)
    following = started(tmp_path, "--follow", "-", "--about", "hold.toml")
    following.stdin.write("".join(rows[:25])[:-3])
    following.stdin.flush()
    first = following.stdout.readline()
    assert first.startswith("standard input: look 1 at ")
    following.stdin.write("".join(rows[:25])[-3:] + "".join(rows[25:]))
    rest, err = following.communicate(timeout=300)
    assert (following.returncode, err) == (1, "")
    assert "standard input: leak, decided at " in rest


def test_input_that_ends_is_answered_and_empty_input_refused(tmp_path):
    path = written(tmp_path, "hold", SLIGHT, count=20)
    out, err = (one := started(tmp_path, "--follow", "-", "--about", "hold.toml")).communicate(
        path.read_text(encoding="ascii"), timeout=300
    )
    assert (one.returncode, err) == (3, "") and "(end of input)" in " ".join(out.split())
    out, err = (one := started(tmp_path, "--follow", "-", "--about", "hold.toml")).communicate("", timeout=300)
    assert (one.returncode, out) == (2, "") and err.startswith("standard input: is empty; ")


@pytest.mark.skipif(sys.platform == "win32", reason="an interrupt cannot be sent to one process there")
def test_an_interrupt_leaves_the_answer_so_far(tmp_path):
    path = written(tmp_path, "hold", SLIGHT, count=20)
    following = started(
        tmp_path, path.name, "--follow", "--patience", "600s", "--json", start_new_session=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # what a shell starts behind it ignores it
    )  # fmt: skip
    assert json.loads(following.stdout.readline())["look"] == 1
    os.killpg(following.pid, signal.SIGINT)
    out, err = following.communicate(timeout=300)
    assert following.returncode == 130 and err.endswith("simcal: interrupted\n")
    *_, document = lines_of(out, "follow")
    assert (document["ended"], document["verdict"]) == ("interrupted", "undecided")


def test_when_nobody_reads_on_it_ends_quietly(tmp_path):
    path = written(tmp_path, "hold", SLIGHT, watch_until='"900 s"')
    following = started(tmp_path, path.name, "--follow", "--patience", "600s", "--quiet")
    following.stdout.readline()
    following.stdout.close()
    assert following.wait(timeout=300) == 3 and following.stderr.read() == ""
    following.stdin.close()
    following.stderr.close()


def test_the_method_is_printed_with_its_sources(simcal):
    ran = simcal("judge", "--method")
    assert (ran.code, ran.err) == (0, "") and ran.out.isascii()
    assert max(len(line) for line in ran.out.splitlines()) <= 120
    assert "Waudby-Smith and A. Ramdas" in ran.out and f"a {BINS}th of the watch" in ran.out
