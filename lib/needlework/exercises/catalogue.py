"""Which lessons there are, in the order they are taken, and their questions.

What a lesson is called and what it asks is read from its data alone; its functions are loaded when one of its
questions is wanted, and only its own.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from needlework.basis.errors import BadData
from needlework.exercises import binding, making
from needlework.exercises.kinds import Question

FOLDER = Path(__file__).resolve().parents[1] / "lessons"
"""Where the lessons of the course stand: one folder each, named like the lesson with underscores."""

ORDER = (
    "station-passage",
    "intercepting-a-radial",
    "flying-an-arc",
    "descent-to-minimums",
    "missed-approach",
)
"""Keys of the lessons in the order they are taken."""


@dataclass(frozen=True)
class Outline:
    """What is known of a question without its functions.

    Parameters
    ----------
    key : str
        Its name.
    title : str
        A few words for lists and reports.
    points : float
        Full marks.
    task : bool
        True for the graded task at the end of a lesson.
    """

    key: str
    title: str
    points: float
    task: bool


@dataclass(frozen=True)
class Lesson:
    """One lesson of the course.

    Parameters
    ----------
    key : str
        Name of its folder and notebook.
    title : str
        As on the start page.
    minutes : int
        Minutes it takes, measured on the text and the exercises.
    can : tuple of str
        What the learner can do afterwards, as can be examined.
    outlines : tuple of Outline
        Its questions in the order they are met.
    sittings : tuple of int
        Minutes of each sitting.
    """

    key: str
    title: str
    minutes: int
    can: tuple[str, ...]
    outlines: tuple[Outline, ...]
    sittings: tuple[int, ...] = ()

    @property
    def questions(self) -> tuple[str, ...]:
        """Give the keys of its questions, in order."""
        return tuple(outline.key for outline in self.outlines)


def folder_of(key: str) -> Path:
    """Give the folder of a lesson of the course.

    Parameters
    ----------
    key : str
        Key of the lesson.

    Returns
    -------
    pathlib.Path
        It may not exist.
    """
    return FOLDER / key.replace("-", "_")


@cache
def _data(key: str) -> dict[str, Any]:
    path = folder_of(key) / "lesson.json"
    try:
        return dict(json.loads(path.read_text(encoding="utf-8")))
    except (OSError, ValueError) as error:
        raise BadData(
            f"The lesson {key} cannot be read from {path.name}: run 'needlework release', or install the course anew."
        ) from error


@cache
def _lesson(key: str) -> Lesson:
    data = _data(key)
    outlines = tuple(
        Outline(each["key"], each["title"], float(each["points"]), bool(each.get("task", False)))
        for each in data["questions"]
    )
    return Lesson(key, data["title"], data["minutes"], tuple(data["can"]), outlines, tuple(data["sittings"]))


@cache
def _bank(key: str) -> dict[str, Question]:
    return making.questions_of(_data(key), binding.load(folder_of(key) / "functions.py", key))


@cache
def _homes() -> dict[str, str]:
    """The lesson of each question."""
    return {question: key for key in ORDER for question in _lesson(key).questions}


class _Lessons(Mapping[str, Lesson]):
    def __getitem__(self, key: str) -> Lesson:
        if key not in ORDER:
            raise KeyError(key)
        return _lesson(key)

    def __iter__(self) -> Iterator[str]:
        return iter(ORDER)

    def __len__(self) -> int:
        return len(ORDER)


class _Questions(Mapping[str, Question]):
    def __getitem__(self, key: str) -> Question:
        return _bank(_homes()[key])[key]

    def __contains__(self, key: object) -> bool:
        return key in _homes()

    def __iter__(self) -> Iterator[str]:
        return iter(_homes())

    def __len__(self) -> int:
        return len(_homes())


LESSONS: Mapping[str, Lesson] = _Lessons()
"""The lessons by key, in the order they are taken."""

QUESTIONS: Mapping[str, Question] = _Questions()
"""Every question of the course by key; its lesson's functions are loaded when it is taken out."""


def outline(key: str) -> Outline:
    """Give what is known of a question without its functions.

    Parameters
    ----------
    key : str
        Key of the question.

    Returns
    -------
    Outline
        Title, marks, and whether it is a task.

    Raises
    ------
    KeyError
        If no lesson has it.
    """
    found = _lesson(_homes()[key]).outlines
    return next(each for each in found if each.key == key)


def bank(key: str) -> dict[str, Question]:
    """Give the questions of a lesson.

    Parameters
    ----------
    key : str
        Key of the lesson.

    Returns
    -------
    dict of str to Question
        By key, in the order they are met.
    """
    return dict(_bank(key))
