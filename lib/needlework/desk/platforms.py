"""Marks in the forms that learning platforms take in: the grading worksheet and gradebook of Moodle, that of Canvas.

What the platform itself gave out is filled in and nothing else in it is changed: only so are the names of its columns
and what identifies a person surely the right ones. Without such a file a form is made from the class list. Layouts:

- Moodle, mod/assign/feedback/offline/importgradeslib.php and mod/assign/gradingtable.php of its published source:
  the worksheet of an assignment is in UTF-8 with commas; taken in are ``Identifier``, ``Grade``, ``Last modified
  (grade)`` and ``Feedback comments``. From memory: a gradebook takes any CSV with a column that identifies the person
  (ID number, user name or e-mail address), mapped by hand when it is taken in.
- Canvas, lib/gradebook_importer.rb of its published source: ``Student``, ``ID``, then ``SIS User ID`` and ``SIS Login
  ID`` where there are any, ``Section``, and after them a column an assignment; a row ``Points Possible``. What stands
  before ``Section`` identifies the person; comments cannot be taken in.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from needlework.basis.errors import BadData
from needlework.desk import tables
from needlework.desk.collect import words_of

FORMS = ("moodle", "canvas")
"""Platforms for which a form can be made."""
_MOODLE = ("Identifier", "Full name", "Grade")
_WHO = ("ID number", "Username", "Email address", "SIS User ID", "SIS Login ID", "ID", "Full name", "Student")
_NO_ASSIGNMENT = re.compile(r"(Unposted )?(Current|Final|Override) (Score|Points|Grade|Status)\b")


@dataclass(frozen=True)
class Mark:
    """What a platform is told of one student.

    Parameters
    ----------
    mark : float
        Mark of the whole lesson.
    comment : str
        Comments of all questions.
    """

    mark: float
    comment: str


@dataclass
class Filled:
    """A file that is ready for a platform.

    Parameters
    ----------
    text : str
        What is in it.
    done : list of str
        Students whose mark is in it.
    listed : list of str
        Whose is not, and what else is to be known; one sentence each.
    """

    text: str = ""
    done: list[str] = field(default_factory=list)
    listed: list[str] = field(default_factory=list)


def form(
    platform: str, title: str, out_of: float, marks: Mapping[str, Mark], people: Mapping[str, Mapping[str, str]]
) -> Filled:
    """Make a form from the class list.

    Parameters
    ----------
    platform : str
        One of :data:`FORMS`.
    title : str
        Name of the homework.
    out_of : float
        Full marks.
    marks : mapping
        By student.
    people : mapping
        By student, what the class list has of them; ``name`` and, if wanted, ``email`` and others.

    Returns
    -------
    Filled
        The file.
    """
    filled = Filled(done=sorted(marks))
    mails = any(people.get(student, {}).get("email") for student in marks)
    rows: list[dict[str, object]] = []
    if platform == "moodle":
        columns = ["ID number", "Full name", *(["Email address"] if mails else []), "Grade", "Feedback comments"]
        for student, one in sorted(marks.items()):
            who = people.get(student, {})
            rows.append(
                {
                    "ID number": student,
                    "Full name": who.get("name", ""),
                    "Grade": one.mark,
                    "Feedback comments": one.comment,
                    **({"Email address": who.get("email", "")} if mails else {}),
                }
            )
    else:
        columns = ["Student", "ID", "SIS User ID", "SIS Login ID", "Section", title]
        rows.append({"Student": "    Points Possible", title: out_of})
        for student, one in sorted(marks.items()):
            who = people.get(student, {})
            login = who.get("login") or who.get("email") or student
            rows.append(
                {
                    "Student": who.get("name") or student,
                    "SIS User ID": student,
                    "SIS Login ID": login,
                    title: one.mark,
                }
            )
        if any(one.comment for one in marks.values()):
            filled.listed.append("This platform takes no comments from a file: they stand on the pages handed back.")
    filled.text = tables.written(columns, rows)
    return filled


def fill(
    table: tables.Table,
    title: str,
    out_of: float,
    marks: Mapping[str, Mark],
    people: Mapping[str, Mapping[str, str]],
    column: str = "",
) -> Filled:
    """Fill the marks into a file that the platform gave out.

    Parameters
    ----------
    table : Table
        The file.
    title : str
        Name of the homework, to find its column.
    out_of : float
        Full marks.
    marks : mapping
        By student.
    people : mapping
        By student, what the class list has of them.
    column : str
        Which column; empty to find it.

    Returns
    -------
    Filled
        The same file with the marks; cells of others are as they were.

    Raises
    ------
    BadData
        If it is no such file, or the column cannot be told.
    """
    moodle = set(_MOODLE) <= set(table.columns)
    canvas = {"Student", "ID", "Section"} <= set(table.columns)
    if not moodle and not canvas:
        raise BadData(
            "This is neither a grading worksheet of Moodle (columns Identifier, Full name, Grade) nor a gradebook of "
            "Canvas (columns Student, ID, Section): download it there once more, with its English column names."
        )
    place = table.columns.index(_column(table, title, column, moodle))
    said = table.columns.index("Feedback comments") if "Feedback comments" in table.columns else None
    most = table.columns.index("Maximum Grade") if "Maximum Grade" in table.columns else None
    if most is None and "Maximum grade" in table.columns:
        most = table.columns.index("Maximum grade")
    lines = [[*line, *[""] * (len(table.columns) - len(line))] for line in table.lines]
    filled = Filled()
    for line in lines[1:]:
        row = dict(zip(table.columns, line, strict=False))
        if "Points Possible" in row.get("Student", ""):
            _possible(line[place], out_of, filled)
            continue
        found = _whose(row, marks, people)
        if len(found) != 1:
            if found:
                filled.listed.append(f"{_shown(row)} may be {' or '.join(found)}: type that mark in by hand.")
            elif any(row.get(name, "").strip() for name in _WHO):
                filled.listed.append(_without(row, people))
            continue
        student = found[0]
        if student in filled.done:
            filled.listed.append(f"{_shown(row)} is {student} once more: type that mark in by hand.")
            continue
        if most is not None and not filled.done:
            _possible(line[most], out_of, filled)
        if row.get("Grade can be changed", "Yes").strip().casefold() == "no":
            filled.listed.append(f"{student}: the platform says that this grade cannot be changed.")
            continue
        line[place] = f"{marks[student].mark:g}"
        if said is not None and marks[student].comment:
            line[said] = tables.harmless(marks[student].comment)
        filled.done.append(student)
    filled.listed += [f"{student} is not in this file." for student in sorted(set(marks) - set(filled.done))
                      if not any(line.startswith(f"{student}:") for line in filled.listed)]  # fmt: skip
    if said is None and any(one.comment for one in marks.values()):
        filled.listed.append("This file has no column for comments: they stand on the pages handed back.")
    filled.text = _as_it_was(lines, table.sign)
    return filled


def _without(row: Mapping[str, str], people: Mapping[str, Mapping[str, str]]) -> str:
    """Say why a person of the file gets no mark."""
    listed = _whose(row, dict.fromkeys(people, Mark(0.0, "")), people)
    if listed:
        return f"{_shown(row)}, {' or '.join(listed)}, has no mark yet: the row is as it was."
    if people:
        return f"{_shown(row)} is nobody of the class list: the row is as it was."
    return f"{_shown(row)} is nobody who has a mark: the row is as it was."


def _as_it_was(lines: Iterable[Sequence[str]], sign: str) -> str:
    import csv
    import io

    text = io.StringIO(newline="")
    csv.writer(text, delimiter=sign).writerows(lines)
    return text.getvalue()


def _shown(row: Mapping[str, str]) -> str:
    return f"“{row.get('Full name') or row.get('Student') or row.get('Identifier') or 'a row'}”"


def _possible(said: str, out_of: float, filled: Filled) -> None:
    most = tables.number(said)
    if most is not None and most != out_of:
        filled.listed.append(
            f"The platform has {most:g} as full marks and the desk {out_of:g}: set it there to {out_of:g} first."
        )


def _column(table: tables.Table, title: str, column: str, moodle: bool) -> str:
    if moodle:
        return "Grade"
    after = table.columns[table.columns.index("Section") + 1 :]
    free = [name for name in after if name and not _NO_ASSIGNMENT.search(name) and name not in _WHO]
    wanted = words_of(column or title)
    found = [name for name in free if name == column] or [
        name for name in free if words_of(re.sub(r" \(\d+\)$", "", name)) == wanted
    ]
    if len(found) != 1:
        raise BadData(
            f"Which column is '{column or title}' cannot be told: add --column with one of "
            f"{', '.join(map(repr, free)) or 'the assignments, of which there is none in this file'}."
        )
    return found[0]


def _whose(row: Mapping[str, str], marks: Mapping[str, Mark], people: Mapping[str, Mapping[str, str]]) -> list[str]:
    """Find the students that a row may mean: by what identifies a person, else by the whole name."""
    said = {" ".join(row[name].split()).casefold() for name in _WHO if row.get(name, "").strip()}
    said |= {text.partition("@")[0] for text in said if "@" in text}
    said_ids = said | {"-".join(words_of(text)) for text in said}
    by_id = [
        student
        for student in marks
        if {
            student.casefold(),
            *(text.casefold() for name, text in people.get(student, {}).items() if name != "name"),
        }
        & said_ids
    ]
    if by_id:
        return by_id
    names = [sorted(words_of(row.get(name, ""))) for name in ("Full name", "Student") if row.get(name, "").strip()]
    return [
        student
        for student in marks
        if people.get(student, {}).get("name") and sorted(words_of(people[student]["name"])) in names
    ]


def comment_of(said: Mapping[str, str], titles: Mapping[str, str], note: str = "") -> str:
    """Join the comments of all questions into one.

    Parameters
    ----------
    said : mapping
        Comments by question.
    titles : mapping
        Titles of the questions.
    note : str
        What else the student is told.

    Returns
    -------
    str
        A line each.
    """
    lines = [f"{titles.get(name, name)}: {text}" for name, text in said.items() if text]
    return "\n".join([*lines, *([note] if note else [])])


def marks_of(
    rows: Iterable[Mapping[str, Any]], said: Mapping[str, Mapping[str, str]], titles: Mapping[str, str]
) -> dict[str, Mark]:
    """Give what a platform is told of each student that has a mark.

    Parameters
    ----------
    rows : iterable of mapping
        The marks.
    said : mapping
        Comments by student and question.
    titles : mapping
        Titles of the questions.

    Returns
    -------
    dict of str to Mark
        By student.
    """
    return {
        row["student"]: Mark(row["mark"], comment_of(said.get(row["student"], {}), titles, row.get("late", "")))
        for row in rows
        if row["mark"] != ""
    }
