"""The live panel: a flight flown by hand, on needles, flags, DME, heading and clock alone.

Three parts, of which each knows only the one before it. :class:`Cockpit` is the flight: the model's state, what
the hands have set, the readings; it knows no clock, no file and no browser. :class:`Panel` is the widget: it
lets the cockpit run in a task of the kernel's own loop, shows it, and has it recorded. :func:`fly` is what a
lesson calls.
"""

from __future__ import annotations

import asyncio
import base64
import html
import json
import math
import os
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeAlias

import ipywidgets as widgets
import numpy as np

from needlework import debrief
from needlework.basis.errors import BadData, NeedleworkError
from needlework.basis.quantity import within
from needlework.exercises import progress, recording
from needlework.flying import flight
from needlework.flying.plan import Start
from needlework.flying.tracklog import Track
from needlework.showing.faces import (
    Board,
    Control,
    CourseDeviation,
    Digits,
    Face,
    Heading,
    Line,
    Mark,
    Plan,
    airspeed,
    altimeter,
    clock,
    dme,
    vertical_speed,
)
from needlework.showing.faces.twin import show_with_still
from needlework.trade import geodesy, ident
from needlework.trade.angles import three_digits
from needlework.world import aircraft as fleet
from needlework.world import procedure, weather
from needlework.world.aircraft import Aircraft
from needlework.world.datafiles import make, refuse
from needlework.world.procedure import Procedure
from needlework.world.weather import Day

RATES = (1, 2, 5, 10)
_PERIOD_S = 0.1
_LONGEST_S = 0.5
_LATE_S = 1.0
_AWAY_S = 8.0
_CONFIRM_S = 6.0
_DOT_DEG = 2.0
_TRAIL_NM = 0.05
_TRAIL_POINTS = 240
_VIEWS_NM = (4.0, 8.0, 15.0, 30.0, 60.0, 150.0)
_NO_TARGET = math.nan
_FLAG_WORDS = {1: "TO", 0: "NONE", -1: "FROM"}
Debriefed: TypeAlias = Callable[[recording.Recording], tuple[str, dict[str, Any]]]
"""From a finished recording to a page for the learner and a summary for the progress file."""
_ROWS = [
    [["needle 1"], ["needle 2"]],
    [
        ["airspeed", "altimeter", "vertical speed"],
        ["heading", ["dme", "stopwatch", "configuration"], ["ident", "flown", "rate"]],
    ],
    [["plan"]],
]


def _steps(group: str, name: str, said: str, unit: str, keys: str, sizes: tuple[int, int]) -> list[Control]:
    """Four buttons: much less, little less, little more, much more."""
    less, more = keys.split()
    small, large = sizes
    made = []
    for size, key in ((-large, less), (-small, f"Shift+{less}"), (small, f"Shift+{more}"), (large, more)):
        sign = "−" if size < 0 else "+"
        words = said.split("|")[size > 0]
        made.append(Control(f"{name}{size:+d}", group, f"{sign}{abs(size)}", key, f"{words} {abs(size)} {unit}"))
    return made


CONTROLS: tuple[Control, ...] = (
    *_steps("heading", "heading", "turn left|turn right", "degrees", "ArrowLeft ArrowRight", (1, 10)),
    *_steps("course 1", "course1", "selector 1 back|selector 1 on", "degrees", "q w", (1, 10)),
    *_steps("course 2", "course2", "selector 2 back|selector 2 on", "degrees", "a s", (1, 10)),
    *_steps("airspeed", "ias", "slower by|faster by", "knots", "z x", (1, 5)),
    Control("vs-100", "vertical speed", "−100", "ArrowDown", "descend 100 feet a minute more"),
    Control("level", "vertical speed", "level now", "l", "level off now"),
    Control("vs+100", "vertical speed", "+100", "ArrowUp", "climb 100 feet a minute more"),
    *_steps("level off at", "stop", "lower by|higher by", "feet", "PageDown PageUp", (20, 100)),
    Control("configuration-1", "flap and gear", "one step up", "Shift+f", "flap or gear one step up"),
    Control("configuration+1", "flap and gear", "next step", "f", "flap or gear one step down"),
    Control("stopwatch", "stopwatch", "start / stop", "c", "start or stop the stopwatch"),
    Control("zero", "stopwatch", "zero", "Shift+c", "set the stopwatch to zero"),
    Control("identify", "station", "identify", "i", "listen to the ident of the station"),
    Control("pause", "time", "fly / pause", "Space", "fly, or pause"),
    *(Control(f"rate{n}", "time", f"×{n}", str(n)[-1], f"time runs {n} times as fast") for n in RATES),
    Control("plan", "plan view", "cover / uncover", "p", "cover or uncover the plan view"),
    Control("speak", "plan view", "speak needles", "r", "speak needles, flags and DME"),
    Control("end", "flight", "end and debrief", "e", "end the flight"),
)
"""Every button of the panel with the key that stands for it at first."""

_ACTIONS = tuple(control.action for control in CONTROLS)


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
    ) -> None:
        self.way, self.craft, self.day = way, craft, day
        station = way.station
        self._air = flight.air_over(station, day, field_ft=way.airport.elevation_ft)
        self._radio = flight.radio(station, seed=seed)
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
        self.identified = False
        self.stopwatch_s = 0.0
        self.stopwatch_runs = False
        self._command = flight.steady(self.state)
        self.sight = self._look(None)

    def _look(self, before: flight.Sight | None) -> flight.Sight:
        return flight.look(self.state, self._radio, self._air, self.course_deg[0], self.course_deg[1], before)

    def settle(self) -> None:
        """Let needles and flags come to rest where they are: time stands still, the receivers do not."""
        self.sight = self._look(None)

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
        if action == "level":
            self.vs_fpm = 0.0
            # What it still rises or sinks while the vertical speed dies away comes on top.
            after_ft = float(self.state.vs_fpm[0]) / 60.0 * self.craft.vertical_lag_s
            self.target_ft = round((float(self.sight.alt_ft[0]) + after_ft) / 10.0) * 10.0
            self._set()
        elif action == "stopwatch":
            self.stopwatch_runs = not self.stopwatch_runs
        elif action == "zero":
            self.stopwatch_s, self.stopwatch_runs = 0.0, False
        elif action == "identify":
            self.identified = True
            morse = ident.code(self.way.station.ident).replace("-", "–").replace(".", "·")
            return f"You hear {morse}. {self.way.station.ident} is what it should be: letter by letter, is it?"
        return ""

    def _heading(self, size: int) -> None:
        # Beyond a full turn ahead of the nose nobody knows any more what was asked for.
        wanted = self.heading_deg + size
        if abs(wanted - float(self.state.heading_deg[0])) <= 350.0:
            self.heading_deg = wanted

    def _course1(self, size: int) -> None:
        self.course_deg[0] = (self.course_deg[0] + size) % 360.0

    def _course2(self, size: int) -> None:
        self.course_deg[1] = (self.course_deg[1] + size) % 360.0

    def _ias(self, size: int) -> str:
        slowest = 0.9 * self.craft.threshold_kt
        fastest = 1.15 * self.craft.cruise_kt
        self.ias_kt = float(np.clip(self.ias_kt + size, math.ceil(slowest), math.floor(fastest)))
        limit = self.craft.configurations[self.configuration].max_kt
        if limit is not None and self.ias_kt > limit:
            return f"{self._step_name(self.configuration)} is flown at {limit:.0f} kt or less."
        return ""

    def _vs(self, size: int) -> None:
        top = math.floor(self.craft.climb_fpm / 50.0) * 50.0
        self.vs_fpm = float(np.clip(self.vs_fpm + size, -2000.0, top))
        if self.vs_fpm == 0.0:
            self.act("level")
        else:
            self._aim_at_stop()

    def _stop(self, size: int) -> None:
        self.stop_ft = float(np.clip(self.stop_ft + size, 0.0, 15_000.0))
        if self.vs_fpm != 0.0:
            self._aim_at_stop()

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
            self.state = flight.step(self.state, self._command, self._air, self.craft, step)
            self.sight = self._look(self.sight)
            if self.stopwatch_runs:
                self.stopwatch_s += step
            self._captured()
            if each_second is not None and abs(self.time_s - whole) < 1e-6:
                each_second(self.row())

    def _captured(self) -> None:
        """Once level where asked, the vertical speed asked for is nil."""
        if self.vs_fpm and not math.isnan(self.target_ft):
            near = abs(float(self.sight.alt_ft[0]) - self.target_ft) < 12.0
            if near and abs(float(self.state.vs_fpm[0])) < 60.0:
                self.vs_fpm = 0.0
                self._set()

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

    def place_nm(self) -> tuple[float, float]:
        """East and north of the station on the axes of its radials: the truth. [NM]"""
        angle = np.deg2rad(float(self._radio.radial_deg(self.state)[0]))
        ground = float(self._radio.ground_nm(self.state)[0])
        return float(ground * np.sin(angle)), float(ground * np.cos(angle))

    def deviation(self, number: int) -> CourseDeviation:
        """What receiver 1 or 2 shows."""
        needle = float(getattr(self.sight, f"needle_{number}_deg")[0])
        flag = _FLAG_WORDS[int(getattr(self.sight, f"flag_{number}")[0])]
        title = f"VOR {number}, {self.way.station.ident}"
        course = self.course_deg[number - 1]
        return CourseDeviation(course, needle / _DOT_DEG, flag, title, reliable=flag != "NONE")  # type: ignore[arg-type]

    def dme_nm(self) -> float | None:
        """What the DME shows, None for nothing. [NM]"""
        shown = float(self.sight.dme_nm[0])
        return None if math.isnan(shown) else shown


@dataclass(frozen=True)
class Task:
    """What is to be flown, and when it is over.

    Parameters
    ----------
    name : str
        Name of the exercise; the recording is kept under it.
    goal : str
        What to do, in one or two sentences.
    most_min : float
        The flight ends by itself after this. [min]
    ends_at_dme_nm : float or None
        It ends by itself when the DME, having been less, rises to this. [NM]
    ends_below_dme_nm : float or None
        It ends by itself when the DME, having been more, falls to this. [NM]
    calls : tuple of (DME, words)
        What is seen outside or heard when the DME, having been less, rises to a reading. [NM]
    radials : tuple of float or None
        Radials drawn in the plan view in place of the whole procedure. [deg magnetic]
    """

    name: str
    goal: str
    most_min: float = 45.0
    ends_at_dme_nm: float | None = None
    ends_below_dme_nm: float | None = None
    calls: tuple[tuple[float, str], ...] = ()
    radials: tuple[float, ...] | None = None


_panels: dict[str, Panel] = {}


class Panel:
    """The panel in a lesson's cell.

    Parameters
    ----------
    cockpit : Cockpit
        The flight.
    task : Task
        What is to be flown.
    about : mapping
        What the recording says of the flight.
    debriefed : callable
        From the finished recording to an HTML page for the learner and a summary for the progress file.
    beside : mapping, optional
        Further kinds of output shown with the panel: what is to be flown, as data.

    Attributes
    ----------
    board : Board
        Faces, buttons and keys.
    message : str
        What the panel last said.
    """

    def __init__(
        self,
        cockpit: Cockpit,
        task: Task,
        about: Mapping[str, Any],
        debriefed: Debriefed,
        beside: Mapping[str, Any] | None = None,
    ) -> None:
        self.cockpit, self.task, self._beside = cockpit, task, beside
        self._about, self._debriefed = dict(about), debriefed
        self._recorder: recording.Recorder | None = None
        self._running: asyncio.Task[None] | None = None
        self._rate = 1
        self._seen = self._sent = 0
        self._sent_at = self._seen_at = self._end_asked_at_s = -math.inf
        self._covered = True
        self._trail: list[tuple[float, float]] = [cockpit.place_nm()]
        self._least_dme_nm, self._most_dme_nm = math.inf, -math.inf
        self.ended = ""
        _replace_older(self)
        self.message = " ".join(filter(None, [task.goal, "Fly / pause starts the flight.", _broken_off(task.name)]))
        self.board = Board(_ROWS, self._faces(), self.message, CONTROLS)
        self.board.shortcuts = {**self.board.shortcuts, **_own_keys()}
        self.board.observe(lambda change: _keep_keys(change["new"]), "shortcuts")
        self.board.on_msg(self._heard)
        self.report = widgets.HTML()
        self._tell()

    # --- what the browser sends ---------------------------------------------------------------

    def _heard(self, _widget: Any, content: Any, _buffers: Any) -> None:
        if not isinstance(content, dict):
            return
        if isinstance(content.get("seen"), int):
            self._seen, self._seen_at = max(self._seen, content["seen"]), _loop_time()
        elif content.get("act") in _ACTIONS:
            self.press(content["act"])

    def press(self, action: str) -> None:
        """Do what a button or its key asks for."""
        if action == "speak":
            self.board.spoken = self._spoken()
            self.board.asked += 1
            return
        if action == "plan":
            self._covered = not self._covered
        elif self.ended:
            self.message = "This flight has ended. Run the cell again for a new one."
        elif action == "pause":
            if self.flying:
                self._stop("Paused.")
            else:
                self._start()
        elif action.startswith("rate"):
            self._rate = int(action.removeprefix("rate"))
        elif action == "end":
            self._asked_to_end()
        else:
            self.message = self.cockpit.act(action) or self.message
            if action.startswith("course") and not self.flying:
                self.cockpit.settle()
        self._tell()

    @property
    def flying(self) -> bool:
        """True while time runs."""
        return self._running is not None

    # --- time -------------------------------------------------------------------------------

    def _start(self) -> None:
        for other in _panels.values():
            if other is not self and other.flying:
                other._stop("Paused: another flight has begun.")
                other._tell()
        if self._recorder is None:
            try:
                self._recorder = recording.Recorder(self.task.name, self._about)
            except BadData as fault:
                self.message = str(fault)
                return
            self._recorder.add(self.cockpit.row())
        self._running = asyncio.get_running_loop().create_task(self._run())
        self.message = self.task.goal
        self.board.glide_ms = 1000.0 * _PERIOD_S * 1.2

    def _stop(self, message: str) -> None:
        if self._running is not None:
            self._running.cancel()
            self._running = None
        self.message = message
        self.board.glide_ms = 0.0

    async def _run(self) -> None:
        now = asyncio.get_running_loop().time
        last = self._seen_at = now()
        while not self.ended:
            await asyncio.sleep(_PERIOD_S)
            # While another cell computes the kernel cannot fly: time then stands still, it does not jump.
            passed, last = min(now() - last, _LONGEST_S), now()
            try:
                self._fly(passed * self._rate)
            except Exception as fault:
                self._finish(f"broken off by a fault of the course: {type(fault).__name__}")
                raise
            finally:
                if self.ended:
                    self._tell()
            # The browser answers each picture. No answer, no new picture: a slow browser drops some, it queues none.
            if self._seen >= self._sent or now() - self._sent_at > _LATE_S:
                self._tell()
            if now() - self._seen_at > _AWAY_S:
                self._stop("Paused: nobody seems to be looking at this panel. Fly / pause flies on.")
                self._tell()
                return

    def _fly(self, seconds: float) -> None:
        assert self._recorder is not None
        self.cockpit.advance(seconds, self._recorder.add)
        place, old = self.cockpit.place_nm(), self._trail[-1]
        if math.hypot(place[0] - old[0], place[1] - old[1]) > _TRAIL_NM:
            self._trail.append(place)
        shown = self.cockpit.dme_nm()
        if shown is not None:
            for at_nm, said in self.task.calls:
                if 0.0 <= self._most_dme_nm < at_nm <= shown:
                    self.message = said
            self._least_dme_nm = min(self._least_dme_nm, shown)
            self._most_dme_nm = max(self._most_dme_nm, shown)
        rises_to, falls_to = self.task.ends_at_dme_nm, self.task.ends_below_dme_nm
        if rises_to is not None and shown is not None and self._least_dme_nm < rises_to <= shown:
            self._finish(f"at DME {rises_to:g}")
        elif falls_to is not None and shown is not None and self._most_dme_nm > falls_to >= shown:
            self._finish(f"at DME {falls_to:g}")
        elif self.cockpit.time_s >= 60.0 * self.task.most_min:
            self._finish(f"after {self.task.most_min:g} min")

    def _asked_to_end(self) -> None:
        if self._recorder is None:
            self.message = "The flight has not begun. Fly / pause starts it."
        elif self.cockpit.time_s - self._end_asked_at_s <= _CONFIRM_S * self._rate:
            self._finish("by the pilot")
        else:
            self._end_asked_at_s = self.cockpit.time_s
            self.message = "End the flight here? Press it once more."

    def _finish(self, how: str) -> None:
        """End the flight, close its recording, uncover the plan view and say how it went."""
        assert self._recorder is not None
        if self._running is not None and self._running is not _current_task():
            self._running.cancel()
        self._running = None
        self.board.glide_ms = 0.0
        self.ended, self._covered = how, False
        self._recorder.close(how)
        path = self._recorder.path
        self.message = (
            f"The flight ended {how}, after {_spoken_time(self.cockpit.time_s)}. Recorded in {_near(path)}."
        )
        try:
            page, summary = self._debriefed(recording.read(path))
        except NeedleworkError as fault:
            page, summary = f"<p>{html.escape(str(fault))}</p>", {"score": None}
        self.report.value = page
        if not progress.being_marked():
            noted = {"name": self.task.name, "recording": str(path), "flown_s": self.cockpit.time_s, **summary}
            self.message = " ".join(filter(None, [self.message, progress.note_flight(noted)]))

    def close(self) -> None:
        """Take the panel out of use; what was flown stays recorded."""
        self._stop("This panel has been replaced by a newer one.")
        if self._recorder is not None:
            self._recorder.close()
        self.ended = self.ended or "left"
        self.board.close()

    # --- what is shown --------------------------------------------------------------------------

    def _tell(self) -> None:
        """Send everything the browser shows, as one message."""
        self._sent += 1
        self._sent_at = _loop_time()
        board = self.board
        with board.hold_sync():
            board.show(self._faces(), self.message)
            board.readings = self._readings()
            board.lit = {
                "pause": self.flying,
                "plan": not self._covered,
                "stopwatch": self.cockpit.stopwatch_runs,
                **{f"rate{n}": n == self._rate for n in RATES},
            }
            board.unusable = [a for a in _ACTIONS if a not in ("plan", "speak")] if self.ended else []
            board.tick = self._sent

    def _faces(self) -> dict[str, Face]:
        fly = self.cockpit
        sight = fly.sight
        target_ft = None if math.isnan(fly.target_ft) else fly.target_ft
        step = fly.craft.configurations[math.floor(float(sight.configuration[0]) + 1e-6)].name
        travelling = abs(float(sight.configuration[0]) - fly.configuration) > 1e-6
        return {
            "needle 1": fly.deviation(1),
            "needle 2": fly.deviation(2),
            "airspeed": airspeed(float(sight.ias_kt[0]), fly.ias_kt),
            "altimeter": altimeter(float(sight.alt_ft[0]), target_ft),
            "vertical speed": vertical_speed(float(sight.vs_fpm[0]), fly.vs_fpm),
            "heading": Heading(float(sight.heading_deg[0]), fly.heading_deg % 360.0),
            "dme": dme(fly.dme_nm()),
            "stopwatch": clock(fly.stopwatch_s, "stopwatch"),
            "flown": clock(fly.time_s, "flown"),
            "ident": Digits("ident", text=fly.way.station.ident if fly.identified else "?", warn=not fly.identified),
            "configuration": Digits("flap, gear", text=f"{step} …" if travelling else step),
            "rate": Digits("time", text=f"×{self._rate}" if self.flying else "ended" if self.ended else "paused"),
            "plan": self._plan(),
        }

    def _readings(self) -> dict[str, str]:
        fly = self.cockpit
        wanted = "level" if fly.vs_fpm == 0 else f"{fly.vs_fpm:+,.0f} ft/min".replace("-", "−")
        return {
            "heading": three_digits(direction_deg=fly.heading_deg)[:3],
            "course 1": three_digits(direction_deg=fly.course_deg[0])[:3],
            "course 2": three_digits(direction_deg=fly.course_deg[1])[:3],
            "airspeed": f"{fly.ias_kt:.0f} kt",
            "vertical speed": wanted,
            "level off at": f"{fly.stop_ft:,.0f} ft",
            "flap and gear": fly.craft.configurations[fly.configuration].name,
            "station": f"{fly.way.station.ident} {fly.way.station.frequency_mhz:.2f}",
            "plan view": "covered" if self._covered else "in sight",
        }

    def _plan(self) -> Plan:
        if self._covered:
            return Plan(1.0, "Plan view, covered.", hidden=True)
        east, north = self.cockpit.place_nm()
        needed = 1.1 * max(math.hypot(*place) for place in [*self._trail, (east, north)])
        radius = next((view for view in _VIEWS_NM if view > needed), _VIEWS_NM[-1])
        every = max(1, len(self._trail) // _TRAIL_POINTS)
        trail = [*self._trail[::every], (east, north)]
        lines, marks = _drawn(self.cockpit.way, radius, self.task.radials)
        dist = math.hypot(east, north)
        radial = three_digits(direction_deg=math.degrees(math.atan2(east, north)))[:3]
        ident_text = self.cockpit.way.station.ident
        return Plan(
            radius,
            f"Plan view: the aircraft is on radial {radial} of {ident_text} at {dist:.1f} NM.",
            lines=(*lines, Line("track", [at[0] for at in trail], [at[1] for at in trail])),
            marks=marks,
            aircraft_east_nm=east,
            aircraft_north_nm=north,
            heading_deg=float(self.cockpit.sight.heading_deg[0]),
            scale_nm=1.0 if radius <= 8 else 5.0,
        )

    def _spoken(self) -> str:
        faces = self._faces()
        return " ".join(faces[name].words() for name in ("needle 1", "needle 2", "dme", "heading", "altimeter"))

    def still(self) -> Any:
        """Draw the still twin: the cockpit as it stands."""
        from needlework.showing import pictures

        fly, sight, dme_nm = self.cockpit, self.cockpit.sight, self.cockpit.dme_nm()
        dials = []
        for number in (1, 2):
            shown = fly.deviation(number)
            dials.append(pictures.Dial(shown.deviation_dots * _DOT_DEG, shown.course_deg, shown.flag))
        return pictures.draw_cockpit(
            dials,
            heading_deg=float(sight.heading_deg[0]),
            alt_ft=float(sight.alt_ft[0]),
            vs_fpm=float(sight.vs_fpm[0]),
            ias_kt=float(sight.ias_kt[0]),
            dme_nm=math.nan if dme_nm is None else dme_nm,
            dme_from=fly.way.station.ident,
            clock_s=fly.stopwatch_s,
        )

    def _ipython_display_(self) -> None:
        words = f"{self.task.goal} At the start: {self._spoken()} Run this cell to fly."
        show_with_still(widgets.VBox([self.board, self.report]), self.still(), words, self._beside)


def _drawn(
    way: Procedure, reach_nm: float, radials: tuple[float, ...] | None
) -> tuple[tuple[Line, ...], tuple[Mark, ...]]:
    """The procedure, or the radials that are flown in its place, on the axes of the station's radials."""
    if radials is not None:
        spokes = np.deg2rad(np.asarray(radials, dtype=np.float64))
        ends_nm = zip(reach_nm * np.sin(spokes), reach_nm * np.cos(spokes), strict=True)
        return tuple(Line("course", [0.0, float(e)], [0.0, float(n)]) for e, n in ends_nm), (Mark(way.station.ident),)
    lines = []
    for leg in way.legs:
        if leg.kind == "arc" and leg.start and leg.end and leg.arc_dme_nm:
            begin, end = way.fix(leg.start).radial_deg, way.fix(leg.end).radial_deg
            turned = (end - begin) % 360.0 if leg.turn == "right" else -((begin - end) % 360.0)
            along = np.deg2rad(np.linspace(begin, begin + turned, 40))
            lines.append(Line("arc", leg.arc_dme_nm * np.sin(along), leg.arc_dme_nm * np.cos(along)))
        elif leg.kind == "radial" and leg.start and leg.end:
            ends = [_east_north(way, name) for name in (leg.start, leg.end)]
            lines.append(Line("course", [e for e, _ in ends], [n for _, n in ends]))
    marks = [Mark(way.station.ident)]
    for fix in way.fixes:
        east, north = _east_north(way, fix.name)
        # Fixes closer together than their names would hide each other.
        if all(math.hypot(east - mark.east_nm, north - mark.north_nm) > 0.09 * reach_nm for mark in marks):
            marks.append(Mark(fix.name, east, north, "fix"))
    return tuple(lines), tuple(marks)


def _east_north(way: Procedure, name: str) -> tuple[float, float]:
    fix = way.fix(name)
    angle = math.radians(fix.radial_deg)
    return fix.dist_nm * math.sin(angle), fix.dist_nm * math.cos(angle)


def _loop_time() -> float:
    try:
        return asyncio.get_running_loop().time()
    except RuntimeError:
        return -math.inf


def _current_task() -> asyncio.Task[Any] | None:
    try:
        return asyncio.current_task()
    except RuntimeError:
        return None


def _spoken_time(seconds: float) -> str:
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02d} min"


def _near(path: Path) -> str:
    """A path as short as it can be said: below the notebook's folder without that folder."""
    try:
        return str(path.relative_to(Path.cwd()))
    except ValueError:
        return str(path)


def _broken_off(name: str) -> str:
    """Say where the newest flight of this name lies if it came to no end: a crash, a restart, the cell run again."""
    flown = [] if progress.being_marked() else recording.every(name)
    if not flown or flown[-1].ended or flown[-1].path is None:
        return ""
    return f"A flight broken off after {_spoken_time(flown[-1].flown_s)} is kept in {_near(flown[-1].path)}."


def _replace_older(panel: Panel) -> None:
    """Running a cell twenty times leaves one flight."""
    older = _panels.pop(panel.task.name, None)
    if older is not None:
        older.close()
    _panels[panel.task.name] = panel


# --- keys of the learner's own ------------------------------------------------------------------


def _keys_path() -> Path:
    return progress.folder() / "keys.json"


def _own_keys() -> dict[str, str]:
    """Read the keys the learner has chosen; a damaged file counts as none."""
    try:
        kept = json.loads(_keys_path().read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    if not isinstance(kept, dict):
        return {}
    return {action: key for action, key in kept.items() if action in _ACTIONS and isinstance(key, str)}


def _keep_keys(keys: Mapping[str, str]) -> None:
    if progress.being_marked():
        return
    path = _keys_path()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=".keys")
        with os.fdopen(handle, "w", encoding="utf-8") as out:
            json.dump(dict(keys), out, indent=1)
        Path(temporary).replace(path)
    except OSError:
        # The keys hold for this panel; only the next one will not know them.
        return


# --- the door ---------------------------------------------------------------------------------------


def fly(
    name: str,
    goal: str,
    *,
    start: Mapping[str, Any],
    course_1_deg: float = 360.0,
    course_2_deg: float = 360.0,
    of: str = "saltmarsh",
    day: str | Day = "Still",
    aircraft: str = "Finch",
    seed: int = 0,
    most_min: float = 45.0,
    ends_at_dme_nm: float | None = None,
    ends_below_dme_nm: float | None = None,
    calls: tuple[tuple[float, str], ...] = (),
    radials: tuple[float, ...] | None = None,
    about: Mapping[str, Any] | None = None,
    whole: bool = False,
    beside: Mapping[str, Any] | None = None,
) -> Panel:
    """Fly by hand; put it on the last line of a cell.

    Parameters
    ----------
    name, goal : str
        Name of the exercise, under which the flight is recorded, and what to do.
    start : mapping
        Where the flight begins, as in a plan: ``radial_deg``, ``dme_nm``, ``altitude_ft``, ``heading_deg``,
        ``ias_kt`` and, if it is not clean, ``configuration``.
    course_1_deg, course_2_deg : float
        What the selectors show at first. [deg magnetic]
    of : str
        Procedure that gives station, fixes and altitudes.
    day : str or Day
        Name of a day, or a day of one's own.
    aircraft : str
        Name of the aircraft.
    seed : int
        For gusts and the small waves of the needles.
    most_min, ends_at_dme_nm, ends_below_dme_nm, calls, radials : float, tuple
        See :class:`Task`.
    about : mapping, optional
        Further plain texts kept under the seal at the head of the recording, such as whose numbers were flown.
    whole : bool
        The whole procedure is flown: then the examiner judges it all. Else the debrief shows the readings only,
        and the exercise that asked for the flight judges it.
    beside : mapping, optional
        Further kinds of output shown with the panel: what is to be flown, as data.

    Returns
    -------
    Panel
        Ready to fly. An earlier panel of the same name is taken out of use.

    Raises
    ------
    BadData, OutOfRange
        If there is no such procedure, aircraft or day, or the start cannot be.
    """
    way = procedure.load(of)
    craft = fleet.load(aircraft)
    chosen = weather.day(day, field_elevation_ft=way.airport.elevation_ft, seed=seed) if isinstance(day, str) else day
    faults: list[str] = []
    begin = make(Start, dict(start), "start", faults)
    refuse("This flight", faults)
    assert begin is not None
    for label, course in (("course_1_deg", course_1_deg), ("course_2_deg", course_2_deg)):
        within(label, course, 0.0, 360.0, "deg")
    cockpit = Cockpit(way, craft, chosen, begin, course_1_deg, course_2_deg, seed)
    told = {"procedure": of, "aircraft": craft.name, "day": chosen.name, "seed": seed, "start": dict(start)}
    return Panel(
        cockpit,
        Task(name, goal, most_min, ends_at_dme_nm, ends_below_dme_nm, calls, radials),
        {**told, **(about or {})},
        _debriefed(way, craft, whole),
        beside,
    )


def _debriefed(way: Procedure, craft: Aircraft, whole: bool) -> Debriefed:
    """Make the function that says how a flight went: by the examiner's rubric, or by its readings alone."""

    def told(flown: recording.Recording) -> tuple[str, dict[str, Any]]:
        track = flown.track
        if not whole:
            return _strips(track), {"score": None}
        report = debrief.debrief(track, way, craft)
        summary = {"score": round(report.score, 1), "passed": report.passed}
        return _page(report) + _strips(track), summary

    return told


def _page(report: debrief.Debrief) -> str:
    """The examiner's words as a page for the cell."""
    words = html.escape(debrief.text(report))
    verdict = "Passed" if report.passed else "Not passed"
    return (
        f"<h4>Debrief: {verdict}, {report.score:.0f} of 100 over what could be judged</h4>"
        f'<div style="white-space:pre-wrap;max-width:62em">{words}</div>'
    )


def _strips(track: Track) -> str:
    """The readings over the flight, as a picture with its sentence."""
    from needlework.showing import pictures

    names = ("needle_1_deg", "flag_1", "needle_2_deg", "dme_nm", "heading_deg", "alt_ft")
    columns = {name: values for name in names if (values := getattr(track, name)) is not None}
    for name in [name for name in columns if name.startswith("flag")]:
        columns[name] = [_FLAG_WORDS[int(value)] for value in columns[name]]
    shown = {name: values for name, values in columns.items() if name.startswith("flag") or np.isfinite(values).any()}
    drawn = pictures.draw_strips(track.time_s, shown, title="What the instruments showed")
    image = base64.b64encode(pictures.png_bytes(drawn, "page")).decode("ascii")
    words = html.escape(pictures.sentence_of(drawn))
    return (
        f'<figure style="margin:.6em 0"><img alt="{words}" width="860" style="max-width:100%;height:auto" '
        f'src="data:image/png;base64,{image}"><figcaption>{words}</figcaption></figure>'
    )
