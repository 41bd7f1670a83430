"""What a lesson's cells call: begin, ask, check, hint, reveal, recap. Everything else stays out of sight.

The only state is who the learner is and what was answered since the lesson was begun; the marks
themselves come from the answers, and what lasts is in the progress file.
"""

from __future__ import annotations

import html
import re
import warnings
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any

from needlework.basis.errors import NeedleworkError
from needlework.exercises import kinds as checks
from needlework.exercises import progress, recording
from needlework.exercises.banks import LESSONS, QUESTIONS
from needlework.exercises.flown import FlownByHand
from needlework.exercises.kinds import Choice, Givens, Number, Order, Outcome, Question, Rule, Table, Verdict
from needlework.exercises.lesson import Lesson

CAUTION = "Training aid with invented data. Not for navigation."

_BLUE, _GREY = "#0072b2", "#808080"
_LOOK = {
    Outcome.PASS: ("✓", "Right", "#2e8b57"),
    Outcome.CLOSE: ("◐", "Close", "#b8860b"),
    Outcome.SLIP: ("✗", "Not yet", "#d55e00"),
    Outcome.WRONG: ("✗", "Not yet", "#d55e00"),
    Outcome.ERROR: ("?", "Cannot be read yet", "#8a63d2"),
    Outcome.NOT_ATTEMPTED: ("○", "No answer yet", _GREY),
}
_AFTERWARDS = {"Not yet": "Not right", "No answer yet": "No answer", "Cannot be read yet": "Could not be read"}
"""The words on a page that is handed back, where nothing more can be done to the answer."""
UNREADABLE = "needlework-unreadable"
"""Name in a verdict's page by which the marking desk finds answers that could not be read."""
_OPENINGS = ("Right: ", "Close. ", "Not yet. ", "No answer yet. ", "No flight yet. ", "This cannot be read yet. ")


ASKED = r"""(?m)^ask\(["']([\w-]+)["']\)"""
"""How a cell asks its question, by which the key is found in the cell's text."""


class LessonError(NeedleworkError):
    """A lesson's cell was run in a way it cannot work; the text says what to do."""


class _Session:
    """Who the learner is and what was answered since the lesson was begun."""

    def __init__(self) -> None:
        self.lesson: Lesson | None = None
        self.student = ""
        self.answers: dict[str, Any] = {}
        self.givens: dict[str, dict[str, Any]] = {}
        self.rungs: dict[str, int] = {}
        self.stopped: set[str] = set()
        self.cell = ""


_session = _Session()


class Marks(float):
    """The marks of one answer: a plain number to the marking desk, the verdict in words to the learner."""

    page: str

    def __new__(cls, marks: float, page: str = "") -> Marks:
        """Hang the words on the number."""
        made = super().__new__(cls, marks)
        made.page = page
        return made

    def _repr_html_(self) -> str:
        return self.page


def _look(outcome: Outcome) -> tuple[str, str, str]:
    """Give an outcome's symbol, word and colour; on a marked page the word leaves nothing to come."""
    symbol, word, colour = _LOOK[outcome]
    return symbol, _AFTERWARDS.get(word, word) if progress.being_marked() else word, colour


def _display(page: str, text: str) -> None:
    from IPython.display import display

    display({"text/html": page, "text/plain": text}, raw=True)  # type: ignore[no-untyped-call]


def _picture(name: str, values: Mapping[str, Any]) -> None:
    from needlework.showing import pictures

    getattr(pictures, name)(**values)


def _box(colour: str, *parts: str) -> str:
    """Put paragraphs into the one kind of box that lessons use."""
    style = (
        f"border-left:6px solid {colour};padding:.5em .9em;margin:.3em 0;max-width:46em;line-height:1.45;"
        "background:var(--jp-layout-color2,#f3f3f3);color:var(--jp-ui-font-color0,#111)"
    )
    return f'<div role="status" style="{style}">' + "".join(f"<div>{part}</div>" for part in parts if part) + "</div>"


def _rows(rows: Iterable[Iterable[str]]) -> str:
    """Make a plain table of HTML cells."""
    cell, first = "text-align:left;vertical-align:top;padding:.15em 1.2em .15em 0", ";white-space:nowrap"
    body = "".join(
        "<tr>"
        + "".join(f"<td style='{cell}{'' if n else first}'>{part}</td>" for n, part in enumerate(row))
        + "</tr>"
        for row in rows
    )
    return f'<table style="margin:.4em 0;font-size:inherit">{body}</table>'


def _marked(text: str) -> str:
    """Escape a text for HTML and keep its **bold** words, its `typed` words and its lines."""
    safe = html.escape(text, quote=False).replace("\n", "<br>")
    return re.sub(r"`(.+?)`", r"<code>\1</code>", re.sub(r"\*\*(.+?)\*\*", r"<b>\1</b>", safe))


def _bare(text: str) -> str:
    """Leave out the opening word of a verdict where the heading already says it."""
    for opening in _OPENINGS:
        text = text.removeprefix(opening)
    return text[:1].upper() + text[1:]


def _question(key: str) -> Question:
    if _session.lesson is None:
        raise LessonError("Run the first code cell of this lesson (the one that sets up) and then this one again.")
    if key not in QUESTIONS:
        raise LessonError(f"There is no question '{key}' in this course. Was the cell changed? A fresh copy has it.")
    return QUESTIONS[key]


def _lesson(key: str) -> Lesson:
    if key not in LESSONS:
        raise LessonError(f"There is no lesson '{key}'. The lessons are: {', '.join(LESSONS)}.")
    return LESSONS[key]


def _explained(question: Question, verdict: Verdict, givens: Givens) -> str:
    """End a final verdict: the reason after a pass, else the worked answer."""
    if verdict.outcome is Outcome.PASS:
        return question.fill(question.why, givens)
    return f"**Worked out:** {checks.model_answer(question, givens)}"


def numbers(key: str) -> Givens:
    """Give the numbers of a question as drawn for this learner.

    Parameters
    ----------
    key : str
        Question key.

    Returns
    -------
    mapping
        The givens by name.
    """
    question = _question(key)
    if key not in _session.givens:
        _session.givens[key] = checks.draw(question, _session.student)
    return _session.givens[key]


def _stopped() -> str:
    """Say that there is nothing to judge because the answer cell itself could not be run."""
    if progress.being_marked():
        return "The answer above could not be run, so there was nothing to judge."
    return "The answer cell above stopped with a message, so nothing new was given. Mend that cell and run it first."


def _typed_wrong(error: SyntaxError) -> str:
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
    return f"This cell cannot be read{where}: {why}. {_as_it_was()}"


def _as_it_was() -> str:
    """Say what the answer's line looks like, for the one question that is asked in the cell."""
    asked, name = re.search(ASKED, _session.cell), re.search(r"^(\w+) = ", _session.cell, re.M)
    question = QUESTIONS.get(asked[1]) if asked else None
    kinds = ((Number, "45"), (Choice, '"A"'), (Order, '"ABC"'), (Rule, '"100 * h + gs"'))
    like = next((text for kind, text in kinds if isinstance(question, kind)), "")
    if not name or not like:
        return "Compare with the line as it was."
    return f"The line should look like this: {name[1]} = {like}"


def _in_one_sentence(kind: type[BaseException], error: BaseException) -> str:
    """Say what a mistake of typing was and what to do, for somebody who does not program."""
    if isinstance(error, NeedleworkError):
        return str(error)
    if isinstance(error, NameError):
        name = getattr(error, "name", "") or "That word"
        if _session.stopped.intersection(re.findall(r"""\b(?:check|score)\(["']([\w-]+)["']""", _session.cell)):
            return _stopped()
        if len(name) <= 10 and name.isupper():
            return f'{name} needs quotation marks: write "{name}".'
        return f"“{name}” is not known here. Is it spelt as above, and have the cells further up been run?"
    if isinstance(error, SyntaxError):
        return _typed_wrong(error)
    if isinstance(error, ZeroDivisionError):
        return "Something here is divided by zero. Which of the numbers is not filled in yet?"
    if isinstance(error, KeyboardInterrupt):
        return "Stopped, as you asked. Run the cell again when you are ready."
    return (
        f"This cell could not be run: {error or kind.__name__}. Nothing is lost; compare the cell with a fresh copy."
    )


def _speak_plainly() -> None:
    """Show mistakes of typing as one sentence instead of a stack trace."""
    from IPython import get_ipython

    shell = get_ipython()
    if shell is None:
        return

    def handler(
        _shell: object, kind: type[BaseException], error: BaseException, _trace: object, **_: object
    ) -> list[str]:
        said = _in_one_sentence(kind, error)
        shell._showtraceback(kind, error, [said])
        return [said]

    shell.set_custom_exc((Exception, KeyboardInterrupt), handler)
    for moment, called in (("pre_run_cell", _before_cell), ("post_run_cell", _after_cell)):
        for old in list(shell.events.callbacks.get(moment, [])):
            if getattr(old, "__name__", "") == called.__name__:
                shell.events.unregister(moment, old)
        shell.events.register(moment, called)


def _before_cell(info: Any) -> None:
    """Remember the text of the cell that runs, for the sentence about a mistake in it."""
    _session.cell = str(info.raw_cell)


def _after_cell(result: Any) -> None:
    """Remember which answer cells stopped with an error: what their name holds is an older answer."""
    asked = re.findall(ASKED, str(result.info.raw_cell))
    (_session.stopped.difference_update if result.success else _session.stopped.update)(asked)
    # A cell that cannot be read has not asked its question: without it nobody can mend the answer.
    unread = isinstance(result.error_before_exec or result.error_in_exec, SyntaxError)
    for key in asked if unread and not progress.being_marked() else ():
        if key in QUESTIONS:
            ask(key)


def begin(lesson: str, student: str = "") -> None:
    """Set a lesson up: say that it works, whose numbers are used and how far the learner is.

    Parameters
    ----------
    lesson : str
        Lesson key.
    student : str
        Name or number, as the instructor knows it; empty for a student alone.
    """
    found = _lesson(lesson)
    if not isinstance(student, (str, int)) or isinstance(student, bool):
        raise LessonError('Write your name or number in quotation marks, for example student = "Finch 12".')
    _speak_plainly()
    _session.lesson = found
    _session.answers, _session.givens, _session.rungs = {}, {}, {}
    _session.stopped = set()
    _session.student = checks.normal_name(str(student))
    note = progress.note_open(lesson)
    done = progress.read(student=_session.student)
    passed = sum(done.record(key).passed for key in found.questions)
    so_far = f"Right so far: {passed} of {len(found.questions)} questions."
    whose = f"The numbers are those of “{_session.student}”." if _session.student else ""
    if progress.being_marked():
        # What was tried before handing in is not known at the desk, and the page has the marks.
        so_far = ""
        whose = whose or "No name was typed in the first cell: the numbers are those of a student alone."
    warning = note or done.warning
    ready = f"{found.title}." if progress.being_marked() else f"Ready: {found.title}."
    page = _box(
        _BLUE,
        f"<b>{html.escape(ready)}</b> {html.escape(whose)} {so_far}",
        html.escape(warning),
        f"<small>{CAUTION}</small>",
    )
    _display(page, " ".join(filter(None, [ready, whose, so_far, warning, CAUTION])))


def ask(key: str) -> None:
    """Show a question with this learner's numbers, and its picture where it has one.

    Parameters
    ----------
    key : str
        Question key.
    """
    question = _question(key)
    givens = numbers(key)
    prompt = question.fill(question.prompt, givens)
    shown = f"**Given:** {question.fill(question.shown, givens)}" if question.shown else ""
    lines: Mapping[str, str] = {}
    if isinstance(question, Choice):
        lines = question.options
    elif isinstance(question, Order):
        lines = question.cards
    elif isinstance(question, Table) and question.listed:
        lines = {str(place): label for place, label in enumerate(question.cells(givens), 1)}
    rows = [(letter, question.fill(text, givens)) for letter, text in lines.items()]
    ending = "<i>This is the task: no hints, and no verdict yet.</i>" if question.task else ""
    if progress.being_marked():
        ending = ""
    table = _rows((f"<b>{letter}</b>", _marked(text)) for letter, text in rows) if rows else ""
    # On the page that is handed back the title stands above the box.
    title = "" if progress.being_marked() else f"<b>{html.escape(question.title)}</b>"
    page = _box(_BLUE, title, _marked(prompt), _marked(shown), table, ending)
    _display(page, "\n".join(filter(None, [prompt, shown.replace("**", ""), *(f"{a}  {b}" for a, b in rows)])))
    if question.figure:
        _picture(question.figure, question.figure_values(givens))
    if not question.task and question.hints[0]:
        _hint_button(key)


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


def _page(question: Question, verdict: Verdict, ending: str = "") -> str:
    symbol, word, colour = _look(verdict.outcome)
    if verdict.outcome is Outcome.NOT_ATTEMPTED:
        said = "" if progress.being_marked() else _bare(verdict.text)
        return _box(colour, f"<b>{symbol} {word}.</b> {_marked(said)} {_marked(ending)}")
    cells = [
        (" ".join(_look(cell.outcome)[:2]), _marked(label), _marked(_bare(cell.text)))
        for label, cell in verdict.cells
    ]
    points = (
        f"{short(verdict.share * question.points)} of {short(question.points)} "
        f"{'mark' if question.points == 1 else 'marks'}"
    )
    return _box(
        colour,
        f'<b style="font-size:1.05em">{symbol} {word}</b>',
        _marked(_bare(verdict.text)),
        _rows(cells) if cells else "",
        _marked(ending),
        f"<small>{points}</small>",
        f'<span class="{UNREADABLE}"></span>' if _unread(verdict) else "",
    )


def _unread(verdict: Verdict) -> bool:
    return verdict.outcome is Outcome.ERROR or any(cell.outcome is Outcome.ERROR for _, cell in verdict.cells)


def fly(key: str) -> object:
    """Show the panel of a question that is flown by hand; put it on the last line of a cell.

    Parameters
    ----------
    key : str
        Question key.

    Returns
    -------
    Panel
        The live panel, ready to fly.
    """
    from needlework.showing import panel

    question = _question(key)
    if not isinstance(question, FlownByHand):
        raise LessonError(f"'{key}' is not flown by hand. Was the cell changed? A fresh copy has it.")
    givens = numbers(key)
    course_1, course_2 = question.courses(givens)
    return panel.fly(
        key,
        question.fill(question.goal, givens),
        start=question.begin(givens),
        course_1_deg=course_1,
        course_2_deg=course_2,
        of=question.on,
        day=question.day(givens),
        aircraft=question.flown_by,
        seed=1,
        most_min=question.most_min,
        ends_at_dme_nm=question.ends_at_dme_nm,
        ends_below_dme_nm=question.ends_below_dme_nm,
        calls=question.calls(givens),
        radials=question.radials(givens) if question.radials else None,
        about=question.about(givens),
    )


def flight_of(key: str) -> str | None:
    """Give the newest recording of a flight flown by hand to its end, as text.

    Parameters
    ----------
    key : str
        Question key.

    Returns
    -------
    str or None
        The recording; None if there is none yet.
    """
    newest = recording.newest(key)
    return newest.text if newest else None


def _judged(key: str, answer: object, hidden: bool) -> tuple[Question, Verdict]:
    question = _question(key)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return question, checks.judge(question, numbers(key), answer, hidden)


def check(key: str, answer: object) -> Marks:
    """Judge an answer and show the verdict; a task is only noted, its verdict comes later.

    Parameters
    ----------
    key : str
        Question key.
    answer : object
        What stands in the answer cell.

    Returns
    -------
    Marks
        The marks as a number; shown in a notebook as the verdict in words.
    """
    question, verdict = _judged(key, answer, hidden=False)
    if key in _session.stopped:
        return Marks(0.0, _page(question, Verdict(Outcome.ERROR, 0.0, _stopped())))
    _session.answers[key] = answer
    givens = numbers(key)
    readable = bool(verdict.cells) or verdict.outcome is not Outcome.ERROR
    if question.task and readable and verdict.outcome is not Outcome.NOT_ATTEMPTED:
        return Marks(0.0, _noted(question, verdict))
    note = ""
    if verdict.outcome is Outcome.NOT_ATTEMPTED and isinstance(question, FlownByHand):
        verdict = replace(verdict, text="No flight yet. Fly the panel above to its end, then run both cells.")
    if verdict.outcome is not Outcome.NOT_ATTEMPTED:
        note = _note(key, verdict)
    if isinstance(question, FlownByHand) and verdict.evidence:
        _carry(str(answer))
    if not question.task:
        for name, values in question.afterwards(givens, verdict):
            _picture(name, values)
    ending = ""
    if verdict.outcome is Outcome.PASS:
        ending = question.fill(question.why, givens)
    elif progress.being_marked():
        # The page that is handed back has no buttons: it says how it is done.
        if verdict.outcome is not Outcome.NOT_ATTEMPTED:
            ending = _explained(question, verdict, givens)
    elif verdict.outcome in (Outcome.SLIP, Outcome.WRONG) and not question.task:
        ending = "Stuck? The Hint button stands under the question."
    return Marks(verdict.share * question.points, _page(question, verdict, " ".join(filter(None, [ending, note]))))


def _carry(flight: str) -> None:
    """Put a recording into the notebook itself, unseen, so that one file is all there is to hand in."""
    from IPython.display import display

    display({recording.MIME: recording.packed(flight), "text/plain": ""}, raw=True)  # type: ignore[no-untyped-call]


def _note(key: str, verdict: Verdict) -> str:
    return progress.note_try(
        key, verdict.outcome, verdict.share, verdict.slip, verdict.given, student=_session.student
    )


def _noted(question: Question, verdict: Verdict) -> str:
    cells = [label for label, cell in verdict.cells if cell.outcome is Outcome.NOT_ATTEMPTED]
    cells += [f"{label}: {_bare(cell.text)}" for label, cell in verdict.cells if cell.outcome is Outcome.ERROR]
    said = "Everything can be read." if not cells else f"Still open: {'; '.join(cells).rstrip('.')}."
    warning = "" if cells else progress.note_task(question.key, verdict.given, student=_session.student)
    later = "The verdict comes from your instructor or, working alone, from the button below."
    ending = " ".join(filter(None, [said, later, warning]))
    return _box(_BLUE, "<b>● Noted</b>", _marked(verdict.given), _marked(ending))


def score(key: str, answer: object) -> Marks:
    """Judge an answer at the marking desk, also on numbers that were not shown.

    Parameters
    ----------
    key : str
        Question key.
    answer : object
        What stands in the answer cell.

    Returns
    -------
    Marks
        The marks as a number, with the verdict in words for the feedback page.
    """
    question, verdict = _judged(key, answer, hidden=True)
    return Marks(
        verdict.share * question.points, _page(question, verdict, _explained(question, verdict, numbers(key)))
    )


def _next_hint(key: str) -> tuple[str, str]:
    """Take the next rung: its name, with its number, and what it says."""
    question = _question(key)
    if question.task:
        return "No hints here", "This is the task; the rules are further up in the lesson."
    rung = min(max(progress.read(student=_session.student).record(key).rungs, _session.rungs.get(key, 0)) + 1, 4)
    _session.rungs[key] = rung
    progress.note_hint(key, rung, student=_session.student)
    name = ("Where to look", "The rule", "The first line", "The model answer")[rung - 1]
    return f"{name} (hint {rung} of 4)", checks.hint(question, numbers(key), rung)


def hint(key: str) -> None:
    """Show the next hint: where to look, then the rule, then the first line, then the model answer.

    Parameters
    ----------
    key : str
        Question key.
    """
    name, said = _next_hint(key)
    _display(_box(_BLUE, f"<b>{name}</b>", _marked(said)), f"{name}: {said}")


def _button(name: str, tip: str, press: Callable[[], tuple[str, bool]], adds: bool = False) -> None:
    """Show a button; each press shows what it says below, or adds it, until there is no more to say."""
    if progress.being_marked():
        return
    import ipywidgets
    from IPython.display import display

    button = ipywidgets.Button(description=name, tooltip=tip, layout=ipywidgets.Layout(width="max-content"))
    shown = ipywidgets.HTML()

    def pressed(_button: object) -> None:
        page, button.disabled = press()
        shown.value = shown.value + page if adds else page

    button.on_click(pressed)
    bundle = ipywidgets.VBox([button, shown])._repr_mimebundle_()
    # Where no kernel runs the button is useless: there its place stays empty.
    display({**bundle, "text/plain": ""}, raw=True)  # type: ignore[no-untyped-call]


def _hint_button(key: str) -> None:
    def press() -> tuple[str, bool]:
        name, said = _next_hint(key)
        return _box(_BLUE, f"<b>{name}</b>", _marked(said)), name.endswith("4 of 4)")

    _button("Hint", "One hint more: where to look, the rule, the first line, the answer", press, adds=True)


def reveal(lesson: str) -> None:
    """For a student alone: a button that judges the tasks as the marking desk would, with the worked answers.

    Parameters
    ----------
    lesson : str
        Lesson key.
    """
    tasks = [key for key in _lesson(lesson).questions if QUESTIONS[key].task]

    def press() -> tuple[str, bool]:
        pages = []
        for key in tasks:
            question, verdict = _judged(key, _session.answers.get(key), hidden=True)
            if verdict.outcome is Outcome.NOT_ATTEMPTED:
                return _page(question, verdict, "Nothing is shown before the task is filled in."), False
            _note(key, verdict)
            pages.append(_page(question, verdict, _explained(question, verdict, numbers(key))))
        return "".join(pages), True

    _button("Judge my task", "For a student alone: the verdict and the worked answer", press)


def recap(lesson: str) -> None:
    """Show how far the learner is with a lesson and what comes next.

    Parameters
    ----------
    lesson : str
        Lesson key.
    """
    found, done = _lesson(lesson), progress.read(student=_session.student)
    if progress.being_marked():
        # The marks stand at the top of the page; the tries of the learner's own machine are not known here.
        return
    rows = []
    for key in found.questions:
        question, record = QUESTIONS[key], done.record(key)
        symbol, word, _ = _LOOK[Outcome.PASS if record.passed else Outcome(record.outcome)]
        if record.noted and not record.tries:
            symbol, word = "●", "Noted"
        best = f"{short(record.best * question.points)} of {short(question.points)}"
        rows.append((f"{symbol} {word}", question.title, best))
    earned = sum(done.record(key).best * QUESTIONS[key].points for key in found.questions)
    total = sum(QUESTIONS[key].points for key in found.questions)
    heading = f"{found.title}: {short(earned)} of {short(total)} marks, the best try of each question"
    order = list(LESSONS.values())
    after = order[order.index(found) + 1 :]
    if after:
        link = f'<a href="../{after[0].key}/{after[0].key}.ipynb">{html.escape(after[0].title)}</a>'
        ending = f"Next: {link}, about {after[0].minutes} minutes."
    else:
        ending = (
            "This is the last lesson so far. Come back in three days, and again in a week: what is recalled stays."
        )
    table = _rows([html.escape(part) for part in row] for row in rows)
    page = _box(_BLUE, f"<b>{html.escape(heading)}</b>", html.escape(done.warning), table, ending)
    _display(page, "\n".join([heading, *(" · ".join(row) for row in rows)]))
