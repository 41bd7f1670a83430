"""What a flown arc is judged by, on tracks made here without flying."""

from dataclasses import replace

import numpy as np
import pytest
from needlework.exercises.catalogue import QUESTIONS
from needlework.exercises.flown import station
from needlework.exercises.goals.arc import (
    corrected,
    down_in_time,
    final_held,
    final_set,
    floors_on_the_arc,
    held,
    identified,
    joined,
    lead_written,
    led_on,
    led_to_final,
    not_below,
    selector_ahead,
    turn_on_written,
)
from needlework.exercises.goals.seen import Seen
from needlework.exercises.judging import draw, judge
from needlework.exercises.verdicts import Outcome
from needlework.flying.tracklog import Track
from needlework.trade import geodesy
from needlework.trade.angles import wrap360

SALT = station("saltmarsh")
RIGHT = {"arc_nm": 10.0, "from_deg": 310, "final_deg": 34, "turn": "right", "course_deg": 214}
LEFT = {"arc_nm": 10.0, "from_deg": 146, "final_deg": 62, "turn": "left", "course_deg": 242}
BOTH = pytest.mark.parametrize("givens", [RIGHT, LEFT], ids=["right", "left"])


def seen(givens, off_nm=0.0, ahead_deg=5.0, course_1=None, alt_ft=3600.0, until_deg=84.0, turned_deg=None, heard_s=0):
    """A smooth arc of 84 degrees, so far outside (a number or a function of the degrees flown), second by second."""
    sign = 1 if givens["turn"] == "right" else -1
    flown = np.linspace(0.0, until_deg, 200)
    radial = np.asarray(wrap360(givens["from_deg"] + sign * flown))
    off = off_nm(flown) if callable(off_nm) else np.full(flown.size, off_nm)
    lat, lon = geodesy.fix_position(
        station_lat_deg=SALT.lat_deg,
        station_lon_deg=SALT.lon_deg,
        declination_deg=SALT.declination_deg,
        radial_deg=radial,
        dist_nm=10.0 + off,
    )
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
            course_1_deg=np.full(200, givens["course_deg"] if course_1 is None else course_1),
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


FLOORS = {"upper_ft": 3400.0, "floor_ft": 3000.0}


@pytest.mark.parametrize(("givens", "begins"), [(RIGHT, 345), (LEFT, 111)], ids=["right", "left"])
@pytest.mark.parametrize(
    ("down_at", "kept", "in_time"),
    [(36.0, 1.0, 1.0), (22.0, 0.0, 1.0), (72.0, 1.0, 0.0), (200.0, 1.0, 0.0)],
    ids=["crossed first", "before the crossing", "too late", "never"],
)
def test_coming_down_on_the_arc(givens, begins, down_at, kept, in_time):
    """Definition: 600 ft in twelve degrees; the lower floor from 35 degrees on, the lead four before the end."""
    flown = np.linspace(0.0, 84.0, 200)
    flight = seen(givens, alt_ft=3600.0 - np.clip(flown - down_at, 0.0, 12.0) * 50.0)
    told = {**givens, **FLOORS, "begins_deg": begins}
    assert floors_on_the_arc().judge(told, flight).share == kept
    met = down_in_time().judge(told, flight)
    assert met.share == in_time or 0.0 < met.share < 0.5
    assert (met.share == 1.0) is (in_time == 1.0), met.text


def test_a_floor_only_touched_on_the_arc_is_told_as_that():
    """Definition: forty feet below while levelling off are a dip, with its radial; never reached is never down."""
    flown = np.linspace(0.0, 84.0, 200)
    told = {**RIGHT, **FLOORS, "begins_deg": 345}
    met = floors_on_the_arc().judge(told, seen(RIGHT, alt_ft=np.where(flown > 50.0, 2960.0, 3600.0)))
    assert met.share == 0.4 and "40 ft below 3,000 ft on radial 000" in met.text.replace("radial 360", "radial 000")
    assert down_in_time().judge(told, seen(RIGHT, until_deg=60.0)).text == "The lead radial was never reached."


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
@pytest.mark.parametrize(("off_nm", "said"), [(2.5, "then turn in."), (-2.5, "then turn out.")])
def test_lost_from_the_arc(givens, off_nm, said):
    """Definition: over two miles off the arc's floor is no longer relied on: critical, and worth nothing."""
    assert held().critical
    met = held().judge(givens, seen(givens, lambda flown: off_nm * flown / 70.0))
    assert met.share == 0.0
    assert met.text.endswith(said)


@BOTH
@pytest.mark.parametrize("off_nm", [1.9, -1.9])
def test_badly_held_is_not_lost(givens, off_nm):
    """Definition: within two miles an arc is flown badly, but the whole flight is not capped for it."""
    assert 0.0 < held().judge(givens, seen(givens, off_nm)).share < 0.1


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
@pytest.mark.parametrize(("course", "said"), [(None, "other end"), (130.0, "still showed 130")])
def test_final_set(givens, course, said):
    """Definition: without the final course selected needle 1 is dead; with its other end it reads reversed."""
    course = float(givens["final_deg"]) if course is None else course
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
    met = led_to_final().judge(givens, turning(givens, lead_deg))
    assert met.share == share
    assert said in met.text


@BOTH
def test_never_turned_to_final(givens):
    """Definition: a flight that goes straight on through the final has led nothing."""
    met = led_to_final().judge(givens, turning(givens, -50.0))
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


def joining(givens, begun_nm):
    """Inbound on the radial from 12 NM to where the turn on to the arc begins, and the turn at standard rate."""
    sign = 1 if givens["turn"] == "right" else -1
    lat, lon = geodesy.fix_position(
        station_lat_deg=SALT.lat_deg,
        station_lon_deg=SALT.lon_deg,
        declination_deg=SALT.declination_deg,
        radial_deg=givens["from_deg"],
        dist_nm=np.linspace(12.0, 9.0, 110),
    )
    begun = int((12.0 - begun_nm) / 3.0 * 109)
    turned = np.clip(3.0 * (np.arange(110.0) - begun), 0.0, 90.0)
    heading = np.asarray(wrap360(givens["from_deg"] + 180.0 - sign * turned))
    track = Track(np.arange(110.0), np.asarray(lat), np.asarray(lon), np.full(110, 3600.0), heading_deg=heading)
    return Seen(track, SALT)


@BOTH
@pytest.mark.parametrize(("begun_nm", "share"), [(10.5, 1.0), (11.0, 1.0), (10.0, 0.0), (9.5, 0.0)])
def test_led_on(givens, begun_nm, share):
    """Definition: coming in, the lead lies outside the arc; where the turn comes out is another goal's business."""
    assert led_on().judge(givens, joining(givens, begun_nm)).share == share


def test_never_turned_on_to_the_arc():
    """Definition: who flies on along the radial has led nothing."""
    assert "Never turned" in led_on().judge(RIGHT, joining(RIGHT, 9.0)).text


WIND = {"tas_kt": 104.0, "wind_kt": 26.0}


@pytest.mark.parametrize(("givens", "wind_deg"), [(RIGHT, 80.0), (LEFT, 16.0)], ids=["right", "left"])
def test_corrected(givens, wind_deg):
    """Independent method: the crosswind of each leg by its sine; the wind blows along the middle of the arc."""
    sign = 1 if givens["turn"] == "right" else -1
    legs = [givens["from_deg"] + sign * (95 + 10 * leg) for leg in range(8)]
    ends = [(givens["from_deg"] + sign * 10 * (leg + 1)) % 360 or 360 for leg in range(8)]
    right = [np.degrees(np.arcsin(26.0 / 104.0 * np.sin(np.radians(wind_deg - leg)))) for leg in legs]

    def judged(corrections):
        headings = (leg + correction for leg, correction in zip(legs, corrections, strict=True))
        filled = {f"heading to radial {end:03d}": h % 360 for end, h in zip(ends, headings, strict=True)}
        return corrected().judge({**givens, **WIND, "wind_deg": wind_deg, "filled": filled}, seen(givens))

    assert judged(right).share == 1.0
    assert judged(np.array(right) + 1.9).share == 1.0
    variation = [np.degrees(np.arcsin(0.25 * np.sin(np.radians(wind_deg + 13.0 - leg)))) for leg in legs]
    for lazy in (np.zeros(8), *(np.full(8, kept) for kept in (4.0, -4.0, 8.0, -8.0)), -np.array(right), variation):
        met = judged(lazy)
        assert met.share <= 0.25, "one correction for all legs, one downwind, or one for another wind"
        assert "from which side" in met.text


@BOTH
@pytest.mark.parametrize(
    ("lead_nm", "share", "said"),
    [
        (0.5, 1.0, "fits"),
        (0.42, 1.0, "fits"),
        (0.25, 0.0, "less lead"),
        (1.0, 0.0, "more lead"),
        (0.0, 0.0, "no lead in that"),
        (-0.5, 0.0, "laid off inside the arc"),
    ],
)
def test_turn_on_written(givens, lead_nm, share, said):
    """P-340 6-98: half a per cent of the ground speed; the handbook has half a mile; a tenth either way."""
    met = turn_on_written("turn at DME").judge({**givens, "gs_kt": 90, "filled": {"turn at DME": 10 + lead_nm}}, None)
    assert met.share == share
    assert said in met.text


@BOTH
@pytest.mark.parametrize(
    ("lead_deg", "share", "said"),
    [
        (3.0, 1.0, "rule"),
        (2.0, 1.0, "rule"),
        (1.0, 0.0, "less"),
        (6.0, 0.0, "more"),
        (12.0, 0.0, "more"),
        (-3.0, 0.0, "before"),
    ],
)
def test_lead_written(givens, lead_deg, share, said):
    """P-340 6-98: 60 / arc times half a per cent of the ground speed, 2.7 degrees at 90 kt; within a degree."""
    radial = givens["final_deg"] - (lead_deg if givens["turn"] == "right" else -lead_deg)
    met = lead_written("lead").judge({**givens, "gs_kt": 90, "filled": {"lead": radial}}, None)
    assert met.share == share
    assert said in met.text


def test_final_held():
    """Definition: in on the final from where it is judged; off it by what no wind does is blamed on the turn."""

    def final(off_deg, nearest_nm=5.8):
        lat, lon = geodesy.fix_position(
            station_lat_deg=SALT.lat_deg,
            station_lon_deg=SALT.lon_deg,
            declination_deg=SALT.declination_deg,
            radial_deg=34.0 + off_deg,
            dist_nm=np.linspace(9.5, nearest_nm, 100),
        )
        return Seen(Track(np.arange(100.0), np.asarray(lat), np.asarray(lon), np.full(100, 3600.0)), SALT)

    assert final_held().judge(RIGHT, final(1.0)).share == 1.0
    wind = final_held().judge(RIGHT, final(8.0))
    assert wind.share == 0.0
    assert "Which way was the wind" in wind.text
    turn = final_held().judge(RIGHT, final(-30.0))
    assert turn.share == 0.0
    assert "Up to 30 degrees right of the final" in turn.text
    assert "wind, and how much" not in turn.text
    for never in (final(0.0, nearest_nm=7.9), final(180.0)):
        met = final_held().judge(RIGHT, never)
        assert met.share == 0.0
        assert met.text.startswith("The final was never flown.")


PLAN = QUESTIONS["arc-plan"]


def test_the_wind_of_the_plan_changes_side():
    """Definition: whoever's numbers, the first leg wants a correction to the right and the last one to the left."""
    for student in range(40):
        givens = draw(PLAN, f"student {student}")
        first, last = (givens["wind_deg"] - leg for leg in (45.0, 115.0))
        assert np.sin(np.radians(first)) > 0.4 > -0.4 > np.sin(np.radians(last))


def test_the_winds_of_the_three_places_change_side():
    """Definition: no one correction holds the first leg and the last."""
    question = QUESTIONS["arc-wind"]
    for student in range(40):
        givens = draw(question, f"student {student}")
        right = list(question.right(givens).values())
        sign = 1 if givens["turn"] == "right" else -1
        still = [givens["begin_deg"] + sign * (gone + 95.0) for gone in (0, 35, 84)]
        first, _, last = (float((a - b + 180.0) % 360.0 - 180.0) for a, b in zip(right, still, strict=True))
        assert first * last < 0.0
        assert abs(first - last) > 4.0, "twice the tolerance"


def test_a_plan_with_one_correction_for_all_legs_does_not_pass():
    """Definition: what the wind does along the arc is what the plan asks for; far out counts for less than half."""
    givens = draw(PLAN, "Finch 12")
    right = PLAN.right(givens)
    headings = [label for label in right if label.startswith("heading")]
    shares = []
    for kept in (0.0, 3.0, 10.0, -10.0):
        lazy = {**right, **{label: 45.0 + 10.0 * leg + kept for leg, label in enumerate(headings)}}
        verdict = judge(PLAN, givens, lazy)
        assert verdict.outcome is not Outcome.PASS
        shares.append(verdict.share)
    assert max(shares) < 0.8
    assert shares[-1] <= 0.25, "more than two miles outside"


@pytest.mark.parametrize(
    ("feet", "said"),
    [(3600, "Safe"), (5000, "Safe"), (3200, "climb now"), (2900, "every floor"), (500, "every floor")],
)
def test_an_altitude_that_is_not_the_floor(feet, said):
    """Definition: too high is safe, too low is told as what it is."""
    question = QUESTIONS["arc-floor"]
    verdict = judge(question, draw(question), feet)
    assert verdict.outcome is Outcome.SLIP
    assert said in verdict.text


@pytest.mark.parametrize("letters", ["BGFCEDAH", "GBFCEDAH", "GBFDECAH"])
def test_identified_before_the_turn_is_soon_enough(letters):
    """Definition: setting a radial before the station is identified harms nobody; turning by it would."""
    question = QUESTIONS["arc-order"]
    assert judge(question, draw(question), letters).outcome is Outcome.PASS
    assert judge(question, draw(question), "GFBCEDAH").outcome is not Outcome.PASS


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
