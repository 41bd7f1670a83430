"""The pieces a flight of a procedure is made of: its legs, what comes before them and what follows them."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from needlework.basis.quantity import Floats
from needlework.debrief.indications import Seen
from needlework.trade.angles import turn_deg
from needlework.trade.units import NM_M
from needlework.world.procedure import Procedure
from needlework.world.procedure_parts import Leg, along_nm

Outcome = Literal["landing", "missed", "incomplete"]
Kind = Literal[
    "before",
    "radial",
    "arc",
    "timed",
    "procedure turn",
    "climb",
    "turn",
    "out",
    "hold",
    "landing",
    "circling",
    "after",
    "elsewhere",
]

_BACK_FT = 250.0  # a climb of this much from the lowest point of the final is a go-around
_DOWN_FT = 150.0
_AWAY_FT, _CLIMBS_S, _STILL_FT = 500.0, 60.0, 60.0  # of a climb away; so little in so long is no part of one
_CIRCLE_NM = 5.0  # of the threshold: farther away nobody circles to land
_GROUND_S, _ROLLING_KT, _GROUND_FT = 120.0, 45.0, 500.0  # a recording that begins with a take-off
_NEAR_FT = 300.0
_STRAIGHT_NM = 6.0  # how far past the missed approach point the climb straight ahead may go
_JUST_OFF_FT = 200.0  # lower than this at the beginning, it is a take-off whatever the speed
_STANDING_S, _STANDING_FT, _STANDING_KT = 10.0, 15.0, 60.0  # at the end of a recording: on the runway
_FIELD_NM = 0.6
_FIELD_BY_NM, _STOPPED_KT = 2.5, 20.0  # slower than anything flies
_BESIDE_NM, _BEYOND_NM = 0.2, 2.0
_DOWN_FT_ABOVE, _FT_A_MILE = 15.0, 300.0  # so low the wheels are as good as down; a descent to a runway
_BESIDE_RUNWAY_NM, _SHORT_OF_IT_NM = 0.08, 0.05
_ROLLS_OUT_S = 8.0  # into a strong wind even who flies is as slow as who rolls, but not for so long at the ground
_FARTHEST_IN_NM = 15.0  # a leg without a beginning of its own reaches this far back


@dataclass(frozen=True)
class Piece:
    """One part a flight is cut into: a leg of the procedure, or a part of what follows it.

    ``fix`` names the fix where the piece begins (None where it begins anywhere).
    """

    kind: Kind
    segment: str
    text: str
    leg: Leg | None = None
    course_deg: float | None = None
    start_nm: float = -99.0
    end_nm: float = 99.0
    radial_deg: float = 0.0
    arc_nm: float = 0.0
    span_deg: float = 0.0
    side: int = 0
    fix: str | None = None


def along_across(seen: Seen, procedure: Procedure, course_deg: float) -> tuple[Floats, Floats]:
    """Distance past the station along a course, and off it to the right. [NM]"""
    angle = np.deg2rad(course_deg + procedure.station.declination_deg)
    sin, cos = np.sin(angle), np.cos(angle)
    return seen.east_nm * sin + seen.north_nm * cos, seen.east_nm * cos - seen.north_nm * sin


def away_nm(seen: Seen, procedure: Procedure, name: str) -> Floats:
    """Distance of every sample from a fix over the ground. [NM]"""
    east_nm, north_nm = place(procedure, name)
    return np.asarray(np.hypot(seen.east_nm - east_nm, seen.north_nm - north_nm))


def place(procedure: Procedure, name: str) -> tuple[float, float]:
    """East and north of the station of a fix, true axes. [NM]"""
    fix = procedure.fix(name)
    angle = np.deg2rad(fix.radial_deg + procedure.station.declination_deg)
    return float(fix.dist_nm * np.sin(angle)), float(fix.dist_nm * np.cos(angle))


def come_down(seen: Seen, procedure: Procedure) -> NDArray[np.bool_]:
    """Samples that lie below where the flight has been: on the way up from the runway none does.

    A recording that begins in the air may begin on the final, and low.
    """
    if departed(seen, procedure) == 0 and seen.alt_ft[0] > procedure.airport.elevation_ft + _JUST_OFF_FT:
        return np.ones(len(seen), dtype=bool)
    return np.asarray(np.maximum.accumulate(seen.alt_ft) - seen.alt_ft > _DOWN_FT + seen.alt_grain_ft)


def departed(seen: Seen, procedure: Procedure) -> int:
    """First sample after a take-off near the altitudes of the procedure; 0 where the recording begins in the air."""
    begins = seen.time_s < seen.time_s[0] + _GROUND_S
    field_ft = procedure.airport.elevation_ft
    if seen.gs_kt[begins].min() > _ROLLING_KT or seen.alt_ft[begins].min() > field_ft + _GROUND_FT:
        return 0
    firsts = [procedure.route(way.fix)[0].minimum_ft for way in procedure.entries]
    lowest_ft = min((each for each in firsts if each is not None), default=field_ft) - _NEAR_FT
    up = np.flatnonzero(seen.alt_ft > lowest_ft)
    return int(up[0]) if len(up) else 0


def outcome(seen: Seen, procedure: Procedure, category: str) -> tuple[Outcome, int]:
    """Say how the flight ended (on the runway, in a missed approach, or before either), and its lowest sample."""
    along, across = along_across(seen, procedure, procedure.final_course_deg)
    threshold_nm = along_nm(procedure.fix("threshold"), procedure.final_course_deg)
    final_fix_nm = along_nm(procedure.fix(procedure.final_fix), procedure.final_course_deg)
    towards = np.cos(np.deg2rad(seen.track_deg - procedure.final_course_deg)) > 0.8
    # Nobody is on the final above the altitude of its fix: a flight that crosses the station outbound is not.
    low_enough = seen.alt_ft < procedure.final_fix_ft + 400.0 + seen.height.within_ft
    low_enough &= come_down(seen, procedure)
    on_final = (along > final_fix_nm) & (along < threshold_nm + 2.0) & (np.abs(across) < 1.5) & towards & low_enough
    if not on_final.any():
        return "incomplete", 0
    crashed = off_the_runway(seen, procedure) is not None
    on = np.flatnonzero(on_final)
    lowest = int(on[np.argmin(seen.alt_ft[on])])
    highest_ft = seen.alt_ft[lowest:].max()
    climbed = highest_ft - seen.alt_ft[lowest] > _BACK_FT + 2 * seen.alt_grain_ft
    if climbed and highest_ft > procedure.mda_ft(category) and not _came_round(seen, procedure, category, lowest):
        return "missed", lowest
    if crashed:
        return "incomplete", lowest
    if standing(seen, procedure):
        return "landing", lowest  # whatever the heights say that they were recorded with
    by_field = (np.hypot(along - threshold_nm, across) < _FIELD_BY_NM)[-1]
    if by_field and seen.gs_kt[-1] < _STOPPED_KT and abs(seen.alt_ft[-1] - procedure.airport.elevation_ft) < _BACK_FT:
        return "landing", lowest  # it stands, wherever it came down
    near = on[(np.abs(along[on] - threshold_nm) < 0.6) & (np.abs(across[on]) < 0.35)]
    low_ft = procedure.crossing_ft + 200.0 + seen.alt_grain_ft
    past_nm = along - threshold_nm  # by either end of the runway
    by_runway = (past_nm > -0.6) & (past_nm < procedure.runway.length_m / NM_M + 0.6) & (np.abs(across) < _FIELD_NM)
    beside = np.flatnonzero(by_runway & (np.arange(len(seen)) >= on[0]))
    if len(beside) and (seen.alt_ft[beside] < procedure.crossing_ft + seen.alt_grain_ft).any():
        return "landing", lowest  # down at the field, however far from the centre line
    if len(near) and (seen.alt_ft[near] < low_ft).any():
        return "landing", lowest
    return "incomplete", lowest


def climbed_away(seen: Seen, procedure: Procedure) -> int | None:
    """First sample of the last climb, to the end far above what was flown before and every leg; None where none is.

    Back to a leg's own altitude it is a climb that was due, and from the runway the way to the first of them.
    """
    end_ft = float(np.median(seen.alt_ft[-5:]))
    highest_ft = max((leg.minimum_ft or 0.0 for leg in procedure.legs), default=0.0)
    below = np.flatnonzero(seen.alt_ft < end_ft - _AWAY_FT)
    if not len(below) or end_ft < highest_ft + _NEAR_FT:
        return None
    at = int(below[-1])
    while True:  # down the climb to where it began
        recent = np.flatnonzero(seen.time_s[: at + 1] > seen.time_s[at] - _CLIMBS_S)
        lower = int(recent[int(np.argmin(seen.alt_ft[recent]))])
        if seen.alt_ft[lower] > seen.alt_ft[at] - _STILL_FT:
            break
        at = lower
    still = np.flatnonzero(seen.alt_ft[: int(below[-1]) + 1] < seen.alt_ft[at] + _STILL_FT)
    begun = int(still[-1])
    return begun if begun > departed(seen, procedure) else None


def _came_round(seen: Seen, procedure: Procedure, category: str, lowest: int) -> bool:
    """Whether a climb from low on the final led no higher than a circle to land, near the field, and down there."""
    field_ft = procedure.airport.elevation_ft
    if not procedure.may_circle(category) or seen.alt_ft[-1] > field_ft + _DOWN_FT + seen.tell_ft:
        return False
    near = away_nm(seen, procedure, "threshold")[lowest:].max() < _CIRCLE_NM
    return bool(near and seen.alt_ft[lowest:].max() < procedure.mda_ft(category, circling=True) + _BACK_FT)


def on_the_runway_ft(seen: Seen, ended: Outcome, procedure: Procedure) -> float | None:
    """How far above the field the heights stand at the end of a landing; None where nothing stands there."""
    if ended != "landing" or not standing(seen, procedure):
        return None
    last = seen.time_s > seen.time_s[-1] - _STANDING_S - seen.step_s
    return float(np.median(seen.alt_ft[last])) - procedure.airport.elevation_ft


def off_the_runway(seen: Seen, procedure: Procedure) -> tuple[int, str] | None:
    """Where the flight ended on the ground away from the runway: sample and place in words; None if it did not.

    Who rolled out stood on some runway. What the heights and places may be off is taken for the runway, and the end
    of the final line, where the published threshold lies, for as good as the runway's own: nobody is shown it.
    """
    runway = procedure.runway
    low = seen.alt_ft <= runway.threshold_elevation_ft + _DOWN_FT_ABOVE + seen.tell_ft
    if not low[-1] or low.all():
        return None
    touched = int(np.flatnonzero(~low)[-1]) + 1
    rolled_s = float(seen.time_s[-1] - seen.time_s[touched])
    if rolled_s > _ROLLS_OUT_S and seen.gs_kt[touched:].min() < _ROLLING_KT:
        return None
    along, across = along_across(seen, procedure, procedure.final_course_deg)
    past = along[touched:] - along_nm(procedure.fix("threshold"), procedure.final_course_deg)
    beside = np.abs(across[touched:] - procedure.threshold_right_nm)
    beside = np.minimum(beside, np.abs(across[touched:]))
    slack_nm = seen.position_nm + seen.tell_ft / _FT_A_MILE
    length_nm = runway.length_m / NM_M
    on = (past >= -_SHORT_OF_IT_NM - slack_nm) & (past <= length_nm + slack_nm)
    on &= beside <= _BESIDE_RUNWAY_NM + seen.position_nm
    if on.any():
        return None
    if past[-1] > length_nm:
        return touched, f"{past[-1] - length_nm:.1f} NM past the end of the runway"
    if past[-1] < 0.0:
        return touched, f"{-past[-1]:.1f} NM short of the runway"
    return touched, f"{beside[-1]:.1f} NM beside the runway"


def standing(seen: Seen, procedure: Procedure) -> bool:
    """Whether the recording ends slow and level on the runway."""
    last = seen.time_s > seen.time_s[-1] - _STANDING_S - seen.step_s
    along, across = along_across(seen, procedure, procedure.final_course_deg)
    threshold_nm = along_nm(procedure.fix("threshold"), procedure.final_course_deg)
    on = (np.abs(across) < _BESIDE_NM) & (along > threshold_nm) & (along < threshold_nm + _BEYOND_NM)
    level = np.ptp(seen.alt_ft[last]) < _STANDING_FT + seen.alt_grain_ft
    return bool(last.sum() >= 3 and on[last].all() and level and seen.gs_kt[last].min() <= _STANDING_KT)


def pieces_of(procedure: Procedure, entry: str, ended: Outcome) -> tuple[Piece, ...]:
    """Every piece of one way in, in the order flown."""
    pieces = [Piece("before", "before", "before the procedure")]
    pieces += [
        _of_leg(procedure, leg, following) for leg, following in pairwise((*procedure.route(entry), None)) if leg
    ]
    if ended == "missed":
        pieces += _missed(procedure)
    elif ended == "landing":
        course = procedure.missed.course_deg
        begin, end = (along_nm(procedure.fix(name), course) for name in ("MAP", "threshold"))
        final_deg = procedure.final_course_deg
        pieces.append(Piece("landing", "landing", "the landing", None, final_deg, begin, end + 2.0, fix="MAP"))
    pieces.append(Piece("after", "after", "after the procedure"))
    return tuple(pieces)


def _missed(procedure: Procedure) -> list[Piece]:
    missed, course = procedure.missed, procedure.missed.course_deg
    map_nm = along_nm(procedure.fix("MAP"), course)
    end_nm = map_nm + _STRAIGHT_NM
    pieces = [Piece("climb", "missed", "the climb straight ahead", None, course, map_nm, end_nm, fix="MAP")]
    if missed.direct:
        pieces.append(Piece("turn", "missed", f"the turn to {missed.fix}"))
    else:
        pieces.append(Piece("turn", "missed", f"heading {missed.heading_deg:03.0f}", None, missed.heading_deg))
        radial, fix = missed.intercept_radial_deg, procedure.fix(missed.fix)
        assert radial is not None
        text = f"radial {radial:03.0f} to {missed.fix}"
        pieces.append(Piece("out", "missed", text, None, radial, 0.0, fix.dist_nm))
    return [*pieces, Piece("hold", "hold", f"the hold at {procedure.hold.fix}", fix=procedure.hold.fix)]


def _of_leg(procedure: Procedure, leg: Leg, following: Leg | None) -> Piece:
    if leg.kind == "arc":
        start, end = procedure.fix(str(leg.start)).radial_deg, procedure.fix(str(leg.end)).radial_deg
        return Piece(
            "arc",
            leg.segment,
            f"the arc {leg.text}",
            leg,
            radial_deg=start,
            arc_nm=float(leg.arc_dme_nm or 0.0),
            span_deg=float(turn_deg(from_deg=start, to_deg=end, side=str(leg.turn))),
            side=1 if leg.turn == "right" else -1,
            fix=leg.start,
        )
    if leg.kind == "procedure turn":
        inbound = following.course_deg if following else None
        reach_nm = float(leg.within_nm or 10.0)
        return Piece("procedure turn", leg.segment, "the procedure turn", leg, inbound, end_nm=reach_nm)
    course = float(leg.course_deg or 0.0)
    if leg.kind == "timed":
        reach_nm = float(leg.within_nm or 10.0)
        return Piece("timed", leg.segment, leg.text, leg, course, 0.0, reach_nm, fix=leg.start)
    end = along_nm(procedure.fix(str(leg.end)), course)
    start = end - _FARTHEST_IN_NM if leg.start is None else along_nm(procedure.fix(leg.start), course)
    return Piece("radial", leg.segment, leg.text, leg, course, start, end, fix=leg.start)
