"""What a flown arc is judged by, on tracks made here without flying."""

from dataclasses import replace

import numpy as np
import pytest
from needlework import geodesy
from needlework.angles import wrap360
from needlework.questions.arc_goals import final_set, held, identified, joined, led, not_below, selector_ahead
from needlework.questions.flown import Seen, station
from needlework.tracklog import Track

SALT = station("saltmarsh")
RIGHT = {"arc_nm": 10.0, "from_deg": 310, "final_deg": 34, "turn": "right", "course_deg": 214}
LEFT = {"arc_nm": 10.0, "from_deg": 118, "final_deg": 34, "turn": "left", "course_deg": 214}
BOTH = pytest.mark.parametrize("givens", [RIGHT, LEFT], ids=["right", "left"])


def seen(
    givens, off_nm=0.0, ahead_deg=5.0, course_1=214.0, alt_ft=3600.0, until_deg=84.0, turned_deg=None, heard_s=0
):
    """A smooth arc of 84 degrees, so far outside (a number or a function of the degrees flown), second by second."""
    sign = 1 if givens["turn"] == "right" else -1
    flown = np.linspace(0.0, until_deg, 200)
    radial = np.asarray(wrap360(givens["from_deg"] + sign * flown))
    off = off_nm(flown) if callable(off_nm) else np.full(flown.size, off_nm)
    lat, lon = geodesy.fix_position(SALT.lat_deg, SALT.lon_deg, SALT.declination_deg, radial, 10.0 + off)
    heading = np.asarray(wrap360(radial + sign * 90.0))
    if turned_deg is not None:
        heading[:15] = np.asarray(wrap360(heading[15] - np.linspace(turned_deg, 0.0, 15)))
    return Seen(
        Track(
            np.arange(200.0),
            np.asarray(lat),
            np.asarray(lon),
            np.full(200, alt_ft),
            heading_deg=heading,
            identified=(np.arange(200.0) >= heard_s).astype(float),
            course_1_deg=np.full(200, course_1),
            course_2_deg=np.asarray(wrap360(radial + sign * ahead_deg)),
        ),
        SALT,
    )


@BOTH
def test_a_perfect_arc_meets_every_goal(givens):
    """Definition: on the arc, selectors ahead, final course set, high enough."""
    flight = seen(givens)
    for goal in (identified(), joined(), held(), selector_ahead(), final_set(), not_below(3400.0)):
        met = goal.judge(givens, flight)
        assert met.share == 1.0, met.text


@BOTH
def test_identified(givens):
    """Definition: an ident heard on the arc comes too late, one never heard is none."""
    for second in (60, 1000):
        assert identified().judge(givens, seen(givens, heard_s=second)).share == 0.0


@BOTH
@pytest.mark.parametrize(
    ("off_nm", "share", "said"),
    [(0.4, 1.0, "0.4 NM outside"), (-0.4, 1.0, "0.4 NM inside"), (0.8, 0.5, "too early"), (-1.2, 0.0, "too late")],
)
def test_joined(givens, off_nm, share, said):
    """Definition: coming in, a turn begun early rolls out outside; half a mile is the goal, one mile the limit."""
    met = joined().judge(givens, seen(givens, off_nm))
    assert met.share == share
    assert said in met.text


@BOTH
def test_a_turn_the_long_way_round_is_seen(givens):
    """Definition: 270 degrees round and back on the arc are not 90."""
    met = joined().judge(givens, seen(givens, turned_deg=270.0))
    assert met.share == 0.0
    assert "degrees round" in met.text


@BOTH
def test_held(givens):
    """Independent method: a spiral that gains a mile and a half over the arc leaves the mile after two thirds."""
    met = held().judge(givens, seen(givens, lambda flown: 1.5 * flown / 84.0))
    # Judged from 8 to 75 degrees: 48 of these 67 lie below 56, less a fifth for having left it at all.
    assert met.share == pytest.approx(48 / 67 - 0.2, abs=0.02)  # the samples are 0.4 degrees apart
    assert "1.3 NM outside" in met.text
    assert "not far enough inside" in met.text
    inside = held().judge(givens, seen(givens, lambda flown: -1.5 * flown / 84.0))
    assert "1.3 NM inside" in inside.text
    assert "too far inside" in inside.text


@BOTH
def test_half_an_arc_is_not_an_arc(givens):
    """Definition: what was not flown earns nothing."""
    met = held().judge(givens, seen(givens, until_deg=40.0))
    assert met.share < 0.2
    assert "Only" in met.text
    assert final_set().judge(givens, seen(givens, until_deg=40.0)).share == 0.0


@BOTH
@pytest.mark.parametrize(
    ("ahead_deg", "share", "said"),
    [
        (185.0, 1.0, "next radial"),
        (-10.0, 0.0, "already crossed"),
        (20.0, 0.0, "one step ahead"),
        (90.0, 0.0, "Selector 2"),
    ],
)
def test_selector_ahead(givens, ahead_deg, share, said):
    """Definition: either end of the line counts; behind and far ahead do not."""
    met = selector_ahead().judge(givens, seen(givens, ahead_deg=ahead_deg))
    assert met.share == share
    assert said in met.text


@BOTH
@pytest.mark.parametrize(("course", "said"), [(34.0, "other end"), (130.0, "still showed 130")])
def test_final_set(givens, course, said):
    """Definition: without the final course selected needle 1 is dead; with its other end it reads reversed."""
    met = final_set().judge(givens, seen(givens, course_1=course))
    assert met.share == 0.0
    assert said in met.text


def turning(givens, lead_deg, until_deg=100.0):
    """The same arc, its last ten degrees flown straight, with a turn inbound that many degrees before the final."""
    flight = seen(givens, until_deg=until_deg)
    sign = 1 if givens["turn"] == "right" else -1
    flown = np.linspace(0.0, until_deg, 200)
    last, begun = int(np.argmax(flown >= 74.0)), int(np.argmax(flown >= 84.0 - lead_deg))
    heading = np.array(flight.track.heading_deg)
    heading[last:] = heading[last]
    heading[begun:] = wrap360(heading[begun] + sign * np.minimum(5.0 * np.arange(200 - begun), 90.0))
    return Seen(replace(flight.track, heading_deg=heading), SALT)


@BOTH
@pytest.mark.parametrize(
    ("lead_deg", "share", "said"),
    [(3.0, 1.0, "3 degrees before"), (6.0, 1.0, "before"), (0.0, 0.0, "radial itself"), (-6.0, 0.0, "degrees past")],
)
def test_led(givens, lead_deg, share, said):
    """Definition: a lead lies before the final radial, not on it and not beyond it."""
    met = led().judge(givens, turning(givens, lead_deg))
    assert met.share == share
    assert said in met.text


@BOTH
def test_never_turned_to_final(givens):
    """Definition: a flight that goes straight on through the final has led nothing."""
    met = led().judge(givens, turning(givens, -50.0))
    assert met.share == 0.0
    assert "Never turned" in met.text


@BOTH
def test_a_step_that_never_came_is_told_from_a_nose_too_far_out(givens):
    """Independent method: a straight leg held over a third of the arc points away from the station at its end."""
    sign = 1 if givens["turn"] == "right" else -1
    flight = seen(givens, lambda flown: np.maximum(0.0, flown - 40.0) / 20.0)
    flown = np.linspace(0.0, 84.0, 200)
    heading = np.asarray(flight.track.heading_deg)
    held_on = np.where(flown > 40.0, wrap360(heading - sign * (flown - 40.0)), heading)
    met = held().judge(givens, Seen(replace(flight.track, heading_deg=held_on), SALT))
    assert "no turn by ten" in met.text


@BOTH
def test_a_late_turn_on_is_not_blamed_on_the_headings(givens):
    """Definition: what the turn on to the arc left is not the steps' doing."""
    met = held().judge(givens, seen(givens, -1.3))
    assert "turn on to the arc" in met.text


def test_not_below():
    """Definition: a floor is a floor; ten feet are the reading of an altimeter."""
    assert not_below(3400.0).judge(RIGHT, seen(RIGHT, alt_ft=3391.0)).share == 1.0
    assert not_below(3400.0).critical
    assert not_below(3400.0).judge(RIGHT, seen(RIGHT, alt_ft=3340.0)).share == 0.0
    met = not_below(3400.0).judge(RIGHT, seen(RIGHT, alt_ft=3360.0))
    assert 0.0 < met.share < 0.5, "touched, not flown through"
    assert "40 ft below" in met.text


def test_another_part_of_the_sky():
    """Definition: a flight that was never on the arc meets none of its goals."""
    flight = seen({**RIGHT, "from_deg": 130}, until_deg=40.0)
    for goal in (joined(), held(), selector_ahead(), final_set()):
        assert goal.judge(RIGHT, flight).share == 0.0
