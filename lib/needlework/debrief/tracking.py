"""Judges of the tracking of radials: the needle, what made it leave, and the wind correction flown."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from needlework.basis.quantity import Constant, Floats
from needlework.debrief.evidence import View
from needlework.debrief.findings import (
    Finding,
    Judgement,
    Mask,
    Run,
    apart,
    mean_deg,
    not_judged,
    trend,
    worst_by_part,
)
from needlework.debrief.pieces import along_across
from needlework.debrief.rubric import Row
from needlework.debrief.segments import Span
from needlework.trade import vor

_SETTLED_S = 75.0  # of straight flight on a leg: established by then, or never
_CLOSING_SHARE = 0.7
_TIMED_S = 60.0  # the same on a leg flown by the clock, which is short
_OUT_DEG = 40.0  # off the course of a timed leg: on the heading of the turn behind it
DRIFT_DEG = Constant(3.0, "deg", "common-practice", "less wind correction than this is no cause of anything")
_SETTLE_S = 3.0  # a needle outside for less than this is a flicker
_BEYOND_S = 10.0
_PLAINLY = 1.25  # times full scale: at the stop itself a needle may be hardly out
_BELOW_FT = 100.0  # an altitude of its own, and not the one before held badly
_ENOUGH, _LEE_SHARE = 0.55, -0.2  # shares of the wind correction: less is none of it, less still the wrong side
_LEE_DEG = 2.0  # of a correction on the wrong side: it counts twice
_LEE_MOST = 2.5  # times the drift
_CENTRED_DEG = 1.5  # a needle this far off weighs a quarter of a centred one
_ALIKE_S = 30.0
_GAINS = -1.0, 5.0  # degrees of heading that anybody flies for a degree of needle
_ENDING_S, _STILL_LEAVES_DEG = 20.0, 1.5  # a needle that moves so much at the end has settled nowhere
_KEPT_DEG = 2.5  # a needle that is this good on the whole was tracked
_ONE_RADIAL_DEG = 3.0  # to either side of one that is held
_STEADY_DEG, _STEADY_S = 2.5, 25.0  # another radial is flown when the offset stays like this for so long
_ONE_BEARING_DEG = 0.5  # a bearing as it is read
_HOMED_DEG, _HOMED_SHARE = (
    (3.0, 4.0),
    0.75,
)  # off the line by so much, and the nose so near the station, nearly always
_STILL = 0.4  # less of what a parallel makes of a bearing is to the station, and the other way round
_ACROSS_DEG = 30.0  # more off its course is crossing a line
_AS_COURSE_DEG, _AS_COURSE_SHARE = 5.0, 0.3  # a heading as it is held; less of the correction is none
_LEFT_DEG, _NO_LEAD_NM = 20.0, 1.5  # more than the corrections of a leg; twice the lead of a turn at 150 kt
_MIRRORED_SHARE = 0.4
_CUT_BEFORE_S, _MET_S, _MET_DEG = 30.0, 15.0, 5.0  # a cut on which a line is met
_HELD_HEADING_DEG = 8.0
_MOST_DRIFT_DEG = 20.0  # of a cross-wind of a third of the airspeed; more is another radial
_PARALLEL_DEG = 10.0
_FEW_DEG, _BEFORE_S = (3.0, 10.0), 60.0  # of a change of course at a station; so long on the old one it was left set
_LONG_S, _SEVERAL = 60.0, 3  # legs that are a habit
_ANOTHER = "another radial was flown, as with a wrong course set or a radial misread"
_WEAVES, _WEAVE_DEG = 3, 15.0  # this many cuts of this size, side about: snaking
_MANY = 4  # cuts
_MEETING_DEG, _SNAKING_DEG = 20.0, 60.0  # a cut that meets a line; the nose through so much from side to side
_NO_CUT_DEG = 180.0  # from side to side
_MEETING = 2  # large changes of heading that meeting a line from either side may take
_CLOSE_IN_NM = 3.0
_TURNED_OFF_DEG = 15.0  # more than a correction
_LED_OFF = "a heading that led off the line, held until the needle was at its stop"
_CUT = "a heading held away from the line, as with the needle taken the wrong way round"
_WANDERED = "a line that was held was let go, by the wind or the heading, and taken up again late"
_SLID = "a line that was held was let go, and flown beside with the needle not brought back"
_BACK_SHARE = 0.75  # of the needle at its farthest: on its way back
_LEE = "correction downwind: with the needle centred, the nose was on the lee side"
_NO_DRIFT = "no drift correction, or all of it taken out at the centre"
_EITHER = f"{_NO_DRIFT}, or to the wrong side (the recording cannot tell which)"


def needle_before_final(view: View, row: Row) -> Judgement:
    """Needle on the radial legs before the final."""
    return needle(
        view, row, [one for one in view.spans("initial", "intermediate") if one.piece.kind in ("radial", "timed")]
    )


def needle(
    view: View,
    row: Row,
    spans: list[Span],
    until: int | None = None,
    settled_s: float = _SETTLED_S,
    critical_s: float | None = None,
    carried_s: float = 0.0,
    by_eye: int | None = None,
) -> Judgement:
    """Needle of some legs: from established on within the tolerance, away from the station, not in turns.

    Not to be established after ``settled_s`` of straight flight is a fault of its own. ``critical_s``: as
    long outside as this is critical, None where no time is; ``carried_s``: outside on the same line before. [s]
    ``by_eye``: from there on the nose follows the runway, and tells nothing of the needle.
    """
    limit, seen = row.limit["limit_deg"], view.seen
    findings: list[Finding] = []
    worst_deg, miles, judged_any = 0.0, 0.0, False
    for span in _joined(spans):
        off = view.off_deg(float(span.piece.course_deg or 0.0))
        on_needle = span if by_eye is None else replace(span, last=min(span.last, by_eye - 1))
        judged = view.established(span, off)
        usable = view.inside(span) & view.readable
        if (left := cut_to_arc(view, span)) is not None:  # from there on it is the turn on to the arc
            judged[left:], usable[left:] = False, False
        if until is not None:
            judged[until:], usable[until:] = False, False
        judged_any |= bool(judged.any())
        if judged.any():
            worst_deg = max(worst_deg, float(np.abs(off[judged]).max()))
            miles += float(seen.gs_kt[judged].mean() * judged.sum() * seen.step_s / 3600.0)
        wait_s = settled_s
        if span.piece.kind == "timed":
            usable |= _out_to_the_turn(view, span)
        if span.piece.kind == "timed" and usable.any() and not _closing(off[usable]):
            wait_s = min(settled_s, _TIMED_S)
        never = not judged.any() and usable.sum() * seen.step_s > wait_s
        outside = judged & (np.abs(off) > limit + view.unsure_deg)
        if never:
            outside, judged_any = usable, True
        elif span.piece.start_nm == 0.0 and judged.any():  # from the station: on the line by then, or beside it
            waiting = usable & (np.abs(off) > limit + view.unsure_deg) & (view.numbers < int(np.argmax(judged)))
            if waiting.sum() * seen.step_s > settled_s and snaking(view, row, on_needle) is None:
                outside |= waiting
        runs = view.runs(outside, _SETTLE_S)
        if never:  # one line that was never met, whatever turns were made beside it
            on, straight = np.flatnonzero(usable), runs
            runs = [(int(on[0]), int(on[-1]), float(usable.sum() * seen.step_s))]
        over = view.inside(on_needle) & ~view.near
        if left is not None:
            over[left:] = False
        over &= np.logical_or.accumulate(over & (np.abs(off) <= limit))  # once it was in, not on the way in
        weave = snaking(view, row, on_needle, wild=_both_sides(off, over, limit))
        kept = bool(judged.any()) and float(np.abs(off[judged]).max()) <= _CENTRED_DEG / 2
        if weave is not None and not kept and (not runs or _both_sides(off, over, row.limit["weave_deg"])):
            judged_any = True
            out_s = float((over & (np.abs(off) > limit + view.unsure_deg)).sum() * seen.step_s)
            lost = _both_sides(off, over, view.rubric.established_deg) or out_s > (critical_s or 0.0)
            findings.append(replace(weave, critical=critical_s is not None and lost))
            continue
        said = [] if runs or "say_deg" not in row.limit else _accepted(view, row, judged, usable, off)
        for part_of, run in _held_together(view, runs or said, off, limit):
            if runs and not never:
                run = _with_turns(view, span, run, judged, off, limit)
                if run != part_of and _radial_flown(view, span, run) is not None:
                    part_of = run  # one radial from end to end, whatever wavers lay on it
                elif run[0] < part_of[0]:  # the way out tells why, and not the way back
                    out = run[0] + int(np.argmax(np.abs(off[run[0] : run[1] + 1])))
                    part_of = run[0], out, float(seen.time_s[out] - seen.time_s[run[0]]) + seen.step_s
            part = slice(run[0], run[1] + 1)
            at = run[0] + int(np.argmax(np.abs(off[part])))
            side = "right" if off[at] < 0 else "left"
            size = f"{abs(off[at]):.0f} degrees" if abs(off[at]) < 10 else "full scale or more"
            what = f"{side} of the line by {size} for {run[2]:.0f} s."
            if never:
                what = f"never within half scale of {span.piece.course_deg:03.0f}; {what}"
            final = critical_s is not None
            if never and straight and not _parallel(view, part, float(span.piece.course_deg or 0.0)):
                # A moment between two turns tells nothing.
                longer = [one for one in straight if one[2] > view.rubric.established_s] or straight
                part_of = max(longer, key=lambda one: float(np.abs(off[one[0] : one[1] + 1]).max()))
            error, cause = (63, _ANOTHER) if said and final else why_off(view, span, part_of, off)
            if error == 63 and (flown := _radial_flown(view, span, run)) is not None:
                what = f"{flown}; {what}"
            out_s = run[2]
            if never:  # within three quarters and never steady on the line is a matter of points
                out_s = carried_s + float((np.abs(off) > limit + view.unsure_deg)[part].sum() * seen.step_s)
            critical = critical_s is not None and not said and out_s > critical_s
            if critical_s is None and not said:
                critical = _unprotected(view, row, span, part) or _down_beside(view, span, run, off)
            worst = abs(float(off[at]))
            left = not said and out_s >= min(run[2], view.rubric.prompt_s)
            findings.append(
                view.finding(row, run, worst, "deg", what, cause=cause, error=error, critical=critical, beyond=left)
            )
    if not judged_any:
        return not_judged(row, "No such leg was flown far enough from the station to tell.")
    return view.judged(row, worst_by_part(findings), worst=f"{worst_deg:.0f}", miles=f"{miles:.0f}")


def _radial_flown(view: View, span: Span, run: Run) -> str | None:
    """Which radial was flown instead of the published one, in words; None where it was no single one."""
    for first in (run[0], _settled(view, run)):  # what led up to it is no part of a line that was then held
        part = view.numbers[first : run[1] + 1][view.readable[first : run[1] + 1]]
        if not len(part):
            return None
        middle = mean_deg(view.seen.radial_deg[part])
        off = apart(view.seen.radial_deg[part], middle)
        if float(np.ptp(np.percentile(off, [15, 85]))) <= _ONE_RADIAL_DEG:
            break
    else:
        return None
    flown = (middle + float(np.median(off))) % 360.0
    course = float(span.piece.course_deg or 0.0)
    published = course if abs(float(apart(flown, course))) < 90.0 else (course + 180.0) % 360.0
    if round(flown) % 360 == round(published) % 360:
        return None
    return f"radial {round(flown) % 360 or 360:03d} was flown where {round(published) % 360 or 360:03d} is published"


def _with_turns(view: View, span: Span, run: Run, judged: Mask, off: Floats, limit_deg: float) -> Run:
    """A run with the turns on the way out and back in: what was outside before and after one was outside in it."""
    here = np.flatnonzero(judged)
    outside = view.inside(span) & ~view.near & (np.abs(off) > limit_deg + view.unsure_deg)
    outside &= (view.numbers >= here[0]) & (view.numbers <= here[-1]) if len(here) else False
    outside[run[0] : run[1] + 1] = True
    wide = next(each for each in view.runs(outside) if each[0] <= run[0] <= each[1])
    return wide if wide[2] > run[2] else run


def _out_to_the_turn(view: View, span: Span) -> Mask:
    """What follows a timed leg, straight on to where the turn off it begins: that way is of the leg."""
    out = np.zeros(len(view.seen), dtype=bool)
    following = next((one for one in view.spans(kind="procedure turn") if one.first == span.last + 1), None)
    off = np.abs(apart(view.seen.track_deg, float(span.piece.course_deg or 0.0)))
    left = np.flatnonzero((view.numbers > span.last) & (off > _OUT_DEG))
    if following is None or not len(left):
        return out
    at = int(left[0])
    while at > span.last and view.turning[at]:
        at -= 1
    out[span.last + 1 : min(at, following.last) + 1] = True
    return out & view.readable


def _closing(off: Floats) -> bool:
    """Whether a needle that was out is on its way in."""
    return bool(abs(off[-1]) < _CLOSING_SHARE * abs(off[0]))


def _unprotected(view: View, row: Row, span: Span, part: slice) -> bool:
    """Whether a leg was flown beyond what is protected on either side of it, and not on the way back to it."""
    seen = view.seen
    if span.piece.leg is None:  # a passage flown alone is no segment of anything
        return False
    across = along_across(seen, view.procedure, float(span.piece.course_deg or 0.0))[1][part]
    back = np.gradient(across, seen.time_s[part]) * np.sign(across) < 0.0 if len(across) > 1 else across > np.inf
    return bool(((np.abs(across) > row.limit["primary_nm"]) & ~back).sum() * seen.step_s > _BEYOND_S)


def _down_beside(view: View, span: Span, run: Run, off: Floats) -> bool:
    """Whether the altitude of a leg, lower than that of the one before, was flown with its needle at the stop.

    What is promised on a line is promised on no other; a needle that comes back at once is put right.
    """
    leg, before = span.piece.leg, None
    for each in view.spans("initial", "intermediate"):
        if each.last < span.first and each.piece.leg is not None:
            before = each.piece.leg
    if leg is None or before is None or leg.minimum_ft is None or before.minimum_ft is None:
        return False
    held_ft = view.floor_today_ft(before)
    if run[2] < view.rubric.prompt_s or view.floor_today_ft(leg) >= held_ft:
        return False
    part = slice(run[0], run[1] + 1)
    low = view.seen.alt_ft[part] < held_ft - np.maximum(view.tell_at_ft[part], _BELOW_FT)
    stopped = np.abs(off[part]) > _PLAINLY * vor.FULL_SCALE_DEG + view.unsure_deg[part]
    return bool((low & stopped & ~view.near[part]).sum() * view.seen.step_s > _BEYOND_S)


def _joined(spans: list[Span]) -> list[Span]:
    """Legs that follow one another on one line as one: a fix on it is no beginning of anything."""
    joined: list[Span] = []
    for span in spans:
        before = joined[-1] if joined else None
        if before is not None and before.last + 1 == span.first and before.piece.course_deg == span.piece.course_deg:
            joined[-1] = replace(before, last=span.last)
        else:
            joined.append(span)
    return joined


def _held_together(view: View, runs: list[Run], off: Floats, limit_deg: float) -> list[tuple[Run, Run]]:
    """First run and the whole of those between which the needle never came back: a turn or the cone ends nothing."""
    joined: list[tuple[Run, Run]] = []
    for run in runs:
        if joined:
            first, whole = joined[-1]
            between, side = slice(whole[1] + 1, run[0]), float(np.sign(off[run[0]]))
            stayed = (side * off[between] > 0.5 * limit_deg) | view.near[between]
            one = view.seen.stretch[whole[1]] == view.seen.stretch[run[0]] and np.sign(off[whole[1]]) == side
            if one and stayed.all():
                joined[-1] = first, (whole[0], run[1], whole[2] + run[2])
                continue
        joined.append((run, run))
    return joined


def _both_sides(off: Floats, here: Mask, least_deg: float) -> bool:
    """Whether the needle swung to both sides of the centre."""
    return bool((off[here] > least_deg).any() and (off[here] < -least_deg).any())


def snaking(view: View, row: Row, span: Span, *, wild: bool = False) -> Finding | None:
    """Large cuts from one side of the line to the other, though the needle may have stayed within its tolerance.

    ``wild``: it left it on both sides, and no cut was for meeting the line.
    """
    seen, part = view.seen, span.slice
    if span.last <= span.first:
        return None
    if wild:  # the turn at the station, or on to the line, is none of them
        away = np.flatnonzero(~view.near[part])
        part = slice(part.start + int(away[0]), part.start + int(away[-1]) + 1) if len(away) else part
    none_to_meet = wild or (row.segment == "final" and _begins_on(view, span))
    found = _cuts(view, part, row.limit["cut_deg"]) - (0 if none_to_meet else _MEETING)
    found = max(found, _through_cuts(view, span))
    if found < (_MEETING if wild else _WEAVES):
        return None
    swing = float(np.ptp(np.percentile(apart(seen.heading_deg[part], float(span.piece.course_deg or 0.0)), [5, 95])))
    if swing > _NO_CUT_DEG:  # round, or back: another row's matter
        return None
    off = view.off_deg(float(span.piece.course_deg or 0.0))
    wide = (
        swing >= _SNAKING_DEG
        or found >= _MANY
        or _both_sides(off, view.inside(span) & view.readable, row.limit["weave_deg"])
    )
    if not wild and not wide:  # a needle that hardly moves, and a nose that does no more for it, is nothing
        return None
    run = (span.first, span.last, float(seen.time_s[span.last] - seen.time_s[span.first]))
    what = f"{found} cuts from side to side through {swing:.0f} degrees, for {run[2]:.0f} s."
    near = float(np.median(seen.ground_nm[part])) < _CLOSE_IN_NM
    found_it = view.finding(row, run, swing, "deg", what, error=15 if near else 19, critical=False)
    return replace(found_it, failed=True)


def _through_cuts(view: View, span: Span) -> int:
    """Cuts to either side of the course in turn, each as large as one that meets a line, once it was met; or 0.

    Who comes in on a cut may have one more to come back on; the third is no meeting of anything.
    """
    course = float(span.piece.course_deg or 0.0)
    away = view.inside(span) & ~view.near
    met = np.flatnonzero(away & (np.abs(view.off_deg(course)) <= view.rubric.established_deg))
    if not len(met):
        return 0
    part = view.numbers[met[0] : span.last + 1][away[met[0] : span.last + 1]]
    nose = apart(view.seen.heading_deg[part], course)
    nose = nose - float(np.median(nose))
    kept = np.flatnonzero(np.abs(nose) <= _MEETING_DEG)
    nose = nose[: kept[-1] + 1] if len(kept) else nose[:0]  # the turn that ends the leg is no cut
    sides = np.sign(nose[np.abs(nose) > _MEETING_DEG])
    cuts = 1 + int((np.diff(sides) != 0).sum()) if len(sides) else 0
    return cuts if cuts >= _WEAVES else 0


def _begins_on(view: View, span: Span) -> bool:
    """Whether a leg was begun on its line and along it: no cut on it is for meeting the line."""
    course = float(span.piece.course_deg or 0.0)
    first = np.flatnonzero(view.inside(span) & ~view.near)[: view.samples(_BEYOND_S)]
    if not len(first):
        return False
    held = np.abs(view.off_deg(course)[first]) < view.rubric.established_deg / 2
    return bool((held & (np.abs(apart(view.seen.track_deg[first], course)) < _LEFT_DEG)).all())


def _accepted(view: View, row: Row, judged: Mask, usable: Mask, off: Floats) -> list[Run]:
    """Within the tolerance, and off to one side for so long that it was accepted."""
    runs = _course_before(view, usable)
    for side in (1.0, -1.0):
        runs += view.runs(judged & (side * off > row.limit["say_deg"] + view.unsure_deg), row.limit["say_s"])
    return sorted(runs)[:1]


def _course_before(view: View, usable: Mask) -> list[Run]:
    """The course of the leg before flown on past the station where a new one of a few degrees begins."""
    on = np.flatnonzero(usable)
    pieces = view.split.pieces
    number = int(view.split.at[on[0]]) if len(on) else 0
    own, before = pieces[number].course_deg, pieces[number - 1].course_deg
    if number == 0 or own is None or before is None:
        return []
    change = abs(float(apart(before, own)))
    if not _FEW_DEG[0] <= change <= _FEW_DEG[1]:
        return []
    nearer = np.abs(apart(view.seen.radial_deg, before)) + view.unsure_deg < change / 2.0
    return view.runs(usable & nearer, _BEFORE_S)[:1]


def why_off(view: View, span: Span, run: Run, off: Floats) -> tuple[int, str]:
    """Likely cause of a needle that left; where the wind was worked out from the track alone, what it cannot tell."""
    error, cause = _why_off(view, span, run, off)
    if error == 63 and _wandered(view, span, run, off):
        return 7, _WANDERED
    if error == 63 and (_was_held(view, span, run, off) or _sliding(view, span, run, off)):
        part = slice(_settled(view, run), run[1] + 1)
        by_wind = _by_wind(view, span, part, None) if _steady_deg(view, part, off)[0] is None else None
        return by_wind or (7, _SLID)
    worked_out = view.wind is not None and not view.wind.layers and "heading_deg" not in view.seen.recorded
    if (error, cause) == (10, _NO_DRIFT) and worked_out:
        cause = f"{_EITHER[:-1]}: tell the wind, if you know it)"
    return error, cause


def _wandered(view: View, span: Span, run: Run, off: Floats) -> bool:
    """Whether the line itself was held before, and come back to on the same leg: nobody meant another one."""
    usable = view.inside(span) & view.readable
    course = float(span.piece.course_deg or 0.0)
    before = usable & (view.numbers < run[0]) & (np.abs(off) < view.rubric.established_deg)
    before &= np.abs(apart(view.seen.track_deg, course)) < _PARALLEL_DEG  # crossed is not held
    if before.sum() * view.seen.step_s < view.rubric.prompt_s:
        return False
    side = float(np.sign(np.median(off[run[0] : run[1] + 1])))
    peak = run[0] + int(np.argmax(side * off[run[0] : run[1] + 1]))
    after = usable & (view.numbers > peak)
    return bool(after.any() and float((side * off[after]).min()) < _BACK_SHARE * side * float(off[peak]))


def _was_held(view: View, span: Span, run: Run, off: Floats) -> bool:
    """Whether a leg inbound was tracked on its own line for long before it was left: no other one was set there."""
    seen, course = view.seen, float(span.piece.course_deg or 0.0)
    if seen.ground_nm[run[1]] > seen.ground_nm[run[0]]:  # near the station every radial is near every other
        return False
    before = view.inside(span) & view.readable & (view.numbers < run[0])
    held = before & (np.abs(off) < _KEPT_DEG) & (np.abs(apart(seen.track_deg, course)) < _PARALLEL_DEG)
    return bool(held.sum() * seen.step_s >= _STEADY_S)


def _sliding(view: View, span: Span, run: Run, off: Floats) -> bool:
    """Whether a line was held well before and left farther and farther to the end: another one is held at last."""
    seen, usable = view.seen, view.inside(span) & view.readable
    before = usable & (view.numbers < run[0]) & (np.abs(off) < _KEPT_DEG)
    if before.sum() * seen.step_s < view.rubric.prompt_s:
        return False
    ending = np.flatnonzero(usable & (view.numbers <= run[1]) & (seen.time_s > seen.time_s[run[1]] - _ENDING_S))
    return len(ending) > 1 and abs(float(off[ending[-1]])) - abs(float(off[ending[0]])) > _STILL_LEAVES_DEG


def _why_off(view: View, span: Span, run: Run, off: Floats) -> tuple[int, str]:
    """Likely cause of a needle that left: number of the common error, and a few words more."""
    seen, course = view.seen, float(span.piece.course_deg or 0.0)
    right = view.set_course(course, 3.0)
    before = max(span.first, run[0] - view.samples(30))
    part = slice(before, run[1] + 1)
    if right is not None and not right[part].any():
        return 9, "another course stood on the selector"
    if _cuts(view, part) >= _WEAVES:
        near = float(np.median(seen.ground_nm[part])) < _CLOSE_IN_NM
        return (15, "") if near else (19, "")
    if (homed := _homed(view, run, off)) is not None:
        return homed
    led = slice(max(span.first, run[0] - view.samples(_LONG_S)), min(run[1], run[0] + view.samples(_STEADY_S)) + 1)
    if (left := _turned_off(view, span, run, off)) is not None:
        return left
    if course_as_heading(view, led, course):
        return 10, _NO_DRIFT
    if _to_the_station(view, span, run, off) or _through_the_station(view, span, run, off):
        return 63, _ANOTHER
    if _beside_from_the_start(view, span, run, off):
        return 18, "flown parallel to the line, beside it, and never cut back to it"
    if course_as_heading(view, slice(run[0], run[1] + 1), course):
        return 10, _NO_DRIFT
    habit = _habit(view) if _asked_here(view, part) else None
    steady, away = _steady_deg(view, part, off)
    if steady is None:  # what led up to it is no part of a line that was then held
        steady, away = _steady_deg(view, slice(_settled(view, run), run[1] + 1), off)
    if habit is not None and not (steady is not None and away and _met_beside(view, run, off)):
        return habit
    if steady is not None and (not away or _met_beside(view, run, off)):
        return 63, _ANOTHER
    if steady is None and _cut_away(view, part, course):
        if _came_back(view, span, run, off):
            return _let_go(view, span, run, off) or (18, _CUT)
        return 63, f"{_ANOTHER}: the heading was far more off the course than any wind asked for"
    if steady is None and _away_upwind(view, span, run, off):
        mirrored = "corrected away from the needle, as with its sense taken the wrong way round"
        return _let_go(view, span, run, off) or (18, mirrored)
    by_wind = _by_wind(view, span, part, steady)
    if by_wind is not None and not _upwind(view, run, off):
        return by_wind
    if steady is not None and not view.nose_known and abs(steady) < _MOST_DRIFT_DEG:
        return 63, f"{_ANOTHER}, or drift not corrected, or to the wrong side (the recording cannot tell which)"
    if steady is not None:
        return 63, _ANOTHER
    if _parallel(view, part, course):
        return 18, "flown parallel to the line, beside it, and never cut back to it"
    across = along_across(seen, view.procedure, course)[1]
    if trend(seen.time_s[part], across[part]) * across[run[0]] > 0:
        if span.piece.leg is not None and _calm(view, part):  # no wind did it
            if not _came_back(view, span, run, off):
                return 63, _ANOTHER
            return _let_go(view, span, run, off) or (18, _CUT)
        if not view.nose_known:
            return 10, "too little drift correction, or to the wrong side (the recording cannot tell which)"
        return 10, "the correction did not follow the wind"
    return 7, "corrected too late or too little"


def _let_go(view: View, span: Span, run: Run, off: Floats) -> tuple[int, str] | None:
    """A line left through its centre on a heading away from it: no needle was taken the wrong way; else None."""
    seen, course = view.seen, float(span.piece.course_deg or 0.0)
    before = view.inside(span) & (view.numbers < run[0]) & ~view.near
    along = np.flatnonzero(before & (np.abs(apart(seen.track_deg, course)) < _PARALLEL_DEG))
    if not len(along) or abs(float(off[along[-1]])) > view.rubric.established_deg:
        return None
    side = float(np.sign(np.median(off[run[0] : run[1] + 1])))
    if side * float(off[along[-1]]) > _KEPT_DEG:  # it was off to that side already, for all to see
        return None
    return 7, _LED_OFF


def _turned_off(view: View, span: Span, run: Run, off: Floats) -> tuple[int, str] | None:
    """A line that was held with its wind laid off, and then left on a turn away from it: no wind did that; else None.

    On the final, to the stop of the needle and on, that it was flown on with is the matter.
    """
    if not view.nose_known:
        return None
    seen, course = view.seen, float(span.piece.course_deg or 0.0)
    before = view.inside(span) & view.readable & (view.numbers < run[0])
    held = before & (np.abs(off) < _KEPT_DEG) & (np.abs(apart(seen.track_deg, course)) < _MET_DEG)
    if held.sum() * seen.step_s < _STEADY_S:
        return None
    last = int(np.flatnonzero(held)[-1])
    drift = float(np.median(apart(seen.track_deg[held], seen.heading_deg[held])))
    if abs(drift) < DRIFT_DEG or seen.time_s[run[0]] - seen.time_s[last] > _LONG_S:
        return None
    led = slice(last, run[1] + 1)
    straight = view.readable[led]
    if straight.sum() * seen.step_s < _STEADY_S / 2:
        return None
    nose_before = float(np.median(apart(seen.heading_deg[held], course)))
    nose = float(np.median(apart(seen.heading_deg[led][straight], course)))
    if abs(nose - nose_before) < _TURNED_OFF_DEG:
        return None
    stopped = span.piece.segment == "final" and float(np.abs(off[run[0] : run[1] + 1]).max()) > vor.FULL_SCALE_DEG
    return (72, f"{_LED_OFF}, and flown on with it there") if stopped else (7, _LED_OFF)


def _came_back(view: View, span: Span, run: Run, off: Floats) -> bool:
    """Whether a line that was left was taken up again on the same leg: then no other one was meant."""
    on = view.inside(span) & view.readable & (np.abs(off) <= view.rubric.established_deg)
    before, held = on & (view.numbers < run[0]), on & (view.numbers > run[1])
    return bool(min(held.sum(), before.sum()) * view.seen.step_s >= view.rubric.established_s)


def _calm(view: View, part: slice) -> bool:
    """Whether there was no drift to speak of on a stretch, as far as is known."""
    straight = view.readable[part]
    if not view.nose_known or not straight.any():
        return False
    drift = apart(view.seen.track_deg[part], view.seen.heading_deg[part])[straight]
    return bool(abs(float(np.median(drift))) < DRIFT_DEG)


def _upwind(view: View, run: Run, off: Floats) -> bool:
    """Whether a line was left towards the side the wind comes from: no want of correction leads there."""
    seen, part = view.seen, slice(run[0], run[1] + 1)
    straight = view.readable[part]
    if not view.nose_known or not straight.any():
        return False
    drift = float(np.median(apart(seen.track_deg[part], seen.heading_deg[part])[straight]))
    return abs(drift) >= DRIFT_DEG and drift * float(np.median(off[part][straight])) > 0


def _away_upwind(view: View, span: Span, run: Run, off: Floats) -> bool:
    """Whether a line was left on a cut held away from it, towards the side the wind comes from: no wind does that."""
    if not view.nose_known:
        return False
    seen, course = view.seen, float(span.piece.course_deg or 0.0)
    met = view.inside(span) & (view.numbers < run[0]) & ~view.near
    if not (met & (np.abs(off) < view.rubric.established_deg)).any():  # what was not met was not left
        return False
    lead = (view.numbers >= max(span.first, run[0] - view.samples(_LONG_S))) & (view.numbers <= run[1])
    across = along_across(seen, view.procedure, course)[1]
    side = float(np.sign(across[run[0]]))
    drift = side * apart(seen.track_deg, seen.heading_deg)
    cut = lead & view.readable & (side * apart(seen.track_deg, course) > _PARALLEL_DEG) & (drift < -float(DRIFT_DEG))
    return bool(cut.sum() * seen.step_s >= _SETTLED_S / 2)


def _beside_from_the_start(view: View, span: Span, run: Run, off: Floats) -> bool:
    """Whether a line was never met, and flown parallel to at one distance for long: no wind does that."""
    seen, course = view.seen, float(span.piece.course_deg or 0.0)
    here = np.zeros(len(seen), dtype=bool)
    here[span.first : run[1] + 1] = True
    here &= view.readable
    before = here & (view.numbers < run[0]) & (np.abs(apart(seen.track_deg, course)) < _ACROSS_DEG)
    if (np.abs(off[before]) <= view.rubric.established_deg).any():
        return False
    beside = here & (np.abs(off) > vor.FULL_SCALE_DEG) & (np.abs(apart(seen.track_deg, course)) < _PARALLEL_DEG)
    if beside.sum() * seen.step_s < _SETTLED_S:
        return False
    beside_nm = np.abs(along_across(seen, view.procedure, course)[1][beside])
    spread_nm, spread_to_nm = (
        float(np.ptp(np.percentile(each, [10, 90])) / np.median(each)) for each in (beside_nm, seen.ground_nm[beside])
    )
    return spread_nm < _STILL * spread_to_nm


def _to_the_station(view: View, span: Span, run: Run, off: Floats) -> bool:
    """Whether the leg ended straight to the station on one bearing, beside its own: a needle that drifts moves."""
    seen, usable = view.seen, view.readable
    if span.piece.segment == "final":  # lower, the way leads to the runway
        usable = usable & (seen.alt_ft > view.mda_ft - view.tell_ft)
    here = view.numbers[run[0] : span.last + 1][usable[run[0] : span.last + 1]]
    if len(here) < 3:
        return False
    ended = float(np.median(off[here[-max(3, view.samples(10.0)) :]]))
    other = np.flatnonzero(np.abs(off[here] - ended) > _ONE_BEARING_DEG + view.unsure_deg[here])
    part = here[int(other[-1]) + 1 :] if len(other) else here
    if len(part) < 3 or seen.time_s[part[-1]] - seen.time_s[part[0]] < _STEADY_S:
        return False
    dist = seen.ground_nm[part]
    # Beside the line and parallel to it the needle would move by so much on the way in.
    parallel_deg = abs(ended) * float(dist[0] / dist[-1] - 1.0)
    moved = float(np.ptp(np.percentile(off[part], [10, 90])))
    return bool(dist[-1] < dist[0] and abs(ended) > view.rubric.established_deg and moved < _STILL * parallel_deg)


def _homed(view: View, run: Run, off: Floats) -> tuple[int, str] | None:
    """The nose on the station all the way while the wind carried off the line; None where it was not so."""
    seen, part = view.seen, np.arange(max(run[0] - view.samples(_LONG_S), 0), run[1] + 1)
    part = part[view.readable[part] & (np.abs(off[part]) > _HOMED_DEG[0])]
    if (
        not view.nose_known
        or len(part) * seen.step_s < _STEADY_S
        or seen.ground_nm[part[-1]] > seen.ground_nm[part[0]]
    ):
        return None
    drift = float(np.median(apart(seen.track_deg[part], seen.heading_deg[part])))
    to_it = np.abs(apart(seen.heading_deg[part], seen.radial_deg[part] + 180.0))
    moved = abs(float(off[part[-1]] - off[part[0]]))
    if abs(drift) < DRIFT_DEG or moved < _HOMED_DEG[0] or float((to_it < _HOMED_DEG[1]).mean()) < _HOMED_SHARE:
        return None
    return 7, "homing: the nose on the station, and the wind carried off the line"


def _through_the_station(view: View, span: Span, run: Run, off: Floats) -> bool:
    """Whether one line that is not the leg's was flown to the station and away from it again.

    It lies to the left on one side and to the right on the other; what the wind does lies to one side.
    """
    before = [each for each in view.spans() if each.last < span.first and each.piece.course_deg is not None]
    course = float(span.piece.course_deg or 0.0)
    if not before or abs(float(apart(before[-1].piece.course_deg or 0.0, course))) > _STEADY_DEG:
        return False
    usable = view.readable
    there = view.off_deg(float(before[-1].piece.course_deg or 0.0))[before[-1].slice][usable[before[-1].slice]]
    here = off[run[0] : run[1] + 1][usable[run[0] : run[1] + 1]]
    if min(len(there), len(here)) * view.seen.step_s < _STEADY_S:
        return False
    to, away = float(np.median(there)), float(np.median(here))
    return to * away < 0 and min(abs(to), abs(away)) > _PARALLEL_DEG / 2 and abs(to + away) < _PARALLEL_DEG / 2


def course_as_heading(view: View, part: slice, course_deg: float) -> bool:
    """Whether the course stood under the nose for long, wherever the needle was: nobody corrected anything."""
    straight = view.readable[part]
    if not view.nose_known or straight.sum() * view.seen.step_s < _LONG_S:
        return False
    nose = apart(view.seen.heading_deg[part], course_deg)[straight]
    drift = float(np.median(apart(view.seen.track_deg[part], view.seen.heading_deg[part])[straight]))
    held = float(np.ptp(np.percentile(nose, [10, 90]))) < _AS_COURSE_DEG
    return bool(held and abs(drift) >= DRIFT_DEG and abs(float(np.median(nose))) < _AS_COURSE_SHARE * abs(drift))


def cut_to_arc(view: View, span: Span) -> int | None:
    """Sample where a leg to an arc was left, miles short of it, on a heading held to the arc; or None."""
    following = next((each for each in view.spans(kind="arc") if each.first > span.last), None)
    if span.piece.segment != "initial" or following is None or following.first - span.last > view.samples(_BEFORE_S):
        return None
    seen, course = view.seen, float(span.piece.course_deg or 0.0)
    tangent = float(seen.radial_deg[span.last]) + 90.0 * following.piece.side
    turned = float(np.sign(apart(tangent, course))) * apart(seen.track_deg, course) > _LEFT_DEG
    at = following.first
    while at > span.first and turned[at - 1]:
        at -= 1
    straight = ~view.turning[at : following.first]
    short_nm = abs(float(seen.ground_nm[at]) - following.piece.arc_nm)
    short = bool(straight.sum() * seen.step_s > _STEADY_S and short_nm > _NO_LEAD_NM + seen.position_nm)
    return at if short else None


def _met_beside(view: View, run: Run, off: Floats) -> bool:
    """Whether the line held beside the published one was met on a cut: drift alone makes one straight line."""
    seen, held = view.seen, slice(_settled(view, run), run[1] + 1)
    before = slice(max(run[0] - view.samples(_CUT_BEFORE_S), 0), _settled(view, run))
    usable = view.readable
    if usable[held].sum() * seen.step_s < _STEADY_S or usable[before].sum() * seen.step_s < _MET_S:
        return False
    cut = apart(seen.track_deg[before], mean_deg(seen.track_deg[held][usable[held]]))[usable[before]]
    away = -float(np.sign(np.median(off[held])))  # outbound a needle to the right is a line left on the left
    came = np.maximum(cut * away, -cut * away if _stopped_short(off[held]) else 0.0)
    return bool((came > _MET_DEG).sum() * seen.step_s >= _MET_S)


def _stopped_short(off: Floats) -> bool:
    """Whether a line was held at full scale or more: who cuts back to the published one does not stop there."""
    return bool(np.abs(np.median(off)) > vor.FULL_SCALE_DEG)


def _cut_away(view: View, part: slice, course_deg: float) -> bool:
    """Whether a heading far more off the course than the drift was held, away from the line and for long."""
    seen, straight = view.seen, view.readable[part]
    if not view.nose_known or straight.sum() * seen.step_s < _LONG_S:
        return False
    nose = apart(seen.heading_deg[part], course_deg)[straight]
    drift = float(np.median(apart(seen.track_deg[part], seen.heading_deg[part])[straight]))
    across = along_across(seen, view.procedure, course_deg)[1][part][straight]
    over = float(np.median(nose)) + drift
    away = over * (float(across[-1]) - float(across[0])) > 0
    held = float(np.ptp(np.percentile(nose, [15, 85]))) < _HELD_HEADING_DEG
    return bool(away and held and abs(over) > _PARALLEL_DEG and abs(over) > _LEE_MOST * abs(drift))


def _parallel(view: View, part: slice, course_deg: float) -> bool:
    """Whether a stretch was flown along the course for long, with the needle of its line at the stop."""
    seen = view.seen
    along = np.abs(apart(seen.track_deg[part], course_deg)) < _PARALLEL_DEG
    lost = np.abs(apart(seen.radial_deg[part], course_deg)) > vor.FULL_SCALE_DEG
    lost &= np.abs(apart(seen.radial_deg[part], course_deg + 180.0)) > vor.FULL_SCALE_DEG
    return float((along & lost).sum()) * seen.step_s > _SETTLED_S


def _settled(view: View, run: Run) -> int:
    """Sample a third of the way into a run."""
    return run[0] + (run[1] - run[0]) // 3


def _steady_deg(view: View, part: slice, off: Floats) -> tuple[float | None, bool]:
    """Offset in degrees that stayed the same while the distance changed (None if it did not), and whether outbound.

    Inbound that is another radial and nothing else; straight out from the station it may as well be drift.
    """
    straight = view.readable[part]
    if straight.sum() * view.seen.step_s < _STEADY_S:
        return None, False
    values, dist = off[part][straight], view.seen.ground_nm[part][straight]
    spread = float(np.ptp(np.percentile(values, [10, 90])))
    middle = float(np.median(values))
    if spread > _STEADY_DEG or abs(middle) < 3.0 or dist.max() < 1.2 * dist.min():
        return None, False
    return middle, bool(dist[-1] > dist[0])


def _by_wind(view: View, span: Span, part: slice, steady: float | None) -> tuple[int, str] | None:
    """What the wind correction on this leg, or on the whole flight, says of the needle; None: nothing."""
    seen, course = view.seen, float(span.piece.course_deg or 0.0)
    if not view.nose_known:
        return None
    straight = ~view.turning[part]
    if straight.any():
        nose = float(np.median(apart(seen.heading_deg[part][straight], course)))
        drift = float(np.median(apart(seen.track_deg[part][straight], seen.heading_deg[part][straight])))
        if steady is None and nose * drift > 0 and min(abs(nose), abs(drift)) >= _LEE_DEG:
            mirrored = abs(nose - drift) <= _MIRRORED_SHARE * abs(drift) + 1.0
            if mirrored:
                return 8, _LEE
        if abs(drift) >= DRIFT_DEG:
            # Downwind by as much as it should be upwind: on a radial that is held it is another radial instead.
            mirrored = abs(nose - drift) <= _MIRRORED_SHARE * abs(drift) + 1.0
            # Downwind by many times the drift is no correction at all, but another line or another heading.
            # A heading that is worked out is as good as the wind it rests on.
            least = 0.3 if "heading_deg" in seen.recorded else 1.0 - _MIRRORED_SHARE
            lee = max(2.0, least * abs(drift)) <= abs(nose) <= _LEE_MOST * abs(drift) + _STEADY_DEG
            if nose * drift > 0 and (mirrored or (steady is None and lee)):
                return 8, _LEE
            if steady is None and nose * drift > max(2.0, 0.3 * abs(drift)) * abs(drift) and abs(nose) < abs(drift):
                return 10, _EITHER
            if abs(nose) < (_ENOUGH if steady is None else 0.3) * abs(drift) and abs(nose + drift) > 0.4 * abs(drift):
                return 10, _NO_DRIFT
    return None


def _habit(view: View) -> tuple[int, str] | None:
    """What the wind correction says of the flight as a whole, where several legs say it; None: nothing."""
    long = [span for span in _lines(view) if view.seen.time_s[span.last] - view.seen.time_s[span.first] > _LONG_S]
    if len(long) < _SEVERAL:
        return None
    share, unsure, asked = wind_share(view)
    if share is None or asked < DRIFT_DEG or share + unsure >= _ENOUGH:
        return None
    return (8, _LEE) if share < _LEE_SHARE else (10, _NO_DRIFT)


def _asked_here(view: View, part: slice) -> bool:
    """Whether the wind of a stretch asked for a correction: where it did not, no habit of it explains anything."""
    straight = view.readable[part]
    if not view.nose_known or not straight.any():
        return True
    drift = apart(view.seen.track_deg[part], view.seen.heading_deg[part])[straight]
    return abs(float(np.median(drift))) >= DRIFT_DEG


def _cuts(view: View, part: slice, least_deg: float = _WEAVE_DEG) -> int:
    """How often the heading swung from one side to the other by a cut of so much or more."""
    heading = np.rad2deg(np.unwrap(np.deg2rad(view.seen.heading_deg[part])))
    if not len(heading):
        return 0
    count, high, low, side = 0, heading[0], heading[0], 0
    for value in heading:
        high, low = max(high, value), min(low, value)
        if side >= 0 and high - value > least_deg:
            count, side, low, high = count + 1, -1, value, value
        elif side <= 0 and value - low > least_deg:
            count, side, low, high = count + 1, 1, value, value
    return count


def wind(view: View, row: Row) -> Judgement:
    """How much of the wind correction was flown, on all radial legs together."""
    if not view.nose_known:
        return not_judged(row, "The recording holds no heading, and none could be worked out.")
    share, unsure, asked = wind_share(view)
    wanted = row.limit["share_percent"] / 100.0
    if share is None or asked < row.limit["asked_deg"] or abs(share - wanted) <= unsure:
        return not_judged(row, "There was too little wind across, or too little straight flight, to tell.")
    if share < wanted and "heading_deg" not in view.seen.recorded and _needle_off_deg(view) < _KEPT_DEG:
        return not_judged(row, "The needle was kept, whatever was laid off.")
    percent = f"{min(max(share, 0.0), 1.0):.0%}"
    if share >= wanted:
        return view.judged(row, [], share=percent, asked=f"{asked:.0f}")
    span, need, flown_share = _where_most(view)
    if share < _LEE_SHARE and flown_share >= wanted:  # the nose stood to the wind there
        return not_judged(row, "Where the wind asked for most, it was laid off.")
    run = (span.first, span.last, float(view.seen.time_s[span.last] - view.seen.time_s[span.first]))
    lee = share < _LEE_SHARE
    flown = "it was laid off on the wrong side" if lee else f"{percent} of it was flown"
    what = f"the wind asked for {need:.0f} degrees; {flown}."
    error = 8 if lee else 10
    return view.judged(
        row, [view.finding(row, run, need, "deg", what, cause=_LEE if lee else _NO_DRIFT, error=error)]
    )


def _needle_off_deg(view: View) -> float:
    """How far off the needle was on all radial legs, as a rule: one turn made late is no habit. [deg]"""
    found = []
    for span in _lines(view):
        off = view.off_deg(float(span.piece.course_deg or 0.0))
        found.append(np.abs(off[view.inside(span) & view.readable & (np.abs(off) < 9.5)]))
    every = np.concatenate(found) if found else np.empty(0)
    return float(np.median(every)) if len(every) else 0.0


def _lines(view: View) -> list[Span]:
    """Spans flown along a radial."""
    return [span for span in view.spans("initial", "intermediate", "final") if span.piece.kind in ("radial", "timed")]


def _where_most(view: View) -> tuple[Span, float, float]:
    """Radial leg on which the wind asked for most, how much, and the share of it that the nose lay off there."""
    legs = []
    for span in _lines(view):
        usable = view.inside(span) & view.readable
        if usable.sum() * view.seen.step_s > 20.0:
            drift = apart(view.seen.track_deg, view.seen.heading_deg)[usable]
            nose = apart(view.seen.heading_deg, float(span.piece.course_deg or 0.0))[usable]
            middle = float(np.median(drift))
            legs.append((abs(middle), span.first, span, -float(np.median(nose)) / (middle or 1.0)))
    most, _, span, share = max(legs)
    return span, most, share


def wind_share(view: View) -> tuple[float | None, float, float]:
    """Part of the wind correction this pilot flew, how unsure that is, and how much the wind asked for in degrees.

    On all radial legs the nose off the course is taken as a share of the correction needed plus a gain
    times the needle, by least squares in which a centred needle weighs most: 1 is all of it, 0 none,
    -1 the wrong side. None without a recorded heading, or with too little wind or flight to tell.
    """
    seen = view.seen
    if not view.nose_known:
        return None, 0.0, 0.0
    noses, needs, needles = [], [], []
    for span in _lines(view):
        course = float(span.piece.course_deg or 0.0)
        off = np.asarray(vor.offset_deg(radial_deg=seen.radial_deg, selected_course_deg=course))
        usable = view.inside(span) & view.readable & (np.abs(off) < 9.5)
        usable &= np.abs(apart(seen.track_deg, course)) < 45.0
        if view.climb_at is not None:
            usable[view.climb_at :] = False
        nose = apart(seen.heading_deg, course)[usable]
        noses.append(nose)
        needs.append(-apart(seen.track_deg, seen.heading_deg)[usable] * np.cos(np.deg2rad(nose)))
        needles.append(off[usable])
    nose, need, needle_deg = (np.concatenate(parts) if parts else np.empty(0) for parts in (noses, needs, needles))
    if len(nose) * seen.step_s < 60.0:
        return None, 0.0, 0.0
    asked = float(np.sqrt(np.mean(need**2)))
    weight = 1.0 / (1.0 + (needle_deg / _CENTRED_DEG) ** 2) ** 2
    design = np.column_stack([need, needle_deg])
    normal = (design * weight[:, None]).T @ design
    if asked < 1.0 or np.linalg.cond(normal) > 1e8:
        return None, 0.0, asked
    found = np.linalg.solve(normal, (design * weight[:, None]).T @ nose)
    if "heading_deg" not in seen.recorded and not _GAINS[0] <= found[1] <= _GAINS[1]:
        return None, 0.0, asked  # one needle held off on one leg: its cut and the correction cannot be told apart
    scatter = float((weight * (nose - design @ found) ** 2).sum() / weight.sum())
    # Neighbouring samples say the same thing: one new word every _ALIKE_S.
    unsure = float(np.sqrt(np.linalg.inv(normal)[0, 0] * scatter * max(1.0, _ALIKE_S / seen.step_s)))
    return float(found[0]), unsure, asked
