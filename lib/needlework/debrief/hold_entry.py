"""Judge of the entry of a hold: where its first turn was made, and on which side it led back."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from needlework.debrief import hold_pattern as pattern
from needlework.debrief.evidence import View
from needlework.debrief.findings import Finding, Judgement, Run, apart, mean_deg, not_judged
from needlework.debrief.hold_turns import is_flown_past, late_at_fix, not_turned
from needlework.debrief.rubric import Row
from needlework.trade.angles import reciprocal
from needlework.trade.holding import DRIFT_MOST_DEG, entries

_LONGEST_S = 600.0  # an entry is over by then, in any wind: legs of four miles, a teardrop longer than they are
_ALONG_DEG = 20.0  # of the line that leads to the fix
_AWAY_DEG, _AWAY_S = 55.0, 40.0  # off the outbound course: more than a teardrop and its wind
_LEG_ENDS_NM = 1.0  # beyond the end of the leg outbound and the width of its turn the length is the matter
_OUTBOUND_DEG = 120.0  # of the inbound course
_TEARDROP_DEG = 13.0
_DROPPED_DEG = 10.0  # a leg of a teardrop, as far as it shows over the ground: what leads across the line is the wind
_UNSEEN_DEG = 10.0  # what the wind may make of a leg where the nose is not known


@dataclass(frozen=True)
class _Entry:
    """An entry as it was flown: from the fix to the way back, and by which hand."""

    arrived: int
    begun: int
    back: int
    protected: bool  # the turn back was made to the hand of the hold


def hold_entry(view: View, row: Row) -> Judgement:
    """Entry by the side of its turn inbound: the holding side (direct, teardrop) or the other one (parallel)."""
    arrived = pattern.arrival(view)
    if arrived is None:
        return not_judged(row, "The hold was not reached.")
    if (late := late_at_fix(view, row, arrived)) is not None:
        return view.judged(row, [late])
    entry = _flown(view, arrived)
    if entry is None:
        never = not_turned(view, row, arrived)
        if not is_flown_past(never):
            never = _turned_away(view, row, arrived)
        ends = not_judged(row, "The recording ends before the entry was flown.")
        return view.judged(row, [never]) if never else ends
    heading = pattern.recent_deg(view, view.seen.heading_deg, arrived)
    good = _asked(view, arrived, heading)
    wrong = _wrong(view, row, entry, good, f"heading {heading:03.0f} at the fix asks for a {' or '.join(good)} entry")
    name = next((way for way in good if (way == "parallel") != entry.protected), good[0])
    return view.judged(row, [wrong] if wrong else [], entry=name)


def _flown(view: View, arrived: int) -> _Entry | None:
    """What was flown from the fix to the first way back on to the inbound course; None where none came."""
    seen, hold = view.seen, view.procedure.hold
    inbound = np.abs(apart(seen.track_deg, hold.inbound_course_deg))
    since = seen.time_s - seen.time_s[arrived]
    after = pattern.since(view, arrived) & (since < _LONGEST_S) & (seen.stretch == seen.stretch[arrived])
    out = np.flatnonzero(after & (inbound > _OUTBOUND_DEG))
    back = np.flatnonzero(after & (inbound < pattern.INBOUND_DEG))
    back = back[back > out[0]] if len(out) else back[:0]
    if not len(back):
        return None
    outbound = int(out[out < back[0]][-1])
    turn = np.unwrap(np.deg2rad(seen.track_deg[outbound : back[0] + 1]))
    protected = bool((turn[-1] - turn[0]) * pattern.hand(view) > 0)
    return _Entry(arrived, pattern.turn_begun(view, outbound), int(back[0]), protected)


def _asked(view: View, arrived: int, heading_deg: float) -> tuple[str, ...]:
    """Entries that are right, those of the heading first.

    The sectors are by the heading in one book, by where one comes from in the other, and in a briefing by the line
    that leads to the fix: any of them is accepted.
    """
    hold = view.procedure.hold
    track_deg = pattern.recent_deg(view, view.seen.track_deg, arrived)
    ways = [
        way
        for direction in (heading_deg, track_deg)
        for way in entries(heading_deg=direction, inbound_course_deg=hold.inbound_course_deg, side=hold.turn)
    ]
    return tuple(dict.fromkeys((*ways, *_by_leg(view, arrived))))


def _wrong(view: View, row: Row, entry: _Entry, good: tuple[str, ...], asks: str) -> Finding | None:
    """What is said of an entry that was none of the right ones, or led to the unprotected side; None where it was."""
    seen, arrived, begun, back = view.seen, entry.arrived, entry.begun, entry.back
    run = (arrived, back, float(seen.time_s[back] - seen.time_s[arrived]))
    dropped = _dropped(view, arrived, begun)
    by_turn = entry.protected and not (dropped and "teardrop" in good)
    astray = _astray_nm(view, arrived, begun, back) if by_turn else 0.0
    astray = max(astray, _far_astray_nm(view, arrived, back))
    right = ("parallel" not in good or len(good) > 1) if entry.protected else "parallel" in good
    if (
        right
        and entry.protected
        and astray
        and not _on_the_line(view, arrived, dropped)
        and _blown(view, arrived, back)
    ):
        what = f"the wind carried the entry {astray:.1f} NM on to the unprotected side; nothing was laid off for it."
        found = view.finding(row, run, astray, "NM", what, error=51, critical=False)
        return replace(found, failed=False)
    other_deg, other_nm = (0.0, 0.0) if entry.protected else _to_the_other_side(view, arrived, begun)
    if right and other_nm:
        what = f"outbound {other_deg:.0f} degrees off the outbound course to the unprotected side, {other_nm:.1f} NM "
        what += f"across the line, as in a teardrop to the wrong hand; {asks}."
        return replace(view.finding(row, run, other_nm, "NM", what, error=50, critical=True), failed=True)
    cut = _teardrop_deg(view, arrived, begun) if good == ("direct",) else 0.0
    if right and not astray and cut <= _TEARDROP_DEG:
        return None
    what = f"turned inbound on the {'holding' if entry.protected else 'unprotected'} side; {asks}."
    if astray:
        what = f"the entry led {astray:.1f} NM on to the unprotected side; {asks}."
    elif cut > _TEARDROP_DEG:
        what = f"outbound {cut:.0f} degrees off the outbound course, as in a teardrop; {asks}."
    unprotected = bool(astray) or not entry.protected
    found = view.finding(row, run, astray, "NM" if astray else "", what, error=50, critical=unprotected)
    return replace(found, failed=unprotected)


def _on_the_line(view: View, arrived: int, dropped: bool) -> bool:
    """Whether it came outbound along the line and flew no leg of a teardrop, so that no leg was a wind's to spoil."""
    came = pattern.recent_deg(view, view.seen.track_deg, arrived)
    outward = abs(float(apart(came, reciprocal(view.procedure.hold.inbound_course_deg))))
    return outward < pattern.INBOUND_DEG and not dropped


def _by_leg(view: View, arrived: int) -> tuple[str, ...]:
    """Entries by the course of the line that led to the fix, where it was held: the one a briefing goes by."""
    radial = view.procedure.missed.intercept_radial_deg
    if radial is None or abs(float(apart(view.seen.radial_deg[arrived], radial))) > view.rubric.established_deg:
        return ()
    if abs(float(apart(pattern.recent_deg(view, view.seen.track_deg, arrived), radial))) > _ALONG_DEG:
        return ()
    hold = view.procedure.hold
    return entries(heading_deg=radial, inbound_course_deg=hold.inbound_course_deg, side=hold.turn)


def _turned_away(view: View, row: Row, arrived: int) -> Finding | None:
    """Away from the fix, straight and for long, on a heading that no entry has, neither outbound nor inbound."""
    seen, hold = view.seen, view.procedure.hold
    away_nm = pattern.away_nm(view)
    after = pattern.since(view, arrived) & (seen.stretch == seen.stretch[arrived]) & ~view.turning
    elsewhere = np.abs(apart(seen.track_deg, reciprocal(hold.inbound_course_deg))) > _AWAY_DEG
    elsewhere &= np.abs(apart(seen.track_deg, hold.inbound_course_deg)) > pattern.INBOUND_DEG
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


def _blown(view: View, arrived: int, back: int) -> bool:
    """Whether the wind pushed a turn made to the right hand off to the unprotected side, nothing being laid off."""
    if view.wind is None:
        return False
    across_kt = pattern.hand(view) * pattern.from_right_kt(view, view.wind)
    lasted_s = float(view.seen.time_s[back] - view.seen.time_s[arrived])
    # Off the holding side and away from it: what the wind makes of the time, and the width of the turn besides.
    return across_kt * lasted_s / 3600.0 > pattern.ASTRAY_NM


def _astray_nm(view: View, arrived: int, begun: int, back: int) -> float:
    """How far a turn to the hand of the hold, begun on the line, led to the unprotected side; 0 where it did not."""
    across = pattern.across_nm(view)
    if float(across[begun]) > pattern.ON_LINE_NM or begun <= arrived:
        return 0.0
    if float(across[arrived : begun + 1].max()) > pattern.ASTRAY_NM:
        return 0.0  # it began on the holding side: what led across the line is the wind, or what was laid off for it
    beyond = -float(across[begun : back + 1].min())
    return beyond if beyond > pattern.ASTRAY_NM else 0.0


def _far_astray_nm(view: View, arrived: int, back: int) -> float:
    """How far an entry of any kind led to the unprotected side, where that is no matter of its turns; else 0."""
    within = pattern.out_nm(view)[arrived : back + 1] < pattern.leg_nm(view, arrived) + _LEG_ENDS_NM
    if not within.any():
        return 0.0
    beyond = -float(pattern.across_nm(view)[arrived : back + 1][within].min())
    return beyond if beyond > pattern.WELL_ASTRAY_NM else 0.0


def _teardrop_deg(view: View, arrived: int, begun: int) -> float:
    """How far to the holding side the nose lay on the leg outbound of an entry, the wind allowed for. [deg]"""
    legs = _outbound_legs(view, arrived, begun)
    return _nose_deg(view, slice(legs[0][0], legs[-1][1] + 1), 1.0) if legs else 0.0


def _to_the_other_side(view: View, arrived: int, begun: int) -> tuple[float, float]:
    """How far to the unprotected side of the outbound course a leg led that no wind explains. [deg, NM]

    As a teardrop leads to the holding side: over the ground, and how far across the line; twice 0 where none did.
    """
    across, farthest = pattern.across_nm(view), (0.0, 0.0)
    for first, last, _ in _outbound_legs(view, arrived, begun):
        part = slice(first, last + 1)
        led_nm = float(min(across[first] - across[last], -across[last]))  # back to the line is no way across it
        if led_nm > max(pattern.ON_LINE_NM, farthest[1]) and _nose_deg(view, part, -1.0) > _TEARDROP_DEG:
            farthest = -pattern.to_holding_side_deg(view, part), led_nm
    return farthest


def _nose_deg(view: View, part: slice, side: float) -> float:
    """How far the nose of a part lay to the holding side (or the other: -1), the wind allowed for. [deg]

    By the track, less what a wind may make of it, where the nose is not known.
    """
    seen = view.seen
    off = side * pattern.to_holding_side_deg(view, part)
    if not view.nose_known:
        return off - _UNSEEN_DEG
    drift = float(np.median(apart(seen.track_deg[part], seen.heading_deg[part])))
    pushed = -side * pattern.hand(view) * drift
    crab = _crab_deg(view)
    # By the drift seen here as well: the wind that was worked out may be that of another height.
    laid_off = min(max(0.0, -3.0 * pushed, 0.0 if crab is None else 3.0 * side * crab), DRIFT_MOST_DEG)
    return off - pushed - laid_off  # the nose, but for three times the drift laid off for a push off that side


def _crab_deg(view: View) -> float | None:
    """How far the nose lies off the inbound course to hold it, positive where outbound it lies to the holding side.

    None where the wind is not known.
    """
    if view.wind is None:
        return None
    after = view.mask("hold")
    tas_kt = max(float(np.median(view.seen.gs_kt[after])) if after.any() else 90.0, 60.0)
    crab = float(np.rad2deg(np.arcsin(np.clip(pattern.from_right_kt(view, view.wind) / tas_kt, -0.9, 0.9))))
    # A wind from the right of the inbound course blows to its left: off the holding side of a hold to the right.
    return pattern.hand(view) * crab


def _dropped(view: View, arrived: int, begun: int) -> bool:
    """Whether one of the straight parts of an entry was the leg of a teardrop."""
    parts = [slice(run[0], run[1] + 1) for run in _outbound_legs(view, arrived, begun)]
    return any(pattern.to_holding_side_deg(view, part) > _DROPPED_DEG for part in parts)


def _outbound_legs(view: View, arrived: int, begun: int) -> list[Run]:
    """Straight parts of an entry that lead outbound."""
    seen, out = view.seen, float(reciprocal(view.procedure.hold.inbound_course_deg))
    legs = view.runs(pattern.since(view, arrived) & (view.numbers < begun) & ~view.turning, pattern.LEG_S)
    return [run for run in legs if abs(float(apart(mean_deg(seen.track_deg[run[0] : run[1] + 1]), out))) < 60.0]
