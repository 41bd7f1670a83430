"""nbgrader's gradebook: opened with a sentence where it cannot be, written and read for a whole class at once."""

from __future__ import annotations

import contextlib
import functools
import os
import sqlite3
import uuid
import warnings
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

import nbgrader.api
from alembic.script import ScriptDirectory
from nbgrader.api import (
    BaseCell,
    Comment,
    Grade,
    Gradebook,
    MissingEntry,
    Student,
    SubmittedAssignment,
    SubmittedNotebook,
)
from nbgrader.dbutil import ALEMBIC_DIR
from sqlalchemy import insert, select, update
from sqlalchemy.exc import DatabaseError, SAWarning

from needlework.basis.errors import BadData
from needlework.desk.by_hand import ByHand


@functools.cache
def _way_of_writing() -> str | None:
    """Say how nbgrader writes its tables; it starts a program for each new gradebook to ask that, two seconds."""
    return ScriptDirectory(ALEMBIC_DIR).get_current_head()


nbgrader.api.get_alembic_version = _way_of_writing


@contextlib.contextmanager
def nbgrader_at_work() -> Iterator[None]:
    """Give nbgrader what it needs around it, and put everything back afterwards.

    It says things to SQLAlchemy that SQLAlchemy warns of, which are no news to an instructor.
    """
    before = os.environ.get("NEEDLEWORK_GRADING")
    os.environ["NEEDLEWORK_GRADING"] = "1"
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", SAWarning)
            yield
    finally:
        if before is None:
            os.environ.pop("NEEDLEWORK_GRADING", None)
        else:
            os.environ["NEEDLEWORK_GRADING"] = before


@contextlib.contextmanager
def opened(desk: Path, remedy: str) -> Iterator[Any]:
    """Open the gradebook of a desk.

    Parameters
    ----------
    desk : pathlib.Path
        The desk's folder.
    remedy : str
        What to do where the gradebook is damaged.

    Yields
    ------
    nbgrader.api.Gradebook
        The gradebook.

    Raises
    ------
    BadData
        If it is damaged, cannot be written, or another program keeps it.
    """
    path = desk / "gradebook.db"
    try:
        with nbgrader_at_work():
            gradebook = Gradebook(f"sqlite:///{path}", "needlework")
            try:
                yield gradebook
            finally:
                gradebook.close()
    except (DatabaseError, sqlite3.Error) as error:
        said = str(getattr(error, "orig", error))
        raise BadData(_why(path, said, remedy)) from error


def _why(path: Path, said: str, remedy: str) -> str:
    if "readonly" in said or "unable to open" in said:
        return f"{path} cannot be written to: does the disk or the folder allow it?"
    if "full" in said or "I/O" in said:
        return f"The disk of {path} is full: make room there and type the same again."
    if "locked" in said:
        return f"{path} is in use by another program: end that one and type the same again."
    return f"The gradebook {path} is damaged: {remedy}"


@dataclass
class Entry:
    """What the gradebook has of one student's work in one lesson.

    Parameters
    ----------
    marks : dict of str to float
        What counts for each marked cell.
    waiting : list of str
        Marked cells that a person has to mark.
    by_hand : list of ByHand
        What was set by hand.
    by_itself : dict of str to float or None
        What marking gave to each marked cell.
    """

    marks: dict[str, float] = field(default_factory=dict)
    waiting: list[str] = field(default_factory=list)
    by_hand: list[ByHand] = field(default_factory=list)
    by_itself: dict[str, float | None] = field(default_factory=dict)

    @property
    def total(self) -> float:
        """Marks of the whole lesson."""
        return sum(self.marks.values())


def known(gradebook: Any, lesson: str) -> bool:
    """Say whether a lesson's questions are in the gradebook."""
    try:
        return bool(gradebook.find_notebook(lesson, lesson).source_cells)
    except MissingEntry:
        return False


def remove(gradebook: Any, lesson: str, student: str = "") -> None:
    """Take the marks of one student out of the gradebook, or a whole lesson, if they are there."""
    with contextlib.suppress(MissingEntry):
        if student:
            gradebook.remove_submission(lesson, student)
        else:
            gradebook.remove_assignment(lesson)


def out_of(gradebook: Any, lesson: str) -> float:
    """Give the full marks of a lesson."""
    return float(gradebook.find_assignment(lesson).max_score)


def questions(gradebook: Any, lesson: str) -> list[str]:
    """Give the names of the marked cells of a lesson."""
    return [cell.name for cell in gradebook.find_notebook(lesson, lesson).grade_cells]


def points(gradebook: Any, lesson: str) -> dict[str, float]:
    """Give the full marks of each marked cell, by name."""
    notebook = gradebook.find_notebook(lesson, lesson)
    return {cell.name: float(cell.max_score) for cell in (*notebook.grade_cells, *notebook.task_cells)}


def _answer_cells(gradebook: Any, lesson: str) -> dict[str, str]:
    """Give the answer cell of each marked cell, by name: the nearest one above it, where its comment stands."""
    notebook = gradebook.find_notebook(lesson, lesson)
    answers = {cell.name for cell in notebook.solution_cells}
    marked = {cell.name for cell in notebook.grade_cells}
    found, last = {}, ""
    for cell in notebook.source_cells:
        last = cell.name if cell.name in answers else last
        if cell.name in marked and last:
            found[cell.name] = last
    return found


def read(gradebook: Any, lesson: str) -> dict[str, Entry]:
    """Read what the gradebook has of a lesson.

    Parameters
    ----------
    gradebook : nbgrader.api.Gradebook
        Open gradebook.
    lesson : str
        Lesson key.

    Returns
    -------
    dict of str to Entry
        By student.
    """
    entries: dict[str, Entry] = {}
    answer_of = _answer_cells(gradebook, lesson)
    marked_of = {answer: name for name, answer in answer_of.items()}
    ours = _rows_of(gradebook, lesson)
    said_of = {
        (student, marked_of.get(cell, cell)): said
        for student, each in comments(gradebook, lesson).items()
        for cell, said in each.items()
    }
    asked = select(
        SubmittedAssignment.student_id,
        BaseCell.name,
        Grade.auto_score,
        Grade.manual_score,
        Grade.extra_credit,
        Grade.needs_manual_grade,
    ).join_from(Grade, SubmittedNotebook, Grade.notebook_id == SubmittedNotebook.id)
    asked = asked.join(SubmittedAssignment, SubmittedNotebook.assignment_id == SubmittedAssignment.id)
    asked = asked.join(BaseCell, Grade.cell_id == BaseCell.id).where(SubmittedNotebook.notebook_id == ours)
    for student, cell, auto, manual, extra, waits in gradebook.db.execute(asked):
        entry = entries.setdefault(student, Entry())
        counts = auto if manual is None else manual
        entry.by_itself[cell] = auto
        entry.marks[cell] = float(counts or 0.0) + (float(extra or 0.0) if counts is not None else 0.0)
        if manual is not None:
            entry.by_hand.append(ByHand(cell, float(manual), auto, said_of.pop((student, cell), "")))
        elif auto is None and waits:
            entry.waiting.append(cell)
    for (student, cell), said in said_of.items():
        entries.setdefault(student, Entry()).by_hand.append(ByHand(cell, None, None, said))
    return entries


def take_off(gradebook: Any, lesson: str, off: Mapping[str, float]) -> None:
    """Write what is taken off for being late, by student, where nbgrader keeps it."""
    db, ours = gradebook.db, _rows_of(gradebook, lesson)
    asked = select(SubmittedAssignment.student_id, SubmittedNotebook.id, SubmittedNotebook.late_submission_penalty)
    asked = asked.join(SubmittedAssignment, SubmittedNotebook.assignment_id == SubmittedAssignment.id)
    held = db.execute(asked.where(SubmittedNotebook.notebook_id == ours)).all()
    rows = [
        {"id": place, "late_submission_penalty": off[student]}
        for student, place, before in held
        if student in off and (before or 0.0) != off[student]
    ]
    if rows:
        db.execute(update(SubmittedNotebook), rows)
        db.commit()


def comments(gradebook: Any, lesson: str) -> dict[str, dict[str, str]]:
    """Read the comments a lesson's hand-ins have, by student and answer cell."""
    asked = select(SubmittedAssignment.student_id, BaseCell.name, Comment.manual_comment).join_from(
        Comment, SubmittedNotebook, Comment.notebook_id == SubmittedNotebook.id
    )
    asked = asked.join(SubmittedAssignment, SubmittedNotebook.assignment_id == SubmittedAssignment.id)
    asked = asked.join(BaseCell, Comment.cell_id == BaseCell.id)
    found: dict[str, dict[str, str]] = {}
    for student, cell, said in gradebook.db.execute(
        asked.where(SubmittedNotebook.notebook_id == _rows_of(gradebook, lesson))
    ):
        if said:
            found.setdefault(student, {})[cell] = str(said)
    return found


def _rows_of(gradebook: Any, lesson: str) -> str:
    return str(gradebook.find_notebook(lesson, lesson).id)


@dataclass(frozen=True)
class Paper:
    """What is written of one hand-in.

    Parameters
    ----------
    student : str
        Whose.
    when : datetime or None
        Time of the file, UTC; None where it has none of its own.
    marks : mapping of str to float or None
        By marked cell; None where a person has to mark it.
    by_hand : iterable of ByHand
        What was set by hand and the gradebook may have lost.
    """

    student: str
    when: datetime | None
    marks: Mapping[str, float | None]
    by_hand: Iterable[ByHand] = ()


def write(gradebook: Any, lesson: str, papers: Iterable[Paper]) -> None:
    """Write the marks of a part of a class, all or none of them; what was set by hand stays.

    Parameters
    ----------
    gradebook : nbgrader.api.Gradebook
        Open gradebook.
    lesson : str
        Lesson key.
    papers : iterable of Paper
        What is written.
    """
    db = gradebook.db
    notebook = gradebook.find_notebook(lesson, lesson)
    cells = {cell.name: cell.id for cell in (*notebook.grade_cells, *notebook.task_cells)}
    answers = {cell.name: cell.id for cell in (*notebook.solution_cells, *notebook.task_cells)}
    answer_of = _answer_cells(gradebook, lesson)
    papers = list(papers)
    there = set(db.scalars(select(Student.id)))
    new = [{"id": paper.student} for paper in papers if paper.student not in there]
    if new:
        db.execute(insert(Student), new)
    places = _submissions(db, notebook, papers)
    graded: dict[tuple[str, str], str] = {}
    told: dict[tuple[str, str], str] = {}
    for table, held in ((Grade, graded), (Comment, told)):
        asked = select(table.notebook_id, table.cell_id, table.id)
        for place, cell, row in db.execute(asked.where(table.notebook_id.in_(list(places.values())))):
            held[place, cell] = row
    fresh: list[dict[str, Any]] = []
    changed: list[dict[str, Any]] = []
    for paper in papers:
        place = places[paper.student]
        for name, cell in cells.items():
            mark = paper.marks.get(name, 0.0)
            row = {"auto_score": mark, "needs_manual_grade": mark is None}
            if (place, cell) in graded:
                changed.append({"id": graded[place, cell], **row})
            else:
                fresh.append({"id": uuid.uuid4().hex, "notebook_id": place, "cell_id": cell, **row})
    if fresh:
        db.execute(insert(Grade), fresh)
    if changed:
        db.execute(update(Grade), changed)
    missing = [(place, cell) for place in places.values() for cell in answers.values() if (place, cell) not in told]
    if missing:
        rows = [{"id": uuid.uuid4().hex, "notebook_id": place, "cell_id": cell} for place, cell in missing]
        db.execute(insert(Comment), rows)
    for paper in papers:
        for one in paper.by_hand:
            _set(
                db, places[paper.student], cells.get(one.question), answers.get(answer_of.get(one.question, "")), one
            )
    db.commit()


def _set(db: Any, place: str, cell: str | None, answer: str | None, one: ByHand) -> None:
    if cell is not None and one.mark is not None:
        row = update(Grade).where(Grade.notebook_id == place, Grade.cell_id == cell)
        db.execute(row.values(manual_score=one.mark, needs_manual_grade=False))
    if answer is not None and one.because:
        said = update(Comment).where(Comment.notebook_id == place, Comment.cell_id == answer)
        db.execute(said.values(manual_comment=one.because))


def _plain_time(when: datetime | None) -> datetime | None:
    return when and when.replace(tzinfo=None)


def _submissions(db: Any, notebook: Any, papers: list[Paper]) -> dict[str, str]:
    """Give the place of each student's notebook in the gradebook; what is not there is made."""
    assignment = notebook.assignment_id
    asked = select(SubmittedAssignment.student_id, SubmittedAssignment.id)
    held = {student: row for student, row in db.execute(asked.where(SubmittedAssignment.assignment_id == assignment))}
    stamps = [{"id": held[p.student], "timestamp": _plain_time(p.when)} for p in papers if p.student in held]
    if stamps:
        db.execute(update(SubmittedAssignment), stamps)
    new = [paper for paper in papers if paper.student not in held]
    if new:
        held |= {paper.student: uuid.uuid4().hex for paper in new}
        rows = [
            {
                "id": held[paper.student],
                "assignment_id": assignment,
                "student_id": paper.student,
                "timestamp": _plain_time(paper.when),
            }
            for paper in new
        ]
        db.execute(insert(SubmittedAssignment), rows)
    wanted = {held[paper.student]: paper.student for paper in papers}
    asked = select(SubmittedNotebook.assignment_id, SubmittedNotebook.id)
    asked = asked.where(SubmittedNotebook.notebook_id == notebook.id)
    places = {wanted[a]: place for a, place in db.execute(asked) if a in wanted}
    lost = [(a, student) for a, student in wanted.items() if student not in places]
    if lost:
        places |= {student: uuid.uuid4().hex for _, student in lost}
        rows = [
            {"id": places[student], "assignment_id": a, "notebook_id": notebook.id, "flagged": False}
            for a, student in lost
        ]
        db.execute(insert(SubmittedNotebook), rows)
    return places


def page_of(desk: Path, student: str, lesson: str) -> Path:
    """Give the place of a marked notebook, where nbgrader's own pages look for it."""
    return desk / "autograded" / student / lesson / f"{lesson}.ipynb"
