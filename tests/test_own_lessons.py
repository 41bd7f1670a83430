"""Lessons of an instructor's own: built, handed out, worked, marked and handed back, and nothing else is touched."""

import copy
import json
import os
import re
import shutil
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import nbformat
import own_lesson
import pytest
from nbclient import NotebookClient
from needlework.basis.errors import BadData
from needlework.basis.places import BESIDE, VARIABLE, edition
from needlework.building import apart, own_lessons, walls
from needlework.course import command, extra, start_page
from needlework.desk import room
from needlework.desk.homework import Desk
from needlework.exercises import catalogue, progress
from needlework.world import procedure

KEY = "inbound-to-tessoly"
LEFT_OUT = ("faulty", "of_another", "station_passage", "twice")
MARKS = {"tes-minutes": 2, "tes-plan": 3, "tes-task": 1}

# They share what is built and a class that is marked.
pytestmark = [pytest.mark.slow, pytest.mark.xdist_group("own lessons")]


@pytest.fixture(scope="module", autouse=True)
def walled():
    if not walls.available():
        if os.environ.get("CI"):
            pytest.fail("bubblewrap is missing: functions of others cannot be kept apart")
        pytest.skip("bubblewrap is missing")


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """The folder as it is built, with the mark its functions leave where they are run, and what was told."""
    place = tmp_path_factory.mktemp("own")
    mark = place / "mark.txt"
    folder = own_lesson.write(place / "mine", mark)
    own_lesson.beside(folder, mark)
    return folder, mark, own_lessons.build(folder)


def only(folder, target, *names):
    """A copy of the folder with some of its lessons."""
    shutil.copytree(folder, target)
    for path in (target / "lessons").iterdir():
        if path.name not in names:
            shutil.rmtree(path)
    return target


def solved(folder, book, student):
    """A released notebook with a student's name and the answers of the solved one typed in."""
    origin = json.loads((folder / "solutions" / KEY / f"{KEY}.ipynb").read_text(encoding="utf-8"))
    answers = {
        cell["metadata"]["nbgrader"]["grade_id"]: "".join(cell["source"])
        for cell in origin["cells"]
        if cell["metadata"].get("nbgrader", {}).get("solution")
    }
    book = copy.deepcopy(book)
    for cell in book["cells"]:
        name = cell["metadata"].get("nbgrader", {}).get("grade_id")
        source = answers.get(name, "".join(cell["source"]))
        cell["source"] = source.replace('student = ""', f'student = "{student}"')
    return book


@pytest.fixture(scope="module")
def class_(built, tmp_path_factory):
    """Handed out, worked in a learner's kernel beside its data, handed in, marked."""
    folder, mark, _ = built
    place = tmp_path_factory.mktemp("class")
    words = ["desk", "--desk", str(place / "desk")]
    (place / "desk").mkdir()
    (place / "desk" / "needlework.toml").write_text(f"extra = {json.dumps(str(folder))}\n", encoding="utf-8")
    assert command.main([*words, "hand-out", "inbound to Tessoly"]) == 0
    desk = Desk(place / "desk")
    learner = place / "learner"
    with zipfile.ZipFile(desk.folder / "hand-out" / f"{KEY}.zip") as archive:
        archive.extractall(learner)
    book = json.loads((learner / KEY / f"{KEY}.ipynb").read_text(encoding="utf-8"))
    ran_before = mark.exists()
    worked = nbformat.from_dict(solved(folder, book, "Finch 7"))
    kernel = {"metadata": {"path": str(learner / KEY)}}
    environment = {**os.environ, "NEEDLEWORK_FOLDER": str(learner), "JPY_SESSION_NAME": ""}
    NotebookClient(worked, timeout=120, kernel_name="python3", resources=kernel).execute(env=environment)
    ran_in_kernel = mark.exists()
    mark.unlink(missing_ok=True)
    nbformat.write(worked, learner / KEY / f"{KEY}.ipynb")
    shutil.copytree(learner / KEY, place / "in" / "finch-7" / KEY)
    (place / "in" / "merrow-2").mkdir()
    (place / "in" / "merrow-2" / f"{KEY}.ipynb").write_text(json.dumps(book), encoding="utf-8")
    report = desk.collect(KEY, place / "in")
    desk.mark(KEY)
    rows = {row["student"]: row for row in desk.marks(KEY)}
    return desk, learner, worked, (ran_before, ran_in_kernel), report, rows


def test_what_can_be_built_is_built_and_the_rest_is_told_in_full(built):
    """Definition: the good lesson is built, its functions ran behind walls only; each fault and clash is told."""
    folder, mark, report = built
    names = ["functions.py", "lesson.json", "procedures/tessoly.toml", f"{KEY}.ipynb"]
    written = [f"built/{KEY}/{name} written." for name in names]
    assert report.written == [*written, f"solutions/{KEY}/{KEY}.ipynb written."]
    assert sorted(path.name for path in (folder / "built").iterdir()) == [KEY]
    assert not mark.exists()
    told = "\n".join(report.faults)
    for said in (
        r"procedures/saltmarsh\.toml is left out: the course has a procedure of this name",
        r"procedures/broken\.toml is left out: broken\.toml: descent\.angle_deg = 33 deg is outside",
        r"faulty/lesson\.md:\d+: fau-minutes: to: expected a number above zero",
        r"faulty/lesson\.md:\d+: fau-task: right: `C` is neither an option",
        r"lessons/faulty is left out until this is mended",
        r"lessons/station_passage: the course has a lesson 'station-passage'",
        r"lessons/of_another: the course has a question 'sp-cone', in station-passage",
        r"lessons/twice: the question 'tes-minutes' stands in lessons/inbound_to_tessoly as well",
    ):
        assert re.search(said, told), said
    assert own_lessons.build(folder).written == [], "the second time nothing has changed"


def test_a_lesson_that_becomes_faulty_keeps_what_was_built(built, tmp_path):
    """Definition: nothing that can be used is lost by a fault that came later."""
    folder = only(built[0], tmp_path / "mine", "inbound_to_tessoly", "twice")
    path = folder / "lessons" / "inbound_to_tessoly" / "lesson.md"
    path.write_text(
        path.read_text(encoding="utf-8").replace("right: minutes_to_go", "right: minutes"), encoding="utf-8"
    )
    before = {path: path.read_bytes() for path in (folder / "built").rglob("*") if path.is_file()}
    report = own_lessons.build(folder)
    assert report.written == []
    assert any("did you mean `minutes_to_go`" in fault for fault in report.faults)
    assert (
        "lessons/inbound_to_tessoly is left out until this is mended (what was built of it before stays)."
        in report.faults
    )
    assert {path: path.read_bytes() for path in (folder / "built").rglob("*") if path.is_file()} == before
    _, told = extra.built_in([folder])
    assert any("lessons/inbound_to_tessoly of" in line and "was changed after it was built" in line for line in told)


def test_functions_that_break_out_or_never_end_spoil_nothing(tmp_path, monkeypatch):
    """Definition: what stops or outlasts the program that reads a lesson is told, and the other lessons are read."""
    monkeypatch.setattr(apart, "_LONGEST_S", 5.0)
    folder = own_lesson.write(tmp_path / "mine", tmp_path / "mark.txt")
    source = (folder / "lessons" / "inbound_to_tessoly" / "functions.py").read_text(encoding="utf-8")
    for name, line in (("breaks", "import os; os._exit(0)"), ("loops", "while True: pass")):
        other = folder / "lessons" / name
        other.mkdir()
        other.joinpath("functions.py").write_text(f"{source}\n{line}\n", encoding="utf-8")
        text = own_lesson.LESSON.replace("inbound-to-tessoly", name).replace("tes-", f"{name}-")
        other.joinpath("lesson.md").write_text(text, encoding="utf-8")
    assert apart.examine(folder / "lessons" / "breaks").faults == [
        "breaks: its functions stopped the program that reads it."
    ]
    assert apart.examine(folder / "lessons" / "loops").faults == ["loops: its functions do not come to an end."]


def test_the_start_page_shows_it_and_keeps_what_was_made(built, tmp_path):
    """Definition: it lies in the learner's folder with its data beside it; a worked copy is not overwritten."""
    folder, mark, _ = built
    home = tmp_path / "learner"
    found, told = extra.built_in([folder])
    assert list(found) == [KEY]
    assert [line.split(" of ")[0] for line in told] == [f"lessons/{n}" for n in LEFT_OUT]
    assert command.bring_own(home, found) == []
    lying, left_out = extra.lying_in(home)
    assert (list(lying), left_out) == ([KEY], [])
    page = start_page.page(start_page.overview([each.lesson for each in lying.values()], progress.Progress()))
    assert "Inbound to Tessoly" in page and f"({KEY}/{KEY}.ipynb)" in page and "0 of 3" in page
    copy_, data = home / KEY / f"{KEY}.ipynb", home / KEY / BESIDE / "lesson.json"
    copy_.write_text("worked", encoding="utf-8")
    data.write_text("{}", encoding="utf-8")
    stray = data.parent / "procedures" / "gone.toml"
    stray.write_text("gone", encoding="utf-8")
    assert extra.lying_in(home)[0] == {}
    assert "left out" in extra.lying_in(home)[1][0]
    command.bring_own(home, found)
    assert copy_.read_text(encoding="utf-8") == "worked"
    assert edition(data.parent) == edition(found[KEY].place)
    assert [path.read_text("utf-8") for path in sorted((home / "backup").rglob("*.*")) if path.is_file()] == [
        "{}",
        "gone",
    ]
    said = command.start_again(home, "tessoly", own=found)
    assert "your worked copy is kept as backup/" in said
    assert copy_.read_bytes() == (found[KEY].place / f"{KEY}.ipynb").read_bytes()
    assert not mark.exists()


def test_its_questions_come_back_with_the_others(built, tmp_path):
    """Definition: a sitting asks of an instructor's own lesson too, and its kernel finds the lesson's functions."""
    home = tmp_path / "learner"
    command.bring_own(home, extra.built_in([built[0]])[0])
    tried = {"kind": "try", "key": "tes-minutes", "outcome": "SLIP", "share": 0.0, "slip": "HOURS", "given": "1"}
    (home / progress.FILE_NAME).write_text(json.dumps({"when_s": time.time() - 3 * 86_400, **tried}) + "\n")
    path = home / command.made_review(home)
    cells = ["".join(cell["source"]) for cell in json.loads(path.read_text(encoding="utf-8"))["cells"]]
    assert any(text.startswith('ask("tes-minutes")') for text in cells)
    begin = next(text for text in cells if "\nreview(" in text)
    code = f"{begin}\nfrom needlework.lesson import numbers\nprint(numbers('tes-minutes')['dist_nm'] > 0)"
    words = {**os.environ, "NEEDLEWORK_FOLDER": str(home)}
    words.pop("NEEDLEWORK_LESSONS", None)
    done = subprocess.run([sys.executable, "-c", code], cwd=path.parent, env=words, capture_output=True, text=True)
    assert done.stdout.strip().endswith("True"), done.stderr
    page = command.made_sheet(home, "weak-spots").read_text(encoding="utf-8")
    assert "Minutes to Tessoly" in page and "Those are hours" in page
    # They ran, as they must here; the tests that follow ask whether they ran there.
    built[1].unlink()


def test_opening_brings_it_and_tells_what_is_left_out(built, tmp_path, monkeypatch):
    """Definition: with the option the lesson is on the start page, behind the course's; without, it stays there."""
    folder, mark, _ = built
    home = tmp_path / "learner"
    monkeypatch.setattr(os, "execve", lambda *_: sys.exit(0))
    monkeypatch.setattr(command.subprocess, "call", lambda *_args, **_named: sys.exit(0))
    for words in (["--extra", str(folder)], []):
        with pytest.raises(SystemExit):
            command.main(["open", "--no-browser", "--folder", str(home), *words])
        book = json.loads((home / "start.ipynb").read_text(encoding="utf-8"))
        page = "\n".join(cell["source"] for cell in book["cells"])
        assert page.index("Missed approach") < page.index("Inbound to Tessoly")
        told = [name for name in LEFT_OUT if f"lessons/{name} of" in page]
        assert told == (list(LEFT_OUT) if words else [])
    assert (home / "station-passage" / "station-passage.ipynb").is_file()
    assert not (home / "station-passage" / BESIDE).exists()
    assert command.main(["open", "--folder", str(home), "--extra", str(tmp_path / "none")]) == 2
    assert not mark.exists()


def test_the_commands_tell_all_and_fail_where_something_is_wrong(built, tmp_path, capsys):
    """Definition: what is good is said to be; every fault and clash is printed, and the code is not 0."""
    folder, mark, report = built
    only_good = only(folder, tmp_path / "good", "inbound_to_tessoly")
    assert command.main(["proofread", KEY, "--extra", str(only_good)]) == 1, "two of its procedures are left out"
    said = capsys.readouterr().out.splitlines()
    assert said[0] == "inbound_to_tessoly: read and proved, no fault."
    assert said[1:] == [line for line in report.faults if line.startswith("procedures/")]
    for name in ("broken", "saltmarsh"):
        (only_good / "procedures" / f"{name}.toml").unlink()
    for words in (["proofread", KEY, "--extra", str(only_good)], ["proofread", str(only_good)]):
        assert command.main(words) == 0
    assert command.main(["proofread", str(only_good / "lessons" / "inbound_to_tessoly")]) == 0
    assert command.main(["release", "--extra", str(only_good), "--check"]) == 0
    capsys.readouterr()
    path = only_good / "lessons" / "inbound_to_tessoly" / "lesson.md"
    path.write_text(path.read_text(encoding="utf-8").replace("tes-minutes", "sp-cone"), encoding="utf-8")
    assert command.main(["proofread", KEY, "--extra", str(only_good)]) == 1
    assert capsys.readouterr().out.startswith(
        "lessons/inbound_to_tessoly: the course has a question 'sp-cone', in station"
    )
    assert command.main(["release", "--extra", str(only_good)]) == 1
    assert not mark.exists()


def test_without_walls_it_is_a_process_apart_and_marking_waits_for_trust(class_, built, tmp_path, monkeypatch):
    """Definition: where there are no walls, building still leaves this process alone, and marking needs the word."""
    folder, mark = built[0], built[1]
    monkeypatch.setattr(walls, "available", lambda: False)
    monkeypatch.setattr(room, "walls_stand", lambda: False)
    made = apart.examine(folder / "lessons" / "inbound_to_tessoly", own_lessons.procedures_in(folder)[0])
    assert (made.key, made.faults) == (KEY, [])
    assert made.data == (folder / "built" / KEY / "lesson.json").read_text(encoding="utf-8")
    copied = Desk(shutil.copytree(class_[0].folder, tmp_path / "desk"))
    with pytest.raises(BadData, match="add --trust"):
        copied.mark(KEY, again=True)
    copied.mark(KEY, again=True, trust=True)
    assert {row["student"]: row["mark"] for row in copied.marks(KEY)} == {"finch-7": 6, "merrow-2": 0}
    mark.unlink(missing_ok=True)


def test_the_course_wins_over_what_lies_in_a_folder(built, tmp_path, monkeypatch):
    """Definition: what has a name of the course is the course's, whatever lies beside a notebook."""
    folder, mark, _ = built
    for name, changes in (
        ("station-passage", {f'"{KEY}"': '"station-passage"'}),
        ("other", {f'"{KEY}"': '"other"', "tes-minutes": "sp-cone"}),
    ):
        place = tmp_path / name
        shutil.copytree(folder / "built" / KEY, place / BESIDE)
        text = (place / BESIDE / "lesson.json").read_text(encoding="utf-8")
        for old, new in changes.items():
            text = text.replace(old, new)
        (place / BESIDE / "lesson.json").write_text(text, encoding="utf-8")
        (place / f"{name}.ipynb").write_text("{}", encoding="utf-8")
        shutil.copy(folder / "procedures" / "saltmarsh.toml", place / BESIDE / "procedures" / "saltmarsh.toml")
        monkeypatch.chdir(place)
        assert list(catalogue.LESSONS) == list(catalogue.ORDER)
        assert catalogue.LESSONS["station-passage"].title == "Station passage"
        assert catalogue.QUESTIONS["sp-cone"].lesson == "station-passage"
        assert procedure.load("saltmarsh").station.ident == "OVK"
        assert procedure.load("tessoly").station.ident == "TSY"
    found, told = extra.lying_in(tmp_path)
    assert found == {}
    assert "the course has a question 'sp-cone', in station-passage" in told[0]
    assert "the course has a lesson 'station-passage'" in told[1]
    monkeypatch.chdir(tmp_path)
    with pytest.raises(BadData, match='There is no procedure "tessoly"'):
        procedure.load("tessoly")
    assert not mark.exists()


def test_it_is_worked_in_a_kernel_beside_its_data(class_):
    """Definition: the kernel finds the lesson beside the notebook; answers pass there and are noted as tries."""
    _, learner, worked, ran, _, _ = class_
    assert ran == (False, True), "its functions run in the learner's kernel, and nowhere before"
    said = "\n".join(str(output) for cell in worked.cells for output in cell.get("outputs", ()))
    assert "Inbound to Tessoly" in said
    assert "another edition" not in said
    done = progress.read(learner, "finch 7")
    assert done.opened.keys() == {KEY}
    assert {key: record.best for key, record in done.questions.items()} == {
        "tes-minutes": 1,
        "tes-plan": 1,
        "tes-task": 0,
    }
    assert done.record("tes-task").noted


def test_it_is_collected_marked_and_handed_back(class_, built):
    """Independent method: the marks declared by the lesson's questions; its functions ran behind walls only."""
    desk, _, _, _, report, rows = class_
    _, mark, _ = built
    assert sorted(name for name, _ in report.taken) == ["finch-7", "merrow-2"]
    assert report.listed == [], "the data that came back with a notebook are no hand-in"
    for student, marks in (("finch-7", MARKS), ("merrow-2", dict.fromkeys(MARKS, 0))):
        assert {name: rows[student][name] for name in MARKS} == marks
        assert (rows[student]["state"], rows[student]["mark"]) == ("marked", sum(marks.values()))
        assert "edition" not in rows[student]["notes"]
    place, done, left = desk.hand_back(KEY)
    assert (done, left) == (["finch-7", "merrow-2"], [])
    page = (place / "finch-7.html").read_text(encoding="utf-8")
    for title in ("Inbound to Tessoly", "Minutes to Tessoly", "In to Tessoly by plan", "The task: on which radial"):
        assert title in page
    assert not mark.exists()


def test_inside_the_walls_only_what_was_handed_out_is_seen(class_, built):
    """Definition: instructor's folder and desk are not there; data and functions are, and cannot be changed."""
    desk, folder = class_[0], built[0]
    data = desk.data_of(KEY)
    hidden = [str(folder), str(desk.folder / "gradebook.db"), str(desk.folder / "source")]
    look = (
        "import os, pathlib, sys\n"
        f"seen = [path for path in {hidden!r} if os.path.exists(path)]\n"
        "from needlework.exercises.catalogue import QUESTIONS\n"
        "seen += [] if QUESTIONS['tes-plan'].on == 'tessoly' else ['no lesson']\n"
        f"place = pathlib.Path({str(data)!r})\n"
        "try:\n    (place / 'lesson.json').write_text('{}')\n    seen.append('wrote')\nexcept OSError:\n    pass\n"
        "print(seen)\n"
    )
    command_ = [*walls.room([data], {VARIABLE: str(data)}), sys.executable, "-c", look]
    done = subprocess.run(command_, check=True, timeout=60, capture_output=True, text=True)
    assert done.stdout == "[]\n"


def test_another_edition_is_told(class_, built, tmp_path):
    """Definition: after a change, old notebooks are told of it, at the desk and in the kernel, and count."""
    desk, learner = class_[0], class_[1]
    folder = only(built[0], tmp_path / "mine", "inbound_to_tessoly")
    path = folder / "lessons" / "inbound_to_tessoly" / "lesson.md"
    path.write_text(
        path.read_text(encoding="utf-8").replace("The DME of Tessoly reads", "Tessoly's DME reads"), "utf-8"
    )
    assert f"built/{KEY}/lesson.json written." in own_lessons.build(folder).written
    copied = shutil.copytree(desk.folder, tmp_path / "desk")
    (copied / "needlework.toml").unlink()
    again = Desk(copied, named=str(folder))
    before = edition(again.data_of(KEY))
    again.hand_out(KEY)
    assert edition(again.data_of(KEY)) != before
    assert (copied / "earlier" / "own" / f"{KEY}-{before}" / "lesson.json").is_file()
    again.mark(KEY)
    row = next(row for row in again.marks(KEY) if row["student"] == "finch-7")
    assert (row["mark"], row["state"]) == (6, "marked")
    told = "it was worked in another edition of the lesson than was handed out last"
    # The reference answers are worked out in their cells.
    assert row["notes"] == f"{told}; a program of the student's own in it was run"
    home = shutil.copytree(learner, tmp_path / "learner")
    command.bring_own(home, extra.built_in([folder])[0])
    book = nbformat.read(home / KEY / f"{KEY}.ipynb", 4)
    book.cells = [cell for cell in book.cells if "setup" in cell.metadata.get("tags", ())]
    kernel = {"metadata": {"path": str(home / KEY)}}
    environment = {**os.environ, "NEEDLEWORK_FOLDER": str(home), "JPY_SESSION_NAME": str(home / KEY / f"{KEY}.ipynb")}
    NotebookClient(book, timeout=60, kernel_name="python3", resources=kernel).execute(env=environment)
    assert "This notebook is of another edition of the lesson" in str(book.cells[0].outputs)


def test_without_its_data_a_notebook_says_what_is_missing(built, tmp_path):
    """Definition: a notebook taken out of its folder says in one sentence what belongs beside it."""
    shutil.copy(built[0] / "built" / KEY / f"{KEY}.ipynb", tmp_path)
    book = nbformat.read(tmp_path / f"{KEY}.ipynb", 4)
    book.cells = [cell for cell in book.cells if "setup" in cell.metadata.get("tags", ())]
    kernel = {"metadata": {"path": str(tmp_path)}}
    client = NotebookClient(book, timeout=60, kernel_name="python3", resources=kernel, allow_errors=True)
    client.execute(env={**os.environ, "NEEDLEWORK_FOLDER": str(tmp_path / "learner")})
    (said,) = book.cells[0].outputs[-1].traceback
    assert f"There is no lesson '{KEY}'" in said and "the folder .needlework belongs beside the notebook" in said


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("extra = 3\n", r"says extra = 3: expected a folder in quotes, or a list of them"),
        ("extras = 'x'\n", r"says 'extras', which is no setting: expected extra = \"FOLDER\""),
        ("extra = \n", r"cannot be read \(.*expected extra = \"FOLDER\""),
        ("extra = 'nowhere'\n", r"names the folder .*nowhere, and there is none"),
    ],
)
def test_settings_that_cannot_be_read_are_told(tmp_path, text, told):
    """Definition: a fault in the file of settings is one sentence with what was expected."""
    (tmp_path / "needlework.toml").write_text(text, encoding="utf-8")
    with pytest.raises(BadData, match=told) as caught:
        extra.folders(tmp_path)
    assert "\n" not in str(caught.value)


def test_the_settings_name_folders_as_the_option_does(tmp_path):
    """Definition: one folder or several, from where the settings lie; the option comes first."""
    for name in ("a", "b"):
        (tmp_path / "home" / name).mkdir(parents=True)
    home = tmp_path / "home"
    assert extra.folders(home) == []
    (home / "needlework.toml").write_text('extra = ["a", "b"]\n', encoding="utf-8")
    assert extra.folders(home) == [home / "a", home / "b"]
    assert extra.folders(home, str(tmp_path)) == [tmp_path]


def test_what_is_not_built_cannot_be_handed_out(tmp_path):
    """Definition: asked for a lesson that is left out, the desk says why."""
    folder = own_lesson.write(tmp_path / "mine", tmp_path / "mark.txt")
    desk = Desk(tmp_path / "desk", named=str(folder))
    with pytest.raises(
        BadData,
        match=r"no lesson called 'tessoly'.* lessons/inbound_to_tessoly of .* is not built: '.*release --extra",
    ):
        desk.hand_out("tessoly")
    with pytest.raises(BadData, match="'station-passage' is not handed out yet"):
        desk.collect("station-passage", tmp_path)
    assert Path(tmp_path / "mark.txt").exists() is False
