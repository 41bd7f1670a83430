"""Intercepts against printed examples, geometry and a flown check."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from needlework.basis.errors import NoSolution, OutOfRange
from needlework.trade import intercept, turns, vor, wind
from needlework.trade.angles import difference_deg

BEARING_CHANGES = np.loadtxt(Path(__file__).parents[1] / "datasets/authorities/bearing_change.csv", delimiter=",")
RADIALS = st.floats(0, 360)


def test_handbook_intercept():
    """IFH9 p. 9-14, Fig. 9-16: on 160, inbound on 205: difference 45, angle 90, heading 295."""
    assert intercept.intercept_angle_deg(radial_deg=160, wanted_radial_deg=205) == 90
    assert (
        intercept.intercept_heading_deg(radial_deg=160, wanted_radial_deg=205, direction="inbound", angle_deg=90)
        == 295
    )


def test_handbook_intercept_by_bearing():
    """IFH9 p. 9-8: inbound 355, station 40 to the right of it: angle 80, heading 075."""
    # The station lies on 035, so the aircraft is on radial 215; the radial to be flown in on is 175.
    angle = intercept.intercept_angle_deg(radial_deg=215, wanted_radial_deg=175)
    assert angle == 80
    assert (
        intercept.intercept_heading_deg(radial_deg=215, wanted_radial_deg=175, direction="inbound", angle_deg=angle)
        == 75
    )


@pytest.mark.parametrize(("off", "angle"), [(5, 20), (10, 20), (30, 60), (45, 90), (60, 90), (0, 20), (180, 90)])
def test_double_the_angle(off, angle):
    """IFH9 p. 9-14: twice the difference, not less than 20 nor more than 90, on either side."""
    assert intercept.intercept_angle_deg(radial_deg=100, wanted_radial_deg=100 + off) == angle
    assert intercept.intercept_angle_deg(radial_deg=100, wanted_radial_deg=100 - off) == angle


@pytest.mark.parametrize(("off", "angle"), [(10, 10), (25, 25), (45, 45), (80, 45)])
def test_after_passage(off, angle):
    """AFM p. 115, T6B 48: about the degrees off, normally not over 45."""
    assert intercept.intercept_angle_deg(radial_deg=350, wanted_radial_deg=350 + off, rule="after passage") == angle


@pytest.mark.parametrize(
    ("radial", "wanted", "direction", "heading"),
    [
        (150, 120, "inbound", 0),
        (70, 100, "inbound", 220),
        (70, 100, "outbound", 160),
        (100, 70, "outbound", 10),
        (350, 20, "outbound", 80),
        (10, 340, "inbound", 220),
    ],
)
def test_side_of_the_turn(radial, wanted, direction, heading):
    """Definition: radials grow clockwise; the heading leads across at twice the difference."""
    angle = intercept.intercept_angle_deg(radial_deg=radial, wanted_radial_deg=wanted)
    assert (
        difference_deg(
            from_deg=intercept.intercept_heading_deg(
                radial_deg=radial, wanted_radial_deg=wanted, direction=direction, angle_deg=angle
            ),
            to_deg=heading,
        )
        == 0
    )


@given(RADIALS, st.floats(1, 80), st.booleans(), st.booleans(), st.floats(2, 50))
def test_straight_track_meets_the_radial(radial, off, larger, inbound, dist):
    """Independent method: walk from the position along the heading on a plane and look where the radial is met."""
    wanted = radial + off if larger else radial - off
    direction = "inbound" if inbound else "outbound"
    angle = min(off + 9.0, 90.0)  # more than the difference, so that it is met before the station
    heading = np.radians(
        intercept.intercept_heading_deg(
            radial_deg=radial, wanted_radial_deg=wanted, direction=direction, angle_deg=angle
        )
    )
    met, flown = intercept.intercept_point_nm(
        dist_nm=dist, radial_deg=radial, wanted_radial_deg=wanted, direction=direction, angle_deg=angle
    )
    east = dist * np.sin(np.radians(radial)) + flown * np.sin(heading)
    north = dist * np.cos(np.radians(radial)) + flown * np.cos(heading)
    assert np.hypot(east, north) == pytest.approx(met, rel=1e-9)  # float
    assert difference_deg(from_deg=np.degrees(np.arctan2(east, north)), to_deg=wanted) == pytest.approx(
        0, abs=1e-6
    )  # float


@given(st.floats(10, 44))
def test_double_angle_is_isosceles(off):
    """Definition: with twice the difference as the angle, the way to the radial is the way left to the station."""
    met, flown = intercept.intercept_point_nm(
        dist_nm=12,
        radial_deg=90,
        wanted_radial_deg=90 + off,
        direction="inbound",
        angle_deg=intercept.intercept_angle_deg(radial_deg=90, wanted_radial_deg=90 + off),
    )
    assert met == pytest.approx(flown, rel=1e-9)  # float


def test_an_angle_too_small_is_said():
    """Definition: with the difference itself as the angle the track goes through the station."""
    with pytest.raises(
        NoSolution, match="does not meet the radial before the station: take a larger intercept angle"
    ):
        intercept.intercept_point_nm(
            dist_nm=10, radial_deg=150, wanted_radial_deg=120, direction="inbound", angle_deg=30
        )
    with pytest.raises(NoSolution, match="or fly to the station first"):
        intercept.intercept_point_nm(
            dist_nm=10, radial_deg=0, wanted_radial_deg=135, direction="inbound", angle_deg=90
        )


@pytest.mark.parametrize(("angle", "factor"), [(90, 1.0), (60, 0.5), (45, 1 / 3), (30, 1 / 6)])
def test_lead_factors(angle, factor):
    """AF60 (from memory below 90 degrees): part of the lead of a square turn."""
    # 0.045: the printed fractions are rounded from 1 - cos; P-1265's two thirds at 60 degrees is wrong.
    assert intercept.lead_nm(tas_kt=120, angle_deg=angle) / intercept.lead_nm(
        tas_kt=120, angle_deg=90
    ) == pytest.approx(factor, abs=0.045)


@pytest.mark.parametrize(("angle", "factor"), [(30, 0.134), (45, 0.293), (60, 0.500)])
def test_lead_factors_exactly(angle, factor):
    """Independent method: 1 - cos(angle), three decimals."""
    assert intercept.lead_nm(tas_kt=120, angle_deg=angle) / turns.turn_radius_nm(tas_kt=120) == pytest.approx(
        factor, abs=0.0005
    )  # print


def test_lead_in_degrees():
    """Independent method: 90 kt, 45 degrees, 8 NM: radius 0.4775 times 0.2929 over 8 is 1.0 degree."""
    assert intercept.lead_deg(dist_nm=8, tas_kt=90, angle_deg=45) == pytest.approx(1.0, abs=0.05)  # one decimal
    assert intercept.largest_angle_deg(dist_nm=2, tas_kt=110) == pytest.approx(66, abs=0.5)  # whole degrees
    assert intercept.lead_deg(
        dist_nm=2, tas_kt=110, angle_deg=intercept.largest_angle_deg(dist_nm=2, tas_kt=110)
    ) == pytest.approx(10, abs=1e-9)  # float


def _fly_intercept(dist_nm, lead_deg, tas_kt, angle_deg):
    """Turn on to a radial that runs east, from a cut at an angle; return where it ends along and across it."""
    # x along the radial outbound, y across it; the turn begins where the lead says.
    x, y = dist_nm * np.cos(np.radians(lead_deg)), -dist_nm * np.sin(np.radians(lead_deg))
    step_s, angle = 0.01, np.radians(angle_deg)
    turned = np.arange(0, angle, np.radians(3 * step_s))
    way_nm = tas_kt / 3600 * step_s
    return x + np.sum(np.cos(angle - turned)) * way_nm, y + np.sum(np.sin(angle - turned)) * way_nm


@pytest.mark.parametrize("angle", [30, 45, 60, 90])
@pytest.mark.parametrize(("dist", "tas"), [(5, 90), (10, 120), (25, 150)])
def test_flown_turn_rolls_out_on_the_radial(dist, tas, angle):
    """Independent method: the turn flown in hundredths of a second, begun at the lead."""
    _, across = _fly_intercept(dist, intercept.lead_deg(dist_nm=dist, tas_kt=tas, angle_deg=angle), tas, angle)
    assert across == pytest.approx(0, abs=0.001)  # steps of 0.01 s
    _, across = _fly_intercept(dist, intercept.lead_rule_deg(dist_nm=dist, gs_kt=tas, angle_deg=angle), tas, angle)
    assert abs(across) < 0.025 * turns.turn_radius_nm(tas_kt=tas)  # the rule is one to two per cent low


@given(st.floats(4, 60), st.floats(60, 160), st.floats(10, 90))
def test_lead_rule_is_one_per_cent_low(dist, tas, angle):
    """P-871 ch. 4, AF60: half a per cent of the ground speed and sixty to one, against the geometry."""
    # 0.987 = 0.9425 * 1.0472, a little less where the sine bends.
    assert intercept.lead_rule_deg(dist_nm=dist, gs_kt=tas, angle_deg=angle) / intercept.lead_deg(
        dist_nm=dist, tas_kt=tas, angle_deg=angle
    ) == pytest.approx(0.987, abs=0.012)


@given(st.floats(5, 60), st.floats(60, 160), st.floats(10, 60))
def test_lead_time_and_needle_speed(dist, tas, angle):
    """Definition: lead in degrees is the needle's speed times the lead time, while the lead is small."""
    by_needle = intercept.needle_rate_deg_s(dist_nm=dist, gs_kt=tas, angle_deg=angle) * intercept.lead_time_s(
        angle_deg=angle
    )
    assert by_needle == pytest.approx(
        intercept.lead_deg(dist_nm=dist, tas_kt=tas, angle_deg=angle), rel=0.01
    )  # sine of a few degrees


@given(st.floats(1, 60), st.floats(60, 160), st.floats(10, 90))
def test_needle_speed(dist, gs, angle):
    """Independent method: sideways speed over distance, and twice as fast at half the distance."""
    rate = intercept.needle_rate_deg_s(dist_nm=dist, gs_kt=gs, angle_deg=angle)
    assert rate == pytest.approx(
        vor.needle_rate_deg_s(cross_kt=gs * np.sin(np.radians(angle)), dist_nm=dist), rel=1e-9
    )  # float
    assert intercept.needle_rate_deg_s(dist_nm=dist / 2, gs_kt=gs, angle_deg=angle) == pytest.approx(
        2 * rate, rel=1e-9
    )  # float


def test_bearing_change_items():
    """FAAQ, AFM 7.7.1, PHAK15: datasets/authorities/bearing_change.csv, eight printed items."""
    for change, minutes, speed, time, distance in BEARING_CHANGES:
        assert intercept.time_to_station_rule_min(change_deg=change, elapsed_min=minutes) == pytest.approx(
            time, abs=1e-9
        )  # exact rule
        if not np.isnan(distance):
            found = intercept.distance_to_station_rule_nm(change_deg=change, elapsed_min=minutes, gs_kt=speed)
            assert found == pytest.approx(distance, abs=1e-9)  # exact rule


@pytest.mark.parametrize(("change", "minutes", "gph", "gallons"), [(15, 6, 8.6, 3.44), (5, 6, 12, 14.4)])
def test_fuel_to_the_station(change, minutes, gph, gallons):
    """FAAQ: fuel for the time found by the rule, printed to the last digit."""
    assert intercept.time_to_station_rule_min(elapsed_min=minutes, change_deg=change) / 60 * gph == pytest.approx(
        gallons, abs=0.005
    )  # print


@pytest.mark.parametrize(
    ("change", "minutes", "speed", "rule", "exact"), [(10, 7, 120, 84, 79.4), (5, 5, 115, 115, 109.5)]
)
def test_true_geometry_is_lower(change, minutes, speed, rule, exact):
    """Independent method: distance flown over the tangent, one decimal."""
    assert intercept.distance_to_station_rule_nm(change_deg=change, elapsed_min=minutes, gs_kt=speed) == rule
    assert intercept.wing_tip_distance_nm(change_deg=change, elapsed_min=minutes, gs_kt=speed) == pytest.approx(
        exact, abs=0.05
    )  # one decimal


def test_how_far_the_rule_is_off():
    """Independent method: 60 tan(a) / a: what the docstring of the rule says, for 5, 10 and 15 degrees."""
    change = np.array([5.0, 10.0, 15.0])
    excess = intercept.distance_to_station_rule_nm(
        change_deg=change, elapsed_min=5, gs_kt=120
    ) / intercept.wing_tip_distance_nm(change_deg=change, elapsed_min=5, gs_kt=120)
    assert excess == pytest.approx([1.05, 1.06, 1.07], abs=0.005)  # whole per cent
    assert excess == pytest.approx(60 * np.tan(np.radians(change)) / change, rel=1e-9)  # float


@pytest.mark.parametrize(("first", "minutes"), [(45, 5), (15, 6), (15, 15), (10, 8)])
def test_isosceles(first, minutes):
    """FAAQ, five items on the isosceles method: the time to double is the time to the station."""
    assert intercept.time_from_bearings_min(
        first_relative_deg=first, second_relative_deg=2 * first, elapsed_min=minutes
    ) == pytest.approx(minutes, abs=1e-9)  # float


@given(st.floats(5, 120), st.floats(2, 50), st.floats(1, 30))
def test_two_bearings(first, change, minutes):
    """Independent method: fly past a station on a plane and measure the time left to it."""
    left = intercept.time_from_bearings_min(
        first_relative_deg=first, second_relative_deg=first + change, elapsed_min=minutes
    )
    # The second position is the origin, the first one minutes behind it on the x axis.
    x, y = left * np.cos(np.radians(first + change)), left * np.sin(np.radians(first + change))
    assert np.degrees(np.arctan2(y, x + minutes)) == pytest.approx(first, abs=1e-6)  # float


def test_wing_tip_is_a_case_of_two_bearings():
    """Definition: with the station abeam first, both ways agree on the distance at the end."""
    end_min = intercept.time_from_bearings_min(first_relative_deg=90, second_relative_deg=100, elapsed_min=7)
    start_nm = intercept.wing_tip_distance_nm(change_deg=10, elapsed_min=7, gs_kt=120)
    assert np.hypot(start_nm, 14) == pytest.approx(end_min * 2, rel=1e-9)  # float


@pytest.mark.parametrize(
    ("off_nm", "angle", "minutes"),
    [(0.5, 10, 1), (1, 10, 2), (1, 20, 1), (1.5, 10, 3), (1.5, 30, 1), (2, 10, 4), (2, 20, 2), (3, 10, 6), (3, 20, 3),
     (3, 30, 2)],
)  # fmt: skip
def test_cuts_at_180_knots(off_nm, angle, minutes):
    """P-869 Fig. 5-6: angle and whole minutes to gain a distance sideways at 180 kt."""
    assert intercept.sideways_nm(angle_deg=angle, gs_kt=180, elapsed_min=minutes) == pytest.approx(
        off_nm, rel=0.05
    )  # a rule, 5 per cent


def test_one_in_sixty():
    """AIAA-60: 2 NM off after 60 of 120 NM: two degrees to parallel and two more to regain."""
    assert vor.off_deg(offset_nm=2, to_go_nm=60) + vor.off_deg(offset_nm=2, to_go_nm=60) == pytest.approx(
        4, rel=0.05
    )  # a rule, 5 per cent
    assert vor.off_deg(offset_nm=2, to_go_nm=60) == pytest.approx(1.91, abs=0.005)  # two decimals


@pytest.mark.parametrize(("dist", "per_nm"), [(45, 1.3), (30, 2), (20, 3), (15, 4), (12, 5), (10, 6), (9, 6.7)])
def test_radials_in_a_mile(dist, per_nm):
    """P-871 ch. 4: radials per nautical mile."""
    assert 1 / vor.offset_rule_nm(dist_nm=dist, off_deg=1) == pytest.approx(per_nm, abs=0.05)  # one decimal
    assert 1 / vor.offset_nm(dist_nm=dist, off_deg=1) == pytest.approx(
        per_nm, rel=0.06
    )  # the rule is 5 per cent high, rounded


@given(st.floats(0, 360), st.floats(70, 160), st.floats(0, 360), st.floats(0, 45), st.floats(5, 30))
def test_bracketing_finds_the_correction(course, tas, wind_from, wind_kt, first):
    """Independent method: the correction found by trial is the one of the wind triangle, and never overdone."""
    tried = intercept.bracketing_deg(
        course_deg=course, tas_kt=tas, wind_from_deg=wind_from, wind_kt=wind_kt, first_deg=first
    )
    exact = wind.correction_deg(course_deg=course, tas_kt=tas, wind_from_deg=wind_from, wind_kt=wind_kt)
    heading = course + tried[-1]
    left = difference_deg(
        from_deg=course,
        to_deg=wind.track_deg(heading_deg=heading, tas_kt=tas, wind_from_deg=wind_from, wind_kt=wind_kt),
    )
    assert abs(left) <= 1 + 1e-9  # stated: within one degree of the course
    assert tried[0] == 0
    assert len(tried) < 12  # 40 degrees halved ten times is under a tenth of a degree
    # One degree of track is at most so many of heading where the ground speed is low.
    slack = (
        max(1.0, tas / wind.ground_speed_kt(course_deg=course, tas_kt=tas, wind_from_deg=wind_from, wind_kt=wind_kt))
        * 1.5
    )
    assert tried[-1] == pytest.approx(exact, abs=slack)
    gaps = np.abs(np.diff(tried))
    if len(tried) > 2 and gaps[0] > gaps[1]:  # not doubled first
        assert gaps[1:] == pytest.approx(gaps[0] / 2.0 ** np.arange(1, len(gaps)), rel=1e-9)  # halves


def test_bracketing_steps():
    """IFH9 p. 9-14: 20 degrees towards the needle, then half, then half again."""
    # 25 kt across at 100 kt: drift 14.5, found between 10 and 20.
    assert intercept.bracketing_deg(course_deg=360, tas_kt=100, wind_from_deg=90, wind_kt=25).tolist() == [
        0,
        20,
        10,
        15,
    ]
    assert intercept.bracketing_deg(course_deg=360, tas_kt=100, wind_from_deg=270, wind_kt=25).tolist() == [
        0,
        -20,
        -10,
        -15,
    ]
    assert intercept.bracketing_deg(course_deg=90, tas_kt=100, wind_from_deg=90, wind_kt=25).tolist() == [0]
    assert intercept.bracketing_deg(course_deg=360, tas_kt=60, wind_from_deg=90, wind_kt=40).tolist()[:4] == [
        0,
        20,
        40,
        80,
    ]  # 20 and 40 are not enough
    assert intercept.next_correction_deg(too_little_deg=[10, -10], too_much_deg=[20, -20]).tolist() == [15, -15]
    with pytest.raises(NoSolution, match="No heading holds this course"):
        intercept.bracketing_deg(course_deg=360, tas_kt=60, wind_from_deg=90, wind_kt=60)


def test_arrays_broadcast():
    """Definition: arrays broadcast, scalars give floats."""
    dist, angle = np.array([5.0, 10, 20])[:, None], np.array([30.0, 60])
    for found in (
        intercept.lead_deg(dist_nm=dist, tas_kt=100, angle_deg=angle),
        intercept.lead_rule_deg(dist_nm=dist, gs_kt=100, angle_deg=angle),
        intercept.needle_rate_deg_s(dist_nm=dist, gs_kt=100, angle_deg=angle),
        intercept.intercept_point_nm(
            dist_nm=dist, radial_deg=100, wanted_radial_deg=120, direction="inbound", angle_deg=angle
        )[0],
    ):
        assert found.shape == (3, 2)
    headings = intercept.intercept_heading_deg(
        radial_deg=[70, 130], wanted_radial_deg=100, direction="outbound", angle_deg=30
    )
    assert headings.tolist() == [130, 70]
    assert isinstance(intercept.lead_deg(dist_nm=10, tas_kt=100, angle_deg=45), float)
    assert isinstance(
        intercept.intercept_heading_deg(radial_deg=160, wanted_radial_deg=205, direction="inbound", angle_deg=90),
        float,
    )


@pytest.mark.parametrize(
    ("function", "arguments", "text"),
    [
        (
            intercept.intercept_angle_deg,
            {"radial_deg": float("nan"), "wanted_radial_deg": 100},
            "nan is not a number",
        ),
        (
            intercept.intercept_angle_deg,
            {"radial_deg": 100, "wanted_radial_deg": 120, "rule": "half"},
            "rule = 'half' is not a rule for the intercept angle",
        ),
        (
            intercept.intercept_heading_deg,
            {"radial_deg": 100, "wanted_radial_deg": 120, "direction": "in", "angle_deg": 30},
            "direction = 'in' is not a way to fly a radial",
        ),
        (
            intercept.intercept_heading_deg,
            {"radial_deg": 100, "wanted_radial_deg": 120, "direction": "inbound", "angle_deg": 295},
            r"angle_deg = 295 deg is outside 1 to 90 deg",
        ),
        (
            intercept.intercept_heading_deg,
            {"radial_deg": 100, "wanted_radial_deg": 120, "direction": "inbound", "angle_deg": 0.5},
            r"angle_deg = 0.5 deg is outside",
        ),
        (
            intercept.lead_deg,
            {"dist_nm": 345, "tas_kt": 100, "angle_deg": 45},
            r"dist_nm = 345 NM is outside 0.1 to 300 NM: is this a radial\?",
        ),
        (intercept.lead_deg, {"dist_nm": 10, "tas_kt": 10, "angle_deg": 45}, "tas_kt = 10 kt"),
        (
            intercept.lead_rule_deg,
            {"dist_nm": 10, "gs_kt": 15, "angle_deg": 45},
            r"gs_kt = 15 kt is outside 20 to 600 kt: is this in m/s\?",
        ),
        (
            intercept.lead_time_s,
            {"angle_deg": 45, "rate_deg_s": 25},
            r"rate_deg_s = 25 deg/s .* is this a bank angle\?",
        ),
        (
            intercept.largest_angle_deg,
            {"dist_nm": 10, "tas_kt": 100, "lead_deg": 0},
            "lead_deg = 0 deg is outside 0.1 to 45 deg",
        ),
        (
            intercept.time_to_station_rule_min,
            {"change_deg": 0, "elapsed_min": 5},
            "change_deg = 0 deg is outside 1 to 45 deg",
        ),
        (
            intercept.time_to_station_rule_min,
            {"change_deg": 10, "elapsed_min": 180},
            r"elapsed_min = 180 min .* is this in seconds\?",
        ),
        (
            intercept.time_from_bearings_min,
            {"first_relative_deg": 45, "second_relative_deg": 45, "elapsed_min": 5},
            "second_relative_deg must be at least 1 degree larger",
        ),
        (
            intercept.next_correction_deg,
            {"too_little_deg": 0, "too_much_deg": 91},
            "too_much_deg = 91 deg is outside -90 to 90 deg",
        ),
        (
            intercept.bracketing_deg,
            {"course_deg": 0, "tas_kt": 100, "wind_from_deg": 90, "wind_kt": 20, "first_deg": 1},
            "first_deg = 1 deg is outside 2 to 40 deg",
        ),
    ],
)
def test_bad_values(function, arguments, text):
    """Definition: one sentence that names what was wrong and what was expected."""
    with pytest.raises(OutOfRange, match=text):
        function(**arguments)


def test_limits_and_no_room():
    """Definition: the ends of the ranges are taken; a turn that does not fit is said."""
    assert intercept.sideways_nm(
        angle_deg=[1, 90], gs_kt=[20, 600], elapsed_min=[0.05, 120]
    ).tolist() == pytest.approx([0.00029, 1200], rel=0.01)
    assert intercept.largest_angle_deg(dist_nm=300, tas_kt=40, lead_deg=45) == 90
    with pytest.raises(NoSolution, match="needs more room than there is to the station"):
        intercept.lead_deg(dist_nm=0.4, tas_kt=120, angle_deg=90)
