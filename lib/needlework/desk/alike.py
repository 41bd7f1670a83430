"""Wrong answers that are the same mistake although every student has other numbers: found, named, and found again.

What a named mistake does not explain is compared by what can be compared: the same answer, the same of the student's
own numbers put down, the same difference from what is right, the same multiple of it. An :class:`Answer` so described
can be typed, kept, and held against the hand-ins of another day.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from needlework.basis.errors import BadData
from needlework.exercises import wording

_FEWEST = 3
"""Fewer numbers that agree say nothing; fewer that are the same letters do."""
_CHANCE = 0.05
_ROOMY = 20.0
"""Answers are taken to be spread over at least so many times what passes."""
_PLACES = (-3, -2, -1, 0, 1, 2, 3, 4)


@dataclass(frozen=True)
class Given:
    """What one student gave in one place.

    Parameters
    ----------
    student : str
        Whose.
    outcome : str
        Name of the outcome.
    slip : str
        Code of the named mistake; empty where there is none.
    said : str
        The answer as it was understood.
    got, right : float or None
        The number that was given, and the one that is right for this student; None for what is no number.
    within : float
        What still passes as the same, in the unit of the number.
    circle : bool
        True for directions.
    numbers : mapping of str to float
        The student's own numbers of this question, by name.
    unit : str
        Unit of the number, in words.
    text : str
        What the student is told of it.
    """

    student: str
    outcome: str
    slip: str = ""
    said: str = ""
    got: float | None = None
    right: float | None = None
    within: float = 0.0
    circle: bool = False
    numbers: Mapping[str, float] = field(default_factory=dict)
    unit: str = ""
    text: str = ""

    def off(self, wanted: float) -> float:
        """Give how far the number is from another one, on the compass circle where it is a direction."""
        gap = (self.got or 0.0) - wanted
        return 180.0 - (180.0 - gap) % 360.0 if self.circle else gap

    @property
    def unexplained(self) -> bool:
        """True for a wrong answer to which no mistake has a name, and for one that could not be read."""
        return self.outcome in ("WRONG", "ERROR") and not self.slip


WAYS = {
    "is": "is 180",
    "uses": "uses radial_deg",
    "off by": "off by +10",
    "times": "times 2",
    "mistake": "mistake RECIP",
    "left out": "left out",
}
"""The ways in which an answer is described, each with an example."""


@dataclass(frozen=True)
class Answer:
    """A description that answers of several students fit.

    Parameters
    ----------
    way : str
        A key of :data:`WAYS`.
    value : str or float
        Letters, a name, a code, a difference in the unit of the number, a factor; empty for what is left out.
    """

    way: str
    value: str | float = ""

    def __str__(self) -> str:
        if self.way == "off by":
            return f"off by {self.value:+.10g}"
        return (
            f"{self.way} {self.value:.10g}" if isinstance(self.value, float) else f"{self.way} {self.value}".strip()
        )

    def fits(self, given: Given) -> bool:
        """Say whether an answer is of this kind; one that is right is of none.

        Parameters
        ----------
        given : Given
            The answer.

        Returns
        -------
        bool
            True if it is.
        """
        if self.way == "left out":
            return given.outcome == "NOT_ATTEMPTED"
        if given.outcome in ("PASS", "NOT_ATTEMPTED"):
            return False
        if self.way == "mistake":
            return self.value in given.slip.split("+")
        if self.way == "is":
            number = _number(str(self.value))
            if given.got is not None and number is not None:
                return abs(given.off(number)) <= given.within + _slack(number)
            return _plain(given.said) == _plain(str(self.value))
        if given.got is None or given.right is None:
            return False
        if self.way == "uses":
            number = given.numbers.get(str(self.value))
            return number is not None and abs(given.off(number)) <= given.within + _slack(number)
        value = float(self.value)
        if self.way == "off by":
            return abs(_turned(given.off(given.right) - value, given.circle)) <= given.within + _slack(value)
        wanted = value * given.right
        return not given.circle and abs(given.got - wanted) <= max(1.0, abs(value)) * given.within + _slack(wanted)

    def in_words(self, unit: str = "") -> str:
        """Say in words what these answers are.

        Parameters
        ----------
        unit : str
            Unit of the number in words; empty for none.

        Returns
        -------
        str
            A clause.
        """
        behind = f" {unit}" if unit else ""
        match self.way:
            case "is":
                if isinstance(self.value, str):
                    return f"gave “{self.value}”"
                return f"all gave {wording.measured(f'{self.value:.10g}', unit)}"
            case "uses":
                return f"put down their own {_words(str(self.value))}, as it stands in the question"
            case "off by":
                size, above = f"{abs(float(self.value)):.10g}", float(self.value) > 0
                if wording.measured(size, unit) != f"{size}{behind}":  # What names a thing is not measured.
                    return f"give the {unit} {size} too {'high' if above else 'low'}"
                return f"are {size}{behind} too {'much' if above else 'little'}"
            case "times":
                return f"are {float(self.value):.10g} times what is right"
            case "mistake":
                return f"made the mistake named {self.value}"
        return "left it out"


def _words(name: str) -> str:
    """Turn a name such as ``radial_deg`` into words."""
    return name.replace("_", " ")


def _slack(value: float) -> float:
    return 1e-9 * max(1.0, abs(value))


def _turned(gap: float, circle: bool) -> float:
    return 180.0 - (180.0 - gap) % 360.0 if circle else gap


def _plain(text: str) -> str:
    return re.sub(r"\s+", " ", text).strip().casefold()


def _number(text: str) -> float | None:
    try:
        value = float(text.replace(",", ""))
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def described(text: str) -> Answer:
    """Read a description as it is typed.

    Parameters
    ----------
    text : str
        For example ``off by +10``.

    Returns
    -------
    Answer
        What it means.

    Raises
    ------
    BadData
        If it is none.
    """
    words = " ".join(text.split())
    for way in WAYS:
        if words.casefold() == way and way == "left out":
            return Answer(way)
        if not words.casefold().startswith(f"{way} ") or way == "left out":
            continue
        rest = words[len(way) + 1 :]
        if way not in ("off by", "times"):
            return Answer(way, rest)
        number = _number(rest)
        if number is not None:
            return Answer(way, number)
    raise BadData(f"“{words}” describes no answer: write it as the page does, {_listed(WAYS.values())}.")


def _listed(examples: Iterable[str]) -> str:
    *first, last = (f"“{each}”" for each in examples)
    return f"{', '.join(first)} or {last}"


@dataclass(frozen=True)
class Group:
    """Wrong answers that are the same.

    Parameters
    ----------
    answer : Answer
        What they have in common.
    given : tuple of Given
        The answers.
    """

    answer: Answer
    given: tuple[Given, ...]

    @property
    def one_for_all(self) -> bool:
        """True where one and the same number was given although what is right differs."""
        rights = [each.right for each in self.given if each.right is not None]
        return self.answer.way == "is" and bool(rights) and max(rights) - min(rights) > self.given[0].within

    @property
    def in_words(self) -> str:
        """Say in words what these answers are."""
        said = self.answer.in_words(self.given[0].unit)
        return f"{said}, though every student's numbers give another answer" if self.one_for_all else said

    @property
    def in_tolerances(self) -> float | None:
        """How many times what passes the answers are off, in the middle of them; None for what is no number."""
        sizes = sorted(
            abs(each.off(each.right)) / each.within for each in self.given if each.right is not None and each.within
        )
        return sizes[len(sizes) // 2] if sizes else None


def grouped(given: Sequence[Given]) -> tuple[list[Group], list[Given]]:
    """Put wrong answers together that no named mistake explains.

    Parameters
    ----------
    given : sequence of Given
        Answers of one place of one question; those that are right or explained are left aside.

    Returns
    -------
    list of Group
        The largest first. Numbers stand together only where so many would hardly agree by chance; the tests count in
        how many classes they do.
    list of Given
        The others, each alone.
    """
    left = [each for each in given if each.unexplained]
    found: list[Group] = []
    while left:
        best = max(_candidates(left), key=lambda group: len(group.given), default=None)
        if best is None:
            break
        found.append(best)
        taken = {each.student for each in best.given}
        left = [each for each in left if each.student not in taken]
    return sorted(found, key=lambda group: -len(group.given)), left


def _candidates(left: Sequence[Given]) -> Iterable[Group]:
    texts: dict[str, list[Given]] = {}
    for each in left:
        if each.got is None:
            texts.setdefault(_plain(each.said), []).append(each)
    for same in texts.values():
        if len(same) > 1 and same[0].said:
            yield Group(Answer("is", same[0].said), tuple(same))
    numbers = [each for each in left if each.got is not None and each.right is not None]
    # The first of several that hold as many is the plainest.
    for way, values in _values(numbers):
        tried: set[float | str] = set()
        for value in values:
            if value in tried:
                continue
            tried.add(value)
            same = [each for each in numbers if Answer(way, value).fits(each)]
            if len(same) < 2 or not _no_chance(Answer(way, value), same, numbers):
                continue
            answer = _rounded(Answer(way, value), same) if isinstance(value, float) else Answer(way, value)
            yield Group(answer, tuple(same))


def _values(numbers: Sequence[Given]) -> Iterable[tuple[str, list[float | str]]]:
    yield "is", [float(each.got or 0.0) for each in numbers]
    yield "uses", sorted({name for each in numbers for name in each.numbers})
    yield "off by", [each.off(each.right or 0.0) for each in numbers]
    plain = [each for each in numbers if not each.circle and each.right]
    yield "times", [(each.got or 0.0) / (each.right or 1.0) for each in plain]


def _no_chance(answer: Answer, same: Sequence[Given], numbers: Sequence[Given]) -> bool:
    """Say whether so many would hardly agree by chance.

    With answers spread evenly over a width, so many of the others fall within what passes round one of them as in a
    Poisson process; there are as many places to look at as there are answers, and ways to compare.
    """
    way = answer.way
    if len(same) < _FEWEST:
        return False
    if way == "is" and len({each.got for each in same}) == 1:
        return True
    measure: Callable[[Given], float] = {
        "is": lambda each: each.got or 0.0,
        "uses": lambda each: each.got or 0.0,
        "off by": lambda each: each.off(each.right or 0.0),
        "times": lambda each: each.got or 0.0,
    }[way]
    values = [measure(each) for each in numbers]
    within = max(each.within for each in same)
    if way == "times":
        within *= max(1.0, abs(float(answer.value)))
    width = max(max(values) - min(values), _ROOMY * within)
    expected = (len(numbers) - 1) * 2.0 * within / width if within else 0.0
    ways = 3 + len(numbers[0].numbers)
    return len(numbers) * ways * _tail(expected, len(same) - 1) < _CHANCE


def _tail(expected: float, count: int) -> float:
    """Give the chance of at least so many in a Poisson process."""
    term, below = math.exp(-expected), 0.0
    for n in range(count):
        below += term
        term *= expected / (n + 1)
    return max(0.0, 1.0 - below)


def _rounded(answer: Answer, same: Sequence[Given]) -> Answer:
    """Take the roundest number in the middle of a group that still fits all of it."""
    values = sorted(
        float(each.got or 0.0)
        if answer.way == "is"
        else each.off(each.right or 0.0)
        if answer.way == "off by"
        else (each.got or 0.0) / (each.right or 1.0)
        for each in same
    )
    middle = values[len(values) // 2]
    if values[0] == values[-1]:
        return Answer(answer.way, values[0])
    for places in _PLACES:
        tried = Answer(answer.way, round(middle, places) + 0.0)
        if (tried.value or answer.way == "is") and all(tried.fits(each) for each in same):
            return tried
    return answer


_ROW = re.compile(r"row (\d+)")


def row(number: int) -> str:
    """Name a cell of a table by its place, for tables whose labels hold every student's own numbers.

    Parameters
    ----------
    number : int
        Its place, from 1.

    Returns
    -------
    str
        For example ``row 2``.
    """
    return f"row {number}"


def without_numbers(label: str) -> str:
    """Give a label without the numbers in it.

    Parameters
    ----------
    label : str
        For example ``on radial 140, course 125 set``.

    Returns
    -------
    str
        For example ``on radial …, course … set``.
    """
    return re.sub(r"\d+(?:[.,]\d+)*", "…", label)


def part_of(told: Mapping[str, Any], label: str) -> Mapping[str, Any] | None:
    """Find one place of an answer.

    Parameters
    ----------
    told : mapping
        As :mod:`needlework.desk.judging` tells it.
    label : str
        The cell of a table by its label, or ``row 2`` by its place; empty for an answer that is no table.

    Returns
    -------
    mapping or None
        What is told of it; None where this answer has no such place.
    """
    parts = told.get("parts", ())
    for part in parts:
        if part["label"] == label:
            return part  # type: ignore[no-any-return]
    by_place = _ROW.fullmatch(label)
    # What was left out as a whole has one part without a label.
    if by_place and 1 <= int(by_place[1]) <= len(parts) and all(part["label"] for part in parts):
        return parts[int(by_place[1]) - 1]  # type: ignore[no-any-return]
    return None


def places_of(answers: Iterable[Mapping[str, Any]]) -> dict[str, str]:
    """Name the places of one question, so that the same place of every student has the same name.

    Parameters
    ----------
    answers : iterable of mapping
        Of each student, what the judge told of this question.

    Returns
    -------
    dict of str to str
        In order, by the name under which :func:`part_of` finds it, what it is in words: the label, or ``row 2`` where
        the labels are every student's own, with one of them.
    """
    held = [[part["label"] for part in one.get("parts", ())] for one in answers]
    tables = [labels for labels in held if labels and all(labels)]
    found = dict.fromkeys((label for labels in held for label in labels if not label), "")
    if len({len(labels) for labels in tables}) > 1 or len({frozenset(labels) for labels in tables}) == 1:
        # Where rows are missing or stand in another order, only the labels themselves can be compared.
        return found | {label: label for labels in tables for label in labels}
    for number, labels in enumerate(zip(*tables, strict=True), 1):
        plain = list(dict.fromkeys(map(without_numbers, labels)))
        if len(set(labels)) == 1:
            found[labels[0]] = labels[0]
        elif len(plain) == 1:
            found[row(number)] = f"{row(number)} (such as “{labels[0]}”)"
        else:
            found |= {label: label for label in labels}
    return found


def answers_of(told: Mapping[str, Any], student: str, label: str = "") -> Given | None:
    """Take one place of an answer out of what the judge told of it.

    Parameters
    ----------
    told : mapping
        As :mod:`needlework.desk.judging` tells it.
    student : str
        Whose.
    label : str
        The cell of a table, also ``row 2`` by its place; empty for an answer that is none.

    Returns
    -------
    Given or None
        None where this student's answer has no such place.
    """
    part = part_of(told, label)
    if part is None:
        return None
    return Given(
        student,
        part["outcome"],
        part["slip"],
        part.get("said", ""),
        part.get("got"),
        part.get("right"),
        part.get("within", 0.0),
        part.get("circle", False),
        told.get("numbers", {}),
        part.get("unit", ""),
        part.get("text", ""),
    )
