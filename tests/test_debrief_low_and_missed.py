"""Kinds of faults from the minimums on: what was done there is told from what it looks like beside it."""

import dataclasses
import math

import numpy as np
import pytest
from needlework.debrief import text
from needlework.debrief.pieces import place
from needlework.flying import reference_pilot
from needlework.flying.tracklog import Track
from needlework.trade import geodesy
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


@pytest.mark.parametrize("high_ft", [60.0, 65.0])
def test_level_a_hundred_feet_above_the_minimums_is_not_climbed_to(high_ft):
    """Definition: who levels a little above the MDA on the way down, about the tolerance, did not climb."""
    at = SALTMARSH.map_nm
    more = [high_ft, high_ft, high_ft + 25.0, high_ft + 25.0, 0.0]
    track = by_place(SALTMARSH, [at - 1.5, at - 1.05, at - 1.0, at - 0.4, at - 0.1], more)
    report = judged(dataclasses.replace(track, height_kind="satellite"))
    assert not report.judgement("mda_high").findings


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


def at_the_clocks_point():
    """Tarvue as the reference flies it, and when its climb begins."""
    day = weather.Day("Calm", "none", weather.parse("000/00"), 15.0, 1013.25)
    track = reference_pilot.fly(the("tarvue"), FINCH, [day]).one(0).track()
    track = Track(track.time_s, track.lat_deg, track.lon_deg, track.alt_ft)
    parts = judged(track, "tarvue").parts
    return track, next(part.start_s for part in parts if part.text == "the climb straight ahead")


@pytest.mark.parametrize("kept", [True, False])
def test_levelled_off_above_the_minimums_is_no_missed_approach_begun(kept):
    """Definition: up and level to the point, the MDA was left and the clock kept; up all the way it was not."""
    track, up_s = at_the_clocks_point()
    since_s = track.time_s - up_s
    low_ft = np.where(since_s < 0.0, np.interp(since_s, [-260, -130], [track.alt_ft.max(), 550]), 99999.0)
    more_ft = np.interp(
        since_s, [-70, -12, 40, 90] if kept else [-80, 8, 90, 290], [0, 230, 230, 0] if kept else [0, 600, 600, 0]
    )
    report = judged(with_columns(track, alt_ft=np.minimum(track.alt_ft, low_ft) + more_ft), "tarvue")
    found = [one.row for one in report.findings if one.row in ("mda_high", "decision")]
    assert found == (["mda_high"] if kept else ["decision"])


def test_turns_on_the_ground_are_no_snaking():
    """Definition: from the MDA down the nose follows the runway, and after the roll the taxiway."""
    track, up_s = at_the_clocks_point()
    way, at = the("tarvue"), int(np.searchsorted(track.time_s, up_s - 50.0))
    more = np.arange(1.0, 200.0)
    flown_s = np.minimum(more, 38.0)
    columns = {name: getattr(track, name) for name in ("time_s", "lat_deg", "lon_deg", "alt_ft")}
    ends = {name: one[at] + (one[at] - one[at - 10]) / 10.0 * flown_s for name, one in columns.items()}
    ends["time_s"] = track.time_s[at] + more
    ends["alt_ft"] = np.interp(more, [0.0, 38.0], [track.alt_ft[at], way.airport.elevation_ft])
    landed = Track(**{name: np.concatenate([one[: at + 1], ends[name]]) for name, one in columns.items()})
    taxied = np.where(more > 80.0, 50.0 * np.sin(more / 8.0), 0.0)
    nose = np.concatenate([judged(track, "tarvue").seen.heading_deg[: at + 1], way.final_course_deg + taxied])
    report = judged(with_columns(landed, heading_deg=nose), "tarvue")
    assert report.outcome == "landing"
    assert not [one.text for one in report.findings if one.row == "needle_final"]


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


def on_from(plan, legs, kt=95.0):
    """Saltmarsh, Wygate or Ezrick up to the missed approach point, and on by legs.

    A leg is (track, seconds, side of the turn), ("to", fix) or ("along", course, until so far past the station).
    """
    track, way = recorded(plan), the(plan.name)
    seen = judged(track, plan.name).seen
    start_s = next(p.start_s for p in judged(track, plan.name).parts if p.text.startswith("the climb"))
    at, var = int(np.searchsorted(track.time_s, start_s)), way.station.declination_deg
    east, north, flown, rows = float(seen.east_nm[at]), float(seen.north_nm[at]), float(seen.track_deg[at]) + var, []

    def go(wanted, side=0):
        nonlocal east, north, flown
        turn = (wanted - flown + 180) % 360 - 180
        turn += 360 * side if side and abs(turn) > 20 and (turn > 0) != (side > 0) else 0
        flown += max(-3.0, min(3.0, turn))
        east += kt / 3600 * math.sin(math.radians(flown))
        north += kt / 3600 * math.cos(math.radians(flown))
        rows.append((east, north))
        return abs(turn) < 3.0

    for kind, value, side in legs:
        if kind == "to":
            fix_east, fix_north = place(way, value)
            straight = False
            while math.hypot(fix_east - east, fix_north - north) > 0.1:
                bearing = math.degrees(math.atan2(fix_east - east, fix_north - north))
                straight = go(bearing, 0 if straight else side) or straight
        elif kind == "along":
            course = math.radians(value + var)
            while east * math.sin(course) + north * math.cos(course) < side:
                across = east * math.cos(course) - north * math.sin(course)
                go(value + var - max(-40.0, min(40.0, 60.0 * across)))
        else:
            while not go(kind + var, side):
                pass
            for _ in range(value):
                go(kind + var)
    table = np.array(rows)
    lat, lon = geodesy.fix_position(
        station_lat_deg=way.station.lat_deg, station_lon_deg=way.station.lon_deg, declination_deg=var,
        radial_deg=np.mod(np.rad2deg(np.arctan2(table[:, 0], table[:, 1])) - var, 360),
        dist_nm=np.hypot(table[:, 0], table[:, 1]),
    )  # fmt: skip
    more_s = np.arange(1.0, len(table) + 1)
    alt_ft = np.minimum(track.alt_ft[at] + more_s * 11.0, plan.missed_ft + 40.0)
    whole = [
        np.concatenate([before[: at + 1], after])
        for before, after in (
            (track.time_s, track.time_s[at] + more_s),
            (track.lat_deg, lat),
            (track.lon_deg, lon),
            (track.alt_ft, alt_ft),
        )
    ]
    return judged(Track(*whole), plan.name)


STRAIGHT_S = {"saltmarsh": 60, "wygate": 170, "ezrick": 100}
ALL = pytest.mark.parametrize("plan", [SALTMARSH, WYGATE, EZRICK], ids=lambda plan: plan.name)


def up(plan):
    return [(plan.final_deg, STRAIGHT_S[plan.name], 0)]


@ALL
def test_the_other_end_of_the_radial(plan):
    """AIM 5-4-21: out on the reciprocal is nowhere near what was surveyed for the missed approach."""
    turn = (plan.missed_heading_deg, 40, plan.missed_side)
    other = on_from(plan, [*up(plan), turn, ("along", plan.missed_radial_deg + 180, plan.missed_nm)])
    assert [(one.error, one.critical, one.part) for one in other.findings] == [(63, True, "missed")]
    assert on_from(plan, [*up(plan), turn, ("along", plan.missed_radial_deg, plan.missed_nm)]).findings == ()


@ALL
def test_a_turn_that_goes_on_past_its_heading(plan):
    """ACS IR.VI.C.S7: 70 degrees past the heading for half a minute, before the radial is taken up."""
    past = plan.missed_heading_deg + 70 * plan.missed_side
    report = on_from(
        plan, [*up(plan), (past, 40, plan.missed_side), ("along", plan.missed_radial_deg, plan.missed_nm)]
    )
    assert [(one.error, one.failed) for one in report.findings] == [(74, True)]


@ALL
def test_straight_to_the_fix_is_named(plan):
    """Definition: who flies straight to the fix has not held a heading badly."""
    fix = the(plan.name).missed.fix
    report = on_from(plan, [*up(plan), ("to", fix, plan.missed_side), (plan.missed_radial_deg, 20, 0)])
    (found,) = report.judgement("missed_track").findings
    assert f", straight to {fix}, where" in found.what


@ALL
def test_a_hold_about_the_other_end_of_its_course(plan):
    """AIM 5-3-8: laps beyond the fix, come to against the inbound course, lie where nothing protects them."""
    hold = the(plan.name).hold
    side, against = (1 if hold.turn == "right" else -1), float(hold.inbound_course_deg + 180) % 360
    lap = ((hold.inbound_course_deg, 60, side), (against, None, side))
    report = judged(recorded(plan, hold=lap * 3), plan.name)
    assert {(one.row, one.error, one.critical) for one in report.findings} == {("hold_side", 66, True)}


@ALL
def test_round_and_round_is_no_hold(plan):
    """Definition: a hold has legs; turns with no straight flight between them are circles."""
    side = 1 if the(plan.name).hold.turn == "right" else -1
    circle = ((plan.missed_radial_deg + 180, 0, side), (plan.missed_radial_deg, 0, side))
    report = judged(recorded(plan, hold=circle * 3), plan.name)
    assert [(one.row, one.failed) for one in report.findings] == [("hold_leg", True)]


@ALL
@pytest.mark.parametrize(("high_ft", "critical"), [(0, [True]), (800, [False])], ids=["at the MDA", "far above it"])
def test_past_the_point_far_above_the_minimums(plan, high_ft, critical):
    """AIM 5-4-21 b: above the climb that begins at the point nothing is nearer than it is on that climb."""
    track = recorded(plan, wait_past_map_nm=0.8)
    level_ft = plan.mda_ft + high_ft + 40.0
    low = track.time_s > track.time_s[np.argmax(track.alt_ft < level_ft + 1.0)]
    report = judged(
        with_columns(track, alt_ft=np.where(low, np.maximum(track.alt_ft, level_ft), track.alt_ft)), plan.name
    )
    assert [one.critical for one in report.judgement("decision").findings] == critical


@pytest.mark.parametrize("plan", [SALTMARSH, WYGATE], ids=lambda plan: plan.name)
def test_turned_where_it_is_due_and_not_far_enough(plan):
    """Definition: the turn was made, to another heading; the line straight ahead was not left by drift."""
    report = on_from(plan, [*up(plan), (plan.missed_radial_deg, 240, plan.missed_side)])
    (found,) = report.judgement("missed_track").findings
    assert (found.error, found.what.startswith(f"turned only to {plan.missed_radial_deg:03.0f}")) == (74, True)


@pytest.mark.parametrize("plan", [SALTMARSH, WYGATE], ids=lambda plan: plan.name)
@pytest.mark.parametrize(("low_nm", "held"), [((0.8, 0.6, -0.6), True), ((0.8, 0.55, 0.5), False)])
def test_flat_a_little_below_the_minimums_is_no_dip(plan, low_nm, held):
    """Definition: a dip is put right; straight down and flat below the number until the climb, it never was."""
    before = [plan.map_nm - each for each in low_nm]
    track = by_place(plan, [*before, before[-1] + 0.3], [0, -110, -110, 0])
    report = judged(track, plan.name, in_sight=False)
    (found,) = report.judgement("mda").findings
    assert (found.error, found.cause.startswith("held below")) == (40, held)
