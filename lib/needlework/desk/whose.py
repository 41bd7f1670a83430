"""Whose work a hand-in is: the name its session was begun with, held against the person under whom it came in.

What hand-ins have in common is told as a fact. It accuses nobody: two may have worked together, or share a computer.
"""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Mapping
from typing import Any

from needlework.desk.collect import spelled_alike, words_of
from needlework.desk.hand_in import printable
from needlework.exercises.judging import normal_name

_FEWEST_ALIKE = 4
_FEW = 12  # in a smaller class it is counted as in one of so many
_HARDLY = 0.3
"""How many of an honest class chance may put together at most, by a bound that lies far above what is seen."""


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
    own = full.get(student, "")
    if not typed.strip() or is_name_of(typed, student, own):
        return ""
    other = next((each for each, name in full.items() if each != student and is_name_of(typed, each, name)), "")
    if not other and sorted(spelled_alike(words_of(typed))) == sorted(spelled_alike(words_of(own))):
        return ""
    shown = printable(typed.strip(), 80)
    if other == shown:
        return f"its numbers are those of {other}"
    return f"its numbers are those of “{shown}”{f', who is {other}' if other else ''}"


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
    """Find answers that are not right for one student's numbers and are those of another, figure for figure.

    Some of them agree with somebody's in any class, by chance or by one usual mistake. So it is counted of each
    question how many others this student agrees with as far, and told is only what chance would hardly bring about
    between any two of the class. One mistake can turn a whole table into somebody else's: a question counts once.
    """
    numbers_of = {student: normal_name(ledger.get(student, {}).get("named") or "") for student in compared}
    people = max(_FEW, len(set(numbers_of.values())))
    holders: dict[tuple[str, float], set[str]] = defaultdict(set)
    for student, one in compared.items():
        for label, value in (*one.get("right", {}).items(), *one.get("wrong", {}).items()):
            holders[label, value].add(student)
    found = []
    for student, one in sorted(compared.items()):
        own = one.get("right", {})
        alike: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
        for label, value in one.get("wrong", {}).items():
            for other in holders[label, value] if value != own.get(label) else ():
                if numbers_of[other] != numbers_of[student]:
                    alike[other][label.partition("/")[0]].append(label)
        enough = [
            each
            for each, theirs in alike.items()
            if len(theirs) > 1 and sum(map(len, theirs.values())) >= _FEWEST_ALIKE
        ]
        chances = {other: _chance(alike, other, numbers_of, people) for other in enough}
        other = min(chances, key=lambda each: chances[each], default="")
        if other and chances[other] + 2.0 * math.log(people) < math.log(_HARDLY):
            found.append((chances[other], student, other, alike[other]))
    told = []
    for chance, student, other, questions in found:
        rights = compared[other].get("right", {})
        labels = [label for each in questions.values() for label in each]
        right = sum(compared[student]["wrong"][label] == rights.get(label) for label in labels)
        # What two have wrong alike is seen from both sides; told is the one from which more is seen.
        if not any((a, b) == (other, student) and (less, a) < (chance, student) for less, a, b, _ in found):
            told.append(_in_common(student, (ledger.get(other, {}).get("named") or other), questions, right, labels))
    return told


def _chance(
    alike: Mapping[str, Mapping[str, list[str]]], other: str, numbers_of: Mapping[str, str], people: int
) -> float:
    """Give the logarithm of the chance that a student agrees as far with somebody, at most.

    How likely each question is to agree is counted in the class itself. That as much agrees as with this one, in
    these questions or in others, is then bounded by the moments of the sum (Chernoff's inequality).
    """

    def share(question: str, least: int) -> float:
        return len({numbers_of[each] for each in alike if len(alike[each].get(question, ())) >= least}) / people

    asked = sorted({question for each in alike.values() for question in each})
    agree = {question: share(question, len(alike[other].get(question, ())) or 1) for question in asked}
    weight = sum(math.log(agree[question]) for question in alike[other])
    return min(
        part * weight + sum(math.log(1.0 - each + each ** (1.0 - part)) for each in agree.values())
        for part in (0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
    )


def _in_common(student: str, named: str, questions: Mapping[str, Any], right: int, labels: list[str]) -> str:
    # Who else handed these in may have copied them too: told is the name they were drawn from.
    whose, wrong, listed = f"“{printable(named.strip(), 80)}”", len(labels) - right, ", ".join(sorted(questions))
    if not right:
        alike = f"{wrong} wrong answers of {student} are the wrong answers of {whose} too"
        return f"{alike}, whose numbers are others: {listed}."
    be = (
        "answers of {} that are not right for these numbers are"
        if right > 1
        else ("answer of {} that is not right for these numbers is")
    )
    also = f", and {wrong} more {'are' if wrong > 1 else 'is'} what was handed in there, wrong as well"
    return f"{right} {be.format(student)} right for those of {whose}{also if wrong else ''}: {listed}."
