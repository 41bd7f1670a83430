"""A flight as its judge sees it: the truth by the station's own radials, and what was set."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from needlework.basis.quantity import Floats
from needlework.exercises.answers import Unreadable
from needlework.trade import geodesy
from needlework.trade.angles import difference_deg

if TYPE_CHECKING:
    from needlework.flying.tracklog import Track
    from needlework.world.procedure import Procedure
    from needlework.world.procedure_parts import Station


@dataclass(frozen=True)
class Seen:
    """A flight as its judge sees it: the truth by the station's own radials, and what was set.

    Parameters
    ----------
    track : Track
        The recording.
    station : Station
        The VOR it was flown on.
    procedure : str
        Name of the procedure, where that is known.
    own : Procedure or None
        The procedure itself, of a flight handed in as a file: nobody knows the aircraft either.
    worked_out : dict
        What takes its time to work out and several goals look at.
    """

    track: Track
    station: Station
    procedure: str = ""
    own: Procedure | None = None
    worked_out: dict[tuple[str, ...], Any] = field(default_factory=dict, compare=False, repr=False)

    @cached_property
    def _place(self) -> tuple[Floats, Floats]:
        s = self.station
        radial, dist = geodesy.radial_and_distance(
            station_lat_deg=s.lat_deg,
            station_lon_deg=s.lon_deg,
            declination_deg=s.declination_deg,
            lat_deg=self.track.lat_deg,
            lon_deg=self.track.lon_deg,
        )
        return np.asarray(radial), np.asarray(dist)

    @property
    def radial_deg(self) -> Floats:
        """Radial of each sample. [deg]"""
        return self._place[0]

    @property
    def dist_nm(self) -> Floats:
        """Distance over the ground from the station. [NM]"""
        return self._place[1]

    @property
    def time_s(self) -> Floats:
        """Time of each sample. [s]"""
        return self.track.time_s

    def track_deg(self, begin: int, end: int) -> float:
        """Direction of the straight line from one sample to another, by the station's radials. [deg magnetic]"""
        radial, dist = np.deg2rad(self.radial_deg[[begin, end]]), self.dist_nm[[begin, end]]
        (x0, x1), (y0, y1) = dist * np.sin(radial), dist * np.cos(radial)
        return float(np.rad2deg(np.arctan2(x1 - x0, y1 - y0)))

    def column(self, name: str) -> Floats:
        """Give a column; raises Unreadable where the recording does not hold it."""
        values: Floats | None = getattr(self.track, name)
        if values is None:
            raise Unreadable(f"The recording holds no {name}: it cannot be judged here.")
        return values

    def off_deg(self, course_deg: float) -> Floats:
        """Angle of each sample off the line through the station, right of it positive, -90 to 90. [deg]"""
        off = np.asarray(difference_deg(from_deg=course_deg, to_deg=self.radial_deg))
        return np.where(np.abs(off) > 90.0, np.asarray(difference_deg(from_deg=off, to_deg=180.0)), off)

    @cached_property
    def passage(self) -> int | None:
        """Sample of the first FROM on receiver 1 after TO that does not go back to TO; None if there is none.

        Once another course is selected the flag speaks of another line, so only what was seen with the
        same course counts.
        """
        flag, time, course = self.column("flag_1"), self.time_s, self.column("course_1_deg")
        starts = np.flatnonzero((flag[1:] == -1) & (flag[:-1] != -1)) + 1
        for start in starts:
            same = np.abs(np.asarray(difference_deg(from_deg=float(course[start - 1]), to_deg=course))) < 1.0
            before = same & (time < time[start]) & (time > time[start] - 90.0)
            after = same & (time >= time[start]) & (time <= time[start] + 5.0)
            if (flag[before] == 1).any() and not (flag[after] == 1).any():
                return int(start)
        return None
