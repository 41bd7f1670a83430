"""Units against their definitions and each other."""

import inspect

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from needlework.basis.errors import OutOfRange
from needlework.trade import units

PAIRS = [
    (units.km_from_nm, units.nm_from_km),
    (units.m_from_nm, units.nm_from_m),
    (units.ft_from_nm, units.nm_from_ft),
    (units.m_from_ft, units.ft_from_m),
    (units.m_s_from_kt, units.kt_from_m_s),
    (units.fpm_from_kt, units.kt_from_fpm),
    (units.fpm_from_m_s, units.m_s_from_fpm),
    (units.deg_from_ft_nm, units.ft_nm_from_deg),
    (units.percent_from_ft_nm, units.ft_nm_from_percent),
    (units.percent_from_deg, units.deg_from_percent),
]


def test_definitions():
    """Definition: one nautical mile is 1,852 m exactly, 6,076.11549 ft; one foot is 0.3048 m exactly."""
    assert units.m_from_nm(1) == 1852
    assert units.km_from_nm(1) == 1.852
    assert units.m_from_ft(1) == 0.3048
    assert units.ft_from_nm(1) == pytest.approx(6076.11549, abs=5e-6)  # last digit given
    assert units.nm_from_ft(6076.11549) == pytest.approx(1, abs=1e-9)  # last digit given
    assert units.m_s_from_kt(360) == pytest.approx(185.2, abs=1e-9)  # float


@pytest.mark.parametrize(("angle", "gradient_ft_nm"), [(2.99, 317), (3, 318), (3.18, 338)])
def test_gradients_on_the_plates(angle, gradient_ft_nm):
    """Scenario: 2.99 degrees is 317 ft/NM, 3.18 is 338; P-340 (exact 318 for 3 degrees at 1 NM)."""
    assert units.ft_nm_from_deg(angle) == pytest.approx(gradient_ft_nm, abs=0.5)  # whole feet


@pytest.mark.parametrize(("dist_nm", "height_ft"), [(1, 318), (5, 1592), (10, 3184), (30, 9553)])
def test_three_degrees(dist_nm, height_ft):
    """P-340 gives 300 ft a mile for 3 degrees; exactly 318 ft, and the rule is 6 per cent low."""
    exact_ft = units.ft_nm_from_deg(3) * dist_nm
    assert exact_ft == pytest.approx(height_ft, abs=0.5)  # whole feet
    assert 300 * dist_nm == pytest.approx(exact_ft, rel=0.06)  # a rule, 6 per cent


def test_climb_gradients():
    """Definition: 200 ft/NM is 3.29 per cent, 2.5 per cent is 152 ft/NM."""
    assert units.percent_from_ft_nm(200) == pytest.approx(3.29, abs=0.005)  # two decimals
    assert units.ft_nm_from_percent(2.5) == pytest.approx(152, abs=0.5)  # whole feet
    assert units.percent_from_deg(45) == pytest.approx(100, abs=1e-9)  # float


@pytest.mark.parametrize(("there", "back"), PAIRS, ids=lambda f: f.__name__)
@given(value=st.floats(-40, 40))
def test_there_and_back(there, back, value):
    """Definition: each pair of functions undoes the other."""
    assert back(there(value)) == pytest.approx(value, rel=1e-12, abs=1e-12)  # float


@pytest.mark.parametrize("function", [function for pair in PAIRS for function in pair], ids=lambda f: f.__name__)
def test_shapes_and_bad_values(function):
    """Definition: arrays keep their shape; far out, nan and text are refused in one sentence."""
    (name,) = inspect.signature(function).parameters
    assert function(np.array([[1.0, 2.0]])).shape == (1, 2)
    assert isinstance(function(1), float)
    with pytest.raises(OutOfRange, match=f"{name} = 1e\\+09 .* is outside"):
        function(1e9)
    with pytest.raises(OutOfRange, match=f"{name} = nan is not a number"):
        function(float("nan"))


@pytest.mark.parametrize(
    ("knots", "text"),
    [
        (60, "4:18"),
        (70, "3:41"),
        (80, "3:14"),
        (90, "2:52"),
        (100, "2:35"),
        (110, "2:21"),
        (120, "2:09"),
        (140, "1:51"),
    ],
)
def test_times_on_the_plate(knots, text):
    """Scenario: times from the final fix of P4 over 4.3 NM."""
    assert units.mm_ss(4.3 / knots * 60) == text
    assert units.minutes_from_mm_ss(text) == pytest.approx(4.3 / knots * 60, abs=0.5 / 60)  # whole seconds


@given(st.integers(0, 999 * 60))
def test_clock_there_and_back(seconds):
    """Definition: a time written and read again is the same second."""
    assert round(units.minutes_from_mm_ss(units.mm_ss(seconds / 60)) * 60) == seconds


@pytest.mark.parametrize("text", ["4.3", "4:60", "4:5", "-1:00", "1:00:00", "", 4.3, None])
def test_not_a_time(text):
    """Definition: anything but minutes, colon and two digits is refused in one sentence."""
    with pytest.raises(OutOfRange, match="is not a time: expected minutes, colon and two digits of seconds"):
        units.minutes_from_mm_ss(text)
    with pytest.raises(OutOfRange, match=r"time_min = 1,200 min is outside 0 to 999 min: is this in seconds\?"):
        units.mm_ss(1200)
