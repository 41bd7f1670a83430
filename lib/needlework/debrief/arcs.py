"""Judges of the DME arc: the way round, the turn on to it, the distance kept, the final course set on it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from needlework.basis.quantity import Floats
from needlework.debrief.evidence import View
from needlework.debrief.findings import Finding, Judgement, Run, apart, not_judged, worst_by_part
from needlework.debrief.rubric import Row
from needlework.debrief.segments import Span
from needlework.debrief.tracking import DRIFT_DEG, cut_to_arc

_WRONG_WAY_DEG = 15.0  # so many radials the wrong way are no wavering
_FEW_WRONG_DEG, _WRONG_WAY_S = 5.0, 45.0  # the nose along the arc the wrong way for so long was no wavering
_JOIN_S = 45.0
_CAME_S = 180.0  # before the arc, where it is plain from which side it was met
_OUTSIDE_S, _BEYOND_S = 5.0, 10.0
_PUT_RIGHT_S, _PLAIN_NM = 45.0, 0.75  # three quarters of the tolerance
_USED_SHARE, _TWIST_DEG = 0.8, 12.0  # selector 2 in use, and so many degrees of arc without a twist
_ONE_STEP_DEG = 20.0  # more of the arc than this on one heading: a step was left out
_LEAVING_DEG, _ALONG_DEG = 55.0, 45.0
_NEAR_ARC_NM, _ALONG_S = 1.5, 30.0
_STRAIGHT_ON_DEG = 70.0  # so far off the arc's direction it is the leg before, flown on
_ELSEWHERE_S, _ELSEWHERE_NM, _FARTHEST_NM = 90.0, 0.8, 6.0  # so long, so steadily, so near the arc: it was an arc
_STRAIGHT_SHARE = 0.5  # of the radials passed on one heading: that is a straight line, and no arc
_TURN_OFF_S, _INWARDS_DEG = 45.0, 25.0
_LAST_NM = 0.05  # half the last digit of a DME
_HELD_S, _HELD_NM = 60.0, 0.35  # as steady as this for so long, a distance is held
_MORE = 1.5  # times
_CUT_DEG, _CUT_S = 20.0, 20.0
_LEAVES_DEG = 35.0  # before the end of the arc, where one may leave it; farther away a cut inwards is a correction
_MIDDLE = 0.3, 0.7  # of the radials of an arc
_ASTRAY_DEG = 30.0
_BACK_NM, _BACK_S = 0.5, 20.0  # of the arc, for so long: on it again
_TURNING_OFF_DEG = 15.0  # before the end of the arc, where the turn off it is begun
_MOST = 0.6  # of the time
_CHORD_SHARE = 0.6  # of the radials between the ends of the arc on one heading: a straight line from one to the other
_THROUGH_NM = 2.5  # so far past the arc it was no turn made badly
_LONG_WAY_DEG, _LONG_WAY_S, _STRAIGHT_ON_S = 190.0, 240.0, 20.0  # more than half round, at half the standard rate
_KNOWN_S = 90.0  # who held the right one for so long knew its number
_TURNED_S = 30.0  # of the turn on to the arc: so soon after it a distance is what that turn made of it
_LITTLE_DEG = 10.0  # of an arc: less of it shows nothing
_TOO_LITTLE = "Too little of the arc was flown to tell."
_TOO_FAR_IN, _NOSE = "the nose too far inside", "nose five inside"
_SLID_IN = "wind forgotten as the arc turns, or the nose too far inside"


def spans_of(view: View) -> list[Span]:
    """Spans of the arc."""
    return list(view.spans(kind="arc"))


def rolled_out(view: View) -> int | None:
    """First sample of the arc with the wings level after the turn on to it."""
    spans = spans_of(view)
    if not spans:
        return None
    first, last = spans[0].first, spans[-1].last
    begun = first
    along = np.abs(apart(view.seen.track_deg, view.seen.radial_deg + 90.0))
    straight_on = np.minimum(along, 180.0 - along) > _STRAIGHT_ON_DEG
    while (
        begun < last
        and not view.turning[begun]
        and (view.seen.time_s[begun] - view.seen.time_s[first] < 20.0 or straight_on[begun])
    ):
        begun += 1
    if not view.turning[begun]:
        begun = first
    for at in range(begun, last + 1):
        if not view.turning[at : at + view.samples(4)].any():
            return at
    return None


def turn_in(view: View) -> int | None:
    """Sample where the turn off the arc begins; None if the arc was never left inwards."""
    spans = spans_of(view)
    if not spans:
        return None
    seen, last = view.seen, spans[-1].last
    if last + 1 >= len(seen):
        return None
    begun = max(rolled_out(view) or spans[0].first, spans[0].first)
    inward = spans[-1].piece.side * apart(seen.track_deg, seen.radial_deg + 90.0 * spans[-1].piece.side)
    near = np.abs(seen.time_s - seen.time_s[last]) < _TURN_OFF_S
    # The cut lies within the turn, or a little before or behind it; steps along the arc do not point inwards.
    turns = [run for run in view.runs(view.turning & (view.numbers >= begun)) if near[run[0] : run[1] + 1].any()]
    turns = [run for run in turns if inward[run[0] : run[1] + 1].max() > _INWARDS_DEG]
    return turns[0][0] if turns else last


def _end_of(view: View, spans: list[Span]) -> int:
    """Last sample that is still meant to be on the arc: up to the turn off it, or to the lead radial."""
    left = turn_in(view)
    end = spans[-1].last if left is None else left
    leg = spans[-1].piece.leg
    if leg is None or leg.end is None:
        return end
    seen, side = view.seen, spans[-1].piece.side
    last_deg = leg.lead_radial_deg if leg.lead_radial_deg is not None else view.procedure.fix(leg.end).radial_deg
    past = np.flatnonzero((view.numbers >= spans[-1].first) & (side * apart(seen.radial_deg, last_deg) > -1.0))
    inward = np.abs(apart(seen.track_deg, seen.radial_deg + 180.0)) < _LEAVING_DEG
    # Where the turn off the arc is made in two parts, the first one leaves it; the turn on to it is another matter.
    on = max(spans[-1].first, rolled_out(view) or 0)
    by_its_end = np.abs(apart(seen.radial_deg, last_deg)) < _LEAVES_DEG
    # Who comes back to the arc after it has not left it: that was a cut inwards.
    held = (view.numbers > on) & (view.numbers <= end) & ~inward
    back = view.runs(held & (np.abs(seen.dme_nm - spans[0].piece.arc_nm) < _BACK_NM), _BACK_S)
    on = max([on, *(run[1] for run in back)])
    leaving = np.flatnonzero((view.numbers > on) & inward & by_its_end & (view.numbers <= end))
    ends = [end, *past[:1].tolist(), *leaving[:1].tolist()]
    return int(max(min(ends), spans[0].first))


def way_round(view: View, row: Row) -> Judgement:
    """The arc is flown the way it is published."""
    spans = spans_of(view)
    if not spans:
        return not_judged(row, "No arc was flown.")
    seen, side = view.seen, spans[0].piece.side
    on = view.mask("initial", "intermediate", kind="arc")
    radial = np.rad2deg(np.unwrap(np.deg2rad(seen.radial_deg)))
    first = spans[0].first
    flown = np.where(on, side * (radial - radial[first]), 0.0)
    most = np.maximum.accumulate(np.where(on, flown, -1e9))
    back = np.where(on, most - flown, 0.0)
    worst = int(np.argmax(back))
    degrees = float(back[worst])
    way = {1: "clockwise", -1: "counter-clockwise"}
    reverse = on & (np.abs(apart(seen.track_deg, seen.radial_deg - 90.0 * side)) < _ALONG_DEG) & (back > 0.0)
    if degrees < (_FEW_WRONG_DEG if view.runs(reverse, _WRONG_WAY_S) else _WRONG_WAY_DEG):
        if float(flown.max()) < _LITTLE_DEG:
            return not_judged(row, _TOO_LITTLE)
        return view.judged(row, [], way=way[side])
    begun = int(np.flatnonzero(back[: worst + 1] < 3.0)[-1])
    run = (begun, worst, float(seen.time_s[worst] - seen.time_s[begun]))
    what = f"flown {way[-side]} for {degrees:.0f} degrees; the procedure goes round {way[side]}."
    return view.judged(row, [view.finding(row, run, degrees, "deg", what, error=21)])


def arc_join(view: View, row: Row) -> Judgement:
    """Distance off the arc when the turn on to it is done."""
    spans, at = spans_of(view), rolled_out(view)
    if (left_out := _left_out(view, row)) is not None:
        return view.judged(row, [left_out])
    if (long_way := _long_way(view, row, spans)) is not None:
        return view.judged(row, [long_way])
    if (early := _far_too_early(view, row, spans)) is not None:
        return view.judged(row, [early])
    if _chord(view, spans):
        return _across(view, row, spans)
    if at is None:
        return _never_joined(view, row)
    if not _along_anywhere(view, spans):
        if (held_nm := _held_elsewhere_nm(view, spans)) is not None:
            if (through := _round_beyond(view, row, spans, held_nm)) is not None:
                return view.judged(row, [through])
            return not_judged(row, f"An arc of {held_nm:.1f} NM was flown; that is another row's matter.")
        never = _never_joined(view, row)
        return _across(view, row, spans) if never.verdict == "not judged" else never
    arc_nm, seen = spans[0].piece.arc_nm, view.seen
    end = min(at + view.samples(_JOIN_S), spans[-1].last)
    off = seen.dme_nm[at : end + 1] - arc_nm
    worst = at + int(np.argmax(np.abs(off)))
    error_nm = float(seen.dme_nm[worst] - arc_nm)
    praise = {"rolled_out": f"{seen.dme_nm[at]:.1f} DME"}
    if abs(error_nm) <= row.limit["goal_nm"] + seen.position_nm + _LAST_NM:
        return view.judged(row, [], **praise)
    side = "outside" if error_nm > 0 else "inside"
    came = spans[0].first > 0 and seen.ground_nm[max(spans[0].first - view.samples(_CAME_S), 0)] < arc_nm
    late = came == (error_nm > 0)
    lead = f"the turn on to the arc begun too {'late: too little' if late else 'soon: too much'} lead"
    what = f"after the turn on to the arc the DME read {seen.dme_nm[worst]:.1f}: {abs(error_nm):.1f} NM {side}."
    run = (at, worst, float(seen.time_s[worst] - seen.time_s[at]) + seen.step_s)
    if abs(error_nm) > _THROUGH_NM and came == (error_nm > 0):
        what = f"straight on through the {arc_nm:g} NM arc, {abs(error_nm):.1f} NM past it when the turn was done."
        return view.judged(row, [view.finding(row, run, abs(error_nm), "NM", what, error=79)])
    finding = view.finding(row, run, abs(error_nm), "NM", what, cause=lead, error=20, critical=False)
    finding = replace(finding, failed=abs(error_nm) > row.limit["limit_nm"] + seen.position_nm)
    credit = 0.5 if abs(error_nm) <= row.limit["limit_nm"] else 0.0
    return Judgement(row, "missed", "DME after the turn on to the arc", credit, (finding,))


def _long_way(view: View, row: Row, spans: list[Span]) -> Finding | None:
    """Turned on to the arc by the longer of the two ways, in one turn; None where it was not.

    Some way along the arc the wrong way round and back is no turn, and another row's matter.
    """
    legs = [span for span in view.spans("initial", kind="radial") if spans and span.last < spans[0].first]
    if not legs or legs[-1].piece.course_deg is None:
        return None
    seen, piece = view.seen, spans[0].piece
    on_leg = (view.numbers >= legs[-1].first) & (view.numbers <= spans[0].first) & ~view.turning
    on_leg &= np.abs(apart(seen.track_deg, legs[-1].piece.course_deg)) < _ASTRAY_DEG
    if not on_leg.any():
        return None
    begun = int(np.flatnonzero(on_leg)[-1])
    tangent = seen.radial_deg + 90.0 * piece.side
    if (turned := turned_long_way(view, begun, tangent)) is None:
        return None
    until, round_deg = turned
    short_deg = abs(float(apart(tangent[begun], seen.track_deg[begun])))
    what = f"turned {round_deg:.0f} degrees the long way round on to the arc; the other way it is {short_deg:.0f}."
    run = (begun, until, float(seen.time_s[until] - seen.time_s[begun]))
    return replace(view.finding(row, run, round_deg, "deg", what, error=95, critical=False), failed=True)


def turned_long_way(view: View, begun: int, towards_deg: Floats) -> tuple[int, float] | None:
    """Sample by which, and degrees by which, a direction was turned to the longer of the two ways; None: it was not.

    In one turn that was begun after a sample; a way flown straight in between is no part of one.
    """
    seen = view.seen
    wanted = float(apart(towards_deg[begun], seen.track_deg[begun]))
    turned = np.cumsum(apart(seen.track_deg, np.roll(seen.track_deg, 1))[begun + 1 :])
    soon = seen.time_s[begun + 1 :] - seen.time_s[begun] < _LONG_WAY_S
    on = np.flatnonzero(soon & (np.abs(apart(seen.track_deg, towards_deg))[begun + 1 :] < _ALONG_DEG / 2))
    if not len(on) or float(turned[on[0]]) * wanted >= 0.0 or abs(float(turned[on[0]])) < _LONG_WAY_DEG:
        return None
    until = begun + 1 + int(on[0])
    if view.runs(~view.turning & (view.numbers > begun) & (view.numbers < until), _STRAIGHT_ON_S):
        return None
    return until, abs(float(turned[on[0]]))


def _left_out(view: View, row: Row) -> Finding | None:
    """From the leg to the arc to the line at its end, and never near the arc between; None where it was flown."""
    seen, pieces = view.seen, view.split.pieces
    arc_pieces = [piece for piece in pieces if piece.kind == "arc"]
    line = next((span for span in view.spans("intermediate", "final", kind="radial")), None)
    begun = next((span for span in view.spans("initial")), None)
    if not arc_pieces or line is None or begun is None or begun.piece.kind == "arc" or begun.first >= line.first:
        return None
    first, span_deg = arc_pieces[0], sum(piece.span_deg for piece in arc_pieces)
    between = (view.numbers >= begun.first) & (view.numbers <= line.first)
    flown_deg = np.mod(first.side * (seen.radial_deg - first.radial_deg), 360.0)
    near = between & (np.abs(seen.ground_nm - first.arc_nm) < _FARTHEST_NM)
    middle = near & (flown_deg > _MIDDLE[0] * span_deg) & (flown_deg < _MIDDLE[1] * span_deg)
    other_way = near & (flown_deg > span_deg + _ASTRAY_DEG) & (flown_deg < 360.0 - _ASTRAY_DEG)
    apart_nm = view.away_nm(str(arc_pieces[-1].leg.end if arc_pieces[-1].leg else ""))
    reached = between & (apart_nm < _FARTHEST_NM)
    if middle.any() or other_way.any() or not reached.any():
        return None
    run = (begun.first, line.first, float(seen.time_s[line.first] - seen.time_s[begun.first]))
    what = f"no part of the {first.arc_nm:g} NM arc was flown: to the line at its end another way."
    return view.finding(row, run, float(span_deg), "deg", what, error=79)


def _chord(view: View, spans: list[Span]) -> bool:
    """Whether one straight line was flown for most of the radials of the arc, and miles inside it."""
    if not spans:
        return False
    piece, first = spans[0].piece, spans[0].first
    span_deg = sum(span.piece.span_deg for span in spans)
    inside = view.mask("initial", "intermediate", kind="arc") & (piece.arc_nm - view.seen.dme_nm > 1.0)
    if inside.sum() * view.seen.step_s < _JOIN_S:
        return False
    # Up to its end: on the way in to the station one heading passes any number of radials.
    return _longest_straight_deg(view, first, spans[-1].last, piece.side) > _CHORD_SHARE * span_deg


def _far_too_early(view: View, row: Row, spans: list[Span]) -> Finding | None:
    """Turned off the leg to the arc miles before it, and on no line until there; None where it was not."""
    seen = view.seen
    legs = [span for span in view.spans("initial", kind="radial") if spans and span.last < spans[0].first]
    left = cut_to_arc(view, legs[-1]) if legs else None
    if left is None:
        return None
    arc_nm = spans[0].piece.arc_nm
    short_nm = abs(float(seen.ground_nm[left]) - arc_nm)
    met = np.flatnonzero((view.numbers > left) & (np.abs(seen.ground_nm - arc_nm) <= row.limit["limit_nm"]))
    end = int(met[0]) if len(met) else spans[-1].last
    run = (left, end, float(seen.time_s[end] - seen.time_s[left]))
    what = f"the turn on to the arc was begun {short_nm:.1f} NM before it, and no line flown for {run[2]:.0f} s."
    found = view.finding(row, run, short_nm, "NM", what, cause="far too much lead", error=20, critical=False)
    return replace(found, failed=run[2] >= view.rubric.prompt_s)


def _along_anywhere(view: View, spans: list[Span]) -> bool:
    """Whether the track ever lay along the arc and near it, either way round."""
    seen = view.seen
    off = np.abs(apart(seen.track_deg, seen.radial_deg + 90.0))
    along = view.mask("initial", "intermediate", kind="arc") & (np.minimum(off, 180.0 - off) < _ALONG_DEG)
    near = np.abs(seen.dme_nm - spans[0].piece.arc_nm) < _NEAR_ARC_NM
    return float((along & near).sum()) * seen.step_s > _ALONG_S


def _held_elsewhere_nm(view: View, spans: list[Span]) -> float | None:
    """DME of an arc that was flown, and turned with, at another distance than the published one; None: none was."""
    seen, side = view.seen, spans[0].piece.side
    on = view.mask("initial", "intermediate", kind="arc")
    off = np.abs(apart(seen.track_deg, seen.radial_deg + 90.0))
    along = on & (np.minimum(off, 180.0 - off) < _ALONG_DEG)
    if along.sum() * seen.step_s < _ELSEWHERE_S:
        return None
    held = float(np.median(seen.dme_nm[along]))
    along &= np.abs(seen.dme_nm - held) < _ELSEWHERE_NM
    here = np.flatnonzero(along)
    if len(here) * seen.step_s < _ELSEWHERE_S or abs(held - spans[0].piece.arc_nm) > _FARTHEST_NM:
        return None
    passed = side * float(apart(seen.radial_deg[here[-1]], seen.radial_deg[here[0]]))
    straight = _longest_straight_deg(view, int(here[0]), int(here[-1]), side)
    return held if passed > 0.0 and straight < _STRAIGHT_SHARE * passed else None


def _round_beyond(view: View, row: Row, spans: list[Span], held_nm: float) -> Finding | None:
    """Flown on through the arc and then round miles beyond it; None where the arc was not passed, or nearer by."""
    seen, arc_nm = view.seen, spans[0].piece.arc_nm
    leg = next((span for span in view.spans("initial", kind="radial") if span.last < spans[0].first), None)
    if leg is None or abs(held_nm - arc_nm) <= _THROUGH_NM:
        return None
    if (float(seen.ground_nm[leg.first]) - arc_nm) * (held_nm - arc_nm) > 0.0:
        return None
    at = int(np.flatnonzero((view.numbers > leg.first) & ((seen.ground_nm - arc_nm) * (held_nm - arc_nm) > 0.0))[0])
    run = (at, spans[-1].last, float(seen.time_s[spans[-1].last] - seen.time_s[at]))
    what = f"straight on through the {arc_nm:g} NM arc, and round at {held_nm:.1f} DME, never on it."
    return view.finding(row, run, abs(held_nm - arc_nm), "NM", what, error=79)


def _across(view: View, row: Row, spans: list[Span]) -> Judgement:
    """Straight across inside the arc to the final line, and the arc never met."""
    seen, piece = view.seen, spans[0].piece
    inside = view.mask("initial", "intermediate", kind="arc") & (piece.arc_nm - seen.dme_nm > row.limit["limit_nm"])
    runs = view.runs(inside, _JOIN_S)
    if not runs:
        return not_judged(row, "No arc was flown, or its beginning was not recorded.")
    run = max(runs, key=lambda each: each[2])
    worst = float((piece.arc_nm - seen.dme_nm[run[0] : run[1] + 1]).max())
    what = f"straight across to the final line, up to {worst:.1f} NM inside the {piece.arc_nm:g} NM arc."
    return view.judged(row, [view.finding(row, run, worst, "NM", what, error=79)])


def _never_joined(view: View, row: Row) -> Judgement:
    """The leg to the arc was flown on through it."""
    none = not_judged(row, "No arc was flown, or its beginning was not recorded.")
    pieces = view.split.pieces
    arc_piece = next((piece for piece in pieces if piece.kind == "arc"), None)
    leg = next((span for span in view.spans("initial", kind="radial")), None)
    if arc_piece is None or leg is None:
        return none
    outward = leg.piece.start_nm >= 0.0 or view.seen.ground_nm[leg.last] > view.seen.ground_nm[leg.first]
    past = (view.seen.ground_nm - arc_piece.arc_nm) * (1.0 if outward else -1.0)
    past = np.where(view.numbers >= leg.first, past, -99.0)
    if view.split.away is not None:
        past[view.split.away :] = -99.0  # who climbs away has given it up
    line = next((span for span in view.spans("intermediate", kind="radial")), None)
    if line is not None:  # in along the final line it is no arc that is flown through
        past[np.abs(view.off_deg(float(line.piece.course_deg or 0.0))) <= view.rubric.established_deg] = -99.0
    runs = view.runs((past > row.limit["limit_nm"]) & view.mask("initial", "intermediate", "after"), _JOIN_S)
    if not runs:
        return none
    run = runs[0]
    worst = float(past[run[0] : run[1] + 1].max())
    what = f"straight on through the {arc_piece.arc_nm:g} NM arc, {worst:.1f} NM past it."
    return view.judged(row, [view.finding(row, run, worst, "NM", what, error=79)])


def arc(view: View, row: Row) -> Judgement:
    """Distance off the arc while it is flown."""
    spans, begun = spans_of(view), rolled_out(view)
    if begun is None:
        return not_judged(row, "No arc was flown.")
    seen, arc_nm, side = view.seen, spans[0].piece.arc_nm, spans[0].piece.side
    end = _end_of(view, spans)
    off = seen.dme_nm - arc_nm
    flown = np.zeros(len(seen), dtype=bool)
    flown[begun : end + 1] = True
    degrees = abs(float(apart(seen.radial_deg[end], seen.radial_deg[begun])))
    if not flown.any():
        return not_judged(row, "The arc was too short to tell.")
    worst_nm = float(np.abs(off[flown]).max())
    findings = []
    woven = _woven(view, row, spans, begun, off)
    for run in view.runs(flown & (np.abs(off) > row.limit["say_nm"] + seen.position_nm), _OUTSIDE_S):
        error, cause = (26, "") if woven else _why_off_arc(view, begun, run, side, off)
        run = _whole(view, run, begun, off, row.limit["goal_nm"])
        at = run[0] + int(np.argmax(np.abs(off[run[0] : run[1] + 1])))
        if run[2] < _PUT_RIGHT_S and abs(float(off[at])) < _PLAIN_NM:
            continue  # half the tolerance, and put right
        where, worst = "outside" if off[at] > 0 else "inside", abs(float(off[at]))
        what = f"{worst:.1f} NM {where} the arc, off it for {run[2]:.0f} s."
        part = slice(run[0], run[1] + 1)
        held_nm = float(np.median(np.abs(off[part])))
        if error == 78:
            held = arc_nm + float(np.median(off[part]))
            what = f"{held:.1f} DME held where {arc_nm:g} is published: {what}"
        critical = error == 78 and held_nm + _LAST_NM >= row.limit["critical_nm"] + seen.position_nm
        critical |= _unprotected(view, row, part, off)
        beyond = worst > row.limit["limit_nm"]
        found = view.finding(row, run, worst, "NM", what, cause=cause, error=error, critical=critical, beyond=beyond)
        findings.append(replace(found, next_time=_NOSE) if cause.startswith(_TOO_FAR_IN) else found)
    if not findings and degrees < _LITTLE_DEG:
        return not_judged(row, _TOO_LITTLE)
    judgement = view.judged(row, worst_by_part(findings), worst=f"{worst_nm:.1f}", degrees=f"{degrees:.0f}")
    goal_nm, limit_nm = row.limit["goal_nm"], row.limit["limit_nm"]
    # Between the goal and the limit: a part of the points, and no praise.
    credit = max(1.0 - 0.5 * (worst_nm - goal_nm) / max(limit_nm - goal_nm, 0.1), 0.5)
    if judgement.verdict == "missed" and worst_nm <= limit_nm + seen.position_nm:
        return Judgement(row, "missed", judgement.fact, credit, judgement.findings)
    if judgement.verdict == "met" and worst_nm > goal_nm + seen.position_nm:
        return Judgement(row, "met", f"Within {worst_nm:.1f} NM; the goal is {goal_nm:g}.", credit)
    return judgement


def _unprotected(view: View, row: Row, part: slice, off: Floats) -> bool:
    """Whether the arc was left by more than is protected to either side of it, and not on the way back to it."""
    seen = view.seen
    if part.stop - part.start < 2:
        return False
    back = np.gradient(np.abs(off[part]), seen.time_s[part]) < 0.0
    beyond = np.abs(off[part]) > row.limit["primary_nm"] + seen.position_nm
    return bool((beyond & ~back).sum() * seen.step_s > _BEYOND_S)


def _whole(view: View, run: Run, begun: int, off: Floats, goal_nm: float) -> Run:
    """A run from where the distance left its goal to that side, not from where it was so far off that it is said."""
    first, side = run[0], float(np.sign(off[run[0]]))
    while first > begun and side * off[first - 1] > goal_nm:
        first -= 1
    return first, run[1], run[2] + float(view.seen.time_s[run[0]] - view.seen.time_s[first])


def _woven(view: View, row: Row, spans: list[Span], begun: int, off: Floats) -> bool:
    """Whether the DME was off to both sides, with large cuts inwards and outwards."""
    seen, least = view.seen, row.limit["say_nm"] + view.seen.position_nm
    leg = spans[-1].piece.leg
    ends_deg = view.procedure.fix(str(leg.end)).radial_deg if leg and leg.end else np.nan
    on = view.mask("initial", "intermediate", kind="arc") & (view.numbers >= begun)
    on &= ~(np.abs(apart(seen.radial_deg, ends_deg)) < _TURNING_OFF_DEG)
    outward = 90.0 - np.abs(apart(seen.track_deg, seen.radial_deg))
    # Off by as much as is said to one side, and beyond what is wanted to the other.
    least_other = row.limit["goal_nm"] + view.seen.position_nm
    most, other = float(off[on].max(initial=0.0)), float(-off[on].min(initial=0.0))
    both = max(most, other) > least and min(most, other) > least_other
    cuts_s = min(float((on & (side * outward > _CUT_DEG)).sum()) * seen.step_s for side in (1.0, -1.0))
    return bool(both and cuts_s > _CUT_S)


def _why_off_arc(view: View, begun: int, run: Run, side: int, off: Floats) -> tuple[int, str]:
    """Likely cause of a distance that was not kept: number of the common error, and a few words more."""
    seen, left = view.seen, run[0]
    if "course_2_deg" in seen.recorded:
        twists = apart(seen.columns["course_2_deg"][begun + 1 : left + 1], seen.columns["course_2_deg"][begun:left])
        turned = twists[np.abs(twists) > 0.5]
        degrees = side * float(apart(seen.radial_deg[left], seen.radial_deg[begun]))
        wrong = turned[(np.sign(turned) != side) & (np.abs(turned) < 90)]
        if len(wrong):
            return 24, "twisted back: selector 2 was turned the wrong way"
        used = float(np.isfinite(seen.columns["course_2_deg"][begun : left + 1]).mean()) > _USED_SHARE
        if not len(turned) and degrees > _TWIST_DEG and used:
            return 22, "turn without twist: selector 2 was not turned"
    another = (
        _steady(view, run, off) and not _was_on_it(view, begun, run, off) and not _regained(view, begun, run, off)
    )
    if another and _longest_straight_deg(view, (run[0] + run[1]) // 2, run[1], side) <= _ONE_STEP_DEG:
        return 78, ""
    furthest = left + int(np.argmax(np.abs(off[left : run[1] + 1])))
    straight = _longest_straight_deg(view, begun, furthest, side)
    if straight > _ONE_STEP_DEG:
        said = f"the heading not turned with the arc: one heading for {straight:.0f} degrees of it"
        return 22, f"{said} (twist without turn, or turn without twist)"
    if another:
        return 78, ""
    part = slice(left, run[1] + 1)
    beyond = off[part]
    if not view.nose_known:
        return (25, "tangent habit, or wind from the station's side") if off[left] > 0 else (27, _SLID_IN)
    tangent = seen.radial_deg + 90.0 * side
    whole = slice(begun, run[0] + int(np.argmax(np.abs(beyond))) + 1)
    inside = side * float(np.median(apart(seen.heading_deg, tangent)[whole]))
    pushed_out = -side * float(np.median(apart(seen.track_deg, seen.heading_deg)[whole]))
    outside = off[left] > 0
    # What explains more: the wind outwards, or the nose outside the tangent.
    if outside and pushed_out > max(float(DRIFT_DEG), -_MORE * inside) and inside < pushed_out:
        return 27, f"wind forgotten as the arc turns: it pushed outwards by {pushed_out:.0f} degrees"
    if not outside and -pushed_out > DRIFT_DEG and inside > pushed_out:
        return 27, f"wind forgotten as the arc turns: it pushed inwards by {-pushed_out:.0f} degrees"
    if not outside and abs(pushed_out) < DRIFT_DEG:  # no wind did it
        return 27, f"{_TOO_FAR_IN} the tangent"
    if not outside:
        return 27, _SLID_IN
    side_said = "inside" if inside >= 0 else "outside"
    return 25, f"tangent habit: the nose was {abs(inside):.0f} degrees {side_said} the tangent on the whole"


def _steady(view: View, run: Run, off: Floats) -> bool:
    """Whether another distance was held: for most of a run, or from the way to it on and closely."""
    beyond = off[run[0] : run[1] + 1]
    held = float((np.abs(beyond - np.median(beyond)) < _HELD_NM / 2).mean())
    thirds = [float(np.median(third)) for third in np.array_split(beyond, 3) if len(third)]
    if run[2] > _HELD_S and (held > _MOST or np.ptp(thirds) < _HELD_NM):
        return True
    first = run[0] + len(beyond) // 2
    long = float(view.seen.time_s[run[1]] - view.seen.time_s[first]) > 2.0 * _HELD_S
    return long and float(np.ptp(np.percentile(off[first : run[1] + 1], [5, 95]))) < _HELD_NM


def _was_on_it(view: View, begun: int, run: Run, off: Floats) -> bool:
    """Whether the arc itself was held before it was left: so long, or come back to, that no other one was meant."""
    arc_last = max((span.last for span in spans_of(view)), default=0)
    before = np.abs(off[begun : run[0]]) < _BACK_NM
    after = np.abs(off[run[1] + 1 : arc_last + 1]) < _BACK_NM
    before_s, after_s = (float(each.sum()) * view.seen.step_s for each in (before, after))
    return before_s > _KNOWN_S or (before_s > _HELD_S and after_s > _BACK_S)


def _regained(view: View, begun: int, run: Run, off: Floats) -> bool:
    """Whether an arc met too soon or too late was taken up after all, and held: its number was known."""
    arc_last = max((span.last for span in spans_of(view)), default=0)
    if view.seen.time_s[run[0]] - view.seen.time_s[begun] > _TURNED_S:
        return False
    return bool(view.runs((np.abs(off) < _BACK_NM) & (view.numbers > run[1]) & (view.numbers <= arc_last), _HELD_S))


def _longest_straight_deg(view: View, begun: int, left: int, side: int) -> float:
    """Degrees of the arc that pass by while one heading is kept (within 5 degrees)."""
    seen, longest = view.seen, 0.0
    at = begun
    for other in range(begun, left + 1):
        while abs(float(apart(seen.heading_deg[other], seen.heading_deg[at]))) > 5.0:
            at += 1
        longest = max(longest, side * float(apart(seen.radial_deg[other], seen.radial_deg[at])))
    return longest


def arc_final_course(view: View, row: Row) -> Judgement:
    """The final course stands on a selector before the arc is left."""
    spans = spans_of(view)
    if not spans:
        return not_judged(row, "No arc was flown.")
    following = next((span for span in view.spans(kind="radial") if span.first > spans[-1].last), None)
    course = float((following.piece.course_deg if following else None) or view.procedure.final_course_deg)
    right = view.set_course(course, row.limit["limit_deg"])
    if right is None:
        return not_judged(row, "The recording does not hold the course selectors.")
    on_arc = np.zeros(len(view.seen), dtype=bool)
    on_arc[spans[0].first : spans[-1].last + 1] = True
    if (on_arc & right).any():
        radial = round(float(view.seen.radial_deg[np.flatnonzero(on_arc & right)[0]])) % 360 or 360
        return view.judged(row, [], radial=f"{radial:03d}")
    last = spans[-1].last
    what = f"{course:03.0f} was on neither selector when the arc was left."
    return view.judged(row, [view.finding(row, (last, last, view.seen.step_s), 1.0, "", what, error=29)])
