"""What if: an arc joined and flown in steps, with the nose so far inside, in a wind."""

from __future__ import annotations

import typing
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from needlework.basis.quantity import Floats
from needlework.showing.faces import Circle, CourseDeviation, Digits, Line, Mark, Plan, clock
from needlework.showing.faces import dme as dme_window
from needlework.showing.what_ifs.common_faces import Flag, deviation, plan_and_needle
from needlework.showing.what_ifs.geometry import Path, between, number, point, polar, spoken
from needlework.showing.what_ifs.knobs import choice, slider
from needlework.showing.what_ifs.whatif import Shown, WhatIf
from needlework.trade import arc as arcs
from needlework.trade import dme, turns, vor, wind

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes

_FROM_DEG = 310.0  # the radial on which the arc of the Saltmarsh procedure is joined
_ANGLE_DEG = 90.0
_HEIGHT_FT = 2900.0
_RUN_IN_NM = 4.0


@dataclass(frozen=True)
class ArcKnobs:
    """What can be moved.

    Parameters
    ----------
    turn : str
        ``"right"`` is clockwise, ``"left"`` the other way round.
    arc_nm : float
        The arc's DME. [NM]
    tas_kt : float
        True airspeed. [kt]
    lead_nm : float
        How far before the arc the turn on to it is begun. [NM]
    step_deg : float
        Degrees from one radial to the next. [deg]
    inside_deg : float
        Nose inside the tangent, towards the station positive. [deg]
    wind_from_deg, wind_kt : float
        The wind. [deg magnetic], [kt]
    time_s : float
        Time since the flight began, four miles before the turn. [s]
    """

    turn: str = choice("Turns to the", ("right", "left"))
    arc_nm: float = slider("Arc", "NM", 10, low=7, high=20, step=1)
    tas_kt: float = slider("True airspeed", "kt", 98, low=70, high=160, step=1)
    lead_nm: float = slider("Turn begun before the arc by", "NM", 0.5, low=-0.5, high=2.0, step=0.1)
    step_deg: float = slider("Step", "deg", 10, low=5, high=30, step=1)
    inside_deg: float = slider("Nose inside the tangent", "deg", 5, low=-10, high=25, step=1)
    wind_from_deg: float = slider("Wind from", "°M", 290, low=0, high=350, step=10)
    wind_kt: float = slider("Wind speed", "kt", 0, low=0, high=40, step=1)
    time_s: float = slider("Time", "s", 200, low=0, high=1200, step=2, play=20)


@dataclass(frozen=True, eq=False)
class ArcFlight:
    """The whole arc.

    Parameters
    ----------
    path : Path
        The way flown.
    turn_begun_s : float
        When the turn on to the arc is begun. [s]
    radials_deg, dists_nm : numpy.ndarray
        Radial and distance at the beginning of the first leg and at the end of each. [deg magnetic], [NM]
    begins_s : numpy.ndarray
        When each leg begins, and when the last ends. [s]
    joined_nm : float
        Distance at which the arc is joined. [NM]
    """

    path: Path
    turn_begun_s: float
    radials_deg: Floats
    dists_nm: Floats
    begins_s: Floats
    joined_nm: float

    @property
    def legs(self) -> int:
        """How many legs there are."""
        return len(self.begins_s) - 1

    @property
    def creep_nm(self) -> float:
        """What a step gains, or loses where it is negative; the first is left out. [NM]"""
        return float((self.dists_nm[-1] - self.dists_nm[1]) / (self.legs - 1))

    @property
    def nearest_nm(self) -> float:
        """Least distance from the station on the legs, each of them straight from one radial to the next. [NM]"""
        east, north = point(self.dists_nm, 0.0, self.radials_deg)
        leg_east, leg_north = np.diff(east), np.diff(north)
        along = -(east[:-1] * leg_east + north[:-1] * leg_north) / (leg_east**2 + leg_north**2)
        part = np.clip(along, 0.0, 1.0)
        return float(np.min(np.hypot(east[:-1] + part * leg_east, north[:-1] + part * leg_north)))


@dataclass(frozen=True, eq=False)
class ArcScene:
    """One moment of an arc.

    Parameters
    ----------
    knobs : ArcKnobs
        What led to it.
    flight : ArcFlight
        The whole of it.
    phase : str
        ``"inbound"``, ``"turning"`` or ``"on the arc"``.
    leg : int
        Which leg is flown, from 0, and the last one once all are; -1 before the arc is joined.
    east_nm, north_nm : float
        Place on magnetic axes round the station. [NM]
    radial_deg, dist_nm : float
        Radial, and distance over the ground. [deg magnetic], [NM]
    heading_deg : float
        Where the nose points. [deg magnetic]
    course_deg : float
        What selector 2 shows: the next radial. [deg magnetic]
    needle_deg : float
        Deflection of needle 2, right positive. [deg]
    flag : str
        ``"TO"``, ``"FROM"`` or ``"NONE"``.
    dme_nm : float
        What the DME shows. [NM]
    """

    knobs: ArcKnobs
    flight: ArcFlight
    phase: Literal["inbound", "turning", "on the arc"]
    leg: int
    east_nm: float
    north_nm: float
    radial_deg: float
    dist_nm: float
    heading_deg: float
    course_deg: float
    needle_deg: float
    flag: Flag
    dme_nm: float


def _flown(knobs: ArcKnobs) -> ArcFlight:
    way = 1.0 if knobs.turn == "right" else -1.0
    step_deg, inside_deg = knobs.step_deg, knobs.inside_deg
    air = {"tas_kt": knobs.tas_kt, "wind_from_deg": knobs.wind_from_deg, "wind_kt": knobs.wind_kt}
    radius = number(turns.turn_radius_nm(tas_kt=knobs.tas_kt))
    inbound = (_FROM_DEG + 180.0) % 360.0
    # In along the radial, then a quarter of a circle away from the station's side. The wind of the
    # half minute of turning is left out: what counts here is where the turn was begun.
    begun_nm = knobs.arc_nm + knobs.lead_nm
    run_s = _RUN_IN_NM / number(wind.ground_speed_kt(course_deg=inbound, **air)) * 3600.0
    angles = np.linspace(0.0, 90.0, 10)
    bend = np.deg2rad(angles)
    along, right = begun_nm - radius * np.sin(bend), way * radius * (1.0 - np.cos(bend))
    # Seen outwards along the radial, a clockwise arc leads to the right.
    bend_east, bend_north = point(along, right, _FROM_DEG)
    turn_s = number(turns.turn_time_s(turn_deg=90.0))
    headings = inbound - way * angles
    start_radial, joined = polar(bend_east[-1], bend_north[-1])
    # The first leg ends on the first whole step past the radial the aircraft came in on.
    past_deg = abs(between(_FROM_DEG, start_radial))
    first_deg = step_deg - past_deg if step_deg - past_deg >= 1.0 else 2.0 * step_deg - past_deg
    legs = max(1, round((_ANGLE_DEG - past_deg - first_deg) / step_deg))
    first_radial = (start_radial + way * first_deg) % 360.0
    # Its heading is the one for the whole step, of which the turn has used some degrees.
    used_deg = way * between(first_radial - way * step_deg, start_radial)
    first_nm = arcs.flown_distances_nm(
        dist_nm=joined,
        from_radial_deg=start_radial,
        turn=knobs.turn,
        legs=1,
        step_deg=first_deg,
        inside_deg=inside_deg - used_deg,
        **air,
    )
    rest_nm = arcs.flown_distances_nm(
        dist_nm=float(first_nm[-1]),
        from_radial_deg=first_radial,
        turn=knobs.turn,
        legs=legs,
        step_deg=step_deg,
        inside_deg=inside_deg,
        **air,
    )
    dists = np.concatenate([first_nm[:1], rest_nm])
    radials = np.concatenate([[start_radial], np.mod(first_radial + way * step_deg * np.arange(legs + 1), 360.0)])
    ends_east, ends_north = point(dists, 0.0, radials)
    tangents = np.asarray(arcs.tangent_deg(radial_deg=radials[:-1], turn=knobs.turn))
    noses = tangents + way * inside_deg
    noses[0] -= way * used_deg
    gs = np.asarray(wind.ground_speed_on_heading_kt(heading_deg=noses, **air))
    lengths = np.hypot(np.diff(ends_east), np.diff(ends_north))
    begins = run_s + turn_s + np.concatenate([[0.0], np.cumsum(lengths / gs * 3600.0)])
    out_east, out_north = point(begun_nm + _RUN_IN_NM, 0.0, _FROM_DEG)
    # Each leg begins with the old heading and has the new one a few seconds later.
    swung = np.minimum(np.abs(np.diff(np.concatenate([[headings[-1]], np.unwrap(noses, period=360.0)]))) / 3.0, 8.0)
    part = np.minimum(swung / np.maximum(np.diff(begins), 1.0), 0.9)
    swung_east, swung_north = (ends[:-1] + part * np.diff(ends) for ends in (ends_east, ends_north))
    before = np.concatenate([[headings[-1]], noses[:-1]])
    path = Path(
        np.concatenate(
            [[0.0], run_s + turn_s * angles[:-1] / 90.0, _zipped(begins[:-1], begins[:-1] + swung), begins[-1:]]
        ),
        np.concatenate([[out_east], bend_east[:-1], _zipped(ends_east[:-1], swung_east), ends_east[-1:]]),
        np.concatenate([[out_north], bend_north[:-1], _zipped(ends_north[:-1], swung_north), ends_north[-1:]]),
        np.mod(np.concatenate([[inbound], headings[:-1], _zipped(before, noses), noses[-1:]]), 360.0),
    )
    return ArcFlight(path, run_s, radials, dists, begins, joined)


def _zipped(first: Floats, second: Floats) -> Floats:
    """One of the first, one of the second, and so on."""
    return np.column_stack([first, second]).ravel()


def scene(knobs: ArcKnobs) -> ArcScene:
    """Fly the arc and stop at a moment.

    Parameters
    ----------
    knobs : ArcKnobs
        How and when.

    Returns
    -------
    ArcScene
        The whole of it, and the moment asked for.

    Raises
    ------
    OutOfRange, NoSolution
        If it cannot be flown so.
    """
    flight = _flown(knobs)
    time_s = min(knobs.time_s, flight.path.time_s[-1])
    east, north, heading = flight.path.at(time_s)
    radial, dist = polar(east, north)
    leg = int(np.searchsorted(flight.begins_s, time_s, side="right")) - 1
    course = float(flight.radials_deg[min(max(leg, 0) + 1, flight.legs)])
    return ArcScene(
        knobs=knobs,
        flight=flight,
        phase="on the arc" if leg >= 0 else "inbound" if knobs.time_s < flight.turn_begun_s else "turning",
        leg=min(leg, flight.legs - 1),
        east_nm=east,
        north_nm=north,
        radial_deg=radial,
        dist_nm=dist,
        heading_deg=heading,
        course_deg=course,
        needle_deg=number(vor.needle_deg(radial_deg=radial, selected_course_deg=course)),
        flag=vor.flag(radial_deg=radial, selected_course_deg=course, dist_nm=dist, height_ft=_HEIGHT_FT),  # type: ignore[arg-type]
        dme_nm=number(dme.slant_nm(ground_nm=dist, height_ft=_HEIGHT_FT)),
    )


def _needle(now: ArcScene) -> CourseDeviation:
    return deviation(round(now.course_deg) % 360, now.needle_deg, now.flag, "VOR 2 OVK")


def _words(now: ArcScene) -> str:
    flight = now.flight
    where = {"inbound": "Inbound", "turning": "Turning on to the arc"}.get(now.phase, "")
    if not where:
        begin, end = flight.radials_deg[now.leg], flight.radials_deg[now.leg + 1]
        where = f"Leg {now.leg + 1} of {flight.legs}, radial {spoken(float(begin))} to {spoken(float(end))}"
    low, high, nearest, creep = flight.dists_nm.min(), flight.dists_nm.max(), flight.nearest_nm, flight.creep_nm
    sag = f", down to {nearest:.1f} in between" if f"{nearest:.1f}" != f"{low:.1f}" else ""
    if abs(creep) < 0.01:
        trend = "the steps hold the distance"
    else:
        gains, out = ("gains", "out") if creep > 0 else ("loses", "in")
        trend = f"each step {gains} {abs(creep):.2f} NM: a spiral {out}"
    return (
        f"{where}: heading {spoken(now.heading_deg)}, DME {now.dme_nm:.1f}; {_needle(now).words().rstrip('.')}. "
        f"Joined at {flight.joined_nm:.1f} NM; over {flight.legs} steps {low:.1f} to {high:.1f} NM at their "
        f"ends{sag}: {trend}."
    )


def _shown(now: ArcScene) -> Shown:
    words, knobs, path = _words(now), now.knobs, now.flight.path
    outer_nm = np.array([0.6, 1.0]) * knobs.arc_nm
    middle = point(0.45 * knobs.arc_nm, 0.0, _FROM_DEG + (45.0 if knobs.turn == "right" else -45.0))
    plan = Plan(
        0.8 * (knobs.arc_nm + _RUN_IN_NM),
        words,
        lines=(
            Line(
                "radial",
                *point(np.array([0.0, 0.55 * knobs.arc_nm, 40.0]), 0.0, _FROM_DEG),
                f"R{spoken(_FROM_DEG)}",
                1,
            ),
            *(Line("ghost", *point(outer_nm, 0.0, float(radial))) for radial in now.flight.radials_deg),
            Line("track", *path.until(min(knobs.time_s, float(path.time_s[-1])))),
            Line("ahead", path.east_nm, path.north_nm),
        ),
        circles=(Circle("arc", knobs.arc_nm),),
        marks=(Mark("OVK"),),
        aircraft_east_nm=now.east_nm,
        aircraft_north_nm=now.north_nm,
        heading_deg=now.heading_deg,
        wind_from_deg=knobs.wind_from_deg,
        wind_kt=knobs.wind_kt,
        centre_east_nm=float(middle[0]),
        centre_north_nm=float(middle[1]),
        scale_nm=5.0,
    )
    return Shown(
        {
            "plan": plan,
            "needle": _needle(now),
            "dme": dme_window(now.dme_nm),
            "heading": Digits("heading", "°M", text=spoken(now.heading_deg)),
            "radial": Digits("on radial", "°M", text=spoken(now.radial_deg)),
            # The flight may end before the slider does; the clock then stands with the picture.
            "clock": clock(min(knobs.time_s, float(path.time_s[-1]))),
        },
        words,
    )


def _still(now: ArcScene) -> Axes:
    from needlework.showing import pictures

    knobs, path = now.knobs, now.flight.path
    radials, dists = np.array([polar(e, n) for e, n in zip(path.east_nm, path.north_nm, strict=True)]).T
    ends = (_FROM_DEG, _FROM_DEG + _ANGLE_DEG) if knobs.turn == "right" else (_FROM_DEG - _ANGLE_DEG, _FROM_DEG)
    left, right = plan_and_needle()
    pictures.draw_plan(
        station="OVK",
        radials=[_FROM_DEG],
        arcs=[(knobs.arc_nm, ends[0] % 360.0, ends[1] % 360.0)],
        aircraft=(now.radial_deg, now.dist_nm, now.heading_deg),
        track=(radials, dists),
        wind=(knobs.wind_from_deg, knobs.wind_kt) if knobs.wind_kt else None,
        ax=left,
    )
    course_deg = round(now.course_deg) % 360
    pictures.draw_needle(now.needle_deg, course_deg, now.flag, dme_nm=now.dme_nm, ax=right)
    return left


def arc(**start: Any) -> WhatIf[ArcKnobs, ArcScene]:
    """Join an arc round OVK from radial 310 inbound and fly it in steps: turn a step, twist a step.

    Selector 2 stands on the next radial; when its needle centres the next leg begins.

    Parameters
    ----------
    **start : float or str
        Where sliders stand at first: ``turn`` (``"right"`` is clockwise), ``arc_nm``, ``tas_kt``, ``lead_nm``
        (before the arc, in NM), ``step_deg``, ``inside_deg`` (nose inside the tangent, towards the station
        positive), ``wind_from_deg`` (magnetic), ``wind_kt`` and ``time_s``.

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
    return WhatIf(ArcKnobs, scene, _shown, _still, rows, start)
