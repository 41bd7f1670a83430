"""Holding: limits, entries, timing and drift, and the pattern as it is really flown in wind."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from needlework.basis.errors import NoSolution
from needlework.basis.quantity import (
    Constant,
    Floats,
    Result,
    Truth,
    angle,
    fitting,
    one,
    one_of,
    plain,
    singles,
    truth,
    within,
)
from needlework.trade.angles import difference_deg, reciprocal, turn_deg, wrap360
from needlework.trade.turns import STANDARD_RATE_DEG_S, bank_deg, turn_rate_deg_s
from needlework.trade.wind import correction_deg, ground_speed_kt

ENTRY_BAND_DEG = Constant(5.0, "deg", "AIM-5-3-8", "within this of a sector's edge both entries are good")
TEARDROP_DEG = Constant(30.0, "deg", "AIM-5-3-8", "from the outbound course into the pattern")
DRIFT_FACTOR = Constant(3.0, "1", "AIM-5-3-8", "outbound drift correction over inbound")
TURNS_MIN = Constant(2.0, "min", "AIM-5-3-8", "two half circles at standard rate: 3 degrees a second")
DRIFT_MOST_DEG = Constant(30.0, "deg", "common-practice", "more than this is not flown outbound")
LONG_LEG_ABOVE_FT = Constant(14000.0, "ft", "AIM-5-3-8", "above it the inbound leg is a minute and a half")
SLOW_DOWN_MIN = Constant(3.0, "min", "AIM-5-3-8", "before the fix, at the earliest")
BANK_MOST_DEG = Constant(30.0, "deg", "AIM-5-3-8", "25 with a flight director and by ICAO")
IAS_LIMITS_KT: tuple[tuple[float, Constant], ...] = (
    (6000.0, Constant(200.0, "kt", "AIM-5-3-8")),
    (14000.0, Constant(230.0, "kt", "AIM-5-3-8", "210 where the chart says so")),
    (60000.0, Constant(265.0, "kt", "AIM-5-3-8")),
)
"""Highest holding speed up to and including an altitude in feet."""
ICON_LIMIT_KT = Constant(210.0, "kt", "AIM-5-3-8", "between 6,001 and 14,000 ft where charted")

SECTORS_DEG: dict[str, tuple[float, float]] = {
    "parallel": (-110.0, 0.0),
    "teardrop": (0.0, 70.0),
    "direct": (70.0, 250.0),
}
"""Outbound course seen from the heading, right positive, for right turns; mirrored for left."""


@dataclass(frozen=True)
class Lap:
    """One lap of a holding pattern from fix to fix, every few seconds.

    Parameters
    ----------
    time_s : numpy.ndarray
        Since the fix. [s]
    east_nm, north_nm : numpy.ndarray
        Place over the ground from the fix, along the reference of the courses. [NM]
    heading_deg : numpy.ndarray
        Heading. [deg]
    off_nm : float
        Distance beside the inbound course at the end of the inbound turn, right of it positive. [NM]
    inbound_s : float
        Time from the end of that turn until the fix is reached or passed abeam. [s]
    """

    time_s: Floats
    east_nm: Floats
    north_nm: Floats
    heading_deg: Floats
    off_nm: float
    inbound_s: float


_direction = partial(angle, slip="is this a speed or a distance?")


def _hand(side: str) -> float:
    return 1.0 if one_of("side", side, ("left", "right"), "a side to turn") == "right" else -1.0


def _alt(alt_ft: ArrayLike) -> Floats:
    return within("alt_ft", alt_ft, -1500.0, 60000.0, "ft")


def max_ias_kt(*, alt_ft: ArrayLike, rule: str = "standard") -> Result:
    """Highest airspeed in a holding pattern.

    Parameters
    ----------
    alt_ft : float or array_like
        Altitude held. [ft MSL], -1,500 to 60,000.
    rule : {"standard", "210 icon"}, default "standard"
        Whether the chart restricts the pattern to 210 kt.

    Returns
    -------
    float or numpy.ndarray
        Indicated airspeed, in the shape of the altitude. [kt]

    Raises
    ------
    OutOfRange
        If an altitude is outside its range, or is nan, or the rule is unknown.

    Notes
    -----
    200 to 6,000 ft, 230 to 14,000, 265 above; other states differ. Source: ``AIM-5-3-8`` j 2.

    Terms: holding speed.

    Examples
    --------
    >>> max_ias_kt(alt_ft=3000.0), max_ias_kt(alt_ft=6001.0), max_ias_kt(alt_ft=9000.0, rule="210 icon")
    (200.0, 230.0, 210.0)
    """
    one_of("rule", rule, ("standard", "210 icon"), "a speed rule for holding")
    alt = _alt(alt_ft)
    found = np.searchsorted([top for top, _ in IAS_LIMITS_KT], alt, side="left")
    limits = np.array([float(limit) for _, limit in IAS_LIMITS_KT])
    if rule == "210 icon":
        limits[1] = ICON_LIMIT_KT
    return plain(limits[found])


def leg_s(alt_ft: ArrayLike) -> Result:
    """Time wanted on the inbound leg of a timed pattern.

    Parameters
    ----------
    alt_ft : float or array_like
        Altitude held. [ft MSL], -1,500 to 60,000.

    Returns
    -------
    float or numpy.ndarray
        Inbound time, in the shape of the input. [s]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    A minute up to 14,000 ft, a minute and a half above. Source: ``AIM-5-3-8`` j 4. By ICAO it is the outbound
    leg that is timed, to the same times.

    Terms: holding: time of the leg.

    Examples
    --------
    >>> leg_s(3000.0), leg_s(15000.0)
    (60.0, 90.0)
    """
    return plain(np.where(_alt(alt_ft) > LONG_LEG_ABOVE_FT, 90.0, 60.0))


def slow_down_nm(gs_kt: ArrayLike) -> Result:
    """Distance from the fix at which to begin slowing to holding speed.

    Parameters
    ----------
    gs_kt : float or array_like
        Ground speed. [kt], 20 to 600.

    Returns
    -------
    float or numpy.ndarray
        Distance, in the shape of the input. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Within three minutes of the fix. Source: ``AIM-5-3-8``.

    Terms: holding: where to slow down.

    Examples
    --------
    >>> slow_down_nm(120.0)
    6.0
    """
    return plain(within("gs_kt", gs_kt, 20.0, 600.0, "kt", "is this a speed in m/s?") * SLOW_DOWN_MIN / 60.0)


@fitting
def hold_rate_deg_s(*, tas_kt: ArrayLike, bank_limit_deg: ArrayLike = BANK_MOST_DEG) -> Result:
    """Rate of turn in a holding pattern: standard rate, or what the bank limit allows.

    Parameters
    ----------
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.
    bank_limit_deg : float or array_like, default 30
        Largest bank; 25 with a flight director, and by ICAO. [deg], 10 to 45.

    Returns
    -------
    float or numpy.ndarray
        Rate of turn, in the broadcast shape of the inputs. [deg/s]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    3 degrees a second or the bank limit, whichever needs less bank. Source: ``AIM-5-3-8`` j 8 (b).

    Terms: holding: rate of turn.

    Examples
    --------
    >>> hold_rate_deg_s(tas_kt=120.0), round(hold_rate_deg_s(tas_kt=250.0), 2)
    (3.0, 2.52)
    """
    limit = within("bank_limit_deg", bank_limit_deg, 10.0, 45.0, "deg")
    gentle = np.asarray(bank_deg(tas_kt=tas_kt, rate_deg_s=STANDARD_RATE_DEG_S)) <= limit
    return plain(np.where(gentle, STANDARD_RATE_DEG_S, np.asarray(turn_rate_deg_s(tas_kt=tas_kt, bank_deg=limit))))


def _outbound_seen_deg(heading_deg: ArrayLike, inbound_course_deg: ArrayLike, side: str) -> Floats:
    """Outbound course seen from the heading, as if the turns were to the right, in (-110, 250]."""
    heading, inbound = _direction("heading_deg", heading_deg), _direction("inbound_course_deg", inbound_course_deg)
    seen = np.asarray(_hand(side) * np.asarray(difference_deg(from_deg=heading, to_deg=reciprocal(inbound))))
    return np.asarray(np.where(seen < -110.0, seen + 360.0, seen))


@fitting
def entry(*, heading_deg: ArrayLike, inbound_course_deg: ArrayLike, side: str) -> str | NDArray[np.str_]:
    """Entry by the sector of the heading, edges judged hard.

    Parameters
    ----------
    heading_deg : float or array_like
        *Heading* at the fix. [deg magnetic], -3600 to 3600.
    inbound_course_deg : float or array_like
        Inbound holding course. [deg magnetic], -3600 to 3600.
    side : {"left", "right"}
        Turns of the pattern; right is standard.

    Returns
    -------
    str or numpy.ndarray of str
        ``"direct"``, ``"parallel"`` or ``"teardrop"``, in the broadcast shape of the inputs.

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the side is neither left nor right.

    Notes
    -----
    Right turns: outbound course up to 70 degrees right of the heading: teardrop; straight ahead or up to
    110 left: parallel; else direct. Left turns: the mirror image. A pilot has 5 degrees either way:
    :func:`entries`. Source: ``AIM-5-3-8``, ``P-821`` Fig. 3-8.

    Terms: holding entry; direct entry; parallel entry; teardrop entry.

    Examples
    --------
    >>> entry(heading_deg=135.0, inbound_course_deg=360.0, side="right")
    'teardrop'
    >>> entry(heading_deg=200.0, inbound_course_deg=360.0, side="right")
    'parallel'
    >>> entry(heading_deg=70.0, inbound_course_deg=360.0, side="right")
    'direct'
    """
    seen = _outbound_seen_deg(heading_deg, inbound_course_deg, side)
    found = np.where(seen <= 0.0, "parallel", np.where(seen <= 70.0, "teardrop", "direct"))
    return str(found) if found.ndim == 0 else found


def entries(*, heading_deg: float, inbound_course_deg: float, side: str) -> tuple[str, ...]:
    """Every entry that is good at a heading, with the band of 5 degrees at the edges.

    Parameters
    ----------
    heading_deg : float
        *Heading* at the fix. [deg magnetic], -3600 to 3600.
    inbound_course_deg : float
        Inbound holding course. [deg magnetic], -3600 to 3600.
    side : {"left", "right"}
        Turns of the pattern; right is standard.

    Returns
    -------
    tuple of str
        One entry, or two within 5 degrees of an edge; that of :func:`entry` first.

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the side is neither left nor right.

    Notes
    -----
    Sectors of 110, 70 and 180 degrees, each 5 wider on both sides. Source: ``AIM-5-3-8`` j 8 (d), ``P-821``.

    Terms: holding entry within 5 degrees of an edge.

    Examples
    --------
    >>> entries(heading_deg=165.0, inbound_course_deg=345.0, side="right")
    ('parallel', 'teardrop')
    >>> entries(heading_deg=105.0, inbound_course_deg=360.0, side="right")
    ('direct', 'teardrop')
    """
    heading = one("heading_deg", _direction("heading_deg", heading_deg))
    inbound = one("inbound_course_deg", _direction("inbound_course_deg", inbound_course_deg))
    seen = float(_outbound_seen_deg(heading, inbound, side))
    first = str(entry(heading_deg=heading, inbound_course_deg=inbound, side=side))
    good = {
        name
        for name, (low, high) in SECTORS_DEG.items()
        # Sums of floats that should be 5 may miss it by a last bit.
        if (seen - low + ENTRY_BAND_DEG + 1e-9) % 360.0 <= high - low + 2.0 * ENTRY_BAND_DEG + 2e-9
    }
    return (first, *sorted(good - {first}))


def entry_heading_deg(*, inbound_course_deg: ArrayLike, side: str, entry: str) -> Result:
    """Still-air heading to take up at the fix for an entry.

    Parameters
    ----------
    inbound_course_deg : float or array_like
        Inbound holding course. [deg magnetic], -3600 to 3600.
    side : {"left", "right"}
        Turns of the pattern.
    entry : {"direct", "parallel", "teardrop"}
        Which entry.

    Returns
    -------
    float or numpy.ndarray
        Heading before wind correction, in the shape of the course. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or a word is unknown.

    Notes
    -----
    Teardrop: outbound less 30 for right turns, plus 30 for left, into the pattern; direct and parallel: the
    outbound course. Source: ``AIM-5-3-8``.

    Terms: teardrop heading; holding entry: its heading.

    Examples
    --------
    >>> entry_heading_deg(inbound_course_deg=345.0, side="right", entry="teardrop")
    135.0
    >>> entry_heading_deg(inbound_course_deg=75.0, side="left", entry="teardrop")
    285.0
    """
    one_of("entry", entry, SECTORS_DEG, "an entry")
    out = np.asarray(reciprocal(_direction("inbound_course_deg", inbound_course_deg)))
    return wrap360(out - _hand(side) * (TEARDROP_DEG if entry == "teardrop" else 0.0))


def drift_factor(leg_min: ArrayLike) -> Result:
    """How many times the inbound drift correction pays outbound for the leg and the two turns.

    Parameters
    ----------
    leg_min : float or array_like
        Time of the leg outbound. [min], 0.25 to 20.

    Returns
    -------
    float or numpy.ndarray
        Factor, in the shape of the input. [1]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    The leg drifts for its own T minutes, the turns for a minute each at standard rate, and only the leg can be
    corrected: 1 + 2 / T. Three for a leg of a minute, which the AIM has for every leg. Geometry; source of the three:
    ``AIM-5-3-8`` j 8 (c), for longer legs ``P-871`` ch. 4.

    Terms: drift outbound by the length of the leg; times the drift in a hold.

    Examples
    --------
    >>> drift_factor(1.0), drift_factor(2.0), drift_factor(2.5)
    (3.0, 2.0, 1.8)
    """
    leg = within("leg_min", leg_min, 0.25, 20.0, "min", "is this in seconds?")
    return plain(1.0 + TURNS_MIN / leg)


@fitting
def outbound_heading_deg(
    *,
    inbound_course_deg: ArrayLike,
    wca_deg: ArrayLike,
    factor: ArrayLike = DRIFT_FACTOR,
    most_deg: ArrayLike = DRIFT_MOST_DEG,
) -> Result:
    """Outbound heading by the triple-drift rule.

    Parameters
    ----------
    inbound_course_deg : float or array_like
        Inbound holding course. [deg magnetic], -3600 to 3600.
    wca_deg : float or array_like
        Wind correction found on the inbound leg, right positive. [deg], -90 to 90.
    factor : float or array_like, default 3
        How many times it is taken outbound, to the other side. From 1 to 4.
    most_deg : float or array_like, default 30
        Largest correction flown. [deg], 0 to 90.

    Returns
    -------
    float or numpy.ndarray
        Heading, in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Outbound course less three times the correction: 8 left inbound becomes 24 right outbound, once for the leg and
    twice for the two turns that cannot be corrected. That pays for two one-minute turns on a leg of one minute; on
    a longer leg the factor is that of :func:`drift_factor`, so 1.8 for 4 NM at 96 kt: with 15 kt across, three times
    would end the inbound turn 0.8 NM upwind of the course. Exact: :func:`outbound_exact`. Source: ``AIM-5-3-8``
    j 8 (c); for longer legs ``P-871`` ch. 4; the cap ``common-practice``.

    Terms: triple drift; outbound heading in a hold; drift in a hold; holding: wind correction.

    Examples
    --------
    >>> outbound_heading_deg(inbound_course_deg=360.0, wca_deg=-8.0)
    204.0
    >>> outbound_heading_deg(inbound_course_deg=360.0, wca_deg=12.0)
    150.0
    """
    wca = within("wca_deg", wca_deg, -90.0, 90.0, "deg", "is this a heading?")
    times, most = within("factor", factor, 1.0, 4.0, ""), within("most_deg", most_deg, 0.0, 90.0, "deg")
    out = np.asarray(reciprocal(_direction("inbound_course_deg", inbound_course_deg)))
    return wrap360(out - np.clip(times * wca, -most, most))


@fitting
def outbound_exact(
    *,
    tas_kt: ArrayLike,
    inbound_course_deg: ArrayLike,
    wind_from_deg: ArrayLike,
    wind_kt: ArrayLike,
    inbound_s: ArrayLike = 60.0,
    rate_deg_s: ArrayLike = STANDARD_RATE_DEG_S,
) -> tuple[Result, Result]:
    """Outbound heading and time that end the inbound turn on the inbound course, at the wanted time from the fix.

    Parameters
    ----------
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.
    inbound_course_deg : float or array_like
        Inbound holding course, same reference as the wind. [deg], -3600 to 3600.
    wind_from_deg : float or array_like
        Direction the wind blows from. [deg], -3600 to 3600.
    wind_kt : float or array_like
        Wind speed. [kt], 0 to 200.
    inbound_s : float or array_like, default 60
        Time wanted on the inbound leg. [s], 10 to 600.
    rate_deg_s : float or array_like, default 3
        Rate of both turns. [deg/s], 0.5 to 6.

    Returns
    -------
    tuple of (float or numpy.ndarray)
        Heading, and time with wings level on it; each in the broadcast shape of the inputs. [deg], [s]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.
    NoSolution
        If the wind is too strong for the inbound course.

    Notes
    -----
    Through the air the two turns make one full circle and bring the aircraft nowhere; so the straight
    outbound leg must undo the wind of the whole time and the inbound leg. With airspeed V, wind vector W,
    turning time T and inbound vector L: V t u = -L - W (T + t), a quadratic for t. Independent of the side.
    Source: ``definition``. Rule: :func:`outbound_heading_deg`.

    Terms: outbound heading and time in a hold: exact.

    Examples
    --------
    >>> heading_deg, time_s = outbound_exact(tas_kt=90.0, inbound_course_deg=360.0, wind_from_deg=270.0, wind_kt=15.0)
    >>> round(heading_deg, 1), round(time_s)
    (207.8, 67)
    """
    inbound, wind_from = (
        _direction("inbound_course_deg", inbound_course_deg),
        _direction("wind_from_deg", wind_from_deg),
    )
    leg_h = within("inbound_s", inbound_s, 10.0, 600.0, "s", "is this in minutes?") / 3600.0
    turns_h = 360.0 / within("rate_deg_s", rate_deg_s, 0.5, 6.0, "deg/s") / 3600.0
    leg_nm = (
        np.asarray(ground_speed_kt(course_deg=inbound, tas_kt=tas_kt, wind_from_deg=wind_from, wind_kt=wind_kt))
        * leg_h
    )
    tas, wind = np.asarray(tas_kt, dtype=np.float64), np.asarray(wind_kt, dtype=np.float64)
    if np.any(wind >= tas):
        raise NoSolution("The wind is not below the airspeed: no outbound leg brings this pattern back to the fix")
    # Complex numbers as vectors: east + i north; a direction d is i * exp(-i d).
    toward = -1j * np.exp(-1j * np.deg2rad(wind_from)) * wind
    still = -leg_nm * 1j * np.exp(-1j * np.deg2rad(inbound)) - toward * turns_h
    dot = np.real(np.conj(still) * -toward)
    left = tas**2 - wind**2
    out_h = (dot + np.sqrt(dot**2 + left * np.abs(still) ** 2)) / left
    flown = still - toward * out_h
    return wrap360(np.rad2deg(np.arctan2(np.real(flown), np.imag(flown)))), plain(out_h * 3600.0)


@fitting
def next_outbound_s(*, outbound_s: ArrayLike, inbound_s: ArrayLike, wanted_s: ArrayLike = 60.0) -> Result:
    """Outbound time for the next lap from what the last one gave.

    Parameters
    ----------
    outbound_s : float or array_like
        Last outbound time. [s], 0 to 600.
    inbound_s : float or array_like
        Inbound time it led to. [s], 0 to 600.
    wanted_s : float or array_like, default 60
        Inbound time wanted. [s], 10 to 600.

    Returns
    -------
    float or numpy.ndarray
        Next outbound time, never negative; in the broadcast shape of the inputs. [s]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Add what the inbound leg fell short by, then refine: with a headwind inbound the true change is smaller,
    with a tailwind larger. Exact: :func:`outbound_exact`. Source: ``common-practice``.

    Terms: outbound time; next lap of a hold; holding: timing.

    Examples
    --------
    >>> next_outbound_s(outbound_s=60.0, inbound_s=44.0)
    76.0
    """
    out = within("outbound_s", outbound_s, 0.0, 600.0, "s")
    got = within("inbound_s", inbound_s, 0.0, 600.0, "s")
    return plain(np.maximum(out + within("wanted_s", wanted_s, 10.0, 600.0, "s", "is this in minutes?") - got, 0.0))


def outbound_clock_s(*, wings_level_s: float, abeam_s: float | None = None) -> float:
    """Say when the outbound clock starts.

    Parameters
    ----------
    wings_level_s : float
        When the wings were level outbound. [s], 0 to 36,000.
    abeam_s : float, optional
        When the fix was passed abeam; None where that cannot be seen. [s], 0 to 36,000.

    Returns
    -------
    float
        Abeam; wings level where abeam is not known. [s]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Over or abeam the fix, whichever comes later; where abeam cannot be told, when the turn is completed.
    Military teaching takes the later of abeam and wings level. Source: ``AIM-5-3-8`` j 4.

    Terms: outbound clock in a hold.

    Examples
    --------
    >>> outbound_clock_s(wings_level_s=60.0, abeam_s=66.0)
    66.0
    >>> outbound_clock_s(wings_level_s=60.0, abeam_s=55.0)
    55.0
    >>> outbound_clock_s(wings_level_s=60.0)
    60.0
    """
    level = one("wings_level_s", within("wings_level_s", wings_level_s, 0.0, 36000.0, "s"))
    return level if abeam_s is None else one("abeam_s", within("abeam_s", abeam_s, 0.0, 36000.0, "s"))


@fitting
def outbound_end_nm(*, fix_dme_nm: ArrayLike, leg_dme_nm: ArrayLike, direction: str) -> Result:
    """DME at which the outbound leg of a DME pattern ends.

    Parameters
    ----------
    fix_dme_nm : float or array_like
        DME of the holding fix. [NM], 0 to 300.
    leg_dme_nm : float or array_like
        Length of the leg by DME. [NM], 0.5 to 50.
    direction : {"to", "from"}
        Whether the *inbound* leg leads to the station or away from it.

    Returns
    -------
    float or numpy.ndarray
        Reading at which to turn inbound, in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the direction is unknown.
    NoSolution
        If the leg is longer than the fix is far from the station.

    Notes
    -----
    Inbound to the station the outbound leg leads away from it: add; else subtract.
    Source: ``AIM-5-3-8`` FIG 5-3-5 (10 + 5) and FIG 5-3-6 (28 - 8).

    Terms: holding by DME: end of the outbound leg.

    Examples
    --------
    >>> outbound_end_nm(fix_dme_nm=10.0, leg_dme_nm=5.0, direction="to")
    15.0
    >>> outbound_end_nm(fix_dme_nm=28.0, leg_dme_nm=8.0, direction="from")
    20.0
    """
    fix = within("fix_dme_nm", fix_dme_nm, 0.0, 300.0, "NM", "is this in feet or metres?")
    leg = within("leg_dme_nm", leg_dme_nm, 0.5, 50.0, "NM", "is this in minutes?")
    if one_of("direction", direction, ("to", "from"), "a direction of holding") == "to":
        return plain(fix + leg)
    if np.any(leg > fix):
        raise NoSolution("The leg is longer than the fix is far from the station: the DME would rise again beyond it")
    return plain(fix - leg)


@fitting
def passed_dme(*, before_nm: ArrayLike, after_nm: ArrayLike, fix_dme_nm: ArrayLike) -> Truth:
    """Say whether a DME fix was passed between two readings.

    Parameters
    ----------
    before_nm, after_nm : float or array_like
        Two readings, one after the other. [NM], 0 to 300.
    fix_dme_nm : float or array_like
        DME of the fix. [NM], 0 to 300.

    Returns
    -------
    bool or numpy.ndarray of bool
        True if the fix was reached or crossed after the first reading, in either direction.

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    A fix is met when the reading is met. Source: ``definition``.

    Terms: passing a DME fix.

    Examples
    --------
    >>> passed_dme(before_nm=14.2, after_nm=13.9, fix_dme_nm=14.0)
    True
    >>> passed_dme(before_nm=14.0, after_nm=13.9, fix_dme_nm=14.0)
    False
    """
    before, after, fix = (
        within(name, value, 0.0, 300.0, "NM", "is this in feet or metres?")
        for name, value in (("before_nm", before_nm), ("after_nm", after_nm), ("fix_dme_nm", fix_dme_nm))
    )
    return truth(((before > fix) & (after <= fix)) | ((before < fix) & (after >= fix)))


def passed_station(*, flag_before: str, flag_after: str) -> bool:
    """Say whether a station was passed between two looks at the flag.

    Parameters
    ----------
    flag_before, flag_after : {"TO", "FROM", "NONE"}
        The flag, one after the other; give the last steady one before a flicker as the first.

    Returns
    -------
    bool
        True on the first complete reversal; NONE in between is not yet passage.

    Raises
    ------
    OutOfRange
        If it is no flag.

    Notes
    -----
    At a VOR the turn outbound begins with the first complete reversal of TO and FROM.
    Source: ``AIM-5-3-8`` g.

    Terms: station passage.

    Examples
    --------
    >>> passed_station(flag_before="TO", flag_after="FROM"), passed_station(flag_before="TO", flag_after="NONE")
    (True, False)
    """
    before, after = (
        one_of(name, shown, ("TO", "FROM", "NONE"), "what a flag shows")
        for name, shown in (("flag_before", flag_before), ("flag_after", flag_after))
    )
    return {before, after} == {"TO", "FROM"}


def _every_second(start_s: float, end_s: float) -> Floats:
    """Moments after the start up to the end, evenly, at most a second apart; none where there is no time."""
    return np.linspace(start_s, end_s, int(np.ceil(end_s - start_s)) + 1)[1:]


def lap(
    *,
    tas_kt: float,
    inbound_course_deg: float,
    side: str,
    wind_from_deg: float,
    wind_kt: float,
    outbound_deg: float,
    outbound_s: float,
    rate_deg_s: float = STANDARD_RATE_DEG_S,
) -> Lap:
    """Fly one lap in wind: turn at the fix, outbound heading for a time, turn inbound, back to the fix.

    Parameters
    ----------
    tas_kt : float
        True airspeed. [kt], 40 to 400.
    inbound_course_deg : float
        Inbound holding course, same reference as the wind. [deg], -3600 to 3600.
    side : {"left", "right"}
        Turns of the pattern.
    wind_from_deg, wind_kt : float
        Wind. [deg], -3600 to 3600; [kt], 0 to 200.
    outbound_deg : float
        Outbound *heading*. [deg], -3600 to 3600.
    outbound_s : float
        Time with wings level on it. [s], 0 to 600.
    rate_deg_s : float, default 3
        Rate of both turns. [deg/s], 0.5 to 6.

    Returns
    -------
    Lap
        The path, how far beside the course the inbound turn ended, and the inbound time.

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.
    NoSolution
        If the wind is too strong, or the inbound turn ends past the fix.

    Notes
    -----
    It begins overhead on the heading that holds the inbound course and rolls out on that heading again;
    what was missed sideways stays. Circles through moving air. Source: ``definition``.

    Terms: holding pattern flown in wind; lap of a hold.

    Examples
    --------
    >>> round(
    ...     lap(
    ...         tas_kt=90.0,
    ...         inbound_course_deg=360.0,
    ...         side="right",
    ...         wind_from_deg=270.0,
    ...         wind_kt=0.0,
    ...         outbound_deg=180.0,
    ...         outbound_s=60.0,
    ...     ).inbound_s,
    ...     6,
    ... )
    60.0
    """
    hand = _hand(side)
    inbound = one("inbound_course_deg", _direction("inbound_course_deg", inbound_course_deg))
    out = one("outbound_deg", _direction("outbound_deg", outbound_deg))
    rate = one("rate_deg_s", within("rate_deg_s", rate_deg_s, 0.5, 6.0, "deg/s"))
    level_s = one("outbound_s", within("outbound_s", outbound_s, 0.0, 600.0, "s"))
    singles(tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt)
    crab = float(correction_deg(course_deg=inbound, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt))
    over_kt = float(ground_speed_kt(course_deg=inbound, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt))
    first_deg = float(turn_deg(from_deg=inbound + crab, to_deg=out, side=side))
    ends_s = np.cumsum([first_deg / rate, level_s, (360.0 - first_deg) / rate])

    def place(time_s: Floats) -> tuple[NDArray[np.complex128], Floats]:
        """Where the aircraft is and where its nose points, up to the end of the inbound turn."""
        turned = rate * (np.minimum(time_s, ends_s[0]) + np.maximum(time_s - ends_s[1], 0.0))
        heading = np.deg2rad(inbound + crab + hand * turned)
        start = np.deg2rad(inbound + crab)
        per_s = tas_kt / 3600.0
        radius = hand * per_s / np.deg2rad(rate)
        circle = radius * ((np.cos(start) - np.cos(heading)) + 1j * (np.sin(heading) - np.sin(start)))
        straight = np.clip(time_s - ends_s[0], 0.0, level_s) * per_s * 1j * np.exp(-1j * np.deg2rad(out))
        blown = -1j * np.exp(-1j * np.deg2rad(float(wind_from_deg))) * wind_kt / 3600.0 * time_s
        return circle + straight + blown, np.asarray(wrap360(np.rad2deg(heading)))

    time_s = np.concatenate([[0.0], *(_every_second(a, b) for a, b in pairwise([0.0, *ends_s.tolist()]))])
    path, heading_deg = place(time_s)
    ahead = 1j * np.exp(-1j * np.deg2rad(inbound))
    seen = path[-1] * np.conj(ahead)
    off_nm, to_fix_nm = -float(np.imag(seen)), -float(np.real(seen))
    if to_fix_nm <= 0.0:
        raise NoSolution("The inbound turn ends past the fix: fly outbound longer, the wind carries you over it")
    inbound_s = to_fix_nm / over_kt * 3600.0
    last_s = _every_second(0.0, inbound_s)
    path = np.concatenate([path, path[-1] + ahead * over_kt / 3600.0 * last_s])
    return Lap(
        time_s=np.concatenate([time_s, time_s[-1] + last_s]),
        east_nm=np.real(path),
        north_nm=np.imag(path),
        heading_deg=np.concatenate([heading_deg, np.full(last_s.shape, float(wrap360(inbound + crab)))]),
        off_nm=off_nm,
        inbound_s=inbound_s,
    )
