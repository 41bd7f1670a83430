"""A lesson read, checked against its functions and tried out: its data, or every fault at once."""

from __future__ import annotations

import inspect
import random
from dataclasses import replace
from pathlib import Path
from typing import Any

from needlework.basis.errors import BadData, NeedleworkError
from needlework.building import reading
from needlework.building.data import data_of
from needlework.building.faults import Faults, listed, near
from needlework.building.reading import Lesson
from needlework.building.scan import Block
from needlework.building.settings import LOADERS, Settings
from needlework.exercises import binding, catalogue, judging, making
from needlework.exercises.flown import FilledPlan
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
    _check_pictures(lesson, faults)
    if folder.parent == catalogue.FOLDER and lesson.key and lesson.key not in catalogue.ORDER:
        faults.add(
            lesson.top.line_of("key"),
            "top of the file",
            f"the lesson `{lesson.key}` has no place in the course: add it to ORDER in "
            "needlework/exercises/catalogue.py",
        )
    if not faults:
        blocks = {block.name: block for block in lesson.questions}
        for question in making.questions_of(data, functions).values():
            _try_out(question, blocks[question.key], faults)
    return lesson, data, faults


def _check_labels(labels: list[list[str]], block: Block, faults: Faults) -> None:
    """The answer cell holds a table's labels, or its places where the labels are shown with the question."""
    listed, count = block.settings.get("listed"), {len(each) for each in labels}
    if listed is None and any(each != labels[0] for each in labels):
        faults.add(
            block.line,
            block.name,
            f"its labels are drawn, so its answer cell cannot hold them: say `listed: {max(count)}`, and they are "
            "shown with the question",
        )
    elif listed is not None and count != {listed}:
        faults.add(
            block.settings.line_of("listed"), block.name, f"listed: {listed}, and there are {max(count)} cells"
        )


def _check_pictures(lesson: Lesson, faults: Faults) -> None:
    """See whether every picture and what-if is there and takes the values it is given."""
    from needlework.showing import pictures, what_ifs

    shown = {name.removeprefix("show_"): getattr(pictures, name) for name in pictures.__all__ if name[:5] == "show_"}
    sliders = [name for name in what_ifs.__all__ if name.islower()]

    def picture(name: str, values: Any, line: int, where: str) -> None:
        if name not in shown:
            faults.add(line, where, f"there is no picture `{name}`{near(name, shown)}")
            return
        takes = inspect.signature(shown[name]).parameters
        for value in values if isinstance(values, Settings) else ():
            if value not in takes:
                faults.add(
                    values.line_of(value),
                    where,
                    f"the picture {name} takes {listed(takes)}, not `{value}`{near(value, takes)}",
                )

    for part in lesson.parts:
        if not isinstance(part, Block) or part.broken:
            continue
        figure = part.settings.get("figure")
        if part.kind == "picture":
            picture(part.name, part.settings, part.line, part.name)
        elif part.kind == "what-if" and part.name.replace("-", "_") not in sliders:
            known = [name.replace("_", "-") for name in sliders]
            faults.add(part.line, part.name, f"there is no what-if `{part.name}`{near(part.name, known)}")
        elif part.kind == "what-if":
            _check_what_if(part, lesson, getattr(what_ifs, part.name.replace("-", "_"))(), faults)
        elif isinstance(figure, Settings) and len(figure) == 1:
            name, values = next(iter(figure.items()))
            picture(name, values, figure.line_of(name), part.name)


def _check_what_if(block: Block, lesson: Lesson, what_if: Any, faults: Faults) -> None:
    """See whether a what-if can be set as its settings say, and says at its end what they say it shows."""
    asked = block.settings.get("for")
    keys = [question.name for question in lesson.questions]
    if asked is not None and asked not in keys:
        line = block.settings.line_of("for")
        faults.add(line, block.name, f"for: there is no question `{asked}` in this lesson{near(str(asked), keys)}")
    named = block.settings.get("settings")
    if not isinstance(named, Settings):
        return
    for name, values in named.items():
        if not isinstance(values, Settings) or not isinstance(values.get("shows"), str):
            continue
        knobs = {knob: value for knob, value in values.items() if knob != "shows"}
        at_end = {what_if.played: what_if.known[what_if.played].high} if what_if.played else {}
        try:
            said = what_if.moment({**knobs, **at_end}).sentence
        except NeedleworkError as fault:
            faults.add(named.line_of(name), block.name, f"{name}: {fault}")
            continue
        if values["shows"] not in said:
            told = f"{name}: at its end the sentence does not say `{values['shows']}`; it says: {said}"
            faults.add(named.line_of(name), block.name, told)


def _try_out(question: Question, block: Block, faults: Faults) -> None:
    """Draw the question for a few students and fill every text of it."""
    labels: list[list[str]] = []
    for student in _STUDENTS:
        try:
            givens = judging.draw(question, student)
        except Exception as error:
            why = _why_unsound(question) or f"{type(error).__name__}: {error}"
            faults.add(block.line, question.key, f"no numbers can be drawn: {why}")
            return
        try:
            cells = question.cells(givens) if isinstance(question, Table) else {}
            labels.append(list(cells))
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
    if isinstance(question, Table):
        _check_labels(labels, block, faults)


def _why_unsound(question: Question) -> str:
    """Say of one draw what keeps it from being used; empty where that cannot be said."""
    try:
        givens = {"seed": "", **question.draw(random.Random(0))}
        cells = question.cells(givens) if isinstance(question, Table) else {"": question}
        for label, cell in cells.items():
            why = _unsound(cell, givens)
            if why:
                return f"{label}: {why}" if label else why
    except Exception as error:
        return f"{type(error).__name__}: {error}"
    return _unsound(question, givens)


def _unsound(cell: Question, givens: Givens) -> str:
    if not cell.usable(cell.names(givens)):
        return "`sound` takes none of them"
    if isinstance(cell, Choice):
        right = cell.accepted(givens)
        strange = [letter for letter in right if letter not in cell.options]
        if strange:
            return f"`{strange[0]}` is right and is no option"
        told = [letter for _, letter in cell.mistakes(givens)]
        untold = [letter for letter in cell.options if letter not in right and letter not in told]
        if untold:
            return f"the wrong answer `{untold[0]}` gets no sentence"
        twice = [letter for letter in told if told.count(letter) > 1]
        if twice:
            return f"the wrong answer `{twice[0]}` gets two sentences"
        both = [letter for letter in told if letter in right]
        return f"`{both[0]}` is right and gets the sentence of a mistake" if both else ""
    if isinstance(cell, FilledPlan):
        for slip, filled in cell.mistakes(givens):
            found = cell.slip_in(givens, filled)
            if found is not slip:
                what = (
                    f"is the same as {found.name}" if found else "changes nothing that can be told from what is right"
                )
                return f"slip {slip.name} {what}"
    if isinstance(cell, Number):
        wrong = [(slip.name, value) for slip, value in cell.mistakes(givens)]
        alone = replace(cell, slips=())
        for name, value in wrong:
            single = replace(cell, slips=tuple(slip for slip in cell.slips if slip.name == name), named_by=None)
            if alone.sound(givens) and not single.sound(givens):
                wanted = cell.right(givens)
                return f"slip {name} comes to {value:g}, which cannot be told from the right answer, {wanted:g}"
        if alone.sound(givens) and not cell.sound(givens):
            return f"two slips come to the same: {', '.join(f'{name} {value:g}' for name, value in wrong)}"
    return ""


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
