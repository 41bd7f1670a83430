"""The wind of a flight, and where the nose pointed, worked out from what was recorded.

With heading and airspeed the wind is the difference of two vectors. Without them the ground itself tells
it: flown at one airspeed in a steady wind, ground velocities of all directions lie on a circle about the
wind. Every minute or two of the flight has its own circle (its own airspeed), and all share one centre; turns
tell most. A heading
found that way is good enough to say on which side the nose was held, and is called "worked out".
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from needlework.basis.quantity import Floats
from needlework.debrief.indications import Seen
from needlework.debrief.segments import Split

_DIRECTIONS = 4  # of twelve: a third of a turn at least, or wind and airspeed cannot be told apart
_STEADIEST_KT, _ROUGHEST_KT = 1.0, 7.0
_WINDOW_S = 100.0  # one airspeed, more or less
_PARTS = 8  # of the flight, left out in turn
_FLAT = 1e4  # condition of what tells one direction only
_FEWEST_S = 120.0
_MOST_WIND_KT = 80.0
_GOOD_KT = 4.0  # a wind less unsure than this gives headings to a few degrees
_TOLD_KT = 3.0  # a forecast wind is no better


@dataclass(frozen=True)
class Wind:
    """Mean wind of the flight: from [deg true], speed and how unsure it is [kt], and what told it.

    ``layers``: altitude [ft], from and speed of each wind that somebody told, rising. ``spread_kt2``: how unsure it
    is by direction (east-east, east-north, north-north), where it was worked out: along the way flown most it may
    be known well, and across it badly. [kt squared]
    """

    from_deg_true: float
    kt: float
    unsure_kt: float
    told_by: str
    layers: tuple[tuple[float, float, float], ...] = ()
    spread_kt2: tuple[float, float, float] | None = None

    def unsure_along_kt(self, east: Floats, north: Floats) -> Floats:
        """How unsure the part of it along directions is. [kt]"""
        if self.spread_kt2 is None:
            return np.full(len(east), self.unsure_kt)
        e, n = (each / np.maximum(np.hypot(east, north), 1e-6) for each in (east, north))
        return np.sqrt(self.spread_kt2[0] * e**2 + 2.0 * self.spread_kt2[1] * e * n + self.spread_kt2[2] * n**2)

    @property
    def text(self) -> str:
        """The wind in words."""
        if self.kt < max(self.unsure_kt, 2.0):
            return f"nearly calm, told by {self.told_by}"
        from_deg = round(self.from_deg_true / 5) * 5 % 360 or 360
        how = "as it was told" if self.layers else f"told by {self.told_by}"
        return f"from {from_deg:03d} true, {self.kt:.0f} kt, {how}"


def told(layers: tuple[tuple[float, float, float], ...], seen: Seen) -> Wind:
    """The wind that somebody told, at the altitude flown most."""
    rising = tuple(sorted(layers))
    east, north = _blowing(rising, np.array([float(np.median(seen.alt_ft))]))
    from_deg, kt = float(np.mod(np.rad2deg(np.arctan2(-east[0], -north[0])), 360.0)), float(np.hypot(east, north)[0])
    return Wind(from_deg, kt, _TOLD_KT, "a report", rising)


def as_said(measured: Wind | None, layers: tuple[tuple[float, float, float], ...], seen: Seen) -> Wind | None:
    """The wind as it was said, where what was measured agrees with it: the reader finds the figures given."""
    if measured is None or measured.layers or not layers:
        return measured
    said = told(layers, seen)
    angle = np.deg2rad(said.from_deg_true - measured.from_deg_true)
    apart_kt = float(abs(said.kt * np.exp(1j * angle) - measured.kt))
    return said if apart_kt <= measured.unsure_kt else measured


def _blowing(layers: tuple[tuple[float, float, float], ...], alt_ft: Floats) -> tuple[Floats, Floats]:
    """East and north part of where the told winds blow to, at altitudes. [kt]"""
    at, from_deg, kt = np.array(layers).T
    angle = np.deg2rad(from_deg)
    return np.interp(alt_ft, at, -kt * np.sin(angle)), np.interp(alt_ft, at, -kt * np.cos(angle))


def wind_of(seen: Seen, declination_deg: float) -> Wind | None:
    """Work the mean wind out; None where the recording cannot tell it."""
    east, north = _ground(seen, declination_deg)
    usable = seen.gs_kt > 40.0
    if "heading_deg" in seen.recorded and "ias_kt" in seen.recorded:
        tas_kt = seen.columns["ias_kt"] * (1.0 + 0.02 * np.clip(seen.alt_ft, 0.0, 20_000.0) / 1000.0)
        angle = np.deg2rad(seen.heading_deg + declination_deg)
        known = usable & np.isfinite(tas_kt) & (tas_kt > 40.0)
        if known.sum() * seen.step_s < 30.0:
            return None
        wind = (
            float(np.median((east - tas_kt * np.sin(angle))[known])),
            float(np.median((north - tas_kt * np.cos(angle))[known])),
        )
        return _named(*wind, 2.0, "heading and airspeed")
    if "heading_deg" in seen.recorded:
        return _by_drift(seen, east, north, usable, declination_deg)
    return _by_circle(seen, east, north, usable)


def nose(seen: Seen, cut: Split, wind: Wind | None, declination_deg: float) -> Floats | None:
    """Magnetic heading of every sample: as recorded, or worked out by the wind; None where neither is good enough.

    In the hold by the hold's own wind, where its laps tell it: they are flown higher than the rest.
    """
    if "heading_deg" in seen.recorded:
        return seen.heading_deg
    if wind is None or wind.unsure_kt > _GOOD_KT:
        return None
    heading = _heading(seen, wind, declination_deg)
    if wind.layers:
        return heading
    holding = np.array([piece.segment == "hold" for piece in cut.pieces])[cut.at]
    if holding.any():
        here = _by_circle(seen, *_ground(seen, declination_deg), holding & (seen.gs_kt > 40.0))
        if here is not None and here.unsure_kt <= _GOOD_KT:
            heading = np.where(holding, _heading(seen, here, declination_deg), heading)
    return heading


def _heading(seen: Seen, wind: Wind, declination_deg: float) -> Floats:
    east, north = through_air(seen, wind, declination_deg)
    return np.asarray(np.mod(np.rad2deg(np.arctan2(east, north)) - declination_deg, 360.0))


def through_air(seen: Seen, wind: Wind, declination_deg: float) -> tuple[Floats, Floats]:
    """East and north part of the velocity through the air: over the ground less the wind. [kt]"""
    east, north = _ground(seen, declination_deg)
    blows = _blowing(wind.layers or ((0.0, wind.from_deg_true, wind.kt),), seen.alt_ft)
    return east - blows[0], north - blows[1]


def _ground(seen: Seen, declination_deg: float) -> tuple[Floats, Floats]:
    angle = np.deg2rad(seen.track_deg + declination_deg)
    return seen.gs_kt * np.sin(angle), seen.gs_kt * np.cos(angle)


def _by_drift(
    seen: Seen, east: Floats, north: Floats, usable: NDArray[np.bool_], declination_deg: float
) -> Wind | None:
    """With a heading alone: what pushes sideways, in two directions or more, is the wind."""
    angle = np.deg2rad(seen.heading_deg + declination_deg)
    right = np.column_stack([np.cos(angle), -np.sin(angle)])[usable]
    pushed = (east * np.cos(angle) - north * np.sin(angle))[usable]
    if len(pushed) * seen.step_s < _FEWEST_S:
        return None
    normal = right.T @ right
    if np.linalg.cond(normal) > 50.0:
        return None
    wind = np.linalg.solve(normal, right.T @ pushed)
    scatter = float(np.std(pushed - right @ wind))
    return _named(float(wind[0]), float(wind[1]), max(1.0, scatter / 2.0), "heading and track")


def _by_circle(seen: Seen, east: Floats, north: Floats, usable: NDArray[np.bool_]) -> Wind | None:
    """Centre that the circles of all windows share; how unsure it is by leaving parts of the flight out in turn."""
    directions = np.unique(np.floor(seen.track_deg[usable] / 30.0))
    if usable.sum() * seen.step_s < _FEWEST_S or len(directions) < _DIRECTIONS:
        return None
    window = np.floor((seen.time_s[usable] - seen.time_s[0]) / _WINDOW_S).astype(int)
    design = 2.0 * np.column_stack([east, north])[usable]
    squared = (east**2 + north**2)[usable]
    speed_kt = np.maximum(seen.gs_kt[usable], 40.0)
    weight = np.ones(len(squared))
    found: Floats | None = None
    for _ in range(5):  # a window in which the speed was changed must not bend the circle
        sums = np.bincount(window, weight) + 1e-9
        means = np.column_stack([np.bincount(window, weight * each) for each in design.T]) / sums[:, None]
        about = design - means[window]
        about_squared = squared - (np.bincount(window, weight * squared) / sums)[window]
        found = _solved(about, about_squared, weight)
        if found is None:
            return None
        left_kt = (about_squared - about @ found) / (2.0 * speed_kt)
        weight = 1.0 / (1.0 + (left_kt / 3.0) ** 2)
    assert found is not None
    if float(np.sqrt(np.average(left_kt**2, weights=weight))) > _ROUGHEST_KT:
        return None
    spread = _STEADIEST_KT**2 * np.eye(2) / 2.0
    for part in np.array_split(np.unique(window), _PARTS):
        without = _solved(about, about_squared, weight * ~np.isin(window, part))
        if without is None:
            return None
        spread = spread + np.outer(without - found, without - found)
    unsure_kt = float(np.sqrt(np.trace(spread)))
    wind = _named(float(found[0]), float(found[1]), unsure_kt, "ground speeds in different directions")
    return wind and replace(wind, spread_kt2=(float(spread[0, 0]), float(spread[0, 1]), float(spread[1, 1])))


def _solved(design: Floats, values: Floats, weight: Floats) -> Floats | None:
    """Least squares; None where they do not tell both unknowns."""
    normal = (design * weight[:, None]).T @ design
    if np.linalg.cond(normal) > _FLAT:
        return None
    return np.asarray(np.linalg.solve(normal, (design * weight[:, None]).T @ values))


def _named(east_kt: float, north_kt: float, unsure_kt: float, told_by: str) -> Wind | None:
    """Name a wind that blows towards (east, north)."""
    kt = float(np.hypot(east_kt, north_kt))
    if kt > _MOST_WIND_KT or not np.isfinite(kt):
        return None
    return Wind(float(np.mod(np.rad2deg(np.arctan2(-east_kt, -north_kt)), 360.0)), kt, unsure_kt, told_by)
