"""The widget: lets a cockpit fly in a task of the kernel's own loop, shows it, and has it recorded."""

from __future__ import annotations

import asyncio
import html
import math
from collections import deque
from collections.abc import Mapping
from typing import Any

import ipywidgets as widgets

from needlework.basis.errors import BadData, NeedleworkError
from needlework.exercises import progress, recording
from needlework.showing.faces import Board, Digits, Face
from needlework.showing.faces.twin import show_with_still
from needlework.showing.panel import shown
from needlework.showing.panel.cockpit import OFF_THE_RUNWAY, Cockpit
from needlework.showing.panel.controls import ACTIONS, CONTROLS, RATES, named_by_hand
from needlework.showing.panel.hands import SWITCHES
from needlework.showing.panel.keys import keep_keys, own_keys
from needlework.showing.panel.own_file import OwnFile
from needlework.showing.panel.pages import Debriefed, broken_off, near, spoken_time
from needlework.showing.panel.task import Passed, Task

_PERIOD_S = 0.1
_LONGEST_S = 0.5
_LATE_S = 1.0
_AWAY_S = 8.0
_CONFIRM_S = 6.0
_TRAIL_NM = 0.05
_PACE_S = 3.0

_panels: dict[str, Panel] = {}


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
    own_file : OwnFile, optional
        Where a flight of the learner's own is handed in instead.

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
        own_file: OwnFile | None = None,
    ) -> None:
        self.cockpit, self.task, self._beside, self._own_file = cockpit, task, beside, own_file
        self._about, self._debriefed = dict(about), debriefed
        self._recorder: recording.Recorder | None = None
        self._running: asyncio.Task[None] | None = None
        self._rate = 1
        self._pace: deque[tuple[float, float]] = deque()
        self._seen = self._sent = 0
        self._sent_at = self._seen_at = self._end_asked_at_s = -math.inf
        self._covered = True
        self._trail: list[tuple[float, float]] = [cockpit.place_nm()]
        self._passed = Passed()
        self.ended = ""
        _replace_older(self)
        self._opening = " ".join(filter(None, [task.goal, "Fly / pause starts the flight.", broken_off(task.name)]))
        self.message = self._opening
        self.board = Board(shown.ROWS, self._faces(), self.message, CONTROLS)
        own = own_keys()
        # A key that the learner has given away does nothing else, whatever buttons have come since.
        free = {action: key for action, key in self.board.shortcuts.items() if key not in own.values()}
        self.board.shortcuts = {**free, **own}
        self.board.observe(lambda change: keep_keys(change["new"]), "shortcuts")
        self.board.on_msg(self._heard)
        self.report = widgets.HTML()
        self._tell()

    # --- what the browser sends ---------------------------------------------------------------

    def _heard(self, _widget: Any, content: Any, _buffers: Any) -> None:
        if not isinstance(content, dict):
            return
        if isinstance(content.get("seen"), int):
            self._seen, self._seen_at = max(self._seen, content["seen"]), _loop_time()
        elif content.get("act") in ACTIONS:
            self.press(content["act"])

    def press(self, action: str) -> None:
        """Do what a button or its key asks for."""
        if action == "speak":
            self.board.spoken = shown.spoken(self.cockpit)
            self.board.asked += 1
            return
        if action == "plan":
            self._covered = not self._covered
        elif self.ended:
            self.message = "This flight has ended. For a new one press Fly again, or run the cell again."
        elif action == "pause":
            if self.flying:
                self._stop("Paused.")
            else:
                self._start()
        elif action.startswith("rate"):
            self._rate = int(action.removeprefix("rate"))
            self._pace.clear()
        elif action == "end":
            self._asked_to_end()
        else:
            said = self.cockpit.act(action)
            if not self.cockpit.begun:
                said = said or shown.asked_before(self.cockpit) or self._opening
            self.message = said or self.message
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
        before = "" if self.cockpit.begun else shown.asked_before(self.cockpit)
        if self._recorder is None:
            try:
                about = {**self._about, "by_hand": self.cockpit.hands.said()}
                self._recorder = recording.Recorder(self.task.name, about)
            except BadData as fault:
                self.message = str(fault)
                return
            self._recorder.add(self.cockpit.row())
            self.cockpit.begun = True
        self._running = asyncio.get_running_loop().create_task(self._run())
        self.message = " ".join(filter(None, [self.task.goal, before]))
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
        self._pace.clear()
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
            self._pace.append((now(), self.cockpit.time_s))
            while now() - self._pace[0][0] > _PACE_S:
                self._pace.popleft()
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
        self._passed = self._passed.on(self.task, self.cockpit)
        self.message = self._passed.said or self.message
        if self._passed.ended:
            self._finish(self._passed.ended)
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
        wrong = " That is no landing: judged, it counts as critical." if how == OFF_THE_RUNWAY else ""
        self.message = (
            f"The flight ended {how}, after {spoken_time(self.cockpit.time_s)}.{wrong} Judge it below. "
            f"Recorded in {near(path)}."
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
            board.readings = shown.readings(self.cockpit, self._covered)
            board.lit = {
                "pause": self.flying,
                "plan": not self._covered,
                "stopwatch": self.cockpit.stopwatch_runs,
                **{f"hand {name}": name in self.cockpit.hands.taken for name in SWITCHES},
                **{f"rate{n}": n == self._rate for n in RATES},
            }
            board.unusable = self._unusable()
            board.note = shown.note(self.cockpit)
            board.absent = self.cockpit.absent()
            board.labels, board.heads = named_by_hand(self.cockpit.hands.taken)
            board.tick = self._sent

    def _unusable(self) -> list[str]:
        if self.ended:
            return [action for action in ACTIONS if action not in ("plan", "speak")]
        return [f"hand {name}" for name in SWITCHES] if self.cockpit.begun else []

    def _faces(self) -> dict[str, Face]:
        rate = self._paced() if self.flying else "ended" if self.ended else "paused"
        plan = shown.COVERED if self._covered else shown.plan(self.cockpit, self._trail, self.task.radials)
        return {**shown.instruments(self.cockpit), "rate": Digits("time", text=rate), "plan": plan}

    def _paced(self) -> str:
        """Say how fast time runs: as asked, or as fast as this machine can where that is less."""
        if len(self._pace) > 1:
            (began, from_s), (ended, to_s) = self._pace[0], self._pace[-1]
            true = (to_s - from_s) / (ended - began) if ended - began > 0.5 * _PACE_S else float(self._rate)
            if true < 0.9 * self._rate:
                return f"only ×{true:.1f}"
        return f"×{self._rate}"

    def _ipython_display_(self) -> None:
        words = (
            f"{self.task.goal} At the start: {shown.spoken(self.cockpit)} Open the lesson, or run this cell, to fly."
        )
        live = widgets.VBox([self.board, self.report, *([self._own_file.box] if self._own_file else [])])
        table = [(*row, "") for face in shown.instruments(self.cockpit).values() for row in face.numbers()]
        show_with_still(live, shown.still(self.cockpit), words, self._beside, table)


def _replace_older(panel: Panel) -> None:
    """Running a cell twenty times leaves one flight."""
    older = _panels.pop(panel.task.name, None)
    if older is not None:
        older.close()
    _panels[panel.task.name] = panel
