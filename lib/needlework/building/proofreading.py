"""The ``proofread`` command: every fault of a lesson, of its file and of what comes of its numbers."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from needlework.basis.errors import BadData
from needlework.building import checking, lessons, proof
from needlework.building.scaffold import lesson_folder
from needlework.exercises import binding, catalogue, making


def faults_of(folder: Path) -> list[str]:
    """Read a lesson and, where it reads without faults, prove it.

    Parameters
    ----------
    folder : pathlib.Path
        Holds ``lesson.md`` and ``functions.py``.

    Returns
    -------
    list of str
        One sentence a fault, with the file's line; empty for a lesson that holds.

    Raises
    ------
    BadData
        If a file is missing or the functions cannot be run.
    """
    lesson, data, faults = checking.examine(folder)
    if not faults:
        questions = making.questions_of(data, binding.load(folder / "functions.py", lesson.key))
        faults = proof.prove(lesson, questions)
    return [fault.told(f"{folder.name}/lesson.md") for fault in faults.sorted()]


def _chosen(options: argparse.Namespace) -> list[Path]:
    """The folders of the lessons that are meant."""
    shelf = Path(options.extra).expanduser().absolute() / "lessons" if options.extra else catalogue.FOLDER
    named = Path(options.lesson).expanduser().absolute() if options.lesson else shelf
    if options.lesson and not options.extra and (named / "lesson.md").is_file():
        return [named]
    if options.lesson and not options.extra and (named / "lessons").is_dir():
        shelf, named = named / "lessons", named / "lessons"
    if named != shelf:
        return [lesson_folder(options.lesson, shelf)]
    return lessons.folders(shelf)


def _run(options: argparse.Namespace) -> int:
    from needlework.building import apart, own_lessons

    found: list[str] = []
    chosen = _chosen(options)
    if not chosen:
        raise BadData("There is no lesson there: give its name, its folder, or --extra FOLDER.")
    shelves = {folder.parent for folder in chosen} - {catalogue.FOLDER}
    procedures = {}
    for shelf in shelves:
        procedures[shelf], faults = own_lessons.procedures_in(shelf.parent)
        found += faults
    for folder in chosen:
        if folder.parent in shelves:
            made = apart.examine(folder, procedures[folder.parent], proved=True)
            faults = made.faults or own_lessons.clashes(folder.name, made)
        else:
            faults = faults_of(folder)
        found += faults
        if not faults:
            print(f"{folder.name}: read and proved, no fault.")
    for fault in found:
        print(fault)
    return 1 if found else 0


def add_command(commands: Any) -> None:
    """Add ``proofread`` to the ``needlework`` command.

    Parameters
    ----------
    commands : argparse subparsers
        Where to add it.
    """
    parser = commands.add_parser("proofread", help="list every fault of a lesson (for authors)")
    parser.add_argument("lesson", nargs="?", default="", help="its name or its folder (default: all of them)")
    parser.add_argument("--extra", metavar="FOLDER", help="a folder of lessons of your own")
    parser.set_defaults(run=_run)
