"""Directions on the circle."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from needlework.basis.errors import OutOfRange
from needlework.trade import angles

DIRECTIONS = st.floats(-3600, 3600, allow_nan=False)


def test_intercept_example():
    """IFH9 p. 9-14, Fig. 9-16: 205 - 160 = 45 degrees between the radials; inbound course 025."""
    assert angles.difference_deg(from_deg=160, to_deg=205) == 45  # exact: whole numbers
    assert angles.reciprocal(205) == 25


@pytest.mark.parametrize(
    ("given_deg", "wanted_deg"), [(0, 0), (360, 0), (-1, 359), (725, 5), (-1e-20, 0), (359.5, 359.5)]
)
def test_wrap360(given_deg, wanted_deg):
    """Definition: directions live in [0, 360)."""
    assert angles.wrap360(given_deg) == pytest.approx(wanted_deg, abs=1e-9)  # float remainder
    assert angles.wrap360(given_deg) < 360


@given(DIRECTIONS, DIRECTIONS)
def test_difference_brings_you_there(start_deg, end_deg):
    """Definition: start plus the difference is the end, on the circle."""
    turned = np.deg2rad(start_deg + angles.difference_deg(from_deg=start_deg, to_deg=end_deg) - end_deg)
    assert np.cos(turned) == pytest.approx(1, abs=1e-9)  # sums of floats up to 7,200


@given(DIRECTIONS)
def test_reciprocal_twice(direction_deg):
    """Definition: the reciprocal of the reciprocal is the direction itself."""
    back = angles.difference_deg(from_deg=angles.reciprocal(angles.reciprocal(direction_deg)), to_deg=direction_deg)
    assert back == pytest.approx(0, abs=1e-9)  # float remainder


@given(DIRECTIONS, DIRECTIONS)
def test_left_and_right_make_a_circle(start_deg, end_deg):
    """Definition: the two ways round add up to nothing or a full circle."""
    both = angles.turn_deg(from_deg=start_deg, to_deg=end_deg, side="left") + angles.turn_deg(
        from_deg=start_deg, to_deg=end_deg, side="right"
    )
    assert min(abs(both), abs(both - 360)) < 1e-6  # float remainder


def test_arrays_and_limits():
    """Definition: arrays broadcast; values outside the range and nan are refused in one sentence."""
    assert angles.difference_deg(from_deg=[350, 10], to_deg=0).tolist() == [10, -10]
    assert angles.wrap180(180) == 180
    assert angles.wrap180(-180) == 180
    assert angles.wrap360(3600) == 0
    with pytest.raises(OutOfRange, match=r"direction_deg = 3,601 deg is outside -3,600 to 3,600 deg"):
        angles.wrap360(3601)
    with pytest.raises(OutOfRange, match="direction_deg = nan is not a number"):
        angles.reciprocal(np.nan)
    with pytest.raises(OutOfRange, match=r"angle_deg\[1\] = nan"):
        angles.wrap180([0, np.nan])
    with pytest.raises(OutOfRange, match="side = 'up' is not a side to turn"):
        angles.turn_deg(from_deg=0, to_deg=90, side="up")


@pytest.mark.parametrize(("given_deg", "text"), [(0, "360°M"), (7.4, "007°M"), (359.7, "360°M"), (-90, "270°M")])
def test_three_digits(given_deg, text):
    """Common practice, no source: three digits, and north is said 360."""
    assert angles.three_digits(direction_deg=given_deg) == text
