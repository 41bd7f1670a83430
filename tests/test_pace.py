"""Minutes of sittings and the way of a rated pilot, held to what is counted and the paces stated once as data."""

import math

import pytest
from needlework.building import checking, pace
from needlework.building.pace import Asked
from needlework.exercises import judging
from needlework.exercises.catalogue import FOLDER, ORDER, QUESTIONS

READERS = ("a reader", "another", "a third")


def lesson_of(key):
    return checking.read(FOLDER / key.replace("-", "_"))[0]


def test_what_is_counted_becomes_minutes_by_the_pace():
    """Definition: words by words a minute, answers by their seconds and tries, flown minutes as they pass."""
    asked = Asked(words=320, choices=6, values=2, flights=1, flown_min=50.0, whole_min=40.0)
    answers = 1.4 * (6 * 28.0 + 2 * 50.0) / 60.0
    assert asked.minutes(pace.LEARNER) == pytest.approx(4.0 + answers + 210.0 / 60.0 + 10.0 + 0.56 * 40.0)
    assert (asked + asked).words == 640


def test_the_plan_and_the_table_are_counted_as_they_are_asked():
    """Held against the lesson: fourteen lines of the plan; a table of eight cells, one of them a choice."""
    third = pace.sittings(lesson_of("whole-approach"))[2]
    assert third.lines == len(QUESTIONS["wa-plan"].blanks) == 14
    brief = QUESTIONS["wa-brief"]
    cells = brief.cells(judging.draw(brief, "a reader"))
    assert len(cells) == 8
    first = pace.sittings(lesson_of("whole-approach"))[0]
    assert (first.values, first.choices, first.cards) == (7 + 1, 3 + 1, 10)


@pytest.mark.parametrize("key", ORDER)
def test_sittings_claim_what_is_counted(key):
    """Definition: the longest of three readers, rounded up to five minutes, is what a sitting claims; 40 at most."""
    lesson = lesson_of(key)
    counted = zip(*(pace.sittings(lesson, reader) for reader in READERS), strict=True)
    longest = [max(each.minutes(pace.LEARNER) for each in sitting) for sitting in counted]
    assert lesson.sittings == [5 * math.ceil(minutes / 5) for minutes in longest], [round(m, 1) for m in longest]
    assert max(lesson.sittings) <= 40


@pytest.mark.parametrize("key", ORDER)
def test_a_rated_pilot_proves_a_lesson_in_fifteen_minutes(key):
    """Definition: the issue's promise, by the stated pace: first cell, task, flown minutes."""
    lesson = lesson_of(key)
    assert max(pace.proof(lesson, reader).minutes(pace.RATED) for reader in READERS) <= 15.0
