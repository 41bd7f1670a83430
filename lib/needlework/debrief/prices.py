"""What it costs to say that a sample belongs to a piece of the procedure: 0 on its line and along it.

A price is bounded: a leg flown far off its line, the wrong way round or on the wrong side is still that
leg, only dearer. So a fault makes a leg dearer by little, and being on another leg by much. Prices
are per second flown; the numbers are chosen by what they weigh against each other, as noted.
"""

from __future__ import annotations

import numpy as np

from needlework.basis.quantity import Constant, Floats
from needlework.debrief.indications import Seen
from needlework.debrief.pieces import Piece, along_across, away_nm, place
from needlework.world.procedure import Procedure

LOST = Constant(4.0, "1", "common-practice", "dearer than anything that was flown")
_ELSEWHERE = 0.6  # on no leg yet: dearer than a leg flown half a mile off, cheaper than one flown backwards
_BEGUN = 1.6  # on no leg, after the entry fix was crossed: dearer than a leg flown five miles off
_OVER = 0.9  # on no leg any more
_SIDEWAYS, _SIDEWAYS_NM = 0.9, 1.0  # at this many miles off the line half of the most it can cost
_SIDEWAYS_DEG = 12.0  # on a radial before the arc or the turn: the same, in degrees, where that is less
_DIRECTION = 0.75  # pointing square to the line; backwards twice that
_OUTSIDE, _OUTSIDE_MOST = 0.8, 2.4  # a mile before the beginning or past the end of a leg; the most
_BEFORE_ARC, _BEFORE_ARC_MOST, _FARTHEST_BEFORE_NM = 0.15, 0.5, 6.0  # who met it early is on the arc already
_MIRRORED = 0.3  # the same, flown the wrong way round or on the other side
_TURN_AT_ALL = 0.25  # any direction while turning, in a procedure turn
_HOLD, _HOLD_NM = 0.4, 7.0  # anywhere this near the holding fix, in any direction
_CROSSED_NM = 1.2
_FLOWN = 0.3, 20.0  # a leg flown this cheaply for so many seconds has begun the procedure as well


def price(seen: Seen, procedure: Procedure, piece: Piece, *, goes_on: bool = False) -> Floats:
    """Price of every sample on a piece, for a second of flight; ``before`` is priced by :func:`before`.

    ``goes_on``: the piece goes on from another one of its kind, as an arc in two parts does.
    """
    if piece.kind == "after":
        return np.full(len(seen), _OVER)
    if piece.kind == "procedure turn":
        return _procedure_turn(seen, procedure, piece)
    if piece.kind == "turn":
        direction = (
            np.full(len(seen), piece.course_deg) if piece.course_deg is not None else _bearing(seen, procedure)
        )
        return 0.3 + _pointing(seen, direction)
    if piece.kind == "hold":
        beyond = np.maximum(away_nm(seen, procedure, procedure.hold.fix) - _HOLD_NM, 0.0)
        return _HOLD + _outside(beyond)
    if piece.kind == "arc":
        return _arc(seen, piece, goes_on)
    along, across = along_across(seen, procedure, float(piece.course_deg or 0.0))
    if piece.kind == "radial" and piece.segment == "initial":
        # Far out a few degrees are many miles, and still the radial that was meant.
        off_deg = np.rad2deg(np.arctan2(np.abs(across), np.abs(along)))
        across = np.minimum(np.abs(across), _SIDEWAYS_NM * off_deg / _SIDEWAYS_DEG)
    outside = np.maximum(np.maximum(piece.start_nm - along, along - piece.end_nm), 0.0)
    return _sideways(across) + _outside(outside) + _pointing(seen, np.full(len(seen), piece.course_deg))


def _arc(seen: Seen, piece: Piece, goes_on: bool) -> Floats:
    flown = np.mod(piece.side * (seen.radial_deg - piece.radial_deg) + 180.0, 360.0) - 180.0
    short_nm, past_nm = (np.deg2rad(np.maximum(deg, 0.0)) * piece.arc_nm for deg in (-flown, flown - piece.span_deg))
    early = np.minimum(_BEFORE_ARC * short_nm, _BEFORE_ARC_MOST)
    far = goes_on | (short_nm > _FARTHEST_BEFORE_NM)
    outside = np.where(far, _outside(short_nm), early) + _outside(past_nm)
    tangent = seen.radial_deg + 90.0 * piece.side
    on = _sideways(seen.ground_nm - piece.arc_nm)
    right = outside + _pointing(seen, tangent)
    mirrored = _MIRRORED + _pointing(seen, tangent + 180.0)  # wherever it leads
    return on + np.minimum(right, mirrored)


def _procedure_turn(seen: Seen, procedure: Procedure, piece: Piece) -> Floats:
    leg = piece.leg
    assert leg is not None
    inbound = float(piece.course_deg or 0.0)
    headings = float(leg.heading_out_deg or 0.0), float(leg.heading_in_deg or 0.0)
    right = np.min([_pointing(seen, np.full(len(seen), heading)) for heading in headings], axis=0)
    other = np.min([_pointing(seen, np.full(len(seen), 2 * inbound - heading)) for heading in headings], axis=0)
    straight = 0.1 + 3.0 * np.minimum(right, _MIRRORED / 3.0 + other)
    turning = np.where(np.abs(seen.turn_deg_s) > 1.2, _TURN_AT_ALL, LOST)
    along = along_across(seen, procedure, inbound + 180.0)[0]  # it lies beyond the leg outbound, on either side
    beside = np.maximum(np.maximum(seen.ground_nm - piece.end_nm, 0.0) / 4, np.maximum(1.0 - along, 0.0))
    return np.asarray(np.minimum(np.minimum(straight, turning), 1.5) + _outside(beside))


def before(seen: Seen, procedure: Procedure, legs: Floats, off: int = 0) -> Floats:
    """Price of being on no leg yet: cheap, until an entry fix is crossed or a leg has plainly been flown.

    ``off``: number of samples of a take-off, which cross nothing.
    """
    priced = np.full(len(seen), _ELSEWHERE)
    crossed = [crossed_at(seen, procedure, way.fix, off) for way in procedure.entries]
    begun = [at for at in (*crossed, _flown(seen, legs)) if at is not None]
    if begun:
        priced[min(begun) :] = _BEGUN
    return priced


def crossed_at(seen: Seen, procedure: Procedure, entry: str, off: int) -> int | None:
    """Sample nearest the entry fix the first time it is crossed; None if it never is."""
    away = away_nm(seen, procedure, entry)
    near = np.flatnonzero(away < _CROSSED_NM + float(np.median(seen.gs_kt)) / 3600.0 * seen.step_s / 2)
    near = near[near >= off]
    if not len(near):
        return None
    first = int(near[0])
    beyond = np.flatnonzero(np.diff(near) > 1)
    last = int(near[beyond[0]]) if len(beyond) else int(near[-1])
    return first + int(np.argmin(away[first : last + 1]))


def _flown(seen: Seen, legs: Floats) -> int | None:
    """Sample from which on a leg of the procedure has been flown well for some time."""
    good = legs.min(axis=1, initial=np.inf) < _FLOWN[0]
    starts = np.flatnonzero(good & ~np.concatenate([[False], good[:-1]]))
    ends = np.flatnonzero(good & ~np.concatenate([good[1:], [False]]))
    long = np.flatnonzero(seen.time_s[ends] - seen.time_s[starts] >= _FLOWN[1])
    return int(starts[long[0]]) if len(long) else None


def arriving(seen: Seen, procedure: Procedure, piece: Piece) -> Floats:
    """Price, once, of beginning a piece at a sample: the farther from the fix where it begins, the dearer."""
    if piece.fix is None:
        return np.zeros(len(seen))
    away = away_nm(seen, procedure, piece.fix)
    return np.minimum(away / 2.0, 3.0) * 60.0 if piece.kind == "hold" else np.minimum(away, 3.0) * 6.0


def _sideways(off_nm: Floats) -> Floats:
    share = np.abs(off_nm) / _SIDEWAYS_NM
    return np.asarray(_SIDEWAYS * share / (1.0 + share))


def _outside(off_nm: Floats) -> Floats:
    return np.minimum(_OUTSIDE * off_nm, _OUTSIDE_MOST)


def _pointing(seen: Seen, direction_deg: Floats) -> Floats:
    return np.asarray(_DIRECTION * (1.0 - np.cos(np.deg2rad(seen.track_deg - direction_deg))))


def _bearing(seen: Seen, procedure: Procedure) -> Floats:
    """Magnetic bearing of the missed approach fix from every sample."""
    east_nm, north_nm = place(procedure, procedure.missed.fix)
    to_fix = np.rad2deg(np.arctan2(east_nm - seen.east_nm, north_nm - seen.north_nm))
    return np.asarray(to_fix - procedure.station.declination_deg)
