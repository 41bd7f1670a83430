"""Numbers of the lesson on the whole approach: draws, right answers, and what the named slips lead to."""

from __future__ import annotations

import math
from collections.abc import Mapping
from random import Random
from typing import TYPE_CHECKING, Any

from needlework.exercises.families import common_cause
from needlework.exercises.lesson_values import (
    LEG_AS_TAUGHT,
    heading_by_parts,
    mirrored_deg,
    plate,
    taught_part_across,
    true_deg,
    whole,
)
from needlework.trade import altimetry, angles, descent, wind
from needlework.world.procedure import STEEPEST_FT_NM

if TYPE_CHECKING:
    from needlework.world.procedure import Procedure
    from needlework.world.weather import Day

# ---------------------------------------------------------------- the plates of this lesson

_PLATES = {"Outer Keld": "keld", "Jarvu": "jarvu"}


def _way(field: str) -> Procedure:
    return plate(_PLATES[field])


def a_plate(random: Random) -> dict[str, Any]:
    """Draw one of the two plates."""
    return {"field": random.choice(list(_PLATES))}


def final_course(*, field: str) -> float:
    """Give the course of the final. [deg magnetic]"""
    return _way(field).final_course_deg


def final_radial(*, field: str) -> float:
    """Give the radial on which the final is flown: the other end of its course. [deg]"""
    return float(angles.reciprocal(direction_deg=final_course(field=field)))


def runway_heading(*, field: str) -> float | None:
    """Give the runway's heading; None where it is the final course. [deg magnetic]"""
    way = _way(field)
    return None if way.runway.heading_deg == way.final_course_deg else way.runway.heading_deg


def lead_radial(*, field: str) -> float:
    """Give the lead radial of the arc. [deg]"""
    return float(next(leg.lead_radial_deg for leg in _way(field).legs if leg.kind == "arc") or 0.0)


def final_fix_ft(*, field: str) -> float:
    """Give the floor at the final fix. [ft]"""
    return _way(field).final_fix_ft


def step_down_ft(*, field: str) -> float:
    """Give the floor at the step-down fix. [ft]"""
    return float(_way(field).final_legs[0].end_ft or 0.0)


def arc_ft(*, field: str) -> float:
    """Give the floor of the arc. [ft]"""
    return float(next(leg.minimum_ft for leg in _way(field).legs if leg.kind == "arc") or 0.0)


def mda_ft(*, field: str) -> float:
    """Give the MDA straight in. [ft]"""
    return _way(field).mda_ft("A")


def circling_ft(*, field: str) -> float:
    """Give the MDA for circling. [ft]"""
    return next(line.mda_ft for line in _way(field).minimums.circling if line.category == "A")


def map_dme(*, field: str) -> float:
    """Give the DME of the missed approach point. [NM]"""
    return _way(field).fix("MAP").dist_nm


def vdp_dme(*, field: str) -> float:
    """Give the DME of the visual descent point. [NM]"""
    return _way(field).fix("VDP").dist_nm


def threshold_dme(*, field: str) -> float:
    """Give the distance of the threshold from the station. [NM]"""
    return _way(field).runway.threshold_distance_nm


def missed_side(*, field: str) -> str:
    """Give the side of the missed approach's turn."""
    return _way(field).missed.turn.upper()


def other_side(*, field: str) -> str:
    """Give the other side."""
    return "LEFT" if missed_side(field=field) == "RIGHT" else "RIGHT"


def missed_radial(*, field: str) -> float:
    """Give the radial of the missed approach. [deg]"""
    return float(_way(field).missed.intercept_radial_deg or 0.0)


def missed_heading(*, field: str) -> float:
    """Give the heading of the missed approach. [deg magnetic]"""
    return float(_way(field).missed.heading_deg or 0.0)


def missed_radial_back(*, field: str) -> float:
    """Give the other end of that radial. [deg]"""
    return float(angles.reciprocal(direction_deg=missed_radial(field=field)))


def outbound_ends_dme(*, field: str) -> float:
    """Give the DME at which the outbound leg of the hold ends. [NM]"""
    end = _way(field).hold_turn_dme()
    assert end is not None
    return end[0]


def hold_fix_dme(*, field: str) -> float:
    """Give the DME of the hold's fix. [NM]"""
    return _way(field).fix(_way(field).hold.fix).dist_nm


def outbound_other_way(*, field: str) -> float:
    """Count the leg from the fix to the other side. [NM]"""
    return 2.0 * hold_fix_dme(field=field) - outbound_ends_dme(field=field)


def first_course(*, field: str) -> float:
    """Give the course of the way in. [deg magnetic]"""
    return float(_way(field).route(None)[0].course_deg or 0.0)


def hold_course(*, field: str) -> float:
    """Give the inbound course of the hold. [deg magnetic]"""
    return _way(field).hold.inbound_course_deg


def first_radial(*, field: str) -> float:
    """Give the radial on which the arc is joined. [deg]"""
    arc = next(leg for leg in _way(field).legs if leg.kind == "arc")
    return float(_way(field).fix(str(arc.start)).radial_deg or 360.0)


def lead_beyond(*, field: str) -> float:
    """Lay the lead off on the far side of the final. [deg]"""
    return float(angles.wrap360(2.0 * final_radial(field=field) - lead_radial(field=field)))


def lead_of_the_course(*, field: str) -> float:
    """Lay the lead off from the course. [deg]"""
    return float(angles.reciprocal(direction_deg=lead_radial(field=field)))


def entry_ft(*, field: str) -> float:
    """Give the altitude of the way in. [ft]"""
    return _way(field).entries[0].minimum_ft


def missed_ft(*, field: str) -> float:
    """Give the altitude at which the missed approach ends. [ft]"""
    return _way(field).missed.altitude_ft


def visibility_m(*, field: str) -> float:
    """Read the line below: the visibility. [m]"""
    return _way(field).visibility_m("A")


def mda_height(*, field: str) -> float:
    """Give the height of the MDA above the field. [ft]"""
    return mda_ft(field=field) - _way(field).airport.elevation_ft


def climb_to_ft(*, field: str) -> float:
    """Give the altitude of the missed approach at which the turn begins. [ft]"""
    return _way(field).missed.climb_to_ft


def step_dme(*, field: str) -> float:
    """Give the DME of the step-down fix. [NM]"""
    return _way(field).fix(_way(field).step_downs[0]).dist_nm


def final_fix_dme(*, field: str) -> float:
    """Give the DME of the final fix. [NM]"""
    return _way(field).fix(_way(field).final_fix).dist_nm


def turn_dme(*, field: str) -> float:
    """Give the DME at which the turn of the missed approach may begin. [NM]"""
    return _way(field).fix(_way(field).missed.turn_after).dist_nm


def hold_leg_nm(*, field: str) -> float:
    """Give the length of the hold's leg. [NM]"""
    return abs(outbound_ends_dme(field=field) - hold_fix_dme(field=field))


# ---------------------------------------------------------------- the altimeter setting


def a_wrong_setting(random: Random) -> dict[str, Any]:
    """Draw a setting that is too high, and an MDA flown with it."""
    return {"off_hpa": random.choice([7, 8, 9, 11, 12, 13]), "mda_ft": random.choice([500, 560, 600, 640])}


_FT_HPA = 27.3


def feet_low(*, off_hpa: float) -> float:
    """Give how much lower than shown the aircraft is. [ft] Source: ICAO standard atmosphere, near the sea."""
    return _FT_HPA * off_hpa


def feet_inches(*, off_hpa: float) -> float:
    """Take hectopascals for tenths of an inch. [ft]"""
    return 100.0 * off_hpa


def feet_tens(*, off_hpa: float) -> float:
    """Take ten feet for a hectopascal. [ft]"""
    return 10.0 * off_hpa


def feet_thirty(*, off_hpa: float) -> float:
    """Take thirty feet for a hectopascal, as in the head. [ft]"""
    return 30.0 * off_hpa


def metres_low(*, off_hpa: float) -> float:
    """Take eight metres for a hectopascal, and leave them metres. [m]"""
    return 8.0 * off_hpa


def hpa_by_27(*, off_hpa: float) -> float:
    """Divide by the feet of one. [ft]"""
    return off_hpa / 27.0


def hpa_by_30(*, off_hpa: float) -> float:
    """Divide by the feet of one, as in the head. [ft]"""
    return off_hpa / 30.0


def feet_higher(*, off_hpa: float) -> float:
    """Take it for higher. [ft]"""
    return -feet_low(off_hpa=off_hpa)


def shown_and_high(*, off_hpa: float, mda_ft: float) -> float:
    """Add the error to what is shown. [ft]"""
    return mda_ft + feet_low(off_hpa=off_hpa)


def what_is_left(*, off_hpa: float, mda_ft: float) -> float:
    """Give the true altitude in place of the error. [ft]"""
    return mda_ft - feet_low(off_hpa=off_hpa)


# ---------------------------------------------------------------- the wind found, used all the way


def a_found_wind(random: Random) -> dict[str, Any]:
    """Draw a wind that was found on the way in, by the final of Outer Keld."""
    final_deg = 330
    off = random.choice([-1, 1]) * random.choice([30, 40, 50, 60])
    return {
        "final_deg": final_deg,
        "wind_from_deg": whole(final_deg + off),
        "wind_kt": random.choice([14, 16, 18, 20, 22]),
        "tas_kt": random.choice([86, 88, 90, 92]),
        "gradient_ft_nm": 315,
        "hold_deg": 20,
    }


def final_heading(*, final_deg: float, tas_kt: float, wind_from_deg: float, wind_kt: float) -> float:
    """Give the heading that holds the final. [deg magnetic]"""
    return float(wind.heading_deg(course_deg=final_deg, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt))


def final_heading_by_rule(*, final_deg: float, tas_kt: float, wind_from_deg: float, wind_kt: float) -> float:
    """Give it by 60 x crosswind / true airspeed, with a calculator's crosswind. [deg magnetic]"""
    return heading_by_parts(course_deg=final_deg, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt)


def final_heading_by_estimate(*, final_deg: float, tas_kt: float, wind_from_deg: float, wind_kt: float) -> float:
    """Give it with the part across estimated between those of the table. [deg magnetic]"""
    part = taught_part_across(off_deg=wind_from_deg - final_deg)
    return heading_by_parts(
        course_deg=final_deg, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt, part=part
    )


def final_speed(*, final_deg: float, tas_kt: float, wind_from_deg: float, wind_kt: float) -> float:
    """Give the ground speed on the final. [kt]"""
    return float(
        wind.ground_speed_kt(course_deg=final_deg, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt)
    )


_VARIATION_DEG = 13  # west, as at Outer Keld


def _other_wind(wind_from_deg: float, by_deg: float) -> float:
    return float(angles.wrap360(wind_from_deg + by_deg))


def heading_variation_again(*, final_deg: float, tas_kt: float, wind_from_deg: float, wind_kt: float) -> float:
    """Add the variation to a wind that is magnetic already. [deg magnetic]"""
    other = _other_wind(wind_from_deg, _VARIATION_DEG)
    return final_heading(final_deg=final_deg, tas_kt=tas_kt, wind_from_deg=other, wind_kt=wind_kt)


def heading_variation_off(*, final_deg: float, tas_kt: float, wind_from_deg: float, wind_kt: float) -> float:
    """Take the variation off it. [deg magnetic]"""
    other = _other_wind(wind_from_deg, -_VARIATION_DEG)
    return final_heading(final_deg=final_deg, tas_kt=tas_kt, wind_from_deg=other, wind_kt=wind_kt)


def speed_variation_again(*, final_deg: float, tas_kt: float, wind_from_deg: float, wind_kt: float) -> float:
    """Add the variation to a wind that is magnetic already. [kt]"""
    other = _other_wind(wind_from_deg, _VARIATION_DEG)
    return final_speed(final_deg=final_deg, tas_kt=tas_kt, wind_from_deg=other, wind_kt=wind_kt)


def _speed_by_the_sum(final_deg: float, tas_kt: float, wind_from_deg: float, wind_kt: float) -> float:
    """Airspeed less the part of the wind along, as it is taught. [kt]"""
    along_kt, _ = wind.components_kt(direction_deg=final_deg, wind_from_deg=wind_from_deg, wind_kt=wind_kt)
    return tas_kt - float(along_kt)


def speed_by_the_sum(*, final_deg: float, tas_kt: float, wind_from_deg: float, wind_kt: float) -> float:
    """Leave out what the nose held across costs. [kt]"""
    return _speed_by_the_sum(final_deg, tas_kt, wind_from_deg, wind_kt)


def speed_by_estimate(*, final_deg: float, tas_kt: float, wind_from_deg: float, wind_kt: float) -> float:
    """Give it with the part along estimated between those of the table. [kt]"""
    off = wind_from_deg - final_deg
    along_kt = taught_part_across(off_deg=90.0 - off) * wind_kt
    return tas_kt - along_kt if math.cos(math.radians(off)) > 0.0 else tas_kt + along_kt


def speed_variation_again_by_the_sum(
    *, final_deg: float, tas_kt: float, wind_from_deg: float, wind_kt: float
) -> float:
    """Add the variation, and leave out what the nose held across costs. [kt]"""
    return _speed_by_the_sum(final_deg, tas_kt, _other_wind(wind_from_deg, _VARIATION_DEG), wind_kt)


def speed_variation_off_by_the_sum(*, final_deg: float, tas_kt: float, wind_from_deg: float, wind_kt: float) -> float:
    """Take the variation off, and leave out what the nose held across costs. [kt]"""
    return _speed_by_the_sum(final_deg, tas_kt, _other_wind(wind_from_deg, -_VARIATION_DEG), wind_kt)


def speed_variation_off(*, final_deg: float, tas_kt: float, wind_from_deg: float, wind_kt: float) -> float:
    """Take the variation off it. [kt]"""
    other = _other_wind(wind_from_deg, -_VARIATION_DEG)
    return final_speed(final_deg=final_deg, tas_kt=tas_kt, wind_from_deg=other, wind_kt=wind_kt)


def final_speed_all(*, tas_kt: float, wind_kt: float) -> float:
    """Take all of the wind off. [kt]"""
    return tas_kt - wind_kt


def final_rate(*, gradient_ft_nm: float, gs_kt: float) -> float:
    """Give the rate of descent. [ft/min]"""
    return float(descent.vs_fpm(gradient_ft_nm=gradient_ft_nm, gs_kt=gs_kt))


def final_rate_by_five(*, gs_kt: float) -> float:
    """Take five times the ground speed. [ft/min]"""
    return 5.0 * gs_kt


def final_rate_at_450(*, gs_kt: float) -> float:
    """Take the steepest normal descent. [ft/min]"""
    return final_rate(gradient_ft_nm=float(STEEPEST_FT_NM), gs_kt=gs_kt)


# ---------------------------------------------------------------- what has failed, and where

_FAILS = {
    "arc, in cloud: the DME stays in dashes": "OUT",
    "arc, in cloud: needle 2 dead, the rest good": "ON",
    "final, in cloud, before the step-down fix: the DME stays in dashes": "AROUND",
    "final, in cloud: flag 1 goes blank for good": "AROUND",
    "final: needle 2 dead since the arc, the rest good": "ON",
    "final, all three there, the runway in sight, going down: the DME shows dashes": "ON",
    "arc: the DME blinks once, its ident heard": "ON",
    "initial fix: the station's ident is TEST": "OUT",
}
_ALWAYS = tuple(_FAILS)[:3]


def five_failures(random: Random) -> dict[str, Any]:
    """Draw five moments: the DME on the arc and on the final among them."""
    moments = [*_ALWAYS, *random.sample(tuple(_FAILS)[3:], 2)]
    random.shuffle(moments)
    return {"moments": [{"moment": moment} for moment in moments]}


def what_then(*, moment: str) -> str:
    """Say what is done."""
    return _FAILS[moment]


def why_not_so(*, moment: str, answer: str) -> str:
    """Name what was overlooked."""
    right = _FAILS[moment]
    if right == "ON":
        return "CAREFUL/out" if answer == "OUT" else "CAREFUL/around"
    if answer == "ON":
        if "flag 1" in moment:
            return "CARRYON/flag"
        return "CARRYON/test" if "TEST" in moment else "CARRYON/arc" if right == "OUT" else "CARRYON/final"
    if right == "AROUND":
        return "WHERE/final"
    return "WHERE/fix" if "initial fix" in moment else "WHERE/arc"


# ---------------------------------------------------------------- the clock at Tarvue


def a_procedure_turn(random: Random) -> dict[str, Any]:
    """Draw a wind along the outbound leg of Tarvue."""
    return {
        "tas_kt": random.choice([96, 100, 104]),
        "along_kt": random.choice([12, 15, 18, 20]),
        "along": random.choice(["headwind", "tailwind"]),
    }


def outbound_speed(*, tas_kt: float, along_kt: float, along: str) -> float:
    """Give the ground speed outbound. [kt]"""
    return tas_kt - along_kt if along == "headwind" else tas_kt + along_kt


def outbound_s(*, tas_kt: float, along_kt: float, along: str) -> float:
    """Give the seconds in which the miles of two minutes in still air are flown. [s]"""
    return 120.0 * tas_kt / outbound_speed(tas_kt=tas_kt, along_kt=along_kt, along=along)


def outbound_s_at_90(*, tas_kt: float, along_kt: float, along: str) -> float:
    """Take the airspeed of the example. [s]"""
    return 120.0 * 90.0 / outbound_speed(tas_kt=tas_kt, along_kt=along_kt, along=along)


def outbound_s_wind_twice(*, tas_kt: float, along_kt: float, along: str) -> float:
    """Take the wind twice. [s]"""
    return 120.0 * tas_kt / outbound_speed(tas_kt=tas_kt, along_kt=2.0 * along_kt, along=along)


def outbound_s_swapped(*, tas_kt: float, along_kt: float, along: str) -> float:
    """Swap head and tail. [s]"""
    return 120.0 * tas_kt / (2.0 * tas_kt - outbound_speed(tas_kt=tas_kt, along_kt=along_kt, along=along))


def outbound_s_upside_down(*, tas_kt: float, along_kt: float, along: str) -> float:
    """Turn the share upside down. [s]"""
    return 120.0 * outbound_speed(tas_kt=tas_kt, along_kt=along_kt, along=along) / tas_kt


def outbound_s_twice(*, tas_kt: float, along_kt: float, along: str) -> float:
    """Make the change twice. [s]"""
    return 2.0 * outbound_s(tas_kt=tas_kt, along_kt=along_kt, along=along) - 120.0


def outbound_s_change(*, tas_kt: float, along_kt: float, along: str) -> float:
    """Give the change alone. [s]"""
    return abs(outbound_s(tas_kt=tas_kt, along_kt=along_kt, along=along) - 120.0)


def outbound_s_half(*, tas_kt: float, along_kt: float, along: str) -> float:
    """Make half of the change. [s]"""
    return 60.0 + 0.5 * outbound_s(tas_kt=tas_kt, along_kt=along_kt, along=along)


def outbound_s_of_a_minute(*, tas_kt: float, along_kt: float, along: str) -> float:
    """Begin with one minute. [s]"""
    return 0.5 * outbound_s(tas_kt=tas_kt, along_kt=along_kt, along=along)


def _by_knots_s(along_kt: float, along: str, ahead_s: float, behind_s: float) -> float:
    """Add so many seconds for each knot from ahead, take so many off for each from behind. [s]"""
    return 120.0 + along_kt * (ahead_s if along == "headwind" else -behind_s)


def outbound_s_by_the_other_rule(*, along_kt: float, along: str) -> float:
    """Take the seconds of the other wind. [s]"""
    return _by_knots_s(along_kt, along, 1.0, 1.5)


def outbound_s_by_knots_and_half(*, along_kt: float, along: str) -> float:
    """Lay off a second and a half for each knot, the wrong way. [s]"""
    return _by_knots_s(along_kt, along, -1.5, -1.5)


def outbound_s_by_knots(*, along_kt: float, along: str) -> float:
    """Lay off a second for each knot, the wrong way. [s]"""
    return _by_knots_s(along_kt, along, -1.0, -1.0)


# ---------------------------------------------------------------- the cold day

_COLUMNS_FT = (500, 600, 700, 1500, 3000, 4000, 5000)


def a_cold_day(random: Random) -> dict[str, Any]:
    """Draw a temperature at Jarvu."""
    return {"temperature_c": random.choice([-10, -20]), "elevation_ft": 130}


def degrees_below(*, temperature_c: float) -> float:
    """Give the degrees below freezing, without their sign."""
    return -temperature_c


def _column(height_ft: float, on: int = 0) -> float:
    """Give the next column that is not lower, or one so many farther on. [ft]"""
    place = next(number for number, column in enumerate(_COLUMNS_FT) if column >= height_ft) + on
    return float(_COLUMNS_FT[max(place, 0)])


def _corrected(published_ft: float, column_ft: float, temperature_c: float) -> float:
    return published_ft + float(altimetry.cold_correction_ft(height_ft=column_ft, temperature_c=temperature_c))


def cold_ft(*, published_ft: float, of_ft: float, elevation_ft: float, temperature_c: float) -> float:
    """Give the altitude to fly: the table's correction for the altitude that counts. [ft] (AIM 7-3-5)"""
    return _corrected(published_ft, _column(of_ft - elevation_ft), temperature_c)


def cold_subtracted(*, published_ft: float, of_ft: float, elevation_ft: float, temperature_c: float) -> float:
    """Subtract it. [ft]"""
    right = cold_ft(published_ft=published_ft, of_ft=of_ft, elevation_ft=elevation_ft, temperature_c=temperature_c)
    return 2.0 * published_ft - right


def cold_by_altitude(*, published_ft: float, of_ft: float, temperature_c: float) -> float:
    """Take the column of the altitude. [ft]"""
    return _corrected(published_ft, _column(of_ft), temperature_c)


def cold_a_column_up(*, published_ft: float, of_ft: float, elevation_ft: float, temperature_c: float) -> float:
    """Take the column after the right one. [ft]"""
    return _corrected(published_ft, _column(of_ft - elevation_ft, 1), temperature_c)


def cold_a_column_down(*, published_ft: float, of_ft: float, elevation_ft: float, temperature_c: float) -> float:
    """Take the column before the right one. [ft]"""
    return _corrected(published_ft, _column(of_ft - elevation_ft, -1), temperature_c)


def cold_between(*, published_ft: float, of_ft: float, elevation_ft: float, temperature_c: float) -> float:
    """Take the correction between two columns. [ft]"""
    height = of_ft - elevation_ft
    ends = (_column(height, -1), _column(height))
    at = [float(altimetry.cold_correction_ft(height_ft=end, temperature_c=temperature_c)) for end in ends]
    return published_ft + at[0] + (at[1] - at[0]) * (height - ends[0]) / (ends[1] - ends[0])


_MDA_FT, _MISSED_FT = 600.0, 3300.0  # of Jarvu


def cold_of_the_missed(*, published_ft: float, elevation_ft: float, temperature_c: float) -> float:
    """Take the correction of the missed approach altitude. [ft]"""
    return _corrected(published_ft, _column(_MISSED_FT - elevation_ft), temperature_c)


def cold_of_the_mda(*, published_ft: float, elevation_ft: float, temperature_c: float) -> float:
    """Take the correction of the MDA. [ft]"""
    return _corrected(published_ft, _column(_MDA_FT - elevation_ft), temperature_c)


def cold_by_its_own(*, published_ft: float, elevation_ft: float, temperature_c: float) -> float:
    """Take the correction of its own height. [ft]"""
    return _corrected(published_ft, _column(published_ft - elevation_ft), temperature_c)


def cold_by_its_own_hundred_subtracted(*, published_ft: float, elevation_ft: float, temperature_c: float) -> float:
    """Subtract the correction of its own height, to the next hundred. [ft]"""
    own = cold_by_its_own_hundred(published_ft=published_ft, elevation_ft=elevation_ft, temperature_c=temperature_c)
    return 2.0 * published_ft - own


def cold_by_its_own_subtracted(*, published_ft: float, elevation_ft: float, temperature_c: float) -> float:
    """Subtract the correction of its own height. [ft]"""
    own = cold_by_its_own(published_ft=published_ft, elevation_ft=elevation_ft, temperature_c=temperature_c)
    return 2.0 * published_ft - own


def cold_by_its_own_hundred(*, published_ft: float, elevation_ft: float, temperature_c: float) -> float:
    """Take the correction of its own height, to the next hundred. [ft]"""
    return _corrected(published_ft, 100.0 * math.ceil((published_ft - elevation_ft) / 100.0), temperature_c)


def cold_by_its_own_below(*, published_ft: float, elevation_ft: float, temperature_c: float) -> float:
    """Take the column below its own height. [ft]"""
    return _corrected(published_ft, _column(published_ft - elevation_ft, -1), temperature_c)


def cold_by_its_own_altitude(*, published_ft: float, temperature_c: float) -> float:
    """Take the column of its own altitude. [ft]"""
    return _corrected(published_ft, _column(published_ft), temperature_c)


def _row_c(temperature_c: float, by_c: float) -> float | None:
    return temperature_c + by_c if temperature_c + by_c in (-10, -20, -30) else None


def cold_a_row_warmer(
    *, published_ft: float, of_ft: float, elevation_ft: float, temperature_c: float
) -> float | None:
    """Take the row of a warmer day; None where the table has none. [ft]"""
    row = _row_c(temperature_c, 10)
    return None if row is None else _corrected(published_ft, _column(of_ft - elevation_ft), row)


def cold_a_row_colder(
    *, published_ft: float, of_ft: float, elevation_ft: float, temperature_c: float
) -> float | None:
    """Take the row of a colder day; None where the table has none. [ft]"""
    row = _row_c(temperature_c, -10)
    return None if row is None else _corrected(published_ft, _column(of_ft - elevation_ft), row)


def cold_to_the_hundred(*, published_ft: float, of_ft: float, elevation_ft: float, temperature_c: float) -> float:
    """Round up to the next hundred. [ft]"""
    exact = cold_ft(published_ft=published_ft, of_ft=of_ft, elevation_ft=elevation_ft, temperature_c=temperature_c)
    return 100.0 * math.ceil(exact / 100.0)


def cold_alone(*, published_ft: float, of_ft: float, elevation_ft: float, temperature_c: float) -> float:
    """Give the correction alone. [ft]"""
    right = cold_ft(published_ft=published_ft, of_ft=of_ft, elevation_ft=elevation_ft, temperature_c=temperature_c)
    return right - published_ft


# ---------------------------------------------------------------- flights


_CRUISE_KT = 108.0  # of the Finch, as it is shown


def a_wind(random: Random) -> dict[str, Any]:
    """Draw a day: a wind that turns and grows with height."""
    return _drawn(random, (8, 12, 15, 18))


def a_strong_wind(random: Random) -> dict[str, Any]:
    """Draw a day with a strong wind."""
    return _drawn(random, (24, 26, 28))


def a_cold_wind(random: Random) -> dict[str, Any]:
    """Draw a cold day."""
    return {**_drawn(random, (10, 14, 18)), "temperature_c": random.choice([-10.0, -20.0])}


def a_wind_for_the_clock(random: Random) -> dict[str, Any]:
    """Draw a day for a procedure without DME: briefed, and as briefed."""
    made = _drawn(random, (8, 10, 12, 14))
    return {**made, "upper_true_deg": made["wind_true_deg"], "upper_kt": made["wind_kt"]}


def _drawn(random: Random, speeds_kt: tuple[int, ...]) -> dict[str, Any]:
    surface, speed = random.randrange(10, 361, 10), random.choice(speeds_kt)
    return {
        "wind_true_deg": surface,
        "wind_kt": speed,
        "upper_true_deg": whole(surface + random.choice([-20, -10, 10, 20])),
        "upper_kt": speed + random.choice([2, 4, 6]),
    }


def flown_day(
    *,
    wind_true_deg: float,
    wind_kt: float,
    upper_true_deg: float,
    upper_kt: float,
    temperature_c: float = 8.0,
) -> Day:
    """Give the day: the wind at the surface and at 3,000 feet."""
    from needlework.world.weather import Day, Wind

    blowing = Wind((0.0, 3000.0), (float(wind_true_deg), float(upper_true_deg)), (float(wind_kt), float(upper_kt)))
    return Day("exercise", "whole approach", blowing, temperature_c, 1013.0)


def true_at_the_start(*, start_ft: float, elevation_ft: float, temperature_c: float = 8.0) -> float:
    """Give the true airspeed that the cruising speed is where a flight starts. [kt]"""
    there_c = temperature_c - (
        altimetry.standard_temperature_c(elevation_ft) - altimetry.standard_temperature_c(start_ft)
    )
    return float(altimetry.tas_kt(cas_kt=_CRUISE_KT, pressure_alt_ft=start_ft, temperature_c=there_c))


def keld_courses() -> tuple[float, float]:
    """Give what the selectors show at first: lines of an earlier leg. [deg magnetic]"""
    return 165.0, 345.0


def keld_radios() -> dict[str, Any]:
    """Give what the receivers begin with: Overfall, one letter away. [MHz]"""
    return {"active_mhz": 114.60, "standby_mhz": 115.40}


def jarvu_radios() -> dict[str, Any]:
    """Give what the receivers begin with: Overfall. [MHz]"""
    return {"active_mhz": 114.60, "standby_mhz": 114.00}


def tarvue_radios() -> dict[str, Any]:
    """Give what the receivers begin with: the frequency before. [MHz]"""
    return {"active_mhz": 110.25, "standby_mhz": 108.10}


def jarvu_courses() -> tuple[float, float]:
    """Give what the selectors show at first. [deg magnetic]"""
    return 130.0, 310.0


def tarvue_courses() -> tuple[float, float]:
    """Give what the selectors show at first. [deg magnetic]"""
    return 268.0, 88.0


def ezrick_radios() -> dict[str, Any]:
    """Give what the receivers begin with. [MHz]"""
    return {"active_mhz": 110.25, "standby_mhz": 115.05}


def ezrick_courses() -> tuple[float, float]:
    """Give what the selectors show at first. [deg magnetic]"""
    return 23.0, 75.0


# ---------------------------------------------------------------- the DME goes dark on the final

_LEVEL_AGAIN_FT = 2600.0


def a_dark_final(random: Random) -> dict[str, Any]:
    """Draw a wind and the last reading of the DME."""
    return {
        **_drawn(random, (6, 8, 10, 12)),
        "lost_nm": random.choice([5.8, 5.6, 5.4, 5.2, 5.0]),
        "final_deg": 330,
        "variation_deg": 13,
    }


def dark_from(*, lost_nm: float) -> float:
    """Give the reading at which the DME goes dark. [NM]"""
    return lost_nm


def dark_courses() -> tuple[float, float]:
    """Give what the selectors show: the final, and the radial of the missed approach. [deg magnetic]"""
    return 330.0, 20.0


def dark_begin() -> dict[str, Any]:
    """Say where the flight begins: on the final course, before the final fix."""
    return {
        "radial_deg": 150.0,
        "dme_nm": 9.5,
        "altitude_ft": 1880,
        "heading_deg": 330.0,
        "ias_kt": 90,
        "configuration": "approach flap",
    }


def dark_rows(*, lost_nm: float, final_deg: float) -> list[dict[str, Any]]:
    """Give the rows of a plan that flies it well: around where the DME is lost."""
    first = {"course_1_deg": final_deg, "course_2_deg": 20.0, "follow": "needle 1", "identify": True, "ias_kt": 84}
    climb = {"vs_fpm": 600, "level_ft": _LEVEL_AGAIN_FT, "ias_kt": 75}
    return [
        {"then": first, "note": "on the final"},
        {"when": {"dme_falls_to_nm": 8.0}, "then": {"vs_fpm": -440, "level_ft": 770}, "note": "final fix"},
        {"when": {"dme_falls_to_nm": lost_nm}, "then": climb, "note": "DME gone: around"},
        {"when": {"alt_reaches_ft": 1550}, "then": {"end": True}, "note": "end"},
    ]


# ---------------------------------------------------------------- the whole approach by plan: Wygate

_ARC_TAS_KT, _FINAL_TAS_KT, _FIRST_MID_DEG, _HALF_MID_DEG = 102.0, 86.0, 263.0, 233.0
_MIDDLES_DEG = (_FIRST_MID_DEG, _HALF_MID_DEG)
_HALF_WAY = 3  # steps of the arc between the two headings that are written


def a_plan(random: Random) -> dict[str, Any]:
    """Draw the wind found on the way in, and where the runway comes in sight."""
    return {
        "wind_from_deg": random.choice(range(10, 361, 10)),
        "wind_kt": random.choice([14, 16, 18, 20]),
        "sight_from_nm": random.choice([2.4, 2.5, 2.6, 2.7]),
        "arc_tas_kt": int(_ARC_TAS_KT),
        "tas_kt": int(_FINAL_TAS_KT),
        "gradient_ft_nm": 322,
        "final_deg": 23,
    }


def _blown_deg(track_deg: float, tas_kt: float, wind_from_deg: float, wind_kt: float) -> float:
    return float(wind.heading_deg(course_deg=track_deg, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt))


def plan_right(*, wind_from_deg: float, wind_kt: float, gradient_ft_nm: float, tas_kt: float) -> dict[str, Any]:
    """Give the lines of a plan that passes. [blanks]"""
    first, half = (
        _blown_deg(middle - 90.0, _ARC_TAS_KT, wind_from_deg, wind_kt) for middle in (_FIRST_MID_DEG, _HALF_MID_DEG)
    )
    gs_kt = final_speed(final_deg=23.0, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt)
    return {
        "course 1 inbound": 88.0,
        "turn on to the arc at DME": 12.5,
        "turn to the": "RIGHT",
        "first setting of selector 2": 258.0,
        "first heading on the arc": float(whole(first)),
        "heading half way": float(whole(half)),
        "course 1 from half way on": 23.0,
        "last setting of selector 2": 213.0,
        "floor at the final fix": 2000.0,
        "down from DME": 6.0,
        "rate of descent": float(round(gradient_ft_nm * gs_kt / 60.0)),
        "floor to the step-down fix": 1000.0,
        "minimums": 640.0,
        "leave minimums at DME": 1.8,
    }


def plan_fix_ft() -> float:
    """Give the floor that holds to the final fix. [ft]"""
    return plate("wygate").final_fix_ft


def plan_step_ft() -> float:
    """Give the floor that holds to the step-down fix. [ft]"""
    return float(plate("wygate").final_legs[0].end_ft or 0.0)


def plan_mda_ft() -> float:
    """Give the MDA straight in. [ft]"""
    return plate("wygate").mda_ft("A")


def plan_begin() -> dict[str, Any]:
    """Say where the flight begins: over ARDEM, inbound."""
    return {"radial_deg": 268.0, "dme_nm": 22.0, "altitude_ft": 3440, "heading_deg": 88.0, "ias_kt": 108}


def plan_days(*, wind_from_deg: float, wind_kt: float) -> list[Day]:
    """Give the day: the wind that was found, at every height."""
    return [_even(true_deg(wind_from_deg), wind_kt)]


def _even(from_deg_true: float, speed_kt: float) -> Day:
    from needlework.world.weather import Day, Wind

    return Day("exercise", "by plan", Wind((0.0,), (from_deg_true,), (float(speed_kt),)), 8.0, 1013.0)


def plan_rows(*, filled: dict[str, Any], wind_from_deg: float, wind_kt: float) -> list[dict[str, Any]]:
    """Turn what was filled in into the rows of the plan; the other headings of the arc lie evenly between its two."""
    over_ft = 40.0  # a pointer's width above what is written
    first, half = filled["first heading on the arc"], filled["heading half way"]
    step = float(angles.difference_deg(from_deg=first, to_deg=half)) / _HALF_WAY
    settings = [258.0, 248.0, 238.0, 228.0, filled["last setting of selector 2"]]
    settings[0] = filled["first setting of selector 2"]
    rate = -abs(filled["rate of descent"])
    rows: list[dict[str, Any]] = [
        {
            "then": {
                "course_1_deg": filled["course 1 inbound"], "course_2_deg": settings[0], "follow": "needle 1",
                "identify": True,
            },
        },
        {
            "when": {"dme_falls_to_nm": filled["turn on to the arc at DME"]},
            "then": {
                "heading_deg": whole(first), "turn": filled["turn to the"].lower(), "ias_kt": 98,
                "level_ft": 3000.0 + over_ft,
            },
            "note": "lead for the 12 NM arc",
        },
    ]  # fmt: skip
    for number in range(1, len(settings)):
        then = {"heading_deg": whole(first + number * step), "course_2_deg": settings[number]}
        if number == _HALF_WAY:
            then["course_1_deg"] = filled["course 1 from half way on"]
        rows.append({"when": {"needle_centres": 2}, "then": then})
    cut = whole(_blown_deg(86.0, _ARC_TAS_KT, wind_from_deg, wind_kt))
    rows += [
        {"when": {"needle_centres": 2}, "then": {"heading_deg": cut, "ias_kt": 92}, "note": "lead radial"},
        {"when": {"needle_alive": 1}, "then": {"follow": "needle 1", "configuration": "approach flap"}},
        {"when": {"after_s": 75}, "then": {"level_ft": filled["floor at the final fix"] + over_ft}},
        {"when": {"dme_falls_to_nm": 8.0}, "then": {"ias_kt": 84, "configuration": "landing flap"}},
        {
            "when": {"dme_falls_to_nm": filled["down from DME"]},
            "then": {"vs_fpm": rate, "level_ft": filled["floor to the step-down fix"] + over_ft},
            "note": "down",
        },
        {
            "when": {"dme_falls_to_nm": 3.0},
            "then": {"vs_fpm": rate, "level_ft": filled["minimums"] + over_ft},
            "note": "step-down fix",
        },
        {
            "when": {"dme_falls_to_nm": filled["leave minimums at DME"]},
            "then": {"vs_fpm": rate, "level_ft": 215.0, "ias_kt": 72},
            "note": "minimums left",
        },
        {"when": {"alt_reaches_ft": 235.0}, "then": {"end": True}, "note": "on the runway"},
    ]
    return rows


def plan_from_outside() -> dict[str, Any]:
    """Set the radial in place of the course. [blanks]"""
    return {"course 1 inbound": 268.0}


def plan_turned_inside() -> dict[str, Any]:
    """Take the lead off in place of adding it. [blanks]"""
    return {"turn on to the arc at DME": 11.5}


def plan_on_the_arc() -> dict[str, Any]:
    """Turn without a lead. [blanks]"""
    return {"turn on to the arc at DME": 12.0}


def plan_radial_of_now() -> dict[str, Any]:
    """Set the radial of the way in. [blanks]"""
    return {"first setting of selector 2": 268.0}


def plan_middle_radial() -> dict[str, Any]:
    """Set the middle of the step. [blanks]"""
    return {"first setting of selector 2": _FIRST_MID_DEG}


def plan_lead_on_course_1() -> dict[str, Any]:
    """Set the lead radial on the wrong selector. [blanks]"""
    return {"course 1 from half way on": 213.0}


def plan_ten_before_the_lead() -> dict[str, Any]:
    """Go on by tens, and stop before the lead radial. [blanks]"""
    return {"last setting of selector 2": 218.0}


def plan_ten_past_the_lead() -> dict[str, Any]:
    """Go on by tens, past the lead radial. [blanks]"""
    return {"last setting of selector 2": 208.0}


def plan_floor_before() -> dict[str, Any]:
    """Keep the floor of the arc's last part. [blanks]"""
    return {"floor at the final fix": 3000.0}


def plan_last_floor() -> dict[str, Any]:
    """Keep the floor that ends at the final fix. [blanks]"""
    return {"floor to the step-down fix": 2000.0}


def plan_first_step_back() -> dict[str, Any]:
    """Set the other end of the first radial. [blanks]"""
    return {"first setting of selector 2": 78.0}


def plan_lead_at_once() -> dict[str, Any]:
    """Set the lead radial first. [blanks]"""
    return {"first setting of selector 2": 213.0}


def plan_end_at_once() -> dict[str, Any]:
    """Set the end of the arc first. [blanks]"""
    return {"first setting of selector 2": 203.0}


def plan_course_on_2() -> dict[str, Any]:
    """Set the course of the way in on selector 2. [blanks]"""
    return {"first setting of selector 2": 88.0}


def plan_runway_heading() -> dict[str, Any]:
    """Take the runway's direction for the final. [blanks]"""
    return {"course 1 from half way on": float(plate("wygate").runway.heading_deg)}


def plan_lead_as_a_course() -> dict[str, Any]:
    """Set the other end of the lead radial. [blanks]"""
    return {"last setting of selector 2": 33.0}


def plan_final_on_2() -> dict[str, Any]:
    """Set the final course on selector 2. [blanks]"""
    return {"last setting of selector 2": 23.0}


def plan_down_off_the_arc() -> dict[str, Any]:
    """Go down from where the arc ends. [blanks]"""
    return {"down from DME": 12.0}


def plan_left_at_the_step() -> dict[str, Any]:
    """Leave minimums at the step-down fix. [blanks]"""
    return {"leave minimums at DME": 3.0}


def plan_left_at_the_threshold() -> dict[str, Any]:
    """Leave minimums at the threshold. [blanks]"""
    return {"leave minimums at DME": float(plate("wygate").runway.threshold_distance_nm)}


def plan_with_the_note() -> dict[str, Any]:
    """Add the note for another field's setting. [blanks]"""
    return {"minimums": 720.0}


def plan_minimum_of_the_step() -> dict[str, Any]:
    """Read the line without the step-down fix. [blanks]"""
    return {"minimums": 1000.0}


_RATE_WITHIN_FPM = 25.0  # as the line accepts


def _rate_for(gs_kt: float, gradient_ft_nm: float, away_from: tuple[float, ...]) -> dict[str, Any] | None:
    """Give a wrong rate; None where it is told neither from the right one nor from the airspeed's. [blanks]"""
    rate = float(round(gradient_ft_nm * gs_kt / 60.0))
    told = all(abs(rate - other) > 2.0 * _RATE_WITHIN_FPM for other in away_from)
    return {"rate of descent": rate} if told else None


def plan_rate_head_for_tail(
    *, gradient_ft_nm: float, tas_kt: float, wind_from_deg: float, wind_kt: float
) -> dict[str, Any] | None:
    """Swap head and tail. [blanks]"""
    gs_kt = final_speed(final_deg=23.0, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt)
    others = tuple(gradient_ft_nm * speed / 60.0 for speed in (gs_kt, tas_kt))
    return _rate_for(2.0 * tas_kt - gs_kt, gradient_ft_nm, (*others, gradient_ft_nm, 5.0 * gs_kt))


def plan_rate_by_300(
    *, gradient_ft_nm: float, tas_kt: float, wind_from_deg: float, wind_kt: float
) -> dict[str, Any] | None:
    """Take the quick rule. [blanks]"""
    gs_kt = final_speed(final_deg=23.0, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt)
    right = gradient_ft_nm * gs_kt / 60.0
    if abs(5.0 * gs_kt - right) <= _RATE_WITHIN_FPM + 1.0:
        return None
    return _rate_for(gs_kt, 300.0, (gradient_ft_nm * tas_kt / 60.0, gradient_ft_nm))


def plan_other_side() -> dict[str, Any]:
    """Turn the other way on to the arc. [blanks]"""
    return {"turn to the": "LEFT"}


def plan_twisted_back() -> dict[str, Any]:
    """Set the radial that lies behind. [blanks]"""
    return {"first setting of selector 2": 278.0}


def _both(first: float, half: float) -> dict[str, Any]:
    return {"first heading on the arc": float(whole(first)), "heading half way": float(whole(half))}


def plan_no_wind() -> dict[str, Any]:
    """Fly the arc as in still air. [blanks]"""
    return _both(_FIRST_MID_DEG - 90.0, _HALF_MID_DEG - 90.0)


def plan_wind_wrong_side(*, wind_from_deg: float, wind_kt: float) -> dict[str, Any]:
    """Lay both corrections off to the wrong side. [blanks]"""
    tracks = (_FIRST_MID_DEG - 90.0, _HALF_MID_DEG - 90.0)
    wrong = (mirrored_deg(track, _blown_deg(track, _ARC_TAS_KT, wind_from_deg, wind_kt)) for track in tracks)
    return _both(*wrong)


def plan_from_the_step(*, wind_from_deg: float, wind_kt: float) -> dict[str, Any]:
    """Fly square to the radials at which the two steps begin. [blanks]"""
    return _both(*(_blown_deg(middle - 85.0, _ARC_TAS_KT, wind_from_deg, wind_kt) for middle in _MIDDLES_DEG))


def plan_to_the_step(*, wind_from_deg: float, wind_kt: float) -> dict[str, Any]:
    """Fly square to the radials at which the two steps end. [blanks]"""
    return _both(*(_blown_deg(middle - 95.0, _ARC_TAS_KT, wind_from_deg, wind_kt) for middle in _MIDDLES_DEG))


def plan_same_correction(*, wind_from_deg: float, wind_kt: float) -> dict[str, Any]:
    """Keep the first correction all the way round. [blanks]"""
    first = _blown_deg(_FIRST_MID_DEG - 90.0, _ARC_TAS_KT, wind_from_deg, wind_kt)
    return {"heading half way": float(whole(first - 30.0))}


_ARC_HEADINGS = ("first heading on the arc", "heading half way")
_HEADING_WITHIN_DEG = 3.0


def plan_cause(*, filled: Mapping[str, Any], wind_from_deg: float, wind_kt: float) -> str | None:
    """Name the one mistake that all wrong headings of the arc can come from."""
    tracks = [middle - 90.0 for middle in _MIDDLES_DEG]
    wrong, answers = [], []
    for label, track in zip(_ARC_HEADINGS, tracks, strict=True):
        held = float(whole(_blown_deg(track, _ARC_TAS_KT, wind_from_deg, wind_kt)))
        if abs(float(angles.difference_deg(from_deg=held, to_deg=filled[label]))) > _HEADING_WITHIN_DEG:
            arc = {
                "course_deg": track,
                "first_course_deg": tracks[0],
                "turn": "left",
                "variation_deg": _VARIATION_DEG,
            }
            air = {"tas_kt": _ARC_TAS_KT, "wind_from_deg": wind_from_deg, "wind_kt": wind_kt}
            wrong.append(label)
            answers.append((float(filled[label]), {**arc, **air}))
    code = common_cause(LEG_AS_TAUGHT, answers)
    return f"{LEG_AS_TAUGHT.family.name}/{code}/{wrong[0] if len(wrong) == 1 else ''}" if code else None


def plan_final_radial() -> dict[str, Any]:
    """Set the radial in place of the final course. [blanks]"""
    return {"course 1 from half way on": 203.0}


def plan_no_lead() -> dict[str, Any]:
    """Turn at the end of the arc in place of the lead radial. [blanks]"""
    return {"last setting of selector 2": 203.0}


def plan_next_floor_now() -> dict[str, Any]:
    """Take the floor behind the final fix for the one before it. [blanks]"""
    return {"floor at the final fix": 1000.0}


def plan_down_at_the_step() -> dict[str, Any]:
    """Wait for the step-down fix. [blanks]"""
    return {"down from DME": 3.0}


def plan_rate_for_airspeed(*, gradient_ft_nm: float, tas_kt: float) -> dict[str, Any]:
    """Forget the wind in the rate. [blanks]"""
    return {"rate of descent": float(round(gradient_ft_nm * tas_kt / 60.0))}


def plan_feet_a_mile(*, gradient_ft_nm: float) -> dict[str, Any]:
    """Take feet a mile for feet a minute. [blanks]"""
    return {"rate of descent": float(gradient_ft_nm)}


def plan_no_step() -> dict[str, Any]:
    """Go down to minimums at once. [blanks]"""
    return {"floor to the step-down fix": 640.0}


def plan_circling() -> dict[str, Any]:
    """Read the line for circling. [blanks]"""
    return {"minimums": 780.0}


def plan_seen_and_gone(*, sight_from_nm: float) -> dict[str, Any]:
    """Leave minimums as soon as the runway is seen. [blanks]"""
    return {"leave minimums at DME": float(sight_from_nm)}


def plan_left_at_the_map() -> dict[str, Any]:
    """Leave minimums at the missed approach point. [blanks]"""
    return {"leave minimums at DME": 1.1}


# ---------------------------------------------------------------- the last distance from which a landing is normal


def steepest_ft_nm(*, field: str) -> float:
    """Give the steepest normal descent of the course, alike at every field. [ft/NM]"""
    return float(STEEPEST_FT_NM) if field in _PLATES else 0.0


def threshold_ft(*, field: str) -> float:
    """Give the elevation of the threshold. [ft]"""
    return _way(field).runway.threshold_elevation_ft


def last_miles(*, field: str) -> float:
    """Give the miles before the threshold, without the station's place. [NM]"""
    return _way(field).last_landing_to_go_nm(mda_ft(field=field))


def last_miles_to_a_tenth(*, field: str) -> float:
    """Round up to a tenth. [NM]"""
    return math.ceil(10.0 * last_miles(field=field)) / 10.0


def last_dme_to_a_tenth(*, field: str) -> float:
    """Round to the tenth on the safe side, as on the kneeboard. [NM]"""
    return math.ceil(10.0 * last_dme(field=field)) / 10.0


def last_dme(*, field: str) -> float:
    """Give the DME of the last place from which a landing is normal: both stations lie beyond the threshold. [NM]"""
    return threshold_dme(field=field) + last_miles(field=field)


def last_the_other_way(*, field: str) -> float:
    """Count the miles to the far side of the threshold. [NM]"""
    return threshold_dme(field=field) - last_miles(field=field)


def last_from_the_sea(*, field: str) -> float:
    """Take altitude for height. [NM]"""
    return threshold_dme(field=field) + miles_from_the_sea(field=field)


_CROSSING_FT = 50.0


def _miles(field: str, *, over_ft: float | None = None, gradient_ft_nm: float = STEEPEST_FT_NM) -> float:
    """Give the miles down to a height above the sea, by default the crossing height. [NM]"""
    end = threshold_ft(field=field) + _CROSSING_FT if over_ft is None else over_ft
    return (mda_ft(field=field) - end) / gradient_ft_nm


def vdp_miles(*, field: str) -> float:
    """Take three degrees, 318 feet a mile. [NM]"""
    return _miles(field, gradient_ft_nm=318.0)


def miles_from_the_sea(*, field: str) -> float:
    """Take altitude for height. [NM]"""
    return _miles(field, over_ft=0.0)


def miles_without_crossing(*, field: str) -> float:
    """End on the runway. [NM]"""
    return _miles(field, over_ft=threshold_ft(field=field))


def miles_without_ground(*, field: str) -> float:
    """End 50 ft above the sea. [NM]"""
    return _miles(field, over_ft=_CROSSING_FT)


def miles_by_300(*, field: str) -> float:
    """Take the quick rule. [NM]"""
    return _miles(field, gradient_ft_nm=300.0)


def miles_by_400(*, field: str) -> float:
    """Take the usual limit of a final. [NM]"""
    return _miles(field, gradient_ft_nm=400.0)


def miles_by_1000(*, field: str) -> float:
    """Take the limit in feet a minute for one in feet a mile. [NM]"""
    return _miles(field, gradient_ft_nm=1000.0)


def map_miles(*, field: str) -> float:
    """Give the miles from the missed approach point to the threshold. [NM]"""
    return map_dme(field=field) - threshold_dme(field=field)


def last_feet(*, field: str) -> float:
    """Give the feet to lose. [ft]"""
    return _miles(field, gradient_ft_nm=1.0)


def last_without_crossing(*, field: str) -> float:
    """End on the runway. [NM]"""
    return threshold_dme(field=field) + miles_without_crossing(field=field)


def last_without_ground(*, field: str) -> float:
    """End 50 ft above the sea. [NM]"""
    return threshold_dme(field=field) + miles_without_ground(field=field)


def last_by_300(*, field: str) -> float:
    """Take the quick rule. [NM]"""
    return threshold_dme(field=field) + miles_by_300(field=field)


def last_by_400(*, field: str) -> float:
    """Take the usual limit of a final. [NM]"""
    return threshold_dme(field=field) + miles_by_400(field=field)


def last_by_1000(*, field: str) -> float:
    """Take the limit in feet a minute for one in feet a mile. [NM]"""
    return threshold_dme(field=field) + miles_by_1000(field=field)


def last_from_the_map(*, field: str) -> float:
    """Count from the missed approach point. [NM]"""
    return map_dme(field=field) + last_miles(field=field)


# ---------------------------------------------------------------- in the hold: what now?


def a_hold_with_fuel(random: Random) -> dict[str, Any]:
    """Draw the fuel of a hold, and what another approach and the way elsewhere take."""
    again_min, away_min, stay_min = (
        random.choice([18, 20, 22]),
        random.choice([16, 19, 24]),
        random.choice([7, 9, 12]),
    )
    return {
        "fuel_min": stay_min + again_min + away_min + _RESERVE_MIN,
        "again_min": again_min,
        "away_min": away_min,
        "reserve_min": _RESERVE_MIN,
        "cases": random.sample(
            [{"case": case, "stay_min": stay_min} for case in _IN_THE_HOLD], k=len(_IN_THE_HOLD)
        ),
    }  # fmt: skip


_RESERVE_MIN = 45  # Source: 14 CFR 91.167, as the course's example of a reserve
_IN_THE_HOLD = {
    "a new report: visibility 2,200 m and rising, 1,600 m asked for": "AGAIN",
    "a new report: 600 m in fog, no change forecast for two hours": "ELSEWHERE",
    "a shower over the field, gone in five minutes; behind it 5 km": "WAIT",
    "you stayed too long: two minutes of fuel above the way elsewhere and the reserve; 2,200 m": "ELSEWHERE",
}


def minutes_to_stay(*, fuel_min: float, again_min: float, away_min: float, reserve_min: float) -> float:
    """Give the minutes in the hold after which one more approach and the way elsewhere are still possible. [min]"""
    return fuel_min - again_min - away_min - reserve_min


def stay_without_reserve(*, fuel_min: float, again_min: float, away_min: float) -> float:
    """Leave the reserve out. [min]"""
    return fuel_min - again_min - away_min


def stay_without_approach(*, fuel_min: float, away_min: float, reserve_min: float) -> float:
    """Leave the approach out. [min]"""
    return fuel_min - away_min - reserve_min


def stay_without_elsewhere(*, fuel_min: float, again_min: float, reserve_min: float) -> float:
    """Leave the way elsewhere out. [min]"""
    return fuel_min - again_min - reserve_min


def stay_without_two(*, fuel_min: float, reserve_min: float) -> float:
    """Take the reserve off alone. [min]"""
    return fuel_min - reserve_min


def stay_less_elsewhere(*, fuel_min: float, away_min: float) -> float:
    """Take the way elsewhere off alone. [min]"""
    return fuel_min - away_min


def stay_less_approach(*, fuel_min: float, again_min: float) -> float:
    """Take the approach off alone. [min]"""
    return fuel_min - again_min


def stay_of_approach_and_way(*, again_min: float, away_min: float) -> float:
    """Give what approach and way elsewhere take. [min]"""
    return again_min + away_min


def stay_with_approach_added(*, fuel_min: float, again_min: float, away_min: float, reserve_min: float) -> float:
    """Add the approach. [min]"""
    return fuel_min + again_min - away_min - reserve_min


def stay_of_the_needed(*, again_min: float, away_min: float, reserve_min: float) -> float:
    """Give what is needed in place of what is left. [min]"""
    return again_min + away_min + reserve_min


def stay_with_thirty(*, fuel_min: float, again_min: float, away_min: float) -> float:
    """Take thirty minutes for the reserve. [min] Source: 14 CFR 91.151, the reserve by day in sight of the ground"""
    return fuel_min - again_min - away_min - 30.0


def stay_for_two(*, fuel_min: float, again_min: float, away_min: float, reserve_min: float) -> float:
    """Keep fuel for two approaches. [min]"""
    return fuel_min - 2.0 * again_min - away_min - reserve_min


def what_now(*, case: str) -> str:
    """Say what is done."""
    return _IN_THE_HOLD[case]


def why_not_now(*, case: str, answer: str) -> str:
    """Name what was overlooked."""
    right = _IN_THE_HOLD[case]
    if "two minutes of fuel" in case:
        return "FUEL/again" if answer == "AGAIN" else "FUEL/wait"
    if right == "WAIT":
        return "HASTE" if answer == "AGAIN" else "GIVEUP"
    if right == "AGAIN":
        return "IDLE" if answer == "WAIT" else "GIVEUP"
    return "HOPE/again" if answer == "AGAIN" else "HOPE/wait"


# ---------------------------------------------------------------- selectors for the first three legs

_LEGS = {
    "in from RIMVO": (70.0, 240.0),
    "on the arc, half way round, radial 200 just crossed": (330.0, 190.0),
    "on the final, before minimums": (330.0, 20.0),
}


def three_legs(random: Random) -> dict[str, Any]:
    """Give the legs of Outer Keld, in an order of the student's own."""
    return {"legs": [{"leg": leg} for leg in random.sample(list(_LEGS), k=len(_LEGS))]}


def selector_1(*, leg: str) -> float:
    """Give what selector 1 shows. [deg magnetic]"""
    return _LEGS[leg][0]


def selector_2(*, leg: str) -> float:
    """Give what selector 2 shows. [deg magnetic]"""
    return _LEGS[leg][1]


def selector_1_back(*, leg: str) -> float:
    """Give the other end. [deg magnetic]"""
    return float(angles.reciprocal(direction_deg=_LEGS[leg][0]))


_IN, _ARC, _FINAL = _LEGS


def selector_1_before(*, leg: str) -> float | None:
    """Leave the course of the way in, where another is flown next. [deg magnetic]"""
    return _LEGS[_IN][0] if leg != _IN else None


def selector_1_too_early(*, leg: str) -> float | None:
    """Set the final on the way in. [deg magnetic]"""
    return _LEGS[_FINAL][0] if leg == _IN else None


def selector_1_of_the_other(*, leg: str) -> float:
    """Set what belongs on selector 2. [deg magnetic]"""
    return _LEGS[leg][1]


def selector_1_heading(*, leg: str) -> float | None:
    """Set the heading of the missed approach. [deg magnetic]"""
    return missed_heading(field="Outer Keld") if leg == _FINAL else None


def selector_2_lead(*, leg: str) -> float | None:
    """Set the lead radial at once. [deg magnetic]"""
    return lead_radial(field="Outer Keld") if leg != _FINAL else None


def selector_2_end(*, leg: str) -> float | None:
    """Set the end of the arc at once. [deg magnetic]"""
    return final_radial(field="Outer Keld") if leg != _FINAL else None


def selector_2_behind(*, leg: str) -> float | None:
    """Set the ten degrees that lie behind. [deg magnetic]"""
    return _LEGS[leg][1] + 20.0 if leg != _FINAL else None


def selector_2_skipped(*, leg: str) -> float | None:
    """Leave a step out. [deg magnetic]"""
    return _LEGS[leg][1] - 10.0 if leg != _FINAL else None


def selector_2_back(*, leg: str) -> float:
    """Give the other end. [deg magnetic]"""
    return float(angles.reciprocal(direction_deg=_LEGS[leg][1]))


def selector_2_final(*, leg: str) -> float | None:
    """Set the final course on the wrong selector; on the final itself it is where you are. [deg magnetic]"""
    return _LEGS[_FINAL][0] if leg != _FINAL else None


def selector_2_way_in(*, leg: str) -> float | None:
    """Set the course of the way in on both. [deg magnetic]"""
    return _LEGS[_IN][0] if leg == _IN else None


def selector_2_missed(*, leg: str) -> float | None:
    """Set the way out before the final. [deg magnetic]"""
    return _LEGS[_FINAL][1] if leg != _FINAL else None


def selector_2_heading(*, leg: str) -> float | None:
    """Set the heading of the missed approach. [deg magnetic]"""
    return missed_heading(field="Outer Keld") if leg == _FINAL else None


def selector_2_last(*, leg: str) -> float | None:
    """Leave the lead radial. [deg magnetic]"""
    return lead_radial(field="Outer Keld") if leg == _FINAL else None


def selector_2_of_now(*, leg: str) -> float | None:
    """Give the radial the aircraft is on, or the line it flies already. [deg magnetic]"""
    return {"in from RIMVO": 250.0, "on the final, before minimums": 330.0}.get(leg, 200.0)


# ---------------------------------------------------------------- the runway, in sight or not


def a_day_with_a_runway(random: Random) -> dict[str, Any]:
    """Draw a strong wind, and the DME of the final at which the runway comes in sight: mostly in time."""
    return {**a_strong_wind(random), "sight_from_nm": random.choice([4.3, 4.1, 3.9, 3.0])}


def comes_in_sight(*, sight_from_nm: float) -> float:
    """Give the DME at which the runway comes in sight. [NM]"""
    return sight_from_nm
