"""From a lesson to homework: the file does not answer itself, and its task has numbers that this desk drew.

A secret stands on the desk. From it comes the sign of a hand-out, which the first cell of the file holds; the numbers
of the task are drawn from the student's name and this sign, so that a copy of the lesson for self-study shows other
ones. In a sitting, part of it is a word that is not in the file: it is told when the sitting begins.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import re
import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from needlework.basis.errors import BadData
from needlework.desk import keeping
from needlework.exercises.judging import NEW_NUMBERS

_BEGIN = re.compile(r"""(?m)^begin\((["'][\w-]+["']), student\)[ \t]*$""")
_REVEAL = re.compile(r"""(?m)^reveal\(["'][\w-]+["']\)[ \t]*\n?""")
_NAME = re.compile(r"""(?m)^(student = .*?)[ \t]*#[^\n]*$""")
_NEEDED = "# your name or number exactly as your instructor's list has it: your numbers are drawn from it"
_ALONE = re.compile(r"\*\*Working alone\?\*\*[^\n]*(?:\n(?!\n)[^\n]*)*")
_LETTERS = "bcdfghjkmnpqrstvwxz"


def _secret(desk: Path) -> bytes:
    """Read the desk's secret; it is made the first time, and nobody but its owner may read it."""
    path = desk / "ledger" / "secret"
    try:
        return path.read_bytes()
    except FileNotFoundError:
        keeping.write(path, secrets.token_hex(16))
        path.chmod(0o600)
        return path.read_bytes()


def sign(desk: Path, *what: str, letters: int = 10) -> str:
    """Draw a sign from the desk's secret: always the same for the same desk and words.

    Parameters
    ----------
    desk : pathlib.Path
        The desk's folder.
    *what : str
        What it is for.
    letters : int
        How long it is.

    Returns
    -------
    str
        Letters that are not mistaken for each other, without vowels, so that no word comes of it.
    """
    drawn = hmac.new(_secret(desk), "|".join(what).encode("utf-8"), hashlib.sha256).digest()
    return "".join(_LETTERS[byte % len(_LETTERS)] for byte in drawn[:letters])


def _record_path(desk: Path, lesson: str) -> Path:
    return desk / "ledger" / f"{lesson}-handed-out.json"


def record(desk: Path, lesson: str) -> dict[str, Any]:
    """Read how a lesson was handed out.

    Parameters
    ----------
    desk : pathlib.Path
        The desk's folder.
    lesson : str
        Lesson key.

    Returns
    -------
    dict
        ``signs``: what each sign that was given out stands for. ``plain``: whether it was handed out without one. Of
        a part of a lesson besides ``lesson``, ``sittings`` and ``questions``, and of a sitting ``lesson``, ``begins``
        and ``ends``. ``numbers``: how often new numbers were wanted.
    """
    try:
        told = json.loads(_record_path(desk, lesson).read_text(encoding="utf-8"))
        return {**told, "signs": dict(told["signs"]), "plain": bool(told["plain"])}
    except (OSError, ValueError, KeyError, TypeError):
        # Nothing is known of it: it was handed out before there were signs.
        return {"signs": {}, "plain": (desk / "source" / lesson).exists()}


def kept(desk: Path) -> list[str]:
    """Give the names of all homework of which a desk has kept what it handed out."""
    ending = _record_path(desk, "").name
    return sorted(path.name.removesuffix(ending) for path in (desk / "ledger").glob(f"*{ending}"))


def note_earlier(desk: Path, lesson: str) -> None:
    """Keep, before anything is changed, that a lesson was handed out without a sign."""
    if not _record_path(desk, lesson).exists():
        keeping.write(_record_path(desk, lesson), json.dumps(record(desk, lesson), indent=1))


def _keep(desk: Path, lesson: str, told: dict[str, Any]) -> None:
    keeping.write(_record_path(desk, lesson), json.dumps(told, indent=1))


def _signed(desk: Path, key: str, told: dict[str, Any], new_numbers: bool) -> str:
    """Give the sign of a homework, and note it with what is told of it; new numbers stay until newer are wanted."""
    number = int(told.get("numbers", 0)) + new_numbers
    mark = sign(desk, "homework", key)
    if number:
        told["numbers"] = number
        mark = NEW_NUMBERS + sign(desk, "homework", key, str(number))
    told["signs"].setdefault(mark, "homework")
    return mark


def same_numbers(desk: Path, key: str) -> dict[str, int]:
    """Say which other homework of a desk asks some of the same questions with the same numbers.

    Parameters
    ----------
    desk : pathlib.Path
        The desk's folder.
    key : str
        Key of the homework.

    Returns
    -------
    dict of str to int
        How many questions they share, by the key of the other one.
    """
    told = record(desk, key)
    if told.get("numbers"):
        return {}
    asked = _without_task(desk, key)
    shared = {}
    for other in kept(desk):
        about = record(desk, other)
        same = about.get("lesson", other) == told.get("lesson", key) and not about.get("numbers")
        if other != key and same and "begins" not in about:
            shared[other] = len(asked & _without_task(desk, other))
    return {other: count for other, count in shared.items() if count}


def _without_task(desk: Path, key: str) -> set[str]:
    """Name the marked questions of a homework whose numbers come from the student's name alone."""
    try:
        cells = json.loads((desk / "source" / key / f"{key}.ipynb").read_text(encoding="utf-8"))["cells"]
    except OSError:
        return set()
    return {
        cell["metadata"]["nbgrader"]["grade_id"]
        for cell in cells
        if cell["metadata"].get("nbgrader", {}).get("grade") and "task" not in cell["metadata"].get("tags", ())
    }


def as_homework(desk: Path, lesson: str, solved: bytes, new_numbers: bool = False) -> bytes:
    """Turn a solved lesson into the one that is handed out.

    Parameters
    ----------
    desk : pathlib.Path
        The desk's folder.
    lesson : str
        Lesson key.
    solved : bytes
        The solved notebook.
    new_numbers : bool
        True for numbers that no hand-out had before.

    Returns
    -------
    bytes
        The solved notebook of the homework.
    """
    told = record(desk, lesson)
    mark = _signed(desk, lesson, told, new_numbers)
    _keep(desk, lesson, told)
    return _written(_with_sign(json.loads(solved), lesson, f', homework="{mark}"'))


@dataclass(frozen=True)
class Sitting:
    """A supervised sitting: the task of a lesson, with other numbers at each seat.

    Parameters
    ----------
    key : str
        Under which it stands on the desk.
    lesson : str
        Key of the lesson whose task it is.
    seats : int
        How many seats there are.
    begins, ends : datetime or None
        The window of time, UTC.
    """

    key: str
    lesson: str
    seats: int
    begins: datetime | None = None
    ends: datetime | None = None

    def word(self, desk: Path) -> str:
        """Give the word that is told when it begins."""
        return sign(desk, "word", self.key, letters=6)

    def seat(self, desk: Path, number: int) -> str:
        """Give the sign of a seat; 0 is that of the desk's own copy."""
        return sign(desk, "seat", self.key, str(number))


_WORD = 'word = ""  # the word your instructor says when the sitting begins\n'


def as_sitting(desk: Path, sitting: Sitting, title: str, solved: bytes) -> bytes:
    """Turn a solved lesson into a sitting that has its first cell and its task, and nothing else.

    Parameters
    ----------
    desk : pathlib.Path
        The desk's folder.
    sitting : Sitting
        What is wanted.
    title : str
        Title of the lesson.
    solved : bytes
        The solved notebook.

    Returns
    -------
    bytes
        The solved notebook of the sitting, for the desk's own copy.

    Raises
    ------
    BadData
        If the lesson has no task.
    """
    seats = {sitting.seat(desk, number): f"seat {number}" for number in range(1, sitting.seats + 1)}
    told = record(desk, sitting.key)
    told |= {"signs": {**told["signs"], **seats}, "plain": False, "lesson": sitting.lesson}
    for name, when in (("begins", sitting.begins), ("ends", sitting.ends)):
        told[name] = when.isoformat() if when else ""
    book = json.loads(solved)
    kept = [cell for cell in book["cells"] if {"setup", "task"} & set(cell["metadata"].get("tags", ()))]
    if not any(cell["metadata"].get("nbgrader", {}).get("grade") for cell in kept):
        raise BadData(f"'{sitting.lesson}' has no task, so there is nothing to be worked in a sitting.")
    text = (
        f"# {title}: {sitting.key}\n\nType your name and the word that is told at the beginning into the first cell, "
        "and run it. Then work the task, run both of its cells, and save. The verdict stays with your instructor."
    )
    head = {"cell_type": "markdown", "id": "sitting", "metadata": {}, "source": text}
    said = f', homework="{sitting.seat(desk, 0)}", word=word'
    made = _with_sign({**book, "cells": [head, *kept]}, sitting.lesson, said, _WORD)
    _keep(desk, sitting.key, told)
    return _written(made)


def at_seat(desk: Path, sitting: Sitting, number: int, released: str) -> str:
    """Give the copy of one seat.

    Parameters
    ----------
    desk : pathlib.Path
        The desk's folder.
    sitting : Sitting
        Of which.
    number : int
        The seat, from 1.
    released : str
        The desk's own copy, as released.

    Returns
    -------
    str
        The same with the sign of the seat.
    """
    return released.replace(sitting.seat(desk, 0), sitting.seat(desk, number))


def _written(book: dict[str, Any]) -> bytes:
    return (json.dumps(book, ensure_ascii=False, indent=1, sort_keys=True) + "\n").encode("utf-8")


_IN_CLASS = ("periods", "in class")


def _with_sign(book: dict[str, Any], lesson: str, said: str, before: str = "") -> dict[str, Any]:
    begun = False
    cells = []
    for cell in book["cells"]:
        source = cell["source"] if isinstance(cell["source"], str) else "".join(cell["source"])
        new = source
        if cell["cell_type"] == "code":
            new, times = _BEGIN.subn(lambda found: f"{before}begin({found[1]}, student{said})", source)
            begun = begun or bool(times)
            if times:
                new = _NAME.sub(rf"\g<1>  {_NEEDED}", new)
            new = _REVEAL.sub("", new)
            if source.strip() and not new.strip():
                continue
        elif cell["cell_type"] == "markdown":
            new = _ALONE.sub("", source).rstrip()
        if new != source:
            cell = {**cell, "source": new}
        cells.append(cell)
    if not begun and lesson_begins(book):
        raise BadData(f"The first cell of '{lesson}' does not begin the lesson as it should: build the lesson again.")
    # What a teacher calls the steps before a class names every question of the lesson, and is nobody's homework.
    about = {name: told for name, told in book["metadata"].get("needlework", {}).items() if name not in _IN_CLASS}
    return {**book, "metadata": {**book["metadata"], "needlework": about}, "cells": cells}


def lesson_begins(book: dict[str, Any]) -> bool:
    """Say whether a notebook has a cell that begins a lesson."""
    return any("begin(" in "".join(cell["source"]) for cell in book["cells"] if cell["cell_type"] == "code")


SHOWN = {
    "worked": "verdicts and how a wrong answer is worked out",
    "verdicts": "verdicts, and no worked answers",
    "marks": "marks alone",
}
"""What the pages that are handed back may tell."""


def shown(desk: Path, lesson: str, chosen: str = "") -> str:
    """Settle what the pages that are handed back tell; a choice stays until another one is made.

    Parameters
    ----------
    desk : pathlib.Path
        The desk's folder.
    lesson : str
        Lesson key.
    chosen : str
        What is chosen now; empty for what was chosen last.

    Returns
    -------
    str
        ``worked``, ``verdicts`` or ``marks``.
    """
    path = desk / "ledger" / f"{lesson}-shown.txt"
    if chosen:
        keeping.write(path, chosen)
        return chosen
    try:
        return path.read_text(encoding="utf-8").strip() or "worked"
    except OSError:
        return "worked"


def notes(desk: Path, lesson: str, homework: str | None) -> tuple[list[str], list[str]]:
    """Say what is to be known of the hand-out that a hand-in belongs to.

    Parameters
    ----------
    desk : pathlib.Path
        The desk's folder.
    lesson : str
        Lesson key.
    homework : str or None
        What its session was told of the hand-out; None where nothing is known.

    Returns
    -------
    look, notes : list of str
        Clauses: why a person should look at it, and what else there is.
    """
    if homework is None:
        return [], []
    told = record(desk, lesson)
    mark, _, word = homework.partition("|")
    if mark in told["signs"]:
        if "begins" in told and word != sign(desk, "word", lesson, letters=6):
            return ["the word typed in it is not that of this sitting, so its task has other numbers"], []
        return [], [told["signs"][mark]] if "begins" in told else []
    if "begins" in told:
        return ["it is no copy of this sitting: its task has numbers that were not drawn here"], []
    if homework:
        return [], ["its task has the numbers of another hand-out than this desk's"]
    if told["plain"]:
        return [], ["it is a copy from before the task's numbers were this desk's own"]
    return [], ["it is a copy for self-study, which shows the task's worked answer"]


def outside(desk: Path, lesson: str, when: datetime) -> str:
    """Say that the time of a hand-in lies outside the window of its sitting.

    Parameters
    ----------
    desk : pathlib.Path
        The desk's folder.
    lesson : str
        Lesson key.
    when : datetime
        Time of the file, UTC.

    Returns
    -------
    str
        A clause; empty where it lies inside, or there is no window.
    """
    told = record(desk, lesson)
    for name, said in (("begins", "before the sitting began"), ("ends", "after the sitting ended")):
        limit = datetime.fromisoformat(told[name]) if told.get(name) else None
        if limit is not None and (when < limit if name == "begins" else when > limit):
            return f"its file was saved at {when:%H:%M} UTC, {said} at {limit:%H:%M} UTC"
    return ""


# --- parts of a lesson ----------------------------------------------------------------------------------------------

_ABOUT = re.compile(r"""(?m)^(?:ask|fly|check)\(["']([\w-]+)["']""")
_USES = re.compile(r"\b(pictures|plate|procedure)\.")


def as_part(
    desk: Path,
    key: str,
    lesson: str,
    title: str,
    solved: bytes,
    sittings: Sequence[int],
    questions: Sequence[str],
    new_numbers: bool = False,
) -> bytes:
    """Turn a solved lesson into homework of some of its sittings or questions.

    Parameters
    ----------
    desk : pathlib.Path
        The desk's folder.
    key : str
        Under which it stands on the desk.
    lesson : str
        Key of the lesson.
    title : str
        Title of the lesson.
    solved : bytes
        The solved notebook.
    sittings : sequence of int
        Numbers of the sittings that are set, from 1.
    questions : sequence of str
        Names of the questions that are set, besides.
    new_numbers : bool
        True for numbers that no hand-out had before.

    Returns
    -------
    bytes
        The solved notebook of the homework.

    Raises
    ------
    BadData
        If there is no such sitting or question.
    """
    book = json.loads(solved)
    sections = _sections(book["cells"])
    names = {name for section in sections for name in section.questions}
    last = max(section.sitting for section in sections)
    for number in sittings:
        if not 1 <= number <= last:
            raise BadData(f"'{lesson}' has no sitting {number}: choose from 1 to {last}.")
    for name in questions:
        if name not in names:
            raise BadData(f"There is no question '{name}' in '{lesson}': choose from {', '.join(sorted(names))}.")
    made: list[dict[str, Any]] = []
    for section in sections:
        wanted = (
            section.questions if section.sitting in sittings else [n for n in section.questions if n in questions]
        )
        if wanted or (section.sitting in sittings and section.sitting):
            made += [cell for cell, about in section.cells if not about or about in wanted]
    kept = {"how", "setup"}
    head = [cell for cell in book["cells"] if kept & set(cell["metadata"].get("tags", ()))]
    words = [cell for cell in book["cells"] if "words" in cell["metadata"].get("tags", ())]
    count = sum(bool(cell["metadata"].get("nbgrader", {}).get("grade")) for cell in made)
    many = "question" if count == 1 else "questions"
    text = f"# {title}: {key.removeprefix(lesson + '-')}\n\n{count} {many} of the lesson."
    first = {"cell_type": "markdown", "id": "title", "metadata": {"tags": ["title"]}, "source": text}
    told = record(desk, key)
    mark = _signed(desk, key, told, new_numbers)
    part = {"sittings": list(sittings), "questions": list(questions)}
    _keep(desk, key, told | {"lesson": lesson, "plain": False} | part)
    whole = {**book, "cells": [first, *head, *_with_imports(made), *words]}
    return _written(_with_sign(whole, lesson, f', homework="{mark}"'))


def part_of(desk: Path, key: str) -> tuple[list[int], list[str]]:
    """Say what is in a part of a lesson that was handed out.

    Parameters
    ----------
    desk : pathlib.Path
        The desk's folder.
    key : str
        Under which it stands on the desk.

    Returns
    -------
    sittings : list of int
        Sittings that are set.
    questions : list of str
        Questions that are set, besides; both are empty where nothing was handed out under this name.
    """
    told = record(desk, key)
    if "sittings" in told:
        return list(told["sittings"]), list(told["questions"])
    # A part from before this was kept: what is in its notebook.
    try:
        cells = json.loads((desk / "source" / key / f"{key}.ipynb").read_text(encoding="utf-8"))["cells"]
    except OSError:
        return [], []
    marked = (cell["metadata"].get("nbgrader", {}) for cell in cells)
    return [], [about["grade_id"] for about in marked if about.get("grade")]


@dataclass
class _Section:
    """A section of a lesson: its sitting, its cells each with the question it belongs to, and its questions."""

    sitting: int
    cells: list[tuple[dict[str, Any], str]]
    questions: list[str]


def _sections(cells: Sequence[dict[str, Any]]) -> list[_Section]:
    sections, sitting = [_Section(0, [], [])], 0
    for cell in cells:
        tags, source = set(cell["metadata"].get("tags", ())), "".join(cell["source"])
        if {"title", "how", "setup", "words", "progress"} & tags:
            continue
        if "sitting" in tags:
            # What it says of the whole lesson is not so of a part.
            sitting += 1
            continue
        if source.startswith("## ") or sections[-1].sitting != max(sitting, 1):
            sitting = max(sitting, 1)
            sections.append(_Section(sitting, [], []))
        about = _ABOUT.findall(source) if cell["cell_type"] == "code" else []
        if not about and cell["cell_type"] == "code":
            about = re.findall(r"""\bflight_of\(["']([\w-]+)["']""", source)
        sections[-1].cells.append((cell, about[0] if about else ""))
        if cell["metadata"].get("nbgrader", {}).get("grade"):
            sections[-1].questions.append(cell["metadata"]["nbgrader"]["grade_id"])
    return sections[1:]


def _with_imports(cells: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """Import once more what a cell imported that is not in this part."""
    there: set[str] = set()
    made = []
    for cell in cells:
        source = "".join(cell["source"])
        if cell["cell_type"] == "code":
            for line in re.findall(r"(?m)^from needlework import (.+)$", source):
                there |= set(line.split(", "))
            missing = sorted(set(_USES.findall(source)) - there)
            if missing:
                cell = {**cell, "source": f"from needlework import {', '.join(missing)}\n\n{source}"}
                there |= set(missing)
        made.append(cell)
    return made


def with_due(solved: bytes, says: str) -> bytes:
    """Let a homework say when it is due.

    Parameters
    ----------
    solved : bytes
        The solved notebook.
    says : str
        The time, as students read it.

    Returns
    -------
    bytes
        The same with a line below its title.
    """
    book = json.loads(solved)
    line = {"cell_type": "markdown", "id": "due", "metadata": {"tags": ["title"]}, "source": f"**Due:** {says}."}
    return _written({**book, "cells": [*book["cells"][:1], line, *book["cells"][1:]]})
