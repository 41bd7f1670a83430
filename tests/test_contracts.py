"""What every module of the ground floor promises: docstrings, units in names, sources, floors."""

import ast
import importlib
import inspect
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import needlework
import pytest
from needlework.basis.quantity import Constant
from needlework.basis.sources import SOURCES

PACKAGE = Path(needlework.__file__).parent
ROOT = Path(__file__).resolve().parents[1]
GROUND = sorted(path.stem for path in (PACKAGE / "trade").glob("*.py") if path.stem != "__init__")
TOUCHES = {"open", "print", "input", "exec", "eval", "compile", "__import__", "breakpoint"}
TOUCHES_OF_NUMPY = {"load", "loadtxt", "genfromtxt", "fromfile", "tofile", "memmap", "save", "savez", "savetxt"}

UNIT_ENDINGS = (
    "_deg", "_deg_true", "_nm", "_ft", "_kt", "_fpm", "_s", "_min", "_hz", "_mhz", "_hpa", "_inhg", "_c",
    "_m", "_km", "_deg_s", "_ft_nm", "_dots", "_wpm", "_us", "_percent", "_year", "_kt_s", "_nm_min", "_dme_nm",
    "_days",
)  # fmt: skip
WITHOUT_UNIT = {
    "side", "text", "ident", "reference", "seed", "steps", "channel", "turn", "turns", "kind", "service_class",
    "tone", "rng", "mode", "rule", "name", "dual", "samples", "number", "count", "category", "entry", "legs",
    "radials", "letters", "code", "factor", "ratio", "high_resolution", "inbound", "outbound", "direction",
    "place", "conditions", "references", "actions", "cycles", "station", "aircraft",
    "reply", "vor", "dme", "vor_heard", "dme_heard", "withdrawn",
    "flag_before", "flag_after",
}  # fmt: skip


def _public_functions():
    for name in GROUND:
        module = importlib.import_module(f"needlework.trade.{name}")
        for key, function in vars(module).items():
            if inspect.isfunction(function) and not key.startswith("_") and function.__module__ == module.__name__:
                yield pytest.param(function, id=f"{name}.{key}")


PUBLIC = list(_public_functions())


@pytest.mark.parametrize("function", PUBLIC)
def test_docstring_contract(function):
    """Definition: a public ground-floor function states parameters, units, errors, source and an example."""
    doc = inspect.getdoc(function) or ""
    for part in (
        "Parameters\n----",
        "Returns\n----",
        "Raises\n----",
        "Notes\n----",
        "Examples\n----",
        ">>> ",
    ):
        assert part in doc, f"no {part.split(chr(10))[0]!r} in the docstring"
    notes = doc.split("Notes\n")[1].split("Examples\n")[0]
    keys = re.findall(r"``([^`]+)``", notes)
    assert any(key in SOURCES for key in keys), f"no known source key among {keys}"
    documented = doc.split("Parameters\n")[1].split("Returns\n")[0]
    for name in inspect.signature(function).parameters:
        assert re.search(rf"^[\w, ]*\b{name}\b[\w, ]* : ", documented, re.M), f"parameter {name} is not documented"
        if name.endswith(UNIT_ENDINGS):
            line = documented.split(name, 1)[1]
            assert "[" in line, f"no unit in brackets for {name}"


@pytest.mark.parametrize("function", PUBLIC)
def test_units_are_in_the_names(function):
    """Definition: a number's unit is the end of its name; what has no unit is on a short list."""
    for name in inspect.signature(function).parameters:
        assert name.endswith(UNIT_ENDINGS) or name in WITHOUT_UNIT, f"{name}: which unit?"


def _by_place(function):
    """Names of the parameters that could be given by their place, where there is more than one to swap."""
    known = inspect.signature(function).parameters.values()
    return [one.name for one in known if one.kind is not one.KEYWORD_ONLY] if len(known) > 1 else []


@pytest.mark.parametrize("function", PUBLIC)
def test_values_are_given_by_name(function):
    """Definition: with two or more parameters every one is keyword-only, so that no two can be swapped."""
    assert _by_place(function) == []


def test_a_value_given_by_place_is_named():
    """Definition: the contract sees one parameter left before the star, and a star that takes any number."""

    def half_done(tas_kt, *, wind_kt): ...

    def any_number(*winds_kt, tas_kt): ...

    def alone(tas_kt): ...

    assert _by_place(half_done) == ["tas_kt"]
    assert _by_place(any_number) == ["winds_kt"]
    assert _by_place(alone) == []


def test_every_constant_has_a_source():
    """Definition: an upper-case number in the library is a Constant whose source is on record."""
    found = 0
    for path in PACKAGE.rglob("*.py"):
        if path.stem == "__main__":  # importing it runs the program
            continue
        dotted = ".".join(("needlework", *path.relative_to(PACKAGE).with_suffix("").parts))
        module = importlib.import_module(dotted.removesuffix(".__init__"))
        for key, value in vars(module).items():
            number = isinstance(value, (int, float)) and not isinstance(value, bool)
            if key.isupper() and not key.startswith("_") and number:
                assert isinstance(value, Constant), f"{dotted}.{key} has no source"
                assert value.source in SOURCES, f"{dotted}.{key}: {value.source} is not on record"
                assert value.unit
                found += 1
    assert found > 10


def test_sources_are_complete():
    """Definition: every source has a title; what was not seen says so."""
    assert all(record.title for record in SOURCES.values())
    assert not SOURCES["from-memory"].seen


# Floors -----------------------------------------------------------------------------------------------------------


def _touching(folder):
    """Where the modules of a folder use a name that reads, writes, asks or runs what is not code."""
    found = []
    for path in sorted(folder.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            plain = isinstance(node, ast.Name) and node.id in TOUCHES and node.id
            of_numpy = isinstance(node, ast.Attribute) and node.attr in TOUCHES_OF_NUMPY and node.attr
            if plain or of_numpy:
                found.append(f"{path.name}, line {node.lineno}: {plain or of_numpy}")
    return found


@pytest.fixture
def planted(tmp_path):
    """A copy of the package into which a line is planted, and what lint-imports says of it."""
    shutil.copytree(PACKAGE, tmp_path / "lib" / "needlework", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)

    def plant(module, line):
        with (tmp_path / "lib" / "needlework" / module).open("a", encoding="utf-8") as file:
            file.write(f"\n{line}\n")
        environment = dict(os.environ, PYTHONPATH=str(tmp_path / "lib"), COLUMNS="500")
        checked = [Path(sys.executable).parent / "lint-imports", "--no-cache"]
        done = subprocess.run(checked, cwd=tmp_path, env=environment, capture_output=True, text=True)
        return done.returncode, done.stdout + done.stderr

    return plant


@pytest.mark.parametrize(
    ("module", "line", "told"),
    [
        pytest.param(
            "trade/wind.py",
            "from ..world import weather",
            "needlework.trade.wind -> needlework.world.weather",
            id="up",
        ),
        pytest.param(
            "debrief/rubric.py",
            "def late():\n    from needlework.exercises.kinds import Number",
            "needlework.debrief.rubric -> needlework.exercises.kinds",
            id="across",
        ),
        pytest.param("helpers.py", "HELP = 1", "- needlework.helpers", id="beside"),
        pytest.param("trade/vor.py", "import matplotlib.pyplot", "needlework.trade.vor -> matplotlib", id="drawing"),
        pytest.param("trade/dme.py", "from os import path", "needlework.trade.dme -> os", id="system"),
        pytest.param("trade/arc.py", "import sqlite3", "needlework.trade.arc -> sqlite3", id="unheard-of"),
        pytest.param(
            "flying/flight.py", "from IPython import display", "needlework.flying.flight -> IPython", id="flying"
        ),
        pytest.param(
            "exercises/kinds/number.py",
            "def late():\n    import nbgrader",
            "needlework.exercises.kinds.number -> nbgrader",
            id="kernel",
        ),
        pytest.param(
            "course/lesson/verbs.py",
            "from needlework import sliders",
            "needlework.course.lesson.verbs -> needlework (",
            id="name",
        ),
    ],
)
def test_a_wrong_import_is_named(planted, module, line, told):
    """Definition: whatever way an import is written, one that breaks a contract in pyproject.toml is named."""
    code, said = planted(module, line)
    assert code == 1, said
    assert told in said
    assert ("lives in the folder of one floor" in said) == ("points down BROKEN" in said)


def test_a_right_import_is_let_through(planted):
    """Definition: an import from the own floor or from below, and pure parts of the standard library, are allowed."""
    code, said = planted("trade/wind.py", "from . import angles\nfrom ..basis import errors\nimport math, re")
    assert code == 0, said


def test_arithmetic_touches_nothing():
    """Definition: the trade's arithmetic never prints, asks, or reads and writes a file."""
    assert _touching(PACKAGE / "trade") == []


def test_what_touches_is_named(tmp_path):
    """Definition: a file opened in the arithmetic is named with its line, called or handed on."""
    source = "import numpy as np\n\nread = open\n\n\ndef table(name):\n    print(name)\n    return np.loadtxt(name)\n"
    (tmp_path / "wind.py").write_text(source, encoding="utf-8")
    assert _touching(tmp_path) == ["wind.py, line 3: open", "wind.py, line 7: print", "wind.py, line 8: loadtxt"]
