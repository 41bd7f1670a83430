"""Holding: limits, entries, timing, drift, the pattern in wind."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from needlework.basis.errors import NoSolution, OutOfRange
from needlework.trade import holding, wind

DIRECTIONS = st.floats(0, 360)
SIDES = st.sampled_from(["left", "right"])


@pytest.mark.parametrize(
    ("alt_ft", "wanted_kt"), [(1000, 200), (6000, 200), (6001, 230), (14000, 230), (14001, 265), (30000, 265)]
)
def test_speed_limits(alt_ft, wanted_kt):
    """AIM 5-3-8 j 2, TBL 5-3-24: 200, 230, 265 kt; 210 where the chart says so."""
    assert holding.max_ias_kt(alt_ft=alt_ft) == wanted_kt
    assert holding.max_ias_kt(alt_ft=[alt_ft], rule="210 icon").tolist() == [210 if wanted_kt == 230 else wanted_kt]
    with pytest.raises(OutOfRange, match="is not a speed rule for holding"):
        holding.max_ias_kt(alt_ft=alt_ft, rule="fast")


def test_leg_times_and_slowing():
    """AIM 5-3-8 j 4: one minute to 14,000 ft, one and a half above; slow within three minutes of the fix."""
    assert holding.leg_s([3000, 14000, 14001]).tolist() == [60, 60, 90]
    assert holding.slow_down_nm([60, 120]).tolist() == [3, 6]


def test_rate_or_bank():
    """AIM 5-3-8 j 8 (b): 3 deg/s or 30 degrees (25 with a flight director), whichever is less bank."""
    assert holding.hold_rate_deg_s(tas_kt=[90, 150]).tolist() == [3, 3]
    # Definition: rate = 1092.2 tan(bank) / V in degrees a second.
    assert holding.hold_rate_deg_s(tas_kt=250) == pytest.approx(
        1092.2 * np.tan(np.radians(30)) / 250, rel=1e-3
    )  # g rounded
    assert holding.hold_rate_deg_s(tas_kt=250, bank_limit_deg=25) == pytest.approx(
        1092.2 * np.tan(np.radians(25)) / 250, rel=1e-3
    )


@pytest.mark.parametrize(
    ("heading_deg", "inbound_deg", "side", "wanted"),
    [
        (135, 360, "right", ("teardrop",)),
        (200, 360, "right", ("parallel",)),
        (70, 360, "right", ("direct",)),
        (45, 360, "left", ("direct",)),
        (180, 360, "right", ("parallel", "teardrop")),
        (105, 360, "right", ("direct", "teardrop")),  # P-821: outbound 75 right, both acceptable
        (104, 360, "right", ("direct",)),
        (115, 360, "right", ("teardrop", "direct")),
        (116, 360, "right", ("teardrop",)),
        (295, 360, "right", ("direct", "parallel")),
        (290, 360, "right", ("parallel", "direct")),
        (284, 360, "right", ("parallel",)),
        (296, 360, "right", ("direct",)),
        (165, 345, "right", ("parallel", "teardrop")),  # the scenario: BELDU by R165 outbound, on the edge
        (340, 160, "right", ("parallel", "teardrop")),  # HEXAL by R340 outbound
        (75, 75, "left", ("direct",)),  # LIDRA by R075 outbound
        (262, 30, "right", ("parallel",)),  # TVU after its missed approach: clear of every edge
    ],
)
def test_entries(heading_deg, inbound_deg, side, wanted):
    """AIM 5-3-8 j and FIG 5-3-4; P-801 p. 6-13; P-821 Fig. 3-8 (70, 110, 180 and 5 degrees)."""
    assert holding.entries(heading_deg=heading_deg, inbound_course_deg=inbound_deg, side=side) == wanted
    assert holding.entry(heading_deg=heading_deg, inbound_course_deg=inbound_deg, side=side) == wanted[0]


@given(DIRECTIONS, DIRECTIONS)
def test_left_is_the_mirror_of_right(heading_deg, inbound_deg):
    """Definition: mirrored in the north line everything keeps its name."""
    assert holding.entries(heading_deg=heading_deg, inbound_course_deg=inbound_deg, side="right") == holding.entries(
        heading_deg=-heading_deg, inbound_course_deg=-inbound_deg, side="left"
    )


@pytest.mark.parametrize("side", ["left", "right"])
def test_sector_widths(side):
    """AIM FIG 5-3-4: 110 parallel, 70 teardrop, 180 direct; 5 degrees of both at three edges, both ways."""
    headings = np.arange(0.25, 360, 0.5)
    found = holding.entry(heading_deg=headings, inbound_course_deg=25, side=side)
    widths = {name: np.count_nonzero(found == name) / 2 for name in holding.SECTORS_DEG}
    assert widths == {"parallel": 110, "teardrop": 70, "direct": 180}
    doubles = sum(len(holding.entries(heading_deg=h, inbound_course_deg=25, side=side)) == 2 for h in headings)
    assert doubles / 2 == 30


@given(DIRECTIONS, DIRECTIONS, SIDES)
def test_entries_by_where_you_come_from(heading_deg, inbound_deg, side):
    """Independent method: AIM FIG 5-3-4 as half planes through the fix, inbound course up, pattern to the right.

    The aircraft comes from behind its heading. Below the line that runs 70 degrees off the inbound
    course to the side without the pattern: direct. Above it: parallel on the side of the pattern,
    teardrop on the other.
    """
    came_from = np.radians(heading_deg + 180 - inbound_deg)
    place = np.array([np.sin(came_from) * (1 if side == "right" else -1), np.cos(came_from)])
    line = np.array([-np.sin(np.radians(70)), np.cos(np.radians(70))])
    above = place[1] * -line[0] + place[0] * line[1]
    assume(abs(above) > 1e-6)
    assume(abs(place[0]) > 1e-6)
    wanted = "direct" if above < 0 else "parallel" if place[0] > 0 else "teardrop"
    assert holding.entry(heading_deg=heading_deg, inbound_course_deg=inbound_deg, side=side) == wanted


def test_entry_headings():
    """AIM 5-3-8: teardrop 30 degrees into the pattern: outbound less 30 for right turns, plus 30 for left."""
    assert holding.entry_heading_deg(inbound_course_deg=360, side="right", entry="teardrop") == 150
    assert holding.entry_heading_deg(inbound_course_deg=360, side="left", entry="teardrop") == 210
    assert holding.entry_heading_deg(inbound_course_deg=[360, 90], side="left", entry="parallel").tolist() == [
        180,
        270,
    ]
    assert holding.entry_heading_deg(inbound_course_deg=345, side="right", entry="direct") == 165
    with pytest.raises(OutOfRange, match="is not an entry: expected 'parallel', 'teardrop' or 'direct'"):
        holding.entry_heading_deg(inbound_course_deg=345, side="right", entry="offset")


def test_drift_by_the_length_of_the_leg():
    """Independent method: the drift of leg and turns, laid off on the leg alone; AIM 5-3-8 j 8 (c) for the minute."""
    legs = np.array([1.0, 1.5, 2.0, 4.0])
    assert holding.drift_factor(legs) == pytest.approx((legs + 2 * 180 / 3 / 60) / legs)
    assert holding.drift_factor(1.0) == holding.DRIFT_FACTOR
    with pytest.raises(OutOfRange, match="seconds"):
        holding.drift_factor(60.0)


def test_triple_drift():
    """AIM 5-3-8 j 8 (c): 8 left inbound, 24 right outbound."""
    assert holding.outbound_heading_deg(inbound_course_deg=360, wca_deg=-8) == 180 + 24
    assert holding.outbound_heading_deg(inbound_course_deg=90, wca_deg=[8, 0]).tolist() == [246, 270]
    assert holding.outbound_heading_deg(inbound_course_deg=360, wca_deg=-8, factor=2) == 196
    assert holding.outbound_heading_deg(inbound_course_deg=360, wca_deg=[-15, 15]).tolist() == [
        210,
        150,
    ]  # capped at 30


def test_crosswind_that_makes_triple_drift_too_much():
    """Definition: at 80 kt about 14 kt across make ten degrees inbound, thirty outbound."""
    assert wind.correction_deg(course_deg=360, tas_kt=80, wind_from_deg=90, wind_kt=14) == pytest.approx(
        10, abs=0.1
    )  # the 14 is rounded


WINDS = st.tuples(st.floats(60, 150), DIRECTIONS, st.floats(0, 0.4), st.floats(45, 120))


@given(WINDS, DIRECTIONS, SIDES)
def test_exact_outbound_brings_you_back(numbers, inbound_deg, side):
    """Independent method: the lap flown in wind ends on the course, at the wanted time from the fix."""
    tas_kt, wind_from_deg, part, wanted_s = numbers
    heading_deg, time_s = holding.outbound_exact(
        tas_kt=tas_kt,
        inbound_course_deg=inbound_deg,
        wind_from_deg=wind_from_deg,
        wind_kt=part * tas_kt,
        inbound_s=wanted_s,
    )
    flown = holding.lap(
        tas_kt=tas_kt,
        inbound_course_deg=inbound_deg,
        side=side,
        wind_from_deg=wind_from_deg,
        wind_kt=part * tas_kt,
        outbound_deg=heading_deg,
        outbound_s=time_s,
    )
    assert flown.off_nm == pytest.approx(0, abs=1e-9)  # float sums of miles
    assert flown.inbound_s == pytest.approx(wanted_s, abs=1e-5)
    assert np.hypot(flown.east_nm[-1], flown.north_nm[-1]) == pytest.approx(0, abs=1e-9)


@given(WINDS, DIRECTIONS, SIDES, st.floats(-25, 25), st.floats(50, 120))
def test_lap_by_small_steps(numbers, inbound_deg, side, aside_deg, outbound_s):
    """Independent method: the lap stepped in time, heading and wind added up."""
    tas_kt, wind_from_deg, part, _ = numbers
    wind_kt, outbound_deg = part * tas_kt / 2, inbound_deg + 180 + aside_deg
    try:
        flown = holding.lap(
            tas_kt=tas_kt,
            inbound_course_deg=inbound_deg,
            side=side,
            wind_from_deg=wind_from_deg,
            wind_kt=wind_kt,
            outbound_deg=outbound_deg,
            outbound_s=outbound_s,
        )
    except NoSolution:
        return
    dt, hand = 0.02, 1 if side == "right" else -1
    # Middle of each step, so that the sum is good to the square of the step.
    middles = np.arange(dt / 2, flown.time_s[-1] - flown.inbound_s, dt)
    first_deg = (hand * (outbound_deg - flown.heading_deg[0])) % 360
    turned = 3 * (np.minimum(middles, first_deg / 3) + np.maximum(middles - first_deg / 3 - outbound_s, 0))
    heading = np.radians(flown.heading_deg[0] + hand * turned)
    to_rad = np.radians(wind_from_deg + 180)
    east = np.cumsum(tas_kt * np.sin(heading) + wind_kt * np.sin(to_rad)) * dt / 3600
    north = np.cumsum(tas_kt * np.cos(heading) + wind_kt * np.cos(to_rad)) * dt / 3600
    at = np.arange(10, middles[-1], 7.0)
    ends = middles + dt / 2
    assert np.interp(at, flown.time_s, flown.east_nm) == pytest.approx(np.interp(at, ends, east), abs=3e-3)
    # Between points a second apart a turn bows out by less than a thousandth of a mile.
    assert np.interp(at, flown.time_s, flown.north_nm) == pytest.approx(np.interp(at, ends, north), abs=3e-3)
    assert (np.diff(flown.time_s) > 0).all()


def test_still_air_is_a_racetrack():
    """Definition: in still air the pattern is one turn's diameter wide and takes four minutes."""
    flown = holding.lap(
        tas_kt=120, inbound_course_deg=360, side="right", wind_from_deg=0, wind_kt=0, outbound_deg=180, outbound_s=60
    )
    assert flown.off_nm == pytest.approx(0, abs=1e-12)
    assert flown.inbound_s == pytest.approx(60)
    assert flown.east_nm.max() == pytest.approx(2 * 0.6366, abs=1e-4)
    assert flown.east_nm.min() == pytest.approx(0, abs=1e-9)
    assert flown.time_s[-1] == pytest.approx(240)
    left = holding.lap(
        tas_kt=120, inbound_course_deg=360, side="left", wind_from_deg=0, wind_kt=0, outbound_deg=180, outbound_s=60
    )
    assert left.east_nm == pytest.approx(-flown.east_nm, abs=1e-12)


def test_off_side_sign_and_single_drift():
    """Definition: with single drift outbound the wind carries the inbound turn to the lee side."""
    crab_deg = wind.correction_deg(course_deg=360, tas_kt=90, wind_from_deg=270, wind_kt=15)
    single = holding.lap(
        tas_kt=90,
        inbound_course_deg=360,
        side="right",
        wind_from_deg=270,
        wind_kt=15,
        outbound_deg=180 - crab_deg,
        outbound_s=66,
    )
    triple = holding.lap(
        tas_kt=90,
        inbound_course_deg=360,
        side="right",
        wind_from_deg=270,
        wind_kt=15,
        outbound_deg=holding.outbound_heading_deg(inbound_course_deg=360, wca_deg=crab_deg),
        outbound_s=66,
    )
    assert single.off_nm > 0.4  # wind from the left: right of the course
    assert abs(triple.off_nm) < 0.1


def test_triple_is_about_right():
    """Independent method: exact solution; 2.6 to 3.1 times the inbound correction, a minute inbound, light wind."""
    for across_kt in (5, 10, 15):
        heading_deg, _ = holding.outbound_exact(
            tas_kt=90, inbound_course_deg=360, wind_from_deg=270, wind_kt=across_kt
        )
        times = (heading_deg - 180) / -wind.correction_deg(
            course_deg=360, tas_kt=90, wind_from_deg=270, wind_kt=across_kt
        )
        assert 2.6 < times < 3.1


def test_headwind_and_tailwind_times():
    """Definition: along the wind the exact time follows from closing speeds and the drift of the turns."""
    for from_deg, sign in ((360, 1), (180, -1)):
        heading_deg, time_s = holding.outbound_exact(
            tas_kt=90, inbound_course_deg=360, wind_from_deg=from_deg, wind_kt=20
        )
        assert heading_deg == pytest.approx(180)
        back_nm = (90 - sign * 20) / 60
        assert time_s == pytest.approx((back_nm - sign * 20 * 120 / 3600) / (90 + sign * 20) * 3600)
    with pytest.raises(NoSolution, match="ends past the fix"):
        holding.lap(
            tas_kt=90,
            inbound_course_deg=360,
            side="right",
            wind_from_deg=180,
            wind_kt=40,
            outbound_deg=180,
            outbound_s=20,
        )


def test_next_outbound():
    """Common practice, no source: 44 s inbound: 16 s more; 30 s short: 30 s longer."""
    assert holding.next_outbound_s(outbound_s=60, inbound_s=44) == 76
    assert holding.next_outbound_s(outbound_s=60, inbound_s=30) == 90
    assert holding.next_outbound_s(outbound_s=30, inbound_s=[60, 200]).tolist() == [30, 0]
    assert holding.next_outbound_s(outbound_s=90, inbound_s=100, wanted_s=90) == 80
    # In a wind along the course a few laps by the rule settle on the wanted minute.
    outbound_s = 60.0
    for _ in range(12):
        outbound_s = holding.next_outbound_s(
            outbound_s=outbound_s,
            inbound_s=holding.lap(
                tas_kt=90,
                inbound_course_deg=360,
                side="right",
                wind_from_deg=360,
                wind_kt=15,
                outbound_deg=180,
                outbound_s=outbound_s,
            ).inbound_s,
        )
    assert holding.lap(
        tas_kt=90,
        inbound_course_deg=360,
        side="right",
        wind_from_deg=360,
        wind_kt=15,
        outbound_deg=180,
        outbound_s=outbound_s,
    ).inbound_s == pytest.approx(60, abs=1)


def test_when_the_clock_starts():
    """AIM 5-3-8 j 4: over or abeam the fix, whichever is later; where abeam cannot be told, turn completed."""
    assert holding.outbound_clock_s(wings_level_s=60, abeam_s=66) == 66
    assert holding.outbound_clock_s(wings_level_s=60, abeam_s=55) == 55
    assert holding.outbound_clock_s(wings_level_s=60) == 60


def test_dme_legs():
    """AIM FIG 5-3-5: 10 + 5 = 15; FIG 5-3-6: 28 - 8 = 20; the scenario: BELDU 14 + 4 = 18."""
    assert holding.outbound_end_nm(fix_dme_nm=10, leg_dme_nm=5, direction="to") == 15
    assert holding.outbound_end_nm(fix_dme_nm=28, leg_dme_nm=8, direction="from") == 20
    assert holding.outbound_end_nm(fix_dme_nm=[14, 13], leg_dme_nm=4, direction="to").tolist() == [18, 17]
    with pytest.raises(NoSolution, match="would rise again"):
        holding.outbound_end_nm(fix_dme_nm=3, leg_dme_nm=4, direction="from")
    with pytest.raises(OutOfRange, match="expected 'to' or 'from'"):
        holding.outbound_end_nm(fix_dme_nm=3, leg_dme_nm=4, direction="out")


def test_fix_passage():
    """AIM 5-3-8 g: first complete reversal of TO/FROM; definition: a DME fix is passed when its reading is met."""
    assert holding.passed_station(flag_before="TO", flag_after="FROM")
    assert holding.passed_station(flag_before="FROM", flag_after="TO")
    assert not holding.passed_station(flag_before="TO", flag_after="TO")
    assert not holding.passed_station(flag_before="TO", flag_after="NONE")
    with pytest.raises(OutOfRange, match="is not what a flag shows"):
        holding.passed_station(flag_before="TO", flag_after="OFF")
    readings = np.array([14.4, 14.2, 14.0, 13.8, 13.9, 14.1])
    assert holding.passed_dme(before_nm=readings[:-1], after_nm=readings[1:], fix_dme_nm=14).tolist() == [
        False,
        True,
        False,
        False,
        True,
    ]


@pytest.mark.parametrize("bad", [np.nan, -2000])
def test_refused(bad):
    """Definition: nan and numbers outside their range are refused."""
    for call in (
        lambda: holding.max_ias_kt(alt_ft=bad),
        lambda: holding.leg_s(bad),
        lambda: holding.slow_down_nm(bad),
        lambda: holding.entry(heading_deg=bad * 10, inbound_course_deg=0, side="right"),
        lambda: holding.outbound_heading_deg(inbound_course_deg=0, wca_deg=bad),
        lambda: holding.outbound_exact(tas_kt=bad, inbound_course_deg=0, wind_from_deg=0, wind_kt=10),
        lambda: holding.next_outbound_s(outbound_s=bad, inbound_s=60),
        lambda: holding.outbound_end_nm(fix_dme_nm=bad, leg_dme_nm=4, direction="to"),
        lambda: holding.lap(
            tas_kt=90,
            inbound_course_deg=0,
            side="right",
            wind_from_deg=0,
            wind_kt=0,
            outbound_deg=180,
            outbound_s=bad,
        ),
    ):
        with pytest.raises(OutOfRange):
            call()
    with pytest.raises(OutOfRange, match="side = 'up'"):
        holding.entry(heading_deg=0, inbound_course_deg=0, side="up")
    with pytest.raises(NoSolution):
        holding.outbound_exact(tas_kt=60, inbound_course_deg=360, wind_from_deg=90, wind_kt=70)
    with pytest.raises(NoSolution, match="not below the airspeed"):
        holding.outbound_exact(tas_kt=60, inbound_course_deg=360, wind_from_deg=180, wind_kt=70)
