"""The hold as it was flown: when its fix was reached, its turns, its laps, and where every sample lies in it."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from needlework.basis.quantity import Constant, Floats
from needlework.debrief.air import Wind
from needlework.debrief.evidence import View
from needlework.debrief.findings import Mask, Run, apart, mean_deg
from needlework.debrief.pieces import place
from needlework.trade.angles import reciprocal

BY_FIX_NM = Constant(1.5, "NM", "common-practice", "as near to the fix a leg was flown to it")
INBOUND_DEG = Constant(40.0, "deg", "common-practice", "of the inbound course: on the way in")
WAVER_S = Constant(15.0, "s", "common-practice", "shorter it is a waver of the hand, and no turn")
LEG_S = Constant(12.0, "s", "common-practice", "shorter than this it is no leg")
WHOLE_TURN_DEG = Constant(120.0, "deg", "common-practice", "from one leg of a hold to the other")
BEGUN_TURN_DEG = Constant(60.0, "deg", "common-practice", "no waver: such a turn was begun")
ON_LINE_NM = Constant(0.4, "NM", "common-practice", "beside the inbound line, and on it")
ASTRAY_NM = Constant(0.6, "NM", "common-practice", "beside the inbound line, and off it")
WELL_ASTRAY_NM = Constant(1.5, "NM", "common-practice", "beside it by what no turn explains")
HELD_DEG = Constant(5.0, "deg", "common-practice", "what a heading that is worked out is good to")
_AT_FIX_NM, _WAVER_DEG = 0.6, 15.0
_LEVEL_WINGS_S = 8.0
_OUTWARD_DEG, _OVER_NM = 140.0, 0.1  # the correction of triple drift, at most, and the last digit of a DME
_LONG_LEG_S = 40.0  # so long it is one, wherever it leads


def arrival(view: View) -> int | None:
    """Sample nearest the holding fix, the first time it is reached after the missed approach."""
    since_at = view.after_missed_at
    if since_at is None:
        return None
    away = away_nm(view)
    left = np.flatnonzero((view.numbers > since_at) & (away > 2 * _AT_FIX_NM))
    if not len(left):
        return None
    alone = view.climb_at is None  # then it begins at the fix
    runs = view.runs((view.numbers >= (since_at if alone else left[0] + 1)) & (away < _AT_FIX_NM))
    if not runs:
        return None
    first, last, _ = runs[0]
    return first + int(np.argmin(away[first : last + 1]))


def since(view: View, arrived: int) -> Mask:
    """Samples after the fix was reached, up to where the flight left for elsewhere."""
    return np.asarray((view.numbers > arrived) & ~view.mask(kind="elsewhere"))


def hand(view: View) -> float:
    """1 for a hold to the right, -1 for one to the left."""
    return 1.0 if view.procedure.hold.turn == "right" else -1.0


def from_right_kt(view: View, wind: Wind) -> float:
    """How much of a wind blows from the right of the inbound course. [kt]"""
    course_true = view.procedure.hold.inbound_course_deg + view.procedure.station.declination_deg
    return wind.kt * float(np.sin(np.deg2rad(wind.from_deg_true - course_true)))


def away_nm(view: View) -> Floats:
    """Distance of every sample from the holding fix. [NM]"""
    return view.away_nm(view.procedure.hold.fix)


def across_nm(view: View) -> Floats:
    """How far every sample lies from the inbound line, on the holding side positive. [NM]"""
    hold = view.procedure.hold
    course = np.deg2rad(hold.inbound_course_deg + view.procedure.station.declination_deg)
    east, north = place(view.procedure, hold.fix)
    return np.asarray(
        hand(view) * ((view.seen.east_nm - east) * np.cos(course) - (view.seen.north_nm - north) * np.sin(course))
    )


def out_nm(view: View) -> Floats:
    """How far outbound of the holding fix every sample lies. [NM]"""
    seen, hold = view.seen, view.procedure.hold
    course = np.deg2rad(hold.inbound_course_deg + view.procedure.station.declination_deg)
    east, north = place(view.procedure, hold.fix)
    return np.asarray(-((seen.east_nm - east) * np.sin(course) + (seen.north_nm - north) * np.cos(course)))


def leg_nm(view: View, arrived: int) -> float:
    """Length of the leg outbound over the ground. [NM]"""
    hold = view.procedure.hold
    after = since(view, arrived) & view.mask("hold", "missed", "after")
    return hold.leg_dme_nm or float(np.median(view.seen.gs_kt[after])) / 60.0 * (hold.leg_min or 1.0)


def recent_deg(view: View, direction_deg: Floats, at: int) -> float:
    """Mean of a direction over the seconds before a sample."""
    near = (view.seen.time_s > view.seen.time_s[at] - 15.0) & (view.seen.time_s <= view.seen.time_s[at])
    return mean_deg(direction_deg[near])


def turn_begun(view: View, at: int) -> int:
    """First sample of the turn a sample lies in."""
    while at > 0 and view.turning[at - 1]:
        at -= 1
    return at


def turns(view: View, arrived: int) -> list[tuple[Run, float]]:
    """Turns after the fix was reached, and how far each went, right positive. [deg]"""
    after = since(view, arrived) & view.mask("hold", "missed", "after")
    heading = np.rad2deg(np.unwrap(np.deg2rad(view.seen.track_deg)))
    return [(run, float(heading[run[1]] - heading[run[0]])) for run in view.runs(after & view.turning, 10.0)]


def whole_turns(view: View, since: int) -> list[tuple[Run, float]]:
    """Turns from one leg of a hold to the other; one that the recording ends in is seen by its beginning."""
    ends = len(view.seen) - 1 - view.samples(5.0)
    return [
        turn
        for turn in turns(view, since)
        if abs(turn[1]) > (BEGUN_TURN_DEG if turn[0][1] >= ends else WHOLE_TURN_DEG)
    ]


@dataclass(frozen=True)
class Lap:
    """One lap after the entry: its straight legs as first sample, last sample and length [s]."""

    number: int
    outbound: Run
    inbound: Run


def laps(view: View) -> Iterator[Lap]:
    """Whole laps after the entry: straight outbound, turned, straight inbound to the fix."""
    arrived = arrival(view)
    if arrived is None:
        return
    seen, course = view.seen, view.procedure.hold.inbound_course_deg
    straight = since(view, arrived) & ~view.turning
    to_course = np.abs(apart(seen.track_deg, course))
    legs = [(run, False) for run in unbroken(view, straight & (to_course > 120.0)) if run[2] >= LEG_S]
    # Close to the fix a course is still being corrected; a leg inbound is one that gets there.
    away = away_nm(view)
    legs += [
        (run, True)
        for run in unbroken(view, straight & (to_course < INBOUND_DEG))
        if run[2] >= LEG_S
        if float(away[run[0] : run[1] + 1].min()) < BY_FIX_NM or run[2] > _LONG_LEG_S
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
            yield Lap(number, outbound, (run[0], at_fix, length))
            outbound = None
        else:
            entered, outbound = True, None


def outbound_legs(view: View) -> list[Lap]:
    """Legs outbound between two turns of the hold, with what led back to the fix, however short.

    That of a direct entry is one of them; that of a parallel entry or a teardrop has a length of its own, and begins
    at the fix and not beside it.
    """
    arrived = arrival(view)
    if arrived is None:
        return []
    seen, out, hold, found = view.seen, out_nm(view), view.procedure.hold, list[Lap]()
    away, across, wanted_s = away_nm(view), across_nm(view), 60.0 * (hold.leg_min or 0.0)
    whole = [run for run, turned in turns(view, arrived) if turned * hand(view) > BEGUN_TURN_DEG]
    for off, back in itertools.pairwise(whole):
        first, last = off[1] + 1, back[0] - 1
        if not view.runs((view.numbers >= first) & (view.numbers <= last) & ~view.turning, _LEVEL_WINGS_S):
            continue
        outward = abs(float(apart(mean_deg(seen.track_deg[first : last + 1]), hold.inbound_course_deg)))
        after = np.flatnonzero((view.numbers > back[1]) & (out < _OVER_NM) & (away < BY_FIX_NM))
        one = len(after) > 0 and seen.stretch[off[0]] == seen.stretch[after[0]]
        if not one or outward < _OUTWARD_DEG or across[first] < ON_LINE_NM or away[off[0]] > _AT_FIX_NM:
            continue
        # Timed from abeam the fix or from wings level: whichever of them was meant.
        abeam = first + int(np.argmax(out[first : last + 1] > 0.0))
        longest_s, shortest_s = (float(seen.time_s[last] - seen.time_s[at]) + seen.step_s for at in (first, abeam))
        outbound = (first, last, min(max(wanted_s, shortest_s), longest_s))
        inbound = (back[1] + 1, int(after[0]), float(seen.time_s[after[0]] - seen.time_s[back[1]]))
        found.append(Lap(len(found) + 1, outbound, inbound))
    return found


def straight_legs(view: View, arrived: int) -> list[Run]:
    """Straight legs after the fix was reached, wherever they lead."""
    straight = since(view, arrived) & ~view.turning & view.mask("hold", "missed", "after")
    return [run for run in unbroken(view, straight) if run[2] >= LEG_S]


def unbroken(view: View, mask: Mask) -> list[Run]:
    """Runs of a mask, joined where a waver parts them that leads nowhere else."""
    seen, joined = view.seen, list[Run]()
    for run in view.runs(mask):
        before = joined[-1] if joined else None
        if before is not None and seen.stretch[before[1]] == seen.stretch[run[0]]:
            turned = abs(float(apart(seen.track_deg[run[0]], seen.track_deg[before[1]])))
            if seen.time_s[run[0]] - seen.time_s[before[1]] <= WAVER_S and turned < _WAVER_DEG:
                length = float(seen.time_s[run[1]] - seen.time_s[before[0]]) + seen.step_s
                joined[-1] = before[0], run[1], length
                continue
        joined.append(run)
    return joined


def rolled_out(view: View, lap: Lap) -> int:
    """Sample where the turn inbound ended, whatever cut back to the line came after it."""
    between = (view.numbers > lap.outbound[1]) & (view.numbers < lap.inbound[0]) & ~view.turning
    straight = view.runs(between, _LEVEL_WINGS_S)
    return straight[0][0] if straight else lap.inbound[0]


def to_holding_side_deg(view: View, part: slice) -> float:
    """How far to the holding side of the outbound course a part leads; outbound it lies to the other hand. [deg]"""
    outbound = float(reciprocal(view.procedure.hold.inbound_course_deg))
    return -hand(view) * float(apart(mean_deg(view.seen.track_deg[part]), outbound))
