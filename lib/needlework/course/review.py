"""Coming back: what is due today, and the notebook of ten minutes in which it is asked.

The notebook is made in a process of its own, since lessons of an instructor's own are programs: the server of the
course runs none of them.
"""

from __future__ import annotations

import argparse
import json
import os
import re
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

from needlework.basis import places
from needlework.basis.errors import BadData
from needlework.course import command, extra
from needlework.course.runnable import may_run
from needlework.course.today import FOLDER, begun_on, path_of
from needlework.exercises import coming_back, judging, progress, schedule, telling
from needlework.exercises.catalogue import QUESTIONS, Lesson
from needlework.exercises.flown import FlownByHand
from needlework.exercises.kinds import Choice, Givens, Question
from needlework.world import procedure

_FIRST_LETTERS = 60
_SHOWN = re.compile(r"^(plate|listening|sliders)\.\w+\(", re.M)
_PLATE = re.compile(r'^plate\.show\("([^"]+)"\)', re.M)


def lessons_in(folder: Path) -> list[Lesson]:
    """List the lessons that lie in a learner's folder: those of the course, then those of an instructor's own."""
    own, _ = extra.lying_in(folder)
    return [*command.released(), *(each.lesson for each in own.values())]


def make(folder: Path, day: date) -> Path | None:
    """Make the notebook of today's sitting, or give the one that is not finished.

    Parameters
    ----------
    folder : pathlib.Path
        The learner's folder.
    day : datetime.date
        Today.

    Returns
    -------
    pathlib.Path or None
        The notebook; None if nothing is due.

    Raises
    ------
    BadData
        If the journal cannot be written.
    """
    lessons, done = lessons_in(folder), progress.read(folder)
    begun = begun_on(lessons, done, day)
    if begun and (folder / path_of(begun[0].name)).is_file():
        return folder / path_of(begun[0].name)
    held = schedule.memories(lessons, done)
    keys = schedule.chosen(day, lessons, held)
    if not keys:
        return None
    name = _free_name(folder, day, done)
    drawn, rows = {}, {}
    for key in keys:
        question = QUESTIONS[key]
        drawn[key] = coming_back.unseen(question, name, _seen(done, key))
        if question_is_worked(key, lessons):
            cells = coming_back.empty_answer(question, judging.draw(question, drawn=drawn[key])) or {}
            rows[key] = schedule.blank_rows(len(cells), held[key].in_a_row)
    path = folder / path_of(name)
    command.write_file(
        path, json.dumps(_notebook(name, day, drawn, rows, lessons, folder), ensure_ascii=False, indent=1).encode()
    )
    warning = progress.note_sitting(name, drawn, folder)
    if warning:
        raise BadData(warning)
    return path


def question_is_worked(key: str, lessons: Sequence[Lesson]) -> bool:
    """Say whether a question is a table that comes back with rows worked: the graded tasks come back whole."""
    outline = next(each for lesson in lessons for each in lesson.outlines if each.key == key)
    return outline.kind == "table" and not outline.task


def _seen(done: progress.Progress, key: str) -> list[tuple[str, str]]:
    """Whose numbers of a question were seen: in its lesson, and at earlier sittings."""
    students = {each.student for each in done.history.get(key, []) if not each.drawn}
    return [
        *((each, "") for each in sorted({"", *students})),
        *(("", s.drawn[key]) for s in done.sittings if key in s.drawn),
    ]


def _free_name(folder: Path, day: date, done: progress.Progress) -> str:
    taken = {sitting.name for sitting in done.sittings} | {path.stem for path in (folder / FOLDER).glob("*.ipynb")}
    names = [day.isoformat(), *(f"{day.isoformat()}-{number}" for number in range(2, len(taken) + 3))]
    return next(name for name in names if name not in taken)


# The notebook -----------------------------------------------------------------------------------------------------


def spoken(day: date) -> str:
    """Write a day as it is said: 27 November 2026."""
    return f"{day.day} {day:%B} {day.year}"


def answered_from(question: Question, givens: Givens, lesson: Lesson, folder: Path) -> list[str]:
    """Give the cells in which a lesson shows what a question is answered from: plate, recordings, what-if.

    These are those directly before it, and of plates those that it names, wherever the lesson has shown them before.

    Parameters
    ----------
    question : Question
        The question as it is asked, with its numbers in ``givens``.
    givens : mapping
        As drawn for the learner.
    lesson : Lesson
        Where it stands.
    folder : pathlib.Path
        The learner's folder, for lessons that are not the course's.

    Returns
    -------
    list of str
        Their text.
    """
    told = telling.asked(question, givens)
    key, asked = question.key, " ".join((told.title, told.prompt, told.given))
    home = command.RELEASED if (command.RELEASED / lesson.key).is_dir() else folder
    cells = json.loads((home / lesson.key / f"{lesson.key}.ipynb").read_text(encoding="utf-8"))["cells"]
    before: list[str] = []
    plates: list[str] = []
    for source in ("".join(cell["source"]) for cell in cells if cell["cell_type"] == "code"):
        if f'ask("{key}")' in source:
            break
        if source.startswith("check("):
            before = []
        elif _SHOWN.search(source) and may_run(source):
            before.append(source)
            plates += [source] if _PLATE.search(source) else []
    named = [each for each in plates if procedure.load(_PLATE.findall(each)[0]).airport.name in asked]
    if isinstance(question, Choice) or not named:
        named = before
    wanted = [each for each in before if "plate.show" not in each or each in named]
    wanted += [each for each in named if each not in wanted][-1:]
    return [each for each in wanted if "sliders." not in each or re.search("slider|what-if", asked, re.I)]


def _notebook(
    name: str, day: date, drawn: dict[str, str], rows: dict[str, int], lessons: Sequence[Lesson], folder: Path
) -> dict[str, Any]:
    outlines = {each.key: each for lesson in lessons for each in lesson.outlines}
    minutes = max(1, round(sum(schedule.minutes_of(outlines[key]) for key in drawn)))
    questions = "one question" if len(drawn) == 1 else f"{len(drawn)} questions"
    cells = [
        _cell(
            "markdown",
            "title",
            f"# Coming back, {spoken(day)}\n\nAbout {minutes} {'minute' if minutes == 1 else 'minutes'}: {questions} "
            "from the lessons you know, mixed, with numbers you have not seen. Of a table, the first rows may be "
            "worked already: the surer you are, the fewer. What is right comes back later each time, what is wrong "
            "tomorrow.",
        ),
        _cell(
            "markdown",
            "how",
            "**Without fields under the questions:** in the menu choose *Run*, then *Run All Cells*. Put each answer "
            "in place of `None` and press Shift + Enter twice.",
        ),
        _cell(
            "code",
            "setup",
            f"from needlework.lesson import ask, check, recap, review\n\n{_setting_up(name, drawn, rows)}",
        ),
        _cell("markdown", "questions", "## Questions"),
    ]
    for number, key in enumerate(drawn, 1):
        question = QUESTIONS[key]
        givens = judging.draw(question, drawn=drawn[key])
        made = coming_back.fresh(question, givens, drawn[key], rows.get(key))
        answer = f"answer_{number}"
        lesson = next(each for each in lessons if key in each.questions)
        for source in answered_from(made, givens, lesson, folder):
            # One plate serves all that is asked about it.
            if not any(source == cell["source"] for cell in cells):
                cells.append(_cell("code", f"{key}-{len(cells)}", source))
        if isinstance(made, FlownByHand):
            cells.append(
                _cell("code", f"{key}-panel", f'from needlework.lesson import fly\n\nask("{key}")\nfly("{key}")')
            )
            stub = (
                f"from needlework.lesson import flight_of\n\n{answer} = None  # nothing flown yet\n"
                f'{answer} = flight_of("{key}")  # leave this line: it takes your newest flight'
            )
        else:
            stub = f'ask("{key}")\n{answer} = {_empty(coming_back.empty_answer(made, givens))}'
        cells += [_cell("code", f"{key}-answer", stub), _cell("code", key, f'check("{key}", {answer})')]
    cells.append(_cell("code", "progress", f'recap("{progress.COMING_BACK}")'))
    metadata = {
        "kernelspec": {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"},
        "language_info": {"name": "python"},
        "needlework": {"lesson": progress.COMING_BACK, "sitting": name},
    }
    return {"cells": cells, "metadata": metadata, "nbformat": 4, "nbformat_minor": 5}


def _text(value: str) -> str:
    return json.dumps(value, ensure_ascii=False)


def _setting_up(name: str, drawn: dict[str, str], rows: dict[str, int]) -> str:
    numbers = "".join(f"    {_text(key)}: {_text(each)},\n" for key, each in drawn.items())
    blank = f", {{{', '.join(f'{_text(key)}: {each}' for key, each in rows.items())}}}" if rows else ""
    return f"review({_text(name)}, {{\n{numbers}}}{blank})"


def _empty(answer: Any) -> str:
    if answer is None:
        return "None"
    return "{\n" + "".join(f"    {_text(label)}: None,\n" for label in answer) + "}"


def _cell(kind: str, name: str, source: str) -> dict[str, Any]:
    # Ids are at most 64 letters, digits, - and _ (nbformat 4.5).
    made: dict[str, Any] = {"cell_type": kind, "id": re.sub(r"[^\w-]", "-", name)[:_FIRST_LETTERS], "metadata": {}}
    made["metadata"] = {"tags": [name]} if name in ("how", "setup", "title", "progress") else {}
    made["source"] = source
    return made | ({"execution_count": None, "outputs": []} if kind == "code" else {})


# The command ------------------------------------------------------------------------------------------------------


def use_own_lessons(folder: Path) -> None:
    """Let this process find the questions of lessons that an instructor wrote, too."""
    os.environ.setdefault(places.VARIABLE, os.pathsep.join(map(str, places.beside_lessons(folder))))


def _review(options: argparse.Namespace) -> int:
    folder = command.learners_folder(options.folder)
    if options.write_only:
        use_own_lessons(folder)
        made = make(folder, date.today())
        print(made.relative_to(folder).as_posix() if made else "")
        return 0
    return command.open_course(options, review=True)


def add_command(commands: Any) -> None:
    """Add ``needlework review``."""
    parser = commands.add_parser(
        "review", help="open ten minutes of what is due, mixed, with numbers not seen before"
    )
    command.add_opening_options(parser)
    parser.add_argument(
        "--write-only", action="store_true", help="write the notebook, print where it lies, open nothing"
    )
    parser.set_defaults(run=_review)
