"""What if: an arc joined and flown in steps, with the nose so far inside, in a wind."""

from __future__ import annotations

import typing
from dataclasses import dataclass
from typing import Any

import numpy as np

from needlework.basis.quantity import Floats
from needlework.showing.faces import Circle, CourseDeviation, Digits, Line, Mark, Plan, clock
from needlework.showing.faces import dme as dme_window
from needlework.showing.what_ifs.scene import Knob, Path, Scene, WhatIf, between, point, polar, spoken
from needlework.trade import arc as arcs
from needlework.trade import dme, turns, vor, wind

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes

_FROM_DEG = 310.0  # the radial on which the arc of the Saltmarsh procedure is joined
_ANGLE_DEG = 90.0
_HEIGHT_FT = 2900.0
_RUN_IN_NM = 4.0

_KNOBS = (
    Knob("turn", "Turns to the", "", "right", options=("right", "left")),
    Knob("arc_nm", "Arc", "NM", 10, 7, 20, 1),
    Knob("tas_kt", "True airspeed", "kt", 98, 70, 160, 1),
    Knob("lead_nm", "Turn begun before the arc by", "NM", 0.5, -0.5, 2.0, 0.1),
    Knob("step_deg", "Step", "deg", 10, 5, 30, 1),
    Knob("inside_deg", "Nose inside the tangent", "deg", 5, -10, 25, 1),
    Knob("wind_from_deg", "Wind from", "°M", 290, 0, 350, 10),
    Knob("wind_kt", "Wind speed", "kt", 0, 0, 40, 1),
    Knob("time_s", "Time", "s", 200, 0, 1200, 2, play=True),
)


@dataclass(frozen=True)
class _Arc:
    """The whole arc: path, the radial and distance at the end of each step, when each step begins."""

    path: Path
    radials_deg: Floats
    dists_nm: Floats
    begins_s: Floats
    joined_nm: float


def _fly(
    turn: str,
    arc_nm: float,
    tas_kt: float,
    lead_nm: float,
    step_deg: float,
    inside_deg: float,
    wind_from_deg: float,
    wind_kt: float,
) -> _Arc:
    way = 1.0 if turn == "right" else -1.0
    radius = float(np.asarray(turns.turn_radius_nm(tas_kt=tas_kt)))
    inbound = (_FROM_DEG + 180.0) % 360.0
    # In along the radial, then a quarter of a circle away from the station's side. The wind of the
    # half minute of turning is left out: what counts here is where the turn was begun.
    begun_nm = arc_nm + lead_nm
    run_s = (
        _RUN_IN_NM
        / float(
            np.asarray(
                wind.ground_speed_kt(course_deg=inbound, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt)
            )
        )
        * 3600.0
    )
    angles = np.linspace(0.0, 90.0, 10)
    bend = np.deg2rad(angles)
    along, right = begun_nm - radius * np.sin(bend), way * radius * (1.0 - np.cos(bend))
    # Seen outwards along the radial, a clockwise arc leads to the right.
    bend_east, bend_north = point(along, right, _FROM_DEG)
    turn_s = float(np.asarray(turns.turn_time_s(turn_deg=90.0)))
    headings = inbound - way * angles
    start_radial, joined = polar(bend_east[-1], bend_north[-1])
    # The first leg ends on the first whole step past the radial the aircraft came in on.
    past_deg = abs(between(_FROM_DEG, start_radial))
    first_deg = step_deg - past_deg if step_deg - past_deg >= 1.0 else 2.0 * step_deg - past_deg
    legs = max(1, round((_ANGLE_DEG - past_deg - first_deg) / step_deg))
    air = {"tas_kt": tas_kt, "wind_from_deg": wind_from_deg, "wind_kt": wind_kt}
    first_radial = (start_radial + way * first_deg) % 360.0
    # Its heading is the one for the whole step, of which the turn has used some degrees.
    used_deg = way * between(first_radial - way * step_deg, start_radial)
    first_nm = arcs.flown_distances_nm(
        dist_nm=joined,
        from_radial_deg=start_radial,
        turn=turn,
        legs=1,
        step_deg=first_deg,
        inside_deg=inside_deg - used_deg,
        **air,
    )
    rest_nm = arcs.flown_distances_nm(
        dist_nm=float(first_nm[-1]),
        from_radial_deg=first_radial,
        turn=turn,
        legs=legs,
        step_deg=step_deg,
        inside_deg=inside_deg,
        **air,
    )
    dists = np.concatenate([first_nm[:1], rest_nm])
    radials = np.concatenate([[start_radial], np.mod(first_radial + way * step_deg * np.arange(legs + 1), 360.0)])
    ends_east, ends_north = point(dists, 0.0, radials)
    tangents = np.asarray(arcs.tangent_deg(radial_deg=radials[:-1], turn=turn))
    noses = tangents + way * inside_deg
    noses[0] -= way * used_deg
    gs = np.asarray(
        wind.ground_speed_on_heading_kt(
            heading_deg=noses, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt
        )
    )
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
    return _Arc(path, radials, dists, begins, joined)


def _zipped(first: Floats, second: Floats) -> Floats:
    """One of the first, one of the second, and so on."""
    return np.column_stack([first, second]).ravel()


def _now(at: dict[str, Any]) -> tuple[_Arc, int, CourseDeviation, float, float, float, float, float]:
    flight = _fly(**{name: value for name, value in at.items() if name != "time_s"})
    time_s = min(at["time_s"], flight.path.time_s[-1])
    east, north, heading = flight.path.at(time_s)
    radial, dist = polar(east, north)
    legs = len(flight.begins_s) - 1
    leg = int(np.searchsorted(flight.begins_s, time_s, side="right")) - 1
    next_radial = float(flight.radials_deg[min(max(leg, 0) + 1, legs)])
    needle = CourseDeviation(
        round(next_radial) % 360,
        float(np.asarray(vor.dots(radial_deg=radial, selected_course_deg=next_radial))),
        vor.flag(radial_deg=radial, selected_course_deg=next_radial, dist_nm=dist, height_ft=_HEIGHT_FT),  # type: ignore[arg-type]
        "VOR 2 OVK",
    )
    return flight, leg, needle, east, north, heading, radial, dist


def _nearest_nm(flight: _Arc) -> float:
    """Least distance from the station on the legs, each of them straight from one radial to the next. [NM]"""
    east, north = point(flight.dists_nm, 0.0, flight.radials_deg)
    leg_east, leg_north = np.diff(east), np.diff(north)
    along = -(east[:-1] * leg_east + north[:-1] * leg_north) / (leg_east**2 + leg_north**2)
    part = np.clip(along, 0.0, 1.0)
    return float(np.min(np.hypot(east[:-1] + part * leg_east, north[:-1] + part * leg_north)))


def _words(flight: _Arc, leg: int, at: dict[str, Any], needle: CourseDeviation, slant: float, heading: float) -> str:
    legs = len(flight.begins_s) - 1
    if leg < 0:
        where = "Inbound" if at["time_s"] < flight.path.time_s[1] else "Turning on to the arc"
    else:
        number = min(leg, legs - 1)
        begin, end = flight.radials_deg[number], flight.radials_deg[number + 1]
        where = f"Leg {number + 1} of {legs}, radial {spoken(float(begin))} to {spoken(float(end))}"
    low, high, last = flight.dists_nm.min(), flight.dists_nm.max(), flight.dists_nm[-1]
    deep = _nearest_nm(flight)
    sag = f", down to {deep:.1f} in between" if f"{deep:.1f}" != f"{low:.1f}" else ""
    creep = (last - flight.dists_nm[1]) / (legs - 1)
    if abs(creep) < 0.01:
        trend = "the steps hold the distance"
    else:
        gains, out = ("gains", "out") if creep > 0 else ("loses", "in")
        trend = f"each step {gains} {abs(creep):.2f} NM: a spiral {out}"
    return (
        f"{where}: heading {spoken(heading)}, DME {slant:.1f}; {needle.words().rstrip('.')}. "
        f"Joined at {flight.joined_nm:.1f} NM; over {legs} steps {low:.1f} to {high:.1f} NM at their ends{sag}: "
        f"{trend}."
    )


def _scene(**at: Any) -> Scene:
    flight, leg, needle, east, north, heading, radial, dist = _now(at)
    slant = float(np.asarray(dme.slant_nm(ground_nm=dist, height_ft=_HEIGHT_FT)))
    words = _words(flight, leg, at, needle, slant, heading)
    reach = at["arc_nm"] + _RUN_IN_NM
    middle = point(0.45 * at["arc_nm"], 0.0, _FROM_DEG + (45.0 if at["turn"] == "right" else -45.0))
    plan = Plan(
        0.8 * reach,
        words,
        lines=(
            Line(
                "radial",
                *point(np.array([0.0, 0.55 * at["arc_nm"], 40.0]), 0.0, _FROM_DEG),
                f"R {spoken(_FROM_DEG)}",
                1,
            ),
            *(Line("ghost", *point(np.array([0.6, 1.0]) * at["arc_nm"], 0.0, float(r))) for r in flight.radials_deg),
            Line("track", *flight.path.until(min(at["time_s"], float(flight.path.time_s[-1])))),
            Line("ghost", flight.path.east_nm, flight.path.north_nm),
        ),
        circles=(Circle("arc", at["arc_nm"]),),
        marks=(Mark("OVK"),),
        aircraft_east_nm=east,
        aircraft_north_nm=north,
        heading_deg=heading,
        wind_from_deg=at["wind_from_deg"],
        wind_kt=at["wind_kt"],
        centre_east_nm=float(middle[0]),
        centre_north_nm=float(middle[1]),
        scale_nm=5.0,
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

    flight, _leg, needle, _east, _north, heading, radial, dist = _now(at)
    radials, dists = np.array([polar(e, n) for e, n in zip(flight.path.east_nm, flight.path.north_nm, strict=True)]).T
    ends = (_FROM_DEG, _FROM_DEG + _ANGLE_DEG) if at["turn"] == "right" else (_FROM_DEG - _ANGLE_DEG, _FROM_DEG)
    figure = new_figure(8.6, 4.6)
    grid = figure.add_gridspec(1, 2, width_ratios=(2.1, 1))
    left, right = figure.add_subplot(grid[0]), figure.add_subplot(grid[1])
    pictures.draw_plan(
        station="OVK",
        radials=[_FROM_DEG],
        arcs=[(at["arc_nm"], ends[0] % 360.0, ends[1] % 360.0)],
        aircraft=(radial, dist, heading),
        track=(radials, dists),
        wind=(at["wind_from_deg"], at["wind_kt"]) if at["wind_kt"] else None,
        ax=left,
    )
    pictures.draw_needle(
        needle.deviation_dots * 2.0,
        needle.course_deg,
        needle.flag,
        dme_nm=float(np.asarray(dme.slant_nm(ground_nm=dist, height_ft=_HEIGHT_FT))),
        ax=right,
    )
    return left


def arc(**start: Any) -> WhatIf:
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
    return WhatIf(_KNOBS, _scene, _still, [[["plan"]], [["needle"], ["dme", "clock"], ["heading", "radial"]]], start)
