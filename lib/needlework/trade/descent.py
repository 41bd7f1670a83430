"""Descent: gradients and rates, floors and lines over them, minimums, VDP, timing, wind and late starts.

Distances "to go" are miles along the track to the place where the descent is to end (the missed
approach point, the VDP, the level-off), falling to 0 there; :func:`to_go_nm` makes them from DME
readings, on whichever side of the station the aircraft is. A floor belongs to a fix: it holds until
the fix is crossed. So a line that only goes down and clears every floor *at its fix* clears it all
the way there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from needlework.basis.errors import NoSolution, OutOfRange
from needlework.basis.quantity import (
    Constant,
    Floats,
    Result,
    distance,
    fitting,
    ground_speed,
    one,
    one_among,
    one_of,
    plain,
    within,
)
from needlework.trade.altimetry import cold_correction_ft
from needlework.trade.units import NM_FT

OPTIMUM_FT_NM = Constant(318.0, "ft/NM", "8260-3", "3.00 degrees")
STEEPEST_FT_NM = Constant(400.0, "ft/NM", "8260-3", "3.77 degrees, the most for a straight-in final")
ANGLE_DEG = Constant(3.0, "deg", "8260-3", "optimum")
FT_NM_RULE = Constant(300.0, "ft/NM", "P-340", "3 degrees; 6 % low")
LOW_LIMIT_FPM = Constant(1000.0, "fpm", "IPH4", "not to be exceeded below 1,000 ft above ground")
LEVEL_OFF_PERCENT = Constant(10.0, "%", "common-practice", "of the vertical speed, in feet")
ALLOWANCE_FT = Constant(50.0, "ft", "common-practice", "so that the go-around does not sink below the MDA")
CROSSING_FT = Constant(50.0, "ft", "common-practice", "height of the line over the threshold where none is given")
VERTICAL_LAG_S = Constant(3.0, "s", "scenario", "time constant of a change of vertical speed")
START_RULE_NM_PER_1000_FT = Constant(
    3.0, "NM per 1,000 ft", "common-practice", "4.5 % short: exact 3.14 at 3 degrees"
)

CATEGORIES: tuple[tuple[str, float], ...] = (("A", 91.0), ("B", 121.0), ("C", 141.0), ("D", 166.0))
"""Approach category and the threshold speed in knots below which it ends; E from there on."""
DIRECTIONS: tuple[str, ...] = ("in", "out", "through")
"""Where the station lies: ahead with the target before it, behind, or ahead with the target beyond it."""


def _gradient(value: ArrayLike, low: float = 0.0) -> Floats:
    return within("gradient_ft_nm", value, low, 1500.0, "ft/NM", "is this in ft/min?")


def _alt(name: str, value: ArrayLike) -> Floats:
    return within(name, value, -1500.0, 45000.0, "ft")


def _lose(value: ArrayLike) -> Floats:
    return within("lose_ft", value, 0.0, 45000.0, "ft", "upper altitude less lower altitude")


def _angle(value: ArrayLike) -> Floats:
    return within("angle_deg", value, 0.5, 10.0, "deg", "is this in per cent or ft/NM?")


def _vs(value: ArrayLike) -> Floats:
    return within("vs_fpm", value, 0.0, 4000.0, "fpm", "give the rate of descent without a sign")


@dataclass(frozen=True)
class Leg:
    """One straight piece of a descent, between two places on the track.

    Parameters
    ----------
    from_nm, to_nm : float
        Miles to go at its start and at its end. [NM]
    from_ft, to_ft : float
        Altitudes there. [ft MSL]
    gs_kt : float
        Ground speed on it. [kt]
    """

    from_nm: float
    to_nm: float
    from_ft: float
    to_ft: float
    gs_kt: float

    @property
    def gradient_ft_nm(self) -> float:
        """Feet lost in a mile, 0 where it is level. [ft/NM]"""
        return (self.from_ft - self.to_ft) / (self.from_nm - self.to_nm)

    @property
    def vs_fpm(self) -> float:
        """Rate of descent, without a sign. [fpm]"""
        return self.gradient_ft_nm * self.gs_kt / 60.0

    @property
    def time_s(self) -> float:
        """Time on it. [s]"""
        return (self.from_nm - self.to_nm) / self.gs_kt * 3600.0

    @property
    def level(self) -> bool:
        """Whether no height is lost on it."""
        return self.from_ft == self.to_ft


@fitting
def gradient_ft_nm(*, lose_ft: ArrayLike, dist_nm: ArrayLike) -> Result:
    """Gradient that loses a height over a distance.

    Parameters
    ----------
    lose_ft : float or array_like
        Height to lose. [ft], 0 to 45,000.
    dist_nm : float or array_like
        Distance between the two places, not from the station. [NM], 0.05 to 300.

    Returns
    -------
    float or numpy.ndarray
        Gradient, in the broadcast shape of the inputs. [ft/NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Height over distance; as an angle: :func:`needlework.trade.units.deg_from_ft_nm`. Source: ``P-340``.

    Terms: descent gradient; gradient; feet a mile.

    Examples
    --------
    >>> round(gradient_ft_nm(lose_ft=1200.0, dist_nm=3.8))
    316
    """
    return plain(_lose(lose_ft) / distance("dist_nm", dist_nm, 0.05))


@fitting
def vs_fpm(*, gradient_ft_nm: ArrayLike, gs_kt: ArrayLike) -> Result:
    """Rate of descent that makes a gradient at a ground speed.

    Parameters
    ----------
    gradient_ft_nm : float or array_like
        Gradient. [ft/NM], 0 to 1,500.
    gs_kt : float or array_like
        Ground speed. [kt], 20 to 400.

    Returns
    -------
    float or numpy.ndarray
        Rate of descent, without a sign, in the broadcast shape of the inputs. [fpm]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Gradient times miles a minute. Source: ``definition``. Rule: :func:`vs_rule_fpm`.

    Terms: rate of descent; vertical speed.

    Examples
    --------
    >>> round(vs_fpm(gradient_ft_nm=318.4, gs_kt=90.0))
    478
    """
    return plain(_gradient(gradient_ft_nm) * ground_speed("gs_kt", gs_kt) / 60.0)


@fitting
def gradient_made_ft_nm(*, vs_fpm: ArrayLike, gs_kt: ArrayLike) -> Result:
    """Gradient that a rate of descent makes at a ground speed.

    Parameters
    ----------
    vs_fpm : float or array_like
        Rate of descent, without a sign. [fpm], 0 to 4,000.
    gs_kt : float or array_like
        Ground speed. [kt], 20 to 400.

    Returns
    -------
    float or numpy.ndarray
        Gradient, in the broadcast shape of the inputs. [ft/NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Rate over miles a minute. Source: ``definition``.

    Terms: descent gradient made by a rate.

    Examples
    --------
    >>> gradient_made_ft_nm(vs_fpm=450.0, gs_kt=90.0)
    300.0
    """
    return plain(_vs(vs_fpm) * 60.0 / ground_speed("gs_kt", gs_kt))


def vs_rule_fpm(*, gs_kt: ArrayLike, angle_deg: float = ANGLE_DEG) -> Result:
    """Rate of descent by the five-times-ground-speed rule.

    Parameters
    ----------
    gs_kt : float or array_like
        Ground speed. [kt], 20 to 400.
    angle_deg : {3.0, 2.5}
        For which angle. [deg]

    Returns
    -------
    float or numpy.ndarray
        Rate of descent by the rule, without a sign, in the shape of the speed. [fpm]

    Raises
    ------
    OutOfRange
        If a speed is outside its range, or is nan, or there is no rule for the angle.

    Notes
    -----
    Five times the ground speed for 3 degrees (5.8 % low at any speed), that less 100 for 2.5 degrees
    (17 % low at 75 kt, 6 % at 120). Source: ``AF60``, ``P-804``.

    Terms: rate of descent by rule; five times the ground speed.

    Examples
    --------
    >>> vs_rule_fpm(gs_kt=90.0), vs_rule_fpm(gs_kt=120.0, angle_deg=2.5)
    (450.0, 500.0)
    """
    line_deg = one_among("angle_deg", angle_deg, (3.0, 2.5), "deg has no rule of thumb: expected 3 or 2.5")
    return plain(5.0 * ground_speed("gs_kt", gs_kt) - (100.0 if line_deg == 2.5 else 0.0))


def height_rule_ft(to_go_nm: ArrayLike) -> Result:
    """Height above the end of a 3-degree line by the 300-feet-a-mile rule: the running check.

    Parameters
    ----------
    to_go_nm : float or array_like
        Miles to go. [NM], 0 to 300.

    Returns
    -------
    float or numpy.ndarray
        Height by the rule, in the shape of the input. [ft]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    6 % low: 180 ft in ten miles. Source: ``P-340``.

    Terms: 300 feet a mile; height on a 3-degree line.

    Examples
    --------
    >>> height_rule_ft(5.0)
    1500.0
    """
    return plain(FT_NM_RULE * distance("to_go_nm", to_go_nm))


@fitting
def start_nm(*, lose_ft: ArrayLike, gradient_ft_nm: ArrayLike = OPTIMUM_FT_NM) -> Result:
    """Distance before the target at which a descent must begin.

    Parameters
    ----------
    lose_ft : float or array_like
        Height to lose. [ft], 0 to 45,000.
    gradient_ft_nm : float or array_like, default 318
        Gradient. [ft/NM], 50 to 1,500.

    Returns
    -------
    float or numpy.ndarray
        Miles before the target, in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Height over gradient; as a DME reading: :func:`dme_at_nm`. Rule: 3 NM for each 1,000 ft
    (:func:`start_rule_nm`). Source: ``definition``.

    Terms: top of descent; start of a descent.

    Examples
    --------
    >>> round(start_nm(lose_ft=1200.0), 1)
    3.8
    """
    return plain(_lose(lose_ft) / _gradient(gradient_ft_nm, 50.0))


def start_rule_nm(lose_ft: ArrayLike) -> Result:
    """Distance before the target at which a descent must begin, by three miles a thousand feet.

    Parameters
    ----------
    lose_ft : float or array_like
        Height to lose. [ft], 0 to 45,000.

    Returns
    -------
    float or numpy.ndarray
        Miles before the target by the rule, in the shape of the input. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    4.5 % short of 3 degrees: 3 NM for 3.14. Source: ``common-practice``.

    Terms: top of descent by rule; three miles a thousand feet.

    Examples
    --------
    >>> start_rule_nm(2000.0)
    6.0
    """
    return plain(START_RULE_NM_PER_1000_FT * _lose(lose_ft) / 1000.0)


@fitting
def to_go_nm(*, dme_nm: ArrayLike, target_nm: ArrayLike, direction: str) -> Result:
    """Miles to go to a target on the same line, from the DME.

    Parameters
    ----------
    dme_nm : float or array_like
        DME of the aircraft. [NM], 0 to 300.
    target_nm : float or array_like
        DME of the target. [NM], 0 to 300.
    direction : {"in", "out", "through"}
        Towards the station with the target on this side; away from it; towards it with the target beyond.

    Returns
    -------
    float or numpy.ndarray
        Miles to go, negative once past the target; in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the direction is unknown.

    Notes
    -----
    Difference of the readings in the order in which they come; their sum where the station lies
    between: there the DME falls first and rises after. Source: ``definition``.

    Terms: miles to go.

    Examples
    --------
    >>> to_go_nm(dme_nm=5.0, target_nm=1.0, direction="in")
    4.0
    >>> to_go_nm(dme_nm=3.0, target_nm=5.0, direction="out")
    2.0
    >>> to_go_nm(dme_nm=5.0, target_nm=4.5, direction="through")
    9.5
    """
    here, there = distance("dme_nm", dme_nm), distance("target_nm", target_nm)
    one_of("direction", direction, DIRECTIONS, "a way to fly")
    if direction == "through":
        return plain(here + there)
    return plain(here - there if direction == "in" else there - here)


@fitting
def dme_at_nm(*, to_go_nm: ArrayLike, target_nm: ArrayLike, direction: str) -> Result:
    """DME reading at a number of miles to go: the way back of :func:`to_go_nm`.

    Parameters
    ----------
    to_go_nm : float or array_like
        Miles to go to the target. [NM], 0 to 300.
    target_nm : float or array_like
        DME of the target. [NM], 0 to 300.
    direction : {"in", "out"}
        Whether the *target* is reached flying towards the station or away from it.

    Returns
    -------
    float or numpy.ndarray
        DME there, on the near side of the station if the target is beyond it and further to go than
        its DME; in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the direction is unknown.

    Notes
    -----
    Target plus miles to go inbound; outbound the difference of the two. Source: ``definition``.

    Terms: DME at miles to go.

    Examples
    --------
    >>> dme_at_nm(to_go_nm=4.0, target_nm=1.0, direction="in")
    5.0
    >>> dme_at_nm(to_go_nm=2.0, target_nm=5.0, direction="out")
    3.0
    >>> dme_at_nm(to_go_nm=9.5, target_nm=4.5, direction="out")
    5.0
    """
    to_go, there = distance("to_go_nm", to_go_nm), distance("target_nm", target_nm)
    one_of("direction", direction, ("in", "out"), "a way to reach the target")
    return plain(there + to_go if direction == "in" else np.abs(there - to_go))


@fitting
def line_ft(*, to_go_nm: ArrayLike, end_ft: ArrayLike, gradient_ft_nm: ArrayLike = OPTIMUM_FT_NM) -> Result:
    """Altitude on a straight descent line.

    Parameters
    ----------
    to_go_nm : float or array_like
        Miles to go to the end of the line; negative beyond it. [NM], -300 to 300.
    end_ft : float or array_like
        Altitude at its end. [ft MSL], -1,500 to 45,000.
    gradient_ft_nm : float or array_like, default 318
        Gradient. [ft/NM], 0 to 1,500.

    Returns
    -------
    float or numpy.ndarray
        Altitude, in the broadcast shape of the inputs. [ft MSL]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    End plus miles to go times gradient. Source: ``definition``.

    Terms: altitude on a descent line; crossing altitude; check altitude.

    Examples
    --------
    >>> line_ft(to_go_nm=2.0, end_ft=560.0, gradient_ft_nm=317.0)
    1194.0
    """
    to_go = distance("to_go_nm", to_go_nm, -300.0)
    return plain(_alt("end_ft", end_ft) + to_go * _gradient(gradient_ft_nm))


@fitting
def shortfall_ft(
    *, to_go_nm: ArrayLike, floor_ft: ArrayLike, end_ft: ArrayLike, gradient_ft_nm: ArrayLike = OPTIMUM_FT_NM
) -> Result:
    """How far a descent line lies below the floors at their fixes.

    Parameters
    ----------
    to_go_nm : float or array_like
        Miles to go at each fix. [NM], -300 to 300.
    floor_ft : float or array_like
        Least altitude at each fix. [ft MSL], -1,500 to 45,000.
    end_ft : float or array_like
        Altitude at the end of the line. [ft MSL], -1,500 to 45,000.
    gradient_ft_nm : float or array_like, default 318
        Gradient of the line. [ft/NM], 0 to 1,500.

    Returns
    -------
    float or numpy.ndarray
        Feet below the floor, 0 where it is met; in the broadcast shape of the inputs. [ft]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    The floor less :func:`line_ft`, never less than 0. Source: ``definition``.

    Terms: floor: how far below; step-down altitude: is it kept.

    Examples
    --------
    >>> shortfall_ft(
    ...     to_go_nm=[4.7, 1.7], floor_ft=[1760.0, 1150.0], end_ft=560.0, gradient_ft_nm=300.0
    ... ).round().tolist()
    [0.0, 80.0]
    """
    line = np.asarray(line_ft(to_go_nm=to_go_nm, end_ft=end_ft, gradient_ft_nm=gradient_ft_nm))
    return plain(np.maximum(_alt("floor_ft", floor_ft) - line, 0.0))


@fitting
def shallowest_ft_nm(*, to_go_nm: ArrayLike, floor_ft: ArrayLike, end_ft: float) -> float:
    """Shallowest straight line to an end that clears every floor on the way.

    Parameters
    ----------
    to_go_nm : array_like
        Miles to go at each fix, one dimension. [NM], 0.05 to 300.
    floor_ft : array_like
        Least altitude at each fix, as many. [ft MSL], -1,500 to 45,000.
    end_ft : float
        Altitude at the end of the line. [ft MSL], -1,500 to 45,000.

    Returns
    -------
    float
        Gradient; 0 where every floor is at or below the end. [ft/NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    The greatest of (floor - end) / miles to go. Above :data:`STEEPEST_FT_NM` no single line serves.
    Source: ``definition``.

    Terms: floors: shallowest line over them.

    Examples
    --------
    >>> round(shallowest_ft_nm(to_go_nm=[4.7, 1.7], floor_ft=[1760.0, 800.0], end_ft=560.0))
    255
    """
    to_go, floors = distance("to_go_nm", to_go_nm, 0.05), _alt("floor_ft", floor_ft)
    rise = floors - one("end_ft", _alt("end_ft", end_ft))
    return float(np.max(np.maximum(rise / to_go, 0.0), initial=0.0))


def _fixes(
    to_go_nm: ArrayLike, floor_ft: ArrayLike, start_ft: float, end_ft: float, gs_kt: ArrayLike
) -> tuple[Floats, Floats, Floats]:
    """Check a row of fixes; give places, altitudes that bind there, and the speed from each to the next."""
    places = np.append(np.atleast_1d(distance("to_go_nm", to_go_nm, 0.05)), 0.0)
    floors = np.atleast_1d(_alt("floor_ft", floor_ft))
    if places.ndim != 1 or places.size == 1 or floors.shape != (places.size - 1,):
        raise OutOfRange(
            f"floor_ft has {floors.size} altitudes for {places.size - 1} fixes: expected one for each, in one row"
        )
    if np.any(np.diff(places) >= 0.0):
        raise OutOfRange(
            "to_go_nm does not fall from fix to fix: expected miles to go in the order in which they are flown"
        )
    start, end = one("start_ft", _alt("start_ft", start_ft)), one("end_ft", _alt("end_ft", end_ft))
    if start < floors.max():
        raise NoSolution(
            f"The descent starts at {start:,.0f} ft, below a floor of {floors.max():,.0f} ft: start at or above it"
        )
    if start < end:
        raise NoSolution(f"The descent starts at {start:,.0f} ft, below its end at {end:,.0f} ft: that is a climb")
    floors = np.maximum(floors, end)
    speeds = np.broadcast_to(ground_speed("gs_kt", gs_kt), (places.size - 1,))
    return places, np.concatenate([[start], floors[1:], [end]]), np.asarray(speeds)


@fitting
def continuous(
    *,
    to_go_nm: ArrayLike,
    floor_ft: ArrayLike,
    start_ft: float,
    end_ft: float,
    gs_kt: ArrayLike,
    gradient_ft_nm: float = STEEPEST_FT_NM,
) -> tuple[Leg, ...]:
    """Descent that meets every crossing without levelling, as gently as the floors allow.

    Parameters
    ----------
    to_go_nm : array_like
        Miles to go at each fix in the order flown, the first being the start. [NM], 0.05 to 300.
    floor_ft : array_like
        Least altitude at each fix. [ft MSL], -1,500 to 45,000.
    start_ft : float
        Altitude at the first fix, at or above every floor. [ft MSL], -1,500 to 45,000.
    end_ft : float
        Altitude at the end, 0 miles to go. [ft MSL], -1,500 to 45,000.
    gs_kt : float or array_like
        Ground speed, one or one for each leg. [kt], 20 to 400.
    gradient_ft_nm : float, default 400
        Steepest gradient allowed. [ft/NM], 0 to 1,500.

    Returns
    -------
    tuple of Leg
        One leg from each fix to the next and from the last to the end. A leg on which the floors leave
        nothing to lose is level and says so.

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the fixes are not in order.
    NoSolution
        If a leg would be steeper than allowed (the text says from where), or a floor or the end lies above
        the start.

    Notes
    -----
    A string pulled tight over the floors from start to end (the upper hull): the steepest leg of any
    descent that meets them cannot be shallower than this one's. Source: ``definition``.

    Terms: continuous descent; constant-angle descent.

    Examples
    --------
    >>> legs = continuous(
    ...     to_go_nm=[9.7, 4.7, 1.7], floor_ft=[2400.0, 1760.0, 800.0], start_ft=2400.0, end_ft=560.0, gs_kt=90.0
    ... )
    >>> [(round(leg.to_ft), round(leg.gradient_ft_nm), round(leg.vs_fpm)) for leg in legs]
    [(1760, 128, 192), (994, 255, 383), (560, 255, 383)]
    """
    places, bound, speeds = _fixes(to_go_nm, floor_ft, start_ft, end_ft, gs_kt)
    limit = one("gradient_ft_nm", _gradient(gradient_ft_nm))
    heights = bound.copy()
    corner = 0
    while corner < places.size - 1:
        slopes = (bound[corner] - bound[corner + 1 :]) / (places[corner] - places[corner + 1 :])
        # Of equally gentle ways on, take the furthest: the fixes between lie on it.
        reach = corner + 1 + int(np.flatnonzero(slopes <= slopes.min() + 1e-9)[-1])
        slope = float(slopes[reach - corner - 1])
        if slope > limit + 1e-9:
            raise NoSolution(
                f"From {bound[corner]:,.0f} ft with {places[corner]:.1f} NM to go the descent needs {slope:.0f} "
                f"ft/NM, more than the {limit:.0f} allowed: no continuous descent meets every crossing here"
            )
        between = slice(corner + 1, reach)
        heights[between] = bound[corner] - slope * (places[corner] - places[between])
        corner = reach
    return tuple(
        Leg(*(float(x) for x in (places[i], places[i + 1], heights[i], heights[i + 1], speeds[i])))
        for i in range(places.size - 1)
    )


@fitting
def step_down(
    *,
    to_go_nm: ArrayLike,
    floor_ft: ArrayLike,
    start_ft: float,
    end_ft: float,
    gs_kt: ArrayLike,
    vs_fpm: float,
) -> tuple[Leg, ...]:
    """Descent in steps: cross a fix, go down to the next floor at one rate, level off, wait for the next fix.

    Parameters
    ----------
    to_go_nm : array_like
        Miles to go at each fix in the order flown, the first being the start. [NM], 0.05 to 300.
    floor_ft : array_like
        Least altitude at each fix. [ft MSL], -1,500 to 45,000.
    start_ft : float
        Altitude at the first fix, at or above every floor. [ft MSL], -1,500 to 45,000.
    end_ft : float
        Lowest altitude at the end, for example the MDA. [ft MSL], -1,500 to 45,000.
    gs_kt : float or array_like
        Ground speed, one or one for each leg. [kt], 20 to 400.
    vs_fpm : float
        Rate of descent in the steps, without a sign. [fpm], 50 to 4,000.

    Returns
    -------
    tuple of Leg
        A descending leg and, where the floor is reached early, a level one for each pair of fixes. The last
        altitude is above ``end_ft`` where the rate is too low to get there.

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the fixes are not in order.
    NoSolution
        If a floor or the end lies above the start.

    Notes
    -----
    What is not lost before a fix is lost after it, at the same rate. Source: ``common-practice``.

    Terms: step-down descent; dive and drive.

    Examples
    --------
    >>> legs = step_down(
    ...     to_go_nm=[4.7, 1.7], floor_ft=[1760.0, 800.0], start_ft=1760.0, end_ft=560.0, gs_kt=90.0, vs_fpm=700.0
    ... )
    >>> [(round(leg.to_nm, 2), round(leg.to_ft), leg.level) for leg in legs]
    [(2.64, 800, False), (1.7, 800, True), (1.19, 560, False), (0.0, 560, True)]
    """
    places, bound, speeds = _fixes(to_go_nm, floor_ft, start_ft, end_ft, gs_kt)
    rate = one("vs_fpm", within("vs_fpm", vs_fpm, 50.0, 4000.0, "fpm", "give the rate of descent without a sign"))
    # A floor further on that is higher than this fix's binds from here on.
    holds = np.append(np.maximum.accumulate(bound[::-1])[::-1][1:], bound[-1])
    legs, height = [], float(bound[0])
    for i in range(places.size - 1):
        here, there, speed, floor = float(places[i]), float(places[i + 1]), float(speeds[i]), float(holds[i])
        needed = (height - floor) / (rate * 60.0 / speed)
        level_at = here - needed
        if needed > 0.0:
            reached = max(level_at, there)
            lower = floor if level_at >= there else height - (here - there) * rate * 60.0 / speed
            legs.append(Leg(here, reached, height, lower, speed))
            height = lower
        if level_at > there:
            legs.append(Leg(level_at, there, height, height, speed))
    return tuple(legs)


@fitting
def level_off_ft(*, vs_fpm: ArrayLike, lag_s: ArrayLike = VERTICAL_LAG_S) -> Result:
    """Height before an altitude at which a lagging aircraft must begin to level off.

    Parameters
    ----------
    vs_fpm : float or array_like
        Rate of descent or climb, without a sign. [fpm], 0 to 4,000.
    lag_s : float or array_like, default 3
        Time constant of its change. [s], 0 to 20.

    Returns
    -------
    float or numpy.ndarray
        Lead, in the broadcast shape of the inputs. [ft]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    The rate dies away exponentially; the height lost meanwhile is rate times time constant.
    Source: ``definition``, the lag of the course's aircraft: ``scenario``. Rule: :func:`level_off_rule_ft`.

    Terms: lead for a level-off; level-off.

    Examples
    --------
    >>> level_off_ft(vs_fpm=700.0)
    35.0
    """
    return plain(_vs(vs_fpm) / 60.0 * within("lag_s", lag_s, 0.0, 20.0, "s"))


def level_off_rule_ft(vs_fpm: ArrayLike) -> Result:
    """Height before an altitude at which to begin to level off, by the ten-per-cent rule.

    Parameters
    ----------
    vs_fpm : float or array_like
        Rate of descent or climb, without a sign. [fpm], 0 to 4,000.

    Returns
    -------
    float or numpy.ndarray
        Lead by the rule, in the shape of the input. [ft]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    A tenth of the rate: twice what an aircraft with 3 s lag needs, the rest is for the pilot.
    Source: ``common-practice``.

    Terms: lead for a level-off by rule; ten per cent rule.

    Examples
    --------
    >>> level_off_rule_ft(500.0)
    50.0
    """
    return plain(_vs(vs_fpm) * LEVEL_OFF_PERCENT / 100.0)


@fitting
def vdp_nm(*, hat_ft: ArrayLike, crossing_ft: ArrayLike = CROSSING_FT, angle_deg: ArrayLike = ANGLE_DEG) -> Result:
    """Distance of the visual descent point from the threshold, by geometry.

    Parameters
    ----------
    hat_ft : float or array_like
        Height of the MDA above the *threshold*, not above the sea or the station. [ft], 0 to 5,000.
    crossing_ft : float or array_like, default 50
        Height of the descent line over the threshold. [ft], 0 to 200.
    angle_deg : float or array_like, default 3
        Angle of the line. [deg], 0.5 to 10.

    Returns
    -------
    float or numpy.ndarray
        Distance before the threshold, in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    ``(HAT - crossing height) / tan(angle)``. Not below the MDA before it. Source: ``AIM-5-4-5``;
    ``definition``.

    Terms: VDP; visual descent point.

    Examples
    --------
    >>> round(vdp_nm(hat_ft=600.0), 2)
    1.73
    """
    hat = within("hat_ft", hat_ft, 0.0, 5000.0, "ft", "is this an altitude above the sea?")
    crossing = within("crossing_ft", crossing_ft, 0.0, 200.0, "ft")
    per_mile = NM_FT * np.tan(np.deg2rad(_angle(angle_deg)))
    return plain(np.maximum(hat - crossing, 0.0) / per_mile)


def vdp_rule_nm(hat_ft: ArrayLike) -> Result:
    """Distance of the visual descent point from the threshold, by height over 300.

    Parameters
    ----------
    hat_ft : float or array_like
        Height of the MDA above the threshold. [ft], 0 to 5,000.

    Returns
    -------
    float or numpy.ndarray
        Distance before the threshold by the rule, in the shape of the input. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    0.23 to 0.31 NM too far out for heights of 400 to 800 ft and 50 ft at the threshold.
    Source: ``common-practice``.

    Terms: VDP by rule; height over 300.

    Examples
    --------
    >>> vdp_rule_nm(600.0)
    2.0
    """
    return plain(within("hat_ft", hat_ft, 0.0, 5000.0, "ft", "is this an altitude above the sea?") / FT_NM_RULE)


@fitting
def vdp_before_s(
    *,
    hat_ft: ArrayLike,
    gs_kt: ArrayLike,
    crossing_ft: ArrayLike = CROSSING_FT,
    angle_deg: ArrayLike = ANGLE_DEG,
) -> Result:
    """Seconds from the visual descent point to the threshold.

    Parameters
    ----------
    hat_ft : float or array_like
        Height of the MDA above the threshold. [ft], 0 to 5,000.
    gs_kt : float or array_like
        Ground speed. [kt], 20 to 400.
    crossing_ft : float or array_like, default 50
        Height of the descent line over the threshold. [ft], 0 to 200.
    angle_deg : float or array_like, default 3
        Angle of the line. [deg], 0.5 to 10.

    Returns
    -------
    float or numpy.ndarray
        What to subtract from the time to a missed approach point *at the threshold*, in the broadcast
        shape of the inputs. [s]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    :func:`vdp_nm` at the ground speed. Source: ``definition``. Rule: :func:`vdp_before_rule_s`.

    Terms: VDP by the clock.

    Examples
    --------
    >>> round(vdp_before_s(hat_ft=400.0, gs_kt=90.0))
    44
    """
    return plain(
        np.asarray(vdp_nm(hat_ft=hat_ft, crossing_ft=crossing_ft, angle_deg=angle_deg))
        / ground_speed("gs_kt", gs_kt)
        * 3600.0
    )


def vdp_before_rule_s(hat_ft: ArrayLike) -> Result:
    """Seconds from the visual descent point to the threshold, by a tenth of the height.

    Parameters
    ----------
    hat_ft : float or array_like
        Height of the MDA above the threshold. [ft], 0 to 5,000.

    Returns
    -------
    float or numpy.ndarray
        What to subtract by the rule, in the shape of the input. [s]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    The same as height over 300 at 120 kt; at 90 kt a quarter too few seconds for that. Only for a missed
    approach point at the threshold. Source: ``common-practice``.

    Terms: VDP by the clock and by rule.

    Examples
    --------
    >>> vdp_before_rule_s(350.0)
    35.0
    """
    return plain(within("hat_ft", hat_ft, 0.0, 5000.0, "ft", "is this an altitude above the sea?") / 10.0)


@fitting
def time_s(*, dist_nm: ArrayLike, gs_kt: ArrayLike) -> Result:
    """Time from the final fix to the missed approach point, or between any two places.

    Parameters
    ----------
    dist_nm : float or array_like
        Distance. [NM], 0 to 300.
    gs_kt : float or array_like
        Ground speed, not airspeed. [kt], 20 to 400.

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
    Distance over speed; written as on a plate: :func:`needlework.trade.units.mm_ss`. Source: ``definition``.

    Terms: time to the missed approach point; timing of a final; clock on the final.

    Examples
    --------
    >>> time_s(dist_nm=5.0, gs_kt=90.0)
    200.0
    """
    return plain(distance("dist_nm", dist_nm) / ground_speed("gs_kt", gs_kt) * 3600.0)


@fitting
def changing_time_s(*, dist_nm: ArrayLike, start_gs_kt: ArrayLike, end_gs_kt: ArrayLike) -> Result:
    """Time over a distance on which the ground speed changes evenly with the miles.

    Parameters
    ----------
    dist_nm : float or array_like
        Distance. [NM], 0 to 300.
    start_gs_kt, end_gs_kt : float or array_like
        Ground speed at its start and at its end. [kt], 20 to 400.

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
    As on a straight descent through a wind that changes evenly with height: distance times
    ln(v2 / v1) / (v2 - v1). The plain mean of the speeds is short: by 0.7 % where the speed rises by a third
    or falls by a quarter, by 1.4 % where it falls by a third, by 4 % where it falls to half. Source:
    ``definition``.

    Terms: time with a changing ground speed.

    Examples
    --------
    >>> round(changing_time_s(dist_nm=5.0, start_gs_kt=70.0, end_gs_kt=90.0), 1), time_s(dist_nm=5.0, gs_kt=80.0)
    (226.2, 225.0)
    """
    first, last = ground_speed("start_gs_kt", start_gs_kt), ground_speed("end_gs_kt", end_gs_kt)
    mean = (first + last) / 2.0
    # Half the change over the mean; atanh(x) / x is ln(v2 / v1) / (v2 - v1) times the mean, smooth at 0.
    x = (last - first) / (first + last)
    ratio = np.divide(np.arctanh(x), x, out=np.ones(np.shape(x)), where=np.abs(x) > 1e-8)
    return plain(distance("dist_nm", dist_nm) / mean * ratio * 3600.0)


@fitting
def headwind_at_kt(
    *, alt_ft: ArrayLike, low_ft: ArrayLike, low_kt: ArrayLike, high_ft: ArrayLike, high_kt: ArrayLike
) -> Result:
    """Headwind at an altitude from the headwinds at two.

    Parameters
    ----------
    alt_ft : float or array_like
        Where it is wanted. [ft MSL], -1,500 to 45,000.
    low_ft, high_ft : float or array_like
        The two altitudes, the lower one first. [ft MSL], -1,500 to 45,000.
    low_kt, high_kt : float or array_like
        Headwind there, negative for a tailwind. [kt], -200 to 200.

    Returns
    -------
    float or numpy.ndarray
        Headwind: between the two in proportion, outside them the nearer one; in the broadcast shape. [kt]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the altitudes are not in order.

    Notes
    -----
    Straight line between the two heights. Source: ``common-practice``.

    Terms: headwind at an altitude; wind shear.

    Examples
    --------
    >>> headwind_at_kt(alt_ft=2000.0, low_ft=0.0, low_kt=6.0, high_ft=3000.0, high_kt=24.0)
    18.0
    """
    low, high = _alt("low_ft", low_ft), _alt("high_ft", high_ft)
    if np.any(high - low < 1.0):
        raise OutOfRange("low_ft is not below high_ft by a foot: expected the lower of the two altitudes first")
    slow = within("low_kt", low_kt, -200.0, 200.0, "kt")
    fast = within("high_kt", high_kt, -200.0, 200.0, "kt")
    part = np.clip((_alt("alt_ft", alt_ft) - low) / (high - low), 0.0, 1.0)
    return plain(slow + part * (fast - slow))


@fitting
def off_line_ft(
    *,
    planned_gs_kt: ArrayLike,
    vs_fpm: ArrayLike,
    dist_nm: ArrayLike,
    start_gs_kt: ArrayLike,
    end_gs_kt: ArrayLike | None = None,
) -> Result:
    """Height above the planned line after flying one rate at another ground speed than planned.

    Parameters
    ----------
    planned_gs_kt : float or array_like
        Ground speed for which the rate was worked out. [kt], 20 to 400.
    vs_fpm : float or array_like
        Rate of descent held, without a sign. [fpm], 0 to 4,000.
    dist_nm : float or array_like
        Distance flown. [NM], 0 to 300.
    start_gs_kt, end_gs_kt : float or array_like
        Ground speed flown at its start and its end; the same if the end is left out. [kt], 20 to 400.

    Returns
    -------
    float or numpy.ndarray
        Feet above the line, negative below it; in the broadcast shape of the inputs. [ft]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Rate times the time that was gained or lost. A tailwind makes you high. Source: ``definition``.

    Terms: high on the line; tailwind on a descent.

    Examples
    --------
    >>> round(off_line_ft(planned_gs_kt=90.0, vs_fpm=450.0, dist_nm=4.7, start_gs_kt=110.0))
    256
    """
    planned_s = np.asarray(time_s(dist_nm=dist_nm, gs_kt=ground_speed("planned_gs_kt", planned_gs_kt)))
    flown_s = np.asarray(
        changing_time_s(
            dist_nm=dist_nm, start_gs_kt=start_gs_kt, end_gs_kt=start_gs_kt if end_gs_kt is None else end_gs_kt
        )
    )
    return plain(_vs(vs_fpm) / 60.0 * (planned_s - flown_s))


@fitting
def late_gradient_ft_nm(*, lose_ft: ArrayLike, dist_nm: ArrayLike, late_nm: ArrayLike) -> Result:
    """Gradient that is needed when the descent begins late.

    Parameters
    ----------
    lose_ft : float or array_like
        Height to lose. [ft], 0 to 45,000.
    dist_nm : float or array_like
        Distance in which it was to be lost. [NM], 0.05 to 300.
    late_nm : float or array_like
        How many of those miles were flown level. [NM], 0 to 300.

    Returns
    -------
    float or numpy.ndarray
        Gradient for what is left, in the broadcast shape of the inputs. [ft/NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.
    NoSolution
        If no distance is left.

    Notes
    -----
    Height over the remaining distance. Source: ``definition``. When to give it up: :func:`latest_start_nm`.

    Terms: late descent.

    Examples
    --------
    >>> round(late_gradient_ft_nm(lose_ft=1200.0, dist_nm=3.8, late_nm=0.8))
    400
    """
    left = np.asarray(distance("dist_nm", dist_nm, 0.05) - distance("late_nm", late_nm))
    if np.any(left <= 0.0):
        raise NoSolution("late_nm uses up the whole distance: no descent is left to plan, go around or hold altitude")
    return plain(_lose(lose_ft) / left)


@fitting
def latest_start_nm(*, lose_ft: ArrayLike, gs_kt: ArrayLike, limit_fpm: ArrayLike = LOW_LIMIT_FPM) -> Result:
    """Least distance in which a height can be lost without exceeding a rate of descent.

    Parameters
    ----------
    lose_ft : float or array_like
        Height to lose. [ft], 0 to 45,000.
    gs_kt : float or array_like
        Ground speed. [kt], 20 to 400.
    limit_fpm : float or array_like, default 1,000
        Rate not to be exceeded. [fpm], 100 to 4,000.

    Returns
    -------
    float or numpy.ndarray
        Distance before the target: closer in it is a go-around; in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    ``height * ground_speed / (60 * limit)``; 1,000 fpm is the limit below 1,000 ft above ground. Source: ``IPH4``.

    Terms: late descent: when to give it up; 1,000 feet a minute.

    Examples
    --------
    >>> round(latest_start_nm(lose_ft=1200.0, gs_kt=100.0), 1)
    2.0
    """
    limit = within("limit_fpm", limit_fpm, 100.0, 4000.0, "fpm", "give the rate of descent without a sign")
    return plain(_lose(lose_ft) * ground_speed("gs_kt", gs_kt) / (60.0 * limit))


@fitting
def go_around_loss_ft(
    *, vs_fpm: ArrayLike, climb_fpm: ArrayLike, delay_s: ArrayLike = 1.0, lag_s: ArrayLike = VERTICAL_LAG_S
) -> Result:
    """Height lost between the decision to go around and the lowest point.

    Parameters
    ----------
    vs_fpm : float or array_like
        Rate of descent at the decision, without a sign. [fpm], 0 to 4,000.
    climb_fpm : float or array_like
        Rate of climb it turns into. [fpm], 50 to 4,000.
    delay_s : float or array_like, default 1
        Time until power and pitch come. [s], 0 to 10.
    lag_s : float or array_like, default 3
        Time constant of the change. [s], 0 to 20.

    Returns
    -------
    float or numpy.ndarray
        Height lost, in the broadcast shape of the inputs. [ft]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    With rate of descent v, climb c and time constant T: v delay + v T - c T ln(1 + v / c). This is what the
    allowance of a derived decision altitude pays for. Source: ``definition``; the lag ``scenario``.

    Terms: height lost in a go-around.

    Examples
    --------
    >>> round(go_around_loss_ft(vs_fpm=450.0, climb_fpm=650.0))
    13
    """
    sink = _vs(vs_fpm) / 60.0
    climb = within("climb_fpm", climb_fpm, 50.0, 4000.0, "fpm") / 60.0
    delay = within("delay_s", delay_s, 0.0, 10.0, "s")
    lag = within("lag_s", lag_s, 0.0, 20.0, "s")
    return plain(sink * delay + lag * (sink - climb * np.log1p(sink / climb)))


@fitting
def derived_da_ft(*, mda_ft: ArrayLike, allowance_ft: ArrayLike = ALLOWANCE_FT) -> Result:
    """Decision altitude for a constant-angle descent to a minimum that must not be broken.

    Parameters
    ----------
    mda_ft : float or array_like
        Minimum descent altitude of the day. [ft MSL], -1,500 to 45,000.
    allowance_ft : float or array_like, default 50
        What the go-around may sink. [ft], 0 to 300.

    Returns
    -------
    float or numpy.ndarray
        Altitude at which to land or go around, in the broadcast shape of the inputs. [ft MSL]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    MDA plus allowance; 50 ft is common, :func:`go_around_loss_ft` shows why it is enough for a light
    aircraft. Source: ``AC108`` for the principle, the figure ``common-practice``.

    Terms: derived decision altitude; DDA.

    Examples
    --------
    >>> derived_da_ft(mda_ft=560.0)
    610.0
    """
    return plain(_alt("mda_ft", mda_ft) + within("allowance_ft", allowance_ft, 0.0, 300.0, "ft"))


@fitting
def cold_altitude_ft(
    *, alt_ft: ArrayLike, temperature_c: ArrayLike, elevation_ft: ArrayLike, reference_ft: ArrayLike | None = None
) -> Result:
    """Published altitude with its cold-temperature correction.

    Parameters
    ----------
    alt_ft : float or array_like
        Published altitude. [ft MSL], -1,500 to 45,000.
    temperature_c : float or array_like
        Temperature reported at the field. [deg C], -60 to 55.
    elevation_ft : float or array_like
        Elevation of the field that gives the setting. [ft MSL], -1,500 to 15,000.
    reference_ft : float or array_like, optional
        Altitude whose height sets the correction, if it is another: the final fix for the altitudes before
        it, the MDA for those after it. [ft MSL], -1,500 to 45,000.

    Returns
    -------
    float or numpy.ndarray
        Altitude to fly, in the broadcast shape of the inputs. [ft MSL]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Every published minimum altitude is corrected: those before the final fix by the final fix's own
    correction, those of the final by the MDA's, the missed approach altitude by its own. The field
    elevation enters the height only, as in the printed table; that table stops at 5,000 ft, where its
    formula goes on. The controller is told of a correction before the final fix and in the missed approach,
    not of one in the final. Source: ``AIM-7-3``, ``AIM-5-5-5`` a 5.

    Terms: cold correction of an altitude; missed approach altitude in cold air.

    Examples
    --------
    >>> cold_altitude_ft(alt_ft=1500.0, temperature_c=-18.0, elevation_ft=912.0)
    1580.0
    >>> cold_altitude_ft(alt_ft=1660.0, temperature_c=-18.0, elevation_ft=912.0, reference_ft=1500.0)
    1740.0
    """
    alt = _alt("alt_ft", alt_ft)
    reference = alt if reference_ft is None else _alt("reference_ft", reference_ft)
    field = within("elevation_ft", elevation_ft, -1500.0, 15000.0, "ft")
    return plain(alt + np.asarray(cold_correction_ft(height_ft=reference - field, temperature_c=temperature_c)))


@fitting
def mda_today_ft(
    *,
    mda_ft: ArrayLike,
    elevation_ft: ArrayLike,
    temperature_c: ArrayLike | None = None,
    remote_ft: ArrayLike = 0.0,
) -> Result:
    """Minimum descent altitude of the day: published, remote setting, cold air, in that order.

    Parameters
    ----------
    mda_ft : float or array_like
        Published minimum. [ft MSL], -1,500 to 45,000.
    elevation_ft : float or array_like
        Elevation of the field whose temperature is given. [ft MSL], -1,500 to 15,000.
    temperature_c : float or array_like, optional
        Temperature there; left out: no correction. [deg C], -60 to 55.
    remote_ft : float or array_like, default 0
        What the procedure's note adds for a setting from another field. [ft], 0 to 1,000.

    Returns
    -------
    float or numpy.ndarray
        Minimum to use, in the broadcast shape of the inputs. [ft MSL]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Both add; neither is ever subtracted. The cold correction is for the height of the minimum with the
    note already in it. Source: ``AIM-7-3``; the order ``common-practice``.

    Terms: MDA of the day; minimum descent altitude; remote altimeter setting; cold correction of the MDA.

    Examples
    --------
    >>> mda_today_ft(mda_ft=560.0, elevation_ft=66.0, remote_ft=70.0)
    630.0
    >>> mda_today_ft(mda_ft=560.0, elevation_ft=66.0, temperature_c=-18.0, remote_ft=70.0)
    710.0
    """
    with_note = _alt("mda_ft", mda_ft) + within("remote_ft", remote_ft, 0.0, 1000.0, "ft", "the note only ever adds")
    if temperature_c is None:
        within("elevation_ft", elevation_ft, -1500.0, 15000.0, "ft")
        return plain(with_note)
    return cold_altitude_ft(alt_ft=with_note, temperature_c=temperature_c, elevation_ft=elevation_ft)


def category(speed_kt: ArrayLike) -> str | NDArray[np.str_]:
    """Approach category for a speed over the threshold.

    Parameters
    ----------
    speed_kt : float or array_like
        Reference landing speed, or the higher speed actually flown. [kt], 30 to 300.

    Returns
    -------
    str or numpy.ndarray of str
        ``"A"`` to ``"E"``, in the shape of the input.

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    A below 91, B below 121, C below 141, D below 166, E above. Source: ``AIM-5-4-7``.

    Terms: approach category.

    Examples
    --------
    >>> category(68.0), category(121.0)
    ('A', 'C')
    """
    speed = within("speed_kt", speed_kt, 30.0, 300.0, "kt", "is this in m/s or km/h?")
    letters = np.array([letter for letter, _ in CATEGORIES] + ["E"])
    found = letters[np.searchsorted([limit for _, limit in CATEGORIES], speed, side="right")]
    return str(found) if np.ndim(found) == 0 else np.asarray(found)
