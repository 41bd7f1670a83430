"""Flying a DME arc: joining it, ten-degree steps, wind along it, getting back on it, leaving it.

An arc bends right when it is flown clockwise: radials rise and the station stays on the right. Distances
are over the ground, in still air unless a wind is asked for; radials are magnetic by the station's alignment
and the wind must be given by the same reference. *Inside* always means towards the station.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from needlework.basis.errors import NoSolution, OutOfRange
from needlework.basis.quantity import (
    Constant,
    Floats,
    Result,
    direction,
    fitting,
    one,
    one_among,
    one_of,
    plain,
    singles,
    whole,
    within,
)
from needlework.trade import angles, turns, wind
from needlework.trade.angles import reciprocal, wrap360
from needlework.trade.turns import HALF_RATE_DEG_S, STANDARD_RATE_DEG_S

HANDBOOK_LEAD_NM = Constant(0.5, "NM", "IFH9", "lead up to 150 kt; faster in proportion")
HANDBOOK_LEAD_KT = Constant(150.0, "kt", "IFH9", "ground speed up to which half a mile is enough")
ARC_TOLERANCE_NM = Constant(1.0, "NM", "ACS", "an arc is held within one mile (IR.V.A.S6)")
STEP_DEG = Constant(10.0, "deg", "common-practice", "turn ten, twist ten")
INSIDE_DEG = Constant(5.0, "deg", "computed", "half a step: the nose that holds the arc in still air")
OUTSIDE_CHANGE_DEG_NM = Constant(20.0, "deg/NM", "P-871", "10 degrees for each half mile outside")
INSIDE_CHANGE_DEG_NM = Constant(10.0, "deg/NM", "P-871", "5 degrees for each half mile inside")
LEAST_CHANGE_DEG_NM = Constant(10.0, "deg/NM", "P-871", "least change taught: 5 degrees for half a mile")
MOST_CHANGE_DEG_NM = Constant(40.0, "deg/NM", "IFH9", "greatest change taught: 20 degrees for half a mile")
LARGEST_CHANGE_DEG = Constant(30.0, "deg", "P-340", "10 to 30 degrees normally suffice")
WAYS: tuple[str, ...] = ("inbound", "outbound")
"""Which way a radial is flown: to the station or from it."""
_HARDLY = 1e-3
_SAME_RADIAL_DEG = 1e-9


@dataclass(frozen=True)
class Step:
    """One leg of an arc flown in steps: what is set, what is flown, and for how long.

    ``selector_deg`` is set before the leg, so that the needle centres at its end, on ``to_radial_deg``.
    ``heading_deg`` holds the arc in the wind it was planned for. Directions in degrees, magnetic by the
    station's alignment; ``gs_kt`` in knots, ``length_nm`` in nautical miles, ``time_s`` in seconds.
    """

    from_radial_deg: float
    to_radial_deg: float
    selector_deg: float
    heading_deg: float
    gs_kt: float
    length_nm: float
    time_s: float


_direction = partial(direction, slip="is this a distance?")


def _arc(value: ArrayLike) -> Floats:
    return within("arc_nm", value, 1.0, 100.0, "NM", "is this a radial?")


def _dist(value: ArrayLike) -> Floats:
    return within("dist_nm", value, 0.5, 150.0, "NM", "is this a radial?")


def _gs(value: ArrayLike) -> Floats:
    return within("gs_kt", value, 20.0, 600.0, "kt", "is this in m/s?")


def _step(value: ArrayLike) -> Floats:
    return within("step_deg", value, 1.0, 40.0, "deg", "is this a radial?")


def _inside(value: ArrayLike) -> Floats:
    return within("inside_deg", value, -89.0, 89.0, "deg", "is this a heading?")


def _right(turn: str) -> float:
    """Give +1 for a right turn and -1 for a left turn: the sign that the station's side has in degrees."""
    return 1.0 if one_of("turn", turn, ("right", "left"), "a way round (right is clockwise)") == "right" else -1.0


def _outside(direction: str) -> float:
    """Give +1 for coming from outside and -1 for coming from inside: the sign of the lead."""
    return 1.0 if one_of("direction", direction, WAYS, "a way to fly a radial") == "inbound" else -1.0


def _rule_radius_nm(gs_kt: ArrayLike, rate_deg_s: float) -> Floats:
    rate = one_among("rate_deg_s", rate_deg_s, (STANDARD_RATE_DEG_S, HALF_RATE_DEG_S), turns.NO_RULE)
    return _gs(gs_kt) / (200.0 if rate == STANDARD_RATE_DEG_S else 100.0)


def _too_small() -> NoSolution:
    return NoSolution("The turn is too wide for this arc: fly slower, turn tighter, or choose a larger arc")


def _leg_end_nm(dist_nm: Floats, step_deg: Floats, inside_deg: Floats) -> Floats:
    first, last = np.cos(np.radians(inside_deg)), np.cos(np.radians(step_deg - inside_deg))
    if np.any(first < _HARDLY) or np.any(last < _HARDLY):
        raise NoSolution("This track does not reach the next radial: point nearer to the course along the arc")
    return np.asarray(dist_nm * first / last)


def tangent_deg(*, radial_deg: ArrayLike, turn: str) -> Result:
    """Course along the arc where it crosses a radial.

    Parameters
    ----------
    radial_deg : float or array_like
        Radial the aircraft is on. [deg], -3600 to 3600.
    turn : {"right", "left"}
        Which way the arc bends: right is clockwise, radials rise, station on the right.

    Returns
    -------
    float or numpy.ndarray
        Course in [0, 360), in the shape of the input. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the turn is neither right nor left.

    Notes
    -----
    Radial plus 90 on an arc to the right, less 90 to the left. Source: ``definition``; ``IFH9`` p. 9-18.

    Terms: tangent of an arc; course along an arc.

    Examples
    --------
    >>> tangent_deg(radial_deg=325.0, turn="right"), tangent_deg(radial_deg=268.0, turn="left")
    (55.0, 178.0)
    """
    return wrap360(_direction("radial_deg", radial_deg) + 90.0 * _right(turn))


def lead_rule_nm(*, gs_kt: ArrayLike, rate_deg_s: float = STANDARD_RATE_DEG_S) -> Result:
    """Lead for the turn on to an arc by rule: half a per cent of the ground speed, one per cent at half rate.

    Parameters
    ----------
    gs_kt : float or array_like
        Ground speed. [kt], 20 to 600.
    rate_deg_s : {3.0, 1.5}, default 3.0
        Standard or half rate: the rule knows no other. [deg/s]

    Returns
    -------
    float or numpy.ndarray
        Lead, in the shape of the input. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the rate has no rule.

    Notes
    -----
    Source: ``P-871`` ch. 4 (standard rate), ``P-1265`` 2-8 (half rate). It is the turn radius, 6 per cent low.

    Terms: lead on to an arc by rule.

    Examples
    --------
    >>> lead_rule_nm(gs_kt=120.0), lead_rule_nm(gs_kt=250.0, rate_deg_s=1.5)
    (0.6, 2.5)
    """
    return plain(_rule_radius_nm(gs_kt, rate_deg_s))


def lead_handbook_nm(gs_kt: ArrayLike) -> Result:
    """Lead for the turn on to an arc by the handbook: half a mile up to 150 kt, in proportion above.

    Parameters
    ----------
    gs_kt : float or array_like
        Ground speed. [kt], 20 to 600.

    Returns
    -------
    float or numpy.ndarray
        Lead, in the shape of the input. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Source: ``IFH9`` ch. 9, DME arcs. In still air it leaves the aircraft within 0.35 NM of a 10 NM arc from
    100 to 150 kt.

    Terms: lead on to an arc by the handbook.

    Examples
    --------
    >>> lead_handbook_nm([90.0, 150.0, 180.0]).round(3)
    array([0.5, 0.5, 0.6])
    """
    return plain(HANDBOOK_LEAD_NM * np.maximum(_gs(gs_kt) / HANDBOOK_LEAD_KT, 1.0))


def lead_factor(turn_deg: ArrayLike) -> Result:
    """Part of the lead of a square turn that a turn of another size needs.

    Parameters
    ----------
    turn_deg : float or array_like
        Angle turned through. [deg], 0 to 180.

    Returns
    -------
    float or numpy.ndarray
        Factor: 1 for 90 degrees, 2 for 180, in the shape of the input.

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    ``1 - cos(turn)``. Source: ``definition``; ``AF60`` prints it as fractions. The two thirds that ``P-1265``
    gives for 60 degrees are wrong.

    Terms: lead for a turn of another size.

    Examples
    --------
    >>> lead_factor([60.0, 90.0, 120.0, 180.0]).round(3)
    array([0.5, 1. , 1.5, 2. ])
    """
    return plain(1.0 - np.cos(np.radians(within("turn_deg", turn_deg, 0.0, 180.0, "deg", "is this a heading?"))))


@fitting
def turn_on_rule_nm(
    *,
    arc_nm: ArrayLike,
    gs_kt: ArrayLike,
    direction: str,
    turn_deg: ArrayLike = 90.0,
    rate_deg_s: float = STANDARD_RATE_DEG_S,
) -> Result:
    """DME reading at which to begin the turn on to an arc, by rule.

    Parameters
    ----------
    arc_nm : float or array_like
        Radius of the arc: distance from the station over the ground. [NM], 1 to 100.
    gs_kt : float or array_like
        Ground speed. [kt], 20 to 600.
    direction : {"inbound", "outbound"}
        Whether the aircraft comes from outside the arc, inbound, or from inside, outbound.
    turn_deg : float or array_like, default 90.0
        Angle turned through; a radial crosses the arc at 90. [deg], 0 to 180.
    rate_deg_s : {3.0, 1.5}, default 3.0
        Standard or half rate: the rule knows no other. [deg/s]

    Returns
    -------
    float or numpy.ndarray
        Distance, in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, the direction is neither of the two, or the rate has no rule.

    Notes
    -----
    The arc plus the lead when inbound, less the lead when outbound; lead by :func:`lead_rule_nm` and
    :func:`lead_factor`. Source: ``P-871`` ch. 4, ``AF60``.

    Terms: lead on to an arc by rule: DME at which to turn.

    Examples
    --------
    >>> turn_on_rule_nm(arc_nm=10.0, gs_kt=120.0, direction="inbound")
    10.6
    >>> turn_on_rule_nm(arc_nm=10.0, gs_kt=120.0, direction="outbound")
    9.4
    """
    lead = _rule_radius_nm(gs_kt, rate_deg_s) * lead_factor(turn_deg)
    return plain(_arc(arc_nm) + _outside(direction) * lead)


@fitting
def turn_on_nm(
    *, arc_nm: ArrayLike, tas_kt: ArrayLike, direction: str, rate_deg_s: ArrayLike = STANDARD_RATE_DEG_S
) -> Result:
    """Distance at which to begin the turn from a radial on to an arc, by true geometry.

    Parameters
    ----------
    arc_nm : float or array_like
        Radius of the arc: distance from the station over the ground. [NM], 1 to 100.
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.
    direction : {"inbound", "outbound"}
        Whether the aircraft comes from outside the arc, inbound, or from inside, outbound.
    rate_deg_s : float or array_like, default 3.0
        Rate of turn, to either side. [deg/s], 0.01 to 6.

    Returns
    -------
    float or numpy.ndarray
        Distance, in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the direction is neither of the two.
    NoSolution
        If the turn is too wide for the arc.

    Notes
    -----
    ``sqrt(R**2 + 2 R r)`` inbound, ``sqrt(R**2 - 2 R r)`` outbound, for an arc of radius R and a turn of
    radius r that ends along the arc. Source: ``definition``. In a wind use the ground speed for the airspeed.

    Terms: lead on to an arc: DME at which to turn.

    Examples
    --------
    >>> round(turn_on_nm(arc_nm=10.0, tas_kt=120.0, direction="inbound"), 2)
    10.62
    >>> round(turn_on_nm(arc_nm=10.0, tas_kt=120.0, direction="outbound"), 2)
    9.34
    """
    arc, radius = _arc(arc_nm), turns.turn_radius_nm(tas_kt=tas_kt, rate_deg_s=rate_deg_s)
    square = arc**2 + _outside(direction) * 2.0 * arc * radius
    if np.any(square < 0.0):
        raise _too_small()
    return plain(np.sqrt(square))


@fitting
def turn_on_by_angle_nm(
    *,
    arc_nm: ArrayLike,
    tas_kt: ArrayLike,
    direction: str,
    turn_deg: ArrayLike,
    rate_deg_s: ArrayLike = STANDARD_RATE_DEG_S,
) -> Result:
    """Distance at which to begin a turn on to an arc that is not a turn from a radial, by true geometry.

    Parameters
    ----------
    arc_nm : float or array_like
        Radius of the arc: distance from the station over the ground. [NM], 1 to 100.
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.
    direction : {"inbound", "outbound"}
        Whether the aircraft comes from outside the arc, inbound, or from inside, outbound.
    turn_deg : float or array_like
        Angle turned through, to the course along the arc. [deg], 0 to 180.
    rate_deg_s : float or array_like, default 3.0
        Rate of turn, to either side. [deg/s], 0.01 to 6.

    Returns
    -------
    float or numpy.ndarray
        Distance, in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the direction is neither of the two.
    NoSolution
        If the turn is too wide for the arc.

    Notes
    -----
    The turn's centre lies at R + r from the station when the aircraft comes from outside and turns against
    the bend of the arc, at R - r when it comes from inside and turns with it; the rest is the cosine rule.
    Source: ``definition``. From a radial the turn is a little under 90 degrees inbound and over 90 outbound.

    Terms: lead on to an arc: turn of another size.

    Examples
    --------
    >>> round(turn_on_by_angle_nm(arc_nm=10.0, tas_kt=120.0, direction="inbound", turn_deg=45.0), 2)
    10.2
    >>> round(turn_on_rule_nm(arc_nm=10.0, gs_kt=120.0, direction="inbound", turn_deg=45.0), 2)
    10.18
    """
    radius, sign = turns.turn_radius_nm(tas_kt=tas_kt, rate_deg_s=rate_deg_s), _outside(direction)
    angle = np.radians(within("turn_deg", turn_deg, 0.0, 180.0, "deg", "is this a heading?"))
    centre = _arc(arc_nm) + sign * radius
    if np.any(centre <= radius):
        raise _too_small()
    return plain(np.sqrt(centre**2 + radius**2 - sign * 2.0 * centre * radius * np.cos(angle)))


@fitting
def heading_deg(
    *, radial_deg: ArrayLike, turn: str, tas_kt: ArrayLike, wind_from_deg: ArrayLike, wind_kt: ArrayLike
) -> Result:
    """Heading that keeps the track along the arc where it crosses a radial.

    Parameters
    ----------
    radial_deg : float or array_like
        Radial the aircraft is on. [deg], -3600 to 3600.
    turn : {"right", "left"}
        Which way the arc bends: right is clockwise, radials rise, station on the right.
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.
    wind_from_deg : float or array_like
        Direction the wind blows from, same reference as the radials. [deg], -3600 to 3600.
    wind_kt : float or array_like
        Wind speed. [kt], 0 to 200.

    Returns
    -------
    float or numpy.ndarray
        Heading in [0, 360), in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the turn is neither right nor left.
    NoSolution
        If no heading holds the course.

    Notes
    -----
    :func:`needlework.trade.wind.heading_deg` for the tangent. Source: ``definition``.

    Terms: heading on an arc; wind on an arc.

    Examples
    --------
    >>> round(heading_deg(radial_deg=325.0, turn="right", tas_kt=100.0, wind_from_deg=325.0, wind_kt=20.0))
    43
    """
    return wind.heading_deg(
        course_deg=tangent_deg(radial_deg=radial_deg, turn=turn),
        tas_kt=tas_kt,
        wind_from_deg=wind_from_deg,
        wind_kt=wind_kt,
    )


@fitting
def inside_correction_deg(
    *, radial_deg: ArrayLike, turn: str, tas_kt: ArrayLike, wind_from_deg: ArrayLike, wind_kt: ArrayLike
) -> Result:
    """Wind correction on the arc, counted towards the station.

    Parameters
    ----------
    radial_deg : float or array_like
        Radial the aircraft is on. [deg], -3600 to 3600.
    turn : {"right", "left"}
        Which way the arc bends: right is clockwise, radials rise, station on the right.
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.
    wind_from_deg : float or array_like
        Direction the wind blows from, same reference as the radials. [deg], -3600 to 3600.
    wind_kt : float or array_like
        Wind speed. [kt], 0 to 200.

    Returns
    -------
    float or numpy.ndarray
        Correction, inside positive, in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the turn is neither right nor left.
    NoSolution
        If no heading holds the course.

    Notes
    -----
    :func:`needlework.trade.wind.correction_deg` for the tangent, its sign turned on an arc to the left. It is
    greatest inside on the radial opposite the wind (the wind blows from the station's side), greatest outside
    on the radial the wind comes along, and nothing on the two of :func:`neutral_radials_deg`: it changes size
    and sign as the arc turns through the wind. Source: ``definition``.

    Terms: wind correction on an arc; wind on an arc.

    Examples
    --------
    >>> [
    ...     round(float(c))
    ...     for c in inside_correction_deg(
    ...         radial_deg=[0.0, 90.0, 180.0], turn="right", tas_kt=100.0, wind_from_deg=180.0, wind_kt=20.0
    ...     )
    ... ]
    [12, 0, -12]
    """
    correction = wind.correction_deg(
        course_deg=tangent_deg(radial_deg=radial_deg, turn=turn),
        tas_kt=tas_kt,
        wind_from_deg=wind_from_deg,
        wind_kt=wind_kt,
    )
    return plain(_right(turn) * np.asarray(correction))


def neutral_radials_deg(wind_from_deg: ArrayLike) -> tuple[Result, Result]:
    """The two radials on which an arc needs no wind correction.

    Parameters
    ----------
    wind_from_deg : float or array_like
        Direction the wind blows from, same reference as the radials. [deg], -3600 to 3600.

    Returns
    -------
    tuple of (float or numpy.ndarray)
        The two radials in [0, 360), each in the shape of the input. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    There the wind blows along the tangent: wind direction plus and less 90. Source: ``definition``.

    Terms: wind on an arc: radials without correction.

    Examples
    --------
    >>> neutral_radials_deg(310.0)
    (40.0, 220.0)
    """
    wind_from = _direction("wind_from_deg", wind_from_deg)
    return wrap360(wind_from + 90.0), wrap360(wind_from - 90.0)


@fitting
def step_end_nm(*, dist_nm: ArrayLike, step_deg: ArrayLike = STEP_DEG, inside_deg: ArrayLike = INSIDE_DEG) -> Result:
    """Distance from the station at the end of one straight leg from a radial to the next.

    Parameters
    ----------
    dist_nm : float or array_like
        Distance from the station at the start of the leg. [NM], 0.5 to 150.
    step_deg : float or array_like, default 10.0
        Size of a step. [deg], 1 to 40.
    inside_deg : float or array_like, default 5.0
        How far the track points to the station's side of the perpendicular to the radial at the
        start of the leg; negative points outside. [deg], -89 to 89.

    Returns
    -------
    float or numpy.ndarray
        Distance where the next radial is crossed, in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.
    NoSolution
        If the track does not reach the next radial.

    Notes
    -----
    ``dist * cos(inside) / cos(step - inside)``. Source: ``definition``. A nose on the perpendicular of the
    radial the aircraft is on (inside 0) gains 1.5 per cent with each ten-degree step and spirals out; on that
    of the middle radial (inside 5) it holds; on that of the next radial (inside 10) it spirals in.

    Terms: leg of an arc: distance at its end; spiral out of an arc.

    Examples
    --------
    >>> [round(float(d), 3) for d in step_end_nm(dist_nm=10.0, step_deg=10.0, inside_deg=[0.0, 5.0, 10.0])]
    [10.154, 10.0, 9.848]
    """
    return plain(_leg_end_nm(_dist(dist_nm), _step(step_deg), _inside(inside_deg)))


@fitting
def step_length_nm(
    *, dist_nm: ArrayLike, step_deg: ArrayLike = STEP_DEG, inside_deg: ArrayLike = INSIDE_DEG
) -> Result:
    """Length of one straight leg from a radial to the next.

    Parameters
    ----------
    dist_nm : float or array_like
        Distance from the station at the start of the leg. [NM], 0.5 to 150.
    step_deg : float or array_like, default 10.0
        Size of a step. [deg], 1 to 40.
    inside_deg : float or array_like, default 5.0
        How far the track points to the station's side of the perpendicular to the radial at the
        start of the leg; negative points outside. [deg], -89 to 89.

    Returns
    -------
    float or numpy.ndarray
        Length, in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.
    NoSolution
        If the track does not reach the next radial.

    Notes
    -----
    Sine rule; ``2 R sin(step / 2)`` on the arc itself. Source: ``definition``.

    Terms: leg of an arc: length.

    Examples
    --------
    >>> round(step_length_nm(dist_nm=10.0), 3)
    1.743
    """
    step = np.radians(_step(step_deg))
    return plain(
        np.asarray(step_end_nm(dist_nm=dist_nm, step_deg=step_deg, inside_deg=inside_deg))
        * np.sin(step)
        / np.cos(np.radians(_inside(inside_deg)))
    )


@fitting
def step_nearest_nm(
    *, dist_nm: ArrayLike, step_deg: ArrayLike = STEP_DEG, inside_deg: ArrayLike = INSIDE_DEG
) -> Result:
    """Nearest distance to the station on one straight leg from a radial to the next.

    Parameters
    ----------
    dist_nm : float or array_like
        Distance from the station at the start of the leg. [NM], 0.5 to 150.
    step_deg : float or array_like, default 10.0
        Size of a step. [deg], 1 to 40.
    inside_deg : float or array_like, default 5.0
        How far the track points to the station's side of the perpendicular to the radial at the
        start of the leg; negative points outside. [deg], -89 to 89.

    Returns
    -------
    float or numpy.ndarray
        Distance, in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.
    NoSolution
        If the track does not reach the next radial.

    Notes
    -----
    The foot of the perpendicular where it falls within the leg, else the nearer end. Source: ``definition``.
    On a 10 NM arc ten-degree steps dip 0.04 NM inside.

    Terms: leg of an arc: nearest distance.

    Examples
    --------
    >>> round(10.0 - step_nearest_nm(dist_nm=10.0), 3)
    0.038
    """
    start, inside = _dist(dist_nm), _inside(inside_deg)
    end = np.asarray(step_end_nm(dist_nm=dist_nm, step_deg=step_deg, inside_deg=inside_deg))
    within_leg = (inside > 0.0) & (inside < _step(step_deg))
    return plain(np.where(within_leg, start * np.cos(np.radians(inside)), np.minimum(start, end)))


def flown_distances_nm(
    *,
    dist_nm: float,
    from_radial_deg: float,
    turn: str,
    legs: int,
    tas_kt: float,
    wind_from_deg: float = 0.0,
    wind_kt: float = 0.0,
    step_deg: float = STEP_DEG,
    inside_deg: float = INSIDE_DEG,
) -> Floats:
    """What becomes of an arc when each leg is flown with the nose so far inside, whatever the wind does.

    Parameters
    ----------
    dist_nm : float
        Distance from the station at the start. [NM], 0.5 to 150.
    from_radial_deg : float
        Radial where the steps begin. [deg], -3600 to 3600.
    turn : {"right", "left"}
        Which way the arc bends: right is clockwise, radials rise, station on the right.
    legs : int
        Number of legs, 1 to 360.
    tas_kt : float
        True airspeed. [kt], 40 to 400.
    wind_from_deg : float, default 0.0
        Direction the wind blows from, same reference as the radials. [deg], -3600 to 3600.
    wind_kt : float, default 0.0
        Wind speed. [kt], 0 to 200.
    step_deg : float, default 10.0
        Size of a step. [deg], 1 to 40.
    inside_deg : float, default 5.0
        How far the nose points to the station's side of the perpendicular to the radial at the
        start of each leg. [deg], -89 to 89.

    Returns
    -------
    numpy.ndarray
        Distance from the station at the first radial and at the end of each leg: legs + 1 numbers. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the turn is neither right nor left.
    NoSolution
        If a leg does not reach the next radial, or the aircraft stands still over the ground.

    Notes
    -----
    :func:`step_end_nm` leg by leg, with the drift added to the heading. Source: ``definition``.

    Terms: arc flown without wind correction.

    Examples
    --------
    >>> flown_distances_nm(
    ...     dist_nm=10.0, from_radial_deg=310.0, turn="right", legs=3, tas_kt=100.0, inside_deg=0.0
    ... ).round(3).tolist()
    [10.0, 10.154, 10.311, 10.47]
    """
    count = whole("legs", legs, 1, 360)
    singles(tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt)
    right, step = _right(turn), one("step_deg", _step(step_deg))
    inside = one("inside_deg", _inside(inside_deg))
    begin = one("from_radial_deg", _direction("from_radial_deg", from_radial_deg))
    radials = begin + right * np.mod(step * np.arange(count), 360.0)
    headings = wrap360(np.asarray(tangent_deg(radial_deg=radials, turn=turn)) + right * inside)
    drifts = np.atleast_1d(
        wind.drift_deg(heading_deg=headings, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt)
    )
    distances = [one("dist_nm", _dist(dist_nm))]
    for drift in drifts:
        distances.append(float(_leg_end_nm(np.asarray(distances[-1]), np.asarray(step), inside + right * drift)))
    return np.array(distances)


def plan_steps(
    *,
    arc_nm: float,
    from_radial_deg: float,
    to_radial_deg: float,
    turn: str,
    tas_kt: float,
    wind_from_deg: float = 0.0,
    wind_kt: float = 0.0,
    step_deg: float = STEP_DEG,
    mode: str = "from",
) -> tuple[Step, ...]:
    """Plan an arc in steps: selector, heading, speed, length and time of each leg.

    Parameters
    ----------
    arc_nm : float
        Radius of the arc over the ground. [NM], 1 to 100.
    from_radial_deg : float
        Radial where the steps begin. [deg], -3600 to 3600.
    to_radial_deg : float
        Radial where they end. [deg], -3600 to 3600.
    turn : {"right", "left"}
        Which way the arc bends: right is clockwise, radials rise, station on the right.
    tas_kt : float
        True airspeed. [kt], 40 to 400.
    wind_from_deg : float, default 0.0
        Direction the wind blows from, same reference as the radials. [deg], -3600 to 3600.
    wind_kt : float, default 0.0
        Wind speed. [kt], 0 to 200.
    step_deg : float, default 10.0
        Size of a step. [deg], 1 to 40.
    mode : {"from", "to"}
        Whether the selector carries the next radial (flag FROM) or its reciprocal (flag TO).

    Returns
    -------
    tuple of Step
        One :class:`Step` for each leg in flying order; the last is shorter where the angle is no whole
        number of steps.

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the turn is neither right nor left, or the mode is not one
        of the two.
    NoSolution
        If no heading holds a leg.

    Notes
    -----
    Each track is at right angles to the middle radial of its leg, which brings the aircraft back to the arc at
    its end. Source: ``IFH9`` p. 9-18; ``common-practice`` for turn ten, twist ten.

    Terms: arc in steps; turn ten twist ten.

    Examples
    --------
    >>> for leg in plan_steps(arc_nm=10.0, from_radial_deg=310.0, to_radial_deg=335.0, turn="right", tas_kt=100.0):
    ...     print(leg.from_radial_deg, leg.to_radial_deg, leg.selector_deg, leg.heading_deg, round(leg.time_s))
    310.0 320.0 320.0 45.0 63
    320.0 330.0 330.0 55.0 63
    330.0 335.0 335.0 62.5 31
    """
    one_of("mode", mode, ("from", "to"), "a way to set the selector")
    singles(tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt)
    right, arc, step = _right(turn), one("arc_nm", _arc(arc_nm)), one("step_deg", _step(step_deg))
    begin = one("from_radial_deg", _direction("from_radial_deg", from_radial_deg))
    final = one("to_radial_deg", _direction("to_radial_deg", to_radial_deg))
    angle = float(angles.turn_deg(from_deg=begin, to_deg=final, side=turn))
    if angle < _SAME_RADIAL_DEG:
        raise OutOfRange("from_radial_deg and to_radial_deg are the same radial: there is no arc between them")
    edges = np.append(np.arange(0.0, angle - _SAME_RADIAL_DEG, step), angle)
    steps = []
    for start, end in pairwise(edges.tolist()):
        first, last = (float(wrap360(begin + right * edge)) for edge in (start, end))
        course = tangent_deg(radial_deg=begin + right * (start + end) / 2.0, turn=turn)
        gs = float(
            wind.ground_speed_kt(course_deg=course, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt)
        )
        length = 2.0 * arc * float(np.sin(np.radians(end - start) / 2.0))
        steps.append(
            Step(
                from_radial_deg=first,
                to_radial_deg=last,
                selector_deg=last if mode == "from" else float(reciprocal(last)),
                heading_deg=float(
                    wind.heading_deg(course_deg=course, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt)
                ),
                gs_kt=gs,
                length_nm=length,
                time_s=length / gs * 3600.0,
            )
        )
    return tuple(steps)


@fitting
def regain_rule_deg(*, arc_nm: ArrayLike, dist_nm: ArrayLike) -> Result:
    """Change of heading that brings the aircraft back to the arc, by rule.

    Parameters
    ----------
    arc_nm : float or array_like
        Radius of the arc: distance from the station over the ground. [NM], 1 to 100.
    dist_nm : float or array_like
        Distance from the station over the ground. [NM], 0.5 to 150.

    Returns
    -------
    float or numpy.ndarray
        Change of heading, inside positive, at most 30, in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Outside the arc turn 10 degrees towards the station for each half mile; inside it turn 5 degrees away for
    each half mile, less because a straight track leads outwards by itself: ``P-871`` ch. 4. Not over 30:
    ``P-340`` ch. 6. Others teach more or less; see :func:`regain_band_deg`.

    Terms: regaining an arc by rule; off the arc.

    Examples
    --------
    >>> regain_rule_deg(arc_nm=10.0, dist_nm=[10.5, 9.5]).tolist()
    [10.0, -5.0]
    """
    off = _dist(dist_nm) - _arc(arc_nm)
    change = off * np.where(off > 0.0, OUTSIDE_CHANGE_DEG_NM, INSIDE_CHANGE_DEG_NM)
    return plain(np.clip(change, -LARGEST_CHANGE_DEG, LARGEST_CHANGE_DEG))


@fitting
def regain_band_deg(*, arc_nm: ArrayLike, dist_nm: ArrayLike) -> tuple[Result, Result]:
    """Least and greatest change of heading that the books teach for getting back to the arc.

    Parameters
    ----------
    arc_nm : float or array_like
        Radius of the arc: distance from the station over the ground. [NM], 1 to 100.
    dist_nm : float or array_like
        Distance from the station over the ground. [NM], 0.5 to 150.

    Returns
    -------
    tuple of (float or numpy.ndarray)
        Least and greatest change, inside positive, at most 30, each in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    5 to 20 degrees for each half mile: 10 to 20 in ``IFH9`` p. 9-18, 5 inside and 10 outside in ``P-871``,
    15 in ``P-340``. The books disagree: accept what lies between.

    Terms: regaining an arc: what the books teach.

    Examples
    --------
    >>> regain_band_deg(arc_nm=10.0, dist_nm=10.5), regain_band_deg(arc_nm=10.0, dist_nm=9.5)
    ((5.0, 20.0), (-5.0, -20.0))
    """
    off = _dist(dist_nm) - _arc(arc_nm)
    least, most = (
        np.clip(off * c, -LARGEST_CHANGE_DEG, LARGEST_CHANGE_DEG) for c in (LEAST_CHANGE_DEG_NM, MOST_CHANGE_DEG_NM)
    )
    return plain(least), plain(most)


@fitting
def inside_to_regain_deg(*, arc_nm: ArrayLike, dist_nm: ArrayLike, step_deg: ArrayLike = STEP_DEG) -> Result:
    """How far inside the track must point to be back on the arc at the next radial, by true geometry.

    Parameters
    ----------
    arc_nm : float or array_like
        Radius of the arc: distance from the station over the ground. [NM], 1 to 100.
    dist_nm : float or array_like
        Distance from the station over the ground. [NM], 0.5 to 150.
    step_deg : float or array_like, default 10.0
        Size of a step. [deg], 1 to 40.

    Returns
    -------
    float or numpy.ndarray
        Angle inside the perpendicular to the radial the aircraft is on; negative outside, in the broadcast
        shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    ``atan((dist / R - cos(step)) / sin(step))``; half a step where the aircraft is on the arc. Source:
    ``definition``.

    Terms: regaining an arc.

    Examples
    --------
    >>> round(inside_to_regain_deg(arc_nm=10.0, dist_nm=10.0), 9)
    5.0
    >>> round(inside_to_regain_deg(arc_nm=10.0, dist_nm=10.5), 1)
    20.6
    """
    step = np.radians(_step(step_deg))
    return plain(np.degrees(np.arctan2(_dist(dist_nm) / _arc(arc_nm) - np.cos(step), np.sin(step))))


@fitting
def lead_radial_rule_deg(*, arc_nm: ArrayLike, gs_kt: ArrayLike, rate_deg_s: float = STANDARD_RATE_DEG_S) -> Result:
    """Degrees before the final radial at which to leave the arc, by rule.

    Parameters
    ----------
    arc_nm : float or array_like
        Radius of the arc: distance from the station over the ground. [NM], 1 to 100.
    gs_kt : float or array_like
        Ground speed. [kt], 20 to 600.
    rate_deg_s : {3.0, 1.5}, default 3.0
        Standard or half rate: the rule knows no other. [deg/s]

    Returns
    -------
    float or numpy.ndarray
        Lead, in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the rate has no rule.

    Notes
    -----
    Sixty over the arc times the turn radius by rule: ``P-340`` 6-98 and ``P-871`` ch. 4 at standard rate (half a
    per cent), ``P-1282`` and ``P-1244`` 5-10 at half rate (one per cent). It lies
    between the two of :func:`lead_radial_deg`; on small arcs the two part (``P-1235`` adds or takes a third).

    Terms: lead radial by rule; 60-to-1 rule: lead radial.

    Examples
    --------
    >>> lead_radial_rule_deg(arc_nm=15.0, gs_kt=250.0, rate_deg_s=1.5), lead_radial_rule_deg(arc_nm=10.0, gs_kt=120.0)
    (10.0, 3.6)
    """
    return plain(60.0 / _arc(arc_nm) * _rule_radius_nm(gs_kt, rate_deg_s))


@fitting
def lead_radial_deg(
    *, arc_nm: ArrayLike, tas_kt: ArrayLike, direction: str, rate_deg_s: ArrayLike = STANDARD_RATE_DEG_S
) -> Result:
    """Degrees before the final radial at which to leave the arc, by true geometry.

    Parameters
    ----------
    arc_nm : float or array_like
        Radius of the arc: distance from the station over the ground. [NM], 1 to 100.
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.
    direction : {"inbound", "outbound"}
        Which way the final radial is flown.
    rate_deg_s : float or array_like, default 3.0
        Rate of turn, to either side. [deg/s], 0.01 to 6.

    Returns
    -------
    float or numpy.ndarray
        Lead, in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the direction is neither of the two.
    NoSolution
        If the turn is too wide for the arc.

    Notes
    -----
    ``asin(r / (R - r))`` to fly inbound, ``asin(r / (R + r))`` outbound. Source: ``definition``. A chart's lead
    radial is often larger: it leaves time to turn at half rate.

    Terms: lead radial.

    Examples
    --------
    >>> round(lead_radial_deg(arc_nm=10.0, tas_kt=150.0, direction="inbound"), 2)
    4.96
    >>> round(lead_radial_deg(arc_nm=10.0, tas_kt=150.0, direction="outbound"), 2)
    4.23
    """
    arc, radius = _arc(arc_nm), turns.turn_radius_nm(tas_kt=tas_kt, rate_deg_s=rate_deg_s)
    centre = arc - _outside(direction) * radius
    if np.any(centre < radius):
        raise _too_small()
    return plain(np.degrees(np.arcsin(radius / centre)))


@fitting
def radial_before_deg(*, radial_deg: ArrayLike, lead_deg: ArrayLike, turn: str) -> Result:
    """Radial that the aircraft crosses so many degrees before another one.

    Parameters
    ----------
    radial_deg : float or array_like
        Radial ahead, for example the final one. [deg], -3600 to 3600.
    lead_deg : float or array_like
        Degrees before it. [deg], 0 to 90.
    turn : {"right", "left"}
        Which way the arc bends: right is clockwise, radials rise, station on the right.

    Returns
    -------
    float or numpy.ndarray
        Radial in [0, 360), in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the turn is neither right nor left.

    Notes
    -----
    Radials rise on an arc to the right, so the lead is taken off; to the left it is added. Source: ``definition``.

    Terms: lead radial: its name.

    Examples
    --------
    >>> radial_before_deg(radial_deg=34.0, lead_deg=7.0, turn="right")
    27.0
    >>> radial_before_deg(radial_deg=203.0, lead_deg=7.0, turn="left")
    210.0
    """
    lead = within("lead_deg", lead_deg, 0.0, 90.0, "deg", "is this a radial?")
    return wrap360(_direction("radial_deg", radial_deg) - _right(turn) * lead)


@fitting
def length_nm(*, arc_nm: ArrayLike, angle_deg: ArrayLike) -> Result:
    """Length of an arc.

    Parameters
    ----------
    arc_nm : float or array_like
        Radius of the arc: distance from the station over the ground. [NM], 1 to 100.
    angle_deg : float or array_like
        Angle flown along the arc. [deg], 0 to 360.

    Returns
    -------
    float or numpy.ndarray
        Length, in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Radius times the angle in radians. Source: ``definition``. The rule, degrees times radius over 60, is 4.5 per
    cent low.

    Terms: length of an arc.

    Examples
    --------
    >>> round(length_nm(arc_nm=10.0, angle_deg=30.0), 2)
    5.24
    """
    return plain(_arc(arc_nm) * np.radians(within("angle_deg", angle_deg, 0.0, 360.0, "deg", "is this a time?")))


@fitting
def length_rule_nm(*, arc_nm: ArrayLike, angle_deg: ArrayLike) -> Result:
    """Length of an arc by the rule of sixty.

    Parameters
    ----------
    arc_nm : float or array_like
        Radius of the arc: distance from the station over the ground. [NM], 1 to 100.
    angle_deg : float or array_like
        Angle flown along the arc. [deg], 0 to 360.

    Returns
    -------
    float or numpy.ndarray
        Length, in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Degrees times radius over 60. Source: ``AF60b``. 4.5 per cent low.

    Terms: length of an arc by rule; 60-to-1 rule: length of an arc.

    Examples
    --------
    >>> length_rule_nm(arc_nm=10.0, angle_deg=30.0)
    5.0
    """
    return plain(_arc(arc_nm) * within("angle_deg", angle_deg, 0.0, 360.0, "deg", "is this a time?") / 60.0)


@fitting
def time_s(*, arc_nm: ArrayLike, angle_deg: ArrayLike, gs_kt: ArrayLike) -> Result:
    """Time along an arc at one ground speed.

    Parameters
    ----------
    arc_nm : float or array_like
        Radius of the arc: distance from the station over the ground. [NM], 1 to 100.
    angle_deg : float or array_like
        Angle flown along the arc. [deg], 0 to 360.
    gs_kt : float or array_like
        Ground speed. [kt], 20 to 600.

    Returns
    -------
    float or numpy.ndarray
        Time, in the broadcast shape of the inputs. [s]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    :func:`length_nm` over the speed. Source: ``definition``. In a wind the ground speed changes round the arc:
    add up the times of :func:`plan_steps`.

    Terms: time along an arc.

    Examples
    --------
    >>> round(time_s(arc_nm=10.0, angle_deg=10.0, gs_kt=120.0), 1)
    52.4
    """
    return plain(length_nm(arc_nm=arc_nm, angle_deg=angle_deg) / _gs(gs_kt) * 3600.0)


@fitting
def floor_ft(
    *,
    radial_deg: ArrayLike,
    sector_from_deg: Sequence[float],
    sector_to_deg: Sequence[float],
    sector_alt_ft: Sequence[float],
) -> Result:
    """Minimum altitude on a radial, from a table of sectors.

    Parameters
    ----------
    radial_deg : float or array_like
        Radial the aircraft is on. [deg], -3600 to 3600.
    sector_from_deg : sequence of float
        Radial where each sector begins, clockwise. [deg], -3600 to 3600.
    sector_to_deg : sequence of float
        Radial where each sector ends; the same as its begin means all round. [deg], -3600 to 3600.
    sector_alt_ft : sequence of float
        Minimum altitude of each sector. [ft], -2,000 to 60,000.

    Returns
    -------
    float or numpy.ndarray
        Altitude, in the shape of the radials. On a border both sectors count: the higher one. [ft]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the columns differ in length.
    NoSolution
        If no sector of the table covers a radial.

    Notes
    -----
    A minimum holds from the first to the last radial of its sector, both included. Source: ``common-practice``:
    keep the altitude of the sector you are in until you are out of it.

    Terms: minimum sector altitude; sector altitude; floor on a radial.

    Examples
    --------
    >>> floor_ft(
    ...     radial_deg=[320.0, 350.0, 10.0],
    ...     sector_from_deg=[310.0, 350.0],
    ...     sector_to_deg=[350.0, 34.0],
    ...     sector_alt_ft=[3400.0, 3000.0],
    ... ).tolist()
    [3400.0, 3400.0, 3000.0]
    """
    radial = _direction("radial_deg", radial_deg)
    starts, ends = _direction("sector_from_deg", sector_from_deg), _direction("sector_to_deg", sector_to_deg)
    floors = within("sector_alt_ft", sector_alt_ft, -2000.0, 60000.0, "ft")
    if starts.ndim != 1 or not starts.size or not starts.shape == ends.shape == floors.shape:
        raise OutOfRange(
            "sector_from_deg, sector_to_deg and sector_alt_ft must be three columns of the same length, "
            "one number a sector"
        )
    # Only the fraction of a degree that sums of floats leave may carry a radial over a border.
    past = np.asarray(wrap360(radial[..., None] - starts + _SAME_RADIAL_DEG))
    width = np.asarray(wrap360(ends - starts))
    covered = past <= np.where(width == 0.0, 360.0, width) + 2.0 * _SAME_RADIAL_DEG
    if not covered.any(axis=-1).all():
        lost = float(radial[~covered.any(axis=-1)].flat[0])
        raise NoSolution(
            f"No sector of the table covers radial {angles.three_digits(direction_deg=lost, reference='')}: add one"
        )
    return plain(np.where(covered, floors, -np.inf).max(axis=-1))
