"""Texts that a person marks: in a lesson of an instructor's own, marked on nbgrader's pages, and handed back."""

import contextlib
import json
import os
import shutil
from pathlib import Path

import pytest
import tiny_lesson
from browser import ARGUMENTS, driver, require_browser
from needlework.basis.errors import BadData
from needlework.building import own_lessons, scaffold, walls
from needlework.course import command
from needlework.desk import by_hand_server, tables
from needlework.desk.homework import Desk

pytestmark = [pytest.mark.slow, pytest.mark.xdist_group("by hand")]

KEY, SAY = "flag-stays-away", "fsa-say"
LESSON = """\
---
key: flag-stays-away
title: The flag stays away
afterwards:
  - say what you do when the flag stays away
  - name the radial you are on
  - put it into words
builds on: reading a VOR needle
not here: holding
---

<!-- sitting: 10 minutes -->
<!-- part: exercise -->
## One number

You fly in.

:::{number} fsa-radial
```yaml
title: The radial
as: radial
right: 270
unit: degrees magnetic
to: 1
```
You fly in on course 090. On which radial are you?

- slip RECIP = 90: That is the course; the radial runs out from the station.
- hint: A radial runs out.
- hint: The other end of the line.
- hint: 090 and 180 make ...
- model: {answer}.
- why: The other end.

```python worked
radial = (90 + 180) % 360
```

:::

## In words

:::{text} fsa-say
```yaml
title: What you would say
as: said
marks: 4
```
You have passed the station and the flag stays away. Say what you do, and why.

- model: Hold the heading, note the time, and identify the station again.

:::
"""
ANSWER = 'I hold the heading.\\nThen I \\"identify\\" again: <script>alert(1)</script>'


@pytest.fixture(scope="module")
def marked(tmp_path_factory):
    """A lesson of an instructor's own with a text, built, handed out, handed in by three, and marked."""
    if not walls.available():
        if os.environ.get("CI"):
            pytest.fail("bubblewrap is missing: functions of others cannot be kept apart")
        pytest.skip("bubblewrap is missing")
    place = tmp_path_factory.mktemp("by-hand")
    lesson = place / "mine" / "lessons" / "flag_stays_away"
    lesson.mkdir(parents=True)
    (lesson / "lesson.md").write_text(LESSON, encoding="utf-8")
    (lesson / "functions.py").write_text('"""Nothing is drawn."""\n', encoding="utf-8")
    (lesson / "__init__.py").write_text('"""The flag stays away."""\n', encoding="utf-8")
    report = own_lessons.build(place / "mine")
    desk = Desk(place / "desk", named=str(place / "mine"))
    desk.hand_out(KEY)
    book = json.loads((desk.folder / "release" / KEY / f"{KEY}.ipynb").read_text(encoding="utf-8"))
    for student, text in (("finch-7", f'said = "{ANSWER}"'), ("robin-2", 'said = "No idea."'), ("owl-4", None)):
        paper = json.loads(json.dumps(book))
        for cell in paper["cells"]:
            cell["source"] = "".join(cell["source"]).replace('student = ""', f'student = "{student}"')
            if cell["metadata"].get("nbgrader", {}).get("grade_id") == f"{SAY}-answer" and text:
                cell["source"] = f'ask("{SAY}")\n{text}'
        tiny_lesson.write(paper, place / "in" / f"{student}.ipynb")
    desk.collect(KEY, place / "in")
    desk.mark(KEY)
    return desk, report, book


@pytest.fixture
def desk(marked, tmp_path):
    shutil.copytree(marked[0].folder, tmp_path / "desk")
    return Desk(tmp_path / "desk")


def rows_of(desk):
    return {row["student"]: row for row in desk.marks(KEY)}


def test_a_text_waits_for_its_mark(marked, capsys):
    """Definition: what was written waits, what was not counts 0, and nothing is said of right or wrong."""
    desk, _, book = marked
    rows = rows_of(desk)
    assert rows["finch-7"][SAY] == "" and rows["finch-7"]["state"] == "needs a look"
    assert rows["finch-7"]["look_at"] == f"'{SAY}' waits for your mark"
    assert (rows["owl-4"][SAY], rows["owl-4"]["look_at"]) == (0, "")
    assert desk.waiting(KEY) == [("finch-7", SAY), ("robin-2", SAY)]
    text = "\n".join("".join(cell["source"]) for cell in book["cells"])
    assert "said = None  # your answer in words, in quotation marks" in text and "identify the station" not in text
    page = (desk.hand_back(KEY)[0] / "finch-7.html").read_text(encoding="utf-8")
    assert "waits for your instructor's mark" in page.replace("&#39;", "'") and "<script>alert" not in page
    assert command.main(["desk", "--desk", str(desk.folder), "marks", KEY]) == 0
    assert f"desk --desk {desk.folder} by-hand {KEY}" in capsys.readouterr().out


def test_a_text_is_marked_in_a_table_as_well(desk, tmp_path):
    """Definition: an empty cell is what waits; a mark typed there is the mark, and stays when it is marked again."""
    path, _ = desk.write_marks(KEY)
    table = tables.read(path)
    for row in table.rows:
        assert row[SAY] == ("0.0" if row["student"] == "owl-4" else "")
        if row["student"] == "robin-2":
            row |= {SAY: "1", f"{SAY} comment": "Look it up."}
    (tmp_path / "x.csv").write_text(tables.written(table.columns, table.rows), encoding="utf-8")
    assert len(desk.read_marks(KEY, tmp_path / "x.csv").changes) == 1
    desk.mark(KEY, again=True, trust=True)
    assert rows_of(desk)["robin-2"][SAY] == 1
    assert rows_of(desk)["robin-2"]["notes"].endswith(f"'{SAY}' marked by hand: 1")


def test_texts_are_marked_in_nbgraders_pages(desk, marked):
    """Independent method: a real browser on nbgrader's own pages; the mark comes through to page, CSV and ledger."""
    path = require_browser()
    process, port, token = by_hand_server.start(desk.folder)
    try:
        with (
            driver() as driven,
            contextlib.closing(driven.chromium.launch(executable_path=path, args=ARGUMENTS)) as browser,
        ):
            page = browser.new_page()
            page.set_default_timeout(60_000)
            page.goto(by_hand_server.address_of(port, token, KEY))
            # The list is in no order; names are on it, but not shown until they are asked for.
            link = page.locator("a", has_text="finch-7").first
            link.wait_for(state="attached")
            page.goto(f"http://127.0.0.1:{port}{link.get_attribute('href')}")
            page.locator(f"#{SAY}.needs_manual_grade").wait_for()
            shown = page.content()
            assert "I hold the heading" in shown and "alert(1)</script>" not in shown
            assert "Say what you do, and why." in shown and "Hold the heading, note the time" in shown
            with page.expect_response(lambda r: "/formgrader/api/grade/" in r.url and r.request.method == "PUT"):
                score = page.locator(f"#{SAY}")
                score.fill("3")
                score.blur()
            with page.expect_response(lambda r: "/formgrader/api/comment/" in r.url and r.request.method == "PUT"):
                comment = page.locator(f"#{SAY}-answer-comment")
                comment.fill("Say it sooner.")
                comment.blur()
    finally:
        process.terminate()
        process.wait(20)
    student = "finch-7"
    row = rows_of(desk)[student]
    assert row[SAY] == 3 and row["look_at"] == ""
    (kept,) = (one for one in desk.ledger(KEY)[student]["by_hand"] if one["question"] == SAY)
    assert (kept["mark"], kept["by_itself"], kept["because"]) == (3, None, "Say it sooner.")
    (line,) = (row for row in tables.read(desk.write_marks(KEY)[0]).rows if row["student"] == student)
    assert (line[SAY], line[f"{SAY} comment"]) == ("3.0", "Say it sooner.")
    back = (desk.hand_back(KEY)[0] / f"{student}.html").read_text(encoding="utf-8").replace("&#39;", "'")
    assert "From your instructor: Say it sooner." in back and "Your instructor's mark: 3." in back
    assert "A full answer:" in back and "Waits for a mark" not in back and "said = " not in back
    (desk.folder / "gradebook.db").unlink()
    desk.mark(KEY, trust=True)
    assert rows_of(desk)[student][SAY] == 3


def test_what_is_wrong_with_a_text_is_told(tmp_path):
    """Definition: every fault of the form with its line."""
    lesson = tmp_path / "mine" / "lessons" / "flag_stays_away"
    lesson.mkdir(parents=True)
    text = LESSON.replace("- model: Hold", "- hint: Hold").replace("marks: 4", "marks: 4\ntask: true")
    (lesson / "lesson.md").write_text(text, encoding="utf-8")
    (lesson / "functions.py").write_text('"""Nothing is drawn."""\n', encoding="utf-8")
    (lesson / "__init__.py").write_text('"""The flag."""\n', encoding="utf-8")
    told = str(own_lessons.build(tmp_path / "mine"))
    assert "expected `- model: ` and a text" in told and "`hint` is no text of a text" in told
    assert "a text is a task already" in told
    assert "- model: " in scaffold.piece("text", "fsa-more").block


def test_pages_that_do_not_start_are_told(tmp_path, monkeypatch):
    """Definition: one sentence, and where the reason stands."""
    monkeypatch.setattr(by_hand_server.sys, "executable", shutil.which("false"))
    with pytest.raises(BadData, match=r"did not start: .*by-hand.log says why"):
        by_hand_server.start(Path(tmp_path))
