"""A class for tests and the benchmark of marking: hand-ins drawn from a seed, of students who know more or less.

It is made by the makers of the course: it says whether two ways of marking agree and how long they take, not what
real students write.
"""

import copy
import json
import random
import re
from pathlib import Path

from needlework.building import release
from needlework.exercises import judging, recording
from needlework.exercises.catalogue import QUESTIONS
from needlework.exercises.flown import FlownByHand

FIRST = (
    "Ada",
    "Bea",
    "Cleo",
    "Dina",
    "Edo",
    "Finn",
    "Gus",
    "Hedda",
    "Ivo",
    "Jule",
    "Kai",
    "Lea",
    "Mio",
    "Nele",
    "Olga",
    "Pia",
    "Quin",
    "Rosa",
    "Sami",
    "Tilda",
)
LAST = ("Arlt", "Birk", "Corv", "Dorn", "Elmer", "Falk", "Grau", "Hollm", "Ister", "Jansk")


def name_of(number):
    """Give a student's name on the class list; every one is invented."""
    return f"{FIRST[number % len(FIRST)]} {LAST[number // len(FIRST) % len(LAST)]} {number:03d}"


def id_of(number):
    """Give the id that belongs to the name."""
    return name_of(number).lower().replace(" ", "-")


def about(cell):
    return cell["metadata"].get("nbgrader", {})


def source_of(cell):
    return cell["source"] if isinstance(cell["source"], str) else "".join(cell["source"])


def released(key):
    """Give the released notebook of a lesson of the course."""
    return json.loads((release.LESSONS / key / f"{key}.ipynb").read_text(encoding="utf-8"))


def typed_in(book, student):
    """Type a name into the first cell."""
    for cell in book["cells"]:
        if "setup" in cell["metadata"].get("tags", ()):
            cell["source"] = source_of(cell).replace('student = ""', f"student = {student!r}")
    return book


def wrong_in_kind(right, rng):
    if isinstance(right, bool) or right is None:
        return "nonsense"
    if isinstance(right, (int, float)):
        return round(right * rng.choice([0.5, 0.9, 1.1, 2.0]) + rng.choice([-10, 0, 7]), 1)
    if isinstance(right, str):
        return rng.choice(["A", "B", "C", "D", "TO", "FROM", "left", right[::-1]])
    if isinstance(right, dict):
        return {label: wrong_in_kind(value, rng) if rng.random() < 0.5 else value for label, value in right.items()}
    if isinstance(right, (list, tuple)):
        return [wrong_in_kind(value, rng) if rng.random() < 0.5 else value for value in right]
    return 0


def answer_of(question, givens, rng, ability):
    """Draw an answer: right, a named mistake, simply wrong, or None for nothing."""
    luck = rng.random()
    if luck > 0.95:
        return None
    right = question.right(givens)
    if luck < ability:
        return right
    made = question.mistakes(givens)
    if made and rng.random() < 0.6:
        return rng.choice(made)[1]
    return wrong_in_kind(right, rng)


def written(value, rng, style):
    """Write a value as a student may type it; returns lines before it and the expression."""
    if style == "code":
        before = rng.choice(
            [
                "def worked_out(x):\n    return x",
                "import numpy as np\nworked_out = lambda x: x",
                "n = 0\nwhile n < 3:\n    n += 1\nworked_out = lambda x: x",
            ]
        )
        return before, f"worked_out({value!r})"
    if style == "sum" and isinstance(value, (int, float)) and not isinstance(value, bool):
        return rng.choice(
            [
                ("", f"{value!r} + 0"),
                (f"first = {value!r}", "first * 1"),
                ("from math import sqrt", f"sqrt(4) / 2 * {value!r}"),
                ("", f"round({value!r}, 3)"),
            ]
        )
    return "", f"{value!r}"


def book_of(key, number, seed=0, code=0.0, fly=True, book=None):
    """Make one hand-in.

    ``code`` is the share of hand-ins with one to three cells of code of their own; ``fly`` lets flights be flown.
    """
    rng = random.Random(f"{seed}|{key}|{number}")
    ability = rng.uniform(0.3, 0.98)
    student = name_of(number)
    book = typed_in(copy.deepcopy(book or released(key)), student)
    cells = [cell for cell in book["cells"] if about(cell).get("solution")]
    in_code = set(rng.sample(range(len(cells)), rng.choice([1, 2, 3]))) if rng.random() < code else set()
    for n, cell in enumerate(cells):
        asked = re.search(r"""ask\(["']([\w-]+)["']\)""", source_of(cell))
        question = QUESTIONS[asked[1] if asked else about(cell)["grade_id"].removesuffix("-answer")]
        givens = judging.draw(question, student)
        if isinstance(question, FlownByHand):
            if fly and rng.random() < 0.5:
                data = {recording.MIME: recording.packed(question.right(givens)), "text/plain": ""}
                cell["outputs"] = [{"output_type": "display_data", "metadata": {}, "data": data}]
            continue
        answer = answer_of(question, givens, rng, ability)
        if answer is None:
            continue
        stub = source_of(cell)
        name = re.search(r"(?m)^(\w+) = ", stub)[1]
        head = stub[: stub.index(f"{name} = ")]
        before, expression = written(answer, rng, "code" if n in in_code else rng.choice(["plain", "plain", "sum"]))
        cell["source"] = head + (before + "\n" if before else "") + f"{name} = {expression}"
        if n in in_code and expression == repr(answer):
            cell["source"] += f"\n{name} = (lambda x: x)({name})"
    return book


def write_class(folder, key, numbers, **how):
    """Write hand-ins and the class list's lines."""
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    for number in numbers:
        (folder / f"{id_of(number)}.ipynb").write_text(json.dumps(book_of(key, number, **how)), encoding="utf-8")
    return folder


def write_list(desk, numbers):
    lines = ["student,name", *(f"{id_of(number)},{name_of(number)}" for number in numbers)]
    desk.mkdir(parents=True, exist_ok=True)
    (desk / "students.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
