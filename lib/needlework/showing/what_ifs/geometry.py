"""The geometry that what-ifs share: places on magnetic axes round the station, paths over the ground."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from needlework.basis.quantity import Floats
from needlework.trade.angles import difference_deg, three_digits, wrap360


def number(value: ArrayLike) -> float:
    """Take the one number that a function of the trade gave."""
    return float(np.asarray(value))


def point(along_nm: Any, right_nm: Any, direction_deg: Any) -> tuple[Any, Any]:
    """East and north of a place given along a direction and to the right of it."""
    angle = np.deg2rad(direction_deg)
    return (
        along_nm * np.sin(angle) + right_nm * np.cos(angle),
        along_nm * np.cos(angle) - right_nm * np.sin(angle),
    )


def polar(east_nm: Any, north_nm: Any) -> tuple[float, float]:
    """Radial and ground distance of a place; overhead the radial is north."""
    return number(wrap360(np.rad2deg(np.arctan2(east_nm, north_nm)))), float(np.hypot(east_nm, north_nm))


def between(course_deg: float, other_deg: float) -> float:
    """Angle from one direction to another, right positive. [deg]"""
    return number(difference_deg(from_deg=course_deg, to_deg=other_deg))


def spoken(direction_deg: float) -> str:
    """Three digits, the way a pilot says a direction."""
    return three_digits(direction_deg=direction_deg)[:3]


def side_words(value: float, unit: str, digits: int = 0) -> str:
    """Write a signed size as a size and a side: ``"3° right"``."""
    return f"{abs(value):.{digits}f}{unit} {'right' if value > 0 else 'left'}"


@dataclass(frozen=True, eq=False)
class Path:
    """A path over the ground, second by second: place on magnetic axes round the station, heading.

    Parameters
    ----------
    time_s, east_nm, north_nm, heading_deg : numpy.ndarray
        One value a sample. [s], [NM], [NM], [deg magnetic]
    """

    time_s: Floats
    east_nm: Floats
    north_nm: Floats
    heading_deg: Floats

    def at(self, time_s: float) -> tuple[float, float, float]:
        """East, north and heading at a moment; before the first sample and after the last they stand still."""
        turned = np.unwrap(self.heading_deg, period=360.0)
        east, north, heading = (
            float(np.interp(time_s, self.time_s, values)) for values in (self.east_nm, self.north_nm, turned)
        )
        return east, north, heading % 360.0

    def until(self, time_s: float) -> tuple[Floats, Floats]:
        """The part flown by a moment, thinned for drawing."""
        count = int(np.searchsorted(self.time_s, time_s, side="right"))
        east, north, _ = self.at(time_s)
        every = max(1, count // 150)
        return np.append(self.east_nm[:count:every], east), np.append(self.north_nm[:count:every], north)

    def thinned(self) -> tuple[Floats, Floats]:
        """All of it, thinned for drawing."""
        every = max(1, len(self.time_s) // 200)
        return (
            np.append(self.east_nm[::every], self.east_nm[-1]),
            np.append(self.north_nm[::every], self.north_nm[-1]),
        )


def flown(
    start_nm: tuple[float, float],
    heading_deg: Floats,
    tas_kt: float,
    wind_from_deg: float,
    wind_kt: float,
    step_s: float = 1.0,
) -> Path:
    """Add up headings into a path over the ground: air along the heading, and the air itself with the wind."""
    nose = np.deg2rad(heading_deg)
    blow = np.deg2rad(wind_from_deg)
    hours = step_s / 3600.0
    east = (tas_kt * np.sin(nose) - wind_kt * np.sin(blow)) * hours
    north = (tas_kt * np.cos(nose) - wind_kt * np.cos(blow)) * hours
    # The middle between two headings carries the aircraft from one sample to the next.
    east_nm = start_nm[0] + np.concatenate([[0.0], np.cumsum(0.5 * (east[:-1] + east[1:]))])
    north_nm = start_nm[1] + np.concatenate([[0.0], np.cumsum(0.5 * (north[:-1] + north[1:]))])
    time_s = np.arange(len(heading_deg), dtype=np.float64) * step_s
    return Path(time_s, east_nm, north_nm, np.mod(heading_deg, 360.0))


def turned(begin_deg: float, end_deg: float, rate_deg_s: float, step_s: float) -> Floats:
    """Headings of a turn the short way, a sample each step, both ends included."""
    way = between(begin_deg, end_deg)
    count = max(1, math.ceil(abs(way) / rate_deg_s / step_s))
    part = np.minimum(np.arange(count + 1, dtype=np.float64) * rate_deg_s * step_s / max(abs(way), 1e-9), 1.0)
    return np.asarray(begin_deg + way * part)
