"""The wind of a flight, and where the nose pointed, worked out from what was recorded.

With heading and airspeed the wind is the difference of two vectors. Without them the ground itself tells
it: flown at one airspeed in a steady wind, ground velocities of all directions lie on a circle about the
wind. Each part of the flight has its own circle (its own airspeed), and all share one centre. A heading
found that way is good enough to say on which side the nose was held, and is called "worked out".
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from needlework.basis.quantity import Floats
from needlework.debrief.indications import Seen
from needlework.debrief.segments import Split

_DIRECTIONS = 4  # of twelve: a third of a turn at least, or wind and airspeed cannot be told apart
_STEADIEST_KT, _ROUGHEST_KT = 1.0, 7.0
_ALIKE_S = 20.0  # neighbouring samples say the same thing
_FEWEST_S = 120.0
_MOST_WIND_KT = 80.0
_GOOD_KT = 4.0  # a wind less unsure than this gives headings to a few degrees
_HOLD = 5


@dataclass(frozen=True)
class Wind:
    """Mean wind of the flight: from [deg true], speed and how unsure it is [kt], and what told it."""

    from_deg_true: float
    kt: float
    unsure_kt: float
    told_by: str

    @property
    def text(self) -> str:
        """The wind in words."""
        if self.kt < max(self.unsure_kt, 2.0):
            return f"nearly calm, told by {self.told_by}"
        from_deg = round(self.from_deg_true / 5) * 5 % 360 or 360
        return f"from {from_deg:03d} true, {self.kt:.0f} kt, told by {self.told_by}"


def wind_of(seen: Seen, cut: Split, declination_deg: float) -> Wind | None:
    """Work the mean wind out; None where the recording cannot tell it."""
    east, north = _ground(seen, declination_deg)
    usable = seen.gs_kt > 40.0
    groups = _groups(seen, cut)
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
    return _by_circle(seen, east, north, usable & ~(np.abs(seen.turn_deg_s) > 1.2), groups)


def nose(seen: Seen, cut: Split, wind: Wind | None, declination_deg: float) -> Floats | None:
    """Magnetic heading of every sample: as recorded, or worked out by the wind; None where neither is good enough.

    In the hold by the hold's own wind, where its laps tell it: they are flown higher than the rest.
    """
    if "heading_deg" in seen.recorded:
        return seen.heading_deg
    if wind is None or wind.unsure_kt > _GOOD_KT:
        return None
    heading = _heading(seen, wind, declination_deg)
    groups = _groups(seen, cut)
    holding = groups == _HOLD
    straight = holding & (np.abs(seen.turn_deg_s) < 1.2) & (seen.gs_kt > 40.0)
    if straight.any():
        here = _by_circle(seen, *_ground(seen, declination_deg), straight, groups)
        if here is not None and here.unsure_kt <= _GOOD_KT:
            heading = np.where(holding, _heading(seen, here, declination_deg), heading)
    return heading


def _heading(seen: Seen, wind: Wind, declination_deg: float) -> Floats:
    east, north = _ground(seen, declination_deg)
    angle = np.deg2rad(wind.from_deg_true)
    return np.asarray(
        np.mod(
            np.rad2deg(np.arctan2(east + wind.kt * np.sin(angle), north + wind.kt * np.cos(angle))) - declination_deg,
            360.0,
        )
    )


def _ground(seen: Seen, declination_deg: float) -> tuple[Floats, Floats]:
    angle = np.deg2rad(seen.track_deg + declination_deg)
    return seen.gs_kt * np.sin(angle), seen.gs_kt * np.cos(angle)


def _groups(seen: Seen, cut: Split) -> Floats:
    """Number of the phase of every sample: in one of them one airspeed is flown, more or less."""
    phases = {
        "before": 0,
        "initial": 1,
        "intermediate": 2,
        "final": 3,
        "landing": 3,
        "missed": 4,
        "hold": _HOLD,
        "after": 6,
    }
    by_piece = np.array([phases[piece.segment] for piece in cut.pieces])
    return np.asarray(by_piece[cut.at])


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


def _by_circle(seen: Seen, east: Floats, north: Floats, usable: NDArray[np.bool_], groups: Floats) -> Wind | None:
    directions = np.unique(np.floor(seen.track_deg[usable] / 30.0))
    if usable.sum() * seen.step_s < _FEWEST_S or len(directions) < _DIRECTIONS:
        return None
    phases = [number for number in np.unique(groups[usable]) if (groups[usable] == number).sum() * seen.step_s > 30.0]
    chosen = usable & np.isin(groups, phases)
    if not chosen.any():
        return None
    indicators = [(groups[chosen] == number).astype(float) for number in phases]
    design = np.column_stack([2 * east[chosen], 2 * north[chosen], *indicators])
    squared = east[chosen] ** 2 + north[chosen] ** 2
    weight = np.ones(len(squared))
    found = np.zeros(design.shape[1])
    for _ in range(4):  # a phase in which the speed was changed must not bend the circle
        normal = (design * weight[:, None]).T @ design
        if np.linalg.cond(normal) > 1e12:
            return None
        found = np.linalg.solve(normal, (design * weight[:, None]).T @ squared)
        left_kt = (squared - design @ found) / (2.0 * np.maximum(seen.gs_kt[chosen], 40.0))
        weight = 1.0 / (1.0 + (left_kt / 3.0) ** 2)
    scatter = float(np.sqrt(np.average(left_kt**2, weights=weight)))
    if scatter > _ROUGHEST_KT:
        return None
    scale = float(np.median(seen.gs_kt[chosen])) * 2.0
    spread = np.linalg.inv(normal)[:2, :2] * (scatter * scale) ** 2 * max(1.0, _ALIKE_S / seen.step_s)
    unsure = max(_STEADIEST_KT, float(np.sqrt(np.trace(spread))))
    return _named(float(found[0]), float(found[1]), unsure, "ground speeds in different directions")


def _named(east_kt: float, north_kt: float, unsure_kt: float, told_by: str) -> Wind | None:
    """Name a wind that blows towards (east, north)."""
    kt = float(np.hypot(east_kt, north_kt))
    if kt > _MOST_WIND_KT or not np.isfinite(kt):
        return None
    return Wind(float(np.mod(np.rad2deg(np.arctan2(-east_kt, -north_kt)), 360.0)), kt, unsure_kt, told_by)
