"""One hand-in: its cells put in order, its flights taken out, and what its answer cells give.

Nothing of a hand-in is run here. Where :mod:`needlework.desk.plainly` can follow every cell, the answers are known at
once; otherwise the steps are given that the sealed process has to take (:mod:`needlework.desk.room`).
"""

from __future__ import annotations

import ast
import contextlib
import copy
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from needlework.basis.errors import BadData
from needlework.course.lesson import mistakes
from needlework.course.lesson.session import Session
from needlework.desk import as_typed
from needlework.desk.plainly import VERBS, NeedsKernel, Reader
from needlework.exercises import bundle, judging, recording, telling
from needlework.exercises.answers import is_blank
from needlework.exercises.catalogue import QUESTIONS

_MOST_FLIGHTS = 50
_MOST_CELLS = 2_000
_MOST_HINTS = len(telling.RUNGS)
_JUDGED = re.compile(r"""(?m)^(check|score)\(["']([\w-]+)["'], (\w+)\)""")
_BEGUN = re.compile(r"""(?m)^begin\(["']([\w-]+)["']""")
_SIGNED = re.compile(r"""(?m)^begin\(.*\bhomework=["'](\w+)["']""")
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")

EMPTY = "the file is empty"
ANOTHER_KIND = "it is no notebook but another kind of file, whose name was made to end in .ipynb"
DAMAGED = "the file is damaged: it begins like a notebook and cannot be read to its end"
NOT_WHOLE = "the file is damaged: it is not a whole notebook"


_HALF_A_LETTER = re.compile(r"\\u[dD][89a-fA-F]")


def printable(text: str, longest: int = 200) -> str:
    """Take out of a text what would steer a terminal, and shorten it.

    Parameters
    ----------
    text : str
        From a hand-in.
    longest : int
        Longest text that is left whole.

    Returns
    -------
    str
        One line.
    """
    plain = " ".join(_CONTROL.sub("", re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]", "", text)).split())
    return plain if len(plain) <= longest else plain[: longest - 1] + "…"


# --- notebooks as plain data ----------------------------------------------------------------------------------------


def source_of(cell: Mapping[str, Any]) -> str:
    """Give a cell's text."""
    source = cell.get("source", "")
    return source if isinstance(source, str) else "".join(map(str, source))


def about(cell: Mapping[str, Any]) -> dict[str, Any]:
    """Give what nbgrader knows of a cell; empty if nothing."""
    metadata = cell.get("metadata")
    found = metadata.get("nbgrader") if isinstance(metadata, dict) else None
    return found if isinstance(found, dict) else {}


def name_of(cell: Mapping[str, Any]) -> str:
    """Give the name under which nbgrader knows a cell; empty if it does not."""
    return str(about(cell).get("grade_id", ""))


_NAMED = re.compile(r"""(?m)^student\s*=\s*(?P<quote>["'])(?P<name>.*?)(?P=quote)""")


def _first_found(content: bytes, pattern: re.Pattern[str], group: str | int) -> str:
    """Find something in the code of a notebook; empty where it is not there, or the file is damaged."""
    try:
        cells = parsed(content)["cells"]
    except BadData:
        return ""
    texts = (source_of(cell) for cell in cells if cell.get("cell_type") == "code")
    return next((found[group].strip() for text in texts if (found := pattern.search(text))), "")


def typed_name(content: bytes) -> str:
    """Read the name that was typed at the top of a notebook, before anything of it is run.

    Parameters
    ----------
    content : bytes
        What is in the file.

    Returns
    -------
    str
        The name; empty where none was typed as plain text.
    """
    return _first_found(content, _NAMED, "name")


def begun_in(content: bytes) -> str:
    """Read which lesson a notebook begins.

    Parameters
    ----------
    content : bytes
        What is in the file.

    Returns
    -------
    str
        Key of the lesson; empty where it begins none.
    """
    return _first_found(content, _BEGUN, 1)


def homework_in(content: bytes) -> str:
    """Read which hand-out a notebook says it belongs to, before anything of it is run.

    Parameters
    ----------
    content : bytes
        What is in the file.

    Returns
    -------
    str
        The sign of the hand-out; empty where there is none.
    """
    return _first_found(content, _SIGNED, 1)


def fault_of(content: bytes) -> str:
    """Say why a file cannot be read as a notebook, in one clause; empty where it can."""
    try:
        parsed(content)
    except BadData as fault:
        return str(fault)
    return ""


def parsed(content: bytes) -> dict[str, Any]:
    """Read a notebook, whatever wrote it: with a byte-order mark, or in the format of earlier years.

    Parameters
    ----------
    content : bytes
        What is in the file.

    Returns
    -------
    dict
        A notebook of format 4 whose cells have a kind, metadata and a text.

    Raises
    ------
    BadData
        If it is none; the text is a clause.
    """
    try:
        text = content.decode(json.detect_encoding(content)).lstrip("\ufeff")
        book = json.loads(text)
        if _HALF_A_LETTER.search(text):
            # Half of a letter can be written down like this, and in no file of ours.
            book = json.loads(json.dumps(book, ensure_ascii=False).encode("utf-8", "replace"))
    except (ValueError, RecursionError):
        raise BadData(_why_unread(content)) from None
    if not isinstance(book, dict) or "nbformat" not in book:
        raise BadData(ANOTHER_KIND)
    try:
        if book["nbformat"] in (2, 3):
            import nbformat

            book = json.loads(json.dumps(nbformat.convert(nbformat.from_dict(book), 4)))  # type: ignore[no-untyped-call]
        if book["nbformat"] != 4 or not isinstance(book["cells"], list) or len(book["cells"]) > _MOST_CELLS:
            raise ValueError
        cells = [_whole_cell(cell) for cell in book["cells"]]
        metadata = book.get("metadata")
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise BadData(NOT_WHOLE) from None
    except Exception:  # what a converter of old formats makes of a strange file
        raise BadData(NOT_WHOLE) from None
    return {**book, "cells": cells, "metadata": metadata if isinstance(metadata, dict) else {}}


def _why_unread(content: bytes) -> str:
    """Say of a file that cannot be read whether a notebook broke on its way, or it never was one."""
    begins = content[:4000].replace(b"\0", b"").lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n")
    return EMPTY if not content.strip(b"\0 \t\r\n") else DAMAGED if begins.startswith(b"{") else ANOTHER_KIND


def _whole_cell(cell: Any) -> dict[str, Any]:
    if cell["cell_type"] not in ("code", "markdown", "raw"):
        raise ValueError(cell["cell_type"])
    metadata, outputs = cell.get("metadata"), cell.get("outputs")
    made = {**cell, "source": source_of({"source": cell["source"]})}
    made["metadata"] = metadata if isinstance(metadata, dict) else {}
    if cell["cell_type"] == "code":
        made["outputs"] = [each for each in outputs if isinstance(each, dict)] if isinstance(outputs, list) else []
    return made


# --- the lesson as the desk handed it out ---------------------------------------------------------------------------


@dataclass(frozen=True)
class Marked:
    """One marked cell.

    Parameters
    ----------
    question, variable : str
        The question's key, and the name whose value is judged.
    hidden : bool
        True if it is tried on numbers not shown before.
    points : float
        Full marks.
    """

    question: str
    variable: str
    hidden: bool
    points: float


@dataclass(frozen=True)
class Sheet:
    """A lesson as it stands on the desk.

    Parameters
    ----------
    key : str
        Under which it stands on the desk.
    source, released : dict
        The solved and the released notebook.

    Attributes
    ----------
    lesson : str
        Key of the lesson that it begins: a sitting has a name of its own.
    marked : dict of str to Marked
        The cells that are judged, by name.
    by_hand : tuple of str
        The cells that a person marks.
    answer_of : dict of str to str
        By marked cell, the answer cell above it.
    """

    key: str
    source: dict[str, Any]
    released: dict[str, Any]
    lesson: str = field(init=False)
    marked: dict[str, Marked] = field(init=False)
    by_hand: tuple[str, ...] = field(init=False)
    answer_of: dict[str, str] = field(init=False)

    def __post_init__(self) -> None:
        marked, by_hand, answer_of, above = {}, [], {}, ""
        begun = [key for cell in self.source["cells"] for key in _BEGUN.findall(source_of(cell))]
        object.__setattr__(self, "lesson", begun[0] if begun else self.key)
        for cell in self.source["cells"]:
            told = about(cell)
            above = name_of(cell) if told.get("solution") else above
            if not told.get("grade"):
                continue
            found = _JUDGED.findall(source_of(cell))
            if told.get("solution") or not found:
                by_hand.append(name_of(cell))
                continue
            _, question, variable = found[-1]
            hidden = any(verb == "score" for verb, _, _ in found)
            marked[name_of(cell)] = Marked(question, variable, hidden, float(told["points"]))
            answer_of[name_of(cell)] = above
        object.__setattr__(self, "marked", marked)
        object.__setattr__(self, "answer_of", answer_of)
        object.__setattr__(self, "by_hand", tuple(by_hand))

    def stubs(self) -> dict[str, str]:
        """Give the answer cells as they were handed out, by name."""
        cells = self.released["cells"]
        return {name_of(cell): source_of(cell).strip() for cell in cells if about(cell).get("solution")}


def holds_code(source: str) -> bool:
    """Say whether an answer cell holds more than its question and an answer left empty.

    Parameters
    ----------
    source : str
        Its text.

    Returns
    -------
    bool
        True for code, also where it cannot be read as such.
    """
    try:
        body = ast.parse(source).body
    except (SyntaxError, ValueError, RecursionError, MemoryError):
        return True
    return not all(map(_is_nothing, body))


def _is_nothing(part: ast.stmt) -> bool:
    match part:
        case ast.Import() | ast.ImportFrom() | ast.Pass() | ast.Expr(value=ast.Constant()):
            return True
        case ast.Expr(value=ast.Call(func=ast.Name(id=name))) if name in VERBS:
            return True
        case ast.Assign(value=ast.Call(func=ast.Name(id="flight_of"))):
            return True
        case ast.Assign(value=value):
            with contextlib.suppress(ValueError, TypeError, RecursionError, MemoryError):
                return is_blank(ast.literal_eval(value))
    return False


# --- what a hand-in gives -------------------------------------------------------------------------------------------


@dataclass
class Given:
    """What one hand-in gives.

    Parameters
    ----------
    begun : str or None
        The name its session was begun with; None if it was not begun.
    homework : str
        Which hand-out it is, as its session was told.
    answers : dict
        By marked cell, the value behind it; where there is none, it is not in it.
    stopped : dict of str to str
        By question, the sentence with which the cell that asks it stopped.
    why_stopped : dict of str to str
        The same for the instructor, who is not at the cell and is to know why.
    first_cell : str
        The sentence with which the cell stopped that begins the lesson; empty if it did not.
    flights : dict of str to str
        By exercise, the newest recording flown to its end.
    notes : list of str
        What was put right on the way, one clause each.
    code : str
        Why it has to be run; empty if it need not be.
    failed : str
        Why it gives nothing at all, one clause; empty if it gives something.
    machine : bool
        True if that is the machine's fault, not the hand-in's.
    worked : dict of str to dict
        By question, what the notebook itself says of the way to its answer: ``hints`` (how many were taken) and
        ``at`` (when it was checked last, seconds since 1970 UTC). Anyone can have written it; no mark rests on it.
    """

    begun: str | None = None
    homework: str = ""
    answers: dict[str, Any] = field(default_factory=dict)
    stopped: dict[str, str] = field(default_factory=dict)
    first_cell: str = ""
    why_stopped: dict[str, str] = field(default_factory=dict)
    flights: dict[str, str] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    code: str = ""
    failed: str = ""
    machine: bool = False
    worked: dict[str, dict[str, float]] = field(default_factory=dict)


def mended(sheet: Sheet, book: dict[str, Any]) -> tuple[list[dict[str, Any]], list[str]]:
    """Let the last of several cells with one name count, and put marked cells that are not there back.

    Parameters
    ----------
    sheet : Sheet
        The lesson.
    book : dict
        The notebook, as :func:`parsed` gave it.

    Returns
    -------
    list of dict
        Its cells; marked cells have the desk's own text.
    list of str
        What was put right, one clause each.
    """
    cells, notes = [dict(cell) for cell in book["cells"]], []
    places: dict[str, int] = {}
    for number in reversed(range(len(cells))):
        name = name_of(cells[number])
        if name in places:
            cells[number]["metadata"] = {k: v for k, v in cells[number]["metadata"].items() if k != "nbgrader"}
            notes.append(f"the cell '{printable(name, 60)}' is there more than once; the last one counts")
        elif name:
            places[name] = number
    there, before, absent = set(places), "", []
    answers: list[dict[str, Any]] = []
    for cell in sheet.released["cells"]:
        name = name_of(cell)
        if about(cell).get("solution"):
            answers.append(cell)
        if name not in there and about(cell).get("grade"):
            # A question of a later edition: its empty answer comes with it, or it would stop.
            new = [answer for answer in answers if name_of(answer) not in there and answer is not cell]
            for each in [*new, cell]:
                at = places[before] + 1 if before else 0
                cells.insert(at, copy.deepcopy(each))
                places = {other: place + (place >= at) for other, place in places.items()} | {name_of(each): at}
                before = name_of(each)
            if new:
                absent.append(name)
            else:
                notes.append(f"the marked cell '{name}' was deleted and is put back")
        if about(cell).get("grade"):
            answers = []
        before = name if name in places else before
    if absent:
        notes.append(f"not in this copy, and counts 0: {', '.join(map(repr, absent))}")
    kinds = {name_of(cell): cell for cell in sheet.source["cells"] if name_of(cell)}
    for number, cell in enumerate(cells):
        ours = kinds.get(name_of(cell))
        if ours is None:
            continue
        # A learner may have turned a cell into text by a slip of the hand: it still counts as what it was.
        cells[number] = {**cell, "cell_type": ours["cell_type"], "metadata": copy.deepcopy(ours["metadata"])}
        if ours["cell_type"] == "code":
            cells[number].setdefault("outputs", [])
        if name_of(cell) in sheet.marked:
            cells[number]["source"] = source_of(ours)
    return cells, notes


def _flights(book: dict[str, Any], notes: list[str]) -> dict[str, str]:
    """Take the recordings out of a notebook's outputs: of each exercise the newest that was flown to its end."""
    found: dict[str, list[tuple[str, int, str]]] = {}
    number = 0
    for cell in book["cells"]:
        for output in cell.get("outputs", ()):
            data = output.get("data")
            held = data.get(recording.MIME) if isinstance(data, dict) else None
            if held is None or number >= _MOST_FLIGHTS:
                continue
            try:
                flown = recording.unpacked(held)
            except (BadData, RecursionError, ValueError) as fault:
                unread = "A flight in this notebook cannot be read."
                notes.append(str(fault) if isinstance(fault, BadData) else unread)
                continue
            number += 1
            if flown.ended:
                kept = found.setdefault(str(flown.about["name"]), [])
                kept.append((str(flown.about["start_utc"]), number, flown.text))
    return {name: max(all_of_it)[2] for name, all_of_it in found.items()}


def worked(sheet: Sheet, book: dict[str, Any]) -> dict[str, dict[str, float]]:
    """Take out of a notebook which hints were taken for each question, and when it was checked last.

    Parameters
    ----------
    sheet : Sheet
        The lesson.
    book : dict
        The notebook, as :func:`parsed` gave it.

    Returns
    -------
    dict of str to dict
        By question, as :class:`Given` has it.
    """
    found: dict[str, dict[str, float]] = {}
    questions = {one.question for one in sheet.marked.values()}
    for cell in book["cells"]:
        of_page = cell["metadata"].get("needlework")
        said = of_page.get("worked") if isinstance(of_page, dict) else None
        told = [said] if isinstance(said, dict) else []
        for output in cell.get("outputs", ()):
            # Read without the strict reader: this is for one line on a page, and there are thousands of them.
            data = output.get("data")
            shown = data.get(bundle.MIME) if isinstance(data, dict) else None
            hint = shown.get("hint") if isinstance(shown, dict) else None
            if isinstance(hint, dict):
                told.append({"key": hint.get("key"), "hints": hint.get("rung")})
        for each in told:
            key, rung, when = each.get("key"), each.get("hints"), each.get("checked")
            if not isinstance(key, str) or key not in questions:
                continue
            one = found.setdefault(key, {})
            if type(rung) is int and 0 < rung <= _MOST_HINTS:
                one["hints"] = max(rung, one.get("hints", 0))
            if isinstance(when, str):
                with contextlib.suppress(ValueError, OverflowError):
                    one["at"] = datetime.fromisoformat(when).timestamp()
    return found


def _edition(book: Mapping[str, Any]) -> str:
    said = book["metadata"].get("needlework")
    return str(said.get("edition", "")) if isinstance(said, dict) else ""


@dataclass(frozen=True)
class Step:
    """One thing to do with a hand-in in order.

    Parameters
    ----------
    kind : str
        ``run`` a cell, or ``give`` what a name holds.
    name : str
        The cell's name; of a cell of the learner's own, empty.
    text : str
        The cell's text, or the name.
    """

    kind: str
    name: str
    text: str


def steps_of(sheet: Sheet, cells: list[dict[str, Any]]) -> list[Step]:
    """Give what is done with a hand-in, in order.

    Parameters
    ----------
    sheet : Sheet
        The lesson.
    cells : list of dict
        As :func:`mended` gave them.

    Returns
    -------
    list of Step
        Cells that are run, and names that are judged.
    """
    steps = []
    for cell in cells:
        name = name_of(cell)
        if name in sheet.marked:
            steps.append(Step("give", name, sheet.marked[name].variable))
        elif cell["cell_type"] == "code" and name not in sheet.by_hand:
            text = source_of(cell)
            steps.append(Step("run", name, as_typed.mended(text) if about(cell).get("solution") else text))
    return steps


class Stopped:
    """Keeps, while cells are followed or their errors come in, which questions have a cell that stopped."""

    def __init__(self, given: Given) -> None:
        self._given, self._session = given, Session()

    def cell(self, source: str, error: BaseException | None) -> None:
        """Take what became of a cell.

        Parameters
        ----------
        source : str
            Its text.
        error : BaseException or None
            With what it stopped, if it did.
        """
        asked = re.findall(mistakes.ASKED, source)
        self._session.cell = source
        if error is None:
            for key in asked:
                self._given.stopped.pop(key, None)
            self._session.stopped.difference_update(asked)
            return
        self._session.stopped.update(asked)
        said = printable(mistakes.in_one_sentence(error, self._session, helped=False))
        self._given.stopped |= dict.fromkeys(asked, said)
        # These words help a student who is at the cell; an instructor is to know why.
        why = f"as Python says it: {printable(mistakes.as_python(error))}" if said == mistakes.COULD_NOT else said
        self._given.why_stopped |= dict.fromkeys(asked, why)
        if re.search(r"(?m)^begin\(", source):
            self._given.first_cell = why


def read(sheet: Sheet, content: bytes) -> tuple[Given, list[dict[str, Any]]]:
    """Read what a hand-in gives, as far as it can be told without running it.

    Parameters
    ----------
    sheet : Sheet
        The lesson.
    content : bytes
        What is in the file.

    Returns
    -------
    Given
        What it gives; ``code`` says so where it has to be run.
    list of dict
        Its cells, in order; empty where the file is damaged.
    """
    given = Given()
    try:
        book = parsed(content)
    except BadData as fault:
        given.failed = str(fault)
        return given, []
    cells, notes = mended(sheet, book)
    given.flights = _flights(book, given.notes)
    given.worked = worked(sheet, book)
    if _edition(book) != _edition(sheet.released):
        given.notes.append("it was worked in another edition of the lesson than was handed out last")
    stubs = sheet.stubs()
    filled = {name_of(cell): source_of(cell).strip() for cell in book["cells"] if name_of(cell) in stubs}
    if stubs and filled == stubs and not given.flights:
        given.notes.append("nothing was filled in")
    given.notes += notes
    _follow(sheet, cells, given)
    return given, cells


def _follow(sheet: Sheet, cells: list[dict[str, Any]], given: Given) -> None:
    def numbers(key: str, student: str, homework: str) -> Mapping[str, Any]:
        if key not in QUESTIONS:
            raise NeedsKernel("a question of another name")
        return judging.draw(QUESTIONS[key], student, homework)

    reader, stopped = Reader(sheet.lesson, numbers, given.flights.get), Stopped(given)
    try:
        for step in steps_of(sheet, cells):
            if step.kind == "run":
                stopped.cell(step.text, reader.cell(step.text))
            elif step.text in reader.names:
                given.answers[step.name] = copy.deepcopy(reader.names[step.text])
        given.begun, given.homework = reader.begun, reader.homework
    except NeedsKernel as why:
        given.code = str(why) or "code of its own"
        given.answers, given.stopped, given.first_cell = {}, {}, ""
