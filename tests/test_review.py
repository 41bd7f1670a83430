"""Coming back, from the journal to the notebook: what is made, what is kept, what it asks."""

import datetime
import json
import re
import time

import pytest
from needlework.basis import places
from needlework.course import command, review, runnable, sheets, today
from needlework.course.lesson import session, verbs
from needlework.exercises import judging, progress, recording, schedule
from needlework.exercises.catalogue import LESSONS, QUESTIONS

PASSAGE = LESSONS["station-passage"]


@pytest.fixture(autouse=True)
def day(monkeypatch):
    """Begin every test at noon, where it is noon now: no day ends while it runs, nor in the programs it starts."""
    before_noon = time.gmtime().tm_hour - 12
    with monkeypatch.context() as clock:
        clock.setenv("TZ", f"NOON{before_noon:+d}")
        time.tzset()
        yield datetime.date.today()
    time.tzset()


@pytest.fixture
def home(tmp_path, monkeypatch):
    folder = tmp_path / "learner"
    monkeypatch.setenv("NEEDLEWORK_FOLDER", str(folder))
    command.bring_lessons(folder)
    return folder


def answered(home, *tries, days=4):
    when_s = time.time() - 86_400 * days
    told = [
        {"kind": "try", "key": key, "outcome": outcome, "share": float(outcome == "PASS")} for key, outcome in tries
    ]
    with open(home / progress.FILE_NAME, "a", encoding="utf-8") as file:
        file.writelines(json.dumps({"when_s": when_s + n, **each}) + "\n" for n, each in enumerate(told))


def sources(path):
    return ["".join(cell["source"]) for cell in json.loads(path.read_text(encoding="utf-8"))["cells"]]


def test_a_sitting_is_made_once_and_kept(home, day):
    """Definition: an unfinished one is gone on with; a finished one stays, and the next has a name of its own."""
    assert review.make(home, day) is None
    answered(home, ("sp-cone", "SLIP"), ("sp-exit", "PASS"))
    made = review.make(home, day)
    assert made == home / today.path_of(day.isoformat())
    content = made.read_bytes()
    assert review.make(home, day) == made and made.read_bytes() == content
    (sitting,) = progress.read(home).sittings
    assert set(sitting.drawn) == {"sp-cone", "sp-exit"}
    for key, drawn in sitting.drawn.items():
        progress.note_try(key, "PASS", 1.0, given="1", where=home, drawn=drawn)
    assert review.make(home, day) is None
    tomorrow = day + datetime.timedelta(days=40)
    later = review.make(home, tomorrow)
    assert later != made and made.read_bytes() == content
    fresh = progress.read(home).sittings[-1].drawn
    assert all(fresh[key] != sitting.drawn[key] for key in fresh)


def test_what_the_page_says_shrinks_with_every_answer(home, day):
    """Definition: minutes and questions are of what is open; what waits besides is said."""
    answered(home, *((key, "SLIP") for key in PASSAGE.questions))
    lessons = review.lessons_in(home)
    before = today.today(lessons, progress.read(home), day)
    assert 9 <= before.minutes <= 10 and before.path == ""
    assert before.questions + before.waiting == len(PASSAGE.questions)
    review.make(home, day)
    (sitting,) = progress.read(home).sittings
    left = before.questions
    for key, drawn in sitting.drawn.items():
        progress.note_try(key, "WRONG", 0.0, given="1", where=home, drawn=drawn)
        left -= 1
        now = today.today(lessons, progress.read(home), day)
        if left:
            assert (now.questions, now.path) == (left, today.path_of(sitting.name))


def test_the_notebook_asks_with_its_numbers(home, monkeypatch, day):
    """Definition: what stands in the notebook is judged with the numbers that its first cell names, and noted so."""
    answered(home, ("sp-needle-angle", "PASS"), ("sp-task", "SLIP"), ("sp-recall-course", "PASS"))
    made = review.make(home, day)
    (sitting,) = progress.read(home).sittings
    begin = next(text for text in sources(made) if "\nreview(" in text)
    shown = []
    monkeypatch.setattr(session, "current", session.Session())
    monkeypatch.setattr(verbs.outputs, "show", lambda page, text, said: shown.append((page, said)))
    exec(begin, {})
    rows = schedule.blank_rows(4, 1)
    table = session.current.question("sp-needle-angle")
    assert len(table.cells(session.current.numbers("sp-needle-angle"))) == rows
    for key, drawn in sitting.drawn.items():
        assert session.current.numbers(key) == judging.draw(QUESTIONS[key], drawn=drawn)
        assert float(verbs.check(key, session.current.question(key).right(session.current.numbers(key)))) > 0
    assert {each.drawn for key in sitting.drawn for each in progress.read(home).history[key][1:]} == set(
        sitting.drawn.values()
    )
    # The task says its verdict at once, and a wrong answer leads to its place.
    wrong = session.current.numbers("sp-recall-course")["radial_deg"]
    verbs.check("sp-recall-course", wrong)
    assert "../station-passage/station-passage.ipynb#cell-id=sp-recall-course-answer" in shown[-1][0]
    verbs.recap(progress.COMING_BACK)
    standing = shown[-1][1].standing
    assert {row.key for row in standing.rows} == set(sitting.drawn) and standing.marks == standing.points


def test_what_a_question_is_answered_from_comes_back_with_it(home, day):
    """Definition: plate, recordings and what-if stand before the question as in its lesson, the plate that it names
    too, and run by themselves; what is answered without has none."""
    wanted = {
        "bt-fault": 'plate.show_faulty(numbers("bt-fault")["copy"])',
        "bt-idents": 'listening.play(numbers("bt-idents")["heard"])',
        "wa-legs": 'plate.show("Keld")',
        "dm-what-if": "sliders.descent()",
        "bt-category": None,
    }
    answered(home, *((key, "SLIP") for key in wanted))
    cells = [text for text in sources(review.make(home, day)) if "check(" not in text]
    for key, shown in wanted.items():
        (at,) = [n for n, text in enumerate(cells) if text.startswith(f'ask("{key}")')]
        assert cells[at - 1].endswith(shown) if shown else "show" not in cells[at - 1], key
        assert not shown or runnable.may_run(cells[at - 1]), key


def test_hints_at_a_sitting_begin_anew(home, monkeypatch):
    """Definition: hints taken in the lesson are none at the sitting, and the other way round."""
    progress.note_hint("sp-cone", 4, where=home)
    monkeypatch.setattr(session, "current", session.Session())
    monkeypatch.setattr(verbs.outputs, "show", lambda *_: None)
    verbs.review("a day", {"sp-cone": "a day.0"})
    assert verbs.next_hint("sp-cone").rung == 1
    assert progress.read(home).record("sp-cone").rungs == 4


def test_a_flight_that_comes_back_is_another_flight(home, monkeypatch):
    """Definition: it is recorded under a name of its own, and one flown in the lesson does not count for it."""
    question = QUESTIONS["sp-hand"]
    monkeypatch.setattr(session, "current", session.Session())
    monkeypatch.setattr(verbs.outputs, "show", lambda *_: None)
    verbs.review("a day", {"sp-hand": "a day.0"})
    givens = session.current.numbers("sp-hand")
    asked = []
    monkeypatch.setattr(recording, "newest", lambda name: asked.append(name))
    assert verbs.flight_of("sp-hand") is None and asked == ["sp-hand-again"]
    lesson = question.right(judging.draw(question))
    assert judging.judge(question, givens, lesson).outcome == "ERROR"
    assert judging.judge(question, givens, question.right(givens)).outcome == "PASS"


def test_the_command_makes_it_without_a_browser(home, day):
    """Definition: ``needlework review --write-only`` prints where the sitting lies; nothing where nothing is due."""
    assert command.made_review(home) == ""
    answered(home, ("sp-exit", "SLIP"))
    assert command.made_review(home) == today.path_of(day.isoformat())


# Pages to print -----------------------------------------------------------------------------------------------------


def test_rules_are_those_of_the_lessons(home):
    """Definition: every numbered rule of every released lesson is on the page, in its words."""
    page = sheets.rules_page(sheets._notebooks(home))
    bare = re.sub(r"<[^>]+>", "", page)
    for lesson in LESSONS.values():
        rules = sheets.rules_of(places.released_lessons() / lesson.key / f"{lesson.key}.ipynb")
        found = re.findall(r"^\d+\. (.{20})", rules, flags=re.M)
        assert len(found) >= 4, lesson.key
        for words in found:
            plain = words.replace("*", "").replace("`", "").replace("&", "&amp;").replace("<", "&lt;")
            assert plain.strip() in bare, (lesson.key, words)
    assert "&lt;" not in page and "not seen" not in page, "sources are folded away in the lesson, and stay there"


def test_weak_spots_are_this_learners(home, day):
    """Definition: what was wrong, the oftenest first, with what was said of it; its exercise has other numbers."""
    answered(home, ("sp-recall-course", "SLIP"), ("sp-exit", "PASS"), days=9)
    progress.note_try("sp-recall-course", "SLIP", 0.0, "RECIP", "1", home)
    progress.note_try("sp-outbound", "WRONG", 0.0, "", "1", home)
    # Without its plate, its recordings, it is nothing to be asked on paper.
    for key in ("bt-fault", "bt-idents", "wa-legs"):
        progress.note_try(key, "WRONG", 0.0, "", "1", home)
    spots = sheets.weak_spots(home, progress.read(home), day)
    assert [spot.question.key for spot in spots] == ["sp-recall-course", "sp-outbound"]
    assert (spots[0].wrong, spots[0].answers) == (2, 2)
    assert spots[0].said.startswith("A radial runs outwards")
    progress.note_try("sp-outbound", "PASS", 1.0, "", "2", home)
    assert [spot.mended for spot in sheets.weak_spots(home, progress.read(home), day)] == [False, True]
    page = sheets.weak_spots_page(spots, "paper 1")
    givens = judging.draw(spots[0].question, drawn="paper 1")
    assert f"you are on radial {round(givens['radial_deg']):03d}" in page
    assert f"{spots[0].question.right(givens):03.0f} degrees magnetic" in page
    assert "None so far" in sheets.weak_spots_page([], "paper 1")
