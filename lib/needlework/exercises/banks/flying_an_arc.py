"""Questions of the lesson on flying an arc by ten-degree steps."""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from needlework.exercises import lesson_values
from needlework.exercises.arc_goals import (
    LEAST_LEAD_NM,
    corrected,
    final_held,
    final_set,
    held,
    identified,
    joined,
    led_to_final,
    led_on,
    not_below,
    selector_ahead,
)
from needlework.exercises.flown import Blank, FilledPlan, FlownByHand
from needlework.exercises.kinds import (
    Choice,
    Givens,
    Number,
    Order,
    Outcome,
    Question,
    Slip,
    Table,
    Verdict,
    as_number,
)
from needlework.exercises.lesson import Lesson
from needlework.trade import angles, arc, intercept, wind
from needlework.world import weather

KEY = "flying-an-arc"
_WAYS = ("right", "left")
_ROUND = {"right": "clockwise", "left": "anticlockwise"}
_INDICATED_KT = 98  # the Finch on an arc
_TAS_KT = 104  # the same at 3,600 ft


def _sign(g: Givens) -> int:
    return 1 if g["turn"] == "right" else -1


def _first_turn(g: Givens) -> str:
    """Side of the turn on to the arc: inbound away from the side the station will be on, outbound towards it."""
    right = (g["turn"] == "right") == (g["way"] == "outbound")
    return "RIGHT" if right else "LEFT"


def _apart(number: Number, g: Givens) -> Number:
    """Leave out the slips that with these numbers cannot be told from the right answer or from an earlier slip."""
    kept: tuple[Slip, ...] = ()
    for slip in number.slips:
        if replace(number, slips=(*kept, slip)).sound(g):
            kept = (*kept, slip)
    return replace(number, slips=kept)


@dataclass(frozen=True, kw_only=True)
class Line(Number):
    """A setting of selector 2; both ends of its line are taken, because both are taught."""

    def _error(self, value: float, wanted: float) -> float:
        gap = value - wanted
        return 90.0 - (90.0 - gap) % 180.0


# ---------------------------------------------------------------- recall


def _draw_recall(r: random.Random) -> dict[str, Any]:
    final = r.randrange(20, 350, 2)
    return {
        "final_deg": final,
        "course_deg": lesson_values.whole(final + 180),
        "radial_deg": lesson_values.whole(final + r.choice([-1, 1]) * r.choice([12, 14, 16, 18, 22, 24])),
    }


def _intercept_deg(g: Givens) -> float:
    cut = intercept.intercept_angle_deg(radial_deg=g["radial_deg"], wanted_radial_deg=g["final_deg"])
    return float(
        intercept.intercept_heading_deg(
            radial_deg=g["radial_deg"], wanted_radial_deg=g["final_deg"], direction="inbound", angle_deg=cut
        )
    )


_RECALL_INTERCEPT = Number(
    key="arc-recall-intercept",
    lesson=KEY,
    title="Recall: the cut to an inbound course",
    prompt="You are past the final course. Which heading takes you back to it, by doubling the angle? Degrees magnetic, "
    "whole.",
    shown="you are on radial {radial_deg:03d}; final course {course_deg:03d} inbound; no wind",
    draw=_draw_recall,
    answer=_intercept_deg,
    unit="degrees magnetic",
    tolerance=1.0,
    circle=True,
    slips=(
        Slip(
            "DIFF",
            lambda g: float(angles.reciprocal(g["radial_deg"])),
            "The angle was not doubled: this heading points straight at the station, and the needle never comes in.",
        ),
        Slip(
            "LR",
            lambda g: lesson_values.mirrored_deg(g["course_deg"], _intercept_deg(g)),
            "The cut goes away from the line. Sketch your radial and the final one: on which hand is the line, "
            "facing the station?",
        ),
        Slip(
            "RECIP",
            lambda g: float(angles.reciprocal(_intercept_deg(g))),
            "That cut belongs to the outbound end of the line. Which way does the final course run?",
        ),
    ),
    hints=(
        "Turn parallel to the course in your head first. How far apart are the two radials, and on which side is yours?",
        "Heading = course, plus or minus twice the difference of the radials, towards the line.",
        "Between {radial_deg:03d} and {final_deg:03d}: the difference, times two, is ...",
    ),
    model="{answer}: parallel {course_deg:03d} first, then twice the difference towards the line.",
    why="You will need it at the end of every arc that was left late.",
)

_RECALL_NEEDLE = Choice(
    key="arc-recall-needle",
    lesson=KEY,
    title="Recall: needle and flag for a radial ahead",
    prompt="You are on radial 312, well away from the station. Selector 2 shows 320. What do flag 2 and needle 2 show?",
    options={
        "A": "FROM, needle to the right",
        "B": "FROM, needle to the left",
        "C": "TO, needle to the right",
        "D": "it depends on the heading",
    },
    correct="A",
    slips=(
        Slip(
            "LR",
            lambda g: "B",
            "Face along 320 from where you are: radial 320 lies clockwise of yours. On the arc you would wait for the "
            "needle from the wrong side. On which hand is that?",
        ),
        Slip(
            "TOFROM",
            lambda g: "C",
            "TO would mean that flying 320 brings the station nearer. From radial 312 it takes you away. Which flag is that?",
        ),
        Slip(
            "HEADING",
            lambda g: "D",
            "The receiver compares the selected course with your place. In a turn you would see needle changes that "
            "are none. Where is heading in that?",
        ),
    ),
    hints=(
        "Stand on radial 312 and face 320. Heading does not come into it.",
        "FROM if the radial lies within 90 degrees of the course; the needle is on the side where the line is.",
        "320 is 8 degrees clockwise of 312, so ...",
    ),
    model="{answer}. The line lies eight degrees clockwise, to the right of somebody facing 320.",
    why="On an arc this is all that needle 2 does: it comes in from the radial ahead and centres on it.",
)

# ---------------------------------------------------------------- why the nose sits inside

_PREDICT = Choice(
    key="arc-predict",
    lesson=KEY,
    title="Predict: nine steps at right angles",
    prompt="Still air, exactly 10.0 NM from the station on radial 310. At this and every tenth radial you turn to the "
    "heading **at right angles to the radial you are crossing**, and hold it to the next. What does the DME read "
    "after nine such steps?",
    options={"A": "10.0 NM", "B": "8.7 NM", "C": "11.5 NM", "D": "10.15 NM"},
    correct="C",
    slips=(
        Slip(
            "TANGENT",
            lambda g: "A",
            "That would be so if the heading changed all the time. Here each leg is straight and touches the circle only "
            "where it begins. Which side of the circle does it leave on?",
        ),
        Slip(
            "INSIDE",
            lambda g: "B",
            "You would come in like this with the nose ten degrees inside, at right angles to the **next** radial. "
            "Here it points at right angles to the one you are on.",
        ),
        Slip(
            "ONESTEP",
            lambda g: "D",
            "That is after one step. Each of the other eight adds as much again, and the tolerance of a mile is gone "
            "in the seventh.",
        ),
    ),
    hints=(
        "Draw the circle and a straight line that touches it. Where is the line ten degrees later?",
        "Each leg is a tangent: at its end the distance is larger by 1 / cos 10, about 1.5 per cent.",
        "Nine times 1.5 per cent of ten miles is about ...",
    ),
    model="{answer}. Each leg is a tangent and gains 1.5 per cent; nine of them make 11.5.",
    why="Nothing was flown wrong and no wind blew: the habit itself spirals out.",
    figure="show_plan",
    figure_values=lambda g: {
        "radials": [310.0, 320.0, 330.0, 340.0],
        "arcs": [(10.0, 310.0, 40.0)],
        "aircraft": (310.0, 10.0, 40.0),
        "title": "First heading at right angles to radial 310",
    },
)


def _draw_way(r: random.Random) -> dict[str, Any]:
    turn = r.choice(_WAYS)
    sign = 1 if turn == "right" else -1
    begin = lesson_values.whole(r.choice([330, 335, 340, 345, 350]) if sign > 0 else r.choice([10, 15, 20, 25, 30]))
    sweep = r.choice([48, 56, 63, 72, 84])
    return {"turn": turn, "from_deg": begin, "to_deg": lesson_values.whole(begin + sign * sweep), "sweep_deg": sweep}


_WAY = Table(
    key="arc-way",
    lesson=KEY,
    title="Which way round, and how far",
    points=2.0,
    prompt="An arc leads the short way from one radial to another. Do you fly it with right or with left turns (write "
    '"RIGHT" or "LEFT"), and through how many degrees? Degrees, whole.',
    shown="from radial {from_deg:03d} to radial {to_deg:03d}",
    draw=_draw_way,
    cells=lambda g: {
        "turns": Choice(
            key="arc-way-turns",
            lesson=KEY,
            title="turns",
            prompt="",
            options={"RIGHT": "", "LEFT": ""},
            correct=lambda g: g["turn"].upper(),
            slips=(
                Slip(
                    "LR",
                    lambda g: "LEFT" if g["turn"] == "right" else "RIGHT",
                    "That leads round the far side of the station, out of every protected area. Rising radials are "
                    "clockwise: count across 360.",
                ),
            ),
        ),
        "degrees of arc": Number(
            key="arc-way-degrees",
            lesson=KEY,
            title="degrees of arc",
            prompt="",
            answer=lambda g: float(g["sweep_deg"]),
            unit="degrees",
            tolerance=1.0,
            slips=(
                Slip(
                    "WAYROUND",
                    lambda g: 360.0 - g["sweep_deg"],
                    "The long way round: the radials were taken from each other across 360. Add 360 to the smaller one first.",
                ),
            ),
            look="Count the radials from one to the other through 360.",
        ),
    },
    hints=(
        "Sketch both radials with north up. The arc joins them through 360.",
        "Radials that rise are clockwise: right turns, station on the right. Across 360 they go 350, 360, 010.",
        "From {from_deg:03d} to 360, and from there to {to_deg:03d}: add the two.",
    ),
    model="{answer}.",
    why="Numbers rise: clockwise, right turns, station on the right. Numbers fall: all three the other way.",
)

_WHY_INSIDE = Choice(
    key="arc-why-inside",
    lesson=KEY,
    title="Why 045 and not 040?",
    prompt="In the worked example the first leg is flown on 045, although radial 310 and 90 make 040. Why?",
    options={
        "A": "to make up for wind",
        "B": "because the leg has to be at right angles to radial 315, the middle of its step",
        "C": "because the turn on to the arc always comes out too wide",
    },
    correct="B",
    slips=(
        Slip(
            "WIND",
            lambda g: "A",
            "The example is in still air; wind comes on top. What does a tangent do to a circle?",
        ),
        Slip(
            "LEAD",
            lambda g: "C",
            "With the right lead the turn comes out on the arc. The five degrees stay in on every leg after it, too.",
        ),
    ),
    hints=(
        "Look at the figure: where does the straight leg touch its smallest distance?",
        "A leg that begins and ends on the arc is nearest the station half way.",
        "Half way between 310 and 320 is ...",
    ),
    model="{answer}. Five degrees inside at the beginning of each leg are five degrees outside at its end.",
    why="Nose five degrees inside as a step begins: the leg ends on the arc it began on.",
)

# ---------------------------------------------------------------- joining


def _draw_turn(r: random.Random) -> dict[str, Any]:
    return {
        "arc_nm": r.choice([8, 9, 11, 12, 13, 14]),
        "gs_kt": r.choice([100, 108, 116, 120, 128]),  # their leads are no halves of a tenth
        "way": r.choice(["inbound", "outbound"]),
    }


def _turn_dme(g: Givens, share: float = 1.0) -> float:
    lead = float(arc.lead_rule_nm(gs_kt=g["gs_kt"])) * share
    return float(g["arc_nm"]) + (lead if g["way"] == "inbound" else -lead)


_TURN_DME = Number(
    key="arc-turn-dme",
    lesson=KEY,
    title="Where the turn begins: last step",
    prompt="The lead is half a per cent of the ground speed. At which DME reading do you begin the turn on to the arc? "
    "NM, one decimal.",
    shown="{arc_nm} NM arc, ground speed {gs_kt} kt, flying {way} on a radial; lead {lead_nm:.2f} NM",
    draw=lambda r: {**(g := _draw_turn(r)), "lead_nm": g["gs_kt"] / 200.0},
    answer=_turn_dme,
    unit="NM",
    decimals=1,
    tolerance=0.15,  # the handbook's half mile, the rule and the exact figure all pass
    slips=(
        Slip(
            "LEADSGN",
            lambda g: _turn_dme(g, -1.0),
            "The lead lies on the other side of the arc: turning there you roll out two leads off it. Flying {way}, "
            "do you meet the larger or the smaller reading first?",
        ),
        Slip(
            "HALFRATE",
            lambda g: _turn_dme(g, 2.0),
            "Twice the lead, which belongs to a half-rate turn. At standard rate you would roll out a whole lead short of the arc.",
        ),
        Slip(
            "NOLEAD",
            lambda g: float(g["arc_nm"]),
            "Turning when the DME reads the arc itself you roll out one turn radius past it. The turn takes room.",
        ),
    ),
    hints=(
        "Flying {way}, on which side of the arc are you before you reach it?",
        "Inbound: arc plus lead. Outbound: arc minus lead.",
        "{arc_nm} and {lead_nm:.2f}: plus or minus?",
    ),
    model="{answer}: the lead on the side you come from.",
    why="Rule of thumb. The Instrument Flying Handbook takes half a mile up to 150 kt.",
)


def _draw_first(r: random.Random) -> dict[str, Any]:
    return {
        "turn": r.choice(_WAYS),
        "way": r.choice(["inbound", "outbound"]),
        "radial_deg": lesson_values.whole(r.randrange(10, 360, 10)),
    }


def _leg_deg(radial_deg: float, sign: int, inside_deg: float = 5.0) -> float:
    """Heading of a leg that begins on a radial, in still air."""
    return float(lesson_values.whole(radial_deg + sign * (90.0 + inside_deg)))


def _first_cells(g: Givens) -> dict[str, Question]:
    sign = _sign(g)
    return {
        "first turn": Choice(
            key="arc-first-turn",
            lesson=KEY,
            title="first turn",
            prompt="",
            options={"LEFT": "", "RIGHT": ""},
            correct=_first_turn,
            slips=(
                Slip(
                    "LR",
                    lambda g: "LEFT" if _first_turn(g) == "RIGHT" else "RIGHT",
                    "That turn puts the station on the other wing, and the arc would be flown the wrong way round.",
                ),
            ),
        ),
        "along the arc": Number(
            key="arc-first-tangent",
            lesson=KEY,
            title="along the arc",
            prompt="",
            answer=lambda g: _leg_deg(g["radial_deg"], sign, 0.0),
            unit="degrees magnetic",
            tolerance=1.0,
            circle=True,
            slips=(
                Slip(
                    "LR",
                    lambda g: _leg_deg(g["radial_deg"], -sign, 0.0),
                    "The other way along the arc: the radials would count backwards from there.",
                ),
                Slip(
                    "NOSE",
                    lambda g: _leg_deg(g["radial_deg"], sign),
                    "That is the heading of the leg, nose inside; asked here is along the arc.",
                ),
            ),
            look="At right angles to the radial, the way the radials count.",
        ),
        "first leg": Number(
            key="arc-first-leg",
            lesson=KEY,
            title="first leg",
            prompt="",
            answer=lambda g: _leg_deg(g["radial_deg"], sign),
            unit="degrees magnetic",
            tolerance=1.0,
            circle=True,
            slips=(
                Slip(
                    "TANGENT",
                    lambda g: _leg_deg(g["radial_deg"], sign, 0.0),
                    "At right angles to the radial you are on: out by 1.5 per cent with every step. Where does the nose belong?",
                ),
                Slip(
                    "OUTSIDE",
                    lambda g: _leg_deg(g["radial_deg"], sign, -5.0),
                    "Five degrees to the outside: the arc is lost at twice the pace. On which hand is the station?",
                ),
                Slip(
                    "LR",
                    lambda g: _leg_deg(g["radial_deg"], -sign),
                    "The other way round: with this the radials count backwards.",
                ),
            ),
            look="Along the arc, then five degrees towards the station.",
        ),
    }


_FIRST = Table(
    key="arc-first",
    lesson=KEY,
    title="On to the arc: side and headings",
    points=2.0,
    prompt='Still air. Which way do you turn on to the arc ("LEFT" or "RIGHT"); which heading would be exactly **along '
    "the arc** on this radial; which heading do you hold on the **first leg**, a ten-degree step from it? Degrees "
    "magnetic, whole.",
    shown="{way} on radial {radial_deg:03d}; then the arc {round}, with {turn} turns",
    draw=lambda r: {**(g := _draw_first(r)), "round": _ROUND[g["turn"]]},
    cells=_first_cells,
    hints=(
        "Sketch station, radial and the arc. On which wing will the station be?",
        "Right turns: radial + 90, nose inside + 5 more. Left turns: radial - 90, nose inside 5 less.",
        "{radial_deg:03d} and 90 make ... or ...: which of them goes {round}?",
    ),
    model="{answer}.",
    why="Side, heading and first setting belong on the kneepad before the lead: the turn itself takes half a minute.",
)

# ---------------------------------------------------------------- the rhythm


def _draw_steps(r: random.Random) -> dict[str, Any]:
    turn = r.choice(_WAYS)
    sign = 1 if turn == "right" else -1
    begin = lesson_values.whole(r.choice([320, 330, 340]) if sign > 0 else r.choice([20, 30, 40]))
    return {
        "turn": turn,
        "round": _ROUND[turn],
        "radial_deg": begin,
        "first_deg": lesson_values.whole(begin + sign * 10),
        "leg_deg": lesson_values.whole(_leg_deg(begin, sign)),
    }


def _setting(place: int, sign: int) -> Line:
    # Up to the second leg a single twist the wrong way and one at every step are the same.
    always = (
        Slip(
            "BACK",
            lambda g: float(lesson_values.whole(g["radial_deg"] + sign * 10 * (2 - place))),
            "Twisted back at every step: each setting lies farther behind you. Which way do the radials count here?",
        ),
    )
    return Line(
        key=f"arc-steps-course-{place}",
        lesson=KEY,
        title=f"course 2, leg {place}",
        prompt="",
        answer=lambda g: float(lesson_values.whole(g["radial_deg"] + sign * 10 * place)),
        unit="degrees",
        tolerance=0.5,
        circle=True,
        slips=(
            Slip(
                "TWIST",
                lambda g: float(lesson_values.whole(g["radial_deg"] + sign * 10 * (place - 2))),
                "Twisted back. Needle 2 stays pinned and the next turn never comes. Which way do the radials count here?",
            ),
            Slip(
                "FORGOT",
                lambda g: float(lesson_values.whole(g["radial_deg"] + sign * 10 * (place - 1))),
                "Turned, but not twisted: that radial has just been crossed, and its needle will not come back.",
            ),
            Slip(
                "SKIP",
                lambda g: float(lesson_values.whole(g["radial_deg"] + sign * 10 * (place + 1))),
                "Twenty for ten: a long straight leg; the needle comes late, with the DME about a third of a mile up.",
            ),
            *(always if place > 2 else ()),
        ),
        look="The radial ahead, one step on from the one just crossed.",
    )


def _leg(place: int, sign: int) -> Number:
    def held_deg(g: Givens, step: int = 10, inside_deg: float = 5.0) -> float:
        return _leg_deg(g["radial_deg"] + sign * step * (place - 1), sign, inside_deg)

    return Number(
        key=f"arc-steps-heading-{place}",
        lesson=KEY,
        title=f"heading, leg {place}",
        prompt="",
        answer=held_deg,
        unit="degrees magnetic",
        tolerance=1.0,
        circle=True,
        slips=(
            Slip(
                "LR",
                lambda g: held_deg(g, -10),
                "Turned away from the station: every step opens the spiral. The turns on this arc all go to one side.",
            ),
            Slip(
                "NOTURN",
                lambda g: held_deg(g, 0),
                "Twisted, but not turned: the aircraft flies straight on and the DME climbs.",
            ),
            Slip(
                "TANGENT",
                lambda g: held_deg(g, inside_deg=0.0),
                "At right angles to the radial being crossed: out by 1.5 per cent a step. Nose inside.",
            ),
        ),
        look="The heading of the leg before, ten degrees on.",
    )


_STEPS = Table(
    key="arc-steps",
    lesson=KEY,
    title="Settings and headings, leg by leg",
    points=3.0,
    prompt="Still air, ten-degree steps. The first leg is given; fill the next three: what selector 2 shows while the leg "
    "is flown (either end of the line) and the heading. Degrees magnetic, whole.",
    shown="arc {round}, {turn} turns, joined on radial {radial_deg:03d}; leg 1: course 2 **{first_deg:03d}**, heading "
    "**{leg_deg:03d}**",
    draw=_draw_steps,
    cells=lambda g: {
        label: part
        for place in (2, 3, 4)
        for label, part in (
            (f"course 2, leg {place}", _setting(place, _sign(g))),
            (f"heading, leg {place}", _leg(place, _sign(g))),
        )
    },
    hints=(
        "Which way do radials and headings count on this arc, and what happens at 360?",
        "Every leg: turn ten, twist ten, both the way the arc goes.",
        "Leg 1 has {first_deg:03d} and {leg_deg:03d}; leg 2 has each of them ten on.",
    ),
    model="{answer}.",
    why="Turn ten, twist ten: both count the same way, and neither is left out.",
)

_ORDER = Order(
    key="arc-order",
    lesson=KEY,
    title="From the radial to the final course",
    prompt="Put the actions of one whole arc in order (C and E are done again and again, here they stand once). Write the "
    "letters as one word.",
    cards={
        "A": "at the lead radial, or when needle 1 comes alive: turn to final",
        "B": "identify the station, and check the DME is on it",
        "C": "needle 2 centres: turn ten",
        "D": "set the final course on selector 1",
        "E": "twist selector 2 on by ten",
        "F": "at the lead DME: turn on to the first heading",
        "G": "set selector 2 to the first radial ahead",
        "H": "roll out on the final course plus its wind correction",
    },
    correct="BGFCEDAH",
    free=("CED", "BG"),
    because={
        "BF": "A needle of the wrong station centres, too. Identify before you turn by it.",
        "GF": "Set it before the turn: in the turn there is no hand free, and the first needle may come during it.",
        "FC": "First the turn on to the arc; the steps begin there.",
        "GD": "Selector 1 still holds the line you fly in on; it is free once you have turned on to the arc.",
        "FD": "Selector 1 still holds the line you fly in on; it is free once you have turned on to the arc.",
        "DA": "Without the final course on selector 1 needle 1 cannot come alive: you would fly through the final.",
        "EA": "The steps come before the turn to final.",
        "CA": "The steps come before the turn to final.",
        "AH": "Turn, then roll out.",
    },
    slips=(
        Slip(
            "FINALLAST",
            lambda g: "BGFCEAHD",
            "The final course comes last here: needle 1 still speaks of the old line when you cross the final, and you "
            "fly through it. Set it by half way.",
        ),
    ),
    hints=(
        "What must be proved before anything else, and what must stand ready before needle 1 can help?",
        "Before the turn on: identify, and set 2. By half way the final course; then only the lead is left.",
        "B and G come first, H comes last.",
    ),
    model="{answer}; identifying and setting may change places, and so may turn and twist. The final course may be set "
    "anywhere between the turn on and the lead.",
    why="Selector 2 for the step, selector 1 for what comes next: ready by half way.",
)

# ---------------------------------------------------------------- wind round the arc


def _draw_wind(r: random.Random) -> dict[str, Any]:
    turn = r.choice(_WAYS)
    begin = lesson_values.whole(r.randrange(10, 361, 10))
    # Nearly along the middle one of the three legs: there the correction is small, and it changes side.
    middle = _leg_deg(begin, 1 if turn == "right" else -1, 45.0)
    along = middle + r.choice([0, 180]) + r.choice([-10, 0, 10])
    return {
        "turn": turn,
        "round": _ROUND[turn],
        "tas_kt": r.choice([98, 104, 110]),
        "wind_true_deg": lesson_values.whole(lesson_values.true_deg(along), 10),
        "wind_kt": r.choice([18, 20, 22, 24]),
        "variation_deg": 13,
        "begin_deg": begin,
    }


def _held_deg(g: Givens, middle_deg: float) -> float:
    """Heading that holds the leg whose middle is on a radial."""
    return float(
        arc.heading_deg(
            radial_deg=middle_deg,
            turn=g["turn"],
            tas_kt=g["tas_kt"],
            wind_from_deg=lesson_values.wind_from_deg(g),
            wind_kt=g["wind_kt"],
        )
    )


def _wind_cell(label: str, radial_deg: int, first_deg: int) -> Callable[[Givens], Number]:
    def made(g: Givens) -> Number:
        sign = _sign(g)
        middle, first = radial_deg + 5 * sign, first_deg + 5 * sign
        still = _leg_deg(radial_deg, sign)
        number = Number(
            key=f"arc-wind-{label}",
            lesson=KEY,
            title=label,
            prompt="",
            answer=lambda g: _held_deg(g, middle),
            unit="degrees magnetic",
            tolerance=2.0,
            circle=True,
            slips=(
                Slip(
                    "NOWIND",
                    lambda g: still,
                    "That holds the arc in still air. In this wind the DME walks away; from which side does it blow here?",
                ),
                Slip(
                    "WCASIGN",
                    lambda g: lesson_values.mirrored_deg(still, _held_deg(g, middle)),
                    "Right size, wrong side: this doubles the drift. The nose goes to where the wind comes **from**.",
                ),
                Slip(
                    "ONECORR",
                    lambda g: float(angles.wrap360(still + _held_deg(g, first) - _leg_deg(first_deg, sign))),
                    "The correction of the first leg was kept. The arc has turned since then, the wind has not: "
                    "what is its angle to this leg?",
                ),
                Slip(
                    "VARSGN",
                    lambda g: lesson_values.heading_deg(g, still, lesson_values.true_deg(g["wind_true_deg"])),
                    "The variation went the wrong way: magnetic is true plus west.",
                ),
            ),
            look="Wind in magnetic, its angle to this leg, the correction into it.",
        )
        return _apart(number, g)

    return made


def _wind_cells(g: Givens) -> dict[str, Question]:
    radials = [lesson_values.whole(g["begin_deg"] + _sign(g) * gone) for gone in (0, 40, 80)]
    return {f"leg from radial {radial:03d}": _wind_cell(f"{radial:03d}", radial, radials[0])(g) for radial in radials}


_WIND = Table(
    key="arc-wind",
    lesson=KEY,
    title="The same wind, three places on the arc",
    listed=True,
    points=2.0,
    prompt="Which heading holds each of these ten-degree legs in this wind? Degrees magnetic, whole; within 2 passes. "
    "Write the three headings in the order of the table.",
    shown="arc {round}, {turn} turns; true airspeed {tas_kt} kt; wind from {wind_true_deg:03d}° **true**, {wind_kt} kt; "
    "variation {variation_deg}° west",
    draw=_draw_wind,
    cells=_wind_cells,
    hints=(
        "First the three headings as in still air; then one sketch with the wind in magnetic.",
        "Correction = about 60 x wind / true airspeed x sine of the angle between wind and leg, into the wind.",
        "Wind magnetic: {wind_true_deg:03d} + {variation_deg} = ...",
    ),
    model="{answer}.",
    why="The correction changes size and side as the arc turns through the wind. One correction for all legs fits one leg.",
)

_NEUTRAL = Choice(
    key="arc-neutral",
    lesson=KEY,
    title="Where no correction is needed",
    prompt="An arc runs clockwise from radial 310 to radial 070. The wind is from 330 magnetic, 20 kt. On which radial is "
    "the wind correction nothing?",
    options={
        "A": "radial 330, because the wind blows along the radial there",
        "B": "radial 010, the middle of the arc",
        "C": "radial 060, because the wind blows along the arc there",
        "D": "nowhere: one wind needs one correction all round",
    },
    correct="C",
    slips=(
        Slip(
            "ALONG",
            lambda g: "A",
            "There the wind blows straight across your way, from outside towards the station: the correction is at its "
            "greatest. Which way are you flying on that radial?",
        ),
        Slip(
            "MIDDLE",
            lambda g: "B",
            "The middle of the arc is nothing to the wind. Where do you fly straight with it or against it?",
        ),
        Slip(
            "ONECORR",
            lambda g: "D",
            "Your course turns through 120 degrees while the wind stays. A correction kept all round fits one leg only.",
        ),
    ),
    hints=(
        "Sketch the arc with an arrow along it at 330, at 010 and at 060. Lay the wind over each.",
        "No correction where the wind is dead ahead or dead behind: wind direction plus or minus 90 is the radial.",
        "330 + 90 = ...",
    ),
    model="{answer}. Your course there is 150, with the wind straight behind.",
    why="The wind walks round you: the correction is greatest on the radials along it and nothing 90 degrees from them.",
)

# ---------------------------------------------------------------- what if

_WHAT_IF = Number(
    key="arc-what-if",
    lesson=KEY,
    title="What-if: longer steps",
    prompt="With the sliders: no wind, steps of {step_deg}°. How far inside the tangent must the nose be as each step "
    "begins, so that the flight comes round on the arc and neither winds in nor out? Degrees, whole; within 1 passes.",
    draw=lambda r: {"step_deg": r.choice([20, 24, 26, 28, 30])},
    answer=lambda g: g["step_deg"] / 2.0,
    unit="degrees",
    tolerance=1.0,
    slips=(
        Slip(
            "FIVE",
            lambda g: 5.0,
            "Five is for ten-degree steps. Set the step to {step_deg}° and follow the DME to the end of the arc.",
        ),
        Slip("WHOLE", lambda g: float(g["step_deg"]), "With so much the flight winds in, step by step. Try less."),
        Slip("NONE", lambda g: 0.0, "With none every leg is a tangent and the flight winds out. Try more."),
    ),
    hints=(
        "Set wind to nothing and the step to {step_deg}°, then move the nose until the end of the arc is as far out as its beginning.",
        "Each leg has to be at right angles to the middle of its step.",
        "For ten degrees it is five. For {step_deg} ...",
    ),
    model="{answer}: half a step.",
    why="Half a step inside, whatever the step. But longer steps cut deeper: in the middle of a 30-degree leg the DME is "
    "0.3 NM inside a ten-mile arc, in ten-degree ones 0.04.",
)

# ---------------------------------------------------------------- getting back, floors, leaving


def _draw_regain(r: random.Random) -> dict[str, Any]:
    return {"outside_nm": r.choice([0.4, 0.5, 0.6]), "inside_nm": r.choice([0.4, 0.5, 0.6])}


@dataclass(frozen=True, kw_only=True)
class Band(Number):
    """A change of heading; all from the least to the greatest passes, and beyond it the side and sign say which slip."""

    least_deg: float
    most_deg: float

    def _error(self, value: float, wanted: float) -> float:
        return 0.0 if self.least_deg <= value <= self.most_deg else value - wanted

    def _named(self, givens: Givens, value: float) -> Slip | None:
        for slip in self.slips:
            wrong = float(slip.wrong(givens))
            if (value > self.most_deg, value < 0) == (wrong > self.most_deg, wrong < 0):
                return slip
        return None

    def sound(self, givens: Givens) -> bool:
        """Every slip must lie outside the band and be the one its own value leads to."""
        return self.least_deg <= self.right(givens) <= self.most_deg and all(
            not self.least_deg <= float(slip.wrong(givens)) <= self.most_deg
            and self._named(givens, float(slip.wrong(givens))) is slip
            for slip in self.slips
        )

    def judge(self, givens: Givens, answer: object, hidden: bool = False) -> Verdict:
        """Take the whole band; say by side and size what anything else would do."""
        value = as_number(answer, "15")
        given = f"{value:,.10g}"
        if self.least_deg - 1e-9 <= value <= self.most_deg + 1e-9:
            return Verdict(Outcome.PASS, 1.0, f"Right: {given} {self.unit}.", given=given)
        slip = self._named(givens, value)
        if slip is None:
            return Verdict(Outcome.WRONG, 0.0, f"Not yet. {self.where_to_look(givens)}", given=given)
        text = f"Not yet. You gave {given} {self.unit}. {self.fill(slip.says, givens)}"
        return Verdict(Outcome.SLIP, 0.0, text, slip.code, given)


def _band(
    label: str, taught_deg: float, least_deg: float, most_deg: float, slips: tuple[Slip, ...], look: str
) -> Band:
    return Band(
        key=f"arc-regain-{label}",
        lesson=KEY,
        title=label,
        prompt="",
        answer=lambda _g: taught_deg,
        unit="degrees",
        tolerance=0.5,
        least_deg=least_deg,
        most_deg=most_deg,
        slips=slips,
        look=look,
    )


_REGAIN = Table(
    key="arc-regain",
    lesson=KEY,
    title="Outside, and inside",
    points=2.0,
    prompt="Ten-mile arc, DME steady at the readings given. By how many degrees do you change the heading of the leg, "
    "beyond turn ten? Towards the station is positive, away from it negative. Degrees, whole; the books differ and all "
    "they teach passes.",
    shown="once {outside_nm:g} NM outside, once {inside_nm:g} NM inside",
    draw=_draw_regain,
    cells=lambda g: {
        "outside": _band(
            "outside",
            20.0 * g["outside_nm"],
            10.0 * g["outside_nm"],  # 5 to 20 degrees for each half mile are taught
            40.0 * g["outside_nm"],
            (
                Slip(
                    "LR",
                    lambda g: -20.0 * g["outside_nm"],
                    "Away from the station: you are outside already, and run off faster.",
                ),
                Slip(
                    "LITTLE",
                    lambda g: 0.0,
                    "Too little: outside, the arc bends away from a straight leg and the miles grow by themselves. "
                    "How much for each half mile?",
                ),
                Slip(
                    "CHASE",
                    lambda g: 75.0 * g["outside_nm"],
                    "Too much. That is chasing the DME: it answers late, you go through the arc and need as much the other way.",
                ),
            ),
            "Outside, the arc bends away and waiting makes it worse: towards the station, a few degrees for each tenth.",
        ),
        "inside": _band(
            "inside",
            -10.0 * g["inside_nm"],
            -10.0,
            0.0,
            (
                Slip(
                    "SAMEWAY",
                    lambda g: 20.0 * g["inside_nm"],
                    "Towards the station: you are inside already, and go farther in.",
                ),
                Slip(
                    "CHASE",
                    lambda g: -40.0 * g["inside_nm"],
                    "More than needed: inside, a straight leg leads outwards by itself. A few degrees are enough, or a wait.",
                ),
            ),
            "Away from the station, gently: the arc comes to you.",
        ),
    },
    hints=(
        "Fly straight on in your head: does the arc come to you or run away from you?",
        "Outside: 10 degrees towards the station for each half mile. Inside: 5 away, or hold the heading and let it come.",
        "Outside {outside_nm:g} NM: 10 x {outside_nm:g} / 0.5 = ...",
    ),
    model="{answer}. The books differ: outside 5 to 20 degrees in for each half mile pass, inside nothing to 10 out.",
    why="Outside it runs away: correct. Inside it comes to you: little, or wait. Look at the trend, not at the tenths.",
)


def _draw_floor(r: random.Random) -> dict[str, Any]:
    return {"radial_deg": r.randrange(342, 349)}


@dataclass(frozen=True, kw_only=True)
class Floor(Number):
    """A minimum altitude; whatever else is given is safe, too low for this radial, or below every floor."""

    def judge(self, givens: Givens, answer: object, hidden: bool = False) -> Verdict:
        """Say of any other altitude what it would mean in the air."""
        verdict = super().judge(givens, answer, hidden)
        if verdict.outcome is not Outcome.WRONG:
            return verdict
        value, early = as_number(answer), float(self.slips[0].wrong(givens))
        code = "SAFE" if value > self.right(givens) else "BELOW" if value > early else "GROUND"
        slip = next(slip for slip in self.slips if slip.code == code)
        text = f"Not yet. You gave {verdict.given} {self.unit}. {self.fill(slip.says, givens)}"
        return Verdict(Outcome.SLIP, 0.0, text, slip.code, verdict.given)


_FLOOR = Floor(
    key="arc-floor",
    lesson=KEY,
    title="How low, now?",
    prompt="Saltmarsh, ten-mile arc clockwise. Minimum 3,400 ft from radial 310 until **crossing** radial 350, then "
    "3,000 ft. Selector 2 shows 350. What is the lowest you may be now? Feet.",
    shown="you are on radial {radial_deg:03d}",
    draw=_draw_floor,
    answer=lambda g: 3400.0,
    unit="ft",
    tolerance=10.0,
    slips=(
        Slip(
            "EARLY",
            lambda g: 3000.0,
            "That floor begins when radial 350 has been crossed. The selector shows where you are going, not where you "
            "are: here 3,000 is not promised to be clear. What does needle 2 say?",
        ),
        Slip(
            "SAFE",
            lambda g: 3600.0,
            "Safe, but the question asks for the lowest. Which minimum holds on the radial you are on?",
        ),
        Slip(
            "BELOW",
            lambda g: 3200.0,
            "Below the floor of this radial. In the air: climb now. Which minimum holds until 350 has been crossed?",
        ),
        Slip("GROUND", lambda g: 2900.0, "Below every floor here. In the air: climb now. Which minimums were given?"),
    ),
    hints=(
        "Which sector are you in: by the selector or by the needle?",
        "A floor holds until its radial has been crossed.",
        "Radial {radial_deg:03d} lies before 350, so ...",
    ),
    model="{answer}. The next floor is yours when needle 2 has centred on 350.",
    why="Cross, then descend. The needle says when, not the selector.",
)


def _draw_lead(r: random.Random) -> dict[str, Any]:
    turn = r.choice(_WAYS)
    return {
        "turn": turn,
        "round": _ROUND[turn],
        "arc_nm": r.choice([8, 9, 10, 11, 12]),
        "gs_kt": r.choice([100, 110, 120, 130, 140]),
        "final_deg": lesson_values.whole(r.randrange(10, 361, 1)),
    }


def _lead_deg(g: Givens) -> float:
    return float(arc.lead_radial_rule_deg(arc_nm=g["arc_nm"], gs_kt=g["gs_kt"]))


def _lead_radial_deg(g: Givens, share: float = 1.0) -> float:
    return float(angles.wrap360(g["final_deg"] - _sign(g) * share * _lead_deg(g)))


_LEAD_DEGREES = Number(
    key="arc-lead-degrees",
    lesson=KEY,
    title="degrees of lead",
    prompt="",
    answer=_lead_deg,
    unit="degrees",
    decimals=1,
    tolerance=0.7,  # on the smallest arc the exact figure is 0.6 more than the rule
    slips=(
        Slip(
            "DEGNM",
            lambda g: g["gs_kt"] / 200.0,
            "Those are miles. On this arc a mile is several degrees: turning so late you go through the final.",
        ),
        Slip(
            "HALFRATE",
            lambda g: 2.0 * _lead_deg(g),
            "Twice the lead: right for a half-rate turn. At standard rate you roll out short of the final.",
        ),
    ),
    look="Turn radius in miles, then miles into degrees at this distance.",
)

_LEAD_RADIAL = Number(
    key="arc-lead-radial",
    lesson=KEY,
    title="lead radial",
    prompt="",
    answer=_lead_radial_deg,
    unit="degrees",
    tolerance=1.2,
    circle=True,
    slips=(
        Slip(
            "LEADSGN",
            lambda g: _lead_radial_deg(g, -1.0),
            "That radial lies beyond the final: you would have flown through it. Which comes first on this arc?",
        ),
        Slip(
            "NOLEAD",
            lambda g: float(g["final_deg"]),
            "On the final radial, or a degree before it, is too late: you roll out most of a turn radius past it.",
        ),
        Slip(
            "CHARTED",
            lambda g: float(angles.wrap360(g["final_deg"] - 7 * _sign(g))),
            "Seven degrees are the lead charted at Saltmarsh, with room for half rate. Nothing is charted here: turned so "
            "early at standard rate you roll out short of the final. What does the rule give?",
        ),
    ),
    look="Before the final radial, the way the radials count.",
)

_LEAD = Table(
    key="arc-lead",
    lesson=KEY,
    title="The lead to the final course",
    points=2.0,
    prompt="Standard-rate turn. How many degrees before the final radial do you begin the turn (degrees, one decimal, by "
    "rule), and on which radial is that (whole)?",
    shown="{arc_nm} NM arc {round}, ground speed {gs_kt} kt, final on radial {final_deg:03d} inbound",
    draw=_draw_lead,
    cells=lambda g: {"degrees of lead": _LEAD_DEGREES, "lead radial": _apart(_LEAD_RADIAL, g)},
    hints=(
        "The turn takes the same miles as on to the arc. How many degrees is a mile at this distance?",
        "Lead = 60 / arc x (half a per cent of the ground speed). The lead radial comes **before** the final one.",
        "{gs_kt} / 200 = ... NM; 60 / {arc_nm} = ... degrees a mile.",
    ),
    model="{answer}.",
    why="Rule of thumb. Where a lead radial is charted, the chart comes first.",
)

_DME_SPEED = Choice(
    key="arc-dme-speed",
    lesson=KEY,
    title="The DME says 3 kt",
    prompt="On the arc, airspeed 98 kt, little wind, the DME's speed window shows 3 kt. What does that tell you?",
    options={
        "A": "the DME has failed",
        "B": "ground speed is 3 kt: strong headwind",
        "C": "the distance to the station hardly changes: you are flying along the arc",
        "D": "the station has gone off the air",
    },
    correct="C",
    slips=(
        Slip(
            "FAULT",
            lambda g: "A",
            "It measures how fast the distance changes, and says so rightly. How fast should that be on an arc?",
        ),
        Slip(
            "GROUND",
            lambda g: "B",
            "It is ground speed only straight to or from the station. Timing the next leg with it you would wait half an hour.",
        ),
        Slip(
            "OFF", lambda g: "D", "Without a reply there would be no distance either. What does the window measure?"
        ),
    ),
    hints=(
        "What does the DME measure, and how does it find a speed from that?",
        "DME speed is the rate at which the distance changes.",
        "On a perfect arc the distance changes by ...",
    ),
    model="{answer}. It sees closing speed only.",
    why="Near zero means at right angles to the radial: on an arc the window is a trend indicator.",
)

# ---------------------------------------------------------------- the classic wrong turns

_FAULTS = {
    "A": "twisted selector 2 the wrong way",
    "B": "turned, and forgot to twist",
    "C": "chased the DME",
    "D": "forgot the final course",
}
_FAULT_SAYS = {
    "A": "A twist the wrong way shows on selector 2: it stands ten degrees behind the radial just crossed, and the needle is on its stop.",
    "B": "A forgotten twist shows on selector 2: it still stands on the radial that was crossed, and its needle walks off to the other side.",
    "C": "Chasing shows in the heading: cuts of thirty degrees one way and the other within one step, the DME swinging after them.",
    "D": "A forgotten final course shows on selector 1 and needle 1, at the end of the arc.",
}
_STORIES = {
    "A": "radial 358; course 2 shows 330; needle 2 on its stop; heading 075 for two minutes; DME 10.2, rising",
    "B": "radial 346; course 2 shows 340; needle 2 centred half a minute ago, now three dots left and going; heading 075",
    "C": "between radials 340 and 350; course 2 shows 350; headings 075, 105, 055, 100; DME 10.4, 9.7, 10.5, 9.6",
    "D": "past the final radial, 034; course 1 shows 130; needle 1 has not moved for minutes; DME 10.0",
}


def _other_fault(letter: str) -> Slip:
    return Slip(f"NOT{letter}", lambda _g: letter, _FAULT_SAYS[letter])


def _fault_cell(fault: str, place: int) -> Choice:
    return Choice(
        key=f"arc-faults-{place}",
        lesson=KEY,
        title=f"flight {place}",
        prompt="",
        options=_FAULTS,
        correct=fault,
        slips=tuple(_other_fault(letter) for letter in _FAULTS if letter != fault),
    )


_WRONG_TURNS = Table(
    key="arc-faults",
    lesson=KEY,
    title="Four flights, four wrong turns",
    listed=True,
    points=2.0,
    prompt="All four fly the Saltmarsh arc, clockwise, selector 2 set to radials. What went wrong on each? Four letters in "
    "the order of the table. **A** twisted selector 2 the wrong way; **B** turned, and forgot to twist; **C** chased the "
    "DME; **D** forgot the final course.",
    draw=lambda r: {"order": r.sample(range(4), 4)},
    cells=lambda g: {_STORIES["ABCD"[n]]: _fault_cell("ABCD"[n], place) for place, n in enumerate(g["order"], 1)},
    hints=(
        "For each flight compare three things: the radial it is on, the radial on selector 2, what the heading did.",
        "Selector behind the aircraft: which of two reasons? Heading swinging: which? Needle 1 dead at the end: which?",
        "Take the flight with four headings in one step.",
    ),
    model="{answer}.",
    why="Each of them is seen on a selector before it is seen on the DME.",
)

# ---------------------------------------------------------------- flown

_LEGS = 8  # ten-degree legs from radial 310 to the lead at 030, or the mirror image


def _draw_flown(r: random.Random, turn: str) -> dict[str, Any]:
    return {
        "turn": turn,
        "round": _ROUND[turn],
        "arc_nm": 10.0,
        "from_deg": 310 if turn == "right" else 118,
        "final_deg": 34,
        "course_deg": 214,
        "tas_kt": _TAS_KT,
    }


def _legs(g: Givens) -> list[tuple[int, int]]:
    """Where each leg begins and ends, as radials."""
    sign = _sign(g)
    return [
        (
            lesson_values.whole(g["from_deg"] + sign * 10 * leg),
            lesson_values.whole(g["from_deg"] + sign * 10 * (leg + 1)),
        )
        for leg in range(_LEGS)
    ]


def _flown_heading_deg(g: Givens, begin_deg: float) -> float:
    middle = begin_deg + 5 * _sign(g)
    return float(
        lesson_values.whole(
            float(
                arc.heading_deg(
                    radial_deg=middle,
                    turn=g["turn"],
                    tas_kt=g["tas_kt"],
                    wind_from_deg=g["wind_deg"],
                    wind_kt=g["wind_kt"],
                )
            )
        )
    )


def _inbound_deg(g: Givens) -> float:
    course = float(angles.reciprocal(g["from_deg"]))
    return float(lesson_values.whole(lesson_values.heading_deg(g, course, g["wind_deg"])))


def _start(g: Givens) -> dict[str, Any]:
    return {
        "radial_deg": float(g["from_deg"]),
        "dme_nm": 12.0,
        "altitude_ft": 3600,
        "heading_deg": _inbound_deg(g),
        "ias_kt": _INDICATED_KT,
    }


def _leg_label(end_deg: int) -> str:
    return f"heading to radial {end_deg:03d}"


def _plan_rows(g: Givens, filled: Mapping[str, Any]) -> list[dict[str, Any]]:
    legs = _legs(g)
    twist = 10.0 if filled["each twist"] == "UP" else -10.0
    headings = [float(angles.wrap360(filled[_leg_label(end)])) for _, end in legs]
    course_2 = filled["course 2 before the turn"]
    rows: list[dict[str, Any]] = [
        {
            "then": {
                "identify": True,
                "course_1_deg": float(angles.reciprocal(g["from_deg"])),
                "course_2_deg": course_2,
                "heading_deg": _inbound_deg(g),
                "ias_kt": _INDICATED_KT,
            },
            "note": "inbound",
        },
        {
            "when": {"dme_falls_to_nm": filled["turn at DME"]},
            "then": {"heading_deg": headings[0], "turn": filled["first turn"].lower()},
            "note": "on to the arc",
        },
    ]
    for leg, heading in enumerate(headings[1:], 1):
        then: dict[str, Any] = {"heading_deg": heading}
        last = leg == _LEGS - 1
        then["course_2_deg"] = (
            filled["turn to final on radial"] if last else float(angles.wrap360(course_2 + leg * twist))
        )
        if leg == _LEGS // 2:
            then["course_1_deg"] = filled["course 1 by half way"]
        rows.append({"when": {"needle_centres": 2}, "then": then, "note": f"leg {leg + 1}"})
    rows += [
        {"when": {"needle_centres": 2}, "then": {"follow": "needle 1"}, "note": "final"},
        {"when": {"dme_falls_to_nm": 7.0}, "then": {"end": True}, "note": "end"},
    ]
    return rows


def _plan_right(g: Givens) -> dict[str, Any]:
    return {
        "turn at DME": round(g["arc_nm"] + float(arc.lead_rule_nm(gs_kt=g["gs_kt"])), 1),
        "first turn": _first_turn({**g, "way": "inbound"}),
        "course 2 before the turn": float(_legs(g)[0][1]),
        "each twist": "UP" if g["turn"] == "right" else "DOWN",
        **{_leg_label(end): _flown_heading_deg(g, begin) for begin, end in _legs(g)},
        "course 1 by half way": float(g["course_deg"]),
        "turn to final on radial": float(round(_lead_radial_deg(g))),
    }


def _with_headings(g: Givens, heading: Callable[[int], float]) -> dict[str, Any]:
    return {
        **_plan_right(g),
        **{_leg_label(end): float(lesson_values.whole(heading(begin))) for begin, end in _legs(g)},
    }


def _day(from_deg: float, wind_kt: float) -> weather.Day:
    return lesson_values.day("arc", lesson_values.true_deg(from_deg), wind_kt)


def _plan_days(g: Givens, hidden: bool) -> list[weather.Day]:
    """Give the wind as briefed; at the desk a little veered and fresher, and a little backed and lighter."""
    changes = [(6, 2), (-6, -2)] if hidden else [(0, 0)]
    return [_day(g["wind_deg"] + turn, g["wind_kt"] + more) for turn, more in changes]


def _with_speed(g: dict[str, Any]) -> dict[str, Any]:
    """Add the ground speed at both leads, in whole tens: the way in and the end of the arc run nearly alike."""
    inbound = float(angles.reciprocal(g["from_deg"]))
    gs = float(
        wind.ground_speed_kt(
            course_deg=inbound, tas_kt=g["tas_kt"], wind_from_deg=g["wind_deg"], wind_kt=g["wind_kt"]
        )
    )
    return {**g, "gs_kt": round(gs / 10.0) * 10}


def _draw_plan(r: random.Random) -> dict[str, Any]:
    # Against the middle of the arc: on its first legs the correction is to the right, on its last ones to the left.
    blowing = {"wind_deg": r.choice([70, 75, 80, 85, 90]), "wind_kt": r.choice([20, 22])}
    return _with_speed({**_draw_flown(r, "right"), **blowing})


_PLAN_LIMIT_NM = 0.8
_LOST_SHARE = 0.25


class ArcPlan(FilledPlan):
    """A plan of an arc whose leads, however far out, are known for the mistake they are.

    A plan that leaves the arc so far that its floor is no longer relied on earns a quarter at most.
    """

    def judge(self, givens: Givens, answer: object, hidden: bool = False) -> Verdict:
        """Fly it and judge the flights; lost from the arc, whatever else was right counts little."""
        verdict = super().judge(givens, answer, hidden)
        critical = [goal for goal in self.goals if goal.critical]
        if any(goal.judge(givens, seen).share <= 0.0 for goal in critical for seen in verdict.evidence):
            return replace(verdict, share=min(verdict.share, _LOST_SHARE))
        return verdict

    def _slip(self, givens: Givens, filled: Mapping[str, Any]) -> Slip | None:
        taken = dict(filled)
        if filled["turn at DME"] < givens["arc_nm"] - 0.25:
            taken["turn at DME"] = _INSIDE_DME
        elif filled["turn at DME"] < givens["arc_nm"] + LEAST_LEAD_NM:
            taken["turn at DME"] = givens["arc_nm"]
        before = _sign(givens) * float(
            angles.difference_deg(from_deg=filled["turn to final on radial"], to_deg=givens["final_deg"])
        )
        if before >= 14.0 and before < 90.0:
            taken["turn to final on radial"] = float(_BEHIND_DEG)
        elif -90.0 < before < -1.5:
            taken["turn to final on radial"] = float(_PAST_DEG)
        return super()._slip(givens, taken)


_INSIDE_DME = 9.5
_BEHIND_DEG, _PAST_DEG = 20, 44  # before the last leg begins; past the final

_PLAN = ArcPlan(
    key="arc-plan",
    lesson=KEY,
    title="Fill the plan: the whole Saltmarsh arc",
    points=6.0,
    prompt="Fill the kneepad; the model flies it row by row. It turns at your DME, then at every centring of needle 2 it "
    "takes your next heading and twists selector 2 by ten, up or down. The heading to radial 030 is the last leg; on it "
    "selector 2 stands on your lead radial, and there it turns and follows needle 1. The headings stay as you planned "
    "them: there is no correcting, so 0.8 NM is asked, and on every leg a heading within 4 degrees of the one for this "
    "wind. For the lead to final use the rule, not the charted radial. Headings and courses in degrees magnetic. Handed "
    "in, it is flown in two other winds: six degrees more and two knots more, and six degrees less and two knots less.",
    shown="inbound on radial {from_deg:03d} at D12, 3,600 ft; {arc_nm:g} NM arc {round} to final course {course_deg:03d} "
    "(radial {final_deg:03d}); true airspeed {tas_kt} kt; wind from {wind_deg:03d}° **magnetic**, {wind_kt} kt; ground "
    "speed at both leads {gs_kt} kt",
    draw=_draw_plan,
    blanks={
        "turn at DME": Blank(example="9.5", tolerance=0.25),
        "first turn": Blank(words=("LEFT", "RIGHT")),
        "course 2 before the turn": Blank(tolerance=1.0),
        "each twist": Blank(words=("UP", "DOWN")),
        **{_leg_label(end): Blank(tolerance=2.5) for _, end in _legs(_draw_flown(random.Random(0), "right"))},
        "course 1 by half way": Blank(tolerance=1.0),
        "turn to final on radial": Blank(tolerance=1.5),
    },
    begin=_start,
    rows=_plan_rows,
    days=_plan_days,
    minutes=16.0,
    goals=(
        led_on(),
        joined(),
        held(limit_nm=_PLAN_LIMIT_NM),
        corrected(),
        selector_ahead(),
        final_set(),
        led_to_final(least_deg=1.0),  # at this ground speed the rule itself gives little more than two degrees
        final_held(),
    ),
    reference=_plan_right,
    drawn=lambda g: {"radials": [float(g["from_deg"]), float(g["final_deg"])], "arcs": [(10.0, 310.0, 34.0)]},
    slips=(
        Slip(
            "TWIST",
            lambda g: {**_plan_right(g), "each twist": "DOWN"},
            "Twisted back: needle 2 stays pinned after the first step and the next turn never comes. Which way do the "
            "radials count here?",
        ),
        Slip(
            "SKIP",
            lambda g: {**_plan_right(g), "course 2 before the turn": float(_legs(g)[1][1])},
            "The first setting is two steps ahead: a first leg of twenty degrees, and every later turn comes ten degrees late.",
        ),
        Slip(
            "LR",
            lambda g: {**_plan_right(g), "first turn": "RIGHT"},
            "The first turn goes the long way round, over the arc and back. Inbound, on which wing will the station be?",
        ),
        Slip(
            "LEADSGN",
            lambda g: {**_plan_right(g), "turn at DME": _INSIDE_DME},
            "Inbound the lead lies outside the arc: turned inside it, the flight rolls out a mile or more inside, and no "
            "heading is to blame.",
        ),
        Slip(
            "NOLEADON",
            lambda g: {**_plan_right(g), "turn at DME": g["arc_nm"]},
            "The turn on to the arc has no lead: begun at the arc itself, it rolls out inside. How much room does the turn take?",
        ),
        Slip(
            "FIRSTSET",
            lambda g: {**_plan_right(g), "course 2 before the turn": float(g["from_deg"])},
            "The first setting is the radial you are on: needle 2 is centred before the arc begins, and every turn comes a "
            "step too early. Which radial is the first ahead?",
        ),
        Slip(
            "NOLEAD",
            lambda g: {**_plan_right(g), "turn to final on radial": float(g["final_deg"])},
            "The turn to final has no lead: begun on the final radial itself, it goes through the final by a turn radius.",
        ),
        Slip(
            "LATELEAD",
            lambda g: {**_plan_right(g), "turn to final on radial": float(_PAST_DEG)},
            "The turn to final comes after the final radial: no wind carried you through it. The lead lies before it, "
            "the way the radials count.",
        ),
        Slip(
            "BEHIND",
            lambda g: {**_plan_right(g), "turn to final on radial": float(_BEHIND_DEG)},
            "On the last leg that radial is already behind you: needle 2 never centres, and the flight goes straight on "
            "through the final.",
        ),
        Slip(
            "COURSE",
            lambda g: {**_plan_right(g), "turn to final on radial": float(g["course_deg"])},
            "That is the final course, not a radial, and its needle centres on the final itself: no lead. Which radial "
            "comes before it?",
        ),
        Slip(
            "NOWIND",
            lambda g: _with_headings(g, lambda begin: _leg_deg(begin, _sign(g))),
            "The headings are those of still air: the wind carries the flight off the arc leg by leg.",
        ),
        Slip(
            "WCASIGN",
            lambda g: _with_headings(
                g, lambda begin: lesson_values.mirrored_deg(_leg_deg(begin, _sign(g)), _flown_heading_deg(g, begin))
            ),
            "The corrections point downwind and double the drift. The nose goes to where the wind comes from.",
        ),
        Slip(
            "ONECORR",
            lambda g: _with_headings(
                g,
                lambda begin: _leg_deg(begin, 1) + _flown_heading_deg(g, g["from_deg"]) - _leg_deg(g["from_deg"], 1),
            ),
            "The correction of the first leg was kept on all the others. The arc has turned since then, the wind has not: "
            "from which side does it blow on the last leg?",
        ),
        Slip(
            "TANGENT",
            lambda g: _with_headings(g, lambda begin: _flown_heading_deg(g, begin) - 5 * _sign(g)),
            "The wind is in, but each leg begins at right angles to its radial: out by 1.5 per cent a step. Nose inside.",
        ),
        Slip(
            "RECIP",
            lambda g: {**_plan_right(g), "course 1 by half way": float(g["final_deg"])},
            "Course 1 is the other end of the final: needle 1 reads reversed and following it leads away.",
        ),
    ),
    hints=(
        "Still-air headings first: one leg, then ten more each time. Then the wind on each.",
        "Heading = radial at the start of the leg + 90 + 5, plus the correction into the wind: about 60 x wind / airspeed "
        "x sine of the angle between wind and heading.",
        "First leg in still air: {from_deg:03d} + 95 = 405, that is 045; last leg 115. The wind is from {wind_deg:03d}: on "
        "which side of the nose is it on each of the two?",
    ),
    model="{answer}.",
    why="A plan like this holds the arc within a few tenths in the wind it was made for; the DME's trend does the rest.",
)


def _draw_by_hand(r: random.Random, turn: str) -> dict[str, Any]:
    return {**_draw_flown(r, turn), "wind_deg": r.randrange(10, 361, 10), "wind_kt": r.randrange(8, 23)}


def _by_hand_rows(g: Givens) -> list[dict[str, Any]]:
    return _plan_rows(g, _plan_right(_with_speed(dict(g))))


_HAND_WHY = "Turn ten, twist ten, and the DME's trend for what the wind does: no wind needs to be known beforehand."


def _by_hand(key: str, title: str, turn: str, points: float, told: str) -> FlownByHand:
    return FlownByHand(
        key=key,
        lesson=KEY,
        title=title,
        points=points,
        prompt=told
        + " The wind is not told. Judged are: station identified before the arc; on to the arc within 0.5 NM; held within "
        "1 NM; selector 2 on the next radial; final course on selector 1 before the lead; needle 1 within half scale from "
        "D8.6 to D7.1; never below 3,400 ft (hold 3,600). The flight ends by itself at D7 on final. Speed up time with "
        "the buttons while nothing happens. A flight of your own may be flown again as often as you like; the newest "
        "counts. When it has ended, run the next two cells.",
        goal="In on {from_deg:03d}, {arc_nm:g} NM arc {round}, final {course_deg:03d} to D7. Hold 3,600 ft.",
        shown="inbound on radial {from_deg:03d} at D12; {arc_nm:g} NM arc {round}, {turn} turns; final course "
        "{course_deg:03d} (radial {final_deg:03d}); indicated airspeed 98 kt",
        draw=lambda r: _draw_by_hand(r, turn),
        begin=_start,
        day=lambda g: _day(g["wind_deg"], g["wind_kt"]),
        goals=(
            identified(),
            joined(),
            held(),
            selector_ahead(),
            final_set(),
            final_held(),
            not_below(3400.0),
        ),
        rows=_by_hand_rows,
        courses=lambda g: (float(angles.reciprocal(g["from_deg"])), float(angles.reciprocal(g["from_deg"]))),
        ends_below_dme_nm=7.0,
        most_min=22.0,
        hints=(
            "Before you fly: lead DME, first turn, first heading, first setting of selector 2, lead radial.",
            "Needle 2 centred: turn ten, twist ten. DME growing: five to ten degrees more towards the station; falling: wait.",
            "Lead: half a mile outside the arc. First leg in still air: at right angles to the radial, then five inside.",
        ),
        model="A flight that turned half a mile before the arc, stepped by ten, set {course_deg:03d} on selector 1 by half "
        "way and turned three to four degrees before the final.",
        why=_HAND_WHY,
    )


_HAND = _by_hand(
    "arc-fly",
    "Fly it: the Saltmarsh arc by hand",
    "right",
    4.0,
    "Fly the whole arc of the Saltmarsh procedure: join, steps, turn to final.",
)
_HAND_MIRRORED = _by_hand(
    "arc-fly-mirrored",
    "Fly it mirrored",
    "left",
    4.0,
    "The same arc in the mirror (made up for this exercise): everything that went right goes left, in another wind.",
)

# ---------------------------------------------------------------- the task


def _draw_task(r: random.Random) -> dict[str, Any]:
    turn = r.choice(_WAYS)
    sign = 1 if turn == "right" else -1
    begin = lesson_values.whole(r.randrange(10, 361, 10))
    return {
        "turn": turn,
        "round": _ROUND[turn],
        "way": r.choice(["inbound", "outbound"]),
        "arc_nm": r.choice([11, 12, 13, 14]),
        "gs_kt": r.choice([108, 116, 120, 128]),
        "tas_kt": r.choice([104, 110, 116]),
        "radial_deg": begin,
        "final_deg": lesson_values.whole(begin + sign * r.choice([62, 67, 73, 78])),
        "wind_true_deg": r.randrange(10, 361, 10),
        "wind_kt": r.choice([16, 18, 20, 22]),
        "variation_deg": 13,
    }


def _task_leg(place: int) -> Callable[[Givens], Number]:
    def made(g: Givens) -> Number:
        sign = _sign(g)
        begins = g["radial_deg"] + sign * 10 * (place - 1)
        still = _leg_deg(begins, sign)
        number = Number(
            key=f"arc-task-heading-{place}",
            lesson=KEY,
            title=f"heading, leg {place}",
            prompt="",
            answer=lambda g: _held_deg(g, begins + 5 * sign),
            unit="degrees magnetic",
            tolerance=2.0,
            circle=True,
            slips=(
                Slip("NOWIND", lambda g: still, "The heading of still air: the wind takes you off the arc."),
                Slip(
                    "WCASIGN",
                    lambda g: lesson_values.mirrored_deg(still, _held_deg(g, begins + 5 * sign)),
                    "Correction downwind: twice the drift.",
                ),
                Slip(
                    "TANGENT",
                    lambda g: float(angles.wrap360(_held_deg(g, begins + 5 * sign) - 5 * sign)),
                    "Nose not inside: out by 1.5 per cent a step.",
                ),
                Slip("LR", lambda g: _leg_deg(begins, -sign), "The other way round the arc."),
            ),
            look="Middle of the step, then wind in magnetic.",
        )
        return _apart(number, g)

    return made


def _task_cells(g: Givens) -> dict[str, Question]:
    sign = _sign(g)
    steps: dict[str, Question] = {}
    for place in (1, 2, 3):
        steps[f"course 2, leg {place}"] = _setting(place, sign)
        steps[f"heading, leg {place}"] = _task_leg(place)(g)
    return {
        "turn at DME": replace(_TURN_DME, key="arc-task-dme"),
        "first turn": _first_cells(g)["first turn"],
        **steps,
        "course 1 by half way": Number(
            key="arc-task-course",
            lesson=KEY,
            title="course 1",
            prompt="",
            answer=lambda g: float(lesson_values.whole(g["final_deg"] + 180)),
            unit="degrees magnetic",
            tolerance=0.5,
            circle=True,
            slips=(
                Slip(
                    "RECIP",
                    lambda g: float(g["final_deg"]),
                    "The radial, not the course: flying in with it needle 1 reads reversed.",
                ),
            ),
            look="The course you fly in.",
        ),
        "lead radial": _apart(_LEAD_RADIAL, g),
    }


_TASK = Table(
    key="arc-task",
    lesson=KEY,
    title="The task: brief an arc",
    points=8.0,
    task=True,
    prompt="Ten-degree steps from the radial you join on. Fill the kneepad for this arc: DME one decimal, all else whole "
    "degrees magnetic; selector 2 by either end of the line; headings with the wind, within 2 degrees.",
    shown="{way} on radial {radial_deg:03d}; {arc_nm} NM arc {round}, {turn} turns; final inbound on radial "
    "{final_deg:03d}; ground speed for both leads {gs_kt} kt; true airspeed {tas_kt} kt; wind from {wind_true_deg:03d}° "
    "**true**, {wind_kt} kt; variation {variation_deg}° west",
    draw=_draw_task,
    cells=_task_cells,
    hints=("", "", ""),
    model="{answer}.",
    why="Lead, side, three settings, three headings, final, lead radial: with these on the kneepad the arc is only rhythm.",
)

_EXIT = Choice(
    key="arc-exit",
    lesson=KEY,
    title="Exit: when to turn to final",
    prompt="A ten-mile arc with the station on your **left**. Final on radial 200, ground speed 100 kt, standard rate. No "
    "lead radial is charted. Where do you begin the turn to final?",
    options={
        "A": "crossing radial 197",
        "B": "crossing radial 200",
        "C": "crossing radial 203",
        "D": "crossing radial 207",
    },
    correct="C",
    slips=(
        Slip(
            "LEADSGN",
            lambda g: "A",
            "With the station on the left, which way do the radials count? You cross that one after the final.",
        ),
        Slip(
            "NOLEAD", lambda g: "B", "No lead: the turn takes half a mile of room, and you roll out past the final."
        ),
        Slip(
            "CHARTED",
            lambda g: "D",
            "That leaves room for half rate. At standard rate you roll out short of the final. How many degrees is a mile "
            "at ten miles, and how many miles does the turn take?",
        ),
    ),
    hints=(
        "Two questions: how many degrees of lead, and on which side of 200 does this arc come from?",
        "Lead = 60 / arc x half a per cent of the ground speed, before the final radial.",
        "60 / 10 x 0.5 = ... degrees; station on the left, so the numbers fall towards 200.",
    ),
    model="{answer}. Three degrees of lead; station on the left, numbers fall, so 203 comes before 200.",
    why="The lead lies before the final radial, the way the radials count.",
)

BANK: tuple[Question, ...] = (
    _RECALL_INTERCEPT,
    _RECALL_NEEDLE,
    _PREDICT,
    _WAY,
    _WHY_INSIDE,
    _TURN_DME,
    _FIRST,
    _STEPS,
    _WHAT_IF,
    _WIND,
    _NEUTRAL,
    _REGAIN,
    _DME_SPEED,
    _LEAD,
    _FLOOR,
    _ORDER,
    _WRONG_TURNS,
    _PLAN,
    _HAND,
    _HAND_MIRRORED,
    _TASK,
    _EXIT,
)

LESSON = Lesson(
    key=KEY,
    title="Flying an arc by ten-degree steps",
    minutes=95,
    can=(
        "name lead DME, side, first heading and first setting for any arc",
        "stay within half a mile of the arc in wind, and know why you drift off it",
        "leave it on time and catch the final within half scale",
    ),
    bank=BANK,
)
