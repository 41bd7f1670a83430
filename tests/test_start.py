"""The first command a user types: installs what is pinned, once, and survives being stopped."""

import hashlib
import importlib.util
import json
import os
import re
import shutil
import subprocess
import sys
import textwrap
import time
import tomllib
import types
import zipfile
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parents[1]
BACKEND = textwrap.dedent("""\
    import pathlib, zipfile

    def build_editable(folder, config_settings=None, metadata_directory=None):
        lib = pathlib.Path("lib").resolve()
        name = "needlework-0-py3-none-any.whl"
        info = "needlework-0.dist-info/"
        with zipfile.ZipFile(pathlib.Path(folder) / name, "w") as wheel:
            wheel.writestr("needlework.pth", str(lib))
            wheel.writestr(info + "METADATA", "Metadata-Version: 2.1\\nName: needlework\\nVersion: 0\\n")
            wheel.writestr(info + "WHEEL", "Wheel-Version: 1.0\\nRoot-Is-Purelib: true\\nTag: py3-none-any\\n")
            wheel.writestr(info + "RECORD", "")
        return name
""")


@pytest.fixture
def start():
    spec = importlib.util.spec_from_file_location("start", ROOT / "lib" / "start.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def checkout(tmp_path):
    """A checkout with a space in its path, nothing to download, and a package that says how it was called."""
    root = tmp_path / "a checkout"
    (root / "lib" / "needlework").mkdir(parents=True)
    shutil.copy(ROOT / "lib" / "start.py", root / "lib")
    (root / "lib" / "requirements.lock").write_text("")
    (root / "lib" / "requirements-tests.lock").write_text("")
    (root / "backend.py").write_text(BACKEND)
    (root / "pyproject.toml").write_text(
        '[build-system]\nrequires = []\nbuild-backend = "backend"\nbackend-path = ["."]\n'
        '[project]\nname = "needlework"\nversion = "0"\n'
    )
    (root / "lib" / "needlework" / "__init__.py").write_text("")
    (root / "lib" / "needlework" / "__main__.py").write_text(
        "import os, shutil, sys\n"
        "print('ran', sys.argv[1:], sys.prefix, os.getcwd(), shutil.which('python'), sep='|')\n"
        "sys.exit(7)\n"
    )
    return root


def _start(checkout, *words, path=None, cwd="/"):
    """Run start.py; without uv on PATH, so that Python's own venv and pip are what is tested."""
    environment = dict(os.environ, PATH=path or "/usr/bin:/bin", TMPDIR=str(checkout.parent))
    for name in ("VIRTUAL_ENV", "PYTHONPATH", "PIP_REQUIRE_VIRTUALENV"):
        environment.pop(name, None)
    command = [sys.executable, str(checkout / "lib" / "start.py"), *words]
    return subprocess.run(command, env=environment, cwd=cwd, capture_output=True, text=True, timeout=300)


def _wheel(folder, name, version=1, needs=""):
    """Write a package of one module, as an index would give it."""
    path, info = folder / f"{name}-{version}-py3-none-any.whl", f"{name}-{version}.dist-info/"
    needed = f"Requires-Python: {needs}\n" if needs else ""
    with zipfile.ZipFile(path, "w") as wheel:
        wheel.writestr(f"{name}.py", f"here = {version}\n")
        wheel.writestr(info + "METADATA", f"Metadata-Version: 2.1\nName: {name}\nVersion: {version}\n{needed}")
        wheel.writestr(info + "WHEEL", "Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: py3-none-any\n")
        wheel.writestr(info + "RECORD", "")
    return path


def _line(wheel, condition=""):
    """Write a wheel as the list has it."""
    name, version = wheel.name.split("-")[:2]
    return f"{name}=={version}{condition} \\\n    --hash=sha256:{hashlib.sha256(wheel.read_bytes()).hexdigest()}\n"


def test_a_packed_course_needs_no_network(start, tmp_path, monkeypatch):
    """Definition: all that the list names lies beside the course, for a later patch of this Python too; what is
    installed then comes from that alone."""
    index = tmp_path / "index"
    index.mkdir()
    later = "{}.{}.{}".format(*sys.version_info[:2], sys.version_info[2] + 1)
    lock = tmp_path / "requirements.lock"
    lock.write_text(
        _line(_wheel(index, "needed"))
        + _line(_wheel(index, "parted"), f" ; python_full_version < '{later}'")
        + _line(_wheel(index, "parted", 2, f">={later}"), f" ; python_full_version >= '{later}'")
    )
    for name, value in (("LOCKS", {"course": lock}), ("PACKED", tmp_path / "packed"), ("ROOT", tmp_path)):
        monkeypatch.setattr(start, name, value)
    monkeypatch.setattr(start, "venv_program", lambda _: sys.executable)
    monkeypatch.setenv("PIP_NO_INDEX", "1")
    monkeypatch.setenv("PIP_FIND_LINKS", str(index))
    start.pack()
    # What stands for the network is gone, and a copy lies elsewhere.
    shutil.rmtree(index)
    monkeypatch.delenv("PIP_FIND_LINKS")
    monkeypatch.setattr(start, "PACKED", Path(shutil.move(tmp_path / "packed", tmp_path / "a stick")))
    assert {"parted-1-py3-none-any.whl", "parted-2-py3-none-any.whl"} <= {
        each.name for each in start.PACKED.iterdir()
    }
    into = [sys.executable, "-m", "pip", "install", "--quiet", "--target", str(tmp_path / "there")]
    assert start.run([*into, *start.packages("course")])
    assert (tmp_path / "there" / "needed.py").is_file()
    assert (tmp_path / "there" / "parted.py").read_text() == "here = 1\n"
    # Another wheel than the list's is not packed.
    index.mkdir()
    lock.write_text(_line(_wheel(index, "needed")).replace("sha256:", "sha256:0")[:-2] + "\n")
    monkeypatch.setenv("PIP_FIND_LINKS", str(index))
    with pytest.raises(start.CannotStart, match="could not be fetched"):
        start.pack()


def test_packed_wheels_are_taken_only_where_they_fit(start, tmp_path, monkeypatch):
    """Definition: another list, or another Python, than they were packed for: what the list names is fetched."""
    lock = tmp_path / "requirements.lock"
    lock.write_text("needed==1\n")
    monkeypatch.setattr(start, "LOCKS", {"course": lock})
    monkeypatch.setattr(start, "PACKED", tmp_path / "packed")
    fetched = ["--require-hashes", "--no-deps", "-r", str(lock)]
    assert start.packages("course") == fetched
    (tmp_path / "packed").mkdir()
    kept = tmp_path / "packed" / "packed.json"
    kept.write_text(json.dumps(start.packed_for("course")))
    here = str(tmp_path / "packed")
    taken = ["--no-index", "--no-deps", "--find-links", here, "-r", str(tmp_path / "packed" / start.PACKED_LIST)]
    assert start.packages("course") == taken
    kind, digest, _ = start.packed_for("course")
    for other in ([kind, digest, [3, 1]], [kind, "0" * 64, list(sys.version_info[:2])], "{"):
        kept.write_text(json.dumps(other))
        assert start.packages("course") == fetched


@pytest.mark.slow
def test_installs_once_and_hands_over(checkout, tmp_path):
    """Definition: what cannot be installed is one sentence, and the next start tries again, afresh; the next one
    only runs. uv is asked first and Python's own tools do what it cannot. Exit code, words and folder pass on."""
    lock, environment = checkout / "lib" / "requirements.lock", checkout / ".venv"
    fake = tmp_path / "bin"
    fake.mkdir()
    (fake / "uv").write_text(f'#!/bin/sh\necho "$1" >> "{tmp_path}/asked"\n[ "$1" = --version ]\n')
    (fake / "uv").chmod(0o755)
    # Packages that do not match their hashes are not installed.
    lock.write_text(f"needlework-nothing @ file:///nowhere --hash=sha256:{'0' * 64}\n")
    failed = _start(checkout, "open", path=f"{fake}:/usr/bin:/bin")
    assert failed.returncode == 2
    assert "installing into" in failed.stderr
    assert "the packages could not be fetched" in failed.stderr.splitlines()[-1]
    assert "Traceback" not in failed.stderr
    assert (tmp_path / "asked").read_text().split() == ["--version", "venv"]

    # An installation that stopped half-way starts afresh.
    (environment / "half").write_text("")
    lock.write_text("")
    first = _start(checkout, "open", "--no browser", cwd=tmp_path)
    assert first.returncode == 7, first.stderr
    assert "interrupted" in first.stderr
    assert not (environment / "half").exists()
    _, words, prefix, cwd, python = first.stdout.strip().split("|")
    assert words == "['open', '--no browser']"
    assert Path(prefix) == environment
    assert Path(cwd) == tmp_path
    assert Path(python).is_relative_to(environment)
    stamp = environment / "needlework-start.json"
    written = stamp.stat().st_mtime_ns
    second = _start(checkout, "open")
    assert second.returncode == 7
    assert second.stderr == ""
    assert stamp.stat().st_mtime_ns == written

    # A changed list of packages is installed into what is there.
    (environment / "kept").write_text("")
    lock.write_text("# changed\n")
    third = _start(checkout, "open")
    assert third.returncode == 7, third.stderr
    assert "installing into" in third.stderr
    assert (environment / "kept").exists()


def test_an_environment_of_somebody_else_is_left_alone(checkout):
    """Definition: a .venv that the course did not make is neither used nor removed."""
    (checkout / ".venv").mkdir()
    (checkout / ".venv" / "mine").write_text("mine")
    stopped = _start(checkout, "open")
    assert stopped.returncode == 2
    assert stopped.stderr.count("\n") == 1
    assert "was not made by this course: move it away" in stopped.stderr
    assert (checkout / ".venv" / "mine").read_text() == "mine"


@pytest.mark.parametrize("free", [[600e6], [2e9, 90e6]], ids=["at the start", "on the way"])
def test_a_full_disk_is_told(start, monkeypatch, tmp_path, free):
    """Definition: one sentence with what is free and what is needed, before the installation or after it ended."""
    left = iter(free)
    monkeypatch.setattr(start.shutil, "disk_usage", lambda _: types.SimpleNamespace(free=next(left)))
    monkeypatch.setattr(start, "with_uv", lambda kind: False)
    monkeypatch.setattr(start, "with_pip", lambda kind: False)
    monkeypatch.setattr(start, "VENV", tmp_path / ".venv")
    monkeypatch.setattr(start, "STAMP", tmp_path / ".venv" / "stamp")
    with pytest.raises(start.CannotStart, match=r"is full: (600|90) MB are free, 700 MB are needed\. Make room"):
        start.install("course")


def test_how_far_an_installation_is_is_told(start, monkeypatch, tmp_path, capsys):
    """Definition: while it is quiet for minutes, the seconds and the packages in place are said; nothing after it."""
    monkeypatch.setattr(start, "VENV", tmp_path)
    monkeypatch.setattr(start, "TELL_S", 0.02)
    said = ""
    with start.telling("course"):
        while "being fetched" not in said:
            said += capsys.readouterr().err
        for name in "abcdef":
            (tmp_path / "lib" / "python3.11" / "site-packages" / f"{name}-1.dist-info").mkdir(parents=True)
        while "6 of about" not in said:
            said += capsys.readouterr().err
    capsys.readouterr()
    time.sleep(0.1)
    assert capsys.readouterr().err == ""


def test_a_folder_that_refuses_is_told(start, monkeypatch, tmp_path):
    """Definition: one sentence with the folder and what to do."""

    def refuse(stamp):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(start, "write_stamp", refuse)
    monkeypatch.setattr(start, "VENV", tmp_path / ".venv")
    monkeypatch.setattr(start, "STAMP", tmp_path / ".venv" / "stamp")
    with pytest.raises(
        start.CannotStart, match=r"nothing can be written .* \(Permission denied\): put the course into"
    ):
        start.install("course")


def test_an_old_python_is_told(start, monkeypatch, capsys):
    """Definition: below 3.11 one sentence says what is needed, unless a newer one is found on PATH."""
    monkeypatch.setattr(sys, "version_info", (3, 9, 2))
    monkeypatch.setattr(start, "newer_python", lambda: None)
    with pytest.raises(start.CannotStart, match=r"this is Python 3.9, and the course needs 3.11 or newer"):
        start.main(["open"])
    called = []
    monkeypatch.setattr(start, "newer_python", lambda: "/usr/bin/python3.12")
    monkeypatch.setattr(subprocess, "call", lambda command: called.append(command) or 0)
    assert start.main(["open", "--port", "1"]) == 0
    assert called == [["/usr/bin/python3.12", str(ROOT / "lib" / "start.py"), "open", "--port", "1"]]


def test_start_can_be_read_by_an_old_python():
    """Definition: the sentence about an old Python reaches its user: the file uses no newer syntax (3.8 here)."""
    import ast

    ast.parse((ROOT / "lib" / "start.py").read_text(encoding="utf-8"), feature_version=(3, 8))


@pytest.mark.parametrize(
    ("apt", "root", "told"),
    [
        (None, True, "install Python 3.11 or newer with both, or install 'uv'"),
        ("/usr/bin/apt-get", False, "type 'sudo apt-get install python3.11-venv'"),
    ],
)
def test_a_python_without_venv_is_told(start, monkeypatch, apt, root, told):
    """Definition: Debian splits venv off; one sentence says the exact command."""
    monkeypatch.setattr(sys, "version_info", (3, 11, 2))
    monkeypatch.setattr(shutil, "which", lambda name: apt)
    monkeypatch.setattr(os, "geteuid", lambda: 0 if root else 1000)
    with pytest.raises(start.CannotStart, match=told):
        start.fetch_venv_support()


def test_on_debian_as_root_venv_is_installed(start, monkeypatch, capsys):
    """Definition: with the right to do it, the missing Debian package is installed, and it says so."""
    ran = []
    monkeypatch.setattr(sys, "version_info", (3, 11, 2))
    monkeypatch.setattr(shutil, "which", lambda name: f"/usr/bin/{name}")
    monkeypatch.setattr(os, "geteuid", lambda: 0)
    monkeypatch.setattr(start, "run", lambda command, **_: ran.append(command) or command[1] != "install")
    with pytest.raises(start.CannotStart, match=r"apt-get could not install python3.11-venv"):
        start.fetch_venv_support()
    assert [command[1] for command in ran] == ["update", "install"]
    assert ran[1][-1] == "python3.11-venv"
    assert "installing it with apt-get" in capsys.readouterr().err


@pytest.fixture
def programs(start, monkeypatch, tmp_path):
    """Programs in the environment's place that note how they were called; gives what fails, and the notes."""
    failing = set()

    def program(name):
        path = tmp_path / name
        code = "echo complaint of $0; exit 1" if name in failing else "exit 0"
        path.write_text(f'#!/bin/sh\necho "{name} $*" >> "{tmp_path}/called"\n{code}\n')
        path.chmod(0o755)
        return str(path)

    monkeypatch.chdir(ROOT)
    monkeypatch.setattr(start, "install", lambda kind: None)
    monkeypatch.setattr(start, "venv_program", program)
    return failing, lambda: (tmp_path / "called").read_text().splitlines()


def test_style_types_and_floors_are_checked_before_the_tests(start, programs, capfd):
    """Definition: the test command runs the four checks, then pytest; each is reported in a line."""
    _, called = programs
    assert start.main(["test"]) == 0
    words = ["ruff check", "ruff format", "mypy", "lint-imports", "python -m pytest"]
    assert [line.startswith(word) for line, word in zip(called(), words, strict=True)] == [True] * 5
    said = capfd.readouterr().err.splitlines()
    assert said == [f"needlework: {name}: good ({program})." for name, (program, *_) in start.CHECKS]


def test_a_complaint_is_shown_and_the_tests_run_all_the_same(start, programs, capfd):
    """Definition: a check that complains makes the command fail, keeps no test from running, and is named last."""
    failing, called = programs
    failing.add("mypy")
    assert start.main(["test"]) == 1
    assert called()[-1].startswith("python -m pytest")
    said = capfd.readouterr().err
    assert re.search(r"^complaint of .*mypy\nneedlework: types: the complaint of mypy is above\.$", said, re.M)
    assert said.endswith("before them these complained: types.\n")


def test_words_choose_tests_alone(start, programs, monkeypatch, capfd):
    """Definition: with words for pytest only pytest runs, and that is said."""
    _, called = programs
    monkeypatch.setattr(os, "execve", lambda path, command, _: sys.exit(subprocess.call(command)))
    with pytest.raises(SystemExit, match="0"):
        start.main(["test", "-k", "vor"])
    assert [re.sub("-n .* -k", "-k", line) for line in called()] == ["python -m pytest -k vor"]
    assert "only pytest runs" in capfd.readouterr().err


# The lists of packages --------------------------------------------------------------------------------------------


def _pins(name):
    text = (ROOT / "lib" / name).read_text(encoding="utf-8")
    entries = re.split(r"\n(?=\S)", text.strip())
    pins = {}
    for entry in entries:
        requirement = Requirement(entry.split("\\")[0].strip())
        (pin,) = requirement.specifier
        assert pin.operator == "=="
        assert re.search(r"--hash=sha256:[0-9a-f]{64}", entry), f"{requirement} has no hash"
        pins.setdefault(requirement.name, set()).add((pin.version, str(requirement.marker)))
    return text, pins


@pytest.mark.parametrize(
    ("name", "extras"),
    [
        ("requirements.lock", ["desk", "authors"]),
        ("requirements-tests.lock", ["desk", "authors", "cluster", "hub", "tests"]),
    ],
)
def test_locks_hold_every_dependency_within_its_bounds(name, extras):
    """Definition: what pyproject.toml asks for is pinned, with hashes, inside its bounds, and from no named host."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    text, pins = _pins(name)
    assert "://" not in text
    asked = project["dependencies"] + [r for extra in extras for r in project["optional-dependencies"][extra]]
    for wanted in map(Requirement, asked):
        if wanted.name == project["name"]:
            assert wanted.extras <= set(extras)
            continue
        assert {spec.operator for spec in wanted.specifier} == {">=", "<"}, f"{wanted}: lower and upper bound"
        assert canonicalize_name(wanted.name) in pins, f"{name} lacks {wanted.name}: run 'python3 lib/start.py lock'"
        assert all(version in wanted.specifier for version, _ in pins[canonicalize_name(wanted.name)])


def test_the_course_is_tested_with_what_it_is_opened_with():
    """Definition: every package of the course is in the tests' list in the same version."""
    _, course = _pins("requirements.lock")
    _, tests = _pins("requirements-tests.lock")
    # On which systems a package is wanted may differ: another package may want it everywhere.
    assert all({each for each, _ in tests[name]} == {each for each, _ in pins} for name, pins in course.items())


def test_an_installed_checkout_matches_its_lock(start):
    """Definition: when the suite runs in the course's own environment, that environment is what the lock says."""
    stamp = ROOT / ".venv" / "needlework-start.json"
    if Path(sys.prefix) != ROOT / ".venv":
        pytest.skip("the suite runs in another environment")
    assert json.loads(stamp.read_text())["tests"] == start.fingerprint("tests")
