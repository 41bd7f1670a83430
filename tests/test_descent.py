"""Descent: gradients, floors, minimums, VDP, timing, wind, late starts."""

import csv
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from needlework.basis.errors import NoSolution, OutOfRange
from needlework.trade import descent, units

AUTHORITIES = Path(__file__).parents[1] / "datasets" / "authorities"


def rate_table():
    lines = (AUTHORITIES / "rate_of_descent.csv").read_text(encoding="utf-8").splitlines()
    for row in csv.DictReader(line for line in lines if not line.startswith("#")):
        angle_deg = float(row.pop("angle_deg"))
        yield angle_deg, [float(speed) for speed in row], [float(rate) for rate in row.values()]


@pytest.mark.parametrize(("angle_deg", "gs_kt", "wanted_fpm"), list(rate_table()))
def test_rate_table(angle_deg, gs_kt, wanted_fpm):
    """AIM 5-4-5 names the printed table; its cells computed apart from the library."""
    got = descent.vs_fpm(gradient_ft_nm=units.ft_nm_from_deg(angle_deg), gs_kt=gs_kt)
    assert got == pytest.approx(wanted_fpm, abs=0.51)  # rounded to 1 fpm
    assert descent.gradient_made_ft_nm(vs_fpm=got, gs_kt=gs_kt) == pytest.approx(units.ft_nm_from_deg(angle_deg))


@pytest.mark.parametrize(
    ("angle_deg", "wanted_ft_nm"),
    [
        (2.0, 212.2), (2.5, 265.3), (2.75, 291.9), (2.9, 307.8), (3.0, 318.4), (3.1, 329.1), (3.2, 339.7),
        (3.5, 371.6), (3.77, 400.4), (4.0, 424.9), (4.5, 478.2), (6.1, 649.3),
    ],
)  # fmt: skip
def test_angles_and_gradients(angle_deg, wanted_ft_nm):
    """Definition: 6,076.115 ft times the tangent, computed apart from the library."""
    assert units.ft_nm_from_deg(angle_deg) == pytest.approx(wanted_ft_nm, abs=0.051)  # printed digit
    lose_ft = descent.line_ft(to_go_nm=7.0, end_ft=0.0, gradient_ft_nm=units.ft_nm_from_deg(angle_deg))
    assert units.deg_from_ft_nm(descent.gradient_ft_nm(lose_ft=lose_ft, dist_nm=7.0)) == pytest.approx(angle_deg)


@pytest.mark.parametrize(
    ("given_ft_nm", "wanted_deg"),
    [(200, 1.8853), (250, 2.3561), (300, 2.8266), (318, 2.9959), (400, 3.7664), (152, 1.4330)],
)
def test_gradients_and_angles(given_ft_nm, wanted_deg):
    """Definition: arc tangent, computed apart from the library."""
    assert units.deg_from_ft_nm(given_ft_nm) == pytest.approx(wanted_deg, abs=6e-5)  # printed digits


def test_published_limits():
    """FAA Order 8260.3B: 318 ft/NM is 3.00 degrees, optimum; 400 is 3.77, the most straight in."""
    assert units.deg_from_ft_nm(descent.OPTIMUM_FT_NM) == pytest.approx(3.00, abs=0.005)  # printed digits
    assert units.deg_from_ft_nm(descent.STEEPEST_FT_NM) == pytest.approx(3.77, abs=0.005)


def test_five_times_ground_speed():
    """CNATRA P-804 p. 117: 3 degrees, 90, 120, 105 kt: 450, 600, 525 fpm; USAF 60:1: 2.5 degrees 100 less."""
    assert descent.vs_rule_fpm(gs_kt=[90, 120, 105]).tolist() == [450, 600, 525]
    assert descent.vs_rule_fpm(gs_kt=120, angle_deg=2.5) == 500
    speeds = np.arange(60, 181, 5)
    low = 1 - descent.vs_rule_fpm(gs_kt=speeds) / descent.vs_fpm(gradient_ft_nm=units.ft_nm_from_deg(3), gs_kt=speeds)
    assert low == pytest.approx(0.058, abs=5e-4)  # the stated error, the same at any speed
    at_75 = 1 - descent.vs_rule_fpm(gs_kt=75, angle_deg=2.5) / descent.vs_fpm(
        gradient_ft_nm=units.ft_nm_from_deg(2.5), gs_kt=75
    )
    assert at_75 == pytest.approx(0.17, abs=0.005)
    with pytest.raises(OutOfRange, match=r"has no rule of thumb: expected 3 or 2\.5"):
        descent.vs_rule_fpm(gs_kt=90, angle_deg=4)


def test_three_hundred_feet_a_mile():
    """CNATRA P-340: 3 degrees at 1, 5, 10 and 30 NM; exact 318, 1,592, 3,184, 9,553."""
    miles = [1, 5, 10, 30]
    assert descent.height_rule_ft(miles).tolist() == [300, 1500, 3000, 9000]
    exact = descent.line_ft(to_go_nm=miles, end_ft=0, gradient_ft_nm=units.ft_nm_from_deg(3))
    assert exact == pytest.approx([318, 1592, 3184, 9553], abs=0.6)  # printed digits
    assert exact[2] - descent.height_rule_ft(10) == pytest.approx(184, abs=1)


def test_start_of_descent():
    """Common practice, no source: 3 NM for 1,000 ft; exact 3.14 at 3 degrees."""
    assert descent.start_rule_nm(2000) == 6
    assert descent.start_nm(lose_ft=1000, gradient_ft_nm=units.ft_nm_from_deg(3)) == pytest.approx(
        3.14, abs=0.005
    )  # printed digits
    assert descent.line_ft(
        to_go_nm=descent.start_nm(lose_ft=1234, gradient_ft_nm=300), end_ft=560, gradient_ft_nm=300
    ) == pytest.approx(560 + 1234)


def test_scenario_gradients():
    """The course's scenario: P1 317 ft/NM from OVK at 1,760 to 50 ft over the threshold at 62, D5.2."""
    gradient = descent.gradient_ft_nm(lose_ft=1760 - 62 - 50, dist_nm=5.2)
    assert gradient == pytest.approx(317, abs=0.5)  # printed digits
    assert units.deg_from_ft_nm(gradient) == pytest.approx(2.99, abs=0.005)
    assert units.deg_from_ft_nm(descent.gradient_ft_nm(lose_ft=1600 - 98 - 50, dist_nm=4.3)) == pytest.approx(
        3.18, abs=0.005
    )  # P4


@pytest.mark.parametrize(
    ("dme_nm", "target_nm", "direction", "wanted_nm"),
    [
        (5, 1.1, "in", 3.9),
        (3, 4.7, "out", 1.7),
        (5, 4.7, "through", 9.7),
        (0, 4.7, "out", 4.7),
        (5, 4.7, "out", -0.3),
    ],
)
def test_miles_to_go(dme_nm, target_nm, direction, wanted_nm):
    """Definition: towards the station the reading falls, away it rises, through it both."""
    to_go = descent.to_go_nm(dme_nm=dme_nm, target_nm=target_nm, direction=direction)
    assert to_go == pytest.approx(wanted_nm)
    if to_go >= 0:
        back = descent.dme_at_nm(to_go_nm=to_go, target_nm=target_nm, direction="in" if direction == "in" else "out")
        assert back == pytest.approx(dme_nm)
    with pytest.raises(OutOfRange, match="is not a way to fly: expected 'in', 'out' or 'through'"):
        descent.to_go_nm(dme_nm=1, target_nm=2, direction="up")
    with pytest.raises(OutOfRange, match="expected 'in' or 'out'"):
        descent.dme_at_nm(to_go_nm=1, target_nm=2, direction="through")


def test_floors_under_a_line():
    """The course's scenario: P1, floors at OVK and PARDO under lines to the MDA at the MAP."""
    to_go, floors = [4.7, 1.7], [1760, 800]
    assert descent.shallowest_ft_nm(to_go_nm=to_go, floor_ft=floors, end_ft=560) == pytest.approx(1200 / 4.7)
    gradient = descent.shallowest_ft_nm(to_go_nm=to_go, floor_ft=floors, end_ft=560)
    assert descent.shortfall_ft(to_go_nm=to_go, floor_ft=floors, end_ft=560, gradient_ft_nm=gradient).max() < 1e-9
    assert descent.shortfall_ft(to_go_nm=to_go, floor_ft=floors, end_ft=560, gradient_ft_nm=gradient - 1).max() > 1
    assert descent.shortfall_ft(
        to_go_nm=[4.7, 1.7], floor_ft=[1760, 1150], end_ft=560, gradient_ft_nm=300
    ).round().tolist() == [0, 80]
    assert descent.shallowest_ft_nm(to_go_nm=[3.0], floor_ft=[500], end_ft=560) == 0


FIXES = st.lists(st.tuples(st.floats(0.2, 4), st.integers(0, 2500)), min_size=1, max_size=6)


@given(FIXES, st.integers(0, 800))
def test_continuous_is_the_gentlest(fixes, above_ft):
    """Independent method: no descent that meets the floors has a gentler steepest leg; a bound no path can beat.

    A path over a floor must on average fall (floor - end) / to go from there, and
    (start - end) / distance from the start: the greatest of these is the least steepest gradient.
    """
    to_go = np.cumsum([step for step, _ in fixes])[::-1]
    floors = np.array([floor for _, floor in fixes], dtype=float)
    start_ft, end_ft = float(floors.max() + above_ft), 0.0
    bound = np.concatenate([[start_ft], floors[1:]])
    least = np.max((bound - end_ft) / to_go)
    if least > 1499:
        return
    legs = descent.continuous(
        to_go_nm=to_go, floor_ft=floors, start_ft=start_ft, end_ft=end_ft, gs_kt=90, gradient_ft_nm=1500
    )
    gradients = [leg.gradient_ft_nm for leg in legs]
    assert max(gradients) == pytest.approx(least, abs=1e-6)  # sums of floats up to thousands
    assert np.diff(gradients).min(initial=0) > -1e-6  # never gentler further on
    assert min(gradients) > -1e-6
    assert [leg.from_nm for leg in legs] == pytest.approx(to_go)
    assert legs[0].from_ft == start_ft
    assert legs[-1].to_ft == end_ft
    for leg, floor in zip(legs, floors[1:], strict=False):
        assert leg.to_ft >= floor - 1e-6
    for before, after in pairwise(legs):
        assert before.to_ft == after.from_ft
    if least > 1:
        with pytest.raises(NoSolution, match="no continuous descent meets every crossing here"):
            descent.continuous(
                to_go_nm=to_go, floor_ft=floors, start_ft=start_ft, end_ft=end_ft, gs_kt=90, gradient_ft_nm=least - 1
            )


def test_continuous_says_where_it_is_level():
    """Definition: where a later floor is as high as the start there is nothing to lose."""
    legs = descent.continuous(to_go_nm=[8, 5, 2], floor_ft=[2000, 2000, 900], start_ft=2000, end_ft=300, gs_kt=90)
    assert [leg.level for leg in legs] == [True, False, False]
    assert [leg.gradient_ft_nm for leg in legs[1:]] == pytest.approx([340, 340])  # the floor of 900 lies below
    assert legs[1].vs_fpm == pytest.approx(510)
    assert legs[1].time_s == pytest.approx(120)
    with pytest.raises(NoSolution, match=r"From 2,000 ft with 2\.0 NM to go the descent needs 850 ft/NM, more than"):
        descent.continuous(to_go_nm=[8, 2], floor_ft=[2000, 2000], start_ft=2000, end_ft=300, gs_kt=90)


def test_a_row_of_fixes_that_makes_no_sense():
    """Definition: one sentence each."""
    with pytest.raises(OutOfRange, match="does not fall from fix to fix"):
        descent.continuous(to_go_nm=[2, 5], floor_ft=[900, 900], start_ft=900, end_ft=300, gs_kt=90)
    with pytest.raises(OutOfRange, match="floor_ft has 1 altitudes for 2 fixes"):
        descent.continuous(to_go_nm=[5, 2], floor_ft=[900], start_ft=900, end_ft=300, gs_kt=90)
    with pytest.raises(NoSolution, match="starts at 900 ft, below a floor of 1,000 ft"):
        descent.step_down(to_go_nm=[5, 2], floor_ft=[900, 1000], start_ft=900, end_ft=300, gs_kt=90, vs_fpm=500)
    with pytest.raises(NoSolution, match="that is a climb"):
        descent.continuous(to_go_nm=[5], floor_ft=[200], start_ft=200, end_ft=300, gs_kt=90)
    # A floor below the end never binds.
    assert (
        descent.continuous(to_go_nm=[5, 2], floor_ft=[900, 100], start_ft=900, end_ft=300, gs_kt=90)[-1].to_ft == 300
    )


def test_speeds_by_leg():
    """Definition: one speed for all legs, or one for each."""
    legs = descent.continuous(to_go_nm=[6, 3], floor_ft=[1500, 900], start_ft=1500, end_ft=300, gs_kt=[120, 90])
    assert [leg.vs_fpm for leg in legs] == pytest.approx([400, 300])
    assert sum(leg.time_s for leg in legs) == pytest.approx(90 + 120)


@given(FIXES, st.integers(0, 800), st.floats(200, 1500), st.floats(50, 150))
def test_step_down_never_breaks_a_floor(fixes, above_ft, vs_fpm, gs_kt):
    """Independent method: small steps of time, going down whenever no floor ahead forbids it."""
    to_go = np.cumsum([step for step, _ in fixes])[::-1]
    floors = np.array([floor for _, floor in fixes], dtype=float)
    start_ft = float(floors.max() + above_ft)
    legs = descent.step_down(to_go_nm=to_go, floor_ft=floors, start_ft=start_ft, end_ft=0, gs_kt=gs_kt, vs_fpm=vs_fpm)
    assert legs[0].from_nm == pytest.approx(to_go[0])
    assert legs[-1].to_nm == 0
    for before, after in pairwise(legs):
        assert (before.to_nm, before.to_ft) == (after.from_nm, after.from_ft)
    assert all(leg.level or leg.vs_fpm == pytest.approx(vs_fpm) for leg in legs)
    ends = np.array([legs[0].from_nm, *(leg.to_nm for leg in legs)])
    heights = np.array([start_ft, *(leg.to_ft for leg in legs)])
    height, here = start_ft, float(to_go[0])
    step_nm = here / 2000
    while here > step_nm:
        ahead = floors[1:][to_go[1:] < here - 1e-9]
        lowest = ahead.max(initial=0.0)
        height = max(height - step_nm / gs_kt * 60 * vs_fpm, min(height, lowest))
        here -= step_nm
    # A floor may end inside a step: the walk is a step's descent late or early for each fix.
    slack = (len(fixes) + 1) * step_nm / gs_kt * 60 * vs_fpm + 1e-6
    assert np.interp(here, ends[::-1], heights[::-1]) == pytest.approx(height, abs=slack)
    for fix_nm, floor in zip(to_go[1:], floors[1:], strict=True):
        passed = heights[np.argmin(np.abs(ends - fix_nm))]
        assert passed >= floor - 1e-6


def test_step_down_on_the_scenario():
    """The course's scenario: P1 final at 90 kt and 700 fpm, worked by hand."""
    legs = descent.step_down(
        to_go_nm=[4.7, 1.7], floor_ft=[1760, 800], start_ft=1760, end_ft=560, gs_kt=90, vs_fpm=700
    )
    assert [(round(leg.to_nm, 3), leg.to_ft, leg.level) for leg in legs] == [
        (2.643, 800, False),
        (1.7, 800, True),
        (1.186, 560, False),
        (0.0, 560, True),
    ]
    slow = descent.step_down(to_go_nm=[4.7], floor_ft=[1760], start_ft=1760, end_ft=560, gs_kt=90, vs_fpm=300)
    assert slow[-1].to_ft == pytest.approx(1760 - 300 * 4.7 / 1.5)  # 940: too slow to get down
    assert slow[-1].to_ft > 560


def test_level_off():
    """Common practice, no source: 10 %; independent method: the lagging aircraft stepped in time."""
    assert descent.level_off_rule_ft(500) == 50
    assert descent.level_off_rule_ft(700) == 70
    rate, height = 700 / 60, 0.0
    for _ in range(60000):
        height += rate * 0.001
        rate -= rate / 3 * 0.001
    assert descent.level_off_ft(vs_fpm=700, lag_s=3) == pytest.approx(
        height, rel=1e-3
    )  # first-order steps of a millisecond
    assert descent.level_off_ft(vs_fpm=700, lag_s=0) == 0


def test_visual_descent_point():
    """Common practice, no source: HAT/300; definition: (600 - 50) / tan 3 degrees is 1.73 NM."""
    assert descent.vdp_rule_nm(600) == 2
    assert descent.vdp_rule_nm(350) == pytest.approx(1.17, abs=0.005)  # printed digits
    assert descent.vdp_nm(hat_ft=600) == pytest.approx(1.73, abs=0.005)
    too_far = descent.vdp_rule_nm([400, 800]) - descent.vdp_nm(hat_ft=[400, 800])
    assert too_far == pytest.approx([0.23, 0.31], abs=0.005)  # the stated error
    assert descent.vdp_nm(hat_ft=30) == 0
    # From the VDP the line reaches the crossing height at the threshold.
    line_ft = descent.line_ft(
        to_go_nm=descent.vdp_nm(hat_ft=498, crossing_ft=50, angle_deg=2.99),
        end_ft=62 + 50,
        gradient_ft_nm=units.ft_nm_from_deg(2.99),
    )
    assert line_ft == pytest.approx(62 + 498)


def test_scenario_vdp():
    """The course's scenario: P1 VDP at D3.8 from threshold D5.2, MDA 560, threshold 62."""
    assert descent.dme_at_nm(
        to_go_nm=descent.vdp_nm(hat_ft=498, crossing_ft=50, angle_deg=2.99), target_nm=5.2, direction="out"
    ) == pytest.approx(3.8, abs=0.05)  # printed


def test_visual_descent_point_by_time():
    """Common practice, no source: HAT/10 s; 3:35 less 35 s is 3:00; right at 120 kt, a quarter short at 90."""
    assert descent.vdp_before_rule_s(350) == 35
    assert units.mm_ss((units.minutes_from_mm_ss("3:35") * 60 - descent.vdp_before_rule_s(350)) / 60) == "3:00"
    for hat_ft in (300, 600):
        by_rule = descent.time_s(dist_nm=descent.vdp_rule_nm(hat_ft), gs_kt=[120, 90])
        assert descent.vdp_before_rule_s(hat_ft) / by_rule == pytest.approx([1, 0.75])
    assert descent.vdp_before_s(hat_ft=600, gs_kt=120) == pytest.approx(descent.vdp_nm(hat_ft=600) * 30)


@pytest.mark.parametrize(
    ("dist_nm", "gs_kt", "wanted"),
    [
        (5.0, 60, "5:00"), (5.0, 90, "3:20"), (5.0, 120, "2:30"), (5.0, 150, "2:00"), (4.3, 90, "2:52"),
        (4.3, 110, "2:21"), (4.3, 120, "2:09"), (3.3, 60, "3:18"), (3.3, 90, "2:12"), (3.3, 120, "1:39"),
        (4.3, 60, "4:18"), (4.3, 70, "3:41"), (4.3, 80, "3:14"), (4.3, 100, "2:35"), (4.3, 140, "1:51"),
    ],
)  # fmt: skip
def test_timing(dist_nm, gs_kt, wanted):
    """Definition, computed apart from the library; the 4.3 NM rows are the scenario's box for P4."""
    got_s = descent.time_s(dist_nm=dist_nm, gs_kt=gs_kt)
    assert abs(got_s - units.minutes_from_mm_ss(wanted) * 60) <= 1  # print: one second


def test_timing_in_a_manual():
    """T-6B Instrument FTI, p. 87: 110 kt interpolates to 2:20, which implies 4.28 NM."""
    assert descent.time_s(dist_nm=4.28, gs_kt=110) == pytest.approx(140, abs=0.5)  # printed second


def test_speed_that_changes_with_the_miles():
    """Independent method: the sum of a hundred thousand short legs."""
    speeds = np.linspace(70, 110, 200001)[1::2]
    summed = np.sum(6.0 / 100000 / speeds) * 3600
    assert descent.changing_time_s(dist_nm=6, start_gs_kt=70, end_gs_kt=110) == pytest.approx(
        summed, rel=1e-8
    )  # midpoint rule
    assert descent.changing_time_s(dist_nm=6, start_gs_kt=110, end_gs_kt=70) == pytest.approx(summed, rel=1e-8)
    assert descent.changing_time_s(dist_nm=6, start_gs_kt=90, end_gs_kt=[90, 90 + 1e-9]) == pytest.approx(240)
    plain_mean = descent.time_s(dist_nm=6, gs_kt=105)
    assert (
        0 < 1 - plain_mean / descent.changing_time_s(dist_nm=6, start_gs_kt=90, end_gs_kt=120) < 0.01
    )  # the stated error


def test_headwind_between_two_heights():
    """Definition: in proportion between the heights, the nearer value outside them."""
    got = descent.headwind_at_kt(
        alt_ft=[0, 1000, 2500, 4000, 9000], low_ft=1000, low_kt=10, high_ft=4000, high_kt=-20
    )
    assert got.tolist() == [10, 10, -5, -20, -20]
    with pytest.raises(OutOfRange, match="lower of the two altitudes first"):
        descent.headwind_at_kt(alt_ft=1000, low_ft=4000, low_kt=0, high_ft=1000, high_kt=0)


def test_tailwind_makes_you_high():
    """Independent method: 450 fpm planned for 90 kt, 20 kt behind, 4.7 NM: minutes times rate by hand."""
    by_hand = 450 * (4.7 / 90 * 60 - 4.7 / 110 * 60)
    assert descent.off_line_ft(planned_gs_kt=90, vs_fpm=450, dist_nm=4.7, start_gs_kt=110) == pytest.approx(by_hand)
    assert by_hand == pytest.approx(250, abs=10)  # about 250 high
    assert descent.off_line_ft(planned_gs_kt=90, vs_fpm=450, dist_nm=4.7, start_gs_kt=70) < 0
    assert descent.off_line_ft(planned_gs_kt=90, vs_fpm=450, dist_nm=4.7, start_gs_kt=90) == 0
    between = descent.off_line_ft(planned_gs_kt=90, vs_fpm=450, dist_nm=4.7, start_gs_kt=110, end_gs_kt=90)
    assert 0 < between < by_hand


def test_late_start():
    """Definition: 1,200 ft in 3.8 NM, 0.8 late: 316 becomes 400 ft/NM, 442 becomes 560 fpm at 84 kt."""
    late = descent.late_gradient_ft_nm(lose_ft=1200, dist_nm=3.8, late_nm=0.8)
    assert descent.gradient_ft_nm(lose_ft=1200, dist_nm=3.8) == pytest.approx(316, abs=0.5)
    assert late == pytest.approx(400)
    assert descent.vs_fpm(
        gradient_ft_nm=descent.gradient_ft_nm(lose_ft=1200, dist_nm=3.8), gs_kt=84
    ) == pytest.approx(442, abs=0.5)
    assert descent.vs_fpm(gradient_ft_nm=late, gs_kt=84) == pytest.approx(560)
    with pytest.raises(NoSolution, match="no descent is left to plan"):
        descent.late_gradient_ft_nm(lose_ft=1200, dist_nm=3.8, late_nm=3.8)


def test_when_to_give_it_up():
    """IPH ch. 4: 1,000 fpm; at 100 kt that is 600 ft/NM, 53 % of the 3-degree distance."""
    latest = descent.latest_start_nm(lose_ft=1200, gs_kt=100)
    assert descent.vs_fpm(
        gradient_ft_nm=descent.gradient_ft_nm(lose_ft=1200, dist_nm=latest), gs_kt=100
    ) == pytest.approx(1000)
    share = latest / descent.start_nm(lose_ft=1200, gradient_ft_nm=units.ft_nm_from_deg(3))
    assert share == pytest.approx(0.53, abs=0.005)  # printed digits


def test_go_around_sinks():
    """Independent method: the lagging aircraft stepped in time, after a second of unchanged descent."""
    for sink_fpm, climb_fpm in ((450, 650), (700, 1100), (1000, 300)):
        rate, height, lowest = -sink_fpm / 60, -sink_fpm / 60 * 1.0, 0.0
        for _ in range(20000):
            height += rate * 0.001
            rate += (climb_fpm / 60 - rate) / 3 * 0.001
            lowest = min(lowest, height)
        # Steps of a millisecond are off by one part in a thousand.
        assert descent.go_around_loss_ft(vs_fpm=sink_fpm, climb_fpm=climb_fpm, delay_s=1, lag_s=3) == pytest.approx(
            -lowest, rel=2e-3
        )
    assert descent.go_around_loss_ft(vs_fpm=450, climb_fpm=650) < descent.ALLOWANCE_FT
    assert descent.derived_da_ft(mda_ft=560) == 610
    assert descent.derived_da_ft(mda_ft=560, allowance_ft=30) == 590


def test_cold_procedure():
    """AIM 7-3-6: field 3,206 ft, -12 deg C: about 300 before the final fix, 150 on the final."""
    before = descent.cold_altitude_ft(
        alt_ft=[9400, 7000, 6200], temperature_c=-12, elevation_ft=3206, reference_ft=6200
    ) - [9400, 7000, 6200]
    assert before == pytest.approx(300, abs=35)  # the manual rounds to convenience
    assert len(set(before)) == 1
    final = descent.cold_altitude_ft(alt_ft=[4840, 4520], temperature_c=-12, elevation_ft=3206, reference_ft=4520)
    assert final == pytest.approx([4990, 4670], abs=35)
    # For the missed approach the manual stays in its last column, 5,000 ft; the formula goes on and adds more.
    assert descent.cold_altitude_ft(alt_ft=12000, temperature_c=-12, elevation_ft=3206) > 12500


def test_minimum_of_the_day():
    """The course's scenario: P1 with the setting of another field: up by 70; AIM TBL 7-3-1 for the cold."""
    assert descent.mda_today_ft(mda_ft=560, elevation_ft=66) == 560
    assert descent.mda_today_ft(mda_ft=560, elevation_ft=66, remote_ft=70) == 630
    assert descent.mda_today_ft(mda_ft=566, elevation_ft=66, temperature_c=0) == 566 + 30  # table: 500 ft, 0 deg C
    assert (
        descent.mda_today_ft(mda_ft=566, elevation_ft=66, temperature_c=-30, remote_ft=100) == 666 + 120
    )  # table: 600 ft, -30 deg C, the note already in it
    assert descent.mda_today_ft(mda_ft=[566, 1066], elevation_ft=66, temperature_c=-10).tolist() == [616, 1166]
    with pytest.raises(OutOfRange, match="the note only ever adds"):
        descent.mda_today_ft(mda_ft=560, elevation_ft=66, remote_ft=-70)
    with pytest.raises(OutOfRange, match="elevation_ft"):
        descent.mda_today_ft(mda_ft=560, elevation_ft=20000)


@pytest.mark.parametrize(
    ("speed_kt", "wanted"),
    [(68, "A"), (90, "A"), (91, "B"), (120, "B"), (121, "C"), (130, "C"), (140, "C"), (141, "D"), (145, "D"),
     (165, "D"), (166, "E")],
)  # fmt: skip
def test_categories(speed_kt, wanted):
    """AIM 5-4-7: A < 91, B < 121, C < 141, D < 166; examples: 145 kt is D, 130 kt is C."""
    assert descent.category(speed_kt) == wanted
    assert descent.category([speed_kt, 68]).tolist() == [wanted, "A"]


@pytest.mark.parametrize("bad", [np.nan, -1])
def test_refused(bad):
    """Definition: nan and negative numbers are no distances, speeds or heights to lose."""
    for call in (
        lambda: descent.gradient_ft_nm(lose_ft=bad, dist_nm=1),
        lambda: descent.vs_fpm(gradient_ft_nm=bad, gs_kt=90),
        lambda: descent.vs_fpm(gradient_ft_nm=300, gs_kt=bad),
        lambda: descent.gradient_made_ft_nm(vs_fpm=bad, gs_kt=90),
        lambda: descent.start_nm(lose_ft=bad),
        lambda: descent.height_rule_ft(bad),
        lambda: descent.level_off_ft(vs_fpm=bad),
        lambda: descent.vdp_nm(hat_ft=bad),
        lambda: descent.time_s(dist_nm=bad, gs_kt=90),
        lambda: descent.latest_start_nm(lose_ft=bad, gs_kt=90),
        lambda: descent.category(bad),
    ):
        with pytest.raises(OutOfRange):
            call()
    with pytest.raises(OutOfRange, match="in ft/min"):
        descent.vs_fpm(gradient_ft_nm=1600, gs_kt=90)
