"""Questions of the lesson on intercepting a radial."""

from __future__ import annotations

import random
from collections.abc import Mapping
from typing import Any

from needlework.exercises import lesson_values
from needlework.exercises.flown import Blank, FilledPlan, FlownByHand
from needlework.exercises.intercept_goals import (
    course_selected,
    cut_towards,
    established,
    heading_holds,
    held_for,
    led,
    rolled_out,
    wind_found,
)
from needlework.exercises.kinds import Choice, Givens, Number, Order, Question, Slip, Table
from needlework.exercises.lesson import Lesson
from needlework.trade import angles, intercept, vor, wind

KEY = "intercepting-a-radial"


def _sideways(g: Givens) -> float:
    """Which way to turn from parallel: 1 right, -1 left."""
    larger = 1.0 if float(angles.difference_deg(from_deg=g["radial_deg"], to_deg=g["wanted_deg"])) > 0 else -1.0
    return larger if g["direction"] == "outbound" else -larger


def _off_deg(g: Givens) -> float:
    return abs(float(angles.difference_deg(from_deg=g["radial_deg"], to_deg=g["wanted_deg"])))


def _cut(g: Givens, angle_deg: float) -> float:
    """Heading that many degrees from the course towards the line; negative angles turn the wrong way."""
    return float(angles.wrap360(g["course_deg"] + _sideways(g) * angle_deg))


def _place(radial_deg: float, wanted_deg: float, direction: str) -> dict[str, Any]:
    course = wanted_deg if direction == "outbound" else float(angles.reciprocal(wanted_deg))
    return {
        "radial_deg": lesson_values.whole(radial_deg),
        "wanted_deg": lesson_values.whole(wanted_deg),
        "course_deg": lesson_values.whole(course),
        "direction": direction,
    }


def _draw_place(r: random.Random, off: list[int], direction: str) -> dict[str, Any]:
    wanted = r.randrange(20, 350, 5)
    return _place(wanted + r.choice([-1, 1]) * r.choice(off), wanted, direction)


def _heading_to_cut(g: Givens) -> float:
    angle = intercept.intercept_angle_deg(radial_deg=g["radial_deg"], wanted_radial_deg=g["wanted_deg"])
    return float(
        intercept.intercept_heading_deg(
            radial_deg=g["radial_deg"], wanted_radial_deg=g["wanted_deg"], direction=g["direction"], angle_deg=angle
        )
    )


# ---------------------------------------------------------------- recall

_RECALL_SELECTOR = Choice(
    key="ir-recall-selector",
    lesson=KEY,
    title="Recall: full scale that stays",
    prompt="You have passed the station and turned outbound. Half a minute later the needle stands at full scale and "
    "stays there. What do you look at first?",
    options={
        "A": "the DME, to see how far out you are",
        "B": "the heading: turn 30 degrees towards the needle",
        "C": "the course selector: is this the course you are flying?",
        "D": "nothing yet: near a station needles are unreliable",
    },
    correct="C",
    slips=(
        Slip(
            "DISTANCE",
            lambda g: "A",
            "The DME says how far, not on which line. A needle that does not move after the passage most often "
            "belongs to another line. Where is the line chosen?",
        ),
        Slip(
            "CHASE",
            lambda g: "B",
            "If the selector still holds the inbound course, this turn follows the needle of a line you are no longer "
            "flying. What has to be right before a needle may be followed?",
        ),
        Slip(
            "CONE",
            lambda g: "D",
            "The cone lasts well under a minute, and in it the needle wanders. This one stands still. "
            "What does a steady needle speak of?",
        ),
    ),
    hints=(
        "Time, turn, set, wait, correct: which of the five was left out?",
        "Flag and needle speak of the selected course, whatever you fly.",
        "Outbound course: set or not set?",
    ),
    model="{answer}. The inbound course is still selected, so the needle speaks of the old line.",
    why="Set the course you fly; only then does the needle say something about it.",
)

_RECALL_WIDTH = Number(
    key="ir-recall-width",
    lesson=KEY,
    title="Recall: how far is the line?",
    prompt="The needle stands {dots} dots from the centre; a dot is two degrees. How far are you from the line? NM, one "
    "decimal; the 1-in-60 rule is good enough.",
    shown="DME {dme_nm} NM, needle {dots} dots",
    draw=lambda r: {"dme_nm": r.choice([10, 12, 14, 16]), "dots": r.choice([2, 3, 4])},
    answer=lambda g: float(vor.offset_nm(dist_nm=g["dme_nm"], off_deg=2.0 * g["dots"])),
    unit="NM",
    decimals=1,
    tolerance=0.15,  # rounding to 0.1 is up to 0.05, and the rule is up to 0.1 low here
    close=0.3,  # rounded to whole miles
    slips=(
        Slip(
            "DOTS",
            lambda g: float(vor.offset_nm(dist_nm=g["dme_nm"], off_deg=g["dots"])),
            "You read dots as degrees. A dot is two degrees, so you are twice as far from the line.",
        ),
        Slip(
            "INV",
            lambda g: 60.0 * 2.0 * g["dots"] / g["dme_nm"],
            "Upside down: farther out the same needle means more miles, so the distance belongs above the line.",
        ),
    ),
    hints=(
        "The needle is an angle. Which distance does it stand for out there?",
        "NM off the line = degrees x distance / 60.",
        "{dots} dots are 2 x {dots} degrees; times {dme_nm}, over 60 ...",
    ),
    model="2 x {dots} degrees x {dme_nm} / 60 is about {answer}.",
    why="The same needle is twice the distance at twice the DME: a cut that is long far out is short close in.",
)

# ---------------------------------------------------------------- which way, how much

_PREDICT = Choice(
    key="ir-predict",
    lesson=KEY,
    title="Predict: which heading brings you there?",
    prompt="You are on radial 150, at the moment on heading 080, and want to fly in on course 300. No wind. Which heading "
    "brings you on to that course well before the station?",
    options={
        "A": "300, the course you want",
        "B": "240",
        "C": "330",
        "D": "360",
    },
    correct="D",
    slips=(
        Slip(
            "PARALLEL",
            lambda g: "A",
            "300 runs beside the line and never meets it. In the air the needle creeps to full scale as the station "
            "comes nearer. Parallel is where you begin; then turn towards the line.",
        ),
        Slip(
            "LR",
            lambda g: "B",
            "Away from the line: it lies on your right when you face 300. The needle would stay pinned for good. "
            "Sketch both radials and look which way the line is.",
        ),
        Slip(
            "DIFF",
            lambda g: "C",
            "330 from radial 150 points at the station itself: you meet the line only overhead, where all lines meet. "
            "How much more angle brings you there earlier?",
        ),
    ),
    hints=(
        "Find in the picture the line that you want to fly in on, and stand on the aircraft facing 300.",
        "Radial 150 flown straight in is 330. To meet the line earlier you must point to the right of the station.",
        "Right of 330 is ...",
    ),
    model="{answer}: parallel is 300, the line lies to the right, and 60 degrees to the right of 300 is 360.",
    why="Parallel first, then towards the line by twice the difference: 30 degrees off, 60 degrees of angle.",
    figure="show_plan",
    figure_values=lambda g: {
        "station": "OVK",
        "radials": [120, 150],
        "course_deg": 300,
        "aircraft": (150, 10, 80),
    },
)

_SET = Choice(
    key="ir-set",
    lesson=KEY,
    title="What goes on the selector?",
    prompt="Same place: on radial 150, about to fly the heading 360 until you can go in on course 300. What do you "
    "select?",
    options={
        "A": "360, the heading you fly until then",
        "B": "120, the radial you are going to",
        "C": "300, the course you mean to fly",
        "D": "330, the course to the station from here",
    },
    correct="C",
    slips=(
        Slip(
            "HEADING",
            lambda g: "A",
            "The selector takes a line through the station, not the nose. With 360 set the needle would wait for "
            "radial 180, and you would fly straight through 120 without a sign of it.",
        ),
        Slip(
            "RECIP",
            lambda g: "B",
            "Same line, other direction. The flag shows FROM, and flying in towards the needle takes you away from the "
            "line. Which of the two ends do you mean to **fly**?",
        ),
        Slip(
            "DIRECT",
            lambda g: "D",
            "That is the line you are on: the needle would centre here and now, and move away as you fly off. "
            "Which line do you want to hear from?",
        ),
    ),
    hints=(
        "The selector picks a line and a direction along it. Which line is wanted?",
        "Select the course you mean to fly, before you turn; the heading never goes on the selector.",
        "You mean to fly in on ...",
    ),
    model="{answer}. Heading appears nowhere on the instrument; the course you mean to fly does.",
    why="Set the course you mean to fly. Then the line is where the needle is.",
)

_REVERSE = Choice(
    key="ir-reverse",
    lesson=KEY,
    title="Two needles, one place",
    prompt="Both faces show the same moment: you are flying in, heading 240, and the line is to your right. "
    "Face 1 has 240 selected, face 2 has 060. What happens if you turn towards the needle of face 2?",
    options={
        "A": "it comes to the centre, like that of face 1",
        "B": "it moves out to full scale: you turn away from the line",
        "C": "the flag changes to TO",
        "D": "nothing: the set has failed, since the two disagree",
    },
    correct="B",
    slips=(
        Slip(
            "SAME",
            lambda g: "A",
            "On face 2 left means left of somebody flying **060**. You face the other way, and on your left there is "
            "nothing. Ask of each face: in which direction do I have to face?",
        ),
        Slip(
            "FLAG",
            lambda g: "C",
            "Turning does not change the flag: it compares the selected course with your place. "
            "Which of the two would have to change?",
        ),
        Slip(
            "FAULT",
            lambda g: "D",
            "Both are right: they answer two different questions. With 060 set you have asked about flying the other "
            "way. What is selected, and what do you fly?",
        ),
    ),
    hints=(
        "A needle tells which side the line is on for somebody facing along the selected course.",
        "Face 060 at that place: the line is on the left. You are facing 240.",
        "Turning left while flying 240 takes you ... from the line.",
    ),
    model="{answer}. With the other end of the line selected, towards the needle is away from the line.",
    why="Reverse sensing is no fault of the set; it is the other end of the line on the selector. Corrections that make "
    "it worse: look at the selector first.",
    figure="show_needles",
    figure_values=lambda g: {"dials": [(8.0, 240, "TO"), (-8.0, 60, "FROM")], "letters": "12"},
)

_WHY_DOUBLE = Choice(
    key="ir-why-double",
    lesson=KEY,
    title="Why twice the difference?",
    prompt="In the worked example the radials were 30 degrees apart and the angle was 60. Why not 30?",
    options={
        "A": "30 degrees from the course points at the station: you would meet the line only overhead",
        "B": "with 30 the needle would move too fast to be led",
        "C": "the other 30 allow for the wind",
    },
    correct="A",
    slips=(
        Slip(
            "RATE",
            lambda g: "B",
            "A smaller angle makes the needle slower, not faster. Draw the heading of 270 from radial 090: where does "
            "it lead?",
        ),
        Slip(
            "WIND",
            lambda g: "C",
            "There was no wind in the angle. Draw the heading of 270 from radial 090: where does it lead?",
        ),
    ),
    hints=(
        "Lay a pencil along 30 degrees right of 240, from the aircraft.",
        "The course from your radial straight to the station differs from the wanted course by just the difference.",
        "240 + 30 = 270, and the course to the station from radial 090 is ...",
    ),
    model="{answer}: 240 + 30 = 270, the course straight to the station from radial 090.",
    why="With twice the difference you meet the line as far from the station as you then have flown: an isosceles "
    "triangle.",
)


def _heading_cell(g: Givens, kind: str) -> Number:
    """One row of the table of headings; ``kind`` says which end of the rule it tries."""
    slips = [
        Slip(
            "LR",
            lambda g: _cut(g, -_angle(g)),
            "Right angle, wrong side: it leads away from the line, and the needle stays pinned. Parallel first; on "
            "which hand is the line then?",
        ),
        Slip(
            "DIFF",
            lambda g: _cut(g, _off_deg(g)),
            "The difference itself, not doubled: that is the way to the station, where you would meet the line last.",
        ),
        Slip(
            "PARALLEL",
            lambda g: float(g["course_deg"]),
            "That is the course: flown from here it stays beside the line. Now turn towards it.",
        ),
    ]
    if kind != "cap":  # at 90 degrees it is the same heading as the turn to the wrong side
        slips.append(
            Slip(
                "RECIP",
                lambda g: float(angles.reciprocal(_heading_to_cut(g))),
                "That leads outwards. In on a course: parallel is the course itself, and it points to the station.",
            )
        )
    if kind == "middle":
        slips.append(
            Slip(
                "FROMRAD",
                lambda g: float(angles.wrap360(g["radial_deg"] + _sideways(g) * _angle(g))),
                "The angle was laid off from the radial you are on. It belongs on the course you want to fly.",
            )
        )
    else:
        limit = {
            "floor": "A few degrees doubled is too shallow: wind alone can keep you from the line. The rule has a "
            "least angle.",
            "cap": "Over 90 degrees flies back, away from the station. The rule has a greatest angle.",
        }[kind]
        slips.append(Slip("NOCAP", lambda g: _cut(g, 2.0 * _off_deg(g)), limit))

    def of_this_row(wrong: Any) -> Any:
        return lambda _all: wrong(g)

    return Number(
        key=f"ir-heading-{kind}",
        lesson=KEY,
        title=kind,
        prompt="",
        answer=lambda _all: _heading_to_cut(g),
        unit="degrees magnetic",
        tolerance=1.0,
        circle=True,
        slips=tuple(Slip(slip.code, of_this_row(slip.wrong), slip.says) for slip in slips),
        look="Parallel first: the course itself. Which side is the line on? Then twice the difference, 20 to 90.",
    )


def _angle(g: Givens) -> float:
    return float(intercept.intercept_angle_deg(radial_deg=g["radial_deg"], wanted_radial_deg=g["wanted_deg"]))


def _draw_headings(r: random.Random) -> dict[str, Any]:
    return {
        "middle": _draw_place(r, [15, 20, 25, 35], "inbound"),
        "floor": _draw_place(r, [4, 5, 6, 7], "inbound"),
        "cap": _draw_place(r, [50, 55, 65, 70], "inbound"),
    }


_HEADINGS = Table(
    key="ir-headings",
    lesson=KEY,
    title="Three headings",
    listed=True,
    points=3.0,
    prompt="For each place: which heading intercepts the course, by twice the difference, at least 20 and at most 90? No "
    "wind. Degrees magnetic, whole.",
    draw=_draw_headings,
    cells=lambda g: {
        f"on radial {g[kind]['radial_deg']:03d}, in on course {g[kind]['course_deg']:03d}": _heading_cell(
            g[kind], kind
        )
        for kind in ("middle", "floor", "cap")
    },
    hints=(
        "For each: which radial belongs to the course? How far is yours from it?",
        "Parallel = the course. Face along it: is the line left or right? Turn that way by twice the difference, at "
        "least 20, at most 90.",
        "First place: the course {middle[course_deg]:03d} belongs to radial {middle[wanted_deg]:03d}; you are on "
        "{middle[radial_deg]:03d}, so the difference is ...",
    ),
    model="{answer}.",
    why="Side, angle, heading: the same three steps from any place. Beyond 45 degrees off, 90 is enough.",
)

_OUTBOUND = Number(
    key="ir-outbound",
    lesson=KEY,
    title="Just past the station, going out",
    prompt="You have just passed the station and are to go **out**. Angle after passage: the difference itself, at most "
    "45. Which heading? No wind. Degrees magnetic, whole.",
    shown="on radial {radial_deg:03d}, out on course {course_deg:03d}",
    draw=lambda r: _draw_place(r, [15, 20, 25, 30], "outbound"),
    answer=lambda g: _cut(g, min(_off_deg(g), 45.0)),
    unit="degrees magnetic",
    tolerance=1.0,
    circle=True,
    slips=(
        Slip(
            "LR",
            lambda g: _cut(g, -min(_off_deg(g), 45.0)),
            "Away from the line. Face along the course you want, outwards: the line is on the other hand. "
            "Going out, a larger radial lies to the right.",
        ),
        Slip(
            "DOUBLE",
            lambda g: _cut(g, 2.0 * _off_deg(g)),
            "Twice the difference is the rule for going in. It would work. The rule here asks for the difference itself: a "
            "shallower cut, a smaller turn.",
        ),
        Slip(
            "PARALLEL",
            lambda g: float(g["course_deg"]),
            "Parallel to the line, and it stays where it is. Add the angle towards it.",
        ),
        Slip(
            "RECIP",
            lambda g: float(angles.reciprocal(_cut(g, min(_off_deg(g), 45.0)))),
            "That leads back in. Out on a course means that the radial and the course are the same number.",
        ),
    ),
    hints=(
        "Draw the station with both radials. You fly outwards: face along the wanted one.",
        "Heading = course and the difference, towards the line. Out: larger numbers lie to the right.",
        "{course_deg:03d} is parallel; the difference from {radial_deg:03d} is ...",
    ),
    model="{answer}: parallel is {course_deg:03d}, then the difference towards the line.",
    why="Going out the lines spread, so a moderate angle does it. (US Navy T-6B 602 and US Air Force AFMAN 11-217: at most 45.)",
)

# ---------------------------------------------------------------- the lead

_LEAD_FADED = Number(
    key="ir-lead-faded",
    lesson=KEY,
    title="The lead: last step",
    prompt="The turn needs {lead_nm:.2f} NM before the line. How many degrees on the needle is that, where you meet the "
    "line? Degrees, one decimal.",
    shown="lead {lead_nm:.2f} NM, meeting the line {dist_nm} NM out",
    draw=lambda r: {"lead_nm": r.choice([0.16, 0.22, 0.28, 0.32]), "dist_nm": r.choice([4, 5, 6, 7])},
    answer=lambda g: 60.0 * g["lead_nm"] / g["dist_nm"],
    unit="degrees",
    decimals=1,
    tolerance=0.2,  # the rule is 5 % high of the exact angle, at most 0.23
    close=0.4,
    slips=(
        Slip(
            "INV",
            lambda g: 60.0 * g["dist_nm"] / g["lead_nm"],
            "Upside down: nearer the station the same lead is a larger angle.",
        ),
        Slip(
            "DOTS",
            lambda g: 30.0 * g["lead_nm"] / g["dist_nm"],
            "Those are dots. Asked are degrees, two to a dot.",
        ),
        Slip(
            "DEGNM",
            lambda g: float(g["lead_nm"]),
            "Miles given as degrees: the turn would begin far too late. How wide is a degree at {dist_nm} NM?",
        ),
    ),
    hints=(
        "A distance beside the line, at a distance from the station: which angle?",
        "Degrees = 60 x distance beside / distance out.",
        "60 x {lead_nm:.2f} / {dist_nm} = ...",
    ),
    model="60 x {lead_nm:.2f} / {dist_nm} = {answer}.",
    why="Then you know how the needle must stand when the turn begins.",
)


_PARTS = {45: 0.3, 60: 0.5, 90: 1.0}  # of the turn radius, as taught; one less the cosine, rounded


def _lead_deg(g: Givens) -> float:
    """Lead by the rule as it is taught, so that a learner's sum and the model agree to the decimal."""
    return float(
        _PARTS[g["angle_deg"]] * intercept.lead_rule_deg(dist_nm=g["dist_nm"], gs_kt=g["gs_kt"], angle_deg=90.0)
    )


_LEAD = Number(
    key="ir-lead",
    lesson=KEY,
    title="The lead: all of it",
    points=2.0,
    prompt="How many degrees before the line does the turn on to it begin? Standard-rate turn. Degrees, one decimal; "
    "within 0.5 passes.",
    shown="ground speed {gs_kt} kt, intercept angle {angle_deg}°, meeting the line {dist_nm} NM out",
    draw=lambda r: {
        "gs_kt": r.choice([90, 100, 110, 120]),
        "angle_deg": r.choice([45, 60, 90]),
        "dist_nm": r.choice([4, 5, 6, 7, 8]),
    },
    answer=_lead_deg,
    unit="degrees",
    decimals=1,
    tolerance=0.5,
    close=0.7,
    slips=(
        Slip(
            "PART",
            lambda g: (
                float(intercept.lead_rule_deg(dist_nm=g["dist_nm"], gs_kt=g["gs_kt"], angle_deg=90.0))
                if g["angle_deg"] < 90
                else 2.0 * _lead_deg(g)
            ),
            "Too early: you would roll out short of the line. At 45 degrees 0.3 of the turn radius is enough, at 60 half "
            "of it, at 90 all. The radius is half a per cent of the ground speed; one per cent is the diameter.",
        ),
        Slip(
            "DOTS",
            lambda g: _lead_deg(g) / 2.0,
            "Less than the turn needs: you would go through the line. Are these dots, at two degrees each? Or was the "
            "part of another angle taken: 0.3 is for 45 degrees, a half for 60, all for 90.",
        ),
        Slip(
            "DEGNM",
            lambda g: float(intercept.lead_nm(tas_kt=g["gs_kt"], angle_deg=g["angle_deg"])),
            "That is the lead in miles, read as degrees: the turn begins far too late. How wide is a degree at "
            "{dist_nm} NM?",
        ),
    ),
    hints=(
        "Three steps: radius of the turn, the angle's part of it, degrees at that distance.",
        "Radius = half a per cent of the ground speed. Part: 0.3 at 45, 0.5 at 60, 1 at 90. Degrees = 60 x lead / distance.",
        "Radius: {gs_kt} / 200 = ... NM",
    ),
    model="{gs_kt} / 200, the part for {angle_deg}°, times 60 / {dist_nm}: {answer}.",
    why="Rule of thumb, about 1 % low. With a tailwind in the turn begin earlier.",
)

# ---------------------------------------------------------------- roll out in wind


def _draw_wind(r: random.Random, course_deg: float) -> dict[str, Any]:
    """Draw a wind that is neither along nor square across the course, given true."""
    aside = r.choice([-1, 1]) * r.choice([60, 70, 110, 120])
    return {
        "tas_kt": r.choice([90, 98, 105]),
        "wind_true_deg": lesson_values.whole(lesson_values.true_deg(course_deg + aside), 10),
        "wind_kt": r.choice([20, 21, 22, 23]),
        "variation_deg": 13,
    }


def _gs(g: Givens, wind_from_deg: float) -> float:
    """Ground speed half-way between the triangle and the sum that is taught, airspeed less headwind: both pass."""
    along_kt, _ = wind.components_kt(direction_deg=g["course_deg"], wind_from_deg=wind_from_deg, wind_kt=g["wind_kt"])
    exact_kt = wind.ground_speed_kt(
        course_deg=g["course_deg"], tas_kt=g["tas_kt"], wind_from_deg=wind_from_deg, wind_kt=g["wind_kt"]
    )
    return (float(exact_kt) + float(g["tas_kt"]) - float(along_kt)) / 2.0


_ROLL_OUT_CELL = Number(
    key="ir-wind-heading",
    lesson=KEY,
    title="roll-out heading",
    prompt="",
    answer=lesson_values.heading_deg,
    unit="degrees magnetic",
    tolerance=2.0,
    circle=True,
    slips=(
        Slip(
            "NOWIND",
            lambda g: float(g["course_deg"]),
            "Rolled out on the course itself the wind carries you off again at once. Roll out on course **plus** "
            "correction.",
        ),
        Slip(
            "WCASIGN",
            lambda g: lesson_values.mirrored_deg(g["course_deg"], lesson_values.heading_deg(g)),
            "Right size, wrong side: the drift doubles. The nose goes to where the wind comes **from**.",
        ),
        Slip(
            "VARSGN",
            lambda g: lesson_values.true_deg(lesson_values.heading_deg(g)),
            "That is the true heading; the compass shows magnetic. West variation is added to true.",
        ),
    ),
    look="Wind in magnetic first: was the west variation added to the true wind, not left out and not subtracted? Then "
    "the correction, about 60 x crosswind / true airspeed, into the wind.",
)

_GS_CELL = Number(
    key="ir-wind-gs",
    lesson=KEY,
    title="ground speed",
    prompt="",
    answer=lambda g: _gs(g, lesson_values.wind_from_deg(g)),
    unit="kt",
    tolerance=2.0,  # the sum taught is up to 1.3 from the value, and rounding another half
    slips=(
        Slip(
            "IASGS",
            lambda g: float(g["tas_kt"]),
            "That is the airspeed, or close to it. The part of the wind along the course is missing, or the wind was left in "
            "true and so came from nearly abeam.",
        ),
        Slip(
            "WINDTO",
            lambda g: _gs(g, float(angles.reciprocal(lesson_values.wind_from_deg(g)))),
            "The wind was taken the wrong way round: headwind and tailwind are swapped. Wind is named by where it "
            "comes **from**.",
        ),
        Slip(
            "TRUEWIND",
            lambda g: _gs(g, float(g["wind_true_deg"])),
            "The wind was laid against the course as it was given, in true. The course is magnetic: add the west "
            "variation to the wind first.",
        ),
    ),
    look="Wind in magnetic first: was the west variation added? Then airspeed less the headwind, or plus the tailwind.",
)


def _draw_roll_out(r: random.Random) -> dict[str, Any]:
    course = r.randrange(20, 350, 10)
    return {"course_deg": course, **_draw_wind(r, course)}


_WIND = Table(
    key="ir-wind",
    lesson=KEY,
    title="Roll out in wind",
    points=2.0,
    prompt="On which heading do you roll out, and how fast does the ground go by once you are on the course? Heading in "
    "degrees magnetic, whole, within 2; ground speed in knots, whole, within 2.",
    shown="course {course_deg:03d}° magnetic; true airspeed {tas_kt} kt; wind from {wind_true_deg:03d}° **true**, "
    "{wind_kt} kt; variation {variation_deg}° west",
    draw=_draw_roll_out,
    cells=lambda g: {"roll-out heading": _ROLL_OUT_CELL, "ground speed": _GS_CELL},
    hints=(
        "Draw the course as an arrow, then the wind. From which side, and from ahead or behind?",
        "Wind magnetic = true plus west variation. Correction about 60 x crosswind / airspeed, into the wind. Ground "
        "speed about airspeed less headwind (a knot or two less with a large correction).",
        "Wind from {wind_true_deg:03d} + {variation_deg} = ... magnetic; its angle to {course_deg:03d} is ...",
    ),
    model="{answer}.",
    why="The turn ends on course plus correction, not on course. The ground speed tells how soon you are there.",
)

_CLOSE_IN = ((2.0, 130), (2.0, 135), (2.0, 140), (2.0, 145), (2.0, 150), (2.5, 150), (2.5, 155), (2.5, 160))
"""Distances and speeds at which a turn of 90 degrees has far too little room. [NM], [kt]"""

_WHAT_IF = Number(
    key="ir-what-if",
    lesson=KEY,
    title="What-if: the largest angle close in",
    prompt="With the sliders: “Needle comes alive at” {dist_nm:g} NM, “True airspeed” {tas_kt} kt, “Wind speed” 0, “Turn "
    "begun” **when the needle comes alive**, “Then nose off the course” 0. What is the largest angle that does not go "
    "through the line? Degrees, whole; within 3 passes.",
    draw=lambda r: dict(zip(("dist_nm", "tas_kt"), r.choice(_CLOSE_IN), strict=True)),
    answer=lambda g: float(intercept.largest_angle_deg(dist_nm=g["dist_nm"], tas_kt=g["tas_kt"])),
    unit="degrees",
    tolerance=3.0,
    close=5.0,
    slips=(
        Slip(
            "NOCAP",
            lambda g: 90.0,
            "At 90 the turn ends on the far side of the line. Read in the sentence on which side it ends, then take "
            "the angle down.",
        ),
        Slip(
            "RULE",
            lambda g: 45.0,
            "At 45 the turn still ends short of the line: there is room for more. Read the sentence while you raise it.",
        ),
    ),
    hints=(
        "Set the sliders named, then change only the angle. The sentence says on which side of the line the turn ends.",
        "Short of the line on your own side: more angle. Beyond it: less.",
        "Start at 50 and go up in steps of five.",
    ),
    model="{answer}.",
    why="At 8 NM, at the same speed, there is room for a turn of 90 degrees; at {dist_nm:g} NM the needle crosses before "
    "such a turn is done. Closer means shallower.",
)

# ---------------------------------------------------------------- staying on it


def _draw_bracket(r: random.Random) -> dict[str, Any]:
    course = r.randrange(40, 330, 5)
    side = r.choice([-1, 1])
    again = r.choice([True, False])
    words = {1: "right", -1: "left"}
    return {
        "course_deg": course,
        "side": side,
        "again": again,
        "needle": words[side],
        "other": words[-side],
        "third_deg": 15 if again else 5,
    }


def _bracket(g: Givens, correction_deg: float) -> float:
    return float(angles.wrap360(g["course_deg"] + g["side"] * correction_deg))


def _bracket_cell(number: int, right: float, slips: Mapping[str, tuple[float, str]], look: str) -> Number:
    def wrong(correction_deg: float) -> Any:
        return lambda g: _bracket(g, correction_deg)

    return Number(
        key=f"ir-bracket-{number}",
        lesson=KEY,
        title=f"heading {number}",
        prompt="",
        answer=lambda g: _bracket(g, right),
        unit="degrees magnetic",
        tolerance=2.0,
        circle=True,
        slips=tuple(Slip(code, wrong(value), says) for code, (value, says) in slips.items()),
        look=look,
    )


def _bracket_cells(g: Givens) -> dict[str, Question]:
    third = float(g["third_deg"])
    what = (
        f"there it creeps {g['needle']} again; you bring it back as before and turn to"
        if g["again"]
        else f"there it creeps to the {g['other']}; you bring it back and turn to"
    )
    return {
        f"heading {g['course_deg']:03d}, in a minute the needle moves a dot {g['needle']}; turn to": _bracket_cell(
            1,
            20.0,
            {
                "LR": (
                    -20.0,
                    "Away from the needle. The selected course is the one you fly, so the line is where the needle is.",
                ),
                "NONE": (
                    0.0,
                    "That is the heading on which it left. It will not come back by itself.",
                ),
            },
            "Twenty degrees towards the needle.",
        ),
        "the needle comes back to the centre; turn to": _bracket_cell(
            2,
            10.0,
            {
                "ALLOUT": (
                    0.0,
                    "All of the cut taken out: on this heading it left before, and it will leave again to the same "
                    "side. Take out half.",
                ),
                "KEPT": (
                    20.0,
                    "None of the cut taken out: it brought the needle back, so it carries you through. Take out half.",
                ),
                "LR": (-10.0, "That adds to the drift. Half of the cut stays in, on the side it was."),
            },
            "Half of the cut stays in.",
        ),
        what: _bracket_cell(
            3,
            third,
            {
                "KEPT": (
                    10.0,
                    "That one has just been tried, and the needle moved. Which correction was too little, which too "
                    "much? Take the middle.",
                ),
                "ALLOUT": (
                    0.0,
                    "On the course itself the needle left at the very start. Halve again, between too little and too "
                    "much.",
                ),
                "KEPTCUT": (
                    20.0,
                    "That was the cut that brought the needle back, so it is too much to hold. Take the middle.",
                ),
            },
            "One correction was too little, one too much: the middle of the two.",
        ),
        "the wind comes from the LEFT or the RIGHT": Choice(
            key="ir-bracket-4",
            lesson=KEY,
            title="wind",
            prompt="",
            options={"LEFT": "", "RIGHT": ""},
            correct=str(g["needle"]).upper(),
            slips=(
                Slip(
                    "WINDTO",
                    lambda _all: str(g["other"]).upper(),
                    "That is where it carries you to. The correction that holds points to where it comes from.",
                ),
            ),
        ),
    }


_BRACKET = Table(
    key="ir-bracket",
    lesson=KEY,
    title="Bracket an unknown wind",
    listed=True,
    points=4.0,
    prompt="You are on the course, the wind is unknown. Twenty degrees first, then halves. Write four entries: three "
    'headings in degrees magnetic, whole (within 2), and "LEFT" or "RIGHT".',
    shown="course {course_deg:03d}° selected and flown",
    draw=_draw_bracket,
    cells=_bracket_cells,
    hints=(
        "The needle moved {needle}: on which side is the line, and on which side is the wind?",
        "Twenty degrees towards the needle. When it is back take out half. Then the middle between too little and too "
        "much.",
        "First turn: {course_deg:03d} and 20 to the {needle}.",
    ),
    model="{answer}.",
    why="Three tries find the correction to within a few degrees. All out: it leaves again, on the same side.",
)

_STILL = Choice(
    key="ir-still",
    lesson=KEY,
    title="Half scale, and still",
    prompt="You fly in on course 240, which is selected. For a minute the needle has stood at half scale right, five "
    "degrees, and has not moved. What is going on, and what do you do?",
    options={
        "A": "all is well: the needle is not moving",
        "B": "you fly in along another radial: cut right; then hold the heading you have now",
        "C": "you fly in along another radial: cut right; then hold five degrees left of the heading you have now",
        "D": "you fly beside the line with the right correction: wait, the needle comes in by itself",
        "E": "the receiver is stuck",
    },
    correct="C",
    slips=(
        Slip(
            "FINE",
            lambda g: "A",
            "It holds still because you track straight to the station, but on a radial five degrees from yours. At "
            "ten miles that is nearly a mile beside the course.",
        ),
        Slip(
            "SAME",
            lambda g: "B",
            "The cut is right. But this heading makes good another course than 240: held on the line, it takes you off "
            "to the right at once. Which track does it make, and which one is wanted?",
        ),
        Slip(
            "BESIDE",
            lambda g: "D",
            "Beside the line, with the right correction, the miles to the line stay the same while the station comes "
            "nearer: the needle would open. This one stands still. What track keeps it still?",
        ),
        Slip(
            "STUCK",
            lambda g: "E",
            "A steady needle with a steady flag is a working one: going straight in along any radial it stands still. "
            "Which radial are you on?",
        ),
    ),
    hints=(
        "What keeps a needle still off the centre: a distance from the line, or an angle?",
        "Flying straight towards the station you stay on one radial. Facing the station, is 240 to the left of your "
        "track or to the right?",
        "The needle is right, so the station bears 240 and five more. That is also your track. On the line it must "
        "be ...",
    ),
    model="{answer}. The station bears 245, and that is the track you make good; on the line it must be 240.",
    why="Off the line, a still needle: another radial. Cut back, then change the old heading by the degrees the needle "
    "showed: going in with the needle right to the left, going out to the right.",
)

_CAUSES = {
    "NO LEAD": "begins the turn when the needle is centred",
    "CHASED": "changes the heading before the last change has worked",
    "WRONG SIDE": "makes the cut away from the line",
}


def _cause_cell(g: Givens, letter: str, cause: str) -> Choice:
    says = {
        "NO LEAD": "A turn begun at the centre goes far through the line at first, and then settles. Look how far this "
        "track goes beyond it, and how often it crosses.",
        "CHASED": "A chased needle gives a snake: it crosses again and again, by little each time. Count the crossings.",
        "WRONG SIDE": "A cut to the wrong side never meets the line at all.",
    }

    def named(wrong: str) -> Any:
        return lambda _all: wrong

    return Choice(
        key=f"ir-tracks-{letter}",
        lesson=KEY,
        title=letter,
        prompt="",
        options=dict.fromkeys(_CAUSES, ""),
        correct=cause,
        slips=tuple(Slip(code, named(code), text) for code, text in says.items() if code != cause),
    )


_TRACKS = Table(
    key="ir-tracks",
    lesson=KEY,
    title="Three tracks, three mistakes",
    points=2.0,
    prompt='Three pilots were to fly in on 214. What did each do wrong? Write for each letter "NO LEAD" (begins the turn '
    'when the needle is centred), "CHASED" (changes the heading before the last change has worked) or "WRONG SIDE" (makes '
    "the cut away from the line).",
    draw=lambda r: {"order": r.sample(list(_CAUSES), 3)},
    cells=lambda g: {letter: _cause_cell(g, letter, cause) for letter, cause in zip("ABC", g["order"], strict=True)},
    hints=(
        "Count how often each track crosses the line.",
        "Never: wrong side. Far through at first, then settling: no lead. A little each time, again and again: chased.",
        "Begin with the track that never meets the line.",
    ),
    model="{answer}.",
    why="Lead by the speed of the needle; change, wait, judge; sketch before the turn.",
    figure="show_faults",
    figure_values=lambda g: {"order": g["order"]},
)

_ORDER = Order(
    key="ir-order",
    lesson=KEY,
    title="In which order",
    prompt="From a vector to being established. Put the seven actions in order: write the letters as one word. "
    "Where two may change places, both orders count.",
    cards={
        "A": "turn to the intercept heading",
        "B": "bracket the wind until the needle stays",
        "C": "set the course you mean to fly",
        "D": "begin the turn, one lead before the centre",
        "E": "listen to the ident",
        "F": "roll out on course plus wind correction",
        "G": "hold the heading and watch how fast the needle moves",
    },
    correct="ECAGDFB",
    free=("EC",),
    because={
        "EA": "A needle of the wrong station is as lively as that of the right one. Hear the station before you turn on "
        "its word.",
        "CA": "Set before you turn: without the course the needle says nothing about this line, and you may fly through "
        "it unseen.",
        "AG": "First the heading, then watching what it does to the needle.",
        "GD": "The needle's speed tells when the lead has come: watch first.",
        "DF": "The turn is begun first; on course plus correction it ends.",
        "FB": "Roll out first; bracketing is for what the first correction leaves over.",
    },
    hints=(
        "What makes the needle worth believing? What makes it speak of your line?",
        "Identify, set, turn, wait, lead, roll out, bracket.",
        "E and C come first, in either order.",
    ),
    model="{answer}: identify and set, in either order, then turn, wait, lead, roll out, bracket. (Common practice, no "
    "published source.)",
    why="Identify before use, set before you turn, lead before the centre, bracket last.",
)

# ---------------------------------------------------------------- the plan, flown

_CUT_NM = (6.5, 7.5)
_TAS_KT = 108.0
_REACTION_DEG = 0.5  # flown while the turn is decided and rolled into, about three seconds, 7 NM out
_HOLD_S = 75  # long enough that a heading without wind correction shows on the needle


def _cut_over_ground(g: Givens, dist_nm: float) -> tuple[float, float, float]:
    """Track angle to the course, ground speed in the cut, and how far out it meets the line in the briefed wind."""
    heading = _heading_to_cut(g)
    blowing = {
        "heading_deg": heading,
        "tas_kt": _TAS_KT,
        "wind_from_deg": lesson_values.wind_from_deg(g),
        "wind_kt": g["wind_kt"],
    }
    track, gs = float(wind.track_deg(**blowing)), float(wind.ground_speed_on_heading_kt(**blowing))
    angle = abs(float(angles.difference_deg(from_deg=g["course_deg"], to_deg=track)))
    if not 25.0 <= angle <= 85.0:
        return angle, gs, 0.0
    met, _ = intercept.intercept_point_nm(
        dist_nm=dist_nm,
        radial_deg=g["radial_deg"],
        wanted_radial_deg=g["wanted_deg"],
        direction=g["direction"],
        angle_deg=angle,
    )
    return angle, gs, float(met)


def _draw_plan(r: random.Random) -> dict[str, Any]:
    while True:
        place = _draw_place(r, [30], "inbound")
        from_true = lesson_values.true_deg(place["course_deg"] + r.choice([-1, 1]) * r.choice([50, 60, 70]))
        drawn = {
            **place,
            "tas_kt": round(_TAS_KT),
            "wind_true_deg": lesson_values.whole(from_true, 10),
            "wind_kt": r.choice([15, 17, 19]),
            "variation_deg": 13,
            "altitude_ft": 3600,
            "angle_deg": 60,
        }
        for dist_nm in (11.0, 12.0, 13.0, 14.0, 15.0):
            angle, gs, met = _cut_over_ground(drawn, dist_nm)
            # A cut that the wind makes much steeper or shallower belongs in the air, not in a first plan.
            if abs(angle - drawn["angle_deg"]) <= 9.0 and _CUT_NM[0] <= met <= _CUT_NM[1]:
                return {**drawn, "dist_nm": dist_nm, "meets_nm": round(met), "gs_kt": round(gs / 5) * 5}


def _turn_radial_deg(g: Givens, lead_deg: float) -> float:
    """Radial on which a turn begins that many degrees before the wanted one."""
    back = 1.0 if float(angles.difference_deg(from_deg=g["wanted_deg"], to_deg=g["radial_deg"])) > 0 else -1.0
    return float(angles.wrap360(g["wanted_deg"] + back * lead_deg)) or 360.0


def _plan_right(g: Givens) -> dict[str, Any]:
    lead = float(intercept.lead_rule_deg(dist_nm=g["meets_nm"], gs_kt=g["gs_kt"], angle_deg=g["angle_deg"]))
    return {
        "course 1": float(g["course_deg"]),
        "heading to intercept": float(lesson_values.whole(_heading_to_cut(g))),
        "turn begins at radial": round(_turn_radial_deg(g, lead + _REACTION_DEG), 1),
        "heading after the turn": float(lesson_values.whole(lesson_values.heading_deg(g))),
    }


def _plan_rows(_g: Givens, filled: Mapping[str, Any]) -> list[dict[str, Any]]:
    return [
        {
            "then": {
                "identify": True,
                "course_1_deg": filled["course 1"],
                "heading_deg": filled["heading to intercept"],
                "ias_kt": 104,
            },
            "note": "cut",
        },
        {
            "when": {"radial_reaches_deg": filled["turn begins at radial"]},
            "then": {"heading_deg": filled["heading after the turn"]},
            "note": "turn on to the course",
        },
        {"when": {"heading_reached": True}, "then": {"clock": "start"}, "note": "established"},
        {"when": {"clock_s": _HOLD_S}, "then": {"follow": "needle 1"}, "note": "track"},
        {"when": {"dme_falls_to_nm": 2.3}, "then": {"end": True}, "note": "end"},
    ]


_PLAN = FilledPlan(
    key="ir-plan",
    lesson=KEY,
    title="Fill the plan; the model flies it",
    points=4.0,
    prompt="Fill the kneepad for this intercept. The model sets course 1 and turns to your heading to intercept. At the "
    f"radial you name it turns to your heading after the turn and holds that for {_HOLD_S} seconds. Then it follows "
    "needle 1 to 2.3 NM. Degrees magnetic; the radial may have a decimal. The angle is by the rule, without allowing for "
    "wind. To the lead add half a degree for reaction and roll-in (a rule of thumb). When it is handed in it is flown in "
    "two other winds, ten degrees and three knots either side of the one briefed.",
    shown="start {dist_nm:g} NM out on radial {radial_deg:03d}, heading {course_deg:03d}°; go in on the radial "
    "{wanted_deg:03d}; true airspeed {tas_kt} kt; wind from {wind_true_deg:03d}° **true**, {wind_kt} kt; variation "
    "{variation_deg}° west. In this wind you meet the line about {meets_nm} NM out, at a ground speed of {gs_kt} kt",
    draw=_draw_plan,
    blanks={
        "course 1": Blank(tolerance=1.0),
        "heading to intercept": Blank(tolerance=2.5),
        "turn begins at radial": Blank(example="72.5", tolerance=0.7),
        "heading after the turn": Blank(tolerance=3.0),
    },
    begin=lambda g: {
        "radial_deg": float(g["radial_deg"]),
        "dme_nm": g["dist_nm"],
        "altitude_ft": g["altitude_ft"],
        "heading_deg": float(g["course_deg"]),
        "ias_kt": 104,
    },
    rows=_plan_rows,
    days=lesson_values.plan_days,
    goals=(
        course_selected("course_deg"),
        cut_towards("course_deg", _sideways),
        led("course_deg", _sideways),
        heading_holds("course_deg"),
        established("course_deg", 5.5, 2.5),
    ),
    reference=_plan_right,
    # Near enough that a turn ended beside the line is seen; the first miles of the cut are not needed.
    drawn=lambda g: {"radials": [g["radial_deg"]], "course_deg": g["course_deg"], "reach_nm": g["meets_nm"] + 2.0},
    minutes=12.0,
    slips=(
        Slip(
            "RECIP",
            lambda g: {**_plan_right(g), "course 1": float(g["wanted_deg"])},
            "Course 1 is the radial, not the course you fly in on: the needle reads reversed and following it leads "
            "away.",
        ),
        Slip(
            "LR",
            lambda g: {**_plan_right(g), "heading to intercept": _cut(g, -_angle(g)) or 360.0},
            "The cut leads away from the line and the radial for the turn never comes. Parallel first: on which hand is "
            "the line?",
        ),
        Slip(
            "DIFF",
            lambda g: {**_plan_right(g), "heading to intercept": _cut(g, _off_deg(g)) or 360.0},
            "The angle is the difference itself: that heading points at the station, and the line comes only there.",
        ),
        Slip(
            "NOLEAD",
            lambda g: {**_plan_right(g), "turn begins at radial": float(g["wanted_deg"])},
            "The turn begins on the line itself: it ends beyond it. How many degrees earlier?",
        ),
        Slip(
            "LEADONLY",
            lambda g: {
                **_plan_right(g),
                "turn begins at radial": abs(
                    float(
                        angles.difference_deg(
                            from_deg=g["wanted_deg"], to_deg=_plan_right(g)["turn begins at radial"]
                        )
                    )
                ),
            },
            "That is the lead in degrees; the plan asks for the radial on which the turn begins: the wanted one, moved by the "
            "lead.",
        ),
        Slip(
            "LEADSGN",
            lambda g: {
                **_plan_right(g),
                "turn begins at radial": 2.0 * g["wanted_deg"] - _plan_right(g)["turn begins at radial"],
            },
            "The lead lies on the far side of the line: you are through it before the turn begins. From which side do "
            "you come?",
        ),
        Slip(
            "NOWIND",
            lambda g: {**_plan_right(g), "heading after the turn": float(g["course_deg"])},
            "The turn ends on the course itself, and the wind carries you off again.",
        ),
        Slip(
            "WCASIGN",
            lambda g: {
                **_plan_right(g),
                "heading after the turn": float(
                    lesson_values.whole(lesson_values.mirrored_deg(g["course_deg"], lesson_values.heading_deg(g)))
                ),
            },
            "The correction after the turn points downwind and doubles the drift.",
        ),
    ),
    hints=(
        "Four lines: the course you fly, the cut, where the turn begins, where it ends.",
        "Cut: course and twice the difference towards the line. Turn: wanted radial, and the lead with half a degree more "
        "on your side of it. After: course and correction into the wind.",
        "Course 1 is {course_deg:03d}; the difference between {radial_deg:03d} and {wanted_deg:03d} is ...",
    ),
    model="{answer}.",
    why="Planned beforehand, the needle only confirms; what the wind does differently is left to bracketing.",
)


# ---------------------------------------------------------------- by hand


def _draw_hand(r: random.Random) -> dict[str, Any]:
    place = _draw_place(r, [40], "outbound")
    from_true = lesson_values.true_deg(place["course_deg"] + r.choice([-1, 1]) * r.choice([60, 80, 100, 120]))
    return {
        **place,
        "wind_true_deg": lesson_values.whole(from_true, 10),
        "wind_kt": r.choice([17, 18, 19, 20, 21]),
    }


_HAND = FlownByHand(
    key="ir-hand",
    lesson=KEY,
    title="Fly it by hand",
    points=4.0,
    prompt="Intercept the radial and stay within half scale of it for three miles, in a wind you are not told. Set "
    "selector 1 first; then side, angle, heading; lead it; bracket the wind. For the lead a cut of 40 counts as 45, and the "
    "distance is read off the DME when the needle comes alive. The flight ends by itself when the DME shows 12.",
    shown="going out from Overfall, 4 NM out on radial {radial_deg:03d}, heading {course_deg:03d}, 3,600 ft; go **out** on the "
    "radial {wanted_deg:03d}",
    draw=_draw_hand,
    goal="Out on radial {wanted_deg:03d} from radial {radial_deg:03d}: intercept it, then within half scale for three "
    "miles. The wind is not known. Ends at DME 12.",
    begin=lambda g: {
        "radial_deg": float(g["radial_deg"]),
        "dme_nm": 4.0,
        "altitude_ft": 3600,
        "heading_deg": float(g["course_deg"]),
        "ias_kt": 104,
    },
    day=lambda g: lesson_values.day("unknown", g["wind_true_deg"], g["wind_kt"]),
    radials=lambda g: (float(g["radial_deg"]), float(g["wanted_deg"])),
    courses=lambda g: (float(angles.reciprocal(g["radial_deg"])) or 360.0, 360.0),
    goals=(
        course_selected("course_deg"),
        cut_towards("course_deg", _sideways),
        rolled_out("course_deg", _sideways),
        held_for("course_deg"),
        wind_found("course_deg"),
    ),
    rows=lambda g: [
        {
            "then": {
                "identify": True,
                "course_1_deg": float(g["course_deg"]),
                "heading_deg": _cut(g, 40.0) or 360.0,
            }
        },
        {"when": {"needle_alive": 1}, "then": {"follow": "needle 1"}},
        {"when": {"dme_rises_to_nm": 12.0}, "then": {"end": True}},
    ],
    ends_at_dme_nm=12.0,
    hints=(
        "What goes on selector 1? Facing out along it, on which hand is the line?",
        "Cut by the difference towards the needle; begin the turn about a dot before the centre; 20 degrees, half, half.",
        "Selector 1 to {course_deg:03d}; the difference from {radial_deg:03d} is ...",
    ),
    model="Selector 1 to {course_deg:03d}, then a cut of 40 degrees towards the line, a turn begun about a dot early, and "
    "brackets of 20, half and half.",
    why="The wind was found by the needle alone.",
)

# ---------------------------------------------------------------- the task


def _draw_task(r: random.Random) -> dict[str, Any]:
    off = r.choice([22, 23, 30])
    place = _draw_place(r, [off], "inbound")
    angle = 45 if off < 30 else 60
    drawn = {
        **place,
        **_draw_wind(r, place["course_deg"]),
        "off_deg": off,
        "angle_deg": angle,
        "dist_nm": r.choice([4, 5, 6]),
    }
    blowing = {
        "tas_kt": drawn["tas_kt"],
        "wind_from_deg": lesson_values.wind_from_deg(drawn),
        "wind_kt": drawn["wind_kt"],
    }
    drawn["gs_kt"] = (
        round(float(wind.ground_speed_on_heading_kt(heading_deg=_heading_to_cut(drawn), **blowing)) / 5) * 5
    )
    along_kt, across_kt = wind.components_kt(
        direction_deg=drawn["course_deg"], wind_from_deg=lesson_values.wind_from_deg(drawn), wind_kt=drawn["wind_kt"]
    )
    return {
        **drawn,
        "wind_magnetic_deg": lesson_values.whole(lesson_values.wind_from_deg(drawn)),
        "part": _PARTS[angle],
        "along": f"{abs(along_kt):.0f} kt {'against you' if along_kt > 0 else 'behind you'}",
        "across": f"{abs(across_kt):.0f} kt from the {'right' if across_kt > 0 else 'left'}",
        "sign": "less" if along_kt > 0 else "plus",
    }


_TASK = Table(
    key="ir-task",
    lesson=KEY,
    title="The task: plan an intercept",
    points=7.5,
    task=True,
    prompt="Plan this intercept before you turn. The heading to intercept is by twice the difference, without allowing for "
    "wind; the lead is for the ground speed and the distance given. Courses and headings in degrees magnetic, whole; the "
    "lead in degrees, one decimal; ground speed in knots, whole.",
    shown="on radial {radial_deg:03d}, to go in on the radial {wanted_deg:03d}; you meet it {dist_nm} NM out, with a "
    "ground speed of about {gs_kt} kt in the cut; true airspeed {tas_kt} kt; wind from {wind_true_deg:03d}° **true**, "
    "{wind_kt} kt; variation {variation_deg}° west",
    draw=_draw_task,
    cells=lambda g: {
        "course to set": Number(
            key="ir-task-course",
            lesson=KEY,
            title="course to set",
            prompt="",
            answer=lambda g: float(g["course_deg"]),
            unit="degrees magnetic",
            tolerance=0.5,
            circle=True,
            slips=(
                Slip(
                    "RECIP",
                    lambda g: float(g["wanted_deg"]),
                    "That is the radial; you fly it inwards. With this set the needle reads reversed.",
                ),
                Slip(
                    "DIRECT",
                    lambda g: float(angles.reciprocal(g["radial_deg"])),
                    "That is the course to the station from where you are, not the one you want.",
                ),
            ),
            look="The course you mean to fly.",
        ),
        "heading to intercept": Number(
            key="ir-task-heading",
            lesson=KEY,
            title="heading to intercept",
            prompt="",
            answer=_heading_to_cut,
            unit="degrees magnetic",
            tolerance=1.5,
            circle=True,
            slips=(
                Slip(
                    "LR",
                    lambda g: _cut(g, -_angle(g)),
                    "Away from the line: on which hand is it when you face along the course?",
                ),
                Slip("DIFF", lambda g: _cut(g, _off_deg(g)), "Not doubled: that heading points at the station."),
                Slip(
                    "FROMRAD",
                    lambda g: float(angles.wrap360(g["radial_deg"] + _sideways(g) * _angle(g))),
                    "The angle belongs on the course, not on your radial.",
                ),
            ),
            look="Parallel, side, twice the difference.",
        ),
        "lead in degrees": Number(
            key="ir-task-lead",
            lesson=KEY,
            title="lead",
            prompt="",
            answer=_lead_deg,
            unit="degrees",
            decimals=1,
            tolerance=0.5,
            close=0.7,
            slips=(
                Slip(
                    "PART",
                    lambda g: float(intercept.lead_rule_deg(dist_nm=g["dist_nm"], gs_kt=g["gs_kt"], angle_deg=90.0)),
                    "The whole turn radius is the lead for 90 degrees only.",
                ),
                Slip(
                    "DEGNM",
                    lambda g: float(intercept.lead_nm(tas_kt=g["gs_kt"], angle_deg=g["angle_deg"])),
                    "Miles read as degrees.",
                ),
            ),
            look="Radius, the angle's part, then degrees at that distance.",
        ),
        "roll-out heading": _ROLL_OUT_CELL,
        "ground speed on course": _GS_CELL,
    },
    hints=("", "", ""),
    model="{answer}. Course: in on radial {wanted_deg:03d} is its reciprocal. Heading: {off_deg} degrees off, doubled, "
    "towards the line. Lead: radius {gs_kt} / 200, times {part} for the angle, times 60 / {dist_nm}. Wind: "
    "{wind_true_deg:03d} + {variation_deg} is {wind_magnetic_deg:03d} magnetic; {across}, {along}. Correction: 60 x "
    "crosswind / {tas_kt}, into the wind. Ground speed: {tas_kt} {sign} the wind along the course, and a knot or two less "
    "for the nose held across.",
    why="Five numbers, and the intercept holds no surprise but the wind, which you bracket.",
)

_EXIT = Choice(
    key="ir-exit",
    lesson=KEY,
    title="Exit: out on 100",
    prompt="You have just passed the station and are on radial 070. You are to go out on 100, and 100 is selected. Which "
    "heading, and what starts the turn on to the course?",
    options={
        "A": "100, parallel to the course; the needle centred",
        "B": "130; the needle centred",
        "C": "130; the needle one lead before the centre",
        "D": "070, 30 degrees left of the course; the needle one lead before the centre",
    },
    correct="C",
    slips=(
        Slip(
            "PARALLEL",
            lambda g: "A",
            "Parallel stays beside the line: the needle creeps in as the miles go by and does not centre. Which heading "
            "crosses over to it?",
        ),
        Slip(
            "NOLEAD",
            lambda g: "B",
            "The heading is right. Waiting for the centre rolls you out beyond the line, and near the station the needle "
            "is fast.",
        ),
        Slip(
            "LR",
            lambda g: "D",
            "100 is a larger number than 070: going out it lies to the right.",
        ),
    ),
    hints=(
        "Parallel first: 100. On which hand is the line, facing outwards?",
        "Difference itself after passage, at most 45; the turn begins one lead early.",
        "100 + 30 = ...",
    ),
    model="{answer}.",
    why="Parallel, side, angle, lead. The needle starts the turn, before it is centred.",
)

BANK: tuple[Question, ...] = (
    _RECALL_SELECTOR,
    _RECALL_WIDTH,
    _PREDICT,
    _SET,
    _REVERSE,
    _WHY_DOUBLE,
    _HEADINGS,
    _OUTBOUND,
    _LEAD_FADED,
    _LEAD,
    _WIND,
    _WHAT_IF,
    _BRACKET,
    _STILL,
    _TRACKS,
    _ORDER,
    _PLAN,
    _HAND,
    _TASK,
    _EXIT,
)

LESSON = Lesson(
    key=KEY,
    title="Intercepting a radial",
    minutes=70,
    can=(
        "name side, angle and heading to intercept, going in or out",
        "begin the turn one lead early and roll out within half scale",
        "find the wind correction in three brackets",
    ),
    bank=BANK,
)
