"""Marks set by hand: they stand in nbgrader's gradebook, where its own pages find and change them as well."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from nbgrader.api import MissingEntry

from needlework.basis.errors import BadData


@dataclass(frozen=True)
class ByHand:
    """One mark or comment that a person set.

    Parameters
    ----------
    question : str
        Name of the marked cell; for a comment alone, of the answer cell.
    mark : float or None
        The mark; None for a comment alone.
    by_itself : float or None
        What marking gave.
    because : str
        The comment for the student.
    """

    question: str
    mark: float | None
    by_itself: float | None
    because: str

    def as_data(self) -> dict[str, Any]:
        """Give it as plain data for the ledger.

        Returns
        -------
        dict
            Its fields.
        """
        return asdict(self)


def _comments(book: Any) -> dict[str, Any]:
    """Give the comment of each marked cell's answer cell, by the marked cell's name."""
    found: dict[str, Any] = {}
    by_name = {comment.name: comment for comment in book.comments}
    last = None
    marked = {grade.name for grade in book.grades}
    for cell in book.assignment.assignment.notebooks[0].source_cells:
        last = by_name.get(cell.name, last)
        if cell.name in marked and last is not None:
            found[cell.name] = last
    return found


def write(gradebook: Any, lesson: str, student: str, question: str, mark: float | None, because: str) -> float:
    """Set a mark by hand, or take it back.

    Parameters
    ----------
    gradebook : nbgrader.api.Gradebook
        Open gradebook.
    lesson, student : str
        Whose.
    question : str
        Name of the marked cell.
    mark : float or None
        The mark; None to go back to what marking gave.
    because : str
        Comment for the student; empty for none.

    Returns
    -------
    float
        Marks of the whole lesson afterwards.

    Raises
    ------
    BadData
        If there is no such question, or the mark is not possible.
    """
    book = gradebook.find_submission_notebook(lesson, lesson, student)
    grades = {grade.name: grade for grade in book.grades}
    if question not in grades:
        raise BadData(f"There is no question '{question}' in '{lesson}': choose from {', '.join(sorted(grades))}.")
    grade = grades[question]
    if mark is not None and not 0 <= mark <= grade.max_score:
        raise BadData(f"{mark:g} is no possible mark for '{question}': give a number from 0 to {grade.max_score:g}.")
    grade.manual_score = mark
    grade.needs_manual_grade = False
    comment = _comments(book).get(question)
    if comment is not None and (because or mark is None):
        comment.manual_comment = because or None
    gradebook.db.commit()
    gradebook.db.refresh(book)
    return float(gradebook.find_submission(lesson, student).score)


def comment(gradebook: Any, lesson: str, student: str, question: str, because: str) -> None:
    """Set the comment of one question, and leave its mark as it is.

    Parameters
    ----------
    gradebook : nbgrader.api.Gradebook
        Open gradebook.
    lesson, student : str
        Whose.
    question : str
        Name of the marked cell.
    because : str
        Comment for the student; empty to take it out.

    Raises
    ------
    BadData
        If the question has no place for a comment.
    """
    book = gradebook.find_submission_notebook(lesson, lesson, student)
    place = _comments(book).get(question)
    if place is None:
        raise BadData(f"'{question}' in '{lesson}' has no answer that a comment could be about.")
    place.manual_comment = because or None
    gradebook.db.commit()


def set_aside(gradebook: Any, lesson: str, student: str) -> None:
    """Take what was set by hand out of the gradebook: it was about an earlier version of the work.

    Parameters
    ----------
    gradebook : nbgrader.api.Gradebook
        Open gradebook.
    lesson, student : str
        Whose; nothing is done where there is nothing.
    """
    try:
        book = gradebook.find_submission_notebook(lesson, lesson, student)
    except MissingEntry:
        return
    for grade in book.grades:
        grade.manual_score = None
    for comment in book.comments:
        comment.manual_comment = None
    gradebook.db.commit()
