"""Numbers of the lesson on the missed approach and the hold: draws, right answers, what a slip comes to."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from random import Random
from typing import TYPE_CHECKING, Any

import numpy as np

from needlework.exercises import lesson_values
from needlework.exercises.lesson_values import plan_days
from needlework.trade import altimetry, angles, geodesy, holding, missed, wind

if TYPE_CHECKING:
    from needlework.world.weather import Day


def _hand(side: str) -> int:
    return 1 if side == "right" else -1


def _other(side: str) -> str:
    return "left" if side == "right" else "right"


# ---------------------------------------------------------------- recall


def a_descent(random: Random) -> dict[str, Any]:
    """Draw a descent line flown into the wind."""
    tas, headwind = random.choice([84, 88, 96, 102]), random.choice([12, 14, 16, 18])
    return {
        "gradient_ft_nm": random.choice([335, 345, 360]),
        "tas_kt": tas,
        "headwind_kt": headwind,
        "gs_kt": tas - headwind,
    }


def rate(*, gradient_ft_nm: float, gs_kt: float) -> float:
    """Rate that makes a gradient at a ground speed. [fpm] (AIM 5-4-21)"""
    return float(missed.climb_fpm(gradient_ft_nm=gradient_ft_nm, gs_kt=gs_kt))


def rate_with_wind(*, gradient_ft_nm: float, tas_kt: float, headwind_kt: float) -> float:
    """Headwind added to the airspeed. [fpm]"""
    return rate(gradient_ft_nm=gradient_ft_nm, gs_kt=tas_kt + headwind_kt)


# ---------------------------------------------------------------- climb


def a_gradient(random: Random) -> dict[str, Any]:
    """Draw a published gradient and a ground speed."""
    return {
        "gradient_ft_nm": random.choice([240, 260, 280, 300]),
        "gs_kt": random.choice([75, 80, 95, 100, 105]),
    }


def rate_of_200(*, gs_kt: float) -> float:
    """The usual gradient in place of the published one. [fpm]"""
    return rate(gradient_ft_nm=200.0, gs_kt=gs_kt)


def a_climb(random: Random) -> dict[str, Any]:
    """Draw a climb in wind whose answer turns round when the wind is forgotten."""
    while True:
        tas, vs = random.choice([78, 82, 86, 90]), random.choice([380, 420, 460, 500])
        along, sign = random.choice([16, 18, 20, 22]), random.choice([-1, 1])
        made, still = (_gradient_ft_nm(vs, gs) for gs in (tas + sign * along, tas))
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


def _gradient_ft_nm(vs_fpm: float, gs_kt: float) -> float:
    return float(missed.climb_gradient_ft_nm(vs_fpm=vs_fpm, gs_kt=gs_kt))


def ground_speed(*, tas_kt: float, along_kt: float, along: str) -> float:
    """Ground speed in a headwind or tailwind. [kt]"""
    return float(tas_kt + (along_kt if along == "tailwind" else -along_kt))


def gradient_made(*, vs_fpm: float, climb_gs_kt: float) -> float:
    """Gradient of a climb over the ground. [ft/NM]"""
    return _gradient_ft_nm(vs_fpm, climb_gs_kt)


def gradient_without_sixty(*, vs_fpm: float, climb_gs_kt: float) -> float:
    """Feet a minute over knots. [wrong by sixty]"""
    return vs_fpm / climb_gs_kt


def gradient_in_the_air(*, vs_fpm: float, tas_kt: float) -> float:
    """Gradient through the air. [ft/NM]"""
    return _gradient_ft_nm(vs_fpm, tas_kt)


def gradient_head_for_tail(*, vs_fpm: float, tas_kt: float, along_kt: float, along: str) -> float:
    """Headwind taken for tailwind. [ft/NM]"""
    return _gradient_ft_nm(vs_fpm, ground_speed(tas_kt=tas_kt, along_kt=-along_kt, along=along))


def gradient_upside_down(*, vs_fpm: float, climb_gs_kt: float) -> float:
    """Miles a minute over feet a minute, in thousands. [wrong way up]"""
    return climb_gs_kt * 60.0 / vs_fpm


def rate_published(*, gradient_ft_nm: float, climb_gs_kt: float) -> float:
    """The rate that the published gradient asks for. [fpm]"""
    return rate(gradient_ft_nm=gradient_ft_nm, gs_kt=climb_gs_kt)


def gradient_multiplied(*, vs_fpm: float, climb_gs_kt: float) -> float:
    """Rate times miles a minute where it should be divided. [ft/NM]"""
    return rate(gradient_ft_nm=vs_fpm, gs_kt=climb_gs_kt)


def enough(
    *, made_ft_nm: float, gradient_ft_nm: float, vs_fpm: float, tas_kt: float, along_kt: float, along: str
) -> str:
    """YES where the climb over the ground makes the published gradient, else NO.

    A gradient of the learner's own may turn YES into NO, never NO into YES: what is not enough stays not enough.
    """
    truly = _gradient_ft_nm(vs_fpm, ground_speed(tas_kt=tas_kt, along_kt=along_kt, along=along))
    return "YES" if min(made_ft_nm, truly) >= gradient_ft_nm else "NO"


def steeper_or_flatter(*, along: str) -> str:
    """Say what wind along the climb-out makes of the gradient over the ground."""
    return "flatter" if along == "tailwind" else "steeper"


def not_enough(
    *, made_ft_nm: float, gradient_ft_nm: float, vs_fpm: float, tas_kt: float, along_kt: float, along: str
) -> str:
    """The other word."""
    right = enough(
        made_ft_nm=made_ft_nm,
        gradient_ft_nm=gradient_ft_nm,
        vs_fpm=vs_fpm,
        tas_kt=tas_kt,
        along_kt=along_kt,
        along=along,
    )
    return "NO" if right == "YES" else "YES"


def an_early_decision(random: Random) -> dict[str, Any]:
    """Draw a climb begun before the missed approach point."""
    return {
        "mda_ft": _MDA_FT,
        "early_nm": random.choice([0.8, 1.0, 1.2, 1.4]),
        "vs_fpm": random.choice([550, 600, 650]),
        "gs_kt": random.choice([70, 75, 80, 90]),
    }


def altitude_at_map(*, mda_ft: float, early_nm: float, vs_fpm: float, gs_kt: float) -> float:
    """Altitude at the missed approach point. [ft] (AIM 5-4-21 b)"""
    return float(missed.climb_by_map_ft(alt_ft=mda_ft, to_map_nm=early_nm, vs_fpm=vs_fpm, gs_kt=gs_kt))


def altitude_by_the_mile(*, mda_ft: float, early_nm: float, vs_fpm: float) -> float:
    """Rate times miles. [ft]"""
    return float(mda_ft + vs_fpm * early_nm)


def altitude_from_the_station(*, mda_ft: float, vs_fpm: float, gs_kt: float) -> float:
    """All miles from the station to the missed approach point. [ft]"""
    return altitude_at_map(mda_ft=mda_ft, early_nm=_MAP_NM, vs_fpm=vs_fpm, gs_kt=gs_kt)


def altitude_sinking(*, mda_ft: float, early_nm: float, vs_fpm: float, gs_kt: float) -> float:
    """The gain taken off. [ft]"""
    return 2.0 * mda_ft - altitude_at_map(mda_ft=mda_ft, early_nm=early_nm, vs_fpm=vs_fpm, gs_kt=gs_kt)


def altitude_at_200(*, mda_ft: float, early_nm: float) -> float:
    """The least gradient in place of the rate. [ft]"""
    return mda_ft + 200.0 * early_nm


def altitude_from_the_sea_at_200(*, early_nm: float) -> float:
    """The gain at the least gradient, from the sea. [ft]"""
    return 200.0 * early_nm


def altitude_by_seconds(*, mda_ft: float, early_nm: float, vs_fpm: float, gs_kt: float) -> float:
    """Seconds for minutes. [ft]"""
    return mda_ft + early_nm * 3600.0 / gs_kt * vs_fpm


def altitude_without_sixty(*, mda_ft: float, early_nm: float, vs_fpm: float, gs_kt: float) -> float:
    """Hours for minutes. [ft]"""
    return mda_ft + early_nm / gs_kt * vs_fpm


def altitude_multiplied(*, mda_ft: float, early_nm: float, vs_fpm: float, gs_kt: float) -> float:
    """Miles times miles a minute. [ft]"""
    return mda_ft + early_nm * gs_kt / 60.0 * vs_fpm


def altitude_after_a_minute(*, mda_ft: float, vs_fpm: float) -> float:
    """A minute's gain. [ft]"""
    return mda_ft + vs_fpm


def altitude_gained(*, mda_ft: float, early_nm: float, vs_fpm: float, gs_kt: float) -> float:
    """The gain taken for the altitude. [ft]"""
    return altitude_at_map(mda_ft=mda_ft, early_nm=early_nm, vs_fpm=vs_fpm, gs_kt=gs_kt) - mda_ft


def altitude_after_a_mile(*, mda_ft: float, vs_fpm: float, gs_kt: float) -> float:
    """A mile's gain. [ft]"""
    return mda_ft + vs_fpm * 60.0 / gs_kt


def altitude_by_miles_a_minute(*, mda_ft: float, vs_fpm: float, gs_kt: float) -> float:
    """Take the miles a minute for the minutes. [ft]"""
    return mda_ft + vs_fpm * gs_kt / 60.0


def altitude_upside_down(*, mda_ft: float, early_nm: float, vs_fpm: float, gs_kt: float) -> float:
    """Speed over distance for the minutes. [ft]"""
    return mda_ft + vs_fpm * gs_kt / 60.0 / early_nm


# ---------------------------------------------------------------- cold

_COLD_FIELDS = {
    "Ezrick": {"elevation_ft": 912, "missed_ft": 4700, "column_ft": 600},
    "Wygate": {"elevation_ft": 220, "missed_ft": 3500, "column_ft": 500},
    "Saltmarsh": {"elevation_ft": 66, "missed_ft": 3600, "column_ft": 500},
}
_COLUMNS_FT = (500, 600, 700, 1500, 3000, 4000, 5000)


def a_cold_climb(random: Random) -> dict[str, Any]:
    """Draw a field, its missed approach altitude and a cold day."""
    field = random.choice(sorted(_COLD_FIELDS))
    cold_c = random.choice([10, 20, 30])
    return {"field": field, **_COLD_FIELDS[field], "cold_c": cold_c}


def _table_ft(height_ft: float, cold_c: float) -> float:
    """Correction of the next column that is not lower than the height. [ft] (AIM 7-3)"""
    column = next(each for each in _COLUMNS_FT if each >= height_ft)
    return float(altimetry.cold_correction_ft(height_ft=column, temperature_c=-cold_c))


def cold_missed(*, missed_ft: float, elevation_ft: float, cold_c: float) -> float:
    """Missed approach altitude of a cold day. [ft] (AIM 7-3)"""
    return missed_ft + _table_ft(missed_ft - elevation_ft, cold_c)


def cold_missed_between(*, missed_ft: float, elevation_ft: float, cold_c: float) -> float:
    """Correction taken between the columns. [ft]"""
    between = [float(altimetry.cold_correction_ft(height_ft=each, temperature_c=-cold_c)) for each in (3000, 4000)]
    return float(missed_ft + np.interp(missed_ft - elevation_ft, [3000.0, 4000.0], between))


def cold_missed_most(*, missed_ft: float, elevation_ft: float, cold_c: float) -> float:
    """The same, up to the next hundred. [ft]"""
    return float(np.ceil(cold_missed(missed_ft=missed_ft, elevation_ft=elevation_ft, cold_c=cold_c) / 100.0) * 100.0)


def cold_missed_subtracted(*, missed_ft: float, elevation_ft: float, cold_c: float) -> float:
    """Correction subtracted. [ft]"""
    return missed_ft - _table_ft(missed_ft - elevation_ft, cold_c)


def cold_missed_by_the_mda(*, missed_ft: float, column_ft: float, cold_c: float) -> float:
    """Correction of the MDA's column. [ft]"""
    return missed_ft + _table_ft(column_ft, cold_c)


def cold_missed_column_below(*, missed_ft: float, cold_c: float) -> float:
    """Correction of the column below the height. [ft]"""
    return missed_ft + _table_ft(3000.0, cold_c)


def cold_missed_by_the_rule(*, missed_ft: float, elevation_ft: float, cold_c: float) -> float:
    """Correction by the rule of four per cent. [ft]"""
    height_ft = missed_ft - elevation_ft
    rule_ft = altimetry.cold_rule_ft(height_ft=height_ft, temperature_c=-cold_c, elevation_ft=elevation_ft)
    return missed_ft + float(rule_ft)


def cold_missed_column_above(*, missed_ft: float, elevation_ft: float, cold_c: float) -> float | None:
    """Correction of the column after the right one; None where that is the column of the altitude. [ft]"""
    height = missed_ft - elevation_ft
    if height > 4000.0 or cold_missed_from_sea(missed_ft=missed_ft, elevation_ft=elevation_ft, cold_c=cold_c):
        return None
    return missed_ft + _table_ft(height + 1000.0, cold_c)


def cold_missed_by_the_final_fix(*, missed_ft: float, cold_c: float) -> float:
    """Correction of the final fix's column. [ft]"""
    return missed_ft + _table_ft(1500.0, cold_c)


def cold_missed_a_row_warmer(*, missed_ft: float, elevation_ft: float, cold_c: float) -> float | None:
    """Row of a warmer day. [ft]"""
    return None if cold_c <= 10 else missed_ft + _table_ft(missed_ft - elevation_ft, cold_c - 10)


def cold_missed_a_row_colder(*, missed_ft: float, elevation_ft: float, cold_c: float) -> float | None:
    """Row of a colder day. [ft]"""
    return None if cold_c >= 30 else missed_ft + _table_ft(missed_ft - elevation_ft, cold_c + 10)


def cold_missed_correction(*, missed_ft: float, elevation_ft: float, cold_c: float) -> float:
    """The correction for the altitude. [ft]"""
    return _table_ft(missed_ft - elevation_ft, cold_c)


def cold_missed_height(*, missed_ft: float, elevation_ft: float) -> float:
    """The height above the field for the altitude. [ft]"""
    return missed_ft - elevation_ft


def cold_missed_rounded_down(*, missed_ft: float, elevation_ft: float, cold_c: float) -> float:
    """To the hundred below. [ft]"""
    return float(np.floor(cold_missed(missed_ft=missed_ft, elevation_ft=elevation_ft, cold_c=cold_c) / 100.0) * 100.0)


def cold_missed_field_added(*, missed_ft: float, elevation_ft: float, cold_c: float) -> float:
    """The elevation of the field on top. [ft]"""
    return elevation_ft + cold_missed(missed_ft=missed_ft, elevation_ft=elevation_ft, cold_c=cold_c)


def cold_missed_from_sea(*, missed_ft: float, elevation_ft: float, cold_c: float) -> float | None:
    """Column of the altitude in place of the height above the field; None where it is the same. [ft]"""
    found = missed_ft + _table_ft(missed_ft, cold_c)
    right = cold_missed(missed_ft=missed_ft, elevation_ft=elevation_ft, cold_c=cold_c)
    return None if found == right else found


# ---------------------------------------------------------------- the decision

_MDA_FT, _DDA_FT, _TDZ_FT = 560, 610, 62
_VDP_NM, _MAP_NM, _THRESHOLD_NM = 3.8, 4.7, 5.2
_REQUIRED_M = 1600
_MISSING = {"position": "GP", "visibility": "GV", "reference": "GR"}
_NEARLY_M = 1200

_STEEPEST_FT_NM, _MOST_FPM = 450, 1000


def a_last_place(random: Random) -> dict[str, Any]:
    """Draw a field that lies higher than Saltmarsh, the minimum of the day and a ground speed."""
    elevation_ft = random.choice([180, 215, 340, 412])
    return {
        "mda_ft": elevation_ft + random.choice([490, 530, 560, 590, 620]),
        "elevation_ft": elevation_ft,
        "crossing_ft": 50,
        "threshold_nm": _THRESHOLD_NM,
        "steepest_ft_nm": _STEEPEST_FT_NM,
        "gs_kt": random.choice([80, 90, 100, 110]),
    }


def last_normal_dme(
    *, mda_ft: float, elevation_ft: float, crossing_ft: float, threshold_nm: float, steepest_ft_nm: float
) -> float:
    """DME of the last place from which the descent to the threshold is no steeper than that. [NM]"""
    return threshold_nm - (mda_ft - elevation_ft - crossing_ft) / steepest_ft_nm


def last_from_the_map(*, mda_ft: float, elevation_ft: float, crossing_ft: float, steepest_ft_nm: float) -> float:
    """Counted back from the missed approach point. [NM]"""
    return 4.7 - (mda_ft - elevation_ft - crossing_ft) / steepest_ft_nm


def last_by_a_thousand(*, mda_ft: float, elevation_ft: float, crossing_ft: float, threshold_nm: float) -> float:
    """A thousand feet a mile. [NM]"""
    return threshold_nm - (mda_ft - elevation_ft - crossing_ft) / 1000.0


def miles_before_threshold(*, mda_ft: float, elevation_ft: float, crossing_ft: float, steepest_ft_nm: float) -> float:
    """Miles before the threshold in place of the reading. [NM]"""
    return (mda_ft - elevation_ft - crossing_ft) / steepest_ft_nm


def past_threshold(
    *, mda_ft: float, elevation_ft: float, crossing_ft: float, threshold_nm: float, steepest_ft_nm: float
) -> float:
    """Miles counted to the far side of the threshold. [NM]"""
    return threshold_nm + (mda_ft - elevation_ft - crossing_ft) / steepest_ft_nm


def the_wider_limit_dme(
    *, mda_ft: float, elevation_ft: float, crossing_ft: float, threshold_nm: float, gs_kt: float
) -> float:
    """DME from which a thousand feet a minute would still reach the threshold. [NM]"""
    return threshold_nm - (mda_ft - elevation_ft - crossing_ft) * gs_kt / 60.0 / _MOST_FPM


def visual_descent_dme(*, mda_ft: float, elevation_ft: float, crossing_ft: float, threshold_nm: float) -> float:
    """Where the planned line of 317 ft/NM leaves the minimum. [NM]"""
    return threshold_nm - (mda_ft - elevation_ft - crossing_ft) / 317.0


def twelve_moments(random: Random) -> dict[str, Any]:
    """Draw twelve moments: where, how high, what is seen; in an order of the student's own.

    What is in sight agrees with the flight visibility: whoever sees the runway from a place has at least that much.
    """

    def case(said: str, alt_ft: int, dme_nm: float, vis_m: int, seen: tuple[str, ...], **more: Any) -> dict[str, Any]:
        facts = {"alt_ft": alt_ft, "dme_nm": dme_nm, "vis_m": vis_m, "seen": seen, "position": True, "line": False}
        facts["reported_m"] = 0
        return {"said": said.format(alt=alt_ft, dme=dme_nm, vis=f"{vis_m:,}"), **facts, **more}

    at = "{dme} DME, {alt} ft"
    cases = [
        case(
            at + ": runway in sight, flight visibility {vis} m",
            _MDA_FT,
            random.choice([3.2, 3.4]),
            random.choice([4000, 5000]),
            ("runway",),
        ),
        case(
            at + ": runway lights in sight, a normal descent is possible, flight visibility {vis} m",
            _MDA_FT,
            3.8,
            random.choice([2800, 3000]),
            ("runway lights",),
        ),
        case(at + ": nothing in sight, flight visibility {vis} m", _MDA_FT, random.choice([4.0, 4.1]), 1000, ()),
        # Half a mile from the threshold and 450 ft above it no descent is a normal one any more.
        case(at + ": nothing in sight, flight visibility {vis} m", _MDA_FT, 4.7, 800, (), position=False),
        case(
            at + ": out of the cloud, the runway is in sight, flight visibility {vis} m; only a dive would reach it",
            _MDA_FT,
            random.choice([4.4, 4.5]),
            4000,
            ("runway",),
            position=False,
        ),
        case(
            at + ", going down to land: a shower, nothing in sight any more, flight visibility {vis} m",
            random.choice([380, 400]),
            4.3,
            random.choice([900, 1100]),
            (),
        ),
        case(
            at + ", going down to land: approach lights and nothing else in sight, flight visibility {vis} m",
            random.choice([380, 390]),
            4.3,
            1600,
            ("approach lights",),
        ),
        case(
            at + ", going down to land: approach lights and nothing else in sight, flight visibility {vis} m",
            random.choice([140, 150]),
            5.0,
            300,
            ("approach lights",),
        ),
        case(
            at + ": the tower reports 1,300 m, but you see the runway 1.2 NM ahead, so flight visibility is {vis} m "
            "at least; a normal descent is possible",
            _MDA_FT,
            4.0,
            2200,
            ("runway",),
            reported_m=1300,
        ),
        case(
            at + ", going down to land: runway in sight, but flight visibility is now {vis} m, nearly what is asked",
            random.choice([300, 310]),
            4.6,
            random.choice([1300, 1400]),
            ("runway",),
        ),
        case(
            at + ", in cloud, nothing in sight, flight visibility {vis} m",
            random.choice([800, 840]),
            3.0,
            100,
            (),
        ),
        case(
            at + ", on one line without levelling off, decision altitude {alt} (minimums and 50 ft, for the sink of "
            "the go-around): nothing in sight, flight visibility {vis} m",
            _DDA_FT,
            3.6,
            2000,
            (),
            line=True,
        ),
    ]
    return {"cases": random.sample(cases, len(cases))}


@cache
def codes(
    *, alt_ft: int, dme_nm: float, vis_m: int, seen: tuple[str, ...], position: bool, line: bool
) -> tuple[str, ...]:
    """Every code that is right: what to do and, where several things are missing, any of them (14 CFR 91.175).

    At minimums, past the visual descent point and before the missed approach point, going around is as right as
    staying level, for whatever is missing.
    """
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
    around = tuple(_MISSING[each] for each in found.missing)
    if alt_ft == _MDA_FT and _VDP_NM <= dme_nm < _MAP_NM and around:
        return (*around, "LW")
    if found.action == "go around":
        return around
    return ("C",) if found.action == "continue" else ("LW" if found.missing else "LV",)


def above_touchdown_zone(*, alt_ft: int) -> int:
    """Height above the touchdown zone. [ft]"""
    return alt_ft - _TDZ_FT


def why_not(
    *,
    answer: str,
    alt_ft: int,
    dme_nm: float,
    vis_m: int,
    seen: tuple[str, ...],
    position: bool,
    line: bool,
    reported_m: int,
) -> str:
    """Name the sentence on what a wrong code would mean here."""
    right = codes(alt_ft=alt_ft, dme_nm=dme_nm, vis_m=vis_m, seen=seen, position=position, line=line)
    around = [code for code in right if code.startswith("G")]
    if answer == "C":
        if seen == ("approach lights",):
            return "NOTC/lights"
        nearly = right[0] == "GV" and vis_m >= _NEARLY_M
        dive = right[0] == "GP" and bool(seen)
        return f"NOTC/{'early' if right[0] == 'LV' else 'nearly' if nearly else 'dive' if dive else 'missing'}"
    if answer in ("GP", "GV", "GR"):
        short = vis_m < _REQUIRED_M if answer == "GV" else answer == "GR" and not seen
        if short and right == ("C",):
            return f"NOT{answer}/above"
        if answer == "GV" and reported_m:
            return "NOTGV/reported"
        return f"NOT{answer}/{'another' if around else 'open'}"
    if answer == "LW" and reported_m:
        return "NOTLW/reported"
    if not around:
        return "NOTLW/above" if answer == "LW" and alt_ft > _DDA_FT else f"NOT{answer}/ahead"
    if answer == "LV":
        return "NOTLV/missing"
    return f"NOTLW/{'line' if line else 'below' if alt_ft < _MDA_FT else 'point'}"


# ---------------------------------------------------------------- what fails on the final


_FAILS = {
    "dashes": ("GD",),
    "flag": ("GL",),
    "test": ("GL", "GD"),
    "overhead": ("C",),
    "landing": ("C",),
    "blink": ("C",),
}


def six_failures(random: Random) -> dict[str, Any]:
    """Draw six moments on the final at which something fails, or seems to."""
    low_ft, dme_nm = random.choice([1120, 1180]), random.choice([1.8, 2.1, 2.3])
    said = {
        "dashes": f"{dme_nm} DME, {low_ft:,} ft, in cloud: the DME shows dashes, and they stay",
        "flag": f"{random.choice([3.3, 3.5])} DME, {random.choice([640, 690])} ft, in cloud: flag 1 goes blank "
        "and stays blank; receiver 2 stands on radial 165",
        "test": f"{random.choice([4.0, 4.1])} DME, 560 ft, level in cloud: needle centred, flag FROM, the DME "
        "counts; but you hear the letters TEST in place of the station's ident",
        "overhead": "overhead Overfall, 1,770 ft, the final fix: the needle swings and the flag is blank for five "
        "seconds; then FROM, steady",
        "landing": "4.9 DME, 200 ft, going down to land, runway in sight, flight visibility 4,000 m: the DME shows "
        "dashes",
        "blink": f"{random.choice([2.5, 2.7])} DME, {random.choice([940, 980])} ft, in cloud: the DME shows dashes "
        "for two seconds, then the right distance again; the ident is there",
    }
    return {"moments": [{"moment": said[what], "what": what} for what in random.sample(sorted(said), 6)]}


def failure_codes(*, what: str) -> tuple[str, ...]:
    """Every code that is right at a moment."""
    return _FAILS[what]


def why_not_so(*, answer: str, what: str) -> str:
    """Name the sentence on what a wrong code would mean at a moment."""
    if answer == "C":
        return f"CARRYON/{what}"
    if _FAILS[what] != ("C",):
        return f"OTHER/{what}"
    seems = "GL" if what == "overhead" else "GD"
    return f"AROUND/{what}" if answer == seems else f"NOTGONE/{'distance' if answer == 'GD' else 'line'}"


def a_lost_dme(random: Random) -> dict[str, Any]:
    """Draw where the DME was last good, and the speeds."""
    tas, along = random.choice([84, 88, 92]), random.choice([-18, -14, 14, 18])
    return {
        "lost_nm": random.choice([1.3, 1.5, 1.7, 1.9]),
        "map_nm": _MAP_NM,
        "tas_kt": tas,
        "gs_kt": tas + along,
    }


def seconds_to_map(*, lost_nm: float, map_nm: float, gs_kt: float) -> float:
    """Time from the last good reading to the missed approach point. [seconds]"""
    return (map_nm - lost_nm) / gs_kt * 3600.0


def miles_to_map(*, lost_nm: float, map_nm: float) -> float:
    """Miles for seconds. [NM]"""
    return map_nm - lost_nm


def seconds_to_the_vdp(*, lost_nm: float, gs_kt: float) -> float:
    """Time to the visual descent point. [seconds]"""
    return (_VDP_NM - lost_nm) / gs_kt * 3600.0


def seconds_to_pardo(*, lost_nm: float, gs_kt: float) -> float:
    """Time to the step-down fix. [seconds]"""
    return (3.0 - lost_nm) / gs_kt * 3600.0


def seconds_of_both_added(*, lost_nm: float, map_nm: float, gs_kt: float) -> float:
    """Readings added where they are subtracted. [seconds]"""
    return (map_nm + lost_nm) / gs_kt * 3600.0


def seconds_from_station(*, map_nm: float, gs_kt: float) -> float:
    """Time for the whole of the final. [seconds]"""
    return map_nm / gs_kt * 3600.0


def seconds_to_where_it_failed(*, lost_nm: float, gs_kt: float) -> float:
    """Time for the part that is behind. [seconds]"""
    return lost_nm / gs_kt * 3600.0


def seconds_to_threshold(*, lost_nm: float, gs_kt: float) -> float:
    """Time to the threshold. [seconds]"""
    return (_THRESHOLD_NM - lost_nm) / gs_kt * 3600.0


# ---------------------------------------------------------------- the radial


def a_radial(random: Random) -> dict[str, Any]:
    """Draw a final, and a radial to one side of it."""
    final, side = random.randrange(20, 350, 5), random.choice(["left", "right"])
    return {
        "final_deg": final,
        "radial_deg": lesson_values.whole(final + _hand(side) * random.choice([45, 50, 55, 60, 65, 70])),
        "cut_deg": random.choice([30, 45]),
        "side": side,
    }


def turn(*, side: str) -> str:
    """The way round, as it is written."""
    return side.upper()


def turn_away(*, side: str) -> str:
    """The other way round."""
    return _other(side).upper()


def intercept_heading(*, radial_deg: float, cut_deg: float, side: str) -> float:
    """Heading that meets a radial outbound: past parallel by the angle. [degrees magnetic]"""
    return float(angles.wrap360(radial_deg + _hand(side) * cut_deg))


def intercept_mirrored(*, radial_deg: float, cut_deg: float, side: str) -> float:
    """Angle laid off to the wrong side of the radial. [degrees magnetic]"""
    held_deg = intercept_heading(radial_deg=radial_deg, cut_deg=cut_deg, side=side)
    return lesson_values.mirrored_deg(radial_deg, held_deg)


def intercept_at_45(*, radial_deg: float, cut_deg: float, side: str) -> float | None:
    """Cross at 45 degrees; None where that is asked. [degrees magnetic]"""
    return None if cut_deg == 45 else intercept_heading(radial_deg=radial_deg, cut_deg=45, side=side)


def intercept_at_30(*, radial_deg: float, cut_deg: float, side: str) -> float | None:
    """Cross at 30 degrees; None where that is asked. [degrees magnetic]"""
    return None if cut_deg == 30 else intercept_heading(radial_deg=radial_deg, cut_deg=30, side=side)


def cut_from_final_back(*, final_deg: float, cut_deg: float, side: str) -> float:
    """Angle laid off from the course flown, to the other side. [degrees magnetic]"""
    return cut_from_final(final_deg=final_deg, cut_deg=cut_deg, side=_other(side))


def intercept_backwards(*, radial_deg: float, cut_deg: float, side: str) -> float:
    """The other way along the heading. [degrees magnetic]"""
    return float(angles.reciprocal(intercept_heading(radial_deg=radial_deg, cut_deg=cut_deg, side=side)))


def cut_from_final(*, final_deg: float, cut_deg: float, side: str) -> float:
    """Angle laid off from the course flown. [degrees magnetic]"""
    return intercept_heading(radial_deg=final_deg, cut_deg=cut_deg, side=side)


def back_to_station(*, radial_deg: float) -> float:
    """The other end of the radial's line. [degrees magnetic]"""
    return float(angles.reciprocal(radial_deg))


_HOLD_FT = 3600
_MISTAKES = ("TURNED EARLY", "WRONG WAY ROUND", "FLEW THROUGH")


def three_mistakes(random: Random) -> dict[str, Any]:
    """Draw which track shows which mistake."""
    return {"order": random.sample(list(_MISTAKES), 3)}


def three_tracks(*, order: list[str]) -> dict[str, Any]:
    """Give the tracks by letter, and the procedure they are drawn on."""
    tracks = {letter: _flown_with(mistake) for letter, mistake in zip("ABC", order, strict=True)}
    return {"tracks": tracks, "procedure": lesson_values.plate()}


@cache
def _flown_with(mistake: str) -> tuple[Any, Any]:
    """Radials and distances of Saltmarsh's missed approach, flown with a mistake, every few seconds."""
    # Half of this module's loading time, and wanted for one picture only.
    from needlework.flying import pilot, plan
    from needlework.world import aircraft, weather

    early, through = mistake == "TURNED EARLY", mistake == "FLEW THROUGH"
    side = "right" if mistake == "WRONG WAY ROUND" else "left"
    follow: dict[str, Any] = {"heading_deg": 120} if through else {"follow": "needle 2"}
    rows: list[dict[str, Any]] = [
        {"then": {"course_1_deg": 214, "course_2_deg": 165, "follow": "needle 1"}},
        {"when": {"dme_rises_to_nm": 3.3}, "then": {"ias_kt": 75, "vs_fpm": 650, "level_ft": _HOLD_FT}},
        {"when": {"dme_rises_to_nm": 3.5 if early else _MAP_NM}, "then": {"heading_deg": 120, "turn": side}},
        {"when": {"needle_alive": 2}, "then": follow},
        {"when": {"dme_rises_to_nm": 10.5}, "then": {"end": True}},
    ]
    start = {"radial_deg": 214, "dme_nm": 2.0, "altitude_ft": _MDA_FT, "heading_deg": 214, "ias_kt": 80}
    station = lesson_values.plate().station
    still = weather.Day("still", "exercise", weather.parse("calm"), 15.0, 1013.0)
    flight = pilot.fly(plan.make_plan(rows, start, mistake), station, aircraft.load("Finch"), still, minutes=14)
    track = flight.track()
    radial_deg, dist_nm = geodesy.radial_and_distance(
        station_lat_deg=station.lat_deg,
        station_lon_deg=station.lon_deg,
        declination_deg=station.declination_deg,
        lat_deg=track.lat_deg,
        lon_deg=track.lon_deg,
    )
    return np.asarray(radial_deg)[::6], np.asarray(dist_nm)[::6]


# ---------------------------------------------------------------- the hold

_LETTERS = {"direct": "D", "parallel": "P", "teardrop": "T"}


def six_headings(random: Random) -> dict[str, Any]:
    """Draw a hold and six headings: one in each part of the sectors, and one at an edge.

    Two lie where sectors of 70 and 110 degrees exchanged give another entry.
    """
    inbound, side = random.randrange(10, 360, 5), random.choice(["left", "right"])
    # The outbound course seen from the heading, right positive for right turns.
    seen = [
        random.choice([20, 35, 50]),
        random.choice([-80, -90, -100]),
        random.choice([80, 90, 100]),
        random.choice([165, 185, 200]),
        random.choice([225, 235]),
        random.choice([0, 3, -3]),
    ]
    headings = [lesson_values.whole(inbound + 180 - _hand(side) * each) for each in seen]
    return {"inbound_deg": lesson_values.whole(inbound), "side": side, "headings": random.sample(headings, 6)}


def entry_letters(*, heading_deg: float, inbound_deg: float, side: str) -> tuple[str, ...]:
    """Entries that are right from a heading; two within five degrees of an edge (AIM 5-3-8; ICAO Doc 8168)."""
    found = holding.entries(heading_deg=heading_deg, inbound_course_deg=inbound_deg, side=side)
    return tuple(_LETTERS[name] for name in found)


_ENTRY_SENTENCES = {
    frozenset({"RECIP"}): "RECIP",
    frozenset({"SWAPPED"}): "SWAPPED",
    frozenset({"EDGE"}): "EDGE",
    frozenset({"MIRROR", "SWAPPED"}): "EITHER/mirror-or-swapped",
    frozenset({"MIRROR", "RECIP"}): "EITHER/mirror-or-recip",
    frozenset({"MIRROR", "RECIP", "EDGE"}): "EITHER/mirror-or-recip-or-edge",
}


def entry_mistake(*, answer: str, heading_deg: float, inbound_deg: float, side: str) -> str:
    """Name the mistake that leads to a wrong entry; where more than one does, all of them."""
    right = entry_letters(heading_deg=heading_deg, inbound_deg=inbound_deg, side=side)
    found = set()
    if answer in entry_letters(heading_deg=heading_deg, inbound_deg=inbound_deg, side=_other(side)):
        found.add("MIRROR")
    if answer in entry_letters(heading_deg=float(angles.reciprocal(heading_deg)), inbound_deg=inbound_deg, side=side):
        found.add("RECIP")
    if {answer, *right} == {"P", "T"}:
        found.add("SWAPPED")
    # Seen from the heading, the side of the turns positive.
    seen_deg = _hand(side) * _outbound_seen_deg(heading_deg, inbound_deg)
    if (answer == "T" and 70.0 < seen_deg <= 110.0) or (answer in "DP" and -140.0 <= seen_deg <= -70.0):
        found.add("EDGE")
    return _ENTRY_SENTENCES.get(frozenset(found), "SECTOR")


def _outbound_seen_deg(heading_deg: float, inbound_deg: float) -> float:
    """Where the outbound course lies, seen from a heading, right positive. [degrees]"""
    return float(angles.difference_deg(from_deg=heading_deg, to_deg=outbound_course(inbound_deg=inbound_deg)))


def where_outbound_lies(*, heading_deg: float, inbound_deg: float) -> str:
    """Say where the outbound course lies, seen from a heading."""
    seen_deg = round(_outbound_seen_deg(heading_deg, inbound_deg))
    if abs(seen_deg) >= 175:
        return "behind you"
    if seen_deg == 0:
        return "straight ahead"
    return f"{abs(seen_deg)}° {'right' if seen_deg > 0 else 'left'} of the nose"


def turns_of_the_hold(*, side: str) -> str:
    """Say to which side the hold turns."""
    return side


def hold_drawn(*, inbound_deg: float, side: str) -> dict[str, Any]:
    """Say how the hold is drawn."""
    return {"inbound_course_deg": inbound_deg, "side": side, "sectors": False}


def a_hold(random: Random) -> dict[str, Any]:
    """Draw a hold."""
    return {"inbound_deg": random.randrange(10, 360, 5), "side": random.choice(["left", "right"])}


def outbound_course(*, inbound_deg: float) -> float:
    """Outbound course of a hold. [degrees magnetic]"""
    return float(angles.reciprocal(inbound_deg))


def teardrop_heading(*, inbound_deg: float, side: str) -> float:
    """Heading of a teardrop entry. [degrees magnetic] (AIM 5-3-8)"""
    return float(holding.entry_heading_deg(inbound_course_deg=inbound_deg, side=side, entry="teardrop"))


def teardrop_mirrored(*, inbound_deg: float, side: str) -> float:
    """Thirty degrees to the wrong side. [degrees magnetic]"""
    return teardrop_heading(inbound_deg=inbound_deg, side=_other(side))


def teardrop_from_inbound(*, inbound_deg: float, side: str) -> float:
    """Thirty degrees laid off from the inbound course. [degrees magnetic]"""
    return float(angles.wrap360(inbound_deg - _hand(side) * 30.0))


def teardrop_mirrored_from_inbound(*, inbound_deg: float, side: str) -> float:
    """Thirty degrees from the inbound course, to the other side. [degrees magnetic]"""
    return teardrop_from_inbound(inbound_deg=inbound_deg, side=_other(side))


def teardrop_of_45(*, inbound_deg: float, side: str) -> float:
    """Forty-five degrees laid off. [degrees magnetic]"""
    return float(angles.wrap360(inbound_deg + 180.0 - _hand(side) * 45.0))


def teardrop_of_70(*, inbound_deg: float, side: str) -> float:
    """The edge of the sector laid off. [degrees magnetic]"""
    return float(angles.wrap360(inbound_deg + 180.0 - _hand(side) * 70.0))


# ---------------------------------------------------------------- the hold in wind


def a_crosswind(random: Random) -> dict[str, Any]:
    """Draw a wind from one side, its part across the course known."""
    return {
        "across_kt": random.choice([12, 14, 16, 18]),
        "tas_kt": random.choice([80, 90, 100, 110, 120]),
        "side": random.choice(["left", "right"]),
    }


def rule_correction(*, across_kt: float, tas_kt: float) -> float:
    """Correction by the rule of sixty. [degrees]"""
    return 60.0 * across_kt / tas_kt


def rule_upside_down(*, across_kt: float, tas_kt: float) -> float:
    """Airspeed over crosswind. [degrees]"""
    return tas_kt / across_kt


def rule_multiplied(*, across_kt: float, tas_kt: float) -> float:
    """Crosswind times miles a minute. [degrees]"""
    return across_kt * tas_kt / 60.0


def rule_thrice(*, across_kt: float, tas_kt: float) -> float:
    """Three times the correction. [degrees]"""
    return 3.0 * rule_correction(across_kt=across_kt, tas_kt=tas_kt)


def rule_halved(*, across_kt: float, tas_kt: float) -> float:
    """Thirty in place of sixty. [degrees]"""
    return 30.0 * across_kt / tas_kt


def a_found_heading(random: Random) -> dict[str, Any]:
    """Draw an inbound course and the heading that was found to hold it."""
    inbound = random.randrange(10, 360, 5)
    off_deg = random.choice([-1, 1]) * random.choice([6, 7, 8, 9])
    return {"inbound_deg": inbound, "found_deg": lesson_values.whole(inbound + off_deg)}


def found_correction(*, inbound_deg: float, found_deg: float) -> float:
    """Wind correction inbound as it was found, right positive. [degrees]"""
    return float(angles.difference_deg(from_deg=inbound_deg, to_deg=found_deg))


def correction_in_wind(*, inbound_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float) -> float:
    """Wind correction inbound out of the wind, right positive. [degrees]"""
    return float(
        wind.correction_deg(
            course_deg=inbound_deg,
            tas_kt=tas_kt,
            wind_from_deg=lesson_values.magnetic_deg(wind_true_deg),
            wind_kt=wind_kt,
        )
    )


def times_outbound(*, leg_min: float) -> float:
    """How many times the inbound correction pays for leg and turns: 1 + 2/T. [1]"""
    return float(holding.drift_factor(leg_min))


def times_without_the_leg(*, leg_min: float) -> float:
    """The turns alone. [1]"""
    return float(holding.drift_factor(leg_min)) - 1.0


def times_of_one_turn(*, leg_min: float) -> float:
    """One turn paid for. [1]"""
    return 1.0 + 1.0 / leg_min


def _times_at(leg_nm: float, course_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float) -> float:
    """Take the leg's minutes at the ground speed of a course. [1]"""
    blows_from = lesson_values.magnetic_deg(wind_true_deg)
    speed = wind.ground_speed_kt(course_deg=course_deg, tas_kt=tas_kt, wind_from_deg=blows_from, wind_kt=wind_kt)
    return times_outbound(leg_min=leg_nm * 60.0 / float(speed))


def times_at_the_ground_speed_in(
    *, leg_nm: float, inbound_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float
) -> float:
    """Take the leg's minutes at the ground speed inbound. [1]"""
    return _times_at(leg_nm, inbound_deg, tas_kt, wind_true_deg, wind_kt)


def times_at_the_ground_speed_out(
    *, leg_nm: float, inbound_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float
) -> float:
    """Take the leg's minutes at the ground speed outbound. [1]"""
    return _times_at(leg_nm, outbound_course(inbound_deg=inbound_deg), tas_kt, wind_true_deg, wind_kt)


def times_of_leg_and_turns(*, leg_min: float) -> float:
    """Give the minutes of leg and turns, undivided. [min]"""
    return leg_min + float(holding.TURNS_MIN)


def times_upside_down(*, leg_min: float) -> float:
    """Leg over turns. [1]"""
    return 1.0 + leg_min / float(holding.TURNS_MIN)


def _outbound(inbound_deg: float, off_deg: float) -> float:
    return float(angles.wrap360(outbound_course(inbound_deg=inbound_deg) - max(-30.0, min(30.0, off_deg))))


def outbound_heading(*, inbound_deg: float, correction_deg: float, leg_min: float) -> float:
    """Outbound heading with 1 + 2/T times the correction, at most 30. [degrees magnetic] (AIM 5-3-8)"""
    return _outbound(inbound_deg, times_outbound(leg_min=leg_min) * correction_deg)


def outbound_thrice(*, inbound_deg: float, correction_deg: float, leg_min: float) -> float | None:
    """Outbound heading with three times the correction; None for a leg of a minute. [degrees magnetic]"""
    return None if leg_min <= 1.0 else _outbound(inbound_deg, 3.0 * correction_deg)


def outbound_twice(*, inbound_deg: float, correction_deg: float, leg_min: float) -> float | None:
    """Outbound heading with twice the correction; None where that is near enough. [degrees magnetic]"""
    near = abs((times_outbound(leg_min=leg_min) - 2.0) * correction_deg) < 5.0
    return None if near else _outbound(inbound_deg, 2.0 * correction_deg)


def outbound_from_inbound_wrong(*, inbound_deg: float, correction_deg: float) -> float:
    """Three times the correction on the side it had, from the inbound course. [degrees magnetic]"""
    return float(angles.wrap360(inbound_deg + 3.0 * correction_deg))


def back_of_the_heading(*, found_deg: float) -> float:
    """The other end of the heading inbound. [degrees magnetic]"""
    return float(angles.reciprocal(found_deg))


def thrice_from_the_heading(*, found_deg: float, correction_deg: float) -> float:
    """Three times the correction laid off from the other end of the heading. [degrees magnetic]"""
    return float(angles.wrap360(found_deg + 180.0 - 3.0 * correction_deg))


def thrice_from_inbound_heading(*, found_deg: float, correction_deg: float) -> float:
    """Three times the correction laid off from the heading inbound. [degrees magnetic]"""
    return float(angles.wrap360(found_deg - 3.0 * correction_deg))


def outbound_of_a_long_leg(*, inbound_deg: float, correction_deg: float) -> float:
    """1.8 times the correction. [degrees magnetic]"""
    return _outbound(inbound_deg, 1.8 * correction_deg)


def outbound_at_the_limit(*, inbound_deg: float, correction_deg: float) -> float:
    """Thirty degrees, whatever the correction. [degrees magnetic]"""
    return _outbound(inbound_deg, float(np.copysign(30.0, correction_deg)))


def outbound_twice_wrong(*, inbound_deg: float, correction_deg: float) -> float:
    """Twice the correction, to the side it had. [degrees magnetic]"""
    return _outbound(inbound_deg, -2.0 * correction_deg)


def outbound_once(*, inbound_deg: float, correction_deg: float) -> float:
    """Outbound heading with the correction of a leg. [degrees magnetic]"""
    return _outbound(inbound_deg, correction_deg)


def outbound_wrong_side(*, inbound_deg: float, correction_deg: float, leg_min: float) -> float:
    """The correction to the side it had inbound. [degrees magnetic]"""
    return _outbound(inbound_deg, -times_outbound(leg_min=leg_min) * correction_deg)


def outbound_from_inbound(*, inbound_deg: float, correction_deg: float, leg_min: float) -> float:
    """The same, laid off from the inbound course. [degrees magnetic]"""
    right = outbound_heading(inbound_deg=inbound_deg, correction_deg=correction_deg, leg_min=leg_min)
    return float(angles.reciprocal(right))


def outbound_from_the_heading(
    *, outbound_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float, leg_min: float
) -> float:
    """Laid off from the other end of the heading inbound. [degrees magnetic]"""
    inbound = float(angles.reciprocal(outbound_deg))
    off = correction_in_wind(inbound_deg=inbound, tas_kt=tas_kt, wind_true_deg=wind_true_deg, wind_kt=wind_kt)
    return float(angles.wrap360(outbound_heading(inbound_deg=inbound, correction_deg=off, leg_min=leg_min) + off))


def outbound_in_wind(
    *, outbound_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float, leg_min: float
) -> float:
    """Outbound heading of a hold out of the wind. [degrees magnetic]"""
    return outbound_heading(
        inbound_deg=float(angles.reciprocal(outbound_deg)),
        correction_deg=correction_in_wind(
            inbound_deg=float(angles.reciprocal(outbound_deg)),
            tas_kt=tas_kt,
            wind_true_deg=wind_true_deg,
            wind_kt=wind_kt,
        ),
        leg_min=leg_min,
    )


_VARIATION_DEG = 13


def a_hold_in_wind(random: Random) -> dict[str, Any]:
    """Draw a hold with long legs in wind.

    It blows from a third of the way round to the beam, from right ahead or left behind, and hard: there half the
    correction, variation forgotten or subtracted and the part along for the part across all come to other headings.
    """
    wind_true, off_deg = random.randrange(10, 361, 10), random.choice([33, 34, -147, -146])
    inbound = lesson_values.magnetic_deg(wind_true) - off_deg
    tas_kt, wind_kt = random.choice(
        [(80, 22), (80, 24), (80, 26), (96, 27), (96, 29), (96, 30), (100, 28), (100, 30)]
    )
    return {
        "inbound_deg": lesson_values.whole(inbound),
        "outbound_deg": lesson_values.whole(inbound + 180),
        "tas_kt": tas_kt,
        "leg_nm": 4,
        "leg_min": 4.0 / tas_kt * 60.0,
        "wind_true_deg": wind_true,
        "wind_kt": wind_kt,
        "variation_deg": _VARIATION_DEG,
    }


def outbound_from_held(*, inbound_deg: float, held_deg: float, times: float) -> float:
    """Outbound heading from the one that holds the inbound course. [degrees magnetic]"""
    return _outbound(inbound_deg, times * found_correction(inbound_deg=inbound_deg, found_deg=held_deg))


def held_twice(*, inbound_deg: float, held_deg: float) -> float:
    """Twice the correction. [degrees magnetic]"""
    return _outbound(inbound_deg, 2.0 * found_correction(inbound_deg=inbound_deg, found_deg=held_deg))


def back_of_the_held(*, held_deg: float) -> float:
    """The other end of the heading inbound. [degrees magnetic]"""
    return float(angles.reciprocal(held_deg))


def held_from_the_heading(*, inbound_deg: float, held_deg: float, times: float) -> float:
    """Laid off from the other end of the heading. [degrees magnetic]"""
    off_deg = times * found_correction(inbound_deg=inbound_deg, found_deg=held_deg)
    return float(angles.wrap360(held_deg + 180.0 - off_deg))


def thirty_inbound(*, inbound_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float) -> float:
    """The limit of the leg outbound laid off inbound. [degrees magnetic]"""
    off_deg = correction_in_wind(inbound_deg=inbound_deg, tas_kt=tas_kt, wind_true_deg=wind_true_deg, wind_kt=wind_kt)
    return float(angles.wrap360(inbound_deg + np.copysign(30.0, off_deg)))


def times_by_the_miles(*, leg_nm: float) -> float:
    """Miles of the leg for its minutes. [1]"""
    return times_outbound(leg_min=leg_nm)


def held_once(*, inbound_deg: float, held_deg: float) -> float:
    """Outbound heading with the correction of a leg. [degrees magnetic]"""
    return _outbound(inbound_deg, found_correction(inbound_deg=inbound_deg, found_deg=held_deg))


def held_thrice(*, inbound_deg: float, held_deg: float) -> float:
    """Outbound heading with three times the correction. [degrees magnetic]"""
    return _outbound(inbound_deg, 3.0 * found_correction(inbound_deg=inbound_deg, found_deg=held_deg))


def held_wrong_side(*, inbound_deg: float, held_deg: float, times: float) -> float:
    """The correction to the side it had inbound. [degrees magnetic]"""
    return _outbound(inbound_deg, -times * found_correction(inbound_deg=inbound_deg, found_deg=held_deg))


def held_from_inbound(*, inbound_deg: float, held_deg: float, times: float) -> float:
    """The same, laid off from the inbound course. [degrees magnetic]"""
    right = outbound_from_held(inbound_deg=inbound_deg, held_deg=held_deg, times=times)
    return float(angles.reciprocal(right))


def worth_correcting(
    *, inbound_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float, leg_min: float
) -> bool:
    """Say whether the correction is large enough to matter, and its outbound share small enough to be flown."""
    off_deg = abs(
        correction_in_wind(inbound_deg=inbound_deg, tas_kt=tas_kt, wind_true_deg=wind_true_deg, wind_kt=wind_kt)
    )
    return off_deg >= 6.0 and off_deg * times_outbound(leg_min=leg_min) <= 29.5


def _heading_deg(course_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float) -> float:
    """Heading that holds a course. [degrees magnetic]"""
    blows_from_deg = lesson_values.magnetic_deg(wind_true_deg)
    return float(
        wind.heading_deg(course_deg=course_deg, tas_kt=tas_kt, wind_from_deg=blows_from_deg, wind_kt=wind_kt)
    )


def inbound_heading(*, inbound_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float) -> float:
    """Heading that holds the inbound course. [degrees magnetic]"""
    return _heading_deg(inbound_deg, tas_kt, wind_true_deg, wind_kt)


def an_airspeed(random: Random) -> dict[str, Any]:
    """Draw what the slider is set to."""
    return {"tas_kt": random.choice([80, 86, 92, 98])}


_BELDU_LEG_NM = 4.0


def beldu_min(*, tas_kt: float) -> float:
    """Still-air minutes of the leg at BELDU. [min]"""
    return _BELDU_LEG_NM / tas_kt * 60.0


def _square_wind_kt(tas_kt: float, correction_deg: float) -> float:
    """Speed of a wind from 250 that asks for a correction on 345. [kt]"""
    across = np.sin(np.deg2rad(345.0 - 250.0))
    return float(tas_kt * np.sin(np.deg2rad(correction_deg)) / across)


def wind_at_the_limit(*, tas_kt: float) -> float:
    """Wind in which the outbound correction at BELDU makes 30 degrees. [kt]"""
    return _square_wind_kt(tas_kt, 30.0 / times_outbound(leg_min=beldu_min(tas_kt=tas_kt)))


def wind_for_thrice(*, tas_kt: float) -> float:
    """Wind in which three times the correction makes 30 degrees. [kt]"""
    return _square_wind_kt(tas_kt, 30.0 / 3.0)


def wind_for_twice(*, tas_kt: float) -> float:
    """Wind in which twice the correction makes 30 degrees. [kt]"""
    return _square_wind_kt(tas_kt, 30.0 / 2.0)


def wind_for_the_example(*, tas_kt: float) -> float:
    """Wind in which 1.8 times the correction makes 30 degrees. [kt]"""
    return _square_wind_kt(tas_kt, 30.0 / 1.8)


def wind_for_ten_by_the_rule(*, tas_kt: float) -> float:
    """Wind in which the correction is ten degrees by the rule of sixty. [kt]"""
    return tas_kt / 6.0


def knots_of_ten() -> float:
    """Ten degrees for knots. [kt]"""
    return 10.0


def correction_at_the_limit(*, tas_kt: float) -> float:
    """Correction inbound for the wind. [degrees]"""
    return 30.0 / times_outbound(leg_min=beldu_min(tas_kt=tas_kt))


def wind_for_once(*, tas_kt: float) -> float:
    """Wind in which the correction itself makes 30 degrees. [kt]"""
    return _square_wind_kt(tas_kt, 30.0)


# ---------------------------------------------------------------- the legs of the hold


def a_lap(random: Random) -> dict[str, Any]:
    """Draw a lap: some seconds outbound, and what came of it inbound."""
    return {
        "outbound_s": random.choice([66, 70, 72, 78]),
        "inbound_s": random.choice([38, 41, 44, 47, 75, 78, 81, 84]),
    }


def next_outbound(*, outbound_s: float, inbound_s: float) -> float:
    """Time outbound on the next lap. [seconds] (common practice)"""
    return float(holding.next_outbound_s(outbound_s=outbound_s, inbound_s=inbound_s))


def next_outbound_wrong_way(*, outbound_s: float, inbound_s: float) -> float:
    """The change to the wrong side. [seconds]"""
    return outbound_s - (60.0 - inbound_s)


def next_outbound_of_both(*, outbound_s: float, inbound_s: float) -> float:
    """The two legs added. [seconds]"""
    return outbound_s + inbound_s


def next_outbound_difference(*, outbound_s: float, inbound_s: float) -> float:
    """The difference of the two legs. [seconds]"""
    return abs(outbound_s - inbound_s)


def next_outbound_change(*, inbound_s: float) -> float:
    """The change alone. [seconds]"""
    return abs(60.0 - inbound_s)


def next_outbound_from_outbound(*, outbound_s: float, inbound_s: float) -> float:
    """Inbound measured against the outbound leg. [seconds]"""
    return outbound_s + (outbound_s - inbound_s)


def next_outbound_from_a_minute(*, inbound_s: float) -> float:
    """The change put on a minute. [seconds]"""
    return 60.0 + (60.0 - inbound_s)


def next_outbound_of_a_sum(*, inbound_s: float) -> float:
    """A minute and the inbound leg. [seconds]"""
    return 60.0 + inbound_s


def next_outbound_swapped(*, outbound_s: float, inbound_s: float) -> float:
    """The legs exchanged. [seconds]"""
    return inbound_s + 60.0 - outbound_s


def next_outbound_twice(*, outbound_s: float, inbound_s: float) -> float:
    """Twice the change. [seconds]"""
    return outbound_s + 2.0 * (60.0 - inbound_s)


def next_outbound_half(*, outbound_s: float, inbound_s: float) -> float:
    """Half of the change. [seconds]"""
    return outbound_s + 0.5 * (60.0 - inbound_s)


def next_outbound_typed(*, outbound_s: float, inbound_s: float) -> float | None:
    """Minutes and seconds one behind the other; None below a minute. [seconds as typed]"""
    right = round(next_outbound(outbound_s=outbound_s, inbound_s=inbound_s))
    return None if right < 60 else right // 60 * 100.0 + right % 60


def next_outbound_with_a_point(*, outbound_s: float, inbound_s: float) -> float | None:
    """Minutes and seconds with a point between; None below a minute. [minutes as typed]"""
    typed = next_outbound_typed(outbound_s=outbound_s, inbound_s=inbound_s)
    return None if typed is None else typed / 100.0


def next_outbound_in_proportion(*, outbound_s: float, inbound_s: float) -> float:
    """Outbound time in proportion. [seconds]"""
    return outbound_s * 60.0 / inbound_s


def a_hold_by_dme(random: Random) -> dict[str, Any]:
    """Draw a hold whose legs end by DME."""
    return {
        "fix_nm": random.choice([12, 13, 15, 18, 22]),
        "leg_nm": random.choice([4, 5, 6]),
        "direction": random.choice(["to", "away from"]),
    }


def turn_inbound_at(*, fix_nm: float, leg_nm: float, direction: str) -> float:
    """DME reading at which the outbound leg ends. [NM] (AIM 5-3-8)"""
    return _outbound_end_nm(fix_nm, leg_nm, to_station=direction == "to")


def turn_inbound_other_way(*, fix_nm: float, leg_nm: float, direction: str) -> float:
    """Leg counted to the far side of the fix. [NM]"""
    return _outbound_end_nm(fix_nm, leg_nm, to_station=direction != "to")


def turn_inbound_twice_the_leg(*, fix_nm: float, leg_nm: float, direction: str) -> float:
    """The leg counted twice. [NM]"""
    return _outbound_end_nm(fix_nm, 2.0 * leg_nm, to_station=direction == "to")


def turn_inbound_half_the_leg(*, fix_nm: float, leg_nm: float, direction: str) -> float:
    """Half of the leg. [NM]"""
    return _outbound_end_nm(fix_nm, 0.5 * leg_nm, to_station=direction == "to")


def _outbound_end_nm(fix_nm: float, leg_nm: float, *, to_station: bool) -> float:
    return float(
        holding.outbound_end_nm(fix_dme_nm=fix_nm, leg_dme_nm=leg_nm, direction="to" if to_station else "from")
    )


# ---------------------------------------------------------------- flown by plan

_COURSES = {"course_deg": 214, "radial_deg": 165, "hold_deg": 345}


_HOLD_TAS_KT = 100
_FIX_NM, _END_NM = 14.0, 18.0


def _draw_wind(random: Random) -> dict[str, Any]:
    """Draw a wind nearly along the hold's course, and hard.

    Only there variation forgotten or subtracted leads an entry leg off by more than it is asked for.
    """
    wind_true, wind_kt = random.choice([(140, 22), (140, 24), (140, 26), (170, 26), (170, 27)])
    return {
        "wind_true_deg": (wind_true + random.choice([0, 180])) % 360,
        "wind_kt": wind_kt,
        "variation_deg": _VARIATION_DEG,
        "tas_kt": _HOLD_TAS_KT,
    }


def a_decision(random: Random) -> dict[str, Any]:
    """Draw where it is decided to go around, and the wind."""
    return {**_COURSES, **_draw_wind(random), "decided_nm": random.choice([3.2, 3.3, 3.4])}


_TEARDROP_DEG, _PARALLEL_DEG, _ENTRY_WITHIN_DEG = 135.0, 165.0, 2.0
_OUTWARD_DEG = 195.0  # a teardrop to the wrong side


def _entry_mistakes(course_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float) -> dict[str, float]:
    """Headings of the usual mistakes on an entry leg, by their codes. [degrees magnetic]"""
    right = _heading_deg(course_deg, tas_kt, wind_true_deg, wind_kt)
    off_deg = float(angles.difference_deg(from_deg=course_deg, to_deg=right))
    return {
        "NOWIND": course_deg,
        "WCASIGN": course_deg - off_deg,
        "TRIPLE": course_deg + 3.0 * off_deg,
        "TRUEWIND": _heading_deg(course_deg, tas_kt, wind_true_deg - _VARIATION_DEG, wind_kt),
        "VARSUB": _heading_deg(course_deg, tas_kt, wind_true_deg - 2.0 * _VARIATION_DEG, wind_kt),
    }


def _far_deg(one_deg: float, other_deg: float) -> float:
    return abs(float(angles.difference_deg(from_deg=one_deg, to_deg=other_deg)))


def entry_told_apart(*, tas_kt: float, wind_true_deg: float, wind_kt: float) -> bool:
    """Say whether every usual mistake lies clear of the right heading, on either entry."""
    for course in (_TEARDROP_DEG, _PARALLEL_DEG):
        right = _heading_deg(course, tas_kt, wind_true_deg, wind_kt)
        wrong = _entry_mistakes(course, tas_kt, wind_true_deg, wind_kt)
        if min(_far_deg(each, right) for each in wrong.values()) <= _ENTRY_WITHIN_DEG + 0.5:
            return False
    return True


def plan_mistake(*, filled: Mapping[str, Any], tas_kt: float, wind_true_deg: float, wind_kt: float) -> str | None:
    """Name the mistake behind the heading after the fix; None where there is none, or more than one fits.

    The side of the turn back says which entry is meant.
    """
    course = _TEARDROP_DEG if filled["turn inbound to the"] == "RIGHT" else _PARALLEL_DEG
    heading = float(filled["heading after BELDU"])
    if _far_deg(heading, _heading_deg(course, tas_kt, wind_true_deg, wind_kt)) <= _ENTRY_WITHIN_DEG + 0.5:
        return None
    other = _PARALLEL_DEG if course == _TEARDROP_DEG else _TEARDROP_DEG
    if _far_deg(heading, other) <= 1.0:
        return "MIXED"
    mistakes = _entry_mistakes(course, tas_kt, wind_true_deg, wind_kt)
    # With the turn back as it belongs, the heading alone may still lean outward.
    mistakes["MIRROR"] = _heading_deg(_OUTWARD_DEG, tas_kt, wind_true_deg, wind_kt)
    named = [name for name, wrong in mistakes.items() if _far_deg(heading, wrong) <= 1.0]
    return named[0] if len(named) == 1 else None


def _example(code: str, tas_kt: float, wind_true_deg: float, wind_kt: float) -> dict[str, Any] | None:
    """Give the teardrop heading of a mistake; None where it could be another mistake. [blanks]"""
    heading = _entry_mistakes(_TEARDROP_DEG, tas_kt, wind_true_deg, wind_kt)[code]
    filled = {"heading after BELDU": float(lesson_values.whole(heading)), "turn inbound to the": "RIGHT"}
    air = {"tas_kt": tas_kt, "wind_true_deg": wind_true_deg, "wind_kt": wind_kt}
    if plan_mistake(filled=filled, **air) != code:
        return None
    return {"heading after BELDU": filled["heading after BELDU"]}


def entry_of_two() -> dict[str, Any]:
    """Take the course of the teardrop, and the turn inbound of the parallel entry. [blanks]"""
    return {"heading after BELDU": float(_TEARDROP_DEG), "turn inbound to the": "LEFT"}


def entry_no_wind(*, tas_kt: float, wind_true_deg: float, wind_kt: float) -> dict[str, Any] | None:
    """No wind correction on the entry leg. [blanks]"""
    return _example("NOWIND", tas_kt, wind_true_deg, wind_kt)


def entry_wrong_side(*, tas_kt: float, wind_true_deg: float, wind_kt: float) -> dict[str, Any] | None:
    """Wind correction downwind. [blanks]"""
    return _example("WCASIGN", tas_kt, wind_true_deg, wind_kt)


def entry_triple(*, tas_kt: float, wind_true_deg: float, wind_kt: float) -> dict[str, Any] | None:
    """Three times the correction. [blanks]"""
    return _example("TRIPLE", tas_kt, wind_true_deg, wind_kt)


def entry_wind_in_true(*, tas_kt: float, wind_true_deg: float, wind_kt: float) -> dict[str, Any] | None:
    """Wind taken as it stands, in true. [blanks]"""
    return _example("TRUEWIND", tas_kt, wind_true_deg, wind_kt)


def entry_variation_subtracted(*, tas_kt: float, wind_true_deg: float, wind_kt: float) -> dict[str, Any] | None:
    """Variation subtracted. [blanks]"""
    return _example("VARSUB", tas_kt, wind_true_deg, wind_kt)


def plan_begin(*, wind_true_deg: float, wind_kt: float) -> dict[str, Any]:
    """Say where the planned flight begins: level at minimums past the step-down fix, on course."""
    return {
        "radial_deg": 214,
        "dme_nm": 3.0,
        "altitude_ft": _MDA_FT,
        "heading_deg": _final_heading(wind_true_deg, wind_kt),
        "ias_kt": 84,
        "configuration": "landing flap",
    }


def _final_heading(wind_true_deg: float, wind_kt: float) -> float:
    """Heading that holds the final. [degrees magnetic]"""
    return float(lesson_values.whole(_heading_deg(214.0, 86.0, wind_true_deg, wind_kt)))


def plan_right(*, decided_nm: float, tas_kt: float, wind_true_deg: float, wind_kt: float) -> dict[str, Any]:
    """Give blanks that pass: a teardrop entry."""
    return {
        "climb from DME": float(decided_nm),
        "turn not before DME": _MAP_NM,
        "turn not below": 900.0,
        "turn to the": "LEFT",
        "heading to intercept": 120.0,
        "course 2": 165.0,
        "heading after BELDU": float(lesson_values.whole(_heading_deg(135.0, tas_kt, wind_true_deg, wind_kt))),
        "outbound to DME": 18.0,
        "turn inbound to the": "RIGHT",
        "course 1 inbound": 345.0,
    }


def plan_rows(*, filled: Mapping[str, Any], wind_true_deg: float, wind_kt: float) -> list[dict[str, Any]]:
    """Give the rows of the plan."""
    first = {
        "identify": True,
        "course_1_deg": 214,
        "course_2_deg": filled["course 2"],
        # The heading that held the course down to here is held on: straight ahead.
        "heading_deg": _final_heading(wind_true_deg, wind_kt),
        "ias_kt": 84,
    }
    return [{"then": first, "note": "final"}, *_way_out(filled)]


def _way_out(filled: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Rows from the decision to the fix of the hold and back to it."""
    return [
        {
            "when": {"dme_rises_to_nm": filled["climb from DME"]},
            "then": {"vs_fpm": 650, "level_ft": _HOLD_FT, "ias_kt": 75, "configuration": "approach flap"},
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
            "then": {"heading_deg": filled["course 1 inbound"], "turn": filled["turn inbound to the"].lower()},
            "note": "turn inbound",
        },
        {"when": {"heading_reached": True}, "then": {"follow": "needle 1"}, "note": "inbound"},
        {"when": {"dme_falls_to_nm": 14.0}, "then": {"end": True}, "note": "end"},
    ]


def climb_from_the_map() -> dict[str, Any]:
    """The climb kept back to the missed approach point. [blanks]"""
    return {"climb from DME": _MAP_NM}


def climb_from_the_vdp() -> dict[str, Any]:
    """The climb kept back to the visual descent point. [blanks]"""
    return {"climb from DME": _VDP_NM}


def turn_at_the_top() -> dict[str, Any]:
    """The missed approach altitude for that of the turn. [blanks]"""
    return {"turn not below": 3600.0}


def heading_beside() -> dict[str, Any]:
    """The radial for the heading. [blanks]"""
    return {"heading to intercept": 165.0}


def entry_inbound() -> dict[str, Any]:
    """The inbound course for the heading of the entry. [blanks]"""
    return {"heading after BELDU": 345.0}


def turn_by_altitude_alone(*, decided_nm: float) -> dict[str, Any]:
    """The turn waits for the altitude, not for the missed approach point. [blanks]"""
    return {"turn not before DME": float(decided_nm)}


def turn_to_the_right() -> dict[str, Any]:
    """The wrong way round. [blanks]"""
    return {"turn to the": "RIGHT"}


def heading_away() -> dict[str, Any]:
    """The angle on the wrong side of parallel. [blanks]"""
    return {"heading to intercept": 210.0}


def course_back() -> dict[str, Any]:
    """The other end of the radial. [blanks]"""
    return {"course 2": 345.0}


def course_of_the_final() -> dict[str, Any]:
    """The second selector left on the final. [blanks]"""
    return {"course 2": 214.0}


def heading_on_course_2() -> dict[str, Any]:
    """The heading to intercept on the second selector. [blanks]"""
    return {"course 2": 120.0}


def leg_not_flown() -> dict[str, Any]:
    """The fix for the end of the leg. [blanks]"""
    return {"outbound to DME": 14.0}


def leg_for_its_end() -> dict[str, Any]:
    """The length of the leg for its end. [blanks]"""
    return {"outbound to DME": 4.0}


def dme_counted_down() -> dict[str, Any]:
    """The leg taken from the fix's reading. [blanks]"""
    return {"outbound to DME": 10.0}


def teardrop_outward(*, tas_kt: float, wind_true_deg: float, wind_kt: float) -> dict[str, Any]:
    """The teardrop of a hold with left turns. [blanks]"""
    heading_deg = lesson_values.whole(_heading_deg(_OUTWARD_DEG, tas_kt, wind_true_deg, wind_kt))
    return {"heading after BELDU": float(heading_deg), "turn inbound to the": "LEFT"}


def final_for_inbound() -> dict[str, Any]:
    """The first selector left on the final. [blanks]"""
    return {"course 1 inbound": 214.0}


def outbound_for_inbound() -> dict[str, Any]:
    """The outbound course for the inbound one. [blanks]"""
    return {"course 1 inbound": 165.0}


# ---------------------------------------------------------------- flown by hand

# From here a descent to the threshold is twice as steep as the line and more: no normal one.
_LATE_NM, _LATE = 4.6, "The runway comes in sight, 0.6 NM ahead and 500 ft below. Decide."


def a_final(random: Random) -> dict[str, Any]:
    """Draw the wind, and whether the runway is seen too late or never."""
    return {
        **_COURSES,
        "wind_true_deg": random.randrange(10, 361, 10),
        "wind_kt": random.choice([10, 12, 14]),
        "variation_deg": _VARIATION_DEG,
        "tas_kt": _HOLD_TAS_KT,
        "map_nm": _MAP_NM,
        "runway": random.choice(["never", "late"]),
    }


def hand_begin() -> dict[str, Any]:
    """Say where the flight by hand begins."""
    return {
        "radial_deg": 214,
        "dme_nm": 1.0,
        "altitude_ft": 1440,
        "heading_deg": 214,
        "ias_kt": 84,
        "configuration": "landing flap",
    }


def hand_day(*, wind_true_deg: float, wind_kt: float) -> Day:
    """Give the day flown in by hand."""
    return plan_days(wind_true_deg=wind_true_deg, wind_kt=wind_kt, hidden=False)[0]


def hand_courses() -> tuple[float, float]:
    """Give what the selectors show at first: the final, and the lead radial of the arc. [degrees magnetic]"""
    return (214.0, 22.0)


def hand_calls(*, runway: str) -> tuple[tuple[float, str], ...]:
    """Give what is seen outside, by the DME reading at which it is. [NM]"""
    return ((_LATE_NM, _LATE),) if runway == "late" else ()


def hand_floors() -> tuple[tuple[float, float, float], ...]:
    """Floors of the final: from and to along the course, lowest altitude. [NM], [ft]"""
    return ((0.0, 3.0, 780.0), (3.0, 99.0, float(_MDA_FT)))


def minimums() -> float:
    """Minimums of Saltmarsh. [ft]"""
    return float(_MDA_FT)


def hand_rows(*, tas_kt: float, wind_true_deg: float, wind_kt: float) -> list[dict[str, Any]]:
    """Give the rows of a plan that flies it well: down to minimums, around at the missed approach point."""
    gs_kt = float(
        wind.ground_speed_kt(
            course_deg=214.0, tas_kt=86.0, wind_from_deg=lesson_values.magnetic_deg(wind_true_deg), wind_kt=wind_kt
        )
    )
    down_fpm = -rate(gradient_ft_nm=lesson_values.plate().gradient_ft_nm, gs_kt=gs_kt)
    first = {
        "identify": True,
        "course_1_deg": 214,
        "course_2_deg": 165,
        "follow": "needle 1",
        "vs_fpm": down_fpm,
        "level_ft": 780,
    }
    right = plan_right(decided_nm=_MAP_NM, tas_kt=tas_kt, wind_true_deg=wind_true_deg, wind_kt=wind_kt)
    return [
        {"then": first, "note": "final"},
        {"when": {"dme_rises_to_nm": 3.0}, "then": {"vs_fpm": down_fpm, "level_ft": _MDA_FT}, "note": "step-down"},
        *_way_out(right),
    ]


# ---------------------------------------------------------------- one lap of a hold, flown by plan

_LIDRA = {"hold_deg": 75, "radial_deg": 75, "fix_nm": 12.0}
_LAP_TAS_KT = 95


def a_first_lap(random: Random) -> dict[str, Any]:
    """Draw a wind at LIDRA, and what a first lap in it gave: the heading inbound, and the seconds."""
    wind_true = random.choice([10, 110, 190, 200, 280, 290])
    wind_kt = random.choice([14, 15, 16, 17, 18])
    off_deg = correction_in_wind(inbound_deg=75.0, tas_kt=_LAP_TAS_KT, wind_true_deg=wind_true, wind_kt=wind_kt)
    drawn = {
        **_LIDRA,
        "tas_kt": _LAP_TAS_KT,
        "wind_true_deg": wind_true,
        "wind_kt": wind_kt,
        "variation_deg": _VARIATION_DEG,
        "found_deg": lesson_values.whole(75.0 + off_deg),
        "first_s": 60,
    }
    return drawn | {"inbound_s": round(_lap_at(drawn, _lap_out_deg(drawn), 60.0)[1])}


def _lap_out_deg(drawn: Mapping[str, Any]) -> float:
    correction = found_correction(inbound_deg=75.0, found_deg=drawn["found_deg"])
    return outbound_heading(inbound_deg=75.0, correction_deg=correction, leg_min=1.0)


def _lap_at(drawn: Mapping[str, Any], out_deg: float, outbound_s: float) -> tuple[float, float]:
    """Fly a lap, its outbound clock started abeam: how far beside the course it ends, time inbound. [NM], [s]"""
    blows_from = lesson_values.magnetic_deg(drawn["wind_true_deg"])
    air = {"tas_kt": drawn["tas_kt"], "wind_from_deg": blows_from, "wind_kt": drawn["wind_kt"]}
    pattern = {"inbound_course_deg": 75.0, "side": "left", "outbound_deg": out_deg, **air}
    found = holding.lap(outbound_s=200.0, **pattern)
    ahead_nm = found.east_nm * np.sin(np.deg2rad(75.0)) + found.north_nm * np.cos(np.deg2rad(75.0))
    abeam = int(np.argmax((ahead_nm < 0.0) & (found.time_s > 10.0)))
    turned = np.abs(np.asarray(angles.difference_deg(from_deg=out_deg, to_deg=found.heading_deg))) < 0.5
    level_s = float(found.time_s[int(np.argmax(turned))])
    lap = holding.lap(outbound_s=max(float(found.time_s[abeam]) - level_s + outbound_s, 5.0), **pattern)
    return lap.off_nm, lap.inbound_s


def lap_worth_flying(
    *, wind_true_deg: float, wind_kt: float, tas_kt: float, found_deg: float, inbound_s: float, first_s: float
) -> bool:
    """Say whether the next lap comes right by the rules, and would not by the usual mistakes."""
    drawn = {"wind_true_deg": wind_true_deg, "wind_kt": wind_kt, "tas_kt": tas_kt, "found_deg": found_deg}
    correction = found_correction(inbound_deg=75.0, found_deg=found_deg)
    out_deg = _lap_out_deg(drawn)
    if not 6.0 <= abs(correction) <= 10.0 or abs(inbound_s - 60.0) < 14.0:
        return False
    off_nm, seconds = _lap_at(drawn, out_deg, next_outbound(outbound_s=first_s, inbound_s=inbound_s))
    once_nm, _ = _lap_at(drawn, outbound_once(inbound_deg=75.0, correction_deg=correction), first_s)
    return abs(off_nm) < 0.2 and -5.5 < seconds - 60.0 < 7.0 and abs(once_nm) > 0.35


def lap_begin(*, found_deg: float) -> dict[str, Any]:
    """Say where the lap begins: inbound, half a mile before the fix."""
    return {
        "radial_deg": 75,
        "dme_nm": 11.2,
        "altitude_ft": 3500,
        "heading_deg": float(found_deg),
        "ias_kt": 90,
    }


def lap_right(*, found_deg: float, inbound_s: float, first_s: float) -> dict[str, Any]:
    """Give blanks that pass."""
    out_deg = _lap_out_deg({"found_deg": found_deg})
    return {
        "turn at LIDRA to the": "LEFT",
        "outbound heading": float(lesson_values.whole(out_deg)),
        "seconds from abeam": next_outbound(outbound_s=first_s, inbound_s=inbound_s),
        "turn inbound to the": "LEFT",
        "course 1": 75.0,
    }


def lap_seconds_by_the_rule(*, inbound_s: float, first_s: float) -> float:
    """Give the outbound time of the second lap by the rule. [seconds]"""
    return next_outbound(outbound_s=first_s, inbound_s=inbound_s)


def lap_rows(*, filled: Mapping[str, Any], found_deg: float) -> list[dict[str, Any]]:
    """Give the rows of one lap: out at the fix, clock abeam, back to the fix."""
    return [
        # The heading that holds the course is known: it is held, so that the lap begins on the course.
        {"then": {"identify": True, "course_1_deg": filled["course 1"]}, "note": "inbound"},
        {
            "when": {"dme_rises_to_nm": 12.0},
            "then": {"heading_deg": filled["outbound heading"], "turn": filled["turn at LIDRA to the"].lower()},
            "note": "LIDRA",
        },
        # The reading is 12.0 as the turn begins; what is waited for is the 12.0 that comes back.
        {"when": {"after_s": 15}, "then": {"ias_kt": 90}, "note": "in the turn"},
        {"when": {"dme_falls_to_nm": 12.0}, "then": {"clock": "start"}, "note": "abeam"},
        {
            "when": {"clock_s": filled["seconds from abeam"]},
            "then": {"heading_deg": float(found_deg), "turn": filled["turn inbound to the"].lower()},
            "note": "turn inbound",
        },
        {"when": {"heading_reached": True}, "then": {"follow": "needle 1"}, "note": "back inbound"},
        {"when": {"dme_rises_to_nm": 12.0}, "then": {"end": True}, "note": "end"},
    ]


def lap_days(*, wind_true_deg: float, wind_kt: float) -> list[Day]:
    """Give the day of the first lap: its numbers hold in no other wind."""
    return plan_days(wind_true_deg=wind_true_deg, wind_kt=wind_kt, hidden=False)


def lap_no_wind() -> dict[str, Any]:
    """No correction outbound. [blanks]"""
    return {"outbound heading": 255.0}


def lap_once(*, found_deg: float) -> dict[str, Any]:
    """The correction of a leg. [blanks]"""
    return {"outbound heading": lesson_values.mirrored_deg(255.0, 255.0 + float(found_deg) - 75.0)}


def lap_wrong_side(*, found_deg: float) -> dict[str, Any]:
    """Three times to the side it had inbound. [blanks]"""
    right = _lap_out_deg({"found_deg": found_deg})
    return {"outbound heading": lesson_values.mirrored_deg(255.0, right)}


def lap_of_a_long_leg(*, found_deg: float) -> dict[str, Any]:
    """1.8 times the correction. [blanks]"""
    out_deg = _outbound(75.0, 1.8 * found_correction(inbound_deg=75.0, found_deg=found_deg))
    return {"outbound heading": float(lesson_values.whole(out_deg))}


def lap_twice(*, found_deg: float) -> dict[str, Any]:
    """Twice the correction, or three times from the other end of the heading. [blanks]"""
    out_deg = _outbound(75.0, 2.0 * found_correction(inbound_deg=75.0, found_deg=found_deg))
    return {"outbound heading": float(lesson_values.whole(out_deg))}


def lap_back_of_the_heading(*, found_deg: float) -> dict[str, Any]:
    """The other end of the heading inbound. [blanks]"""
    return {"outbound heading": float(angles.reciprocal(found_deg))}


def lap_change_alone(*, inbound_s: float) -> dict[str, Any]:
    """The change of the seconds alone. [blanks]"""
    return {"seconds from abeam": float(next_outbound_change(inbound_s=inbound_s))}


def lap_heading_for_course(*, found_deg: float) -> dict[str, Any]:
    """The heading for the course. [blanks]"""
    return {"course 1": float(found_deg)}


def lap_from_inbound(*, found_deg: float) -> dict[str, Any]:
    """The outbound correction laid off from the inbound course. [blanks]"""
    out_deg = lesson_values.whole(_lap_out_deg({"found_deg": found_deg}))
    return {"outbound heading": float(angles.reciprocal(out_deg))}


def lap_same_time() -> dict[str, Any]:
    """The first lap's time again. [blanks]"""
    return {"seconds from abeam": 60.0}


def lap_half_the_change(*, inbound_s: float, first_s: float) -> dict[str, Any]:
    """Half of the change. [blanks]"""
    return {"seconds from abeam": next_outbound_half(outbound_s=first_s, inbound_s=inbound_s)}


def lap_time_wrong_way(*, inbound_s: float, first_s: float) -> dict[str, Any]:
    """The change to the wrong side. [blanks]"""
    return {"seconds from abeam": next_outbound_wrong_way(outbound_s=first_s, inbound_s=inbound_s)}


def lap_other_side() -> dict[str, Any]:
    """Both turns the other way. [blanks]"""
    return {"turn at LIDRA to the": "RIGHT", "turn inbound to the": "RIGHT"}


def lap_course_back() -> dict[str, Any]:
    """The course back to the station. [blanks]"""
    return {"course 1": 255.0}


# ---------------------------------------------------------------- the task

_FIELDS: dict[str, dict[str, Any]] = {
    "ezrick": {
        "field": "Ezrick",
        "first": "climb on 277 to 2,200 ft",
        "radial_deg": 340,
        "side": "right",
        "gradient_ft_nm": 300,
        "final_deg": 277,
        "hold_deg": 160,
        "hold_side": "right",
        "leads": "to",
        "leg_nm": 4.0,
        # Winds in which the usual mistakes come to headings of their own: from [degrees true], speed [kt].
        "winds": [(30, 22), (90, 24), (110, 26), (210, 22), (270, 24), (290, 26)],
    },
    "wygate": {
        "field": "Wygate",
        "first": "climb on 023 to 1,500 ft and 3 DME past the station",
        "radial_deg": 75,
        "side": "right",
        "gradient_ft_nm": 240,
        "final_deg": 23,
        "hold_deg": 75,
        "hold_side": "left",
        "leads": "away from",
        "leg_nm": 0.0,
        "winds": [(10, 16), (20, 18), (90, 26), (130, 16), (190, 16), (200, 18), (270, 26), (310, 16)],
    },
}


def a_brief(random: Random) -> dict[str, Any]:
    """Draw another missed approach and its hold."""
    place = _FIELDS[random.choice(sorted(_FIELDS))]
    tas_kt, climb_tas_kt = random.choice([90, 96, 100]), random.choice([82, 84, 88])
    along, along_kt = random.choice(["headwind", "tailwind"]), random.choice([12, 14, 16])
    wind_true, wind_kt = random.choice(place["winds"])
    leg_min = place["leg_nm"] / tas_kt * 60.0 or 1.0
    return {
        **{name: value for name, value in place.items() if name != "winds"},
        "inbound_deg": place["hold_deg"],
        "outbound_deg": lesson_values.whole(place["hold_deg"] + 180),
        "leg_min": leg_min,
        "legs": f"legs of {place['leg_nm']:g} NM by DME (their minutes in still air)"
        if place["leg_nm"]
        else "legs of one minute",
        "along_kt": along_kt,
        "along": along,
        "climb_tas_kt": climb_tas_kt,
        "climb_gs_kt": climb_tas_kt + (along_kt if along == "tailwind" else -along_kt),
        "cut_deg": 40,  # as on both plates
        "tas_kt": tas_kt,
        "wind_true_deg": wind_true,
        "wind_kt": wind_kt,
        "variation_deg": _VARIATION_DEG,
    }


def radial_not_outbound(*, radial_deg: float, outbound_deg: float) -> float | None:
    """The radial of the missed approach; None where it is the outbound course of the hold. [degrees magnetic]"""
    return None if radial_deg == outbound_deg else radial_deg


def rate_swapped(*, gradient_ft_nm: float, tas_kt: float, along_kt: float, along: str) -> float:
    """Headwind taken for tailwind. [fpm]"""
    return rate(gradient_ft_nm=gradient_ft_nm, gs_kt=ground_speed(tas_kt=tas_kt, along_kt=-along_kt, along=along))
