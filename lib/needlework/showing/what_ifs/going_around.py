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
from needlework.showing.what_ifs.scene import Knob, Path, Scene, WhatIf, between, flown, point, polar, spoken, turned
from needlework.trade import dme, holding, turns, vor, wind
from needlework.trade import missed as rules
from needlework.trade.angles import reciprocal
from needlework.world import procedure
from needlework.world.procedure import Procedure

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes

_STEP_S = 1.0
_RUN_NM = 1.0
_AT_MAP, _AT_ONCE = "at the MAP", "at once"
_LONGEST_S = 900.0

_KNOBS = (
    Knob("tas_kt", "True airspeed", "kt", 80, 60, 130, 1),
    Knob("climb_fpm", "Rate of climb", "ft/min", 650, 100, 1200, 10),
    Knob("wind_from_deg", "Wind from", "°M", 300, 0, 350, 10),
    Knob("wind_kt", "Wind speed", "kt", 0, 0, 40, 1),
    Knob("early_nm", "Decided before the MAP (after −)", "NM", 0.8, -0.5, 2.0, 0.1),
    Knob("turn", "Turn begun", "", _AT_MAP, options=(_AT_MAP, _AT_ONCE)),
    Knob("entry_deg", "Heading on reaching BELDU", "°M", 165, 5, 360, 5),
    Knob("time_s", "Time from the decision", "s", 60, 0, 900, 2, play=True),
)


@functools.cache
def _way() -> Procedure:
    return procedure.load("saltmarsh")


@dataclass(frozen=True)
class _Missed:
    """The whole missed approach: path, altitudes, and how much of it was promised to be clear."""

    path: Path
    alt_ft: Floats
    turn_s: float
    met: bool
    met_nm: float
    gs_kt: float
    made_ft_nm: float
    needed_fpm: float
    early_turn_nm: float


def _heading(course_deg: float, tas_kt: float, wind_from_deg: float, wind_kt: float) -> float:
    return float(
        np.asarray(
            wind.heading_deg(course_deg=course_deg, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt)
        )
    )


def _fly(
    tas_kt: float,
    climb_fpm: float,
    wind_from_deg: float,
    wind_kt: float,
    early_nm: float,
    turn: str,
    entry_deg: float,
) -> _Missed:
    way = _way()
    plan = way.missed
    course, map_nm = plan.course_deg, way.fix("MAP").dist_nm
    air = (wind_from_deg, wind_kt)
    out = _heading(course, tas_kt, *air)
    gs = float(
        np.asarray(
            wind.ground_speed_kt(course_deg=course, wind_from_deg=wind_from_deg, wind_kt=wind_kt, tas_kt=tas_kt)
        )
    )
    begin_nm = map_nm - early_nm
    to_map_s = max(early_nm, 0.0) / gs * 3600.0
    to_climb_s = (plan.climb_to_ft - way.mda_ft()) / climb_fpm * 60.0
    turn_s = max(to_climb_s, to_map_s) if turn == _AT_MAP else 0.0
    turn_s = float(np.ceil(turn_s / _STEP_S) * _STEP_S)
    straight = np.full(max(1, round(turn_s / _STEP_S)), out)
    assert plan.heading_deg is not None
    assert plan.intercept_radial_deg is not None
    turning = turned(out, plan.heading_deg, float(turns.STANDARD_RATE_DEG_S), _STEP_S)
    start = point(begin_nm, 0.0, course)
    so_far = flown((float(start[0]), float(start[1])), np.concatenate([straight, turning]), tas_kt, *air, _STEP_S)
    radial, dist = polar(so_far.east_nm[-1], so_far.north_nm[-1])
    track = float(
        np.asarray(
            wind.track_deg(heading_deg=plan.heading_deg, wind_from_deg=wind_from_deg, wind_kt=wind_kt, tas_kt=tas_kt)
        )
    )
    over_kt = float(
        np.asarray(
            wind.ground_speed_on_heading_kt(
                heading_deg=plan.heading_deg, wind_from_deg=wind_from_deg, wind_kt=wind_kt, tas_kt=tas_kt
            )
        )
    )
    met_nm, leg_nm = (
        float(np.asarray(v))
        for v in rules.meets_radial_nm(
            radial_deg=radial, dist_nm=dist, track_deg=track, wanted_radial_deg=plan.intercept_radial_deg
        )
    )
    met = bool(np.isfinite(met_nm) and np.isfinite(leg_nm))
    leg_s = leg_nm / over_kt * 3600.0 if met else _LONGEST_S
    leg = np.full(max(1, min(round(leg_s / _STEP_S), int(_LONGEST_S))), plan.heading_deg)
    outbound = _heading(plan.intercept_radial_deg, tas_kt, *air)
    onto = turned(plan.heading_deg, outbound, float(turns.STANDARD_RATE_DEG_S), _STEP_S)
    out_kt = float(
        np.asarray(
            wind.ground_speed_kt(
                course_deg=plan.intercept_radial_deg, wind_from_deg=wind_from_deg, wind_kt=wind_kt, tas_kt=tas_kt
            )
        )
    )
    to_fix_nm = way.fix(plan.fix).dist_nm - met_nm if met else 0.0
    rest = np.full(max(1, round(max(to_fix_nm, 0.0) / out_kt * 3600.0 / _STEP_S)), outbound)
    pieces = [straight, turning, leg, onto, rest] if met else [straight, turning, leg]
    path = flown((float(start[0]), float(start[1])), np.concatenate(pieces), tas_kt, *air, _STEP_S)
    alt = np.minimum(way.mda_ft() + climb_fpm * path.time_s / 60.0, plan.altitude_ft)
    early_turn = max(early_nm, 0.0) if turn == _AT_ONCE else 0.0
    return _Missed(
        path,
        alt,
        turn_s,
        met,
        met_nm,
        gs,
        float(np.asarray(rules.climb_gradient_ft_nm(vs_fpm=climb_fpm, gs_kt=gs))),
        float(np.asarray(rules.climb_fpm(gradient_ft_nm=plan.gradient_ft_nm, gs_kt=gs))),
        early_turn,
    )


def _now(at: dict[str, Any]) -> tuple[_Missed, float, float, float, float, float, float, CourseDeviation]:
    flight = _fly(**{name: value for name, value in at.items() if name != "time_s"})
    way = _way()
    east, north, heading = flight.path.at(at["time_s"])
    alt = float(np.interp(at["time_s"], flight.path.time_s, flight.alt_ft))
    radial, dist = polar(east, north)
    course = float(way.missed.intercept_radial_deg or 0.0)
    needle = CourseDeviation(
        course,
        float(np.asarray(vor.dots(radial_deg=radial, selected_course_deg=course))),
        vor.flag(radial_deg=radial, selected_course_deg=course),  # type: ignore[arg-type]
        "VOR 2 OVK",
    )
    return flight, east, north, heading, alt, radial, dist, needle


def _entries(entry_deg: float) -> str:
    hold = _way().hold
    return " or ".join(
        holding.entries(heading_deg=entry_deg, inbound_course_deg=hold.inbound_course_deg, side=hold.turn)
    )


def _hold(tas_kt: float, wind_from_deg: float, wind_kt: float) -> tuple[float, float]:
    """Headings in the hold, inbound and outbound: the correction, and three times it to the other side. [deg]"""
    inbound = _way().hold.inbound_course_deg
    correction = float(
        np.asarray(
            wind.correction_deg(course_deg=inbound, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt)
        )
    )
    return (inbound + correction) % 360.0, float(
        np.asarray(holding.outbound_heading_deg(inbound_course_deg=inbound, wca_deg=correction))
    )


def _words(flight: _Missed, at: dict[str, Any], alt: float, heading: float) -> str:
    way = _way()
    wanted = way.missed.gradient_ft_nm
    enough = "enough" if flight.made_ft_nm >= wanted else "NOT enough"
    said = [
        f"{at['time_s']:.0f} s after the decision: {alt:,.0f} ft, heading {spoken(heading)}",
        f"{at['climb_fpm']:.0f} ft/min at {flight.gs_kt:.0f} kt over the ground is {flight.made_ft_nm:.0f} ft/NM, "
        f"{enough} for {wanted:.0f}, which needs {flight.needed_fpm:.0f} ft/min",
    ]
    if flight.early_turn_nm > 0:
        said.append(f"turning {flight.early_turn_nm:.1f} NM before the MAP, where no early turn is protected")
    elif at["early_nm"] < 0:
        said.append(f"decided {-at['early_nm']:.1f} NM past the MAP, where nobody promises clear ground")
    else:
        said.append(f"straight on to the MAP and {way.missed.climb_to_ft:,.0f} ft, turn after {flight.turn_s:.0f} s")
    radial = spoken(float(way.missed.intercept_radial_deg or 0.0))
    if flight.met:
        said.append(f"radial {radial} is met at D{flight.met_nm:.1f}")
    else:
        said.append(f"in this wind the heading never meets radial {radial}")
    said.append(f"arriving on heading {spoken(at['entry_deg'])} the entry is {_entries(at['entry_deg'])}")
    headings = _hold(at["tas_kt"], at["wind_from_deg"], at["wind_kt"])
    out_deg = float(np.asarray(reciprocal(way.hold.inbound_course_deg)))
    turned_out = abs(between(out_deg, headings[1]))
    limit = ", the most that is flown" if turned_out >= float(holding.DRIFT_MOST_DEG) - 1e-6 else ""
    said.append(
        f"in the hold {spoken(headings[0])} inbound and {spoken(headings[1])} outbound, "
        f"{turned_out:.0f} degrees off the outbound course{limit}"
    )
    return "; ".join(said) + "."


def _scene(**at: Any) -> Scene:
    flight, east, north, heading, alt, _radial, dist, needle = _now(at)
    way = _way()
    words = _words(flight, at, alt, heading)
    slant = float(np.asarray(dme.slant_nm(ground_nm=dist, height_ft=max(alt - way.station.elevation_ft, 0.0))))
    marks = [Mark("OVK")]
    for name in ("MAP", way.missed.fix):
        fix = way.fix(name)
        place = point(fix.dist_nm, 0.0, fix.radial_deg)
        marks.append(Mark(name, float(place[0]), float(place[1]), "fix"))
    beyond = np.array([0.0, 30.0])
    plan = Plan(
        9.0,
        words,
        lines=(
            Line("course", *point(beyond, 0.0, way.missed.course_deg)),
            Line(
                "radial",
                *point(np.array([0.0, 8.0, 30.0]), 0.0, needle.course_deg),
                f"R {spoken(needle.course_deg)}",
                1,
            ),
            Line("ghost", *flight.path.thinned()),
            Line("track", *flight.path.until(at["time_s"])),
        ),
        marks=marks,
        aircraft_east_nm=east,
        aircraft_north_nm=north,
        heading_deg=heading,
        wind_from_deg=at["wind_from_deg"],
        wind_kt=at["wind_kt"],
        centre_east_nm=1.0,
        centre_north_nm=-7.0,
        scale_nm=5.0,
    )
    headings = _hold(at["tas_kt"], at["wind_from_deg"], at["wind_kt"])
    short = flight.made_ft_nm < way.missed.gradient_ft_nm
    return Scene(
        {
            "plan": plan,
            "needle": needle,
            "gradient": Digits("climb", "ft/NM", flight.made_ft_nm, warn=short),
            "needed": Digits("needed", "ft/min", flight.needed_fpm),
            "altitude": Digits("altitude", "ft", alt),
            "dme": dme_window(slant),
            "heading": Digits("heading", "°M", text=spoken(heading)),
            "entry": Digits("entry", text=_entries(at["entry_deg"])),
            "hold in": Digits("hold, inbound", "°M", text=spoken(headings[0])),
            "hold out": Digits("outbound", "°M", text=spoken(headings[1])),
        },
        words,
    )


def _still(**at: Any) -> Axes:
    from needlework.showing import pictures
    from needlework.showing.pictures.style import new_figure

    flight, _east, _north, heading, _alt, radial, dist, needle = _now(at)
    way = _way()
    radials, dists = np.array(
        [polar(e, n) for e, n in zip(flight.path.east_nm[::5], flight.path.north_nm[::5], strict=True)]
    ).T
    figure = new_figure(8.6, 4.6)
    grid = figure.add_gridspec(1, 2, width_ratios=(2.1, 1))
    left, right = figure.add_subplot(grid[0]), figure.add_subplot(grid[1])
    pictures.draw_plan(
        station="OVK",
        radials=[way.missed.course_deg, needle.course_deg],
        fixes={name: (way.fix(name).radial_deg, way.fix(name).dist_nm) for name in ("MAP", way.missed.fix)},
        aircraft=(radial, dist, heading),
        track=(radials, dists),
        wind=(at["wind_from_deg"], at["wind_kt"]) if at["wind_kt"] else None,
        ax=left,
    )
    pictures.draw_needle(needle.deviation_dots * 2.0, needle.course_deg, needle.flag, ax=right)
    return left


def missed(**start: Any) -> WhatIf:
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
    return WhatIf(
        _KNOBS,
        _scene,
        _still,
        [
            [["plan"]],
            [["needle"], ["gradient", "needed"], ["altitude", "dme"], ["heading", "entry"], ["hold in", "hold out"]],
        ],
        start,
    )
