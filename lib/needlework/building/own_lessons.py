"""A folder of lessons and procedures of an instructor's own, and what is built from it.

=================================== ================================================================
``lessons/NAME/``                   ``lesson.md`` and ``functions.py``, as those of the course
``procedures/NAME.toml``            procedures, as those of the course
``built/KEY/``                      what a kernel loads (data, functions, procedures), and the notebook
``solutions/KEY/KEY.ipynb``         the solved notebook
=================================== ================================================================

What is faulty, and what clashes with the course, is left out and told; it spoils nothing else.
"""

from __future__ import annotations

import json
import re
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

from needlework.basis.errors import BadData
from needlework.basis.places import DATA, FUNCTIONS, PROCEDURES, edition, typed
from needlework.building import apart, lessons, release
from needlework.exercises import catalogue

BUILT, SOLUTIONS = "built", "solutions"


@dataclass
class Report:
    """What came of building a folder.

    Parameters
    ----------
    written : list of str
        One sentence for each file that was written, or would be.
    faults : list of str
        One sentence for each fault.
    """

    written: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)


def procedures_in(folder: Path) -> tuple[list[Path], list[str]]:
    """Find the procedures of a folder that can be used.

    Parameters
    ----------
    folder : pathlib.Path
        The instructor's folder.

    Returns
    -------
    list of pathlib.Path
        Their files.
    list of str
        Faults of the others.
    """
    from needlework.world import procedure

    course = {name.lower() for name in procedure.names()}
    good, faults = [], []
    for path in sorted((folder / PROCEDURES).glob("*.toml")):
        name = f"{PROCEDURES}/{path.name}"
        if path.stem.lower() in course:
            faults.append(f"{name} is left out: the course has a procedure of this name; choose another.")
            continue
        try:
            procedure.load(path)
        except BadData as fault:
            faults.append(f"{name} is left out: {fault}")
            continue
        good.append(path)
    return good, faults


def clashes(name: str, made: apart.Examined) -> list[str]:
    """Say in what a lesson clashes with the course.

    Parameters
    ----------
    name : str
        Name of its folder.
    made : Examined
        The lesson, without faults.

    Returns
    -------
    list of str
        One sentence each.
    """
    lesson = catalogue.outlined(json.loads(made.data))
    return [f"lessons/{name}: {clash}: choose another name." for clash in catalogue.clashes(lesson)]


def build(folder: Path, check: bool = False) -> Report:
    """Build every lesson of a folder that can be built.

    Parameters
    ----------
    folder : pathlib.Path
        The instructor's folder.
    check : bool
        True to change nothing and only tell what would be written.

    Returns
    -------
    Report
        What was written, and every fault.

    Raises
    ------
    BadData
        If there is no lesson in it.
    """
    sources = lessons.folders(folder / "lessons")
    if not sources:
        writes = typed("new", "lesson", "NAME", "--extra", folder)
        raise BadData(f"There is no lesson in {folder / 'lessons'}: '{writes}' writes one.")
    procedures, faults = procedures_in(folder)
    report = Report(faults=faults)
    taken: dict[str, str] = {}
    for source in sources:
        made = apart.examine(source, procedures)
        why = list(made.faults)
        if not why:
            lesson = catalogue.outlined(json.loads(made.data))
            why = clashes(source.name, made)
            why += [
                f"lessons/{source.name}: the question '{label}' stands in lessons/{taken[label]} as well."
                for label in lesson.questions
                if label in taken
            ]
        if why:
            before = _labels_before(folder / BUILT / source.name.replace("_", "-"))
            # What was built of it is still handed out, so its labels are not free.
            taken |= dict.fromkeys(before, source.name)
            stays = " (what was built of it before stays)" if before else ""
            report.faults += [*why, f"lessons/{source.name} is left out until this is mended{stays}."]
            continue
        taken |= dict.fromkeys(lesson.questions, source.name)
        report.written += _write(folder, made, source, procedures, check)
    return report


def _labels_before(built: Path) -> tuple[str, ...]:
    """Labels of the questions of what was built before; none where nothing was, or it cannot be read."""
    try:
        return catalogue.outlined(catalogue.read_data(built, "")).questions
    except BadData:
        return ()


def _write(folder: Path, made: apart.Examined, source: Path, procedures: list[Path], check: bool) -> list[str]:
    """Write what is built of one lesson, or tell what would be."""
    with tempfile.TemporaryDirectory(prefix="nw-built-") as place:
        root = Path(place).resolve()
        staged = root / BUILT
        (staged / PROCEDURES).mkdir(parents=True)
        (staged / DATA).write_text(made.data, encoding="utf-8", newline="\n")
        functions = (source / FUNCTIONS).read_text(encoding="utf-8")
        (staged / FUNCTIONS).write_text(functions, encoding="utf-8", newline="\n")
        for path in procedures:
            # Only what the lesson names: another procedure of the folder does not make it another edition.
            if re.search(rf"\b{re.escape(path.stem)}\b", f"{made.data}{made.book}{functions}"):
                (staged / PROCEDURES / path.name).write_bytes(path.read_bytes())
        solved = root / SOLUTIONS / made.key / f"{made.key}.ipynb"
        solved.parent.mkdir(parents=True)
        solved.write_text(made.book, encoding="utf-8")
        book = release.read_notebook(solved)
        book["metadata"] = {**book["metadata"], "needlework": {"lesson": made.key, "edition": edition(staged)}}
        solved.write_text(release.as_text(book), encoding="utf-8", newline="\n")
        released = release.generate(root, SOLUTIONS, "release", made.key, gradebook=False)
        wanted = {
            f"{BUILT}/{made.key}/{path.relative_to(staged).as_posix()}": path.read_bytes()
            for path in sorted(staged.rglob("*"))
            if path.is_file()
        }
        wanted[f"{BUILT}/{made.key}/{released.name}"] = released.read_bytes()
        wanted[f"{SOLUTIONS}/{made.key}/{solved.name}"] = solved.read_bytes()
    told = []
    # Anything else that lies there is somebody's.
    for path in sorted((folder / BUILT / made.key / PROCEDURES).glob("*.toml")):
        name = path.relative_to(folder).as_posix()
        if name not in wanted:
            told.append(f"{name} {'is no longer wanted' if check else 'removed'}.")
            if not check:
                path.unlink()
    for name, content in wanted.items():
        target = folder / name
        if target.exists() and target.read_bytes() == content:
            continue
        told.append(f"{name} {'differs from its lesson' if check else 'written'}.")
        if not check:
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(content)
    return told
