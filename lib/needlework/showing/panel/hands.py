"""The harder way: wings, speed and level-off in the pilot's own hands, as commands to the one flight model.

By default heading, airspeed and level-off are held for the pilot. Each of the three can be taken over before flight:

* *wings*: the hand sets the bank and the heading follows from it; nobody holds a heading, and the wings never stay
  quite where they were put;
* *speed*: the hand sets the power; the speed follows from it, from climb and descent and from flap and gear;
* *level-off*: the hand raises and lowers the nose, counted from level flight; nobody stops a climb or a descent.

Nothing here flies. A bank becomes a rate of turn, a power the speed at which it carries the aircraft, a nose a
vertical speed; :func:`needlework.flying.flight.step` flies them with its own lags and limits.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np

from needlework.basis.quantity import Constant, Floats
from needlework.flying import flight
from needlework.trade import turns
from needlework.trade.units import NM_FT
from needlework.world.aircraft import Aircraft

SWITCHES = ("wings", "speed", "level-off")
"""What can be taken into one's own hands."""

CRUISE_POWER_PCT = Constant(75.0, "%", "common-practice", "power at cruising speed")
CLIMB_SHARE = Constant(0.85, "1", "common-practice", "of full power the propeller makes this much at climbing speed")
FLAP_DRAG = Constant(0.15, "1", "common-practice", "each step of flap or gear adds this much to the drag")
WANDER_DEG = Constant(1.4, "deg", "common-practice", "how far wings left alone wander in still air")
NOSE_WANDER_DEG = Constant(0.25, "deg", "common-practice", "how far a nose left alone wanders in still air")
GUST_WANDER = Constant(0.06, "1/kt", "common-practice", "by how much each knot of gust adds to both")
MOST_NOSE_DEG = Constant(8.0, "deg", "common-practice", "as far as the nose goes from level flight, up or down")
_PERIODS_S = (13.0, 41.0, 157.0)
_SHARES = (0.3, 0.3, 0.4)


@dataclass
class Hands:
    """What the hands hold, and what they have set.

    Parameters
    ----------
    craft : Aircraft
        What is flown.
    gust_kt : float
        How much the wind gusts above its mean. [kt]
    seed : int
        For how wings and nose wander.
    """

    craft: Aircraft
    gust_kt: float = 0.0
    seed: int = 0
    taken: set[str] = field(default_factory=set)
    bank_deg: float = 0.0
    nose_deg: float = 0.0
    power_pct: float = 0.0

    def __post_init__(self) -> None:
        """Draw the phases of the wandering, and work out what level flight takes at each speed."""
        self._phases = np.random.default_rng(self.seed).uniform(0.0, 2.0 * math.pi, (2, len(_PERIODS_S)))
        craft = self.craft
        self.slowest_kt, self.fastest_kt = math.ceil(0.9 * craft.threshold_kt), math.floor(1.15 * craft.cruise_kt)
        self._speeds_kt = np.linspace(self.slowest_kt, self.fastest_kt, 200)
        # Drag is least near the speed of the best climb: there its two parts are alike. Power is drag times speed.
        scale = CRUISE_POWER_PCT / self._shape(craft.cruise_kt)
        # Slower than where power is least, less power would ask for a faster flight: that side is left out.
        self._level_pct: Floats = np.maximum.accumulate(scale * np.asarray(self._shape(self._speeds_kt)))
        spare_pct = max(CLIMB_SHARE * 100.0 - scale * float(self._shape(craft.climb_kt)), 5.0)
        self._fpm_per_pct = craft.climb_fpm / spare_pct

    def _shape(self, speed_kt: float | Floats) -> float | Floats:
        least_kt = self.craft.climb_kt
        return speed_kt**3 + least_kt**4 / speed_kt

    def __bool__(self) -> bool:
        return bool(self.taken)

    def said(self) -> str:
        """Say what is flown by hand, for the head of a recording and for whoever reads it."""
        return ", ".join(name for name in SWITCHES if name in self.taken) or "nothing"

    def switch(self, name: str, ias_kt: float, configuration: float) -> None:
        """Take one of :data:`SWITCHES` into the hands, or give it back; at first they hold what is flown."""
        self.taken ^= {name}
        self.bank_deg = self.nose_deg = 0.0
        self.power_pct = float(round(self.level_power_pct(ias_kt, configuration)))

    def level_power_pct(self, ias_kt: float, configuration: float) -> float:
        """Power that holds a speed in level flight. [%]"""
        level = np.interp(ias_kt, self._speeds_kt, self._level_pct) * (1.0 + FLAP_DRAG * configuration)
        return float(np.clip(level, 0.0, 100.0))

    def speed_kt(self, power_pct: float, vs_fpm: float, configuration: float) -> float:
        """Speed at which a power carries the aircraft while it climbs or descends so. [kt]

        What the power leaves beside a climb, or has with a descent, is what level flight takes at that speed.
        """
        left_pct = (power_pct - vs_fpm / self._fpm_per_pct) / (1.0 + FLAP_DRAG * configuration)
        return float(np.interp(left_pct, self._level_pct, self._speeds_kt))

    def vs_fpm(self, tas_kt: float, time_s: float) -> float:
        """Vertical speed of a nose so high. [ft/min]"""
        path_deg = self.nose_deg + self._wander(1, time_s) * NOSE_WANDER_DEG
        return tas_kt * NM_FT / 60.0 * math.sin(math.radians(path_deg))

    def wings_deg(self, time_s: float) -> float:
        """Bank the wings go to: where the hand has put them, and what they do by themselves. [deg]"""
        most = self.craft.bank_limit_deg
        return float(np.clip(self.bank_deg + self._wander(0, time_s) * WANDER_DEG, -most, most))

    def _wander(self, which: int, time_s: float) -> float:
        waves = sum(
            share * math.sin(2.0 * math.pi * time_s / period_s + phase)
            for share, period_s, phase in zip(_SHARES, _PERIODS_S, self._phases[which], strict=True)
        )
        return float(waves) * (1.0 + GUST_WANDER * self.gust_kt)

    def command(self, held: flight.Command, state: flight.State, air: flight.Air) -> flight.Command:
        """Turn what the hands do into the model's command; what is not in the hands stays as it is held."""
        tas_kt = float(air.tas_kt(state.ias_kt, state.alt_ft)[0])
        asked = held
        if "wings" in self.taken:
            bank_deg = self.wings_deg(state.time_s)
            rate = (
                float(turns.turn_rate_deg_s(tas_kt=tas_kt, bank_deg=abs(bank_deg))) if abs(bank_deg) > 0.02 else 0.0
            )
            # A heading that is never reached: the rate of turn alone decides, and with it the bank.
            ahead = state.heading_deg + math.copysign(180.0, bank_deg)
            asked = replace(asked, heading_deg=ahead, rate_deg_s=np.array([rate]))
        if "level-off" in self.taken:
            vs = self.vs_fpm(tas_kt, state.time_s)
            asked = replace(asked, vs_fpm=np.array([vs]), level_ft=np.array([math.nan]))
        if "speed" in self.taken:
            ias = self.speed_kt(self.power_pct, float(state.vs_fpm[0]), float(state.configuration[0]))
            asked = replace(asked, ias_kt=np.array([ias]))
        return asked
