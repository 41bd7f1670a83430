"""The live panel without a browser: the cockpit by itself, and the widget through its traits and messages."""

import asyncio
import dataclasses
import json
import math
import re
import selectors

import nbformat
import numpy as np
import pytest
from nbclient import NotebookClient
from needlework.basis.errors import BadData, OutOfRange
from needlework.exercises import judging, progress, recording
from needlework.exercises.catalogue import QUESTIONS
from needlework.exercises.verdicts import Outcome
from needlework.flying import flight as model
from needlework.showing import panel
from needlework.showing.panel import shown, widget
from needlework.showing.panel.receivers import is_tuning
from needlework.showing.panel.task import Passed, Task
from needlework.trade import geodesy

START = {"radial_deg": 34, "dme_nm": 5, "altitude_ft": 3000, "heading_deg": 214, "ias_kt": 98}


pytestmark = pytest.mark.usefixtures("panels")


def made(name="test", **more):
    return panel.fly(name, "Fly.", start=START, course_1_deg=214, course_2_deg=304, **more)


def cockpit(**more):
    return made(**more).cockpit


def presses(board_panel, *actions):
    for action in actions:
        board_panel._heard(None, {"act": action}, [])


class Jumps(selectors.DefaultSelector):
    """Waits for nothing: where a program would sleep, its clock jumps on."""

    passed_s = 0.0

    def select(self, timeout=None):
        if timeout is None:
            return super().select()
        self.passed_s += timeout
        return super().select(0)


class Clock(asyncio.SelectorEventLoop):
    """An event loop on a clock of its own: a flight takes as long as the machine needs to reckon it."""

    def __init__(self):
        self._jumps = Jumps()
        super().__init__(self._jumps)

    def time(self):
        return self._jumps.passed_s


def run(flight):
    with asyncio.Runner(loop_factory=Clock) as runner:
        return runner.run(flight)


async def answering(board_panel, seconds, until=lambda: False):
    """Be a browser for a while: answer each picture."""
    end = asyncio.get_running_loop().time() + seconds
    while asyncio.get_running_loop().time() < end and not until():
        await asyncio.sleep(0.02)
        board_panel._heard(None, {"seen": board_panel.board.tick}, [])


def test_hands_move_what_they_say():
    """Definition: each button changes what it names, by the size on it, and nothing else."""
    fly = cockpit()
    for action, name, wanted in (
        ("heading+10", "heading_deg", 224),
        ("heading-1", "heading_deg", 223),
        ("ias-5", "ias_kt", 93),
        ("stop+100", "stop_ft", 3100),
        ("stop-20", "stop_ft", 3080),
        ("vs+100", "vs_fpm", 100),
    ):
        assert fly.act(action) == ""
        assert getattr(fly, name) == wanted
    fly.act("course1-10")
    fly.act("course2+1")
    assert fly.course_deg == [204, 305]
    for _ in range(21):
        fly.act("course1-10")
    assert fly.course_deg[0] == 354  # round past north


def test_a_turn_goes_the_way_it_was_asked():
    """Definition: 20 presses to the right turn right through 200 degrees, not left through 160."""
    fly = cockpit()
    for _ in range(20):
        fly.act("heading+10")
    fly.advance(20)
    assert fly.state.bank_deg[0] > 10
    fly.advance(60)
    assert fly.sight.heading_deg[0] == pytest.approx(54, abs=0.5)  # the last half degree comes slowly
    for _ in range(100):
        fly.act("heading+10")
    assert fly.heading_deg - fly.state.heading_deg[0] <= 350


def test_climb_and_level_off():
    """Definition: the vertical speed asked for is flown to the altitude asked for, and then is nil."""
    fly = cockpit(day="Still")
    for _ in range(5):
        fly.act("stop-100")
    for _ in range(5):
        fly.act("vs-100")
    fly.advance(30)
    assert fly.sight.vs_fpm[0] == pytest.approx(-500, abs=2)  # 3 s lag: all but e^-10 of it
    fly.advance(60)
    assert fly.sight.alt_ft[0] == pytest.approx(2500, abs=12)  # captured within this
    assert fly.vs_fpm == 0
    fly.advance(60)
    assert fly.sight.alt_ft[0] == pytest.approx(2500, abs=2)  # settled


def test_level_now_and_no_altitude_ahead():
    """Definition: an altitude behind is not captured; level now stops the descent where it is."""
    fly = cockpit()
    fly.act("stop+20")
    for _ in range(3):
        fly.act("vs-100")  # the altitude to stop at is 3,020 ft, not below
    fly.advance(120)
    assert fly.sight.alt_ft[0] == pytest.approx(2400, abs=20)  # the lag costs 300 x 3/60 ft
    fly.act("level")
    low = fly.sight.alt_ft[0]
    fly.advance(60)
    assert fly.sight.alt_ft[0] == pytest.approx(low - 15, abs=12)  # what is left of the sinking


def test_what_level_off_holds_is_said_and_not_left_in_silence():
    """Common practice, no source: a descent asked for where level-off holds is answered with what to press first."""
    fly = cockpit()
    said = {fly.act("vs-100") for _ in range(4)}
    assert said == {"Level-off holds 3,000 ft: lower it first, then ask for the descent again."}
    assert fly.vs_fpm == 0
    assert fly.act("vs+100").startswith("Level-off holds 3,000 ft: raise it first")
    assert fly.act("stop-100") == "Level-off now waits at 2,900 ft: ask for the descent."
    assert fly.act("vs-100") == ""
    fly.advance(90)
    assert fly.sight.alt_ft[0] == pytest.approx(2900, abs=12)
    assert fly.act("vs-100").startswith("Level-off holds 2,900 ft")
    assert fly.act("stop-100") != ""
    fly.act("vs-100")
    assert fly.act("stop-100") == ""  # on the way down nothing is waiting to be asked for


def above_the_runway(past_nm, altitude_ft, sight_at_nm):
    """A flight down the final of Outer Keld, its runway to the right of a line that ends before the station."""
    start = {
        "radial_deg": 150.0,
        "dme_nm": 2.4 - past_nm,
        "altitude_ft": altitude_ft,
        "heading_deg": 330,
        "ias_kt": 84,
    }
    return panel.fly("behind", "Fly.", start=start, of="keld", sight_at_nm=sight_at_nm)


def test_a_runway_left_behind_is_said():
    """Definition: past the far end of the runway there is nothing to land on; before it the runway is in sight."""
    flown = above_the_runway(-2.0, 520, 4.0)
    presses(flown, "hand wings", "hand wings")
    flown._recorder = recording.Recorder("behind", {})
    heard = []
    while flown.cockpit.time_s < 240:
        flown._fly(1.0)
        heard.append((flown.message, shown.note(flown.cockpit)))
    messages = list(dict.fromkeys(message for message, _ in heard))
    assert messages[-2:] == ["Runway in sight.", "The runway is behind you: no landing from here. Go around."]
    assert "the runway is behind you; no landing from here" in heard[-1][1]
    assert "the runway is in sight" in next(note for message, note in heard if message == "Runway in sight.")


def test_a_flight_that_ends_beside_the_runway_says_what_that_is_and_what_comes_next():
    """Common practice, no source: on the ground anywhere but on the runway is no landing."""
    flown = above_the_runway(-2.0, 520, 4.0)
    flown._recorder = recording.Recorder("behind", {})
    flown._recorder.add(flown.cockpit.row())
    for action in ["stop-100"] * 6 + ["vs-100"] * 9:
        flown.cockpit.act(action)
    for _ in range(120):
        if not flown.ended:
            flown._fly(1.0)
    assert flown.ended == "on the ground, not on the runway"
    assert "That is no landing: judged, it counts as critical. Judge it below." in flown.message


def test_flap_has_a_limit():
    """The course's own scenario, Finch: approach flap below 100 kt, landing flap below 90."""
    fly = cockpit()
    assert fly.act("configuration+1") == ""
    assert fly.act("configuration+1") == "Landing flap is set at 90 kt or less: slow down first."
    assert fly.configuration == 1
    fly.advance(5)
    assert fly.row()["configuration"] == 1
    for _ in range(3):
        said = fly.act("ias+5")
    assert said == "Approach flap is flown at 100 kt or less."
    assert fly.act("configuration-1") == ""
    assert fly.act("configuration-1") == ""
    assert fly.configuration == 0


def test_instruments_agree_with_the_position():
    """Independent method: needle, flag and DME worked out from the recorded position by the geodesic."""
    fly = cockpit()
    station = fly.way.station
    still = model.radio(station, scallop_deg=0.0, needle_lag_s=0.0, dme_digit_nm=0.0)
    heard = fly.receivers._stations
    heard[11460] = dataclasses.replace(heard[11460], radio=still)
    for _ in range(4):
        fly.act("heading+10")
    rows = []
    fly.advance(400, rows.append)
    assert [row["time_s"] for row in rows] == list(range(1, 401))
    for row in rows[::25]:
        radial, ground = geodesy.radial_and_distance(
            station_lat_deg=station.lat_deg,
            station_lon_deg=station.lon_deg,
            declination_deg=station.declination_deg,
            lat_deg=row["lat_deg"],
            lon_deg=row["lon_deg"],
        )
        slant = math.hypot(ground, (row["alt_ft"] - station.elevation_ft) * 0.3048 / 1852)
        assert row["dme_nm"] == pytest.approx(slant, abs=0.005)  # plane against geodesic, altimeter against height
        off = (radial - 214 + 180) % 360 - 180
        flag = 0 if abs(abs(off) - 90) < 0.5 else 1 if abs(off) > 90 else -1
        if ground > 1:
            assert row["flag_1"] == flag
            if flag == 0:
                continue
            needle = -off if abs(off) < 90 else (radial - 34 + 180) % 360 - 180
            assert row["needle_1_deg"] == pytest.approx(np.clip(needle, -10, 10), abs=0.05)  # the same two


def test_identify_and_stopwatch():
    """Definition: listening gives the Morse of the station and is recorded; the stopwatch runs with the flight."""
    fly = cockpit()
    assert fly.row()["identified"] == 0
    assert "––– ···– –·–" in fly.act("identify")
    assert fly.row()["identified"] == 1
    fly.act("stopwatch")
    fly.advance(12.3)
    fly.act("stopwatch")
    fly.advance(5)
    assert fly.stopwatch_s == pytest.approx(12.3, abs=1e-6)  # sums of floats
    fly.act("zero")
    assert fly.stopwatch_s == 0


def test_nothing_flies_until_asked():
    """Definition: showing a panel starts no task, writes no file and does not wait."""
    shown = made()
    assert not shown.flying
    assert not recording.every("test")
    assert shown.board.tick == 1
    assert shown.board.state["plan"]["hidden"]
    assert shown.board.readings["heading"] == "214"


def test_a_heading_asked_for_before_the_flight_is_told():
    """Definition: a key pressed by mistake turns the aircraft once time runs: it is said, until it is put back."""
    flown = made()
    opening = flown.message
    presses(flown, "heading-10")
    begins, asked = f"{round(flown.cockpit.state.heading_deg[0]):03d}", f"{round(flown.cockpit.heading_deg):03d}"
    assert flown.message.startswith(f"Heading {asked} is asked for before the flight, which begins on {begins}")
    presses(flown, "heading+10")
    assert flown.message == opening


def test_a_short_flight():
    """Definition: a flight advances with the clock, is recorded second by second, ends and is noted."""

    async def flight():
        flown = made()
        presses(flown, "pause", "rate10")
        await answering(flown, 1.2)
        assert flown.flying
        assert flown.board.lit["pause"]
        assert flown.cockpit.time_s == pytest.approx(12, abs=1.01)  # ten times as fast; a picture is a second of it
        assert recording.every("test")[0].flown_s >= flown.cockpit.time_s - 1.1
        presses(flown, "pause")
        held = flown.cockpit.time_s
        await asyncio.sleep(0.3)
        assert flown.cockpit.time_s == held
        presses(flown, "end")
        assert flown.message == "End the flight here? Press it once more."
        presses(flown, "end")
        assert flown.ended == "by the pilot"
        return flown

    flown = run(flight())
    kept = recording.newest("test")
    assert kept.intact
    assert kept.about["procedure"] == "saltmarsh"
    noted = progress.read().flights[-1]
    assert noted["name"] == "test"
    assert noted["recording"] == str(kept.path)
    assert not flown.board.state["plan"]["hidden"]
    assert "heading+10" in flown.board.unusable
    presses(flown, "pause", "end")
    assert not flown.flying
    assert "has ended" in flown.message


def test_ends_by_itself():
    """Definition: past the station the flight ends when the DME has risen to the one asked for."""

    async def flight():
        flown = panel.fly(
            "short", "Fly.", start={**START, "dme_nm": 0.6}, course_1_deg=214, ends_at_dme_nm=0.9, day="Still"
        )
        presses(flown, "pause", "rate10")
        await answering(flown, 30, until=lambda: flown.ended)
        return flown

    flown = run(flight())
    assert flown.ended == "at DME 0.9"
    assert flown.cockpit.dme_nm() == pytest.approx(0.9, abs=1e-6)  # a rounded reading


def test_ends_by_itself_on_the_way_in():
    """Definition: coming in the flight ends when the DME has fallen to the one asked for, not before it was more."""

    async def flight():
        flown = panel.fly("in", "Fly.", start={**START, "dme_nm": 2.3}, ends_below_dme_nm=2.1, day="Still")
        presses(flown, "pause", "rate10")
        await answering(flown, 30, until=lambda: flown.ended)
        return flown

    flown = run(flight())
    assert flown.ended == "at DME 2.1"
    assert flown.cockpit.dme_nm() == pytest.approx(2.1, abs=1e-6)  # a rounded reading


@pytest.mark.parametrize(("radial_deg", "ends"), [(34, True), (39, True), (22, False), (64, False), (None, True)])
def test_a_flight_that_ends_on_a_radial_flies_on_elsewhere(radial_deg, ends):
    """Definition: at the reading asked for it ends only where the needle of that radial is off its stop, 10 degrees.

    Flown in on radial 034; the same rule ends the flight of a class.
    """
    fly, task = made().cockpit, Task("in", "Fly.", ends_below_dme_nm=4.8, ends_on_deg=radial_deg)
    passed = Passed()
    while fly.dme_nm() > 4.5 and not passed.ended:
        fly.advance(1.0)
        passed = passed.on(task, fly)
    assert passed.ended == ("at DME 4.8" if ends else "")


def test_a_call_comes_at_its_reading():
    """Definition: what is seen outside is said once the DME has risen to the reading, not before."""

    async def flight(at_nm):
        flown = panel.fly(
            "call",
            "Fly.",
            start={**START, "dme_nm": 0.6},
            ends_at_dme_nm=0.9,
            day="Still",
            calls=((at_nm, "Runway."),),
        )
        said = []
        flown.board.observe(lambda change: said.append(change["new"]), "sentence")
        presses(flown, "pause", "rate10")
        await answering(flown, 30, until=lambda: flown.ended)
        return said

    assert "Runway." in run(flight(0.8))
    assert "Runway." not in run(flight(0.5))


def test_the_longest_flight():
    """Definition: a flight nobody ends is ended after the time it was given."""

    async def flight():
        flown = made(most_min=0.1)
        presses(flown, "pause", "rate10")
        await answering(flown, 20, until=lambda: flown.ended)
        return flown.ended

    assert run(flight()) == "after 0.1 min"


def test_twenty_runs_leave_one_flight():
    """Definition: running the cell again and again leaves one panel, one task and every recording whole."""

    async def runs():
        for _ in range(20):
            flown = made()
            presses(flown, "pause")
            await asyncio.sleep(0)
        await asyncio.sleep(0.3)
        tasks = [task for task in asyncio.all_tasks() if task is not asyncio.current_task()]
        assert len(widget._panels) == 1
        assert len(tasks) == 1
        flown.close()
        await asyncio.sleep(0)
        assert not [task for task in asyncio.all_tasks() if task is not asyncio.current_task()]

    run(runs())
    assert len(recording.every("test")) == 20
    assert all(one.intact and not one.ended for one in recording.every("test"))
    assert recording.newest("test") is None
    assert "A flight broken off after 0:00 min is kept in flights/test-" in made().message


def test_one_flies_at_a_time():
    """Definition: starting one panel pauses another."""

    async def two():
        first, second = made("one"), made("two")
        presses(first, "pause")
        presses(second, "pause")
        assert second.flying
        assert not first.flying
        assert "Paused" in first.message
        presses(second, "pause")

    run(two())


def test_slow_browser_drops_pictures():
    """Definition: without an answer no new picture is sent before its time, and after a while the flight pauses."""

    async def flight():
        flown = made()
        presses(flown, "pause")
        before = flown.board.tick
        await asyncio.sleep(1.9 * widget._LATE_S)
        assert flown.board.tick - before <= 2
        assert flown.cockpit.time_s == pytest.approx(1.9 * widget._LATE_S, abs=0.101)
        await asyncio.sleep(widget._AWAY_S - 2.1 * widget._LATE_S)
        assert flown.flying
        await asyncio.sleep(0.4 * widget._LATE_S)
        assert not flown.flying
        assert "nobody seems to be looking" in flown.message

    run(flight())


def test_a_slow_machine_is_said(monkeypatch):
    """Definition: where time cannot run as fast as asked, the panel says how fast it does run."""

    async def flight():
        flown = made()
        presses(flown, "pause", "rate10")
        await answering(flown, 4)
        quick = flown.board.state["rate"]["text"]
        # Each picture now stands for half of the time that has passed.
        monkeypatch.setattr(widget, "_LONGEST_S", 0.05)
        await answering(flown, 4)
        presses(flown, "pause")
        await answering(flown, 0.2)
        presses(flown, "pause")
        await answering(flown, 4)
        return quick, flown.board.state["rate"]["text"]

    assert run(flight()) == ("×10", "only ×5.0")


def test_keys_are_kept(tmp_path):
    """Definition: keys the learner chose are there again, a damaged file of them does no harm."""
    first = made()
    assert first.board.shortcuts["heading+10"] == "ArrowRight"
    first.board.shortcuts = {**first.board.shortcuts, "heading+10": "j"}
    kept = tmp_path / "own" / "keys.json"
    assert json.loads(kept.read_text())["heading+10"] == "j"
    assert made().board.shortcuts["heading+10"] == "j"
    # A button that came later, and whose key the learner had given to another, has none.
    kept.write_text('{"heading+10": "t"}')
    keys = made().board.shortcuts
    assert keys["heading+10"] == "t" and list(keys.values()).count("t") == 1 and keys["tune1+100"] == "y"
    for damaged in ("{", "[1]", '{"heading+10": 3, "nonsense": "x"}'):
        kept.write_text(damaged)
        keys = made().board.shortcuts
        assert keys["heading+10"] == "ArrowRight"
        assert "nonsense" not in keys


def test_every_button_has_a_key_of_its_own():
    """Definition: no two buttons share a key, and each says what it does."""
    keys = [control.key for control in panel.CONTROLS]
    assert len(set(keys)) == len(keys)
    assert all(control.said for control in panel.CONTROLS)
    assert len({control.action for control in panel.CONTROLS}) == len(keys)


def test_speaks_on_request():
    """Definition: needles, flags, DME, heading and altitude are said in words when asked for."""
    shown = made()
    presses(shown, "speak")
    assert shown.board.asked == 1
    assert shown.board.spoken.startswith("VOR 1, OVK, course 214: needle")
    for word in ("VOR 2", "DME 5.0 NM", "Heading 214", "altitude 3,000 ft"):
        assert word in shown.board.spoken


def test_strange_messages_do_nothing():
    """Definition: a message that is none of ours is passed over."""
    shown = made()
    before = shown.board.tick
    for content in (None, 3, {}, {"act": "explode"}, {"act": None}, {"seen": "x"}):
        shown._heard(None, content, [])
    assert shown.board.tick == before


def test_a_selector_speaks_while_time_stands_still():
    """Definition: the receiver needs no clock: a course set before the flight shows its flag and needle at once."""
    waiting = panel.fly("waiting", "Fly.", start=START, course_1_deg=124, course_2_deg=214)
    assert waiting.cockpit.deviation(1).flag == "NONE", "abeam"
    presses(waiting, *["course1+10"] * 9)
    assert waiting.cockpit.deviation(1).flag == "TO"
    assert abs(waiting.cockpit.deviation(1).deviation_dots) < 0.5
    assert waiting.cockpit.time_s == 0.0


def test_only_the_radials_of_the_exercise_are_drawn():
    """Definition: an exercise that flies two radials shows these, not a procedure that is not flown."""
    plain = made("plain", radials=(34.0, 124.0))
    presses(plain, "plan")
    shown = plain.board.state["plan"]
    assert len(shown["marks"]) == 1
    courses = [line for line in shown["lines"] if line["kind"] == "course"]
    assert len(courses) == 2
    whole = made("whole")
    presses(whole, "plan")
    assert len(whole.board.state["plan"]["marks"]) > 3


@pytest.mark.parametrize(
    ("change", "error", "text"),
    [
        ({"start": {**START, "altitude_ft": 99_000}}, BadData, "altitude_ft"),
        ({"start": {"radial_deg": 1}}, BadData, "dme_nm"),
        ({"course_1_deg": 400}, OutOfRange, "course_1_deg = 400 deg is outside"),
        ({"of": "nowhere"}, BadData, "nowhere"),
        ({"aircraft": "Eagle"}, BadData, "Eagle"),
        ({"day": "Doomsday"}, BadData, "Doomsday"),
    ],
)
def test_refusals(change, error, text):
    """Definition: a flight that cannot be is refused in one message that names what is wrong."""
    with pytest.raises(error, match=text):
        panel.fly("test", "Fly.", **{"start": START, **change})


def test_runs_without_a_browser(tmp_path):
    """Definition: a cell with a panel ends at once without a browser and leaves its still twin and sentence."""
    book = nbformat.v4.new_notebook()
    cell = f"from needlework.showing import panel\npanel.fly('x', 'Fly to OVK.', start={START}, course_1_deg=214)"
    book.cells = [nbformat.v4.new_code_cell(cell)]
    NotebookClient(book, timeout=60, kernel_name="python3", resources={"metadata": {"path": str(tmp_path)}}).execute()
    live, still = (output.data for output in book.cells[0].outputs)
    assert "application/vnd.jupyter.widget-view+json" in live
    assert still["text/plain"].startswith("Fly to OVK. At the start: VOR 1, OVK, course 214: needle")
    assert live["text/plain"] == ""
    assert "<summary>Numbers</summary>" in still["text/html"]
    assert re.search(r">altitude</th><td>3,000 ft</td>", still["text/html"])
    assert not (tmp_path / "flights").exists()


# --- the harder way ---------------------------------------------------------------------------


def in_hand(*names, **more):
    fly = cockpit(**more)
    for name in names:
        fly.act(f"hand {name}")
    return fly


def test_wings_by_hand():
    """Independent method: a bank b turns by g tan(b) / TAS; wings left alone hold no heading."""
    fly = in_hand("wings")
    fly.advance(90)
    drifted = float(fly.state.heading_deg[0]) - 214
    assert 0.5 < abs(drifted) < 20
    assert abs(fly.state.bank_deg[0]) < 2
    for _ in range(3):
        fly.act("heading+10")
    assert fly.hands.bank_deg == 15
    fly.act("heading-1")
    assert fly.hands.bank_deg == 14
    fly.advance(8)
    before = float(fly.state.heading_deg[0])
    fly.advance(20)
    bank = float(fly.state.bank_deg[0])
    tas_m_s = float(fly._air.tas_kt(fly.state.ias_kt, fly.state.alt_ft)[0]) * 1852 / 3600
    wanted_deg_s = math.degrees(9.80665 * math.tan(math.radians(14)) / tas_m_s)
    assert bank == pytest.approx(14, abs=1.5)  # what the wings do by themselves
    assert (float(fly.state.heading_deg[0]) - before) / 20 == pytest.approx(wanted_deg_s, rel=0.12)  # the same
    fly.act("wings")
    fly.advance(10)
    assert abs(fly.state.bank_deg[0]) < 2
    for _ in range(12):
        fly.act("heading+10")
    assert fly.hands.bank_deg == fly.craft.bank_limit_deg


def test_speed_by_hand():
    """Definition: less power flies slower, climb and flap cost speed, a descent gains some; set, it stays."""
    fly = in_hand("speed")
    fly.advance(60)
    level_kt = float(fly.sight.ias_kt[0])
    assert level_kt == pytest.approx(98, abs=1)  # power in whole per cent

    def settled(*actions, back=()):
        for action in actions:
            fly.act(action)
        fly.advance(60)
        seen = float(fly.sight.ias_kt[0])
        for action in back:
            fly.act(action)
        fly.advance(60)
        return seen

    assert settled("ias-5", "ias-5", back=("ias+5", "ias+5")) < level_kt - 5
    for _ in range(10):
        fly.act("stop+100")  # level-off holds nothing here
    assert settled("vs+100", "vs+100", back=("level",)) < level_kt - 5
    assert settled("vs-100", "vs-100", back=("level",)) > level_kt + 5
    assert settled("configuration+1", back=("configuration-1",)) < level_kt - 3
    assert float(fly.sight.ias_kt[0]) == pytest.approx(level_kt, abs=0.5)  # back where it was


def test_power_agrees_with_the_aircraft():
    """The course's own scenario, Finch: full power climbs at 75 kt with 650 ft/min; cruise is 108 kt."""
    hands = cockpit().hands
    assert hands.speed_kt(75, 0, 0) == pytest.approx(108, abs=0.1)  # a table of 200 speeds
    assert hands.speed_kt(85, 650, 0) == pytest.approx(75, abs=0.1)  # 85 of 100 become climb at this speed
    for speed_kt in (70, 84, 98, 110):
        for step in (0, 1, 2):
            power = hands.level_power_pct(speed_kt, step)
            assert hands.speed_kt(power, 0, step) == pytest.approx(speed_kt, abs=0.2) or power == 100


def test_level_off_by_hand():
    """Independent method: sin(path) x TAS is the vertical speed; nobody levels off, and the altitude is not held."""
    fly = in_hand("level-off")
    fly.stop_ft = 2800.0
    for _ in range(6):
        fly.act("vs-100")
    assert fly.hands.nose_deg == -3
    fly.advance(30)
    tas_kt = float(fly._air.tas_kt(fly.state.ias_kt, fly.state.alt_ft)[0])
    wanted_fpm = -tas_kt * 6076.115 / 60 * math.sin(math.radians(3))
    assert fly.sight.vs_fpm[0] == pytest.approx(wanted_fpm, abs=60)  # the nose wanders by a quarter of a degree
    fly.advance(60)
    assert fly.sight.alt_ft[0] < 2500, "past the altitude that would have been held"
    for _ in range(6):
        fly.act("vs+100")
    fly.advance(10)
    low = float(fly.sight.alt_ft[0])
    fly.advance(120)
    assert 1 < abs(float(fly.sight.alt_ft[0]) - low) < 120


def test_the_easier_way_is_the_default_and_said():
    """Definition: nothing is in the hands unless asked for, and before the flight; buttons and readings say it."""
    shown = made()
    assert shown.board.readings["flown by hand"] == "nothing"
    absent = [action for action in shown.board.absent if not is_tuning(action)]
    assert shown.board.labels == {} and absent == ["wings"]
    presses(shown, "hand wings", "hand level-off")
    assert shown.board.readings["flown by hand"] == "wings, level-off"
    assert shown.board.heads == {"heading": "bank", "vertical speed": "nose"}
    assert shown.board.labels["heading-10"][0] == "5 left"
    assert shown.board.lit["hand wings"] and not shown.board.lit["hand speed"]
    assert "level" in shown.board.absent and "wings" not in shown.board.absent
    assert shown.board.state["heading"]["target_deg"] is None
    assert shown.board.state["heading"]["words"].endswith("wings level.")
    presses(shown, "hand wings")
    assert "the easier way" in shown.message
    assert shown.board.state["heading"]["bank_deg"] is None

    async def flight():
        presses(shown, "pause")
        await answering(shown, 0.5)
        presses(shown, "hand speed")
        assert shown.message == "What is flown by hand is chosen before the flight."
        presses(shown, "pause")

    run(flight())
    assert recording.every("test")[0].about["by_hand"] == "level-off"


class PilotAtWork:
    """Reads the instruments once a second and presses buttons for bank, nose and power."""

    def __init__(self, flown, heading_deg, altitude_ft, ias_kt):
        self.flown, self.heading_deg, self.altitude_ft, self.ias_kt = flown, heading_deg, altitude_ft, ias_kt
        self.last_s = -1.0

    def works(self):
        fly = self.flown.cockpit
        if fly.time_s - self.last_s < 1.0:
            return
        self.last_s = fly.time_s
        off = (self.heading_deg - float(fly.sight.heading_deg[0]) + 180) % 360 - 180
        self._to("heading", float(np.clip(1.2 * off, -20, 20)) - fly.hands.bank_deg, 5, 1)
        climb_fpm = np.clip(4 * (self.altitude_ft - float(fly.sight.alt_ft[0])), -600, 600)
        wanted_deg = round(float(climb_fpm) / 180 * 2) / 2
        for _ in range(round(abs(wanted_deg - fly.hands.nose_deg) * 2)):
            presses(self.flown, "vs+100" if wanted_deg > fly.hands.nose_deg else "vs-100")
        if fly.time_s % 10 < 1:
            slow_kt = self.ias_kt - float(fly.sight.ias_kt[0])
            if abs(slow_kt) > 1:
                presses(self.flown, "ias+1" if slow_kt > 0 else "ias-1")

    def _to(self, name, change, large, small):
        sign = "+" if change > 0 else "-"
        left = abs(round(change))
        presses(self.flown, *[f"{name}{sign}10"] * (left // large), *[f"{name}{sign}1"] * (left % large // small))


def test_an_exercise_flown_by_hand_the_harder_way():
    """Definition: an exercise of the course is flown to its end by bank, power and nose, passes and says so."""
    question = QUESTIONS["sp-hand"]
    givens = judging.draw(question, "Finch 12")
    begin, plan = question.begin(givens), question.rows(givens)
    courses = question.courses(givens)
    inbound_deg, outbound_deg = givens["inbound_deg"], givens["course_deg"]
    headings = plan[0]["then"]["heading_deg"], plan[1]["then"]["heading_deg"]

    async def flight():
        flown = panel.fly(
            question.key,
            "Fly.",
            start=begin,
            course_1_deg=courses[0],
            course_2_deg=courses[1],
            of=question.on,
            day=question.day(givens),
            aircraft=question.flown_by,
            seed=1,
            ends_at_dme_nm=question.ends_at_dme_nm,
            about=question.about(givens),
        )
        presses(flown, "hand wings", "hand speed", "hand level-off")
        pilot = PilotAtWork(flown, headings[0], begin["altitude_ft"], begin["ias_kt"])
        out = False

        def set_course(wanted_deg):
            turn = round((wanted_deg - flown.cockpit.course_deg[0] + 180) % 360 - 180)
            sign = "+" if turn > 0 else "-"
            presses(flown, *[f"course1{sign}10"] * (abs(turn) // 10), *[f"course1{sign}1"] * (abs(turn) % 10))

        def done():
            nonlocal out
            fly = flown.cockpit
            if flown.ended:
                return True
            needle_deg, dme_nm = fly.needle_deg(1), fly.dme_nm()
            if not out and int(fly.sight.flag_1[0]) == -1 and fly.time_s > 20:
                out = True
                set_course(outbound_deg)
                pilot.heading_deg = headings[1]
            elif not out and dme_nm > 1.3:
                pilot.heading_deg = headings[0] + np.clip(3 * needle_deg, -20, 20)
            elif out and dme_nm > 1.5:
                pilot.heading_deg = headings[1] + np.clip(3 * needle_deg, -25, 25)
            pilot.works()
            return False

        set_course(inbound_deg)
        presses(flown, "identify", "pause", "rate5")
        await answering(flown, 400, until=done)
        return flown

    flown = run(flight())
    assert flown.ended == "at DME 6.4"
    kept = recording.newest(question.key)
    assert kept.intact and kept.about["by_hand"] == "wings, speed, level-off"
    assert "Flown the harder way, by hand: wings, speed, level-off." in flown.report.value
    verdict = judging.judge(question, givens, kept.text)
    assert verdict.outcome is Outcome.PASS, verdict.text
    assert np.std(kept.track.bank_deg) > 1, "wings held by somebody"
