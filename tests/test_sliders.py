"""What-ifs driven through their traits, without a browser."""

import dataclasses
import math
import re
import subprocess
import sys

import nbformat
import numpy as np
import pytest
from nbclient import NotebookClient
from needlework.basis.errors import OutOfRange
from needlework.showing import pictures, what_ifs
from needlework.showing.what_ifs import arcs, descending, going_around, intercepting, knobs, passage

ALL = [what_ifs.station_passage, what_ifs.intercept, what_ifs.arc, what_ifs.descent, what_ifs.missed]
SCENES = {
    passage: passage.PassageKnobs,
    intercepting: intercepting.InterceptKnobs,
    arcs: arcs.ArcKnobs,
    descending: descending.DescentKnobs,
    going_around: going_around.MissedKnobs,
}
UNITS = {"NM": "_nm", "ft": "_ft", "kt": "_kt", "s": "_s", "deg": "_deg", "°M": "_deg", "°C": "_c", "ft/min": "_fpm"}
# Where a slider alone changes nothing, what it needs beside it.
BESIDE = {"rate": {"late_nm": 2.0}}


def positions(control):
    """Both ends of a slider, or every choice."""
    if hasattr(control, "min"):
        return [control.min, control.max]
    return list(getattr(control, "options", ())) or [False, True]


@pytest.mark.parametrize("make", ALL, ids=lambda make: make.__name__)
def test_every_what_if_shows_what_its_sliders_say(make):
    """Definition: every what-if draws and speaks with each slider at both ends, and says so where nothing can fly."""
    what_if = make()
    for control in what_if.controls.values():
        for value in positions(control):
            control.value = value
            assert what_if.sentence.endswith(".")
            assert "nan" not in repr(what_if.board.state)
            assert all(face["words"].endswith(".") for face in what_if.board.state.values())
    assert pictures.sentence_of(what_if.still())


@pytest.mark.parametrize("make", ALL, ids=lambda make: make.__name__)
def test_a_slider_moves_the_picture(make):
    """Definition: every slider but one about another moment changes what is shown."""
    for name, control in make().controls.items():
        what_if = make(**BESIDE.get(name, {}))
        seen = set()
        for value in positions(control):
            what_if.controls[name].value = value
            seen.add(what_if.sentence + repr(what_if.board.state))
        assert len(seen) > 1, name


@pytest.mark.parametrize("module", SCENES, ids=lambda module: module.__name__.rpartition(".")[2])
def test_a_scene_comes_of_its_knobs_alone(module):
    """Definition: the same knobs give the same values, whatever was asked for between."""

    def values(scene):
        found = {}
        for field in dataclasses.fields(scene):
            value = getattr(scene, field.name)
            inner = values(value) if dataclasses.is_dataclass(value) else {"": value}
            found |= {f"{field.name} {name}": each for name, each in inner.items()}
        return found

    kind = SCENES[module]
    first = values(module.scene(kind()))
    module.scene(kind(time_s=kind().time_s + 40))
    again = values(module.scene(kind()))
    assert first.keys() == again.keys() and len(first) > 12
    assert all(np.array_equal(first[name], again[name]) for name in first)
    with pytest.raises(dataclasses.FrozenInstanceError):
        kind().time_s = 3


@pytest.mark.parametrize("module", SCENES, ids=lambda module: module.__name__.rpartition(".")[2])
def test_a_knob_names_its_unit(module):
    """Definition: a number's unit is the end of its name, and the one beside its slider; each knob is explained."""
    for name, knob in knobs.knobs_of(SCENES[module]).items():
        assert (not knob.unit) == isinstance(knob.start, (str, bool)), name
        assert not knob.unit or name.endswith(UNITS[knob.unit]), name
        assert re.search(rf"^ +[\w, ]*\b{name}\b[\w, ]* : ", SCENES[module].__doc__, re.M), name


def test_scenes_are_values_not_pictures():
    """Definition: from knobs to scene nothing is drawn: neither matplotlib nor a picture is loaded."""
    names = ", ".join(module.__name__ for module in SCENES)
    kinds = "; ".join(
        f"{module.__name__}.scene({module.__name__}.{kind.__name__}())" for module, kind in SCENES.items()
    )
    asked = "sys.modules.keys() & {'matplotlib', 'needlework.showing.pictures'}"
    done = subprocess.run(
        [sys.executable, "-c", f"import sys, {names}; {kinds}; print({asked} or 'nothing')"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.strip() == "nothing"


@pytest.mark.parametrize("make", ALL, ids=lambda make: make.__name__)
def test_the_faces_show_the_scene(make):
    """Definition: what the picture shows are the values of its scene, at every place of the clock."""
    what_if = make()
    for time_s in (0, 60, 150):
        what_if.controls["time_s"].value = time_s
        scene, state = what_if.scene, what_if.board.state
        assert scene.knobs == what_if.knobs and scene.knobs.time_s == time_s
        if "needle" in state:
            # The face shows thousandths.
            assert state["needle"]["deviation_dots"] == pytest.approx(scene.needle_deg / 2, abs=1e-3)
            assert state["needle"]["flag"] == scene.flag
            assert state["dme"]["value"] == pytest.approx(scene.dme_nm, abs=1e-3)
            assert state["plan"]["heading_deg"] == pytest.approx(scene.heading_deg, abs=1e-3)
        else:
            assert state["altitude"]["value"] == pytest.approx(scene.alt_ft, abs=1e-3)
            assert state["dme"]["value"] == pytest.approx(abs(scene.dist_nm), abs=1e-3)


def test_a_flight_that_cannot_be_leaves_the_scene():
    """Definition: where the sliders ask for what cannot be flown, the words say so and picture and scene stay."""
    what_if = what_ifs.descent(step_ft=1300, temperature_c=-30, setting="another field's")
    scene, state = what_if.scene, what_if.board.state
    what_if.controls["late_nm"].value = 3.0
    assert "gradient_ft_nm" in what_if.sentence and "is outside" in what_if.sentence
    assert what_if.scene is scene and what_if.board.state == state
    assert what_if.knobs.late_nm == 3.0
    what_if.controls["late_nm"].value = 1.0
    assert what_if.scene.knobs.late_nm == 1.0


def test_passage_values():
    """Independent method: right triangles by hand, 90 kt, 0.2 NM right of the course, 3,000 ft above."""
    up_nm = 3000 * 0.3048 / 1852
    for time_s, flag in ((-120, "TO"), (0, "NONE"), (120, "FROM")):
        now = passage.scene(passage.PassageKnobs(3000, 90, 0.2, 0, 30, True, time_s))
        along_nm = 90 * time_s / 3600
        assert now.dist_nm == pytest.approx(math.hypot(along_nm, 0.2), abs=1e-9)  # the same triangle
        assert now.dme_nm == pytest.approx(math.hypot(along_nm, 0.2, up_nm), abs=1e-6)  # other constants
        assert now.least_dme_nm == pytest.approx(math.hypot(0.2, up_nm), abs=1e-6)
        assert (now.flag, now.in_cone) == (flag, time_s == 0)
        if time_s:
            # Right of the course: the needle points left of the centre on both sides of the station.
            assert now.needle_deg == pytest.approx(-math.degrees(math.atan(0.2 / abs(along_nm))), abs=1e-6)
    half_chord_nm = math.sqrt((up_nm * math.tan(math.radians(30))) ** 2 - 0.2**2)
    assert now.cone_s == pytest.approx(2 * half_chord_nm / 90 * 3600, abs=1e-3)  # other constants


def test_intercept_values():
    """Definition: with the right lead and no wind the turn ends on the line at any angle, and the needle centred."""
    for angle_deg in (30, 45, 90):
        now = intercepting.scene(intercepting.InterceptKnobs(angle_deg=angle_deg, time_s=300))
        assert now.flight.cut_deg == pytest.approx(angle_deg, abs=1e-9)
        assert now.phase == "tracking" and now.heading_deg == pytest.approx(214)
        assert abs(now.flight.out_nm) < 0.02  # the turn is flown in steps of a second
        assert abs(now.needle_deg) < 0.3
        begun = intercepting.scene(intercepting.InterceptKnobs(angle_deg=angle_deg, time_s=now.flight.turn_s - 1))
        assert begun.phase == "closing in" and begun.heading_deg == pytest.approx(214 + angle_deg)


def test_passage_thirty_seconds():
    """Definition: at 90 kt and 45 degrees the cone lasts 30 s at h = 90/120 NM/2 = 0.375 NM = 2,280 ft."""
    what_if = what_ifs.station_passage(offset_nm=0)
    what_if.controls["height_ft"].value = 2280
    assert "The cone lasts 30 s at 90 kt" in what_if.sentence
    what_if.controls["height_ft"].value = 2000
    assert "The cone lasts 26 s" in what_if.sentence


def test_passage_moves_needle_flag_and_dme_together():
    """Independent method: right triangles by hand, 90 kt, 0.2 NM right of the course, 3,000 ft above."""
    what_if = what_ifs.station_passage(offset_nm=0.2, crosswind_kt=0, half_angle_deg=30)
    seen = {}
    for time_s in (-120, 0, 120):
        what_if.controls["time_s"].value = time_s
        state = what_if.board.state
        seen[time_s] = (state["needle"]["deviation_dots"], state["needle"]["flag"])
        along = 90 * time_s / 3600
        wanted_nm = math.sqrt(along**2 + 0.2**2 + (3000 * 0.3048 / 1852) ** 2)
        assert state["dme"]["value"] == pytest.approx(wanted_nm, abs=1e-6)  # same triangle, other constants
    off_deg = math.degrees(math.atan(0.2 / 3))
    assert seen[-120] == (pytest.approx(-off_deg / 2, abs=1e-6), "TO")  # 2 degrees a dot
    assert seen[120] == (pytest.approx(-off_deg / 2, abs=1e-6), "FROM")  # still right of the course
    assert seen[0][1] == "NONE"


def test_passage_wind():
    """Definition: with the nose held into the wind the track is the course; without, the wind carries it off."""
    what_if = what_ifs.station_passage(crosswind_kt=20, offset_nm=0, time_s=-120)
    assert what_if.board.state["plan"]["heading_deg"] == pytest.approx(
        214 + math.degrees(math.atan(20 / 90)), abs=1e-6
    )
    assert what_if.board.state["needle"]["deviation_dots"] == pytest.approx(0, abs=1e-6)
    what_if.controls["held"].value = False
    assert what_if.board.state["plan"]["heading_deg"] == 214
    # The wind from the right drifts it left: before passage it was right of the course.
    assert what_if.board.state["needle"]["deviation_dots"] == -5
    assert what_if.board.state["plan"]["wind_from_deg"] == 304


def test_intercept_at_two_miles():
    """Independent method: 2 sin 10 = r (1 - cos a), r = 110/3600 x 180/(3 pi) NM: a = 66 degrees."""
    radius_nm = 110 / 3600 * 180 / (3 * math.pi)
    wanted_deg = math.degrees(math.acos(1 - 2 * math.sin(math.radians(10)) / radius_nm))
    assert round(wanted_deg) == 66
    what_if = what_ifs.intercept(dist_nm=2, tas_kt=110, turn_begun="when the needle comes alive", angle_deg=66)
    assert "the turn ends on the line" in what_if.sentence
    what_if.controls["angle_deg"].value = 80
    assert re.search(r"the turn ends 0\.1\d NM right of the line, needle 2\.\d dots left", what_if.sentence)
    what_if.controls["angle_deg"].value = 50
    assert "left of the line" in what_if.sentence


@pytest.mark.parametrize(("direction", "creeps"), [("inbound", "out"), ("outbound", "in")])
def test_intercept_beside_the_line_creeps(direction, creeps):
    """Definition: at a fixed distance beside the line the angle grows on the way in and shrinks on the way out."""
    what_if = what_ifs.intercept(direction, dist_nm=4, tas_kt=120, turn_begun="when the needle comes alive")
    assert what_if.sentence.endswith(f"the track stays beside the line and the needle creeps {creeps}.")
    dots = []
    for time_s in (150, 165, 180):
        what_if.controls["time_s"].value = time_s
        assert "Tracking" in what_if.sentence
        dots.append(abs(what_if.board.state["needle"]["deviation_dots"]))
    assert dots == sorted(dots, reverse=creeps == "in")
    assert dots[0] != dots[-1]


def test_intercept_beside_the_line_leading_back():
    """Independent method: x to the left with y to go and a track a to the right, atan(x/y) shrinks while a > x/y."""
    what_if = what_ifs.intercept(
        dist_nm=6, tas_kt=120, turn_begun="when the needle comes alive", correction_deg=25, time_s=150
    )
    assert what_if.sentence.endswith("25° right of the course and the needle moves towards the centre.")
    what_if.controls["correction_deg"].value = 2
    assert what_if.sentence.endswith("2° right of the course and the needle moves away.")


def test_intercept_correction_keeps_the_needle():
    """Definition: across a wind of 20 kt at right angles a heading asin(20/100) into it keeps the course."""
    what_if = what_ifs.intercept(wind_from_deg=300, wind_kt=20, tas_kt=100)
    assert "of the course and the needle moves away" in what_if.sentence
    what_if.controls["correction_deg"].value = round(
        math.degrees(math.asin(20 * math.sin(math.radians(300 - 214)) / 100))
    )
    assert what_if.sentence.endswith("then the needle stays.")


def test_intercept_that_never_meets():
    """Definition: a wind that carries the aircraft along with the radial is said, not drawn as a success."""
    what_if = what_ifs.intercept(angle_deg=20, wind_from_deg=300, wind_kt=40, tas_kt=70)
    assert what_if.sentence.endswith("in this wind the heading never meets the radial.")


def test_arc_spirals_out_on_the_tangent():
    """Independent method: each leg at right angles to a radial divides its distance along that radial by cos 10."""
    what_if = what_ifs.arc(inside_deg=0, time_s=1200)
    along_nm = 10.5 - 0.520  # 98 kt: radius 0.520 NM, turn begun at 10.5; the first leg keeps this along radial 310
    wanted_nm = along_nm / math.cos(math.radians(10)) ** 9
    slant_nm = math.hypot(wanted_nm, 2900 * 0.3048 / 1852)
    assert what_if.board.state["dme"]["value"] == pytest.approx(slant_nm, abs=0.005)  # radius to a thousandth
    assert what_if.sentence.endswith("a spiral out.")


def test_arc_begins_with_the_heading_and_setting_that_are_taught():
    """Definition: joined on radial 310 clockwise the first setting is 320 and the first heading 310 + 90 + 5."""
    what_if = what_ifs.arc(time_s=60)
    assert "Inbound" in what_if.sentence
    assert "course 320" in what_if.sentence
    what_if.controls["time_s"].value = 200
    assert "to 320: heading 045" in what_if.sentence
    assert "course 320" in what_if.sentence


def test_arc_holds_with_the_nose_inside():
    """Definition: half a step inside the tangent ends each leg at the distance it began."""
    for step_deg, inside_deg in ((10, 5), (20, 10)):
        what_if = what_ifs.arc(step_deg=step_deg, inside_deg=inside_deg)
        assert what_if.sentence.endswith("the steps hold the distance.")


def test_descent_begun_too_late():
    """Independent method: 1,200 ft at 600 ft/NM take 2.0 of the 3.8 NM to the VDP: at 100 kt from D1.8."""
    what_if = what_ifs.descent(tas_kt=100, high_kt=0, low_kt=0, late_nm=1.7)
    assert "too much near the ground" not in what_if.sentence
    what_if.controls["late_nm"].value = 1.9
    assert "too much near the ground" in what_if.sentence


def test_descent_begun_late_is_limited_by_the_steepest_gradient():
    """Independent method: 1,200 ft over 3.8 - 1.2 NM are 462 ft/NM: less than 1.5 x 317, more than 450."""
    what_if = what_ifs.descent(tas_kt=90, high_kt=0, low_kt=0, late_nm=1.2)
    assert "steeper than 450 ft a mile" in what_if.sentence
    what_if.controls["late_nm"].value = 1.1
    assert "go around" not in what_if.sentence


def test_descent_level_at_minimums_is_not_on_the_line():
    """Definition: past the VDP the line goes on down; who is level at the MDA has left it."""
    what_if = what_ifs.descent(time_s=200)
    assert what_if.board.state["dme"]["value"] > 3.9
    assert "level at minimums" in what_if.sentence
    assert "are reached at the VDP, 3.8 DME" in what_if.sentence


def test_descent_in_a_wind_that_falls_asleep():
    """Independent method: planned for 72.4 kt at 1,760 ft, flown up to 80 kt below: the miles outrun the feet."""
    what_if = what_ifs.descent(tas_kt=90, high_kt=20, low_kt=0, time_s=120)
    start_kt = 90 - 20 * 1760 / 2000
    height_ft = what_if.board.state["altitude"]["value"]
    assert height_ft == pytest.approx(1760 - 317 * start_kt / 60 * 2, abs=3)  # 316.9 ft/NM, two minutes of it
    end_kt = what_if.board.state["speed"]["value"]
    assert end_kt == pytest.approx(90 - 20 * height_ft / 2000, abs=0.1)  # evenly with height
    flown_nm = (start_kt + end_kt) / 2 * 2 / 60
    above_ft = height_ft - (1760 - 317 * flown_nm)
    said = re.search(r"(\d+) ft above the line", what_if.sentence)
    assert int(said[1]) == pytest.approx(above_ft, abs=3)  # samples of a second


def test_descent_minimums_of_the_day():
    """The course's own scenario, Saltmarsh: MDA 560, with another field's setting 70 more."""
    what_if = what_ifs.descent()
    assert what_if.board.state["profile"]["minimum_ft"] == 560
    what_if.controls["setting"].value = "another field's"
    assert what_if.board.state["profile"]["minimum_ft"] == 630
    vdp = {name: at for at, name in what_if.board.state["profile"]["marks"]}["VDP"]
    assert vdp == pytest.approx(3.8 - 70 / 317, abs=0.01)
    warm = what_if.board.state["profile"]["floors"][1][2]
    what_if.controls["temperature_c"].value = -20
    assert what_if.board.state["profile"]["minimum_ft"] > 630
    mda_s = what_if.board.state["profile"]["minimum_ft"] - 630
    assert what_if.board.state["profile"]["floors"][1][2] - warm == mda_s, (
        "on the final all take the MDA's correction"
    )
    assert what_if.board.state["profile"]["floors"][0][2] > 1760


def test_missed_gradient():
    """Definition: 300 ft/min at 90 kt is 200 ft/NM; a tailwind makes the same climb shallower."""
    what_if = what_ifs.missed(tas_kt=90, climb_fpm=310, wind_kt=0)
    assert "is 207 ft/NM, enough for 200, which needs 300 ft/min" in what_if.sentence
    what_if.controls["wind_from_deg"].value = 30
    what_if.controls["wind_kt"].value = 20
    assert "NOT enough" in what_if.sentence
    assert what_if.board.state["gradient"]["warn"]


@pytest.mark.parametrize(("climb_fpm", "tas_kt"), [(650, 75), (1100, 105)])
def test_missed_meets_the_radial(climb_fpm, tas_kt):
    """The course's own scenario, Saltmarsh: from 900 ft heading 120 meets R165 at about 8.2 DME, both aircraft."""
    what_if = what_ifs.missed(wind_kt=0, early_nm=0, climb_fpm=climb_fpm, tas_kt=tas_kt)
    met_nm = float(re.search(r"radial 165 is met at (\d\.\d) DME", what_if.sentence)[1])
    assert met_nm == pytest.approx(8.2, abs=0.11)  # both printed to the tenth, and "about"


def test_missed_turn_before_the_point():
    """AIM 5-4-21 b: no early turn is protected; the words say so, and where it would be made."""
    what_if = what_ifs.missed(early_nm=1.2, turn="at once")
    assert "turning 1.2 NM before the MAP, where no early turn is protected" in what_if.sentence


@pytest.mark.parametrize("make", ALL, ids=lambda make: make.__name__)
def test_play_asks_for_places(make):
    """Definition: slider and picture go to the place the browser asks for; what is no place is passed over."""
    what_if = make()
    control, player = what_if.controls["time_s"], what_if.board.player
    assert (player["low"], player["high"]) == (control.min, control.max)
    what_if._heard(None, {"play": 90}, [])
    assert control.value == what_if.knobs.time_s == what_if.board.at == 90
    before = what_if.board.state
    for strange in (None, {}, {"play": "x"}, {"play": None}, {"play": math.nan}, {"play": math.inf}, {"seen": 3}):
        what_if._heard(None, strange, [])
    assert control.value == 90 and what_if.board.state == before
    what_if._heard(None, {"play": 1e9}, [])
    assert control.value == control.max


@pytest.mark.parametrize("make", ALL, ids=lambda make: make.__name__)
def test_the_table_says_what_the_picture_says(make):
    """Definition: every knob with its range, every reading of a face; empty until asked for, and then it follows."""
    what_if = make()
    assert what_if.board.numbers == []
    what_if.board.numbers_shown = True
    rows = what_if.board.numbers
    assert [row[0] for row in rows[: len(what_if.controls)]] == [
        knob.label for knob in knobs.knobs_of(what_if._kind).values()
    ]
    assert all(row[1] for row in rows) and all(row[2] for row in rows[: len(what_if.controls)])
    told = " ".join(face["words"] for face in what_if.board.state.values())
    readings = [row[1] for row in rows[len(what_if.controls) :]]
    assert len(readings) >= 4 and sum(reading in told for reading in readings) >= 4
    what_if.controls["time_s"].value = 90
    assert what_if.board.numbers != rows
    what_if.board.numbers_shown = False
    assert what_if.board.numbers == []


@pytest.mark.parametrize(
    ("start", "text"),
    [
        ({"height_ft": 90}, "height_ft = 90 ft is outside 500 to 9,000 ft"),
        ({"speed": 90}, "there is no slider 'speed' here: expected one of height_ft"),
        ({"held": 1}, "held = 1 is neither True nor False"),
    ],
)
def test_wrong_start(start, text):
    """Definition: a starting value the slider cannot show is refused in one sentence."""
    with pytest.raises(OutOfRange, match=re.escape(text)):
        what_ifs.station_passage(**start)


def test_runs_without_a_browser():
    """Definition: a cell with a what-if ends at once without a browser and leaves its still twin and sentence."""
    book = nbformat.v4.new_notebook()
    book.cells = [nbformat.v4.new_code_cell("from needlework import sliders\nsliders.station_passage()")]
    NotebookClient(book, timeout=60, kernel_name="python3").execute()
    live, still = (output.data for output in book.cells[0].outputs)
    assert "application/vnd.jupyter.widget-view+json" in live
    assert still["text/plain"].startswith("60 s before the station: needle")
    assert 'class="nw-still"' in still["text/html"]
    assert len(still["image/png"]) > 10_000
