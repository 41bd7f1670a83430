"""What a flown missed approach is judged by, on tracks made here without flying."""

import itertools

import numpy as np
import pytest
from needlework.exercises import judging
from needlework.exercises.catalogue import QUESTIONS
from needlework.exercises.flown import station
from needlework.exercises.goals.missed import (
    climb_from,
    entered,
    entry_heading_written,
    lap_on_course,
    lap_side,
    lap_time,
    level_at,
    outbound_ends,
    protected_side,
    turn_in_time,
    turned_inbound,
    turned_to,
    written_altitude,
    written_within,
)
from needlework.exercises.goals.seen import Seen
from needlework.exercises.verdicts import Outcome
from needlework.flying.tracklog import Track
from needlework.trade import geodesy

SALT = station("saltmarsh")
GIVENS = {"course_deg": 214, "radial_deg": 165, "hold_deg": 345, "decided_nm": 3.4}
_NM_A_SAMPLE = 0.02


def seen(*corners, decided_nm=3.4, climb_ft_nm=520.0, top_ft=3000.0, low_ft=560.0, turn="left", foot_low_at=None):
    """Straight lines from corner to corner (radial, NM), level, then climbing from where it was decided."""
    places = np.array([dist * np.exp(1j * np.deg2rad(90.0 - radial)) for radial, dist in corners])
    path, heading = [], []
    for begin, end in itertools.pairwise(places):
        count = max(2, round(abs(end - begin) / _NM_A_SAMPLE))
        path.append(begin + (end - begin) * np.arange(count) / count)
        heading.append(np.full(count, 90.0 - np.rad2deg(np.angle(end - begin))))
    flown, nose = np.concatenate(path), np.unwrap(np.concatenate(heading), period=360.0)
    if turn == "right":
        # The long way round: the nose passes through the headings on the other side.
        first = int(np.argmax(np.abs(nose - nose[0]) > 1.0))
        nose[first:] += 360.0
        nose[first : first + 20] = np.linspace(nose[first - 1], nose[first + 20], 20)
    radial, dist = np.mod(90.0 - np.rad2deg(np.angle(flown)), 360.0), np.abs(flown)
    miles = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(flown)))])
    on_final = np.flatnonzero(dist >= decided_nm)
    begin_nm = miles[on_final[0]] if len(on_final) else miles[-1]
    alt = np.minimum(low_ft + climb_ft_nm * np.maximum(miles - begin_nm, 0.0), top_ft)
    if foot_low_at is not None:
        alt[foot_low_at] -= 1.0
    lat, lon = geodesy.fix_position(
        station_lat_deg=SALT.lat_deg,
        station_lon_deg=SALT.lon_deg,
        declination_deg=SALT.declination_deg,
        radial_deg=radial,
        dist_nm=dist,
    )
    vs = np.gradient(alt) * 60.0
    time = np.arange(float(len(dist)))
    return Seen(
        Track(time, np.asarray(lat), np.asarray(lon), alt, heading_deg=np.mod(nose, 360.0), vs_fpm=vs),
        SALT,
    )


FINAL = ((214, 2.0), (214, 4.9))
OUT = ((165, 7.0), (165, 14.0))
TEARDROP = ((158, 18.0), (161, 18.6), (165, 14.0))
PARALLEL = ((165, 18.0), (162, 18.4), (165, 14.0))


@pytest.mark.parametrize("entry", [TEARDROP, PARALLEL], ids=["teardrop", "parallel"])
def test_a_missed_approach_as_published_meets_every_goal(entry):
    """Definition: climbed at once, turned left past the point, out on the radial, entered on the hold's side."""
    flight = seen(*FINAL, *OUT, *entry)
    goals = (
        climb_from("decided_nm"), turn_in_time(4.7, 900.0), turned_to("left"), level_at(3000.0, 11.0),
        entered(14.0, 1.0), outbound_ends(18.0), turned_inbound(14.0, 1.0), protected_side(14.0, 1.0),
    )  # fmt: skip
    for goal in goals:
        met = goal.judge(GIVENS, flight)
        assert met.share == 1.0, (goal.label, met.text)


@pytest.mark.parametrize(
    ("goal", "flight", "said"),
    [
        (climb_from("decided_nm"), {"decided_nm": 4.7}, "level for another 1.3 NM"),
        (climb_from("decided_nm", earliest_nm=0.25), {"decided_nm": 2.9}, "0.5 NM before there was a reason"),
        (climb_from("decided_nm"), {"decided_nm": 99.0}, "no climb"),
        (turn_in_time(4.7, 900.0), {"corners": ((214, 2.0), (214, 3.9), *OUT)}, "0.8 NM before the MAP"),
        (turn_in_time(4.7, 900.0), {"climb_ft_nm": 120.0}, "below the altitude published"),
        (turn_in_time(4.7, 900.0), {"corners": ((214, 2.0), (214, 7.5), *OUT)}, "2.8 NM beyond the MAP"),
        (turn_in_time(4.7, 900.0), {"corners": ((214, 2.0), (214, 9.0))}, "there was no turn"),
        (turned_to("left"), {"turn": "right"}, "Turned right; published is left"),
        (level_at(3000.0, 11.0), {"top_ft": 2700.0}, "300 ft below 3,000"),
        (level_at(3000.0, 11.0), {"corners": (*FINAL, (165, 7.0))}, "never came 11 NM out"),
        (entered(14.0, 1.0), {"corners": (*FINAL, *OUT, (175, 18.0))}, "neither along the outbound course"),
        (entered(14.0, 1.0), {"corners": (*FINAL, *OUT)}, "No outbound leg"),
        (outbound_ends(18.0), {"corners": (*FINAL, *OUT, (165, 16.0))}, "farthest was 16.0 NM"),
        (outbound_ends(18.0), {"corners": (*FINAL, *OUT, (165, 21.0))}, "Out to 21.0 NM"),
        (
            turned_inbound(14.0, 1.0),
            {"corners": (*FINAL, *OUT, (165, 18.0), (167, 18.4), (165, 14.0))},
            "from a parallel leg here you turn left",
        ),
        (
            turned_inbound(14.0, 1.0),
            {"corners": (*FINAL, *OUT, (158, 18.0), (155, 18.2), (165, 14.0))},
            "from a teardrop leg here you turn right",
        ),
        (
            turned_inbound(14.0, 1.0),
            {"corners": (*FINAL, *OUT, (172, 18.0), (174, 17.0), (165, 14.0))},
            "leaned away from the hold",
        ),
        (turned_inbound(14.0, 1.0), {"corners": (*FINAL, *OUT, (165, 18.0))}, "no turn back"),
        (protected_side(14.0, 1.0), {"corners": (*FINAL, *OUT, (172, 18.0))}, "2.2 NM on the far side"),
    ],
)
def test_each_mistake_is_named(goal, flight, said):
    """Definition: one thing wrong, and the goal that is about it says what; 18 NM x sin 7 degrees is 2.2 NM."""
    corners = flight.get("corners", (*FINAL, *OUT, *TEARDROP))
    met = goal.judge(GIVENS, seen(*corners, **{name: value for name, value in flight.items() if name != "corners"}))
    assert met.share < 1.0
    assert said in met.text


def test_a_parallel_leg_may_be_flown_beside_the_course():
    """AIM 5-3-8 j: parallel is flown outbound on the side away from the hold; 18 NM x sin 4 degrees is 1.3 NM."""
    met = protected_side(14.0, 1.0).judge(GIVENS, seen(*FINAL, *OUT, (169, 18.0)))
    assert met.share == 1.0
    assert "close to the course" in met.text


@pytest.mark.parametrize(
    ("written", "share", "said"),
    [
        (900, 1.0, "as published"),
        (910, 1.0, ""),
        (700, 0.0, "200 ft below"),
        (1200, 0.3, "300 ft more"),
        (3000, 0.0, "2,100 ft more"),
    ],
)
def test_the_altitude_of_the_turn_is_read_as_written(written, share, said):
    """Definition: what an early climb makes harmless today is still wrong on the kneepad."""
    goal = written_altitude("turn not below", 900.0)
    met = goal.judge({**GIVENS, "filled": {"turn not below": float(written)}}, seen(*FINAL, *OUT, *TEARDROP))
    assert met.share == share
    assert said in met.text
    assert goal.critical


def test_wandering_at_minimums_is_not_a_climb():
    """Definition: a foot low at D3 and then level: the climb begins where the altitude is left, not at the foot."""
    flight = seen(*FINAL, *OUT, decided_nm=4.7, foot_low_at=50)
    met = climb_from("decided_nm", earliest_nm=0.25).judge({**GIVENS, "decided_nm": 4.7}, flight)
    assert met.share == 1.0, met.text
    early = climb_from("decided_nm").judge({**GIVENS, "decided_nm": 4.7}, seen(*FINAL, *OUT, decided_nm=3.4))
    assert early.share == 1.0, "giving up early is allowed"


WINDY = {**GIVENS, "tas_kt": 100, "wind_true_deg": 242, "wind_kt": 20, "variation_deg": 13}


@pytest.mark.parametrize(
    ("heading", "side", "share", "said"),
    [
        # The wind blows square across 165 from the right: 11.5 degrees; from 120 right of 135: 10 degrees.
        (176.5, "LEFT", 1.0, "parallel entry, wind allowed for"),
        (145.0, "RIGHT", 1.0, "teardrop entry, wind allowed for"),
        (165.0, "LEFT", 0.0, "12 degrees too far left"),
        (153.5, "LEFT", 0.0, "the turn inbound to the left belongs to a parallel"),
        (176.5, "RIGHT", 0.0, "belongs to a parallel entry"),
        (203.0, "RIGHT", 0.0, "leans out of the pattern"),
    ],
)
def test_an_entry_leg_is_written_with_its_wind(heading, side, share, said):
    """Definition: sine of the correction is the part across over the airspeed: 20 / 100 and 20 sin 120 / 100."""
    goal = entry_heading_written("heading after BELDU", "turn inbound to the", 1.0)
    filled = {"heading after BELDU": heading, "turn inbound to the": side}
    met = goal.judge({**WINDY, "filled": filled}, seen(*FINAL, *OUT))
    assert met.share == share
    assert said in met.text


@pytest.mark.parametrize(("value", "share"), [(4.7, 1.0), (4.8, 1.0), (4.5, 0.0), (6.0, 0.0)])
def test_what_is_published_is_read_as_written(value, share):
    """Definition: the number on the kneeboard counts, whatever the flight made of it."""
    goal = written_within("turn not before DME", 4.7, 0.1, "The turn waits for the MAP.", critical=1)
    assert goal.critical
    assert goal.judge({**GIVENS, "filled": {"turn not before DME": value}}, seen(*FINAL, *OUT)).share == share


def racetrack(beside_nm=0.0, outbound_s=60, inbound_s=60, first="left", second="left"):
    """A lap at LIDRA in still air, a sample a second: half circles of a minute, legs of so many seconds at 90 kt."""
    sign = {"left": -1.0, "right": 1.0}
    rate = np.concatenate(
        [np.zeros(20), np.full(60, 3.0 * sign[first]), np.zeros(outbound_s), np.full(60, 3.0 * sign[second])]
    )
    heading = np.concatenate([75.0 + np.cumsum(rate), np.full(inbound_s, 75.0 + np.sum(rate))])
    steps = np.exp(1j * np.deg2rad(90.0 - heading)) * 90.0 / 3600.0
    turned = 20 + 60 + outbound_s + 60
    flown = np.cumsum(steps)
    course = np.exp(1j * np.deg2rad(90.0 - 75.0))
    # Shifted so that the end of the turn inbound lies where it is wanted, left of the course positive.
    flown += 12.0 * course - flown[-1] + (beside_nm * 1j * course if beside_nm else 0.0)
    assert turned < len(flown)
    radial, dist = np.mod(90.0 - np.rad2deg(np.angle(flown)), 360.0), np.abs(flown)
    wyg = station("wygate")
    lat, lon = geodesy.fix_position(
        station_lat_deg=wyg.lat_deg,
        station_lon_deg=wyg.lon_deg,
        declination_deg=wyg.declination_deg,
        radial_deg=radial,
        dist_nm=dist,
    )
    time = np.arange(float(len(flown)))
    alt = np.full(len(time), 3500.0)
    return Seen(Track(time, np.asarray(lat), np.asarray(lon), alt, heading_deg=np.mod(heading, 360.0)), wyg)


LIDRA = {"radial_deg": 75, "hold_deg": 75}


@pytest.mark.parametrize(
    ("goal", "lap", "share", "said"),
    [
        (lap_side("left"), {}, 1.0, "Both turns to the left"),
        (lap_side("left"), {"first": "right", "second": "right"}, 0.0, "turn outbound went to the right"),
        (lap_side("left"), {"second": "right"}, 0.0, "turn inbound went to the right"),
        (lap_on_course(), {}, 1.0, "0.0 NM beside"),
        (lap_on_course(), {"beside_nm": 0.5}, 0.0, "0.5 NM left"),
        (lap_on_course(), {"beside_nm": -0.5}, 0.0, "0.5 NM right"),
        (lap_time(), {}, 1.0, "Inbound in 60 seconds"),
        (lap_time(), {"inbound_s": 40}, 0.0, "20 too few"),
        (lap_time(), {"inbound_s": 80}, 0.0, "20 too many"),
    ],
)
def test_a_lap_is_judged_by_side_course_and_time(goal, lap, share, said):
    """Definition: a racetrack drawn here, shifted or stretched by a known amount."""
    met = goal.judge(LIDRA, racetrack(**lap))
    assert met.share == share, met.text
    assert said in met.text


@pytest.mark.parametrize("student", ["student 1", "student 4", "student 5", "student 9"])
def test_a_climb_that_is_not_enough_stays_not_enough(student):
    """Definition: a gradient of one's own may lead to a needless NO, never to a YES that the hills do not keep."""
    question = QUESTIONS["ma-climb"]
    givens = judging.draw(question, student)
    right = question.right(givens)
    safe = right["enough"] == "YES"
    own = {"gradient made": givens["gradient_ft_nm"] + (-60 if safe else 60), "enough": "NO" if safe else "YES"}
    told = dict(judging.judge(question, givens, {**right, **own}).cells)["enough"]
    assert (told.outcome is Outcome.PASS) == safe


def test_headings_of_the_entries_tell_seventy_from_a_hundred_and_ten():
    """AIM 5-3-8: teardrop 70, parallel 110; exchanged, two of the six headings come out wrong for every student."""
    question = QUESTIONS["ma-entries"]
    for number in range(40):
        givens = judging.draw(question, f"student {number}")
        hand = 1 if givens["side"] == "right" else -1
        answers = []
        for heading in givens["headings"]:
            outbound = (hand * (givens["inbound_deg"] + 180 - heading) + 180) % 360 - 180
            answers.append("T" if 0 < outbound <= 110 else "P" if -70 <= outbound <= 0 else "D")
        verdict = judging.judge(question, givens, answers)
        assert sum(cell.outcome is Outcome.PASS for _, cell in verdict.cells) <= 4
