"""The wind triangle against printed answers, identities and its own rules."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from needlework.basis.errors import NoSolution, OutOfRange
from needlework.trade import wind
from needlework.trade.angles import difference_deg, wrap180

DIRECTIONS = st.floats(0, 360)
AIRSPEEDS = st.floats(60, 400)
WINDS = st.floats(0, 55)


@pytest.mark.parametrize(
    ("gs", "course", "wind_from", "wind_kt", "airspeed", "heading"),
    [(232, 351, 33, 47, 269, 358), (215, 271, 316, 48, 252, 279)],
)
def test_wartime_manual(gs, course, wind_from, wind_kt, airspeed, heading):
    """TM appendix p. 165, h(2) and h(6): airspeed and heading from ground speed, course and wind."""
    # 1 kt and 1 deg: the book rounds to whole numbers and works with a slide rule.
    assert wind.heading_deg(
        course_deg=course, tas_kt=airspeed, wind_from_deg=wind_from, wind_kt=wind_kt
    ) == pytest.approx(heading, abs=1)
    assert wind.ground_speed_kt(
        course_deg=course, tas_kt=airspeed, wind_from_deg=wind_from, wind_kt=wind_kt
    ) == pytest.approx(gs, abs=1)


@pytest.mark.parametrize(
    ("gs", "course", "wind_from", "wind_kt", "airspeed", "heading"),
    [
        (185, 110, 172, 35, 203.8, 118.7),
        (129, 186, 243, 38, 153.1, 198.0),
        (165, 223, 267, 21, 180.7, 227.6),
    ],
)
def test_wartime_manual_without_printed_answers(gs, course, wind_from, wind_kt, airspeed, heading):
    """TM appendix p. 165, h(1), h(3), h(5): questions from the book, answers by vector sum, independently."""
    # 0.1: the answers are given to one decimal.
    assert wind.heading_deg(
        course_deg=course, tas_kt=airspeed, wind_from_deg=wind_from, wind_kt=wind_kt
    ) == pytest.approx(heading, abs=0.1)
    assert wind.ground_speed_kt(
        course_deg=course, tas_kt=airspeed, wind_from_deg=wind_from, wind_kt=wind_kt
    ) == pytest.approx(gs, abs=0.1)


def test_handbook_triangle():
    """PHAK15 wind-triangle example (numbers from memory): course 090, 120 kt, wind 045/40 gives 076 and 88 kt."""
    assert wind.heading_deg(course_deg=90, tas_kt=120, wind_from_deg=45, wind_kt=40) == pytest.approx(
        76, abs=0.5
    )  # half a unit of print
    assert wind.ground_speed_kt(course_deg=90, tas_kt=120, wind_from_deg=45, wind_kt=40) == pytest.approx(
        88, abs=0.5
    )  # half a unit of print
    assert wind.correction_deg(course_deg=90, tas_kt=120, wind_from_deg=45, wind_kt=40) == pytest.approx(
        -13.6, abs=0.05
    )  # half a unit of print


def test_correction_is_added_to_the_course():
    """SI p. 7, ex. 15: course 236, correction 8 right, heading 244."""
    # Any wind that makes 8 degrees will do: 100 * sin 8 = 13.917 kt from the right.
    across_kt = 100 * np.sin(np.radians(8))
    assert wind.heading_deg(course_deg=236, tas_kt=100, wind_from_deg=326, wind_kt=across_kt) == pytest.approx(
        244, abs=1e-9
    )  # float sines


@pytest.mark.parametrize(
    ("heading", "track", "gs", "wind_from", "wind_kt"), [(52, 45, 220, 92.3, 41.5), (52, 55, 255, 302.8, 14.1)]
)
def test_wind_found_from_the_track(heading, track, gs, wind_from, wind_kt):
    """P-203 Fig. 4.6-2 (inputs; TAS 250); answers by the law of cosines, an independent method."""
    found_from, found_kt = wind.wind_from_track(heading_deg=heading, tas_kt=250, track_deg=track, gs_kt=gs)
    assert found_from == pytest.approx(wind_from, abs=0.05)  # one decimal given
    assert found_kt == pytest.approx(wind_kt, abs=0.05)  # one decimal given
    side = np.sqrt(250**2 + gs**2 - 2 * 250 * gs * np.cos(np.radians(track - heading)))
    assert found_kt == pytest.approx(side, rel=1e-12)  # float


def test_components_chart():
    """FAAQ crosswind chart item: runway 18, wind 220/30: headwind 23, crosswind 19 from the right."""
    headwind, crosswind = wind.components_kt(direction_deg=180, wind_from_deg=220, wind_kt=30)
    assert headwind == pytest.approx(23, abs=0.5)  # read off a chart in whole knots
    assert crosswind == pytest.approx(19, abs=0.5)  # read off a chart in whole knots
    assert (headwind, crosswind) == pytest.approx((22.98, 19.28), abs=0.005)  # two decimals given


@pytest.mark.parametrize(
    ("angle", "wind_kt", "along", "across"),
    [(30, 20, 17.3, 10.0), (45, 20, 14.1, 14.1), (60, 20, 10, 17.3), (30, 40, 34.6, 20)],
)
def test_components_table(angle, wind_kt, along, across):
    """Definition: sine and cosine of the angle, here to one decimal."""
    assert wind.components_kt(direction_deg=0, wind_from_deg=angle, wind_kt=wind_kt) == pytest.approx(
        (along, across), abs=0.05
    )  # one decimal given
    assert wind.components_kt(direction_deg=0, wind_from_deg=-angle, wind_kt=wind_kt) == pytest.approx(
        (along, -across), abs=0.05
    )  # one decimal given
    assert wind.components_kt(direction_deg=180, wind_from_deg=angle, wind_kt=wind_kt) == pytest.approx(
        (-along, -across), abs=0.05
    )  # same


@given(DIRECTIONS, AIRSPEEDS, DIRECTIONS, WINDS)
def test_heading_and_track_undo_each_other(course, tas, wind_from, wind_kt):
    """Definition: the heading found for a course gives that course as its track, and the same ground speed."""
    heading = wind.heading_deg(course_deg=course, tas_kt=tas, wind_from_deg=wind_from, wind_kt=wind_kt)
    # 1e-6: float sines and sums.
    assert difference_deg(
        from_deg=wind.track_deg(heading_deg=heading, tas_kt=tas, wind_from_deg=wind_from, wind_kt=wind_kt),
        to_deg=course,
    ) == pytest.approx(0, abs=1e-6)
    gs = wind.ground_speed_kt(course_deg=course, tas_kt=tas, wind_from_deg=wind_from, wind_kt=wind_kt)
    assert wind.ground_speed_on_heading_kt(
        heading_deg=heading, tas_kt=tas, wind_from_deg=wind_from, wind_kt=wind_kt
    ) == pytest.approx(gs, abs=1e-6)
    drift = wind.drift_deg(heading_deg=heading, tas_kt=tas, wind_from_deg=wind_from, wind_kt=wind_kt)
    assert drift == pytest.approx(
        -wind.correction_deg(course_deg=course, tas_kt=tas, wind_from_deg=wind_from, wind_kt=wind_kt), abs=1e-6
    )
    assume(wind_kt > 0.01)  # the direction of a calm means nothing
    found_from, found_kt = wind.wind_from_track(heading_deg=heading, tas_kt=tas, track_deg=course, gs_kt=gs)
    assert found_kt == pytest.approx(wind_kt, abs=1e-6)
    assert difference_deg(from_deg=found_from, to_deg=wind_from) == pytest.approx(
        0, abs=1e-4
    )  # float noise over 0.01 kt


@given(DIRECTIONS, AIRSPEEDS, DIRECTIONS, WINDS)
def test_mirror(course, tas, wind_from, wind_kt):
    """Definition: the same wind from the other side asks for the same correction the other way."""
    there = wind.correction_deg(course_deg=course, tas_kt=tas, wind_from_deg=wind_from, wind_kt=wind_kt)
    mirrored = wind.correction_deg(
        course_deg=course, tas_kt=tas, wind_from_deg=2 * course - wind_from, wind_kt=wind_kt
    )
    assert mirrored == pytest.approx(-there, abs=1e-9)  # float sines


@given(st.floats(0, 0.25), AIRSPEEDS)
def test_largest_drift_rule(part, tas):
    """Independent method: asin of wind over airspeed; the rule holds within 5 % up to a quarter."""
    rule, exact = wind.max_drift_rule_deg(wind_kt=part * tas, tas_kt=tas), np.degrees(np.arcsin(part))
    assert rule == pytest.approx(exact, rel=0.05, abs=1e-12)  # a rule of thumb, 5 %
    assert wind.correction_deg(course_deg=0, tas_kt=tas, wind_from_deg=90, wind_kt=part * tas) == pytest.approx(
        exact, abs=1e-9
    )  # float


def test_largest_drift_printed():
    """Common practice, no source: 20 kt at 120 kt gives 10 degrees by the rule; exactly 9.6."""
    assert wind.max_drift_rule_deg(wind_kt=20, tas_kt=120) == 10
    assert wind.correction_deg(course_deg=0, tas_kt=120, wind_from_deg=90, wind_kt=20) == pytest.approx(
        9.6, abs=0.05
    )  # one decimal given


@pytest.mark.parametrize(("angle", "part"), [(0, 0), (30, 0.5), (45, 0.7), (60, 0.9), (90, 1), (120, 0.9), (180, 0)])
def test_clock_rule(angle, part):
    """Common practice, no source: half, 0.7, 0.9 and all of the wind at 30, 45, 60 and 90 degrees."""
    assert wind.clock_crosswind_kt(direction_deg=0, wind_from_deg=angle, wind_kt=20) == pytest.approx(
        20 * part, abs=1e-9
    )  # float
    assert wind.clock_crosswind_kt(direction_deg=0, wind_from_deg=-angle, wind_kt=20) == pytest.approx(
        -20 * part, abs=1e-9
    )  # float


def test_clock_rule_stays_near_the_sine():
    """Independent method: sine of the angle all round the dial, and the correction within one degree."""
    angles = np.arange(0.0, 360.0)
    rule = wind.clock_crosswind_kt(direction_deg=0, wind_from_deg=angles, wind_kt=100)
    assert np.abs(rule - 100 * np.sin(np.radians(angles))).max() < 4  # stated in the docstring
    error = wind.correction_rule_deg(
        course_deg=0, tas_kt=100, wind_from_deg=angles, wind_kt=25
    ) - wind.correction_deg(course_deg=0, tas_kt=100, wind_from_deg=angles, wind_kt=25)
    assert np.abs(error).max() < 1  # stated in the docstring


def test_no_solution_is_said():
    """Definition: a crosswind part as strong as the airspeed, or a headwind too strong, has no answer."""
    with pytest.raises(NoSolution, match=r"crosswind part of 60 kt is not below the true airspeed of 60 kt"):
        wind.correction_deg(course_deg=0, tas_kt=60, wind_from_deg=90, wind_kt=60)
    with pytest.raises(NoSolution, match=r"crosswind part of 70 kt is not below the true airspeed of 65 kt"):
        wind.heading_deg(course_deg=0, tas_kt=[80, 65], wind_from_deg=90, wind_kt=70)
    with pytest.raises(NoSolution, match=r"the ground speed would be -10 kt"):
        wind.ground_speed_kt(course_deg=0, tas_kt=60, wind_from_deg=0, wind_kt=70)
    assert wind.heading_deg(course_deg=0, tas_kt=60, wind_from_deg=0, wind_kt=70) == 0
    with pytest.raises(NoSolution, match="stands still over the ground"):
        wind.track_deg(heading_deg=0, tas_kt=60, wind_from_deg=0, wind_kt=60)
    assert (
        wind.track_deg(heading_deg=0, tas_kt=60, wind_from_deg=0, wind_kt=70) == 180
    )  # blown backwards: that is the track


def test_calm():
    """Definition: no wind, no drift; the direction of a calm is given as 0."""
    assert wind.correction_deg(course_deg=123, tas_kt=100, wind_from_deg=45, wind_kt=0) == 0
    assert wind.ground_speed_kt(course_deg=123, tas_kt=100, wind_from_deg=45, wind_kt=0) == pytest.approx(
        100, abs=1e-12
    )  # float cosine
    assert wind.wind_from_track(heading_deg=123, tas_kt=100, track_deg=123, gs_kt=100) == (0.0, 0.0)


def test_arrays_broadcast():
    """Definition: an array in gives an array out, element by element as the scalar does."""
    courses = np.arange(0.0, 360.0, 30.0)[:, None]
    winds = np.array([0.0, 20.0, 40.0])
    for function in (wind.correction_deg, wind.ground_speed_kt, wind.track_deg, wind.correction_rule_deg):
        along = "heading_deg" if function is wind.track_deg else "course_deg"
        grid = function(**{along: courses}, tas_kt=110, wind_from_deg=300, wind_kt=winds)
        assert grid.shape == (12, 3)
        assert grid[4, 2] == pytest.approx(
            function(**{along: 120}, tas_kt=110, wind_from_deg=300, wind_kt=40), abs=1e-12
        )  # same float path
    assert isinstance(wind.correction_deg(course_deg=90, tas_kt=120, wind_from_deg=45, wind_kt=40), float)


@pytest.mark.parametrize(
    ("arguments", "text"),
    [
        (
            {"course_deg": 90, "tas_kt": 30, "wind_from_deg": 45, "wind_kt": 40},
            r"tas_kt = 30 kt is outside 40 to 400 kt: is this in m/s\?$",
        ),
        ({"course_deg": 90, "tas_kt": 401, "wind_from_deg": 45, "wind_kt": 40}, r"tas_kt = 401 kt is outside"),
        (
            {"course_deg": 90, "tas_kt": 120, "wind_from_deg": 45, "wind_kt": -1},
            r"wind_kt = -1 kt is outside 0 to 200 kt$",
        ),
        (
            {"course_deg": 90, "tas_kt": 120, "wind_from_deg": 45, "wind_kt": 270},
            r"wind_kt = 270 kt is outside 0 to 200 kt: is this the wind direction\?",
        ),
        (
            {"course_deg": 90, "tas_kt": 120, "wind_from_deg": float("nan"), "wind_kt": 20},
            r"wind_from_deg = nan is not a number",
        ),
        (
            {"course_deg": "east", "tas_kt": 120, "wind_from_deg": 45, "wind_kt": 20},
            r"course_deg = 'east' is not a number",
        ),
        (
            {"course_deg": 4000, "tas_kt": 120, "wind_from_deg": 45, "wind_kt": 20},
            r"course_deg = 4,000 deg is outside",
        ),
    ],
)
def test_bad_values(arguments, text):
    """Definition: one sentence that names what was wrong and what was expected."""
    with pytest.raises(OutOfRange, match=text):
        wind.correction_deg(**arguments)


def test_limits_belong_to_the_range():
    """Definition: both ends of each range are taken."""
    assert wrap180(wind.correction_deg(course_deg=0, tas_kt=40, wind_from_deg=90, wind_kt=0)) == 0
    assert wind.correction_deg(course_deg=0, tas_kt=400, wind_from_deg=90, wind_kt=200) == pytest.approx(
        30, abs=1e-9
    )  # asin 1/2
    with pytest.raises(OutOfRange, match="gs_kt = 601 kt is outside 0 to 600 kt"):
        wind.wind_from_track(heading_deg=0, tas_kt=100, track_deg=0, gs_kt=601)
    assert wind.heading_deg(course_deg=3600, tas_kt=120, wind_from_deg=45, wind_kt=20) == wind.heading_deg(
        course_deg=0, tas_kt=120, wind_from_deg=45, wind_kt=20
    )
    assert wind.track_deg(heading_deg=-3600, tas_kt=120, wind_from_deg=3600, wind_kt=20) == wind.track_deg(
        heading_deg=0, tas_kt=120, wind_from_deg=0, wind_kt=20
    )
