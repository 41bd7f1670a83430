"""A lesson read, checked against its functions and tried out: its data, or every fault at once."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from needlework.basis.errors import BadData
from needlework.building import reading
from needlework.building.data import data_of
from needlework.building.faults import Faults
from needlework.building.reading import Lesson
from needlework.building.scan import Block
from needlework.building.settings import LOADERS
from needlework.exercises import binding, judging, making
from needlework.exercises.kinds import Choice, Givens, Number, Question, Table

_STUDENTS = ("", "a", "b")


def read(folder: Path, loader: Any = LOADERS[0]) -> tuple[Lesson, dict[str, Any]]:
    """Read the lesson of a folder and give its data.

    Parameters
    ----------
    folder : pathlib.Path
        Holds ``lesson.md`` and ``functions.py``.
    loader : class
        The parser of settings.

    Returns
    -------
    tuple of (Lesson, dict)
        The lesson as written and the data a kernel loads.

    Raises
    ------
    BadData
        With every fault, one a line.
    """
    lesson, data, faults = examine(folder, loader)
    if faults:
        name = f"{folder.name}/lesson.md"
        told = [fault.told(name) for fault in faults.sorted()]
        raise BadData("\n".join(told), tuple(told))
    return lesson, data


def examine(folder: Path, loader: Any = LOADERS[0]) -> tuple[Lesson, dict[str, Any], Faults]:
    """Read the lesson of a folder and collect its faults.

    Parameters
    ----------
    folder : pathlib.Path
        Holds ``lesson.md`` and ``functions.py``.
    loader : class
        The parser of settings.

    Returns
    -------
    tuple of (Lesson, dict, Faults)
        The lesson, its data as far as they could be made, what is wrong.

    Raises
    ------
    BadData
        If a file is missing or the functions cannot be run.
    """
    for name in ("lesson.md", "functions.py"):
        if not (folder / name).is_file():
            raise BadData(f"{folder.name} has no {name}: a lesson is a folder with lesson.md and functions.py.")
    faults = Faults()
    lesson = reading.read(folder / "lesson.md", faults, loader)
    functions = binding.load(folder / "functions.py", lesson.key or folder.name)
    data = data_of(lesson, functions, faults)
    if not faults:
        blocks = {block.name: block for block in lesson.questions}
        for question in making.questions_of(data, functions).values():
            _try_out(question, blocks[question.key], faults)
    return lesson, data, faults


def _try_out(question: Question, block: Block, faults: Faults) -> None:
    """Draw the question for a few students and fill every text of it."""
    for student in _STUDENTS:
        try:
            givens = judging.draw(question, student)
        except Exception as error:
            faults.add(block.line, question.key, f"no numbers can be drawn: {type(error).__name__}: {error}")
            return
        try:
            cells = question.cells(givens) if isinstance(question, Table) else {}
            for one in (question, *cells.values()):
                _fill(one, givens)
                _rounding(one, givens, block, faults)
        except Exception as error:
            faults.add(
                block.line,
                question.key,
                f"with the numbers of the student '{student}' it cannot be asked: {type(error).__name__}: {error}",
            )
            return


def _fill(question: Question, givens: Givens) -> None:
    for text in (question.prompt, question.shown, question.why, question.look, *question.hints):
        question.fill(text, givens)
    for slip, _ in question.mistakes(givens):
        question.fill(slip.says, givens, chosen="", Chosen="")
    if isinstance(question, (Number, Choice, Table)):
        judging.model_answer(question, givens)


def _rounding(question: Question, givens: Givens, block: Block, faults: Faults) -> None:
    """An answer rounded as asked for must pass."""
    if not isinstance(question, Number) or question.passes is not None:
        return
    right = question.right(givens)
    step = question.to
    rounded = round(right / step) * step
    if abs(rounded - right) > question.tolerance + 1e-9:
        cell = next((cell for cell in block.cells if cell.name == question.key), block)
        where = block.name if cell is block else f"{block.name}, cell {cell.name}"
        faults.add(
            cell.settings.line_of("accept"),
            where,
            f"asked for to {step:g}, but accept: {question.tolerance:g} refuses a right answer that was rounded "
            f"(at least {step / 2:g})",
        )
