"""Arcs against printed rules, exact geometry and legs and turns that are flown."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from needlework.basis.errors import NoSolution, OutOfRange
from needlework.trade import arc, dme, turns, wind
from needlework.trade.angles import difference_deg, turn_deg

TURNS = st.sampled_from(["right", "left"])
RADIALS = st.floats(0, 360)


def _fly_turn(dist_nm, off_radial_deg, degrees, side, radius_nm):
    """Turn in tenths of a degree from a place on radial 0; return distance, radial and direction at the end.

    ``off_radial_deg`` is the direction of flight against the radial outbound; side +1 right, -1 left.
    """
    course = np.radians(off_radial_deg + side * np.arange(0, degrees, 0.1) + side * 0.05)
    way_nm = radius_nm * np.radians(0.1)
    east, north = np.sum(np.sin(course)) * way_nm, dist_nm + np.sum(np.cos(course)) * way_nm
    return np.hypot(east, north), np.degrees(np.arctan2(east, north)), off_radial_deg + side * degrees


# --- joining ----------------------------------------------------------------------------------------


def test_handbook_example():
    """IFH9 p. 9-17/18: 10 DME arc, inbound on 325: turn at 10.5 to 055; outbound at 9.5."""
    lead = arc.lead_handbook_nm(120)
    assert 10 + lead == 10.5
    assert 10 - lead == 9.5
    assert arc.tangent_deg(radial_deg=325, turn="right") == 55


@pytest.mark.parametrize(
    ("gs", "direction", "rate", "dme_nm"),
    [(150, "inbound", 3, 10.8), (150, "outbound", 3, 9.2), (120, "inbound", 3, 10.6), (250, "inbound", 1.5, 12.5)],
)
def test_published_leads(gs, direction, rate, dme_nm):
    """P-871 ch. 4 (0.75 printed as 0.8), P-1265 2-8 at half rate."""
    assert arc.turn_on_rule_nm(arc_nm=10, gs_kt=gs, direction=direction, rate_deg_s=rate) == pytest.approx(
        dme_nm, abs=0.051
    )  # one decimal


@pytest.mark.parametrize("gs", [100, 110, 120, 130, 140, 150])
@pytest.mark.parametrize("direction", ["inbound", "outbound"])
def test_half_a_mile_is_good_enough(gs, direction):
    """IFH9 p. 9-17: half a mile of lead and a square turn, flown in still air."""
    lead = arc.lead_handbook_nm(gs)
    start, off = (10 + lead, 180) if direction == "inbound" else (10 - lead, 0)
    end, _, _ = _fly_turn(start, off, 90, 1, turns.turn_radius_nm(tas_kt=gs))
    assert end == pytest.approx(10, abs=0.35)  # stated in the docstring


@pytest.mark.parametrize(
    ("turn", "factor"),
    [(180, 2), (150, 11 / 6), (135, 5 / 3), (120, 3 / 2), (90, 1), (60, 1 / 2), (45, 1 / 3), (30, 1 / 6)],
)
def test_factors_for_other_turns(turn, factor):
    """AF60: fractions of the lead; 90 to 180 degrees seen, the smaller ones from memory."""
    assert arc.lead_factor(turn) == pytest.approx(factor, abs=0.045)  # the fractions are rounded from 1 - cos


@pytest.mark.parametrize(
    ("turn", "factor"), [(30, 0.134), (45, 0.293), (60, 0.5), (120, 1.5), (135, 1.707), (150, 1.866), (180, 2)]
)
def test_factors_exactly(turn, factor):
    """Independent method: 1 - cos(turn), three decimals."""
    assert arc.lead_factor(turn) == pytest.approx(factor, abs=0.0005)  # print


@pytest.mark.parametrize(
    ("arc_nm", "tas", "rate", "inbound_nm", "outbound_nm"),
    [
        (10, 100, 3, 10.517, 9.455),
        (10, 120, 3, 10.618, 9.342),
        (10, 150, 3, 10.766, 9.170),
        (7, 120, 3, 7.610, 6.331),
        (15, 120, 3, 15.624, 14.349),
    ],
)
def test_exact_turn_on(arc_nm, tas, rate, inbound_nm, outbound_nm):
    """Independent method: circles that touch, worked out apart from the library, three decimals."""
    assert arc.turn_on_nm(arc_nm=arc_nm, tas_kt=tas, direction="inbound", rate_deg_s=rate) == pytest.approx(
        inbound_nm, abs=0.00051
    )  # print
    assert arc.turn_on_nm(arc_nm=arc_nm, tas_kt=tas, direction="outbound", rate_deg_s=rate) == pytest.approx(
        outbound_nm, abs=0.00051
    )  # print


def test_why_close_arcs_want_half_a_mile_more_or_less():
    """P-1265 2-11: on arcs closer than 12 DME, half rate, add about half a mile outbound, take it off inbound."""
    # At 235.62 kt half rate has a radius of exactly 2.5 NM, the rule's lead at 250 kt.
    tas = 2.5 * 3600 * np.radians(1.5)
    assert arc.turn_on_nm(arc_nm=10, tas_kt=tas, direction="inbound", rate_deg_s=1.5) == pytest.approx(
        12.247, abs=0.0005
    )  # print
    assert arc.turn_on_nm(arc_nm=10, tas_kt=tas, direction="outbound", rate_deg_s=1.5) == pytest.approx(
        7.071, abs=0.0005
    )  # print
    inbound, outbound = (
        arc.turn_on_nm(arc_nm=10, tas_kt=tas, direction="inbound", rate_deg_s=1.5) - 10,
        10 - arc.turn_on_nm(arc_nm=10, tas_kt=tas, direction="outbound", rate_deg_s=1.5),
    )
    assert 2.5 - inbound == pytest.approx(0.5, abs=0.3)  # "about half a mile"
    assert outbound - 2.5 == pytest.approx(0.5, abs=0.3)  # "about half a mile"


@given(st.floats(3, 30), st.floats(60, 180), st.sampled_from(["inbound", "outbound"]))
def test_turn_from_a_radial_ends_along_the_arc(arc_nm, tas, direction):
    """Independent method: the turn flown in tenths of a degree ends on the arc and along it."""
    start = arc.turn_on_nm(arc_nm=arc_nm, tas_kt=tas, direction=direction)
    radius = turns.turn_radius_nm(tas_kt=tas)
    # Inbound the arc to the right is joined by a left turn, outbound by a right turn.
    off, side = (180, -1) if direction == "inbound" else (0, 1)
    shift = np.degrees(np.arcsin(radius / (arc_nm + radius if direction == "inbound" else arc_nm - radius)))
    degrees = 90 - shift if direction == "inbound" else 90 + shift
    end, radial, course = _fly_turn(start, off, degrees, side, radius)
    assert end == pytest.approx(arc_nm, abs=0.005)  # steps of a tenth of a degree
    assert difference_deg(from_deg=arc.tangent_deg(radial_deg=radial, turn="right"), to_deg=course) == pytest.approx(
        0, abs=0.2
    )  # same
    # And it is the same turn as by its angle.
    by_angle = arc.turn_on_by_angle_nm(arc_nm=arc_nm, tas_kt=tas, direction=direction, turn_deg=degrees)
    assert by_angle == pytest.approx(start, abs=1e-9)  # float


@given(st.floats(3, 30), st.floats(60, 180), st.floats(10, 170), st.booleans())
def test_other_turns_end_along_the_arc(arc_nm, tas, degrees, outside):
    """Independent method: start on the arc, fly the turn backwards, and measure the distance."""
    radius = turns.turn_radius_nm(tas_kt=tas)
    # On radial 0, along an arc to the right (course 090), facing back: the turn undone.
    side = 1 if outside else -1
    back, _, _ = _fly_turn(arc_nm, 270, degrees, side, radius)
    direction = "inbound" if outside else "outbound"
    assert arc.turn_on_by_angle_nm(arc_nm=arc_nm, tas_kt=tas, direction=direction, turn_deg=degrees) == pytest.approx(
        back, abs=0.005
    )  # tenth degrees


@given(st.floats(8, 30), st.floats(70, 150), st.sampled_from(["inbound", "outbound"]), st.floats(20, 160))
def test_rule_stays_near_the_geometry(arc_nm, tas, direction, degrees):
    """P-871, AF60 against true geometry for turns of any size, in still air."""
    rule = arc.turn_on_rule_nm(arc_nm=arc_nm, gs_kt=tas, direction=direction, turn_deg=degrees)
    exact = arc.turn_on_by_angle_nm(arc_nm=arc_nm, tas_kt=tas, direction=direction, turn_deg=degrees)
    # 6 per cent of a lead of at most two radii, and half of r^2 / R for the bend of the arc.
    radius = turns.turn_radius_nm(tas_kt=tas)
    assert rule == pytest.approx(exact, abs=0.12 * radius + radius**2 / arc_nm)


# --- steps ------------------------------------------------------------------------------------------


def test_the_spiral():
    """Independent method: secants of ten degrees: perpendicular to the radial just crossed gains 1.5 % a step."""
    ranges = arc.flown_distances_nm(dist_nm=10, from_radial_deg=310, turn="right", legs=9, tas_kt=100, inside_deg=0)
    assert ranges[[1, 3, 6, 9]] == pytest.approx([10.154, 10.470, 10.962, 11.477], abs=0.0005)  # print
    assert ranges == pytest.approx(10 / np.cos(np.radians(10)) ** np.arange(10), rel=1e-12)  # float
    beyond = np.flatnonzero(np.abs(ranges - 10) > arc.ARC_TOLERANCE_NM)
    assert beyond[0] == 7  # it breaks one mile in the seventh step


def test_half_a_step_inside_holds():
    """Independent method: chords of the circle: the nose five degrees inside comes back to the arc each time."""
    assert arc.flown_distances_nm(dist_nm=10, from_radial_deg=310, turn="left", legs=9, tas_kt=100) == pytest.approx(
        np.full(10, 10.0), rel=1e-12
    )  # float
    dips = np.array([7, 10, 12, 15]) - arc.step_nearest_nm(dist_nm=[7, 10, 12, 15])
    assert dips == pytest.approx([0.027, 0.038, 0.046, 0.057], abs=0.0005)  # print
    assert arc.step_length_nm(dist_nm=[7, 10, 15]) == pytest.approx([1.220, 1.743, 2.615], abs=0.0005)  # print
    assert dips[1] * 6076 < 250  # and a 10 NM arc is held within 250 ft


def test_a_whole_step_inside_spirals_in():
    """Independent method: cosines of ten degrees: perpendicular to the next radial loses 1.5 % a step."""
    ranges = arc.flown_distances_nm(dist_nm=10, from_radial_deg=0, turn="right", legs=9, tas_kt=100, inside_deg=10)
    assert ranges[9] == pytest.approx(8.71, abs=0.005)  # print
    assert ranges[1] == pytest.approx(9.8481, abs=0.00005)  # print
    assert arc.step_nearest_nm(dist_nm=10, step_deg=10, inside_deg=10) == ranges[1]  # nearest at its end
    assert arc.step_nearest_nm(dist_nm=10, step_deg=10, inside_deg=0) == 10  # and at its beginning


def test_half_a_step_holds_whatever_the_step():
    """Definition: twenty-degree steps want the nose ten degrees inside."""
    steps = np.array([5.0, 10, 20, 30])
    assert arc.step_end_nm(dist_nm=12, step_deg=steps, inside_deg=steps / 2) == pytest.approx(12, rel=1e-12)  # float
    assert arc.inside_to_regain_deg(arc_nm=12, dist_nm=12, step_deg=steps) == pytest.approx(
        steps / 2, rel=1e-9
    )  # float


def _walk(dist_nm, radial, turn, legs, tas, wind_from, wind_kt, step, inside):
    """Fly the legs second by second in the wind and note the distance at each radial crossed."""
    sign = 1 if turn == "right" else -1
    x, y = dist_nm * np.sin(np.radians(radial)), dist_nm * np.cos(np.radians(radial))
    seen, way = [dist_nm], np.arange(0, 4000) * 0.25
    for leg in range(legs):
        start = radial + sign * step * leg
        heading = np.radians(start + sign * (90 + inside))
        east = tas * np.sin(heading) - wind_kt * np.sin(np.radians(wind_from))
        north = tas * np.cos(heading) - wind_kt * np.cos(np.radians(wind_from))
        xs, ys = x + east / 3600 * way, y + north / 3600 * way
        gone = sign * difference_deg(from_deg=start, to_deg=np.degrees(np.arctan2(xs, ys)))
        at_s = np.interp(step, gone[: np.argmax(gone > step) + 1], way[: np.argmax(gone > step) + 1])
        x, y = x + east / 3600 * at_s, y + north / 3600 * at_s
        seen.append(np.hypot(x, y))
    return np.array(seen)


@pytest.mark.parametrize(
    ("turn", "wind_from", "wind_kt", "inside"),
    [("right", 0, 0, 5), ("right", 130, 25, 5), ("left", 200, 25, 0), ("left", 20, 15, 8), ("right", 310, 20, 10)],
)
def test_steps_flown_in_wind(turn, wind_from, wind_kt, inside):
    """Independent method: the same legs flown second by second."""
    flown = _walk(10, 310, turn, 9, 100, wind_from, wind_kt, 10, inside)
    found = arc.flown_distances_nm(
        dist_nm=10,
        from_radial_deg=310,
        turn=turn,
        legs=9,
        tas_kt=100,
        wind_from_deg=wind_from,
        wind_kt=wind_kt,
        step_deg=10,
        inside_deg=inside,
    )
    assert found == pytest.approx(flown, abs=0.001)  # crossings between two quarter seconds


@given(RADIALS, st.floats(15, 180), TURNS, st.floats(70, 150), RADIALS, st.floats(0, 35), st.floats(5, 20))
def test_planned_steps_hold_the_arc(radial, angle, turn, tas, wind_from, wind_kt, step):
    """Independent method: the planned headings walked in the wind end each leg on the arc and on its radial."""
    sign = 1 if turn == "right" else -1
    legs = arc.plan_steps(
        arc_nm=10,
        from_radial_deg=radial,
        to_radial_deg=radial + sign * angle,
        turn=turn,
        tas_kt=tas,
        wind_from_deg=wind_from,
        wind_kt=wind_kt,
        step_deg=step,
    )
    x, y = 10 * np.sin(np.radians(radial)), 10 * np.cos(np.radians(radial))
    for leg in legs:
        track = np.radians(
            wind.track_deg(heading_deg=leg.heading_deg, tas_kt=tas, wind_from_deg=wind_from, wind_kt=wind_kt)
        )
        x, y = (
            x + leg.gs_kt * leg.time_s / 3600 * np.sin(track),
            y + leg.gs_kt * leg.time_s / 3600 * np.cos(track),
        )
        assert np.hypot(x, y) == pytest.approx(10, abs=1e-6)  # float sums
        assert difference_deg(from_deg=leg.to_radial_deg, to_deg=np.degrees(np.arctan2(x, y))) == pytest.approx(
            0, abs=1e-4
        )  # same
        assert leg.selector_deg == leg.to_radial_deg
    turned = sum(turn_deg(from_deg=leg.from_radial_deg, to_deg=leg.to_radial_deg, side=turn) for leg in legs)
    assert turned == pytest.approx(angle, abs=1e-6)  # float sums
    assert len(legs) == np.ceil(angle / step - 1e-9)


def test_plan_of_the_main_arc():
    """Scenario: P1's arc from R310 clockwise to the lead radial R027 in still air: turn ten, twist ten."""
    legs = arc.plan_steps(arc_nm=10, from_radial_deg=310, to_radial_deg=27, turn="right", tas_kt=98)
    assert [leg.heading_deg for leg in legs] == [45, 55, 65, 75, 85, 95, 105, pytest.approx(113.5)]
    assert [leg.selector_deg for leg in legs] == [320, 330, 340, 350, 0, 10, 20, 27]
    to = arc.plan_steps(arc_nm=10, from_radial_deg=310, to_radial_deg=27, turn="right", tas_kt=98, mode="to")
    assert [leg.selector_deg for leg in to] == [140, 150, 160, 170, 180, 190, 200, 207]
    # Chords are shorter than the arc by a thousandth.
    assert sum(leg.time_s for leg in legs) == pytest.approx(arc.time_s(arc_nm=10, angle_deg=77, gs_kt=98), rel=0.002)


def test_plan_of_the_arc_to_the_left():
    """Scenario: P2's 12 NM arc from R268 counter-clockwise to R210."""
    legs = arc.plan_steps(arc_nm=12, from_radial_deg=268, to_radial_deg=210, turn="left", tas_kt=98)
    assert [leg.heading_deg for leg in legs[:2]] == [173, 163]
    assert [leg.to_radial_deg for leg in legs] == [258, 248, 238, 228, 218, 210]
    # The wrong way round is 302 degrees and shows at once.
    assert len(arc.plan_steps(arc_nm=12, from_radial_deg=268, to_radial_deg=210, turn="right", tas_kt=98)) == 31


# --- wind -------------------------------------------------------------------------------------------


@given(RADIALS, TURNS, st.floats(70, 150), st.floats(1, 40))
def test_wind_walks_round_the_arc(wind_from, turn, tas, wind_kt):
    """Definition: no correction with the wind along the tangent, most inside with the wind from there."""
    neutral = np.array(arc.neutral_radials_deg(wind_from))
    none = arc.inside_correction_deg(
        radial_deg=neutral, turn=turn, tas_kt=tas, wind_from_deg=wind_from, wind_kt=wind_kt
    )
    assert none == pytest.approx(0, abs=1e-9)  # float sines
    most = np.degrees(np.arcsin(wind_kt / tas))
    corrections = arc.inside_correction_deg(
        radial_deg=wind_from + np.array([180.0, 0.0]), turn=turn, tas_kt=tas, wind_from_deg=wind_from, wind_kt=wind_kt
    )
    assert corrections == pytest.approx([most, -most], abs=1e-9)  # float sines
    all_round = arc.inside_correction_deg(
        radial_deg=np.arange(0, 360, 5.0), turn=turn, tas_kt=tas, wind_from_deg=wind_from, wind_kt=wind_kt
    )
    assert all_round.max() <= most + 1e-9
    assert all_round.min() >= -most - 1e-9


@given(RADIALS, TURNS, st.floats(70, 150), RADIALS, st.floats(0, 40))
def test_heading_keeps_to_the_tangent(radial, turn, tas, wind_from, wind_kt):
    """Definition: the heading's track is the tangent, and there the DME stands still."""
    heading = arc.heading_deg(radial_deg=radial, turn=turn, tas_kt=tas, wind_from_deg=wind_from, wind_kt=wind_kt)
    track = wind.track_deg(heading_deg=heading, tas_kt=tas, wind_from_deg=wind_from, wind_kt=wind_kt)
    assert difference_deg(from_deg=arc.tangent_deg(radial_deg=radial, turn=turn), to_deg=track) == pytest.approx(
        0, abs=1e-6
    )  # float
    gs = wind.ground_speed_on_heading_kt(heading_deg=heading, tas_kt=tas, wind_from_deg=wind_from, wind_kt=wind_kt)
    to_station = difference_deg(from_deg=track, to_deg=radial + 180)
    assert dme.readout_kt(gs_kt=gs, off_deg=to_station) == pytest.approx(0, abs=1e-5)  # float
    sign = 1 if turn == "right" else -1
    inside = arc.inside_correction_deg(
        radial_deg=radial, turn=turn, tas_kt=tas, wind_from_deg=wind_from, wind_kt=wind_kt
    )
    assert difference_deg(from_deg=arc.tangent_deg(radial_deg=radial, turn=turn), to_deg=heading) == pytest.approx(
        sign * inside, abs=1e-9
    )  # float


# --- getting back -----------------------------------------------------------------------------------


@pytest.mark.parametrize(("dist", "change"), [(10.5, 10), (11, 20), (9.5, -5), (9, -10), (10, 0), (12, 30), (6, -30)])
def test_getting_back_by_rule(dist, change):
    """P-871 ch. 4: 10 degrees for half a mile outside, 5 inside; P-340 ch. 6: 30 at most."""
    assert arc.regain_rule_deg(arc_nm=10, dist_nm=dist) == pytest.approx(change, abs=1e-9)  # exact rule


@pytest.mark.parametrize(("off_nm", "taught"), [(0.5, 10), (0.5, 15), (0.5, 20), (-0.5, -5), (-0.5, -15), (0.75, 20)])
def test_all_that_is_taught_lies_in_the_band(off_nm, taught):
    """IFH9 p. 9-18 and FAAQ (10 to 20, 20 at half to one mile), P-871 (10 and 5), P-340 (15): the books disagree."""
    least, most = arc.regain_band_deg(arc_nm=10, dist_nm=10 + off_nm)
    assert min(least, most) <= taught <= max(least, most)
    assert min(least, most) <= arc.regain_rule_deg(arc_nm=10, dist_nm=10 + off_nm) <= max(least, most)


@given(st.floats(5, 20), st.floats(-1.5, 1.5), st.floats(5, 20))
def test_getting_back_by_geometry(arc_nm, off_nm, step):
    """Definition: flown so far inside, the next radial is met on the arc."""
    inside = arc.inside_to_regain_deg(arc_nm=arc_nm, dist_nm=arc_nm + off_nm, step_deg=step)
    assert arc.step_end_nm(dist_nm=arc_nm + off_nm, step_deg=step, inside_deg=inside) == pytest.approx(
        arc_nm, rel=1e-9
    )  # float


# --- leaving ----------------------------------------------------------------------------------------


def test_lead_radials_by_rule():
    """P-1282 5-10, P-1244 5-10: 15 DME at 250 kt, half rate: 4 radials a mile times 2.5 miles are 10."""
    assert arc.lead_radial_rule_deg(arc_nm=15, gs_kt=250, rate_deg_s=1.5) == pytest.approx(10, abs=1e-9)  # exact rule


@pytest.mark.parametrize(
    ("arc_nm", "tas", "inbound", "outbound"),
    [(10, 120, 3.90, 3.43), (10, 150, 4.96, 4.23), (7, 120, 5.74, 4.78), (15, 120, 2.54, 2.33)],
)
def test_exact_lead_radials(arc_nm, tas, inbound, outbound):
    """Independent method: asin(r / (R - r)) and asin(r / (R + r)), two decimals; the rule lies between."""
    assert arc.lead_radial_deg(arc_nm=arc_nm, tas_kt=tas, direction="inbound") == pytest.approx(
        inbound, abs=0.0051
    )  # print
    assert arc.lead_radial_deg(arc_nm=arc_nm, tas_kt=tas, direction="outbound") == pytest.approx(
        outbound, abs=0.0051
    )  # print
    # 60 / R times 0.9425 r: nearly 57.3 / R times r, which the two exact ones straddle.
    assert outbound < arc.lead_radial_rule_deg(arc_nm=arc_nm, gs_kt=tas) < inbound


def test_under_five_degrees():
    """IFH9 p. 9-18: up to 150 kt a lead under 5 degrees is enough; at 10 NM that is so."""
    assert arc.lead_radial_deg(arc_nm=10, tas_kt=[90, 120, 150], direction="inbound").max() < 5


@pytest.mark.parametrize(("arc_nm", "rule"), [(20, 7.5), (15, 10), (10, 15)])
def test_printed_chart_where_it_follows_a_rule(arc_nm, rule):
    """P-1204 p. 76, 250 kt, column for 90 degrees, rows 20, 15 and 10 DME; 7 and 5 follow no formula."""
    assert arc.lead_radial_rule_deg(arc_nm=arc_nm, gs_kt=250, rate_deg_s=1.5) == pytest.approx(
        rule, abs=1e-9
    )  # exact rule


def test_printed_chart_against_geometry():
    """P-1204 p. 76, 250 kt, 10 DME: 18 inbound, 13 outbound; exactly 19.5 and 11.5, and P-1235's thirds 20 and 10."""
    tas = 2.5 * 3600 * np.radians(1.5)  # a turn radius of exactly 2.5 NM
    assert arc.lead_radial_deg(arc_nm=10, tas_kt=tas, direction="inbound", rate_deg_s=1.5) == pytest.approx(
        19.5, abs=0.05
    )  # one decimal
    assert arc.lead_radial_deg(arc_nm=10, tas_kt=tas, direction="outbound", rate_deg_s=1.5) == pytest.approx(
        11.5, abs=0.05
    )  # one decimal
    # Two degrees: both printed rules are rounded guesses at the geometry.
    assert arc.lead_radial_deg(arc_nm=10, tas_kt=tas, direction="inbound", rate_deg_s=1.5) == pytest.approx(18, abs=2)
    assert arc.lead_radial_deg(arc_nm=10, tas_kt=tas, direction="outbound", rate_deg_s=1.5) == pytest.approx(
        13, abs=2
    )
    assert arc.lead_radial_rule_deg(arc_nm=10, gs_kt=250, rate_deg_s=1.5) * np.array([4 / 3, 2 / 3]) == pytest.approx(
        [19.5, 11.5], abs=2
    )


@given(st.floats(4, 30), st.floats(60, 150), st.sampled_from(["inbound", "outbound"]))
def test_turn_off_the_arc_ends_on_the_radial(arc_nm, tas, direction):
    """Independent method: the turn flown in tenths of a degree ends on the final radial and along it."""
    lead, radius = (
        arc.lead_radial_deg(arc_nm=arc_nm, tas_kt=tas, direction=direction),
        turns.turn_radius_nm(tas_kt=tas),
    )
    degrees, side = (90 + lead, 1) if direction == "inbound" else (90 - lead, -1)
    _, radial, course = _fly_turn(arc_nm, 90, degrees, side, radius)
    # Degrees of radial that 2 thousandths of the turn radius make at the end, for the steps.
    assert radial == pytest.approx(lead, abs=0.2)
    wanted = lead + 180 if direction == "inbound" else lead
    assert difference_deg(from_deg=wanted, to_deg=course) == pytest.approx(0, abs=1e-6)  # float


@pytest.mark.parametrize(("final", "turn", "lead_radial"), [(34, "right", 27), (203, "left", 210), (3, "right", 356)])
def test_lead_radials_of_the_scenario(final, turn, lead_radial):
    """Scenario: P1 R034 has lead radial R027, P2 R203 has R210: seven degrees before."""
    assert arc.radial_before_deg(radial_deg=final, lead_deg=7, turn=turn) == lead_radial


# --- length, time, floors ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("arc_nm", "angle", "exact", "rule"), [(10, 30, 5.236, 5.0), (12, 45, 9.425, 9.0), (15, 40, 10.47, 10)]
)
def test_length(arc_nm, angle, exact, rule):
    """Independent method: radius times radians; AF60b by sixty to one."""
    assert arc.length_nm(arc_nm=arc_nm, angle_deg=angle) == pytest.approx(exact, abs=0.005)  # print
    assert arc.length_rule_nm(arc_nm=arc_nm, angle_deg=angle) == pytest.approx(rule, abs=1e-9)  # exact rule
    assert rule == pytest.approx(exact, rel=0.05)  # a rule, 5 per cent


@pytest.mark.parametrize(("arc_nm", "gs", "seconds"), [(10, 120, 52.4), (10, 90, 69.8), (15, 120, 78.5)])
def test_time_for_ten_degrees(arc_nm, gs, seconds):
    """Independent method: length of ten degrees over the speed, one decimal."""
    assert arc.time_s(arc_nm=arc_nm, angle_deg=10, gs_kt=gs) == pytest.approx(seconds, abs=0.05)  # print


def test_floors_of_the_main_arc():
    """Scenario: P1: 3,400 from R310 to the crossing of R345, then 3,000 to R034."""
    table = {"sector_from_deg": [310, 345], "sector_to_deg": [345, 34], "sector_alt_ft": [3400, 3000]}
    assert arc.floor_ft(radial_deg=[310, 344.9, 345.1, 0, 34], **table).tolist() == [3400, 3400, 3000, 3000, 3000]
    assert arc.floor_ft(radial_deg=345, **table) == 3400  # on the border the higher one
    with pytest.raises(NoSolution, match="No sector of the table covers radial 035°: add one"):
        arc.floor_ft(radial_deg=[0, 35], **table)
    with pytest.raises(NoSolution, match="covers radial 309°"):
        arc.floor_ft(radial_deg=309, **table)


def test_sector_altitudes():
    """Scenario: P1: 3,100 all round, 3,600 from R250 clockwise to R340."""
    table = {"sector_from_deg": [0, 250], "sector_to_deg": [360, 340], "sector_alt_ft": [3100, 3600]}
    assert arc.floor_ft(radial_deg=[249, 250, 300, 340, 341, 0], **table).tolist() == [
        3100,
        3600,
        3600,
        3600,
        3100,
        3100,
    ]


# --- shapes and bad values ----------------------------------------------------------------------------


def test_arrays_broadcast():
    """Definition: arrays broadcast, scalars give floats."""
    radii, speeds = np.array([7.0, 10, 15])[:, None], np.array([90.0, 120])
    assert arc.turn_on_nm(arc_nm=radii, tas_kt=speeds, direction="inbound").shape == (3, 2)
    assert arc.turn_on_by_angle_nm(arc_nm=radii, tas_kt=speeds, direction="outbound", turn_deg=90).shape == (3, 2)
    assert arc.lead_radial_deg(arc_nm=radii, tas_kt=speeds, direction="inbound").shape == (3, 2)
    assert arc.step_end_nm(dist_nm=radii, step_deg=10, inside_deg=[0, 5]).shape == (3, 2)
    assert arc.heading_deg(radial_deg=[0, 90], turn="right", tas_kt=100, wind_from_deg=270, wind_kt=20).shape == (2,)
    assert isinstance(arc.turn_on_nm(arc_nm=10, tas_kt=120, direction="inbound"), float)
    assert (
        len(arc.flown_distances_nm(dist_nm=10, from_radial_deg=310, turn="right", legs=np.int64(3), tas_kt=100)) == 4
    )
    assert isinstance(
        arc.floor_ft(radial_deg=10, sector_from_deg=[0], sector_to_deg=[360], sector_alt_ft=[3000]), float
    )


@pytest.mark.parametrize(
    ("function", "arguments", "text"),
    [
        (arc.tangent_deg, {"radial_deg": float("nan"), "turn": "right"}, "radial_deg = nan is not a number"),
        (
            arc.tangent_deg,
            {"radial_deg": 90, "turn": "clockwise"},
            r"turn = 'clockwise' is not a way round \(right is clockwise\): expected 'right' or 'left'",
        ),
        (arc.lead_rule_nm, {"gs_kt": 15}, r"gs_kt = 15 kt is outside 20 to 600 kt: is this in m/s\?"),
        (arc.lead_rule_nm, {"gs_kt": 120, "rate_deg_s": 2}, "rate_deg_s = 2 has no rule"),
        (arc.lead_factor, {"turn_deg": 181}, "turn_deg = 181 deg is outside 0 to 180 deg"),
        (
            arc.turn_on_nm,
            {"arc_nm": 310, "tas_kt": 120, "direction": "inbound"},
            r"arc_nm = 310 NM is outside 1 to 100 NM: is this a radial\?",
        ),
        (arc.turn_on_nm, {"arc_nm": 101, "tas_kt": 120, "direction": "inbound"}, "arc_nm = 101 NM"),
        (
            arc.turn_on_nm,
            {"arc_nm": 10, "tas_kt": 120, "direction": "left"},
            "direction = 'left' is not a way to fly a radial",
        ),
        (
            arc.step_end_nm,
            {"dist_nm": 0.1, "step_deg": 10, "inside_deg": 5},
            "dist_nm = 0.1 NM is outside 0.5 to 150 NM",
        ),
        (
            arc.step_end_nm,
            {"dist_nm": 10, "step_deg": 41, "inside_deg": 5},
            "step_deg = 41 deg is outside 1 to 40 deg",
        ),
        (
            arc.step_end_nm,
            {"dist_nm": 10, "step_deg": 10, "inside_deg": 90},
            r"inside_deg = 90 deg is outside -89 to 89 deg$",
        ),
        (
            arc.flown_distances_nm,
            {"dist_nm": 10, "from_radial_deg": 0, "turn": "right", "legs": 0, "tas_kt": 100},
            "legs = 0 is not one of the whole numbers from 1 to 360",
        ),
        (
            arc.flown_distances_nm,
            {"dist_nm": 10, "from_radial_deg": 0, "turn": "right", "legs": True, "tas_kt": 100},
            "legs = True is not one of the whole numbers from 1 to 360",
        ),
        (
            arc.flown_distances_nm,
            {"dist_nm": 10, "from_radial_deg": 0, "turn": "right", "legs": 2.5, "tas_kt": 100},
            "legs = 2.5 is not one of the whole numbers from 1 to 360",
        ),
        (
            arc.plan_steps,
            {"arc_nm": 10, "from_radial_deg": 310, "to_radial_deg": 310, "turn": "right", "tas_kt": 100},
            "are the same radial: there is no arc between them",
        ),
        (
            arc.plan_steps,
            {
                "arc_nm": 10,
                "from_radial_deg": 310,
                "to_radial_deg": 27,
                "turn": "right",
                "tas_kt": 100,
                "wind_from_deg": 0,
                "wind_kt": 0,
                "step_deg": 10,
                "mode": "obs",
            },
            "mode = 'obs' is not a way to set the selector",
        ),
        (
            arc.radial_before_deg,
            {"radial_deg": 34, "lead_deg": 91, "turn": "right"},
            "lead_deg = 91 deg is outside 0 to 90 deg",
        ),
        (arc.length_nm, {"arc_nm": 10, "angle_deg": 361}, "angle_deg = 361 deg is outside 0 to 360 deg"),
        (
            arc.floor_ft,
            {"radial_deg": 0, "sector_from_deg": [0, 90], "sector_to_deg": [90], "sector_alt_ft": [3000, 3000]},
            "must be three columns of the same length",
        ),
        (
            arc.floor_ft,
            {"radial_deg": 0, "sector_from_deg": [0], "sector_to_deg": [90], "sector_alt_ft": [70000]},
            r"sector_alt_ft\[0\] = 70,000 ft is outside -2,000 to 60,000 ft",
        ),
    ],
)
def test_bad_values(function, arguments, text):
    """Definition: one sentence that names what was wrong and what was expected."""
    with pytest.raises(OutOfRange, match=text):
        function(**arguments)


def test_no_room():
    """Definition: a turn wider than the arc, or a track that never meets the next radial, is said."""
    with pytest.raises(NoSolution, match="The turn is too wide for this arc: fly slower, turn tighter"):
        arc.turn_on_nm(arc_nm=1, tas_kt=150, direction="outbound")
    with pytest.raises(NoSolution, match="too wide for this arc"):
        arc.turn_on_by_angle_nm(arc_nm=1, tas_kt=150, direction="outbound", turn_deg=90)
    with pytest.raises(NoSolution, match="too wide for this arc"):
        arc.lead_radial_deg(arc_nm=1, tas_kt=150, direction="inbound")
    with pytest.raises(NoSolution, match="does not reach the next radial: point nearer to the course"):
        arc.flown_distances_nm(
            dist_nm=10,
            from_radial_deg=0,
            turn="right",
            legs=9,
            tas_kt=60,
            wind_from_deg=180,
            wind_kt=100,
            inside_deg=-45,
        )
    with pytest.raises(NoSolution, match="does not reach the next radial"):
        arc.step_end_nm(dist_nm=10, step_deg=10, inside_deg=-85)


def test_limits_belong_to_the_range():
    """Definition: both ends of each range are taken."""
    assert arc.tangent_deg(radial_deg=[-3600, 3600], turn="left").tolist() == [270, 270]
    assert arc.length_nm(arc_nm=[1, 100], angle_deg=[0, 360]).tolist() == pytest.approx(
        [0, 628.3], abs=0.05
    )  # one decimal
    assert arc.step_end_nm(dist_nm=[0.5, 150], step_deg=[1, 40], inside_deg=[-45, 89]).shape == (2,)
    assert arc.lead_handbook_nm([20, 600]).tolist() == [0.5, 2.0]
