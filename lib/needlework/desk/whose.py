"""Whose work a hand-in is: the name its session was begun with, held against the person under whom it came in.

What hand-ins have in common is told as a fact. It accuses nobody: two may have worked together, or share a computer.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping
from typing import Any

from needlework.desk.collect import words_of
from needlework.desk.hand_in import printable
from needlework.exercises.judging import normal_name

_FEWEST_ALIKE = 4


def is_name_of(typed: str, student: str, full_name: str) -> bool:
    """Say whether a name that was typed is the id or the whole name of a student.

    Parameters
    ----------
    typed : str
        As it was typed into the first cell.
    student, full_name : str
        Id at the desk, and the name on the class list; empty without a list.

    Returns
    -------
    bool
        True if all its words are those of the one or the other, in any order.
    """
    words = sorted(words_of(typed))
    return bool(words) and words in (sorted(words_of(student)), sorted(words_of(full_name)))


def of_somebody_else(typed: str, student: str, full: Mapping[str, str]) -> str:
    """Say that a hand-in has somebody else's numbers.

    Parameters
    ----------
    typed : str
        The name its session was begun with; empty for none.
    student : str
        Under whom it came in.
    full : mapping
        Names on the class list by id; empty without one.

    Returns
    -------
    str
        A clause; empty where the name is the student's own, or none was typed.
    """
    if not typed.strip() or is_name_of(typed, student, full.get(student, "")):
        return ""
    other = next((each for each, name in full.items() if each != student and is_name_of(typed, each, name)), "")
    whose = f", which is the name of {other}" if other else ""
    return f"its numbers are those of “{printable(typed.strip(), 80)}”{whose}"


def facts(ledger: Mapping[str, Mapping[str, Any]], compared: Mapping[str, Mapping[str, Any]]) -> list[str]:
    """Tell what hand-ins have in common.

    Parameters
    ----------
    ledger : mapping
        By student: ``named`` (the name of the session), ``hand_in`` (what identifies the file).
    compared : mapping
        By student: ``right`` and ``wrong`` values by question and place in its table, as the judge compared them.

    Returns
    -------
    list of str
        One sentence each.
    """
    told = []
    same_file, same_name, same_seat = defaultdict(list), defaultdict(list), defaultdict(list)
    for student, known in sorted(ledger.items()):
        if known.get("marked"):
            same_file[known.get("hand_in", "")].append(student)
            for seat in (note for note in known.get("notes", ()) if re.fullmatch(r"seat \d+", note)):
                same_seat[seat].append(student)
            name = normal_name(known.get("named") or "")
            if name:
                same_name[name].append(student)
    for students in same_file.values():
        if len(students) > 1:
            told.append(f"{_listed(students)} handed in the same file, letter for letter.")
    for name, students in same_name.items():
        if len(students) > 1:
            told.append(f"{_listed(students)} were worked with the same numbers, those of “{printable(name, 80)}”.")
    for seat, students in same_seat.items():
        if len(students) > 1:
            told.append(f"{_listed(students)} have the task of the same seat, {seat}.")
    return told + _right_for_others(ledger, compared)


def _listed(students: list[str]) -> str:
    return f"{', '.join(students[:-1])} and {students[-1]}"


def _right_for_others(
    ledger: Mapping[str, Mapping[str, Any]], compared: Mapping[str, Mapping[str, Any]]
) -> list[str]:
    """Find answers that are wrong for one student's numbers, and right for another's."""
    holders: dict[tuple[str, float], list[str]] = defaultdict(list)
    for student, one in compared.items():
        for label, value in one.get("right", {}).items():
            holders[label, value].append(student)
    numbers_of = {student: normal_name(ledger.get(student, {}).get("named") or "") for student in compared}
    told = []
    for student, one in sorted(compared.items()):
        wrong, own = one.get("wrong", {}), one.get("right", {})
        alike: dict[str, list[str]] = defaultdict(list)
        for label, value in wrong.items():
            for other in holders.get((label, value), ()):
                if other != student and value != own.get(label):
                    alike[other].append(label)
        found = sorted(alike.items(), key=lambda pair: -len(pair[1]))
        if not found:
            continue
        other, labels = found[0]
        # By chance some of them agree with somebody's in any class: with nearly as many of another's, it is chance.
        chance = max((len(each) for name, each in found if numbers_of[name] != numbers_of[other]), default=0)
        few = len(labels) < max(_FEWEST_ALIKE, len(wrong) / 2)
        # One mistake can turn a whole table into somebody else's: one question alone says nothing.
        questions = sorted({label.partition("/")[0] for label in labels})
        alone = few or len(questions) < 2 or numbers_of[other] == numbers_of[student]
        if not alone and len(labels) > 2 * chance:
            # Who else handed these in may have copied them too: told is the name they were drawn from.
            named = printable((ledger.get(other, {}).get("named") or other).strip(), 80)
            told.append(
                f"{len(labels)} answers of {student} that are not right for these numbers are right for those of "
                f"“{named}”: {', '.join(questions)}."
            )
    return told
