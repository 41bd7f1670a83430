"""The cockpit: the state being flown, what the hands have set, and what is read; no clock, no file, no browser."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from needlework.flying import flight
from needlework.flying.plan import Start
from needlework.flying.reference_pilot import TOUCH_FT
from needlework.showing.faces import CourseDeviation
from needlework.showing.panel.controls import ACTIONS
from needlework.showing.panel.hands import MOST_NOSE_DEG, Hands
from needlework.showing.panel.receivers import Receivers
from needlework.trade import geodesy, vor
from needlework.trade.units import NM_M
from needlework.world.aircraft import Aircraft
from needlework.world.procedure import Procedure
from needlework.world.procedure_parts import along_nm
from needlework.world.weather import Day

FLAG_WORDS = {1: "TO", 0: "NONE", -1: "FROM"}
"""The flag in words by the number under which it is flown and recorded."""
OFF_THE_RUNWAY = "on the ground, not on the runway"
"""How a flight has ended whose wheels came down anywhere else."""
_NO_TARGET = math.nan
_SHORT_NM, _BESIDE_NM = 0.05, 0.08
_HELD_FT = 15.0  # so near to level-off its altitude is the one that is held
_DOT_DEG = vor.FULL_SCALE_DEG / vor.FULL_SCALE_DOTS


class Cockpit:
    """One flight flown by hand: what the aircraft does, what the hands have set, what is shown.

    Parameters
    ----------
    way : Procedure
        Gives station, fixes and altitudes.
    craft : Aircraft
        What is flown.
    day : Day
        Wind, temperature, setting.
    start : Start
        Where the flight begins.
    course_1_deg, course_2_deg : float
        What the selectors show at first. [deg magnetic]
    seed : int
        For the small waves of the needles.
    tuned : mapping, optional
        What the receivers begin with, if they are to be tuned; see
        :class:`needlework.showing.panel.receivers.Receivers`.
    dme_fails_at_nm : float or None
        The DME goes dark when it comes to this reading, from above or below, and stays so. [NM]
    sight_at_nm : float or None
        On the final, lower than its fix, the runway comes in sight at this reading; None: it never does. [NM]
    """

    def __init__(
        self,
        way: Procedure,
        craft: Aircraft,
        day: Day,
        start: Start,
        course_1_deg: float = 360.0,
        course_2_deg: float = 360.0,
        seed: int = 0,
        tuned: Mapping[str, Any] | None = None,
        dme_fails_at_nm: float | None = None,
        sight_at_nm: float | None = None,
    ) -> None:
        self.way, self.craft, self.day = way, craft, day
        station = way.station
        self._air = flight.air_over(station, day, field_ft=way.airport.elevation_ft)
        self.receivers = Receivers(way, seed, tuned)
        names = [step.name for step in craft.configurations]
        self.configuration = names.index(craft.configuration(start.configuration).name) if start.configuration else 0
        angle = np.deg2rad(start.radial_deg + station.declination_deg)
        true_ft = float(self._air.true_ft(np.array([start.altitude_ft]))[0])
        self.state = flight.start(
            start.dme_nm * np.sin(angle),
            start.dme_nm * np.cos(angle),
            true_ft,
            start.heading_deg,
            start.ias_kt,
            self.configuration,
        )
        self.heading_deg = float(round(start.heading_deg))
        self.ias_kt = float(round(start.ias_kt))
        self.course_deg = [course_1_deg % 360.0, course_2_deg % 360.0]
        self.vs_fpm = 0.0
        self.stop_ft = float(round(start.altitude_ft / 20.0) * 20)
        self.target_ft = float(start.altitude_ft)
        self.stopwatch_s = 0.0
        self.stopwatch_runs = False
        gust_kt = 0.0 if day.wind.gust_kt is None else day.wind.gust_kt - day.wind.speed_kt[0]
        self.begun = False
        self._held_back = False
        self.hands = Hands(craft, gust_kt, seed)
        self._command = flight.steady(self.state)
        self._fails_at_nm, self._read_nm, self._dark = dme_fails_at_nm, math.nan, False
        self.sight_at_nm, self.runway_in_sight, self._looked_nm = sight_at_nm, False, math.nan
        self.runway_behind = False
        self.sight = self._look(None)

    def _look(self, before: flight.Sight | None) -> flight.Sight:
        courses = (self.course_deg[0], self.course_deg[1])
        sight = self.receivers.look(self.state, self._air, courses, before)
        if self._fails_at_nm is None:
            return sight
        read_nm = float(sight.dme_nm[0])
        if not math.isnan(read_nm):
            if (self._read_nm - self._fails_at_nm) * (read_nm - self._fails_at_nm) <= 0.0:
                self._dark = True
            self._read_nm = read_nm
        return replace(sight, dme_nm=np.full_like(sight.dme_nm, math.nan)) if self._dark else sight

    def settle(self) -> None:
        """Let needles and flags come to rest where they are: time stands still, the receivers do not."""
        self.sight = self._look(None)

    @property
    def identified(self) -> bool:
        """True once the procedure's station has been heard on receiver 1, until that is tuned elsewhere."""
        return self.receivers.identified

    @property
    def time_s(self) -> float:
        """Time flown. [s]"""
        return float(self.state.time_s)

    def act(self, action: str) -> str:
        """Do what a button asks for; returns what is to be said about it, mostly nothing."""
        for name in ("heading", "course1", "course2", "ias", "vs", "stop", "configuration"):
            if action.startswith(name) and action[len(name) :].lstrip("+-").isdigit():
                said = str(getattr(self, f"_{name}")(int(action[len(name) :])) or "")
                self._set()
                return said
        if action.startswith("hand "):
            return self._take(action.removeprefix("hand "))
        if action == "wings":
            self.hands.bank_deg = 0.0
        elif action == "level":
            self.vs_fpm = 0.0
            # What it still rises or sinks while the vertical speed dies away comes on top.
            after_ft = float(self.state.vs_fpm[0]) / 60.0 * self.craft.vertical_lag_s
            self.target_ft = round((float(self.sight.alt_ft[0]) + after_ft) / 10.0) * 10.0
            self._set()
        elif action == "stopwatch":
            self.stopwatch_runs = not self.stopwatch_runs
        elif action == "zero":
            self.stopwatch_s, self.stopwatch_runs = 0.0, False
        elif action in ("identify", "identify 2"):
            return self.receivers.listen(1 if action.endswith("2") else 0)
        elif self.receivers.tunable:
            return self._tune(action)
        return ""

    def _tune(self, action: str) -> str:
        """Dial a standby frequency, change over, or hang the DME on the other receiver."""
        if action.startswith("tune"):
            self.receivers.dial(int(action[4]) - 1, int(action[5:]))
        elif action.startswith("change over"):
            self.receivers.change_over(int(action[-1]) - 1)
            self.settle()
        elif action == "DME on":
            self.receivers.distance_from = 1 - self.receivers.distance_from
            self.settle()
        return ""

    def _take(self, name: str) -> str:
        """Take wings, speed or level-off into the hands, or give them back; only before the flight."""
        if self.begun:
            return "What is flown by hand is chosen before the flight."
        self.hands.switch(name, float(self.state.ias_kt[0]), float(self.state.configuration[0]))
        if name not in self.hands.taken:
            held = {"wings": "The heading is", "speed": "The airspeed is", "level-off": "The level-off is"}[name]
            return f"{held} held for you again: the easier way."
        return {
            "wings": "The wings are yours: you set the bank, the heading follows. Nobody holds a heading.",
            "speed": "The speed is yours: you set the power. "
            "A climb costs speed, and so does flap; a descent gains some.",
            "level-off": "The level-off is yours: you raise and lower the nose. Nobody stops a climb or a descent.",
        }[name]

    def _heading(self, size: int) -> None:
        if "wings" in self.hands.taken:
            step = math.copysign(5.0 if abs(size) >= 10 else 1.0, size)
            most = self.craft.bank_limit_deg
            self.hands.bank_deg = float(np.clip(self.hands.bank_deg + step, -most, most))
            return
        # Beyond a full turn ahead of the nose nobody knows any more what was asked for.
        wanted = self.heading_deg + size
        if abs(wanted - float(self.state.heading_deg[0])) <= 350.0:
            self.heading_deg = wanted

    def _course1(self, size: int) -> None:
        self.course_deg[0] = (self.course_deg[0] + size) % 360.0

    def _course2(self, size: int) -> None:
        self.course_deg[1] = (self.course_deg[1] + size) % 360.0

    def _ias(self, size: int) -> str:
        if "speed" in self.hands.taken:
            self.hands.power_pct = float(np.clip(self.hands.power_pct + size, 0.0, 100.0))
            return ""
        self.ias_kt = float(np.clip(self.ias_kt + size, self.hands.slowest_kt, self.hands.fastest_kt))
        limit = self.craft.configurations[self.configuration].max_kt
        if limit is not None and self.ias_kt > limit:
            return f"{self._step_name(self.configuration)} is flown at {limit:.0f} kt or less."
        return ""

    def _vs(self, size: int) -> str:
        if "level-off" in self.hands.taken:
            nose = self.hands.nose_deg + math.copysign(0.5, size)
            self.hands.nose_deg = float(np.clip(nose, -MOST_NOSE_DEG, MOST_NOSE_DEG))
            return ""
        top = math.floor(self.craft.climb_fpm / 50.0) * 50.0
        wanted_fpm = float(np.clip(self.vs_fpm + size, -2000.0, top))
        down = wanted_fpm < 0.0
        # A climb or descent asked for here would be levelled off at once, or pass level-off and never be stopped.
        if wanted_fpm * size > 0.0 and abs(self.stop_ft - float(self.sight.alt_ft[0])) < _HELD_FT:
            self._held_back = True
            way, then = ("lower", "descent") if down else ("raise", "climb")
            return f"Level-off holds {self.stop_ft:,.0f} ft: {way} it first, then ask for the {then} again."
        self.vs_fpm = wanted_fpm
        if self.vs_fpm == 0.0:
            self.act("level")
        else:
            self._held_back = False
            self._aim_at_stop()
        return ""

    def _stop(self, size: int) -> str:
        self.stop_ft = float(np.clip(self.stop_ft + size, 0.0, 15_000.0))
        if self.vs_fpm != 0.0:
            self._aim_at_stop()
            return ""
        if not self._held_back:
            return ""
        way = "descent" if self.stop_ft < float(self.sight.alt_ft[0]) else "climb"
        return f"Level-off now waits at {self.stop_ft:,.0f} ft: ask for the {way}."

    def _aim_at_stop(self) -> None:
        """Level off where asked if that lies ahead; else climb or descend on and on."""
        ahead = (self.stop_ft - float(self.sight.alt_ft[0])) * self.vs_fpm > 0.0
        self.target_ft = self.stop_ft if ahead else _NO_TARGET

    def _configuration(self, size: int) -> str:
        wanted = self.configuration + size
        if not 0 <= wanted < len(self.craft.configurations):
            return ""
        limit = self.craft.configurations[wanted].max_kt
        if size > 0 and limit is not None and float(self.state.ias_kt[0]) > limit:
            return f"{self._step_name(wanted)} is set at {limit:.0f} kt or less: slow down first."
        self.configuration = wanted
        return ""

    def _step_name(self, step: int) -> str:
        return self.craft.configurations[step].name.capitalize()

    def _set(self) -> None:
        """Turn what the hands have set into the model's command."""
        size = 300.0 if self.vs_fpm == 0.0 else self.vs_fpm if math.isnan(self.target_ft) else abs(self.vs_fpm)
        self._command = replace(
            self._command,
            heading_deg=np.array([self.heading_deg]),
            ias_kt=np.array([self.ias_kt]),
            vs_fpm=np.array([size]),
            level_ft=np.array([self.target_ft]),
            configuration=np.array([float(self.configuration)]),
        )

    def advance(self, seconds: float, each_second: Callable[[dict[str, float]], None] | None = None) -> None:
        """Fly on; ``each_second`` gets a row for the recording whenever a whole second has been flown. [s]"""
        end = self.time_s + seconds
        while end - self.time_s > 1e-6:
            whole = math.floor(self.time_s + 1e-6) + 1.0
            step = min(end, whole, self.time_s + flight.STEP_S) - self.time_s
            command = self._command
            if self.hands:
                command = self.hands.command(command, self.state, self._air)
            self.state = flight.step(self.state, command, self._air, self.craft, step)
            self.sight = self._look(self.sight)
            if self.stopwatch_runs:
                self.stopwatch_s += step
            self._captured()
            self._look_out()
            if each_second is not None and abs(self.time_s - whole) < 1e-6:
                each_second(self.row())

    def _captured(self) -> None:
        """Once level where asked, the vertical speed asked for is nil."""
        if self.vs_fpm and not math.isnan(self.target_ft):
            near = abs(float(self.sight.alt_ft[0]) - self.target_ft) < 12.0
            if near and abs(float(self.state.vs_fpm[0])) < 60.0:
                self.vs_fpm = 0.0
                self._set()

    def _look_out(self) -> None:
        """See whether the runway has come in sight, and whether it has been left behind."""
        if self.sight_at_nm is None:
            return
        past_nm, _ = self._from_threshold_nm()
        read_nm = float(self.sight.dme_nm[0])
        low = float(self.sight.alt_ft[0]) < self.way.final_fix_ft
        if low and past_nm < 0.0 and (self._looked_nm - self.sight_at_nm) * (read_nm - self.sight_at_nm) <= 0.0:
            self.runway_in_sight, self.runway_behind = True, False
        self._looked_nm = read_nm
        self.runway_behind |= self.runway_in_sight and past_nm > self.way.runway.length_m / NM_M

    def _from_threshold_nm(self) -> tuple[float, float]:
        """How far past the threshold along the final course, and how far beside the line of the runway. [NM]"""
        east_nm, north_nm = self.place_nm()
        course_deg = self.way.final_course_deg
        angle = math.radians(course_deg)
        along = east_nm * math.sin(angle) + north_nm * math.cos(angle)
        across = east_nm * math.cos(angle) - north_nm * math.sin(angle)
        return along - along_nm(self.way.fix("threshold"), course_deg), abs(across - self.way.threshold_right_nm)

    def touched(self) -> str:
        """Say where the wheels are down; empty while they are not."""
        runway = self.way.runway
        if float(self.state.alt_ft[0]) > runway.threshold_elevation_ft + TOUCH_FT:
            return ""
        past_nm, across_nm = self._from_threshold_nm()
        on = -_SHORT_NM <= past_nm <= runway.length_m / NM_M and across_nm <= _BESIDE_NM
        return "on the runway" if on else OFF_THE_RUNWAY

    def row(self) -> dict[str, float]:
        """Everything a recording holds of this moment."""
        sight, state = self.sight, self.state
        station = self.way.station
        lat_deg, lon_deg = geodesy.position_from_plane(
            station_lat_deg=station.lat_deg,
            station_lon_deg=station.lon_deg,
            east_nm=float(state.east_nm[0]),
            north_nm=float(state.north_nm[0]),
        )
        seen = {
            name: float(getattr(sight, name)[0])
            for name in (
                "heading_deg", "ias_kt", "course_1_deg", "course_2_deg", "needle_1_deg", "needle_2_deg",
                "flag_1", "flag_2", "dme_nm", "vs_fpm", "alt_ft",
            )
        }  # fmt: skip
        return seen | {
            "time_s": round(self.time_s, 3),
            "lat_deg": float(lat_deg),
            "lon_deg": float(lon_deg),
            "bank_deg": float(state.bank_deg[0]),
            "configuration": float(math.floor(float(state.configuration[0]) + 1e-6)),
            "identified": float(self.identified),
        }

    def absent(self) -> list[str]:
        """Give the buttons that mean nothing as the flight is flown: what is in the hands is held by nobody else."""
        dead = self.receivers.absent(ACTIONS) + ([] if "wings" in self.hands.taken else ["wings"])
        if "level-off" in self.hands.taken:
            dead += ["level", *(f"stop{size:+d}" for size in (-100, -20, 20, 100))]
        return dead

    def place_nm(self) -> tuple[float, float]:
        """East and north of the station on the axes of its radials: the truth. [NM]"""
        east_nm, north_nm = float(self.state.east_nm[0]), float(self.state.north_nm[0])
        angle = math.atan2(east_nm, north_nm) - math.radians(self.way.station.declination_deg)
        ground = math.hypot(east_nm, north_nm)
        return ground * math.sin(angle), ground * math.cos(angle)

    def needle_deg(self, number: int) -> float:
        """How far the needle of receiver 1 or 2 stands off the centre, right positive. [deg]"""
        return float(getattr(self.sight, f"needle_{number}_deg")[0])

    def deviation(self, number: int) -> CourseDeviation:
        """What receiver 1 or 2 shows."""
        needle = self.needle_deg(number)
        flag = FLAG_WORDS[int(getattr(self.sight, f"flag_{number}")[0])]
        title = f"VOR {number}" if self.receivers.tunable else f"VOR {number}, {self.way.station.ident}"
        course = self.course_deg[number - 1]
        return CourseDeviation(course, needle / _DOT_DEG, flag, title, reliable=flag != "NONE")  # type: ignore[arg-type]

    def dme_nm(self) -> float | None:
        """What the DME shows, None for nothing. [NM]"""
        shown = float(self.sight.dme_nm[0])
        return None if math.isnan(shown) else shown
