"""Judging what hand-ins gave, with the desk's own questions, in a process that never loads a line of one.

What comes out is plain data: marks, verdicts, and the pages that are shown of them.
"""

from __future__ import annotations

import contextlib
import json
import math
import re
import warnings
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, replace
from typing import Any

from needlework.course.lesson import boxes, mistakes
from needlework.desk import values
from needlework.desk.aloft import cannot_be_flown, digest_of, to_look_at
from needlework.desk.as_typed import as_the_field
from needlework.desk.hand_in import Given, Marked, Sheet, printable
from needlework.exercises import bundle, judging, telling
from needlework.exercises.answers import is_blank
from needlework.exercises.bundle import BegunLesson, Bundle
from needlework.exercises.catalogue import LESSONS, QUESTIONS
from needlework.exercises.flown import FilledPlan, FlownByHand
from needlework.exercises.kinds import Givens, Number, Question, Table, Text
from needlework.exercises.verdicts import Outcome, Verdict

_NO_FLIGHT = "No flight came with the notebook."


def as_data(given: Given) -> dict[str, Any]:
    """Give what a hand-in gives as plain data."""
    told = asdict(replace(given, answers={}))
    return told | {"answers": {name: values.packed(answer) for name, answer in given.answers.items()}}


def from_data(told: Mapping[str, Any]) -> Given:
    """Take what a hand-in gives from plain data."""
    answers = {name: values.unpacked(answer) for name, answer in told["answers"].items()}
    return Given(**{**told, "answers": answers})


def judge_all(sheet: Sheet, all_given: Sequence[Given]) -> Iterator[dict[str, Any]]:
    """Judge the hand-ins of a class.

    What is shown of one is twenty times its marks, so each is given as soon as it is judged.

    Parameters
    ----------
    sheet : Sheet
        The lesson.
    all_given : sequence of Given
        What each hand-in gives.

    Yields
    ------
    dict
        Of each: ``marks`` and ``cells`` (why to look at one) by marked cell; ``unread``, marked cells whose answer
        could not be read; ``shown``, by marked cell, and ``asked``, by question, what is shown of it; ``begun``, what
        is shown below the first cell; ``right``, values that are right for these numbers, and ``wrong``, those that
        were given in their place, by question and label.
    """
    flown = _flown(sheet, all_given)
    shared = _files_of_several(all_given)
    for n, given in enumerate(all_given):
        # One after the other: what a draw works out of a student's numbers, the judge needs next.
        drawn = {key: judging.draw(QUESTIONS[key], given.begun or "", given.homework) for key in _asked(sheet)}
        _read_numbers(sheet, given, drawn)
        judged = _judged(sheet, given, drawn, flown.pop(n, {}))
        for name, said in shared.get(n, {}).items():
            if name in judged["marks"]:
                judged["cells"][name] = judged["cells"].get(name, "") + said
        yield judged


def _read_numbers(sheet: Sheet, given: Given, drawn: Mapping[str, Givens]) -> None:
    """Let numbers that were typed into a cell as into its field count as there."""
    for name, one in sheet.marked.items():
        if one.question in drawn and name in given.answers:
            # Whatever an answer is, it spoils nothing: what cannot be read so is judged as it is.
            with contextlib.suppress(Exception):
                given.answers[name] = as_the_field(QUESTIONS[one.question], drawn[one.question], given.answers[name])


def _files_of_several(all_given: Sequence[Given]) -> dict[int, dict[str, str]]:
    """Say of a flight handed in as a file who else handed in the same; by number of the hand-in and marked cell."""
    shared: dict[int, dict[str, str]] = {}
    files: dict[str, dict[int, str]] = {}
    for n, given in enumerate(all_given):
        for name, answer in given.answers.items():
            if digest := digest_of(answer):
                files.setdefault(digest, {})[n] = name
    for held in files.values():
        whose = {n: judging.normal_name(all_given[n].begun or "") for n in held}
        for n, name in held.items():
            others = sorted({each for each in whose.values() if each != whose[n]})
            if others:
                shared.setdefault(n, {})[name] = f"; the same file came from {printable(', '.join(others))}"
    return shared


def _asked(sheet: Sheet) -> list[str]:
    """Give the questions of a lesson: those that are marked, then the others."""
    keys = [one.question for one in sheet.marked.values()]
    keys += LESSONS[sheet.lesson].questions if sheet.lesson in LESSONS else ()
    return [key for key in dict.fromkeys(keys) if key in QUESTIONS]


def _flown(sheet: Sheet, all_given: Sequence[Given]) -> dict[int, dict[str, Any]]:
    """Fly every filled plan of the class, all of one question together; by number of the hand-in and marked cell."""
    flown: dict[int, dict[str, Any]] = {}
    for name, one in sheet.marked.items():
        plan = QUESTIONS.get(one.question)
        if not isinstance(plan, FilledPlan):
            continue
        for given in all_given:
            _read_numbers(sheet, given, {one.question: {}})
        wanted = [n for n, given in enumerate(all_given) if not _blank(given.answers.get(name))]
        drawn = [judging.draw(plan, all_given[n].begun or "", all_given[n].homework) for n in wanted]
        asked = [(givens, all_given[n].answers[name], one.hidden) for n, givens in zip(wanted, drawn, strict=True)]
        try:
            flights = plan.fly_all(asked)
        except Exception:
            # One plan that nobody thought of: then each is flown alone, and costs nobody else anything.
            continue
        for n, flight in zip(wanted, flights, strict=True):
            flown.setdefault(n, {})[name] = flight
    return flown


def _blank(answer: object) -> bool:
    try:
        return is_blank(answer)
    except RecursionError:
        return False


def _judged(sheet: Sheet, given: Given, drawn: Mapping[str, Givens], flown: Mapping[str, Any]) -> dict[str, Any]:
    said: dict[str, Any] = {
        "marks": {},
        "cells": {},
        "unread": [],
        "written": {},
        "shown": {},
        "asked": {},
        "right": {},
        "wrong": {},
        "told": {},
    }
    lesson = LESSONS.get(sheet.lesson)
    if lesson is not None:
        begun = BegunLesson(
            sheet.lesson, lesson.title, judging.normal_name(given.begun or ""), 0, len(lesson.questions), ""
        )
        said["begun"] = _shown(*boxes.begun(begun), Bundle(lesson=begun))
    for key, givens in drawn.items():
        asked = telling.asked(QUESTIONS[key], givens)
        said["asked"][key] = _shown(*boxes.question(asked), Bundle(question=asked))
    for name, one in sheet.marked.items():
        if one.question not in drawn:
            said["marks"][name] = 0.0
            said["cells"][name] = f"'{name}' could not be judged: this course has no question '{one.question}'"
            continue
        question = QUESTIONS[one.question]
        try:
            _judge_one(said, name, one, question, drawn[one.question], given, flown.get(name))
        except Exception:  # whatever an answer is, it spoils nothing but itself
            said["marks"][name] = 0.0
            said["cells"][name] = f"'{name}' could not be judged by the course: set its mark by hand"
            said["shown"].pop(name, None)
    return said


def _judge_one(
    said: dict[str, Any], name: str, one: Marked, question: Question, givens: Givens, given: Given, flight: Any
) -> None:
    said["told"][name] = {"outcome": str(Outcome.ERROR), "parts": []}
    stopped = given.stopped.get(one.question, "") and given.why_stopped[one.question]
    by_hand = isinstance(question, FlownByHand)
    if name not in given.answers:
        said["marks"][name] = 0.0
        said["cells"][name] = f"'{name}' counts 0, because " + (
            f"its answer cell cannot be run: “{stopped}”" if stopped else f"nothing gives '{one.variable}' a value"
        )
        verdict = Verdict(Outcome.ERROR, 0.0, mistakes.stopped())
        said["shown"][name] = _verdict(question, verdict, "")
        return
    answer = given.answers[name]
    if stopped and not one.hidden and not by_hand:
        # What its name holds is an older answer.
        said["marks"][name] = 0.0
        said["cells"][name] = f"'{name}' counts 0, because its answer cell cannot be run: “{stopped}”"
        said["shown"][name] = _verdict(question, Verdict(Outcome.ERROR, 0.0, mistakes.stopped()), "")
        return
    if stopped and not by_hand:
        said["cells"][name] = f"the answer cell of '{name}' stopped, and what it held before counts: “{stopped}”"
    if by_hand and isinstance(answer, str) and answer:
        why = cannot_be_flown(question, givens, answer)
        if why:
            said["marks"][name] = 0.0
            said["cells"][name] = f"'{name}' counts 0, because no aircraft flies like this: {why}"
            said["shown"][name] = _verdict(question, Verdict(Outcome.ERROR, 0.0, _NO_AIRCRAFT), "")
            return
        look = to_look_at(answer)
        if look:
            said["cells"][name] = f"'{name}' needs a look: {look}"
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        verdict = judging.judge(question, givens, answer, one.hidden, flight)
    blank = verdict.outcome is Outcome.NOT_ATTEMPTED
    if blank and by_hand:
        verdict = replace(verdict, text=_NO_FLIGHT)
    if isinstance(question, Text):
        # Nobody but a person can tell, unless nothing was written.
        said["marks"][name] = 0.0 if blank else None
        said["shown"][name] = _verdict(question, verdict, "" if blank else _worked(question, verdict, givens))
        said["told"][name] = _told(question, givens, verdict)
        return
    if question.task and not one.hidden:
        said["marks"][name] = 0.0
        return
    said["marks"][name] = min(max(float(verdict.share) * question.points, 0.0), one.points)
    read = telling.understood(question, verdict)
    if not read.readable and by_hand:
        # Nobody wrote it: a recording's own lines say nothing.
        why = verdict.text.rpartition("This cannot be read yet. ")[2]
        said["cells"][name] = f"'{name}' counts 0, because its flight cannot be judged: “{printable(why)}”"
    elif not read.readable:
        said["unread"].append(name)
        said["written"][name] = _as_written(verdict)
    shown = replace(verdict, text=f"{verdict.text} {_in_marks(question, verdict, said['marks'][name])}".rstrip())
    said["shown"][name] = _verdict(question, shown, "" if blank else _worked(question, verdict, givens))
    _compared(said, name, question, givens, answer, verdict)
    said["told"][name] = _told(question, givens, verdict)


_NO_AIRCRAFT = "This recording cannot have been flown as it stands; your instructor has been told to look at it."


def _in_marks(question: Question, verdict: Verdict, marks: float) -> str:
    """Say how the goals of a flight become marks; empty where all are met, or nothing was flown."""
    goals = getattr(question, "goals", ())
    if verdict.outcome is Outcome.PASS or not verdict.cells or len(verdict.cells) != len(goals):
        return ""
    pairs = list(zip(goals, verdict.cells, strict=True))
    met = sum(goal.weight * cell.share for goal, (_, cell) in pairs) / sum(goal.weight for goal in goals)
    text = (
        "In marks: some goals count more than others, and one met in part counts in part; here that is "
        f"{boxes.short(round(met * question.points, 2))} of {boxes.short(question.points)}."
    )
    if marks < met * question.points - 0.005:
        text += (
            f" A wrong line in the plan, a goal missed altogether or what can kill takes marks besides: "
            f"{boxes.short(round(marks, 2))} {'is' if marks == 1 else 'are'} left."
        )
    return text


def _worked(question: Question, verdict: Verdict, givens: Givens) -> str:
    if verdict.outcome is Outcome.PASS:
        return question.fill(question.why, givens)
    if isinstance(question, Text):
        return f"**A full answer:** {question.right(givens)}"
    return f"**Worked out:** {judging.model_answer(question, givens)}"


def _as_written(verdict: Verdict) -> str:
    """Give what could not be read of an answer, as it was written."""
    unread = [f"{label}: {cell.given}" for label, cell in verdict.cells if cell.outcome is Outcome.ERROR]
    return printable("; ".join(unread) if unread else verdict.given, _LONGEST_SAID)


def _verdict(question: Question, verdict: Verdict, explanation: str) -> dict[str, Any]:
    judged = telling.judged(question, verdict, explanation)
    said = Bundle(answer=telling.understood(question, verdict), verdict=judged)
    return _shown(boxes.verdict(judged), repr(judged.marks), said)


def _shown(page: str, line: str, said: Bundle) -> dict[str, Any]:
    return {"text/html": page, "text/plain": line, bundle.MIME: said.as_data()}


def _compared(
    said: dict[str, Any], name: str, question: Question, givens: Givens, answer: Any, verdict: Verdict
) -> None:
    """Note the numbers that are right with these givens, and those that were given in their place.

    What stands in a table is noted by its place: labels may hold a student's own numbers. Numbers are rounded to what
    is asked for, since nobody writes more.
    """
    if isinstance(question, (FilledPlan, FlownByHand)) or verdict.outcome is Outcome.NOT_ATTEMPTED or len(givens) < 2:
        return
    right = question.right(givens)
    table = isinstance(right, dict)
    wanted = list(right.values()) if table else [right]
    given = _by_place(answer, list(right)) if table else [answer]
    asked = question.cells(givens) if isinstance(question, Table) else {"": question}
    judged = dict(verdict.cells) if table else {"": verdict}
    for place, label in enumerate(right if table else [""]):
        if isinstance(wanted[place], bool) or not isinstance(wanted[place], (int, float)):
            continue
        cell = asked.get(label)
        said["right"][f"{name}/{place + 1}"] = _as_asked(cell, wanted[place])
        fine = Outcome.PASS in (verdict.outcome, judged[label].outcome if label in judged else None)
        got = given[place] if len(given) == len(wanted) else None
        if not fine and isinstance(got, (int, float)) and not isinstance(got, bool) and math.isfinite(got):
            said["wrong"][f"{name}/{place + 1}"] = _as_asked(cell, got)


def _by_place(answer: Any, labels: Sequence[str]) -> list[Any]:
    """Give what stands in a table in the order of its lines, whatever their labels."""
    if isinstance(answer, dict):
        found = {str(label).strip().casefold(): value for label, value in answer.items()}
        own = [label.casefold() for label in labels]
        return [found.get(label) for label in own] if set(found) <= set(own) else list(answer.values())
    return list(answer) if isinstance(answer, (list, tuple)) else []


def _as_asked(cell: Question | None, value: float) -> float:
    """Round a number to the precision that is asked for."""
    if not isinstance(cell, Number):
        return round(float(value), 4)
    rounded = round(round(float(value) / cell.to) * cell.to, 6)
    return rounded % 360.0 if cell.circle else rounded


_BEGINNING = re.compile(r"^(?:Not yet[^.]*\. )?(?:You (?:gave|chose) .*?(?:[;.] ))?", re.DOTALL)
_LONGEST_SAID, _LONGEST_TEXT = 60, 500


def _told(question: Question, givens: Givens, verdict: Verdict) -> dict[str, Any]:
    """Tell of an answer what can be held against the answers of others, whose numbers are not the same.

    Parameters
    ----------
    question : Question
        The question.
    givens : mapping
        The student's numbers.
    verdict : Verdict
        What became of the answer.

    Returns
    -------
    dict
        ``outcome`` of the whole; ``parts``, one of an answer that is not a table or a flight: ``label``, ``outcome``,
        ``slip``, ``said`` (as it was understood) and ``text`` (what the student is told, without the answer); of a
        number that is wrong besides ``got``, ``right``, ``unit`` and ``within``, what still passes as the same, in
        this unit, and ``circle``; ``numbers``, the student's own, where a number is wrong.
    """
    cells = question.cells(givens) if isinstance(question, Table) else {"": question}
    # What is said of a table as a whole is true of each of its cells.
    judged = verdict.cells or tuple((label, verdict) for label in cells)
    parts = [_part(label, cells.get(label), givens, one) for label, one in judged]
    if verdict.cells and isinstance(question, (FilledPlan, FlownByHand)):
        # Goals say what came of it; what was wrong in it is named of the whole.
        whole = {True: Outcome.PASS, False: Outcome.SLIP}[verdict.outcome is Outcome.PASS]
        part = _part("the plan" if isinstance(question, FilledPlan) else "the flight", None, givens, verdict)
        parts.append({**part, "outcome": str(whole), "said": ""})
    told: dict[str, Any] = {"outcome": str(verdict.outcome), "parts": parts}
    if any("got" in part for part in parts):
        told["numbers"] = {
            name: round(float(value), 6)
            for name, value in givens.items()
            if isinstance(value, (int, float)) and not isinstance(value, bool)
        }
    return told


def _part(label: str, cell: Question | None, givens: Givens, verdict: Verdict) -> dict[str, Any]:
    part: dict[str, Any] = {"label": label, "outcome": str(verdict.outcome), "slip": verdict.slip}
    part["said"] = printable(verdict.given, _LONGEST_SAID)
    if verdict.outcome is Outcome.PASS:
        return part
    part["text"] = printable(_BEGINNING.sub("", verdict.text, count=1), _LONGEST_TEXT)
    if isinstance(cell, Number):
        with contextlib.suppress(ValueError):
            part["got"] = float(verdict.given.replace(",", ""))
            part["right"] = round(cell.right(givens), 6)
            part["within"], part["circle"] = max(cell.tolerance, 0.5 * cell.to), cell.circle
            part["unit"] = cell.unit
    return part


def in_room(body: bytes) -> bytes:
    """Judge hand-ins of a lesson that is the instructor's own: its functions are nobody's who made this desk.

    Parameters
    ----------
    body : bytes
        JSON: ``key``, ``source`` and ``released`` of the lesson, and ``given``, a list.

    Returns
    -------
    bytes
        JSON: what :func:`judge_all` gives.
    """
    told = json.loads(body)
    sheet = Sheet(told["key"], told["source"], told["released"])
    return json.dumps(list(judge_all(sheet, [from_data(each) for each in told["given"]]))).encode("utf-8")
