"""Numbers of the lesson on flying an arc: what is drawn, what is right, and what each slip gives."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from itertools import pairwise
from random import Random
from typing import TYPE_CHECKING, Any

from needlework.exercises.lesson_values import day, magnetic_deg, mirrored_deg, true_deg, whole
from needlework.trade import angles, arc, intercept, wind

if TYPE_CHECKING:
    from needlework.world.weather import Day

_WAYS = ("right", "left")
_ROUND = {"right": "clockwise", "left": "anticlockwise"}
_OTHER_SIDE = {"RIGHT": "LEFT", "LEFT": "RIGHT"}
_STEP_DEG = 10
_INSIDE_DEG = 5.0  # half a step


def _sign(turn: str) -> int:
    """1 on an arc to the right, -1 on one to the left."""
    return 1 if turn == "right" else -1


def _leg_deg(begin_deg: float, sign: int, inside_deg: float = _INSIDE_DEG) -> float:
    """Heading of a leg that begins on a radial, in still air. [degrees magnetic]"""
    return float(whole(begin_deg + sign * (90.0 + inside_deg)))


# ---------------------------------------------------------------- recall


def a_final_passed(random: Random) -> dict[str, Any]:
    """Draw a final and a radial past it."""
    final = random.randrange(20, 350, 2)
    return {
        "final_deg": final,
        "course_deg": whole(final + 180),
        "radial_deg": whole(final + random.choice([-1, 1]) * random.choice([12, 14, 16, 18, 22, 24])),
    }


def cut_back(*, radial_deg: int, final_deg: int) -> float:
    """Heading back to the final, inbound, by doubling the angle. [degrees magnetic]"""
    cut = intercept.intercept_angle_deg(radial_deg=radial_deg, wanted_radial_deg=final_deg)
    return float(
        intercept.intercept_heading_deg(
            radial_deg=radial_deg, wanted_radial_deg=final_deg, direction="inbound", angle_deg=cut
        )
    )


def straight_to_the_station(*, radial_deg: int) -> float:
    """Heading with the angle not doubled. [degrees magnetic]"""
    return float(angles.reciprocal(radial_deg))


def cut_away(*, radial_deg: int, final_deg: int, course_deg: int) -> float:
    """The cut on the other side of the course. [degrees magnetic]"""
    return mirrored_deg(course_deg, cut_back(radial_deg=radial_deg, final_deg=final_deg))


def cut_outbound(*, radial_deg: int, final_deg: int) -> float:
    """The cut for the other end of the line. [degrees magnetic]"""
    return float(angles.reciprocal(cut_back(radial_deg=radial_deg, final_deg=final_deg)))


# ---------------------------------------------------------------- which way round


def an_arc(random: Random) -> dict[str, Any]:
    """Draw an arc that leads across north."""
    turn = random.choice(_WAYS)
    begin = whole(
        random.choice([330, 335, 340, 345, 350]) if turn == "right" else random.choice([10, 15, 20, 25, 30])
    )
    sweep = random.choice([48, 56, 63, 72, 84])
    return {"turn": turn, "from_deg": begin, "to_deg": whole(begin + _sign(turn) * sweep), "sweep_deg": sweep}


def side_of_the_turns(*, turn: str) -> str:
    """Say to which side the arc turns."""
    return turn.upper()


def other_side_of_the_turns(*, turn: str) -> str:
    """Say to which side the arc does not turn."""
    return _OTHER_SIDE[turn.upper()]


def long_way_round(*, sweep_deg: int) -> float:
    """Degrees of the rest of the circle. [degrees]"""
    return 360.0 - sweep_deg


# ---------------------------------------------------------------- joining


def a_turn_on(random: Random) -> dict[str, Any]:
    """Draw an arc, a speed and a way to it; the leads of these speeds are no halves of a tenth."""
    drawn: dict[str, Any] = {
        "arc_nm": random.choice([8, 9, 11, 12, 13, 14]),
        "gs_kt": random.choice([100, 108, 116, 120, 128]),
        "way": random.choice(["inbound", "outbound"]),
    }
    return {**drawn, "lead_nm": drawn["gs_kt"] / 200.0}


def _turn_on_nm(arc_nm: float, gs_kt: float, way: str, share: float) -> float:
    lead = float(arc.lead_rule_nm(gs_kt=gs_kt)) * share
    return float(arc_nm) + (lead if way == "inbound" else -lead)


def turn_on_dme(*, arc_nm: float, gs_kt: float, way: str) -> float:
    """DME at which the turn on to the arc begins: half a per cent of the ground speed before it. [NM]

    Source: P-871 ch. 4.
    """
    return _turn_on_nm(arc_nm, gs_kt, way, 1.0)


def turn_on_dme_past_the_arc(*, arc_nm: float, gs_kt: float, way: str) -> float:
    """The lead on the other side of the arc. [NM]"""
    return _turn_on_nm(arc_nm, gs_kt, way, -1.0)


def turn_on_dme_at_half_rate(*, arc_nm: float, gs_kt: float, way: str) -> float:
    """Twice the lead. [NM]"""
    return _turn_on_nm(arc_nm, gs_kt, way, 2.0)


def a_join(random: Random) -> dict[str, Any]:
    """Draw an arc and a radial to join it on."""
    turn = random.choice(_WAYS)
    way = random.choice(["inbound", "outbound"])
    return {"turn": turn, "way": way, "radial_deg": whole(random.randrange(10, 360, 10)), "round": _ROUND[turn]}


def first_turn(*, turn: str, way: str) -> str:
    """Side of the turn on to the arc: inbound away from the side the station will be on, outbound towards it."""
    return "RIGHT" if (turn == "right") == (way == "outbound") else "LEFT"


def first_turn_wrong(*, turn: str, way: str) -> str:
    """The other side."""
    return _OTHER_SIDE[first_turn(turn=turn, way=way)]


# ---------------------------------------------------------------- leg by leg: leg 1 begins on radial_deg


def steps_on_an_arc(random: Random) -> dict[str, Any]:
    """Draw an arc across north, with setting and heading of its first leg."""
    turn = random.choice(_WAYS)
    begin = whole(random.choice([320, 330, 340]) if turn == "right" else random.choice([20, 30, 40]))
    return {
        "turn": turn,
        "round": _ROUND[turn],
        "radial_deg": begin,
        "first_deg": whole(begin + _sign(turn) * _STEP_DEG),
        "leg_deg": whole(_leg_deg(begin, _sign(turn))),
    }


def _radial_on(radial_deg: float, turn: str, steps: int) -> float:
    return float(whole(radial_deg + _sign(turn) * _STEP_DEG * steps))


def next_radial(*, radial_deg: int, turn: str, place: int) -> float:
    """Radial ahead of a leg, which selector 2 shows. [degrees]"""
    return _radial_on(radial_deg, turn, place)


def twisted_back(*, radial_deg: int, turn: str, place: int) -> float:
    """The last twist the wrong way. [degrees]"""
    return _radial_on(radial_deg, turn, place - 2)


def not_twisted(*, radial_deg: int, turn: str, place: int) -> float:
    """The radial that has been crossed. [degrees]"""
    return _radial_on(radial_deg, turn, place - 1)


def twisted_twenty(*, radial_deg: int, turn: str, place: int) -> float:
    """One step too many. [degrees]"""
    return _radial_on(radial_deg, turn, place + 1)


def twisted_back_always(*, radial_deg: int, turn: str, place: int) -> float | None:
    """Every twist the wrong way; up to the second leg a single one is the same. [degrees]"""
    return _radial_on(radial_deg, turn, 2 - place) if place > 2 else None


def _begin_deg(radial_deg: float, turn: str, place: int, step_deg: float) -> float:
    return radial_deg + _sign(turn) * step_deg * (place - 1)


def leg_begin(*, radial_deg: int, turn: str, place: int, step_deg: int) -> int:
    """Radial on which a leg begins. [degrees]"""
    return whole(_begin_deg(radial_deg, turn, place, step_deg))


def leg_heading(*, radial_deg: int, turn: str, place: int, step_deg: int) -> float:
    """Heading of a leg in still air: at right angles to the middle of its step. [degrees magnetic]"""
    return _leg_deg(_begin_deg(radial_deg, turn, place, step_deg), _sign(turn))


def leg_tangent(*, radial_deg: int, turn: str, place: int, step_deg: int) -> float:
    """At right angles to the radial on which a leg begins. [degrees magnetic]"""
    return _leg_deg(_begin_deg(radial_deg, turn, place, step_deg), _sign(turn), 0.0)


def leg_nose_outside(*, radial_deg: int, turn: str, place: int, step_deg: int) -> float:
    """Nose five degrees to the outside. [degrees magnetic]"""
    return _leg_deg(_begin_deg(radial_deg, turn, place, step_deg), _sign(turn), -_INSIDE_DEG)


def leg_other_way(*, radial_deg: int, turn: str, place: int, step_deg: int) -> float:
    """Heading of a leg the other way round. [degrees magnetic]"""
    return _leg_deg(_begin_deg(radial_deg, turn, place, step_deg), -_sign(turn))


def leg_tangent_other_way(*, radial_deg: int, turn: str, place: int, step_deg: int) -> float:
    """Along the arc the other way round. [degrees magnetic]"""
    return _leg_deg(_begin_deg(radial_deg, turn, place, step_deg), -_sign(turn), 0.0)


def leg_turned_away(*, radial_deg: int, turn: str, place: int, step_deg: int) -> float:
    """Every turn to the wrong side. [degrees magnetic]"""
    return _leg_deg(_begin_deg(radial_deg, turn, place, -step_deg), _sign(turn))


def leg_not_turned(*, radial_deg: int, turn: str) -> float:
    """Heading of the first leg. [degrees magnetic]"""
    return _leg_deg(radial_deg, _sign(turn))


# ---------------------------------------------------------------- longer steps


def a_step(random: Random) -> dict[str, Any]:
    """Draw a step longer than ten degrees."""
    return {"step_deg": random.choice([20, 24, 26, 28, 30])}


def half_a_step(*, step_deg: int) -> float:
    """How far inside the nose must be as a step begins. [degrees]"""
    return step_deg / 2.0


# ---------------------------------------------------------------- wind round the arc


def a_wind_along_the_middle(random: Random) -> dict[str, Any]:
    """Draw a wind nearly along the middle one of three legs: there the correction is small, and changes side."""
    turn = random.choice(_WAYS)
    begin = whole(random.randrange(10, 361, 10))
    middle = _leg_deg(begin, _sign(turn), 45.0)
    along = middle + random.choice([0, 180]) + random.choice([-10, 0, 10])
    return {
        "turn": turn,
        "round": _ROUND[turn],
        "tas_kt": random.choice([98, 104, 110]),
        "wind_true_deg": whole(true_deg(along), 10),
        "wind_kt": random.choice([18, 20, 22, 24]),
        "variation_deg": 13,
        "begin_deg": begin,
    }


def leg_held(
    *, radial_deg: int, turn: str, place: int, step_deg: int, tas_kt: float, wind_true_deg: float, wind_kt: float
) -> float:
    """Heading that holds a ten-degree leg in wind: tangent of its middle, corrected. [degrees magnetic]"""
    begin = leg_begin(radial_deg=radial_deg, turn=turn, place=place, step_deg=step_deg)
    return float(
        arc.heading_deg(
            radial_deg=begin + _INSIDE_DEG * _sign(turn),
            turn=turn,
            tas_kt=tas_kt,
            wind_from_deg=magnetic_deg(wind_true_deg),
            wind_kt=wind_kt,
        )
    )


def leg_held_downwind(
    *, radial_deg: int, turn: str, place: int, step_deg: int, tas_kt: float, wind_true_deg: float, wind_kt: float
) -> float:
    """The correction on the wrong side. [degrees magnetic]"""
    leg: dict[str, Any] = {"radial_deg": radial_deg, "turn": turn, "place": place, "step_deg": step_deg}
    held = leg_held(**leg, tas_kt=tas_kt, wind_true_deg=wind_true_deg, wind_kt=wind_kt)
    return mirrored_deg(leg_heading(**leg), held)


def leg_held_by_the_first(
    *, radial_deg: int, turn: str, place: int, step_deg: int, tas_kt: float, wind_true_deg: float, wind_kt: float
) -> float:
    """The correction of the first leg kept on this one. [degrees magnetic]"""
    first: dict[str, Any] = {"radial_deg": radial_deg, "turn": turn, "place": 1, "step_deg": step_deg}
    held = leg_held(**first, tas_kt=tas_kt, wind_true_deg=wind_true_deg, wind_kt=wind_kt)
    still = leg_heading(**{**first, "place": place})
    return float(angles.wrap360(still + held - leg_heading(**first)))


def leg_held_by_true(
    *, radial_deg: int, turn: str, place: int, step_deg: int, tas_kt: float, wind_true_deg: float, wind_kt: float
) -> float:
    """The variation taken off the true wind instead of added. [degrees magnetic]"""
    still = leg_heading(radial_deg=radial_deg, turn=turn, place=place, step_deg=step_deg)
    blows_from = true_deg(wind_true_deg)
    return float(wind.heading_deg(course_deg=still, tas_kt=tas_kt, wind_from_deg=blows_from, wind_kt=wind_kt))


def leg_held_on_the_tangent(
    *, radial_deg: int, turn: str, place: int, step_deg: int, tas_kt: float, wind_true_deg: float, wind_kt: float
) -> float:
    """The wind is in, the nose is not inside. [degrees magnetic]"""
    leg: dict[str, Any] = {"radial_deg": radial_deg, "turn": turn, "place": place, "step_deg": step_deg}
    held = leg_held(**leg, tas_kt=tas_kt, wind_true_deg=wind_true_deg, wind_kt=wind_kt)
    return float(angles.wrap360(held - _INSIDE_DEG * _sign(turn)))


# ---------------------------------------------------------------- getting back: towards the station is positive


def off_the_arc(random: Random) -> dict[str, Any]:
    """Draw a distance outside the arc and one inside it."""
    return {"outside_nm": random.choice([0.4, 0.5, 0.6]), "inside_nm": random.choice([0.4, 0.5, 0.6])}


def in_by_ten(*, off_nm: float) -> float:
    """Ten degrees in for each half mile. Source: P-871 ch. 4. [degrees]"""
    return 20.0 * off_nm


def in_by_five(*, off_nm: float) -> float:
    """Five degrees in for each half mile, the least that is taught. [degrees]"""
    return 10.0 * off_nm


def in_by_twenty(*, off_nm: float) -> float:
    """Twenty degrees in for each half mile, the most that is taught. [degrees]

    Source: Instrument Flying Handbook p. 9-18.
    """
    return 40.0 * off_nm


def in_by_far_too_much(*, off_nm: float) -> float:
    """More than any book has. [degrees]"""
    return 75.0 * off_nm


def out_by_five(*, off_nm: float) -> float:
    """Five degrees out for each half mile. Source: P-871 ch. 4. [degrees]"""
    return -10.0 * off_nm


def out_by_ten(*, off_nm: float) -> float:
    """Ten degrees out for each half mile. [degrees]"""
    return -20.0 * off_nm


def out_by_twenty(*, off_nm: float) -> float:
    """Twenty degrees out for each half mile. [degrees]"""
    return -40.0 * off_nm


def outside_slip(*, answer: float, off_nm: float) -> str | None:
    """Say by side and size what is wrong with a change of heading outside the arc."""
    if answer < 0.0:
        return "LR"
    return "CHASE" if answer > in_by_twenty(off_nm=off_nm) else "LITTLE"


def inside_slip(*, answer: float) -> str | None:
    """Say by side what is wrong with a change of heading inside the arc."""
    return "SAMEWAY" if answer > 0.0 else "CHASE"


# ---------------------------------------------------------------- leaving: the floor, the lead to final


def a_radial_before_350(random: Random) -> dict[str, Any]:
    """Draw a radial that is not yet past the floor's end."""
    return {"radial_deg": random.randrange(342, 349)}


def safe_or_low(*, answer: float) -> str | None:
    """Say of an altitude whether it is above the floor here, below it, or below every floor."""
    if answer > 3400.0:
        return "SAFE"
    return "BELOW" if answer > 3000.0 else "GROUND"


def a_lead(random: Random) -> dict[str, Any]:
    """Draw an arc, a speed and a final."""
    turn = random.choice(_WAYS)
    return {
        "turn": turn,
        "round": _ROUND[turn],
        "arc_nm": random.choice([8, 9, 10, 11, 12]),
        "gs_kt": random.choice([100, 110, 120, 130, 140]),
        "final_deg": whole(random.randrange(10, 361, 1)),
    }


def lead_degrees(*, arc_nm: float, gs_kt: float) -> float:
    """Degrees of lead: 60 / arc times half a per cent of the ground speed. Source: P-1282. [degrees]"""
    return float(arc.lead_radial_rule_deg(arc_nm=arc_nm, gs_kt=gs_kt))


def lead_miles(*, gs_kt: float) -> float:
    """The miles of the turn, taken for degrees. [NM]"""
    return gs_kt / 200.0


def lead_degrees_at_half_rate(*, arc_nm: float, gs_kt: float) -> float:
    """Twice the lead. [degrees]"""
    return 2.0 * lead_degrees(arc_nm=arc_nm, gs_kt=gs_kt)


def lead_radial(*, final_deg: float, turn: str, arc_nm: float, gs_kt: float) -> float:
    """Radial on which the turn to final begins, before the final one. [degrees]"""
    return float(angles.wrap360(final_deg - _sign(turn) * lead_degrees(arc_nm=arc_nm, gs_kt=gs_kt)))


def lead_radial_past_final(*, final_deg: float, turn: str, arc_nm: float, gs_kt: float) -> float:
    """The lead on the other side of the final. [degrees]"""
    return float(angles.wrap360(final_deg + _sign(turn) * lead_degrees(arc_nm=arc_nm, gs_kt=gs_kt)))


def charted_lead_radial(*, final_deg: float, turn: str) -> float:
    """Seven degrees, the lead that Saltmarsh charts. [degrees]"""
    return float(angles.wrap360(final_deg - 7 * _sign(turn)))


# ---------------------------------------------------------------- four wrong turns


def four_flights(random: Random) -> dict[str, Any]:
    """Draw in which order the four flights stand."""
    return {"order": random.sample(range(4), 4)}


def wrong_turn(*, flight: int) -> str:
    """Letter of what went wrong on a flight."""
    return "ABCD"[flight]


# ---------------------------------------------------------------- the arc flown: Saltmarsh's, or its mirror image

_LEGS = 8  # ten-degree legs from radial 310 to the lead at 030, or the mirror image
_INDICATED_KT = 98  # the Finch on an arc
_INSIDE_DME = 9.5
_BEHIND_DEG, _PAST_DEG = 20.0, 44.0  # before the last leg begins; past the final


def _an_arc_to_fly(turn: str) -> dict[str, Any]:
    return {
        "turn": turn,
        "round": _ROUND[turn],
        "arc_nm": 10.0,
        "from_deg": 310 if turn == "right" else 118,
        "final_deg": 34,
        "course_deg": 214,
        "tas_kt": 104,  # the Finch's 98 kt indicated, at 3,600 ft
    }


def an_arc_to_plan(random: Random) -> dict[str, Any]:
    """Draw a wind against the middle of the arc: first the correction is to the right, later to the left."""
    drawn = {
        **_an_arc_to_fly("right"),
        "wind_deg": random.choice([70, 75, 80, 85, 90]),
        "wind_kt": random.choice([20, 22]),
    }
    blows = {name: drawn[name] for name in ("from_deg", "tas_kt", "wind_deg", "wind_kt")}
    return {**drawn, "gs_kt": _lead_gs_kt(**blows)}


def an_arc_by_hand(random: Random) -> dict[str, Any]:
    """Draw any wind for the arc of Saltmarsh."""
    return {**_an_arc_to_fly("right"), "wind_deg": random.randrange(10, 361, 10), "wind_kt": random.randrange(8, 23)}


def an_arc_mirrored(random: Random) -> dict[str, Any]:
    """Draw any wind for its mirror image."""
    return {**_an_arc_to_fly("left"), "wind_deg": random.randrange(10, 361, 10), "wind_kt": random.randrange(8, 23)}


def _lead_gs_kt(*, from_deg: int, tas_kt: float, wind_deg: float, wind_kt: float) -> int:
    """Ground speed at both leads, in whole tens: the way in and the end of the arc run nearly alike. [kt]"""
    gs = wind.ground_speed_kt(
        course_deg=float(angles.reciprocal(from_deg)), tas_kt=tas_kt, wind_from_deg=wind_deg, wind_kt=wind_kt
    )
    return round(float(gs) / 10.0) * 10


def _legs(from_deg: int, turn: str) -> list[tuple[int, int]]:
    """Where each leg begins and ends, as radials."""
    radials = [whole(from_deg + _sign(turn) * _STEP_DEG * leg) for leg in range(_LEGS + 1)]
    return list(pairwise(radials))


def _leg_label(end_deg: int) -> str:
    return f"heading to radial {end_deg:03d}"


def _headings(from_deg: int, turn: str, heading: Callable[[int], float]) -> dict[str, float]:
    """Fill the blanks of all legs by the radials on which they begin."""
    return {_leg_label(end): float(whole(heading(begin))) for begin, end in _legs(from_deg, turn)}


def _planned_deg(begin_deg: int, turn: str, tas_kt: float, wind_deg: float, wind_kt: float) -> float:
    """Heading that holds a leg in the wind of the plan, whole. [degrees magnetic]"""
    middle = begin_deg + _INSIDE_DEG * _sign(turn)
    held = arc.heading_deg(radial_deg=middle, turn=turn, tas_kt=tas_kt, wind_from_deg=wind_deg, wind_kt=wind_kt)
    return float(whole(float(held)))


def _inbound_deg(from_deg: int, tas_kt: float, wind_deg: float, wind_kt: float) -> float:
    course = float(angles.reciprocal(from_deg))
    held = wind.heading_deg(course_deg=course, tas_kt=tas_kt, wind_from_deg=wind_deg, wind_kt=wind_kt)
    return float(whole(float(held)))


def start(*, from_deg: int, tas_kt: float, wind_deg: float, wind_kt: float) -> dict[str, Any]:
    """Say where the flight begins: two miles outside the arc, inbound, corrected for the wind."""
    return {
        "radial_deg": float(from_deg),
        "dme_nm": 12.0,
        "altitude_ft": 3600,
        "heading_deg": _inbound_deg(from_deg, tas_kt, wind_deg, wind_kt),
        "ias_kt": _INDICATED_KT,
    }


def plan_rows(
    *, filled: Mapping[str, Any], from_deg: int, turn: str, tas_kt: float, wind_deg: float, wind_kt: float
) -> list[dict[str, Any]]:
    """Give the rows of the plan."""
    twist = 10.0 if filled["each twist"] == "UP" else -10.0
    headings = [float(angles.wrap360(filled[_leg_label(end)])) for _, end in _legs(from_deg, turn)]
    course_2 = filled["course 2 before the turn"]
    rows: list[dict[str, Any]] = [
        {
            "then": {
                "identify": True,
                "course_1_deg": float(angles.reciprocal(from_deg)),
                "course_2_deg": course_2,
                "heading_deg": _inbound_deg(from_deg, tas_kt, wind_deg, wind_kt),
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


def plan_right(
    *,
    arc_nm: float,
    from_deg: int,
    final_deg: int,
    course_deg: int,
    turn: str,
    tas_kt: float,
    gs_kt: float,
    wind_deg: float,
    wind_kt: float,
) -> dict[str, Any]:
    """Give blanks that pass."""
    return {
        "turn at DME": round(turn_on_dme(arc_nm=arc_nm, gs_kt=gs_kt, way="inbound"), 1),
        "first turn": first_turn(turn=turn, way="inbound"),
        "course 2 before the turn": float(_legs(from_deg, turn)[0][1]),
        "each twist": "UP" if turn == "right" else "DOWN",
        **_headings(from_deg, turn, lambda begin: _planned_deg(begin, turn, tas_kt, wind_deg, wind_kt)),
        "course 1 by half way": float(course_deg),
        "turn to final on radial": float(
            round(lead_radial(final_deg=final_deg, turn=turn, arc_nm=arc_nm, gs_kt=gs_kt))
        ),
    }


def reference_rows(
    *,
    arc_nm: float,
    from_deg: int,
    final_deg: int,
    course_deg: int,
    turn: str,
    tas_kt: float,
    wind_deg: float,
    wind_kt: float,
) -> list[dict[str, Any]]:
    """Give the rows of the plan that flies the arc well."""
    blows: dict[str, Any] = {"from_deg": from_deg, "tas_kt": tas_kt, "wind_deg": wind_deg, "wind_kt": wind_kt}
    right = plan_right(
        arc_nm=arc_nm, final_deg=final_deg, course_deg=course_deg, turn=turn, gs_kt=_lead_gs_kt(**blows), **blows
    )
    return plan_rows(filled=right, turn=turn, **blows)


def _a_day(wind_deg: float, wind_kt: float) -> Day:
    return day("arc", true_deg(wind_deg), wind_kt)


def plan_days(*, wind_deg: float, wind_kt: float, hidden: bool) -> list[Day]:
    """Give the wind as briefed; at the desk a little veered and fresher, and a little backed and lighter."""
    changes = [(6, 2), (-6, -2)] if hidden else [(0, 0)]
    return [_a_day(wind_deg + turn, wind_kt + more) for turn, more in changes]


def the_day(*, wind_deg: float, wind_kt: float) -> Day:
    """Give the day flown in by hand."""
    return _a_day(wind_deg, wind_kt)


def the_arc_drawn(*, from_deg: int, final_deg: int) -> dict[str, Any]:
    """Say what is drawn with the way flown."""
    return {"radials": [float(from_deg), float(final_deg)], "arcs": [(10.0, 310.0, 34.0)], "band_nm": 1.0}


def flown_arc_drawn(*, from_deg: int, final_deg: int, arc_nm: float, turn: str) -> dict[str, Any]:
    """Say what is drawn with a flight by hand: the arc with the mile that was allowed, the radials it joins."""
    ends = (float(from_deg), float(final_deg)) if turn.casefold() == "right" else (float(final_deg), float(from_deg))
    return {"radials": [float(from_deg), float(final_deg)], "arcs": [(float(arc_nm), *ends)], "band_nm": 1.0}


def selectors_inbound(*, from_deg: int) -> tuple[float, float]:
    """Give what the selectors show at first: both the course inbound. [degrees magnetic]"""
    course = float(angles.reciprocal(from_deg))
    return (course, course)


def leads_as_known(
    *, filled: Mapping[str, Any], arc_nm: float, final_deg: int, turn: str, least_lead_nm: float
) -> dict[str, Any]:
    """Take leads, however far out, for the mistake they are."""
    taken = dict(filled)
    if filled["turn at DME"] < arc_nm - 0.25:
        taken["turn at DME"] = _INSIDE_DME
    elif filled["turn at DME"] < arc_nm + least_lead_nm:
        taken["turn at DME"] = arc_nm
    before = _sign(turn) * float(angles.difference_deg(from_deg=filled["turn to final on radial"], to_deg=final_deg))
    if 14.0 <= before < 90.0:
        taken["turn to final on radial"] = _BEHIND_DEG
    elif -90.0 < before < -1.5:
        taken["turn to final on radial"] = _PAST_DEG
    return taken


def blank_twisted_back() -> dict[str, Any]:
    """Twists the wrong way."""
    return {"each twist": "DOWN"}


def blank_two_steps_ahead(*, from_deg: int, turn: str) -> dict[str, Any]:
    """The first setting a step too far."""
    return {"course 2 before the turn": float(_legs(from_deg, turn)[1][1])}


def blank_long_way() -> dict[str, Any]:
    """The first turn to the other side."""
    return {"first turn": "RIGHT"}


def blank_turn_on_inside() -> dict[str, Any]:
    """The lead on the other side of the arc."""
    return {"turn at DME": _INSIDE_DME}


def blank_turn_on_at_the_arc(*, arc_nm: float) -> dict[str, Any]:
    """No lead on to the arc."""
    return {"turn at DME": arc_nm}


def blank_first_set_here(*, from_deg: int) -> dict[str, Any]:
    """The radial flown in on for the first one ahead."""
    return {"course 2 before the turn": float(from_deg)}


def blank_no_lead(*, final_deg: int) -> dict[str, Any]:
    """No lead to final."""
    return {"turn to final on radial": float(final_deg)}


def blank_late_lead() -> dict[str, Any]:
    """The lead on the other side of the final."""
    return {"turn to final on radial": _PAST_DEG}


def blank_behind() -> dict[str, Any]:
    """A lead radial that is crossed before the last leg begins."""
    return {"turn to final on radial": _BEHIND_DEG}


def blank_course_for_radial(*, course_deg: int) -> dict[str, Any]:
    """The final course for a radial."""
    return {"turn to final on radial": float(course_deg)}


def blank_reciprocal(*, final_deg: int) -> dict[str, Any]:
    """The other end of the final."""
    return {"course 1 by half way": float(final_deg)}


def blank_no_wind(*, from_deg: int, turn: str) -> dict[str, Any]:
    """Headings of still air."""
    return _headings(from_deg, turn, lambda begin: _leg_deg(begin, _sign(turn)))


def blank_downwind(*, from_deg: int, turn: str, tas_kt: float, wind_deg: float, wind_kt: float) -> dict[str, Any]:
    """Corrections downwind."""
    return _headings(
        from_deg,
        turn,
        lambda begin: mirrored_deg(
            _leg_deg(begin, _sign(turn)), _planned_deg(begin, turn, tas_kt, wind_deg, wind_kt)
        ),
    )


def blank_one_correction(
    *, from_deg: int, turn: str, tas_kt: float, wind_deg: float, wind_kt: float
) -> dict[str, Any]:
    """The correction of the first leg on all others."""
    first = _planned_deg(from_deg, turn, tas_kt, wind_deg, wind_kt) - _leg_deg(from_deg, _sign(turn))
    return _headings(from_deg, turn, lambda begin: _leg_deg(begin, _sign(turn)) + first)


def blank_on_the_tangent(
    *, from_deg: int, turn: str, tas_kt: float, wind_deg: float, wind_kt: float
) -> dict[str, Any]:
    """Each leg at right angles to its radial."""
    return _headings(
        from_deg,
        turn,
        lambda begin: _planned_deg(begin, turn, tas_kt, wind_deg, wind_kt) - _INSIDE_DEG * _sign(turn),
    )


# ---------------------------------------------------------------- the task


def a_brief(random: Random) -> dict[str, Any]:
    """Draw the task."""
    turn = random.choice(_WAYS)
    begin = whole(random.randrange(10, 361, 10))
    return {
        "turn": turn,
        "round": _ROUND[turn],
        "way": random.choice(["inbound", "outbound"]),
        "arc_nm": random.choice([11, 12, 13, 14]),
        "gs_kt": random.choice([108, 116, 120, 128]),
        "tas_kt": random.choice([104, 110, 116]),
        "radial_deg": begin,
        "final_deg": whole(begin + _sign(turn) * random.choice([62, 67, 73, 78])),
        "wind_true_deg": random.randrange(10, 361, 10),
        "wind_kt": random.choice([16, 18, 20, 22]),
        "variation_deg": 13,
    }


def final_course(*, final_deg: int) -> float:
    """Course flown in on a radial. [degrees magnetic]"""
    return float(whole(final_deg + 180))
