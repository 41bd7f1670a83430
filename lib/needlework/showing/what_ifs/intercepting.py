"""What if: a radial intercepted, and then tracked in a wind."""

from __future__ import annotations

import typing
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from needlework.showing.faces import CourseDeviation, Digits, Line, Mark, Plan, clock
from needlework.showing.faces import dme as dme_window
from needlework.showing.what_ifs.common_faces import Flag, deviation, plan_and_needle
from needlework.showing.what_ifs.geometry import (
    Path,
    between,
    flown,
    number,
    point,
    polar,
    side_words,
    spoken,
    turned,
)
from needlework.showing.what_ifs.knobs import choice, slider
from needlework.showing.what_ifs.whatif import Shown, WhatIf
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


@dataclass(frozen=True)
class InterceptKnobs:
    """What can be moved.

    Parameters
    ----------
    direction : str
        ``"inbound"`` (course 214) or ``"outbound"`` (course 034).
    side : str
        Side of the course the aircraft comes from: ``"left"`` or ``"right"``.
    dist_nm : float
        Distance from the station at which the needle comes alive. [NM]
    angle_deg : float
        Intercept angle. [deg]
    tas_kt : float
        True airspeed. [kt]
    wind_from_deg, wind_kt : float
        The wind. [deg magnetic], [kt]
    turn_begun : str
        What the turn on to the course waits for.
    late_s : float
        How much later than that it is begun, earlier negative. [s]
    correction_deg : float
        Heading less course once on it, right positive. [deg]
    time_s : float
        Time since the flight began, four miles before the needle comes alive. [s]
    """

    direction: str = choice("Direction", ("inbound", "outbound"))
    side: str = choice("Coming from the", ("left", "right"))
    dist_nm: float = slider("Needle comes alive at", "NM", 8, low=2, high=20, step=0.5)
    angle_deg: float = slider("Intercept angle", "deg", 45, low=20, high=90, step=1)
    tas_kt: float = slider("True airspeed", "kt", 100, low=70, high=160, step=1)
    wind_from_deg: float = slider("Wind from", "°M", 290, low=0, high=350, step=10)
    wind_kt: float = slider("Wind speed", "kt", 0, low=0, high=40, step=1)
    turn_begun: str = choice("Turn begun", (_RIGHT, _ALIVE, _CENTRED))
    late_s: float = slider("Later than that (earlier −)", "s", 0, low=-20, high=40, step=1)
    correction_deg: float = slider("Then nose off the course (right +)", "deg", 0, low=-30, high=30, step=1)
    time_s: float = slider("Time", "s", 60, low=0, high=_LAST_S, step=1, play=10)


@dataclass(frozen=True, eq=False)
class InterceptFlight:
    """The whole intercept: path, where its turn begins and ends, what the wind makes of it.

    Parameters
    ----------
    path : Path
        The way flown.
    course_deg, heading_deg : float
        The course to be flown, and the heading that closes in on it. [deg magnetic]
    gs_kt : float
        Speed over the ground while closing in. [kt]
    cut_deg : float
        Angle at which the track closes in; negative where it leads away. [deg]
    meets : bool
        False where in this wind the heading never meets the radial.
    turn_s, out_s : float
        When the turn begins and when it ends. [s]
    out_nm, out_dots : float
        Where the turn ends, right of the line positive, and what the needle shows there. [NM], [dots]
    to_station_nm : float
        Distance along the course from there to the station; past it negative. [NM]
    track_off_deg : float
        Track after the turn less course, right positive. [deg]
    """

    path: Path
    course_deg: float
    heading_deg: float
    gs_kt: float
    cut_deg: float
    meets: bool
    turn_s: float
    out_s: float
    out_nm: float
    out_dots: float
    to_station_nm: float
    track_off_deg: float


@dataclass(frozen=True, eq=False)
class InterceptScene:
    """One moment of an intercept.

    Parameters
    ----------
    knobs : InterceptKnobs
        What led to it.
    flight : InterceptFlight
        The whole of it.
    phase : str
        ``"closing in"``, ``"turning"`` or ``"tracking"``.
    east_nm, north_nm : float
        Place on magnetic axes round the station. [NM]
    radial_deg, dist_nm : float
        Radial, and distance over the ground. [deg magnetic], [NM]
    heading_deg : float
        Where the nose points. [deg magnetic]
    needle_deg : float
        Deflection of the needle, right positive. [deg]
    flag : str
        ``"TO"``, ``"FROM"`` or ``"NONE"``.
    in_cone : bool
        True inside the cone.
    dme_nm : float
        What the DME shows. [NM]
    """

    knobs: InterceptKnobs
    flight: InterceptFlight
    phase: Literal["closing in", "turning", "tracking"]
    east_nm: float
    north_nm: float
    radial_deg: float
    dist_nm: float
    heading_deg: float
    needle_deg: float
    flag: Flag
    in_cone: bool
    dme_nm: float


def _flown(knobs: InterceptKnobs) -> InterceptFlight:
    inbound, from_left = knobs.direction == "inbound", knobs.side == "left"
    air = {"tas_kt": knobs.tas_kt, "wind_from_deg": knobs.wind_from_deg, "wind_kt": knobs.wind_kt}
    course = number(reciprocal(_RADIAL_DEG)) if inbound else _RADIAL_DEG
    # From the left of the course the nose points to the right of it.
    heading = (course + (knobs.angle_deg if from_left else -knobs.angle_deg)) % 360.0
    track = number(wind.track_deg(heading_deg=heading, **air))
    gs = number(wind.ground_speed_on_heading_kt(heading_deg=heading, **air))
    towards = between(course, track) * (1.0 if from_left else -1.0)
    meets = towards > _LEAST_CUT_DEG
    full = np.deg2rad(float(vor.FULL_SCALE_DEG))
    alive_right = knobs.dist_nm * np.sin(full) * (-1.0 if from_left else 1.0)
    alive_along = knobs.dist_nm * np.cos(full) * (-1.0 if inbound else 1.0)
    alive = point(alive_along, alive_right, course)
    to_alive_s = _LEG_NM / gs * 3600.0
    cut = np.deg2rad(towards)
    closing_kt = gs * np.sin(cut)
    to_line_s = abs(alive_right) / closing_kt * 3600.0 if meets else _NEVER_S
    # The circle of the turn touches the line. The handbook's lead is the same, for cuts up to 90 degrees.
    lead_nm = number(turns.turn_radius_nm(tas_kt=knobs.tas_kt)) * (1.0 - np.cos(cut))
    lead_s = lead_nm / closing_kt * 3600.0 if meets else 0.0
    after_alive_s = {_RIGHT: to_line_s - lead_s, _ALIVE: 0.0, _CENTRED: to_line_s}[knobs.turn_begun]
    begun_s = max(to_alive_s + after_alive_s + knobs.late_s, 0.0)
    # The flight begins a little earlier, so that the turn begins on a whole step.
    turn_s = float(np.ceil(begun_s / _STEP_S) * _STEP_S)
    back = point(-gs * (to_alive_s + turn_s - begun_s) / 3600.0, 0.0, track)
    start = (float(alive[0] + back[0]), float(alive[1] + back[1]))
    final = (course + knobs.correction_deg) % 360.0
    straight = np.full(round(turn_s / _STEP_S), heading)
    turning = turned(heading, final, float(turns.STANDARD_RATE_DEG_S), _STEP_S)
    headings = np.concatenate([straight, turning])
    rest = np.full(max(2, int(_LAST_S / _STEP_S) + 1 - len(headings)), final)
    path = flown(start, np.concatenate([headings, rest]), step_s=_STEP_S, **air)
    out_s = (len(headings) - 1) * _STEP_S
    east, north, _ = path.at(out_s)
    radial, _dist = polar(east, north)
    angle = np.deg2rad(course)
    return InterceptFlight(
        path=path,
        course_deg=course,
        heading_deg=heading,
        gs_kt=gs,
        cut_deg=towards,
        meets=meets,
        turn_s=turn_s,
        out_s=out_s,
        out_nm=float(east * np.cos(angle) - north * np.sin(angle)),
        out_dots=number(vor.dots(radial_deg=radial, selected_course_deg=course)),
        to_station_nm=-float(east * np.sin(angle) + north * np.cos(angle)),
        track_off_deg=between(course, number(wind.track_deg(heading_deg=final, **air))),
    )


def scene(knobs: InterceptKnobs) -> InterceptScene:
    """Fly the intercept and stop at a moment.

    Parameters
    ----------
    knobs : InterceptKnobs
        How and when.

    Returns
    -------
    InterceptScene
        The moment asked for, with the whole of it.

    Raises
    ------
    OutOfRange, NoSolution
        If it cannot be flown so.
    """
    flight, time_s = _flown(knobs), knobs.time_s
    east, north, heading = flight.path.at(time_s)
    radial, dist = polar(east, north)
    at = {"radial_deg": radial, "selected_course_deg": flight.course_deg}
    return InterceptScene(
        knobs=knobs,
        flight=flight,
        phase="closing in" if time_s < flight.turn_s else "turning" if time_s < flight.out_s else "tracking",
        east_nm=east,
        north_nm=north,
        radial_deg=radial,
        dist_nm=dist,
        heading_deg=heading,
        needle_deg=number(vor.needle_deg(**at)),
        flag=vor.flag(**at, dist_nm=dist, height_ft=_HEIGHT_FT),  # type: ignore[arg-type]
        in_cone=bool(vor.in_cone(dist_nm=dist, height_ft=_HEIGHT_FT)),
        dme_nm=number(dme.slant_nm(ground_nm=dist, height_ft=_HEIGHT_FT)),
    )


def _needle(now: InterceptScene) -> CourseDeviation:
    return deviation(now.flight.course_deg, now.needle_deg, now.flag, "VOR OVK", reliable=not now.in_cone)


def _words(now: InterceptScene) -> str:
    flight, angle_deg = now.flight, now.knobs.angle_deg
    needle = _needle(now).words().partition(": ")[2].rstrip(".")
    over_ground = f" ({flight.cut_deg:.0f}° over the ground)" if abs(flight.cut_deg - angle_deg) >= 1 else ""
    begin = (
        f"{now.phase.capitalize()} at {now.knobs.time_s:.0f} s: {needle}, DME {now.dme_nm:.1f}. "
        f"Cut of {angle_deg:.0f}°{over_ground} "
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


def _afterwards(flight: InterceptFlight) -> str:
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


def _shown(now: InterceptScene) -> Shown:
    words, knobs, path = _words(now), now.knobs, now.flight.path
    start = path.at(0.0)
    middle = point(knobs.dist_nm, 0.0, _RADIAL_DEG)
    span = max(float(np.hypot(start[0] - middle[0] / 2, start[1] - middle[1] / 2)), knobs.dist_nm / 2, 3.0)
    radius = next(view for view in _VIEWS_NM if view > 1.05 * span)
    plan = Plan(
        radius,
        words,
        lines=(
            Line("course", *point(np.array([0.0, 60.0]), 0.0, _RADIAL_DEG)),
            Line("ahead", *path.thinned()),
            Line("track", *path.until(knobs.time_s)),
        ),
        marks=(Mark("OVK"),),
        aircraft_east_nm=now.east_nm,
        aircraft_north_nm=now.north_nm,
        heading_deg=now.heading_deg,
        wind_from_deg=knobs.wind_from_deg,
        wind_kt=knobs.wind_kt,
        centre_east_nm=float(middle[0]) / 2,
        centre_north_nm=float(middle[1]) / 2,
        scale_nm=1.0 if radius < 8 else 5.0,
    )
    return Shown(
        {
            "plan": plan,
            "needle": _needle(now),
            "dme": dme_window(now.dme_nm),
            "heading": Digits("heading", "°M", text=spoken(now.heading_deg)),
            "radial": Digits("on radial", "°M", text=spoken(now.radial_deg)),
            "clock": clock(knobs.time_s),
        },
        words,
    )


def _still(now: InterceptScene) -> Axes:
    from needlework.showing import pictures

    knobs = now.knobs
    east, north = now.flight.path.thinned()
    radials, dists = np.array([polar(e, n) for e, n in zip(east, north, strict=True)]).T
    left, right = plan_and_needle()
    near = dists < 1.6 * knobs.dist_nm
    pictures.draw_plan(
        station="OVK",
        radials=[_RADIAL_DEG],
        aircraft=(now.radial_deg, now.dist_nm, now.heading_deg),
        track=(radials[near], dists[near]),
        wind=(knobs.wind_from_deg, knobs.wind_kt) if knobs.wind_kt else None,
        ax=left,
    )
    pictures.draw_needle(now.needle_deg, now.flight.course_deg, now.flag, dme_nm=now.dme_nm, ax=right)
    return left


def intercept(direction: str = "inbound", side: str = "left", **start: Any) -> WhatIf[InterceptKnobs, InterceptScene]:
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
    rows = [[["plan"]], [["needle"], ["dme", "clock"], ["heading", "radial"]]]
    return WhatIf(InterceptKnobs, scene, _shown, _still, rows, {"direction": direction, "side": side, **start})
