"""Kinds of faults from the minimums on: what was done there is told from what it looks like beside it."""

import dataclasses
import math

import numpy as np
import pytest
from needlework.debrief import text
from needlework.flying import reference_pilot
from needlework.flying.tracklog import Track
from needlework.world import weather
from test_debrief_rows import FINCH, SALTMARSH, WYGATE, judged, recorded, steered, the, with_columns
from track_maker import EZRICK


def errors(report, key):
    return {finding.error for finding in report.judgement(key).findings if finding.sure}


def by_place(plan, places_nm, feet, **habits):
    """A flight with its altitude changed by the distance past the station on the final."""
    track = recorded(plan, **habits)
    report = judged(track, plan.name)
    final = [part for part in report.parts if part.segment == "final"]
    course = math.radians(the(plan.name).final_course_deg + plan.declination_deg)
    along = report.seen.east_nm * math.sin(course) + report.seen.north_nm * math.cos(course)
    along[track.time_s > final[-1].end_s] = 99.0
    fades = np.interp(
        track.time_s, [final[0].start_s, final[0].start_s, final[-1].end_s, final[-1].end_s + 200], [0, 1, 1, 0]
    )
    changed = np.interp(along, places_nm, feet) * fades
    return with_columns(track, alt_ft=track.alt_ft + changed)


def every(track, seconds):
    return track.part(np.mod(np.round(track.time_s), seconds) == 0)


@pytest.mark.parametrize("heights", ["altimeter", "satellite"])
@pytest.mark.parametrize("plan", [SALTMARSH, WYGATE, EZRICK])
def test_left_before_the_visual_descent_point(plan, heights):
    """AIM 5-4-5: far below at the point is told however few the samples, and the depth is that at the point."""
    track = by_place(plan, [plan.vdp_nm - 0.6, plan.vdp_nm + 0.05, plan.vdp_nm + 0.5], [0, -140, 0], end="landing")
    depths = []
    for seconds in (1, 4, 6):
        report = judged(dataclasses.replace(every(track, seconds), height_kind=heights), plan.name, in_sight=True)
        (found,) = report.judgement("vdp").findings
        assert (found.error, found.critical) == (53, True)
        depths.append(found.worst)
    assert min(depths) > 50.0
    assert max(depths) - min(depths) < 8.0


@pytest.mark.parametrize("seconds", [1, 4, 6])
def test_a_descent_begun_at_the_visual_descent_point(seconds):
    """Definition: begun at the point, the first sample below it lies behind it."""
    track = every(recorded(end="landing", margin_ft=5.0), seconds)
    assert judged(track, in_sight=True).judgement("vdp").verdict == "met"


def test_what_cannot_be_told_stands_somewhere():
    """Definition: every row stands under what went well, what is to be worked on, or what was not judged."""
    over_ft = the("wygate").mda_ft("A", step_down=False) - the("wygate").mda_ft("A")
    report = judged(recorded(WYGATE, below_mda_ft=-over_ft), "wygate")
    (row,) = (one.row for one in report.of("cannot tell"))
    assert f"{row.segment}: {row.quantity}. It cannot be told from this recording." in text(report)


@pytest.mark.parametrize(("top_ft", "failed"), [(190.0, [True]), (70.0, [])])
@pytest.mark.parametrize("plan", [SALTMARSH, WYGATE])
def test_away_from_the_mda_to_the_missed_approach_point(plan, top_ft, failed):
    """ACS IR.VI.A.S12: +100 ft; left and kept to the point it was not put right."""
    at = plan.map_nm
    track = by_place(plan, [at - 0.8, at - 0.5, at], [0, top_ft, top_ft])
    assert [one.failed for one in judged(track, plan.name).judgement("mda_high").findings] == failed


@pytest.mark.parametrize("plan", [SALTMARSH, WYGATE, EZRICK])
def test_level_below_the_mda_is_no_look_for_the_runway(plan):
    """Definition: straight through the MDA and level below it another number was flown; from the MDA down, a look."""
    at = plan.map_nm
    looks = by_place(plan, [at - 0.55, at - 0.15, at + 0.3], [0, -170, -170])
    assert errors(judged(recorded(plan, below_mda_ft=100.0), plan.name), "mda") == {75}
    assert errors(judged(looks, plan.name, in_sight=False), "mda") == {42}


def test_the_minimums_with_another_setting_may_have_been_meant():
    """Definition: level at the minimums with the other field's setting, nobody having said which was set."""
    way = the("saltmarsh")
    over_ft = way.mda_ft("A", remote=True) - way.mda_ft("A") + 60.0
    assert judged(recorded(below_mda_ft=-over_ft)).judgement("mda_high").verdict == "cannot tell"
    assert judged(recorded(below_mda_ft=-over_ft), remote=True).judgement("mda_high").verdict == "met"
    assert judged(recorded(below_mda_ft=-320.0)).judgement("mda_high").verdict == "missed"


def by_the_clock(climb_early_s, turn_early_s):
    """Tarvue with the climb begun, and the turn made, so long before the point."""
    day = weather.Day("Calm", "none", weather.parse("000/00"), 15.0, 1013.25)
    track = reference_pilot.fly(the("tarvue"), FINCH, [day]).one(0).track()
    clean = judged(track, "tarvue")
    climb_s = next(part.start_s for part in clean.parts if part.text == "the climb straight ahead")
    before = track.time_s <= climb_s - turn_early_s - 1.0
    after = track.time_s > climb_s - 1.0
    at, back = np.flatnonzero(before)[-1], np.flatnonzero(after)[0]
    shift_lat = np.where(after, track.lat_deg[at] - track.lat_deg[back], 0.0)
    shift_lon = np.where(after, track.lon_deg[at] - track.lon_deg[back], 0.0)
    time_s = track.time_s - np.where(after, turn_early_s, 0.0)
    kept = before | after
    columns = (time_s, track.lat_deg + shift_lat, track.lon_deg + shift_lon, track.alt_ft)
    moved = Track(*(column[kept] for column in columns))
    early_s = climb_early_s - turn_early_s
    lifted = np.interp(moved.time_s + early_s, moved.time_s, moved.alt_ft)
    late = moved.time_s > climb_s - climb_early_s - 5.0
    return judged(dataclasses.replace(moved, alt_ft=np.where(late, lifted, moved.alt_ft)), "tarvue")


def test_climb_and_turn_before_a_point_by_the_clock_are_one_event():
    """Definition: with both before the point it was the point that came too early, and not the hand in the turn."""
    report = by_the_clock(120.0, 100.0)
    found = [one for one in report.findings if one.part == "final" and one.row != "sink"]
    assert [(one.row, one.error, one.critical) for one in found] == [("decision", 38, True)]


@pytest.mark.parametrize("off_deg", [25.0, -25.0])
def test_beside_the_line_the_dme_tells_the_turning_point(off_deg):
    """Definition: the DME read 3.4 where the turn asks for 3: not too early, however far along the line that is."""
    track = recorded(WYGATE)
    before = judged(track, "wygate")
    at = int(
        np.flatnonzero(before.seen.time_s > next(p.start_s for p in before.parts if p.text.startswith("the climb")))[
            0
        ]
    )
    legs = [(23 + off_deg, 190, 0), (115, 240, 1), (75, 60, 0)]
    more = steered("wygate", float(before.seen.east_nm[at]), float(before.seen.north_nm[at]), legs, kt=95.0)
    alt_ft = np.minimum(track.alt_ft[at] + more.time_s * 11.0, 3540.0)
    kept = np.arange(len(track)) < at
    whole = {"lat_deg": more.lat_deg, "lon_deg": more.lon_deg, "alt_ft": alt_ft}
    ends = {name: np.concatenate([getattr(track, name)[kept], added]) for name, added in whole.items()}
    report = judged(Track(np.concatenate([track.time_s[kept], track.time_s[at] + more.time_s]), **ends), "wygate")
    assert errors(report, "missed_turn") == set()
    assert 74 in errors(report, "missed_track")


@pytest.mark.parametrize(("past_s", "said"), [(420, {84}), (30, set())])
def test_past_the_holding_fix_is_no_leg_too_long(past_s, said):
    """Definition: no lap was begun, so no time of a leg was kept badly."""
    report = judged(recorded(WYGATE, hold=((75, past_s, 0), (255, 60, -1))), "wygate")
    assert {one.error for one in report.findings if one.error in (52, 84)} == said
    assert {one.part for one in report.findings} <= {"hold"}
