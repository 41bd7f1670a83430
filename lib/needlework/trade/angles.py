"""Directions on the compass circle: wrapping, differences, reciprocals, turns."""

from __future__ import annotations

from functools import partial

import numpy as np
from numpy.typing import ArrayLike

from needlework.basis.quantity import Constant, Floats, Result, angle, fitting, one, one_of, plain, round_the_circle

FULL_CIRCLE_DEG = Constant(360.0, "deg", "definition")
HALF_CIRCLE_DEG = Constant(180.0, "deg", "definition")

_CIRCLE_DEG, _HALF_DEG = float(FULL_CIRCLE_DEG), float(HALF_CIRCLE_DEG)

_direction = partial(angle, slip="is this a frequency or a distance?")


def _wrap360(angle_deg: Floats) -> Result:
    return plain(round_the_circle(angle_deg))


def _wrap180(angle_deg: Floats) -> Result:
    # Taking whole circles away is exact; a remainder would lose the last bit of an angle next to 180.
    if np.ndim(angle_deg) == 0:
        # The same to the last bit, without what an array costs.
        single = float(angle_deg)
        single -= _CIRCLE_DEG * round(single / _CIRCLE_DEG)
        if single > _HALF_DEG:
            single -= _CIRCLE_DEG
        # Nought has no sign.
        return (single + _CIRCLE_DEG if single <= -_HALF_DEG else single) + 0.0
    wrapped = angle_deg - FULL_CIRCLE_DEG * np.rint(angle_deg / FULL_CIRCLE_DEG)
    wrapped = np.where(wrapped > HALF_CIRCLE_DEG, wrapped - FULL_CIRCLE_DEG, wrapped)
    return plain(np.where(wrapped <= -HALF_CIRCLE_DEG, wrapped + FULL_CIRCLE_DEG, wrapped))


def wrap360(direction_deg: ArrayLike) -> Result:
    """Bring a direction into the range 0 (included) to 360 (excluded).

    Parameters
    ----------
    direction_deg : float or array_like
        Any direction, magnetic or true; the reference is kept. [deg], -3600 to 3600.

    Returns
    -------
    float or numpy.ndarray
        The same direction in [0, 360), in the shape of the input. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Remainder after division by 360. Source: ``definition``. Pilots say 360 for north where
    this returns 0: use :func:`three_digits` to write it.

    Terms: direction from 0 to 360; add and take away 360.

    Examples
    --------
    >>> wrap360(-10.0)
    350.0
    >>> wrap360([360.0, 725.0])
    array([0., 5.])
    """
    return _wrap360(_direction("direction_deg", direction_deg))


def wrap180(angle_deg: ArrayLike) -> Result:
    """Bring an angle into the range -180 (excluded) to 180 (included), right positive.

    Parameters
    ----------
    angle_deg : float or array_like
        Any angle. [deg], -3600 to 3600.

    Returns
    -------
    float or numpy.ndarray
        The same angle in (-180, 180], in the shape of the input. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    The angle less the nearest whole number of circles; half a circle counts as 180. Source: ``definition``.

    Terms: angle left or right.

    Examples
    --------
    >>> wrap180(190.0)
    -170.0
    >>> wrap180(-180.0)
    180.0
    """
    return _wrap180(_direction("angle_deg", angle_deg))


@fitting
def difference_deg(*, from_deg: ArrayLike, to_deg: ArrayLike) -> Result:
    """Shortest angle from one direction to another, right (clockwise) positive.

    Parameters
    ----------
    from_deg, to_deg : float or array_like
        Two directions with the same reference (both magnetic or both true). [deg], -3600 to 3600.

    Returns
    -------
    float or numpy.ndarray
        Angle to turn, in (-180, 180], in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    ``wrap180(to - from)``. Source: ``definition``.

    Terms: difference of directions; shortest turn; degrees off.

    Examples
    --------
    >>> difference_deg(from_deg=350.0, to_deg=10.0)
    20.0
    """
    return _wrap180(_direction("to_deg", to_deg) - _direction("from_deg", from_deg))


def reciprocal(direction_deg: ArrayLike) -> Result:
    """Give the other end of a line: the direction plus 180 degrees.

    Parameters
    ----------
    direction_deg : float or array_like
        A radial, course or heading; the reference is kept. [deg], -3600 to 3600.

    Returns
    -------
    float or numpy.ndarray
        Opposite direction in [0, 360), in the shape of the input. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Source: ``definition``. The course inbound on a radial is the radial's reciprocal.

    Terms: reciprocal; opposite direction.

    Examples
    --------
    >>> reciprocal(205.0)
    25.0
    """
    return _wrap360(_direction("direction_deg", direction_deg) + HALF_CIRCLE_DEG)


@fitting
def turn_deg(*, from_deg: ArrayLike, to_deg: ArrayLike, side: str) -> Result:
    """Angle to turn from one heading to another when the side of the turn is prescribed.

    Parameters
    ----------
    from_deg, to_deg : float or array_like
        Headings with the same reference. [deg], -3600 to 3600.
    side : {"left", "right"}
        The way round.

    Returns
    -------
    float or numpy.ndarray
        Angle turned through, 0 to 360 (excluded), in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or ``side`` is neither left nor right.

    Notes
    -----
    Right: ``wrap360(to - from)``; left: ``wrap360(from - to)``. Source: ``definition``.

    Terms: angle of turn; turn left or right.

    Examples
    --------
    >>> turn_deg(from_deg=310.0, to_deg=40.0, side="right")
    90.0
    >>> turn_deg(from_deg=310.0, to_deg=40.0, side="left")
    270.0
    """
    start, end = _direction("from_deg", from_deg), _direction("to_deg", to_deg)
    hand = one_of("side", side, ("left", "right"), "a side to turn")
    return _wrap360(end - start if hand == "right" else start - end)


def three_digits(*, direction_deg: float, reference: str = "M") -> str:
    """Write a direction the way it is read on a dial: three digits, 360 for north, and its reference.

    Parameters
    ----------
    direction_deg : float
        One direction. [deg], -3600 to 3600.
    reference : {"M", "T", ""}
        Magnetic, true, or leave it out.

    Returns
    -------
    str
        For example ``"045°M"``; rounded to whole degrees.

    Raises
    ------
    OutOfRange
        If the value is outside its range, or is nan, or the reference is none of the three.

    Notes
    -----
    Source: ``common-practice``.

    Terms: direction in three digits.

    Examples
    --------
    >>> three_digits(direction_deg=0.0)
    '360°M'
    >>> three_digits(direction_deg=359.6, reference="T")
    '360°T'
    >>> three_digits(direction_deg=45.2, reference="")
    '045°'
    """
    whole = round(one("direction_deg", _direction("direction_deg", direction_deg))) % 360
    return f"{whole or 360:03d}°{one_of('reference', reference, ('M', 'T', ''), 'a reference')}"
