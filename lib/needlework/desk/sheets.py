"""The marks as a table that goes both ways: written, changed in a spreadsheet, read back, and nothing is lost.

Every row says by ``written`` as what it left the desk. What stands in it is held against that and against the marks
as they are now: only what a person changed in the table, and nobody at the desk since, is taken.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from needlework.basis.errors import BadData
from needlework.desk import keeping, tables
from needlework.desk.collect import the_student

FIXED = ("student", "name", "lesson", "mark", "out_of", "state", "look_at", "notes", "handed_in_utc", "written")
"""Columns that are no question's; a file from before there was ``name`` is read as well."""
BACK = "back"
"""What is typed into a cell in place of a mark or a comment to take it back."""
_COMMENT = " comment"


@dataclass(frozen=True)
class Change:
    """One cell that a person changed.

    Parameters
    ----------
    student, question : str
        Whose, and which marked cell.
    mark : float or None
        The mark; None to go back to what marking gave, or where the comment alone was changed.
    because : str or None
        The comment; empty to take it out, None where it was not changed.
    marks : bool
        True if the mark was changed.
    """

    student: str
    question: str
    mark: float | None = None
    because: str | None = None
    marks: bool = False


@dataclass
class Read:
    """What came of reading a table.

    Parameters
    ----------
    changes : list of Change
        What is set.
    listed : list of str
        What is not, one sentence each.
    unchanged : int
        Rows in which nothing was changed.
    """

    changes: list[Change] = field(default_factory=list)
    listed: list[str] = field(default_factory=list)
    unchanged: int = 0


def as_written(rows: Sequence[Mapping[str, Any]], said: Mapping[str, Mapping[str, str]]) -> dict[str, Any]:
    """Give what the desk has of each question, as it is written.

    Parameters
    ----------
    rows : sequence of mapping
        The marks.
    said : mapping
        Comments by student and question.

    Returns
    -------
    dict
        By student ``mark`` (the total), ``marks`` and ``comments`` by question.
    """
    return {
        row["student"]: {
            "mark": row["mark"],
            "marks": {name: value for name, value in row.items() if name not in NOT_QUESTIONS},
            "comments": dict(said.get(row["student"], {})),
        }
        for row in rows
    }


NOT_QUESTIONS = {*FIXED, "late", "off"}


def text_of(
    desk: Path,
    lesson: str,
    rows: Sequence[Mapping[str, Any]],
    said: Mapping[str, Mapping[str, str]],
    order: Sequence[str] = (),
) -> str:
    """Write the marks with their comments, and keep what was written for the day on which it comes back.

    Parameters
    ----------
    desk : pathlib.Path
        The desk's folder.
    lesson : str
        Lesson key.
    rows : sequence of mapping
        The marks.
    said : mapping
        Comments by student and question.
    order : sequence of str
        The questions as the lesson has them; others come behind.

    Returns
    -------
    str
        The file's text.
    """
    state = as_written(rows, said)
    told = json.dumps(state, sort_keys=True)
    # Begins with a letter: a row of digits a spreadsheet would round.
    number = "v" + keeping.digest(told.encode("utf-8"))[:12]
    path = _kept(desk, lesson, number)
    if not path.exists():
        keeping.write(path, told)
    marked = {name for each in state.values() for name in each["marks"]}
    questions = [*(name for name in order if name in marked), *sorted(marked - set(order))]
    columns = list(FIXED) + [column for name in questions for column in (name, name + _COMMENT)]
    made = []
    for row in rows:
        comments = state[row["student"]]["comments"]
        cells = {name: value for name, value in row.items() if name in FIXED or name in questions}
        made.append({**cells, "written": number, **{name + _COMMENT: text for name, text in comments.items()}})
    return tables.written(columns, [{k: v for k, v in row.items() if k in columns} for row in made])


def _kept(desk: Path, lesson: str, number: str) -> Path:
    return desk / "ledger" / "written" / lesson / f"{number}.json"


def _before(desk: Path, lesson: str, number: str) -> dict[str, Any] | None:
    if not re.fullmatch(r"v[0-9a-f]{12}", number):
        return None
    try:
        return dict(json.loads(_kept(desk, lesson, number).read_text(encoding="utf-8")))
    except (OSError, ValueError):
        return None


def compare(
    desk: Path,
    lesson: str,
    table: tables.Table,
    now: Mapping[str, Any],
    points: Mapping[str, float],
    roster: dict[str, list[str]] | None,
) -> Read:
    """Hold a table that came back against what was written, and against the marks of now.

    Parameters
    ----------
    desk : pathlib.Path
        The desk's folder.
    lesson : str
        Lesson key.
    table : Table
        As it was read.
    now : mapping
        The marks of now, as :func:`as_written` gives them.
    points : mapping
        Full marks by question.
    roster : dict or None
        Class list, if there is one.

    Returns
    -------
    Read
        What is to be set, and what is listed.

    Raises
    ------
    BadData
        If the table has no column ``student``, or none of a question of the lesson.
    """
    known = {name.casefold(): name for name in (*FIXED, *(q + c for q in points for c in ("", _COMMENT)))}
    columns = {column: known.get(column.casefold(), "") for column in table.columns if column}
    if "student" not in columns.values() or not set(columns.values()) - set(FIXED) - {""}:
        raise BadData(
            f"This table has no column 'student' or none of a question of '{lesson}': begin with the file that "
            "'desk marks' writes, and leave its first line as it is."
        )
    strange = [column for column, name in columns.items() if not name]
    report = Read()
    if strange:
        report.listed.append(f"Not of this lesson, and left alone: the columns {', '.join(map(repr, strange))}.")
    seen: set[str] = set()
    for row in table.rows:
        cells = {columns[column]: value for column, value in row.items() if columns.get(column)}
        _row(desk, lesson, cells, now, points, roster, report, seen)
    return report


def _row(
    desk: Path,
    lesson: str,
    cells: Mapping[str, str],
    now: Mapping[str, Any],
    points: Mapping[str, float],
    roster: dict[str, list[str]] | None,
    report: Read,
    seen: set[str],
) -> None:
    named = tables.meant(cells["student"].strip())
    student = named
    if named not in now:
        try:
            student = the_student(named, roster)
        except BadData as fault:
            report.listed.append(str(fault))
            return
    if student not in now:
        report.listed.append(f"'{named}' has no hand-in in '{lesson}', so nothing of this row is taken.")
        return
    if cells.get("lesson", "").strip() not in ("", lesson):
        report.listed.append(f"{student}: this row is of '{cells['lesson'].strip()}', so nothing of it is taken.")
        return
    if student in seen:
        report.listed.append(f"{student} stands in two rows; only the first one counts.")
        return
    seen.add(student)
    before = _before(desk, lesson, cells.get("written", "").strip())
    base = None if before is None else before.get(student)
    if base is None:
        report.listed.append(
            f"{student}: the column 'written' does not say from which file this row is, so nothing of it is taken: "
            "leave that column as it is."
        )
        return
    count = len(report.changes), len(report.listed)
    _total(student, cells, base, report)
    for question, most in points.items():
        changes = _mark(student, question, cells, base, now[student], most, report)
        comment = _comment(student, question, cells, base, now[student], report)
        if changes is not None or comment is not None:
            report.changes.append(
                Change(student, question, changes[0] if changes else None, comment, changes is not None)
            )
    report.unchanged += count == (len(report.changes), len(report.listed))


def _total(student: str, cells: Mapping[str, str], base: Mapping[str, Any], report: Read) -> None:
    typed = tables.number(cells.get("mark", ""))
    if typed is not None and base["mark"] != "" and typed != base["mark"]:
        report.listed.append(
            f"{student}: the mark {typed:g} of the whole lesson is a sum and was not taken: change the marks of its "
            "questions."
        )


def _mark(
    student: str,
    question: str,
    cells: Mapping[str, str],
    base: Mapping[str, Any],
    now: Mapping[str, Any],
    most: float,
    report: Read,
) -> tuple[float | None] | None:
    """Give the mark that a person typed, in a tuple; None where there is nothing to set."""
    if question not in cells:
        return None
    text, was, is_now = cells[question].strip(), base["marks"].get(question, ""), now["marks"].get(question, "")
    where = f"{student}, '{question}'"
    if text.casefold() == BACK:
        return (None,)
    typed = tables.number(text)
    if not text:
        if was != "":
            report.listed.append(f"{where}: the cell was emptied, and the mark stays: type {BACK} to take one back.")
        return None
    if typed is None:
        report.listed.append(f"{where}: '{text[:40]}' is no mark: give a number from 0 to {most:g}.")
    elif not 0 <= typed <= most:
        report.listed.append(f"{where}: {typed:g} is no possible mark: give a number from 0 to {most:g}.")
    elif typed in (was, is_now):
        return None
    elif now["mark"] == "":
        report.listed.append(f"{where}: the work has no marks in which one could be changed: mark it first.")
    elif was != is_now:
        report.listed.append(
            f"{where}: the table says {typed:g}, but at the desk the mark became {_said(is_now)} since the table was "
            f"written ({_said(was)} then): look at both, and set it with 'desk set-mark'."
        )
    else:
        return (typed,)
    return None


def _said(mark: Any) -> str:
    return "none" if mark == "" else f"{mark:g}"


def _plain(text: str) -> str:
    """Bring line ends into one form: spreadsheets write them as they like."""
    return "\n".join(line.rstrip() for line in text.replace("\r\n", "\n").replace("\r", "\n").split("\n")).strip()


def _comment(
    student: str,
    question: str,
    cells: Mapping[str, str],
    base: Mapping[str, Any],
    now: Mapping[str, Any],
    report: Read,
) -> str | None:
    """Give the comment that a person typed; None where there is nothing to set."""
    if question + _COMMENT not in cells:
        return None
    typed = _plain(tables.meant(cells[question + _COMMENT]))
    was, is_now = _plain(base["comments"].get(question, "")), _plain(now["comments"].get(question, ""))
    where = f"{student}, '{question}'"
    if typed.casefold() == BACK:
        typed = ""
    elif not typed and was:
        report.listed.append(f"{where}: the comment was emptied, and it stays: type {BACK} to take it out.")
        return None
    if typed in (was, is_now):
        return None
    if now["mark"] == "":
        report.listed.append(f"{where}: the work has no marks to which a comment could belong: mark it first.")
        return None
    if was != is_now:
        report.listed.append(
            f"{where}: the comment was changed in the table and at the desk (“{is_now[:80]}”) since it was written; "
            f"the table's is not taken: “{typed[:200]}”."
        )
        return None
    return typed
