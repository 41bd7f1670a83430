"""A flight of the learner's own, handed in as its file: taken, debriefed on its own procedure, and at the desk."""

import datetime
import functools
import json
import tempfile
from pathlib import Path

import numpy as np
import pytest
from needlework.basis.errors import BadData
from needlework.basis.places import checkout
from needlework.desk import aloft, hand_in
from needlework.desk.hand_in import Given, Sheet
from needlework.desk.judging import judge_all
from needlework.exercises import judging, own_flight, recording
from needlework.exercises.catalogue import QUESTIONS
from needlework.exercises.verdicts import Outcome
from needlework.flying import reference_pilot, tracklog
from needlework.showing.panel.own_file import OwnFile
from needlework.world import aircraft, procedure
from needlework.world.datafiles import datasets_dir
from needlework.world.weather import Day, Wind

KEY = "wa-again"
QUESTION = QUESTIONS[KEY]
GIVENS = judging.draw(QUESTION, "pupil 1")
ABOUT = QUESTION.about(GIVENS)
BREEZE = Day("x", "x", Wind((0.0,), (300.0,), (12.0,)), 8.0, 1013.0)
SALTMARSH = (datasets_dir() / "procedures" / "saltmarsh.toml").read_text(encoding="utf-8")
OWN = ("mine.toml", SALTMARSH.replace('name = "Saltmarsh"', 'name = "North Bank"').encode())


@functools.cache
def written(name, ending, **more):
    """A recording as a simulator writes it: without what this course puts at the head of its own."""
    way = procedure.load(name)
    track = reference_pilot.fly(way, aircraft.load("Finch"), BREEZE, seed=1, **more).one(0).track()
    with tempfile.TemporaryDirectory() as folder:
        path = tracklog.write(track, Path(folder) / f"mine{ending}")
        content = path.read_bytes()
    return content if more.get("missed") is False else content.replace(tracklog.CAUTION.encode(), b"made elsewhere")


def taken(file, content, own=None, about=ABOUT):
    return own_flight.handed_in(KEY, about, (file, content), own, published="keld")


@pytest.mark.parametrize("ending", [".csv", ".gpx", ".kml"])
def test_the_debrief_of_the_file_is_the_mark(ending):
    """Definition: a file in place of the flight by hand is judged by the examiner; what was not recorded is not."""
    flight = taken(f"mine{ending}", written("keld", ending, entry="RIMVO", laps=1))
    assert recording.unpacked(recording.packed(flight.text)).text == flight.text
    verdict = judging.judge(QUESTION, GIVENS, flight.text)
    assert verdict.outcome is Outcome.PASS
    assert verdict.given.startswith(f"mine{ending}, ")
    assert "Outer Keld" in verdict.given
    labels = [label for label, _ in verdict.cells]
    assert "the arc, joined and flown" in labels


def test_a_procedure_of_their_own_is_what_it_is_judged_by():
    """Definition: on its own procedure the flight passes; on the one it was not flown on it is refused."""
    content = written("saltmarsh", ".gpx", laps=1)
    verdict = judging.judge(QUESTION, GIVENS, taken("mine.gpx", content, OWN).text)
    assert verdict.outcome is Outcome.PASS
    assert "North Bank" in verdict.given or "Saltmarsh" in verdict.given
    low = written("saltmarsh", ".gpx", faults=("early descent below minimums",))
    worse = judging.judge(QUESTION, GIVENS, taken("mine.gpx", low, OWN).text)
    assert worse.share <= 0.5
    assert dict(worse.cells)["minimums"].share == 0.0
    (name, figure), *_ = [(each, held) for each, held in QUESTION.afterwards(GIVENS, verdict)]
    assert (name, figure["procedure"].station.ident) == ("show_flown_plan", "OVK")


def chosen(name, content):
    """What the page sends of a file that was chosen."""
    when = datetime.datetime(2026, 1, 1, tzinfo=datetime.UTC)
    return ({"name": name, "type": "", "size": len(content), "content": content, "last_modified": when},)


BAD = [
    ("notes.txt", b"x", None, "notes.txt is no recording of a flight: expected .csv, .gpx, .kml, .igc, .nmea."),
    ("mine.gpx", b"", None, "mine.gpx: the file is empty. Nothing was recorded, or it was not saved"),
    ("mine.csv", b" \n", None, "mine.csv: the file is empty"),
    (
        "mine.csv",
        b"\x89PNG\r\n\x1a\n",
        None,
        "mine.csv: this is no recording of a flight. Whatever its name says, it is a pict",
    ),
    ("mine.gpx", b"PK\x03\x04x", None, "a packed file: unpack it first"),
    ("mine.gpx", b"<gpx></gpx>", None, "mine.gpx"),
    ("mine.csv", b"\xff\xfe\x00garbage", None, "mine.csv"),
    ("mine.igc", b"HFDTE010126\n", None, "mine.igc"),
    ("mine.nmea", b"$GPGGA,1,2,3\n", None, "mine.nmea"),
    ("ok.csv", None, ("mine.txt", b"x"), "mine.txt is no procedure file: expected a text file that ends in .toml."),
    ("ok.csv", None, ("mine.toml", b"\xff\xfe"), "mine.toml is not plain text in UTF-8"),
    ("ok.csv", None, ("mine.toml", b"name = "), "mine.toml"),
    ("ok.csv", None, ("mine.toml", SALTMARSH.replace("114.60", "114.63").encode()), "114.63"),
    ("ok.csv", None, OWN, "none of the legs"),
]


@pytest.mark.parametrize(("file", "content", "own", "said"), BAD)
def test_what_cannot_be_taken_is_one_sentence(file, content, own, said):
    """Definition: what was wrong, what was expected, what to do; nothing is kept."""
    box = OwnFile(KEY, ABOUT, "keld")
    held = written("keld", ".csv", entry="RIMVO", laps=1) if content is None else content
    box.recording.value = chosen(file, held)
    if own:
        box.procedure.value = chosen(*own)
    box.take()
    assert said in box.said.value.replace("&gt;", ">")
    assert "Traceback" not in box.said.value
    assert recording.newest(KEY) is None


@pytest.fixture(autouse=True)
def flights_of_their_own(tmp_path, monkeypatch):
    """Each test has its own folder of flights."""
    monkeypatch.setenv("NEEDLEWORK_FLIGHTS", str(tmp_path / "flights"))
    monkeypatch.setenv("NEEDLEWORK_FOLDER", str(tmp_path))


def test_nothing_chosen_is_said():
    """Definition: a press without a file says what is to be done."""
    box = OwnFile(KEY, ABOUT, "keld")
    box.take()
    assert "choose its file first" in box.said.value
    assert 'role="alert"' in box.said.value and "Not taken" in box.said.value


def test_what_was_chosen_is_named_and_what_was_refused_is_past():
    """Definition: the file's name takes the place of what was said before, and goes with its file."""
    box = OwnFile(KEY, ABOUT, "keld")
    box.take()
    box.recording.value = chosen("mine & theirs.csv", b"")
    assert box.said.value == "<p>Chosen: your recording mine &amp; theirs.csv.</p>"
    box.recording.value = ()
    assert box.said.value == ""


def test_taken_on_the_page_it_is_the_newest_flight():
    """Definition: what was handed in stands where a flight of the panel stands, with its debrief below the fields."""
    content = written("keld", ".gpx", entry="RIMVO", laps=1)
    box = OwnFile(KEY, ABOUT, "keld")
    box.recording.value = chosen("mine.gpx", content)
    box.take()
    assert "mine.gpx is taken" in box.said.value
    assert "Debrief: Passed" in box.said.value
    newest = recording.newest(KEY)
    assert newest.path.suffix == ".own"
    assert judging.judge(QUESTION, GIVENS, newest.text).outcome is Outcome.PASS
    assert recording.every(KEY) == []  # a class sees what was flown on the panel


def test_a_flight_of_the_courses_own_pilot_does_not_count():
    """Definition: the file that `needlework fly` writes is the course's flight, on the page and in the notebook."""
    made = written("keld", ".csv", entry="RIMVO", missed=False)
    box = OwnFile(KEY, ABOUT, "keld")
    box.recording.value = chosen("fly-keld.csv", made)
    box.take()
    assert "fly-keld.csv was flown by the course&#x27;s own pilot, not by you: it does not count." in box.said.value
    assert recording.newest(KEY) is None
    kept = judging.judge(QUESTION, GIVENS, taken("fly-keld.csv", made).text)
    assert "it does not count" in kept.text
    assert kept.outcome is not Outcome.PASS


def test_a_procedure_of_the_course_is_chosen_from_its_list():
    """Definition: every procedure of the course is a choice, the question's own first."""
    box = OwnFile(KEY, ABOUT, "keld")
    assert {name for _, name in box.flown.options} == set(procedure.names())
    assert box.flown.options[0][1] == box.flown.value == "keld"
    box.flown.value = "saltmarsh"
    box.recording.value = chosen("mine.gpx", written("saltmarsh", ".gpx", laps=1))
    box.take()
    assert "mine.gpx is taken" in box.said.value
    assert "Saltmarsh" in judging.judge(QUESTION, GIVENS, recording.newest(KEY).text).given


def test_the_debrief_in_a_cell_says_what_matters_and_folds_the_rest():
    """Definition: the verdict and at most three findings stand open; all of it is there, folded."""
    low = written("saltmarsh", ".gpx", faults=("early descent below minimums",))
    box = OwnFile(KEY, ABOUT, "keld")
    box.recording.value, box.procedure.value = chosen("mine.gpx", low), chosen(*OWN)
    box.take()
    open_, _, folded = box.said.value.partition("<details>")
    assert "Debrief: Not passed" in open_
    assert 1 <= open_.count("<li>") <= 3
    assert "below minimums" in open_
    assert "What went well" not in open_
    assert "What went well" in folded


def test_whose_it_is_and_whether_it_was_changed():
    """Definition: another's text, a changed one, and a question that takes no file are refused in a sentence."""
    flight = taken("mine.gpx", written("keld", ".gpx", entry="RIMVO", laps=1))
    others = judging.judge(QUESTION, judging.draw(QUESTION, "pupil 2"), flight.text)
    assert "another student's numbers" in others.text
    changed = judging.judge(QUESTION, GIVENS, flight.text.replace('"mine.gpx"', '"other.gpx"'))
    assert "was changed after it was handed in" in changed.text
    hand = QUESTIONS["wa-hand"]
    theirs = judging.draw(hand, "pupil 1")
    mine = own_flight.handed_in(
        "wa-hand", hand.about(theirs), ("mine.gpx", written("keld", ".gpx", entry="RIMVO", laps=1)), published="keld"
    )
    assert "a file of your own is not taken here" in judging.judge(hand, theirs, mine.text).text


def sheet():
    places = (checkout() / each / "whole-approach" / "whole-approach.ipynb" for each in ("solutions", "lessons"))
    return Sheet("whole-approach", *(json.loads(path.read_text("utf-8")) for path in places))


def test_the_desk_judges_the_file_and_has_a_person_look():
    """Definition: the mark is the debrief's; a person is told what was checked, and who handed in the same file."""
    content = written("keld", ".gpx", entry="RIMVO", laps=1)
    paper = sheet()
    cell = next(name for name, one in paper.marked.items() if one.question == KEY)
    given = []
    for student in ("pupil 1", "pupil 2"):
        about = QUESTION.about(judging.draw(QUESTION, student))
        given.append(Given(begun=student, answers={cell: taken("mine.gpx", content, about=about).text}))
    first, second = judge_all(paper, given)
    assert first["marks"][cell] == second["marks"][cell] == QUESTION.points
    assert "needs a look" in first["cells"][cell]
    assert "mine.gpx" in first["cells"][cell]
    assert "the same file came from pupil 2" in first["cells"][cell]
    assert hand_in.printable(first["cells"][cell], 500) == first["cells"][cell]


def test_what_the_desk_can_check_it_checks():
    """Definition: a track beyond any light aircraft counts nothing; one this course wrote is named."""
    made = written("keld", ".csv", entry="RIMVO", missed=False)
    assert "written by this course" in aloft.to_look_at(taken("mine.csv", made).text)
    rows = written("keld", ".csv", entry="RIMVO", laps=1).decode().splitlines()
    first = next(n for n, row in enumerate(rows) if row[:1].isdigit())
    header = rows[first - 1].split(",")
    at = header.index("alt_ft")
    lifted = [row.split(",") for row in rows[first:]]
    for number, row in enumerate(lifted):
        row[at] = f"{float(row[at]) + 4000.0 * np.exp(-(((number - 300) / 6.0) ** 2)):.1f}"
    forged = "\n".join([*rows[:first], *map(",".join, lifted)]).encode()
    try:
        text = taken("mine.csv", forged).text
    except BadData:
        pytest.fail("the reader mended it away: the test needs another forgery")
    assert "it changes height by" in aloft.cannot_be_flown(QUESTION, GIVENS, text)
