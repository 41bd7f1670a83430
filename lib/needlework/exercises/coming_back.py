"""A question as it comes back: with other numbers, its answers in another order, its table worked as far as is fit."""

from __future__ import annotations

import random
import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from needlework.exercises import judging
from needlework.exercises.kinds import Choice, Givens, Number, Question, Slip, Table

_MOST_DRAWS = 60


def _bare(givens: Givens) -> dict[str, Any]:
    return {name: value for name, value in givens.items() if name != "seed"}


def unseen(question: Question, sitting: str, before: Iterable[tuple[str, str]]) -> str:
    """Name numbers that this learner has not seen with a question.

    Parameters
    ----------
    question : Question
        The question.
    sitting : str
        Name of the sitting.
    before : iterable of (str, str)
        Whose numbers were seen, and what names them: empty for those of the lesson.

    Returns
    -------
    str
        What names them; of a question that has few numbers, and all of them seen, any of them.
    """
    seen = [_bare(judging.draw(question, student, drawn=drawn)) for student, drawn in before]
    for number in range(_MOST_DRAWS):
        drawn = f"{sitting}.{number}"
        if _bare(judging.draw(question, drawn=drawn)) not in seen:
            return drawn
    return f"{sitting}.0"


def fresh(question: Question, givens: Givens, drawn: str, rows: int | None = None) -> Question:
    """Give a question as it comes back.

    Parameters
    ----------
    question : Question
        As it stands in its lesson.
    givens : mapping
        Its numbers, as :func:`numbers` gives them.
    drawn : str
        What names them.
    rows : int, optional
        Rows of a table that are left blank, the last ones; by default all.

    Returns
    -------
    Question
        With a verdict at once; the letters of a choice stand for other texts than in the lesson.
    """
    made = replace(question, task=False)
    if isinstance(made, Choice):
        return _shuffled(made, random.Random(f"{made.key}|{drawn}"))
    if isinstance(made, Table) and rows is not None:
        return _worked(made, givens, rows)
    return made


def _shuffled(question: Choice, order: random.Random) -> Choice:
    """Give the letters other texts; where a text of the question speaks of a letter, or texts are letters, as it is."""
    letters = list(question.options)
    told = [question.prompt, question.model, question.why, question.look, *question.hints]
    told += [*question.options.values(), *(slip.says for slip in question.slips)]
    plain = all(len(letter) == 1 and question.options[letter] not in ("", letter) for letter in letters)
    # An A may be the article; whoever speaks of letters seldom speaks of that one alone.
    spoken = re.compile(rf"\b[{''.join(letters[1:])}]\b") if plain and len(letters) > 1 else None
    if spoken is None or any(map(spoken.search, told)):
        return question
    mixed = order.sample(letters, len(letters))
    now = dict(zip(mixed, letters, strict=True))
    before = {new: old for old, new in now.items()}
    correct, named_by = question.correct, question.named_by

    def right(givens: Givens) -> tuple[str, ...]:
        found = correct(givens) if callable(correct) else correct
        return tuple(now[each] for each in ([found] if isinstance(found, str) else found))

    def slip(old: Slip) -> Slip:
        wrong = old.wrong
        if wrong is None:
            return old
        return replace(old, wrong=lambda givens: now.get(wrong(givens), wrong(givens)))

    return replace(
        question,
        options={letter: question.options[before[letter]] for letter in letters},
        correct=right,
        slips=tuple(map(slip, question.slips)),
        named_by=None if named_by is None else lambda givens, letter: named_by(givens, before.get(letter, letter)),
    )


def written(cell: Question, value: Any) -> str:
    """Write the right answer of a table's cell as it is printed."""
    if isinstance(cell, Number):
        return cell.written(value)
    return str(value)


def _worked(question: Table, givens: Givens, blank: int) -> Table:
    """Work the first rows of a table and ask for the last."""
    every, cells = question.cells, question.cells(givens)
    labels = list(cells)
    asked = labels[len(labels) - min(blank, len(labels)) :]
    if len(asked) == len(labels):
        return question
    rows = [
        f"{label}: **{written(cells[label], cells[label].right(givens))}**" for label in labels if label not in asked
    ]
    shown = "\n".join(["Worked already:", *rows]).replace("{", "{{").replace("}", "}}")

    def left(names: Givens) -> dict[str, Question]:
        return {label: cell for label, cell in every(names).items() if label in asked}

    return replace(question, prompt=f"{question.prompt}\n{shown}", cells=left)


def empty_answer(question: Question, givens: Givens) -> Mapping[str, None] | None:
    """Give what stands in the place of an answer before there is any: a table's labels, or nothing."""
    if isinstance(question, Table):
        return dict.fromkeys(question.cells(givens))
    return dict.fromkeys(getattr(question, "blanks", {})) or None
