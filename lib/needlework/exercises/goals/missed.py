"""What a flown missed approach is judged by: the climb, the turn, the radial, the entry, the way back to the fix.

Radials and courses are read from the givens: ``course_deg`` (final), ``radial_deg`` (outbound to the fix) and
``hold_deg`` (inbound course of the hold, back along that radial).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from needlework.basis.quantity import Floats
from needlework.exercises.goals import Goal, Met
from needlework.exercises.goals.common import written
from needlework.exercises.goals.descent import along_nm
from needlework.exercises.goals.seen import Seen
from needlework.exercises.kinds import Givens
from needlework.trade import wind
from needlework.trade.angles import difference_deg, reciprocal, three_digits
from needlework.trade.holding import TEARDROP_DEG

_TURNED_DEG = 15.0
_HALF_DEG = 0.5  # headings are written whole, and the right one is rounded as well
_READ_FT = 50.0  # what a turn begun while the needle of the altimeter still moves may miss
_WANDER_FT, _AWAY_FT = 25.0, 150.0
_BEYOND_NM = 2.0  # a slow climb to the altitude of the turn ends before; farther on nobody has checked
_WAITS_FT = 500.0  # this far above the published altitude a line leads miles beyond the turn
_LEVEL_NM = 0.6  # so far level after the decision is more than a late hand
_BACK_DEG = 60.0  # this far from the outbound leg is a turn inbound, not a correction
_SIDE_NM = 0.8  # a turn begun at the fix in wind swings out this far without being on the wrong side
# A parallel leg is flown on the side away from the hold (AIM 5-3-8); fifteen degrees off it end farther out.
_BESIDE_NM = 1.5


def climb_begins(seen: Seen) -> int:
    """Sample at which the flight leaves its lowest altitude for good; the number of samples if it never does.

    Levelling off ends with a few feet of wandering: these are not yet a climb.
    """
    alt = seen.track.alt_ft
    bottom = len(alt) - 1 - int(np.argmin(alt[::-1]))
    away = np.flatnonzero(alt[bottom:] > alt[bottom] + _AWAY_FT)
    if not len(away):
        return len(alt)
    return bottom + int(np.flatnonzero(alt[bottom : bottom + int(away[0])] <= alt[bottom] + _WANDER_FT)[-1])


def _turn_at(seen: Seen, begin: int) -> int:
    """Sample at which the turn after the climb begins; the number of samples if there was none."""
    heading = seen.column("heading_deg")
    off = np.abs(np.asarray(difference_deg(from_deg=float(heading[begin]), to_deg=heading)))
    turning = np.flatnonzero((off > _TURNED_DEG) & (np.arange(len(off)) > begin))
    return int(turning[0]) if len(turning) else len(off)


def climb_from(dme: str, weight: float = 1.0, late_nm: float = 0.25, earliest_nm: float | None = None) -> Goal:
    """Judge that the climb begins where it was decided; ``dme`` names the reading in the givens.

    ``earliest_nm``: how far before it the climb may begin, any distance when left out: giving up early is allowed.
    """

    def judge(g: Givens, seen: Seen) -> Met:
        begin, along = climb_begins(seen), along_nm(g, seen)
        if begin >= len(along):
            return Met(0.0, "There was no climb.")
        late = float(along[begin]) - float(g[dme])
        if earliest_nm is not None and late < -earliest_nm:
            return Met(0.5, f"The climb began {-late:.1f} NM before there was a reason for it.")
        if late <= late_nm:
            return Met(1.0, f"Climbing at {along[begin]:.1f} DME.")
        return Met(
            0.3 if late <= _LEVEL_NM else 0.0,
            f"Decided, and then level for another {late:.1f} NM. Once decided there is nothing left to wait for.",
        )

    return Goal("climb as soon as it is decided", weight, judge)


def turn_in_time(map_nm: float, climb_to_ft: float, weight: float = 2.0) -> Goal:
    """Judge that nobody turns before the missed approach point, miles beyond it, or below the altitude of the turn."""

    def judge(g: Givens, seen: Seen) -> Met:
        begin, along = climb_begins(seen), along_nm(g, seen)
        at = _turn_at(seen, begin) if begin < len(along) else len(along)
        if at >= len(along):
            return Met(0.0, "After the climb there was no turn, so the missed approach was not flown.")
        early = map_nm - float(along[at])
        if early > 0.1:
            return Met(
                0.0,
                f"Turned {early:.1f} NM before the MAP. Nobody has checked that ground: climb now, turn there.",
            )
        if -early > _BEYOND_NM:
            return Met(
                0.0,
                f"Turned {-early:.1f} NM beyond the MAP. The turn is protected from the MAP and its altitude on; miles "
                "straight ahead of it nobody has checked that ground.",
            )
        low = climb_to_ft - float(seen.track.alt_ft[at])
        if low > _READ_FT:
            return Met(0.0, f"Turned {low:.0f} ft below the altitude published for the turn.")
        return Met(1.0, f"Turned at {along[at]:.1f} DME, {seen.track.alt_ft[at]:,.0f} ft.")

    return Goal("no turn before the MAP and its altitude", weight, judge, critical=True)


def written_altitude(label: str, published_ft: float, weight: float = 1.0) -> Goal:
    """Judge a line of a filled plan against the published altitude, whatever today's climb makes of it."""

    def judge(_g: Givens, turn_ft: float) -> Met:
        off = turn_ft - published_ft
        if abs(off) <= 20.0:
            return Met(1.0, f"{published_ft:,.0f} ft, as published.")
        if off < 0.0:
            return Met(
                0.0,
                f"Your line lets the turn begin {-off:.0f} ft below the published altitude. Today you may be above it "
                "anyway; deciding at the missed approach point you would turn too low.",
            )
        return Met(
            0.3 if off <= _WAITS_FT else 0.0,
            f"Your line waits for {off:,.0f} ft more than published, and leads straight on meanwhile"
            + ("." if off <= _WAITS_FT else ", miles beyond the turn that is protected."),
        )

    return written(label, " as published", judge, weight, critical=True)


def written_within(
    label: str, value: float, within: float, says: str, weight: float = 1.0, critical: float = 0.0
) -> Goal:
    """Judge a line of a filled plan against what is published, where the flight alone would forgive it; ``critical``: above 0 for yes."""

    def judge(_g: Givens, filled: float) -> Met:
        if abs(filled - value) <= within + 1e-9:
            return Met(1.0, "As published.")
        return Met(0.0, says)

    return written(label, " as published", judge, weight, critical=critical > 0.0)


def turned_to(side: str, weight: float = 1.0) -> Goal:
    """Judge the side of the climbing turn."""

    def judge(_g: Givens, seen: Seen) -> Met:
        begin = climb_begins(seen)
        at = _turn_at(seen, begin) if begin < len(seen.time_s) else len(seen.time_s)
        if at >= len(seen.time_s):
            return Met(0.0, "There was no turn.", flown=False)
        turned = np.unwrap(seen.column("heading_deg"), period=360.0)
        went = "right" if turned[at] > turned[begin] else "left"
        if went == side:
            return Met(1.0, f"Turned {side}, as published.")
        return Met(0.0, f"Turned {went}; published is {side}. The other side has not been checked.")

    return Goal(f"turn to the {side}", weight, judge, critical=True)


def level_at(alt_ft: float, from_nm: float, weight: float = 1.0) -> Goal:
    """Judge the altitude from a distance from the station on, once outbound."""

    def judge(g: Givens, seen: Seen) -> Met:
        part = (seen.dist_nm >= from_nm) & (np.arange(len(seen.time_s)) > climb_begins(seen))
        if not part.any():
            return Met(0.0, f"The flight never came {from_nm:g} NM out.")
        off = seen.track.alt_ft[part] - alt_ft
        worst = float(off[np.argmax(np.abs(off))])
        if abs(worst) <= 100.0:
            return Met(1.0, f"Within {abs(worst):.0f} ft of {alt_ft:,.0f} from {from_nm:g} NM on.")
        return Met(
            0.0, f"{abs(worst):.0f} ft {'above' if worst > 0 else 'below'} {alt_ft:,.0f} ft in or near the hold."
        )

    return Goal(f"{alt_ft:,.0f} ft within 100 from {from_nm:g} NM on", weight, judge)


def _after_fix(seen: Seen, g: Givens, fix_nm: float) -> int | None:
    """First sample at the fix, outbound on its side of the station; None if it was never reached."""
    near = np.abs(np.asarray(difference_deg(from_deg=g["radial_deg"], to_deg=seen.radial_deg))) < 20.0
    there = np.flatnonzero((seen.dist_nm >= fix_nm) & near)
    return int(there[0]) if len(there) else None


def _right_of_nm(seen: Seen, g: Givens) -> Floats:
    """Distance right of the inbound course of the hold. [NM]"""
    angle = np.deg2rad(np.asarray(difference_deg(from_deg=g["radial_deg"], to_deg=seen.radial_deg)))
    return np.asarray(-seen.dist_nm * np.sin(angle))


def entered(fix_nm: float, hand: float, weight: float = 2.0, limit_deg: float = 15.0) -> Goal:
    """Judge the track flown outbound from the fix: along the outbound course, or 30 degrees into the pattern.

    ``hand`` is 1 for a hold with right turns, -1 with left. The wind is allowed for: judged is the track.
    """

    def judge(g: Givens, seen: Seen) -> Met:
        leg = _entry_leg(seen, g, fix_nm, hand)
        if leg is None:
            return Met(0.0, "No outbound leg was flown from the fix, so no entry could be judged.")
        into = hand * float(TEARDROP_DEG) if leg.name == "teardrop" else 0.0
        if abs(float(difference_deg(from_deg=g["hold_deg"] + 180.0 - into, to_deg=leg.track_deg))) <= limit_deg:
            return Met(1.0, f"A {leg.name} entry, tracking {three_digits(direction_deg=leg.track_deg)} outbound.")
        return Met(
            0.0,
            f"Outbound from the fix the track was {three_digits(direction_deg=leg.track_deg)}: neither along the outbound course nor 30 "
            "degrees into the pattern.",
        )

    return Goal("a parallel or teardrop entry", weight, judge)


def protected_side(fix_nm: float, hand: float, weight: float = 2.0) -> Goal:
    """Judge that beyond the fix the flight stays on the side of the hold, a parallel leg close to the course."""

    def judge(g: Givens, seen: Seen) -> Met:
        at = _after_fix(seen, g, fix_nm)
        if at is None:
            return Met(0.0, "The fix was never reached.")
        beyond = float(np.max(-hand * _right_of_nm(seen, g)[at:]))
        leg = _entry_leg(seen, g, fix_nm, hand)
        parallel = leg is not None and leg.name == "parallel"
        if beyond <= (_BESIDE_NM if parallel else _SIDE_NM):
            return Met(1.0, "Outbound close to the course." if parallel else "Stayed on the side of the hold.")
        asked = "A parallel leg keeps close to the course" if parallel else "A teardrop keeps to the hold's side"
        return Met(0.0, f"{beyond:.1f} NM on the far side of the inbound course. {asked}.")

    return Goal("on the side of the hold, or close to the course", weight, judge)


@dataclass(frozen=True)
class _EntryLeg:
    """The outbound leg of an entry: its sample two miles beyond the fix, its track up to there, what it looks like."""

    at: int
    track_deg: float
    name: str
    outward: bool


def _entry_leg(seen: Seen, g: Givens, fix_nm: float, hand: float) -> _EntryLeg | None:
    """Find the leg outbound from the fix; None if it was not flown."""
    at = _after_fix(seen, g, fix_nm)
    leg = None if at is None else np.flatnonzero(seen.dist_nm[at:] >= fix_nm + 2.0)
    if at is None or leg is None or not len(leg):
        return None
    begin = at + int(leg[0])
    # The first half mile is the turn at the fix.
    track = seen.track_deg(at + int(np.argmax(seen.dist_nm[at:] >= fix_nm + 0.5)), begin)
    leans = -hand * float(difference_deg(from_deg=g["hold_deg"] + 180.0, to_deg=track))
    half = float(TEARDROP_DEG) / 2.0
    return _EntryLeg(begin, track, "teardrop" if leans > half else "parallel", leans < -half)


def turned_inbound(fix_nm: float, hand: float, weight: float = 2.0) -> Goal:
    """Judge the side of the turn back to the course: into the hold from a parallel leg, on to the course from a teardrop.

    ``hand`` is 1 for a hold with right turns, -1 with left.
    """

    def judge(g: Givens, seen: Seen) -> Met:
        leg = _entry_leg(seen, g, fix_nm, hand)
        if leg is None:
            return Met(0.0, "No outbound leg was flown from the fix, so there was no turn back from it.", flown=False)
        name = leg.name
        turned = np.unwrap(seen.column("heading_deg"), period=360.0)[leg.at :]
        turning = np.flatnonzero(np.abs(turned - turned[0]) > _BACK_DEG)
        if not len(turning):
            return Met(0.0, "There was no turn back to the inbound course.", flown=False)
        if leg.outward and (turned[turning[0]] - turned[0]) * hand > 0.0:
            return Met(
                0.0,
                "The leg out leaned away from the hold, to the unprotected side: a teardrop leans into the pattern.",
            )
        side = hand if name == "teardrop" else -hand
        said = "right" if side > 0 else "left"
        if (turned[turning[0]] - turned[0]) * side > 0.0:
            return Met(1.0, f"Turned back to the {said} from the {name} leg.")
        where = "on to the course" if name == "teardrop" else "to the side of the hold"
        return Met(
            0.0, f"The turn inbound went the wrong way round: from a {name} leg here you turn {said}, {where}."
        )

    return Goal("turn inbound to the right side", weight, judge, critical=True)


def outbound_ends(end_nm: float, weight: float = 1.0) -> Goal:
    """Judge how far out the outbound leg goes; the turn itself may carry a mile beyond."""

    def judge(_g: Givens, seen: Seen) -> Met:
        farthest = float(seen.dist_nm.max())
        if farthest < end_nm - 0.4:
            return Met(0.0, f"The farthest was {farthest:.1f} NM; the leg ends at {end_nm:g} DME.")
        if farthest > end_nm + 1.6:
            return Met(0.0, f"Out to {farthest:.1f} NM: the turn inbound belongs to {end_nm:g} DME.")
        return Met(1.0, f"Turned inbound at about {end_nm:g} DME.")

    return Goal(f"outbound leg to {end_nm:g} DME", weight, judge)


def entry_heading_written(
    label: str, side_label: str, hand: float, within_deg: float = 3.0, weight: float = 2.0
) -> Goal:
    """Judge the heading written for the entry leg: parallel or teardrop, with the wind correction of a tracked leg.

    Reads the wind from the givens: ``tas_kt``, ``wind_true_deg``, ``wind_kt``, ``variation_deg`` (west). The side of
    the turn back, written on another line, says which of the two entries is meant.
    """

    leans = {"teardrop": -hand, "parallel": 0.0, "teardrop outwards": hand}

    def held(g: Givens, name: str) -> float:
        course = float(reciprocal(g["hold_deg"])) + leans[name] * float(TEARDROP_DEG)
        blows_from = g["wind_true_deg"] + g["variation_deg"]
        return float(
            np.asarray(
                wind.heading_deg(
                    course_deg=course, tas_kt=g["tas_kt"], wind_from_deg=blows_from, wind_kt=g["wind_kt"]
                )
            )
        )

    def judge(g: Givens, heading: float) -> Met:
        side = g["filled"][side_label]
        name, other = ("teardrop", "parallel") if (side == "RIGHT") == (hand > 0.0) else ("parallel", "teardrop")
        off = float(difference_deg(from_deg=held(g, name), to_deg=heading))
        if abs(off) <= within_deg + _HALF_DEG:
            return Met(1.0, f"The heading of a {name} entry, wind allowed for.")
        if abs(float(difference_deg(from_deg=held(g, other), to_deg=heading))) <= within_deg + _HALF_DEG:
            return Met(
                0.0,
                f"This heading belongs to a {other} entry, the turn inbound to the {side.lower()} to a {name}: the two "
                "lines have to be of one entry.",
            )
        apart = {each: abs(float(difference_deg(from_deg=held(g, each), to_deg=heading))) for each in leans}
        if min(apart, key=lambda each: apart[each]) == "teardrop outwards":
            into = "left" if hand > 0.0 else "right"
            return Met(
                0.0,
                "This is about the heading of a teardrop that leans out of the pattern, to the unprotected side. It leans "
                f"into it: outbound, then 30 degrees to the {into}, and the wind correction, once.",
            )
        if apart[other] < 0.5 * abs(off):
            return Met(
                0.0,
                f"This is about the heading of a {other} entry, without the right wind correction; the turn inbound to the "
                f"{side.lower()} belongs to a {name}. Choose one entry for both lines; then the correction goes in, once.",
            )
        too_far = "right" if off > 0 else "left"
        return Met(
            0.0,
            f"With the turn inbound to the {side.lower()} this is a {name} entry; your heading is {abs(off):.0f} degrees "
            f"too far {too_far} for it. Course of the leg first, then the wind correction, once.",
        )

    return written(label, ": entry and wind", judge, weight)


def _turns(seen: Seen) -> list[tuple[int, int]]:
    """First and last sample of every turn of more than a hundred degrees."""
    heading = np.unwrap(seen.column("heading_deg"), period=360.0)
    turning = np.flatnonzero(np.abs(np.gradient(heading, seen.time_s)) > 1.4)
    stretches = np.split(turning, np.flatnonzero(np.diff(turning) > 5) + 1) if len(turning) else []
    return [(int(s[0]), int(s[-1])) for s in stretches if abs(heading[s[-1]] - heading[s[0]]) > 100.0]


def _lap_ends(seen: Seen) -> int | None:
    """Sample at which the turn inbound of a lap has ended; None where no lap was flown."""
    turns = _turns(seen)
    return turns[1][1] if len(turns) > 1 else None


def _beside_nm(g: Givens, seen: Seen, at: int) -> float:
    """Distance right of the inbound course at a sample. [NM]"""
    angle = np.deg2rad(float(difference_deg(from_deg=g["radial_deg"], to_deg=seen.radial_deg[at])))
    along = float(np.cos(np.deg2rad(float(difference_deg(from_deg=g["radial_deg"], to_deg=g["hold_deg"])))))
    return float(np.sign(along) * seen.dist_nm[at] * np.sin(angle))


def lap_side(side: str, weight: float = 2.0) -> Goal:
    """Judge that both turns of a lap go to the side of the hold."""

    def judge(_g: Givens, seen: Seen) -> Met:
        turns = _turns(seen)
        if len(turns) < 2:
            return Met(0.0, "There was no whole lap: a turn outbound, a leg, a turn inbound.", flown=False)
        heading = np.unwrap(seen.column("heading_deg"), period=360.0)
        for name, (begin, end) in zip(("outbound", "inbound"), turns, strict=False):
            went = "right" if heading[end] > heading[begin] else "left"
            if went != side:
                return Met(0.0, f"The turn {name} went to the {went}: this hold has {side} turns.")
        return Met(1.0, f"Both turns to the {side}.")

    return Goal(f"turns to the {side}", weight, judge, critical=True)


def lap_on_course(limit_nm: float = 0.3, weight: float = 2.0) -> Goal:
    """Judge how far beside the inbound course the turn inbound ends."""

    def judge(g: Givens, seen: Seen) -> Met:
        end = _lap_ends(seen)
        if end is None:
            return Met(0.0, "There was no turn inbound.")
        beside = _beside_nm(g, seen, end)
        if abs(beside) <= limit_nm:
            return Met(1.0, f"The turn inbound ended {abs(beside):.1f} NM beside the course.")
        side = "right" if beside > 0 else "left"
        return Met(
            0.0,
            f"The turn inbound ended {abs(beside):.1f} NM {side} of the course. The outbound leg has to pay for the "
            "drift of both turns as well.",
        )

    return Goal(f"turn inbound ends within {limit_nm:g} NM of the course", weight, judge)


def lap_time(wanted_s: float = 60.0, limit_s: float = 10.0, weight: float = 2.0) -> Goal:
    """Judge the time from the end of the turn inbound to the fix, where the flight ends."""

    def judge(_g: Givens, seen: Seen) -> Met:
        end = _lap_ends(seen)
        if end is None:
            return Met(0.0, "There was no leg inbound.")
        took = float(seen.time_s[-1] - seen.time_s[end])
        if abs(took - wanted_s) <= limit_s:
            return Met(1.0, f"Inbound in {took:.0f} seconds.")
        return Met(
            0.0,
            f"Inbound took {took:.0f} seconds: {abs(took - wanted_s):.0f} too {'many' if took > wanted_s else 'few'}.",
        )

    return Goal(f"inbound leg of {wanted_s:.0f} seconds, within {limit_s:.0f}", weight, judge)
