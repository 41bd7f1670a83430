"""Marking one hand-in through nbgrader: whatever is in it, it spoils nothing and is never a silent 0."""

from __future__ import annotations

import contextlib
import copy
import math
import os
import re
import sys
import tempfile
import warnings
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import nbformat
from jupyter_client.manager import AsyncKernelManager
from nbformat.v4 import new_output
from nbgrader import utils
from nbgrader.converters import Autograde
from nbgrader.coursedir import CourseDirectory
from nbgrader.preprocessors import DeduplicateIds, Execute, NbGraderPreprocessor, SaveAutoGrades
from sqlalchemy.exc import SAWarning

from needlework.basis.errors import BadData
from needlework.basis.places import VARIABLE
from needlework.building.release import Listener
from needlework.desk.collect import words_of
from needlework.desk.sealed import SealedKernelManager
from needlework.exercises import bundle, recording

_CELL_SECONDS = 60
_TIMEOUTS_ALLOWED = 2
_MOST_FLIGHTS = 50
_NAME_TYPED = r"""(?m)^student\s*=\s*["'](.*?)["']"""
_OUTPUT_LETTERS = 2_000_000
"""What one cell may print before the rest is dropped; a lesson's largest picture has a tenth of it."""


@dataclass
class Finding:
    """What came of marking one hand-in.

    Parameters
    ----------
    marked : bool
        True if there are marks in the gradebook for this hand-in.
    look : list of str
        Why a person should look at it, one clause each; empty if there is nothing.
    cells : dict of str to str
        The same for one marked cell, by its name; settled by a mark set by hand.
    notes : list of str
        What was put right on the way, one clause each.
    """

    marked: bool = False
    look: list[str] = field(default_factory=list)
    cells: dict[str, str] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)


@contextlib.contextmanager
def nbgrader_at_work(flights: str = "", data: Path | None = None) -> Iterator[None]:
    """Give nbgrader what it needs around it, and put everything back afterwards.

    It calls ``alembic`` by name when it makes a gradebook, so this interpreter's programs come first on PATH; and
    it says things to SQLAlchemy that SQLAlchemy warns of, which are no news to an instructor. ``flights`` is the
    folder in which the kernel finds the recordings that came in the notebook, ``data`` the one with a lesson that is
    the instructor's own.
    """
    programs = str(Path(sys.executable).parent)
    wanted = {
        "PATH": programs + os.pathsep + os.environ.get("PATH", ""),
        "NEEDLEWORK_GRADING": "1",
        "NEEDLEWORK_FLIGHTS": flights,
        VARIABLE: str(data or ""),
        "JUPYTER_PREFER_ENV_PATH": "1",
    }
    before = {name: os.environ.get(name) for name in wanted}
    os.environ.update(wanted)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", SAWarning)
            yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


class _StuckKernel(Exception):
    """The code in a hand-in does not stop, even when told to."""


def _plain_mark(cell: Any, most: float) -> float | None:
    """Read the mark that a marked cell gave; None if there is not exactly one, or it is not a possible mark."""
    results = [output for output in cell.outputs if output.output_type == "execute_result"]
    if len(results) != 1 or any(output.output_type == "error" for output in cell.outputs):
        return None
    text = results[0].data.get("text/plain", "")
    try:
        mark = float(text)
    except (TypeError, ValueError):
        return None
    return mark if math.isfinite(mark) and 0.0 <= mark <= most else None


def _name(cell: Any) -> str:
    return str(cell.metadata.get("nbgrader", {}).get("grade_id", ""))


def _was_read(cell: Any, name: str, finding: Finding) -> bool:
    """Say whether a marked cell could read its answer; it has said so in its data."""
    read = True
    for output in cell.outputs:
        try:
            said = bundle.read(output)
        except BadData as fault:
            finding.notes.append(f"what '{name}' says of its answer is passed over: {fault}")
            continue
        read = read and (said is None or said.answer is None or said.answer.readable)
    return read


def _take_flights(nb: Any, flights: Path, finding: Finding) -> None:
    """Lay the recordings that stand in a notebook's outputs where its cells look for them."""
    number = 0
    for cell in nb.cells:
        for output in cell.get("outputs", ()):
            held = output.get("data", {}).get(recording.MIME)
            if held is None or number >= _MOST_FLIGHTS:
                continue
            try:
                flown = recording.unpacked(held)
            except BadData as fault:
                finding.notes.append(str(fault))
                continue
            number += 1
            path = flights / f"{recording.slug(str(flown.about['name']))}-{number:03d}.csv"
            path.write_text(flown.text, encoding="utf-8", newline="\n")


def _whose_numbers(nb: Any, names: set[str], finding: Finding) -> None:
    """Tell where the name typed in a notebook has nothing in common with the name it was handed in under."""
    typed = next((m[1] for cell in nb.cells if (m := re.search(_NAME_TYPED, str(cell.source)))), None)
    if typed is None:
        return
    if not typed.strip():
        finding.notes.append("no name was typed in it, so its numbers are those of a student alone")
    elif not set(words_of(typed)) & names:
        finding.look.append(f"its numbers are those of “{typed.strip()}”")


def _edition(nb: Any) -> str:
    """The edition that a notebook says it is of; empty for the course's own lessons."""
    said = nb.metadata.get("needlework", {})
    return str(said.get("edition", "")) if isinstance(said, dict) else ""


def _nothing_answered(nb: Any, released: Any) -> bool:
    """Say whether every answer cell is as it was handed out."""
    stubs = {_name(cell): cell.source.strip() for cell in released.cells if utils.is_solution(cell)}
    given = {_name(cell): cell.source.strip() for cell in nb.cells if _name(cell) in stubs}
    flown = any(recording.MIME in output.get("data", {}) for cell in nb.cells for output in cell.get("outputs", ()))
    return bool(stubs) and given == stubs and not flown


def answer_cell(cells: list[Any], name: str) -> Any | None:
    """Find the answer cell that belongs to a marked cell: the nearest one above it.

    Parameters
    ----------
    cells : list
        Cells of the notebook.
    name : str
        Name of the marked cell.

    Returns
    -------
    cell or None
        None if there is no answer cell above it.
    """
    found = None
    for cell in cells:
        if _name(cell) == name:
            return found
        if utils.is_grade(cell):
            found = None
        if utils.is_solution(cell):
            found = cell
    return None


def _stopped_with(cell: Any) -> str:
    """Say in a few words with what a cell stopped; empty if it did not."""
    error = next((output for output in cell.outputs if output.output_type == "error"), None)
    if error is None:
        return ""
    said = [re.sub(r"\x1b\[[0-9;]*m", "", line).strip() for line in error.traceback]
    # The course's own cells say one sentence; anything else is a stack trace, of which only the name is worth it.
    return f"“{said[0]}”" if len(said) == 1 and "\n" not in said[0] else str(error.ename)


def _add_steps(converter: Any, released: Any, finding: Finding, sealed: bool, names: set[str], flights: Path) -> None:
    """Put the course's own steps between nbgrader's: what is done before the code runs, and from then on."""

    class MendCells(NbGraderPreprocessor):  # type: ignore[misc]
        """Let the last of several cells with one name count, and put answer and marked cells that are not there back.

        nbgrader itself stops at the first and gives 0 for the second.
        """

        def preprocess(self, nb: Any, resources: Any) -> tuple[Any, Any]:
            _take_flights(nb, flights, finding)
            _whose_numbers(nb, names, finding)
            if _edition(nb) != _edition(released):
                finding.notes.append("it was worked in another edition of the lesson than was handed out last")
            if _nothing_answered(nb, released):
                finding.notes.append("nothing was filled in")
            places: dict[str, int] = {}
            for number in reversed(range(len(nb.cells))):
                name = _name(nb.cells[number])
                if name in places:
                    del nb.cells[number].metadata["nbgrader"]
                    finding.notes.append(f"the cell '{name}' is there more than once; the last one counts")
                elif name:
                    places[name] = number
            there, before, answers, absent = set(places), "", [], []
            for cell in released.cells:
                name = _name(cell)
                about = cell.metadata.get("nbgrader", {})
                if about.get("solution"):
                    answers.append(cell)
                if name not in there and about.get("grade"):
                    # A question of a later edition: its empty answer comes with it, or it would stop.
                    new = [answer for answer in answers if _name(answer) not in there]
                    for each in [*new, cell]:
                        at = places[before] + 1 if before else 0
                        nb.cells.insert(at, copy.deepcopy(each))
                        places = {other: place + (place >= at) for other, place in places.items()} | {_name(each): at}
                        before = _name(each)
                    if new:
                        absent.append(name)
                    else:
                        finding.notes.append(f"the marked cell '{name}' was deleted and is put back")
                if about.get("grade"):
                    answers = []
                before = name if name in places else before
            if absent:
                listed = ", ".join(f"'{name}'" for name in absent)
                finding.notes.append(f"not in this copy, and counts 0: {listed}")
            return nb, resources

    class Run(Execute):  # type: ignore[misc]
        """Run the cells in a kernel of the right kind, with an end to patience and to output."""

        def __init__(self, *args: Any, **settings: Any) -> None:
            settings["kernel_manager_class"] = SealedKernelManager if sealed else AsyncKernelManager
            super().__init__(*args, **settings)
            self.timeout = _CELL_SECONDS
            self._timeouts = 0
            self._letters: dict[int, int] = {}

        async def _async_handle_timeout(self, timeout: int, cell: Any = None) -> Any:
            self._timeouts += 1
            if self._timeouts > _TIMEOUTS_ALLOWED:
                raise _StuckKernel
            return await super()._async_handle_timeout(timeout, cell)

        def process_message(self, msg: Any, cell: Any, cell_index: int) -> Any:
            if msg["msg_type"] in ("stream", "display_data", "execute_result", "update_display_data"):
                total = self._letters.get(cell_index, 0) + len(str(msg["content"]))
                self._letters[cell_index] = total
                if total > _OUTPUT_LETTERS:
                    return None
            return super().process_message(msg, cell, cell_index)

    class TrustOnlyPlainMarks(NbGraderPreprocessor):  # type: ignore[misc]
        """Turn everything that nbgrader would take for full marks, or fall over, into 0 and a reason to look.

        nbgrader gives full marks for a marked cell that shows no number, and 0 for one that shows a warning.
        """

        def preprocess(self, nb: Any, resources: Any) -> tuple[Any, Any]:
            self._cells = nb.cells
            self._unread: list[str] = []
            done: tuple[Any, Any] = super().preprocess(nb, resources)
            if self._unread:
                finding.notes.append(f"could not be read and counts 0: {', '.join(self._unread)}")
            return done

        def preprocess_cell(self, cell: Any, resources: Any, _index: int) -> tuple[Any, Any]:
            if not utils.is_grade(cell) or cell.cell_type != "code":
                return cell, resources
            for output in cell.outputs:
                if output.output_type == "stream":
                    output.name = "stdout"
            name = cell.metadata.nbgrader["grade_id"]
            if _plain_mark(cell, float(cell.metadata.nbgrader["points"])) is None:
                fault = next((o.ename for o in cell.outputs if o.output_type == "error"), "")
                reason = f"stopped with {fault}" if fault else "gave no mark that can be trusted"
                finding.cells[name] = f"the marked cell '{name}' {reason}"
                above = answer_cell(self._cells, name)
                cause = _stopped_with(above) if above is not None and above.cell_type == "code" else ""
                if fault and cause.startswith("“"):
                    finding.cells[name] = f"'{name}' counts 0, because its answer cell cannot be run: {cause}"
                elif fault and cause:
                    finding.cells[name] += f", because its answer cell stopped with {cause}"
                if not fault:
                    text = f"This cell {reason}; your instructor has been told to look at it."
                    cell.outputs = [
                        new_output(  # type: ignore[no-untyped-call]
                            "error", ename="NoMark", evalue=text, traceback=[text]
                        )
                    ]
            elif not _was_read(cell, name, finding):
                self._unread.append(f"'{name}'")
            return cell, resources

    converter.sanitize_preprocessors = [
        MendCells,
        *(step for step in converter.sanitize_preprocessors if step is not DeduplicateIds),
    ]
    after: list[Any] = []
    for step in converter.autograde_preprocessors:
        if step is SaveAutoGrades:
            after.append(TrustOnlyPlainMarks)
        after.append(Run if step is Execute else step)
    converter.autograde_preprocessors = after


_REASONS = (
    ("_StuckKernel", "its code does not stop by itself"),
    ("CellTimeoutError", "its code does not stop by itself"),
    ("DeadKernelError", "its code made the kernel stop"),
    ("NotJSONError", "the file is damaged: it is not a notebook"),
    ("ValidationError", "the file is damaged: it is not a whole notebook"),
    ("Unsupported nbformat", "the file is damaged: it is not a whole notebook"),
)


def _reason(error: BaseException, told: list[str]) -> str:
    """Say in one clause why a hand-in could not be marked."""
    last = told[-1] if told else f"{type(error).__name__}: {error}"
    return next(
        (reason for word, reason in _REASONS if any(word in line for line in told)), f"marking it failed: {last}"
    )


def mark_one(
    settings: Any, lesson: str, student: str, sealed: bool, full_name: str = "", data: Path | None = None
) -> Finding:
    """Mark one hand-in and enter the marks into the gradebook.

    Parameters
    ----------
    settings : traitlets.config.Config
        As :func:`needlework.building.release.configuration` gives them.
    lesson, student : str
        Names of the two folders under ``submitted``.
    sealed : bool
        True to run its code behind walls.
    full_name : str
        The student's name on the class list, which may be typed in the notebook as well as the id.
    data : pathlib.Path, optional
        Folder with data and functions of a lesson that is the instructor's own; only the kernel loads them.

    Returns
    -------
    Finding
        What came of it; nothing is raised for anything a hand-in can do.
    """
    finding = Finding()
    settings = settings.copy()
    settings.CourseDirectory.assignment_id = lesson
    settings.CourseDirectory.student_id = student
    log = Listener()
    converter = Autograde(
        coursedir=CourseDirectory(config=settings, log=log),
        config=settings,
        force=True,
        log=log,
    )
    folder = converter.coursedir.format_path(converter.coursedir.release_directory, ".", lesson)
    released = nbformat.read(Path(folder) / f"{lesson}.ipynb", 4)  # type: ignore[no-untyped-call]
    try:
        with tempfile.TemporaryDirectory(prefix="nw-flights-") as flights, nbgrader_at_work(flights, data):
            names = set(words_of(f"{student} {full_name}"))
            _add_steps(converter, released, finding, sealed, names, Path(flights))
            converter.start()
        finding.marked = True
    except (Exception, SystemExit) as error:
        # Whatever a hand-in does, it is told here and the others go on.
        finding.look.append(_reason(error, log.lines()))
    return finding
