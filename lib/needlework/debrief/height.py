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
from dataclasses import dataclass, replace
from typing import get_args

import numpy as np

from needlework.basis.quantity import Constant, Floats
from needlework.debrief.geoid import geoid_m
from needlework.flying.raw import HeightKind
from needlework.trade import altimetry
from needlework.trade.units import FT_M
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
_USUAL_FT = 35.0  # flown above a published altitude
_HABIT_FT = 25.0  # more or less than that, by habit
_AS_FLOWN_FT = -5.0, 75.0  # off a published altitude by this much, all the way, is how people fly
# Below what is published where the runway shows that the heights are right, for most of so long.
_PILOT_LOW_FT, _MOST_ALIKE, _LONG_S = 120.0, 0.6, 180.0
_NEARLY_ALL = 0.8
_FAR_BELOW_FT = -50.0  # nobody flies so far below everything that is published
_FAR_ABOVE_FT = 120.0  # few fly so far above everything that is published
_RUNWAY_FT, _RUNWAY_S = 40.0, 120.0  # shown on the runway: more is a setting; weighs as a level part of that length
_KELVIN_C = 273.15
_ALIKE_FT = 30.0  # level parts that one model explains lie this near to it
_FAR_APART_FT = 300.0  # two settings; less is how somebody flew
_HELD_FT = 22.0  # how steadily a published altitude is held from one level part to the next
_BEFORE = 2.0  # level parts that this is worth, before those of the flight are seen
_MOST_AGREE = 0.5  # of the level flight
_LEVEL_FPM, _LEVEL_S = 200.0, 30.0
_WITNESS_S = 120.0  # held so long, an altitude says all it can
_A_FEW = 0.15  # of the level flight at one setting
_MOST_OFF_FT = 450.0  # ellipsoid to sea level is a hundred metres at most; more is no offset
_DATUM_FT = 165.0  # fifty metres: more than any error of a satellite height, the table of the geoid and the air
_ELLIPSOID_FT = 130.0  # usual size of an offset, where there is one
_AIR_SHARE = 0.055  # usual size of a share of the height: sixteen degrees off standard, warm or cold
_LAYERS_SHARE = 0.012  # what is left of it where the temperature at the field is known: the layers above differ
_SETTING_FT, _MOST_SETTING_FT = 400.0, 1200.0  # of heights by pressure: a usual day, and the lowest and highest known
_FEWEST, _COLDS_C = (
    4,
    (-10.0, -15.0, -20.0, -25.0, -30.0, -35.0),
)  # level parts; temperatures at the field that are tried
_TOLD_SHARE = 0.01  # three degrees: less is not worth a sentence
_SURE = 1.5  # standard deviations
_RIVAL = 3.0  # log of the odds: a model so much less likely than the best still fits
_TOP_FT, _STEP_FT = 8000.0, 200.0  # of the heights above the field at which the models are compared


@dataclass(frozen=True)
class Height:
    """Kind of the heights, what was put right, and how far off a limit a height must lie to tell anything.

    ``offset_ft`` was taken off every height, then ``share`` of the height above the field;
    ``sentences`` say so. ``within_ft`` holds at the minimums; ``by_height`` has pairs of an altitude and
    what it is good to there, where that is not the same at every height. ``above_ft``: all of the flight lies so far
    above what is published that an altitude called too high proves nothing within it. [ft] ``told``: an altimeter's
    as somebody said, by the setting of the day; ``set_wrong``: by it all of the flight lies below what is published,
    ``set_high``: above it.
    """

    kind: HeightKind = "altimeter"
    within_ft: float = float(READING_FT)
    offset_ft: float = 0.0
    share: float = 0.0
    sentences: tuple[str, ...] = ()
    by_height: tuple[tuple[float, float], ...] = ()
    above_ft: float = 0.0
    told: bool = False
    set_wrong: bool = False
    set_high: bool = False

    def within_at_ft(self, alt_ft: Floats) -> Floats:
        """How far off a limit each of these altitudes must lie to tell anything. [ft]"""
        if not self.by_height:
            return np.full_like(alt_ft, self.within_ft)
        at, within = np.array(self.by_height).T
        return np.asarray(np.interp(alt_ft, at, within))


def prior(kind: HeightKind) -> Height:
    """Before anything was compared: the kind alone."""
    return Height(kind) if kind == "altimeter" else Height(kind, _SURE * _ELLIPSOID_FT)


@dataclass(frozen=True)
class _Usual:
    """How large an offset and a share of the height usually are; and a setting, where it may be that as well.

    ``least_share``: a share below it has nothing that could make it.
    """

    offset_ft: float
    share: float
    setting_ft: float = 0.0
    least_share: float = -np.inf


def _usual(kind: HeightKind, field_ft: float, temperature_c: float | None) -> _Usual:
    """By the kind of the heights, and by the temperature of the day where somebody knows it."""
    if kind == "pressure":  # a setting that nobody told; a share only if cold was added that nobody told either
        return _Usual(_SETTING_FT, _AIR_SHARE if temperature_c is None else 0.0, least_share=0.0)
    share = _AIR_SHARE
    if temperature_c is not None:  # satellite heights were put back by it; others may be an altimeter's
        off = abs(air_share(field_ft, temperature_c))
        share = min(_AIR_SHARE, _LAYERS_SHARE + (0.0 if kind == "satellite" else off))
    return _Usual(_ELLIPSOID_FT, share, _SETTING_FT if kind == "unknown" else 0.0)


def _unchecked(kind: HeightKind, field_ft: float, usual: _Usual, runway_ft: float | None = None) -> Height:
    """Heights that no level part checks: whatever offset and air are usual may be in them.

    The runway, where they stood on it, checks the offset; air that is warm or cold shows above it only.
    """
    above = np.arange(0.0, _TOP_FT + _STEP_FT, _STEP_FT)
    offset_ft = _SURE * max(usual.offset_ft, usual.setting_ft) if runway_ft is None else float(CALIBRATED_FT)
    within = np.hypot(offset_ft, _SURE * usual.share * above)
    by_height = tuple(zip((field_ft + above).tolist(), within.tolist(), strict=True))
    if runway_ft is None:
        return Height(kind, float(within[0]), by_height=by_height, sentences=(_UNCHECKED,))
    return Height(kind, float(within[0]), runway_ft, by_height=by_height, sentences=(_BY_RUNWAY,))


def altimeter_ft(alt_ft: Floats, field_ft: float, temperature_c: float) -> Floats:
    """What an altimeter shows at true heights, in air of a temperature at the field: by the ratio to standard air."""
    return np.asarray(field_ft + (alt_ft - field_ft) / (1.0 + air_share(field_ft, temperature_c)))


def air_share(field_ft: float, temperature_c: float) -> float:
    """Share of the height above the field by which true heights differ from shown ones at a temperature there."""
    standard_c = float(altimetry.standard_temperature_c(field_ft))
    return (temperature_c - standard_c) / (standard_c + _KELVIN_C)


@dataclass(frozen=True)
class _Level:
    """A level part: how high, above which published altitude, how long, how high above the field."""

    off_ft: float
    published_ft: float
    above_ft: float
    length_s: float


def put_right(
    seen: Seen,
    cut: Split,
    procedure: Procedure,
    mda_ft: float,
    today: Callable[[float], float],
    temperature_c: float | None = None,
    runway_ft: float | None = None,
    cold: Callable[[float, float], float] | None = None,
) -> tuple[Floats, Height]:
    """Compare the level parts with the published altitudes; give the heights to judge by, and their worth.

    ``runway_ft``: how far above the field the heights stand on the runway after a landing, None where they do not.
    ``cold`` makes of a published altitude and a temperature at the field the altitude to fly.
    An altimeter's heights are left alone unless they lie far below everything that is published.
    """
    strict = seen.height.kind == "altimeter"
    if strict and runway_ft is not None and abs(runway_ft) > _RUNWAY_FT:
        return seen.alt_ft - runway_ft, replace(
            seen.height, offset_ft=runway_ft, sentences=(_runway_words(runway_ft),), within_ft=float(READING_FT)
        )
    most_ft = _MOST_OFF_FT if seen.height.kind == "satellite" else _MOST_SETTING_FT
    levels = list(_levels(seen, cut, procedure, mda_ft, lambda feet: feet, most_ft))
    field_ft = procedure.airport.elevation_ft
    usual = _usual(seen.height.kind, field_ft, temperature_c)
    either_share = 0.0
    if not strict and temperature_c is not None and temperature_c < 0.0:
        # Who did not add the cold flew the published altitudes: whichever explains the flight better. Where the added
        # cold explains it as it was flown, no share of the height is looked for in its place.
        colder = list(_levels(seen, cut, procedure, mda_ft, today, most_ft))
        plain = replace(usual, share=0.0)
        if colder and _best_odds(colder, plain) > _best_odds(levels, usual) - _RIVAL:
            levels = colder
        elif seen.height.kind == "unknown":
            # True heights of a pilot who added the cold look like an altimeter's of one who did not.
            either_share = abs(air_share(field_ft, temperature_c))
    if strict and (seen.height.told or runway_ft is not None) and _pilot_high(levels, temperature_c):
        return seen.alt_ft, replace(seen.height, set_high=True)
    if strict and temperature_c is None and cold and (added_ft := _cold_added_ft(levels, cold)) > 0.0:
        return seen.alt_ft, replace(seen.height, above_ft=added_ft, sentences=(_COLD_ADDED,))
    if not strict and runway_ft is not None and abs(runway_ft) < most_ft:
        levels.append(_Level(runway_ft + _USUAL_FT, field_ft, 0.0, _RUNWAY_S))
    floors = {level.published_ft for level in levels}
    unchecked = seen.alt_ft, seen.height
    if not strict:
        by_runway_ft = runway_ft if runway_ft is not None and abs(runway_ft) < most_ft else None
        unchecked = seen.alt_ft - (by_runway_ft or 0.0), _unchecked(seen.height.kind, field_ft, usual, by_runway_ft)
    if runway_ft is not None and _pilot_low(levels, 0.0 if strict else runway_ft, 0.0 if strict else usual.share):
        return unchecked[0], replace(unchecked[1], set_wrong=True, sentences=() if strict else (_PILOT_LOW,))
    if len(levels) < (3 if strict else 2) or len(floors) < (3 if strict else 1):
        return unchecked
    models = _fitting(levels, usual)
    if not models or max(model.agree for model in models) < _MOST_AGREE:
        return unchecked
    by_setting = runway_ft is None and (usual.setting_ft > 0.0 or seen.height.kind == "pressure")
    if by_setting and _two_settings(levels, max(models, key=lambda model: model.log_odds)):
        return unchecked
    odds = np.exp([model.log_odds for model in models])
    offset = float(np.average([model.offset_ft for model in models], weights=odds))
    share = float(np.average([model.share for model in models], weights=odds))
    by_height = [offset + share * level.above_ft for level in levels]
    if strict and min(by_height) > _FAR_ABOVE_FT:
        return seen.alt_ft, replace(seen.height, above_ft=offset, sentences=(_above_words(offset),))
    if strict and max(by_height) > _FAR_BELOW_FT:
        return seen.alt_ft, seen.height
    contradicted = _contradicted(levels, offset, share)
    if seen.height.told:  # the setting is known: it is not the recorder that stood on another one
        return seen.alt_ft, replace(seen.height, set_wrong=not contradicted)
    if strict and contradicted:  # what an altimeter showed right on some legs it showed right on all
        return seen.alt_ft, seen.height
    best = max(models, key=lambda model: model.log_odds)
    if seen.height.kind == "satellite" and runway_ft is None:
        least_ft, most_ft = _recorders_ft(procedure)
        off_ft = best.offset_ft - _USUAL_FT
        if not least_ft < off_ft < most_ft and not least_ft < offset - _USUAL_FT < most_ft:
            if contradicted:
                return unchecked
            within_ft = max(abs(least_ft), abs(most_ft)) - _DATUM_FT + float(CALIBRATED_FT)
            no_recorder = Height("satellite", within_ft, sentences=(_NO_RECORDER,))
            return seen.alt_ft, replace(no_recorder, set_wrong=off_ft < 0.0, set_high=off_ft > 0.0)
    base_ft = max(float(CALIBRATED_FT), best.left_ft) + seen.alt_grain_ft
    above = np.arange(0.0, _TOP_FT + _STEP_FT, _STEP_FT)
    said = np.array([model.offset_ft + model.share * above for model in models])
    apart = said.max(axis=0) - said.min(axis=0)
    unsure = np.average([model.unsure_ft(above) for model in models], axis=0, weights=odds)
    lowest = mda_ft - field_ft
    ends = [offset + share * lowest, *by_height]
    as_flown = _AS_FLOWN_FT[0] <= min(ends) and max(ends) <= _AS_FLOWN_FT[1]
    if as_flown:
        offset, share = _USUAL_FT, 0.0
    else:
        base_ft += _HABIT_FT
    within = np.maximum(base_ft, np.hypot(apart, _SURE * unsure)) + either_share * above
    alt_ft = field_ft + (seen.alt_ft - field_ft - (offset - _USUAL_FT)) / (1.0 + share)
    sentences = []
    if abs(offset - _USUAL_FT) >= _ALIKE_FT:
        sentences.append(_offset_words(offset - _USUAL_FT))
    if abs(share) >= _TOLD_SHARE:
        sentences.append(_air_words(share))
    return alt_ft, Height(
        seen.height.kind,
        float(np.interp(lowest, above, within)),
        offset - _USUAL_FT,
        share,
        tuple(sentences or (_AGREES,)),
        tuple(zip((field_ft + above).tolist(), within.tolist(), strict=True)),
    )


def _recorders_ft(procedure: Procedure) -> tuple[float, float]:
    """From and to where satellite heights may lie off those above sea level: the ellipsoid, and some more. [ft]"""
    station = procedure.station
    ellipsoid_ft = geoid_m(station.lat_deg, station.lon_deg) / FT_M
    return min(ellipsoid_ft, 0.0) - _DATUM_FT, max(ellipsoid_ft, 0.0) + _DATUM_FT


def _pilot_low(levels: list[_Level], runway_ft: float, share: float) -> bool:
    """Whether heights that were right on the runway show nearly all of the flight far below, by one number of feet.

    What the recording is off by it is off on the runway as well: so it was the pilot's altimeter.
    """
    off = np.array([level.off_ft - runway_ft - _USUAL_FT for level in levels if level.above_ft > 0.0])
    above = np.array([level.above_ft for level in levels if level.above_ft > 0.0])
    weight = np.array([min(level.length_s, 120.0) for level in levels if level.above_ft > 0.0])
    if len(off) < 2 or weight.sum() < _LONG_S or np.median(off) > -_PILOT_LOW_FT:
        return False
    alike = np.abs(off - np.median(off)) < 2.0 * _ALIKE_FT
    by_air = np.abs(np.median(off)) < _SURE * share * float(np.median(above))  # cold makes a share of the height
    return bool(weight[alike].sum() > _MOST_ALIKE * weight.sum() and not by_air)


def _pilot_high(levels: list[_Level], temperature_c: float | None) -> bool:
    """Whether an altimeter's heights show all of the flight far above, by one number of feet and no cold added."""
    off = np.array([level.off_ft - _USUAL_FT for level in levels])
    weight = np.array([min(level.length_s, 120.0) for level in levels])
    if len(off) < _FEWEST - 1 or (temperature_c is not None and temperature_c < 0.0):
        return False
    alike = np.abs(off - np.median(off)) < 2.0 * _ALIKE_FT
    high = np.median(off) > _FAR_ABOVE_FT and off.min() > _FAR_ABOVE_FT / 2
    return bool(high and weight[alike].sum() > _NEARLY_ALL * weight.sum())


def _two_settings(levels: list[_Level], best: _Model) -> bool:
    """Whether level parts that the best model leaves out agree on another setting nearly as well.

    Then either may be the recorder's, and the other the pilot's altitude.
    """
    left = np.array([level.off_ft - best.offset_ft - best.share * level.above_ft for level in levels])
    weight = _weights(levels)
    with_it, others = np.abs(left) < _ALIKE_FT, np.abs(left) > _FAR_APART_FT
    if not others.any():
        return False
    alike = others & (np.abs(left - np.median(left[others])) < _ALIKE_FT)
    return bool(alike.sum() > 1 and weight[alike].sum() > _MOST_AGREE * weight[with_it].sum())


def _weights(levels: list[_Level]) -> Floats:
    """What each level part says of the recording: an altitude chosen once is one witness, however often it was held.

    So the laps of a hold at an altitude that was remembered wrongly do not outvote the rest of the flight.
    """
    weight = np.minimum([level.length_s for level in levels], _WITNESS_S) / _WITNESS_S
    for number, level in enumerate(levels):
        same = [
            each
            for each, other in enumerate(levels)
            if other.published_ft == level.published_ft and abs(other.off_ft - level.off_ft) < _ALIKE_FT
        ]
        if number == same[0]:
            weight[same] /= max(1.0, float(weight[same].sum()))
    return np.asarray(weight)


def _contradicted(levels: list[_Level], offset_ft: float, share: float) -> bool:
    """Whether some of the level flight was at its published altitude, where the rest lies off by one setting.

    What by that setting is another published altitude contradicts nothing, as the leg before may have ended later;
    nor does the little that is left of the way in, which is flown at any altitude.
    """
    published = np.array([level.published_ft for level in levels])
    own_s = off_s = 0.0
    for level in levels:
        by_setting_ft = level.published_ft + level.off_ft - offset_ft - share * level.above_ft
        if np.abs(published - by_setting_ft).min() <= 2.0 * _ALIKE_FT:
            off_s += level.length_s
        elif _FAR_BELOW_FT < level.off_ft < _FAR_ABOVE_FT:
            own_s += level.length_s
    return own_s > _A_FEW * off_s


def _cold_added_ft(levels: list[_Level], cold: Callable[[float, float], float]) -> float:
    """How much higher the highest level part was flown for a cold that nobody told; 0 where none explains it."""
    if len(levels) < _FEWEST or min(level.off_ft for level in levels) < _FAR_ABOVE_FT / 2:
        return 0.0
    best, added_ft = _best_odds(levels, _Usual(_HABIT_FT, 0.0)) + _RIVAL, 0.0
    for temperature_c in _COLDS_C:
        by_cold = [cold(level.published_ft, temperature_c) - level.published_ft for level in levels]
        colder = [replace(level, off_ft=level.off_ft - added) for level, added in zip(levels, by_cold, strict=True)]
        odds = _best_odds(colder, _Usual(_HABIT_FT, 0.0))
        if odds > best:
            best, added_ft = odds, max(by_cold) + _HABIT_FT + float(READING_FT)
    return added_ft


_UNCHECKED = (
    "Nothing in this recording checks its heights, which do not come from an altimeter: no altitude that an offset "
    "or warm or cold air could explain is called wrong."
)
_BY_RUNWAY = (
    "The level parts do not agree on how far the heights are off; on the runway they showed it, and by that they are "
    "judged. Above it they are good to what warm or cold air makes of them."
)
_PILOT_LOW = (
    "On the runway the heights were right, and every level part before it lies as far below what is published: the "
    "pilot's altimeter stood on another setting."
)
_NO_RECORDER = (
    "Every level part lies as far off what is published, by more than sea level and ellipsoid lie apart here: the "
    "pilot's altimeter stood on another setting."
)
_COLD_ADDED = (
    "The level parts lie above what is published in proportion to their height above the field, as with cold "
    "corrections added: nothing within that is called too high; say the temperature of the day."
)
_AGREES = "The heights agree with the published altitudes wherever the flight was level."


def _runway_words(offset_ft: float) -> str:
    side = "below" if offset_ft < 0 else "above"
    return (
        f"On the runway the heights showed {abs(offset_ft):.0f} ft {side} the elevation of the field: the recorder "
        "stood on another setting. That was taken off."
    )


def _above_words(offset_ft: float) -> str:
    return (
        f"Every level part lies about {offset_ft:.0f} ft above what is published: flown so high, or no "
        "altimeter's heights. Nothing within that is called too high; say which kind the heights are, and the "
        "setting of the day."
    )


def _offset_words(offset_ft: float) -> str:
    side = "below" if offset_ft < 0 else "above"
    return (
        f"Every level part lies about {abs(offset_ft):.0f} ft {side} what is published: taken as an offset of the "
        "recording (satellite height above the ellipsoid, or another setting) and taken off. A pilot that far off on "
        "a wrong altimeter setting would look the same: compare with the altimeter."
    )


def _air_words(share: float) -> str:
    differ = f"The heights differ from what is published by {abs(share):.0%} of the height above the field: "
    if share < 0:
        return (
            f"{differ}true heights, as a satellite receiver has them, on a cold day. They were put back to what an "
            "altimeter shows."
        )
    return (
        f"{differ}true heights, as a satellite receiver has them, on a warm day, or cold corrections that were "
        "added. That much was taken off; say which kind the heights are, and the temperature of the day."
    )


def _levels(
    seen: Seen, cut: Split, procedure: Procedure, mda_ft: float, today: Callable[[float], float], most_ft: float
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
            if length >= _LEVEL_S and abs(off) < most_ft:
                yield _Level(off, published, published - procedure.airport.elevation_ft, length)


def _published(segment: str, leg: Leg | None, procedure: Procedure, mda_ft: float) -> float | None:
    """Altitude published for a part of the flight."""
    if segment in ("missed", "hold"):
        return procedure.missed.altitude_ft
    if leg is None:
        return None
    return mda_ft if leg.minimum_ft is None else leg.minimum_ft


@dataclass(frozen=True)
class _Model:
    """What one explanation makes of the level parts: so much at the field, and such a share of the height."""

    offset_ft: float
    share: float
    left_ft: float
    agree: float
    log_odds: float
    spread: Floats  # covariance of the two

    def unsure_ft(self, above_ft: Floats) -> Floats:
        """Standard deviation of what the model says at heights above the field: it grows outside the level parts."""
        (at_field, both), (_, of_share) = self.spread
        return np.asarray(np.sqrt(np.maximum(at_field + 2.0 * both * above_ft + of_share * above_ft**2, 0.0)))


def _models(levels: list[_Level], usual: _Usual) -> list[_Model]:
    """Explanations of the level parts: as flown, an offset, a share of the height, or both."""
    shares = (0.0, usual.share) if usual.share else (0.0,)
    models = [_fit(levels, offset_ft, share) for offset_ft in (_HABIT_FT, usual.offset_ft) for share in shares]
    models = [model for model in models if model.share >= usual.least_share]
    return [*models, _fit(levels, usual.setting_ft, 0.0)] if usual.setting_ft else models


def _best_odds(levels: list[_Level], usual: _Usual) -> float:
    """Log of the odds of the best of them."""
    return max(model.log_odds for model in _models(levels, usual)) if levels else -np.inf


def _fitting(levels: list[_Level], usual: _Usual) -> list[_Model]:
    """The explanations that the level parts leave standing."""
    models = _models(levels, usual)
    best = max(model.log_odds for model in models)
    return [replace(model, log_odds=model.log_odds - best) for model in models if model.log_odds > best - _RIVAL]


def _fit(levels: list[_Level], offset_ft: float, share: float) -> _Model:
    """Offset and share of the height that explain most level parts, of the sizes that are usual.

    Least squares in which a level part far off the others hardly counts (it is the pilot's own: errors of
    Student's distribution with three degrees of freedom), drawn towards how people fly: a little above
    what is published, in standard air. The odds of a model are those of its best fit, times how much of
    what it could have explained is left (Laplace's approximation): a wider model must earn its width.
    """
    off = np.array([level.off_ft for level in levels])
    above = np.array([level.above_ft for level in levels])
    weight = _weights(levels)
    free = 2 if share else 1
    design = np.column_stack([np.ones_like(above), above])[:, :free]
    pull = np.diag([1.0 / offset_ft**2, 1.0 / share**2 if share else 0.0][:free])
    middle = np.array([_USUAL_FT, 0.0])[:free]
    found = _starts(off, above, share)[:, :free]  # from every level part in turn: far ones hide one another
    for _ in range(15):
        left = (off - found @ design.T) / _HELD_FT
        trusted = (design * (weight * 4.0 / (3.0 + left**2) / _HELD_FT**2)[..., None]).swapaxes(1, 2)
        normal = trusted @ design + pull
        found = np.linalg.solve(normal, (trusted @ off + pull @ middle)[..., None])[..., 0]
    left = (off - found @ design.T) / _HELD_FT
    far = found - middle
    log_odds = -2.0 * np.sum(weight * np.log1p(left**2 / 3.0), axis=1) - 0.5 * np.sum((far @ pull) * far, axis=1)
    log_odds += 0.5 * (np.linalg.slogdet(pull)[1] - np.linalg.slogdet(normal)[1])
    best = int(np.flatnonzero(log_odds > log_odds.max() - 1e-9)[0])
    found, normal = found[best], normal[best]
    left = np.abs(off - design @ found)
    near = left < _ALIKE_FT
    spread = float(np.sqrt(np.average(left[near] ** 2, weights=weight[near]))) * 1.5 if near.any() else _ALIKE_FT
    agree = float(weight[near].sum() / weight.sum())
    unsure = np.zeros((2, 2))
    held_ft2 = (_HELD_FT**2 * _BEFORE + np.sum(left[near] ** 2)) / (_BEFORE + np.sum(near))
    unsure[:free, :free] = np.linalg.inv(normal) * min(1.0, held_ft2 / _HELD_FT**2)
    return _Model(float(found[0]), float(found[1]) if share else 0.0, spread, agree, float(log_odds[best]), unsure)


def _starts(off: Floats, above: Floats, share: float) -> Floats:
    """Offset and share that put each level part, in turn, on the line. Shape (starts, 2)."""
    firsts = np.array([0.0, -share, share] if share else [0.0])[:, None]
    return np.column_stack([np.ravel(off - firsts * above), np.ravel(firsts + 0.0 * above)])
