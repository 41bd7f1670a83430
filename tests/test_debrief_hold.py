"""The hold: what leg and turns asked for and what was laid off; where its turns were due; on which side it lay."""

import dataclasses

import numpy as np
import pytest
from needlework.debrief.hold_drift import DOWNWIND, ENOUGH, NONE, ONCE, Drift
from test_debrief_rows import SALTMARSH, WYGATE, flown, holding, judged, laps_through_the_air, recorded
from track_maker import EZRICK


@pytest.mark.parametrize("leg_nm", [1.6, 4.0])
@pytest.mark.parametrize(("factor", "inbound_deg"), [(3.0, 6.0), (3.0, 10.0), (2.0, 12.0)])
@pytest.mark.parametrize(("times", "said"), [(None, ENOUGH), (1.0, ONCE), (0.0, NONE), (-1.0, DOWNWIND)])
def test_each_explanation_is_told_from_what_it_predicts(leg_nm, factor, inbound_deg, times, said):
    """AIM 5-3-8: what is not laid off outbound for leg and turns is drifted by the end of the turn inbound."""
    laid_off = min((factor if times is None else times) * inbound_deg, 30.0)
    wanted = min(factor * inbound_deg, 30.0)
    downwind_nm = leg_nm * np.deg2rad(max(wanted - laid_off, 0.0))
    assert Drift(inbound_deg, laid_off, factor, downwind_nm, leg_nm).explained == said


@pytest.mark.parametrize("outbound_deg", [0.0, 9.0])
def test_what_was_paid_for_otherwise_is_no_fault(outbound_deg):
    """Definition: the turn ended on the line; whatever the nose showed outbound, the wind was paid for."""
    assert Drift(9.0, outbound_deg, 2.0, 0.0, 4.0).explained in ("", ENOUGH)


@pytest.mark.parametrize("wind_true_deg", [345.0, 165.0, 300.0])
@pytest.mark.parametrize("wind_kt", [12.0, 20.0])
@pytest.mark.parametrize(("times", "said"), [(3.0, None), (2.0, None), (0.0, NONE), (-1.0, DOWNWIND)])
def test_the_correction_of_the_laps(wind_true_deg, wind_kt, times, said):
    """Independent method: laps by headings through the moving air, with so many times the correction outbound."""
    report = laps_through_the_air(times, wind_true_deg=wind_true_deg, wind_kt=wind_kt)
    judgement = report.judgement("hold_wind")
    assert judgement.verdict == ("missed" if said else "met")
    assert {found.cause for found in judgement.findings} == ({said} if said else set())


def test_no_more_outbound_than_inbound():
    """AIM 5-3-8: the turns drift as well, so once is too little; and it is told from none at all."""
    (found,) = laps_through_the_air(1.0, wind_true_deg=165.0, wind_kt=12.0).judgement("hold_wind").findings
    assert found.cause == ONCE


@pytest.mark.parametrize(
    ("leg", "wind", "critical"),
    [
        ((195, 75, 0), None, [True]),
        ((195, 75, 0), (60.0, 25.0), [True]),
        ((165, 60, 0), None, []),
        ((180, 60, 0), None, []),
        ((180, 60, 0), (60.0, 25.0), []),
    ],
    ids=["teardrop", "teardrop in wind", "parallel", "parallel, a little off", "parallel, blown"],
)
def test_a_teardrop_to_the_wrong_hand_is_no_parallel_entry(leg, wind, critical):
    """AIM 5-3-8 j: parallel is along the course; thirty degrees off it on the unprotected side is no entry at all."""
    hold = (leg, (345, None, -1))
    if wind is None:
        report = flown(hold=hold)
    else:
        report = judged(recorded(heading=True, wind_from_deg=wind[0], wind_kt=wind[1], hold=hold))
    assert [found.critical for found in report.judgement("hold_entry").findings] == critical


def test_a_leg_blown_past_the_fix_is_no_way_to_elsewhere():
    """Definition: what leads back nearer to the fix is a leg of the hold; left is what is nearest to it."""
    report = holding(((255, 60, -1), (75, None, -1), (255, 60, -1), (63, 400, -1)))
    away = report.parts[-1]
    assert away.text == "the way elsewhere"
    fix, seen = np.deg2rad(75.0 + WYGATE.declination_deg), report.seen
    away_nm = np.hypot(seen.east_nm - 12.0 * np.sin(fix), seen.north_nm - 12.0 * np.cos(fix))
    last = seen.time_s > away.start_s - 60.0
    nearest_s = float(seen.time_s[last][np.argmin(away_nm[last])])
    assert away.start_s == pytest.approx(nearest_s, abs=10.0)  # seconds
    assert report.judgement("hold_wind").verdict != "not judged"


@pytest.mark.parametrize(("on_s", "failed", "critical"), [(20, [], []), (90, [True], [False]), (260, [True], [True])])
def test_back_at_the_fix_and_straight_on(on_s, failed, critical):
    """AIM 5-3-8: every turn outbound begins at the fix; on past it nothing is protected before long."""
    report = flown(hold=((135, 60, 0), (345, None, 1), (345, on_s, 0)))
    found = [each for each in report.findings if each.row == "hold_leg"]
    assert [each.failed for each in found] == failed
    assert [each.critical for each in found] == critical


@pytest.mark.parametrize("laps", [2, 3])
def test_laps_before_the_fix_that_touch_it_outbound(laps):
    """Definition: turns outbound all begun four miles past the fix are laps at another place, wherever they end."""
    entry, lap = ((135, 110, 0), (345, None, 1)), ((165, 145, 1), (345, None, 1))
    report = judged(recorded(dataclasses.replace(SALTMARSH, missed_nm=10), hold=entry + lap * laps), "saltmarsh")
    (found,) = report.judgement("hold_leg").findings
    assert (found.critical, found.failed) == (True, True)
    assert found.cause == "another distance taken for that of the fix"
    assert not [each for each in report.findings if each.row in ("missed_track", "hold_entry")]


@pytest.mark.parametrize(("entry_deg", "laps", "failed"), [(310, 3, [True]), (310, 1, [False]), (318, 3, [])])
def test_laps_beside_the_line_far_from_the_station(entry_deg, laps, failed):
    """Common practice, no source: lap after lap a mile beside the fix, the line was not looked for."""
    hold = ((entry_deg, 150, 0), (160, 160, 1), *(((340, 150, 1), (160, 150, 1)) * laps))
    report = judged(recorded(EZRICK, hold=hold), "ezrick")
    assert [found.failed for found in report.judgement("hold_track").findings] == failed
    assert {found.row for found in report.findings} == ({"hold_track"} if failed else set())


def test_a_hold_that_was_left_is_said_to_be_judged_as_cleared():
    """Definition: no recording shows a clearance; what is taken for granted is said."""
    report = holding(((255, 60, -1), (75, None, -1), (255, 60, -1), (75, None, -1), (200, 260, 1)))
    assert [note for note in report.notes if "left LIDRA on 200" in note]
    assert not [note for note in holding(((255, 60, -1), (75, None, -1))).notes if "left LIDRA" in note]


@pytest.mark.parametrize(
    ("out_s", "laps", "legs"),
    [(130, 1, 1), (130, 2, 1), (14, 2, 1), (60, 1, 0), (60, 2, 0)],
    ids=["two minutes once", "two minutes, twice", "a quarter of a minute", "a minute once", "a minute, twice"],
)
def test_the_leg_of_a_direct_entry_is_one_of_the_hold(out_s, laps, legs):
    """AIM 5-3-8 j: outbound for a minute, timed from abeam or wings level; the direct entry begins with that leg."""
    report = holding(((255, out_s, -1), (75, None, -1)) * laps)
    judgement = report.judgement("hold_leg")  # never untold where the turns are praised
    assert judgement.verdict == ("missed" if legs else "met")
    assert len(judgement.findings) >= legs
