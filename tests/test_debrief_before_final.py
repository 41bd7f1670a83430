"""Kinds of faults before the final fix: one flight made for each, and the neighbour that is none."""

import numpy as np
import pytest
from needlework.debrief import debrief
from needlework.flying.tracklog import Track
from test_debrief_approaches import joined
from test_debrief_kinds import errors, inbound_on, steps_to_the_line
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
