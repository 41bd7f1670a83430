"""The page on which the course begins: what is done, what is next, what to look at again, how long it still takes."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from needlework.exercises import progress
from needlework.exercises.catalogue import Lesson

NAME = "start.ipynb"
"""Of the page, in the learner's folder."""
CAUTION = (
    "**Training aid with invented data. Not for navigation.** This course trains arithmetic, pictures and habits. "
    "It does not replace flight instruction, the aircraft's handbook, current charts and notices, published "
    "minimums or the rules of your state. Fly with a licensed instructor. In the aircraft identify every station, "
    "check receivers and altimeter as your rules demand, and go around when in doubt."
)

_NAMED_DUE = 3
_DAYS_BETWEEN = 3
"""Days after which a question that was hard is asked again: what is recalled twice, stays."""


@dataclass(frozen=True)
class SittingState:
    """How far a learner is with one sitting: its minutes, its questions, how many of them are settled."""

    minutes: int
    questions: int
    settled: int

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
        ``"not begun"``, ``"begun"``, ``"task not yet judged"`` or ``"done"``.
    sittings : tuple of SittingState
        In order.
    passed, settled, questions : int
        Questions that are right, that need nothing more, and all.
    minutes_left : int
        Of what is not settled.
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
        The first question that is still open, counted from 1, and how many there are.
    sitting, sittings, minutes : int
        The sitting it stands in, of how many, and the minutes left in it.
    """

    begun: bool
    title: str
    path: str
    number: int
    questions: int
    sitting: int
    sittings: int
    minutes: int


@dataclass(frozen=True)
class Due:
    """Questions of one lesson to look at again: some by name, and how many more."""

    title: str
    path: str
    names: tuple[str, ...]
    more: int


@dataclass(frozen=True)
class Other:
    """A further notebook of a lesson in the learner's folder, homework for example: its title, where it lies."""

    title: str
    path: str


@dataclass(frozen=True)
class Overview:
    """Everything the page says.

    Parameters
    ----------
    lessons : tuple of LessonState
        In teaching order.
    next : Next or None
        None when everything is answered.
    due : tuple of Due
        What to look at again.
    told : tuple of str
        Sentences for the learner.
    others : tuple of Other
        Homework and further copies.
    caution : str
        The usual one, with two stars round its **bold** words.
    """

    lessons: tuple[LessonState, ...]
    next: Next | None
    due: tuple[Due, ...]
    told: tuple[str, ...]
    others: tuple[Other, ...] = ()
    caution: str = CAUTION


def _settled(record: progress.Record) -> bool:
    """Say whether nothing is left to do here: right at some time, or a task that only waits for its verdict."""
    return record.passed or (record.noted and not record.tries)


def _state(lesson: Lesson, done: progress.Progress) -> LessonState:
    records = [done.record(key) for key in lesson.questions]
    passed, settled = sum(each.passed for each in records), sum(_settled(each) for each in records)
    if records and passed == len(records):
        state = "done"
    elif records and settled == len(records):
        state = "task not yet judged"
    elif any(each.tries for each in records) or lesson.key in done.opened:
        state = "begun"
    else:
        state = "not begun"
    sittings = []
    for number, minutes in enumerate(lesson.sittings, 1):
        keys = [outline.key for outline in lesson.outlines if outline.sitting == number]
        sittings.append(SittingState(minutes, len(keys), sum(_settled(done.record(key)) for key in keys)))
    left = round(sum(each.minutes * each.open_share for each in sittings))
    path = f"{lesson.key}/{lesson.key}.ipynb"
    return LessonState(
        lesson.key, lesson.title, path, state, tuple(sittings), passed, settled, len(lesson.questions), left
    )


def _due(record: progress.Record, now_s: float) -> bool:
    """Say whether a question is worth another look: tried and not right yet, or right at last but days ago."""
    if not record.tries or record.outcome != "PASS":
        return record.tries > 0
    hard = record.tries > 1 or record.rungs > 0
    return hard and now_s - record.when_s > _DAYS_BETWEEN * 86_400


def _next(lesson: Lesson, state: LessonState, done: progress.Progress) -> Next:
    first = next(key for key in lesson.questions if not _settled(done.record(key)))
    number = lesson.questions.index(first) + 1
    sitting = next(outline.sitting for outline in lesson.outlines if outline.key == first)
    today = state.sittings[sitting - 1]
    minutes = max(1, round(today.minutes * today.open_share))
    begun = state.settled > 0 or lesson.key in done.opened
    return Next(begun, lesson.title, state.path, number, state.questions, sitting, len(state.sittings), minutes)


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
    found = []
    for path in sorted([*folder.glob("*.ipynb"), *folder.glob("*/*.ipynb"), *folder.glob("homework/*/*.ipynb")]):
        if path in own or path.parts[-2] == "backup":
            continue
        try:
            said = json.loads(path.read_text(encoding="utf-8-sig"))["metadata"]["needlework"]["lesson"]
        except (OSError, ValueError, KeyError, TypeError, RecursionError):
            continue
        title = titles.get(said, str(said)) if isinstance(said, str) else ""
        if title:
            found.append(Other(title, path.relative_to(folder).as_posix()))
    return tuple(found)


def overview(
    lessons: Sequence[Lesson], done: progress.Progress, told: Sequence[str] = (), others: Sequence[Other] = ()
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

    Returns
    -------
    Overview
        Everything the page says.
    """
    states = tuple(_state(lesson, done) for lesson in lessons)
    waiting = [pair for pair in zip(lessons, states, strict=True) if pair[1].settled < pair[1].questions]
    due, now_s = [], time.time()
    for lesson, state in zip(lessons, states, strict=True):
        names = [outline.title for outline in lesson.outlines if _due(done.record(outline.key), now_s)]
        if names:
            due.append(Due(lesson.title, state.path, tuple(names[:_NAMED_DUE]), max(0, len(names) - _NAMED_DUE)))
    following = _next(*waiting[0], done) if waiting else None
    sentences = tuple(line for line in (*told, done.warning) if line)
    return Overview(states, following, tuple(due), sentences, tuple(others))


def _row(state: LessonState) -> str:
    sittings = " ".join(f"{each.minutes}{'' if each.open_share else '✓'}" for each in state.sittings)
    link = f"[{state.title}]({state.path})"
    return f"| {link} | {state.state} | {sittings} | {state.passed} of {state.questions} | {state.minutes_left} |"


def _following(following: Next | None) -> str:
    if following is None:
        return "**Next.** Every question of every lesson is answered. Fly it again on another day."
    words = f"**Next.** {'Go on' if following.begun else 'Begin'} with [{following.title}]({following.path})."
    if following.begun:
        words += f" The first question still open is number {following.number} of {following.questions}."
    if following.sittings > 1:
        words += f" Sitting {following.sitting} of {following.sittings}: about {following.minutes} minutes."
    return words


def _again(due: Sequence[Due]) -> str:
    if not due:
        return "**Due.** Nothing to look at again yet."
    listed = []
    for each in due:
        more = f" and {each.more} more" if each.more else ""
        listed.append(f"[{each.title}]({each.path}): {', '.join(f'“{name}”' for name in each.names)}{more}")
    count = sum(len(each.names) + each.more for each in due)
    return f"**Due.** {count} to look at again. {'; '.join(listed)}."


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
        _following(seen.next),
        _again(seen.due),
        table,
        *(f"**Also in your folder.** [{each.title}]({each.path}), {each.path}" for each in seen.others),
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
