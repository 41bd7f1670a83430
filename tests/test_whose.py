"""What hand-ins have in common: copied answers are told, and an honest class is left in peace."""

import random

import pytest
from needlework.desk import whose

# How many values the right answer of each part has in a class, as counted in the lesson on station passage.
PARTS = {"a/1": 45, "b/1": 5, "b/2": 5, "b/3": 5, "c/1": 13, "d/1": 56, "e/1": 4, "e/2": 5, "f/1": 13, "g/1": 6,
         "h/1": 109, "i/1": 3, "i/2": 25, "i/3": 108, "i/4": 33}  # fmt: skip


def student(rng):
    """One who knows more or less; half of the wrong answers are one of a few usual mistakes."""
    able, right = rng.uniform(0.3, 0.98), {part: float(rng.randrange(many)) for part, many in PARTS.items()}
    wrong = {}
    for part, value in right.items():
        if rng.random() > able:
            slip = rng.choice([1.0, 10.0]) if rng.random() < 0.5 else rng.uniform(1.0, 300.0)
            wrong[part] = (value + round(slip)) % max(PARTS[part], 10)
    return {"right": right, "wrong": {part: value for part, value in wrong.items() if value != right[part]}}


def in_class(seed, students):
    rng = random.Random(seed)
    compared = {f"s-{n}": student(rng) for n in range(students)}
    return {name: {"named": name, "marked": True, "hand_in": name} for name in compared}, compared


def copied(compared, who, other):
    """The same class where one has handed in another's answers, those that were wrong too."""
    right = compared[who]["right"]
    given = {**compared[other]["right"], **compared[other]["wrong"]}
    wrong = {part: value for part, value in given.items() if value != right[part]}
    return {**compared, who: {"right": right, "wrong": wrong}}


@pytest.mark.parametrize("students", [12, 30, 200])
def test_copies_are_told_and_an_honest_class_is_not(students):
    """Definition: independent students agree by chance only; who hands in another's answers agrees with that one."""
    found = 0
    for seed in range(2):
        ledger, compared = in_class(seed, students)
        assert whose.facts(ledger, compared) == []
        told = whose.facts(ledger, copied(compared, "s-1", "s-2"))
        assert all("of s-1 " in one and "“s-2”" in one for one in told) and len(told) <= 1
        found += len(told)
    assert found == 2, "a copy of the whole lesson"


def test_the_same_wrong_answers_are_told_once():
    """Definition: two with numbers of their own and one another's wrong answers; one sentence, whoever it was."""
    ledger, compared = in_class(7, 40)
    compared["s-4"]["wrong"] = {part: 700.0 + n for n, part in enumerate(PARTS)}
    compared["s-5"]["wrong"] = dict(compared["s-4"]["wrong"])
    (told,) = whose.facts(ledger, compared)
    assert f"{len(PARTS)} wrong answers of s-4 are the wrong answers of “s-5” too, whose numbers are others" in told
