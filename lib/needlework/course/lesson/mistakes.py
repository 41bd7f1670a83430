"""Python's errors, said to a pilot: one sentence on what was typed and what to do."""

from __future__ import annotations

import re

from needlework.basis.errors import NeedleworkError
from needlework.course.lesson import typed
from needlework.course.lesson.session import Session, known
from needlework.exercises import progress
from needlework.exercises.answers import short
from needlework.exercises.kinds import Choice, Number, Order, Question
from needlework.exercises.rules import Rule

ASKED = r"""(?m)^ask\(["']([\w-]+)["']\)"""
"""How a cell asks its question, by which the key is found in the cell's text."""


def stopped() -> str:
    """Say that there is nothing to judge because the answer cell itself could not be run.

    Returns
    -------
    str
        One or two sentences.
    """
    if progress.being_marked():
        return "The answer above could not be run, so there was nothing to judge."
    return "The answer cell above stopped with a message, so nothing new was given. Mend that cell and run it first."


def _typed_wrong(cell: str) -> str:
    """Say what makes a cell unreadable, with the line that is at fault."""
    why, line = typed.fault(cell)
    rule = re.search(r"""(?m)^(\w+) *= *([^"'\n]+)$""", cell)
    if not why and rule and isinstance(_asked_in(cell), Rule):
        return f"This cell cannot be read: a rule stands in quotation marks. {_as_it_was(cell)}"
    if not why:
        return f"This cell cannot be read: a quotation mark, a bracket or a comma is missing. {_as_it_was(cell)}"
    shown = f" In the line “{short(line)}”" if line else ""
    return f"This cell cannot be read.{shown}: {why}. {_as_it_was(cell)}"


def _asked_in(cell: str) -> Question | None:
    """Find the question that is asked in a cell, or answered by it."""
    asked = re.search(ASKED, cell) or re.search(r"""\b(?:check|score)\(["']([\w-]+)["']""", cell)
    return known(asked[1]) if asked else None


def _as_it_was(cell: str) -> str:
    """Say what the answer's line looks like, for the one question that is asked in the cell."""
    question, name = _asked_in(cell), re.search(r"^\s*([A-Za-z_]\w*) *=[^=]", cell, re.M)
    like = _LIKE.get(type(question), "") if question else ""
    if not name or not like:
        return "Compare with the line as it was."
    return f"The line should look like this: {name[1]} = {like}"


def unanswered(key: str, name: str, session: Session) -> str:
    """Say why an answer cell that was run gave no answer.

    Parameters
    ----------
    key : str
        The question's key.
    name : str
        The name of its answer.
    session : Session
        Holds the text of the cell.

    Returns
    -------
    str
        A sentence; empty where nothing was typed.
    """
    return typed.not_given(session.typed.get(key, ""), name)


def doubtful(key: str, session: Session) -> str:
    """Name a sign in an answer cell that means something else than on paper.

    Parameters
    ----------
    key : str
        The question's key.
    session : Session
        Holds the text of the cell.

    Returns
    -------
    str
        A sentence; empty where there is none.
    """
    return typed.doubtful(session.typed.get(key, ""))


_LIKE: dict[type[Question], str] = {
    Number: "45",
    Choice: '"A"',
    Order: '"ABC"',
    Rule: '"100 * h + gs"',
}
_WORKING = ("sqrt", "sin", "cos", "tan", "asin", "acos", "atan", "atan2", "radians", "degrees", "pi", "log", "hypot")
_VERBS = ("ask", "begin", "check", "fly", "flight_of", "hint", "numbers", "recap", "reveal", "score")


def _not_known(name: str, session: Session) -> str:
    """Say what to do about a name that is not known."""
    cell = session.cell
    if session.stopped.intersection(re.findall(r"""\b(?:check|score)\(["']([\w-]+)["']""", cell)):
        return stopped()
    question = _asked_in(cell)
    line = next(
        (row.strip() for row in cell.splitlines() if re.search(rf"\b{re.escape(name)}\b", typed.bare(row))), ""
    )
    head, _, behind = line.partition("=")
    if name in _VERBS or re.search(r"\bask\((?![\"'])", line):
        if name in _VERBS:
            return "Run the first code cell of this lesson (the one that sets up) and then this one again."
        return f'The name in the brackets needs its quotation marks: {line.split("(")[0]}("...").'
    if name.lower() in _VERBS:
        return f"“{name}” is written with small letters: {name.lower()}."
    if name.lower() in ("none", "null", "nil"):
        return "“None” has a capital N: it stands for no answer yet."
    if isinstance(question, Rule) and behind and name.lower() in {each.lower() for each in question.symbols} | {"x"}:
        return f'A rule stands in quotation marks: {head.strip()} = "{behind.strip()}".'
    if name == "math" or name in _WORKING:
        first = "pi" if name == "pi" else "cos, radians, sqrt"
        return (
            f"“{name}” is not known here yet. Write the number you worked out, or begin the cell with "
            f"“from math import {first}”; angles are then turned first: cos(radians(67))."
        )
    if isinstance(question, Order):
        letters = re.sub(r"[^A-Za-z]", "", behind).upper()
        return f'The letters stand together in quotation marks: "{letters or name.upper()}".'
    if isinstance(question, Choice):
        known_word = next((each for each in question.options if each.casefold() == name.casefold()), "")
        if known_word:
            return f'{name} needs quotation marks: write "{known_word}".'
    radial = re.fullmatch(r"[Rr]0*(\d{1,3})", name)
    if radial:
        return f"A radial is written as its number alone: {radial[1]}."
    if len(name) <= 10 and name.isupper() and not isinstance(question, Number):
        return f'{name} needs quotation marks: write "{name}".'
    if question is not None and behind and line.startswith(head) and not isinstance(question, Choice):
        return f"“{name}” stands for no number here. Write the number itself in its place."
    return f"“{name}” is not known here. Is it spelt as above, and have the cells further up been run?"


def _mixed(error: BaseException) -> str:
    """Say what does not go together, in a sum that was typed; empty where it cannot be told."""
    said = str(error)
    if "NoneType" in said:
        return "Something used here is still None: fill that in first."
    if "not callable" in said:
        return "A sign is missing in front of a bracket: 2 * (3 + 4), not 2 (3 + 4)."
    if "unhashable" in said:
        return "A table holds a label, a colon and a value on each line. Compare with the line as it was."
    if any(
        part in said for part in ("unsupported operand", "must be str", "concatenate", "str' and", "not supported")
    ):
        return (
            "A number and a text do not go together in a sum: a number has no quotation marks, and decimals a point."
        )
    return ""


COULD_NOT = "This cell could not be run. Nothing is lost; compare the cell with a fresh copy."


def as_python(error: BaseException) -> str:
    """Say a mistake as Python does, for whoever helps."""
    return short(f"{type(error).__name__}: {error}".rstrip(": "), 120)


def in_one_sentence(error: BaseException, session: Session, *, helped: bool = True) -> str:
    """Say what a mistake of typing was and what to do, for somebody who does not program.

    Parameters
    ----------
    error : BaseException
        What stopped the cell.
    session : Session
        Which cell it was, and which answers above it stopped.
    helped : bool
        False to leave out what is for whoever helps: how Python says it, where no other words are known.

    Returns
    -------
    str
        One line.
    """
    if isinstance(error, NeedleworkError):
        return str(error)
    if isinstance(error, NameError):
        return _not_known(getattr(error, "name", "") or "That word", session)
    if isinstance(error, SyntaxError):
        return _typed_wrong(session.cell or str(error.text or ""))
    if isinstance(error, ZeroDivisionError):
        return "Something here is divided by zero. Which of the numbers is not filled in yet?"
    if isinstance(error, (ValueError, OverflowError)) and "math" in str(error):
        return "This cannot be worked out: the root of a number below nought, or an angle whose sine is more than 1."
    if isinstance(error, KeyError):
        return f"There is no {error} among the numbers of this question. Is it spelt as further up?"
    if isinstance(error, ImportError):
        return "What the cell asks for at its beginning is not there. Compare that line with a fresh copy."
    if isinstance(error, KeyboardInterrupt):
        return "Stopped, as you asked. Run the cell again when you are ready."
    mixed = _mixed(error) if isinstance(error, TypeError) else ""
    if mixed:
        return mixed
    return f"{COULD_NOT} (For whoever helps you: {as_python(error)}.)" if helped else COULD_NOT
