"""Every question of the course is proved: untouched, right, and each slip by its own name and words."""

import random

import numpy as np
import pytest
from needlework.exercises import catalogue, judging
from needlework.exercises.answers import as_number
from needlework.exercises.catalogue import LESSONS, QUESTIONS
from needlework.exercises.flown import FilledPlan, FlownByHand
from needlework.exercises.kinds import Number, Table
from needlework.exercises.rules import Rule
from needlework.exercises.verdicts import Outcome

STUDENTS = ["", "Finch 12", "merrow 40", *(f"student {n}" for n in range(40))]
FEW = STUDENTS[:2]
ALL = [pytest.param(question, id=key) for key, question in QUESTIONS.items()]


def students(question):
    """Flying takes a second a flight: flown questions are proved on fewer students."""
    return FEW if isinstance(question, (FilledPlan, FlownByHand)) else STUDENTS


def cells(question, givens):
    """The question itself, or the small questions of a table's cells."""
    return question.cells(givens) if isinstance(question, Table) else {"": question}


@pytest.mark.parametrize("question", ALL)
def test_reference_answer_passes(question):
    """Definition: the reference answer gets full marks, for every student, shown and hidden numbers alike."""
    for student in students(question):
        givens = judging.draw(question, student)
        right = question.right(givens)
        for hidden in (False, True):
            verdict = judging.judge(question, givens, right, hidden)
            assert verdict.outcome is Outcome.PASS, (student, givens, right, verdict.text)
            assert verdict.share == 1.0


@pytest.mark.parametrize("question", ALL)
def test_rounded_reference_answer_passes(question):
    """Definition: the answer rounded as the prompt asks is as good as the exact one."""
    for student in STUDENTS:
        givens = judging.draw(question, student)
        for label, cell in cells(question, givens).items():
            if isinstance(cell, Number):
                rounded = round(cell.right(givens) / cell.to) * cell.to
                assert cell.judge(givens, rounded).outcome is Outcome.PASS, (label, givens, rounded)


@pytest.mark.parametrize("question", ALL)
def test_stub_is_not_attempted(question):
    """Definition: an untouched answer cell is not attempted and scores nothing."""
    givens = judging.draw(question)
    stubs = [None, ..., ""]
    if isinstance(question, Table):
        stubs += [dict.fromkeys(question.cells(givens)), [None] * len(question.cells(givens))]
    for stub in stubs:
        verdict = judging.judge(question, givens, stub)
        assert verdict.outcome is Outcome.NOT_ATTEMPTED
        assert verdict.share == 0


@pytest.mark.parametrize("question", ALL)
def test_every_slip_is_found_and_has_its_own_words(question):
    """Definition: each declared slip is recognised by its code, scores nothing and says something of its own."""
    for student in students(question):
        givens = judging.draw(question, student)
        for label, cell in cells(question, givens).items():
            texts = set()
            mistakes = cell.mistakes(givens)
            for slip, wrong in mistakes:
                verdict = judging.judge(cell, givens, wrong)
                assert verdict.slip == slip.code, (student, label, slip.code, givens, verdict.text)
                assert verdict.outcome is Outcome.SLIP
                assert verdict.share <= (0.5 if isinstance(cell, FilledPlan) else 0)
                texts.add(verdict.text)
            assert len(texts) == len(mistakes)


@pytest.mark.parametrize("question", ALL)
def test_the_verdict_never_gives_the_value_away(question):
    """Definition: a wrong answer learns direction or size, never the value."""
    for student in STUDENTS[:8]:
        givens = judging.draw(question, student)
        for cell in cells(question, givens).values():
            if not isinstance(cell, Number):
                continue
            right = cell.right(givens)
            around = ((right + 100.3) % 360, (right - 70.3) % 360)
            for wrong in around if cell.circle else (right * 1.37 + 7.3, right * 0.4 - 11.7):
                if abs(cell._off(wrong, right, cell._band(givens))) <= cell.tolerance:
                    continue  # where the books differ a wide band is right
                verdict = judging.judge(cell, givens, wrong)
                assert verdict.outcome in (Outcome.WRONG, Outcome.SLIP)
                assert cell.written(right).split()[0] not in verdict.text.replace(f"{wrong:,.10g}", "").split()


@pytest.mark.parametrize("question", ALL)
def test_texts_are_complete(question):
    """Definition: every text fills from the givens; three rungs, a model answer; no shouting."""
    givens = judging.draw(question, "Finch 12")
    rungs = [] if question.task else [judging.hint(question, givens, rung) for rung in (1, 2, 3)]
    texts = [question.fill(question.prompt, givens), question.fill(question.shown, givens), *rungs]
    texts += [judging.model_answer(question, givens), question.fill(question.why, givens)]
    for cell in cells(question, givens).values():
        texts += [cell.fill(slip.says, givens, chosen="", Chosen="") for slip, _ in cell.mistakes(givens)]
    assert all(rungs)
    assert len(set(rungs)) == len(rungs)
    assert question.why
    for text in texts:
        assert "{" not in text
        assert "!" not in text
        assert "simply" not in text.lower()
        assert "oops" not in text.lower()
    assert question.points > 0
    assert question.lesson in LESSONS


@pytest.mark.parametrize("question", ALL)
def test_numbers_belong_to_the_student(question):
    """Definition: the same name gives the same numbers, however it is typed; names give different ones."""
    assert judging.draw(question, " FINCH  12 ") == judging.draw(question, "finch 12")
    without_seed = {repr({k: v for k, v in judging.draw(question, s).items() if k != "seed"}) for s in STUDENTS}
    if isinstance(question, Number) and question.draw(random.Random(1)):
        assert len(without_seed) > 3
    if isinstance(question, Rule):
        assert question.cases(judging.draw(question, "a"), True) != question.cases(judging.draw(question, "a"), False)
        assert question.cases(judging.draw(question, "a"), True) != question.cases(judging.draw(question, "b"), True)


STRANGE = [
    True,
    np.bool_(False),
    float("nan"),
    float("inf"),
    "two fifty",
    [1, 2],
    {"a": 1},
    1j,
    object(),
    10**400,
    np.array([1.0, 2.0]),
    b"bytes",
    lambda: 1,
]


class AlwaysEqual:
    """Claims to equal everything."""

    def __eq__(self, other):
        return True

    def __float__(self):
        return 1.0

    __hash__ = None


@pytest.mark.parametrize("question", ALL)
def test_strange_answers_get_one_sentence_and_no_marks(question):
    """Definition: whatever stands in the cell, the verdict is a sentence and nothing is raised."""
    for student in STUDENTS[:3]:
        givens = judging.draw(question, student)
        endless: list = []
        endless.append(endless)
        for answer in [*STRANGE, AlwaysEqual(), endless]:
            verdict = judging.judge(question, givens, answer)
            assert verdict.share == 0 or isinstance(question, Table), (answer, verdict)
            assert verdict.outcome in (Outcome.ERROR, Outcome.WRONG, Outcome.SLIP, Outcome.NOT_ATTEMPTED)
            assert verdict.text


def test_any_real_number_type_is_taken():
    """Definition: an answer's number type does not matter."""
    from decimal import Decimal
    from fractions import Fraction

    for value in (25, 25.0, np.float32(25), np.int16(25), Fraction(25), Decimal("25"), np.float64(25)):
        assert as_number(value) == 25
        assert type(as_number(value)) is float


def test_keys_are_unique_and_in_one_lesson():
    """Definition: a question belongs to exactly one lesson."""
    assert len(QUESTIONS) == sum(len(lesson.questions) for lesson in LESSONS.values())
    for lesson in LESSONS.values():
        bank = catalogue.bank(lesson.key).values()
        assert all(question.lesson == lesson.key for question in bank)
        assert [(q.key, q.title, q.points, q.task) for q in bank] == [
            (each.key, each.title, each.points, each.task) for each in lesson.outlines
        ]
        assert len(lesson.can) == 3
        assert len([q for q in lesson.outlines if not q.task]) >= 8


@pytest.mark.parametrize("key", LESSONS)
def test_every_sentence_of_a_lesson_is_said(key):
    """Definition: over 200 students every sentence of a mistake stands behind some wrong answer of some question."""
    declared, said = set(), set()
    for question in catalogue.bank(key).values():
        if isinstance(question, (FilledPlan, FlownByHand, Rule)):
            continue
        for number in range(200):
            givens = judging.draw(question, f"student {number}")
            for cell in cells(question, givens).values():
                declared |= {(slip.name, slip.says) for slip in cell.slips}
                said |= {(slip.name, slip.says) for slip, _ in cell.mistakes(givens)}
    assert said == declared
