"""The goals a flown final is judged by, on tracks made without the flight model."""

import numpy as np
import pytest
from needlework.exercises import judging
from needlework.exercises.catalogue import QUESTIONS
from needlework.exercises.flown import station
from needlework.exercises.goals.descent import (
    along_nm,
    at_minimums,
    climb_at,
    climb_at_the_point,
    floors_kept,
    near_the_line,
    no_dive,
    written_floor,
)
from needlework.exercises.goals.seen import Seen
from needlework.exercises.verdicts import Outcome
from needlework.flying.tracklog import Track
from needlework.trade import geodesy


def _line_ft(_givens, along_nm):
    """The line of Saltmarsh: from 1,760 ft over the station, 317 ft a mile."""
    return 1760.0 - 317.0 * along_nm


G = {"course_deg": 214}
FLOORS = floors_kept(lambda g: ((-99.0, 0.0, 1760.0), (0.0, 3.0, 800.0), (3.0, 99.0, 560.0)))
MINIMUMS = at_minimums(lambda g: 560.0, 3.8, 4.6)


def flown(corners, turn_at_nm=99.0):
    """A flight straight along the final course at 90 kt through (NM past the station, altitude)."""
    nm, ft = np.array(corners, dtype=float).T
    time = np.arange(0.0, (nm[-1] - nm[0]) / 90 * 3600)
    along = nm[0] + time * 90 / 3600
    alt = np.interp(along, nm, ft)
    at = station("saltmarsh")
    places = [
        geodesy.fix_position(
            station_lat_deg=at.lat_deg,
            station_lon_deg=at.lon_deg,
            declination_deg=at.declination_deg,
            radial_deg=34.0 if d < 0 else 214.0,
            dist_nm=abs(d),
        )
        for d in along
    ]
    lat, lon = np.array(places).T
    track = Track(
        time_s=time,
        lat_deg=lat,
        lon_deg=lon,
        alt_ft=alt,
        heading_deg=np.where(along < turn_at_nm, 214.0, 120.0),
        vs_fpm=np.gradient(alt, time) * 60,
    )
    return Seen(track, at)


GOOD = [(-2.0, 1760), (0.0, 1760), (3.0, 810), (3.8, 570), (4.7, 570), (5.6, 720)]


def test_along_runs_through_the_station():
    """Definition: miles past the station, negative before it, from the clock alone at 90 kt."""
    seen = flown(GOOD)
    assert along_nm(G, seen) == pytest.approx(-2 + seen.time_s / 40, abs=0.002)  # the plane round the station


def test_a_good_final_meets_every_goal():
    """Definition: on the line, at minimums from the VDP, climbing from the missed approach point."""
    seen = flown(GOOD)
    for goal in (FLOORS, MINIMUMS, no_dive(), climb_at_the_point(4.7), near_the_line(_line_ft, 1.0, 2.9)):
        met = goal.judge(G, seen)
        assert met.share == 1.0, (goal.label, met.text)
    assert along_nm(G, seen)[climb_at(seen)] == pytest.approx(4.7, abs=0.05)  # two samples of 0.025 NM


@pytest.mark.parametrize(
    ("corners", "goal", "said"),
    [
        ([(-2, 1760), (-1, 1700), (0, 1700), (3, 810), (5, 600)], FLOORS, "60 ft below the floor of 1,760 ft"),
        (
            [(-2, 1760), (0, 1760), (2, 640), (3, 640), (5, 600)],
            FLOORS,
            "160 ft below the floor of 800 ft, 2.0 NM past",
        ),
        ([(-2, 1760), (0, 1760), (3, 810), (4, 530), (5, 530)], MINIMUMS, "30 ft below minimums"),
        ([(-2, 1760), (0, 1760), (4.7, 800), (5.5, 900)], MINIMUMS, "above minimums at 3.8 NM"),
        ([(-2, 1760), (3, 1760), (4, 560), (5, 600)], no_dive(), "1,800 fpm down"),
        ([(-2, 1760), (0, 1760), (4, 570), (5.6, 570)], climb_at_the_point(4.7), "no climb"),
        ([(-2, 1760), (0, 1760), (4, 570), (5.2, 570), (5.6, 720)], climb_at_the_point(4.7), "0.5 NM after"),
        ([(-2, 1760), (0, 1760), (1, 1760), (3, 810)], near_the_line(_line_ft, 1.0, 2.9), "ft high on the line"),
        ([(-2, 1760), (0, 1760), (1, 1100), (3, 810)], near_the_line(_line_ft, 1.0, 2.9), "ft low on the line"),
    ],
)
def test_each_fault_is_found_and_sized(corners, goal, said):
    """Definition: one fault put into a track is named with its size."""
    met = goal.judge(G, flown(corners))
    assert met.share < 1.0
    assert said in met.text


def test_one_line_and_around_counts_too():
    """AC 120-108: a continuous descent ends in a landing or a go-around from above the MDA, never level at it."""
    met = MINIMUMS.judge(G, flown([(-2, 1760), (0, 1760), (3.6, 612), (5.6, 1200)]))
    assert met.share == 1.0
    assert "around from" in met.text
    assert MINIMUMS.judge(G, flown([(-2, 1760), (0, 1760), (3.0, 810), (5.6, 1200)])).share == 0.0


def test_who_never_goes_down_keeps_no_floor():
    """Definition: what was not flown earns nothing: level at 1,760 ft all the way is no descent."""
    level = flown([(-2, 1760), (0, 1760), (5.6, 1760)])
    for goal in (FLOORS, no_dive(), climb_at_the_point(4.7)):
        met = goal.judge(G, level)
        assert met.share == 0.0
        assert "no descent" in met.text.lower() or "no climb" in met.text


@pytest.mark.parametrize(("written", "share"), [(800, 1.0), (870, 1.0), (790, 0.0)])
def test_the_floor_is_read_as_written(written, share):
    """Definition: a level-off set below the floor is wrong on the kneeboard, whatever the line did."""
    goal = written_floor("level at", lambda g: 800.0, "to 3.0 DME")
    assert goal.critical
    level = flown([(-2, 1760), (0, 1760), (5.6, 1760)])
    assert goal.judge({**G, "filled": {"level at": float(written)}}, level).share == share


def test_a_dive_is_told_from_a_slow_descent():
    """Definition: far below the line is a dive, as far above it is only high."""
    near = near_the_line(_line_ft, 1.0, 2.9, limit_ft=120.0)
    dive = near.judge(G, flown([(-2, 1760), (0, 1760), (1.0, 1000), (3.0, 810), (5.6, 600)]))
    high = near.judge(G, flown([(-2, 1760), (0, 1760), (3.0, 1500), (5.6, 1200)]))
    assert dive.share == 0.0 and "a dive" in dive.text
    assert high.share > 0.0 and near.critical
    early = near.judge(G, flown([(-2, 1760), (0, 1000), (3.0, 810), (5.6, 600)]))
    assert early.share == 0.0 and "begun before the final fix" in early.text


def test_the_farther_off_the_line_the_less():
    """Definition: no error that is worse earns more, and low costs more than as far high."""
    near = near_the_line(_line_ft, 1.0, 2.9, limit_ft=120.0)
    line = 1760.0 - 317.0 * 2.9
    low, high = (
        [
            near.judge(G, flown([(-2, 1760), (0, 1760), (2.9, line + side * off), (5.6, 600)])).share
            for off in (100, 140, 160, 180, 230)
        ]
        for side in (-1, 1)
    )
    for shares in (low, high):
        assert shares[0] == 1.0
        assert shares == sorted(shares, reverse=True)
        assert shares[1] > shares[2] > shares[3]
    assert all(a < b for a, b in zip(low[1:], high[1:], strict=True))


def test_rates_in_the_plan_that_are_worse_earn_no_more():
    """Definition: head and tail of the wind swapped is twice the error of no wind, and earns no more."""
    question = QUESTIONS["dm-plan"]
    for student in ("Finch 12", "student 3", "student 8", "student 11"):
        givens = judging.draw(question, student)
        shares = {
            slip.code: judging.judge(question, givens, filled, hidden=True).share
            for slip, filled in question.mistakes(givens)
        }
        assert max(shares.values()) <= 0.5
        assert shares["HDTL"] <= shares["IASGS"]


def test_an_early_turn_is_found():
    """AIM 5-4-21 b: no turn before the missed approach point, however early the climb."""
    corners = [(-2, 1760), (0, 1760), (3, 810), (3.5, 810), (5.6, 1300)]
    assert climb_at_the_point(4.7).judge(G, flown(corners)).share == 1.0
    met = climb_at_the_point(4.7).judge(G, flown(corners, turn_at_nm=4.0))
    assert met.share == 0.0
    assert climb_at_the_point(4.7).critical
    assert "turned before" in met.text


def test_a_flight_that_never_gets_there_is_told():
    """Definition: goals of a final that was not flown are not met, and say so."""
    seen = flown([(-3, 1760), (-1, 1760)])
    for goal in (MINIMUMS, climb_at_the_point(4.7), near_the_line(_line_ft, 1.0, 2.9)):
        assert goal.judge(G, seen).share == 0.0


def test_a_mistake_in_the_plan_counts_where_the_wind_was_kind():
    """Definition: minimums set before the step-down fix are a mistake, though the line alone kept the floor."""
    question = QUESTIONS["dm-plan"]
    givens = judging.draw(question, "Finch 12")
    verdict = judging.judge(question, givens, {**question.right(givens), "level at, until 3.0 DME": 630})
    assert verdict.outcome is Outcome.SLIP
    assert verdict.slip == "NEXTFLOOR"
    assert verdict.share == 0.25


def test_what_was_subtracted_is_not_carried_on():
    """Definition: note and cold are added, so an altitude below the published one is never right from one's own."""
    question = QUESTIONS["dm-minimums"]
    givens = judging.draw(question, "student 3")
    right = question.right(givens)
    noted, cold = right["MDA with the note"], right["cold correction at the MDA"]

    def cell(**changed):
        return dict(judging.judge(question, givens, {**right, **changed}).cells)["MDA of the day"]

    wrong_row = cell(**{"cold correction at the MDA": cold + 15, "MDA of the day": noted + cold + 15})
    assert wrong_row.outcome is Outcome.PASS and "your own" in wrong_row.text
    minus = cell(**{"cold correction at the MDA": -cold, "MDA of the day": noted - cold})
    assert minus.outcome is not Outcome.PASS
    low = noted - 2 * givens["note_ft"]
    assert cell(**{"MDA with the note": low, "MDA of the day": low + cold}).outcome is not Outcome.PASS
