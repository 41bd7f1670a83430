"""Flights that were flown, shown again to a class: alone, beside the wanted one, or with a fault to be found."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from pathlib import Path
from typing import Any

import numpy as np

from needlework.basis.errors import BadData
from needlework.basis.quantity import Floats
from needlework.course.classroom import flown
from needlework.course.classroom.deck import FAULTS_OF, NAME
from needlework.course.classroom.films import Film, most
from needlework.exercises import judging, recording
from needlework.exercises.catalogue import LESSONS, QUESTIONS
from needlework.exercises.flown import FlownByHand
from needlework.exercises.goals.seen import Seen
from needlework.flying.tracklog import Track
from needlework.showing.faces import Circle, CourseDeviation, Digits, Face, Line, Mark, Plan, clock, dme
from needlework.showing.panel import shown
from needlework.trade import vor
from needlework.trade.angles import three_digits
from needlework.world import aircraft, procedure, weather
from needlework.world.procedure import Procedure

ROWS: list[Any] = [[["plan"]], [["needle 1"], ["needle 2"]], [["dme"], ["heading"], ["altitude"], ["clock"]]]
"""Where the faces of one flight stand."""
PAIR_ROWS: list[Any] = [
    [["plan"]],
    [["needle flown"], ["needle wanted"]],
    [["dme flown"], ["heading flown"], ["dme wanted"], ["heading wanted"]],
]
"""Where those of two flights stand."""
_BEFORE_S, _SHOWN_S, _AFTER_S = 240.0, 120.0, 60.0
"""A flight to find a fault in begins so long before what is seen of it, shows so much, and ends so long after."""
_APART_S = 6.0
"""What is done within so few seconds is one event."""
_RING_S = 60.0
_DOT_DEG = vor.FULL_SCALE_DEG / vor.FULL_SCALE_DOTS
_PLAYED = 10.0
_BANKED_DEG, _LEVEL_DEG = 6.0, 2.0


@dataclass(frozen=True, eq=False)
class Shown:
    """A track, ready to be shown moment by moment.

    Parameters
    ----------
    track : Track
        With readings of both receivers, DME and heading.
    way : Procedure
        Gives station and legs.
    radials : tuple of float or None
        Radials drawn in place of the whole procedure. [deg magnetic]
    """

    track: Track
    way: Procedure
    radials: tuple[float, ...] | None = None

    def column(self, name: str) -> Floats:
        """Give a column; refuse a recording that does not hold it."""
        values: Floats | None = getattr(self.track, name)
        if values is None:
            raise BadData(f"This recording holds no {name}: it cannot be shown on instruments.")
        return values

    def places_nm(self) -> tuple[Floats, Floats]:
        """East and north of the station on the axes of its radials. [NM]"""
        seen = Seen(self.track, self.way.station)
        radial = np.deg2rad(seen.radial_deg)
        return seen.dist_nm * np.sin(radial), seen.dist_nm * np.cos(radial)

    def needle(self, number: int, at: int, title: str = "") -> CourseDeviation:
        """What receiver 1 or 2 shows at a sample."""
        flag = {1: "TO", -1: "FROM"}.get(round(self._or_nought(f"flag_{number}", at)), "NONE")
        dots = self._or_nought(f"needle_{number}_deg", at) / _DOT_DEG
        course = float(self.column(f"course_{number}_deg")[at])
        named = title or f"VOR {number}, {self.way.station.ident}"
        return CourseDeviation(course, dots, flag, named, reliable=flag != "NONE")  # type: ignore[arg-type]

    def _or_nought(self, name: str, at: int) -> float:
        value = float(self.column(name)[at])
        return 0.0 if math.isnan(value) else value

    def dme(self, at: int, label: str = "DME") -> Digits:
        """What the DME shows at a sample."""
        value = float(self.column("dme_nm")[at])
        return replace(dme(None if math.isnan(value) else value), label=label)

    def heading(self, at: int, label: str = "heading") -> Digits:
        """Where the nose points at a sample."""
        return Digits(label, "°M", text=three_digits(direction_deg=float(self.column("heading_deg")[at]))[:3])

    def events(self) -> list[int]:
        """Give the samples at which something is done or seen, in order.

        A selector is turned, a needle comes to the middle, a flag changes, a turn is begun. What lies close together
        is one event.
        """
        found: set[int] = set()
        for number in (1, 2):
            course, needle = self.column(f"course_{number}_deg"), self.column(f"needle_{number}_deg")
            found |= _changes(course)
            found |= _changes(self.column(f"flag_{number}"))
            same = course[1:] == course[:-1]
            near = np.abs(np.diff(needle)) < vor.FULL_SCALE_DEG
            crossed = np.flatnonzero((needle[1:] * needle[:-1] < 0.0) & near & same)
            found |= set((crossed + 1).tolist())
        if self.track.bank_deg is not None:
            banked, turning = np.abs(self.track.bank_deg), False
            for at, bank in enumerate(banked):
                if not turning and bank > _BANKED_DEG:
                    found.add(at)
                turning = bank > _BANKED_DEG or (turning and bank > _LEVEL_DEG)
        time_s, kept = self.track.time_s, list[int]()
        for at in sorted(found):
            if not kept or time_s[at] - time_s[kept[-1]] > _APART_S:
                kept.append(at)
        return kept


def _changes(values: Floats) -> set[int]:
    """Samples that differ from the one before; what is not there differs from nothing."""
    there = ~(np.isnan(values[1:]) | np.isnan(values[:-1]))
    return set((np.flatnonzero((values[1:] != values[:-1]) & there) + 1).tolist())


# --- one flight -------------------------------------------------------------------------------------------------


def _view(shown_now: Sequence[Shown]) -> dict[str, Any]:
    """Choose the part of the map that holds all that was flown, and the station where that is near."""
    east = np.concatenate([each.places_nm()[0] for each in shown_now])
    north = np.concatenate([each.places_nm()[1] for each in shown_now])
    size = max(np.ptp(east), np.ptp(north))
    if np.hypot(east, north).min() < max(size, 4.0):
        east, north = np.append(east, 0.0), np.append(north, 0.0)
    middle = float(east.min() + east.max()) / 2.0, float(north.min() + north.max()) / 2.0
    radius = max(1.0, 0.62 * float(max(np.ptp(east), np.ptp(north))))
    scale = 1.0 if radius <= 8 else 5.0
    return {"radius_nm": radius, "centre_east_nm": middle[0], "centre_north_nm": middle[1], "scale_nm": scale}


def _film(
    times_s: Floats,
    faces: Any,
    sentence: Any,
    rows: list[Any],
    events: Sequence[int],
    begin: float | None,
    count: int,
    told: Mapping[str, str] | None = None,
) -> Film:
    """Put moments together as those of a what-if are."""
    first = 0 if begin is None else int(np.clip(np.searchsorted(times_s, begin - 0.25), 0, len(times_s) - 1))
    places = range(first, min(len(times_s), first + most(count)))
    states, before = [], dict[str, Any]()
    for at in places:
        state = {name: face.state() for name, face in faces(at).items()}
        states.append({name: each for name, each in state.items() if each != before.get(name)})
        before = state
    return Film(
        tuple(float(times_s[at]) for at in places),
        tuple(states),
        tuple(sentence(at) for at in places),
        rows,
        float(times_s[0]),
        float(times_s[-1]),
        1.0,
        _PLAYED,
        [],
        events=tuple(int(each) for each in events),
        told=told or {},
    )


def _every_second(track: Track) -> Track:
    """Take one sample a second, so that a place in the film is a second of the flight."""
    wanted = np.arange(math.ceil(track.time_s[0]), math.floor(track.time_s[-1]) + 1)
    at = np.unique(np.clip(np.searchsorted(track.time_s, wanted - 1e-6), 0, len(track) - 1))
    mask = np.zeros(len(track), dtype=bool)
    mask[at] = True
    taken = track.part(mask)
    if len(taken) != len(wanted):
        raise BadData("This recording has gaps: a flight of one sample a second can be shown again.")
    return taken


def _alone(now: Shown, begin: float | None, count: int, told: Mapping[str, str] | None = None) -> Film:
    east, north = now.places_nm()
    view, time_s = _view([now]), now.track.time_s
    lines, marks = shown.drawn(now.way, view["radius_nm"], now.radials)

    def faces(at: int) -> dict[str, Face]:
        step = max(1, at // 200)
        trail = [*range(0, at, step), at]
        plan = Plan(
            said="Plan view of the flight.",
            lines=(*lines, Line("track", east[trail], north[trail])),
            marks=marks,
            aircraft_east_nm=float(east[at]),
            aircraft_north_nm=float(north[at]),
            heading_deg=float(now.column("heading_deg")[at]),
            **view,
        )
        height = Digits("altitude", "ft", round(float(now.track.alt_ft[at]) / 10.0) * 10.0)
        return {
            "plan": plan,
            "needle 1": now.needle(1, at),
            "needle 2": now.needle(2, at),
            "dme": now.dme(at),
            "heading": now.heading(at),
            "altitude": height,
            "clock": clock(float(time_s[at])),
        }

    def sentence(at: int) -> str:
        seen = faces(at)
        return " ".join(seen[name].words() for name in ("clock", "dme", "heading", "needle 2"))

    return _film(time_s, faces, sentence, ROWS, now.events(), begin, count, told)


# --- two flights ------------------------------------------------------------------------------------------------


def _pair(flown_now: Shown, wanted: Shown, by_place: bool, begin: float | None, count: int) -> Film:
    """Show two flights on one clock, or the wanted one where it comes nearest to the flown one's place."""
    east, north = flown_now.places_nm()
    want_east, want_north = wanted.places_nm()
    view = _view([flown_now, wanted])
    station = Mark(flown_now.way.station.ident)
    time_s = flown_now.track.time_s
    apart = np.hypot(east[:, None] - want_east[None, :], north[:, None] - want_north[None, :])
    if by_place:
        beside = _onwards(apart)
    else:
        beside = np.clip(np.searchsorted(wanted.track.time_s, time_s), 0, len(wanted.track) - 1)
    # Of two receivers the one that the wanted flight steers by: the first, where its needle lives.
    first = wanted.column("needle_1_deg")
    steered = np.where(np.abs(first) < vor.FULL_SCALE_DEG, 1, 2)
    planned = Line("planned", want_east[::3], want_north[::3])
    rings = np.flatnonzero(np.abs((time_s - time_s[0]) % _RING_S) < 0.5)
    away, want_away = np.hypot(east, north), np.hypot(want_east, want_north)

    def faces(at: int) -> dict[str, Face]:
        other = int(beside[at])
        step = max(1, at // 200)
        trail = [*range(0, at, step), at]
        plan = Plan(
            said="Plan view: the wanted flight in dashes, the flown one a line with rings, one a minute.",
            lines=(planned, Line("track", east[trail], north[trail])),
            circles=tuple(
                Circle("ring", 0.035 * view["radius_nm"], float(east[ring]), float(north[ring]))
                for ring in rings
                if ring <= at
            ),
            marks=(station, Mark("wanted", float(want_east[other]), float(want_north[other]), "fix")),
            aircraft_east_nm=float(east[at]),
            aircraft_north_nm=float(north[at]),
            heading_deg=float(flown_now.column("heading_deg")[at]),
            **view,
        )
        return {
            "plan": plan,
            "needle flown": flown_now.needle(int(steered[other]), at, f"VOR {steered[other]} flown"),
            "needle wanted": wanted.needle(int(steered[other]), other, f"VOR {steered[other]} wanted"),
            "dme flown": flown_now.dme(at, "DME flown"),
            "heading flown": flown_now.heading(at, "nose flown"),
            "dme wanted": wanted.dme(other, "DME wanted"),
            "heading wanted": wanted.heading(other, "nose wanted"),
        }

    def sentence(at: int) -> str:
        other, minutes = int(beside[at]), int(time_s[at])
        gap = float(apart[at, other])
        farther = float(away[at] - want_away[other])
        side = "outside" if farther > 0.0 else "inside"
        where = f", {abs(farther):.1f} NM {side}" if abs(farther) >= 0.05 else ""
        how = "at this place" if by_place else "at this time"
        return f"{minutes // 60}:{minutes % 60:02d}: {gap:.1f} NM from the wanted flight {how}{where}."

    return _film(time_s, faces, sentence, PAIR_ROWS, flown_now.events(), begin, count)


def _onwards(apart: Floats) -> Floats:
    """Of each sample of one flight, the nearest of the other, which never goes back by more than a lap's worth."""
    nearest, last = np.zeros(len(apart), dtype=int), 0
    for at, row in enumerate(apart):
        window = row[last : last + 240]
        last = last + int(np.argmin(window))
        nearest[at] = last
    return nearest


# --- which flights there are ------------------------------------------------------------------------------------


def _question(key: str) -> FlownByHand:
    question = QUESTIONS.get(key)
    if not isinstance(question, FlownByHand):
        raise BadData(f"'{key}' is not flown by hand: open the lesson anew.")
    return question


def _files(folder: Path, lesson: str, key: str) -> list[recording.Recording]:
    found = [each for place in recording.places_of(lesson, folder) for each in recording.every(key, place)]
    return sorted(found, key=lambda each: str(each.about["start_utc"]))


def listed(folder: Path, lesson: str) -> dict[str, list[dict[str, str]]]:
    """List the recordings a teacher has of a lesson's flights, the newest first.

    Parameters
    ----------
    folder : pathlib.Path
        The teacher's folder.
    lesson : str
        Lesson key.

    Returns
    -------
    dict
        By the question's key: of each recording its file and what is said of it.
    """
    found: dict[str, list[dict[str, str]]] = {}
    for key in LESSONS[lesson].questions:
        if isinstance(QUESTIONS[key], FlownByHand):
            rows = []
            for each in reversed(_files(folder, lesson, key)):
                who = str(each.about.get("student", "")).strip()
                when = str(each.about["start_utc"])[:16].replace("T", " ")
                rows.append({"file": Path(str(each.path)).name, "said": " ".join(filter(None, [who, when]))})
            found[key] = rows
    return found


def _track_of(folder: Path, lesson: str, key: str, setting: Mapping[str, Any]) -> Track:
    named = str(setting.get("flight", "wanted"))
    if named == "wanted":
        return _wanted(key)
    if named == "class":
        until = setting.get("until", 0.0)
        if not isinstance(until, (int, float)):
            raise BadData("Expected how far the class has flown, in seconds.")
        return flown.recorded(key, flown.orders_in(setting.get("orders", [])), float(until))
    for each in _files(folder, lesson, key):
        if Path(str(each.path)).name == named:
            return each.track
    raise BadData(f"The recording {named} is no longer there: choose another flight.")


@lru_cache(maxsize=8)
def _wanted(key: str) -> Track:
    return flown.wanted(key)


def film(
    folder: Path, lesson: str, name: str, setting: Mapping[str, Any], begin: float | None = None, count: int = 1
) -> Film:
    """Give some moments of a flight, one after the other.

    Parameters
    ----------
    folder : pathlib.Path
        The teacher's folder.
    lesson : str
        Lesson key.
    name : str
        ``"alone/QUESTION"``, ``"beside/QUESTION"`` or ``"fault/NUMBER"``.
    setting : mapping
        ``flight``: ``"wanted"``, ``"class"`` or the name of a file; for the class's its ``orders`` and ``until``;
        ``by``: ``"place"``, where two flights are to be compared so.
    begin : float, optional
        The first moment. [s]
    count : int
        So many moments at most.

    Returns
    -------
    Film
        The moments.

    Raises
    ------
    BadData
        If there is no such flight, or it cannot be shown.
    """
    kind, _, what = name.partition("/")
    if kind == "fault":
        return _to_find(lesson, int(what) if what.isdigit() else 0, begin, count)
    question = _question(what)
    givens = judging.draw(question, NAME)
    radials = question.radials(givens) if question.radials else None
    way = procedure.load(question.on)
    now = Shown(_every_second(_track_of(folder, lesson, what, setting)), way, radials)
    if kind == "alone":
        return _alone(now, begin, count)
    if kind == "beside":
        wanted = Shown(_every_second(_wanted(what)), way, radials)
        return _pair(now, wanted, setting.get("by") == "place", begin, count)
    raise BadData(f"There is no film '{name}': open the lesson anew.")


# --- faults to find ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class ToFind:
    """A flight with a fault that a class is to find.

    Parameters
    ----------
    shown : Shown
        The part of the flight in which it can be seen.
    fault : str
        What the pilot did wrong, for the teacher.
    when : str
        When it is seen first, and where.
    what, cause, next_time : str
        What went wrong, the likely reason, and what to do the next time.
    """

    shown: Shown
    fault: str
    when: str
    what: str
    cause: str
    next_time: str


@lru_cache(maxsize=16)
def to_find(lesson: str, number: int) -> ToFind:
    """Fly a flight with a fault, and have it debriefed.

    Parameters
    ----------
    lesson : str
        Lesson key.
    number : int
        Which of the lesson's flights, from 1.

    Returns
    -------
    ToFind
        The flight, and what is to be found in it.

    Raises
    ------
    BadData
        If the lesson has no such flight.
    """
    from needlework import debrief
    from needlework.flying import reference_pilot

    names = FAULTS_OF.get(lesson, ())
    if not 1 <= number <= len(names):
        raise BadData(f"{lesson} has no flight {number} to find a fault in.")
    name = names[number - 1]
    fault = reference_pilot.FAULTS[name]
    craft, laps = aircraft.load("Finch"), 2 if fault.segment == "hold" else 0
    drifting = fault.needs == "wind" and fault.segment == "any"
    for way in filter(partial(reference_pilot.shows, name), map(procedure.load, _PROCEDURES)):
        day = weather.day("breeze", field_elevation_ft=way.airport.elevation_ft, seed=0)
        track = reference_pilot.fly(way, craft, day, faults=[name], seed=0, laps=laps).one(0).track("to find")
        report = debrief.debrief(track, way, craft)
        worst = next((each for each in report.findings if drifting and each.row == "wind"), report.worst)
        if worst is not None:
            break
    else:
        raise BadData(f"Flight {number} of {lesson} shows no fault: tell whoever keeps the course.")
    end_s = min(worst.end_s, worst.start_s + _SHOWN_S) + _AFTER_S
    near = (track.time_s >= worst.start_s - _BEFORE_S) & (track.time_s <= end_s)
    said = f"{debrief.clock(worst.start_s)}, {worst.where}, {worst.segment}."
    return ToFind(
        Shown(_every_second(track.part(near)), way),
        fault.text,
        said,
        worst.what,
        worst.cause,
        worst.next_time,
    )


_PROCEDURES = ("saltmarsh", "ezrick", "tarvue", "wygate")
"""Where such flights are flown: on the first on which the fault shows."""


def _to_find(lesson: str, number: int, begin: float | None, count: int) -> Film:
    found = to_find(lesson, number)
    told = {"when": found.when, "what": found.what, "cause": found.cause, "next": found.next_time}
    return _alone(found.shown, begin, count, {name: _sentence(said) for name, said in told.items() if said})


def _sentence(said: str) -> str:
    end = "" if said.endswith((".", "?", "!")) else "."
    return f"{said[:1].upper()}{said[1:]}{end}"
