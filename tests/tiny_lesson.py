"""A whole lesson in six cells, for the tests of release, opening and marking."""

import json
from pathlib import Path

SETUP = """\
class Marks(float):
    def _repr_html_(self):
        return f"<b>{float(self)} marks</b>"

def check(key, answer):
    wanted, full = {"cone": (40.0, 2.0), "side": ("left", 1.0)}[key]
    if answer is None:
        return Marks(0.0)
    return Marks(full if answer == wanted else 0.0)

def score(key, answer):
    return check(key, answer)
"""


def cell(kind, source, grade_id="", points=None, solution=False):
    metadata = {}
    if grade_id:
        about = {"grade": points is not None, "grade_id": grade_id, "locked": not solution, "schema_version": 3}
        about |= {"solution": solution, "task": False}
        if points is not None:
            about["points"] = points
        metadata = {"nbgrader": about}
    made = {"cell_type": kind, "id": grade_id or f"c{len(source)}", "metadata": metadata}
    made["source"] = source
    if kind == "code":
        made |= {"execution_count": 7, "outputs": [{"output_type": "stream", "name": "stdout", "text": "40 seconds"}]}
    return made


def answer(name, stub, solution):
    source = f"{stub}\n### BEGIN SOLUTION\n{solution}\n### END SOLUTION"
    return cell("code", source, f"{name}-answer", solution=True)


def solution_book():
    """The hand-written notebook: two questions, 2 and 1 marks, the second with its marking hidden."""
    hidden = 'check("side", side)\n### BEGIN HIDDEN TESTS\nscore("side", side)\n### END HIDDEN TESTS'
    cells = [
        cell("markdown", "# A tiny lesson\n\nAbout 5 to 10 minutes."),
        cell("code", SETUP, "setup"),
        answer("cone", "cone_seconds = None  # seconds", "cone_seconds = 4 * 10.0"),
        cell("code", 'check("cone", cone_seconds)', "cone-marks", points=2),
        answer("side", "side = None  # 'left' or 'right'", "side = 'left'"),
        cell("code", hidden, "side-marks", points=1),
    ]
    metadata = {"kernelspec": {"display_name": "mine", "language": "python", "name": "python3"}, "author": "somebody"}
    return {"cells": cells, "metadata": metadata, "nbformat": 4, "nbformat_minor": 5}


def write(book, path):
    path = Path(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(book), encoding="utf-8")
    return path


def write_solutions(folder):
    write(solution_book(), Path(folder) / "tiny" / "tiny.ipynb")
    return Path(folder)


def filled(book, **answers):
    """A released notebook with answers typed into its answer cells, each given as the text of the whole cell."""
    book = json.loads(json.dumps(book))
    for made in book["cells"]:
        grade_id = made["metadata"].get("nbgrader", {}).get("grade_id", "")
        if grade_id.removesuffix("-answer") in answers and grade_id.endswith("-answer"):
            made["source"] = answers[grade_id.removesuffix("-answer")]
    return book
