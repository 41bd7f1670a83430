"""What several lessons share: directions as they are written, days to fly in, plates."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from needlework.trade import angles, magnetic

if TYPE_CHECKING:
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
