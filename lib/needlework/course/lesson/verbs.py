"""What a lesson's cells call: begin, review, ask, check, fly, flight_of, hint, reveal, recap, score, numbers."""

from __future__ import annotations

import html
import os
import re
import warnings
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from needlework.basis import light, places
from needlework.course.lesson import boxes, buttons, cells, editions, mistakes, outputs, session, shown_by
from needlework.course.lesson.outputs import Marks
from needlework.course.lesson.session import LessonError
from needlework.exercises import bundle, catalogue, judging, progress, recording, telling
from needlework.exercises.bundle import (
    BegunLesson,
    Bundle,
    GivenHint,
    GivenVerdict,
    NextLesson,
    Standing,
    StandingRow,
)
from needlework.exercises.catalogue import Lesson
from needlework.exercises.flown import FlownByHand
from needlework.exercises.goals import TOLD
from needlework.exercises.kinds import Givens, Question, Text
from needlework.exercises.verdicts import Outcome, Verdict

_STUCK = "Stuck? The Hint button stands under the question."
_NAMELESS = (
    "No name yet: this is homework, and its numbers are drawn from your name. Type it at the top of the lesson "
    "before you begin (in the notebook: between the quotation marks of the first cell, and run that cell again)."
)
_LOGGED_IN = " You are logged in as {name}: type that, unless your instructor knows you by another name."
_AT_HOME = "Your instructor tells the worked answers when the work is handed back."
_KNOWN = (
    "Right at the first try: this lesson counts as known. Its questions come back on other days, a few at a time; go "
    "on with the next lesson."
)
_NO_FLIGHT = "No flight yet. Fly the panel above to its end, then have it judged."


def _picture(name: str, values: Mapping[str, Any]) -> None:
    from needlework.showing import pictures

    getattr(pictures, name)(**values)


# --- begin and ask ----------------------------------------------------------------------------------------------


def begin(lesson: str, student: str = "", homework: str = "", word: str = "") -> None:
    """Set a lesson up: say that it works, whose numbers are used and how far the learner is.

    Parameters
    ----------
    lesson : str
        Lesson key.
    student : str
        Name or number, as the instructor knows it; empty for a student alone.
    homework : str
        Which hand-out it is; empty for a lesson taken alone.
    word : str
        The word that is told when a sitting begins.

    Raises
    ------
    LessonError
        If there is no such lesson, or the name is not written in quotation marks.
    """
    found = session.lesson_of(lesson)
    if not isinstance(student, (str, int)) or isinstance(student, bool):
        raise LessonError(session.NAME_IN_QUOTES)
    cells.watch(ask)
    now = session.current
    now.begin(found, str(student), session.hand_out(homework, word))
    done = progress.read(student=now.student)
    note = "" if shown_by.again() and lesson in done.opened else progress.note_open(lesson)
    passed = sum(done.record(key).passed for key in found.questions)
    nameless = _nameless() if homework and not now.student else ""
    warning = " ".join(filter(None, [nameless, note or done.warning, editions.note(lesson)]))
    begun = BegunLesson(lesson, found.title, now.student, passed, len(found.questions), warning)
    outputs.show(*boxes.begun(begun), Bundle(lesson=begun))


def _nameless() -> str:
    name = "" if progress.being_marked() else progress.known_name()
    return _NAMELESS + (_LOGGED_IN.format(name=name) if name else "")


def review(name: str, drawn: Mapping[str, str], rows: Mapping[str, int] | None = None) -> None:
    """Set up a sitting at which questions of all lessons come back with numbers not seen before.

    Parameters
    ----------
    name : str
        Its name.
    drawn : mapping of str to str
        By question key, what names its numbers.
    rows : mapping of str to int, optional
        Of tables: how many rows are left blank.

    Raises
    ------
    LessonError
        If a question is of a lesson that is not there.
    """
    own = map(str, places.beside_lessons(progress.folder()))
    os.environ.setdefault(places.VARIABLE, os.pathsep.join(own))
    strange = [key for key in drawn if session.known(key) is None]
    if strange:
        raise LessonError(
            f"The question '{strange[0]}' is of a lesson that is not in your folder any more. Open a new sitting "
            "from the start page: it takes what is there."
        )
    cells.watch(ask)
    outlines = tuple(catalogue.outline(key) for key in drawn)
    sitting = Lesson(progress.COMING_BACK, f"Coming back, {name}", 10, (), outlines, (10,))
    session.current.come_back(sitting, drawn, rows or {})
    passed = sum(_now(key, name_of).passed for key, name_of in drawn.items())
    begun = BegunLesson(progress.COMING_BACK, sitting.title, "", passed, len(drawn), progress.read().warning)
    outputs.show(*boxes.begun(begun), Bundle(lesson=begun))


def _now(key: str, drawn: str) -> progress.Record:
    """Give what became of one question at this sitting."""
    record = progress.Record()
    for each in progress.read().history.get(key, []):
        if each.drawn == drawn and each.outcome:
            right = each.outcome == Outcome.PASS
            record.outcome, record.tries, record.best = each.outcome, record.tries + 1, float(right or record.passed)
        elif each.drawn == drawn:
            record.rungs = max(record.rungs, each.rung)
    return record


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

    Raises
    ------
    LessonError
        If no lesson was begun, or there is no such question.
    """
    return session.current.numbers(key)


def ask(key: str) -> None:
    """Show a question with this learner's numbers, and its picture where it has one.

    Parameters
    ----------
    key : str
        Question key.

    Raises
    ------
    LessonError
        If no lesson was begun, or there is no such question.
    """
    question, givens = session.current.question(key), numbers(key)
    asked = telling.asked(question, givens)
    asked = replace(asked, hints=min(asked.hints, _most_hints()))
    outputs.show(*boxes.question(asked), Bundle(question=asked))
    if question.figure:
        _picture(question.figure, question.figure_values(givens))
    if asked.hints and not shown_by.a_page():
        _hint_button(key)


# --- flights ----------------------------------------------------------------------------------------------------


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

    Raises
    ------
    LessonError
        If no lesson was begun, or there is no such question, or it is not flown by hand.
    """
    from needlework.showing import panel

    question = session.current.question(key)
    if not isinstance(question, FlownByHand):
        raise LessonError(f"'{key}' is not flown by hand. Was the cell changed? A fresh copy has it.")
    givens = numbers(key)
    offered = telling.offered(question, givens)
    return panel.fly(
        _recorded_as(key),
        offered.goal,
        start=question.starts(givens),
        course_1_deg=offered.course_1_deg,
        course_2_deg=offered.course_2_deg,
        of=question.on,
        day=question.day(givens),
        aircraft=question.flown_by,
        seed=1,
        most_min=question.most_min,
        ends_at_dme_nm=question.ends_at_dme_nm,
        ends_below_dme_nm=question.ends_below_dme_nm,
        ends_on_deg=question.ends_on(givens),
        calls=question.calls(givens),
        radials=question.radials(givens) if question.radials else None,
        about=question.about(givens),
        beside={bundle.MIME: Bundle(flight=offered).as_data()},
        tuned=question.tuned(givens),
        whole=bool(question.entry),
        given={name: givens[name] for name in TOLD if name in givens},
        dme_fails_at_nm=question.fails(givens),
        sight_at_nm=question.sees(givens),
        takes_own=question.takes_own,
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
    newest = recording.newest(_recorded_as(key))
    return newest.text if newest else None


def _recorded_as(key: str) -> str:
    """Keep what is flown when a question comes back apart from what was flown in its lesson."""
    return f"{key}-again" if key in session.current.drawn else key


# --- check and score --------------------------------------------------------------------------------------------


def _judged(key: str, answer: object, hidden: bool) -> tuple[Question, Verdict]:
    question = session.current.question(key)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return question, judging.judge(question, numbers(key), answer, hidden)


def _worked(question: Question, verdict: Verdict, givens: Givens) -> str:
    """Explain a final verdict: the reason after a pass, else the worked answer."""
    if verdict.outcome is Outcome.PASS:
        return question.fill(question.why, givens)
    if isinstance(question, Text):
        return f"**Compare with:** {question.right(givens)}"
    return f"**Worked out:** {judging.model_answer(question, givens)}"


def _marks(question: Question, verdict: Verdict, explanation: str = "", ending: str = "") -> Marks:
    """Give the marks with the verdict as a page and as data."""
    judged = telling.judged(question, verdict, explanation)
    said = Bundle(answer=telling.understood(question, verdict), verdict=judged)
    return Marks(judged.marks, boxes.verdict(judged, ending), said)


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

    Raises
    ------
    LessonError
        If no lesson was begun, or there is no such question.
    """
    question, verdict = _judged(key, answer, hidden=False)
    now, givens = session.current, numbers(key)
    # A flight does not come from the cell that asks for it: a recorded one counts, whatever became of the panel.
    if key in now.stopped and not isinstance(question, FlownByHand):
        return _marks(question, Verdict(Outcome.ERROR, 0.0, mistakes.stopped()))
    now.answers[key] = answer
    blank = verdict.outcome is Outcome.NOT_ATTEMPTED
    readable = bool(verdict.cells) or verdict.outcome is not Outcome.ERROR
    if question.task and readable and not blank:
        return _noted(question, verdict)
    if blank and isinstance(question, FlownByHand):
        verdict = replace(verdict, text=_NO_FLIGHT)
    elif blank:
        verdict = replace(verdict, text=mistakes.unanswered(key, _name_of(key), now) or verdict.text)
    warning = "" if blank else _note(telling.judged(question, verdict), verdict.given)
    if isinstance(question, FlownByHand) and verdict.evidence:
        outputs.carry(str(answer))
    explanation = ending = ""
    if verdict.outcome is Outcome.PASS or (progress.being_marked() and not blank):
        # The page that is handed back has no buttons: it says how it is done.
        explanation = _worked(question, verdict, givens)
    elif verdict.outcome in (Outcome.SLIP, Outcome.WRONG) and not question.task:
        ending = mistakes.doubtful(key, now) or _STUCK
    marks = _marks(question, verdict, explanation, " ".join(filter(None, [ending, warning])))
    failed = verdict.outcome in (Outcome.SLIP, Outcome.WRONG, Outcome.CLOSE) and key in now.drawn
    if shown_by.a_page() or failed:
        # Whoever waits for a verdict does not wait for its picture.
        marks.show_now()
    if failed:
        _place_of(question)
    if not question.task:
        for name, values in question.afterwards(givens, verdict):
            _picture(name, values)
    return marks


def _place_of(question: Question) -> None:
    """Lead from a question that came back to where its lesson explains it."""
    lesson = session.lesson_of(question.lesson)
    where = f"../{lesson.key}/{lesson.key}.ipynb#cell-id={question.key}-answer"
    link = f'<a href="{html.escape(where)}">its place in the lesson “{html.escape(lesson.title)}”</a>'
    outputs.show(f"<p>Read it up at {link}.</p>", f"Read it up in the lesson “{lesson.title}”.", Bundle())


def _name_of(key: str) -> str:
    """Give the name of an answer, as the cell that runs has it."""
    found = re.search(rf"""\b(?:check|score)\(["']{re.escape(key)}["'],\s*(\w+)\)""", session.current.cell)
    return found[1] if found else ""


def _note(judged: GivenVerdict, given: str) -> str:
    """Write a verdict into the progress file; a warning in words if that failed."""
    if shown_by.again():
        return ""
    now = session.current
    drawn = now.drawn.get(judged.key, "")
    return progress.note_try(
        judged.key, judged.outcome, judged.share, judged.slip, given, student=now.student, drawn=drawn
    )


def _noted(question: Question, verdict: Verdict) -> Marks:
    answer = telling.understood(question, verdict)
    faults = [(label, cell.text) for label, cell in verdict.cells if cell.outcome is Outcome.ERROR]
    whole = not faults and not any(cell.blank for cell in answer.cells)
    new = whole and not shown_by.again()
    warning = progress.note_task(question.key, answer.given, student=session.current.student) if new else ""
    return Marks(0.0, boxes.noted(answer, faults, warning, isinstance(question, Text)), Bundle(answer=answer))


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

    Raises
    ------
    LessonError
        If no lesson was begun, or there is no such question.
    """
    question, verdict = _judged(key, answer, hidden=True)
    return _marks(question, verdict, _worked(question, verdict, numbers(key)))


# --- hints ------------------------------------------------------------------------------------------------------


def _most_hints() -> int:
    """Give how many hints there are: in homework the last one, the model answer, is not among them."""
    return len(telling.RUNGS) - bool(session.current.homework)


def next_hint(key: str) -> GivenHint:
    """Take the next hint of a question.

    Parameters
    ----------
    key : str
        Question key.

    Returns
    -------
    GivenHint
        The hint; after the last, the last again.

    Raises
    ------
    LessonError
        If no lesson was begun, or there is no such question.
    """
    now = session.current
    question = now.question(key)
    if question.task:
        return GivenHint(key, 0, 0, "No hints here", "This is the task; the rules are further up in the lesson.")
    most = _most_hints()
    drawn = now.drawn.get(key, "")
    before = _now(key, drawn) if drawn else progress.read(student=now.student).record(key)
    rung = now.rungs[key] = min(max(before.rungs, now.rungs.get(key, 0)) + 1, most)
    progress.note_hint(key, rung, student=now.student, drawn=drawn)
    return GivenHint(key, rung, most, telling.RUNGS[rung - 1], judging.hint(question, numbers(key), rung))


def hint(key: str) -> None:
    """Show the next hint: where to look, then the rule, then the first line, then the model answer.

    Parameters
    ----------
    key : str
        Question key.

    Raises
    ------
    LessonError
        If no lesson was begun, or there is no such question.
    """
    given = next_hint(key)
    outputs.show(*boxes.hint(given), Bundle(hint=given))


def _hint_button(key: str) -> None:
    def press() -> tuple[str, bool]:
        given = next_hint(key)
        return boxes.hint(given)[0], given.rung == given.of

    tip = "One hint more: where to look, the rule, the first line, the answer"
    buttons.button("Hint", tip, press, adds=True)


# --- the end of a lesson ----------------------------------------------------------------------------------------


def reveal(lesson: str) -> None:
    """For a student alone: a button that judges the tasks as the marking desk would, with the worked answers.

    Parameters
    ----------
    lesson : str
        Lesson key.

    Raises
    ------
    LessonError
        If there is no such lesson.
    """
    session.lesson_of(lesson)
    if session.current.homework:
        raise LessonError(_AT_HOME)
    if shown_by.a_page():
        return

    def press() -> tuple[str, bool]:
        verdicts, last = judged_tasks(lesson)
        return "".join(boxes.verdict(verdict, ending) for verdict, ending in verdicts), last

    buttons.button("Judge my task", "For a student alone: the verdict and the worked answer", press)


def judged_tasks(lesson: str) -> tuple[list[tuple[GivenVerdict, str]], bool]:
    """Judge the tasks of a lesson as the marking desk would, and note the verdicts.

    Parameters
    ----------
    lesson : str
        Lesson key.

    Returns
    -------
    verdicts : list of (GivenVerdict, str)
        Each with what is said after it; a single one, without a worked answer, as long as a task is not filled in.
    last : bool
        True if there is nothing more to come.

    Raises
    ------
    LessonError
        If there is no such lesson.
    """
    verdicts = []
    for key in [question.key for question in session.questions_of(lesson) if question.task]:
        question, verdict = _judged(key, session.current.answers.get(key), hidden=True)
        if verdict.outcome is Outcome.NOT_ATTEMPTED:
            return [(telling.judged(question, verdict), "Nothing is shown before the task is filled in.")], False
        judged = telling.judged(question, verdict, _worked(question, verdict, numbers(key)))
        if not isinstance(question, Text):
            _note(judged, verdict.given)
        verdicts.append((judged, ""))
    from needlework.exercises import schedule

    done = progress.read(student=session.current.student)
    if verdicts and schedule.known_on(session.lesson_of(lesson), done) is not None:
        verdicts[-1] = (verdicts[-1][0], _KNOWN)
    return verdicts, True


def recap(lesson: str) -> None:
    """Show how far the learner is with a lesson and what comes next.

    Parameters
    ----------
    lesson : str
        Lesson key.

    Raises
    ------
    LessonError
        If there is no such lesson.
    """
    if lesson == progress.COMING_BACK and session.current.drawn:
        _recap_of_review()
        return
    found = session.lesson_of(lesson)
    if progress.being_marked():
        # The marks stand at the top of the page; the tries of the learner's own machine are not known here.
        return
    done = progress.read(student=session.current.student)
    rows = tuple(_row(question, done.record(question.key)) for question in session.questions_of(lesson))
    order = session.lessons()
    after = next(iter(order[order.index(found) + 1 :]), None)
    stands = Standing(
        key=lesson,
        title=found.title,
        marks=sum(row.marks for row in rows),
        points=sum(row.points for row in rows),
        rows=rows,
        next=NextLesson(after.key, after.title, after.minutes) if after else None,
        warning=done.warning,
    )
    outputs.show(*boxes.standing(stands), Bundle(standing=stands))
    # The last cell of a lesson, which is run again after every verdict.
    light.clear_away()


def _recap_of_review() -> None:
    now = session.current
    assert now.lesson is not None
    rows = tuple(_row(now.question(key), _now(key, drawn)) for key, drawn in now.drawn.items())
    marks, points = sum(row.marks for row in rows), sum(row.points for row in rows)
    stands = Standing(progress.COMING_BACK, now.lesson.title, marks, points, rows, None, progress.read().warning)
    outputs.show(*boxes.standing(stands), Bundle(standing=stands))


def _row(question: Question, record: progress.Record) -> StandingRow:
    outcome = Outcome.PASS if record.passed else Outcome(record.outcome)
    marks, points = float(record.best * question.points), float(question.points)
    return StandingRow(question.key, question.title, outcome, record.noted and not record.tries, marks, points)
