"""Homework there and back: right marks, whatever comes in, in nbgrader's gradebook and on the page."""

import copy
import csv
import io
import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import class_maker
import hand_in_bank as bank
import pytest
import tiny_lesson
from needlework.basis.errors import BadData
from needlework.building import release
from needlework.course import command
from needlework.desk import page as handed_back
from needlework.desk import room
from needlework.desk.hand_in import DAMAGED, homework_in
from needlework.desk.homework import Desk

pytestmark = pytest.mark.slow

LESSON = bank.LESSON
CONE, V, RIGHT = bank.CONE, bank.V, bank.RIGHT
SIDE = "sp-predict"


@pytest.fixture(scope="module", autouse=True)
def walls():
    if not room.walls_stand():
        if os.environ.get("CI"):
            pytest.fail("bubblewrap is missing: marking cannot be sealed")
        pytest.skip("bubblewrap is missing")


def named(book, student):
    """Put a student's name where the bank has its own; the numbers are then others."""
    text = json.dumps(book).replace(f"student = '{bank.STUDENT}'", f"student = '{student}'")
    return json.loads(text)


LIST = "student,name\nfinch-7,Finch Seven\nrobin-2,Robin Two\nwren-3,Wren Finch Three\nowl-4,Owl Four\n"


@pytest.fixture(scope="module")
def marked(tmp_path_factory):
    """A few hand-ins, marked once; the tests look at what came of them."""
    folder = tmp_path_factory.mktemp("grading")
    desk = Desk(folder / "desk")
    desk.hand_out(LESSON)
    papers = {
        "finch-7": bank.BASE,
        "robin-2": named(bank.cone(f"{V} = 1 / 0"), "Robin Two"),
        # Half a letter, which no file can hold as it is, stops nobody's marking.
        "owl-4": named(bank.cone(f"{V} = 41 if 1 else 0  # \ud83d\ndef f(): pass"), "owl 4"),
    }
    for name, paper in papers.items():
        tiny_lesson.write(paper, folder / "in" / f"{name}.ipynb")
    whole = json.dumps(bank.BASE)
    (folder / "in" / "wren-3.ipynb").write_text(whole[: len(whole) // 2], encoding="utf-8")
    (desk.folder / "students.csv").write_text(LIST, encoding="utf-8")
    desk.collect(LESSON, folder / "in")
    ledger = desk.mark(LESSON)
    return desk, ledger, {row["student"]: row for row in desk.marks(LESSON)}


@pytest.fixture
def own(marked, tmp_path):
    """The marked desk again, for a test that changes it."""
    desk, ledger, rows = marked
    shutil.copytree(desk.folder, tmp_path / "desk")
    return Desk(tmp_path / "desk"), ledger, rows


def row_of(desk, student):
    return next(row for row in desk.marks(LESSON) if row["student"] == student)


def test_marks_reasons_and_notes(marked):
    """Independent method: the marks of the questions, summed by hand."""
    rows = marked[2]
    assert (rows["finch-7"]["mark"], rows["finch-7"]["out_of"]) == (bank.ALL, bank.FULL)
    assert (rows["finch-7"]["state"], rows["finch-7"]["look_at"]) == ("marked", "")
    assert rows["robin-2"][CONE] == 0 and rows["robin-2"]["state"] == "needs a look"
    told = f"'{CONE}' counts 0, because its answer cell cannot be run: “Something here is divided by zero."
    assert rows["robin-2"]["look_at"].startswith(told)
    assert (rows["wren-3"]["mark"], rows["wren-3"]["look_at"]) == ("", DAMAGED)


def test_marks_file_and_pages(own):
    """Definition: the CSV has one row a student with the reasons; a page is handed back for what was marked."""
    desk, ledger, rows = own
    path, kept = desk.write_marks(LESSON)
    assert kept is None
    table = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8-sig"))))
    assert {row["student"] for row in table} == set(ledger)
    in_lesson = [name for cell in bank.BASE["cells"] if (name := bank.about(cell).get("grade_id", "")) in table[0]]
    assert [name for name in table[0] if name in in_lesson] == in_lesson, "the order of the lesson"
    assert next(row for row in table if row["student"] == "wren-3")["mark"] == ""
    assert desk.set_mark(LESSON, "finch-7", CONE, 1.5, "In <class> you knew it.") == bank.ALL - 0.5
    place, done, left = desk.hand_back(LESSON)
    assert done == ["finch-7", "owl-4", "robin-2"]
    assert left == [("wren-3", DAMAGED)]
    page = (place / "finch-7.html").read_text(encoding="utf-8")
    assert re.search(rf"Finch Seven \(finch-7\): {bank.ALL - 0.5:g} of {bank.FULL:g}\s+marks", page)
    assert "From your instructor: In &lt;class&gt; you knew it." in page
    assert "Your instructor set this mark to 1.5; marked by itself it was 2." in page
    assert "Your answer" in page and "half_a_mile_out" not in page, "the value, not the line of program it stands in"
    assert page.count("<td>✓ Right</td>") >= 3 and "<td>set by your instructor</td>" in page
    assert page.count("data:image/png;base64") >= 3, "the pictures of the questions, and what was flown"
    for foreign in ("HIDDEN TESTS", "Test cell", "nbgrader", "<script"):
        assert foreign not in page, foreign
    stopped = (place / "robin-2.html").read_text(encoding="utf-8")
    assert "Something here is divided by zero" in stopped and "Worked out:" in stopped
    assert desk.hand_back(LESSON, "verdicts")[1] == done
    assert "Worked out:" not in (place / "robin-2.html").read_text(encoding="utf-8")
    assert desk.hand_back(LESSON)[1] == done
    assert "Worked out:" not in (place / "robin-2.html").read_text(encoding="utf-8"), "as it was chosen last"
    desk.hand_back(LESSON, "marks")
    assert "Not right" not in (place / "robin-2.html").read_text(encoding="utf-8")
    assert "✗" not in (place / "robin-2.html").read_text(encoding="utf-8")
    assert desk.set_mark(LESSON, "finch-7", CONE, None) == bank.ALL
    assert desk.marks(LESSON) == list(rows.values()), "as before"


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ('flag = "b"  # the letter, in quotation marks', "b"),
        ("course = 030.0  # degrees magnetic, whole", "030.0"),
        ("seconds = None  # whole", "(nothing was filled in)"),
        ('kneepad = {"lowest DME": 1.0, "turn": None}', "lowest DME: 1.0\nturn: -"),
        ('seen = ["TO LEFT", None]  # in order', "1. TO LEFT\n2. -"),
        ("seconds = 36 * 2", "36 * 2"),
        ("miles = 0,9  # NM, one decimal", "0,9"),
        ("miles = -0,9", "-0,9"),
        ("miles = (0,9)", "(0,9)"),
        ("heights = 1,500, 2", "1,500, 2"),
        ('kneepad = {"lowest DME": (0,9), "turn": "LEFT"}', "lowest DME: (0,9)\nturn: LEFT"),
        ('seen = "TO", "FROM"', "1. TO\n2. FROM"),
        ("radials = [95, 105]", "1. 95\n2. 105"),
        (
            'from needlework.lesson import flight_of\n\nflown = None  # nothing yet\nflown = flight_of("sp-hand")',
            "your newest flight",
        ),
        ("seconds = 36\nprint(seconds)", None),
        ("seconds =", None),
        ("a = 1\nb = 2", None),
    ],
)
def test_an_answer_is_shown_as_it_was_typed(typed, shown):
    """Definition: the value alone; where somebody wrote more than that, all of it."""
    assert handed_back._in_words(typed) == shown


def test_a_script_in_a_hand_in_does_not_run_on_its_page(own):
    """Definition: what a student wrote between the cells is text on the page."""
    desk, _, _ = own
    hostile = bank.own_cell("<script>alert(1)</script><img src=x onerror=alert(2)> Hello **there**", "markdown")
    hostile["cells"][0]["source"] = "[x](javascript:alert(3)) ![y](http://127.0.0.1/spy.png)"
    tiny_lesson.write(hostile, desk.folder.parent / "finch-7.ipynb")
    desk.collect(LESSON, desk.folder.parent / "finch-7.ipynb", this_one=True)
    desk.mark(LESSON)
    page = (desk.hand_back(LESSON)[0] / "finch-7.html").read_text(encoding="utf-8")
    assert "Hello <strong>there</strong>" in page
    for foreign in ("<script", '<img src="x"', 'href="javascript:', "http://127.0.0.1"):
        assert foreign not in page, foreign


def test_a_changed_marks_file_is_kept(own):
    """Definition: the file is a copy of the gradebook; whatever somebody wrote into it is not lost."""
    desk, _, _ = own
    path, _ = desk.write_marks(LESSON)
    text = path.read_text(encoding="utf-8")
    changed = re.sub(rf"(?m)^(finch-7,[^,]*,{LESSON},){float(bank.ALL)}", r"\g<1>2.0", text)
    assert changed != text
    path.write_text(changed, encoding="utf-8", newline="")
    again, kept = desk.write_marks(LESSON)
    assert again == path
    assert f",{LESSON},2.0," in kept.read_text(encoding="utf-8")
    assert path.read_text(encoding="utf-8").splitlines() == text.splitlines()
    assert desk.write_marks(LESSON) == (path, None)


def test_a_mark_set_by_hand_settles_a_look(own):
    """Definition: what could not be judged is settled once a person has judged it; impossible marks are refused."""
    desk, _, rows = own
    before = rows["robin-2"]["mark"]
    assert desk.set_mark(LESSON, " Robin Two ", CONE, 2) == before + 2
    row = row_of(desk, "robin-2")
    assert (row["mark"], row[CONE], row["state"], row["look_at"]) == (before + 2, 2, "marked", "")
    assert f"'{CONE}' set by hand to 2, marked by itself 0" in row["notes"]
    assert desk.set_mark(LESSON, "robin-2", CONE, None) == before
    for student, question, mark, told in (
        ("robin-2", CONE, 2.5, f"2.5 is no possible mark for '{CONE}': give a number from 0 to 2"),
        ("robin-2", CONE, float("nan"), "nan is no possible mark"),
        ("robin-2", "cone", 1, "There is no question 'cone'"),
        ("nobody", CONE, 1, "'nobody' is not on the class list"),
        ("wren-3", CONE, 1, "wren-3 has no marks in which one could be changed"),
    ):
        with pytest.raises(BadData, match=re.escape(told)):
            desk.set_mark(LESSON, student, question, mark)


def test_only_what_is_new_is_marked_again(own):
    """Definition: a second run marks only new hand-ins; a mark set by hand does not go over to them in silence."""
    desk, _, rows = own
    came = desk.folder.parent / "later"
    tiny_lesson.write({"nbformat": 4, "cells": "gone"}, came / "finch-7.ipynb")
    os.utime(came / "finch-7.ipynb", (3_900_000_000,) * 2)
    assert desk.collect(LESSON, came).taken == []
    assert row_of(desk, "finch-7") == rows["finch-7"]
    desk.set_mark(LESSON, "finch-7", SIDE, 0.5, "You said it aloud.")
    tiny_lesson.write(bank.cone(f"{V} = 1"), came / "finch-7.ipynb")
    os.utime(came / "finch-7.ipynb", (4_000_000_000,) * 2)
    report = desk.collect(LESSON, came)
    assert report.taken == [("finch-7", "finch-7.ipynb")]
    assert f"marked {bank.ALL - 0.5:g}, kept as earlier/finch-7/{LESSON}-" in report.instead["finch-7"]
    row = row_of(desk, "finch-7")
    assert (row["mark"], row["look_at"]) == ("", "it is not marked yet")
    pages = {name: desk.folder / "autograded" / name / LESSON / f"{LESSON}.ipynb" for name in ("robin-2", "owl-4")}
    kept = {name: page.stat().st_mtime_ns for name, page in pages.items()}
    desk.mark(LESSON)
    assert {name: page.stat().st_mtime_ns for name, page in pages.items()} == kept
    row = row_of(desk, "finch-7")
    assert (row["mark"], row["state"]) == (bank.ALL - 2, "needs a look")
    told = f"the mark 0.5 set by hand for '{SIDE}' (“You said it aloud.”) was for another version"
    assert row["look_at"].startswith(told)
    desk.set_mark(LESSON, "finch-7", SIDE, 0.5)
    row = row_of(desk, "finch-7")
    assert (row["mark"], row["state"]) == (bank.ALL - 2.5, "marked")


def test_marks_by_hand_survive_the_gradebook(own):
    """Definition: a gradebook that is lost or damaged is told in a sentence; marked anew, every mark is as before."""
    desk, _, _ = own
    desk.set_mark(LESSON, "finch-7", CONE, 0.5, "Copied from the board.")
    before = desk.marks(LESSON)
    (desk.folder / "gradebook.db").write_bytes(b"SQLite format 3\0" + bytes(3000))
    for step in (desk.marks, desk.mark, desk.hand_back):
        with pytest.raises(BadData, match=r"The gradebook .* is damaged: move it away and type .*mark"):
            step(LESSON)
    (desk.folder / "gradebook.db").unlink()
    with pytest.raises(BadData, match=r"The gradebook .* is missing: type .*mark"):
        desk.marks(LESSON)
    desk.mark(LESSON)
    assert desk.marks(LESSON) == before
    (desk.folder / "gradebook.db").write_bytes(b"")
    desk.mark(LESSON)
    assert desk.marks(LESSON) == before
    page = (desk.hand_back(LESSON)[0] / "finch-7.html").read_text(encoding="utf-8")
    assert "From your instructor: Copied from the board." in page


def test_nbgraders_own_autograde_is_refused_with_the_right_command(own):
    """Definition: it stops with the command to type, and leaves page and marks as they are."""
    desk, _, _ = own
    page = desk.folder / "autograded" / "finch-7" / LESSON / f"{LESSON}.ipynb"
    before = page.read_bytes(), desk.marks(LESSON)
    place = Path(room.__file__).parent / "jupyter"
    environment = {**os.environ, "JUPYTER_CONFIG_PATH": str(place), "NEEDLEWORK_DESK": str(desk.folder)}
    words = [sys.executable, "-m", "nbgrader", "autograde", LESSON, "--force"]
    done = subprocess.run(words, env=environment, cwd=desk.folder, capture_output=True, text=True, timeout=120)
    assert done.returncode == 1
    assert f"desk mark {LESSON}" in done.stderr
    assert (page.read_bytes(), desk.marks(LESSON)) == before


def test_nbgrader_reads_the_gradebook(own):
    """Independent method: nbgrader's own export has the same marks, late or not."""
    desk, _, rows = own
    from nbgrader.api import Gradebook
    from needlework.desk.book import nbgrader_at_work

    with nbgrader_at_work(), Gradebook(f"sqlite:///{desk.folder / 'gradebook.db'}", "needlework") as gradebook:
        for student in ("finch-7", "robin-2", "owl-4"):
            submission = gradebook.find_submission(LESSON, student)
            assert submission.score == pytest.approx(rows[student]["mark"])
            assert submission.max_score == bank.FULL
            assert not submission.needs_manual_grade
            assert submission.timestamp.strftime("%Y-%m-%d %H:%M:%S") == rows[student]["handed_in_utc"]


# Whose work it is -------------------------------------------------------------------------------------------------


def test_a_neighbours_notebook_is_nobodys(own):
    """Definition: the session's name is the id or the whole name of the one it came in from, or there is no mark."""
    desk, _, _ = own
    came = desk.folder.parent / "names"
    papers = {
        "robin-2": bank.BASE,
        "wren-3": named(bank.BASE, "Finch"),
        "owl-4": bank.first("parts = ['Owl', 'Four']\nstudent = ' '.join(parts)"),
        "finch-7": bank.first("student = 'Seven, FINCH'"),
    }
    for name, paper in papers.items():
        tiny_lesson.write(paper, came / f"{name}.ipynb")
        os.utime(came / f"{name}.ipynb", (4_000_000_000,) * 2)
    desk.collect(LESSON, came)
    desk.mark(LESSON)
    assert row_of(desk, "robin-2")["mark"] != "", "it put no work of robin's own aside"
    desk.collect(LESSON, came / "robin-2.ipynb", this_one=True)
    desk.mark(LESSON)
    rows = {row["student"]: row for row in desk.marks(LESSON)}
    assert rows["robin-2"]["mark"] == ""
    assert rows["robin-2"]["look_at"].startswith(
        "its numbers are those of “Finch 7”, who is finch-7: ask whose work it is"
    )
    assert rows["wren-3"]["mark"] == "" and "those of “Finch”: ask" in rows["wren-3"]["look_at"]
    assert rows["owl-4"]["mark"] != "" and rows["finch-7"]["mark"] != ""
    assert desk.accept_name(LESSON, "wren-3") == "Finch"
    row = row_of(desk, "wren-3")
    assert row["mark"] != "" and "that was accepted" in row["notes"]
    assert desk.accept_name(LESSON, "wren-3", back=True) == "Finch"
    row = row_of(desk, "wren-3")
    assert row["mark"] == "" and "those of “Finch”: ask" in row["look_at"], "as before"
    with pytest.raises(BadData, match="there is nothing to take back"):
        desk.accept_name(LESSON, "wren-3", back=True)
    with pytest.raises(BadData, match="No hand-in of 'finch-7'"):
        desk.accept_name(LESSON, "finch-7")
    desk.accept_name(LESSON, "wren-3")
    again = named(bank.BASE, "Owl")
    tiny_lesson.write(again, came / "wren-3.ipynb")
    os.utime(came / "wren-3.ipynb", (4_100_000_000,) * 2)
    assert dict(desk.collect(LESSON, came).listed)["wren-3.ipynb"].startswith(
        "its numbers are those of “Owl”, so the"
    )
    desk.collect(LESSON, came / "wren-3.ipynb", this_one=True)
    desk.mark(LESSON)
    assert row_of(desk, "wren-3")["mark"] == "", "what was accepted is one name, not any"


def test_what_hand_ins_have_in_common_is_told_as_a_fact(own):
    """Definition: one file twice, one student's numbers twice, and answers right for another's numbers."""
    from needlework.exercises import judging
    from needlework.exercises.catalogue import QUESTIONS

    desk, _, _ = own
    came = desk.folder.parent / "common"
    copied = bank.BASE
    with_neighbours_answers = named(bank.BASE, "Robin Two")
    for name, paper in {"owl-4": copied, "robin-2": with_neighbours_answers}.items():
        tiny_lesson.write(paper, came / f"{name}.ipynb")
        os.utime(came / f"{name}.ipynb", (4_000_000_000,) * 2)
    desk.collect(LESSON, came)
    desk.collect(LESSON, came / "owl-4.ipynb", this_one=True)
    desk.mark(LESSON)
    told = "\n".join(desk.facts(LESSON))
    assert "finch-7 and owl-4 were worked with the same numbers, those of “finch 7”" in told
    assert re.search(r"\d+ answers of robin-2 that are not right for these numbers are right for those of", told)
    assert QUESTIONS[CONE].right(judging.draw(QUESTIONS[CONE], "Robin Two")) != bank.right_of(CONE)


# Homework that does not answer itself -------------------------------------------------------------------------------


def test_homework_has_no_worked_answers_and_numbers_of_its_own(tmp_path):
    """Definition: no button that judges the task, a sign in the first cell, another task than for self-study."""
    from needlework.exercises import judging
    from needlework.exercises.catalogue import QUESTIONS

    desk = Desk(tmp_path / "desk")
    given = desk.hand_out(LESSON).read_text(encoding="utf-8")
    assert desk.hand_out(LESSON).read_text(encoding="utf-8") == given, "the same each time it is handed out"
    assert "reveal(" not in given and "Working alone?" not in given and "if you work alone" not in given
    assert re.search(r'student = \\"\\"  # your name or number exactly as your instructor\'s list has it', given)
    (sign,) = re.findall(r'homework=\\"(\w+)\\"', given)
    assert sign not in Desk(tmp_path / "other").hand_out(LESSON).read_text(encoding="utf-8")
    task, cone = QUESTIONS["sp-task"], QUESTIONS[CONE]
    assert judging.draw(task, "Finch 7", sign) != judging.draw(task, "Finch 7")
    assert judging.draw(cone, "Finch 7", sign) == judging.draw(cone, "Finch 7")


def test_in_homework_the_last_hint_is_missing_and_a_name_is_asked_for(tmp_path, monkeypatch):
    """Definition: three rungs in place of four, no judging of the task, and a word where no name is typed."""
    from needlework.course.lesson import outputs, session, verbs

    monkeypatch.setenv("NEEDLEWORK_FOLDER", str(tmp_path))
    shown = []
    monkeypatch.setattr(outputs, "show", lambda page, text, said: shown.append((text, said)))
    verbs.begin(LESSON, "", homework="bcdfg")
    assert "No name yet" in shown[-1][0]
    verbs.begin(LESSON, "Finch 7", homework="bcdfg")
    assert "No name yet" not in shown[-1][0]
    for _ in range(5):
        verbs.hint(CONE)
    assert (shown[-1][1].hint.rung, shown[-1][1].hint.of) == (3, 3)
    with pytest.raises(session.LessonError, match="when the work is handed back"):
        verbs.reveal(LESSON)
    verbs.begin(LESSON, "Finch 7")
    verbs.hint(CONE)
    assert shown[-1][1].hint.of == 4


def test_a_task_is_marked_with_the_numbers_of_its_hand_out(tmp_path):
    """Independent method: the right answer of the task with the sign of this desk; another desk's is told."""
    from needlework.exercises import judging
    from needlework.exercises.catalogue import QUESTIONS

    desk = Desk(tmp_path / "desk")
    book = json.loads(desk.hand_out(LESSON).read_text(encoding="utf-8"))
    (sign,) = re.findall(r'homework="(\w+)"', json.dumps(book).replace('\\"', '"'))
    right = QUESTIONS["sp-task"].right(judging.draw(QUESTIONS["sp-task"], "finch-7", sign))
    class_maker.typed_in(book, "finch-7")
    cell = bank.cell_of(book, "sp-task-answer")
    cell["source"] = f'ask("sp-task")\npassage_brief = {right!r}'
    tiny_lesson.write(book, tmp_path / "in" / "finch-7.ipynb")
    elsewhere = json.loads(json.dumps(book).replace(sign, "z" * len(sign)).replace("finch-7", "owl-4"))
    tiny_lesson.write(elsewhere, tmp_path / "in" / "owl-4.ipynb")
    tiny_lesson.write(named(bank.BASE, "wren-3"), tmp_path / "in" / "wren-3.ipynb")
    desk.collect(LESSON, tmp_path / "in")
    desk.mark(LESSON)
    rows = {row["student"]: row for row in desk.marks(LESSON)}
    assert rows["finch-7"]["sp-task"] == QUESTIONS["sp-task"].points and rows["finch-7"]["notes"] == ""
    assert rows["owl-4"]["sp-task"] < QUESTIONS["sp-task"].points
    assert "its task has the numbers of another hand-out than this desk's" in rows["owl-4"]["notes"]
    assert "it is a copy for self-study, which shows the task's worked answer" in rows["wren-3"]["notes"]


def test_a_second_homework_on_the_same_questions_says_so_and_can_have_new_numbers(tmp_path, capsys):
    """Independent method: the right answers as drawn with the new sign; work with the numbers of before still counts.

    Definition: hand-out names the other homework and prints the command for new numbers, which then stay.
    """
    from needlework.exercises import judging
    from needlework.exercises.catalogue import QUESTIONS

    desk, key, asked = Desk(tmp_path / "desk"), f"{LESSON}-week-2", [CONE, "sp-predict"]

    def told(*words):
        assert command.main(["desk", "--desk", str(desk.folder), "hand-out", *words]) == 0
        return capsys.readouterr().out

    def sign_of(path):
        return homework_in(path.read_bytes())

    def numbers(sign):
        return [judging.draw(QUESTIONS[each], "Finch 7", sign) for each in asked]

    assert "same numbers" not in told(LESSON)
    said = told(LESSON, "--name", "week-2", "--questions", f"{CONE},sp-predict,sp-task")
    # The task has numbers of each hand-out's own as it is.
    assert f"2 questions are also in '{LESSON}', and each student has the same numbers there." in said
    assert f"hand-out {key} --new-numbers\n" in said
    given = desk.folder / "hand-out" / f"{key}-homework.ipynb"
    first = sign_of(given)
    assert numbers(first) == numbers(sign_of(desk.folder / "hand-out" / f"{LESSON}-homework.ipynb")) == numbers("")
    assert "same numbers" not in told(key, "--new-numbers")
    second = sign_of(given)
    assert numbers(second) != numbers("") and numbers(second)[0] != numbers("")[0]
    assert "same numbers" not in told(key) and sign_of(given) == second, "they stay"
    book = json.loads(given.read_text(encoding="utf-8"))
    for student, sign in (("finch-7", second), ("owl-4", first)):
        paper = json.loads(json.dumps(book).replace(second, sign))
        class_maker.typed_in(paper, student)
        for each in asked:
            cell = bank.cell_of(paper, f"{each}-answer")
            right = QUESTIONS[each].right(judging.draw(QUESTIONS[each], student, sign))
            cell["source"] = f'ask("{each}")\n{bank.NAMES[each]} = {right!r}'
        tiny_lesson.write(paper, tmp_path / "in" / f"{student}.ipynb")
    desk.collect(key, tmp_path / "in")
    desk.mark(key)
    for row in desk.marks(key):
        assert [row[each] for each in asked] == [QUESTIONS[each].points for each in asked] and not row["look_at"], row
    told(key, "--new-numbers")
    assert sign_of(given) not in (first, second)
    desk.mark(key)
    for row in desk.marks(key):
        assert [row[each] for each in asked] == [QUESTIONS[each].points for each in asked], row
    assert "numbers of another" not in "".join(row["notes"] for row in desk.marks(key))


# On the command line ----------------------------------------------------------------------------------------------


def test_desk_commands(tmp_path, capsys):
    """Definition: the steps as an instructor types them, and a wrong one told in a sentence."""
    desk = ["desk", "--desk", str(tmp_path / "desk")]
    assert command.main([*desk, "hand-out", LESSON]) == 0
    released = tmp_path / "desk" / "hand-out" / f"{LESSON}-homework.ipynb"
    said = capsys.readouterr().out
    assert str(released) in said and "There is no class list yet" in said and "No time is set" in said
    with pytest.raises(SystemExit):
        command.main([*desk, "set-mark", LESSON])
    for step in ("mark", "marks", "hand-back"):
        assert command.main(["desk", step, LESSON, *desk[1:]]) == 2, "the desk may be said after the step"
        assert "Nothing is collected yet" in capsys.readouterr().err
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "pia.ipynb").write_text(released.read_text()[:300])
    assert command.main([*desk, "collect", LESSON, str(tmp_path / "in")]) == 0
    assert "taken      pia: pia.ipynb" in capsys.readouterr().out
    assert command.main([*desk, "mark", LESSON]) == 0
    assert "NEEDS A LOOK: the file is damaged" in capsys.readouterr().out
    assert command.main([*desk, "hand-back", LESSON]) == 0
    assert "no page for pia: the file is damaged" in capsys.readouterr().out
    assert command.main([*desk, "set-mark", "station", "pia", "sp-cone", "much"]) == 2
    assert "'much' is no mark: give a number such as 1.5" in capsys.readouterr().err
    assert command.main([*desk, "accept-name", LESSON, "pia"]) == 2
    assert "No hand-in of 'pia'" in capsys.readouterr().err
    (tmp_path / "in" / "pia.ipynb").unlink()
    (tmp_path / "in" / "nobody.txt").write_text("")
    (tmp_path / "desk" / "students.csv").write_text("student,name\nida-1,Ida Roux\n")
    assert command.main([*desk, "collect", "Station passage", str(tmp_path / "in")]) == 0
    assert "missing    ida-1 (Ida Roux)" in capsys.readouterr().out
    assert command.main([*desk, "mark", LESSON]) == 0
    assert capsys.readouterr().out.startswith("Nothing new has come")
    assert command.main([*desk, "class", LESSON]) == 0
    assert "What is known by the one whose work has no mark is not in this: pia." in capsys.readouterr().out
    assert command.main([*desk, "hand-back", LESSON]) == 0
    said = capsys.readouterr().out
    assert said.index("No mark, and so no page (1): pia.") < said.index("no page for pia")
    assert "Nothing handed in yet, so these may still read the pages of others (1): ida-1." in said
    assert command.main([*desk, "hand-out", "nowhere"]) == 2
    assert "There is no lesson called 'nowhere'" in capsys.readouterr().err
    assert command.main(["desk", "--desk", str(release.ROOT / "desk"), "mark", LESSON]) == 2
    assert "lies inside the course itself" in capsys.readouterr().err


# The course's own lessons -----------------------------------------------------------------------------------------


def _answers(key):
    """The solved notebook's answer cells by grade id, without the solution's marks."""
    book = release.read_notebook(release.SOLUTIONS / key / f"{key}.ipynb")
    return {
        cell["metadata"]["nbgrader"]["grade_id"]: cell["source"]
        for cell in book["cells"]
        if cell["metadata"].get("nbgrader", {}).get("solution")
    }


def _without_pictures(book):
    """Leave out the cells that only show something; what is marked does not look at them."""
    shows = ("from needlework import pictures", "from needlework import sliders")
    book = copy.deepcopy(book)
    book["cells"] = [
        cell
        for cell in book["cells"]
        if cell["metadata"].get("nbgrader") or not "".join(cell["source"]).startswith(shows)
    ]
    return book


@pytest.fixture(scope="module", params=release.lesson_keys())
def real(request, tmp_path_factory):
    """A lesson of the course: solved, half solved, untouched and with answers that mean nothing."""
    key = request.param
    folder = tmp_path_factory.mktemp(key)
    desk = Desk(folder / "desk")
    book = json.loads(desk.hand_out(key).read_text(encoding="utf-8"))
    answers = _answers(key)
    names = [
        c["metadata"]["nbgrader"]["grade_id"] for c in book["cells"] if c["metadata"].get("nbgrader", {}).get("grade")
    ]
    half = set(names[: len(names) // 2])

    def worked(change):
        made = copy.deepcopy(book)
        for cell in made["cells"]:
            about = cell["metadata"].get("nbgrader", {})
            if about.get("solution"):
                cell["source"] = change(about["grade_id"], "".join(cell["source"]))
        return made

    papers = {
        "solved": worked(lambda name, stub: answers[name]),
        "half": worked(lambda name, stub: answers[name] if name.removesuffix("-answer") in half else stub),
        "untouched": book,
        "nonsense": worked(lambda name, stub: answers[name] + _nonsense(stub)),
    }
    for name, paper in papers.items():
        paper = paper if name == "solved" else _without_pictures(paper)
        tiny_lesson.write(paper, folder / "in" / f"{name}.ipynb")
    desk.collect(key, folder / "in")
    desk.mark(key)
    return key, half, {row["student"]: row for row in desk.marks(key)}


def _nonsense(stub):
    """After everything else, put a wrong value of the right kind into the answer's name."""
    import re

    name = re.search(r"^(\w+) = (?:None|\.\.\.|[\[{])", stub, re.M)[1]
    return (
        f"\n{name} = ({{k: -777 for k in {name}}} if isinstance({name}, dict) else ['nowhere'] * len({name})"
        f" if isinstance({name}, list) else 'ZZ' if isinstance({name}, str) else -777)"
    )


def test_a_real_lesson_is_marked_right(real):
    """Independent method: the points declared by the questions, summed by hand for each paper."""
    from needlework.exercises.catalogue import LESSONS, QUESTIONS
    from needlework.exercises.flown import FlownByHand
    from needlework.exercises.kinds import Text

    key, half, rows = real
    points = {name: QUESTIONS[name].points for name in LESSONS[key].questions}
    marks = {student: {name: row[name] for name in points} for student, row in rows.items()}
    # What a person has still to mark has no mark, unless it was left empty.
    waiting = {name for name in points if isinstance(QUESTIONS[name], Text)}
    for student in ("solved", "nonsense"):
        assert {marks[student].pop(name) for name in waiting} <= {""}
    assert not half & waiting
    points = {name: most for name, most in points.items() if name not in waiting}
    assert {marks[student].pop(name) for student in ("half", "untouched") for name in waiting} <= {0}
    assert marks["solved"] == points
    assert marks["half"] == {name: most if name in half else 0 for name, most in points.items()}
    assert marks["untouched"] == dict.fromkeys(points, 0)
    assert marks["nonsense"] == dict.fromkeys(points, 0)
    # A flight that is no recording counts 0, and not without a word.
    flown = any(isinstance(QUESTIONS[name], FlownByHand) for name in points)
    looked_at = {"solved", "nonsense"} if waiting else {"nonsense"} if flown else set()
    assert {student for student, row in rows.items() if row["state"] == "needs a look"} == looked_at
    assert {row["state"] for student, row in rows.items() if student not in looked_at} == {"marked"}
    assert all(row["mark"] == sum(marks[student].values()) for student, row in rows.items() if row["mark"] != "")
    assert {student for student, row in rows.items() if row["mark"] == ""} <= looked_at


# What nbgrader adds is the same in every lesson; that each runs through is seen by nbval, in solutions/.
def test_nbgrader_validates_a_worked_copy(tmp_path, key="station-passage"):
    """Definition: nbgrader's own check passes on a solved copy, and finds every question of the stub unanswered."""
    from nbgrader.validator import Validator
    from needlework.desk.book import nbgrader_at_work

    book = json.loads((release.LESSONS / key / f"{key}.ipynb").read_text(encoding="utf-8"))
    untouched = tiny_lesson.write(_without_pictures(book), tmp_path / "untouched.ipynb")
    answers = _answers(key)
    solved = copy.deepcopy(book)
    for cell in solved["cells"]:
        about = cell["metadata"].get("nbgrader", {})
        if about.get("solution"):
            cell["source"] = answers[about["grade_id"]]
    marked_cells = sum(bool(c["metadata"].get("nbgrader", {}).get("grade")) for c in book["cells"])
    with nbgrader_at_work():
        failed = Validator().validate(str(untouched)).get("failed", [])
        assert len(failed) == marked_cells
        # A task shows its verdict only at the desk, so a solved copy still shows 0 there.
        from needlework.exercises.catalogue import QUESTIONS

        tasks = [name for name in QUESTIONS if QUESTIONS[name].task]
        still = Validator().validate(str(tiny_lesson.write(solved, tmp_path / "solved.ipynb"))).get("failed", [])
        assert all(any(name in cell["source"] for name in tasks) for cell in still)


def test_a_flight_travels_inside_the_notebook(tmp_path):
    """Definition: a flight flown by hand is marked from its recording, with the one file that was handed in."""
    from needlework.exercises import judging, recording
    from needlework.exercises.catalogue import QUESTIONS

    key, question = "intercepting-a-radial", QUESTIONS["ir-hand"]
    desk = Desk(tmp_path / "desk")
    book = json.loads(desk.hand_out(key).read_text(encoding="utf-8"))
    flown = recording.packed(question.right(judging.draw(question, "Finch 12")))
    papers = {"finch-12": flown, "finch-13": flown, "finch-14": flown[:-40]}
    for student, packed in papers.items():
        paper = class_maker.typed_in(_without_pictures(book), student.replace("-", " "))
        for cell in paper["cells"]:
            if cell["metadata"].get("nbgrader", {}).get("grade_id") == "ir-hand":
                cell["outputs"] = [{"output_type": "display_data", "data": {recording.MIME: packed}, "metadata": {}}]
        tiny_lesson.write(paper, tmp_path / "in" / f"{student}.ipynb")
    desk.collect(key, tmp_path / "in")
    ledger = desk.mark(key)
    rows = {row["student"]: row for row in desk.marks(key)}
    assert rows["finch-12"]["ir-hand"] == question.points
    assert rows["finch-12"]["mark"] == question.points
    assert rows["finch-13"]["ir-hand"] == 0, "a neighbour's flight"
    assert rows["finch-14"]["ir-hand"] == 0
    assert "A flight in this notebook cannot be unpacked." in ledger["finch-14"]["notes"]
    page = (desk.hand_back(key)[0] / "finch-12.html").read_text(encoding="utf-8")
    assert page.count("data:image/png;base64") >= 2, "the pictures of questions, and the way flown"


def _resealed(text, change):
    """Change the rows of a recording and compute its seals anew, as anyone can who has the library."""
    from needlework.exercises import recording

    about = recording.read(text).about
    rows = [line.split(",") for line in text.splitlines() if line and not line.startswith("#")]
    names, body = rows[0], [dict(zip(rows[0], row, strict=True)) for row in rows[1:]]
    change(body)
    seals = recording._Seals()
    more = {name: value for name, value in about.items() if name not in ("name", "start_utc")}
    start = recording.datetime.fromisoformat(about["start_utc"])
    parts = [recording._header(about["name"], more, start)]
    parts += [",".join(row[name] for name in names) + "\n" for row in body]
    return "".join(map(seals.add, [*parts, "# ended the plan came to its end\n"]))


def _teleported(rows):
    for row in rows[100:130]:
        row["lat_deg"] = f"{float(row['lat_deg']) + 5:.7f}"


def _slipped(rows):
    for number, row in enumerate(rows):
        row["lon_deg"] = f"{float(row['lon_deg']) + 0.00005 * number:.7f}"


def _hurried(rows):
    for number, row in enumerate(rows):
        row["time_s"] = f"{float(row['time_s']) - 0.3 * number:.2f}"


def _jumped(rows):
    for row in rows[200:]:
        row["alt_ft"] = f"{float(row['alt_ft']) + 800:.1f}"


def _from_elsewhere(rows):
    del rows[:60]


@pytest.mark.parametrize("change", [_teleported, _slipped, _hurried, _jumped, _from_elsewhere])
def test_a_recording_that_nobody_can_have_flown_counts_nothing(change):
    """Definition: resealed, so that every seal is right; what it says no aircraft does in the wind of its day."""
    from needlework.desk.aloft import cannot_be_flown
    from needlework.exercises import judging, recording
    from needlework.exercises.catalogue import QUESTIONS

    question = QUESTIONS["ir-hand"]
    givens = judging.draw(question, "Finch 12")
    honest = question.right(givens)
    assert cannot_be_flown(question, givens, _resealed(honest, lambda rows: None)) == ""
    forged = _resealed(honest, change)
    assert recording.read(forged).intact
    assert cannot_be_flown(question, givens, forged) != ""


@pytest.mark.parametrize("key", ["sp-hand", "ir-hand", "arc-fly", "arc-fly-mirrored", "dm-hand", "ma-hand"])
def test_what_was_flown_honestly_is_never_doubted(key):
    """Independent method: the reference plans of many students, in as many winds, flown by the model itself."""
    from needlework.desk.aloft import cannot_be_flown
    from needlework.exercises import judging
    from needlework.exercises.catalogue import QUESTIONS

    question = QUESTIONS[key]
    for number in range(6):
        givens = judging.draw(question, f"Finch {number}")
        assert cannot_be_flown(question, givens, question.right(givens)) == "", number


def test_a_copy_from_before_there_was_data_still_counts(tmp_path):
    """Definition: a copy worked and saved with an earlier edition, whose outputs are pages only, is marked whole."""
    from needlework.exercises import bundle
    from needlework.exercises.catalogue import QUESTIONS

    before = (Path(__file__).parent / "copies" / "station-passage-before-data.json").read_text(encoding="utf-8")
    assert "needlework-unreadable" in before and bundle.MIME not in before
    assert "application/vnd.needlework.flight" in before, "the name under which copies hold their flights"
    desk = Desk(tmp_path / "desk")
    desk.hand_out(LESSON)
    tiny_lesson.write(json.loads(before), tmp_path / "in" / "finch-12.ipynb")
    assert desk.collect(LESSON, tmp_path / "in").taken == [("finch-12", "finch-12.ipynb")]
    ledger = desk.mark(LESSON)["finch-12"]
    assert (ledger["marked"], ledger["look"], ledger["cells"]) == (True, [], {})
    later, in_part, unread, copy_of = ledger["notes"]
    assert later.startswith("not in this copy, and counts 0: ") and "'sp-dme-speed'" in later
    assert copy_of == "it is a copy for self-study, which shows the task's worked answer"
    assert re.fullmatch(r"could not be read in part: 'sp-flags' \(“.+”\)", in_part)
    assert re.fullmatch(r"could not be read and counts 0: 'sp-cone' \(“.+”\)", unread)
    (row,) = desk.marks(LESSON)
    assert 0 < row["sp-flags"] < QUESTIONS["sp-flags"].points
    assert (row["sp-predict"], row["sp-rule"]) == (QUESTIONS["sp-predict"].points, QUESTIONS["sp-rule"].points)
    assert (row["sp-cone"], row["sp-task"], row["state"]) == (0, 0, "marked")
    marked = json.loads((desk.folder / "autograded" / "finch-12" / LESSON / f"{LESSON}.ipynb").read_text("utf-8"))
    said = [found for cell in marked["cells"] for o in cell.get("outputs", ()) if (found := bundle.read(o))]
    blank = {one.answer.key: one.answer.blank for one in said if one.answer}
    assert blank["sp-task"] and not blank["sp-predict"]
    assert not blank["sp-hand"], "its flight was found"
    page = desk.hand_back(LESSON)[0] / "finch-12.html"
    assert "1200 * h / gs" in page.read_text(encoding="utf-8")


def test_a_supervised_sitting(tmp_path):
    """Definition: each seat has numbers of its own, not told by the file; word, window and seat count."""
    from datetime import UTC, datetime

    from needlework.exercises import judging
    from needlework.exercises.catalogue import QUESTIONS

    desk = Desk(tmp_path / "desk")
    window = datetime(2026, 11, 30, 9, 0, tzinfo=UTC), datetime(2026, 11, 30, 10, 0, tzinfo=UTC)
    made, place, word = desk.sitting(LESSON, "Monday", 3, *window)
    assert made.key == f"{LESSON}-monday"
    files = sorted(place.iterdir())
    assert [path.name for path in files] == ["seat-01.ipynb", "seat-02.ipynb", "seat-03.ipynb"]
    task, seen = QUESTIONS["sp-task"], []
    for number, (path, student) in enumerate(zip(files, ("finch-7", "robin-2", "owl-4"), strict=True), 1):
        text = path.read_text(encoding="utf-8")
        assert word not in text and "sp-cone" not in text and "reveal(" not in text
        book = class_maker.typed_in(json.loads(text), student)
        setup = next(cell for cell in book["cells"] if "setup" in cell["metadata"].get("tags", ()))
        said = word if student != "owl-4" else "guess"
        setup["source"] = class_maker.source_of(setup).replace('word = ""', f'word = "{said.upper()}"')
        (sign,) = re.findall(r'homework="(\w+)"', setup["source"])
        givens = judging.draw(task, student, f"{sign}|{said}")
        seen.append(judging.draw(task, "finch-7", f"{sign}|{word}"))
        bank.cell_of(book, "sp-task-answer")["source"] = f'ask("sp-task")\npassage_brief = {task.right(givens)!r}'
        file = tiny_lesson.write(book, tmp_path / "in" / f"{student}.ipynb")
        os.utime(file, ((window[0].timestamp() + 1500 * number),) * 2)
    assert len({json.dumps(each, default=str) for each in seen}) == 3
    desk.collect(made.key, tmp_path / "in")
    desk.mark(made.key)
    rows = {row["student"]: row for row in desk.marks(made.key)}
    assert (rows["finch-7"]["mark"], rows["finch-7"]["out_of"]) == (task.points, task.points)
    assert (rows["finch-7"]["state"], rows["finch-7"]["notes"]) == ("marked", "seat 1")
    assert rows["owl-4"]["look_at"].startswith("the word typed in it is not that of this sitting")
    assert "after the sitting ended at 10:00 UTC" in rows["owl-4"]["notes"]
    assert desk.hand_back(made.key)[1] == ["finch-7", "owl-4", "robin-2"]
