"""What if: a station flown over or past."""

from __future__ import annotations

import typing
from dataclasses import dataclass
from typing import Any

import numpy as np

from needlework.showing.faces import Circle, CourseDeviation, Digits, Line, Mark, Plan, clock
from needlework.showing.faces import dme as dme_window
from needlework.showing.what_ifs.common_faces import Flag, deviation, plan_and_needle
from needlework.showing.what_ifs.geometry import number, point, polar, spoken
from needlework.showing.what_ifs.knobs import slider, tick
from needlework.showing.what_ifs.whatif import Shown, WhatIf
from needlework.trade import dme, vor, wind
from needlework.trade.angles import wrap360

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes

_COURSE_DEG = 214.0  # final course of the Saltmarsh procedure, station OVK
_VIEWS_NM = (2.0, 4.0, 8.0, 16.0)


@dataclass(frozen=True)
class PassageKnobs:
    """What can be moved.

    Parameters
    ----------
    height_ft : float
        Height above the station. [ft]
    gs_kt : float
        Ground speed along the course; airspeed where the nose is not held into the wind. [kt]
    offset_nm : float
        Offset from the course, right positive. [NM]
    crosswind_kt : float
        Crosswind, from the right positive. [kt]
    half_angle_deg : float
        Half angle of the cone. [deg]
    held : bool
        True where the nose is held into the wind; else it points along the course and the aircraft drifts.
    time_s : float
        Time, 0 abeam the station and negative before it. [s]
    """

    height_ft: float = slider("Height above the station", "ft", 3000, low=500, high=9000, step=10)
    gs_kt: float = slider("Ground speed", "kt", 90, low=60, high=180, step=1)
    offset_nm: float = slider("Offset, right of the course +", "NM", 0.1, low=-3.0, high=3.0, step=0.05)
    crosswind_kt: float = slider("Crosswind, from the right +", "kt", 15, low=-40, high=40, step=1)
    half_angle_deg: float = slider("Cone half angle", "deg", 45, low=30, high=50, step=1)
    held: bool = tick("Nose held into the wind", True)
    time_s: float = slider("Time, 0 at the station", "s", -60, low=-240, high=240, step=1, play=10)


@dataclass(frozen=True)
class PassageScene:
    """Where the aircraft is at one moment of flying past a station, and what its instruments show.

    Parameters
    ----------
    knobs : PassageKnobs
        What led to it.
    east_nm, north_nm : float
        Place on magnetic axes round the station. [NM]
    radial_deg, dist_nm : float
        Radial, and distance over the ground. [deg magnetic], [NM]
    heading_deg, track_deg : float
        Where the nose points, and where the aircraft goes. [deg magnetic]
    gs_kt : float
        Speed over the ground. [kt]
    wind_from_deg, wind_kt : float
        The wind. [deg magnetic], [kt]
    needle_deg : float
        Deflection of the needle, right positive. [deg]
    flag : str
        ``"TO"``, ``"FROM"`` or ``"NONE"``.
    in_cone : bool
        True inside the cone.
    dme_nm, least_dme_nm : float
        What the DME shows, and the least it will show on this pass. [NM]
    cone_nm, cone_s : float
        Radius of the cone at this height, and how long it lasts; 0 where it is missed. [NM], [s]
    closest_nm : float
        How near the track passes the station, over the ground. [NM]
    """

    knobs: PassageKnobs
    east_nm: float
    north_nm: float
    radial_deg: float
    dist_nm: float
    heading_deg: float
    track_deg: float
    gs_kt: float
    wind_from_deg: float
    wind_kt: float
    needle_deg: float
    flag: Flag
    in_cone: bool
    dme_nm: float
    least_dme_nm: float
    cone_nm: float
    cone_s: float
    closest_nm: float


def scene(knobs: PassageKnobs) -> PassageScene:
    """Fly past the station.

    Parameters
    ----------
    knobs : PassageKnobs
        How and when.

    Returns
    -------
    PassageScene
        The moment asked for.

    Raises
    ------
    OutOfRange, NoSolution
        If it cannot be flown so.
    """
    from_deg = number(wrap360(_COURSE_DEG + (90.0 if knobs.crosswind_kt >= 0 else -90.0)))
    air = {"wind_from_deg": from_deg, "wind_kt": abs(knobs.crosswind_kt)}
    cone = {"height_ft": knobs.height_ft, "half_angle_deg": knobs.half_angle_deg}
    if knobs.held:
        # The slider gives the speed along the course; the air must carry the crosswind besides.
        tas_kt = float(np.hypot(knobs.gs_kt, knobs.crosswind_kt))
        heading = number(wind.heading_deg(course_deg=_COURSE_DEG, tas_kt=tas_kt, **air))
        track, gs_kt = _COURSE_DEG, knobs.gs_kt
    else:
        heading = _COURSE_DEG
        track = number(wind.track_deg(heading_deg=_COURSE_DEG, tas_kt=knobs.gs_kt, **air))
        gs_kt = number(wind.ground_speed_on_heading_kt(heading_deg=_COURSE_DEG, tas_kt=knobs.gs_kt, **air))
    east_abeam, north_abeam = point(0.0, knobs.offset_nm, _COURSE_DEG)
    east_flown, north_flown = point(gs_kt * knobs.time_s / 3600.0, 0.0, track)
    east, north = float(east_abeam + east_flown), float(north_abeam + north_flown)
    radial, dist = polar(east, north)
    closest = float(abs(knobs.offset_nm * np.cos(np.deg2rad(track - _COURSE_DEG))))
    return PassageScene(
        knobs=knobs,
        east_nm=east,
        north_nm=north,
        radial_deg=radial,
        dist_nm=dist,
        heading_deg=heading,
        track_deg=track,
        gs_kt=gs_kt,
        wind_from_deg=from_deg,
        wind_kt=abs(knobs.crosswind_kt),
        needle_deg=number(vor.needle_deg(radial_deg=radial, selected_course_deg=_COURSE_DEG)),
        flag=vor.flag(radial_deg=radial, selected_course_deg=_COURSE_DEG, dist_nm=dist, **cone),  # type: ignore[arg-type]
        in_cone=bool(vor.in_cone(dist_nm=dist, **cone)),
        dme_nm=number(dme.slant_nm(ground_nm=dist, height_ft=knobs.height_ft)),
        least_dme_nm=number(dme.slant_nm(ground_nm=closest, height_ft=knobs.height_ft)),
        cone_nm=number(vor.cone_radius_nm(**cone)),
        cone_s=number(vor.cone_s(gs_kt=gs_kt, offset_nm=closest, **cone)),
        closest_nm=closest,
    )


def _needle(now: PassageScene) -> CourseDeviation:
    return deviation(_COURSE_DEG, now.needle_deg, now.flag, "VOR OVK", reliable=not now.in_cone)


def _words(now: PassageScene) -> str:
    time_s = now.knobs.time_s
    when = "Abeam" if time_s == 0 else f"{abs(time_s):.0f} s {'before' if time_s < 0 else 'after'} the station"
    if now.cone_s > 0:
        cone = f"The cone lasts {now.cone_s:.0f} s at {now.gs_kt:.0f} kt"
    else:
        cone = f"The track passes {now.closest_nm:.2f} NM from the station, outside the cone ({now.cone_nm:.2f} NM)"
    needle = _needle(now).words().partition(": ")[2].rstrip(".")
    inside = ", inside the cone" if now.in_cone else ""
    return (
        f"{when}{inside}: {needle}; DME {now.dme_nm:.1f}, radial {spoken(now.radial_deg)}, "
        f"heading {spoken(now.heading_deg)}. {cone}; the DME will read no less than {now.least_dme_nm:.1f}."
    )


def _shown(now: PassageScene) -> Shown:
    words, time_s, offset_nm = _words(now), now.knobs.time_s, now.knobs.offset_nm
    needed = max(now.dist_nm, abs(offset_nm), now.cone_nm)
    radius = next(radius for radius in _VIEWS_NM if 0.88 * radius > needed)
    ends = np.array([-20.0, 20.0])
    start_east, start_north = point(0.0, offset_nm, _COURSE_DEG)
    path_east, path_north = point(ends, 0.0, now.track_deg)
    flown_east, flown_north = point(np.array([-20.0, now.gs_kt * time_s / 3600.0]), 0.0, now.track_deg)
    plan = Plan(
        radius,
        words,
        lines=(
            Line("course", *point(ends, 0.0, _COURSE_DEG)),
            Line("ahead", start_east + path_east, start_north + path_north),
            Line("track", start_east + flown_east, start_north + flown_north),
        ),
        circles=(Circle("cone", now.cone_nm, label="cone"),),
        marks=(Mark("OVK"),),
        aircraft_east_nm=now.east_nm,
        aircraft_north_nm=now.north_nm,
        heading_deg=now.heading_deg,
        wind_from_deg=now.wind_from_deg,
        wind_kt=now.wind_kt,
        scale_nm=1.0 if radius < 8 else 5.0,
    )
    return Shown(
        {
            "plan": plan,
            "needle": _needle(now),
            "dme": dme_window(now.dme_nm),
            "clock": clock(abs(time_s), "time to station" if time_s < 0 else "since passage"),
            "heading": Digits("heading", "°M", text=spoken(now.heading_deg)),
            "cone": Digits("in the cone", "s", now.cone_s, warn=now.in_cone),
        },
        words,
    )


def _still(now: PassageScene) -> Axes:
    from needlework.showing import pictures

    left, right = plan_and_needle()
    pictures.draw_plan(
        station="OVK",
        course_deg=_COURSE_DEG,
        aircraft=(now.radial_deg, now.dist_nm, now.heading_deg),
        wind=(now.wind_from_deg, now.wind_kt) if now.wind_kt else None,
        cone_radius_nm=now.cone_nm,
        ax=left,
    )
    pictures.draw_needle(now.needle_deg, _COURSE_DEG, now.flag, dme_nm=now.dme_nm, ax=right)
    return left


def station_passage(**start: Any) -> WhatIf[PassageKnobs, PassageScene]:
    """Fly over or past a station on a course of 214 and watch needle, flag, DME and plan view together.

    Parameters
    ----------
    **start : float or bool
        Where sliders stand at first: ``height_ft`` (above the station), ``gs_kt``, ``offset_nm`` (right of
        the course positive), ``crosswind_kt`` (from the right positive), ``half_angle_deg``, ``held`` (nose
        held into the wind; else the nose points along the course and the aircraft drifts) and ``time_s``
        (before passage negative).

    Returns
    -------
    WhatIf
        Put it on the last line of a cell.

    Raises
    ------
    OutOfRange
        If a starting value is not one the slider can show, or there is no such slider.
    """
    rows = [[["plan"]], [["needle"], ["dme", "clock"], ["heading", "cone"]]]
    return WhatIf(PassageKnobs, scene, _shown, _still, rows, start)
