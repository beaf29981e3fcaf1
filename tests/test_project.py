"""What holds the project together: light commands, documented arguments, complete lists, true directions."""

import ast
import importlib
import inspect
import json
import pkgutil
import re
import shutil
import tomllib
from pathlib import Path

import pytest

import simcal as package
from tests.hold_files import TIGHT, written

ROOT = Path(__file__).resolve().parent.parent
SOURCES = sorted((ROOT / "simcal").rglob("*.py"))
HEAVY = {
    "CoolProp", "control", "fluids", "ht", "hypothesis", "jinja2", "matplotlib", "numba", "numpy", "pandas", "pint",
    "pytest", "rich", "scipy", "simpy", "teqp",
}  # fmt: skip
MODULES = """
import json, sys
before = set(sys.modules)
from simcal.cli import main
code = main(sys.argv[2:])
loaded = sorted({name.partition(".")[0] for name in set(sys.modules) - before})
open(sys.argv[1], "w", encoding="utf-8").write(json.dumps([code, loaded]))
"""


@pytest.fixture
def loaded(python, tmp_path):
    """`loaded("keys")`: exit code and the top-level modules a command imported."""

    def run(*words):
        ran = python(MODULES, "modules.json", *map(str, words))
        assert ran.code == 0, ran.err
        code, names = json.loads((tmp_path / "modules.json").read_text(encoding="utf-8"))
        return code, set(names)

    return run


LIGHT = [
    "--help", "--version", "settle --help", "hold --help", "read --help", "judge --help", "criterion --help",
    "cover --help", "year --help", "keys", "keys --json", "example",
]  # fmt: skip


@pytest.mark.parametrize("words", [line.split() for line in LIGHT], ids=LIGHT)
def test_a_light_command_imports_nothing_heavy(loaded, words):
    code, names = loaded(*words)
    assert code == 0
    assert not names & HEAVY


def test_help_does_not_import_the_argument_validator(loaded):
    assert "pydantic" not in loaded("--help")[1]


def test_a_bad_bench_file_is_refused_without_the_engine(loaded, tmp_path):
    (tmp_path / "bad.toml").write_text('schema = "simcal/bench/1"\n', encoding="utf-8")
    code, names = loaded("settle", "bad.toml")
    assert code == 2
    assert not names & HEAVY


def test_a_bad_lab_is_refused_without_the_engine(loaded, tmp_path):
    (tmp_path / "bad.toml").write_text('schema = "simcal/lab/1"\n', encoding="utf-8")
    for command in ("cover", "year"):
        code, names = loaded(command, "bad.toml")
        assert code == 2
        assert not names & HEAVY


def test_reading_a_record_imports_no_compiler_and_no_drawing(loaded, tmp_path):
    (tmp_path / "hold.csv").write_text("time_s,p_bar\n0,7.0\n1,7.0\n2,7.1\n", encoding="utf-8")
    code, names = loaded("read", "hold.csv")
    assert code == 0
    assert not names & (HEAVY - {"numpy"})


def test_judging_to_text_imports_no_drawing_and_no_gas_library(loaded, tmp_path):
    code, names = loaded("judge", written(tmp_path, "hold", TIGHT), "--quiet")
    assert code == 0
    assert not names & (HEAVY - {"numpy", "numba", "scipy"})


def test_a_bad_about_file_is_refused_without_the_judge(loaded, tmp_path):
    code, names = loaded("judge", written(tmp_path, "hold", TIGHT, reading='"guage"'))
    assert code == 2
    assert not names & (HEAVY - {"numpy"})


def test_settle_to_text_imports_no_drawing_and_no_gas_library(loaded, short_bench):
    code, names = loaded("settle", short_bench)
    assert code in (0, 1)
    assert not names & (HEAVY - {"numpy", "numba", "scipy"})


def test_a_criterion_to_text_imports_no_drawing_and_no_gas_library(loaded, short_bench):
    asked = "--permitted-leak 1e-6mol/s --pressure 1bar_gauge --soak 5s --wait 5s --watch 20s --benches 20 --quiet"
    code, names = loaded("criterion", short_bench, *(word.replace("_", " ") for word in asked.split()))
    assert code in (0, 1)
    assert not names & (HEAVY - {"numpy", "numba", "scipy"})


def test_the_library_is_imported_lightly(python):
    ran = python("import simcal, sys; print(sorted(set(sys.modules) & set(sys.argv[1:])))", *HEAVY)
    assert ran.out == "[]\n"


def test_the_public_list_is_complete_and_every_name_is_there():
    assert sorted(package.__all__) == sorted([*package._PLACES, "__version__"])
    assert dir(package) == sorted(package.__all__)
    for name in package.__all__:
        assert getattr(package, name) is not None


def test_an_unknown_public_name_lists_what_there_is():
    with pytest.raises(AttributeError, match=r"no attribute 'settel'; it has .*settle"):
        _ = package.settel


def _imports(path):
    """Every imported module of a file, as written."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            yield from ([node.module] if node.module != "simcal" else [f"simcal.{a.name}" for a in node.names])


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_no_room_imports_the_package_itself(path):
    modules = {one.name for one in pkgutil.iter_modules(package.__path__)}
    for name in _imports(path):
        assert name != "simcal"
        if name.startswith("simcal."):
            assert name.split(".")[1] in modules


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_files_stay_readable(path):
    lines = path.read_text(encoding="utf-8").splitlines()
    assert len(lines) < 400
    for node in ast.walk(ast.parse("\n".join(lines))):
        if isinstance(node, ast.FunctionDef):
            assert (node.end_lineno or 0) - node.lineno < 100, f"{node.name} is too long"


def _physics():
    """Every public function of the room physics, as (name, function, docstrings of function and module)."""
    physics = importlib.import_module("simcal.physics")
    for info in pkgutil.walk_packages(physics.__path__, "simcal.physics."):
        module = importlib.import_module(info.name)
        for name, found in vars(module).items():
            function = inspect.unwrap(getattr(found, "py_func", found))
            if name.startswith("_") or not inspect.isfunction(function) or function.__module__ != info.name:
                continue
            yield f"{info.name.removeprefix('simcal.physics.')}.{name}", function, module.__doc__ or ""


PHYSICS = list(_physics())
WITHOUT_UNIT = re.compile(r"str|GasTable|Upstream")
"""Kinds of arguments that are words, or hold values with units of their own: those are named only."""
ARRAYS = {"t", "table", "gas", "a", "f"}
"""The same where a compiled law gives no type: gas table, upstream gas, array of parameters."""


@pytest.mark.parametrize(("function", "module"), [one[1:] for one in PHYSICS], ids=[one[0] for one in PHYSICS])
def test_every_argument_of_a_law_is_documented_with_its_unit(function, module):
    """A unit stands in square brackets after the name, on one line of the function's or the module's docstring."""
    text = f"{inspect.getdoc(function) or ''}\n{module}"
    for name, parameter in inspect.signature(function).parameters.items():
        bare = name in ARRAYS or WITHOUT_UNIT.search(str(parameter.annotation))
        unit = "" if bare else r"[^\[\n]*\[[^\]]+\]"
        assert re.search(rf"\b{re.escape(name)}\b{unit}", text), f"{name}: no `{name} ... [unit]`"


def test_every_law_is_found():
    assert {"gas.properties", "flow.edge_flow", "heat.film"} <= {name for name, _, _ in PHYSICS}


def test_the_list_of_allowed_skips_names_tests_that_exist():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    for entry in project["tool"]["simcal"]["allowed_skips"]:
        file, _, name = entry.partition("::")
        assert (ROOT / file).is_file(), entry
        assert not name or f"def {name.partition('[')[0]}(" in (ROOT / file).read_text(encoding="utf-8"), entry


def test_a_skip_that_is_not_listed_fails_the_checks(python, tmp_path):
    report = """<testsuites><testsuite>
        <testcase classname="tests.room.test_a" name="test_x[1]"><skipped type="pytest.skip" message="."/></testcase>
        <testcase classname="tests.room.test_a" name="test_y"/>
        <testcase classname="" name="tests.room.test_b"><skipped type="pytest.skip" message="no module"/></testcase>
        </testsuite></testsuites>"""
    (tmp_path / "report.xml").write_text(report, encoding="utf-8")
    script = (ROOT / ".ci" / "skips.py").read_text(encoding="utf-8")
    for allowed, code in (
        ('["tests/room/test_a.py::test_x", "tests/room/test_b.py"]', 0),
        ('["tests/room/test_a.py", "tests/room/test_b.py"]', 0),
        ('["tests/room/test_a.py::test_y", "tests/room/test_b.py"]', 1),
        ("[]", 1),
    ):
        (tmp_path / "project.toml").write_text(f"[tool.simcal]\nallowed_skips = {allowed}\n", encoding="utf-8")
        assert python(script, "report.xml", "project.toml").code == code


def test_examples_are_found_as_a_wheel_lays_them_out_and_in_a_checkout(python, tmp_path):
    """`.ci/run` does the same with a wheel that pip installed."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    wheel = project["tool"]["hatch"]["build"]["targets"]["wheel"]
    installed = tmp_path / "site"
    for part in wheel["only-include"]:
        shutil.copytree(ROOT / part, installed / wheel["sources"].get(part, part))
    source = "import simcal, sys; from simcal.cli import main; print(simcal.__file__); sys.exit(main(['example']))"
    found = python(source, PYTHONPATH=str(installed))
    beside = python(source)
    assert (found.code, beside.code) == (0, 0)
    assert found.out.splitlines()[0] == str(installed / "simcal" / "__init__.py")
    assert found.out.splitlines()[1:] == beside.out.splitlines()[1:]


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_every_link_of_the_pages_leads_somewhere(name):
    for target in re.findall(r"\]\(([^)#\s]+)", (ROOT / name).read_text(encoding="utf-8")):
        assert "://" in target or (ROOT / target).exists(), target


def test_the_top_level_holds_nothing_else():
    known = {"README.md", "DEVELOPERS.md", "pyproject.toml", "simcal", "configs", "tests", "studies", "build", "dist"}
    strangers = {p.name for p in ROOT.iterdir() if not p.name.startswith(".")} - known
    assert not {name for name in strangers if not name.endswith(".egg-info")}
