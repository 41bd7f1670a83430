"""Intercepting a radial and staying on it: angles, leads, distance by bearing change, bracketing.

Geometry is worked on a flat earth and in still air: what the wind does to it is found with the track and
ground speed of :mod:`needlework.trade.wind`. Directions are magnetic by the station's alignment.
"""

from __future__ import annotations

from functools import partial

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
    one_of,
    plain,
    singles,
    within,
)
from needlework.trade import turns, wind
from needlework.trade.angles import difference_deg, reciprocal, wrap360
from needlework.trade.turns import STANDARD_RATE_DEG_S

SMALLEST_ANGLE_DEG = Constant(20.0, "deg", "IFH9", "least intercept angle of the double-the-angle rule")
LARGEST_ANGLE_DEG = Constant(90.0, "deg", "IFH9", "greatest intercept angle: more would fly away from the station")
LARGEST_OUTBOUND_ANGLE_DEG = Constant(45.0, "deg", "T6B", "usual limit when intercepting outbound after passage")
FIRST_CORRECTION_DEG = Constant(20.0, "deg", "IFH9", "first turn towards the needle when tracking, then halved")
_CLOSE_ENOUGH_DEG = 1.0
_AT_STATION_NM = 1e-6


_direction = partial(direction, slip="is this a distance?")


def _off(radial_deg: ArrayLike, wanted_radial_deg: ArrayLike) -> Floats:
    """Give the way from the radial to the wanted one in degrees, clockwise positive."""
    radial, wanted = _direction("radial_deg", radial_deg), _direction("wanted_radial_deg", wanted_radial_deg)
    return np.asarray(difference_deg(from_deg=radial, to_deg=wanted))


def _dist(value: ArrayLike) -> Floats:
    return within("dist_nm", value, 0.1, 300.0, "NM", "is this a radial?")


def _angle(value: ArrayLike) -> Floats:
    return within("angle_deg", value, 1.0, LARGEST_ANGLE_DEG, "deg", "is this a heading?")


def _gs(value: ArrayLike) -> Floats:
    return within("gs_kt", value, 20.0, 600.0, "kt", "is this in m/s?")


def _change(value: ArrayLike) -> Floats:
    return within("change_deg", value, 1.0, 45.0, "deg", "is this a radial?")


def _elapsed(value: ArrayLike) -> Floats:
    return within("elapsed_min", value, 0.05, 120.0, "min", "is this in seconds?")


def _inbound(direction: str) -> bool:
    return one_of("direction", direction, ("inbound", "outbound"), "a way to fly a radial") == "inbound"


@fitting
def intercept_angle_deg(*, radial_deg: ArrayLike, wanted_radial_deg: ArrayLike, rule: str = "double") -> Result:
    """Choose the intercept angle from how far the wanted radial is away.

    Parameters
    ----------
    radial_deg : float or array_like
        Radial the aircraft is on. [deg], -3600 to 3600.
    wanted_radial_deg : float or array_like
        Radial to be intercepted. [deg], -3600 to 3600.
    rule : {"double", "after passage"}
        Which rule.

    Returns
    -------
    float or numpy.ndarray
        Intercept angle, no sign, in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the rule is not one of the two.

    Notes
    -----
    "double": twice the difference, not under 20 and not over 90: ``IFH9`` p. 9-14. "after passage": the
    difference itself, not over 45, for going out again just after the station: ``T6B``.

    Terms: intercept angle; cut: its angle; double the angle.

    Examples
    --------
    >>> intercept_angle_deg(radial_deg=160.0, wanted_radial_deg=205.0)
    90.0
    >>> intercept_angle_deg(radial_deg=100.0, wanted_radial_deg=[105.0, 130.0])
    array([20., 60.])
    >>> intercept_angle_deg(radial_deg=70.0, wanted_radial_deg=95.0, rule="after passage")
    25.0
    """
    off = np.abs(_off(radial_deg, wanted_radial_deg))
    if one_of("rule", rule, ("double", "after passage"), "a rule for the intercept angle") == "double":
        return plain(np.clip(2.0 * off, SMALLEST_ANGLE_DEG, LARGEST_ANGLE_DEG))
    return plain(np.minimum(off, LARGEST_OUTBOUND_ANGLE_DEG))


@fitting
def intercept_heading_deg(
    *, radial_deg: ArrayLike, wanted_radial_deg: ArrayLike, direction: str, angle_deg: ArrayLike
) -> Result:
    """Heading, in still air, that takes the aircraft to the wanted radial at an intercept angle.

    Parameters
    ----------
    radial_deg : float or array_like
        Radial the aircraft is on. [deg], -3600 to 3600.
    wanted_radial_deg : float or array_like
        Radial to be intercepted. [deg], -3600 to 3600.
    direction : {"inbound", "outbound"}
        Whether the wanted radial will be flown to the station or from it.
    angle_deg : float or array_like
        Intercept angle, between the track and the wanted course. [deg], 1 to 90.

    Returns
    -------
    float or numpy.ndarray
        Heading in [0, 360), in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the direction is neither of the two.

    Notes
    -----
    Parallel to the wanted course first, then turned by the angle to the side on which the radial lies.
    Source: ``IFH9`` p. 9-14. In a wind it is the track to make good. Already on the radial, the angle is
    taken from the right-hand side.

    Terms: intercept heading; cut: its heading.

    Examples
    --------
    >>> intercept_heading_deg(radial_deg=160.0, wanted_radial_deg=205.0, direction="inbound", angle_deg=90.0)
    295.0
    >>> intercept_heading_deg(radial_deg=70.0, wanted_radial_deg=100.0, direction="outbound", angle_deg=30.0)
    130.0
    """
    inbound, angle = _inbound(direction), _angle(angle_deg)
    wanted = _direction("wanted_radial_deg", wanted_radial_deg)
    # Radials grow clockwise: a larger radial lies to the right of one flying out, to the left of one flying in.
    larger = np.where(_off(radial_deg, wanted_radial_deg) >= 0.0, 1.0, -1.0)
    if inbound:
        return wrap360(reciprocal(wanted) - larger * angle)
    return wrap360(wanted + larger * angle)


@fitting
def intercept_point_nm(
    *, dist_nm: ArrayLike, radial_deg: ArrayLike, wanted_radial_deg: ArrayLike, direction: str, angle_deg: ArrayLike
) -> tuple[Result, Result]:
    """Where an intercept meets the wanted radial, and how far it is to fly there.

    Parameters
    ----------
    dist_nm : float or array_like
        Distance from the station. [NM], 0.1 to 300.
    radial_deg : float or array_like
        Radial the aircraft is on. [deg], -3600 to 3600.
    wanted_radial_deg : float or array_like
        Radial to be intercepted. [deg], -3600 to 3600.
    direction : {"inbound", "outbound"}
        Whether the wanted radial will be flown to the station or from it.
    angle_deg : float or array_like
        Intercept angle, between the track and the wanted course. [deg], 1 to 90.

    Returns
    -------
    tuple of (float or numpy.ndarray)
        Distance of the meeting point from the station, and distance flown to it along a straight track,
        each in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the direction is neither of the two.
    NoSolution
        If the track does not meet the radial on its own side of the station.

    Notes
    -----
    Sine and cosine of the difference between the radials. With twice the difference as the angle both
    distances are equal (the isosceles triangle). Source: ``definition``.

    Terms: intercept: where it meets the radial.

    Examples
    --------
    >>> met_nm, flown_nm = intercept_point_nm(
    ...     dist_nm=10.0, radial_deg=160.0, wanted_radial_deg=190.0, direction="inbound", angle_deg=60.0
    ... )
    >>> round(met_nm, 2), round(flown_nm, 2)
    (5.77, 5.77)
    """
    inbound, dist, angle = _inbound(direction), _dist(dist_nm), np.radians(_angle(angle_deg))
    off = np.radians(np.abs(_off(radial_deg, wanted_radial_deg)))
    aside = dist * np.sin(off)
    along = aside / np.tan(angle)
    met = dist * np.cos(off) + (-along if inbound else along)
    if np.any(met <= _AT_STATION_NM):
        raise NoSolution(
            "This track does not meet the radial before the station: take a larger intercept angle, "
            "or fly to the station first and go on from there"
        )
    return plain(met), plain(aside / np.sin(angle))


@fitting
def lead_nm(*, tas_kt: ArrayLike, angle_deg: ArrayLike, rate_deg_s: ArrayLike = STANDARD_RATE_DEG_S) -> Result:
    """Distance from the line at which to begin the turn on to it.

    Parameters
    ----------
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.
    angle_deg : float or array_like
        Intercept angle, between the track and the wanted course. [deg], 1 to 90.
    rate_deg_s : float or array_like, default 3.0
        Rate of turn, to either side. [deg/s], 0.01 to 6.

    Returns
    -------
    float or numpy.ndarray
        Lead, at right angles to the line, in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Turn radius times ``1 - cos(angle)``. Source: ``definition``; ``AF60`` prints the factors.

    Terms: lead for an intercept in miles.

    Examples
    --------
    >>> round(lead_nm(tas_kt=90.0, angle_deg=45.0), 2), round(lead_nm(tas_kt=90.0, angle_deg=90.0), 2)
    (0.14, 0.48)
    """
    return plain(
        turns.turn_radius_nm(tas_kt=tas_kt, rate_deg_s=rate_deg_s) * (1.0 - np.cos(np.radians(_angle(angle_deg))))
    )


@fitting
def lead_deg(
    *, dist_nm: ArrayLike, tas_kt: ArrayLike, angle_deg: ArrayLike, rate_deg_s: ArrayLike = STANDARD_RATE_DEG_S
) -> Result:
    """Degrees before the wanted radial at which to begin the turn on to it.

    Parameters
    ----------
    dist_nm : float or array_like
        Distance from the station. [NM], 0.1 to 300.
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.
    angle_deg : float or array_like
        Intercept angle, between the track and the wanted course. [deg], 1 to 90.
    rate_deg_s : float or array_like, default 3.0
        Rate of turn, to either side. [deg/s], 0.01 to 6.

    Returns
    -------
    float or numpy.ndarray
        Lead, as the needle shows it, in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.
    NoSolution
        If the turn needs more room than there is to the station.

    Notes
    -----
    ``asin(lead / distance)`` with :func:`lead_nm`; the distance is the one where the turn begins.
    Source: ``definition``. With a tailwind in the turn begin earlier: use the ground speed for the airspeed.

    Terms: lead for an intercept; lead in degrees.

    Examples
    --------
    >>> round(lead_deg(dist_nm=8.0, tas_kt=90.0, angle_deg=45.0), 1)
    1.0
    >>> round(lead_deg(dist_nm=2.0, tas_kt=90.0, angle_deg=45.0), 1)
    4.0
    """
    sine = np.asarray(lead_nm(tas_kt=tas_kt, angle_deg=angle_deg, rate_deg_s=rate_deg_s)) / _dist(dist_nm)
    if np.any(sine > 1.0):
        raise NoSolution("The turn needs more room than there is to the station: take a smaller intercept angle")
    return plain(np.degrees(np.arcsin(sine)))


@fitting
def lead_rule_deg(*, dist_nm: ArrayLike, gs_kt: ArrayLike, angle_deg: ArrayLike) -> Result:
    """Degrees of lead by rule: half a per cent of the ground speed, the angle's part of it, sixty over the distance.

    Parameters
    ----------
    dist_nm : float or array_like
        Distance from the station. [NM], 0.1 to 300.
    gs_kt : float or array_like
        Ground speed. [kt], 20 to 600.
    angle_deg : float or array_like
        Intercept angle, between the track and the wanted course. [deg], 1 to 90.

    Returns
    -------
    float or numpy.ndarray
        Lead, in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    ``60 / distance * ground_speed / 200 * (1 - cos(angle))`` for a standard-rate turn: ``P-871``, ``AF60``.
    1.3 per cent below :func:`lead_deg` from 5 NM out (half a per cent is six low, sixty for 57.3 is five high);
    near the station a square cut needs more: 2 per cent at 2 NM, 5 at 1 NM, for 90 kt. For 45 and 60
    degrees printed fractions differ (a third or a half, two thirds or a half); ``1 - cos`` is right.

    Terms: lead for an intercept by rule; 60-to-1 rule: lead.

    Examples
    --------
    >>> round(lead_rule_deg(dist_nm=8.0, gs_kt=90.0, angle_deg=45.0), 1)
    1.0
    >>> round(lead_rule_deg(dist_nm=10.0, gs_kt=120.0, angle_deg=90.0), 1)
    3.6
    """
    part = 1.0 - np.cos(np.radians(_angle(angle_deg)))
    return plain(60.0 / _dist(dist_nm) * _gs(gs_kt) / 200.0 * part)


@fitting
def lead_time_s(*, angle_deg: ArrayLike, rate_deg_s: ArrayLike = STANDARD_RATE_DEG_S) -> Result:
    """Seconds before the needle would centre at which to begin the turn, whatever the speed and distance.

    Parameters
    ----------
    angle_deg : float or array_like
        Intercept angle, between the track and the wanted course. [deg], 1 to 90.
    rate_deg_s : float or array_like, default 3.0
        Rate of turn, to either side. [deg/s], 0.01 to 6.

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
    ``tan(angle / 2) / rate``: lead over the speed at which the line comes nearer. Source: ``definition``.
    With the speed of the needle over one dot a pilot can count it.

    Terms: lead for an intercept in seconds.

    Examples
    --------
    >>> [round(seconds) for seconds in lead_time_s(angle_deg=[30.0, 45.0, 60.0, 90.0])]
    [5, 8, 11, 19]
    """
    rate = within("rate_deg_s", rate_deg_s, 0.01, turns.RATE_MAX_DEG_S, "deg/s", "is this a bank angle?")
    return plain(np.tan(np.radians(_angle(angle_deg)) / 2.0) / np.radians(rate))


@fitting
def needle_rate_deg_s(*, dist_nm: ArrayLike, gs_kt: ArrayLike, angle_deg: ArrayLike) -> Result:
    """Speed of the needle while the aircraft closes on the radial at an angle.

    Parameters
    ----------
    dist_nm : float or array_like
        Distance from the station. [NM], 0.1 to 300.
    gs_kt : float or array_like
        Ground speed. [kt], 20 to 600.
    angle_deg : float or array_like
        Intercept angle, between the track and the wanted course. [deg], 1 to 90.

    Returns
    -------
    float or numpy.ndarray
        Degrees of radial crossed each second, in the broadcast shape of the inputs. [deg/s]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    57.3 times ``ground_speed * sin(angle)`` over the distance: the same cut moves the needle faster the nearer
    the station is, since the radials run together there. Source: ``definition``.

    Terms: speed of the needle in an intercept.

    Examples
    --------
    >>> round(needle_rate_deg_s(dist_nm=10.0, gs_kt=90.0, angle_deg=30.0), 2)
    0.07
    >>> round(needle_rate_deg_s(dist_nm=2.0, gs_kt=90.0, angle_deg=30.0), 2)
    0.36
    """
    across_kt = _gs(gs_kt) * np.sin(np.radians(_angle(angle_deg)))
    return plain(np.degrees(across_kt / 3600.0 / _dist(dist_nm)))


@fitting
def largest_angle_deg(
    *, dist_nm: ArrayLike, tas_kt: ArrayLike, lead_deg: ArrayLike = 10.0, rate_deg_s: ArrayLike = STANDARD_RATE_DEG_S
) -> Result:
    """Largest intercept angle that still rolls out on the radial when the turn begins so many degrees before it.

    Parameters
    ----------
    dist_nm : float or array_like
        Distance from the station. [NM], 0.1 to 300.
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.
    lead_deg : float or array_like, default 10.0
        Where the turn begins, in degrees before the radial. [deg], 0.1 to 45.
    rate_deg_s : float or array_like, default 3.0
        Rate of turn, to either side. [deg/s], 0.01 to 6.

    Returns
    -------
    float or numpy.ndarray
        Angle, at most 90, in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    :func:`lead_deg` solved for the angle. Source: ``definition``. With 10 degrees the turn begins when the
    needle comes off its stop.

    Terms: intercept angle: largest.

    Examples
    --------
    >>> round(largest_angle_deg(dist_nm=2.0, tas_kt=110.0)), largest_angle_deg(dist_nm=10.0, tas_kt=110.0)
    (66, 90.0)
    """
    lead = np.radians(within("lead_deg", lead_deg, 0.1, 45.0, "deg", "is this a distance?"))
    cosine = 1.0 - _dist(dist_nm) * np.sin(lead) / turns.turn_radius_nm(tas_kt=tas_kt, rate_deg_s=rate_deg_s)
    return plain(np.degrees(np.arccos(np.maximum(cosine, 0.0))))


@fitting
def time_to_station_rule_min(*, change_deg: ArrayLike, elapsed_min: ArrayLike) -> Result:
    """Time to the station by the wing-tip rule: sixty times the minutes flown over the degrees of change.

    Parameters
    ----------
    change_deg : float or array_like
        Change of bearing to the station, to either side. [deg], 1 to 45.
    elapsed_min : float or array_like
        Time in which it changed. [min], 0.05 to 120.

    Returns
    -------
    float or numpy.ndarray
        Time, at the same speed and without wind, in the broadcast shape of the inputs. [min]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    ``60 * minutes / degrees``. The station is put on the wing tip and the heading held. Seconds flown over degrees
    gives the same. Source: ``PHAK15``, ``FAAQ``. 5 per cent above :func:`wing_tip_distance_nm` for 5 degrees, 6 for
    10, 7 for 15, 9 for 20; 15 for 30, where the rule ends.

    Terms: time to the station; wing-tip rule; bearing change.

    Examples
    --------
    >>> time_to_station_rule_min(change_deg=10.0, elapsed_min=2.0)
    12.0
    """
    return plain(60.0 * _elapsed(elapsed_min) / _change(change_deg))


@fitting
def distance_to_station_rule_nm(*, change_deg: ArrayLike, elapsed_min: ArrayLike, gs_kt: ArrayLike) -> Result:
    """Distance to the station by the wing-tip rule.

    Parameters
    ----------
    change_deg : float or array_like
        Change of bearing to the station, to either side. [deg], 1 to 45.
    elapsed_min : float or array_like
        Time in which it changed. [min], 0.05 to 120.
    gs_kt : float or array_like
        Ground speed. [kt], 20 to 600.

    Returns
    -------
    float or numpy.ndarray
        Distance, in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Speed times :func:`time_to_station_rule_min`. Source: ``PHAK15``, ``FAAQ``.

    Terms: distance to the station by rule; wing-tip rule.

    Examples
    --------
    >>> distance_to_station_rule_nm(change_deg=10.0, elapsed_min=1.25, gs_kt=120.0)
    15.0
    """
    return plain(_gs(gs_kt) / 60.0 * time_to_station_rule_min(change_deg=change_deg, elapsed_min=elapsed_min))


@fitting
def wing_tip_distance_nm(*, change_deg: ArrayLike, elapsed_min: ArrayLike, gs_kt: ArrayLike) -> Result:
    """Distance to the station by true geometry: station on the wing tip at the start, straight track after.

    Parameters
    ----------
    change_deg : float or array_like
        Change of bearing to the station, to either side. [deg], 1 to 45.
    elapsed_min : float or array_like
        Time in which it changed. [min], 0.05 to 120.
    gs_kt : float or array_like
        Ground speed. [kt], 20 to 600.

    Returns
    -------
    float or numpy.ndarray
        Distance from the station where it was on the wing tip, in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Distance flown over the tangent of the change. Source: ``definition``. Compare the rule,
    :func:`distance_to_station_rule_nm`.

    Terms: distance to the station: wing tip.

    Examples
    --------
    >>> round(wing_tip_distance_nm(change_deg=10.0, elapsed_min=7.0, gs_kt=120.0), 1)
    79.4
    >>> distance_to_station_rule_nm(change_deg=10.0, elapsed_min=7.0, gs_kt=120.0)
    84.0
    """
    return plain(_gs(gs_kt) / 60.0 * _elapsed(elapsed_min) / np.tan(np.radians(_change(change_deg))))


@fitting
def time_from_bearings_min(
    *, first_relative_deg: ArrayLike, second_relative_deg: ArrayLike, elapsed_min: ArrayLike
) -> Result:
    """Time to the station from two relative bearings on one heading; the isosceles method where the angle doubles.

    Parameters
    ----------
    first_relative_deg : float or array_like
        Angle from the nose to the station at the start, to either side. [deg], 1 to 178.
    second_relative_deg : float or array_like
        The same at the end, on the same side and larger. [deg], 2 to 179.
    elapsed_min : float or array_like
        Time in which it changed. [min], 0.05 to 120.

    Returns
    -------
    float or numpy.ndarray
        Time from the second bearing straight to the station, at the same speed and without wind,
        in the broadcast shape of the inputs. [min]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the second bearing is not larger than the first.

    Notes
    -----
    ``elapsed * sin(first) / sin(second - first)``. Where the second is twice the first this is the time
    elapsed itself: the isosceles triangle of ``FAAQ`` and ``PHAK15``. Source: ``definition``.

    Terms: isosceles triangle; double the bearing; time to the station from two bearings.

    Examples
    --------
    >>> round(time_from_bearings_min(first_relative_deg=45.0, second_relative_deg=90.0, elapsed_min=5.0), 9)
    5.0
    """
    first = within("first_relative_deg", first_relative_deg, 1.0, 178.0, "deg", "count from the nose to either side")
    second = within(
        "second_relative_deg", second_relative_deg, 2.0, 179.0, "deg", "count from the nose to either side"
    )
    elapsed = _elapsed(elapsed_min)
    if np.any(second - first < 1.0):
        raise OutOfRange(
            "second_relative_deg must be at least 1 degree larger than first_relative_deg: "
            "the station falls back along the side as you fly on"
        )
    return plain(elapsed * np.sin(np.radians(first)) / np.sin(np.radians(second - first)))


@fitting
def sideways_nm(*, angle_deg: ArrayLike, gs_kt: ArrayLike, elapsed_min: ArrayLike) -> Result:
    """How far a cut takes the aircraft sideways in a time.

    Parameters
    ----------
    angle_deg : float or array_like
        Angle between the track and the course. [deg], 1 to 90.
    gs_kt : float or array_like
        Ground speed. [kt], 20 to 600.
    elapsed_min : float or array_like
        Time flown with the cut. [min], 0.05 to 120.

    Returns
    -------
    float or numpy.ndarray
        Distance gained across the course, in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Distance flown times the sine of the angle. Source: ``definition``; ``P-869`` prints a table for 180 kt.

    Terms: distance gained by a cut; sideways distance.

    Examples
    --------
    >>> round(sideways_nm(angle_deg=10.0, gs_kt=180.0, elapsed_min=1.0), 2)
    0.52
    """
    return plain(_gs(gs_kt) / 60.0 * _elapsed(elapsed_min) * np.sin(np.radians(_angle(angle_deg))))


@fitting
def next_correction_deg(*, too_little_deg: ArrayLike, too_much_deg: ArrayLike) -> Result:
    """Next wind correction to try when one was too little and one too much: the middle.

    Parameters
    ----------
    too_little_deg : float or array_like
        Correction with which the aircraft still drifted downwind, right positive. [deg], -90 to 90.
    too_much_deg : float or array_like
        Correction with which it went upwind, right positive. [deg], -90 to 90.

    Returns
    -------
    float or numpy.ndarray
        Correction, right positive, in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Bracketing halves the difference each time: ``IFH9`` p. 9-14.

    Terms: bracketing; next correction.

    Examples
    --------
    >>> next_correction_deg(too_little_deg=10.0, too_much_deg=20.0)
    15.0
    >>> next_correction_deg(too_little_deg=0.0, too_much_deg=-20.0)
    -10.0
    """
    little = within("too_little_deg", too_little_deg, -90.0, 90.0, "deg", "right is positive, left is negative")
    much = within("too_much_deg", too_much_deg, -90.0, 90.0, "deg", "right is positive, left is negative")
    return plain((little + much) / 2.0)


def bracketing_deg(
    *, course_deg: float, tas_kt: float, wind_from_deg: float, wind_kt: float, first_deg: float = FIRST_CORRECTION_DEG
) -> Floats:
    """Wind corrections a pilot tries, in order, until the needle stays: by bracketing, not knowing the wind.

    Parameters
    ----------
    course_deg : float
        Course to hold, same reference as the wind. [deg], -3600 to 3600.
    tas_kt : float
        True airspeed. [kt], 40 to 400.
    wind_from_deg : float
        Direction the wind blows from. [deg], -3600 to 3600.
    wind_kt : float
        Wind speed. [kt], 0 to 200.
    first_deg : float, default 20.0
        First cut towards the needle. [deg], 2 to 40.

    Returns
    -------
    numpy.ndarray
        Corrections tried, right positive: none at first, then the first cut into the wind, doubled while it
        is too little, then halved between too little and too much. The last leaves the track within one
        degree of the course. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.
    NoSolution
        If no heading holds the course in this wind.

    Notes
    -----
    After each try only the side to which the needle moves is used. Source: ``IFH9`` p. 9-14.

    Terms: bracketing.

    Examples
    --------
    >>> bracketing_deg(course_deg=360.0, tas_kt=100.0, wind_from_deg=90.0, wind_kt=25.0).tolist()
    [0.0, 20.0, 10.0, 15.0]
    """
    course = one("course_deg", _direction("course_deg", course_deg))
    singles(tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt)
    wind.ground_speed_kt(course_deg=course, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt)
    first = one("first_deg", within("first_deg", first_deg, 2.0, 40.0, "deg", "is this a heading?"))

    def moved_deg(correction: float) -> float:
        heading = wrap360(course + correction)
        return float(
            difference_deg(
                from_deg=course,
                to_deg=wind.track_deg(
                    heading_deg=heading, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt
                ),
            )
        )

    tried, moved = [0.0], moved_deg(0.0)
    into_wind = -float(np.sign(moved))
    too_little, correction = 0.0, first * into_wind
    too_much: float | None = None
    while abs(moved) > _CLOSE_ENOUGH_DEG:
        tried.append(correction)
        moved = moved_deg(correction)
        if moved * into_wind < 0.0:
            too_little = correction
        else:
            too_much = correction
        if too_much is None:
            correction = into_wind * min(2.0 * abs(correction), 90.0)
        else:
            correction = float(next_correction_deg(too_little_deg=too_little, too_much_deg=too_much))
    return np.array(tried)
