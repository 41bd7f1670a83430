"""When questions come back: from the journal alone, by days, by what happened."""

import datetime
import itertools
import json

import pytest
from needlework.exercises import coming_back, judging, progress, schedule
from needlework.exercises.catalogue import LESSONS, QUESTIONS, Lesson, Outline
from needlework.exercises.kinds import Choice, Table, Text
from needlework.exercises.schedule import Rating
from needlework.exercises.verdicts import Outcome

DAY = datetime.date(2026, 3, 2)
FIRST = LESSONS["station-passage"]


def moment(days, hour=10):
    return datetime.datetime(2026, 3, 2, hour).timestamp() + 86_400 * days


def journal(folder, *events):
    """Write a journal: each event is (days, what) with what as in the file."""
    lines = [json.dumps({"when_s": moment(*when) if isinstance(when, tuple) else moment(when), **what})
             for when, what in events]  # fmt: skip
    (folder / progress.FILE_NAME).write_text("".join(f"{line}\n" for line in lines))
    return progress.read(folder)


def tried(key, outcome, given="1", **more):
    return {"kind": "try", "key": key, "outcome": outcome, "share": float(outcome == "PASS"), "given": given, **more}


def hinted(key, rung, **more):
    return {"kind": "hint", "key": key, "rung": rung, **more}


def test_first_intervals_are_those_of_the_model():
    """Open Spaced Repetition, FSRS-6 default parameters w0 to w3 (0.212, 1.2931, 2.3065, 8.2956): at 0.9 wanted the
    interval is the stability, in whole days and at least one."""
    first = [schedule.fresh_memory(DAY).rated(rating, DAY) for rating in Rating]
    assert [memory.card.stability for memory in first] == [0.212, 1.2931, 2.3065, 8.2956]
    assert [(memory.due - DAY).days for memory in first] == [1, 1, 2, 8]
    # By definition of the stability nine in ten are recalled when it has gone by.
    assert first[3].recall(first[3].due) == pytest.approx(0.9, abs=0.005)


@pytest.mark.parametrize(
    ("outcome", "rung", "rating"),
    [
        ("PASS", 0, Rating.Good),
        ("PASS", 1, Rating.Hard),
        ("PASS", 3, Rating.Hard),
        ("PASS", 4, Rating.Again),
        ("CLOSE", 0, Rating.Hard),
        ("SLIP", 0, Rating.Again),
        ("WRONG", 2, Rating.Again),
        ("ERROR", 0, None),
        ("NOT_ATTEMPTED", 0, None),
        ("WAITS", 0, None),
    ],
)
def test_a_rating_is_what_happened(outcome, rung, rating):
    """Definition: right at once, right with help, wrong; the model answer is no recall, a misreading no answer."""
    assert schedule.rating_of(outcome, rung) == rating


def test_the_first_answer_of_a_day_counts(tmp_path):
    """Definition: after a verdict the same day tells nothing; what cannot be read and repeats are no answers."""
    key = "sp-cone"
    done = journal(
        tmp_path,
        (0, tried(key, "ERROR", "x")),
        (0, tried(key, "WRONG", "3")),
        (0, tried(key, "PASS", "7")),
        (1, tried(key, "PASS", "7")),
        (2, hinted(key, 2, drawn="a")),
        (2, tried(key, "PASS", "8", drawn="a")),
        (3, hinted(key, 1, drawn="b")),
        (4, tried(key, "PASS", "9", drawn="b")),
    )
    found = [
        (schedule.day_of(each.when_s) - DAY, rating) for each, rating in schedule.first_answers(done.history[key])
    ]
    assert [(each.days, rating) for each, rating in found] == [(0, Rating.Again), (2, Rating.Hard), (4, Rating.Good)]
    memory = schedule.memories([FIRST], done)[key]
    assert (memory.wrong, memory.in_a_row) == (1, 1)


def test_earlier_journals_count_and_a_lesson_begun_again_begins_again(tmp_path):
    """Definition: lines of earlier versions, without numbers' names, put their questions on the schedule."""
    line = {"kind": "try", "key": "sp-cone", "outcome": "PASS", "share": 1.0, "slip": "", "given": "7"}
    done = journal(tmp_path, (0, line))
    assert schedule.memories([FIRST], done)["sp-cone"].due == DAY + datetime.timedelta(days=2)
    done = journal(tmp_path, (0, line), (1, {"kind": "again", "lesson": FIRST.key, "keys": list(FIRST.questions)}))
    assert schedule.memories([FIRST], done) == {}


def test_what_came_back_leaves_the_lesson_as_it_was(tmp_path):
    """Definition: a wrong answer at a sitting takes nothing from the lesson; a right one makes its question right."""
    done = journal(
        tmp_path,
        (0, tried("sp-cone", "PASS", "7")),
        (0, tried("sp-exit", "SLIP", "A")),
        (3, hinted("sp-cone", 3, drawn="a")),
        (3, tried("sp-cone", "WRONG", "5", drawn="a")),
        (3, tried("sp-exit", "PASS", "B", drawn="a")),
    )
    cone, left = done.record("sp-cone"), done.record("sp-exit")
    assert (cone.outcome, cone.best, cone.tries, cone.rungs) == ("PASS", 1.0, 1, 0)
    assert (left.outcome, left.passed, left.tries) == ("SLIP", True, 1)


def test_a_task_right_at_once_makes_its_lesson_known(tmp_path):
    """Definition: proved by its task alone, all of it is on the schedule, later than what was learned in pieces."""
    (task,) = [each.key for each in FIRST.outlines if each.task]
    done = journal(tmp_path, (0, tried(task, "PASS")))
    assert schedule.known_on(FIRST, done) == DAY
    held = schedule.memories([FIRST], done)
    assert set(held) == set(FIRST.questions)
    assert {memory.due - DAY for key, memory in held.items() if key != task} == {datetime.timedelta(days=8)}
    for events in (
        [(0, tried(task, "SLIP")), (0, tried(task, "PASS", "2"))],
        [(0, tried(task, "PASS", drawn="a"))],
        [(0, {"kind": "noted", "key": task, "given": "1"})],
    ):
        assert schedule.known_on(FIRST, journal(tmp_path, *events)) is None
    marked = Lesson(
        "own", "Own", 5, (), (Outline(task, "Q", 1.0, True), Outline("say", "Say", 1.0, False, 1, "text")), (5,)
    )
    assert list(schedule.memories([marked], journal(tmp_path, (0, tried(task, "PASS"))))) == [task]
    assert schedule.known_on(Lesson("own", "Own", 5, (), (Outline("q", "Q", 1.0, False),), (5,)), done) is None


def _held(lessons, days_late):
    memory = schedule.fresh_memory(DAY).rated(Rating.Good, DAY)
    return {key: memory for lesson in lessons for key in lesson.questions}, memory.due + datetime.timedelta(days_late)


def test_a_sitting_takes_ten_minutes_and_mixes_lessons():
    """Definition: no more than ten minutes, the likeliest forgotten first, neighbours of different lessons."""
    lessons = list(LESSONS.values())
    held, day = _held(lessons, 3)
    chosen = schedule.chosen(day, lessons, held)
    outlines = {each.key: (each, lesson.key) for lesson in lessons for each in lesson.outlines}
    assert 9.0 <= sum(schedule.minutes_of(outlines[key][0]) for key in chosen) <= 10.0
    weak = lessons[-1].questions[0]
    held[weak] = schedule.fresh_memory(DAY).rated(Rating.Again, DAY)
    pair = [*lessons[0].questions[:3], *lessons[1].questions[:3]]
    few = {key: held[key] for key in (weak, *pair)}
    assert weak in schedule.chosen(day, lessons, few)
    assert schedule.due_on(day, few)[0] == weak
    mixed = [outlines[key][1] for key in schedule.chosen(day, lessons, few, minutes=99)]
    assert len(mixed) == len(few) and all(a != b for a, b in itertools.pairwise(mixed))


def test_what_takes_longer_than_a_sitting_still_comes_back():
    """Definition: a long question has a sitting of its own; what is not due is not asked."""
    long = Lesson("own", "Own", 5, (), (Outline("fly", "Fly", 1.0, True, 1, "flight"),), (5,))
    held, day = _held([long], 0)
    assert schedule.chosen(day, [long], held) == ("fly",)
    assert schedule.chosen(day - datetime.timedelta(days=1), [long], held) == ()
    assert schedule.next_day(held, DAY) == day
    assert schedule.next_day({}, DAY) is None


# How a question comes back ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("lesson", list(LESSONS))
def test_every_question_comes_back_whole(lesson):
    """Definition: with other numbers and letters what is right passes, and every slip is named as in the lesson."""
    for key in LESSONS[lesson].questions:
        question = QUESTIONS[key]
        if hasattr(question, "goals") or isinstance(question, Text):
            continue  # what is flown has no letters and no rows, and a text waits for a person
        drawn = coming_back.unseen(question, "2026-03-02", [("", "")])
        givens = judging.draw(question, drawn=drawn)
        came = coming_back.fresh(question, givens, drawn, 1)
        assert not came.task
        right = came.example if hasattr(came, "example") and hasattr(came, "symbols") else came.right(givens)
        assert judging.judge(came, givens, right).outcome is Outcome.PASS, key
        for slip, wrong in came.mistakes(givens) if isinstance(came, Choice) else ():
            said = judging.judge(came, givens, wrong)
            assert (said.outcome, said.slip) == (Outcome.SLIP, slip.code), key


def test_letters_stand_for_other_texts():
    """Definition: a remembered letter is of no use; what is behind it decides, and its mistake moves along."""
    question = QUESTIONS["sp-exit"]
    letters, slips = set(), set()
    for number in range(20):
        came = coming_back.fresh(question, {"seed": ""}, f"day.{number}")
        letters.add(came.right({}))
        assert came.options[came.right({})] == question.options["B"]
        wrong = next(letter for letter, text in came.options.items() if text == question.options["C"])
        slips.add(came.judge({}, wrong).slip)
    assert letters == set("ABCD") and slips == {"EARLYSET"}


def test_numbers_were_not_seen():
    """Definition: what was shown in the lesson, or at an earlier sitting, is not drawn again while there is other."""
    question = QUESTIONS["sp-recall-course"]
    before = [("", "")]
    for number in range(12):
        drawn = coming_back.unseen(question, f"day-{number}", before)
        givens = judging.draw(question, drawn=drawn)["radial_deg"]
        assert givens not in {judging.draw(question, who, drawn=each)["radial_deg"] for who, each in before}
        before.append(("", drawn))


def test_rows_of_a_table_fade(tmp_path):
    """Definition: the more often right, the more rows are blank; what is worked shows the right values, in print."""
    question = QUESTIONS["sp-needle-angle"]
    givens = judging.draw(question, drawn="day.0")
    whole = question.right(givens)
    for in_a_row in range(5):
        blank = schedule.blank_rows(len(whole), in_a_row)
        came = coming_back.fresh(question, givens, "day.0", blank)
        assert isinstance(came, Table)
        assert list(came.cells(givens)) == list(whole)[-blank:]
        worked = list(whole)[: len(whole) - blank]
        prompt = came.fill(came.prompt, givens)
        assert all(f"{label}: **{whole[label]:.1f} degrees**" in prompt for label in worked)
        assert ("Worked already" in prompt) == bool(worked)
    assert [schedule.blank_rows(4, in_a_row) for in_a_row in range(5)] == [1, 2, 3, 4, 4]
