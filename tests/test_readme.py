"""What README.md says is so: its commands, its example, the output it shows."""

import re
from pathlib import Path

import pytest

from simcal.errors import InputError

ROOT = Path(__file__).resolve().parent.parent
TEXT = (ROOT / "README.md").read_text(encoding="utf-8")
COMMANDS = "settle", "hold", "read", "judge", "criterion", "cover", "year"
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
RELATIVE, LEAST = 0.02, 0.2
"""How far a shown number may be from what is printed now: another machine's last sample, no change of the physics."""


def block(kind: str) -> str:
    """The text of the only fenced block of one kind."""
    found = re.findall(rf"(?ms)^```{kind}\n(.*?)^```$", TEXT)
    assert len(found) == 1
    return str(found[0])


def test_it_is_short_and_holds_the_lines_that_people_copy():
    assert len(TEXT.splitlines()) <= 250
    for line in (
        "sudo apt install git python3-venv",
        "python3 -m venv .venv && .venv/bin/pip install -e . && .venv/bin/simcal settle configs/hard-piped-6bar.toml",
        'python3 -m venv .venv && .venv/bin/pip install -e ".[dev]" && .venv/bin/pytest',
    ):
        assert f"\n    {line}\n" in TEXT
    assert not re.search(r"pip install simcal\b(?!-engine)", TEXT)
    assert not re.search(r"(?i)\bsafe", TEXT)


def test_the_output_it_shows_is_what_is_printed(simcal):
    shown = re.search(r"(?ms)^<!-- output of: simcal (settle \S+) -->\n```\n(.*?)^```$", TEXT)
    assert shown is not None
    ran = simcal(*shown[1].split(), "--quiet")
    assert ran.code == 0
    # the stream of a test may have ASCII only, and a number may change its width
    plain = [
        re.sub(r"\s+|-+", " ", NUMBER.sub("#", text.replace("µ", "u").replace("°", " deg")))
        for text in (shown[2], ran.out)
    ]
    assert plain[0] == plain[1]
    numbers = [[float(n) for n in NUMBER.findall(text)] for text in (shown[2], ran.out)]
    assert numbers[0] == pytest.approx(numbers[1], rel=RELATIVE, abs=LEAST)


def test_the_bench_it_shows_gives_an_answer(simcal, tmp_path):
    path = tmp_path / "bench.toml"
    path.write_text(block("toml"), encoding="utf-8")
    ran = simcal("settle", path, "--quiet")
    assert (ran.code, ran.err) == (0, "")
    assert "all 5 points can be read" in ran.out


def test_the_script_it_shows_runs(capsys, monkeypatch):
    monkeypatch.chdir(ROOT)
    exec(compile(block("python"), "README.md", "exec"), {})
    assert len(capsys.readouterr().out.splitlines()) == 11


def test_every_option_and_file_it_names_is_there(simcal):
    offered = "".join(simcal(command, "--help").out for command in COMMANDS)
    named = set(re.findall(r"`(--[a-z-]+)", TEXT)) | set(re.findall(r"`[^`]* (--[a-z-]+)", TEXT))
    assert len(named) >= 12
    assert all(option in offered for option in named)
    for path in re.findall(r"`((?:configs|studies)/[\w./-]+)`", TEXT):
        assert (ROOT / path).exists(), path


def test_the_picture_is_one_of_a_real_result():
    path = ROOT / "studies" / "figures" / "hard-piped-6bar-run.png"
    assert f"](studies/figures/{path.name})" in TEXT
    assert path.read_bytes().startswith(b"\x89PNG")


def test_a_fault_is_one_line_as_it_says():
    from simcal.files.bench_file import load_bench

    with pytest.raises(InputError, match=r"^\S*hard-piped-6bar\.toml: .+: .+; .+$|^--set: .+: .+; .+$"):
        load_bench(ROOT / "configs" / "hard-piped-6bar.toml", ["supply.pressure=8 bar"])
