"""From the hand-written notebooks to the released ones: always the same, and nothing given away."""

import base64
import json

import pytest
import tiny_lesson
from needlework.basis.errors import BadData
from needlework.building import page_stamp, release
from needlework.course import command


@pytest.fixture
def solutions(tmp_path):
    return tiny_lesson.write_solutions(tmp_path / "solutions")


def _spoil(solutions, change):
    book = tiny_lesson.solution_book()
    change(book)
    tiny_lesson.write(book, solutions / "tiny" / "tiny.ipynb")


def test_lessons_are_what_solutions_give():
    """Definition: the released lessons are made from the solutions and never edited by hand."""
    assert release.release(check=True) == []


def test_release_takes_out_what_learners_must_not_see(solutions, tmp_path):
    """Independent method: the released cells written down by hand."""
    assert release.release(solutions, tmp_path / "lessons") == ["lessons/tiny/tiny.ipynb written."]
    book = release.read_notebook(tmp_path / "lessons" / "tiny" / "tiny.ipynb")
    assert [cell["source"] for cell in book["cells"]] == [
        "# A tiny lesson\n\nAbout 5 to 10 minutes.",
        tiny_lesson.SETUP.rstrip(),
        "cone_seconds = None  # seconds",
        'check("cone", cone_seconds)',
        "side = None  # 'left' or 'right'",
        'check("side", side)',
    ]
    code = [cell for cell in book["cells"] if cell["cell_type"] == "code"]
    assert all(cell["outputs"] == [] and cell["execution_count"] is None for cell in code)
    assert set(book["metadata"]) == {"kernelspec", "language_info"}
    assert [cell["metadata"].get("editable", True) for cell in code] == [False, True, False, True, False]


def test_release_is_the_same_every_time(solutions, tmp_path):
    """Definition: releasing twice gives the same bytes, and the second time there is nothing to write."""
    release.release(solutions, tmp_path / "one")
    release.release(solutions, tmp_path / "two")
    name = "tiny/tiny.ipynb"
    assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()
    assert release.release(solutions, tmp_path / "one") == []
    ids = [cell["id"] for cell in release.read_notebook(tmp_path / "one" / name)["cells"]]
    assert len(set(ids)) == len(ids)


def test_check_finds_an_edited_lesson_and_changes_nothing(solutions, tmp_path):
    """Definition: a lesson edited by hand, or one without a solution, is a difference."""
    lessons = tmp_path / "lessons"
    release.release(solutions, lessons)
    path = lessons / "tiny" / "tiny.ipynb"
    edited = path.read_text(encoding="utf-8").replace("# seconds", "# minutes")
    path.write_text(edited, encoding="utf-8")
    tiny_lesson.write(tiny_lesson.solution_book(), lessons / "old" / "old.ipynb")
    assert release.release(solutions, lessons, check=True) == [
        "lessons/tiny/tiny.ipynb differs from its solution.",
        "lessons/old/old.ipynb has no solution.",
    ]
    assert path.read_text(encoding="utf-8") == edited
    release.release(solutions, lessons)
    assert release.release(solutions, lessons, check=True) == []


def _leak_in_tag(book):
    book["cells"][0]["metadata"] = {"tags": ["cone_seconds = 4 * 10.0"]}


def _leak_in_picture(book):
    secret = base64.b64encode(b"<svg><text>cone_seconds = 4 * 10.0</text></svg>").decode()
    book["cells"][0]["attachments"] = {"picture.svg": {"image/svg+xml": secret}}


def _leak_in_notebook_metadata(book):
    book["metadata"]["needlework"] = {"note": "side = 'left'"}


def _leak_of_hidden_test(book):
    book["cells"][0]["attachments"] = {"note.txt": {"text/plain": ['score("side", side)']}}


def _leak_as_attachment_of_answer(book):
    book["cells"][2]["attachments"] = {"answer.png": {"image/png": "AAAA"}}


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (_leak_in_tag, "cell 1 .* shows the hidden line 'cone_seconds = 4"),
        (_leak_in_picture, "cell 1 .* shows the hidden line 'cone_seconds = 4"),
        (_leak_in_notebook_metadata, "metadata hold 'side = 'left''"),
        (_leak_of_hidden_test, "cell 1 .* shows the hidden line 'score"),
        (_leak_as_attachment_of_answer, "is an answer or marked cell with an attachment"),
    ],
)
def test_leaks_are_refused(solutions, tmp_path, change, told):
    """Definition: no reference answer and no hidden test in a tag, picture, attachment or the metadata."""
    _spoil(solutions, change)
    with pytest.raises(BadData, match=told):
        release.release(solutions, tmp_path / "lessons")
    assert not (tmp_path / "lessons").exists()


def test_an_output_would_be_a_leak():
    """Definition: a released cell has no output, since a solved notebook's output shows the answer."""
    origin = tiny_lesson.solution_book()
    assert any("keeps its output" in leak for leak in release.find_leaks(origin, origin))


def _no_region(book):
    book["cells"][2]["source"] = "cone_seconds = 40"


def _no_stub(book):
    book["cells"][2]["source"] = "### BEGIN SOLUTION\ncone_seconds = 40\n### END SOLUTION"


def _unlocked(book):
    book["cells"][3]["metadata"]["nbgrader"]["locked"] = False


def _no_points(book):
    book["cells"][3]["metadata"]["nbgrader"]["points"] = 0


def _same_name(book):
    book["cells"][5]["metadata"]["nbgrader"]["grade_id"] = "cone-marks"


def _no_end(book):
    book["cells"][2]["source"] = "cone_seconds = None\n### BEGIN SOLUTION\ncone_seconds = 40"


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (_no_region, "the answer cell 'cone-answer' has no '### BEGIN SOLUTION'"),
        (_no_stub, "the answer cell 'cone-answer' has no stub"),
        (_unlocked, "the marked cell 'cone-marks' is not locked"),
        (_no_points, "the marked cell 'cone-marks' has no points"),
        (_same_name, "the name 'cone-marks' is used for two cells"),
        (_no_end, "no end solution statement found"),
    ],
)
def test_faulty_sources_are_refused(solutions, tmp_path, change, told):
    """Definition: each fault of a hand-written notebook is told in one sentence and nothing is written."""
    _spoil(solutions, change)
    with pytest.raises(BadData, match=told) as caught:
        release.release(solutions, tmp_path / "lessons")
    assert "\n" not in str(caught.value)
    assert not (tmp_path / "lessons").exists()


@pytest.mark.parametrize(
    "text", ["", "{", "[]", '{"nbformat": 3, "worksheets": []}', '{"nbformat": 4, "cells": [7]}']
)
def test_a_damaged_notebook_is_told_in_one_sentence(tmp_path, text):
    """Definition: what is not a notebook of format 4 is refused, whatever it is."""
    path = tmp_path / "solutions" / "bad" / "bad.ipynb"
    path.parent.mkdir(parents=True)
    path.write_text(text)
    with pytest.raises(BadData, match=r"bad.ipynb is not a notebook that can be read"):
        release.release(tmp_path / "solutions", tmp_path / "lessons")


@pytest.mark.parametrize("text", ["<<<<<<< marks of a merge", "{}", "[]"])
def test_a_damaged_page_is_told_in_one_sentence(tmp_path, text):
    """Definition: what a merge or an editor left in the page's file is named, and stays as it is."""
    (tmp_path / "static").mkdir()
    (tmp_path / "package.json").write_text(text, encoding="utf-8")
    with pytest.raises(BadData, match=r"package\.json is damaged: expected JSON with jupyterlab"):
        page_stamp.stamp(tmp_path)
    assert (tmp_path / "package.json").read_text(encoding="utf-8") == text


def test_release_command(capsys):
    """Definition: the command says so when all is well."""
    assert command.main(["release", "--check"]) == 0
    assert capsys.readouterr().out == "Data, solutions and lessons are what the lessons' files give.\n"


def test_every_lesson_of_the_course_has_its_marks():
    """Definition: a marked cell's points are the points its question declares, and every question is marked once."""
    from needlework.exercises.catalogue import LESSONS, QUESTIONS

    for key in release.lesson_keys():
        book = json.loads((release.LESSONS / key / f"{key}.ipynb").read_text(encoding="utf-8"))
        marked = [c["metadata"]["nbgrader"] for c in book["cells"] if c["metadata"].get("nbgrader", {}).get("grade")]
        assert [about["grade_id"] for about in marked] == list(LESSONS[key].questions)
        assert [about["points"] for about in marked] == [QUESTIONS[about["grade_id"]].points for about in marked]
