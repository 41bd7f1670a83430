"""What if: a missed approach climbed, turned, intercepted, and the hold entered."""

from __future__ import annotations

import functools
import typing
from dataclasses import dataclass
from typing import Any

import numpy as np

from needlework.basis.quantity import Floats
from needlework.showing.faces import CourseDeviation, Digits, Line, Mark, Plan
from needlework.showing.faces import dme as dme_window
from needlework.showing.what_ifs.common_faces import Flag, deviation, plan_and_needle
from needlework.showing.what_ifs.geometry import Path, between, flown, number, point, polar, spoken, turned
from needlework.showing.what_ifs.knobs import choice, slider
from needlework.showing.what_ifs.whatif import Shown, WhatIf
from needlework.trade import dme, holding, turns, vor, wind
from needlework.trade import missed as rules
from needlework.trade.angles import reciprocal
from needlework.world import procedure
from needlework.world.procedure import Procedure

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes

_STEP_S = 1.0
_AT_MAP, _AT_ONCE = "at the MAP", "at once"
_LONGEST_S = 900.0


@dataclass(frozen=True)
class MissedKnobs:
    """What can be moved.

    Parameters
    ----------
    tas_kt : float
        True airspeed. [kt]
    climb_fpm : float
        Rate of climb. [ft/min]
    wind_from_deg, wind_kt : float
        The wind. [deg magnetic], [kt]
    early_nm : float
        How far before the MAP the decision falls, after it negative. [NM]
    turn : str
        Whether the turn waits for the MAP and the altitude, or is begun at once.
    entry_deg : float
        Heading on reaching BELDU. [deg magnetic]
    time_s : float
        Time from the decision. [s]
    """

    tas_kt: float = slider("True airspeed", "kt", 80, low=60, high=130, step=1)
    climb_fpm: float = slider("Rate of climb", "ft/min", 650, low=100, high=1200, step=10)
    wind_from_deg: float = slider("Wind from", "°M", 300, low=0, high=350, step=10)
    wind_kt: float = slider("Wind speed", "kt", 0, low=0, high=40, step=1)
    early_nm: float = slider("Decided before the MAP (after −)", "NM", 0.8, low=-0.5, high=2.0, step=0.1)
    turn: str = choice("Turn begun", (_AT_MAP, _AT_ONCE))
    entry_deg: float = slider("Heading on reaching BELDU", "°M", 165, low=5, high=360, step=5)
    time_s: float = slider("Time from the decision", "s", 60, low=0, high=900, step=2, play=20)


@dataclass(frozen=True, eq=False)
class MissedFlight:
    """The whole missed approach: path, altitudes, and how much of it was promised to be clear.

    Parameters
    ----------
    path : Path
        The way flown.
    alt_ft : numpy.ndarray
        Altitude at each sample of it. [ft]
    turn_s : float
        When the turn is begun. [s]
    early_turn_nm : float
        How far before the MAP; 0 where it is not early. [NM]
    met : bool
        False where in this wind the heading never meets the radial.
    met_nm : float
        Distance from the station at which it is met. [NM]
    gs_kt : float
        Speed over the ground on the final course. [kt]
    made_ft_nm, needed_ft_nm : float
        Gradient made good, and the one asked for. [ft/NM]
    needed_fpm : float
        Rate of climb that makes it. [ft/min]
    """

    path: Path
    alt_ft: Floats
    turn_s: float
    early_turn_nm: float
    met: bool
    met_nm: float
    gs_kt: float
    made_ft_nm: float
    needed_ft_nm: float
    needed_fpm: float


@dataclass(frozen=True, eq=False)
class MissedScene:
    """One moment of a missed approach.

    Parameters
    ----------
    knobs : MissedKnobs
        What led to it.
    flight : MissedFlight
        The whole of it.
    east_nm, north_nm : float
        Place on magnetic axes round the station. [NM]
    radial_deg, dist_nm : float
        Radial, and distance over the ground. [deg magnetic], [NM]
    heading_deg : float
        Where the nose points. [deg magnetic]
    alt_ft : float
        Altitude. [ft]
    course_deg : float
        What selector 2 shows: the radial to be met. [deg magnetic]
    needle_deg : float
        Deflection of needle 2, right positive. [deg]
    flag : str
        ``"TO"``, ``"FROM"`` or ``"NONE"``.
    dme_nm : float
        What the DME shows. [NM]
    entries : tuple of str
        Entries into the hold that fit the heading of arrival.
    hold_in_deg, hold_out_deg : float
        Headings in the hold, inbound and outbound. [deg magnetic]
    """

    knobs: MissedKnobs
    flight: MissedFlight
    east_nm: float
    north_nm: float
    radial_deg: float
    dist_nm: float
    heading_deg: float
    alt_ft: float
    course_deg: float
    needle_deg: float
    flag: Flag
    dme_nm: float
    entries: tuple[str, ...]
    hold_in_deg: float
    hold_out_deg: float


@functools.cache
def _way() -> Procedure:
    return procedure.load("saltmarsh")


def _flown(knobs: MissedKnobs) -> MissedFlight:
    way, early_nm = _way(), knobs.early_nm
    plan = way.missed
    assert plan.heading_deg is not None
    assert plan.intercept_radial_deg is not None
    air = {"tas_kt": knobs.tas_kt, "wind_from_deg": knobs.wind_from_deg, "wind_kt": knobs.wind_kt}
    rate_deg_s = float(turns.STANDARD_RATE_DEG_S)
    out = number(wind.heading_deg(course_deg=plan.course_deg, **air))
    gs = number(wind.ground_speed_kt(course_deg=plan.course_deg, **air))
    to_map_s = max(early_nm, 0.0) / gs * 3600.0
    to_climb_s = (plan.climb_to_ft - way.mda_ft()) / knobs.climb_fpm * 60.0
    turn_s = max(to_climb_s, to_map_s) if knobs.turn == _AT_MAP else 0.0
    turn_s = float(np.ceil(turn_s / _STEP_S) * _STEP_S)
    straight = np.full(max(1, round(turn_s / _STEP_S)), out)
    turning = turned(out, plan.heading_deg, rate_deg_s, _STEP_S)
    east, north = point(way.fix("MAP").dist_nm - early_nm, 0.0, plan.course_deg)
    start = (float(east), float(north))
    so_far = flown(start, np.concatenate([straight, turning]), step_s=_STEP_S, **air)
    radial, dist = polar(so_far.east_nm[-1], so_far.north_nm[-1])
    track = number(wind.track_deg(heading_deg=plan.heading_deg, **air))
    over_kt = number(wind.ground_speed_on_heading_kt(heading_deg=plan.heading_deg, **air))
    met_nm, leg_nm = map(
        number,
        rules.meets_radial_nm(
            radial_deg=radial, dist_nm=dist, track_deg=track, wanted_radial_deg=plan.intercept_radial_deg
        ),
    )
    met = bool(np.isfinite(met_nm) and np.isfinite(leg_nm))
    leg_s = leg_nm / over_kt * 3600.0 if met else _LONGEST_S
    leg = np.full(max(1, min(round(leg_s / _STEP_S), int(_LONGEST_S))), plan.heading_deg)
    outbound = number(wind.heading_deg(course_deg=plan.intercept_radial_deg, **air))
    onto = turned(plan.heading_deg, outbound, rate_deg_s, _STEP_S)
    out_kt = number(wind.ground_speed_kt(course_deg=plan.intercept_radial_deg, **air))
    to_fix_nm = way.fix(plan.fix).dist_nm - met_nm if met else 0.0
    rest = np.full(max(1, round(max(to_fix_nm, 0.0) / out_kt * 3600.0 / _STEP_S)), outbound)
    pieces = [straight, turning, leg, onto, rest] if met else [straight, turning, leg]
    path = flown(start, np.concatenate(pieces), step_s=_STEP_S, **air)
    return MissedFlight(
        path=path,
        alt_ft=np.minimum(way.mda_ft() + knobs.climb_fpm * path.time_s / 60.0, plan.altitude_ft),
        turn_s=turn_s,
        early_turn_nm=max(early_nm, 0.0) if knobs.turn == _AT_ONCE else 0.0,
        met=met,
        met_nm=met_nm,
        gs_kt=gs,
        made_ft_nm=number(rules.climb_gradient_ft_nm(vs_fpm=knobs.climb_fpm, gs_kt=gs)),
        needed_ft_nm=plan.gradient_ft_nm,
        needed_fpm=number(rules.climb_fpm(gradient_ft_nm=plan.gradient_ft_nm, gs_kt=gs)),
    )


def scene(knobs: MissedKnobs) -> MissedScene:
    """Go around and stop at a moment.

    Parameters
    ----------
    knobs : MissedKnobs
        How and when.

    Returns
    -------
    MissedScene
        The moment asked for, with the whole of it.

    Raises
    ------
    OutOfRange, NoSolution
        If it cannot be flown so.
    """
    flight, way = _flown(knobs), _way()
    east, north, heading = flight.path.at(knobs.time_s)
    alt = float(np.interp(knobs.time_s, flight.path.time_s, flight.alt_ft))
    radial, dist = polar(east, north)
    course, hold = float(way.missed.intercept_radial_deg or 0.0), way.hold
    # In the hold the correction holds the inbound course; outbound 1 + 2/T times it is flown to the other side, for a
    # leg of T minutes and two turns of a minute each.
    leg_min = hold.leg_min or (hold.leg_dme_nm or 0.0) / knobs.tas_kt * 60.0
    correction = number(
        wind.correction_deg(
            course_deg=hold.inbound_course_deg,
            tas_kt=knobs.tas_kt,
            wind_from_deg=knobs.wind_from_deg,
            wind_kt=knobs.wind_kt,
        )
    )
    return MissedScene(
        knobs=knobs,
        flight=flight,
        east_nm=east,
        north_nm=north,
        radial_deg=radial,
        dist_nm=dist,
        heading_deg=heading,
        alt_ft=alt,
        course_deg=course,
        needle_deg=number(vor.needle_deg(radial_deg=radial, selected_course_deg=course)),
        flag=vor.flag(radial_deg=radial, selected_course_deg=course),  # type: ignore[arg-type]
        dme_nm=number(dme.slant_nm(ground_nm=dist, height_ft=max(alt - way.station.elevation_ft, 0.0))),
        entries=tuple(
            holding.entries(heading_deg=knobs.entry_deg, inbound_course_deg=hold.inbound_course_deg, side=hold.turn)
        ),
        hold_in_deg=(hold.inbound_course_deg + correction) % 360.0,
        hold_out_deg=number(
            holding.outbound_heading_deg(
                inbound_course_deg=hold.inbound_course_deg, wca_deg=correction, factor=holding.drift_factor(leg_min)
            )
        ),
    )


def _needle(now: MissedScene) -> CourseDeviation:
    return deviation(now.course_deg, now.needle_deg, now.flag, "VOR 2 OVK")


def _words(now: MissedScene) -> str:
    flight, knobs, way = now.flight, now.knobs, _way()
    enough = "enough" if flight.made_ft_nm >= flight.needed_ft_nm else "NOT enough"
    said = [
        f"{knobs.time_s:.0f} s after the decision: {now.alt_ft:,.0f} ft, heading {spoken(now.heading_deg)}",
        f"{knobs.climb_fpm:.0f} ft/min at {flight.gs_kt:.0f} kt over the ground is {flight.made_ft_nm:.0f} ft/NM, "
        f"{enough} for {flight.needed_ft_nm:.0f}, which needs {flight.needed_fpm:.0f} ft/min",
    ]
    if flight.early_turn_nm > 0:
        said.append(f"turning {flight.early_turn_nm:.1f} NM before the MAP, where no early turn is protected")
    elif knobs.early_nm < 0:
        said.append(f"decided {-knobs.early_nm:.1f} NM past the MAP, where nobody promises clear ground")
    else:
        said.append(f"straight on to the MAP and {way.missed.climb_to_ft:,.0f} ft, turn after {flight.turn_s:.0f} s")
    radial = spoken(now.course_deg)
    if flight.met:
        said.append(f"radial {radial} is met at {flight.met_nm:.1f} DME")
    else:
        said.append(f"in this wind the heading never meets radial {radial}")
    said.append(f"arriving on heading {spoken(knobs.entry_deg)} the entry is {' or '.join(now.entries)}")
    out_deg = number(reciprocal(way.hold.inbound_course_deg))
    turned_out = abs(between(out_deg, now.hold_out_deg))
    limit = ", the most that is flown" if turned_out >= float(holding.DRIFT_MOST_DEG) - 1e-6 else ""
    said.append(
        f"in the hold {spoken(now.hold_in_deg)} inbound and {spoken(now.hold_out_deg)} outbound, "
        f"{turned_out:.0f} degrees off the outbound course{limit}"
    )
    return "; ".join(said) + "."


def _shown(now: MissedScene) -> Shown:
    words, flight, knobs, way = _words(now), now.flight, now.knobs, _way()
    marks = [Mark("OVK")]
    for name in ("MAP", way.missed.fix):
        fix = way.fix(name)
        place = point(fix.dist_nm, 0.0, fix.radial_deg)
        marks.append(Mark(name, float(place[0]), float(place[1]), "fix"))
    plan = Plan(
        9.0,
        words,
        lines=(
            Line("course", *point(np.array([0.0, 30.0]), 0.0, way.missed.course_deg)),
            Line(
                "radial",
                *point(np.array([0.0, 8.0, 30.0]), 0.0, now.course_deg),
                f"R{spoken(now.course_deg)}",
                1,
            ),
            Line("ahead", *flight.path.thinned()),
            Line("track", *flight.path.until(knobs.time_s)),
        ),
        marks=marks,
        aircraft_east_nm=now.east_nm,
        aircraft_north_nm=now.north_nm,
        heading_deg=now.heading_deg,
        wind_from_deg=knobs.wind_from_deg,
        wind_kt=knobs.wind_kt,
        centre_east_nm=1.0,
        centre_north_nm=-7.0,
        scale_nm=5.0,
    )
    return Shown(
        {
            "plan": plan,
            "needle": _needle(now),
            "gradient": Digits("climb", "ft/NM", flight.made_ft_nm, warn=flight.made_ft_nm < flight.needed_ft_nm),
            "needed": Digits("needed", "ft/min", flight.needed_fpm),
            "altitude": Digits("altitude", "ft", now.alt_ft),
            "dme": dme_window(now.dme_nm),
            "heading": Digits("heading", "°M", text=spoken(now.heading_deg)),
            "entry": Digits("entry", text=" or ".join(now.entries)),
            "hold in": Digits("hold, inbound", "°M", text=spoken(now.hold_in_deg)),
            "hold out": Digits("outbound", "°M", text=spoken(now.hold_out_deg)),
        },
        words,
    )


def _still(now: MissedScene) -> Axes:
    from needlework.showing import pictures

    knobs, path, way = now.knobs, now.flight.path, _way()
    places = zip(path.east_nm[::5], path.north_nm[::5], strict=True)
    radials, dists = np.array([polar(east, north) for east, north in places]).T
    left, right = plan_and_needle()
    pictures.draw_plan(
        station="OVK",
        radials=[way.missed.course_deg, now.course_deg],
        fixes={name: (way.fix(name).radial_deg, way.fix(name).dist_nm) for name in ("MAP", way.missed.fix)},
        aircraft=(now.radial_deg, now.dist_nm, now.heading_deg),
        track=(radials, dists),
        wind=(knobs.wind_from_deg, knobs.wind_kt) if knobs.wind_kt else None,
        ax=left,
    )
    pictures.draw_needle(now.needle_deg, now.course_deg, now.flag, ax=right)
    return left


def missed(**start: Any) -> WhatIf[MissedKnobs, MissedScene]:
    """Go around at Saltmarsh: climb, turn when it is allowed, intercept radial 165, enter the hold at BELDU.

    Parameters
    ----------
    **start : float or str
        Where sliders stand at first: ``tas_kt``, ``climb_fpm``, ``wind_from_deg`` (magnetic), ``wind_kt``,
        ``early_nm`` (decision before the MAP, after it negative), ``turn``, ``entry_deg`` (heading on reaching
        the hold) and ``time_s``.

    Returns
    -------
    WhatIf
        Put it on the last line of a cell.

    Raises
    ------
    OutOfRange
        If a starting value is not one the slider can show, or there is no such slider.
    """
    rows = [
        [["plan"]],
        [["needle"], ["gradient", "needed"], ["altitude", "dme"], ["heading", "entry"], ["hold in", "hold out"]],
    ]
    return WhatIf(MissedKnobs, scene, _shown, _still, rows, start)
