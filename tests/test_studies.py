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
