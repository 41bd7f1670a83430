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

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from needlework.basis.errors import OutOfRange
from needlework.basis.quantity import Constant, Floats, within
from needlework.flying import arithmetic, flight, plan, tracklog
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

_WORTH_IT = 13  # flights; as many alone take as long as one ensemble of any size up to a hundred
# Plain floats: in the inner loop a float that carries its unit costs more.
_TWIST_S, _HANDS_STILL_NM, _NM_FT = float(TWIST_S), float(HANDS_STILL_NM), float(NM_FT)
_RAD = np.pi / 180.0
_SIDE = {None: 0, "left": -1, "right": 1}
_FLAG = {"TO": 1, "FROM": -1}
_HEADING, _NEEDLE_1, _NEEDLE_2, _ARC, _TRACK = range(5)
_FOLLOW = {"needle 1": _NEEDLE_1, "needle 2": _NEEDLE_2, "arc": _ARC, "track": _TRACK}


def _wrap(angle: Any) -> Any:
    return (angle + 180.0) % 360.0 - 180.0


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
        self._m = m = arithmetic.of(x_nm)
        self.x_nm, self.y_nm = m.copy(x_nm), m.copy(y_nm)
        self.wind_x_kt, self.wind_y_kt = m.full(x_nm, 0.0), m.full(x_nm, 0.0)
        self.tas_kt = m.full(x_nm, 100.0)
        self.unseen_s = m.full(x_nm, 0.0)
        self._looks_along, self._looks_across = m.full(x_nm, 12.0), m.full(x_nm, 12.0)
        self._twisted_s = [m.full(x_nm, -math.inf), m.full(x_nm, -math.inf)]
        self._before: Sight | None = None
        self._radio, self._air = radio, air
        self.near = m.full(x_nm, False)
        self.full_scale_deg = radio.full_scale_deg

    @property
    def dist_nm(self) -> Floats:
        """Distance over the ground believed. [NM]"""
        return self._m.hypot(self.x_nm, self.y_nm)  # type: ignore[no-any-return]

    @property
    def radial_deg(self) -> Floats:
        """Radial believed. [deg]"""
        return (self._m.arctan2(self.x_nm, self.y_nm) / _RAD) % 360.0  # type: ignore[no-any-return]

    def correction_deg(self, track_deg: Floats, who: Any = slice(None)) -> Floats:
        """Wind correction angle for a track, by the wind believed, for some of the flights. [deg], right positive"""
        m, t = self._m, track_deg * _RAD
        to_right = m.at(self.wind_x_kt, who) * m.cos(t) - m.at(self.wind_y_kt, who) * m.sin(t)
        return -m.arcsin(m.held(to_right / m.at(self.tas_kt, who), -0.9, 0.9)) / _RAD  # type: ignore[no-any-return]

    def ground_speed_kt(self, heading_deg: Floats) -> Floats:
        """Ground speed on a heading, by the wind believed. [kt]"""
        m, h = self._m, heading_deg * _RAD
        x, y = self.tas_kt * m.sin(h) + self.wind_x_kt, self.tas_kt * m.cos(h) + self.wind_y_kt
        return m.hypot(x, y)  # type: ignore[no-any-return]

    def cross_speed_kt(self, heading_deg: Floats, line_rad: Floats, who: Any) -> Floats:
        """Speed across a line, to its right, on a heading, by the wind believed. [kt]"""
        m = self._m
        h, tas = heading_deg * _RAD, m.at(self.tas_kt, who)
        x, y = tas * m.sin(h) + m.at(self.wind_x_kt, who), tas * m.cos(h) + m.at(self.wind_y_kt, who)
        return x * m.cos(line_rad) - y * m.sin(line_rad)  # type: ignore[no-any-return]

    def after_turn_nm(
        self, heading_deg: Floats, new_deg: Floats, rate_deg_s: Floats, who: Any
    ) -> tuple[Floats, Floats]:
        """Where a turn begun now would end, roll-in and wind included. [NM], axes of the station

        Both headings on one running count, so that the turn has its side.
        """
        m = self._m
        turn, tas = new_deg - heading_deg, m.at(self.tas_kt, who)
        side = m.sign(turn)
        radius = tas / (rate_deg_s * _RAD * 3600.0)
        h0, h1 = heading_deg * _RAD, new_deg * _RAD
        sin0, cos0, sin1, cos1 = m.sin(h0), m.cos(h0), m.sin(h1), m.cos(h1)
        # Rolling in and out costs some two seconds of straight flight, half on each heading.
        straight = tas * 1.1 / 3600.0
        hours = (abs(turn) / rate_deg_s + 2.2) / 3600.0
        blown_x, blown_y = m.at(self.wind_x_kt, who) * hours, m.at(self.wind_y_kt, who) * hours
        x = m.at(self.x_nm, who) + side * radius * (cos0 - cos1) + straight * (sin0 + sin1) + blown_x
        y = m.at(self.y_nm, who) + side * radius * (sin1 - sin0) + straight * (cos0 + cos1) + blown_y
        return x, y

    def look(self, sight: Sight) -> None:
        """Move the picture on to this reading of the instruments."""
        m, before = self._m, self._before
        self._before = sight
        self.tas_kt = self._air.tas_kt(sight.ias_kt, sight.alt_ft)
        height_nm = m.maximum(sight.alt_ft - self._radio.elevation_ft, 0.0) / _NM_FT
        if before is not None:
            self._reckon(sight, before)
        if self._radio.has_dme:
            dme = sight.dme_nm
            ground = m.sqrt(m.maximum(dme * dme - height_nm * height_nm, 0.0))
            seen = dme > 1.5 * height_nm
            self.near = dme < m.maximum(1.5 * height_nm, _HANDS_STILL_NM)
        else:
            ground, seen = self.dist_nm, m.full(height_nm, False)
            self.near = (sight.flag_1 == 0) | (self.dist_nm < m.maximum(1.5 * height_nm, 0.7))
        radial, heard = self._heard(sight)
        dist = m.maximum(self.dist_nm, 0.05)
        ux, uy = self.x_nm / dist, self.y_nm / dist
        along = m.where(seen, ground - dist, 0.0)
        across = m.where(heard, m.sin((radial - self.radial_deg) * _RAD) * m.where(seen, ground, dist), 0.0)
        self._looks_along = m.minimum(self._looks_along + seen, 45.0)
        self._looks_across = m.minimum(self._looks_across + heard, m.held(20.0 + 9.0 * dist, 40.0, 200.0))
        a1, b1 = _shares(self._looks_along)
        a2, b2 = _shares(self._looks_across)
        self.x_nm += a1 * along * ux + a2 * across * uy
        self.y_nm += a1 * along * uy - a2 * across * ux
        hour = 3600.0
        self.wind_x_kt += (b1 * along * ux + b2 * across * uy) * hour
        self.wind_y_kt += (b1 * along * uy - b2 * across * ux) * hour
        speed = m.hypot(self.wind_x_kt, self.wind_y_kt)
        held = m.minimum(60.0 / m.maximum(speed, 1.0), 1.0)
        self.wind_x_kt *= held
        self.wind_y_kt *= held
        self.unseen_s = m.where(seen, 0.0, self.unseen_s + (0.0 if before is None else sight.time_s - before.time_s))
        if not self._radio.has_dme and before is not None:
            self._passage(sight, before)

    def _reckon(self, sight: Sight, before: Sight) -> None:
        """Dead reckoning since the reading before."""
        m = self._m
        hours = (sight.time_s - before.time_s) / 3600.0
        h = (before.heading_deg + 0.5 * _wrap(sight.heading_deg - before.heading_deg)) * _RAD
        self.x_nm += (self.tas_kt * m.sin(h) + self.wind_x_kt) * hours
        self.y_nm += (self.tas_kt * m.cos(h) + self.wind_y_kt) * hours
        for i, (now, then) in enumerate(
            ((sight.course_1_deg, before.course_1_deg), (sight.course_2_deg, before.course_2_deg))
        ):
            self._twisted_s[i] = m.where(now != then, sight.time_s, self._twisted_s[i])

    def _heard(self, sight: Sight) -> tuple[Floats, NDArray[np.bool_]]:
        """Radial by whichever needle is alive, needle 1 first."""
        m = self._m
        radial, heard = m.full(self.x_nm, 0.0), m.full(self.x_nm, False)
        for i, (course, needle, flag) in enumerate(
            (
                (sight.course_1_deg, sight.needle_1_deg, sight.flag_1),
                (sight.course_2_deg, sight.needle_2_deg, sight.flag_2),
            )
        ):
            alive = (flag != 0) & (abs(needle) < 0.95 * self._radio.full_scale_deg) & m.no(self.near)
            alive = alive & (sight.time_s - self._twisted_s[i] > _TWIST_S)
            here = m.where(flag == 1, course + 180.0 + needle, course - needle)
            radial = m.where(alive & m.no(heard), here, radial)
            heard = heard | alive
        return radial, heard

    def _passage(self, sight: Sight, before: Sight) -> None:
        """Without DME the moment overhead is the only distance there is, and tells the wind along the way."""
        m = self._m
        passed = (sight.flag_1 == -1) & (before.flag_1 != -1) & (self.unseen_s > 60.0) & (self.dist_nm < 4.0)
        if not m.any(passed):
            return
        hours = self.unseen_s / 3600.0
        self.wind_x_kt = m.where(passed, self.wind_x_kt - self.x_nm / hours, self.wind_x_kt)
        self.wind_y_kt = m.where(passed, self.wind_y_kt - self.y_nm / hours, self.wind_y_kt)
        self.x_nm, self.y_nm = m.where(passed, 0.0, self.x_nm), m.where(passed, 0.0, self.y_nm)
        self.unseen_s = m.where(passed, 0.0, self.unseen_s)


def _shares(looks: Floats) -> tuple[Floats, Floats]:
    """Parts of a difference that go into position and speed when that many looks count, one a second."""
    both = looks * (looks + 1.0)
    return 2.0 * (2.0 * looks - 1.0) / both, 6.0 / both


class _Hands:
    """What is set and asked for, N pilots at once; the only thing the rows change."""

    def __init__(self, state: State) -> None:
        m, like = arithmetic.of(state.heading_deg), state.heading_deg
        self.course_1_deg, self.course_2_deg = m.full(like, 0.0), m.full(like, 0.0)
        self.target_deg = m.copy(state.heading_deg)
        self.ias_kt = m.copy(state.ias_kt)
        self.vs_fpm, self.level_ft = m.full(like, 0.0), m.full(like, math.nan)
        self.gradient_ft_nm = m.full(like, 0.0)
        self.configuration = m.rint(state.configuration)
        self.rate_deg_s = m.full(like, float(STANDARD_RATE_DEG_S))
        self.mode = m.full(like, _HEADING)
        self.track_deg, self.arc_nm, self.side = m.full(like, 0.0), m.full(like, 0.0), m.full(like, 0.0)
        self.most_correction_deg, self.wind_factor = m.full(like, 90.0), m.full(like, 1.0)
        self.identified = m.full(like, False)
        self.clock_s = m.full(like, math.nan)

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
        at_once = arithmetic.exact_flights if len(numbers) >= _WORTH_IT else 1
        for first in range(0, len(numbers), at_once):
            part = numbers[first : first + at_once]
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
    if count == 1:
        state, air, radio = arithmetic.alone(state), arithmetic.alone(air), arithmetic.alone(radio)
        briefed_kt = arithmetic.plainly(briefed_kt)
    m = arithmetic.of(state.heading_deg)
    hands = _Hands(state)
    turned = station.declination_deg * _RAD
    head = Head(
        state.east_nm * math.cos(turned) - state.north_nm * math.sin(turned),
        state.east_nm * math.sin(turned) + state.north_nm * math.cos(turned),
        radio,
        air,
    )
    if briefed_kt is not None:
        head.wind_x_kt, head.wind_y_kt = m.copy(briefed_kt[0]), m.copy(briefed_kt[1])
    watch = _Watch(rows, state.heading_deg, count)
    longest = round(minutes * 60) + 1
    kind = np.float64 if count <= arithmetic.exact_flights else np.float32
    # Pages of memory that are never written cost nothing: flights seldom last the longest time.
    columns = {name: np.empty((longest, count), dtype=kind) for name in FLOATS}
    columns |= {name: np.empty((longest, count), dtype=np.int8) for name in SMALL}
    samples = np.full(count, longest, dtype=np.intp)
    thinks = any("follow" in row.then for row in rows)
    sight: Sight | None = None
    second = 0
    for second in range(longest):
        before = sight
        heard = flight.received_radial_deg(state, radio)
        sight = flight.look(state, radio, air, m.copy(hands.course_1_deg), m.copy(hands.course_2_deg), before, heard)
        if thinks:
            head.look(sight)
        watch.look(_Moment(sight, head, hands, state, aircraft, heard[0]))
        if second == 0:
            # What is set on the ground before the flight shows from its first second.
            sight = flight.look(
                state, radio, air, m.copy(hands.course_1_deg), m.copy(hands.course_2_deg), None, heard
            )
        _steer(hands, head, sight, state, habits)
        for name in FLOATS:
            columns[name][second] = getattr(sight if name not in ("east_nm", "north_nm", "bank_deg") else state, name)
        columns["flag_1"][second], columns["flag_2"][second] = sight.flag_1, sight.flag_2
        columns["configuration"][second] = m.floor(state.configuration + 1e-6)
        columns["identified"][second] = hands.identified
        ended = watch.ended & (samples == longest)
        samples[ended] = second + 1
        if m.all(watch.ended):
            break
        order = hands.command()
        state = flight.advance(state, order, air, aircraft, 1.0)
    kept = {name: column[: second + 1] for name, column in columns.items()}
    return Flights(station, kept, np.minimum(samples, second + 1), watch.fired_s, tuple(rows))


def _steer(hands: _Hands, head: Head, sight: Sight, state: State, habits: Habits) -> None:
    """Turn what is followed (needle, arc, track) into a heading; held headings stay as they are."""
    m = arithmetic.of(state.heading_deg)
    slope = hands.gradient_ft_nm
    if m.any(slope):
        rate = m.held(head.ground_speed_kt(sight.heading_deg) * slope / 60.0, 200.0, 950.0)
        hands.vs_fpm = m.where(slope > 0.0, rate, hands.vs_fpm)
    mode = hands.mode
    if not m.any(mode):
        return
    track = hands.track_deg
    cut = m.full(track, 0.0)
    needles = (mode == _NEEDLE_1) | (mode == _NEEDLE_2)
    if m.any(needles):
        second = mode == _NEEDLE_2
        course = m.where(second, hands.course_2_deg, hands.course_1_deg)
        needle = m.where(second, sight.needle_2_deg, sight.needle_1_deg)
        flag = m.where(second, sight.flag_2, sight.flag_1)
        track = m.where(needles, course, track)
        # Far away the needle is slow and takes a firm cut, near the station a small one.
        pace_nm_s = head.tas_kt / 3600.0
        gain = m.held(head.dist_nm / (pace_nm_s * 28.0), 0.8, habits.needle_gain)
        wanted = m.held(gain * needle, -habits.cut_deg, habits.cut_deg)
        pinned = abs(needle) >= 0.97 * head.full_scale_deg
        wanted = m.where(pinned, m.sign(needle) * max(PINNED_CUT_DEG, habits.cut_deg), wanted)
        if habits.chases:
            wanted = m.where(head.near, m.held(10.0 * needle, -45.0, 45.0), wanted)
        else:
            wanted = m.where(head.near | (flag == 0), 0.0, wanted)
        cut = m.where(needles, wanted, cut)
    arcs = mode == _ARC
    if m.any(arcs):
        off_nm = head.dist_nm - hands.arc_nm
        cut = m.where(arcs, m.held(40.0 * off_nm, -habits.cut_deg, habits.cut_deg) * hands.side, cut)
    most = hands.most_correction_deg
    wind = m.held(head.correction_deg(track + cut) * hands.wind_factor * habits.wind_share, -most, most)
    heading = flight.aim(state.heading_deg, track + cut + wind)
    hands.target_deg = m.where(mode == _HEADING, hands.target_deg, heading)


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

    def __init__(self, rows: Sequence[Row], like: Any, count: int) -> None:
        self._m = m = arithmetic.of(like)
        alone = m is arithmetic.One
        self.rows = [
            Row(arithmetic.plainly(row.when), {key: arithmetic.plainly(value) for key, value in row.then.items()})
            if alone
            else row
            for row in rows
        ]
        self.at: Any = 0 if alone else np.zeros(count, dtype=np.intp)
        self.since_s = m.full(like, 0.0)
        # For each condition of the row a flight waits for: the side it was on when the row came up.
        self.mark = [m.full(like, math.nan) for _ in range(max(len(row.when) for row in rows))]
        self.fired_s = np.full((len(rows), count), np.nan)
        self.ended = m.full(like, False)

    def _waiting(self) -> list[tuple[int, Any]]:
        """Give the rows that are waited for, each with the flights that do."""
        if self._m is arithmetic.One:
            return [] if self.ended else [(self.at, 0)]
        at = np.where(self.ended, -1, self.at)
        waited_for = np.flatnonzero(np.bincount(at + 1, minlength=len(self.rows) + 1)[1:])
        return [(int(number), np.flatnonzero(at == number)) for number in waited_for]

    def look(self, moment: _Moment) -> None:
        """Do every row whose time has come; at most a few in the same second."""
        m = self._m
        for _ in range(6):
            done = False
            for number, here in self._waiting():
                ready: Any = True
                for place, (kind, value) in enumerate(self.rows[number].when):
                    ready = self._holds(place, kind, m.at(value, here), here, moment) & ready
                who = m.those(here, ready)
                if who is not None:
                    done = True
                    self._do(number, who, moment)
            if not done:
                return

    def _do(self, number: int, who: Any, moment: _Moment) -> None:
        m, row, mine = self._m, self.rows[number], vars(self)
        _act(m, {key: m.at(value, who) for key, value in row.then.items()}, who, moment)
        self.fired_s[number, who] = moment.sight.time_s
        m.put(mine, "since_s", who, moment.sight.time_s)
        for place in range(len(self.mark)):
            m.put(self.mark, place, who, math.nan)
        if "end" in row.then or number + 1 == len(self.rows):
            m.put(mine, "ended", who, True)
        else:
            m.put(mine, "at", who, number + 1)

    def _crossed(self, place: int, here: Any, off: Any, near: float = 0.0, counts: Any = True) -> Any:
        """True where a quantity has come to nought, or gone through it, since the row came up.

        Where it does not count, it is not looked at.
        """
        m = self._m
        mark, side = m.at(self.mark[place], here), m.sign(off)
        mark = m.where(m.isnan(mark) & counts, side, mark)
        m.put(self.mark, place, here, mark)
        return ((abs(off) <= near) | (side != mark)) & counts

    def _holds(self, place: int, kind: str, value: Any, here: Any, moment: _Moment) -> Any:
        """Say for which of the flights a condition holds."""
        m, at = self._m, self._m.at
        sight, head = moment.sight, moment.head
        if kind in _SIMPLE:
            return _SIMPLE[kind](m, value, here, moment)
        if kind in ("after_s", "clock_s"):
            since_s = self.since_s if kind == "after_s" else moment.hands.clock_s
            return sight.time_s - at(since_s, here) >= value
        if kind in ("needle_centres", "needle_alive"):
            needle = at(sight.needle_1_deg if value == 1 else sight.needle_2_deg, here)
            flag = at(sight.flag_1 if value == 1 else sight.flag_2, here)
            # Just after a twist the needle is on its way: look when it has settled.
            settled = (sight.time_s - at(self.since_s, here) >= _TWIST_S) & (flag != 0)
            if kind == "needle_alive":
                return settled & (abs(needle) < 0.95 * head.full_scale_deg)
            return self._crossed(place, here, needle, 0.3, settled)
        if kind == "next_radial":
            # Centred, or already on the far side: then the radial lies behind.
            far_side = at(sight.needle_2_deg, here) * value <= 0.3
            settled = sight.time_s - at(self.since_s, here) >= _TWIST_S
            return settled & (at(sight.flag_2, here) != 0) & far_side
        if kind == "radial_reaches_deg":
            off = _wrap(at(moment.radial_deg, here) - value)
            return self._crossed(place, here, off) & (abs(off) < 60.0)
        if kind == "abeam":
            off = m.cos((at(moment.radial_deg, here) + 180.0 - at(sight.heading_deg, here)) * _RAD)
            return self._crossed(place, here, off)
        if kind == "dme_reaches_nm":
            return self._crossed(place, here, at(sight.dme_nm, here) - value, 1e-6)
        if kind == "alt_reaches_ft":
            return self._crossed(place, here, at(sight.alt_ft, here) - value, 10.0)
        if kind == "course_lead_or_dme":
            course, most_nm = value
            far = at(sight.dme_nm, here) >= most_nm
            return self._course_is_due(place, False, course, here, moment) | far
        assert kind in ("course_lead", "course_late"), kind
        return self._course_is_due(place, kind == "course_late", value, here, moment)

    def _course_is_due(self, place: int, late: bool, course: Any, here: Any, moment: _Moment) -> Any:
        """Say whether a turn begun now rolls out on a course, or (late) the needle has gone through."""
        m, head, hands = self._m, moment.head, moment.hands
        c = course * _RAD
        off_nm = m.at(head.x_nm, here) * m.cos(c) - m.at(head.y_nm, here) * m.sin(c)
        if late:
            away = abs(off_nm) > m.at(head.dist_nm, here) * math.sin(3.0 * _RAD)
            return self._crossed(place, here, off_nm) & away
        now = m.at(moment.state.heading_deg, here)
        new = flight.aim(now, course + head.correction_deg(course, here))
        x, y = head.after_turn_nm(now, new, m.at(hands.rate_deg_s, here), here)
        then_nm = x * m.cos(c) - y * m.sin(c)
        # Blown through the line before the turn was over: it is behind, so turn at once.
        drift_kt = head.cross_speed_kt(now, c, here)
        return (off_nm * then_nm <= 0.0) | (off_nm * drift_kt > 0.0)


def _arc_is_due(m: Any, value: Any, here: Any, moment: _Moment) -> Any:
    """Say whether a turn begun now, to this side of the station, rolls out on the arc."""
    arc_nm, side = value
    head, now = moment.head, m.at(moment.state.heading_deg, here)
    tangent = m.at(head.radial_deg, here) + 90.0 * side
    new = flight.aim(now, tangent + head.correction_deg(tangent, here))
    x, y = head.after_turn_nm(now, new, m.at(moment.hands.rate_deg_s, here), here)
    return (m.at(head.dist_nm, here) < arc_nm) != (m.hypot(x, y) < arc_nm)


def _has_room(m: Any, value: Any, here: Any, moment: _Moment) -> Any:
    """Say whether a turn back begun now ends far enough from the line to be led onto it."""
    course, back, turn = value
    head, now = moment.head, m.at(moment.state.heading_deg, here)
    x, y = head.after_turn_nm(now, flight.aim(now, back, _SIDE[turn]), m.at(moment.hands.rate_deg_s, here), here)
    east, north = m.cos(course * _RAD), m.sin(course * _RAD)
    off_nm = m.at(head.x_nm, here) * east - m.at(head.y_nm, here) * north
    return (x * east - y * north) * m.sign(off_nm) >= ROOM_NM


def _flag_shows(m: Any, flag: Any, course: Any, set_deg: Any, value: Any, here: Any) -> Any:
    """Say where a flag shows a word: it answers for the course it was read with, not for one set this very second."""
    return (m.at(flag, here) == _FLAG[value]) & (m.at(course, here) == m.at(set_deg, here))


# What needs no more than a look: from arithmetic, value, flights and moment, for which of the flights it holds.
_SIMPLE: dict[str, Callable[[Any, Any, Any, _Moment], Any]] = {
    "dme_falls_to_nm": lambda m, value, here, now: m.at(now.sight.dme_nm, here) <= value + 1e-6,
    "dme_rises_to_nm": lambda m, value, here, now: m.at(now.sight.dme_nm, here) >= value - 1e-6,
    "alt_above_ft": lambda m, value, here, now: m.at(now.sight.alt_ft, here) >= value,
    "flag_1": lambda m, value, here, now: _flag_shows(
        m, now.sight.flag_1, now.sight.course_1_deg, now.hands.course_1_deg, value, here
    ),
    "flag_2": lambda m, value, here, now: _flag_shows(
        m, now.sight.flag_2, now.sight.course_2_deg, now.hands.course_2_deg, value, here
    ),
    "off_arc_nm": lambda m, value, here, now: abs(m.at(now.sight.dme_nm - now.hands.arc_nm, here)) >= value,
    "reckoned_nm": lambda m, value, here, now: m.at(now.head.dist_nm, here) >= value,
    "needle_within_deg": lambda m, value, here, now: (
        abs(m.at(now.sight.needle_1_deg if value[0] == 1 else now.sight.needle_2_deg, here)) <= value[1]
    ),
    "heading_reached": lambda m, _value, here, now: (
        abs(m.at(now.hands.target_deg, here) - m.at(now.state.heading_deg, here)) < 3.0
    ),
    "arc_lead": _arc_is_due,
    "room_nm": _has_room,
}


def _act(m: Any, then: Mapping[str, Any], who: Any, moment: _Moment) -> None:
    """Do what one row says, for some of the flights."""
    hands, sight = moment.hands, moment.sight
    held = vars(hands)
    for name in ("course_1_deg", "course_2_deg", "ias_kt", "configuration", "gradient_ft_nm"):
        if name in then:
            m.put(held, name, who, then[name])
    if "rate" in then:
        rate = HALF_RATE_DEG_S if then["rate"] == "half" else STANDARD_RATE_DEG_S
        m.put(held, "rate_deg_s", who, float(rate))
    elif "heading_deg" in then or "follow" in then:
        m.put(held, "rate_deg_s", who, float(STANDARD_RATE_DEG_S))
    if "heading_deg" in then:
        now = m.at(moment.state.heading_deg, who)
        m.put(held, "target_deg", who, flight.aim(now, then["heading_deg"], _SIDE[then.get("turn")]))
        m.put(held, "mode", who, _HEADING)
    if "follow" in then:
        m.put(held, "mode", who, _FOLLOW[then["follow"]])
        m.put(held, "most_correction_deg", who, then.get("most_correction_deg", 90.0))
        m.put(held, "wind_factor", who, then.get("wind_factor", 1.0))
        for name in ("track_deg", "arc_nm", "side"):
            if name in then:
                m.put(held, name, who, then[name])
    if "vs_fpm" in then:
        m.put(held, "vs_fpm", who, then["vs_fpm"])
        m.put(held, "level_ft", who, math.nan)
    if "level_ft" in then:
        above_ft = then["level_ft"] - m.at(sight.alt_ft, who)
        up = above_ft > 0.0
        if "vs_fpm" not in then:
            m.put(held, "vs_fpm", who, m.where(up, moment.aircraft.climb_fpm, moment.aircraft.descent_fpm))
        # Told to go down to something above, an aircraft goes down.
        wrong_way = (m.sign(m.at(hands.vs_fpm, who)) == m.where(up, -1.0, 1.0)) & ("vs_fpm" in then)
        far = abs(above_ft) > 100.0
        m.put(held, "level_ft", who, m.where(wrong_way & far, math.nan, then["level_ft"]))
    if "vs_fpm" in then or ("level_ft" in then and "gradient_ft_nm" not in then):
        m.put(held, "gradient_ft_nm", who, 0.0)
    if "direct" in then:
        # The selector is turned until the needle centres with TO.
        m.put(held, "course_1_deg", who, m.rint((m.at(moment.radial_deg, who) + 180.0) % 360.0))
    if "clock" in then:
        m.put(held, "clock_s", who, sight.time_s)
    if "identify" in then:
        m.put(held, "identified", who, True)
