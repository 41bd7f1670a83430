"""The solved notebook of a lesson, cell by cell, from what the author wrote and from what every lesson has."""

from __future__ import annotations

import json
import re
from typing import Any

from needlework.building.data import precision, spoken
from needlework.building.glossary import words_of
from needlework.building.reading import KINDS, Lesson, options
from needlework.building.scan import Block, Note, Prose
from needlework.building.settings import Settings
from needlework.exercises import judging
from needlework.exercises.kinds import Choice, Question, Table

_CAUTION = (
    "**Training aid with invented data. Not for navigation.** Current charts, your local rules and a qualified "
    "instructor come first."
)
_HOW = """\
**Are there fields under the questions?** Then type your answer there and press Enter. If not: in the menu choose *Run*, then
*Run All Cells*. Put each answer in place of `None` and press Shift + Enter twice."""
# The lines of the two long texts are those of the notebook.
# ruff: noqa: E501
_HOW_AT_FIRST = """\
**How a lesson works.** Are there fields under the questions? Then type your answer there, as you would write it on a
kneeboard, and press Enter. If not: in the menu choose *Run*, then *Run All Cells*, scroll up and read from the top. Put your
answer in place of `None`, press Shift + Enter, and Shift + Enter once more for the verdict. Write numbers bare: 45 for
heading 045, 2000 for 2,000 ft, a point for decimals, no units; letters in quotation marks. Ctrl + S saves. On another day
run all cells again: your answers are still in them."""
_HANDING_IN = """\
**With an instructor?** Save this notebook and hand the file in as they ask; the verdict comes from them. **Working alone?** When
the task is filled in and noted, the button judges it and shows the worked answer."""
_SETUP = """\
from needlework.lesson import ask, begin, check, recap, reveal

student = ""  # your name or number as your instructor knows it; leave it empty if you work alone
begin("{key}", student)"""
_METADATA = {
    "kernelspec": {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"},
    "language_info": {"name": "python"},
}
_SITTINGS = {1: "one sitting", 2: "two sittings", 3: "three sittings", 4: "four sittings", 5: "five sittings"}
_COUNT = {3: "three", 4: "four", 5: "five", 6: "six", 7: "seven", 8: "eight", 9: "nine", 10: "ten"}
_SHORT_TABLE = 50
_LONGEST = 88
_TITLE_PART, _HOW_PART, _SETUP_PART, _SITTING_PART, _LAST_PART = "title", "how", "setup", "sitting", "progress"
_WORDS_PART = "words"


def notebook(lesson: Lesson, questions: dict[str, Question], first: bool = False) -> dict[str, Any]:
    """Build the solved notebook of a lesson.

    Parameters
    ----------
    lesson : Lesson
        The lesson as written.
    questions : dict of str to Question
        Its questions by key.
    first : bool
        True for the first lesson of a course: it says at length how a lesson works.

    Returns
    -------
    dict
        A notebook of format 4, every source as one text.
    """
    return _Builder(lesson, questions).build(first)


class _Builder:
    def __init__(self, lesson: Lesson, questions: dict[str, Question]) -> None:
        self.lesson = lesson
        self.questions = questions
        self.cells: list[dict[str, Any]] = []
        self.count: dict[str, int] = {}
        self.imported: set[str] = set()

    def build(self, first: bool) -> dict[str, Any]:
        self._add("markdown", _title(self.lesson), _TITLE_PART)
        # A page in front of the notebook leaves this cell out.
        self._add("markdown", _HOW_AT_FIRST if first else _HOW, _HOW_PART)
        self._add("code", _SETUP.format(key=self.lesson.key), _SETUP_PART)
        part, section, sitting = _SETUP_PART, 0, 0
        for each in self.lesson.parts:
            if isinstance(each, Note):
                part = each.value if each.name == "part" else part
                if each.name == "sitting":
                    sitting += 1
                    self._sitting(sitting)
            elif isinstance(each, Prose):
                rows = list(each.lines)
                if rows[0].startswith("## "):
                    section += 1
                    rows[0] = f"## {section} {rows[0][3:].strip()}"
                self._add("markdown", "\n".join(rows), part)
            elif each.kind in KINDS:
                self._question(each, str(each.settings.get("part", part)))
            else:
                self._other(each, part)
        words = words_of(self.lesson.key)
        if words:
            self._add("markdown", words, _WORDS_PART)
        self._add("code", f'recap("{self.lesson.key}")', _LAST_PART)
        about: dict[str, Any] = {"lesson": self.lesson.key}
        if "periods" in self.lesson.top:
            named = self.lesson.top["periods"].items()
            about["periods"] = [{"name": name, "steps": list(labels)} for name, labels in named]
        if "in class" in self.lesson.top:
            about["in class"] = dict(self.lesson.top["in class"])
        metadata = {**_METADATA, "needlework": about}
        return {"cells": self.cells, "metadata": metadata, "nbformat": 4, "nbformat_minor": 5}

    def _add(
        self, kind: str, source: str, part: str, grade: dict[str, Any] | None = None, folded: bool = False
    ) -> None:
        metadata: dict[str, Any] = {"tags": [part]}
        if folded:
            # What it shows is for the learner, how it is made is not; one click opens it.
            metadata["jupyter"] = {"source_hidden": True}
        if grade is None:
            self.count[part] = self.count.get(part, 0) + 1
            name = part if self.count[part] == 1 else f"{part}-{self.count[part]}"
        else:
            name = grade["grade_id"]
            metadata["nbgrader"] = {"schema_version": 3, "cell_type": "code", "task": False, **grade}
        cell: dict[str, Any] = {"cell_type": kind, "id": name, "metadata": metadata, "source": source}
        if kind == "code":
            cell |= {"execution_count": None, "outputs": []}
            for line in source.splitlines():
                if line.startswith("from needlework import "):
                    self.imported |= set(line.removeprefix("from needlework import ").split(", "))
        self.cells.append(cell)

    def _sitting(self, number: int) -> None:
        """Say where a sitting ends and the next begins; the first one begins with the lesson."""
        minutes = self.lesson.sittings
        if number > 1:
            words = f"**Sitting {number} of {len(minutes)}**, about {minutes[number - 1]} minutes."
            self._add("markdown", f"---\n\nA good place to stop for today. {words}", _SITTING_PART)

    def _other(self, block: Block, part: str) -> None:
        if block.kind == "reveal":
            self._add("markdown", _HANDING_IN, part)
            self._add("code", f'reveal("{self.lesson.key}")', part)
        elif block.kind == "what-if":
            self._add(
                "code",
                f"from needlework import sliders\n\nsliders.{block.name.replace('-', '_')}()",
                part,
                folded=True,
            )
            about = _for_a_class(block)
            if about:
                self.cells[-1]["metadata"]["needlework"] = about
        elif block.kind == "cell":
            self._add("code", block.code[""], part, folded=True)
        else:
            self._add("code", self._picture(block), part, folded=True)

    def _picture(self, block: Block) -> str:
        needed = ["pictures", *(["procedure"] if "procedure" in block.settings else [])]
        lead = "" if set(needed) <= self.imported else f"from needlework import {', '.join(needed)}\n\n"
        values = [
            f"procedure.load({_python(value)})" if name == "procedure" else f"{name}={_python(value)}"
            for name, value in block.settings.items()
        ]
        return f"{lead}pictures.show_{block.name}({', '.join(values)})"

    def _question(self, block: Block, part: str) -> None:
        key, name = block.name, block.settings["as"]
        about = {"grade": False, "grade_id": f"{key}-answer", "locked": False, "solution": True}
        worked = block.code.get("worked") or _worked(block)
        if block.kind == "flight":
            self._add("code", f'from needlework.lesson import fly\n\nask("{key}")\nfly("{key}")', part)
            head = (
                "from needlework.lesson import flight_of\n\n"
                f"{name} = None  # nothing flown yet\n"
                f'{name} = flight_of("{key}")  # leave this line: it takes your newest flight'
            )
        else:
            head = f'ask("{key}")\n{stub(block, self.questions[key])}'
        self._add("code", f"{head}\n### BEGIN SOLUTION\n{worked}\n### END SOLUTION", part, about)
        test = f'check("{key}", {name})'
        if block.kind in ("rule", "plan") or block.settings.get("task"):
            test += (
                "\n### BEGIN HIDDEN TESTS\nfrom needlework.lesson import score\n\n"
                f'score("{key}", {name})\n### END HIDDEN TESTS'
            )
        points = block.settings.get("marks", 1)
        self._add(
            "code",
            test,
            part,
            {"grade": True, "grade_id": key, "locked": True, "points": points, "solution": False},
        )
        if block.kind == "text":
            self.cells[-1]["metadata"]["needlework"] = {"marked by": "a person"}


def _for_a_class(block: Block) -> dict[str, Any]:
    """What a what-if shows before a class: the question it belongs to, and its settings by name."""
    about: dict[str, Any] = {"for": str(block.settings["for"])} if "for" in block.settings else {}
    if "settings" in block.settings:
        # A list: what writes a notebook puts the keys of a mapping in order.
        about["settings"] = [
            {"name": name, "knobs": {k: v for k, v in each.items() if k != "shows"}, "shows": each["shows"]}
            for name, each in block.settings["settings"].items()
        ]
    return about


def _title(lesson: Lesson) -> str:
    """The first cell: what can be done afterwards, how long it takes, where the task stands."""
    can = ";\n".join(f"- {each}" for each in lesson.top["afterwards"])
    sections, breaks, task = 0, [], ""
    for part in lesson.parts:
        if isinstance(part, Note) and part.name == "sitting":
            breaks.append(sections + 1)
        elif isinstance(part, Prose) and part.lines[0].startswith("## "):
            sections += 1
            title = part.lines[0][3:].strip()
        elif isinstance(part, Block) and part.settings.get("task") and not task and sections:
            task = f"\nAlready sure? Go to [the task](#{sections}-{re.sub(r'[ ]+', '-', title)})."
    time = f"About {sum(lesson.sittings)} minutes"
    if len(breaks) > 1:
        each = [f"{minutes}" for minutes in lesson.sittings]
        time += (
            f", in {_SITTINGS.get(len(breaks), f'{len(breaks)} sittings')} of {', '.join(each[:-1])} and {each[-1]}"
        )
    return (
        f"# {lesson.top['title']}\n\n**After this you can**\n\n{can}.\n\n"
        f"{time}. Builds on: {lesson.top['builds on']}. Not here: {lesson.top['not here']}.{task}\n\n"
        f"{_CAUTION}"
    )


def _python(value: Any) -> str:
    """Write a value as the notebooks do: texts in double quotation marks."""
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, Settings):
        return "{" + ", ".join(f"{_python(name)}: {_python(each)}" for name, each in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_python, value)) + "]"
    return repr(value)


def _worked(block: Block) -> str:
    """The worked answer where the author needs to write none."""
    name, settings = block.settings["as"], block.settings
    if block.kind == "flight":
        return (
            "from needlework.exercises.catalogue import QUESTIONS\n"
            "from needlework.lesson import numbers\n\n"
            f'{name} = QUESTIONS["{block.name}"].right(numbers("{block.name}"))  # flown by the model'
        )
    if block.kind == "text":
        return f'{name} = "..."  # a person marks it'
    right = settings["example"] if block.kind == "rule" else settings["right"]
    return f"{name} = {_python(right[0] if isinstance(right, list) else right)}"


# ---------------------------------------------------------------- answer cells


def _or(words: list[str]) -> str:
    quoted = [_python(word) for word in words]
    return f"{', '.join(quoted[:-1])} or {quoted[-1]}" if len(quoted) > 1 else quoted[0]


def _comment(block: Block) -> str:
    """What stands behind the empty answer."""
    settings = block.settings
    if "stub" in settings:
        return str(settings["stub"])
    if block.kind == "text":
        return "your answer in words, in quotation marks"
    if block.kind == "number":
        return f"{spoken(settings['unit'])}, {precision(settings['to'])}"
    if block.kind == "choice":
        letters = list(options(block))
        return "the letter, in quotation marks" if all(len(each) == 1 for each in letters) else _or(letters)
    if block.kind == "order":
        letters = list(options(block))
        return f'{_COUNT.get(len(letters), len(letters))} letters, for example "{"".join(letters)}"'
    if block.kind == "table":
        asked = {(cell.kind, str(cell.settings.get("unit")), str(cell.settings.get("to"))) for cell in block.cells}
        cell = block.cells[0]
        if len(asked) == 1 and cell.kind == "number":
            return f"{spoken(cell.settings['unit'])}, {precision(cell.settings['to'])}"
    return ""


def stub(block: Block, question: Question) -> str:
    """Give the lines of the answer cell that the learner fills.

    Parameters
    ----------
    block : Block
        The question as written; no flight.
    question : Question
        The same, made.

    Returns
    -------
    str
        ``name = None`` or a table of ``None``, with what to write behind it.
    """
    name, comment = block.settings["as"], _comment(block)
    behind = f"  # {comment}" if comment else ""
    if isinstance(question, Table):
        return _table_stub(name, block, question, behind)
    if block.kind == "plan":
        notes = {label: _blank_note(blank) for label, blank in block.settings["blanks"].items()}
        return _lines_stub(name, notes, behind)
    return f"{name} = None{behind}"


def _blank_note(blank: Any) -> str:
    if isinstance(blank, list):
        return _or([str(word) for word in blank])
    if "stub" in blank:
        return str(blank["stub"])
    return _or([str(word) for word in blank["words"]]) if "words" in blank else ""


def _table_stub(name: str, block: Block, table: Table, behind: str) -> str:
    cells = table.cells(judging.draw(table))
    if block.settings.get("listed"):
        row = f"{name} = [{', '.join(['None'] * len(cells))}]"
        if len(row) < _LONGEST - 5:
            return row + behind
        numbered = "".join(f"    None,  # {place}\n" for place in range(1, len(cells) + 1))
        return f"{name} = [\n{numbered}]{behind}"
    row = f"{name} = {{{', '.join(f'{_python(label)}: None' for label in cells)}}}"
    if behind and len(row) <= _SHORT_TABLE:
        return row + behind
    # Said once for the whole table, it is not said for each line.
    whole = "stub" in block.settings and bool(block.settings["stub"])
    notes = {label: "" if whole else _cell_note(cell, block) for label, cell in cells.items()}
    return _lines_stub(name, notes, behind)


def _cell_note(cell: Question, block: Block) -> str:
    own = next((each for each in block.cells if each.name == cell.key), None)
    if own is not None and "stub" in own.settings:
        return str(own.settings["stub"])
    return _or(list(cell.options)) if isinstance(cell, Choice) else ""


def _lines_stub(name: str, notes: dict[str, str], behind: str) -> str:
    lines = (f"    {_python(label)}: None,{f'  # {note}' if note else ''}\n" for label, note in notes.items())
    return f"{name} = {{\n{''.join(lines)}}}{behind}"
