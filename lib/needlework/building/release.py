"""From the solved notebooks in ``solutions`` to what learners get in ``lessons``, through nbgrader."""

from __future__ import annotations

import argparse
import base64
import binascii
import copy
import json
import logging
import os
import re
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from needlework.basis.errors import BadData
from needlework.basis.places import checkout, of_the_course, released_lessons

ROOT = of_the_course()
SOLUTIONS = Path(os.environ.get("NEEDLEWORK_SOLUTIONS") or ROOT / "solutions").expanduser().absolute()
"""Not in an installed package: whoever hands out says where they are, or has the checkout."""
LESSONS = released_lessons()

_REGIONS = (("BEGIN SOLUTION", "END SOLUTION"), ("BEGIN HIDDEN TESTS", "END HIDDEN TESTS"))
_MARKERS = ("BEGIN SOLUTION", "END SOLUTION", "HIDDEN TESTS", "MARK SCHEME")
_CELL_METADATA = ("nbgrader", "needlework", "tags", "jupyter", "deletable", "editable")
_KERNEL = {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"}
_CELL_ID = re.compile(r"[A-Za-z0-9_-]{1,64}")

Notebook = dict[str, Any]


def read_notebook(path: Path) -> Notebook:
    """Read a notebook as plain data, every cell's source as one text.

    Parameters
    ----------
    path : pathlib.Path
        A file of notebook format 4.

    Returns
    -------
    dict
        The notebook.

    Raises
    ------
    BadData
        If it is not a notebook.
    """
    try:
        book = json.loads(path.read_text(encoding="utf-8"))
        if book["nbformat"] != 4:
            raise ValueError(book["nbformat"])
        for cell in book["cells"]:
            cell["source"] = "".join(cell["source"])
            cell["metadata"] = dict(cell.get("metadata") or {})
            if cell["cell_type"] not in ("code", "markdown", "raw"):
                raise ValueError(cell["cell_type"])
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise BadData(
            f"{path.name} is not a notebook that can be read: open it in JupyterLab and save it."
        ) from error
    return dict(book)


def lesson_keys(solutions: Path = SOLUTIONS) -> list[str]:
    """List the lessons that have a hand-written notebook.

    Parameters
    ----------
    solutions : pathlib.Path
        Folder with one folder a lesson.

    Returns
    -------
    list of str
        Lesson keys, sorted.
    """
    return sorted(path.stem for path in solutions.glob("*/*.ipynb") if path.stem == path.parent.name)


def configuration(root: Path, source: str, release: str) -> Any:
    """Give nbgrader's settings for this course.

    Parameters
    ----------
    root : pathlib.Path
        Course root: the folder that holds the two others.
    source, release : str
        Names of the folders with hand-written and with released notebooks.

    Returns
    -------
    traitlets.config.Config
        Settings for nbgrader's classes.
    """
    from traitlets.config import Config

    c = Config()
    c.CourseDirectory.root = str(root)
    c.CourseDirectory.course_id = "needlework"
    c.CourseDirectory.source_directory = source
    c.CourseDirectory.release_directory = release
    # The stub stands above the solution region as ``name = None``, so nothing replaces the region itself.
    c.ClearSolutions.code_stub = {"python": ""}
    c.ClearSolutions.text_stub = "*Write your answer here.*"
    return c


def generate(root: Path, source: str, release: str, key: str, gradebook: bool) -> Path:
    """Let nbgrader make the released form of one lesson, then make it the same every time.

    Parameters
    ----------
    root : pathlib.Path
        Course root.
    source, release : str
        Names of the folders under the root.
    key : str
        Lesson key.
    gradebook : bool
        True to enter the lesson's cells into the gradebook of this root.

    Returns
    -------
    pathlib.Path
        The released notebook.

    Raises
    ------
    BadData
        If nbgrader refuses the notebook, or something that must stay hidden would be released.
    """
    from nbgrader.converters import GenerateAssignment
    from nbgrader.converters.base import NbGraderException
    from nbgrader.coursedir import CourseDirectory
    from nbgrader.preprocessors import ClearSolutions, NbGraderPreprocessor, SaveCells

    class TidyStubs(NbGraderPreprocessor):  # type: ignore[misc]
        """Take away the empty line that an emptied solution region leaves."""

        def preprocess_cell(self, cell: Any, resources: Any, _index: int) -> tuple[Any, Any]:
            cell.source = cell.source.rstrip("\n")
            return cell, resources

    origin = read_notebook(root / source / key / f"{key}.ipynb")
    faults = source_faults(origin)
    if faults:
        raise BadData(f"solutions/{key} cannot be released: {'; '.join(faults)}.", tuple(faults))
    settings = configuration(root, source, release)
    settings.CourseDirectory.assignment_id = key
    log = Listener()
    converter = GenerateAssignment(
        coursedir=CourseDirectory(config=settings, log=log),
        config=settings,
        no_database=not gradebook,
        force=True,
        log=log,
    )
    steps = []
    for step in converter.preprocessors:
        if step is SaveCells and not gradebook:
            continue
        steps.append(step)
        if step is ClearSolutions:
            steps.append(TidyStubs)
    converter.preprocessors = steps
    try:
        converter.start()
    except (NbGraderException, SystemExit) as error:
        reason = (log.lines() or log.said or [str(error)])[-1]
        raise BadData(f"solutions/{key} cannot be released ({reason}).") from error
    path = root / release / key / f"{key}.ipynb"
    book = settle(read_notebook(path), origin)
    leaks = find_leaks(book, origin)
    if leaks:
        path.unlink()
        raise BadData(f"solutions/{key} would give something away: {'; '.join(leaks)}.", tuple(leaks))
    path.write_text(as_text(book), encoding="utf-8", newline="\n")
    return path


class Listener(logging.Logger):
    """A logger that keeps what nbgrader says: it logs the reason of a failure and raises something else."""

    def __init__(self) -> None:
        super().__init__("needlework.nbgrader", logging.ERROR)
        self.said: list[str] = []
        heard = logging.Handler()
        heard.emit = lambda record: self.said.append(record.getMessage())  # type: ignore[method-assign]
        self.addHandler(heard)

    def lines(self) -> list[str]:
        """Give the lines of every stack trace in it.

        Returns
        -------
        list of str
            Without empty lines; the last one names the error.
        """
        traces = [message for message in self.said if "Traceback" in message]
        return [line.strip() for message in traces for line in message.splitlines() if line.strip()]


def source_faults(book: Notebook) -> list[str]:
    """List what nbgrader would accept although it is wrong for this course.

    Parameters
    ----------
    book : dict
        A hand-written notebook.

    Returns
    -------
    list of str
        One clause a fault; empty if there is none.
    """
    faults = []
    seen: set[str] = set()
    for cell in book["cells"]:
        about = cell["metadata"].get("nbgrader", {})
        name = about.get("grade_id", "")
        if not about:
            continue
        if name in seen:
            faults.append(f"the name '{name}' is used for two cells")
        seen.add(name)
        if about.get("solution") and cell["cell_type"] == "code":
            if "BEGIN SOLUTION" not in cell["source"]:
                faults.append(f"the answer cell '{name}' has no '### BEGIN SOLUTION'")
            elif not re.search(r"^\s*\w+\s*=\s*(None|\.\.\.|\{|\[)", cell["source"].split("BEGIN SOLUTION")[0], re.M):
                faults.append(f"the answer cell '{name}' has no stub such as 'answer = None' above its solution")
        if about.get("grade") and not about.get("solution"):
            if not about.get("locked"):
                faults.append(f"the marked cell '{name}' is not locked")
            if not about.get("points"):
                faults.append(f"the marked cell '{name}' has no points")
    return faults


def settle(book: Notebook, origin: Notebook) -> Notebook:
    """Make a released notebook the same on every machine and day: ids, metadata, no outputs.

    Parameters
    ----------
    book : dict
        As nbgrader released it.
    origin : dict
        The hand-written notebook.

    Returns
    -------
    dict
        A new notebook.
    """
    cells = []
    used: set[str] = set()
    names = [cell.get("id") for cell in origin["cells"]]
    for number, cell in enumerate(book["cells"]):
        metadata = {name: cell["metadata"][name] for name in _CELL_METADATA if name in cell["metadata"]}
        kept = names[number] if len(names) == len(book["cells"]) else None
        grade_id = str(metadata.get("nbgrader", {}).get("grade_id", ""))
        name = next(
            name
            for name in (kept, grade_id, f"cell-{number}", f"released-cell-{number}")
            if name and _CELL_ID.fullmatch(name) and name not in used
        )
        used.add(name)
        made = {"cell_type": cell["cell_type"], "id": name, "metadata": metadata, "source": cell["source"]}
        if cell["cell_type"] == "code":
            made |= {"execution_count": None, "outputs": []}
        if cell.get("attachments"):
            made["attachments"] = cell["attachments"]
        cells.append(made)
    metadata = {"kernelspec": _KERNEL, "language_info": {"name": "python"}}
    if "needlework" in origin.get("metadata", {}):
        metadata["needlework"] = origin["metadata"]["needlework"]
    return {"cells": cells, "metadata": metadata, "nbformat": 4, "nbformat_minor": 5}


def as_text(book: Notebook) -> str:
    """Write a notebook as JupyterLab would: sources as lists of lines, keys sorted.

    Parameters
    ----------
    book : dict
        The notebook, sources as one text each.

    Returns
    -------
    str
        JSON text ending in a new line.
    """
    book = copy.deepcopy(book)
    for cell in book["cells"]:
        cell["source"] = cell["source"].splitlines(keepends=True)
    return json.dumps(book, ensure_ascii=False, indent=1, sort_keys=True) + "\n"


def _split(source: str) -> tuple[list[str], list[str]]:
    """Give the hidden and the visible lines of a hand-written cell."""
    hidden: list[str] = []
    visible: list[str] = []
    end = ""
    for line in source.splitlines():
        begun = next((close for begin, close in _REGIONS if begin in line), "")
        if begun:
            end = begun
        elif end and end in line:
            end = ""
        else:
            (hidden if end else visible).append(line.strip())
    return hidden, visible


def _strings(value: object) -> Iterator[str]:
    """Give every text inside nested data, keys too; what is base64 is decoded as well."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield str(key)
            yield from _strings(inner)
    elif isinstance(value, (list, tuple)):
        yield "".join(inner for inner in value if isinstance(inner, str))
        for inner in value:
            yield from _strings(inner)
    elif isinstance(value, str):
        yield value
        try:
            yield base64.b64decode(value, validate=True).decode("latin-1")
        except (binascii.Error, ValueError):
            return


def find_leaks(book: Notebook, origin: Notebook) -> list[str]:
    """Look in a released notebook for anything a learner must not find there.

    Parameters
    ----------
    book : dict
        The released notebook.
    origin : dict
        The hand-written notebook it came from.

    Returns
    -------
    list of str
        One clause a leak; empty if there is none.
    """
    hidden: set[str] = set()
    visible: set[str] = set()
    for cell in origin["cells"]:
        secret, shown = _split(cell["source"])
        hidden |= {line for line in secret if len(line) > 3 and not line.startswith("#")}
        visible |= set(shown)
    secrets = hidden - visible
    leaks = []
    for number, cell in enumerate(book["cells"], 1):
        where = f"cell {number} ({cell['metadata'].get('nbgrader', {}).get('grade_id') or cell['id']})"
        if cell.get("outputs") or cell.get("execution_count") is not None:
            leaks.append(f"{where} keeps its output")
        if cell.get("attachments") and cell["metadata"].get("nbgrader"):
            leaks.append(f"{where} is an answer or marked cell with an attachment")
        texts = list(_strings({name: value for name, value in cell.items() if name != "id"}))
        leaks += [f"{where} holds '{marker}'" for marker in _MARKERS if any(marker in text for text in texts)]
        leaks += [
            f"{where} shows the hidden line '{line}'"
            for line in sorted(secrets)
            if any(line in text for text in texts)
        ]
    texts = list(_strings({name: value for name, value in book.items() if name != "cells"}))
    leaks += [
        f"the notebook's metadata hold '{line}'"
        for line in sorted({*secrets, *_MARKERS})
        if any(line in text for text in texts)
    ]
    return leaks


def release(solutions: Path = SOLUTIONS, lessons: Path = LESSONS, check: bool = False) -> list[str]:
    """Make every lesson from its hand-written notebook, or only compare.

    Parameters
    ----------
    solutions, lessons : pathlib.Path
        The two folders.
    check : bool
        True to change nothing and only tell what differs.

    Returns
    -------
    list of str
        One sentence for each file that was written (or differs).

    Raises
    ------
    BadData
        If a notebook cannot be released; then nothing is written.
    """
    told = []
    with tempfile.TemporaryDirectory(prefix="needlework-release-") as place:
        root = Path(place).resolve()
        wanted: dict[Path, bytes] = {}
        keys = lesson_keys(solutions)
        if not keys:
            raise BadData(f"There is nothing to release in {solutions}: expected NAME/NAME.ipynb.")
        for key in keys:
            # Only the notebook is taken: anything else beside it is for the author.
            (root / "source" / key).mkdir(parents=True)
            shutil.copyfile(solutions / key / f"{key}.ipynb", root / "source" / key / f"{key}.ipynb")
            path = generate(root, "source", "release", key, gradebook=False)
            wanted[Path(key) / path.name] = path.read_bytes()
    present = {path.relative_to(lessons): path for path in lessons.rglob("*.ipynb")} if lessons.exists() else {}
    for name, content in wanted.items():
        target = lessons / name
        if target.exists() and target.read_bytes() == content:
            continue
        if not check:
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(content)
        told.append(f"lessons/{name.as_posix()} {'differs from its solution' if check else 'written'}.")
    for name, path in sorted(present.items()):
        if name not in wanted and ".ipynb_checkpoints" not in name.parts:
            if not check:
                path.unlink()
            told.append(f"lessons/{name.as_posix()} {'has no solution' if check else 'removed: it has no solution'}.")
    return told


def _run(options: argparse.Namespace) -> int:
    from needlework.building import lessons, own_lessons, page_stamp

    if options.extra:
        report = own_lessons.build(Path(options.extra).expanduser().absolute(), check=options.check)
        for line in (*report.written, *report.faults):
            print(line)
        if not report.written and not report.faults:
            print("What is built is what the lessons' files give.")
        return 1 if report.faults or (options.check and report.written) else 0
    if checkout() is None:
        raise BadData("The course's own lessons are released in its checkout: go there, or add --extra FOLDER.")
    told = lessons.build(check=options.check)
    told += release(check=options.check)
    told += page_stamp.stamp(check=options.check)
    for line in told:
        print(line)
    if not told:
        print("Data, solutions and lessons are what the lessons' files give.")
    elif options.check:
        raise BadData("Not everything is what the lessons' files give: run 'needlework release'.")
    return 0


def add_command(commands: Any) -> None:
    """Add ``release`` to the ``needlework`` command.

    Parameters
    ----------
    commands : argparse subparsers
        Where to add it.
    """
    parser = commands.add_parser("release", help="make data and notebooks from the lessons' files (for authors)")
    parser.add_argument("--check", action="store_true", help="change nothing; fail if they differ")
    parser.add_argument("--extra", metavar="FOLDER", help="build the lessons of a folder of your own instead")
    parser.set_defaults(run=_run)
