"""Marking a part of a class: from the files' contents to marks, reasons and pages, all as plain data.

This is what an executor sends out. A hand-in whose cells are plain is read; one with code of its own goes through the
room; then all of them are judged together, because plans that are flown together cost a tenth.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from needlework.basis.places import VARIABLE
from needlework.course.lesson.mistakes import ASKED
from needlework.desk import judging, values
from needlework.desk.hand_in import (
    Given,
    Sheet,
    Stopped,
    about,
    holds_code,
    name_of,
    printable,
    read,
    source_of,
    steps_of,
)
from needlework.desk.room import NOT_ITS_FAULT, Came, Room
from needlework.exercises import progress
from needlework.exercises.verdicts import Outcome

NOT_BEGUN = "its first cell, which sets the lesson up and says whose numbers it is, was not run"
FORGED = "what its code gave is no list of answers"
NEEDS_TRUST = "it has code of its own ({why}), and this machine has no walls to run it behind"


@cache
def _room(walled: bool, own: str) -> Room:
    return Room(walled, [Path(own)] if own else [], {VARIABLE: own} if own else {})


@progress.at_the_desk()
def mark_some(task: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Mark some hand-ins of one lesson.

    Parameters
    ----------
    task : mapping
        ``lesson`` (its key), ``source`` and ``released`` (the notebooks, as text), ``own`` (folder of a lesson that
        is the instructor's own, or empty), ``walls`` (whether there are any), ``trust`` (whether code may run without
        them), and ``papers``: the content of each file.

    Returns
    -------
    list of dict
        Of each hand-in: ``look``, ``cells``, ``notes``, ``machine`` and ``begun`` as in :class:`Given`, ``marks`` by
        marked cell, None where a person sets it, and no marks at all where there are none; ``page``, the marked
        notebook as a file holds it; ``answers`` as packed values; ``right``, ``wrong`` and ``told`` as judged.
    """
    sheet = Sheet(task["lesson"], json.loads(task["source"]), json.loads(task["released"]))
    all_given, all_cells = [], []
    for content in task["papers"]:
        given, cells = read(sheet, content)
        if given.code:
            _run(sheet, cells, given, task)
        if not given.failed and given.begun is None:
            given.failed = f"{NOT_BEGUN}: “{given.first_cell}”" if given.first_cell else NOT_BEGUN
        all_given.append(given)
        all_cells.append(cells)
    good = [given for given in all_given if not given.failed]
    judged = _judged(sheet, good, task) if good else iter(())
    results = []
    for given, cells in zip(all_given, all_cells, strict=True):
        one = None if given.failed else next(judged)
        if one is not None and "failed" in one:
            given.failed, given.machine, one = one["failed"], one["machine"], None
        results.append(_result(sheet, given, cells, one))
    return results


RAN = "a program of the student's own in it was run"


def _run(sheet: Sheet, cells: list[dict[str, Any]], given: Given, task: Mapping[str, Any]) -> None:
    """Let the code of a hand-in run where it can do no harm, and take what it gives."""
    if not task["walls"] and not task["trust"]:
        given.failed, given.machine = NEEDS_TRUST.format(why=given.code), True
        return
    steps = steps_of(sheet, cells)
    job = {"steps": [[step.kind, step.name, step.text] for step in steps], "flights": given.flights}
    came = _room(bool(task["walls"]), task["own"]).run("answers", json.dumps(job).encode("utf-8"))
    if came.why:
        given.failed, given.machine = printable(came.why), came.machine
        return
    try:
        _take(given, json.loads(came.body), [step.text for step in steps], set(sheet.marked))
    except (ValueError, TypeError, KeyError, IndexError, AttributeError, RecursionError):
        given.answers, given.failed = {}, FORGED


def _take(given: Given, said: Any, texts: Sequence[str], marked: set[str]) -> None:
    """Take what came out of the room; whoever wrote it is not trusted."""
    stopped = Stopped(given)
    for number, kind, text, name in said["stopped"]:
        stopped.cell(texts[int(number)], _error(str(kind), str(text), str(name)) if kind else None)
    for name, held in said["answers"].items():
        if name not in marked:
            continue
        try:
            given.answers[name] = values.unpacked(held)
        except (ValueError, RecursionError):
            given.answers[name] = values.Strange("nobody knows")
    begun = said["begun"]
    given.begun = None if begun is None else str(begun)[:200]
    given.homework = str(said["homework"])[:200]


def _error(kind: str, text: str, name: str) -> BaseException:
    """Make an error again from its name, so that it is told in the same words wherever it came up."""
    import builtins

    from needlework.basis.errors import NeedleworkError

    known = getattr(builtins, kind, None)
    if kind == "LessonError":
        return NeedleworkError(printable(text))
    if kind == "NameError":
        return NameError(text, name=name)
    if isinstance(known, type) and issubclass(known, Exception):
        try:
            return _made(known, text)
        except Exception:
            return RuntimeError(text)
    return _made(type(kind if kind.isidentifier() else "Error", (Exception,), {}), text)


def _made(kind: Any, text: str) -> BaseException:
    error: BaseException = kind(text)
    return error


def _judged(sheet: Sheet, good: list[Given], task: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    """Judge; with functions that are not the course's own, in a room of their own as well."""
    if not task["own"]:
        yield from judging.judge_all(sheet, good)
        return
    body: dict[str, Any] = {"key": sheet.key, "source": sheet.source, "released": sheet.released}
    body["given"] = [judging.as_data(given) for given in good]
    came = _room(bool(task["walls"]), task["own"]).run("judge", json.dumps(body).encode("utf-8"))
    if not came.why:
        yield from json.loads(came.body)
    elif len(good) == 1:
        yield _not_judged(came)
    else:
        # One of them stopped the judge: the others are none the worse for it.
        for given in good:
            yield from _judged(sheet, [given], task)


def _not_judged(came: Came) -> dict[str, Any]:
    why = came.why if came.machine else "the functions of this lesson came to no verdict"
    return {"failed": why, "machine": True}


def make_pages(task: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Make the pages of some students; of a lesson that is the instructor's own, in a room.

    Parameters
    ----------
    task : mapping
        As :func:`needlework.desk.page.pages_of` takes it, with ``own`` and ``walls`` besides.

    Returns
    -------
    list of dict
        ``html`` of each; an empty one where it could not be made.
    """
    from needlework.desk import page

    if not task["own"]:
        return [{"html": one} for one in page.pages_of(task)]
    made = []
    for paper in task["papers"]:
        body = json.dumps({**task, "papers": [paper], "kept": ""}).encode("utf-8")
        came = _room(bool(task["walls"]), task["own"]).run("pages", body)
        made.append({} if came.why else {"html": json.loads(came.body)[0]})
    return made


def _result(
    sheet: Sheet, given: Given, cells: list[dict[str, Any]], judged: Mapping[str, Any] | None
) -> dict[str, Any]:
    said: dict[str, Any] = {"look": [], "cells": {}, "notes": given.notes, "machine": given.machine}
    said |= {"begun": given.begun, "homework": given.homework, "code": given.code}
    if judged is None:
        said["look"] = [given.failed or NOT_ITS_FAULT]
        return said
    unchanged = {name_of(cell): source_of(cell).strip() for cell in sheet.released["cells"] if name_of(cell)}
    marks: dict[str, float | None] = dict(judged["marks"])
    for cell in cells:
        name = name_of(cell)
        if name in sheet.by_hand:
            # Nobody but a person can tell, unless nothing was written.
            marks[name] = 0.0 if source_of(cell).strip() == unchanged.get(name) else None
    silent = _without_answer(sheet, given, cells, judged)
    ran = [RAN] if given.code and not silent else []
    said["notes"] = [*said["notes"], *_unread(judged), *ran, *silent]
    said |= {"marks": marks, "cells": judged["cells"], "right": judged["right"], "wrong": judged["wrong"]}
    said["told"], said["worked"] = judged["told"], given.worked
    said["answers"] = {name: values.packed(answer) for name, answer in given.answers.items()}
    # Half a letter, which a text of code may hold, is in no file.
    said["page"] = json.dumps(_page(sheet, given, cells, judged), ensure_ascii=False).encode("utf-8", "replace")
    return said


def _unread(judged: Mapping[str, Any]) -> list[str]:
    """Tell which answers could not be read, as they were written; other lines of a table may have earned marks."""
    by_what: dict[str, list[str]] = {}
    for name in judged["unread"]:
        written = judged["written"].get(name)
        said = "could not be read in part" if judged["marks"][name] else "could not be read and counts 0"
        by_what.setdefault(said, []).append(f"'{name}'" + (f" (“{written}”)" if written else ""))
    return [f"{said}: {', '.join(names)}" for said, names in by_what.items()]


def _without_answer(
    sheet: Sheet, given: Given, cells: Sequence[Mapping[str, Any]], judged: Mapping[str, Any]
) -> list[str]:
    """Tell of each question whose answer cell holds code and gave no answer what the code did; notes of what ran."""
    texts, stubs = {name_of(cell): source_of(cell) for cell in cells}, sheet.stubs()
    notes: dict[str, str] = {}
    for name, one in sheet.marked.items():
        told, answer = judged["told"].get(name, {}), sheet.answer_of[name]
        stopped = given.stopped.get(one.question)
        if told.get("outcome") == Outcome.ERROR and not told["parts"] and stopped:
            told["code"] = f"its code stopped: “{stopped}”"
        elif told.get("outcome") == Outcome.NOT_ATTEMPTED:
            text = texts.get(answer, "").strip()
            if text != stubs.get(answer, text) and holds_code(text):
                told["code"] = "its code ran and gave no answer"
                notes.setdefault(answer, f"the code in the answer cell of '{name}' ran and gave no answer")
    return list(notes.values())


def _page(
    sheet: Sheet, given: Given, cells: Sequence[Mapping[str, Any]], judged: Mapping[str, Any]
) -> dict[str, Any]:
    """Make the marked notebook: the learner's text with what the desk says of it, and no output of the learner's."""
    made = []
    for number, cell in enumerate(cells):
        new: dict[str, Any] = {
            "cell_type": cell["cell_type"],
            "id": f"c{number}",
            "metadata": _kept(cell),
            "source": source_of(cell),
        }
        if cell["cell_type"] == "code":
            outputs: list[dict[str, Any]] = []
            for key in re.findall(ASKED, source_of(cell)):
                if key in judged["asked"]:
                    outputs.append({"output_type": "display_data", "metadata": {}, "data": judged["asked"][key]})
                if key in given.stopped and about(cell).get("solution"):
                    said = given.stopped[key]
                    outputs.append({"output_type": "error", "ename": "Stopped", "evalue": said, "traceback": [said]})
            name = name_of(cell)
            if name in judged["shown"]:
                shown = {**judged["shown"][name], "text/plain": repr(judged["marks"][name])}
                result = {"output_type": "execute_result", "execution_count": 1, "metadata": {}, "data": shown}
                outputs.append(result)
            if "setup" in new["metadata"].get("tags", ()) and "begun" in judged:
                outputs.append({"output_type": "display_data", "metadata": {}, "data": judged["begun"]})
            new |= {"outputs": outputs, "execution_count": None}
        made.append(new)
    metadata = {"kernelspec": sheet.released["metadata"].get("kernelspec", {}), "language_info": {"name": "python"}}
    return {"cells": made, "metadata": metadata, "nbformat": 4, "nbformat_minor": 5}


def _kept(cell: Mapping[str, Any]) -> dict[str, Any]:
    """Keep of a cell's metadata what is the desk's own."""
    tags = cell["metadata"].get("tags")
    kept: dict[str, Any] = {"nbgrader": about(cell)} if about(cell) else {}
    if isinstance(tags, list):
        kept["tags"] = [str(tag) for tag in tags]
    return kept
