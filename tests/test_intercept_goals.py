"""The goals of a flown intercept, on tracks laid out by hand."""

import re

import numpy as np
import pytest
from needlework.exercises.flown import station
from needlework.exercises.goals.intercept import (
    course_selected,
    cut_towards,
    established,
    heading_holds,
    held_for,
    led,
    rolled_out,
    wind_found,
)
from needlework.exercises.goals.seen import Seen
from needlework.flying.tracklog import Track
from needlework.trade.geodesy import position_from_plane

OVERFALL = station("saltmarsh")
GIVENS = {"course_deg": 240.0}
GS_KT = 108.0


def right(_givens):
    """The line lies to the right of somebody flying parallel."""
    return 1.0


def seen(start, legs, *, drift_deg=0.0, course_1_deg=240.0):
    """A flight of straight legs, track and seconds each, turned between at three degrees a second.

    ``start`` is (right of the course 240, along it) in NM, the station at (0, 0); the nose stands ``drift_deg``
    to the right of the track all the time.
    """
    tracks = [np.full(legs[0][1], float(legs[0][0]))]
    for track, seconds in legs[1:]:
        now = tracks[-1][-1]
        turn = (track - now + 180) % 360 - 180
        steps = max(1, round(abs(turn) / 3))
        tracks += [now + turn * np.arange(1, steps + 1) / steps, np.full(seconds, float(now + turn))]
    track = np.concatenate(tracks)
    angle = np.deg2rad(track - 240.0)
    right_nm = start[0] + np.cumsum(np.sin(angle)) * GS_KT / 3600
    along_nm = start[1] + np.cumsum(np.cos(angle)) * GS_KT / 3600
    true = np.deg2rad(240.0 + OVERFALL.declination_deg)
    east = along_nm * np.sin(true) + right_nm * np.cos(true)
    north = along_nm * np.cos(true) - right_nm * np.sin(true)
    lat, lon = position_from_plane(
        station_lat_deg=OVERFALL.lat_deg, station_lon_deg=OVERFALL.lon_deg, east_nm=east, north_nm=north
    )
    count = len(track)
    return Seen(
        Track(
            time_s=np.arange(count, dtype=float),
            lat_deg=lat,
            lon_deg=lon,
            alt_ft=np.full(count, 3600.0),
            heading_deg=(track + drift_deg) % 360,
            course_1_deg=np.full(count, course_1_deg),
        ),
        OVERFALL,
    )


def early_nm(angle_deg):
    """Distance along a cut, before the line, at which a standard-rate turn begins that ends on the line."""
    return GS_KT / (60 * np.pi) * np.tan(np.deg2rad(angle_deg / 2))


def inbound(angle_deg=60, late_nm=0.0, **more):
    """In from the left, meeting the line 7 NM out, the turn begun late by so many NM along the cut."""
    seconds = 150
    cut = seconds * GS_KT / 3600 + early_nm(angle_deg) - late_nm
    angle = np.deg2rad(angle_deg)
    return seen((-cut * np.sin(angle), -7 - cut * np.cos(angle)), [(240 + angle_deg, seconds), (240, 130)], **more)


def test_a_good_intercept_meets_every_goal():
    """Definition: a cut of 60, a turn that ends on the line, the course held: nothing to say against it."""
    flight = inbound()
    for goal in (
        course_selected("course_deg"),
        cut_towards("course_deg", right),
        led("course_deg", right),
        rolled_out("course_deg", right),
        heading_holds("course_deg"),
        held_for("course_deg"),
        wind_found("course_deg"),
    ):
        met = goal.judge(GIVENS, flight)
        assert met.share == 1.0, (goal.label, met.text)


def test_the_other_end_selected():
    """Definition: 060 on the selector while 240 is flown is named, whatever else was right."""
    met = course_selected("course_deg").judge(GIVENS, inbound(course_1_deg=60.0))
    assert met.share == 0
    assert "060°M was selected" in met.text


def test_no_lead():
    """Independent method: begun on the line, a 60 degree turn of radius 108/60/pi NM ends half a radius beyond."""
    late = early_nm(60)
    met = led("course_deg", right).judge(GIVENS, inbound(late_nm=late))
    assert met.share < 0.5
    radius = GS_KT / 60 / np.pi
    # Twelve seconds after the turn, 0.36 NM on, is the last moment that counts as part of it.
    to_station = 7 - radius * np.sin(np.deg2rad(60)) - 0.36
    wanted = np.rad2deg(np.arctan2(radius / 2, to_station))
    said = float(re.search(r"it ended (\S+) degrees beyond", met.text)[1])
    assert said == pytest.approx(wanted, abs=0.15)  # steps of a second, and one decimal
    # Later still it is through by more than half scale.
    met = led("course_deg", right).judge(GIVENS, inbound(late_nm=late + 0.6))
    assert met.share == 0
    assert "beyond the line: more than half scale" in met.text
    assert rolled_out("course_deg", right).judge(GIVENS, inbound(late_nm=late + 0.6)).share < 1
    # Two miles too early it rolls out beside the line.
    met = led("course_deg", right).judge(GIVENS, inbound(late_nm=-1.4))
    assert met.share <= 0.5
    assert "far too early" in met.text or "never met" in met.text


def test_cut_away_and_flat():
    """Definition: a cut to the wrong side, a flat one and a line never met each say so."""
    away = cut_towards("course_deg", right).judge(GIVENS, seen((-3, -10), [(190, 200)]))
    assert away.share == 0
    assert "never met" in away.text
    other = cut_towards("course_deg", lambda g: -1.0).judge(GIVENS, inbound())
    assert other.share == 0
    assert "60 degrees away from the line" in other.text
    flat = cut_towards("course_deg", right).judge(GIVENS, inbound(10))
    assert 0 < flat.share < 1
    assert "too shallow" in flat.text


def test_wind_not_held():
    """Definition: a heading whose track leads 9 degrees off the course does not hold it; within 6 it does."""
    off = seen((-2.0, -9), [(300, 60), (249, 100)])
    met = heading_holds("course_deg").judge(GIVENS, off)
    assert met.share == 0
    assert "a track 9 degrees right of the course" in met.text
    assert heading_holds("course_deg").judge(GIVENS, seen((-2.0, -9), [(300, 60), (244, 100)])).share == 1


def test_the_heading_is_judged_beside_the_line_too():
    """Definition: turned in far too early, the heading is right where its track is along the course.

    The cut back to the line that follows belongs to the next heading, not to this one.
    """
    beside = seen((-3.0, -12), [(300, 60), (240, 60), (280, 120), (240, 30)])
    met = heading_holds("course_deg").judge(GIVENS, beside)
    assert met.share == 1, met.text
    assert "within 0 degrees" in met.text
    assert heading_holds("course_deg").judge(GIVENS, seen((-3.0, -12), [(240, 200)])).share == 0


def test_where_the_turn_begins():
    """Independent method: left of the line by x, with y to go to the station, the angle is atan(x / y)."""
    flight = inbound()
    met = led("course_deg", right).judge(GIVENS, flight)
    said = float(re.search(r"Turn begun (\S+) degrees before", met.text)[1])
    early = early_nm(60)
    wanted = np.rad2deg(np.arctan2(early * np.sin(np.deg2rad(60)), 7 + early * np.cos(np.deg2rad(60))))
    assert said == pytest.approx(wanted, abs=0.25)  # a step of a second is 0.2 degrees there


@pytest.mark.parametrize(("seconds", "share"), [(50, 0.5), (75, 0.75), (100, 1.0)])
def test_miles_in_one_piece(seconds, share):
    """Definition: 108 kt is 0.03 NM a second: 50 s on the line are 1.5 of the 3 NM asked for."""
    flight = seen((0.0, -10), [(240, seconds), (320, 120)])
    # The turn off the line adds what is flown before the nose is 60 degrees away: up to 20 s, half a mile.
    assert held_for("course_deg").judge(GIVENS, flight).share == pytest.approx(share, abs=0.2)


def test_wind_found_says_how_the_nose_stood():
    """Definition: along the course with the nose 8 right; then 10 degrees left, off the line, and back to it."""
    found = wind_found("course_deg").judge(GIVENS, seen((0.1, 4), [(240, 120)], drift_deg=8.0))
    assert found.share == 1
    assert "nose 8 degrees right of the course" in found.text
    leaving = wind_found("course_deg").judge(GIVENS, seen((-0.1, 4), [(230, 120)]))
    assert leaving.share == 0.5
    assert "led 10 degrees left" in leaving.text
    back = wind_found("course_deg").judge(GIVENS, seen((1.2, 5), [(230, 120)]))
    assert back.share == 1
    assert "brought you back" in back.text
    assert wind_found("course_deg").judge(GIVENS, seen((3.0, 4), [(240, 120)])).share == 0


def test_a_turn_far_too_early():
    """Definition: begun more than 2.5 degrees before a lead, the turn is too early, even within half scale."""
    early = inbound(late_nm=-0.5)
    met = led("course_deg", right).judge(GIVENS, early)
    assert met.share < 0.5
    assert "far too early" in met.text
    said = float(re.search(r"ended (\S+) degrees short of it", met.text)[1])
    # Half a mile along a cut of 60 is 0.43 NM beside the line; the turn ends 6.5 to 7 NM out.
    assert said == pytest.approx(np.rad2deg(np.arctan2(0.5 * np.sin(np.deg2rad(60)), 7)), abs=0.3)
    assert led("course_deg", right).judge(GIVENS, inbound(late_nm=-0.2)).share == 1


def test_both_rows_speak_of_the_same_turn():
    """Definition: a turn that ends 55 degrees left of the course is no turn on to it, for either goal."""
    aside = seen((-4.5, -9.5), [(300, 150), (185, 60), (240, 60)])
    for goal in (led("course_deg", right), heading_holds("course_deg")):
        met = goal.judge(GIVENS, aside)
        assert met.share == 0
        assert "The turn ended with the nose 55 degrees left of the course" in met.text
    straight_on = seen((-4.5, -9.5), [(300, 250)])
    for goal in (led("course_deg", right), heading_holds("course_deg")):
        met = goal.judge(GIVENS, straight_on)
        assert met.share == 0
        assert met.text == "No turn from the cut on to the course was flown."


def test_the_line_met_too_near():
    """Independent method: met 3.5 NM out where 5.5 was asked for: not the wind, but the cut."""
    goal = established("course_deg", 5.5, 2.5)
    cut = 4.0
    start = (-cut * np.sin(np.deg2rad(45)), -3.6 - cut * np.cos(np.deg2rad(45)))
    near = goal.judge(GIVENS, seen(start, [(285, 126), (240, 60)]))
    assert near.share == 0  # full scale inside 5.5 NM
    assert "the cut met it too near the station" in near.text
    assert "wind" not in near.text
    said = float(re.search(r"at (\S+) NM, where", near.text)[1])
    assert 3.5 < said < 4.2  # half scale is five degrees before the line
    drifting = goal.judge(GIVENS, seen((0.0, -6.5), [(244, 140)]))
    assert 0 < drifting.share < 1
    assert "hold against the wind" in drifting.text
    assert goal.judge(GIVENS, inbound()).share == 1
