"""VOR: needle, flag, cone, receivers, band."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from needlework.basis.errors import OutOfRange
from needlework.trade import vor

DIRECTIONS = st.floats(0, 360)


@pytest.mark.parametrize(
    ("radial_deg", "course_deg", "wanted_flag", "wanted_deg"),
    [
        (360, 180, "TO", 0),
        (360, 360, "FROM", 0),
        (10, 360, "FROM", -10),
        (350, 360, "FROM", 10),
        (4, 360, "FROM", -4),
        (205, 25, "TO", 0),
        (160, 25, "TO", -10),
    ],
)
def test_needle_and_flag_vectors(radial_deg, course_deg, wanted_flag, wanted_deg):
    """IFH9 p. 9-14, Figs. 9-15 and 9-16 for the centred rows and 160/025; the rest by definition."""
    assert vor.flag(radial_deg=radial_deg, selected_course_deg=course_deg) == wanted_flag
    assert vor.needle_deg(radial_deg=radial_deg, selected_course_deg=course_deg) == wanted_deg  # exact: whole degrees
    assert vor.dots(radial_deg=radial_deg, selected_course_deg=course_deg) == wanted_deg / 2


def test_abeam_has_no_flag_and_a_full_needle():
    """Definition: at 90 degrees from the selected course neither half of the line is nearer."""
    assert vor.flag(radial_deg=90, selected_course_deg=360) == "NONE"
    assert vor.flag(radial_deg=270, selected_course_deg=360) == "NONE"
    assert vor.flag(radial_deg=89.999, selected_course_deg=360) == "FROM"
    assert vor.flag(radial_deg=90.001, selected_course_deg=360) == "TO"
    assert vor.offset_deg(radial_deg=90, selected_course_deg=360) == -90
    assert vor.offset_deg(radial_deg=270, selected_course_deg=360) == 90


@given(DIRECTIONS, DIRECTIONS)
def test_needle_against_plane_geometry(radial_deg, course_deg):
    """Independent method: cross and dot product of unit vectors on a flat earth."""
    radial, course = np.deg2rad(radial_deg), np.deg2rad(course_deg)
    right_of_line = np.sin(radial) * np.cos(course) - np.cos(radial) * np.sin(course)
    ahead = np.sin(radial) * np.sin(course) + np.cos(radial) * np.cos(course)
    # The arc sine loses half its digits near 90 degrees.
    assert vor.offset_deg(radial_deg=radial_deg, selected_course_deg=course_deg) == pytest.approx(
        -np.degrees(np.arcsin(right_of_line)), abs=1e-5
    )
    if abs(ahead) > 1e-6:
        assert vor.flag(radial_deg=radial_deg, selected_course_deg=course_deg) == ("FROM" if ahead > 0 else "TO")


@given(DIRECTIONS, DIRECTIONS)
def test_reciprocal_selected_turns_the_needle_round(radial_deg, course_deg):
    """IFH9 p. 9-14: with the reciprocal set the same position gives the mirrored needle."""
    mirrored = vor.offset_deg(radial_deg=radial_deg, selected_course_deg=course_deg + 180)
    assert mirrored == pytest.approx(
        -vor.offset_deg(radial_deg=radial_deg, selected_course_deg=course_deg), abs=1e-9
    )  # float remainder
    assert vor.needle_deg(radial_deg=radial_deg, selected_course_deg=course_deg + 180) == pytest.approx(
        -vor.needle_deg(radial_deg=radial_deg, selected_course_deg=course_deg), abs=1e-9
    )


def test_full_scale_is_a_parameter():
    """IFH9 p. 9-16: 10 or 12 degrees from the centre to the last dot."""
    assert vor.needle_deg(radial_deg=349, selected_course_deg=360, full_scale_deg=12) == 11
    assert vor.needle_deg(radial_deg=340, selected_course_deg=360, full_scale_deg=12) == 12
    assert vor.dots(radial_deg=354, selected_course_deg=360, full_scale_deg=12) == 2.5
    assert vor.dots(radial_deg=354, selected_course_deg=360, full_scale_deg=[10, 12]).tolist() == [3, 2.5]
    for wrong in (9.9, 12.1, np.nan):
        with pytest.raises(OutOfRange, match="full_scale_deg"):
            vor.needle_deg(radial_deg=0, selected_course_deg=0, full_scale_deg=wrong)


def test_flag_broadcasts_and_knows_the_cone():
    """Definition: arrays in, arrays out; NONE inside the cone, the flag of the line outside it."""
    assert vor.flag(radial_deg=[0, 90, 180], selected_course_deg=0).tolist() == ["FROM", "NONE", "TO"]
    along = np.array([0.6, 0.4, 0.1, 0.4, 0.6])
    shown = vor.flag(radial_deg=[180, 180, 180, 0, 0], selected_course_deg=0, dist_nm=along, height_ft=3000)
    assert shown.tolist() == ["TO", "NONE", "NONE", "NONE", "FROM"]
    assert isinstance(vor.flag(radial_deg=0, selected_course_deg=0), str)


def test_reverse_sensing():
    """IFH9 p. 9-14: flying 310 with 130 set reads backwards; so does anything over 90 degrees apart."""
    assert vor.reverse_sensing(course_flown_deg=310, selected_course_deg=130) is True
    assert vor.reverse_sensing(course_flown_deg=310, selected_course_deg=310) is False
    assert vor.reverse_sensing(course_flown_deg=0, selected_course_deg=[90, 91, 269, 270]).tolist() == [
        False,
        True,
        True,
        False,
    ]


def test_courses_of_a_radial():
    """IFH9 p. 9-14, Fig. 9-16: on R-205 the course in is 025."""
    assert vor.course_to(205) == 25
    assert vor.course_from(205) == 205
    assert vor.course_from(360) == 0
    assert vor.flag(radial_deg=205, selected_course_deg=vor.course_to(205)) == "TO"
    assert vor.flag(radial_deg=205, selected_course_deg=vor.course_from(205)) == "FROM"


@pytest.mark.parametrize(
    ("height_ft", "half_angle_deg", "wanted_nm"),
    [
        (3000, 30, 0.29), (3000, 45, 0.49), (3000, 50, 0.59),
        (5000, 30, 0.48), (5000, 45, 0.82), (5000, 50, 0.98), (6000, 50, 1.18),
    ],
)  # fmt: skip
def test_cone_radius(height_ft, half_angle_deg, wanted_nm):
    """Definition: height times the tangent of the half angle, worked by hand to two digits."""
    assert vor.cone_radius_nm(height_ft=height_ft, half_angle_deg=half_angle_deg) == pytest.approx(
        wanted_nm, abs=0.005
    )  # printed digits


def test_cone_of_a_tacan():
    """CNATRA P-801 p. 31: 15 NM across at 40,000 ft, a half angle of 48.7 degrees."""
    assert 2 * vor.cone_radius_nm(height_ft=40000, half_angle_deg=48.7) == pytest.approx(
        15, abs=0.02
    )  # the angle is rounded to 0.1


def test_seconds_in_the_cone():
    """Definition: chord over speed; 30 s at 90 kt takes 2,280 ft at 45 degrees, 3,950 ft at 30."""
    assert vor.cone_s(height_ft=2280, gs_kt=90) == pytest.approx(30, abs=0.1)  # heights rounded to 10 ft
    assert vor.cone_s(height_ft=3950, gs_kt=90, half_angle_deg=30) == pytest.approx(30, abs=0.1)
    assert vor.cone_s(height_ft=3000, gs_kt=90, offset_nm=0.6) == 0
    radius = vor.cone_radius_nm(height_ft=3000)
    assert vor.cone_s(height_ft=3000, gs_kt=90, offset_nm=0.6 * radius) == pytest.approx(
        0.8 * vor.cone_s(height_ft=3000, gs_kt=90)
    )  # 3-4-5
    assert vor.cone_s(height_ft=3000, gs_kt=90, offset_nm=-0.2) == vor.cone_s(height_ft=3000, gs_kt=90, offset_nm=0.2)
    assert vor.cone_s(height_ft=0, gs_kt=90) == 0


def test_cone_agrees_with_its_surface():
    """Definition: inside means nearer than the radius at that height."""
    radius = vor.cone_radius_nm(height_ft=5000, half_angle_deg=40)
    assert vor.in_cone(dist_nm=radius * 0.999, height_ft=5000, half_angle_deg=40) is True
    assert vor.in_cone(dist_nm=radius, height_ft=5000, half_angle_deg=40) is False
    assert vor.in_cone(dist_nm=[0, 2], height_ft=5000).tolist() == [True, False]
    with pytest.raises(OutOfRange, match="full angle of the cone"):
        vor.cone_radius_nm(height_ft=5000, half_angle_deg=90)
    with pytest.raises(OutOfRange, match="height_ft = -1 ft"):
        vor.cone_radius_nm(height_ft=-1)


def test_needle_rate():
    """Independent method: the radial a tenth of a second later, by arc tangent."""
    for dist_nm in (0.2, 1, 10):
        step_nm = 25 * 0.1 / 3600
        later_deg = np.degrees(np.arctan(step_nm / dist_nm))
        # Over a tenth of a second the arc tangent bends by less than one part in ten thousand.
        assert vor.needle_rate_deg_s(cross_kt=25, dist_nm=dist_nm) == pytest.approx(later_deg / 0.1, rel=1e-4)
    assert vor.needle_rate_deg_s(cross_kt=-25, dist_nm=1) == -vor.needle_rate_deg_s(cross_kt=25, dist_nm=1)


@given(st.floats(-10, 10), st.floats(-10, 10), st.floats(0, 20), st.floats(0.05, 5))
def test_lag_in_two_steps_or_one(shown_deg, wanted_deg, dt_s, lag_s):
    """Definition: a first-order lag does not depend on how the time is cut, and never overshoots."""
    once = vor.lagged_deg(shown_deg=shown_deg, wanted_deg=wanted_deg, dt_s=dt_s, lag_s=lag_s)
    half = vor.lagged_deg(shown_deg=shown_deg, wanted_deg=wanted_deg, dt_s=dt_s / 2, lag_s=lag_s)
    assert vor.lagged_deg(shown_deg=half, wanted_deg=wanted_deg, dt_s=dt_s / 2, lag_s=lag_s) == pytest.approx(
        once, abs=1e-9
    )  # float sums
    assert min(shown_deg, wanted_deg) - 1e-9 <= once <= max(shown_deg, wanted_deg) + 1e-9


def test_lag_time_constant():
    """Definition: after one time constant 1 - 1/e of the gap is closed."""
    assert vor.lagged_deg(shown_deg=0, wanted_deg=10, dt_s=2, lag_s=2) == pytest.approx(10 * (1 - np.exp(-1)))
    assert vor.lagged_deg(shown_deg=3, wanted_deg=10, dt_s=0) == 3


def test_scalloping_is_drawn_from_its_seed():
    """Definition: same seed, same waves; never beyond the amplitude; about as much left as right."""
    time_s = np.arange(0, 3600, 0.5)
    waves = vor.scalloping_deg(time_s=time_s, seed=11)
    assert np.array_equal(waves, vor.scalloping_deg(time_s=time_s, seed=11))
    assert not np.allclose(waves, vor.scalloping_deg(time_s=time_s, seed=12))
    assert waves[100] == pytest.approx(vor.scalloping_deg(time_s=50.0, seed=11), abs=1e-12)  # order of a float sum
    assert 0.5 < np.abs(waves).max() <= 1
    assert abs(waves.mean()) < 0.02  # an hour holds hundreds of waves
    # The shortest period is 5 s, so no wave moves faster than 2 pi / 5 degrees a second.
    assert np.abs(np.diff(waves)).max() / 0.5 <= 2 * np.pi / 5
    assert vor.scalloping_deg(time_s=time_s, seed=11, amplitude_deg=3.0) == pytest.approx(3.0 * waves)
    assert vor.scalloping_deg(time_s=9.0, seed=11, amplitude_deg=0.0) == 0


def test_distance_off_course():
    """FAA knowledge test bank: 60 NM, 2 degrees: about 2 NM; 30 NM, half scale: 2.5 NM."""
    assert vor.offset_rule_nm(dist_nm=60, off_deg=2) == 2
    assert vor.offset_rule_nm(dist_nm=30, off_deg=5) == 2.5
    # The arc is 2.094 and 2.618 NM; the straight distance is under it by less than 0.2 %.
    assert vor.offset_nm(dist_nm=60, off_deg=2) == pytest.approx(2.094, rel=2e-3)
    assert vor.offset_nm(dist_nm=30, off_deg=5) == pytest.approx(2.618, rel=2e-3)
    off_deg = np.arange(0.5, 10.5, 0.5)
    low = 1 - vor.offset_rule_nm(dist_nm=20, off_deg=off_deg) / vor.offset_nm(dist_nm=20, off_deg=off_deg)
    assert low.min() > 0.039  # the docstring promises 4 to 5 % low up to 10 degrees
    assert low.max() < 0.05


def test_one_degree_is_a_mile_at_sixty():
    """USAF Appendix: 60-1 rule: one degree is one mile at sixty; exactly 1.0472 on the arc."""
    assert vor.offset_rule_nm(dist_nm=60, off_deg=1) == 1
    assert vor.offset_nm(dist_nm=60, off_deg=1) == pytest.approx(1.0472, abs=1e-4)  # sine for arc: 5 parts in 100,000
    assert vor.offset_rule_nm(dist_nm=[30, 10], off_deg=1).tolist() == pytest.approx([1 / 2, 1 / 6])  # P-871 C-1
    assert vor.offset_nm(dist_nm=[30, 10], off_deg=1).tolist() == pytest.approx([0.5236, 0.1745], abs=1e-4)


def test_angle_off():
    """Definition: 0.1 NM beside the line at 5, 2, 1 and 0.5 NM."""
    assert np.round(vor.off_deg(offset_nm=0.1, to_go_nm=[5, 2, 1, 0.5]), 1).tolist() == [1.1, 2.9, 5.7, 11.3]
    assert vor.off_deg(offset_nm=-0.1, to_go_nm=0) == -90
    assert vor.off_deg(offset_nm=0, to_go_nm=0) == 0


def test_dots_in_feet():
    """Common FAA teaching: 200 ft per dot and mile, 6 % below the exact 212.2 ft."""
    assert vor.dot_ft(dist_nm=1) == pytest.approx(212.2, abs=0.05)  # printed digit
    assert 1 - vor.DOT_RULE_FT_NM / vor.dot_ft(dist_nm=1) == pytest.approx(0.057, abs=0.0005)  # last digit
    assert vor.dot_ft(dist_nm=1, full_scale_deg=12) / vor.dot_ft(dist_nm=1) == pytest.approx(
        1.2, abs=0.001
    )  # tangent, nearly linear


def test_band():
    """IFH9 p. 9-11 and Annex 10 summary: 160 VOR channels; tenths below 112 are even."""
    raster = np.round(np.arange(107.0, 119.0, 0.05), 2)
    assert np.count_nonzero(vor.is_vor_frequency(raster)) == 160
    good = [108.0, 108.05, 110.25, 112.0, 112.1, 112.15, 114.6, 116.15, 117.95]
    assert vor.is_vor_frequency(good).all()
    bad = [108.10, 108.15, 111.95, 107.95, 118.00, 113.03, 114.63, 110.70]
    assert not vor.is_vor_frequency(bad).any()
    with pytest.raises(OutOfRange, match="in kHz"):
        vor.is_vor_frequency(114600)


@pytest.mark.parametrize(
    ("service_class", "height_ft", "wanted_nm"),
    [
        ("T", 999, 0), ("T", 1000, 25), ("T", 12000, 25), ("T", 12001, 0),
        ("L", 1000, 40), ("L", 18000, 40), ("L", 18001, 0),
        ("H", 1000, 40), ("H", 14400, 40), ("H", 14600, 100), ("H", 18000, 130), ("H", 45000, 130),
        ("H", 45001, 100), ("H", 60000, 100),
        ("VL", 1000, 40), ("VL", 4999, 40), ("VL", 5000, 70), ("VL", 17999, 70), ("VL", 18000, 0),
        ("VH", 4999, 40), ("VH", 5000, 70), ("VH", 14499, 70), ("VH", 14500, 100), ("VH", 18000, 130),
        ("VH", 50000, 100),
    ],
)  # fmt: skip
def test_service_volumes(service_class, height_ft, wanted_nm):
    """AIM 1-1-8 TBL 1-1-1, all classes, both sides of each limit."""
    assert vor.service_range_nm(height_ft=height_ft, service_class=service_class) == wanted_nm


def test_unknown_class():
    """Definition: one sentence with what was expected."""
    assert vor.service_range_nm(height_ft=[500, 2000], service_class="L").tolist() == [0, 40]
    with pytest.raises(
        OutOfRange, match="service_class = 'X' is not a class of VOR: expected 'T', 'L', 'H', 'VL' or 'VH'"
    ):
        vor.service_range_nm(height_ft=2000, service_class="X")


@pytest.mark.parametrize(
    ("kind", "limit_deg"),
    [("test signal", 4), ("surface checkpoint", 4), ("airborne checkpoint", 6), ("airway", 6), ("two receivers", 4)],
)
def test_receiver_checks(kind, limit_deg):
    """14 CFR 91.171: 4, 4, 6, 6 and 4 degrees."""
    assert vor.check_passed(error_deg=[limit_deg, -limit_deg], kind=kind).all()
    assert not vor.check_passed(error_deg=[limit_deg + 0.1, -limit_deg - 0.1], kind=kind).any()


def test_two_receivers_and_the_log():
    """14 CFR 91.171: 4 degrees between receivers, a check counts for 30 days."""
    assert vor.receivers_agree(radial_1_deg=358.1, radial_2_deg=2.1) is True  # 4.0 by rounding of floats too
    assert vor.receivers_agree(radial_1_deg=358, radial_2_deg=2.1) is False
    assert vor.check_current([0, 30, 31]).tolist() == [True, True, False]
    with pytest.raises(OutOfRange, match="in the future"):
        vor.check_current(-1)
    with pytest.raises(OutOfRange, match="kind = 'hangar' is not a receiver check"):
        vor.check_passed(error_deg=1, kind="hangar")


def test_test_signal():
    """IFH9 p. 9-16: the needle centres at 0 with FROM or 180 with TO; either shows the same error."""
    assert vor.signal_check_error_deg([0, 180, 360]).tolist() == [0, 0, 0]
    assert vor.signal_check_error_deg([3, 183, 357, 177]).tolist() == [3, 3, -3, -3]
    assert vor.check_passed(error_deg=vor.signal_check_error_deg(184), kind="test signal") is True
    assert vor.flag(radial_deg=vor.TEST_SIGNAL_RADIAL_DEG, selected_course_deg=0) == "FROM"
    assert vor.flag(radial_deg=vor.TEST_SIGNAL_RADIAL_DEG, selected_course_deg=180) == "TO"


@pytest.mark.parametrize("function", [vor.offset_deg, vor.needle_deg, vor.dots, vor.flag, vor.reverse_sensing])
def test_nan_is_refused(function):
    """Definition: nan is no direction."""
    first = "course_flown_deg" if function is vor.reverse_sensing else "radial_deg"
    with pytest.raises(OutOfRange, match=f"{first} = nan is not a number"):
        function(**{first: np.nan}, selected_course_deg=0)
    with pytest.raises(OutOfRange, match="selected_course_deg = nan"):
        function(**{first: 0}, selected_course_deg=np.nan)


@pytest.mark.parametrize(
    "call",
    [
        lambda bad: vor.offset_nm(dist_nm=bad, off_deg=1),
        lambda bad: vor.offset_rule_nm(dist_nm=bad, off_deg=1),
        lambda bad: vor.off_deg(offset_nm=1, to_go_nm=bad),
        lambda bad: vor.dot_ft(dist_nm=bad),
        lambda bad: vor.needle_rate_deg_s(cross_kt=5, dist_nm=bad),
        lambda bad: vor.in_cone(dist_nm=bad, height_ft=1000),
    ],
)
@pytest.mark.parametrize("bad", [-0.1, 301, np.nan])
def test_distances_outside_their_range(call, bad):
    """Definition: distances run from 0 to 300 NM."""
    with pytest.raises(OutOfRange, match="_nm"):
        call(bad)
