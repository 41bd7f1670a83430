"""The two receivers of the panel: what is active, what is in standby, which station that is, what it sends."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from needlework.basis.errors import BadData
from needlework.basis.quantity import within
from needlework.flying import flight
from needlework.trade import geodesy, ident
from needlework.world.procedure import Procedure
from needlework.world.procedure_parts import Station

_LOWEST, _HIGHEST = 10800, 11795
SENT = ("ident", "test", "nothing")
"""What a station may send; one that sends nothing at all is off."""


@dataclass(frozen=True)
class _Heard:
    """A station within reach: its radio, and where it stands from the procedure's own. [NM]"""

    station: Station
    radio: flight.Radio
    east_nm: float
    north_nm: float


class Receivers:
    """Two receivers with an active and a standby frequency each; the DME hangs on one of them.

    Parameters
    ----------
    way : Procedure
        Gives the stations that can be received.
    seed : int
        For the small waves of the needles.
    tuned : mapping, optional
        ``active_mhz`` and ``standby_mhz``, what both receivers begin with, and ``sends``: by ident, what a station
        sends that does not send its ident, ``"test"`` or ``"nothing"``. Left out, both are on the procedure's own
        station and cannot be tuned.

    Raises
    ------
    BadData, OutOfRange
        If a frequency or what is sent cannot be.
    """

    def __init__(self, way: Procedure, seed: int, tuned: Mapping[str, Any] | None = None) -> None:
        own = way.station
        self.own = own
        self.tunable = tuned is not None
        self._stations: dict[int, _Heard] = {}
        for station in (own, *way.other_stations):
            east_nm, north_nm = (
                float(each)
                for each in geodesy.plane_from_position(
                    station_lat_deg=own.lat_deg,
                    station_lon_deg=own.lon_deg,
                    lat_deg=station.lat_deg,
                    lon_deg=station.lon_deg,
                )
            )
            heard = _Heard(station, flight.radio(station, seed=seed), east_nm, north_nm)
            self._stations.setdefault(_hundredths(station.frequency_mhz), heard)
        tuned = tuned or {}
        active = _hundredths(float(within("active_mhz", tuned.get("active_mhz", own.frequency_mhz), 108, 118, "MHz")))
        standby = _hundredths(float(within("standby_mhz", tuned.get("standby_mhz", 108.0), 108, 118, "MHz")))
        self.sends: dict[str, str] = dict(tuned.get("sends", {}))
        for name, sent in self.sends.items():
            if sent not in SENT:
                raise BadData(f"{name} sends {sent!r}: expected {', '.join(SENT)}")
        self.active, self.standby = [active, active], [standby, standby]
        self.heard = [False, False]
        self.distance_from = 0

    def dial(self, number: int, hundredths: int) -> None:
        """Turn the standby frequency of receiver 0 or 1 on, round the band. [0.01 MHz]"""
        span = _HIGHEST - _LOWEST + 5
        self.standby[number] = _LOWEST + (self.standby[number] + hundredths - _LOWEST) % span

    def change_over(self, number: int) -> None:
        """Make standby active and active standby; what is active now has not been heard yet."""
        self.active[number], self.standby[number] = self.standby[number], self.active[number]
        self.heard[number] = False

    def _received(self, number: int) -> _Heard | None:
        found = self._stations.get(self.active[number])
        return None if found is None or self.sends.get(found.station.ident) == "nothing" else found

    def listen(self, number: int) -> str:
        """Hear what receiver 0 or 1 really receives; says it in dots and dashes."""
        found = self._received(number)
        if found is None:
            return f"Receiver {number + 1}, {self.active[number] / 100:.2f}: silence. Nothing proves a station."
        if self.sends.get(found.station.ident) == "test":
            return f"Receiver {number + 1} hears {_signs('TEST')}."
        self.heard[number] = found.station is self.own
        wanted = f"{self.own.ident} is what it should be: letter by letter, is it?"
        heard = _signs(found.station.ident)
        if not self.tunable:
            return f"You hear {heard}. {wanted}"
        return f"Receiver {number + 1} hears {heard}. {self.own.ident} is {_signs(self.own.ident)}: is it the same?"

    @property
    def identified(self) -> bool:
        """True while receiver 1 is on the procedure's station and has been listened to since it was."""
        return self.heard[0]

    def look(
        self,
        state: flight.State,
        air: flight.Air,
        courses_deg: tuple[float, float],
        before: flight.Sight | None,
    ) -> flight.Sight:
        """Read every instrument, each receiver on the station it is tuned to."""
        first = self._one(0, state, air, courses_deg, before)
        if self.active[0] == self.active[1]:
            return first
        second = self._one(1, state, air, courses_deg, before)
        source = second if self.distance_from else first
        return replace(first, needle_2_deg=second.needle_2_deg, flag_2=second.flag_2, dme_nm=source.dme_nm)

    def _one(
        self,
        number: int,
        state: flight.State,
        air: flight.Air,
        courses_deg: tuple[float, float],
        before: flight.Sight | None,
    ) -> flight.Sight:
        found = self._received(number)
        if found is not None and found.station is self.own:
            return flight.look(state, found.radio, air, *courses_deg, before)
        other = found or self._stations[_hundredths(self.own.frequency_mhz)]
        moved = replace(state, east_nm=state.east_nm - other.east_nm, north_nm=state.north_nm - other.north_nm)
        seen = flight.look(moved, other.radio, air, *courses_deg, before)
        if found is not None:
            return seen
        still, off = np.zeros_like(seen.needle_1_deg), np.zeros_like(seen.flag_1)
        dark = np.full_like(still, math.nan)
        return replace(seen, needle_1_deg=still, needle_2_deg=still, flag_1=off, flag_2=off, dme_nm=dark)

    def said(self, number: int) -> str:
        """Say what stands in the windows of receiver 0 or 1."""
        hangs = ", DME" if self.distance_from == number else ""
        return f"{self.active[number] / 100:.2f} active, {self.standby[number] / 100:.2f} standby{hangs}"

    def absent(self, actions: Collection[str]) -> list[str]:
        """Give the buttons that mean nothing where nothing is tuned."""
        return [] if self.tunable else [action for action in actions if is_tuning(action)]


def is_tuning(action: str) -> bool:
    """Say whether a button belongs to the receivers' frequencies."""
    return action.startswith(("tune", "change over", "DME on")) or action == "identify 2"


def _hundredths(mhz: float) -> int:
    return round(100.0 * mhz)


def _signs(letters: str) -> str:
    return ident.code(letters).replace("-", "–").replace(".", "·")
