"""Kinds of faults from the final fix on, each beside the near neighbour that is none or is another one."""

import math

import numpy as np
import pytest
from needlework.debrief import debrief
from needlework.flying import reference_pilot
from needlework.world import aircraft, procedure, weather
from test_debrief_rows import FINCH, RUBRIC, holding, judged, low_to_the_runway, recorded, the, with_columns
from track_maker import SALTMARSH


def only(report, key):
    (found,) = report.judgement(key).findings
    return found


@pytest.mark.parametrize(("peak_ft", "failed"), [(170.0, False), (270.0, True)])
def test_far_through_the_altitude_is_not_prompt(peak_ft, failed):
    """ACS IR.VI.C.S7: 100 ft, put right promptly; common practice, no source: twice that is not, however short."""
    track = recorded()
    start_s = next(part.start_s for part in judged(track).parts if part.text.startswith("radial 165"))
    bump_ft = np.interp(track.time_s, start_s + np.array([20.0, 40.0, 60.0]), [0.0, peak_ft, 0.0])
    report = judged(with_columns(track, alt_ft=track.alt_ft + bump_ft))
    assert [found.failed for found in report.judgement("after_missed_level").findings] == [failed]


@pytest.mark.parametrize(("early_s", "failed"), [(40.0, False), (46.0, True)])
def test_a_climb_by_the_clock_begun_far_too_early(early_s, failed):
    """Common practice, no source: a little is said; three quarters of a mile are no step of a timing box."""
    way, craft = procedure.load("tarvue"), aircraft.load("Finch")
    day = weather.Day("Calm", "none", weather.parse("000/00"), 15.0, 1013.25)
    track = reference_pilot.fly(way, craft, [day]).one(0).track()
    clean = debrief(track, way, craft, rubric=RUBRIC)
    climb_s = next(part.start_s for part in clean.parts if part.text == "the climb straight ahead")
    early = np.interp(track.time_s + early_s, track.time_s, track.alt_ft)
    alt_ft = np.where(track.time_s > climb_s - early_s - 20.0, early, track.alt_ft)
    found = only(debrief(with_columns(track, alt_ft=alt_ft), way, craft, rubric=RUBRIC), "decision")
    assert (found.error, found.critical, found.failed) == (38, False, failed)


@pytest.mark.parametrize(("ias_kt", "critical"), [(67.0, []), (65.0, [True])])
def test_climbed_slower_than_over_the_threshold(ias_kt, critical):
    """Definition: where ten knots reach below the threshold speed, slower than that is slow all the same."""
    track = recorded()
    climbing = np.gradient(track.alt_ft, track.time_s) > 5.0
    assert FINCH.climb_kt - 10.0 <= 65.0 < FINCH.threshold_kt - 2.0
    report = judged(with_columns(track, ias_kt=np.where(climbing, ias_kt, 90.0)), craft=FINCH)
    slow = [found for found in report.judgement("speed_after_missed").findings if "threshold speed" in found.what]
    assert [found.critical for found in slow] == critical


def by_profile(places_nm, feet):
    """A flight at Saltmarsh with the altitudes of its final given by the distance past the station."""
    track = recorded()
    report = judged(track)
    final = [part for part in report.parts if part.segment == "final"]
    course = math.radians(the("saltmarsh").final_course_deg + SALTMARSH.declination_deg)
    along = report.seen.east_nm * math.sin(course) + report.seen.north_nm * math.cos(course)
    inside = (track.time_s >= final[0].start_s) & (track.time_s <= final[-1].end_s)
    wanted = np.where(inside, np.interp(along, places_nm, feet), track.alt_ft)
    before = (track.time_s < final[0].start_s) & (track.time_s > final[0].start_s - 300.0)
    wanted = np.where(before, np.maximum(wanted, feet[0]), wanted)
    last_ft = wanted[inside][-1]
    after = track.time_s > final[-1].end_s
    return with_columns(track, alt_ft=np.where(after, np.maximum(wanted, last_ft), wanted))


@pytest.mark.parametrize(
    ("places_nm", "feet", "row", "said"),
    [
        ([0.0, 4.8], [1800.0, 900.0], "mda_high", "fpm for the wrong speed"),
        ([0.0, 4.8], [1800.0, 1200.0], "mda_high", "fpm for the wrong speed"),
        ([0.0, 2.4, 4.8], [1800.0, 1800.0, 920.0], "mda_high", "level for"),
        ([0.0, 4.8], [2700.0, 1100.0], "fix_high", "still high at the final fix"),
        ([0.0, 4.8], [1800.0, 1790.0], "mda_high", "never begun"),
        ([0.0, 2.0, 4.8], [1800.0, 930.0, 920.0], "mda_high", "levels off high"),
    ],
    ids=["shallow", "very shallow", "late", "high at the fix", "never", "levelled off"],
)
def test_why_the_minimums_were_not_reached(places_nm, feet, row, said):
    """Definition: too shallow, begun late and begun too high end as far above; the path shows which."""
    report = judged(by_profile(places_nm, feet))
    told = [found for found in report.findings if found.row in ("mda_high", "fix_high")]
    assert [found.row for found in told] == [row]
    assert said in told[0].text


@pytest.mark.parametrize(("beside", "verdict", "failed"), [(286, "missed", False), (298, "missed", True)])
def test_beyond_half_scale_inbound_is_no_line_held(beside, verdict, failed):
    """IPH4: half scale is established; ACS IR.III.B: three quarters is the tolerance."""
    report = holding(((255, 60, -1), (75, None, -1), (beside, 130, -1), (75, 90, -1), (255, 60, -1)))
    judgement = report.judgement("hold_track")
    assert judgement.verdict == verdict
    assert [found.failed for found in judgement.findings] == [failed]
    assert judgement.findings[0].worst > 5.0


def every(track, seconds):
    return track.part(np.mod(np.round(track.time_s), seconds) == 0)


@pytest.mark.parametrize("seconds", [1, 4, 5, 8])
@pytest.mark.parametrize("noise_ft", [0.0, 3.0, 8.0])
def test_few_samples_and_uneven_heights_are_no_swings(seconds, noise_ft):
    """Independent method: a steady descent, sampled seldom and with heights that waver, sinks no faster for it."""
    track = recorded()
    rough_ft = np.random.default_rng(seconds).normal(0.0, 1.0, len(track)) * noise_ft
    report = judged(every(with_columns(track, alt_ft=track.alt_ft + rough_ft), seconds))
    assert not report.judgement("sink").findings


@pytest.mark.parametrize("seconds", [1, 3, 4, 5])
def test_a_pumped_final_is_seen_in_few_samples(seconds):
    """Common practice, no source: level, dive, level again and again is no steady descent, however it was sampled."""
    track = recorded()
    final = [part for part in judged(track).parts if part.segment == "final"]
    since_s = track.time_s - final[0].start_s - 20.0
    saw_ft = np.where((since_s > 0.0) & (since_s < 96.0), 42.0 * np.sin(since_s * 2.0 * np.pi / 24.0), 0.0)
    found = only(judged(every(with_columns(track, alt_ft=track.alt_ft + saw_ft), seconds)), "sink")
    assert (found.error, found.failed) == (73, True)


def test_a_climb_away_that_came_down_again_is_no_decision():
    """ACS IR.VI.A.S12: away from the MDA and back before the point is a balloon; the climb is the last one."""
    places = [0.0, 2.6, 3.2, 3.6, 4.1, 4.6]
    report = judged(by_profile(places, [1800.0, 600.0, 600.0, 800.0, 600.0, 600.0]))
    assert only(report, "mda_high").error == 41
    assert "4.6" in report.judgement("decision").fact or "4.7" in report.judgement("decision").fact


@pytest.mark.parametrize(
    ("kind", "low_ft", "verdict"),
    [("unknown", 45.0, "cannot tell"), ("unknown", 0.0, "met"), ("altimeter", 0.0, "met")],
)
def test_a_path_within_what_the_heights_are_unsure_of_is_not_praised(kind, low_ft, verdict):
    """Definition: where the uncertainty of the heights covers the lowest path, neither is shown."""
    assert low_to_the_runway(low_ft, kind).judgement("path_low").verdict == verdict


def test_an_altitude_held_too_low_is_told_as_it_was_held():
    """Definition: what was held for minutes is the altitude in mind; the deepest of its wavers is not."""
    track = recorded()
    start_s = next(part.start_s for part in judged(track).parts if part.text.startswith("radial 165"))
    waver_ft = np.interp(track.time_s, start_s + np.array([60.0, 80.0, 100.0]), [0.0, 60.0, 0.0])
    low = np.minimum(track.alt_ft, 3100.0) - waver_ft
    alt_ft = np.where(track.time_s > start_s - 200.0, low, track.alt_ft)
    found = only(judged(with_columns(track, alt_ft=alt_ft)), "after_missed_floor")
    assert "about 500 (at most 560) ft below" in found.what


def test_the_last_of_the_climb_is_no_distance_from_the_altitude():
    """Definition: what is praised is how the altitude was held, from where it was come to."""
    report = judged(recorded(margin_ft=30.0))
    for key in ("after_missed_level", "after_missed_floor"):
        judgement = report.judgement(key)
        assert judgement.verdict == "met"
        assert max(int(word) for word in judgement.fact.split() if word.isdigit()) <= 45, judgement.fact  # feet


def test_level_below_the_minimums_is_not_praised_as_down_in_time():
    """Definition: an altitude far below the MDA is not the MDA held."""
    assert judged(recorded(below_mda_ft=150.0)).judgement("mda_high").verdict == "not judged"
    assert judged(recorded()).judgement("mda_high").verdict == "met"
