"""Judges of the laps of a hold: their side, the needle inbound, the length of the legs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from needlework.debrief import hold_pattern as pattern
from needlework.debrief.evidence import View
from needlework.debrief.findings import (
    Finding,
    Judgement,
    Run,
    apart,
    mean_deg,
    not_judged,
    worst_by_part,
    worst_of_laps,
)
from needlework.debrief.hold_turns import by_number, is_flown_past, not_turned, past_inbound
from needlework.debrief.rubric import Row
from needlework.trade.angles import reciprocal
from needlework.trade.holding import DRIFT_MOST_DEG

_ENOUGH_TIMES = 1.25
_LAST_NM = 0.1  # the last digit of a DME: "at the number" is no finer
_OTHER_DEG, _ALIKE_DEG = 15.0, 10.0  # three times half scale off, and alike from lap to lap
_DRIFTS_DEG, _MIRRORED = 5.0, (0.7, 1.3)  # shares of the drift
_TOO_FAR_DEG, _CAME_NM, _USUAL_KT = 80.0, 0.4, 15.0  # the wind across, where nobody knows it
_SEVERAL = 2
_FARTHEST_NM = 8.0  # from the fix it is no hold at it
_ELSEWHERE_NM = 0.7  # legs of the length they have, about another place
_OTHER_FIX = "another distance taken for that of the fix"
_HURRIED, _NO_LEG, _ONCE = 1.0 / 3.0, 0.2, 1.5
_ROUND_DEG = 330.0  # in one turn: no leg was flown between its two halves


def hold_side(view: View, row: Row) -> Judgement:
    """Every turn of the laps goes the published way, and the laps lie on the holding side."""
    arrived = pattern.arrival(view)
    if arrived is None:
        return not_judged(row, "The hold was not reached.")
    if (beyond := _other_end(view, row, arrived)) is not None:
        return view.judged(row, [beyond])
    turns = pattern.whole_turns(view, arrived)
    hand = pattern.hand(view)
    # The entry has turns of its own; from the first whole turn after the first way inbound on, all are laps.
    inbound = np.abs(apart(view.seen.track_deg, view.procedure.hold.inbound_course_deg)) < pattern.INBOUND_DEG
    away = pattern.away_nm(view)
    back = np.flatnonzero((view.numbers > arrived + view.samples(45.0)) & inbound & (away < pattern.BY_FIX_NM))
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
    seen, out_nm = view.seen, pattern.out_nm(view)
    inbound = view.procedure.hold.inbound_course_deg
    legs = pattern.straight_legs(view, arrived)
    if any(_to_fix(view, run) and float(out_nm[run[0]]) > 0.0 for run in legs):
        return None
    against = float(reciprocal(inbound))
    back = [run for run in legs if _to_fix(view, run, against) and float(out_nm[run[0]]) < -_CAME_NM]
    if not back or not any(abs(turned) > pattern.WHOLE_TURN_DEG for _, turned in pattern.turns(view, back[0][1])):
        return None
    run = (arrived, back[-1][1], float(seen.time_s[back[-1][1]] - seen.time_s[arrived]))
    fix = view.procedure.hold.fix
    what = f"{fix} was come to on {against:03.0f}, and the laps lie beyond it; inbound is {inbound:03.0f}."
    cause, said = (
        "the inbound course read from the wrong end",
        "inbound is towards the fix: on which course",
    )
    return view.finding(row, run, float(len(back)), "laps", what, error=66, cause=cause, next_time=said)


def hold_track(view: View, row: Row) -> Judgement:
    """Needle on the way inbound to the fix, by the end of it: the correction outbound brings one back to the line."""
    if (other := _another_course(view, row)) is not None:
        return view.judged(row, [other])
    laps = list(pattern.laps(view))
    if not laps:
        return not_judged(row, "No lap after the entry has legs long enough to tell.")
    seen, course = view.seen, view.procedure.hold.inbound_course_deg
    off, across = view.off_deg(course), pattern.across_nm(view)
    findings, worst_deg, beside, judged = list[Finding](), 0.0, 0, False
    for lap in laps:
        first, last, _ = lap.inbound
        ending = (view.numbers >= first) & (view.numbers <= last) & view.readable
        ending &= seen.time_s > seen.time_s[last] - row.limit["last_s"]
        if not ending.any():
            continue
        judged = True
        least, unsure_deg = float(np.abs(off[ending]).min()), float(view.unsure_deg[ending].max())
        worst_deg = max(worst_deg, least)
        beside_nm = float(np.abs(across[first : last + 1]).min()) - seen.position_nm
        # Beyond half scale no line is held; beyond the tolerance it is not passed. Far from the station the needle
        # shows little of what leads past the fix: lap after lap beside it, the line was not looked for.
        if least > view.rubric.established_deg + unsure_deg:
            what = f"inbound {least:.0f} degrees or more off {course:03.0f} up to the fix."
            beyond = least > row.limit["limit_deg"] + unsure_deg
            findings.append(view.finding(row, lap.inbound, least, "deg", what, error=82, beyond=beyond))
        elif beside_nm > row.limit["beside_nm"] and least > unsure_deg:
            beside += 1
            what = (
                f"inbound {beside_nm:.1f} NM beside the line up to the fix, {least:.0f} degrees off {course:03.0f}."
            )
            found = view.finding(row, lap.inbound, least, "deg", what, error=82, beyond=False)
            findings.append(replace(found, failed=beside >= _SEVERAL))
    if not judged:
        return not_judged(row, "The way inbound was too short or too near the station to tell.")
    return view.judged(row, worst_of_laps(findings), worst=f"{worst_deg:.0f}")


def _another_course(view: View, row: Row) -> Finding | None:
    """Entry and laps flown about one course that is not the published one; None if not so.

    What the wind makes of a leg outbound leads to the fix from beside the line as well: so the nose outbound lay
    round by as much as nobody lays off, to the side the wind pushes to, or the legs inbound, alike, began farther
    beside the line than any wind had carried.
    """
    arrived = pattern.arrival(view)
    if arrived is None:
        return None
    seen, course = view.seen, view.procedure.hold.inbound_course_deg
    legs = pattern.straight_legs(view, arrived)
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
    laid_round = view.nose_known and all(_laid_round_deg(view, run, off) >= pattern.HELD_DEG for run in of_laps)
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
    away, part = pattern.away_nm(view), slice(run[0], run[1] + 1)
    near = float(away[part].min())
    at = run[0] + int(np.argmin(away[part]))
    course = view.procedure.hold.inbound_course_deg if course_deg is None else course_deg
    return bool(
        near < pattern.BY_FIX_NM / 2
        and float(away[run[0]]) > near + _CAME_NM
        and at > run[0] + (run[1] - run[0]) // 2
        and abs(float(apart(mean_deg(view.seen.track_deg[part]), course))) < _TOO_FAR_DEG
    )


def _along_back(view: View, run: Run, course_deg: float) -> bool:
    """Whether a straight leg leads away on the other end of a course."""
    away = pattern.away_nm(view)
    off = abs(float(apart(mean_deg(view.seen.track_deg[run[0] : run[1] + 1]), float(reciprocal(course_deg)))))
    return bool(away[run[1]] > away[run[0]] and off < pattern.INBOUND_DEG)


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
    across_kt = _USUAL_KT
    if view.wind is not None:
        across_kt = abs(pattern.from_right_kt(view, view.wind)) + view.wind.unsure_kt
    if view.nose_known:  # the wind that was worked out may be that of another height
        for run in (before[-1], inward):
            part = slice(run[0], run[1] + 1)
            drift = np.deg2rad(np.median(apart(view.seen.track_deg[part], view.seen.heading_deg[part])))
            across_kt = max(across_kt, float(np.median(view.seen.gs_kt[part])) * abs(float(np.sin(drift))))
    begun = pattern.turn_begun(view, before[-1][0] - 1)
    lasted_s = float(view.seen.time_s[inward[0]] - view.seen.time_s[begun])
    beside_nm = abs(float(pattern.across_nm(view)[inward[0]]))
    return beside_nm > _ENOUGH_TIMES * across_kt * lasted_s / 3600.0 + pattern.ON_LINE_NM


def hold_leg(view: View, row: Row) -> Judgement:
    """Where the turn inbound begins, for legs by DME; how long the leg inbound takes, for legs by the clock."""
    arrived, laps = pattern.arrival(view), list(pattern.laps(view))
    if (elsewhere := _laps_elsewhere(view, row, arrived)) is not None:
        return view.judged(row, [elsewhere])
    on = None if arrived is None else not_turned(view, row, arrived)
    if on is not None and (on.critical or not is_flown_past(on)):
        return view.judged(row, [on])
    if (round_and_round := _circles(view, row)) is not None:
        return view.judged(row, [round_and_round])
    if arrived is not None and laps and (late := _turned_late(view, row, arrived, laps)) is not None:
        return view.judged(row, [late])
    if arrived is not None and (past := past_inbound(view, row, arrived)) is not None:
        return view.judged(row, [past])
    laps = laps or pattern.outbound_legs(view)
    if not laps:
        return not_judged(row, "No leg outbound with a turn inbound and a way back to the fix was recorded.")
    turn_dme = view.procedure.hold_turn_dme()
    if turn_dme is None:
        return _timed(view, row, laps, 60.0 * (view.procedure.hold.leg_min or 1.0))
    end_nm, rises = turn_dme
    findings, farther = list[Finding](), 0  # once is put right on the next lap
    for lap in laps:
        turned_nm = float(view.seen.dme_nm[lap.outbound[1]])
        beyond = (turned_nm - end_nm) * (1.0 if rises else -1.0)
        after = min(lap.outbound[1] + 1, len(view.seen) - 1)  # it may lie behind a pause
        unseen_s = max(float(view.seen.time_s[after] - view.seen.time_s[lap.outbound[1]]), view.seen.step_s)
        sampled_nm = float(view.seen.gs_kt[lap.outbound[1]]) / 3600.0 * unseen_s
        if abs(beyond) > row.limit["limit_nm"] + _LAST_NM + sampled_nm:
            side = "late" if beyond > 0 else "early"
            what = f"turned inbound at {turned_nm:.1f} DME, {abs(beyond):.1f} NM {side}: it ends at {end_nm:.0f}."
            cause, said = by_number(view, late=beyond > 0)
            found = view.finding(
                row, lap.outbound, abs(beyond), "NM", what, error=52, cause=cause, next_time=said, critical=False
            )
            # Too short it stays within what is protected: not passed where no time is left to find the line.
            left = 1.0 + beyond / pattern.leg_nm(view, lap.outbound[0])
            far = beyond > row.limit["failed_nm"]
            farther += far
            failed = (far and farther >= _SEVERAL) or beyond > _ONCE * row.limit["failed_nm"] or left < _HURRIED
            findings.append(replace(found, failed=failed))
    return view.judged(row, worst_by_part(findings), leg=f"Turned inbound at {end_nm:.0f} DME")


def _turned_late(view: View, row: Row, arrived: int, laps: list[pattern.Lap]) -> Finding | None:
    """Turns outbound begun far from the fix, lap for lap, which is where they begin; None if not so."""
    seen, hold, out_nm = view.seen, view.procedure.hold, pattern.out_nm(view)
    inbound = np.abs(apart(seen.track_deg, hold.inbound_course_deg)) < pattern.INBOUND_DEG
    begun = [run for run, turned in pattern.turns(view, arrived) if abs(turned) > pattern.BEGUN_TURN_DEG]
    turns = [run for run in begun[1:] if inbound[run[0]]]  # the first one is the entry's
    middle_nm = _off_the_fix_nm(view, row, turns)
    if not middle_nm or len(turns) < _SEVERAL:
        return None
    ends_nm = float(np.median([out_nm[lap.outbound[1]] for lap in laps])) - pattern.leg_nm(view, arrived)
    away = f"{abs(middle_nm):.1f} NM {'before' if middle_nm > 0.0 else 'past'} {hold.fix}"
    if abs(ends_nm - middle_nm) < _ELSEWHERE_NM:
        what = f"the laps have their length and lie {away}, as it is seen on the way inbound."
        return _off_fix(view, row, turns, abs(middle_nm), what, _OTHER_FIX)
    what = f"turned outbound {away} on {len(turns)} laps; the turn begins at the fix."
    cause = "turned before the fix was there" if middle_nm > 0.0 else "the passage of the fix was missed"
    return _off_fix(view, row, turns, abs(middle_nm), what, cause)


def _off_the_fix_nm(view: View, row: Row, turns: list[Run]) -> float:
    """How far outbound of the fix turns were begun, past it negative; 0 unless all of them were far to one side."""
    if not turns:
        return 0.0
    seen, first = view.seen, [run[0] for run in turns]
    off_nm = pattern.out_nm(view)[first]
    least_nm = row.limit["fix_nm"] + seen.position_nm + _LAST_NM + seen.gs_kt[first] / 3600.0 * seen.step_s
    alike = bool((off_nm > least_nm).all() or (off_nm < -least_nm).all())
    return float(np.median(off_nm)) if alike else 0.0


def _circles(view: View, row: Row) -> Finding | None:
    """Round and round at the fix, with no leg between the turns; None if not so."""
    arrived = pattern.arrival(view)
    if arrived is None:
        return None
    round_s = [turn for turn in pattern.turns(view, arrived) if abs(turn[1]) > _ROUND_DEG]
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


def _laps_elsewhere(view: View, row: Row, arrived: int | None) -> Finding | None:
    """Laps on the line of the hold whose turns outbound all lie far from the fix; None if not so."""
    since = view.after_missed_at
    if since is None:
        return None
    seen, hold, out_nm = view.seen, view.procedure.hold, pattern.out_nm(view)
    on_line = np.abs(apart(seen.track_deg, hold.inbound_course_deg)) < pattern.INBOUND_DEG
    on_line &= (np.abs(pattern.across_nm(view)) < pattern.WELL_ASTRAY_NM) & (np.abs(out_nm) < _FARTHEST_NM)
    whole = [run for run, _ in pattern.whole_turns(view, since)]
    turns = [run for run in whole if on_line[run[0]]]
    if len(turns) < _SEVERAL and (arrived is not None or not _one_lap(view, whole, turns)):
        return None
    if arrived is not None and turns[0][0] > arrived:
        return None  # the fix was there first: what came after it is another matter
    off_nm = _off_the_fix_nm(view, row, turns)
    if not off_nm:
        return None
    side = "before" if off_nm > 0.0 else "past"
    then = "; it was never reached" if arrived is None else ""
    what = f"the laps were flown {abs(off_nm):.1f} NM {side} {hold.fix}, as it is seen inbound{then}."
    return _off_fix(view, row, turns, abs(off_nm), what, _OTHER_FIX)


def _one_lap(view: View, whole: list[Run], on_line: list[Run]) -> bool:
    """Whether a turn begun on the line of the hold was followed by another one that led back on to it."""
    if not on_line:
        return False
    back = [run for run in whole if run[0] > on_line[0][1]]
    if not back:
        return False
    course = view.procedure.hold.inbound_course_deg
    again = (view.numbers > back[0][1]) & ~view.turning & (np.abs(pattern.across_nm(view)) < pattern.ASTRAY_NM)
    again &= np.abs(apart(view.seen.track_deg, course)) < pattern.INBOUND_DEG
    return bool(view.runs(again, pattern.LEG_S))


def _off_fix(view: View, row: Row, turns: list[Run], off_nm: float, what: str, cause: str) -> Finding:
    """What is said of laps whose turns do not begin at the fix."""
    first, last = turns[0][0], turns[-1][1]
    run = (first, last, float(view.seen.time_s[last] - view.seen.time_s[first]))
    said = "the fix by its radial and its distance: there, turn"
    far = off_nm > row.limit["elsewhere_nm"]
    found = view.finding(row, run, off_nm, "NM", what, cause=cause, next_time=said, critical=far)
    return replace(found, failed=off_nm > row.limit["failed_nm"])


def _timed(view: View, row: Row, laps: list[pattern.Lap], wanted_s: float) -> Judgement:
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
        # Too short it stays within what is protected, and the clock puts it right on the next lap.
        hardly = lap.outbound[2] < _NO_LEG * wanted_s
        findings.append(replace(found, failed=off_nm > row.limit["failed_nm"] or hardly))
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
