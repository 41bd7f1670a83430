"""Which part of the procedure was flown when: the flight is cut into the procedure's legs.

Every sample is priced against every leg, by how far it lies from the leg's line and how far the track
points away from it. The cheapest way through the legs in their published order is the split (dynamic
programming). No single sample, turn rate, pause or gust decides, so it works on any recording.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from needlework.basis.errors import BadData
from needlework.basis.quantity import Floats
from needlework.debrief.indications import Seen
from needlework.trade.angles import turn_deg
from needlework.world.procedure import Procedure
from needlework.world.procedure_parts import Leg, along_nm

Outcome = Literal["landing", "missed", "incomplete"]
Kind = Literal["before", "radial", "arc", "timed", "procedure turn", "climb", "turn", "out", "hold", "landing"]

_NEAR_NM = 0.8  # a sample this far off a line costs as much as one ...
_DIRECTION = 1.5  # ... that points 70 degrees away from it
_MOST = 2.5
_ELSEWHERE = 1.0  # being on no leg yet
_LOST = 3.0  # the dearest a sample can be, once a leg has been flown for ...
_FLOWN = 0.4, 10.0  # ... at most this dear, for this many seconds
_SKIP_S = 40.0
_BACK_FT = 250.0  # a climb of this much from the lowest point of the final is a go-around


@dataclass(frozen=True)
class Piece:
    """One part a flight is cut into: a leg of the procedure, or a part of what follows it."""

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


@dataclass(frozen=True)
class Span:
    """Samples ``first`` to ``last`` (included) belong to ``piece``."""

    piece: Piece
    first: int
    last: int

    @property
    def slice(self) -> slice:
        """The samples of the span."""
        return slice(self.first, self.last + 1)


@dataclass(frozen=True, eq=False)
class Split:
    """A flight in pieces; ``at`` numbers the piece of every sample."""

    entry: str
    outcome: Outcome
    pieces: tuple[Piece, ...]
    at: NDArray[np.int_]
    spans: tuple[Span, ...]

    def span(self, kind: Kind) -> Span | None:
        """First span of a kind, None if there is none."""
        return next((span for span in self.spans if span.piece.kind == kind), None)


def along_across(seen: Seen, procedure: Procedure, course_deg: float) -> tuple[Floats, Floats]:
    """Distance past the station along a course, and off it to the right. [NM]"""
    angle = np.deg2rad(course_deg + procedure.station.declination_deg)
    sin, cos = np.sin(angle), np.cos(angle)
    return seen.east_nm * sin + seen.north_nm * cos, seen.east_nm * cos - seen.north_nm * sin


def split(seen: Seen, procedure: Procedure, entry: str | None = None, category: str = "A") -> Split:
    """Cut a flight into the legs of a procedure; the way in is found by trying each where it is not given.

    Raises BadData if hardly any of the flight has to do with the procedure.
    """
    outcome, lowest = _outcome(seen, procedure, category)
    names = [way.fix for way in procedure.entries] if entry is None else [entry]
    best: tuple[float, Split] | None = None
    for name in names:
        pieces = _pieces(procedure, name, outcome)
        prices = np.stack([np.minimum(_price(seen, procedure, piece), _LOST) for piece in pieces], axis=1)
        prices[_first_flown(prices, seen) :, 0] = _LOST
        prices[:lowest, [piece.segment in ("missed", "hold") for piece in pieces]] = _LOST
        total, at = _cheapest(prices, seen)
        if best is None or total < best[0]:
            best = total, Split(name, outcome, pieces, at, _spans(pieces, at))
    assert best is not None
    found = best[1]
    flown = [span for span in found.spans if span.piece.leg is not None]
    if not flown:
        raise BadData(
            f"The track flies none of the legs of {procedure.name} at {procedure.airport.name}: "
            "expected at least one leg; choose the procedure that was flown"
        )
    return found


def _outcome(seen: Seen, procedure: Procedure, category: str) -> tuple[Outcome, int]:
    """Say how the flight ended (on the runway, in a missed approach, or before either), and its lowest sample."""
    along, across = along_across(seen, procedure, procedure.final_course_deg)
    threshold_nm = along_nm(procedure.fix("threshold"), procedure.final_course_deg)
    final_fix_nm = along_nm(procedure.fix(procedure.final_fix), procedure.final_course_deg)
    towards = np.cos(np.deg2rad(seen.track_deg - procedure.final_course_deg)) > 0.8
    on_final = (along > final_fix_nm) & (along < threshold_nm + 0.5) & (np.abs(across) < 1.5) & towards
    if not on_final.any():
        return "incomplete", 0
    on = np.flatnonzero(on_final)
    lowest = int(on[np.argmin(seen.alt_ft[on])])
    highest_ft = seen.alt_ft[lowest:].max()
    climbed = highest_ft - seen.alt_ft[lowest] > _BACK_FT + 2 * seen.alt_grain_ft
    if climbed and highest_ft > procedure.mda_ft(category):
        return "missed", lowest
    near = on[(np.abs(along[on] - threshold_nm) < 0.6) & (np.abs(across[on]) < 0.35)]
    low_ft = procedure.crossing_ft + 200.0 + seen.alt_grain_ft
    if len(near) and (seen.alt_ft[near] < low_ft).any():
        return "landing", lowest
    return "incomplete", lowest


def _pieces(procedure: Procedure, entry: str, outcome: Outcome) -> tuple[Piece, ...]:
    pieces = [Piece("before", "before", "before the procedure")]
    pieces += [
        _of_leg(procedure, leg, following) for leg, following in pairwise((*procedure.route(entry), None)) if leg
    ]
    missed, course = procedure.missed, procedure.missed.course_deg
    map_nm = along_nm(procedure.fix("MAP"), course)
    if outcome == "missed":
        pieces.append(Piece("climb", "missed", "the climb straight ahead", None, course, map_nm, map_nm + 6.0))
        if missed.direct:
            pieces.append(Piece("turn", "missed", f"the turn to {missed.fix}"))
        else:
            pieces.append(Piece("turn", "missed", f"heading {missed.heading_deg:03.0f}", None, missed.heading_deg))
            radial, fix = missed.intercept_radial_deg, procedure.fix(missed.fix)
            assert radial is not None
            pieces.append(
                Piece("out", "missed", f"radial {radial:03.0f} to {missed.fix}", None, radial, 0.0, fix.dist_nm)
            )
        pieces.append(Piece("hold", "hold", f"the hold at {procedure.hold.fix}"))
    elif outcome == "landing":
        end_nm = along_nm(procedure.fix("threshold"), course)
        pieces.append(
            Piece("landing", "landing", "the landing", None, procedure.final_course_deg, map_nm, end_nm + 2.0)
        )
    return tuple(pieces)


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
        )
    if leg.kind == "procedure turn":
        inbound = following.course_deg if following else None
        reach_nm = float(leg.within_nm or 10.0)
        return Piece("procedure turn", leg.segment, "the procedure turn", leg, inbound, end_nm=reach_nm)
    course = float(leg.course_deg or 0.0)
    if leg.kind == "timed":
        return Piece("timed", leg.segment, leg.text, leg, course, 0.0, float(leg.within_nm or 10.0))
    end = along_nm(procedure.fix(str(leg.end)), course)
    start = end - 15.0 if leg.start is None else along_nm(procedure.fix(leg.start), course)
    return Piece("radial", leg.segment, leg.text, leg, course, start, end)


def _price(seen: Seen, procedure: Procedure, piece: Piece) -> Floats:
    """Cost of every sample on a piece; 0 on its line and along it."""
    if piece.kind == "before":
        return np.full(len(seen), _ELSEWHERE)
    if piece.kind == "procedure turn":
        # Anywhere and in any direction, but what points inbound belongs to the leg that follows.
        inbound = np.cos(np.deg2rad(seen.track_deg - float(piece.course_deg or 0.0))) > 0.88
        return 0.35 + 0.8 * inbound + _near(np.maximum(seen.ground_nm - piece.end_nm, 0.0))
    if piece.kind == "turn" and piece.course_deg is None:
        fix_east, fix_north = _place(procedure, procedure.missed.fix)
        to_fix = np.rad2deg(np.arctan2(fix_east - seen.east_nm, fix_north - seen.north_nm))
        return 0.3 + _pointing(seen, to_fix - procedure.station.declination_deg)
    if piece.kind == "turn":
        return 0.3 + _pointing(seen, np.full(len(seen), piece.course_deg))
    if piece.kind == "hold":
        fix_east, fix_north = _place(procedure, procedure.hold.fix)
        away = np.hypot(seen.east_nm - fix_east, seen.north_nm - fix_north)
        return 0.4 + _near(np.maximum(away - 7.0, 0.0))
    if piece.kind == "arc":
        flown = np.mod(piece.side * (seen.radial_deg - piece.radial_deg) + 180.0, 360.0) - 180.0
        outside = np.maximum(np.maximum(-flown, flown - piece.span_deg), 0.0)
        tangent = seen.radial_deg + 90.0 * piece.side
        off = _near(np.abs(seen.ground_nm - piece.arc_nm)) + _near(np.deg2rad(outside) * piece.arc_nm)
        return off + _pointing(seen, tangent)
    course = float(piece.course_deg or 0.0)
    along, across = along_across(seen, procedure, course)
    outside = np.maximum(np.maximum(piece.start_nm - along, along - piece.end_nm), 0.0)
    return _near(np.abs(across)) + _near(outside) + _pointing(seen, np.full(len(seen), course))


def _near(off_nm: Floats) -> Floats:
    return np.minimum(off_nm / _NEAR_NM, _MOST)


def _pointing(seen: Seen, direction_deg: Floats) -> Floats:
    return _DIRECTION * (1.0 - np.cos(np.deg2rad(seen.track_deg - direction_deg)))


def _place(procedure: Procedure, name: str) -> tuple[float, float]:
    fix = procedure.fix(name)
    angle = np.deg2rad(fix.radial_deg + procedure.station.declination_deg)
    return float(fix.dist_nm * np.sin(angle)), float(fix.dist_nm * np.cos(angle))


def _first_flown(prices: Floats, seen: Seen) -> int:
    """Sample from which on a leg of the procedure has been flown."""
    good = prices[:, 1:].min(axis=1) < _FLOWN[0]
    since = seen.time_s[0]
    for at, (time_s, on) in enumerate(zip(seen.time_s, good, strict=True)):
        if not on:
            since = time_s
        elif time_s - since >= _FLOWN[1]:
            return at
    return len(good)


def _cheapest(prices: Floats, seen: Seen) -> tuple[float, NDArray[np.int_]]:
    """Total and piece numbers of the cheapest way through the pieces in their order."""
    size, pieces = prices.shape
    weight = np.clip(np.diff(seen.time_s, append=seen.time_s[-1] + seen.step_s), 0.0, 10.0)
    rows = (prices * weight[:, None]).tolist()
    total = [price + _SKIP_S / 2 * max(number - 1, 0) for number, price in enumerate(rows[0])]
    came: list[list[int]] = [list(range(pieces))]
    for row in rows[1:]:  # plain lists: a dozen numbers a sample are too few for arrays to pay
        best, best_from = np.inf, 0  # the cheapest way into the next piece, and the piece it comes from
        now, origin = [], []
        for number, (before, price) in enumerate(zip(total, row, strict=True)):
            stays = before <= best
            now.append((before if stays else best) + price)
            origin.append(number if stays else best_from)
            best += _SKIP_S
            if before < best:
                best, best_from = before, number
        total = now
        came.append(origin)
    at = np.zeros(size, dtype=np.int_)
    at[-1] = int(np.argmin(total))
    for sample in range(size - 1, 0, -1):
        at[sample - 1] = came[sample][at[sample]]
    return float(min(total)), at


def _spans(pieces: tuple[Piece, ...], at: NDArray[np.int_]) -> tuple[Span, ...]:
    starts = np.flatnonzero(np.concatenate([[True], np.diff(at) != 0]))
    ends = np.concatenate([starts[1:] - 1, [len(at) - 1]])
    return tuple(Span(pieces[int(at[a])], int(a), int(b)) for a, b in zip(starts, ends, strict=True))
