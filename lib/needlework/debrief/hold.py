"""Judge of the hold: the entry."""

from __future__ import annotations

import numpy as np

from needlework.debrief.rubric import Row
from needlework.debrief.view import Judgement, View, apart, not_judged
from needlework.holding import entries

_AT_FIX_NM = 0.6
_LONGEST_S = 420.0  # an entry is over by then, in any wind
_INBOUND_DEG = 40.0


def hold_entry(view: View, row: Row) -> Judgement:
    """Entry by the side of its turn inbound: the holding side (direct, teardrop) or the other one (parallel)."""
    arrived = _arrival(view)
    if arrived is None:
        return not_judged(row, "The hold was not reached.")
    seen, hold = view.seen, view.procedure.hold
    hand = 1.0 if hold.turn == "right" else -1.0
    inbound = np.abs(apart(seen.track_deg, hold.inbound_course_deg))
    since = seen.time_s - seen.time_s[arrived]
    after = (np.arange(len(seen)) > arrived) & (since < _LONGEST_S) & (seen.stretch == seen.stretch[arrived])
    out = np.flatnonzero(after & (inbound > 120.0))
    back = np.flatnonzero(after & (inbound < _INBOUND_DEG))
    back = back[back > out[0]] if len(out) else back[:0]
    if not len(back):
        return not_judged(row, "The recording ends before the entry was flown.")
    outbound = int(out[out < back[0]][-1])
    turn = np.unwrap(np.deg2rad(seen.track_deg[outbound : back[0] + 1]))
    protected = (turn[-1] - turn[0]) * hand > 0
    heading = _heading(view, arrived)
    good = entries(heading, hold.inbound_course_deg, hold.turn)
    allowed = "parallel" not in good or len(good) > 1 if protected else "parallel" in good
    name = next((entry for entry in good if (entry == "parallel") != protected), good[0])
    if allowed:
        return view.judged(row, [], entry=name)
    run = (arrived, int(back[0]), float(seen.time_s[back[0]] - seen.time_s[arrived]))
    side = "holding" if protected else "unprotected"
    what = f"turned inbound on the {side} side; heading {heading:03.0f} at the fix asks for a {good[0]} entry."
    return view.judged(row, [view.finding(row, run, 0.0, "", what, error=50)])


def _heading(view: View, at: int) -> float:
    """Heading at a sample, over the seconds before it."""
    near = (view.seen.time_s > view.seen.time_s[at] - 15.0) & (view.seen.time_s <= view.seen.time_s[at])
    angle = np.deg2rad(view.seen.heading_deg[near])
    return float(np.mod(np.rad2deg(np.arctan2(np.sin(angle).mean(), np.cos(angle).mean())), 360.0))


def _arrival(view: View) -> int | None:
    """Sample nearest the holding fix, the first time it is reached after the missed approach."""
    seen, procedure = view.seen, view.procedure
    if view.climb_at is None:
        return None
    fix = procedure.fix(procedure.hold.fix)
    angle = np.deg2rad(fix.radial_deg + procedure.station.declination_deg)
    away = np.hypot(seen.east_nm - fix.dist_nm * np.sin(angle), seen.north_nm - fix.dist_nm * np.cos(angle))
    left = np.flatnonzero((np.arange(len(seen)) > view.climb_at) & (away > 2 * _AT_FIX_NM))
    if not len(left):
        return None
    runs = view.runs((np.arange(len(seen)) > left[0]) & (away < _AT_FIX_NM))
    if not runs:
        return None
    first, last, _ = runs[0]
    return first + int(np.argmin(away[first : last + 1]))
