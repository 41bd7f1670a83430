"""Comments typed once for everyone with the same answer: a plain file, held against the answers each time.

What is kept is what the answers have in common, not who gave them. So a comment survives marking again, and reaches a
student who hands in later with the same answer.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from needlework.basis.errors import BadData
from needlework.desk import keeping
from needlework.desk.alike import Answer, answers_of, described, part_of

COLUMNS = ("question", "part", "answer", "comment")
_HEAD = "; ".join(COLUMNS)


@dataclass(frozen=True)
class Comment:
    """One comment.

    Parameters
    ----------
    question : str
        Name of the question as in the marks.
    part : str
        The cell of a table or the goal of a flight; empty for none.
    answer : Answer
        What the answers have in common that it is for.
    text : str
        What these students are told.
    """

    question: str
    part: str
    answer: Answer
    text: str

    def reaches(self, told: Mapping[str, Any], student: str = "") -> bool:
        """Say whether it is for a student.

        Parameters
        ----------
        told : mapping
            What the judge told of the student's answers, by question.
        student : str
            Whose they are.

        Returns
        -------
        bool
            True if it is.
        """
        given = answers_of(told.get(self.question, {}), student, self.part)
        return given is not None and self.answer.fits(given)


def place(desk: Path, lesson: str) -> Path:
    """Give the file with the comments of a lesson.

    Parameters
    ----------
    desk : pathlib.Path
        The desk's folder.
    lesson : str
        Lesson key.

    Returns
    -------
    pathlib.Path
        The file; it may not be there.
    """
    return desk / "comments" / f"{lesson}.csv"


def read(path: Path, questions: Sequence[str]) -> list[Comment]:
    """Read the comments of a lesson.

    Parameters
    ----------
    path : pathlib.Path
        The file.
    questions : sequence of str
        Names of the lesson's questions.

    Returns
    -------
    list of Comment
        In the order of the file; none where there is no file.

    Raises
    ------
    BadData
        If it cannot be read; the line is named.
    """
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        return []
    except UnicodeDecodeError:
        raise BadData(
            f"{path} is not written in UTF-8: save it in your spreadsheet as “CSV UTF-8”, and type the same again."
        ) from None
    between = max(",;\t", key=text.partition("\n")[0].count)
    lines = csv.DictReader(io.StringIO(text, newline=""), delimiter=between)
    names = [(name or "").strip().casefold() for name in lines.fieldnames or ()]
    if not set(COLUMNS) <= set(names):
        raise BadData(f"The first line of {path} must name the columns {_HEAD}: write them there.")
    lines.fieldnames = names
    found = []
    try:
        for row in lines:
            held = {name: (row.get(name) or "").strip() for name in COLUMNS}
            if any(held.values()):
                found.append(_comment(held, questions, f"line {lines.line_num} of {path}"))
    except csv.Error as fault:
        raise BadData(f"{path} cannot be read near line {lines.line_num} ({fault}): look at it there.") from None
    return found


def _comment(held: Mapping[str, str], questions: Sequence[str], where: str) -> Comment:
    if held["question"] not in questions:
        raise BadData(f"In {where} there is no question “{held['question']}”: choose from {', '.join(questions)}.")
    if not held["comment"]:
        raise BadData(f"In {where} the comment is missing: write one, or take the line out.")
    try:
        answer = described(held["answer"])
    except BadData as fault:
        raise BadData(f"In {where}: {fault}") from None
    return Comment(held["question"], held["part"], answer, held["comment"])


def write(path: Path, comments: Sequence[Comment]) -> None:
    """Write the comments of a lesson.

    Parameters
    ----------
    path : pathlib.Path
        The file.
    comments : sequence of Comment
        All of them.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows([each.question, each.part, str(each.answer), each.text] for each in comments)
    # With a mark at its beginning a spreadsheet reads the accents right.
    keeping.write(path, text.getvalue().encode("utf-8-sig"))


def changed(comments: Sequence[Comment], new: Comment) -> list[Comment]:
    """Put a comment among the others, in place of one for the same answer; one without a text takes that one out.

    Parameters
    ----------
    comments : sequence of Comment
        What is there.
    new : Comment
        The comment.

    Returns
    -------
    list of Comment
        All of them.
    """
    kept = [
        each
        for each in comments
        if (each.question, each.part, str(each.answer)) != (new.question, new.part, str(new.answer))
    ]
    return [*kept, new] if new.text else kept


def lines_for(comments: Sequence[Comment], told: Mapping[str, Any]) -> dict[str, list[str]]:
    """Give what one student is told, by question.

    Parameters
    ----------
    comments : sequence of Comment
        All comments of the lesson.
    told : mapping
        What the judge told of the student's answers, by question.

    Returns
    -------
    dict of str to list of str
        Sentences.
    """
    found: dict[str, list[str]] = {}
    for each in comments:
        if each.reaches(told):
            part = part_of(told.get(each.question, {}), each.part)
            # The student knows it by the label with the numbers that stand in it.
            label = (part or {}).get("label") or each.part
            which = f" (“{label}”)" if label else ""
            found.setdefault(each.question, []).append(
                f"From your instructor, to everyone with this answer{which}: {each.text}"
            )
    return found
