"""Numbers of the lesson on intercepting a radial: draws, right answers, and what the named slips lead to.

A place is told by four names: the radial the aircraft is on (``radial_deg``), the radial wanted (``wanted_deg``),
the course flown on it (``course_deg``) and ``direction``, inbound or outbound.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from random import Random
from typing import TYPE_CHECKING, Any

from needlework.exercises.families import common_cause
from needlework.exercises.lesson_values import (
    HEADING_AS_TAUGHT,
    day,
    heading_by_parts,
    magnetic_deg,
    mirrored_deg,
    taught_part_across,
    true_deg,
    true_wind_shows,
    whole,
)
from needlework.exercises.lesson_values import plan_days as plan_days
from needlework.trade import angles, intercept, vor, wind
from needlework.trade.vor import course_to as course_to

if TYPE_CHECKING:
    from needlework.world.weather import Day

# ---------------------------------------------------------------- places


def side_of_line(*, radial_deg: float, wanted_deg: float, direction: str) -> float:
    """Say which way to turn from parallel: 1 right, -1 left."""
    larger = 1.0 if float(angles.difference_deg(from_deg=radial_deg, to_deg=wanted_deg)) > 0 else -1.0
    return larger if direction == "outbound" else -larger


def _apart_deg(radial_deg: float, wanted_deg: float) -> float:
    """Give the angle between the radials, without a sign. [deg]"""
    return abs(float(angles.difference_deg(from_deg=radial_deg, to_deg=wanted_deg)))


def _doubled_deg(radial_deg: float, wanted_deg: float) -> float:
    """Give the cut inbound: twice the difference, at least 20 and at most 90. [deg]"""
    return float(intercept.intercept_angle_deg(radial_deg=radial_deg, wanted_radial_deg=wanted_deg))


def _laid_off(angle_deg: float, from_deg: float, radial_deg: float, wanted_deg: float, direction: str) -> float:
    """Lay an angle off from a direction, towards the line; negative angles turn the wrong way. [deg magnetic]"""
    side = side_of_line(radial_deg=radial_deg, wanted_deg=wanted_deg, direction=direction)
    return float(angles.wrap360(from_deg + side * angle_deg))


def _place(radial_deg: float, wanted_deg: float, direction: str) -> dict[str, Any]:
    course = wanted_deg if direction == "outbound" else float(angles.reciprocal(wanted_deg))
    return {
        "radial_deg": whole(radial_deg),
        "wanted_deg": whole(wanted_deg),
        "course_deg": whole(course),
        "direction": direction,
    }


def _a_place(random: Random, off: list[int], direction: str) -> dict[str, Any]:
    wanted = random.randrange(20, 350, 5)
    return _place(wanted + random.choice([-1, 1]) * random.choice(off), wanted, direction)


# ---------------------------------------------------------------- recall


def a_needle(random: Random) -> dict[str, Any]:
    """Draw a needle at a distance."""
    return {"dme_nm": random.choice([10, 12, 14, 16]), "dots": random.choice([2, 3, 4])}


def miles_off(*, dme_nm: int, dots: int) -> float:
    """Give the distance to the line, two degrees to a dot. [NM]"""
    return float(vor.offset_nm(dist_nm=dme_nm, off_deg=2.0 * dots))


def miles_by_rule(*, dme_nm: int, dots: int) -> str:
    """Write what the 1-in-60 rule gives, and besides what it is exactly where that is another number."""
    rule, exact = f"{2.0 * dots * dme_nm / 60.0:.1f} NM", f"{miles_off(dme_nm=dme_nm, dots=dots):.1f} NM"
    return rule if rule == exact else f"{rule}; worked out exactly it is {exact}, and both are right"


def miles_off_dots_as_degrees(*, dme_nm: int, dots: int) -> float:
    """Take dots for degrees. [NM]"""
    return float(vor.offset_nm(dist_nm=dme_nm, off_deg=dots))


def miles_off_upside_down(*, dme_nm: int, dots: int) -> float:
    """Put the distance under the line. [NM]"""
    return 60.0 * 2.0 * dots / dme_nm


def miles_ten_times(*, dme_nm: int, dots: int) -> float:
    """Divide by 6. [NM]"""
    return 2.0 * dots * dme_nm / 6.0


def miles_a_tenth(*, dme_nm: int, dots: int) -> float:
    """Divide by 600. [NM]"""
    return 2.0 * dots * dme_nm / 600.0


def miles_without_60(*, dme_nm: int, dots: int) -> float:
    """Leave out the 60."""
    return 2.0 * dots * dme_nm


def miles_dots_without_60(*, dme_nm: int, dots: int) -> float:
    """Leave out the 60, and read dots as degrees."""
    return float(dots * dme_nm)


def miles_distance_over(*, dme_nm: int, dots: int) -> float:
    """Divide the distance by the degrees."""
    return dme_nm / (2.0 * dots)


def feet_off(*, dme_nm: int, dots: int) -> float:
    """Give feet for miles. [ft]"""
    return 212.0 * dots * dme_nm


def miles_ten_a_dot(*, dme_nm: int, dots: int) -> float:
    """Take ten degrees for a dot. [NM]"""
    return 10.0 * dots * dme_nm / 60.0


def miles_a_dot_more(*, dme_nm: int, dots: int) -> float:
    """Count a dot too many. [NM]"""
    return miles_off(dme_nm=dme_nm, dots=dots + 1)


def miles_a_dot_less(*, dme_nm: int, dots: int) -> float | None:
    """Count a dot too few; of two that is dots for degrees. [NM]"""
    return None if dots == 2 else miles_off(dme_nm=dme_nm, dots=dots - 1)


def miles_half_a_degree(*, dme_nm: int, dots: int) -> float:
    """Take half a degree for a dot. [NM]"""
    return 0.5 * dots * dme_nm / 60.0


def miles_five_a_dot(*, dme_nm: int, dots: int) -> float:
    """Take five degrees for a dot. [NM]"""
    return 5.0 * dots * dme_nm / 60.0


def degrees_off(*, dots: int) -> float:
    """Give the degrees. [deg]"""
    return 2.0 * dots


def miles_twice(*, dme_nm: int, dots: int) -> float:
    """Double twice. [NM]"""
    return 2.0 * miles_off(dme_nm=dme_nm, dots=dots)


# ---------------------------------------------------------------- headings to intercept


def three_places(random: Random) -> dict[str, Any]:
    """Draw three places: one between the limits of the rule, one below its least angle, one above its greatest."""
    return {
        "middle": _a_place(random, [15, 20, 25, 35], "inbound"),
        "floor": _a_place(random, [4, 5, 6, 7], "inbound"),
        "cap": _a_place(random, [50, 55, 65, 70], "inbound"),
    }


def one_by_one(*, middle: dict[str, Any], floor: dict[str, Any], cap: dict[str, Any]) -> list[dict[str, Any]]:
    """Give the three places as rows of the table."""
    return [middle, floor, cap]


def first_radial(*, middle: dict[str, Any]) -> int:
    """Give the radial the aircraft is on in the first place. [deg magnetic]"""
    return int(middle["radial_deg"])


def first_wanted(*, middle: dict[str, Any]) -> int:
    """Give the radial wanted in the first place. [deg magnetic]"""
    return int(middle["wanted_deg"])


def first_course(*, middle: dict[str, Any]) -> int:
    """Give the course wanted in the first place. [deg magnetic]"""
    return int(middle["course_deg"])


def heading_in(*, radial_deg: float, wanted_deg: float, direction: str) -> float:
    """Give the heading to intercept, by twice the difference: IFH, chapter 9. [deg magnetic]"""
    return float(
        intercept.intercept_heading_deg(
            radial_deg=radial_deg,
            wanted_radial_deg=wanted_deg,
            direction=direction,
            angle_deg=_doubled_deg(radial_deg, wanted_deg),
        )
    )


def heading_in_on(*, radial_deg: float, set_deg: float, direction: str) -> float:
    """Give the heading to intercept for the course that is set. [deg magnetic]"""
    wanted = float(angles.reciprocal(set_deg)) if direction == "inbound" else set_deg
    return heading_in(radial_deg=radial_deg, wanted_deg=wanted, direction=direction)


def heading_away(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float:
    """Turn away from the line by the right angle. [deg magnetic]"""
    return _laid_off(-_doubled_deg(radial_deg, wanted_deg), course_deg, radial_deg, wanted_deg, direction)


def heading_not_doubled(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float:
    """Turn by the difference itself: that points at the station. [deg magnetic]"""
    return _laid_off(_apart_deg(radial_deg, wanted_deg), course_deg, radial_deg, wanted_deg, direction)


def heading_away_not_doubled(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float:
    """Turn away from the line, by the difference itself. [deg magnetic]"""
    return _laid_off(-_apart_deg(radial_deg, wanted_deg), course_deg, radial_deg, wanted_deg, direction)


def heading_from_way_in(*, radial_deg: float, wanted_deg: float, direction: str) -> float:
    """Lay the doubled angle off from the way straight in. [deg magnetic]"""
    way_in = float(angles.reciprocal(radial_deg))
    return _laid_off(_doubled_deg(radial_deg, wanted_deg), way_in, radial_deg, wanted_deg, direction)


def heading_at_45(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float | None:
    """Cut by 45 degrees whatever the difference; None where that is the difference. [deg magnetic]"""
    if _apart_deg(radial_deg, wanted_deg) == 45.0:
        return None
    return _laid_off(45.0, course_deg, radial_deg, wanted_deg, direction)


def heading_at_30(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float | None:
    """Cut by 30 degrees whatever the difference; None where that is told otherwise. [deg magnetic]"""
    if _apart_deg(radial_deg, wanted_deg) in (15.0, 30.0):
        return None
    return _laid_off(30.0, course_deg, radial_deg, wanted_deg, direction)


def heading_at_20(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float | None:
    """Cut by 20 degrees whatever the difference; None where that is the difference. [deg magnetic]"""
    if _apart_deg(radial_deg, wanted_deg) == 20.0:
        return None
    return _laid_off(20.0, course_deg, radial_deg, wanted_deg, direction)


def _twice(radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float:
    return _laid_off(2.0 * _apart_deg(radial_deg, wanted_deg), course_deg, radial_deg, wanted_deg, direction)


def heading_too_shallow(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float | None:
    """Turn by twice the difference though that is less than the least angle. [deg magnetic]"""
    if 2.0 * _apart_deg(radial_deg, wanted_deg) >= intercept.SMALLEST_ANGLE_DEG:
        return None
    return _twice(radial_deg, wanted_deg, course_deg, direction)


def heading_too_steep(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float | None:
    """Turn by twice the difference though that is more than the greatest angle. [deg magnetic]"""
    if 2.0 * _apart_deg(radial_deg, wanted_deg) <= intercept.LARGEST_ANGLE_DEG:
        return None
    return _twice(radial_deg, wanted_deg, course_deg, direction)


def _away_deg(
    angle_deg: float, radial_deg: float, wanted_deg: float, course_deg: float, direction: str
) -> float | None:
    """Lay an angle off away from the line; None where it is the rule's own, or the difference. [deg magnetic]"""
    apart = _apart_deg(radial_deg, wanted_deg)
    if angle_deg in (apart, _doubled_deg(radial_deg, wanted_deg)):
        return None
    return _laid_off(-angle_deg, course_deg, radial_deg, wanted_deg, direction)


def heading_45_away(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float | None:
    """Cut by 45 degrees away from the line. [deg magnetic]"""
    return _away_deg(45.0, radial_deg, wanted_deg, course_deg, direction)


def heading_30_away(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float | None:
    """Cut by 30 degrees away from the line. [deg magnetic]"""
    return _away_deg(30.0, radial_deg, wanted_deg, course_deg, direction)


def heading_20_away(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float | None:
    """Cut by 20 degrees away from the line. [deg magnetic]"""
    return _away_deg(20.0, radial_deg, wanted_deg, course_deg, direction)


def heading_90_away(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float | None:
    """Cut by 90 degrees away from the line. [deg magnetic]"""
    return _away_deg(90.0, radial_deg, wanted_deg, course_deg, direction)


def heading_twice_away(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float | None:
    """Cut by twice the difference, beyond the rule's limits, away from the line. [deg magnetic]"""
    return _away_deg(2.0 * _apart_deg(radial_deg, wanted_deg), radial_deg, wanted_deg, course_deg, direction)


def heading_square(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float | None:
    """Cut by 90 degrees whatever the difference; none where that is right. [degrees magnetic]"""
    if _doubled_deg(radial_deg, wanted_deg) >= intercept.LARGEST_ANGLE_DEG:
        return None
    return _laid_off(90.0, course_deg, radial_deg, wanted_deg, direction)


def heading_outwards(*, radial_deg: float, wanted_deg: float, direction: str) -> float | None:
    """Fly the other way along the cut; with 90 degrees that is the turn to the wrong side. [deg magnetic]"""
    if _doubled_deg(radial_deg, wanted_deg) >= intercept.LARGEST_ANGLE_DEG:
        return None
    return float(angles.reciprocal(heading_in(radial_deg=radial_deg, wanted_deg=wanted_deg, direction=direction)))


def heading_from_own_radial(*, radial_deg: float, wanted_deg: float, direction: str) -> float | None:
    """Lay the angle off from the radial the aircraft is on, where no limit of the rule applies. [deg magnetic]"""
    doubled = _doubled_deg(radial_deg, wanted_deg)
    if doubled != 2.0 * _apart_deg(radial_deg, wanted_deg):
        return None
    return _laid_off(doubled, radial_deg, radial_deg, wanted_deg, direction)


# ---------------------------------------------------------------- past the station, going out


def a_place_past_the_station(random: Random) -> dict[str, Any]:
    """Draw a place from which the line is met going out."""
    return _a_place(random, [15, 20, 25, 30], "outbound")


def _after_passage_deg(radial_deg: float, wanted_deg: float) -> float:
    """Give the cut outbound: the difference itself, at most 45. [deg]"""
    return min(_apart_deg(radial_deg, wanted_deg), float(intercept.LARGEST_OUTBOUND_ANGLE_DEG))


def heading_out(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float:
    """Give the heading to intercept after passage: T-6B, item 602. [deg magnetic]"""
    return _laid_off(_after_passage_deg(radial_deg, wanted_deg), course_deg, radial_deg, wanted_deg, direction)


def heading_out_away(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float:
    """Turn away from the line. [deg magnetic]"""
    return _laid_off(-_after_passage_deg(radial_deg, wanted_deg), course_deg, radial_deg, wanted_deg, direction)


def heading_out_doubled(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float:
    """Turn by twice the difference, the rule for going in. [deg magnetic]"""
    return _twice(radial_deg, wanted_deg, course_deg, direction)


def heading_out_at_45(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float:
    """Cut by 45 degrees whatever the difference. [degrees magnetic]"""
    return _laid_off(45.0, course_deg, radial_deg, wanted_deg, direction)


def heading_out_by_half(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float:
    """Turn by half of the difference. [deg magnetic]"""
    return _laid_off(0.5 * _apart_deg(radial_deg, wanted_deg), course_deg, radial_deg, wanted_deg, direction)


def heading_out_at_30(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float | None:
    """Cut by 30 degrees; None where that is told otherwise. [deg magnetic]"""
    if _apart_deg(radial_deg, wanted_deg) in (15.0, 30.0):
        return None
    return _laid_off(30.0, course_deg, radial_deg, wanted_deg, direction)


def heading_out_at_20(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float:
    """Cut by 20 degrees, the least going in. [deg magnetic]"""
    return _laid_off(20.0, course_deg, radial_deg, wanted_deg, direction)


def heading_out_square(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float:
    """Cut by 90 degrees. [deg magnetic]"""
    return _laid_off(90.0, course_deg, radial_deg, wanted_deg, direction)


def heading_out_45_away(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float:
    """Cut by 45 degrees away from the line. [deg magnetic]"""
    return _laid_off(-45.0, course_deg, radial_deg, wanted_deg, direction)


def heading_out_30_away(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float | None:
    """Cut by 30 degrees away from the line; None where that is told otherwise. [deg magnetic]"""
    if _apart_deg(radial_deg, wanted_deg) in (15.0, 30.0):
        return None
    return _laid_off(-30.0, course_deg, radial_deg, wanted_deg, direction)


def heading_out_90_away(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float:
    """Cut by 90 degrees away from the line. [deg magnetic]"""
    return _laid_off(-90.0, course_deg, radial_deg, wanted_deg, direction)


def station_from_here(*, radial_deg: float) -> float:
    """Fly straight to the station. [deg magnetic]"""
    return float(angles.reciprocal(radial_deg))


def course_reversed(*, course_deg: float) -> float:
    """Take the other end of the line. [deg magnetic]"""
    return float(angles.reciprocal(course_deg))


def radials_apart(*, radial_deg: float, wanted_deg: float) -> float:
    """Give the angle between the radials. [deg]"""
    return _apart_deg(radial_deg, wanted_deg)


def heading_out_away_doubled(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float:
    """Lay twice the difference off to the wrong side. [degrees magnetic]"""
    return _laid_off(-2.0 * _apart_deg(radial_deg, wanted_deg), course_deg, radial_deg, wanted_deg, direction)


def heading_out_reversed(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float:
    """Fly the other way along the cut. [deg magnetic]"""
    right = heading_out(radial_deg=radial_deg, wanted_deg=wanted_deg, course_deg=course_deg, direction=direction)
    return float(angles.reciprocal(right))


# ---------------------------------------------------------------- the lead


def a_lead(random: Random) -> dict[str, Any]:
    """Draw a lead in miles and where the line is met."""
    return {"lead_nm": random.choice([0.16, 0.22, 0.28, 0.32]), "dist_nm": random.choice([4, 5, 6, 10])}


def lead_on_the_needle(*, lead_nm: float, dist_nm: float) -> float:
    """Turn miles into degrees by the 1-in-60 rule. [deg]"""
    return 60.0 * lead_nm / dist_nm


def lead_upside_down(*, lead_nm: float, dist_nm: float) -> float:
    """Divide upside down. [deg]"""
    return 60.0 * dist_nm / lead_nm


def lead_in_dots_from_miles(*, lead_nm: float, dist_nm: float) -> float:
    """Give dots for degrees. [dots]"""
    return 30.0 * lead_nm / dist_nm


def lead_without_60(*, lead_nm: float, dist_nm: float) -> float:
    """Leave out the 60."""
    return lead_nm / dist_nm


def lead_not_divided(*, lead_nm: float) -> float:
    """Leave out the distance."""
    return 60.0 * lead_nm


def lead_times_distance(*, lead_nm: float, dist_nm: float) -> float:
    """Multiply by the distance, and leave out the 60."""
    return lead_nm * dist_nm


def lead_times_sixty(*, lead_nm: float, dist_nm: float) -> float:
    """Multiply by the distance."""
    return 60.0 * lead_nm * dist_nm


def lead_times_over_sixty(*, lead_nm: float, dist_nm: float) -> float:
    """Take the rule that turns degrees into miles."""
    return lead_nm * dist_nm / 60.0


def lead_per_cent(*, lead_nm: float, dist_nm: float) -> float:
    """Take half a per cent of the lead. [deg]"""
    return 0.3 * lead_nm / dist_nm


def lead_by_fifty(*, lead_nm: float, dist_nm: float) -> float:
    """Take 50 for the 60. [deg]"""
    return 50.0 * lead_nm / dist_nm


def lead_by_hundred(*, lead_nm: float, dist_nm: float) -> float:
    """Take 100 for the 60. [per cent]"""
    return 100.0 * lead_nm / dist_nm


def lead_and_reaction(*, lead_nm: float, dist_nm: float) -> float:
    """Add half a degree for reaction. [deg]"""
    return lead_on_the_needle(lead_nm=lead_nm, dist_nm=dist_nm) + _REACTION_DEG


def lead_twice(*, lead_nm: float, dist_nm: float) -> float:
    """Double it. [deg]"""
    return 2.0 * lead_on_the_needle(lead_nm=lead_nm, dist_nm=dist_nm)


def lead_at_six_degrees(*, lead_nm: float, dist_nm: float) -> float | None:
    """Take six degrees a mile, which is right at ten. [deg]"""
    return None if dist_nm == 10 else 6.0 * lead_nm


def lead_other_way_up(*, lead_nm: float, dist_nm: float) -> float:
    """Divide the distance by the lead."""
    return dist_nm / lead_nm


def lead_ten_times(*, lead_nm: float, dist_nm: float) -> float:
    """Move the decimal point. [degrees]"""
    return 600.0 * lead_nm / dist_nm


def lead_at_example(*, lead_nm: float) -> float:
    """Take the example's distance. [degrees]"""
    return 60.0 * lead_nm / 4.6


def a_cut(random: Random) -> dict[str, Any]:
    """Draw a ground speed, an intercept angle and where the line is met."""
    return {
        "gs_kt": random.choice([90, 100, 110, 120]),
        "angle_deg": random.choice([45, 90]),  # at 60 the whole radius, in dots, is right again
        "dist_nm": random.choice([4, 6, 7]),
    }


_PARTS = {45: 0.3, 60: 0.5, 90: 1.0}
"""Parts of the turn radius that a turn needs before the line, as taught: one less the cosine, rounded."""


def lead_rule(*, gs_kt: float, angle_deg: int, dist_nm: float) -> float:
    """Give the lead by the rule as it is taught (P-871), so that a learner's sum agrees to the decimal. [deg]"""
    return _PARTS[angle_deg] * lead_whole_radius(gs_kt=gs_kt, dist_nm=dist_nm)


def lead_whole_radius(*, gs_kt: float, dist_nm: float) -> float:
    """Take the whole turn radius. [deg]"""
    return float(intercept.lead_rule_deg(dist_nm=dist_nm, gs_kt=gs_kt, angle_deg=90.0))


def lead_too_large(*, gs_kt: float, angle_deg: int, dist_nm: float) -> float:
    """Take the whole turn radius, or its diameter where the whole radius is right. [deg]"""
    return lead_whole_radius(gs_kt=gs_kt, dist_nm=dist_nm) * (1.0 if angle_deg < 90 else 2.0)


def lead_of_the_radius(*, gs_kt: float, angle_deg: int, dist_nm: float) -> float | None:
    """Take the whole turn radius; that is right at 90 degrees. [deg]"""
    return None if angle_deg == 90 else lead_whole_radius(gs_kt=gs_kt, dist_nm=dist_nm)


def lead_of_the_diameter(*, gs_kt: float, angle_deg: int, dist_nm: float) -> float:
    """Take the diameter for the radius. [deg]"""
    return 2.0 * lead_rule(gs_kt=gs_kt, angle_deg=angle_deg, dist_nm=dist_nm)


def lead_of_the_whole_diameter(*, gs_kt: float, angle_deg: int, dist_nm: float) -> float | None:
    """Take the diameter, and no part of it; at 90 degrees there is only the one mistake. [deg]"""
    return None if angle_deg == 90 else 2.0 * lead_whole_radius(gs_kt=gs_kt, dist_nm=dist_nm)


def lead_of_60(*, gs_kt: float, dist_nm: float) -> float:
    """Take the part of a cut of 60 degrees. [deg]"""
    return _PARTS[60] * lead_whole_radius(gs_kt=gs_kt, dist_nm=dist_nm)


def lead_of_45_here(*, gs_kt: float, dist_nm: float) -> float:
    """Take the part of a cut of 45 degrees. [deg]"""
    return _PARTS[45] * lead_whole_radius(gs_kt=gs_kt, dist_nm=dist_nm)


def lead_at_airspeed(*, tas_kt: float, angle_deg: int, dist_nm: float) -> float:
    """Take the airspeed. [deg]"""
    return lead_rule(gs_kt=tas_kt, angle_deg=angle_deg, dist_nm=dist_nm)


def lead_no_sixty(*, gs_kt: float, angle_deg: int, dist_nm: float) -> float:
    """Leave out the 60."""
    return lead_rule(gs_kt=gs_kt, angle_deg=angle_deg, dist_nm=dist_nm) / 60.0


def lead_of_the_angle(*, angle_deg: int, dist_nm: float) -> float:
    """Divide the cut by the distance."""
    return angle_deg / dist_nm


def lead_rule_multiplied(*, gs_kt: float, angle_deg: int, dist_nm: float) -> float:
    """Multiply by the distance."""
    return lead_rule(gs_kt=gs_kt, angle_deg=angle_deg, dist_nm=1.0) * dist_nm


def lead_by_seven(*, gs_kt: float, angle_deg: int, dist_nm: float) -> float | None:
    """Take the part of a wind at 45 degrees. [deg]"""
    return None if angle_deg != 45 else 0.7 * lead_whole_radius(gs_kt=gs_kt, dist_nm=dist_nm)


def lead_by_seven_of_diameter(*, gs_kt: float, angle_deg: int, dist_nm: float) -> float | None:
    """Take the part of a wind at 45 degrees, of the diameter. [deg]"""
    return None if angle_deg != 45 else 1.4 * lead_whole_radius(gs_kt=gs_kt, dist_nm=dist_nm)


def lead_of_a_minute(*, gs_kt: float, angle_deg: int, dist_nm: float) -> float:
    """Take a minute of flight for the radius. [deg]"""
    return _PARTS[angle_deg] * gs_kt / dist_nm


def lead_by_share(*, gs_kt: float, angle_deg: int, dist_nm: float) -> float | None:
    """Take the cut in proportion; that is right at 90 degrees. [deg]"""
    return None if angle_deg == 90 else angle_deg / 90.0 * lead_whole_radius(gs_kt=gs_kt, dist_nm=dist_nm)


def lead_rule_inverted(*, gs_kt: float, angle_deg: int, dist_nm: float) -> float:
    """Divide the distance by the lead."""
    return dist_nm / lead_in_miles_by_rule(gs_kt=gs_kt, angle_deg=angle_deg)


def lead_of_30(*, gs_kt: float, dist_nm: float) -> float:
    """Take the part of a cut of 30 degrees. [degrees]"""
    return 0.13 * lead_whole_radius(gs_kt=gs_kt, dist_nm=dist_nm)


def lead_of_45(*, gs_kt: float, angle_deg: int, dist_nm: float) -> float | None:
    """Take the part of a cut of 45 degrees. [degrees]"""
    return None if angle_deg == 45 else _PARTS[45] * lead_whole_radius(gs_kt=gs_kt, dist_nm=dist_nm)


def lead_rule_not_divided(*, gs_kt: float, angle_deg: int) -> float:
    """Leave out the distance."""
    return _PARTS[angle_deg] * lead_whole_radius(gs_kt=gs_kt, dist_nm=1.0)


def lead_rule_at_90(*, angle_deg: int, dist_nm: float) -> float:
    """Take the example's ground speed. [degrees]"""
    return lead_rule(gs_kt=90.0, angle_deg=angle_deg, dist_nm=dist_nm)


def lead_rule_at_example(*, gs_kt: float, angle_deg: int) -> float:
    """Take the example's distance. [degrees]"""
    return lead_rule(gs_kt=gs_kt, angle_deg=angle_deg, dist_nm=4.6)


def lead_rule_ten_times(*, gs_kt: float, angle_deg: int, dist_nm: float) -> float:
    """Move the decimal point of the per cent. [degrees]"""
    return 10.0 * lead_rule(gs_kt=gs_kt, angle_deg=angle_deg, dist_nm=dist_nm)


def lead_in_dots(*, gs_kt: float, angle_deg: int, dist_nm: float) -> float:
    """Give dots for degrees. [dots]"""
    return lead_rule(gs_kt=gs_kt, angle_deg=angle_deg, dist_nm=dist_nm) / 2.0


def lead_in_miles(*, gs_kt: float, angle_deg: int) -> float:
    """Give miles for degrees. [NM]"""
    return float(intercept.lead_nm(tas_kt=gs_kt, angle_deg=angle_deg))


def lead_miles_multiplied(*, gs_kt: float, angle_deg: int, dist_nm: float) -> float:
    """Multiply the miles of the lead by the distance, without the 60."""
    return lead_in_miles_by_rule(gs_kt=gs_kt, angle_deg=angle_deg) * dist_nm


def lead_in_miles_by_rule(*, gs_kt: float, angle_deg: int) -> float:
    """Give miles for degrees, by the rule. [NM]"""
    return _PARTS[angle_deg] * gs_kt / 200.0


def radius_in_miles(*, gs_kt: float, angle_deg: int) -> float | None:
    """Give the radius for the lead, where it is not the lead itself. [NM]"""
    return gs_kt / 200.0 if angle_deg < 90 else None


# ---------------------------------------------------------------- roll out in wind


def _a_wind(random: Random, course_deg: float) -> dict[str, Any]:
    """Draw a strong wind from where every usual mistake, and every two of them, come to another heading.

    So well along the course the nose turned into it costs less than two knots: there is one ground speed.
    """
    aside = random.choice([-148, -147, 31, 32, 34])
    return {
        "tas_kt": random.choice([85, 88, 90, 94, 98, 102, 105, 108]),
        "wind_true_deg": whole(true_deg(course_deg + aside)),
        "wind_kt": random.choice([24, 26, 28, 30, 32, 34]),
        "variation_deg": 13,
    }


def a_course_in_wind(random: Random) -> dict[str, Any]:
    """Draw a course and its wind."""
    course = random.randrange(20, 350, 10)
    return {"course_deg": course, **_a_wind(random, course)}


def heading_held(*, course_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float) -> float:
    """Give the heading that holds the course, wind in magnetic first. [deg magnetic]"""
    return float(
        wind.heading_deg(
            course_deg=course_deg, tas_kt=tas_kt, wind_from_deg=magnetic_deg(wind_true_deg), wind_kt=wind_kt
        )
    )


def roll_out_whole(*, course_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float) -> float:
    """Give the heading of the roll-out for the course. [deg magnetic]"""
    held = heading_held(course_deg=course_deg, tas_kt=tas_kt, wind_true_deg=wind_true_deg, wind_kt=wind_kt)
    return float(whole(held))


def heading_downwind(*, course_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float) -> float:
    """Lay the correction off to the wrong side. [deg magnetic]"""
    held = heading_held(course_deg=course_deg, tas_kt=tas_kt, wind_true_deg=wind_true_deg, wind_kt=wind_kt)
    return mirrored_deg(course_deg, held)


def _gs_kt(course_deg: float, tas_kt: float, wind_from_deg: float, wind_kt: float) -> float:
    along_kt, _ = wind.components_kt(direction_deg=course_deg, wind_from_deg=wind_from_deg, wind_kt=wind_kt)
    exact_kt = wind.ground_speed_kt(
        course_deg=course_deg, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt
    )
    return (float(exact_kt) + float(tas_kt) - float(along_kt)) / 2.0


def ground_speed(*, course_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float) -> float:
    """Give the mean of the wind triangle and of the sum taught, airspeed less headwind: both pass. [kt]"""
    return _gs_kt(course_deg, tas_kt, magnetic_deg(wind_true_deg), wind_kt)


def heading_by_rule(*, course_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float) -> float:
    """Give the heading by 60 x crosswind / true airspeed, with a calculator's crosswind. [degrees magnetic]"""
    return heading_by_parts(
        course_deg=course_deg, tas_kt=tas_kt, wind_from_deg=magnetic_deg(wind_true_deg), wind_kt=wind_kt
    )


def heading_by_estimate(*, course_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float) -> float:
    """Give it with the part across estimated between those of the table. [degrees magnetic]"""
    wind_from = magnetic_deg(wind_true_deg)
    return heading_by_parts(
        course_deg=course_deg,
        tas_kt=tas_kt,
        wind_from_deg=wind_from,
        wind_kt=wind_kt,
        part=taught_part_across(off_deg=wind_from - course_deg),
    )


def ground_speed_exactly(*, course_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float) -> float:
    """Give the ground speed by the triangle, less what the nose held across costs. [kt]"""
    return float(
        wind.ground_speed_kt(
            course_deg=course_deg, tas_kt=tas_kt, wind_from_deg=magnetic_deg(wind_true_deg), wind_kt=wind_kt
        )
    )


def ground_speed_by_part(*, course_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float) -> float:
    """Give the airspeed less the part along, with a calculator's part. [kt]"""
    along_kt, _ = wind.components_kt(
        direction_deg=course_deg, wind_from_deg=magnetic_deg(wind_true_deg), wind_kt=wind_kt
    )
    return tas_kt - float(along_kt)


def speed_true_and_back(*, course_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float) -> float:
    """Take the wind in true, and its part along with the sign turned round. [kt]"""
    along_kt, _ = wind.components_kt(direction_deg=course_deg, wind_from_deg=wind_true_deg, wind_kt=wind_kt)
    return tas_kt + float(along_kt)


def speed_variation_off_and_back(*, course_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float) -> float:
    """Take the variation off the wind, and its part along with the sign turned round. [kt]"""
    magnetic = magnetic_deg(wind_true_deg)
    other = wind_true_deg - (magnetic - wind_true_deg)
    return speed_true_and_back(course_deg=course_deg, tas_kt=tas_kt, wind_true_deg=other, wind_kt=wind_kt)


def ground_speed_by_estimate(*, course_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float) -> float:
    """Give the ground speed with the part along estimated between those of the table. [kt]"""
    off = magnetic_deg(wind_true_deg) - course_deg
    along = taught_part_across(off_deg=90.0 - off) * wind_kt
    return tas_kt - along if math.cos(math.radians(off)) > 0.0 else tas_kt + along


def a_wind_by_its_angle(random: Random) -> dict[str, Any]:
    """Draw a wind ahead, at an angle clear of 45 degrees, where along and across are the same."""
    return {"wind_kt": random.choice([24, 26, 28, 30]), "angle_deg": random.choice([35, 36, 38, 62, 65, 68, 70])}


def part_along(*, wind_kt: int, angle_deg: int) -> float:
    """Give the part of the wind along the course. [kt] (Definition: its cosine)"""
    return float(wind.components_kt(direction_deg=0.0, wind_from_deg=angle_deg, wind_kt=wind_kt)[0])


def part_across(*, wind_kt: int, angle_deg: int) -> float:
    """Give the part across for the part along. [kt]"""
    return float(wind.components_kt(direction_deg=0.0, wind_from_deg=90 - angle_deg, wind_kt=wind_kt)[0])


def along_by_the_angle(*, wind_kt: int, angle_deg: int) -> float:
    """Take the angle over 60 for the part. [kt]"""
    return wind_kt * angle_deg / 60.0


def wind_less_along(*, wind_kt: int, angle_deg: int) -> float:
    """Take the part along from the wind. [kt]"""
    return wind_kt - part_along(wind_kt=wind_kt, angle_deg=angle_deg)


def along_by_ninety(*, wind_kt: int, angle_deg: int) -> float:
    """Take the angle in proportion. [kt]"""
    return wind_kt * (1.0 - angle_deg / 90.0)


def along_at_45(*, wind_kt: int) -> float:
    """Take the part along at 45 degrees. [kt]"""
    return 0.7 * wind_kt


def along_at_30(*, wind_kt: int) -> float:
    """Take the part along at 30 degrees. [kt]"""
    return 0.9 * wind_kt


def along_by_tangent(*, wind_kt: int, angle_deg: int) -> float:
    """Take the tangent for the cosine. [kt]"""
    return wind_kt * math.tan(math.radians(angle_deg))


def angle_to_ninety(*, angle_deg: int) -> float:
    """Give what is left to 90 degrees. [deg]"""
    return 90.0 - angle_deg


def along_at_50(*, wind_kt: int) -> float:
    """Take the part along at 50 degrees. [kt]"""
    return 0.64 * wind_kt


def along_by_share(*, wind_kt: int, angle_deg: int) -> float:
    """Take the angle's share of 90 degrees. [kt]"""
    return wind_kt * angle_deg / 90.0


def half_of_the_wind(*, wind_kt: int) -> float:
    """Take the part along at 60 degrees. [kt]"""
    return 0.5 * wind_kt


def wind_less_across(*, wind_kt: int, angle_deg: int) -> float:
    """Take the part across from the wind. [kt]"""
    return wind_kt - part_across(wind_kt=wind_kt, angle_deg=angle_deg)


def angle_over_six(*, angle_deg: int) -> float:
    """Divide the angle by six."""
    return angle_deg / 6.0


# ---------------------------------------------------------------- close in

_CLOSE_IN = ((2.0, 130), (2.0, 135), (2.0, 140), (2.0, 145), (2.0, 150), (2.5, 150), (2.5, 155), (2.5, 160))
"""Distances and speeds at which a turn of 90 degrees has far too little room. [NM], [kt]"""


def close_in(random: Random) -> dict[str, Any]:
    """Draw a distance and a speed close in."""
    return dict(zip(("dist_nm", "tas_kt"), random.choice(_CLOSE_IN), strict=True))


def largest_angle(*, dist_nm: float, tas_kt: float) -> float:
    """Give the largest angle whose turn, begun at full scale, ends on the line. [deg]"""
    return float(intercept.largest_angle_deg(dist_nm=dist_nm, tas_kt=tas_kt))


def side_of_the_line(*, answer: float, dist_nm: float, tas_kt: float) -> str | None:
    """Say on which side of the line the turn of an angle ends that the rule allows."""
    if not 0.0 < answer <= 180.0:
        return None
    return "FAR" if answer > largest_angle(dist_nm=dist_nm, tas_kt=tas_kt) else "NEAR"


# ---------------------------------------------------------------- bracketing


def an_unknown_wind(random: Random) -> dict[str, Any]:
    """Draw a course, the wind's side, and whether half of the first cut is too little."""
    course = random.randrange(40, 330, 5)
    side = random.choice([-1, 1])
    again = random.choice([True, False])
    words = {1: "right", -1: "left"}
    return {
        "course_deg": course,
        "side": side,
        "again": again,
        "needle": words[side],
        "other": words[-side],
        "third_deg": 15 if again else 5,
    }


def too_little_or_too_much(*, again: bool) -> str:
    """Name the text that tells what the needle does on the second heading."""
    return "little" if again else "much"


def _corrected(course_deg: float, side: int, correction_deg: float) -> float:
    return float(angles.wrap360(course_deg + side * correction_deg))


def twenty_towards(*, course_deg: float, side: int) -> float:
    """Turn 20 degrees towards the needle. [deg magnetic]"""
    return _corrected(course_deg, side, 20.0)


def twenty_away(*, course_deg: float, side: int) -> float:
    """Turn 20 degrees away from the needle. [deg magnetic]"""
    return _corrected(course_deg, side, -20.0)


def ten_towards(*, course_deg: float, side: int) -> float:
    """Turn ten degrees towards the needle. [deg magnetic]"""
    return _corrected(course_deg, side, 10.0)


def thirty_towards(*, course_deg: float, side: int) -> float:
    """Turn 30 degrees towards the needle. [deg magnetic]"""
    return _corrected(course_deg, side, 30.0)


def thirty_away(*, course_deg: float, side: int) -> float:
    """Turn 30 degrees away from the needle. [deg magnetic]"""
    return _corrected(course_deg, side, -30.0)


def _cut_left(course_deg: float, tried_deg: float, share: float) -> float:
    """Keep a share of the cut that was tried. [deg magnetic]"""
    cut = float(angles.difference_deg(from_deg=course_deg, to_deg=tried_deg))
    return float(angles.wrap360(course_deg + share * cut))


def half_left(*, course_deg: float, tried_deg: float) -> float:
    """Keep half of the cut: IFH, chapter 9. [deg magnetic]"""
    return _cut_left(course_deg, tried_deg, 0.5)


def half_other_side(*, course_deg: float, tried_deg: float) -> float:
    """Keep half of the cut, to the other side. [deg magnetic]"""
    return _cut_left(course_deg, tried_deg, -0.5)


def all_other_side(*, course_deg: float, tried_deg: float) -> float:
    """Lay the cut off to the other side. [deg magnetic]"""
    return _cut_left(course_deg, tried_deg, -1.0)


def quarter_taken(*, course_deg: float, tried_deg: float) -> float:
    """Take out a quarter of the cut. [deg magnetic]"""
    return _cut_left(course_deg, tried_deg, 0.75)


def quarter_left(*, course_deg: float, tried_deg: float) -> float:
    """Keep a quarter of the cut. [deg magnetic]"""
    return _cut_left(course_deg, tried_deg, 0.25)


def cut_and_half(*, course_deg: float, tried_deg: float) -> float:
    """Make the cut larger by half. [deg magnetic]"""
    return _cut_left(course_deg, tried_deg, 1.5)


def half_change(*, course_deg: float, tried_deg: float) -> float:
    """Give half of the cut for the heading. [degrees]"""
    return abs(float(angles.difference_deg(from_deg=course_deg, to_deg=tried_deg))) / 2.0


def ten_away(*, course_deg: float, side: int) -> float:
    """Keep half of the cut on the other side. [deg magnetic]"""
    return _corrected(course_deg, side, -10.0)


def _middle(one_deg: float, other_deg: float) -> float:
    """Give the direction half way between two. [deg magnetic]"""
    return _cut_left(one_deg, other_deg, 0.5)


def middle_of_two(*, course_deg: float, tried_deg: float, kept_deg: float, again: bool) -> float:
    """Take the middle between too little and too much: IFH, chapter 9. [deg magnetic]"""
    return _middle(kept_deg, tried_deg if again else course_deg)


def middle_of_the_other_two(*, course_deg: float, tried_deg: float, kept_deg: float, again: bool) -> float:
    """Take the middle of the wrong two. [degrees magnetic]"""
    return _middle(kept_deg, course_deg if again else tried_deg)


def third_other_side(*, course_deg: float, side: int, third_deg: int) -> float:
    """Lay the last correction off to the other side. [deg magnetic]"""
    return _corrected(course_deg, side, -float(third_deg))


def third_change(*, third_deg: int) -> float:
    """Give the change for the heading. [degrees]"""
    return float(third_deg)


def wind_side(*, needle: str) -> str:
    """Say where the wind comes from: the needle's side."""
    return needle.upper()


def lee_side(*, other: str) -> str:
    """Say where the wind blows to."""
    return other.upper()


# ---------------------------------------------------------------- three tracks


def three_pilots(random: Random) -> dict[str, Any]:
    """Draw which pilot made which mistake."""
    return {"order": random.sample(["NO LEAD", "CHASED", "WRONG SIDE"], 3)}


def tracks_shown(*, order: list[str]) -> dict[str, Any]:
    """Say what the picture of the tracks shows."""
    return {"order": order}


# ---------------------------------------------------------------- the plan, flown

_CUT_NM = (6.0, 8.6)
_TAS_KT = 108.0
_REACTION_DEG = 0.5  # flown while the turn is decided and rolled into, about three seconds


def _cut_over_ground(drawn: Mapping[str, Any]) -> tuple[float, float]:
    """Track angle to the course, and ground speed, in the cut in the briefed wind. [deg], [kt]"""
    radial, wanted, direction = drawn["radial_deg"], drawn["wanted_deg"], drawn["direction"]
    blowing = {
        "heading_deg": heading_in(radial_deg=radial, wanted_deg=wanted, direction=direction),
        "tas_kt": _TAS_KT,
        "wind_from_deg": magnetic_deg(drawn["wind_true_deg"]),
        "wind_kt": drawn["wind_kt"],
    }
    track, gs = float(wind.track_deg(**blowing)), float(wind.ground_speed_on_heading_kt(**blowing))
    return abs(float(angles.difference_deg(from_deg=drawn["course_deg"], to_deg=track))), gs


def an_intercept(random: Random) -> dict[str, Any]:
    """Draw an intercept inbound whose cut meets the line six to eight miles and a half out in the briefed wind.

    The wind is strong and well along the course: only then does a wind left in true cost more than the two degrees
    within which a heading is right.
    """
    while True:
        place = _a_place(random, [30], "inbound")
        off = random.choice([30, 40, 50, 130, 140, 150])
        from_true = true_deg(place["course_deg"] + random.choice([-1, 1]) * off)
        drawn = {
            **place,
            "tas_kt": round(_TAS_KT),
            "wind_true_deg": whole(from_true, 10),
            "wind_kt": random.choice([28, 30, 32, 34, 36]),
            "variation_deg": 13,
            "altitude_ft": 3600,
            "angle_deg": 60,
        }
        if not true_wind_shows(
            course_deg=drawn["course_deg"],
            tas_kt=_TAS_KT,
            wind_true_deg=drawn["wind_true_deg"],
            wind_kt=drawn["wind_kt"],
            within_deg=_HEADING_WITHIN_DEG,
        ):
            continue
        distances = random.sample([11.0, 12.0, 13.0, 14.0, 15.0], 5)
        angle, gs = _cut_over_ground(drawn)
        # A cut that the wind makes much steeper or shallower belongs in the air, not in a first plan.
        if abs(angle - drawn["angle_deg"]) > 9.0:
            continue
        for dist_nm in distances:
            met, _ = intercept.intercept_point_nm(
                dist_nm=dist_nm,
                radial_deg=drawn["radial_deg"],
                wanted_radial_deg=drawn["wanted_deg"],
                direction=drawn["direction"],
                angle_deg=angle,
            )
            if not _CUT_NM[0] <= float(met) <= _CUT_NM[1]:
                continue
            found = {**drawn, "dist_nm": dist_nm, "meets_nm": round(float(met)), "gs_kt": round(gs / 5) * 5}
            leads = [
                float(intercept.lead_rule_deg(dist_nm=found["meets_nm"], gs_kt=found["gs_kt"], angle_deg=cut))
                for cut in (45.0, 60.0)
            ]
            if leads[1] - leads[0] > _RADIAL_WITHIN_DEG + 0.1:
                return found


def turn_begins(*, radial_deg: float, wanted_deg: float, meets_nm: int, gs_kt: int, angle_deg: int) -> float:
    """Give the radial on which the turn begins: the wanted one, moved back by lead and reaction. [deg magnetic]"""
    lead = float(intercept.lead_rule_deg(dist_nm=meets_nm, gs_kt=gs_kt, angle_deg=angle_deg)) + _REACTION_DEG
    back = 1.0 if float(angles.difference_deg(from_deg=wanted_deg, to_deg=radial_deg)) > 0 else -1.0
    return round(float(angles.wrap360(wanted_deg + back * lead)) or 360.0, 1)


def intercept_right(
    *,
    radial_deg: float,
    wanted_deg: float,
    course_deg: float,
    direction: str,
    meets_nm: int,
    gs_kt: int,
    angle_deg: int,
    tas_kt: float,
    wind_true_deg: float,
    wind_kt: float,
) -> dict[str, Any]:
    """Give blanks that pass."""
    cut = heading_in(radial_deg=radial_deg, wanted_deg=wanted_deg, direction=direction)
    begins = turn_begins(
        radial_deg=radial_deg, wanted_deg=wanted_deg, meets_nm=meets_nm, gs_kt=gs_kt, angle_deg=angle_deg
    )
    held = heading_held(course_deg=course_deg, tas_kt=tas_kt, wind_true_deg=wind_true_deg, wind_kt=wind_kt)
    return {
        "course 1": float(course_deg),
        "heading to intercept": float(whole(cut)),
        "turn begins at radial": begins,
        "heading after the turn": float(whole(held)),
    }


def seconds_held() -> int:
    """Say how long the plan holds its last heading: a heading without wind correction shows on the needle. [s]"""
    return 75


def intercept_rows(*, filled: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Give the rows of the plan."""
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
        {"when": {"clock_s": seconds_held()}, "then": {"follow": "needle 1"}, "note": "track"},
        {"when": {"dme_falls_to_nm": 2.3}, "then": {"end": True}, "note": "end"},
    ]


def begin_parallel(*, radial_deg: float, course_deg: float, dist_nm: float, altitude_ft: int) -> dict[str, Any]:
    """Say where the flight begins: on the radial, parallel to the course."""
    return {
        "radial_deg": float(radial_deg),
        "dme_nm": dist_nm,
        "altitude_ft": altitude_ft,
        "heading_deg": float(course_deg),
        "ias_kt": 104,
    }


def intercept_drawn(*, radial_deg: float, course_deg: float, meets_nm: int) -> dict[str, Any]:
    """Say what is drawn with the way flown.

    Near enough that a turn ended beside the line is seen; the first miles of the cut are not needed.
    """
    return {"radials": [radial_deg], "course_deg": course_deg, "reach_nm": meets_nm + 2.0}


def plan_with_radial(*, wanted_deg: float) -> dict[str, Any]:
    """Take the radial for the course."""
    return {"course 1": float(wanted_deg)}


def plan_cut_away(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> dict[str, Any]:
    """Cut away from the line."""
    cut = heading_away(radial_deg=radial_deg, wanted_deg=wanted_deg, course_deg=course_deg, direction=direction)
    return {"heading to intercept": cut or 360.0}


def _plan_cut_of(angle_deg: float, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> float:
    return float(whole(_laid_off(angle_deg, course_deg, radial_deg, wanted_deg, direction)))


def plan_cut_of_45(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> dict[str, Any]:
    """Cut by 45 degrees."""
    return {"heading to intercept": _plan_cut_of(45.0, radial_deg, wanted_deg, course_deg, direction)}


def plan_cut_of_90(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> dict[str, Any]:
    """Cut by 90 degrees."""
    return {"heading to intercept": _plan_cut_of(90.0, radial_deg, wanted_deg, course_deg, direction)}


def plan_heading_set(*, radial_deg: float, wanted_deg: float, direction: str) -> dict[str, Any]:
    """Set the heading to intercept on the selector."""
    return {"course 1": float(whole(heading_in(radial_deg=radial_deg, wanted_deg=wanted_deg, direction=direction)))}


def plan_direct_set(*, radial_deg: float) -> dict[str, Any]:
    """Set the course to the station from the place."""
    return {"course 1": float(angles.reciprocal(radial_deg)) or 360.0}


def plan_ends_on_the_radial(*, wanted_deg: float) -> dict[str, Any]:
    """Turn to the radial."""
    return {"heading after the turn": float(wanted_deg)}


def plan_headings_exchanged(
    *,
    radial_deg: float,
    wanted_deg: float,
    course_deg: float,
    direction: str,
    tas_kt: float,
    wind_true_deg: float,
    wind_kt: float,
) -> dict[str, Any]:
    """Exchange the two headings."""
    held = heading_held(course_deg=course_deg, tas_kt=tas_kt, wind_true_deg=wind_true_deg, wind_kt=wind_kt)
    return {
        "heading to intercept": float(whole(held)),
        "heading after the turn": float(
            whole(heading_in(radial_deg=radial_deg, wanted_deg=wanted_deg, direction=direction))
        ),
    }


def plan_not_doubled(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> dict[str, Any]:
    """Cut by the difference itself."""
    cut = heading_not_doubled(
        radial_deg=radial_deg, wanted_deg=wanted_deg, course_deg=course_deg, direction=direction
    )
    return {"heading to intercept": cut or 360.0}


def plan_without_lead(*, wanted_deg: float) -> dict[str, Any]:
    """Begin the turn on the line itself."""
    return {"turn begins at radial": float(wanted_deg)}


def plan_lead_alone(
    *, radial_deg: float, wanted_deg: float, meets_nm: int, gs_kt: int, angle_deg: int
) -> dict[str, Any]:
    """Take the lead in degrees for the radial."""
    begins = turn_begins(
        radial_deg=radial_deg, wanted_deg=wanted_deg, meets_nm=meets_nm, gs_kt=gs_kt, angle_deg=angle_deg
    )
    return {"turn begins at radial": abs(float(angles.difference_deg(from_deg=wanted_deg, to_deg=begins)))}


def plan_counted_from_course(
    *, radial_deg: float, wanted_deg: float, meets_nm: int, gs_kt: int, angle_deg: int
) -> dict[str, Any]:
    """Count the lead from the course."""
    begins = turn_begins(
        radial_deg=radial_deg, wanted_deg=wanted_deg, meets_nm=meets_nm, gs_kt=gs_kt, angle_deg=angle_deg
    )
    return {"turn begins at radial": round(float(angles.reciprocal(begins)) or 360.0, 1)}


def plan_from_own_radial(*, radial_deg: float, wanted_deg: float, direction: str) -> dict[str, Any] | None:
    """Lay the cut off from the radial flown on."""
    cut = heading_from_own_radial(radial_deg=radial_deg, wanted_deg=wanted_deg, direction=direction)
    return None if cut is None else {"heading to intercept": cut or 360.0}


def plan_lead_beyond(
    *, radial_deg: float, wanted_deg: float, meets_nm: int, gs_kt: int, angle_deg: int
) -> dict[str, Any]:
    """Lay the lead off to the far side of the line."""
    begins = turn_begins(
        radial_deg=radial_deg, wanted_deg=wanted_deg, meets_nm=meets_nm, gs_kt=gs_kt, angle_deg=angle_deg
    )
    return {"turn begins at radial": 2.0 * wanted_deg - begins}


def plan_half_lead(
    *, radial_deg: float, wanted_deg: float, meets_nm: int, gs_kt: int, angle_deg: int
) -> dict[str, Any]:
    """Begin the turn with half of the lead."""
    begins = turn_begins(
        radial_deg=radial_deg, wanted_deg=wanted_deg, meets_nm=meets_nm, gs_kt=gs_kt, angle_deg=angle_deg
    )
    half = 0.5 * float(angles.difference_deg(from_deg=wanted_deg, to_deg=begins))
    return {"turn begins at radial": round(float(angles.wrap360(wanted_deg + half)) or 360.0, 1)}


def plan_lead_of_45(*, radial_deg: float, wanted_deg: float, meets_nm: int, gs_kt: int) -> dict[str, Any]:
    """Begin the turn with the lead of a cut of 45 degrees."""
    begins = turn_begins(radial_deg=radial_deg, wanted_deg=wanted_deg, meets_nm=meets_nm, gs_kt=gs_kt, angle_deg=45)
    return {"turn begins at radial": begins}


def plan_double_lead(
    *, radial_deg: float, wanted_deg: float, meets_nm: int, gs_kt: int, angle_deg: int
) -> dict[str, Any]:
    """Begin the turn with twice the lead."""
    begins = turn_begins(
        radial_deg=radial_deg, wanted_deg=wanted_deg, meets_nm=meets_nm, gs_kt=gs_kt, angle_deg=angle_deg
    )
    twice = 2.0 * float(angles.difference_deg(from_deg=wanted_deg, to_deg=begins))
    return {"turn begins at radial": round(float(angles.wrap360(wanted_deg + twice)) or 360.0, 1)}


def plan_half_correction(*, course_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float) -> dict[str, Any]:
    """Lay off half of the correction."""
    held = heading_held(course_deg=course_deg, tas_kt=tas_kt, wind_true_deg=wind_true_deg, wind_kt=wind_kt)
    half = 0.5 * float(angles.difference_deg(from_deg=course_deg, to_deg=held))
    return {"heading after the turn": float(whole(course_deg + half))}


def plan_cut_back(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> dict[str, Any]:
    """Cut so steeply that the flight leads away from the station."""
    cut = _laid_off(140.0, course_deg, radial_deg, wanted_deg, direction)
    return {"heading to intercept": cut or 360.0}


def cut_named(
    *,
    filled: Mapping[str, Any],
    radial_deg: float,
    wanted_deg: float,
    course_deg: float,
    direction: str,
    tas_kt: float,
    wind_true_deg: float,
    wind_kt: float,
) -> str | None:
    """Name a cut that flies back or comes from the radial, a lead that is none, a heading of one known mistake."""
    side = side_of_line(radial_deg=radial_deg, wanted_deg=wanted_deg, direction=direction)
    written = float(filled["heading to intercept"])
    from_radial = _laid_off(60.0, radial_deg, radial_deg, wanted_deg, direction)
    if abs(float(angles.difference_deg(from_deg=from_radial, to_deg=written))) <= 1.0:
        return "FROMRAD"
    cut = side * float(angles.difference_deg(from_deg=course_deg, to_deg=written))
    if cut > 100.0:
        return "STEEP"
    back = 1.0 if float(angles.difference_deg(from_deg=wanted_deg, to_deg=radial_deg)) > 0 else -1.0
    begins = float(filled["turn begins at radial"])
    if begins <= _LARGEST_LEAD_DEG:
        return "LEADONLY"
    if abs(float(angles.difference_deg(from_deg=course_deg, to_deg=begins))) <= _LARGEST_LEAD_DEG:
        return "COURSELEAD"
    before = back * float(angles.difference_deg(from_deg=wanted_deg, to_deg=begins))
    if -_LARGEST_LEAD_DEG < before < -0.4:
        return "LEADSGN"
    if 5.5 < before < 90.0:
        return "EARLYLEAD"
    numbers = {"course_deg": course_deg, "tas_kt": tas_kt, "wind_true_deg": wind_true_deg, "wind_kt": wind_kt}
    held, after = heading_held(**numbers), float(filled["heading after the turn"])
    if abs(float(angles.difference_deg(from_deg=float(whole(held)), to_deg=after))) <= _HEADING_WITHIN_DEG:
        return None
    code = common_cause(HEADING_AS_TAUGHT, [(after, {**numbers, "variation_deg": 13})])
    return f"{HEADING_AS_TAUGHT.family.name}/{code}/heading after the turn" if code else None


_LARGEST_LEAD_DEG = 10.0
_HEADING_WITHIN_DEG = 2.0
_RADIAL_WITHIN_DEG = 0.6


def plan_without_wind(*, course_deg: float) -> dict[str, Any]:
    """End the turn on the course itself."""
    return {"heading after the turn": float(course_deg)}


def plan_downwind(*, course_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float) -> dict[str, Any]:
    """Lay the correction off downwind."""
    wrong = heading_downwind(course_deg=course_deg, tas_kt=tas_kt, wind_true_deg=wind_true_deg, wind_kt=wind_kt)
    return {"heading after the turn": float(whole(wrong))}


# ---------------------------------------------------------------- by hand


def an_intercept_outbound(random: Random) -> dict[str, Any]:
    """Draw an intercept outbound and a wind that is not told."""
    place = _a_place(random, [40], "outbound")
    from_true = true_deg(place["course_deg"] + random.choice([-1, 1]) * random.choice([60, 80, 100, 120]))
    return {
        **place,
        "wind_true_deg": whole(from_true, 10),
        "wind_kt": random.choice([17, 18, 19, 20, 21]),
    }


def day_not_told(*, wind_true_deg: int, wind_kt: int) -> Day:
    """Give the day flown in by hand."""
    return day("unknown", wind_true_deg, wind_kt)


def hand_radials(*, radial_deg: float, wanted_deg: float) -> tuple[float, ...]:
    """Give the radials of the plan view. [deg magnetic]"""
    return (float(radial_deg), float(wanted_deg))


def hand_courses(*, radial_deg: float) -> tuple[float, float]:
    """Give what the selectors show at first: the line the aircraft is on. [deg magnetic]"""
    return float(angles.reciprocal(radial_deg)) or 360.0, float(angles.wrap360(radial_deg + 65.0)) or 360.0


def hand_rows(*, radial_deg: float, wanted_deg: float, course_deg: float, direction: str) -> list[dict[str, Any]]:
    """Give the rows of a plan that flies it well."""
    cut = _laid_off(40.0, course_deg, radial_deg, wanted_deg, direction)
    return [
        {"then": {"identify": True, "course_1_deg": float(course_deg), "heading_deg": cut or 360.0}},
        {"when": {"needle_alive": 1}, "then": {"follow": "needle 1"}},
        {"when": {"dme_rises_to_nm": 12.0}, "then": {"end": True}},
    ]


# ---------------------------------------------------------------- the task


def a_task(random: Random) -> dict[str, Any]:
    """Draw an intercept inbound with its wind, and the words of its model answer."""
    off = 45  # twice that is a cut the lead is taught for, and one at which its mistakes do not cancel
    place = _a_place(random, [off], "inbound")
    angle = 2 * off
    drawn = {
        **place,
        **_a_wind(random, place["course_deg"]),
        "off_deg": off,
        "angle_deg": angle,
        "dist_nm": random.choice([4, 6]),
    }
    from_magnetic = magnetic_deg(drawn["wind_true_deg"])
    cut = heading_in(radial_deg=place["radial_deg"], wanted_deg=place["wanted_deg"], direction=place["direction"])
    gs = wind.ground_speed_on_heading_kt(
        heading_deg=cut, tas_kt=drawn["tas_kt"], wind_from_deg=from_magnetic, wind_kt=drawn["wind_kt"]
    )
    along_kt, across_kt = wind.components_kt(
        direction_deg=drawn["course_deg"], wind_from_deg=from_magnetic, wind_kt=drawn["wind_kt"]
    )
    return {
        **drawn,
        "gs_kt": round(float(gs) / 5) * 5,
        "wind_magnetic_deg": whole(from_magnetic),
        "part": _PARTS[angle],
        "along": f"{abs(along_kt):.0f} kt {'against you' if along_kt > 0 else 'behind you'}",
        "across": f"{abs(across_kt):.0f} kt from the {'right' if across_kt > 0 else 'left'}",
        "sign": "less" if along_kt > 0 else "plus",
    }
