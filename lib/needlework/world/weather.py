"""Days to fly on: wind by height, gusts, temperature, altimeter setting, and whether the runway appears."""

from __future__ import annotations

import itertools
import random
import re
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Annotated, Literal

import numpy as np
from numpy.typing import ArrayLike
from pydantic import Field

from needlework.basis.errors import BadData, OutOfRange
from needlework.basis.quantity import Constant, Floats, Result, plain, within
from needlework.trade.angles import difference_deg, three_digits, wrap360
from needlework.trade.wind import WIND_MAX_KT
from needlework.world.datafiles import Part, datasets_dir, did_you_mean, make, ranged, read_toml, refuse, shown

DRAWN_MAX_KT = Constant(40.0, "kt", "scenario", "strongest wind drawn")
DRAWN_CHANGE_KT = Constant(15.0, "kt", "scenario", "most that a drawn wind's speed changes with height")
DRAWN_CHANGE_DEG = Constant(40.0, "deg", "scenario", "most that a drawn wind turns with height")
_HEIGHTS_FT = (0.0, 3000.0, 6000.0)
GUST_WEIGHTS = (0.5, 0.3, 0.2)
"""Share of each wave in the gusts, longest first."""
_GUST_PERIODS_S = ((12.0, 25.0), (6.0, 12.0), (3.0, 6.0))

RunwaySeen = Literal["in time", "after the VDP", "never"]


@dataclass(frozen=True)
class Wind:
    """Wind by height: where it comes from, degrees TRUE, and how fast, knots.

    Parameters
    ----------
    heights_ft : tuple of float
        Heights above mean sea level, rising; the lowest is the surface. [ft]
    from_deg_true, speed_kt : tuple of float
        Wind at each height. [deg true], [kt]; speed 0 is calm and its direction does not count.
    gust_kt : float or None
        Peak of the gusts at the surface; they fade to nothing at the next height. [kt]
    seed : int
        Which gusts: the same seed gives the same gusts.

    Notes
    -----
    Between two heights direction (the shorter way round; to the right if exactly opposite) and speed are
    interpolated each for itself, as a pilot does with a forecast of winds aloft, so that a number worked
    from the table by hand is the number flown. Interpolated vectors would lull in between wherever the
    wind turns with height. A calm level takes the direction of its neighbour. Above and below the table
    the nearest wind holds.
    """

    heights_ft: tuple[float, ...]
    from_deg_true: tuple[float, ...]
    speed_kt: tuple[float, ...]
    gust_kt: float | None = None
    seed: int = 0

    def __post_init__(self) -> None:
        heights = within("heights_ft", self.heights_ft, -1500, 60000, "ft")
        within("from_deg_true", self.from_deg_true, 0, 360, "deg", "is this the speed?")
        within("speed_kt", self.speed_kt, 0, WIND_MAX_KT, "kt", "is this the direction?")
        if not len(self.heights_ft) == len(self.from_deg_true) == len(self.speed_kt) > 0:
            raise OutOfRange(
                "A wind needs the same number of heights, directions and speeds: expected at least one each"
            )
        if np.any(np.diff(heights) <= 0):
            raise OutOfRange(f"heights_ft = {self.heights_ft} do not rise: expected the lowest first, none twice")
        if self.gust_kt is not None:
            within("gust_kt", self.gust_kt, self.speed_kt[0], WIND_MAX_KT, "kt", "gusts exceed the surface wind")

    def at(self, alt_ft: ArrayLike, time_s: ArrayLike | None = None) -> tuple[Result, Result]:
        """Wind at an altitude above mean sea level: direction it comes from [deg true] and speed [kt].

        Scalars or arrays; with ``time_s`` the gusts of that moment are in the speed, without it the mean
        wind is given. Raises OutOfRange for altitudes outside -1,500 to 60,000 ft.
        """
        alt = within("alt_ft", alt_ft, -1500, 60000, "ft")
        direction, speed = self._mean(alt)
        if time_s is not None:
            speed = self._with_gusts(alt, speed, within("time_s", time_s, 0, 1e7, "s"))
        return wrap360(direction), plain(speed)

    def east_north_kt(self, alt_ft: ArrayLike, time_s: ArrayLike | None = None) -> tuple[Result, Result]:
        """Movement of the air towards true east and true north, as arguments of :meth:`at`. [kt]"""
        direction, speed = self.at(alt_ft, time_s)
        towards = np.deg2rad(direction) + np.pi
        return plain(speed * np.sin(towards)), plain(speed * np.cos(towards))

    def raised_to(self, field_elevation_ft: float) -> Wind:
        """Give the same wind with its surface at a field's elevation. [ft]"""
        heights = (float(field_elevation_ft), *(h for h in self.heights_ft[1:]))
        return replace(self, heights_ft=heights)

    @property
    def text(self) -> str:
        """The wind in words: ``270°T/10 kt at the surface, 280°T/18 kt at 3,000 ft``."""
        parts = []
        for level, (height, direction, speed) in enumerate(
            zip(self.heights_ft, self.from_deg_true, self.speed_kt, strict=True)
        ):
            wind = f"{three_digits(direction_deg=direction, reference='T')}/{speed:.0f} kt" if speed else "calm"
            if level == 0 and self.gust_kt is not None:
                wind += f" gusting {self.gust_kt:.0f}"
            place = "at the surface" if level == 0 else f"at {height:,.0f} ft"
            parts.append(wind if len(self.heights_ft) == 1 else f"{wind} {place}")
        return ", ".join(parts)

    @cached_property
    def unwound_deg(self) -> Floats:
        """Directions without jumps at north, calm levels filled in."""
        blowing = [i for i, speed in enumerate(self.speed_kt) if speed > 0]
        if not blowing:
            return np.zeros(len(self.speed_kt))
        known = [
            self.from_deg_true[min(blowing, key=lambda other: (abs(other - i), -other))]
            for i in range(len(self.speed_kt))
        ]
        steps = [float(difference_deg(from_deg=a, to_deg=b)) for a, b in itertools.pairwise(known)]
        return np.cumsum([known[0], *steps])

    def _mean(self, alt_ft: Floats) -> tuple[Floats, Floats]:
        direction = np.interp(alt_ft, self.heights_ft, self.unwound_deg)
        return np.asarray(direction), np.asarray(np.interp(alt_ft, self.heights_ft, self.speed_kt))

    @cached_property
    def gust_waves(self) -> tuple[tuple[float, float], ...]:
        """Period [s] and phase [rad] of each wave of the gusts, in the order of :data:`GUST_WEIGHTS`."""
        drawn = random.Random(f"gusts {self.seed}")
        waves = [(low + (high - low) * drawn.random(), 2 * np.pi * drawn.random()) for low, high in _GUST_PERIODS_S]
        return tuple(waves)

    def _with_gusts(self, alt_ft: Floats, speed_kt: Floats, time_s: Floats) -> Floats:
        if self.gust_kt is None:
            return speed_kt + np.zeros(time_s.shape)
        shape = sum(
            weight * np.sin(2 * np.pi * time_s / period_s + phase)
            for weight, (period_s, phase) in zip(GUST_WEIGHTS, self.gust_waves, strict=True)
        )
        low_ft = self.heights_ft[0]
        top_ft = self.heights_ft[1] if len(self.heights_ft) > 1 else low_ft + _HEIGHTS_FT[1]
        fade = np.clip((top_ft - alt_ft) / (top_ft - low_ft), 0, 1)
        return np.maximum(speed_kt + (self.gust_kt - self.speed_kt[0]) * fade * shape, 0)


@dataclass(frozen=True)
class Day:
    """One day: wind, temperature at the field [C], altimeter setting [hPa], when the runway is seen."""

    name: str
    use: str
    wind: Wind
    temperature_c: float
    setting_hpa: float
    runway: RunwaySeen = "in time"


class _Row(Part):
    use: str = Field(min_length=1, description="what the day is for, in quotes")
    surface: str | None = Field(default=None, description='a wind such as "270/10"')
    at_3000_ft: str | None = Field(default=None, description='a wind such as "270/10"')
    at_6000_ft: str | None = Field(default=None, description='a wind such as "270/10"')
    temperature_c: Annotated[float, ranged(-60, 55, "C", "is this in Fahrenheit?")] | None = Field(
        default=None, description="temperature at the field in degrees Celsius"
    )
    setting_hpa: Annotated[float, ranged(900, 1080, "hPa", "is this in inches of mercury?")] | None = Field(
        default=None, description="altimeter setting in hPa"
    )
    wind_of: str | None = Field(default=None, description="name of another day in quotes")
    runway: RunwaySeen = Field(default="in time", description='"in time", "after the VDP" or "never"')


_OWN = ("surface", "at_3000_ft", "at_6000_ft", "temperature_c", "setting_hpa")


def parse(text: str) -> Wind:
    """Read a wind as a pilot writes it: ``240/25`` is from 240 degrees TRUE at 25 knots, ``calm``, ``240/25G35``.

    A report's ``24025KT`` and ``24025G35KT`` are read alike: three digits of direction, then the knots.

    The same at all heights. Raises BadData, in one sentence, for anything else.
    """
    written = text.strip() if isinstance(text, str) else ""
    if written.lower() == "calm":
        return Wind((0.0,), (0.0,), (0.0,))
    if re.fullmatch(r"00000\s*KT", written, re.A | re.I):
        return Wind((0.0,), (0.0,), (0.0,))
    found = re.fullmatch(
        r"(\d{1,3})\s*°?\s*T?\s*/\s*(\d{1,3})\s*(?:G\s*(\d{1,3}))?\s*(?:kts?)?", written, re.A | re.I
    ) or re.fullmatch(r"(\d{3})(\d{2,3})(?:G(\d{2,3}))?\s*KTS?", written, re.A | re.I)
    if not found:
        raise BadData(
            f"The wind {shown(text)} cannot be read: expected where it comes from in degrees true, a stroke and "
            "knots, such as 240/25, or calm"
        )
    direction, speed = float(found[1]), float(found[2])
    gust = float(found[3]) if found[3] else None
    if direction > 360:
        raise BadData(
            f"The wind {shown(text)} comes from {direction:.0f} degrees: expected 0 to 360, before the stroke"
        )
    if max(speed, gust or 0) > WIND_MAX_KT:
        raise BadData(
            f"The wind {shown(text)} is more than {WIND_MAX_KT:.0f} knots: "
            "expected the direction first, then the speed"
        )
    if gust is not None and gust <= speed:
        raise BadData(f"The wind {shown(text)} gusts no more than it blows: expected the higher number after the G")
    return Wind((0.0,), (direction,), (speed,), gust)


def names(path: Path | None = None) -> tuple[str, ...]:
    """Names of the preset days in the course's file, or in another one."""
    return tuple(read_toml(path or datasets_dir() / "days.toml"))


def day(
    name: str, *, wind_of: str | None = None, field_elevation_ft: float = 0.0, seed: int = 0, path: Path | None = None
) -> Day:
    """Load a preset day (capitals do not matter), with its surface wind at the field's elevation.

    ``wind_of`` takes wind, temperature and setting from another day and keeps the rest; ``seed`` picks
    the gusts. Raises BadData with every fault of the day's block.
    """
    path = path or datasets_dir() / "days.toml"
    table = read_toml(path)
    faults: list[str] = []
    key = _key(name, table, path)
    row = make(_Row, table[key], key, faults)
    other = wind_of or (row.wind_of if row else None)
    source = row
    if row is not None and other is not None:
        if row.wind_of and any(getattr(row, field) is not None for field in _OWN):
            faults.append(f"{key} has wind_of and figures of its own: expected one or the other")
        key = _key(other, table, path)
        source = make(_Row, table[key], key, faults)
    if row is None or source is None:
        refuse(path.name, faults)
    assert row is not None and source is not None
    absent = [field for field in _OWN if getattr(source, field) is None]
    faults += [f"{key}.{field} is missing: expected {_Row.model_fields[field].description}" for field in absent]
    winds = []
    for field in _OWN[:3]:
        try:
            winds.append(parse(getattr(source, field) or "calm"))
        except BadData as problem:
            faults.append(f"{key}.{field}: {problem}")
    refuse(path.name, faults)
    wind = Wind(
        (float(field_elevation_ft), *_HEIGHTS_FT[1:]),
        tuple(level.from_deg_true[0] for level in winds),
        tuple(level.speed_kt[0] for level in winds),
        winds[0].gust_kt,
        seed,
    )
    temperature_c, setting_hpa = float(source.temperature_c or 0.0), float(source.setting_hpa or 0.0)
    return Day(name.strip().capitalize(), row.use, wind, temperature_c, setting_hpa, row.runway)


def _key(name: str, table: dict[str, object], path: Path) -> str:
    for key in table:
        if key.lower() == name.strip().lower():
            return key
    raise BadData(f"There is no day {shown(name)} in {path.name}: {did_you_mean(name, table)}")


def drawn(seed: int | str, *, field_elevation_ft: float = 0.0) -> Day:
    """Draw a day from a seed: the same seed gives the same day, on every machine.

    Wind 0 to 40 kt at every height from any direction, changing by up to 15 kt and 40 degrees from the
    surface to 6,000 ft, in whole knots and degrees; temperature -15 to 30 C; setting 980 to 1035 hPa.
    """
    chance = random.Random(f"day {seed}")

    def between(low: float, high: float) -> float:
        return float(round(low + (high - low) * chance.random()))

    direction, speed = between(0, 359), between(0, DRAWN_MAX_KT)
    turn = between(-DRAWN_CHANGE_DEG, DRAWN_CHANGE_DEG)
    top_kt = between(max(0.0, speed - DRAWN_CHANGE_KT), min(DRAWN_MAX_KT, speed + DRAWN_CHANGE_KT))
    share = 0.3 + 0.4 * chance.random()
    directions = [wrap360(direction + round(part * turn)) for part in (0.0, share, 1.0)]
    speeds = [float(round(speed + part * (top_kt - speed))) for part in (0.0, share, 1.0)]
    wind = Wind((float(field_elevation_ft), *_HEIGHTS_FT[1:]), tuple(float(d) for d in directions), tuple(speeds))
    return Day("Drawn", f"graded work, seed {seed}", wind, between(-15, 30), between(980, 1035))
