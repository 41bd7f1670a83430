"""Every row of the rubric can speak, and every error that can kill stands on a row that can be critical."""

import dataclasses
import json
import math
from functools import cache
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
import track_maker as maker
from needlework import lessons
from needlework.debrief import JUDGES, Conditions, debrief, debrief_passage, load_rubric
from needlework.debrief.evidence import View
from needlework.flying import reference_pilot
from needlework.flying.tracklog import Track
from needlework.trade import geodesy
from needlework.world import aircraft, procedure, weather
from needlework.world.procedure_parts import with_cold_ft
from track_maker import EZRICK, SALTMARSH, WYGATE, Habits

RUBRIC = load_rubric(known=frozenset(JUDGES))
FINCH, PLOVER = aircraft.load("Finch"), aircraft.load("Plover")


@cache
def the(name):
    return procedure.load(name)


@cache
def recorded(plan=SALTMARSH, every_s=1.0, heading=False, **habits):
    return maker.record(plan, maker.make(plan, Habits(**habits)), every_s=every_s, heading=heading)


def judged(track, name="saltmarsh", craft=None, **given):
    return debrief(track, the(name), craft, given=Conditions(**given), rubric=RUBRIC)


def flown(plan=SALTMARSH, craft=None, **habits):
    return judged(recorded(plan, **habits), plan.name, craft)


def with_columns(track, **columns):
    return dataclasses.replace(track, **columns)


def in_part(text, change, column="alt_ft", craft=FINCH, first_s=0.0, last_s=1e9, **habits):
    """Change one column within a part of a clean flight; altitudes by adding, all others by setting."""
    track = recorded(**habits)
    parts = [part for part in judged(track).parts if part.text.startswith(text)]
    start, end = parts[0].start_s + first_s, min(parts[-1].end_s, parts[0].start_s + last_s)
    inside = (track.time_s >= start) & (track.time_s <= end)
    before = {"alt_ft": track.alt_ft, "ias_kt": np.full(len(track), 90.0)}.get(column, np.zeros(len(track)))
    values = np.where(inside, before + change if column == "alt_ft" else change, before)
    return judged(with_columns(track, **{column: values}), craft=craft)


def steered(name, east_nm, north_nm, legs, alt_ft=2600.0, kt=100.0, dt=1.0, rate_deg_s=3.0):
    """A point steered over the ground: magnetic tracks, seconds on each, side of the turn to it (0: the shorter)."""
    station = the(name).station
    track, rows, time_s = None, [], 0.0
    for wanted, seconds, side in legs:
        wanted_true = wanted + station.declination_deg
        track = wanted_true if track is None else track
        left = seconds
        while left > 0 or abs((wanted_true - track + 180) % 360 - 180) > 0.1:
            turn = (wanted_true - track + 180) % 360 - 180
            if side and abs(turn) > 20 and (turn > 0) != (side > 0):
                turn += 360 * side
            track += max(-rate_deg_s * dt, min(rate_deg_s * dt, turn))
            left -= dt if abs(turn) <= rate_deg_s else 0.0
            rows.append((time_s, east_nm, north_nm))
            east_nm += kt / 3600 * dt * math.sin(math.radians(track))
            north_nm += kt / 3600 * dt * math.cos(math.radians(track))
            time_s += dt
    table = np.array(rows)
    bearing, dist = np.rad2deg(np.arctan2(table[:, 1], table[:, 2])), np.hypot(table[:, 1], table[:, 2])
    lat, lon = geodesy.fix_position(
        station_lat_deg=station.lat_deg, station_lon_deg=station.lon_deg, declination_deg=station.declination_deg,
        radial_deg=np.mod(bearing - station.declination_deg, 360), dist_nm=dist,
    )  # fmt: skip
    return Track(table[:, 0], np.asarray(lat), np.asarray(lon), np.full(len(table), alt_ft))


def tarvue(outbound_s=120, out=217, back=37, side=-1):
    """Over TVU, outbound, the procedure turn, inbound."""
    start = math.radians(82 - 13)
    legs = [(262, 140 + outbound_s, 0), (out, 60, side), (back, 40, -side), (82, 120, -side)]
    return judged(steered("tarvue", 4 * math.sin(start), 4 * math.cos(start), legs, alt_ft=2040.0), "tarvue")


def passage(*legs):
    start = math.radians(310 - 13)
    track = steered("saltmarsh", 5 * math.sin(start), 5 * math.cos(start), legs, alt_ft=3600.0)
    return debrief_passage(track, the("saltmarsh"), None, 130.0, 190.0, rubric=RUBRIC)


def turned_round():
    rows = maker.make(SALTMARSH, Habits()).copy()
    rows[:, 1:3] *= -1.0
    return judged(maker.record(SALTMARSH, rows))


def flags_gone():
    track = recorded()
    final = next(part for part in judged(track).parts if part.segment == "final")
    gone = (track.time_s > final.start_s + 60) & (track.time_s < final.start_s + 90)
    return judged(with_columns(track, flag_1=np.where(gone, 0.0, 1.0)))


def configured(step, ias_kt=100.0, craft=FINCH, **habits):
    track = recorded(**habits)
    return judged(
        with_columns(track, configuration=np.full(len(track), float(step)), ias_kt=np.full(len(track), ias_kt)),
        craft=craft,
    )


def uncorrected():
    """The one habit that every leg shows: flown by the course's own pilot, in a wind across the final."""
    day = weather.Day("Across", "across the final", weather.parse("290/25"), 15.0, 1013.25)
    flights = reference_pilot.fly(the("saltmarsh"), FINCH, day, faults=["no drift correction"], missed=False)
    return judged(flights.one(0).track(), craft=FINCH)


IN = (75, None, -1)  # inbound to LIDRA, left turns
MIRRORED = ((255, 60, 1), (75, None, 1), (255, 60, 1), (75, None, 1))
BESIDE = ((255, 60, -1), IN, (298, 130, -1), (75, 90, -1), (255, 60, -1))
LONG = ((255, 60, -1), IN, (267, 140, -1), IN, (267, 140, -1), IN)


def low_to_the_runway(low_ft=120.0, height_kind="altimeter"):
    """Below the path from a mile to half a mile before the runway."""
    track, way = recorded(end="landing"), the("saltmarsh")
    seen = judged(track).seen
    to_go_nm = way.fix("threshold").dist_nm - np.interp(track.time_s, seen.time_s, seen.ground_nm)
    dip_ft = np.interp(to_go_nm, [0.1, 0.4, 1.0, 1.3], [0.0, low_ft, low_ft, 0.0])
    down = track.alt_ft < way.mda_ft("A") - 20.0
    low = with_columns(track, alt_ft=track.alt_ft - np.where(down, dip_ft, 0.0), height_kind=height_kind)
    return judged(low, in_sight=True)


def landing(high_ft, beyond_m=0.0, roll_nm=0.4, aside_m=0.0):
    """The threshold crossed so much too high, the wheels down so far beyond the usual place, and some of the roll.

    ``aside_m``: the last mile flown so far to the right of the line.
    """
    track, way = recorded(end="landing"), the("saltmarsh")
    more = np.arange(1.0, 90.0)

    def on(column):
        return np.concatenate([column, column[-1] + (column[-1] - column[-2]) * more])

    seen = judged(track).seen
    past_nm = np.interp(track.time_s, seen.time_s, seen.ground_nm) - way.fix("threshold").dist_nm
    past_nm, down_nm = on(past_nm), (300.0 + beyond_m) / 1852.0
    late = (on(track.time_s) > track.time_s[-1] - 300.0) & (past_nm > -1.4)  # from the visual descent point on
    ground_ft = way.runway.threshold_elevation_ft
    over_ft = 50.0 + high_ft
    path_ft = ground_ft + np.interp(past_nm, [-9.0, 0.0, down_nm], [over_ft + 9.0 * 318.0, over_ft, 0.0])
    flown_ft = np.where(past_nm < 0.0, np.maximum(on(track.alt_ft), way.mda_ft("A") + 20.0), np.inf)
    alt_ft = np.where(late, np.minimum(path_ft, flown_ft), on(track.alt_ft))
    kept = ~late | (past_nm < down_nm + roll_nm)
    right = math.radians(way.final_course_deg + way.station.declination_deg + 90.0)
    aside_deg = np.interp(past_nm, [-1.0, -0.5], [0.0, aside_m / 1852.0 / 60.0]) * late
    lat_deg = on(track.lat_deg) + aside_deg * math.cos(right)
    lon_deg = on(track.lon_deg) + aside_deg * math.sin(right) / np.cos(np.deg2rad(on(track.lat_deg)))
    whole = Track(on(track.time_s), lat_deg, lon_deg, alt_ft)
    return judged(whole.part(kept), in_sight=True)


def circled(text, after_s, side=1, times=1, rate_deg_s=3.0, **habits):
    """A full circle, or several, put into a part of a clean flight."""
    track = recorded(**habits)
    start_s = next(part.start_s for part in judged(track).parts if part.text.startswith(text))
    at = int(np.searchsorted(track.time_s, start_s + after_s))
    narrow = np.cos(np.deg2rad(track.lat_deg[at]))
    north = track.lat_deg[at + 1] - track.lat_deg[at]
    east = (track.lon_deg[at + 1] - track.lon_deg[at]) * narrow
    second = np.arange(1, int(360 * times / rate_deg_s) + 1)
    angle = np.deg2rad(rate_deg_s * second * side)
    norths = np.cumsum(north * np.cos(angle) - east * np.sin(angle))
    easts = np.cumsum(east * np.cos(angle) + north * np.sin(angle))

    def put_in(column, circle, later=0.0):
        return np.concatenate([column[: at + 1], column[at] + circle, column[at + 1 :] + later])

    return judged(
        Track(
            put_in(track.time_s, second, len(second)),
            put_in(track.lat_deg, norths),
            put_in(track.lon_deg, easts / narrow),
            put_in(track.alt_ft, np.zeros(len(second))),
        )
    )


def round_the_wrong_side():
    """Off the final to the right, round and down to the other end: north-west of the runway of Saltmarsh."""
    track = recorded(end="landing", below_mda_ft=-160.0)
    seen = judged(track).seen
    at = int(
        np.flatnonzero((seen.ground_nm > 4.0) & (np.abs(seen.radial_deg - 214.0) < 5.0) & (seen.alt_ft < 800.0))[0]
    )
    legs = [(214, 1, 0), (256, 45, 0), (211, 50, 0), (31, 90, -1)]
    more = steered("saltmarsh", float(seen.east_nm[at]), float(seen.north_nm[at]), legs, kt=95.0)
    left_s = more.time_s[-1] - more.time_s
    alt_ft = np.clip(62.0 + (left_s - 20.0) * 8.0, 62.0, 720.0)
    kept = track.time_s <= seen.time_s[at]
    whole = {"lat_deg": more.lat_deg, "lon_deg": more.lon_deg, "alt_ft": alt_ft}
    joined_up = {name: np.concatenate([getattr(track, name)[kept], added]) for name, added in whole.items()}
    time_s = np.concatenate([track.time_s[kept], seen.time_s[at] + 1.0 + more.time_s])
    return judged(Track(time_s, **joined_up), in_sight=True)


def holding(hold):
    return judged(recorded(WYGATE, heading=True, wind_from_deg=300, wind_kt=12, hold=hold), "wygate")


def laps_through_the_air(times, laps=2, tas_kt=95.0, wind_true_deg=300.0, wind_kt=20.0, course_deg=75.0):
    """Laps at LIDRA by headings in a wind, with so many times the inbound correction outbound, about a course."""
    before = recorded(WYGATE, heading=True)
    station = the("wygate").station
    fix = the("wygate").fix("LIDRA")
    blow = math.radians(wind_true_deg + 180.0)
    crab = math.degrees(math.asin(wind_kt * math.sin(blow + math.pi - math.radians(course_deg - 13)) / tas_kt))
    east, north = (fix.dist_nm * trig(math.radians(fix.radial_deg - 13)) for trig in (math.sin, math.cos))
    seen = judged(before, "wygate").seen
    before = before.part(
        before.time_s <= seen.time_s[np.argmin(np.hypot(seen.east_nm - east, seen.north_nm - north))]
    )
    at_fix, along = (east, north), math.radians(course_deg - 13)
    heading, rows = 75.0 + crab, []

    def go(wanted, seconds):
        nonlocal heading, east, north
        while seconds > 0 or abs((wanted - heading + 180) % 360 - 180) > 1.5:
            left = (wanted - heading + 180) % 360 - 180
            turning = abs(left) > 1.5
            heading = heading + (-3.0 if abs(left) > 20 else math.copysign(3.0, left)) if turning else wanted
            seconds -= 0 if turning else 1
            angle = math.radians(heading - 13)
            east += (tas_kt * math.sin(angle) + wind_kt * math.sin(blow)) / 3600
            north += (tas_kt * math.cos(angle) + wind_kt * math.cos(blow)) / 3600
            rows.append((east, north, heading % 360))

    for _ in range(laps):
        go(course_deg + 180.0 - times * crab, 60)
        go(course_deg + crab, 20)
        for _ in range(90):  # back to the line, and along it to the fix
            on, off = east - at_fix[0], north - at_fix[1]
            across = on * math.cos(along) - off * math.sin(along)
            if on * math.sin(along) + off * math.cos(along) > -0.1 and abs(across) < 0.3:
                break
            go(course_deg + crab - max(-30.0, min(30.0, 60 * across)), 1)
    table = np.array(rows)
    lat, lon = geodesy.fix_position(
        station_lat_deg=station.lat_deg, station_lon_deg=station.lon_deg, declination_deg=station.declination_deg,
        radial_deg=np.mod(np.rad2deg(np.arctan2(table[:, 0], table[:, 1])) + 13, 360),
        dist_nm=np.hypot(table[:, 0], table[:, 1]),
    )  # fmt: skip
    ends = {name: np.concatenate([getattr(before, name), more]) for name, more in (
        ("time_s", before.time_s[-1] + 1.0 + np.arange(len(table))), ("lat_deg", lat), ("lon_deg", lon),
        ("alt_ft", np.full(len(table), before.alt_ft[-1])), ("heading_deg", table[:, 2]))}  # fmt: skip
    return judged(Track(**ends), "wygate")


SPEAKS = {
    "reversed": turned_round,
    "identified": lambda: in_part("OVK to GELPO", 0.0, "identified"),
    "course_set": lambda: in_part("OVK to PARDO", 224.0, "course_1_deg"),
    "flags": flags_gone,
    "floor": lambda: flown(early_step=3),
    "established_first": lambda: in_part("DOVAN to KESTU", -500.0, last_s=60.0, lead_late_deg=8.0),
    "fix_high": lambda: in_part("OVK to PARDO", 700.0),
    "level": lambda: in_part("OVK to GELPO", 200.0, first_s=60.0, last_s=130.0),
    "speed_before_final": lambda: in_part("OVK to GELPO", 140.0, "ias_kt"),
    "limits": lambda: configured(1, 130.0),
    "bank": lambda: judged(
        steered("tarvue", 0.0, 0.2, [(262, 90, 0), (82, 120, 1)], alt_ft=2040.0, rate_deg_s=12.0), "tarvue"
    ),
    "circle": lambda: circled("OVK to GELPO", 100.0),
    "needle_before_final": lambda: flown(radial_off_deg=9),
    "wind": uncorrected,
    "cone": lambda: flown(chase_deg=35),
    "outbound": lambda: passage((130, 270, 0), (190, 120, 0)),
    "way_round": lambda: judged(recorded(dataclasses.replace(SALTMARSH, side=-1))),
    "arc_join": lambda: flown(join_late_nm=1.2),
    "arc": lambda: flown(straight_on_arc_deg=35),
    "arc_final_course": lambda: in_part("OVK to GELPO", 310.0, "course_1_deg"),
    "turn_side": lambda: tarvue(out=307, back=127, side=1),
    "turn_heading": lambda: tarvue(out=187, back=7),
    "turn_limit": lambda: tarvue(outbound_s=330),
    "turn_time": lambda: tarvue(outbound_s=30),
    "to_final": lambda: flown(lead_late_deg=8),
    "needle_final": lambda: flown(radial_off_deg=9),
    "full_scale": lambda: flown(radial_off_deg=13),
    "speed_final": lambda: configured(2, 110.0),
    "ready": lambda: configured(0, 84.0),
    "gear": lambda: configured(1, 110.0, PLOVER),
    "gate": lambda: configured(2, 120.0),
    "sink": lambda: flown(dive_fpm=1500, early_step=3, margin_ft=60, below_mda_ft=-50),
    "mda": lambda: flown(below_mda_ft=60),
    "mda_high": lambda: flown(below_mda_ft=-220),
    "vdp": lambda: flown(WYGATE, end="landing", below_mda_ft=150, down_fpm=900),
    "path_low": low_to_the_runway,
    "circling": round_the_wrong_side,
    "touchdown": lambda: landing(150.0, 200.0),
    "in_sight": lambda: judged(recorded(end="landing"), in_sight=False),
    "decision": lambda: flown(wait_past_map_nm=0.9),
    "missed_turn": lambda: flown(turn_before_map_nm=1.0),
    "missed_side": lambda: flown(wrong_side_missed=True),
    "gradient": lambda: flown(weak_climb_fpm=200),
    "missed_track": lambda: judged(recorded(dataclasses.replace(SALTMARSH, missed_radial_deg=148))),
    "after_missed_floor": lambda: in_part("radial 165", -600.0),
    "after_missed_level": lambda: in_part("radial 165", 300.0),
    "speed_after_missed": lambda: in_part("radial 165", 150.0, "ias_kt", first_s=-200.0),
    "hold_entry": lambda: holding(((255, 60, 1), (75, 60, 1))),
    "hold_side": lambda: holding(MIRRORED),
    "hold_wind": lambda: laps_through_the_air(0.0),
    "hold_track": lambda: holding(BESIDE),
    "hold_leg": lambda: holding(LONG),
}


def test_the_table_is_whole():
    """Definition: there is a flight for every row of the rubric."""
    assert set(SPEAKS) == {row.key for row in RUBRIC.rows}


@pytest.mark.parametrize("key", SPEAKS)
def test_every_row_can_speak(key):
    """Definition: one thing wrong on a clean flight, and its row says so, by an error of its own."""
    judgement = SPEAKS[key]().judgement(key)
    assert judgement.verdict == "missed"
    sure = [finding for finding in judgement.findings if finding.sure]
    assert {finding.error for finding in sure} <= set(RUBRIC.row(key).errors)


def test_a_clean_flight_says_nothing():
    """Definition: the flight that all the others are made of has no finding."""
    assert [finding.text for finding in flown().findings] == []
    assert tarvue().judgement("turn_side").verdict == tarvue().judgement("turn_limit").verdict == "met"
    good = passage((130, 180, 0), (190, 120, 0))
    assert good.judgement("cone").verdict == good.judgement("outbound").verdict == "met"


def test_the_correction_that_brings_the_turn_back_to_the_line_is_right():
    """AIM 5-3-8 j 8 (c): three times on a leg of a minute; the drift of leg and turns is paid for."""
    assert laps_through_the_air(3.0).judgement("hold_wind").verdict == "met"
    assert [found.error for found in laps_through_the_air(1.0).judgement("hold_wind").findings] == [51]


def test_every_error_has_a_row_and_what_kills_a_critical_one():
    """Definition: an error stands on a row, or is the instructor's to see; one that can kill on a critical row."""
    rows = {number: [row for row in RUBRIC.rows if number in row.errors] for number in range(1, 200)}
    for error in RUBRIC.errors:
        assert (error.told_by == "instructor") != bool(rows[error.number]), error.number
        if error.severity == "A" and error.told_by == "recording":
            assert any(row.critical for row in rows[error.number]), error.number


def test_training_names_lessons_and_exercises_there_are():
    """Definition: what to train next exists in the course."""
    there = {}
    for path in Path(lessons.__file__).parent.glob("*/lesson.json"):
        lesson = json.loads(path.read_text(encoding="utf-8"))
        there[lesson["key"]] = {question["key"] for question in lesson["questions"]}
    for error in RUBRIC.errors:
        if error.told_by == "recording":
            assert error.exercise in there[error.lesson], error.number


def test_the_european_standard():
    """Part-FCL Appendix 7: MDA +50/-0 where the US standard has +100: 85 ft above passes only there."""
    track = recorded(EZRICK, below_mda_ft=-85.0)
    for standard, verdict in (("ACS", "met"), ("FCL", "missed")):
        report = debrief(track, the("ezrick"), standard=standard, rubric=RUBRIC)
        assert report.judgement("mda_high").verdict == verdict
        assert report.standard == RUBRIC.standards[standard].name


@pytest.mark.parametrize(("kept_from", "kept_to"), [(0.0, 0.5), (0.7, 1.0)])
def test_half_a_flight_is_not_complete(kept_from, kept_to):
    """Definition: what was not recorded is neither passed nor failed; no leg before it counts."""
    track = recorded()
    size = len(track)
    report = judged(track.part(slice(int(kept_from * size), int(kept_to * size))))
    assert report.verdict == "not complete"
    assert report.missing
    assert report.findings == ()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda alt: alt - 115.0, "offset of the recording"),
        (lambda alt: alt + 120.0, "offset of the recording"),
        (lambda alt: 66 + (alt - 66) * 0.88, "cold day"),
        (lambda alt: alt + 3.0, "agree with the published"),
    ],
)
def test_satellite_heights_are_recognised(change, words):
    """Independent method: heights shifted or shrunk as a receiver's are: no critical, and it is said."""
    track = recorded()
    report = judged(dataclasses.replace(track, alt_ft=change(track.alt_ft), height_kind="satellite"))
    assert not any(finding.critical for finding in report.findings)
    assert words in " ".join(report.notes)


def test_cold_raises_the_minimums():
    """AIM 7-3: at -20 C and 500 ft above the field 70 to 80 ft are added: flown 40 ft above 560 is below them."""
    report = judged(recorded(), temperature_c=-20.0)
    assert 630 <= report.mda_ft <= 650  # feet
    assert report.judgement("mda").findings[0].error == 6


def test_floors_of_the_final_are_raised_as_the_minimums_are():
    """AIM 7-3-5: the floors of the final take the correction of the MDA, what comes before that of the final fix."""
    way = procedure.load("saltmarsh")
    legs = {(leg.start, leg.end): leg for leg in way.legs}

    def today_ft(feet):
        return with_cold_ft(feet, way.airport.elevation_ft, -20.0)

    view = SimpleNamespace(procedure=way, published_mda_ft=560.0, today_ft=today_ft)
    assert View.floor_today_ft(view, legs["OVK", "PARDO"]) == 780 + today_ft(560.0) - 560
    assert View.floor_today_ft(view, legs["GELPO", "R345"]) == 3400 + today_ft(1760.0) - 1760
    assert View.floor_today_ft(view, legs["GELPO", "R345"]) < today_ft(3400.0)


def test_cold_that_nobody_added_is_one_finding():
    """AIM 7-3: published altitudes flown at -18 C are below those of the day, one and all, for one reason."""
    report = judged(recorded(maker.EZRICK, margin_ft=10), "ezrick", temperature_c=-18.0)
    assert report.mda_ft > 1570
    assert [(finding.error, finding.critical) for finding in report.findings] == [(6, True)]


def test_the_runway_comes_in_sight_and_is_lost():
    """14 CFR 91.175: below the MDA only while the runway is in sight."""
    track = recorded(end="landing")
    late = judged(track, sight_from_nm=4.6)
    lost = judged(track, sight_from_nm=3.0, sight_until_nm=4.6)
    fine = judged(track, sight_from_nm=3.0)
    assert late.judgement("in_sight").findings[0].error == 42
    assert lost.judgement("in_sight").findings[0].error == 54
    assert fine.judgement("in_sight").verdict == "met"


def test_one_event_is_one_finding():
    """Definition: a turn on to the arc made late is said once, as that, with what else it broke."""
    report = flown(join_late_nm=1.4)
    assert [finding.row for finding in report.findings] == ["arc_join"]
    assert report.worst.error == 20
    assert "outside the arc" in report.worst.text
