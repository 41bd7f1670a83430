"""Questions of the lesson on station passage."""

from __future__ import annotations

import random
from collections.abc import Mapping
from typing import Any

from needlework.exercises import lesson_values
from needlework.exercises.flown import (
    Blank,
    FilledPlan,
    FlownByHand,
    hands_still,
    heading_after_passage,
    on_the_line,
    outbound_in_time,
    over_the_station,
    turned_after_passage,
    waited_a_mile,
    written_between,
)
from needlework.exercises.kinds import Choice, Givens, Number, Order, Question, Rule, Slip, Table
from needlework.exercises.lesson import Lesson
from needlework.trade import angles, dme, vor

KEY = "station-passage"
_STATIONS_FT = {"Overfall": 480, "Wygate": 232, "Ezrick Down": 1150}

# ---------------------------------------------------------------- recall

_FLAG = Choice(
    key="sp-recall-flag",
    lesson=KEY,
    title="Recall: what the flag compares",
    prompt="You fly towards a VOR with course 310 selected; the flag shows TO. You turn the aircraft right round "
    "where it is. Before it has moved any distance, what does the flag show?",
    options={
        "A": "FROM, because the aircraft now points away",
        "B": "TO, as before",
        "C": "nothing, until the aircraft flies straight again",
    },
    correct="B",
    slips=(
        Slip(
            "HEADING",
            lambda g: "A",
            "The flag does not know which way the nose points: it compares the selected course with where you are. "
            "In the air you would take a turn for a station passage. What has changed here, place or heading?",
        ),
        Slip(
            "FAULT",
            lambda g: "C",
            "A blank flag means no usable signal, and turning does not take the signal away. "
            "What does the receiver measure, place or heading?",
        ),
    ),
    hints=(
        "Ask which of three things the receiver knows: where you are, what is selected, where the nose points.",
        "TO means: flying the selected course from here would bring the station nearer.",
        "The place is the same, 310 is still selected, so ...",
    ),
    model="{answer}. Neither the place nor the selected course has changed, so the flag has not.",
    why="Flag and needle compare the selected course with your place. Heading is in neither.",
)

_COURSE_IN = Number(
    key="sp-recall-course",
    lesson=KEY,
    title="Recall: from radial to inbound course",
    prompt="You are on a radial and want to fly straight in to the station. Which course do you select? "
    "Degrees magnetic, whole.",
    shown="you are on radial {radial_deg:03d}",
    draw=lambda r: {"radial_deg": r.choice([d for d in range(11, 350, 7) if d % 90 > 8])},
    answer=lambda g: float(angles.reciprocal(g["radial_deg"])),
    unit="degrees magnetic",
    tolerance=0.5,
    circle=True,
    slips=(
        Slip(
            "RECIP",
            lambda g: float(g["radial_deg"]),
            "A radial runs outwards and says where you **are**; asked is where you would be **going**, the other end "
            "of the same line. With this one selected the flag shows FROM and the needle reads reversed.",
        ),
    ),
    hints=(
        "Sketch the station and your radial as a spoke. Which way along the spoke is in?",
        "The inbound course is the radial's other end: add or take away 180.",
        "{radial_deg:03d} and 180 make ...",
    ),
    model="{answer}: the other end of radial {radial_deg:03d}.",
    why="Radial is where you are, course is where you want to go.",
)

# ---------------------------------------------------------------- the needle near the station

_PREDICT = Choice(
    key="sp-predict",
    lesson=KEY,
    title="Predict: the needle runs away half a mile out",
    prompt="You are half a mile from the station over the ground, 3,000 ft above it, heading corrected for the wind. The needle "
    "has been centred for ten minutes; in the last five seconds it has run to the right, all the way to full scale. What do you "
    "do?",
    options={
        "A": "turn right 20 degrees",
        "B": "hold this heading and wait",
        "C": "turn right until the needle is centred again",
        "D": "treat the receiver as failed and change to the other one",
    },
    correct="B",
    slips=(
        Slip(
            "COMMAND",
            lambda g: "A",
            "At half a mile full scale is only about 530 ft. A 20 degree cut takes you across the line just when "
            "there is nothing left to steer by. How far off the line are you, in feet?",
        ),
        Slip(
            "CHASE",
            lambda g: "C",
            "Inside a mile the needle moves faster than any turn can follow: chasing it is how pilots cross the "
            "station 20 to 40 degrees off heading. How far off the line are you, in feet?",
        ),
        Slip(
            "BROKEN",
            lambda g: "D",
            "Nothing has failed: all courses meet at the station, so near it a small distance is a large angle. "
            "What would flag and DME show next?",
        ),
    ),
    hints=(
        "Turn the needle's ten degrees into feet at half a mile.",
        "One degree is about 106 ft wide for every mile of distance.",
        "10 degrees x 106 ft x 0.5 = ...",
    ),
    model="{answer}. Ten degrees at half a mile is some 530 ft. The heading was right for ten minutes; it still is.",
    why="Near the station a small distance is a large angle. Hands still: keep the heading that worked. "
    "(Common practice, no published source.)",
    figure="show_needle",
    figure_values=lambda g: {"needle_deg": 10.0, "course_deg": 130.0, "flag": "TO", "dme_nm": 0.7},
)


def _degrees_off(to_go_nm: float) -> Number:
    return Number(
        key=f"sp-needle-angle-{to_go_nm:g}",
        lesson=KEY,
        title=f"{to_go_nm:g} NM to go",
        prompt="",
        answer=lambda g: float(vor.off_deg(offset_nm=g["offset_nm"], to_go_nm=to_go_nm)),
        unit="degrees",
        decimals=1,
        # The 1-in-60 rule is up to 7 % off here and the answer is rounded to 0.1: both must pass.
        tolerance=max(0.1, 0.08 * float(vor.off_deg(offset_nm=0.12, to_go_nm=to_go_nm))),
        close=0.2 * float(vor.off_deg(offset_nm=0.12, to_go_nm=to_go_nm)),
        slips=(
            Slip(
                "INV",
                lambda g: 60.0 * to_go_nm / g["offset_nm"],
                "Upside down: the offset goes over the distance. Nearer must give a larger angle.",
            ),
            Slip(
                "LINEAR",
                lambda g: to_go_nm * 60.0 * g["offset_nm"] / 1.5,
                "This shrinks as you come nearer, and the needle does the opposite.",
            ),
        ),
        look="Sideways distance over distance to go, times 60.",
    )


_NEEDLE_ANGLE = Table(
    key="sp-needle-angle",
    lesson=KEY,
    title="The same offset, nearer and nearer",
    points=2.0,
    prompt="You pass beside the station, parallel to your course. How many degrees off the line are you with each of these "
    "distances to go? (The needle itself stops at 10.) Degrees, one decimal; the 1-in-60 rule is good enough.",
    shown="passing {offset_nm:g} NM beside the station",
    draw=lambda r: {"offset_nm": r.choice([0.09, 0.1, 0.11, 0.12])},
    cells=lambda g: {f"{d:g} NM": _degrees_off(d) for d in (5.0, 2.0, 1.0, 0.5)},
    hints=(
        "The offset stays the same; only the distance shrinks. Which way does the angle go?",
        "Degrees off = 60 x offset / distance to go.",
        "At 5 NM: 60 x {offset_nm:g} / 5 = ...",
    ),
    model="{answer}.",
    why="From five miles to half a mile the same few hundred feet grow from a needle's width to full scale.",
)


def _flag_cell(radial_deg: float, course_deg: float, words: str) -> Choice:
    flag = str(vor.flag(radial_deg=radial_deg, selected_course_deg=course_deg))
    needle = float(vor.needle_deg(radial_deg=radial_deg, selected_course_deg=course_deg))
    side = "RIGHT" if needle > 0 else "LEFT"
    other_flag = {"TO": "FROM", "FROM": "TO"}[flag]
    other_side = {"LEFT": "RIGHT", "RIGHT": "LEFT"}[side]
    return Choice(
        key=f"sp-flags-{words}",
        lesson=KEY,
        title=words,
        prompt="",
        options={f"{f} {s}": "" for f in ("TO", "FROM") for s in ("LEFT", "RIGHT")},
        correct=f"{flag} {side}",
        slips=(
            Slip(
                "LR",
                lambda g: f"{flag} {other_side}",
                "The flag is correct, the needle is mirrored. Stand at the aircraft facing along the **selected course**: on which "
                "hand is the line?",
            ),
            Slip(
                "TOFROM",
                lambda g: f"{other_flag} {side}",
                "The needle is correct, the flag is not. Would flying the selected course from here bring the station nearer?",
            ),
            Slip(
                "RECIP",
                lambda g: f"{other_flag} {other_side}",
                "That is what the other end of the line, selected, would show. Check which course is set.",
            ),
        ),
    )


def _draw_positions(r: random.Random) -> dict[str, Any]:
    base = r.randrange(20, 350, 5)
    # One place of each indication at least but one, so that three letters do not give the fourth away.
    shifts = [r.choice([6, 40]), r.choice([-6, -40]), r.choice([174, 140]), r.choice([-174, -140])]
    shifts[r.randrange(4)] = r.choice([15, -15, 165, -165])
    r.shuffle(shifts)
    places = []
    for shift in shifts:
        course = base if r.random() < 0.5 else int(angles.reciprocal(base))
        places.append((lesson_values.whole(course + shift), lesson_values.whole(course)))
    return {"places": places}


_FLAGS = Table(
    key="sp-flags",
    lesson=KEY,
    title="Needle and flag at four places",
    listed=True,
    points=2.0,
    prompt="For each place and selected course: which flag, and which side of centre is the needle? Write "
    '"TO LEFT", "TO RIGHT", "FROM LEFT" or "FROM RIGHT". Heading is not given, because it does not matter.',
    draw=_draw_positions,
    cells=lambda g: {
        f"on radial {radial:03d}, course {course:03d} set": _flag_cell(radial, course, f"{radial:03d}/{course:03d}")
        for radial, course in g["places"]
    },
    hints=(
        "Sketch the station, your radial, and the selected course as an arrow through the station.",
        "Flag: FROM if the radial is within 90 degrees of the course, else TO. "
        "Needle: face along the course; the needle is on the side where the line is.",
        "Take the first place and draw it with north up.",
    ),
    model="{answer}.",
    why="Place and selected course decide both. Heading only decides how the picture changes next.",
)

# ---------------------------------------------------------------- how long the needle is useless

_WHY_HEIGHT = Choice(
    key="sp-why-height",
    lesson=KEY,
    title="Why the height above the station?",
    prompt="In the worked example the station's elevation was taken away first. Why?",
    options={
        "A": "because the altimeter reads too high near a station",
        "B": "because the cone stands on the station: its width depends on how far above the station you are",
        "C": "because distances are always measured from sea level",
    },
    correct="B",
    slips=(
        Slip("ALTIMETER", lambda g: "A", "The altimeter knows nothing of stations. Where is the point of the cone?"),
        Slip(
            "MSLH",
            lambda g: "C",
            "Altitude is, but the cone does not begin at sea level. With a station 1,150 ft up you would "
            "expect the needle to be useless for longer than it is. Where is the point of the cone?",
        ),
    ),
    hints=(
        "Draw the cone. Where does its point stand?",
        "Width of a cone at some height: measured from its point.",
        "Height above the station = altitude minus ...",
    ),
    model="{answer}. The point of the cone is the station.",
    why="The same holds for the DME overhead: it reads the height above the **station**.",
)


def _cone_s(g: Givens, height_ft: float, gs_kt: float) -> float:
    return float(vor.cone_s(height_ft=height_ft, gs_kt=gs_kt, offset_nm=0.0, half_angle_deg=g["half_angle_deg"]))


_CONE_FADED = Number(
    key="sp-cone-faded",
    lesson=KEY,
    title="Seconds without a needle: last step",
    prompt="The cone is {width_nm:.2f} NM wide at your height and you cross its middle. How long is the needle "
    "useless? Seconds, whole.",
    shown="width {width_nm:.2f} NM, ground speed {gs_kt} kt",
    draw=lambda r: {"width_nm": r.choice([0.84, 0.92, 1.04, 1.16]), "gs_kt": r.choice([80, 95, 105, 115])},
    answer=lambda g: g["width_nm"] / g["gs_kt"] * 3600.0,
    unit="seconds",
    tolerance=0.6,
    close=1.5,
    slips=(
        Slip(
            "HOURS",
            lambda g: g["width_nm"] / g["gs_kt"],
            "Those are hours: a knot is a mile an **hour**, and an hour has 3,600 seconds.",
        ),
        Slip(
            "UNIT",
            lambda g: g["width_nm"] / g["gs_kt"] * 60.0,
            "Those are minutes, read as seconds. A knot is a mile an **hour**: 3,600 seconds.",
        ),
        Slip(
            "INV",
            lambda g: g["gs_kt"] / g["width_nm"],
            "Speed over distance is upside down: faster must be shorter.",
        ),
        Slip(
            "DIAM",
            lambda g: g["width_nm"] / 2 / g["gs_kt"] * 3600.0,
            "Half the crossing. The width given is already the whole way across.",
        ),
    ),
    hints=(
        "Distance and speed are given; asked is time.",
        "Time = distance / speed; times 3,600 for seconds.",
        "{width_nm:.2f} / {gs_kt} x 3,600 = ...",
    ),
    model="{width_nm:.2f} / {gs_kt} x 3,600 = {answer}.",
    why="Knowing the number beforehand is what makes it easy to sit still.",
)


def _draw_cone(r: random.Random) -> dict[str, Any]:
    station = r.choice(list(_STATIONS_FT))
    return {
        "station": station,
        "elevation_ft": _STATIONS_FT[station],
        "altitude_ft": r.randrange(2600, 4700, 100),
        "half_angle_deg": r.choice([40, 45, 50]),
        "tas_kt": r.choice([90, 100, 110]),
        "headwind_kt": r.choice([15, 20, 25]),
    }


_CONE = Number(
    key="sp-cone",
    lesson=KEY,
    title="Seconds without a needle: all of it",
    points=2.0,
    prompt="You cross the station in the middle. For how many seconds will the needle be useless? Seconds, whole; "
    "2 seconds either way are accepted.",
    shown="altitude {altitude_ft:,} ft; {station} stands at {elevation_ft:,} ft; cone half angle {half_angle_deg}°; "
    "true airspeed {tas_kt} kt with {headwind_kt} kt of headwind",
    draw=_draw_cone,
    answer=lambda g: _cone_s(g, g["altitude_ft"] - g["elevation_ft"], g["tas_kt"] - g["headwind_kt"]),
    unit="seconds",
    tolerance=2.0,
    close=4.0,
    slips=(
        Slip(
            "MSLH",
            lambda g: _cone_s(g, g["altitude_ft"], g["tas_kt"] - g["headwind_kt"]),
            "You used the altitude. The cone stands on the station, {elevation_ft:,} ft up: you would wait too long "
            "before looking at the needle again. Take the height above the station.",
        ),
        Slip(
            "DIAM",
            lambda g: _cone_s(g, g["altitude_ft"] - g["elevation_ft"], g["tas_kt"] - g["headwind_kt"]) / 2,
            "That is the way in to the middle; you also have to come out on the other side.",
        ),
        Slip(
            "IASGS",
            lambda g: _cone_s(g, g["altitude_ft"] - g["elevation_ft"], g["tas_kt"]),
            "You used the airspeed. The ground goes by {headwind_kt} kt slower, so it lasts longer. Headwind first.",
        ),
        Slip(
            "UNIT",
            lambda g: _cone_s(g, g["altitude_ft"] - g["elevation_ft"], g["tas_kt"] - g["headwind_kt"]) / 60.0,
            "Those are minutes; asked are seconds.",
        ),
        Slip(
            "HDTL",
            lambda g: _cone_s(g, g["altitude_ft"] - g["elevation_ft"], g["tas_kt"] + g["headwind_kt"]),
            "The wind was added. A headwind takes speed away over the ground.",
        ),
    ),
    hints=(
        "Three steps: height above the station, width of the cone there, time across.",
        "Radius = height / 6,076 x tan(half angle); width = 2 radii; seconds = width / ground speed x 3,600.",
        "Height: {altitude_ft:,} - {elevation_ft:,} ft. Ground speed: {tas_kt} - {headwind_kt} kt.",
    ),
    model="Height {altitude_ft:,} - {elevation_ft:,} ft, ground speed {tas_kt} - {headwind_kt} kt: {answer}.",
    why="Half angles of real stations differ and nobody prints yours: 45° is a fair guess, 30° to 50° the range.",
)

_DME = Table(
    key="sp-dme",
    lesson=KEY,
    title="What the DME reads overhead, and beside",
    points=2.0,
    prompt="What is the lowest DME reading if you cross exactly overhead, and if you pass beside the station? "
    "NM, one decimal.",
    shown="altitude {altitude_ft:,} ft; the station stands at {elevation_ft:,} ft; passing beside: {offset_nm:g} NM",
    draw=lambda r: {
        "altitude_ft": r.randrange(4300, 6100, 100),
        "elevation_ft": 1150,
        "offset_nm": r.choice([0.9, 1.0, 1.1]),
    },
    cells=lambda g: {
        "overhead": Number(
            key="sp-dme-overhead",
            lesson=KEY,
            title="overhead",
            prompt="",
            answer=lambda g: float(dme.slant_nm(ground_nm=0.0, height_ft=g["altitude_ft"] - g["elevation_ft"])),
            unit="NM",
            decimals=1,
            tolerance=0.08,  # rounding to 0.1 is up to 0.05, and so is reading 6,000 ft for a mile
            slips=(
                Slip("ZERO", lambda g: 0.0, "The DME measures along the slant, and you are still above the station."),
                Slip(
                    "MSLH",
                    lambda g: float(dme.slant_nm(ground_nm=0.0, height_ft=g["altitude_ft"])),
                    "That is the altitude; the DME is on the station, {elevation_ft:,} ft up.",
                ),
            ),
            look="Height above the station, turned into miles: 6,076 ft is one.",
        ),
        "beside": Number(
            key="sp-dme-beside",
            lesson=KEY,
            title="beside",
            prompt="",
            answer=lambda g: float(
                dme.slant_nm(ground_nm=g["offset_nm"], height_ft=g["altitude_ft"] - g["elevation_ft"])
            ),
            unit="NM",
            decimals=1,
            tolerance=0.08,  # rounding to 0.1 is up to 0.05, and so is reading 6,000 ft for a mile
            slips=(
                Slip("SLANT", lambda g: g["offset_nm"], "That is the distance on the map. The height belongs in it."),
                Slip(
                    "SUM",
                    lambda g: (
                        g["offset_nm"]
                        + float(dme.slant_nm(ground_nm=0.0, height_ft=g["altitude_ft"] - g["elevation_ft"]))
                    ),
                    "The two were added. They stand at right angles: square, add, take the root.",
                ),
            ),
            look="Distance beside and height stand at right angles.",
        ),
    },
    hints=(
        "The DME measures straight from the aircraft to the station.",
        "Overhead: height / 6,076. Beside: root of (offset² + height²), both in NM.",
        "Height in NM: ({altitude_ft:,} - {elevation_ft:,}) / 6,076 = ...",
    ),
    model="{answer}.",
    why="A lowest reading well above your height in miles means you passed beside the station, not over it.",
)

_WHAT_IF = Number(
    key="sp-what-if",
    lesson=KEY,
    title="What-if: when the cone outlasts half a minute",
    prompt="With the sliders: ground speed {gs_kt} kt, no offset, half angle {half_angle_deg}°. From which height above "
    "the station is the needle useless for 30 seconds or more? Feet; 150 either way are accepted.",
    draw=lambda r: {"gs_kt": r.choice([80, 90, 100]), "half_angle_deg": r.choice([40, 45])},
    answer=lambda g: 30.0 * 6076.115 * g["gs_kt"] / 3600.0 / 2.0 / _tangent(g["half_angle_deg"]),
    unit="ft",
    tolerance=150.0,
    close=300.0,
    slips=(
        Slip(
            "DIAM",
            lambda g: 30.0 * 6076.115 * g["gs_kt"] / 3600.0 / _tangent(g["half_angle_deg"]),
            "That is the height for 60 seconds: 30 on the way in and 30 on the way out.",
        ),
        Slip(
            "ANGLE",
            lambda g: 30.0 * 6076.115 * g["gs_kt"] / 3600.0 / 2.0 / _tangent(30),
            "The half angle slider stands at 30°. Set it to {half_angle_deg}° and look again.",
        ),
    ),
    hints=(
        "Set the three sliders named, then raise the height slowly and watch the seconds.",
        "The seconds grow in step with the height.",
        "Read the seconds at 2,000 ft, then scale to 30.",
    ),
    model="{answer}.",
    close_says="Read the seconds beside the picture once more.",
    why="Higher or slower is longer: at approach speeds half a minute without a needle begins some 2,000 ft above the station.",
)


def _tangent(angle_deg: float) -> float:
    return float(vor.cone_radius_nm(height_ft=6076.115, half_angle_deg=angle_deg))


_RULE = Rule(
    key="sp-rule",
    lesson=KEY,
    title="Your own rule for the kneepad",
    points=3.0,
    prompt="Write a rule for the seconds without a needle at a half angle of 45°, with **h** the height above the "
    "station in thousands of feet and **gs** the ground speed in knots. Write it as text, with * for times and / for "
    "divided by. It is tried on 20 crossings you have not seen and should be within 10 %.",
    symbols=("h", "gs"),
    truth=lambda case: float(
        vor.cone_s(height_ft=case["h"] * 1000.0, gs_kt=case["gs"], offset_nm=0.0, half_angle_deg=45.0)
    ),
    case=lambda r: {"h": r.randrange(8, 60) / 10.0, "gs": float(r.randrange(60, 150, 5))},
    within=0.1,
    example="1200 * h / gs",
    unit="seconds",
    slips=(
        Slip(
            "DIAM",
            lambda g: "593 * h / gs",
            "It gives the way to the middle only; the needle is useless on both sides.",
        ),
        Slip(
            "UNIT", lambda g: "19.75 * h / gs", "It gives minutes. A knot is a mile an hour: where do the 3,600 go?"
        ),
        Slip("NM", lambda g: "7200 * h / gs", "It takes 1,000 ft for a mile; a mile is 6,076 ft."),
        Slip(
            "INV",
            lambda g: "gs / h * 0.6",
            "It grows with speed; a faster crossing is shorter. What goes under the line?",
        ),
    ),
    hints=(
        "At 45° the radius of the cone equals the height. So the width is ...",
        "Seconds = 2 x height in NM / ground speed x 3,600; height in NM = 1,000 h / 6,076.",
        "2 x 1000 / 6076 x 3600 is about ..., times h, over gs.",
    ),
    model="{answer}: at 45° the width is twice the height, and 2 x 1,000 / 6,076 x 3,600 is nearly 1,200.",
    why="1,200 times the height in thousands over the ground speed: easy enough to do in the cockpit.",
)

# ---------------------------------------------------------------- passage itself

_MOMENT = Choice(
    key="sp-moment",
    lesson=KEY,
    title="The moment of passage",
    prompt="The strip shows a station passage as recorded. At which mark has the station been passed?",
    options={
        "A": "the needle first wanders",
        "B": "the flag first flickers",
        "C": "the flag shows FROM and stays",
        "D": "the needle is centred again",
    },
    correct="C",
    slips=(
        Slip(
            "WANDER",
            lambda g: "A",
            "The needle moves off because the lines converge; the station is still most of a mile ahead.",
        ),
        Slip(
            "FLICKER",
            lambda g: "B",
            "A flicker is the edge of the cone, not the station. Acting on it turns you some 0.3 NM early. What does not flicker?",
        ),
        Slip(
            "CENTRED",
            lambda g: "D",
            "By then you are well past, and nothing says the needle will centre at all. Look at the flag.",
        ),
    ),
    hints=(
        "Which of the three instruments cannot be fooled by being a little to one side?",
        "Passage is the first steady change from TO to FROM.",
        "Look along the flag's row for the first FROM that stays.",
    ),
    model="{answer}. Passage is the first positive change from TO to FROM (AIM 1-1-3; T-6B instruction 601). The DME was lowest "
    "some seconds earlier: the flag settles only outside the cone.",
    why="First steady FROM: not the wandering needle, not the first flicker.",
    figure="show_passage_strip",
    figure_values=lambda g: {},
)

_ORDER = Order(
    key="sp-order",
    lesson=KEY,
    title="In which order at the station",
    prompt="The flag has just gone to a steady FROM. Put the five actions in order: write the letters as one word.",
    cards={
        "A": "correct towards the needle",
        "B": "turn to the outbound heading",
        "C": "note the time",
        "D": "wait until about a mile out",
        "E": "set the outbound course",
    },
    correct="CBEDA",
    because={
        "CB": "The clock first: it takes a second now and cannot be had later.",
        "BE": "Turn first: the aircraft covers a tenth of a mile while you set the course, and a needle near the station tells nothing yet.",
        "ED": "Set the course before you wait, or there is nothing to look at when the wait is over.",
        "DA": "Close in the needle shows large angles for small distances: wait, then correct.",
        "CA": "The clock first: it takes a second now and cannot be had later.",
        "BA": "First turn on to the outbound heading, later correct.",
        "EA": "Correct towards which line? The outbound course must be set first.",
    },
    hints=(
        "Which of these can wait a minute, and which is gone if it waits?",
        "Time, turn, set, wait, correct.",
        "C first.",
    ),
    model="{answer}: time, turn, set, wait, correct. (Common practice, no published source.)",
    why="Time, turn, set, wait, correct. Some schools add throttle and talk at the end.",
)


def _draw_outbound(r: random.Random) -> dict[str, Any]:
    course = r.randrange(20, 350, 10)
    # A strong wind well forward: there a wind read as magnetic costs several degrees.
    from_magnetic = course + r.choice([-1, 1]) * r.choice([20, 25, 30, 35])
    return {
        "course_deg": course,
        "tas_kt": r.choice([90, 95, 100]),
        "wind_true_deg": lesson_values.whole(lesson_values.true_deg(from_magnetic)),
        "wind_kt": r.choice([28, 30, 32]),
        "variation_deg": 13,
    }


_OUTBOUND = Number(
    key="sp-outbound",
    lesson=KEY,
    title="Heading outbound in wind",
    points=2.0,
    prompt="Which heading do you turn to at the station, so that the wind does not carry you off the outbound course? "
    "Degrees magnetic, whole; one either way is accepted.",
    shown="outbound course {course_deg:03d}° magnetic; true airspeed {tas_kt} kt; wind from {wind_true_deg:03d}° "
    "**true**, {wind_kt} kt; variation {variation_deg}° west",
    draw=_draw_outbound,
    answer=lesson_values.heading_deg,
    unit="degrees magnetic",
    tolerance=1.5,
    circle=True,
    slips=(
        Slip(
            "NOWIND",
            lambda g: float(g["course_deg"]),
            "Heading equals course only without wind. On this one you drift off steadily; in which direction?",
        ),
        Slip(
            "WCASIGN",
            lambda g: lesson_values.mirrored_deg(g["course_deg"], lesson_values.heading_deg(g)),
            "Right size, wrong side: this doubles the drift. The nose goes towards where the wind comes **from**.",
        ),
        Slip(
            "TRUEWIND",
            lambda g: lesson_values.heading_deg(g, from_deg=g["wind_true_deg"]),
            "The wind was taken as it stands, in true; course and heading are magnetic. West variation is added to true "
            "before the two are compared.",
        ),
        Slip(
            "VARSGN",
            lambda g: lesson_values.true_deg(lesson_values.heading_deg(g)),
            "That is the true heading; the compass shows magnetic.",
        ),
        Slip(
            "VARADD",
            lambda g: lesson_values.magnetic_deg(lesson_values.heading_deg(g)),
            "Variation was added to the result. It belongs to the wind: the course was magnetic from the start.",
        ),
    ),
    hints=(
        "Draw the course as an arrow and the wind across it. From which side does it blow?",
        "First the wind in magnetic: true plus west variation. Then the crosswind, then 60 x crosswind / true airspeed.",
        "Wind from {wind_true_deg:03d} + {variation_deg} = ... magnetic; the angle between it and {course_deg:03d} is ...",
    ),
    model="{answer}: wind in magnetic first, then the correction into it.",
    why="Have this heading ready **before** the station: there is no time to work it out overhead.",
)

_ONE_DOT = Choice(
    key="sp-one-dot",
    lesson=KEY,
    title="One dot off, a mile and a half out",
    prompt="Outbound, 1.5 NM from the station, established on your heading; the needle has come to rest one dot right. "
    "What now?",
    options={
        "A": "nothing: no corrections near a station",
        "B": "10 degrees right, and watch it come back",
        "C": "30 degrees right",
        "D": "10 degrees left",
    },
    correct="B",
    slips=(
        Slip(
            "FREEZE",
            lambda g: "A",
            "Hands still belongs inside about a mile. Here one dot is some 320 ft and it will be 2,000 ft at ten miles.",
        ),
        Slip(
            "OVER",
            lambda g: "C",
            "One dot here is some 320 ft: at 90 kt a 30 degree cut crosses that in four seconds and goes through.",
        ),
        Slip(
            "LR",
            lambda g: "D",
            "Away from the needle. With the course you fly selected, the line is on the needle's side.",
        ),
    ),
    hints=(
        "How far from the line is one dot at 1.5 NM, in feet?",
        "A dot is about 212 ft for every mile; small angles inside two miles, at most 10 degrees.",
        "1.5 x 212 = ... ft to the right.",
    ),
    model="{answer}. Some 320 ft to the right: a small cut is enough.",
    why="Outside a mile correct again, but gently: at most 10 degrees. (P-340 p. 131; common practice.)",
)

_EXIT = Choice(
    key="sp-exit",
    lesson=KEY,
    title="Exit: the first flicker",
    prompt="The flag flickers for the first time. What do you do, and what are you waiting for?",
    options={
        "A": "start the clock and turn outbound",
        "B": "hold the heading; wait for FROM that stays",
        "C": "set the outbound course; wait for the needle to centre",
        "D": "turn towards the needle; wait for the DME to stop falling",
    },
    correct="B",
    slips=(
        Slip(
            "FLICKER",
            lambda g: "A",
            "Clock and turn start at the station, and a flicker is only the edge of the cone.",
        ),
        Slip(
            "EARLYSET",
            lambda g: "C",
            "With the next course set now, flag and needle speak of another line and you cannot see the passage.",
        ),
        Slip("CHASE", lambda g: "D", "Inside a mile there is nothing to turn towards; hands still."),
    ),
    hints=(
        "What is a flicker worth?",
        "Passage is the first steady FROM; until then the heading stays.",
        "Hands ...",
    ),
    model="{answer}.",
    why="First flicker: hands still. Steady FROM: time, turn, set, wait, correct.",
)

# ---------------------------------------------------------------- the plan, flown


def _draw_plan(r: random.Random) -> dict[str, Any]:
    inbound = r.randrange(40, 340, 10)
    outbound = lesson_values.whole(inbound + r.choice([-1, 1]) * r.choice([40, 50]))
    from_true = round(lesson_values.true_deg(outbound + r.choice([-1, 1]) * r.choice([60, 70, 80]))) // 10 * 10
    return {
        "inbound_deg": inbound,
        "course_deg": outbound,
        "tas_kt": 108,
        "wind_true_deg": from_true or 360,
        "wind_kt": r.choice([15, 18, 20]),
        "variation_deg": 13,
        "altitude_ft": 3600,
    }


_PASSAGE = (
    "start 4 NM out, on the inbound course {inbound_deg:03d}°; outbound course {course_deg:03d}°; altitude "
    "{altitude_ft:,} ft over Overfall (480 ft); true airspeed {tas_kt} kt; wind from {wind_true_deg:03d}° **true**, "
    "{wind_kt} kt; variation {variation_deg}° west"
)


def _inbound_heading_deg(g: Givens) -> float:
    return lesson_values.heading_deg(g, g["inbound_deg"])


def _plan_rows(g: Givens, filled: Mapping[str, Any]) -> list[dict[str, Any]]:
    set_course = {"course_1_deg": filled["course 1 outbound"]}
    rows: list[dict[str, Any]] = [
        {
            "then": {
                "identify": True,
                "course_1_deg": filled["course 1 inbound"],
                "heading_deg": filled["heading inbound"],
                "ias_kt": 104,
            },
            "note": "inbound",
        },
        {
            "when": {"flag_1": filled["turn when the flag shows"]},
            "then": {"clock": "start", "heading_deg": filled["heading outbound"], **set_course},
            "note": "station",
        },
        {
            "when": {"dme_rises_to_nm": filled["correct from DME"]},
            "then": {"follow": "needle 1"},
            "note": "correct",
        },
        {"when": {"dme_rises_to_nm": 7.0}, "then": {"end": True}, "note": "end"},
    ]
    return rows


def _plan_right(g: Givens) -> dict[str, Any]:
    return {
        "course 1 inbound": float(g["inbound_deg"]),
        "heading inbound": float(round(_inbound_heading_deg(g))),
        "turn when the flag shows": "FROM",
        "heading outbound": float(round(lesson_values.heading_deg(g))),
        "course 1 outbound": float(g["course_deg"]),
        "correct from DME": 1.5,
    }


_PLAN = FilledPlan(
    key="sp-plan",
    lesson=KEY,
    title="Fill the plan; the model flies it",
    points=4.0,
    prompt="Fill the kneepad for this passage. The model flies it row by row: inbound on your heading with course 1 set; "
    "at the flag you name it starts the clock, turns and sets the outbound course; from the DME reading you name it "
    "follows needle 1. Courses and headings in degrees magnetic. When it is handed in it is flown in two other winds, "
    "ten degrees and three knots either side of the one briefed.",
    shown=_PASSAGE,
    draw=_draw_plan,
    blanks={
        "course 1 inbound": Blank(tolerance=1.0),
        "heading inbound": Blank(tolerance=3.0),
        "turn when the flag shows": Blank(words=("TO", "FROM")),
        "heading outbound": Blank(tolerance=3.0),
        "course 1 outbound": Blank(tolerance=1.0),
        "correct from DME": Blank(example="2", tolerance=0.4),
    },
    begin=lambda g: {
        "radial_deg": float(angles.reciprocal(g["inbound_deg"])),
        "dme_nm": 4.0,
        "altitude_ft": g["altitude_ft"],
        "heading_deg": float(round(_inbound_heading_deg(g))) or 360.0,
        "ias_kt": 104,
    },
    rows=_plan_rows,
    days=lesson_values.plan_days,
    goals=(
        over_the_station(),
        hands_still(),
        turned_after_passage(),
        heading_after_passage(lesson_values.heading_deg),
        waited_a_mile(),
        written_between(
            "correct from DME",
            1.0,
            2.5,
            "The needle is followed from too near: overhead the DME reads about 0.5, and a mile from there more than 1.",
            "The needle is followed from too far out: until then the wind has its way.",
        ),
        outbound_in_time("course_deg"),
        on_the_line("course_deg", 3.5, 6.5),
    ),
    reference=_plan_right,
    drawn=lambda g: {
        "reach_nm": 7.5,
        "course_deg": float(g["course_deg"]),
        "radials": [float(angles.reciprocal(g["inbound_deg"]))],
    },
    slips=(
        Slip(
            "RADIAL",
            lambda g: {**_plan_right(g), "course 1 inbound": float(angles.reciprocal(g["inbound_deg"]))},
            "Course 1 inbound is the radial you are on, not the course you fly in: the flag shows FROM from the start.",
        ),
        Slip(
            "RECIP",
            lambda g: {**_plan_right(g), "course 1 outbound": float(angles.reciprocal(g["course_deg"]))},
            "Course 1 outbound is the other end of the line: the needle reads reversed and following it leads away.",
        ),
        Slip(
            "TOFROM",
            lambda g: {**_plan_right(g), "turn when the flag shows": "TO"},
            "The flag shows TO all the way in: waiting for TO turns you at once, long before the station.",
        ),
        Slip(
            "NOWIND",
            lambda g: {
                **_plan_right(g),
                "heading inbound": float(g["inbound_deg"]),
                "heading outbound": float(g["course_deg"]),
            },
            "A heading equals its course: in this wind that is a steady drift off the line, saved only by the needle later.",
        ),
        Slip(
            "WCASIGN",
            lambda g: {
                **_plan_right(g),
                "heading inbound": lesson_values.mirrored_deg(g["inbound_deg"], round(_inbound_heading_deg(g))),
                "heading outbound": lesson_values.mirrored_deg(g["course_deg"], round(lesson_values.heading_deg(g))),
            },
            "The correction points downwind and doubles the drift. The nose goes to where the wind comes from.",
        ),
    ),
    hints=(
        "Two courses are given; two headings need the wind; one flag and one distance come from the lesson.",
        "Heading = course + correction into the wind (wind in magnetic). Passage is the first steady FROM. Wait about "
        "a mile before correcting.",
        "Course 1 inbound is {inbound_deg:03d}. Wind magnetic: {wind_true_deg:03d} + {variation_deg} = ...",
    ),
    model="{answer}.",
    why="A plan that waits for the flag and then for a mile works in any wind near the one you briefed.",
)

# ---------------------------------------------------------------- by hand

_HAND = FlownByHand(
    key="sp-hand",
    lesson=KEY,
    title="Pass the station by hand",
    points=4.0,
    prompt="Overhead and out again, in the wind you are told. Work out both headings and set selector 1 before you fly: it "
    "still shows another line, and the nose is on the inbound course, without any correction. In to the station, hands still "
    "inside a mile; then time, turn, set, wait, correct. The flight ends by itself when the DME, rising, shows 7.",
    shown=_PASSAGE,
    draw=_draw_plan,
    goal="In on course {inbound_deg:03d}, over the station, out on course {course_deg:03d}. Wind from "
    "{wind_true_deg:03d}° true, {wind_kt} kt. Ends outbound at DME 7.",
    begin=lambda g: {
        "radial_deg": float(angles.reciprocal(g["inbound_deg"])),
        "dme_nm": 4.0,
        "altitude_ft": g["altitude_ft"],
        "heading_deg": float(g["inbound_deg"]),
        "ias_kt": 104,
    },
    day=lambda g: lesson_values.plan_days(g, hidden=False)[0],
    radials=lambda g: (float(angles.reciprocal(g["inbound_deg"])), float(g["course_deg"])),
    courses=lambda g: (float(angles.wrap360(g["inbound_deg"] + 90.0)) or 360.0, 360.0),
    goals=(
        over_the_station(),
        hands_still(),
        turned_after_passage(),
        outbound_in_time("course_deg"),
        on_the_line("course_deg", 3.5, 6.5),
    ),
    rows=lambda g: _plan_rows(g, _plan_right(g)),
    ends_at_dme_nm=7.0,
    hints=(
        "Two courses are given, two headings need the wind; all four belong on paper before Space is pressed.",
        "In: course and correction into the wind, needle centred, then hands still from one mile. At the first FROM that "
        "stays turn, then set, and leave the needle alone for a mile.",
        "Selector 1 to {inbound_deg:03d}. Wind magnetic: {wind_true_deg:03d} + {variation_deg} = ...",
    ),
    model="Selector 1 to {inbound_deg:03d} and the nose into the wind at once; hands still from one mile; at the first FROM "
    "that stays turn to the heading outbound, then selector 1 to {course_deg:03d}, wait a mile, correct.",
    why="What was worked out beforehand left the hands nothing to do over the station.",
)

# ---------------------------------------------------------------- the task


def _draw_task(r: random.Random) -> dict[str, Any]:
    return {
        **_draw_outbound(r),
        "altitude_ft": r.randrange(3900, 5200, 100),
        "elevation_ft": 1150,
        "half_angle_deg": 45,
        "gs_in_kt": r.choice([85, 95, 105, 115]),
    }


_TASK = Table(
    key="sp-task",
    lesson=KEY,
    title="The task: brief a station passage",
    points=6.0,
    task=True,
    prompt="Work out what you will see and do at the station, before you get there. Seconds, headings and courses "
    "whole (courses and headings magnetic), DME in NM to one decimal. Accepted: 2 seconds, 0.1 NM and one degree either way.",
    shown="altitude {altitude_ft:,} ft; the station stands at {elevation_ft:,} ft; half angle {half_angle_deg}°; ground "
    "speed inbound {gs_in_kt} kt; outbound course {course_deg:03d}° magnetic at {tas_kt} kt true airspeed; wind from "
    "{wind_true_deg:03d}° **true**, {wind_kt} kt; variation {variation_deg}° west",
    draw=_draw_task,
    cells=lambda g: {
        "seconds without a needle": Number(
            key="sp-task-seconds",
            lesson=KEY,
            title="seconds",
            prompt="",
            answer=lambda g: _cone_s(g, g["altitude_ft"] - g["elevation_ft"], g["gs_in_kt"]),
            unit="seconds",
            tolerance=2.0,
            close=4.0,
            slips=(
                Slip(
                    "MSLH",
                    lambda g: _cone_s(g, g["altitude_ft"], g["gs_in_kt"]),
                    "Altitude used for the height above the station.",
                ),
                Slip(
                    "DIAM",
                    lambda g: _cone_s(g, g["altitude_ft"] - g["elevation_ft"], g["gs_in_kt"]) / 2,
                    "Only the way to the middle.",
                ),
            ),
            look="Height above the station, width of the cone, time across.",
        ),
        "lowest DME": Number(
            key="sp-task-dme",
            lesson=KEY,
            title="lowest DME",
            prompt="",
            answer=lambda g: float(dme.slant_nm(ground_nm=0.0, height_ft=g["altitude_ft"] - g["elevation_ft"])),
            unit="NM",
            decimals=1,
            tolerance=0.08,  # rounding to 0.1 is up to 0.05, and so is reading 6,000 ft for a mile
            slips=(
                Slip(
                    "MSLH",
                    lambda g: float(dme.slant_nm(ground_nm=0.0, height_ft=g["altitude_ft"])),
                    "Altitude used for the height above the station.",
                ),
                Slip("ZERO", lambda g: 0.0, "The DME measures the slant, and you are above the station."),
            ),
            look="Height above the station in miles.",
        ),
        "heading outbound": Number(
            key="sp-task-heading",
            lesson=KEY,
            title="heading outbound",
            prompt="",
            answer=lesson_values.heading_deg,
            unit="degrees magnetic",
            tolerance=1.5,
            circle=True,
            slips=_OUTBOUND.slips,
            look="Wind in magnetic, then the correction into it.",
        ),
        "course to set outbound": Number(
            key="sp-task-course",
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
                    lambda g: float(angles.reciprocal(g["course_deg"])),
                    "Set the course you fly, not the other end of its line: else the needle reads reversed.",
                ),
                Slip(
                    "HEADING",
                    lambda g: float(round(lesson_values.heading_deg(g))),
                    "That is the heading. The selector takes the line, not the nose.",
                ),
            ),
            look="The course you mean to fly.",
        ),
    },
    hints=("", "", ""),
    model="{answer}. Height above the station first: the DME overhead is this height in miles, the cone at 45 degrees twice as wide, "
    "and width over ground speed inbound the seconds. Then the wind in magnetic, {wind_true_deg:03d} + {variation_deg}, its part "
    "across the course, 60 x that / true airspeed into the wind.",
    why="All four numbers belong on the kneepad before the station; overhead there is only time to do them.",
)

BANK: tuple[Question, ...] = (
    _FLAG,
    _COURSE_IN,
    _PREDICT,
    _NEEDLE_ANGLE,
    _FLAGS,
    _WHY_HEIGHT,
    _CONE_FADED,
    _CONE,
    _DME,
    _WHAT_IF,
    _RULE,
    _MOMENT,
    _ORDER,
    _OUTBOUND,
    _ONE_DOT,
    _PLAN,
    _HAND,
    _TASK,
    _EXIT,
)

LESSON = Lesson(
    key=KEY,
    title="Station passage",
    minutes=90,
    can=(
        "say beforehand how many seconds the needle will be useless",
        "pass a station with at most ten degrees of heading change",
        "recognise the passage and be outbound within thirty seconds",
    ),
    bank=BANK,
)
