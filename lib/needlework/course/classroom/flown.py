"""A flight of the lesson flown by the orders a class calls out, with any of them taken back again.

Nothing of it is kept here that could not be worked out anew: the orders, each with its moment, are the flight. The
page sends them with every question, so a server that was started again flies the same flight once more.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from threading import Lock
from typing import Any

from needlework.basis.errors import BadData
from needlework.basis.quantity import Constant
from needlework.course.classroom.deck import NAME
from needlework.course.classroom.films import Film, most
from needlework.exercises import judging, recording
from needlework.exercises.catalogue import QUESTIONS
from needlework.exercises.flown import FlownByHand
from needlework.exercises.kinds import Givens
from needlework.flying.plan import Start
from needlework.flying.tracklog import COLUMNS, Track
from needlework.showing.faces import Digits, Face, dme
from needlework.showing.panel import shown
from needlework.showing.panel.cockpit import Cockpit
from needlework.showing.panel.controls import ACTIONS
from needlework.showing.panel.task import Passed, Task
from needlework.trade.angles import three_digits
from needlework.world import aircraft, procedure

STEP_S = Constant(0.5, "s", "common-practice", "orders are carried out at once, as a class sees it")
"""From one moment to the next. [s]"""
ROWS: list[Any] = [[["plan"]], [["needle 1"], ["needle 2"]], [["dme"], ["heading"], ["altitude"], ["airspeed"]]]
"""Where the faces stand: the plan beside the needles."""
_KNOBS = (
    ("station", "Ident", "identify", "identify", "identify", "identify"),
    ("heading", "Heading", "heading-10", "heading+10", "heading-1", "heading+1"),
    ("course 2", "Selector 2", "course2-10", "course2+10", "course2-1", "course2+1"),
    ("course 1", "Selector 1", "course1-10", "course1+10", "course1-1", "course1+1"),
    ("airspeed", "Airspeed", "ias-5", "ias+5", "ias-1", "ias+1"),
    ("vertical speed", "Climb or descent", "vs-100", "vs+100", "level", "level"),
    ("level off at", "Level off at", "stop-100", "stop+100", "stop-20", "stop+20"),
    ("flap and gear", "Flap and gear", "configuration-1", "configuration+1", "configuration-1", "configuration+1"),
)
"""What a class gives orders about: the reading, its name, and what a notch and a small notch of it ask for.

In the order in which they are needed: a station is identified before anything is flown by it.
"""
_TUNED = (
    ("standby 1", "Standby 1", "tune1-100", "tune1+100", "tune1-5", "tune1+5"),
    ("active 1", "Active 1", "change over 1", "change over 1", "change over 1", "change over 1"),
)
"""What comes before them where the receivers are to be tuned."""
_UNITS = {"heading": "°", "course": "°", "ias": " kt", "vs": " ft/min", "stop": " ft"}
_MOST_ORDERS = 2000
_FEWEST = 3
_TRAIL = 8
_flying = Lock()
"""The server answers in several threads, and a flight has one state."""


def _notch(action: str) -> str:
    """Say how much an action changes: ``"10°"`` for ``heading+10``."""
    name, _, size = action.partition("+")
    if name == "tune1":
        return f"{int(size) / 100:g} MHz"
    unit = _UNITS.get(name.rstrip("12"))
    words = {"identify": "listen", "level": "level", "configuration": "one step", "change over 1": "change over"}
    return f"{size}{unit}" if unit else words[name]


def _knobs_of(question: FlownByHand, givens: Givens) -> tuple[tuple[str, str, str, str, str, str], ...]:
    return (*_TUNED, *_KNOBS) if question.tuned(givens) is not None else _KNOBS


def _orders(knobs: Sequence[tuple[str, str, str, str, str, str]]) -> tuple[tuple[str, str, str], ...]:
    said = [(label, _notch(up), _notch(more)) for _, label, _, up, _, more in knobs]
    return tuple((label, notch, "" if small == notch else small) for label, notch, small in said)


def orderable(key: str) -> tuple[tuple[str, str, str], ...]:
    """Give what can be ordered in a flight, in the order of its knobs.

    Parameters
    ----------
    key : str
        Key of the question that it is flown for.

    Returns
    -------
    tuple of (str, str, str)
        What is ordered, what a notch of it is, and what a small notch is, empty where it is the same.
    """
    question = QUESTIONS[key]
    assert isinstance(question, FlownByHand)
    return _orders(_knobs_of(question, judging.draw(question, NAME)))


def notches(order: tuple[str, str, str]) -> str:
    """Say of what can be ordered how it changes.

    Parameters
    ----------
    order : tuple of (str, str, str)
        One of :func:`orderable`.

    Returns
    -------
    str
        For example ``"Heading: 10°, Shift 1°"``.
    """
    label, notch, small = order
    return f"{label}: {notch}" + (f", Shift {small}" if small else "")


@dataclass
class _Moment:
    """The cockpit at one moment with everything ordered until then, and what ends the flight."""

    cockpit: Cockpit
    passed: Passed
    said: str = ""

    @property
    def ended(self) -> str:
        """How the flight has ended here; empty while it has not."""
        return self.passed.ended


def _held(cockpit: Cockpit) -> Cockpit:
    """Copy what moves of a cockpit, and what is tuned and heard; its air and its stations are the same for all."""
    made, radios = copy.copy(cockpit), copy.copy(cockpit.receivers)
    radios.active, radios.standby, radios.heard = list(radios.active), list(radios.standby), list(radios.heard)
    made.receivers = radios
    made.course_deg, made.hands = list(cockpit.course_deg), copy.copy(cockpit.hands)
    return made


class ClassFlight:
    """One flight of a lesson, moment by moment.

    Parameters
    ----------
    question : FlownByHand
        What is to be flown.
    """

    def __init__(self, question: FlownByHand) -> None:
        self.question = question
        self.givens = judging.draw(question, NAME)
        self.ordered_by = _knobs_of(question, self.givens)
        self.way = procedure.load(question.on)
        self.orders: list[tuple[float, str]] = []
        begin = Start(**question.starts(self.givens))
        craft = aircraft.load(question.flown_by)
        day = question.day(self.givens)
        first = Cockpit(
            self.way,
            craft,
            day,
            begin,
            *question.courses(self.givens),
            seed=1,
            tuned=question.tuned(self.givens),
            dme_fails_at_nm=question.fails(self.givens),
            sight_at_nm=question.sees(self.givens),
        )
        first.begun = True
        self._fresh = _Moment(first, Passed())
        self.moments: list[_Moment] = []
        self.task = Task(
            question.key,
            question.fill(question.goal, self.givens),
            question.most_min,
            question.ends_at_dme_nm,
            question.ends_below_dme_nm,
            question.ends_on(self.givens),
            question.calls(self.givens),
            question.radials(self.givens) if question.radials else None,
        )
        self.last = round(60.0 * self.task.most_min / STEP_S)

    def follow(self, orders: Sequence[tuple[float, str]]) -> None:
        """Take the orders of the class; what was flown with others is flown anew from where they part.

        Parameters
        ----------
        orders : sequence of (time, action)
            In the order they were given; each at a moment of the flight. [s]
        """
        wanted = list(orders)
        same = 0
        while same < min(len(wanted), len(self.orders)) and wanted[same] == self.orders[same]:
            same += 1
        parted = [each[0] for each in (*wanted[same:], *self.orders[same:])]
        if parted:
            del self.moments[max(0, math.ceil(min(parted) / STEP_S - 1e-9)) :]
        self.orders = wanted

    def until(self, moment: int) -> _Moment:
        """Fly on to a moment, or to the end before it.

        Parameters
        ----------
        moment : int
            Counted from 0, each so long as :data:`STEP_S`.

        Returns
        -------
        _Moment
            The cockpit there.
        """
        while len(self.moments) <= min(moment, self.last):
            at = len(self.moments)
            if at and self.moments[-1].ended:
                break
            before = self.moments[-1] if at else self._fresh
            now = copy.copy(before)
            now.cockpit = _held(before.cockpit)
            if at:
                now.cockpit.advance(STEP_S)
                now.passed = before.passed.on(self.task, now.cockpit)
                now.said = now.passed.said or now.said
            for when, action in self.orders:
                if (at - 1) * STEP_S < when - 1e-9 and when <= at * STEP_S + 1e-9:
                    now.said = now.cockpit.act(action) or ("" if action != "identify" else now.said)
                    if action.startswith("course"):
                        now.cockpit.settle()
            self.moments.append(now)
        return self.moments[min(moment, len(self.moments) - 1)]

    def track(self) -> Track:
        """Give what was flown so far as a track, a row a second.

        Returns
        -------
        Track
            With everything a recording holds.

        Raises
        ------
        BadData
            If nothing was flown yet.
        """
        rows = [each.cockpit.row() for each in self.moments[:: round(1.0 / STEP_S)]]
        if len(rows) < _FEWEST:
            raise BadData("Nothing was flown yet: go back to the panel and let it fly.")
        return Track(
            **{column.name: [row[column.name] for row in rows] for column in COLUMNS},  # type: ignore[arg-type]
            name="the class",
        )

    def faces(self, moment: int) -> dict[str, Face]:
        """Give the faces of a moment that was flown.

        Parameters
        ----------
        moment : int
            Its number.

        Returns
        -------
        dict of str to Face
            By name, as :data:`ROWS` has them.
        """
        fly = self.moments[moment].cockpit
        trail = [each.cockpit.place_nm() for each in self.moments[: moment + 1 : _TRAIL]]
        sight = fly.sight
        return {
            "plan": shown.plan(fly, trail, self.task.radials),
            "needle 1": fly.deviation(1),
            "needle 2": fly.deviation(2),
            "dme": dme(fly.dme_nm()),
            "heading": Digits("heading", "°M", text=three_digits(direction_deg=float(sight.heading_deg[0]))[:3]),
            "altitude": Digits("altitude", "ft", round(float(sight.alt_ft[0]) / 10.0) * 10.0),
            "airspeed": Digits("speed", "kt", round(float(sight.ias_kt[0]))),
        }

    def knobs(self, moment: int) -> list[str]:
        """Say where everything that orders are given about stands.

        Parameters
        ----------
        moment : int
            Its number.

        Returns
        -------
        list of str
            In the order of the knobs.
        """
        fly = self.moments[moment].cockpit
        said = shown.readings(fly, covered=True)
        said["station"] = "heard" if fly.identified else "not yet"
        if fly.receivers.tunable:
            said |= {
                "standby 1": f"{fly.receivers.standby[0] / 100:.2f}",
                "active 1": f"{fly.receivers.active[0] / 100:.2f}",
            }
        return [said[name] for name, *_ in self.ordered_by]

    def sentence(self, moment: int) -> str:
        """Say in words what is read at a moment.

        Parameters
        ----------
        moment : int
            Its number.

        Returns
        -------
        str
            What was heard or seen first, then the readings.
        """
        now = self.moments[moment]
        faces = self.faces(moment)
        read = " ".join(faces[name].words() for name in ("dme", "heading", "needle 2"))
        end = f"The flight has ended {now.ended}." if now.ended else ""
        return " ".join(filter(None, [end, now.said, read]))


@lru_cache(maxsize=4)
def flight_of(key: str) -> ClassFlight:
    """Give the flight of a question; the same one each time.

    Parameters
    ----------
    key : str
        Key of a question that is flown by hand.

    Returns
    -------
    ClassFlight
        As it was last flown.

    Raises
    ------
    BadData
        If there is no such question, or it is not flown by hand.
    """
    question = QUESTIONS.get(key)
    if not isinstance(question, FlownByHand):
        raise BadData(f"'{key}' is not flown by hand: open the lesson anew.")
    return ClassFlight(question)


def orders_in(said: Any) -> list[tuple[float, str]]:
    """Read orders as the page sends them.

    Parameters
    ----------
    said : object
        A list of pairs: moment in seconds, and what is asked for.

    Returns
    -------
    list of (float, str)
        The orders.

    Raises
    ------
    BadData
        If these are none.
    """
    if not isinstance(said, list) or len(said) > _MOST_ORDERS:
        raise BadData("Expected the orders of a class as a list of moments and what is asked for.")
    found = []
    for each in said:
        if not isinstance(each, list) or len(each) != 2 or not isinstance(each[0], (int, float)):
            raise BadData("Expected the orders of a class as a list of moments and what is asked for.")
        if each[1] not in ACTIONS or str(each[1]).startswith("hand "):
            raise BadData(f"'{each[1]}' is nothing that can be ordered in this panel.")
        found.append((float(each[0]), str(each[1])))
    return sorted(found, key=lambda order: order[0])


def film(key: str, orders: Sequence[tuple[float, str]], begin: float | None = None, count: int = 1) -> Film:
    """Give some moments of a class's flight, one after the other.

    Parameters
    ----------
    key : str
        Key of the question.
    orders : sequence of (float, str)
        What was ordered, and when. [s]
    begin : float, optional
        The first moment; the start, if left out. [s]
    count : int
        So many moments at most.

    Returns
    -------
    Film
        The moments; ``ends`` is the last one, where the flight has ended by itself.

    Raises
    ------
    BadData
        If there is no such flight.
    """
    with _flying:
        return _film(flight_of(key), orders, begin, count)


def _film(flight: ClassFlight, orders: Sequence[tuple[float, str]], begin: float | None, count: int) -> Film:
    flight.follow(orders)
    first = min(max(0, round((begin or 0.0) / STEP_S)), flight.last)
    flight.until(first + most(count) - 1)
    there = range(min(first, len(flight.moments) - 1), min(first + most(count), len(flight.moments)))
    states, before = [], dict[str, Any]()
    for moment in there:
        state = {name: face.state() for name, face in flight.faces(moment).items()}
        states.append({name: each for name, each in state.items() if each != before.get(name)})
        before = state
    ended = len(flight.moments) - 1 if flight.moments[-1].ended else None
    return Film(
        tuple(moment * STEP_S for moment in there),
        tuple(states),
        tuple(flight.sentence(moment) for moment in there),
        ROWS,
        0.0,
        flight.last * STEP_S,
        STEP_S,
        1.0,
        [
            {"name": name, "label": label, "said": said, "down": down, "up": up, "less": less, "more": more}
            for (name, label, down, up, less, more), said in zip(
                flight.ordered_by, map(notches, _orders(flight.ordered_by)), strict=True
            )
        ],
        standing=tuple(flight.knobs(moment) for moment in there),
        ends=ended,
    )


def recorded(key: str, orders: Sequence[tuple[float, str]], until_s: float) -> Track:
    """Give a class's flight as a track.

    Parameters
    ----------
    key : str
        Key of the question.
    orders : sequence of (float, str)
        What was ordered, and when. [s]
    until_s : float
        How far it was flown. [s]

    Returns
    -------
    Track
        The flight.

    Raises
    ------
    BadData
        If there is no such flight, or nothing was flown.
    """
    with _flying:
        flight = flight_of(key)
        flight.follow(orders)
        flight.until(round(until_s / STEP_S))
        track = flight.track()
    return track.part(track.time_s <= until_s + STEP_S)


def wanted(key: str) -> Track:
    """Give the flight that passes: the lesson's own plan in the numbers on the wall.

    Parameters
    ----------
    key : str
        Key of the question.

    Returns
    -------
    Track
        The flight.

    Raises
    ------
    BadData
        If there is no such flight.
    """
    flight = flight_of(key)
    return recording.read(flight.question.right(flight.givens)).track
