"""The answer as text: sentence first, limits before it, tables in columns, notes, cautions, seed and version."""

import ast
import inspect
import re
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest

from simcal.analysis.settle import verdict
from simcal.analysis.settle.result import Groups
from simcal.show.missed import WORDS
from simcal.show.text import settle_text
from simcal.stats.band import quantile_between
from tests.show import fabricated


def test_the_first_words_are_the_answer_in_one_sentence() -> None:
    first = settle_text(fabricated.settled(), fabricated.setting()).split("\n\n")[0].replace("\n", " ")
    assert first.startswith("six bar, hard piped: all 9 points can be read; dwell 0.0 to 5.4 s (longest at")
    assert "error left at the reading: largest share of its allowance 189 of 200 Pa, at 15.00 bar gauge down." in first
    assert "run 89.2 s, 12.3 g of gas" in first


def test_a_broken_device_limit_stands_before_everything() -> None:
    text = settle_text(fabricated.troubled(fabricated.settled()), fabricated.setting())
    assert text.startswith("DEVICE LIMIT BROKEN: highest pressure of one (21 bar gauge)")


def test_many_broken_limits_do_not_bury_the_answer_and_none_is_lost() -> None:
    result = replace(fabricated.settled(), violations=tuple(f"limit {i} of one" for i in range(40)))
    text = settle_text(result, fabricated.setting())
    assert text.index("all 9 points") < 500
    assert all(f"limit {i} of one" in text for i in range(40))


def test_bad_news_is_in_the_sentence_and_its_cause_in_the_notes() -> None:
    text = settle_text(fabricated.troubled(fabricated.settled()), fabricated.setting())
    assert "1 of 9 points not reached (no. 3), 1 of 9 points void (no. 2)" in text
    assert "- point 3 not reached: the supply is too low for this setpoint" in text
    assert "- point 2 void: overshot the device against the run; lower the rate" in text
    assert "point 4 hunts: +-40 Pa every 0.45 s at the device (20 % of the" in text
    assert "cause: dead band; cures: a valve without one" in text
    assert "loss of authority, outlet near the room's pressure" in text


def test_no_line_breaks_between_a_number_and_its_unit() -> None:
    for count in range(1, 12):
        text = settle_text(fabricated.grouped(fabricated.settled(count)), fabricated.setting())
        assert not re.search(r"\d\n *(?:Pa|bar|s|g|ms|%|J|kJ)\b|bar\n *gauge|no\.\n", text)
        assert "\u00a0" not in text


def test_too_much_left_after_a_given_dwell_is_not_called_not_reached() -> None:
    """The point was reached, and read; `reached` keeps its meaning in the JSON."""
    result = fabricated.settled(3)
    missed = result.points[1]
    seen = {name: replace(d, error_at_reading_Pa=3.0 * d.allowance_Pa) for name, d in missed.devices.items()}
    points = list(result.points)
    points[1] = replace(missed, reached=False, reason="one: after a dwell of 2 s 600 Pa are left", devices=seen)
    text = settle_text(replace(result, points=tuple(points), fixed_dwell_s=2.0), fabricated.setting())
    assert "too much error left at 1 of 3 points (no. 2); dwell fixed at 2.00 s" in " ".join(text.split())
    assert "TOO MUCH LEFT" in text and "NOT REACHED" not in text and "not reached" not in text
    assert "- point 2 too much left: one: after a dwell of 2 s 600 Pa are left" in text


@pytest.mark.parametrize(
    ("reason", "limit", "word"),
    [
        ("the run ended here: the gas left its table", None, "cut short"),
        ("the supply of 5 bar abs cannot give 6 bar abs", None, "out of reach"),
        ("the exhaust at 1 bar abs cannot take the pressure down to 0.5 bar abs", None, "out of reach"),
        ("the reference comes no nearer than 120 Pa in 60 s, nearness is 60 Pa", None, "not reached"),
        ("one: noise and resolution alone make 300 Pa, 200 Pa are allowed; a longer window", None, "too noisy"),
        ("the reading leaves nearness 0.5 s after the valves shut, nearness is 60 Pa", None, "drifted off"),
        ("after a dwell of 2 s the reading has left nearness again", None, "drifted off"),
        ("the reference's reading does not stay inside nearness for as long as it must", None, "did not stay"),
        ("one: up to 400 Pa are left after 60 s, 200 Pa are allowed; what governs is ripple", "ripple", "never quiet"),
        ("one: up to 400 Pa are left after 60 s, 200 Pa are allowed; what governs is line", "line", "too much left"),
        ("one: after a dwell of 2 s a reading within the skew is missing", None, "not read"),
    ],
)
def test_a_point_that_cannot_be_read_says_in_a_word_what_happened_and_shows_no_error(reason, limit, word) -> None:
    result = fabricated.settled(3)
    lost = replace(
        result.points[1], reached=False, reason=reason, limited_by=limit, dwell_s=None, ready_s=None, arrival_s=None
    )
    text = settle_text(replace(result, points=(result.points[0], lost, result.points[2])), fabricated.setting())
    row = next(line for line in text.splitlines() if line.startswith(" 2 "))
    assert row.endswith(word.upper())
    assert row.split()[3:8] == ["-"] * 5  # arrives, dwell, ready, error, random
    assert f"- point 2 {word}: " in text
    said = "too much error left at 1 of 3 points" if word == "too much left" else f"1 of 3 points {word}"
    assert f"{said} (no. 2)" in " ".join(text.split())
    assert word == "not reached" or "NOT REACHED" not in text


def _texts(node: ast.AST, named: dict[str, str]) -> str:
    """All text that is written in an expression, and in the texts whose names it uses."""
    parts = ast.walk(node)
    said = [one.value if isinstance(one, ast.Constant) else named.get(getattr(one, "id", ""), "") for one in parts]
    return " ".join(text for text in said if isinstance(text, str))


def test_every_reason_that_the_analysis_gives_has_its_word() -> None:
    """In `verdict`, the text of every return, whether written there or under a name before."""
    nodes = list(ast.walk(ast.parse(inspect.getsource(verdict))))
    named = {
        n.targets[0].id: _texts(n.value, {}) for n in nodes if isinstance(n, ast.Assign) and _is_name(n.targets[0])
    }
    returned = [_texts(n, named) for n in nodes if isinstance(n, ast.Return) and _texts(n, {}).strip()]
    assert len(returned) >= 10
    assert [text for text in returned if not any(part in text for part, _ in WORDS)] == []
    assert [part for part, _ in WORDS if not any(part in text for text in returned)] == []


def _is_name(node: ast.AST) -> bool:
    return isinstance(node, ast.Name)


def test_of_several_devices_the_sentence_names_the_one_that_uses_most_of_its_own_allowance() -> None:
    result = fabricated.settled(3, devices=("one", "two"))
    points = list(result.points)
    one, two = points[1].devices["one"], points[1].devices["two"]
    seen = {
        "one": replace(one, error_at_reading_Pa=-331.0, allowance_Pa=1600.0),
        "two": replace(two, error_at_reading_Pa=59.0, allowance_Pa=60.0),
    }
    points[1] = replace(points[1], devices=seen)
    text = " ".join(settle_text(replace(result, points=tuple(points)), fabricated.setting()).split())
    assert "largest share of its allowance 59.0 of 60.0 Pa, at 20.00 bar gauge up (device two)." in text


def test_random_is_not_told_in_a_letter_that_means_seconds() -> None:
    assert "random is two standard deviations of the mean" in " ".join(
        settle_text(fabricated.settled(), fabricated.setting()).split()
    )


def test_equal_assumptions_share_a_line() -> None:
    made = tuple(fabricated.Assumed(f"line.{n}.roughness", "1.5 um", "drawn tube") for n in ("a", "b"))
    text = settle_text(replace(fabricated.settled(), assumed=made), fabricated.setting())
    assert "- assumed line.a.roughness, line.b.roughness = 1.5 um (drawn tube)" in text


def test_groups_that_cannot_be_made_say_why_and_nothing_else() -> None:
    text = settle_text(replace(fabricated.settled(), groups=Groups((), None, None, note="no dwells to share")))
    assert "in few dwells:\nno dwells to share\n" in text
    shorter = settle_text(replace(fabricated.settled(), groups=Groups((), 80.0, -9.0)))
    assert "run 80.0 s, 9.00 s shorter" in shorter


def test_one_line_a_setpoint_in_aligned_columns() -> None:
    lines = settle_text(fabricated.settled(21), fabricated.setting()).split("\n\n")[1].splitlines()
    head, units, rule, *rows = lines
    assert len(rows) == 21
    assert rule.split() == ["-" * len(part) for part in rule.split()]
    for name, unit in (("target", "bar gauge"), ("dwell", "s"), ("error", "Pa")):
        end = head.index(name) + len(name)
        assert units[:end].endswith(unit)
        assert all(row[end : end + 1] in ("", " ") for row in rows)


def test_the_text_is_ascii_unless_the_stream_can_do_more() -> None:
    result = fabricated.troubled(fabricated.settled(5, devices=("Prüfling №1 日本",)))
    assert settle_text(result, fabricated.setting()).isascii()
    assert "°" in settle_text(result, fabricated.setting(), unicode=True)


def test_it_ends_with_version_and_seed_and_says_what_was_assumed() -> None:
    text = settle_text(fabricated.settled(trials=200), fabricated.setting())
    assert text.endswith("simcal 0.1.0, seed 1, 200 trials\n")
    assert "- assumed volume.port.wall = steel cylinder" in text
    assert "widens the answer most: volume.port.wall.film_factor (62 % of the" in text
    assert "90 % band" in text


def test_a_band_of_few_trials_says_that_its_ends_are_not_bounded() -> None:
    few, enough = (settle_text(fabricated.settled(trials=n), fabricated.setting()) for n in (71, 72))
    assert "- 71 trials tell only how wide the 90 % band is at least; 72 or more bound its ends" in few
    assert "at least; 72" not in enough
    for count, bounded in ((71, False), (72, True)):
        ends = quantile_between(np.arange(float(count)), 0.05)
        assert np.isfinite(ends).all() == bounded


def test_without_trials_it_says_how_to_learn_what_widens_the_answer() -> None:
    assert "--trials 200" in settle_text(fabricated.settled(), fabricated.setting())


def test_a_run_that_ended_at_once_still_has_a_text() -> None:
    result = fabricated.bare(fabricated.settled(3))
    text = settle_text(result, fabricated.setting())
    assert "1 of 1 point not reached (no. 1), the run ended early" in text
    assert "the gas left its table" in text
    assert "no point was run" in settle_text(replace(result, points=()), fabricated.setting())


def test_nothing_heavy_is_loaded_for_a_text() -> None:
    heavy = "[m for m in ('matplotlib', 'jinja2') if m in sys.modules]"
    code = f"import sys, simcal.show.text, simcal.show.jsonout; print({heavy})"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_groups_say_their_dwell_their_points_and_what_they_cost() -> None:
    text = settle_text(fabricated.grouped(fabricated.settled()), fabricated.setting())
    assert "up         0.00      20.00     12  1-5" in text
    assert "40.0 s longer; at most 93 % of the allowance is used" in text


def test_an_isolated_reading_shows_its_latest_start() -> None:
    text = settle_text(fabricated.settled(3, mode="isolated"), fabricated.setting())
    assert "latest" in text
    assert "up, shut" in text


def test_with_a_given_dwell_a_device_is_not_ready_before_its_point() -> None:
    """What each device would have needed is another thing than the time at which the point is read."""
    result = fabricated.settled(3, devices=("one", "two"))
    free, given = (settle_text(replace(result, fixed_dwell_s=dwell), fabricated.setting()) for dwell in (None, 60.0))
    assert ("ready by" in free, "would be ready" in free) == (True, False)
    assert ("ready by" in given, "would be ready" in given) == (False, True)


def test_several_devices_get_a_table_of_their_own() -> None:
    text = settle_text(fabricated.settled(3, devices=("one", "two")), fabricated.setting())
    assert "devices, worst over the run:" in text
    exposed = text.split("exposure of the governing device:\n")[1].splitlines()
    assert exposed[0].split()[:2] == ["no", "governs"]
    assert [line.split()[1] for line in exposed[3:6]] == ["one"] * 3
    assert "governs" not in settle_text(fabricated.settled(3), fabricated.setting())


@pytest.mark.parametrize("count", [1, 2, 21])
@pytest.mark.parametrize("gauge", [True, False])
def test_running_text_fits_a_hundred_columns(count: int, gauge: bool) -> None:
    result = fabricated.grouped(fabricated.settled(count, gauge=gauge, trials=20))
    assert max(map(len, settle_text(result, fabricated.setting(gauge)).splitlines())) <= 110
