"""Kinds of faults before the final fix: one flight made for each, and the neighbour that is none."""

import numpy as np
import pytest
from needlework.debrief import debrief, debrief_passage
from needlework.flying.tracklog import Track
from test_debrief_approaches import joined
from test_debrief_kinds import errors, inbound_on, on_arc, steps_to_the_line
from test_debrief_rows import FINCH, RUBRIC, in_part, judged, recorded, steered, tarvue, the, with_columns
from track_maker import WYGATE


def only(report, key):
    (finding,) = [found for found in report.judgement(key).findings if found.sure]
    return finding


# --- what comes before the procedure ---------------------------------------------------------------


def test_standing_at_the_field_is_not_low_at_the_first_fix():
    """Definition: who has not taken off yet holds no altitude, however near the station the field lies."""
    stood_s = np.arange(0.0, 140.0)
    ground = Track(stood_s, np.full(140, 37.64), np.full(140, -46.855), np.full(140, 215.0) + 0.01 * stood_s)
    track, _, _ = joined(ground, recorded(WYGATE))
    assert not errors(judged(track, "wygate"), "floor")


@pytest.mark.parametrize("swing_deg", [0, 60])
def test_over_the_station_long_before_the_procedure(swing_deg):
    """Definition: who takes off and climbs over the station to an entry elsewhere follows no needle there."""
    start, inbound = np.deg2rad(280 - 12), np.deg2rad(18 - 12)
    over = [(100, 100, 0), (100 + swing_deg, 14, 0), (100, 200, 0)]
    climbed = steered("ezrick", 3 * np.sin(start), 3 * np.cos(start), over, alt_ft=4740.0)
    arc = [*((113 + 10 * step, 79, 0) for step in range(8)), (281, 600, 0)]
    way_in = steered("ezrick", 20 * np.sin(inbound), 20 * np.cos(inbound), [(198, 225, 0), *arc], alt_ft=4740.0)
    report = debrief(joined(climbed, way_in)[0], the("ezrick"), entry="VORLI", rubric=RUBRIC)
    assert not report.judgement("cone").findings
    assert not report.judgement("outbound").findings


def test_a_leg_begun_at_a_wrong_altitude_is_one_event():
    """Definition: level below the leg's altitude since before its fix: one finding, on the leg."""
    report = in_part("", -330.0, last_s=700.0)
    finding = only(report, "floor")
    assert (finding.segment, finding.error, finding.critical) == ("OVK to GELPO", 94, True)


# --- altitudes and speeds --------------------------------------------------------------------------


@pytest.mark.parametrize(("change_ft", "word"), [(260.0, "above"), (-200.0, "below")])
def test_the_altitude_left_is_the_one_of_the_leg(change_ft, word):
    """Definition: a step down as published is no excursion from the altitude before it; what leaves it is."""
    track = recorded()
    leg = next(part for part in judged(track).parts if part.text == "the arc R345 to DOVAN")
    ramp = [leg.start_s + after for after in (75.0, 105.0, 165.0, 195.0)]
    off_ft = np.interp(track.time_s, ramp, [0.0, change_ft, change_ft, 0.0])
    report = judged(with_columns(track, alt_ft=track.alt_ft + 150.0 * (word == "below") + off_ft))
    findings = [found for found in report.judgement("level").findings if found.sure]
    assert [word in found.what for found in findings] == [True]


@pytest.mark.parametrize(("rate_deg_s", "turn_deg", "said"), [(9.0, 60, [True]), (4.0, 60, []), (6.0, 170, [])])
def test_a_steep_turn_that_is_soon_over(rate_deg_s, turn_deg, said):
    """Physics: at 100 kt nine degrees a second are 40 degrees of bank, six are 28; thirty are the most."""
    legs = [(262, 90, 0), (262 - turn_deg, 60, -1), (82, 120, 1)]
    report = judged(steered("tarvue", 0.0, 0.2, legs, alt_ft=2040.0, rate_deg_s=rate_deg_s), "tarvue")
    assert [found.failed for found in report.judgement("bank").findings] == said


def test_rough_positions_make_no_bank():
    """Definition: what noise of the positions alone may bend a track by is taken off."""
    assert not judged(recorded(every_s=1.0), craft=FINCH).judgement("bank").findings
    track = recorded()
    rng = np.random.default_rng(3)
    rough = with_columns(
        track,
        lat_deg=track.lat_deg + rng.normal(0, 6e-5, len(track)),
        lon_deg=track.lon_deg + rng.normal(0, 7e-5, len(track)),
    )
    assert not judged(rough).judgement("bank").findings


# --- lines -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("off_deg", "flown"), [(12.0, "322"), (-10.0, "300")])
def test_the_radial_that_was_flown_is_named(off_deg, flown):
    """Definition: straight out on another radial from the station on: the finding says which."""
    start = np.deg2rad(130 - 13)
    legs = [(310, 110, 0), (310 + off_deg * 2.4, 40, 0), (310 + off_deg, 330, 0)]
    arc = [(310 + off_deg + 95 + 10 * step, 60, 0) for step in range(5)]
    track = steered("saltmarsh", 3 * np.sin(start), 3 * np.cos(start), [*legs, *arc], alt_ft=3640.0)
    finding = only(judged(track), "needle_before_final")
    assert finding.error == 63
    said = int(finding.what.removeprefix("radial ")[:3])
    assert abs(said - int(flown)) <= 3  # degrees: it is met from a cut, and a mile beside the station
    assert "where 310 is published" in finding.what


def test_a_line_that_was_held_and_let_go_is_no_other_radial():
    """Definition: tracked inbound on its own line first, then left and flown beside."""
    assert errors(inbound_on(18, (198, 90, 0), (222, 100, 0), (200, 60, 0)), "needle_before_final") == {7}


@pytest.mark.parametrize("out_deg", [203, 172])
def test_outbound_at_the_end_of_the_arc_on_a_cut(out_deg):
    """Definition: the line leads in; away from the station is its other way, on a cut as well."""
    legs = [*steps_to_the_line(), (out_deg, 85, 1), (113, 1, -1), (353, 60, -1), (23, 330, 0)]
    start = np.deg2rad(88 - 13)
    report = judged(steered("wygate", 3 * np.sin(start), 3 * np.cos(start), legs, alt_ft=3040.0), "wygate")
    assert [found.error for found in report.judgement("to_final").findings if found.critical] == [9]


@pytest.mark.parametrize(("legs", "row", "error"), [
    (((75, 150, 0), (5, 210, 0), (23, 60, 0)), "needle_before_final", 63),
    (((75, 70, 0), (353, 110, 0), (23, 200, 0)), "to_final", 30),
], ids=["another radial", "overshot"])  # fmt: skip
def test_through_the_line_to_another_one(legs, row, error):
    """Definition: who crosses the final line and tracks another radial in has overshot nothing."""
    start = np.deg2rad(88 - 13)
    every = [*steps_to_the_line(), *legs]
    report = judged(steered("wygate", 3 * np.sin(start), 3 * np.cos(start), every, alt_ft=3040.0), "wygate")
    assert error in errors(report, row)
    assert ({"to_final", "needle_before_final"} - {row}).isdisjoint({found.row for found in report.findings})


# --- parts left out, and flown elsewhere -----------------------------------------------------------


def test_the_arc_left_out():
    """Definition: out along the radial at its end and turned round there, no part of an arc was flown."""
    start = np.deg2rad(210 - 13)
    legs = [(30, 100, 0), (34, 440, 0), (34 + 45, 40, 0), (214, 900, -1)]
    track = steered("saltmarsh", 3 * np.sin(start), 3 * np.cos(start), legs, alt_ft=3640.0)
    finding = only(judged(track), "arc_join")
    assert (finding.error, finding.critical) == (79, True)
    assert "no part of the 10 NM arc" in finding.what
    assert judged(recorded()).judgement("arc_join").verdict == "met"


def test_straight_in_without_the_procedure_turn():
    """Common practice, no source: a procedure turn that is published is flown, from overhead and out first."""
    start = np.deg2rad(230 - 13)
    legs = [(50, 145, 0), (82, 170, 0)]
    track = steered("tarvue", 4 * np.sin(start), 4 * np.cos(start), legs, alt_ft=1700.0)
    report = judged(track, "tarvue")
    finding = only(report, "turn_side")
    assert (finding.error, finding.failed, finding.critical) == (83, True, False)
    assert not any(found.row == "outbound" for found in report.findings)
    assert tarvue().judgement("turn_side").verdict == "met"


@pytest.mark.parametrize(("out_s", "said"), [(17, {77}), (60, set())])
def test_a_leg_of_the_procedure_turn_that_is_hardly_flown(out_s, said):
    """Common practice, no source: half the minute of its leg leaves no room to turn back on to the line."""
    legs = [(207, 145, 0), (262, 120, 0), (217, out_s, -1), (37, 45, 1), (82, 120, 1)]
    start = np.deg2rad(27 - 13)
    report = judged(steered("tarvue", 4 * np.sin(start), 4 * np.cos(start), legs, alt_ft=2640.0), "tarvue")
    assert errors(report, "turn_time") == said


@pytest.mark.parametrize(("held_ft", "error"), [(1650.0, 28), (1800.0, 94)])
def test_low_outbound_and_in_the_procedure_turn(held_ft, error):
    """Definition: gone down outbound to the altitude of the leg inbound, or to none that is published."""
    legs = [(207, 145, 0), (262, 120, 0), (217, 60, -1), (37, 60, 1), (82, 120, 1)]
    start = np.deg2rad(27 - 13)
    track = steered("tarvue", 4 * np.sin(start), 4 * np.cos(start), legs, alt_ft=2640.0)
    down = np.interp(track.time_s, [165.0, 165.0 + (2640.0 - held_ft) / 10.0], [2640.0, held_ft])
    finding = only(judged(with_columns(track, alt_ft=down), "tarvue"), "floor")
    assert (finding.error, finding.critical) == (error, True)


# --- on to the arc, and off it ---------------------------------------------------------------------


def out_to_the_arc(*legs, out_s=510, alt_ft=3440.0):
    """From WYG out on radial 268, at the altitude of that leg, and on from there; the arc turns to the left."""
    start = np.deg2rad(88 - 13)
    return steered("wygate", 2 * np.sin(start), 2 * np.cos(start), [(268, out_s, 0), *legs], alt_ft=alt_ft)


@pytest.mark.parametrize(("side", "said"), [(1, [95]), (-1, [])])
@pytest.mark.parametrize("steady_deg", [173, 213])
def test_the_long_way_round_on_to_the_arc(side, said, steady_deg):
    """Common practice, no source: three quarters of a circle where a quarter leads on to the arc."""
    arc = [(steady_deg, 20, side), *((173 - 10 * step, 72, 0) for step in range(1, 5))]
    report = judged(out_to_the_arc(*arc, out_s=480 if side > 0 else 470), "wygate")
    assert [found.error for found in report.judgement("arc_join").findings if found.error == 95] == said
    assert all(found.failed and not found.critical for found in report.judgement("arc_join").findings if said)
    assert report.judgement("circle").verdict == ("not judged" if said else "met")


def test_a_way_along_the_arc_and_back_is_no_long_way_round():
    """Definition: on to the arc the wrong way, a minute along it, and round: that is the wrong way round."""
    report = judged(out_to_the_arc((358, 60, 1), (173, 60, 1), (163, 72, 0), (153, 72, 0)), "wygate")
    assert 95 not in errors(report, "arc_join")
    assert errors(report, "way_round") == {21}


@pytest.mark.parametrize("then", [(), ((178, 240, 1),), ((268, 300, 1),)], ids=["on", "away", "back"])
@pytest.mark.parametrize("inbound_deg", [20, 90, 160])
@pytest.mark.parametrize(("name", "course_deg"), [("wygate", 268), ("saltmarsh", 310), ("jarvu", 212), ("keld", 250)])
def test_the_reciprocal_flown_out_from_the_station_and_nothing_else(name, course_deg, inbound_deg, then):
    """Definition: the other end of the course for miles: that no arc was joined is what came of it."""
    inbound_deg += course_deg
    start = np.deg2rad(inbound_deg + 180 + the(name).station.declination_deg)
    legs = [
        (inbound_deg, 185, 0),
        (course_deg + 180, 300, 0),
        *((deg - 268 + course_deg, s, side) for deg, s, side in then),
    ]
    report = judged(steered(name, 5 * np.sin(start), 5 * np.cos(start), legs, alt_ft=3640.0), name)
    (found,) = report.findings
    assert found.row in ("outbound", "reversed")
    assert (found.error, found.critical) == (9, True)


@pytest.mark.parametrize(("up_ft", "verdict"), [(1000.0, "not complete"), (0.0, "not passed")])
def test_who_climbs_away_on_the_turn_to_the_arc_never_meant_to_fly_it(up_ft, verdict):
    """Definition: a climb of a thousand feet begun before the arc, and straight on: the approach was given up."""
    track = out_to_the_arc((208, 260, 0))
    climb_ft = np.clip((track.time_s - 480.0) * 15.0, 0.0, up_ft)
    report = judged(with_columns(track, alt_ft=track.alt_ft + climb_ft), "wygate")
    assert report.verdict == verdict
    assert bool(report.findings) == (verdict == "not passed")


def inside_the_arc(back):
    """Turned on to the arc of 12 NM at 10.3 and round there; ``back``: out to it in the end."""
    legs = [(173 - 11.5 * step, 70, 0) for step in range(3)]
    if back:
        legs += [(190, 58, 0), *((133 - 9.8 * step, 72, 0) for step in range(3))]
    else:
        legs += [(173 - 11.5 * step, 70, 0) for step in range(3, 7)]
    return judged(out_to_the_arc(*legs, out_s=423), "wygate")


@pytest.mark.parametrize("back", [True, False])
def test_a_turn_begun_too_soon_is_no_other_arc(back):
    """Common practice, no source: who takes it back and holds the arc knew its number, and turned too soon."""
    report = inside_the_arc(back)
    (found,) = [one for one in report.findings if one.row in ("arc", "arc_join")]
    assert (found.row, found.error, found.critical) == (("arc_join", 20, False) if back else ("arc", 78, False))
    assert report.verdict == "not passed"


@pytest.mark.parametrize(("beside_s", "failed"), [(50, False), (130, True)])
def test_turned_all_the_way_and_beside_the_final_line(beside_s, failed):
    """IPH4: the turn is finished as the needle comes in; ACS IR.VI.A.S9, three quarters, left for minutes."""
    report = on_arc(5.0, after=((281, beside_s, 0), (241, 90, 0), (281, 120, 0)))
    found = only(report, "to_final")
    assert (found.error, found.failed, found.critical) == (31, failed, False)
    assert "beside it" in found.what


# --- a passage flown alone -------------------------------------------------------------------------


@pytest.mark.parametrize(("up_ft", "said"), [(260.0, [64]), (-260.0, [64]), (60.0, [])])
def test_an_altitude_left_in_a_passage_flown_alone(up_ft, said):
    """ACS IR.VI.A.S9: 100 ft of the altitude that was held, with no procedure about it as well."""
    track = steered("saltmarsh", *beside_the_station(), [(130, 182, 0), (190, 240, 0)], alt_ft=3600.0)
    off_ft = np.interp(track.time_s, [120.0, 150.0, 240.0, 270.0], [0.0, up_ft, up_ft, 0.0])
    report = passage_of(with_columns(track, alt_ft=track.alt_ft + off_ft))
    assert [found.error for found in report.findings] == said
    assert (report.verdict == "passed") == (not said)


def beside_the_station():
    start = np.deg2rad(310 - 13)
    return 5 * np.sin(start), 5 * np.cos(start)


def passage_of(track):
    return debrief_passage(track, the("saltmarsh"), None, 130.0, 190.0, rubric=RUBRIC)


@pytest.mark.parametrize(("rate_deg_s", "said"), [(9.0, [89]), (3.0, [])])
def test_the_bank_of_a_passage_flown_alone(rate_deg_s, said):
    """Physics: at 100 kt nine degrees a second are 40 degrees of bank; thirty are the most on instruments."""
    legs = [(130, 182, 0), (190, 240, 0)]
    track = steered("saltmarsh", *beside_the_station(), legs, alt_ft=3600.0, rate_deg_s=rate_deg_s)
    assert [found.error for found in passage_of(track).findings] == said


def test_a_circle_in_a_passage_flown_alone():
    """Common practice, no source: once round on a radial is asked for by nobody."""
    legs = [(130, 60, 0), (0, 1, 1), (130, 122, 1), (190, 240, 0)]
    assert errors(passage_of(steered("saltmarsh", *beside_the_station(), legs, alt_ft=3600.0)), "circle") == {91}


def test_a_passage_flown_alone_has_no_protected_area():
    """Definition: beyond what is protected about a segment is critical on a segment; alone there is none."""
    legs = [(130, 380, 0), (190, 200, 0)]
    report = passage_of(steered("saltmarsh", *beside_the_station(), legs, alt_ft=3600.0))
    assert report.verdict == "not passed"
    assert not [found for found in report.findings if found.critical]


def test_a_cut_taken_out_before_the_station_is_no_turn_begun_early():
    """P-340 p. 6-21: on to the course inbound, and only after the station to the one outbound."""
    east, north = (1.0 * np.sin(np.deg2rad(220 - 13)), 1.0 * np.cos(np.deg2rad(220 - 13)))
    start = beside_the_station()
    legs = [(112, 125, 0), (130, 40, 0), (190, 160, 0)]
    track = steered("saltmarsh", start[0] - 1.3 * east, start[1] - 1.3 * north, legs, alt_ft=3600.0)
    assert not errors(passage_of(track), "cone")


@pytest.mark.parametrize(("rate_deg_s", "said"), [(9.0, [89]), (4.0, [])])
@pytest.mark.parametrize("every", [4, 5, 6])
def test_few_samples_of_a_steep_turn(rate_deg_s, said, every):
    """Physics: what the directions from point to point turn by in their time was turned at least."""
    legs = [(130, 182, 0), (220, 240, 0)]
    track = steered("saltmarsh", *beside_the_station(), legs, alt_ft=3600.0, rate_deg_s=rate_deg_s)
    few = track.part(np.arange(len(track)) % every == 0)
    bank = passage_of(few).judgement("bank")
    assert [found.error for found in bank.findings] == said
    assert (bank.verdict == "not judged") == (not said)


# --- one altitude, one event -----------------------------------------------------------------------


def test_an_altitude_held_far_too_low_is_no_descent_begun_early():
    """Definition: a thousand feet low from the station to the end of the arc: nothing was left at its end."""
    track = recorded()
    parts = judged(track).parts
    begun = next(part for part in parts if part.text == "OVK to GELPO").start_s
    ends = next(part for part in parts if part.segment == "intermediate").start_s + 60.0
    low = np.where((track.time_s > begun) & (track.time_s < ends), 2600.0, track.alt_ft)
    report = judged(with_columns(track, alt_ft=np.minimum(track.alt_ft, low)))
    (found,) = [one for one in report.findings if one.critical]
    assert (found.row, found.error) == ("floor", 94)
    assert not [one for one in report.findings if one.row in ("established_first", "level")]


# --- turns the long way, and needles followed ------------------------------------------------------


@pytest.mark.parametrize(("side", "said"), [(-1, [95]), (1, [])])
def test_the_long_way_round_off_the_arc(side, said):
    """Common practice, no source: three quarters of a circle where a quarter leads on to the final line."""
    report = on_arc(5.0, after=((236, 60, side), (281, 120, 0)))
    assert [found.error for found in report.judgement("to_final").findings if found.error == 95] == said
    assert not said or report.verdict == "not passed"


@pytest.mark.parametrize(("legs", "said", "failed"), [
    (((160, 4, 0), (100, 4, -1), (190, 160, 0)), [11], True),
    (((110, 3, 0), (190, 160, 0)), [11], False),
    (((220, 30, 0), (190, 160, 0)), [], False),
    (((190, 160, 0),), [], False),
], ids=["both sides", "a little", "past it and on to it", "straight to it"])  # fmt: skip
def test_a_needle_followed_behind_the_station(legs, said, failed):
    """P-340 p. 6-21: behind the station any heading from the old to the new course, and not away from it again."""
    report = passage_of(steered("saltmarsh", *beside_the_station(), [(130, 182, 0), *legs], alt_ft=3600.0))
    found = report.judgement("cone").findings
    assert [one.error for one in found] == said
    assert any(one.failed for one in found) == failed


def test_the_reciprocal_flown_beside_its_radial():
    """Definition: away on the other end of the course for over a minute, whatever turns led to it."""
    legs = [(130, 182, 0), (190, 20, 1), (10, 110, 1), (190, 160, -1)]
    report = passage_of(steered("saltmarsh", *beside_the_station(), legs, alt_ft=3600.0))
    assert [found.critical for found in report.judgement("outbound").findings if found.error == 9] == [True]


@pytest.mark.parametrize(("straight_s", "error"), [(-6, 81), (30, 16)])
def test_a_heading_through_the_line_is_a_cut_where_it_led_to_it(straight_s, error):
    """Common practice, no source: at the line as the turn ends there was nothing to meet: the heading was wrong."""
    legs = [(130, 182 + straight_s, 0), (225, 100, 0), (150, 60, 0)]
    report = passage_of(steered("saltmarsh", *beside_the_station(), legs, alt_ft=3600.0))
    assert [one.error for one in report.judgement("outbound").findings] == [error]


def test_a_needle_out_in_a_turn_is_out_as_long_as_it_is_out():
    """ACS IR.V.A.S6: three quarters left for half a minute is not put right in time, the turn back counted in."""
    start = np.deg2rad(88 + the("wygate").station.declination_deg)
    legs = [(268, 264, 0), (298, 70, 0), (238, 90, 0), (268, 80, 0), (178, 300, 0)]
    report = judged(steered("wygate", 4 * np.sin(start), 4 * np.cos(start), legs, alt_ft=3440.0), "wygate")
    (found,) = report.judgement("needle_before_final").findings
    seen, leg = report.seen, next(part for part in report.parts if part.text == "WYG to NULBO")
    out = (np.abs(np.mod(seen.radial_deg - 268.0 + 180.0, 360.0) - 180.0) > 7.5) & (seen.ground_nm > 1.5)
    out &= (seen.time_s > leg.start_s) & (seen.time_s < leg.end_s)
    assert 30.0 < found.length_s == pytest.approx(float(out.sum()), abs=8.0)  # s: of what places may be off


@pytest.mark.parametrize(("back_ft", "error"), [(0.0, 65), (230.0, 64)])
def test_an_altitude_lost_in_the_turn_off_the_arc(back_ft, error):
    """Definition: who goes down on purpose does not come up; what was lost and climbed back was lost."""
    flight = on_arc(5.0, after=((236, 40, 1), (281, 120, 0)))
    at_s = next(part for part in flight.parts if part.segment == "intermediate").start_s - 25.0
    time_s = flight.track.time_s
    lost_ft = np.interp(time_s, at_s + np.array([0.0, 25.0, 45.0, 70.0]), [0.0, 230.0, 230.0, 230.0 - back_ft])
    held_ft = np.interp(time_s, [0.0, 300.0, 330.0], [4740.0, 4740.0, 4240.0])
    report = judged(with_columns(flight.track, alt_ft=held_ft - lost_ft), "ezrick")
    assert only(report, "floor").error == error


def test_the_noise_of_a_standing_recording_is_no_circle():
    """Definition: at a walk the places go round by their noise alone."""
    track = recorded(WYGATE, end="landing")
    rng = np.random.default_rng(5)
    still = np.arange(1.0, 200.0)
    more = Track(
        np.concatenate([track.time_s, track.time_s[-1] + still]),
        np.concatenate([track.lat_deg, track.lat_deg[-1] + rng.normal(0, 2e-5, len(still))]),
        np.concatenate([track.lon_deg, track.lon_deg[-1] + rng.normal(0, 2e-5, len(still))]),
        np.concatenate([track.alt_ft, np.full(len(still), track.alt_ft[-1])]),
    )
    assert not judged(more, "wygate").judgement("circle").findings


@pytest.mark.parametrize(("out_s", "critical"), [(63, False), (90, True)])
def test_not_quite_on_the_line_and_down(out_s, critical):
    """CFR 91.175 (i) and ACS IR.VI.A.S9: between half and three quarters a line is flown within its tolerance."""
    legs = [(262, 260, 0), (217, out_s, -1), (37, 1, 1), (82, 40, 1), (64, 40, 0), (82, 60, 0)]
    start = np.deg2rad(82 - 13)
    track = steered("tarvue", 4 * np.sin(start), 4 * np.cos(start), legs, alt_ft=2040.0)
    begun_s = next(part for part in judged(track, "tarvue").parts if part.text == "to TVU").start_s
    down_ft = np.interp(track.time_s, [begun_s, begun_s + 20.0], [2040.0, 1740.0])
    found = judged(with_columns(track, alt_ft=down_ft), "tarvue").judgement("established_first").findings
    assert [one.critical for one in found] == [critical]


# --- given up ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("turn_deg", [0, 60, -60, 150])
@pytest.mark.parametrize("share", [0.3, 0.6, 0.95])
@pytest.mark.parametrize("leg", ["OVK to GELPO", "the arc GELPO to R345", "the arc R345 to DOVAN", "DOVAN to KESTU"])
def test_who_climbs_away_on_a_leg_is_judged_to_there(leg, share, turn_deg):
    """Definition: a climb far above every leg, and to the end of the recording, gives the approach up wherever."""
    track = recorded()
    report = judged(track)
    part = next(part for part in report.parts if part.text == leg)
    at = int(np.searchsorted(track.time_s, part.start_s + share * (part.end_s - part.start_s)))
    seen, here = report.seen, int(np.searchsorted(report.seen.time_s, track.time_s[at]))
    way = float(seen.track_deg[here])
    legs = [(way, 1, 0), (way + turn_deg, 300, int(np.sign(turn_deg)))]
    away = steered("saltmarsh", seen.east_nm[here], seen.north_nm[here], legs, kt=float(seen.gs_kt[here]))
    climbed_ft = track.alt_ft[at] + np.minimum(away.time_s * 10.0, 2500.0)
    rest = {"time_s": track.time_s[at] + 1.0 + away.time_s, "lat_deg": away.lat_deg, "lon_deg": away.lon_deg}
    columns = {**rest, "alt_ft": climbed_ft}
    flown = Track(**{name: np.concatenate([getattr(track, name)[: at + 1], columns[name]]) for name in columns})
    given_up = judged(flown)
    assert [found.text for found in given_up.findings] == []
    assert given_up.verdict == "not complete"


def test_a_climb_back_to_the_altitude_of_the_leg_gives_nothing_up():
    """Definition: six hundred feet low and up again to what the leg asks for was low, and went on."""
    track = recorded()
    part = next(part for part in judged(track).parts if part.text == "OVK to GELPO")
    low_ft = np.interp(track.time_s, part.start_s + np.array([10, 60, 150, 200]), [0, 600, 600, 0])
    report = judged(with_columns(track, alt_ft=track.alt_ft - low_ft).part(track.time_s < part.end_s + 300.0))
    assert [found.row for found in report.findings if found.critical] == ["floor"]
    assert not any(part.text == "after the procedure" for part in report.parts)


@pytest.mark.parametrize("turned_nm", [1.1, 1.33])
def test_a_small_turn_begun_just_outside_the_last_mile(turned_nm):
    """P-340 p. 6-21: what was brought in is the heading before the turn, however near the last mile that began."""
    legs = [(130, (5.0 - turned_nm) * 36.0, 0), (160, 200, 0)]
    track = steered("saltmarsh", *beside_the_station(), legs, alt_ft=3600.0)
    few = track.part(np.arange(len(track)) % 2 == 0)
    report = debrief_passage(few, the("saltmarsh"), None, 130.0, 160.0, rubric=RUBRIC)
    assert [(found.error, found.failed) for found in report.judgement("cone").findings] == [(13, True)]


def test_an_arc_that_was_held_and_slid_off_is_no_other_arc():
    """Common practice, no source: who held the right distance for minutes knew it; what came after was drift."""
    start = np.deg2rad(18 - 12)
    arc = [(113 + 10 * step, 79, 0) for step in range(3)]
    slide = [(deg, 29, 0) for deg in (156, 161, 165, 168, 172, 174, 175, 174, 172, 174, 178, 183)]
    legs = [(198, (20.0 - 13.0 - 0.55) * 36.0, 0), *arc, *slide]
    report = judged(steered("ezrick", 20 * np.sin(start), 20 * np.cos(start), legs, alt_ft=4740.0), "ezrick")
    assert 78 not in errors(report, "arc")
    assert only(report, "arc").what.startswith("1.")


@pytest.mark.parametrize(("before_deg", "error"), [(0, 7), (-4, 7)])
def test_a_heading_away_from_a_needle_hardly_out_is_no_needle_misread(before_deg, error):
    """Common practice, no source: a needle within a quarter of its scale is followed by nobody the wrong way."""
    start = np.deg2rad(88 + the("wygate").station.declination_deg)
    legs = [(268, 200, 0), (268 - before_deg, 64, 0), (298, 90, 0), (238, 110, 0), (268, 80, 0), (178, 300, 0)]
    track = steered("wygate", 4 * np.sin(start), 4 * np.cos(start), legs, alt_ft=3440.0)
    report = judged(track, "wygate", winds=((0.0, 360.0, 0.0),))
    assert only(report, "needle_before_final").error == error
