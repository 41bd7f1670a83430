"""Numbers of the lesson on the whole approach: draws, right answers, and what the named slips lead to."""

from __future__ import annotations

from random import Random
from typing import TYPE_CHECKING, Any

from needlework.exercises.lesson_values import plate, whole
from needlework.trade import altimetry, angles, descent, wind

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


def final_speed(*, final_deg: float, tas_kt: float, wind_from_deg: float, wind_kt: float) -> float:
    """Give the ground speed on the final. [kt]"""
    return float(
        wind.ground_speed_kt(course_deg=final_deg, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt)
    )


def final_speed_all(*, tas_kt: float, wind_kt: float) -> float:
    """Take all of the wind off. [kt]"""
    return tas_kt - wind_kt


def final_rate(*, gradient_ft_nm: float, gs_kt: float) -> float:
    """Give the rate of descent. [ft/min]"""
    return float(descent.vs_fpm(gradient_ft_nm=gradient_ft_nm, gs_kt=gs_kt))


# ---------------------------------------------------------------- what has failed, and where

_FAILS = {
    "on the arc, in cloud: the DME shows dashes and stays so": "OUT",
    "on the arc, in cloud: needle 2 goes dead, receiver 1 and the DME are good": "ON",
    "on the final, in cloud, before the step-down fix: the DME shows dashes and stays so": "AROUND",
    "on the final, in cloud: the flag of receiver 1 comes and stays": "AROUND",
    "on the final, one receiver left, its needle alive, its ident heard, and the DME good": "ON",
    "on the final, all three there, the runway in sight, going down: the DME shows dashes": "ON",
    "on the arc: the DME blinks once and shows the same reading again, ident heard": "ON",
    "over the initial fix: the ident of the station is TEST": "OUT",
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
        return "CARRYON/arc" if right == "OUT" else "CARRYON/final"
    return "WHERE/arc" if right == "OUT" else "WHERE/final"


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


def outbound_s_swapped(*, tas_kt: float, along_kt: float, along: str) -> float:
    """Swap head and tail. [s]"""
    return 120.0 * tas_kt / (2.0 * tas_kt - outbound_speed(tas_kt=tas_kt, along_kt=along_kt, along=along))


def outbound_s_upside_down(*, tas_kt: float, along_kt: float, along: str) -> float:
    """Turn the share upside down. [s]"""
    return 120.0 * outbound_speed(tas_kt=tas_kt, along_kt=along_kt, along=along) / tas_kt


# ---------------------------------------------------------------- the cold day

_COLUMNS_FT = (200, 300, 400, 500, 600, 700, 800, 900, 1000, 1500, 2000, 3000, 4000, 5000)


def a_cold_day(random: Random) -> dict[str, Any]:
    """Draw a temperature at Jarvu."""
    return {"temperature_c": random.choice([-10, -20]), "elevation_ft": 130}


def degrees_below(*, temperature_c: float) -> float:
    """Give the degrees below freezing, without their sign."""
    return -temperature_c


def _column_ft(height_ft: float) -> float:
    return float(next(column for column in _COLUMNS_FT if column >= height_ft))


def cold_ft(*, published_ft: float, elevation_ft: float, temperature_c: float) -> float:
    """Give the altitude to fly: the table's correction for the next higher column. [ft]"""
    column = _column_ft(published_ft - elevation_ft)
    return published_ft + float(altimetry.cold_correction_ft(height_ft=column, temperature_c=temperature_c))


def cold_subtracted(*, published_ft: float, elevation_ft: float, temperature_c: float) -> float:
    """Subtract it. [ft]"""
    right = cold_ft(published_ft=published_ft, elevation_ft=elevation_ft, temperature_c=temperature_c)
    return 2.0 * published_ft - right


# ---------------------------------------------------------------- flights


def a_wind(random: Random) -> dict[str, Any]:
    """Draw a day: a wind that turns and grows with height."""
    return _drawn(random, (8, 12, 15, 18))


def a_strong_wind(random: Random) -> dict[str, Any]:
    """Draw a day with a strong wind."""
    return _drawn(random, (24, 26, 28))


def a_cold_wind(random: Random) -> dict[str, Any]:
    """Draw a cold day."""
    return {**_drawn(random, (10, 14, 18)), "temperature_c": random.choice([-15.0, -20.0])}


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
