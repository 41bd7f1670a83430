"""Questions of the lesson on the missed approach and the hold."""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache, partial
from typing import Any

import numpy as np

from needlework.exercises import lesson_values
from needlework.exercises.descent_goals import at_minimums, floors_kept
from needlework.exercises.flown import Blank, Seen, on_the_line
from needlework.exercises.kinds import Choice, Givens, Number, Order, Outcome, Question, Slip, Table, Verdict
from needlework.exercises.lesson import Lesson
from needlework.exercises.missed_goals import (
    PlannedWayOut,
    WayOutByHand,
    climb_from,
    entered,
    level_at,
    outbound_ends,
    protected_side,
    turn_in_time,
    turned_inbound,
    turned_to,
    written_altitude,
)
from needlework.flying import pilot, plan
from needlework.trade import angles, holding, missed, units, wind
from needlework.world import aircraft, weather

KEY = "missed-approach"

_cell = partial(lesson_values.cell, KEY)


def _hand(side: str) -> int:
    return 1 if side == "right" else -1


# ---------------------------------------------------------------- recall

_RECALL_RATE = Number(
    key="ma-recall-rate",
    lesson=KEY,
    title="Recall: feet a mile, feet a minute",
    prompt="The descent line falls {gradient_ft_nm} ft a mile. Which rate of descent holds it? Feet per minute, within 10.",
    shown="true airspeed {tas_kt} kt, headwind {headwind_kt} kt",
    draw=lambda r: {
        "gradient_ft_nm": r.choice([305, 317, 330]),
        "tas_kt": r.choice([84, 88, 96, 102]),
        "headwind_kt": r.choice([12, 14, 16, 18]),
    },
    answer=lambda g: float(
        missed.climb_fpm(gradient_ft_nm=g["gradient_ft_nm"], gs_kt=g["tas_kt"] - g["headwind_kt"])
    ),
    unit="fpm",
    tolerance=10.0,
    close=25.0,  # five times the ground speed
    slips=(
        Slip(
            "PERMIN",
            lambda g: float(g["gradient_ft_nm"]),
            "Feet per mile read as feet per minute: too shallow, and at minimums still high. How many miles go by in a "
            "minute?",
        ),
        Slip(
            "IASGS",
            lambda g: float(missed.climb_fpm(gradient_ft_nm=g["gradient_ft_nm"], gs_kt=g["tas_kt"])),
            "That is the rate for the airspeed. The ground goes by {headwind_kt} kt slower, so at this rate you are low "
            "before the point.",
        ),
        Slip(
            "HDTL",
            lambda g: float(
                missed.climb_fpm(gradient_ft_nm=g["gradient_ft_nm"], gs_kt=g["tas_kt"] + g["headwind_kt"])
            ),
            "Headwind added instead of taken off: twice the error, and low.",
        ),
    ),
    hints=(
        "Over the ground first: how fast does it go by?",
        "Rate = gradient x ground speed / 60.",
        "Ground speed {tas_kt} - {headwind_kt} = ...",
    ),
    model="Ground speed {tas_kt} - {headwind_kt}; {gradient_ft_nm} x that / 60 = {answer}.",
    why="The same rule serves on the way up: obstacles, too, stand so many feet a mile.",
)

_RECALL_SELECTOR = Choice(
    key="ma-recall-selector",
    lesson=KEY,
    title="Recall: what goes on the selector?",
    prompt="You are south-west of a station on heading 120 and are to fly **outbound** on its radial 165 as soon as you meet "
    "it. What do you select?",
    options={
        "A": "345, the course back to the station",
        "B": "120, the heading until then",
        "C": "165",
        "D": "whatever centres the needle now",
    },
    correct="C",
    slips=(
        Slip(
            "RECIP",
            lambda g: "A",
            "Same line, other direction: the needle would send you away from it. Which way along the line do you mean to "
            "**fly**?",
        ),
        Slip(
            "HEADING",
            lambda g: "B",
            "The selector takes a line through the station, not the nose. With 120 set the needle waits for radial 120, "
            "and you fly through 165 unseen.",
        ),
        Slip(
            "HERE",
            lambda g: "D",
            "That tells which radial you are on now. It says nothing about the one you are going to.",
        ),
    ),
    hints=(
        "Which line, and which way along it?",
        "Select the course you mean to fly.",
        "Outbound on a radial the course is ...",
    ),
    model="{answer}: outbound the course is the radial itself.",
    why="Outbound on a radial, course and radial are the same number; set it before the turn.",
)

# ---------------------------------------------------------------- climb, and where to turn

_PREDICT = Choice(
    key="ma-predict",
    lesson=KEY,
    title="Predict: decided early",
    prompt="Saltmarsh, at minimums, 0.6 NM before the MAP (missed approach point), in cloud. You decide to go around; the way out "
    "is a climbing left turn. What do you do?",
    options={
        "A": "climb and turn now: the decision is made",
        "B": "climb now, turn at the missed approach point",
        "C": "stay level to the missed approach point, then climb and turn",
        "D": "ten seconds more, a little lower: perhaps the runway appears",
    },
    correct="B",
    slips=(
        Slip(
            "EARLYTURN",
            lambda g: "A",
            "The way out was checked for ground and masts from the MAP on. Turned early you fly beside it, 0.6 NM off, "
            "where nobody has looked. Which of the two may begin at once?",
        ),
        Slip(
            "WAIT",
            lambda g: "C",
            "Level is allowed, but it gives away half a mile of climb, and the climb is what clears the ground. What is "
            "there still to wait for?",
        ),
        Slip(
            "LOWER",
            lambda g: "D",
            "Below minimums without a reference, nobody has checked for ground or masts. The runway does not come sooner "
            "lower down.",
        ),
    ),
    hints=(
        "Two things follow the decision: a climb and a turn. From where was each of them checked?",
        "Straight ahead is clear up to the MAP; the turn is checked from the MAP on.",
        "The climb may begin ...; the turn ...",
    ),
    model="{answer}. (AIM 5-4-21 b.)",
    why="Climb at once, straight ahead; turn at the MAP. An early climb is a gift, an early turn is not.",
)

_WHY = Choice(
    key="ma-why-ground-speed",
    lesson=KEY,
    title="Why the ground speed?",
    prompt="In the worked example the tailwind asked for a higher rate of climb, at the same airspeed. Why?",
    options={
        "A": "a tailwind takes lift from the wing, so the aircraft climbs less",
        "B": "the hills stand so many feet a **mile**, and with the wind behind the miles go by faster",
        "C": "the airspeed indicator reads too little with the wind behind",
    },
    correct="B",
    slips=(
        Slip(
            "LIFT",
            lambda g: "A",
            "The wing feels only the air; a steady wind from behind changes nothing for it. What does the wind change?",
        ),
        Slip(
            "AIRSPEED",
            lambda g: "C",
            "The airspeed indicator knows no wind at all. What passes faster when the wind is behind?",
        ),
    ),
    hints=(
        "What moves with the air, and what stands still?",
        "Rate = gradient x ground speed / 60. Which of them did the wind change?",
        "Same minutes of climb, more ...",
    ),
    model="{answer}.",
    why="Same minutes, more miles: with the wind behind the climb over the ground is flatter.",
)

_FADED = Number(
    key="ma-climb-faded",
    lesson=KEY,
    title="Rate of climb: last step",
    prompt="Ground speed in the climb-out is worked out already. Which rate of climb makes the gradient? Feet per minute, "
    "within 10.",
    shown="published {gradient_ft_nm} ft/NM; ground speed {gs_kt} kt",
    draw=lambda r: {"gradient_ft_nm": r.choice([220, 240, 270, 300]), "gs_kt": r.choice([80, 85, 95, 100, 105])},
    answer=lambda g: float(missed.climb_fpm(gradient_ft_nm=g["gradient_ft_nm"], gs_kt=g["gs_kt"])),
    unit="fpm",
    tolerance=10.0,
    slips=(
        Slip(
            "PERMIN",
            lambda g: float(g["gradient_ft_nm"]),
            "Feet per **mile** flown as feet per minute: more than a mile goes by in each minute, and the ground comes up "
            "faster than you do.",
        ),
        Slip(
            "INV",
            lambda g: g["gradient_ft_nm"] * 60.0 / g["gs_kt"],
            "Ground speed is upside down: faster would then need less. How many miles go by in a minute?",
        ),
    ),
    hints=(
        "How many miles go by in a minute?",
        "Rate = gradient x ground speed / 60.",
        "{gradient_ft_nm} x {gs_kt} / 60 = ...",
    ),
    model="{gradient_ft_nm} x {gs_kt} / 60 = {answer}.",
    why="Published feet a mile, flown feet a minute: ground speed stands between them.",
)


def _draw_climb(r: random.Random) -> dict[str, Any]:
    while True:
        tas, vs, along = r.choice([78, 82, 86, 90]), r.choice([380, 420, 460, 500]), r.choice([16, 18, 20, 22])
        sign = r.choice([-1, 1])
        made, still = (float(missed.climb_gradient_ft_nm(vs_fpm=vs, gs_kt=gs)) for gs in (tas + sign * along, tas))
        # Between the two, so that who forgets the wind comes to the opposite answer.
        published = round((made + still) / 20.0) * 10
        if 210 <= published <= 360 and min(abs(made - published), abs(still - published)) > 18.0:
            return {
                "tas_kt": tas,
                "vs_fpm": vs,
                "along_kt": along,
                "along": "tailwind" if sign > 0 else "headwind",
                "sign": sign,
                "gradient_ft_nm": published,
            }


def _climb_gs(g: Givens) -> float:
    return float(g["tas_kt"] + g["sign"] * g["along_kt"])


def _climb_made(g: Givens) -> float:
    return float(missed.climb_gradient_ft_nm(vs_fpm=g["vs_fpm"], gs_kt=_climb_gs(g)))


def _climb_is_enough(g: Givens) -> str:
    return "YES" if _climb_made(g) >= g["gradient_ft_nm"] else "NO"


_CLIMB = Table(
    key="ma-climb",
    lesson=KEY,
    title="Is the climb enough today?",
    points=3.0,
    prompt="Warm and heavy, the aircraft climbs {vs_fpm} fpm. Ground speed in knots; the gradient this makes over the ground "
    'in feet per mile, within 8; and is it enough: "YES" or "NO"?',
    shown="published {gradient_ft_nm} ft/NM; climb {vs_fpm} fpm at {tas_kt} kt true airspeed; {along} {along_kt} kt on the "
    "climb-out",
    draw=_draw_climb,
    cells=lambda g: {
        "ground speed": _cell(
            "ma-climb-gs",
            _climb_gs,
            "kt",
            1.0,
            Slip("IASGS", lambda g: float(g["tas_kt"]), "That is the airspeed; the {along} is missing."),
            Slip(
                "HDTL",
                lambda g: float(g["tas_kt"] - g["sign"] * g["along_kt"]),
                "Head and tail are swapped. With the wind behind, does the ground pass faster or slower?",
            ),
            look="Airspeed, and the wind along the way.",
        ),
        "gradient made": _cell(
            "ma-climb-made",
            _climb_made,
            "ft/NM",
            8.0,
            Slip(
                "IASGS",
                lambda g: float(missed.climb_gradient_ft_nm(vs_fpm=g["vs_fpm"], gs_kt=g["tas_kt"])),
                "That is the gradient through the air. The hills do not move with the air.",
            ),
            Slip(
                "HDTL",
                lambda g: float(
                    missed.climb_gradient_ft_nm(vs_fpm=g["vs_fpm"], gs_kt=g["tas_kt"] - g["sign"] * g["along_kt"])
                ),
                "It follows from a ground speed with head and tail swapped. Mend the ground speed first.",
            ),
            Slip(
                "INV",
                lambda g: float(missed.climb_fpm(gradient_ft_nm=g["vs_fpm"], gs_kt=_climb_gs(g))),
                "Multiplied where it should be divided: feet a minute over miles a minute leaves feet a mile.",
            ),
            Slip(
                "PERMIN", lambda g: float(g["vs_fpm"]), "That is the rate, feet per minute. Asked is feet per mile."
            ),
            look="Feet a minute divided by miles a minute.",
        ),
        "enough": Choice(
            key="ma-climb-enough",
            lesson=KEY,
            title="enough",
            prompt="",
            options={"YES": "", "NO": ""},
            correct=_climb_is_enough,
            slips=(
                Slip(
                    "STILLAIR",
                    lambda g: "NO" if _climb_is_enough(g) == "YES" else "YES",
                    "So it would be in still air, or with head and tail swapped. Compare the gradient over the **ground** with the published one.",
                ),
            ),
        ),
    },
    hints=(
        "Ground speed first; the published figure is over the ground.",
        "Gradient = rate x 60 / ground speed. Compare with the published one.",
        "Ground speed: {tas_kt} kt with {along_kt} kt of {along}.",
    ),
    model="{answer}.",
    why="Looked at before the approach: where the climb is not enough, the answer is not to begin, or higher minimums.",
)


def _early_ft(g: Givens) -> float:
    return float(
        missed.climb_by_map_ft(alt_ft=g["mda_ft"], to_map_nm=g["early_nm"], vs_fpm=g["vs_fpm"], gs_kt=g["gs_kt"])
    )


_EARLY = Number(
    key="ma-early",
    lesson=KEY,
    title="What an early climb is worth",
    prompt="You give up at minimums before the MAP and climb at once, straight ahead. How high are you at the MAP, where the "
    "turn may begin? Feet, within 20.",
    shown="minimums {mda_ft} ft; {early_nm:g} NM before the MAP; climb {vs_fpm} fpm; ground speed {gs_kt} kt",
    draw=lambda r: {
        "mda_ft": 560,
        "early_nm": r.choice([0.8, 1.0, 1.2, 1.4]),
        "vs_fpm": r.choice([550, 600, 650]),
        "gs_kt": r.choice([70, 75, 80, 90]),
    },
    answer=_early_ft,
    unit="ft",
    tolerance=20.0,
    close=35.0,
    slips=(
        Slip(
            "WAIT",
            lambda g: float(g["mda_ft"]),
            "That is level to the MAP. Once it is decided, the climb begins here and now.",
        ),
        Slip(
            "PERMIN",
            lambda g: float(g["mda_ft"] + g["vs_fpm"] * g["early_nm"]),
            "Rate times miles. The rate is per **minute**: how many minutes do these miles take?",
        ),
        Slip(
            "GAIN",
            lambda g: _early_ft(g) - g["mda_ft"],
            "That is what you gain. You began at minimums, not at the sea.",
        ),
    ),
    hints=(
        "How many minutes until the MAP?",
        "Minutes = miles x 60 / ground speed; gain = minutes x rate; and where did it begin?",
        "{early_nm:g} x 60 / {gs_kt} = ... minutes",
    ),
    model="{early_nm:g} x 60 / {gs_kt} minutes at {vs_fpm} fpm, on top of {mda_ft}: {answer}.",
    why="The altitude published for the turn and the MAP itself: you turn when **both** are reached.",
)

# ---------------------------------------------------------------- the decision

_CODES: dict[str, str] = {
    "C": "go on down (above minimums: down to them; from there: to land)",
    "LW": "stay level and wait: something is missing, the MAP is still ahead",
    "LV": "stay level: all three are there, but the VDP is still ahead",
    "GP": "go around: no normal descent from here (**position**)",
    "GV": "go around: less than the published **visibility**",
    "GR": "go around: no sufficient **reference** in sight",
}
_MISSING = {"position": "GP", "visibility": "GV", "reference": "GR"}
_MDA_FT, _DDA_FT, _TDZ_FT, _VDP_NM, _MAP_NM, _REQUIRED_M = 560, 610, 62, 3.8, 4.7, 1500
_THRESHOLD_NM = 5.2


def _draw_cases(r: random.Random) -> dict[str, Any]:
    """Twelve moments: where, how high, what is seen; in an order of the student's own."""

    def case(said: str, alt_ft: int, dme_nm: float, vis_m: int, seen: tuple[str, ...], **more: Any) -> dict[str, Any]:
        facts = {"alt_ft": alt_ft, "dme_nm": dme_nm, "vis_m": vis_m, "seen": seen, "position": True, "line": False}
        return {"said": said.format(alt=alt_ft, dme=dme_nm, vis=f"{vis_m:,}"), **facts, **more}

    low_vis = r.choice([1300, 1400])
    cases = [
        case(
            "D{dme}, {alt} ft: runway in sight, visibility {vis} m", _MDA_FT, r.choice([3.2, 3.4]), 3000, ("runway",)
        ),
        case(
            "D{dme}, {alt} ft: runway lights in sight, a normal descent is just possible, visibility {vis} m",
            _MDA_FT,
            3.8,
            r.choice([1800, 2200]),
            ("runway lights",),
        ),
        case("D{dme}, {alt} ft: nothing in sight, visibility {vis} m", _MDA_FT, r.choice([4.0, 4.2]), 1000, ()),
        # Half a mile from the threshold and 450 ft above it no descent is a normal one any more.
        case("D4.7, {alt} ft: nothing in sight, visibility {vis} m", _MDA_FT, 4.7, 2000, (), position=False),
        case(
            "D{dme}, {alt} ft: the runway appears, visibility {vis} m; only a dive would reach it",
            _MDA_FT,
            r.choice([4.4, 4.5]),
            4000,
            ("runway",),
            position=False,
        ),
        case(
            "D{dme}, {alt} ft, going down to land: a shower, nothing in sight any more, visibility {vis} m",
            r.choice([380, 420]),
            4.2,
            2000,
            (),
        ),
        case(
            "D{dme}, {alt} ft, going down to land: approach lights and nothing else in sight, visibility {vis} m",
            r.choice([230, 250]),
            4.8,
            1800,
            ("approach lights",),
        ),
        case(
            "D{dme}, {alt} ft, going down to land: approach lights and nothing else in sight, visibility {vis} m",
            r.choice([140, 150]),
            5.0,
            1800,
            ("approach lights",),
        ),
        case(
            "D{dme}, {alt} ft, going down to land: approach lights with their red side row bars in sight, visibility "
            "{vis} m",
            r.choice([135, 145]),
            5.0,
            1700,
            ("approach lights", "red bars"),
        ),
        case(
            "D{dme}, {alt} ft, going down to land: runway in sight, but visibility is now {vis} m, nearly what is asked",
            r.choice([340, 360]),
            4.3,
            low_vis,
            ("runway",),
        ),
        case("D{dme}, {alt} ft, in cloud, nothing in sight, visibility {vis} m", r.choice([800, 840]), 3.0, 800, ()),
        case(
            "D{dme}, {alt} ft, on one line without levelling off, decision altitude {alt} (minimums and 50 ft, for the sink of "
            "the go-around): nothing in sight, visibility {vis} m",
            _DDA_FT,
            3.6,
            2000,
            (),
            line=True,
        ),
    ]
    return {"cases": r.sample(cases, len(cases))}


@cache
def _codes(
    alt_ft: int, dme_nm: float, vis_m: int, seen: tuple[str, ...], position: bool, line: bool
) -> tuple[str, ...]:
    found = missed.decide(
        missed.Conditions(
            alt_ft=alt_ft,
            mda_ft=_DDA_FT if line else _MDA_FT,
            tdz_ft=_TDZ_FT,
            # Whoever goes down to land passes the point on the way; what counts there is what is seen.
            to_map_nm=_MAP_NM - dme_nm,
            visibility_m=vis_m,
            required_m=_REQUIRED_M,
            references=seen,
            in_position=position,
            to_vdp_nm=_VDP_NM - dme_nm,
            constant_angle=line,
        )
    )
    if found.action == "go around":
        codes = [_MISSING[each] for each in found.missing]
        # What is reported would show the runway from here: with nothing in sight the flight visibility is less.
        if not seen and vis_m >= _REQUIRED_M and (_THRESHOLD_NM - dme_nm) * units.NM_M < vis_m:
            codes.append("GV")
        return tuple(sorted(codes, key=lambda code: code != "GR"))
    return ("C",) if found.action == "continue" else ("LW" if found.missing else "LV",)


def _accepted(case: Mapping[str, Any]) -> tuple[str, ...]:
    """Every code that is right for a case: what to do and, where several things are missing, any of them."""
    return _codes(*(case[name] for name in ("alt_ft", "dme_nm", "vis_m", "seen", "position", "line")))


def _decide_says(code: str, case: Mapping[str, Any]) -> str:
    """What a wrong code would mean here, and where to look."""
    right = _accepted(case)[0]
    going = right.startswith("G")
    if code == "C":
        if case["seen"] == ("approach lights",):
            height = case["alt_ft"] - _TDZ_FT
            return (
                f"Approach lights only, {height} ft above the touchdown zone: not enough to go lower. Which second "
                "sight is needed?"
            )
        if right == "LV":
            return "Going down now means a shallower way than was checked from here. Is the VDP still ahead?"
        if right == "GV":
            return "Nearly is not enough: the published figure is a limit. Which of the three is no longer there?"
        if right == "GP":
            return "Seeing is not landing. Could you get down from here at a normal rate?"
        return "On down, without all three, is where nobody has checked for masts. Position, visibility, reference: which?"
    said = {
        "LW": "Is something missing here that waiting may bring, with the MAP still ahead?",
        "LV": "Look at the DME: is the VDP still ahead, and are all three there?",
        "GP": "Position asks whether a normal descent reaches the runway. Is that what is missing?",
        "GV": "Compare the visibility with the 1,500 m asked. Is that what is missing?",
        "GR": "Look at what is in sight, and how high you are above the touchdown zone. Is that what is missing?",
    }[code]
    short = {"GV": case["vis_m"] < _REQUIRED_M, "GR": not case["seen"]}.get(code, False)
    if short and right in ("C", "LW"):
        what = "The visibility is too little, yes." if code == "GV" else "A reference is missing, yes."
        if right == "C":
            return f"{what} But above minimums the three are not asked yet. How low may you go without them?"
        return f"{what} But you are level at minimums. Is the MAP still ahead, and what may you do until then?"
    if code.startswith("G"):
        if going:
            return f"Going around is right; the reason is another. {said}"
        return f"Going around is always open to you; asked is whether you have to, here and now. {said}"
    if going:
        if code == "LW" and case["line"]:
            return (
                "A decision altitude has no level part: on one line you decide there and then. Which of the three is "
                "missing?"
            )
        if code == "LW" and case["alt_ft"] < _MDA_FT:
            return (
                "You are already below minimums: level here is where nobody has checked for masts. Which of the three is "
                "missing?"
            )
        return {
            "LW": "Level flight brings nothing more from here, and costs the climb. Which of the three is missing?",
            "LV": "Waiting for the VDP needs all three, above minimums. Which of them is missing here?",
        }[code]
    return said


def _decide_cell(number: int, case: Mapping[str, Any]) -> Choice:
    right = _accepted(case)

    def slip(code: str) -> Slip:
        return Slip(f"NOT{code}", lambda g: code, _decide_says(code, case))

    return Choice(
        key=f"ma-decide-{number}",
        lesson=KEY,
        title=case["said"],
        prompt="",
        options=_CODES,
        correct=right,
        slips=tuple(slip(code) for code in _CODES if code not in right),
    )


_DECIDE = Table(
    key="ma-decide",
    lesson=KEY,
    title="Twelve moments: what do you do, and why?",
    points=6.0,
    listed=True,
    prompt="Take Saltmarsh's figures for a runway **with** approach lights: minimums 560 ft, touchdown zone 62 ft, VDP D3.8, "
    "MAP D4.7, visibility 1,500 m. Visibility is as reported; “in sight” is what you see. Before the MAP, unless it says "
    "otherwise, a normal descent to the runway is possible. A private flight under US rules: above minimums you may go on "
    "down whatever is reported; other states and commercial rules may forbid it. Decide each moment at once. Write one of "
    "these for each:\n" + "\n".join(f"**{code}** {said}" for code, said in _CODES.items()),
    draw=_draw_cases,
    cells=lambda g: {case["said"]: _decide_cell(number, case) for number, case in enumerate(g["cases"], 1)},
    hints=(
        "First: where am I? Above minimums, level at them, below them, at the MAP. Then the three: position, visibility, "
        "reference.",
        "Above minimums: on down to them. At them, all three: on down, but not before the VDP; one missing: level as long as "
        "the MAP is ahead. Below minimums, at the MAP, or on one line at its decision altitude, one missing: go around. "
        "A runway that only a dive would reach is a go-around. Approach lights alone serve down to 100 ft above the "
        "touchdown zone; with red bars lower.",
        "Go through the twelve and mark first those below minimums or at D4.7: there is no level among them.",
    ),
    model="{answer}.",
    why="Three conditions, one decision, no third choice at the MAP. (14 CFR 91.175; AIM 5-4-5 f.)",
)

_ORDER = Order(
    key="ma-order",
    lesson=KEY,
    title="Going around, in order",
    prompt="Put the eight actions in order, from the decision on; write the letters as one word.",
    cards={
        "A": "radio: going around",
        "B": "first step of flap up",
        "C": "pitch to the climb attitude",
        "D": "at the MAP and the altitude of the turn: turn",
        "E": "power",
        "F": "rest of the clean-up, in steps",
        "G": "altimeter and vertical speed show a climb",
        "H": "needle and heading: straight ahead on the final course",
    },
    correct="ECGBFHDA",
    # Straight ahead is held all the while: who names it as soon as a climb is seen is right as well.
    free=("DA", "HB", "HF"),
    because={
        "EC": "Pitch without power costs speed, close to the ground.",
        "CG": "There is no climb to see before the nose is up.",
        "GB": "Flap holds you up. Raised before a climb is seen, you sink.",
        "BF": "Flap comes up in steps: all at once it drops you.",
        "GH": "First a climb that is seen; then the needle.",
        "CH": "First pitch; the needle runs away from nobody in five seconds.",
        "EH": "First power; the needle runs away from nobody in five seconds.",
        "HD": "First straight ahead; the turn is checked only from the MAP on.",
        "DA": "Fly, navigate, talk. The radio climbs nothing.",
        "HA": "Fly, navigate, talk. The radio climbs nothing.",
        "EA": "The radio climbs nothing: power first.",
        "EB": "Flap raised without power and without a climb: you sink.",
        "CB": "Flap raised before the nose is up and a climb is seen: you sink.",
    },
    slips=(
        Slip(
            "RADIO",
            lambda g: "AECGBFHD",
            "Radio first: seconds of sinking while you talk. Fly, navigate, talk.",
        ),
        Slip(
            "FLAP",
            lambda g: "BECGFHDA",
            "Flap first: it holds you up. Raised before power and a climb, you sink.",
        ),
    ),
    hints=(
        "What keeps you from the ground? That comes first.",
        "Power, pitch, climb seen, clean up in steps, navigate, talk.",
        "E first, then C.",
    ),
    model="{answer}: power, pitch, positive climb, flap, clean, navigate, turn, talk. (Common practice, no source.)",
    why="Power, pitch, positive climb, flap; then the needle; then the radio.",
)

_SELECTOR = Choice(
    key="ma-selector",
    lesson=KEY,
    title="When is selector 2 set?",
    prompt="The missed approach goes out on R165. When do you set 165 on the second selector?",
    options={
        "A": "in the climbing turn, when there is time to look for it",
        "B": "when the needle comes alive",
        "C": "before minimums, on the final",
        "D": "established outbound on the radial",
    },
    correct="C",
    slips=(
        Slip(
            "INTURN",
            lambda g: "A",
            "Climbing, turning and cleaning up in cloud is the worst moment to twist a knob, and the radial may go by "
            "meanwhile. When were your hands last free?",
        ),
        Slip(
            "ALIVE", lambda g: "B", "The needle of a line that is not selected never comes alive. Which comes first?"
        ),
        Slip(
            "LATE",
            lambda g: "D",
            "Without the course set you do not know that you are there. Which needle would tell you?",
        ),
    ),
    hints=(
        "When are your hands free?",
        "One receiver for the line now, one for the line next.",
        "On the final receiver 2 has nothing else to do.",
    ),
    model="{answer}. (Common practice.)",
    why="Line now on 1, line next on 2: when the missed approach comes its needle is already waiting.",
)

# ---------------------------------------------------------------- the radial


def _draw_radial(r: random.Random) -> dict[str, Any]:
    final, side = r.randrange(20, 350, 5), r.choice(["left", "right"])
    return {
        "final_deg": final,
        "radial_deg": lesson_values.whole(final + _hand(side) * r.choice([45, 50, 55, 60, 65, 70])),
        "cut_deg": r.choice([30, 45]),
        "side": side,
    }


def _cut_deg(g: Givens) -> float:
    return float(angles.wrap360(g["radial_deg"] + _hand(g["side"]) * g["cut_deg"]))


def _other(side: str) -> str:
    return "left" if side == "right" else "right"


_INTERCEPT = Table(
    key="ma-intercept",
    lesson=KEY,
    title="From the turn to the radial",
    points=3.0,
    prompt="The station lies behind you on the final, and you climb straight out. You are to turn and meet a radial outbound "
    'at the angle given. Which way is the turn ("LEFT" or "RIGHT"), on to which heading, and which course goes on selector '
    "2? No wind; degrees magnetic, whole.",
    shown="climbing out on radial and course {final_deg:03d}; to fly out on radial {radial_deg:03d}; angle {cut_deg}°",
    draw=_draw_radial,
    cells=lambda g: {
        "turn": Choice(
            key="ma-intercept-side",
            lesson=KEY,
            title="turn",
            prompt="",
            options={"LEFT": "", "RIGHT": ""},
            correct=g["side"].upper(),
            slips=(
                Slip(
                    "LR",
                    lambda g: _other(g["side"]).upper(),
                    "That leads away from the radial, over ground nobody has checked. Facing out, larger radials lie to "
                    "the right.",
                ),
            ),
        ),
        "heading": _cell(
            "ma-intercept-heading",
            _cut_deg,
            "degrees magnetic",
            1.5,
            Slip(
                "LR",
                lambda g: lesson_values.mirrored_deg(g["radial_deg"], _cut_deg(g)),
                "The angle is laid off to the wrong side of the radial: this heading never meets it. You must cross "
                "towards it.",
            ),
            Slip(
                "FROMRAD",
                lambda g: float(angles.wrap360(g["final_deg"] + _hand(g["side"]) * g["cut_deg"])),
                "The angle belongs on the radial you want, not on the course you are flying.",
            ),
            Slip(
                "NOCUT",
                lambda g: float(g["radial_deg"]),
                "That runs beside the radial and never meets it. Parallel first, then the angle.",
            ),
            circle=True,
            look="Parallel to the radial first; then the angle, farther round the same way.",
        ),
        "course on selector 2": _cell(
            "ma-intercept-course",
            lambda g: float(g["radial_deg"]),
            "degrees magnetic",
            0.5,
            Slip(
                "RECIP",
                lambda g: float(angles.reciprocal(g["radial_deg"])),
                "That is the course back to the station: the needle would send you away from the line.",
            ),
            Slip("HEADING", _cut_deg, "That is the heading; the selector takes the line."),
            Slip(
                "OLDLINE",
                lambda g: float(g["final_deg"]),
                "{final_deg:03d} is the final you are leaving: selector 2 waits for the line you are going to.",
            ),
            circle=True,
            look="The course you mean to fly.",
        ),
    },
    hints=(
        "Sketch the station, your radial and the wanted one as spokes. You are far out on yours.",
        "Turn the short way towards the wanted radial; go past parallel by the angle.",
        "Parallel is {radial_deg:03d}; you turn {side}, so the angle goes farther {side} ...",
    ),
    model="{answer}.",
    why="Outbound you cross towards the radial by turning past parallel. The published heading does just this.",
)

_MISTAKES = ("TURNED EARLY", "WRONG WAY ROUND", "FLEW THROUGH")


@cache
def _flown_with(mistake: str) -> tuple[Any, Any]:
    """Radials and distances of Saltmarsh's missed approach, flown with a mistake, every few seconds."""
    early, through = mistake == "TURNED EARLY", mistake == "FLEW THROUGH"
    turn = "right" if mistake == "WRONG WAY ROUND" else "left"
    follow: dict[str, Any] = {"heading_deg": 120} if through else {"follow": "needle 2"}
    rows: list[dict[str, Any]] = [
        {"then": {"course_1_deg": 214, "course_2_deg": 165, "follow": "needle 1"}},
        {"when": {"dme_rises_to_nm": 3.3}, "then": {"ias_kt": 75, "vs_fpm": 650, "level_ft": 3000}},
        {"when": {"dme_rises_to_nm": 3.5 if early else 4.7}, "then": {"heading_deg": 120, "turn": turn}},
        {"when": {"needle_alive": 2}, "then": follow},
        {"when": {"dme_rises_to_nm": 10.5}, "then": {"end": True}},
    ]
    start = {"radial_deg": 214, "dme_nm": 2.0, "altitude_ft": 560, "heading_deg": 214, "ias_kt": 80}
    plate = lesson_values.plate()
    still = weather.Day("still", "exercise", weather.parse("calm"), 15.0, 1013.0)
    flight = pilot.fly(plan.make_plan(rows, start, mistake), plate.station, aircraft.load("Finch"), still, minutes=14)
    seen = Seen(flight.track(), plate.station)
    return seen.radial_deg[::6], seen.dist_nm[::6]


def _mistake_cell(letter: str, mistake: str) -> Choice:
    says = {
        "TURNED EARLY": "Look where this track leaves the final: at the MAP, or before it?",
        "WRONG WAY ROUND": "Look at the side of the turn. Published is left.",
        "FLEW THROUGH": "Look what happens at R165: does this track turn out along it?",
    }
    return Choice(
        key=f"ma-mistakes-{letter}",
        lesson=KEY,
        title=letter,
        prompt="",
        options=dict.fromkeys(_MISTAKES, ""),
        correct=mistake,
        slips=tuple(
            Slip(f"NOT{number}", lambda g, wrong=wrong: wrong, says[wrong])  # type: ignore[misc]
            for number, wrong in enumerate(_MISTAKES, 1)
            if wrong != mistake
        ),
    )


_TRACKS = Table(
    key="ma-mistakes",
    lesson=KEY,
    title="Three tracks, three mistakes",
    points=1.5,
    prompt="Three pilots flew Saltmarsh's missed approach: climb on 214, at D4.7 left on to 120, out on R165. What did each do "
    'wrong? Write for each letter "TURNED EARLY", "WRONG WAY ROUND" or "FLEW THROUGH" (the radial went by unseen).',
    draw=lambda r: {"order": r.sample(list(_MISTAKES), 3)},
    cells=lambda g: {
        letter: _mistake_cell(letter, mistake) for letter, mistake in zip("ABC", g["order"], strict=True)
    },
    hints=(
        "Where does each leave the final, to which side, and what does it do at R165?",
        "Before the MAP: early. To the right: wrong way. Straight on across R165: the selector was still on the "
        "final.",
        "Begin with the one that turns right.",
    ),
    model="{answer}.",
    why="Climb now, turn there, to the side briefed, with the line next on selector 2.",
    figure="show_ways_out",
    figure_values=lambda g: {
        "tracks": {letter: _flown_with(mistake) for letter, mistake in zip("ABC", g["order"], strict=True)},
        "procedure": lesson_values.plate(),
    },
)

# ---------------------------------------------------------------- the hold

_ENTRIES = {"D": "direct", "P": "parallel", "T": "teardrop"}
_LETTER = {name: letter for letter, name in _ENTRIES.items()}


def _draw_entries(r: random.Random) -> dict[str, Any]:
    inbound, side = r.randrange(10, 360, 5), r.choice(["left", "right"])
    hand, out = _hand(side), inbound + 180
    # The outbound course seen from the heading, right positive for right turns: well inside each sector, and one edge.
    seen = [r.choice([20, 35, 50]), r.choice([-30, -50, -90]), r.choice([100, 125]), r.choice([165, 185, 200]),
            r.choice([225, 235]), r.choice([0, 3, -3])]  # fmt: skip
    headings = [lesson_values.whole(out - hand * each) for each in seen]
    return {"inbound_deg": lesson_values.whole(inbound), "side": side, "headings": r.sample(headings, len(headings))}


def _entry_cell(g: Givens, heading: int) -> Choice:
    accepted = tuple(
        _LETTER[name]
        for name in holding.entries(heading_deg=heading, inbound_course_deg=g["inbound_deg"], side=g["side"])
    )
    mirrored = _LETTER[
        str(holding.entry(heading_deg=heading, inbound_course_deg=g["inbound_deg"], side=_other(g["side"])))
    ]
    reciprocal = _LETTER[
        str(
            holding.entry(
                heading_deg=float(angles.reciprocal(heading)), inbound_course_deg=g["inbound_deg"], side=g["side"]
            )
        )
    ]

    def slip(letter: str) -> Slip:
        if letter == mirrored:
            return Slip(
                "MIRROR",
                lambda g: letter,
                f"{_ENTRIES[letter].capitalize()} would be right for turns the other way: it takes you to the unprotected "
                "side. On which side is this hold?",
            )
        if letter == reciprocal:
            return Slip(
                "RECIP",
                lambda g: letter,
                f"{_ENTRIES[letter].capitalize()} would be right for the opposite heading. The sectors are measured from "
                "your **heading** to the **outbound** course.",
            )
        return Slip(
            "SECTOR",
            lambda g: letter,
            f"Not {_ENTRIES[letter]} from here. Put your heading up: where does the outbound course point?",
        )

    return Choice(
        key=f"ma-entries-{heading}",
        lesson=KEY,
        title=f"heading {heading:03d}",
        prompt="",
        options=_ENTRIES,
        correct=accepted,
        slips=tuple(slip(letter) for letter in _ENTRIES if letter not in accepted),
    )


_SECTORS = Table(
    key="ma-entries",
    lesson=KEY,
    title="Six headings, six entries",
    points=3.0,
    listed=True,
    prompt='You reach the fix on each of these headings. Which entry: "D" direct, "P" parallel or "T" teardrop? Within five '
    "degrees of an edge both entries count.",
    shown="inbound course {inbound_deg:03d}, {side} turns",
    draw=_draw_entries,
    cells=lambda g: {f"heading {each:03d}": _entry_cell(g, each) for each in g["headings"]},
    hints=(
        "Turn the picture so that your heading is up. Where does the outbound course point?",
        "Right turns: outbound course up to 70 right of the nose: teardrop; up to 110 left: parallel; else direct. Left "
        "turns: the mirror image.",
        "The outbound course is the other end of {inbound_deg:03d}.",
    ),
    model="{answer}.",
    why="Sectors of 70, 110 and 180 degrees, from the heading at the fix to the outbound course. (AIM 5-3-8; the five degrees "
    "of an edge: ICAO Doc 8168.)",
    figure="show_hold",
    figure_values=lambda g: {"inbound_course_deg": g["inbound_deg"], "side": g["side"], "sectors": False},
)


def _draw_hold(r: random.Random) -> dict[str, Any]:
    return {"inbound_deg": r.randrange(10, 360, 5), "side": r.choice(["left", "right"])}


_TEARDROP = Number(
    key="ma-teardrop",
    lesson=KEY,
    title="The teardrop heading",
    prompt="A teardrop entry: which heading do you take up at the fix? No wind; degrees magnetic, whole.",
    shown="inbound course {inbound_deg:03d}, {side} turns",
    draw=_draw_hold,
    answer=lambda g: float(
        holding.entry_heading_deg(inbound_course_deg=g["inbound_deg"], side=g["side"], entry="teardrop")
    ),
    unit="degrees magnetic",
    tolerance=1.0,
    circle=True,
    slips=(
        Slip(
            "LR",
            lambda g: float(
                holding.entry_heading_deg(
                    inbound_course_deg=g["inbound_deg"], side=_other(g["side"]), entry="teardrop"
                )
            ),
            "Thirty degrees to the wrong side: that leads out of the pattern, over ground nobody has checked. On which side "
            "of the inbound course is this hold?",
        ),
        Slip(
            "RECIP",
            lambda g: float(angles.wrap360(g["inbound_deg"] - _hand(g["side"]) * 30.0)),
            "Laid off from the inbound course: you would fly back towards where the hold is not. Out is the other end.",
        ),
        Slip(
            "PARALLEL",
            lambda g: float(angles.reciprocal(g["inbound_deg"])),
            "That is the outbound course itself: a parallel entry. The teardrop leans into the pattern.",
        ),
    ),
    hints=(
        "Out first, then lean to the side of the hold.",
        "Outbound course, 30 degrees into the pattern: minus for right turns, plus for left.",
        "The outbound course is the other end of {inbound_deg:03d}.",
    ),
    model="{answer}.",
    why="Thirty degrees, so that the turn back ends near the inbound course.",
)


@dataclass(frozen=True, kw_only=True)
class _Drift(Number):
    """An outbound heading: three times the drift is asked for, twice is taught as well and passes."""

    twice: Callable[[Givens], float] = field(default=lambda _givens: 0.0)

    def judge(self, givens: Givens, answer: object, hidden: bool = False) -> Verdict:
        """Judge as a number; between twice and three times the correction passes."""
        verdict = super().judge(givens, answer, hidden)
        if verdict.outcome is Outcome.ERROR or verdict.outcome is Outcome.PASS:
            return verdict
        value, wanted, least = float(verdict.given.replace(",", "")), self.right(givens), self.twice(givens)
        between = self._error(least, wanted)
        off = self._error(value, wanted)
        if min(0.0, between) - self.tolerance <= off <= max(0.0, between) + self.tolerance:
            return replace(
                verdict,
                outcome=Outcome.PASS,
                share=1.0,
                slip="",
                text=f"Right: {verdict.given} {self.unit}. Less than three times the correction; twice is taught, too.",
            )
        return verdict


def _outbound(g: Givens, times: float) -> float:
    out = float(angles.reciprocal(g["inbound_deg"]))
    return float(angles.wrap360(out - float(np.clip(times * _drift_deg(g), -30.0, 30.0))))


def _drift_deg(g: Givens) -> float:
    """Wind correction on the inbound leg, right positive: found, or from the wind."""
    if "found_deg" in g:
        return float(angles.difference_deg(from_deg=g["inbound_deg"], to_deg=g["found_deg"]))
    return float(
        wind.correction_deg(
            course_deg=g["inbound_deg"],
            tas_kt=g["tas_kt"],
            wind_from_deg=lesson_values.wind_from_deg(g),
            wind_kt=g["wind_kt"],
        )
    )


def _drift(key: str, **more: Any) -> _Drift:
    """Ask for the outbound heading of a hold in wind."""
    return _Drift(
        key=key,
        lesson=KEY,
        answer=lambda g: _outbound(g, 3.0),
        twice=lambda g: _outbound(g, 2.0),
        unit="degrees magnetic",
        tolerance=2.0,
        circle=True,
        slips=(
            Slip(
                "NOWIND",
                lambda g: float(angles.reciprocal(g["inbound_deg"])),
                "The outbound course without the wind: the two turns and the leg all drift the same way, and the turn "
                "inbound misses the course by far.",
            ),
            Slip(
                "SINGLE",
                lambda g: _outbound(g, 1.0),
                "Once is for the leg alone. In both turns you drift as well and cannot correct: the outbound leg must pay "
                "for them, too.",
            ),
            Slip(
                "WCASIGN",
                lambda g: _outbound(g, -3.0),
                "Right size, wrong side. You have turned round: what was right of the nose inbound is left of it outbound.",
            ),
        ),
        **more,
    )


_DRIFT_FADED = _drift(
    "ma-drift-faded",
    title="Outbound heading: last step",
    prompt="In a hold you found the heading that keeps the inbound course. Which heading do you fly outbound? Degrees "
    "magnetic, whole, within 2.",
    shown="inbound course {inbound_deg:03d}; heading {found_deg:03d} holds it",
    draw=lambda r: (lambda inbound, off: {"inbound_deg": inbound, "found_deg": lesson_values.whole(inbound + off)})(
        r.randrange(10, 360, 5), r.choice([-1, 1]) * r.choice([6, 7, 8, 10])
    ),
    hints=(
        "How many degrees, and to which side, inbound? Outbound the wind comes over the other shoulder.",
        "Outbound course, and three times the correction to the other side; at most 30.",
        "Inbound the correction is the difference between {found_deg:03d} and {inbound_deg:03d}.",
    ),
    model="{answer}: the outbound course, and three times the correction to the other side.",
    why="AIM's example: eight left inbound becomes twenty-four right outbound (5-3-8). Rule of thumb: a few degrees off, and "
    "capped at 30; the next lap puts it right.",
)


def _draw_hold_wind(r: random.Random) -> dict[str, Any]:
    while True:
        inbound = r.randrange(10, 360, 5)
        drawn = {
            "inbound_deg": inbound,
            "tas_kt": r.choice([90, 95, 100]),
            "wind_true_deg": lesson_values.whole(
                lesson_values.true_deg(inbound + r.choice([-1, 1]) * r.randrange(40, 141, 10)), 10
            ),
            "wind_kt": r.choice([12, 14, 16, 18]),
            "variation_deg": 13,
        }
        if 5.0 <= abs(_drift_deg(drawn)) <= 9.8:
            return drawn


def _inbound_heading(g: Givens) -> float:
    return lesson_values.heading_deg(g, g["inbound_deg"])


_HOLD_WIND = Table(
    key="ma-hold-wind",
    lesson=KEY,
    title="The hold in wind",
    points=3.0,
    prompt="Which heading holds the inbound course, and which do you fly outbound? Degrees magnetic, whole, within 2.",
    shown="inbound course {inbound_deg:03d}°; true airspeed {tas_kt} kt; wind from {wind_true_deg:03d}° **true**, {wind_kt} "
    "kt; variation {variation_deg}° west",
    draw=_draw_hold_wind,
    cells=lambda g: {
        "inbound heading": _cell(
            "ma-hold-wind-in",
            _inbound_heading,
            "degrees magnetic",
            2.0,
            Slip("NOWIND", lambda g: float(g["inbound_deg"]), "The course itself: the wind carries you off it."),
            Slip(
                "WCASIGN",
                lambda g: float(angles.wrap360(g["inbound_deg"] - _drift_deg(g))),
                "Right size, wrong side: it doubles the drift. The nose goes to where the wind comes **from**.",
            ),
            Slip(
                "TRUE",
                lambda g: lesson_values.true_deg(_inbound_heading(g)),
                "That is the true heading; the compass shows magnetic. Which way does west go?",
            ),
            circle=True,
            look="Wind in magnetic first; then about 60 x crosswind / airspeed, into the wind.",
        ),
        "outbound heading": _drift(
            "ma-hold-wind-out", title="outbound heading", prompt="", look="Three times, other side."
        ),
    },
    hints=(
        "Draw the inbound course as an arrow, then the wind. From which side?",
        "Correction about 60 x crosswind / airspeed, into the wind; outbound three times it, to the other side.",
        "Wind magnetic: {wind_true_deg:03d} + {variation_deg} = ...; its angle to {inbound_deg:03d} is ...",
    ),
    model="{answer}.",
    why="One for the leg, two for the turns.",
)

_TIME = Number(
    key="ma-time",
    lesson=KEY,
    title="The next lap",
    prompt="A one-minute hold. You flew {outbound_s} seconds outbound; the inbound leg then took {inbound_s} seconds. How many "
    "seconds do you fly outbound next time? Within 7.",
    draw=lambda r: {"outbound_s": 60, "inbound_s": r.choice([38, 40, 42, 44, 76, 78, 80, 82])},
    answer=lambda g: float(holding.next_outbound_s(outbound_s=g["outbound_s"], inbound_s=g["inbound_s"])),
    unit="seconds",
    tolerance=7.0,
    slips=(
        Slip(
            "SIGN",
            lambda g: float(g["inbound_s"]),
            "The change went the wrong way: the inbound leg moves still farther from a minute. Is the leg too long or too "
            "short?",
        ),
        Slip(
            "SAME",
            lambda g: float(g["outbound_s"]),
            "The same again gives the same again. The minute is wanted **inbound**.",
        ),
    ),
    hints=(
        "Which leg is to take a minute?",
        "Add outbound what inbound fell short by, or take off what it was over.",
        "60 - {inbound_s} = ...",
    ),
    model="{answer}: outbound changes by what inbound was off; then refine.",
    why="The first lap is a guess, the second is better. (Common practice; the exact change depends on the wind.)",
)

_DME_END = Number(
    key="ma-dme-end",
    lesson=KEY,
    title="A hold by DME",
    prompt="At which DME do you turn inbound? NM, whole.",
    shown="fix at D{fix_nm}; legs of {leg_nm} NM; the inbound leg leads {direction} the station",
    draw=lambda r: {
        "fix_nm": r.choice([12, 13, 15, 18, 22]),
        "leg_nm": r.choice([4, 5, 6]),
        "direction": r.choice(["to", "away from"]),
    },
    answer=lambda g: float(
        holding.outbound_end_nm(
            fix_dme_nm=g["fix_nm"], leg_dme_nm=g["leg_nm"], direction="to" if g["direction"] == "to" else "from"
        )
    ),
    unit="NM",
    tolerance=0.1,
    slips=(
        Slip(
            "DMESGN",
            lambda g: float(
                holding.outbound_end_nm(
                    fix_dme_nm=g["fix_nm"],
                    leg_dme_nm=g["leg_nm"],
                    direction="from" if g["direction"] == "to" else "to",
                )
            ),
            "Counted the wrong way: that reading lies on the far side of the fix, outside the hold. Outbound, does the DME "
            "rise or fall?",
        ),
        Slip("LEG", lambda g: float(g["leg_nm"]), "That is the length of the leg; the DME counts from the station."),
    ),
    hints=(
        "Sketch station, fix and inbound arrow. Where does the outbound leg lie?",
        "Inbound to the station: outbound leads away, add. Inbound away from it: subtract.",
        "{fix_nm} and {leg_nm}: ...",
    ),
    model="{answer}.",
    why="Inbound to the station: fix plus leg; else fix less leg. (AIM 5-3-8: 10 + 5, 28 - 8.)",
)


def _square_wind_kt(g: Givens, correction_deg: float) -> float:
    """Speed of a wind from 250 that asks for a correction on 345. [kt]"""
    across = np.sin(np.deg2rad(345.0 - 250.0))
    return float(g["tas_kt"] * np.sin(np.deg2rad(correction_deg)) / across)


_WHAT_IF = Number(
    key="ma-what-if",
    lesson=KEY,
    title="What-if: where triple drift ends",
    prompt="With the sliders: true airspeed {tas_kt} kt, wind from 250°M, nearly square across the hold's inbound course of 345. "
    "Raise its speed knot by knot. At how many knots does three times the correction reach its limit, 30 degrees off the "
    "outbound course? Whole knots.",
    draw=lambda r: {"tas_kt": r.choice([80, 86, 91, 97])},  # here the sum comes out just below a whole knot
    answer=lambda g: _square_wind_kt(g, 30.0 / 3.0),
    unit="kt",
    tolerance=0.8,
    close=1.5,
    close_says="Look for the first speed at the limit: one knot less must not be there yet.",
    slips=(
        Slip(
            "SINGLE",
            lambda g: _square_wind_kt(g, 30.0),
            "There the correction **inbound** is 30. Read the outbound heading: it has long been at its limit.",
        ),
        Slip(
            "DOUBLE",
            lambda g: _square_wind_kt(g, 30.0 / 2.0),
            "There twice the correction makes 30. Three times gets there earlier.",
        ),
    ),
    hints=(
        "Set the airspeed and the wind's direction first; then change only its speed and watch the outbound heading.",
        "Three times the correction is 30 where the correction is 10.",
        "Begin at 8 kt and go up until the sentence says: the most that is flown.",
    ),
    model="{answer}: there the correction inbound is 10 degrees.",
    why="Quite an ordinary wind. Beyond it the hold cannot be made good by heading alone: the legs need watching.",
)

# ---------------------------------------------------------------- flown

_COURSES = {"course_deg": 214, "radial_deg": 165, "hold_deg": 345}


def _draw_wind(r: random.Random) -> dict[str, Any]:
    return {
        "wind_true_deg": r.randrange(10, 361, 10),
        "wind_kt": r.choice([10, 12, 14]),
        "variation_deg": 13,
        "tas_kt": 100,
    }


def _draw_plan(r: random.Random) -> dict[str, Any]:
    return {**_COURSES, **_draw_wind(r), "decided_nm": r.choice([3.2, 3.3, 3.4])}


def _plan_right(g: Givens) -> dict[str, Any]:
    return {
        "climb from DME": float(g["decided_nm"]),
        "turn not before DME": _MAP_NM,
        "turn not below": 900.0,
        "turn to the": "LEFT",
        "heading to intercept": 120.0,
        "course 2": 165.0,
        "heading after BELDU": float(lesson_values.whole(lesson_values.heading_deg(g, 135.0))),
        "outbound to DME": 18.0,
        "turn inbound to the": "RIGHT",
        "course 1 inbound": 345.0,
    }


def _way_out(filled: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Rows from the decision to the fix of the hold and back to it."""
    return [
        {
            "when": {"dme_rises_to_nm": filled["climb from DME"]},
            "then": {"vs_fpm": 650, "level_ft": 3000, "ias_kt": 75, "configuration": "approach flap"},
            "note": "going around",
        },
        {"when": {"after_s": 12}, "then": {"configuration": "clean"}, "note": "clean"},
        {
            "when": {
                "dme_rises_to_nm": filled["turn not before DME"],
                # What is passed while still cleaning up counts as reached at the end of it.
                "alt_reaches_ft": max(float(filled["turn not below"]), _MDA_FT + 200.0),
            },
            "then": {"heading_deg": filled["heading to intercept"], "turn": filled["turn to the"].lower()},
            "note": "turn",
        },
        {"when": {"needle_alive": 2}, "then": {"follow": "needle 2"}, "note": "radial"},
        {"when": {"dme_rises_to_nm": 10}, "then": {"ias_kt": 96}, "note": "level"},
        {
            "when": {"dme_rises_to_nm": 14.0},
            "then": {"heading_deg": filled["heading after BELDU"], "course_1_deg": filled["course 1 inbound"]},
            "note": "BELDU",
        },
        {
            "when": {"dme_rises_to_nm": filled["outbound to DME"]},
            "then": {
                "heading_deg": filled["course 1 inbound"],
                "turn": filled["turn inbound to the"].lower(),
            },
            "note": "turn inbound",
        },
        {"when": {"heading_reached": True}, "then": {"follow": "needle 1"}, "note": "inbound"},
        {"when": {"dme_falls_to_nm": 14.0}, "then": {"end": True}, "note": "end"},
    ]


def _plan_rows(_g: Givens, filled: Mapping[str, Any]) -> list[dict[str, Any]]:
    first = {
        "identify": True,
        "course_1_deg": 214,
        "course_2_deg": filled["course 2"],
        "follow": "needle 1",
        "ias_kt": 84,
    }
    return [{"then": first, "note": "final"}, *_way_out(filled)]


_WAY_OUT_GOALS = (
    turn_in_time(_MAP_NM, 900.0, weight=3.0),
    turned_to("left", weight=3.0),
    on_the_line("radial_deg", 10.5, 13.5),
    level_at(3000.0, 11.0),
    entered(14.0, 1.0),
    outbound_ends(18.0),
    turned_inbound(14.0, 1.0),
    protected_side(14.0, 1.0),
    on_the_line("hold_deg", 15.5, 14.2),
)

_PLAN = PlannedWayOut(
    key="ma-plan",
    lesson=KEY,
    title="Fill the plan; the model flies it",
    points=5.0,
    prompt="Saltmarsh, level at 560 ft. At D{decided_nm:g} you hear that the runway is blocked, and decide to go around. Fill "
    "the plan of the missed approach and of the entry into the hold at BELDU. The model climbs at 650 fpm and cleans up; it "
    "turns when your DME **and** your altitude are reached; it follows needle 2 once that is alive; at D14 it steers your "
    "heading after BELDU (put your wind correction in, once: an entry leg is tracked), at your DME it turns inbound and follows "
    "needle 1. Parallel and teardrop are both good here. When "
    "it is handed in it is flown in two other winds, ten degrees and three knots either side of the one briefed.",
    shown="climb on 214 to 900 ft, not before D4.7; climbing left turn to 3,000 ft on heading 120; out on R165 to BELDU (D14); "
    "hold: inbound 345, right turns, legs 4 NM. True airspeed in the hold {tas_kt} kt; wind from {wind_true_deg:03d}° "
    "**true**, {wind_kt} kt; variation {variation_deg}° west",
    draw=_draw_plan,
    blanks={
        "climb from DME": Blank(example="2.5", tolerance=0.15),
        "turn not before DME": Blank(example="2.5", tolerance=0.1),
        "turn not below": Blank(example="1500", tolerance=20.0),
        "turn to the": Blank(words=("LEFT", "RIGHT")),
        "heading to intercept": Blank(tolerance=4.0),
        "course 2": Blank(tolerance=1.0),
        "heading after BELDU": Blank(tolerance=3.0),
        "outbound to DME": Blank(example="12", tolerance=0.3),
        "turn inbound to the": Blank(words=("LEFT", "RIGHT")),
        "course 1 inbound": Blank(tolerance=1.0),
    },
    begin=lambda g: {
        "radial_deg": 214,
        "dme_nm": 2.6,
        "altitude_ft": 560,
        "heading_deg": 214,
        "ias_kt": 84,
        "configuration": "landing flap",
    },
    rows=_plan_rows,
    days=lesson_values.plan_days,
    goals=(climb_from("decided_nm", earliest_nm=0.25), written_altitude("turn not below", 900.0), *_WAY_OUT_GOALS),
    reference=_plan_right,
    minutes=26.0,
    slips=(
        Slip(
            "EARLYTURN",
            lambda g: {**_plan_right(g), "turn not before DME": float(g["decided_nm"])},
            "The turn begins with the altitude alone, before the MAP: nobody has checked that ground.",
        ),
        Slip(
            "LR",
            lambda g: {**_plan_right(g), "turn to the": "RIGHT"},
            "The turn goes the wrong way round, over ground nobody has checked. Published is the other side.",
        ),
        Slip(
            "AWAY",
            lambda g: {**_plan_right(g), "heading to intercept": 210.0},
            "The heading to intercept leads away from the radial: the angle is laid off to the wrong side of parallel. From "
            "which side do you come?",
        ),
        Slip(
            "RECIP",
            lambda g: {**_plan_right(g), "course 2": 345.0},
            "Course 2 is the way back to the station: followed, its needle leads away from BELDU.",
        ),
        Slip(
            "DMESGN",
            lambda g: {**_plan_right(g), "outbound to DME": 10.0},
            "The DME is counted the wrong way: inbound leads to the station, so outbound it rises.",
        ),
        Slip(
            "MIRROR",
            lambda g: {
                **_plan_right(g),
                "heading after BELDU": float(lesson_values.whole(lesson_values.heading_deg(g, 195.0))),
                "turn inbound to the": "LEFT",
            },
            "The teardrop leans out of the pattern, to the side nobody has checked. Draw the hold: on which side does it "
            "lie?",
        ),
        Slip(
            "RECIPIN",
            lambda g: {**_plan_right(g), "course 1 inbound": 165.0},
            "Course 1 inbound is the outbound course: the model flies on away from BELDU.",
        ),
    ),
    hints=(
        "Everything but the wind and the first line stands in the text of the missed approach.",
        "Climb where it is decided; turn at the MAP and 900 ft, whichever comes later; out on 165. At BELDU: 165 (parallel, then turn left) "
        "or 135 (teardrop, then turn right), with wind correction; out to 14 + 4.",
        "Climb from D{decided_nm:g}; wind magnetic {wind_true_deg:03d} + {variation_deg} = ...",
    ),
    model="{answer}. (Or parallel: 165 with its correction, and then a left turn.)",
    why="Ten lines, all known before the approach began: in the cloud there is only flying left to do.",
)

# From here a descent to the threshold takes more than a thousand feet a minute: past what is normal.
_LATE_NM, _LATE = 4.6, "The runway comes in sight, 0.6 NM ahead and 500 ft below. Decide."
_HAND_FLOORS = ((0.0, 3.0, 800.0), (3.0, 99.0, float(_MDA_FT)))


def _final_gs(g: Givens) -> float:
    return float(
        wind.ground_speed_kt(
            course_deg=214.0, tas_kt=86.0, wind_from_deg=lesson_values.wind_from_deg(g), wind_kt=g["wind_kt"]
        )
    )


def _hand_rows(g: Givens) -> list[dict[str, Any]]:
    down = -float(missed.climb_fpm(gradient_ft_nm=lesson_values.plate().gradient_ft_nm, gs_kt=_final_gs(g)))
    return [
        {
            "then": {
                "identify": True,
                "course_1_deg": 214,
                "course_2_deg": 165,
                "follow": "needle 1",
                "vs_fpm": down,
                "level_ft": 800,
            },
            "note": "final",
        },
        {"when": {"dme_rises_to_nm": 3.0}, "then": {"vs_fpm": down, "level_ft": _MDA_FT}, "note": "step-down"},
        *_way_out({**_plan_right({**g, "decided_nm": _MAP_NM}), "climb from DME": _MAP_NM}),
    ]


_BY_HAND = WayOutByHand(
    key="ma-hand",
    lesson=KEY,
    title="Fly it by hand",
    points=5.0,
    prompt="Another day, another wind. Selector 2 still shows 360: set it before you fly. Fly Saltmarsh in cloud from D1.0 on the final to minimums. Should the runway come in sight, the panel says so: decide "
    "by the three conditions. Go around, and enter the hold at BELDU; the flight ends when you come back to D14 inbound. On the "
    "long legs let time run faster (×2, ×5). Judged: "
    "floors (800 to D3.0, then 560), the climb by D4.7, the turn, R165, 3,000 ft, the entry, the side of the hold, the way "
    "back.",
    shown="start on the final at 1,440 ft, 84 kt, landing flap; wind from {wind_true_deg:03d}° **true**, {wind_kt} kt; "
    "variation {variation_deg}° west. Missed approach: climb on 214 to 900, not before D4.7; left to heading 120, climb to "
    "3,000; out on R165 to BELDU, D14; hold: inbound 345, right turns, legs 4 NM",
    draw=lambda r: {**_COURSES, **_draw_wind(r), "map_nm": _MAP_NM, "runway": r.choice(["never", "late"])},
    calls=lambda g: ((_LATE_NM, _LATE),) if g["runway"] == "late" else (),
    goal="800 or above to D3.0, 560 or above to D4.7. Then climb; 900 and D4.7: left to 120; out on R165 (selector 2) to D14 at "
    "3,000; enter the hold: inbound 345, right turns, out to D18, back to D14.",
    begin=lambda g: {
        "radial_deg": 214,
        "dme_nm": 1.0,
        "altitude_ft": 1440,
        "heading_deg": 214,
        "ias_kt": 84,
        "configuration": "landing flap",
    },
    day=lambda g: lesson_values.plan_days(g, hidden=False)[0],
    goals=(
        floors_kept(lambda g: _HAND_FLOORS),
        at_minimums(lambda g: float(_MDA_FT), 4.2, 4.6, over_ft=150.0),
        climb_from("map_nm"),
        *_WAY_OUT_GOALS,
    ),
    rows=_hand_rows,
    courses=lambda g: (214.0, 360.0),
    ends_below_dme_nm=14.0,
    most_min=30.0,
    hints=(
        "Say it aloud first: altitude, side, heading, radial, hold, entry.",
        "Power, pitch, climb, flap; straight ahead to 900 and D4.7; left 120; R165 on needle 2; at D14 teardrop 135 or "
        "parallel 165 with wind; at D18 turn inbound, right from the teardrop, left from the parallel.",
        "Rate down: 317 x ground speed / 60; set “level off at” 800 first.",
    ),
    model="As the hints say: down to 560, climb at D4.7, left at 900 to 120, out on R165 at 3,000; at D14 135 or 165 with the "
    "wind allowed for, at D18 back to 345.",
    why="The whole of it on two needles, a DME and a clock. A runway first seen at D4.6 asks for 750 ft a mile: no normal "
    "descent, so it changes nothing.",
)

# ---------------------------------------------------------------- the task

_FIELDS: dict[str, dict[str, Any]] = {
    "ezrick": {"field": "Ezrick", "radial_deg": 340, "side": "right", "gradient_ft_nm": 300, "final_deg": 277,
               "hold_deg": 160, "hold_side": "right", "leads": "to"},
    "wygate": {"field": "Wygate", "radial_deg": 75, "side": "right", "gradient_ft_nm": 240, "final_deg": 23,
               "hold_deg": 75, "hold_side": "left", "leads": "away from"},
}  # fmt: skip


def _draw_task(r: random.Random) -> dict[str, Any]:
    place = _FIELDS[r.choice(sorted(_FIELDS))]
    inbound = place["hold_deg"]
    while True:
        drawn = {
            **place,
            "inbound_deg": inbound,
            "along_kt": r.choice([12, 14, 16, 18]),
            "along": r.choice(["headwind", "tailwind"]),
            "climb_tas_kt": r.choice([78, 80, 84]),
            "cut_deg": r.choice([30, 40, 45]),
            "tas_kt": r.choice([92, 96, 100]),
            "wind_true_deg": r.randrange(10, 361, 10),
            "wind_kt": r.choice([12, 14, 16]),
            "variation_deg": 13,
        }
        if 5.0 <= abs(_drift_deg(drawn)) <= 9.8:
            return drawn


def _task_gs(g: Givens) -> float:
    return float(g["climb_tas_kt"] + (1 if g["along"] == "tailwind" else -1) * g["along_kt"])


def _task_entry(g: Givens) -> Choice:
    return replace(
        _entry_cell({"inbound_deg": g["hold_deg"], "side": g["hold_side"]}, g["radial_deg"]), title="entry"
    )


_TASK = Table(
    key="ma-task",
    lesson=KEY,
    title="The task: brief another missed approach",
    points=7.5,
    task=True,
    prompt="Brief the missed approach of {field} and its hold. The rate of climb that makes the gradient, feet per minute, "
    "within 10; the heading that meets the radial outbound at {cut_deg} degrees, no wind; the course on selector 2; the "
    'entry ("D", "P" or "T") if you reach the fix outbound on a heading equal to the radial; and the heading outbound in the '
    "hold, in wind. Degrees magnetic, whole.",
    shown="gradient {gradient_ft_nm} ft/NM; climb-out at {climb_tas_kt} kt true airspeed, {along} {along_kt} kt; final course "
    "{final_deg:03d} straight ahead until the station is behind you, then climbing {side} turn to intercept R{radial_deg:03d} outbound; hold: inbound "
    "{hold_deg:03d} (inbound leads {leads} the station), {hold_side} turns, true airspeed {tas_kt} kt, wind there from {wind_true_deg:03d}° **true**, {wind_kt} kt; "
    "variation {variation_deg}° west",
    draw=_draw_task,
    cells=lambda g: {
        "rate of climb": _cell(
            "ma-task-rate",
            lambda g: float(missed.climb_fpm(gradient_ft_nm=g["gradient_ft_nm"], gs_kt=_task_gs(g))),
            "fpm",
            10.0,
            Slip("PERMIN", lambda g: float(g["gradient_ft_nm"]), "Feet per mile read as feet per minute."),
            Slip(
                "IASGS",
                lambda g: float(missed.climb_fpm(gradient_ft_nm=g["gradient_ft_nm"], gs_kt=g["climb_tas_kt"])),
                "The rate for the airspeed; the ground passes at another speed.",
            ),
            Slip(
                "HDTL",
                lambda g: float(
                    missed.climb_fpm(gradient_ft_nm=g["gradient_ft_nm"], gs_kt=2 * g["climb_tas_kt"] - _task_gs(g))
                ),
                "Headwind and tailwind are swapped.",
            ),
            look="Gradient x ground speed / 60.",
        ),
        "heading to intercept": _cell(
            "ma-task-heading",
            _cut_deg,
            "degrees magnetic",
            1.5,
            Slip(
                "LR",
                lambda g: lesson_values.mirrored_deg(g["radial_deg"], _cut_deg(g)),
                "The angle is laid off to the wrong side of the radial: this heading does not cross it from here.",
            ),
            Slip("NOCUT", lambda g: float(g["radial_deg"]), "That runs beside the radial and never meets it."),
            circle=True,
            look="Parallel to the radial, then farther round the same way by the angle.",
        ),
        "course on selector 2": _cell(
            "ma-task-course",
            lambda g: float(g["radial_deg"]),
            "degrees magnetic",
            0.5,
            Slip(
                "RECIP",
                lambda g: float(angles.reciprocal(g["radial_deg"])),
                "The course back to the station: the needle would read reversed.",
            ),
            circle=True,
            look="The course you mean to fly.",
        ),
        "entry": _task_entry(g),
        "outbound heading": _drift(
            "ma-task-outbound", title="outbound heading", prompt="", look="Three times, other side."
        ),
    },
    hints=("", "", ""),
    model="{answer}.",
    why="Altitude, side, heading, radial, hold, entry: in one breath, before the final fix.",
)

_EXIT = Choice(
    key="ma-exit",
    lesson=KEY,
    title="Exit: the first five seconds",
    prompt="D4.7, 560 ft, nothing in sight. What are the first five seconds?",
    options={
        "A": "“Going around” on the radio, flap up, power",
        "B": "power, pitch up, a climb seen; straight ahead",
        "C": "left turn on to 120, power, climb",
        "D": "a look down to the left and right, then power",
    },
    correct="B",
    slips=(
        Slip("RADIO", lambda g: "A", "Radio and flap before power: you talk while you sink. What climbs?"),
        Slip(
            "TURN",
            lambda g: "C",
            "The turn waits for 900 ft as well as for the MAP. And no turn climbs by itself: what comes first?",
        ),
        Slip(
            "LOOK",
            lambda g: "D",
            "The point is where looking has ended. Land or go around: there is no third choice.",
        ),
    ),
    hints=(
        "What keeps you from the ground?",
        "Power, pitch, positive climb.",
        "The turn here needs 900 ft, too.",
    ),
    model="{answer}. Say it aloud, with the hands moving.",
    why="Power, pitch, positive climb, straight ahead; all else can wait five seconds.",
)

BANK: tuple[Question, ...] = (
    _RECALL_RATE,
    _RECALL_SELECTOR,
    _PREDICT,
    _WHY,
    _FADED,
    _CLIMB,
    _EARLY,
    _DECIDE,
    _ORDER,
    _SELECTOR,
    _INTERCEPT,
    _TRACKS,
    _SECTORS,
    _TEARDROP,
    _DRIFT_FADED,
    _HOLD_WIND,
    _WHAT_IF,
    _TIME,
    _DME_END,
    _PLAN,
    _BY_HAND,
    _TASK,
    _EXIT,
)

LESSON = Lesson(
    key=KEY,
    title="Missed approach and hold",
    minutes=120,
    can=(
        "decide at once from three conditions",
        "do the actions of a go-around in order",
        "intercept the outbound radial and enter the hold in wind",
    ),
    bank=BANK,
)
