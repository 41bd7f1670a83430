"""Positions on the earth (WGS84): geodesics, fixes by radial and distance, and a flat plane round a station.

The exact functions go through geographiclib, some 0.1 ms for each point; bearings and distances of many points
within 340 NM are worked out in arrays, as exactly and some fifty times faster. The plane round the station
(:func:`plane_from_position`, :func:`position_from_plane`) is array arithmetic both ways, within 2 m and 0.0002
degrees of the exact answer up to 200 NM from the station.
"""

from __future__ import annotations

from functools import partial

import numpy as np
from geographiclib.geodesic import Geodesic
from numpy.typing import ArrayLike

from needlework.basis.quantity import Constant, Floats, Result, direction, fitting, plain, within
from needlework.trade.angles import wrap180, wrap360
from needlework.trade.units import NM_M

RADIAL_DIST_MAX_NM = Constant(300.0, "NM", "common-practice", "farther than any station is received")
PLANE_DIST_MAX_NM = Constant(200.0, "NM", "common-practice", "farther than any flight of the course")
PLANE_LAT_MAX_DEG = Constant(75.0, "deg", "computed", "nearer a pole the plane is no longer accurate")
EQUATOR_RADIUS_M = Constant(6378137.0, "m", "definition", "WGS84")
FLATTENING = Constant(1.0 / 298.257223563, "1", "definition", "WGS84")
_EARTH = Geodesic.WGS84
_SQUARED_ECCENTRICITY = FLATTENING * (2.0 - FLATTENING)
_SAME_PLACE_NM = 1e-9
_WORTH_ARRAYS = 32  # points; for fewer, one after the other is as quick
_SHORT_RAD = 0.1  # arc on the sphere, 340 NM
# Gauss's points and weights for an integral from 0 to 1.
_POINTS, _WEIGHTS = (
    0.5 * (part + shift) for part, shift in zip(np.polynomial.legendre.leggauss(5), (1.0, 0.0), strict=True)
)


def _lat(name: str, value: ArrayLike, limit: float = 90.0) -> Floats:
    return within(name, value, -limit, limit, "deg", "is this a longitude?")


def _lon(name: str, value: ArrayLike) -> Floats:
    return within(name, value, -360.0, 360.0, "deg", "east is positive, west is negative")


def _declination(value: ArrayLike) -> Floats:
    return within("declination_deg", value, -180.0, 180.0, "deg", "east is positive, west is negative")


_direction = partial(direction, slip="is this a distance?")


def _direct(lat: Floats, lon: Floats, bearing_true: Floats, dist_nm: Floats) -> tuple[Result, Result]:
    rows = np.broadcast_arrays(lat, lon, bearing_true, dist_nm)
    reached = np.empty((2, rows[0].size))
    for i, (lat_i, lon_i, bearing, dist) in enumerate(zip(*(row.flat for row in rows), strict=True)):
        end = _EARTH.Direct(lat_i, lon_i, bearing, dist * NM_M, Geodesic.LATITUDE | Geodesic.LONGITUDE)
        reached[:, i] = end["lat2"], end["lon2"]
    return plain(reached[0].reshape(rows[0].shape)), plain(reached[1].reshape(rows[0].shape))


def _inverse(from_lat: Floats, from_lon: Floats, to_lat: Floats, to_lon: Floats) -> tuple[Floats, Floats]:
    """Give true bearing and distance, bearing 0 where both places are the same."""
    rows = np.broadcast_arrays(from_lat, from_lon, to_lat, to_lon)
    flat = [row.ravel() for row in rows]
    bearing, dist_nm, arc_rad = _short_lines(*flat)
    few = np.full(bearing.shape, bearing.size < _WORTH_ARRAYS)
    for i in np.flatnonzero(few | (arc_rad > _SHORT_RAD)):
        line = _EARTH.Inverse(*(float(row[i]) for row in flat), Geodesic.AZIMUTH | Geodesic.DISTANCE)
        bearing[i], dist_nm[i] = line["azi1"], line["s12"] / NM_M
    bearing, dist_nm = bearing.reshape(rows[0].shape), dist_nm.reshape(rows[0].shape)
    return np.where(dist_nm < _SAME_PLACE_NM, 0.0, np.asarray(wrap360(bearing))), dist_nm


def _short_lines(lat_1: Floats, lon_1: Floats, lat_2: Floats, lon_2: Floats) -> tuple[Floats, Floats, Floats]:
    """Bearing, distance and arc of geodesics that are short, many at once; arcs beyond are only roughly right.

    Karney, Algorithms for geodesics (2013), equations 7 and 8 (from memory; tested against GeographicLib): distance
    and difference of longitude are integrals along the arc on the auxiliary sphere, smooth enough for five points.
    The arc's difference of longitude is found by repeated correction, each time 300 times better.
    """
    beta_1, beta_2 = (np.arctan((1.0 - FLATTENING) * np.tan(np.radians(lat))) for lat in (lat_1, lat_2))
    dlon = lon_2 - lon_1
    dlon = np.radians(dlon - 360.0 * np.rint(dlon / 360.0))
    sin_1, cos_1, cos_2, dbeta = np.sin(beta_1), np.cos(beta_1), np.cos(beta_2), beta_2 - beta_1
    omega = dlon
    for _ in range(7):
        east = cos_2 * np.sin(omega)
        north = np.sin(dbeta) + 2.0 * sin_1 * cos_2 * np.sin(omega / 2.0) ** 2
        chord = np.hypot(east, north)
        arc = np.arctan2(chord, sin_1 * np.sin(beta_2) + cos_1 * cos_2 * np.cos(omega))
        there = np.maximum(chord, 1e-300)
        across = east / there * cos_1
        squared = _SQUARED_ECCENTRICITY / (1.0 - _SQUARED_ECCENTRICITY) * (1.0 - across**2)
        begin = np.arctan2(sin_1, north / there * cos_1)
        roots = np.sqrt(1.0 + squared * np.sin(begin + arc * _POINTS[:, None]) ** 2)
        slower = _WEIGHTS @ ((2.0 - FLATTENING) / (1.0 + (1.0 - FLATTENING) * roots))
        omega = dlon + FLATTENING * across * slower * arc
    dist_nm = (1.0 - FLATTENING) * EQUATOR_RADIUS_M * arc * (_WEIGHTS @ roots) / NM_M
    return np.degrees(np.arctan2(east, north)), dist_nm, arc


@fitting
def direct(
    *, lat_deg: ArrayLike, lon_deg: ArrayLike, bearing_deg_true: ArrayLike, dist_nm: ArrayLike
) -> tuple[Result, Result]:
    """Position reached by going a distance in a direction, the shortest way over the earth.

    Parameters
    ----------
    lat_deg : float or array_like
        Latitude of the start, north positive. [deg], -90 to 90.
    lon_deg : float or array_like
        Longitude of the start, east positive. [deg], -360 to 360.
    bearing_deg_true : float or array_like
        Direction at the start, true. [deg], -3600 to 3600.
    dist_nm : float or array_like
        Distance. [NM], 0 to 11,000.

    Returns
    -------
    tuple of (float or numpy.ndarray)
        Latitude and longitude (-180 to 180), each in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Geodesic on WGS84. Source: ``geographiclib``.

    Terms: position from bearing and distance.

    Examples
    --------
    >>> lat_deg, lon_deg = direct(lat_deg=40.6, lon_deg=-73.8, bearing_deg_true=51.0, dist_nm=5_500_000 / 1852)
    >>> round(lat_deg, 6), round(lon_deg, 6)
    (51.884565, -1.141173)
    """
    dist = within("dist_nm", dist_nm, 0.0, 11_000.0, "NM", "is this in metres?")
    start = _lat("lat_deg", lat_deg), _lon("lon_deg", lon_deg)
    return _direct(*start, _direction("bearing_deg_true", bearing_deg_true), dist)


@fitting
def inverse(
    *, from_lat_deg: ArrayLike, from_lon_deg: ArrayLike, to_lat_deg: ArrayLike, to_lon_deg: ArrayLike
) -> tuple[Result, Result]:
    """Direction and distance from one position to another, the shortest way over the earth.

    Parameters
    ----------
    from_lat_deg, to_lat_deg : float or array_like
        Latitudes, north positive. [deg], -90 to 90.
    from_lon_deg, to_lon_deg : float or array_like
        Longitudes, east positive. [deg], -360 to 360.

    Returns
    -------
    tuple of (float or numpy.ndarray)
        True bearing at the start in [0, 360) and distance, each in the broadcast shape of the inputs.
        [deg], [NM]. Where both places are the same the bearing means nothing and is given as 0.

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Geodesic on WGS84. Source: ``geographiclib``.

    Terms: bearing and distance; great circle distance.

    Examples
    --------
    >>> bearing_deg_true, dist_nm = inverse(from_lat_deg=40.6, from_lon_deg=-73.8, to_lat_deg=51.6, to_lon_deg=-0.5)
    >>> round(bearing_deg_true, 6), round(dist_nm * 1852, 3)
    (51.198883, 5551759.4)
    """
    bearing, dist_nm = _inverse(
        _lat("from_lat_deg", from_lat_deg),
        _lon("from_lon_deg", from_lon_deg),
        _lat("to_lat_deg", to_lat_deg),
        _lon("to_lon_deg", to_lon_deg),
    )
    return plain(bearing), plain(dist_nm)


@fitting
def fix_position(
    *,
    station_lat_deg: ArrayLike,
    station_lon_deg: ArrayLike,
    declination_deg: ArrayLike,
    radial_deg: ArrayLike,
    dist_nm: ArrayLike,
) -> tuple[Result, Result]:
    """Position of a fix from the radial and the distance that define it.

    Parameters
    ----------
    station_lat_deg : float or array_like
        Latitude of the station, north positive. [deg], -90 to 90.
    station_lon_deg : float or array_like
        Longitude of the station, east positive. [deg], -360 to 360.
    declination_deg : float or array_like
        Declination of the station, east positive: true bearing of its zero radial. [deg], -180 to 180.
    radial_deg : float or array_like
        Radial, by the station's own alignment. [deg], -3600 to 3600.
    dist_nm : float or array_like
        Distance over the ground (not slant). [NM], 0 to 300.

    Returns
    -------
    tuple of (float or numpy.ndarray)
        Latitude and longitude (-180 to 180), each in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Geodesic on WGS84 in the true direction ``radial + declination``. Source: ``geographiclib``.

    Terms: position of a fix; radial and distance to latitude and longitude.

    Examples
    --------
    >>> lat_deg, lon_deg = fix_position(
    ...     station_lat_deg=36.90, station_lon_deg=-45.20, declination_deg=-13.0, radial_deg=310.0, dist_nm=10.0
    ... )
    >>> round(lat_deg, 5), round(lon_deg, 5)
    (36.97562, -45.38533)
    """
    dist = within("dist_nm", dist_nm, 0.0, RADIAL_DIST_MAX_NM, "NM", "is this in metres?")
    bearing = _direction("radial_deg", radial_deg) + _declination(declination_deg)
    station = _lat("station_lat_deg", station_lat_deg), _lon("station_lon_deg", station_lon_deg)
    return _direct(*station, bearing, dist)


@fitting
def radial_and_distance(
    *,
    station_lat_deg: ArrayLike,
    station_lon_deg: ArrayLike,
    declination_deg: ArrayLike,
    lat_deg: ArrayLike,
    lon_deg: ArrayLike,
) -> tuple[Result, Result]:
    """Radial and ground distance of a position from a station.

    Parameters
    ----------
    station_lat_deg : float or array_like
        Latitude of the station, north positive. [deg], -90 to 90.
    station_lon_deg : float or array_like
        Longitude of the station, east positive. [deg], -360 to 360.
    declination_deg : float or array_like
        Declination of the station, east positive: true bearing of its zero radial. [deg], -180 to 180.
    lat_deg : float or array_like
        Latitude of the position, north positive. [deg], -90 to 90.
    lon_deg : float or array_like
        Longitude of the position, east positive. [deg], -360 to 360.

    Returns
    -------
    tuple of (float or numpy.ndarray)
        Radial in [0, 360) by the station's alignment and distance over the ground, each in the broadcast
        shape of the inputs. [deg], [NM]. Over the station the radial means nothing and is given as 0.

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    True bearing of the geodesic at the station less its declination. Source: ``geographiclib``.

    Terms: radial and distance of a position.

    Examples
    --------
    >>> radial_deg, dist_nm = radial_and_distance(
    ...     station_lat_deg=36.90, station_lon_deg=-45.20, declination_deg=-13.0, lat_deg=37.05577, lon_deg=-45.12538
    ... )
    >>> round(radial_deg, 2), round(dist_nm, 2)
    (34.0, 10.0)
    """
    bearing, dist_nm = _inverse(
        _lat("station_lat_deg", station_lat_deg),
        _lon("station_lon_deg", station_lon_deg),
        _lat("lat_deg", lat_deg),
        _lon("lon_deg", lon_deg),
    )
    radial = np.asarray(wrap360(bearing - _declination(declination_deg)))
    return plain(np.where(dist_nm < _SAME_PLACE_NM, 0.0, radial)), plain(dist_nm)


def _radii_m(lat_rad: Floats) -> tuple[Floats, Floats]:
    """Radii of curvature of the ellipsoid along the meridian and across it."""
    shape = 1.0 - _SQUARED_ECCENTRICITY * np.sin(lat_rad) ** 2
    return EQUATOR_RADIUS_M * (1.0 - _SQUARED_ECCENTRICITY) / shape**1.5, EQUATOR_RADIUS_M / np.sqrt(shape)


def _plane(station_lat: Floats, lat_rad: Floats, dlon_rad: Floats) -> tuple[Floats, Floats]:
    """East and north from the station, in NM, from latitudes and the difference of longitude in radians."""
    mid, half_dlat, half_dlon = (station_lat + lat_rad) / 2.0, (lat_rad - station_lat) / 2.0, dlon_rad / 2.0
    # Delambre's equations for the triangle pole, station, place, with the ellipsoid's own radii at the middle.
    across, along = np.sin(half_dlon) * np.cos(mid), np.cos(half_dlon) * np.sin(half_dlat)
    half_chord = np.hypot(across, along)
    stretch = np.where(half_chord < 1e-12, 2.0, 2.0 * np.arcsin(half_chord) / np.maximum(half_chord, 1e-12))
    # The meridians of place and station lean towards each other: half of it shows at the station.
    half_lean = np.arctan2(np.sin(half_dlon) * np.sin(mid), np.cos(half_dlon) * np.cos(half_dlat))
    cos, sin = np.cos(half_lean), np.sin(half_lean)
    meridian_m, across_m = _radii_m(mid)
    east_m, north_m = across_m * across * stretch, meridian_m * along * stretch
    return (east_m * cos - north_m * sin) / NM_M, (north_m * cos + east_m * sin) / NM_M


@fitting
def plane_from_position(
    *, station_lat_deg: ArrayLike, station_lon_deg: ArrayLike, lat_deg: ArrayLike, lon_deg: ArrayLike
) -> tuple[Result, Result]:
    """Place a position on the flat plane round a station: NM east and NM north of it.

    Parameters
    ----------
    station_lat_deg : float or array_like
        Latitude of the station, north positive. [deg], -75 to 75.
    station_lon_deg : float or array_like
        Longitude of the station, east positive. [deg], -360 to 360.
    lat_deg : float or array_like
        Latitude of the position, north positive. [deg], -90 to 90.
    lon_deg : float or array_like
        Longitude of the position, east positive. [deg], -360 to 360.

    Returns
    -------
    tuple of (float or numpy.ndarray)
        Distance east and north of the station along its true axes, each in the broadcast shape of the
        inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Distance and true bearing *from the station* are those of the geodesic (Delambre's equations with the
    ellipsoid's radii at the middle latitude): within 2 m and 0.0002 deg up to 200 NM. Lines between two
    other places within 60 NM come out right to 1 part in 10,000. Source: ``computed``.

    Terms: flat plane round a station.

    Examples
    --------
    >>> east_nm, north_nm = plane_from_position(
    ...     station_lat_deg=36.90, station_lon_deg=-45.20, lat_deg=37.05577, lon_deg=-45.12538
    ... )
    >>> round(east_nm, 2), round(north_nm, 2)
    (3.58, 9.34)
    """
    station_lat = np.radians(_lat("station_lat_deg", station_lat_deg, PLANE_LAT_MAX_DEG))
    dlon = np.asarray(wrap180(_lon("lon_deg", lon_deg) - _lon("station_lon_deg", station_lon_deg)))
    east, north = _plane(station_lat, np.radians(_lat("lat_deg", lat_deg)), np.radians(dlon))
    return plain(east), plain(north)


@fitting
def position_from_plane(
    *, station_lat_deg: ArrayLike, station_lon_deg: ArrayLike, east_nm: ArrayLike, north_nm: ArrayLike
) -> tuple[Result, Result]:
    """Find the position of a point of the flat plane round a station.

    Parameters
    ----------
    station_lat_deg : float or array_like
        Latitude of the station, north positive. [deg], -75 to 75.
    station_lon_deg : float or array_like
        Longitude of the station, east positive. [deg], -360 to 360.
    east_nm, north_nm : float or array_like
        Distance east and north of the station along its true axes. [NM], -200 to 200.

    Returns
    -------
    tuple of (float or numpy.ndarray)
        Latitude and longitude (-180 to 180), each in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Inverse of :func:`plane_from_position`, found by repeated correction; the same accuracy.
    Source: ``computed``.

    Terms: flat plane round a station.

    Examples
    --------
    >>> lat_deg, lon_deg = position_from_plane(
    ...     station_lat_deg=36.90, station_lon_deg=-45.20, east_nm=3.584, north_nm=9.336
    ... )
    >>> round(lat_deg, 4), round(lon_deg, 4)
    (37.0558, -45.1254)
    """
    station_lat = np.radians(_lat("station_lat_deg", station_lat_deg, PLANE_LAT_MAX_DEG))
    station_lon = _lon("station_lon_deg", station_lon_deg)
    wanted_east = within("east_nm", east_nm, -PLANE_DIST_MAX_NM, PLANE_DIST_MAX_NM, "NM", "is this in metres?")
    wanted_north = within("north_nm", north_nm, -PLANE_DIST_MAX_NM, PLANE_DIST_MAX_NM, "NM", "is this in metres?")
    lat, dlon = station_lat + 0.0 * wanted_north, 0.0 * wanted_east
    for _ in range(6):
        east, north = _plane(station_lat, lat, dlon)
        # What is still missing, along the place's own meridian and across it: that leans against the plane's north.
        lean = dlon * np.sin(lat)
        more_east, more_north = wanted_east - east, wanted_north - north
        meridian_m, across_m = _radii_m(lat)
        lat, dlon = (
            lat + (more_north * np.cos(lean) - more_east * np.sin(lean)) * NM_M / meridian_m,
            dlon + (more_east * np.cos(lean) + more_north * np.sin(lean)) * NM_M / (across_m * np.cos(lat)),
        )
    return plain(np.degrees(lat)), wrap180(station_lon + np.degrees(dlon))
