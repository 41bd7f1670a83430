"""The ``proofread`` command: every fault of a lesson, of its file and of what comes of its numbers."""

from __future__ import annotations

from pathlib import Path

from needlework.building import checking, proof
from needlework.exercises import binding, making


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
