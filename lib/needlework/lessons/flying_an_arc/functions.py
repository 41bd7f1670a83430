"""Numbers of the lesson on flying an arc: what is drawn, what is right, and what each slip gives."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from functools import cache
from itertools import pairwise
from random import Random
from typing import TYPE_CHECKING, Any

from needlework.exercises.families import common_cause
from needlework.exercises.lesson_values import (
    LEG_AS_TAUGHT,
    day,
    heading_by_parts,
    mirrored_deg,
    taught_part_across,
    true_deg,
    whole,
)
from needlework.trade import angles, arc, intercept, wind

if TYPE_CHECKING:
    from needlework.world.weather import Day

_WAYS = ("right", "left")
_ROUND = {"right": "clockwise", "left": "anticlockwise"}
_OTHER_SIDE = {"RIGHT": "LEFT", "LEFT": "RIGHT"}
_STEP_DEG = 10
_CHARTED_DEG = 12  # lead of the radial that Saltmarsh charts: two miles at ten
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


def cut_away_undoubled(*, radial_deg: int, course_deg: int) -> float:
    """The angle not doubled, and laid off to the other side of the course. [degrees magnetic]"""
    return mirrored_deg(course_deg, straight_to_the_station(radial_deg=radial_deg))


def _cut_of(angle_deg: float, radial_deg: int, final_deg: int, course_deg: int) -> float:
    back = float(
        angles.difference_deg(from_deg=course_deg, to_deg=cut_back(radial_deg=radial_deg, final_deg=final_deg))
    )
    return float(whole(course_deg + (angle_deg if back > 0.0 else -angle_deg)))


def cut_of_30(*, radial_deg: int, final_deg: int, course_deg: int) -> float:
    """A cut of 30 degrees. [degrees magnetic]"""
    return _cut_of(30.0, radial_deg, final_deg, course_deg)


def cut_of_45(*, radial_deg: int, final_deg: int, course_deg: int) -> float:
    """A cut of 45 degrees. [degrees magnetic]"""
    return _cut_of(45.0, radial_deg, final_deg, course_deg)


def cut_of_90(*, radial_deg: int, final_deg: int, course_deg: int) -> float:
    """A cut of 90 degrees. [degrees magnetic]"""
    return _cut_of(90.0, radial_deg, final_deg, course_deg)


def cut_of_20(*, radial_deg: int, final_deg: int, course_deg: int) -> float:
    """A cut of 20 degrees. [degrees magnetic]"""
    return _cut_of(20.0, radial_deg, final_deg, course_deg)


def cut_of_30_away(*, radial_deg: int, final_deg: int, course_deg: int) -> float:
    """A cut of 30 degrees away from the line. [degrees magnetic]"""
    return _cut_of(-30.0, radial_deg, final_deg, course_deg)


def cut_of_45_away(*, radial_deg: int, final_deg: int, course_deg: int) -> float:
    """A cut of 45 degrees away from the line. [degrees magnetic]"""
    return _cut_of(-45.0, radial_deg, final_deg, course_deg)


def cut_of_90_away(*, radial_deg: int, final_deg: int, course_deg: int) -> float:
    """A cut of 90 degrees away from the line. [degrees magnetic]"""
    return _cut_of(-90.0, radial_deg, final_deg, course_deg)


def radials_apart(*, radial_deg: int, final_deg: int) -> float:
    """Angle between the radials. [degrees]"""
    return abs(float(angles.difference_deg(from_deg=radial_deg, to_deg=final_deg)))


def cut_tripled(*, radial_deg: int, final_deg: int, course_deg: int) -> float:
    """Three times the difference. [degrees magnetic]"""
    apart = radials_apart(radial_deg=radial_deg, final_deg=final_deg)
    return _cut_of(3.0 * apart, radial_deg, final_deg, course_deg)


def cut_outbound(*, radial_deg: int, final_deg: int) -> float:
    """The cut for the other end of the line. [degrees magnetic]"""
    return float(angles.reciprocal(cut_back(radial_deg=radial_deg, final_deg=final_deg)))


def cut_from_own_radial(*, radial_deg: int, final_deg: int) -> float:
    """The doubled angle laid off from the radial one is on. [degrees magnetic]"""
    return float(whole(final_deg + float(angles.difference_deg(from_deg=radial_deg, to_deg=final_deg))))


def cut_from_own_radial_away(*, radial_deg: int, final_deg: int) -> float:
    """The same to the other side. [degrees magnetic]"""
    return mirrored_deg(radial_deg, cut_from_own_radial(radial_deg=radial_deg, final_deg=final_deg))


def cut_from_way_in(*, radial_deg: int, final_deg: int) -> float:
    """The doubled angle laid off from the way straight in. [degrees magnetic]"""
    return float(whole(radial_deg + 180 + 2.0 * float(angles.difference_deg(from_deg=final_deg, to_deg=radial_deg))))


# ---------------------------------------------------------------- which way round


def an_arc(random: Random) -> dict[str, Any]:
    """Draw an arc that leads across north."""
    turn = random.choice(_WAYS)
    begin = whole(
        random.choice([330, 335, 340, 345, 350]) if turn == "right" else random.choice([10, 15, 20, 25, 30])
    )
    sweep = random.choice([47, 56, 63, 72, 84])
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


def part_before_north(*, turn: str, from_deg: int) -> float:
    """Degrees up to 360 only. [degrees]"""
    return 360.0 - from_deg if turn == "right" else float(from_deg)


def part_after_north(*, turn: str, from_deg: int, sweep_deg: int) -> float:
    """Degrees from 360 on only. [degrees]"""
    return sweep_deg - part_before_north(turn=turn, from_deg=from_deg)


def taken_across_north(*, sweep_deg: int) -> float:
    """One radial taken from the other across north, with a minus. [degrees]"""
    return sweep_deg - 360.0


def _below_north(turn: str, from_deg: int, to_deg: int) -> int:
    """The one of the two radials that lies before 360. [degrees]"""
    return from_deg if turn == "right" else to_deg


def last_two_figures(*, turn: str, from_deg: int, to_deg: int, sweep_deg: int) -> float:
    """What a radial is beyond 300, for what is left to 360. [degrees]"""
    below = _below_north(turn, from_deg, to_deg)
    return sweep_deg - (360.0 - below) + (below - 300.0)


def left_to_four_hundred(*, sweep_deg: int) -> float:
    """The circle taken for one of 400. [degrees]"""
    return sweep_deg + 40.0


def last_two_apart(*, from_deg: int, to_deg: int) -> float:
    """Last two figures of one radial less those of the other. [degrees]"""
    return abs(float(from_deg % 100 - to_deg % 100))


def radials_added(*, from_deg: int, to_deg: int) -> float:
    """One radial added to the other. [degrees]"""
    return float(from_deg + to_deg)


def rest_of_half(*, sweep_deg: int) -> float:
    """What is left to half of the circle. [degrees]"""
    return 180.0 - sweep_deg


def hundred_too_many(*, sweep_deg: int) -> float:
    """A hundred degrees more. [degrees]"""
    return sweep_deg + 100.0


def ten_too_many(*, sweep_deg: int) -> float:
    """Ten degrees more. [degrees]"""
    return sweep_deg + 10.0


def ten_too_few(*, sweep_deg: int) -> float:
    """Ten degrees less. [degrees]"""
    return sweep_deg - 10.0


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

    Source: P-340 6-98; P-871 ch. 4.
    """
    return _turn_on_nm(arc_nm, gs_kt, way, 1.0)


def lead_miles(*, gs_kt: float) -> float:
    """The lead itself. [NM]"""
    return gs_kt / 200.0


def turn_on_dme_by_handbook(*, arc_nm: float, gs_kt: float, way: str) -> float:
    """DME at which the turn begins by the handbook: half a mile up to 150 kt. [NM]

    Source: Instrument Flying Handbook, ch. 9.
    """
    lead = float(arc.lead_handbook_nm(gs_kt))
    return float(arc_nm) + (lead if way == "inbound" else -lead)


def turn_on_dme_at_half_the_lead(*, arc_nm: float, gs_kt: float, way: str) -> float:
    """Half of the lead. [NM]"""
    return _turn_on_nm(arc_nm, gs_kt, way, 0.5)


def turn_on_dme_past_the_arc(*, arc_nm: float, gs_kt: float, way: str) -> float:
    """The lead on the other side of the arc. [NM]"""
    return _turn_on_nm(arc_nm, gs_kt, way, -1.0)


def turn_on_dme_at_half_rate(*, arc_nm: float, gs_kt: float, way: str) -> float:
    """Twice the lead. [NM]"""
    return _turn_on_nm(arc_nm, gs_kt, way, 2.0)


def turn_on_dme_point(*, arc_nm: float, gs_kt: float, way: str) -> float:
    """Ten times the lead. [NM]"""
    return _turn_on_nm(arc_nm, gs_kt, way, 10.0)


def turn_on_dme_part(*, arc_nm: float, gs_kt: float, way: str) -> float:
    """The part of the lead that belongs to a cut of 45 degrees. [NM]"""
    return _turn_on_nm(arc_nm, gs_kt, way, 0.3)


def turn_on_dme_small(*, arc_nm: float, gs_kt: float, way: str) -> float:
    """A tenth of the lead. [NM]"""
    return _turn_on_nm(arc_nm, gs_kt, way, 0.1)


def turn_on_dme_a_minute(*, arc_nm: float, gs_kt: float, way: str) -> float:
    """A minute of flight for the lead. [NM]"""
    return _turn_on_nm(arc_nm, gs_kt, way, 200.0 / 60.0)


def turn_on_dme_half_past(*, arc_nm: float, gs_kt: float, way: str) -> float:
    """Half of the lead on the other side of the arc. [NM]"""
    return _turn_on_nm(arc_nm, gs_kt, way, -0.5)


def turn_on_dme_twice_past(*, arc_nm: float, gs_kt: float, way: str) -> float:
    """Twice the lead on the other side of the arc. [NM]"""
    return _turn_on_nm(arc_nm, gs_kt, way, -2.0)


# ---------------------------------------------------------------- slowing down before it

_KT_A_SECOND = 1.0  # what an aircraft loses in level flight with the power back


def too_fast_for_the_arc(random: Random) -> dict[str, Any]:
    """Draw an arc, the speed of now and the one wanted on the arc; still air."""
    slow = random.choice([100, 105, 110])
    return {
        "arc_nm": random.choice([8, 9, 11, 12, 13, 14]),
        "gs_kt": slow,
        "fast_kt": slow + random.choice([55, 60]),
    }


def _slowing_nm(fast_kt: float, gs_kt: float, mean_kt: float) -> float:
    """Distance flown while slowing down at some mean speed. [NM]"""
    return (fast_kt - gs_kt) / _KT_A_SECOND * mean_kt / 3600.0


def power_back_dme(*, arc_nm: float, fast_kt: float, gs_kt: float) -> float:
    """DME at which the power comes back, inbound: slow when the turn on to the arc begins. [NM]"""
    slowing = _slowing_nm(fast_kt, gs_kt, (fast_kt + gs_kt) / 2.0)
    return turn_on_dme(arc_nm=arc_nm, gs_kt=gs_kt, way="inbound") + slowing


def power_back_without_lead(*, arc_nm: float, fast_kt: float, gs_kt: float) -> float:
    """The room for slowing only. [NM]"""
    return arc_nm + _slowing_nm(fast_kt, gs_kt, (fast_kt + gs_kt) / 2.0)


def power_back_at_the_lead(*, arc_nm: float, gs_kt: float) -> float:
    """The lead only. [NM]"""
    return turn_on_dme(arc_nm=arc_nm, gs_kt=gs_kt, way="inbound")


def power_back_at_the_old_speed(*, arc_nm: float, fast_kt: float, gs_kt: float) -> float:
    """All of the slowing reckoned at the speed of now. [NM]"""
    return power_back_at_the_lead(arc_nm=arc_nm, gs_kt=gs_kt) + _slowing_nm(fast_kt, gs_kt, fast_kt)


def power_back_at_the_new_speed(*, arc_nm: float, fast_kt: float, gs_kt: float) -> float:
    """All of the slowing reckoned at the speed wanted. [NM]"""
    return power_back_at_the_lead(arc_nm=arc_nm, gs_kt=gs_kt) + _slowing_nm(fast_kt, gs_kt, gs_kt)


def power_back_for_the_old_lead(*, arc_nm: float, fast_kt: float, gs_kt: float) -> float:
    """The lead of the speed of now. [NM]"""
    return power_back_dme(arc_nm=arc_nm, fast_kt=fast_kt, gs_kt=gs_kt) + (fast_kt - gs_kt) / 200.0


def power_back_distance(*, arc_nm: float, fast_kt: float, gs_kt: float) -> float:
    """Lead and slowing without the arc. [NM]"""
    return power_back_dme(arc_nm=arc_nm, fast_kt=fast_kt, gs_kt=gs_kt) - arc_nm


def power_back_inside(*, arc_nm: float, fast_kt: float, gs_kt: float) -> float:
    """Lead and slowing laid off on the other side of the arc. [NM]"""
    return 2.0 * arc_nm - power_back_dme(arc_nm=arc_nm, fast_kt=fast_kt, gs_kt=gs_kt)


def power_back_seconds(*, arc_nm: float, fast_kt: float, gs_kt: float) -> float:
    """The seconds of slowing for hundredths of a mile. [NM]"""
    return power_back_at_the_lead(arc_nm=arc_nm, gs_kt=gs_kt) + (fast_kt - gs_kt) / _KT_A_SECOND / 100.0


def power_back_seconds_alone(*, arc_nm: float, fast_kt: float, gs_kt: float) -> float:
    """The same without a lead. [NM]"""
    return arc_nm + (fast_kt - gs_kt) / _KT_A_SECOND / 100.0


def power_back_minutes(*, arc_nm: float, fast_kt: float, gs_kt: float) -> float:
    """The minutes of slowing for miles. [NM]"""
    return power_back_at_the_lead(arc_nm=arc_nm, gs_kt=gs_kt) + (fast_kt - gs_kt) / _KT_A_SECOND / 60.0


def power_back_minutes_alone(*, arc_nm: float, fast_kt: float, gs_kt: float) -> float:
    """The same without a lead. [NM]"""
    return arc_nm + (fast_kt - gs_kt) / _KT_A_SECOND / 60.0


def power_back_at_the_difference(*, arc_nm: float, fast_kt: float, gs_kt: float) -> float:
    """The knots to lose for the speed. [NM]"""
    return power_back_at_the_lead(arc_nm=arc_nm, gs_kt=gs_kt) + _slowing_nm(fast_kt, gs_kt, fast_kt - gs_kt)


def power_back_half_the_lead(*, arc_nm: float, fast_kt: float, gs_kt: float) -> float:
    """Half of the lead. [NM]"""
    return power_back_dme(arc_nm=arc_nm, fast_kt=fast_kt, gs_kt=gs_kt) - gs_kt / 400.0


def power_back_twice_the_lead(*, arc_nm: float, fast_kt: float, gs_kt: float) -> float:
    """Twice the lead. [NM]"""
    return power_back_dme(arc_nm=arc_nm, fast_kt=fast_kt, gs_kt=gs_kt) + gs_kt / 200.0


def power_back_new_speed_alone(*, arc_nm: float, fast_kt: float, gs_kt: float) -> float:
    """All of the slowing at the speed wanted, without a lead. [NM]"""
    return arc_nm + _slowing_nm(fast_kt, gs_kt, gs_kt)


def power_back_old_speed_throughout(*, arc_nm: float, fast_kt: float, gs_kt: float) -> float:
    """Slowing and lead at the speed of now. [NM]"""
    return arc_nm + fast_kt / 200.0 + _slowing_nm(fast_kt, gs_kt, fast_kt)


def power_back_old_lead_only(*, arc_nm: float, fast_kt: float) -> float:
    """The lead of the speed of now. [NM]"""
    return arc_nm + fast_kt / 200.0


def power_back_lead_inside(*, arc_nm: float, fast_kt: float, gs_kt: float) -> float:
    """The lead taken off. [NM]"""
    return power_back_dme(arc_nm=arc_nm, fast_kt=fast_kt, gs_kt=gs_kt) - gs_kt / 100.0


def power_back_half_a_knot(*, arc_nm: float, fast_kt: float, gs_kt: float) -> float:
    """Half a knot a second. [NM]"""
    return power_back_dme(arc_nm=arc_nm, fast_kt=fast_kt, gs_kt=gs_kt) + power_back_slowing(
        fast_kt=fast_kt, gs_kt=gs_kt
    )


def power_back_slowing_taken_off(*, arc_nm: float, fast_kt: float, gs_kt: float) -> float:
    """Slow down inside the arc, without a lead. [NM]"""
    return arc_nm - power_back_slowing(fast_kt=fast_kt, gs_kt=gs_kt)


def power_back_slowing_taken_off_the_lead(*, arc_nm: float, fast_kt: float, gs_kt: float) -> float:
    """Take the way flown while slowing down off the reading at which the turn begins. [NM]"""
    return power_back_at_the_lead(arc_nm=arc_nm, gs_kt=gs_kt) - power_back_slowing(fast_kt=fast_kt, gs_kt=gs_kt)


def power_back_slowing(*, fast_kt: float, gs_kt: float) -> float:
    """The way flown while slowing down. [NM]"""
    return _slowing_nm(fast_kt, gs_kt, (fast_kt + gs_kt) / 2.0)


# ---------------------------------------------------------------- side and headings


def a_join(random: Random) -> dict[str, Any]:
    """Draw an arc and a radial to join it on, not a round one."""
    turn = random.choice(_WAYS)
    way = random.choice(["inbound", "outbound"])
    radial = random.choice([radial for radial in range(11, 350) if radial % 5])
    return {"turn": turn, "way": way, "radial_deg": radial, "round": _ROUND[turn]}


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
    begin = whole(random.choice([317, 324, 328, 336]) if turn == "right" else random.choice([23, 32, 36, 44]))
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


def twisted_back(*, radial_deg: int, turn: str, place: int) -> float | None:
    """The last twist the wrong way; on the third leg that cannot be told from no twist at all. [degrees]"""
    return _radial_on(radial_deg, turn, place - 2) if place != 3 else None


def still_the_first(*, radial_deg: int, turn: str, place: int) -> float | None:
    """The first radial still; on the second leg it is the one that has been crossed. [degrees]"""
    return _radial_on(radial_deg, turn, 1) if place > 3 else None


def the_first_again(*, radial_deg: int, turn: str, place: int) -> float | None:
    """The first radial on the third leg, twisted back or never twisted. [degrees]"""
    return _radial_on(radial_deg, turn, 1) if place == 3 else None


def not_twisted(*, radial_deg: int, turn: str, place: int) -> float:
    """The radial that has been crossed. [degrees]"""
    return _radial_on(radial_deg, turn, place - 1)


def twisted_twenty(*, radial_deg: int, turn: str, place: int) -> float:
    """One step too many. [degrees]"""
    return _radial_on(radial_deg, turn, place + 1)


def twisted_back_always(*, radial_deg: int, turn: str, place: int) -> float | None:
    """Every twist the wrong way; up to the second leg a single one is the same. [degrees]"""
    return _radial_on(radial_deg, turn, 2 - place) if place > 2 else None


def twisted_twenty_each(*, radial_deg: int, turn: str, place: int) -> float | None:
    """Twenty at every twist; on the second leg that is one step too many. [degrees]"""
    return _radial_on(radial_deg, turn, 2 * place - 1) if place > 2 else None


def twisted_five_each(*, radial_deg: int, turn: str, place: int) -> float:
    """Five at every twist. [degrees]"""
    return float(whole(radial_deg + _sign(turn) * _STEP_DEG * (place + 1) / 2.0))


def three_steps_on(*, radial_deg: int, turn: str, place: int) -> float:
    """Two radials too far. [degrees]"""
    return _radial_on(radial_deg, turn, place + 2)


def radial_reversed(*, radial_deg: int) -> float:
    """The way in to the station. [degrees magnetic]"""
    return float(angles.reciprocal(radial_deg))


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


def nose_inside(*, turn: str, along_deg: float) -> float:
    """Heading of a leg, from the heading along the arc where it begins. [degrees magnetic]"""
    return float(whole(along_deg + _sign(turn) * _INSIDE_DEG))


def leg_ten_inside(*, radial_deg: int, turn: str, place: int, step_deg: int) -> float:
    """At right angles to the radial on which a leg ends. [degrees magnetic]"""
    return _leg_deg(_begin_deg(radial_deg, turn, place, step_deg), _sign(turn), 2.0 * _INSIDE_DEG)


def leg_not_turned_again(*, radial_deg: int, turn: str, place: int, step_deg: int) -> float | None:
    """Heading of the leg before; on the second leg that is the first one's. [degrees magnetic]"""
    if place < 3:
        return None
    return leg_heading(radial_deg=radial_deg, turn=turn, place=place - 1, step_deg=step_deg)


def leg_turned_twenty(*, radial_deg: int, turn: str, place: int, step_deg: int) -> float:
    """Heading of the leg after. [degrees magnetic]"""
    return leg_heading(radial_deg=radial_deg, turn=turn, place=place + 1, step_deg=step_deg)


def leg_turned_twenty_each(*, radial_deg: int, turn: str, place: int) -> float | None:
    """Twenty at every turn; on the second leg that is the heading of the leg after. [degrees magnetic]"""
    return _leg_deg(radial_deg + _sign(turn) * 2 * _STEP_DEG * (place - 1), _sign(turn)) if place > 2 else None


def leg_turned_five_each(*, radial_deg: int, turn: str, place: int) -> float:
    """Five at every turn. [degrees magnetic]"""
    return _leg_deg(radial_deg + _sign(turn) * _INSIDE_DEG * (place - 1), _sign(turn))


def leg_reversed(*, radial_deg: int, turn: str, place: int, step_deg: int) -> float:
    """The other way about. [degrees magnetic]"""
    return float(angles.reciprocal(leg_heading(radial_deg=radial_deg, turn=turn, place=place, step_deg=step_deg)))


def leg_nose_outside(*, radial_deg: int, turn: str, place: int, step_deg: int) -> float:
    """Nose five degrees to the outside. [degrees magnetic]"""
    return _leg_deg(_begin_deg(radial_deg, turn, place, step_deg), _sign(turn), -_INSIDE_DEG)


def leg_ten_outside(*, radial_deg: int, turn: str, place: int, step_deg: int) -> float:
    """Nose ten degrees to the outside. [degrees magnetic]"""
    return _leg_deg(_begin_deg(radial_deg, turn, place, step_deg), _sign(turn), -2.0 * _INSIDE_DEG)


def leg_outside_other_way(*, radial_deg: int, turn: str, place: int, step_deg: int) -> float:
    """Nose five degrees to the outside, the other way round. [degrees magnetic]"""
    return _leg_deg(_begin_deg(radial_deg, turn, place, step_deg), -_sign(turn), -_INSIDE_DEG)


def five_from_the_radial(*, radial_deg: int, turn: str) -> float:
    """Five degrees from the radial, without the 90. [degrees magnetic]"""
    return float(whole(radial_deg + _sign(turn) * _INSIDE_DEG))


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


def quarter_of_a_step(*, step_deg: int) -> float:
    """A quarter of the step. [degrees]"""
    return step_deg / 4.0


def third_of_a_step(*, step_deg: int) -> float:
    """A third of the step. [degrees]"""
    return step_deg / 3.0


def twice_a_step(*, step_deg: int) -> float:
    """Twice the step. [degrees]"""
    return 2.0 * step_deg


def step_less_five(*, step_deg: int) -> float:
    """The step less five. [degrees]"""
    return step_deg - _INSIDE_DEG


def step_less_ten(*, step_deg: int) -> float:
    """The step less ten. [degrees]"""
    return step_deg - 2.0 * _INSIDE_DEG


def fifth_of_a_step(*, step_deg: int) -> float:
    """A fifth of the step. [degrees]"""
    return step_deg / 5.0


def step_and_five(*, step_deg: int) -> float:
    """The step and five. [degrees]"""
    return step_deg + _INSIDE_DEG


def half_and_five(*, step_deg: int) -> float:
    """Half of the step and five. [degrees]"""
    return step_deg / 2.0 + _INSIDE_DEG


# ---------------------------------------------------------------- wind round the arc
#
# The course of a leg is its heading in still air; the wind is magnetic.

_FAR_APART_DEG = (0, 35, 84)  # between the three legs that are asked for


def a_wind_on_the_nose(random: Random) -> dict[str, Any]:
    """Draw a wind that meets the first leg from one side ahead and the last from the other, magnetic."""
    turn = random.choice(_WAYS)
    begin = random.choice([radial for radial in range(11, 350) if radial % 5])
    ahead = random.choice([51, 52, 53, 54, 58, 59, 60, 61])
    return {
        "turn": turn,
        "round": _ROUND[turn],
        "tas_kt": random.choice([90, 92, 94, 96, 98, 100, 102, 104]),
        "wind_deg": whole(_leg_deg(begin, _sign(turn)) + _sign(turn) * ahead),
        "wind_kt": random.choice([28, 30, 32, 34, 36]),
        "begin_deg": begin,
    }


def _legs_from(begin_deg: int, turn: str, gone_deg: tuple[int, ...]) -> list[dict[str, Any]]:
    return [
        {
            "place": place,
            "begins_deg": whole(begin_deg + _sign(turn) * gone),
            "course_deg": whole(_leg_deg(begin_deg + _sign(turn) * gone, _sign(turn))),
            "first_course_deg": whole(_leg_deg(begin_deg, _sign(turn))),
        }
        for place, gone in enumerate(gone_deg, 1)
    ]


def legs_far_apart(*, begin_deg: int, turn: str) -> list[dict[str, Any]]:
    """Give the three legs that are asked for."""
    return _legs_from(begin_deg, turn, _FAR_APART_DEG)


def legs_of_the_brief(*, radial_deg: int, turn: str) -> list[dict[str, Any]]:
    """Give the first leg and the fourth."""
    return [{**leg, "place": place} for place, leg in zip((1, 4), _legs_from(radial_deg, turn, (0, 30)), strict=True)]


def held_deg(*, course_deg: float, tas_kt: float, wind_deg: float, wind_kt: float) -> float:
    """Heading that holds a leg in a magnetic wind: square to its middle radial, corrected. [degrees magnetic]"""
    return float(wind.heading_deg(course_deg=course_deg, tas_kt=tas_kt, wind_from_deg=wind_deg, wind_kt=wind_kt))


def held_by_rule(*, course_deg: float, tas_kt: float, wind_deg: float, wind_kt: float) -> float:
    """Give it by 60 x crosswind / true airspeed, with a calculator's crosswind. [degrees magnetic]"""
    return heading_by_parts(course_deg=course_deg, tas_kt=tas_kt, wind_from_deg=wind_deg, wind_kt=wind_kt)


def held_by_estimate(*, course_deg: float, tas_kt: float, wind_deg: float, wind_kt: float) -> float:
    """Give it with the part across estimated between those taught. [degrees magnetic]"""
    part = taught_part_across(off_deg=wind_deg - course_deg)
    return heading_by_parts(course_deg=course_deg, tas_kt=tas_kt, wind_from_deg=wind_deg, wind_kt=wind_kt, part=part)


def held_from_radial(*, begins_deg: int, course_deg: float, tas_kt: float, wind_deg: float, wind_kt: float) -> float:
    """The correction laid off from the radial where the leg begins. [degrees magnetic]"""
    held = held_deg(course_deg=course_deg, tas_kt=tas_kt, wind_deg=wind_deg, wind_kt=wind_kt)
    return float(angles.wrap360(begins_deg + float(angles.difference_deg(from_deg=course_deg, to_deg=held))))


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


def out_by_five(*, off_nm: float) -> float:
    """Five degrees out for each half mile. Source: P-871 ch. 4. [degrees]"""
    return -10.0 * off_nm


def out_by_ten(*, off_nm: float) -> float:
    """Ten degrees out for each half mile. [degrees]"""
    return -20.0 * off_nm


def out_by_twenty(*, off_nm: float) -> float:
    """Twenty degrees out for each half mile. [degrees]"""
    return -40.0 * off_nm


def outside_slip(*, answer: float) -> str | None:
    """Say by side and size what is wrong with a change of heading outside the arc."""
    if answer < 0.0:
        return "LR"
    return "CHASE" if answer > arc.LARGEST_CHANGE_DEG else "LITTLE"


def inside_slip(*, answer: float) -> str | None:
    """Say by side what is wrong with a change of heading inside the arc."""
    return "SAMEWAY" if answer > 0.0 else "CHASE"


# ---------------------------------------------------------------- leaving: the floor, the lead to final


def a_radial_before_345(random: Random) -> dict[str, Any]:
    """Draw a radial that is not yet past the floor's end."""
    return {"radial_deg": random.randrange(337, 344)}


def safe_or_low(*, answer: float) -> str | None:
    """Say of an altitude whether it is above the floor here, below it, or below every floor."""
    if answer > 3400.0:
        return "SAFE"
    return "BELOW" if answer > 3000.0 else "GROUND"


# Arcs far enough from ten miles, and speeds far enough from the text's 98 kt, to tell six degrees a mile, half a lead
# and the text's own lead from the rule.
_ARCS_AND_SPEEDS = (
    *((7, gs) for gs in (110, 120, 130)),
    *((14, gs) for gs in (120, 130)),
    *((15, gs) for gs in (110, 120, 130)),
)


def a_lead(random: Random) -> dict[str, Any]:
    """Draw an arc, a speed and a final."""
    turn = random.choice(_WAYS)
    arc_nm, gs = random.choice(_ARCS_AND_SPEEDS)
    final = random.randrange(20, 345)
    return {
        "turn": turn,
        "round": _ROUND[turn],
        "arc_nm": arc_nm,
        "gs_kt": gs,
        "final_deg": final,
        "course_deg": whole(final + 180),
    }


def lead_degrees(*, arc_nm: float, gs_kt: float) -> float:
    """Degrees of lead: 60 / arc times half a per cent of the ground speed. [degrees]

    Source: P-340 6-98; P-871 ch. 4.
    """
    return float(arc.lead_radial_rule_deg(arc_nm=arc_nm, gs_kt=gs_kt))


def lead_degrees_by_geometry(*, arc_nm: float, gs_kt: float) -> float:
    """Degrees of lead of a standard-rate turn, without the rule. [degrees]"""
    return float(arc.lead_radial_deg(arc_nm=arc_nm, tas_kt=gs_kt, direction="inbound"))


def lead_at_98(*, arc_nm: float) -> float:
    """The lead for the ground speed of the text. [degrees]"""
    return lead_degrees(arc_nm=arc_nm, gs_kt=98.0)


def lead_not_divided(*, gs_kt: float) -> float:
    """Not divided by the arc. [degrees]"""
    return 60.0 * lead_miles(gs_kt=gs_kt)


def lead_without_60(*, arc_nm: float, gs_kt: float) -> float:
    """The 60 left out. [degrees]"""
    return lead_miles(gs_kt=gs_kt) / arc_nm


def lead_and_reaction(*, arc_nm: float, gs_kt: float) -> float:
    """Half a degree added for reaction. [degrees]"""
    return lead_degrees(arc_nm=arc_nm, gs_kt=gs_kt) + 0.5


def lead_of_half_a_mile(*, arc_nm: float) -> float:
    """Half a mile. [degrees]"""
    return 30.0 / arc_nm


def lead_of_two_miles(*, arc_nm: float) -> float:
    """Two miles. [degrees]"""
    return 120.0 / arc_nm


def lead_of_a_mile(*, arc_nm: float) -> float:
    """One mile. [degrees]"""
    return 60.0 / arc_nm


def lead_of_a_minute(*, arc_nm: float, gs_kt: float) -> float:
    """A minute of flight for the miles of the lead. [degrees]"""
    return gs_kt / arc_nm


def lead_times_arc(*, arc_nm: float, gs_kt: float) -> float:
    """The miles times the arc. [degrees]"""
    return arc_nm * lead_miles(gs_kt=gs_kt)


def lead_arc_over_sixty(*, arc_nm: float, gs_kt: float) -> float:
    """The miles times the arc, over 60. [degrees]"""
    return arc_nm * lead_miles(gs_kt=gs_kt) / 60.0


def lead_ten_times(*, arc_nm: float, gs_kt: float) -> float:
    """The decimal point moved up. [degrees]"""
    return 10.0 * lead_degrees(arc_nm=arc_nm, gs_kt=gs_kt)


def lead_tenth(*, arc_nm: float, gs_kt: float) -> float:
    """The decimal point moved down. [degrees]"""
    return 0.1 * lead_degrees(arc_nm=arc_nm, gs_kt=gs_kt)


def lead_for_45(*, arc_nm: float, gs_kt: float) -> float:
    """The part of the lead that belongs to the last 45 degrees. [degrees]"""
    return 0.3 * lead_degrees(arc_nm=arc_nm, gs_kt=gs_kt)


def lead_radial(*, final_deg: float, turn: str, arc_nm: float, gs_kt: float) -> float:
    """Radial on which the turn to final begins, before the final one. [degrees]"""
    return float(angles.wrap360(final_deg - _sign(turn) * lead_degrees(arc_nm=arc_nm, gs_kt=gs_kt)))


def radial_before(*, final_deg: float, turn: str, lead_deg: float) -> float:
    """Radial so many degrees before the final one. [degrees]"""
    return float(angles.wrap360(final_deg - _sign(turn) * lead_deg))


def lead_radial_by_geometry(*, final_deg: float, turn: str, arc_nm: float, gs_kt: float) -> float:
    """Radial on which a standard-rate turn to final begins, without the rule. [degrees]"""
    return float(angles.wrap360(final_deg - _sign(turn) * lead_degrees_by_geometry(arc_nm=arc_nm, gs_kt=gs_kt)))


def radial_by_miles(*, final_deg: float, turn: str, gs_kt: float) -> float:
    """The miles of the lead taken for degrees. [degrees]"""
    return float(angles.wrap360(final_deg - _sign(turn) * lead_miles(gs_kt=gs_kt)))


def radial_not_divided(*, final_deg: float, turn: str, gs_kt: float) -> float:
    """The lead not divided by the arc. [degrees]"""
    return float(angles.wrap360(final_deg - _sign(turn) * lead_not_divided(gs_kt=gs_kt)))


def radial_before_by_45(*, final_deg: float, turn: str) -> float:
    """45 degrees before the final. [degrees]"""
    return float(angles.wrap360(final_deg - _sign(turn) * 45.0))


def radial_before_by_ten(*, final_deg: float, turn: str) -> float:
    """Ten degrees before the final. [degrees]"""
    return float(angles.wrap360(final_deg - _sign(turn) * _STEP_DEG))


def charted_lead_after(*, final_deg: float, turn: str) -> float:
    """Twelve degrees beyond the final. [degrees]"""
    return float(angles.wrap360(final_deg + _sign(turn) * _CHARTED_DEG))


def charted_lead_radial(*, final_deg: float, turn: str) -> float:
    """Twelve degrees, the lead that Saltmarsh charts. [degrees]"""
    return float(angles.wrap360(final_deg - _CHARTED_DEG * _sign(turn)))


# ---------------------------------------------------------------- down while on the arc

_DOWN_FPM = 500


def a_lower_floor(random: Random) -> dict[str, Any]:
    """Draw two floors of an arc: the lower one begins at a radial, and is to be reached before another."""
    turn = random.choice(_WAYS)
    arc_nm = random.choice([7, 8, 13, 14, 15])
    tas = random.choice([96, 100, 104])
    upper = random.choice([3900, 4100, 4300])
    drop = random.choice([600, 700, 800])
    sweep = random.choice([34, 37, 41, 44])
    begins = random.choice([radial for radial in range(61, 300) if radial % 5])
    return {
        "turn": turn,
        "round": _ROUND[turn],
        "arc_nm": arc_nm,
        "tas_kt": tas,
        "gs_kt": tas + random.choice([-20, -16, 16, 20]),
        "upper_ft": upper,
        "floor_ft": upper - drop,
        "drop_ft": drop,
        "fpm": _DOWN_FPM,
        "begins_deg": begins,
        "ends_deg": whole(begins + _sign(turn) * sweep),
        "gradient_ft_nm": drop / (sweep * arc_nm / 60.0),
    }


def _down_degrees(arc_nm: float, gs_kt: float, drop_ft: float) -> float:
    """Degrees of arc that a descent takes, by the rule of sixty: 5 % too many. [degrees]"""
    return drop_ft / _DOWN_FPM * gs_kt / arc_nm


def down_by(*, turn: str, ends_deg: float, arc_nm: float, gs_kt: float, drop_ft: float) -> float:
    """Last radial at which the descent may begin. [degrees]"""
    return float(angles.wrap360(ends_deg - _sign(turn) * _down_degrees(arc_nm, gs_kt, drop_ft)))


def down_by_whole(*, turn: str, ends_deg: float, arc_nm: float, gs_kt: float, drop_ft: float) -> float:
    """Last whole radial at which the descent may begin: a part of a degree counts as a whole one. [degrees]"""
    needs = math.ceil(_down_degrees(arc_nm, gs_kt, drop_ft) - 1e-9)
    return float(angles.wrap360(ends_deg - _sign(turn) * needs))


def down_by_geometry(*, turn: str, ends_deg: float, arc_nm: float, gs_kt: float, drop_ft: float) -> float:
    """Last whole radial without the rule, less the degree that is right either way. [degrees]"""
    needs = math.ceil(_down_degrees(arc_nm, gs_kt, drop_ft) * math.degrees(1.0) / 60.0 - 1e-9) + 1
    return float(angles.wrap360(ends_deg - _sign(turn) * needs))


def down_degrees(*, arc_nm: float, gs_kt: float, drop_ft: float) -> float:
    """Degrees that the descent takes. [degrees]"""
    return _down_degrees(arc_nm, gs_kt, drop_ft)


def down_by_past_the_end(*, turn: str, ends_deg: float, arc_nm: float, gs_kt: float, drop_ft: float) -> float:
    """Laid off beyond the radial where it should have ended. [degrees]"""
    return down_by(turn=turn, ends_deg=ends_deg, arc_nm=arc_nm, gs_kt=-gs_kt, drop_ft=drop_ft)


def level_from_the_crossing(*, turn: str, begins_deg: float, arc_nm: float, gs_kt: float, drop_ft: float) -> float:
    """Where a descent begun at the crossing would end. [degrees]"""
    return float(angles.wrap360(begins_deg + _sign(turn) * _down_degrees(arc_nm, gs_kt, drop_ft)))


def down_by_six_degrees(*, turn: str, ends_deg: float, gs_kt: float, drop_ft: float) -> float:
    """Six degrees a mile whatever the arc. [degrees]"""
    return down_by(turn=turn, ends_deg=ends_deg, arc_nm=10.0, gs_kt=gs_kt, drop_ft=drop_ft)


def down_by_miles(*, turn: str, ends_deg: float, gs_kt: float, drop_ft: float) -> float:
    """The miles taken for degrees. [degrees]"""
    return down_by(turn=turn, ends_deg=ends_deg, arc_nm=60.0, gs_kt=gs_kt, drop_ft=drop_ft)


def down_by_airspeed(*, turn: str, ends_deg: float, arc_nm: float, tas_kt: float, drop_ft: float) -> float:
    """At the airspeed. [degrees]"""
    return down_by(turn=turn, ends_deg=ends_deg, arc_nm=arc_nm, gs_kt=tas_kt, drop_ft=drop_ft)


def down_minutes(*, drop_ft: float) -> float:
    """Minutes that the descent takes. [minutes]"""
    return drop_ft / _DOWN_FPM


def down_by_minutes(*, turn: str, ends_deg: float, drop_ft: float) -> float:
    """The minutes taken for degrees. [degrees]"""
    return float(angles.wrap360(ends_deg - _sign(turn) * down_minutes(drop_ft=drop_ft)))


def down_before_the_crossing(*, turn: str, begins_deg: float, arc_nm: float, gs_kt: float, drop_ft: float) -> float:
    """Counted back from the crossing. [degrees]"""
    return down_by(turn=turn, ends_deg=begins_deg, arc_nm=arc_nm, gs_kt=gs_kt, drop_ft=drop_ft)


def down_from_the_floor_height(*, turn: str, ends_deg: float, arc_nm: float, gs_kt: float, floor_ft: float) -> float:
    """The lower floor itself for the feet to lose. [degrees]"""
    return down_by(turn=turn, ends_deg=ends_deg, arc_nm=arc_nm, gs_kt=gs_kt, drop_ft=floor_ft)


def down_not_divided(*, gs_kt: float, drop_ft: float) -> float:
    """Minutes times ground speed, not divided by the arc's DME. [degrees]"""
    return _down_degrees(1.0, gs_kt, drop_ft)


def down_by_half(*, turn: str, ends_deg: float, arc_nm: float, gs_kt: float, drop_ft: float) -> float:
    """Half of the degrees. [degrees]"""
    return down_by(turn=turn, ends_deg=ends_deg, arc_nm=arc_nm, gs_kt=gs_kt, drop_ft=0.5 * drop_ft)


def down_by_twice(*, turn: str, ends_deg: float, arc_nm: float, gs_kt: float, drop_ft: float) -> float:
    """Twice the degrees. [degrees]"""
    return down_by(turn=turn, ends_deg=ends_deg, arc_nm=arc_nm, gs_kt=gs_kt, drop_ft=2.0 * drop_ft)


def down_by_300(*, turn: str, ends_deg: float, arc_nm: float, drop_ft: float) -> float:
    """At 300 feet a mile. [degrees]"""
    return float(angles.wrap360(ends_deg - _sign(turn) * drop_ft / 300.0 * 60.0 / arc_nm))


def down_half_way(*, turn: str, begins_deg: float, ends_deg: float) -> float:
    """Half way between the two radials. [degrees]"""
    sweep = abs(float(angles.difference_deg(from_deg=begins_deg, to_deg=ends_deg)))
    return float(angles.wrap360(begins_deg + _sign(turn) * 0.5 * sweep))


def down_from_the_upper_floor(*, turn: str, ends_deg: float, arc_nm: float, gs_kt: float, upper_ft: float) -> float:
    """The upper floor itself for the feet to lose. [degrees]"""
    return down_by(turn=turn, ends_deg=ends_deg, arc_nm=arc_nm, gs_kt=gs_kt, drop_ft=upper_ft)


def down_by_reversed(*, turn: str, ends_deg: float, arc_nm: float, gs_kt: float, drop_ft: float) -> float:
    """The other end of the line. [degrees]"""
    return float(
        angles.wrap360(180.0 + down_by(turn=turn, ends_deg=ends_deg, arc_nm=arc_nm, gs_kt=gs_kt, drop_ft=drop_ft))
    )


def down_by_airspeed_past(*, turn: str, ends_deg: float, arc_nm: float, tas_kt: float, drop_ft: float) -> float:
    """At the airspeed, beyond the end. [degrees]"""
    return down_by_past_the_end(turn=turn, ends_deg=ends_deg, arc_nm=arc_nm, gs_kt=tas_kt, drop_ft=drop_ft)


def down_by_airspeed_from_the_crossing(
    *, turn: str, begins_deg: float, arc_nm: float, tas_kt: float, drop_ft: float
) -> float:
    """At the airspeed, on from the crossing. [degrees]"""
    return level_from_the_crossing(turn=turn, begins_deg=begins_deg, arc_nm=arc_nm, gs_kt=tas_kt, drop_ft=drop_ft)


def down_by_six_from_the_crossing(*, turn: str, begins_deg: float, gs_kt: float, drop_ft: float) -> float:
    """Six degrees a mile, on from the crossing. [degrees]"""
    return level_from_the_crossing(turn=turn, begins_deg=begins_deg, arc_nm=10.0, gs_kt=gs_kt, drop_ft=drop_ft)


def least_rate(*, gradient_ft_nm: float, gs_kt: float) -> float:
    """Rate that comes down all the way from one radial to the other. [fpm]"""
    return gradient_ft_nm * gs_kt / 60.0


def least_rate_by_geometry(*, gradient_ft_nm: float, gs_kt: float) -> float:
    """The same, without the rule of sixty. [fpm]"""
    return least_rate(gradient_ft_nm=gradient_ft_nm, gs_kt=gs_kt) * math.degrees(1.0) / 60.0


def least_rate_by_six_degrees(*, gradient_ft_nm: float, gs_kt: float, arc_nm: float) -> float:
    """Six degrees a mile whatever the arc. [fpm]"""
    return least_rate(gradient_ft_nm=gradient_ft_nm, gs_kt=gs_kt) * arc_nm / 10.0


def miles_between(*, gradient_ft_nm: float, drop_ft: float) -> float:
    """Miles between the two radials. [NM]"""
    return drop_ft / gradient_ft_nm


def minutes_between(*, gradient_ft_nm: float, drop_ft: float, gs_kt: float) -> float:
    """Minutes between the two radials. [minutes]"""
    return miles_between(gradient_ft_nm=gradient_ft_nm, drop_ft=drop_ft) / gs_kt * 60.0


def feet_a_degree(*, gradient_ft_nm: float, arc_nm: float) -> float:
    """Feet to lose for each degree of the arc. [ft]"""
    return gradient_ft_nm * arc_nm / 60.0


def rate_by_degrees(*, gradient_ft_nm: float, gs_kt: float, arc_nm: float) -> float:
    """Degrees taken for miles. [fpm]"""
    return least_rate(gradient_ft_nm=feet_a_degree(gradient_ft_nm=gradient_ft_nm, arc_nm=arc_nm), gs_kt=gs_kt)


def rate_for_the_floor(*, gradient_ft_nm: float, gs_kt: float, floor_ft: float, drop_ft: float) -> float:
    """The lower floor itself for the feet to lose. [fpm]"""
    return least_rate(gradient_ft_nm=gradient_ft_nm, gs_kt=gs_kt) * floor_ft / drop_ft


def rate_for_the_upper_floor(*, gradient_ft_nm: float, gs_kt: float, upper_ft: float, drop_ft: float) -> float:
    """The upper floor itself for the feet to lose. [fpm]"""
    return least_rate(gradient_ft_nm=gradient_ft_nm, gs_kt=gs_kt) * upper_ft / drop_ft


def half_the_least_rate(*, gradient_ft_nm: float, gs_kt: float) -> float:
    """Half of the rate. [fpm]"""
    return 0.5 * least_rate(gradient_ft_nm=gradient_ft_nm, gs_kt=gs_kt)


def twice_the_least_rate(*, gradient_ft_nm: float, gs_kt: float) -> float:
    """Twice the rate. [fpm]"""
    return 2.0 * least_rate(gradient_ft_nm=gradient_ft_nm, gs_kt=gs_kt)


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
_VARIATION_DEG = 13.0  # west, at Overfall
_END_DME = 5.8
_LEAD_GRAIN_NM = 0.1 + 1e-9  # either way of the lead on to the arc


def _an_arc_to_fly(turn: str) -> dict[str, Any]:
    final = 34 if turn == "right" else 62
    return {
        "turn": turn,
        "round": _ROUND[turn],
        "arc_nm": 10.0,
        "from_deg": 310 if turn == "right" else 146,
        "final_deg": final,
        "course_deg": whole(final + 180),
        "tas_kt": 104,  # the Finch's 98 kt indicated, at 3,600 ft
    }


def an_arc_to_plan(random: Random) -> dict[str, Any]:
    """Draw a strong wind against the middle of the arc: the correction is to the right first, later to the left."""
    drawn = {
        **_an_arc_to_fly("right"),
        "wind_deg": random.choice([74, 76, 78, 80, 82, 84, 86]),
        "wind_kt": random.choice([25, 26, 27]),
    }
    blows = {name: drawn[name] for name in ("from_deg", "tas_kt", "wind_deg", "wind_kt")}
    return {**drawn, "gs_kt": _lead_gs_kt(**blows)}


def an_arc_by_hand(random: Random) -> dict[str, Any]:
    """Draw any wind for the arc of Saltmarsh."""
    return {**_an_arc_to_fly("right"), "wind_deg": random.randrange(10, 361, 10), "wind_kt": random.randrange(8, 23)}


def an_arc_mirrored(random: Random) -> dict[str, Any]:
    """Draw any wind for its mirror image, with the floors of Saltmarsh's arc."""
    blows = {"wind_deg": random.randrange(10, 361, 10), "wind_kt": random.randrange(8, 23)}
    return {**_an_arc_to_fly("left"), **blows, "begins_deg": 111, "upper_ft": 3400, "floor_ft": 3000}


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


@cache
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
        {"when": {"dme_falls_to_nm": _END_DME}, "then": {"end": True}, "note": "end"},
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


def reference_rows_down(
    *,
    arc_nm: float,
    from_deg: int,
    final_deg: int,
    course_deg: int,
    turn: str,
    tas_kt: float,
    wind_deg: float,
    wind_kt: float,
    floor_ft: float,
) -> list[dict[str, Any]]:
    """Give the rows of the plan that flies the arc well and comes down on it, at the step after the lower floor."""
    rows = reference_rows(
        arc_nm=arc_nm,
        from_deg=from_deg,
        final_deg=final_deg,
        course_deg=course_deg,
        turn=turn,
        tas_kt=tas_kt,
        wind_deg=wind_deg,
        wind_kt=wind_kt,
    )
    # Half way round: five degrees past the radial on which the lower floor begins.
    down = next(row for row in rows if row["note"] == f"leg {_LEGS // 2 + 1}")
    down["then"] |= {"vs_fpm": -_DOWN_FPM, "level_ft": floor_ft}
    return rows


def _a_day(wind_deg: float, wind_kt: float) -> Day:
    return day("arc", true_deg(wind_deg), wind_kt)


def plan_days(*, wind_deg: float, wind_kt: float, hidden: bool) -> list[Day]:
    """Give the wind as briefed; at the desk a little veered and fresher, and a little backed and lighter."""
    changes = [(6, 2), (-6, -2)] if hidden else [(0, 0)]
    return [_a_day(wind_deg + turn, wind_kt + more) for turn, more in changes]


def the_day(*, wind_deg: float, wind_kt: float) -> Day:
    """Give the day flown in by hand."""
    return _a_day(wind_deg, wind_kt)


def the_arc_drawn(*, from_deg: int, final_deg: int, arc_nm: float, turn: str) -> dict[str, Any]:
    """Say what is drawn with the way flown: the arc with the mile that is allowed, and the radials it joins."""
    ends = (float(from_deg), float(final_deg))
    return {
        "radials": list(ends),
        "arcs": [(arc_nm, *(ends if turn.casefold() == "right" else ends[::-1]))],
        "band_nm": 1.0,
    }


def final_radial(*, final_deg: int) -> float:
    """Radial of the final: only there does the flight end by itself. [deg magnetic]"""
    return float(final_deg)


def joined_radials(*, from_deg: int, final_deg: int) -> tuple[float, float]:
    """Give the radials on which the arc begins and ends. [degrees]"""
    return (float(from_deg), float(final_deg))


def selectors_inbound(*, from_deg: int) -> tuple[float, float]:
    """Give what the selectors show at first: both the course inbound. [degrees magnetic]"""
    course = float(angles.reciprocal(from_deg))
    return (course, course)


def leads_as_known(
    *,
    filled: Mapping[str, Any],
    arc_nm: float,
    from_deg: int,
    final_deg: int,
    turn: str,
    gs_kt: float,
    least_lead_nm: float,
) -> dict[str, Any]:
    """Take leads, however far out, for the mistake they are, and either end of a radial's line for the radial."""
    taken = dict(filled)
    first = float(filled["course 2 before the turn"])
    ahead = float(_legs(from_deg, turn)[0][1])
    if abs(float(angles.difference_deg(from_deg=float(angles.reciprocal(ahead)), to_deg=first))) < 15.0:
        taken["course 2 before the turn"] = float(angles.reciprocal(first)) or 360.0
    lead_nm, before_nm = lead_miles(gs_kt=gs_kt), filled["turn at DME"] - arc_nm
    if before_nm < -least_lead_nm:
        taken["turn at DME"] = _INSIDE_DME
    elif before_nm < least_lead_nm:
        taken["turn at DME"] = arc_nm
    elif before_nm < lead_nm - _LEAD_GRAIN_NM:
        taken["turn at DME"] = arc_nm + 0.5 * lead_nm
    elif max(lead_nm, float(arc.lead_handbook_nm(gs_kt))) + _LEAD_GRAIN_NM < before_nm:
        taken["turn at DME"] = arc_nm + 2.0 * lead_nm
    lead = lead_degrees(arc_nm=arc_nm, gs_kt=gs_kt)
    before = _sign(turn) * float(angles.difference_deg(from_deg=filled["turn to final on radial"], to_deg=final_deg))
    led = None
    if _CHARTED_DEG + 1.0 < before < 90.0:
        return {**taken, "turn to final on radial": _BEHIND_DEG}
    if abs(before - _CHARTED_DEG) <= 1.0:
        led = float(_CHARTED_DEG)
    elif lead + 1.0 < before < _CHARTED_DEG:
        led = 2.0 * lead
    elif 0.6 < before < lead - 1.0:
        led = 0.5 * lead
    elif -90.0 < before < -0.6:
        return {**taken, "turn to final on radial": _PAST_DEG}
    return taken if led is None else {**taken, **_led(final_deg, turn, led)}


def legs_cause(
    *, filled: Mapping[str, Any], from_deg: int, turn: str, tas_kt: float, wind_deg: float, wind_kt: float
) -> str | None:
    """Name the one mistake that all wrong headings of the plan can come from."""
    right = _headings(from_deg, turn, lambda begin: _planned_deg(begin, turn, tas_kt, wind_deg, wind_kt))
    first = _leg_deg(from_deg, _sign(turn))
    answers, wrong = [], []
    for place, (label, held) in enumerate(right.items()):
        given = float(filled[label])
        if abs(float(angles.difference_deg(from_deg=held, to_deg=given))) <= _HEADING_WITHIN_DEG:
            continue
        wrong.append(label)
        still = float(whole(first + place * _STEP_DEG * _sign(turn)))
        numbers = {"course_deg": still, "first_course_deg": first, "turn": turn, "variation_deg": _VARIATION_DEG}
        blows = {"tas_kt": tas_kt, "wind_from_deg": wind_deg, "wind_kt": wind_kt}
        answers.append((given, {**numbers, **blows}))
    code = common_cause(LEG_AS_TAUGHT, answers)
    return f"{LEG_AS_TAUGHT.family.name}/{code}/{wrong[0] if len(wrong) == 1 else ''}" if code else None


_HEADING_WITHIN_DEG = 2.0


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


def blank_half_the_lead_on(*, arc_nm: float, gs_kt: float) -> dict[str, Any]:
    """Half of the lead on to the arc."""
    return {"turn at DME": turn_on_dme_at_half_the_lead(arc_nm=arc_nm, gs_kt=gs_kt, way="inbound")}


def blank_twice_the_lead_on(*, arc_nm: float, gs_kt: float) -> dict[str, Any]:
    """The lead of a half-rate turn."""
    return {"turn at DME": turn_on_dme_at_half_rate(arc_nm=arc_nm, gs_kt=gs_kt, way="inbound")}


def blank_first_set_here(*, from_deg: int) -> dict[str, Any]:
    """The radial flown in on for the first one ahead."""
    return {"course 2 before the turn": float(from_deg)}


def blank_no_lead(*, final_deg: int) -> dict[str, Any]:
    """No lead to final."""
    return {"turn to final on radial": float(final_deg)}


def _led(final_deg: int, turn: str, lead_deg: float) -> dict[str, Any]:
    return {"turn to final on radial": float(angles.wrap360(final_deg - _sign(turn) * lead_deg))}


def blank_half_the_lead(*, final_deg: int, turn: str, arc_nm: float, gs_kt: float) -> dict[str, Any]:
    """Half of the lead to final."""
    return _led(final_deg, turn, 0.5 * lead_degrees(arc_nm=arc_nm, gs_kt=gs_kt))


def blank_twice_the_lead(*, final_deg: int, turn: str, arc_nm: float, gs_kt: float) -> dict[str, Any]:
    """The lead of a half-rate turn to final."""
    return _led(final_deg, turn, 2.0 * lead_degrees(arc_nm=arc_nm, gs_kt=gs_kt))


def blank_charted_lead(*, final_deg: int, turn: str) -> dict[str, Any]:
    """The charted lead radial where the rule was asked for."""
    return {"turn to final on radial": charted_lead_radial(final_deg=final_deg, turn=turn)}


def blank_course_before(*, final_deg: int, turn: str, arc_nm: float, gs_kt: float) -> dict[str, Any]:
    """The lead counted from the course."""
    radial = lead_radial(final_deg=final_deg, turn=turn, arc_nm=arc_nm, gs_kt=gs_kt)
    return {"turn to final on radial": float(whole(radial + 180.0))}


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


def _share_of_correction(
    share: float, from_deg: int, turn: str, tas_kt: float, wind_deg: float, wind_kt: float
) -> dict[str, Any]:
    def heading(begin: int) -> float:
        still = _leg_deg(begin, _sign(turn))
        held = _planned_deg(begin, turn, tas_kt, wind_deg, wind_kt)
        return still + share * float(angles.difference_deg(from_deg=still, to_deg=held))

    return _headings(from_deg, turn, heading)


def blank_half_correction(
    *, from_deg: int, turn: str, tas_kt: float, wind_deg: float, wind_kt: float
) -> dict[str, Any]:
    """Half of each correction."""
    return _share_of_correction(0.5, from_deg, turn, tas_kt, wind_deg, wind_kt)


def blank_double_correction(
    *, from_deg: int, turn: str, tas_kt: float, wind_deg: float, wind_kt: float
) -> dict[str, Any]:
    """Twice each correction."""
    return _share_of_correction(2.0, from_deg, turn, tas_kt, wind_deg, wind_kt)


def _in_another_wind(
    off_deg: float, from_deg: int, turn: str, tas_kt: float, wind_deg: float, wind_kt: float
) -> dict[str, Any]:
    return _headings(from_deg, turn, lambda begin: _planned_deg(begin, turn, tas_kt, wind_deg + off_deg, wind_kt))


def blank_variation_added(
    *, from_deg: int, turn: str, tas_kt: float, wind_deg: float, wind_kt: float
) -> dict[str, Any]:
    """The magnetic wind taken for a true one."""
    return _in_another_wind(_VARIATION_DEG, from_deg, turn, tas_kt, wind_deg, wind_kt)


def blank_variation_taken_off(
    *, from_deg: int, turn: str, tas_kt: float, wind_deg: float, wind_kt: float
) -> dict[str, Any]:
    """The magnetic wind made a true one."""
    return _in_another_wind(-_VARIATION_DEG, from_deg, turn, tas_kt, wind_deg, wind_kt)


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


def blank_ten_inside(*, from_deg: int, turn: str, tas_kt: float, wind_deg: float, wind_kt: float) -> dict[str, Any]:
    """Each leg at right angles to the radial where it ends."""
    return _headings(
        from_deg,
        turn,
        lambda begin: _planned_deg(begin, turn, tas_kt, wind_deg, wind_kt) + _INSIDE_DEG * _sign(turn),
    )


def blank_a_leg_late(*, from_deg: int, turn: str, tas_kt: float, wind_deg: float, wind_kt: float) -> dict[str, Any]:
    """The heading of the leg before on each leg but the first."""
    one = _STEP_DEG * _sign(turn)
    return _headings(
        from_deg,
        turn,
        lambda begin: _planned_deg(begin if begin == from_deg else begin - one, turn, tas_kt, wind_deg, wind_kt),
    )


def blank_a_leg_early(*, from_deg: int, turn: str, tas_kt: float, wind_deg: float, wind_kt: float) -> dict[str, Any]:
    """The heading of the leg after on every leg."""
    one = _STEP_DEG * _sign(turn)
    return _headings(from_deg, turn, lambda begin: _planned_deg(begin + one, turn, tas_kt, wind_deg, wind_kt))


def blank_never_turned(*, from_deg: int, turn: str, tas_kt: float, wind_deg: float, wind_kt: float) -> dict[str, Any]:
    """The heading of the first leg on all legs."""
    return _headings(from_deg, turn, lambda _begin: _planned_deg(from_deg, turn, tas_kt, wind_deg, wind_kt))


# ---------------------------------------------------------------- the task


_WIND_OFF_THE_FIRST_LEG = {"inbound": (58, 59, 60), "outbound": (-120, -118, -115, -59, -58)}
"""From where the task's wind blows, towards the arc's turns; from elsewhere mistakes look alike. [degrees]"""


def a_brief(random: Random) -> dict[str, Any]:
    """Draw the task: a strong wind, and the ground speeds that it leaves on the radial and at the end of the arc."""
    while True:
        drawn = _a_brief(random)
        if drawn["arc_gs_kt"] <= _FASTEST_KT:
            return drawn


_FASTEST_KT = 150  # over the ground; so fast the handbook's half mile still holds


def _a_brief(random: Random) -> dict[str, Any]:
    turn = random.choice(_WAYS)
    way = random.choice(["inbound", "outbound", "outbound", "outbound"])  # of these most are refused
    final = random.randrange(25, 340)  # clear of north, where a lead in degrees is as good as a radial
    begin = whole(final - _sign(turn) * random.choice([62, 67, 73, 78, 88]))
    blows = {
        "tas_kt": random.choice([110, 116, 120, 124, 128, 132]),
        "wind_deg": whole(_leg_deg(begin, _sign(turn)) + _sign(turn) * random.choice(_WIND_OFF_THE_FIRST_LEG[way])),
        "wind_kt": random.choice([28, 30, 32, 34, 36, 38, 40]),
    }
    return {
        "turn": turn,
        "round": _ROUND[turn],
        "way": way,
        "arc_nm": 7,  # far enough from ten miles to tell six degrees a mile from the rule
        "radial_deg": begin,
        "final_deg": final,
        **blows,
        "gs_kt": _ground_speed_kt(course_deg=begin if way == "outbound" else begin + 180.0, **blows),
        "arc_gs_kt": _ground_speed_kt(course_deg=final + _sign(turn) * 90.0, **blows),
    }


def _ground_speed_kt(*, course_deg: float, tas_kt: float, wind_deg: float, wind_kt: float) -> int:
    """Ground speed, as it is told: to two knots. [kt]"""
    gs = wind.ground_speed_kt(
        course_deg=float(angles.wrap360(course_deg)), tas_kt=tas_kt, wind_from_deg=wind_deg, wind_kt=wind_kt
    )
    return round(float(gs) / 2.0) * 2


def final_course_less_ten(*, final_deg: int) -> float:
    """Ten degrees too few. [degrees magnetic]"""
    return float(whole(final_deg + 170))


def final_course_more_ten(*, final_deg: int) -> float:
    """Ten degrees too many. [degrees magnetic]"""
    return float(whole(final_deg + 190))


def final_course(*, final_deg: int) -> float:
    """Course flown in on a radial. [degrees magnetic]"""
    return float(whole(final_deg + 180))
