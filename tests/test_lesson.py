"""What a lesson's cells call, as a learner's notebook calls it."""

import pytest
from IPython.core.interactiveshell import ExecutionInfo, ExecutionResult
from needlework.course.lesson import boxes, buttons, cells, mistakes, outputs, session
from needlework.course.lesson import verbs as lesson
from needlework.exercises import bundle, judging, progress
from needlework.exercises.catalogue import LESSONS, QUESTIONS
from needlework.exercises.judging import model_answer
from needlework.exercises.verdicts import Outcome


@pytest.fixture
def shown(monkeypatch, tmp_path):
    """Everything displayed, as (page, text); the learner's folder is a fresh one."""
    monkeypatch.setenv("NEEDLEWORK_FOLDER", str(tmp_path))
    monkeypatch.delenv("NEEDLEWORK_GRADING", raising=False)
    monkeypatch.setattr(session, "current", session.Session())
    seen = []
    monkeypatch.setattr(outputs, "show", lambda page, text, said: seen.append((page, text)))
    monkeypatch.setattr(buttons, "button", lambda name, tip, press, adds=False: seen.append((name, press)))
    return seen


def readable(marks):
    """What the verdict's data say of the answer, as the desk reads it."""
    return bundle.read({"data": marks._repr_mimebundle_()}).answer.readable


def test_a_cell_run_too_early_says_what_to_do(shown):
    """Definition: one sentence, not a stack trace."""
    with pytest.raises(session.LessonError, match="Run the first code cell") as caught:
        lesson.check("sp-cone", 3)
    assert caught.value._render_traceback_() == [str(caught.value)]


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (lambda: lesson.begin("nowhere"), "There is no lesson 'nowhere'. The lessons are: briefing-and-identifying"),
        (lambda: lesson.begin("station-passage", ["me"]), "in quotation marks"),
        (lambda: lesson.recap("nowhere"), "no lesson"),
        (lambda: lesson.reveal("nowhere"), "no lesson"),
    ],
)
def test_bad_calls_get_one_sentence(shown, call, text):
    """Definition: what was wrong and what to do."""
    with pytest.raises(session.LessonError, match=text):
        call()


def test_unknown_question(shown):
    """Definition: a changed cell is told apart from a wrong answer."""
    lesson.begin("station-passage")
    with pytest.raises(session.LessonError, match="no question 'sp-nothing'"):
        lesson.check("sp-nothing", 1)


def test_marks_are_a_number_to_the_desk_and_words_to_the_learner(shown):
    """Definition: the text of the result is a plain number, its page the verdict."""
    lesson.begin("station-passage", "Finch 12")
    marks = lesson.check("sp-flags", ["TO LEFT"] * 4)
    assert repr(marks) == repr(float(marks))
    assert 0 <= marks <= 2
    assert "answers are right" in marks._repr_html_()
    right = lesson.check("sp-recall-course", QUESTIONS["sp-recall-course"].right(lesson.numbers("sp-recall-course")))
    assert right == 1.0
    assert "✓ Right" in right._repr_html_()
    assert QUESTIONS["sp-recall-course"].why[:20] in right._repr_html_()


def test_a_learner_s_text_never_becomes_markup(shown):
    """Definition: what is typed is shown as text."""
    lesson.begin("station-passage", "<b>me</b>")
    assert "<b>me</b>" not in shown[0][0]
    page = lesson.check("sp-cone", "<script>alert(1)</script>")._repr_html_()
    assert "<script>" not in page


def test_a_task_is_noted_and_judged_only_when_revealed(shown):
    """Definition: a task shows no verdict before it is handed in, and what cannot be read is told at once."""
    lesson.begin("station-passage")
    task = QUESTIONS["sp-task"]
    right = task.right(lesson.numbers("sp-task"))
    lesson.reveal("station-passage")
    name, press = shown[-1]
    assert name == "Judge my task"
    assert "Nothing is shown before" in press()[0]
    noted = lesson.check("sp-task", {**right, "lowest DME": "half"})
    assert noted == 0.0
    assert "Noted" in noted._repr_html_()
    assert "lowest DME" in noted._repr_html_()
    assert "is text" in noted._repr_html_()
    assert not progress.read().record("sp-task").noted, "a task half filled in is not settled"
    lesson.check("sp-task", right)
    assert progress.read().record("sp-task").noted
    assert progress.read().record("sp-task").tries == 0
    lesson.recap("station-passage")
    assert "Noted · The task" in shown[-1][1]
    page, ended = press()
    assert ended
    assert "✓ Right" in page
    assert progress.read().record("sp-task").best == 1.0
    assert lesson.score("sp-task", right) == task.points


def test_a_wrong_task_shows_the_worked_answer_when_revealed(shown):
    """Definition: after the verdict the learner sees how it is done."""
    lesson.begin("station-passage")
    lesson.check("sp-task", {"lowest DME": 9})
    lesson.reveal("station-passage")
    page, _ = shown[-1][1]()
    assert model_answer(QUESTIONS["sp-task"], lesson.numbers("sp-task")).split(";")[0] in page


def test_hints_climb_and_are_kept(shown):
    """Definition: one rung a press, the answer last; the next day goes on where it was."""
    lesson.begin("station-passage")
    names = []
    for _ in range(5):
        lesson.hint("sp-cone")
        names.append(shown[-1][1].split(" (")[0])
    assert names == ["Where to look", "The rule", "The first line", "The model answer", "The model answer"]
    assert progress.read().record("sp-cone").rungs == 4
    lesson.hint("sp-task")
    assert "This is the task" in shown[-1][1]


def test_the_desk_keeps_the_hints_out_of_the_file(shown, monkeypatch):
    """Definition: at the marking desk nothing is written."""
    monkeypatch.setenv("NEEDLEWORK_GRADING", "1")
    lesson.begin("station-passage", "Finch 12")
    lesson.hint("sp-cone")
    assert lesson.score("sp-rule", "1200 * h / gs") == 3.0
    monkeypatch.delenv("NEEDLEWORK_GRADING")
    assert not progress.read().questions


def test_a_marked_page_speaks_of_what_was_handed_in(shown, monkeypatch):
    """Definition: at the desk no count of tries, no buttons, nothing still to do; a wrong answer is explained."""
    monkeypatch.setenv("NEEDLEWORK_GRADING", "1")
    lesson.begin("station-passage", "Finch 12")
    assert "so far" not in shown[-1][0] + shown[-1][1]
    assert "finch 12" in shown[-1][1]
    number = len(shown)
    lesson.recap("station-passage")
    assert len(shown) == number
    lesson.ask("sp-task")
    assert "no verdict yet" not in shown[-1][0]
    wrong = lesson.check("sp-predict", "C")._repr_html_()
    assert "Not right" in wrong and "Hint button" not in wrong
    assert model_answer(QUESTIONS["sp-predict"], lesson.numbers("sp-predict"))[:30] in wrong
    assert "No answer." in lesson.check("sp-exit", None)._repr_html_()
    assert not readable(lesson.check("sp-cone", "forty"))
    assert readable(lesson.check("sp-cone", 7000))
    lesson.begin("station-passage")
    assert "No name was typed" in shown[-1][1]


def test_recap_adds_up(shown):
    """Definition: the best try of each question counts."""
    lesson.begin("station-passage")
    lesson.check("sp-predict", "B")
    lesson.check("sp-predict", "A")
    lesson.check("sp-rule", "1200 * h / gs")
    lesson.recap("station-passage")
    total = sum(outline.points for outline in LESSONS["station-passage"].outlines)
    assert f"4 of {total:g} marks, the best try" in shown[-1][1]


def test_ask_shows_numbers_letters_and_cards(shown):
    """Definition: a question shows everything needed to answer it."""
    lesson.begin("station-passage", "Finch 12")
    for key, question in QUESTIONS.items():
        if question.lesson == "station-passage" and not question.figure:
            shown.clear()
            lesson.ask(key)
            text = shown[0][1]
            assert question.fill(question.prompt, lesson.numbers(key)) in text
            if key == "sp-order":
                assert all(card in text for card in question.cards.values())
            if key == "sp-flags":
                assert text.count("on radial") == 4
            assert (shown[-1][0] == "Hint") is not question.task


def test_the_same_name_gives_the_same_numbers_in_a_new_session(shown, monkeypatch):
    """Definition: the learner's machine and the desk's draw alike."""
    lesson.begin("station-passage", "Finch 12")
    first = dict(lesson.numbers("sp-task"))
    monkeypatch.setattr(session, "current", session.Session())
    lesson.begin("station-passage", " FINCH 12")
    assert lesson.numbers("sp-task") == first


@pytest.mark.parametrize(
    ("error", "text"),
    [
        (NameError("name 'B' is not defined", name="B"), 'write "B"'),
        (NameError("x", name="cone_second"), "“cone_second” is not known here"),
        (ZeroDivisionError(), "divided by zero"),
        (SyntaxError("x", ("f", 3, 1, "t")), "a bracket or a comma is missing"),
        (KeyboardInterrupt(), "Stopped, as you asked"),
        (RuntimeError("something odd"), "something odd"),
        (session.LessonError("One sentence."), "One sentence."),
    ],
)
def test_mistakes_of_typing_become_one_sentence(error, text):
    """Definition: no stack traces for somebody who does not program."""
    said = mistakes.in_one_sentence(error, session.Session())
    assert text in said
    assert "\n" not in said


@pytest.mark.parametrize(
    ("line", "text"),
    [
        ("heading = 080", "write 80, not 080"),
        ('table = {"rate": 1,588, "turn": None}', "thousands have no comma: 1588, not 1,588"),
        ("angle = 45°", "without its unit: 45, not 45°"),
        ("time = 44 s", "without its unit: 44, not 44 s"),
        ("letter = \u201cB\u201d", "quotation marks are curly"),
        ("letter = (", "the ) that closes the ( is missing"),
    ],
)
def test_what_makes_a_cell_unreadable_is_named(line, text):
    """Definition: the usual causes by name; errors as this interpreter raises them."""
    with pytest.raises(SyntaxError) as caught:
        compile(line, "cell", "exec")
    said = mistakes.in_one_sentence(caught.value, session.Session())
    assert text in said
    assert line in said
    assert "\n" not in said


def test_a_decimal_comma_is_told():
    """Definition: 5,8 is two numbers to the computer; the message shows the point."""
    said = judging.judge(QUESTIONS["sp-cone"], judging.draw(QUESTIONS["sp-cone"], "Finch 12"), (5, 8), False).text
    assert "Decimals with a point (5.8)" in said
    assert "thousands without a comma (1588)" in said


def test_below_a_stopped_answer_cell_the_message_points_up(shown):
    """Definition: a name that is not known only because its cell stopped is not called unknown."""
    lesson.begin("station-passage")
    session.current.stopped = {"sp-predict"}
    session.current.cell = 'check("sp-predict", half_a_mile_out)'
    said = mistakes.in_one_sentence(NameError("x", name="half_a_mile_out"), session.current)
    assert said.startswith("The answer cell above stopped")
    session.current.cell = 'check("sp-exit", exit_answer)'
    assert "not known here" in mistakes.in_one_sentence(NameError("x", name="exit_answer"), session.current)


def test_outcomes_have_a_look_each():
    """Definition: every outcome has a symbol, a word and a colour; colour is never the only mark."""
    assert set(boxes.LOOK) == set(Outcome)
    assert all(symbol and word for symbol, word, _ in boxes.LOOK.values())


def test_an_answer_cell_that_stopped_is_not_judged_by_its_older_answer(shown):
    """Definition: after a mistake of typing the verdict is about that, not about what was given before."""
    from types import SimpleNamespace

    lesson.begin("station-passage")
    cell = 'ask("sp-predict")\nhalf_a_mile_out = C'
    stopped = SimpleNamespace(
        info=SimpleNamespace(raw_cell=cell), success=False, error_before_exec=None, error_in_exec=None
    )
    cells.after(stopped, lesson.ask)
    assert "stopped with a message" in lesson.check("sp-predict", "B")._repr_html_()
    assert lesson.check("sp-exit", "B") == 1.0
    mended = SimpleNamespace(
        info=SimpleNamespace(raw_cell=cell), success=True, error_before_exec=None, error_in_exec=None
    )
    cells.after(mended, lesson.ask)
    assert lesson.check("sp-predict", "B") == 1.0


def test_a_flight_counts_although_its_panel_could_not_be_shown(shown):
    """Definition: the cell that asks for a flight is not the one that gives it; a recording is judged anyway."""
    from types import SimpleNamespace

    lesson.begin("station-passage", "Finch 12")
    cell = 'ask("sp-hand")\nfly("sp-hand")'
    info = SimpleNamespace(raw_cell=cell)
    cells.after(
        SimpleNamespace(info=info, success=False, error_before_exec=None, error_in_exec=RuntimeError()), lesson.ask
    )
    assert session.current.stopped == {"sp-hand"}
    question = QUESTIONS["sp-hand"]
    assert lesson.score("sp-hand", question.right(lesson.numbers("sp-hand"))) == question.points
    assert lesson.check("sp-hand", question.right(lesson.numbers("sp-hand"))) == question.points
    assert readable(lesson.check("sp-hand", None))


def test_two_people_on_one_computer(shown):
    """Definition: hints and marks belong to the numbers of one name."""
    lesson.begin("station-passage", "Finch 12")
    lesson.hint("sp-cone")
    lesson.check("sp-predict", "B")
    lesson.begin("station-passage", "Finch 7")
    assert "Right so far: 0 of" in shown[-1][1]
    lesson.hint("sp-cone")
    assert "Where to look" in shown[-1][1]
    assert progress.read().record("sp-predict").best == 1.0


def test_a_cell_that_cannot_be_read_still_asks(shown):
    """Definition: after a mistake of typing the question stands there, with what the line should look like."""
    lesson.begin("station-passage")
    cell = 'ask("sp-cone-faded")\ncone_seconds_1 = 44 s\n'
    info = ExecutionInfo(cell, False, False, True, "cell")
    cells.before(info)
    with pytest.raises(SyntaxError) as caught:
        compile(cell, "cell", "exec")
    assert "should look like this: cone_seconds_1 = 45" in mistakes.in_one_sentence(caught.value, session.current)
    number = len(shown)
    result = ExecutionResult(info)
    result.error_before_exec = caught.value
    cells.after(result, lesson.ask)
    assert lesson.numbers("sp-cone-faded")["width_nm"] and len(shown) > number
    assert QUESTIONS["sp-cone-faded"].title in shown[number][0]
    assert "stopped" in lesson.check("sp-cone-faded", None)._repr_html_()
