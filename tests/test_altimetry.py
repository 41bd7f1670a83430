"""Altimetry: standard atmosphere, settings, cold air, true airspeed."""

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from needlework.basis.errors import OutOfRange
from needlework.trade import altimetry

AUTHORITIES = Path(__file__).parents[1] / "datasets" / "authorities"


def table(name):
    lines = (AUTHORITIES / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


COLD = [
    (int(row["temperature_c"]), int(height_ft), int(add_ft))
    for row in table("cold_temperature_table.csv")
    for height_ft, add_ft in row.items()
    if height_ft != "temperature_c"
]


@pytest.mark.parametrize("row", table("standard_atmosphere.csv"), ids=lambda row: row["alt_ft"])
def test_standard_atmosphere_in_print(row):
    """ICAO standard atmosphere, published table, even rows 0 to 16,000 ft."""
    alt_ft = float(row["alt_ft"])
    inches = altimetry.inhg_from_hpa(altimetry.standard_pressure_hpa(alt_ft))
    assert inches == pytest.approx(float(row["pressure_inhg"]), abs=0.02)  # the printing truncates its last digit
    fahrenheit = altimetry.standard_temperature_c(alt_ft) * 1.8 + 32
    assert fahrenheit == pytest.approx(float(row["temperature_f"]), abs=0.1)  # printed digit


@pytest.mark.parametrize(
    ("alt_ft", "wanted_hpa", "wanted_c"),
    [
        (0, 1013.25, 15.0), (1000, 977.17, 13.0), (2000, 942.13, 11.0), (3000, 908.12, 9.1), (4000, 875.11, 7.1),
        (6000, 812.00, 3.1), (10000, 696.82, -4.8), (12000, 644.41, -8.8), (16000, 549.15, -16.7),
        (18000, 506.00, -20.7),
    ],
)  # fmt: skip
def test_standard_atmosphere_computed(alt_ft, wanted_hpa, wanted_c):
    """Definition: the standard atmosphere, computed apart from the library."""
    assert altimetry.standard_pressure_hpa(alt_ft) == pytest.approx(wanted_hpa, abs=0.01)  # printed digits
    assert altimetry.standard_temperature_c(alt_ft) == pytest.approx(wanted_c, abs=0.051)  # printed digits


@given(st.floats(-1500, 30000))
def test_pressure_falls_as_the_air_weighs(alt_ft):
    """Independent method: hydrostatic balance with the gas law, from Pa, K, m and g."""
    step_ft = 10.0
    fall_pa = 100 * (
        altimetry.standard_pressure_hpa(alt_ft - step_ft) - altimetry.standard_pressure_hpa(alt_ft + step_ft)
    )
    density = (
        100
        * altimetry.standard_pressure_hpa(alt_ft)
        / (287.05287 * (altimetry.standard_temperature_c(alt_ft) + 273.15))
    )
    # The coefficients carry eight digits, the difference keeps five of them.
    assert fall_pa == pytest.approx(density * 9.80665 * 2 * step_ft * 0.3048, rel=1e-4)


def test_inches_and_hectopascals():
    """Definition: 29.92 and 1013.25 are the same setting to the printed digit."""
    assert altimetry.inhg_from_hpa(1013.25) == pytest.approx(29.92, abs=0.005)
    assert altimetry.hpa_from_inhg(altimetry.inhg_from_hpa(987.0)) == pytest.approx(987)
    with pytest.raises(OutOfRange, match="in hectopascals"):
        altimetry.hpa_from_inhg(1013)
    with pytest.raises(OutOfRange, match="inches of mercury"):
        altimetry.inhg_from_hpa(29.92)


def test_pressure_altitude():
    """CNATRA P-203 p. 97: 10,000 ft on 31.12 is 8,800 ft by the rule; the physics gives 8,910."""
    assert altimetry.pressure_altitude_rule_ft(indicated_ft=10000, setting_inhg=31.12) == pytest.approx(8800)
    exact_ft = altimetry.pressure_altitude_ft(indicated_ft=10000, setting_hpa=altimetry.hpa_from_inhg(31.12))
    assert exact_ft == pytest.approx(8910, abs=5)  # stated to 10 ft
    assert altimetry.pressure_altitude_ft(indicated_ft=[0, 5000], setting_hpa=1013.25) == pytest.approx(
        [0, 5000], abs=1e-6
    )  # float power
    # "Less add, greater subtract."
    assert (
        altimetry.pressure_altitude_ft(indicated_ft=1000, setting_hpa=1003)
        > 1000
        > altimetry.pressure_altitude_ft(indicated_ft=1000, setting_hpa=1023)
    )


def test_feet_per_unit():
    """Published school tables: 27.3 ft per hPa at sea level, 925 ft per inch; the rules are 10 and 8 % high."""
    per_hpa = altimetry.setting_error_ft(set_hpa=1013.75, right_hpa=1012.75)
    assert per_hpa == pytest.approx(27.31, abs=0.005)  # printed digits
    assert altimetry.FT_PER_HPA_RULE / per_hpa - 1 == pytest.approx(0.10, abs=0.005)
    assert per_hpa * altimetry.INHG_HPA == pytest.approx(924.8, abs=0.1)  # printed digit
    assert altimetry.FT_PER_INHG_RULE / (per_hpa * altimetry.INHG_HPA) == pytest.approx(1.08, abs=0.005)


@pytest.mark.parametrize(("alt_ft", "wanted_ft"), [(0, 27.29), (2000, 28.94), (5000, 31.67), (10000, 36.94)])
def test_feet_per_hectopascal_with_height(alt_ft, wanted_ft):
    """Public school sheets: feet for one hectopascal at four heights."""
    pressure_hpa = altimetry.standard_pressure_hpa(alt_ft)
    slope = 2.0 / (altimetry.standard_pressure_hpa(alt_ft - 1) - altimetry.standard_pressure_hpa(alt_ft + 1))
    assert pressure_hpa < 1014
    assert slope == pytest.approx(wanted_ft, rel=2e-3)  # the sheets differ from each other by as much


def test_wrong_setting():
    """Definition: from high to low, look out below: 10 hPa too much on the scale, 273 ft too low in the air."""
    assert altimetry.setting_error_ft(set_hpa=1023, right_hpa=1013) == pytest.approx(
        273, abs=2
    )  # 27.3 each, less higher up
    assert altimetry.setting_error_ft(set_hpa=1003, right_hpa=1013) < 0
    assert altimetry.setting_error_ft(set_hpa=1003, right_hpa=1013) == -altimetry.setting_error_ft(
        set_hpa=1013, right_hpa=1003
    )
    assert altimetry.setting_error_rule_ft(set_hpa=[1023, 1003], right_hpa=1013).tolist() == [300, -300]
    # The wrong setting shifts the reading, the pressure altitude does not change.
    shown_ft = 3000 + altimetry.setting_error_ft(set_hpa=1023, right_hpa=1013)
    assert altimetry.pressure_altitude_ft(indicated_ft=shown_ft, setting_hpa=1023) == pytest.approx(
        altimetry.pressure_altitude_ft(indicated_ft=3000, setting_hpa=1013)
    )


def test_altimeter_on_the_ground():
    """AIM 7-2-3 for the check; the 75 ft from memory."""
    assert altimetry.field_check_passed(indicated_ft=[-9, 141, -10, 142], elevation_ft=66).tolist() == [
        True,
        True,
        False,
        False,
    ]


def test_the_table_is_whole():
    """AIM TBL 7-3-1: seven temperatures, fourteen heights."""
    assert len(COLD) == 98


@pytest.mark.parametrize(("temperature_c", "height_ft", "add_ft"), COLD)
def test_cold_table(temperature_c, height_ft, add_ft):
    """AIM TBL 7-3-1, every cell."""
    assert altimetry.cold_correction_ft(height_ft=height_ft, temperature_c=temperature_c) == add_ft
    # The logarithmic form, a different derivation, ends within the step of ten to which the table is rounded up.
    assert altimetry.cold_addon_ft(height_ft=height_ft, temperature_c=temperature_c) == pytest.approx(
        add_ft, abs=10.5
    )


def test_worked_example_of_the_manual():
    """AIM 7-3-6: -12 deg C, heights 2,994, 1,314 and (for 8,794) 5,000 ft: about 300, 150 and 500."""
    got = altimetry.cold_correction_ft(height_ft=[2994, 1314, 5000], temperature_c=-12)
    assert got == pytest.approx([300, 150, 500], abs=35)  # the manual rounds to convenience


def test_four_percent():
    """Doc 8168: field 1,000 ft, 0 deg C, final fix 3,000 ft: 104 ft by the rule, 95.7 by the formula."""
    assert altimetry.cold_rule_ft(height_ft=2000, temperature_c=0, elevation_ft=1000) == pytest.approx(
        104, abs=0.5
    )  # standard there is 13.02
    assert altimetry.cold_formula_ft(height_ft=2000, temperature_c=0, elevation_ft=1000) == pytest.approx(
        95.7, abs=0.05
    )  # printed digit
    assert altimetry.cold_rule_ft(height_ft=1500, temperature_c=-30, elevation_ft=2000) == pytest.approx(
        246, abs=0.5
    )  # printed digit
    heights = np.arange(200, 5001, 100)
    for temperature_c in (0, -5, -10, -15):  # "safe above -15"
        assert (
            altimetry.cold_rule_ft(height_ft=heights, temperature_c=temperature_c)
            >= altimetry.cold_formula_ft(height_ft=heights, temperature_c=temperature_c)
        ).all()
    assert altimetry.cold_rule_ft(height_ft=4000, temperature_c=-40) < altimetry.cold_formula_ft(
        height_ft=4000, temperature_c=-40
    )


def test_logarithmic_form():
    """Transport Canada AC 500-020, 4.8: field 2,000 ft, -30 deg C, 1,500 ft: 218 ft."""
    assert altimetry.cold_error_ft(height_ft=1500, temperature_c=-30, elevation_ft=2000) == pytest.approx(
        218, abs=0.5
    )  # printed digit


def test_sense_trap():
    """AIM 7-3 and TC AC 500-020 side by side: at -40 deg C, 2,000 ft: error 384, to add 477, table 480."""
    assert altimetry.cold_error_ft(height_ft=2000, temperature_c=-40) == pytest.approx(384, abs=0.5)
    assert altimetry.cold_addon_ft(height_ft=2000, temperature_c=-40) == pytest.approx(477, abs=0.5)
    assert altimetry.cold_correction_ft(height_ft=2000, temperature_c=-40) == 480


@given(st.floats(0, 10000), st.floats(-60, 55), st.floats(0, 8000))
def test_addon_gives_the_wanted_true_height(height_ft, temperature_c, elevation_ft):
    """Definition: indicated height less its error is the true height."""
    add_ft = altimetry.cold_addon_ft(height_ft=height_ft, temperature_c=temperature_c, elevation_ft=elevation_ft)
    shown_ft = height_ft + add_ft
    if shown_ft <= 10000:
        true_ft = shown_ft - altimetry.cold_error_ft(
            height_ft=shown_ft, temperature_c=temperature_c, elevation_ft=elevation_ft
        )
        assert true_ft == pytest.approx(height_ft, abs=1e-6)  # end of the repetition
        if temperature_c < 15 - 0.0019812 * elevation_ft:
            assert (
                add_ft
                >= altimetry.cold_error_ft(
                    height_ft=height_ft, temperature_c=temperature_c, elevation_ft=elevation_ft
                )
                - 1e-9
            )


def test_cold_air_limits():
    """Definition: warm air needs no correction, nothing is needed on the ground, nonsense is refused."""
    assert altimetry.cold_correction_ft(height_ft=[0, 1000], temperature_c=[-30, 30]).tolist() == [0, 0]
    assert altimetry.cold_rule_ft(height_ft=1000, temperature_c=30) == 0
    assert altimetry.cold_formula_ft(height_ft=1000, temperature_c=30) < 0
    # A high field in the same air is nearer to standard: the table, which leaves it out, adds more.
    assert altimetry.cold_correction_ft(
        height_ft=1000, temperature_c=-20, elevation_ft=3000
    ) < altimetry.cold_correction_ft(height_ft=1000, temperature_c=-20)
    with pytest.raises(OutOfRange, match="height above the field, not the altitude"):
        altimetry.cold_correction_ft(height_ft=10001, temperature_c=-20)
    with pytest.raises(OutOfRange, match="Fahrenheit"):
        altimetry.cold_error_ft(height_ft=1000, temperature_c=86)
    with pytest.raises(OutOfRange, match="nan"):
        altimetry.cold_addon_ft(height_ft=np.nan, temperature_c=0)


@pytest.mark.parametrize(
    ("cas_kt", "alt_ft", "temperature_c", "wanted_kt"),
    [
        (100, 5000, None, 107.7), (100, 10000, None, 116.2), (150, 10000, None, 174.1), (250, 10000, None, 288.7),
        (140, 8000, -5, 156.4), (250, 12500, -20, 293.8),
    ],
)  # fmt: skip
def test_true_airspeed(cas_kt, alt_ft, temperature_c, wanted_kt):
    """Definition: subsonic compressible flow, computed apart from the library."""
    assert altimetry.tas_kt(cas_kt=cas_kt, pressure_alt_ft=alt_ft, temperature_c=temperature_c) == pytest.approx(
        wanted_kt, abs=0.06
    )  # printed digit
    assert altimetry.cas_kt(
        tas_kt=altimetry.tas_kt(cas_kt=cas_kt, pressure_alt_ft=alt_ft, temperature_c=temperature_c),
        pressure_alt_ft=alt_ft,
        temperature_c=temperature_c,
    ) == pytest.approx(cas_kt)


@given(st.floats(50, 140), st.floats(0, 10000), st.floats(-30, 40))
def test_true_airspeed_by_density(cas_kt, alt_ft, temperature_c):
    """Independent method: slow flight is nearly incompressible, so speed goes with the root of the density."""
    ratio = altimetry.standard_pressure_hpa(alt_ft) / 1013.25 * 288.15 / (temperature_c + 273.15)
    # Compressibility at 140 kt and 10,000 ft is below 0.5 %.
    assert altimetry.tas_kt(cas_kt=cas_kt, pressure_alt_ft=alt_ft, temperature_c=temperature_c) == pytest.approx(
        cas_kt / np.sqrt(ratio), rel=5e-3
    )


def test_true_airspeed_limits():
    """Definition: at sea level in standard air the two speeds are one; arrays broadcast."""
    assert altimetry.tas_kt(cas_kt=[0, 90, 400], pressure_alt_ft=0) == pytest.approx(
        [0, 90, 400], abs=1e-9
    )  # float powers
    assert altimetry.tas_kt(cas_kt=90, pressure_alt_ft=[0, 5000]).shape == (2,)
    for bad in (-1, 401, np.nan):
        with pytest.raises(OutOfRange, match="cas_kt"):
            altimetry.tas_kt(cas_kt=bad, pressure_alt_ft=0)
    with pytest.raises(OutOfRange, match="pressure_alt_ft"):
        altimetry.tas_kt(cas_kt=100, pressure_alt_ft=36001)


def test_rules_for_true_airspeed():
    """USAF 60:1 rules summary: 150 at 10,000 -> 180; 250 -> 300; square rule (common practice) 250 -> 290."""
    assert altimetry.tas_rule_kt(cas_kt=150, pressure_alt_ft=10000) == 180
    assert altimetry.tas_rule_kt(cas_kt=250, pressure_alt_ft=10000, rule="5 kt") == 300
    assert altimetry.tas_rule_kt(cas_kt=250, pressure_alt_ft=10000, rule="square") == 290
    assert altimetry.tas_rule_kt(cas_kt=100, pressure_alt_ft=[5000, 15000], rule="square") == pytest.approx(
        [109, 125]
    )
    for cas_kt, rule in ((150, "2 percent"), (250, "5 kt"), (250, "square")):
        error = (
            altimetry.tas_rule_kt(cas_kt=cas_kt, pressure_alt_ft=10000, rule=rule)
            / altimetry.tas_kt(cas_kt=cas_kt, pressure_alt_ft=10000)
            - 1
        )
        assert 0 < error < 0.04  # thumb: 4 %
    with pytest.raises(OutOfRange, match="rule = 'guess' is not a rule for true airspeed"):
        altimetry.tas_rule_kt(cas_kt=100, pressure_alt_ft=5000, rule="guess")
    with pytest.raises(OutOfRange, match="not meant for this height"):
        altimetry.tas_rule_kt(cas_kt=100, pressure_alt_ft=0, rule="square")
