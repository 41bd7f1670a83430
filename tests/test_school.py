"""Marks into the school's systems and back: spreadsheets, learning platforms, and the zips that these hand out."""

import copy
import csv
import io
import json
import re
import shlex
import shutil
import tomllib
import zipfile
from datetime import UTC, datetime

import hand_in_bank as bank
import pytest
import tiny_lesson
from nbgrader.api import Gradebook
from needlework.basis.errors import BadData
from needlework.building import release
from needlework.course import command, start_page
from needlework.desk import collect, due, tables
from needlework.desk.homework import Desk
from needlework.exercises import progress
from needlework.exercises.catalogue import LESSONS

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
    if way != "commas":
        return
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
        "“Somebody Else” is nobody of the class list: the row is as it was.",
    ]
    assert filled.listed == told and filled.done == ["finch-7", "owl-4"]


def test_what_all_with_an_answer_are_told_is_in_the_feedback_column(desk, tmp_path):
    """Definition: a comment to all stands behind the comment of a mark by hand; who has no mark yet is named."""
    desk.set_mark(LESSON, "finch-7", CONE, 1.5, "Rounded.")
    row = marks(desk, "finch-7")
    (flight,) = [name for name, mark in row.items() if name.startswith("sp-") and mark == 0]
    assert set(desk.tell_all(LESSON, flight, "", "left out", "Fly it, however roughly.")[1]) >= {"finch-7", "owl-4"}
    desk.tell_all(LESSON, CONE, "", "left out", "Nobody hears this.")
    given = tmp_path / "Grades.csv"
    lines = WORKSHEET.format(most=f"{bank.FULL:g}").replace("Somebody Else", "Wren")
    given.write_text(lines, encoding="utf-8")
    path, filled = desk.for_platform(LESSON, given=given)
    rows = {row["Identifier"]: row for row in csv.DictReader(io.StringIO(path.read_text(encoding="utf-8")))}
    told = rows["Participant 801"]["Feedback comments"]
    assert ": Rounded." in told and "Nobody hears" not in told
    assert "Fly it, however roughly." in told and "Fly it" in rows["Participant 803"]["Feedback comments"]
    assert "“Wren”, wren, has no mark yet: the row is as it was." in filled.listed


def test_the_marks_file_says_names_and_a_file_without_them_is_read(desk):
    """Definition: the column is behind the student's word; a table of the old form changes marks as before."""
    path, table = table_of(desk)
    assert table.columns[:3] == ["student", "name", "lesson"]
    assert {row["student"]: row["name"] for row in table.rows}["finch-7"] == "Finch Seven"
    old = [column for column in table.columns if column != "name"]
    rows = [{name: row[name] for name in old} for row in table.rows]
    next(row for row in rows if row["student"] == "finch-7")[CONE] = "1"
    report = desk.read_marks(LESSON, saved(path, old, rows))
    assert [(one.student, one.mark) for one in report.changes] == [("finch-7", 1.0)] and report.listed == []
    assert marks(desk, "finch-7")[CONE] == 1


def test_a_gradebook_is_filled(desk, tmp_path):
    """Source: what gradebook_importer.rb reads: header, Points Possible, assignment by its title and id."""
    given = tmp_path / "book.csv"
    given.write_text(GRADEBOOK.format(most=f"{bank.FULL:g}"), encoding="utf-8")
    path, filled = desk.for_platform(LESSON, given=given)
    lines = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8"))))
    assert [line[6] for line in lines[1:]] == [f"{bank.FULL:g}", "", f"{bank.ALL:g}", f"{bank.ALL:g}", "1"]
    before = list(csv.reader(io.StringIO(given.read_text(encoding="utf-8"))))
    assert [[*line[:6], line[7]] for line in lines] == [[*line[:6], line[7]] for line in before]
    assert filled.listed == [
        "“Else, Somebody” is nobody of the class list: the row is as it was.",
        "owl-4 is not in this file.",
    ]
    given.write_text(GRADEBOOK.replace("Station passage (12)", "Week 1 (12)"), encoding="utf-8")
    with pytest.raises(BadData, match=r"add --column with one of 'Essay \(11\)', 'Week 1 \(12\)'"):
        desk.for_platform(LESSON, given=given)
    assert desk.for_platform(LESSON, given=given, column="Week 1 (12)")[1].done == ["finch-7", "robin-2"]
    with pytest.raises(BadData, match="neither a grading worksheet of Moodle"):
        desk.for_platform(LESSON, given=desk.folder / "students.csv")


def test_forms_from_the_class_list(desk, capsys):
    """Source: gradebook_importer.rb, row_has_student_headers? and update_column_count; of Moodle's from memory."""
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
        number = re.search(r"7700\d", name)
        assert collect.said_by_platform(name) == (
            ""
            if files is MOODLE or name.startswith("anon")
            else f"{'late' if 'LATE' in name else 'in time'} {number[0]}"
        )
    (desk.folder / "students.csv").unlink()
    (desk.folder / "ledger" / "class-list.csv").unlink()
    without = {student for student, _ in desk.collect(LESSON, path).taken}
    assert {"finch-seven", "two-robin"} <= without or {"sevenfinch", "tworobin"} <= without


# Due times --------------------------------------------------------------------------------------------------------


def due_file(desk, text):
    (desk.folder / due.NAME).write_text(text, encoding="utf-8")
    return desk


def came(desk, student, when):
    stamp = desk.folder / "submitted" / student / LESSON / "timestamp.txt"
    stamp.write_text(f"{when} UTC\n", encoding="utf-8")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            '[a]\ndue = "2026-11-30 18:00"\n\n[a]\nlate = 1\n',
            "line 4: [a] stands there a second time, after line 1; write what belongs to it below line 1, and take "
            "line 4 out.",
        ),
        ("[a]  # one\n[b]\n[a] # two\n", "line 3: [a] stands there a second time, after line 1"),
        (
            "zone = \u201cEurope/London\u201d\n",
            'line 1: its quotation marks are curly ones; write straight ones: zone = "Europe/London"',
        ),
        (
            "# \u201ca\u201d\n[a]\ndue = \u201e2026-11-30 18:00\u201c\n",
            'write straight ones: due = "2026-11-30 18:00"',
        ),
        (
            '[a]\n[a.extra]\nfinch-7 = "1 day"\nrobin-2 = 3 days\n',
            'line 4: 3 days stands there without quotation marks; write it like this: robin-2 = "3 days"',
        ),
        (
            "[late]\nper_day = 10 % # of all\n",
            'line 2: 10 % stands there without quotation marks; write it like this: per_day = "10 %"',
        ),
        (
            "zone = Europe/London",
            'line 1: Europe/London stands there without quotation marks; write it like this: zone = "Europe/London"',
        ),
        (
            "[late]\ngrace_minutes = 15 min\n",
            "line 2: 15 min is no plain number; write it like this: grace_minutes = 15",
        ),
        ('[a]\ndue = "2026-11-30 18:00\n\n', 'is not closed; write it like this: due = "2026-11-30 18:00"'),
        ('[a]\ndue = "2026-11-30 18:00', 'line 2: the quotation mark that begins "2026-11-30 18:00 is not closed'),
        ('[a.extra]\nFinch Seven = "3 days"\n', 'write it like this: "Finch Seven" = "3 days"'),
        ('[a.extra]\nh\u00e9l\u00e8ne = "3 days"\n', 'write it like this: "h\u00e9l\u00e8ne" = "3 days"'),
        (
            '[a]\ndue = "1"\n\ndue = "2"\n',
            "line 4: due stands there a second time, after line 2; take one of the two out.",
        ),
        ("[a]\ndue\n", "line 2: due has no = sign; write it like due ="),
        ("[a]\ndue =\n[b]\n", "line 2: nothing stands behind the = sign; write it like due ="),
        ("[a\ndue = 1\n", "line 1: [a is no name in brackets that can be read; write it like [a]"),
        ("[week one]\n", 'line 1: [week one] is no name in brackets that can be read; write it like ["week one"]'),
        ('[a]\ndue = "2026-11-30" 18:00\n', "is no text in one pair of quotation marks"),
    ],
)
def test_a_due_file_that_cannot_be_read_is_told_by_its_line(tmp_path, text, told):
    """Definition: one sentence with the line, what is wrong in it and what to write; no word of the reader's own."""
    path = tmp_path / due.NAME
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BadData) as caught:
        due.read(path, "a", str)
    said = str(caught.value)
    assert told in said and said.startswith(f"{path}, line "), said
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        assert str(error).partition(" (")[0] not in said
    better = re.search(r"(?:like this|straight ones): (.*)$", said)
    if better:
        assert tomllib.loads(better[1])


POLICY = """
zone = "Europe/London"
[late]
per_day = "10 %"
at_most = "50,0 %"
grace_minutes = 15
closes_after_days = 7
[station-passage]
due = "2026-10-24 18:00"
[station-passage.extra]
Robin Two = "2 days"
"""


def test_late_work_is_late_by_the_zone_and_the_policy(desk):
    """Independent method: hours by hand; on 25 October 2026 the clocks of London go back (IANA zone database)."""
    due_file(desk, POLICY.replace("Robin Two", '"Robin Two"'))
    limit = desk.due(LESSON)
    # 18:00 is 17:00 UTC in summer time; two days later the same 18:00 is 18:00 UTC.
    assert limit.of("finch-7") == datetime(2026, 10, 24, 17, 0, tzinfo=UTC)
    assert limit.of("robin-2") == datetime(2026, 10, 26, 18, 0, tzinfo=UTC)
    day = round(0.1 * bank.FULL, 2)
    for when, off, said in (
        ("2026-10-24 17:15:00", 0, ""),
        ("2026-10-24 17:16:00", day, "it came 16 min after Saturday 24 October 2026, 18:00 (Europe/London): "),
        ("2026-10-25 17:00:01", round(2 * day, 2), "it came more than 1 day after"),
        ("2026-10-31 16:59:00", round(0.5 * bank.FULL, 2), "(50 % of"),
        ("2026-11-01 00:00:00", bank.ALL, "when it was closed: all marks are taken off"),
    ):
        came(desk, "finch-7", when)
        row = marks(desk, "finch-7")
        assert (row["mark"], row["off"]) == (round(bank.ALL - off, 2), off), when
        assert said in row["notes"] and bool(row["late"]) == bool(said)
    came(desk, "finch-7", "2026-10-24 17:16:00")
    came(desk, "robin-2", "2026-10-26 18:10:00")
    assert marks(desk, "robin-2")["mark"] == bank.ALL
    path, _ = desk.write_marks(LESSON)
    assert desk.read_marks(LESSON, path).listed == []
    assert desk.set_mark(LESSON, "finch-7", CONE, 1) == round(bank.ALL - 1 - day, 2)
    page = (desk.hand_back(LESSON, "marks")[0] / "finch-7.html").read_text(encoding="utf-8")
    assert f"{bank.ALL - 1 - day:g} of {bank.FULL:g}" in page and "It came 16 min after Saturday" in page
    from needlework.desk.book import nbgrader_at_work

    with nbgrader_at_work(), Gradebook(f"sqlite:///{desk.folder / 'gradebook.db'}", "needlework") as gradebook:
        assert gradebook.find_submission(LESSON, "finch-7").late_submission_penalty == pytest.approx(day)
        assert gradebook.find_submission(LESSON, "robin-2").late_submission_penalty == 0
    # What a platform says counts where a file's own time is that of the download.
    said = desk.folder / "submitted" / "finch-7" / LESSON / "said-by-platform.txt"
    said.write_text("in time")
    assert marks(desk, "finch-7")["off"] == 0
    said.write_text("late")
    row = marks(desk, "finch-7")
    assert row["off"] == 0 and row["handed_in_utc"] == ""
    assert (
        "how late is not known, and so far nothing is taken off: write when it came into due.toml" in row["look_at"]
    )
    assert "write" not in row["late"], "what the student reads"
    # Three ways settle it; and where nothing is taken off it is no matter.
    for more, off in (('[{}.came]\nfinch-7 = "2026-10-25 17:00"', day), ('[{}.came]\nfinch-7 = "25 hours"', 2 * day)):
        due_file(desk, POLICY.replace("Robin Two", '"Robin Two"') + more.format(LESSON))
        row = marks(desk, "finch-7")
        assert (row["off"], row["look_at"]) == (pytest.approx(off), "") and "it came" in row["notes"]
    due_file(desk, POLICY.replace("Robin Two", "finch-7"))
    row = marks(desk, "finch-7")
    assert (row["off"], row["look_at"]) == (0, "") and "there was longer time, until Monday 26" in row["late"]
    due_file(desk, 'zone = "UTC"\n[station-passage]\ndue = "2026-10-24 18:00"\n')
    row = marks(desk, "finch-7")
    assert (row["off"], row["look_at"]) == (0, "") and "late, and nothing is taken off" in row["notes"]
    said.unlink()
    came(desk, "finch-7", "1980-01-01 00:00:00")
    assert "no time of its own, so nothing tells if it came late" in marks(desk, "finch-7")["notes"]


def test_a_moved_due_time_says_whose_mark_moved_and_which_pages_are_out_of_date(desk, capsys):
    """Definition: who, from what to what; a page that would tell something else is named, and no other."""

    def told(*words):
        assert command.main(["desk", "--desk", str(desk.folder), *words]) == 0
        return capsys.readouterr().out

    for student in ("finch-7", "robin-2", "owl-4"):
        came(desk, student, "2026-10-24 12:00:00")
    policy = POLICY.replace("Robin Two", '"Robin Two"')
    due_file(desk, policy)
    assert "now" not in told("mark", LESSON) and "out of date" not in told("set-mark", LESSON, "owl-4", CONE, "1")
    told("hand-back", LESSON)
    assert "out of date" not in told("mark", LESSON)
    due_file(desk, policy.replace("2026-10-24", "2026-10-23"))
    day = round(0.1 * bank.FULL, 2)
    said = told("mark", LESSON)
    all_, less = f"{bank.ALL:g}", f"{round(bank.ALL - day, 2):g}"
    assert f"    finch-7: {all_}, now {less} (it came 19 h 0 min after Friday" in said
    assert f"    owl-4: {bank.ALL - 1:g}, now {round(bank.ALL - 1 - day, 2):g} (it came" in said
    assert "robin-2:" not in said and "out of date now (2): finch-7, owl-4.\n    Hand back anew: " in said
    assert "as they were" not in said and f"finch-7  {less:>6} of" in said
    assert "now" not in told("mark", LESSON).replace("out of date now", ""), "it is told once"
    told("hand-back", LESSON)
    assert "out of date" not in told("mark", LESSON)
    # An extension, a mark by hand and a comment to all: each names the pages it changes.
    due_file(desk, policy.replace("2026-10-24", "2026-10-23") + 'finch-7 = "2 days"\n')
    said = told("mark", LESSON)
    assert f"    finch-7: {less}, now {all_} (it is in time now)" in said and "now (1): finch-7." in said
    told("hand-back", LESSON)
    assert "out of date now (1): robin-2." in told("set-mark", LESSON, "Robin Two", CONE, "1")
    # Late without a mark that moves: the page tells the time all the same.
    told("hand-back", LESSON)
    due_file(desk, 'zone = "UTC"\n[station-passage]\ndue = "2026-10-01 18:00"\n')
    assert "out of date now (3)" in told("mark", LESSON)
    # Newer work after its page.
    due_file(desk, "")
    told("hand-back", LESSON)
    book = named("Owl Four")
    book["cells"].append(copy.deepcopy(book["cells"][0]))
    file = tiny_lesson.write(book, desk.folder.parent / "new" / "owl-4.ipynb")
    told("collect", LESSON, str(file))
    assert "out of date now (1): owl-4." in told("mark", LESSON)


def test_what_a_due_file_names_wrongly_is_told_with_the_nearest_name(desk, capsys):
    """Definition: a section that is no homework counts for nothing, and that is said, with what may be meant."""
    due_file(desk, 'zoen = "x"\nzone = "UTC"\n[station-pasage]\ndue = "2030-01-02 18:00"\n[lates]\nper_day = "1 %"\n')
    for words in (["due", LESSON], ["mark", LESSON], ["hand-out", LESSON]):
        assert command.main(["desk", "--desk", str(desk.folder), *words]) == 0
        said = capsys.readouterr().out
        assert (
            "[station-pasage] is no homework and no lesson, so nothing of it counts: did you mean station-passage?"
            in said
        )
        assert "[lates] is no homework" in said and "did you mean late?" in said
        assert "'zoen' stands before the first name in brackets" in said and "did you mean zone?" in said
    due_file(desk, POLICY.replace("Robin Two", "finhc-7").replace("[late]", "[flying-an-arc]\ndue = 1\n[late]"))
    assert command.main(["desk", "--desk", str(desk.folder), "due", LESSON]) == 2
    said = "".join(capsys.readouterr())
    assert "'finhc-7' is not on the class list" in said and "Did you mean finch-7?" in said and "LOOK" not in said
    with pytest.raises(BadData, match="Did you mean robin-2\\?"):
        desk.set_mark(LESSON, "Robbin Two", CONE, 1)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('zoen = "UTC"\n[a]\ndue = "2026-11-30 18:00"', "Is 'zoen' meant for it?"),
        ('zone = "UTC"\n[a]\ndeu = "2026-11-30 18:00"', "Is 'deu' meant for it?"),
        (
            'zone = "UTC"\n[a]\ndue = "2026-11-30 18:00"\nextras = 1',
            "it takes due, late, extra, came. Did you mean extra?",
        ),
        ('zone = "UTC"\n[late]\nper_dya = "10 %"', "Did you mean per_day?"),
        ("[station-passage]\ndue = 2026-11-30 18:00", "line 2: 2026-11-30 18:00 stands there without"),
        ('[station-passage]\ndue = "2026-11-30 18:00"', "there is no zone: begin it with a line such as"),
        ('zone = "Nowhere/Lost"', "'Nowhere/Lost' is no zone that this machine knows"),
        ('zone = "UTC"\n[late]\nper_week = 1', "[late] has no word 'per_week': it takes per_day"),
        ('zone = "UTC"\n[late]\nper_day = 10', 'expected a share such as "10 %"'),
        ('zone = "UTC"\n[late]\ngrace_minutes = "1"', "expected a number such as 15"),
        ('zone = "UTC"\n[a]\nd = 1', "[a] does not say when it is due"),
        ('zone = "UTC"\n[a]\ndue = "2026-11-30"', "is no date and time: write it like"),
        ('zone = "Europe/London"\n[a]\ndue = "2026-03-29 01:30"', "a time that the clocks of Europe/London"),
        ('zone = "UTC"\n[a]\ndue = "2026-11-30 18:00"\n[a.extra]\nnobody = "1 day"', "'nobody' is not on the"),
        ('zone = "UTC"\n[a]\ndue = "2026-11-30 18:00"\n[a.extra]\nowl-4 = "soon"', "or how much longer"),
    ],
)
def test_a_due_file_that_cannot_be_used_is_told(marked, text, told, tmp_path):
    """Definition: one sentence with the file, what was wrong, and what was expected."""
    roster = collect.read_roster(marked.folder / "students.csv")
    (tmp_path / due.NAME).write_text(text, encoding="utf-8")
    with pytest.raises(BadData, match=re.escape(told)) as caught:
        due.read(tmp_path / due.NAME, "a", lambda who: collect.the_student(who, roster))
    assert str(tmp_path / due.NAME) in str(caught.value)


def test_a_wrong_name_under_one_homework_stops_no_other(marked, tmp_path):
    """Definition: of the file only what is said of everybody and of this homework counts."""
    roster = collect.read_roster(marked.folder / "students.csv")
    b = '[b]\ndue = "2026-11-30 18:00"\n[b.extra]\nowl-4 = "1 day"\n'
    a = '[a]\ndue = "2026-11-30 18:00"\n[a.extra]\nnobody = "1 day"\n'
    (tmp_path / due.NAME).write_text(f'zone = "UTC"\n{a}{b}', encoding="utf-8")
    found = due.read(tmp_path / due.NAME, "b", lambda who: collect.the_student(who, roster))
    assert set(found.extra) == {"owl-4"}


@pytest.mark.parametrize(
    ("has", "off", "said"),
    [
        (0.0, 0.0, "late, and there are no marks to take off"),
        (3.0, 3.0, "all 3 marks are taken off (10 % of 41 are 4.1)"),
        (4.1, 4.1, "4.1 marks are taken off (10 % of 41)"),
    ],
)
def test_no_more_is_taken_off_than_there_is(has, off, said):
    """Definition: what is told of being late is what was done."""
    limit = due.Due(datetime(2026, 10, 24, 17, 0, tzinfo=UTC), due.ZoneInfo("UTC"), due.Late(0.1))
    late = due.lateness(limit, "finch-7", datetime(2026, 10, 24, 18, 0, tzinfo=UTC), 41.0, has)
    assert late.off == off and late.says.endswith(said)


def test_the_file_that_a_desk_begins_with_works_once_its_signs_are_taken_away(tmp_path):
    """Definition: the template is an example that can be used as it stands."""
    assert due.read(tmp_path / due.NAME, LESSON, str) is None
    (tmp_path / due.NAME).write_text(due.TEMPLATE, encoding="utf-8")
    assert due.read(tmp_path / due.NAME, LESSON, str) is None
    (tmp_path / due.NAME).write_text(re.sub(r"(?m)^# (?=[\[a-z][\w.-]*(\]| =))", "", due.TEMPLATE), encoding="utf-8")
    found = due.read(tmp_path / due.NAME, LESSON, str)
    assert found.late == due.Late(0.1, 0.5, 15.0, 7.0) and set(found.extra) == {"finch-7", "robin-2"}
    assert set(found.came) == {"owl-4", "wren-3"}


# Parts, and marking anew ------------------------------------------------------------------------------------------


def test_a_part_of_a_lesson_is_homework(tmp_path, capsys):
    """Definition: only what was set is in the file, it begins and is marked, and it says when it is due."""
    (tmp_path / "desk").mkdir()
    desk = due_file(Desk(tmp_path / "desk"), 'zone = "UTC"\n[station-passage-week-2]\ndue = "2030-01-02 18:00"\n')
    words = ["desk", "--desk", str(desk.folder), "hand-out", LESSON, "--name", "Week 2"]
    assert command.main([*words, "--sittings", "2", "--questions", f"{CONE},sp-task"]) == 0
    assert "station-passage-week-2-homework.ipynb" in capsys.readouterr().out
    key = "station-passage-week-2"
    book = json.loads((desk.folder / "release" / key / f"{key}.ipynb").read_text(encoding="utf-8"))
    names = [bank.about(cell)["grade_id"] for cell in book["cells"] if bank.about(cell).get("grade")]
    second = [name for name in names if name not in (CONE, "sp-task")]
    assert names[0] == CONE and names[-1] == "sp-task" and "sp-order" in second and "sp-exit" not in second
    text = "\n".join(bank.source_of(cell) for cell in book["cells"])
    assert "**Due:** Wednesday 2 January 2030, 18:00 (UTC)." in text and "reveal(" not in text
    assert "## 4 How long without a needle" in text and "## 3 Why" not in text and "Sitting 3" not in text
    paper = copy.deepcopy(book)
    for cell in paper["cells"]:
        cell["source"] = bank.source_of(cell).replace('student = ""', f"student = '{bank.STUDENT}'")
        if bank.about(cell).get("grade_id") == f"{CONE}-answer":
            cell["source"] = f'ask("{CONE}")\n{bank.NAMES[CONE]} = {bank.RIGHT}'
    tiny_lesson.write(paper, tmp_path / "in" / "finch-7.ipynb")
    desk.collect(key, tmp_path / "in")
    desk.mark(key)
    (row,) = desk.marks(key)
    assert (row["mark"], row["state"]) == (2.0, "marked") and row["out_of"] < bank.FULL
    desk.hand_back(key)
    desk.hand_out(LESSON)
    (listed,) = desk.collect(LESSON, tmp_path / "in").listed
    assert listed[1] == f"it is of the homework '{key}': type '{desk.command('collect', key, 'FILE')}'"
    for wrong, told in (
        (["--name", "x"], "A part of a lesson needs a name and what is in it"),
        (["--sittings", "2"], "A part of a lesson needs a name and what is in it"),
        (["--name", "x", "--sittings", "9"], "has no sitting 9: choose from 1 to 4"),
        (["--name", "x", "--sittings", "two"], "'two' are no sittings"),
        (["--name", "x", "--questions", "cone"], "There is no question 'cone' in"),
    ):
        assert command.main([*words[:5], *wrong]) != 0
        assert told in "".join(capsys.readouterr())
    assert not (desk.folder / "source" / f"{LESSON}-x").exists()


def printed(told):
    """The commands of the desk that stand whole in what was printed."""
    lines = re.findall(r"(?m)^.*start\.py (desk .*)$", told)
    return [shlex.split(line) for line in lines if "FOLDER" not in line]


@pytest.mark.parametrize("before_it_was_kept", [False, True])
def test_a_part_is_handed_out_again_by_the_name_that_is_printed(tmp_path, capsys, before_it_was_kept):
    """Definition: the command that is printed works as it stands, and gives the same part, now with its due time."""
    desk, key = Desk(tmp_path / "the desk"), f"{LESSON}-week-2"
    words = [
        "desk",
        "--desk",
        str(desk.folder),
        "hand-out",
        LESSON,
        "--name",
        "week-2",
        "--questions",
        f"{CONE},{SIDE}",
    ]
    assert command.main(words) == 0
    (again,) = printed(capsys.readouterr().out)
    given = desk.folder / "hand-out" / f"{key}-homework.ipynb"
    first = json.loads(given.read_text(encoding="utf-8"))
    record = desk.folder / "ledger" / f"{key}-handed-out.json"
    if before_it_was_kept:
        told = json.loads(record.read_text(encoding="utf-8"))
        told = {name: value for name, value in told.items() if name not in ("sittings", "questions")}
        record.write_text(json.dumps(told), encoding="utf-8")
    due_file(desk, f'zone = "UTC"\n[{key}]\ndue = "2030-01-02 18:00"\n')
    for line in (again, [*again[:4], "Station passage week 2"], words[:7]):
        given.unlink()
        assert command.main(line) == 0, line
        second = json.loads(given.read_text(encoding="utf-8"))
        assert len(second["cells"]) == len(first["cells"]) + 1 and "**Due:**" in bank.source_of(second["cells"][1])
        assert [each["source"] for each in first["cells"]] == [
            each["source"] for each in second["cells"] if each["id"] != "due"
        ]
    # In a student's folder it is called homework, with its time, and stands before the course's own lesson.
    home = tmp_path / "learner"
    (home / "mine").mkdir(parents=True)
    shutil.copy(given, home)
    shutil.copy(release.LESSONS / LESSON / f"{LESSON}.ipynb", home / "mine")
    lessons = list(LESSONS.values())
    others = start_page.others_in(home, lessons)
    assert [(each.title, each.homework, each.due) for each in others] == [
        ("Station passage", False, ""),
        ("Station passage: week-2", True, "Wednesday 2 January 2030, 18:00 (UTC)"),
    ]
    page = json.loads(start_page.page(start_page.overview(lessons, progress.Progress(), others=others)))
    texts = [cell["source"] for cell in page["cells"]]
    assert texts[1].startswith("**Homework.**") and f"[Station passage: week-2]({given.name}), due Wed" in texts[1]
    assert any(text.startswith("**Also in your folder.** [Station passage](mine/") for text in texts)
    # The name of a part stands for it in each command; the lesson's own title never means a part of it.
    desk.hand_out(LESSON)
    _, _, _ = desk.sitting(key, "monday", 3)
    assert (desk.folder / "source" / f"{LESSON}-monday").is_dir()
    assert desk.lesson("station passage") == desk.lesson("Station Passage") == LESSON and desk.lesson(key) == key
    assert command.main([*words[:4], f"{LESSON}-monday"]) == 2
    assert "is a sitting, and its files are made by" in capsys.readouterr().err


def test_marking_anew_says_what_moved_for_whom(desk, capsys):
    """Definition: the same work with another mark after its question changed is told; what a person set stays."""
    desk.set_mark(LESSON, "robin-2", CONE, 1.5)
    source = desk.folder / "source" / LESSON / f"{LESSON}.ipynb"
    book = json.loads(source.read_text(encoding="utf-8"))
    for cell in book["cells"]:
        if bank.about(cell).get("grade_id") == CONE:
            # Asked is something else now: nobody's answer is right.
            cell["source"] = bank.source_of(cell).replace(f'check("{CONE}"', 'check("sp-cone-faded"')
    source.write_text(json.dumps(book), encoding="utf-8")
    words = ["desk", "--desk", str(desk.folder), "mark", LESSON]
    assert command.main(words) == 0
    told = capsys.readouterr().out
    assert f"finch-7: '{CONE}' 2, now 0\n" in told
    assert f"robin-2: '{CONE}' 2, now 0 (set by hand to 1.5, which stays)" in told
    assert marks(desk, "robin-2")[CONE] == 1.5 and marks(desk, "finch-7")["mark"] == bank.ALL - 2
    assert {one["student"] for one in desk.moved(LESSON)} == {"finch-7", "robin-2", "owl-4"}
    assert command.main(words) == 0
    assert "has other marks" not in capsys.readouterr().out
