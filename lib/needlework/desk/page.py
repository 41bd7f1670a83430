"""The page that is handed back: each question with what was asked, what was answered, the verdict and the marks."""

from __future__ import annotations

import ast
import contextlib
import copy
import gc
import hashlib
import json
import pickle
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import Any

from needlework.basis.errors import BadData, NeedleworkError
from needlework.course.lesson import boxes
from needlework.course.lesson.boxes import short
from needlework.course.lesson.mistakes import ASKED
from needlework.desk import keeping, values
from needlework.desk.as_typed import as_the_field
from needlework.desk.hand_in import Sheet, holds_code
from needlework.desk.tokens import TOKENS
from needlework.exercises import bundle, judging, progress, recording
from needlework.exercises.answers import Unreadable, is_blank
from needlework.exercises.catalogue import QUESTIONS
from needlework.exercises.flown import FilledPlan, FlownByHand
from needlework.exercises.verdicts import Outcome, Verdict

_WIDGET = "application/vnd.jupyter.widget-view+json"
_UNSEEN = (bundle.MIME, recording.MIME)
_NO_ANSWER = "No response."
"""What nbgrader writes as its own comment under an untouched answer; the verdict says it already."""
_CODE_GAVE_NONE = "Your code ran to its end, and the name that the question asks for held nothing."


@dataclass(frozen=True)
class Page:
    """What a page says besides the cells.

    Parameters
    ----------
    title : str
        Title of the lesson.
    titles : mapping of str to str
        Titles of its questions, by name.
    student : str
        Student as the page names them.
    released : notebook
        The notebook as it was handed out: what is unchanged from it is not shown again.
    by_hand : mapping of str to float or None
        Marks that the program gave to the cells whose mark was then set by hand; None where it gave none.
    waiting : sequence of str
        Cells that a person has still to mark.
    to_all : mapping of str to list of str
        Sentences for everyone with the same answer, by marked cell.
    verdicts : bool
        True where the page tells verdicts.
    """

    title: str
    titles: Mapping[str, str]
    student: str
    released: Any
    by_hand: Mapping[str, float | None] = field(default_factory=dict)
    waiting: Sequence[str] = ()
    to_all: Mapping[str, list[str]] = field(default_factory=dict)
    verdicts: bool = True


def _about(cell: Any) -> Any:
    return cell.metadata.get("nbgrader", {})


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


_HARMLESS = ("p", "br", "hr", "h1", "h2", "h3", "h4", "ul", "ol", "li", "b", "i", "strong", "em", "code", "pre")


def _harmless(text: str) -> str:
    """Turn what a learner wrote between the cells into formatted text without script, picture or link."""
    import bleach
    from nbconvert.filters import markdown2html

    html = str(markdown2html(text))
    tags = (*_HARMLESS, "table", "thead", "tbody", "tr", "td", "th", "blockquote")
    return str(bleach.clean(html, tags=tags, attributes={}, strip=True))


def _cell(cell: Any, source: str, outputs: list[Any], **about: Any) -> Any:
    """Make one piece of the page from a cell."""
    made = copy.deepcopy(cell)
    made.source = source
    made.metadata["handed_back"] = about
    if made.cell_type == "code":
        made.outputs, made.execution_count = outputs, None
        made.metadata["transient"] = {"remove_source": not source.strip()}
    return made


def _in_words(source: str) -> str | None:
    """Give the value of an answer as it was typed, without what the cell holds around it; None where it is code."""
    try:
        body = [part for part in ast.parse(source).body if not isinstance(part, (ast.Import, ast.ImportFrom))]
    except (SyntaxError, ValueError, RecursionError, MemoryError):
        return None
    given: dict[str, ast.expr] = {}
    for part in body:
        if not isinstance(part, ast.Assign) or len(part.targets) != 1 or not isinstance(part.targets[0], ast.Name):
            return None
        given[part.targets[0].id] = part.value
    return _typed(next(iter(given.values())), source) if len(given) == 1 else None


def _typed(value: ast.expr, source: str) -> str:
    """Write a value as a person would."""
    match value:
        case ast.Constant(value=None):
            return "(nothing was filled in)"
        case ast.Constant(value=str(text)):
            return text
        case ast.Dict(keys=keys, values=entries) if entries and all(keys):
            pairs = zip(keys, entries, strict=True)
            return "\n".join(f"{_typed(key, source)}: {_entry(each, source)}" for key, each in pairs if key)
        case ast.List(elts=entries) | ast.Tuple(elts=entries) if entries and not _of_numbers(value):
            return "\n".join(f"{n}. {_entry(each, source)}" for n, each in enumerate(entries, 1))
        case ast.Call(func=ast.Name(id="flight_of")):
            return "your newest flight"
    return ast.get_source_segment(source, value) or source


def _of_numbers(value: ast.expr) -> bool:
    """Say whether a value is numbers with commas between, outside square brackets: most often a decimal comma."""
    return isinstance(value, ast.Tuple) and all(
        isinstance(part, ast.Constant) and isinstance(part.value, (int, float))
        for part in (each.operand if isinstance(each, ast.UnaryOp) else each for each in value.elts)
    )


def _entry(value: ast.expr, source: str) -> str:
    """Write one value of several; a dash for one that was left out."""
    return "-" if isinstance(value, ast.Constant) and value.value is None else _typed(value, source)


def _outcome(cell: Any) -> str:
    """Say what became of an answer, in the words of its verdict; empty where there is none."""
    for output in cell.get("outputs", ()):
        with contextlib.suppress(BadData):
            said = bundle.read(output)
            if said is not None and said.verdict is not None:
                return " ".join(boxes.heading_of(said.verdict)[:2])
    return ""


def _pieces(cells: list[Any], page: Page) -> tuple[list[Any], list[dict[str, str]]]:
    """Order the page by questions: what was asked, the answer, the verdict; and a row a question for its top."""
    unchanged = {str(cell.source).strip() for cell in page.released.cells}
    made: list[Any] = []
    rows: list[dict[str, str]] = []
    marked = {cell.metadata.nbgrader["grade_id"]: cell for cell in cells if _about(cell).get("grade")}
    headed: set[str] = set()

    def heading(name: str) -> dict[str, Any]:
        if name in headed or name not in marked:
            return {}
        headed.add(name)
        about = marked[name].metadata.nbgrader
        mark, most = short(about["score"]), short(about["points"])
        said = marked[name].metadata.get("said") or (_outcome(marked[name]) if page.verdicts else "")
        if name in page.by_hand:
            said = "set by your instructor"
        if name in page.waiting:
            said = "waits for your instructor's mark"
        rows.append({"name": name, "title": page.titles.get(name, name), "mark": mark, "out_of": most, "said": said})
        return {"name": name, "heading": page.titles.get(name, name), "mark": f"{mark} of {most}"}

    comment = ""
    for number, cell in enumerate(cells):
        source = str(cell.source)
        asked = _asked(cell)
        outputs = _kept(cell.get("outputs", ()))
        if _about(cell).get("solution"):
            following = next((c.metadata.nbgrader["grade_id"] for c in cells[number:] if _about(c).get("grade")), "")
            questions = [output for output in outputs if output.output_type != "error"]
            errors = [output for output in outputs if output.output_type == "error"]
            left = re.sub(rf"{ASKED}[ \t]*", "", source).strip("\n")
            value = _in_words(left)
            answer = left if value is None else value
            about = heading(following)
            if questions:
                made.append(_cell(cell, "", questions, **about))
                about = {}
            said = str(cell.metadata.nbgrader.get("comment") or "")
            comment = "" if said == _NO_ANSWER else said
            last = []
            if comment and (not following or _about(cell).get("grade")):
                last, comment = [f"From your instructor: {comment}"], ""
            made.append(
                _cell(cell, answer, errors, label="Your answer", plain=value is not None, by_hand=last, **about)
            )
        elif _about(cell).get("grade"):
            name = cell.metadata.nbgrader["grade_id"]
            lines = []
            if name in page.by_hand:
                mark, by_itself = short(cell.metadata.nbgrader["score"]), short(page.by_hand[name] or 0.0)
                lines.append(
                    f"Your instructor's mark: {mark}."
                    if page.by_hand[name] is None
                    else f"Your instructor set this mark to {mark}; marked by itself it was {by_itself}."
                )
            if comment:
                lines.append(f"From your instructor: {comment}")
            comment = ""
            lines += page.to_all.get(name, ())
            made.append(_cell(cell, "", outputs, by_hand=lines, **heading(name)))
        elif asked:
            made.append(_cell(cell, "", outputs, **heading(asked)))
        elif "setup" in cell.metadata.get("tags", ()):
            made.append(_cell(cell, "", outputs))
        elif source.strip() and source.strip() not in unchanged:
            label = "Your own note" if cell.cell_type == "markdown" else "Your own cell"
            shown = _harmless(source) if cell.cell_type == "markdown" else source
            made.append(_cell(cell, shown, outputs, label=label))
    return made, rows


@cache
def _exporter() -> Any:
    """Make the exporter once: reading its templates takes longer than a page."""
    from nbconvert import HTMLExporter

    return HTMLExporter(  # type: ignore[no-untyped-call]
        template_name="handed-back",
        extra_template_basedirs=[str(Path(__file__).parent / "templates")],
    )


def in_room(body: bytes) -> bytes:
    """Make pages of a lesson that is the instructor's own, behind walls.

    Parameters
    ----------
    body : bytes
        JSON: the task of :func:`pages_of`.

    Returns
    -------
    bytes
        JSON: the pages.
    """
    return json.dumps(pages_of(json.loads(body))).encode("utf-8")


@progress.at_the_desk()
def pages_of(task: Mapping[str, Any]) -> list[str]:
    """Make the pages of some students.

    Parameters
    ----------
    task : mapping
        ``lesson`` and ``released`` (key and text of the notebook), ``title``, ``titles`` (of the questions, by name),
        ``show`` (a key of :data:`needlework.desk.handing_out.SHOWN`), ``kept`` (folder of pictures drawn before,
        or empty), and ``papers``: of each student ``page`` (the marked notebook, as text), ``student`` (as the page
        names them), ``marks``, ``by_hand``, ``comments`` and ``to_all`` by cell, ``begun``, ``homework`` and
        ``answers``.

    Returns
    -------
    list of str
        HTML.
    """
    import nbformat

    released = nbformat.reads(task["released"], 4)  # type: ignore[no-untyped-call]
    drawn = _verdict_pictures(task) if task["show"] != "marks" else [{} for _ in task["papers"]]
    pages = []
    for paper, pictures_of in zip(task["papers"], drawn, strict=True):
        nb = nbformat.reads(paper["page"], 4)  # type: ignore[no-untyped-call]
        _with_marks(nb, paper)
        _told_only(nb, task["show"], paper["by_hand"])
        if task["show"] != "marks":
            _code_told(nb, {str(cell.source).strip() for cell in released.cells})
        _with_pictures(nb, task, paper, pictures_of)
        page = Page(
            task["title"],
            task["titles"],
            paper["student"],
            released,
            by_hand=paper["by_hand"],
            waiting=paper["waiting"],
            to_all=paper["to_all"],
            verdicts=task["show"] != "marks",
        )
        nb.cells, rows = _pieces(nb.cells, page)
        for number, cell in enumerate(nb.cells):
            cell["id"] = f"piece-{number}"
        about = {"title": page.title, "student": page.student, "rows": rows, "tokens": TOKENS}
        about |= {"mark": short(sum(paper["marks"].values()) - paper["off"]), "out_of": short(paper["out_of"])}
        about |= {"late": paper["late"][:1].upper() + paper["late"][1:]}
        html, _ = _exporter().from_notebook_node(nb, resources={"handed_back": about})
        pages.append(str(html))
    return pages


def _with_marks(nb: Any, paper: Mapping[str, Any]) -> None:
    """Put marks and comments into the notebook, as nbgrader does before it makes its feedback."""
    for cell in nb.cells:
        about = cell.metadata.get("nbgrader", {})
        name = about.get("grade_id", "")
        if about.get("grade"):
            about["score"] = float(paper["marks"].get(name, 0.0))
        if about.get("solution"):
            about["comment"] = paper["comments"].get(name)


def _code_told(nb: Any, unchanged: set[str]) -> None:
    """Say below a program that gave no answer that it did not: “No answer” alone reads as if nothing had come."""
    program = False
    for cell in nb.cells:
        if _about(cell).get("solution"):
            left = re.sub(ASKED, "", str(cell.source))
            program = str(cell.source).strip() not in unchanged and holds_code(left)
        if not program or not _about(cell).get("grade"):
            continue
        for output in cell.get("outputs", ()):
            with contextlib.suppress(BadData):
                said = bundle.read(output)
                if said is not None and said.verdict is not None and said.verdict.outcome is Outcome.NOT_ATTEMPTED:
                    cell.metadata["said"] = f"{' '.join(boxes.look_of(Outcome.NOT_ATTEMPTED)[:2])} from your code"
                    output.data["text/html"] = boxes.verdict(replace(said.verdict, explanation=""), _CODE_GAVE_NONE)


def _told_only(nb: Any, show: str, by_hand: Mapping[str, Any]) -> None:
    """Leave out of the verdicts what is not to be told, or is so no more."""
    for cell in nb.cells:
        name = cell.metadata.get("nbgrader", {}).get("grade_id", "")
        for output in cell.get("outputs", ()):
            try:
                said = bundle.read(output)
            except BadData:
                continue
            if said is None or said.verdict is None:
                continue
            waited = said.verdict.outcome is Outcome.WAITS and name in by_hand
            if show == "marks" or (waited and show == "verdicts"):
                output.data["text/html"] = ""
                output.data["text/plain"] = ""
            elif waited:
                output.data["text/html"] = boxes.read_by_a_person(said.verdict)
            elif show == "verdicts":
                output.data["text/html"] = boxes.verdict(replace(said.verdict, explanation=""))


def _drawn(name: str, values: Mapping[str, Any], kept: str) -> str:
    """Draw a picture once for the same values, and keep it."""
    from needlework.showing import pictures

    told = pickle.dumps((name, import_module("needlework").__version__, sorted(values.items())))
    path = Path(kept) / f"{hashlib.sha256(told).hexdigest()}.html" if kept else None
    if path is not None:
        with contextlib.suppress(OSError):
            return path.read_text(encoding="utf-8")
    figure = getattr(pictures, name.replace("show_", "draw_", 1))(**values)
    markup = pictures.markup(figure)
    # A figure holds itself in a ring, and megabytes with it, until somebody looks for such rings.
    del figure
    gc.collect()
    if path is not None:
        with contextlib.suppress(OSError):
            keeping.write(path, markup)
    return markup


def _output(markup: str) -> Any:
    from nbformat.v4 import new_output

    return new_output("display_data", data={"text/html": markup, "text/plain": "picture"})  # type: ignore[no-untyped-call]


def _givens(task: Mapping[str, Any], paper: Mapping[str, Any], key: str) -> Any:
    return judging.draw(QUESTIONS[key], paper["begun"], paper["homework"])


def _verdict_pictures(task: Mapping[str, Any]) -> list[dict[str, list[str]]]:
    """Draw what was flown, by marked cell, for each student."""
    sheet = Sheet(task["lesson"], json.loads(task["source"]), json.loads(task["released"]))
    drawn: list[dict[str, list[str]]] = [{} for _ in task["papers"]]
    for name, one in sheet.marked.items():
        question = QUESTIONS.get(one.question)
        if not isinstance(question, (FilledPlan, FlownByHand)):
            continue
        answered = []
        for number, paper in enumerate(task["papers"]):
            answer = values.unpacked(paper["answers"][name]) if name in paper["answers"] else None
            if not is_blank(answer):
                givens = _givens(task, paper, one.question)
                answered.append((number, givens, as_the_field(question, givens, answer)))
        for number, givens, evidence in _flights(question, answered):
            shown = question.afterwards(givens, Verdict(Outcome.PASS, 1.0, "", evidence=evidence))
            drawn[number][name] = [_drawn(figure, dict(held), task["kept"]) for figure, held in shown]
    return drawn


def _flights(
    question: FilledPlan | FlownByHand, answered: list[tuple[int, Any, Any]]
) -> Iterator[tuple[int, Any, tuple[Any, ...]]]:
    """Fly the plans again, in the first of their days, or take the recordings; what cannot be shown is left out."""
    if isinstance(question, FilledPlan):
        flown = question.fly_all([(givens, answer, False) for _, givens, answer in answered])
        for (number, givens, _), flights in zip(answered, flown, strict=True):
            if not isinstance(flights, Unreadable):
                yield number, givens, tuple(flights[:1])
        return
    for number, givens, answer in answered:
        with contextlib.suppress(NeedleworkError, TypeError, ValueError):
            yield number, givens, (question.seen(recording.read(str(answer))),)


def _with_pictures(
    nb: Any, task: Mapping[str, Any], paper: Mapping[str, Any], flown: Mapping[str, list[str]]
) -> None:
    """Put the pictures of questions below them, and those of verdicts above them."""
    for cell in nb.cells:
        if cell.cell_type != "code":
            continue
        name = str(cell.metadata.get("nbgrader", {}).get("grade_id", ""))
        if name in flown:
            cell.outputs = [*(_output(markup) for markup in flown[name]), *cell.outputs]
            continue
        outputs = []
        for output in cell.outputs:
            outputs.append(output)
            said = bundle.read(output)
            question = QUESTIONS.get(said.question.key) if said is not None and said.question is not None else None
            if question is not None and question.figure:
                held = question.figure_values(_givens(task, paper, question.key))
                outputs.append(_output(_drawn(question.figure, held, task["kept"])))
        cell.outputs = outputs
