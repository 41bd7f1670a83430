"""What if: a station flown over or past."""

from __future__ import annotations

import typing
from dataclasses import dataclass
from typing import Any

import numpy as np

from needlework.showing.faces import Circle, CourseDeviation, Digits, Line, Mark, Plan, clock
from needlework.showing.faces import dme as dme_window
from needlework.showing.what_ifs.scene import Knob, Scene, WhatIf, point, polar
from needlework.trade import dme, vor, wind
from needlework.trade.angles import three_digits, wrap360

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes

_COURSE_DEG = 214.0  # final course of the Saltmarsh procedure, station OVK

_VIEWS_NM = (2.0, 4.0, 8.0, 16.0)

_PASSAGE = (
    Knob("height_ft", "Height above the station", "ft", 3000, 500, 9000, 10),
    Knob("gs_kt", "Ground speed", "kt", 90, 60, 180, 1),
    Knob("offset_nm", "Offset, right of the course +", "NM", 0.1, -3.0, 3.0, 0.05),
    Knob("crosswind_kt", "Crosswind, from the right +", "kt", 15, -40, 40, 1),
    Knob("half_angle_deg", "Cone half angle", "deg", 45, 30, 50, 1),
    Knob("held", "Nose held into the wind", "", True),
    Knob("time_s", "Time, 0 at the station", "s", -60, -240, 240, 1, play=True),
)


@dataclass(frozen=True)
class _Pass:
    """Where the aircraft is at one moment of flying past a station, and what its instruments show."""

    east_nm: float
    north_nm: float
    radial_deg: float
    dist_nm: float
    heading_deg: float
    track_deg: float
    gs_kt: float
    wind_from_deg: float
    needle_deg: float
    flag: Any
    inside: bool
    dme_nm: float
    cone_nm: float
    cone_s: float
    closest_nm: float


def _passing(
    height_ft: float,
    gs_kt: float,
    offset_nm: float,
    crosswind_kt: float,
    half_angle_deg: float,
    held: bool,
    time_s: float,
) -> _Pass:
    from_deg = float(np.asarray(wrap360(_COURSE_DEG + (90.0 if crosswind_kt >= 0 else -90.0))))
    wind_kt = abs(crosswind_kt)
    if held:
        # The slider gives the speed along the course; the air must carry the crosswind besides.
        tas_kt = float(np.hypot(gs_kt, crosswind_kt))
        heading = float(
            np.asarray(
                wind.heading_deg(course_deg=_COURSE_DEG, tas_kt=tas_kt, wind_from_deg=from_deg, wind_kt=wind_kt)
            )
        )
        track, over_kt = _COURSE_DEG, gs_kt
    else:
        heading = _COURSE_DEG
        track = float(
            np.asarray(wind.track_deg(heading_deg=_COURSE_DEG, tas_kt=gs_kt, wind_from_deg=from_deg, wind_kt=wind_kt))
        )
        over_kt = float(
            np.asarray(
                wind.ground_speed_on_heading_kt(
                    heading_deg=_COURSE_DEG, tas_kt=gs_kt, wind_from_deg=from_deg, wind_kt=wind_kt
                )
            )
        )
    east_abeam, north_abeam = point(0.0, offset_nm, _COURSE_DEG)
    east_flown, north_flown = point(over_kt * time_s / 3600.0, 0.0, track)
    east, north = float(east_abeam + east_flown), float(north_abeam + north_flown)
    radial, dist = polar(east, north)
    closest = abs(offset_nm * np.cos(np.deg2rad(track - _COURSE_DEG)))
    return _Pass(
        east,
        north,
        radial,
        dist,
        heading,
        track,
        over_kt,
        from_deg,
        float(np.asarray(vor.needle_deg(radial_deg=radial, selected_course_deg=_COURSE_DEG))),
        vor.flag(
            radial_deg=radial,
            selected_course_deg=_COURSE_DEG,
            dist_nm=dist,
            height_ft=height_ft,
            half_angle_deg=half_angle_deg,
        ),
        bool(vor.in_cone(dist_nm=dist, height_ft=height_ft, half_angle_deg=half_angle_deg)),
        float(np.asarray(dme.slant_nm(ground_nm=dist, height_ft=height_ft))),
        float(np.asarray(vor.cone_radius_nm(height_ft=height_ft, half_angle_deg=half_angle_deg))),
        float(
            np.asarray(
                vor.cone_s(height_ft=height_ft, gs_kt=over_kt, offset_nm=closest, half_angle_deg=half_angle_deg)
            )
        ),
        float(closest),
    )


def _passage_words(now: _Pass, needle: CourseDeviation, height_ft: float, time_s: float) -> str:
    when = "Abeam" if time_s == 0 else f"{abs(time_s):.0f} s {'before' if time_s < 0 else 'after'} the station"
    if now.cone_s > 0:
        cone = f"The cone lasts {now.cone_s:.0f} s at {now.gs_kt:.0f} kt"
    else:
        cone = f"The track passes {now.closest_nm:.2f} NM from the station, outside the cone ({now.cone_nm:.2f} NM)"
    lowest = float(np.asarray(dme.slant_nm(ground_nm=now.closest_nm, height_ft=height_ft)))
    shown = needle.words().partition(": ")[2].rstrip(".")
    inside = ", inside the cone" if now.inside else ""
    radial, heading = (three_digits(direction_deg=d, reference="") for d in (now.radial_deg, now.heading_deg))
    return (
        f"{when}{inside}: {shown}; DME {now.dme_nm:.1f}, "
        f"radial {radial[:3]}, heading {heading[:3]}. {cone}; the DME will read no less than {lowest:.1f}."
    )


def _passage_scene(**at: Any) -> Scene:
    now = _passing(**at)
    needle = CourseDeviation(_COURSE_DEG, now.needle_deg / 2.0, now.flag, "VOR OVK", reliable=not now.inside)
    words = _passage_words(now, needle, at["height_ft"], at["time_s"])
    needed = max(now.dist_nm, abs(at["offset_nm"]), now.cone_nm)
    radius = next(radius for radius in _VIEWS_NM if 0.88 * radius > needed)
    ends = np.array([-20.0, 20.0])
    line_east, line_north = point(ends, 0.0, _COURSE_DEG)
    start_east, start_north = point(0.0, at["offset_nm"], _COURSE_DEG)
    path_east, path_north = point(np.array([-20.0, 20.0]), 0.0, now.track_deg)
    flown = now.gs_kt * at["time_s"] / 3600.0
    flown_east, flown_north = point(np.array([-20.0, flown]), 0.0, now.track_deg)
    plan = Plan(
        radius,
        words,
        lines=(
            Line("course", line_east, line_north),
            Line("ghost", start_east + path_east, start_north + path_north),
            Line("track", start_east + flown_east, start_north + flown_north),
        ),
        circles=(Circle("cone", now.cone_nm, label="cone"),),
        marks=(Mark("OVK"),),
        aircraft_east_nm=now.east_nm,
        aircraft_north_nm=now.north_nm,
        heading_deg=now.heading_deg,
        wind_from_deg=now.wind_from_deg,
        wind_kt=abs(at["crosswind_kt"]),
        scale_nm=1.0 if radius < 8 else 5.0,
    )
    return Scene(
        {
            "plan": plan,
            "needle": needle,
            "dme": dme_window(now.dme_nm),
            "clock": clock(abs(at["time_s"]), "time to station" if at["time_s"] < 0 else "time since passage"),
            "heading": Digits("heading", "°M", text=three_digits(direction_deg=now.heading_deg)[:3]),
            "cone": Digits("in the cone", "s", now.cone_s, warn=now.inside),
        },
        words,
    )


def _passage_still(**at: Any) -> Axes:
    from needlework.showing import pictures
    from needlework.showing.pictures.style import new_figure

    now = _passing(**at)
    figure = new_figure(8.6, 4.6)
    grid = figure.add_gridspec(1, 2, width_ratios=(2.1, 1))
    left, right = figure.add_subplot(grid[0]), figure.add_subplot(grid[1])
    pictures.draw_plan(
        station="OVK",
        course_deg=_COURSE_DEG,
        aircraft=(now.radial_deg, now.dist_nm, now.heading_deg),
        wind=(now.wind_from_deg, abs(at["crosswind_kt"])) if at["crosswind_kt"] else None,
        cone_radius_nm=now.cone_nm,
        ax=left,
    )
    pictures.draw_needle(now.needle_deg, _COURSE_DEG, now.flag, dme_nm=now.dme_nm, ax=right)
    return left


def station_passage(**start: Any) -> WhatIf:
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
    return WhatIf(
        _PASSAGE,
        _passage_scene,
        _passage_still,
        [[["plan"]], [["needle"], ["dme", "clock"], ["heading", "cone"]]],
        start,
    )
