"""Python's errors, said to a pilot: one sentence on what was typed and what to do."""

from __future__ import annotations

import re

from needlework.basis.errors import NeedleworkError
from needlework.course.lesson.session import Session, known
from needlework.exercises import progress
from needlework.exercises.kinds import Choice, Number, Order
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


def _typed_wrong(error: SyntaxError, cell: str) -> str:
    """Say what makes a cell unreadable: the cause where it can be seen, else the usual ones."""
    where = f" in line {error.lineno}" if error.lineno else ""
    line = str(error.text or "")
    if re.search("[\u2018\u2019\u201a\u201b\u201c\u201d\u201e\u201f\u00ab\u00bb\u2032\u2033]", line):
        why = 'it holds a curly quotation mark: type the straight one, as in "A"'
    elif "leading zeros" in str(error.msg):
        why = "a number begins with 0: write 45, not 045"
    elif re.search(r"\d\s*(°|%|(ft|fpm|kt|NM|nm|m|s|sec|min)\b)", line):
        why = "a number has its unit with it: write it bare, 45 for 45° and 44 for 44 s"
    elif re.search(r"\d,\d", line):
        why = "a number holds a comma: write 1588 for one thousand and so on, and 5.8 with a decimal point"
    else:
        why = (
            "a quotation mark, bracket or comma is missing, a quotation mark is curly, or a number begins with 0 "
            "(write 45, not 045) or holds a comma (write 1588, or 5.8)"
        )
    return f"This cell cannot be read{where}: {why}. {_as_it_was(cell)}"


def _as_it_was(cell: str) -> str:
    """Say what the answer's line looks like, for the one question that is asked in the cell."""
    asked, name = re.search(ASKED, cell), re.search(r"^(\w+) = ", cell, re.M)
    question = known(asked[1]) if asked else None
    kinds = ((Number, "45"), (Choice, '"A"'), (Order, '"ABC"'), (Rule, '"100 * h + gs"'))
    like = next((text for kind, text in kinds if isinstance(question, kind)), "")
    if not name or not like:
        return "Compare with the line as it was."
    return f"The line should look like this: {name[1]} = {like}"


def in_one_sentence(error: BaseException, session: Session) -> str:
    """Say what a mistake of typing was and what to do, for somebody who does not program.

    Parameters
    ----------
    error : BaseException
        What stopped the cell.
    session : Session
        Which cell it was, and which answers above it stopped.

    Returns
    -------
    str
        One line.
    """
    if isinstance(error, NeedleworkError):
        return str(error)
    if isinstance(error, NameError):
        name = getattr(error, "name", "") or "That word"
        if session.stopped.intersection(re.findall(r"""\b(?:check|score)\(["']([\w-]+)["']""", session.cell)):
            return stopped()
        if len(name) <= 10 and name.isupper():
            return f'{name} needs quotation marks: write "{name}".'
        return f"“{name}” is not known here. Is it spelt as above, and have the cells further up been run?"
    if isinstance(error, SyntaxError):
        return _typed_wrong(error, session.cell)
    if isinstance(error, ZeroDivisionError):
        return "Something here is divided by zero. Which of the numbers is not filled in yet?"
    if isinstance(error, KeyboardInterrupt):
        return "Stopped, as you asked. Run the cell again when you are ready."
    said = str(error) or type(error).__name__
    return f"This cell could not be run: {said}. Nothing is lost; compare the cell with a fresh copy."
