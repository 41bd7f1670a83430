"""Every question of the course: blank and strange answers, complete texts, numbers of one's own."""

import random

import numpy as np
import pytest
from needlework.exercises import catalogue, judging
from needlework.exercises.answers import as_number
from needlework.exercises.catalogue import LESSONS, QUESTIONS
from needlework.exercises.kinds import Number, Table, Text
from needlework.exercises.rules import Rule
from needlework.exercises.verdicts import Outcome

STUDENTS = ["", "Finch 12", "merrow 40", *(f"student {n}" for n in range(40))]
ALL = [pytest.param(question, id=key) for key, question in QUESTIONS.items()]


def cells(question, givens):
    """The question itself, or the small questions of a table's cells."""
    return question.cells(givens) if isinstance(question, Table) else {"": question}


@pytest.mark.parametrize("question", ALL)
def test_a_blank_answer_is_not_attempted(question):
    """Definition: whatever stands for nothing is not attempted and scores nothing."""
    givens = judging.draw(question)
    blanks = [..., "", "  ", [], {}]
    if isinstance(question, Table):
        blanks += [dict.fromkeys(question.cells(givens), ...), [None] * len(question.cells(givens))]
    for blank in blanks:
        verdict = judging.judge(question, givens, blank)
        assert verdict.outcome is Outcome.NOT_ATTEMPTED
        assert verdict.share == 0


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
                value = next(word for word in cell.written(right).split() if any(map(str.isdigit, word)))
                assert value not in verdict.text.replace(verdict.given, "").split()


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
    assert question.why or isinstance(question, Text)  # a person marks it, and says why
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
            # A text may say anything: a person marks it.
            expected = {Outcome.ERROR, Outcome.WRONG, Outcome.SLIP, Outcome.NOT_ATTEMPTED}
            expected |= {Outcome.WAITS} if isinstance(question, Text) else set()
            assert verdict.outcome in expected
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
