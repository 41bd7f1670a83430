"""Drawing numbers for a student, judging an answer, giving hints: what is done with a question of any kind.

Nothing here draws a picture, prints, starts a thread or reads a file, so the same code judges in the learner's
notebook, in a clean process outside it and in a browser.
"""

from __future__ import annotations

import random
import unicodedata
from typing import Any

from needlework.exercises.answers import Unreadable, is_blank, short
from needlework.exercises.kinds import Choice, Givens, Number, Question, Table
from needlework.exercises.verdicts import Outcome, Verdict

_MOST_DRAWS = 1000
NEW_NUMBERS = "new_"
"""With this begins the sign of a hand-out in which every question, and not the task alone, has numbers of its own."""


def normal_name(student: str) -> str:
    """Bring a student's name or number into the form that seeds the numbers.

    Parameters
    ----------
    student : str
        As the student typed it; capitals, accents' form and spaces around or doubled do not matter.

    Returns
    -------
    str
        The normal form; empty for a student alone.
    """
    whole = str(student).encode("utf-8", "replace").decode("utf-8")
    return " ".join(unicodedata.normalize("NFKC", whole).casefold().split())


def draw(question: Question, student: str = "", homework: str = "", drawn: str = "") -> dict[str, Any]:
    """Draw the givens of one student: always the same for the same name, on any machine.

    Parameters
    ----------
    question : Question
        The question.
    student : str
        Name or number; empty for a student alone.
    homework : str
        What names a hand-out, and the word of a sitting: the numbers of a task depend on it as well, and where it
        begins with :data:`NEW_NUMBERS` those of every question.
    drawn : str
        What names the numbers with which a question comes back; empty for those of the lesson.

    Returns
    -------
    dict
        The givens; ``seed`` is the normal form of the name.

    Raises
    ------
    RuntimeError
        If a thousand draws in a row leave a slip too near the right answer: the question itself is at fault.
    """
    seed = normal_name(student) + (f"|{drawn}" if drawn else "")
    whose = f"{seed}|{homework}" if homework and (question.task or homework.startswith(NEW_NUMBERS)) else seed
    for number in range(_MOST_DRAWS):
        givens = {"seed": seed, **question.draw(random.Random(f"{whose}|{question.key}|{number}"))}
        if question.sound(givens):
            return givens
    raise RuntimeError(f"question {question.key}: no numbers found that keep its slips apart from the right answer")


def judge(
    question: Question, givens: Givens, answer: object, hidden: bool = False, flights: object = None
) -> Verdict:
    """Judge an answer, whatever it is; never raises for anything a learner can write.

    Parameters
    ----------
    question : Question
        The question.
    givens : mapping
        As drawn for the student.
    answer : object
        What stands in the answer cell.
    hidden : bool
        True at the marking desk, where rules and plans are tried on numbers not shown before.
    flights : list of Seen or Unreadable, optional
        Of a filled plan what :meth:`~needlework.exercises.flown.FilledPlan.fly_all` gave for this answer; left out, it
        is flown here.

    Returns
    -------
    Verdict
        The judgement.
    """
    try:
        blank = is_blank(answer)
    except RecursionError:
        blank = False
    if blank:
        return Verdict(
            Outcome.NOT_ATTEMPTED,
            0.0,
            "No answer yet. Write yours where it is asked for, in the notebook in place of `None`, then check it.",
        )
    try:
        more = {} if flights is None else {"flights": flights}
        return question.judge(givens, answer, hidden, **more)
    except RecursionError:
        return Verdict(
            Outcome.ERROR, 0.0, "This cannot be read yet: the answer contains itself. Fill in plain values."
        )
    except Unreadable as reason:
        said = reason.why if question.task else str(reason)
        return Verdict(Outcome.ERROR, 0.0, f"This cannot be read yet. {said}", given=short(answer))


def hint(question: Question, givens: Givens, rung: int) -> str:
    """Give a rung of the ladder of hints.

    Parameters
    ----------
    question : Question
        The question.
    givens : mapping
        As drawn for the student.
    rung : int
        1 where to look, 2 the rule, 3 the first line, 4 and above the model answer with its reason.

    Returns
    -------
    str
        The text.
    """
    if rung <= 3:
        return question.fill(question.hints[max(rung, 1) - 1], givens)
    return f"{model_answer(question, givens)} {question.fill(question.why, givens)}".strip()


def _cell_written(cell: Question | None, value: Any, givens: Givens) -> str:
    if isinstance(cell, Number):
        return cell.written(value)
    if isinstance(cell, Choice):
        return " or ".join(cell.accepted(givens))
    return f"{value:g}" if isinstance(value, float) else str(value)


def model_answer(question: Question, givens: Givens) -> str:
    """Give the worked answer in words.

    Parameters
    ----------
    question : Question
        The question.
    givens : mapping
        As drawn for the student.

    Returns
    -------
    str
        The text with the reference answer in it.
    """
    right = question.right(givens)
    if isinstance(question, Number):
        written = question.written(right)
    elif isinstance(right, dict):
        cells = question.cells(givens) if isinstance(question, Table) else {}
        written = "; ".join(
            f"{label}: {_cell_written(cells.get(label), value, givens)}" for label, value in right.items()
        )
    else:
        written = _cell_written(question, right, givens)
    return question.fill(question.model or "The answer: {answer}.", {**givens, "answer": written})
