"""The pilot: looks at the instruments once a second, waits for the next row of the plan, moves the hands.

:func:`fly` flies a plan (see :mod:`needlework.flying.plan`) in the air of a day and gives a :class:`Flight`;
:func:`fly_tasks` flies the plans of many, those alike at once. :func:`fly_rows` flies the same rows N times at
once and gives :class:`Flights`.

What the pilot knows is what the instruments show and what follows from it: needle, flag, DME,
heading, altimeter, airspeed, clock. In the head is a picture (:class:`Head`) of radial, distance and
wind, kept up by dead reckoning and put right whenever a needle is alive and the DME reads; the true
position is never looked at.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from needlework.basis.errors import OutOfRange
from needlework.basis.quantity import Constant, Floats, within
from needlework.flying import flight, plan, tracklog
from needlework.flying.flight import Air, Command, Radio, Sight, State
from needlework.flying.plan import Plan, Row, Start
from needlework.trade import geodesy
from needlework.trade.turns import HALF_RATE_DEG_S, STANDARD_RATE_DEG_S
from needlework.trade.units import NM_FT
from needlework.world.aircraft import Aircraft
from needlework.world.procedure_parts import Station
from needlework.world.weather import Day

LONGEST_MIN = Constant(90.0, "min", "common-practice", "a flight that has not ended by then is cut")
TWIST_S = Constant(4.0, "s", "common-practice", "a needle is believed this long after its selector was turned")
ROOM_NM = Constant(0.5, "NM", "common-practice", "left between a procedure turn and its line, as in still air")
PINNED_CUT_DEG = Constant(45.0, "deg", "common-practice", "cut towards a line whose needle is against its stop")
HANDS_STILL_NM = Constant(1.0, "NM", "common-practice", "inside this the needle is not followed")

EXACT_FLIGHTS = 100
"""Up to so many flights at once each comes out as it does alone, to the last digit; more are kept less finely."""

_RAD = np.pi / 180.0
_SIDE = {None: 0, "left": -1, "right": 1}
_FLAG = {"TO": 1, "FROM": -1}
_HEADING, _NEEDLE_1, _NEEDLE_2, _ARC, _TRACK = range(5)
_FOLLOW = {"needle 1": _NEEDLE_1, "needle 2": _NEEDLE_2, "arc": _ARC, "track": _TRACK}


def _wrap(angle: Any) -> Any:
    return np.mod(angle + 180.0, 360.0) - 180.0


@dataclass(frozen=True)
class Habits:
    """How the pilot works; the defaults are good habits.

    ``wind_share``: part of the wind correction flown, 1 all of it, 0 none, -1 on the wrong side.
    ``needle_gain``: degrees of heading for a degree of needle, at most. ``cut_deg``: largest cut towards
    a line or an arc. ``chases``: follows the needle overhead instead of keeping the hands still.
    """

    wind_share: float = 1.0
    needle_gain: float = 4.0
    cut_deg: float = 30.0
    chases: bool = False


class Head:
    """The picture in the pilot's head: where the station is and what the wind does, N pilots at once.

    Axes are the station's own (its radial 360 is north). Between looks the picture moves on by
    airspeed, heading and the wind believed; each look pulls it towards what needle and DME say, along
    the radial and across it each for itself, the gentler the longer one has looked and the farther
    away one is, where a degree of the needle is a long way.
    """

    def __init__(self, x_nm: Floats, y_nm: Floats, radio: Radio, air: Air) -> None:
        count = len(x_nm)
        self.x_nm, self.y_nm = x_nm.copy(), y_nm.copy()
        self.wind_x_kt, self.wind_y_kt = np.zeros(count), np.zeros(count)
        self.tas_kt = np.full(count, 100.0)
        self.unseen_s = np.zeros(count)
        self._looks_along, self._looks_across = np.full(count, 12.0), np.full(count, 12.0)
        self._twisted_s = np.full((2, count), -np.inf)
        self._before: Sight | None = None
        self._radio, self._air = radio, air
        self.near = np.zeros(count, dtype=bool)
        self.full_scale_deg = radio.full_scale_deg

    @property
    def dist_nm(self) -> Floats:
        """Distance over the ground believed. [NM]"""
        return np.hypot(self.x_nm, self.y_nm)

    @property
    def radial_deg(self) -> Floats:
        """Radial believed. [deg]"""
        return np.asarray(np.mod(np.arctan2(self.x_nm, self.y_nm) / _RAD, 360.0))

    def correction_deg(self, track_deg: Floats, who: Any = slice(None)) -> Floats:
        """Wind correction angle for a track, by the wind believed, for some of the flights. [deg], right positive"""
        t = track_deg * _RAD
        to_right = self.wind_x_kt[who] * np.cos(t) - self.wind_y_kt[who] * np.sin(t)
        return np.asarray(-np.arcsin(flight.held(to_right / self.tas_kt[who], -0.9, 0.9)) / _RAD)

    def ground_speed_kt(self, heading_deg: Floats) -> Floats:
        """Ground speed on a heading, by the wind believed. [kt]"""
        h = heading_deg * _RAD
        return np.hypot(self.tas_kt * np.sin(h) + self.wind_x_kt, self.tas_kt * np.cos(h) + self.wind_y_kt)

    def cross_speed_kt(self, heading_deg: Floats, line_rad: Floats, who: Any) -> Floats:
        """Speed across a line, to its right, on a heading, by the wind believed. [kt]"""
        h, tas = heading_deg * _RAD, self.tas_kt[who]
        x, y = tas * np.sin(h) + self.wind_x_kt[who], tas * np.cos(h) + self.wind_y_kt[who]
        return np.asarray(x * np.cos(line_rad) - y * np.sin(line_rad))

    def after_turn_nm(
        self, heading_deg: Floats, new_deg: Floats, rate_deg_s: Floats, who: Any
    ) -> tuple[Floats, Floats]:
        """Where a turn begun now would end, roll-in and wind included. [NM], axes of the station

        Both headings on one running count, so that the turn has its side.
        """
        turn, tas = new_deg - heading_deg, self.tas_kt[who]
        side = np.sign(turn)
        radius = tas / (rate_deg_s * _RAD * 3600.0)
        h0, h1 = heading_deg * _RAD, new_deg * _RAD
        sin0, cos0, sin1, cos1 = np.sin(h0), np.cos(h0), np.sin(h1), np.cos(h1)
        # Rolling in and out costs some two seconds of straight flight, half on each heading.
        straight = tas * 1.1 / 3600.0
        hours = (np.abs(turn) / rate_deg_s + 2.2) / 3600.0
        x = self.x_nm[who] + side * radius * (cos0 - cos1) + straight * (sin0 + sin1) + self.wind_x_kt[who] * hours
        y = self.y_nm[who] + side * radius * (sin1 - sin0) + straight * (cos0 + cos1) + self.wind_y_kt[who] * hours
        return x, y

    def look(self, sight: Sight) -> None:
        """Move the picture on to this reading of the instruments."""
        before = self._before
        self._before = sight
        self.tas_kt = self._air.tas_kt(sight.ias_kt, sight.alt_ft)
        height_nm = np.maximum(sight.alt_ft - self._radio.elevation_ft, 0.0) / NM_FT
        if before is not None:
            self._reckon(sight, before)
        if self._radio.has_dme:
            dme = sight.dme_nm
            ground = np.sqrt(np.maximum(dme**2 - height_nm**2, 0.0))
            seen = dme > 1.5 * height_nm
            self.near = dme < np.maximum(HANDS_STILL_NM, 1.5 * height_nm)
        else:
            ground, seen = self.dist_nm, np.zeros(len(height_nm), dtype=bool)
            self.near = (sight.flag_1 == 0) | (self.dist_nm < np.maximum(0.7, 1.5 * height_nm))
        radial, heard = self._heard(sight)
        dist = np.maximum(self.dist_nm, 0.05)
        ux, uy = self.x_nm / dist, self.y_nm / dist
        along = np.where(seen, ground - dist, 0.0)
        across = np.where(heard, np.sin((radial - self.radial_deg) * _RAD) * np.where(seen, ground, dist), 0.0)
        self._looks_along = np.minimum(self._looks_along + seen, 45.0)
        self._looks_across = np.minimum(self._looks_across + heard, flight.held(20.0 + 9.0 * dist, 40.0, 200.0))
        a1, b1 = _shares(self._looks_along)
        a2, b2 = _shares(self._looks_across)
        self.x_nm += a1 * along * ux + a2 * across * uy
        self.y_nm += a1 * along * uy - a2 * across * ux
        hour = 3600.0
        self.wind_x_kt += (b1 * along * ux + b2 * across * uy) * hour
        self.wind_y_kt += (b1 * along * uy - b2 * across * ux) * hour
        speed = np.hypot(self.wind_x_kt, self.wind_y_kt)
        held = np.minimum(1.0, 60.0 / np.maximum(speed, 1.0))
        self.wind_x_kt *= held
        self.wind_y_kt *= held
        self.unseen_s = np.where(seen, 0.0, self.unseen_s + (0.0 if before is None else sight.time_s - before.time_s))
        if not self._radio.has_dme and before is not None:
            self._passage(sight, before)

    def _reckon(self, sight: Sight, before: Sight) -> None:
        """Dead reckoning since the reading before."""
        hours = (sight.time_s - before.time_s) / 3600.0
        h = (before.heading_deg + 0.5 * _wrap(sight.heading_deg - before.heading_deg)) * _RAD
        self.x_nm += (self.tas_kt * np.sin(h) + self.wind_x_kt) * hours
        self.y_nm += (self.tas_kt * np.cos(h) + self.wind_y_kt) * hours
        for i, (now, then) in enumerate(
            ((sight.course_1_deg, before.course_1_deg), (sight.course_2_deg, before.course_2_deg))
        ):
            self._twisted_s[i] = np.where(now != then, sight.time_s, self._twisted_s[i])

    def _heard(self, sight: Sight) -> tuple[Floats, NDArray[np.bool_]]:
        """Radial by whichever needle is alive, needle 1 first."""
        radial, heard = np.zeros(len(self.x_nm)), np.zeros(len(self.x_nm), dtype=bool)
        for i, (course, needle, flag) in enumerate(
            (
                (sight.course_1_deg, sight.needle_1_deg, sight.flag_1),
                (sight.course_2_deg, sight.needle_2_deg, sight.flag_2),
            )
        ):
            alive = (flag != 0) & (np.abs(needle) < 0.95 * self._radio.full_scale_deg) & ~self.near
            alive &= sight.time_s - self._twisted_s[i] > TWIST_S
            here = np.where(flag == 1, course + 180.0 + needle, course - needle)
            radial = np.where(alive & ~heard, here, radial)
            heard |= alive
        return radial, heard

    def _passage(self, sight: Sight, before: Sight) -> None:
        """Without DME the moment overhead is the only distance there is, and tells the wind along the way."""
        passed = (sight.flag_1 == -1) & (before.flag_1 != -1) & (self.unseen_s > 60.0) & (self.dist_nm < 4.0)
        if not passed.any():
            return
        hours = self.unseen_s / 3600.0
        self.wind_x_kt = np.where(passed, self.wind_x_kt - self.x_nm / hours, self.wind_x_kt)
        self.wind_y_kt = np.where(passed, self.wind_y_kt - self.y_nm / hours, self.wind_y_kt)
        self.x_nm, self.y_nm = np.where(passed, 0.0, self.x_nm), np.where(passed, 0.0, self.y_nm)
        self.unseen_s = np.where(passed, 0.0, self.unseen_s)


def _shares(looks: Floats) -> tuple[Floats, Floats]:
    """Parts of a difference that go into position and speed when that many looks count, one a second."""
    both = looks * (looks + 1.0)
    return 2.0 * (2.0 * looks - 1.0) / both, 6.0 / both


class _Hands:
    """What is set and asked for, N pilots at once; the only thing the rows change."""

    def __init__(self, state: State) -> None:
        count = len(state)
        self.course_1_deg, self.course_2_deg = np.zeros(count), np.zeros(count)
        self.target_deg = state.heading_deg.copy()
        self.ias_kt = state.ias_kt.copy()
        self.vs_fpm, self.level_ft = np.zeros(count), np.full(count, np.nan)
        self.gradient_ft_nm = np.zeros(count)
        self.configuration = np.round(state.configuration)
        self.rate_deg_s = np.full(count, float(STANDARD_RATE_DEG_S))
        self.mode = np.zeros(count, dtype=np.int8)
        self.track_deg, self.arc_nm, self.side = np.zeros(count), np.zeros(count), np.zeros(count)
        self.most_correction_deg, self.wind_factor = np.full(count, 90.0), np.ones(count)
        self.identified = np.zeros(count, dtype=bool)
        self.clock_s = np.full(count, np.nan)

    def command(self) -> Command:
        """Give the order for the aircraft."""
        return Command(self.target_deg, self.ias_kt, self.vs_fpm, self.level_ft, self.configuration, self.rate_deg_s)


FLOATS = (
    "east_nm", "north_nm", "alt_ft", "heading_deg", "ias_kt", "course_1_deg", "course_2_deg", "needle_1_deg",
    "needle_2_deg", "dme_nm", "vs_fpm", "bank_deg",
)  # fmt: skip
SMALL = ("flag_1", "flag_2", "configuration", "identified")


@dataclass(frozen=True)
class Flight:
    """One flown flight: every column an array with one sample a second.

    ``east_nm``, ``north_nm``, ``lat_deg``, ``lon_deg``: the truth, for judging, never seen by the
    pilot. ``alt_ft``: as the altimeter showed it. ``needle_1_deg``...: right positive; ``flag_1``...:
    1 TO, -1 FROM, 0 off. ``events``: (time in seconds, what was waited for) row by row.
    ``waiting``: what the plan still waited for when the flight was cut, empty if it was flown to its end.
    """

    time_s: Floats
    east_nm: Floats
    north_nm: Floats
    lat_deg: Floats
    lon_deg: Floats
    alt_ft: Floats
    heading_deg: Floats
    ias_kt: Floats
    course_1_deg: Floats
    course_2_deg: Floats
    needle_1_deg: Floats
    needle_2_deg: Floats
    flag_1: Floats
    flag_2: Floats
    dme_nm: Floats
    vs_fpm: Floats
    bank_deg: Floats
    configuration: Floats
    identified: Floats
    events: tuple[tuple[float, str], ...]
    waiting: str

    def track(self, name: str = "") -> tracklog.Track:
        """Give the flight as a recording that can be written, read and debriefed."""
        columns = {column.name: getattr(self, column.name) for column in tracklog.COLUMNS}
        if np.isnan(self.dme_nm).all():
            columns["dme_nm"] = None
        return tracklog.Track(**columns, name=name)


@dataclass(frozen=True)
class Flights:
    """N flights at once: ``columns`` by name, each of shape (seconds, N); take one with :meth:`one`.

    ``samples``: how many samples of each flight count, shape (N,). ``fired_s``: when each row was done,
    nan where it was not, shape (rows, N).
    """

    station: Station
    columns: Mapping[str, NDArray[Any]]
    samples: NDArray[np.intp]
    fired_s: Floats
    rows: tuple[Row, ...]

    def __len__(self) -> int:
        return len(self.samples)

    @property
    def finished(self) -> NDArray[np.bool_]:
        """True for each flight that came to the end of its plan."""
        return np.asarray(np.isfinite(self.fired_s[-1]))

    def one(self, number: int, rows: Sequence[Row] | None = None) -> Flight:
        """Take one flight out, with positions in latitude and longitude; ``rows`` are its own, for their notes."""
        rows = self.rows if rows is None else rows
        count = int(self.samples[number])
        taken = {name: np.array(column[:count, number], dtype=np.float64) for name, column in self.columns.items()}
        lat, lon = geodesy.position_from_plane(
            station_lat_deg=self.station.lat_deg,
            station_lon_deg=self.station.lon_deg,
            east_nm=taken["east_nm"],
            north_nm=taken["north_nm"],
        )
        done = self.fired_s[:, number]
        events = tuple((float(t), row.note) for t, row in zip(done, rows, strict=True) if np.isfinite(t))
        left = [row.note for t, row in zip(done, rows, strict=True) if not np.isfinite(t)]
        return Flight(
            time_s=np.arange(count, dtype=np.float64),
            lat_deg=np.asarray(lat),
            lon_deg=np.asarray(lon),
            events=events,
            waiting=left[0] if left else "",
            **taken,
        )


@dataclass(frozen=True)
class Task:
    """A flight to be flown: a compiled plan, where it begins, its day; make it with :func:`task`."""

    rows: tuple[Row, ...]
    start: Start
    day: Day
    seed: int = 0
    set_hpa: float | None = None

    @property
    def kind(self) -> tuple[Any, ...]:
        """What two flights have in common that can be flown at once: all but the numbers."""
        rows = tuple((_kinds(row.when), _kinds(row.then.items())) for row in self.rows)
        return rows, self.day.wind.heights_ft, self.set_hpa


def _kinds(said: Iterable[tuple[str, Any]]) -> tuple[tuple[str, Any], ...]:
    """Words, and the number of a needle, as they are; every other number is a number."""
    return tuple(
        (key, value if isinstance(value, (str, bool)) or key.startswith("needle") else None) for key, value in said
    )


def task(
    chosen: Plan, station: Station, aircraft: Aircraft, day: Day, *, seed: int = 0, set_hpa: float | None = None
) -> Task:
    """Make a plan ready to be flown on a day.

    ``seed`` picks the waves of the needle. ``set_hpa``: what the altimeter is set to when it is not the day's.
    Raises BadData with every row that does not fit the aircraft or the station.
    """
    rows = plan.compiled(chosen, aircraft, station.has_dme, station.ident)
    if not any("end" in row.then for row in rows):
        rows = (*rows, Row((("after_s", 120.0),), {"end": True}, "two minutes after the last row"))
    return Task(rows, chosen.start, day, seed, set_hpa)


def fly(
    chosen: Plan,
    station: Station,
    aircraft: Aircraft,
    day: Day,
    *,
    seed: int = 0,
    minutes: float = 60.0,
    set_hpa: float | None = None,
) -> Flight:
    """Fly a plan: look once a second, wait for one row after the other.

    The flight ends with a row that says so, two minutes after the last row, or after ``minutes``; what
    was waited for then stands in :attr:`Flight.waiting`. ``seed`` and ``set_hpa`` as in :func:`task`, which
    says what is refused.
    """
    one = task(chosen, station, aircraft, day, seed=seed, set_hpa=set_hpa)
    return fly_tasks([one], station, aircraft, minutes=minutes)[0]


def fly_tasks(tasks: Sequence[Task], station: Station, aircraft: Aircraft, *, minutes: float = 60.0) -> list[Flight]:
    """Fly any number of flights, those whose plans differ in numbers only at once; in the order they were given.

    Each comes out as :func:`fly` gives it alone, to the last digit.
    """
    limit = float(within("minutes", minutes, 1.0, LONGEST_MIN, "min", "is this in seconds?"))
    alike: dict[tuple[Any, ...], list[int]] = {}
    for number, one in enumerate(tasks):
        alike.setdefault(one.kind, []).append(number)
    flown: dict[int, Flight] = {}
    for numbers in alike.values():
        for first in range(0, len(numbers), EXACT_FLIGHTS):
            part = numbers[first : first + EXACT_FLIGHTS]
            together = [tasks[number] for number in part]
            flights = _flown(together, station, aircraft, limit)
            flown.update((number, flights.one(n, tasks[number].rows)) for n, number in enumerate(part))
    return [flown[number] for number in range(len(tasks))]


def _stacked(values: Sequence[Any]) -> Any:
    """One value for all flights where it is the same, else one each."""
    same = all(value == values[0] for value in values[1:])
    return values[0] if same else np.array(values, dtype=np.float64)


def _flown(tasks: Sequence[Task], station: Station, aircraft: Aircraft, minutes: float) -> Flights:
    """Fly tasks of one kind."""
    rows = [
        Row(
            tuple((key, _stacked([row.when[n][1] for row in each])) for n, (key, _) in enumerate(each[0].when)),
            {key: _stacked([row.then[key] for row in each]) for key in each[0].then},
            each[0].note,
        )
        for each in zip(*(one.rows for one in tasks), strict=True)
    ]
    steps = [step.name for step in aircraft.configurations]

    def begun(name: str) -> Floats:
        return np.array([getattr(one.start, name) for one in tasks], dtype=np.float64)

    air = flight.air_over(station, [one.day for one in tasks], set_hpa=tasks[0].set_hpa)
    angle = (begun("radial_deg") + station.declination_deg) * _RAD
    altitude_ft, dme_nm = begun("altitude_ft"), begun("dme_nm")
    height_nm = (altitude_ft - station.elevation_ft) / NM_FT
    ground = np.sqrt(np.maximum(dme_nm**2 - height_nm**2, 0.0)) if station.has_dme else dme_nm
    chosen = (one.start.configuration for one in tasks)
    state = flight.start(
        ground * np.sin(angle),
        ground * np.cos(angle),
        air.true_ft(altitude_ft),
        begun("heading_deg"),
        begun("ias_kt"),
        [0 if name is None else steps.index(aircraft.configuration(name).name) for name in chosen],
    )
    waves = {seed: flight.radio(station, seed=seed) for seed in sorted({one.seed for one in tasks})}
    phases = np.concatenate([waves[one.seed].phases for one in tasks], axis=1)
    tuned = replace(waves[tasks[0].seed], phases=phases)
    return fly_rows(rows, state, station, aircraft, air, tuned, minutes=minutes)


def fly_rows(
    rows: Sequence[Row],
    state: State,
    station: Station,
    aircraft: Aircraft,
    air: Air,
    radio: Radio,
    *,
    habits: Habits | None = None,
    briefed_kt: tuple[Floats, Floats] | None = None,
    minutes: float = 60.0,
) -> Flights:
    """Fly the same rows N times at once, each flight in its own air and with its own numbers.

    Every value of a row may be one number or an array of shape (N,). The pilot knows where the flight
    begins and sees nothing but the instruments from then on. ``briefed_kt``: the wind believed at the
    start (where it goes, along the station's radials 090 and 360), none when left out.
    """
    if not rows:
        raise OutOfRange("there are no rows to fly: a plan needs at least one")
    count = len(state)
    habits = habits or Habits()
    hands = _Hands(state)
    turned = station.declination_deg * _RAD
    head = Head(
        state.east_nm * np.cos(turned) - state.north_nm * np.sin(turned),
        state.east_nm * np.sin(turned) + state.north_nm * np.cos(turned),
        radio,
        air,
    )
    if briefed_kt is not None:
        head.wind_x_kt, head.wind_y_kt = (np.array(part, dtype=np.float64) for part in briefed_kt)
    watch = _Watch(rows, count)
    longest = round(minutes * 60) + 1
    kind = np.float64 if count <= EXACT_FLIGHTS else np.float32
    # Pages of memory that are never written cost nothing: flights seldom last the longest time.
    columns = {name: np.empty((longest, count), dtype=kind) for name in FLOATS}
    columns |= {name: np.empty((longest, count), dtype=np.int8) for name in SMALL}
    samples = np.full(count, longest, dtype=np.intp)
    thinks = any("follow" in row.then for row in rows)
    listens = any(key in ("radial_reaches_deg", "abeam") for row in rows for key, _ in row.when)
    listens |= any("direct" in row.then for row in rows)
    no_radial = np.zeros(count)
    sight: Sight | None = None
    second = 0
    for second in range(longest):
        before = sight
        sight = flight.look(state, radio, air, hands.course_1_deg.copy(), hands.course_2_deg.copy(), before)
        if thinks:
            head.look(sight)
        radial = flight.received_radial_deg(state, radio)[0] if listens else no_radial
        watch.look(_Moment(sight, head, hands, state, aircraft, radial))
        if second == 0:
            # What is set on the ground before the flight shows from its first second.
            sight = flight.look(state, radio, air, hands.course_1_deg.copy(), hands.course_2_deg.copy())
        _steer(hands, head, sight, state, habits)
        for name in FLOATS:
            columns[name][second] = getattr(sight if name not in ("east_nm", "north_nm", "bank_deg") else state, name)
        columns["flag_1"][second], columns["flag_2"][second] = sight.flag_1, sight.flag_2
        columns["configuration"][second] = np.floor(state.configuration + 1e-6)
        columns["identified"][second] = hands.identified
        ended = watch.ended & (samples == longest)
        samples[ended] = second + 1
        if watch.ended.all():
            break
        order = hands.command()
        state = flight.step(flight.step(state, order, air, aircraft, 0.5), order, air, aircraft, 0.5)
    kept = {name: column[: second + 1] for name, column in columns.items()}
    return Flights(station, kept, np.minimum(samples, second + 1), watch.fired_s, tuple(rows))


def _steer(hands: _Hands, head: Head, sight: Sight, state: State, habits: Habits) -> None:
    """Turn what is followed (needle, arc, track) into a heading; held headings stay as they are."""
    slope = hands.gradient_ft_nm
    if slope.any():
        rate = flight.held(head.ground_speed_kt(sight.heading_deg) * slope / 60.0, 200.0, 950.0)
        hands.vs_fpm = np.where(slope > 0.0, rate, hands.vs_fpm)
    mode = hands.mode
    if not mode.any():
        return
    track = hands.track_deg
    cut = np.zeros(len(track))
    needles = (mode == _NEEDLE_1) | (mode == _NEEDLE_2)
    if needles.any():
        second = mode == _NEEDLE_2
        course = np.where(second, hands.course_2_deg, hands.course_1_deg)
        needle = np.where(second, sight.needle_2_deg, sight.needle_1_deg)
        flag = np.where(second, sight.flag_2, sight.flag_1)
        track = np.where(needles, course, track)
        # Far away the needle is slow and takes a firm cut, near the station a small one.
        pace_nm_s = head.tas_kt / 3600.0
        gain = flight.held(head.dist_nm / (pace_nm_s * 28.0), 0.8, habits.needle_gain)
        wanted = flight.held(gain * needle, -habits.cut_deg, habits.cut_deg)
        pinned = np.abs(needle) >= 0.97 * head.full_scale_deg
        wanted = np.where(pinned, np.sign(needle) * max(PINNED_CUT_DEG, habits.cut_deg), wanted)
        if habits.chases:
            wanted = np.where(head.near, flight.held(10.0 * needle, -45.0, 45.0), wanted)
        else:
            wanted = np.where(head.near | (flag == 0), 0.0, wanted)
        cut = np.where(needles, wanted, cut)
    arcs = mode == _ARC
    if arcs.any():
        off_nm = head.dist_nm - hands.arc_nm
        cut = np.where(arcs, flight.held(40.0 * off_nm, -habits.cut_deg, habits.cut_deg) * hands.side, cut)
    most = hands.most_correction_deg
    wind = flight.held(head.correction_deg(track + cut) * hands.wind_factor * habits.wind_share, -most, most)
    heading = flight.aim(state.heading_deg, track + cut + wind)
    hands.target_deg = np.where(mode == _HEADING, hands.target_deg, heading)


def _of(value: Any, who: NDArray[np.intp]) -> Any:
    """Give the value of a row for some of the flights: one for all, or one each."""
    return value[who] if isinstance(value, np.ndarray) and value.ndim else value


@dataclass
class _Moment:
    """All that a row may look at or change in one second."""

    sight: Sight
    head: Head
    hands: _Hands
    state: State
    aircraft: Aircraft
    radial_deg: Floats


class _Watch:
    """Which row each flight waits for, and whether what it waits for has come."""

    def __init__(self, rows: Sequence[Row], count: int) -> None:
        self.rows = rows
        self.at = np.zeros(count, dtype=np.intp)
        self.since_s = np.zeros(count)
        # For each condition of the row a flight waits for: the side it was on when the row came up.
        self.mark = np.full((max(len(row.when) for row in rows) + 1, count), np.nan)
        self.fired_s = np.full((len(rows), count), np.nan)
        self.ended = np.zeros(count, dtype=bool)

    def look(self, moment: _Moment) -> None:
        """Do every row whose time has come; at most a few in the same second."""
        for _ in range(6):
            waiting = np.bincount(self.at[~self.ended], minlength=len(self.rows))
            done = False
            for number in map(int, np.flatnonzero(waiting)):
                here = np.flatnonzero((self.at == number) & ~self.ended)
                row = self.rows[number]
                ready = np.ones(len(here), dtype=bool)
                for place, (kind, value) in enumerate(row.when):
                    ready &= self._holds(place, kind, _of(value, here), here, moment)
                if ready.any():
                    done = True
                    self._do(number, here[ready], moment)
            if not done:
                return

    def _do(self, number: int, who: NDArray[np.intp], moment: _Moment) -> None:
        row = self.rows[number]
        _act({key: _of(value, who) for key, value in row.then.items()}, who, moment)
        self.fired_s[number, who] = self.since_s[who] = moment.sight.time_s
        self.mark[:, who] = np.nan
        if "end" in row.then or number + 1 == len(self.rows):
            self.ended[who] = True
        else:
            self.at[who] += 1

    def _crossed(self, place: int, here: NDArray[np.intp], off: Floats, near: float = 0.0) -> NDArray[np.bool_]:
        """True where a quantity has come to nought, or gone through it, since the row came up."""
        first = np.isnan(self.mark[place, here])
        self.mark[place, here] = np.where(first, np.sign(off), self.mark[place, here])
        return np.asarray((np.abs(off) <= near) | (np.sign(off) != self.mark[place, here]))

    def _holds(self, place: int, kind: str, value: Any, here: NDArray[np.intp], moment: _Moment) -> NDArray[np.bool_]:
        """Say for which of the flights a condition holds."""
        sight, head, hands = moment.sight, moment.head, moment.hands
        waited = sight.time_s - self.since_s[here]
        if kind in ("needle_centres", "needle_alive"):
            needle = (sight.needle_1_deg if value == 1 else sight.needle_2_deg)[here]
            flag = (sight.flag_1 if value == 1 else sight.flag_2)[here]
            # Just after a twist the needle is on its way: look when it has settled.
            settled = (waited >= TWIST_S) & (flag != 0)
            if kind == "needle_alive":
                return np.asarray(settled & (np.abs(needle) < 0.95 * head.full_scale_deg))
            found = np.zeros(len(here), dtype=bool)
            found[settled] = self._crossed(place, here[settled], needle[settled], 0.3)
            return found
        if kind == "next_radial":
            # Centred, or already on the far side: then the radial lies behind.
            far_side = sight.needle_2_deg[here] * value <= 0.3
            return np.asarray((waited >= TWIST_S) & (sight.flag_2[here] != 0) & far_side)
        if kind == "radial_reaches_deg":
            off = _wrap(moment.radial_deg[here] - value)
            return np.asarray(self._crossed(place, here, off) & (np.abs(off) < 60.0))
        if kind == "abeam":
            return self._crossed(
                place, here, np.cos((moment.radial_deg[here] + 180.0 - sight.heading_deg[here]) * _RAD)
            )
        if kind == "dme_reaches_nm":
            return self._crossed(place, here, sight.dme_nm[here] - value, 1e-6)
        if kind == "alt_reaches_ft":
            return self._crossed(place, here, sight.alt_ft[here] - value, 10.0)
        if kind == "arc_lead":
            return _arc_is_due(value, here, moment)
        if kind == "course_lead_or_dme":
            course, most_nm = value
            far = sight.dme_nm[here] >= most_nm
            return np.asarray(far | self._course_is_due(place, False, course, here, moment))
        if kind in ("course_lead", "course_late"):
            return self._course_is_due(place, kind == "course_late", value, here, moment)
        if kind == "needle_within_deg":
            which, most = value
            return np.asarray(np.abs(sight.needle_1_deg if which == 1 else sight.needle_2_deg)[here] <= most)
        if kind == "room_nm":
            return _has_room(value, here, moment)
        simple: dict[str, Callable[[], Any]] = {
            "dme_falls_to_nm": lambda: sight.dme_nm[here] <= value + 1e-6,
            "dme_rises_to_nm": lambda: sight.dme_nm[here] >= value - 1e-6,
            "alt_above_ft": lambda: sight.alt_ft[here] >= value,
            # A flag answers for the course it was read with, not for one set this very second.
            "flag_1": lambda: (
                (sight.flag_1 == _FLAG[str(value)])[here] & (sight.course_1_deg == hands.course_1_deg)[here]
            ),
            "flag_2": lambda: (
                (sight.flag_2 == _FLAG[str(value)])[here] & (sight.course_2_deg == hands.course_2_deg)[here]
            ),
            "after_s": lambda: waited >= value,
            "clock_s": lambda: sight.time_s - hands.clock_s[here] >= value,
            "off_arc_nm": lambda: np.abs(sight.dme_nm - hands.arc_nm)[here] >= value,
            "reckoned_nm": lambda: head.dist_nm[here] >= value,
            "heading_reached": lambda: np.abs(hands.target_deg[here] - moment.state.heading_deg[here]) < 3.0,
        }
        return np.asarray(simple[kind](), dtype=bool)

    def _course_is_due(
        self, place: int, late: bool, course: Any, here: NDArray[np.intp], moment: _Moment
    ) -> NDArray[np.bool_]:
        """Say whether a turn begun now rolls out on a course, or (late) the needle has gone through."""
        head, hands = moment.head, moment.hands
        c = np.asarray(course) * _RAD
        off_nm = head.x_nm[here] * np.cos(c) - head.y_nm[here] * np.sin(c)
        if late:
            away = np.abs(off_nm) > head.dist_nm[here] * np.sin(3.0 * _RAD)
            return np.asarray(self._crossed(place, here, off_nm) & away)
        now = moment.state.heading_deg[here]
        new = flight.aim(now, course + head.correction_deg(np.broadcast_to(course, now.shape), here))
        x, y = head.after_turn_nm(now, new, hands.rate_deg_s[here], here)
        then_nm = x * np.cos(c) - y * np.sin(c)
        # Blown through the line before the turn was over: it is behind, so turn at once.
        drift_kt = head.cross_speed_kt(now, c, here)
        return np.asarray((off_nm * then_nm <= 0.0) | (off_nm * drift_kt > 0.0))


def _arc_is_due(value: Any, here: NDArray[np.intp], moment: _Moment) -> NDArray[np.bool_]:
    """Say whether a turn begun now, to this side of the station, rolls out on the arc."""
    arc_nm, side = value
    head, now = moment.head, moment.state.heading_deg[here]
    tangent = head.radial_deg[here] + 90.0 * side
    new = flight.aim(now, tangent + head.correction_deg(tangent, here))
    x, y = head.after_turn_nm(now, new, moment.hands.rate_deg_s[here], here)
    return np.asarray((head.dist_nm[here] < arc_nm) != (np.hypot(x, y) < arc_nm))


def _has_room(value: Any, here: NDArray[np.intp], moment: _Moment) -> NDArray[np.bool_]:
    """Say whether a turn back begun now ends far enough from the line to be led onto it."""
    course, back, turn = value
    head, now = moment.head, moment.state.heading_deg[here]
    x, y = head.after_turn_nm(now, flight.aim(now, back, _SIDE[turn]), moment.hands.rate_deg_s[here], here)
    c = course * _RAD
    off_nm, then_nm = (u * np.cos(c) - v * np.sin(c) for u, v in ((head.x_nm[here], head.y_nm[here]), (x, y)))
    return np.asarray(then_nm * np.sign(off_nm) >= ROOM_NM)


def _act(then: Mapping[str, Any], who: NDArray[np.intp], moment: _Moment) -> None:
    """Do what one row says, for some of the flights."""
    hands, sight = moment.hands, moment.sight
    for name in ("course_1_deg", "course_2_deg", "ias_kt", "configuration", "gradient_ft_nm"):
        if name in then:
            getattr(hands, name)[who] = then[name]
    if "rate" in then:
        hands.rate_deg_s[who] = HALF_RATE_DEG_S if then["rate"] == "half" else STANDARD_RATE_DEG_S
    elif "heading_deg" in then or "follow" in then:
        hands.rate_deg_s[who] = STANDARD_RATE_DEG_S
    if "heading_deg" in then:
        now = moment.state.heading_deg[who]
        hands.target_deg[who] = flight.aim(now, then["heading_deg"], _SIDE[then.get("turn")])
        hands.mode[who] = _HEADING
    if "follow" in then:
        hands.mode[who] = _FOLLOW[then["follow"]]
        hands.most_correction_deg[who] = then.get("most_correction_deg", 90.0)
        hands.wind_factor[who] = then.get("wind_factor", 1.0)
        for name in ("track_deg", "arc_nm", "side"):
            if name in then:
                getattr(hands, name)[who] = then[name]
    if "vs_fpm" in then:
        hands.vs_fpm[who] = then["vs_fpm"]
        hands.level_ft[who] = np.nan
    if "level_ft" in then:
        up = then["level_ft"] > sight.alt_ft[who]
        if "vs_fpm" not in then:
            usual = np.where(up, moment.aircraft.climb_fpm, moment.aircraft.descent_fpm)
            hands.vs_fpm[who] = usual
        # Told to go down to something above, an aircraft goes down.
        wrong_way = (np.sign(hands.vs_fpm[who]) == np.where(up, -1.0, 1.0)) & ("vs_fpm" in then)
        far = np.abs(then["level_ft"] - sight.alt_ft[who]) > 100.0
        hands.level_ft[who] = np.where(wrong_way & far, np.nan, then["level_ft"])
    if "vs_fpm" in then or ("level_ft" in then and "gradient_ft_nm" not in then):
        hands.gradient_ft_nm[who] = 0.0
    if "direct" in then:
        # The selector is turned until the needle centres with TO.
        hands.course_1_deg[who] = np.round(np.mod(moment.radial_deg[who] + 180.0, 360.0))
    if "clock" in then:
        hands.clock_s[who] = sight.time_s
    if "identify" in then:
        hands.identified[who] = True
