"""The ``needlework`` command and the learner's own folder: nothing a learner made is ever lost."""

import datetime
import importlib.metadata
import json
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
import weakref
from pathlib import Path
from types import SimpleNamespace

import matplotlib.pyplot as plt
import pytest
from needlework.basis import light
from needlework.basis.errors import BadData
from needlework.course import command, export_menu, server, start_page
from needlework.exercises import progress, recording
from needlework.exercises.catalogue import LESSONS, QUESTIONS
from needlework.flying import tracklog
from needlework.showing.pictures.passage import draw_passage
from needlework.showing.pictures.style import figure_of

DAY = r"\d{4}-\d\d-\d\d"
LESSON = "station-passage"


@pytest.fixture
def lessons(tmp_path):
    folder = tmp_path / "released"
    _release(folder, "first")
    return folder


@pytest.fixture
def home(tmp_path):
    return tmp_path / "my own folder"


def _release(folder, text):
    path = folder / "tiny" / "tiny.ipynb"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps({"nbformat": 4, "metadata": {}, "cells": [], "text": text}), encoding="utf-8")


def _all_files(folder):
    files = (path for path in folder.rglob("*") if path.is_file() and ".needlework" not in path.parts)
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


def test_first_and_second_opening(lessons, home):
    """Definition: the first opening copies the lessons, the second changes nothing and says nothing."""
    assert command.bring_lessons(home, lessons) == []
    files = _all_files(home)
    assert files == _all_files(lessons)
    assert command.bring_lessons(home, lessons) == []
    assert _all_files(home) == files


def test_work_is_never_overwritten(lessons, home):
    """Definition: a newer lesson is put beside the worked copy and told once."""
    command.bring_lessons(home, lessons)
    worked = home / "tiny" / "tiny.ipynb"
    worked.write_text("my answers")
    assert command.bring_lessons(home, lessons) == []
    _release(lessons, "second")
    (told,) = command.bring_lessons(home, lessons)
    assert told == "tiny/tiny.ipynb has a newer version; your work is untouched, the new one is tiny/tiny-new.ipynb."
    assert worked.read_text() == "my answers"
    assert "second" in (home / "tiny" / "tiny-new.ipynb").read_text()
    assert command.bring_lessons(home, lessons) == []


def test_a_third_version_goes_beside_the_second(lessons, home):
    """Definition: the copy beside may hold work too, so the next version takes the next free name."""
    command.bring_lessons(home, lessons)
    (home / "tiny" / "tiny.ipynb").write_text("my answers")
    _release(lessons, "second")
    command.bring_lessons(home, lessons)
    (home / "tiny" / "tiny-new.ipynb").write_text("more answers")
    _release(lessons, "third")
    (told,) = command.bring_lessons(home, lessons)
    assert "tiny/tiny-new-2.ipynb" in told
    files = _all_files(home)
    assert files["tiny/tiny.ipynb"] == b"my answers"
    assert files["tiny/tiny-new.ipynb"] == b"more answers"
    assert b"third" in files["tiny/tiny-new-2.ipynb"]


def test_an_untouched_copy_is_replaced_and_kept(lessons, home):
    """Definition: what the learner never changed gives way to the newer version; the old one goes to the backup."""
    command.bring_lessons(home, lessons)
    _release(lessons, "second")
    (told,) = command.bring_lessons(home, lessons)
    assert re.search(rf"which you had not changed, is backup/{DAY}/tiny/tiny.ipynb", told)
    files = _all_files(home)
    assert b"second" in files.pop("tiny/tiny.ipynb")
    assert b"first" in next(iter(files.values()))
    assert len(files) == 1


def test_a_copy_that_was_opened_and_run_is_untouched(lessons, home):
    """Definition: outputs and numbers that running leaves in a copy are no work; a changed answer is."""
    path, target = lessons / "tiny" / "tiny.ipynb", home / "tiny" / "tiny.ipynb"

    def book(text, outputs=()):
        cell = {
            "cell_type": "code",
            "id": "a",
            "metadata": {},
            "execution_count": len(outputs),
            "outputs": list(outputs),
        }
        cells = [{**cell, "source": text}]
        return json.dumps({"cells": cells, "metadata": {}, "nbformat": 4, "nbformat_minor": 5})

    path.write_text(book("first = None"))
    command.bring_lessons(home, lessons)
    shown = {"output_type": "stream", "name": "stdout", "text": "seen"}
    target.write_text(book("first = None", [shown]))
    path.write_text(book("second = None"))
    assert "which you had not changed" in command.bring_lessons(home, lessons)[0]
    target.write_text(book("second = 7", [shown]))
    path.write_text(book("third = None"))
    assert "your work is untouched" in command.bring_lessons(home, lessons)[0]


@pytest.mark.parametrize("damage", ["", "[]", "{", '{"tiny/tiny.ipynb": 7}', None])
def test_without_its_notes_every_file_counts_as_work(lessons, home, damage):
    """Definition: if it is not known whether a file was changed, it is taken for the learner's work."""
    command.bring_lessons(home, lessons)
    notes = home / ".needlework" / "copies.json"
    if damage is None:
        notes.unlink()
    else:
        notes.write_text(damage)
    _release(lessons, "second")
    command.bring_lessons(home, lessons)
    files = _all_files(home)
    assert b"first" in files["tiny/tiny.ipynb"]
    assert b"second" in files["tiny/tiny-new.ipynb"]


def test_a_crash_after_the_copy_is_harmless(lessons, home):
    """Definition: a copy that was made but not noted is recognised as what was released."""
    command.bring_lessons(home, lessons)
    (home / ".needlework" / "copies.json").unlink()
    assert command.bring_lessons(home, lessons) == []
    _release(lessons, "second")
    assert "which you had not changed" in command.bring_lessons(home, lessons)[0]


def test_a_lesson_is_found_by_name_title_or_words():
    """Definition: the name, the title or words of them that only one lesson has; anything else gets one sentence."""
    keys = list(LESSONS)
    for key, lesson in LESSONS.items():
        assert command.lesson_named(key, keys) == key
        assert command.lesson_named(lesson.title, keys) == key
    assert command.lesson_named("missed approach", keys) == "missed-approach"
    assert command.lesson_named("Station", keys) == "station-passage"
    assert command.lesson_named("my-own", ["my-own"]) == "my-own"
    with pytest.raises(
        BadData, match="There is no lesson called 'missed-aproach': choose from briefing-and-identifying"
    ):
        command.lesson_named("missed-aproach", keys)
    with pytest.raises(BadData, match="There is no lesson called ''"):
        command.lesson_named("", keys)
    with pytest.raises(BadData, match=r"may mean .* type more of its name"):
        command.lesson_named("an", [*keys, "an-other"])


def test_again_is_fresh_for_the_next_class(lessons, home):
    """Definition: after starting again nothing of the last class counts, its flights least; all of it is kept."""
    key = "station-passage"
    shutil.copytree(lessons / "tiny", lessons / key)
    (lessons / key / "tiny.ipynb").rename(lessons / key / f"{key}.ipynb")
    command.bring_lessons(home, lessons)
    question = LESSONS[key].questions[0]
    recorder = recording.Recorder(question, {}, home / "flights")
    recorder.add({column.name: 0.0 for column in tracklog.COLUMNS})
    recorder.close("by the pilot")
    flown = recording.newest(question, home / "flights").text
    progress.note_open(key, home)
    progress.note_try(question, "PASS", 1.0, where=home, student="finch 7")
    progress.note_try("another", "PASS", 1.0, where=home)
    assert "counts from the beginning" in command.start_again(home, key, lessons)
    for student in (None, "finch 7"):
        done = progress.read(home, student)
        assert not done.record(question).tries
        assert key not in done.opened
    assert progress.read(home).record("another").passed
    assert recording.newest(question, home / "flights") is None
    assert flown.encode() in _all_files(home).values()
    assert "finch 7" in (home / progress.FILE_NAME).read_text(encoding="utf-8")


def test_start_again_keeps_the_worked_copy(lessons, home):
    """Definition: starting a lesson again gives it as released and keeps every worked copy."""
    command.bring_lessons(home, lessons)
    for number in (1, 2):
        (home / "tiny" / "tiny.ipynb").write_text(f"answers {number}")
        assert "your worked copy is kept as backup/" in command.start_again(home, "tiny", lessons)
    assert b"first" in _all_files(home)["tiny/tiny.ipynb"]
    assert {b"answers 1", b"answers 2"} <= set(_all_files(home).values())
    with pytest.raises(BadData, match="There is no lesson called 'tine': choose from tiny"):
        command.start_again(home, "tine", lessons)


def _page_text(page):
    return "\n".join(cell["source"] for cell in json.loads(page)["cells"])


def test_start_page_of_a_beginner():
    """Definition: nothing done yet: begin with the first lesson; all its minutes are left."""
    lesson = LESSONS[LESSON]
    page = start_page.page(start_page.overview([lesson], progress.Progress()))
    text = _page_text(page)
    assert f"**Next.** Begin with [{lesson.title}]({LESSON}/{LESSON}.ipynb)." in text
    sittings = " ".join(map(str, lesson.sittings))
    assert f"| not begun | {sittings} | 0 of {len(lesson.questions)} | {lesson.minutes} |" in text
    assert "**Coming back.** Nothing today." in text
    assert "Wrong last time" not in text
    assert "Not for navigation" in text
    assert all(cell["cell_type"] == "markdown" for cell in json.loads(page)["cells"])


def test_start_page_half_way(tmp_path):
    """Definition: the first open question is named, the wrong one leads to its place, minutes shrink with passes."""
    lesson = LESSONS[LESSON]
    keys = lesson.questions
    half = len(keys) // 2
    progress.note_open(LESSON, tmp_path)
    for key in keys[:half]:
        progress.note_try(key, "PASS", 1.0, where=tmp_path)
    progress.note_try(keys[half], "WRONG", 0.0, where=tmp_path)
    text = _page_text(start_page.page(start_page.overview([lesson], progress.read(tmp_path), ["Told today."])))
    assert "**Next.** Go on with" in text
    # A wrong answer is not done: it is not passed by.
    assert f"You go on at question {half + 1} of {len(keys)}: its answer is not right yet." in text
    wrong = lesson.outlines[half]
    place = f"{LESSON}/{LESSON}.ipynb#cell-id={wrong.key}-answer"
    assert f"**Wrong last time.** [{wrong.title}]({place}) in {lesson.title}." in text
    number = [outline.sitting for outline in lesson.outlines]
    still_open = [
        sum(each == n for each in number[half:]) / number.count(n) for n in range(1, len(lesson.sittings) + 1)
    ]
    minutes = [each * share for each, share in zip(lesson.sittings, still_open, strict=True)]
    sittings = " ".join(f"{m}{'' if share else '✓'}" for m, share in zip(lesson.sittings, still_open, strict=True))
    assert f"| begun | {sittings} | {half} of {len(keys)} | {round(sum(minutes))} |" in text
    today = number[half] - 1
    assert f"Sitting {today + 1} of {len(lesson.sittings)}: about {round(minutes[today])} minutes." in text
    assert "*Told today.*" in text


def test_looking_into_a_lesson_is_no_work(tmp_path):
    """Definition: the lesson of the last answer is gone on with, whatever was opened since."""
    first, second = list(LESSONS.values())[:2]
    progress.note_open(first.key, tmp_path)
    progress.note_try(first.questions[0], "PASS", 1.0, where=tmp_path)
    progress.note_open(second.key, tmp_path)
    following = start_page.overview([first, second], progress.read(tmp_path)).next
    assert following.title == first.title


def test_what_was_kept_of_two_versions_says_so(tmp_path):
    """Definition: the copy that is put beside a lesson changed twice has its day; other notebooks have none."""
    lesson = next(iter(LESSONS.values()))
    (tmp_path / lesson.key).mkdir()
    book = json.dumps({"cells": [], "metadata": {"needlework": {"lesson": lesson.key}}})
    for name in (f"{lesson.key}-Copy1", "mine"):
        (tmp_path / lesson.key / f"{name}.ipynb").write_text(book)
    others = start_page.others_in(tmp_path, [lesson])
    assert {each.path.rsplit("/")[-1]: bool(each.kept) for each in others} == {
        "mine.ipynb": False,
        f"{lesson.key}-Copy1.ipynb": True,
    }


def test_a_task_without_its_verdict_does_not_hold_the_course_up(tmp_path):
    """Definition: the instructor's verdict comes days later; until then the next lesson is next."""
    first, second = list(LESSONS.values())[:2]
    tasks = [key for key in first.questions if QUESTIONS[key].task]
    for key in first.questions:
        if key in tasks:
            progress.note_task(key, where=tmp_path)
        else:
            progress.note_try(key, "PASS", 1.0, where=tmp_path)
    passed = f"{len(first.questions) - len(tasks)} of {len(first.questions)}"
    text = _page_text(start_page.page(start_page.overview([first, second], progress.read(tmp_path))))
    assert f"| {passed} | 0 |" in text
    assert "| task not yet judged |" in text
    assert f"**Next.** Begin with [{second.title}]" in text
    progress.note_try(tasks[0], "WRONG", 0.0, where=tmp_path)
    text = _page_text(start_page.page(start_page.overview([first, second], progress.read(tmp_path))))
    assert f"**Next.** Go on with [{first.title}]" in text


def test_the_page_goes_on_where_the_learner_stopped(tmp_path):
    """Definition: the lesson worked on last goes on; when it is done, the next after it; at last what was left."""
    lessons = list(LESSONS.values())[:3]

    def following():
        return start_page.overview(lessons, progress.read(tmp_path)).next

    assert (following().title, following().begun) == (lessons[0].title, False)
    first, *others = lessons[1].questions
    progress.note_try(first, "PASS", 1.0, where=tmp_path)
    assert (following().title, following().key) == (lessons[1].title, others[0])
    for key in others:
        progress.note_try(key, "PASS", 1.0, where=tmp_path)
    assert following().title == lessons[2].title
    for key in lessons[2].questions:
        progress.note_try(key, "PASS", 1.0, where=tmp_path)
    assert following().title == lessons[0].title


def test_what_was_right_once_stays_passed(tmp_path):
    """Definition: a later wrong answer is named, with the way to its place; it takes nothing away."""
    lesson = LESSONS[LESSON]
    for key in lesson.questions:
        progress.note_try(key, "PASS", 1.0, where=tmp_path)
    progress.note_try(lesson.questions[0], "WRONG", 0.0, where=tmp_path)
    text = _page_text(start_page.page(start_page.overview([lesson], progress.read(tmp_path))))
    sittings = " ".join(f"{minutes}✓" for minutes in lesson.sittings)
    assert f"| done | {sittings} | {len(lesson.questions)} of {len(lesson.questions)} | 0 |" in text
    assert f"**Wrong last time.** [{lesson.outlines[0].title}](" in text


def test_the_page_says_what_comes_back_today(tmp_path):
    """Definition: what was right at once comes back after days, what was wrong on the next day, in whole minutes."""
    lesson = LESSONS[LESSON]
    day = datetime.date(2026, 3, 2)
    moment = datetime.datetime(2026, 3, 2, 18).timestamp()
    events = [
        {"kind": "try", "key": outline.key, "outcome": "PASS" if number else "WRONG", "share": 1.0 if number else 0.0}
        for number, outline in enumerate(lesson.outlines)
        if outline.kind == "choice"
    ]
    lines = [json.dumps({"when_s": moment + number, **each}) for number, each in enumerate(events)]
    (tmp_path / progress.FILE_NAME).write_text("\n".join(lines) + "\n")

    def said(days):
        seen = start_page.overview([lesson], progress.read(tmp_path), day=day + datetime.timedelta(days=days))
        return _page_text(start_page.page(seen))

    assert "**Coming back.** Nothing today. The next questions come back on Tuesday, 3 March." in said(0)
    assert f"**Coming back.** 1 minute today: 1 question from {lesson.title}, with other numbers." in said(1)
    number, minutes = len(events), round(len(events) / 2)
    assert f"**Coming back.** {minutes} minutes today: {number} questions from {lesson.title}" in said(2)


def test_the_learners_own_start_page_is_kept(home):
    """Definition: the start page is written anew each time; one the learner changed goes to the backup first."""
    command.Copies(home).write_page("one")
    command.Copies(home).write_page("two")
    assert list(_all_files(home)) == ["start.ipynb"]
    (home / "start.ipynb").write_text("my notes")
    command.Copies(home).write_page("three")
    assert set(_all_files(home).values()) == {b"my notes", b"three"}


# The command ------------------------------------------------------------------------------------------------------


def test_open_starts_jupyterlab_on_the_start_page(home, monkeypatch):
    """Definition: the learner's folder is the root, the start page is shown, the token stays on."""
    seen = {}
    monkeypatch.setattr(
        os, "execve", lambda *given: seen.update(command=given[1], environment=given[2]) or sys.exit(0)
    )
    with pytest.raises(SystemExit):
        command.main(["open", "--folder", str(home)])
    assert "--LabApp.default_url=/lab/tree/start.ipynb?reset" in seen["command"]
    with pytest.raises(SystemExit):
        command.main(["open", "--no-browser", "--folder", str(home)])
    called = " ".join(seen["command"])
    assert f"--ServerApp.root_dir={home}" in called
    # Jupyter writes the token behind the address that it prints: nothing may be asked for there already.
    assert re.search(r"--LabApp.default_url=/lab/workspaces/\w+/tree/start.ipynb( |$)", called)
    assert "--no-browser" in called
    assert "token" not in called
    assert seen["environment"]["NEEDLEWORK_FOLDER"] == str(home)
    settings = Path(seen["environment"]["JUPYTER_CONFIG_PATH"].split(os.pathsep)[0])
    assert json.loads((settings / "jupyter_lab_config.json").read_text())["LabApp"]["news_url"] is None
    assert (home / LESSON / f"{LESSON}.ipynb").exists()


def _fails(words, capsys):
    """Run a command that must fail; give its one sentence."""
    try:
        code = command.main(words)
    except SystemExit as stopped:
        code = stopped.code
    said = capsys.readouterr()
    assert code == 2
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert "Traceback" not in said.err
    return said.err


def test_user_errors_are_one_sentence(home, tmp_path, capsys):
    """Definition: whatever is asked wrongly gets one sentence and exit code 2."""
    assert "invalid choice: 'opne'" in _fails(["opne"], capsys)
    assert "'desk'" in _fails(["opne"], capsys)
    assert "required: command" in _fails([], capsys)
    assert "lies inside the course itself" in _fails(["open", "--folder", str(command.ROOT / "mine")], capsys)
    assert "invalid int value: 'x'" in _fails(["open", "--port", "x"], capsys)
    assert "Port 99999 cannot be used" in _fails(["open", "--port", "99999"], capsys)
    assert "There is no lesson called 'nowhere'" in _fails(["again", "nowhere", "--folder", str(home)], capsys)
    a_file = tmp_path / "file"
    a_file.write_text("mine")
    assert "choose another folder with --folder" in _fails(["open", "--folder", str(a_file)], capsys)
    assert a_file.read_text() == "mine"
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        assert f"Port {port} cannot be used" in _fails(["open", "--port", port], capsys)


def test_a_folder_has_the_same_address_each_time(tmp_path):
    """Definition: a browser finds again what it kept for an address; where that is taken, another one does."""
    usual = command._port(None, tmp_path)
    assert command._port(None, tmp_path) == usual in command._PORTS
    assert command._port(None, tmp_path / "another") != usual
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", usual))
        taken.listen()
        assert command._port(None, tmp_path) != usual


@pytest.mark.parametrize(
    ("words", "extra"), [(["desk", "marks", LESSON], "desk"), (["release", "--check"], "authors")]
)
def test_what_a_learner_has_not_installed_is_told(words, extra):
    """Definition: a command that needs an extra names it, and what to type, in one sentence."""
    without = "import sys; sys.modules['nbgrader'] = None; from needlework.course import command; "
    called = [sys.executable, "-c", without + f"sys.exit(command.main({words}))"]
    done = subprocess.run(called, capture_output=True, text=True)
    assert (done.returncode, done.stdout, done.stderr.count("\n")) == (2, "", 1), done.stderr
    assert f"nbgrader is not installed, and '{extra}' needs it" in done.stderr
    assert f"type pip install 'needlework[{extra}]'" in done.stderr


def test_no_lessons_is_told(tmp_path):
    """Definition: a checkout without its lessons says how to get them back."""
    with pytest.raises(BadData, match="There are no lessons in"):
        command.released(tmp_path)


def _got(address, server):
    """Ask until the server listens: on a busy machine it says its address some moments before."""
    for _ in range(240):
        try:
            with urllib.request.urlopen(address, timeout=30) as answer:
                return answer.read()
        except urllib.error.HTTPError:
            raise
        except urllib.error.URLError:
            assert server.poll() is None
            time.sleep(0.5)
    raise AssertionError(f"nobody listens at {address}")


def test_a_real_server_opens_with_its_token_on(home):
    """Definition: the address it prints opens the start page; without the token the server gives nothing away."""
    environment = dict(os.environ, NEEDLEWORK_FOLDER=str(home), JUPYTER_RUNTIME_DIR=str(home.parent / "run"))
    command = [sys.executable, "-m", "needlework", "open", "--no-browser"]
    log = home.parent / "log.txt"
    with (
        open(log, "wb") as heard,
        subprocess.Popen(command, env=environment, stdout=heard, stderr=subprocess.STDOUT) as server,
    ):
        try:
            address = None
            for _ in range(240):  # two minutes on a machine that is busy with other tests
                address = re.search(r"http://127\.0\.0\.1:\d+/\S+token=\w+", log.read_text())
                if address or server.poll() is not None:
                    break
                time.sleep(0.5)
            assert address, log.read_text()
            base, token = address[0].split("/lab/")[0], address[0].split("token=")[1]
            assert json.loads(_got(f"{base}/api/contents/start.ipynb?token={token}", server))["type"] == "notebook"
            with pytest.raises(urllib.error.HTTPError, match="403") as refused:
                urllib.request.urlopen(f"{base}/api/contents/start.ipynb", timeout=30)
            refused.value.close()
        finally:
            server.send_signal(signal.SIGTERM)
            server.wait(30)


def test_what_was_typed_is_soon_on_the_disk(tmp_path):
    """Common practice, no source: a browser that dies takes half a minute of typing with it at most."""
    paths = command.jupyter_environment(tmp_path)["JUPYTER_CONFIG_PATH"].split(os.pathsep)
    settings = json.loads((Path(paths[0]) / "labconfig" / "default_setting_overrides.json").read_text())
    saving = settings["@jupyterlab/docmanager-extension:plugin"]
    assert saving["autosave"]
    assert saving["autosaveInterval"] <= 30


def test_a_program_is_started_without_what_nobody_asks_for(tmp_path):
    """Definition: the module that is named runs with its words; grammars, debugger and colours are not loaded."""
    told = (
        "from needlework.basis import light\nlight.leave_out()\nimport jsonschema, httpx, ipykernel.debugger, sys\n"
        "print('lark' in sys.modules, ipykernel.debugger._is_debugpy_available, 'rich' in sys.modules)\n"
        "light.give_back()"
    )
    said = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True).stdout
    assert said == "False False False\n"
    told = (
        "from jupyter_client.kernelspec import get_kernel_spec\nfound = get_kernel_spec('python3')\n"
        "print(*found.argv, found.metadata['debugger'])"
    )
    environment = command.jupyter_environment(tmp_path)
    found = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True, env=environment).stdout
    words = "ipykernel_launcher -f {connection_file} --IPKernelApp.log_level=ERROR"
    assert found == f"python -m needlework.basis.light {words} False\n"
    words = [sys.executable, "-m", "needlework.basis.light", "json.tool", "--help"]
    assert "usage:" in subprocess.run(words, capture_output=True, text=True).stdout


def test_what_pictures_leave_behind_is_looked_for_once(monkeypatch):
    """Definition: a figure that holds on to itself is gone after a lesson's last cell; else none is sought."""
    left = weakref.ref(figure_of(draw_passage(height_ft=3000.0, gs_kt=90.0)))
    plt.close("all")
    light.clear_away()
    assert left() is None
    searched = []
    monkeypatch.setattr(light.gc, "collect", lambda: searched.append(1))
    light.clear_away()
    assert not searched
    draw_passage(height_ft=3000.0, gs_kt=90.0)
    plt.close("all")
    light.clear_away()
    assert searched == [1]


def test_what_a_server_names_and_does_not_use_is_loaded_when_it_is_used():
    """Definition: a hub's database and what installs extensions are not there until they are used, and then whole."""
    told = """
import sys
from needlework.basis import light
light.begin("jupyterhub.singleuser")
import jupyterhub.singleuser, jupyterlab.labapp
unused = ("sqlalchemy", "alembic", "jupyterhub.orm", "requests", "httpx", "IPython")
print([name for name in unused if name in sys.modules])
from jupyter_client.kernelspec import KernelSpecManager
print(KernelSpecManager().kernel_dirs[-1], "IPython" in sys.modules)
light.put_back()
from IPython.paths import get_ipython_dir
print(get_ipython_dir(), any(isinstance(module, light.Later) for module in sys.modules.values()))
from jupyterhub import roles, scopes, utils
from jupyterlab import extensions
from jupyterlab_server import listings_handler
import requests, sqlalchemy
print(scopes.orm.User.__tablename__, roles.func.count().name, scopes.sa.inspect is sqlalchemy.inspect)
print(type(extensions.get_pypi_manager()).__module__, listings_handler.requests.request is requests.request)
"""
    said = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True)
    ipython = os.path.expanduser(os.environ.get("IPYTHONDIR", "~/.ipython"))
    assert said.stdout.splitlines() == [
        "[]",
        f"{ipython}/kernels False",
        f"{ipython} False",
        "users count True",
        "jupyterlab.extensions.pypi True",
    ], said.stderr


def test_what_can_be_exported_is_known_without_what_exports_it():
    """Independent method: nbconvert's own list, each exporter made and asked; another package's is left to it."""
    from nbconvert.exporters import base

    installed = importlib.metadata.entry_points(group="nbconvert.exporters")
    asked = {name: {"output_mimetype": base.get_exporter(name).output_mimetype} for name in base.get_export_names()}
    assert export_menu.offered(installed, {"ServerApp": {}}) == asked
    other = importlib.metadata.EntryPoint("html", "somebody.exporters:HTML", "nbconvert.exporters")
    assert export_menu.offered([*installed, other], {}) is None
    assert export_menu.offered(installed, {"PDFExporter": {"enabled": False}}) is None
    assert export_menu.offered([], {}) is None


def test_no_message_of_a_kernel_waits_for_the_one_before():
    """Source: RFC 896 holds a small packet back until the last is acknowledged, up to 40 ms later (Linux)."""
    told = []

    class Connection:
        websocket_handler = SimpleNamespace(set_nodelay=told.append)

        def connect(self):
            told.append("connected")

    web = SimpleNamespace(
        settings={"base_url": "/", "kernel_websocket_connection_class": Connection}, add_handlers=lambda *_: None
    )
    server._load_jupyter_server_extension(SimpleNamespace(web_app=web, kernel_spec_manager=None))
    web.settings["kernel_websocket_connection_class"]().connect()
    assert told == [True, "connected"]
