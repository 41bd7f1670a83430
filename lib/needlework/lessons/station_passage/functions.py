"""Numbers of the lesson on station passage: draws, right answers, and what the named slips lead to."""

from __future__ import annotations

import math
from collections.abc import Mapping
from random import Random
from typing import TYPE_CHECKING, Any

from needlework.exercises.families import common_cause
from needlework.exercises.lesson_values import (
    HEADING_AS_TAUGHT,
    heading_by_parts,
    magnetic_deg,
    mirrored_deg,
    plan_days,
    taught_part_across,
    true_deg,
    true_wind_shows,
    whole,
)
from needlework.trade import angles, dme, units, vor, wind
from needlework.trade.angles import reciprocal as reciprocal
from needlework.trade.vor import course_to as course_to
from needlework.trade.vor import off_deg as off_deg

if TYPE_CHECKING:
    from needlework.world.weather import Day

_STATIONS_FT = {"Overfall": 480, "Wygate": 232, "Ezrick Down": 1150}
"""Elevations of the stations of the invented country. [ft]"""

# ---------------------------------------------------------------- recall


def a_radial(random: Random) -> dict[str, Any]:
    """Draw a radial clear of the four quarters."""
    return {"radial_deg": random.choice([d for d in range(11, 350, 7) if d % 90 > 8])}


def square_to_radial(*, radial_deg: int) -> float:
    """Add 90. [deg magnetic]"""
    return float(angles.wrap360(radial_deg + 90.0))


def square_back(*, radial_deg: int) -> float:
    """Take away 90. [deg magnetic]"""
    return float(angles.wrap360(radial_deg - 90.0))


def ten_more(*, radial_deg: int) -> float:
    """Count ten degrees too many. [deg magnetic]"""
    return float(angles.wrap360(radial_deg + 190.0))


def ten_less(*, radial_deg: int) -> float:
    """Count ten degrees too few. [deg magnetic]"""
    return float(angles.wrap360(radial_deg + 170.0))


def round_the_circle(*, radial_deg: int) -> float:
    """Take the radial from 360. [deg magnetic]"""
    return float(360 - radial_deg)


def two_hundred_more(*, radial_deg: int) -> float:
    """Add 200. [deg magnetic]"""
    return float(angles.wrap360(radial_deg + 200.0))


def two_hundred_less(*, radial_deg: int) -> float:
    """Take away 200. [deg magnetic]"""
    return float(angles.wrap360(radial_deg - 200.0))


def round_the_other_way(*, radial_deg: int) -> float:
    """Take the course from 360. [deg magnetic]"""
    return float(angles.wrap360(180.0 - radial_deg))


# ---------------------------------------------------------------- the needle near the station


def an_offset(random: Random) -> dict[str, Any]:
    """Draw a distance beside the station."""
    return {"offset_nm": random.choice([0.08, 0.09, 0.1, 0.11, 0.12])}


def accepted_off(*, offset_nm: float, to_go_nm: float) -> float:
    """Give what passes: what the 1-in-60 rule is off here, and a tenth for rounding. [deg]"""
    return 60.0 * offset_nm / to_go_nm - float(vor.off_deg(offset_nm=offset_nm, to_go_nm=to_go_nm)) + 0.1


def close_off(*, offset_nm: float, to_go_nm: float) -> float:
    """Give what still shows the method; the 10 degrees at which the needle stops do not. [deg]"""
    return accepted_off(offset_nm=offset_nm, to_go_nm=to_go_nm) + 0.1


def off_where_it_stops(*, offset_nm: float) -> bool:
    """Say whether the 10 degrees at which the needle stops are wrong at each distance: nowhere may they pass."""
    return all(
        abs(float(vor.off_deg(offset_nm=offset_nm, to_go_nm=nm)) - 10.0) > close_off(offset_nm=offset_nm, to_go_nm=nm)
        for nm in (5.0, 2.0, 1.0, 0.5)
    )


def off_upside_down(*, offset_nm: float, to_go_nm: float) -> float:
    """Lay the distance over the offset. [deg]"""
    return 60.0 * to_go_nm / offset_nm


def off_shrinking(*, offset_nm: float, to_go_nm: float) -> float:
    """Let the angle shrink in step with the distance. [deg]"""
    return to_go_nm * 60.0 * offset_nm / 1.5


def off_shrinking_from_five(*, offset_nm: float, to_go_nm: float) -> float | None:
    """Let the angle at 5 NM shrink in step with the distance; that is right there. [deg]"""
    return None if to_go_nm == 5 else 60.0 * offset_nm / 5.0 * to_go_nm / 5.0


def off_in_per_cent(*, offset_nm: float, to_go_nm: float) -> float:
    """Take 100 for the 60. [per cent]"""
    return 100.0 * offset_nm / to_go_nm


def off_by_fifty(*, offset_nm: float, to_go_nm: float) -> float:
    """Take 50 for the 60. [deg]"""
    return 50.0 * offset_nm / to_go_nm


def off_of_the_product(*, offset_nm: float, to_go_nm: float) -> float:
    """Multiply the two distances, without the 60."""
    return offset_nm * to_go_nm


def off_without_60(*, offset_nm: float, to_go_nm: float) -> float:
    """Leave out the 60."""
    return offset_nm / to_go_nm


def off_in_dots(*, offset_nm: float, to_go_nm: float) -> float:
    """Give dots of two degrees."""
    return 30.0 * offset_nm / to_go_nm


def off_times(*, offset_nm: float, to_go_nm: float) -> float:
    """Multiply by the distance to go."""
    return 60.0 * offset_nm * to_go_nm


def off_of_a_mile(*, to_go_nm: float) -> float:
    """Take the distance beside for a mile. [deg]"""
    return 60.0 / to_go_nm


def off_at_five(*, offset_nm: float, to_go_nm: float) -> float | None:
    """Keep the angle of the first line; that is right there. [deg]"""
    return None if to_go_nm == 5 else float(vor.off_deg(offset_nm=offset_nm, to_go_nm=5.0))


def off_ten_times(*, offset_nm: float, to_go_nm: float) -> float:
    """Move the decimal point. [deg]"""
    return 600.0 * offset_nm / to_go_nm


def off_a_tenth(*, offset_nm: float, to_go_nm: float) -> float:
    """Move the decimal point. [deg]"""
    return 6.0 * offset_nm / to_go_nm


def off_at_one(*, offset_nm: float, to_go_nm: float) -> float | None:
    """Leave out the distance; that is right at a mile. [deg]"""
    return None if to_go_nm == 1 else 60.0 * offset_nm


def off_by_360(*, offset_nm: float, to_go_nm: float) -> float:
    """Take 360 for the 60. [deg]"""
    return 360.0 * offset_nm / to_go_nm


def off_of_half(*, offset_nm: float, to_go_nm: float) -> float:
    """Take the angle of half the distance. [deg]"""
    return 120.0 * offset_nm / to_go_nm


def four_places(random: Random) -> dict[str, Any]:
    """Draw four places and courses: one of each indication at least but one.

    So three letters do not give the fourth away.
    """
    base = random.randrange(20, 350, 5)
    shifts = [
        random.choice([6, 40]),
        random.choice([-6, -40]),
        random.choice([174, 140]),
        random.choice([-174, -140]),
    ]
    shifts[random.randrange(4)] = random.choice([15, -15, 165, -165])
    random.shuffle(shifts)
    places = []
    for shift in shifts:
        course = base if random.random() < 0.5 else int(angles.reciprocal(base))
        places.append((whole(course + shift), whole(course)))
    return {"places": places}


_OTHER = {"TO": "FROM", "FROM": "TO", "LEFT": "RIGHT", "RIGHT": "LEFT"}


def flag_and_side(*, radial_deg: int, course_deg: int) -> str:
    """Read flag and needle at a place, for example ``"TO LEFT"``."""
    flag = vor.flag(radial_deg=radial_deg, selected_course_deg=course_deg)
    needle = float(vor.needle_deg(radial_deg=radial_deg, selected_course_deg=course_deg))
    return f"{flag} {'RIGHT' if needle > 0 else 'LEFT'}"


def side_mirrored(*, radial_deg: int, course_deg: int) -> str:
    """Read the flag correctly and the needle mirrored."""
    flag, side = flag_and_side(radial_deg=radial_deg, course_deg=course_deg).split()
    return f"{flag} {_OTHER[side]}"


def flag_mirrored(*, radial_deg: int, course_deg: int) -> str:
    """Read the needle correctly and the flag mirrored."""
    flag, side = flag_and_side(radial_deg=radial_deg, course_deg=course_deg).split()
    return f"{_OTHER[flag]} {side}"


def both_mirrored(*, radial_deg: int, course_deg: int) -> str:
    """Read what the other end of the line, selected, would show."""
    flag, side = flag_and_side(radial_deg=radial_deg, course_deg=course_deg).split()
    return f"{_OTHER[flag]} {_OTHER[side]}"


# ---------------------------------------------------------------- how long the needle is useless


def a_width(random: Random) -> dict[str, Any]:
    """Draw the width of the cone and a ground speed."""
    return {"width_nm": random.choice([0.84, 0.92, 1.04, 1.16]), "gs_kt": random.choice([80, 95, 105, 115])}


def seconds_across(*, width_nm: float, gs_kt: float) -> float:
    """Give the time across: distance over speed. [s]"""
    return width_nm / gs_kt * 3600.0


def hours_across(*, width_nm: float, gs_kt: float) -> float:
    """Give hours for seconds. [h]"""
    return width_nm / gs_kt


def minutes_across(*, width_nm: float, gs_kt: float) -> float:
    """Give minutes for seconds. [min]"""
    return width_nm / gs_kt * 60.0


def speed_over_distance(*, width_nm: float, gs_kt: float) -> float:
    """Divide upside down. [1/h]"""
    return gs_kt / width_nm


def half_across(*, width_nm: float, gs_kt: float) -> float:
    """Give the time to the middle. [s]"""
    return width_nm / 2 / gs_kt * 3600.0


def twice_across(*, width_nm: float, gs_kt: float) -> float:
    """Double the width once more. [s]"""
    return width_nm * 2 / gs_kt * 3600.0


def width_times_speed(*, width_nm: float, gs_kt: float) -> float:
    """Multiply distance and speed."""
    return width_nm * gs_kt


def width_in_minutes(*, width_nm: float) -> float:
    """Take sixty times the width."""
    return 60.0 * width_nm


def tenth_across(*, width_nm: float, gs_kt: float) -> float:
    """Move the decimal point. [s]"""
    return width_nm / gs_kt * 360.0


def across_in_feet(*, width_nm: float, gs_kt: float) -> float:
    """Divide feet by knots."""
    return width_nm * units.NM_FT / gs_kt


def across_in_statute(*, width_nm: float, gs_kt: float) -> float:
    """Turn the miles into land miles. [s]"""
    return width_nm / gs_kt * 3600.0 * units.NM_FT / 5280.0


def across_four_times(*, width_nm: float, gs_kt: float) -> float:
    """Double twice. [s]"""
    return 4.0 * width_nm / gs_kt * 3600.0


def across_at_90(*, width_nm: float) -> float:
    """Take the example's ground speed. [s]"""
    return width_nm / 90.0 * 3600.0


def a_crossing(random: Random) -> dict[str, Any]:
    """Draw a crossing of one of the stations, with a headwind."""
    station = random.choice(list(_STATIONS_FT))
    return {
        "station": station,
        "elevation_ft": _STATIONS_FT[station],
        "altitude_ft": random.randrange(2600, 4700, 100),
        "half_angle_deg": random.choice([40, 45, 50]),
        "tas_kt": random.choice([90, 100, 110]),
        "headwind_kt": random.choice([15, 20, 25]),
    }


def _cone_s(height_ft: float, gs_kt: float, half_angle_deg: float) -> float:
    return float(vor.cone_s(height_ft=height_ft, gs_kt=gs_kt, offset_nm=0.0, half_angle_deg=half_angle_deg))


def cone(*, altitude_ft: int, elevation_ft: int, tas_kt: int, headwind_kt: int, half_angle_deg: int) -> float:
    """Give the seconds without a needle: width of the cone over ground speed. [s]"""
    return _cone_s(altitude_ft - elevation_ft, tas_kt - headwind_kt, half_angle_deg)


def cone_from_sea_level(*, altitude_ft: int, tas_kt: int, headwind_kt: int, half_angle_deg: int) -> float:
    """Take the altitude for the height above the station. [s]"""
    return _cone_s(altitude_ft, tas_kt - headwind_kt, half_angle_deg)


def cone_half(*, altitude_ft: int, elevation_ft: int, tas_kt: int, headwind_kt: int, half_angle_deg: int) -> float:
    """Give the time to the middle. [s]"""
    return _cone_s(altitude_ft - elevation_ft, tas_kt - headwind_kt, half_angle_deg) / 2


def cone_at_airspeed(*, altitude_ft: int, elevation_ft: int, tas_kt: int, half_angle_deg: int) -> float:
    """Take the airspeed for the ground speed. [s]"""
    return _cone_s(altitude_ft - elevation_ft, tas_kt, half_angle_deg)


def cone_minutes(*, altitude_ft: int, elevation_ft: int, tas_kt: int, headwind_kt: int, half_angle_deg: int) -> float:
    """Give minutes for seconds. [min]"""
    return _cone_s(altitude_ft - elevation_ft, tas_kt - headwind_kt, half_angle_deg) / 60.0


def _cone_with(
    angle_deg: int, altitude_ft: int, elevation_ft: int, tas_kt: int, headwind_kt: int, half_angle_deg: int
) -> float | None:
    if half_angle_deg == angle_deg:
        return None
    return _cone_s(altitude_ft - elevation_ft, tas_kt - headwind_kt, angle_deg)


def cone_of_45(
    *, altitude_ft: int, elevation_ft: int, tas_kt: int, headwind_kt: int, half_angle_deg: int
) -> float | None:
    """Take the half angle of the example. [s]"""
    return _cone_with(45, altitude_ft, elevation_ft, tas_kt, headwind_kt, half_angle_deg)


def cone_of_40(
    *, altitude_ft: int, elevation_ft: int, tas_kt: int, headwind_kt: int, half_angle_deg: int
) -> float | None:
    """Take the tangent of 40 degrees. [s]"""
    return _cone_with(40, altitude_ft, elevation_ft, tas_kt, headwind_kt, half_angle_deg)


def cone_of_50(
    *, altitude_ft: int, elevation_ft: int, tas_kt: int, headwind_kt: int, half_angle_deg: int
) -> float | None:
    """Take the tangent of 50 degrees. [s]"""
    return _cone_with(50, altitude_ft, elevation_ft, tas_kt, headwind_kt, half_angle_deg)


def cone_statute(*, altitude_ft: int, elevation_ft: int, tas_kt: int, headwind_kt: int, half_angle_deg: int) -> float:
    """Take a land mile of 5,280 ft. [s]"""
    return _cone_s(altitude_ft - elevation_ft, tas_kt - headwind_kt, half_angle_deg) * _MILE_FT / 5280.0


def cone_from_below(
    *, altitude_ft: int, elevation_ft: int, tas_kt: int, headwind_kt: int, half_angle_deg: int
) -> float:
    """Add the elevation. [s]"""
    return _cone_s(altitude_ft + elevation_ft, tas_kt - headwind_kt, half_angle_deg)


def cone_thousands(
    *, altitude_ft: int, elevation_ft: int, tas_kt: int, headwind_kt: int, half_angle_deg: int
) -> float:
    """Take a thousand feet for a mile. [s]"""
    return _cone_s(altitude_ft - elevation_ft, tas_kt - headwind_kt, half_angle_deg) * _MILE_FT / 1000.0


def cone_by_sine(*, altitude_ft: int, elevation_ft: int, tas_kt: int, headwind_kt: int, half_angle_deg: int) -> float:
    """Take the sine for the tangent. [s]"""
    right = _cone_s(altitude_ft - elevation_ft, tas_kt - headwind_kt, half_angle_deg)
    return right * math.cos(math.radians(half_angle_deg))


def cone_divided(
    *, altitude_ft: int, elevation_ft: int, tas_kt: int, headwind_kt: int, half_angle_deg: int
) -> float | None:
    """Divide by the tangent; the same where it is one. [s]"""
    if half_angle_deg == 45:
        return None
    right = _cone_s(altitude_ft - elevation_ft, tas_kt - headwind_kt, half_angle_deg)
    return right / math.tan(math.radians(half_angle_deg)) ** 2


def cone_both(*, altitude_ft: int, tas_kt: int, half_angle_deg: int) -> float:
    """Take the altitude and the airspeed. [s]"""
    return _cone_s(altitude_ft, tas_kt, half_angle_deg)


def cone_twice(*, altitude_ft: int, elevation_ft: int, tas_kt: int, headwind_kt: int, half_angle_deg: int) -> float:
    """Double the width. [s]"""
    return 2.0 * _cone_s(altitude_ft - elevation_ft, tas_kt - headwind_kt, half_angle_deg)


def cone_tailwind(
    *, altitude_ft: int, elevation_ft: int, tas_kt: int, headwind_kt: int, half_angle_deg: int
) -> float:
    """Add the headwind. [s]"""
    return _cone_s(altitude_ft - elevation_ft, tas_kt + headwind_kt, half_angle_deg)


def cone_at_headwind(*, altitude_ft: int, elevation_ft: int, headwind_kt: int, half_angle_deg: int) -> float:
    """Take the headwind for the speed. [s]"""
    return _cone_s(altitude_ft - elevation_ft, 100.0, half_angle_deg) * 100.0 / headwind_kt


def cone_upside_down(
    *, altitude_ft: int, elevation_ft: int, tas_kt: int, headwind_kt: int, half_angle_deg: int
) -> float:
    """Divide upside down."""
    return 3600.0 / _cone_s(altitude_ft - elevation_ft, tas_kt - headwind_kt, half_angle_deg)


def cone_tenth(*, altitude_ft: int, elevation_ft: int, tas_kt: int, headwind_kt: int, half_angle_deg: int) -> float:
    """Move the decimal point. [s]"""
    return 0.1 * _cone_s(altitude_ft - elevation_ft, tas_kt - headwind_kt, half_angle_deg)


def cone_of_elevation(*, elevation_ft: int, tas_kt: int, headwind_kt: int, half_angle_deg: int) -> float:
    """Take the elevation for the height. [s]"""
    return _cone_s(elevation_ft, tas_kt - headwind_kt, half_angle_deg)


def cone_of_half_the_half(
    *, altitude_ft: int, elevation_ft: int, tas_kt: int, headwind_kt: int, half_angle_deg: int
) -> float:
    """Halve the half angle. [s]"""
    tan_of_half = math.tan(math.radians(0.5 * half_angle_deg))
    return _cone_s(altitude_ft - elevation_ft, tas_kt - headwind_kt, 45) * tan_of_half


def a_height_and_offset(random: Random) -> dict[str, Any]:
    """Draw a height over Ezrick Down and a distance beside it."""
    return {
        "altitude_ft": random.randrange(4300, 6100, 100),
        "elevation_ft": _STATIONS_FT["Ezrick Down"],
        "offset_nm": random.choice([0.9, 1.0, 1.1]),
    }


def dme_overhead(*, altitude_ft: int, elevation_ft: int) -> float:
    """Read the DME overhead: the height above the station. [NM]"""
    return float(dme.slant_nm(ground_nm=0.0, height_ft=altitude_ft - elevation_ft))


def dme_from_sea_level(*, altitude_ft: int) -> float:
    """Take the altitude for the height above the station. [NM]"""
    return float(dme.slant_nm(ground_nm=0.0, height_ft=altitude_ft))


def dme_from_below(*, altitude_ft: int, elevation_ft: int) -> float:
    """Add the station's elevation. [NM]"""
    return float(dme.slant_nm(ground_nm=0.0, height_ft=altitude_ft + elevation_ft))


def dme_of_the_elevation(*, elevation_ft: int) -> float:
    """Turn the elevation into miles. [NM]"""
    return elevation_ft / units.NM_FT


def height_in_thousands(*, altitude_ft: int, elevation_ft: int) -> float:
    """Give thousands of feet for miles."""
    return (altitude_ft - elevation_ft) / 1000.0


def altitude_in_thousands(*, altitude_ft: int) -> float:
    """Give thousands of feet of the altitude."""
    return altitude_ft / 1000.0


def elevation_in_thousands(*, elevation_ft: int) -> float:
    """Give thousands of feet of the elevation."""
    return elevation_ft / 1000.0


def height_by_metres(*, altitude_ft: int, elevation_ft: int) -> float:
    """Divide feet by the metres of a mile."""
    return (altitude_ft - elevation_ft) / float(units.NM_M)


def height_a_tenth(*, altitude_ft: int, elevation_ft: int) -> float:
    """Move the decimal point. [NM]"""
    return 0.1 * dme_overhead(altitude_ft=altitude_ft, elevation_ft=elevation_ft)


def dme_beside(*, overhead_nm: float, offset_nm: float) -> float:
    """Read the DME abeam, from the reading overhead: the root of height squared and distance squared. [NM]"""
    return float(dme.slant_nm(ground_nm=offset_nm, height_ft=overhead_nm * units.NM_FT))


def beside_from_sea_level(*, altitude_ft: int, offset_nm: float) -> float:
    """Take the altitude for the height above the station. [NM]"""
    return float(dme.slant_nm(ground_nm=offset_nm, height_ft=altitude_ft))


def beside_without_root(*, overhead_nm: float, offset_nm: float) -> float:
    """Forget the root."""
    return dme_beside(overhead_nm=overhead_nm, offset_nm=offset_nm) ** 2


def height_and_offset_added(*, overhead_nm: float, offset_nm: float) -> float:
    """Add height and distance as they are. [NM]"""
    return offset_nm + overhead_nm


def beside_squares_taken(*, overhead_nm: float, offset_nm: float) -> float:
    """Take one square from the other. [NM]"""
    return float(abs(offset_nm**2 - overhead_nm**2) ** 0.5)


def height_less_offset(*, overhead_nm: float, offset_nm: float) -> float:
    """Take one from the other. [NM]"""
    return abs(offset_nm - overhead_nm)


def altitude_and_offset_added(*, altitude_ft: int, offset_nm: float) -> float:
    """Add the altitude and the distance. [NM]"""
    return offset_nm + altitude_ft / units.NM_FT


def beside_doubled(*, overhead_nm: float, offset_nm: float) -> float:
    """Double for square. [NM]"""
    return float((2.0 * overhead_nm + 2.0 * offset_nm) ** 0.5)


def beside_mean(*, overhead_nm: float, offset_nm: float) -> float:
    """Take the mean. [NM]"""
    return 0.5 * (overhead_nm + offset_nm)


def beside_in_thousands(*, altitude_ft: int, elevation_ft: int, offset_nm: float) -> float:
    """Take thousands of feet for miles. [NM]"""
    return math.hypot(offset_nm, height_in_thousands(altitude_ft=altitude_ft, elevation_ft=elevation_ft))


def beside_an_eighth(*, offset_nm: float) -> float:
    """Add an eighth to the distance beside. [NM]"""
    return 1.125 * offset_nm


def two_readings(random: Random) -> dict[str, Any]:
    """Draw two DME readings on the way in, well out, and the time between them."""
    gs_kt, took_s = random.choice([84, 92, 100, 108, 116]), random.choice([110, 130, 140, 155, 170])
    first = random.choice([14.6, 15.2, 16.4, 17.8])
    second = round(first - gs_kt * took_s / 3600.0, 1)
    return {"first_nm": first, "second_nm": second, "minutes": took_s // 60, "seconds": took_s % 60}


def speed_from_dme(*, first_nm: float, second_nm: float, minutes: int, seconds: int) -> float:
    """Divide the miles between two readings by the time. [kt] (Definition of the knot)"""
    return (first_nm - second_nm) / (60 * minutes + seconds) * 3600.0


def speed_clock_typed(*, first_nm: float, second_nm: float, minutes: int, seconds: int) -> float:
    """Take 2 minutes 20 for 2.20 minutes. [kt]"""
    return (first_nm - second_nm) / (minutes + seconds / 100.0) * 60.0


def speed_from_reading(*, second_nm: float, minutes: int, seconds: int) -> float:
    """Take the second reading for the way flown. [kt]"""
    return second_nm / (60 * minutes + seconds) * 3600.0


def speed_run_together(*, first_nm: float, second_nm: float, minutes: int, seconds: int) -> float:
    """Write 2 minutes 35 as 235 seconds. [kt]"""
    return (first_nm - second_nm) / (100 * minutes + seconds) * 3600.0


def speed_from_first(*, first_nm: float, minutes: int, seconds: int) -> float:
    """Take the first reading for the way flown. [kt]"""
    return first_nm / (60 * minutes + seconds) * 3600.0


def speed_of_sum(*, first_nm: float, second_nm: float, minutes: int, seconds: int) -> float:
    """Add the readings. [kt]"""
    return (first_nm + second_nm) / (60 * minutes + seconds) * 3600.0


def speed_hundred(*, first_nm: float, second_nm: float, minutes: int, seconds: int) -> float:
    """Take a hundred minutes for an hour."""
    return (first_nm - second_nm) / (60 * minutes + seconds) * 6000.0


def speed_a_minute_more(*, first_nm: float, second_nm: float, minutes: int, seconds: int) -> float:
    """Count a minute too many. [kt]"""
    return (first_nm - second_nm) / (60 * minutes + 60 + seconds) * 3600.0


def speed_of_the_seconds(*, first_nm: float, second_nm: float, seconds: int) -> float:
    """Leave out the minutes. [kt]"""
    return (first_nm - second_nm) / seconds * 3600.0


def speed_a_mile_more(*, first_nm: float, second_nm: float, minutes: int, seconds: int) -> float:
    """Count a mile too many. [kt]"""
    return (first_nm - second_nm + 1.0) / (60 * minutes + seconds) * 3600.0


def speed_a_mile_less(*, first_nm: float, second_nm: float, minutes: int, seconds: int) -> float:
    """Count a mile too few. [kt]"""
    return (first_nm - second_nm - 1.0) / (60 * minutes + seconds) * 3600.0


def speed_whole_minutes_up(*, first_nm: float, second_nm: float, minutes: int) -> float:
    """Round up to whole minutes. [kt]"""
    return (first_nm - second_nm) / (minutes + 1) * 60.0


def speed_clock_in_tenths(*, first_nm: float, second_nm: float, minutes: int, seconds: int) -> float:
    """Take seconds for tenths of a minute. [kt]"""
    return (first_nm - second_nm) / (minutes + seconds / 10.0) * 60.0


def speed_multiplied(*, first_nm: float, second_nm: float, minutes: int, seconds: int) -> float:
    """Multiply by the minutes."""
    return (first_nm - second_nm) * (minutes + seconds / 60.0)


def speed_of_mean(*, first_nm: float, second_nm: float, minutes: int, seconds: int) -> float:
    """Take the mean of the readings for the way. [kt]"""
    return (first_nm + second_nm) / 2.0 / (60 * minutes + seconds) * 3600.0


def speed_a_tenth(*, first_nm: float, second_nm: float, minutes: int, seconds: int) -> float:
    """Move the decimal point. [kt]"""
    return (first_nm - second_nm) / (60 * minutes + seconds) * 360.0


def miles_a_minute(*, first_nm: float, second_nm: float, minutes: int, seconds: int) -> float:
    """Give miles a minute. [NM/min]"""
    return (first_nm - second_nm) / (60 * minutes + seconds) * 60.0


def speed_upside_down(*, first_nm: float, second_nm: float, minutes: int, seconds: int) -> float:
    """Lay the time over the distance. [s/NM]"""
    return (60 * minutes + seconds) / (first_nm - second_nm)


def speed_whole_minutes(*, first_nm: float, second_nm: float, minutes: int) -> float:
    """Leave out the seconds. [kt]"""
    return (first_nm - second_nm) / minutes * 60.0


def speed_and_angle(random: Random) -> dict[str, Any]:
    """Draw what two of the sliders are set to; the speed is not the one they begin with."""
    return {"gs_kt": random.choice([80, 110, 100]), "half_angle_deg": random.choice([40, 45])}


_MILE_FT = 6076.115


def _half_minute_ft(gs_kt: int) -> float:
    """Give the way over the ground in 30 seconds. [ft]"""
    return 30.0 * _MILE_FT * gs_kt / 3600.0


def _tangent(angle_deg: float) -> float:
    return float(vor.cone_radius_nm(height_ft=_MILE_FT, half_angle_deg=angle_deg))


def half_minute_height(*, gs_kt: int, half_angle_deg: int) -> float:
    """Give the height at which crossing the cone takes 30 seconds. [ft]"""
    return _half_minute_ft(gs_kt) / 2.0 / _tangent(half_angle_deg)


def height_of_half_the_width(*, gs_kt: int, half_angle_deg: int) -> float:
    """Halve the half width once more. [ft]"""
    return half_minute_height(gs_kt=gs_kt, half_angle_deg=half_angle_deg) / 2.0


def minute_height(*, gs_kt: int, half_angle_deg: int) -> float:
    """Give the height at which it takes 60 seconds. [ft]"""
    return _half_minute_ft(gs_kt) / _tangent(half_angle_deg)


def height_at_30(*, gs_kt: int) -> float:
    """Give the height read with the half angle left at 30 degrees. [ft]"""
    return half_minute_height(gs_kt=gs_kt, half_angle_deg=30)


def _height_at(angle_deg: int, gs_kt: int, half_angle_deg: int) -> float | None:
    return None if angle_deg == half_angle_deg else half_minute_height(gs_kt=gs_kt, half_angle_deg=angle_deg)


def height_at_40(*, gs_kt: int, half_angle_deg: int) -> float | None:
    """Give the height read with the half angle at 40 degrees. [ft]"""
    return _height_at(40, gs_kt, half_angle_deg)


def height_at_45(*, gs_kt: int, half_angle_deg: int) -> float | None:
    """Give the height read with the half angle at 45 degrees. [ft]"""
    return _height_at(45, gs_kt, half_angle_deg)


def height_at_50(*, gs_kt: int, half_angle_deg: int) -> float | None:
    """Give the height read with the half angle at 50 degrees. [ft]"""
    return _height_at(50, gs_kt, half_angle_deg)


def half_minute_width(*, gs_kt: int) -> float:
    """Give the cone's width for its height. [ft]"""
    return _half_minute_ft(gs_kt)


def height_of_20_seconds(*, gs_kt: int, half_angle_deg: int) -> float:
    """Give the height at which it takes 20 seconds. [ft]"""
    return half_minute_height(gs_kt=gs_kt, half_angle_deg=half_angle_deg) * 20.0 / 30.0


def height_at_60(*, half_angle_deg: int) -> float:
    """Give the height read at 60 kt. [ft]"""
    return half_minute_height(gs_kt=60, half_angle_deg=half_angle_deg)


def height_at_90(*, half_angle_deg: int) -> float:
    """Give the height read at 90 kt, on which the slider stands at first. [ft]"""
    return half_minute_height(gs_kt=90, half_angle_deg=half_angle_deg)


def height_at_110(*, gs_kt: int, half_angle_deg: int) -> float | None:
    """Give the height read at 110 kt. [ft]"""
    return None if gs_kt == 110 else half_minute_height(gs_kt=110, half_angle_deg=half_angle_deg)


def height_multiplied(*, gs_kt: int, half_angle_deg: int) -> float | None:
    """Multiply by the tangent; the same where it is one. [ft]"""
    return None if half_angle_deg == 45 else _half_minute_ft(gs_kt) / 2.0 * _tangent(half_angle_deg)


def a_case(random: Random) -> dict[str, float]:
    """Draw a crossing on which the kneeboard rule is tried."""
    return {"h": random.randrange(8, 60) / 10.0, "gs": float(random.randrange(60, 150, 5))}


def crossing_seconds(*, h: float, gs: float) -> float:
    """Give what the kneeboard rule must give, from thousands of feet and knots. [s]"""
    return _cone_s(h * 1000.0, gs, 45.0)


# ---------------------------------------------------------------- heading outbound


def a_course_in_wind(random: Random) -> dict[str, Any]:
    """Draw a strong wind from where every usual mistake, and every two of them, come to another heading."""
    course = random.randrange(20, 350, 10)
    from_magnetic = course + random.choice([*range(-150, -146), *range(-53, -48), *range(31, 35)])
    return {
        "course_deg": course,
        "tas_kt": random.choice([85, 88, 90, 92, 95, 98, 100, 104, 108]),
        "wind_true_deg": whole(true_deg(from_magnetic)),
        "wind_kt": random.choice([26, 28, 30, 32, 34, 36, 38]),
        "variation_deg": 13,
    }


def _heading_deg(course_deg: float, tas_kt: float, wind_from_deg: float, wind_kt: float) -> float:
    return float(wind.heading_deg(course_deg=course_deg, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt))


def heading_held(*, course_deg: int, tas_kt: int, wind_true_deg: int, wind_kt: int) -> float:
    """Give the heading that holds the course, wind in magnetic first. [deg magnetic]"""
    return _heading_deg(course_deg, tas_kt, magnetic_deg(wind_true_deg), wind_kt)


def _by_parts(course_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float, **how: bool) -> float:
    wind_from = magnetic_deg(wind_true_deg)
    part = taught_part_across(off_deg=wind_from - course_deg, **how) if how else None
    return heading_by_parts(course_deg=course_deg, tas_kt=tas_kt, wind_from_deg=wind_from, wind_kt=wind_kt, part=part)


def heading_by_rule(*, course_deg: int, tas_kt: int, wind_true_deg: int, wind_kt: int) -> float:
    """Give the heading by 60 x crosswind / true airspeed, with a calculator's crosswind. [deg magnetic]"""
    return _by_parts(course_deg, tas_kt, wind_true_deg, wind_kt)


def heading_by_estimate(*, course_deg: int, tas_kt: int, wind_true_deg: int, wind_kt: int) -> float:
    """Give it with the part across estimated between those taught. [deg magnetic]"""
    return _by_parts(course_deg, tas_kt, wind_true_deg, wind_kt, nearest=False)


def heading_by_nearest(*, course_deg: int, tas_kt: int, wind_true_deg: int, wind_kt: int) -> float:
    """Give it with the nearest of the parts taught. [deg magnetic]"""
    return _by_parts(course_deg, tas_kt, wind_true_deg, wind_kt, nearest=True)


# ---------------------------------------------------------------- the plan, flown


def _a_passage(random: Random, winds_kt: list[int]) -> dict[str, Any]:
    inbound = random.randrange(40, 340, 10)
    outbound = whole(inbound + random.choice([-1, 1]) * random.choice([40, 50]))
    from_true = round(true_deg(outbound + random.choice([-1, 1]) * random.choice([60, 70, 80]))) // 10 * 10
    return {
        "inbound_deg": inbound,
        "course_deg": outbound,
        "tas_kt": 108,
        "wind_true_deg": from_true or 360,
        "wind_kt": random.choice(winds_kt),
        "variation_deg": 13,
        "altitude_ft": 3600,
    }


def a_passage(random: Random) -> dict[str, Any]:
    """Draw a passage and its wind: one of the two headings shows whether the wind was left in true.

    A wind in which both show it carries a right plan past the station when it changes a little at the desk.
    """
    while True:
        drawn = _a_passage(random, [24, 26, 28])
        if any(
            true_wind_shows(
                course_deg=drawn[course],
                tas_kt=drawn["tas_kt"],
                wind_true_deg=drawn["wind_true_deg"],
                wind_kt=drawn["wind_kt"],
                within_deg=_HEADING_WITHIN_DEG,
            )
            for course in ("inbound_deg", "course_deg")
        ):
            return drawn


def a_passage_by_hand(random: Random) -> dict[str, Any]:
    """Draw a passage in a gentler wind: flown by hand, a heading is judged by where it leads."""
    return _a_passage(random, [15, 18, 20])


def _headings(
    inbound_deg: int, course_deg: int, tas_kt: int, wind_true_deg: int, wind_kt: int
) -> tuple[float, float]:
    """Give the headings inbound and outbound, whole. [deg magnetic]"""
    held = [
        heading_held(course_deg=course, tas_kt=tas_kt, wind_true_deg=wind_true_deg, wind_kt=wind_kt)
        for course in (inbound_deg, course_deg)
    ]
    return float(round(held[0])), float(round(held[1]))


def passage_right(
    *, inbound_deg: int, course_deg: int, tas_kt: int, wind_true_deg: int, wind_kt: int
) -> dict[str, Any]:
    """Give blanks that pass."""
    heading_in, heading_out = _headings(inbound_deg, course_deg, tas_kt, wind_true_deg, wind_kt)
    return {
        "course 1 inbound": float(inbound_deg),
        "heading inbound": heading_in,
        "turn when the flag shows": "FROM",
        "heading outbound": heading_out,
        "course 1 outbound": float(course_deg),
        "correct from DME": 1.5,
    }


def passage_rows(*, filled: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Give the rows of the plan."""
    return [
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
            "then": {
                "clock": "start",
                "heading_deg": filled["heading outbound"],
                "course_1_deg": filled["course 1 outbound"],
            },
            "note": "station",
        },
        {
            "when": {"dme_rises_to_nm": filled["correct from DME"]},
            "then": {"follow": "needle 1"},
            "note": "correct",
        },
        {"when": {"dme_rises_to_nm": 6.4}, "then": {"end": True}, "note": "end"},
    ]


def passage_reference(
    *, inbound_deg: int, course_deg: int, tas_kt: int, wind_true_deg: int, wind_kt: int
) -> list[dict[str, Any]]:
    """Give the rows of the plan that flies the passage well."""
    filled = passage_right(
        inbound_deg=inbound_deg, course_deg=course_deg, tas_kt=tas_kt, wind_true_deg=wind_true_deg, wind_kt=wind_kt
    )
    return passage_rows(filled=filled)


def day_briefed(*, wind_true_deg: int, wind_kt: int) -> Day:
    """Give the day flown in by hand, as briefed."""
    return plan_days(wind_true_deg=wind_true_deg, wind_kt=wind_kt, hidden=False)[0]


def _begin(inbound_deg: int, altitude_ft: int, heading_deg: float) -> dict[str, Any]:
    return {
        "radial_deg": float(angles.reciprocal(inbound_deg)),
        "dme_nm": 4.0,
        "altitude_ft": altitude_ft,
        "heading_deg": heading_deg,
        "ias_kt": 104,
    }


def plan_begin(
    *, inbound_deg: int, course_deg: int, altitude_ft: int, tas_kt: int, wind_true_deg: int, wind_kt: int
) -> dict[str, Any]:
    """Say where the planned flight begins: on the inbound course, corrected for the wind."""
    heading_in, _ = _headings(inbound_deg, course_deg, tas_kt, wind_true_deg, wind_kt)
    return _begin(inbound_deg, altitude_ft, heading_in or 360.0)


def hand_begin(*, inbound_deg: int, altitude_ft: int) -> dict[str, Any]:
    """Say where the flight by hand begins: on the inbound course, without any correction."""
    return _begin(inbound_deg, altitude_ft, float(inbound_deg))


def plan_drawn(*, inbound_deg: int, course_deg: int) -> dict[str, Any]:
    """Say what is drawn with the way flown."""
    return {
        "reach_nm": 7.5,
        "course_deg": float(course_deg),
        "radials": [float(angles.reciprocal(inbound_deg))],
    }


def hand_radials(*, inbound_deg: int, course_deg: int) -> tuple[float, ...]:
    """Give the radials of the plan view. [deg magnetic]"""
    return (float(angles.reciprocal(inbound_deg)), float(course_deg))


def hand_courses(*, inbound_deg: int) -> tuple[float, float]:
    """Give what the selectors show at first: other lines than the two courses. [deg magnetic]"""
    first, second = (float(angles.wrap360(inbound_deg + off)) for off in (95.0, 155.0))
    return first or 360.0, second or 360.0


def plan_with_radial(*, inbound_deg: int) -> dict[str, Any]:
    """Take the radial for the course inbound."""
    return {"course 1 inbound": float(angles.reciprocal(inbound_deg))}


def plan_with_other_end(*, course_deg: int) -> dict[str, Any]:
    """Take the other end of the line outbound."""
    return {"course 1 outbound": float(angles.reciprocal(course_deg))}


def plan_at_to() -> dict[str, Any]:
    """Wait for TO."""
    return {"turn when the flag shows": "TO"}


def plan_without_wind(*, inbound_deg: int, course_deg: int) -> dict[str, Any]:
    """Take the courses for the headings."""
    return {"heading inbound": float(inbound_deg), "heading outbound": float(course_deg)}


def plan_downwind(
    *, inbound_deg: int, course_deg: int, tas_kt: int, wind_true_deg: int, wind_kt: int
) -> dict[str, Any]:
    """Lay both corrections off downwind."""
    heading_in, heading_out = _headings(inbound_deg, course_deg, tas_kt, wind_true_deg, wind_kt)
    return {
        "heading inbound": mirrored_deg(inbound_deg, heading_in),
        "heading outbound": mirrored_deg(course_deg, heading_out),
    }


def _scaled(
    inbound_deg: int, course_deg: int, headings: tuple[float, float], share_in: float, share_out: float
) -> dict[str, Any]:
    """Lay off a share of each correction."""
    pairs = zip((inbound_deg, course_deg), headings, (share_in, share_out), strict=True)
    given = [
        float(whole(course + share * float(angles.difference_deg(from_deg=course, to_deg=heading))))
        for course, heading, share in pairs
    ]
    return {"heading inbound": given[0], "heading outbound": given[1]}


def plan_half_in(
    *, inbound_deg: int, course_deg: int, tas_kt: int, wind_true_deg: int, wind_kt: int
) -> dict[str, Any] | None:
    """Lay off half of the correction inbound; None where that is about the same."""
    headings = _headings(inbound_deg, course_deg, tas_kt, wind_true_deg, wind_kt)
    wrong = _scaled(inbound_deg, course_deg, headings, 0.5, 1.0)
    if abs(float(angles.difference_deg(from_deg=headings[0], to_deg=wrong["heading inbound"]))) <= 3.0:
        return None
    return {"heading inbound": wrong["heading inbound"]}


def plan_half_out(
    *, inbound_deg: int, course_deg: int, tas_kt: int, wind_true_deg: int, wind_kt: int
) -> dict[str, Any]:
    """Lay off half of the correction outbound."""
    headings = _headings(inbound_deg, course_deg, tas_kt, wind_true_deg, wind_kt)
    wrong = _scaled(inbound_deg, course_deg, headings, 1.0, 0.5)
    return {"heading outbound": wrong["heading outbound"]}


def plan_headings_exchanged(
    *, inbound_deg: int, course_deg: int, tas_kt: int, wind_true_deg: int, wind_kt: int
) -> dict[str, Any]:
    """Exchange the two headings."""
    heading_in, heading_out = _headings(inbound_deg, course_deg, tas_kt, wind_true_deg, wind_kt)
    return {"heading inbound": heading_out or 360.0, "heading outbound": heading_in or 360.0}


def plan_heading_kept(
    *, inbound_deg: int, course_deg: int, tas_kt: int, wind_true_deg: int, wind_kt: int
) -> dict[str, Any]:
    """Keep the heading inbound."""
    heading_in, _ = _headings(inbound_deg, course_deg, tas_kt, wind_true_deg, wind_kt)
    return {"heading outbound": heading_in or 360.0}


def plan_heading_set_in(
    *, inbound_deg: int, course_deg: int, tas_kt: int, wind_true_deg: int, wind_kt: int
) -> dict[str, Any] | None:
    """Set the heading inbound on the selector; None where it is about the course."""
    heading_in, _ = _headings(inbound_deg, course_deg, tas_kt, wind_true_deg, wind_kt)
    if abs(float(angles.difference_deg(from_deg=inbound_deg, to_deg=heading_in))) < 3.0:
        return None
    return {"course 1 inbound": heading_in or 360.0}


def plan_double(
    *, inbound_deg: int, course_deg: int, tas_kt: int, wind_true_deg: int, wind_kt: int
) -> dict[str, Any]:
    """Lay off twice the correction, both ways."""
    headings = _headings(inbound_deg, course_deg, tas_kt, wind_true_deg, wind_kt)
    return _scaled(inbound_deg, course_deg, headings, 2.0, 2.0)


_WRITTEN = {"heading inbound": "inbound_deg", "heading outbound": "course_deg"}
_HEADING_WITHIN_DEG = 2.0


def passage_cause(
    *, filled: Mapping[str, Any], inbound_deg: int, course_deg: int, tas_kt: int, wind_true_deg: int, wind_kt: int
) -> str | None:
    """Name the one mistake that all wrong headings of the plan can come from."""
    courses = {"inbound_deg": inbound_deg, "course_deg": course_deg}
    held = _headings(inbound_deg, course_deg, tas_kt, wind_true_deg, wind_kt)
    wrong = [
        label
        for label, right in zip(_WRITTEN, held, strict=True)
        if abs(float(angles.difference_deg(from_deg=right, to_deg=filled[label]))) > _HEADING_WITHIN_DEG
    ]
    numbers = {"tas_kt": tas_kt, "wind_true_deg": wind_true_deg, "wind_kt": wind_kt, "variation_deg": 13}
    answers = [(float(filled[label]), {"course_deg": courses[_WRITTEN[label]], **numbers}) for label in wrong]
    code = common_cause(HEADING_AS_TAUGHT, answers)
    return f"{HEADING_AS_TAUGHT.family.name}/{code}/{' and '.join(wrong)}" if code else None


def plan_downwind_in(
    *, inbound_deg: int, course_deg: int, tas_kt: int, wind_true_deg: int, wind_kt: int
) -> dict[str, Any] | None:
    """Lay the correction inbound off downwind; None where that is about the same."""
    heading_in, _ = _headings(inbound_deg, course_deg, tas_kt, wind_true_deg, wind_kt)
    if abs(float(angles.difference_deg(from_deg=inbound_deg, to_deg=heading_in))) < 3.0:
        return None
    return {"heading inbound": mirrored_deg(inbound_deg, heading_in)}


def plan_downwind_out(
    *, inbound_deg: int, course_deg: int, tas_kt: int, wind_true_deg: int, wind_kt: int
) -> dict[str, Any]:
    """Lay the correction outbound off downwind."""
    _, heading_out = _headings(inbound_deg, course_deg, tas_kt, wind_true_deg, wind_kt)
    return {"heading outbound": mirrored_deg(course_deg, heading_out)}


def plan_heading_set(
    *, inbound_deg: int, course_deg: int, tas_kt: int, wind_true_deg: int, wind_kt: int
) -> dict[str, Any]:
    """Set the heading outbound on the selector."""
    _, heading_out = _headings(inbound_deg, course_deg, tas_kt, wind_true_deg, wind_kt)
    return {"course 1 outbound": heading_out or 360.0}


def plan_course_kept(*, inbound_deg: int) -> dict[str, Any]:
    """Leave the inbound course on the selector."""
    return {"course 1 outbound": float(inbound_deg)}


# ---------------------------------------------------------------- the task


def a_brief(random: Random) -> dict[str, Any]:
    """Draw the task: a passage of Ezrick Down."""
    return {
        **a_course_in_wind(random),
        "altitude_ft": random.randrange(3900, 5200, 100),
        "elevation_ft": _STATIONS_FT["Ezrick Down"],
        "half_angle_deg": 45,
        "gs_in_kt": random.choice([85, 95, 105, 115]),
    }


def cone_from_dme(*, overhead_nm: float, half_angle_deg: float, gs_in_kt: float) -> float:
    """Seconds without a needle, from what the DME reads overhead. [s]"""
    return _cone_s(overhead_nm * units.NM_FT, gs_in_kt, half_angle_deg)


def cone_half_from_dme(*, overhead_nm: float, half_angle_deg: float, gs_in_kt: float) -> float:
    """Seconds to the middle of the cone. [s]"""
    return cone_from_dme(overhead_nm=overhead_nm, half_angle_deg=half_angle_deg, gs_in_kt=gs_in_kt) / 2.0


def cone_twice_from_dme(*, overhead_nm: float, half_angle_deg: float, gs_in_kt: float) -> float:
    """Double the width. [s]"""
    return 2.0 * cone_from_dme(overhead_nm=overhead_nm, half_angle_deg=half_angle_deg, gs_in_kt=gs_in_kt)


def cone_minutes_from_dme(*, overhead_nm: float, half_angle_deg: float, gs_in_kt: float) -> float:
    """Give minutes for seconds. [min]"""
    return cone_from_dme(overhead_nm=overhead_nm, half_angle_deg=half_angle_deg, gs_in_kt=gs_in_kt) / 60.0


def heading_for_course(*, course_deg: int, tas_kt: int, wind_true_deg: int, wind_kt: int) -> float:
    """Set the heading on the selector. [deg magnetic]"""
    held = heading_held(course_deg=course_deg, tas_kt=tas_kt, wind_true_deg=wind_true_deg, wind_kt=wind_kt)
    return float(round(held))
