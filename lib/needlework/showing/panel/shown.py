"""What is seen of a cockpit: faces, readings beside the buttons, the plan view, words, the still twin."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from needlework.showing.faces import (
    Digits,
    Face,
    Heading,
    Line,
    Mark,
    Plan,
    airspeed,
    altimeter,
    clock,
    dme,
    vertical_speed,
)
from needlework.showing.panel.cockpit import Cockpit
from needlework.trade.angles import three_digits
from needlework.world.procedure import Procedure

ROWS = [
    [
        ["needle 1", "needle 2"],
        ["airspeed", "altimeter", "vertical speed"],
        ["heading", ["dme", "stopwatch", "configuration"], ["ident", "flown", "rate"]],
    ],
    [["plan"]],
]
"""Where the faces stand; see :class:`needlework.showing.faces.Board`."""
COVERED = Plan(1.0, "Plan view, covered.", hidden=True)
_SPOKEN = ("needle 1", "needle 2", "dme", "heading", "altimeter")
_TRAIL_POINTS = 240
_VIEWS_NM = (4.0, 8.0, 15.0, 30.0, 60.0, 150.0)


def instruments(fly: Cockpit) -> dict[str, Face]:
    """Give every face of the panel but those of the plan view and of the rate of time.

    Parameters
    ----------
    fly : Cockpit
        The cockpit.

    Returns
    -------
    dict of str to Face
        By name, as :data:`ROWS` has them.
    """
    sight = fly.sight
    taken = fly.hands.taken
    target_ft = None if math.isnan(fly.target_ft) or "level-off" in taken else fly.target_ft
    step = fly.craft.configurations[math.floor(float(sight.configuration[0]) + 1e-6)].name
    travelling = abs(float(sight.configuration[0]) - fly.configuration) > 1e-6
    return {
        "needle 1": fly.deviation(1),
        "needle 2": fly.deviation(2),
        "airspeed": airspeed(float(sight.ias_kt[0]), None if "speed" in taken else fly.ias_kt),
        "altimeter": altimeter(float(sight.alt_ft[0]), target_ft),
        "vertical speed": vertical_speed(float(sight.vs_fpm[0]), None if "level-off" in taken else fly.vs_fpm),
        "heading": Heading(
            float(sight.heading_deg[0]),
            None if "wings" in taken else fly.heading_deg % 360.0,
            float(fly.state.bank_deg[0]) if "wings" in taken else None,
        ),
        "dme": dme(fly.dme_nm()),
        "stopwatch": clock(fly.stopwatch_s, "stopwatch"),
        "flown": clock(fly.time_s, "flown"),
        "ident": Digits("ident", text=fly.way.station.ident if fly.identified else "?", warn=not fly.identified),
        "configuration": Digits("flap, gear", text=f"{step} …" if travelling else step),
    }


def spoken(fly: Cockpit) -> str:
    """Say needles, flags, DME, heading and altitude in words.

    Parameters
    ----------
    fly : Cockpit
        The cockpit.

    Returns
    -------
    str
        One sentence a face.
    """
    faces = instruments(fly)
    return " ".join(faces[name].words() for name in _SPOKEN)


def readings(fly: Cockpit, covered: bool) -> dict[str, str]:
    """Give what stands beside the buttons: what the hands have set.

    Parameters
    ----------
    fly : Cockpit
        The cockpit.
    covered : bool
        True while the plan view is covered.

    Returns
    -------
    dict of str to str
        By the name of the group of buttons.
    """
    taken, hands = fly.hands.taken, fly.hands
    wanted = "level" if fly.vs_fpm == 0 else f"{fly.vs_fpm:+,.0f} ft/min".replace("-", "−")
    if "level-off" in taken:
        wanted = f"{abs(hands.nose_deg):g}° {'up' if hands.nose_deg > 0 else 'down'}" if hands.nose_deg else "level"
    bank = f"{abs(hands.bank_deg):.0f}° {'right' if hands.bank_deg > 0 else 'left'}" if hands.bank_deg else "level"
    return {
        "heading": bank if "wings" in taken else three_digits(direction_deg=fly.heading_deg)[:3],
        "course 1": three_digits(direction_deg=fly.course_deg[0])[:3],
        "course 2": three_digits(direction_deg=fly.course_deg[1])[:3],
        "airspeed": f"{hands.power_pct:.0f} %" if "speed" in taken else f"{fly.ias_kt:.0f} kt",
        "vertical speed": wanted,
        "level off at": "by hand" if "level-off" in taken else f"{fly.stop_ft:,.0f} ft",
        "flown by hand": hands.said(),
        "flap and gear": fly.craft.configurations[fly.configuration].name,
        "station": ("wanted: " if fly.receivers.tunable else "")
        + f"{fly.way.station.ident} {fly.way.station.frequency_mhz:.2f}",
        "radio 1": fly.receivers.said(0),
        "radio 2": fly.receivers.said(1),
        "plan view": "covered" if covered else "in sight",
    }


def asked_before(fly: Cockpit) -> str:
    """Say what heading was asked for before the flight: a key pressed by mistake turns the aircraft once time runs.

    Parameters
    ----------
    fly : Cockpit
        The cockpit.

    Returns
    -------
    str
        One sentence; empty where the heading asked for is the one the flight begins on.
    """
    asked, now = (three_digits(direction_deg=each)[:3] for each in (fly.heading_deg, float(fly.state.heading_deg[0])))
    if "wings" in fly.hands.taken or asked == now:
        return ""
    return f"Heading {asked} is asked for before the flight, which begins on {now}: it turns there once time runs."


def note(fly: Cockpit) -> str:
    """Say what is seen outside, where anything may be, and what of the flying is held for the pilot.

    Parameters
    ----------
    fly : Cockpit
        The cockpit.

    Returns
    -------
    str
        One or two sentences.
    """
    held = {"wings": "heading", "speed": "airspeed", "level-off": "level-off"}
    left = [name for switch, name in held.items() if switch not in fly.hands.taken]
    if len(left) == len(held):
        easy = "The easier way: heading, airspeed and level-off are held for you."
        said = easy if fly.begun else f"{easy} Before the flight you can take each in hand."
    else:
        mine = f"The harder way: you hold {fly.hands.said()}."
        said = f"{mine} Held for you: {', '.join(left)}." if left else mine
    if fly.sight_at_nm is None:
        return said
    outside = "the runway is in sight" if fly.runway_in_sight else "cloud"
    if fly.runway_behind:
        outside = "the runway is behind you; no landing from here. Go around"
    return f"Outside: {outside}. {said}"


def plan(fly: Cockpit, trail_nm: Sequence[tuple[float, float]], radials: tuple[float, ...] | None) -> Plan:
    """Give the plan view, in which the aircraft and the way it has flown can be seen.

    Parameters
    ----------
    fly : Cockpit
        The cockpit.
    trail_nm : sequence of (east, north)
        Where it has been, on the axes of the station's radials. [NM]
    radials : tuple of float or None
        Radials drawn in place of the whole procedure. [deg magnetic]

    Returns
    -------
    Plan
        The face.
    """
    east, north = fly.place_nm()
    needed = 1.1 * max(math.hypot(*place) for place in [*trail_nm, (east, north)])
    radius = next((view for view in _VIEWS_NM if view > needed), _VIEWS_NM[-1])
    every = max(1, len(trail_nm) // _TRAIL_POINTS)
    trail = [*trail_nm[::every], (east, north)]
    lines, marks = drawn(fly.way, radius, radials)
    dist = math.hypot(east, north)
    radial = three_digits(direction_deg=math.degrees(math.atan2(east, north)))[:3]
    return Plan(
        radius,
        f"Plan view: the aircraft is on radial {radial} of {fly.way.station.ident} at {dist:.1f} NM.",
        lines=(*lines, Line("track", [at[0] for at in trail], [at[1] for at in trail])),
        marks=marks,
        aircraft_east_nm=east,
        aircraft_north_nm=north,
        heading_deg=float(fly.sight.heading_deg[0]),
        scale_nm=1.0 if radius <= 8 else 5.0,
    )


def still(fly: Cockpit) -> Any:
    """Draw the still twin: the cockpit as it stands.

    Parameters
    ----------
    fly : Cockpit
        The cockpit.

    Returns
    -------
    Axes
        What was drawn.
    """
    from needlework.showing import pictures

    sight, dme_nm = fly.sight, fly.dme_nm()
    dials = []
    for number in (1, 2):
        seen = fly.deviation(number)
        dials.append(pictures.Dial(fly.needle_deg(number), seen.course_deg, seen.flag))
    return pictures.draw_cockpit(
        dials,
        heading_deg=float(sight.heading_deg[0]),
        alt_ft=float(sight.alt_ft[0]),
        vs_fpm=float(sight.vs_fpm[0]),
        ias_kt=float(sight.ias_kt[0]),
        dme_nm=math.nan if dme_nm is None else dme_nm,
        dme_from=fly.way.station.ident,
        clock_s=fly.stopwatch_s,
    )


def drawn(
    way: Procedure, reach_nm: float, radials: tuple[float, ...] | None
) -> tuple[tuple[Line, ...], tuple[Mark, ...]]:
    """Draw the procedure, or the radials that are flown in its place, on the axes of the station's radials.

    Parameters
    ----------
    way : Procedure
        Gives legs, fixes and station.
    reach_nm : float
        Half the width of the view. [NM]
    radials : tuple of float or None
        Radials in place of the whole procedure. [deg magnetic]

    Returns
    -------
    tuple
        Lines, and marks.
    """
    if radials is not None:
        spokes = np.deg2rad(np.asarray(radials, dtype=np.float64))
        ends_nm = zip(reach_nm * np.sin(spokes), reach_nm * np.cos(spokes), strict=True)
        return tuple(Line("course", [0.0, float(e)], [0.0, float(n)]) for e, n in ends_nm), (Mark(way.station.ident),)
    lines = []
    for leg in way.legs:
        if leg.kind == "arc" and leg.start and leg.end and leg.arc_dme_nm:
            begin, end = way.fix(leg.start).radial_deg, way.fix(leg.end).radial_deg
            turned = (end - begin) % 360.0 if leg.turn == "right" else -((begin - end) % 360.0)
            along = np.deg2rad(np.linspace(begin, begin + turned, 40))
            lines.append(Line("arc", leg.arc_dme_nm * np.sin(along), leg.arc_dme_nm * np.cos(along)))
        elif leg.kind == "radial" and leg.start and leg.end:
            ends = [_east_north(way, name) for name in (leg.start, leg.end)]
            lines.append(Line("course", [e for e, _ in ends], [n for _, n in ends]))
    marks = [Mark(way.station.ident)]
    for fix in way.fixes:
        east, north = _east_north(way, fix.name)
        # Fixes closer together than their names would hide each other.
        if all(math.hypot(east - mark.east_nm, north - mark.north_nm) > 0.09 * reach_nm for mark in marks):
            marks.append(Mark(fix.name, east, north, "fix"))
    return tuple(lines), tuple(marks)


def _east_north(way: Procedure, name: str) -> tuple[float, float]:
    fix = way.fix(name)
    angle = math.radians(fix.radial_deg)
    return fix.dist_nm * math.sin(angle), fix.dist_nm * math.cos(angle)
