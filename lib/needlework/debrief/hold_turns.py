"""Where the turns of a hold were due, and how far it went on straight past that place.

A direct entry and a teardrop begin with a turn at the fix, a parallel entry and every lap with one at the end of the
leg outbound. How far past it the turn came, or that it never came, is all that is measured.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from needlework.debrief import hold_pattern as pattern
from needlework.debrief.evidence import View
from needlework.debrief.findings import Finding, Run, apart, mean_deg
from needlework.debrief.rubric import Row
from needlework.trade.angles import reciprocal
from needlework.trade.holding import entries

_FLOWN_PAST = 84  # number of the error
_SHORT_LEG_S = 6.0  # of a teardrop begun late, hardly any time is left for its leg
_DROP_DEG = 12.0, 50.0  # the leg of a teardrop against the way to the fix: thirty, and some wind; less is a waver


def is_flown_past(found: Finding | None) -> bool:
    """Whether it went on past the fix before any turn was made."""
    return found is not None and found.error == _FLOWN_PAST


def late_at_fix(view: View, row: Row, arrived: int) -> Finding | None:
    """The first turn of the entry, due at the fix and begun well past it; None where none was due there, or late."""
    came = pattern.recent_deg(view, view.seen.track_deg, arrived)
    turn, begun = "the turn into the hold", _turn_in(view, arrived, came)
    if begun is None:
        turn, begun = "the turn of the teardrop", _turn_off(view, arrived, came)
    if begun is None or begun <= arrived:
        return None
    seen, fix = view.seen, view.procedure.hold.fix
    past_nm = float(pattern.away_nm(view)[begun]) - seen.position_nm
    past_nm -= float(seen.gs_kt[begun]) / 3600.0 * seen.step_s
    if past_nm <= row.limit["late_nm"]:
        return None
    critical = past_nm > row.limit["critical_nm"]
    before = f"without holding; {turn}" if critical else f"before {turn}, which"
    what = f"flew on {past_nm:.1f} NM past {fix} {before} begins at the fix."
    run = (arrived, begun, float(seen.time_s[begun] - seen.time_s[arrived]))
    found = view.finding(row, run, past_nm, "NM", what, error=_FLOWN_PAST, critical=critical)
    return replace(view.told_in("hold", found), failed=past_nm > row.limit["failed_nm"])


def _turn_in(view: View, arrived: int, came_deg: float) -> int | None:
    """Sample where the turn of a direct entry was begun, or the recording ends; None where no such turn is due."""
    seen, hold = view.seen, view.procedure.hold
    for direction in (came_deg, pattern.recent_deg(view, seen.heading_deg, arrived)):
        if entries(heading_deg=direction, inbound_course_deg=hold.inbound_course_deg, side=hold.turn) != ("direct",):
            return None
    if abs(float(apart(came_deg, hold.inbound_course_deg))) > pattern.INBOUND_DEG:
        return None  # across the hold, some way on is a part of the turn
    after = (view.numbers >= arrived) & (seen.stretch == seen.stretch[arrived])
    turned = np.flatnonzero(after & (np.abs(apart(seen.track_deg, came_deg)) > pattern.INBOUND_DEG))
    return pattern.turn_begun(view, int(turned[0])) if len(turned) else int(np.flatnonzero(after)[-1])


def _turn_off(view: View, arrived: int, came_deg: float) -> int | None:
    """Sample where the turn on to the leg of a teardrop was begun, by what followed it; None where none was flown."""
    seen, hold = view.seen, view.procedure.hold
    outward = -pattern.hand(view)
    if abs(float(apart(came_deg, reciprocal(hold.inbound_course_deg)))) > pattern.INBOUND_DEG:
        return None
    after = (view.numbers >= arrived) & (seen.stretch == seen.stretch[arrived])
    begun = [
        first
        for first, last, _ in view.runs(after & view.turning, 2.0)
        if abs(float(apart(seen.track_deg[last], seen.track_deg[first]))) > _DROP_DEG[0]
    ]
    if not begun:
        return None
    legs = view.runs((view.numbers > begun[0]) & after & ~view.turning, _SHORT_LEG_S)
    whole = [turned for run, turned in pattern.turns(view, begun[0]) if abs(turned) > pattern.WHOLE_TURN_DEG]
    if not legs or not whole or whole[0] * outward > 0:
        return None
    drop = outward * float(apart(mean_deg(seen.track_deg[legs[0][0] : legs[0][1] + 1]), came_deg))
    return begun[0] if _DROP_DEG[0] < drop < _DROP_DEG[1] else None


def not_turned(view: View, row: Row, arrived: int) -> Finding | None:
    """On past the end of the leg with no turn back to the end of the recording, or beyond all that is protected.

    Before any turn was made, that is a hold flown on past (error 84); after it a leg too long (52).
    """
    seen, fix = view.seen, view.procedure.hold.fix
    after = pattern.since(view, arrived) & view.mask("hold", "missed", "after")
    if not after.any():
        return None
    turns = [run for run, turned in pattern.turns(view, arrived) if abs(turned) > pattern.BEGUN_TURN_DEG]
    first = turns[0][0] if turns else len(seen)
    # Before the first turn the way on leads anywhere, and in a pause it may have been made.
    onward = (view.numbers < first) & (seen.stretch == seen.stretch[arrived])
    gone_nm = np.where(onward, pattern.away_nm(view), pattern.out_nm(view))
    beyond = np.where(after & (onward | (view.numbers >= first)), gone_nm - pattern.leg_nm(view, arrived), -99.0)
    far = view.runs(beyond > row.limit["critical_nm"])[:1]
    leg = _still_on(view, arrived, first)
    if not far and (leg is None or beyond[leg[1]] <= row.limit["failed_nm"] + seen.position_nm):
        return None
    at = far[0][0] + int(np.argmax(beyond[far[0][0] : far[0][1] + 1])) if far or leg is None else leg[1]
    ends = f"{beyond[at]:.1f} NM beyond the end of the leg" + (": outside what is protected" if far else "")
    if at < first:
        run = (arrived, at, float(seen.time_s[at] - seen.time_s[arrived]))
        then = "with no turn back" if turns else "and never turned into the hold"
        what = f"flew on {gone_nm[at]:.1f} NM past {fix} {then}, {ends}."
        found = view.finding(row, run, float(gone_nm[at]), "NM", what, error=_FLOWN_PAST, critical=bool(far))
        return replace(view.told_in("hold", found), failed=True)
    on_to_the_end = leg is not None and leg[0] <= at <= leg[1]
    run = leg if leg is not None and on_to_the_end else far[0]
    then = f" for {run[2]:.0f} s, and not turned inbound" if on_to_the_end else ""
    what = f"{gone_nm[at]:.1f} NM outbound{then}, {ends}."
    cause, said = by_number(view)
    found = view.finding(
        row, run, float(beyond[at]), "NM", what, error=52, cause=cause, next_time=said, critical=bool(far)
    )
    return replace(view.told_in("hold", found), failed=True)


def past_inbound(view: View, row: Row, arrived: int) -> Finding | None:
    """Back to the fix and straight on past it, where the turn outbound is due; None where it was made in time."""
    seen, hold, out_nm = view.seen, view.procedure.hold, pattern.out_nm(view)
    turned = [run[1] for run, by in pattern.turns(view, arrived) if abs(by) > pattern.BEGUN_TURN_DEG]
    if not turned:
        return None
    inbound = pattern.since(view, arrived) & ~view.turning & (view.numbers > turned[0])
    inbound &= np.abs(apart(seen.track_deg, hold.inbound_course_deg)) < pattern.INBOUND_DEG
    inbound &= np.abs(pattern.across_nm(view)) < pattern.BY_FIX_NM
    for first, last, _ in pattern.unbroken(view, inbound):
        past_nm = -float(out_nm[last]) - seen.position_nm - float(seen.gs_kt[last]) / 3600.0 * seen.step_s
        if float(out_nm[first]) < 0.0 or past_nm <= row.limit["failed_nm"]:
            continue
        at_fix = first + int(np.flatnonzero(out_nm[first : last + 1] < 0.0)[0])
        never = seen.time_s[-1] - seen.time_s[last] < pattern.WAVER_S
        then = "and never turned outbound" if never else "before the turn outbound, which begins at the fix"
        what = f"back at {hold.fix}, flew on {past_nm:.1f} NM past it {then}."
        cause, said = "the passage of the fix was missed, or the hold forgotten", "over the fix: turn, time, talk"
        run = (at_fix, last, float(seen.time_s[last] - seen.time_s[at_fix]))
        far = past_nm > row.limit["critical_nm"]
        found = view.finding(
            row, run, past_nm, "NM", what, error=_FLOWN_PAST, cause=cause, next_time=said, critical=far
        )
        return replace(found, failed=True)
    return None


def _still_on(view: View, arrived: int, first_turn: int) -> Run | None:
    """The straight way on that the recording ends in; None where it was turned.

    Before any turn it leads wherever it was flown; after one, it is the leg outbound.
    """
    seen, outbound = view.seen, float(reciprocal(view.procedure.hold.inbound_course_deg))
    on = pattern.since(view, arrived) & ~view.turning
    on &= (np.abs(apart(seen.track_deg, outbound)) < pattern.INBOUND_DEG) | (view.numbers < first_turn)
    legs = view.runs(on, pattern.LEG_S)
    if not legs or seen.time_s[-1] - seen.time_s[legs[-1][1]] > pattern.WAVER_S:
        return None
    return legs[-1]


def by_number(view: View, *, late: bool = True) -> tuple[str, str]:
    """Cause and cure of a leg that ends at a number of the DME; empty where the clock ends it."""
    if view.procedure.hold_turn_dme() is None:
        return "", ""
    did = "flown past, the DME not watched" if late else "not waited for"
    return f"the DME at the end of the leg {did}, or another number taken for it", "turn at the number briefed"
