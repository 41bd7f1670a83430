"""Every rule of thumb against the exact function: what a docstring says of its error is measured here."""

import numpy as np
import pytest
from needlework.trade import altimetry, arc, descent, holding, intercept, units, vor, wind

SPEEDS_KT = np.array([60.0, 90.0, 120.0, 150.0])


def percent_off(rule, exact):
    """How much a rule gives too much, in per cent of the exact value."""
    return 100.0 * (np.asarray(rule) / np.asarray(exact) - 1.0)


def tas_off(rule, cas_kt, alt_ft):
    return percent_off(
        altimetry.tas_rule_kt(cas_kt=cas_kt, pressure_alt_ft=alt_ft, rule=rule),
        altimetry.tas_kt(cas_kt=cas_kt, pressure_alt_ft=alt_ft),
    )


@pytest.mark.parametrize(("alt_ft", "low", "high"), [(2000, 0.9, 1.1), (5000, 2.0, 3.0), (10_000, 3.0, 4.0)])
def test_two_per_cent_for_true_airspeed(alt_ft, low, high):
    """Independent method: tas_kt in standard air, for the speeds of light aircraft."""
    off = tas_off("2 percent", SPEEDS_KT, alt_ft)
    assert low < off.min()
    assert off.max() < high


def test_five_knots_for_true_airspeed():
    """Independent method: tas_kt in standard air at 10,000 ft; made for 200 to 300 kt, and useless below."""
    assert tas_off("5 kt", [300.0, 250.0, 200.0, 120.0], 10_000).round().tolist() == [1, 4, 8, 22]


def test_squares_for_true_airspeed():
    """Independent method: tas_kt in standard air, from 5,000 to 15,000 ft and 60 to 300 kt."""
    cas, alt = np.meshgrid(np.linspace(60, 300, 25), np.linspace(5000, 15_000, 41))
    off = np.abs(tas_off("square", cas, alt))
    assert 1.6 < off.max() < 1.7
    assert np.abs(tas_off("square", SPEEDS_KT, 10_000)).max() < 0.3  # nearest there


def test_sixty_for_drift():
    """Independent method: asin(wind / tas), for winds up to half the airspeed."""
    winds = np.linspace(1.0, 50.0, 99)
    off = percent_off(wind.max_drift_rule_deg(wind_kt=winds, tas_kt=100), np.degrees(np.arcsin(winds / 100.0)))
    assert off.min() > -1e-9
    assert 4.6 < off.max() < 5.0


def test_clock_parts():
    """Independent method: the sine; 4 per cent high at 60 degrees, 5 low next to the nose, 4 of the wind at most."""
    angles = np.arange(1.0, 91.0)
    found = np.asarray(wind.clock_crosswind_kt(direction_deg=0, wind_from_deg=angles, wind_kt=100))
    exact = 100.0 * np.sin(np.radians(angles))
    off = percent_off(found, exact)
    assert off.argmax() == 59
    assert off.max() == pytest.approx(3.9, abs=0.05)  # one decimal
    assert off.argmin() == 0
    assert off.min() == pytest.approx(-4.5, abs=0.05)  # one decimal
    assert np.abs(found - exact).max() < 4.0


def test_sixty_times_crosswind_over_airspeed():
    """Independent method: correction_deg all round the compass, winds up to a quarter of the airspeed."""
    courses, winds = np.meshgrid(np.arange(1.0, 360.0, 0.5), np.array([5.0, 10.0, 20.0, 25.0]))
    air = {"course_deg": courses, "tas_kt": 100, "wind_from_deg": 0, "wind_kt": winds}
    rule, exact = np.abs(wind.correction_rule_deg(**air)), np.abs(wind.correction_deg(**air))
    assert (rule - exact).max() < 1.0
    assert (rule - exact).min() > -0.01
    along = exact > 0.1  # at right angles to nothing there is no per cent
    off = percent_off(rule[along], exact[along])
    assert 8.5 < off.max() < 9.0
    assert np.abs(np.sin(np.radians(courses[along][off.argmax()]))) == pytest.approx(0.87, abs=0.01)  # 60 degrees


@pytest.mark.parametrize("elevation_ft", [0, 1000, 3000, 8000])
def test_four_per_cent_in_cold_air(elevation_ft):
    """Independent method: cold_formula_ft; never short down to -15 deg C and 5,000 ft above the field."""
    height, cold = np.meshgrid(np.linspace(0, 5000, 51), np.linspace(-15, 15, 31))
    at = {"height_ft": height, "temperature_c": cold, "elevation_ft": elevation_ft}
    over = np.asarray(altimetry.cold_rule_ft(**at)) - np.asarray(altimetry.cold_formula_ft(**at))
    needed = np.asarray(altimetry.cold_formula_ft(**at)) > 0.0
    assert over[needed].min() >= 0.0
    assert over[needed].max() < 21.0


@pytest.mark.parametrize(
    ("height_ft", "temperature_c", "short_ft"),
    [(10_000, -20, 40), (2000, -30, 13), (2000, -40, 36), (10_000, -15, 9)],
)
def test_where_four_per_cent_falls_short(height_ft, temperature_c, short_ft):
    """Independent method: cold_formula_ft at a field at sea level, to a foot."""
    at = {"height_ft": height_ft, "temperature_c": temperature_c}
    assert altimetry.cold_formula_ft(**at) - altimetry.cold_rule_ft(**at) == pytest.approx(
        short_ft, abs=0.5
    )  # a foot


@pytest.mark.parametrize(("ratio", "short"), [(4 / 3, 0.7), (3 / 4, 0.7), (2 / 3, 1.35), (1 / 2, 3.8)])
def test_plain_mean_of_two_speeds(ratio, short):
    """Definition: ln(v2 / v1) / (v2 - v1) against 2 / (v1 + v2)."""
    mean = descent.time_s(dist_nm=5, gs_kt=100 * (1 + ratio) / 2)
    exact = descent.changing_time_s(dist_nm=5, start_gs_kt=100, end_gs_kt=100 * ratio)
    assert percent_off(mean, exact) == pytest.approx(-short, abs=0.03)  # the docstring rounds


def test_three_miles_a_thousand_feet():
    """Definition: 1,000 ft over the tangent of three degrees are 3.14 NM; the rule is 4.5 per cent short."""
    exact = descent.start_nm(lose_ft=1000, gradient_ft_nm=units.ft_nm_from_deg(3.0))
    assert exact == pytest.approx(3.14, abs=0.005)  # two decimals
    assert percent_off(descent.start_rule_nm(1000), exact) == pytest.approx(-4.5, abs=0.05)  # one decimal


@pytest.mark.parametrize(
    ("dist_nm", "angle_deg", "low"), [(15, 30, 1.3), (8, 45, 1.3), (5, 60, 1.3), (2, 90, 2.3), (1, 90, 5.3)]
)
def test_lead_by_rule(dist_nm, angle_deg, low):
    """Independent method: lead_deg for 90 kt, one decimal."""
    rule = intercept.lead_rule_deg(dist_nm=dist_nm, gs_kt=90, angle_deg=angle_deg)
    exact = intercept.lead_deg(dist_nm=dist_nm, tas_kt=90, angle_deg=angle_deg)
    assert percent_off(rule, exact) == pytest.approx(-low, abs=0.05)  # one decimal


@pytest.mark.parametrize(("change_deg", "high"), [(5, 5), (10, 6), (15, 7), (20, 9), (30, 15)])
def test_wing_tip_rule(change_deg, high):
    """Independent method: wing_tip_distance_nm, whole per cent."""
    flown = {"change_deg": change_deg, "elapsed_min": 2, "gs_kt": 120}
    rule, exact = intercept.distance_to_station_rule_nm(**flown), intercept.wing_tip_distance_nm(**flown)
    assert percent_off(rule, exact).round() == high


@pytest.mark.parametrize(("part", "high"), [(0.05, 5), (0.1, 5), (0.5, 13)])
def test_sixty_times_beside_over_to_go(part, high):
    """Independent method: off_deg, whole per cent."""
    assert percent_off(60.0 * part, vor.off_deg(offset_nm=part, to_go_nm=1.0)).round() == high


def test_sixty_to_one_along_an_arc():
    """Definition: 60 for 57.3; 4.5 per cent low at any size."""
    rule, exact = arc.length_rule_nm(arc_nm=12, angle_deg=45), arc.length_nm(arc_nm=12, angle_deg=45)
    assert percent_off(rule, exact) == pytest.approx(-4.5, abs=0.05)  # one decimal


def test_cone_of_fifty_degrees():
    """ICAO Doc 8168 Vol I, I-2-2, 2.4.4.1: 50 degrees from the vertical; a fifth wider than with 45."""
    wide = vor.cone_radius_nm(height_ft=3000, half_angle_deg=50)
    assert percent_off(wide, vor.cone_radius_nm(height_ft=3000)) == pytest.approx(19, abs=0.5)  # a fifth


@pytest.mark.parametrize(
    ("leg_nm", "factor", "off_nm"), [(1.6, 3.0, 0.0), (4.0, 1.0, 0.5), (4.0, 3.0, -0.83), (4.0, 1.8, 0.0)]
)
def test_drift_on_a_long_leg(leg_nm, factor, off_nm):
    """Independent method: a lap flown by holding.lap at 96 kt, 15 kt square across; P-871 ch. 4 for long legs."""
    wca = float(wind.correction_deg(course_deg=345, tas_kt=96, wind_from_deg=255, wind_kt=15))
    heading = float(holding.outbound_heading_deg(inbound_course_deg=345, wca_deg=wca, factor=factor))
    lap = holding.lap(
        tas_kt=96,
        inbound_course_deg=345,
        side="right",
        wind_from_deg=255,
        wind_kt=15,
        outbound_deg=heading,
        outbound_s=leg_nm / 96 * 3600 / np.cos(np.radians(heading - 165)),
    )
    assert lap.off_nm == pytest.approx(off_nm, abs=0.04)  # a rule, for small angles
