"""Which part of the procedure was flown when: the flight is cut into the procedure's legs.

Every sample is priced against every leg of every way in (:mod:`needlework.debrief.prices`), and the
cheapest way through the legs in their published order is the split: Viterbi's algorithm over the whole
recording and all entries at once. Nothing is decided sample by sample, so no turn, gust or pause
decides; what follows a leg helps to say which leg it was, and a leg flown badly stays that leg, as
any other reading of the flight is dearer still. What the next best entry would cost more is kept, and
where it is little it is said. Legs can be set by hand: from their time on no earlier leg is flown, and
before it neither they nor a later one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from needlework.basis.errors import BadData
from needlework.basis.quantity import Floats
from needlework.debrief.indications import Seen
from needlework.debrief.pieces import (
    Kind,
    Outcome,
    Piece,
    along_across,
    away_nm,
    climbed_away,
    departed,
    outcome,
    pieces_of,
)
from needlework.debrief.prices import LOST, arriving, before, crossed_at, price
from needlework.trade.angles import reciprocal
from needlework.world.datafiles import did_you_mean
from needlework.world.procedure import Procedure
from needlework.world.procedure_parts import Station

__all__ = ["Kind", "Outcome", "Piece", "Span", "Split", "along_across", "split", "split_passage"]

_SKIP_S = 12.0  # leaving a leg out costs as much as flying this long square to one: no less than flying through it
_AFTER_S = 60.0
_NOT_FLOWN = 1e6
_OUT_S = 60.0  # twice as long as is prompt
_CLOSE_S = 60.0  # another entry that costs so little more could have been meant
_OVERHEAD_NM = 4.0  # a wind of a third of the airspeed, uncorrected over ten miles, leads three miles aside
_BY_HOLD_NM = 8.0  # legs of a minute or two, and their turns
_AT_HOLD_NM, _ALONG_HOLD_DEG, _ALONG_SHARE = 1.5, 40.0, 0.4
_FITS, _CLIMBS_FT = 0.45, 250.0  # mean price of a second; dearer, it is hardly that
_REVERSED_DEG = 30.0  # this near both courses turned round, and not near those that were asked
_TOLD_S = 15.0
_LONGEST_STEP_S = 10.0  # a pause weighs no more than this


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
class Circled:
    """A circle to land: first sample off the final line, first one lined up with the runway, the landing.

    ``other_end``: landed against the direction of the final; ``past_nm`` past the threshold that was landed over, and
    ``across_nm`` to the right of the centre line as the published runway runs.
    """

    begun: int
    lined_up: int
    landed: int
    other_end: bool
    past_nm: Floats
    across_nm: Floats


@dataclass(frozen=True, eq=False)
class Split:
    """A flight in pieces; ``at`` numbers the piece of every sample.

    ``second`` is the next best entry and what it costs more [s of flight square to a leg]; None where
    there is no other entry or one was given. ``price`` is the mean price of a second of it. ``mirrored``: the
    whole approach was flown on the opposite side of the station, every course reversed. ``about``: another station
    that all of it was flown about. ``circled``: the circle to land. ``away``: sample from which on the approach was
    given up, climbing away.
    """

    entry: str
    outcome: Outcome
    pieces: tuple[Piece, ...]
    at: NDArray[np.int_]
    spans: tuple[Span, ...]
    second: tuple[str, float] | None = None
    price: float = 0.0
    mirrored: bool = False
    away: int | None = None
    about: Station | None = None
    circled: Circled | None = None

    def span(self, kind: Kind) -> Span | None:
        """First span of a kind, None if there is none."""
        return next((span for span in self.spans if span.piece.kind == kind), None)

    @property
    def no_approach(self) -> bool:
        """Whether the recording shows a missed approach or its hold, and nothing of the approach before it."""
        return self.pieces[0].segment in ("missed", "hold")

    @property
    def close(self) -> bool:
        """Whether the next best entry could have been meant as well."""
        return self.second is not None and self.second[1] < _CLOSE_S


def split(
    seen: Seen,
    procedure: Procedure,
    entry: str | None = None,
    category: str = "A",
    legs: Mapping[str, float] | None = None,
) -> Split:
    """Cut a flight into the legs of a procedure.

    ``entry``: fix where the approach began, found where it is not given. ``legs``: parts of the flight by
    the words the debrief itself uses, with the time at which each begins [s]. Raises BadData if hardly
    any of the flight has to do with the procedure, or if a part set by hand is not one of it.
    """
    ended, lowest = outcome(seen, procedure, category)
    names = [way.fix for way in procedure.entries] if entry is None else [entry]
    away = climbed_away(seen, procedure) if ended == "incomplete" and lowest == 0 else None
    if away is not None:
        try:
            return _split(seen, procedure, names, ended, lowest, legs, away)
        except BadData:  # it was climbed on the way to it
            pass
    return _split(seen, procedure, names, ended, lowest, legs)


def _split(
    seen: Seen,
    procedure: Procedure,
    names: list[str],
    ended: Outcome,
    lowest: int,
    legs: Mapping[str, float] | None,
    away: int | None = None,
) -> Split:
    """Cut a flight that ended so; ``away``: sample from which on it was flown to elsewhere."""
    routes, prices, begin = _ways(seen, procedure, names, ended, lowest)
    pieces = tuple(piece for route in routes for piece in route)
    route_of = np.repeat(np.arange(len(routes)), [len(route) for route in routes])
    moves = _moves(routes)
    if away is not None:
        after = np.array([piece.kind == "after" for piece in pieces])
        prices[away:, ~after] = _NOT_FLOWN
        moves[1:, after] = np.where(np.isfinite(moves[1:, after]), 0.0, np.inf)  # from any leg on it
    for name, time_s in (legs or {}).items():
        _set_by_hand(prices, seen, pieces, route_of, name, time_s)
    totals, at = _cheapest(prices, begin, moves, seen)
    by_route = [float(totals[route_of == number].min()) for number in range(len(routes))]
    order = np.argsort(by_route)
    best = int(order[0])
    at = _first_moments(at - int(np.flatnonzero(route_of == best)[0]), seen.time_s)
    at = _no_leg_between(at, seen.time_s, routes[best])
    second = None
    if len(order) > 1:
        second = names[int(order[1])], by_route[int(order[1])] - by_route[best]
    lasted_s = max(float(seen.time_s[-1] - seen.time_s[0]), 1.0)
    price = by_route[best] / lasted_s
    found = Split(names[best], ended, routes[best], at, spans_of(routes[best], at), second, price, away=away)
    flown = {span.piece.kind for span in found.spans if span.piece.leg is not None}
    # Never as low as its fix, nobody was on the final: what lies along it, and the legs to it, led elsewhere.
    if ended == "incomplete" and lowest == 0 and "arc" not in flown:
        for name, route in zip(names, routes, strict=True):
            if (crossed := _other_end(seen, procedure, name, route)) is not None:
                at = np.where(np.arange(len(seen)) < crossed, 0, len(route) - 1)
                at[crossed] = 1
                return replace(found, entry=name, pieces=route, at=at, spans=spans_of(route, at))
    alone = _no_approach(seen, procedure, found) if not flown or ended == "incomplete" else None
    if alone is not None:
        return alone
    if not flown:
        raise BadData(
            f"The track flies none of the legs of {procedure.name} at {procedure.airport.name}: "
            "expected at least one leg; choose the procedure that was flown"
        )
    return found


def _no_approach(seen: Seen, procedure: Procedure, found: Split) -> Split | None:
    """The flight as a missed approach, its hold or a part of them, with no approach before it; None if not so.

    It must fit better than any approach that was found. Most of a hold lies by its fix, and much of it along the
    course inbound or its other end; the rest of a missed approach begins in the air, and climbs.
    """
    if departed(seen, procedure):
        return None
    pieces = tuple(one for one in pieces_of(procedure, found.entry, "missed") if one.segment in ("missed", "hold"))
    prices = np.stack([np.minimum(price(seen, procedure, piece), LOST) for piece in pieces], axis=1)
    begin = np.stack([arriving(seen, procedure, piece) for piece in pieces], axis=1)
    weights = _weights(seen)
    totals, at = _cheapest(prices, begin, _moves([pieces]), seen)
    mean = float(totals.min() / weights.sum())
    by_legs = any(span.piece.leg is not None for span in found.spans)
    hold = np.asarray(at == len(pieces) - 1)
    if weights[hold].sum() > 0.5 * weights.sum():
        off_deg = np.abs(np.mod(seen.track_deg - procedure.hold.inbound_course_deg + 90.0, 180.0) - 90.0)
        away = away_nm(seen, procedure, procedure.hold.fix)
        along = hold & (off_deg < _ALONG_HOLD_DEG) & (away < _BY_HOLD_NM)
        fits = weights[along].sum() > _ALONG_SHARE * weights[hold].sum() and bool((away < _AT_HOLD_NM).any())
        fits &= not by_legs or mean < found.price
    else:
        climbs = float(seen.alt_ft.max() - seen.alt_ft[0]) > _CLIMBS_FT
        fits = mean < _FITS and (not by_legs or (climbs and mean < found.price))
    if not fits:
        return None
    at = _first_moments(at, seen.time_s)
    return replace(
        found, outcome="incomplete", pieces=pieces, at=at, spans=spans_of(pieces, at), second=None, price=mean
    )


def _other_end(seen: Seen, procedure: Procedure, entry: str, route: tuple[Piece, ...]) -> int | None:
    """Sample over the station after which the first leg's other end was flown out for long; None where it was not."""
    first = route[1]
    if first.kind not in ("radial", "timed") or first.start_nm != 0.0 or first.course_deg is None:
        return None
    over = crossed_at(seen, procedure, entry, departed(seen, procedure))
    if over is None:
        return None
    other = float(reciprocal(first.course_deg))
    if abs(np.mod(procedure.final_course_deg - other + 180.0, 360.0) - 180.0) < _REVERSED_DEG:
        return None  # it is where the final leads
    off_deg = [np.abs(np.mod(each - other + 180.0, 360.0) - 180.0) for each in (seen.track_deg, seen.radial_deg)]
    soon = (seen.time_s > seen.time_s[over]) & (seen.time_s < seen.time_s[over] + _AFTER_S + 2.0 * _OUT_S)
    out = soon & (off_deg[0] < _REVERSED_DEG) & (off_deg[1] < _REVERSED_DEG)
    return over if float(_weights(seen)[out].sum()) >= _OUT_S else None


def split_passage(seen: Seen, inbound_deg: float, outbound_deg: float) -> Split:
    """Cut a station passage flown on its own: in to the station on one course, out from it on another."""
    inbound = Piece("radial", "initial", f"{inbound_deg:03.0f} inbound", None, inbound_deg, -99.0, 0.0)
    outbound = Piece("radial", "initial", f"{outbound_deg:03.0f} outbound", None, outbound_deg, 0.0, 99.0)
    nearest = int(np.argmin(seen.ground_nm))
    if not 0 < nearest < len(seen) - 1 or seen.ground_nm[nearest] > _OVERHEAD_NM:
        raise BadData(
            f"The track comes within {seen.ground_nm.min():.1f} NM of the station: expected a passage within "
            f"{_OVERHEAD_NM:g} NM, recorded before and after it"
        )
    at = (np.arange(len(seen)) >= nearest).astype(np.int_)
    if _from_the_other_end(seen, nearest, inbound_deg, outbound_deg):
        there, back = float(reciprocal(outbound_deg)), float(reciprocal(inbound_deg))
        inbound = replace(inbound, text=f"{there:03.0f} inbound", course_deg=there)
        outbound = replace(outbound, text=f"{back:03.0f} outbound", course_deg=back)
        spans = spans_of((inbound, outbound), at)
        return Split("passage", "incomplete", (inbound, outbound), at, spans, mirrored=True)
    return Split("passage", "incomplete", (inbound, outbound), at, spans_of((inbound, outbound), at))


def _from_the_other_end(seen: Seen, nearest: int, inbound_deg: float, outbound_deg: float) -> bool:
    """Whether a passage came in on the way out reversed and left on the way in reversed."""
    far = seen.ground_nm > _OVERHEAD_NM
    number = np.arange(len(seen))
    before, after = (far & (number < nearest)), (far & (number > nearest))
    if not before.any() or not after.any():
        return False

    def off(part: NDArray[np.bool_], course_deg: float) -> float:
        return float(np.median(np.abs(np.mod(seen.track_deg[part] - course_deg + 180.0, 360.0) - 180.0)))

    there, back = float(reciprocal(outbound_deg)), float(reciprocal(inbound_deg))
    as_reversed = max(off(before, there), off(after, back))
    return as_reversed < _REVERSED_DEG and as_reversed < 0.5 * max(off(before, inbound_deg), off(after, outbound_deg))


def flown_so_far(seen: Seen, procedure: Procedure, category: str) -> Floats:
    """Price of the cheapest way, by any entry and on to a missed approach, to have flown up to every sample. [s]"""
    lowest = outcome(seen, procedure, category)[1]
    names = [way.fix for way in procedure.entries]
    routes, prices, begin = _ways(seen, procedure, names, "missed", lowest)
    weighted = prices * _weights(seen)[:, None]
    moves = _moves(routes)
    total, reached = moves[0] + weighted[0], np.zeros(len(seen))
    reached[0] = total.min()
    for sample in range(1, len(seen)):
        ways = total[:, None] + moves[1:] + np.where(np.eye(len(total), dtype=bool), 0.0, begin[sample])
        total = ways.min(axis=0) + weighted[sample]
        reached[sample] = total.min()
    return reached


def still_to_fly(seen: Seen, procedure: Procedure, category: str) -> Floats:
    """Price of the cheapest approach, by any entry, that begins at every sample and is flown to the end. [s]"""
    ended, lowest = outcome(seen, procedure, category)
    routes, prices, begin = _ways(seen, procedure, [way.fix for way in procedure.entries], ended, lowest)
    weighted = prices * _weights(seen)[:, None]
    moves = _moves(routes)
    total, left = weighted[-1].copy(), np.zeros(len(seen))
    left[-1] = (moves[0] + total).min()
    for sample in range(len(seen) - 2, -1, -1):
        ways = total + moves[1:] + np.where(np.eye(len(total), dtype=bool), 0.0, begin[sample + 1])
        total = ways.min(axis=1) + weighted[sample]
        left[sample] = (moves[0] + total).min()
    return left


def _ways(
    seen: Seen, procedure: Procedure, names: list[str], ended: Outcome, lowest: int
) -> tuple[list[tuple[Piece, ...]], Floats, Floats]:
    """Pieces of every way in; price of every sample on each of them; and of beginning each of them there."""
    routes = [pieces_of(procedure, name, ended) for name in names]
    prices = np.concatenate([_priced(seen, procedure, route, lowest) for route in routes], axis=1)
    begin = np.stack([arriving(seen, procedure, piece) for route in routes for piece in route], axis=1)
    return routes, prices, begin


def _weights(seen: Seen) -> Floats:
    """Seconds that every sample stands for."""
    return np.clip(np.diff(seen.time_s, append=seen.time_s[-1] + seen.step_s), 0.0, _LONGEST_STEP_S)


def _priced(seen: Seen, procedure: Procedure, route: tuple[Piece, ...], lowest: int) -> Floats:
    """Prices of every sample on every piece of one way in."""
    prices = np.zeros((len(seen), len(route)))
    for number, piece in enumerate(route[1:], 1):
        prices[:, number] = price(seen, procedure, piece, goes_on=route[number - 1].kind == piece.kind)
    # Who arrives may fly along a later leg on the way to the entry; only the first legs tell that it has begun.
    own = [number for number, piece in enumerate(route) if piece.leg is not None and piece.segment == "initial"]
    off = departed(seen, procedure)
    prices[:off, 1:] = LOST  # on the way up from a runway no leg has begun
    prices[:, 0] = before(seen, procedure, prices[:, own], off)
    prices[:lowest, [piece.segment in ("missed", "hold", "landing") for piece in route]] = LOST
    return np.minimum(prices, LOST)


def _set_by_hand(
    prices: Floats, seen: Seen, pieces: tuple[Piece, ...], route_of: NDArray[np.intp], name: str, time_s: float
) -> None:
    """Make every other order dearer than any flight."""
    known = {piece.text.lower() for piece in pieces}
    if name.strip().lower() not in known:
        raise BadData(f"There is no part {name.strip()!r}: {did_you_mean(name, {piece.text for piece in pieces})}")
    if not seen.time_s[0] <= time_s <= seen.time_s[-1]:
        last = f"{seen.time_s[0]:.0f} to {seen.time_s[-1]:.0f} s"
        raise BadData(f"{name.strip()} was set to begin at {time_s:.0f} s: expected a time of the recording, {last}")
    later = seen.time_s >= time_s
    for number, piece in enumerate(pieces):
        if piece.text.lower() == name.strip().lower():
            same = route_of == route_of[number]
            numbers = np.arange(len(pieces))
            prices[np.ix_(later, same & (numbers < number))] = _NOT_FLOWN
            prices[np.ix_(~later, same & (numbers >= number))] = _NOT_FLOWN


def _moves(routes: list[tuple[Piece, ...]]) -> Floats:
    """Price, once, of going from each piece to each other; the first row is for beginning with a piece."""
    size = sum(len(route) for route in routes)
    moves = np.full((size + 1, size), np.inf)
    base = 0
    for route in routes:
        for number, piece in enumerate(route):
            moves[0, base + number] = _SKIP_S / 4 * max(number - 1, 0)
            for earlier in range(number + 1):
                skipped = 0.0 if earlier == number else _SKIP_S * (number - earlier - 1)
                moves[1 + base + earlier, base + number] = _AFTER_S if piece.kind == "after" and skipped else skipped
        base += len(route)
    return moves


def _cheapest(prices: Floats, begin: Floats, moves: Floats, seen: Seen) -> tuple[Floats, NDArray[np.int_]]:
    """Totals at the end by last piece, and the piece of every sample, on the cheapest way (Viterbi)."""
    size, count = prices.shape
    weighted = prices * _weights(seen)[:, None]
    total = moves[0] + weighted[0]
    change = moves[1:]
    stays = np.eye(count, dtype=bool)
    came = np.zeros((size, count), dtype=np.int16)
    columns = np.arange(count)
    for sample in range(1, size):
        ways = total[:, None] + change
        ways += np.where(stays, 0.0, begin[sample])
        origin = ways.argmin(axis=0)
        came[sample] = origin
        total = ways[origin, columns] + weighted[sample]
    at = np.zeros(size, dtype=np.int_)
    at[-1] = int(np.argmin(total))
    for sample in range(size - 1, 0, -1):
        at[sample - 1] = came[sample][at[sample]]
    return total, at


def _first_moments(at: NDArray[np.int_], time_s: Floats) -> NDArray[np.int_]:
    """Give what ends in the first moments of a recording to what follows: they tell no leg they are the end of."""
    soon = np.flatnonzero(time_s < time_s[0] + _TOLD_S)
    ends = np.flatnonzero(np.diff(at) != 0)
    ends = ends[(ends <= soon[-1]) & (at[ends] > 0)]
    if len(ends):
        at = at.copy()
        at[: ends[-1] + 1] = at[ends[-1] + 1]
    return at


def _no_leg_between(at: NDArray[np.int_], time_s: Floats, pieces: tuple[Piece, ...]) -> NDArray[np.int_]:
    """Give a last leg of a few moments, reached past others that were left out, to what follows the procedure."""
    spans = spans_of(pieces, at)
    if len(spans) < 3 or spans[-1].piece.kind != "after" or pieces[-1].kind != "after":
        return at
    before, last = spans[-3], spans[-2]
    skipped = int(at[last.first]) - int(at[before.last]) > 1
    if last.piece.leg is None or not skipped or time_s[last.last] - time_s[last.first] > _TOLD_S:
        return at
    at = at.copy()
    at[last.slice] = len(pieces) - 1
    return at


def spans_of(pieces: tuple[Piece, ...], at: NDArray[np.int_]) -> tuple[Span, ...]:
    """Unbroken parts of a flight, one piece each."""
    starts = np.flatnonzero(np.concatenate([[True], np.diff(at) != 0]))
    ends = np.concatenate([starts[1:] - 1, [len(at) - 1]])
    return tuple(Span(pieces[int(at[a])], int(a), int(b)) for a, b in zip(starts, ends, strict=True))
