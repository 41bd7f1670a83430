"""The wind triangle: drift, wind correction, ground speed, components, and the rules done in the head.

Wind is always the direction it blows *from*. Every direction handed to one call must share one
reference: all magnetic (by the same variation) or all true. Forecast winds are true and courses by
radial are magnetic, so bring the wind over first (:mod:`needlework.trade.magnetic`).
"""

from __future__ import annotations

from functools import partial

import numpy as np
from numpy.typing import ArrayLike

from needlework.basis.errors import NoSolution
from needlework.basis.quantity import Constant, Floats, Result, direction, fitting, plain, within
from needlework.trade.angles import wrap180, wrap360

TAS_MIN_KT = Constant(40.0, "kt", "common-practice", "slowest true airspeed the course deals with")
TAS_MAX_KT = Constant(400.0, "kt", "common-practice", "fastest true airspeed the course deals with")
WIND_MAX_KT = Constant(200.0, "kt", "common-practice", "strongest wind taken; more is a slip of the pen")
GROUND_SPEED_MAX_KT = Constant(600.0, "kt", "common-practice", "fastest airspeed plus strongest wind")
_STANDSTILL_KT = 1e-6
# Angle between wind and course, and the part of the wind that blows across (from memory, a rule).
_CLOCK_ANGLE_DEG = (0.0, 30.0, 45.0, 60.0, 90.0)
_CLOCK_PART = (0.0, 0.5, 0.7, 0.9, 1.0)


_direction = partial(direction, slip="is this a speed or a distance?")


def _tas(value: ArrayLike) -> Floats:
    return within("tas_kt", value, TAS_MIN_KT, TAS_MAX_KT, "kt", "is this in m/s or km/h?")


def _wind(value: ArrayLike) -> Floats:
    return within("wind_kt", value, 0.0, WIND_MAX_KT, "kt", "is this the wind direction?")


def _correction_rad(course: Floats, tas: Floats, wind_from: Floats, wind: Floats) -> Floats:
    across = wind * np.sin(np.radians(wind_from - course))
    too_much = np.abs(across) >= tas
    if np.any(too_much):
        across_all, tas_all, _ = np.broadcast_arrays(across, tas, too_much)
        where = np.unravel_index(int(np.argmax(too_much)), too_much.shape)
        raise NoSolution(
            f"No heading holds this course: the crosswind part of {abs(across_all[where]):.0f} kt is not below "
            f"the true airspeed of {tas_all[where]:.0f} kt: check the wind, or choose another course"
        )
    return np.asarray(np.arcsin(across / tas))


@fitting
def correction_deg(
    *, course_deg: ArrayLike, tas_kt: ArrayLike, wind_from_deg: ArrayLike, wind_kt: ArrayLike
) -> Result:
    """Wind correction angle: what to add to the course to get the heading that holds it.

    Parameters
    ----------
    course_deg : float or array_like
        Course to make good over the ground, same reference as the wind. [deg], -3600 to 3600.
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.
    wind_from_deg : float or array_like
        Direction the wind blows from, same reference as the course. [deg], -3600 to 3600.
    wind_kt : float or array_like
        Wind speed. [kt], 0 to 200.

    Returns
    -------
    float or numpy.ndarray
        Correction, right (clockwise) positive, in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.
    NoSolution
        If the part of the wind across the course is not below the airspeed.

    Notes
    -----
    ``asin(wind * sin(wind_from - course) / tas)``: the nose goes into the wind. Source: ``definition``.

    Terms: wind correction angle; crab.

    Examples
    --------
    >>> round(correction_deg(course_deg=90.0, tas_kt=120.0, wind_from_deg=45.0, wind_kt=40.0), 1)
    -13.6
    """
    parts = (_direction("course_deg", course_deg), _tas(tas_kt), _direction("wind_from_deg", wind_from_deg))
    return plain(np.degrees(_correction_rad(*parts, _wind(wind_kt))))


@fitting
def heading_deg(*, course_deg: ArrayLike, tas_kt: ArrayLike, wind_from_deg: ArrayLike, wind_kt: ArrayLike) -> Result:
    """Heading that holds a course in a wind.

    Parameters
    ----------
    course_deg : float or array_like
        Course to make good over the ground, same reference as the wind. [deg], -3600 to 3600.
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.
    wind_from_deg : float or array_like
        Direction the wind blows from, same reference as the course. [deg], -3600 to 3600.
    wind_kt : float or array_like
        Wind speed. [kt], 0 to 200.

    Returns
    -------
    float or numpy.ndarray
        Heading in [0, 360), same reference, in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.
    NoSolution
        If the part of the wind across the course is not below the airspeed.

    Notes
    -----
    Course plus :func:`correction_deg`. Source: ``definition``. It is the heading for the course even
    where the headwind would carry the aircraft backwards; :func:`ground_speed_kt` says so.

    Terms: heading for a course; wind triangle.

    Examples
    --------
    >>> round(heading_deg(course_deg=90.0, tas_kt=120.0, wind_from_deg=45.0, wind_kt=40.0))
    76
    """
    correction = correction_deg(course_deg=course_deg, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt)
    return wrap360(_direction("course_deg", course_deg) + correction)


@fitting
def ground_speed_kt(
    *, course_deg: ArrayLike, tas_kt: ArrayLike, wind_from_deg: ArrayLike, wind_kt: ArrayLike
) -> Result:
    """Ground speed along a course that is held with the right wind correction.

    Parameters
    ----------
    course_deg : float or array_like
        Course made good over the ground, same reference as the wind. [deg], -3600 to 3600.
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.
    wind_from_deg : float or array_like
        Direction the wind blows from, same reference as the course. [deg], -3600 to 3600.
    wind_kt : float or array_like
        Wind speed. [kt], 0 to 200.

    Returns
    -------
    float or numpy.ndarray
        Ground speed, above 0, in the broadcast shape of the inputs. [kt]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.
    NoSolution
        If the crosswind part is not below the airspeed, or the headwind leaves no way forward.

    Notes
    -----
    ``tas * cos(correction) - wind * cos(wind_from - course)``. Source: ``definition``.

    Terms: ground speed; wind triangle.

    Examples
    --------
    >>> round(ground_speed_kt(course_deg=90.0, tas_kt=120.0, wind_from_deg=45.0, wind_kt=40.0))
    88
    """
    course, tas = _direction("course_deg", course_deg), _tas(tas_kt)
    wind_from, wind = _direction("wind_from_deg", wind_from_deg), _wind(wind_kt)
    correction = _correction_rad(course, tas, wind_from, wind)
    speed = tas * np.cos(correction) - wind * np.cos(np.radians(wind_from - course))
    if np.any(speed < _STANDSTILL_KT):
        raise NoSolution(
            f"No way is made along this course: the ground speed would be {round(float(np.min(speed)))} kt: "
            "check the wind, or choose another course"
        )
    return plain(speed)


def _over_ground(
    heading_deg: ArrayLike, tas_kt: ArrayLike, wind_from_deg: ArrayLike, wind_kt: ArrayLike
) -> tuple[Floats, Floats, Floats]:
    """Give the ground speed along and across the nose, and the speed itself, all in knots."""
    heading, tas = _direction("heading_deg", heading_deg), _tas(tas_kt)
    wind_from, wind = _direction("wind_from_deg", wind_from_deg), _wind(wind_kt)
    angle = np.radians(wind_from - heading)
    along, across = tas - wind * np.cos(angle), -wind * np.sin(angle)
    speed = np.hypot(along, across)
    if np.any(speed < _STANDSTILL_KT):
        raise NoSolution(
            "There is no track: the aircraft stands still over the ground: check the wind, or choose another heading"
        )
    return along, across, speed


@fitting
def drift_deg(*, heading_deg: ArrayLike, tas_kt: ArrayLike, wind_from_deg: ArrayLike, wind_kt: ArrayLike) -> Result:
    """Drift: the angle from the heading to the track the wind makes of it.

    Parameters
    ----------
    heading_deg : float or array_like
        Where the nose points, same reference as the wind. [deg], -3600 to 3600.
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.
    wind_from_deg : float or array_like
        Direction the wind blows from, same reference as the heading. [deg], -3600 to 3600.
    wind_kt : float or array_like
        Wind speed. [kt], 0 to 200.

    Returns
    -------
    float or numpy.ndarray
        Drift, to the right positive, in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.
    NoSolution
        If the aircraft stands still over the ground.

    Notes
    -----
    ``atan(-wind * sin(a) / (tas - wind * cos(a)))``, a being the angle from the nose to the wind: the sum of the air
    and wind vectors. Source: ``definition``. Drift on a heading and the correction for
    the same course differ a little in size, because the heading and the course differ.

    Terms: drift.

    Examples
    --------
    >>> round(drift_deg(heading_deg=90.0, tas_kt=120.0, wind_from_deg=0.0, wind_kt=20.0), 1)
    9.5
    """
    along, across, _ = _over_ground(heading_deg, tas_kt, wind_from_deg, wind_kt)
    return plain(np.degrees(np.arctan2(across, along)))


@fitting
def track_deg(*, heading_deg: ArrayLike, tas_kt: ArrayLike, wind_from_deg: ArrayLike, wind_kt: ArrayLike) -> Result:
    """Track over the ground that a heading gives in a wind.

    Parameters
    ----------
    heading_deg : float or array_like
        Where the nose points, same reference as the wind. [deg], -3600 to 3600.
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.
    wind_from_deg : float or array_like
        Direction the wind blows from, same reference as the heading. [deg], -3600 to 3600.
    wind_kt : float or array_like
        Wind speed. [kt], 0 to 200.

    Returns
    -------
    float or numpy.ndarray
        Track in [0, 360), same reference, in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.
    NoSolution
        If the aircraft stands still over the ground.

    Notes
    -----
    Heading plus :func:`drift_deg`. Source: ``definition``.

    Terms: track made good; wind triangle.

    Examples
    --------
    >>> round(track_deg(heading_deg=90.0, tas_kt=120.0, wind_from_deg=0.0, wind_kt=20.0), 1)
    99.5
    """
    drift = drift_deg(heading_deg=heading_deg, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt)
    return wrap360(_direction("heading_deg", heading_deg) + drift)


@fitting
def ground_speed_on_heading_kt(
    *, heading_deg: ArrayLike, tas_kt: ArrayLike, wind_from_deg: ArrayLike, wind_kt: ArrayLike
) -> Result:
    """Ground speed that a heading gives in a wind, along whatever track comes of it.

    Parameters
    ----------
    heading_deg : float or array_like
        Where the nose points, same reference as the wind. [deg], -3600 to 3600.
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.
    wind_from_deg : float or array_like
        Direction the wind blows from, same reference as the heading. [deg], -3600 to 3600.
    wind_kt : float or array_like
        Wind speed. [kt], 0 to 200.

    Returns
    -------
    float or numpy.ndarray
        Ground speed, in the broadcast shape of the inputs. [kt]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.
    NoSolution
        If the aircraft stands still over the ground.

    Notes
    -----
    Length of the sum of the air and wind vectors. Source: ``definition``.

    Terms: ground speed on a heading.

    Examples
    --------
    >>> round(ground_speed_on_heading_kt(heading_deg=90.0, tas_kt=120.0, wind_from_deg=0.0, wind_kt=20.0), 1)
    121.7
    """
    return plain(_over_ground(heading_deg, tas_kt, wind_from_deg, wind_kt)[2])


@fitting
def components_kt(*, direction_deg: ArrayLike, wind_from_deg: ArrayLike, wind_kt: ArrayLike) -> tuple[Result, Result]:
    """Split a wind into the parts along and across a course, runway or heading.

    Parameters
    ----------
    direction_deg : float or array_like
        Course, runway or heading, same reference as the wind. [deg], -3600 to 3600.
    wind_from_deg : float or array_like
        Direction the wind blows from, same reference as the direction. [deg], -3600 to 3600.
    wind_kt : float or array_like
        Wind speed. [kt], 0 to 200.

    Returns
    -------
    tuple of (float or numpy.ndarray)
        Headwind (a tailwind is negative) and crosswind (from the right positive), each in the
        broadcast shape of the inputs. [kt]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    ``wind * cos`` and ``wind * sin`` of the angle from the direction to the wind. Source: ``definition``.

    Terms: headwind; tailwind; crosswind; wind components.

    Examples
    --------
    >>> headwind_kt, crosswind_kt = components_kt(direction_deg=180.0, wind_from_deg=220.0, wind_kt=30.0)
    >>> round(headwind_kt), round(crosswind_kt)
    (23, 19)
    """
    angle = np.radians(_direction("wind_from_deg", wind_from_deg) - _direction("direction_deg", direction_deg))
    wind = _wind(wind_kt)
    return plain(wind * np.cos(angle)), plain(wind * np.sin(angle))


@fitting
def wind_from_track(
    *, heading_deg: ArrayLike, tas_kt: ArrayLike, track_deg: ArrayLike, gs_kt: ArrayLike
) -> tuple[Result, Result]:
    """Find the wind from what was flown: heading and airspeed against track and ground speed.

    Parameters
    ----------
    heading_deg : float or array_like
        Heading flown. [deg], -3600 to 3600.
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.
    track_deg : float or array_like
        Track made good, same reference as the heading. [deg], -3600 to 3600.
    gs_kt : float or array_like
        Ground speed. [kt], 0 to 600.

    Returns
    -------
    tuple of (float or numpy.ndarray)
        Direction the wind blows from in [0, 360), same reference, and its speed, each in the broadcast
        shape of the inputs. [deg], [kt]. In a calm the direction is 0.

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Air vector less ground vector, turned round to "from". Source: ``definition``.

    Terms: wind found in flight; wind from drift and ground speed.

    Examples
    --------
    >>> wind_from_deg, wind_kt = wind_from_track(heading_deg=52.0, tas_kt=250.0, track_deg=45.0, gs_kt=220.0)
    >>> round(wind_from_deg, 1), round(wind_kt, 1)
    (92.3, 41.5)
    """
    heading = np.radians(_direction("heading_deg", heading_deg))
    track, tas = np.radians(_direction("track_deg", track_deg)), _tas(tas_kt)
    gs = within("gs_kt", gs_kt, 0.0, GROUND_SPEED_MAX_KT, "kt", "is this in km/h?")
    east = tas * np.sin(heading) - gs * np.sin(track)
    north = tas * np.cos(heading) - gs * np.cos(track)
    speed = np.hypot(east, north)
    blows_from = np.where(speed < _STANDSTILL_KT, 0.0, np.degrees(np.arctan2(east, north)))
    return wrap360(blows_from), plain(speed)


@fitting
def max_drift_rule_deg(*, wind_kt: ArrayLike, tas_kt: ArrayLike) -> Result:
    """Largest drift a wind can make, by the rule of sixty: the whole wind across.

    Parameters
    ----------
    wind_kt : float or array_like
        Wind speed. [kt], 0 to 200.
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.

    Returns
    -------
    float or numpy.ndarray
        Largest drift, in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    ``60 * wind / tas``. Source: ``from-memory``. A rule: up to 5 % above the exact ``asin(wind / tas)``,
    never below it, while the wind is at most half the airspeed.

    Terms: drift: largest; 1-in-60 rule: drift.

    Examples
    --------
    >>> max_drift_rule_deg(wind_kt=20.0, tas_kt=120.0)
    10.0
    """
    return plain(60.0 * _wind(wind_kt) / _tas(tas_kt))


@fitting
def clock_crosswind_kt(*, direction_deg: ArrayLike, wind_from_deg: ArrayLike, wind_kt: ArrayLike) -> Result:
    """Crosswind by the rule done in the head: half at 30 degrees, 0.7 at 45, 0.9 at 60, all of it at 90.

    Parameters
    ----------
    direction_deg : float or array_like
        Course, runway or heading, same reference as the wind. [deg], -3600 to 3600.
    wind_from_deg : float or array_like
        Direction the wind blows from, same reference as the direction. [deg], -3600 to 3600.
    wind_kt : float or array_like
        Wind speed. [kt], 0 to 200.

    Returns
    -------
    float or numpy.ndarray
        Crosswind, from the right positive, in the broadcast shape of the inputs. [kt]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Straight lines between the angles named; a wind from behind counts by its angle from the tail.
    Source: ``from-memory``. A rule: against the exact ``wind * sin(angle)`` up to 4 % high, most at 60 degrees,
    and up to 5 % low, most next to the nose; never off by more than 4 % of the wind.

    Terms: clock rule; crosswind by rule; kneeboard table of crosswind.

    Examples
    --------
    >>> clock_crosswind_kt(direction_deg=360.0, wind_from_deg=30.0, wind_kt=20.0)
    10.0
    """
    angle = np.asarray(
        wrap180(_direction("wind_from_deg", wind_from_deg) - _direction("direction_deg", direction_deg))
    )
    off_nose_or_tail = 90.0 - np.abs(np.abs(angle) - 90.0)
    part = np.interp(off_nose_or_tail, _CLOCK_ANGLE_DEG, _CLOCK_PART)
    return plain(np.sign(angle) * part * _wind(wind_kt))


@fitting
def correction_rule_deg(
    *, course_deg: ArrayLike, tas_kt: ArrayLike, wind_from_deg: ArrayLike, wind_kt: ArrayLike
) -> Result:
    """Wind correction angle as a pilot works it out in flight: largest drift times the clock part.

    Parameters
    ----------
    course_deg : float or array_like
        Course to make good over the ground, same reference as the wind. [deg], -3600 to 3600.
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.
    wind_from_deg : float or array_like
        Direction the wind blows from, same reference as the course. [deg], -3600 to 3600.
    wind_kt : float or array_like
        Wind speed. [kt], 0 to 200.

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
    :func:`max_drift_rule_deg` of the crosswind found by :func:`clock_crosswind_kt`. Source:
    ``from-memory``. A rule: both parts lie high, so it is up to 9 % more than :func:`correction_deg` (most with
    the wind 60 degrees off), never less by more than a hundredth of a degree; within one degree while the wind
    is at most a quarter of the airspeed.

    Terms: wind correction angle by rule; drift by rule; 1-in-60 rule: wind correction.

    Examples
    --------
    >>> correction_rule_deg(course_deg=90.0, tas_kt=120.0, wind_from_deg=60.0, wind_kt=20.0)
    -5.0
    """
    return plain(
        60.0
        * np.asarray(clock_crosswind_kt(direction_deg=course_deg, wind_from_deg=wind_from_deg, wind_kt=wind_kt))
        / _tas(tas_kt)
    )
