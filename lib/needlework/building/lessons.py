"""From the lessons as their authors write them to their data and their solved notebooks."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from needlework.basis.errors import BadData
from needlework.building import checking, release
from needlework.building.notebook import notebook
from needlework.exercises import binding, catalogue, making


def folders(lessons: Path = catalogue.FOLDER) -> list[Path]:
    """List the folders that hold a lesson.

    Parameters
    ----------
    lessons : pathlib.Path
        Where they stand.

    Returns
    -------
    list of pathlib.Path
        Sorted.
    """
    return sorted(path.parent for path in lessons.glob("*/lesson.md"))


def built(folder: Path) -> tuple[str, str, str]:
    """Build one lesson.

    Parameters
    ----------
    folder : pathlib.Path
        Holds ``lesson.md`` and ``functions.py``.

    Returns
    -------
    tuple of (str, str, str)
        Its key, its data as they are written to ``lesson.json``, its solved notebook.

    Raises
    ------
    BadData
        With every fault of the lesson, one a line.
    """
    lesson, data = checking.read(folder)
    if folder.name != lesson.key.replace("-", "_"):
        raise BadData(
            f"{folder.name}/lesson.md:{lesson.top.line_of('key')}: the key is `{lesson.key}`, so the folder is "
            f"called `{lesson.key.replace('-', '_')}`."
        )
    text = as_lines(data)
    # As a kernel takes them: from the text, not from what was read.
    questions = making.questions_of(json.loads(text), binding.load(folder / "functions.py", lesson.key))
    book = notebook(lesson, questions, first=lesson.key == catalogue.ORDER[0])
    return lesson.key, text, release.as_text(book)


def as_lines(data: dict[str, Any]) -> str:
    """Write a lesson's data with one question a line, so that a change shows where it is.

    Parameters
    ----------
    data : dict
        The data.

    Returns
    -------
    str
        JSON ending in a new line.
    """

    def text(value: Any) -> str:
        return json.dumps(value, ensure_ascii=False)

    head = "".join(f"{text(name)}: {text(value)},\n" for name, value in data.items() if name != "questions")
    questions = ",\n".join(map(text, data["questions"]))
    return f'{{\n{head}"questions": [\n{questions}\n]\n}}\n'


def build(lessons: Path = catalogue.FOLDER, solutions: Path = release.SOLUTIONS, check: bool = False) -> list[str]:
    """Build every lesson, or only compare.

    Parameters
    ----------
    lessons : pathlib.Path
        Where the lessons stand.
    solutions : pathlib.Path
        Where the solved notebooks go.
    check : bool
        True to change nothing and only tell what differs.

    Returns
    -------
    list of str
        One sentence for each file that was written (or differs).

    Raises
    ------
    BadData
        With every fault of every lesson; then nothing is written.
    """
    wanted: dict[Path, tuple[str, str]] = {}
    faults: list[str] = []
    for folder in folders(lessons):
        try:
            key, data, book = built(folder)
        except BadData as fault:
            faults.append(str(fault))
            continue
        wanted[folder / "lesson.json"] = (f"{folder.name}/lesson.json", data)
        wanted[solutions / key / f"{key}.ipynb"] = (f"solutions/{key}/{key}.ipynb", book)
    if faults:
        raise BadData("\n".join(faults), tuple(faults))
    told = []
    for path, (name, text) in wanted.items():
        if path.exists() and path.read_bytes() == text.encode("utf-8"):
            continue
        news = _new_questions(path, text) if path.name == "lesson.json" else ""
        if not check:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8", newline="\n")
        told.append(f"{name} {'differs from its lesson.md' if check else 'written'}{news}.")
    return told


def _new_questions(path: Path, text: str) -> str:
    """Name the questions that the data on file do not have yet."""
    try:
        there = {each["key"] for each in json.loads(path.read_text(encoding="utf-8"))["questions"]}
    except (OSError, ValueError, KeyError, TypeError):
        return ""
    added = [each["key"] for each in json.loads(text)["questions"] if each["key"] not in there]
    return f"; new in it: {', '.join(added)}" if added else ""
