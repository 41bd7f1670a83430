"""How a flight ended off the line that was published: circled to a runway end, or left for elsewhere.

Neither belongs to a leg of the procedure. Found by what was flown over the whole of it: the turning between the final
and the landing, and the last straight way of a flight that never came back to its hold.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from needlework.basis.quantity import Floats
from needlework.debrief.indications import Seen
from needlework.debrief.pieces import Piece, along_across, away_nm
from needlework.debrief.segments import Circled, Split, spans_of
from needlework.trade.units import NM_M
from needlework.world.procedure import Procedure
from needlework.world.procedure_parts import with_cold_ft

_ALONG_DEG, _LINED_UP_DEG = 12.0, 25.0  # still on the final; lined up with the runway
_ON_LINE_NM, _BY_FIELD_NM = 0.3, 5.0
_TURNED_DEG, _ROUND_DEG = 150.0, 300.0  # on to the other end; round to the same one
_LOW_FT, _ROLLING_KT = 80.0, 35.0
_STRAIGHT_DEG, _STRAIGHT_S, _LAST_S = 20.0, 90.0, 30.0
_CAME_NM = 0.5
_GONE_NM, _WAS_THERE_NM, _HELD_FT, _HELD_S = 4.5, 4.0, 150.0, 45.0
_ELSEWHERE_DEG = 40.0  # of the outbound course: nearer it may be a leg of the hold
_TURN_DEG_S, _CLIMB_FPM = 1.0, 250.0
_ON_ARC_NM, _ALONG_ARC_DEG, _BACK_DEG = 1.0, 45.0, 45.0


def runway_frame(seen: Seen, procedure: Procedure) -> tuple[Floats, Floats]:
    """How far past the threshold along the runway, and to the right of its centre line, every sample lies. [NM]"""
    threshold, heading = procedure.fix("threshold"), procedure.runway.heading_deg
    along, across = along_across(seen, procedure, heading)
    at_rad = np.deg2rad(threshold.radial_deg - heading)
    # The published threshold lies on the final line; the runway's own a little to the side of it.
    aside_nm = procedure.threshold_right_nm * float(np.cos(np.deg2rad(procedure.runway_turn_deg)))
    return along - threshold.dist_nm * np.cos(at_rad), across - threshold.dist_nm * np.sin(at_rad) - aside_nm


def told_apart(cut: Split, seen: Seen, procedure: Procedure, temperature_c: float | None) -> Split:
    """Give a split with the circling, or the way to elsewhere, taken out of the legs."""
    if (circle := circled(cut, seen, procedure)) is not None:
        piece = Piece("circling", "landing", "the circling")
        last = len(cut.pieces) - 1  # what comes after the procedure stays the last piece
        pieces = (*cut.pieces[:-1], piece, cut.pieces[-1])
        at = np.where(cut.at == last, last + 1, cut.at)
        at[circle.begun :] = last
        return replace(cut, pieces=pieces, at=at, spans=spans_of(pieces, at), circled=circle)
    if (off := broken_off(cut, seen)) is not None:
        at = cut.at.copy()
        at[off:] = len(cut.pieces) - 1
        return replace(cut, at=at, spans=spans_of(cut.pieces, at))
    missed_ft = with_cold_ft(procedure.missed.altitude_ft, procedure.airport.elevation_ft, temperature_c)
    left = left_at(cut, seen, procedure, missed_ft)
    if left is None:
        return cut
    pieces = (*cut.pieces, Piece("elsewhere", "elsewhere", "the way elsewhere"))
    at = cut.at.copy()
    at[left:] = len(pieces) - 1
    return replace(cut, pieces=pieces, at=at, spans=spans_of(pieces, at))


def circled(cut: Split, seen: Seen, procedure: Procedure) -> Circled | None:
    """The circle to land of a flight; None where it landed straight in, or not at all."""
    finals = [span for span in cut.spans if span.piece.segment == "final"]
    if cut.outcome != "landing" or not finals:
        return None
    number = np.arange(len(seen))
    across = along_across(seen, procedure, procedure.final_course_deg)[1]
    heading = np.rad2deg(np.unwrap(np.deg2rad(seen.track_deg)))
    past_nm, beside_nm = runway_frame(seen, procedure)
    ground_ft = procedure.runway.threshold_elevation_ft
    length_nm = procedure.runway.length_m / NM_M
    on_line = (np.abs(across) < _ON_LINE_NM + seen.position_nm) & (number >= finals[0].first)
    aligned = on_line & (np.abs(np.mod(heading - procedure.final_course_deg + 180.0, 360.0) - 180.0) < _ALONG_DEG)
    if not aligned.any():
        return None
    way_deg = float(heading[np.flatnonzero(aligned)[0]])  # by windings: once round is another direction
    by_runway = (np.abs(beside_nm) < _ON_LINE_NM) & (past_nm > -_ON_LINE_NM) & (past_nm < length_nm + _ON_LINE_NM)
    low = by_runway & (seen.alt_ft < ground_ft + _LOW_FT + seen.tell_ft) & (number > np.flatnonzero(aligned)[0])
    turned = np.abs(heading - way_deg)
    low &= (turned > _TURNED_DEG) & (seen.gs_kt > _ROLLING_KT)
    if not low.any():
        return None
    landed = int(np.flatnonzero(low)[0])
    other_end = bool(np.cos(np.deg2rad(heading[landed] - procedure.runway.heading_deg)) < 0.0)
    begun = int(np.flatnonzero(on_line & (turned < _ALONG_DEG) & (number < landed))[-1]) + 1
    beyond = past_nm[begun:landed] > 0.0
    if not other_end and (turned[landed] < _ROUND_DEG or not beyond.any()):
        return None  # once round on the final is no circling: that leads past the runway
    if np.hypot(past_nm, beside_nm)[begun:landed].max(initial=0.0) > _BY_FIELD_NM:
        return None
    off = np.abs(heading - heading[landed]) > _LINED_UP_DEG
    lined_up = int(np.flatnonzero(off[:landed])[-1]) + 1
    past_end_nm = length_nm - past_nm if other_end else past_nm
    return Circled(begun, lined_up, landed, other_end, past_end_nm, beside_nm)


def broken_off(cut: Split, seen: Seen) -> int | None:
    """First sample of the way off an arc that was held and then left for good; None where it was not.

    Turned back or outwards and straight on to the end of the recording: that is no arc flown badly. Inwards it may be
    the way to the final line, and straight on along the tangent a heading that was not changed.
    """
    arcs = [span for span in cut.spans if span.piece.kind == "arc"]
    if cut.outcome != "incomplete" or not arcs or cut.pieces[-1].kind != "after":
        return None
    if any(span.first > arcs[-1].last and span.piece.leg is not None for span in cut.spans):
        return None
    piece, number = arcs[-1].piece, np.arange(len(seen))
    tangent = seen.radial_deg + 90.0 * piece.side
    off_deg = np.abs(np.mod(seen.track_deg - tangent + 180.0, 360.0) - 180.0)
    on = (number >= arcs[0].first) & (np.abs(seen.ground_nm - piece.arc_nm) < _ON_ARC_NM) & (off_deg < _ALONG_ARC_DEG)
    last = int(np.flatnonzero(on)[-1]) if on.any() else 0
    if on.sum() * seen.step_s < _STRAIGHT_S or seen.time_s[-1] - seen.time_s[last] < _STRAIGHT_S:
        return None
    ending = seen.time_s > seen.time_s[-1] - _STRAIGHT_S
    track = np.rad2deg(np.unwrap(np.deg2rad(seen.track_deg)))
    if np.ptp(track[ending]) > _STRAIGHT_DEG:
        return None
    turned = float(np.mod(np.median(track[ending]) - tangent[last] + 180.0, 360.0) - 180.0) * piece.side
    return last + 1 if turned < -_BACK_DEG or turned > 180.0 - _BACK_DEG else None


def left_at(cut: Split, seen: Seen, procedure: Procedure, missed_ft: float) -> int | None:
    """First sample of the way to elsewhere after a missed approach was flown; None where none was begun.

    Straight and away from the hold to the end of the recording, climbing from the altitude that was held, or after
    the fix was reached; the turn on to it is its beginning.
    """
    missed = [span for span in cut.spans if span.piece.segment in ("missed", "hold")]
    if cut.outcome != "missed" or not missed:
        return None
    number, first = np.arange(len(seen)), missed[0].first
    away = away_nm(seen, procedure, procedure.hold.fix)
    if away[-1] < _GONE_NM:
        return None
    track = np.rad2deg(np.unwrap(np.deg2rad(seen.track_deg)))
    way_deg = float(np.median(track[seen.time_s > seen.time_s[-1] - _LAST_S]))
    off = np.flatnonzero((np.abs(track - way_deg) > _STRAIGHT_DEG) & (number < len(seen) - 1))
    straight = int(off[-1]) + 1 if len(off) else 0
    nearest = straight + int(np.argmin(away[straight:]))  # towards the fix it is no leaving yet
    if straight <= first or seen.time_s[-1] - seen.time_s[nearest] < _STRAIGHT_S:
        return None
    # What led back nearer the fix was a leg of the hold, however far beside its line: left is what is nearest.
    begun = nearest if away[straight] - away[nearest] > _CAME_NM else straight
    while begun > first and abs(float(seen.turn_deg_s[begun - 1])) > _TURN_DEG_S:
        begun -= 1
    there = np.flatnonzero((number > first) & (number < begun) & (away < _WAS_THERE_NM))
    if not len(there):
        return None
    held_ft = min(float(np.median(seen.alt_ft[there[0] : begun])), missed_ft)
    held_s = float((np.abs(seen.alt_ft[first:begun] - held_ft) < _HELD_FT).sum()) * seen.step_s
    climbs = held_s > _HELD_S and float(np.median(seen.alt_ft[-5:])) > missed_ft + _HELD_FT
    outbound = abs(float(np.mod(way_deg - procedure.hold.inbound_course_deg, 360.0)) - 180.0)
    after_laps = np.ptp(track[there[0] : begun]) > _ROUND_DEG and outbound > _ELSEWHERE_DEG
    if not climbs and not after_laps:
        return None
    while begun > first and seen.vs_fpm[begun - 1] > _CLIMB_FPM and seen.alt_ft[begun - 1] > held_ft - _HELD_FT:
        begun -= 1
    return begun
