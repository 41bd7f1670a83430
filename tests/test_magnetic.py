"""Variation against the model's own test values; stations and compasses by definition."""

from datetime import date, datetime
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from needlework.basis.errors import NoSolution, OutOfRange
from needlework.trade import magnetic
from needlework.trade.angles import difference_deg
from pygeomag import GeoMag

WMM = np.loadtxt(Path(__file__).parents[1] / "datasets/authorities/wmm.csv", delimiter=",")
FT_IN_KM = 1000 / 0.3048
STATIONS = [  # latitude, longitude, declination set, variation on 2026.9
    (36.90, -45.20, -13, -13.1),
    (37.65, -46.85, -13, -13.6),
    (36.15, -47.05, -12, -13.6),
    (37.25, -48.35, -13, -13.9),
    (36.45, -44.10, -13, -12.8),
]
EAST = st.floats(-40, 40)
DIRECTIONS = st.floats(0, 360)


def test_model_values():
    """NOAA NCEI test values, WMM2025 and WMM2020 editions, 18 rows (datasets/authorities/wmm.csv)."""
    year, height_km, lat, lon, declination = WMM.T
    # 0.0051: half a unit of the last printed digit; the limit of 500,000 ft lies above 100 km.
    assert (
        np.abs(
            magnetic.variation_deg(lat_deg=lat, lon_deg=lon, alt_ft=height_km * FT_IN_KM, decimal_year=year)
            - declination
        ).max()
        < 0.0051
    )


@pytest.mark.parametrize(
    ("lat", "lon", "height_km", "day", "declination", "tolerance"),
    [
        (42.283, -71.35, 1, date(2028, 7, 4), -13.6891, 0.0005),  # last printed digit and the time of day
        (42.283, -71.35, 1, date(2020, 7, 4), -14.2536, 0.0005),  # same
        (48.5, -5.5, 0, datetime(2026, 6, 21, 12), -0.4, 0.05),  # printed to one decimal
    ],
)
def test_mid_latitudes(lat, lon, height_km, day, declination, tolerance):
    """WMM2025 and WMM2020 by other programs, from the examples in their documentation."""
    found = magnetic.variation_deg(lat_deg=lat, lon_deg=lon, alt_ft=height_km * FT_IN_KM, decimal_year=day)
    assert found == pytest.approx(declination, abs=tolerance)


@pytest.mark.parametrize(
    ("year", "height_km", "lat", "lon", "declination"),
    [
        (2025.0, 65, 43, 93, 0.51),
        (2025.0, 51, -33, 109, -5.50),
        (2027.0, 61, 59, -77, -16.35),
        (2026.5, 44, -46, -42, -11.27),
    ],
)
def test_high_resolution_model(year, height_km, lat, lon, declination):
    """NOAA NCEI, WMMHR2025_TEST_VALUES.txt, the rows away from the pole: a finer model of the same field."""
    # 0.4: what the rocks of the crust, which our model leaves out, may do to the compass.
    assert magnetic.variation_deg(
        lat_deg=lat, lon_deg=lon, alt_ft=height_km * FT_IN_KM, decimal_year=year
    ) == pytest.approx(declination, abs=0.4)


@pytest.mark.parametrize(("lat", "lon", "declination", "variation"), STATIONS)
def test_stations_of_the_scenario(lat, lon, declination, variation):
    """Scenario: variation today (2026.9) at each station of the Merrow Isles, one decimal."""
    found = magnetic.variation_deg(lat_deg=lat, lon_deg=lon, alt_ft=0, decimal_year=2026.9)
    assert found == pytest.approx(variation, abs=0.0501)  # one decimal given
    finer = GeoMag(high_resolution=True).calculate(lat, lon, 0, 2026.9).d
    assert found == pytest.approx(finer, abs=0.5)  # the finer model sees the crust
    assert magnetic.alignment_error_deg(declination_deg=declination, variation_deg=found) == pytest.approx(
        declination - variation, abs=0.0501
    )


def test_ezrick_is_off():
    """Scenario: EZJ was aligned years ago; its radials differ from today's bearings by 1.6 degrees."""
    today = magnetic.variation_deg(lat_deg=36.15, lon_deg=-47.05, alt_ft=1150, decimal_year=2026.9)
    assert magnetic.compass_from_radial_deg(
        radial_deg=277, declination_deg=-12, variation_deg=today
    ) == pytest.approx(278.6, abs=0.05)  # one decimal given


def test_station_and_compass_example():
    """Definition: declination 3 E, variation 5 E: true bearing 100 is radial 097 and compass 095."""
    assert magnetic.radial_from_true_deg(bearing_deg_true=100, declination_deg=3) == 97
    assert magnetic.true_from_radial_deg(radial_deg=97, declination_deg=3) == 100
    assert magnetic.compass_from_radial_deg(radial_deg=97, declination_deg=3, variation_deg=5) == 95
    assert magnetic.radial_from_compass_deg(bearing_deg=95, declination_deg=3, variation_deg=5) == 97
    assert magnetic.to_magnetic_deg(direction_deg_true=100, variation_deg=5) == 95
    assert magnetic.to_true_deg(direction_deg=95, variation_deg=5) == 100
    assert magnetic.alignment_error_deg(declination_deg=3, variation_deg=5) == -2


@given(DIRECTIONS, EAST, EAST)
def test_conversions_undo_each_other(direction, declination, variation):
    """Definition: there and back again, and the compass differs from the radial by the alignment error."""
    compass = magnetic.compass_from_radial_deg(
        radial_deg=direction, declination_deg=declination, variation_deg=variation
    )
    back = magnetic.radial_from_compass_deg(bearing_deg=compass, declination_deg=declination, variation_deg=variation)
    assert difference_deg(from_deg=back, to_deg=direction) == pytest.approx(0, abs=1e-9)  # float remainder
    error = magnetic.alignment_error_deg(declination_deg=declination, variation_deg=variation)
    assert difference_deg(from_deg=difference_deg(from_deg=direction, to_deg=compass), to_deg=error) == pytest.approx(
        0, abs=1e-9
    )  # same
    true = magnetic.to_true_deg(direction_deg=direction, variation_deg=variation)
    assert difference_deg(
        from_deg=magnetic.to_magnetic_deg(direction_deg_true=true, variation_deg=variation), to_deg=direction
    ) == pytest.approx(0, abs=1e-9)  # same


def test_date_and_year_agree():
    """Definition: the first of July of a year of 366 days is 182 days in."""
    by_date = magnetic.variation_deg(lat_deg=37, lon_deg=-45, alt_ft=0, decimal_year=date(2028, 7, 1))
    assert by_date == magnetic.variation_deg(lat_deg=37, lon_deg=-45, alt_ft=0, decimal_year=2028 + 182 / 366)


def test_shapes_and_seams():
    """Definition: arrays broadcast; the longitude may be counted past the date line."""
    grid = magnetic.variation_deg(
        lat_deg=np.array([0, 30, 60.0])[:, None], lon_deg=np.array([-45.0, 315.0]), alt_ft=0, decimal_year=2026.5
    )
    assert grid.shape == (3, 2)
    assert grid[:, 0] == pytest.approx(grid[:, 1], abs=1e-9)  # float remainder
    assert isinstance(magnetic.variation_deg(lat_deg=37, lon_deg=-45, alt_ft=0, decimal_year=2026.5), float)
    # The change of model in 2025 does not jump by more than the models' own error.
    before, after = magnetic.variation_deg(lat_deg=37, lon_deg=-45, alt_ft=0, decimal_year=[2024.9999, 2025.0])
    assert before == pytest.approx(after, abs=0.3)


@pytest.mark.parametrize(
    ("arguments", "text"),
    [
        (
            {"lat_deg": 123, "lon_deg": 0, "alt_ft": 0, "decimal_year": 2026},
            r"lat_deg = 123 deg is outside -90 to 90 deg: is this a longitude\?",
        ),
        (
            {"lat_deg": 0, "lon_deg": 361, "alt_ft": 0, "decimal_year": 2026},
            "lon_deg = 361 deg is outside -360 to 360 deg",
        ),
        (
            {"lat_deg": 0, "lon_deg": 0, "alt_ft": 500_001, "decimal_year": 2026},
            "alt_ft = 500,001 ft is outside -3,000 to 500,000 ft",
        ),
        (
            {"lat_deg": 0, "lon_deg": 0, "alt_ft": 0, "decimal_year": 2019.99},
            "decimal_year = 2,019.99 year is outside 2,020 to 2,030 year: the models",
        ),
        (
            {"lat_deg": 0, "lon_deg": 0, "alt_ft": 0, "decimal_year": 2030.01},
            "decimal_year = 2,030.01 year is outside",
        ),
        (
            {"lat_deg": 0, "lon_deg": 0, "alt_ft": 0, "decimal_year": "2026-11-25"},
            "decimal_year = '2026-11-25' is not a number: expected 2,020 to 2,030 year",
        ),
        ({"lat_deg": float("nan"), "lon_deg": 0, "alt_ft": 0, "decimal_year": 2026}, "lat_deg = nan is not a number"),
    ],
)
def test_bad_values(arguments, text):
    """Definition: one sentence that names what was wrong and what was expected."""
    with pytest.raises(OutOfRange, match=text):
        magnetic.variation_deg(**arguments)


def test_limits_and_the_pole():
    """Definition: the ends of the models' life belong to it; at the magnetic pole there is no variation."""
    assert magnetic.variation_deg(lat_deg=37, lon_deg=-45, alt_ft=0, decimal_year=[2020, 2030]).shape == (2,)
    with pytest.raises(NoSolution, match=r"no usable variation at latitude 85.8, longitude 139.0"):
        magnetic.variation_deg(lat_deg=85.8, lon_deg=139.0, alt_ft=0, decimal_year=2025.0)
    with pytest.raises(OutOfRange, match="variation_deg = 181 deg is outside -180 to 180 deg: east is positive"):
        magnetic.to_true_deg(direction_deg=0, variation_deg=181)
    with pytest.raises(OutOfRange, match="declination_deg = -181 deg"):
        magnetic.radial_from_true_deg(bearing_deg_true=0, declination_deg=-181)


@pytest.mark.parametrize(("variation", "text"), [(-13.0, "13° W"), (5.04, "5° E"), (0, "0°"), (0.26, "0.3° E")])
def test_variation_text(variation, text):
    """Common practice, no source: size and letter."""
    assert magnetic.variation_text(variation) == text
