"""Whose lesson it is and whose numbers: the only state a lesson's cells keep between them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from needlework.basis.errors import NeedleworkError
from needlework.exercises import coming_back, judging
from needlework.exercises.catalogue import LESSONS, QUESTIONS, Lesson
from needlework.exercises.kinds import Givens, Question

FIRST_CELL = "Run the first code cell of this lesson (the one that sets up) and then this one again."
NAME_IN_QUOTES = 'Write your name or number in quotation marks, for example student = "Finch 12".'


def hand_out(homework: object, word: object = "") -> str:
    """Name what a task's numbers are drawn from besides the learner's name.

    Parameters
    ----------
    homework : object
        What the first cell says of the hand-out.
    word : object
        The word that is told when a sitting begins; capitals and spaces make no difference.

    Returns
    -------
    str
        Both in one; empty for a lesson taken alone.
    """
    told = judging.normal_name(str(word)).replace(" ", "")
    return f"{homework}|{told}" if told else str(homework)


class LessonError(NeedleworkError):
    """A lesson's cell was run in a way it cannot work; the text says what to do."""


def lessons() -> list[Lesson]:
    """Give the lessons of the course in the order they are taken.

    Returns
    -------
    list of Lesson
        All of them.
    """
    return list(LESSONS.values())


def lesson_of(key: str) -> Lesson:
    """Find a lesson.

    Parameters
    ----------
    key : str
        Lesson key.

    Returns
    -------
    Lesson
        The lesson.

    Raises
    ------
    LessonError
        If there is none of that name.
    """
    if key not in LESSONS:
        raise LessonError(
            f"There is no lesson '{key}'. The lessons are: {', '.join(LESSONS)}. If it is your instructor's own, "
            "unpack what you were given once more: the folder .needlework belongs beside the notebook."
        )
    return LESSONS[key]


def questions_of(lesson: str) -> tuple[Question, ...]:
    """Give the questions of a lesson in the order they are met.

    Parameters
    ----------
    lesson : str
        Lesson key.

    Returns
    -------
    tuple of Question
        All of them.

    Raises
    ------
    LessonError
        If there is no such lesson.
    """
    return tuple(QUESTIONS[key] for key in lesson_of(lesson).questions)


def known(key: str) -> Question | None:
    """Find a question, whatever is begun.

    Parameters
    ----------
    key : str
        Question key.

    Returns
    -------
    Question or None
        None if the course has none of that name.
    """
    return QUESTIONS.get(key)


class Session:
    """Who the learner is and what was answered since the lesson was begun.

    Attributes
    ----------
    lesson : Lesson or None
        What was begun; None before that.
    student : str
        The normal form of the learner's name; empty for a student alone.
    homework : str
        What names the hand-out that was begun, and the word of a sitting; empty for a lesson taken alone.
    answers : dict
        The latest answer to each question.
    rungs : dict of str to int
        The hints taken of each question.
    stopped : set of str
        Questions whose answer cell stopped with an error: what its name holds is an older answer.
    cell : str
        Text of the cell that runs.
    typed : dict of str to str
        Text of the cell in which each question was last asked and answered.
    drawn : dict of str to str
        At a sitting of coming back: its questions, and what names the numbers of each; else empty.
    """

    def __init__(self) -> None:
        self.lesson: Lesson | None = None
        self.student = ""
        self.homework = ""
        self.answers: dict[str, Any] = {}
        self.rungs: dict[str, int] = {}
        self.stopped: set[str] = set()
        self.cell = ""
        self.typed: dict[str, str] = {}
        self.drawn: dict[str, str] = {}
        self._rows: dict[str, int] = {}
        self._told = False
        self._givens: dict[str, Givens] = {}
        self._fresh: dict[str, Question] = {}

    def begin(self, lesson: Lesson, student: str, homework: str = "") -> None:
        """Begin a lesson, with nothing answered yet.

        Parameters
        ----------
        lesson : Lesson
            The lesson.
        student : str
            Name or number as the learner typed it.
        homework : str
            What names the hand-out, and the word of a sitting.
        """
        self.lesson, self.student, self.homework = lesson, judging.normal_name(student), homework
        self.answers, self.rungs, self._givens = {}, {}, {}
        self.stopped = set()
        self.drawn, self._rows, self._fresh = {}, {}, {}

    def come_back(self, sitting: Lesson, drawn: Mapping[str, str], rows: Mapping[str, int]) -> None:
        """Begin a sitting at which questions of all lessons come back.

        Parameters
        ----------
        sitting : Lesson
            Its name and questions.
        drawn : mapping of str to str
            By question key, what names its numbers.
        rows : mapping of str to int
            Of tables: how many rows are left blank.
        """
        self.begin(sitting, "")
        self.drawn, self._rows = dict(drawn), dict(rows)

    def question(self, key: str) -> Question:
        """Find a question of the lesson that was begun.

        Parameters
        ----------
        key : str
            Question key.

        Returns
        -------
        Question
            The question.

        Raises
        ------
        LessonError
            If no lesson was begun, or there is no such question.
        """
        if self.lesson is None:
            told, self._told = self._told, True
            if told:
                raise LessonError("As said above: the first code cell comes first.")
            raise LessonError(FIRST_CELL)
        found = known(key)
        if found is None:
            raise LessonError(
                f"There is no question '{key}' in this course. Was the cell changed? A fresh copy has it."
            )
        if key not in self.drawn:
            return found
        if key not in self._fresh:
            givens = self._givens.setdefault(key, judging.draw(found, self.student, drawn=self.drawn[key]))
            self._fresh[key] = coming_back.fresh(found, givens, self.drawn[key], self._rows.get(key))
        return self._fresh[key]

    def numbers(self, key: str) -> Givens:
        """Give the numbers of a question, drawn once for this learner.

        Parameters
        ----------
        key : str
            Question key.

        Returns
        -------
        mapping
            The givens by name.

        Raises
        ------
        LessonError
            If no lesson was begun, or there is no such question.
        """
        question = self.question(key)
        if key not in self._givens:
            self._givens[key] = judging.draw(question, self.student, self.homework)
        return self._givens[key]


current = Session()
"""The session of this kernel."""
