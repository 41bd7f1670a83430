"""Which lessons there are, in the order they are taken, and their questions.

What a lesson is called and what it asks is read from its data alone; its functions are loaded when one of its
questions is wanted, and only its own. Lessons of an instructor's own, which lie beside a notebook or where the marking
desk says, come after those of the course; what clashes with the course is not taken from them.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from needlework.basis.errors import BadData
from needlework.basis.places import DATA, FUNCTIONS, own_lessons
from needlework.exercises import binding

if TYPE_CHECKING:
    # Whoever only lists lessons, as a learner's server does, loads nothing that works a question out.
    from needlework.exercises.kinds import Question

FOLDER = Path(__file__).resolve().parents[1] / "lessons"
"""Where the lessons of the course stand: one folder each, named like the lesson with underscores."""

FORMS = (1,)
"""Versions of the data's form that are read; the last one is written."""

ORDER = (
    "briefing-and-identifying",
    "station-passage",
    "intercepting-a-radial",
    "flying-an-arc",
    "descent-to-minimums",
    "missed-approach",
    "whole-approach",
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
    sitting : int
        Number of the sitting in which it is met, from 1.
    kind : str
        As in the lesson's file: ``"number"``, ``"table"`` and so on.
    """

    key: str
    title: str
    points: float
    task: bool
    sitting: int = 1
    kind: str = "number"


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


def read_data(folder: Path, remedy: str) -> dict[str, Any]:
    """Read the data of a lesson.

    Parameters
    ----------
    folder : pathlib.Path
        Holds them.
    remedy : str
        What to do where they cannot be read.

    Returns
    -------
    dict
        The data.

    Raises
    ------
    BadData
        If there are none, or they are of a form that this course does not read.
    """
    try:
        data = dict(json.loads((folder / DATA).read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError) as error:
        raise BadData(f"The lesson in {folder} cannot be read from its {DATA}: {remedy}.") from error
    if data.get("form") not in FORMS:
        raise BadData(f"The lesson in {folder} was built with another version of the course: {remedy}.")
    return data


def outlined(data: Mapping[str, Any]) -> Lesson:
    """Give what is known of a lesson without its functions.

    Parameters
    ----------
    data : mapping
        What its ``lesson.json`` holds.

    Returns
    -------
    Lesson
        The lesson.

    Raises
    ------
    BadData
        If something is missing in the data.
    """
    try:
        outlines = tuple(
            Outline(
                str(each["key"]),
                str(each["title"]),
                float(each["points"]),
                bool(each.get("task", False)),
                int(each.get("sitting", 1)),
                str(each.get("kind", "number")),
            )
            for each in data["questions"]
        )
        sittings = tuple(int(each) for each in data["sittings"])
        can = tuple(map(str, data["can"]))
        return Lesson(str(data["key"]), str(data["title"]), int(data["minutes"]), can, outlines, sittings)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise BadData(f"The data of the lesson '{data.get('key', '')}' are not whole: build it again.") from error


@cache
def _data(key: str) -> dict[str, Any]:
    return read_data(folder_of(key), "run 'needlework release', or install the course anew")


@cache
def _lesson(key: str) -> Lesson:
    return outlined(_data(key))


def _made(data: dict[str, Any], folder: Path) -> dict[str, Question]:
    from needlework.exercises import making

    return making.questions_of(data, binding.load(folder / FUNCTIONS, str(data["key"])))


@cache
def _bank(key: str) -> dict[str, Question]:
    return _made(_data(key), folder_of(key))


# ---------------------------------------------------------------- lessons of somebody's own

_REMEDY = "unpack once more what you were given, or build it again"


@cache
def _own_data(folder: Path, _written_ns: int) -> dict[str, Any]:
    return read_data(folder, _REMEDY)


@cache
def _own_bank(folder: Path, written_ns: int) -> dict[str, Question]:
    return _made(_own_data(folder, written_ns), folder)


def _own() -> dict[str, tuple[Lesson, Path, int]]:
    """Find the lessons that are not the course's own, by key; the course's keys and labels are not given away."""
    found: dict[str, tuple[Lesson, Path, int]] = {}
    for folder in own_lessons():
        if not (folder / DATA).is_file():
            continue
        written_ns = (folder / DATA).stat().st_mtime_ns
        lesson = outlined(_own_data(folder, written_ns))
        if not clashes(lesson):
            found.setdefault(lesson.key, (lesson, folder, written_ns))
    return found


def own_place(key: str) -> Path | None:
    """Give the folder with the data of a lesson that is not the course's.

    Parameters
    ----------
    key : str
        Key of the lesson.

    Returns
    -------
    pathlib.Path or None
        None for a lesson of the course, and where there is none.
    """
    found = None if key in ORDER else _own().get(key)
    return None if found is None else found[1]


def clashes(lesson: Lesson) -> list[str]:
    """Say in what a lesson clashes with those of the course: then the course's counts.

    Parameters
    ----------
    lesson : Lesson
        A lesson that is not the course's own.

    Returns
    -------
    list of str
        One clause each; empty where there is room for both.
    """
    if lesson.key in ORDER:
        return [f"the course has a lesson '{lesson.key}'"]
    return [
        f"the course has a question '{label}', in {home}"
        for label, home in _homes().items()
        if {label, f"{label}-answer"} & {name for own in lesson.questions for name in (own, f"{own}-answer")}
    ]


def _own_home(question: str) -> tuple[Lesson, Path, int] | None:
    return next((each for each in _own().values() if question in each[0].questions), None)


# ---------------------------------------------------------------- all of them


@cache
def _homes() -> dict[str, str]:
    """The lesson of each question."""
    return {question: key for key in ORDER for question in _lesson(key).questions}


class _Lessons(Mapping[str, Lesson]):
    def __getitem__(self, key: str) -> Lesson:
        return _lesson(key) if key in ORDER else _own()[key][0]

    def __iter__(self) -> Iterator[str]:
        return iter((*ORDER, *_own()))

    def __len__(self) -> int:
        return len(ORDER) + len(_own())


class _Questions(Mapping[str, "Question"]):
    def __getitem__(self, key: str) -> Question:
        if key in _homes():
            return _bank(_homes()[key])[key]
        own = _own_home(key)
        if own is None:
            raise KeyError(key)
        return _own_bank(*own[1:])[key]

    def __contains__(self, key: object) -> bool:
        return key in _homes() or _own_home(str(key)) is not None

    def __iter__(self) -> Iterator[str]:
        return iter((*_homes(), *(label for own, _, _ in _own().values() for label in own.questions)))

    def __len__(self) -> int:
        return sum(1 for _ in self)


LESSONS: Mapping[str, Lesson] = _Lessons()
"""The lessons by key, in the order they are taken; those of somebody's own come last."""

QUESTIONS: Mapping[str, Question] = _Questions()
"""Every question by key; its lesson's functions are loaded when it is taken out."""


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
    own = None if key in _homes() else _own_home(key)
    found = own[0] if own else _lesson(_homes()[key])
    return next(each for each in found.outlines if each.key == key)


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
