"""The page on which the course begins: what is done, what is next, what to look at again, how long it still takes."""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from needlework.basis.places import typed
from needlework.course.today import FOLDER, Today, today
from needlework.exercises import progress, schedule
from needlework.exercises.catalogue import ORDER, Lesson

NAME = "start.ipynb"
"""Of the page, in the learner's folder."""
CAUTION = (
    "**Training aid with invented data. Not for navigation.** This course trains arithmetic, pictures and habits. "
    "It does not replace flight instruction, the aircraft's handbook, current charts and notices, published "
    "minimums or the rules of your state. Fly with a licensed instructor. In the aircraft identify every station, "
    "check receivers and altimeter as your rules demand, and go around when in doubt."
)

_SIGNED = re.compile(r"""(?m)^begin\(.*\bhomework=["']\w""")
_HEADING = re.compile(r"(?m)^# (.+?)\s*$")
_DUE = re.compile(r"(?m)^\*\*Due:\*\* (.+?)\.?$")
_NAMED = 5
"""So many questions that went wrong are named; more is not read."""


@dataclass(frozen=True)
class SittingState:
    """How far a learner is with one sitting.

    Parameters
    ----------
    minutes, questions : int
        How long it takes, and what is asked in it.
    settled, due : int
        Questions that need nothing more in the lesson, and those that come back today.
    first : str
        Key of the question to go on with: the first that is not right yet, else the first of all; empty without
        questions.
    """

    minutes: int
    questions: int
    settled: int
    due: int = 0
    first: str = ""

    @property
    def open_share(self) -> float:
        """Share of it that is not settled; all of it where it has no questions."""
        return 1.0 - self.settled / self.questions if self.questions else 1.0


@dataclass(frozen=True)
class LessonState:
    """How far a learner is with one lesson.

    Parameters
    ----------
    key, title, path : str
        The lesson's; where its notebook lies in the learner's folder.
    state : str
        ``"not begun"``, ``"begun"``, ``"task not yet judged"``, ``"known"`` (its task was right at the first try) or
        ``"done"``.
    sittings : tuple of SittingState
        In order.
    passed, settled, questions : int
        Questions that are right, that need nothing more, and all.
    minutes_left : int
        Of what is not settled.
    due : int
        Questions that come back today.
    task : str
        Key of the task by which the lesson can be proved; empty where there is none left to do.
    """

    key: str
    title: str
    path: str
    state: str
    sittings: tuple[SittingState, ...]
    passed: int
    settled: int
    questions: int
    minutes_left: int
    due: int = 0
    task: str = ""


@dataclass(frozen=True)
class Next:
    """What to do next.

    Parameters
    ----------
    begun : bool
        True for a lesson to go on with.
    title, path : str
        The lesson's.
    number, questions : int
        The question to go on with, counted from 1, and how many there are.
    sitting, sittings, minutes : int
        The sitting it stands in, of how many, and the minutes left in it.
    key : str
        That question's.
    wrong : bool
        True where it was answered, and not rightly.
    """

    begun: bool
    title: str
    path: str
    number: int
    questions: int
    sitting: int
    sittings: int
    minutes: int
    key: str = ""
    wrong: bool = False


@dataclass(frozen=True)
class Failed:
    """A question that was wrong when it was last answered.

    Parameters
    ----------
    title, lesson, path, key : str
        The question's title, its lesson's title and path, and its key: where it is explained.
    """

    title: str
    lesson: str
    path: str
    key: str


@dataclass(frozen=True)
class Other:
    """A further notebook of a lesson in the learner's folder: its title, where it lies; when homework is due.

    ``kept`` is the day on which a lesson's other version was put beside it, changed in two tabs or programs.
    """

    title: str
    path: str
    homework: bool = False
    due: str = ""
    kept: str = ""


@dataclass(frozen=True)
class Overview:
    """Everything the page says.

    Parameters
    ----------
    lessons : tuple of LessonState
        In teaching order.
    next : Next or None
        None when everything is answered.
    today : Today
        What comes back today.
    failed : tuple of Failed
        What was wrong last time, the newest first; no more than are read.
    told : tuple of str
        Sentences for the learner.
    others : tuple of Other
        Homework and further copies.
    caution : str
        The usual one, with two stars round its **bold** words.
    """

    lessons: tuple[LessonState, ...]
    next: Next | None
    today: Today
    failed: tuple[Failed, ...]
    told: tuple[str, ...]
    others: tuple[Other, ...] = ()
    caution: str = CAUTION


def _settled(record: progress.Record) -> bool:
    """Say whether nothing is left to do here: right at some time, or a task that only waits for its verdict."""
    return record.passed or (record.noted and not record.tries)


def _state(lesson: Lesson, done: progress.Progress, due: set[str]) -> LessonState:
    records = {key: done.record(key) for key in lesson.questions}
    known = schedule.known_on(lesson, done) is not None
    ready = {key for key, record in records.items() if known or _settled(record)}
    passed = sum(each.passed for each in records.values())
    if records and passed == len(records):
        state = "done"
    elif known:
        state = "known"
    elif records and len(ready) == len(records):
        state = "task not yet judged"
    elif any(each.tries for each in records.values()) or lesson.key in done.opened:
        state = "begun"
    else:
        state = "not begun"
    sittings = []
    for number, minutes in enumerate(lesson.sittings, 1):
        keys = [outline.key for outline in lesson.outlines if outline.sitting == number]
        still = [key for key in keys if key not in ready]
        first = next(iter(still or keys), "")
        sittings.append(SittingState(minutes, len(keys), len(ready & set(keys)), len(due & set(keys)), first))
    left = round(sum(each.minutes * each.open_share for each in sittings))
    task = next((each.key for each in lesson.outlines if each.task and each.key not in ready), "")
    return LessonState(
        key=lesson.key,
        title=lesson.title,
        path=f"{lesson.key}/{lesson.key}.ipynb",
        state=state,
        sittings=tuple(sittings),
        passed=passed,
        settled=len(ready),
        questions=len(lesson.questions),
        minutes_left=left,
        due=len(due & set(lesson.questions)),
        task=task,
    )


def _failed(lessons: Sequence[Lesson], done: progress.Progress) -> tuple[Failed, ...]:
    """Find what was wrong at the last answer, whenever that was."""
    found = []
    for lesson in lessons:
        for outline in lesson.outlines:
            tries = [
                each for each in done.history.get(outline.key, []) if schedule.rating_of(each.outcome, 0) is not None
            ]
            if tries and tries[-1].outcome != "PASS":
                path = f"{lesson.key}/{lesson.key}.ipynb"
                found.append((tries[-1].when_s, Failed(outline.title, lesson.title, path, outline.key)))
    return tuple(each for _, each in sorted(found, key=lambda pair: -pair[0])[:_NAMED])


def _next(lesson: Lesson, state: LessonState, done: progress.Progress) -> Next:
    first = next(key for key in lesson.questions if not _settled(done.record(key)))
    number = lesson.questions.index(first) + 1
    sitting = next(outline.sitting for outline in lesson.outlines if outline.key == first)
    today = state.sittings[sitting - 1]
    minutes = max(1, round(today.minutes * today.open_share))
    begun = state.settled > 0 or lesson.key in done.opened
    count = len(state.sittings)
    return Next(
        begun,
        lesson.title,
        state.path,
        number,
        state.questions,
        sitting,
        count,
        minutes,
        first,
        bool(done.record(first).tries),
    )


def _last_worked(lesson: Lesson, done: progress.Progress) -> tuple[float, float]:
    """Give when something was last answered in a lesson, and when it was opened, seconds since 1970 UTC; 0 for never.

    Who only looks into a lesson goes on with the one that was worked; opening counts while nothing has been answered.
    """
    tries = [each.when_s for key in lesson.questions for each in done.history.get(key, []) if not each.drawn]
    return max(tries, default=0.0), done.opened.get(lesson.key, 0.0)


def _where_stopped(lessons: Sequence[Lesson], states: Sequence[LessonState], done: progress.Progress) -> Next | None:
    """Find what to go on with: the lesson worked on last, else the next after it that is open, else the first."""
    pairs = list(zip(lessons, states, strict=True))
    last = max(range(len(pairs)), key=lambda place: _last_worked(lessons[place], done), default=0)
    turned = [*pairs[last:], *pairs[:last]]
    waiting = [pair for pair in turned if pair[1].settled < pair[1].questions]
    return _next(*waiting[0], done) if waiting else None


def others_in(folder: Path, lessons: Sequence[Lesson]) -> tuple[Other, ...]:
    """Find the notebooks of lessons that lie in a learner's folder beside the course's own copies.

    Parameters
    ----------
    folder : pathlib.Path
        The learner's folder.
    lessons : sequence of Lesson
        Those that are shown anyway.

    Returns
    -------
    tuple of Other
        By name; what cannot be read is left out.
    """
    titles = {lesson.key: lesson.title for lesson in lessons}
    own = {folder / key / f"{key}.ipynb" for key in titles}
    course = {path for path in own if path.stem in ORDER}
    found = []
    for path in sorted([*folder.glob("*.ipynb"), *folder.glob("*/*.ipynb"), *folder.glob("homework/*/*.ipynb")]):
        if path in course or path.parts[-2] in ("backup", FOLDER):
            continue
        try:
            book = json.loads(path.read_text(encoding="utf-8-sig"))
            said = book["metadata"]["needlework"]["lesson"]
            homework, heading, due = _handed_out(book["cells"])
        except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
            continue
        title = titles.get(said, str(said)) if isinstance(said, str) else ""
        # A lesson of an instructor's own comes as homework and lies where a learner's own copy would.
        if title and (homework or path not in own):
            where = path.relative_to(folder).as_posix()
            copied = re.fullmatch(rf"{re.escape(path.parent.name)}-Copy\d+", path.stem)
            kept = date.fromtimestamp(path.stat().st_mtime).isoformat() if copied else ""
            found.append(Other(heading or title, where, True, due) if homework else Other(title, where, kept=kept))
    return tuple(found)


def _handed_out(cells: Sequence[Any]) -> tuple[bool, str, str]:
    """Say whether a notebook is homework, and what it says of its title and of when it is due."""
    texts: dict[str, list[str]] = {"markdown": [], "code": []}
    for cell in cells:
        source = cell["source"]
        texts.setdefault(cell["cell_type"], []).append(source if isinstance(source, str) else "".join(source))
    if not any(_SIGNED.search(text) for text in texts["code"]):
        return False, "", ""
    top = "\n".join(texts["markdown"][:3])
    heading, due = _HEADING.search(top), _DUE.search(top)
    return True, heading[1] if heading else "", due[1] if due else ""


def overview(
    lessons: Sequence[Lesson],
    done: progress.Progress,
    told: Sequence[str] = (),
    others: Sequence[Other] = (),
    day: date | None = None,
) -> Overview:
    """Say how far a learner is with the course.

    Parameters
    ----------
    lessons : sequence of Lesson
        In teaching order.
    done : needlework.exercises.progress.Progress
        The learner's progress.
    told : sequence of str
        What the learner should be told today, one sentence each.
    others : sequence of Other
        Homework and further copies.
    day : datetime.date, optional
        What counts as today.

    Returns
    -------
    Overview
        Everything the page says.
    """
    held = schedule.memories(lessons, done)
    day = day or date.today()
    due = set(schedule.due_on(day, held))
    states = tuple(_state(lesson, done, due) for lesson in lessons)
    following = _where_stopped(lessons, states, done)
    sentences = tuple(line for line in (*told, done.warning) if line)
    back = today(lessons, done, day, held)
    return Overview(states, following, back, _failed(lessons, done), sentences, tuple(others))


def _row(state: LessonState) -> str:
    said = f"{state.state}, {state.due} due" if state.due else state.state
    sittings = " ".join(f"{each.minutes}{'' if each.open_share else '✓'}" for each in state.sittings)
    link = f"[{state.title}]({state.path})"
    return f"| {link} | {said} | {sittings} | {state.passed} of {state.questions} | {state.minutes_left} |"


def _following(following: Next | None) -> str:
    if following is None:
        return "**Next.** Every question of every lesson is answered. Fly it again on another day."
    words = f"**Next.** {'Go on' if following.begun else 'Begin'} with [{following.title}]({following.path})."
    if following.begun:
        why = ": its answer is not right yet" if following.wrong else ""
        words += f" You go on at question {following.number} of {following.questions}{why}."
    if following.sittings > 1:
        words += f" Sitting {following.sitting} of {following.sittings}: about {following.minutes} minutes."
    return words


def listed(words: Sequence[str]) -> str:
    """Write a list as it is said: one, two and three."""
    return f"{', '.join(words[:-1])} and {words[-1]}" if len(words) > 1 else "".join(words)


def spoken(day: str) -> str:
    """Write a day as it is said: Monday, 30 November."""
    there = date.fromisoformat(day)
    return f"{there:%A}, {there.day} {there:%B}"


def counted(number: int, one: str, many: str = "") -> str:
    """Write a number with what is counted: 1 minute, 8 minutes."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def _again(back: Today) -> str:
    if not back.questions:
        later = f" The next questions come back on {spoken(back.next_day)}." if back.next_day else ""
        return f"**Coming back.** Nothing today.{later}"
    words = (
        f"**Coming back.** {counted(back.minutes, 'minute')} today: {counted(back.questions, 'question')} from "
        f"{listed(back.titles)}, with other numbers."
    )
    if back.waiting:
        words += f" {back.waiting} more {'waits' if back.waiting == 1 else 'wait'}."
    how = f"[Go on with them]({back.path})." if back.path else f"They are opened by `{typed('review')}`."
    return f"{words} {how}"


def _homework(others: Sequence[Other]) -> list[str]:
    lines = [
        f"- [{each.title}]({each.path}){f', due {each.due}' if each.due else ''}; its file is {each.path}"
        for each in others
        if each.homework
    ]
    return ["\n".join(["**Homework.**", "", *lines])] if lines else []


def _wrong(failed: Sequence[Failed]) -> list[str]:
    if not failed:
        return []
    places = [f"[{each.title}]({each.path}#cell-id={each.key}-answer) in {each.lesson}" for each in failed]
    return [f"**Wrong last time.** {'; '.join(places)}."]


def page(seen: Overview) -> str:
    """Write the start page as a notebook that holds text only, so nothing has to be run.

    Parameters
    ----------
    seen : Overview
        What it says.

    Returns
    -------
    str
        The notebook as text.
    """
    table = "\n".join(
        [
            "| lesson | state | sittings, in minutes | questions passed | minutes left |",
            "|---|---|---|---|---|",
            *map(_row, seen.lessons),
        ]
    )
    parts = [
        "# Needlework: approaches by needle, DME and clock",
        *(f"*{line}*" for line in seen.told),
        *_homework(seen.others),
        _following(seen.next),
        _again(seen.today),
        *_wrong(seen.failed),
        table,
        *(
            f"**Also in your folder.** [{each.title}]({each.path}), {each.path}"
            for each in seen.others
            if not each.homework
        ),
        f"**Minutes left in all.** About {sum(state.minutes_left for state in seen.lessons)}.",
        "Click a lesson's name to open it and read from the top. Where its questions have no fields, choose *Run*, "
        "then *Run All Cells* in the menu. Your answers are saved in this folder. This page is written anew each "
        "time the course is opened.",
        seen.caution,
    ]
    cells = [
        {"cell_type": "markdown", "id": f"start-{number}", "metadata": {}, "source": part}
        for number, part in enumerate(parts, 1)
    ]
    kernel = {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"}
    # Exactly what the kernel will say of itself: the page would look changed, and ask to be saved, otherwise.
    language = {
        "codemirror_mode": {"name": "ipython", "version": 3},
        "file_extension": ".py",
        "mimetype": "text/x-python",
        "name": "python",
        "nbconvert_exporter": "python",
        "pygments_lexer": "ipython3",
        "version": ".".join(map(str, sys.version_info[:3])),
    }
    metadata = {"kernelspec": kernel, "language_info": language, "needlework": {"page": "start"}}
    book = {"cells": cells, "metadata": metadata, "nbformat": 4, "nbformat_minor": 5}
    return json.dumps(book, ensure_ascii=False, indent=1) + "\n"
