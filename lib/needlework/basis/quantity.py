"""Numbers with units: range checks in one place, constants that carry their source."""

from __future__ import annotations

from numbers import Real
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from needlework.basis.errors import OutOfRange

Floats: TypeAlias = NDArray[np.float64]
Result: TypeAlias = float | Floats
"""What a ground-floor function returns: a float for scalars, else an array of the broadcast shape."""
Truth: TypeAlias = bool | NDArray[np.bool_]
"""The same for a yes-or-no question."""


class Constant(float):
    """A number that knows its unit and where it comes from; usable anywhere a float is.

    Parameters
    ----------
    value : float
        The number itself, in ``unit``.
    unit : str
        Unit as written in the docstrings, for example ``"ft/NM"``; ``"1"`` for a pure number.
    source : str
        Key of a record in :mod:`needlework.basis.sources`.
    note : str
        What a reader should know before relying on it.
    """

    unit: str
    source: str
    note: str

    def __new__(cls, value: float, unit: str, source: str, note: str = "") -> Constant:
        """Make the float and hang the record on it."""
        made = super().__new__(cls, value)
        made.unit, made.source, made.note = unit, source, note
        return made

    def __getnewargs__(self) -> tuple[float, str, str, str]:  # type: ignore[override]
        return float(self), self.unit, self.source, self.note


def plain(value: Floats | np.floating | float) -> Result:
    """Turn a zero-dimensional array into a float and leave every other array alone.

    Parameters
    ----------
    value : numpy.ndarray or float
        Any numeric result, in any unit.

    Returns
    -------
    float or numpy.ndarray
        A plain Python float where the shape is ``()``, else the array.

    Examples
    --------
    >>> plain(np.array(2.5))
    2.5
    """
    array = np.asarray(value, dtype=np.float64)
    return float(array) if array.ndim == 0 else array


def _written(number: float) -> str:
    """Write a number the short way: 1, 0.5, 5,000 (never 1.0)."""
    return f"{number:,.6g}" if abs(number) < 1e6 else f"{number:g}"


def within(name: str, value: ArrayLike, low: float, high: float, unit: str, slip: str = "") -> Floats:
    """Check that every number given lies in a closed range, and return it as a float array.

    Parameters
    ----------
    name : str
        The parameter's name, as the caller wrote it.
    value : float or array_like
        What the caller gave, in ``unit``.
    low, high : float
        Closed range in which the formula is meant to be used, in ``unit``.
    unit : str
        Unit for the message.
    slip : str
        The likely mistake, as a question, for example ``"is this a ground speed in m/s?"``.

    Returns
    -------
    numpy.ndarray
        The value as float64, in its own shape.

    Raises
    ------
    OutOfRange
        If a value is outside the range, infinite, nan, or not a number at all.

    Examples
    --------
    >>> within("tas_kt", 1, 40, 400, "kt", "is this a ground speed in m/s?")
    Traceback (most recent call last):
    ...
    needlework.basis.errors.OutOfRange: tas_kt = 1 kt is outside 40 to 400 kt: is this a ground speed in m/s?
    """
    wanted = f"{_written(low)} to {_written(high)} {unit}".rstrip()
    ending = f": {slip}" if slip else ""
    if isinstance(value, (bool, np.bool_)):
        raise OutOfRange(f"{name} = {value} is not a number: expected {wanted}")
    if isinstance(value, Real):
        array = np.asarray(float(value), dtype=np.float64)
    else:
        try:
            raw = np.asarray(value)
        except ValueError:
            raw = np.asarray(None)
        if raw.dtype.kind not in "iuf":
            raise OutOfRange(f"{name} = {value!r} is not a number: expected {wanted}")
        array = raw.astype(np.float64)
    bad = ~((array >= low) & (array <= high))
    if bad.any():
        where = tuple(int(i) for i in np.argwhere(bad)[0])
        at = f"[{', '.join(map(str, where))}]" if where else ""
        worst = float(array[where])
        if np.isnan(worst):
            raise OutOfRange(f"{name}{at} = nan is not a number: expected {wanted}")
        raise OutOfRange(f"{name}{at} = {_written(worst)} {unit}".rstrip() + f" is outside {wanted}{ending}")
    return array


def angle(name: str, value: ArrayLike, slip: str = "") -> Floats:
    """Accept any finite angle a pilot or a sum of angles may give: -3600 to 3600 degrees.

    Parameters
    ----------
    name : str
        The parameter's name, as the caller wrote it.
    value : float or array_like
        What the caller gave. [deg]
    slip : str
        The likely mistake, as a question, or empty.

    Returns
    -------
    numpy.ndarray
        The value as float64, in its own shape, not wrapped. [deg]

    Raises
    ------
    OutOfRange
        As :func:`within`.

    Examples
    --------
    >>> angle("course_deg", 11350, "is this a frequency?")
    Traceback (most recent call last):
    ...
    needlework.basis.errors.OutOfRange: course_deg = 11,350 deg is outside -3,600 to 3,600 deg: is this a frequency?
    """
    return within(name, value, -3600.0, 3600.0, "deg", slip)


def round_the_circle(angle_deg: Floats) -> Floats:
    """Bring angles into the range 0 (included) to 360 (excluded).

    Parameters
    ----------
    angle_deg : numpy.ndarray
        Angles that :func:`angle` took. [deg]

    Returns
    -------
    numpy.ndarray
        The same directions. [deg]

    Examples
    --------
    >>> round_the_circle(np.array([-10.0, 360.0]))
    array([350.,   0.])
    """
    wrapped = np.mod(angle_deg, 360.0)
    # A tiny negative number rounds up to 360.0 exactly; that is north, 0.
    return np.asarray(np.where(wrapped >= 360.0, 0.0, wrapped))


def direction(name: str, value: ArrayLike, slip: str = "") -> Floats:
    """Accept what :func:`angle` accepts, and bring it into the range 0 (included) to 360 (excluded).

    Parameters
    ----------
    name : str
        The parameter's name, as the caller wrote it.
    value : float or array_like
        What the caller gave, magnetic or true; the reference is kept. [deg]
    slip : str
        The likely mistake, as a question, or empty.

    Returns
    -------
    numpy.ndarray
        The same direction, in its own shape. [deg]

    Raises
    ------
    OutOfRange
        As :func:`within`.

    Examples
    --------
    >>> direction("radial_deg", [-10.0, 360.0], "is this a distance?")
    array([350.,   0.])
    """
    return round_the_circle(angle(name, value, slip))


def distance(name: str, value: ArrayLike, low_nm: float = 0.0) -> Floats:
    """Accept a distance that a station is received at: up to 300 NM.

    Parameters
    ----------
    name : str
        The parameter's name, as the caller wrote it.
    value : float or array_like
        What the caller gave. [NM]
    low_nm : float
        The least that is accepted; negative where a side or a way past is meant. [NM]

    Returns
    -------
    numpy.ndarray
        The value as float64, in its own shape. [NM]

    Raises
    ------
    OutOfRange
        As :func:`within`.

    Examples
    --------
    >>> distance("dist_nm", 18520)
    Traceback (most recent call last):
    ...
    needlework.basis.errors.OutOfRange: dist_nm = 18,520 NM is outside 0 to 300 NM: is this ...
    """
    return within(name, value, low_nm, 300.0, "NM", "is this a distance in feet or metres?")


def ground_speed(name: str, value: ArrayLike) -> Floats:
    """Accept a ground speed of an approach: 20 to 400 kt.

    Parameters
    ----------
    name : str
        The parameter's name, as the caller wrote it.
    value : float or array_like
        What the caller gave. [kt]

    Returns
    -------
    numpy.ndarray
        The value as float64, in its own shape. [kt]

    Raises
    ------
    OutOfRange
        As :func:`within`.

    Examples
    --------
    >>> ground_speed("gs_kt", 0)
    Traceback (most recent call last):
    ...
    needlework.basis.errors.OutOfRange: gs_kt = 0 kt is outside 20 to 400 kt: is this a speed in m/s?
    """
    return within(name, value, 20.0, 400.0, "kt", "is this a speed in m/s?")


def truth(value: NDArray[np.bool_] | np.bool_ | bool) -> Truth:
    """Turn a zero-dimensional yes-or-no array into a bool and leave every other array alone.

    Parameters
    ----------
    value : numpy.ndarray or bool
        The outcome of a comparison.

    Returns
    -------
    bool or numpy.ndarray
        A plain Python bool where the shape is ``()``, else the array.

    Examples
    --------
    >>> truth(np.array(3.0) > 2.0)
    True
    """
    array = np.asarray(value, dtype=np.bool_)
    return bool(array) if array.ndim == 0 else array
