"""No usual mistake, and no two together, passes or comes to another's answer: every question, cell, plan and goal.

What cannot be told apart stands here with its reason. One mistake comes before two: a pair may come to what a single
mistake comes to, and the single one is named; with twelve members there are sixty pairs, and they would have to share
the whole degrees of the compass.
"""

import copy
import itertools
import random

import pytest
from needlework.exercises import judging
from needlework.exercises.catalogue import QUESTIONS
from needlework.exercises.flown import FilledPlan
from needlework.exercises.kinds import Number, Table
from needlework.exercises.verdicts import Outcome

DRAWS, DRAWS_OF_A_PLAN = 60, 20
"""A draw for which this does not hold is refused when it is made, by :meth:`Question.sound`: here that is held to."""

NUMBERS = [key for key, question in QUESTIONS.items() if isinstance(question, (Number, Table))]
PLANS = [key for key, question in QUESTIONS.items() if isinstance(question, FilledPlan)]

NO_FAMILY = {
    "ir-along": "the part of the wind along the course, from a speed and an angle: its mistakes are its own",
}
"""Questions that work with wind and inherit nothing, each with its reason."""


def cells(question, givens):
    """The number cells of a question, with their labels."""
    found = question.cells(givens) if isinstance(question, Table) else {"": question}
    return {label: cell for label, cell in found.items() if isinstance(cell, Number)}


def written(cell, value):
    """A value as the learner writes it: rounded to the precision asked for, and on the compass."""
    rounded = round(value / cell.to) * cell.to
    return (rounded % 360 or 360) if cell.circle else rounded


def draws(question):
    """The numbers of 60 draws that are not refused, and of some students; all the same where nothing is drawn."""
    raw = [{"seed": "", **question.draw(random.Random(f"{question.key}|{number}"))} for number in range(DRAWS)]
    if len(raw[0]) == 1:
        return raw[:1]
    return [givens for givens in raw if question.sound(givens)] + [
        judging.draw(question, f"student {number}") for number in range(8)
    ]


@pytest.mark.slow
@pytest.mark.parametrize("key", NUMBERS)
def test_no_mistake_passes_and_no_two_come_to_the_same(key):
    """Definition: in 60 draws each is refused, or no mistake earns anything and no two come to one answer.

    Nor do two mistakes of a family together pass, rounded as it is asked for.
    """
    question = QUESTIONS[key]
    for givens in draws(question):
        for label, cell in cells(question, givens).items():
            made = cell.mistakes(givens)
            known = copy.copy(cell)
            vars(known)["mistakes"] = lambda _givens, made=made: made  # worked out once, not for every answer
            for slip, value in made:
                verdict = judging.judge(known, givens, written(cell, value))
                assert verdict.share == 0, (label, slip.name, givens, verdict.text)
            usual = [(slip, value) for slip, value in made if not slip.rare]
            for (one, a), (other, b) in itertools.combinations(usual, 2):
                assert abs(cell._error(a, b)) > 0.5 * cell.to - 1e-9, (label, one.name, other.name, givens)
            told, right, band = {slip.code for slip, _ in usual}, cell.right(givens), cell._earning(givens)
            for pair, value in cell.family.pairs(cell.names(givens)) if cell.family else ():
                if cell.keeps_apart and not all(member.code in told for member in pair):
                    continue
                off = abs(cell._off(written(cell, value), right, band))
                assert off > cell.tolerance, (label, [member.code for member in pair], givens)


def test_where_the_needle_stops_is_never_the_angle():
    """Definition: of 200 students 10 degrees are right for none, and named to each; drawn anew is what was refused.

    Independent method: at half a mile 0.09 NM are 10.2 degrees by the arc tangent, so that 10 would pass.
    """
    question, label = QUESTIONS["sp-needle-angle"], "0.5 NM"
    anew = 0
    for number in range(200):
        student = f"student {number}"
        givens = judging.draw(question, student)
        first = question.draw(random.Random(f"{student}|{question.key}|0"))
        anew += first["offset_nm"] == 0.09
        assert givens["offset_nm"] != 0.09 and (first["offset_nm"] in (0.09, givens["offset_nm"])), student
        wrong = {**question.right(givens), label: 10}
        verdict = judging.judge(question, givens, wrong)
        assert verdict.outcome is not Outcome.PASS and "There the needle stops" in repr(verdict), givens
    assert 20 < anew < 60


@pytest.mark.parametrize("key", NUMBERS)
def test_what_works_with_wind_inherits_the_mistakes_of_wind(key):
    """Definition: a heading, ground speed or rate that changes with the wind has the family of its quantity."""
    from dataclasses import replace

    question = QUESTIONS[key]
    givens = judging.draw(question, "Finch 12")
    for label, cell in cells(question, givens).items():
        names = cell.names(givens)
        if "wind_kt" not in names or cell.family is not None or key in NO_FAMILY:
            continue
        other = {**givens, "wind_kt": names["wind_kt"] + 4}
        blown = replace(cell, row={**cell.row, "wind_kt": names["wind_kt"] + 4}).right(other)
        assert blown == cell.right(givens), label


# ---------------------------------------------------------------- plans


@pytest.mark.slow
@pytest.mark.parametrize("key", PLANS)
def test_no_named_mistake_of_a_plan_earns_more_than_half(key):
    """Definition: flown, every named mistake alone and two together are no pass and half of the marks at most."""
    plan = QUESTIONS[key]
    for student in ("Finch 12",):
        givens = judging.draw(plan, student)
        right = plan.right(givens)
        made = [
            (
                slip,
                {label: value for label, value in wrong.items() if not plan.blanks[label].same(value, right[label])},
            )
            for slip, wrong in plan.mistakes(givens)
        ]
        assert judging.judge(plan, givens, right).outcome is Outcome.PASS
        pairs = list(itertools.combinations(made, 2))
        tried = [((slip.name,), changed) for slip, changed in made]
        tried += [((one.name, two.name), {**a, **b}) for (one, a), (two, b) in pairs[:: max(1, len(pairs) // 8)]]
        flown = plan.fly_all([(givens, {**right, **changed}, False) for _, changed in tried])
        for (names, changed), flights in zip(tried, flown, strict=True):
            verdict = judging.judge(plan, givens, {**right, **changed}, flights=flights)
            assert verdict.outcome is not Outcome.PASS, names
            assert verdict.share <= 0.5, names


@pytest.mark.parametrize("key", PLANS)
def test_the_mistakes_of_a_plan_are_known_in_every_draw(key):
    """Definition: on paper every named mistake is known by its own name, and what is right has none."""
    plan = QUESTIONS[key]
    for number in range(DRAWS_OF_A_PLAN):
        givens = judging.draw(plan, f"student {number}")
        assert plan.slip_in(givens, plan.right(givens)) is None
        for slip, wrong in plan.mistakes(givens):
            assert plan.slip_in(givens, wrong) is slip


STEPS = (0.5, 2, 6, 14)


def step_of(label):
    """How far the values tried of a line of a plan lie apart."""
    if "DME" in label and "level" not in label:
        return 0.3
    return 60.0 if "level" in label or "below" in label else 50.0 if "rate" in label else 3.0


@pytest.mark.slow
@pytest.mark.parametrize("key", PLANS)
def test_a_worse_plan_never_earns_more(key):
    """Definition: farther off never earns more, on either side of what is right, as long as half can be earned.

    Below half of the marks the plan has failed, and how much of it was flown all the same decides.
    """
    plan = QUESTIONS[key]
    givens = judging.draw(plan, "Finch 12")
    right = plan.right(givens)
    tried = {}
    for label, blank in plan.blanks.items():
        for side in (1, -1) if not blank.words else ():
            values = [right[label] + side * steps * step_of(label) for steps in STEPS]
            tried[label, side] = [(value % 360 or 360.0) if blank.circle else value for value in values]
    filled = [{**right, label: value} for (label, _), values in tried.items() for value in values]
    flown = iter(plan.fly_all([(givens, each, False) for each in filled]))
    for (label, side), values in tried.items():
        judged = [judging.judge(plan, givens, {**right, label: value}, flights=next(flown)) for value in values]
        shares = [max(verdict.share, 0.5) for verdict in judged if verdict.outcome is not Outcome.ERROR]
        assert all(later <= before + 0.02 for before, later in itertools.pairwise(shares)), (label, side, shares)
