"""What comes back today, worked out from the journal: true at the moment it is asked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from needlework.exercises import progress, schedule
from needlework.exercises.catalogue import Lesson
from needlework.exercises.schedule import Memory

FOLDER = "reviews"
"""Where the sittings lie in the learner's folder: each is kept."""


@dataclass(frozen=True)
class Today:
    """What comes back today.

    Parameters
    ----------
    minutes : int
        Of today's sitting; 0 if there is none, or it is done.
    questions : int
        Its questions that are still open.
    titles : tuple of str
        Lessons they are of, in teaching order.
    waiting : int
        Questions that are due as well and did not fit into ten minutes.
    path : str
        Its notebook in the learner's folder; empty before it is made.
    next_day : str
        When there is nothing today: the day on which something comes back, as 2026-11-30; empty for none.
    """

    minutes: int
    questions: int
    titles: tuple[str, ...]
    waiting: int
    path: str
    next_day: str


def answered(done: progress.Progress, key: str, drawn: str) -> bool:
    """Say whether a question of a sitting was answered, rightly or not."""
    return any(
        each.drawn == drawn and schedule.rating_of(each.outcome, each.rung) is not None
        for each in done.history.get(key, [])
    )


def begun_on(
    lessons: Sequence[Lesson], done: progress.Progress, day: date
) -> tuple[progress.Sitting, list[str]] | None:
    """Give the day's latest sitting with what is open of it.

    Parameters
    ----------
    lessons : sequence of Lesson
        In teaching order.
    done : Progress
        The learner's journal, read back.
    day : datetime.date
        The day.

    Returns
    -------
    tuple of Sitting and list of str, or None
        None if there is none of that day, or nothing is open.
    """
    there = {key for lesson in lessons for key in lesson.questions}
    for sitting in done.sittings[-1:]:
        still = [key for key, drawn in sitting.drawn.items() if key in there and not answered(done, key, drawn)]
        if still and schedule.day_of(sitting.when_s) == day:
            return sitting, still
    return None


def today(
    lessons: Sequence[Lesson], done: progress.Progress, day: date, held: dict[str, Memory] | None = None
) -> Today:
    """Say what comes back on a day.

    Parameters
    ----------
    lessons : sequence of Lesson
        In teaching order.
    done : Progress
        The learner's journal, read back.
    day : datetime.date
        The day.
    held : dict of str to Memory, optional
        As :func:`needlework.exercises.schedule.memories` gives it.

    Returns
    -------
    Today
        True at this moment.
    """
    held = schedule.memories(lessons, done) if held is None else held
    begun = begun_on(lessons, done, day)
    keys = begun[1] if begun else list(schedule.chosen(day, lessons, held))
    waiting = len(set(schedule.due_on(day, held)) - set(keys))
    outlines = {each.key: each for lesson in lessons for each in lesson.outlines}
    minutes = max(1, round(sum(schedule.minutes_of(outlines[key]) for key in keys))) if keys else 0
    titles = tuple(lesson.title for lesson in lessons if set(keys) & set(lesson.questions))
    following = None if keys else schedule.next_day(held, day)
    path = path_of(begun[0].name) if begun else ""
    return Today(minutes, len(keys), titles, waiting, path, following.isoformat() if following else "")


def path_of(name: str) -> str:
    """Give the place of a sitting's notebook in the learner's folder."""
    return f"{FOLDER}/{name}.ipynb"
