"""Numbers of the lesson on descent planning to minimums."""

from __future__ import annotations

from collections.abc import Mapping
from random import Random
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from needlework.exercises.lesson_values import day, magnetic_deg, plate, true_deg, whole
from needlework.trade import descent, wind
from needlework.trade.altimetry import cold_correction_ft
from needlework.trade.units import NM_FT

if TYPE_CHECKING:
    from needlework.world.weather import Day

_OPTIMUM_FT_NM = float(descent.OPTIMUM_FT_NM)
_LIMIT_FPM = float(descent.LOW_LIMIT_FPM)
_TAS_KT = 86  # the Finch at 84 kt indicated, at the heights of the final

# ---------------------------------------------------------------- recall


def a_wind_near_the_final(random: Random) -> dict[str, Any]:
    """Draw a strong wind at an angle to the course."""
    course = 214
    side = random.choice([-1, 1]) * random.choice([30, 35, 55, 60, 65])
    from_true = true_deg(course + side + random.choice([0, 0, 180]))
    return {
        "course_deg": course,
        "tas_kt": random.choice([86, 90, 94, 98]),
        "wind_true_deg": whole(from_true, 10),
        "wind_kt": random.randrange(26, 35),
        "variation_deg": 13,
    }


def _ground_speed(course_deg: int, tas_kt: int, wind_from_deg: float, wind_kt: int) -> float:
    return float(
        wind.ground_speed_kt(course_deg=course_deg, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt)
    )


def ground_speed(*, course_deg: int, tas_kt: int, wind_true_deg: int, wind_kt: int) -> float:
    """Ground speed on a course. [kt] Source: the wind triangle."""
    return _ground_speed(course_deg, tas_kt, magnetic_deg(wind_true_deg), wind_kt)


def speed_by_the_part_along(*, course_deg: int, tas_kt: int, wind_true_deg: int, wind_kt: int) -> float:
    """Airspeed less the part of the wind along the course. [kt] Source: common practice, to a few knots."""
    along, _ = wind.components_kt(
        direction_deg=course_deg, wind_from_deg=magnetic_deg(wind_true_deg), wind_kt=wind_kt
    )
    return tas_kt - float(along)


# ---------------------------------------------------------------- gradient and rate


def two_fixes(random: Random) -> dict[str, Any]:
    """Draw two fixes with their altitudes, on both sides of the station or on one, and a headwind."""
    through = random.random() < 0.6
    first, second = (
        (random.choice([4.0, 5.0, 6.0]), random.choice([2.0, 3.0]))
        if through
        else (1.5, random.choice([4.5, 5.0, 5.5]))
    )
    dist = first + second if through else second - first
    low = random.randrange(600, 1100, 20)
    high = low + round(dist * random.choice([250, 265, 340, 360]) / 20) * 20
    way = (
        f"inbound at {first:g} DME, over the station, then outbound at {second:g} DME"
        if through
        else f"outbound at {first:g} DME, then, still outbound, at {second:g} DME"
    )
    return {
        "way": way,
        "through": through,
        "first_nm": first,
        "second_nm": second,
        "dist_nm": dist,
        "high_ft": high,
        "low_ft": low,
        "tas_kt": random.choice([86, 90, 98]),
        "along_kt": random.choice([12, 16, 20]),
    }


def slope(*, high_ft: int, low_ft: int, dist_nm: float) -> float:
    """Gradient between two fixes. [ft/NM] Source: definition."""
    return float(descent.gradient_ft_nm(lose_ft=high_ft - low_ft, dist_nm=dist_nm))


def feet_to_lose(*, high_ft: int, low_ft: int) -> float:
    """Feet not divided by miles. [ft]"""
    return float(high_ft - low_ft)


def slope_of_the_sum(*, high_ft: int, low_ft: int, dist_nm: float) -> float:
    """The altitudes added. [ft/NM]"""
    return (high_ft + low_ft) / dist_nm


def slope_in_per_cent(*, high_ft: int, low_ft: int, dist_nm: float) -> float:
    """The gradient in per cent. [%]"""
    return slope(high_ft=high_ft, low_ft=low_ft, dist_nm=dist_nm) / float(NM_FT) * 100.0


def slope_in_degrees(*, high_ft: int, low_ft: int, dist_nm: float) -> float:
    """The gradient as an angle. [deg]"""
    return float(np.rad2deg(np.arctan(slope(high_ft=high_ft, low_ft=low_ft, dist_nm=dist_nm) / float(NM_FT))))


def slope_of_the_low_altitude(*, low_ft: int, dist_nm: float) -> float:
    """Lower altitude for feet to lose. [ft/NM]"""
    return low_ft / dist_nm


def slope_from_the_first(*, high_ft: int, low_ft: int, first_nm: float) -> float:
    """First reading for the miles. [ft/NM]"""
    return (high_ft - low_ft) / first_nm


def slope_dme_counted_wrong(*, high_ft: int, low_ft: int, through: bool, first_nm: float, second_nm: float) -> float:
    """Readings subtracted where they add, and the other way round. [ft/NM]"""
    return (high_ft - low_ft) / (abs(first_nm - second_nm) if through else first_nm + second_nm)


def slope_from_the_station(*, high_ft: int, low_ft: int, second_nm: float) -> float:
    """Miles of the station for miles between the fixes. [ft/NM]"""
    return (high_ft - low_ft) / second_nm


def slope_to_the_sea(*, high_ft: int, dist_nm: float) -> float:
    """Altitude for feet to lose. [ft/NM]"""
    return high_ft / dist_nm


def rate(
    *,
    high_ft: int,
    low_ft: int,
    dist_nm: float,
    tas_kt: int,
    along_kt: int,
    gradient_ft_nm: float | None = None,
    gs_kt: float | None = None,
) -> float:
    """Rate of descent between two fixes, with its own gradient and ground speed if no other is given. [fpm]"""
    made = slope(high_ft=high_ft, low_ft=low_ft, dist_nm=dist_nm) if gradient_ft_nm is None else gradient_ft_nm
    return _rate_fpm(made, tas_kt - along_kt if gs_kt is None else gs_kt)


def _rate_fpm(gradient_ft_nm: float, gs_kt: float) -> float:
    """Rate of a gradient, whatever a learner's own gradient is. [fpm] Source: definition."""
    return gradient_ft_nm * gs_kt / 60.0


def rate_upside_down(*, high_ft: int, low_ft: int, dist_nm: float, tas_kt: int, along_kt: int) -> float:
    """Ground speed under the line. [fpm]"""
    return slope(high_ft=high_ft, low_ft=low_ft, dist_nm=dist_nm) * 60.0 / (tas_kt - along_kt)


def rate_in_a_tailwind(*, high_ft: int, low_ft: int, dist_nm: float, tas_kt: int, along_kt: int) -> float:
    """Headwind added. [fpm]"""
    return _rate_fpm(slope(high_ft=high_ft, low_ft=low_ft, dist_nm=dist_nm), tas_kt + along_kt)


def rate_without_sixty(*, high_ft: int, low_ft: int, dist_nm: float, tas_kt: int, along_kt: int) -> float:
    """Gradient times knots, not times miles a minute. [fpm]"""
    return slope(high_ft=high_ft, low_ft=low_ft, dist_nm=dist_nm) * (tas_kt - along_kt)


def steeper_or_shallower(*, high_ft: int, low_ft: int, dist_nm: float) -> str:
    """Say how the gradient lies to 300 feet a mile."""
    return "steeper" if slope(high_ft=high_ft, low_ft=low_ft, dist_nm=dist_nm) > 300.0 else "shallower"


# ---------------------------------------------------------------- where to start down


def a_target(random: Random) -> dict[str, Any]:
    """Draw an altitude to be reached at a DME, towards the station or away from it."""
    out = random.random() < 0.5
    target = random.choice([8.0, 9.0, 10.0]) if out else random.choice([3.0, 4.0, 5.0])
    low = random.randrange(1600, 2500, 100)
    return {
        "way": "away from" if out else "towards",
        "sign": -1 if out else 1,
        "target_nm": target,
        "low_ft": low,
        "high_ft": low + random.choice([1000, 1100, 1300, 1500]),
    }


def start_dme(
    *, high_ft: int, low_ft: int, target_nm: float, sign: int, gradient_ft_nm: float = _OPTIMUM_FT_NM
) -> float:
    """DME at which the descent begins. [NM] Source: definition."""
    before = descent.start_nm(lose_ft=high_ft - low_ft, gradient_ft_nm=gradient_ft_nm)
    return float(descent.dme_at_nm(to_go_nm=before, target_nm=target_nm, direction="out" if sign < 0 else "in"))


def start_after_the_target(*, high_ft: int, low_ft: int, target_nm: float, sign: int) -> float:
    """Miles counted the wrong way. [NM]"""
    return target_nm - sign * (high_ft - low_ft) / _OPTIMUM_FT_NM


def start_for_the_sea(*, high_ft: int, target_nm: float, sign: int) -> float:
    """Altitude for feet to lose. [NM]"""
    return target_nm + sign * high_ft / _OPTIMUM_FT_NM


def start_for_the_target_altitude(*, low_ft: int, target_nm: float, sign: int) -> float:
    """Altitude of the target for feet to lose. [NM]"""
    return target_nm + sign * low_ft / _OPTIMUM_FT_NM


def start_by_a_thousand(*, high_ft: int, low_ft: int, target_nm: float, sign: int) -> float:
    """A thousand feet a mile. [NM]"""
    return target_nm + sign * (high_ft - low_ft) / 1000.0


def start_by_500(*, high_ft: int, low_ft: int, target_nm: float, sign: int) -> float:
    """500 feet a mile. [NM]"""
    return target_nm + sign * (high_ft - low_ft) / 500.0


def start_of_the_sum(*, high_ft: int, low_ft: int, target_nm: float, sign: int) -> float:
    """Altitudes added. [NM]"""
    return target_nm + sign * (high_ft + low_ft) / _OPTIMUM_FT_NM


def miles_for_the_target_altitude(*, low_ft: int) -> float:
    """Altitude of the target over the gradient. [NM]"""
    return low_ft / _OPTIMUM_FT_NM


def miles_for_the_sea(*, high_ft: int) -> float:
    """Altitude over the gradient. [NM]"""
    return high_ft / _OPTIMUM_FT_NM


def miles_past_the_station(*, high_ft: int, low_ft: int, target_nm: float, sign: int) -> float | None:
    """Miles counted the wrong way past the station, without the minus; None where the station is not reached. [NM]"""
    found = start_after_the_target(high_ft=high_ft, low_ft=low_ft, target_nm=target_nm, sign=sign)
    return -found if found < 0.0 else None


def miles_before_the_target(*, high_ft: int, low_ft: int) -> float:
    """Miles for the reading. [NM]"""
    return (high_ft - low_ft) / _OPTIMUM_FT_NM


# ---------------------------------------------------------------- the table of the Saltmarsh final

_THRESHOLD_NM, _THRESHOLD_FT, _CROSSING_FT = 5.2, 62.0, 50.0  # from Overfall; the plate


def a_crossing(random: Random) -> dict[str, Any]:
    """Draw the altitude over Overfall and a wind along the final."""
    along = random.choice([-14, -12, -10, 10, 12, 14, 16, 18])
    return {
        "cross_ft": random.choice([1860, 1900, 1940, 1980]),
        "tas_kt": random.choice([84, 86, 88, 90]),
        "along_kt": abs(along),
        "along": "headwind" if along > 0 else "tailwind",
        "sign": 1 if along > 0 else -1,
    }


def final_ground_speed(*, tas_kt: int, sign: int, along_kt: int) -> float:
    """Ground speed on the final. [kt] Source: definition."""
    return float(tas_kt - sign * along_kt)


def final_slope(*, cross_ft: int, elevation_ft: float = _THRESHOLD_FT, crossing_ft: float = _CROSSING_FT) -> float:
    """Gradient from Overfall to the crossing height. [ft/NM] Source: definition."""
    return float(descent.gradient_ft_nm(lose_ft=cross_ft - elevation_ft - crossing_ft, dist_nm=_THRESHOLD_NM))


def published_slope() -> float:
    """Gradient of the plate, from 1,760 ft. [ft/NM]"""
    return float(plate().gradient_ft_nm)


def slope_to_the_mda(*, cross_ft: int) -> float:
    """Line to the MDA at the missed approach point. [ft/NM]"""
    return (cross_ft - plate().mda_ft()) / float(plate().fix("MAP").dist_nm)


def slope_to_the_mda_at_the_vdp(*, cross_ft: int) -> float:
    """Line to the MDA at the VDP. [ft/NM]"""
    return (cross_ft - plate().mda_ft()) / float(plate().fix("VDP").dist_nm)


def slope_to_the_mda_at_the_threshold(*, cross_ft: int) -> float:
    """Line to the MDA over the threshold. [ft/NM]"""
    return (cross_ft - plate().mda_ft()) / _THRESHOLD_NM


def slope_to_pardo(*, cross_ft: int) -> float:
    """Line to the floor of the step-down fix. [ft/NM]"""
    return (cross_ft - step_down_floor()) / float(plate().fix("PARDO").dist_nm)


def slope_to_the_mda_at_pardo(*, cross_ft: int) -> float:
    """Line to the MDA at the step-down fix. [ft/NM]"""
    return (cross_ft - plate().mda_ft()) / float(plate().fix("PARDO").dist_nm)


def slope_within_the_map(*, cross_ft: int) -> float:
    """Height of the threshold, miles of the missed approach point. [ft/NM]"""
    return (cross_ft - _THRESHOLD_FT - _CROSSING_FT) / float(plate().fix("MAP").dist_nm)


def feet_to_the_threshold(*, cross_ft: int) -> float:
    """Feet not divided by miles. [ft]"""
    return cross_ft - _THRESHOLD_FT - _CROSSING_FT


def slope_crossing_taken_off(*, cross_ft: int) -> float:
    """Take the crossing height off the threshold's elevation. [ft/NM]"""
    return final_slope(cross_ft=cross_ft, crossing_ft=-float(_CROSSING_FT))


def final_slope_to_the_sea(*, cross_ft: int) -> float:
    """Altitude for feet to lose. [ft/NM]"""
    return cross_ft / plate().fix_to_go_nm("OVK")


def final_rate(
    *,
    cross_ft: int,
    tas_kt: int,
    sign: int,
    along_kt: int,
    gradient_ft_nm: float | None = None,
    gs_kt: float | None = None,
) -> float:
    """Rate of descent on the line, with its own gradient and ground speed if no other is given. [fpm]"""
    return _rate_fpm(
        final_slope(cross_ft=cross_ft) if gradient_ft_nm is None else gradient_ft_nm,
        final_ground_speed(tas_kt=tas_kt, sign=sign, along_kt=along_kt) if gs_kt is None else gs_kt,
    )


def final_rate_on_the_plates_gradient(*, tas_kt: int, sign: int, along_kt: int) -> float:
    """Rate for the gradient of the plate. [fpm]"""
    return _rate_fpm(published_slope(), final_ground_speed(tas_kt=tas_kt, sign=sign, along_kt=along_kt))


def final_rate_head_for_tail(*, cross_ft: int, tas_kt: int, sign: int, along_kt: int) -> float:
    """Rate of descent with head and tail of the wind swapped. [fpm]"""
    return final_rate(cross_ft=cross_ft, tas_kt=tas_kt, sign=-sign, along_kt=along_kt)


def final_altitude(
    *,
    cross_ft: int,
    dme_nm: float,
    elevation_ft: float = _THRESHOLD_FT,
    crossing_ft: float = _CROSSING_FT,
    gradient_ft_nm: float | None = None,
) -> float:
    """Altitude of the line at a DME, outbound from Overfall. [ft] Source: definition."""
    if gradient_ft_nm is None:
        gradient_ft_nm = final_slope(cross_ft=cross_ft, elevation_ft=elevation_ft, crossing_ft=crossing_ft)
    # What follows from a wrong gradient is right only as long as it keeps the floor.
    return max(cross_ft - dme_nm * gradient_ft_nm, floor_of_pardo(dme_nm=dme_nm) or 0.0)


def floor_of_pardo(*, dme_nm: float) -> float | None:
    """Floor that holds to PARDO; None before it, where every line here keeps it. [ft] Source: the plate."""
    return step_down_floor() if dme_nm == float(plate().fix("PARDO").dist_nm) else None


def below_pardo(*, dme_nm: float) -> float | None:
    """An altitude below the floor, for example. [ft]"""
    floor = floor_of_pardo(dme_nm=dme_nm)
    return None if floor is None else floor - 40.0


def breaks_a_floor(*, answer: float, dme_nm: float) -> str | None:
    """Name an altitude at PARDO that breaks the floor to there."""
    floor = floor_of_pardo(dme_nm=dme_nm)
    return "BELOW" if floor is not None and 300.0 < answer < floor else None


def altitude_by_the_rate(*, cross_ft: int, dme_nm: float, tas_kt: int, sign: int, along_kt: int) -> float:
    """Feet a minute for feet a mile. [ft]"""
    gs_kt = final_ground_speed(tas_kt=tas_kt, sign=sign, along_kt=along_kt)
    return cross_ft - dme_nm * _rate_fpm(final_slope(cross_ft=cross_ft), gs_kt)


def altitude_from_1760(*, cross_ft: int, dme_nm: float) -> float:
    """Counted from the plate's altitude over Overfall. [ft]"""
    return 1760.0 - dme_nm * final_slope(cross_ft=cross_ft)


def altitude_a_mile_on(*, cross_ft: int, dme_nm: float) -> float:
    """A mile too many. [ft]"""
    return cross_ft - (dme_nm + 1.0) * final_slope(cross_ft=cross_ft)


def altitude_a_mile_back(*, cross_ft: int, dme_nm: float) -> float:
    """A mile too few. [ft]"""
    return cross_ft - (dme_nm - 1.0) * final_slope(cross_ft=cross_ft)


def feet_lost(*, cross_ft: int, dme_nm: float) -> float:
    """What the line has lost since Overfall. [ft]"""
    return dme_nm * final_slope(cross_ft=cross_ft)


def altitude_on_the_plates_gradient(*, cross_ft: int, dme_nm: float) -> float:
    """Gradient of the plate, from today's crossing altitude. [ft]"""
    return cross_ft - dme_nm * published_slope()


def altitude_on_the_way_to_the_mda(*, cross_ft: int, dme_nm: float) -> float:
    """Gradient to the MDA at the missed approach point. [ft]"""
    return cross_ft - dme_nm * slope_to_the_mda(cross_ft=cross_ft)


def altitude_with_miles_to_go(*, cross_ft: int, dme_nm: float) -> float:
    """The reading taken for miles to the threshold. [ft]"""
    return _THRESHOLD_FT + _CROSSING_FT + dme_nm * final_slope(cross_ft=cross_ft)


def published_altitude(*, dme_nm: float) -> float:
    """Altitude of the plate's line, from 1,760 ft. [ft]"""
    return float(plate().line_ft(plate().to_go_nm(dme_nm, inbound=False)))


# ---------------------------------------------------------------- the clock, where it is the missed approach point

_TARVUE_NM = 4.3  # from the station to the missed approach point, from survey


def a_wind_at_tarvue(random: Random) -> dict[str, Any]:
    """Draw an airspeed and a wind along the final of Tarvue."""
    along = random.choice([-18, -16, -14, -12, 12, 14, 16, 18])
    return {
        "tas_kt": random.choice([82, 85, 88, 92]),
        "along_kt": abs(along),
        "along": "headwind" if along > 0 else "tailwind",
        "sign": 1 if along > 0 else -1,
    }


def _seconds(dist_nm: float, gs_kt: float) -> float:
    return float(descent.time_s(dist_nm=dist_nm, gs_kt=gs_kt))


def seconds(*, tas_kt: int, sign: int, along_kt: int, dist_nm: float, gs_kt: float | None = None) -> float:
    """Time over a distance of the final. [seconds] Source: definition."""
    return _seconds(
        dist_nm, final_ground_speed(tas_kt=tas_kt, sign=sign, along_kt=along_kt) if gs_kt is None else gs_kt
    )


def seconds_read_as_a_clock(*, tas_kt: int, sign: int, along_kt: int, dist_nm: float) -> float | None:
    """Minutes and hundredths taken for minutes and seconds, 2.58 min as 2:58; None where both are about the same."""
    right = seconds(tas_kt=tas_kt, sign=sign, along_kt=along_kt, dist_nm=dist_nm)
    minutes = right / 60.0
    read = int(minutes) * 60 + round(minutes % 1 * 100)
    return read if read - right > 4.0 else None


def seconds_to_4_7(*, tas_kt: int, sign: int, along_kt: int) -> float:
    """Saltmarsh's missed approach point. [seconds]"""
    return seconds(tas_kt=tas_kt, sign=sign, along_kt=along_kt, dist_nm=4.7)


def seconds_to_5_2(*, tas_kt: int, sign: int, along_kt: int) -> float:
    """Saltmarsh's threshold. [seconds]"""
    return seconds(tas_kt=tas_kt, sign=sign, along_kt=along_kt, dist_nm=_THRESHOLD_NM)


def seconds_head_for_tail(*, tas_kt: int, sign: int, along_kt: int, dist_nm: float) -> float:
    """Time with head and tail of the wind swapped. [seconds]"""
    return seconds(tas_kt=tas_kt, sign=-sign, along_kt=along_kt, dist_nm=dist_nm)


# ---------------------------------------------------------------- floors, wind with height


def three_floors(random: Random) -> dict[str, Any]:
    """Draw three fixes with their floors, of which a line of 300 ft/NM keeps some and breaks some."""
    start = random.choice([1900, 2000, 2100])
    fixes = (1.5, 3.0, 4.5)
    gaps = [random.choice([-1, 1]) * random.choice([40, 60, 80]) for _ in fixes]
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


def kept_or_broken(*, start_ft: int, dme_nm: float, floors: list[int], number: int) -> str:
    """Say whether the line is at or above the floor that ends at the fix of this number (1, 2, 3)."""
    line = float(descent.line_ft(to_go_nm=-dme_nm, end_ft=start_ft, gradient_ft_nm=300.0))
    return "KEPT" if line >= floors[number - 1] else "BROKEN"


def line_of_300(*, start_ft: int, dme_nm: float) -> float:
    """Altitude of the line. [ft]"""
    return start_ft - 300.0 * dme_nm


def floor_to_here(*, floors: list[int], number: int) -> float:
    """Floor that ends at the fix of this number (1, 2, 3). [ft]"""
    return float(floors[number - 1])


def floor_before(*, floors: list[int], number: int) -> float:
    """Floor of the leg before; of the first one its own. [ft]"""
    return float(floors[max(number - 2, 0)])


def why_not_this_floor(*, answer: str, start_ft: int, dme_nm: float, floors: list[int], number: int) -> str:
    """Name the floor from which a wrong answer may come."""
    line = line_of_300(start_ft=start_ft, dme_nm=dme_nm)
    if answer == "KEPT":
        return "NEXTFLOOR" if number < len(floors) else "NEXTFLOOR/last"
    return "STRICT/before" if line < floor_before(floors=floors, number=number) else "STRICT/above"


def floors_drawn(*, start_ft: int, floors: list[int]) -> dict[str, Any]:
    """Give the picture of the floors, without the line that answers the question."""
    return {
        "fixes": [("station", 5.2, 0.0), ("step 1", 3.7, 1.5), ("step 2", 2.2, 3.0), ("step 3", 0.7, 4.5)],
        "floors": [(5.2, 3.7, floors[0]), (3.7, 2.2, floors[1]), (2.2, 0.7, floors[2])],
        "path": [(5.2, float(start_ft)), (5.0, float(start_ft) - 60.0)],
        "title": "The floors, and the first bit of the line",
    }


def two_winds(random: Random) -> dict[str, Any]:
    """Draw a headwind that eases on the way down, or freshens."""
    strong, weak = random.choice([22, 24, 26]), random.choice([4, 6, 8])
    falls = random.random() < 0.6
    tas, top, low = random.choice([86, 90, 94]), strong if falls else weak, weak if falls else strong
    return {
        "tas_kt": tas,
        "top_kt": top,
        "low_kt": low,
        "top_gs_kt": tas - top,
        "low_gs_kt": tas - low,
        "gradient_ft_nm": _OPTIMUM_FT_NM,
    }


def three_degrees(*, gs_kt: float, gradient_ft_nm: float) -> float:
    """Rate for three degrees at the ground speed of this altitude. [fpm] Source: definition."""
    return _rate_fpm(gradient_ft_nm, gs_kt)


def three_degrees_elsewhere(*, there_gs_kt: float, gradient_ft_nm: float) -> float:
    """Ground speed of the other altitude. [fpm]"""
    return three_degrees(gs_kt=there_gs_kt, gradient_ft_nm=gradient_ft_nm)


def high_or_low(*, top_fpm: float, low_fpm: float) -> str:
    """Say where the rate of the top ends: where more is asked for below, too little was lost."""
    if top_fpm == low_fpm:
        raise ValueError("one rate fits both")
    return "HIGH" if low_fpm > top_fpm else "LOW"


def the_other_way_round(*, top_fpm: float, low_fpm: float) -> str:
    """High for low, low for high."""
    return high_or_low(top_fpm=low_fpm, low_fpm=top_fpm)


# ---------------------------------------------------------------- off the line


def a_check(random: Random) -> dict[str, Any]:
    """Draw a DME on the final of Saltmarsh, and an altitude above or below the line."""
    dme = random.choice([1.5, 1.8, 2.2, 2.5])
    off = random.choice([-1, 1]) * random.choice([70, 90, 120, 150])
    return {"dme_nm": dme, "seen_ft": round((1760 - 317 * dme + off) / 10) * 10}


def above_the_line(*, seen_ft: int, dme_nm: float, gradient_ft_nm: float = 317.0) -> float:
    """Height above the line of the plate. [ft] Source: definition."""
    return seen_ft - (1760.0 - gradient_ft_nm * dme_nm)


def the_line_above_you(*, seen_ft: int, dme_nm: float) -> float:
    """The sign turned round. [ft]"""
    return -above_the_line(seen_ft=seen_ft, dme_nm=dme_nm)


def off_another_place(*, seen_ft: int, dme_nm: float) -> float:
    """The reading taken for miles to go. [ft]"""
    return seen_ft - altitude_with_miles_to_go(cross_ft=1760, dme_nm=dme_nm)


def line_of_the_plate(*, dme_nm: float) -> float:
    """Altitude of the line. [ft]"""
    return 1760.0 - 317.0 * dme_nm


def lost_since_overfall(*, seen_ft: int) -> float:
    """Feet flown down. [ft]"""
    return 1760.0 - seen_ft


def lost_with_a_minus(*, seen_ft: int) -> float:
    """Feet flown down, below nought. [ft]"""
    return seen_ft - 1760.0


def drop_of_the_line(*, dme_nm: float) -> float:
    """Feet that the line goes down. [ft]"""
    return 317.0 * dme_nm


def off_the_line_at_pardo(*, seen_ft: int) -> float:
    """Line of the step-down fix. [ft]"""
    return seen_ft - line_of_the_plate(dme_nm=3.0)


def off_the_line_a_mile_before(*, seen_ft: int, dme_nm: float) -> float | None:
    """Line of the whole mile before; None at a whole mile. [ft]"""
    return above_the_line(seen_ft=seen_ft, dme_nm=dme_nm // 1.0) if dme_nm % 1.0 else None


def off_the_line_a_mile_after(*, seen_ft: int, dme_nm: float) -> float | None:
    """Line of the next whole mile; None at a whole mile. [ft]"""
    return above_the_line(seen_ft=seen_ft, dme_nm=dme_nm // 1.0 + 1.0) if dme_nm % 1.0 else None


def above_the_floor(*, seen_ft: int) -> float:
    """Floor for the line. [ft]"""
    return seen_ft - step_down_floor()


# ---------------------------------------------------------------- before the fix

_READY_NM = 1.0  # before the final fix


def a_slowing(random: Random) -> dict[str, Any]:
    """Draw two ground speeds, and what is lost in a second."""
    slow = random.choice([80, 84, 88])
    return {
        "fast_kt": slow + random.choice([28, 30, 32, 34]),
        "slow_kt": slow,
        "ready_nm": _READY_NM,
        "loss_kt_s": 0.5,
    }


def _slowing_nm(fast_kt: int, slow_kt: int, loss_kt_s: float, mean_kt: float) -> float:
    return (fast_kt - slow_kt) / loss_kt_s * mean_kt / 3600.0


def slow_from(
    *, fast_kt: int, slow_kt: int, ready_nm: float, loss_kt_s: float, mean_kt: float | None = None
) -> float:
    """DME at which the slowing begins, flown in to the final fix at the station. [NM] Source: definition."""
    mean = 0.5 * (fast_kt + slow_kt) if mean_kt is None else mean_kt
    return ready_nm + _slowing_nm(fast_kt, slow_kt, loss_kt_s, mean)


def slow_at_the_sum_of_speeds(*, fast_kt: int, slow_kt: int, ready_nm: float, loss_kt_s: float) -> float:
    """The mean not halved. [NM]"""
    return ready_nm + _slowing_nm(fast_kt, slow_kt, loss_kt_s, float(fast_kt + slow_kt))


def slow_at_the_fix(*, fast_kt: int, slow_kt: int, loss_kt_s: float) -> float:
    """The mile before the fix left out. [NM]"""
    return slow_from(fast_kt=fast_kt, slow_kt=slow_kt, ready_nm=0.0, loss_kt_s=loss_kt_s)


def slow_by_sixty(*, fast_kt: int, slow_kt: int, ready_nm: float, loss_kt_s: float) -> float:
    """Seconds taken for minutes. [NM]"""
    right = slow_from(fast_kt=fast_kt, slow_kt=slow_kt, ready_nm=ready_nm, loss_kt_s=loss_kt_s)
    return ready_nm + 60.0 * (right - ready_nm)


def slow_with_knots_multiplied(*, fast_kt: int, slow_kt: int, ready_nm: float, loss_kt_s: float) -> float:
    """Knots times knots a second for the seconds. [NM]"""
    return slow_from(fast_kt=fast_kt, slow_kt=slow_kt, ready_nm=ready_nm, loss_kt_s=1.0 / loss_kt_s)


def slow_two_miles_before(*, fast_kt: int, slow_kt: int, ready_nm: float, loss_kt_s: float) -> float:
    """A second mile before the fix. [NM]"""
    return 1.0 + slow_from(fast_kt=fast_kt, slow_kt=slow_kt, ready_nm=ready_nm, loss_kt_s=loss_kt_s)


def slow_after_the_mile(*, fast_kt: int, slow_kt: int, ready_nm: float, loss_kt_s: float) -> float:
    """The mile before the fix taken off. [NM]"""
    return slow_from(fast_kt=fast_kt, slow_kt=slow_kt, ready_nm=-ready_nm, loss_kt_s=loss_kt_s)


def seconds_of_slowing(*, fast_kt: int, slow_kt: int, loss_kt_s: float) -> float:
    """Seconds for the miles. [s]"""
    return (fast_kt - slow_kt) / loss_kt_s


def slow_at_the_first_speed(*, fast_kt: int, slow_kt: int, ready_nm: float, loss_kt_s: float) -> float:
    """The first speed all the way. [NM]"""
    return ready_nm + _slowing_nm(fast_kt, slow_kt, loss_kt_s, fast_kt)


def slow_at_the_last_speed(*, fast_kt: int, slow_kt: int, ready_nm: float, loss_kt_s: float) -> float:
    """The last speed all the way. [NM]"""
    return ready_nm + _slowing_nm(fast_kt, slow_kt, loss_kt_s, slow_kt)


def slow_in_level_flight(*, fast_kt: int, slow_kt: int, ready_nm: float) -> float:
    """A knot a second, as in level flight. [NM]"""
    return slow_from(fast_kt=fast_kt, slow_kt=slow_kt, ready_nm=ready_nm, loss_kt_s=1.0)


# ---------------------------------------------------------------- started late

_PLANNED_LOSE_FT, _PLANNED_NM = 1200.0, 3.8  # from 1,760 ft over Overfall to 560 ft at the VDP
_TIMES = 1.5  # the most that a late start may need of the gradient planned. Source: common practice.
_USUAL_FT_NM = 400.0  # the usual limit of a straight-in final, as taught
_STEEPEST_FT_NM = 450.0  # the last normal descent. Source: common practice.


def a_late_start(random: Random) -> dict[str, Any]:
    """Draw how late the descent begins, and a ground speed: the Finch, or something faster with wind behind."""
    if random.random() < 0.6:
        return {
            "late_nm": random.choice([0.7, 0.8, 0.9, 1.0, 1.6, 1.7, 1.8, 2.0]),
            "gs_kt": random.choice([80, 84, 96, 102]),
        }
    return {"late_nm": random.choice([0.4, 0.5, 1.0, 1.1]), "gs_kt": random.choice([145, 150, 155])}


def late_slope(*, late_nm: float) -> float:
    """Gradient over the miles that are left. [ft/NM] Source: definition."""
    return float(descent.late_gradient_ft_nm(lose_ft=_PLANNED_LOSE_FT, dist_nm=_PLANNED_NM, late_nm=late_nm))


def planned_slope() -> float:
    """Gradient as planned. [ft/NM]"""
    return _PLANNED_LOSE_FT / _PLANNED_NM


def late_slope_miles_added(*, late_nm: float) -> float:
    """Miles flown level added. [ft/NM]"""
    return _PLANNED_LOSE_FT / (_PLANNED_NM + late_nm)


def late_slope_to_the_map(*, late_nm: float) -> float:
    """Missed approach point for the VDP. [ft/NM]"""
    return _PLANNED_LOSE_FT / (4.7 - late_nm)


def late_slope_to_the_threshold(*, late_nm: float) -> float:
    """Threshold for the VDP. [ft/NM]"""
    return _PLANNED_LOSE_FT / (_THRESHOLD_NM - late_nm)


def late_slope_over_the_miles_gone(*, late_nm: float) -> float:
    """Miles flown level for miles left. [ft/NM]"""
    return _PLANNED_LOSE_FT / late_nm


def late_slope_of_the_line(*, late_nm: float) -> float:
    """To the crossing height at the threshold. [ft/NM]"""
    return (1760.0 - _THRESHOLD_FT - _CROSSING_FT) / (_THRESHOLD_NM - late_nm)


def late_slope_to_the_ground(*, late_nm: float) -> float:
    """Feet down to the threshold, miles to the VDP. [ft/NM]"""
    return (1760.0 - _THRESHOLD_FT) / (_PLANNED_NM - late_nm)


def late_slope_to_the_crossing(*, late_nm: float) -> float:
    """Feet down to the crossing height, miles to the VDP. [ft/NM]"""
    return (1760.0 - _THRESHOLD_FT - _CROSSING_FT) / (_PLANNED_NM - late_nm)


def late_slope_to_pardo(*, late_nm: float) -> float:
    """Down to the floor of PARDO. [ft/NM]"""
    return (1760.0 - 780.0) / (3.0 - late_nm)


def late_slope_to_the_sea(*, late_nm: float) -> float:
    """The whole altitude, miles to the VDP. [ft/NM]"""
    return 1760.0 / (_PLANNED_NM - late_nm)


def late_rate(*, late_nm: float, gs_kt: float, needed_ft_nm: float | None = None) -> float:
    """Rate over the miles that are left, of the gradient given or of the right one. [fpm] Source: definition."""
    return _rate_fpm(late_slope(late_nm=late_nm) if needed_ft_nm is None else needed_ft_nm, gs_kt)


def late_rate_to_the_threshold(*, late_nm: float, gs_kt: float) -> float:
    """Rate with the threshold for the VDP. [fpm]"""
    return _rate_fpm(late_slope_to_the_threshold(late_nm=late_nm), gs_kt)


def late_rate_miles_added(*, late_nm: float, gs_kt: float) -> float:
    """Rate with the miles flown level added. [fpm]"""
    return _rate_fpm(late_slope_miles_added(late_nm=late_nm), gs_kt)


def late_rate_over_the_miles_gone(*, late_nm: float, gs_kt: float) -> float:
    """Rate with the miles flown level for those left. [fpm]"""
    return _rate_fpm(late_slope_over_the_miles_gone(late_nm=late_nm), gs_kt)


def rate_of_three_degrees(*, gs_kt: float) -> float:
    """Rate for 318 feet a mile. [fpm]"""
    return _rate_fpm(_OPTIMUM_FT_NM, gs_kt)


def twice_planned_fpm(*, gs_kt: float) -> float:
    """Twice the planned rate. [fpm]"""
    return 2.0 * planned_rate(gs_kt=gs_kt)


def fpm_of_400(*, gs_kt: float) -> float:
    """Rate for 400 feet a mile. [fpm]"""
    return _rate_fpm(_USUAL_FT_NM, gs_kt)


def late_rate_without_sixty(*, late_nm: float, gs_kt: float) -> float:
    """Gradient times knots, not times miles a minute. [fpm]"""
    return late_slope(late_nm=late_nm) * gs_kt


def five_times(*, gs_kt: float) -> float:
    """Five times the ground speed. [fpm]"""
    return 5.0 * gs_kt


def half_more_ft_nm() -> float:
    """One and a half times the planned gradient. [ft/NM]"""
    return _TIMES * planned_slope()


def planned_rate(*, gs_kt: float) -> float:
    """Rate as planned. [fpm]"""
    return planned_slope() * gs_kt / 60.0


def late_rate_to_the_map(*, late_nm: float, gs_kt: float) -> float:
    """Rate with the missed approach point for the VDP. [fpm]"""
    return late_slope_to_the_map(late_nm=late_nm) * gs_kt / 60.0


def late_rate_upside_down(*, late_nm: float, gs_kt: float) -> float:
    """Ground speed under the line. [fpm]"""
    return late_slope(late_nm=late_nm) * 60.0 / gs_kt


def _steepest_ft_nm(planned_ft_nm: float) -> float:
    """Steepest that a late start may be, for the gradient planned. [ft/NM] Source: common practice."""
    return min(_TIMES * planned_ft_nm, _STEEPEST_FT_NM)


def most_fpm(*, gs_kt: float) -> float:
    """Smallest of the limits of a late start. [fpm] Source: common practice; IPH, ch. 4."""
    return min(_steepest_ft_nm(planned_slope()) * gs_kt / 60.0, _LIMIT_FPM)


def most_fpm_upside_down(*, gs_kt: float) -> float:
    """Ground speed upside down. [fpm]"""
    return _steepest_ft_nm(planned_slope()) * 60.0 / gs_kt


def half_more_than_needed(*, late_nm: float, gs_kt: float) -> float:
    """One and a half times the rate that is needed. [fpm]"""
    return _TIMES * late_rate(late_nm=late_nm, gs_kt=gs_kt)


def the_wider_limit_fpm(*, gs_kt: float) -> float:
    """Greater of the limits by gradient and by rate. [fpm]"""
    return max(_steepest_ft_nm(planned_slope()) * gs_kt / 60.0, _LIMIT_FPM)


def gradient_past_the_wall_fpm(*, gs_kt: float) -> float | None:
    """The limit by gradient, where 1,000 fpm is less. [fpm]"""
    wider = the_wider_limit_fpm(gs_kt=gs_kt)
    return wider if wider > _LIMIT_FPM else None


def wall_past_the_gradient_fpm(*, gs_kt: float) -> float | None:
    """The limit of 1,000 fpm, where that by gradient is less. [fpm]"""
    return _LIMIT_FPM if most_fpm(gs_kt=gs_kt) < _LIMIT_FPM else None


def half_more_fpm(*, gs_kt: float) -> float | None:
    """One and a half times the planned rate; None where 1,000 fpm is the limit. [fpm]"""
    return _TIMES * planned_rate(gs_kt=gs_kt) if most_fpm(gs_kt=gs_kt) < _LIMIT_FPM else None


def half_more_past_the_wall_fpm(*, gs_kt: float) -> float | None:
    """One and a half times the planned rate, where 1,000 fpm is the limit. [fpm]"""
    return _TIMES * planned_rate(gs_kt=gs_kt) if half_more_fpm(gs_kt=gs_kt) is None else None


def wall_ft_nm(*, gs_kt: float) -> float:
    """The limit in feet a minute, as feet a mile. [ft/NM]"""
    return _LIMIT_FPM * 60.0 / gs_kt


def inside_the_limit(
    *, late_nm: float, gs_kt: float, needed_fpm: float | None = None, allowed_fpm: float | None = None
) -> str:
    """Say whether the smallest limit is enough.

    Rates of the learner's own may turn YES into NO, never NO into YES: what is too steep stays too steep.
    """
    needed, most = late_rate(late_nm=late_nm, gs_kt=gs_kt), most_fpm(gs_kt=gs_kt)
    theirs = (needed if needed_fpm is None else needed_fpm) <= (most if allowed_fpm is None else allowed_fpm)
    return "YES" if theirs and needed <= most else "NO"


def why_not_so(*, answer: str, late_nm: float, gs_kt: float) -> str:
    """Name the sentence that belongs to a wrong decision."""
    if answer == "NO":
        return "GIVEUP"
    return "DIVE/wall" if late_rate(late_nm=late_nm, gs_kt=gs_kt) > _LIMIT_FPM else "DIVE/half"


def clear_of_the_limit(*, late_nm: float, gs_kt: float) -> bool:
    """Keep rates near a limit from being drawn: whether to go down must not hang on a rounding."""
    needed, most, other = (
        late_rate(late_nm=late_nm, gs_kt=gs_kt),
        most_fpm(gs_kt=gs_kt),
        the_wider_limit_fpm(gs_kt=gs_kt),
    )
    return min(abs(needed - most), abs(needed - other), abs(most - other)) > 35.0


def a_speed(random: Random) -> dict[str, Any]:
    """Draw what the sliders are set to: airspeed, and the same tailwind at both heights."""
    if random.random() < 0.5:
        tas, tail = random.choice([80, 84, 88, 94]), 0
    else:
        tas, tail = random.choice([136, 138, 140]), random.choice([20, 22, 24])
    return {"tas_kt": tas, "tail_kt": -tail, "gs_kt": tas + tail}


def _late_for(most: float, gs_kt: float) -> float:
    return _PLANNED_NM - float(descent.start_nm(lose_ft=_PLANNED_LOSE_FT, gradient_ft_nm=most * 60.0 / gs_kt))


def latest_start(*, gs_kt: float) -> float:
    """Miles that may be flown level before. [NM]"""
    return _late_for(most_fpm(gs_kt=gs_kt), gs_kt)


def latest_start_by_the_other(*, gs_kt: float) -> float:
    """The limit that is not the smaller one. [NM]"""
    return _late_for(the_wider_limit_fpm(gs_kt=gs_kt), gs_kt)


def latest_start_at_the_airspeed(*, tas_kt: float, gs_kt: float) -> float | None:
    """The airspeed in the limit of 1,000 fpm; None where another limit is smaller. [NM]"""
    if most_fpm(gs_kt=gs_kt) < _LIMIT_FPM:
        return None
    return _late_for(most_fpm(gs_kt=tas_kt), tas_kt)


def latest_start_to_the_ground(*, gs_kt: float) -> float:
    """Feet down to the threshold, miles to the VDP. [NM]"""
    return _PLANNED_NM - (1760.0 - _THRESHOLD_FT) * gs_kt / 60.0 / most_fpm(gs_kt=gs_kt)


def miles_left(*, gs_kt: float) -> float:
    """Miles that must be left. [NM]"""
    return _PLANNED_NM - latest_start(gs_kt=gs_kt)


def _latest_start_by(gradient_ft_nm: float) -> float:
    return _PLANNED_NM - _PLANNED_LOSE_FT / gradient_ft_nm


def latest_start_by_half_more() -> float:
    """One and a half times the planned gradient, the first limit alone. [NM]"""
    return _latest_start_by(half_more_ft_nm())


def latest_start_by_400() -> float:
    """The usual limit of a final. [NM]"""
    return _latest_start_by(_USUAL_FT_NM)


def latest_start_by_600() -> float:
    """600 feet a mile. [NM]"""
    return _latest_start_by(600.0)


def latest_start_by_double() -> float:
    """Twice the planned gradient. [NM]"""
    return _latest_start_by(2.0 * planned_slope())


def latest_start_for_the_threshold(*, gs_kt: float) -> float:
    """Threshold for the VDP. [NM]"""
    return _THRESHOLD_NM - miles_left(gs_kt=gs_kt)


def latest_start_for_pardo(*, gs_kt: float) -> float:
    """The step-down fix and its floor for the VDP and minimums. [NM]"""
    to_lose = float(plate().final_fix_ft) - step_down_floor()
    return float(plate().fix("PARDO").dist_nm) - to_lose / (most_fpm(gs_kt=gs_kt) * 60.0 / gs_kt)


def latest_start_as_planned() -> float:
    """No start later than planned. [NM]"""
    return 0.0


def latest_start_for_the_map(*, gs_kt: float) -> float:
    """Missed approach point for the VDP. [NM]"""
    return 4.7 - miles_left(gs_kt=gs_kt)


# ---------------------------------------------------------------- minimums


def a_cold_day(random: Random) -> dict[str, Any]:
    """Draw the minimums of a field, a note about the setting and a temperature."""
    height = random.choice([500, 600, 700])
    elevation = random.randrange(120, 320, 20)
    # No cold correction of the table is as large as the note: what was forgotten can be told.
    note = random.choice([30, 40, 80])
    mda = height + elevation - note
    temperature = random.choice([10, 20, 30])
    return {
        "temperature_c": -temperature,
        "reported": f"−{temperature}",
        "height_ft": height,
        "elevation_ft": elevation,
        "mda_ft": mda,
        "note_ft": note,
        "step_ft": mda + 240,
        "fix_ft": elevation + 1500,
        "missed_ft": elevation + 3000,
    }


def _cold_ft(height_ft: float, temperature_c: int) -> float:
    return float(cold_correction_ft(height_ft=height_ft, temperature_c=temperature_c))


def mda_with_note(*, mda_ft: int, elevation_ft: int, note_ft: int) -> float:
    """MDA raised by the note. [ft] Source: the plate's note."""
    return float(descent.mda_today_ft(mda_ft=mda_ft, elevation_ft=elevation_ft, remote_ft=note_ft))


def mda_with_saltmarshs_note(*, mda_ft: int) -> float:
    """Add what the note of Saltmarsh adds. [ft]"""
    return mda_ft + float(plate().minimums.remote_setting_add_ft or 0.0)


def mda_with_the_note_twice(*, mda_ft: int, note_ft: int) -> float:
    """Add the note twice. [ft]"""
    return mda_ft + 2.0 * note_ft


def mda_note_subtracted(*, mda_ft: int, note_ft: int) -> float:
    """Note subtracted. [ft]"""
    return float(mda_ft - note_ft)


def cold_at_the_mda(*, mda_ft: int, elevation_ft: int, note_ft: int, temperature_c: int) -> float:
    """Cold correction for the height of the MDA above the field, after the note. [ft] Source: AIM 7-3, table."""
    with_note = mda_with_note(mda_ft=mda_ft, elevation_ft=elevation_ft, note_ft=note_ft)
    return _cold_ft(with_note - elevation_ft, temperature_c)


_COLUMNS_FT = (500, 600, 700, 1500)


def _cold_in_column(height_ft: int, temperature_c: int, on: int) -> float | None:
    place = _COLUMNS_FT.index(height_ft) + on
    return _cold_ft(_COLUMNS_FT[place], temperature_c) if 0 <= place < len(_COLUMNS_FT) - 1 else None


def cold_a_column_up(*, height_ft: int, temperature_c: int) -> float | None:
    """The column after the right one. [ft]"""
    return _cold_in_column(height_ft, temperature_c, 1)


def cold_a_column_down(*, height_ft: int, temperature_c: int) -> float | None:
    """The column before the right one. [ft]"""
    return _cold_in_column(height_ft, temperature_c, -1)


def _next_column(height_ft: float) -> float:
    """Give the column of the table for a height: the next one that is not lower. [ft]"""
    return float(next(column for column in (*_COLUMNS_FT, 3000, 4000) if column >= height_ft))


def cold_of_the_altitude(*, mda_ft: int, elevation_ft: int, note_ft: int, temperature_c: int) -> float:
    """Enter the table with the altitude. [ft]"""
    with_note = mda_with_note(mda_ft=mda_ft, elevation_ft=elevation_ft, note_ft=note_ft)
    return _cold_ft(_next_column(with_note), temperature_c)


def cold_at_the_final_fix(*, temperature_c: int) -> float:
    """Column of the final fix, 1,500 ft. [ft]"""
    return _cold_ft(1500.0, temperature_c)


def mda_of_the_day(*, mda_ft: int, elevation_ft: int, note_ft: int, temperature_c: int) -> float:
    """MDA with note and cold. [ft] Source: AIM 7-3, and the plate's note."""
    return float(
        descent.mda_today_ft(mda_ft=mda_ft, elevation_ft=elevation_ft, temperature_c=temperature_c, remote_ft=note_ft)
    )


def cold_alone_right(*, cold_ft: float) -> float:
    """The correction alone. [ft]"""
    return abs(cold_ft)


def noted_and_cold(*, mda_ft: int, noted_ft: float, cold_ft: float) -> float:
    """MDA of the day from the two lines above; what was subtracted there is not carried on. [ft] Source: AIM 7-3."""
    return max(noted_ft, float(mda_ft)) + abs(cold_ft)


def step_and_cold(*, step_ft: int, cold_ft: float) -> float:
    """Step-down floor with the cold of the MDA, from the line above, whatever its sign. [ft] Source: AIM 7-3."""
    return step_ft + abs(cold_ft)


def _step_ft(step_ft: int, elevation_ft: int, temperature_c: int, reference_ft: float) -> float:
    return float(
        descent.cold_altitude_ft(
            alt_ft=step_ft, temperature_c=temperature_c, elevation_ft=elevation_ft, reference_ft=reference_ft
        )
    )


def step_of_the_day(*, step_ft: int, mda_ft: int, elevation_ft: int, note_ft: int, temperature_c: int) -> float:
    """Step-down floor with the cold correction of the MDA. [ft] Source: AIM 7-3."""
    with_note = mda_with_note(mda_ft=mda_ft, elevation_ft=elevation_ft, note_ft=note_ft)
    return _step_ft(step_ft, elevation_ft, temperature_c, with_note)


def step_with_note(*, step_ft: int, mda_ft: int, elevation_ft: int, note_ft: int, temperature_c: int) -> float:
    """Note added too. [ft]"""
    today = step_of_the_day(
        step_ft=step_ft, mda_ft=mda_ft, elevation_ft=elevation_ft, note_ft=note_ft, temperature_c=temperature_c
    )
    return today + note_ft


def step_with_own_cold(
    *, step_ft: int, mda_ft: int, elevation_ft: int, note_ft: int, temperature_c: int
) -> float | None:
    """The floor's own correction, where it is told from the MDA's and from the note. [ft]"""
    right = step_of_the_day(
        step_ft=step_ft, mda_ft=mda_ft, elevation_ft=elevation_ft, note_ft=note_ft, temperature_c=temperature_c
    )
    own = _step_ft(step_ft, elevation_ft, temperature_c, step_ft)
    return own if min(abs(own - right), abs(own - right - note_ft)) > 10.0 else None


def mda_after_a_note_subtracted(*, mda_ft: int, elevation_ft: int, note_ft: int, temperature_c: int) -> float:
    """Cold added to an MDA from which the note was taken off. [ft]"""
    today = mda_of_the_day(mda_ft=mda_ft, elevation_ft=elevation_ft, note_ft=note_ft, temperature_c=temperature_c)
    return today - 2 * note_ft


def mda_with_the_final_fixs_cold(*, mda_ft: int, note_ft: int, temperature_c: int) -> float:
    """Cold correction of the final fix. [ft]"""
    return mda_ft + note_ft + cold_at_the_final_fix(temperature_c=temperature_c)


def note_and_cold_alone(*, note_ft: int, cold_ft: float) -> float:
    """Note and cold, without what they are added to. [ft]"""
    return note_ft + cold_ft


def noted_and_cold_right(*, mda_ft: int, elevation_ft: int, note_ft: int, temperature_c: int) -> float:
    """MDA of the day, in place of the correction in it. [ft]"""
    return mda_of_the_day(mda_ft=mda_ft, elevation_ft=elevation_ft, note_ft=note_ft, temperature_c=temperature_c)


def step_cold_subtracted(*, step_ft: int, mda_ft: int, elevation_ft: int, note_ft: int, temperature_c: int) -> float:
    """Cold correction subtracted. [ft]"""
    today = step_of_the_day(
        step_ft=step_ft, mda_ft=mda_ft, elevation_ft=elevation_ft, note_ft=note_ft, temperature_c=temperature_c
    )
    return 2 * step_ft - today


def step_with_the_final_fixs_cold(*, step_ft: int, temperature_c: int) -> float:
    """Column of the final fix. [ft]"""
    return step_ft + cold_at_the_final_fix(temperature_c=temperature_c)


def fix_cold_subtracted(*, fix_ft: int, elevation_ft: int, temperature_c: int) -> float:
    """Cold correction subtracted. [ft]"""
    return 2 * fix_ft - fix_of_the_day(fix_ft=fix_ft, elevation_ft=elevation_ft, temperature_c=temperature_c)


def fix_by_its_altitude(*, fix_ft: int, temperature_c: int) -> float:
    """Column of the altitude: the next one. [ft]"""
    return fix_ft + _cold_ft(_next_column(fix_ft), temperature_c)


def fix_between_by_its_altitude(*, fix_ft: int, temperature_c: int) -> float:
    """Between the columns, by the altitude. [ft]"""
    return fix_ft + _cold_ft(fix_ft, temperature_c)


def fix_a_column_back(*, fix_ft: int, temperature_c: int) -> float:
    """Column to the left of 1,500 ft. [ft]"""
    return fix_ft + _cold_ft(700.0, temperature_c)


def missed_by_its_altitude(*, missed_ft: int, temperature_c: int) -> float:
    """Column of the altitude: the next one. [ft]"""
    return fix_by_its_altitude(fix_ft=missed_ft, temperature_c=temperature_c)


def missed_between_by_its_altitude(*, missed_ft: int, temperature_c: int) -> float:
    """Between the columns, by the altitude. [ft]"""
    return fix_between_by_its_altitude(fix_ft=missed_ft, temperature_c=temperature_c)


def _rows_off(temperature_c: int, by_c: int) -> int | None:
    """Row beside the right one; None where the table has none. [°C]"""
    row = temperature_c + by_c
    return row if row in (-10, -20, -30) else None


def fix_a_row_warmer(*, fix_ft: int, elevation_ft: int, temperature_c: int) -> float | None:
    """Row of a warmer day. [ft]"""
    row = _rows_off(temperature_c, 10)
    return None if row is None else fix_of_the_day(fix_ft=fix_ft, elevation_ft=elevation_ft, temperature_c=row)


def fix_a_row_colder(*, fix_ft: int, elevation_ft: int, temperature_c: int) -> float | None:
    """Row of a colder day. [ft]"""
    row = _rows_off(temperature_c, -10)
    return None if row is None else fix_of_the_day(fix_ft=fix_ft, elevation_ft=elevation_ft, temperature_c=row)


def missed_a_row_warmer(*, missed_ft: int, elevation_ft: int, temperature_c: int) -> float | None:
    """Row of a warmer day. [ft]"""
    return fix_a_row_warmer(fix_ft=missed_ft, elevation_ft=elevation_ft, temperature_c=temperature_c)


def missed_a_row_colder(*, missed_ft: int, elevation_ft: int, temperature_c: int) -> float | None:
    """Row of a colder day. [ft]"""
    return fix_a_row_colder(fix_ft=missed_ft, elevation_ft=elevation_ft, temperature_c=temperature_c)


def step_note_alone(*, step_ft: int, note_ft: int) -> float:
    """Note in place of the cold. [ft]"""
    return float(step_ft + note_ft)


def fix_with_note(*, fix_ft: int, elevation_ft: int, note_ft: int, temperature_c: int) -> float:
    """Note added too. [ft]"""
    return note_ft + fix_of_the_day(fix_ft=fix_ft, elevation_ft=elevation_ft, temperature_c=temperature_c)


def fix_of_the_day(*, fix_ft: int, elevation_ft: int, temperature_c: int) -> float:
    """Final fix with its own cold correction. [ft] Source: AIM 7-3."""
    return float(descent.cold_altitude_ft(alt_ft=fix_ft, temperature_c=temperature_c, elevation_ft=elevation_ft))


def fix_with_the_mdas_cold(*, fix_ft: int, mda_ft: int, elevation_ft: int, note_ft: int, temperature_c: int) -> float:
    """Cold correction of the MDA. [ft]"""
    return fix_ft + cold_at_the_mda(
        mda_ft=mda_ft, elevation_ft=elevation_ft, note_ft=note_ft, temperature_c=temperature_c
    )


def missed_of_the_day(*, missed_ft: int, elevation_ft: int, temperature_c: int) -> float:
    """Missed approach altitude with its own cold correction. [ft] Source: AIM 7-3."""
    return fix_of_the_day(fix_ft=missed_ft, elevation_ft=elevation_ft, temperature_c=temperature_c)


def fix_correction(*, fix_ft: int, elevation_ft: int, temperature_c: int) -> float:
    """Correction of the final fix alone. [ft]"""
    return fix_of_the_day(fix_ft=fix_ft, elevation_ft=elevation_ft, temperature_c=temperature_c) - fix_ft


def missed_correction(*, missed_ft: int, elevation_ft: int, temperature_c: int) -> float:
    """Correction of the missed approach altitude alone. [ft]"""
    return missed_of_the_day(missed_ft=missed_ft, elevation_ft=elevation_ft, temperature_c=temperature_c) - missed_ft


def missed_with_the_final_fixs_cold(*, missed_ft: int, temperature_c: int) -> float:
    """Cold correction of the final fix. [ft]"""
    return missed_ft + cold_at_the_final_fix(temperature_c=temperature_c)


def missed_with_the_mdas_cold(
    *, missed_ft: int, mda_ft: int, elevation_ft: int, note_ft: int, temperature_c: int
) -> float:
    """Cold correction of the MDA. [ft]"""
    return fix_with_the_mdas_cold(
        fix_ft=missed_ft, mda_ft=mda_ft, elevation_ft=elevation_ft, note_ft=note_ft, temperature_c=temperature_c
    )


def missed_with_note(*, missed_ft: int, elevation_ft: int, note_ft: int, temperature_c: int) -> float:
    """Note added too. [ft]"""
    return note_ft + missed_of_the_day(missed_ft=missed_ft, elevation_ft=elevation_ft, temperature_c=temperature_c)


def missed_cold_subtracted(*, missed_ft: int, elevation_ft: int, temperature_c: int) -> float:
    """Cold correction subtracted. [ft]"""
    today = missed_of_the_day(missed_ft=missed_ft, elevation_ft=elevation_ft, temperature_c=temperature_c)
    return 2 * missed_ft - today


# ---------------------------------------------------------------- the visual descent point


def a_runway(random: Random) -> dict[str, Any]:
    """Draw a runway with its MDA, and a station before it or on the field."""
    threshold = random.randrange(130, 320, 10)
    out = random.random() < 0.6
    return {
        "threshold_ft": threshold,
        "mda_ft": threshold + random.randrange(560, 720, 10),
        "crossing_ft": 50,
        "threshold_nm": random.choice([4.8, 5.2, 5.6]) if out else random.choice([0.6, 0.8]),
        "sign": -1 if out else 1,
        "way": "before the runway, so the DME rises" if out else "on the field, so the DME falls",
    }


def vdp_dme(
    *,
    mda_ft: int,
    threshold_ft: float,
    crossing_ft: float,
    threshold_nm: float,
    sign: int,
    gradient_ft_nm: float = _OPTIMUM_FT_NM,
) -> float:
    """DME of the visual descent point. [NM] Source: definition."""
    return threshold_nm + sign * (mda_ft - threshold_ft - crossing_ft) / gradient_ft_nm


def vdp_by_height_over_300(*, mda_ft: int, threshold_ft: int, threshold_nm: float, sign: int) -> float:
    """Height over 300, without the crossing height. [NM] Source: common practice."""
    return threshold_nm + sign * float(descent.vdp_rule_nm(mda_ft - threshold_ft))


def vdp_from_saltmarshs_map(*, mda_ft: int, threshold_ft: float, crossing_ft: float, sign: int) -> float | None:
    """Counted from another field's missed approach point, where the station lies before the runway as there. [NM]"""
    end = {"threshold_ft": threshold_ft, "crossing_ft": crossing_ft, "threshold_nm": 4.7}
    return vdp_dme(mda_ft=mda_ft, sign=sign, **end) if sign < 0 else None


def vdp_with_the_crossing_height_added(
    *, mda_ft: int, threshold_ft: int, crossing_ft: int, threshold_nm: float, sign: int
) -> float:
    """Crossing height added. [NM]"""
    return vdp_dme(
        mda_ft=mda_ft, threshold_ft=threshold_ft, crossing_ft=-crossing_ft, threshold_nm=threshold_nm, sign=sign
    )


def last_normal_dme(*, mda_ft: int, threshold_ft: float, crossing_ft: float, threshold_nm: float, sign: int) -> float:
    """DME from which the way down from the MDA is as steep as a normal descent may be. [NM] Source: definition."""
    return vdp_dme(
        mda_ft=mda_ft,
        threshold_ft=threshold_ft,
        crossing_ft=crossing_ft,
        threshold_nm=threshold_nm,
        sign=sign,
        gradient_ft_nm=_STEEPEST_FT_NM,
    )


def last_by_300(*, mda_ft: int, threshold_ft: int, crossing_ft: int, threshold_nm: float, sign: int) -> float:
    """300 feet a mile. [NM]"""
    return threshold_nm + sign * (mda_ft - threshold_ft - crossing_ft) / 300.0


def last_by_half_more(*, mda_ft: int, threshold_ft: int, crossing_ft: int, threshold_nm: float, sign: int) -> float:
    """One and a half times three degrees. [NM]"""
    return threshold_nm + sign * (mda_ft - threshold_ft - crossing_ft) / (_TIMES * _OPTIMUM_FT_NM)


def last_by_400(*, mda_ft: int, threshold_ft: int, crossing_ft: int, threshold_nm: float, sign: int) -> float:
    """400 feet a mile. [NM]"""
    return threshold_nm + sign * (mda_ft - threshold_ft - crossing_ft) / 400.0


def vdp_without_crossing(*, mda_ft: int, threshold_ft: int, threshold_nm: float, sign: int) -> float:
    """VDP, and the crossing height left out. [NM]"""
    return threshold_nm + sign * (mda_ft - threshold_ft) / _OPTIMUM_FT_NM


def last_by_1000(*, mda_ft: int, threshold_ft: int, crossing_ft: int, threshold_nm: float, sign: int) -> float:
    """A thousand feet a mile. [NM]"""
    return threshold_nm + sign * (mda_ft - threshold_ft - crossing_ft) / 1000.0


def last_by_600(*, mda_ft: int, threshold_ft: int, crossing_ft: int, threshold_nm: float, sign: int) -> float:
    """600 feet a mile. [NM]"""
    return threshold_nm + sign * (mda_ft - threshold_ft - crossing_ft) / 600.0


def vdp_miles(*, mda_ft: int, threshold_ft: int, crossing_ft: int) -> float:
    """Miles of three degrees, for the reading. [NM]"""
    return (mda_ft - threshold_ft - crossing_ft) / _OPTIMUM_FT_NM


def last_miles(*, mda_ft: int, threshold_ft: int, crossing_ft: int) -> float:
    """Miles for the reading. [NM]"""
    return (mda_ft - threshold_ft - crossing_ft) / _STEEPEST_FT_NM


def last_past_the_threshold(
    *, mda_ft: int, threshold_ft: int, crossing_ft: int, threshold_nm: float, sign: int
) -> float:
    """Miles counted the wrong way. [NM]"""
    return last_normal_dme(
        mda_ft=mda_ft, threshold_ft=threshold_ft, crossing_ft=crossing_ft, threshold_nm=threshold_nm, sign=-sign
    )


# ---------------------------------------------------------------- the final, flown


def step_down_floor() -> float:
    """Floor from Overfall to PARDO. [ft] Source: the plate."""
    return float(plate().final_legs[0].end_ft or 0.0)


def mda_own_setting() -> float:
    """MDA with the setting of the field. [ft] Source: the plate."""
    return float(plate().mda_ft())


def mda_foreign_setting() -> float:
    """MDA with the setting of another field. [ft] Source: the plate and its note."""
    return float(plate().mda_ft(remote=True))


def _floors(mda_ft: float) -> tuple[tuple[float, float, float], ...]:
    step_nm = float(plate().fix("PARDO").dist_nm)
    return ((-99.0, 0.0, plate().final_fix_ft), (0.0, step_nm, step_down_floor()), (step_nm, 99.0, mda_ft))


def floors_own_setting() -> tuple[tuple[float, float, float], ...]:
    """Floors of the final: from and to past Overfall [NM], lowest altitude [ft]. Source: the plate."""
    return _floors(mda_own_setting())


def floors_foreign_setting() -> tuple[tuple[float, float, float], ...]:
    """Floors of the final with the setting of another field: from and to [NM], lowest altitude [ft]."""
    return _floors(mda_foreign_setting())


def descent_line(along_nm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Altitude of the plate's line at distances past Overfall. [ft] Source: the plate."""
    return np.asarray(plate().final_fix_ft - along_nm * plate().gradient_ft_nm)


def before_overfall(*, heading_deg: int) -> dict[str, Any]:
    """Say where the final begins: 2.5 NM before Overfall."""
    return {
        "radial_deg": 34,
        "dme_nm": 2.5,
        "altitude_ft": 1760,
        "heading_deg": heading_deg,
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


def _published_rate_fpm(gs_kt: float) -> float:
    return float(descent.vs_fpm(gradient_ft_nm=plate().gradient_ft_nm, gs_kt=gs_kt))


def a_wind_along_the_final(random: Random) -> dict[str, Any]:
    """Draw a wind along the final, from ahead or behind."""
    sign = random.choice([-1, 1])
    return {
        "course_deg": 214,
        "tas_kt": _TAS_KT,
        "along_kt": random.choice([13, 14, 15, 16]),
        "along": "headwind" if sign > 0 else "tailwind",
        "sign": sign,
        "note_ft": float(plate().minimums.remote_setting_add_ft),
    }


def what_lowers_the_line(*, along: str) -> str:
    """Say which change of the wind slows the ground down, so that the same rate leads lower."""
    return "less tailwind" if along == "tailwind" else "more headwind"


def planned_rows(*, filled: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Give the rows of the plan."""
    # Who sets a level above the aircraft does not go down.
    first_ft = min(float(filled["level at, until 3.0 DME"]), float(plate().final_fix_ft))
    return _final_rows(
        filled["descend when the flag shows"],
        min(max(abs(filled["rate of descent"]), 50.0), 3000.0),
        first_ft,
        min(float(filled["level at, from 3.0 DME"]), first_ft),
        filled["go around at DME"],
    )


def planned_days(*, sign: int, along_kt: int, hidden: bool) -> list[Day]:
    """Give the wind as briefed; at the desk two in which the ground passes 4 kt faster and 5 kt slower."""
    from_true = true_deg(214 if sign > 0 else 34)
    return [day("plan", from_true, along_kt - sign * faster, 12.0) for faster in ((4, -5) if hidden else (0,))]


def plan_that_passes(*, tas_kt: int, sign: int, along_kt: int) -> dict[str, Any]:
    """Give blanks that pass."""
    gs = final_ground_speed(tas_kt=tas_kt, sign=sign, along_kt=along_kt)
    return {
        "descend when the flag shows": "FROM",
        "rate of descent": float(round(_published_rate_fpm(gs))),
        "level at, until 3.0 DME": step_down_floor(),
        "level at, from 3.0 DME": mda_foreign_setting(),
        "go around at DME": float(plate().fix("MAP").dist_nm),
    }


def blank_to() -> dict[str, Any]:
    """TO for FROM."""
    return {"descend when the flag shows": "TO"}


def blank_next_floor() -> dict[str, Any]:
    """Minimums before the step-down fix."""
    return {"level at, until 3.0 DME": mda_foreign_setting()}


def blank_note_everywhere(*, note_ft: float) -> dict[str, Any]:
    """Note on the step-down floor too."""
    return {"level at, until 3.0 DME": step_down_floor() + note_ft}


def blank_without_note(*, note_ft: float) -> dict[str, Any]:
    """MDA without the note."""
    return {"level at, from 3.0 DME": mda_foreign_setting() - note_ft}


def blank_note_twice(*, note_ft: float) -> dict[str, Any]:
    """Note added twice to the MDA."""
    return {"level at, from 3.0 DME": mda_foreign_setting() + note_ft}


def blank_step_down_kept() -> dict[str, Any]:
    """Step-down floor kept to the end."""
    return {"level at, from 3.0 DME": step_down_floor()}


def blank_limit(*, tas_kt: int, sign: int, along_kt: int) -> dict[str, Any]:
    """Rate of the steepest normal descent."""
    gs_kt = final_ground_speed(tas_kt=tas_kt, sign=sign, along_kt=along_kt)
    return {"rate of descent": float(round(_rate_fpm(_STEEPEST_FT_NM, gs_kt)))}


def blank_step_down_fix() -> dict[str, Any]:
    """Step-down fix for the missed approach point."""
    return {"go around at DME": 3.0}


def blank_note_subtracted(*, note_ft: float) -> dict[str, Any]:
    """Note subtracted from the MDA."""
    return {"level at, from 3.0 DME": mda_foreign_setting() - 2 * note_ft}


def blank_last_floor() -> dict[str, Any]:
    """Floor of the leg before, on the first leg."""
    return {"level at, until 3.0 DME": float(plate().final_fix_ft)}


def blank_floors_exchanged() -> dict[str, Any]:
    """Each level on the other's leg."""
    return {"level at, until 3.0 DME": mda_foreign_setting(), "level at, from 3.0 DME": step_down_floor()}


def rate_without_a_sign(*, filled: Mapping[str, Any]) -> dict[str, Any]:
    """A rate of descent is one with a minus and without."""
    return {"rate of descent": abs(float(filled["rate of descent"]))}


def blank_airspeed(*, tas_kt: int) -> dict[str, Any]:
    """Rate for the airspeed."""
    return {"rate of descent": float(round(plate().gradient_ft_nm * tas_kt / 60.0))}


def blank_head_for_tail(*, tas_kt: int, sign: int, along_kt: int) -> dict[str, Any]:
    """Rate with head and tail of the wind swapped."""
    gs = final_ground_speed(tas_kt=tas_kt, sign=-sign, along_kt=along_kt)
    return {"rate of descent": float(round(_published_rate_fpm(gs)))}


def blank_upside_down(*, tas_kt: int, sign: int, along_kt: int) -> dict[str, Any]:
    """Ground speed under the line."""
    gs = final_ground_speed(tas_kt=tas_kt, sign=sign, along_kt=along_kt)
    return {"rate of descent": float(round(plate().gradient_ft_nm * 60.0 / gs))}


def blank_published_everywhere() -> dict[str, Any]:
    """Published MDA on both legs."""
    return {"level at, until 3.0 DME": mda_own_setting(), "level at, from 3.0 DME": mda_own_setting()}


def blank_vdp() -> dict[str, Any]:
    """VDP for the missed approach point."""
    return {"go around at DME": float(plate().fix("VDP").dist_nm)}


def blank_threshold() -> dict[str, Any]:
    """Threshold for the missed approach point."""
    return {"go around at DME": _THRESHOLD_NM}


def blank_quick_rule(*, tas_kt: int, sign: int, along_kt: int) -> dict[str, Any]:
    """Five times the ground speed."""
    return {"rate of descent": 5.0 * final_ground_speed(tas_kt=tas_kt, sign=sign, along_kt=along_kt)}


def blank_last_normal() -> dict[str, Any]:
    """Last distance for a normal descent for the missed approach point."""
    return {"go around at DME": 4.2}


def blank_feet_per_mile() -> dict[str, Any]:
    """Feet per mile for feet per minute."""
    return {"rate of descent": float(round(plate().gradient_ft_nm))}


def a_wind_to_fly_in(random: Random) -> dict[str, Any]:
    """Draw a wind across and along the final, and the heading that holds it."""
    course, off = 214, random.choice([-1, 1]) * random.choice([25, 35, 45])
    back = 0 if random.random() < 0.7 else 180
    from_true, wind_kt = whole(true_deg(course + off + back), 10), random.choice([12, 14, 16])
    held = wind.heading_deg(course_deg=course, tas_kt=_TAS_KT, wind_from_deg=magnetic_deg(from_true), wind_kt=wind_kt)
    return {
        "course_deg": course,
        "tas_kt": _TAS_KT,
        "wind_true_deg": from_true,
        "wind_kt": wind_kt,
        "variation_deg": 13,
        "heading_deg": round(float(held)),
    }


def day_by_hand(*, wind_true_deg: int, wind_kt: int) -> Day:
    """Give the day flown in by hand."""
    return day("hand", wind_true_deg, wind_kt, 12.0)


def rows_by_hand(*, course_deg: int, tas_kt: int, wind_true_deg: int, wind_kt: int) -> list[dict[str, Any]]:
    """Give the rows of the plan that flies it well."""
    gs = ground_speed(course_deg=course_deg, tas_kt=tas_kt, wind_true_deg=wind_true_deg, wind_kt=wind_kt)
    return _final_rows(
        "FROM", _published_rate_fpm(gs), step_down_floor(), mda_own_setting(), float(plate().fix("MAP").dist_nm)
    )


def final_and_missed() -> tuple[float, float]:
    """Give what the selectors show at first: the final course, and the radial of the missed approach."""
    return (214.0, 165.0)


# ---------------------------------------------------------------- the task, Wygate

_STATION_NM, _WYGATE_NM, _WYGATE_FT = 6.0, 0.6, 215.0  # JETIR; the threshold of Wygate


def a_brief(random: Random) -> dict[str, Any]:
    """Draw the task."""
    along = random.choice([-16, -14, -12, 12, 14, 16, 18])
    return {
        "tas_kt": random.choice([84, 88, 92, 96]),
        "along_kt": abs(along),
        "along": "headwind" if along > 0 else "tailwind",
        "sign": 1 if along > 0 else -1,
        "cross_ft": random.choice([2150, 2190, 2230, 2270]),
        "note_ft": random.choice([50, 60, 80]),
    }


def task_slope(*, cross_ft: int, elevation_ft: float = _WYGATE_FT, crossing_ft: float = _CROSSING_FT) -> float:
    """Gradient from JETIR to the crossing height. [ft/NM] Source: definition."""
    return (cross_ft - elevation_ft - crossing_ft) / (_STATION_NM - _WYGATE_NM)


def task_slope_to_the_station(*, cross_ft: int) -> float:
    """Miles to the station for miles to the threshold. [ft/NM]"""
    return (cross_ft - _WYGATE_FT - _CROSSING_FT) / _STATION_NM


def task_rate(
    *,
    cross_ft: int,
    tas_kt: int,
    sign: int,
    along_kt: int,
    gradient_ft_nm: float | None = None,
    gs_kt: float | None = None,
) -> float:
    """Rate of descent on the line, with its own gradient and ground speed if no other is given. [fpm]"""
    return _rate_fpm(
        task_slope(cross_ft=cross_ft) if gradient_ft_nm is None else gradient_ft_nm,
        final_ground_speed(tas_kt=tas_kt, sign=sign, along_kt=along_kt) if gs_kt is None else gs_kt,
    )


def task_rate_head_for_tail(*, cross_ft: int, tas_kt: int, sign: int, along_kt: int) -> float:
    """Rate of descent with head and tail of the wind swapped. [fpm]"""
    return task_rate(cross_ft=cross_ft, tas_kt=tas_kt, sign=-sign, along_kt=along_kt)


def task_altitude(
    *,
    cross_ft: int,
    dme_nm: float,
    elevation_ft: float = _WYGATE_FT,
    crossing_ft: float = _CROSSING_FT,
    gradient_ft_nm: float | None = None,
) -> float:
    """Altitude of the line at a DME, inbound. [ft] Source: definition."""
    if gradient_ft_nm is None:
        gradient_ft_nm = task_slope(cross_ft=cross_ft, elevation_ft=elevation_ft, crossing_ft=crossing_ft)
    return cross_ft - (_STATION_NM - dme_nm) * gradient_ft_nm


def task_altitude_on_the_way_to_the_station(*, cross_ft: int, dme_nm: float) -> float:
    """Gradient to the station. [ft]"""
    return cross_ft - (_STATION_NM - dme_nm) * task_slope_to_the_station(cross_ft=cross_ft)


def task_rate_on_the_way_to_the_station(*, cross_ft: int, tas_kt: int, sign: int, along_kt: int) -> float:
    """Rate for the gradient to the station. [fpm]"""
    gs = final_ground_speed(tas_kt=tas_kt, sign=sign, along_kt=along_kt)
    return _rate_fpm(task_slope_to_the_station(cross_ft=cross_ft), gs)


def task_feet_to_lose(*, cross_ft: int) -> float:
    """Feet not divided by miles. [ft]"""
    return cross_ft - _WYGATE_FT - _CROSSING_FT


def task_slope_miles_added(*, cross_ft: int) -> float:
    """Readings added where they are subtracted. [ft/NM]"""
    return task_feet_to_lose(cross_ft=cross_ft) / (_STATION_NM + _WYGATE_NM)


def task_rate_upside_down(*, cross_ft: int, tas_kt: int, sign: int, along_kt: int) -> float:
    """Ground speed under the line. [fpm]"""
    return task_slope(cross_ft=cross_ft) * 60.0 / final_ground_speed(tas_kt=tas_kt, sign=sign, along_kt=along_kt)


def task_feet_lost(*, cross_ft: int, dme_nm: float) -> float:
    """What the line has lost since JETIR. [ft]"""
    return (_STATION_NM - dme_nm) * task_slope(cross_ft=cross_ft)


def task_vdp_past_the_threshold(*, cross_ft: int, note_ft: int) -> float:
    """Miles counted to the far side of the threshold. [NM]"""
    return 2.0 * _WYGATE_NM - task_vdp(cross_ft=cross_ft, note_ft=note_ft)


def task_vdp_taken_off(*, cross_ft: int, note_ft: int) -> float | None:
    """Miles taken off the DME of the threshold, and the minus dropped; None where there is none. [NM]"""
    past = task_vdp_past_the_threshold(cross_ft=cross_ft, note_ft=note_ft)
    return -past if past < 0.0 else None


def task_altitude_with_miles_flown(*, cross_ft: int, dme_nm: float) -> float | None:
    """The reading taken for miles past JETIR; None halfway, where both are the same. [ft]"""
    return None if dme_nm == _STATION_NM / 2.0 else cross_ft - dme_nm * task_slope(cross_ft=cross_ft)


def task_mda(*, note_ft: int) -> float:
    """MDA raised by the note. [ft] Source: the plate."""
    return float(descent.mda_today_ft(mda_ft=plate("wygate").mda_ft(), elevation_ft=220.0, remote_ft=note_ft))


def task_mda_note_subtracted(*, note_ft: int) -> float:
    """Note subtracted. [ft]"""
    return 640.0 - note_ft


def task_vdp(
    *,
    cross_ft: int,
    note_ft: int,
    elevation_ft: float = _WYGATE_FT,
    crossing_ft: float = _CROSSING_FT,
    gradient_ft_nm: float | None = None,
    today_ft: float | None = None,
) -> float:
    """DME at which the line passes the MDA of the day. [NM] Source: definition."""
    if gradient_ft_nm is None:
        gradient_ft_nm = task_slope(cross_ft=cross_ft, elevation_ft=elevation_ft, crossing_ft=crossing_ft)
    mda_ft = task_mda(note_ft=note_ft) if today_ft is None else today_ft
    return _WYGATE_NM + (mda_ft - elevation_ft - crossing_ft) / gradient_ft_nm


def task_vdp_at_three_degrees(*, cross_ft: int, note_ft: int) -> float:
    """318 feet a mile for the gradient of this line. [NM]"""
    return task_vdp(cross_ft=cross_ft, note_ft=note_ft, gradient_ft_nm=_OPTIMUM_FT_NM)


def task_vdp_from_the_threshold(*, cross_ft: int, note_ft: int) -> float:
    """Miles for the reading. [NM]"""
    return task_vdp(cross_ft=cross_ft, note_ft=note_ft) - _WYGATE_NM


def task_mda_note_twice(*, note_ft: int) -> float:
    """Note added twice. [ft]"""
    return 640.0 + 2.0 * note_ft


def task_vdp_miles_at_three_degrees(*, cross_ft: int, note_ft: int) -> float:
    """318 feet a mile, and miles for the reading. [NM]"""
    return task_vdp_at_three_degrees(cross_ft=cross_ft, note_ft=note_ft) - _WYGATE_NM


def task_miles_late(*, cross_ft: int, note_ft: int, tas_kt: int, sign: int, along_kt: int) -> float:
    """Miles past JETIR for the reading. [NM]"""
    return _STATION_NM - task_latest_start(
        cross_ft=cross_ft, note_ft=note_ft, tas_kt=tas_kt, sign=sign, along_kt=along_kt
    )


def task_vdp_published(*, cross_ft: int) -> float:
    """MDA without its note. [NM]"""
    return task_vdp(cross_ft=cross_ft, note_ft=0)


def _task_miles_nm(cross_ft: int, note_ft: int, most: float, gs_kt: float) -> float:
    return (cross_ft - task_mda(note_ft=note_ft)) / (most * 60.0 / gs_kt)


def _task_limits_fpm(cross_ft: int, gs_kt: float) -> tuple[float, float]:
    """Limits of a late start by gradient and by rate, the smaller first. [fpm]"""
    limits = _steepest_ft_nm(task_slope(cross_ft=cross_ft)) * gs_kt / 60.0, _LIMIT_FPM
    return min(limits), max(limits)


def miles_before_the_vdp(*, cross_ft: int, note_ft: int, tas_kt: int, sign: int, along_kt: int) -> float:
    """Miles that the smaller limit needs down to the MDA. [NM]"""
    gs = final_ground_speed(tas_kt=tas_kt, sign=sign, along_kt=along_kt)
    return _task_miles_nm(cross_ft, note_ft, _task_limits_fpm(cross_ft, gs)[0], gs)


def task_latest_start(
    *,
    cross_ft: int,
    note_ft: int,
    tas_kt: int,
    sign: int,
    along_kt: int,
    gs_kt: float | None = None,
    today_ft: float | None = None,
    vdp_nm: float | None = None,
) -> float:
    """DME of the latest start. [NM] Source: common practice; Instrument Procedures Handbook, ch. 4."""
    gs = final_ground_speed(tas_kt=tas_kt, sign=sign, along_kt=along_kt) if gs_kt is None else gs_kt
    mda_ft = task_mda(note_ft=note_ft) if today_ft is None else today_ft
    begins_nm = task_vdp(cross_ft=cross_ft, note_ft=note_ft) if vdp_nm is None else vdp_nm
    return begins_nm + (cross_ft - mda_ft) / (_task_limits_fpm(cross_ft, gs)[0] * 60.0 / gs)


def task_latest_start_by_the_other(*, cross_ft: int, note_ft: int, tas_kt: int, sign: int, along_kt: int) -> float:
    """DME of the latest start by the limit that is not the smaller one. [NM]"""
    gs = final_ground_speed(tas_kt=tas_kt, sign=sign, along_kt=along_kt)
    miles = _task_miles_nm(cross_ft, note_ft, _task_limits_fpm(cross_ft, gs)[1], gs)
    return task_vdp(cross_ft=cross_ft, note_ft=note_ft) + miles


def task_latest_start_by_half_more(*, cross_ft: int, note_ft: int) -> float:
    """DME of the latest start by one and a half times the planned gradient alone. [NM]"""
    steepest = _TIMES * task_slope(cross_ft=cross_ft)
    return task_vdp(cross_ft=cross_ft, note_ft=note_ft) + (cross_ft - task_mda(note_ft=note_ft)) / steepest


def task_latest_start_for_the_threshold(
    *, cross_ft: int, note_ft: int, tas_kt: int, sign: int, along_kt: int
) -> float:
    """Threshold for the VDP. [NM]"""
    miles = miles_before_the_vdp(cross_ft=cross_ft, note_ft=note_ft, tas_kt=tas_kt, sign=sign, along_kt=along_kt)
    return _WYGATE_NM + miles


def task_latest_start_from_jetir(*, cross_ft: int, note_ft: int, tas_kt: int, sign: int, along_kt: int) -> float:
    """Miles counted from JETIR. [NM]"""
    miles = miles_before_the_vdp(cross_ft=cross_ft, note_ft=note_ft, tas_kt=tas_kt, sign=sign, along_kt=along_kt)
    return _STATION_NM - miles


def _task_latest_start_by(cross_ft: int, note_ft: int, gradient_ft_nm: float) -> float:
    return task_vdp(cross_ft=cross_ft, note_ft=note_ft) + (cross_ft - task_mda(note_ft=note_ft)) / gradient_ft_nm


def task_latest_start_by_400(*, cross_ft: int, note_ft: int) -> float:
    """The usual limit of a final. [NM]"""
    return _task_latest_start_by(cross_ft, note_ft, _USUAL_FT_NM)


def task_latest_start_by_318(*, cross_ft: int, note_ft: int) -> float:
    """318 feet a mile. [NM]"""
    return _task_latest_start_by(cross_ft, note_ft, _OPTIMUM_FT_NM)


def task_latest_start_for_the_map(*, cross_ft: int, note_ft: int, tas_kt: int, sign: int, along_kt: int) -> float:
    """Missed approach point for the VDP. [NM]"""
    return 1.1 + miles_before_the_vdp(cross_ft=cross_ft, note_ft=note_ft, tas_kt=tas_kt, sign=sign, along_kt=along_kt)
