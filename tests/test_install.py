"""What a learner has to install, and what a lesson's first cell brings into the kernel."""

import json
import os
import re
import shutil
import subprocess
import sys
import tomllib
import zipfile
from importlib.metadata import requires
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parents[1]
OF_THE_DESK = {"nbgrader", "sqlalchemy", "yaml", "markdown"}
OF_A_KERNEL = ["numpy", "geographiclib", "pygeomag", "pydantic", "defusedxml"]
OF_A_KERNEL += ["matplotlib", "ipywidgets", "anywidget"]
FIRST_CELLS = """
import json, sys
from needlework.lesson import ask, begin
imported = sorted(sys.modules)
begin("station-passage")
ask("sp-cone")
from needlework import pictures, sliders
sliders.station_passage()
pictures.show_needle(needle_deg=5.0, course_deg=214.0, flag="FROM")
print("modules", json.dumps([imported, sorted(sys.modules)]))
"""


def _modules(command, **environment):
    """What a fresh interpreter holds after a lesson's import, and after a question, a what-if and a picture."""
    done = subprocess.run(command, env={**os.environ, **environment}, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    (line,) = (line for line in done.stdout.splitlines() if line.startswith("modules "))
    return [{name.split(".")[0] for name in names} for names in json.loads(line.removeprefix("modules "))]


def test_a_lesson_loads_nothing_of_the_desk():
    """Definition: a learner's kernel holds no gradebook, no reader of lessons' sources, and checks files late."""
    imported, asked = _modules([sys.executable, "-W", "error", "-c", FIRST_CELLS])
    assert not imported & OF_THE_DESK
    assert not asked & OF_THE_DESK
    assert not imported & {"pydantic", "matplotlib", "IPython", "ipywidgets", "anywidget"}


def test_every_file_goes_with_the_package():
    """Definition: what lies beside the library's modules is listed in pyproject.toml, or an installation lacks it."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    package = ROOT / "lib" / "needlework"
    patterns = project["tool"]["setuptools"]["package-data"]["needlework"]
    listed = {path for pattern in patterns for path in package.glob(pattern)}
    there = {path for path in package.rglob("*") if path.is_file() and "__pycache__" not in path.parts}
    # A lesson's source holds its solution: that stays with its authors.
    left_out = {path for path in there if path.suffix == ".py" or path.name == "lesson.md"}
    assert sorted(str(path.relative_to(package)) for path in there - listed - left_out) == []


def _newest_python():
    """The newest interpreter on this machine that is newer than this one and has pip, or None."""
    places = [Path(place) for place in os.environ.get("PATH", "").split(os.pathsep)]
    places += [*Path.home().glob(".pyenv/versions/*/bin"), *Path.home().glob(".local/share/uv/python/*/bin")]
    found = [(int(path.name.split(".")[1]), path) for place in places for path in place.glob("python3.[0-9][0-9]")]
    for minor, path in sorted(found, reverse=True):
        works = subprocess.run([path, "-m", "pip", "--version"], capture_output=True).returncode == 0
        if minor > sys.version_info.minor and works:
            return path
    return None


def _with_what_they_need(names):
    """Names of packages and of all that these need, as they are installed here."""
    needed, waiting = set(), list(names)
    while waiting:
        name = canonicalize_name(waiting.pop())
        if name not in needed:
            needed.add(name)
            asked = map(Requirement, requires(name) or ())
            waiting += [one.name for one in asked if not one.marker or one.marker.evaluate({"extra": ""})]
    return needed


@pytest.mark.slow
def test_a_lesson_runs_on_the_newest_python(tmp_path):
    """Definition: what a lesson imports is there for the newest Python at hand, and works without a warning."""
    python = _newest_python()
    if python is None:
        pytest.skip("no Python newer than this one, with pip, is on this machine")
    pins = re.split(r"\n(?=\S)", (ROOT / "lib" / "requirements.lock").read_text(encoding="utf-8"))
    names = _with_what_they_need(OF_A_KERNEL)
    (tmp_path / "wanted.txt").write_text("\n".join(pin for pin in pins if pin.split("==")[0] in names))
    installing = [python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--no-compile"]
    installing += [
        "--only-binary",
        ":all:",
        "--require-hashes",
        "--no-deps",
        "--target",
        tmp_path / "site",
        "-r",
        tmp_path / "wanted.txt",
    ]
    done = subprocess.run(installing, capture_output=True, text=True)
    if re.search("connection|timed out|name resolution", done.stderr, re.I):
        pytest.skip("no package index can be reached from here")
    assert done.returncode == 0, done.stderr
    path = os.pathsep.join(str(place) for place in (tmp_path / "site", ROOT / "lib"))
    _, asked = _modules([python, "-W", "error", "-c", FIRST_CELLS], PYTHONPATH=path)
    assert {"numpy", "matplotlib", "ipywidgets"} <= asked


@pytest.mark.slow
def test_an_installed_package_works_without_its_checkout(tmp_path):
    """Definition: lessons and data are in the wheel and work from anywhere; no solution and no lesson's source is."""
    for name in ("lib/needlework", "lessons", "datasets"):
        shutil.copytree(ROOT / name, tmp_path / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md"):
        shutil.copy(ROOT / name, tmp_path / name)
    building = "from setuptools.build_meta import build_wheel; build_wheel('built')"
    done = subprocess.run([sys.executable, "-c", building], cwd=tmp_path, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    (wheel,) = (tmp_path / "built").glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        held = archive.namelist()
        notebooks = [archive.read(name).decode() for name in held if name.endswith(".ipynb")]
        archive.extractall(tmp_path / "site")
    assert len(notebooks) == len(list((ROOT / "lessons").glob("*/*.ipynb"))) > 0
    assert not [name for name in held if "solutions" in name or (name.endswith("lesson.md") and "/lessons/" in name)]
    assert not [text for text in notebooks if "SOLUTION" in text or "HIDDEN TESTS" in text]
    trying = (
        "import sys; from needlework.course import command; from needlework.world import procedure;"
        "assert 'site' in command.__file__; procedure.load('saltmarsh');"
        "sys.exit(command.main(['prepare']) or command.main(['desk', 'hand-out', 'station-passage']))"
    )
    environment = {**os.environ, "PYTHONPATH": str(tmp_path / "site"), "NEEDLEWORK_FOLDER": str(tmp_path / "mine")}
    environment["NEEDLEWORK_DESK"] = str(tmp_path / "desk")
    done = subprocess.run(
        [sys.executable, "-c", trying], env=environment, cwd=tmp_path, capture_output=True, text=True
    )
    assert done.returncode == 2 and "set NEEDLEWORK_SOLUTIONS to its folder 'solutions'" in done.stderr, done.stderr
    assert sorted(path.name for path in (tmp_path / "mine").glob("*/*.ipynb")) == sorted(
        path.name for path in (ROOT / "lessons").glob("*/*.ipynb")
    )
    # With them it hands out, as the instructor of a hub does.
    environment["NEEDLEWORK_SOLUTIONS"] = str(ROOT / "solutions")
    done = subprocess.run(
        [sys.executable, "-c", trying], env=environment, cwd=tmp_path, capture_output=True, text=True
    )
    assert done.returncode == 0 and "needlework desk collect station-passage" in done.stdout, done.stderr
