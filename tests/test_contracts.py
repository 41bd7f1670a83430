"""What every module of the ground floor promises: docstrings, units in names, sources, floors."""

import ast
import importlib
import inspect
import re
from pathlib import Path

import needlework
import pytest
from needlework.basis.quantity import Constant
from needlework.basis.sources import SOURCES

PACKAGE = Path(needlework.__file__).parent
GROUND = [
    "angles", "units", "wind", "turns", "vor", "dme", "ident", "altimetry", "intercept", "arc",
    "descent", "missed", "holding", "geodesy", "magnetic",
]  # fmt: skip
FLOORS = [
    "basis",
    "trade",
    "world",
    "flying",
    ("debrief", "exercises"),
    "showing",
    ("course", "building", "desk", "lesson"),
]
FLOOR_OF = {
    name: floor for floor, names in enumerate(FLOORS) for name in ([names] if isinstance(names, str) else names)
}

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


def test_every_constant_has_a_source():
    """Definition: an upper-case number in the library is a Constant whose source is on record."""
    found = 0
    for path in PACKAGE.rglob("*.py"):
        if path.stem == "__main__":  # importing it runs the program
            continue
        dotted = ".".join(("needlework", *path.relative_to(PACKAGE).with_suffix("").parts))
        module = importlib.import_module(dotted.removesuffix(".__init__"))
        for key, value in vars(module).items():
            if key.isupper() and not key.startswith("_") and isinstance(value, (int, float)):
                assert isinstance(value, Constant), f"{dotted}.{key} has no source"
                assert value.source in SOURCES, f"{dotted}.{key}: {value.source} is not on record"
                assert value.unit
                found += 1
    assert found > 10


def test_sources_are_complete():
    """Definition: every source has a title; what was not seen says so."""
    assert all(record.title for record in SOURCES.values())
    assert not SOURCES["from-memory"].seen


@pytest.mark.parametrize("path", sorted(PACKAGE.rglob("*.py")), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_arrows_point_down(path):
    """Definition: a module imports only from its own floor or from floors below."""
    own = path.relative_to(PACKAGE).parts[0].removesuffix(".py")
    if own in ("__init__", "__main__"):
        return
    floor = FLOOR_OF[own]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == "needlework":
            parts = node.module.split(".")
            wanted = [parts[1]] if len(parts) > 1 else [alias.name for alias in node.names]
        elif isinstance(node, ast.Import):
            wanted = [a.name.split(".")[1] for a in node.names if a.name.startswith("needlework.")]
        else:
            continue
        for other in wanted:
            if other in FLOOR_OF:
                assert FLOOR_OF[other] <= floor, f"{own} (floor {floor}) imports {other} (floor {FLOOR_OF[other]})"


@pytest.mark.parametrize("name", GROUND)
def test_ground_floor_is_pure(name):
    """Definition: the ground floor never draws, prints or reads a file."""
    tree = ast.parse((PACKAGE / "trade" / f"{name}.py").read_text(encoding="utf-8"))
    called = {n.func.id for n in ast.walk(tree) if isinstance(n, ast.Call) and isinstance(n.func, ast.Name)}
    assert not called & {"print", "open", "input"}
    imported = {a.name for n in ast.walk(tree) if isinstance(n, ast.Import) for a in n.names}
    assert not imported & {"matplotlib", "os", "pathlib", "subprocess", "threading"}
