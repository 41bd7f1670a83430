"""What the heights of a recording are worth: which kind they are, how far they are off, what they can tell.

A pilot is judged by the altimeter; a recording may hold a satellite receiver's height instead: above
sea level or above the ellipsoid (up to a hundred metres apart, constant for one flight), true to the
ground in air of any temperature where an altimeter is not (cold air: the true height is the smaller
one, in proportion to the height), and drifting slowly. The procedure itself shows which: a flight
levels off at published altitudes again and again. Where nearly all of its level parts lie off them by
the same number of feet, or in the same proportion to the height, the recording is meant and not the
pilot: the heights are put right by it, the reader is told, and what is left uncertain is kept.
"""

from __future__ import annotations

import typing
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import get_args

import numpy as np

from needlework.basis.quantity import Constant, Floats
from needlework.flying.raw import HeightKind
from needlework.trade import altimetry
from needlework.world.procedure import Procedure
from needlework.world.procedure_parts import Leg

if typing.TYPE_CHECKING:
    from needlework.debrief.indications import Seen
    from needlework.debrief.segments import Split

KINDS: tuple[HeightKind, ...] = get_args(HeightKind)

READING_FT = Constant(
    20.0, "ft", "common-practice", "one graduation of an altimeter, and its tolerance near the ground"
)
CALIBRATED_FT = Constant(20.0, "ft", "common-practice", "of heights that agree with the published altitudes")
UNCHECKED_FT = Constant(100.0, "ft", "common-practice", "of heights of unknown kind that nothing checks")
_USUAL_FT = 35.0  # flown above a published altitude
_HABIT_FT = 25.0  # more or less than that, by habit
_AS_FLOWN_FT = -5.0, 75.0  # off a published altitude by this much, all the way, is how people fly
_FAR_BELOW_FT = -50.0  # nobody flies so far below everything that is published
_TELLING_FT = 1200.0
_KELVIN_C = 273.15
_ALIKE_FT = 60.0  # level parts that lie off by the same amount agree to this
_MOST_AGREE = 0.5  # of the level flight
_LEVEL_FPM, _LEVEL_S = 200.0, 30.0
_MOST_OFF_FT = 450.0  # ellipsoid to sea level is a hundred metres at most; more is no offset
_STEEPEST = 0.25  # of the height: air colder than any that is flown in
_SHALLOWEST = 0.035  # of the height: ten degrees or so, and more than the spread of how people fly


@dataclass(frozen=True)
class Height:
    """Kind of the heights, what was put right, and how far off a limit a height must lie to tell anything.

    ``offset_ft`` was taken off every height, then ``share`` of the height above the field added;
    ``sentences`` say so.
    """

    kind: HeightKind = "altimeter"
    within_ft: float = float(READING_FT)
    offset_ft: float = 0.0
    share: float = 0.0
    sentences: tuple[str, ...] = ()


def prior(kind: HeightKind) -> Height:
    """Before anything was compared: the kind alone."""
    return Height(kind) if kind == "altimeter" else Height(kind, float(UNCHECKED_FT))


def altimeter_ft(alt_ft: Floats, field_ft: float, temperature_c: float) -> Floats:
    """What an altimeter shows at true heights, in air of a temperature at the field: by the ratio to standard air."""
    standard_c = float(altimetry.standard_temperature_c(field_ft))
    share = (temperature_c - standard_c) / (standard_c + _KELVIN_C)
    return np.asarray(field_ft + (alt_ft - field_ft) / (1.0 + share))


@dataclass(frozen=True)
class _Level:
    """A level part: how high, above which published altitude, how long, how high above the field."""

    off_ft: float
    published_ft: float
    above_ft: float
    length_s: float


def put_right(
    seen: Seen, cut: Split, procedure: Procedure, mda_ft: float, today: Callable[[float], float]
) -> tuple[Floats, Height]:
    """Compare the level parts with the published altitudes; give the heights to judge by, and their worth.

    An altimeter's heights are left alone unless they lie far below everything that is published.
    """
    levels = list(_levels(seen, cut, procedure, mda_ft, today))
    strict = seen.height.kind == "altimeter"
    floors = {level.published_ft for level in levels}
    if len(levels) < 3 or len(floors) < (3 if strict else 2):
        return seen.alt_ft, seen.height
    offset, share, left, agree = _fit(levels, with_share=False)
    if _tells_of_air(levels):
        other = _fit(levels, with_share=True)
        if abs(other[1]) >= _SHALLOWEST and (other[3] > agree + 0.15 or other[2] < 0.5 * left):
            offset, share, left, agree = other
    if agree < _MOST_AGREE:
        return seen.alt_ft, seen.height
    field_ft = procedure.airport.elevation_ft
    by_height = [offset + share * level.above_ft for level in levels]
    if strict and max(by_height) > _FAR_BELOW_FT:
        return seen.alt_ft, seen.height
    within = max(float(CALIBRATED_FT), left) + seen.alt_grain_ft
    if _AS_FLOWN_FT[0] <= min(by_height) and max(by_height) <= _AS_FLOWN_FT[1]:
        return seen.alt_ft, Height(seen.height.kind, within, sentences=(_AGREES,))
    alt_ft = field_ft + (seen.alt_ft - field_ft - (offset - _USUAL_FT)) / (1.0 + share)
    sentences = []
    if abs(offset - _USUAL_FT) >= _ALIKE_FT / 2:
        sentences.append(_offset_words(offset - _USUAL_FT))
    if share:
        sentences.append(_air_words(share))
    return alt_ft, Height(
        seen.height.kind, within + _HABIT_FT, offset - _USUAL_FT, share, tuple(sentences or (_AGREES,))
    )


_AGREES = "The heights agree with the published altitudes wherever the flight was level."


def _offset_words(offset_ft: float) -> str:
    side = "below" if offset_ft < 0 else "above"
    return (
        f"Every level part lies about {abs(offset_ft):.0f} ft {side} what is published: taken as an offset of the "
        "recording (satellite height above the ellipsoid, or another setting) and taken off. A pilot that far off on "
        "a wrong altimeter setting would look the same: compare with the altimeter."
    )


def _air_words(share: float) -> str:
    air = "cold" if share < 0 else "warm"
    return (
        f"The heights differ from what is published by {abs(share):.0%} of the height above the field: true heights, "
        f"as a satellite receiver has them, on a {air} day. They were put back to what an altimeter shows."
    )


def _levels(
    seen: Seen, cut: Split, procedure: Procedure, mda_ft: float, today: Callable[[float], float]
) -> Iterator[_Level]:
    for span in cut.spans:
        published = _published(span.piece.segment, span.piece.leg, procedure, mda_ft)
        if published is None:
            continue
        published = today(published)
        part = np.arange(span.first, span.last + 1)
        level = np.abs(seen.vs_fpm[part]) < _LEVEL_FPM + seen.vs_grain_fpm
        starts = np.flatnonzero(level & ~np.concatenate([[False], level[:-1]]))
        ends = np.flatnonzero(level & ~np.concatenate([level[1:], [False]]))
        for first, last in zip(part[starts], part[ends], strict=True):
            length = float(seen.time_s[last] - seen.time_s[first])
            off = float(np.median(seen.alt_ft[first : last + 1])) - published
            if length >= _LEVEL_S and abs(off) < _MOST_OFF_FT:
                yield _Level(off, published, published - procedure.airport.elevation_ft, length)


def _published(segment: str, leg: Leg | None, procedure: Procedure, mda_ft: float) -> float | None:
    """Altitude published for a part of the flight."""
    if segment in ("missed", "hold"):
        return procedure.missed.altitude_ft
    if leg is None:
        return None
    return mda_ft if leg.minimum_ft is None else leg.minimum_ft


def _tells_of_air(levels: list[_Level]) -> bool:
    """Whether there is height enough between the level parts to tell a share of it from an offset."""
    above = [level.above_ft for level in levels]
    return len({level.published_ft for level in levels}) >= 3 and max(above) - min(above) > _TELLING_FT


def _fit(levels: list[_Level], with_share: bool) -> tuple[float, float, float, float]:
    """Offset and share of the height that explain most level parts, what is left over, and how much agrees.

    Least squares in which a level part far off the others hardly counts (it is the pilot's own), drawn
    gently towards how people fly: a little above what is published, in standard air.
    """
    off = np.array([level.off_ft for level in levels])
    above = np.array([level.above_ft for level in levels]) / 1000.0
    weight = np.minimum([level.length_s for level in levels], 120.0) / 60.0
    best: tuple[float, float, float] | None = None
    for start in off:  # from every level part in turn: the largest number that agree wins
        offset, share = float(start), 0.0
        for _ in range(12):
            left = off - offset - share * above
            trust = weight / (1.0 + (left / _ALIKE_FT * 3.0) ** 2) ** 2
            design = np.column_stack([np.ones_like(above), above if with_share else np.zeros_like(above)])
            pull = np.diag([1.0 / 150.0**2, 1.0 / 60.0**2]) * 400.0
            normal = (design * trust[:, None]).T @ design + pull
            offset, share = np.linalg.solve(
                normal, (design * trust[:, None]).T @ off + pull @ np.array([_USUAL_FT, 0.0])
            )
        left = np.abs(off - offset - share * above)
        agree = float(weight[left < _ALIKE_FT / 2].sum() / weight.sum())
        agree -= abs(float(offset) - _USUAL_FT) / 2000.0  # of two that explain as much, the smaller
        if best is None or agree > best[0] + 1e-9:
            best = agree, float(offset), float(share)
    assert best is not None
    agree, offset, share = best
    left = np.abs(off - offset - share * above)
    near = left < _ALIKE_FT / 2
    spread = float(np.sqrt(np.average(left[near] ** 2, weights=weight[near]))) * 1.5 if near.any() else _ALIKE_FT
    return offset, share / 1000.0, spread, agree
