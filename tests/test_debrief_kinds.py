"""Kinds of faults that labelled flights showed unseen, unproven or misjudged: one flight made for each."""

import dataclasses

import numpy as np
import pytest
import track_maker as maker
from needlework.basis.errors import BadData
from needlework.debrief import Conditions, approaches, debrief, debrief_passage
from needlework.debrief.events import merged
from needlework.debrief.findings import Finding
from needlework.flying import reference_pilot
from needlework.flying.tracklog import Track
from needlework.world import aircraft, procedure, weather
from test_debrief_approaches import joined
from test_debrief_height import rolled_out
from test_debrief_rows import (
    FINCH,
    RUBRIC,
    circled,
    configured,
    flown,
    holding,
    in_part,
    judged,
    landing,
    laps_through_the_air,
    low_to_the_runway,
    passage,
    recorded,
    steered,
    tarvue,
    the,
    with_columns,
)
from track_maker import WYGATE

EZRICK_ARC_NM, STEP_S = 13.0, 82.0  # ten degrees of the arc at 100 kt


def on_arc(inside_deg, steps=7, after=()):
    """In on radial 018 to the 13 NM arc, then a heading for every ten radials, so far inside the first tangent."""
    start = np.deg2rad(18 - 12)
    legs = [(198, (20.0 - EZRICK_ARC_NM - 0.55) * 36.0, 0)]
    legs += [(108 + 10 * step + inside_deg, STEP_S - 3.0, 0) for step in range(steps)]
    track = steered("ezrick", 20 * np.sin(start), 20 * np.cos(start), [*legs, *after], alt_ft=4740.0)
    return judged(track, "ezrick")


def errors(report, key):
    return {finding.error for finding in report.judgement(key).findings if finding.sure}


@pytest.mark.parametrize(("inside_deg", "error"), [(0.0, 25), (14.0, 27)], ids=["tangent", "too far inside"])
def test_an_arc_met_inbound_is_judged_to_its_end(inside_deg, error):
    """ACS IR.V.A.S6: a mile off the arc; after a turn on to it from outside as from inside."""
    report = on_arc(inside_deg)
    assert errors(report, "arc") == {error}
    assert report.verdict == "not passed"


def on_arc_by(headings, seconds):
    """In on radial 018 to the 13 NM arc of Ezrick in a calm, then headings, each for so long."""
    start = np.deg2rad(18 - 12)
    legs = [(198, (20.0 - EZRICK_ARC_NM - 0.55) * 36.0, 0), *[(heading, seconds, 0) for heading in headings]]
    track = steered("ezrick", 20 * np.sin(start), 20 * np.cos(start), legs, alt_ft=4740.0)
    return judged(track, "ezrick", winds=((0.0, 0.0, 0.0),))


def test_no_wind_is_blamed_in_a_calm():
    """Definition: where the wind was told and is none, the nose alone led inside."""
    report = on_arc_by([108 + 10 * step + 14 for step in range(7)], STEP_S - 3.0)
    (finding,) = report.judgement("arc").findings
    assert finding.cause == "the nose too far inside the tangent"
    assert "wind" not in finding.next_time


@pytest.mark.parametrize(
    ("cuts", "seconds"),
    [((-24, 40, -35, 40, -35, 35), 50), ((-24, 40, -35, 40, -35, 35), 60), ((24, -30, 40, -40, 40), 50)],
)
def test_cuts_through_the_arc_to_both_sides_are_a_chase(cuts, seconds):
    """Common practice, no source: out to one side and beyond what is wanted to the other is no habit of the nose."""
    report = on_arc_by([113 + 10 * step * seconds / 80 + cut for step, cut in enumerate(cuts)], seconds)
    assert errors(report, "arc") == {26}


def test_an_arc_held_is_no_fault():
    """Independent method: half a step inside the tangent keeps the distance."""
    assert on_arc(5.0).judgement("arc").verdict == "met"


def test_an_arc_flown_through_is_never_joined():
    """Common practice, no source: straight on through the arc is no arc joined badly, and is critical."""
    start = np.deg2rad(18 - 12)
    track = steered("ezrick", 20 * np.sin(start), 20 * np.cos(start), [(198, 420, 0)], alt_ft=4740.0)
    report = judged(track, "ezrick")
    (finding,) = report.judgement("arc_join").findings
    assert (finding.error, finding.critical) == (79, True)


def test_an_arc_left_early_on_a_cut():
    """ACS IR.V.A.S6: miles inside the arc for minutes, long before the lead, are not passed, held in time or not."""
    caught = on_arc(5.0, steps=4, after=((148 + 45, 300, 0), (281, 150, 0)))
    assert [found.failed for found in caught.judgement("to_final").findings if found.error == 31] == [True]
    assert 31 in errors(on_arc(5.0, steps=4, after=((220, 420, 0), (281, 100, 0))), "to_final")
    assert on_arc(5.0, steps=4, after=((220, 420, 0), (281, 100, 0))).verdict == "not passed"


def test_the_bank_counts_for_the_turning_altitude():
    """AIM 5-4-21 b: low where the bank was laid on, not where the track had left the line by so much."""
    assert errors(flown(low_turn_missed_ft=130), "missed_turn") == {45}
    assert flown(low_turn_missed_ft=30).judgement("missed_turn").verdict == "met"


@pytest.mark.parametrize("low_ft", [0, 30])
def test_a_heading_that_drifts_before_the_turn_is_no_bank(low_ft):
    """Definition: eleven degrees in eleven seconds are no turn; that begins where the bank is laid on."""
    track = recorded(low_turn_missed_ft=low_ft)
    report = judged(track)
    off = np.mod(report.seen.track_deg - the("saltmarsh").missed.course_deg + 180.0, 360.0) - 180.0
    climb_s = next(part.start_s for part in report.parts if part.text == "the climb straight ahead")
    turn_s = track.time_s[(track.time_s > climb_s) & (np.abs(off) > 8.0)][0]
    side = np.sign(off[track.time_s > turn_s + 3.0][0])
    drift = np.clip((track.time_s - turn_s + 13.0) / 11.0, 0.0, 1.0) * (track.time_s < turn_s + 5.0) * 11.0
    more = np.deg2rad(side * np.maximum(drift - np.abs(off), 0.0))[1:]
    narrow = np.cos(np.deg2rad(track.lat_deg[0]))
    east, north = np.diff(track.lon_deg) * narrow, np.diff(track.lat_deg)
    east, north = east * np.cos(more) + north * np.sin(more), north * np.cos(more) - east * np.sin(more)
    moved = with_columns(
        track,
        lon_deg=track.lon_deg[0] + np.concatenate([[0.0], np.cumsum(east / narrow)]),
        lat_deg=track.lat_deg[0] + np.concatenate([[0.0], np.cumsum(north)]),
    )
    assert judged(moved).judgement("missed_turn").verdict == "met"


def test_a_teardrop_where_direct_is_asked():
    """AIM 5-3-8 j: the sector of the heading at the fix asks for a direct entry; the leg was a teardrop's."""
    wrong = holding(((285, 60, -1), (75, None, -1), (255, 60, -1), (75, None, -1)))
    right = holding(((255, 60, -1), (75, None, -1), (255, 60, -1), (75, None, -1)))
    assert errors(wrong, "hold_entry") == {50}
    assert right.judgement("hold_entry").verdict == "met"


def test_a_turn_from_the_line_to_the_unprotected_side():
    """AIM 5-3-8 j: straight out and round by the hand of the hold leads to the other side; parallel turns back."""
    astray = flown(hold=((165, 120, 0), (345, None, 1)))
    parallel = flown(hold=((165, 60, 0), (345, None, -1)))
    assert [(found.error, found.critical) for found in astray.judgement("hold_entry").findings] == [(50, True)]
    assert parallel.judgement("hold_entry").verdict == "met"


def test_a_radial_flown_through_by_half_scale_is_said_and_passed():
    """IPH4: half scale is established; ACS IR.VI.C.S7: three quarters is the tolerance."""
    report = flown(through_missed_nm=0.75)
    (finding,) = report.judgement("missed_track").findings
    assert finding.error == 80
    assert 5.0 < finding.worst < 7.5
    assert not finding.critical
    assert report.verdict == "passed"


def test_a_climb_by_the_clock_begun_early():
    """Common practice, no source: without DME the clock tells the point; half a mile early is said, not failed."""
    way, craft = procedure.load("tarvue"), aircraft.load("Finch")
    day = weather.Day("Calm", "none", weather.parse("000/00"), 15.0, 1013.25)
    track = reference_pilot.fly(way, craft, [day]).one(0).track()
    clean = debrief(track, way, craft, rubric=RUBRIC)
    assert clean.judgement("decision").verdict == "met"
    climb_s = next(part.start_s for part in clean.parts if part.text == "the climb straight ahead")
    early = np.interp(track.time_s + 40.0, track.time_s, track.alt_ft)
    alt_ft = np.where(track.time_s > climb_s - 60.0, np.minimum(track.alt_ft + 3000.0, early), track.alt_ft)
    report = debrief(with_columns(track, alt_ft=alt_ft), way, craft, rubric=RUBRIC)
    assert errors(report, "decision") == {38}
    assert not any(finding.critical for finding in report.judgement("decision").findings)


def test_an_outbound_time_that_no_wind_asks_for():
    """Common practice, no source: with the wind unknown the clock alone, a third either way."""
    assert errors(tarvue(outbound_s=190), "turn_time") == {77}
    assert tarvue(outbound_s=120).judgement("turn_time").verdict != "missed"


def test_an_altitude_taken_up_again_was_not_the_next_floor():
    """Definition: who climbs back to the altitude of the leg had lost it, and had not taken the next one."""
    report = in_part("OVK to GELPO", -240.0, first_s=60.0, last_s=100.0)
    assert errors(report, "floor") == {64}
    assert any(finding.critical for finding in report.findings)


@pytest.mark.parametrize(("below_ft", "verdict"), [(20.0, "met"), (40.0, "met"), (60.0, "missed")])
def test_about_the_altitude_before_the_final_is_nothing(below_ft, verdict):
    """14 CFR 43 appendix E table I: at 3,000 to 6,000 ft an altimeter may be 30 to 40 ft wrong; 50 counts."""
    clean_ft = 35.0  # above the floor
    report = in_part("OVK to GELPO", -below_ft - clean_ft, first_s=60.0, last_s=90.0)
    assert report.judgement("floor").verdict == verdict
    assert not any(finding.critical for finding in report.findings)


def test_far_too_slow_on_the_final_is_critical():
    """ACS IR.VI.A.S12 has 10 kt; 15 below the slowest speed of the final is near the stall."""
    slow = [found.critical for found in configured(2, 60.0).judgement("speed_final").findings]
    fast = [found.critical for found in configured(2, 110.0).judgement("speed_final").findings]
    assert slow == [True]
    assert fast == [False]


@pytest.mark.parametrize(("straight_s", "failed"), [(225, False), (270, True)])
def test_straight_on_past_the_station(straight_s, failed):
    """ACS names no time: half a minute is prompt, as long again without a turn was not put right."""
    findings = passage((130, straight_s, 0), (190, 120, 0)).judgement("outbound").findings
    assert [(found.error, found.failed) for found in findings] == [(12, failed)]


def test_a_parallel_line_accepted_on_the_final_costs_points():
    """ACS IR.VI.A.S12: within three quarters it is passed; beyond half of that all along it is said."""
    report = flown(WYGATE, radial_off_deg=4.6)
    assert errors(report, "needle_final") == {63}
    assert report.verdict == "passed"


def test_a_shallow_climb_is_no_sinking():
    """Definition: an altitude that was never reached was not lost."""
    report = judged(recorded(WYGATE, weak_climb_fpm=200, hold=((255, 60, -1), (75, None, -1))), "wygate")
    assert {finding.error for finding in report.findings if finding.row in ("gradient", "after_missed_floor")} == {71}


@pytest.mark.parametrize(("chase_deg", "verdict"), [(15, "passed"), (18, "not passed"), (35, "not passed")])
def test_chasing_with_large_cuts_is_not_passed(chase_deg, verdict):
    """P-340 p. 6-21: ten degrees near the station; more costs points, twice as much is no tracking."""
    report = flown(chase_deg=chase_deg)
    assert errors(report, "cone") == {11}
    assert report.verdict == verdict


def test_a_take_off_is_no_approach_and_no_leg():
    """Definition: what climbs away from the runway has not come down to it, though it crosses the same ground."""
    up_s = np.arange(0.0, 140.0)
    east, north = np.sin(np.deg2rad(214 - 13)), np.cos(np.deg2rad(214 - 13))
    out_nm = 5.2 + up_s * 90 / 3600
    lat = 36.90 + out_nm * north / 60
    lon = -45.20 + out_nm * east / 60 / np.cos(np.deg2rad(36.9))
    alone = recorded()
    track, _, _ = joined(Track(up_s, lat, lon, 60 + up_s * 12), alone)
    assert len(approaches(track, the("saltmarsh"))) == 1
    report = judged(track)
    assert report.outcome == "missed"
    assert not report.findings
    assert report.verdict == judged(alone).verdict


def test_snaking_within_the_tolerance_is_not_passed():
    """ACS IR.VI.A.S9: heading within 10 degrees; cuts of thirty from side to side are no tracking."""
    legs = [(310, 40, 0), *[(310 + side * 30, 22, 0) for side in (1, -1) * 4], (310, 60, 0)]
    report = judged(steered("saltmarsh", 0.0, 0.2, legs, alt_ft=3640.0))
    (finding,) = [found for found in report.judgement("needle_before_final").findings if found.error == 19]
    assert finding.failed
    assert not finding.critical


def test_a_wind_that_was_told_is_used():
    """Definition: without heading and airspeed the told wind says where the nose was, by height."""
    track = recorded(wind_from_deg=300.0, wind_kt=20.0)
    told = judged(track, winds=((0.0, 300.0, 10.0), (3000.0, 300.0, 20.0)))
    assert "as it was told" in told.wind.text
    assert told.wind.kt == pytest.approx(20.0, abs=3.0)  # knots, between the heights flown


def test_the_wind_is_told_by_turns():
    """Independent method: at one airspeed ground velocities lie on a circle about the wind, whatever the legs."""
    report = judged(recorded(wind_from_deg=300.0, wind_kt=20.0))
    assert report.wind.unsure_kt < 6.0
    assert report.wind.kt == pytest.approx(20.0, abs=2 * report.wind.unsure_kt)


@pytest.mark.parametrize(("kt", "said"), [(80.0, []), (95.0, []), (101.0, [(32, True)]), (66.0, [(67, True)])])
@pytest.mark.parametrize("winds", [((0.0, 0.0, 0.0),), ()], ids=["wind told", "wind worked out"])
def test_a_speed_worked_out_fails_where_it_was_kept(kt, said, winds):
    """ACS IR.VI.A.S12: 10 kt; kept for a minute beyond them and beyond what the wind may be off, it was flown."""
    report = judged(recorded(kt=kt), craft=FINCH, winds=winds)
    assert [(one.error, one.failed) for one in report.findings if one.row == "speed_final"] == said
    assert ("below the threshold speed" in "".join(one.what for one in report.findings)) == (kt < FINCH.threshold_kt)
    if not said:
        assert report.judgement("speed_final").verdict == "met"


def test_a_slow_final_is_one_finding():
    """Definition: one speed, kept from the leg before the final on, is one event."""
    slow = [one for one in judged(recorded(kt=64.0), craft=FINCH, winds=((0.0, 0.0, 0.0),)).findings]
    assert len([one for one in slow if one.row.startswith("speed") and one.part in ("intermediate", "final")]) == 1


@pytest.mark.parametrize("wind_kt", [0.0, 25.0])
def test_the_gate_praises_what_is_known(wind_kt):
    """Definition: nobody praises a speed or a configuration that the recording does not hold."""
    unknown = judged(recorded(wind_from_deg=300.0, wind_kt=wind_kt)).judgement("gate")
    assert unknown.verdict == "met"
    assert unknown.fact.endswith("line, rate of descent (not known: speed, configuration).")
    assert "not known" not in configured(2, 80.0, kt=80.0).judgement("gate").fact


def test_no_praise_for_what_was_not_flown():
    """Definition: left before the arc, nothing of the arc, the final or the minimums was done well."""
    track = recorded()
    arc = next(part for part in judged(track).parts if "arc" in part.text)
    report = judged(track.part(track.time_s < arc.start_s + 40.0))
    assert report.verdict == "not complete"
    for key in ("way_round", "arc", "to_final", "needle_final", "full_scale", "gate", "sink", "mda", "decision"):
        assert report.judgement(key).verdict == "not judged", key


def test_a_sink_in_the_missed_approach_is_no_altitude_kept():
    """Definition: who sank hundreds of feet below the altitude did not keep within them of it."""
    report = in_part("radial 165", -400.0, first_s=40.0, last_s=100.0)
    assert report.judgement("after_missed_floor").verdict == "missed"
    assert report.judgement("after_missed_level").verdict != "met"


@pytest.mark.parametrize("away", [
    ((340, 40, -1), (300, 200, 0)), ((18, 300, -1),), ((168, 20, 1), (18, 300, 1)),
], ids=["back", "outwards", "right round"])  # fmt: skip
def test_an_arc_left_for_elsewhere_is_not_complete(away):
    """Definition: turned away from an arc that was held, and straight on: broken off, and no arc flown badly."""
    report = on_arc(5.0, steps=3, after=away)
    assert report.verdict == "not complete"
    assert not [one for one in report.findings if one.row in ("way_round", "arc", "arc_join", "to_final")]


@pytest.mark.parametrize(("up_ft", "left"), [(900.0, True), (300.0, False), (0.0, False)])
def test_who_climbs_away_on_the_arc_has_left_it(up_ft, left):
    """Definition: far above all that was held, and to the end of the recording, nobody flies the arc."""
    track = recorded()
    begun_s = next(part.start_s for part in judged(track).parts if "arc" in part.text)
    flown = track.part(track.time_s < begun_s + 240.0)
    climb_ft = np.clip((flown.time_s - begun_s - 30.0) * 800.0 / 60.0, 0.0, up_ft)
    report = judged(dataclasses.replace(flown, alt_ft=flown.alt_ft + climb_ft))
    away_s = next((part.start_s for part in report.parts if part.text == "after the procedure"), np.inf)
    assert (away_s < begun_s + 60.0) == left
    assert (report.verdict == "not complete" and not report.findings) or not left


def test_the_wrong_way_from_the_leg_on_is_no_way_elsewhere():
    """Definition: an arc that was never held the right way was not broken off."""
    start = np.deg2rad(18 - 12)
    legs = [(198, (20.0 - EZRICK_ARC_NM - 0.55) * 36.0, 0), *[(288 - 10 * step, 79, 0) for step in range(4)]]
    track = steered("ezrick", 20 * np.sin(start), 20 * np.cos(start), legs, alt_ft=4740.0)
    assert errors(judged(track, "ezrick"), "way_round") == {21}


@pytest.mark.parametrize(("up_ft", "last_s", "said"), [
    (190.0, 1e9, True), (80.0, 1e9, False), (190.0, 150.0, True), (800.0, 1e9, False),
])  # fmt: skip
def test_another_altitude_taken_on_a_leg(up_ft, last_s, said):
    """ACS IR.VI.A.S9: 100 ft; a climb from the altitude held to another one is no altitude kept, wherever it ends."""
    report = in_part("OVK to GELPO", up_ft, first_s=120.0, last_s=last_s)
    assert (64 in errors(report, "level")) == said


@pytest.mark.parametrize("back_deg", [352, 7, 22, 37, 52])
def test_a_way_back_far_across_the_line_is_no_other_side(back_deg):
    """Definition: the side of a procedure turn is the one its leg leads to, whatever the turn back leads through."""
    report = around((217, 60, -1), (back_deg, 60, 1), (82, 120, 1))
    assert report.judgement("turn_side").verdict == "met"
    assert {30, 31, 92} & {one.error for one in report.findings}


@pytest.mark.parametrize(("noise_m", "praised"), [(0.0, True), (40.0, False)])
def test_no_bank_is_praised_that_no_position_shows(noise_m, praised):
    """Definition: positions that jump by tens of metres a second show no bank."""
    track = maker.record(maker.SALTMARSH, maker.make(maker.SALTMARSH), noise_m=noise_m)
    assert (judged(track).judgement("bank").verdict == "met") == praised


@pytest.mark.parametrize(
    ("swing_ft", "period_s", "said"), [(150.0, 70.0, True), (140.0, 120.0, True), (40.0, 70.0, False)]
)
def test_an_altitude_that_is_never_held(swing_ft, period_s, said):
    """ACS IR.VI.A.S9: 100 ft; up and down through more, again and again, is said as one thing."""
    track = recorded()
    parts = {part.segment: part for part in judged(track).parts if part.segment in ("initial", "intermediate")}
    until_s = parts["initial"].end_s
    swing = (
        swing_ft * np.sin(track.time_s * 2.0 * np.pi / period_s) * ((track.time_s > 200.0) & (track.time_s < until_s))
    )
    found = judged(with_columns(track, alt_ft=track.alt_ft + 120.0 + swing)).judgement("level").findings
    assert [("up and down" in one.what, one.error, one.failed) for one in found] == [(True, 64, True)] * said


@pytest.mark.parametrize(("high_ft", "said"), [(250.0, []), (1000.0, [100])])
def test_the_final_fix_passed_far_above_its_altitude(high_ft, said):
    """TERPS 8260.3: no final is steeper than 400 ft/NM; from far above its fix more leads down to the minimums."""
    track = recorded()
    fix_s = next(part.start_s for part in judged(track).parts if part.segment == "final")
    held_ft = np.interp(fix_s, track.time_s, track.alt_ft) + high_ft
    late = np.where(track.time_s < fix_s, held_ft, held_ft - (track.time_s - fix_s) * 1000.0 / 60.0)
    report = judged(
        with_columns(
            track, alt_ft=np.where(track.time_s < fix_s - 200.0, track.alt_ft, np.maximum(track.alt_ft, late))
        )
    )
    assert [one.error for one in report.findings if one.row == "fix_high"] == said
    assert not any(one.failed for one in report.findings if one.row == "fix_high")


@pytest.mark.parametrize(
    ("plan", "leg"), [(maker.SALTMARSH, "the arc R345"), (WYGATE, "WYG to NULBO"), (maker.EZRICK, "the arc")]
)
def test_low_from_the_beginning_of_a_leg_is_another_altitude(plan, leg):
    """Definition: an altitude begun wrong and held is one misread; nothing was left too soon."""
    track = recorded(plan)
    part = next(part for part in judged(track, plan.name).parts if part.text.startswith(leg))
    low = -250.0 * np.clip((track.time_s - part.start_s) / 20.0, 0.0, 1.0) * (track.time_s < part.end_s)
    report = judged(with_columns(track, alt_ft=track.alt_ft + low), plan.name)
    assert errors(report, "floor") == {94}
    assert not report.judgement("established_first").findings


@pytest.mark.parametrize("legs", [((284, 150, 0), (278, 150, 0)), ((285, 170, 0), (277, 120, 0))])
@pytest.mark.parametrize("across_nm", [-0.7, -0.5])
def test_a_line_crossed_is_no_line_held(legs, across_nm):
    """Definition: met for a moment on the way to the other side, and tracked beside there: another radial."""
    out, right = np.deg2rad(268 - 13), np.deg2rad(268 - 13 + 90)
    east, north = (0.5 * trig(out) + across_nm * trig(right) for trig in (np.sin, np.cos))
    arc = [(173 - 10 * step, 72, 0) for step in range(4)]
    report = judged(steered("wygate", east, north, (*legs, (255, 40, 0), *arc), alt_ft=3440.0), "wygate")
    assert errors(report, "needle_before_final") == {63}


def test_straight_on_through_the_arc_and_back_is_never_joined():
    """Common practice, no source: three miles past the arc when the turn is done is no turn made badly."""
    start = np.deg2rad(18 - 12)
    legs = [(198, 370, 0), (80, 150, 0), *[(138 + 10 * step, 80, 0) for step in range(5)], (281, 150, 0)]
    track = steered("ezrick", 20 * np.sin(start), 20 * np.cos(start), legs, alt_ft=4740.0)
    assert 79 in errors(judged(track, "ezrick"), "arc_join")


# --- flown elsewhere, and not where it was meant ------------------------------------------------


def ring(arc_nm, steps=9):
    """In on radial 018 of EZJ and round on another arc, a heading for every ten radials."""
    start = np.deg2rad(18 - 12)
    legs = [(198, (20.0 - arc_nm - 0.55) * 36.0, 0)]
    legs += [(113 + 10 * step, STEP_S * arc_nm / EZRICK_ARC_NM - 3.0, 0) for step in range(steps)]
    return judged(steered("ezrick", 20 * np.sin(start), 20 * np.cos(start), legs, alt_ft=4740.0), "ezrick")


@pytest.mark.parametrize(("arc_nm", "critical"), [(10.5, True), (11.3, False), (14.4, False), (15.0, True)])
def test_another_arc_that_was_held_is_no_arc_never_joined(arc_nm, critical):
    """ACS IR.V.A.S6: a mile off the arc; 8260-3: four are protected, and two miles off is half way to their end."""
    report = ring(arc_nm)
    found = [(found.error, found.failed, found.critical) for found in report.judgement("arc").findings]
    assert found == [(78, True, critical)]
    assert 79 not in {finding.error for finding in report.findings}


@pytest.mark.parametrize(("arc_nm", "row", "error"), [(15.0, "arc", 78), (16.5, "arc_join", 79)])
def test_round_miles_beyond_an_arc_that_was_flown_through(arc_nm, row, error):
    """Common practice, no source: flown through by miles, an arc was never joined; by two, its number was misread."""
    start = np.deg2rad(18 - 12)
    legs = [(18, (arc_nm - 2.0 - 0.55) * 36.0, 0)]
    legs += [(113 + 10 * step, STEP_S * arc_nm / EZRICK_ARC_NM - 3.0, 0) for step in range(8)]
    track = steered("ezrick", 2 * np.sin(start), 2 * np.cos(start), legs, alt_ft=4740.0)
    (found,) = [one for one in judged(track, "ezrick").findings if one.row.startswith("arc")]
    assert (found.row, found.error, found.critical) == (row, error, True)
    assert f"{arc_nm:.0f}" in found.what or f"{arc_nm:.1f}" in found.what


def test_an_arc_that_was_joined_and_left_inwards_was_joined():
    """Definition: slid inwards all round; the heading that then leads in, past the station, is no part of an arc."""
    report = on_arc(14.0, steps=8, after=((280, 380, 1),))
    assert 79 not in errors(report, "arc_join")
    assert errors(report, "arc") == {27}


def test_straight_across_inside_the_arc():
    """Common practice, no source: turned off the radial miles before the arc and straight to the final line."""
    start = np.deg2rad(88 - 13)
    legs = ((268, 420, 0), (143, 190, -1), (23, 200, -1))
    report = judged(steered("wygate", 3 * np.sin(start), 3 * np.cos(start), legs, alt_ft=3440.0), "wygate")
    assert errors(report, "arc_join") == {79}


def test_a_radial_flown_far_off_has_begun_the_procedure():
    """Independent method: fifteen degrees beside the radial from ARDEM, four miles and more, is that leg."""
    start = np.deg2rad(283 - 13)
    legs = ((103, 440, 0), (190, 160, 1), (168, 120, 0), (148, 120, 0), (128, 60, 0), (23, 200, -1))
    track = steered("wygate", 23.5 * np.sin(start), 23.5 * np.cos(start), legs, alt_ft=3440.0, kt=95.0)
    report = judged(track, "wygate")
    assert report.entry == "ARDEM"
    assert 63 in errors(report, "needle_before_final")


def test_a_passage_from_the_other_end():
    """Definition: in on the outbound course reversed, out on the inbound one reversed."""
    start = np.deg2rad(190 - 13)
    track = steered("saltmarsh", 5 * np.sin(start), 5 * np.cos(start), ((10, 190, 0), (310, 150, 0)), alt_ft=3600.0)
    report = debrief_passage(track, the("saltmarsh"), None, 130.0, 190.0, rubric=RUBRIC)
    assert [finding.row for finding in report.findings] == ["reversed"]
    assert passage((130, 190, 0), (190, 150, 0)).judgement("reversed").verdict == "met"


def test_a_needle_followed_overhead_is_no_turn_begun_early():
    """P-340 p. 6-21: towards the new course before the station and back again is the needle followed."""
    chased = passage((130, 156, 0), (165, 8, 0), (130, 20, 0), (190, 120, 0))
    early = passage((130, 150, 0), (190, 160, 0))
    assert errors(chased, "cone") == {11}
    assert errors(early, "cone") == {13}


def test_a_line_left_from_its_centre_is_no_needle_taken_the_wrong_way():
    """Common practice, no source: outbound on the radial, off it to past full scale, and back; then on to the arc."""
    start = np.deg2rad(88 + procedure.load("wygate").station.declination_deg)
    legs = [(268, 264, 0), (298, 80, 0), (238, 100, 0), (268, 80, 0), (178, 300, 0)]
    track = steered("wygate", 4 * np.sin(start), 4 * np.cos(start), legs, alt_ft=3440.0)
    (found,) = judged(track, "wygate").judgement("needle_before_final").findings
    assert found.error == 7
    assert "led off the line" in found.cause


def test_another_radial_is_no_wrong_heading():
    """Definition: eleven degrees beside the radial all the way out is another radial; taken back, a wrong heading."""
    all_the_way = passage((130, 182, 0), (201, 400, 0))
    taken_back = passage((130, 182, 0), (215, 80, 0), (150, 70, 0), (190, 60, 0))
    assert errors(all_the_way, "needle_before_final") == {63}
    assert errors(taken_back, "outbound") == {81}


def test_a_waver_before_the_climb_is_no_climb():
    """AIM 5-4-21 b: thirty feet up and level again past the point is still level: the climb is what follows."""
    track = recorded(wait_past_map_nm=0.9)
    before = judged(track)
    climb_s = float(before.seen.time_s[int(np.argmax(before.seen.alt_ft[600:] > 700.0)) + 600]) - 15.0
    waver = (track.time_s > climb_s - 30.0) & (track.time_s < climb_s)
    rising = np.interp(track.time_s, [climb_s - 38.0, climb_s - 30.0, climb_s, climb_s + 6.0], [0.0, 30.0, 30.0, 0.0])
    report = judged(with_columns(track, alt_ft=track.alt_ft + rising))
    assert waver.any()
    (plain,), (found,) = before.judgement("decision").findings, report.judgement("decision").findings
    assert found.critical
    assert found.worst == pytest.approx(plain.worst, abs=0.2)  # NM


def test_a_step_taken_early_and_levelled():
    """Definition: gone down on purpose and not come back before the fix, the next altitude was taken too soon."""
    track = recorded()
    leg = next(part for part in judged(track).parts if part.text.startswith("KESTU to OVK"))
    fall = np.interp(
        track.time_s, [leg.end_s - 80.0, leg.end_s - 45.0, leg.end_s, leg.end_s + 1.0], [0, -290, -290, 0]
    )
    report = judged(with_columns(track, alt_ft=track.alt_ft + fall))
    assert errors(report, "floor") == {33}


def test_an_altitude_held_and_left_in_the_hold_was_not_flown_through():
    """Definition: who had it for half a minute lost it again: error 64; who never had it flew through: 58."""
    late = in_part("radial 165", 300.0, first_s=120.0, last_s=180.0)
    assert errors(late, "after_missed_level") == {64}
    assert errors(in_part("radial 165", 300.0), "after_missed_level") == {58}


def test_a_shallow_climb_begun_at_its_point_is_no_late_decision():
    """AIM 5-4-21 b: 150 ft a minute is a climb, if a poor one, from where it begins."""
    report = flown(weak_climb_fpm=150)
    assert not errors(report, "decision")
    assert errors(report, "gradient")


def test_a_recording_that_begins_low_on_the_final_sees_the_missed_approach():
    """Definition: begun at the minimums, half a minute before the climb: what follows is a missed approach."""
    track = recorded()
    climb_s = next(part.start_s for part in judged(track).parts if part.text == "the climb straight ahead")
    report = judged(track.part(track.time_s > climb_s - 30.0))
    assert report.outcome == "missed"
    assert not report.findings
    assert report.verdict == "not complete"


def test_a_timed_leg_whose_beginning_is_missing_is_not_judged():
    """Definition: without the moment over the station nobody knows how long the leg outbound was."""
    track = tarvue(outbound_s=120).track
    turn_s = next(part.start_s for part in judged(track, "tarvue").parts if part.text == "the procedure turn")
    report = judged(track.part(track.time_s > turn_s - 20.0), "tarvue")
    assert report.judgement("turn_time").verdict == "not judged"


def saltmarsh_from(radial_deg, dist_nm, *legs, alt_ft=3640.0):
    start = np.deg2rad(radial_deg - 13)
    return judged(steered("saltmarsh", dist_nm * np.sin(start), dist_nm * np.cos(start), legs, alt_ft=alt_ft))


def test_away_on_the_other_end_of_the_course():
    """Definition: over the station, minutes on the reciprocal, back and out on the course: it had begun."""
    arc = [(45 + 10 * step, 58, 0) for step in range(7)]
    report = saltmarsh_from(14, 4.0, (194, 140, 0), (130, 150, 0), (310, 200, 0), (310, 330, 0), *arc)
    (finding,) = [found for found in report.judgement("outbound").findings if found.error == 9]
    assert finding.critical
    on_course = saltmarsh_from(14, 4.0, (194, 140, 0), (310, 330, 0), *arc)
    assert 9 not in errors(on_course, "outbound")


def test_a_station_that_was_never_overflown():
    """P-340 p. 6-21: the turn outbound waits for FROM; begun more than a mile before it passes the station by."""
    report = saltmarsh_from(130, 6.0, (310, 60, 0), (250, 20, 0), (310, 330, 0))
    assert 13 not in errors(report, "cone")  # no new course there: nothing was turned to
    early = saltmarsh_from(14, 6.0, (194, 155, 0), (300, 60, 0), (310, 300, 0))
    (finding,) = [found for found in early.judgement("cone").findings if found.error == 13]
    assert finding.failed


def test_a_setting_that_is_known_leaves_the_pilot_low():
    """ICAO standard atmosphere: 10 hPa are 270 ft; by the day's setting it is not the recorder."""
    track = recorded()
    pressed = with_columns(track, alt_ft=track.alt_ft - 270.0, height_kind="pressure")
    told = judged(pressed, setting_hpa=1013.25)
    assert [(found.error, found.critical) for found in told.findings] == [(68, True)]
    assert judged(pressed).findings == ()  # nobody knows: an offset


def test_a_climb_made_up_for_later_was_too_shallow():
    """AIM 5-2-9: nothing stands above 152 ft/NM where 200 are flown; what comes later clears nothing."""
    track = recorded()
    part = next(part for part in judged(track).parts if part.text == "the climb straight ahead")
    since = np.clip(track.time_s - part.start_s, 0.0, None)
    shallow = np.minimum(np.where(since > 0.0, 620.0 + 100.0 * since * 95.0 / 3600.0, np.inf), track.alt_ft)
    late = np.where(since > 270.0, np.minimum(track.alt_ft, 1330.0 + (since - 270.0) * 30.0), shallow)
    assert errors(judged(with_columns(track, alt_ft=late)), "gradient") == {71}


def test_on_the_way_down_and_never_there():
    """ACS IR.VI.A.S12: too shallow a descent is still high at the missed approach point: points."""
    report = flown(below_mda_ft=-250.0, down_fpm=380.0)
    assert errors(report, "mda_high") <= {37, 59}
    assert not any(found.failed for found in report.judgement("mda_high").findings)


def test_a_cold_that_nobody_told_was_added():
    """AIM 7-3: altitudes higher in proportion, all of them, are cold corrections: no level-off was missed."""
    field_ft = the("ezrick").airport.elevation_ft
    track = recorded(maker.EZRICK)
    colder = field_ft + (track.alt_ft - field_ft) * 1.16
    report = judged(with_columns(track, alt_ft=np.where(track.alt_ft > field_ft, colder, track.alt_ft)), "ezrick")
    assert errors(report, "after_missed_level") == set()
    assert errors(report, "mda_high") == set()


def test_a_turn_begun_before_the_station_after_a_pause_of_the_recording():
    """P-340 p. 6-21: begun a mile and more before the station, which was never overflown; a pause hides nothing."""
    track = saltmarsh_from(14, 6.0, (194, 155, 0), (300, 60, 0), (310, 300, 0)).track
    paused = judged(track.part((track.time_s < 115.0) | (track.time_s > 140.0)))
    assert errors(paused, "cone") == {13}


def test_parallel_inside_the_final_line():
    """IPH4: the turn is finished as the needle comes in; finished before it, half a minute beside the line."""
    beside = on_arc(5.0, steps=8, after=((281, 60, 0), (326, 60, 0), (281, 150, 0)))
    assert 31 in errors(beside, "to_final")


def test_another_distance_held_from_a_first_cut_inwards_on():
    """ACS IR.V.A.S6: 1 NM; a cut inwards far from the end of the arc is not the end of it."""
    start = np.deg2rad(18 - 12)
    legs = [(198, 232, 0), (149, 70, 0), *[(121 + 10 * step, 70, 0) for step in range(7)]]
    report = judged(steered("ezrick", 20 * np.sin(start), 20 * np.cos(start), legs, alt_ft=4740.0), "ezrick")
    assert errors(report, "arc") == {78}
    assert report.verdict == "not passed"


def test_cold_that_nobody_added_in_the_hold_is_no_shallow_climb():
    """AIM 7-3: the published altitude of the missed approach flown in the cold is the same omission again."""
    report = judged(recorded(maker.EZRICK), "ezrick", temperature_c=-26.0)
    assert 71 not in {found.error for found in report.findings}
    assert errors(report, "after_missed_floor") <= {6}


@pytest.mark.parametrize(("length_s", "verdict"), [(10.0, "met"), (40.0, "missed")])
def test_a_little_above_the_missed_approach_altitude_for_seconds(length_s, verdict):
    """ACS IR.VI.C.S7: 100 ft; 130 ft put right within seconds is what promptly means."""
    report = in_part("radial 165", 130.0, first_s=120.0, last_s=120.0 + length_s)
    assert report.judgement("after_missed_level").verdict == verdict


def test_threshold_speed_is_for_the_way_down():
    """ACS IR.VI.A.S12: 10 kt; before the minimums are left the speed of the final is the one to keep."""
    slow = judged(recorded(end="landing", kt=64.0), craft=FINCH, winds=((0.0, 0.0, 0.0),))
    assert errors(slow, "speed_final") == {67}
    kept = judged(recorded(end="landing", kt=84.0), craft=FINCH, winds=((0.0, 0.0, 0.0),))
    assert errors(kept, "speed_final") == set()


def test_high_to_the_way_down_before_a_landing():
    """ACS IR.VI.A.S12: level 250 ft above the MDA until the runway lies ahead costs points and fails nobody."""
    report = flown(end="landing", below_mda_ft=-250.0)
    assert errors(report, "mda_high") == {59}
    assert not any(found.failed for found in report.judgement("mda_high").findings)


@pytest.mark.parametrize("plan", [maker.SALTMARSH, maker.WYGATE, maker.EZRICK])
@pytest.mark.parametrize("end", ["missed", "landing"])
def test_a_dive_through_a_thousand_feet_is_told(plan, end):
    """IPH4: 1,000 fpm below 1,000 ft; begun above it is no excuse, and a moment kills nobody."""
    track, way = recorded(plan, end=end), the(plan.name)
    begun_s = next(part.start_s for part in judged(track, plan.name).parts if part.segment == "final")
    low = (track.alt_ft < way.airport.elevation_ft + 1000.0) & (track.time_s > begun_s)
    more_ft = np.interp(track.time_s - track.time_s[np.argmax(low)], [-120, -9, -1, 120], [0, 75, -75, 0])
    report = judged(with_columns(track, alt_ft=track.alt_ft + more_ft), plan.name, in_sight=end == "landing")
    assert [one.critical for one in report.judgement("sink").findings] == [False]


@pytest.mark.parametrize(
    ("row", "error", "off_nm", "later_s", "rows"),
    [
        ("arc", 22, 5.9, 150.0, ["arc"]),
        ("to_final", 9, 3.9, 60.0, ["to_final"]),
        ("arc", 22, 1.4, 150.0, ["arc", "floor"]),
        ("arc", 22, 5.9, 400.0, ["arc", "floor"]),
    ],
)
def test_a_floor_lost_on_the_way_back_from_miles_off_is_no_event_of_its_own(row, error, off_nm, later_s, rows):
    """Common practice, no source: where nothing is drawn no floor is kept; critical it stays, under its cause."""
    words = {"segment": "the arc", "where": "", "what": "off.", "cause": "", "next_time": "", "part": "initial"}
    led = Finding(row=row, error=error, start_s=0.0, length_s=400.0, worst=off_nm, unit="NM", **words)
    low = Finding(row="floor", error=65, start_s=400.0 + later_s, length_s=15.0, worst=120.0, unit="ft", **words)
    found = merged([led, dataclasses.replace(low, critical=True)])
    assert [one.row for one in found] == rows
    assert any(one.critical for one in found)


def test_two_great_swings_through_the_radial_are_snaking():
    """ACS IR.VI.A.S9: out by three quarters on both sides, with cuts of forty."""
    start = np.deg2rad(268 - 13)
    legs = [(134, 155, 0), (54, 335, 0), (134, 120, 0), (88, 30, 0)]
    report = judged(steered("wygate", 24 * np.sin(start), 24 * np.cos(start), legs, alt_ft=3440.0), "wygate")
    assert errors(report, "needle_before_final") & {15, 19}
    assert report.verdict == "not passed"


def test_what_the_recording_cannot_tell_is_one_note():
    """Definition: inside the uncertainty there is no finding; one sentence on the recording says so."""
    track = _shifted_in_steps()
    report = judged(track)
    assert report.judgement("mda").verdict == "cannot tell"
    assert all(found.sure for found in report.findings)
    assert len([note for note in report.notes if "neither kept nor broken can be told" in note]) == 1


def _shifted_in_steps():
    track = recorded()
    return with_columns(track, alt_ft=np.round(np.where(track.alt_ft < 640.0, 600.0, track.alt_ft) / 100.0) * 100.0)


def test_points_that_an_arc_costs_are_said():
    """Definition: between the goal of 0.3 NM and the limit a part of the points, and a sentence with it."""
    report = on_arc(5.3)
    assert report.judgement("arc").credit < 1.0
    part = [each for each in report.judgements if each.verdict == "met" and each.credit < 0.995]
    assert len([note for note in report.notes if "of its points" in note]) == len(part) > 0


def around(*legs):
    """Over TVU, three minutes and a half outbound, and what follows: tracks, seconds and side of each turn."""
    start = np.deg2rad(82 - 13)
    track = steered("tarvue", 4 * np.sin(start), 4 * np.cos(start), [(262, 340, 0), *legs], alt_ft=2040.0)
    return judged(track, "tarvue")


@pytest.mark.parametrize(("side", "critical"), [(1, True), (-1, False)], ids=["unprotected side", "its side"])
def test_turned_round_without_a_procedure_turn(side, critical):
    """AIM 5-4-9: depicted, the manoeuvre is required; the kind is the pilot's, and one turn round is none of them."""
    (found,) = around((82 + 30 * side, 40, side), (82, 120, -side)).judgement("turn_side").findings
    assert (found.error, found.critical, found.failed) == (83, critical, True)


def test_a_procedure_turn_flown_through_the_line_was_on_its_side():
    """Common practice, no source: the side is the one it first goes to; a mile through the line inbound is late."""
    report = around((217, 60, -1), (37, 100, 1), (112, 60, 1), (82, 60, -1))
    assert report.judgement("turn_side").verdict == "met"
    assert [(found.error, found.failed) for found in report.judgement("to_final").findings] == [(30, True)]


def test_a_descent_in_one_line_ends_in_the_climb():
    """AC 120-108: on a descent in one line the climb begins at the minimums, wherever they come; no clock was off."""
    way, craft = procedure.load("tarvue"), aircraft.load("Finch")
    day = weather.Day("Calm", "none", weather.parse("000/00"), 15.0, 1013.25)
    track = reference_pilot.fly(way, craft, [day]).one(0).track()
    climb_s = next(
        part.start_s for part in debrief(track, way, craft, rubric=RUBRIC).parts if part.segment == "missed"
    )
    lowest_ft = track.alt_ft[(track.time_s > climb_s - 90) & (track.time_s < climb_s)].min()
    away_s = track.time_s - (climb_s - 60.0)
    line_ft = lowest_ft + 10.0 * np.abs(away_s)
    alt_ft = np.where((away_s > -180.0) & (away_s < 180.0), np.maximum(line_ft, track.alt_ft), track.alt_ft)
    report = debrief(with_columns(track, alt_ft=alt_ft), way, craft, rubric=RUBRIC)
    assert report.judgement("decision").verdict == "met"


def test_a_hold_entered_long_after_its_fix():
    """AIM 5-3-8: a direct entry turns at the fix; two and a half miles on are not passed, half a mile is nothing."""
    (found,) = holding(((75, 90, 0), (255, 60, -1), (75, None, -1))).judgement("hold_entry").findings
    assert (found.error, found.failed) == (84, True)
    assert holding(((75, 15, 0), (255, 60, -1), (75, None, -1))).judgement("hold_entry").verdict == "met"


@pytest.mark.parametrize(
    ("plan", "laps", "side"),
    [
        (WYGATE, ((255, 60, -1), (75, 60, -1)) * 3, "before"),
        (maker.SALTMARSH, ((165, 60, 1), (345, 60, 1)) * 3, "past"),
    ],
    ids=["before it", "past it"],
)
def test_laps_short_of_a_fix_that_is_never_reached(plan, laps, side):
    """AIM 5-3-8: the hold is flown at its fix; two minutes of the way to it are left out, and the laps lie short."""
    track = recorded(plan, heading=True, hold=laps)
    hold_s = next(part.start_s for part in judged(track, plan.name).parts if part.segment == "hold")
    there, short = np.searchsorted(track.time_s, [hold_s, hold_s - 120.0])
    moved = [
        np.concatenate([column[:short], column[there:] + column[short] - column[there]])
        for column in (track.time_s, track.lat_deg, track.lon_deg)
    ]
    alt_ft = np.concatenate([track.alt_ft[:short], track.alt_ft[there:]])
    (found,) = judged(Track(*moved, alt_ft), plan.name).judgement("hold_leg").findings
    assert "never reached" in found.text
    assert f"NM {side}" in found.text
    assert found.failed
    assert 2.0 < found.worst < 5.0  # two minutes


@pytest.mark.parametrize(("begun_s", "found"), [(120.0, {65}), (285.0, set())], ids=["miles before", "overhead"])
def test_down_before_the_station(begun_s, found):
    """TARVUE as published: 2,600 ft until outbound over TVU, 2,000 ft from there."""
    start = np.deg2rad(82 - 13)
    legs = [(262, 410, 0), (217, 60, -1), (37, 40, 1), (82, 120, 1)]
    track = steered("tarvue", 8 * np.sin(start), 8 * np.cos(start), legs)
    alt_ft = np.clip(2640.0 - 12.0 * (track.time_s - begun_s), 2040.0, 2640.0)
    assert errors(judged(with_columns(track, alt_ft=alt_ft), "tarvue"), "established_first") == found


def test_a_lap_to_the_wrong_side_is_seen_by_its_beginning():
    """AIM 5-3-8: the recording ends in the first turn after the entry, and it goes the other way."""
    report = holding(((255, 60, -1), (75, None, -1), (165, 3, 1)))
    assert [(found.error, found.critical) for found in report.judgement("hold_side").findings] == [(66, True)]


def test_a_leg_outbound_that_comes_back_through_the_line_was_no_wrong_entry():
    """AIM 5-3-8: turned at the fix to the holding side; what leads across the line after it is a matter of wind."""
    assert holding(((235, 100, -1), (75, None, -1))).judgement("hold_entry").verdict == "met"


def after_the_turn(wanted, seconds, climb_fpm=0.0):
    """The missed approach of TARVUE as it is flown, and straight on along a track from 1,300 ft on."""
    way, craft = procedure.load("tarvue"), aircraft.load("Finch")
    day = weather.Day("Calm", "none", weather.parse("000/00"), 15.0, 1013.25)
    track = reference_pilot.fly(way, craft, [day]).one(0).track()
    climbed = np.flatnonzero(np.diff(track.alt_ft) > 0)
    climb_s = next(
        part.start_s for part in debrief(track, way, craft, rubric=RUBRIC).parts if part.segment == "missed"
    )
    turned = np.flatnonzero((track.time_s > climb_s) & (track.alt_ft > 1_000.0))[0] - 5
    assert turned in climbed
    on_s = np.arange(1.0, seconds)
    true = np.deg2rad(wanted + way.station.declination_deg)
    north = 90.0 / 3600.0 * on_s * np.cos(true) / 60.0
    east = 90.0 / 3600.0 * on_s * np.sin(true) / 60.0 / np.cos(np.deg2rad(track.lat_deg[turned]))
    return judged(
        Track(
            np.concatenate([track.time_s[:turned], track.time_s[turned] + on_s]),
            np.concatenate([track.lat_deg[:turned], track.lat_deg[turned] + north]),
            np.concatenate([track.lon_deg[:turned], track.lon_deg[turned] + east]),
            np.concatenate([track.alt_ft[:turned], np.minimum(track.alt_ft[turned] + 10.0 * on_s, 2_640.0)]),
        ),
        "tarvue",
    )


@pytest.mark.parametrize(("seconds", "critical"), [(300, [True]), (100, [False]), (50, [])])
def test_the_turn_of_the_missed_approach_is_never_made(seconds, critical):
    """Common practice, no source: straight on for a minute after the turn was due, and for two."""
    found = after_the_turn(82, seconds).judgement("missed_turn").findings
    assert [one.critical for one in found if one.error == 85] == critical


def test_levelled_off_below_the_missed_approach_altitude():
    """ACS IR.VI.C.S7: level 700 ft low is no climb that was too shallow, and is one finding."""
    track = recorded()
    low = with_columns(
        track,
        alt_ft=np.where(track.time_s > track.time_s[-1] - 400.0, np.minimum(track.alt_ft, 2_900.0), track.alt_ft),
    )
    found = judged(low).judgement("after_missed_floor").findings
    assert [(one.error, one.critical) for one in found] == [(86, True)]


def outbound_beside(by_deg, drift_deg=0.0):
    """Missed approach of the first procedure, with the radial outbound moved and fanned out about its station."""
    track = recorded()
    report = judged(track)
    out = next(part for part in report.parts if part.text.startswith("radial"))
    since = np.clip((track.time_s - out.start_s + 20.0) / 20.0, 0.0, 1.0)
    on = np.clip((track.time_s - out.start_s) / max(out.end_s - out.start_s, 1.0), 0.0, 1.0)
    station, turn = the("saltmarsh").station, np.deg2rad(by_deg * since + drift_deg * on)
    narrow = np.cos(np.deg2rad(station.lat_deg))
    east, north = (track.lon_deg - station.lon_deg) * narrow, track.lat_deg - station.lat_deg
    kept = track.time_s < out.end_s - 5.0
    moved = with_columns(
        track,
        lon_deg=station.lon_deg + (east * np.cos(turn) + north * np.sin(turn)) / narrow,
        lat_deg=station.lat_deg + north * np.cos(turn) - east * np.sin(turn),
    )
    return judged(moved.part(kept))


def test_another_radial_in_the_missed_approach():
    """ACS IR.VI.C.S7: steady on another radial it was the wrong one, also where the recording ends on it."""
    found = outbound_beside(15.0).judgement("missed_track").findings
    assert [(one.error, one.critical) for one in found] == [(63, False)]


def test_a_radial_of_the_missed_approach_that_is_never_held():
    """ACS IR.VI.C.S7: out along it and drifting off is the wind, not another place or side."""
    found = outbound_beside(7.0, 7.0).judgement("missed_track").findings
    assert [(one.error in (7, 10), one.critical) for one in found] == [(True, False)]


def test_the_minimums_without_the_step_down_fix_may_have_been_meant():
    """Definition: level at the other line of the table, nobody having said whether the fix was identified."""
    way = procedure.load("wygate")
    over_ft = way.mda_ft("A", step_down=False) - way.mda_ft("A")
    report = judged(recorded(WYGATE, below_mda_ft=-over_ft), "wygate")
    assert report.judgement("mda_high").verdict == "cannot tell"
    assert (
        judged(recorded(WYGATE, below_mda_ft=-over_ft), "wygate", step_down=False).judgement("mda_high").verdict
        != "missed"
    )


@pytest.mark.parametrize(("early_nm", "early"), [(0.0, False), (0.9, True)], ids=["on the path", "before it"])
def test_a_higher_mda_meets_the_path_earlier(early_nm, early):
    """14 CFR 91.175 (c): from a higher MDA a normal descent begins farther out."""
    higher_ft = the("wygate").mda_ft("A", step_down=False) - the("wygate").mda_ft("A")
    plan = dataclasses.replace(WYGATE, vdp_nm=WYGATE.vdp_nm - 2.5, crossing_ft=WYGATE.crossing_ft - 318.0 * early_nm)
    track = recorded(plan, end="landing", below_mda_ft=-higher_ft)
    assert bool(errors(judged(track, "wygate", step_down=False, in_sight=True), "vdp")) == early


def test_the_wind_of_another_height_is_no_speed_flown():
    """Definition: worked out where most was flown, a wind says little of the speed far below it."""
    way, craft = procedure.load("saltmarsh"), aircraft.load("Finch")
    day = weather.day("shear", field_elevation_ft=way.airport.elevation_ft, seed=1)
    track = reference_pilot.fly(way, craft, [day]).one(0).track()
    bare = Track(track.time_s, track.lat_deg, track.lon_deg, track.alt_ft)
    assert debrief(bare, way, craft, rubric=RUBRIC).judgement("speed_final").verdict != "missed"


def test_a_turn_that_nobody_saw_begin():
    """Definition: the recording pauses over the station and goes on behind the turn: it was not begun late."""
    track = steered(
        "saltmarsh", 5 * np.sin(np.deg2rad(297)), 5 * np.cos(np.deg2rad(297)), [(130, 190, 0), (190, 240, 0)]
    )
    seen = (track.time_s < 185.0) | (track.time_s > 290.0)
    report = debrief_passage(track.part(seen), the("saltmarsh"), None, 130.0, 190.0, rubric=RUBRIC)
    assert 12 not in errors(report, "outbound")


def test_the_end_of_a_long_dive_is_not_passed():
    """IPH4: 1,000 fpm; seconds of it below 1,000 ft are the end of what was not put right above."""
    track = recorded()
    final = next(part for part in judged(track).parts if part.text == "PARDO to MAP")
    begun_s = final.start_s - 40.0
    dived_ft = np.interp(begun_s, track.time_s, track.alt_ft) + 870.0 - 1300.0 / 60.0 * (track.time_s - begun_s)
    diving = (track.time_s > begun_s - 5.0) & (track.time_s < final.end_s)
    dive = with_columns(track, alt_ft=np.where(diving, np.maximum(dived_ft, track.alt_ft), track.alt_ft))
    found = judged(dive).judgement("sink").findings
    assert [one.failed for one in found] == [True]
    assert [one.failed for one in flown(dive_fpm=1300.0).judgement("sink").findings] == [False]


def test_a_recording_on_another_setting_that_ends_on_the_runway_is_a_landing():
    """Definition: standing on the runway is a landing, whatever the heights were set to."""
    track = rolled_out(recorded(end="landing"))
    report = judged(with_columns(track, alt_ft=track.alt_ft + 460.0))
    assert report.outcome == "landing"
    assert not [found.text for found in report.findings if found.critical]


def with_pause(track, first_s, length_s=25.0):
    """The track as a recording has it that paused."""
    return track.part((track.time_s < first_s) | (track.time_s > first_s + length_s))


def test_turned_round_in_a_pause_of_the_recording():
    """Definition: the headings before and behind a pause, and the time between them, tell one turn from a leg."""
    start = np.deg2rad(82 - 13)
    begin = 4 * np.sin(start), 4 * np.cos(start)
    once = steered("tarvue", *begin, [(262, 340, 0), (112, 40, 1), (82, 120, -1)], alt_ft=2040.0)
    whole = steered("tarvue", *begin, [(262, 340, 0), (217, 60, -1), (37, 40, 1), (82, 120, -1)], alt_ft=2040.0)
    for track, error in ((once, {83}), (whole, set())):
        assert errors(judged(with_pause(track, 360.0), "tarvue"), "turn_side") == error


def test_a_shallow_climb_with_a_pause_in_it():
    """Definition: height and way before and behind a short pause make the gradient as well."""
    track = recorded(weak_climb_fpm=150.0)
    begun_s = next(part.start_s for part in judged(track).parts if part.segment == "missed")
    assert errors(judged(with_pause(track, begun_s + 60.0)), "gradient") == {71}


@pytest.mark.parametrize(("first", "step", "kt"), [(first, 10, 135.0) for first in (0, 4)])
def test_few_samples_of_a_passage(first, step, kt):
    """Definition: of samples ten seconds apart the nearest may lie behind the station, where the turn has begun."""
    where = 5 * np.sin(np.deg2rad(297)), 5 * np.cos(np.deg2rad(297))
    legs = [(130, 5 * 3600 / kt + 1.0, 0), (190, 240, 0)]
    few = steered("saltmarsh", *where, legs, kt=kt).part(slice(first, None, step))
    report = debrief_passage(few, the("saltmarsh"), None, 130.0, 190.0, rubric=RUBRIC)
    assert 13 not in errors(report, "cone")


@pytest.mark.parametrize("first", [0, 6])
def test_few_samples_of_a_descent(first):
    """Definition: two altitudes with a short descent between them are no altitude that was not held."""
    track = recorded()
    leg = next(part for part in judged(track).parts if part.segment == "initial" and part.end_s - part.start_s > 200)
    half_s = (leg.start_s + leg.end_s) / 2.0
    above_ft = np.interp(track.time_s, [half_s, half_s + 26.0], [210.0, 0.0])
    few = with_columns(track, alt_ft=track.alt_ft + above_ft).part(slice(first, None, 12))
    assert judged(few).judgement("level").verdict != "missed"


def test_few_samples_of_a_dive():
    """IPH4: 1,000 fpm; samples ten seconds apart see fifteen seconds of it all the same."""
    track = recorded()
    final = next(part for part in judged(track).parts if part.text == "PARDO to MAP")
    past_s = track.time_s - final.start_s
    above_ft = np.interp(past_s, [0.0, 20.0, 32.0], [0.0, 250.0, 0.0])
    dive = with_columns(track, alt_ft=track.alt_ft + above_ft)
    assert errors(judged(dive.part(slice(0, None, 10))), "sink") & {35, 43}


def test_what_nobody_said_is_named():
    """Definition: no recording shows cold, another field's setting or the runway; what is said is left out."""

    def granted(**given):
        report = judged(recorded(end="landing"), **given)
        return " ".join(note for note in report.notes if note.startswith("No recording shows"))

    assert "cold" in granted()
    assert "another field's" in granted()
    assert "in sight" in granted()
    assert "in sight" not in granted(in_sight=True, temperature_c=15.0)
    assert "cold" not in granted(in_sight=True, temperature_c=15.0)
    assert granted(in_sight=True, temperature_c=15.0, remote=True) == ""


@pytest.mark.parametrize(("beside", "found"), [(((300, 40, 0), (285, 60, 0)), True), (((262, 85, 0),), False)])
def test_a_short_leg_by_the_clock_beside_its_radial(beside, found):
    """Definition: a timed leg goes on to where the turn off it begins, and all that way belongs to its needle."""
    start = np.deg2rad(82 - 13)
    legs = [(262, 145, 0), *beside, (217, 60, -1), (37, 40, 1), (82, 150, 1)]
    report = judged(steered("tarvue", 4 * np.sin(start), 4 * np.cos(start), legs, alt_ft=2040.0), "tarvue")
    said = [one.what for one in report.judgement("needle_before_final").findings]
    assert any("never within half scale of 262" in what for what in said) is found


def test_a_station_passed_miles_to_the_side_is_judged():
    """Common practice, no source: three miles beside the station is a fault of the way in, no reason to refuse."""
    assert passage((165, 240, 0), (190, 150, 0)).judgement("needle_before_final").findings[0].worst > 5.0


def inbound_on(radial_deg, *legs, far_nm=20.0):
    """In towards the station of the second procedure on any radial; then legs; then the arc by its tangents."""
    start = np.deg2rad(radial_deg - 12)
    arc = [(113 + 10 * step, STEP_S - 3.0, 0) for step in range(6)]
    return judged(
        steered("ezrick", far_nm * np.sin(start), far_nm * np.cos(start), [*legs, *arc], alt_ft=4740.0), "ezrick"
    )


def test_straight_to_the_station_on_another_radial():
    """Definition: a bearing that stays the same on the way in is a radial, whatever the wind; drift changes it."""
    assert errors(inbound_on(26, (206, 6.45 * 36.0, 0)), "needle_before_final") == {63}


def test_the_turn_on_to_the_arc_begun_miles_before_it():
    """Common practice, no source: half a mile is the lead; a cut from miles before is no needle that left."""
    report = inbound_on(18, (198, 100, 0), (158, 190, 0))
    (finding,) = report.judgement("arc_join").findings
    assert (finding.error, finding.failed) == (20, True)
    assert not errors(report, "needle_before_final")


def test_a_minute_the_wrong_way_round_and_back():
    """Definition: the nose along the arc the wrong way for a minute is the wrong way, however few radials it was."""
    assert errors(inbound_on(18, (198, 6.45 * 36.0, 0), (288, 60, 1)), "way_round") == {21}
    assert not errors(inbound_on(18, (198, 6.45 * 36.0, 0)), "way_round")


def test_a_recording_that_begins_on_the_arc():
    """Definition: what came before the first sample was not left out by the pilot; the arc cut short was."""
    whole = on_arc(5.0)
    arc = next(part for part in whole.parts if part.text.startswith("the arc"))
    begun = judged(whole.track.part(whole.track.time_s > arc.start_s + 40.0), "ezrick")
    assert not [text for text in begun.missing if text in (part.text for part in whole.parts)]
    assert any("begins on the arc" in note for note in begun.notes)


def test_the_leg_of_a_teardrop_begun_miles_past_the_fix():
    """AIM 5-3-8 j: a teardrop begins at the fix; straight on before it is no parallel entry either."""
    late = flown(hold=((165, 75, 0), (135, 40, 0), (345, None, 1)))
    at_the_fix = flown(hold=((135, 60, 0), (345, None, 1)))
    hurried = flown(hold=((165, 110, 0), (145, 12, 0), (345, None, 1)))
    assert errors(late, "hold_entry") == errors(hurried, "hold_entry") == {84}
    assert not errors(at_the_fix, "hold_entry")


def test_the_course_flown_as_a_heading_is_drift():
    """Independent method: eleven degrees to the lee of the course is what the wind makes of its heading."""
    track = passage((130, 182, 0), (201, 400, 0)).track
    for winds, error in (((), 63), (((0.0, 87.0, 19.0),), 10)):
        given = Conditions(winds=winds)
        report = debrief_passage(track, the("saltmarsh"), None, 130.0, 190.0, given=given, rubric=RUBRIC)
        assert errors(report, "needle_before_final") == {error}


def arriving_along_the_final():
    """In over the station of the second procedure along its own intermediate leg, then out to the arc."""
    start = np.deg2rad(97 - 12)
    legs = [(277, 6.0 * 36.0, 0), (18, 13.0 * 36.0, 1), (125, 300, 1)]
    return judged(steered("ezrick", 6.0 * np.sin(start), 6.0 * np.cos(start), legs, alt_ft=4740.0), "ezrick")


def test_a_way_in_along_a_later_leg_is_before_the_procedure():
    """Definition: the approach begins at its entry fix, on whatever line the flight came there."""
    report = arriving_along_the_final()
    assert all(found.start_s > 216.0 for found in report.findings)
    first = next(part for part in report.parts if part.segment != "before")
    assert abs(first.start_s - 216.0) < 15.0  # six miles at 100 kt


def test_the_first_seconds_on_the_final_are_the_final():
    """Definition: what ends with the first seconds of a recording tells no leg, and no altitude of it."""
    track = with_columns(recorded(), height_kind="satellite")
    final = next(part for part in judged(track).parts if part.segment == "final")
    begun = judged(track.part(track.time_s > final.start_s + 5.0))
    assert begun.parts[0].segment == "final"
    assert begun.findings == ()
    assert begun.verdict == "not complete"


def test_the_altitude_of_a_leg_held_first_was_known():
    """Definition: held, left and another one held to the fix, it was left too soon, and not misread."""
    track = recorded()
    leg = next(part for part in judged(track).parts if part.text.startswith("KESTU to OVK"))
    ends_s = leg.end_s - np.array([100.0, 72.0, 0.0, -1.0])
    low = np.interp(track.time_s, ends_s, [0, -300, -300, 0])
    report = judged(with_columns(track, alt_ft=track.alt_ft + low))
    assert errors(report, "floor") == {33}


def test_a_level_off_missed_is_no_descent_begun_early():
    """Definition: the first altitude held on the leg is too low; who held the right one and left it took the next."""
    track = recorded()
    leg = next(part for part in judged(track).parts if part.text.startswith("KESTU to OVK"))
    low = np.interp(track.time_s, [leg.start_s, leg.start_s + 40.0, leg.end_s, leg.end_s + 1.0], [0, -300, -300, 0])
    report = judged(with_columns(track, alt_ft=track.alt_ft + low))
    assert errors(report, "floor") == {94}


def test_cold_added_before_is_not_what_was_forgotten():
    """AIM 7-3: who flew every altitude before with the cold added, and one without, missed a level-off."""
    track = recorded()
    plain = judged(track)
    last = next(part for part in plain.parts if part.text.startswith("KESTU to OVK"))
    field_ft = the("saltmarsh").airport.elevation_ft
    colder = field_ft + (track.alt_ft - field_ft) * 1.15
    report = judged(with_columns(track, alt_ft=colder), temperature_c=-22.0)
    assert not errors(report, "floor")
    on = (track.time_s > last.start_s + 30.0) & (track.time_s <= last.end_s)
    report = judged(with_columns(track, alt_ft=np.where(on, track.alt_ft, colder)), temperature_c=-22.0)
    assert 6 not in errors(report, "floor")
    assert 6 in errors(judged(track, temperature_c=-22.0), "floor")


def test_the_next_altitude_with_its_cold_is_not_the_cold_forgotten():
    """AIM 7-3: who flies every other altitude with the cold added, and this one too low, added it here as well."""
    track = recorded()
    first = next(part for part in judged(track).parts if part.segment == "initial")
    field_ft = the("saltmarsh").airport.elevation_ft
    colder = field_ft + (track.alt_ft - field_ft) * 1.15
    here = (track.time_s > first.start_s + 30.0) & (track.time_s <= first.end_s)
    report = judged(with_columns(track, alt_ft=np.where(here, track.alt_ft, colder)), temperature_c=-22.0)
    assert errors(report, "floor") and 6 not in errors(report, "floor")


def test_an_indicated_speed_is_worked_out_with_the_cold():
    """ICAO standard atmosphere: true over indicated goes with the root of the absolute temperature."""
    track, still = recorded(), ((0.0, 0.0, 0.0),)  # near the fast end of what is allowed
    days = [judged(track, craft=FINCH, temperature_c=celsius, winds=still) for celsius in (15.0, -22.0)]
    assert [day.judgement("speed_final").verdict for day in days] == ["met", "missed"]


def test_the_minimums_with_the_step_on_a_cold_day():
    """Definition: of the two things left out it is the one whose altitude was flown."""
    track = recorded(WYGATE)
    field_ft = the("wygate").airport.elevation_ft
    colder = field_ft + (track.alt_ft - field_ft) * 1.15
    report = judged(with_columns(track, alt_ft=colder), "wygate", temperature_c=-22.0, step_down=False)
    assert errors(report, "mda") == {75}


def test_a_climb_that_stops_on_the_way():
    """AIM 5-4-21 b: the climb goes on to the altitude; a minute level well below it clears nothing ahead."""
    track = recorded()
    stop = next(part.start_s for part in judged(track).parts if part.text == "the climb straight ahead") + 60.0
    held_ft = float(np.interp(stop, track.time_s, track.alt_ft))
    later = np.interp(track.time_s - 100.0, track.time_s, track.alt_ft)
    alt_ft = np.where(track.time_s < stop, track.alt_ft, np.where(track.time_s < stop + 100.0, held_ft, later))
    report = judged(with_columns(track, alt_ft=alt_ft))
    assert [(found.error, found.critical) for found in report.judgement("after_missed_floor").findings] == [
        (86, True)
    ]


@pytest.mark.parametrize(("low_ft", "errors_said"), [(120.0, {87}), (30.0, set())])
def test_far_below_the_path_to_the_runway(low_ft, errors_said):
    """Common practice, no source: a degree below the path, half a mile short, only the eye keeps clear."""
    assert errors(low_to_the_runway(low_ft), "path_low") == errors_said


def test_a_rate_of_descent_that_swings():
    """FSF: no stabilised approach; level, a dive and level again, five times, is one fault and not five."""
    track = recorded(end="landing")
    final = [part for part in judged(track).parts if part.segment == "final"]
    part = (track.time_s > final[0].start_s + 20.0) & (track.time_s < final[-1].end_s - 20.0)
    phase = 2.0 * np.pi * (track.time_s - final[0].start_s - 20.0) / 40.0
    report = judged(with_columns(track, alt_ft=track.alt_ft + np.where(part, 110.0 * np.sin(phase), 0.0)))
    assert errors(report, "sink") == {73}
    assert sum(found.row in ("sink", "gate", "vdp") for found in report.findings) == 1


def test_a_missed_approach_from_below_the_minimums_with_the_runway_lost():
    """14 CFR 91.175: below the MDA as long as it is in sight, and up when it is not."""
    track = recorded(below_mda_ft=150.0)
    low_s = float(track.time_s[track.alt_ft < the("saltmarsh").mda_ft("A") - 20.0][0])
    low_end_s = float(track.time_s[np.argmin(track.alt_ft)])
    assert errors(judged(track), "mda")
    seen = judged(track, sight_from_s=low_s - 30.0, sight_until_s=low_end_s + 60.0)
    assert not errors(seen, "mda")
    assert errors(judged(track, sight_from_s=low_end_s + 60.0), "mda")


@pytest.mark.parametrize(("first_nm", "unsure"), [(3.9, True), (3.0, False)], ids=["past the point", "before it"])
def test_below_the_minimums_with_nobody_to_say_what_was_in_sight(first_nm, unsure):
    """14 CFR 91.175 (c): down with the runway in sight, and up when it is lost; not before the path to it is met."""
    track = recorded()
    seen = judged(track).seen
    along_nm = np.interp(track.time_s, seen.time_s, seen.ground_nm)
    final = track.alt_ft < the("saltmarsh").mda_ft("A") + 60.0
    dip_ft = np.interp(along_nm, first_nm + np.array([0.0, 0.5, 0.7, 0.8]), [0.0, 200.0, 200.0, 0.0])
    dipped = with_columns(track, alt_ft=track.alt_ft - np.where(final, dip_ft, 0.0))
    report = judged(dipped)
    assert (report.judgement("mda").verdict == "cannot tell") == unsure
    assert any("whether the runway was in sight" in note for note in report.notes)
    assert judged(dipped, in_sight=False).judgement("mda").verdict == "missed"


def test_a_passage_turned_miles_before_the_station():
    """P-340 p. 6-21: the turn outbound begins behind the station; two miles before it it was never overflown."""
    report = passage((130, 105, 0), (165, 75, 0), (190, 120, 0))
    assert errors(report, "cone") == {13}
    assert [found.row for found in report.findings] == ["cone"]


def test_a_needle_chased_on_the_final_within_its_tolerance():
    """ACS IR.VI.A.S12: established is half scale; beyond it to both sides, on cuts of forty, it is not."""
    track = weaving_on_the_final(0.45)
    (finding,) = judged(track).judgement("needle_final").findings
    assert (finding.error, finding.critical) == (15, True)


def test_overhead_before_the_procedure_nothing_is_chased():
    """Common practice, no source: over the station, away and back, what was meant the first time nobody knows."""
    back = np.deg2rad(320.0 - 13.0 + 180.0)
    swinging = ((320, 170, 0), (350, 14, 0), (290, 18, 0), (320, 120, 0))
    over = steered("saltmarsh", 5.0 * np.sin(back), 5.0 * np.cos(back), swinging, alt_ft=3640.0)
    assert judged(joined(over, recorded())[0]).judgement("cone").verdict != "missed"


def test_laps_about_another_inbound_course():
    """ACS IR.III.B: the hold has an inbound course; one thirty degrees off, lap for lap, is a wrong course set."""
    turned = holding(((225, 60, -1), (45, 60, -1)) * 3)
    (finding,) = turned.judgement("hold_track").findings
    assert (finding.error, finding.failed) == (63, True)
    assert 63 not in errors(laps_through_the_air(0.0), "hold_track")


@pytest.mark.parametrize("off_deg", [25.0, 40.0, -40.0])
@pytest.mark.parametrize("laps", [2, 3])
def test_a_hold_about_another_course_is_no_wrong_entry(off_deg, laps):
    """Definition: from the fix on about one course, entry and laps alike, farther off than any wind carried."""
    report = laps_through_the_air(3.0, laps=laps, wind_kt=10.0, course_deg=75.0 + off_deg)
    assert {(found.row, found.error) for found in report.findings} == {("hold_track", 63)}


@pytest.mark.parametrize("times", [0.0, 1.0, 3.0])
def test_a_strong_wind_is_no_other_course(times):
    """Independent method: blown thirty degrees beside the line and straight to the fix, it was the wind."""
    report = laps_through_the_air(times, wind_true_deg=345.0, wind_kt=25.0)
    assert not errors(report, "hold_track")


@pytest.mark.parametrize(
    ("first", "laps", "failed"),
    [
        ((75, 60, -1), ((255, 60, -1), (75, 60, -1)), []),
        ((75, 150, -1), ((255, 150, -1), (75, 150, -1)), [True]),
        ((75, 150, -1), ((255, 60, -1), (75, 60, -1)), [True]),
        ((75, 60, -1), ((255, 26, -1), (75, 19, -1)), [False]),
    ],
    ids=["at the fix", "past it", "about another place", "hardly a leg inbound"],
)
def test_laps_begin_at_the_fix(first, laps, failed):
    """AIM 5-3-8: the turn outbound is made at the fix; a mile and a half off it, lap for lap, is common practice."""
    report = holding(((255, 60, -1), first, *laps * 3))
    assert [found.failed for found in report.judgement("hold_leg").findings] == failed


def test_a_hold_that_is_never_turned_into():
    """AIM 5-3-8: beyond the fix and the end of any leg with no turn, the hold was not flown."""
    report = judged(recorded(WYGATE, heading=True, hold=((75, 420, 0),)), "wygate")
    assert [(found.error, found.failed) for found in report.judgement("hold_entry").findings] == [(84, True)]


def test_a_setting_wrong_from_the_way_in():
    """ICAO standard atmosphere: 10 hPa are 270 ft; the way in is flown at any altitude."""
    track = recorded()
    arrived = next(part.start_s for part in judged(track).parts if part.segment == "initial")
    high = np.where(track.time_s < arrived + 40.0, 350.0, 0.0)
    pressed = with_columns(track, alt_ft=track.alt_ft - 270.0 + high, height_kind="pressure")
    assert {found.error for found in judged(pressed, setting_hpa=1013.25).findings} >= {68}


def test_near_the_stall_on_the_arc():
    """Aircraft data: slower than over the threshold with all flap out, for half a minute, is critical."""
    for kt, critical in ((55.0, True), (80.0, False)):
        report = in_part("the arc", kt, "ias_kt", last_s=60.0)
        assert [found.critical for found in report.judgement("speed_before_final").findings] == [critical]


def test_true_heights_on_a_cold_day_may_be_a_pilots_who_added_it():
    """Independent method: at 22 below, air makes of the altitudes that cold was added to what is published."""
    track = with_columns(recorded(), height_kind="unknown")
    assert not errors(judged(track, temperature_c=-22.0), "floor")
    assert errors(judged(with_columns(track, height_kind="altimeter"), temperature_c=-22.0), "floor") == {6}


def weaving_on_the_final(off_nm):
    """A clean flight whose way down the final swings to both sides of its line, with the headings of it."""
    track, way = recorded(), the("saltmarsh")
    seen = judged(track).seen
    final = [part for part in judged(track).parts if part.segment == "final"]
    station = way.station
    along_nm = np.interp(track.time_s, seen.time_s, seen.ground_nm)
    swing = off_nm * np.sin(np.pi * (along_nm - 1.6)) * np.clip(along_nm / 4.0, 0.0, 1.0)
    inside = (track.time_s > final[0].start_s) & (track.time_s < final[-1].end_s) & (along_nm > 1.6)
    across = np.deg2rad(way.final_course_deg + station.declination_deg + 90.0)
    swing = np.where(inside, swing, 0.0)
    lat = track.lat_deg + swing * np.cos(across) / 60.0
    lon = track.lon_deg + swing * np.sin(across) / 60.0 / np.cos(np.deg2rad(track.lat_deg))
    return with_columns(track, lat_deg=lat, lon_deg=lon)


def test_the_altitude_of_a_leg_flown_with_its_needle_at_the_stop():
    """14 CFR 91.175 (i): until established the altitude before holds; half a minute at the stop on the next one."""
    track, way = recorded(), the("saltmarsh")
    leg = next(part for part in judged(track).parts if part.text.startswith("DOVAN"))
    aside = np.interp(
        track.time_s, [leg.start_s + 50.0, leg.start_s + 90.0, leg.end_s - 20.0, leg.end_s + 40.0], [0, 1.9, 1.9, 0]
    )
    across = np.deg2rad(way.final_course_deg + way.station.declination_deg + 90.0)
    lat = track.lat_deg + aside * np.cos(across) / 60.0
    lon = track.lon_deg + aside * np.sin(across) / 60.0 / np.cos(np.deg2rad(track.lat_deg))
    down = judged(with_columns(track, lat_deg=lat, lon_deg=lon))
    assert [found.critical for found in down.judgement("needle_before_final").findings] == [True]
    held = np.where(track.time_s < leg.end_s + 60.0, np.maximum(track.alt_ft, 3040.0), track.alt_ft)
    high = judged(with_columns(track, lat_deg=lat, lon_deg=lon, alt_ft=held))
    assert [found.critical for found in high.judgement("needle_before_final").findings] == [False]


@pytest.mark.parametrize(("from_deg", "away"), [(207.0, True), (27.0, False)], ids=["upwind", "downwind"])
def test_a_cut_away_from_the_needle_is_no_drift(from_deg, away):
    """Definition: the wind carries nobody towards where it comes from; a cut held that way was turned to."""
    track = passage((130, 20, 0), (150, 90, 0), (110, 40, 0), (190, 100, 0)).track
    given = Conditions(winds=((0.0, from_deg, 25.0),))
    report = debrief_passage(track, the("saltmarsh"), None, 130.0, 190.0, given=given, rubric=RUBRIC)
    (error,) = errors(report, "needle_before_final")
    assert (error not in (8, 10)) == away


def test_the_second_turn_of_a_procedure_turn():
    """Definition: the procedure names the side of the first turn and says that the second goes the other way."""
    (found,) = around((217, 60, -1), (37, 100, -1), (82, 100, 1)).judgement("turn_side").findings
    assert (found.error, found.critical) == (88, True)
    assert around((217, 60, -1), (37, 40, 1), (82, 120, 1)).judgement("turn_side").verdict == "met"


def test_a_procedure_turn_begun_beside_the_line_goes_to_its_side():
    """AIM 5-4-9: the side is that of the leg away from the line; a mile beside it before is the leg outbound."""
    report = around((292, 90, 1), (217, 75, -1), (37, 60, 1), (82, 120, 1))
    assert report.judgement("turn_side").verdict == "met"


@pytest.mark.parametrize(("seconds", "failed"), [(60, []), (200, [True])])
def test_the_leg_of_a_procedure_turn_has_its_time(seconds, failed):
    """Common practice, no source: a minute, and not three."""
    report = around((217, seconds, -1), (37, 60, 1), (82, 120, 1))
    long = [found for found in report.judgement("turn_time").findings if "217" in found.what]
    assert [found.failed for found in long] == failed


def test_an_arc_elsewhere_has_the_altitude_of_the_arc():
    """One event, one finding: who flies the arc at another distance is on the arc, and may fly its altitude."""
    report = judged(recorded(dataclasses.replace(maker.SALTMARSH, arc_nm=12.0)))
    assert errors(report, "arc") == {78}
    assert report.judgement("floor").verdict == "met"


@pytest.mark.parametrize(("off_deg", "said"), [(25.0, {74}), (6.0, set())])
def test_off_the_line_straight_ahead_in_the_missed_approach(off_deg, said):
    """AIM 5-4-21 b: before the turn only the line straight ahead is protected."""
    track = recorded(WYGATE)
    climb = next(part for part in judged(track, "wygate").parts if part.text == "the climb straight ahead")
    since_s = np.clip(track.time_s - climb.start_s - 10.0, 0.0, climb.end_s - climb.start_s - 30.0)
    beside_deg = since_s * 95.0 / 3600.0 * np.tan(np.deg2rad(off_deg)) / 60.0
    across = np.deg2rad(23.0 - 13.0 + 90.0)
    moved = with_columns(
        track,
        lat_deg=track.lat_deg + beside_deg * np.cos(across),
        lon_deg=track.lon_deg + beside_deg * np.sin(across) / np.cos(np.deg2rad(37.65)),
    )
    findings = judged(moved, "wygate").judgement("missed_track").findings
    assert {found.error for found in findings if "straight ahead" in found.what} == said
    assert all(found.critical for found in findings if "straight ahead" in found.what)


def test_turned_away_from_the_hold():
    """AIM 5-3-8: no entry leads square away from the fix and goes on."""
    (found,) = flown(hold=((255, 200, 1),)).judgement("hold_entry").findings
    assert (found.error, found.failed) == (50, True)


def test_homing_is_told_from_drift():
    """Definition: the nose on the station all the way, and the wind carries off the line."""
    rows, (east, north) = [], (24.0 * trig(np.deg2rad(268 - 13)) for trig in (np.sin, np.cos))
    for second in range(420):
        heading = np.arctan2(-east, -north)
        rows.append((second, east, north, np.rad2deg(heading) + 13.0))
        east += (100.0 * np.sin(heading) - 28.0 * np.sin(np.deg2rad(345.0))) / 3600.0
        north += (100.0 * np.cos(heading) - 28.0 * np.cos(np.deg2rad(345.0))) / 3600.0
    at_s, east_nm, north_nm, heading_deg = np.array(rows).T
    lat = 37.65 + north_nm / 60.0
    lon = -46.85 + east_nm / 60.0 / np.cos(np.deg2rad(37.65))
    track = Track(at_s, lat, lon, np.full(len(at_s), 3440.0), heading_deg=np.mod(heading_deg, 360.0))
    report = judged(track, "wygate", winds=((0.0, 345.0, 28.0),))
    assert errors(report, "needle_before_final") == {7}


def test_an_altitude_missed_for_long_is_no_offset_of_an_altimeter():
    """Definition: what an altimeter showed right on the legs before it showed right in the hold, however long."""
    track = recorded(WYGATE, hold=((255, 200, -1), (75, None, -1)) * 5)
    up = next(part.start_s for part in judged(track, "wygate").parts if part.text.startswith("heading"))
    low = with_columns(
        track, alt_ft=np.where(track.time_s > up - 60.0, np.minimum(track.alt_ft, 3100.0), track.alt_ft)
    )
    report = judged(low, "wygate")
    assert report.height.offset_ft == 0.0
    assert any(found.critical for found in report.judgement("after_missed_floor").findings)


def test_heights_that_are_right_on_the_runway_show_a_wrong_setting():
    """Definition: what a recording is off by it is off on the runway as well; the rest is the altimeter."""
    track = recorded(end="landing", margin_ft=40.0)
    low = np.where(track.alt_ft > 700.0, 280.0, 280.0 * np.clip((track.alt_ft - 100.0) / 600.0, 0.0, 1.0))
    true = rolled_out(with_columns(track, alt_ft=track.alt_ft - low, height_kind="satellite"))
    report = judged(true, temperature_c=15.0)
    assert errors(report, "floor") >= {68}
    assert [found.row for found in report.findings if found.critical][:1] == ["floor"]


def test_far_above_the_minimums_at_the_missed_approach_point():
    """ACS IR.VI.A.S12: three times its tolerance above, and no look at the runway: not passed."""
    assert [found.failed for found in flown(below_mda_ft=-450.0).judgement("mda_high").findings] == [True]


def test_near_the_stall_in_the_missed_approach():
    """Common practice, no source: below threshold speed with no flap, for half a minute."""
    report = in_part("radial 165", 50.0, "ias_kt", first_s=-200.0)
    assert any(found.critical for found in report.judgement("speed_after_missed").findings)


@pytest.mark.parametrize(
    ("high_ft", "beyond_m", "said"),
    [
        (0.0, 0.0, []),
        (50.0, 100.0, []),
        (150.0, 400.0, [(False, True)]),
        (300.0, 900.0, [(True, True)]),
        (0.0, 800.0, [(False, True)]),
    ],
    ids=["as published", "a little long", "high", "high and deep", "floated"],
)
def test_a_landing_far_too_high_and_deep(high_ft, beyond_m, said):
    """Common practice, no source: a hundred feet high, or half of the runway flown over, is no landing to pass."""
    report = landing(high_ft, beyond_m)
    assert report.outcome == "landing"
    assert [(one.critical, one.failed) for one in report.judgement("touchdown").findings] == said
    assert {found.row for found in report.findings} == ({"touchdown"} if said else set())


def test_a_dive_to_a_deep_landing_is_one_event():
    """One event, one finding: what dives after the path lands deep, and the dive is the cause."""
    report = landing(300.0, 500.0)
    assert [(found.row, found.error, found.critical) for found in report.findings] == [("sink", 43, True)]
    assert "over the threshold" in report.findings[0].text


@pytest.mark.parametrize(
    ("text", "after_s", "critical"),
    [("OVK to GELPO", 100.0, False), ("the arc", 150.0, False), ("KESTU", 60.0, False), ("PARDO", 20.0, True)],
)
@pytest.mark.parametrize("side", [1, -1])
def test_a_full_circle_on_a_leg(text, after_s, critical, side):
    """Common practice, no source: no leg asks for a circle; one event with all that it breaks, at its own time."""
    report = circled(text, after_s, side)
    (found,) = report.findings
    assert (found.error, found.critical, found.failed) == (91, critical, True)
    assert found.length_s < 130.0  # 330 degrees at the standard rate


@pytest.mark.parametrize(("roll_nm", "said"), [(0.02, []), (0.4, [True])], ids=["at its place", "far down"])
def test_a_float_that_no_height_shows(roll_nm, said):
    """Definition: what is as fast as over the threshold two thirds down the runway has not landed, however low."""
    track = landing(0.0, 0.0, roll_nm).track
    second = np.arange(1.0, 40.0)
    rolled_nm = np.cumsum(np.maximum(95.0 - 4.0 * second, 0.0) / 3600.0)
    course = np.deg2rad(214.0 - 13.0)
    narrow = np.cos(np.deg2rad(track.lat_deg[-1]))
    whole = Track(
        np.concatenate([track.time_s, track.time_s[-1] + second]),
        np.concatenate([track.lat_deg, track.lat_deg[-1] + rolled_nm * np.cos(course) / 60.0]),
        np.concatenate([track.lon_deg, track.lon_deg[-1] + rolled_nm * np.sin(course) / 60.0 / narrow]),
        np.concatenate([track.alt_ft, np.full(len(second), track.alt_ft[-1])]),
    )
    found = judged(whole, in_sight=True).judgement("touchdown").findings
    assert [one.critical for one in found] == said


@pytest.mark.parametrize(("kt", "failed"), [(98.0, []), (106.0, []), (122.0, [True]), (76.0, [True])])
def test_the_arc_has_a_speed_of_its_own(kt, failed):
    """Aircraft data: on the middle of the arc its own speed is flown, not that of the legs before and after."""
    report = in_part("the arc", kt, "ias_kt")
    assert [one.failed for one in report.judgement("speed_before_final").findings if "arc" in one.segment] == failed


def test_low_in_the_missed_approach_up_and_low_again_is_one_event():
    """One event, one finding: levelled off low, looked up, and went on there."""
    track = recorded()
    low = np.minimum(track.alt_ft, 2900.0)
    left_s = track.time_s[-1] - track.time_s
    up = (left_s < 150.0) & (left_s > 100.0)
    report = judged(with_columns(track, alt_ft=np.where((left_s < 400.0) & ~up, low, track.alt_ft)))
    assert [(found.row, found.error) for found in report.findings] == [("after_missed_floor", 86)]


def test_a_line_left_on_a_turn_with_its_wind_laid_off():
    """Definition: who held the line with the drift laid off and turned away from it was not blown off."""
    track = passage((130, 182, 0), (205, 52, 0), (190, 80, 0), (226, 70, 0), (150, 90, 0), (190, 60, 0)).track
    given = Conditions(winds=((0.0, 87.0, 25.0),))
    report = debrief_passage(track, the("saltmarsh"), None, 130.0, 190.0, given=given, rubric=RUBRIC)
    (found,) = report.judgement("needle_before_final").findings
    assert "led off the line" in found.cause


def test_a_correction_laid_off_downwind_in_the_hold_is_no_other_course():
    """Definition: the wind's own correction on its other side, lap for lap, and the cause says so."""
    report = laps_through_the_air(-1.0, laps=3, wind_true_deg=345.0, wind_kt=20.0)
    (found,) = report.judgement("hold_wind").findings
    assert "downwind" in found.cause
    assert 63 not in errors(report, "hold_track")
    # That it blew the laps beside the line is the same event.
    assert [one.row for one in report.findings if one.row.startswith("hold_")] == ["hold_wind"]


def test_the_headings_of_a_circle_are_no_cuts():
    """Definition: who goes once round points everywhere; that is no cutting from one side of a line to the other."""
    start = np.deg2rad(130 - 13)
    legs = [(310, 130, 0), (335, 25, 0), (285, 25, 0), (310, 40, 0), (130, 1, 1), (310, 1, 1), (310, 60, 0)]
    (found,) = judged(steered("saltmarsh", 2 * np.sin(start), 2 * np.cos(start), legs, alt_ft=3640.0)).findings
    assert (found.row, found.also) == ("circle", ())


def test_an_orbit_of_two_circles_is_one_event():
    """One event, one finding."""
    (found,) = circled("OVK to GELPO", 100.0, times=2).findings
    assert "2 full circles" in found.what


@pytest.mark.parametrize(
    ("out", "back", "failed"),
    [
        (217, 37, []),
        (207, 27, []),
        (187, 7, [True]),
        (177, 357, [True]),
        (247, 67, [False]),  # the track alone, and no wind known
        (217, 7, [True]),
        (217, 57, []),  # the needle is alive by then, and is followed
    ],
)
def test_the_headings_of_a_procedure_turn(out, back, failed):
    """Definition: the procedure publishes them; ten degrees are what a heading is held to, thirty are another one."""
    report = around((out, 60, -1), (back, 60, 1), (82, 120, 1))
    assert [found.failed for found in report.judgement("turn_heading").findings] == failed
    assert report.judgement("turn_side").verdict == "met"


def test_a_first_lap_with_hardly_a_leg_is_too_short():
    """AIM 5-3-8: the first lap is there to find the wind; with a quarter of a minute inbound it finds nothing.

    Common practice, no source: it stays within what is protected; while there is a leg at all it is passed.
    """
    for outbound_s, failed in ((25, False), (6, True)):
        short = holding(((255, outbound_s, -1), (75, None, -1)) * 3)
        assert [found.failed for found in short.judgement("hold_leg").findings] == [failed]


def test_out_along_another_radial_is_no_heading():
    """Definition: the radial was flown through and another one met far out: no heading was held badly."""
    report = judged(recorded(dataclasses.replace(maker.SALTMARSH, missed_radial_deg=148)))
    assert [(found.error, found.critical) for found in report.judgement("missed_track").findings] == [(80, True)]


@pytest.mark.parametrize(
    ("outbound_s", "failed"), [(110, []), (75, [False]), (70, [True]), (30, [True]), (240, [True])]
)
def test_half_or_double_the_time_outbound_is_not_passed(outbound_s, failed):
    """Common practice, no source: what is left of the leg inbound is no leg, or it leads towards the limit."""
    assert [found.failed for found in tarvue(outbound_s=outbound_s).judgement("turn_time").findings] == failed


@pytest.mark.parametrize("side", [1, -1])
def test_a_circle_on_the_timed_leg_is_no_part_of_a_procedure_turn(side):
    """Definition: a procedure turn goes out one way and back the other; once round in two minutes is a circle."""
    start = np.deg2rad(82 - 13)
    once = [(262 + side * turned, 1, side) for turned in (120, 240, 360)]
    legs = [(262, 200, 0), *once, (262, 60, 0), (217, 60, -1), (37, 40, 1), (82, 120, 1)]
    track = steered("tarvue", 4 * np.sin(start), 4 * np.cos(start), legs, alt_ft=2040.0)
    report = judged(track, "tarvue")
    assert [found.error for found in report.judgement("circle").findings] == [91]
    assert not around((217, 60, -1), (37, 40, 1), (82, 120, 1)).judgement("circle").findings


def test_the_reciprocal_met_on_a_cut_and_tracked_away():
    """Definition: turned over the station towards the other end of the course, met it miles out, and back."""
    arc = [(45 + 10 * step, 58, 0) for step in range(7)]
    back = ((298, 165, -1), (310, 320, 1))
    report = saltmarsh_from(69, 2.8, (249, 110, 0), (160, 1, -1), (100, 60, -1), (130, 90, 1), *back, *arc)
    (finding,) = [found for found in report.judgement("outbound").findings if found.critical]
    assert finding.error == 9
    assert 9 not in errors(saltmarsh_from(69, 2.8, (249, 110, 0), (310, 420, 1), *arc), "outbound")


@pytest.mark.parametrize("out_s", [0, 1, 75])
def test_outbound_at_the_end_of_the_arc(out_s):
    """Definition: the line leads in; a minute out along it, beyond the arc, is the other way. A late turn is none."""
    legs = [*steps_to_the_line(), (203, out_s, 1), (113, 10, -1), (23, 300, -1)] if out_s else [
        *steps_to_the_line(), (23, 300, -1)
    ]  # fmt: skip
    start = np.deg2rad(88 - 13)
    report = judged(steered("wygate", 3 * np.sin(start), 3 * np.cos(start), legs, alt_ft=3040.0), "wygate")
    critical = [found.error for found in report.judgement("to_final").findings if found.critical]
    assert critical == ([9] if out_s == 75 else [])


def steps_to_the_line():
    """From the station by radial 268 and the 12 NM arc, in steps of ten radials, to radial 208 or so."""
    return [(268, 520, 0), *((173 - 10 * step, 75.4 - 3.0, 0) for step in range(6))]


@pytest.mark.parametrize(("out_deg", "critical"), [(262, []), (232, [63]), (292, [63]), (284, []), (270, [])])
def test_another_radial_on_the_timed_leg(out_deg, critical):
    """Definition: a leg by the clock has a course as well; beside it for two minutes it is another, by thirty degrees
    miles beside the leg."""
    start = np.deg2rad(27 - 13)
    met = 30 if out_deg > 240 else 0  # the farther turn ends beside the radial, and meets it on a cut
    legs = [(207, 145, 0), (out_deg + met, 25, 0), (out_deg, 100, 0), (217, 60, -1), (37, 60, 1), (82, 120, 1)]
    report = judged(steered("tarvue", 4 * np.sin(start), 4 * np.cos(start), legs, alt_ft=2640.0), "tarvue")
    assert [found.error for found in report.judgement("outbound").findings if found.critical] == critical


@pytest.mark.parametrize(("aside_m", "critical"), [(0, []), (20, []), (-110, [93]), (110, [93])])
def test_touched_down_beside_the_runway(aside_m, critical):
    """Common practice, no source: no runway is wider than sixty metres; farther off its centre one is beside it."""
    report = landing(0.0, aside_m=aside_m)
    assert [found.error for found in report.judgement("touchdown").findings if found.critical] == critical


def test_the_whole_approach_about_another_station():
    """Definition: the same headings and distances about a station of nearly the same ident, sixty miles away."""
    way, track = procedure.load("saltmarsh"), recorded()
    other = next(station for station in way.other_stations if station.ident == "OUK")
    north, east = other.lat_deg - way.station.lat_deg, other.lon_deg - way.station.lon_deg
    narrow = np.cos(np.deg2rad(way.station.lat_deg)) / np.cos(np.deg2rad(other.lat_deg))
    lon_deg = way.station.lon_deg + east + (track.lon_deg - way.station.lon_deg) * narrow
    report = judged(with_columns(track, lat_deg=track.lat_deg + north, lon_deg=lon_deg))
    (finding,) = report.judgement("identified").findings
    assert finding.critical
    assert "Outer Keld, OUK" in finding.what
    far = with_columns(track, lat_deg=track.lat_deg + north / 2, lon_deg=track.lon_deg + east / 2)
    with pytest.raises(BadData):
        judged(far)
    assert judged(track).judgement("identified").verdict == "not judged"


@pytest.mark.parametrize(("low_ft", "said"), [(0.0, set()), (-100.0, set()), (-330.0, {94})])
def test_low_on_the_way_to_the_first_fix(low_ft, said):
    """ACS IR.VI.A.S9: the altitude at which the approach may begin is the lowest up to its first fix."""
    report = in_part("before", low_ft)
    assert errors(report, "floor") == said
    assert any(found.critical for found in report.judgement("floor").findings) == bool(said)


def test_climbing_to_the_altitude_of_the_first_fix_is_not_low():
    """Definition: on the way up to it, and there in time."""
    track = recorded()
    low_ft = np.interp(track.time_s, [0.0, 100.0], [-900.0, 0.0])
    assert not errors(judged(with_columns(track, alt_ft=track.alt_ft + low_ft)), "floor")


@pytest.mark.parametrize(("legs", "error"), [
    (((268, 190, 0), (300, 45, 0), (280, 120, 0), (232, 45, 0)), 7),
    (((282, 420, 0),), 63),
], ids=["let go and taken up again", "another radial"])  # fmt: skip
def test_a_line_that_was_held_is_no_other_radial(legs, error):
    """Definition: who holds the line, drifts off it and comes back on the same leg never meant another one."""
    start = np.deg2rad(88 - 13)
    arc = [(173 - 10 * step, 72, 0) for step in range(4)]
    report = judged(steered("wygate", np.sin(start), np.cos(start), (*legs, *arc), alt_ft=3440.0), "wygate")
    assert errors(report, "needle_before_final") == {error}


@pytest.mark.parametrize("away", [
    ((188, 75, 0), (150, 60, 0), (112, 40, 0), (163, 80, 0), (175, 80, 0)),
    ((98, 70, 0), (146, 100, 0), (200, 110, 0), (170, 80, 0), (178, 60, 0)),
], ids=["inside", "outside"])  # fmt: skip
def test_an_arc_left_and_come_back_to(away):
    """ACS IR.V.A.S6: more than a mile off the arc that was held before and after: no other distance was meant."""
    report = on_arc(5.0, steps=3, after=(*away, (281, 200, 0)))
    (finding,) = [found for found in report.judgement("arc").findings if found.sure]
    assert finding.error in (25, 27)
    assert (finding.failed, finding.critical) == (True, False)
    assert not report.judgement("to_final").findings


@pytest.mark.parametrize(("side", "failed"), [(-1, []), (1, [True])])
def test_the_long_way_round_over_the_station(side, failed):
    """Definition: the sum of the change of heading tells which way it was turned, and by how much."""
    start = np.deg2rad(102 - 13)
    legs = (
        (282, 146, 0),
        (212, 30, side),
        (222, 60, 0),
        (212, 250, 0),
        *((112 + 10 * step, 60, 0) for step in range(3)),
    )
    report = judged(steered("jarvu", 4 * np.sin(start), 4 * np.cos(start), legs, alt_ft=3340.0), "jarvu")
    assert [found.failed for found in report.judgement("outbound").findings if found.error == 95] == failed
    assert 12 not in errors(report, "outbound")


def test_a_hold_on_another_radial_of_the_missed_approach():
    """Definition: through the published radial to another one, and laps there: that one was meant."""
    laps = ((323, 60, 1), (143, 60, 1), (323, 60, 1), (143, 60, 1))
    plan = dataclasses.replace(maker.SALTMARSH, missed_radial_deg=143)
    (finding,) = flown(plan, hold=laps).judgement("missed_track").findings
    assert (finding.error, finding.critical) == (63, True)
    (lost,) = flown(plan).judgement("missed_track").findings
    assert "hold was flown" not in lost.what


@pytest.mark.parametrize(("rate_deg_s", "failed"), [(4.5, []), (8.0, [True])])
def test_a_turn_steeper_than_instrument_flight_asks_for(rate_deg_s, failed):
    """Physics: at 100 kt 4.5 degrees a second are 22 degrees of bank, 8 are 36; thirty are the most."""
    legs = [(262, 90, 0), (82, 120, 1)]
    report = judged(steered("tarvue", 0.0, 0.2, legs, alt_ft=2040.0, rate_deg_s=rate_deg_s), "tarvue")
    assert [found.failed for found in report.judgement("bank").findings] == failed


@pytest.mark.parametrize(("wind_kt", "failed"), [(12.0, False), (32.0, True)])
def test_blown_through_the_line_in_the_hold(wind_kt, failed):
    """ACS IR.III.B: miles through the line after the turn, its needle out of the tolerance, is not passed."""
    report = laps_through_the_air(0.0, wind_true_deg=345.0, wind_kt=wind_kt)
    assert any(found.failed for found in report.judgement("hold_wind").findings) == failed


@pytest.mark.parametrize(("out_s", "failed"), [(175, [True]), (0, [])])
def test_the_corner_cut_from_the_arc(out_s, failed):
    """ACS IR.V.A.S6: half as much again as the tolerance inside, and on no line for longer than promptly."""
    after = ((216, out_s, 0), (281, 220, 0)) if out_s else ((281, 200, 0),)
    report = on_arc(5.0, steps=6 if out_s else 8, after=after)
    assert [found.failed for found in report.judgement("to_final").findings if found.error == 31] == failed


def test_a_descent_that_levels_just_before_the_fix_was_begun_early():
    """Definition: down through the floor in one go and level in sight of the fix, it was the next descent."""
    track = recorded()
    leg = next(part for part in judged(track).parts if part.text.startswith("KESTU to OVK"))
    on = (track.time_s >= leg.start_s - 5.0) & (track.time_s <= leg.end_s)
    late = np.interp(track.time_s, [leg.end_s - 125.0, leg.end_s - 25.0], [2440.0, 1250.0])
    report = judged(with_columns(track, alt_ft=np.where(on, late, track.alt_ft)))
    assert errors(report, "floor") == {33}


def test_a_rate_that_eases_between_dives_swings():
    """FSF: no stabilised approach; three dives eased to a few hundred feet a minute and no more are one fault."""
    track = recorded(end="missed")
    final = [part for part in judged(track).parts if part.segment == "final"]
    since = track.time_s - final[0].start_s - 10.0
    down = (since > 0.0) & (since < 90.0)
    wave = np.where(down, 60.0 * (1.0 - np.cos(2.0 * np.pi * since / 30.0)), 0.0)
    report = judged(with_columns(track, alt_ft=track.alt_ft + wave))
    assert errors(report, "sink") == {73}
    assert report.verdict == "not passed"


def test_up_again_from_the_minimums_before_the_missed_approach_point():
    """ACS IR.VI.A.S12: +100 to the VDP or MAP; without a landing a slow climb past the VDP is no missed approach."""
    track, way = recorded(), the("saltmarsh")
    seen = judged(track).seen
    to_go_nm = way.fix("MAP").dist_nm - np.interp(track.time_s, seen.time_s, seen.ground_nm)
    low = track.alt_ft < way.mda_ft("A") + 60.0
    up = np.where(low & (to_go_nm > 0.0), np.interp(to_go_nm, [0.5, 0.9], [180.0, 0.0]), 0.0)
    begun = track.time_s > track.time_s[np.flatnonzero(low)[-1]]
    after = np.where(begun, 180.0, up)
    assert 41 in errors(judged(with_columns(track, alt_ft=track.alt_ft + after)), "mda_high")
    assert not errors(judged(track), "mda_high")


def one_lap(nm, laps, last_s=90):
    """Laps about another distance on the radial of the missed approach, the fix never reached."""
    rows = maker.make(WYGATE, maker.Habits())
    east, north = rows[:, 1], rows[:, 2]
    out = np.flatnonzero((np.hypot(east, north) > nm) & (np.arange(len(rows)) > 0.8 * len(rows)))[0]
    before = maker.record(WYGATE, rows[:out])
    legs = [(75, 1, 0)]
    for _ in range(laps):
        legs += [(255, 60, -1), (75, 60, -1)]
    legs[-1] = (75, last_s, -1)
    lap = steered("wygate", float(east[out]), float(north[out]), legs, alt_ft=float(rows[out, 3]), kt=95.0)
    columns = ("lat_deg", "lon_deg", "alt_ft")
    put = {name: np.concatenate([getattr(before, name), getattr(lap, name)]) for name in columns}
    time_s = np.concatenate([before.time_s, before.time_s[-1] + 1.0 + lap.time_s])
    return judged(Track(time_s, **put), "wygate")


@pytest.mark.parametrize(("nm", "laps", "critical"), [(8.0, 1, [True]), (8.0, 2, [True]), (10.0, 1, [False])])
def test_one_lap_about_another_place(nm, laps, critical):
    """Definition: out along the radial, round, back and round on to it again, miles before the fix: a hold there."""
    report = one_lap(nm, laps, last_s=40)
    assert [found.critical for found in report.judgement("hold_leg").findings] == critical
    assert report.verdict == "not passed"


def test_the_minimums_without_the_step_down_fix_where_somebody_spoke_of_the_minimums():
    """Definition: who says what was in sight says when a fix was not identified; of a recording alone nobody does."""
    track = recorded(WYGATE, below_mda_ft=-390.0)
    bare, told = judged(track, "wygate"), judged(track, "wygate", in_sight=False)
    assert not errors(bare, "mda_high")
    assert errors(told, "mda_high") == {59}
    assert not errors(judged(track, "wygate", in_sight=False, step_down=False), "mda_high")


def test_held_low_at_the_minimums_is_no_dip():
    """ACS IR.VI.A.S12: level under the MDA for a minute is an altitude that was held, and not a level-off too low."""
    (found,) = judged(recorded(below_mda_ft=45.0, down_fpm=950.0), in_sight=False).judgement("mda").findings
    assert found.critical
    assert "held" in found.cause
    track = recorded(below_mda_ft=-30.0)
    low = np.flatnonzero(track.alt_ft < the("saltmarsh").mda_ft("A") + 35.0)
    since = track.time_s - track.time_s[low[0]]
    dip = judged(with_columns(track, alt_ft=track.alt_ft - np.interp(since, [0, 8, 14, 24], [0, 85, 85, 0])))
    (found,) = dip.judgement("mda").findings
    assert (found.error, "held" in found.cause) == (40, False)


@pytest.mark.parametrize(("wind_from_deg", "error"), [(214.0 - 13.0, 63), (290.0, 63)])
def test_another_radial_flown_in_a_wind_along_the_line_is_no_drift(wind_from_deg, error):
    """Definition: where the wind asks for nothing, nothing was left out; the radial that was held was meant."""
    winds = ((0.0, wind_from_deg, 17.0),)
    track = recorded(heading=True, wind_from_deg=wind_from_deg, wind_kt=17.0, radial_off_deg=10.0)
    report = judged(track, winds=winds)
    assert errors(report, "needle_final") == {error}


def test_a_line_left_farther_and_farther_is_no_other_radial():
    """Definition: tracked from the station for a minute and then led off to the stop, with nothing held at last."""
    start = np.deg2rad(82 - 13 + 180)
    legs = [(82, 200, 0), (90, 20, 0), (98, 20, 0), (106, 60, 0)]
    track = steered("tarvue", 3 * np.sin(start), 3 * np.cos(start), legs, alt_ft=1640.0)
    report = judged(track, "tarvue")
    assert 63 not in errors(report, "needle_final")


def test_a_weak_climb_is_not_explained_by_its_speed():
    """AIM 5-4-21 b: two hundred feet a minute climb too little at any speed; that is the event, and critical."""
    report = flown(weak_climb_fpm=200.0, craft=FINCH, hold=())
    (found,) = [each for each in report.findings if each.row == "gradient"]
    assert found.critical
    assert "too little climb" in found.cause


@pytest.mark.parametrize(("seconds", "rows"), [(4.0, ["mda"]), (14.0, ["sink"])])
def test_a_short_dive_through_the_minimums_is_a_matter_of_the_minimums(seconds, rows):
    """Common practice, no source: one event, one finding; a dive of some seconds is how somebody ducked under."""
    track = recorded(below_mda_ft=-30.0)
    low = np.flatnonzero(track.alt_ft < the("saltmarsh").mda_ft("A") + 31.0)
    begun_s = float(track.time_s[low[0]]) + 3.0
    down_ft = 1500.0 / 60.0 * seconds
    at_s = [begun_s, begun_s + seconds, begun_s + seconds + 3.0, begun_s + seconds + 14.0]
    more = np.interp(track.time_s, at_s, [0.0, down_ft + 40.0, down_ft + 40.0, 0.0])
    report = judged(with_columns(track, alt_ft=track.alt_ft - more), in_sight=False)
    assert [found.row for found in report.findings if found.row in ("mda", "sink")] == rows
    assert any(found.critical for found in report.findings)


def test_a_speed_that_may_be_off_is_said_and_no_finding():
    """Definition: what only a wind that was worked out makes of a speed is no finding and no praise."""
    report = judged(recorded(kt=100.0, wind_from_deg=300.0, wind_kt=20.0), craft=FINCH)
    verdict = report.judgement("speed_final")
    assert not [found for found in report.findings if found.row == "speed_final"]
    assert verdict.verdict == "cannot tell"
    assert any("Tell the wind" in note for note in report.notes)


@pytest.mark.parametrize(("outbound_s", "expected"), [(200, {52}), (60, set())])
def test_outbound_as_the_recording_ends(outbound_s, expected):
    """Definition: two minutes and more beyond the end of the leg, the turn inbound was not made, lap or no lap."""
    assert errors(flown(WYGATE, hold=((255, outbound_s, -1),)), "hold_leg") == expected


@pytest.mark.parametrize(("down_ft", "verdict"), [(0.0, "met"), (-160.0, "not judged"), (-400.0, "not judged")])
def test_passed_below_the_final_fix_is_no_praise_for_being_down(down_ft, verdict):
    """Definition: a number that is cut off at nothing is not what was seen."""
    report = in_part("OVK to PARDO", down_ft)
    assert report.judgement("fix_high").verdict == verdict


def test_no_praise_for_the_minimums_beside_a_flight_below_them():
    """Definition: who was below the minimums did not keep them."""
    report = in_part("PARDO to MAP", -90.0)
    assert report.judgement("mda").verdict == "missed"
    assert report.judgement("mda_high").verdict != "met"


@pytest.mark.parametrize("kind", ["satellite", "unknown"])
@pytest.mark.parametrize(("down_ft", "lasted_s", "found"), [(0, 60, []), (-115, 60, [False]), (-115, 20, [])])
def test_so_far_below_a_floor_for_so_long_is_told(kind, down_ft, lasted_s, found):
    """ACS IR.VI.A.S9: within 100 ft it costs points, no more; the other level parts agree with the plate."""
    track = dataclasses.replace(recorded(), height_kind=kind)
    begun_s = next(part.start_s for part in judged(track).parts if part.text == "the arc R345 to DOVAN") + 60.0
    there = (track.time_s >= begun_s) & (track.time_s <= begun_s + lasted_s)
    report = judged(with_columns(track, alt_ft=np.where(there, track.alt_ft + down_ft, track.alt_ft)))
    floor = report.judgement("floor")
    assert [each.critical for each in floor.findings if each.sure] == found
    assert (report.judgement("level").verdict == "met") == (not found)
    assert not any("within 20 ft of the floor" in each.what for each in floor.findings)  # 75 ft is not
