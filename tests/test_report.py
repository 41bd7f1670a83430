"""The door: fly and debrief from the command line, print, write a page that needs nobody."""

import re
from html.parser import HTMLParser

import pytest
import track_maker as maker
from needlework.course import flights
from needlework.course.command import main
from needlework.debrief import debrief
from needlework.flying import tracklog
from needlework.world import procedure
from track_maker import SALTMARSH, Habits

PLAN = """
name = "out and round"

[start]
radial_deg = 310
dme_nm = 6
altitude_ft = 3630
heading_deg = 310
ias_kt = 98

[[rows]]
then = { course_1_deg = 310, course_2_deg = 320, identify = true }

[[rows]]
when = { dme_rises_to_nm = 9.5 }
then = { heading_deg = 45, turn = "right", course_1_deg = 214 }
note = "lead for the arc"

[[rows]]
when = { radial_reaches_deg = 325 }
then = { end = true }
"""


@pytest.fixture
def recording(tmp_path):
    rows = maker.make(SALTMARSH, Habits(early_step=3))
    return tracklog.write(maker.record(SALTMARSH, rows, every_s=4.0), tmp_path / "mine & yours.gpx")


class _Parts(HTMLParser):
    """Every address a page could ask for, every picture, and its tags in balance."""

    def __init__(self):
        super().__init__()
        self.addresses, self.images, self.open = [], [], []

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        self.addresses += [given[name] for name in ("src", "href", "action", "data") if name in given]
        if tag == "img":
            self.images.append(given)
        if tag not in ("meta", "img", "br"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


def test_debrief_command(recording, tmp_path, capsys):
    """Definition: the command prints the debrief and writes a page with its pictures, all in one file."""
    out = tmp_path / "reports"
    assert main(["debrief", str(recording), "--procedure", "saltmarsh", "--out", str(out)]) == 0
    printed = capsys.readouterr().out
    assert printed.startswith(tracklog.CAUTION)
    assert "NOT PASSED" in printed
    assert "below the floor of 780 ft" in printed
    page = (out / "debrief-mine & yours.html").read_text(encoding="utf-8")
    assert {path.name for path in out.glob("*.png")} == {
        f"debrief-mine & yours-{name}.png" for name in ("plan", "descent", "strips")
    }
    parts = _Parts()
    parts.feed(page)
    assert parts.open == []
    assert len(parts.images) == 3
    assert all(image["alt"] for image in parts.images)
    assert all(address.startswith("data:image/png;base64,") for address in parts.addresses)  # opens offline
    assert "default-src 'none'" in page
    assert "http" not in re.sub(r"base64,[^\"]*", "", page).replace('http-equiv="Content-Security-Policy"', "")
    for words in (tracklog.CAUTION, "In the air: climb first", "Nobody has checked a recording", "<strong>critical:"):
        assert words in page


def test_nothing_is_written_over(recording, tmp_path, monkeypatch, capsys):
    """Definition: a report never replaces one that is there (its pictures left out: they take long to draw)."""
    monkeypatch.setattr(flights, "pictures", lambda *_: ())
    words = ["debrief", str(recording), "--procedure", "saltmarsh", "--out", str(tmp_path)]
    assert main(words) == 0
    first = (tmp_path / "debrief-mine & yours.html").read_bytes()
    assert main(words) == 0
    assert (tmp_path / "debrief-mine & yours.html").read_bytes() == first
    assert (tmp_path / "debrief-mine & yours-2.html").exists()
    capsys.readouterr()


def test_fly_a_plan(tmp_path, capsys):
    """Definition: a plan is flown in the wind given; recording, report and pictures are written."""
    plan = tmp_path / "plan.toml"
    plan.write_text(PLAN, encoding="utf-8")
    words = ["fly", "saltmarsh", "--wind", "240/25", "--plan", str(plan), "--out", str(tmp_path)]
    assert main(words) == 0
    printed = capsys.readouterr().out
    assert "the arc GELPO to R345" in printed
    track = tracklog.read(tmp_path / "fly-saltmarsh.csv")
    assert track.columns == tuple(column.name for column in tracklog.COLUMNS)
    assert track.notes == ()
    assert (tmp_path / "fly-saltmarsh.html").exists()


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        (["debrief", "none.gpx", "--procedure", "saltmarsh"], "none.gpx: cannot be opened"),
        (["debrief", "none.gpx", "--procedure", "saltmarch"], "did you mean saltmarsh?"),
        (["fly", "saltmarsh", "--wind", "25"], "such as 240/25"),
        (["fly", "saltmarsh", "--wind", "240/25", "--day", "Breeze"], "leave one of them out"),
        (["fly", "saltmarsh", "--fault", "late leed"], "did you mean late lead?"),
        (["fly", "saltmarsh", "--fault", "single drift in the hold"], "add --laps 2"),
        (["fly", "saltmarsh", "--laps", "12"], "expected 0 to 9 laps of the hold"),
        (["fly", "saltmarsh", "--plan", "none.toml", "--laps", "1"], "leave --plan or --laps out"),
        (["fly", "saltmarsh", "--plan", "none.toml"], "none.toml does not exist"),
        (["fly", "saltmarsh", "--aircraft", "Finsh"], "did you mean finch?"),
    ],
)
def test_one_sentence(words, reason, tmp_path, monkeypatch, capsys):
    """Definition: a user's error is one sentence and code 2."""
    monkeypatch.chdir(tmp_path)
    assert main(words) == 2
    said = capsys.readouterr().err
    assert reason in said
    assert said.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


def test_words_of_a_recording_are_not_markup():
    """Definition: what stands in a file name or a note is text in the page, whatever it looks like."""
    rows = maker.make(SALTMARSH, Habits())
    track = maker.record(SALTMARSH, rows, every_s=10.0)
    columns = {name: getattr(track, name) for name in track.columns}
    hostile = tracklog.Track(**columns, name="<script>", notes=("<script>alert(1)</script>",))
    page = flights.page(debrief(hostile, procedure.load("saltmarsh")))
    assert "<script" not in page
    assert "&lt;script&gt;alert(1)" in page
