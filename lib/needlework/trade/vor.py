"""The VOR as the pilot meets it: needle, dots, flag, the cone overhead, receiver checks, the band."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from needlework.basis.quantity import (
    Constant,
    Floats,
    Result,
    Truth,
    angle,
    distance,
    fitting,
    ground_speed,
    one_of,
    plain,
    truth,
    whole,
    within,
)
from needlework.trade import angles
from needlework.trade.units import NM_FT

FULL_SCALE_DEG = Constant(10.0, "deg", "common-practice", "IFH9 p. 9-16 accepts 10 to 12 in a sensitivity check")
FULL_SCALE_DOTS = Constant(5.0, "dots", "common-practice", "2 degrees a dot at 10 degrees full scale")
DOT_RULE_FT_NM = Constant(200.0, "ft/NM", "common-practice", "5.7 % low: the exact figure is 212.2")
CONE_HALF_ANGLE_DEG = Constant(45.0, "deg", "common-practice", "makes the sum easy; DOC8168-1-CONE protects for 50")
NEAR_STATION_NM = Constant(1.0, "NM", "common-practice", "inside this the needle is not followed")
NEAR_STATION_HEADING_DEG = Constant(10.0, "deg", "P-340", "largest heading change near the station, 6-21")
NEEDLE_LAG_S = Constant(1.0, "s", "common-practice", "time constant of a damped needle; sets differ")
SCALLOPING_DEG = Constant(
    1.0, "deg", "common-practice", "AIM-1-1-3 gives 1 degree for alignment, 6 for propeller beat"
)
TEST_SIGNAL_RADIAL_DEG = Constant(
    0.0, "deg", "IFH9", "a test signal shows 0 FROM or 180 TO wherever you are, p. 9-16"
)
TEST_SIGNAL_MHZ = Constant(108.0, "MHz", "IFH9", "typical, p. 9-16")
CHECK_DAYS = Constant(30.0, "days", "CFR171", "a check counts for the 30 days after it")
CHECKPOINT_NM = Constant(20.0, "NM", "CFR171", "an airway point is preferably MORE than this from the station")

CHECK_LIMITS_DEG: dict[str, Constant] = {
    "test signal": Constant(4.0, "deg", "CFR171"),
    "surface checkpoint": Constant(4.0, "deg", "CFR171"),
    "airborne checkpoint": Constant(6.0, "deg", "CFR171"),
    "airway": Constant(6.0, "deg", "CFR171"),
    "two receivers": Constant(4.0, "deg", "CFR171", "between the two, same station"),
}
"""Largest bearing error by kind of receiver check."""

_KNOWN_BANDS: dict[str, tuple[tuple[float, float, bool, float], ...]] = {
    # from height, to height (above the transmitter, ft), upper limit included?, radius NM
    "T": ((1000, 12000, True, 25),),
    "L": ((1000, 18000, True, 40),),
    "H": ((1000, 14500, True, 40), (14500, 60000, True, 100), (18000, 45000, True, 130)),
    "VL": ((1000, 5000, False, 40), (5000, 18000, False, 70)),
    "VH": (
        (1000, 5000, False, 40),
        (5000, 14500, False, 70),
        (14500, 60000, True, 100),
        (18000, 45000, True, 130),
    ),
}
SERVICE_CLASSES: tuple[str, ...] = tuple(_KNOWN_BANDS)
"""Classes of VOR with a service volume of their own."""

_ABEAM_TOLERANCE_DEG = Constant(1e-9, "deg", "definition", "a sum of floats that should be 90 may miss it by this")


def _full_scale(full_scale_deg: ArrayLike) -> Floats:
    return within("full_scale_deg", full_scale_deg, 10.0, 12.0, "deg", "full scale is 10 to 12 degrees")


def _half_angle(half_angle_deg: ArrayLike) -> Floats:
    return within("half_angle_deg", half_angle_deg, 30.0, 50.0, "deg", "is this the full angle of the cone?")


def _height(height_ft: ArrayLike) -> Floats:
    return within("height_ft", height_ft, 0.0, 60000.0, "ft", "this is the height above the station, not below it")


def course_from(radial_deg: ArrayLike) -> Result:
    """Course that leads straight out along a radial: the radial itself.

    Parameters
    ----------
    radial_deg : float or array_like
        Radial of the station. [deg magnetic, by the station's alignment], -3600 to 3600.

    Returns
    -------
    float or numpy.ndarray
        Course in [0, 360), in the shape of the input. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Radials run outwards. Source: ``definition``.

    Terms: course outbound on a radial; radial and course.

    Examples
    --------
    >>> course_from(130.0)
    130.0
    """
    return angles.wrap360(angle("radial_deg", radial_deg))


def course_to(radial_deg: ArrayLike) -> Result:
    """Course that leads straight in along a radial: the radial's other end.

    Parameters
    ----------
    radial_deg : float or array_like
        Radial of the station. [deg magnetic, by the station's alignment], -3600 to 3600.

    Returns
    -------
    float or numpy.ndarray
        Course in [0, 360), in the shape of the input. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Radial plus 180. Source: ``IFH9`` p. 9-14: on R-205 the course to the station is 025.

    Terms: course inbound on a radial; radial and course; reciprocal of a radial.

    Examples
    --------
    >>> course_to(205.0)
    25.0
    """
    return angles.reciprocal(angle("radial_deg", radial_deg))


@fitting
def offset_deg(*, radial_deg: ArrayLike, selected_course_deg: ArrayLike) -> Result:
    """Angle the needle would show if it had no stops, right positive.

    Parameters
    ----------
    radial_deg : float or array_like
        Radial the aircraft is on. [deg magnetic], -3600 to 3600.
    selected_course_deg : float or array_like
        Course set with the selector. [deg magnetic], -3600 to 3600.

    Returns
    -------
    float or numpy.ndarray
        Angle at the station between the aircraft and the selected line, -90 to 90; positive: the
        line is to the right of an aircraft that faces the selected course. In the broadcast
        shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    With e = radial - course: FROM side (abs(e) < 90) -e; TO side e - 180 on the circle; both give
    the same at 90. The heading does not enter. Source: ``definition``, ``IFH9`` p. 9-11.

    Terms: degrees off course; needle without stops.

    Examples
    --------
    >>> offset_deg(radial_deg=4.0, selected_course_deg=360.0)
    -4.0
    >>> offset_deg(radial_deg=160.0, selected_course_deg=25.0)
    -45.0
    """
    off = np.asarray(
        angles.difference_deg(
            from_deg=angle("selected_course_deg", selected_course_deg),
            to_deg=angle("radial_deg", radial_deg),
        )
    )
    to_side = np.asarray(angles.wrap180(off - 180.0))
    shown = np.where(np.abs(off) <= 90.0, -off, to_side)
    return plain(shown + 0.0)  # no minus zero


@fitting
def needle_deg(
    *, radial_deg: ArrayLike, selected_course_deg: ArrayLike, full_scale_deg: ArrayLike = FULL_SCALE_DEG
) -> Result:
    """Deflection of the needle, held by its stops at full scale, right positive.

    Parameters
    ----------
    radial_deg : float or array_like
        Radial the aircraft is on. [deg magnetic], -3600 to 3600.
    selected_course_deg : float or array_like
        Course set with the selector. [deg magnetic], -3600 to 3600.
    full_scale_deg : float or array_like, default 10
        Angle off course at which the needle reaches its stop. [deg], 10 to 12.

    Returns
    -------
    float or numpy.ndarray
        Deflection, -full scale to full scale; positive: needle right, the selected line is to
        the right. In the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    :func:`offset_deg`, clamped. Source: ``IFH9`` p. 9-16 (10 or 12 degrees); the 10 degrees are
    ``common-practice``.

    Terms: needle; course deviation; full scale; abeam the station: the needle.

    Examples
    --------
    >>> needle_deg(radial_deg=350.0, selected_course_deg=360.0)
    10.0
    >>> needle_deg(radial_deg=160.0, selected_course_deg=25.0)
    -10.0
    """
    full = _full_scale(full_scale_deg)
    return plain(
        np.clip(np.asarray(offset_deg(radial_deg=radial_deg, selected_course_deg=selected_course_deg)), -full, full)
    )


@fitting
def dots(
    *, radial_deg: ArrayLike, selected_course_deg: ArrayLike, full_scale_deg: ArrayLike = FULL_SCALE_DEG
) -> Result:
    """Deflection of the needle in dots, right positive, five dots to full scale.

    Parameters
    ----------
    radial_deg : float or array_like
        Radial the aircraft is on. [deg magnetic], -3600 to 3600.
    selected_course_deg : float or array_like
        Course set with the selector. [deg magnetic], -3600 to 3600.
    full_scale_deg : float or array_like, default 10
        Angle off course at which the needle reaches its stop. [deg], 10 to 12.

    Returns
    -------
    float or numpy.ndarray
        Deflection, -5 to 5, in the broadcast shape of the inputs. [dots]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Five times needle over full scale; the edge of the centre circle counts as the first dot.
    Source: ``common-practice``.

    Terms: dots.

    Examples
    --------
    >>> dots(radial_deg=4.0, selected_course_deg=360.0)
    -2.0
    """
    full = _full_scale(full_scale_deg)
    needle = np.asarray(
        needle_deg(radial_deg=radial_deg, selected_course_deg=selected_course_deg, full_scale_deg=full_scale_deg)
    )
    return plain(FULL_SCALE_DOTS * needle / full)


@fitting
def flag(
    *,
    radial_deg: ArrayLike,
    selected_course_deg: ArrayLike,
    dist_nm: ArrayLike | None = None,
    height_ft: ArrayLike = 0.0,
    half_angle_deg: ArrayLike = CONE_HALF_ANGLE_DEG,
) -> str | NDArray[np.str_]:
    """Say whether the flag shows TO, FROM or nothing usable.

    Parameters
    ----------
    radial_deg : float or array_like
        Radial the aircraft is on. [deg magnetic], -3600 to 3600.
    selected_course_deg : float or array_like
        Course set with the selector. [deg magnetic], -3600 to 3600.
    dist_nm : float or array_like, optional
        Ground distance from the station; leave it out where the cone does not matter. [NM], 0 to 300.
    height_ft : float or array_like, default 0
        Height above the station. [ft], 0 to 60,000.
    half_angle_deg : float or array_like, default 45
        Half angle of the cone of confusion. [deg], 30 to 50.

    Returns
    -------
    str or numpy.ndarray of str
        ``"TO"``, ``"FROM"`` or ``"NONE"``, in the broadcast shape of the inputs.

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    TO where flying the selected course would bring the station nearer, that is where radial and
    course are more than 90 degrees apart; NONE at 90 degrees exactly and inside the cone. The
    heading does not enter. Source: ``IFH9`` p. 9-11.

    Terms: TO and FROM; flag; abeam the station: the flag.

    Examples
    --------
    >>> flag(radial_deg=205.0, selected_course_deg=25.0)
    'TO'
    >>> flag(radial_deg=10.0, selected_course_deg=360.0)
    'FROM'
    >>> flag(radial_deg=90.0, selected_course_deg=360.0)
    'NONE'
    >>> flag(radial_deg=205.0, selected_course_deg=25.0, dist_nm=0.3, height_ft=3000.0)
    'NONE'
    """
    off = np.abs(
        np.asarray(
            angles.difference_deg(
                from_deg=angle("selected_course_deg", selected_course_deg),
                to_deg=angle("radial_deg", radial_deg),
            )
        )
    )
    lost = np.abs(off - 90.0) <= _ABEAM_TOLERANCE_DEG
    if dist_nm is not None:
        lost = lost | np.asarray(in_cone(dist_nm=dist_nm, height_ft=height_ft, half_angle_deg=half_angle_deg))
    shown = np.where(lost, "NONE", np.where(off > 90.0, "TO", "FROM"))
    return str(shown) if shown.ndim == 0 else shown


@fitting
def reverse_sensing(*, course_flown_deg: ArrayLike, selected_course_deg: ArrayLike) -> Truth:
    """Say whether the needle reads backwards for the course being flown.

    Parameters
    ----------
    course_flown_deg : float or array_like
        Course the pilot means to fly. [deg magnetic], -3600 to 3600.
    selected_course_deg : float or array_like
        Course set with the selector. [deg magnetic], -3600 to 3600.

    Returns
    -------
    bool or numpy.ndarray of bool
        True where the two are more than 90 degrees apart, in the broadcast shape of the inputs.

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    The needle answers for a pilot who faces the selected course; with its reciprocal set he must
    turn away from the needle. Source: ``IFH9`` p. 9-14.

    Terms: reverse sensing.

    Examples
    --------
    >>> reverse_sensing(course_flown_deg=310.0, selected_course_deg=130.0)
    True
    """
    apart = angles.difference_deg(
        from_deg=angle("course_flown_deg", course_flown_deg),
        to_deg=angle("selected_course_deg", selected_course_deg),
    )
    return truth(np.abs(np.asarray(apart)) > 90.0)


@fitting
def cone_radius_nm(*, height_ft: ArrayLike, half_angle_deg: ArrayLike = CONE_HALF_ANGLE_DEG) -> Result:
    """Radius of the cone of confusion at a height.

    Parameters
    ----------
    height_ft : float or array_like
        Height above the station. [ft], 0 to 60,000.
    half_angle_deg : float or array_like, default 45
        Half angle of the cone, from the vertical. [deg], 30 to 50.

    Returns
    -------
    float or numpy.ndarray
        Radius over the ground, in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Height times the tangent of the half angle. Procedures are protected for 50 degrees from the vertical, or
    less where flight tests say so (``DOC8168-1-CONE``): a fifth wider than with 45, which makes the sum easy, the
    radius being the height. Source: ``definition``.

    Terms: cone of confusion; radius of the cone.

    Examples
    --------
    >>> round(cone_radius_nm(height_ft=3000.0), 2), round(cone_radius_nm(height_ft=6000.0, half_angle_deg=50.0), 2)
    (0.49, 1.18)
    """
    return plain(_height(height_ft) * np.tan(np.deg2rad(_half_angle(half_angle_deg))) / NM_FT)


@fitting
def in_cone(*, dist_nm: ArrayLike, height_ft: ArrayLike, half_angle_deg: ArrayLike = CONE_HALF_ANGLE_DEG) -> Truth:
    """Say whether the aircraft is inside the cone of confusion.

    Parameters
    ----------
    dist_nm : float or array_like
        Ground distance from the station. [NM], 0 to 300.
    height_ft : float or array_like
        Height above the station. [ft], 0 to 60,000.
    half_angle_deg : float or array_like, default 45
        Half angle of the cone, from the vertical. [deg], 30 to 50.

    Returns
    -------
    bool or numpy.ndarray of bool
        True inside; the surface itself is outside. In the broadcast shape of the inputs.

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Distance less than :func:`cone_radius_nm`. Source: ``definition``.

    Terms: cone of confusion.

    Examples
    --------
    >>> in_cone(dist_nm=0.3, height_ft=3000.0)
    True
    """
    return truth(
        distance("dist_nm", dist_nm) < np.asarray(cone_radius_nm(height_ft=height_ft, half_angle_deg=half_angle_deg))
    )


@fitting
def cone_s(
    *,
    height_ft: ArrayLike,
    gs_kt: ArrayLike,
    offset_nm: ArrayLike = 0.0,
    half_angle_deg: ArrayLike = CONE_HALF_ANGLE_DEG,
) -> Result:
    """Seconds the needle is useless when a station is crossed or passed close by.

    Parameters
    ----------
    height_ft : float or array_like
        Height above the station. [ft], 0 to 60,000.
    gs_kt : float or array_like
        Ground speed. [kt], 20 to 400.
    offset_nm : float or array_like, default 0
        Distance from the station at the closest point of a straight track, either side. [NM], -300 to 300.
    half_angle_deg : float or array_like, default 45
        Half angle of the cone, from the vertical. [deg], 30 to 50.

    Returns
    -------
    float or numpy.ndarray
        Time inside the cone, 0 where the track misses it; in the broadcast shape of the inputs. [s]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Chord of the circle of radius h tan(a), at the ground speed. Source: ``definition``.

    Terms: cone of confusion: time in it; station passage: how long the needle is useless.

    Examples
    --------
    >>> round(cone_s(height_ft=2280.0, gs_kt=90.0))
    30
    """
    gs = ground_speed("gs_kt", gs_kt)
    radius = np.asarray(cone_radius_nm(height_ft=height_ft, half_angle_deg=half_angle_deg))
    offset = distance("offset_nm", offset_nm, -300.0)
    half_chord = np.sqrt(np.maximum(radius**2 - offset**2, 0.0))
    return plain(2.0 * half_chord / gs * 3600.0)


@fitting
def needle_rate_deg_s(*, cross_kt: ArrayLike, dist_nm: ArrayLike) -> Result:
    """Speed of the needle for a speed across the radial.

    Parameters
    ----------
    cross_kt : float or array_like
        Ground speed at right angles to the radial. [kt], -400 to 400.
    dist_nm : float or array_like
        Ground distance from the station. [NM], 0.01 to 300.

    Returns
    -------
    float or numpy.ndarray
        Change of radial, sign as given, in the broadcast shape of the inputs. [deg/s]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    57.3 times sideways speed over distance: the same sideways speed moves the needle ten times as
    fast at a tenth of the distance. Source: ``definition``.

    Terms: speed of the needle.

    Examples
    --------
    >>> round(needle_rate_deg_s(cross_kt=10.0, dist_nm=10.0), 4)
    0.0159
    >>> round(needle_rate_deg_s(cross_kt=10.0, dist_nm=0.5), 2)
    0.32
    """
    cross = within("cross_kt", cross_kt, -400.0, 400.0, "kt")
    return plain(np.rad2deg(cross / distance("dist_nm", dist_nm, 0.01)) / 3600.0)


@fitting
def lagged_deg(
    *, shown_deg: ArrayLike, wanted_deg: ArrayLike, dt_s: ArrayLike, lag_s: ArrayLike = NEEDLE_LAG_S
) -> Result:
    """Where a damped needle stands a moment later: it closes in on its wanted place, never past it.

    Parameters
    ----------
    shown_deg : float or array_like
        Where the needle stands now. [deg], -180 to 180.
    wanted_deg : float or array_like
        Where the signal wants it during the step. [deg], -180 to 180.
    dt_s : float or array_like
        Length of the step. [s], 0 to 3,600.
    lag_s : float or array_like, default 1
        Time constant. [s], 0.01 to 10.

    Returns
    -------
    float or numpy.ndarray
        Where it stands after the step, in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    First-order lag, exact for a steady signal: what is left of the gap is exp(-dt/lag). Two
    half steps equal one whole step. Source: ``definition``.

    Terms: lag of the needle.

    Examples
    --------
    >>> round(lagged_deg(shown_deg=0.0, wanted_deg=10.0, dt_s=1.0), 2)
    6.32
    """
    shown = within("shown_deg", shown_deg, -180.0, 180.0, "deg")
    wanted = within("wanted_deg", wanted_deg, -180.0, 180.0, "deg")
    dt = within("dt_s", dt_s, 0.0, 3600.0, "s", "a step back in time?")
    left = np.exp(-dt / within("lag_s", lag_s, 0.01, 10.0, "s"))
    return plain(wanted + (shown - wanted) * left)


@fitting
def scalloping_deg(*, time_s: ArrayLike, seed: int, amplitude_deg: ArrayLike = SCALLOPING_DEG) -> Result:
    """Slow waves of the needle from an uneven signal: the same seed always gives the same waves.

    Parameters
    ----------
    time_s : float or array_like
        Moment. [s], 0 to 100,000.
    seed : int
        Which waves; 0 or more.
    amplitude_deg : float or array_like, default 1
        Largest deviation. [deg], 0 to 6.

    Returns
    -------
    float or numpy.ndarray
        Deviation to add to the needle, in the broadcast shape of time and amplitude. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Four sine waves with periods of 5 to 20 s and phases drawn from the seed, scaled so that they
    never exceed the amplitude together; smooth in time, so any step gives the same picture.
    Source: ``common-practice``; ``AIM-1-1-3`` allows up to 6 degrees of propeller beat.

    Terms: scalloping.

    Examples
    --------
    >>> bool(abs(scalloping_deg(time_s=12.0, seed=7)) <= 1.0)
    True
    >>> scalloping_deg(time_s=12.0, seed=7) == scalloping_deg(time_s=12.0, seed=7)
    True
    """
    time = within("time_s", time_s, 0.0, 1e5, "s")
    amplitude = within("amplitude_deg", amplitude_deg, 0.0, 6.0, "deg")
    rng = np.random.default_rng(whole("seed", seed, 0, 2**53))
    periods_s = rng.uniform(5.0, 20.0, 4)
    phases = rng.uniform(0.0, 2.0 * math.pi, 4)
    weights = rng.uniform(0.5, 1.0, 4)
    waves = np.sin(2.0 * math.pi * time[..., np.newaxis] / periods_s + phases) @ weights
    return plain(amplitude * waves / weights.sum())


@fitting
def offset_nm(*, dist_nm: ArrayLike, off_deg: ArrayLike) -> Result:
    """Distance from the selected line for an angle off it.

    Parameters
    ----------
    dist_nm : float or array_like
        Distance from the station. [NM], 0 to 300.
    off_deg : float or array_like
        Angle off the line, as the needle shows it; the sign is kept. [deg], -90 to 90.

    Returns
    -------
    float or numpy.ndarray
        Shortest distance to the line, in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Distance times the sine of the angle. Source: ``definition``. Rule: :func:`offset_rule_nm`.

    Terms: distance off course; miles from a radial.

    Examples
    --------
    >>> round(offset_nm(dist_nm=30.0, off_deg=5.0), 2)
    2.61
    """
    off = within("off_deg", off_deg, -90.0, 90.0, "deg", "more than 90 degrees off is the other half of the line")
    return plain(distance("dist_nm", dist_nm) * np.sin(np.deg2rad(off)))


@fitting
def offset_rule_nm(*, dist_nm: ArrayLike, off_deg: ArrayLike) -> Result:
    """Distance from the selected line by the 60-to-1 rule.

    Parameters
    ----------
    dist_nm : float or array_like
        Distance from the station. [NM], 0 to 300.
    off_deg : float or array_like
        Angle off the line; the sign is kept. [deg], -90 to 90.

    Returns
    -------
    float or numpy.ndarray
        Distance to the line by the rule, in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    One degree is one mile at sixty: distance times degrees over 60. 4 to 5 % low up to 10 degrees.
    Source: ``AF60b``.

    Terms: distance off course by rule; 1-in-60 rule: distance off course; 60-to-1 rule: distance off course.

    Examples
    --------
    >>> offset_rule_nm(dist_nm=30.0, off_deg=5.0), offset_rule_nm(dist_nm=60.0, off_deg=2.0)
    (2.5, 2.0)
    """
    off = within("off_deg", off_deg, -90.0, 90.0, "deg", "more than 90 degrees off is the other half of the line")
    return plain(distance("dist_nm", dist_nm) * off / 60.0)


@fitting
def off_deg(*, offset_nm: ArrayLike, to_go_nm: ArrayLike) -> Result:
    """Angle off the line for a distance beside it.

    Parameters
    ----------
    offset_nm : float or array_like
        Distance beside the line; the sign is kept. [NM], -300 to 300.
    to_go_nm : float or array_like
        Distance along the line to the station. [NM], 0 to 300.

    Returns
    -------
    float or numpy.ndarray
        Angle at the station, -90 to 90, in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Arc tangent of sideways over along; 90 abeam, 0 overhead. By rule 60 times beside over to go: 5 % high up
    to a tenth, 13 % at a half. Source: ``definition``; the rule ``AF60b``.

    Terms: degrees off course from a distance; passing beside the station.

    Examples
    --------
    >>> [round(float(a), 1) for a in off_deg(offset_nm=0.1, to_go_nm=[5.0, 2.0, 1.0, 0.5])]
    [1.1, 2.9, 5.7, 11.3]
    """
    beside = distance("offset_nm", offset_nm, -300.0)
    return plain(np.rad2deg(np.arctan2(beside, distance("to_go_nm", to_go_nm))))


@fitting
def dot_ft(*, dist_nm: ArrayLike, full_scale_deg: ArrayLike = FULL_SCALE_DEG) -> Result:
    """Width of one dot at a distance from the station.

    Parameters
    ----------
    dist_nm : float or array_like
        Distance along the line from the station. [NM], 0 to 300.
    full_scale_deg : float or array_like, default 10
        Angle off course at full scale. [deg], 10 to 12.

    Returns
    -------
    float or numpy.ndarray
        Distance off the line for one dot, in the broadcast shape of the inputs. [ft]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Distance times the tangent of a fifth of full scale: 212 ft a mile. The rule of
    200 ft per dot and mile (:data:`DOT_RULE_FT_NM`) is 5.7 % low. Source: ``definition``.

    Terms: width of a dot; 200 feet a dot and mile.

    Examples
    --------
    >>> round(dot_ft(dist_nm=1.0), 1), round(dot_ft(dist_nm=10.0))
    (212.2, 2122)
    """
    dot_deg = _full_scale(full_scale_deg) / FULL_SCALE_DOTS
    return plain(distance("dist_nm", dist_nm) * NM_FT * np.tan(np.deg2rad(dot_deg)))


def is_vor_frequency(freq_mhz: ArrayLike) -> Truth:
    """Say whether a frequency is a VOR channel.

    Parameters
    ----------
    freq_mhz : float or array_like
        Frequency. [MHz], 0 to 10,000.

    Returns
    -------
    bool or numpy.ndarray of bool
        True for a VOR channel, in the shape of the input.

    Raises
    ------
    OutOfRange
        If a value is negative, too large, or nan.

    Notes
    -----
    108.00 to 117.95 MHz every 50 kHz; below 112 only where the tenth is even, the odd tenths being
    localizers: 160 channels. Source: ``IFH9`` p. 9-11, ``ANX10``.

    Terms: frequency of a VOR.

    Examples
    --------
    >>> is_vor_frequency(114.60), is_vor_frequency(110.25), is_vor_frequency(114.63), is_vor_frequency(108.10)
    (True, True, False, False)
    """
    freq = within("freq_mhz", freq_mhz, 0.0, 10000.0, "MHz", "is this in kHz?")
    khz = np.round(freq * 1000.0)
    on_raster = (np.abs(freq * 1000.0 - khz) < 1e-3) & (khz % 50 == 0) & (khz >= 108000) & (khz <= 117950)
    return truth(on_raster & ((khz >= 112000) | ((khz // 100) % 2 == 0)))


def service_range_nm(*, height_ft: ArrayLike, service_class: str) -> Result:
    """Distance to which a station's signal is protected at a height.

    Parameters
    ----------
    height_ft : float or array_like
        Height above the transmitter. [ft], 0 to 60,000.
    service_class : {"T", "L", "H", "VL", "VH"}
        Standard service volume of the station.

    Returns
    -------
    float or numpy.ndarray
        Radius; 0 where the height is outside the volume. In the shape of the height. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the class is unknown.

    Notes
    -----
    The largest radius of the bands that hold the height. Source: ``AIM-1-1-8`` TBL 1-1-1 (older
    printings say above ground, same numbers).

    Terms: service volume; range of a VOR.

    Examples
    --------
    >>> service_range_nm(height_ft=3000.0, service_class="L")
    40.0
    >>> service_range_nm(height_ft=20000.0, service_class="H")
    130.0
    >>> service_range_nm(height_ft=900.0, service_class="T")
    0.0
    """
    one_of("service_class", service_class, SERVICE_CLASSES, "a class of VOR")
    height = _height(height_ft)
    reach = np.zeros(height.shape)
    for low, high, closed, radius in _KNOWN_BANDS[service_class]:
        inside = (height >= low) & ((height <= high) if closed else (height < high))
        reach = np.where(inside, np.maximum(reach, radius), reach)
    return plain(reach)


def check_passed(*, error_deg: ArrayLike, kind: str) -> Truth:
    """Say whether a receiver check is within its limit.

    Parameters
    ----------
    error_deg : float or array_like
        Bearing error, or the difference between two receivers. [deg], -180 to 180.
    kind : {"test signal", "surface checkpoint", "airborne checkpoint", "airway", "two receivers"}
        Which check.

    Returns
    -------
    bool or numpy.ndarray of bool
        True within the limit, the limit included; in the shape of the input.

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the kind is unknown.

    Notes
    -----
    4 degrees on the ground, by test signal and between two receivers; 6 in the air. Airway points
    are prominent ground points, preferably more than 20 NM from the station. Other states have
    other rules. Source: ``CFR171``.

    Terms: receiver check; VOR check limits.

    Examples
    --------
    >>> check_passed(error_deg=5.0, kind="airborne checkpoint"), check_passed(error_deg=5.0, kind="two receivers")
    (True, False)
    """
    one_of("kind", kind, CHECK_LIMITS_DEG, "a receiver check")
    error = np.abs(within("error_deg", error_deg, -180.0, 180.0, "deg"))
    # A difference of two printed bearings may be a last bit above the limit it equals.
    return truth(error <= CHECK_LIMITS_DEG[kind] + 1e-9)


@fitting
def receivers_agree(*, radial_1_deg: ArrayLike, radial_2_deg: ArrayLike) -> Truth:
    """Say whether two receivers tuned to one station agree well enough.

    Parameters
    ----------
    radial_1_deg, radial_2_deg : float or array_like
        Radial each receiver shows. [deg magnetic], -3600 to 3600.

    Returns
    -------
    bool or numpy.ndarray of bool
        True where they differ by no more than 4 degrees, in the broadcast shape of the inputs.

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Up to 4 degrees apart. Source: ``CFR171``.

    Terms: receiver check with two receivers.

    Examples
    --------
    >>> receivers_agree(radial_1_deg=358.0, radial_2_deg=2.0), receivers_agree(radial_1_deg=100.0, radial_2_deg=105.0)
    (True, False)
    """
    apart = angles.difference_deg(
        from_deg=angle("radial_1_deg", radial_1_deg),
        to_deg=angle("radial_2_deg", radial_2_deg),
    )
    return check_passed(error_deg=apart, kind="two receivers")


def check_current(age_days: ArrayLike) -> Truth:
    """Say whether a logged receiver check still counts.

    Parameters
    ----------
    age_days : float or array_like
        Days since the check. [days], 0 to 100,000.

    Returns
    -------
    bool or numpy.ndarray of bool
        True up to and including the thirtieth day, in the shape of the input.

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Within the preceding 30 days. Source: ``CFR171``.

    Terms: receiver check: 30 days.

    Examples
    --------
    >>> check_current(30), check_current(31)
    (True, False)
    """
    return truth(within("age_days", age_days, 0.0, 1e5, "days", "is the check in the future?") <= CHECK_DAYS)


def signal_check_error_deg(selected_course_deg: ArrayLike) -> Result:
    """Bearing error of a receiver from the course at which a test signal centres the needle.

    Parameters
    ----------
    selected_course_deg : float or array_like
        Course set when the needle is centred, with either flag. [deg], -3600 to 3600.

    Returns
    -------
    float or numpy.ndarray
        How far the set reads too high (positive) or too low, -90 to 90; in the shape of the input. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    A test signal is R-360 everywhere: a perfect set centres at 0 with FROM and at 180 with TO.
    Source: ``IFH9`` p. 9-16.

    Terms: receiver check by test signal; VOT.

    Examples
    --------
    >>> signal_check_error_deg(183.0), signal_check_error_deg(358.0)
    (3.0, -2.0)
    """
    course = angle("selected_course_deg", selected_course_deg)
    too_high = np.asarray(angles.difference_deg(from_deg=TEST_SIGNAL_RADIAL_DEG, to_deg=course))
    return plain(np.where(np.abs(too_high) <= 90.0, too_high, np.asarray(angles.wrap180(too_high - 180.0))))
