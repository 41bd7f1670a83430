"""How a flight ends off the published line: a circle to land, and the way to elsewhere after the hold."""

from dataclasses import replace

import numpy as np
import pytest
from needlework.debrief import Conditions, debrief
from needlework.debrief.circling import side_not_authorised
from needlework.flying import reference_pilot
from needlework.flying.tracklog import Track
from needlework.trade.units import NM_M
from needlework.world import aircraft, weather
from test_debrief_kinds import errors
from test_debrief_rows import RUBRIC, judged, recorded, steered, the
from track_maker import EZRICK, SALTMARSH, WYGATE

PATH_FT_NM, TOUCH_M = 318.0, 300.0  # a path of three degrees, down so far beyond the threshold


def frame(way, east_nm, north_nm):
    """Past the threshold along the runway, and right of its centre line. [NM]"""
    at = np.deg2rad(way.fix("threshold").radial_deg + way.station.declination_deg)
    east, north = (
        off - way.fix("threshold").dist_nm * part for off, part in ((east_nm, np.sin(at)), (north_nm, np.cos(at)))
    )
    angle = np.deg2rad(way.runway.heading_deg + way.station.declination_deg)
    aside = way.threshold_right_nm * np.cos(np.deg2rad(way.runway_turn_deg))
    return east * np.sin(angle) + north * np.cos(angle), east * np.cos(angle) - north * np.sin(angle) - aside


def continued(plan, along_nm, legs, alt_ft, straight=False, **habits):
    """A flight up to so far along its final, then steered by tracks; ``alt_ft`` by miles past the threshold and left.

    ``straight``: led on to the centre line of the runway by the end.
    """
    track, way = recorded(plan, **habits), the(plan.name)
    report = judged(track, plan.name)
    seen = report.seen
    angle = np.deg2rad(way.final_course_deg + way.station.declination_deg)
    final = np.array([piece.segment in ("final", "missed", "hold") for piece in report.split.pieces])[report.split.at]
    at = int(np.flatnonzero(final & (seen.east_nm * np.sin(angle) + seen.north_nm * np.cos(angle) > along_nm))[0])
    more = steered(plan.name, float(seen.east_nm[at]), float(seen.north_nm[at]), legs, kt=95.0)
    kept = track.time_s <= float(seen.time_s[at])
    narrow = np.cos(np.deg2rad(way.station.lat_deg))
    east = (more.lon_deg - way.station.lon_deg) * 60.0 * narrow
    north = (more.lat_deg - way.station.lat_deg) * 60.0
    past, right = frame(way, east, north)
    angle = np.deg2rad(way.runway.heading_deg + way.station.declination_deg)
    shift = -right[-1] * straight * np.interp(np.linspace(0.0, 1.0, len(past)), [0.0, 0.35], [0.0, 1.0])
    flown = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(east), np.diff(north)))])
    return Track(
        np.concatenate([track.time_s[kept], float(seen.time_s[at]) + 1.0 + more.time_s]),
        np.concatenate([track.lat_deg[kept], more.lat_deg - shift * np.sin(angle) / 60.0]),
        np.concatenate([track.lon_deg[kept], more.lon_deg + shift * np.cos(angle) / 60.0 / narrow]),
        np.concatenate([track.alt_ft[kept], alt_ft(past, flown)]),
    )


def circle(plan, side, mda_ft, low_ft=0.0, low_nm=(4.6, 2.6), downwind_s=50, end_ft=0.0, b_ft=None):
    """Circled to the other end, broken off to this side (-1: left), so low for a part of the way, and landed.

    ``b_ft``: circling minimums of category B, where other than published.
    """
    way = the(plan.name)
    heading, back = way.runway.heading_deg, (way.runway.heading_deg + 180.0) % 360.0
    legs = [(way.final_course_deg, 1, 0), (heading + 45.0 * side, 40, 0), (heading, downwind_s, 0), (back, 90, -side)]
    ground_ft, length_nm = way.runway.threshold_elevation_ft, way.runway.length_m / NM_M

    def alt_ft(past_nm, flown_nm):
        # On the way back the touchdown lies at length - 300 m: to go by the way flown.
        touch = int(np.flatnonzero(past_nm > length_nm)[-1])
        to_go = flown_nm[touch] + TOUCH_M / NM_M - flown_nm
        ramp_nm = max(0.3, low_ft / 450.0)
        at_nm = [low_nm[1] - ramp_nm, low_nm[1], low_nm[0], low_nm[0] + ramp_nm]
        held = mda_ft - np.interp(to_go, at_nm, [0.0, low_ft, low_ft, 0.0])
        return np.maximum(np.minimum(held, ground_ft + end_ft + PATH_FT_NM * to_go), ground_ft)

    away_nm = plan.threshold_nm - 1.2
    track = continued(plan, away_nm, legs, alt_ft, straight=True, below_mda_ft=plan.mda_ft - mda_ft)
    if b_ft is not None:
        of_b = next(line for line in way.minimums.circling if line.category == "B")
        lines = (
            of_b.model_copy(update={"mda_ft": b_ft}),
            *(each for each in way.minimums.circling if each is not of_b),
        )
        way = replace(way, minimums=way.minimums.model_copy(update={"circling": lines}))
    return debrief(track, way, None, given=Conditions(in_sight=True), rubric=RUBRIC)


def said(report):
    return {(found.row, found.error, found.critical) for found in report.findings if found.row != "speed_final"}


@pytest.mark.parametrize(
    ("plan", "side", "mda_ft"), [(SALTMARSH, -1, 720), (WYGATE, 1, 800), (WYGATE, -1, 800), (EZRICK, 1, 1660)]
)
def test_a_circle_to_the_other_end_is_no_fault(plan, side, mda_ft):
    """ACS IR.VI.D: off the final at the circling minimums, round, and down to the other end of the runway."""
    report = circle(plan, side, mda_ft)
    assert report.verdict == "passed"
    assert not report.findings
    assert report.judgement("circling").verdict == "met"
    assert report.judgement("touchdown").verdict == "met"
    assert report.judgement("vdp").verdict == "not judged"


@pytest.mark.parametrize(("low_ft", "low_nm"), [(150.0, (4.6, 2.6)), (110.0, (3.6, 2.6)), (300.0, (4.6, 2.0))])
def test_below_the_circling_minimums_on_the_way_round(low_ft, low_nm):
    """ACS IR.VI.D: the circling MDA until a normal descent to the runway can be made from there."""
    assert said(circle(WYGATE, 1, 800, low_ft, low_nm)) == {("circling", 96, True)}


def test_a_steep_last_part_from_the_circling_minimums_is_no_low_circle():
    """Near neighbour: left for the runway where the path of three degrees, or a steeper one, leads down to it."""
    assert not errors(circle(WYGATE, 1, 800, end_ft=60.0), "circling")


def test_the_straight_in_minimums_flown_and_then_circled():
    """AIM 5-4-20: circling has minimums of its own; those of the straight-in approach kept are another line read."""
    report = circle(WYGATE, 1, 660)
    assert said(report) == {("circling", 75, True)}
    assert "straight-in MDA of 640 ft" in report.findings[0].cause


@pytest.mark.parametrize(("side", "expected"), [(1, {("circling", 97, True)}), (-1, set())])
def test_the_side_on_which_circling_is_not_authorised(side, expected):
    """The plate of Saltmarsh: no circling north-west of the runway, which is to the right of the final."""
    assert said(circle(SALTMARSH, side, 720)) == expected


@pytest.mark.parametrize(("b_ft", "verdict"), [(None, "cannot tell"), (900.0, "missed")])
def test_a_circle_miles_from_the_runway(b_ft, verdict):
    """ICAO Doc 8168 volume I, table I-4-7-1: 1.68 NM for category A, 2.66 for B.

    Where B has the minimums of A, its area was looked at for them as well; where they are higher, it was not.
    """
    report = circle(WYGATE, 1, 800, downwind_s=85, b_ft=b_ft)
    assert report.judgement("circling").verdict == verdict
    assert (("circling", 99, True) in said(report)) == (verdict == "missed")


def test_low_on_a_leg_flown_far_too_wide_is_one_event():
    """Definition: who circles miles out is low on the way back in; what came first is the matter."""
    (found,) = [
        one
        for one in circle(WYGATE, 1, 800, downwind_s=85, b_ft=900.0, low_ft=200.0).findings
        if one.row == "circling"
    ]
    assert (found.error, found.critical) == (99, True)
    assert any("below the circling minimums" in more for more in found.also)


@pytest.mark.parametrize(
    ("words", "heading_deg", "side"),
    [
        ("north-west of the runway", 198.0, 1),
        ("north-west of the runway", 18.0, -1),
        ("East of runway 36", 360.0, 1),
        ("at night", 90.0, 0),
        ("north of the runway", 355.0, 0),  # along the runway it names no side
        (None, 90.0, 0),
    ],
)
def test_the_side_by_the_words_of_the_plate(words, heading_deg, side):
    """Definition: the named quarter lies to the right or left of the runway's direction, or is no side of it."""
    assert side_not_authorised(words, heading_deg) == side


LAPS = ((255, 60, -1), (75, None, -1), (255, 60, -1), (75, None, -1))


def left_the_hold(leg, up_ft, after_s=30.0):
    """Two laps at LIDRA, then one more leg with so much climbed on it."""
    track = recorded(WYGATE, heading=True, hold=(*LAPS, leg))
    begun_s = track.time_s[-1] - leg[1] + after_s
    climbed_ft = np.clip((track.time_s - begun_s) / 60.0 * 500.0, 0.0, up_ft)
    return judged(Track(track.time_s, track.lat_deg, track.lon_deg, track.alt_ft + climbed_ft), "wygate")


@pytest.mark.parametrize(("leg", "up_ft"), [((330, 260, -1), 800), ((160, 260, 1), 800), ((200, 260, 1), 0)])
def test_on_to_another_field_after_the_hold(leg, up_ft):
    """Common practice, no source: a hold is left by clearance; what was climbed and turned for it is no fault."""
    report = left_the_hold(leg, up_ft)
    assert report.parts[-1].segment == "elsewhere"
    assert report.judgement("after_missed_level").verdict == "met"
    assert report.judgement("hold_side").verdict == "met"
    assert not errors(report, "hold_leg")


def test_a_climb_in_the_hold_is_no_way_to_elsewhere():
    """ACS IR.III.B: altitude within 100 ft in the hold; who stays in it has not left."""
    report = left_the_hold((255, 120, -1), 400.0)
    assert errors(report, "after_missed_level")
    assert report.parts[-1].segment == "hold"


def broken_off(low_ft, **given):
    """A landing at Saltmarsh broken off so high above the runway, and the missed approach flown from there."""
    down, up = recorded(end="landing"), recorded()
    low = np.flatnonzero((down.alt_ft < 62.0 + low_ft) & (down.time_s > 0.5 * down.time_s[-1]))
    at = int(low[0]) if len(low) else len(down) - 1
    seen, climbed = judged(down).seen, judged(up).seen
    past = np.flatnonzero((climbed.alt_ft > 700.0) & (climbed.time_s > climbed.time_s[np.argmin(climbed.alt_ft)]))[0]
    join_s = (float(climbed.alt_ft[past]) - float(down.alt_ft[at])) / 700.0 * 60.0
    angle = np.deg2rad(214.0 - 13.0)
    ahead_nm = seen.ground_nm[min(at, len(seen) - 1)] + 95.0 / 3600.0 * join_s - climbed.ground_nm[past]
    rest = up.time_s >= climbed.time_s[past]
    number = np.arange(1.0, join_s)
    mean_nm = 95.0 / 3600.0 / 60.0
    north, east = np.cos(angle), np.sin(angle) / np.cos(np.deg2rad(36.9))
    lat = np.concatenate([down.lat_deg[: at + 1], down.lat_deg[at] + number * mean_nm * north])
    lon = np.concatenate([down.lon_deg[: at + 1], down.lon_deg[at] + number * mean_nm * east])
    alt = np.concatenate([down.alt_ft[: at + 1], down.alt_ft[at] + number * 700.0 / 60.0])
    time_s = np.concatenate([down.time_s[: at + 1], down.time_s[at] + number])
    shifted = {
        "lat_deg": np.concatenate([lat, up.lat_deg[rest] + ahead_nm / 60.0 * north]),
        "lon_deg": np.concatenate([lon, up.lon_deg[rest] + ahead_nm / 60.0 * east]),
        "alt_ft": np.concatenate([alt, up.alt_ft[rest]]),
    }
    later = time_s[-1] + 1.0 + up.time_s[rest] - up.time_s[rest][0]
    return judged(Track(np.concatenate([time_s, later]), **shifted), **given)


@pytest.mark.parametrize("low_ft", [60.0, 200.0])
def test_a_landing_broken_off_with_the_runway_in_sight_is_no_fault(low_ft):
    """14 CFR 91.175 c: below the MDA with the runway in sight; to go around from there is a good decision."""
    rows = ("mda", "decision")
    assert not any(errors(broken_off(low_ft, in_sight=True), row) for row in rows)
    assert not any(errors(broken_off(low_ft, sight_from_nm=3.5), row) for row in rows)
    assert not any(errors(broken_off(low_ft), row) for row in rows)  # nobody said: it cannot be told
    assert errors(broken_off(low_ft, in_sight=False), "mda") == {42}


@pytest.mark.parametrize(
    ("aside_m", "along_final", "verdict"),
    [
        (0.0, False, "met"),
        (87.0, False, "cannot tell"),
        (0.0, True, "cannot tell"),
        (-75.0, False, "missed"),
        (170.0, False, "missed"),
    ],
    ids=["on the runway", "past the threshold as published", "on along the final line", "left of it", "far right"],
)
def test_two_places_are_published_for_one_runway(aside_m, along_final, verdict):
    """The plate of Wygate: by radial and distance the threshold lies on the final line, the runway's own 87 m to the
    left of it. Who landed by the first is not told that he landed beside the runway, nor that he did not.
    """
    way, legs = the("wygate"), [(23, 90, 0)]

    def alt_ft(past_nm, _flown_nm):
        path_ft = way.runway.threshold_elevation_ft + PATH_FT_NM * (TOUCH_M / NM_M - past_nm)
        return np.clip(path_ft, way.runway.threshold_elevation_ft, 660.0)

    track = continued(WYGATE, WYGATE.threshold_nm - 2.0, legs, alt_ft, below_mda_ft=-20.0)
    past_nm, right_nm = frame(way, *place_of(way, track))
    if not along_final:
        last = (past_nm > -1.5) & (track.time_s > track.time_s[-1] - 120.0)
        moved_nm = np.interp(past_nm, [-1.2, -0.3], [0.0, 1.0]) * last * (aside_m / NM_M - right_nm)
        angle = np.deg2rad(way.runway.heading_deg + way.station.declination_deg)
        track = replace(
            track,
            lat_deg=track.lat_deg - moved_nm * np.sin(angle) / 60.0,
            lon_deg=track.lon_deg + moved_nm * np.cos(angle) / 60.0 / np.cos(np.deg2rad(track.lat_deg)),
        )
    report = judged(track.part(past_nm < 0.5), "wygate", in_sight=True)
    assert report.judgement("touchdown").verdict == verdict
    assert [found.error for found in report.judgement("touchdown").findings if found.critical] == (
        [93] if verdict == "missed" else []
    )


def place_of(way, track):
    """East and north of the station. [NM]"""
    north = (track.lat_deg - way.station.lat_deg) * 60.0
    return (track.lon_deg - way.station.lon_deg) * 60.0 * np.cos(np.deg2rad(track.lat_deg)), north


@pytest.mark.parametrize("name", ["ezrick", "wygate", "jarvu", "saltmarsh"])
def test_flown_down_by_instruments_that_show_no_runway(name):
    """Definition: the final line is all such a flight is shown; where it ends, the runway may lie beside it."""
    way, craft = the(name), aircraft.load("Finch")
    day = weather.Day("Calm", "none", weather.parse("000/00"), 15.0, 1013.25)
    track = reference_pilot.fly(way, craft, [day], missed=False, lands=True).one(0).track()
    report = debrief(track, way, craft, rubric=RUBRIC)
    assert report.outcome == "landing"
    assert not [found.text for found in report.findings if found.critical]
