"""Every sentence a learner or a pilot is told: forbidden words, formats, spelling; in all places they come from."""

import ast
import itertools
import json
import re
import tomllib
from pathlib import Path

import needlework
import pytest
from needlework.exercises import judging
from needlework.exercises.catalogue import ORDER, QUESTIONS, folder_of
from needlework.exercises.families import FAMILIES
from needlework.exercises.flown import FilledPlan, FlownByHand
from needlework.exercises.kinds import Number, Table

HERE = Path(needlework.__file__).parent
MODULES = [
    *sorted((HERE / "exercises").glob("*.py")),
    *sorted((HERE / "exercises" / "goals").glob("*.py")),
    *sorted((HERE / "course" / "lesson").glob("*.py")),
    *sorted((HERE / "debrief").glob("*.py")),
]
DATASETS = HERE.parents[1] / "datasets"

FORBIDDEN = re.compile(
    r"\b(simply|obvious(?:ly)?|oops|trivial(?:ly)?|easily|kneepad|"
    r"traceback|exception|syntax|operand|boolean|stderr|stdout|dtype|ndarray|tuple|NaN)\b",
    re.I,
)
JUST = re.compile(r"\bjust\b", re.I)
JUST_IN_TIME = re.compile(r"\b(?:has|have|had|was|were) just \w+|\bjust (?:been|gone|passed|crossed|tried)\b", re.I)
"""Just of time is no word of belittling: the flag has just gone to FROM."""
CHART_LETTER = re.compile(r"\bD\d+(?:\.\d+)?\b")
FIELD = re.compile(r"(?<![\w`{\"'/<])[a-z]+(?:_[a-z0-9]+)+(?![\w`}\"'>])")
FLOAT = re.compile(r"\d\.\d{4,}|\d[eE][+-]?\d{1,3}\b|\bnan\b")
AMERICAN = re.compile(
    r"\b(center(?:ed|ing|s)?|colors?|colored|(?:kilo|centi|milli)?meters?|gray|neighbor\w*|favor\w*|behavior|organiz\w*|"
    r"recogniz\w*|realiz\w*|practicing|labeled|traveled|canceled|leveled|leveling|signaled|programs?|maneuver\w*|"
    r"airplanes?|judgment|gotten|toward|skeptic\w*|plow\w*|catalog)\b",
    re.I,
)


def told(text):
    """Take out what is code or a name in a sentence: backquotes, braces of a template, links."""
    text = re.sub(r"\{\{|\}\}| (?:as|column) alt_\w+", " ", text)  # a column's name as its file must have it
    text = re.sub(r"\{[^{}]*\}", " 7 ", text)
    return re.sub(r"`[^`]*`|\]\([^)]*\)|https?://\S+|<[^>]*>", " ", text)


def faults(text):
    """Name what is wrong with a sentence."""
    plain = told(text)
    found = [each[0] for each in FORBIDDEN.finditer(plain)]
    if JUST.search(JUST_IN_TIME.sub(" ", plain)):
        found.append("just")
    found += [each[0] for pattern in (CHART_LETTER, FIELD, FLOAT, AMERICAN) for each in pattern.finditer(plain)]
    if re.search(r"[A-Za-z]!", plain):
        found.append("!")
    return found


# ---------------------------------------------------------------- where sentences come from


def sentences_of(path):
    """The texts of a module that are sentences: of three words and more, no docstrings; placeholders as figures."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    nothing = set()
    for node in ast.walk(tree):
        if isinstance(node, (ast.Module, ast.FunctionDef, ast.ClassDef)):
            for child in node.body:
                if isinstance(child, ast.Expr) and isinstance(child.value, ast.Constant):
                    nothing.add(child.value)
        if isinstance(node, ast.JoinedStr):
            nothing.update(node.values)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("Constant",):
            nothing.update(ast.walk(node))
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            text = "".join(str(part.value) if isinstance(part, ast.Constant) else "7" for part in node.values)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and node not in nothing:
            text = node.value
        else:
            continue
        # Not patterns, styles and heads of files.
        if len(text.split()) >= 3 and not re.search(r"[\\^$]|\(\?|\w:[\w#.(-]+;|^#", text):
            yield node.lineno, text


def texts_in(value):
    """Every text in plain data."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for each in value.values():
            yield from texts_in(each)
    elif isinstance(value, list):
        for each in value:
            yield from texts_in(each)


TECHNICAL = {"kind", "key", "lesson", "draw", "call", "given", "goal", "slip", "compare", "with", "on", "right"}


def data_texts(data):
    """The sentences of a lesson's data."""
    for question in data["questions"]:
        for text in texts_in(question):
            if len(text.split()) >= 3:
                yield question["key"], text


# ---------------------------------------------------------------- the tests


@pytest.mark.parametrize("path", MODULES, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_sentences_of_the_library(path):
    """Definition: no belittling, no word of programming, no field names, no chart maker's letter; British."""
    wrong = {f"{line}: {text}": bad for line, text in sentences_of(path) if (bad := faults(text))}
    assert not wrong


@pytest.mark.parametrize("key", ORDER)
def test_sentences_of_a_lesson(key):
    """Definition: the same for prompts, slips, hints, goals and every other text of a question."""
    data = json.loads((folder_of(key) / "lesson.json").read_text(encoding="utf-8"))
    wrong = {f"{question}: {text}": bad for question, text in data_texts(data) if (bad := faults(text))}
    assert not wrong


@pytest.mark.parametrize("key", ORDER)
def test_prose_of_a_lesson(key):
    """Definition: the same for what stands between the questions."""
    from needlework.building.faults import Faults
    from needlework.building.reading import read
    from needlework.building.scan import Prose

    lesson = read(folder_of(key) / "lesson.md", Faults())
    rows = [row for part in lesson.parts if isinstance(part, Prose) for row in part.lines]
    assert not {row: bad for row in rows if (bad := faults(row))}


@pytest.mark.parametrize("name", ["rubric.toml"])
def test_sentences_of_the_data(name):
    """Definition: the same for the rubric's praise, notes and errors."""
    data = tomllib.loads((DATASETS / name).read_text(encoding="utf-8"))
    for row in data["rows"]:
        row.pop("note", None)  # for whoever edits the file
    assert not {text: bad for text in texts_in(data) if len(text.split()) >= 3 and (bad := faults(text))}


def test_families_say_one_thing_each():
    """Definition: every member has a sentence, one of its own within its family, ending like one."""
    for family in FAMILIES.values():
        says = [member.says for member in family.members]
        assert len(set(says)) == len(says)
        assert all(text.endswith((".", "?")) and not faults(text) for text in says)


def wrong_answers(cell, givens):
    """Wrong numbers of many sizes."""
    right = cell.right(givens)
    for times, more in (
        (-1, 0),
        (0, 0),
        (0.1, 0),
        (0.5, 0.3),
        (1, 7.3),
        (1, -7.3),
        (2, 0),
        (3.7, 0),
        (60, 0),
        (1e6, 0),
    ):
        value = right * times + more
        yield value % 360 if cell.circle else value


@pytest.mark.parametrize("key", [key for key, q in QUESTIONS.items() if isinstance(q, (Number, Table))])
def test_verdicts_on_numbers(key):
    """Definition: what is said of wrong numbers of many sizes is written as a pilot reads it."""
    question = QUESTIONS[key]
    givens = judging.draw(question, "Finch 12")
    cells = question.cells(givens) if isinstance(question, Table) else {"": question}
    for label, cell in cells.items():
        for value in wrong_answers(cell, givens) if isinstance(cell, Number) else ():
            text = judging.judge(cell, givens, value).text
            assert not faults(text), (label, text)
            assert "  " not in text
            assert ".." not in text.replace("...", "")


@pytest.mark.parametrize("key", [key for key, q in QUESTIONS.items() if isinstance(q, FilledPlan)])
def test_verdicts_on_plans(key):
    """Definition: the same for what is said of plans that are flown, goal by goal, right ones and wrong ones."""
    plan = QUESTIONS[key]
    givens = judging.draw(plan, "Finch 12")
    right = plan.right(givens)
    answers = [right, *itertools.islice((wrong for _, wrong in plan.mistakes(givens)), 4)]
    answers += [{**right, label: 1e7} for label, blank in plan.blanks.items() if not blank.words][:2]
    for answer in answers:
        verdict = judging.judge(plan, givens, answer)
        for text in (verdict.text, verdict.given, *(cell.text for _, cell in verdict.cells)):
            assert not faults(text), text


def test_verdicts_on_flights():
    """Definition: the same for a flight flown by hand, as its reference flies it."""
    for key in ("sp-hand", "ir-hand"):
        flight = QUESTIONS[key]
        assert isinstance(flight, FlownByHand)
        givens = judging.draw(flight, "Finch 12")
        verdict = judging.judge(flight, givens, flight.right(givens))
        for text in (verdict.text, verdict.given, *(cell.text for _, cell in verdict.cells)):
            assert not faults(text), text


def test_what_is_forbidden_is_found():
    """Definition: the search finds what it is for, and leaves what looks like it."""
    for text in ("Simply turn.", "It is just a turn.", "row 3.when.dme_rises_to_nm", "within 1.5e+02", "at D4.7",
                 "63.43923 s",
                 "Well done!", "the needle is centered", "the color of it", "about 12 meters"):  # fmt: skip
        assert faults(text), text
    for text in ("The flag has just gone to FROM.", "4.7 DME", "`course_in = 45`", "an altimeter", "{gs_kt:03.0f} kt",
                 "R345", "the programme", "towards"):  # fmt: skip
        assert not faults(text), text
