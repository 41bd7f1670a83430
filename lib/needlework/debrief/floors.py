"""Judges of the lowest altitudes: before the final, on it, in the missed approach and in the hold."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from needlework.basis.quantity import Floats
from needlework.debrief import arcs
from needlework.debrief.evidence import View
from needlework.debrief.findings import Finding, Judgement, Mask, Run, apart, not_judged, worst_by_part, worst_only
from needlework.debrief.levels import settled_at
from needlework.debrief.pieces import Piece, departed
from needlework.debrief.rubric import Row
from needlework.debrief.segments import Span
from needlework.world.procedure_parts import Leg

_GRACE_NM = 0.1  # the last digit of a DME: "at the fix" is no finer than this
_GRACE_DEG = 1.0  # what a radial is good for
_CORNER_NM = 1.3  # around a fix where the procedure turns, either floor will do
_ALONG_DEG, _ROUND_DEG, _NEAR_ARC_NM = 40.0, 60.0, 4.0  # on the next leg, wherever it is flown
_OUTBOUND_DEG = 60.0
_SHORTEST_S = 2.0  # a single sample proves nothing
_SINKS_FT = 150.0  # lost on the way up: a sink, no waver
_HELD_S, _MOSTLY = 20.0, 0.8  # so long and so much of the worst: held, and no dip
_DESCENT_FPM, _STEEP_S, _DESCENT_S = 350.0, 8.0, 90.0  # so steep for so long, so lately: it was begun on purpose
_BEFORE_NM = 1.0  # nearer the station it is a matter of when the passage is called
_WENT_UP_FT = 50.0  # more than how exactly two altitudes are held
_NEXT_FT = 150.0  # so far above the next altitude it is another one
_PLAIN_FT = 100.0  # of cold added: less is how exactly somebody flies
_SHOWN_FT = 10.0  # half a graduation
_LEVEL_FPM, _LEVEL_S, _LEVEL_FT = 200.0, 60.0, 60.0  # level at another altitude
_SLIDES_FPM = 30.0  # on the whole of a long time: an altitude held badly, and no climb
_WAY_IN_NM, _AT_ENTRY_NM = 5.0, 1.5  # of the first fix: what was level there was meant for it
_GOES_ON_S = 30.0
_WAY_BACK_DEG = 110.0  # of the course inbound
_SLIP_FT = 250.0  # less may be lost unseen at any rate
_NEXT_ONE_FT = 75.0  # how exactly an altitude is held that was meant
_EARLY_FT = 60.0  # a climb that is left for less is a waver of the hand


def floors_ft(view: View) -> Floats:
    """Lowest altitude allowed at every sample before the minimums; nan where the procedure gives none."""
    floor = np.full(len(view.seen), np.nan)
    pieces = view.split.pieces
    for span in view.spans():
        leg = span.piece.leg
        if leg is None or leg.minimum_ft is None:
            continue
        own = view.floor_today_ft(leg)
        floor[span.slice] = own
        number = pieces.index(span.piece)
        following = pieces[number + 1] if number + 1 < len(pieces) else None
        if following is None or following.leg is None:
            continue
        minimum = following.leg.minimum_ft
        lower = view.mda_ft if minimum is None else view.floor_today_ft(following.leg)
        if lower < own:
            at_fix = _within_grace(view, span, following)
            floor[at_fix] = np.minimum(floor[at_fix], lower)
    if view.climb_at is not None:
        floor[view.climb_at :] = np.nan  # who climbs away does not go down any more
    return floor


def _within_grace(view: View, span: Span, following: Piece) -> Mask:
    """Samples of a span so near its end that the next floor may be taken already."""
    seen, here = view.seen, view.inside(span)
    leg = span.piece.leg
    assert leg is not None
    if leg.end is None:
        return np.zeros(len(seen), dtype=bool)
    away = view.away_nm(leg.end)
    sampled_nm = float(np.median(seen.gs_kt)) / 3600.0 * seen.step_s / 2 + seen.position_nm
    if following.kind == "arc":  # the arc may be met beside its beginning
        away = np.minimum(away, np.abs(seen.ground_nm - following.arc_nm))
    if span.piece.kind != following.kind:  # a turn: the fix is cut or overshot by the radius of it
        return np.asarray(here & ((away < _CORNER_NM) | _on_the_next(view, span, following)))
    if span.piece.kind == "arc":
        radial = view.procedure.fix(leg.end).radial_deg
        return np.asarray(here & (np.abs(apart(seen.radial_deg, radial)) <= _GRACE_DEG + view.unsure_deg))
    if leg.end == view.procedure.station.ident:  # overhead: the needle and the flag cannot tell the last of it
        height_nm = np.clip(seen.alt_ft - view.procedure.station.elevation_ft, 0.0, None) / 6076.0
        return np.asarray(here & (away < np.maximum(_GRACE_NM, height_nm) + sampled_nm))
    return np.asarray(here & (away < _GRACE_NM + sampled_nm))


def _on_the_next(view: View, span: Span, following: Piece) -> Mask:
    """Samples of a span that are flown as the next leg already, wherever it was met.

    Round the station where an arc follows, from the turn off the leg on: that it lies elsewhere than the published
    one is a fault of its own. On a line where one follows, with its needle within half scale.
    """
    seen = view.seen
    if following.kind == "arc":
        turned = view.inside(span) & (view.numbers > _last_on_leg(view, span))
        turned &= np.abs(seen.ground_nm - following.arc_nm) < _NEAR_ARC_NM
        along = np.abs(apart(seen.track_deg, seen.radial_deg + 90.0 * following.side)) < _ROUND_DEG
        return turned if (turned & along).any() else np.zeros(len(seen), dtype=bool)
    if following.kind != "radial" or following.course_deg is None:
        return np.zeros(len(seen), dtype=bool)
    on = np.abs(view.off_deg(following.course_deg)) <= view.rubric.established_deg + view.unsure_deg
    return np.asarray(on & (np.abs(apart(seen.track_deg, following.course_deg)) < _ALONG_DEG) & ~view.near)


def _last_on_leg(view: View, span: Span) -> int:
    """Last sample of a span that is flown along its own course."""
    course = span.piece.course_deg
    if course is None:
        return span.first
    along = np.flatnonzero(np.abs(apart(view.seen.track_deg[span.slice], course)) < _ALONG_DEG / 2)
    return span.first + int(along[-1]) if len(along) else span.first


def floor(view: View, row: Row) -> Judgement:
    """Nothing below the minimum of the segment: before the final fix the tolerance costs points, after it nothing."""
    floors = floors_ft(view)
    known = ~np.isnan(floors)
    if not known.any():
        return not_judged(row, "No segment with a floor was flown.")
    seen = view.seen
    short = np.where(known, floors - seen.alt_ft, -1e9)
    on_final = view.mask("final")
    read = seen.height.kind == "altimeter" and not seen.height.sentences
    findings = []
    for run in view.runs(view.noticed(short), _SHORTEST_S):
        part = slice(run[0], run[1] + 1)
        worst = run[0] + int(np.argmax(short[part]))
        allowed = 0.0 if on_final[worst] else row.limit["before_final_ft"]
        unsure_ft = float(view.notice_at_ft[worst] if allowed else view.tell_at_ft[worst])
        # Held so low for so long on an altimeter, the altitude found counts; elsewhere it may be the recording.
        if allowed and read and run[2] >= view.rubric.prompt_s:
            unsure_ft = min(unsure_ft, _SHOWN_FT + seen.alt_grain_ft)
        deep = float(short[worst]) > allowed + unsure_ft
        # Below the floor for certain, if not by how much; within the tolerance it must have lasted.
        least_ft = 0.0 if run[2] >= view.rubric.prompt_s else allowed
        told = float(short[worst]) > max(least_ft, row.limit["say_ft"] + unsure_ft)
        if not (deep or read or told):
            continue
        if not on_final[worst] and float(short[worst]) <= row.limit["say_ft"]:
            continue  # about the altitude: no altimeter tells so little there
        what = f"{short[worst]:.0f} ft below the floor of {floors[worst]:,.0f} ft for {run[2]:.0f} s. "
        if deep:
            what += "There the ground is not promised to be clear."
        elif float(short[worst]) > allowed:
            what += "Whether by more than the tolerance, this recording cannot tell; safe it is not."
        else:
            what += "Within the tolerance, and not safe there."
        error, cause = _why_low(view, worst)
        findings.append(
            view.finding(
                row, run, float(short[worst]), "ft", what, error=error, cause=cause, critical=deep, beyond=deep
            )
        )
    low = _low_before(view, row)
    if low is not None and not any(one.critical and one.start_s <= low.end_s + _GOES_ON_S for one in findings):
        findings.insert(0, low)  # else the leg itself was begun so low, and it is one event
    if not findings:
        perhaps = view.perhaps_low(short) & (on_final | (short + view.tell_at_ft > row.limit["say_ft"]))
        findings += view.unclear(row, perhaps, short, "the floor")
    margin = float(np.min(np.where(known, seen.alt_ft - floors, np.inf)))
    return view.judged(row, worst_by_part(findings), margin=f"{max(margin, 0.0):.0f}")


def _low_before(view: View, row: Row) -> Finding | None:
    """Level below the altitude at which the approach may begin, up to its first fix; None where it was not."""
    seen, entry = view.seen, next((way for way in view.procedure.entries if way.fix == view.split.entry), None)
    first = next((span for span in view.spans() if span.piece.leg is not None), None)
    span = next((each for each in view.spans("before") if first is not None and each.last + 1 == first.first), None)
    if entry is None or span is None or seen.height.set_wrong:  # by a wrong setting all of it is low: one event
        return None
    away_nm = view.away_nm(entry.fix)
    short = entry.minimum_ft - seen.alt_ft
    low = view.inside(span) & (away_nm < _WAY_IN_NM) & (np.abs(seen.vs_fpm) < _LEVEL_FPM + seen.vs_grain_fpm)
    low &= view.numbers >= departed(seen, view.procedure)
    low &= short > row.limit["before_final_ft"] + view.notice_at_ft
    runs = [run for run in view.runs(low, view.rubric.prompt_s) if away_nm[run[1]] < _AT_ENTRY_NM]
    if not runs:
        return None
    run = runs[-1]
    worst = float(np.median(short[run[0] : run[1] + 1]))
    what = f"level {worst:.0f} ft below {entry.minimum_ft:,.0f} ft, the lowest at {entry.fix}, for {run[2]:.0f} s. "
    what += "There the ground is not promised to be clear."
    return view.finding(row, run, worst, "ft", what, error=94, critical=True)


def _why_low(view: View, at: int) -> tuple[int, str]:
    """Number of the common error behind a floor that was broken, and a few words more."""
    piece = view.split.pieces[int(view.split.at[at])]
    published = piece.leg.minimum_ft if piece.leg is not None and piece.leg.minimum_ft is not None else None
    if view.seen.height.set_wrong:
        return 68, "every level part lies as far below: the altimeter stood on another setting than the day's"
    flown_ft = view.rubric.row("floor").limit["say_ft"] if piece.segment != "final" else 0.5 * view.tell_ft
    uncorrected = view.cold and published is not None and view.seen.alt_ft[at] >= published - flown_ft
    if uncorrected and not _cold_added(view, at):
        return 6, "the cold was not added"
    if piece.segment == "final" and view.procedure.step_downs and _mirrored(view, at):
        return 36, ""
    if piece.segment in ("final", "intermediate"):
        following = view.split.pieces[min(view.split.pieces.index(piece) + 1, len(view.split.pieces) - 1)]
        lower = view.mda_ft if following.leg is None or following.leg.minimum_ft is None else following.leg.minimum_ft
        level = abs(float(view.seen.vs_fpm[at])) < 250.0
        level &= _came_back(view, at, piece.leg) or not _went_down(view, at)
        level &= bool(view.seen.alt_ft[at] > lower + _NEXT_FT)
        if piece.segment == "intermediate" and _steady_below(view, at, lower):
            return 94, ""
        if piece.segment == "intermediate" and (level or _levelled_between(view, at, lower)):
            return 64, ""
        return 33, ""
    pieces = view.split.pieces
    following = pieces[min(pieces.index(piece) + 1, len(pieces) - 1)]
    while _same_floor(piece, following):
        following = pieces[pieces.index(following) + 1]
    if _leaving(view, at, piece):
        return 65, ""
    meant_ft = _meant_lower_ft(view, at)
    if _came_back(view, at, piece.leg) or (
        piece.kind == "arc" and _up_soon(view, at)
    ):  # nobody climbs back who has taken the next altitude
        return (64 if meant_ft is None else 94), ""
    if following.leg is not None and following.leg.minimum_ft is not None and published is not None:
        alt_ft, next_ft = float(view.seen.alt_ft[at]), following.leg.minimum_ft
        near_next = next_ft - 150.0 < alt_ft < view.today_ft(next_ft) + 150.0  # by either rule of the cold, or none
        near_next |= bool(view.seen.vs_fpm[at] < -250.0)  # on its way down to it
        if meant_ft is not None:
            near_next = next_ft - _NEXT_ONE_FT < meant_ft < view.today_ft(next_ft) + _NEXT_ONE_FT
        if near_next and following.leg.minimum_ft < published and not _up_again(view, at, following):
            return 28, ""
    return (64 if meant_ft is None else 94), ""


def _of_one_floor(view: View, at: int) -> Mask:
    """Samples of the legs one after another that share their floor with a sample's: a timed leg and its turn."""
    pieces = view.split.pieces
    number = int(view.split.at[at])
    same = {number}
    for step in (-1, 1):
        other = number + step
        while 0 <= other < len(pieces) and _same_floor(pieces[number], pieces[other]):
            same.add(other)
            other += step
    return np.isin(view.split.at, sorted(same))


def _same_floor(one: Piece, other: Piece) -> bool:
    if one.leg is None or other.leg is None or one.segment != other.segment:
        return False
    return one.leg.minimum_ft == other.leg.minimum_ft


def _meant_lower_ft(view: View, at: int) -> float | None:
    """An altitude below the floor that was flown level for long on purpose; None where the floor was slid off.

    On purpose is what was begun the leg with, or gone down to and levelled at.
    """
    leg = view.split.pieces[int(view.split.at[at])].leg
    if leg is None or leg.minimum_ft is None:
        return None
    alt, floor_ft = view.seen.alt_ft, view.floor_today_ft(leg)
    level = _of_one_floor(view, at) & (np.abs(view.seen.vs_fpm) < _LEVEL_FPM)
    low = view.runs(level & (alt < floor_ft - view.tell_at_ft - _SHOWN_FT), _LEVEL_S)
    low = [run for run in low if np.ptp(alt[_of(run)]) < 2.0 * _LEVEL_FT]
    if not low:
        return None
    kept = view.runs(level & (alt >= floor_ft - view.tell_at_ft) & (alt < floor_ft + _NEXT_FT), _HELD_S)
    meant_ft = float(np.median(alt[_of(low[0])]))
    slid = not _went_down(view, low[0][0]) or meant_ft > floor_ft - _SLIP_FT
    return None if slid and any(run[0] < low[0][0] for run in kept) else meant_ft


def _up_again(view: View, at: int, following: Piece) -> bool:
    """Whether the altitude held on a leg lay below the one then held on the next: it was not that one's, taken early.

    Level parts alone, so that a descent to the next altitude is none.
    """
    level = np.abs(view.seen.vs_fpm) < _LEVEL_FPM
    floor_ft = view.seen.alt_ft[at] + _NEXT_FT
    own = level & (view.split.at == view.split.at[at]) & (view.seen.alt_ft < floor_ft)
    later = level & (view.split.at == view.split.pieces.index(following))
    if min(own.sum(), later.sum()) * view.seen.step_s < _HELD_S:
        return False
    return bool(np.median(view.seen.alt_ft[later]) - np.median(view.seen.alt_ft[own]) > _WENT_UP_FT)


def _cold_added(view: View, at: int) -> bool:
    """Whether the other altitudes were flown with the cold added: then it was not what was forgotten here."""
    added_s = flown_s = 0.0
    for span in view.spans("initial", "intermediate"):
        leg = span.piece.leg
        if leg is None or leg.minimum_ft is None or view.split.at[at] == view.split.at[span.first]:
            continue
        more_ft = view.floor_today_ft(leg) - leg.minimum_ft
        if more_ft < _PLAIN_FT:
            continue
        over_ft = view.seen.alt_ft[span.slice] - leg.minimum_ft
        held = (np.abs(view.seen.vs_fpm[span.slice]) < _LEVEL_FPM) & (over_ft > -more_ft)
        flown_s += float(held.sum())
        added_s += float((held & (over_ft > 0.5 * more_ft)).sum())
    return flown_s > 0.0 and added_s > 0.5 * flown_s


def _steady_below(view: View, at: int, lower_ft: float) -> bool:
    """Whether one altitude below the floor, not the next, was gone down to, held for long and not left upwards."""
    here = view.split.at == view.split.at[at]
    leg = view.split.pieces[int(view.split.at[at])].leg
    if leg is None:
        return False
    alt = view.seen.alt_ft
    level = here & (np.abs(view.seen.vs_fpm) < _LEVEL_FPM) & (alt < view.floor_today_ft(leg) - view.tell_at_ft)
    held = view.runs(level & (alt > lower_ft + _NEXT_FT), _LEVEL_S)
    if not held or _came_back(view, at, leg):
        return False
    at_it = here & (view.numbers < held[-1][0]) & (np.abs(view.seen.vs_fpm) < _LEVEL_FPM)
    at_it &= np.abs(alt - view.floor_today_ft(leg)) < _LEVEL_FT + view.tell_at_ft
    if view.runs(at_it, _HELD_S):  # its own altitude was held first: it was known, and left too soon
        return False
    part = slice(held[-1][0], held[-1][1] + 1)
    return bool(np.ptp(alt[part]) < 2.0 * _LEVEL_FT)


def _levelled_between(view: View, at: int, lower_ft: float) -> bool:
    """Whether the first altitude held on a leg lay below its floor and well above the next: a level-off missed.

    Who held the floor first, and left it, took the next altitude too soon.
    """
    leg = view.split.pieces[int(view.split.at[at])].leg
    if leg is None:
        return False
    alt, floor_ft = view.seen.alt_ft, view.floor_today_ft(leg)
    level = (view.split.at == view.split.at[at]) & (np.abs(view.seen.vs_fpm) < _LEVEL_FPM)
    low = view.runs(level & (alt < floor_ft - view.tell_at_ft) & (alt > lower_ft + _NEXT_FT), _HELD_S)
    if leg.end is not None and low and view.away_nm(leg.end)[low[0][0]] < _BEFORE_NM:
        return False  # level at last, just before the fix: until there it was a descent
    held = view.runs(level & (alt >= floor_ft - view.tell_at_ft) & (alt < floor_ft + _NEXT_FT), _HELD_S)
    return bool(low) and not any(run[0] < low[0][0] for run in held)


def _leaving(view: View, at: int, piece: Piece) -> bool:
    """Whether the altitude was left in the turn towards the next line, which was not held yet."""
    if piece.kind == "procedure turn":
        return not _came_back(view, at, piece.leg) and _on_the_way_back(view, at, piece)
    left = arcs.turn_in(view) if piece.kind == "arc" else None
    if left is not None and _up_soon(view, at):
        return False  # who goes down on purpose does not come up
    return left is not None and view.split.at[min(left + 1, len(view.seen) - 1)] >= view.split.at[at] and at >= left


def _up_soon(view: View, at: int) -> bool:
    """Whether an altitude that was lost was climbed back from soon, on whatever leg."""
    soon = (view.numbers > at) & (view.seen.time_s < view.seen.time_s[at] + _DESCENT_S)
    up_ft = view.seen.alt_ft - np.minimum.accumulate(np.where(view.numbers >= at, view.seen.alt_ft, np.inf))
    return bool((soon & (up_ft > _PLAIN_FT + view.seen.alt_grain_ft)).any())


def _on_the_way_back(view: View, at: int, piece: Piece) -> bool:
    """Whether an altitude was left on the way back of a procedure turn, and not on the way out."""
    floor_ft = view.floor_today_ft(piece.leg) if piece.leg is not None else 0.0
    below = (view.seen.alt_ft < floor_ft - view.tell_at_ft) & (view.numbers <= at)
    above = np.flatnonzero(~below & (view.numbers < at))
    left = int(above[-1]) if len(above) else 0
    return float(np.abs(apart(view.seen.track_deg[left], float(piece.course_deg or 0.0)))) < _WAY_BACK_DEG


def _went_down(view: View, at: int) -> bool:
    """Whether an altitude was reached by a descent, and not by drifting off the one before."""
    before = (view.numbers <= at) & (view.seen.time_s > view.seen.time_s[at] - _DESCENT_S)
    steep = before & (view.seen.vs_fpm < -_DESCENT_FPM)
    return float(steep.sum()) * view.seen.step_s >= _STEEP_S


def _came_back(view: View, at: int, leg: Leg | None) -> bool:
    """Whether the altitude of the leg was taken up again and held before the leg ended."""
    if leg is None or leg.minimum_ft is None:
        return False
    rest = (view.numbers > at) & (view.split.at == view.split.at[at])
    held = rest & (view.seen.alt_ft > view.floor_today_ft(leg) - view.tell_at_ft)
    return bool(view.runs(held, _HELD_S))


def _mirrored(view: View, at: int) -> bool:
    """Whether a step was taken at its distance on the wrong side of the station."""
    fixes = [view.procedure.fix(name).dist_nm for name in view.procedure.step_downs]
    if not view.procedure.station_before_runway or not view.has_dme:
        return False
    before = view.final_along_nm[at] < 0.0
    return bool(before and any(abs(float(view.seen.dme_nm[at]) - dist) < 0.3 for dist in fixes if dist > 0.5))


def _held_until_on_ft(view: View, before: Span, span: Span) -> float | None:
    """Altitude to keep until a leg is held that is met by a turn and lies lower than what comes before; else None."""
    leg, earlier = span.piece.leg, before.piece.leg
    if leg is None or leg.minimum_ft is None:
        return None
    if earlier is None:  # over the entry fix, and outbound from it
        minimums = [way.minimum_ft for way in view.procedure.entries if way.fix == view.split.entry]
        first = (
            span.piece.kind in ("radial", "timed") and span.piece.start_nm == 0.0 and span.piece.segment == "initial"
        )
        higher = first and before.piece.kind == "before" and minimums and minimums[0] > leg.minimum_ft
        return view.today_ft(minimums[0]) if higher else None
    turned = before.piece.kind in ("arc", "procedure turn") and span.piece.kind == "radial"
    if not turned or earlier.minimum_ft is None or leg.minimum_ft >= earlier.minimum_ft:
        return None
    return view.floor_today_ft(earlier)


def _left_before(view: View, before: Span, held_ft: float) -> Mask:
    """Samples on the way to the station of a descent from the altitude of the way in; a climb to it is none."""
    seen, here = view.seen, view.inside(before)
    held = here & (seen.alt_ft >= held_ft - view.tell_at_ft) & (np.abs(seen.vs_fpm) < _LEVEL_FPM)
    runs = view.runs(held, _HELD_S)
    if not runs:
        return np.zeros(len(seen), dtype=bool)
    to_it = np.abs(apart(seen.track_deg, seen.radial_deg + 180.0)) < _OUTBOUND_DEG
    return np.asarray(here & (view.numbers > runs[-1][1]) & to_it & (seen.ground_nm > _BEFORE_NM))


def established_first(view: View, row: Row) -> Judgement:
    """The altitude of the next leg is left for only when that leg is held."""
    judged, findings = False, []
    spans = list(view.spans())
    for before, span in pairwise(spans):
        if (held_ft := _held_until_on_ft(view, before, span)) is None:
            continue
        judged = True
        off = view.off_deg(float(span.piece.course_deg or 0.0))
        held = view.established(span, off)
        on = int(np.flatnonzero(held)[0]) if held.any() else span.last + 1
        # In the turn on to the line the needle comes in; what counts is a descent begun well before.
        waiting = view.inside(span) & (view.numbers < on) & (np.abs(off) > view.rubric.established_deg + 1.0)
        if before.piece.leg is None:  # over the station outbound is what leads away that way; the line comes later
            waiting &= np.abs(apart(view.seen.track_deg, float(span.piece.course_deg or 0.0))) > _OUTBOUND_DEG
            waiting |= _left_before(view, before, held_ft)
        short = np.where(waiting, held_ft - view.seen.alt_ft, -1e9)
        for run in view.runs(view.low(short), 5.0)[:1]:
            worst = float(short[run[0] : run[1] + 1].max())
            if worst < _EARLY_FT:
                continue
            until = f"with {span.piece.course_deg:03.0f} not yet held"
            if before.piece.leg is None and run[0] <= before.last:
                until = f"before {view.procedure.station.ident} was reached"
            what = f"{worst:.0f} ft below {held_ft:,.0f} ft {until}."
            critical = worst > row.limit["limit_ft"] + float(view.tell_at_ft[run[0] : run[1] + 1].max())
            # Between half and three quarters of the scale the needle is within the tolerance of a line that is flown.
            kept_deg = view.rubric.row("needle_before_final").limit["limit_deg"]
            lost = ~view.near & (np.abs(off) > kept_deg + view.unsure_deg)
            critical &= bool(lost[run[0] : run[1] + 1].any())
            findings.append(view.finding(row, run, worst, "ft", what, error=65, critical=critical))
    if not judged:
        return not_judged(row, "No leg with a lower altitude behind a turn was flown.")
    return view.judged(row, findings)


def after_missed_floor(view: View, row: Row) -> Judgement:
    """Up, and never down again: the way to the missed approach altitude, and that altitude in the hold."""
    begun = view.after_missed_at
    if begun is None:
        return not_judged(row, "No missed approach was flown.")
    seen, limit = view.seen, row.limit["limit_ft"]
    since = (view.numbers >= begun) & view.mask("final", "missed", "hold")
    if not since.any():
        return not_judged(row, "No missed approach was recorded.")
    wanted = view.missed_ft
    peak = np.maximum.accumulate(np.where(since, seen.alt_ft, -1e9))
    reached = since & (peak >= wanted - limit)
    lost = np.where(since & ~reached, peak - seen.alt_ft, -1e9)
    short = np.where(reached, wanted - seen.alt_ft, -1e9)
    arrived = _arrived(view)
    low = since & (wanted - seen.alt_ft > limit + view.tell_at_ft)
    level = _levelled_at(view, low) if not reached.any() else None
    if level is not None:  # levelled off for good, wherever the recording ends
        arrived = min(level, len(seen) if arrived is None else arrived)
    if arrived is not None:
        short = np.where(since & (view.numbers >= arrived) & ~reached, wanted - seen.alt_ft, short)
    findings = [
        view.finding(row, run, float(lost[_of(run)].max()), "ft", _sank(float(lost[_of(run)].max())), error=60)
        for run in view.runs(lost > _SINKS_FT + seen.alt_grain_ft, 5.0)
    ]
    if reached.any() and (stopped := _level_run(view, low & (view.numbers < int(np.argmax(reached))))) is not None:
        worst = wanted - float(np.median(seen.alt_ft[_of(stopped)]))
        what = (
            f"level {worst:.0f} ft below the altitude of {wanted:,.0f} ft for {stopped[2]:.0f} s, and then up again."
        )
        findings.append(view.finding(row, stopped, worst, "ft", what, error=86, critical=True))
    for run in view.runs(short > limit + view.tell_at_ft, 5.0):
        worst = float(short[_of(run)].max())
        usual = float(np.median(short[_of(run)]))
        held = run[2] >= _HELD_S and _MOSTLY * worst < usual < worst - _SHOWN_FT
        below = f"about {usual:.0f} (at most {worst:.0f})" if held else f"{worst:.0f}"
        what = f"{below} ft below the altitude of {wanted:,.0f} ft for {run[2]:.0f} s."
        # Never up there at all is a climb that was too shallow; sinking is to lose what one had.
        error, cause = (60 if (reached & (view.numbers < run[0])).any() else 71), ""
        if level is not None:
            error = 86
        if view.cold and worst <= wanted - view.procedure.missed.altitude_ft + limit:
            error, cause = 6, "the cold was not added"
        findings.append(view.finding(row, run, worst, "ft", what, error=error, cause=cause, critical=True))
    if level is not None:  # one level flight, whatever parts it went on in
        findings = [one for one in findings if one.error != 86] + worst_only(
            [one for one in findings if one.error == 86]
        )
    if not reached.any() and arrived is None:
        if not findings:
            return not_judged(row, "The recording ends before the missed approach altitude was due.")
    elif not findings:
        findings += view.unclear(
            row, view.perhaps_low(short) & (short > limit), short, "the missed approach altitude"
        )
    there = (short > -1e8) & settled_at(view, wanted, short > -1e8)
    lowest = float(np.min(np.where(there, -short, np.inf)))
    return view.judged(row, worst_by_part(findings), lowest=f"{max(0.0, -lowest):.0f}")


def _levelled_at(view: View, below: Mask) -> int | None:
    """First sample of level flight below the altitude that went on for long; None where the climb did."""
    run = _level_run(view, below)
    return None if run is None else run[0]


def _level_run(view: View, below: Mask) -> Run | None:
    """Level flight below the altitude that went on for long; None where there was none."""
    alt = view.seen.alt_ft
    for run in view.runs(below & (np.abs(view.seen.vs_fpm) < _LEVEL_FPM), _LEVEL_S):
        changed_ft = abs(float(alt[run[1]] - alt[run[0]]))
        if changed_ft < max(_LEVEL_FT, _SLIDES_FPM * run[2] / 60.0):
            return run
    return None


def _sank(feet: float) -> str:
    return f"sank by {feet:.0f} ft on the way up, before the missed approach altitude was reached."


def _of(run: tuple[int, int, float]) -> slice:
    return slice(run[0], run[1] + 1)


def _arrived(view: View) -> int | None:
    """First sample in the hold with its fix behind it; None if it was not reached."""
    span = view.split.span("hold")
    if span is None:
        return None
    away: NDArray[np.float64] = view.away_nm(view.procedure.hold.fix)[span.slice]
    near = np.flatnonzero(away < 1.5)
    return span.first + int(near[0]) if len(near) else None
