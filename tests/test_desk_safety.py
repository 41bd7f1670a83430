"""Nothing is lost at the desk: whatever stops it, whatever comes in, the next plain command makes it good."""

import copy
import errno
import json
import os
import random
import shlex
import shutil
import signal
import sqlite3
import time
import zipfile
from pathlib import Path

import hand_in_bank as bank
import pytest
import tiny_lesson
from needlework.basis.errors import BadData
from needlework.course import command
from needlework.desk import at_once, handing_out, keeping, room
from needlework.desk.homework import Desk

LESSON = bank.LESSON
LIST = "student,name\nfinch-7,Finch Seven\nrobin-2,Robin Two\nowl-4,Owl Four\n"


@pytest.fixture(scope="module")
def handed_out(tmp_path_factory):
    desk = Desk(tmp_path_factory.mktemp("safety") / "desk")
    desk.hand_out(LESSON)
    (desk.folder / "students.csv").write_text(LIST, encoding="utf-8")
    return desk


@pytest.fixture
def desk(handed_out, tmp_path):
    shutil.copytree(handed_out.folder, tmp_path / "desk")
    return Desk(tmp_path / "desk")


def version(number, student=bank.STUDENT):
    """The bank's copy with a note of its own: another file, the same marks."""
    book = copy.deepcopy(bank.own_cell(f"version {number}", "markdown"))
    for cell in book["cells"]:
        cell["source"] = bank.source_of(cell).replace(f"'{bank.STUDENT}'", repr(student))
    return book


def put(folder, name, book, when):
    path = tiny_lesson.write(book, folder / name)
    os.utime(path, (when, when))
    return path


def contents(desk, student):
    """Every version of a student's work that is on the desk."""
    places = [desk.folder / "submitted" / student / LESSON, *(desk.folder / "earlier" / student).glob(f"{LESSON}-*")]
    return {(place / f"{LESSON}.ipynb").read_bytes() for place in places if (place / f"{LESSON}.ipynb").exists()}


# Killed -----------------------------------------------------------------------------------------------------------


def _journey(desk, came):
    desk.collect(LESSON, came)
    desk.mark(LESSON)
    desk.hand_back(LESSON, "verdicts")


@pytest.mark.slow
def test_killed_at_fifty_moments_nothing_is_lost(desk, tmp_path):
    """Definition: after kill -9 at any moment of collect, mark and hand-back every file can be read, no version that
    was taken is gone, a mark set by hand holds, and the next plain run gives the marks of a run that nobody stopped.
    """
    drawn = random.Random(11)
    came, kept = tmp_path / "in", tmp_path / "kept"
    put(kept, "owl-4.ipynb", version(0, "owl-4"), 1_800_000_000)
    put(came, "finch-7.ipynb", version(0), 1_800_000_000)
    desk.collect(LESSON, kept)
    _journey(desk, came)
    before = {row["student"]: row for row in desk.marks(LESSON)}
    undisturbed = {student: row["mark"] for student, row in before.items()}
    undisturbed["owl-4"] += 0.5 - before["owl-4"][bank.CONE]
    desk.set_mark(LESSON, "owl-4", bank.CONE, 0.5, "As we agreed.")
    put(came, "finch-7.ipynb", version(1), 1_800_000_001)
    begun = time.monotonic()
    _journey(desk, came)
    whole_s = time.monotonic() - begun
    seen = set()
    for number in range(2, 52):
        put(came, "finch-7.ipynb", version(number), 1_800_000_000 + 60 * number)
        child = os.fork()
        if child == 0:
            try:
                _journey(Desk(desk.folder), came)
            finally:
                os._exit(0)
        time.sleep(drawn.uniform(0.0, whole_s))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        seen |= contents(desk, "finch-7")
        for path in desk.folder.rglob("*.json"):
            json.loads(path.read_text(encoding="utf-8"))
        for path in desk.folder.glob("hand-back/*/*.html"):
            assert "</html>" in path.read_text(encoding="utf-8")[-20:]
        with sqlite3.connect(desk.folder / "gradebook.db") as book:
            assert book.execute("pragma integrity_check").fetchone() == ("ok",)
        rows = {row["student"]: row for row in desk.marks(LESSON)}
        assert rows["owl-4"][bank.CONE] == 0.5, number
        assert rows["finch-7"]["mark"] in ("", undisturbed["finch-7"]), number
    _journey(desk, came)
    rows = {row["student"]: row for row in desk.marks(LESSON)}
    assert rows["finch-7"]["mark"] == undisturbed["finch-7"]
    assert (rows["owl-4"]["mark"], rows["owl-4"]["state"]) == (undisturbed["owl-4"], "marked")
    assert seen <= contents(desk, "finch-7") and len(seen) > 20


# Stopped by the machine --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("number", "told"), [(errno.ENOSPC, "is full: make room there"), (errno.EROFS, "cannot be written to or read")]
)
@pytest.mark.parametrize("step", ["collect", "mark", "hand_back"])
def test_a_disk_that_refuses_is_told_and_made_good(desk, tmp_path, monkeypatch, step, number, told):
    """Definition: one sentence, nothing half written, and the same command once more does the rest."""
    came = tmp_path / "in"
    put(came, "finch-7.ipynb", version(0), 1_800_000_000)
    steps = {
        "collect": lambda: desk.collect(LESSON, came),
        "mark": lambda: desk.mark(LESSON),
        "hand_back": lambda: desk.hand_back(LESSON, "marks"),
    }
    for name in steps:
        if name == step:
            break
        steps[name]()
    write, left = keeping.write, [1]

    def refuse(path, content):
        left[0] -= 1
        if left[0] < 0:
            raise OSError(number, os.strerror(number), str(path))
        write(path, content)

    monkeypatch.setattr(keeping, "write", refuse)
    with pytest.raises(BadData, match=told):
        steps[step]()
    monkeypatch.setattr(keeping, "write", write)
    for name in list(steps)[list(steps).index(step) :]:
        steps[name]()
    (row,) = desk.marks(LESSON)
    assert row["mark"] == bank.ALL
    assert (desk.folder / "hand-back" / LESSON / "finch-7.html").exists()


def test_what_the_machine_failed_at_is_tried_again(desk, tmp_path, monkeypatch):
    """Definition: no verdict on the work, a reason, and plain marking tries it again; what is done stays done."""
    came = tmp_path / "in"
    put(came, "finch-7.ipynb", version(0), 1_800_000_000)
    code = json.loads(json.dumps(bank.FAIR["def"]).replace(f"'{bank.STUDENT}'", "'Robin Two'"))
    put(came, "robin-2.ipynb", code, 1_800_000_000)
    desk.collect(LESSON, came)
    with monkeypatch.context() as during:
        during.setattr(room.Room, "run", lambda *_: room.Came(why=room.NOT_ITS_FAULT, machine=True))
        desk.mark(LESSON)
    rows = {row["student"]: row for row in desk.marks(LESSON)}
    assert rows["finch-7"]["mark"] == bank.ALL
    assert (rows["robin-2"]["mark"], rows["robin-2"]["look_at"]) == ("", room.NOT_ITS_FAULT)
    page = desk.folder / "autograded" / "finch-7" / LESSON / f"{LESSON}.ipynb"
    before = page.stat().st_mtime_ns
    if not room.walls_stand():
        pytest.skip("bubblewrap is missing")
    desk.mark(LESSON)
    rows = {row["student"]: row for row in desk.marks(LESSON)}
    assert rows["robin-2"]["mark"] != "" and rows["robin-2"]["state"] == "marked"
    assert page.stat().st_mtime_ns == before


def _breaks(task):
    """Work that ends its process where a paper says so."""
    for paper in task["papers"]:
        if paper == b"breaks it":
            os._exit(1)
        if paper == b"raises":
            raise ValueError(paper)
    return [{"look": [], "said": paper.decode()} for paper in task["papers"]]


@pytest.mark.slow
def test_a_worker_that_is_gone_costs_nobody_else_anything():
    """Definition: each hand-in of its part is tried again alone; the one that breaks it is told, the others done."""
    papers = {f"s{number}": b"fine" for number in range(12)} | {"bad": b"breaks it", "odd": b"raises"}
    results = {}
    with at_once.executor(len(papers)) as make:
        for some in at_once.send(make, _breaks, {}, papers):
            results |= some
    assert set(results) == set(papers)
    assert {name for name, one in results.items() if one.get("said") == "fine"} == {f"s{n}" for n in range(12)}
    assert results["bad"]["look"] == results["odd"]["look"] == [room.NOT_ITS_FAULT]
    assert results["bad"]["machine"], "it is tried again by plain marking"


def test_two_at_once_are_refused(desk):
    """Definition: one command at a time; when the first is done the second may begin."""
    with desk.at_work(), pytest.raises(BadData, match="Another command is at work on the desk"):
        Desk(desk.folder).collect(LESSON, desk.folder)
    with desk.at_work():
        pass


def test_a_damaged_ledger_is_told(desk, tmp_path):
    """Definition: one sentence and what to do."""
    put(tmp_path / "in", "finch-7.ipynb", version(0), 1_800_000_000)
    desk.collect(LESSON, tmp_path / "in")
    keeping.write(desk.folder / "ledger" / f"{LESSON}.json", '{"finch-7": ')
    with pytest.raises(BadData, match=r"is damaged: move it away and mark again"):
        desk.mark(LESSON)


# Collecting -------------------------------------------------------------------------------------------------------


def test_every_version_of_one_collect_is_kept(desk, tmp_path):
    """Definition: of three files of one student the newest counts, and the other two are kept as they came."""
    came = tmp_path / "in"
    for number in range(3):
        put(came, f"copy {number}/finch-7.ipynb", version(number), 1_800_000_000 + number)
    report = desk.collect(LESSON, came)
    assert report.taken == [("finch-7", "copy 2/finch-7.ipynb")]
    assert len(contents(desk, "finch-7")) == 3
    desk.collect(LESSON, came)
    assert len(list((desk.folder / "earlier" / "finch-7").iterdir())) == 2, "kept once"


def test_links_are_not_followed(desk, tmp_path):
    """Definition: what a link leads to is no hand-in, in a folder or in a zip."""
    came, elsewhere = tmp_path / "in", tmp_path / "elsewhere"
    put(elsewhere / "robin-2", "robin-2.ipynb", version(0), 1_800_000_000)
    put(came, "finch-7.ipynb", version(0), 1_800_000_000)
    (came / "robin-2.ipynb").symlink_to(elsewhere / "robin-2" / "robin-2.ipynb")
    (came / "folder").symlink_to(elsewhere)
    with zipfile.ZipFile(came / "more.zip", "w") as archive:
        link = zipfile.ZipInfo("owl-4.ipynb")
        link.external_attr = 0o120777 << 16
        archive.writestr(link, "/etc/passwd")
    report = desk.collect(LESSON, came)
    assert [student for student, _ in report.taken] == ["finch-7"]
    assert {name: why for name, why in report.listed} == dict.fromkeys(
        ("robin-2.ipynb", "folder", "more/owl-4.ipynb"), "it is a link, not a file of its own"
    )


def test_two_persons_in_one_path_are_listed(desk, tmp_path):
    """Definition: where two on the class list may be meant, nobody is taken to be."""
    put(tmp_path / "in", "finch-7/Robin Two.ipynb", version(0), 1_800_000_000)
    report = desk.collect(LESSON, tmp_path / "in")
    assert report.taken == []
    assert "several names (finch-7, robin-2)" in report.listed[0][1]


def test_a_name_that_cannot_be_stored_stops_nobody(desk, tmp_path):
    """Definition: the file with it is listed, all others are taken."""
    (desk.folder / "students.csv").unlink()
    book = json.dumps(version(0))
    with zipfile.ZipFile(tmp_path / "in.zip", "w") as archive:
        archive.writestr(f"{'x' * 300}.ipynb", book)
        archive.writestr("finch-7.ipynb", book)
    report = desk.collect(LESSON, tmp_path / "in.zip")
    assert [student for student, _ in report.taken] == ["finch-7"]
    assert "cannot be stored under this name" in report.listed[0][1]


def test_names_do_not_steer_a_terminal(desk, tmp_path, capsys):
    """Definition: control characters of a file's name or of a typed name are not printed."""
    from needlework.course import command

    hostile = "\x1b]0;owned\x07\x1b[2J"
    with zipfile.ZipFile(tmp_path / "in.zip", "w") as archive:
        archive.writestr(f"finch-7 {hostile}.ipynb", json.dumps(version(0, f"Finch{hostile}")))
        archive.writestr(f"nobody{hostile}.ipynb", json.dumps(version(0)))
    words = ["desk", "--desk", str(desk.folder)]
    assert command.main([*words, "collect", LESSON, str(tmp_path / "in.zip")]) == 0
    assert command.main([*words, "mark", LESSON]) == 0
    said = capsys.readouterr().out
    assert "finch-7" in said and "\x1b" not in said and "\x07" not in said


def test_a_class_list_with_an_old_desk(desk, tmp_path):
    """Definition: a desk whose stamp of a hand-in is lost still marks it, with the time of the file."""
    put(tmp_path / "in", "finch-7.ipynb", version(0), 1_800_000_000)
    desk.collect(LESSON, tmp_path / "in")
    (desk.folder / "submitted" / "finch-7" / LESSON / "timestamp.txt").unlink()
    desk.mark(LESSON)
    assert desk.marks(LESSON)[0]["mark"] == bank.ALL
    assert Path(desk.folder, "autograded", "finch-7", LESSON, "timestamp.txt").exists()


def test_a_copy_for_self_study_never_goes_before_the_homework(desk, tmp_path):
    """Definition: whatever the times and the order, the homework counts, and it is told; unless a person chooses."""
    given = (desk.folder / "hand-out" / f"{LESSON}-homework.ipynb").read_text(encoding="utf-8")
    alone = put(tmp_path / "alone", "finch-7.ipynb", version(0), 1_900_000_000)
    homework = put(tmp_path / "homework", "finch-7.ipynb", json.loads(given), 1_800_000_000)
    both = tmp_path / "both"
    for name, path in (("a/finch-7.ipynb", alone), ("b/finch-7.ipynb", homework)):
        (both / name).parent.mkdir(parents=True)
        shutil.copy2(path, both / name)
    submitted = desk.folder / "submitted" / "finch-7" / LESSON / f"{LESSON}.ipynb"
    assert desk.collect(LESSON, alone).taken, "alone it counts"
    report = desk.collect(LESSON, homework)
    assert "a copy for self-study, before which the homework goes" in report.instead["finch-7"]
    assert submitted.read_bytes() == homework.read_bytes()
    desk.collect(LESSON, both)
    assert submitted.read_bytes() == homework.read_bytes()
    shutil.rmtree(desk.folder / "earlier")
    ((_, why),) = desk.collect(LESSON, both).listed
    assert why.startswith(
        "it is a copy for self-study, and the homework goes before it, so the version of 2027-01-15"
    )
    desk.collect(LESSON, alone, this_one=True)
    assert submitted.read_bytes() == alone.read_bytes()
    desk.collect(LESSON, both)
    assert submitted.read_bytes() == alone.read_bytes(), "as it was chosen"


def test_a_mark_set_by_hand_comes_back_with_its_version(desk, tmp_path):
    """Definition: set for one version, gone with another, there again when that very version counts again."""
    first = put(tmp_path / "1", "finch-7.ipynb", version(0), 1_800_000_000)
    second = put(tmp_path / "2", "finch-7.ipynb", version(1), 1_800_000_060)
    desk.collect(LESSON, first)
    desk.mark(LESSON)
    desk.set_mark(LESSON, "finch-7", bank.CONE, 0.5, "As we agreed.")

    def row():
        desk.mark(LESSON)
        (row,) = desk.marks(LESSON)
        return row

    desk.collect(LESSON, second)
    assert row()[bank.CONE] != 0.5 and "was for another version" in row()["look_at"]
    desk.set_mark(LESSON, "finch-7", bank.CONE, 0.25, "And of this.")
    desk.collect(LESSON, first, this_one=True)
    assert (row()[bank.CONE], row()["look_at"]) == (0.5, "")
    desk.collect(LESSON, second, this_one=True)
    assert (row()[bank.CONE], row()["look_at"]) == (0.25, "")


def test_what_was_taken_by_mistake_is_taken_out_and_brought_back(desk, tmp_path, capsys):
    """Definition: no work, no mark and no page, also after the next collecting; nothing is lost."""
    place = put(tmp_path / "in", "finch-7.ipynb", version(0), 1_800_000_000).parent
    put(place, "robin-2.ipynb", version(1, "robin-2"), 1_800_000_000)
    _journey(desk, place)
    desk.set_mark(LESSON, "finch-7", bank.CONE, 0.5, "As we agreed.")
    assert command.main(["desk", "--desk", str(desk.folder), "take-out", LESSON, "Finch Seven"]) == 0
    back = next(line for line in capsys.readouterr().out.splitlines() if "--this-one" in line)
    for _ in range(2):
        assert [row["student"] for row in desk.marks(LESSON)] == ["robin-2"]
        assert not (desk.folder / "hand-back" / LESSON / "finch-7.html").exists()
        report = desk.collect(LESSON, place)
        assert (report.taken, report.before) == ([], {"taken out": ["finch-7"]}) and "finch-7" in report.missing
        desk.mark(LESSON)
    with pytest.raises(BadData, match="No work of 'finch-7' counts in 'station-passage': choose from robin-2"):
        desk.take_out(LESSON, "finch-7")
    with pytest.raises(BadData, match=r"Work of 'station-passage' counts for robin-2, so it stays"):
        desk.take_out_homework(LESSON)
    words = shlex.split(back)
    command.main(words[words.index("desk") :])
    desk.mark(LESSON)
    row = next(row for row in desk.marks(LESSON) if row["student"] == "finch-7")
    assert (row[bank.CONE], row["look_at"]) == (0.5, "")
    # A hand-out that was made by mistake.
    for student in ("finch-7", "robin-2"):
        desk.take_out(LESSON, student)
    signs = handing_out.record(desk.folder, LESSON)["signs"]
    kept = desk.take_out_homework(LESSON)
    assert (kept / "source" / LESSON / f"{LESSON}.ipynb").is_file()
    with pytest.raises(BadData, match="is not handed out yet"):
        desk.collect(LESSON, place)
    desk.hand_out(LESSON)
    assert handing_out.record(desk.folder, LESSON)["signs"] == signs, "copies that were given out still count"
