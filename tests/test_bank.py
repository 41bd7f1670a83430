"""The bank of hand-ins: each gets the marks it must get, and no other one is the worse for it."""

import json
import os
import re
import socket
import time
from pathlib import Path

import hand_in_bank as bank
import pytest
from needlework.building import release
from needlework.course.lesson import boxes
from needlework.desk import marking, page, room
from needlework.exercises import progress, recording, telling
from needlework.exercises.catalogue import QUESTIONS
from needlework.exercises.judging import draw
from needlework.exercises.verdicts import Outcome, Verdict

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module", autouse=True)
def walls():
    if not room.walls_stand():
        if os.environ.get("CI"):
            pytest.fail("bubblewrap is missing: marking cannot be sealed")
        pytest.skip("bubblewrap is missing")


@pytest.fixture
def patience():
    """What loops without an end is cut short."""
    before = room.work_s, room.most_s
    room.work_s, room.most_s = 1, 8.0
    yield
    room.work_s, room.most_s = before


def _task(papers, **how):
    source = (release.SOLUTIONS / bank.LESSON / f"{bank.LESSON}.ipynb").read_text(encoding="utf-8")
    released = (release.LESSONS / bank.LESSON / f"{bank.LESSON}.ipynb").read_text(encoding="utf-8")
    task = {"lesson": bank.LESSON, "source": source, "released": released, "own": "", "walls": True, "trust": False}
    contents = [paper if isinstance(paper, bytes) else json.dumps(paper).encode() for paper in papers]
    return task | {"papers": contents} | how


def _marked(papers, **how):
    return dict(zip(papers, marking.mark_some(_task(papers.values(), **how)), strict=True))


def test_the_bank_is_as_large_as_it_says():
    """Definition: at least eighty hand-ins, each with the marks it must get."""
    assert len(bank.FAIR) + len(bank.LOST) + len(bank.NO_MARK) >= 80


def test_what_is_right_counts_in_any_form():
    """Independent method: the marks of the questions, summed by hand; every form gives the one right value."""
    for name, one in _marked(bank.FAIR).items():
        assert one["look"] == [], (name, one["look"])
        assert sum(one["marks"].values()) == bank.ALL, (name, one["marks"], one["cells"])
        assert one["cells"] == {} or name == "own-function-check", (name, one["cells"])


def test_what_is_wrong_costs_its_own_marks_only():
    """Independent method: all the marks but those of the one question, and the reason in words."""
    papers = {name: paper for name, (paper, _) in bank.LOST.items()}
    for name, one in _marked(papers).items():
        assert one["look"] == [], (name, one["look"])
        assert one["marks"][bank.CONE] == 0, (name, one["marks"][bank.CONE])
        assert sum(one["marks"].values()) == bank.ALL - bank.TWO, (name, one["marks"], one["cells"])
        wanted = bank.LOST[name][1]
        if wanted:
            assert wanted in one["cells"][bank.CONE], (name, one["cells"])
            # Python is quoted only where there are no other words, and marked as such.
            before, _, _ = one["cells"][bank.CONE].partition("as Python says it:")
            assert "Error" not in before, "a sentence, not Python"


def test_a_program_that_was_run_is_told():
    """Definition: whose program ran has a note; a value or a sum, which is read, has none."""
    program = bank.cone(f"import os\n{bank.V} = len(os.sep) + 2")
    marked = _marked({"program": program, "value": bank.cone(f"{bank.V} = 3"), "sum": bank.cone(f"{bank.V} = 1 + 2")})
    assert marked["program"]["notes"] == ["a program of the student's own in it was run"]
    assert marked["program"]["marks"] == marked["value"]["marks"] == marked["sum"]["marks"]
    assert marked["value"]["notes"] == marked["sum"]["notes"] == []


def test_code_that_gives_no_answer_is_told():
    """Definition: no 0 is silent: what the code in an answer cell did is noted; an empty cell has nothing to tell."""
    ran = bank.cone("import os\nopen(os.path.expanduser('~/x'), 'w').write('x')\n" + f'{bank.V} = reveal("sp-cone")')
    stopped = bank.cone(f"open('/no/such/place/x', 'w')\n{bank.V} = 3")
    empty = bank.cone(f"{bank.V} = None  # not known")
    one = _marked({"ran": ran, "stopped": stopped, "empty": empty})
    assert one["ran"]["notes"] == ["the code in the answer cell of 'sp-cone' ran and gave no answer"]
    assert one["ran"]["told"][bank.CONE]["code"] == "its code ran and gave no answer"
    assert one["stopped"]["told"][bank.CONE]["code"].startswith("its code stopped: “")
    # The instructor reads why; the student's page has no Python.
    why = one["stopped"]["cells"][bank.CONE]
    assert "its answer cell cannot be run: “as Python says it: FileNotFoundError: " in why
    assert "FileNotFoundError" not in _page_of(one["stopped"])
    assert one["empty"]["notes"] == [] and "code" not in one["empty"]["told"][bank.CONE]
    for name, said in (("ran", "○ No answer from your code"), ("empty", "○ No answer")):
        html = _page_of(one[name])
        assert f'<a href="#{bank.CONE}">' in html
        assert re.search(rf'#{bank.CONE}">[^\n]*\n<td>{said}</td>', html), name
        assert ("Your code ran to its end" in html) == (name == "ran")


def test_what_earned_marks_was_read_in_part():
    """Definition: a heading of a marked page says no more against an answer than its marks do."""
    question = QUESTIONS[bank.CONE]
    with progress.at_the_desk():
        for share, said in ((0.5, "? Could not be read in part"), (0.0, "? Could not be read")):
            given = telling.judged(question, Verdict(Outcome.ERROR, share, "This cannot be read yet. So."), "")
            assert " ".join(boxes.heading_of(given)[:2]) == said
            assert f">{said}<" in boxes.verdict(given)


def _page_of(one):
    """Make the page of a hand-in that was marked by itself alone."""
    empty: dict = {"by_hand": {}, "comments": {}, "to_all": {}, "waiting": ()}
    paper = {**empty, "page": one["page"].decode(), "student": "finch-7", "marks": one["marks"], "off": 0, "late": ""}
    paper |= {"out_of": bank.FULL, "begun": one["begun"], "homework": one["homework"], "answers": one["answers"]}
    about = {"title": "T", "titles": {}, "show": "verdicts", "kept": "", "papers": [paper]}
    return page.pages_of(_task([]) | about)[0]


def test_what_cannot_be_marked_has_no_mark_and_a_reason(patience):
    """Definition: no mark, one clause, never a silent 0; and the processes it started are gone."""
    papers = {name: paper for name, (paper, _) in bank.NO_MARK.items()}
    for name, one in _marked(papers).items():
        assert "marks" not in one, name
        (why,) = one["look"]
        assert bank.NO_MARK[name][1] in why, (name, why)
    time.sleep(0.2)
    assert not _sleeping(), "what a hand-in started is gone with it"


def _sleeping():
    found = []
    for place in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            words = place.read_bytes().split(b"\0")
        except OSError:
            continue
        if words[:1] == [b"sleep"] and words[1:2] in ([b"601."], [b"61.7"]):
            found.append(place)
    return found


def _hostile(listening):
    os.environ["NEEDLEWORK_TEST_SECRET"] = "open-sesame"
    return bank.escapes(
        places=[str(release.SOLUTIONS), str(Path(__file__)), "/work/main"],
        port=listening.getsockname()[1],
        pid=os.getpid(),
        secret="open-sesame",
    )


@pytest.mark.parametrize("way", ["fork", "fresh"])
def test_a_hostile_hand_in_reaches_nothing(monkeypatch, way):
    """Definition: no solutions, network, other process, right, lasting file or large one; by either way in."""
    if way == "fresh":
        monkeypatch.setattr(room.Room, "_ready", lambda self: False)
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen()
        (one,) = marking.mark_some(_task([_hostile(listening)]))
    del os.environ["NEEDLEWORK_TEST_SECRET"]
    said = json.loads(one["page"])
    shown = next(cell for cell in said["cells"] if cell["metadata"].get("nbgrader", {}).get("grade_id") == bank.CONE)
    assert one["marks"][bank.CONE] == bank.TWO, shown["outputs"]


def test_both_ways_give_the_same_answers(monkeypatch):
    """Independent method: what is read without a kernel is what the sealed process gives, mark by mark."""
    from needlework.desk.plainly import NeedsKernel, Reader

    plain = {name: paper for name, paper in bank.FAIR.items() if not isinstance(paper, bytes)}
    plain |= {name: paper for name, (paper, _) in bank.LOST.items()}
    by_eye = _marked(plain)
    read = {name: one for name, one in by_eye.items() if not one["code"]}
    assert len(read) > 30, "most of them need no kernel"

    def refuse(self, source):
        raise NeedsKernel("all of them")

    monkeypatch.setattr(Reader, "cell", refuse)
    run = _marked({name: plain[name] for name in read})
    for name, one in read.items():
        assert one["answers"] == run[name]["answers"], name
        assert (one["marks"], one["cells"]) == (run[name]["marks"], run[name]["cells"]), name


def test_without_walls_only_plain_hand_ins_are_marked():
    """Definition: nothing is run without walls and without trust; what is plain needs neither."""
    plain, code = marking.mark_some(_task([bank.BASE, bank.FAIR["def"]], walls=False))
    assert sum(plain["marks"].values()) == bank.ALL
    assert "marks" not in code and code["machine"] and "it has code of its own" in code["look"][0]
    (trusted,) = marking.mark_some(_task([bank.FAIR["def"]], walls=False, trust=True))
    assert sum(trusted["marks"].values()) == bank.ALL


def _with_flight(text):
    shown = {"output_type": "display_data", "metadata": {}, "data": {recording.MIME: recording.packed(text)}}
    return bank.changed(lambda book: bank.cell_of(book, "sp-hand-answer").update(outputs=[shown]))


def test_a_flight_counts_for_the_one_who_flew_it_only():
    """Independent method: the aircraft's own flights; another's, one that was changed and one that is none get 0."""
    question = QUESTIONS["sp-hand"]
    own, others = (question.right(draw(question, name)) for name in (bank.STUDENT, "Wren 3"))
    rows = own.splitlines()
    flown = [number for number, row in enumerate(rows) if not row.startswith("#")]
    middle = flown[len(flown) // 2]
    clock, read = rows[middle].split(",", 1)
    rows[middle] = f"{clock},{read.replace('1', '2')}"
    papers = {"own": own, "others": others, "edited": "\n".join(rows) + "\n", "none": "hello\n1,2\n"}
    marked = _marked({name: _with_flight(text) for name, text in papers.items()})
    assert {name: one["marks"]["sp-hand"] for name, one in marked.items()} == {
        "own": question.points, "others": 0.0, "edited": 0.0, "none": 0.0,
    }  # fmt: skip
    assert "sp-hand" not in marked["own"]["cells"]
    assert "flown with another student's numbers" in marked["others"]["cells"]["sp-hand"]
    assert "no aircraft flies like this" in marked["edited"]["cells"]["sp-hand"]
    assert marked["none"]["notes"] == ["A flight in this notebook cannot be unpacked."]
    assert all(sum(one["marks"].values()) >= bank.ALL for one in marked.values())
