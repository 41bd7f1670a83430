"""What if: a radial intercepted, and then tracked in a wind."""

from __future__ import annotations

import typing
from dataclasses import dataclass
from typing import Any

import numpy as np

from needlework.showing.faces import CourseDeviation, Digits, Line, Mark, Plan, clock
from needlework.showing.faces import dme as dme_window
from needlework.showing.what_ifs.scene import (
    Knob,
    Path,
    Scene,
    WhatIf,
    between,
    flown,
    point,
    polar,
    side_words,
    spoken,
    turned,
)
from needlework.trade import dme, turns, vor, wind
from needlework.trade.angles import reciprocal

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes

_RADIAL_DEG = 34.0  # radial of the Saltmarsh procedure's final course; inbound on it is 214
_HEIGHT_FT = 2500.0
_LEG_NM = 4.0
_LAST_S = 900
_LEAST_CUT_DEG = 2.0
_NEVER_S = 240.0
_STEP_S = 1.0
_ON_LINE_NM, _ON_LINE_DOTS, _ON_COURSE_DEG = 0.015, 0.2, 0.75
_VIEWS_NM = (4.0, 6.0, 8.0, 12.0, 16.0, 24.0, 32.0)
_RIGHT, _ALIVE, _CENTRED = "with the right lead", "when the needle comes alive", "when the needle centres"

_KNOBS = (
    Knob("dist_nm", "Needle comes alive at", "NM", 8, 2, 20, 0.5),
    Knob("angle_deg", "Intercept angle", "deg", 45, 20, 90, 1),
    Knob("tas_kt", "True airspeed", "kt", 100, 70, 160, 1),
    Knob("wind_from_deg", "Wind from", "°M", 290, 0, 350, 10),
    Knob("wind_kt", "Wind speed", "kt", 0, 0, 40, 1),
    Knob("turn_begun", "Turn begun", "", _RIGHT, options=(_RIGHT, _ALIVE, _CENTRED)),
    Knob("late_s", "Later than that, earlier −", "s", 0, -20, 40, 1),
    Knob("correction_deg", "Then nose off the course (right +)", "deg", 0, -30, 30, 1),
    Knob("time_s", "Time", "s", 60, 0, _LAST_S, 1, play=True),
)


@dataclass(frozen=True)
class _Intercept:
    """The whole intercept: path, where its turn begins and ends, what the wind makes of it."""

    path: Path
    course_deg: float
    heading_deg: float
    cut_deg: float
    meets: bool
    turn_s: float
    out_s: float
    out_nm: float
    to_station_nm: float
    out_dots: float
    track_off_deg: float
    gs_kt: float


def _intercept(
    dist_nm: float,
    angle_deg: float,
    tas_kt: float,
    wind_from_deg: float,
    wind_kt: float,
    turn_begun: str,
    late_s: float,
    correction_deg: float,
    direction: str,
    side: str,
) -> _Intercept:
    course = float(np.asarray(reciprocal(_RADIAL_DEG))) if direction == "inbound" else _RADIAL_DEG
    # From the left of the course the nose points to the right of it.
    heading = (course + (angle_deg if side == "left" else -angle_deg)) % 360.0
    track = float(
        np.asarray(wind.track_deg(heading_deg=heading, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt))
    )
    gs = float(
        np.asarray(
            wind.ground_speed_on_heading_kt(
                heading_deg=heading, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt
            )
        )
    )
    towards = between(course, track) * (1.0 if side == "left" else -1.0)
    meets = towards > _LEAST_CUT_DEG
    full = np.deg2rad(float(vor.FULL_SCALE_DEG))
    alive_right = dist_nm * np.sin(full) * (-1.0 if side == "left" else 1.0)
    alive_along = dist_nm * np.cos(full) * (1.0 if direction == "outbound" else -1.0)
    alive = point(alive_along, alive_right, course)
    to_alive_s = _LEG_NM / gs * 3600.0
    cut = np.deg2rad(towards)
    closing_kt = gs * np.sin(cut)
    to_line_s = abs(alive_right) / closing_kt * 3600.0 if meets else _NEVER_S
    # The circle of the turn touches the line. The handbook's lead is the same, for cuts up to 90 degrees.
    lead_nm = float(np.asarray(turns.turn_radius_nm(tas_kt=tas_kt))) * (1.0 - np.cos(cut))
    lead_s = lead_nm / closing_kt * 3600.0 if meets else 0.0
    after_alive_s = {_RIGHT: to_line_s - lead_s, _ALIVE: 0.0, _CENTRED: to_line_s}[turn_begun]
    begun_s = max(to_alive_s + after_alive_s + late_s, 0.0)
    # The flight begins a little earlier, so that the turn begins on a whole step.
    turn_s = float(np.ceil(begun_s / _STEP_S) * _STEP_S)
    back = point(-gs * (to_alive_s + turn_s - begun_s) / 3600.0, 0.0, track)
    start = (float(alive[0] + back[0]), float(alive[1] + back[1]))
    final = (course + correction_deg) % 360.0
    straight = np.full(round(turn_s / _STEP_S), heading)
    turning = turned(heading, final, float(turns.STANDARD_RATE_DEG_S), _STEP_S)
    headings = np.concatenate([straight, turning])
    rest = np.full(max(2, int(_LAST_S / _STEP_S) + 1 - len(headings)), final)
    path = flown(start, np.concatenate([headings, rest]), tas_kt, wind_from_deg, wind_kt, _STEP_S)
    out_s = (len(headings) - 1) * _STEP_S
    east, north, _ = path.at(out_s)
    radial, _dist = polar(east, north)
    angle = np.deg2rad(course)
    right_nm = float(east * np.cos(angle) - north * np.sin(angle))
    to_station_nm = -float(east * np.sin(angle) + north * np.cos(angle))
    after = float(
        np.asarray(wind.track_deg(heading_deg=final, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt))
    )
    return _Intercept(
        path,
        course,
        heading,
        towards,
        meets,
        turn_s,
        out_s,
        right_nm,
        to_station_nm,
        float(np.asarray(vor.dots(radial_deg=radial, selected_course_deg=course))),
        between(course, after),
        gs,
    )


def _words(flight: _Intercept, needle: CourseDeviation, at: dict[str, Any], dist_nm: float) -> str:
    shown = needle.words().partition(": ")[2].rstrip(".")
    time_s = at["time_s"]
    phase = "closing in" if time_s < flight.turn_s else "turning" if time_s < flight.out_s else "tracking"
    over_ground = f" ({flight.cut_deg:.0f}° over the ground)" if abs(flight.cut_deg - at["angle_deg"]) >= 1 else ""
    begin = (
        f"{phase.capitalize()} at {time_s:.0f} s: {shown}, DME {dist_nm:.1f}. "
        f"Cut of {at['angle_deg']:.0f}°{over_ground} "
        f"on heading {spoken(flight.heading_deg)}, ground speed {flight.gs_kt:.0f} kt"
    )
    if not flight.meets:
        return f"{begin}; in this wind the heading never meets the radial."
    if abs(flight.out_nm) < _ON_LINE_NM:
        out = "the turn ends on the line"
    else:
        off, needle_off = side_words(flight.out_nm, " NM", 2), side_words(flight.out_dots, " dots", 1)
        out = f"the turn ends {off} of the line, needle {needle_off}"
    return f"{begin}; {out}; {_afterwards(flight)}."


def _afterwards(flight: _Intercept) -> str:
    """Say what the needle does once the turn is done."""
    # Close in the needle shows a distance that counts as none.
    off_line = abs(flight.out_nm) >= _ON_LINE_NM and abs(flight.out_dots) >= _ON_LINE_DOTS
    off_course = abs(flight.track_off_deg) >= _ON_COURSE_DEG
    if not off_line and not off_course:
        return "then the needle stays"
    # How fast the angle off the line grows, in NM times the speed: the track spreads, and the station comes or goes.
    track = np.deg2rad(flight.track_off_deg) if off_course else 0.0
    grows = np.sin(track) * abs(flight.to_station_nm) + np.cos(track) * flight.out_nm * np.sign(flight.to_station_nm)
    away = not off_line or grows * flight.out_nm > 0
    if off_course:
        leads = f"then the track leads {side_words(flight.track_off_deg, '°')} of the course"
        return f"{leads} and the needle moves {'away' if away else 'towards the centre'}"
    return f"then the track stays beside the line and the needle creeps {'out' if away else 'in'}"


def _now(at: dict[str, Any]) -> tuple[_Intercept, CourseDeviation, float, float, float, float, float]:
    flight = _intercept(**{name: value for name, value in at.items() if name != "time_s"})
    east, north, heading = flight.path.at(at["time_s"])
    radial, dist = polar(east, north)
    needle = CourseDeviation(
        flight.course_deg,
        float(np.asarray(vor.dots(radial_deg=radial, selected_course_deg=flight.course_deg))),
        vor.flag(radial_deg=radial, selected_course_deg=flight.course_deg, dist_nm=dist, height_ft=_HEIGHT_FT),  # type: ignore[arg-type]
        "VOR OVK",
        reliable=not vor.in_cone(dist_nm=dist, height_ft=_HEIGHT_FT),
    )
    return flight, needle, east, north, heading, radial, dist


def _scene(**at: Any) -> Scene:
    flight, needle, east, north, heading, radial, dist = _now(at)
    slant = float(np.asarray(dme.slant_nm(ground_nm=dist, height_ft=_HEIGHT_FT)))
    words = _words(flight, needle, at, slant)
    start = flight.path.at(0.0)
    middle = point(at["dist_nm"], 0.0, _RADIAL_DEG)
    span = max(float(np.hypot(start[0] - middle[0] / 2, start[1] - middle[1] / 2)), at["dist_nm"] / 2, 3.0)
    radius = next(view for view in _VIEWS_NM if view > 1.05 * span)
    ahead = flight.path.thinned()
    plan = Plan(
        radius,
        words,
        lines=(
            Line("course", *point(np.array([0.0, 60.0]), 0.0, _RADIAL_DEG)),
            Line("ghost", *ahead),
            Line("track", *flight.path.until(at["time_s"])),
        ),
        marks=(Mark("OVK"),),
        aircraft_east_nm=east,
        aircraft_north_nm=north,
        heading_deg=heading,
        wind_from_deg=at["wind_from_deg"],
        wind_kt=at["wind_kt"],
        centre_east_nm=float(middle[0]) / 2,
        centre_north_nm=float(middle[1]) / 2,
        scale_nm=1.0 if radius < 8 else 5.0,
    )
    return Scene(
        {
            "plan": plan,
            "needle": needle,
            "dme": dme_window(slant),
            "heading": Digits("heading", "°M", text=spoken(heading)),
            "radial": Digits("on radial", "°M", text=spoken(radial)),
            "clock": clock(at["time_s"]),
        },
        words,
    )


def _still(**at: Any) -> Axes:
    from needlework.showing import pictures
    from needlework.showing.pictures.style import new_figure

    flight, needle, _east, _north, heading, radial, dist = _now(at)
    east, north = flight.path.thinned()
    radials, dists = np.array([polar(e, n) for e, n in zip(east, north, strict=True)]).T
    figure = new_figure(8.6, 4.6)
    grid = figure.add_gridspec(1, 2, width_ratios=(2.1, 1))
    left, right = figure.add_subplot(grid[0]), figure.add_subplot(grid[1])
    near = dists < 1.6 * at["dist_nm"]
    pictures.draw_plan(
        station="OVK",
        radials=[_RADIAL_DEG],
        aircraft=(radial, dist, heading),
        track=(radials[near], dists[near]),
        wind=(at["wind_from_deg"], at["wind_kt"]) if at["wind_kt"] else None,
        ax=left,
    )
    pictures.draw_needle(
        needle.deviation_dots * 2.0,
        flight.course_deg,
        needle.flag,
        dme_nm=float(np.asarray(dme.slant_nm(ground_nm=dist, height_ft=_HEIGHT_FT))),
        ax=right,
    )
    return left


def intercept(direction: str = "inbound", side: str = "left", **start: Any) -> WhatIf:
    """Intercept radial 034 of OVK, roll out early or late, and find the correction that keeps the needle still.

    Parameters
    ----------
    direction : str
        ``"inbound"`` (course 214) or ``"outbound"`` (course 034).
    side : str
        Side of the course the aircraft comes from: ``"left"`` or ``"right"``.
    **start : float or str
        Where sliders stand at first: ``dist_nm`` (when the needle comes alive), ``angle_deg``, ``tas_kt``,
        ``wind_from_deg`` (magnetic), ``wind_kt``, ``turn_begun``, ``late_s``, ``correction_deg`` (heading less
        course once on it, right positive) and ``time_s``.

    Returns
    -------
    WhatIf
        Put it on the last line of a cell.

    Raises
    ------
    OutOfRange
        If a starting value is not one the slider can show, or there is no such slider.
    """
    knobs = (
        Knob("direction", "Direction", "", direction, options=("inbound", "outbound")),
        Knob("side", "Coming from the", "", side, options=("left", "right")),
        *_KNOBS,
    )
    for knob in knobs[:2]:
        knob.checked(knob.start)
    return WhatIf(knobs, _scene, _still, [[["plan"]], [["needle"], ["dme", "clock"], ["heading", "radial"]]], start)
