"""What all tests share: a fixed seed for drawn examples, the command line as a function, the measured records."""

import os
import re
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from hypothesis import settings

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy is imported: small matrices, where threads only wait

settings.register_profile("simcal", derandomize=True, deadline=None, max_examples=100)
settings.load_profile("simcal")

ROOT = Path(__file__).resolve().parent.parent


@dataclass(frozen=True)
class Ran:
    """A finished command: its exit code and what it wrote."""

    code: int
    out: str
    err: str


@pytest.fixture
def simcal(capsys: pytest.CaptureFixture[str]) -> Callable[..., Ran]:
    """`simcal("settle", "bench.toml")` runs the command line in this process."""
    from simcal.cli import main

    def run(*words: str) -> Ran:
        capsys.readouterr()
        code = main([str(word) for word in words])
        written = capsys.readouterr()
        return Ran(code, written.out, written.err)

    return run


@pytest.fixture
def python(tmp_path: Path) -> Callable[..., Ran]:
    """`python(source, NAME="value")` runs a script in a process of its own; None drops a variable."""

    def run(source: str, *words: str, **changes: str | None) -> Ran:
        wanted = {**os.environ, **changes}
        environment = {name: value for name, value in wanted.items() if value is not None}
        done = subprocess.run(
            [sys.executable, "-c", source, *words],
            capture_output=True,
            encoding="utf-8",
            stdin=subprocess.DEVNULL,
            env=environment,
            cwd=tmp_path,
            timeout=300,
            check=False,
        )
        return Ran(done.returncode, done.stdout, done.stderr)

    return run


@pytest.fixture(scope="session")
def measured() -> Path:
    """The folder of measured records, which is not part of the repository; the test skips without it."""
    place = os.environ.get("SIMCAL_MEASURED")
    if not place:
        pytest.skip("SIMCAL_MEASURED is not set")
    folder = Path(place)
    if not folder.is_dir():
        pytest.fail(f"SIMCAL_MEASURED={place} is not a folder")
    return folder


@pytest.fixture
def short_bench(tmp_path: Path) -> Path:
    """The shipped 6 bar bench with three points, in a folder of its own."""
    text = (ROOT / "configs" / "hard-piped-6bar.toml").read_text(encoding="utf-8")
    text, found = re.subn(r"(?m)^points = .*$", 'points = ["0 %", "20 %", "10 %"]', text)
    assert found == 1
    path = tmp_path / "bench" / "short.toml"
    path.parent.mkdir()
    path.write_text(text, encoding="utf-8")
    return path
