"""Marks into the school's systems and back: spreadsheets, learning platforms, and the zips that these hand out."""

import copy
import csv
import io
import json
import re
import shutil
import zipfile

import hand_in_bank as bank
import pytest
import tiny_lesson
from needlework.basis.errors import BadData
from needlework.course import command
from needlework.desk import collect, tables
from needlework.desk.homework import Desk

LESSON, CONE, SIDE = bank.LESSON, bank.CONE, "sp-predict"
LIST = (
    "student,name,email\nfinch-7,Finch Seven,f.seven@school.example\nrobin-2,Robin Two,\n"
    "owl-4,Owl Four,\nwren,Wren,\n"
)


def named(student):
    """The bank's copy, every answer right but the flight, with the numbers of another student."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(bank, "STUDENT", student)
        return bank.base()


@pytest.fixture(scope="module")
def marked(tmp_path_factory):
    """Three plain hand-ins and a damaged one, marked once."""
    folder = tmp_path_factory.mktemp("school")
    desk = Desk(folder / "desk")
    desk.hand_out(LESSON)
    (desk.folder / "students.csv").write_text(LIST, encoding="utf-8")
    for student, name in (("finch-7", bank.STUDENT), ("robin-2", "Robin Two"), ("owl-4", "Owl Four")):
        tiny_lesson.write(named(name), folder / "in" / f"{student}.ipynb")
    (folder / "in" / "wren.ipynb").write_text(json.dumps(bank.BASE)[:500], encoding="utf-8")
    desk.collect(LESSON, folder / "in")
    desk.mark(LESSON)
    return desk


@pytest.fixture
def desk(marked, tmp_path):
    shutil.copytree(marked.folder, tmp_path / "desk")
    return Desk(tmp_path / "desk")


def table_of(desk):
    path, _ = desk.write_marks(LESSON)
    return path, tables.read(path)


def saved(path, columns, rows, sign=",", start="", line="\r\n", coding="utf-8"):
    """Write the table as a spreadsheet would, every cell in quotes."""
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, columns, delimiter=sign, lineterminator=line, quoting=csv.QUOTE_ALL, restval="")
    writer.writeheader()
    writer.writerows(rows)
    path.write_bytes((start + text.getvalue()).encode(coding))
    return path


def marks(desk, student):
    return next(row for row in desk.marks(LESSON) if row["student"] == student)


def comment(desk, student, question):
    by_hand = desk.ledger(LESSON)[student].get("by_hand", [])
    return next((one["because"] for one in by_hand if one["question"] == question), "")


# Spreadsheets -----------------------------------------------------------------------------------------------------

SPREADSHEETS = {
    "commas": {},
    "semicolons": {"sign": ";", "start": "\ufeff"},
    "tabs in UTF-16": {"sign": "\t", "coding": "utf-16"},
    "a line that says so": {"sign": ";", "start": "sep=;\r\n", "line": "\n"},
}


@pytest.mark.parametrize("way", SPREADSHEETS)
def test_a_table_comes_back_as_it_was_meant(desk, way):
    """Definition: whatever a spreadsheet makes of separators, marks, order and rows, only what was typed is set."""
    desk.set_mark(LESSON, "robin-2", SIDE, 0.5, '=1+1; said "so",\nand élan')
    before = desk.marks(LESSON)
    path, table = table_of(desk)
    rows = [row for row in table.rows if row["student"] != "owl-4"]
    columns = list(reversed(table.columns))
    german = SPREADSHEETS[way].get("sign") == ";"
    for row in rows:
        for column, text in row.items():
            if german and re.fullmatch(r"\d+\.\d+", text):
                row[column] = text.replace(".", ",")
    saved(path, columns, rows, **SPREADSHEETS[way])
    report = desk.read_marks(LESSON, path)
    assert (report.changes, report.listed, report.unchanged) == ([], [], 3)
    assert desk.marks(LESSON) == before
    (finch,) = (row for row in rows if row["student"] == "finch-7")
    finch[CONE], finch[f"{CONE} comment"] = ("1,5" if german else "1.5"), "Rounded.\r\nTwice."
    saved(path, columns, rows, **SPREADSHEETS[way])
    report = desk.read_marks(LESSON, path)
    assert report.listed == [] and len(report.changes) == 1
    assert marks(desk, "finch-7")[CONE] == 1.5 and marks(desk, "finch-7")["mark"] == bank.ALL - 0.5
    assert comment(desk, "finch-7", CONE) == "Rounded.\nTwice."
    assert comment(desk, "robin-2", SIDE) == '=1+1; said "so",\nand élan'
    assert marks(desk, "owl-4")["mark"] == bank.ALL
    # Read once more, it says what the desk says already.
    assert desk.read_marks(LESSON, path).changes == []
    (desk.folder / "gradebook.db").unlink()
    desk.mark(LESSON)
    assert marks(desk, "finch-7")[CONE] == 1.5 and comment(desk, "finch-7", CONE) == "Rounded.\nTwice."
    assert "Twice." in (desk.hand_back(LESSON, "marks")[0] / "finch-7.html").read_text(encoding="utf-8")


def test_what_cannot_be_taken_is_listed_and_nothing_is_lost(desk):
    """Definition: a conflict, a stranger, an impossible mark: each has its sentence, and the rest is set."""
    path, table = table_of(desk)
    rows = {row["student"]: row for row in table.rows}
    desk.set_mark(LESSON, "finch-7", CONE, 1, "At the desk.")
    rows["finch-7"] |= {CONE: "0.5", f"{CONE} comment": "In the table.", SIDE: "0.5"}
    rows["robin-2"] |= {CONE: "2.5", SIDE: "lots", "mark": "3", "sp-flags": ""}
    rows["owl-4"] |= {CONE: "-1", SIDE: "0", "my column": "x"}
    rows["wren"] |= {CONE: "1"}
    strangers = [{**rows["robin-2"], "student": "nobody"}, dict(rows["owl-4"]), {**rows["owl-4"], "lesson": "x"}]
    strangers[1]["student"] = "Owl Four"
    everything = [*rows.values(), *strangers]
    report = desk.read_marks(LESSON, saved(path, [*table.columns, "my column"], everything))
    told = "\n".join(report.listed)
    for sentence in (
        "Not of this lesson, and left alone: the columns 'my column'.",
        f"finch-7, '{CONE}': the table says 0.5, but at the desk the mark became 1 since the table was written",
        f"finch-7, '{CONE}': the comment was changed in the table and at the desk (“At the desk.”)",
        "the table's is not taken: “In the table.”.",
        "robin-2: the mark 3 of the whole lesson is a sum and was not taken",
        f"robin-2, '{CONE}': 2.5 is no possible mark: give a number from 0 to 2.",
        f"robin-2, '{SIDE}': 'lots' is no mark: give a number from 0 to",
        "robin-2, 'sp-flags': the cell was emptied, and the mark stays: type back to take one back.",
        f"owl-4, '{CONE}': -1 is no possible mark",
        f"wren, '{CONE}': the work has no marks in which one could be changed: mark it first.",
        "'nobody' is not on the class list",
        "owl-4 stands in two rows; only the first one counts.",
        "owl-4: this row is of 'x', so nothing of it is taken.",
    ):
        assert sentence in told, sentence
    assert len(report.listed) == 12
    assert {(one.student, one.question, one.mark) for one in report.changes} == {
        ("finch-7", SIDE, 0.5),
        ("owl-4", SIDE, 0.0),
    }
    assert (marks(desk, "finch-7")[CONE], comment(desk, "finch-7", CONE)) == (1, "At the desk.")
    _, table = table_of(desk)
    rows = {row["student"]: row for row in table.rows}
    rows["finch-7"] |= {CONE: "back", SIDE: ""}
    rows["owl-4"]["written"] = ""
    report = desk.read_marks(LESSON, saved(path, table.columns, rows.values()))
    assert [(one.question, one.mark) for one in report.changes] == [(CONE, None)]
    assert marks(desk, "finch-7")[CONE] == 2 and comment(desk, "finch-7", CONE) == "At the desk."
    assert "owl-4: the column 'written' does not say from which file this row is" in "\n".join(report.listed)


@pytest.mark.parametrize("text", ["=1+1", "+41", "-1", "@SUM(A1)", "\t=1", "'=1", "''=1", "'quoted'", "plain", ""])
def test_no_cell_is_a_formula(text):
    """Source: OWASP, CSV Injection: no cell may begin with = + - @, tab or carriage return; and it comes back."""
    (row,) = csv.DictReader(io.StringIO(tables.written(["a"], [{"a": text or " "}])))
    assert not row["a"].startswith(("=", "+", "-", "@", "\t", "\r"))
    assert tables.meant(row["a"]) == (text or " ")


def test_what_is_no_table_is_told(desk, tmp_path):
    """Definition: one sentence for each, and the marks stay as they are."""
    for content, told in (
        (b"", "is empty"),
        (b"\xff\xd8\xff\xe0 picture", "save it as CSV in UTF-8"),
        ("student,café\n".encode("latin-1"), "save it as CSV in UTF-8"),
        (b"student,student\n1,2\n", "has two columns 'student'"),
        (b"name,mark\nx,1\n", "This table has no column 'student' or none of a question"),
    ):
        (tmp_path / "x.csv").write_bytes(content)
        with pytest.raises(BadData, match=re.escape(told)):
            desk.read_marks(LESSON, tmp_path / "x.csv")
    with pytest.raises(BadData, match="cannot be read"):
        desk.read_marks(LESSON, tmp_path / "none.csv")


# Learning platforms -----------------------------------------------------------------------------------------------

WORKSHEET = (
    "\ufeffIdentifier,\"Full name\",\"ID number\",\"Email address\",Status,Grade,\"Maximum Grade\","
    "\"Grade can be changed\",\"Last modified (submission)\",\"Last modified (grade)\",\"Feedback comments\"\n"
    "\"Participant 801\",\"F. Seven\",,F.Seven@school.example,Submitted,,{most},Yes,-,-,\n"
    "\"Participant 802\",\"Robin Two\",robin-2,r@school.example,Submitted,,{most},No,-,-,\n"
    "\"Participant 803\",\"Four Owl\",,o@school.example,Submitted,,{most},Yes,-,-,\n"
    "\"Participant 804\",\"Somebody Else\",,s@school.example,\"No submission\",7,{most},Yes,-,-,mine\n"
)  # fmt: skip
"""Source: Moodle, mod/assign/gradingtable.php and feedback/offline: the worksheet as it is downloaded."""

GRADEBOOK = (
    "Student,ID,SIS User ID,SIS Login ID,Section,Essay (11),Station passage (12),Final Score\n"
    "    Points Possible,,,,,5,{most},(read only)\n"
    ",,,,,Manual Posting,,\n"
    '"Seven, Finch",901,,f.seven@school.example,A,3,,\n'
    '"Two, Robin",902,robin-2,rtwo,A,4,,\n'
    '"Else, Somebody",903,,selse,A,,1,\n'
)
"""Source: Canvas, lib/gradebook_importer.rb: what stands before Section, a row Points Possible, title and id."""


def test_a_grading_worksheet_is_filled(desk, tmp_path):
    """Source: the columns that importgradeslib.php reads (Identifier, Grade, Last modified, Feedback comments)."""
    desk.set_mark(LESSON, "finch-7", CONE, 1.5, "=Rounded.")
    given = tmp_path / "Grades.csv"
    given.write_text(WORKSHEET.format(most="50.00"), encoding="utf-8")
    path, filled = desk.for_platform(LESSON, given=given)
    rows = {row["Identifier"]: row for row in csv.DictReader(io.StringIO(path.read_text(encoding="utf-8")))}
    before = {row["Identifier"]: row for row in tables.read(given).rows}
    assert list(rows["Participant 801"]) == list(before["Participant 801"])
    assert rows["Participant 801"]["Grade"] == f"{bank.ALL - 0.5:g}"
    assert rows["Participant 801"]["Feedback comments"].endswith(": =Rounded.")
    assert rows["Participant 803"]["Grade"] == f"{bank.ALL:g}"
    assert (
        rows["Participant 804"] == before["Participant 804"] and rows["Participant 802"] == before["Participant 802"]
    )
    told = [
        f"The platform has 50 as full marks and the desk {bank.FULL:g}: set it there to {bank.FULL:g} first.",
        "robin-2: the platform says that this grade cannot be changed.",
    ]
    assert filled.listed == told and filled.done == ["finch-7", "owl-4"]


def test_a_gradebook_is_filled(desk, tmp_path):
    """Source: what gradebook_importer.rb reads: header, Points Possible, assignment by its title and id."""
    given = tmp_path / "book.csv"
    given.write_text(GRADEBOOK.format(most=f"{bank.FULL:g}"), encoding="utf-8")
    path, filled = desk.for_platform(LESSON, given=given)
    lines = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8"))))
    assert [line[6] for line in lines[1:]] == [f"{bank.FULL:g}", "", f"{bank.ALL:g}", f"{bank.ALL:g}", "1"]
    before = list(csv.reader(io.StringIO(given.read_text(encoding="utf-8"))))
    assert [[*line[:6], line[7]] for line in lines] == [[*line[:6], line[7]] for line in before]
    assert filled.listed == ["owl-4 is not in this file."]
    given.write_text(GRADEBOOK.replace("Station passage (12)", "Week 1 (12)"), encoding="utf-8")
    with pytest.raises(BadData, match=r"add --column with one of 'Essay \(11\)', 'Week 1 \(12\)'"):
        desk.for_platform(LESSON, given=given)
    assert desk.for_platform(LESSON, given=given, column="Week 1 (12)")[1].done == ["finch-7", "robin-2"]
    with pytest.raises(BadData, match="neither a grading worksheet of Moodle"):
        desk.for_platform(LESSON, given=desk.folder / "students.csv")


def test_forms_from_the_class_list(desk, capsys):
    """Source: gradebook_importer.rb, row_has_student_headers? and update_column_count; Moodle, Grade import."""
    words = ["desk", "--desk", str(desk.folder), "marks", LESSON, "--form"]
    assert command.main([*words, "canvas"]) == 0
    lines = list(csv.reader(io.StringIO((desk.folder / "marks" / f"{LESSON}-canvas.csv").read_text("utf-8"))))
    assert lines[0] == ["Student", "ID", "SIS User ID", "SIS Login ID", "Section", "Station passage"]
    assert lines[1] == ["    Points Possible", "", "", "", "", f"{bank.FULL}"]
    assert lines[2] == ["Finch Seven", "", "finch-7", "f.seven@school.example", "", f"{bank.ALL}"]
    assert command.main([*words, "moodle"]) == 0
    table = tables.read(desk.folder / "marks" / f"{LESSON}-moodle.csv")
    assert table.columns == ["ID number", "Full name", "Email address", "Grade", "Feedback comments"]
    assert table.rows[1] == dict(zip(table.columns, ["owl-4", "Owl Four", "", f"{bank.ALL}", ""], strict=True))
    assert "3 marks for the platform" in capsys.readouterr().out


MOODLE = {
    "Finch Seven_48213_assignsubmission_file_/robin-2.ipynb": "finch-7",
    "Two Robin_48214_assignsubmission_file_/station-passage.ipynb": "robin-2",
    "Owl Four_48215_assignsubmission_file_station passage (1).ipynb": "owl-4",
    "Stranger_48216_assignsubmission_file_/finch-7.ipynb": "",
    "Participant_48217_assignsubmission_file_/wren.ipynb": "",
    "Owl Four_48215_assignsubmission_onlinetext_/onlinetext.html": "",
}
"""Source: Moodle, mod/assign/locallib.php, download_submissions: whole name, participant, kind, own file."""
CANVAS = {
    "sevenfinch_901_77001_robin-2.ipynb": "finch-7",
    "tworobin_LATE_902_77002_station-passage-1.ipynb": "robin-2",
    "fourowl_903_77003_Untitled.ipynb": "owl-4",
    "strangerold_904_77004_finch-7.ipynb": "",
    "anon_xY3_77005_notebook.ipynb": "",
}
"""Source: Canvas, lib/content_zipper.rb, get_filename and sanitize_file_name: sorted name, LATE, person, file."""


@pytest.mark.parametrize("files", [MOODLE, CANVAS], ids=["moodle", "canvas"])
def test_zips_as_platforms_hand_them_out(marked, tmp_path, files):
    """Definition: the platform's word for whose a file is counts; what it does not tell is listed."""
    desk = Desk(tmp_path / "desk")
    shutil.copytree(marked.folder / "source", desk.folder / "source")
    (desk.folder / "students.csv").write_text(LIST, encoding="utf-8")
    path = tmp_path / "all.zip"
    with zipfile.ZipFile(path, "w") as archive:
        for name in files:
            archive.writestr(name, json.dumps(copy.deepcopy(bank.BASE)))
    report = desk.collect(LESSON, path)
    assert {name: student for student, name in report.taken} == {n: s for n, s in files.items() if s}
    assert {name for name, _ in report.listed} == {name for name, student in files.items() if not student}
    for name in files:
        assert collect.said_by_platform(name) == (
            "" if files is MOODLE or name.startswith("anon") else "late" if "LATE" in name else "in time"
        )
    (desk.folder / "students.csv").unlink()
    without = {student for student, _ in desk.collect(LESSON, path).taken}
    assert {"finch-seven", "two-robin"} <= without or {"sevenfinch", "tworobin"} <= without
