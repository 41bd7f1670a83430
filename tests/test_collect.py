"""Hand-ins come back under any name: each file is matched to a student or listed with a reason."""

import io
import json
import os
import shlex
import shutil
import zipfile
from pathlib import Path, PurePosixPath

import pytest
import tiny_lesson
from needlework.basis.errors import BadData
from needlework.course import command
from needlework.desk import collect, whose
from needlework.desk.homework import Desk


@pytest.fixture(scope="module")
def handed_out(tmp_path_factory):
    """A desk that has handed out the tiny lesson; used by copying its two parts."""
    folder = tmp_path_factory.mktemp("desk")
    solutions = tiny_lesson.write_solutions(folder / "solutions")
    path = Desk(folder / "desk", solutions).hand_out("tiny")
    return folder, path.read_text(encoding="utf-8")


@pytest.fixture
def desk(handed_out, tmp_path):
    folder, _ = handed_out
    os.symlink(folder / "desk" / "source", _made(tmp_path / "desk") / "source")
    os.symlink(folder / "desk" / "gradebook.db", tmp_path / "desk" / "gradebook.db")
    return Desk(tmp_path / "desk", folder / "solutions")


@pytest.fixture
def book(handed_out):
    return handed_out[1]


def _made(folder):
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def _folder(tmp_path, files):
    place = _made(tmp_path / "came in")
    for number, (name, text) in enumerate(files.items()):
        path = place / name
        _made(path.parent)
        path.write_text(text, encoding="utf-8")
        os.utime(path, (1_800_000_000 + 60 * number,) * 2)
    return place


def _zip(tmp_path, files):
    path = tmp_path / "came in.zip"
    with zipfile.ZipFile(path, "w") as archive:
        for name, text in files.items():
            archive.writestr(name, text)
    return path


REMEDY = "rename it to NAME.ipynb and collect again, or collect this file with --student NAME"
NAMES = {
    "Amira Khan/tiny.ipynb": "amira-khan",
    "Ben Ode_48213_assignsubmission_file_/tiny (1).ipynb": "ben-ode",
    "chen/tiny/tiny.ipynb": "chen",
    "submissions/dara-tiny.ipynb": "dara",
    "Tiny (Élodie Roux).ipynb": "elodie-roux",
    "finch_12.ipynb": "finch-12",
    "otter-2_Tiny.ipynb": "otter-2",
}


@pytest.mark.parametrize("way", [_folder, _zip])
def test_names_of_all_kinds(desk, book, tmp_path, way):
    """Independent method: names as they come from mail, shared folders and course systems, matched by hand."""
    report = desk.collect("tiny", way(tmp_path, dict.fromkeys(NAMES, book)))
    assert {name: student for student, name in report.taken} == NAMES
    assert report.listed == []
    assert desk.students("tiny") == sorted(NAMES.values())


def test_what_cannot_be_matched_is_listed(desk, book, tmp_path):
    """Definition: nothing is dropped in silence: no name, another lesson, no notebook, each has its reason."""
    other = json.dumps({"nbformat": 4, "nbformat_minor": 5, "metadata": {}, "cells": []})
    files = {"tiny.ipynb": book, "gina.ipynb": other, "notes.txt": "x", "hugo.ipynb": book[:500], ".DS_Store": "x"}
    report = desk.collect("tiny", _folder(tmp_path, files))
    assert dict(report.listed) == {
        "tiny.ipynb": f"no name in its path: {REMEDY}",
        "gina.ipynb": "there is no question of 'tiny' in it",
        "notes.txt": "it is not a notebook (.ipynb)",
    }
    # A damaged file is somebody's work all the same: it is taken, and marking says that it needs a look.
    assert report.taken == [("hugo", "hugo.ipynb")]


def test_the_newest_of_two_counts_and_the_older_is_kept(desk, book, tmp_path):
    """Definition: a second hand-in replaces the first, which is kept; an older one that comes late does not."""
    place = _folder(tmp_path, {"ida/first.ipynb": book, "ida/second/tiny.ipynb": book + " "})
    (place / "ida" / "first.ipynb").rename(_made(place / "a") / "ida.ipynb")
    report = desk.collect("tiny", place / "a")
    assert report.taken == [("ida", "ida.ipynb")]
    newer = _made(place / "b") / "ida.ipynb"
    newer.write_text(book + "  ")
    os.utime(newer, (1_800_009_999,) * 2)
    assert desk.collect("tiny", place / "b").taken == [("ida", "ida.ipynb")]
    assert desk.collect("tiny", place / "b").same == ["ida"]
    assert desk.collect("tiny", place / "a").before == {"older": ["ida"]}, "told of when it was replaced"
    submitted = desk.folder / "submitted" / "ida" / "tiny" / "tiny.ipynb"
    assert submitted.read_text() == book + "  "
    (kept,) = (desk.folder / "earlier" / "ida").glob("tiny-*/tiny.ipynb")
    assert kept.read_text() == book


def _by(book, name, lesson="tiny"):
    """Give a copy in whose first cell a name is typed."""
    nb = json.loads(book)
    nb["cells"].insert(0, tiny_lesson.cell("code", f'student = "{name}"  # yours\nbegin("{lesson}", student)'))
    return json.dumps(nb)


def test_a_file_with_another_name_typed_in_it_replaces_nothing(desk, book, tmp_path):
    """Definition: one's own work stays; the other file is kept, listed, and counts when it is chosen."""
    own, other = _by(book, "finn-6"), _by(book, "greta-7")
    desk.collect("tiny", _folder(tmp_path, {"finn-6.ipynb": own}))
    place = _folder(tmp_path / "b", {"homework/finn-6.ipynb": own, "submissions/finn-6.ipynb": other})
    report = desk.collect("tiny", place)
    assert report.same == ["finn-6"], "of both at once the own one counts"
    assert report.listed[0][1].startswith(
        "its numbers are those of “greta-7”, so the version of 2027-01-15 08:00 UTC"
    )
    report = desk.collect("tiny", place)
    assert (report.listed, report.before) == ([], {"with another name": ["finn-6"]}), "told once"
    (listed,) = desk.collect("tiny", place / "submissions" / "finn-6.ipynb").listed
    assert "its numbers are those of “greta-7”, so the version of" in listed[1] and "--this-one" in listed[1]
    submitted = desk.folder / "submitted" / "finn-6" / "tiny" / "tiny.ipynb"
    assert submitted.read_text() == own
    assert any(path.read_text() == other for path in (desk.folder / "earlier" / "finn-6").glob("tiny-*/tiny.ipynb"))
    desk.collect("tiny", place / "submissions" / "finn-6.ipynb", this_one=True)
    assert submitted.read_text() == other


def test_a_nameless_file_says_the_name_in_it_and_is_settled_once(desk, book, tmp_path):
    """Definition: what was typed is told; once it was taken for somebody the same file is listed no more."""
    place = _folder(tmp_path, {"tiny.ipynb": _by(book, "greta-7")})
    (listed,) = desk.collect("tiny", place).listed
    assert listed == ("tiny.ipynb", f"no name in its path (typed in it is “greta-7”): {REMEDY}")
    desk.collect("tiny", place / "tiny.ipynb", "greta-7")
    again = desk.collect("tiny", place)
    assert (again.listed, again.here) == ([], ["tiny.ipynb"])


def test_a_file_of_another_lesson_says_which(desk, book, tmp_path):
    """Definition: the lesson it begins is named, and what to do."""
    empty = json.dumps({"nbformat": 4, "nbformat_minor": 5, "metadata": {}, "cells": []})
    other = _by(empty, "gina", "flying-an-arc")
    (listed,) = desk.collect("tiny", _folder(tmp_path, {"gina.ipynb": other})).listed
    assert listed[1].startswith("it is of the lesson 'flying-an-arc': that one must be handed out first")


def test_two_files_of_one_student_at_once(desk, book, tmp_path):
    """Definition: of two files under one name the newer counts and the other is named."""
    place = _folder(tmp_path, {"x/jo.ipynb": book, "y/jo (2).ipynb": book + " "})
    (place / "x").rename(place / "submissions")
    (place / "y").rename(place / "homework")
    report = desk.collect("tiny", place)
    assert report.taken == [("jo", "homework/jo (2).ipynb")]
    assert report.older == [("jo", "submissions/jo.ipynb")]


def test_with_a_class_list(desk, book, tmp_path):
    """Definition: with a list, a file belongs to the one student whose id or whole name is in its path."""
    (desk.folder / "students.csv").write_text(
        "student,name\nfinch12,Kofi Ansah\nfinch1,Lena Ek\nlinnet3,Kofi Berg\nheron,Mo Lund\n", encoding="utf-8"
    )
    files = {
        "class of may/finch12.ipynb": book,
        "class of may/EK_lena_tiny_final.ipynb": book,
        "class of may/kofi.ipynb": book,
        "class of may/Kofi Berg (linnet3).ipynb": book,
    }
    report = desk.collect("tiny", _folder(tmp_path, files))
    assert sorted(student for student, _ in report.taken) == ["finch1", "finch12", "linnet3"]
    assert report.listed == [("class of may/kofi.ipynb", f"no name of the class list in its path: {REMEDY}")]
    assert report.missing == ["heron"]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("name\nKofi\n", "has no column 'student'"),
        ("", "has no column 'student'"),
        ("student\na\na\n", "names the student 'a' twice"),
        ("student,name\na,A\nb;B\n", "has the line 'b;B', and the others have commas between columns"),
        ("student;name\na;A\nb,B\n", "has the line 'b,B', and the others have semicolons between columns"),
    ],
)
def test_a_faulty_class_list_is_told(tmp_path, text, told):
    """Definition: a list that cannot be used is refused before anything is collected."""
    path = tmp_path / "students.csv"
    path.write_text(text)
    with pytest.raises(BadData, match=told):
        collect.read_roster(path)


@pytest.mark.parametrize("kind", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_a_class_list_is_read_in_either_unicode(tmp_path, kind, mark):
    """Definition: with a byte-order mark, with two where a marked file was converted, and without one."""
    path = tmp_path / "students.csv"
    path.write_bytes(f"{mark}student,name\nhelene-3,H\u00e9l\u00e8ne \u00d8rsted\n".encode(kind))
    assert collect.full_names(path) == {"helene-3": "H\u00e9l\u00e8ne \u00d8rsted"}


@pytest.mark.parametrize("kind", ["latin-1", "cp1252", "mac_roman", "utf-32"])
def test_a_class_list_in_other_letters_is_told(tmp_path, kind):
    """Definition: one sentence with the file and what to do; no name is read wrongly."""
    path = tmp_path / "students.csv"
    path.write_bytes("student,name\nhelene-3,H\u00e9l\u00e8ne\n".encode(kind))
    with pytest.raises(BadData, match=r"students.csv cannot be read: save it as CSV in UTF-8"):
        collect.full_names(path)


def test_a_class_list_with_other_capitals_is_the_list(desk, book, tmp_path):
    """Definition: ``Students.csv`` is found where the machine tells capitals apart."""
    (desk.folder / "Students.CSV").write_text("student,name\nann-29,Ann Lee\n")
    report = desk.collect("tiny", _folder(tmp_path, {"Ann Lee.ipynb": book, "bo.ipynb": book}))
    assert report.taken == [("ann-29", "Ann Lee.ipynb")]
    assert desk.class_list() == ["ann-29"]


def test_a_class_list_that_is_gone_takes_nothing(desk, book, tmp_path, capsys):
    """Definition: it is told where it was and where its copy is; with the copy away too, names come from files."""
    words = ["desk", "--desk", str(desk.folder), "collect", "tiny"]
    listed, kept = desk.folder / "students.csv", desk.folder / "ledger" / "class-list.csv"
    listed.write_text("student,name\nann-29,Ann Lee\n")
    assert command.main([*words, str(_folder(tmp_path / "a", {"ann-29.ipynb": book}))]) == 0
    assert "There is no class list" not in capsys.readouterr().out
    assert kept.read_bytes() == listed.read_bytes()
    listed.unlink()
    more = str(_folder(tmp_path / "b", {"Ann Lee first.ipynb": book + " "}))
    for _ in range(2):
        assert command.main([*words, more]) == 2
        said = capsys.readouterr().err
        assert f"The class list {listed} is gone, so nothing is taken" in said and str(kept) in said
    assert desk.students("tiny") == ["ann-29"]
    kept.unlink()
    for _ in range(2):
        assert command.main([*words, more]) == 0
        assert capsys.readouterr().out.startswith("There is no class list, so the names below are taken from")
    assert desk.students("tiny") == ["ann-29", "ann-lee-first"]
    listed.write_text("student,name\nann-29,Ann Lee\n")
    for _ in range(2):
        assert command.main([*words, more]) == 0
        said = capsys.readouterr().out
        assert "not listed ann-lee-first: work is here, and nobody of that name is on the class list" in said
    assert "take-out tiny ann-lee-first" in said
    desk.take_out("tiny", "ann-lee-first")
    assert command.main([*words, more]) == 0
    assert "not listed" not in capsys.readouterr().out


def test_hostile_zips(desk, book, tmp_path):
    """Definition: paths that climb out, sizes that lie and files that are no zip harm nothing."""
    path = tmp_path / "bad.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("../../outside/kim.ipynb", book)
        archive.writestr("lars.ipynb", " " * 40_000_000)
    report = desk.collect("tiny", path)
    assert report.taken == [("outside", "../../outside/kim.ipynb")]
    assert report.listed == [("lars.ipynb", "it is larger than 30 MB")]
    assert not (tmp_path / "outside").exists()
    assert not list(tmp_path.parent.glob("outside"))
    (tmp_path / "no.zip").write_bytes(b"nothing")
    with pytest.raises(BadData, match=r"no.zip is not a zip file that can be opened"):
        desk.collect("tiny", tmp_path / "no.zip")
    with pytest.raises(BadData, match="There is nothing at"):
        desk.collect("tiny", tmp_path / "nowhere")


def test_a_zip_inside_a_folder(desk, book, tmp_path):
    """Definition: a student's own zip is looked into; a broken one is listed."""
    inner = io.BytesIO()
    with zipfile.ZipFile(inner, "w") as archive:
        archive.writestr("tiny/tiny.ipynb", book)
    place = _made(tmp_path / "in")
    (place / "mia.zip").write_bytes(inner.getvalue())
    (place / "nils.zip").write_bytes(b"PK broken")
    report = desk.collect("tiny", place)
    assert report.taken == [("mia", "mia/tiny/tiny.ipynb")]
    assert report.listed == [("nils.zip", "it is not a zip file that can be opened")]


def _zipped(files):
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return made.getvalue()


def test_a_zip_inside_a_zip(desk, book, tmp_path):
    """Definition: one level deep it is taken, under the name of the zip; all that lies in it has one file's limit."""
    inner = {
        "Ben Ode_48213_assignsubmission_file_/work.zip": _zipped({"homework.ipynb": book}),
        "amirakhan_12345_67890_work.zip": _zipped({"homework.ipynb": book}),
        "chen.ZIP": _zipped({"tiny.ipynb": book, "deeper.zip": _zipped({"dara.ipynb": book})}),
        "nils.zip": b"PK broken",
        "lars.zip": _zipped({f"{n}.ipynb": b" " * 20_000_000 for n in range(3)}),
    }
    path = tmp_path / "in.zip"
    path.write_bytes(_zipped(inner))
    (desk.folder / "students.csv").write_text("student,name\na1,Amira Khan\nb2,Ben Ode\nchen,\nlars,\n")
    report = desk.collect("tiny", path)
    assert sorted(report.taken)[:3] == [
        ("a1", "amirakhan_12345_67890_work/homework.ipynb"),
        ("b2", "Ben Ode_48213_assignsubmission_file_/work/homework.ipynb"),
        ("chen", "chen/tiny.ipynb"),
    ]
    listed = dict(report.listed)
    assert listed["chen/deeper.zip"].startswith("it is a zip inside a zip inside a zip: unpack it")
    assert listed["nils.zip"] == "it is not a zip file that can be opened"
    too_much = "it cannot be read (more than 30 MB in a zip inside a zip)"
    assert (listed["lars/1.ipynb"], listed["lars/2.ipynb"]) == (too_much, too_much)


def test_too_many_files_are_refused_wherever_they_lie(desk, tmp_path, monkeypatch):
    """Definition: files in zips count with the others."""
    monkeypatch.setattr(collect, "_MOST_FILES", 5)
    (tmp_path / "in.zip").write_bytes(_zipped({"a.zip": _zipped(dict.fromkeys("abcdef", b""))}))
    with pytest.raises(BadData, match="more than 5 files"):
        desk.collect("tiny", tmp_path / "in.zip")


def test_collecting_before_handing_out_is_told(handed_out, tmp_path, monkeypatch):
    """Definition: the steps have an order, and the message names the step as typed; a wrong name comes first."""
    desk = Desk(tmp_path / "empty", handed_out[0] / "solutions")
    monkeypatch.setattr("os.name", "posix")
    typed = f"python3 lib/start.py desk --desk {desk.folder} hand-out tiny"
    with pytest.raises(BadData, match=f"'tiny' is not handed out yet: type '{typed}' first"):
        desk.collect("tiny", tmp_path)
    with pytest.raises(BadData, match="There is no lesson called 'tinny': choose from tiny"):
        desk.collect("tinny", tmp_path)
    monkeypatch.setenv("NEEDLEWORK_DESK", str(desk.folder))
    assert desk.command("marks", "tiny") == "python3 lib/start.py desk marks tiny"


def test_an_empty_folder_is_told(desk, tmp_path):
    """Definition: nothing to collect is a mistake, not a success with nothing."""
    with pytest.raises(BadData, match="nothing here is empty: give the folder or zip"):
        desk.collect("tiny", _made(tmp_path / "nothing here"))


def test_names_with_letters_of_other_languages(desk, book, tmp_path):
    """Definition: accents and letters that a keyboard lacks make no difference; semicolons are as good as commas."""
    text = "student;name\nhelene-3;H\u00e9l\u00e8ne \u00d8rsted\nlech-4;Lech Wa\u0142\u0119ga\n"
    (desk.folder / "students.csv").write_text(text, encoding="utf-8")
    report = desk.collect("tiny", _folder(tmp_path, {"Helene Orsted.ipynb": book, "walega_lech.ipynb": book}))
    assert sorted(student for student, _ in report.taken) == ["helene-3", "lech-4"]
    assert collect.full_names(desk.folder / "students.csv")["helene-3"] == "H\u00e9l\u00e8ne \u00d8rsted"
    assert collect.full_names(desk.folder / "nowhere.csv") == {}


def test_a_damaged_file_replaces_nothing_and_is_replaced(desk, book, tmp_path):
    """Definition: readable work counts before a damaged file, whichever is newer; both are kept."""
    good = _folder(tmp_path / "1", {"ida.ipynb": book})
    torn = _folder(tmp_path / "2", {"ida.ipynb": book[:700]})
    os.utime(torn / "ida.ipynb", (1_900_000_000,) * 2)
    desk.collect("tiny", good)
    for _ in range(2):
        report = desk.collect("tiny", torn, this_one=True)
        assert report.taken == []
        ((name, why),) = report.listed
        assert name == "ida.ipynb"
        assert "cannot be read to its end, so the version of 2027-01-15 08:00 UTC still counts for ida" in why
    assert (desk.folder / "submitted/ida/tiny/tiny.ipynb").read_text() == book
    (kept,) = (desk.folder / "earlier" / "ida").glob("tiny-*/tiny.ipynb")
    assert kept.read_text() == book[:700]
    for place in (torn, good):
        (place / "ida.ipynb").rename(place / "jo.ipynb")
    assert desk.collect("tiny", torn).taken == [("jo", "jo.ipynb")]
    assert desk.collect("tiny", good).taken == [("jo", "jo.ipynb")], "older, but it can be read"
    assert (desk.folder / "submitted/jo/tiny/tiny.ipynb").read_text() == book


def test_a_version_can_be_chosen(desk, book, tmp_path):
    """Definition: the later file counts unless another is chosen; the choice lasts until something new comes."""
    first = _folder(tmp_path / "1", {"ida.ipynb": book})
    second = _folder(tmp_path / "2", {"ida.ipynb": book + " "})
    os.utime(second / "ida.ipynb", (1_850_000_000,) * 2)
    submitted = desk.folder / "submitted/ida/tiny/tiny.ipynb"
    desk.collect("tiny", first)
    report = desk.collect("tiny", second)
    assert report.instead["ida"].startswith(
        "the version of 2027-01-15 08:00 UTC, not marked, kept as earlier/ida/tiny-"
    )
    (kept,) = (desk.folder / "earlier" / "ida").glob("tiny-*/tiny.ipynb")
    assert desk.collect("tiny", first).before == {"older": ["ida"]}
    assert desk.collect("tiny", kept, this_one=True).taken == [("ida", "tiny.ipynb")]
    assert submitted.read_text() == book
    assert desk.collect("tiny", second).before == {"older": ["ida"]}, "it was passed over"
    assert submitted.read_text() == book
    third = _folder(tmp_path / "3", {"ida.ipynb": book + "  "})
    os.utime(third / "ida.ipynb", (1_860_000_000,) * 2)
    assert desk.collect("tiny", third).taken == [("ida", "ida.ipynb")], "something new"
    assert desk.collect("tiny", second / "ida.ipynb", this_one=True).taken == [("ida", "ida.ipynb")]
    both = _folder(tmp_path / "4", {"a/ida.ipynb": book, "b/ida (2).ipynb": book + " "})
    with pytest.raises(BadData, match=r"has several files of .*: give the one file that is to count"):
        desk.collect("tiny", both, student="ida", this_one=True)
    kept = {path.read_text() for path in (desk.folder / "earlier").rglob("*.ipynb")} | {submitted.read_text()}
    assert kept == {book, book + " ", book + "  "}


def test_whose_a_file_is_can_be_said(desk, book, tmp_path):
    """Definition: the instructor's word goes before the file's name; with a list it must be somebody on it."""
    place = _folder(tmp_path, {"tiny.ipynb": book})
    assert desk.collect("tiny", place, student="Ida Roux").taken == [("ida-roux", "tiny.ipynb")]
    (desk.folder / "students.csv").write_text("student,name\nfinch1,Lena Ek\n", encoding="utf-8")
    assert desk.collect("tiny", place, student="lena ek").taken == [("finch1", "tiny.ipynb")]
    with pytest.raises(BadData, match="'Kofi' is not on the class list: give the word in its column 'student'"):
        desk.collect("tiny", place, student="Kofi")


def test_one_file_alone_is_matched_by_the_folders_above_it(desk, book, tmp_path, monkeypatch):
    """Definition: what a folder of files says of a student, the path of one file in it says too, however typed."""
    (desk.folder / "students.csv").write_text("student,name\nli-28,Li Wen\nann-29,Ann Lee\nbo-3,Bo Ek\n")
    moodle = "Ann Lee_48213_assignsubmission_file_"
    files = {"li-28/tiny.ipynb": book, f"{moodle}/li-28.ipynb": book + " ", "bo-3/tiny.ipynb": book + "  "}
    place = _folder(tmp_path, files)
    assert desk.collect("tiny", place / "li-28" / "tiny.ipynb").taken == [("li-28", "tiny.ipynb")]
    assert desk.collect("tiny", place / moodle / "li-28.ipynb").taken == [("ann-29", "li-28.ipynb")]
    monkeypatch.chdir(place / "bo-3")
    assert desk.collect("tiny", Path("tiny.ipynb")).taken == [("bo-3", "tiny.ipynb")]
    # What is printed is typed as it stands.
    again = _folder(tmp_path / "b", {"li-28/tiny.ipynb": book + "   "})
    os.utime(again / "li-28" / "tiny.ipynb", (1_850_000_000,) * 2)
    assert desk.collect("tiny", again).taken[0][0] == "li-28"
    assert desk.collect("tiny", place / "li-28" / "tiny.ipynb", this_one=True).taken == [("li-28", "tiny.ipynb")]


def _typed(desk, line):
    """Run a line of the desk as it was printed; give what it prints."""
    words = shlex.split(line)
    command.main([*words[words.index("desk") :]])


def test_the_commands_that_collect_prints_work_as_printed(desk, book, tmp_path, capsys, monkeypatch):
    """Definition: the line printed for another version, and that for a file without a name, do what they say."""
    monkeypatch.setenv("NEEDLEWORK_SOLUTIONS", str(desk.solutions))
    (desk.folder / "students.csv").write_text("student,name\nli-28,Li Wen\nann-29,Ann Lee\n")
    old = _folder(tmp_path / "1", {"li 28/tiny.ipynb": book})
    new = _folder(tmp_path / "2", {"li 28/tiny.ipynb": book + " ", "tiny.ipynb": book + "  "})
    os.utime(new / "li 28" / "tiny.ipynb", (1_850_000_000,) * 2)
    desk.collect("tiny", old)
    _typed(desk, desk.command("collect", "tiny", str(new)))
    lines = [line for line in capsys.readouterr().out.splitlines() if " collect tiny " in line]
    chosen, named = lines
    assert "--student li-28 --this-one" in chosen
    submitted = desk.folder / "submitted/li-28/tiny/tiny.ipynb"
    assert submitted.read_text() == book + " "
    _typed(desk, chosen)
    assert submitted.read_text() == book
    _typed(desk, named.replace("NAME", "ann-29"))
    assert (desk.folder / "submitted/ann-29/tiny/tiny.ipynb").read_text() == book + "  "
    # A file without a name that was settled counts again when it is given alone.
    _typed(
        desk, desk.command("collect", "tiny", str(old / "li 28" / "tiny.ipynb"), "--student", "ann-29", "--this-one")
    )
    _typed(desk, named.replace("--student NAME", "--this-one"))
    assert (desk.folder / "submitted/ann-29/tiny/tiny.ipynb").read_text() == book + "  "


def test_a_file_in_a_zip_can_be_given_alone(desk, book, tmp_path, capsys, monkeypatch):
    """Definition: below the zip's own name or as it was shown, also where the zip lies in a folder or in a zip."""
    (desk.folder / "students.csv").write_text("student,name\nann-29,Ann Lee\nbo-3,Bo Ek\n")
    monkeypatch.setenv("NEEDLEWORK_SOLUTIONS", str(desk.solutions))
    place = _made(tmp_path / "in")
    inner = _zipped({"work.ipynb": book + "  "})
    files = {"annli_4415_771_tiny.ipynb": book, "x/notes.ipynb": book + " ", "pack.zip": inner}
    (place / "submissions.zip").write_bytes(_zipped(files))
    shown = [name for name, _ in desk.collect("tiny", place).listed]
    assert shown == [
        "submissions/annli_4415_771_tiny.ipynb",
        "submissions/x/notes.ipynb",
        "submissions/pack/work.ipynb",
    ]
    submitted = desk.folder / "submitted/ann-29/tiny/tiny.ipynb"
    texts = [book, book + " ", book + "  "]
    for name, text in zip(shown, texts, strict=True):
        desk.collect("tiny", place / name, "ann-29", this_one=True)
        assert submitted.read_text() == text
    desk.collect("tiny", place / "submissions.zip" / "pack.zip" / "work.ipynb", "bo-3")
    assert (desk.folder / "submitted/bo-3/tiny/tiny.ipynb").read_text() == book + "  "
    (place / "submissions.zip").write_bytes(_zipped({"homework.ipynb": book + "   "}))
    for given in (place, place / "submissions.zip", place / "submissions.zip" / "homework.ipynb"):
        shutil.rmtree(desk.folder / "ledger")
        command.main(["desk", "--desk", str(desk.folder), "collect", "tiny", str(given)])
        told = capsys.readouterr().out.splitlines()
        (line,) = [each for each in told if " collect tiny " in each and each.endswith(" --student NAME")]
        _typed(desk, line.replace("NAME", "bo-3") + " --this-one")
        assert (desk.folder / "submitted/bo-3/tiny/tiny.ipynb").read_text() == book + "   "
        desk.take_out("tiny", "bo-3")
    for nowhere in ("submissions.zip/none.ipynb", "submissions/none.ipynb", "none/none.ipynb"):
        with pytest.raises(BadData, match=r"There is nothing at .*one file in them"):
            desk.collect("tiny", place / nowhere)


def test_the_line_that_lets_another_version_count_is_for_whom_was_refused(desk, book, tmp_path, capsys, monkeypatch):
    """Definition: it names that student and that file, whoever else came before in order; typed, it counts."""
    (desk.folder / "students.csv").write_text("student,name\nbittern-2,\nheron-8,\n")
    monkeypatch.setenv("NEEDLEWORK_SOLUTIONS", str(desk.solutions))
    desk.collect("tiny", _folder(tmp_path / "a", {"bittern-2.ipynb": book, "heron-8.ipynb": book}))
    later = _folder(tmp_path / "b", {"bittern-2.ipynb": book + " ", "heron-8.ipynb": book + " "})
    os.utime(later / "bittern-2.ipynb", (1_800_009_999,) * 2)
    capsys.readouterr()
    assert command.main(["desk", "--desk", str(desk.folder), "collect", "tiny", str(later)]) == 0
    said = capsys.readouterr().out
    assert "taken      bittern-2" in said and "it has the same time" in said
    (line,) = [each for each in said.splitlines() if " collect tiny " in each]
    assert "--student heron-8 --this-one" in line
    _typed(desk, line)
    assert (desk.folder / "submitted/heron-8/tiny/tiny.ipynb").read_text() == book + " "


CANVAS = "student,name\nann-29,Ann Lee\nbo-3,Bo Ek\nli-28,Li Wen\n"


def test_files_without_a_time_of_their_own(desk, book, tmp_path):
    """Definition: no time is made up; marked late counts as later, and what cannot be told is left as it is."""
    (desk.folder / "students.csv").write_text(CANVAS)
    first = {"annlee_4415_7710_tiny.ipynb": book, "boek_4416_7711_tiny.ipynb": book}
    (tmp_path / "1.zip").write_bytes(_zipped(first))
    desk.collect("tiny", tmp_path / "1.zip")
    second = {"annlee_LATE_4415_10001_tiny.ipynb": book + " ", "boek_4416_9711_tiny.ipynb": book + " "}
    (tmp_path / "2.zip").write_bytes(_zipped(second))
    report = desk.collect("tiny", tmp_path / "2.zip")
    assert [student for student, _ in report.taken] == ["ann-29", "bo-3"], "late is later; so is a higher number"
    assert report.instead["ann-29"].startswith(
        "the version without a time, not marked, kept as earlier/ann-29/tiny-no-"
    )
    (tmp_path / "1.zip").rename(tmp_path / "3.zip")
    assert desk.collect("tiny", tmp_path / "3.zip").before == {"older": ["ann-29", "bo-3"]}
    timed = _folder(tmp_path / "4", {"ann-29.ipynb": book + "  ", "bo-3.ipynb": book + "  "})
    report = desk.collect("tiny", timed)
    assert report.older == [("ann-29", "ann-29.ipynb")] and report.taken == []
    ((name, why),) = report.listed
    assert name == "bo-3.ipynb"
    assert why.startswith(
        "no time tells if it came before or after, so the version without a time still counts for bo"
    )
    assert desk.collect("tiny", timed).listed == [], "told once"
    # What was chosen stays, and its mark of the platform comes back with it.
    desk.collect("tiny", timed / "ann-29.ipynb", this_one=True)
    desk.collect("tiny", tmp_path / "2.zip")
    assert (desk.folder / "submitted/ann-29/tiny/tiny.ipynb").read_text() == book + "  "
    late = next(p for p in (desk.folder / "earlier/ann-29").glob("*/tiny.ipynb") if p.read_text() == book + " ")
    desk.collect("tiny", late, this_one=True)
    said = desk.folder / "submitted/ann-29/tiny/said-by-platform.txt"
    assert said.read_text().startswith("late")
    assert "1980" not in " ".join(
        [*report.instead.values(), why, *(p.name for p in (desk.folder / "earlier").rglob("*"))]
    )


def test_two_versions_of_the_same_time(desk, book, tmp_path):
    """Definition: what counts stays, however often and in whatever order they come again; a choice holds as well."""
    a = _folder(tmp_path / "a", {"ida.ipynb": book})
    b = _folder(tmp_path / "b", {"ida.ipynb": book + " "})
    submitted = desk.folder / "submitted/ida/tiny/tiny.ipynb"
    desk.collect("tiny", a)
    assert "it has the same time, so the version of" in desk.collect("tiny", b).listed[0][1]
    for place in (a, b, a, b):
        desk.collect("tiny", place)
        assert submitted.read_text() == book
    desk.collect("tiny", b, this_one=True)
    for place in (a, b, a):
        desk.collect("tiny", place)
        assert submitted.read_text() == book + " "
    # Said of what counts already, it is a choice as well.
    c = _folder(tmp_path / "c", {"ida.ipynb": book + "  "})
    os.utime(c / "ida.ipynb", (1_850_000_000,) * 2)
    desk.collect("tiny", c)
    assert desk.collect("tiny", c, this_one=True).same == ["ida"]
    desk.collect("tiny", b)
    assert submitted.read_text() == book + "  "


def test_ones_own_work_goes_before_a_newer_file_of_another(desk, book, tmp_path):
    """Definition: whichever came first, the file with one's own name counts, and only the other is told of."""
    own, other = _by(book, "finn-6"), _by(book, "greta-7")
    place = _folder(tmp_path, {"homework/finn-6.ipynb": own, "submissions/finn-6.ipynb": other})
    assert desk.collect("tiny", place / "submissions").taken
    report = desk.collect("tiny", place / "homework")
    assert report.taken == [("finn-6", "finn-6.ipynb")] and report.older == report.listed == []
    assert "its numbers are those of “greta-7”, kept as" in report.instead["finn-6"]
    report = desk.collect("tiny", place)
    assert (report.same, report.older, report.listed) == (["finn-6"], [], [])
    assert report.before == {"with another name": ["finn-6"]}


def test_letters_that_are_spelled_out(desk, book, tmp_path):
    """Definition: ä and ae, ß and ss, ø and oe, å and aa and their like are one; what is written alike goes first."""
    names = {
        "gruen-8": "Jürgen Grünwald",
        "mo-2": "Moeller Weiss",
        "aa-3": "Åse Ørsted",
        "jo-4": "Jo Lund",
        "joe-5": "Joe Lund",
        "bar-6": "Bärbel Öz",
    }
    text = "student,name\n" + "".join(f"{student},{name}\n" for student, name in names.items())
    (desk.folder / "students.csv").write_text(text, encoding="utf-8")
    files = {
        "Juergen Gruenwald.ipynb": "gruen-8",
        "Möller Weiß.ipynb": "mo-2",
        "Aase Oersted.ipynb": "aa-3",
        "Jo Lund.ipynb": "jo-4",
        "Joe Lund.ipynb": "joe-5",
        "oezbaerbel_4415_7710_tiny.ipynb": "bar-6",
    }
    texts = {name: _by(book, PurePosixPath(name).stem) for name in files}
    report = desk.collect("tiny", _folder(tmp_path, texts))
    assert {name: student for student, name in report.taken} == files and report.listed == []
    full = collect.full_names(desk.folder / "students.csv")
    assert whose.of_somebody_else("Juergen Gruenwald", "gruen-8", full) == ""
    assert whose.of_somebody_else("Joe Lund", "jo-4", full) == "its numbers are those of “Joe Lund”, who is joe-5"


def test_of_two_whom_one_name_fits_the_word_typed_in_it_tells(desk, book, tmp_path):
    """Definition: only where both names come from one place, and only to one of these two."""
    (desk.folder / "students.csv").write_text("student,name\nann-29,Ann Lee\nlee-30,Lee Ann\nbo-3,Bo Ek\n")
    files = {
        "Ann Lee.ipynb": _by(book, "ann-29"),
        "x/Ann Lee.ipynb": _by(book, "bo-3"),
        "ann-29/bo-3.ipynb": _by(book, "ann-29"),
    }
    report = desk.collect("tiny", _folder(tmp_path, files))
    assert report.taken == [("ann-29", "Ann Lee.ipynb")]
    assert [why.partition(" in its")[0] for _, why in report.listed] == [
        "several names (ann-29, bo-3)",
        "several names (ann-29, lee-30)",
    ]


@pytest.mark.parametrize(
    "name", ["osprey-15 and rail-18", "Rail Eighteen, Osprey Fifteen", "osprey-15_Rail Eighteen"]
)
def test_two_persons_in_one_name_are_listed_whoever_is_typed_in_it(desk, book, tmp_path, name):
    """Definition: nothing is replaced by it; both names of the list are told, and the one that is typed."""
    (desk.folder / "students.csv").write_text("student,name\nosprey-15,Osprey Fifteen\nrail-18,Rail Eighteen\n")
    own = _by(book, "osprey-15")
    desk.collect("tiny", _folder(tmp_path / "a", {"osprey-15.ipynb": own}))
    report = desk.collect("tiny", _folder(tmp_path / "b", {f"{name}.ipynb": own + " "}))
    assert (report.taken, report.instead) == ([], {})
    assert "several names (osprey-15, rail-18) in its path (typed in it is “osprey-15”)" in report.listed[0][1]
    assert (desk.folder / "submitted" / "osprey-15" / "tiny" / "tiny.ipynb").read_text() == own


def test_what_is_no_hand_in_is_told_once_and_by_whom(desk, book, tmp_path):
    """Definition: a file's kind and sender where its name tells them; later in one line; anything new in full."""
    (desk.folder / "students.csv").write_text("student,name\nxeno-25,Xeno Park\nrask-19,Ra Sk\n")
    files = {
        "xeno-25.docx": "x",
        "Xeno Park.JPG": "x",
        "notes.pdf": "x",
        "tiny.ipynb": book + "  ",
        "rask-19.ipynb.json": book,
        "xeno-25/.ipynb_checkpoints/tiny-checkpoint.ipynb": book,
    }
    place = _folder(tmp_path, files)
    zipped = _made(tmp_path / "zipped") / "all.zip"
    zipped.write_bytes(_zipped({name: text for name, text in files.items() if name != "tiny.ipynb"}))
    report = desk.collect("tiny", place)
    assert report.taken == [("rask-19", "rask-19.ipynb.json")]
    nobody = f"no name of the class list in its path: {REMEDY}"
    assert dict(report.listed) == {
        "xeno-25.docx": "xeno-25 sent a Word file: it is not a notebook (.ipynb)",
        "Xeno Park.JPG": "xeno-25 sent a picture: it is not a notebook (.ipynb)",
        "notes.pdf": "it is not a notebook (.ipynb)",
        "tiny.ipynb": nobody,
    }
    again = desk.collect("tiny", place)
    assert again.listed == again.nameless == [] and sorted(again.listed_before) == sorted(dict(report.listed))
    assert desk.collect("tiny", place / "tiny.ipynb").listed == [("tiny.ipynb", nobody)], "alone it is told again"
    (place / "tiny.ipynb").write_text(book + " ")
    again = desk.collect("tiny", place)
    assert again.listed == [("tiny.ipynb", nobody)] and again.nameless == ["tiny.ipynb"], "another file"
    assert not any("checkpoint" in name for name, _ in (*report.older, *desk.collect("tiny", zipped).listed))


def test_a_file_without_a_name_in_place_of_one_with_a_name_is_told(desk, book, tmp_path):
    """Definition: it counts, as the later one, and the line says what is different about it."""
    desk.collect("tiny", _folder(tmp_path, {"finn-6.ipynb": _by(book, "finn-6")}))
    later = _folder(tmp_path / "b", {"finn-6.ipynb": _by(book, "")})
    os.utime(later / "finn-6.ipynb", (1_850_000_000,) * 2)
    report = desk.collect("tiny", later)
    assert report.taken and "with a name typed in it, and in the new one there is none" in report.instead["finn-6"]
