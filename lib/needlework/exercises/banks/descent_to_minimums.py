"""Questions of the lesson on descent planning to minimums."""

from __future__ import annotations

import functools
import random
from collections.abc import Mapping
from typing import Any

import numpy as np

from needlework.basis.quantity import Floats
from needlework.exercises import lesson_values
from needlework.exercises.descent_goals import (
    DescentByHand,
    PlannedDescent,
    at_minimums,
    climb_at_the_point,
    floors_kept,
    near_the_line,
    no_dive,
    written_floor,
)
from needlework.exercises.flown import Blank, on_the_line
from needlework.exercises.kinds import Choice, Givens, Number, Order, Slip, Table
from needlework.exercises.lesson import Lesson
from needlework.trade import descent, wind
from needlework.trade.altimetry import cold_correction_ft
from needlework.world import weather

KEY = "descent-to-minimums"
_OPTIMUM = float(descent.OPTIMUM_FT_NM)
_LIMIT_FPM = float(descent.LOW_LIMIT_FPM)
_TAS_KT = 86  # the Finch at 84 kt indicated, at the heights of the final


def _dist(name: str, of: str = "saltmarsh") -> float:
    return float(lesson_values.plate(of).fix(name).dist_nm)


def _seconds(dist_nm: float, gs_kt: float) -> float:
    return float(descent.time_s(dist_nm=dist_nm, gs_kt=gs_kt))


def _read_as_clock(seconds: float) -> float:
    """Take minutes and hundredths for minutes and seconds: 2.58 min as 2:58."""
    minutes = seconds / 60.0
    return int(minutes) * 60 + round(minutes % 1 * 100)


_cell = functools.partial(lesson_values.cell, KEY)


def _pick(key: str, right: str, other: str, slip: Slip) -> Choice:
    return Choice(
        key=key, lesson=KEY, title=key, prompt="", options={right: "", other: ""}, correct=right, slips=(slip,)
    )


# ---------------------------------------------------------------- recall

_RECALL_FLOOR = Choice(
    key="dm-recall-floor",
    lesson=KEY,
    title="Recall: the floor of the sector you are in",
    prompt="Saltmarsh, on the 10 NM arc, clockwise. Until radial 350 the floor is 3,400 ft, from there to the final "
    "course 3,000 ft. You cross radial 344 at 3,280 ft, descending. What is this?",
    options={
        "A": "right: the next floor is 3,000 and you are above it",
        "B": "120 ft below the floor of this sector: stop the descent and climb back",
        "C": "right, as long as 3,000 is not passed before the final course",
    },
    correct="B",
    slips=(
        Slip(
            "NEXTFLOOR",
            lambda g: "A",
            "That floor begins at radial 350. Here somebody found ground or masts that need 3,400. Which radials come "
            "first, clockwise?",
        ),
        Slip(
            "TARGET",
            lambda g: "C",
            "A floor holds on its whole leg, not only at its end. On this radial, which one is it?",
        ),
    ),
    hints=(
        "Is radial 344 before or after radial 350, flying clockwise?",
        "A floor holds until its end is crossed; only then does the next one begin.",
        "344 comes before 350, so the floor here is ...",
    ),
    model="{answer}. Radial 344 comes before 350: 3,400 ft hold.",
    why="Cross first, then go down. The whole descent to minimums is this sentence again.",
)


def _draw_wind(r: random.Random) -> dict[str, Any]:
    course = 214
    # Near enough to the course that the wind's part along it is nearly all that counts.
    side = r.choice([-1, 1]) * r.choice([20, 25, 30])
    from_true = lesson_values.true_deg(course + side + r.choice([0, 0, 180]))
    return {
        "course_deg": course,
        "tas_kt": r.choice([86, 90, 94, 98]),
        "wind_true_deg": lesson_values.whole(from_true, 10),
        "wind_kt": r.randrange(18, 29),
        "variation_deg": 13,
    }


def _gs_kt(g: Givens, turned_deg: float = 0.0) -> float:
    wind_from = lesson_values.wind_from_deg(g) + turned_deg
    return float(
        wind.ground_speed_kt(
            course_deg=g["course_deg"], tas_kt=g["tas_kt"], wind_from_deg=wind_from, wind_kt=g["wind_kt"]
        )
    )


_RECALL_GS = Number(
    key="dm-recall-gs",
    lesson=KEY,
    title="Recall: ground speed on the final",
    prompt="What is the ground speed on this course? The course is magnetic, the wind true: magnetic is true plus west "
    "variation. Knots, whole; within 2 passes.",
    shown="course {course_deg:03d}° magnetic; true airspeed {tas_kt} kt; wind from {wind_true_deg:03d}° **true**, "
    "{wind_kt} kt; variation {variation_deg}° west",
    draw=_draw_wind,
    answer=_gs_kt,
    unit="kt",
    tolerance=2.0,
    slips=(
        Slip(
            "IASGS",
            lambda g: float(g["tas_kt"]),
            "That is the airspeed. Every rate and every time of the descent comes from the speed over the ground.",
        ),
        Slip(
            "HDTL",
            lambda g: _gs_kt(g, 180.0),
            "The wind along the course was taken the wrong way round: rate and time would be off on the same side. "
            "Is its head or its tail towards you?",
        ),
    ),
    hints=(
        "Sketch the course and the wind. How much of it blows along the course?",
        "Ground speed is about true airspeed less wind x cos(angle between wind and course), both in magnetic.",
        "Wind magnetic: {wind_true_deg:03d} + {variation_deg} = ...; the angle to {course_deg:03d} is ...",
    ),
    model="{answer}: the part of the wind along the course, taken off or added.",
    why="Ground speed first, then the rate: nothing in this lesson works without it.",
)

# ---------------------------------------------------------------- gradient and rate

_PREDICT = Choice(
    key="dm-predict",
    lesson=KEY,
    title="Predict: the same rate, another wind",
    prompt="You planned 450 fpm for 90 kt over the ground. Today 20 kt blow from behind, so the ground passes at 110. "
    "You hold 450 fpm from the final fix for 3 NM, to the step-down fix. Where are you there?",
    options={
        "A": "on the line: 450 fpm is 450 fpm",
        "B": "some 160 ft low: the tailwind carries you down faster",
        "C": "some 160 ft high: less time to lose the height",
        "D": "that depends on the heading",
    },
    correct="C",
    slips=(
        Slip(
            "RATE",
            lambda g: "A",
            "A rate is feet a minute; the line is feet a mile. With more miles in each minute, what becomes of the feet "
            "for each mile?",
        ),
        Slip(
            "SIGN",
            lambda g: "B",
            "The wind moves you along, not down. In the air you would shallow the descent and be higher still. How long "
            "do the 3 miles last now?",
        ),
        Slip("HEADING", lambda g: "D", "Neither rate nor miles know the heading. How long do the 3 miles last?"),
    ),
    hints=(
        "How long do 3 NM take at 90 and at 110 kt?",
        "Height lost = rate x time.",
        "At 90 kt 2 min x 450; at 110 kt 1.64 min x 450.",
    ),
    model="{answer}. 22 seconds less at 450 fpm are 164 ft not lost.",
    why="Tailwind: high. Headwind: low. The line is feet per mile; the rate has to follow the ground speed.",
    figure="show_descent",
    figure_values=lambda g: {
        "fixes": [("final fix", 5.2, 0.0), ("step-down", 2.2, 3.0), ("MAP", 0.5, 4.7)],
        "floors": [(5.2, 2.2, 800.0), (2.2, 0.0, 560.0)],
        "path": [(5.2, 1760.0), (2.2, 860.0)],
        "mda_ft": 560.0,
        "threshold_ft": 62.0,
        "title": "The line that 450 fpm makes at 90 kt: 300 feet a mile",
    },
)


def _draw_gradient(r: random.Random) -> dict[str, Any]:
    through = r.random() < 0.6
    first, second = (r.choice([4.0, 5.0, 6.0]), r.choice([2.0, 3.0])) if through else (1.5, r.choice([4.5, 5.0, 5.5]))
    dist = first + second if through else second - first
    low = r.randrange(600, 1100, 20)
    high = low + round(dist * r.choice([250, 290, 330]) / 20) * 20
    way = (
        f"inbound at D{first:g}, over the station, then D{second:g} outbound"
        if through
        else f"outbound at D{first:g}, then D{second:g}, still outbound"
    )
    return {
        "way": way,
        "through": through,
        "first_nm": first,
        "second_nm": second,
        "dist_nm": dist,
        "high_ft": high,
        "low_ft": low,
        "tas_kt": r.choice([86, 90, 98]),
        "along_kt": r.choice([12, 16, 20]),
    }


def _slope(g: Givens) -> float:
    return float(descent.gradient_ft_nm(lose_ft=g["high_ft"] - g["low_ft"], dist_nm=g["dist_nm"]))


def _quick_rule(g: Givens) -> tuple[Slip, ...]:
    """Name the quick rule where it is far enough from the rate to be told from it."""
    gs = g["tas_kt"] - g["along_kt"]
    off = float(descent.vs_fpm(gradient_ft_nm=_slope(g), gs_kt=gs)) - 5.0 * gs
    if abs(off) <= 31.0:
        return ()
    side = "steeper" if off > 0 else "shallower"
    return (
        Slip(
            "RULE5",
            lambda g: 5.0 * (g["tas_kt"] - g["along_kt"]),
            f"That is the quick rule, for about three degrees; here the exact gradient is {side}.",
        ),
    )


_GRADIENT = Table(
    key="dm-gradient",
    lesson=KEY,
    title="From two fixes to a rate",
    points=2.0,
    prompt="Which gradient leads from the one altitude to the other, and which rate of descent makes it today? "
    "Feet per NM within 5, feet per minute within 10.",
    shown="{high_ft:,} ft {way} at {low_ft:,} ft; true airspeed {tas_kt} kt, headwind {along_kt} kt",
    draw=_draw_gradient,
    cells=lambda g: {
        "ft/NM": _cell(
            "dm-gradient-slope",
            _slope,
            "ft/NM",
            5.0,
            Slip(
                "DMESGN",
                lambda g: (
                    (g["high_ft"] - g["low_ft"])
                    / (abs(g["first_nm"] - g["second_nm"]) if g["through"] else g["first_nm"] + g["second_nm"])
                ),
                "The DME was counted the wrong way. It falls to the station and rises after it: over the station the "
                "two readings add, on one side they are subtracted.",
            ),
            Slip(
                "STA",
                lambda g: (g["high_ft"] - g["low_ft"]) / g["second_nm"],
                "You divided by the distance from the station, not between the fixes. How many miles are flown from "
                "one altitude to the other?",
            ),
            Slip(
                "MSLH",
                lambda g: g["high_ft"] / g["dist_nm"],
                "You divided the whole altitude; you do not go down to the sea. How many feet are lost?",
            ),
            close=12.0,
            look="Feet to lose over miles between the two fixes.",
        ),
        "fpm": _cell(
            "dm-gradient-rate",
            lambda g: float(descent.vs_fpm(gradient_ft_nm=_slope(g), gs_kt=g["tas_kt"] - g["along_kt"])),
            "fpm",
            10.0,
            Slip(
                "PERMIN",
                _slope,
                "You gave feet per mile. The instrument reads feet per minute: bring in ground speed.",
            ),
            Slip(
                "INV",
                lambda g: _slope(g) * 60.0 / (g["tas_kt"] - g["along_kt"]),
                "Ground speed upside down: faster over the ground must need a greater rate.",
            ),
            Slip(
                "IASGS",
                lambda g: _slope(g) * g["tas_kt"] / 60.0,
                "You used airspeed. The ground goes by {along_kt} kt slower, so at this rate you are down well short. "
                "Headwind first.",
            ),
            Slip(
                "HDTL",
                lambda g: _slope(g) * (g["tas_kt"] + g["along_kt"]) / 60.0,
                "The wind was added. A headwind takes speed away over the ground.",
            ),
            *_quick_rule(g),
            close=20.0,
            close_says="Was something rounded early, or the quick rule used?",
            look="Feet per mile times miles per minute; miles per minute = ground speed / 60.",
        ),
    },
    hints=(
        "Count the miles flown between the two fixes; mind which way the DME runs.",
        "ft/NM = feet to lose / miles. fpm = ft/NM x ground speed / 60.",
        "Feet to lose: {high_ft:,} - {low_ft:,}. Miles: {dist_nm:g}. Ground speed: {tas_kt} - {along_kt}.",
    ),
    model="{answer}.",
    why="Feet to lose over miles to go, then miles per minute. 318 ft/NM is three degrees.",
)

# ---------------------------------------------------------------- the table

_WHY = Choice(
    key="dm-why-fixes",
    lesson=KEY,
    title="Why only at the fixes?",
    prompt="In the worked example the line was compared with the floors at the fixes only, at the **end** of each "
    "leg. Why is that enough?",
    options={
        "A": "because between fixes no floor applies",
        "B": "because a line that only goes down is lowest on each leg where the leg ends, at the fix",
        "C": "because floors are targets, to be met at the fix",
        "D": "because the DME is only read at fixes",
    },
    correct="B",
    slips=(
        Slip("BETWEEN", lambda g: "A", "A floor holds all the way to its fix. Where on a leg is a descent lowest?"),
        Slip(
            "TARGET",
            lambda g: "C",
            "A floor is a floor: 200 ft above it is fine, 10 ft below it is not. Where on a leg is a descent lowest?",
        ),
        Slip("DME", lambda g: "D", "The DME reads all the time. Where on a leg is a descent lowest?"),
    ),
    hints=(
        "Sketch a falling line over a flat floor. Where do they come nearest?",
        "The floor of a leg is flat; the line falls. The smallest gap is at the end.",
        "At the fix: line minus floor = ...",
    ),
    model="{answer}. Clear of the floor at its fix means clear of it all the way there.",
    why="One comparison a fix is enough, and a minute's work on the ground.",
)


def _draw_start(r: random.Random) -> dict[str, Any]:
    out = r.random() < 0.5
    target = r.choice([8.0, 9.0, 10.0]) if out else r.choice([3.0, 4.0, 5.0])
    low = r.randrange(1600, 2500, 100)
    return {
        "way": "away from" if out else "towards",
        "sign": -1 if out else 1,
        "target_nm": target,
        "low_ft": low,
        "high_ft": low + r.choice([900, 1100, 1300, 1500]),
    }


def _start_dme(g: Givens) -> float:
    before = descent.start_nm(lose_ft=g["high_ft"] - g["low_ft"], gradient_ft_nm=_OPTIMUM)
    return float(
        descent.dme_at_nm(to_go_nm=before, target_nm=g["target_nm"], direction="out" if g["sign"] < 0 else "in")
    )


_START = Number(
    key="dm-start",
    lesson=KEY,
    title="Where to start down: last step",
    prompt="At 318 feet per mile, at which DME do you start down to be at the lower altitude at the target? NM, one "
    "decimal; within 0.2 passes.",
    shown="flying {way} the station; level at {high_ft:,} ft; target {low_ft:,} ft at D{target_nm:g}",
    draw=_draw_start,
    answer=_start_dme,
    unit="NM",
    decimals=1,
    tolerance=0.2,
    close=0.3,
    close_says="Was something rounded, or 300 feet a mile used? Who starts late arrives high.",
    slips=(
        Slip(
            "DMESGN",
            lambda g: g["target_nm"] - g["sign"] * (g["high_ft"] - g["low_ft"]) / _OPTIMUM,
            "The miles were counted the wrong way: you would start down after the target. Does the DME rise or fall "
            "on this leg?",
        ),
        Slip(
            "MSLH",
            lambda g: g["target_nm"] + g["sign"] * g["high_ft"] / _OPTIMUM,
            "You counted all the way down to the sea and would start miles early, below what may be a floor. How many "
            "feet are really lost?",
        ),
        Slip(
            "NODME",
            lambda g: (g["high_ft"] - g["low_ft"]) / _OPTIMUM,
            "Those are the miles before the target. What does the DME read there?",
        ),
    ),
    hints=(
        "How many miles does the descent take, and on which side of the target do they lie?",
        "Miles = feet to lose / 318. Start DME = target plus miles when flying in, minus miles when flying out.",
        "({high_ft:,} - {low_ft:,}) / 318 = ... NM before D{target_nm:g}, flying {way} the station.",
    ),
    model="({high_ft:,} - {low_ft:,}) / 318 before D{target_nm:g}: {answer}.",
    why="Feet to lose over feet a mile are the miles; the DME says where they begin. The plate's descent point, if there is one, "
    "comes first.",
)


def _draw_table(r: random.Random) -> dict[str, Any]:
    along = r.choice([-14, -12, -10, 10, 12, 14, 16, 18])
    return {
        "cross_ft": r.choice([1860, 1900, 1940, 1980]),
        "tas_kt": r.choice([84, 86, 88, 90]),
        "along_kt": abs(along),
        "along": "headwind" if along > 0 else "tailwind",
        "sign": 1 if along > 0 else -1,
    }


def _final_gs(g: Givens) -> float:
    return float(g["tas_kt"] - g["sign"] * g["along_kt"])


def _final_slope(g: Givens) -> float:
    plate = lesson_values.plate()
    return float(
        descent.gradient_ft_nm(lose_ft=g["cross_ft"] - plate.crossing_ft, dist_nm=plate.fix_to_go_nm(plate.final_fix))
    )


def _final_alt(g: Givens, dme_nm: float) -> float:
    plate = lesson_values.plate()
    to_go = plate.to_go_nm(dme_nm, inbound=False)
    return float(descent.line_ft(to_go_nm=to_go, end_ft=plate.crossing_ft, gradient_ft_nm=_final_slope(g)))


def _altitude_cell(dme_nm: float) -> Number:
    plate = lesson_values.plate()
    return _cell(
        f"dm-table-alt-{dme_nm:g}",
        lambda g: _final_alt(g, dme_nm),
        "ft",
        10.0,
        Slip(
            "DMESGN",
            lambda g: plate.crossing_ft + dme_nm * _final_slope(g),
            "You took the reading for miles to go: this is the altitude of another place. After Overfall the DME says "
            "how many miles lie **behind** you.",
        ),
        Slip(
            "PLATE",
            lambda g: float(plate.line_ft(plate.to_go_nm(dme_nm, inbound=False))),
            "That is the line from 1,760 ft, of the worked example. Today you cross Overfall higher.",
        ),
        close=20.0,
        close_says="Was something rounded early, or the 50 ft over the threshold left out?",
        look="Crossing altitude less miles flown times feet per mile.",
    )


_TABLE = Table(
    key="dm-table",
    lesson=KEY,
    title="The table for today",
    points=3.5,
    prompt="Fill the descent table for the Saltmarsh final: one line from where you cross Overfall, higher than you must, to 50 ft over "
    "the threshold. Ground speed within 1 kt, gradient within 5 ft/NM, rate within 10 fpm, altitudes within 10 ft, time from "
    "Overfall to the missed approach point (D4.7) in **seconds** within 2 (3:21 is 201).",
    shown="true airspeed {tas_kt} kt; {along} along the final {along_kt} kt; crossing Overfall at {cross_ft:,} ft; threshold "
    "62 ft at D5.2, crossing height 50 ft",
    draw=_draw_table,
    cells=lambda g: {
        "ground speed": _cell(
            "dm-table-gs",
            _final_gs,
            "kt",
            1.0,
            Slip("IASGS", lambda g: float(g["tas_kt"]), "That is the airspeed. Where did the {along} go?"),
            Slip(
                "HDTL",
                lambda g: g["tas_kt"] + g["sign"] * g["along_kt"],
                "Head and tail swapped: rate and time would both be off. A {along}: does it add or take away?",
            ),
            look="True airspeed with the wind along the final.",
        ),
        "ft/NM": _cell(
            "dm-table-slope",
            _final_slope,
            "ft/NM",
            5.0,
            Slip(
                "PLATE",
                lambda g: float(lesson_values.plate().gradient_ft_nm),
                "That gradient is the worked example's, from 1,760 ft, or plain three degrees. Today you cross Overfall higher.",
            ),
            Slip(
                "MDAEND",
                lambda g: (g["cross_ft"] - lesson_values.plate().mda_ft()) / _dist("MAP"),
                "This line ends at the MDA at D4.7: you would reach minimums only at the missed approach point, too high "
                "to land. Where does the line end?",
            ),
            Slip(
                "MSLH",
                lambda g: g["cross_ft"] / lesson_values.plate().fix_to_go_nm("OVK"),
                "This line ends at the sea, well below the runway. How many feet are lost to 50 ft over the threshold?",
            ),
            look="Feet to lose to 50 ft over the threshold, over 5.2 NM.",
        ),
        "fpm": _cell(
            "dm-table-fpm",
            lambda g: float(descent.vs_fpm(gradient_ft_nm=_final_slope(g), gs_kt=_final_gs(g))),
            "fpm",
            10.0,
            Slip("PERMIN", _final_slope, "Feet per mile again; the instrument reads per minute."),
            Slip(
                "IASGS",
                lambda g: _final_slope(g) * g["tas_kt"] / 60.0,
                "Worked out with the airspeed: in a {along} of {along_kt} kt you leave the line at once.",
            ),
            Slip(
                "RULE5",
                lambda g: 5.0 * _final_gs(g),
                "Five times the ground speed is for three degrees, and low even there. This line is steeper: take its "
                "own gradient.",
            ),
            close=20.0,
            look="Feet per mile times ground speed / 60.",
        ),
        "altitude at D1.0": _altitude_cell(1.0),
        "altitude at D2.0": _altitude_cell(2.0),
        "altitude at D3.0": _altitude_cell(3.0),
        "seconds to D4.7": _cell(
            "dm-table-time",
            lambda g: _seconds(_dist("MAP"), _final_gs(g)),
            "seconds",
            2.0,
            Slip(
                "MMSS",
                lambda g: _read_as_clock(_seconds(_dist("MAP"), _final_gs(g))),
                "Hundredths of a minute were read as seconds: the missed approach point would be up to half a minute "
                "off. 0.5 minutes are 30 seconds.",
            ),
            Slip(
                "IASGS",
                lambda g: _seconds(_dist("MAP"), g["tas_kt"]),
                "Timed with the airspeed. The ground passes at another speed.",
            ),
            Slip(
                "THR",
                lambda g: _seconds(5.2, _final_gs(g)),
                "That is the time to the threshold: half a mile past the missed approach point.",
            ),
            look="Miles over ground speed, times 3,600.",
        ),
    },
    hints=(
        "Ground speed first; then the rate; then the altitudes, mile by mile; the clock last.",
        "ft/NM = ({cross_ft:,} - 112) / 5.2; fpm = that x ground speed / 60; seconds = 4.7 / ground speed x 3,600.",
        "Ground speed: {tas_kt} kt with {along_kt} kt of {along}. Feet to lose: {cross_ft:,} - 112 = ...",
    ),
    model="{answer}.",
    why="Two minutes on the ground, and in cloud only one question is left: at this DME, high or low, and by how much?",
)

# ---------------------------------------------------------------- floors, wind with height, late


def _draw_floors(r: random.Random) -> dict[str, Any]:
    start = r.choice([1900, 2000, 2100])
    fixes = (1.5, 3.0, 4.5)
    gaps = [r.choice([-1, 1]) * r.choice([40, 60, 80]) for _ in fixes]
    if len({gap > 0 for gap in gaps}) == 1:
        gaps[1] = -gaps[1]
    floors = [round((start - 300.0 * d - gap) / 10.0) * 10 for d, gap in zip(fixes, gaps, strict=True)]
    return {
        "start_ft": start,
        "fixes": fixes,
        "floors": floors,
        "first_ft": floors[0],
        "second_ft": floors[1],
        "third_ft": floors[2],
    }


def _floor_cell(g: Givens, number: int) -> Choice:
    line = float(descent.line_ft(to_go_nm=-g["fixes"][number], end_ft=g["start_ft"], gradient_ft_nm=300.0))
    kept = line >= g["floors"][number]
    if kept:
        slip = Slip(
            "STRICT",
            lambda g: "BROKEN",
            "The line is above this floor at its fix. Levelling here would only put you behind.",
        )
        return _pick(f"dm-floors-{number}", "KEPT", "BROKEN", slip)
    slip = Slip(
        "NEXTFLOOR",
        lambda g: "KEPT",
        "At this fix the line is below the floor that holds **up to** it. Nobody has checked the ground there; the "
        "line does not make it safe.",
    )
    return _pick(f"dm-floors-{number}", "BROKEN", "KEPT", slip)


_FLOORS = Table(
    key="dm-floors",
    lesson=KEY,
    title="Which floors does the line break?",
    points=1.5,
    prompt="Another final, flown away from the station. You would like to go down at 300 feet per mile from overhead. "
    'For each fix: is the floor that holds up to it "KEPT" or "BROKEN"?',
    shown="{start_ft:,} ft overhead; floors {first_ft:,} ft to D1.5, {second_ft:,} ft to D3.0, {third_ft:,} ft to D4.5",
    draw=_draw_floors,
    cells=lambda g: {f"D{d:.1f}": _floor_cell(g, number) for number, d in enumerate(g["fixes"])},
    hints=(
        "Work out the line at each fix, then compare with the floor of the leg that **ends** there.",
        "Line = {start_ft:,} - 300 x DME.",
        "At D1.5 the line is at {start_ft:,} - 450 = ...; the floor to there is {first_ft:,}.",
    ),
    model="{answer}.",
    why="Where the line breaks a floor, one line will not do: keep the floor to the fix, then go down more steeply, "
    "within the limit.",
    figure="show_descent",
    figure_values=lambda g: {
        "fixes": [("station", 5.2, 0.0), ("step 1", 3.7, 1.5), ("step 2", 2.2, 3.0), ("step 3", 0.7, 4.5)],
        "floors": [(5.2, 3.7, g["floors"][0]), (3.7, 2.2, g["floors"][1]), (2.2, 0.7, g["floors"][2])],
        "path": [(5.2, float(g["start_ft"])), (5.0, float(g["start_ft"]) - 60.0)],
        "title": "The floors, and the first bit of the line",
    },
)


def _draw_shear(r: random.Random) -> dict[str, Any]:
    strong, weak = r.choice([22, 24, 26]), r.choice([4, 6, 8])
    falls = r.random() < 0.6
    return {
        "tas_kt": r.choice([86, 90, 94]),
        "top_kt": strong if falls else weak,
        "low_kt": weak if falls else strong,
    }


def _shear_fpm(g: Givens, wind_kt: float) -> float:
    return float(descent.vs_fpm(gradient_ft_nm=_OPTIMUM, gs_kt=g["tas_kt"] - wind_kt))


def _shear_rate(name: str, here: str, there: str) -> Number:
    return _cell(
        f"dm-shear-{name}",
        lambda g: _shear_fpm(g, g[here]),
        "fpm",
        10.0,
        Slip(
            "OTHEREND",
            lambda g: _shear_fpm(g, g[there]),
            "That is the rate for the wind at the other altitude. Which wind blows here?",
        ),
        Slip("IASGS", lambda g: _shear_fpm(g, 0.0), "Worked out with the airspeed; the headwind is missing."),
        Slip("HDTL", lambda g: _shear_fpm(g, -g[here]), "The headwind was added to the airspeed."),
        close=30.0,
        look="Feet per mile times the ground speed here, over 60.",
    )


_SHEAR = Table(
    key="dm-shear",
    lesson=KEY,
    title="The wind changes on the way down",
    points=1.5,
    prompt="Which rate holds three degrees (318 feet per mile) at each altitude (within 10 fpm)? And if the first rate is kept all the "
    'way down, do you end "HIGH" or "LOW"?',
    shown="true airspeed {tas_kt} kt; headwind {top_kt} kt at 1,760 ft and {low_kt} kt at 600 ft",
    draw=_draw_shear,
    cells=lambda g: {
        "fpm at 1,760 ft": _shear_rate("top", "top_kt", "low_kt"),
        "fpm at 600 ft": _shear_rate("low", "low_kt", "top_kt"),
        "first rate kept": _pick(
            "dm-shear-end",
            "HIGH" if g["top_kt"] > g["low_kt"] else "LOW",
            "LOW" if g["top_kt"] > g["low_kt"] else "HIGH",
            Slip(
                "SIGN",
                lambda g: "LOW" if g["top_kt"] > g["low_kt"] else "HIGH",
                "The wrong way round: you would correct away from the line. This is a slow change, flown at one airspeed; a "
                "sudden loss of headwind is another matter, it costs airspeed and sinks you. Here: does the ground speed grow or "
                "shrink on the way down, and is there more or less time for the height?",
            ),
        ),
    },
    hints=(
        "Ground speed at each altitude first.",
        "fpm = 318 x ground speed / 60. More ground speed than the rate was made for: high.",
        "At 1,760 ft: {tas_kt} - {top_kt} kt = ...",
    ),
    model="{answer}.",
    why="A headwind that eases on the way down leaves you high, one that freshens leaves you low. A tailwind does the reverse. "
    "Check at every mile; change the rate, not the line.",
)


def _draw_late(r: random.Random) -> dict[str, Any]:
    late = r.choice([0.8, 0.9, 1.0, 1.1, 1.9, 2.0, 2.1, 2.2])
    gs = r.choice([84, 90, 95, 100, 105])
    return {"late_nm": late, "gs_kt": gs}


_LOSE_FT, _IN_NM = 1200.0, 3.8


def _late_slope(g: Givens) -> float:
    return float(descent.late_gradient_ft_nm(lose_ft=_LOSE_FT, dist_nm=_IN_NM, late_nm=g["late_nm"]))


def _late_fpm(g: Givens) -> float:
    return float(descent.vs_fpm(gradient_ft_nm=_late_slope(g), gs_kt=g["gs_kt"]))


def _late_sound(g: Givens) -> bool:
    return abs(_late_fpm(g) - _LIMIT_FPM) > 60.0


class _LateTable(Table):
    """A table whose last cell must not hang on a rounding: rates near the limit are not drawn."""

    def sound(self, givens: Givens) -> bool:
        """Keep clear of the limit, and every cell sound."""
        return _late_sound(givens) and super().sound(givens)


_LATE = _LateTable(
    key="dm-late",
    lesson=KEY,
    title="Started late",
    points=1.5,
    prompt="From Overfall at 1,760 ft to 560 ft at D3.8 were planned. You looked away and start down late. Which gradient "
    "(within 5 ft/NM) and rate (within 10 fpm) are needed now? The limit is 1,000 fpm (the 400 ft/NM of published finals are "
    'for those who draw them): do you go down, "YES" or "NO"?',
    shown="start at D{late_nm:g} instead of overhead; ground speed {gs_kt} kt",
    draw=_draw_late,
    cells=lambda g: {
        "ft/NM": _cell(
            "dm-late-slope",
            _late_slope,
            "ft/NM",
            5.0,
            Slip(
                "OLDDIST",
                lambda g: _LOSE_FT / _IN_NM,
                "That is the gradient as planned. {late_nm:g} NM of the way are gone; the height is not.",
            ),
            Slip(
                "SUM",
                lambda g: _LOSE_FT / (_IN_NM + g["late_nm"]),
                "The miles flown level were added. Fewer miles are left, so it must be steeper.",
            ),
            look="Feet to lose over the miles that are left.",
        ),
        "fpm": _cell(
            "dm-late-fpm",
            _late_fpm,
            "fpm",
            10.0,
            Slip(
                "OLDDIST",
                lambda g: _LOSE_FT / _IN_NM * g["gs_kt"] / 60.0,
                "That is the rate as planned: you stay above the line all the way and meet D3.8 high.",
            ),
            Slip("PERMIN", _late_slope, "Feet per mile given for feet per minute."),
            Slip(
                "INV",
                lambda g: _late_slope(g) * 60.0 / g["gs_kt"],
                "Ground speed upside down: faster must need the greater rate.",
            ),
            close=20.0,
            look="New feet per mile times ground speed / 60.",
        ),
        "go down": _pick(
            "dm-late-go",
            "YES" if _late_fpm(g) <= _LIMIT_FPM else "NO",
            "NO" if _late_fpm(g) <= _LIMIT_FPM else "YES",
            Slip(
                "DIVE" if _late_fpm(g) > _LIMIT_FPM else "GIVEUP",
                lambda g: "NO" if _late_fpm(g) <= _LIMIT_FPM else "YES",
                "Over 1,000 fpm below 1,000 ft: that is the dive that ends on the ground. Go around: climb "
                "now, turn at the missed approach point."
                if _late_fpm(g) > _LIMIT_FPM
                else "Steep, but inside the limit of 1,000 fpm: it can still be flown, with every floor kept. What rate "
                "did you find?",
            ),
        ),
    },
    hints=(
        "The height is the same; how many miles are left?",
        "ft/NM = 1,200 / (3.8 - late); fpm = ft/NM x ground speed / 60.",
        "1,200 / (3.8 - {late_nm:g}) = ... ft/NM.",
    ),
    model="{answer}.",
    why="A mile behind already costs a third more rate. Know the DME after which it is a go-around before you start down.",
)

_TO_LOSE_FT, _TO_THRESHOLD_NM = 1648.0, 5.2  # from 1,760 ft over Overfall to 50 ft over the threshold


def _latest(g: Givens) -> float:
    return _IN_NM - float(descent.latest_start_nm(lose_ft=_LOSE_FT, gs_kt=g["gs_kt"]))


_WHAT_IF = Number(
    key="dm-what-if",
    lesson=KEY,
    title="What-if: the latest start",
    prompt="With the sliders: true airspeed {gs_kt} kt, both headwinds 0, the rest as it stood. How many miles late may the "
    "descent from Overfall begin, if you are to be at minimums by the VDP and 1,000 fpm are the limit? NM, one decimal; within "
    "0.1 passes.",
    draw=lambda r: {"gs_kt": r.choice([82, 84, 86, 105, 115, 120])},
    answer=_latest,
    unit="NM",
    decimals=1,
    tolerance=0.11,  # the slider moves in steps of 0.1
    close=0.2,
    slips=(
        Slip(
            "LEFT",
            lambda g: _IN_NM - _latest(g),
            "Those are the miles that must be left. Asked is how many may be flown level before.",
        ),
        Slip(
            "THREND",
            lambda g: _TO_THRESHOLD_NM - float(descent.latest_start_nm(lose_ft=_TO_LOSE_FT, gs_kt=g["gs_kt"])),
            "That is the limit all the way to the threshold: at the VDP you would be hundreds of feet above minimums. Be at "
            "560 ft by D3.8.",
        ),
    ),
    hints=(
        "Set airspeed and winds, then move the late start and watch the rate that it needs.",
        "Needed rate = 1,200 ft / (3.8 - late) x ground speed / 60.",
        "1,000 fpm at {gs_kt} kt are 60,000 / {gs_kt} = ... ft/NM.",
    ),
    model="{answer}: from there 1,000 fpm are just enough to be at 560 ft by D3.8.",
    why="Have that DME in mind before you cross Overfall. Past it nobody asks whether it could still work: it is a go-around.",
)

# ---------------------------------------------------------------- minimums

_SENSE = Choice(
    key="dm-cold-sense",
    lesson=KEY,
    title="Cold air: which way is it wrong?",
    prompt="The field, elevation 66 ft, reports −20 °C. The altimeter, set to the field's own setting, shows exactly 560 ft. Where is "
    "the aircraft?",
    options={
        "A": "at 560 ft: the setting takes care of it",
        "B": "above 560 ft: cold air makes the altimeter read low",
        "C": "below 560 ft: cold air makes the altimeter read high",
        "D": "that depends on the wind",
    },
    correct="C",
    slips=(
        Slip(
            "SETTING",
            lambda g: "A",
            "The setting is right on the ground only. Cold air is dense: the pressure levels above lie closer "
            "together. Which way does that push you?",
        ),
        Slip(
            "COLDSGN",
            lambda g: "B",
            "The other way round, and the dangerous way to be wrong: you would subtract where you must add. From hot to "
            "cold, look out ...",
        ),
        Slip("WIND", lambda g: "D", "Pressure and temperature make the altimeter, not the wind."),
    ),
    hints=(
        "Is a column of cold air taller or shorter than a warm one of the same weight?",
        "Shorter: the level the altimeter calls 560 ft lies nearer the ground.",
        "So the aircraft is ... than it says.",
    ),
    model="{answer}. Some 60 ft lower at 500 ft above the field; the table says what to **add** so that the true height is right: 70.",
    why="Cold: lower than it says. Corrections are always added. They follow your state's publication and the procedure's notes.",
)


def _draw_minimums(r: random.Random) -> dict[str, Any]:
    height = r.choice([500, 600, 700])
    elevation = r.randrange(120, 320, 20)
    mda = height + elevation - 70
    temperature = r.choice([10, 20, 30])
    return {
        "temperature_c": -temperature,
        "reported": f"−{temperature}",
        "height_ft": height,
        "elevation_ft": elevation,
        "mda_ft": mda,
        "note_ft": 70,
        "step_ft": mda + 240,
        "fix_ft": elevation + 1500,
    }


def _cold(g: Givens, height_ft: float) -> float:
    return float(cold_correction_ft(height_ft=height_ft, temperature_c=g["temperature_c"]))


def _with_note(g: Givens) -> float:
    return float(descent.mda_today_ft(mda_ft=g["mda_ft"], elevation_ft=g["elevation_ft"], remote_ft=g["note_ft"]))


def _mda_today(g: Givens) -> float:
    return float(
        descent.mda_today_ft(
            mda_ft=g["mda_ft"],
            elevation_ft=g["elevation_ft"],
            temperature_c=g["temperature_c"],
            remote_ft=g["note_ft"],
        )
    )


def _before_note(g: Givens) -> tuple[Slip, ...]:
    """Name the column of the MDA as published where the table tells it from the right one."""
    height = _with_note(g) - g["elevation_ft"]
    if height <= 500.0 or _cold(g, height) - _cold(g, height - 100.0) <= 10.0:
        return ()
    return (
        Slip(
            "BEFORENOTE",
            lambda g: _cold(g, height - 100.0),
            "A column too low. Did you take the height after the note?",
        ),
    )


def _step_today(g: Givens, height_of_ft: float) -> float:
    return float(
        descent.cold_altitude_ft(
            alt_ft=g["step_ft"],
            temperature_c=g["temperature_c"],
            elevation_ft=g["elevation_ft"],
            reference_ft=height_of_ft,
        )
    )


def _own_correction(g: Givens) -> tuple[Slip, ...]:
    """Name the step-down floor's own correction where it is told from the MDA's and from the note."""
    right, own = _step_today(g, _with_note(g)), _step_today(g, g["step_ft"])
    if min(abs(own - right), abs(own - right - g["note_ft"])) <= 10.0:
        return ()
    return (
        Slip(
            "OWN",
            lambda g: _step_today(g, g["step_ft"]),
            "Safe, and more than is asked: on the final every floor takes the correction of the MDA.",
        ),
    )


_MINIMUMS = Table(
    key="dm-minimums",
    lesson=KEY,
    title="Minimums of the day",
    points=2.5,
    prompt="The altimeter setting comes from another field, which lies just as high, and it is cold. With the small table "
    "above: which altitudes do you write on the kneepad? Feet; exact.",
    shown="{reported} °C at the field (elevation {elevation_ft} ft); published MDA {mda_ft} ft, note: with the other field's "
    "setting the MDA goes up by {note_ft} ft; step-down floor {step_ft:,} ft; final fix {fix_ft:,} ft",
    draw=_draw_minimums,
    cells=lambda g: {
        "MDA with the note": _cell(
            "dm-minimums-note",
            _with_note,
            "ft",
            1.0,
            Slip(
                "SETSGN",
                lambda g: g["mda_ft"] - g["note_ft"],
                "Subtracted: twice the correction too low. A note of this kind only ever adds.",
            ),
            Slip(
                "FORGOT",
                lambda g: float(g["mda_ft"]),
                "As published. But who gave the setting? Read the note again.",
            ),
            look="Published MDA and the note.",
        ),
        "cold correction at the MDA": _cell(
            "dm-minimums-cold",
            lambda g: _cold(g, _with_note(g) - g["elevation_ft"]),
            "ft",
            5.0,
            Slip(
                "MSLH",
                lambda g: _cold(g, _with_note(g)),
                "You took the altitude. The cold column of air stands on the field: use the height above it.",
            ),
            Slip(
                "COLDCEL",
                lambda g: _cold(g, 1500.0),
                "That is the column of the final fix. How high above the field is the MDA with the note?",
            ),
            Slip(
                "SIGN",
                lambda g: -_cold(g, _with_note(g) - g["elevation_ft"]),
                "The sign: a cold correction is added, so write it without a minus.",
            ),
            *_before_note(g),
            look="Height above the field first: did you take it after the note? Then row and column.",
        ),
        "MDA of the day": _cell(
            "dm-minimums-mda",
            _mda_today,
            "ft",
            5.0,
            Slip(
                "COLDSGN",
                lambda g: 2 * _with_note(g) - _mda_today(g),
                "The cold correction was subtracted. It reads high already; this doubles the error.",
            ),
            Slip(
                "ONLYNOTE",
                _with_note,
                "The note is in, the cold is not.",
            ),
            Slip(
                "ONLYCOLD",
                lambda g: _mda_today(g) - g["note_ft"],
                "The cold is in, the note is not. Both add, one after the other.",
            ),
            look="Published, note, cold: in that order, all added.",
        ),
        "step-down floor of the day": _cell(
            "dm-minimums-step",
            lambda g: _step_today(g, _with_note(g)),
            "ft",
            5.0,
            Slip(
                "ONLYMDA",
                lambda g: float(g["step_ft"]),
                "Only the MDA was corrected. The ground under the step-down fix is as near as any.",
            ),
            Slip(
                "NOTEALL",
                lambda g: _step_today(g, _with_note(g)) + g["note_ft"],
                "The note is in here too. It raises the MDA only; cold raises all floors.",
            ),
            *_own_correction(g),
            look="On the final, every floor gets the correction of the MDA.",
        ),
        "final fix of the day": _cell(
            "dm-minimums-fix",
            lambda g: float(
                descent.cold_altitude_ft(
                    alt_ft=g["fix_ft"], temperature_c=g["temperature_c"], elevation_ft=g["elevation_ft"]
                )
            ),
            "ft",
            5.0,
            Slip(
                "ONLYMDA",
                lambda g: float(g["fix_ft"]),
                "As published. Higher up the error is larger, not smaller.",
            ),
            Slip(
                "COLDCEL",
                lambda g: g["fix_ft"] + _cold(g, _with_note(g) - g["elevation_ft"]),
                "That is the MDA's correction. The final fix has its own height above the field, and its own column.",
            ),
            look="Height of the final fix above the field, its own column.",
        ),
    },
    hints=(
        "Three steps in this order: published, note, cold. Heights above the **field** pick the column.",
        "MDA with the note, less field elevation, gives the column; the row is the temperature; add. The step-down floor gets the "
        "same correction; the final fix its own, at 1,500 ft.",
        "{mda_ft} + {note_ft} = ...; less {elevation_ft} = ... ft above the field.",
    ),
    model="{answer}.",
    why="Published, note, cold, in that order, all added. The note raises the MDA only; cold raises all floors. Corrections follow "
    "your state's publication and the procedure's notes.",
)


def _draw_vdp(r: random.Random) -> dict[str, Any]:
    threshold = r.randrange(130, 320, 10)
    out = r.random() < 0.6
    return {
        "threshold_ft": threshold,
        "mda_ft": threshold + r.randrange(430, 660, 10),
        "crossing_ft": 50,
        "threshold_nm": r.choice([4.8, 5.2, 5.6]) if out else r.choice([0.6, 0.8]),
        "sign": -1 if out else 1,
        "way": "before the runway, so the DME rises" if out else "on the field, so the DME falls",
    }


def _vdp_miles(g: Givens, height_ft: float) -> float:
    return height_ft / _OPTIMUM


def _vdp_dme(g: Givens, miles: float) -> float:
    return float(g["threshold_nm"] + g["sign"] * miles)


_VDP = Number(
    key="dm-vdp",
    lesson=KEY,
    title="The visual descent point",
    points=2.0,
    prompt="At which DME does a normal descent of 318 feet per mile from the MDA to the threshold begin? NM, one decimal; "
    "within 0.06 passes.",
    shown="MDA {mda_ft} ft; threshold {threshold_ft} ft at D{threshold_nm:g}; crossing height {crossing_ft} ft; the station "
    "lies {way}",
    draw=_draw_vdp,
    answer=lambda g: _vdp_dme(
        g, float(descent.vdp_nm(hat_ft=g["mda_ft"] - g["threshold_ft"], crossing_ft=g["crossing_ft"]))
    ),
    unit="NM",
    decimals=1,
    tolerance=0.06,  # rounding to 0.1 is up to 0.05
    slips=(
        Slip(
            "MSLH",
            lambda g: _vdp_dme(g, _vdp_miles(g, g["mda_ft"] - g["crossing_ft"])),
            "You took the altitude. The descent ends at the threshold, {threshold_ft} ft up: height above it, please. "
            "This point lies too far out.",
        ),
        Slip(
            "NOTCH",
            lambda g: _vdp_dme(g, _vdp_miles(g, g["mda_ft"] - g["threshold_ft"])),
            "The crossing height is missing: the line passes the threshold 50 ft up. Leaving here you come down a sixth of "
            "a mile early.",
        ),
        Slip(
            "RULE300",
            lambda g: _vdp_dme(g, float(descent.vdp_rule_nm(g["mda_ft"] - g["threshold_ft"]))),
            "Height over 300 is the rule of thumb: a quarter of a mile too far out here. Crossing height and 318, please.",
        ),
        Slip(
            "DMESGN",
            lambda g: _vdp_dme(g, -_vdp_miles(g, g["mda_ft"] - g["threshold_ft"] - g["crossing_ft"])),
            "Counted to the far side of the threshold. Does the DME rise or fall on this final?",
        ),
        Slip(
            "THR",
            lambda g: _vdp_miles(g, g["mda_ft"] - g["threshold_ft"] - g["crossing_ft"]),
            "These are miles from the threshold. What does the DME read there?",
        ),
    ),
    hints=(
        "How many feet lie between the MDA and the line's height over the threshold?",
        "Miles before the threshold = (MDA - threshold - crossing height) / 318. Then count from the threshold's DME.",
        "({mda_ft} - {threshold_ft} - {crossing_ft}) / 318 = ... NM before D{threshold_nm:g}.",
    ),
    model="({mda_ft} - {threshold_ft} - {crossing_ft}) / 318 before D{threshold_nm:g}: {answer}.",
    why="A published VDP comes first. Before it: not below the MDA, even with the runway in sight (AIM 5-4-5).",
)

_LEVEL = Choice(
    key="dm-level-or-line",
    lesson=KEY,
    title="Level at minimums, or one line?",
    prompt="MDA 560, VDP D3.8. Pilot 1 goes down early and flies level at 560 from D2.9. Pilot 2 keeps one line and "
    "decides at 610. Which is a fair comparison?",
    options={
        "A": "1 looks longer, but low and level, with two changes of power; 2 has one attitude and one decision, and an "
        "allowance for the go-around",
        "B": "1 is safer: the longer you are at minimums, the more you see, and the more time is left to decide",
        "C": "2 is always right; levelling off at the MDA is no longer allowed",
        "D": "no difference that counts: both are at or above 560 and both end at the missed approach point",
    },
    correct="A",
    slips=(
        Slip(
            "SEEMORE",
            lambda g: "B",
            "More time low is also more time near the ground, with power and trim changing in cloud; and seen after the "
            "VDP the runway is too steep. What does 2 give up, and gain?",
        ),
        Slip(
            "BANNED",
            lambda g: "C",
            "Level at the MDA is allowed and taught; near a ragged cloud base it can be the better choice. What does "
            "each cost?",
        ),
        Slip(
            "SAME",
            lambda g: "D",
            "They meet the VDP differently: one level, one on the line. What has each to do there?",
        ),
    ),
    hints=(
        "List for each: attitude, power changes, time low, what is seen, what happens at the VDP.",
        "Level: longer look, two changes more. Line: one decision, with an allowance of about 50 ft.",
        "Which of the answers names a price for both?",
    ),
    model="{answer}.",
    why="Both are flown and both are accepted here. AC 120-108 recommends the continuous descent; the allowance (about 50 ft, common "
    "practice) keeps the go-around above the MDA.",
)

_AFTER = Choice(
    key="dm-after-vdp",
    lesson=KEY,
    title="The runway appears after the VDP",
    prompt="Level at 560, ground speed 90 kt. VDP D3.8, missed approach point D4.7, threshold D5.2 (62 ft). "
    "Circling minimum 700. At D4.5 the runway comes in sight, straight ahead. What is the honest answer?",
    options={
        "A": "land: the runway is in sight, straight ahead, before the missed approach point",
        "B": "land: 960 fpm take you there, and the limit is 1,000",
        "C": "circle at 560 with the runway in sight and lose the height on the way round",
        "D": "go around: from here it is twice as steep as the line",
    },
    correct="D",
    slips=(
        Slip(
            "SEEN",
            lambda g: "A",
            "Seeing it is one of three conditions. A normal descent from here is another. How steep is it?",
        ),
        Slip(
            "DIVE",
            lambda g: "B",
            "The limit is not a target: 960 fpm down to 50 ft is no normal descent, and the round-out comes late. That "
            "is how long landings and hard ones are made. How steep is it?",
        ),
        Slip("CIRCLE", lambda g: "C", "Circling has its own minimum, 700 here, and this is 560. What is left?"),
    ),
    hints=(
        "How many feet over how many miles are left to the threshold?",
        "560 - 112 ft over 5.2 - 4.5 NM; compare with 318.",
        "448 / 0.7 = ... ft/NM.",
    ),
    model="{answer}. 448 ft in 0.7 NM are 640 ft/NM, where the line has 318. Climb on the final course to the missed approach "
    "point, then the published missed approach.",
    why="VDP gone, landing gone, nearly always. Deciding it before you get there makes it easy.",
)

_ORDER = Order(
    key="dm-order",
    lesson=KEY,
    title="From the final fix to minimums, in order",
    prompt="You cross Overfall at 1,760 ft, ready for the final. Put the seven actions in order; write the letters as one "
    "word.",
    cards={
        "A": "at D3.0, crossed at or above 800: call minimums as the next floor",
        "B": "at each mile compare altitude with the table; change the rate",
        "C": "FROM that stays: start the clock",
        "D": "at D3.8: runway in sight, or stay at minimums",
        "E": "set the rate of descent",
        "F": "ten per cent of the rate before minimums: begin to level off, power with it",
        "G": "at D4.7 without the runway: go around",
    },
    correct="CEBAFDG",
    because={
        "CE": "First the crossing, with its clock; only then down.",
        "EB": "There is nothing to compare before the descent has begun.",
        "BA": "D1 and D2 come before D3.0.",
        "AF": "Below 800 only past D3.0: the floor first.",
        "FD": "Levelling off starts before minimums; at the VDP you are there.",
        "DG": "The VDP lies before the missed approach point.",
        "CA": "The final begins with the crossing and the clock.",
        "EA": "Without a rate set you are still at 1,760 at D3.0.",
    },
    hints=(
        "Follow the DME: overhead, 1, 2, 3.0, minimums, 3.8, 4.7.",
        "Cross, clock, rate, compare, next floor, level off, VDP, missed approach point.",
        "C first.",
    ),
    model="{answer}. (Common practice; AIM 5-4-5 for the VDP.)",
    why="Cross, say the next floor, go. Never: go, then look whether it was crossed.",
)

_EXIT = Choice(
    key="dm-exit",
    lesson=KEY,
    title="Exit: high or low, and by how much?",
    prompt="Past Overfall at D2.0 the altimeter shows 1,000 ft. The line is 1,126 there; the floor to D3.0 is 800. What "
    "do you say and do?",
    options={
        "A": "126 low: climb back to the line",
        "B": "126 low, above the floor: less rate until the line is met; not below 800 before D3.0",
        "C": "200 above the floor: hold the rate, level at 800",
        "D": "126 high: more rate",
    },
    correct="B",
    slips=(
        Slip(
            "CLIMB",
            lambda g: "A",
            "A climb on final for 126 ft, above every floor: the line comes to you. What meets it?",
        ),
        Slip(
            "FLOORFLY",
            lambda g: "C",
            "Allowed, but you level at 800, wait for D3.0 and go down again: two changes more in cloud. What would save "
            "them?",
        ),
        Slip("SIGN", lambda g: "D", "The altimeter shows less than the table: which side of the line is that?"),
    ),
    hints=(
        "Compare altimeter and line, then altimeter and floor.",
        "Low on the line: less rate. The floor holds until its fix.",
        "1,000 - 1,126 = ...",
    ),
    model="{answer}.",
    why="At this DME I want this altitude, because the table says so; and never below the floor, whatever the line says.",
)

# ---------------------------------------------------------------- flown


def _floors(mda: Any) -> Any:
    """Give the floors of the final as the goals want them; ``mda`` is a function of the givens."""
    plate = lesson_values.plate

    def floors(g: Givens) -> tuple[tuple[float, float, float], ...]:
        step = _dist("PARDO")
        pardo = float(plate().final_legs[0].end_ft or 0.0)
        return ((-99.0, 0.0, plate().final_fix_ft), (0.0, step, pardo), (step, 99.0, mda(g)))

    return floors


def _line(_g: Givens, along_nm: Floats) -> Floats:
    plate = lesson_values.plate()
    return np.asarray(plate.final_fix_ft - along_nm * plate.gradient_ft_nm)


def _begin(g: Givens) -> dict[str, Any]:
    return {
        "radial_deg": 34,
        "dme_nm": 2.5,
        "altitude_ft": 1760,
        "heading_deg": g.get("heading_deg", 214),
        "ias_kt": 84,
        "configuration": "approach flap",
    }


def _final_rows(flag: str, vs_fpm: float, first_ft: float, then_ft: float, climb_nm: float) -> list[dict[str, Any]]:
    return [
        {
            "then": {"identify": True, "course_1_deg": 214, "course_2_deg": 165, "follow": "needle 1", "ias_kt": 84},
            "note": "inbound",
        },
        {
            "when": {"flag_1": flag},
            "then": {"clock": "start", "vs_fpm": -abs(vs_fpm), "level_ft": first_ft},
            "note": "down",
        },
        {
            "when": {"dme_rises_to_nm": 3.0},
            "then": {"vs_fpm": -abs(vs_fpm), "level_ft": then_ft},
            "note": "past the step-down fix",
        },
        {
            "when": {"dme_rises_to_nm": climb_nm},
            "then": {"heading_deg": 214, "ias_kt": 75, "level_ft": 3000},
            "note": "go around",
        },
        {"when": {"dme_rises_to_nm": max(5.6, climb_nm + 0.4)}, "then": {"end": True}, "note": "end"},
    ]


def _draw_plan(r: random.Random) -> dict[str, Any]:
    sign = r.choice([-1, 1])
    return {
        "course_deg": 214,
        "tas_kt": _TAS_KT,
        "along_kt": r.choice([13, 14, 15, 16]),
        "along": "headwind" if sign > 0 else "tailwind",
        "sign": sign,
        "note_ft": float(lesson_values.plate().minimums.remote_setting_add_ft),
    }


def _remote_mda(_g: Givens) -> float:
    return float(lesson_values.plate().mda_ft(remote=True))


def _plan_rows(_g: Givens, filled: Mapping[str, Any]) -> list[dict[str, Any]]:
    return _final_rows(
        filled["descend when the flag shows"],
        min(max(abs(filled["rate of descent"]), 50.0), 3000.0),
        filled["level at, until D3.0"],
        filled["level at, from D3.0"],
        filled["go around at DME"],
    )


def _plan_days(g: Givens, hidden: bool) -> list[weather.Day]:
    """Give the wind as briefed; at the desk two in which the ground passes 4 kt faster and 5 kt slower."""
    from_true = lesson_values.true_deg(214 if g["sign"] > 0 else 34)
    return [
        lesson_values.day("plan", from_true, g["along_kt"] - g["sign"] * faster, 12.0)
        for faster in ((4, -5) if hidden else (0,))
    ]


def _plan_right(g: Givens) -> dict[str, Any]:
    return {
        "descend when the flag shows": "FROM",
        "rate of descent": float(
            round(float(descent.vs_fpm(gradient_ft_nm=lesson_values.plate().gradient_ft_nm, gs_kt=_final_gs(g))))
        ),
        "level at, until D3.0": 800.0,
        "level at, from D3.0": _remote_mda(g),
        "go around at DME": _dist("MAP"),
    }


_PLAN = PlannedDescent(
    key="dm-plan",
    lesson=KEY,
    title="Fill the plan; the model flies it",
    points=4.0,
    prompt="Saltmarsh, from 2.5 NM before Overfall at 1,760 ft; Saltmarsh gives no altimeter setting today, Wygate does (note: MDA "
    "560 goes up by {note_ft:.0f}, so the VDP lies at D3.6). Fill the plan for one line over the floors to minimums; no runway will appear. The rate is in "
    "feet per minute without a sign. The model keeps the course and flies your rows; when it is handed in, with 4 kt more and with 5 kt less "
    "over the ground.",
    shown="true airspeed {tas_kt} kt; {along} along the final {along_kt} kt; line 317 ft/NM; floor 800 ft to D3.0; missed "
    "approach point D4.7",
    draw=_draw_plan,
    blanks={
        "descend when the flag shows": Blank(words=("TO", "FROM")),
        "rate of descent": Blank(example="500", tolerance=12.0),
        "level at, until D3.0": Blank(example="1500", tolerance=9.0),
        "level at, from D3.0": Blank(example="1500", tolerance=9.0),
        "go around at DME": Blank(example="7", tolerance=0.15),
    },
    begin=_begin,
    rows=_plan_rows,
    days=_plan_days,
    goals=(
        floors_kept(_floors(_remote_mda)),
        written_floor("level at, until D3.0", lambda g: 800.0, "that holds to D3.0"),
        written_floor("level at, from D3.0", _remote_mda, "of the day"),
        near_the_line(_line, 1.0, 2.9, limit_ft=120.0),
        at_minimums(_remote_mda, 3.7, 4.6),
        no_dive(),
        climb_at_the_point(4.7, late_nm=0.1, too_late_nm=0.1),
    ),
    reference=_plan_right,
    side_view={"remote": True},
    minutes=12.0,
    slips=(
        Slip(
            "TOFROM",
            lambda g: {**_plan_right(g), "descend when the flag shows": "TO"},
            "The flag shows TO all the way in: you start down at once, below the floor of 1,760 before Overfall.",
        ),
        Slip(
            "NEXTFLOOR",
            lambda g: {**_plan_right(g), "level at, until D3.0": _remote_mda(g)},
            "Minimums were set before D3.0, where 800 still holds: the line is all that keeps you above it, and in a "
            "little less wind it does not.",
        ),
        Slip(
            "FORGOT",
            lambda g: {**_plan_right(g), "level at, from D3.0": _remote_mda(g) - g["note_ft"]},
            "The note about the setting is missing: nobody has checked the last of your altitudes for today's setting, "
            "though the altimeter looks right.",
        ),
        Slip(
            "SETSGN",
            lambda g: {**_plan_right(g), "level at, from D3.0": _remote_mda(g) - 2 * g["note_ft"]},
            "The note was subtracted: twice its size too low. A note of this kind only ever adds.",
        ),
        Slip(
            "IASGS",
            lambda g: {
                **_plan_right(g),
                "rate of descent": float(round(lesson_values.plate().gradient_ft_nm * g["tas_kt"] / 60.0)),
            },
            "The rate is for the airspeed. In this {along} the ground passes at another speed and the line is left at "
            "once.",
        ),
        Slip(
            "PERMIN",
            lambda g: {**_plan_right(g), "rate of descent": float(round(lesson_values.plate().gradient_ft_nm))},
            "The rate is feet per mile; the instrument reads feet per minute. You stay high all the way.",
        ),
    ),
    hints=(
        "One flag, one rate, two floors, one distance: all five stand in the lesson.",
        "Cross (FROM), then down at 317 x ground speed / 60; 800 until D3.0; then the MDA with its note; D4.7 is the end.",
        "Ground speed: {tas_kt} kt with {along_kt} kt of {along}. Rate: 317 x ... / 60.",
    ),
    model="{answer}.",
    why="A rate for the ground speed, and a floor set for each leg: so the plan keeps every floor even where the wind is not "
    "as briefed. The note raises the MDA only: to D3.0 it stays 800. 870 there is safe, but you leave the line for a step.",
)


def _draw_hand(r: random.Random) -> dict[str, Any]:
    off = r.choice([-1, 1]) * r.choice([25, 35, 45])
    back = 0 if r.random() < 0.7 else 180
    givens = {
        "course_deg": 214,
        "tas_kt": _TAS_KT,
        "wind_true_deg": lesson_values.whole(lesson_values.true_deg(214 + off + back), 10),
        "wind_kt": r.choice([12, 14, 16]),
        "variation_deg": 13,
    }
    return {**givens, "heading_deg": round(lesson_values.heading_deg(givens))}


def _local_mda(_g: Givens) -> float:
    return float(lesson_values.plate().mda_ft())


_HAND = DescentByHand(
    key="dm-hand",
    lesson=KEY,
    title="Fly it by hand",
    points=4.0,
    prompt="Fly the final to minimums in the panel below and go around at D4.7: cloud all the way. Have your table ready first. "
    "The keys set the rate in hundreds: take the nearest, for example 400, then correct at each mile. VOR 2 waits on 165, for the "
    "missed approach.\n"
    "Judged: floors (1,760 to Overfall, 800 to D3.0, MDA 560; 10 ft of reading are allowed); at minimums from D3.8, at most 100 ft "
    "above; within 7.5° of the course from D1.5; never over 1,000 fpm; climb by D4.7. Level at minimums, or one line and around "
    "from about 610: both count.",
    shown="start 2.5 NM before Overfall, 1,760 ft, 84 kt, on the final course {course_deg:03d}°, on the heading that holds it, {heading_deg:03d}; true "
    "airspeed about "
    "{tas_kt} kt; wind from {wind_true_deg:03d}° **true**, {wind_kt} kt; variation {variation_deg}° west; setting of "
    "the field",
    draw=_draw_hand,
    goal="Cross Overfall at or above 1,760, then down: 800 or above to D3.0, 560 or above from there. At D4.7 climb straight "
    "ahead. Set “level off at” before each descent.",
    begin=_begin,
    day=lambda g: lesson_values.day("hand", g["wind_true_deg"], g["wind_kt"], 12.0),
    goals=(
        floors_kept(_floors(_local_mda)),
        at_minimums(_local_mda, 3.8, 4.5),
        on_the_line("course_deg", 1.5, 4.4, limit_deg=7.5),
        no_dive(),
        climb_at_the_point(4.7),
    ),
    rows=lambda g: _final_rows(
        "FROM",
        float(descent.vs_fpm(gradient_ft_nm=lesson_values.plate().gradient_ft_nm, gs_kt=_gs_kt(g))),
        800.0,
        _local_mda(g),
        _dist("MAP"),
    ),
    courses=lambda g: (214.0, 165.0),
    ends_at_dme_nm=5.6,
    most_min=12.0,
    hints=(
        "What is the rate for today's ground speed, and the altitude at D1, D2, D3.0?",
        "Flag FROM: down at 317 x ground speed / 60 with “level off at” on 800; past D3.0 set it to 560; at D4.7 climb.",
        "Wind magnetic: {wind_true_deg:03d} + {variation_deg} = ...; ground speed first.",
    ),
    model="Steady FROM: clock, then down at 317 x ground speed / 60 with 800 set; past D3.0 560 set; climb at D4.7, straight ahead.",
    why="Cross, then go; a floor set before each descent; eyes on DME and altimeter together.",
)

# ---------------------------------------------------------------- the task


def _draw_task(r: random.Random) -> dict[str, Any]:
    along = r.choice([-16, -14, -12, 12, 14, 16, 18])
    return {
        "tas_kt": r.choice([88, 92, 96, 100]),
        "along_kt": abs(along),
        "along": "headwind" if along > 0 else "tailwind",
        "sign": 1 if along > 0 else -1,
        "cross_ft": r.choice([2000, 2040, 2080, 2120]),
        "note_ft": r.choice([50, 60, 80]),
    }


def _task_slope(g: Givens) -> float:
    plate = lesson_values.plate("wygate")
    return float(
        descent.gradient_ft_nm(lose_ft=g["cross_ft"] - plate.crossing_ft, dist_nm=plate.fix_to_go_nm("JETIR"))
    )


def _task_alt(g: Givens, dme_nm: float) -> float:
    plate = lesson_values.plate("wygate")
    return float(
        descent.line_ft(
            to_go_nm=plate.to_go_nm(dme_nm, inbound=True), end_ft=plate.crossing_ft, gradient_ft_nm=_task_slope(g)
        )
    )


def _task_mda(g: Givens) -> float:
    return float(
        descent.mda_today_ft(
            mda_ft=lesson_values.plate("wygate").mda_ft(), elevation_ft=220.0, remote_ft=g["note_ft"]
        )
    )


def _task_vdp(g: Givens, mda_ft: float, end_ft: float) -> float:
    return float(lesson_values.plate("wygate").runway.threshold_distance_nm + (mda_ft - end_ft) / _task_slope(g))


_TASK_MILES = 4.9  # D6.0 to D1.1

_TASK = Table(
    key="dm-task",
    lesson=KEY,
    title="The task: a descent table for another field",
    points=9.0,
    task=True,
    prompt="Wygate, runway 02: the station is on the field, you fly **towards** it. Make the table from the final fix JETIR "
    "(D6.0), on one line from your crossing altitude there to 50 ft over the threshold.\n"
    "Ground speed within 1 kt; gradient within 5 ft/NM; rate within 10 fpm; altitudes on the line within 10 ft; MDA exact. "
    "VDP: the DME where the line passes the MDA of the day, here by its own gradient; one decimal, within 0.06. Time from JETIR to "
    "the missed approach point (D1.1) in seconds, within 2. Latest start: the DME from which 1,000 fpm just bring you from your "
    "crossing altitude to the MDA of the day at the VDP; one decimal, within 0.1.",
    shown="crossing JETIR at {cross_ft:,} ft; threshold 215 ft at D0.6, crossing height 50 ft; step-down D3.0 at or above 1,000 ft; "
    "MDA 640 ft, the altimeter setting comes from another field and the note adds {note_ft} ft; true airspeed {tas_kt} kt, "
    "{along} {along_kt} kt",
    draw=_draw_task,
    cells=lambda g: {
        "ground speed": _cell(
            "dm-task-gs",
            _final_gs,
            "kt",
            1.0,
            Slip(
                "HDTL",
                lambda g: float(g["tas_kt"] + g["sign"] * g["along_kt"]),
                "Head and tail swapped: rate and time are both off.",
            ),
            look="True airspeed with the wind along the final.",
        ),
        "ft/NM": _cell(
            "dm-task-slope",
            _task_slope,
            "ft/NM",
            5.0,
            Slip(
                "STA",
                lambda g: (g["cross_ft"] - lesson_values.plate("wygate").crossing_ft) / 6.0,
                "Divided by the distance to the station; the line ends at the threshold.",
            ),
            Slip(
                "MSLH",
                lambda g: g["cross_ft"] / 5.4,
                "Divided the whole altitude: this line ends at the sea, well below the runway.",
            ),
            look="Feet to lose to 50 ft over the threshold, over 5.4 NM.",
        ),
        "fpm": _cell(
            "dm-task-fpm",
            lambda g: float(descent.vs_fpm(gradient_ft_nm=_task_slope(g), gs_kt=_final_gs(g))),
            "fpm",
            10.0,
            Slip("PERMIN", _task_slope, "Feet per mile given for feet per minute."),
            Slip(
                "IASGS",
                lambda g: _task_slope(g) * g["tas_kt"] / 60.0,
                "Worked out with the airspeed: the line is left at once.",
            ),
            close=35.0,
            look="Gradient times ground speed / 60.",
        ),
        "altitude at D4.0": _cell(
            "dm-task-d4",
            lambda g: _task_alt(g, 4.0),
            "ft",
            10.0,
            Slip(
                "DMESGN",
                lambda g: g["cross_ft"] - 4.0 * _task_slope(g),
                "Counted as miles flown: here the DME falls, and D4.0 is two miles past JETIR.",
            ),
            close=30.0,
            look="Miles from JETIR: 6.0 less the reading.",
        ),
        "altitude at D3.0": _cell(
            "dm-task-d3",
            lambda g: _task_alt(g, 3.0),
            "ft",
            10.0,
            Slip(
                "TARGET",
                lambda g: 1000.0,
                "That is the floor, not the line. The line crosses above it; going down to it makes a step.",
            ),
            close=16.0,
            look="Three miles past JETIR.",
        ),
        "MDA of the day": _cell(
            "dm-task-mda",
            _task_mda,
            "ft",
            1.0,
            Slip("FORGOT", lambda g: 640.0, "The note about the setting is missing."),
            Slip("SETSGN", lambda g: 640.0 - g["note_ft"], "The note was subtracted: twice its size too low."),
            look="Published and note, added.",
        ),
        "VDP DME": _cell(
            "dm-task-vdp",
            lambda g: _task_vdp(g, _task_mda(g), lesson_values.plate("wygate").crossing_ft),
            "NM",
            0.06,
            Slip(
                "NOTCH",
                lambda g: _task_vdp(g, _task_mda(g), 215.0),
                "The crossing height is missing: a sixth of a mile too far out.",
            ),
            Slip(
                "THR",
                lambda g: _task_vdp(g, _task_mda(g), lesson_values.plate("wygate").crossing_ft) - 0.6,
                "Miles from the threshold; the DME there reads 0.6 more.",
            ),
            decimals=1,
            look="Where the line passes the MDA of the day.",
        ),
        "seconds to D1.1": _cell(
            "dm-task-time",
            lambda g: _seconds(_TASK_MILES, _final_gs(g)),
            "seconds",
            2.0,
            Slip(
                "STA",
                lambda g: _seconds(6.0, _final_gs(g)),
                "Time to the station: it passes the missed approach point on the way.",
            ),
            Slip(
                "MMSS",
                lambda g: _read_as_clock(_seconds(_TASK_MILES, _final_gs(g))),
                "Hundredths of a minute were read as seconds.",
            ),
            look="4.9 NM over ground speed.",
        ),
        "latest start DME": _cell(
            "dm-task-late",
            lambda g: (
                _task_vdp(g, _task_mda(g), lesson_values.plate("wygate").crossing_ft)
                + float(descent.latest_start_nm(lose_ft=g["cross_ft"] - _task_mda(g), gs_kt=_final_gs(g)))
            ),
            "NM",
            0.11,
            Slip(
                "NODME",
                lambda g: float(descent.latest_start_nm(lose_ft=g["cross_ft"] - _task_mda(g), gs_kt=_final_gs(g))),
                "Miles before the VDP; what does the DME read there?",
            ),
            decimals=1,
            look="Feet to lose at 60,000 / ground speed feet per mile, before the VDP.",
        ),
    },
    model="{answer}.",
    why="Made once on the ground, this table answers the only question of the final: high or low, and by how much?",
)

LESSON = Lesson(
    key=KEY,
    title="Descent planning to minimums",
    minutes=90,
    can=(
        "make the descent table in two minutes",
        "say at any DME whether you are high or low, and by how much, with every floor kept",
        "know VDP, missed approach point and the latest start before starting down",
    ),
    bank=(
        _RECALL_FLOOR,
        _RECALL_GS,
        _PREDICT,
        _GRADIENT,
        _WHY,
        _START,
        _TABLE,
        _FLOORS,
        _WHAT_IF,
        _SHEAR,
        _LATE,
        _SENSE,
        _MINIMUMS,
        _VDP,
        _LEVEL,
        _AFTER,
        _ORDER,
        _PLAN,
        _HAND,
        _TASK,
        _EXIT,
    ),
)
