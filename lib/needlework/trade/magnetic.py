"""Magnetic variation today, the declination a station was aligned with, and what the two do to a bearing.

East is positive: true = magnetic + variation ("variation east, magnetic least"). A station's radials are
counted from its own zero radial, which was laid along magnetic north when the station was aligned and has
stayed there since; its *declination* is the true bearing of that zero radial. The compass follows today's
variation. Where the two differ, so do the radial and the compass bearing of the same line.
"""

from __future__ import annotations

from datetime import date
from functools import cache, partial

import numpy as np
from numpy.typing import ArrayLike
from pygeomag import GeoMag, decimal_year_from_date
from pygeomag.wmm.wmm_2020 import WMM_2020
from pygeomag.wmm.wmm_2025 import WMM_2025

from needlework.basis.errors import NoSolution
from needlework.basis.quantity import Constant, Floats, Result, direction, fitting, one, plain, within
from needlework.trade.angles import wrap180, wrap360
from needlework.trade.units import FT_M

MODEL_FROM_YEAR = Constant(2020.0, "year", "WMM2020", "first day of the older model")
MODEL_CHANGE_YEAR = Constant(2025.0, "year", "WMM2025", "the newer model takes over")
MODEL_TO_YEAR = Constant(2030.0, "year", "WMM2025", "last day of the newer model")
HORIZONTAL_MIN_NT = Constant(2000.0, "nT", "WMM2025", "a weaker horizontal field turns no compass")


_direction = partial(direction, slip="is this a distance?")


def _east(name: str, value: ArrayLike) -> Floats:
    return within(name, value, -180.0, 180.0, "deg", "east is positive, west is negative")


@cache
def _model(newer: bool) -> GeoMag:
    return GeoMag(coefficients_data=WMM_2025 if newer else WMM_2020)


@fitting
def variation_deg(
    *, lat_deg: ArrayLike, lon_deg: ArrayLike, alt_ft: ArrayLike, decimal_year: ArrayLike | date
) -> Result:
    """Magnetic variation of a place on a day, by the World Magnetic Model.

    Parameters
    ----------
    lat_deg : float or array_like
        Latitude, north positive. [deg], -90 to 90.
    lon_deg : float or array_like
        Longitude, east positive. [deg], -360 to 360.
    alt_ft : float or array_like
        Height above mean sea level; it hardly matters. [ft], -3,000 to 500,000.
    decimal_year : float, array_like or datetime.date
        The day, as a date or as a year with its fraction. [year], 2020 to 2030, the life of the models.

    Returns
    -------
    float or numpy.ndarray
        Variation, east positive, in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.
    NoSolution
        Near the magnetic poles, where a compass shows nothing (horizontal field under 2,000 nT).

    Notes
    -----
    World Magnetic Model 2025 from the year 2025 on, and 2020 before. Sources: ``WMM2025``, ``WMM2020``.
    The real field differs by some 0.3 to 0.5 degrees from place to place.

    Terms: variation.

    Examples
    --------
    >>> round(variation_deg(lat_deg=36.90, lon_deg=-45.20, alt_ft=480.0, decimal_year=2026.9), 1)
    -13.1
    """
    year: ArrayLike
    if isinstance(decimal_year, date):
        known = MODEL_FROM_YEAR <= decimal_year.year <= MODEL_TO_YEAR
        year = decimal_year_from_date(decimal_year) if known else decimal_year.year
    else:
        year = decimal_year
    rows = np.broadcast_arrays(
        within("lat_deg", lat_deg, -90.0, 90.0, "deg", "is this a longitude?"),
        wrap180(within("lon_deg", lon_deg, -360.0, 360.0, "deg", "east is positive, west is negative")),
        within("alt_ft", alt_ft, -3_000.0, 500_000.0, "ft"),
        within(
            "decimal_year", year, MODEL_FROM_YEAR, MODEL_TO_YEAR, "year", "the models are made for no other years"
        ),
    )
    found = np.empty(rows[0].size)
    for i, (lat, lon, height_ft, when) in enumerate(zip(*(row.flat for row in rows), strict=True)):
        field = _model(bool(when >= MODEL_CHANGE_YEAR)).calculate(lat, lon, height_ft * FT_M / 1000.0, when)
        if field.h < HORIZONTAL_MIN_NT:
            raise NoSolution(
                f"There is no usable variation at latitude {lat:.1f}, longitude {lon:.1f}: so near a magnetic pole "
                "a compass shows nothing: use true directions there"
            )
        found[i] = field.d
    return plain(found.reshape(rows[0].shape))


@fitting
def to_true_deg(*, direction_deg: ArrayLike, variation_deg: ArrayLike) -> Result:
    """Turn a magnetic direction into a true one.

    Parameters
    ----------
    direction_deg : float or array_like
        Magnetic course, heading, bearing or wind direction. [deg], -3600 to 3600.
    variation_deg : float or array_like
        Variation, east positive. [deg], -180 to 180.

    Returns
    -------
    float or numpy.ndarray
        True direction in [0, 360), in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Magnetic plus variation. Source: ``definition``.

    Terms: variation east magnetic least; true direction from magnetic.

    Examples
    --------
    >>> to_true_deg(direction_deg=100.0, variation_deg=-13.0)
    87.0
    """
    return wrap360(_direction("direction_deg", direction_deg) + _east("variation_deg", variation_deg))


@fitting
def to_magnetic_deg(*, direction_deg_true: ArrayLike, variation_deg: ArrayLike) -> Result:
    """Turn a true direction into a magnetic one, for example the direction of a forecast wind.

    Parameters
    ----------
    direction_deg_true : float or array_like
        True course, heading, bearing or wind direction. [deg], -3600 to 3600.
    variation_deg : float or array_like
        Variation, east positive. [deg], -180 to 180.

    Returns
    -------
    float or numpy.ndarray
        Magnetic direction in [0, 360), in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    True less variation: "variation east, magnetic least". Source: ``definition``.

    Terms: variation east magnetic least; magnetic direction from true; forecast wind in magnetic.

    Examples
    --------
    >>> to_magnetic_deg(direction_deg_true=280.0, variation_deg=-13.0)
    293.0
    """
    return wrap360(_direction("direction_deg_true", direction_deg_true) - _east("variation_deg", variation_deg))


@fitting
def radial_from_true_deg(*, bearing_deg_true: ArrayLike, declination_deg: ArrayLike) -> Result:
    """Radial on which a place lies whose true bearing from the station is known.

    Parameters
    ----------
    bearing_deg_true : float or array_like
        True bearing from the station. [deg], -3600 to 3600.
    declination_deg : float or array_like
        Declination of the station, east positive. [deg], -180 to 180.

    Returns
    -------
    float or numpy.ndarray
        Radial in [0, 360) by the station's alignment, in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    True bearing less declination. Source: ``definition``.

    Terms: declination of a station; radial from a true bearing.

    Examples
    --------
    >>> radial_from_true_deg(bearing_deg_true=100.0, declination_deg=3.0)
    97.0
    """
    return wrap360(_direction("bearing_deg_true", bearing_deg_true) - _east("declination_deg", declination_deg))


@fitting
def true_from_radial_deg(*, radial_deg: ArrayLike, declination_deg: ArrayLike) -> Result:
    """Find the true bearing of a radial from its station.

    Parameters
    ----------
    radial_deg : float or array_like
        Radial by the station's alignment. [deg], -3600 to 3600.
    declination_deg : float or array_like
        Declination of the station, east positive. [deg], -180 to 180.

    Returns
    -------
    float or numpy.ndarray
        True bearing in [0, 360), in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Radial plus declination. Source: ``definition``.

    Terms: declination of a station; true bearing of a radial.

    Examples
    --------
    >>> true_from_radial_deg(radial_deg=97.0, declination_deg=3.0)
    100.0
    """
    return wrap360(_direction("radial_deg", radial_deg) + _east("declination_deg", declination_deg))


@fitting
def alignment_error_deg(*, declination_deg: ArrayLike, variation_deg: ArrayLike) -> Result:
    """By how much the compass bearing along a radial exceeds the radial's name.

    Parameters
    ----------
    declination_deg : float or array_like
        Declination of the station, east positive. [deg], -180 to 180.
    variation_deg : float or array_like
        Variation at the station today, east positive. [deg], -180 to 180.

    Returns
    -------
    float or numpy.ndarray
        Compass bearing less radial, in (-180, 180], in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Declination less variation. Source: ``definition``.

    Terms: alignment of a station; declination and variation.

    Examples
    --------
    >>> round(alignment_error_deg(declination_deg=-12.0, variation_deg=-13.6), 1)
    1.6
    """
    return wrap180(_east("declination_deg", declination_deg) - _east("variation_deg", variation_deg))


@fitting
def compass_from_radial_deg(*, radial_deg: ArrayLike, declination_deg: ArrayLike, variation_deg: ArrayLike) -> Result:
    """Compass bearing, today, along a radial outbound.

    Parameters
    ----------
    radial_deg : float or array_like
        Radial by the station's alignment. [deg], -3600 to 3600.
    declination_deg : float or array_like
        Declination of the station, east positive. [deg], -180 to 180.
    variation_deg : float or array_like
        Variation there today, east positive. [deg], -180 to 180.

    Returns
    -------
    float or numpy.ndarray
        Magnetic bearing in [0, 360), in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Radial plus declination less variation. Source: ``definition``. In still air it is also the heading
    that stays on the radial.

    Terms: compass bearing of a radial; alignment of a station.

    Examples
    --------
    >>> compass_from_radial_deg(radial_deg=97.0, declination_deg=3.0, variation_deg=5.0)
    95.0
    """
    return to_magnetic_deg(
        direction_deg_true=true_from_radial_deg(radial_deg=radial_deg, declination_deg=declination_deg),
        variation_deg=variation_deg,
    )


@fitting
def radial_from_compass_deg(
    *, bearing_deg: ArrayLike, declination_deg: ArrayLike, variation_deg: ArrayLike
) -> Result:
    """Radial that runs along a compass bearing from the station today.

    Parameters
    ----------
    bearing_deg : float or array_like
        Magnetic bearing from the station, by today's compass. [deg], -3600 to 3600.
    declination_deg : float or array_like
        Declination of the station, east positive. [deg], -180 to 180.
    variation_deg : float or array_like
        Variation there today, east positive. [deg], -180 to 180.

    Returns
    -------
    float or numpy.ndarray
        Radial in [0, 360) by the station's alignment, in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Bearing plus variation less declination. Source: ``definition``.

    Terms: radial from a compass bearing; alignment of a station.

    Examples
    --------
    >>> radial_from_compass_deg(bearing_deg=95.0, declination_deg=3.0, variation_deg=5.0)
    97.0
    """
    return radial_from_true_deg(
        bearing_deg_true=to_true_deg(direction_deg=bearing_deg, variation_deg=variation_deg),
        declination_deg=declination_deg,
    )


def variation_text(variation_deg: float) -> str:
    """Write a variation or declination the way it stands on a plate: size and letter.

    Parameters
    ----------
    variation_deg : float
        One variation, east positive. [deg], -180 to 180.

    Returns
    -------
    str
        For example ``"13.1° W"``; one decimal, none where it is 0.

    Raises
    ------
    OutOfRange
        If the value is outside its range, or is nan.

    Notes
    -----
    Source: ``common-practice``.

    Terms: variation as written.

    Examples
    --------
    >>> variation_text(-13.14), variation_text(3.0), variation_text(-0.04)
    ('13.1° W', '3° E', '0°')
    """
    size = round(abs(one("variation_deg", _east("variation_deg", variation_deg))), 1)
    return f"{size:g}°" + (f" {'E' if variation_deg > 0 else 'W'}" if size else "")
