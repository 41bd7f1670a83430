"""The door: fly and debrief from the command line, print, write a page that needs nobody."""

import base64
import hashlib
import re
import shutil
import subprocess
from html.parser import HTMLParser

import numpy as np
import pytest
import track_maker as maker
from browser import ARGUMENTS, driver, require_browser
from needlework.course.command import main
from needlework.course.flights import history, page, pictures, replay
from needlework.debrief import debrief
from needlework.flying import pilot, plan, tracklog
from needlework.world import aircraft, procedure, weather
from needlework.world.datafiles import datasets_dir
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
        if tag not in ("meta", "img", "br", "input"):
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
    written = (out / "debrief-mine & yours.html").read_text(encoding="utf-8")
    assert {path.name for path in out.glob("*.png")} == {
        f"debrief-mine & yours-{name}.png" for name in ("plan", "descent", "strips")
    }
    parts = _Parts()
    parts.feed(written)
    assert parts.open == []
    assert len(parts.images) == 3
    assert all(image["alt"] for image in parts.images)
    assert all(address.startswith("data:image/png;base64,") for address in parts.addresses)  # opens offline
    assert "default-src 'none'" in written
    assert "http" not in re.sub(r"base64,[^\"]*", "", written).replace('http-equiv="Content-Security-Policy"', "")
    for words in (tracklog.CAUTION, "In the air: climb first", "Nobody has checked a recording", "<strong>critical:"):
        assert words in written


def test_remarks_on_a_procedure_of_ones_own(recording, tmp_path, monkeypatch, capsys):
    """Definition: what a designer would ask about an own procedure is printed at the end; the course's is quiet."""
    monkeypatch.setattr(pictures, "pictures", lambda *_: ())
    own = tmp_path / "odd.toml"
    text = (datasets_dir() / "procedures" / "saltmarsh.toml").read_text("utf-8")
    own.write_text(text.replace("lead_radial_deg = 22 ", "lead_radial_deg = 27 "), "utf-8")
    assert main(["debrief", str(recording), "--procedure", str(own), "--out", str(tmp_path)]) == 0
    printed = capsys.readouterr().out
    asked = printed.split("What a procedure designer would ask about odd.toml:\n")[1]
    assert asked.startswith(
        "- Lead radial 027 lies 1.2 NM before DOVAN: expected 2 NM or more. Source: ICAO Doc 8168"
    )
    assert asked.count("\n- ") == 0
    assert main(["debrief", str(recording), "--procedure", "saltmarsh", "--out", str(tmp_path)]) == 0
    assert "designer" not in capsys.readouterr().out


def test_nothing_is_written_over(recording, tmp_path, monkeypatch, capsys):
    """Definition: a report never replaces one that is there (its pictures left out: they take long to draw)."""
    monkeypatch.setattr(pictures, "pictures", lambda *_: ())
    words = ["debrief", str(recording), "--procedure", "saltmarsh", "--out", str(tmp_path)]
    assert main(words) == 0
    first = (tmp_path / "debrief-mine & yours.html").read_bytes()
    assert main(words) == 0
    assert (tmp_path / "debrief-mine & yours.html").read_bytes() == first
    assert (tmp_path / "debrief-mine & yours-2.html").exists()
    capsys.readouterr()


def test_fly_a_plan(tmp_path, capsys, monkeypatch):
    """Definition: a plan is flown in the wind given, which is said as given; recording, report, pictures are written.

    From the course's own folder they go into the learner's.
    """
    monkeypatch.setenv("NEEDLEWORK_FOLDER", str(tmp_path / "mine"))
    monkeypatch.chdir(datasets_dir())
    plan = tmp_path / "plan.toml"
    plan.write_text(PLAN, encoding="utf-8")
    words = ["fly", "saltmarsh", "--wind", "240/25", "--plan", str(plan)]
    assert main(words) == 0
    printed = capsys.readouterr().out
    assert "the arc GELPO to R345" in printed
    assert "Wind from 240 true, 25 kt" in printed
    folder = tmp_path / "mine" / "flights"
    track = tracklog.read(folder / "fly-saltmarsh.csv")
    assert track.columns == tuple(column.name for column in tracklog.COLUMNS)
    assert track.notes == ()
    assert (folder / "fly-saltmarsh.html").exists()


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
    written = page.page(debrief(hostile, procedure.load("saltmarsh")))
    assert written.count("<script") == 1  # the replay's own
    assert "&lt;script&gt;alert(1)" in written


def judged(**habits):
    track = maker.record(SALTMARSH, maker.make(SALTMARSH, Habits(**habits)), every_s=4.0)
    return debrief(tracklog.Track(**{name: getattr(track, name) for name in track.columns}, name="mine.gpx"), WAY)


WAY = procedure.load("saltmarsh")


def test_the_replay_is_allowed_by_its_digest_and_holds_the_flight():
    """Definition: the page's policy allows one script, by the digest of its text; its data are the flight's."""
    report = judged()
    code, digest = replay.script_of(report)
    assert digest == "sha256-" + base64.b64encode(hashlib.sha256(code.encode()).digest()).decode()
    written = page.page(report)
    assert f"script-src '{digest}'" in written
    assert f"<script>{code}</script>" in written
    data = replay.data_of(report)
    assert (
        len({len(data[name]) for name in ("t", "x", "y", "alt", "floor", "dme", "hdg", "needle", "flag", "part")})
        == 1
    )
    assert data["t"][-1] == pytest.approx(report.seen.time_s[-1])
    assert set(data["flag"]) <= {-1, 0, 1}
    assert [None for values in data["legs"] if len(values) < 2] == []
    east, north = np.array(data["legs"][-1]).T  # the hold comes last, round its fix
    fix = WAY.fix(WAY.hold.fix)
    angle = np.deg2rad(fix.radial_deg + WAY.station.declination_deg)
    off = np.hypot(east - fix.dist_nm * np.sin(angle), north - fix.dist_nm * np.cos(angle))
    assert off.min() < 0.01  # NM
    assert 4.0 < off.max() < 7.0  # legs of 4 NM and a turn


def test_the_page_prints_on_four_pages_at_most(tmp_path):
    """Definition: a flight with much to say, on A4; nothing stands over the needle of the replay."""
    path = require_browser()
    flight = judged(join_late_nm=1.2, lead_late_deg=8.0, chase_deg=35.0, early_step=3, wait_past_map_nm=0.9)
    assert len(flight.findings) >= 4
    written = page.write(flight, tmp_path, "much", quiet=True)
    with driver() as driven:
        browser = driven.chromium.launch(executable_path=path, args=ARGUMENTS)
        shown = browser.new_page(viewport={"width": 1280, "height": 900})
        complaints: list[str] = []
        shown.on("console", lambda message: complaints.append(message.text))
        shown.goto(written[0].as_uri())
        printed = shown.pdf(prefer_css_page_size=True)
        shown.locator("#when").evaluate("e => { e.value = e.max / 2; e.oninput(); }")
        boxes = {name: shown.locator(f"#{name}").bounding_box() for name in ("bar", "flag", "course")}
        browser.close()
    assert 2 <= len(re.findall(rb"/Type\s*/Page\b", printed)) <= 4
    assert complaints == []
    assert boxes["bar"]["y"] + boxes["bar"]["height"] < min(boxes["flag"]["y"], boxes["course"]["y"])


@pytest.mark.skipif(shutil.which("node") is None, reason="no JavaScript at hand")
def test_the_replay_runs(tmp_path):
    """Definition: the script runs, and every position of the slider shows a moment, without a browser's help."""
    code, _ = replay.script_of(judged(join_late_nm=1.2))
    stub = """
const made = {};
const element = () => ({ style: {}, attributes: {}, setAttribute(k, v) { this.attributes[k] = v; },
  appendChild(c) { return c; }, textContent: '', value: 0, hidden: true });
globalThis.document = { getElementById: (id) => (made[id] = made[id] || element()), createElementNS: element,
  createElement: element };
"""
    check = """
const slider = made['when'];
for (let i = 0; i <= slider.max; i += 7) { slider.value = i; slider.oninput(); }
if (made['replay'].hidden || !/[0-9]{3}/.test(made['hdg'].textContent)) throw new Error('nothing shown');
"""
    script = tmp_path / "replay.js"
    script.write_text(stub + code + check, encoding="utf-8")
    subprocess.run([shutil.which("node"), str(script)], check=True, capture_output=True, timeout=60)


def test_the_page_says_what_matters_first():
    """Definition: file, date, aircraft, wind and standard are named; what to train next stands with its exercise."""
    report = judged(join_late_nm=1.2)
    written = page.page(report)
    for words in ("mine.gpx", "no date recorded", "aircraft not named", "certification standards", "Train next"):
        assert words in written
    assert "lesson flying-an-arc, exercise arc-turn-dme" in written
    assert "prefers-color-scheme: dark" in written
    assert "@media print" in written


def test_history(tmp_path, monkeypatch, recording, capsys):
    """Definition: flights are kept with the progress once each; a fault is said to be there again, or gone."""
    monkeypatch.setenv("NEEDLEWORK_FOLDER", str(tmp_path / "learner"))
    monkeypatch.setattr(pictures, "pictures", lambda *_: ())
    words = ["debrief", str(recording), "--procedure", "saltmarsh", "--out", str(tmp_path), "--history"]
    assert main(words) == 0
    assert main(words) == 0
    assert len(history.kept()) == 1  # the same flight counts once
    first, second = (history.of(judged(join_late_nm=late)) for late in (1.2, 0.0))
    assert "lead none or wrong side" in first.faults
    told = history.again_or_gone([first, first, second])
    assert "lead none or wrong side: in 2 of 3, gone for 1 flight" in told
    assert "again in the newest" in " ".join(history.again_or_gone([first, first]))
    assert "gone for 1 flight" in history.page([first, second])
    assert main(["debrief", "--history"]) == 0
    assert "Flights, oldest first:" in capsys.readouterr().out


def test_legs_and_moments_by_hand(recording, tmp_path, monkeypatch, capsys):
    """Definition: a part set by hand begins at its time; a wrong word or time is one sentence."""
    monkeypatch.setattr(pictures, "pictures", lambda *_: ())
    words = ["debrief", str(recording), "--procedure", "saltmarsh", "--out", str(tmp_path)]
    assert main([*words, "--legs", "the arc R345 to DOVAN 12:00", "--in-sight", "4.1"]) == 0
    assert re.search(r"12:0\d to .* the arc R345 to DOVAN", capsys.readouterr().out)
    for more, reason in (
        (["--legs", "the arc R344 to DOVAN 12:00"], "did you mean the arc R345 to DOVAN?"),
        (["--legs", "the arc"], "expected words of the debrief and a time"),
        (["--in-sight", "perhaps"], "expected yes, no, a DME such as 4.1"),
        (["--passage", "130-310"], "such as 130/310"),
    ):
        assert main([*words, *more]) == 2
        assert reason in capsys.readouterr().err


def test_explained_plan(capsys):
    """Definition: every word a plan may hold is explained, with its unit."""
    assert main(["fly", "--explain-plan"]) == 0
    said = capsys.readouterr().out
    for kind in (plan.Start, plan.When, plan.Then):
        for name in kind.model_fields:
            assert f"  {name} " in said, name


def test_a_strong_wind_is_said_and_one_too_strong_refused(tmp_path, monkeypatch, capsys):
    """Definition: a wind above the slowest speed cannot be flown across; the sentence says what can."""
    monkeypatch.chdir(tmp_path)
    assert main(["fly", "saltmarsh", "--wind", "24075KT"]) == 2
    assert "too strong for the Finch" in capsys.readouterr().err


PLANS = sorted((datasets_dir() / "plans").glob("*.toml"))


def test_every_procedure_has_an_example_plan():
    """Definition: the course's procedures and its example plans go by the same names."""
    procedures = sorted((datasets_dir() / "procedures").glob("*.toml"))
    assert [path.stem for path in PLANS] == [path.stem for path in procedures]


@pytest.mark.parametrize("name", ["keld", "jarvu"])
def test_every_word_of_a_plan_is_explained_where_it_stands(name):
    """Definition: each word that the file uses stands on a line, or below one, that says what it does."""
    lines = (datasets_dir() / "plans" / f"{name}.toml").read_text(encoding="utf-8").splitlines()
    bare = [line.partition("#")[0] for line in lines]
    used = {word for line in bare for word in re.findall(r"(\w+) = ", line)} - {"when", "then", "note"}
    said = {word for line in lines if "#" in line for word in re.findall(r"\w+", line)}
    assert len(used) > 15
    assert used - said == {"name"}  # the name of the plan says what it is


@pytest.mark.parametrize("name", [path.stem for path in PLANS])
def test_the_example_plan_of_every_procedure_flies_and_passes(name):
    """Definition: the course's own plan for each procedure, flown in still air, is passed without a finding."""
    way = procedure.load(name)
    chosen = plan.read(procedure.datasets_dir() / "plans" / f"{name}.toml")
    day = weather.Day("Still", "calm", weather.parse("calm"), 15.0, 1013.25)
    flown = pilot.fly(chosen, way.station, aircraft.load("Finch"), day, seed=1)
    assert flown.waiting == ""
    report = debrief(flown.track(name), way, aircraft.load("Finch"))
    assert [finding.text for finding in report.findings] == []
    assert report.verdict == "passed"
