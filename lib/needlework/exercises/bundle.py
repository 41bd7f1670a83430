"""What a lesson's cell shows, as data: one kind of output for the question, the answer and the verdict.

It travels beside the page for people (``text/html``) and the line for everybody else (``text/plain``), under the
name :data:`MIME`. Whoever wants to know what was asked, understood or judged (the marking desk, a page in front of
the notebook, a report) reads this and never the page.

A bundle is one JSON object: ``version`` and the parts a cell has shown, each an object of its own, left out where it
has none:

=========== ========================== ===================================================
part        class                      shown by
=========== ========================== ===================================================
lesson      :class:`BegunLesson`       ``begin``
question    :class:`AskedQuestion`     ``ask``
answer      :class:`ReadAnswer`        ``check``, ``score``
verdict     :class:`GivenVerdict`      ``score``; ``check``, unless it is a task that is noted
hint        :class:`GivenHint`         ``hint``
flight      :class:`OfferedFlight`     ``fly``
standing    :class:`Standing`          ``recap``
=========== ========================== ===================================================

The fields of a part are those of its class, under the same names; every field is written. Texts are for people:
two stars stand round **bold** words and backquotes round what is typed, as in a lesson. A reader takes exactly these
fields and refuses everything else; whatever is added or changes its meaning gets a new version.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from functools import cache
from typing import Any, ClassVar, Literal, TypeAlias

from needlework.basis.errors import BadData
from needlework.basis.quantity import within
from needlework.exercises.verdicts import Outcome

MIME = "application/vnd.needlework+json"
"""Name of the kind of output; for good, since copies of learners hold it."""
_VERSION = 1

Kind: TypeAlias = Literal["number", "choice", "order", "rule", "table", "plan", "flight", "text"]
"""What is asked for: a number, a letter, letters in order, a rule, a table, a plan's blanks, a flight, free text."""


class _Part:
    """Base of every object in a bundle: a reader takes its fields and no others, and converts nothing."""

    __pydantic_config__: ClassVar[Mapping[str, Any]] = {"strict": True, "extra": "forbid"}


@dataclass(frozen=True)
class BegunLesson(_Part):
    """A lesson that is set up.

    Parameters
    ----------
    key, title : str
        The lesson's.
    student : str
        Whose numbers are used, in the normal form of the name; empty for a student alone.
    passed, questions : int
        How many of its questions are right so far, and how many there are.
    warning : str
        What the learner is told about the progress file; empty when all is well.
    """

    key: str
    title: str
    student: str
    passed: int
    questions: int
    warning: str


@dataclass(frozen=True)
class Option(_Part):
    """One thing that can be picked or put in order.

    Parameters
    ----------
    letter : str
        What is written as the answer: a letter, or the word itself.
    text : str
        What it stands for.
    """

    letter: str
    text: str


@dataclass(frozen=True)
class AskedCell(_Part):
    """One cell of a table or one blank of a plan.

    Parameters
    ----------
    label : str
        Under which it is answered.
    kind : str
        ``"number"`` or ``"choice"``; other kinds where a table has such cells.
    unit : str
        Unit of a number, in words; empty where the label says it.
    precision : float or None
        To how much a number is asked for, in its unit: 0.1, 1, 10; None for what is no number or where it is not said.
    options : tuple of Option
        What can be picked.
    """

    label: str
    kind: Kind
    unit: str
    precision: float | None
    options: tuple[Option, ...]


@dataclass(frozen=True)
class AskedQuestion(_Part):
    """A question with one learner's numbers; nothing in it tells the answer.

    Parameters
    ----------
    key, lesson, title : str
        The question's key, its lesson's key, its title.
    kind : str
        What is asked for.
    prompt, given : str
        The question; the numbers it is asked with, empty where the prompt says all.
    unit : str
        Unit of a number or of what a rule gives, in words; else empty.
    precision : float or None
        To how much a number is asked for, in its unit: 0.1, 1, 10; else None.
    options : tuple of Option
        What can be picked (choice) or put in order (order).
    symbols : tuple of str
        The quantities a rule may use.
    cells : tuple of AskedCell
        The cells of a table, the blanks of a plan, in order.
    listed : bool
        True if the labels of the cells are shown with the question, since the answer cell does not hold them.
    task : bool
        True if the verdict comes from the marking desk.
    points : float
        Full marks.
    hints : int
        How many hints can be had; the last is the worked answer.
    """

    key: str
    lesson: str
    title: str
    kind: Kind
    prompt: str
    given: str
    unit: str
    precision: float | None
    options: tuple[Option, ...]
    symbols: tuple[str, ...]
    cells: tuple[AskedCell, ...]
    listed: bool
    task: bool
    points: float
    hints: int


@dataclass(frozen=True)
class ReadCell(_Part):
    """What was understood of one cell of a table.

    Parameters
    ----------
    label : str
        The cell's.
    given : str
        What was understood; empty for a blank cell.
    blank, readable : bool
        True if nothing was filled in; False if something was that cannot be understood.
    """

    label: str
    given: str
    blank: bool
    readable: bool


@dataclass(frozen=True)
class ReadAnswer(_Part):
    """What was understood of an answer.

    Parameters
    ----------
    key : str
        The question's.
    given : str
        What was understood, shortened where it is long; empty for a blank answer.
    blank : bool
        True if nothing was filled in.
    readable : bool
        False if it, or any of its cells, cannot be understood; the verdict says why.
    cells : tuple of ReadCell
        Of a table that could be read, every cell in order; else empty.
    """

    key: str
    given: str
    blank: bool
    readable: bool
    cells: tuple[ReadCell, ...]


@dataclass(frozen=True)
class JudgedCell(_Part):
    """The verdict on one cell of a table, or on one goal of a flight.

    Parameters
    ----------
    label : str
        The cell's, or what the goal is.
    outcome : Outcome
        What became of it.
    share : float
        How much of it was met, 0 to 1; goals weigh differently, so the marks are not told cell by cell.
    slip : str
        Code of the named mistake; empty if none was recognised.
    text : str
        The verdict in words.
    """

    label: str
    outcome: Outcome
    share: float
    slip: str
    text: str

    def __post_init__(self) -> None:
        within("share", self.share, 0.0, 1.0, "")


@dataclass(frozen=True)
class GivenVerdict(_Part):
    """The verdict on an answer.

    Parameters
    ----------
    key : str
        The question's.
    outcome : Outcome
        What became of it.
    share : float
        Share of the marks, 0 to 1.
    marks, points : float
        Marks, and how many there are to be had.
    slip : str
        Code of the named mistake; empty if none was recognised.
    text : str
        The verdict in words.
    cells : tuple of JudgedCell
        The same cell by cell (a table) or goal by goal (what was flown).
    explanation : str
        Why it is right, or the worked answer; empty as long as the learner may still try.
    """

    key: str
    outcome: Outcome
    share: float
    marks: float
    points: float
    slip: str
    text: str
    cells: tuple[JudgedCell, ...]
    explanation: str

    def __post_init__(self) -> None:
        within("share", self.share, 0.0, 1.0, "")
        within("points", self.points, 0.0, 1e6, "")
        within("marks", self.marks, 0.0, self.points, "")


@dataclass(frozen=True)
class GivenHint(_Part):
    """One hint.

    Parameters
    ----------
    key : str
        The question's.
    rung, of : int
        Which hint it is and how many there are; both 0 for a question without hints.
    name, text : str
        What the hint is called, and what it says.
    """

    key: str
    rung: int
    of: int
    name: str
    text: str


@dataclass(frozen=True)
class OfferedFlight(_Part):
    """A flight that can be flown by hand in the panel.

    Parameters
    ----------
    key : str
        The question's; the recording is kept under it.
    goal : str
        What to do.
    aircraft, procedure : str
        What is flown, and the procedure that gives station and altitudes.
    course_1_deg, course_2_deg : float
        What the selectors show at first. [deg magnetic]
    most_min : float
        The flight ends by itself after this. [min]
    ends_at_dme_nm, ends_below_dme_nm : float or None
        It ends by itself when the DME has risen, or fallen, to this. [NM]
    """

    key: str
    goal: str
    aircraft: str
    procedure: str
    course_1_deg: float
    course_2_deg: float
    most_min: float
    ends_at_dme_nm: float | None
    ends_below_dme_nm: float | None


@dataclass(frozen=True)
class StandingRow(_Part):
    """How far a learner is with one question.

    Parameters
    ----------
    key, title : str
        The question's.
    outcome : Outcome
        Right once any try was; else what became of the latest.
    noted : bool
        True for a task that is filled in and not judged yet.
    marks, points : float
        Marks of the best try, and how many there are to be had.
    """

    key: str
    title: str
    outcome: Outcome
    noted: bool
    marks: float
    points: float


@dataclass(frozen=True)
class NextLesson(_Part):
    """The lesson after this one: its key, its title and the minutes it takes."""

    key: str
    title: str
    minutes: int


@dataclass(frozen=True)
class Standing(_Part):
    """How far a learner is with a lesson.

    Parameters
    ----------
    key, title : str
        The lesson's.
    marks, points : float
        The best tries of all questions together, and how many marks there are to be had.
    rows : tuple of StandingRow
        Its questions, in order.
    next : NextLesson or None
        What comes after it; None after the last.
    warning : str
        What the learner is told about the progress file; empty when all is well.
    """

    key: str
    title: str
    marks: float
    points: float
    rows: tuple[StandingRow, ...]
    next: NextLesson | None
    warning: str


@dataclass(frozen=True)
class Bundle(_Part):
    """Everything one output of a cell says; see the table at the head of this module.

    Parameters
    ----------
    lesson, question, answer, verdict, hint, flight, standing : part or None
        None for what the cell did not show.
    """

    lesson: BegunLesson | None = None
    question: AskedQuestion | None = None
    answer: ReadAnswer | None = None
    verdict: GivenVerdict | None = None
    hint: GivenHint | None = None
    flight: OfferedFlight | None = None
    standing: Standing | None = None

    def as_data(self) -> dict[str, Any]:
        """Write it as plain JSON data.

        Returns
        -------
        dict
            ``version`` and the parts that are there.
        """
        parts = {name: part for name, part in asdict(self).items() if part is not None}
        made: dict[str, Any] = json.loads(json.dumps({"version": _VERSION, **parts}, allow_nan=False))
        return made

    @classmethod
    def from_data(cls, data: object) -> Bundle:
        """Read it back, strictly.

        Parameters
        ----------
        data : object
            What stands under :data:`MIME` in a cell's output.

        Returns
        -------
        Bundle
            The same as was written.

        Raises
        ------
        BadData
            If it is not exactly what this edition of the course writes; one sentence.
        """
        if not isinstance(data, Mapping) or "version" not in data:
            raise BadData(
                "This output holds no data of a lesson: expected an object with a version; run the cell again."
            )
        version = data["version"]
        if type(version) is not int or version != _VERSION:
            raise BadData(
                f"This output is of version {_short(version)} and this edition of the course reads version "
                f"{_VERSION}: run the cell again."
            )
        from pydantic import ValidationError

        try:
            text = json.dumps({name: part for name, part in data.items() if name != "version"}, allow_nan=False)
            made: Bundle = _reader().validate_json(text)
            return made
        except ValidationError as problem:
            said = _fault(problem.errors(include_url=False)[0])
        except (TypeError, ValueError, RecursionError):
            said = "it holds what JSON cannot hold"
        raise BadData(f"The data of this output cannot be read ({said}): run the cell again.")


@cache
def _reader() -> Any:
    """Make what reads a bundle, once: that takes longer than the reading."""
    from pydantic import TypeAdapter

    return TypeAdapter(Bundle)


def read(output: Mapping[str, Any]) -> Bundle | None:
    """Take the data out of one output of a notebook's cell.

    Parameters
    ----------
    output : mapping
        One entry of a code cell's ``outputs``.

    Returns
    -------
    Bundle or None
        None where the output has no such data: anything but a lesson's own words, and everything shown before
        lessons wrote any.

    Raises
    ------
    BadData
        If it has some that cannot be read.
    """
    data = output.get("data")
    return Bundle.from_data(data[MIME]) if isinstance(data, Mapping) and MIME in data else None


_EXPECTED = {
    "string_type": "a text",
    "bool_type": "true or false",
    "float_type": "a number",
    "int_type": "a whole number",
    "tuple_type": "a list",
    "dataclass_type": "an object",
}


def _short(value: object) -> str:
    text = " ".join(str(value).split())
    return text if len(text) <= 40 else f"{text[:39]}…"


def _fault(error: Mapping[str, Any]) -> str:
    """Say in a few words what the reader stumbled over."""
    place = ".".join(str(step) for step in error["loc"]) or "the whole of it"
    if error["type"] == "missing":
        return f"{place} is missing"
    if error["type"] == "unexpected_keyword_argument":
        return f"{place} is not known"
    cause = error.get("ctx", {}).get("error")
    if cause is not None:
        return f"{place}: {cause}"
    wanted = error.get("ctx", {}).get("expected") or _EXPECTED.get(error["type"], "something else")
    return f"{place} is {_short(error['input'])} where {wanted} was expected"
