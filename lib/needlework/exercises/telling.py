"""From a question, its numbers and a verdict to what is told of them as data."""

from __future__ import annotations

from collections.abc import Mapping

from needlework.exercises.bundle import (
    AskedCell,
    AskedQuestion,
    GivenVerdict,
    JudgedCell,
    Kind,
    OfferedFlight,
    Option,
    ReadAnswer,
    ReadCell,
)
from needlework.exercises.flown import FilledPlan, FlownByHand
from needlework.exercises.kinds import Choice, Givens, Number, Order, Question, Table, Text
from needlework.exercises.rules import Rule
from needlework.exercises.verdicts import Outcome, Verdict

RUNGS = ("Where to look", "The rule", "The first line", "The model answer")
"""What the hints are called, in the order they are taken."""

_KINDS: tuple[tuple[type[Question], Kind], ...] = (
    (Number, "number"),
    (Choice, "choice"),
    (Order, "order"),
    (Rule, "rule"),
    (Table, "table"),
    (FilledPlan, "plan"),
    (FlownByHand, "flight"),
    (Text, "text"),
)


def _kind(question: Question) -> Kind:
    return next(kind for made, kind in _KINDS if isinstance(question, made))


def _unit(question: Question) -> str:
    return question.unit if isinstance(question, (Number, Rule)) else ""


def _precision(question: Question) -> float | None:
    if not isinstance(question, Number):
        return None
    return question.to if question.to > 1 else 10.0**-question.decimals


def _options(question: Question, givens: Givens) -> tuple[Option, ...]:
    texts: Mapping[str, str] = {}
    if isinstance(question, Choice):
        texts = question.options
    elif isinstance(question, Order):
        texts = question.cards
    return tuple(Option(letter, question.fill(text, givens)) for letter, text in texts.items())


def _cells(question: Question, givens: Givens) -> tuple[AskedCell, ...]:
    if isinstance(question, Table):
        return tuple(
            AskedCell(label, _kind(cell), _unit(cell), _precision(cell), _options(cell, givens))
            for label, cell in question.cells(givens).items()
        )
    if isinstance(question, FilledPlan):
        return tuple(
            AskedCell(
                label,
                "choice" if blank.words else "number",
                "",
                None,
                tuple(Option(word, word) for word in blank.words),
            )
            for label, blank in question.blanks.items()
        )
    return ()


def _prompt(question: Question, givens: Givens) -> str:
    """Give the words of a question; of a flight with everything it is judged by."""
    words = question.fill(question.prompt, givens)
    if not isinstance(question, FlownByHand):
        return words
    return f"{words}\n\n**Judged:** {'; '.join(goal.label for goal in question.goals)}."


def asked(question: Question, givens: Givens) -> AskedQuestion:
    """Tell a question with one learner's numbers.

    Parameters
    ----------
    question : Question
        The question.
    givens : mapping
        As drawn for the learner.

    Returns
    -------
    AskedQuestion
        What is needed to show it and to answer it.
    """
    return AskedQuestion(
        key=question.key,
        lesson=question.lesson,
        title=question.title,
        kind=_kind(question),
        prompt=_prompt(question, givens),
        given=question.fill(question.shown, givens) if question.shown else "",
        unit=_unit(question),
        precision=_precision(question),
        options=_options(question, givens),
        symbols=question.symbols if isinstance(question, Rule) else (),
        cells=_cells(question, givens),
        listed=isinstance(question, Table) and question.listed,
        task=question.task,
        points=float(question.points),
        hints=len(RUNGS) if question.hints[0] and not question.task else 0,
    )


def _readable(verdict: Verdict) -> bool:
    return verdict.outcome is not Outcome.ERROR and all(_readable(cell) for _, cell in verdict.cells)


def understood(question: Question, verdict: Verdict) -> ReadAnswer:
    """Tell what was understood of an answer.

    Parameters
    ----------
    question : Question
        The question.
    verdict : Verdict
        As its judge gave it.

    Returns
    -------
    ReadAnswer
        Without a word on whether it is right.
    """
    cells: tuple[ReadCell, ...] = ()
    if isinstance(question, Table):
        cells = tuple(
            ReadCell(label, cell.given, cell.outcome is Outcome.NOT_ATTEMPTED, _readable(cell))
            for label, cell in verdict.cells
        )
    blank = verdict.outcome is Outcome.NOT_ATTEMPTED
    return ReadAnswer(question.key, verdict.given, blank, _readable(verdict), cells)


def judged(question: Question, verdict: Verdict, explanation: str = "") -> GivenVerdict:
    """Tell a verdict.

    Parameters
    ----------
    question : Question
        The question.
    verdict : Verdict
        As its judge gave it.
    explanation : str
        Why it is right, or the worked answer.

    Returns
    -------
    GivenVerdict
        The verdict with its marks.
    """
    return GivenVerdict(
        key=question.key,
        outcome=verdict.outcome,
        share=float(verdict.share),
        marks=float(verdict.share * question.points),
        points=float(question.points),
        slip=verdict.slip,
        text=verdict.text,
        cells=tuple(
            JudgedCell(label, cell.outcome, float(cell.share), cell.slip, cell.text) for label, cell in verdict.cells
        ),
        explanation=explanation,
    )


def offered(question: FlownByHand, givens: Givens) -> OfferedFlight:
    """Tell a flight that can be flown by hand.

    Parameters
    ----------
    question : FlownByHand
        The question it is flown for.
    givens : mapping
        As drawn for the learner.

    Returns
    -------
    OfferedFlight
        What is to be flown, and when it is over.
    """
    course_1_deg, course_2_deg = question.courses(givens)
    return OfferedFlight(
        key=question.key,
        goal=question.fill(question.goal, givens),
        aircraft=question.flown_by,
        procedure=question.on,
        course_1_deg=float(course_1_deg),
        course_2_deg=float(course_2_deg),
        most_min=float(question.most_min),
        ends_at_dme_nm=question.ends_at_dme_nm,
        ends_below_dme_nm=question.ends_below_dme_nm,
    )
