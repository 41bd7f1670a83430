"""Judges of the hold: the entry, the side, the wind correction outbound, the length of the legs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from needlework.basis.quantity import Floats
from needlework.debrief.evidence import View
from needlework.debrief.findings import Finding, Judgement, Mask, Run, apart, mean_deg, not_judged, worst_by_part
from needlework.debrief.pieces import place
from needlework.debrief.rubric import Row
from needlework.trade.angles import reciprocal
from needlework.trade.holding import DRIFT_MOST_DEG, drift_factor, entries

_AT_FIX_NM, _BY_FIX_NM = 0.6, 1.5
_LONGEST_S = 600.0  # an entry is over by then, in any wind: legs of four miles, a teardrop longer than they are
_INBOUND_DEG = 40.0
_WAVER_S, _WAVER_DEG = 15.0, 15.0
_LEG_S, _SHORT_LEG_S = 12.0, 6.0  # shorter than this it is no leg
_LEVEL_WINGS_S = 8.0
_LONG_LEG_S = 40.0  # so long it is one, wherever it leads
_ENOUGH_TIMES, _ENOUGH_DEG = 1.25, 25.0  # who is near the limit passes
_WHOLE_TURN_DEG, _BEGUN_TURN_DEG = 120.0, 60.0
_DROP_DEG = 20.0, 50.0  # the leg of a teardrop against the way to the fix: thirty, and some wind
_AWAY_DEG, _AWAY_S = 55.0, 40.0  # off the outbound course: more than a teardrop and its wind
_TURNED_DEG = 12.0  # a turn on to the leg of a teardrop, and no waver
_MET_NM = 0.2
_LESS_DEG = 8.0  # of the correction outbound: what a heading is held to, and what the turns make of it
_HELD_DEG = 5.0  # what a heading is held to, and what a heading that is worked out is good to
_LITTLE_DEG, _MORE_THAN_ONCE = 12.0, 1.5  # a drift laid off once, as inbound, is no little shortfall
_NONE_DEG, _NONE_LAID_OFF = 3.0, "no wind correction laid off outbound"
_DOWNWIND = "wind correction laid off to the wrong side, downwind"
_LAST_NM = 0.1  # the last digit of a DME: "at the number" is no finer
_ON_LINE_NM, _ASTRAY_NM = 0.4, 0.6
_WELL_ASTRAY_NM = 1.5
_LEG_ENDS_NM = 1.0  # beyond the end of the leg outbound and the width of its turn the length is the matter
_TEARDROP_DEG = 13.0
_DROPPED_DEG = 10.0  # a leg of a teardrop, as far as it shows over the ground: what leads across the line is the wind
_UNSEEN_DEG = 10.0  # what the wind may make of a leg where the nose is not known
_OTHER_DEG, _ALIKE_DEG = 15.0, 10.0  # three times half scale off, and alike from lap to lap
_DRIFTS_DEG, _MIRRORED = 5.0, (0.7, 1.3)  # shares of the drift
_TOO_FAR_DEG, _CAME_NM, _USUAL_KT = 80.0, 0.4, 15.0  # the wind across, where nobody knows it
_SEVERAL = 2
_FARTHEST_NM = 8.0  # from the fix it is no hold at it
_ELSEWHERE_NM = 0.7  # legs of the length they have, about another place
_OTHER_FIX = "another distance taken for that of the fix"
_HURRIED = 1.0 / 3.0
_LEG_MIN = 1.0, 20.0  # three times the drift is the most that is asked
_BLOWN_NM = 1.0  # of the line where the turn inbound ends
_ROUND_DEG = 330.0  # in one turn: no leg was flown between its two halves
_FAR_BESIDE_NM = 1.5  # the fix is not met at all


def hold_entry(view: View, row: Row) -> Judgement:
    """Entry by the side of its turn inbound: the holding side (direct, teardrop) or the other one (parallel)."""
    arrived = _arrival(view)
    if arrived is None:
        return not_judged(row, "The hold was not reached.")
    seen, hold = view.seen, view.procedure.hold
    hand = 1.0 if hold.turn == "right" else -1.0
    inbound = np.abs(apart(seen.track_deg, hold.inbound_course_deg))
    since = seen.time_s - seen.time_s[arrived]
    after = _since(view, arrived) & (since < _LONGEST_S) & (seen.stretch == seen.stretch[arrived])
    out = np.flatnonzero(after & (inbound > 120.0))
    back = np.flatnonzero(after & (inbound < _INBOUND_DEG))
    back = back[back > out[0]] if len(out) else back[:0]
    if (late := _turned_late(view, row, arrived) or _dropped_late(view, row, arrived)) is not None:
        return view.judged(row, [late])
    if not len(back):
        never = _never_turned(view, row, arrived) or _turned_away(view, row, arrived)
        return (
            view.judged(row, [never]) if never else not_judged(row, "The recording ends before the entry was flown.")
        )
    outbound = int(out[out < back[0]][-1])
    turn = np.unwrap(np.deg2rad(seen.track_deg[outbound : back[0] + 1]))
    protected = (turn[-1] - turn[0]) * hand > 0
    heading = _recent_deg(view, view.seen.heading_deg, arrived)
    good = entries(heading_deg=heading, inbound_course_deg=hold.inbound_course_deg, side=hold.turn)
    # The sectors are by the heading in one book and by where one comes from in the other: either is accepted.
    track = _recent_deg(view, view.seen.track_deg, arrived)
    good += tuple(
        way
        for way in entries(heading_deg=track, inbound_course_deg=hold.inbound_course_deg, side=hold.turn)
        if way not in good
    )
    good += tuple(way for way in _by_leg(view, arrived) if way not in good)
    begun = _turn_begun(view, outbound)
    dropped = "teardrop" in good and _dropped(view, arrived, begun)
    astray = _astray_nm(view, arrived, begun, int(back[0])) if protected and not dropped else 0.0
    astray = max(astray, _far_astray_nm(view, arrived, int(back[0])))
    cut = _teardrop_deg(view, arrived, begun) if good == ("direct",) else 0.0
    allowed = "parallel" not in good or len(good) > 1 if protected else "parallel" in good
    outward = abs(float(apart(_recent_deg(view, view.seen.track_deg, arrived), reciprocal(hold.inbound_course_deg))))
    on_the_line = outward < _INBOUND_DEG and not _dropped(view, arrived, begun)  # no leg that a wind could spoil
    if allowed and protected and astray and not on_the_line and _blown(view, arrived, int(back[0])):
        run = (arrived, int(back[0]), float(seen.time_s[back[0]] - seen.time_s[arrived]))
        what = f"the wind carried the entry {astray:.1f} NM on to the unprotected side; nothing was laid off for it."
        found = view.finding(row, run, astray, "NM", what, error=51, critical=False)
        return view.judged(row, [replace(found, failed=False)])
    allowed &= not astray and cut <= _TEARDROP_DEG
    name = next((entry for entry in good if (entry == "parallel") != protected), good[0])
    if allowed:
        return view.judged(row, [], entry=name)
    run = (arrived, int(back[0]), float(seen.time_s[back[0]] - seen.time_s[arrived]))
    side = "holding" if protected else "unprotected"
    asks = f"heading {heading:03.0f} at the fix asks for a {' or '.join(good)} entry"
    what = f"turned inbound on the {side} side; {asks}."
    if astray:
        what = f"the entry led {astray:.1f} NM on to the unprotected side; {asks}."
    elif cut > _TEARDROP_DEG:
        what = f"outbound {cut:.0f} degrees off the outbound course, as in a teardrop; {asks}."
    unprotected = bool(astray) or not protected
    found = view.finding(row, run, astray, "NM" if astray else "", what, error=50, critical=unprotected)
    return view.judged(row, [replace(found, failed=unprotected)])


def _since(view: View, arrived: int) -> Mask:
    """Samples after the fix was reached, up to where the flight left for elsewhere."""
    return np.asarray((view.numbers > arrived) & ~view.mask(kind="elsewhere"))


def _by_leg(view: View, arrived: int) -> tuple[str, ...]:
    """Entries by the course of the line that led to the fix, where it was held: the one a briefing goes by."""
    radial = view.procedure.missed.intercept_radial_deg
    if radial is None or abs(float(apart(view.seen.radial_deg[arrived], radial))) > view.rubric.established_deg:
        return ()
    if abs(float(apart(_recent_deg(view, view.seen.track_deg, arrived), radial))) > _DROP_DEG[0]:
        return ()
    hold = view.procedure.hold
    return entries(heading_deg=radial, inbound_course_deg=hold.inbound_course_deg, side=hold.turn)


def _turned_late(view: View, row: Row, arrived: int) -> Finding | None:
    """Straight on past the fix where the hold begins with a turn at it; None where no such turn is asked, or late."""
    seen, hold = view.seen, view.procedure.hold
    came = _recent_deg(view, seen.track_deg, arrived)
    for direction in (came, _recent_deg(view, seen.heading_deg, arrived)):
        if entries(heading_deg=direction, inbound_course_deg=hold.inbound_course_deg, side=hold.turn) != ("direct",):
            return None
    if abs(float(apart(came, hold.inbound_course_deg))) > _INBOUND_DEG:
        return None  # across the hold, some way on is a part of the turn
    after = (view.numbers >= arrived) & (seen.stretch == seen.stretch[arrived])
    turned = np.flatnonzero(after & (np.abs(apart(seen.track_deg, came)) > _INBOUND_DEG))
    at = _turn_begun(view, int(turned[0])) if len(turned) else int(np.flatnonzero(after)[-1])
    past_nm = float(_away_nm(view)[at]) - seen.position_nm - float(seen.gs_kt[at]) / 3600.0 * seen.step_s
    if at <= arrived or past_nm <= row.limit["late_nm"]:
        return None
    run = (arrived, at, float(seen.time_s[at] - seen.time_s[arrived]))
    return _flown_past(view, row, run, past_nm, "the turn into the hold")


def _flown_past(view: View, row: Row, run: Run, past_nm: float, turn: str) -> Finding:
    """What is said of a turn at the fix that was made only farther on."""
    critical = past_nm > row.limit["critical_nm"]
    before = f"without holding; {turn}" if critical else f"before {turn}, which"
    what = f"flew on {past_nm:.1f} NM past {view.procedure.hold.fix} {before} begins at the fix."
    found = view.finding(row, run, past_nm, "NM", what, error=84, critical=critical)
    return replace(view.told_in("hold", found), failed=past_nm > row.limit["failed_nm"])


def _never_turned(view: View, row: Row, arrived: int) -> Finding | None:
    """On past the fix and past the end of any leg of the hold, with no turn back; else None."""
    seen = view.seen
    after = _since(view, arrived) & (seen.stretch == seen.stretch[arrived])
    if not after.any() or any(abs(turned) > _BEGUN_TURN_DEG for _, turned in _turns(view, arrived)):
        return None
    last = int(np.flatnonzero(after)[-1])
    past_nm = float(_away_nm(view)[last]) - seen.position_nm
    if past_nm <= _leg_nm(view, arrived) + row.limit["failed_nm"]:
        return None
    run = (arrived, last, float(seen.time_s[last] - seen.time_s[arrived]))
    what = f"flew on {past_nm:.1f} NM past {view.procedure.hold.fix} and never turned into the hold."
    beyond_nm = past_nm - _leg_nm(view, arrived)
    found = view.finding(row, run, past_nm, "NM", what, error=84, critical=beyond_nm > row.limit["critical_nm"])
    return replace(view.told_in("hold", found), failed=True)


def _turned_away(view: View, row: Row, arrived: int) -> Finding | None:
    """Away from the fix, straight and for long, on a heading that no entry has, neither outbound nor inbound."""
    seen, hold = view.seen, view.procedure.hold
    away_nm = _away_nm(view)
    after = _since(view, arrived) & (seen.stretch == seen.stretch[arrived]) & ~view.turning
    elsewhere = np.abs(apart(seen.track_deg, reciprocal(hold.inbound_course_deg))) > _AWAY_DEG
    elsewhere &= np.abs(apart(seen.track_deg, hold.inbound_course_deg)) > _INBOUND_DEG
    for first, last, length in view.runs(after & elsewhere, _AWAY_S):
        gone_nm = float(away_nm[last]) - seen.position_nm
        if gone_nm < float(away_nm[first]) + row.limit["late_nm"]:
            continue
        flown = mean_deg(seen.track_deg[first : last + 1])
        what = f"turned to {flown:03.0f} and flew {gone_nm:.1f} NM away from {hold.fix}."
        far = gone_nm > row.limit["critical_nm"]
        found = view.finding(row, (first, last, length), gone_nm, "NM", what, error=50, critical=far)
        return replace(found, failed=gone_nm > row.limit["failed_nm"])
    return None


def _dropped_late(view: View, row: Row, arrived: int) -> Finding | None:
    """Straight on past the fix, and only then on to the leg of a teardrop, which begins at it; else None."""
    seen, hold = view.seen, view.procedure.hold
    outward = -1.0 if hold.turn == "right" else 1.0
    came = _recent_deg(view, seen.track_deg, arrived)
    if abs(float(apart(came, reciprocal(hold.inbound_course_deg)))) > _INBOUND_DEG:
        return None
    after = (view.numbers >= arrived) & (seen.stretch == seen.stretch[arrived])
    turns = view.runs(after & view.turning, 2.0)
    begun = [
        first
        for first, last, _ in turns
        if abs(float(apart(seen.track_deg[last], seen.track_deg[first]))) > _TURNED_DEG
    ]
    if not begun:
        return None
    at = begun[0]
    # So late, hardly any time is left for its leg.
    legs = view.runs((view.numbers > at) & after & ~view.turning, _SHORT_LEG_S)
    whole = [turned for run, turned in _turns(view, at) if abs(turned) > _WHOLE_TURN_DEG]
    if not legs or not whole or whole[0] * outward > 0:
        return None
    drop = outward * float(apart(mean_deg(seen.track_deg[legs[0][0] : legs[0][1] + 1]), came))
    if not _TURNED_DEG < drop < _DROP_DEG[1]:
        return None
    past_nm = float(_away_nm(view)[at]) - seen.position_nm - float(seen.gs_kt[at]) / 3600.0 * seen.step_s
    if past_nm <= row.limit["late_nm"]:
        return None
    run = (arrived, at, float(seen.time_s[at] - seen.time_s[arrived]))
    return _flown_past(view, row, run, past_nm, "the turn of the teardrop")


def _blown(view: View, arrived: int, back: int) -> bool:
    """Whether the wind pushed a turn made to the right hand off to the unprotected side, nothing being laid off."""
    if view.wind is None:
        return False
    hold = view.procedure.hold
    hand = 1.0 if hold.turn == "right" else -1.0
    course_true = hold.inbound_course_deg + view.procedure.station.declination_deg
    across_kt = hand * view.wind.kt * float(np.sin(np.deg2rad(view.wind.from_deg_true - course_true)))
    lasted_s = float(view.seen.time_s[back] - view.seen.time_s[arrived])
    # Off the holding side and away from it: what the wind makes of the time, and the width of the turn besides.
    return across_kt * lasted_s / 3600.0 > _ASTRAY_NM


def _across_nm(view: View) -> Floats:
    """How far every sample lies from the inbound line, on the holding side positive. [NM]"""
    hold = view.procedure.hold
    hand = 1.0 if hold.turn == "right" else -1.0
    course = np.deg2rad(hold.inbound_course_deg + view.procedure.station.declination_deg)
    east, north = place(view.procedure, hold.fix)
    return np.asarray(
        hand * ((view.seen.east_nm - east) * np.cos(course) - (view.seen.north_nm - north) * np.sin(course))
    )


def _turn_begun(view: View, at: int) -> int:
    """First sample of the turn a sample lies in."""
    while at > 0 and view.turning[at - 1]:
        at -= 1
    return at


def _astray_nm(view: View, arrived: int, begun: int, back: int) -> float:
    """How far a turn to the hand of the hold, begun on the line, led to the unprotected side; 0 where it did not."""
    across = _across_nm(view)
    if float(across[begun]) > _ON_LINE_NM or begun <= arrived:
        return 0.0
    if float(across[arrived : begun + 1].max()) > _ASTRAY_NM:
        return 0.0  # it began on the holding side: what led across the line is the wind, or what was laid off for it
    beyond = -float(across[begun : back + 1].min())
    return beyond if beyond > _ASTRAY_NM else 0.0


def _far_astray_nm(view: View, arrived: int, back: int) -> float:
    """How far an entry of any kind led to the unprotected side, where that is no matter of its turns; else 0."""
    within = _out_nm(view)[arrived : back + 1] < _leg_nm(view, arrived) + _LEG_ENDS_NM
    if not within.any():
        return 0.0
    beyond = -float(_across_nm(view)[arrived : back + 1][within].min())
    return beyond if beyond > _WELL_ASTRAY_NM else 0.0


def _teardrop_deg(view: View, arrived: int, begun: int) -> float:
    """How far to the holding side the leg outbound of an entry led, over the ground, drift allowed for. [deg]"""
    legs = _outbound_legs(view, arrived, begun)
    if not legs:
        return 0.0
    seen, part = view.seen, slice(legs[0][0], legs[-1][1] + 1)
    off = _to_holding_side_deg(view, part)
    if not view.nose_known:
        return off - _UNSEEN_DEG
    drift = float(np.median(apart(seen.track_deg[part], seen.heading_deg[part])))
    pushed = drift if view.procedure.hold.turn == "left" else -drift  # to the holding side
    inward = _crab_deg(view)
    # By the drift seen here as well: the wind that was worked out may be that of another height.
    laid_off = min(max(0.0, -3.0 * pushed, 0.0 if inward is None else 3.0 * inward), DRIFT_MOST_DEG)
    return off - pushed - laid_off  # the nose, but for three times the drift laid off for a push off that side


def _crab_deg(view: View) -> float | None:
    """How far the nose lies off the inbound course to hold it, positive where outbound it lies to the holding side.

    None where the wind is not known.
    """
    if view.wind is None:
        return None
    hold, after = view.procedure.hold, view.mask("hold")
    tas_kt = max(float(np.median(view.seen.gs_kt[after])) if after.any() else 90.0, 60.0)
    from_deg = view.wind.from_deg_true - hold.inbound_course_deg - view.procedure.station.declination_deg
    crab = float(np.rad2deg(np.arcsin(np.clip(view.wind.kt * np.sin(np.deg2rad(from_deg)) / tas_kt, -0.9, 0.9))))
    # A wind from the right of the inbound course blows to its left: off the holding side of a hold to the right.
    return crab if hold.turn == "right" else -crab


def _dropped(view: View, arrived: int, begun: int) -> bool:
    """Whether one of the straight parts of an entry was the leg of a teardrop."""
    parts = [slice(run[0], run[1] + 1) for run in _outbound_legs(view, arrived, begun)]
    return any(_to_holding_side_deg(view, part) > _DROPPED_DEG for part in parts)


def _outbound_legs(view: View, arrived: int, begun: int) -> list[Run]:
    """Straight parts of an entry that lead outbound."""
    seen, out = view.seen, float(reciprocal(view.procedure.hold.inbound_course_deg))
    legs = view.runs(_since(view, arrived) & (view.numbers < begun) & ~view.turning, _LEG_S)
    return [run for run in legs if abs(float(apart(mean_deg(seen.track_deg[run[0] : run[1] + 1]), out))) < 60.0]


def _to_holding_side_deg(view: View, part: slice) -> float:
    """How far to the holding side of the outbound course a part leads; outbound it lies to the other hand. [deg]"""
    hold = view.procedure.hold
    side = -1.0 if hold.turn == "right" else 1.0
    return side * float(apart(mean_deg(view.seen.track_deg[part]), float(reciprocal(hold.inbound_course_deg))))


def hold_side(view: View, row: Row) -> Judgement:
    """Every turn of the laps goes the published way, and the laps lie on the holding side."""
    arrived = _arrival(view)
    if arrived is None:
        return not_judged(row, "The hold was not reached.")
    if (beyond := _other_end(view, row, arrived)) is not None:
        return view.judged(row, [beyond])
    turns = _whole_turns(view, arrived)
    hand = 1.0 if view.procedure.hold.turn == "right" else -1.0
    # The entry has turns of its own; from the first whole turn after the first way inbound on, all are laps.
    inbound = np.abs(apart(view.seen.track_deg, view.procedure.hold.inbound_course_deg)) < _INBOUND_DEG
    away = _away_nm(view)
    back = np.flatnonzero((view.numbers > arrived + view.samples(45.0)) & inbound & (away < _BY_FIX_NM))
    if not len(back):
        return not_judged(row, "No lap of the hold was recorded.")
    laps = [turn for turn in turns if turn[0][0] >= back[0] - view.samples(20.0)]
    if not laps:
        return not_judged(row, "No lap of the hold was recorded.")
    wrong = [turn for turn in laps if turn[1] * hand < 0]
    if not wrong:
        return view.judged(row, [], side=view.procedure.hold.turn)
    run, _ = wrong[0]
    other = "left" if hand > 0 else "right"
    turns_said = f"{len(wrong)} of {len(laps)} turns of the laps to the {other}"
    what = f"{turns_said}; the hold turns {view.procedure.hold.turn}."
    length = float(view.seen.time_s[-1] - view.seen.time_s[run[0]])
    return view.judged(row, [view.finding(row, (run[0], run[1], length), len(wrong), "turns", what, error=66)])


def _other_end(view: View, row: Row, arrived: int) -> Finding | None:
    """Laps beyond the fix, which is come to against the inbound course; None if not so, or once the right way."""
    seen, out_nm = view.seen, _out_nm(view)
    inbound = view.procedure.hold.inbound_course_deg
    straight = _since(view, arrived) & ~view.turning & view.mask("hold", "missed", "after")
    legs = [run for run in _unbroken(view, straight) if run[2] >= _LEG_S]
    if any(_to_fix(view, run) and float(out_nm[run[0]]) > 0.0 for run in legs):
        return None
    against = float(reciprocal(inbound))
    back = [run for run in legs if _to_fix(view, run, against) and float(out_nm[run[0]]) < -_CAME_NM]
    if not back or not any(abs(turned) > _WHOLE_TURN_DEG for _, turned in _turns(view, back[0][1])):
        return None
    run = (arrived, back[-1][1], float(seen.time_s[back[-1][1]] - seen.time_s[arrived]))
    fix = view.procedure.hold.fix
    what = f"{fix} was come to on {against:03.0f}, and the laps lie beyond it; inbound is {inbound:03.0f}."
    cause, said = (
        "the inbound course read from the wrong end",
        "inbound is towards the fix: on which course",
    )
    return view.finding(row, run, float(len(back)), "laps", what, error=66, cause=cause, next_time=said)


def _turns(view: View, arrived: int) -> list[tuple[Run, float]]:
    """Turns after the fix was reached, and how far each went, right positive. [deg]"""
    after = _since(view, arrived) & view.mask("hold", "missed", "after")
    heading = np.rad2deg(np.unwrap(np.deg2rad(view.seen.track_deg)))
    return [(run, float(heading[run[1]] - heading[run[0]])) for run in view.runs(after & view.turning, 10.0)]


def _whole_turns(view: View, since: int) -> list[tuple[Run, float]]:
    """Turns from one leg of a hold to the other; one that the recording ends in is seen by its beginning."""
    ends = len(view.seen) - 1 - view.samples(5.0)
    turns = _turns(view, since)
    return [turn for turn in turns if abs(turn[1]) > (_BEGUN_TURN_DEG if turn[0][1] >= ends else _WHOLE_TURN_DEG)]


@dataclass(frozen=True)
class _Lap:
    """One lap after the entry: its straight legs as first sample, last sample and length [s]."""

    number: int
    outbound: Run
    inbound: Run


def hold_wind(view: View, row: Row) -> Judgement:
    """Correction flown outbound, against what leg and turns ask for.

    The leg drifts for its own length, and each of the two turns for a minute: 1 + 2/T times the correction
    that holds the inbound course, for a leg of T minutes (three times for a minute, which AIM 5-3-8 has
    for every leg), and 30 degrees at most.
    """
    if not view.nose_known:
        return not_judged(row, "The recording holds no heading, and none could be worked out.")
    laps = list(_laps(view))
    if not laps:
        return not_judged(row, "No whole lap of the hold was recorded.")
    course = view.procedure.hold.inbound_course_deg
    findings, told = [], None
    for lap in laps:
        first, last, _ = lap.inbound
        # The crab, not the cut: what would hold the course, whether it was met yet or not.
        inbound = float(np.median(apart(view.seen.heading_deg, view.seen.track_deg)[first : last + 1]))
        if abs(inbound) < row.limit["limit_deg"]:
            continue
        first, last, _ = lap.outbound
        flown = float(np.median(apart(view.seen.heading_deg, float(reciprocal(course)))[first : last + 1]))
        outbound = -flown * np.sign(inbound)
        told = {"outbound": f"{outbound:.0f}", "inbound": f"{abs(inbound):.0f}"}
        factor = float(drift_factor(np.clip(lap.outbound[2] / 60.0, *_LEG_MIN)))
        wanted = min(factor * abs(inbound), DRIFT_MOST_DEG)
        if outbound >= min(max(_ENOUGH_TIMES, factor / 2) * abs(inbound), _ENOUGH_DEG):
            continue
        if wanted - outbound <= _LESS_DEG:
            continue
        beside_nm = abs(float(_across_nm(view)[_rolled_out(view, lap)]))
        # A crab this small tells nothing where the heading was worked out.
        unknown = "heading_deg" not in view.seen.recorded and abs(inbound) <= _HELD_DEG
        little = wanted - outbound <= _LITTLE_DEG and (unknown or outbound > _MORE_THAN_ONCE * abs(inbound))
        # The turn ended on the line, or near it where little was owed: it was paid.
        if beside_nm < _MET_NM or (little and beside_nm < _ASTRAY_NM):
            continue
        away = f"{outbound:.0f} degrees into the wind" if outbound > -0.5 else f"{-outbound:.0f} degrees downwind"
        what = (
            f"outbound {away}, where {abs(inbound):.0f} hold the inbound course: leg and turns "
            f"ask for {factor:.1f} times that, {wanted:.0f}."
        )
        least = min(_NONE_DEG, abs(inbound) / 2.0)
        cause = _NONE_LAID_OFF if abs(outbound) < least else _DOWNWIND if outbound < 0.0 else ""
        found = view.finding(row, lap.outbound, round(wanted - outbound), "degrees", what, cause=cause, error=51)
        beside = float(np.abs(_across_nm(view)[lap.inbound[0] : lap.inbound[1] + 1]).min())
        # Through the line by more than its tolerance, as on the way in to the final: miles beside it after the turn.
        since = (view.numbers >= _rolled_out(view, lap)) & (view.numbers <= lap.inbound[1])
        lost = since & (
            np.abs(view.off_deg(course)) > view.rubric.row("hold_track").limit["limit_deg"] + view.unsure_deg
        )
        blown = beside_nm > _BLOWN_NM and bool(lost.any())
        findings.append(replace(found, failed=beside > _FAR_BESIDE_NM or blown))
    if told is None:
        return not_judged(row, "There was too little wind across the hold.")
    failed = any(found.failed for found in findings)  # by any of the laps, whichever is told
    worst = [replace(found, failed=found.failed or failed) for found in worst_by_part(findings)]
    return view.judged(row, worst, **told)


def _rolled_out(view: View, lap: _Lap) -> int:
    """Sample where the turn inbound ended, whatever cut back to the line came after it."""
    between = (view.numbers > lap.outbound[1]) & (view.numbers < lap.inbound[0]) & ~view.turning
    straight = view.runs(between, _LEVEL_WINGS_S)
    return straight[0][0] if straight else lap.inbound[0]


def hold_track(view: View, row: Row) -> Judgement:
    """Needle on the way inbound to the fix, by the end of it: the correction outbound brings one back to the line."""
    if (other := _another_course(view, row)) is not None:
        return view.judged(row, [other])
    laps = list(_laps(view))
    if not laps:
        return not_judged(row, "No whole lap of the hold was recorded.")
    seen, course = view.seen, view.procedure.hold.inbound_course_deg
    off = view.off_deg(course)
    findings, worst_deg, judged = [], 0.0, False
    for lap in laps:
        first, last, _ = lap.inbound
        ending = (view.numbers >= first) & (view.numbers <= last) & view.readable
        ending &= seen.time_s > seen.time_s[last] - row.limit["last_s"]
        if not ending.any():
            continue
        judged = True
        least, unsure_deg = float(np.abs(off[ending]).min()), float(view.unsure_deg[ending].max())
        worst_deg = max(worst_deg, least)
        # Beyond half scale no line is held; beyond the tolerance it is not passed.
        if least > view.rubric.established_deg + unsure_deg:
            what = f"inbound {least:.0f} degrees or more off {course:03.0f} up to the fix."
            beyond = least > row.limit["limit_deg"] + unsure_deg
            findings.append(view.finding(row, lap.inbound, least, "deg", what, error=82, beyond=beyond))
    if not judged:
        return not_judged(row, "The way inbound was too short or too near the station to tell.")
    return view.judged(row, worst_by_part(findings), worst=f"{worst_deg:.0f}")


def _another_course(view: View, row: Row) -> Finding | None:
    """Entry and laps flown about one course that is not the published one; None if not so.

    What the wind makes of a leg outbound leads to the fix from beside the line as well: so the nose outbound lay
    round by as much as nobody lays off, to the side the wind pushes to, or the legs inbound, alike, began farther
    beside the line than any wind had carried.
    """
    arrived = _arrival(view)
    if arrived is None:
        return None
    seen, course = view.seen, view.procedure.hold.inbound_course_deg
    straight = _since(view, arrived) & ~view.turning & view.mask("hold", "missed", "after")
    legs = [run for run in _unbroken(view, straight) if run[2] >= _LEG_S]
    inward = [run for run in legs if _to_fix(view, run)]
    if not inward:
        return None
    # A cut back to a line is steeper at its beginning; the second half of a leg is the line that was meant.
    ends = [((run[0] + run[1]) // 2, run[1]) for run in inward]
    flown = [float(apart(mean_deg(seen.track_deg[first : last + 1]), course)) for first, last in ends]
    if len(flown) > _SEVERAL and abs(flown[0] - float(np.median(flown[1:]))) > _ALIKE_DEG:
        flown, inward, ends = flown[1:], inward[1:], ends[1:]  # an entry of another kind comes in as it can
    off = float(np.median(flown))
    other = float(np.mod(course + off, 360.0))
    outward = [run for run in legs if run[1] < inward[-1][0] and _along_back(view, run, other)]
    bent = any(abs(float(apart(*_halves_deg(view, *end)))) > _ALIKE_DEG for end in ends)
    if not _OTHER_DEG <= abs(off) < _TOO_FAR_DEG or np.ptp(flown) > _ALIKE_DEG or bent or not outward:
        return None
    of_laps = [run for run in outward if run[0] > inward[0][1]] or outward[-1:]  # those of an entry are its own
    laid_round = view.nose_known and all(_laid_round_deg(view, run, off) >= _HELD_DEG for run in of_laps)
    if view.nose_known and all(_downwind(view, run) for run in of_laps):
        return None  # laid off to the wrong side, the wind and the nose make as much together
    alone = len(inward) == 1 and not (laid_round and _laid_round_deg(view, outward[-1], off) > abs(off) - _ALIKE_DEG)
    if alone or not (laid_round or all(_beside_the_wind(view, run, of_laps) for run in inward)):
        return None
    first, last = outward[0][0], inward[-1][1]
    run = (first, last, float(seen.time_s[last] - seen.time_s[first]))
    what = f"entry and laps were flown about an inbound course of {other:03.0f}; the hold has {course:03.0f}."
    return view.finding(row, run, abs(off), "deg", what, error=63)


def _to_fix(view: View, run: Run, course_deg: float | None = None) -> bool:
    """Whether a straight leg leads to the holding fix, on any course near the inbound, or near a given one."""
    away, part = _away_nm(view), slice(run[0], run[1] + 1)
    near = float(away[part].min())
    at = run[0] + int(np.argmin(away[part]))
    course = view.procedure.hold.inbound_course_deg if course_deg is None else course_deg
    return bool(
        near < _BY_FIX_NM / 2
        and float(away[run[0]]) > near + _CAME_NM
        and at > run[0] + (run[1] - run[0]) // 2
        and abs(float(apart(mean_deg(view.seen.track_deg[part]), course))) < _TOO_FAR_DEG
    )


def _along_back(view: View, run: Run, course_deg: float) -> bool:
    """Whether a straight leg leads away on the other end of a course."""
    away = _away_nm(view)
    off = abs(float(apart(mean_deg(view.seen.track_deg[run[0] : run[1] + 1]), float(reciprocal(course_deg)))))
    return bool(away[run[1]] > away[run[0]] and off < _INBOUND_DEG)


def _halves_deg(view: View, first: int, last: int) -> tuple[float, float]:
    """Track of the first and of the second half of some samples. [deg]"""
    middle = (first + last) // 2
    track = view.seen.track_deg
    return mean_deg(track[first : middle + 1]), mean_deg(track[middle : last + 1])


def _laid_round_deg(view: View, outward: Run, off_deg: float) -> float:
    """How far the nose outbound lay round to one side of the outbound course, what the wind asks for taken off."""
    seen, part, side = view.seen, slice(outward[0], outward[1] + 1), float(np.sign(off_deg))
    course = view.procedure.hold.inbound_course_deg
    nose = side * float(apart(mean_deg(seen.heading_deg[part]), reciprocal(course)))
    pushed = side * float(np.median(apart(seen.track_deg[part], seen.heading_deg[part])))
    return nose - min(max(0.0, -3.0 * pushed), DRIFT_MOST_DEG)  # against the wind, as is right


def _downwind(view: View, outward: Run) -> bool:
    """Whether the nose outbound lay downwind by about what holds the course on the other side."""
    seen, part = view.seen, slice(outward[0], outward[1] + 1)
    nose = float(apart(mean_deg(seen.heading_deg[part]), reciprocal(view.procedure.hold.inbound_course_deg)))
    drift = float(np.median(apart(seen.track_deg[part], seen.heading_deg[part])))
    return bool(nose * drift > 0.0 and abs(drift) >= _DRIFTS_DEG and _MIRRORED[0] < nose / drift < _MIRRORED[1])


def _beside_the_wind(view: View, inward: Run, outward: list[Run]) -> bool:
    """Whether a leg inbound begins farther beside the line than the wind carries from the fix to there."""
    before = [run for run in outward if run[1] < inward[0]]
    if not before:
        return True  # of an entry of another kind
    course = view.procedure.hold.inbound_course_deg + view.procedure.station.declination_deg
    if view.wind is None:
        across_kt = _USUAL_KT
    else:
        across_kt = abs(view.wind.kt * float(np.sin(np.deg2rad(view.wind.from_deg_true - course))))
        across_kt += view.wind.unsure_kt
    if view.nose_known:  # the wind that was worked out may be that of another height
        for run in (before[-1], inward):
            part = slice(run[0], run[1] + 1)
            drift = np.deg2rad(np.median(apart(view.seen.track_deg[part], view.seen.heading_deg[part])))
            across_kt = max(across_kt, float(np.median(view.seen.gs_kt[part])) * abs(float(np.sin(drift))))
    begun = _turn_begun(view, before[-1][0] - 1)
    lasted_s = float(view.seen.time_s[inward[0]] - view.seen.time_s[begun])
    beside_nm = abs(float(_across_nm(view)[inward[0]]))
    return beside_nm > _ENOUGH_TIMES * across_kt * lasted_s / 3600.0 + _ON_LINE_NM


def hold_leg(view: View, row: Row) -> Judgement:
    """Where the turn inbound begins, for legs by DME; how long the leg inbound takes, for legs by the clock."""
    if _arrival(view) is None and (short := _short_of_fix(view, row)) is not None:
        return view.judged(row, [short])
    laps = list(_laps(view))
    far = _far_out(view, row)
    if far:
        return view.judged(row, far)
    if (round_and_round := _circles(view, row)) is not None:
        return view.judged(row, [round_and_round])
    if (away := _not_turned_back(view, row)) is not None:
        return view.judged(row, [away])
    if not laps:
        return not_judged(row, "No whole lap of the hold was recorded.")
    if (beside := _not_at_fix(view, row, laps)) is not None:
        return view.judged(row, [beside])
    turn_dme = view.procedure.hold_turn_dme()
    if turn_dme is None:
        return _timed(view, row, laps, 60.0 * (view.procedure.hold.leg_min or 1.0))
    end_nm, rises = turn_dme
    findings: list[Finding] = []
    for lap in laps:
        turned_nm = float(view.seen.dme_nm[lap.outbound[1]])
        beyond = (turned_nm - end_nm) * (1.0 if rises else -1.0)
        after = min(lap.outbound[1] + 1, len(view.seen) - 1)  # it may lie behind a pause
        unseen_s = max(float(view.seen.time_s[after] - view.seen.time_s[lap.outbound[1]]), view.seen.step_s)
        sampled_nm = float(view.seen.gs_kt[lap.outbound[1]]) / 3600.0 * unseen_s
        if abs(beyond) > row.limit["limit_nm"] + _LAST_NM + sampled_nm:
            side = "late" if beyond > 0 else "early"
            what = f"turned inbound at {turned_nm:.1f} DME, {abs(beyond):.1f} NM {side}: it ends at {end_nm:.0f}."
            cause, said = _by_number(view, late=beyond > 0)
            found = view.finding(
                row, lap.outbound, abs(beyond), "NM", what, error=52, cause=cause, next_time=said, critical=False
            )
            findings.append(replace(found, failed=abs(beyond) > row.limit["failed_nm"]))
    return view.judged(row, worst_by_part(findings), leg=f"Turned inbound at {end_nm:.0f} DME")


def _not_at_fix(view: View, row: Row, laps: list[_Lap]) -> Finding | None:
    """Turns outbound begun far from the fix, lap for lap, which is where they begin; None if not so."""
    seen, hold, out_nm, arrived = view.seen, view.procedure.hold, _out_nm(view), _arrival(view)
    if arrived is None:
        return None
    inbound = np.abs(apart(seen.track_deg, hold.inbound_course_deg)) < _INBOUND_DEG
    begun = [run for run, turned in _turns(view, arrived) if abs(turned) > _BEGUN_TURN_DEG]
    turns = [run for run in begun[1:] if inbound[run[0]]]  # the first one is the entry's
    if len(turns) < _SEVERAL:
        return None
    first = [run[0] for run in turns]
    off_nm, step_nm = out_nm[first], seen.gs_kt[first] / 3600.0 * seen.step_s
    least_nm = row.limit["fix_nm"] + seen.position_nm + _LAST_NM + step_nm
    if not ((off_nm > least_nm).all() or (off_nm < -least_nm).all()):
        return None
    middle_nm = float(np.median(off_nm))
    ends_nm = float(np.median([out_nm[lap.outbound[1]] for lap in laps])) - _leg_nm(view, arrived)
    away = f"{abs(middle_nm):.1f} NM {'before' if middle_nm > 0.0 else 'past'} {hold.fix}"
    if abs(ends_nm - middle_nm) < _ELSEWHERE_NM:
        what = f"the laps have their length and lie {away}, as it is seen on the way inbound."
        cause = _OTHER_FIX
    else:
        what = f"turned outbound {away} on {len(turns)} laps; the turn begins at the fix."
        cause = "turned before the fix was there" if middle_nm > 0.0 else "the passage of the fix was missed"
    return _laps_elsewhere(view, row, turns, abs(middle_nm), what, cause)


def _circles(view: View, row: Row) -> Finding | None:
    """Round and round at the fix, with no leg between the turns; None if not so."""
    arrived = _arrival(view)
    if arrived is None:
        return None
    round_s = [turn for turn in _turns(view, arrived) if abs(turn[1]) > _ROUND_DEG]
    if not round_s:
        return None
    run, turned = round_s[0]
    times = max(1, round(abs(turned) / 360.0))
    what = f"{times} {'times' if times > 1 else 'time'} round at {view.procedure.hold.fix}; a hold has legs."
    said = "turn, leg, turn, leg: the clock or the DME ends it"
    found = view.finding(
        row,
        run,
        float(times),
        "circles",
        what,
        error=52,
        cause="circles in place of laps",
        next_time=said,
        critical=False,
    )
    return replace(view.told_in("hold", found), failed=True)


def _short_of_fix(view: View, row: Row) -> Finding | None:
    """Laps on the line of the hold whose fix was never reached; None if not so."""
    if view.climb_at is None:
        return None
    seen, hold, out_nm = view.seen, view.procedure.hold, _out_nm(view)
    on_line = np.abs(apart(seen.track_deg, hold.inbound_course_deg)) < _INBOUND_DEG
    on_line &= (np.abs(_across_nm(view)) < _WELL_ASTRAY_NM) & (np.abs(out_nm) < _FARTHEST_NM)
    whole = [run for run, _ in _whole_turns(view, view.climb_at)]
    turns = [run for run in whole if on_line[run[0]]]
    if len(turns) < _SEVERAL and not _one_lap(view, whole, turns):
        return None
    off_nm = out_nm[[run[0] for run in turns]]
    least_nm = row.limit["fix_nm"] + seen.position_nm + _LAST_NM
    if not ((off_nm > least_nm).all() or (off_nm < -least_nm).all()):
        return None
    short_nm = float(np.median(off_nm))
    side = "before" if short_nm > 0.0 else "past"
    what = (
        f"the laps were flown {abs(short_nm):.1f} NM {side} {hold.fix}, as it is seen inbound; it was never reached."
    )
    return _laps_elsewhere(view, row, turns, abs(short_nm), what, _OTHER_FIX)


def _one_lap(view: View, whole: list[Run], on_line: list[Run]) -> bool:
    """Whether a turn begun on the line of the hold was followed by another one that led back on to it."""
    if not on_line:
        return False
    back = [run for run in whole if run[0] > on_line[0][1]]
    if not back:
        return False
    course = view.procedure.hold.inbound_course_deg
    again = (view.numbers > back[0][1]) & ~view.turning & (np.abs(_across_nm(view)) < _ASTRAY_NM)
    again &= np.abs(apart(view.seen.track_deg, course)) < _INBOUND_DEG
    return bool(view.runs(again, _LEG_S))


def _laps_elsewhere(view: View, row: Row, turns: list[Run], off_nm: float, what: str, cause: str) -> Finding:
    """What is said of laps whose turns do not begin at the fix."""
    first, last = turns[0][0], turns[-1][1]
    run = (first, last, float(view.seen.time_s[last] - view.seen.time_s[first]))
    said = "the fix by its radial and its distance: there, turn"
    far = off_nm > row.limit["elsewhere_nm"]
    found = view.finding(row, run, off_nm, "NM", what, cause=cause, next_time=said, critical=far)
    return replace(found, failed=off_nm > row.limit["failed_nm"])


def _far_out(view: View, row: Row) -> list[Finding]:
    """Outbound so far beyond the end of the leg, on the entry or on a lap, that nothing protects the hold there."""
    arrived = _arrival(view)
    if arrived is None:
        return []
    after = _since(view, arrived) & view.mask("hold", "missed", "after")
    if not after.any():
        return []
    leg_nm = _leg_nm(view, arrived)
    beyond = np.where(after, _out_nm(view) - leg_nm, -99.0)
    for run in view.runs(beyond > row.limit["critical_nm"])[:1]:
        worst = float(beyond[run[0] : run[1] + 1].max())
        ends = f"{worst:.1f} NM beyond the end of the leg: outside what is protected."
        turned = any(abs(turn) > _BEGUN_TURN_DEG for turning, turn in _turns(view, arrived) if turning[0] < run[0])
        if not turned:
            what = f"flew on {worst + leg_nm:.1f} NM past {view.procedure.hold.fix} with no turn back, {ends}"
            return [view.told_in("hold", view.finding(row, run, worst, "NM", what, error=84))]
        what = f"{worst + leg_nm:.1f} NM outbound, {ends}"
        cause, said = _by_number(view)
        found = view.finding(row, run, worst, "NM", what, error=52, cause=cause, next_time=said)
        return [view.told_in("hold", found)]
    return []


def _not_turned_back(view: View, row: Row) -> Finding | None:
    """Outbound well beyond the end of the leg as the recording ends; None where it was turned, or still within it."""
    arrived = _arrival(view)
    if arrived is None:
        return None
    outward = np.abs(apart(view.seen.track_deg, float(reciprocal(view.procedure.hold.inbound_course_deg))))
    legs = view.runs(_since(view, arrived) & (outward < _INBOUND_DEG) & ~view.turning, _LEG_S)
    if not legs or view.seen.time_s[-1] - view.seen.time_s[legs[-1][1]] > _WAVER_S:
        return None
    beyond_nm = float(_out_nm(view)[legs[-1][1]]) - _leg_nm(view, arrived)
    if beyond_nm <= row.limit["failed_nm"] + view.seen.position_nm:
        return None
    what = f"outbound for {legs[-1][2]:.0f} s, {beyond_nm:.1f} NM beyond the end of the leg, and not turned inbound."
    return replace(view.finding(row, legs[-1], beyond_nm, "NM", what, error=52, critical=False), failed=True)


def _by_number(view: View, *, late: bool = True) -> tuple[str, str]:
    """Cause and cure of a leg that ends at a number of the DME; empty where the clock ends it."""
    if view.procedure.hold_turn_dme() is None:
        return "", ""
    did = "flown past, the DME not watched" if late else "not waited for"
    return f"the DME at the end of the leg {did}, or another number taken for it", "turn at the number briefed"


def _out_nm(view: View) -> Floats:
    """How far outbound of the holding fix every sample lies. [NM]"""
    seen, hold = view.seen, view.procedure.hold
    course = np.deg2rad(hold.inbound_course_deg + view.procedure.station.declination_deg)
    east, north = place(view.procedure, hold.fix)
    return np.asarray(-((seen.east_nm - east) * np.sin(course) + (seen.north_nm - north) * np.cos(course)))


def _leg_nm(view: View, arrived: int) -> float:
    """Length of the leg outbound over the ground. [NM]"""
    hold = view.procedure.hold
    after = _since(view, arrived) & view.mask("hold", "missed", "after")
    return hold.leg_dme_nm or float(np.median(view.seen.gs_kt[after])) / 60.0 * (hold.leg_min or 1.0)


def _timed(view: View, row: Row, laps: list[_Lap], wanted_s: float) -> Judgement:
    """Judge timed legs: in the US a minute inbound is the aim, by ICAO a minute outbound; either will do.

    Inbound from the second lap on: the first one is there to find the wind.
    """
    limit_s = row.limit["limit_s"]
    findings = []
    for lap in laps:
        inbound_s, outbound_s = lap.inbound[2] - wanted_s, lap.outbound[2] - wanted_s
        share = _of_still_air(view, lap.outbound, wanted_s)
        if share is not None and abs(share - 1.0) <= row.limit["share_percent"] / 100.0:
            continue  # as long over the ground as a minute makes in still air: the wind was allowed for
        # On a third of the leg inbound there is no time to find the line.
        hurried = lap.inbound[2] < _HURRIED * wanted_s
        first = lap.number == 1 and abs(outbound_s) <= 2 * limit_s and not hurried
        if min(abs(inbound_s), abs(outbound_s)) <= limit_s or first:
            continue
        change = f"{abs(inbound_s):.0f} s {'less' if inbound_s > 0 else 'more'} outbound"
        what = (
            f"the leg outbound took {lap.outbound[2]:.0f} s and the one inbound {lap.inbound[2]:.0f} s, where "
            f"{wanted_s:.0f} are wanted: {change}."
        )
        found = view.finding(row, lap.outbound, round(abs(inbound_s)), "s", what, error=52, critical=False)
        gs_kt = float(np.median(view.seen.gs_kt[lap.outbound[0] : lap.outbound[1] + 1]))
        off_nm = min(abs(inbound_s), abs(outbound_s)) * gs_kt / 3600.0
        findings.append(replace(found, failed=off_nm > row.limit["failed_nm"] or hurried))
    return view.judged(row, worst_by_part(findings), leg=f"Inbound {laps[-1].inbound[2]:.0f} s" if laps else "")


def _of_still_air(view: View, outbound: Run, wanted_s: float) -> float | None:
    """Length of a leg outbound as a share of what its time makes in still air; None where the wind is not known."""
    if view.wind is None:
        return None
    seen, part = view.seen, slice(outbound[0], outbound[1] + 1)
    track_true = mean_deg(seen.track_deg[part]) + view.procedure.station.declination_deg
    gs_kt = float(np.median(seen.gs_kt[part]))
    behind_kt = -view.wind.kt * float(np.cos(np.deg2rad(view.wind.from_deg_true - track_true)))
    return gs_kt * outbound[2] / (max(gs_kt - behind_kt, 40.0) * wanted_s)


def _laps(view: View) -> Iterator[_Lap]:
    """Whole laps after the entry: straight outbound, turned, straight inbound to the fix."""
    arrived = _arrival(view)
    if arrived is None:
        return
    seen, course = view.seen, view.procedure.hold.inbound_course_deg
    straight = _since(view, arrived) & ~view.turning
    to_course = np.abs(apart(seen.track_deg, course))
    legs = [(run, False) for run in _unbroken(view, straight & (to_course > 120.0)) if run[2] >= _LEG_S]
    # Close to the fix a course is still being corrected; a leg inbound is one that gets there.
    away = _away_nm(view)
    legs += [
        (run, True)
        for run in _unbroken(view, straight & (to_course < _INBOUND_DEG))
        if run[2] >= _LEG_S
        if float(away[run[0] : run[1] + 1].min()) < _BY_FIX_NM or run[2] > _LONG_LEG_S
    ]
    number, outbound = 0, None
    entered = False
    for run, inward in sorted(legs):
        if not inward:
            outbound = run
        elif outbound is not None and entered:
            number += 1
            at_fix = run[0] + int(np.argmin(away[run[0] : run[1] + 1]))
            length = float(seen.time_s[at_fix] - seen.time_s[run[0]])
            yield _Lap(number, outbound, (run[0], at_fix, length))
            outbound = None
        else:
            entered, outbound = True, None


def _unbroken(view: View, mask: Mask) -> list[Run]:
    """Runs of a mask, joined where a waver parts them that leads nowhere else."""
    seen, joined = view.seen, list[Run]()
    for run in view.runs(mask):
        before = joined[-1] if joined else None
        if before is not None and seen.stretch[before[1]] == seen.stretch[run[0]]:
            turned = abs(float(apart(seen.track_deg[run[0]], seen.track_deg[before[1]])))
            if seen.time_s[run[0]] - seen.time_s[before[1]] <= _WAVER_S and turned < _WAVER_DEG:
                length = float(seen.time_s[run[1]] - seen.time_s[before[0]]) + seen.step_s
                joined[-1] = before[0], run[1], length
                continue
        joined.append(run)
    return joined


def _away_nm(view: View) -> Floats:
    """Distance of every sample from the holding fix. [NM]"""
    return view.away_nm(view.procedure.hold.fix)


def _recent_deg(view: View, direction_deg: Floats, at: int) -> float:
    """Mean of a direction over the seconds before a sample."""
    near = (view.seen.time_s > view.seen.time_s[at] - 15.0) & (view.seen.time_s <= view.seen.time_s[at])
    return mean_deg(direction_deg[near])


def _arrival(view: View) -> int | None:
    """Sample nearest the holding fix, the first time it is reached after the missed approach."""
    if view.climb_at is None:
        return None
    away = _away_nm(view)
    left = np.flatnonzero((view.numbers > view.climb_at) & (away > 2 * _AT_FIX_NM))
    if not len(left):
        return None
    runs = view.runs((view.numbers > left[0]) & (away < _AT_FIX_NM))
    if not runs:
        return None
    first, last, _ = runs[0]
    return first + int(np.argmin(away[first : last + 1]))
