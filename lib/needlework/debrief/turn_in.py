"""Judges of the turn on to the final line, from an arc or a procedure turn, and of the procedure turn itself."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from needlework.basis.quantity import Floats
from needlework.debrief.arcs import turn_in, turned_long_way
from needlework.debrief.evidence import View
from needlework.debrief.findings import Finding, Judgement, Mask, Run, apart, mean_deg, not_judged, worst_only
from needlework.debrief.pieces import along_across
from needlework.debrief.rubric import Row
from needlework.debrief.segments import Span
from needlework.trade import vor
from needlework.trade.arc import lead_radial_deg
from needlework.trade.vor import FULL_SCALE_DEG

_LATE = "the turn on to the final line begun too late"
_LONG_OUT = "outbound too long: the clock not started, or not watched"
_SHORT_OUT = "turned too soon: the clock not watched, or in a hurry to be inbound"
_THROUGH_DEG = 1.0  # a needle this far past the centre has gone through
_CUT_DEG, _ON_ARC_NM = 20.0, 0.6  # so far inside the tangent an arc is left, and not slid off
_OUTWARD_DEG = 45.0  # of it: it may be met on a cut
_OUTWARD_NM = 1.0  # beyond the arc, the tolerance of its distance
_OUTBOUND_NM = 1.0  # so far out along its course at the most, no leg outbound was flown
_BEGUN_NM = 2.0  # of the station, where the clock is started
_ALONG_DEG = 30.0  # of its course: on the line, and not across it
_PARALLEL_DEG, _LONG_BESIDE = 10.0, 3.0  # so many times as long as is prompt, a needle was not cut back to
_TO_IT_DEG = 6.0  # straight to the station
_ANOTHER_S, _ANOTHER_DEG = 60.0, 2.0  # so long and so steadily on one radial: it was tracked
_FAR_INSIDE = 1.5  # times the tolerance of an arc, for as long as is no longer prompt
_LONGEST_S = 300.0  # a turn on to a line is over by then
_AWAY_DEG = 20.0, 100.0, 150.0  # off the outbound course: the turn has begun, goes on, and leads round
_NO_LEG_S, _ON_COURSE_DEG = 20.0, 15.0  # longer than the turn itself takes: a leg between
_BESIDE_NM = 0.4  # this far off the outbound line one is on a side of it
_LEG_DEG, _LEG_S = (25.0, 100.0), 12.0  # off the outbound course on the leg of a procedure turn; straight for so long
_WAVER_DEG, _WAVER_S = 15.0, 15.0
_SHALLOW_DEG, _SHALLOW_S = 8.0, 30.0  # a leg that hardly leaves the line, and is one all the same
_BACK_DEG, _BACK_S = 70.0, 20.0  # of the heading back: later it is the turn on to the line
_JOINS_S = 100.0  # from that leg to the way back, through half a turn
_ROUND_DEG = 150.0
_LONG, _TOO_LONG = 1.5, 1.8  # times the published minute
_HARDLY = 0.6  # of the published minute, the turn into the leg with it
_TOO_SHORT = 0.55  # of the published way: half of it, and what a turn takes to show
_BY_CLOCK = 0.2  # of it, where only the clock tells: a wind may ask for more
_RETURNS = 0.6  # of the farthest: who never comes nearer again overshot nothing


def to_final(view: View, row: Row) -> Judgement:
    """The turn on to the final line: when it began, and how far it went through."""
    turned = [span for span in view.spans() if span.piece.kind in ("arc", "procedure turn")]
    following = [span for span in view.spans("intermediate", "final", kind="radial")]
    following = [span for span in following if turned and span.first > turned[-1].last]
    if not turned or not following:
        return not_judged(row, "No turn on to the final line was flown.")
    seen, line = view.seen, following[0]
    course = float(line.piece.course_deg or 0.0)
    off = np.asarray(vor.offset_deg(radial_deg=view.seen.radial_deg, selected_course_deg=course))
    boundary = line.first
    back = max(turned[-1].first, boundary - view.samples(60))
    came_from = _came_from(turned[-1], course)
    until = np.flatnonzero(
        (view.numbers >= back)
        & (seen.time_s <= _caught_s(view, line, course, off))
        & ~view.near
        & ~view.mask("after")
    )
    if not len(until):
        return not_judged(row, "The turn on to the final line lies too near the station to tell.")
    beyond = -came_from * off[until]
    worst = until[int(np.argmax(beyond))]
    overshoot = float(beyond.max())
    findings = []
    arc_flown = turned[-1].piece.kind == "arc"
    limit = row.limit["limit_deg"]
    if arc_flown and (outward := _outward(view, turned[-1], line, course)) is not None:
        away_nm = float(seen.ground_nm[outward[1]]) - turned[-1].piece.arc_nm
        what = (
            f"at the end of the arc away from the station for {outward[2]:.0f} s, out to {away_nm:.1f} NM beyond the "
            f"arc, where the line leads in on {course:03.0f}."
        )
        return view.judged(row, [view.finding(row, outward, away_nm, "NM", what, error=9, critical=True)])
    if arc_flown and (long_way := _long_way(view, row, turned[-1], course)) is not None:
        return view.judged(row, [long_way])
    if arc_flown:
        begun = turn_in(view)
        late_deg = 0.0 if begun is None else _late_deg(view, begun, turned[-1], off)
        late = late_deg > row.limit["lead_deg"] and overshoot > row.limit["lead_deg"]
        began = f"; the turn began {late_deg:.0f} degrees late" if late_deg > row.limit["lead_deg"] else ""
    else:
        late = _turned_past(view, turned[-1], line, came_from * off)
        began = "; the turn began when the needle had gone through" if late else ""
    run = (int(worst), int(worst), seen.step_s)
    if arc_flown and (early := _left_early(view, turned[-1], off, row.limit["early_nm"])) is not None:
        found = _early_words(view, row, early, turned[-1], off)
        far = (
            found.worst > _FAR_INSIDE * row.limit["early_nm"]
            and _until_held_s(view, early, off) >= view.rubric.prompt_s
        )
        findings.append(replace(found, failed=far or not _held_in_time(view, line)))
    elif late or (overshoot > limit and not _never_back(view, line, course, off, limit)):
        what = f"through the final line by {overshoot:.0f} degrees{began}."
        found = view.finding(row, run, overshoot, "deg", what, cause=_LATE, error=30)
        lost = overshoot > row.limit["needle_deg"] + float(view.unsure_deg[worst])
        findings.append(replace(found, failed=lost))
    elif (blind := _parallel(view, line, course, off, row.limit["needle_deg"])) is not None:
        worst_deg = float(np.median(np.abs(off[blind[0] : blind[1] + 1])))
        what = (
            f"turned all the way to {course:03.0f} before the line was there: flown beside it for {blind[2]:.0f} s, "
            f"the needle {worst_deg:.0f} degrees off."
        )
        found = view.finding(row, blind, worst_deg, "deg", what, error=31)
        findings.append(
            replace(found, failed=blind[2] >= _LONG_BESIDE * view.rubric.prompt_s or not _held_in_time(view, line))
        )
    else:
        never = ~(np.abs(off[boundary : line.last + 1]) <= view.rubric.established_deg)
        long = seen.time_s[line.last] - seen.time_s[boundary] > 120.0
        if long and never[: view.samples(120)].all():
            what = "two minutes after the turn still not within half scale of the final line."
            found = view.finding(row, (boundary, boundary, 120.0), abs(float(off[boundary])), "deg", what, error=31)
            looked = np.abs(off[boundary : line.last + 1])[: view.samples(120)]
            beyond_s = float((looked > row.limit["needle_deg"]).sum()) * seen.step_s
            late = beyond_s >= view.rubric.prompt_s and not _held_in_time(view, line)
            findings.append(replace(found, failed=late))
    judgement = view.judged(row, findings, worst=f"{max(overshoot, 0.0):.0f}")
    if findings and overshoot <= limit:
        return Judgement(row, "missed", judgement.fact, 0.5, judgement.findings)
    return judgement


def _outward(view: View, arc: Span, line: Span, course_deg: float) -> Run | None:
    """The time in which the final line was flown outbound at the end of the arc; None where it was not."""
    seen = view.seen
    out = (view.numbers >= arc.first) & (view.numbers <= line.last)
    out &= np.abs(apart(seen.track_deg, course_deg + 180.0)) < _OUTWARD_DEG
    out &= np.abs(apart(seen.radial_deg, course_deg + 180.0)) < _ON_COURSE_DEG
    runs = view.runs(out & (seen.ground_nm > arc.piece.arc_nm), view.rubric.prompt_s)
    straight = [float((~view.turning[run[0] : run[1] + 1]).sum()) * seen.step_s for run in runs]
    # A turn through it is no way out.
    runs = [run for run, lasted_s in zip(runs, straight, strict=True) if lasted_s >= view.rubric.prompt_s]
    runs = [run for run in runs if seen.ground_nm[run[1]] - arc.piece.arc_nm > _OUTWARD_NM + seen.position_nm]
    return runs[0] if runs else None


def _long_way(view: View, row: Row, arc: Span, course_deg: float) -> Finding | None:
    """Turned off the arc to the final line by the longer of the two ways, in one turn; None where it was not."""
    seen = view.seen
    along = np.abs(apart(seen.track_deg, seen.radial_deg + 90.0 * arc.piece.side)) < _CUT_DEG
    on_arc = np.flatnonzero(view.inside(arc) & along & ~view.turning)
    if not len(on_arc):
        return None
    begun = int(on_arc[-1])
    if (turned := turned_long_way(view, begun, np.full(len(seen), course_deg))) is None:
        return None
    until, round_deg = turned
    short_deg = abs(float(apart(course_deg, seen.track_deg[begun])))
    what = f"turned {round_deg:.0f} degrees the long way round to {course_deg:03.0f}; the other way it is "
    what += f"{short_deg:.0f}."
    run = (begun, until, float(seen.time_s[until] - seen.time_s[begun]))
    return replace(view.finding(row, run, round_deg, "deg", what, error=95), failed=True)


def _never_back(view: View, line: Span, course_deg: float, off: Floats, limit: float) -> bool:
    """Whether the line was never held, nor come back to by the end of the leg: another was flown, none overshot."""
    beyond = np.flatnonzero(view.inside(line) & view.readable & (np.abs(off) > limit))
    if _another_held(view, line, course_deg, off, limit):
        return True
    along = np.abs(apart(view.seen.track_deg, course_deg)) < _ALONG_DEG  # a line that is crossed is not held
    if not len(beyond) or (view.established(line, off) & along & (np.abs(off) <= limit)).any():
        return False
    since = slice(int(beyond[0]), line.last + 1)
    across = np.abs(along_across(view.seen, view.procedure, course_deg)[1][since])
    long = view.seen.time_s[line.last] - view.seen.time_s[since.start] > view.rubric.prompt_s
    return bool(long and across[-1] > max(_RETURNS * float(across.max()), _BESIDE_NM))


def _another_held(view: View, line: Span, course_deg: float, off: Floats, limit: float) -> bool:
    """Whether one radial beside the line was tracked in, and no way back was flown."""
    seen = view.seen
    beside = view.inside(line) & view.readable & (np.abs(off) > limit)
    beside &= np.abs(apart(seen.track_deg, seen.radial_deg + 180.0)) < _TO_IT_DEG
    beside &= np.abs(apart(seen.track_deg, course_deg)) < _ALONG_DEG
    for first, last, _ in view.runs(beside, _ANOTHER_S):
        if float(np.ptp(np.percentile(off[first : last + 1], [10, 90]))) <= _ANOTHER_DEG:
            return True
    return False


def _parallel(view: View, line: Span, course_deg: float, off: Floats, beyond_deg: float) -> Run | None:
    """The first time after the turn that the line's own course was flown beside it, its needle well off."""
    seen = view.seen
    after = view.inside(line) & view.readable
    after &= seen.time_s < seen.time_s[line.first] + _LONGEST_S
    beside = after & (np.abs(off) > beyond_deg + view.unsure_deg)
    beside &= np.abs(apart(seen.track_deg, course_deg)) < _PARALLEL_DEG
    runs = view.runs(beside, view.rubric.prompt_s)
    return runs[0] if runs else None


def _caught_s(view: View, line: Span, course_deg: float, off: Floats) -> float:
    """Time until which the turn on to a line lasts: two minutes, or until it is held, and not only crossed. [s]"""
    seen = view.seen
    held = view.inside(line) & (np.abs(off) <= view.rubric.established_deg) & ~view.turning
    held &= np.abs(apart(seen.track_deg, course_deg)) < _ALONG_DEG
    runs = view.runs(held, view.rubric.established_s)
    on_s = float(seen.time_s[runs[0][0]] if runs else seen.time_s[line.last])
    return max(float(seen.time_s[line.first]) + 120.0, min(on_s, float(seen.time_s[line.first]) + _LONGEST_S))


def _came_from(span: Span, course_deg: float) -> float:
    """Sign of the needle before the turn on to the final line, by the procedure."""
    piece, leg = span.piece, span.piece.leg
    if piece.kind == "arc":
        before = piece.radial_deg + piece.side * (piece.span_deg - 10.0)
    else:
        away = float(apart(float(leg.heading_out_deg or 0.0), course_deg + 180.0)) if leg else 0.0
        before = course_deg + 180.0 + 10.0 * np.sign(away)
    return float(np.sign(vor.offset_deg(radial_deg=before, selected_course_deg=course_deg)))


def _turned_past(view: View, turn: Span, line: Span, off_towards: Floats) -> bool:
    """Whether the last turn of a procedure turn began only when the needle had gone through the centre."""
    leg, seen = turn.piece.leg, view.seen
    heading_in = float(leg.heading_in_deg or 0.0) if leg else 0.0
    part = np.arange(turn.first, min(line.last, line.first + view.samples(60)) + 1)
    inbound = np.abs(apart(seen.heading_deg[part], heading_in)) < 30.0
    straight = view.runs(view.at(part[inbound]) & ~view.turning, 4.0)
    if not straight:
        return False
    return bool(off_towards[straight[-1][1]] < -_THROUGH_DEG)


def _late_deg(view: View, begun: int, span: Span, off: Floats) -> float:
    """How many degrees after the ideal lead the turn off the arc began, the recording's own grain taken off."""
    seen = view.seen
    arc_nm, gs_nm_s = span.piece.arc_nm, float(seen.gs_kt[begun]) / 3600.0
    ideal = float(
        lead_radial_deg(arc_nm=arc_nm, tas_kt=float(np.clip(seen.gs_kt[begun], 40.0, 250.0)), direction="inbound")
    )
    grain = float(np.rad2deg(gs_nm_s * (seen.step_s + 2.0) / arc_nm))
    return ideal - abs(float(off[begun])) - grain


def turn_side(view: View, row: Row) -> Judgement:
    """The procedure turn is flown on its published side."""
    span = view.split.span("procedure turn")
    if (straight_in := _straight_in(view, row)) is not None:
        return view.judged(row, [straight_in])
    if span is None or span.piece.leg is None:
        return not_judged(row, "No procedure turn was flown.")
    leg = span.piece.leg
    outbound = float(apart(float(span.piece.course_deg or 0.0) + 180.0, 0.0))
    across = along_across(view.seen, view.procedure, outbound)[1][span.slice]
    wanted = float(np.sign(apart(float(leg.heading_out_deg or 0.0), outbound)))
    words = {1.0: "right", -1.0: "left"}
    run = (span.first, span.last, float(view.seen.time_s[span.last] - view.seen.time_s[span.first]))
    beside = np.flatnonzero(np.abs(across) >= _BESIDE_NM)
    turned = _leg_of_turn(view)
    if turned is None and not len(beside):
        return not_judged(row, "The procedure turn stayed on the line.")
    # The side is the one its leg leads to, whatever side of the line it was begun on; with no leg the one it first
    # goes to: on the way back the line may be flown through.
    side = float(np.sign(across[beside[0]])) if turned is None else turned.side
    far_nm = float((side * across).max())
    if (turned is None or side != wanted or turned.leg[2] < _SHALLOW_S) and _round_at_once(view, span, outbound):
        wrong = "" if side == wanted else ", the side that is not protected"
        what = f"turned round at once, {far_nm:.1f} NM to the {words[side]}{wrong}: no procedure turn was flown."
        found = view.finding(row, run, far_nm, "NM", what, error=83, critical=side != wanted)
        return view.judged(row, [replace(found, failed=True)])
    if side == wanted and turned is not None and turned.second == turned.side:
        what = (
            f"the second turn went to the {words[side]} as well as the first, away from the line; the procedure "
            f"turns back to the {words[-side]}."
        )
        return view.judged(row, [replace(view.finding(row, run, far_nm, "NM", what, error=88), failed=True)])
    if side == wanted:
        return view.judged(row, [], side=words[wanted])
    what = (
        f"flown {far_nm:.1f} NM to the {words[side]} of the outbound line; "
        f"the procedure turns to the {words[wanted]}."
    )
    return view.judged(row, [view.finding(row, run, far_nm, "NM", what, error=61)])


def _straight_in(view: View, row: Row) -> Finding | None:
    """From the arrival straight in, with neither the leg outbound nor the turn flown; None where they were."""
    piece = next((each for each in view.split.pieces if each.kind == "procedure turn"), None)
    final = next((each for each in view.spans("final")), None)
    if piece is None or piece.course_deg is None or final is None:
        return None
    seen, station = view.seen, view.procedure.station.ident
    along = along_across(seen, view.procedure, piece.course_deg + 180.0)[0]
    near = view.runs((seen.ground_nm < _BEGUN_NM) & (view.numbers <= final.first + view.samples(_NO_LEG_S)))
    if not near or near[0][0] == 0:
        return None
    at = near[0][0] + int(np.argmin(seen.ground_nm[near[0][0] : near[0][1] + 1]))
    came_deg = abs(float(apart(seen.track_deg[near[0][0]], piece.course_deg)))  # along the line it was led on to it
    if came_deg < _ALONG_DEG or float(along[at : max(final.first, at) + 1].max()) > _OUTBOUND_NM:
        return None
    run = (at, max(final.first, at), float(seen.time_s[max(final.first, at)] - seen.time_s[at]))
    what = f"straight in from the arrival over {station}: neither the leg outbound nor the procedure turn was flown."
    return replace(view.finding(row, run, 0.0, "", what, error=83, critical=False), failed=True)


@dataclass(frozen=True)
class _TurnLeg:
    """The leg of a procedure turn away from the line: sample where the turn into it begins, the leg itself.

    ``side``: to the right of the outbound course 1, else -1; ``second``: the same for the turn that leads back, 0
    where it was not flown round.
    """

    begun: int
    leg: Run
    side: float
    second: float


def _leg_of_turn(view: View) -> _TurnLeg | None:
    """The last straight leg off the outbound course before the way back; None where there was none.

    What was flown before it, however far beside the line, is the leg outbound and its corrections.
    """
    span = view.split.span("procedure turn")
    if span is None:
        return None
    timed = [each for each in view.spans("initial", kind="timed") if each.last < span.first]
    first = timed[-1].first if timed else span.first
    seen, outbound = view.seen, float(span.piece.course_deg or 0.0) + 180.0
    off = apart(seen.track_deg, outbound)
    here = (view.numbers >= first) & (view.numbers <= span.last)
    away = here & (np.abs(off) < _LEG_DEG[1])
    if not away.any():
        return None
    back = int(np.flatnonzero(away)[-1])
    legs = view.runs(away & (np.abs(off) > _LEG_DEG[0]) & ~view.turning, _LEG_S)
    turned = np.rad2deg(np.unwrap(np.deg2rad(seen.track_deg)))
    # The way back begins with half a turn; what has none behind it is a part of the way back itself.
    soon = [int(np.searchsorted(seen.time_s, seen.time_s[run[1]] + _JOINS_S)) for run in legs]
    soon = [min(end, span.last) + 1 for end in soon]
    led = [
        run
        for run, end in zip(legs, soon, strict=True)
        if run[1] < end and np.abs(turned[run[1] : end] - turned[run[1]]).max() > _ROUND_DEG
    ]
    legs = _without_way_back(led or legs, off, turned) or _shallow_leg(view, away, off)
    if not legs or (not led and seen.time_s[back] - seen.time_s[legs[-1][1]] > _JOINS_S):
        return None
    leg = legs[-1]
    side = float(np.sign(np.median(off[leg[0] : leg[1] + 1])))
    for earlier in reversed(legs[:-1]):  # a waver parts no leg
        same = (
            abs(float(np.median(off[earlier[0] : earlier[1] + 1]) - np.median(off[leg[0] : leg[1] + 1]))) < _WAVER_DEG
        )
        if not same or seen.time_s[leg[0]] - seen.time_s[earlier[1]] > _WAVER_S:
            break
        leg = earlier[0], leg[1], float(seen.time_s[leg[1]] - seen.time_s[earlier[0]])
    begun = leg[0]
    while begun > first and view.turning[begun - 1]:
        begun -= 1
    round_deg = np.rad2deg(np.unwrap(np.deg2rad(seen.track_deg[leg[1] : span.last + 1])))
    far = np.flatnonzero(np.abs(round_deg - round_deg[0]) > _ROUND_DEG)
    return _TurnLeg(begun, leg, side, float(np.sign(round_deg[far[0]] - round_deg[0])) if len(far) else 0.0)


def _without_way_back(legs: list[Run], off: Floats, turned: Floats) -> list[Run]:
    """Legs without one at the end that leads across the line, reached in a turn far larger than any into a leg."""
    kept = list(legs)
    while len(kept) > 1:
        (_, ended, before_s), (begun, _, _) = kept[-2], kept[-1]
        crossed = off[ended] * off[begun] < 0.0 and abs(float(turned[begun] - turned[ended])) > _LEG_DEG[1]
        if not crossed or before_s < _NO_LEG_S:
            break
        kept.pop()
    return kept


def _shallow_leg(view: View, away: Mask, off: Floats) -> list[Run]:
    """A leg that leaves the outbound line by little, where the line was held before it and left in a turn."""
    seen = view.seen
    legs = view.runs(away & ~view.turning & (np.abs(off) > _SHALLOW_DEG), _SHALLOW_S)
    if not legs:
        return []
    first, last, _ = legs[-1]
    before = (seen.time_s > seen.time_s[first] - _SHALLOW_S) & (view.numbers < first) & ~view.turning
    held = before.any() and float(np.abs(off[before]).mean()) < _SHALLOW_DEG / 2
    steady = float(np.ptp(np.percentile(off[first : last + 1], [10, 90]))) < _SHALLOW_DEG / 2
    return legs[-1:] if held and steady else []


def turn_heading(view: View, row: Row) -> Judgement:
    """The headings out and back of the procedure turn, nose and track both well off: a wind may be laid off."""
    span, turned = view.split.span("procedure turn"), _leg_of_turn(view)
    if span is None or span.piece.leg is None or turned is None:
        return not_judged(row, "No procedure turn was flown.")
    seen, leg = view.seen, span.piece.leg
    wanted_out, wanted_back = leg.heading_out_deg, leg.heading_in_deg
    if wanted_out is None or wanted_back is None:
        return not_judged(row, "The procedure turn has no headings.")
    outbound = float(span.piece.course_deg or 0.0) + 180.0
    if turned.side != float(np.sign(apart(wanted_out, outbound))):
        return not_judged(row, "Flown on the other side, it had headings of its own.")
    back = (view.numbers > turned.leg[1]) & (view.numbers <= span.last) & ~view.turning
    back &= np.abs(apart(seen.track_deg, wanted_back)) < _BACK_DEG
    alive = np.abs(view.off_deg(outbound + 180.0)) < view.rubric.established_deg + view.unsure_deg
    # A needle that is alive is followed: on a smaller cut than the heading back makes.
    towards = float(np.sign(apart(outbound + 180.0, wanted_back))) * apart(seen.track_deg, wanted_back) > 0.0
    back &= ~(np.logical_or.accumulate(alive & (view.numbers > turned.leg[1])) & towards)
    legs = [(turned.leg, wanted_out), *[(run, wanted_back) for run in view.runs(back, _BACK_S)[:1]]]
    more = 0.0 if view.nose_known else row.limit["drift_deg"]
    findings = []
    for run, wanted in legs:
        part = slice(run[0], run[1] + 1)
        by_track, by_nose = (
            float(apart(mean_deg(each[part]), wanted)) for each in (seen.track_deg, seen.heading_deg)
        )
        off = min(abs(by_track), abs(by_nose))
        if off <= row.limit["limit_deg"] + more or by_track * by_nose < 0.0:
            continue
        flown = mean_deg((seen.heading_deg if view.nose_known else seen.track_deg)[part])
        word = "heading" if view.nose_known else "track"
        what = f"{word} {flown:03.0f} for {run[2]:.0f} s in the procedure turn, where {wanted:03.0f} is published."
        found = view.finding(row, run, off, "deg", what, error=92)
        findings.append(replace(found, failed=off > row.limit["failed_deg"] + more))
    facts = {"out": f"{wanted_out:03.0f}", "back": f"{wanted_back:03.0f}"}
    return view.judged(row, worst_only(findings), **facts)


def _round_at_once(view: View, span: Span, outbound_deg: float) -> bool:
    """Whether one turn led from the outbound line to the way back, with no leg between as a procedure turn has."""
    seen, first = view.seen, span.first
    while first > 0 and not view.turning[first] and np.abs(apart(seen.track_deg[first], outbound_deg)) > _ALONG_DEG:
        first -= 1
    while first > 0 and view.turning[first]:
        first -= 1
    if np.abs(apart(seen.track_deg[first], outbound_deg)) > _ON_COURSE_DEG:
        return False  # a leg of its own led away before it, as in a teardrop
    # By the headings passed and when, as a recording may pause in the turn or have few points of it.
    off = np.rad2deg(np.unwrap(np.deg2rad(seen.track_deg[first : span.last + 1])))
    off = off - off[0] + float(apart(seen.track_deg[first], outbound_deg))
    side = float(np.sign(off[int(np.argmax(np.abs(off) > _AWAY_DEG[0]))]))
    passed = [_passed_s(seen.time_s[first : span.last + 1], side * off, each) for each in _AWAY_DEG]
    if any(each is None for each in passed) or (side * off < -_AWAY_DEG[0]).any():
        return False
    left_s, half_s, round_s = (float(each or 0.0) for each in passed)
    rate = (_AWAY_DEG[2] - _AWAY_DEG[1]) / max(round_s - half_s, 1.0)
    return half_s - left_s - (_AWAY_DEG[1] - _AWAY_DEG[0]) / rate < _NO_LEG_S


def _passed_s(time_s: Floats, values: Floats, limit: float) -> float | None:
    """Time at which values that rise pass a limit, between two samples; None where they never do. [s]"""
    over = np.flatnonzero(values > limit)
    if not len(over):
        return None
    if over[0] == 0:
        return float(time_s[0])
    part = slice(over[0] - 1, over[0] + 1)
    return float(np.interp(limit, values[part], time_s[part]))


def turn_time(view: View, row: Row) -> Judgement:
    """The leg outbound of a procedure turn goes as far as its time in still air."""
    spans = [span for span in view.spans("initial", kind="timed") if span.piece.leg is not None]
    turn = view.split.span("procedure turn")
    if not spans or turn is None:
        return not_judged(row, "No timed leg was flown.")
    if view.split.away is not None and turn.last + 1 >= view.split.away:
        return not_judged(row, "The approach was given up before the procedure turn was flown.")
    span, seen = spans[-1], view.seen
    leg = span.piece.leg
    assert leg is not None
    if float(seen.ground_nm[span.first]) > _BEGUN_NM:
        return not_judged(row, "The beginning of the timed leg was not recorded.")
    straight = view.inside(span) & ~view.turning
    if not straight.any():
        return not_judged(row, "The timed leg was not flown straight.")
    if (long := _long_leg(view, row)) is not None:
        return view.judged(row, [long])
    if view.wind is None:
        return _by_the_clock(view, row, span, straight)
    course_true = float(span.piece.course_deg or 0.0) + view.procedure.station.declination_deg
    along_kt = -view.wind.kt * float(np.cos(np.deg2rad(view.wind.from_deg_true - course_true)))
    tas_kt = max(float(np.median(seen.gs_kt[straight])) - along_kt, 50.0)
    wanted_nm = tas_kt * float(leg.time_min or 0.0) / 60.0
    ended = _outbound_end(view, span)
    flown_nm = float(along_across(seen, view.procedure, float(span.piece.course_deg or 0.0))[0][ended])
    run = (span.first, ended, float(seen.time_s[ended] - seen.time_s[span.first]))
    share = flown_nm / max(wanted_nm, 0.1)
    if abs(share - 1.0) <= row.limit["share_percent"] / 100.0:
        return view.judged(row, [], flown=f"{flown_nm:.1f}", wanted=f"{wanted_nm:.1f}")
    what = f"outbound for {run[2]:.0f} s and {flown_nm:.1f} NM where the time in still air makes {wanted_nm:.1f}."
    cause = _LONG_OUT if share > 1.0 else _SHORT_OUT
    found = view.finding(row, run, abs(flown_nm - wanted_nm), "NM", what, cause=cause, error=77)
    return view.judged(row, [replace(found, failed=share > _TOO_LONG or share < _TOO_SHORT)])


def _long_leg(view: View, row: Row) -> Finding | None:
    """The leg of the procedure turn itself, held for far longer than it is published; None where it was not."""
    turned, span = _leg_of_turn(view), view.split.span("procedure turn")
    if turned is None or span is None or span.piece.leg is None or span.piece.leg.time_min is None:
        return None
    leg, wanted_s = span.piece.leg, 60.0 * span.piece.leg.time_min
    first, last, _ = turned.leg
    flown_s = float(view.seen.time_s[last] - view.seen.time_s[first])
    heading = mean_deg(view.seen.track_deg[first : last + 1])
    times = flown_s / wanted_s
    if view.wind is not None:  # the way made away from the line counts: a wind to it asks for more time
        course = float(span.piece.course_deg or 0.0)
        across = along_across(view.seen, view.procedure, course)[1]
        behind_kt = -view.wind.kt * float(
            np.cos(np.deg2rad(view.wind.from_deg_true - heading - view.procedure.station.declination_deg))
        )
        tas_kt = max(float(np.median(view.seen.gs_kt[first : last + 1])) - behind_kt, 50.0)
        away = abs(float(np.sin(np.deg2rad(float(apart(float(leg.heading_out_deg or 0.0), course))))))
        made_nm = abs(float(across[last] - across[first]))
        times = min(times, made_nm / max(tas_kt * wanted_s / 3600.0 * away, 0.1))
    begun_s = float(view.seen.time_s[last] - view.seen.time_s[turned.begun])
    if begun_s < _HARDLY * wanted_s and times < _TOO_SHORT:
        what = f"{heading:03.0f} was flown for {flown_s:.0f} s in the procedure turn, where {wanted_s:.0f} are "
        what += "published: too short a way from the line to turn back on to it."
        return view.finding(row, turned.leg, wanted_s - flown_s, "s", what, error=77, beyond=False)
    if times <= _LONG:
        return None
    what = f"{heading:03.0f} was flown for {flown_s:.0f} s in the procedure turn, where {wanted_s:.0f} are published."
    found = view.finding(row, turned.leg, flown_s - wanted_s, "s", what, error=77)
    return replace(found, failed=times > _TOO_LONG)


def _outbound_end(view: View, span: Span) -> int:
    """Last sample of the leg outbound: before the leg of the turn, whatever cut to the line was taken for it."""
    if (turned := _leg_of_turn(view)) is not None and turned.begun > span.first:
        return turned.begun
    seen, turn, course = view.seen, view.split.span("procedure turn"), float(span.piece.course_deg or 0.0)
    on = (view.numbers > span.last) & view.readable & (np.abs(view.off_deg(course)) < FULL_SCALE_DEG)
    on &= np.abs(apart(seen.track_deg, course)) < _ON_COURSE_DEG
    on[(turn.last if turn is not None else span.last) + 1 :] = False
    along = np.flatnonzero(on)
    return int(along[-1]) if len(along) else span.last


def _by_the_clock(view: View, row: Row, span: Span, straight: Mask) -> Judgement:
    """With the wind unknown only the time itself: longer or shorter than any usual wind would ask for."""
    seen, leg = view.seen, span.piece.leg
    wanted_s = 60.0 * float(leg.time_min or 0.0) if leg else 0.0
    begun = span.first + int(np.argmin(seen.ground_nm[span.slice]))
    ended = max(int(np.flatnonzero(straight)[-1]), _outbound_end(view, span))
    flown_s = float(seen.time_s[ended] - seen.time_s[begun])
    if abs(flown_s / max(wanted_s, 1.0) - 1.0) <= row.limit["clock_percent"] / 100.0:
        return not_judged(row, "The wind cannot be told, and the time is one that a wind may ask for.")
    what = f"outbound for {flown_s:.0f} s where {wanted_s:.0f} are published: more than a wind would change it by."
    cause = _LONG_OUT if flown_s > wanted_s else _SHORT_OUT
    found = view.finding(row, (begun, ended, flown_s), flown_s - wanted_s, "s", what, cause=cause, error=77)
    wild = not _TOO_SHORT * (1.0 - _BY_CLOCK) < flown_s / max(wanted_s, 1.0) < _TOO_LONG * (1.0 + _BY_CLOCK)
    return view.judged(row, [replace(found, failed=wild)])


def turn_limit(view: View, row: Row) -> Judgement:
    """The procedure turn stays within its distance of the station."""
    spans = [span for span in view.spans("initial") if span.piece.kind in ("timed", "procedure turn")]
    spans = [span for span in spans if span.piece.leg is not None and span.piece.leg.within_nm is not None]
    if not any(span.piece.kind == "procedure turn" for span in spans):
        return not_judged(row, "No procedure turn was flown.")
    seen = view.seen
    within_nm = min(float(span.piece.leg.within_nm or 0.0) for span in spans if span.piece.leg is not None)
    here = np.zeros(len(seen), dtype=bool)
    for span in spans:
        here |= view.inside(span)
    farthest = np.where(here, seen.ground_nm, 0.0)
    beyond = farthest - within_nm - row.limit["limit_nm"] - seen.position_nm
    facts = {"farthest": f"{float(farthest.max()):.1f}", "within": f"{within_nm:g}"}
    runs = view.runs(beyond > 0.0)
    if not runs:
        return view.judged(row, [], **facts)
    first, last = runs[0][0], runs[-1][1]
    worst = float(farthest.max()) - within_nm
    run = (first, last, float(seen.time_s[last] - seen.time_s[first]) + seen.step_s)
    what = f"{worst:.1f} NM beyond the {within_nm:g} NM the procedure turn is protected to."
    return view.judged(row, [view.finding(row, run, worst, "NM", what, error=62)])


def _left_early(view: View, arc: Span, off: Floats, early_nm: float) -> Run | None:
    """The time in which the arc was left inwards with the final line not yet in sight of the needle."""
    after = view.numbers >= arc.first
    before_line = after & (np.abs(off) > FULL_SCALE_DEG) & view.mask("initial", "intermediate") & ~view.near
    alive = np.flatnonzero(after & (view.numbers > arc.last) & (np.abs(off) <= FULL_SCALE_DEG))
    before_line &= view.numbers < (alive[0] if len(alive) else len(view.seen))
    runs = view.runs(before_line & (view.seen.dme_nm < arc.piece.arc_nm - early_nm), 5.0)
    # Who is inside all along the arc keeps another distance; here the arc was left, and soon.
    runs = [run for run in runs if _left_for_good(view, arc, run)]
    return runs[-1] if runs else None


def _left_for_good(view: View, arc: Span, run: Run) -> bool:
    """Whether a run is the way in after the arc itself was left: on a cut inwards that was begun on the arc."""
    seen = view.seen
    inward = 90.0 - np.abs(apart(seen.track_deg, seen.radial_deg + 180.0))
    if float(np.median(inward[run[0] : run[1] + 1])) < _CUT_DEG:
        return False
    before = np.flatnonzero((view.numbers <= run[0]) & (inward < _CUT_DEG))
    left = int(before[-1]) if len(before) else run[0]
    return bool(seen.dme_nm[left] > arc.piece.arc_nm - _ON_ARC_NM)


def _until_held_s(view: View, early: Run, off: Floats) -> float:
    """Time from where the arc's tolerance was left to where the needle of the line was within half scale. [s]"""
    seen = view.seen
    held = np.flatnonzero((view.numbers > early[0]) & (np.abs(off) <= view.rubric.established_deg))
    return float(seen.time_s[held[0] if len(held) else len(seen) - 1] - seen.time_s[early[0]])


def _early_words(view: View, row: Row, run: Run, arc: Span, off: Floats) -> Finding:
    deepest = float(arc.piece.arc_nm - view.seen.dme_nm[run[0] : run[1] + 1].min())
    before_deg = abs(float(off[run[0]]))
    what = f"left the arc {before_deg:.0f} degrees before the final line: {deepest:.1f} NM inside it, and no needle."
    return view.finding(row, run, deepest, "NM", what, error=31)


def _held_in_time(view: View, line: Span) -> bool:
    """Whether the line was held before the fix where the leg after the arc ends."""
    off = view.off_deg(float(line.piece.course_deg or 0.0))
    held = np.flatnonzero(view.established(line, off))
    leg = line.piece.leg
    if not len(held) or leg is None or leg.end is None:
        return False
    along = along_across(view.seen, view.procedure, float(line.piece.course_deg or 0.0))[0]
    return bool(along[held[0]] < line.piece.end_nm)
