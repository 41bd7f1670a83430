"""Positions against GeographicLib's own test set, printed examples and the scenario."""

from pathlib import Path

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st
from needlework.basis.errors import OutOfRange
from needlework.trade import geodesy
from needlework.trade.angles import difference_deg

NM_M = 1852.0
GEODESICS = np.loadtxt(Path(__file__).parents[1] / "datasets/authorities/geodesics.csv", delimiter=",")
STATIONS = {
    "OVK": {"station_lat_deg": 36.90, "station_lon_deg": -45.20, "declination_deg": -13},
    "WYG": {"station_lat_deg": 37.65, "station_lon_deg": -46.85, "declination_deg": -13},
    "EZJ": {"station_lat_deg": 36.15, "station_lon_deg": -47.05, "declination_deg": -12},
    "TVU": {"station_lat_deg": 37.25, "station_lon_deg": -48.35, "declination_deg": -13},
}
FIXES = [
    ("TUMSI", "OVK", 310, 24, 37.08100, -45.64540),
    ("GELPO", "OVK", 310, 10, 36.97562, -45.38533),
    ("DOVAN", "OVK", 34, 10, 37.05577, -45.12538),
    ("KESTU", "OVK", 34, 5, 36.97789, -45.16273),
    ("PARDO", "OVK", 214, 3, 36.85326, -45.22233),
    ("P1 MAP", "OVK", 214, 4.7, 36.82677, -45.23497),
    ("P1 threshold", "OVK", 214, 5.2, 36.81898, -45.23868),
    ("BELDU", "OVK", 165, 14, 36.69363, -45.06379),
    ("NULBO", "WYG", 268, 12, 37.59792, -47.09308),
    ("FOSKA", "WYG", 203, 12, 37.45280, -46.89362),
    ("JETIR", "WYG", 203, 6, 37.55140, -46.87184),
    ("P2 MAP", "WYG", 203, 1.1, 37.63192, -46.85401),
    ("LIDRA", "WYG", 75, 12, 37.74379, -46.62736),
    ("SEMPA", "EZJ", 18, 13, 36.36578, -47.02196),
    ("KALWE", "EZJ", 101, 13, 36.15349, -46.78250),
    ("HEXAL", "EZJ", 340, 16, 36.37634, -47.22499),
    ("P3 threshold", "EZJ", 277, 4.7, 36.14312, -47.14635),
    ("P4 threshold", "TVU", 82, 4.3, 37.27569, -48.26617),
]


def at(position):
    """The two keywords of a position."""
    return {"lat_deg": position[0], "lon_deg": position[1]}


def test_inverse_against_geographiclib():
    """GeographicLib, geographiclib 2.1, test_geodesic.py, 20 rows: distance and first azimuth."""
    lat_1, lon_1, azimuth_1, lat_2, lon_2, _, metres = GEODESICS.T
    bearing, dist_nm = geodesy.inverse(from_lat_deg=lat_1, from_lon_deg=lon_1, to_lat_deg=lat_2, to_lon_deg=lon_2)
    # 1e-8 m is what the set promises; conversion to NM and back adds a few 1e-9.
    assert np.abs(dist_nm * NM_M - metres).max() < 2e-8
    # 1e-12: the set promises 1e-13, bringing the bearing into 0 to 360 costs one digit.
    assert np.abs(difference_deg(from_deg=bearing, to_deg=azimuth_1)).max() < 1e-12


def test_many_short_lines_against_geographiclib():
    """GeographicLib (Karney, Algorithms for geodesics, 2013): accurate to 15 nm; poles, equator, date line."""
    rng = np.random.default_rng(5)
    lat_1 = np.degrees(np.arcsin(rng.uniform(-1.0, 1.0, 3000)))
    lon_1, bearing = rng.uniform(-180.0, 180.0, 3000), rng.uniform(0.0, 360.0, 3000)
    metres = 10.0 ** rng.uniform(-2.0, 6.3, 3000)
    lat_1[:100], lat_1[100:200], lat_1[200:400] = 90.0, -90.0, 0.0
    bearing[300:500], lon_1[500:700], bearing[700:800] = 90.0, 180.0, 0.0
    ends = [Geodesic.WGS84.Direct(*each) for each in zip(lat_1, lon_1, bearing, metres, strict=True)]
    lat_2, lon_2 = (np.array([end[name] for end in ends]) for name in ("lat2", "lon2"))
    exact = [Geodesic.WGS84.Inverse(*each) for each in zip(lat_1, lon_1, lat_2, lon_2, strict=True)]
    wanted_m, azimuth = (np.array([line[name] for line in exact]) for name in ("s12", "azi1"))
    found, dist_nm = geodesy.inverse(from_lat_deg=lat_1, from_lon_deg=lon_1, to_lat_deg=lat_2, to_lon_deg=lon_2)
    # 1.5e-8 m along and across the line is what GeographicLib promises of its own; 1e-15 of 2,000 km is less.
    assert np.abs(dist_nm * NM_M - wanted_m).max() < 1.5e-8
    across_m = np.radians(np.abs(difference_deg(from_deg=found, to_deg=azimuth))) * np.minimum(wanted_m, 630_000.0)
    assert across_m.max() < 1.5e-8
    same_place = geodesy.inverse(from_lat_deg=np.full(40, 5.0), from_lon_deg=9.0, to_lat_deg=5.0, to_lon_deg=-351.0)
    assert not np.any(same_place)


def test_long_lines_among_many():
    """GeographicLib, geographiclib 2.1, test_geodesic.py, 20 rows twice: long lines among many points."""
    lat_1, lon_1, azimuth_1, lat_2, lon_2, _, metres = np.tile(GEODESICS, (2, 1)).T
    bearing, dist_nm = geodesy.inverse(from_lat_deg=lat_1, from_lon_deg=lon_1, to_lat_deg=lat_2, to_lon_deg=lon_2)
    assert np.abs(dist_nm * NM_M - metres).max() < 2e-8  # as above
    assert np.abs(difference_deg(from_deg=bearing, to_deg=azimuth_1)).max() < 1e-12


def test_direct_against_geographiclib():
    """GeographicLib, geographiclib 2.1, test_geodesic.py, 20 rows: end positions."""
    lat_1, lon_1, azimuth_1, lat_2, lon_2, _, metres = GEODESICS.T
    lat, lon = geodesy.direct(lat_deg=lat_1, lon_deg=lon_1, bearing_deg_true=azimuth_1, dist_nm=metres / NM_M)
    assert np.abs(lat - lat_2).max() < 1e-12  # the set promises 1e-13; NM cost one digit
    assert np.abs(difference_deg(from_deg=lon, to_deg=lon_2)).max() < 1e-12  # same


@pytest.mark.parametrize(
    ("ends", "metres", "azimuth", "tolerance_m"),
    [
        ((40.6, -73.8, 51.6, -0.5), 5551759.400, 51.19888285, 0.001),
        ((-41.32, 174.81, 40.96, -5.50), 19959679.267, None, 0.001),
        # GRS80 in the manual: its flattening differs from WGS84 in the eleventh digit.
        (
            (-37.95103341666667, 144.42486788888888, -37.65282113888889, 143.92649552777778),
            54972.271,
            306.868159,
            0.001,
        ),
    ],
)
def test_printed_geodesics(ends, metres, azimuth, tolerance_m):
    """GeographicLib documentation examples; GDA manual, Flinders Peak to Buninyong (figures from memory)."""
    bearing, dist_nm = geodesy.inverse(
        **dict(zip(("from_lat_deg", "from_lon_deg", "to_lat_deg", "to_lon_deg"), ends, strict=True))
    )
    assert dist_nm * NM_M == pytest.approx(metres, abs=tolerance_m)  # last printed digit
    if azimuth is not None:
        assert bearing == pytest.approx(azimuth, abs=1e-6)  # last printed digit


@pytest.mark.parametrize(
    ("start", "metres", "end"),
    [
        ((-32.06, 115.74, 225), 20_000_000, (32.11195529, -63.95925278)),
        ((40.6, -73.8, 51), 5_500_000, (51.88456451, -1.14117286)),
    ],
)
def test_printed_direct(start, metres, end):
    """GeographicLib JavaScript and C++ documentation examples, eight decimals."""
    lat, lon, bearing = start
    found = geodesy.direct(lat_deg=lat, lon_deg=lon, bearing_deg_true=bearing, dist_nm=metres / NM_M)
    assert found == pytest.approx(end, abs=1e-8)  # last printed digit


def test_minute_of_latitude():
    """Definition: WGS84: one minute of latitude at the equator, at 45 degrees and at the pole; a quarter meridian."""
    centre = np.array([0, 45, 90 - 1 / 120])
    _, minute_nm = geodesy.inverse(
        from_lat_deg=centre - 1 / 120, from_lon_deg=0, to_lat_deg=centre + 1 / 120, to_lon_deg=0
    )
    assert minute_nm * NM_M == pytest.approx([1842.905, 1852.196, 1861.566], abs=0.001)  # last printed digit
    assert geodesy.inverse(from_lat_deg=0, from_lon_deg=10, to_lat_deg=90, to_lon_deg=10)[1] * NM_M == pytest.approx(
        10001965.729, abs=0.001
    )  # last printed digit


@pytest.mark.parametrize(("lat", "limit"), [(0, 0.0049), (30, 0.0026), (45, 0.0035), (60, 0.0043)])
def test_flat_earth_arithmetic(lat, limit):
    """Independent method: NM north = 60 dlat, NM east = 60 dlon cos(middle latitude), from 5 to 40 NM."""
    bearing, dist = np.arange(0, 360, 5.0)[:, None], np.array([5, 10, 20, 40.0])
    lat_2, lon_2 = geodesy.direct(lat_deg=lat, lon_deg=0, bearing_deg_true=bearing, dist_nm=dist)
    rough = 60 * np.hypot(lat_2 - lat, lon_2 * np.cos(np.radians((lat + lat_2) / 2)))
    # The sphere with 60 NM to the degree is off by this much, and reaches it somewhere.
    assert np.abs(rough / dist - 1).max() == pytest.approx(limit, abs=0.0001)


@pytest.mark.parametrize(("name", "station", "radial", "dist", "lat", "lon"), FIXES, ids=[row[0] for row in FIXES])
def test_fixes_of_the_scenario(name, station, radial, dist, lat, lon):
    """Scenario: positions of the Merrow Isles' fixes, five decimals."""
    found = geodesy.fix_position(**STATIONS[station], radial_deg=radial, dist_nm=dist)
    assert found == pytest.approx((lat, lon), abs=0.6e-5)  # print
    found_radial, found_dist = geodesy.radial_and_distance(**STATIONS[station], lat_deg=lat, lon_deg=lon)
    # Half a unit of the fifth decimal is 0.0003 NM, and over the distance so many degrees.
    assert found_dist == pytest.approx(dist, abs=0.0005)
    assert difference_deg(from_deg=found_radial, to_deg=radial) == pytest.approx(0, abs=0.0005 / dist * 57.3)


@given(st.floats(-89, 89), st.floats(-180, 180), st.floats(-40, 40), st.floats(0, 360), st.floats(0.01, 200))
def test_fix_and_radial_undo_each_other(lat, lon, declination, radial, dist):
    """Definition: the radial and distance of a fix are those that define it, all over the earth."""
    position = geodesy.fix_position(
        station_lat_deg=lat, station_lon_deg=lon, declination_deg=declination, radial_deg=radial, dist_nm=dist
    )
    found_radial, found_dist = geodesy.radial_and_distance(
        station_lat_deg=lat, station_lon_deg=lon, declination_deg=declination, **at(position)
    )
    assert found_dist == pytest.approx(dist, abs=1e-9)  # float degrees
    assert difference_deg(from_deg=found_radial, to_deg=radial) == pytest.approx(
        0, abs=1e-6
    )  # float degrees over 0.01 NM


def test_seams():
    """Definition: radial 360 is radial 0; the date line and a station near the pole make no difference."""
    assert geodesy.fix_position(
        station_lat_deg=37, station_lon_deg=-45, declination_deg=-13, radial_deg=360, dist_nm=10
    ) == pytest.approx(
        geodesy.fix_position(station_lat_deg=37, station_lon_deg=-45, declination_deg=-13, radial_deg=0, dist_nm=10)
    )
    _, lon = geodesy.fix_position(
        station_lat_deg=10, station_lon_deg=179.95, declination_deg=0, radial_deg=90, dist_nm=20
    )
    assert -180 <= lon < -179
    east_of_line = geodesy.radial_and_distance(
        station_lat_deg=10, station_lon_deg=179.95, declination_deg=0, lat_deg=10, lon_deg=-179.95
    )
    same = geodesy.radial_and_distance(
        station_lat_deg=10, station_lon_deg=179.95, declination_deg=0, lat_deg=10, lon_deg=180.05
    )
    assert east_of_line == pytest.approx(same, abs=1e-9)  # float
    assert geodesy.inverse(from_lat_deg=90, from_lon_deg=0, to_lat_deg=89, to_lon_deg=30)[1] == pytest.approx(
        60 * 1861.57 / NM_M, rel=1e-5
    )  # a degree at the pole
    lat, _ = geodesy.fix_position(
        station_lat_deg=89.9, station_lon_deg=0, declination_deg=0, radial_deg=0, dist_nm=12
    )  # 6 NM to the pole and 6 beyond
    assert lat == pytest.approx(89.9, abs=0.002)  # a degree at the pole is 60.3 NM


def test_over_the_station():
    """Definition: at the station the distance is 0 and the radial is given as 0, whatever the declination."""
    assert geodesy.radial_and_distance(
        station_lat_deg=36.9, station_lon_deg=-45.2, declination_deg=-13, lat_deg=36.9, lon_deg=-45.2
    ) == (0.0, 0.0)
    assert geodesy.inverse(from_lat_deg=36.9, from_lon_deg=-45.2, to_lat_deg=36.9, to_lon_deg=314.8) == pytest.approx(
        (0.0, 0.0), abs=1e-9
    )  # float longitudes
    assert geodesy.fix_position(
        station_lat_deg=36.9, station_lon_deg=-45.2, declination_deg=-13, radial_deg=123, dist_nm=0
    ) == pytest.approx((36.9, -45.2), abs=1e-12)  # float
    assert geodesy.plane_from_position(station_lat_deg=36.9, station_lon_deg=-45.2, lat_deg=36.9, lon_deg=-45.2) == (
        0.0,
        0.0,
    )


def test_declination_turns_the_radial():
    """Definition: true bearing = radial + declination, east positive."""
    west = geodesy.fix_position(
        station_lat_deg=37, station_lon_deg=-45, declination_deg=-13, radial_deg=13, dist_nm=10
    )
    assert west == pytest.approx(
        geodesy.direct(lat_deg=37, lon_deg=-45, bearing_deg_true=0, dist_nm=10), abs=1e-12
    )  # float
    assert west[0] > 37
    assert west[1] == pytest.approx(-45, abs=1e-9)  # due north


@pytest.mark.parametrize("lat", [-75, -60, 0, 37, 60, 75])
def test_plane_against_the_geodesic(lat):
    """Independent method: distance and bearing on the plane against the geodesic, all round the station."""
    bearing, dist = np.arange(0, 360, 15.0)[:, None], np.array([0.1, 10, 60, 199.0])
    position = geodesy.direct(lat_deg=lat, lon_deg=179.5, bearing_deg_true=bearing, dist_nm=dist)
    east, north = geodesy.plane_from_position(station_lat_deg=lat, station_lon_deg=179.5, **at(position))
    assert np.abs(np.hypot(east, north) - dist).max() * NM_M < 2  # stated in the docstring
    assert (
        np.abs(difference_deg(from_deg=np.degrees(np.arctan2(east, north)), to_deg=bearing)).max() < 0.0002
    )  # stated
    assert geodesy.position_from_plane(station_lat_deg=lat, station_lon_deg=179.5, east_nm=east, north_nm=north)[
        0
    ] == pytest.approx(position[0], abs=1e-9)  # float
    back = difference_deg(
        from_deg=geodesy.position_from_plane(
            station_lat_deg=lat, station_lon_deg=179.5, east_nm=east, north_nm=north
        )[1],
        to_deg=position[1],
    )
    assert np.abs(back).max() < 1e-8  # repeated correction, 1 mm


def test_lines_on_the_plane():
    """Independent method: lines between two places away from the station, against the geodesic."""
    rng = np.random.default_rng(7)
    first, second = (
        geodesy.direct(
            lat_deg=37, lon_deg=-45, bearing_deg_true=rng.uniform(0, 360, 100), dist_nm=rng.uniform(0, 60, 100)
        )
        for _ in range(2)
    )
    across = np.subtract(
        geodesy.plane_from_position(station_lat_deg=37, station_lon_deg=-45, **at(first)),
        geodesy.plane_from_position(station_lat_deg=37, station_lon_deg=-45, **at(second)),
    )
    _, wanted_nm = geodesy.inverse(
        from_lat_deg=first[0], from_lon_deg=first[1], to_lat_deg=second[0], to_lon_deg=second[1]
    )
    assert np.abs(np.hypot(*across) / wanted_nm - 1).max() < 1e-4  # stated in the docstring


@given(st.floats(-75, 75), st.floats(-200, 200), st.floats(-200, 200))
def test_plane_there_and_back(lat, east, north):
    """Definition: the two plane functions undo each other."""
    position = geodesy.position_from_plane(station_lat_deg=lat, station_lon_deg=-180, east_nm=east, north_nm=north)
    assert geodesy.plane_from_position(station_lat_deg=lat, station_lon_deg=-180, **at(position)) == pytest.approx(
        (east, north), abs=1e-9
    )  # repeated correction, converged


def test_arrays_broadcast():
    """Definition: arrays broadcast, scalars give floats."""
    lat, lon = geodesy.fix_position(
        station_lat_deg=37,
        station_lon_deg=-45,
        declination_deg=-13,
        radial_deg=np.arange(0, 360, 90)[:, None],
        dist_nm=np.array([5.0, 10, 15]),
    )
    assert lat.shape == lon.shape == (4, 3)
    radial, dist = geodesy.radial_and_distance(
        station_lat_deg=37, station_lon_deg=-45, declination_deg=-13, lat_deg=lat, lon_deg=lon
    )
    assert dist[2] == pytest.approx([5, 10, 15], abs=1e-9)  # float
    assert radial.shape == (4, 3)
    assert all(
        isinstance(part, float)
        for part in geodesy.inverse(from_lat_deg=0, from_lon_deg=0, to_lat_deg=1, to_lon_deg=1)
        + geodesy.position_from_plane(station_lat_deg=0, station_lon_deg=0, east_nm=1, north_nm=1)
    )


@pytest.mark.parametrize(
    ("function", "arguments", "text"),
    [
        (
            geodesy.direct,
            {"lat_deg": 123, "lon_deg": 0, "bearing_deg_true": 0, "dist_nm": 1},
            r"lat_deg = 123 deg is outside -90 to 90 deg: is this a longitude\?",
        ),
        (
            geodesy.direct,
            {"lat_deg": 0, "lon_deg": 361, "bearing_deg_true": 0, "dist_nm": 1},
            "lon_deg = 361 deg is outside -360 to 360 deg: east is positive",
        ),
        (
            geodesy.direct,
            {"lat_deg": 0, "lon_deg": 0, "bearing_deg_true": float("nan"), "dist_nm": 1},
            "bearing_deg_true = nan is not a number",
        ),
        (
            geodesy.direct,
            {"lat_deg": 0, "lon_deg": 0, "bearing_deg_true": 0, "dist_nm": 18520},
            r"dist_nm = 18,520 NM is outside 0 to 11,000 NM: is this in metres\?",
        ),
        (
            geodesy.fix_position,
            {"station_lat_deg": 0, "station_lon_deg": 0, "declination_deg": 200, "radial_deg": 0, "dist_nm": 1},
            "declination_deg = 200 deg is outside -180 to 180",
        ),
        (
            geodesy.fix_position,
            {"station_lat_deg": 0, "station_lon_deg": 0, "declination_deg": 0, "radial_deg": 0, "dist_nm": 301},
            "dist_nm = 301 NM is outside 0 to 300 NM",
        ),
        (
            geodesy.inverse,
            {"from_lat_deg": 0, "from_lon_deg": 0, "to_lat_deg": -91, "to_lon_deg": 0},
            "to_lat_deg = -91 deg",
        ),
        (
            geodesy.radial_and_distance,
            {"station_lat_deg": 0, "station_lon_deg": 0, "declination_deg": 0, "lat_deg": 0, "lon_deg": None},
            "lon_deg = None is not a number",
        ),
        (
            geodesy.plane_from_position,
            {"station_lat_deg": 76, "station_lon_deg": 0, "lat_deg": 0, "lon_deg": 0},
            "station_lat_deg = 76 deg is outside -75 to 75 deg",
        ),
        (
            geodesy.position_from_plane,
            {"station_lat_deg": 0, "station_lon_deg": 0, "east_nm": 201, "north_nm": 0},
            "east_nm = 201 NM is outside -200 to 200 NM",
        ),
    ],
)
def test_bad_values(function, arguments, text):
    """Definition: one sentence that names what was wrong and what was expected."""
    with pytest.raises(OutOfRange, match=text):
        function(**arguments)
