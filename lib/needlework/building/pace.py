"""How long a part of a lesson takes: what it asks is counted, and the pace to count by stands here once, as data.

The paces are assumptions, not measurements. They were chosen so that what is counted agrees, sitting by sitting, with
the minutes that two people who read the course for the first time held it to take: within some two minutes. Readers
with a clock correct them, and with them every estimate at once. ``tests/benchmarks/pace.py`` prints the counts and
the estimates; a test holds the minutes that lessons claim to them.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, fields
from typing import Any

from needlework.building.reading import KINDS, Lesson
from needlework.building.scan import Block, Note, Prose
from needlework.exercises import judging, recording
from needlework.exercises.catalogue import QUESTIONS
from needlework.exercises.flown import FilledPlan, FlownByHand
from needlework.exercises.kinds import Order, Table


@dataclass(frozen=True)
class Pace:
    """How fast somebody works.

    Parameters
    ----------
    words_a_minute : float
        Reading of what stands on the page before an answer is given, its pictures and small tables and a look back
        included. What is folded away is not counted.
    choice_s, value_s, line_s, card_s, text_s, rule_s : float
        For a choice, a value worked out and typed, a line of a plan, a card put in order, a text and a rule of one's
        own. [s]
    tries : float
        How often each of them is given, the first time included.
    what_if_s : float
        For moving the sliders of a what-if or looking at a plate. [s]
    flown : float
        Of the minutes of a whole approach those that pass on the clock. Turns, final and climb are some nine minutes
        of about fifty and take as long as they take; the rest a learner flies two to five times as fast, who knows
        it ten times. A part of an approach is flown as fast as it flies.
    debrief_s : float
        For reading what is said of a flight. [s]
    """

    words_a_minute: float
    choice_s: float
    value_s: float
    line_s: float
    card_s: float
    text_s: float
    rule_s: float
    tries: float
    what_if_s: float
    flown: float
    debrief_s: float


LEARNER = Pace(
    words_a_minute=80.0,
    choice_s=28.0,
    value_s=50.0,
    line_s=50.0,
    card_s=12.0,
    text_s=480.0,
    rule_s=300.0,
    tries=1.4,
    what_if_s=180.0,
    flown=0.56,
    debrief_s=210.0,
)
"""Somebody who learns it. Source: common practice, no source."""

RATED = Pace(
    words_a_minute=220.0,
    choice_s=15.0,
    value_s=30.0,
    line_s=30.0,
    card_s=6.0,
    text_s=120.0,
    rule_s=90.0,
    tries=1.0,
    what_if_s=30.0,
    flown=0.25,
    debrief_s=30.0,
)
"""A rated pilot who knows it and proves it at the first try. Source: common practice, no source."""


@dataclass(frozen=True)
class Asked:
    """What a part of a lesson asks, counted.

    ``flown_min`` is flown by the reference pilot: ``whole_min`` of it in whole approaches, the rest in parts of one.
    """

    words: int = 0
    choices: int = 0
    values: int = 0
    lines: int = 0
    cards: int = 0
    texts: int = 0
    rules: int = 0
    what_ifs: int = 0
    flights: int = 0
    flown_min: float = 0.0
    whole_min: float = 0.0

    def __add__(self, other: Asked) -> Asked:
        """Add what another part asks."""
        return Asked(*(getattr(self, each.name) + getattr(other, each.name) for each in fields(Asked)))

    def minutes(self, pace: Pace) -> float:
        """Give the minutes at a pace. [min]"""
        answers_s = (
            self.choices * pace.choice_s
            + self.values * pace.value_s
            + self.lines * pace.line_s
            + self.cards * pace.card_s
            + self.texts * pace.text_s
            + self.rules * pace.rule_s
        )
        seconds = pace.tries * answers_s + self.what_ifs * pace.what_if_s + self.flights * pace.debrief_s
        part_min = self.flown_min - self.whole_min
        return self.words / pace.words_a_minute + seconds / 60.0 + part_min + pace.flown * self.whole_min


def sittings(lesson: Lesson, reader: str = "a reader") -> list[Asked]:
    """Count each sitting of a lesson, with the numbers and the winds of one reader."""
    found: list[Asked] = []
    for part in lesson.parts:
        if isinstance(part, Note) and part.name == "sitting":
            found.append(Asked())
        elif found:
            found[-1] += _of(part, reader)
    return found


def proof(lesson: Lesson, reader: str = "a reader") -> Asked:
    """Count the way of somebody who is sure already: the first cell, and the task."""
    words = " ".join([*map(str, lesson.top["afterwards"]), "Already sure? Go to the task."])
    tasks = [part for part in lesson.questions if part.settings.get("task")]
    return sum((_of(task, reader) for task in tasks), Asked(words=_words(words)))


def _of(part: Prose | Note | Block, reader: str) -> Asked:
    if isinstance(part, Prose):
        return Asked(words=_words(re.sub(r"<details>.*?</details>", " ", " ".join(part.lines))))
    if isinstance(part, Note):
        return Asked()
    if part.kind == "what-if":
        return Asked(what_ifs=1)
    if part.kind == "cell":
        return Asked(what_ifs=1 if "plate.show" in str(part.code) else 0)
    return _question(part, reader) if part.kind in KINDS else Asked()


def _question(block: Block, reader: str) -> Asked:
    question = QUESTIONS[block.name]
    givens = judging.draw(question, reader)
    read = [block.prompt, *(item.says for item in block.items if item.kind in ("given", "option", "goal", "why"))]
    asked = Asked(words=_words(" ".join(read)))
    if isinstance(question, Table):
        cells = question.cells(givens)
        chosen = sum(not hasattr(cell, "unit") for cell in cells.values())
        return asked + Asked(words=_words(" ".join(cells)), choices=chosen, values=len(cells) - chosen)
    if isinstance(question, FilledPlan):
        return asked + Asked(lines=len(question.blanks), flights=1)
    if isinstance(question, FlownByHand):
        minutes = recording.read(question.right(givens)).flown_s / 60.0
        return asked + Asked(flights=1, flown_min=minutes, whole_min=minutes if question.entry else 0.0)
    if isinstance(question, Order):
        return asked + Asked(cards=len(question.right(givens)))
    kinds: dict[str, dict[str, Any]] = {"choice": {"choices": 1}, "text": {"texts": 1}, "rule": {"rules": 1}}
    return asked + Asked(**kinds.get(block.kind, {"values": 1}))


def _words(text: str) -> int:
    """Count the words that are read: not the addresses of links, nor signs that only format."""
    plain = re.sub(r"\]\([^)]*\)|[|*`#:{}-]", " ", text)
    return len(re.findall(r"\S*\w\S*", plain))
