"""Fail on a skipped test that pyproject.toml does not list: `skips.py JUNIT_XML PYPROJECT`."""

import sys
import tomllib
import xml.etree.ElementTree as ET
from pathlib import Path


def skipped(report: Path) -> list[tuple[str, str]]:
    """(node id, reason) of every skipped test of a JUnit report."""
    found = []
    for case in ET.parse(report).getroot().iter("testcase"):
        skip = case.find("skipped")
        if skip is not None and skip.get("type") != "pytest.xfail":
            found.append((node(case.get("classname", ""), case.get("name", "")), skip.get("message", "")))
    return found


def node(classname: str, name: str) -> str:
    """`tests/room/test_x.py::test_name`; a module that skipped as a whole is the file alone."""
    if not classname:
        return name.replace(".", "/") + ".py"
    return classname.replace(".", "/") + ".py::" + name


def listed(test: str, allowed: list[str]) -> bool:
    """True when the test, its function or its file is in the list."""
    return any(test == entry or test.startswith((entry + "::", entry + "[")) for entry in allowed)


def main(report: str, project: str) -> int:
    """Print every skip; 1 when one is not listed."""
    allowed = tomllib.loads(Path(project).read_text(encoding="utf-8"))["tool"]["simcal"]["allowed_skips"]
    skips = skipped(Path(report))
    strangers = [test for test, _ in skips if not listed(test, allowed)]
    for test, reason in skips:
        print(f"{'NOT LISTED' if test in strangers else 'listed'}: {test}: {reason}")
    print(f"{len(skips)} skipped, {len(strangers)} of them not listed in pyproject.toml")
    return 1 if strangers else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
