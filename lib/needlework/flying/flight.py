"""A kinematic aircraft in moving air, and the instruments its pilot sees.

Everything is a struct of arrays: N flights advance at once, and one flight is simply N = 1. The
same :func:`step` serves the live panel, a single flight and an ensemble. For long work on one flight
:func:`needlework.flying.arithmetic.alone` turns the arrays of :class:`State`, :class:`Command`,
:class:`Air` and :class:`Radio` into plain numbers; the same functions take and give either, the same to
the last digit, and are some twenty times faster with plain numbers.

Axes. A position is the pair (east, north) in nautical miles on a plane laid round the station:
the distance and the direction from the station are those of the geodesic on WGS84 ("azimuthal
equidistant"), so the radial and the ground distance of a position are those on the earth. Moving on
it is not without error: what is left out is the small stretch of cross-station distances, less than
0.003 % within 40 NM; the turning of true north between station and aircraft (0.5 degree at 40 NM in
these latitudes) is put in, by two terms of its series. Against the geodesic, half an hour at 140 kt
in any direction, begun within 36 NM of the station, ends within 0.02 NM up to latitude 45, within
0.04 NM at 60 and 0.1 NM at 75.

Equations, in continuous form (this is what the tests give to an outside solver)::

    bank'    = clip((wanted bank - bank) / ROLL_LAG_S, +-roll rate)
    heading' = g tan(bank) / TAS
    ias'     = clip((wanted IAS - ias) / SPEED_LAG_S, -braking, +acceleration)
    vs'      = (wanted VS - vs) / vs_lag
    alt'     = vs
    position' = TAS along the heading + wind at this height and time

The wanted bank is the bank for the commanded rate of turn, at most the aircraft's bank limit,
falling as the square root of the angle still to turn, so that the roll-out begins between a third
and a half of the bank ahead. The wanted vertical speed towards a level falls in proportion to the
height still to go. One step of 0.5 s (the default of :func:`advance`) is of second order: after
a flight of 20 minutes it lies within 0.01 NM of the exact solution.

Not modelled: slip, stall, engine, weight, air coming down or going up, and gusts on the airspeed
indicator. It is an aircraft for learning navigation, not for learning to fly.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from needlework.basis.errors import OutOfRange
from needlework.basis.quantity import Constant, Floats, within
from needlework.flying import arithmetic
from needlework.trade import magnetic
from needlework.trade.turns import GRAVITY_M_S2, STANDARD_RATE_DEG_S
from needlework.trade.units import NM_FT
from needlework.trade.vor import CONE_HALF_ANGLE_DEG, FULL_SCALE_DEG, NEEDLE_LAG_S, SCALLOPING_DEG
from needlework.trade.wind import WIND_MAX_KT
from needlework.world.aircraft import Aircraft
from needlework.world.procedure_parts import Station
from needlework.world.weather import GUST_WEIGHTS, Day

ROLL_LAG_S = Constant(0.25, "s", "common-practice", "time constant of the hand on the ailerons")
SPEED_LAG_S = Constant(2.0, "s", "common-practice", "how gently a speed is captured")
CAPTURE_S = Constant(12.0, "s", "common-practice", "level-off begins this many seconds early")
TRAVEL_S = Constant(4.0, "s", "common-practice", "time for one step of flap or gear")
STEP_S = Constant(0.5, "s", "common-practice", "longest step of the integration")
GUST_DEPTH_FT = Constant(3000.0, "ft", "common-practice", "gusts fade over this height where one wind holds at all")
LAPSE_C_FT = Constant(0.0019812, "C/ft", "ISA", "temperature falls with height by this much")
FT_PER_HPA = Constant(27.3, "ft/hPa", "ISA", "at sea level")
THIS_YEAR = Constant(2026.9, "year", "scenario", "when the course's variations were worked out")
MAX_FLIGHTS = Constant(1_000_000, "1", "common-practice", "what fits a desk computer")

# Plain floats: in the inner loop a float that carries its unit costs more.
_TRAVEL_S = float(TRAVEL_S)
_STEP_S, _GUST_DEPTH_FT, _NM_FT = float(STEP_S), float(GUST_DEPTH_FT), float(NM_FT)
# State, command and sight are made every second and never changed; to freeze them would take a tenth of the time.
_PER_CAPTURE = 60.0 / CAPTURE_S
_G_KT_S = GRAVITY_M_S2 / 1852.0 * 3600.0
_RAD, _DEG = math.pi / 180.0, 180.0 / math.pi
# Least squares: what each height gives to each coefficient of a cubic.
_FITTED_FT = np.linspace(-2000.0, 20000.0, 45)
_FIT = np.linalg.pinv(np.polynomial.polynomial.polyvander(_FITTED_FT * 1e-4, 3))


@dataclass(slots=True)
class State:
    """Where N aircraft are and what they do; every field but the time is an array of shape (N,).

    ``east_nm``, ``north_nm``: true axes round the station. ``alt_ft``: true height above mean sea
    level. ``heading_deg``: magnetic, running on past 360 and below 0 so that a turn has a side.
    ``bank_deg``: right positive. ``configuration``: 0 clean, then one per step, between two whole
    numbers while flap or gear travels.
    """

    time_s: float
    east_nm: Floats
    north_nm: Floats
    alt_ft: Floats
    heading_deg: Floats
    bank_deg: Floats
    ias_kt: Floats
    vs_fpm: Floats
    configuration: Floats

    def __len__(self) -> int:
        return np.size(self.east_nm)


@dataclass(slots=True)
class Command:
    """What the hands ask for; arrays of shape (N,) or (1,).

    ``heading_deg``: magnetic, on the running count of :class:`State` (make it with :func:`aim`).
    ``level_ft``: altitude to stop at, by the altimeter, nan for none; then ``vs_fpm`` is the size
    of the climb or descent to it, else the vertical speed itself, up positive. ``rate_deg_s``: rate
    of turn, 3 for standard.
    """

    heading_deg: Floats
    ias_kt: Floats
    vs_fpm: Floats
    level_ft: Floats
    configuration: Floats
    rate_deg_s: Floats


def _row(value: ArrayLike) -> Floats:
    return np.atleast_1d(np.asarray(value, dtype=np.float64))


def start(
    east_nm: ArrayLike,
    north_nm: ArrayLike,
    alt_ft: ArrayLike,
    heading_deg: ArrayLike,
    ias_kt: ArrayLike,
    configuration: ArrayLike = 0.0,
    time_s: float = 0.0,
) -> State:
    """Wings level, at a height and a speed: the first :class:`State` of N flights (shapes broadcast)."""
    given = (
        within("east_nm", east_nm, -300.0, 300.0, "NM", "is this a distance in km or m?"),
        within("north_nm", north_nm, -300.0, 300.0, "NM", "is this a distance in km or m?"),
        within("alt_ft", alt_ft, -1500.0, 20000.0, "ft"),
        within("heading_deg", heading_deg, -3600.0, 3600.0, "deg"),
        within("ias_kt", ias_kt, 30.0, 300.0, "kt", "is this a speed in m/s?"),
        within("configuration", configuration, 0.0, 9.0, ""),
    )
    shared = np.broadcast_arrays(*(np.atleast_1d(g) for g in given))
    if shared[0].size > MAX_FLIGHTS:
        raise OutOfRange(f"{shared[0].size} flights at once are too many: at most {int(MAX_FLIGHTS):,}")
    east, north, alt, heading, ias, config = (np.array(a, dtype=np.float64).reshape(-1) for a in shared)
    nothing = np.zeros_like(east)
    return State(time_s, east, north, alt, heading, nothing, ias, nothing, config)


def aim(heading_now_deg: Any, heading_deg: Any, side: Any = 0) -> Any:
    """Put a heading on the running count of the heading flown now, the short way or by a given side.

    ``side``: +1 for a right turn, -1 for a left turn, 0 for the shorter. Numbers, or arrays that broadcast. [deg]
    """
    m = arithmetic.of(heading_now_deg)
    right = (heading_deg - heading_now_deg) % 360.0
    left_way = (side < 0) | ((side == 0) & (right > 180.0))
    return m.where(left_way & (right > 0.0), right - 360.0, right) + heading_now_deg


def steady(state: State) -> Command:
    """Return the command that keeps an aircraft as it is: heading, speed, level, configuration."""
    return Command(
        state.heading_deg,
        state.ias_kt,
        np.zeros_like(state.ias_kt),
        np.full_like(state.ias_kt, np.nan),
        np.round(state.configuration),
        np.full_like(state.ias_kt, STANDARD_RATE_DEG_S),
    )


@dataclass(frozen=True, slots=True)
class Air:
    """The air flown in and the compass in it: wind by height, gusts, density, altimeter, variation.

    Make it with :func:`air` or :func:`air_over`. ``from_deg_true`` and ``speed_kt`` are the wind at the lowest
    height, of shape (N,) or (1,); ``layers`` go up from there, for each the height where it begins, its depth, and
    by how much direction and speed change in it. Gust waves have the shape (waves, N) or (waves, 1).
    """

    from_deg_true: Floats
    speed_kt: Floats
    layers: tuple[tuple[float, float, Floats, Floats], ...]
    gust_top_ft: float
    gust_depth_ft: float
    gust_kt: Floats
    gust_periods_s: Floats
    gust_phases: Floats
    tas_factors: Floats
    variation_deg: float
    lat_deg: float
    altimeter_datum_ft: float
    altimeter_scale: Floats
    altimeter_offset_ft: Floats

    def wind_kt(self, alt_ft: Floats, time_s: float) -> tuple[Floats, Floats]:
        """East and north component of the moving air (where it goes), gusts included. [kt], shape (N,)

        The same wind as :meth:`needlework.world.weather.Wind.east_north_kt`, for N flights in N winds.
        """
        return self._wind_kt(arithmetic.of(alt_ft), alt_ft, time_s)

    def _wind_kt(self, m: Any, alt_ft: Any, time_s: float) -> tuple[Any, Any]:
        direction, speed = self.from_deg_true, self.speed_kt
        held = m.held
        for low_ft, depth_ft, turn_deg, change_kt in self.layers:
            share = held((alt_ft - low_ft) / depth_ft, 0.0, 1.0)
            direction = direction + share * turn_deg
            speed = speed + share * change_kt
        if len(self.gust_periods_s):
            shape: Any = 0.0
            for weight, period_s, phase in zip(GUST_WEIGHTS, self.gust_periods_s, self.gust_phases, strict=True):
                shape = shape + weight * m.sin(2.0 * np.pi * time_s / period_s + phase)
            fade = held((self.gust_top_ft - alt_ft) / self.gust_depth_ft, 0.0, 1.0)
            speed = m.maximum(speed + self.gust_kt * fade * shape, 0.0)
        angle = direction * _RAD
        return -speed * m.sin(angle), -speed * m.cos(angle)

    def tas_kt(self, ias_kt: Floats, alt_ft: Floats) -> Floats:
        """True airspeed for an indicated airspeed at a height. [kt]"""
        c = self.tas_factors
        h = alt_ft * 1e-4
        factor: Floats = c[0] + h * (c[1] + h * (c[2] + h * c[3]))
        return ias_kt * factor

    def indicated_ft(self, alt_ft: Floats) -> Floats:
        """What the altimeter shows at a true height. [ft]"""
        datum = self.altimeter_datum_ft
        return datum + (alt_ft - datum) * self.altimeter_scale + self.altimeter_offset_ft

    def true_ft(self, indicated_ft: Floats) -> Floats:
        """Give the true height at which the altimeter shows this. [ft]"""
        datum = self.altimeter_datum_ft
        return datum + (indicated_ft - self.altimeter_offset_ft - datum) / self.altimeter_scale


def air(
    heights_ft: ArrayLike = (0.0,),
    from_deg_true: ArrayLike = (0.0,),
    speed_kt: ArrayLike = (0.0,),
    *,
    gust_kt: ArrayLike | None = None,
    gust_periods_s: ArrayLike = (),
    gust_phases: ArrayLike = (),
    temperature_c: ArrayLike = 15.0,
    field_ft: float = 0.0,
    setting_hpa: ArrayLike = 1013.25,
    set_hpa: ArrayLike | None = None,
    variation_deg: float = 0.0,
    lat_deg: float = 0.0,
) -> Air:
    """Describe the air: a wind at each of some heights, gusts, temperature, pressure, variation.

    ``from_deg_true`` and ``speed_kt`` have the shape of ``heights_ft`` (one profile for all) or
    (levels, N). Between two heights direction (the short way round) and speed change evenly;
    outside them the nearest holds. ``gust_kt`` is the peak of the gusts at the lowest height; its
    waves have a period and a phase each, shape (waves,) or (waves, N). ``temperature_c``: at the
    field. ``set_hpa`` is what the pilot has set, when it is not the local ``setting_hpa``.
    ``variation_deg``: today's, east positive. In air that is not standard the altimeter and the
    airspeed indicator read as they would.
    """
    heights = within("heights_ft", heights_ft, -1500.0, 60000.0, "ft").reshape(-1)
    if not len(heights) or (np.diff(heights) <= 0).any():
        raise OutOfRange("heights_ft must rise from each level of the wind to the next: put the lowest first")
    directions = within("from_deg_true", from_deg_true, -360.0, 720.0, "deg")
    speeds = within("speed_kt", speed_kt, 0.0, WIND_MAX_KT, "kt", "is this a wind in km/h?")
    levels = []
    for name, value in (("from_deg_true", directions), ("speed_kt", speeds)):
        table = value.reshape(len(value), -1) if value.ndim else value.reshape(1, 1)
        if len(table) != len(heights):
            raise OutOfRange(
                f"{name} has {len(table)} levels where heights_ft has {len(heights)}: give one per height"
            )
        levels.append(table)
    peak = np.zeros(1) if gust_kt is None else _row(within("gust_kt", gust_kt, 0.0, WIND_MAX_KT, "kt"))
    periods = np.asarray(gust_periods_s, dtype=np.float64)
    phases = np.asarray(gust_phases, dtype=np.float64)
    if periods.ndim < 2:
        periods, phases = periods.reshape(-1, 1), phases.reshape(-1, 1)
    temperature = _row(within("temperature_c", temperature_c, -60.0, 55.0, "C"))
    field = float(within("field_ft", field_ft, -1500.0, 15000.0, "ft"))
    setting = _row(within("setting_hpa", setting_hpa, 900.0, 1090.0, "hPa", "is this in inHg?"))
    chosen = (
        setting if set_hpa is None else _row(within("set_hpa", set_hpa, 900.0, 1090.0, "hPa", "is this in inHg?"))
    )
    variation = float(within("variation_deg", variation_deg, -90.0, 90.0, "deg"))
    latitude = float(within("lat_deg", lat_deg, -85.0, 85.0, "deg"))
    directions, speeds = np.unwrap(levels[0], axis=0, period=360.0), levels[1]
    lows_ft, depths_ft = map(float, heights[:-1]), map(float, np.diff(heights))
    layers = tuple(zip(lows_ft, depths_ft, np.diff(directions, axis=0), np.diff(speeds, axis=0), strict=True))
    top_ft = float(heights[1]) if len(heights) > 1 else float(heights[0]) + _GUST_DEPTH_FT
    return Air(
        directions[0],
        speeds[0],
        layers,
        top_ft,
        top_ft - float(heights[0]),
        np.maximum(peak - speeds[0], 0.0),
        periods,
        phases,
        _tas_factors(temperature, field, setting),
        variation,
        latitude,
        field,
        (288.15 - LAPSE_C_FT * field) / (temperature + 273.15),
        (chosen - setting) * FT_PER_HPA,
    )


def _tas_factors(temperature_c: Floats, field_ft: float, setting_hpa: Floats) -> Floats:
    """Polynomial in tens of thousands of feet for TAS / IAS, one column per flight: root of the density."""
    heights = _FITTED_FT[:, None]
    kelvin = temperature_c + 273.15 - LAPSE_C_FT * (heights - field_ft)
    pressure_alt = heights + (1013.25 - setting_hpa) * FT_PER_HPA
    pressure_ratio = (1.0 - 6.8755856e-6 * pressure_alt) ** 5.2558797
    factor = np.sqrt(kelvin / 288.15 / pressure_ratio)
    # Height by height: the sum comes out the same for one flight and for many.
    fitted = np.zeros((len(_FIT), factor.shape[1]))
    for share, level in zip(_FIT.T[:, :, None], factor, strict=True):
        fitted += share * level
    return fitted


def air_over(
    station: Station,
    days: Day | Sequence[Day],
    year: ArrayLike | date = THIS_YEAR,
    *,
    field_ft: float | None = None,
    set_hpa: float | None = None,
) -> Air:
    """Give the air of a day over a station, or that of N days for N flights; the pilot sets what he is told.

    ``year``: a date or a decimal year, for the variation. ``field_ft``: where the day's temperature was
    taken; the lowest height of its wind when left out. ``set_hpa``: an altimeter setting that is not the day's.
    """
    chosen = [days] if isinstance(days, Day) else list(days)
    winds = [day.wind for day in chosen]
    if len({wind.heights_ft for wind in winds}) != 1:
        raise OutOfRange("the winds of an ensemble must stand at the same heights: draw them for the same field")
    waves = np.array([wind.gust_waves for wind in winds]).T if any(wind.gust_kt for wind in winds) else None
    return air(
        winds[0].heights_ft,
        np.array([wind.unwound_deg for wind in winds]).T % 360.0,
        np.array([wind.speed_kt for wind in winds]).T,
        gust_kt=[wind.gust_kt or 0.0 for wind in winds],
        gust_periods_s=() if waves is None else waves[0],
        gust_phases=() if waves is None else waves[1],
        temperature_c=[day.temperature_c for day in chosen],
        field_ft=winds[0].heights_ft[0] if field_ft is None else field_ft,
        setting_hpa=[day.setting_hpa for day in chosen],
        set_hpa=set_hpa,
        variation_deg=float(
            magnetic.variation_deg(
                lat_deg=station.lat_deg, lon_deg=station.lon_deg, alt_ft=station.elevation_ft, decimal_year=year
            )
        ),
        lat_deg=station.lat_deg,
    )


def step(state: State, command: Command, air: Air, aircraft: Aircraft, dt_s: float) -> State:
    """Advance N flights by one step of at most half a second (longer steps lose accuracy, not sense).

    No argument is checked and none is changed: this is the inner loop.
    """
    return _stepped(state, command, air, aircraft, dt_s, 1)


def advance(state: State, command: Command, air: Air, aircraft: Aircraft, seconds: float) -> State:
    """Advance by any time under one command, in steps of at most :data:`STEP_S`."""
    count = math.ceil(seconds / _STEP_S - 1e-9) or 1
    return _stepped(state, command, air, aircraft, seconds / count, count)


@lru_cache(maxsize=256)
def _same_in_every_step(
    dt_s: float, roll_deg_s: float, acceleration_kt_s: float, lag_s: float, lat_deg: float
) -> tuple[float, ...]:
    """What a step of a length takes from aircraft and place, in the order in which the step names it."""
    roll = 1.6 * roll_deg_s * _RAD
    # Where root and line of the roll-out meet, the line is as steep as the roll lag can follow without swinging.
    joint = 4.0 * roll * ROLL_LAG_S
    lag_s = max(lag_s, 0.01)
    fade = math.exp(-dt_s / lag_s)
    slope = math.tan(lat_deg * _RAD)
    return (
        dt_s / 120.0,
        dt_s / 3600.0,
        _RAD / 60.0,
        roll,
        joint,
        joint * joint,
        1.0 - math.exp(-dt_s / ROLL_LAG_S),
        roll_deg_s * dt_s,
        1.0 - math.exp(-dt_s / SPEED_LAG_S),
        acceleration_kt_s * dt_s,
        fade,
        lag_s * (1.0 - fade),
        slope,
        0.5 + slope * slope,
    )


def _stepped(state: State, command: Command, air: Air, aircraft: Aircraft, dt_s: float, steps: int) -> State:
    """Advance by some steps under one command; what is the same in all of them is worked out once."""
    m = arithmetic.of(state.heading_deg)
    held, minimum, where, isnan, any_of, copysign, sqrt, sin, cos, tan, arctan = m.INNER
    c0, c1, c2, c3 = air.tas_factors
    wind_kt, variation_deg = air._wind_kt, air.variation_deg
    datum_ft, scale, offset_ft = air.altimeter_datum_ft, air.altimeter_scale, air.altimeter_offset_ft
    time_s, east_nm, north_nm, alt_ft = state.time_s, state.east_nm, state.north_nm, state.alt_ft
    heading_deg, bank_deg, ias_kt, vs_fpm = state.heading_deg, state.bank_deg, state.ias_kt, state.vs_fpm
    configuration, wanted, level_ft = state.configuration, command.configuration, command.level_ft
    target_deg, wanted_kt = command.heading_deg, command.ias_kt
    rad, deg, half_s = _RAD, _DEG, 0.5 * dt_s
    half_min, hours, rad_nm, roll, joint, joint_squared, hand, reach, ease, push, fade, lagging_s, slope, bend = (
        _same_in_every_step(
            dt_s, aircraft.roll_rate_deg_s, aircraft.acceleration_kt_s, aircraft.vertical_lag_s, air.lat_deg
        )
    )
    turn_rad_s, bank_limit_deg = command.rate_deg_s * rad, aircraft.bank_limit_deg
    size, climb_fpm = abs(command.vs_fpm), aircraft.climb_fpm
    up_fpm, free_fpm = minimum(size, climb_fpm), minimum(command.vs_fpm, climb_fpm)
    for _ in range(steps):
        h = alt_ft * 1e-4
        faster = c0 + h * (c1 + h * (c2 + h * c3))  # TAS over IAS
        pull = _G_KT_S / (ias_kt * faster)  # rad/s per unit of tan(bank)

        # Bank: where the heading will be half a step from now decides, which makes the step second order. The bank
        # that just allows a roll-out there: root far out, straight line near. Rolling out of bank b at roll rate p
        # turns through pull * b^2 / 2p; a fifth is kept in hand.
        to_go = (target_deg - heading_deg) * rad - half_s * pull * tan(bank_deg * rad)
        squared = abs(to_go) * roll / pull
        aimed = copysign(where(squared < joint_squared, squared / joint, sqrt(squared)), to_go) * deg
        most = minimum(arctan(turn_rad_s / pull) * deg, bank_limit_deg)
        bank = bank_deg + held((held(aimed, -most, most) - bank_deg) * hand, -reach, reach)
        heading = heading_deg + pull * tan(0.5 * (bank_deg + bank) * rad) * dt_s * deg

        # Speed: drag of flap and gear helps to slow down and hinders the other way.
        drag = 0.15 * configuration
        ias = ias_kt + held((wanted_kt - ias_kt) * ease, -push * (1.0 + drag), push * (1.0 - drag))

        # Vertical speed: first-order lag, exact over the step; the altitude gets its integral.
        shown_ft = datum_ft + (alt_ft + vs_fpm * half_min - datum_ft) * scale + offset_ft
        gap = (level_ft - shown_ft) * _PER_CAPTURE
        vs_wanted = where(isnan(gap), free_fpm, held(gap, -size, up_fpm))
        over_fpm = vs_fpm - vs_wanted
        vs = vs_wanted + over_fpm * fade
        alt = alt_ft + (vs_wanted * dt_s + over_fpm * lagging_s) / 60.0

        # Flap and gear travel, and only below the speed for the next step.
        if any_of(configuration != wanted):
            limits = tuple(
                math.inf if each.max_kt is None else float(each.max_kt) for each in aircraft.configurations
            )
            travel = held(wanted - configuration, -dt_s / _TRAVEL_S, dt_s / _TRAVEL_S)
            following = minimum(m.floor(configuration + 1e-9) + 1.0, len(limits) - 1.0)
            too_fast = (travel > 0.0) & (ias_kt > m.picked(limits, following))
            configuration = configuration + where(too_fast, 0.0, travel)

        # Position, with the middle of the step for everything; its few feet do not change the density.
        mid_tas = 0.5 * (ias_kt + ias) * faster
        wind_east, wind_north = wind_kt(m, 0.5 * (alt_ft + alt), time_s + half_s)
        # True north at the aircraft leans against true north at the station: difference of longitude times the
        # sine of the middle latitude, to the second order of the distance.
        lean = east_nm * rad_nm * (slope + north_nm * rad_nm * bend)
        along, aside = cos(lean), sin(lean)
        track = (0.5 * (heading_deg + heading) + variation_deg) * rad
        over_east, over_north = mid_tas * sin(track) + wind_east, mid_tas * cos(track) + wind_north
        east_nm = east_nm + (over_east * along - over_north * aside) * hours
        north_nm = north_nm + (over_north * along + over_east * aside) * hours
        time_s, alt_ft, heading_deg, bank_deg, ias_kt, vs_fpm = time_s + dt_s, alt, heading, bank, ias, vs
    return State(time_s, east_nm, north_nm, alt_ft, heading_deg, bank_deg, ias_kt, vs_fpm, configuration)


@dataclass(frozen=True, slots=True)
class Radio:
    """A VOR, with or without DME, and the two receivers listening to it; make it with :func:`radio`."""

    declination_deg: float
    elevation_ft: float
    has_dme: bool
    full_scale_deg: float
    needle_lag_s: float
    cone_half_angle_deg: float
    scallop_deg: float
    alignment_deg: float
    dme_digit_nm: float
    phases: Floats

    def ground_nm(self, state: State) -> Floats:
        """Distance over the ground from the station, the truth. [NM]"""
        return arithmetic.of(state.east_nm).hypot(state.east_nm, state.north_nm)  # type: ignore[no-any-return]

    def radial_deg(self, state: State) -> Floats:
        """Radial the aircraft is on by the station's alignment, the truth. [deg], 0 to 360"""
        angle = arithmetic.of(state.east_nm).arctan2(state.east_nm, state.north_nm)
        return (angle / _RAD - self.declination_deg) % 360.0  # type: ignore[no-any-return]


def radio(
    station: Station,
    *,
    seed: int = 0,
    flights: int = 1,
    full_scale_deg: float = FULL_SCALE_DEG,
    needle_lag_s: float = NEEDLE_LAG_S,
    cone_half_angle_deg: float = CONE_HALF_ANGLE_DEG,
    scallop_deg: float = SCALLOPING_DEG,
    alignment_deg: float = 0.0,
    dme_digit_nm: float = 0.1,
) -> Radio:
    """Tune both receivers and the DME to a station, for N flights with waves of their own each.

    Radials follow the station's declination, which may differ from today's variation.
    ``scallop_deg``: size of the slow waves of the bearing. ``alignment_deg``: a fixed error of all
    bearings. ``dme_digit_nm``: last digit the DME shows, 0 for as fine as it can be.
    """
    within("full_scale_deg", full_scale_deg, 10.0, 12.0, "deg")
    within("needle_lag_s", needle_lag_s, 0.0, 5.0, "s")
    within("cone_half_angle_deg", cone_half_angle_deg, 5.0, 75.0, "deg")
    within("scallop_deg", scallop_deg, 0.0, 6.0, "deg")
    within("alignment_deg", alignment_deg, -6.0, 6.0, "deg")
    within("dme_digit_nm", dme_digit_nm, 0.0, 1.0, "NM")
    phases = np.random.default_rng(seed).uniform(0.0, 2.0 * np.pi, (flights, 4)).T
    return Radio(
        station.declination_deg,
        station.elevation_ft,
        station.has_dme,
        full_scale_deg,
        needle_lag_s,
        cone_half_angle_deg,
        scallop_deg,
        alignment_deg,
        dme_digit_nm,
        phases,
    )


@dataclass(slots=True)
class Sight:
    """What the pilot sees: one reading of every instrument, arrays of shape (N,).

    ``needle_1_deg``, ``needle_2_deg``: right of centre positive, at most full scale. ``flag_1``,
    ``flag_2``: +1 TO, -1 FROM, 0 off. ``dme_nm``: nan where there is none. ``heading_deg``:
    magnetic, 0 to 360. ``alt_ft``: by the altimeter. ``configuration``: 0 clean, then one per step.
    """

    time_s: float
    course_1_deg: Floats
    course_2_deg: Floats
    needle_1_deg: Floats
    needle_2_deg: Floats
    flag_1: NDArray[np.int8]
    flag_2: NDArray[np.int8]
    dme_nm: Floats
    heading_deg: Floats
    alt_ft: Floats
    ias_kt: Floats
    vs_fpm: Floats
    configuration: Floats


def received_radial_deg(state: State, radio: Radio) -> tuple[Floats, Floats]:
    """Radial as the receivers hear it, with all its errors, and how deep in the cone: (deg, 0 to 1).

    The depth is 0 outside the cone of confusion and 1 overhead. Inside, the bearing swings more
    the deeper it is; from half way in there is no usable signal at all.
    """
    m = arithmetic.of(state.east_nm)
    ground = m.hypot(state.east_nm, state.north_nm)
    radial = m.arctan2(state.east_nm, state.north_nm) / _RAD - radio.declination_deg + radio.alignment_deg
    if radio.scallop_deg:
        # Waves that stand in space: as the aircraft moves along or across them the needle breathes.
        waves = m.sin(radial * 0.9 + radio.phases[0]) + m.sin(ground * 4.0 + radio.phases[1])
        radial = radial + 0.5 * radio.scallop_deg * waves
    above_nm = m.maximum(state.alt_ft - radio.elevation_ft, 0.0) / _NM_FT
    edge = above_nm * math.tan(radio.cone_half_angle_deg * _RAD)
    depth = m.held(1.0 - ground / m.maximum(edge, 1e-9), 0.0, 1.0)
    if m.any(depth):
        swing = m.sin(1.9 * state.time_s + radio.phases[2]) + m.sin(0.8 * state.time_s + radio.phases[3])
        radial = radial + 20.0 * depth * swing
    return radial % 360.0, depth


def _needle(radial: Floats, depth: Floats, course: Floats, full_scale: float) -> tuple[Floats, NDArray[np.int8]]:
    m = arithmetic.of(radial)
    off = (radial - course + 180.0) % 360.0 - 180.0
    beyond = abs(off)
    to = beyond > 90.0
    needle = -m.where(to, m.copysign(180.0 - beyond, off), off)
    # Deep in the cone there is no signal at all. Abeam only TO and FROM have none: the needle stands at its stop.
    lost = depth > 0.5
    flag = m.where(lost | (abs(beyond - 90.0) < 0.5), 0, m.where(to, 1, -1))
    return m.where(lost, 0.0, m.held(needle, -full_scale, full_scale)), m.flag(flag)


def look(
    state: State,
    radio: Radio,
    air: Air,
    course_1_deg: ArrayLike,
    course_2_deg: ArrayLike,
    before: Sight | None = None,
    heard: tuple[Floats, Floats] | None = None,
) -> Sight:
    """Read every instrument; ``before`` is the reading before this one and lets the needles lag.

    The courses are those set on selectors 1 and 2, magnetic, of shape (N,) or scalar. [deg] ``heard`` is what
    :func:`received_radial_deg` gives here, where it is known already.
    """
    m = arithmetic.of(state.heading_deg)
    course_1: Any = course_1_deg
    course_2: Any = course_2_deg
    if m is arithmetic.Many:
        shape = state.heading_deg.shape
        course_1, course_2 = (np.broadcast_to(np.asarray(c, dtype=np.float64), shape) for c in (course_1, course_2))
    radial, depth = heard or received_radial_deg(state, radio)
    needle_1, flag_1 = _needle(radial, depth, course_1, radio.full_scale_deg)
    needle_2, flag_2 = _needle(radial, depth, course_2, radio.full_scale_deg)
    if before is not None and radio.needle_lag_s > 0.0:
        follows = 1.0 - math.exp(-(state.time_s - before.time_s) / radio.needle_lag_s)
        needle_1 = before.needle_1_deg + (needle_1 - before.needle_1_deg) * follows
        needle_2 = before.needle_2_deg + (needle_2 - before.needle_2_deg) * follows
    if radio.has_dme:
        dme = m.hypot(radio.ground_nm(state), (state.alt_ft - radio.elevation_ft) / _NM_FT)
        if radio.dme_digit_nm:
            dme = m.rint(dme / radio.dme_digit_nm) * radio.dme_digit_nm
    else:
        dme = m.full(state.heading_deg, math.nan)
    return Sight(
        state.time_s,
        course_1,
        course_2,
        needle_1,
        needle_2,
        flag_1,
        flag_2,
        dme,
        state.heading_deg % 360.0,
        air.indicated_ft(state.alt_ft),
        state.ias_kt,
        state.vs_fpm,
        state.configuration,
    )
