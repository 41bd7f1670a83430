"""What a lesson is, apart from its notebook."""

from __future__ import annotations

from dataclasses import dataclass

from needlework.exercises.kinds import Question


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
    bank : tuple of Question
        Its questions in the order they are met.
    """

    key: str
    title: str
    minutes: int
    can: tuple[str, ...]
    bank: tuple[Question, ...]

    @property
    def questions(self) -> tuple[str, ...]:
        """Give the keys of its questions, in order."""
        return tuple(question.key for question in self.bank)
