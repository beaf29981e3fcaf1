"""Every study runs at reduced size and prints what was recorded beside it, within its tolerance."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

STUDIES = sorted((Path(__file__).resolve().parent.parent / "studies").glob("[0-9][0-9]_*.py"))
NUMBER = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?(?![\w.])")
RELATIVE, LEAST = 0.02, 0.02
"""How far a printed number may be from its record: another machine's last sample, no change of the physics."""


def lines_of(text: str) -> dict[str, list[float]]:
    """The numbers at the end of each line of a printed table, by the words before them."""
    found = {}
    for line in text.splitlines():
        words = re.split(r"\s{2,}", line.strip())
        found[words[0]] = [float(n) for word in words[1:] for n in NUMBER.findall(word)]
    return found


@pytest.mark.parametrize("study", STUDIES, ids=lambda path: path.stem)
def test_a_study_prints_its_record_and_saves_its_figure(study, tmp_path):
    words = [sys.executable, str(study), "--quick", "--out", str(tmp_path / "out")]
    done = subprocess.run(
        words, capture_output=True, encoding="utf-8", cwd=tmp_path, timeout=300, check=False, env=dict(os.environ)
    )
    assert done.returncode == 0, done.stderr
    recorded = lines_of(study.with_suffix(".txt").read_text(encoding="utf-8"))
    printed = lines_of(done.stdout)
    assert len(printed) >= 3 and set(printed) <= set(recorded)
    for name, numbers in printed.items():
        assert numbers == pytest.approx(recorded[name], rel=RELATIVE, abs=LEAST), name
    assert [path.suffix for path in (tmp_path / "out").iterdir()] == [".svg"]


def test_the_first_study_keeps_its_claim():
    recorded = lines_of(STUDIES[0].with_suffix(".txt").read_text(encoding="utf-8"))
    dwell = {name: numbers[1] for name, numbers in recorded.items() if len(numbers) == 2}
    assert dwell["valves twice"] > dwell["as it stands"] > dwell["valves a third"]
    for change in ("line 3 mm, not 2", "helium", "vessel bore 20 mm, not 40", "capacity 50 cm3, not 100"):
        assert dwell[change] < 0.75 * dwell["as it stands"]


def recorded(name: str) -> dict[str, list[float]]:
    """The recorded numbers of the study of that name, by row."""
    return lines_of(next(s for s in STUDIES if s.stem.endswith(name)).with_suffix(".txt").read_text(encoding="utf-8"))


def test_the_study_of_three_joints_keeps_its_claim():
    rows = [row for key, row in recorded("torque_of_three_joints").items() if key.startswith("torque")]
    nut, stopped, radial, parts = zip(*rows, strict=True)
    best = min(nut)
    assert nut[0] > 1000.0 * best < nut[-1]
    tight = [nut.index(rate) for rate in nut if rate < 3.0 * best]
    assert tight == list(range(tight[0], tight[0] + 3))  # 0.15 to 0.3 N m: a factor of two
    assert stopped[-1] == stopped[6] < 1.2 * min(stopped) and len(set(radial)) == 1
    assert list(parts) == sorted(parts)


def test_the_study_of_a_nick_keeps_its_claim():
    rows = recorded("nick_torque_pressure")
    whole, nicked = rows["torque, nick 0 um"], rows["torque, nick 15 um"]
    assert whole[0] > 500.0 * whole[-1] and nicked[0] < 10.0 * nicked[-1]
    for name in ("nick 5 um", "nick 15 um"):
        assert rows[name] == sorted(rows[name])
    weak = rows["weak, 0.003 N m"]
    assert max(weak[:3]) > 1000.0 * weak[-1]


def test_the_studies_of_holds_keep_their_claims():
    """Leak, heat and change in Pa; study 3 in Pa/min; study 4 change and bend; study 5 change on, flow, change shut."""
    sides = recorded("above_and_below")
    assert sides["tight, from below"][1] < -100.0 < 100.0 < sides["tight, from above"][1]
    assert sides["leak, from below"][0] == pytest.approx(sides["leak, from above"][0], rel=0.01)
    mean = 0.5 * (sides["leak, from below"][2] + sides["leak, from above"][2])
    assert abs(mean / sides["leak, from below"][0] - 1.0) > 0.2
    volumes = recorded("one_leak_in_three_volumes")
    small, large = volumes["20 cm3, leak"], volumes["500 cm3, leak"]
    assert small[0] / large[0] == pytest.approx(25.0, rel=0.01)
    assert large[1] / small[1] > 9.0 and small[0] / small[1] > 10.0 and large[0] / large[1] < 0.2
    warm = recorded("a_warm_body_looks_like_a_leak")
    assert all(row[1] < 5.0 for row in warm.values() if len(row) == 3)
    later = [warm[f"1 K warm, {when}"][0] / warm["1 K warm, at once"][0] for when in ("after 10 min", "after 1 h")]
    assert later[0] == pytest.approx(0.75, abs=0.05) and later[1] < 0.3
    assert warm["leak, after 1 h"][0] / warm["leak, at once"][0] > 0.8
    hidden = recorded("a_controller_hides_a_leak")
    assert all(abs(row[0]) <= 0.1 for row in hidden.values() if len(row) == 3)
    assert hidden["2000 nmol/s"][2] < -1400.0 and hidden["2000 nmol/s"][1] > 1300.0


def test_the_studies_of_a_year_keep_their_claims():
    """Uptime in %, gained, cost a year and worth of a spare; exchanges, uptime, hours, jobs; uptime and share late."""
    spare = [row for key, row in recorded("spare_or_second_bench").items() if key.startswith("+")]
    ups, gained, _, worth = zip(*spare, strict=True)
    assert ups[0] < 99.0 < ups[1] and list(gained) == sorted(gained, reverse=True)
    assert worth[0] > 10.0 * 4.3 and worth[-1] == 0.0
    feel = recorded("torque_by_feel")
    assert feel["six places, torque-limited"][2:] == feel["two places, torque-limited"][2:] == [0.0, 0.0]
    few, many = feel["six places, by feel"], feel["two places, by feel"]
    assert many[0] > 2.5 * few[0] and many[2] > 2.5 * few[2] and many[3] > few[3] > 0.0
    assert 0.0 <= feel["two places, torque-limited"][1] - many[1] < 0.5
    plans = recorded("batch_or_stagger")
    one, every = (
        [plans[f"{who}, {how}"] for how in ("all together", "evenly staggered", "found by search")]
        for who in ("one sensor a job", "all three a job")
    )
    assert abs(one[0][0] - one[1][0]) < 0.5 and one[0][1] > one[1][1] + 0.3 and one[2][0] > one[1][0] + 0.5
    assert every[0][0] - every[1][0] > 10.0 and every[2][0] > every[0][0]
