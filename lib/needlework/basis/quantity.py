"""Numbers with units: range checks in one place, constants that carry their source."""

from __future__ import annotations

from collections.abc import Callable, Collection
from functools import wraps
from numbers import Real
from types import FunctionType
from typing import Any, ParamSpec, TypeAlias, TypeVar, cast

import numpy as np
from numpy.typing import ArrayLike, NDArray

from needlework.basis.errors import NeedleworkError, OutOfRange
from needlework.basis.hints import likely

Floats: TypeAlias = NDArray[np.float64]
Result: TypeAlias = float | Floats
"""What a ground-floor function returns: a float for scalars, else an array of the broadcast shape."""
Truth: TypeAlias = bool | NDArray[np.bool_]
"""The same for a yes-or-no question."""
_Given = ParamSpec("_Given")
_Found = TypeVar("_Found")
_LONGEST = 60
_SINGLE = frozenset((float, int, np.float64))  # one number that is right: by far the most calls


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


def shown(value: object) -> str:
    """Write what a caller gave so that it fits into a sentence: on one line, and not too long.

    Parameters
    ----------
    value : object
        Anything at all.

    Returns
    -------
    str
        As Python writes it, shortened in the middle; what cannot be written is named by its kind.

    Examples
    --------
    >>> shown("five"), shown(10**400)
    ("'five'", '1000000000000000000000000000...0000000000000000000000000000')
    """
    try:
        text = " ".join(repr(value.tolist() if isinstance(value, np.ndarray) else value).split())
    except Exception:  # a number of too many digits, or whatever a caller's own kind of object may raise
        return f"a value of kind {type(value).__name__}"
    half = _LONGEST // 2 - 2
    return text if len(text) <= _LONGEST else f"{text[:half]}...{text[-half:]}"


def _numbers(value: Any) -> Floats | None:
    """Give the numbers as a float array, or None where they are none: texts, rows of unlike length, holes."""
    if isinstance(value, Real) and not isinstance(value, (bool, np.bool_)):
        try:
            return np.asarray(float(value), dtype=np.float64)
        except OverflowError:
            return np.asarray(np.inf if cast(int, value) > 0 else -np.inf)
    if np.ma.is_masked(value):
        return None
    try:
        raw = np.asarray(value)
    except (ValueError, TypeError, UserWarning):  # rows of unlike length, a hole in a list
        return None
    if raw.dtype.kind == "O":
        # What Python itself counts as a number: a fraction, a whole number of very many digits.
        each = [_numbers(one) if isinstance(one, Real) else None for one in raw.flat]
        return None if any(one is None for one in each) else np.array(each, dtype=np.float64).reshape(raw.shape)
    if raw.dtype.kind not in "iuf":
        return None
    with np.errstate(over="ignore"):
        return raw.astype(np.float64)


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
        The likely mistake, as a question, for example ``"is this a ground speed in m/s?"``; it is left out
        where it does not fit the number, see :func:`needlework.basis.hints.likely`.

    Returns
    -------
    numpy.ndarray
        The value as float64, in its own shape.

    Raises
    ------
    OutOfRange
        If a value is outside the range, infinite, nan, masked, or not a number at all.

    Examples
    --------
    >>> within("tas_kt", 30, 40, 400, "kt", "is this a ground speed in m/s?")
    Traceback (most recent call last):
    ...
    needlework.basis.errors.OutOfRange: tas_kt = 30 kt is outside 40 to 400 kt: is this a ground speed in m/s?
    """
    if type(value) in _SINGLE and low <= value <= high:  # type: ignore[operator]
        return np.asarray(value, dtype=np.float64)
    # What another check has returned already, and is a single number.
    if type(value) is np.ndarray and value.ndim == 0 and value.dtype == np.float64 and low <= value <= high:
        return value.copy()
    wanted = f"{_written(low)} to {_written(high)} {unit}".rstrip()
    array = _numbers(value)
    if array is None:
        raise OutOfRange(f"{name} = {shown(value)} is not a number: expected {wanted}")
    bad = ~((array >= low) & (array <= high))
    if bad.any():
        where = tuple(int(i) for i in np.argwhere(bad)[0])
        at = f"[{', '.join(map(str, where))}]" if where else ""
        worst = float(array[where])
        if np.isnan(worst):
            raise OutOfRange(f"{name}{at} = nan is not a number: expected {wanted}")
        hint = likely(slip, worst, low, high, unit)
        ending = f": {hint}" if hint else ""
        raise OutOfRange(f"{name}{at} = {_written(worst)} {unit}".rstrip() + f" is outside {wanted}{ending}")
    return array


def one(name: str, checked: Floats) -> float:
    """Accept a single number only, where a list has no meaning.

    Parameters
    ----------
    name : str
        The parameter's name, as the caller wrote it.
    checked : numpy.ndarray
        What :func:`within` or a function like it returned.

    Returns
    -------
    float
        The number.

    Raises
    ------
    OutOfRange
        If it is a list, even of one.

    Examples
    --------
    >>> one("tas_kt", within("tas_kt", [90, 95], 40, 400, "kt"))
    Traceback (most recent call last):
    ...
    needlework.basis.errors.OutOfRange: tas_kt = [90.0, 95.0] is a list: expected one number
    """
    if checked.ndim:
        raise OutOfRange(f"{name} = {shown(checked.tolist())} is a list: expected one number")
    return float(checked)


def singles(**given: ArrayLike) -> None:
    """Accept single numbers only, where they are handed on to a function that takes lists too.

    Parameters
    ----------
    **given : float
        What the caller gave, by the parameter's name; whether it is in its range is not looked at.

    Raises
    ------
    OutOfRange
        If one of them is a list, even of one.

    Examples
    --------
    >>> singles(tas_kt=90.0, wind_kt=[15.0])
    Traceback (most recent call last):
    ...
    needlework.basis.errors.OutOfRange: wind_kt = [15.0] is a list: expected one number
    """
    for name, value in given.items():
        numbers = _numbers(value)
        if numbers is not None:
            one(name, numbers)


def whole(name: str, value: object, low: int, high: int) -> int:
    """Accept a whole number in a closed range.

    Parameters
    ----------
    name : str
        The parameter's name, as the caller wrote it.
    value : int
        What the caller gave.
    low, high : int
        Closed range.

    Returns
    -------
    int
        The number.

    Raises
    ------
    OutOfRange
        If it is anything else.

    Examples
    --------
    >>> whole("legs", 2.5, 1, 360)
    Traceback (most recent call last):
    ...
    needlework.basis.errors.OutOfRange: legs = 2.5 is not one of the whole numbers from 1 to 360
    """
    right = isinstance(value, (int, np.integer)) and not isinstance(value, bool) and low <= value <= high
    if not right:
        raise OutOfRange(f"{name} = {shown(value)} is not one of the whole numbers from {low:,} to {high:,}")
    return int(cast(int, value))


def one_of(name: str, value: object, known: Collection[str], meaning: str) -> str:
    """Accept one of a few words.

    Parameters
    ----------
    name : str
        The parameter's name, as the caller wrote it.
    value : str
        What the caller gave.
    known : collection of str
        The words.
    meaning : str
        What they are words for: the message says that the value is not that.

    Returns
    -------
    str
        The word.

    Raises
    ------
    OutOfRange
        If it is none of them.

    Examples
    --------
    >>> one_of("side", "port", ("left", "right"), "a side to turn")
    Traceback (most recent call last):
    ...
    needlework.basis.errors.OutOfRange: side = 'port' is not a side to turn: expected 'left' or 'right'
    """
    if not isinstance(value, str) or value not in known:
        *others, last = (f"'{word}'" for word in known)
        wanted = f"{', '.join(others)} or {last}" if others else last
        raise OutOfRange(f"{name} = {shown(value)} is not {meaning}: expected {wanted}")
    return value


def one_among(name: str, value: object, known: Collection[float], meaning: str) -> float:
    """Accept one of a few numbers.

    Parameters
    ----------
    name : str
        The parameter's name, as the caller wrote it.
    value : float
        What the caller gave.
    known : collection of float
        The numbers.
    meaning : str
        What is the matter with any other, and what is expected: the end of the message.

    Returns
    -------
    float
        The number.

    Raises
    ------
    OutOfRange
        If it is none of them.

    Examples
    --------
    >>> one_among("cycles", 3, (4, 5), "is not how stations take turns: expected 4 or 5")
    Traceback (most recent call last):
    ...
    needlework.basis.errors.OutOfRange: cycles = 3 is not how stations take turns: expected 4 or 5
    """
    number = _numbers(value)
    if number is None or number.ndim or float(number) not in known:
        raise OutOfRange(f"{name} = {shown(value)} {meaning}")
    return float(number)


def yes_no(name: str, value: object) -> bool:
    """Accept True or False.

    Parameters
    ----------
    name : str
        The parameter's name, as the caller wrote it.
    value : bool
        What the caller gave.

    Returns
    -------
    bool
        The same.

    Raises
    ------
    OutOfRange
        If it is anything else, also a list of several.

    Examples
    --------
    >>> yes_no("withdrawn", "no")
    Traceback (most recent call last):
    ...
    needlework.basis.errors.OutOfRange: withdrawn = 'no' is neither yes nor no: expected True or False
    """
    if not isinstance(value, (bool, np.bool_)):
        raise OutOfRange(f"{name} = {shown(value)} is neither yes nor no: expected True or False")
    return bool(value)


def _misfit(given: dict[str, Any]) -> str:
    """Say which of the values given cannot be taken together, or nothing where all can."""
    rows = {name: numbers.shape for name, value in given.items() if (numbers := _numbers(value)) is not None}
    try:
        np.broadcast_shapes(*rows.values())
    except ValueError:
        listed = [f"{name} ({' by '.join(map(str, shape))})" for name, shape in rows.items() if shape]
        return f"{', '.join(listed[:-1])} and {listed[-1]}"
    return ""


def fitting(function: Callable[_Given, _Found]) -> Callable[_Given, _Found]:
    """Say in one sentence that the lists a function was given are of unlike length.

    Parameters
    ----------
    function : callable
        A function of several numbers or lists of numbers, given by name.

    Returns
    -------
    callable
        The same function; what it does with lists that fit is untouched and costs nothing.

    Examples
    --------
    >>> @fitting
    ... def distance_nm(*, gs_kt, time_s):
    ...     return np.asarray(gs_kt) * np.asarray(time_s) / 3600.0
    >>> distance_nm(gs_kt=[90, 120], time_s=[60, 90, 120])
    Traceback (most recent call last):
    ...
    needlework.basis.errors.OutOfRange: Lists do not fit together: gs_kt (2) and time_s (3): expected ...
    """
    # Found through the closure: the globals below are those of another module.
    misfit, sentence, plain_already = _misfit, OutOfRange, NeedleworkError

    def checked(**given: Any) -> Any:
        try:
            return original(**given)
        except plain_already:
            raise
        except (ValueError, IndexError):
            unlike = misfit(given)
            if not unlike:
                raise
            raise sentence(
                f"Lists do not fit together: {unlike}: expected single numbers, or lists of the same length"
            ) from None

    original = cast("Callable[..., Any]", function)
    # With the globals of its own module, so that its examples still count as that module's.
    own = FunctionType(checked.__code__, cast(FunctionType, function).__globals__, None, None, checked.__closure__)
    return cast("Callable[_Given, _Found]", wraps(function)(own))


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
    if np.ndim(angle_deg) == 0:
        # The same to the last bit, without what an array costs.
        single = float(angle_deg) % 360.0
        return np.asarray(0.0 if single >= 360.0 else single)
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
    >>> ground_speed("gs_kt", 15)
    Traceback (most recent call last):
    ...
    needlework.basis.errors.OutOfRange: gs_kt = 15 kt is outside 20 to 400 kt: is this a speed in m/s?
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
