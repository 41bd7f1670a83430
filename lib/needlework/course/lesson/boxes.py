"""The HTML of what a lesson shows; made from the data of :mod:`needlework.exercises.bundle` at the last moment."""

from __future__ import annotations

import html
import re
from collections.abc import Iterable

from needlework.course.lesson import shown_by
from needlework.exercises import progress
from needlework.exercises.bundle import (
    AskedQuestion,
    BegunLesson,
    GivenHint,
    GivenVerdict,
    ReadAnswer,
    Standing,
    StandingRow,
)
from needlework.exercises.verdicts import Outcome

CAUTION = "Training aid with invented data. Not for navigation."

_BLUE, _GREY = "#0072b2", "#808080"
LOOK = {
    Outcome.PASS: ("✓", "Right", "#2e8b57"),
    Outcome.CLOSE: ("◐", "Close", "#b8860b"),
    Outcome.SLIP: ("✗", "Not yet", "#d55e00"),
    Outcome.WRONG: ("✗", "Not yet", "#d55e00"),
    Outcome.ERROR: ("?", "Cannot be read yet", "#8a63d2"),
    Outcome.NOT_ATTEMPTED: ("○", "No answer yet", _GREY),
    Outcome.WAITS: ("✎", "Waits for a mark", _BLUE),
}
"""Each outcome's symbol, word and colour."""
_AFTERWARDS = {"Not yet": "Not right", "No answer yet": "No answer", "Cannot be read yet": "Could not be read"}
"""The words on a page that is handed back, where nothing more can be done to the answer."""
_WAITS = "It waits for your instructor's mark: save the notebook and hand it in."
_OPENINGS = ("Right: ", "Close. ", "Not yet. ", "No answer yet. ", "No flight yet. ", "This cannot be read yet. ")


def short(marks: float) -> str:
    """Write marks with two decimals at most.

    Parameters
    ----------
    marks : float
        Marks.

    Returns
    -------
    str
        For example ``"41.17"`` or ``"3"``.
    """
    return f"{round(marks, 2):g}"


def look_of(outcome: Outcome) -> tuple[str, str, str]:
    """Give an outcome's symbol, word and colour; on a marked page the word leaves nothing to come.

    Parameters
    ----------
    outcome : Outcome
        The outcome.

    Returns
    -------
    tuple of str
        Symbol, word, and colour as CSS writes it.
    """
    symbol, word, colour = LOOK[outcome]
    return symbol, _AFTERWARDS.get(word, word) if progress.being_marked() else word, colour


def heading_of(given: GivenVerdict) -> tuple[str, str, str]:
    """Give symbol, word and colour of a verdict: on a marked page, what earned marks was read in part.

    Parameters
    ----------
    given : GivenVerdict
        The verdict.

    Returns
    -------
    tuple of str
        As :func:`look_of` gives them.
    """
    symbol, word, colour = look_of(given.outcome)
    in_part = progress.being_marked() and given.outcome is Outcome.ERROR and given.marks > 0.0
    return symbol, f"{word} in part" if in_part else word, colour


def _box(colour: str, *parts: str) -> str:
    """Put paragraphs into the one kind of box that lessons use."""
    style = (
        f"border-left:6px solid {colour};padding:.5em .9em;margin:.3em 0;max-width:46em;line-height:1.45;"
        "background:var(--jp-layout-color2,#f3f3f3);color:var(--jp-ui-font-color0,#111)"
    )
    # A page in front of the notebook says verdicts aloud in one place of its own.
    role = "" if shown_by.a_page() else 'role="status" '
    return f'<div {role}style="{style}">' + "".join(f"<div>{part}</div>" for part in parts if part) + "</div>"


def _rows(rows: Iterable[Iterable[str]], name: str = "") -> str:
    """Make a plain table of HTML cells; a name is for a page that shows the same in its own way."""
    cell, first = "text-align:left;vertical-align:top;padding:.15em 1.2em .15em 0", ";white-space:nowrap"
    body = "".join(
        "<tr>"
        + "".join(f"<td style='{cell}{'' if n else first}'>{part}</td>" for n, part in enumerate(row))
        + "</tr>"
        for row in rows
    )
    called = f'class="{name}" ' if name else ""
    return f'<table {called}style="margin:.4em 0;font-size:inherit">{body}</table>'


def _marked(text: str) -> str:
    """Escape a text for HTML and keep its **bold** words, its `typed` words and its lines."""
    safe = html.escape(text, quote=False).replace("\n", "<br>")
    return re.sub(r"`(.+?)`", r"<code>\1</code>", re.sub(r"\*\*(.+?)\*\*", r"<b>\1</b>", safe))


def _bare(text: str) -> str:
    """Leave out the opening word of a verdict where the heading already says it."""
    for opening in _OPENINGS:
        text = text.removeprefix(opening)
    if progress.being_marked():
        text = re.sub("^Not yet,", "Not right,", text)
    return text[:1].upper() + text[1:]


# --- a lesson begun ---------------------------------------------------------------------------------------------


def _begun_words(begun: BegunLesson) -> tuple[str, str, str]:
    """Say that it works, whose numbers are used, and how far the learner is."""
    whose = f"The numbers are those of “{begun.student}”." if begun.student else ""
    if progress.being_marked():
        # What was tried before handing in is not known at the desk, and the page has the marks.
        alone = "No name was typed in the first cell: the numbers are those of a student alone."
        return f"{begun.title}.", whose or alone, ""
    return f"Ready: {begun.title}.", whose, f"Right so far: {begun.passed} of {begun.questions} questions."


def begun(lesson: BegunLesson) -> tuple[str, str]:
    """Make the box above a lesson, and the same in one line.

    Parameters
    ----------
    lesson : BegunLesson
        What was set up.

    Returns
    -------
    page, line : str
        HTML and plain text.
    """
    ready, whose, so_far = _begun_words(lesson)
    page = _box(
        _BLUE,
        f"<b>{html.escape(ready)}</b> {html.escape(whose)} {so_far}",
        html.escape(lesson.warning),
        f"<small>{CAUTION}</small>",
    )
    return page, " ".join(filter(None, [ready, whose, so_far, lesson.warning, CAUTION]))


# --- questions and hints ----------------------------------------------------------------------------------------


def question(asked: AskedQuestion) -> tuple[str, str]:
    """Make the box of a question, and the same in plain lines.

    Parameters
    ----------
    asked : AskedQuestion
        The question.

    Returns
    -------
    page, lines : str
        HTML and plain text.
    """
    rows = [(option.letter, option.text) for option in asked.options]
    if asked.listed:
        rows = [(str(place), cell.label) for place, cell in enumerate(asked.cells, 1)]
    table = _rows(((f"<b>{letter}</b>", _marked(text)) for letter, text in rows), "nw-asked") if rows else ""
    ending = "<i>This is the task: no hints, and no verdict yet.</i>" if asked.task else ""
    if asked.kind == "text":
        ending = "<i>Your instructor reads and marks this.</i>"
    title = f"<b>{html.escape(asked.title)}</b>"
    if progress.being_marked():
        # On the page that is handed back the title stands above the box.
        title = ending = ""
    given = f"**Given:** {asked.given}" if asked.given else ""
    page = _box(_BLUE, title, _marked(asked.prompt), _marked(given), table, ending)
    lines = [asked.prompt, given.replace("**", ""), *(f"{letter}  {text}" for letter, text in rows)]
    return page, "\n".join(filter(None, lines))


def hint(given: GivenHint) -> tuple[str, str]:
    """Make the box of a hint, and the same in one line.

    Parameters
    ----------
    given : GivenHint
        The hint.

    Returns
    -------
    page, line : str
        HTML and plain text.
    """
    name = f"{given.name} (hint {given.rung} of {given.of})" if given.rung else given.name
    return _box(_BLUE, f"<b>{name}</b>", _marked(given.text)), f"{name}: {given.text}"


# --- verdicts ---------------------------------------------------------------------------------------------------


def verdict(given: GivenVerdict, ending: str = "") -> str:
    """Make the box of a verdict.

    Parameters
    ----------
    given : GivenVerdict
        The verdict.
    ending : str
        What else is said, after the explanation.

    Returns
    -------
    str
        HTML.
    """
    symbol, word, colour = heading_of(given)
    ending = " ".join(filter(None, [given.explanation, ending]))
    if given.outcome is Outcome.NOT_ATTEMPTED:
        said = "" if progress.being_marked() else _bare(given.text)
        return _box(colour, f"<b>{symbol} {word}.</b> {_marked(said)} {_marked(ending)}")
    cells = [
        (" ".join(look_of(cell.outcome)[:2]), _marked(cell.label), _marked(_bare(cell.text))) for cell in given.cells
    ]
    points = f"{short(given.marks)} of {short(given.points)} {'mark' if given.points == 1 else 'marks'}"
    return _box(
        colour,
        f'<b style="font-size:1.05em">{symbol} {word}</b>',
        _marked(_bare(given.text)),
        _rows(cells) if cells else "",
        _marked(ending),
        "" if given.outcome is Outcome.WAITS else f"<small>{points}</small>",
    )


def read_by_a_person(given: GivenVerdict) -> str:
    """Make the box below a text that a person has marked.

    Parameters
    ----------
    given : GivenVerdict
        The verdict as long as it waited.

    Returns
    -------
    str
        HTML: what there is to compare with.
    """
    return _box(_BLUE, _marked(given.explanation))


def noted(answer: ReadAnswer, faults: Iterable[tuple[str, str]], warning: str, waits: bool = False) -> str:
    """Make the box of a task that is noted, without its verdict.

    Parameters
    ----------
    answer : ReadAnswer
        What was understood.
    faults : iterable of (label, text)
        Why cells of it cannot be read.
    warning : str
        What is told about the progress file.
    waits : bool
        True for what only a person can mark.

    Returns
    -------
    str
        HTML.
    """
    if waits:
        return _box(_BLUE, "<b>● Noted</b>", _marked(answer.given), _marked(f"{_WAITS} {warning}".strip()))
    still = [cell.label for cell in answer.cells if cell.blank] + [
        f"{label}: {_bare(text)}" for label, text in faults
    ]
    said = f"Still open: {'; '.join(still).rstrip('.')}." if still else "Everything can be read."
    later = "The verdict comes from your instructor or, working alone, from the button below."
    ending = " ".join(filter(None, [said, later, warning]))
    return _box(_BLUE, "<b>● Noted</b>", _marked(answer.given), _marked(ending))


# --- how far the learner is -------------------------------------------------------------------------------------


def _row(row: StandingRow) -> tuple[str, str, str]:
    symbol, word, _ = LOOK[row.outcome]
    if row.noted:
        symbol, word = "●", "Noted"
    return f"{symbol} {word}", row.title, f"{short(row.marks)} of {short(row.points)}"


def standing(stands: Standing) -> tuple[str, str]:
    """Make the box at the end of a lesson, and the same in plain lines.

    Parameters
    ----------
    stands : Standing
        How far the learner is.

    Returns
    -------
    page, lines : str
        HTML and plain text.
    """
    heading = f"{stands.title}: {short(stands.marks)} of {short(stands.points)} marks, the best try of each question"
    rows = [_row(row) for row in stands.rows]
    ending = "This is the last lesson so far. Its questions come back by themselves: the start page says when."
    if stands.key == progress.COMING_BACK:
        ending = "What was not right comes back tomorrow, what was right after longer: the start page says when."
    if stands.next:
        after = stands.next
        link = f'<a href="../{after.key}/{after.key}.ipynb">{html.escape(after.title)}</a>'
        ending = f"Next: {link}, about {after.minutes} minutes."
    table = _rows([html.escape(part) for part in row] for row in rows)
    page = _box(_BLUE, f"<b>{html.escape(heading)}</b>", html.escape(stands.warning), table, ending)
    return page, "\n".join([heading, *(" · ".join(row) for row in rows)])
