"""Homework there and back through nbgrader: right marks, whatever comes in."""

import copy
import csv
import io
import json
import os
import re
import shutil
from pathlib import Path

import pytest
import tiny_lesson
from needlework.basis.errors import BadData
from needlework.building import release
from needlework.course import command
from needlework.desk import sealed
from needlework.desk.homework import Desk

pytestmark = pytest.mark.slow

LESSON = "station-passage"

ESCAPE = """\
import os, pathlib, socket, subprocess
found = []
for place in {places!r}:
    if os.path.exists(place):
        found.append(place)
for root in ("/work", "/root", "/home", "/tmp", "/etc", "/usr"):
    try:
        pathlib.Path(root, "needlework-was-here").write_text("x")
        found.append("wrote " + root)
    except OSError:
        pass
try:
    socket.create_connection(("127.0.0.1", {port}), timeout=1)
    found.append("network")
except OSError:
    pass
try:
    os.kill({pid}, 0)
    found.append("saw the marking process")
except OSError:
    pass
if "{secret}" in str(os.environ):
    found.append("environment")
cone_seconds = 40.0 if found == ["wrote /tmp"] else str(found)
"""

WARNER = """\
import sys
checked = check
def check(key, answer):
    print("careful", file=sys.stderr)
    return checked(key, answer)
"""

STUBBORN = """\
while True:
    try:
        while True:
            pass
    except BaseException:
        pass
"""


@pytest.fixture(scope="module", autouse=True)
def walls():
    if not sealed.available():
        if os.environ.get("CI"):
            pytest.fail("bubblewrap is missing: marking cannot be sealed")
        pytest.skip("bubblewrap is missing")


def _twice(book, grade_id):
    """Copy a cell, grade id and all, as a student's copy and paste does."""
    book = copy.deepcopy(book)
    (at,) = (n for n, c in enumerate(book["cells"]) if c["metadata"].get("nbgrader", {}).get("grade_id") == grade_id)
    again = copy.deepcopy(book["cells"][at])
    again["id"] = "copied"
    book["cells"].insert(at + 1, again)
    return book


def _without(book, grade_id):
    book = copy.deepcopy(book)
    book["cells"] = [c for c in book["cells"] if c["metadata"].get("nbgrader", {}).get("grade_id") != grade_id]
    return book


@pytest.fixture(scope="module")
def marked(tmp_path_factory):
    """A whole class handed in and marked once; the tests look at what came of it."""
    import socket

    folder = tmp_path_factory.mktemp("grading")
    solutions = tiny_lesson.write_solutions(folder / "solutions")
    desk = Desk(folder / "desk", solutions)
    book = json.loads(desk.hand_out("tiny").read_text(encoding="utf-8"))
    filled = tiny_lesson.filled
    right_cone, right_side = "cone_seconds = 40", "side = 'left'"
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen()
        os.environ["NEEDLEWORK_TEST_SECRET"] = "open-sesame"
        hostile = ESCAPE.format(
            places=[str(desk.folder), str(desk.folder / "gradebook.db"), str(solutions), str(release.SOLUTIONS)],
            port=listening.getsockname()[1],
            pid=os.getpid(),
            secret="open-sesame",
        )
        papers = {
            "perfect": filled(book, cone=right_cone, side=right_side),
            "untouched": book,
            "half": filled(book, cone=right_cone),
            "wrong": filled(book, cone="cone_seconds = 41", side="side = 'right'"),
            "copied-mark": _twice(filled(book, cone=right_cone, side=right_side), "cone-marks"),
            "copied-answer": _twice(filled(book, cone=right_cone, side=right_side), "cone-answer"),
            "deleted-mark": _without(filled(book, cone=right_cone, side=right_side), "cone-marks"),
            "deleted-answer": _without(filled(book, cone=right_cone, side=right_side), "cone-answer"),
            "error": filled(book, cone="cone_seconds = 1 / 0", side=right_side),
            "warner": filled(
                book, cone="import sys; print('careful', file=sys.stderr)\n" + right_cone, side=right_side
            ),
            "text": filled(book, cone="check = lambda *_: 'full marks'"),
            "nothing": filled(book, cone="cone_seconds = 40\ncheck = lambda *_: None", side=right_side),
            "greedy": filled(book, cone="cone_seconds = 40\ncheck = score = lambda *_: 99.0"),
            "printer": filled(book, cone="for _ in range(400): print('x' * 50_000)\n" + right_cone, side=right_side),
            "hostile": filled(book, cone=hostile, side=right_side),
            "quitter": filled(book, cone="import os; os._exit(1)"),
            "stubborn": filled(book, cone=STUBBORN),
            "edited-mark": json.loads(
                json.dumps(filled(book, cone="cone_seconds = 1")).replace('check(\\"cone\\", cone_seconds)', "2.0")
            ),
        }
        for name, paper in papers.items():
            tiny_lesson.write(paper, folder / "in" / f"{name}.ipynb")
        whole = json.dumps(papers["perfect"])
        (folder / "in" / "torn.ipynb").write_text(whole[: len(whole) // 2], encoding="utf-8")
        desk.collect("tiny", folder / "in")
        from needlework.desk import marking

        desk.mark("tiny", progress=lambda students: (name for name in students if name != "stubborn"))
        # Nothing but a loop without an end is cut short, so that a busy machine changes no mark.
        patience, marking._CELL_SECONDS = marking._CELL_SECONDS, 3
        try:
            ledger = desk.mark("tiny")
        finally:
            marking._CELL_SECONDS = patience
            del os.environ["NEEDLEWORK_TEST_SECRET"]
    return desk, ledger, {row["student"]: row for row in desk.marks("tiny")}


@pytest.fixture
def own(marked, tmp_path):
    """The marked desk again, for a test that changes it."""
    desk, ledger, rows = marked
    shutil.copytree(desk.folder, tmp_path / "desk")
    return Desk(tmp_path / "desk", desk.folder.parent / "solutions"), ledger, rows


@pytest.mark.parametrize(
    ("student", "cone", "side"),
    [
        ("perfect", 2, 1),
        ("untouched", 0, 0),
        ("half", 2, 0),
        ("wrong", 0, 0),
        ("copied-mark", 2, 1),
        ("copied-answer", 2, 1),
        ("deleted-mark", 2, 1),
        ("warner", 2, 1),
        ("printer", 2, 1),
        ("edited-mark", 0, 0),
    ],
)
def test_marks_are_those_worked_out_by_hand(marked, student, cone, side):
    """Independent method: each paper's marks worked out by hand (2 for the cone, 1 for the side)."""
    row = marked[2][student]
    assert (row["cone-marks"], row["side-marks"], row["mark"]) == (cone, side, cone + side)
    assert row["out_of"] == 3
    assert row["state"] == "marked"
    assert row["look_at"] == ""


@pytest.mark.parametrize(
    ("student", "cone", "side", "told"),
    [
        ("error", 0, 1, "the marked cell 'cone-marks' stopped with NameError"),
        ("deleted-answer", 0, 1, "the marked cell 'cone-marks' stopped with NameError"),
        ("text", 0, 0, "the marked cell 'side-marks' gave no mark that can be trusted"),
        ("nothing", 0, 0, "the marked cell 'cone-marks' gave no mark that can be trusted"),
        ("greedy", 0, 0, "the marked cell 'side-marks' gave no mark that can be trusted"),
    ],
)
def test_what_cannot_be_trusted_gets_nothing_and_a_look(marked, student, cone, side, told):
    """Definition: a marked cell without a possible mark gives 0 and says why; nbgrader alone gives full marks."""
    row = marked[2][student]
    assert (row["cone-marks"], row["side-marks"], row["mark"]) == (cone, side, cone + side)
    assert row["state"] == "needs a look"
    assert told in row["look_at"]


@pytest.mark.parametrize(
    ("student", "told"),
    [
        ("torn", "the file is damaged: it is not a notebook"),
        ("quitter", "its code made the kernel stop"),
        ("stubborn", "its code does not stop by itself"),
    ],
)
def test_what_cannot_be_marked_is_never_a_silent_zero(marked, student, told):
    """Definition: a hand-in that fails has no mark at all and a reason; the others are marked all the same."""
    row = marked[2][student]
    assert row["mark"] == ""
    assert row["state"] == "needs a look"
    assert row["look_at"] == told


def test_a_hostile_hand_in_reaches_nothing(marked):
    """Definition: from inside, no gradebook, no solutions, no network, no other process; only a /tmp of its own."""
    desk, _, rows = marked
    page = desk.folder / "autograded" / "hostile" / "tiny" / "tiny.ipynb"
    assert rows["hostile"]["cone-marks"] == 2, page.read_text(encoding="utf-8")
    for root in ("/work", "/root", "/home", "/tmp", "/etc", "/usr"):
        assert not Path(root, "needlework-was-here").exists()


def test_copies_are_told(marked):
    """Definition: what was put right on the way is on record."""
    assert marked[1]["deleted-mark"]["notes"] == ["the marked cell 'cone-marks' was deleted and is put back"]
    assert marked[1]["copied-mark"]["notes"] == ["the cell 'cone-marks' is there more than once; the last one counts"]


def test_marks_file_and_pages(own):
    """Definition: the CSV has one row a student with the reasons; a page is handed back for what was marked."""
    desk, ledger, rows = own
    path, kept = desk.write_marks("tiny")
    assert kept is None
    table = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))
    assert {row["student"] for row in table} == set(ledger)
    (torn,) = (row for row in table if row["student"] == "torn")
    assert (torn["mark"], torn["state"]) == ("", "needs a look")
    assert next(row for row in table if row["student"] == "untouched")["notes"] == "nothing was filled in"
    assert desk.set_mark("tiny", "perfect", "cone-marks", 1.5, "In <class> you knew it.") == 2.5
    for student in sorted(set(rows) - {"perfect", "torn"}):
        # Two pages prove it; the others would only cost time.
        (desk.folder / "submitted" / student).rename(desk.folder / f"aside-{student}")
    place, done, left = desk.hand_back("tiny")
    for student in sorted(set(rows) - {"perfect", "torn"}):
        (desk.folder / f"aside-{student}").rename(desk.folder / "submitted" / student)
    assert done == ["perfect"]
    assert left == [("torn", "the file is damaged: it is not a notebook")]
    page = (place / "perfect.html").read_text(encoding="utf-8")
    assert "2.0 marks" in page
    assert re.search(r"perfect: 2\.5 of 3\s+marks", page)
    assert "From your instructor: In &lt;class&gt; you knew it." in page
    assert "Your instructor set this mark to 1.5; marked by itself it was 2." in page
    assert page.index("Your answer") < page.index("cone_seconds") < page.index("2.0 marks")
    for foreign in ("HIDDEN TESTS", "class Marks", "Test cell", "nbgrader", "<script"):
        assert foreign not in page, foreign
    assert desk.set_mark("tiny", "perfect", "cone-marks", None) == 3
    assert desk.marks("tiny") == list(rows.values()), "as before"


def test_a_changed_marks_file_is_kept(own):
    """Definition: the file is a copy of the gradebook; whatever somebody wrote into it is not lost."""
    desk, _, _ = own
    path, _ = desk.write_marks("tiny")
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("perfect,tiny,3.0", "perfect,tiny,2.0"), encoding="utf-8", newline="")
    again, kept = desk.write_marks("tiny")
    assert again == path
    assert "perfect,tiny,2.0" in kept.read_text(encoding="utf-8")
    assert path.read_text(encoding="utf-8").splitlines() == text.splitlines()
    assert desk.write_marks("tiny") == (path, None)


def test_a_mark_set_by_hand_settles_a_look(own):
    """Definition: what could not be judged is settled once a person has judged it; impossible marks are refused."""
    desk, _, rows = own
    assert rows["error"]["look_at"].endswith("because its answer cell stopped with ZeroDivisionError")
    assert desk.set_mark("tiny", " Error ", "cone-marks", 2) == 3
    row = next(row for row in desk.marks("tiny") if row["student"] == "error")
    assert (row["mark"], row["cone-marks"], row["state"], row["look_at"]) == (3, 2, "marked", "")
    assert row["notes"] == "'cone-marks' set by hand to 2, marked by itself 0"
    assert desk.set_mark("tiny", "error", "cone-marks", None) == 1
    for student, question, mark, told in (
        ("error", "cone-marks", 2.5, "2.5 is no possible mark for 'cone-marks': give a number from 0 to 2"),
        ("error", "cone-marks", float("nan"), "nan is no possible mark"),
        ("error", "cone", 1, "There is no question 'cone' in 'tiny': choose from cone-marks, side-marks"),
        ("nobody", "cone-marks", 1, "There is no hand-in of 'nobody': choose from"),
        ("torn", "cone-marks", 1, "torn has no marks in which one could be changed"),
    ):
        with pytest.raises(BadData, match=re.escape(told)):
            desk.set_mark("tiny", student, question, mark)


def test_only_what_is_new_is_marked_again(own):
    """Definition: a second run marks only new hand-ins; a mark set by hand does not go over to them in silence."""
    desk, _, rows = own
    came = desk.folder.parent / "later"
    tiny_lesson.write({"nbformat": 4, "cells": "gone"}, came / "half.ipynb")
    os.utime(came / "half.ipynb", (3_900_000_000,) * 2)
    assert desk.collect("tiny", came).taken == []
    assert next(row for row in desk.marks("tiny") if row["student"] == "half") == rows["half"]
    desk.set_mark("tiny", "half", "side-marks", 0.5, "You said it aloud.")
    half = json.loads((desk.folder / "submitted" / "half" / "tiny" / "tiny.ipynb").read_text(encoding="utf-8"))
    tiny_lesson.write(tiny_lesson.filled(half, cone="cone_seconds = 1"), came / "half.ipynb")
    os.utime(came / "half.ipynb", (4_000_000_000,) * 2)
    report = desk.collect("tiny", came)
    assert report.taken == [("half", "half.ipynb")]
    assert "marked 2.5, kept as earlier/half/tiny-" in report.instead["half"]
    row = next(row for row in desk.marks("tiny") if row["student"] == "half")
    assert (row["mark"], row["look_at"]) == ("", "it is not marked yet")
    kept = (desk.folder / "autograded" / "perfect" / "tiny").stat().st_mtime_ns
    ledger = desk.mark("tiny", progress=lambda students: (s for s in students if s in ("half", "perfect")))
    assert (desk.folder / "autograded" / "perfect" / "tiny").stat().st_mtime_ns == kept
    assert ledger["half"]["marked"] is True
    row = next(row for row in desk.marks("tiny") if row["student"] == "half")
    assert (row["mark"], row["state"]) == (0, "needs a look")
    told = "the mark 0.5 set by hand for 'side-marks' (“You said it aloud.”) was for another version"
    assert row["look_at"].startswith(told)
    desk.set_mark("tiny", "half", "side-marks", 0.5)
    row = next(row for row in desk.marks("tiny") if row["student"] == "half")
    assert (row["mark"], row["state"]) == (0.5, "marked")


def test_without_walls_code_runs_only_when_trusted(tmp_path, monkeypatch):
    """Definition: where bubblewrap is missing, marking says so and waits for the instructor's word."""
    desk = Desk(tmp_path / "desk", tiny_lesson.write_solutions(tmp_path / "solutions"))
    with pytest.raises(BadData, match="'tiny' is not handed out yet"):
        desk.mark("tiny")
    book = json.loads(desk.hand_out("tiny").read_text(encoding="utf-8"))
    with pytest.raises(BadData, match="Nothing is collected yet"):
        desk.mark("tiny")
    tiny_lesson.write(tiny_lesson.filled(book, cone="cone_seconds = 40"), tmp_path / "in" / "olga.ipynb")
    desk.collect("tiny", tmp_path / "in")
    monkeypatch.setattr(sealed, "available", lambda: False)
    with pytest.raises(BadData, match="this machine has no walls for it"):
        desk.mark("tiny")
    desk.mark("tiny", trust=True)
    assert [row["mark"] for row in desk.marks("tiny")] == [2]


def test_desk_commands(tmp_path, capsys):
    """Definition: the four steps as an instructor types them, and a wrong one told in a sentence."""
    desk = ["desk", "--desk", str(tmp_path / "desk")]
    assert command.main([*desk, "hand-out", LESSON]) == 0
    released = tmp_path / "desk" / "release" / LESSON / f"{LESSON}.ipynb"
    assert str(released) in capsys.readouterr().out
    assert released.read_bytes() == (release.LESSONS / LESSON / released.name).read_bytes()
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
    (tmp_path / "in" / "pia.ipynb").unlink()
    (tmp_path / "in" / "nobody.txt").write_text("")
    (tmp_path / "desk" / "students.csv").write_text("student,name\nida-1,Ida Roux\n")
    assert command.main([*desk, "collect", "Station passage", str(tmp_path / "in")]) == 0
    assert "missing    ida-1 (Ida Roux)" in capsys.readouterr().out
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

    key, half, rows = real
    points = {name: QUESTIONS[name].points for name in LESSONS[key].questions}
    marks = {student: {name: row[name] for name in points} for student, row in rows.items()}
    assert marks["solved"] == points
    assert marks["half"] == {name: most if name in half else 0 for name, most in points.items()}
    assert marks["untouched"] == dict.fromkeys(points, 0)
    assert marks["nonsense"] == dict.fromkeys(points, 0)
    assert {row["state"] for row in rows.values()} == {"marked"}
    assert all(row["mark"] == sum(marks[student].values()) for student, row in rows.items())


@pytest.mark.parametrize("key", release.lesson_keys())
def test_nbgrader_validates_a_worked_copy(key, tmp_path):
    """Definition: nbgrader's own check passes on a solved copy, and finds every question of the stub unanswered."""
    from nbgrader.validator import Validator
    from needlework.desk.marking import nbgrader_at_work

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
    papers = {"finch-12": flown, "finch-13": flown, "somebody-else": flown, "finch-12-torn": flown[:-40]}
    for student, packed in papers.items():
        paper = _without_pictures(book)
        for cell in paper["cells"]:
            source = "".join(cell["source"])
            if 'student = ""' in source:
                typed = "Finch 13" if student == "finch-13" else "Finch 12"
                cell["source"] = source.replace('student = ""', f'student = "{typed}"')
            if cell["metadata"].get("nbgrader", {}).get("grade_id") == "ir-hand":
                cell["outputs"] = [{"output_type": "display_data", "data": {recording.MIME: packed}, "metadata": {}}]
        tiny_lesson.write(paper, tmp_path / "in" / f"{student}.ipynb")
    desk.collect(key, tmp_path / "in")
    ledger = desk.mark(key)
    rows = {row["student"]: row for row in desk.marks(key)}
    assert rows["finch-12"]["ir-hand"] == question.points
    assert rows["finch-12"]["mark"] == question.points
    assert rows["finch-13"]["ir-hand"] == 0, "a neighbour's flight"
    assert rows["somebody-else"]["ir-hand"] == question.points
    assert ledger["somebody-else"]["look"] == ["its numbers are those of “Finch 12”"]
    assert rows["finch-12-torn"]["ir-hand"] == 0
    assert ledger["finch-12-torn"]["notes"] == ["A flight in this notebook cannot be unpacked."]


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
    later, unread = ledger["notes"]
    assert later.startswith("not in this copy, and counts 0: ") and "'sp-dme-speed'" in later
    assert unread == "could not be read and counts 0: 'sp-flags', 'sp-cone'"
    (row,) = desk.marks(LESSON)
    assert (row["sp-predict"], row["sp-rule"]) == (QUESTIONS["sp-predict"].points, QUESTIONS["sp-rule"].points)
    assert (row["sp-cone"], row["sp-task"], row["state"]) == (0, 0, "marked")
    marked = json.loads((desk.folder / "autograded" / "finch-12" / LESSON / f"{LESSON}.ipynb").read_text("utf-8"))
    said = [found for cell in marked["cells"] for o in cell.get("outputs", ()) if (found := bundle.read(o))]
    blank = {one.answer.key: one.answer.blank for one in said if one.answer}
    assert blank["sp-task"] and not blank["sp-predict"]
    assert not blank["sp-hand"], "its flight was found"
    page = desk.hand_back(LESSON)[0] / "finch-12.html"
    assert "1200 * h / gs" in page.read_text(encoding="utf-8")


@pytest.mark.parametrize("data", [{"version": 9}, "text", {"version": 1, "answer": {"key": "cone"}}])
def test_forged_data_are_passed_over_and_told(data, tmp_path):
    """Definition: what a hand-in's own code claims of its answers is read strictly, spoils nothing, and is told."""
    from needlework.exercises import bundle

    desk = Desk(tmp_path / "desk", tiny_lesson.write_solutions(tmp_path / "solutions"))
    book = json.loads(desk.hand_out("tiny").read_text(encoding="utf-8"))
    forged = f"cone_seconds = 40\nMarks._repr_mimebundle_ = lambda *_, **__: {{{bundle.MIME!r}: {data!r}}}"
    tiny_lesson.write(tiny_lesson.filled(book, cone=forged), tmp_path / "in" / "olga.ipynb")
    desk.collect("tiny", tmp_path / "in")
    ledger = desk.mark("tiny")["olga"]
    assert [row["cone-marks"] for row in desk.marks("tiny")] == [2]
    assert ledger["look"] == [] and len(ledger["notes"]) == 2
    assert all("passed over" in note and note.endswith("run the cell again.") for note in ledger["notes"])
