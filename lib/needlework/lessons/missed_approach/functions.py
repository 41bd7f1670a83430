"""Numbers of the lesson on the missed approach and the hold: draws, right answers, what a slip comes to."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from random import Random
from typing import TYPE_CHECKING, Any

import numpy as np

from needlework.exercises import lesson_values
from needlework.exercises.lesson_values import plan_days
from needlework.trade import angles, geodesy, holding, missed, units, wind

if TYPE_CHECKING:
    from needlework.world.weather import Day


def _hand(side: str) -> int:
    return 1 if side == "right" else -1


def _other(side: str) -> str:
    return "left" if side == "right" else "right"


# ---------------------------------------------------------------- recall


def a_descent(random: Random) -> dict[str, Any]:
    """Draw a descent line flown into the wind."""
    return {
        "gradient_ft_nm": random.choice([305, 317, 330]),
        "tas_kt": random.choice([84, 88, 96, 102]),
        "headwind_kt": random.choice([12, 14, 16, 18]),
    }


def rate(*, gradient_ft_nm: float, gs_kt: float) -> float:
    """Rate that makes a gradient at a ground speed. [fpm] (AIM 5-4-21)"""
    return float(missed.climb_fpm(gradient_ft_nm=gradient_ft_nm, gs_kt=gs_kt))


def rate_at_airspeed(*, gradient_ft_nm: float, tas_kt: float) -> float:
    """Airspeed taken for ground speed. [fpm]"""
    return rate(gradient_ft_nm=gradient_ft_nm, gs_kt=tas_kt)


def rate_into_wind(*, gradient_ft_nm: float, tas_kt: float, headwind_kt: float) -> float:
    """Rate that makes a gradient against a headwind. [fpm]"""
    return rate(gradient_ft_nm=gradient_ft_nm, gs_kt=tas_kt - headwind_kt)


def rate_with_wind(*, gradient_ft_nm: float, tas_kt: float, headwind_kt: float) -> float:
    """Headwind added to the airspeed. [fpm]"""
    return rate(gradient_ft_nm=gradient_ft_nm, gs_kt=tas_kt + headwind_kt)


# ---------------------------------------------------------------- climb


def a_gradient(random: Random) -> dict[str, Any]:
    """Draw a published gradient and a ground speed."""
    return {
        "gradient_ft_nm": random.choice([220, 240, 270, 300]),
        "gs_kt": random.choice([80, 85, 95, 100, 105]),
    }


def rate_upside_down(*, gradient_ft_nm: float, gs_kt: float) -> float:
    """Gradient over ground speed. [fpm]"""
    return gradient_ft_nm * 60.0 / gs_kt


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


def ground_speed_swapped(*, tas_kt: float, along_kt: float, along: str) -> float:
    """Headwind taken for tailwind. [kt]"""
    return ground_speed(tas_kt=tas_kt, along_kt=-along_kt, along=along)


def gradient_made(*, vs_fpm: float, tas_kt: float, along_kt: float, along: str) -> float:
    """Gradient of a climb over the ground. [ft/NM]"""
    return _gradient_ft_nm(vs_fpm, ground_speed(tas_kt=tas_kt, along_kt=along_kt, along=along))


def gradient_swapped(*, vs_fpm: float, tas_kt: float, along_kt: float, along: str) -> float:
    """Headwind taken for tailwind. [ft/NM]"""
    return gradient_made(vs_fpm=vs_fpm, tas_kt=tas_kt, along_kt=-along_kt, along=along)


def gradient_in_the_air(*, vs_fpm: float, tas_kt: float) -> float:
    """Gradient through the air. [ft/NM]"""
    return _gradient_ft_nm(vs_fpm, tas_kt)


def gradient_multiplied(*, vs_fpm: float, tas_kt: float, along_kt: float, along: str) -> float:
    """Rate times miles a minute where it should be divided. [ft/NM]"""
    return rate(gradient_ft_nm=vs_fpm, gs_kt=ground_speed(tas_kt=tas_kt, along_kt=along_kt, along=along))


def enough(*, vs_fpm: float, tas_kt: float, along_kt: float, along: str, gradient_ft_nm: float) -> str:
    """YES where the climb over the ground makes the published gradient, else NO."""
    made = gradient_made(vs_fpm=vs_fpm, tas_kt=tas_kt, along_kt=along_kt, along=along)
    return "YES" if made >= gradient_ft_nm else "NO"


def enough_in_still_air(*, vs_fpm: float, tas_kt: float, along_kt: float, along: str, gradient_ft_nm: float) -> str:
    """The other word: so it would be without the wind, by the way the climb is drawn."""
    right = enough(vs_fpm=vs_fpm, tas_kt=tas_kt, along_kt=along_kt, along=along, gradient_ft_nm=gradient_ft_nm)
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


def altitude_gained(*, mda_ft: float, early_nm: float, vs_fpm: float, gs_kt: float) -> float:
    """The gain taken for the altitude. [ft]"""
    return altitude_at_map(mda_ft=mda_ft, early_nm=early_nm, vs_fpm=vs_fpm, gs_kt=gs_kt) - mda_ft


# ---------------------------------------------------------------- the decision

_MDA_FT, _DDA_FT, _TDZ_FT = 560, 610, 62
_VDP_NM, _MAP_NM, _THRESHOLD_NM = 3.8, 4.7, 5.2
_REQUIRED_M = 1500
_MISSING = {"position": "GP", "visibility": "GV", "reference": "GR"}
_NOT_DOWN = {"LV": "early", "GV": "nearly", "GP": "dive"}


def twelve_moments(random: Random) -> dict[str, Any]:
    """Draw twelve moments: where, how high, what is seen; in an order of the student's own."""

    def case(said: str, alt_ft: int, dme_nm: float, vis_m: int, seen: tuple[str, ...], **more: Any) -> dict[str, Any]:
        facts = {"alt_ft": alt_ft, "dme_nm": dme_nm, "vis_m": vis_m, "seen": seen, "position": True, "line": False}
        return {"said": said.format(alt=alt_ft, dme=dme_nm, vis=f"{vis_m:,}"), **facts, **more}

    low_vis_m = random.choice([1300, 1400])
    cases = [
        case(
            "D{dme}, {alt} ft: runway in sight, visibility {vis} m",
            _MDA_FT,
            random.choice([3.2, 3.4]),
            3000,
            ("runway",),
        ),
        case(
            "D{dme}, {alt} ft: runway lights in sight, a normal descent is just possible, visibility {vis} m",
            _MDA_FT,
            3.8,
            random.choice([1800, 2200]),
            ("runway lights",),
        ),
        case("D{dme}, {alt} ft: nothing in sight, visibility {vis} m", _MDA_FT, random.choice([4.0, 4.2]), 1000, ()),
        # Half a mile from the threshold and 450 ft above it no descent is a normal one any more.
        case("D4.7, {alt} ft: nothing in sight, visibility {vis} m", _MDA_FT, 4.7, 2000, (), position=False),
        case(
            "D{dme}, {alt} ft: the runway appears, visibility {vis} m; only a dive would reach it",
            _MDA_FT,
            random.choice([4.4, 4.5]),
            4000,
            ("runway",),
            position=False,
        ),
        case(
            "D{dme}, {alt} ft, going down to land: a shower, nothing in sight any more, visibility {vis} m",
            random.choice([380, 420]),
            4.2,
            2000,
            (),
        ),
        case(
            "D{dme}, {alt} ft, going down to land: approach lights and nothing else in sight, visibility {vis} m",
            random.choice([230, 250]),
            4.8,
            1800,
            ("approach lights",),
        ),
        case(
            "D{dme}, {alt} ft, going down to land: approach lights and nothing else in sight, visibility {vis} m",
            random.choice([140, 150]),
            5.0,
            1800,
            ("approach lights",),
        ),
        case(
            "D{dme}, {alt} ft, going down to land: approach lights with their red side row bars in sight, visibility "
            "{vis} m",
            random.choice([135, 145]),
            5.0,
            1700,
            ("approach lights", "red bars"),
        ),
        case(
            "D{dme}, {alt} ft, going down to land: runway in sight, but visibility is now {vis} m, nearly what is "
            "asked",
            random.choice([340, 360]),
            4.3,
            low_vis_m,
            ("runway",),
        ),
        case(
            "D{dme}, {alt} ft, in cloud, nothing in sight, visibility {vis} m",
            random.choice([800, 840]),
            3.0,
            800,
            (),
        ),
        case(
            "D{dme}, {alt} ft, on one line without levelling off, decision altitude {alt} (minimums and 50 ft, for "
            "the sink of the go-around): nothing in sight, visibility {vis} m",
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
    """Every code that is right: what to do and, where several things are missing, any of them (14 CFR 91.175)."""
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
        right = [_MISSING[each] for each in found.missing]
        # What is reported would show the runway from here: with nothing in sight the flight visibility is less.
        if not seen and vis_m >= _REQUIRED_M and (_THRESHOLD_NM - dme_nm) * units.NM_M < vis_m:
            right.append("GV")
        return tuple(sorted(right, key=lambda code: code != "GR"))
    return ("C",) if found.action == "continue" else ("LW" if found.missing else "LV",)


def above_touchdown_zone(*, alt_ft: int) -> int:
    """Height above the touchdown zone. [ft]"""
    return alt_ft - _TDZ_FT


def why_not(
    *, answer: str, alt_ft: int, dme_nm: float, vis_m: int, seen: tuple[str, ...], position: bool, line: bool
) -> str:
    """Name the sentence on what a wrong code would mean here."""
    right = codes(alt_ft=alt_ft, dme_nm=dme_nm, vis_m=vis_m, seen=seen, position=position, line=line)[0]
    if answer == "C":
        alone = seen == ("approach lights",)
        return "NOTC/lights" if alone else f"NOTC/{_NOT_DOWN.get(right, 'missing')}"
    if answer in ("GP", "GV", "GR"):
        short = vis_m < _REQUIRED_M if answer == "GV" else answer == "GR" and not seen
        if short and right in ("C", "LW"):
            return f"NOT{answer}/{'above' if right == 'C' else 'level'}"
        return f"NOT{answer}/{'another' if right.startswith('G') else 'open'}"
    if not right.startswith("G"):
        return f"NOT{answer}/ahead"
    if answer == "LV":
        return "NOTLV/missing"
    return f"NOTLW/{'line' if line else 'below' if alt_ft < _MDA_FT else 'costs'}"


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


def cut_from_final(*, final_deg: float, cut_deg: float, side: str) -> float:
    """Angle laid off from the course flown. [degrees magnetic]"""
    return intercept_heading(radial_deg=final_deg, cut_deg=cut_deg, side=side)


def back_to_station(*, radial_deg: float) -> float:
    """The other end of the radial's line. [degrees magnetic]"""
    return float(angles.reciprocal(radial_deg))


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
        {"when": {"dme_rises_to_nm": 3.3}, "then": {"ias_kt": 75, "vs_fpm": 650, "level_ft": 3000}},
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
    """Draw a hold and six headings: one well inside each part of the sectors, and one at an edge."""
    inbound, side = random.randrange(10, 360, 5), random.choice(["left", "right"])
    # The outbound course seen from the heading, right positive for right turns.
    seen = [
        random.choice([20, 35, 50]),
        random.choice([-30, -50, -90]),
        random.choice([100, 125]),
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


def _entry_letter(heading_deg: float, inbound_deg: float, side: str) -> str:
    return _LETTERS[str(holding.entry(heading_deg=heading_deg, inbound_course_deg=inbound_deg, side=side))]


def entry_mistake(*, answer: str, heading_deg: float, inbound_deg: float, side: str) -> str:
    """Name the mistake that leads to a wrong entry."""
    if answer == _entry_letter(heading_deg, inbound_deg, _other(side)):
        return "MIRROR"
    if answer == _entry_letter(float(angles.reciprocal(heading_deg)), inbound_deg, side):
        return "RECIP"
    return "SECTOR"


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


# ---------------------------------------------------------------- the hold in wind


def a_found_heading(random: Random) -> dict[str, Any]:
    """Draw an inbound course and the heading that was found to hold it."""
    inbound = random.randrange(10, 360, 5)
    off_deg = random.choice([-1, 1]) * random.choice([6, 7, 8, 10])
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


def _outbound(inbound_deg: float, off_deg: float) -> float:
    return float(angles.wrap360(outbound_course(inbound_deg=inbound_deg) - max(-30.0, min(30.0, off_deg))))


def outbound_heading(*, inbound_deg: float, correction_deg: float) -> float:
    """Outbound heading with three times the correction, at most 30. [degrees magnetic] (AIM 5-3-8)"""
    return _outbound(inbound_deg, 3.0 * correction_deg)


def outbound_twice(*, inbound_deg: float, correction_deg: float) -> float:
    """Outbound heading with twice the correction, which is taught as well. [degrees magnetic]"""
    return _outbound(inbound_deg, 2.0 * correction_deg)


def outbound_once(*, inbound_deg: float, correction_deg: float) -> float:
    """Outbound heading with the correction of a leg. [degrees magnetic]"""
    return _outbound(inbound_deg, correction_deg)


def outbound_wrong_side(*, inbound_deg: float, correction_deg: float) -> float:
    """Three times the correction to the side it had inbound. [degrees magnetic]"""
    return _outbound(inbound_deg, -3.0 * correction_deg)


def a_hold_in_wind(random: Random) -> dict[str, Any]:
    """Draw a hold in a wind that asks for a correction triple drift can still pay for."""
    while True:
        inbound = random.randrange(10, 360, 5)
        drawn = {
            "inbound_deg": inbound,
            "tas_kt": random.choice([90, 95, 100]),
            "wind_true_deg": lesson_values.whole(
                lesson_values.true_deg(inbound + random.choice([-1, 1]) * random.randrange(40, 141, 10)), 10
            ),
            "wind_kt": random.choice([12, 14, 16, 18]),
            "variation_deg": 13,
        }
        if _worth_correcting(drawn):
            return drawn


def _worth_correcting(drawn: Mapping[str, Any]) -> bool:
    names = ("inbound_deg", "tas_kt", "wind_true_deg", "wind_kt")
    return 5.0 <= abs(correction_in_wind(**{name: drawn[name] for name in names})) <= 9.8


def _heading_deg(course_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float) -> float:
    """Heading that holds a course. [degrees magnetic]"""
    blows_from_deg = lesson_values.magnetic_deg(wind_true_deg)
    return float(
        wind.heading_deg(course_deg=course_deg, tas_kt=tas_kt, wind_from_deg=blows_from_deg, wind_kt=wind_kt)
    )


def inbound_heading(*, inbound_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float) -> float:
    """Heading that holds the inbound course. [degrees magnetic]"""
    return _heading_deg(inbound_deg, tas_kt, wind_true_deg, wind_kt)


def inbound_wrong_side(*, inbound_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float) -> float:
    """Correction downwind. [degrees magnetic]"""
    off_deg = correction_in_wind(inbound_deg=inbound_deg, tas_kt=tas_kt, wind_true_deg=wind_true_deg, wind_kt=wind_kt)
    return float(angles.wrap360(inbound_deg - off_deg))


def inbound_heading_true(*, inbound_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float) -> float:
    """The same heading in true. [degrees true]"""
    return lesson_values.true_deg(_heading_deg(inbound_deg, tas_kt, wind_true_deg, wind_kt))


def an_airspeed(random: Random) -> dict[str, Any]:
    """Draw what the slider is set to: an airspeed at which the sum comes out just below a whole knot."""
    return {"tas_kt": random.choice([80, 86, 91, 97])}


def _square_wind_kt(tas_kt: float, correction_deg: float) -> float:
    """Speed of a wind from 250 that asks for a correction on 345. [kt]"""
    across = np.sin(np.deg2rad(345.0 - 250.0))
    return float(tas_kt * np.sin(np.deg2rad(correction_deg)) / across)


def wind_at_the_limit(*, tas_kt: float) -> float:
    """Wind in which three times the correction makes 30 degrees. [kt]"""
    return _square_wind_kt(tas_kt, 30.0 / 3.0)


def wind_for_twice(*, tas_kt: float) -> float:
    """Wind in which twice the correction makes 30 degrees. [kt]"""
    return _square_wind_kt(tas_kt, 30.0 / 2.0)


def wind_for_once(*, tas_kt: float) -> float:
    """Wind in which the correction itself makes 30 degrees. [kt]"""
    return _square_wind_kt(tas_kt, 30.0)


# ---------------------------------------------------------------- the legs of the hold


def a_lap(random: Random) -> dict[str, Any]:
    """Draw a lap: a minute outbound, and what came of it inbound."""
    return {"outbound_s": 60, "inbound_s": random.choice([38, 40, 42, 44, 76, 78, 80, 82])}


def next_outbound(*, outbound_s: float, inbound_s: float) -> float:
    """Time outbound on the next lap. [seconds] (common practice)"""
    return float(holding.next_outbound_s(outbound_s=outbound_s, inbound_s=inbound_s))


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


def _outbound_end_nm(fix_nm: float, leg_nm: float, *, to_station: bool) -> float:
    return float(
        holding.outbound_end_nm(fix_dme_nm=fix_nm, leg_dme_nm=leg_nm, direction="to" if to_station else "from")
    )


# ---------------------------------------------------------------- flown by plan

_COURSES = {"course_deg": 214, "radial_deg": 165, "hold_deg": 345}


def _draw_wind(random: Random) -> dict[str, Any]:
    return {
        "wind_true_deg": random.randrange(10, 361, 10),
        "wind_kt": random.choice([10, 12, 14]),
        "variation_deg": 13,
        "tas_kt": 100,
    }


def a_decision(random: Random) -> dict[str, Any]:
    """Draw where it is decided to go around, and the wind."""
    return {**_COURSES, **_draw_wind(random), "decided_nm": random.choice([3.2, 3.3, 3.4])}


def plan_begin() -> dict[str, Any]:
    """Say where the planned flight begins."""
    return {
        "radial_deg": 214,
        "dme_nm": 2.6,
        "altitude_ft": _MDA_FT,
        "heading_deg": 214,
        "ias_kt": 84,
        "configuration": "landing flap",
    }


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


def plan_rows(*, filled: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Give the rows of the plan."""
    first = {
        "identify": True,
        "course_1_deg": 214,
        "course_2_deg": filled["course 2"],
        "follow": "needle 1",
        "ias_kt": 84,
    }
    return [{"then": first, "note": "final"}, *_way_out(filled)]


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
            "then": {"heading_deg": filled["course 1 inbound"], "turn": filled["turn inbound to the"].lower()},
            "note": "turn inbound",
        },
        {"when": {"heading_reached": True}, "then": {"follow": "needle 1"}, "note": "inbound"},
        {"when": {"dme_falls_to_nm": 14.0}, "then": {"end": True}, "note": "end"},
    ]


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


def dme_counted_down() -> dict[str, Any]:
    """The leg taken from the fix's reading. [blanks]"""
    return {"outbound to DME": 10.0}


def teardrop_outward(*, tas_kt: float, wind_true_deg: float, wind_kt: float) -> dict[str, Any]:
    """The teardrop of a hold with left turns. [blanks]"""
    heading_deg = lesson_values.whole(_heading_deg(195.0, tas_kt, wind_true_deg, wind_kt))
    return {"heading after BELDU": float(heading_deg), "turn inbound to the": "LEFT"}


def outbound_for_inbound() -> dict[str, Any]:
    """The outbound course for the inbound one. [blanks]"""
    return {"course 1 inbound": 165.0}


# ---------------------------------------------------------------- flown by hand

# From here a descent to the threshold takes more than a thousand feet a minute: past what is normal.
_LATE_NM, _LATE = 4.6, "The runway comes in sight, 0.6 NM ahead and 500 ft below. Decide."


def a_final(random: Random) -> dict[str, Any]:
    """Draw the wind, and whether the runway is seen too late or never."""
    return {
        **_COURSES,
        **_draw_wind(random),
        "map_nm": _MAP_NM,
        "runway": random.choice(["never", "late"]),
    }


def hand_begin() -> dict[str, Any]:
    """Say where the flight by hand begins."""
    return {**plan_begin(), "dme_nm": 1.0, "altitude_ft": 1440}


def hand_day(*, wind_true_deg: float, wind_kt: float) -> Day:
    """Give the day flown in by hand."""
    return plan_days(wind_true_deg=wind_true_deg, wind_kt=wind_kt, hidden=False)[0]


def hand_courses() -> tuple[float, float]:
    """Give what the selectors show at first. [degrees magnetic]"""
    return (214.0, 360.0)


def hand_calls(*, runway: str) -> tuple[tuple[float, str], ...]:
    """Give what is seen outside, by the DME reading at which it is. [NM]"""
    return ((_LATE_NM, _LATE),) if runway == "late" else ()


def hand_floors() -> tuple[tuple[float, float, float], ...]:
    """Floors of the final: from and to along the course, lowest altitude. [NM], [ft]"""
    return ((0.0, 3.0, 800.0), (3.0, 99.0, float(_MDA_FT)))


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
        "level_ft": 800,
    }
    right = plan_right(decided_nm=_MAP_NM, tas_kt=tas_kt, wind_true_deg=wind_true_deg, wind_kt=wind_kt)
    return [
        {"then": first, "note": "final"},
        {"when": {"dme_rises_to_nm": 3.0}, "then": {"vs_fpm": down_fpm, "level_ft": _MDA_FT}, "note": "step-down"},
        *_way_out(right),
    ]


# ---------------------------------------------------------------- the task

_FIELDS: dict[str, dict[str, Any]] = {
    "ezrick": {
        "field": "Ezrick",
        "radial_deg": 340,
        "side": "right",
        "gradient_ft_nm": 300,
        "final_deg": 277,
        "hold_deg": 160,
        "hold_side": "right",
        "leads": "to",
    },
    "wygate": {
        "field": "Wygate",
        "radial_deg": 75,
        "side": "right",
        "gradient_ft_nm": 240,
        "final_deg": 23,
        "hold_deg": 75,
        "hold_side": "left",
        "leads": "away from",
    },
}


def a_brief(random: Random) -> dict[str, Any]:
    """Draw another missed approach and its hold."""
    place = _FIELDS[random.choice(sorted(_FIELDS))]
    while True:
        drawn = {
            **place,
            "inbound_deg": place["hold_deg"],
            "along_kt": random.choice([12, 14, 16, 18]),
            "along": random.choice(["headwind", "tailwind"]),
            "climb_tas_kt": random.choice([78, 80, 84]),
            "cut_deg": random.choice([30, 40, 45]),
            "tas_kt": random.choice([92, 96, 100]),
            "wind_true_deg": random.randrange(10, 361, 10),
            "wind_kt": random.choice([12, 14, 16]),
            "variation_deg": 13,
        }
        if _worth_correcting(drawn):
            return drawn


def rate_in_wind(*, gradient_ft_nm: float, tas_kt: float, along_kt: float, along: str) -> float:
    """Rate that makes a gradient in a headwind or tailwind. [fpm]"""
    return rate(gradient_ft_nm=gradient_ft_nm, gs_kt=ground_speed(tas_kt=tas_kt, along_kt=along_kt, along=along))


def rate_swapped(*, gradient_ft_nm: float, tas_kt: float, along_kt: float, along: str) -> float:
    """Headwind taken for tailwind. [fpm]"""
    return rate_in_wind(gradient_ft_nm=gradient_ft_nm, tas_kt=tas_kt, along_kt=-along_kt, along=along)
