"""The page that is handed back: each question with what was asked, what was answered, the verdict and the marks."""

from __future__ import annotations

import copy
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from nbgrader import utils
from nbgrader.preprocessors import GetGrades, NbGraderPreprocessor
from traitlets.config import Config

from needlework.basis.errors import BadData
from needlework.course.lesson.boxes import short
from needlework.course.lesson.mistakes import ASKED
from needlework.exercises import bundle, recording
from needlework.exercises.catalogue import Lesson

_WIDGET = "application/vnd.jupyter.widget-view+json"
_UNSEEN = (bundle.MIME, recording.MIME)
_NO_ANSWER = "No response."
"""What nbgrader writes as its own comment under an untouched answer; the verdict says it already."""


@dataclass
class Page:
    """What a page says besides the cells.

    Parameters
    ----------
    lesson : Lesson or None
        What is known of the lesson; None where it is neither the course's nor the instructor's own.
    student : str
        Student as the page names them.
    released : notebook
        The notebook as it was handed out: what is unchanged from it is not shown again.
    by_hand : dict of str to float
        Marks that the program gave to the cells whose mark was then set by hand.
    """

    lesson: Lesson | None
    student: str
    released: Any
    by_hand: Mapping[str, float] = field(default_factory=dict)

    def title_of(self, name: str) -> str:
        """Give the title of a question, or the name of its marked cell if the lesson has none of that name."""
        outlines = self.lesson.outlines if self.lesson else ()
        return next((one.title for one in outlines if one.key == name), name)


def _kept(outputs: Iterable[Any]) -> list[Any]:
    """Leave out what is nothing on a page: buttons, panels, and what has no words."""
    kept = []
    for output in outputs:
        data = output.get("data", {})
        seen = [str(value) for kind, value in data.items() if kind not in _UNSEEN]
        if _WIDGET in data or (data and not "".join(seen).strip()):
            continue
        output = copy.deepcopy(output)
        for kind in _UNSEEN:
            output.get("data", {}).pop(kind, None)
        if output.output_type == "error" and len(output.traceback) == 1:
            # One sentence for people, not a stack trace.
            output.traceback = [re.sub(r"\x1b\[[0-9;]*m", "", output.traceback[0]).strip()]
        kept.append(output)
    return kept


def _asked(cell: Any) -> str:
    """Give the key of the question that a cell asks: its data have it, or its text where it could not be run."""
    for output in cell.get("outputs", ()):
        try:
            said = bundle.read(output)
        except BadData:
            continue
        if said is not None and said.question is not None:
            return said.question.key
    found = re.search(ASKED, str(cell.source))
    return found[1] if found else ""


def _cell(cell: Any, source: str, outputs: list[Any], **about: Any) -> Any:
    """Make one piece of the page from a cell."""
    made = copy.deepcopy(cell)
    made.source = source
    made.metadata["handed_back"] = about
    if made.cell_type == "code":
        made.outputs, made.execution_count = outputs, None
        made.metadata["transient"] = {"remove_source": not source.strip()}
    return made


def _pieces(cells: list[Any], page: Page) -> tuple[list[Any], list[dict[str, str]]]:
    """Order the page by questions: what was asked, the answer, the verdict; and a row a question for its top."""
    unchanged = {str(cell.source).strip() for cell in page.released.cells}
    made: list[Any] = []
    rows: list[dict[str, str]] = []
    marked = {cell.metadata.nbgrader["grade_id"]: cell for cell in cells if utils.is_grade(cell)}
    headed: set[str] = set()

    def heading(name: str) -> dict[str, Any]:
        if name in headed or name not in marked:
            return {}
        headed.add(name)
        about = marked[name].metadata.nbgrader
        mark, most = short(about["score"]), short(about["points"])
        said = "set by your instructor" if name in page.by_hand else ""
        rows.append({"name": name, "title": page.title_of(name), "mark": mark, "out_of": most, "said": said})
        return {"name": name, "heading": page.title_of(name), "mark": f"{mark} of {most}"}

    comment = ""
    for number, cell in enumerate(cells):
        source = str(cell.source)
        asked = _asked(cell)
        outputs = _kept(cell.get("outputs", ()))
        if utils.is_solution(cell):
            following = next((c.metadata.nbgrader["grade_id"] for c in cells[number:] if utils.is_grade(c)), "")
            questions = [output for output in outputs if output.output_type != "error"]
            errors = [output for output in outputs if output.output_type == "error"]
            answer = re.sub(rf"{ASKED}[ \t]*", "", source).strip("\n")
            about = heading(following)
            if questions:
                made.append(_cell(cell, "", questions, **about))
                about = {}
            said = str(cell.metadata.nbgrader.get("comment") or "")
            comment = "" if said == _NO_ANSWER else said
            last = []
            if comment and (not following or utils.is_grade(cell)):
                last, comment = [f"From your instructor: {comment}"], ""
            made.append(_cell(cell, answer, errors, label="Your answer", by_hand=last, **about))
        elif utils.is_grade(cell):
            name = cell.metadata.nbgrader["grade_id"]
            lines = []
            if name in page.by_hand:
                mark, by_itself = short(cell.metadata.nbgrader["score"]), short(page.by_hand[name])
                lines.append(f"Your instructor set this mark to {mark}; marked by itself it was {by_itself}.")
            if comment:
                lines.append(f"From your instructor: {comment}")
            comment = ""
            made.append(_cell(cell, "", outputs, by_hand=lines, **heading(name)))
        elif asked:
            made.append(_cell(cell, "", outputs, **heading(asked)))
        elif "setup" in cell.metadata.get("tags", ()):
            made.append(_cell(cell, "", outputs))
        elif source.strip() and source.strip() not in unchanged:
            label = "Your own note" if cell.cell_type == "markdown" else "Your own cell"
            made.append(_cell(cell, source, outputs, label=label))
    return made, rows


def lay_out(converter: Any, page: Page) -> None:
    """Let nbgrader's feedback come out as the course's page.

    Parameters
    ----------
    converter : nbgrader.converters.GenerateFeedback
        Before it is started; it puts the marks of the gradebook into the notebook first.
    page : Page
        What the page says besides the cells.
    """

    class LayOut(NbGraderPreprocessor):  # type: ignore[misc]
        """Turn the marked notebook into a page for its reader."""

        def preprocess(self, nb: Any, resources: Any) -> tuple[Any, Any]:
            nb.cells, rows = _pieces(nb.cells, page)
            for number, cell in enumerate(nb.cells):
                cell["id"] = f"piece-{number}"
            about = resources["nbgrader"]
            title = page.lesson.title if page.lesson else converter.coursedir.assignment_id
            resources["handed_back"] = {"title": title, "student": page.student, "rows": rows}
            resources["handed_back"] |= {"mark": short(about["score"]), "out_of": short(about["max_score"])}
            return nb, resources

    steps = []
    for step in converter.preprocessors:
        steps += [step, LayOut] if step is GetGrades else [step]
    converter.preprocessors = steps
    changed = Config()
    changed.HTMLExporter.template_name = "handed-back"
    changed.HTMLExporter.extra_template_basedirs = [str(Path(__file__).parent / "templates")]
    converter.update_config(changed)
