"""What several lessons share: directions as they are written, days to fly in, plates."""

from __future__ import annotations

import math
from functools import cache
from typing import TYPE_CHECKING, Any

from needlework.exercises.families import FAMILIES, Applied
from needlework.trade import angles, magnetic, wind

if TYPE_CHECKING:
    from collections.abc import Mapping

    from needlework.world.procedure import Procedure
    from needlework.world.weather import Day

_VARIATION_DEG = -13.0  # of Overfall and of Wygate, west


def whole(direction_deg: float, step_deg: int = 1) -> int:
    """Write a direction as a pilot does, in whole steps: 360, not 0.

    Parameters
    ----------
    direction_deg : float
        Any direction; the reference is kept. [deg]
    step_deg : int
        The step, a divisor of 360. [deg]

    Returns
    -------
    int
        The nearest step, above 0 and at most 360. [deg]

    Examples
    --------
    >>> whole(-0.4), whole(361.2), whole(187.0, 10)
    (360, 1, 190)
    """
    return round(direction_deg / step_deg) * step_deg % 360 or 360


def mirrored_deg(course_deg: float, heading_deg: float) -> float:
    """Lay the angle between course and heading off to the other side of the course.

    Parameters
    ----------
    course_deg, heading_deg : float
        Directions with the same reference. [deg]

    Returns
    -------
    float
        The heading with its correction, or its cut, on the wrong side. [deg]

    Examples
    --------
    >>> mirrored_deg(5.0, 12.0)
    358.0
    """
    return float(angles.wrap360(2 * course_deg - heading_deg))


def true_deg(magnetic_deg: float) -> float:
    """Turn a magnetic direction into a true one, with the variation of the course's stations.

    Parameters
    ----------
    magnetic_deg : float
        Direction. [deg magnetic]

    Returns
    -------
    float
        The same direction in [0, 360). [deg true]

    Examples
    --------
    >>> true_deg(100.0)
    87.0
    """
    return float(magnetic.to_true_deg(direction_deg=magnetic_deg, variation_deg=_VARIATION_DEG))


def magnetic_deg(true_deg: float) -> float:
    """Turn a true direction into a magnetic one, with the variation of the course's stations.

    Parameters
    ----------
    true_deg : float
        Direction. [deg true]

    Returns
    -------
    float
        The same direction in [0, 360). [deg magnetic]

    Examples
    --------
    >>> magnetic_deg(350.0)
    3.0
    """
    return float(magnetic.to_magnetic_deg(direction_deg_true=true_deg, variation_deg=_VARIATION_DEG))


def taught_part_across(*, off_deg: float, nearest: bool = False) -> float:
    """Give the part of a wind that blows across, by the parts that the lessons teach.

    Parameters
    ----------
    off_deg : float
        Angle between the wind and the course or leg, on either side; from behind it is measured from the tail. [deg]
    nearest : bool
        True for the nearest of the parts taught, False for one estimated between them.

    Returns
    -------
    float
        0 to 1: 30 degrees half, 45 0.7, 60 0.9, 90 all; below 30 the angle over 60.

    Examples
    --------
    >>> (
    ...     taught_part_across(off_deg=-60.0),
    ...     taught_part_across(off_deg=150.0),
    ...     taught_part_across(off_deg=53.0, nearest=True),
    ... )
    (0.9, 0.5, 0.9)
    """
    off = abs(180.0 - (180.0 - off_deg) % 360.0)
    off = min(off, 180.0 - off)
    if off < 30.0:
        return off / 60.0
    if nearest:
        return min(_PARTS_ACROSS.items(), key=lambda each: (abs(each[0] - off), -each[0]))[1]
    below = max(angle for angle in _PARTS_ACROSS if angle <= off)
    above = min(angle for angle in _PARTS_ACROSS if angle >= off)
    share = (off - below) / (above - below) if above > below else 0.0
    return _PARTS_ACROSS[below] + share * (_PARTS_ACROSS[above] - _PARTS_ACROSS[below])


def heading_by_parts(
    *, course_deg: float, tas_kt: float, wind_from_deg: float, wind_kt: float, part: float | None = None
) -> float:
    """Give the heading by the sum that the lessons teach: 60 x crosswind / true airspeed, into the wind.

    Parameters
    ----------
    course_deg, wind_from_deg : float
        Course or leg, and where the wind comes from, both with the same reference. [deg]
    tas_kt, wind_kt : float
        True airspeed and wind. [kt]
    part : float or None
        Part of the wind that blows across; None takes the sine of the angle, as a calculator gives it.

    Returns
    -------
    float
        Heading in [0, 360). [deg]

    Examples
    --------
    >>> heading_by_parts(course_deg=90.0, tas_kt=100.0, wind_from_deg=120.0, wind_kt=30.0, part=0.5)
    99.0
    """
    off = float(angles.difference_deg(from_deg=course_deg, to_deg=angles.wrap360(wind_from_deg)))
    across = abs(math.sin(math.radians(off))) if part is None else part
    correction = 60.0 * across * wind_kt / tas_kt
    return float(angles.wrap360(course_deg + (correction if off > 0.0 else -correction)))


def true_wind_shows(
    *, course_deg: float, tas_kt: float, wind_true_deg: float, wind_kt: float, within_deg: float
) -> bool:
    """Say whether a wind left in true costs more than a heading's tolerance.

    Parameters
    ----------
    course_deg : float
        The course held. [deg magnetic]
    tas_kt, wind_kt : float
        True airspeed and wind. [kt]
    wind_true_deg : float
        Where the wind comes from. [deg true]
    within_deg : float
        Within what a heading is right. [deg]

    Returns
    -------
    bool
        True where the headings, whole as they are written, differ by more than that.
    """
    blown = {"course_deg": course_deg, "tas_kt": tas_kt, "wind_kt": wind_kt}
    right, wrong = (
        whole(_held_exactly({**blown, "wind_from_deg": wind_from}))
        for wind_from in (magnetic_deg(wind_true_deg), wind_true_deg)
    )
    return abs(float(angles.difference_deg(from_deg=right, to_deg=wrong))) > within_deg


_PARTS_ACROSS = {30.0: 0.5, 45.0: 0.7, 60.0: 0.9, 90.0: 1.0}


def _held_exactly(numbers: Mapping[str, Any]) -> float:
    return float(wind.heading_deg(wind_from_deg=_wind_from_deg(numbers), **_blown(numbers)))


def _held_by_rule(numbers: Mapping[str, Any]) -> float:
    return heading_by_parts(wind_from_deg=_wind_from_deg(numbers), **_blown(numbers))


def _held_by_estimate(numbers: Mapping[str, Any]) -> float:
    wind_from = _wind_from_deg(numbers)
    part = taught_part_across(off_deg=wind_from - numbers["course_deg"])
    return heading_by_parts(wind_from_deg=wind_from, part=part, **_blown(numbers))


def _wind_from_deg(numbers: Mapping[str, Any]) -> float:
    if "wind_from_deg" in numbers:
        return float(numbers["wind_from_deg"])
    return float(numbers["wind_true_deg"]) + float(numbers["variation_deg"])


def _blown(numbers: Mapping[str, Any]) -> dict[str, float]:
    return {name: float(numbers[name]) for name in ("course_deg", "tas_kt", "wind_kt")}


_BY_SUMS = (_held_by_rule, _held_by_estimate)

HEADING_AS_TAUGHT = Applied(
    FAMILIES["heading in wind"], _held_exactly, without=frozenset({"TRIPLE"}), taught=_BY_SUMS
)
"""The mistakes with a heading in wind, exactly and by the sums that are taught; for the lines of a plan."""

LEG_AS_TAUGHT = Applied(
    FAMILIES["leg of an arc"], _held_exactly, without=frozenset({"TRIPLE", "VARSGN", "VARADD"}), taught=_BY_SUMS
)
"""The same for a leg of an arc, whose wind is given in magnetic."""


def day(name: str, from_deg_true: float, wind_kt: float, temperature_c: float = 8.0) -> Day:
    """Make a day with one wind at all heights.

    Parameters
    ----------
    name : str
        What the day is called.
    from_deg_true : float
        Where the wind comes from, 0 to 360. [deg true]
    wind_kt : float
        Its speed. [kt]
    temperature_c : float
        Temperature at the field. [C]

    Returns
    -------
    Day
        The day, with a setting of 1013 hPa.
    """
    from needlework.world.weather import Day, Wind

    return Day(name, "exercise", Wind((0.0,), (float(from_deg_true),), (float(wind_kt),)), temperature_c, 1013.0)


def plan_days(*, wind_true_deg: float, wind_kt: float, hidden: bool) -> list[Day]:
    """Give the wind as briefed; at the desk it has veered and freshened a little, and backed and eased.

    Parameters
    ----------
    wind_true_deg : float
        Where the wind comes from. [deg true]
    wind_kt : float
        Its speed. [kt]
    hidden : bool
        True at the marking desk.

    Returns
    -------
    list of Day
        The days a plan is flown in.
    """
    changes = [(10, 3), (-10, -3)] if hidden else [(0, 0)]
    return [day("plan", (wind_true_deg + turn) % 360, wind_kt + more) for turn, more in changes]


@cache
def plate(name: str = "saltmarsh") -> Procedure:
    """Load a procedure of the course, once.

    Parameters
    ----------
    name : str
        Name of a file in ``datasets/procedures``.

    Returns
    -------
    Procedure
        The procedure; everybody gets the same one.
    """
    from needlework.world import procedure

    return procedure.load(name)
