"""Judges of the station passage: hands still overhead, and the new course taken up after it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from needlework.basis.quantity import Floats
from needlework.debrief.evidence import View
from needlework.debrief.findings import Finding, Judgement, Mask, apart, mean_deg, not_judged
from needlework.debrief.pieces import along_across
from needlework.debrief.rubric import Row
from needlework.debrief.tracking import DRIFT_DEG
from needlework.trade.vor import FULL_SCALE_DEG

_SCATTERS = 3.0  # standard deviations from crest to trough of a track that was meant to be straight
_PAUSE_STEPS, _BESIDE_PAUSE = 2.5, 2  # samples
_FITTED_S = 6.0  # to either side, of the positions that a direction is taken from
_TRACK_NOISE_DEG = 4.0  # how far a track from positions swings by their noise alone
_NEW_COURSE_DEG = 12.0  # more than this is a turn of its own
_OVERHEAD_NM = 0.6
_BEFORE_S, _BEFORE_NM = 45.0, 0.6
_FLICKER_NM = 0.25  # a turn that begins this far before the station followed the first flicker
_LONGEST_S = 600.0
_BEGUN_DEG, _RATE_DEG_S = 12.0, 3.0  # a turn shows after this much of it, at this rate
_SLOW_S = _BEGUN_DEG / _RATE_DEG_S  # a turn at half that rate shows so much later
_LOOK_S, _LONG_S, _STEADY_S = 60.0, 40.0, 8.0
_AWAY_DEG = 5.0
_BEHIND_S, _AGAIN = 40.0, 0.7  # in which it was turned the other way again, by so much of it
_TAKEN_BACK_S, _TAKEN_BACK_SHARE = 25.0, 0.35
_ALONG_DEG = 45.0
_THROUGH_S = 15.0  # on past a line on the heading that met it
_BETTER = 0.6  # of the needle that a wrong heading made: less than this, and it was taken back
_BACK_DEG, _BACK_S = 5.0, 8.0  # towards the line again
_FARTHEST_NM, _TOWARDS_DEG = 2.5, 10.0  # a turn so far before the station was meant for it
_OTHER_END_DEG, _AWAY_NM = 30.0, 1.5
_OPENING_DEG, _ON_IT_DEG = 70.0, 7.5  # of the way straight out: the distance opens; of a radial, within its tolerance
_ANOTHER_DEG, _ANOTHER_S = (15.0, 90.0), 60.0  # off the course of a timed leg, held for so long: another one
_FAR_ANOTHER_DEG = 25.0  # miles beside the leg where it is turned
_LONG_WAY_DEG = 150.0, 190.0  # a turn that has a shorter way; and more than half round
_ONE_RADIAL_DEG, _ALONG_RADIAL_DEG = 4.0, 12.0  # a radial that is held, and the track along it
_WIDER = 1.25  # over the ground
_SWUNG = 1.5  # times as much, from side to side
_CUT_DEG = 28.0  # through the line on more than this is an intercept that was not led
_FAR_OFF = 1.5  # of the tolerance of a heading, over so long a time


def passages(view: View) -> list[tuple[int, int, int]]:
    """First sample near, passage, last sample near, of every time the station is overflown on the way in."""
    legs = view.mask("before", "initial", "intermediate", "final")
    # Past the missed approach point the runway is looked for, and its heading taken up.
    legs &= ~(view.mask("final") & (view.final_along_nm > view.along_of("MAP")))
    seen, found = view.seen, []
    for first, last, _ in view.runs((seen.ground_nm < view.rubric.near_nm) & legs):
        nearest = first + int(np.argmin(seen.ground_nm[first : last + 1]))
        comes = first > 0 and seen.ground_nm[first - 1] > seen.ground_nm[first]
        if seen.ground_nm[nearest] < _OVERHEAD_NM and first < nearest and comes:
            found.append((first, nearest, last))
    return found


def _of_the_procedure(view: View) -> list[tuple[int, int, int]]:
    """The passages from where the procedure begins on; what was meant at an earlier one nobody knows."""
    leg = next((span for span in view.spans() if span.piece.leg is not None), None)
    if leg is None:
        return passages(view)
    every = passages(view)
    earlier = [one for one in every if one[0] <= leg.first]
    begins = earlier[-1:] if leg.piece.start_nm == 0.0 else []
    return begins + [one for one in every if one[0] > leg.first]


def _brought(view: View, first: int) -> Mask:
    """Samples of the mile or so before the station, where the heading to keep is taken from."""
    number, seen = view.numbers, view.seen
    recent = (number < first) & (seen.time_s > seen.time_s[first] - _BEFORE_S)
    recent &= seen.stretch == seen.stretch[first]
    return np.asarray(recent & (seen.ground_nm < view.rubric.near_nm + _BEFORE_NM) & ~view.turning)


def _course_after(view: View, nearest: int) -> float | None:
    """Course of the first leg flown away from the station after a passage."""
    for span in view.spans("initial", "intermediate", "final"):
        piece = span.piece
        if span.last > nearest and piece.kind in ("radial", "timed") and piece.start_nm == 0.0:
            return piece.course_deg
    # Where nothing of the procedure was flown after it, the leg that was due.
    first = next((piece for piece in view.split.pieces if piece.leg is not None), None)
    flown = any(span.piece.leg is not None and span.last > nearest for span in view.spans())
    if first is None or flown or first.start_nm != 0.0 or first.kind not in ("radial", "timed"):
        return None
    return first.course_deg


def cone(view: View, row: Row) -> Judgement:
    """Hands still overhead: the heading inside the near zone against the one brought to it.

    After the station a new course of a few degrees is part of the procedure: any heading between the old
    and the new one is right, with the same tolerance to either side.
    """
    seen, limit = view.seen, row.limit["limit_deg"]
    source = "heading" if "heading_deg" in seen.recorded else "track"
    findings, worst_deg, judged = [], 0.0, False
    for first, nearest, last in _of_the_procedure(view):
        brought = _brought(view, first)
        if not brought.any():
            continue
        direction = seen.heading_deg if source == "heading" else seen.track_deg
        kept = mean_deg(direction[brought])
        kept += float(np.median(apart(direction[brought], kept)))  # a turn just before it brings little of its own
        scatter = float(np.std(apart(direction[brought], kept)))
        noise = 0.0 if source == "heading" else max(_TRACK_NOISE_DEG, _SCATTERS * scatter, _jitter_deg(view, nearest))
        outbound = _course_after(view, nearest)
        change = 0.0 if outbound is None else float(apart(outbound, mean_deg(seen.track_deg[brought])))
        judged = True
        small = abs(change) <= _NEW_COURSE_DEG
        part = np.arange(first, (last if small else nearest) + 1)
        part = part[~_edge(view)[part]]
        if not small:  # the sample nearest to the station may lie behind it, and the turn has begun there
            part = part[np.abs(apart(seen.radial_deg[part], kept)) > 90.0]
            part = part[np.abs(apart(seen.radial_deg[part], seen.track_deg[part])) > 90.0]
        behind = [] if small else _swung_back(view, row, (nearest, last), direction, kept, change, noise)
        if not len(part):
            findings += behind
            continue
        to_course = _to_course(view, first)
        off = _beyond(apart(direction[part], kept), part >= nearest, change if small else to_course, to_course)
        swing, size = float(np.ptp(off)), float(np.abs(off).max())
        worst_deg = max(worst_deg, size)
        # Over the ground the nose shows larger, with the wind against it: within the limit to either side is kept.
        swung = limit if source == "heading" else _SWUNG * limit
        if size - noise / 2 <= (limit if source == "heading" else _WIDER * limit) and swing - noise <= swung:
            findings += behind
            continue
        if small and _stays(off, part >= nearest, limit):  # another heading was taken up: the next row's matter
            continue
        outside = view.at(part[np.abs(off - np.median(off)) > min(limit, swing / 2) - 0.01])
        runs = view.runs(outside)
        run = (runs[0][0], runs[-1][1], float(sum(run[2] for run in runs)))
        sampled_nm = float(seen.gs_kt[nearest]) / 3600.0 * seen.step_s
        early = 0.0 if small else _early_nm(view, part, off, direction, kept, change, limit)
        if early > _FLICKER_NM + sampled_nm:
            what = f"the turn to {outbound:03.0f} began {early:.1f} miles before the station."
            found = view.finding(row, run, size, "deg", what, error=13)
            findings.append(replace(found, failed=early > row.limit["early_nm"]))
            continue
        what = (
            f"{seen.dme_nm[run[0]]:.1f} miles from the station the {source} left what was brought in "
            f"by up to {size:.0f} degrees, and swung through {swing:.0f}. There the needle is nothing to follow."
        )
        found = view.finding(row, run, max(size, swing), "deg", what, error=11)
        wild = max(size - noise / 2, (swing - noise) / _SWUNG)
        chased = replace(found, failed=wild >= row.limit["failed_deg"])
        findings.append(max((chased, *behind), key=lambda one: (one.failed, one.worst)))  # one needle, one event
    findings = sorted(_turned_before(view, row) + findings, key=lambda found: found.start_s)
    if not judged and not findings:
        return not_judged(row, "The station was not overflown on the way in.")
    return view.judged(row, findings, worst=f"{worst_deg:.0f}")


def _turned_before(view: View, row: Row) -> list[Finding]:
    """Straight to the station, and turned outbound well before it: it was never overflown."""
    seen = view.seen
    first = next((span for span in view.spans("initial") if span.piece.start_nm == 0.0), None)
    if first is None or first.piece.course_deg is None:
        return []
    by = int(first.last)
    nearest = int(np.argmin(seen.ground_nm[: by + 1]))
    if any(over <= by for _, over, _ in passages(view)):
        return []
    if nearest == 0 or not _OVERHEAD_NM <= seen.ground_nm[nearest] <= _FARTHEST_NM:
        return []
    towards = np.abs(apart(seen.track_deg, seen.radial_deg + 180.0)) < _TOWARDS_DEG
    runs = view.runs(towards & (view.numbers < nearest), _STEADY_S)
    if not runs or sum(run[2] for run in runs) < _LONG_S:  # a pause of the recording parts what was one way in
        return []
    at = runs[-1][1]
    turn = abs(float(apart(first.piece.course_deg, seen.track_deg[at])))
    away_nm = float(seen.ground_nm[at])
    if turn <= _NEW_COURSE_DEG or not row.limit["early_nm"] < away_nm <= _FARTHEST_NM:
        return []
    run = (at, nearest, float(seen.time_s[nearest] - seen.time_s[at]))
    what = (
        f"the turn to {first.piece.course_deg:03.0f} began {away_nm:.1f} miles before the station, which was never "
        "overflown."
    )
    return [replace(view.finding(row, run, away_nm, "NM", what, error=13), failed=True)]


def _edge(view: View) -> Mask:
    """Samples beside a pause of the recording, where a direction rests on too few positions."""
    time_s = view.seen.time_s
    edge = np.zeros(len(time_s), dtype=bool)
    for at in np.flatnonzero(np.diff(time_s) > _PAUSE_STEPS * view.seen.step_s):
        edge[max(0, at - _BESIDE_PAUSE + 1) : at + _BESIDE_PAUSE + 1] = True
    return edge


def _jitter_deg(view: View, at: int) -> float:
    """How far a track swings by the noise of the positions alone. [deg]"""
    seen = view.seen
    over_nm = float(seen.gs_kt[at]) / 3600.0 * 2.0 * max(_FITTED_S, 1.1 * seen.step_s)
    return float(np.rad2deg(np.sqrt(2.0) * seen.position_nm / max(over_nm, 0.05)))


def _swung_back(
    view: View, row: Row, over: tuple[int, int], direction_deg: Floats, kept_deg: float, change: float, noise: float
) -> list[Finding]:
    """Behind the station turned away from the new course, and towards it again: the needle followed.

    Who turns on and on takes the longer way, and another row says so; who turns past the course to meet it, and then
    on to it, does not turn that way again.
    """
    seen, (nearest, last) = view.seen, over
    here = np.flatnonzero((view.numbers >= nearest) & (seen.time_s < seen.time_s[last] + _BEHIND_S))
    towards = np.sign(change) * (apart(direction_deg[here[0]], kept_deg) + _turned(direction_deg[here]))
    near = seen.time_s[here] <= seen.time_s[last] + _STEADY_S
    away = np.where(near, np.maximum.accumulate(np.maximum(towards, 0.0)) - towards, 0.0)
    turned = int(np.argmax(away))
    size, back = float(away[turned]), float((towards[turned:] - towards[turned]).max())
    if size - noise / 2.0 <= row.limit["limit_deg"] or size > 90.0 or back < _AGAIN * size:
        return []
    run = (nearest, int(here[turned]), float(seen.time_s[here[turned]] - seen.time_s[nearest]))
    what = (
        f"behind the station turned {size:.0f} degrees away from the new course, and back: the needle was followed."
    )
    found = view.finding(row, run, size, "deg", what, error=11)
    return [replace(found, failed=size >= row.limit["failed_deg"])]


def _turned(direction_deg: Floats) -> Floats:
    """How far it was turned since the first of some directions, right positive, windings and all. [deg]"""
    return np.cumsum(apart(direction_deg, np.concatenate([direction_deg[:1], direction_deg[:-1]])))


def _to_course(view: View, first: int) -> float:
    """Turn on to the course of the leg to the station from a cut that was brought in; 0 where none was. [deg]"""
    course = view.split.pieces[int(view.split.at[first])].course_deg
    if course is None:
        return 0.0
    turn = float(apart(course, mean_deg(view.seen.track_deg[_brought(view, first)])))
    return turn if abs(turn) > _NEW_COURSE_DEG else 0.0


def _beyond(off: Floats, after: Mask, change: float, to_course: float) -> Floats:
    """How far off the way from the old heading to the course inbound, or after the station to the new one."""
    ends = np.where(after, change, to_course)
    return np.asarray(off - np.clip(off, np.minimum(0.0, ends), np.maximum(0.0, ends)))


def _stays(off: Floats, after: Mask, limit: float) -> bool:
    """Whether the heading was left after the station only, to one side, and not taken back."""
    before = off[~after]
    quiet = not len(before) or float(np.abs(before).max()) <= limit
    late = off[after]
    if not quiet or not len(late):
        return False
    side = np.sign(late[int(np.argmax(np.abs(late)))])
    return bool(late[-1] * side > limit * 0.7 and float((late * side).min()) > -limit / 2)


def _early_nm(
    view: View,
    part: NDArray[np.intp],
    off: Floats,
    direction_deg: Floats,
    kept_deg: float,
    change: float,
    limit: float,
) -> float:
    """How far before the station a turn towards the new course was begun that was not taken back; 0 for a swing."""
    towards = off * np.sign(change)
    peak = int(part[int(np.argmax(towards))])
    later = (view.numbers >= peak) & (view.seen.time_s < view.seen.time_s[part[-1]] + _TAKEN_BACK_S)
    back = np.sign(change) * apart(direction_deg[later], kept_deg)
    taken_back = max(limit / 2, _TAKEN_BACK_SHARE * float(towards.max()))
    if float(towards[-1]) < limit / 2 or float(back.min()) < taken_back:
        return 0.0  # taken back before the station, or soon after it: the needle was followed
    out = np.flatnonzero(towards > limit)
    if not len(out) or float(towards.min()) < -limit / 2:
        return 0.0
    begun = np.flatnonzero(towards[: out[0]] < limit / 3)
    at = int(part[begun[-1] if len(begun) else 0])
    return float(view.seen.ground_nm[at])


def outbound(view: View, row: Row) -> Judgement:
    """Outbound soon after the first steady FROM, and on a heading that stays with the course."""
    seen, worst_s, judged, findings = view.seen, 0.0, False, []
    for first, nearest, _ in _of_the_procedure(view):
        course = _course_after(view, nearest)
        brought = _brought(view, first)
        if course is None or not brought.any():
            continue
        inbound = mean_deg(seen.track_deg[brought])
        turn = float(apart(course, inbound))
        ends_s = float(seen.time_s[-1] - seen.time_s[nearest])
        taken = 0.0
        if away := _reciprocal(view, row, nearest, course):
            judged = True
            findings += away
            continue
        if (another := _another_timed(view, row, nearest, course)) is not None:
            judged = True
            findings.append(another)
            continue
        if (round_deg := _long_way_deg(view, nearest, course, turn)) is not None:
            judged = True
            until = min(nearest + view.samples(round_deg / _RATE_DEG_S), len(seen) - 1)
            run = (nearest, until, float(seen.time_s[until] - seen.time_s[nearest]))
            what = f"turned {round_deg:.0f} degrees the long way round to {course:03.0f}; the other way it is "
            what += f"{abs(turn):.0f}."
            found = view.finding(row, run, round_deg, "deg", what, error=95, critical=False)
            findings.append(replace(found, failed=True))
            continue
        if abs(turn) > _NEW_COURSE_DEG:
            if ends_s < row.limit["limit_s"]:
                continue
            taken = _taken_s(view, nearest, inbound, turn)
            if taken > row.limit["limit_s"] and _course_as_heading(view, nearest, course):
                taken = 0.0  # the course was taken up, as a heading: what the wind made of it is the needle's matter
            if taken > row.limit["limit_s"] and _turned_away(view, nearest, inbound, turn):
                taken = 0.0  # not straight on, but to another heading
            if taken > row.limit["limit_s"] + max(seen.step_s, _SLOW_S):
                length = min(taken, _LONGEST_S, ends_s)
                run = (nearest, min(nearest + 1, len(seen) - 1), length)
                what = f"straight on for {length:.0f} s before the turn to {course:03.0f} was begun; "
                what += f"{row.limit['limit_s']:.0f} s is enough."
                found = view.finding(row, run, taken, "s", what, error=12, critical=False)
                findings.append(replace(found, failed=taken >= row.limit["limit_s"] + view.rubric.prompt_s))
        judged |= abs(turn) > _NEW_COURSE_DEG or ends_s > _LOOK_S
        worst_s = max(worst_s, taken)
        if taken <= row.limit["limit_s"] + max(seen.step_s, _SLOW_S) or not findings:
            findings += _wrong_heading(view, row, nearest, course)
    if not judged:
        return not_judged(row, "No passage with a leg outbound behind it was flown.")
    return view.judged(row, findings, worst=f"{worst_s:.0f}")


def _reciprocal(view: View, row: Row, nearest: int, course_deg: float) -> list[Finding]:
    """Away from the station on the other end of the course, for long."""
    seen = view.seen
    other = np.abs(apart(seen.track_deg, course_deg + 180.0)) < _OTHER_END_DEG
    beside = np.abs(apart(seen.radial_deg, course_deg + 180.0)) < _ALONG_DEG
    since = (view.numbers > nearest) & (seen.time_s < seen.time_s[nearest] + _LONGEST_S)
    since &= seen.stretch == seen.stretch[nearest]
    since &= ~view.mask("final", "landing", "missed")  # it may be the final's own course
    if view.split.away is not None:
        since &= view.numbers < view.split.away
    runs = view.runs(since & other & beside, 2.0 * view.rubric.prompt_s)
    runs = [run for run in runs if seen.time_s[run[0]] <= seen.time_s[nearest] + 2.0 * _LOOK_S]
    opens = np.abs(apart(seen.track_deg, seen.radial_deg)) < 90.0
    if not runs:  # farther beside it, after turns of its own
        there = np.abs(apart(seen.radial_deg, course_deg + 180.0)) < 90.0
        runs = view.runs(since & other & opens & there, 2.0 * view.rubric.prompt_s)
        runs = [run for run in runs if seen.time_s[run[0]] <= seen.time_s[nearest] + 3.0 * _LOOK_S]
    if not runs:  # met on cuts of its own, it was tracked all the same
        radial_off = np.abs(apart(seen.radial_deg, course_deg + 180.0))
        opening = np.abs(apart(seen.track_deg, seen.radial_deg)) < _OPENING_DEG
        runs = view.runs(since & opening & (radial_off < _OTHER_END_DEG), 2.0 * view.rubric.prompt_s)
        runs = [run for run in runs if radial_off[run[0] : run[1] + 1].min() < _ON_IT_DEG]
        runs = [run for run in runs if seen.time_s[run[0]] <= seen.time_s[nearest] + 2.0 * _LOOK_S]
    if not runs:
        return []
    run = runs[0]
    away_nm = float(seen.ground_nm[run[1]])
    if away_nm < _AWAY_NM or away_nm < float(seen.ground_nm[run[0]]):
        return []
    what = f"flown away on the reciprocal of {course_deg:03.0f} for {run[2]:.0f} s, out to {away_nm:.1f} NM."
    return [view.finding(row, run, away_nm, "NM", what, error=9)]


def _long_way_deg(view: View, nearest: int, course_deg: float, turn: float) -> float | None:
    """How far round it was turned to a course outbound by the longer of the two ways; None where it was not."""
    if not _NEW_COURSE_DEG < abs(turn) < _LONG_WAY_DEG[0]:
        return None
    seen = view.seen
    since = (view.numbers >= nearest) & (seen.time_s < seen.time_s[nearest] + 2.0 * _LOOK_S + _LONG_S)
    since &= seen.stretch == seen.stretch[nearest]
    part = np.flatnonzero(since)
    turned = np.rad2deg(np.unwrap(np.deg2rad(seen.track_deg[part])))
    turned -= turned[0]
    on = np.flatnonzero(np.abs(apart(seen.track_deg[part], course_deg)) < _NEW_COURSE_DEG)
    if not len(on):
        return None
    by = float(turned[on[0]])
    return abs(by) if by * turn < 0 and abs(by) > _LONG_WAY_DEG[1] else None


def _another_timed(view: View, row: Row, nearest: int, course_deg: float) -> Finding | None:
    """Another radial held all along a leg that is flown by the clock; None where there was none.

    Wind that nobody corrects leaves the nose on the course; the leg of a procedure turn has a heading of its own.
    """
    timed = next((span for span in view.spans("initial", kind="timed") if span.last > nearest), None)
    turn = view.split.span("procedure turn")
    if timed is None or timed.piece.course_deg != course_deg or turn is None or turn.piece.leg is None:
        return None
    seen, heading_out = view.seen, float(turn.piece.leg.heading_out_deg or 0.0)
    since = (view.numbers > nearest) & (view.numbers <= turn.last) & view.readable
    off = apart(seen.radial_deg, course_deg)
    size = np.abs(off)
    held = since & (size > _ANOTHER_DEG[0]) & (size < _ANOTHER_DEG[1])
    held &= np.abs(apart(seen.track_deg, seen.radial_deg)) < _ALONG_RADIAL_DEG
    held &= np.abs(apart(seen.track_deg, heading_out)) > _ALONG_RADIAL_DEG
    if view.nose_known:
        held &= np.abs(apart(seen.heading_deg, course_deg)) > _NEW_COURSE_DEG
    for run in view.runs(held, _ANOTHER_S):
        part = slice(run[0], run[1] + 1)
        if float(np.ptp(off[part])) <= 2.0 * _ONE_RADIAL_DEG:
            radial = (course_deg + float(np.median(off[part]))) % 360.0
            what = f"outbound on {radial:03.0f} for {run[2]:.0f} s, where the leg goes out on {course_deg:03.0f}."
            worst = float(np.median(size[part]))
            found = view.finding(row, run, worst, "deg", what, error=63, critical=worst > _FAR_ANOTHER_DEG)
            return replace(found, failed=True)
    return None


def _soon_after(view: View, nearest: int) -> Mask:
    """Samples of two minutes behind the station, out of turns, where the needle means something again."""
    seen = view.seen
    return np.asarray((view.numbers > nearest) & (seen.time_s < seen.time_s[nearest] + 2 * _LOOK_S) & view.readable)


def _course_as_heading(view: View, nearest: int, course_deg: float) -> bool:
    """Whether the new course stood under the nose soon after the station, and the wind made another track of it."""
    seen, after = view.seen, _soon_after(view, nearest)
    if not view.nose_known or not after.any():
        return False
    nose = float(np.median(apart(seen.heading_deg[after], course_deg)))
    drift = float(np.median(apart(seen.track_deg[after], seen.heading_deg[after])))
    return abs(drift) >= _BEGUN_DEG / 2 and abs(nose) < _AWAY_DEG and abs(nose) < 0.5 * abs(drift)


def _turned_away(view: View, nearest: int, inbound_deg: float, turn: float) -> bool:
    """Whether the track outbound lies well to the other side of the one inbound than the turn asked for."""
    seen, after = view.seen, _soon_after(view, nearest)
    if not after.any():
        return False
    away = float(np.median(apart(seen.track_deg[after], inbound_deg))) * float(np.sign(turn))
    return away < -_AWAY_DEG


def _taken_s(view: View, nearest: int, inbound_deg: float, turn: float) -> float:
    """Seconds from the passage to the beginning of the turn that follows it. [s]"""
    seen = view.seen
    turned = apart(seen.track_deg, inbound_deg) * np.sign(turn)
    enough = min(_BEGUN_DEG, abs(turn) / 2)
    if abs(turn) > 150.0:  # either way round will do
        turned = np.abs(apart(seen.track_deg, inbound_deg))
    begun = np.flatnonzero((turned > enough) & (turned < 200.0) & (view.numbers >= nearest))
    if not len(begun):
        return _LONGEST_S
    at = int(begun[0])
    taken = max(float(seen.time_s[at] - seen.time_s[nearest]) - enough / _RATE_DEG_S, 0.0)
    if at > nearest and seen.time_s[at] - seen.time_s[at - 1] > _PAUSE_STEPS * seen.step_s:
        taken = min(taken, float(seen.time_s[at - 1] - seen.time_s[nearest]))  # in the pause nobody saw it begin
    return taken


def _wrong_heading(view: View, row: Row, nearest: int, course_deg: float) -> list[Finding]:
    """A heading outbound that leads away from the course, straight and for long."""
    seen = view.seen
    since = seen.time_s - seen.time_s[nearest]
    look = (view.numbers > nearest) & (since < _LOOK_S + 2 * _LONG_S) & ~view.turning
    look &= ~view.mask("initial", kind="procedure turn")  # its headings are its own
    off = apart(seen.track_deg, course_deg)
    across = along_across(seen, view.procedure, course_deg)[1]
    away = (np.abs(off) > row.limit["heading_deg"]) & (off * across > 0)
    astray = np.flatnonzero(look & away & (np.abs(off) < 70.0))
    crossed = _straight_through(view, look & (np.abs(off) > row.limit["heading_deg"]) & (np.abs(off) < 70.0), away)
    astray = crossed if crossed is not None else astray
    length = len(astray) * seen.step_s  # a pause in the recording takes nothing off it
    back = (view.numbers > (astray[-1] if len(astray) else 0)) & (off * across < 0) & (np.abs(off) > _BACK_DEG)
    if len(astray):
        back &= view.split.at == view.split.at[astray[-1]]
        needle = np.abs(apart(seen.radial_deg, course_deg))
        straight = (view.numbers > astray[-1]) & (view.split.at == view.split.at[astray[-1]]) & ~view.turning
        straight &= np.abs(off) < _ALONG_DEG
        if not (straight & (needle < _BETTER * needle[astray[-1]])).any():
            return []
    # Never taken back, it is another radial, and the needle's matter.
    if length >= _LONG_S and back.sum() * seen.step_s >= _BACK_S:
        run = (int(astray[0]), int(astray[-1]), length)
        worst = float(np.median(np.abs(off[astray])))
        what = (
            f"outbound {worst:.0f} degrees off {course_deg:03.0f} over the ground, away from it, for {run[2]:.0f} s."
        )
        found = view.finding(row, run, worst, "deg", what, error=_by_wind(view, astray, course_deg), critical=False)
        if crossed is not None and worst > _CUT_DEG and _to_meet_it(view, crossed, away, course_deg):
            what = f"through {course_deg:03.0f} on a cut of {worst:.0f} degrees that was not taken out."
            found = view.finding(row, run, worst, "deg", what, error=16, critical=False)
        lost = ~view.near & (view.numbers > nearest) & (view.numbers <= astray[-1])
        lost &= np.abs(apart(seen.radial_deg, course_deg)) > FULL_SCALE_DEG + view.unsure_deg
        full_s = float(lost.sum()) * seen.step_s
        failed = worst > _FAR_OFF * row.limit["heading_deg"] or full_s >= view.rubric.prompt_s
        return [replace(found, failed=failed)]
    return []


def _to_meet_it(view: View, part: NDArray[np.intp], away: Mask, course_deg: float) -> bool:
    """Whether a heading led to a line for some time, its needle out, before it led through it: a cut, and meant."""
    needle = np.abs(apart(view.seen.radial_deg[part], course_deg))
    out = ~away[part] & ~view.turning[part] & ~view.near[part] & (needle > view.rubric.established_deg)
    return float(out.sum()) * view.seen.step_s >= _THROUGH_S


def _straight_through(view: View, off_course: Mask, away: Mask) -> NDArray[np.intp] | None:
    """Samples of a heading held for long that led to the line, through it and on; None where there was none."""
    for first, last, length in view.runs(off_course):
        part = np.arange(first, last + 1)
        beyond_s = float(away[part].sum()) * view.seen.step_s
        if length >= _LONG_S and beyond_s >= _THROUGH_S and not away[first]:
            return part
    return None


def _by_wind(view: View, astray: NDArray[np.intp], course_deg: float) -> int:
    """Number of the error behind a wrong heading: laid off downwind, not at all, or worked out wrongly."""
    seen = view.seen
    if not view.nose_known:
        return 81
    nose = float(np.median(apart(seen.heading_deg[astray], course_deg)))
    drift = float(np.median(apart(seen.track_deg[astray], seen.heading_deg[astray])))
    if abs(drift) < DRIFT_DEG:
        return 81
    if nose * drift > 0 and 0.5 * abs(drift) <= abs(nose) <= 1.6 * abs(drift):
        return 8
    return 10 if abs(nose) < 0.3 * abs(drift) else 81
