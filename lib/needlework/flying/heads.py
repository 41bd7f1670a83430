"""The first row of a CSV file in the spellings that exports use: names, units in brackets, dates of all kinds."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from needlework.basis.quantity import Floats
from needlework.flying.raw import HeightKind
from needlework.trade.units import FT_M, KT_M_S, NM_M

_FT_PER_M = 1.0 / FT_M
_PER_KM = 1000.0 / NM_M

# What a unit, written behind a name, makes of a column that is held in the unit before the colon.
_UNITS: dict[str, dict[str, tuple[float, str]]] = {
    "ft": {
        **dict.fromkeys(("ft", "feet", "foot", "ft_msl", "feet_msl", "msl", "ft_amsl", "amsl", "ft_baro"), (1.0, "")),
        **dict.fromkeys(("m", "metre", "metres", "meter", "meters", "m_msl", "m_amsl"), (_FT_PER_M, "metres")),
    },
    "kt": {
        **dict.fromkeys(("kt", "kts", "knots", "knot"), (1.0, "")),
        **dict.fromkeys(("kmh", "km_h", "kph"), (_PER_KM, "km/h")),
        **dict.fromkeys(("ms", "m_s", "mps"), (1 / KT_M_S, "m/s")),
        "mph": (1609.344 / NM_M, "mph"),
    },
    "fpm": {
        **dict.fromkeys(("fpm", "ft_min", "feet_min", "ft_m"), (1.0, "")),
        **dict.fromkeys(("ms", "m_s", "mps"), (60.0 * _FT_PER_M, "m/s")),
    },
    "deg": dict.fromkeys(("deg", "degs", "degree", "degrees", "mag", "deg_mag", "magnetic", "wgs84"), (1.0, "")),
    "nm": {
        **dict.fromkeys(("nm", "nmi", "nautical_miles"), (1.0, "")),
        **dict.fromkeys(("km", "kilometres", "kilometers"), (_PER_KM, "km")),
    },
    "s": {
        **dict.fromkeys(("s", "sec", "secs", "seconds", "utc", "gmt", "z", "zulu", "unix", "epoch"), (1.0, "")),
        **dict.fromkeys(("hh_mm_ss", "h_m_s", "hms", "hh_mm_ss_utc"), (1.0, "")),
        **dict.fromkeys(("ms", "millis", "milliseconds"), (0.001, "milliseconds")),
    },
    "": {"": (1.0, "")},
}

# Names without their unit: column, unit it is held in, what is meant where no unit is written.
_NAMES: dict[str, tuple[str, str, str]] = {}


def _known(column: str, held: str, silent: str, *names: str) -> None:
    _NAMES.update(dict.fromkeys(names, (column, held, silent)))


_known("time_s", "s", "s", "time", "t", "seconds", "utc", "timestamp", "time_utc", "datetime", "date_time", "when")
_known(
    "time_s",
    "s",
    "s",
    "utc_time",
    "gmt_time",
    "time_gmt",
    "time_stamp",
    "elapsed",
    "elapsed_time",
    "gps_time",
    "timestamp_ms",
    "utc_datetime",
    *("unix", "unix_time", "unix_timestamp", "epoch", "epoch_time", "posix"),
    *("local", "local_time", "time_local", "localtime", "lcl_time", "local_datetime", "date_time_local", "clock"),
)
_known("lat_deg", "deg", "deg", "lat", "latitude", "gps_lat", "gps_latitude", "pos_lat")
_known("lon_deg", "deg", "deg", "lon", "lng", "long", "longitude", "gps_lon", "gps_longitude", "gps_long", "pos_lon")
_known("alt_ft", "ft", "ft", "alt", "altitude", "ele", "elevation", "height", "msl", "msl_altitude", "altitude_msl",
       "alt_msl", "gps_alt", "gps_altitude", "gnss_altitude", "baro_alt", "baro_altitude", "indicated_altitude",
       "alt_ind", "pressure_altitude", "hae", "ellipsoid_height", "height_ellipsoid", "ellipsoidal_height",
       "height_above_ellipsoid", "alt_ellipsoid", "altitude_ellipsoid", "alt_hae", "altitude_hae", "altitude_gps",
       "altitude_baro", "alt_b", "alt_baro", "alt_p", "alt_press", "press_alt", "pressure_alt",
       "alt_gps")  # fmt: skip
_known(
    "heading_deg", "deg", "deg", "hdg", "heading", "magnetic_heading", "heading_mag", "heading_magnetic", "mag_hdg"
)
# The same in other languages of those who fly: German, French, Spanish, Italian, Dutch.
_known(
    "time_s", "s", "s", "zeit", "uhrzeit", "zeitstempel", "heure", "temps", "hora", "tiempo", "ora", "tempo", "tijd"
)
_known("lat_deg", "deg", "deg", "breite", "breitengrad", "latitud", "latitudine", "breedte", "breedtegraad")
_known("lon_deg", "deg", "deg", "lange", "laenge", "langengrad", "laengengrad", "longitud", "longitudine", "lengte",
       "lengtegraad")  # fmt: skip
_known("alt_ft", "ft", "ft", "hohe", "hoehe", "altitud", "altura", "altitudine", "quota", "hauteur", "hoogte")
_known("ias_kt", "kt", "kt", "ias", "airspeed", "indicated_airspeed", "airspeed_indicated")
_known("vs_fpm", "fpm", "fpm", "vs", "vsi", "vertical_speed", "vspd", "vspeed")
_known("dme_nm", "nm", "nm", "dme", "dme_distance")
_known(
    "course_1_deg", "deg", "deg", "course", "course_selected", "selected_course", "course_set", "obs",
    "obs_1", "obs1", "nav1_obs", "course_1", "course1",
)  # fmt: skip
_known("course_2_deg", "deg", "deg", "obs_2", "obs2", "nav2_obs", "course_2", "course2")
_known("bank_deg", "deg", "deg", "bank", "roll", "bank_angle")

_GEOIDS = ("geoid", "geoid_separation", "geoid_height", "geoid_undulation", "undulation", "geoidal_separation")

# Words of which a head may be made up that is none of the names above, and what they mean.
_WORDS = {
    **dict.fromkeys(("alt", "altimeter", "altitude", "elev", "elevation", "height", "hgt"), "altitude"),
    **dict.fromkeys(("lat", "latitude"), "latitude"),
    **dict.fromkeys(("lon", "long", "lng", "longitude"), "longitude"),
}
_ROUNDABOUT = frozenset(
    ("aircraft", "plane", "own", "gps", "gnss", "satellite", "baro", "barometric", "pressure", "press", "std",
     "indicated", "ind", "qnh", "corrected", "corr", "true", "geometric", "ellipsoid", "ellipsoidal", "above", "sea",
     "level", "mean", "msl", "amsl", "recorded", "measured", "logged", "position", "pos", "wgs84", "decimal", "dec",
     "degrees", "deg", "north", "east", "value", "raw")
)  # fmt: skip

_RUN_TOGETHER = {name.replace("_", ""): name for name in _NAMES}  # AltMSL
_OFFSETS = ("utcofst", "utc_ofst", "utc_offset", "utcoffset", "gmt_offset", "time_zone", "zone")
_PLACES = ("position", "coordinates", "coords", "lat_lon", "lat_long", "latlon", "latlng", "latitude_longitude")
_DATES = ("datum", "fecha", "data", "date", "date_utc", "utc_date", "gmt_date", "date_gmt", "gps_date", "lcl_date",
          "local_date", "date_local")  # fmt: skip
_SIDES = {
    **dict.fromkeys(("n_s", "ns", "lat_dir", "lat_ref", "lat_hem", "lat_hemisphere", "latitude_direction",
                     "latitude_hemisphere", "latitude_ref", "north_south"), "lat_deg"),
    **dict.fromkeys(("e_w", "ew", "lon_dir", "lon_ref", "lon_hem", "lon_hemisphere", "longitude_direction",
                     "longitude_hemisphere", "longitude_ref", "east_west"), "lon_deg"),
}  # fmt: skip
_BRACKETS = re.compile(r"^(.*?)[\s_]*[(\[{]\s*([^)\]}]*)\s*[)\]}]\s*$")
_FORMATS = (
    "%m/%d/%Y %H:%M:%S",
    "%m/%d/%Y %H:%M:%S.%f",
    "%m/%d/%Y %I:%M:%S %p",
    "%m/%d/%y %H:%M:%S",
    "%Y/%m/%d %H:%M:%S",
    "%Y/%m/%d %H:%M:%S.%f",
    "%d.%m.%Y %H:%M:%S",
    "%d.%m.%Y %H:%M:%S.%f",
    "%d-%m-%Y %H:%M:%S",
    "%m/%d/%Y %H:%M",
    # The day first, where it can be no month.
    "%d/%m/%Y %H:%M:%S",
    "%d/%m/%Y %H:%M:%S.%f",
    "%d/%m/%Y %I:%M:%S %p",
    "%d/%m/%y %H:%M:%S",
    "%d/%m/%Y %H:%M",
)
_ZONE = re.compile(r"^(?:utc|gmt)?\s*([+-])\s*(\d{1,2})(?::?(\d\d))?$", re.IGNORECASE)
_HEMISPHERE = re.compile(r"^\s*([NSEWnsew])?\s*(.*?)\s*([NSEWnsew])?\s*$")
_OFTEN = 0.05  # of the samples: a knob is turned less often, a track over the ground wavers all the time
_MILLISECONDS = 1e11  # as seconds since 1970 that would be the year 5138


@dataclass(frozen=True)
class Head:
    """One column head: the column meant, the factor to its unit, the unit in words, whether no unit was written."""

    column: str
    factor: float
    unit: str
    silent: bool = False


def plain(name: str) -> tuple[str, str]:
    """Split a head into a plain name and a plain unit: ``Altitude (ft MSL)`` gives ``altitude`` and ``ft_msl``."""
    text = name.strip().strip('"').lstrip("\ufeff").lower()
    found = _BRACKETS.match(text)
    words, unit = (found[1], found[2]) if found else (text, "")
    return _word(words), _word(unit)


def _word(text: str) -> str:
    letters = unicodedata.normalize("NFKD", text.replace("°", " deg ").replace("/", " "))  # Höhe: hohe
    letters = "".join(letter for letter in letters if not unicodedata.combining(letter))
    return re.sub(r"[^a-z0-9]+", "_", letters).strip("_")


def known(name: str) -> Head | None:
    """Say which column a head means; None where it is none of them (a true heading, a ground speed)."""
    words, unit = plain(name)
    words = _RUN_TOGETHER.get(words, words)
    if not unit and words not in _NAMES:  # the unit may stand behind the name without brackets
        for base in sorted(_NAMES, key=len, reverse=True):
            if words.startswith(f"{base}_"):
                words, unit = base, words.removeprefix(f"{base}_")
                break
    if words not in _NAMES:
        words, unit = _by_its_words(words, unit)
    if words not in _NAMES:
        return None
    column, held, silent = _NAMES[words]
    if held == "s" and zone_s(name) is not None:
        unit = ""
    if not unit:
        return Head(column, 0.001 if words.endswith("_ms") else 1.0, silent, column == "alt_ft")
    factor = _UNITS[held].get(unit)
    return None if factor is None else Head(column, factor[0], factor[1] or silent)


def _by_its_words(words: str, unit: str) -> tuple[str, str]:
    """Find the place or height that a head of other words means: ``Aircraft altimeter ft`` gives altitude and ft.

    Every word must be known: a rate, a target or a height above the ground is none of these.
    """
    meant, units = set(), [unit] if unit else []
    for word in words.split("_"):
        if (column := _WORDS.get(word)) is not None:
            meant.add(column)
        elif word in _UNITS["ft"]:
            units.append(word)
        elif word not in _ROUNDABOUT:
            return words, unit
    if len(meant) != 1 or len(units) > 1:
        return words, unit
    return meant.pop(), "".join(units)


def zone_s(name: str) -> float | None:
    """Seconds a clock is ahead of UTC by its head: ``Local time (UTC+5)`` gives 18,000; None where none is said."""
    found = _BRACKETS.match(name.strip().strip('"'))
    return ahead_s(found[2]) if found else None


def ahead_s(zone_text: str) -> float | None:
    """Seconds that a clock of a zone is ahead of UTC: ``UTC+5`` or ``+05:00`` gives 18,000; None where it is none."""
    zone = _ZONE.match(zone_text.strip().strip('"'))
    if zone is None:
        return None
    ahead = int(zone[2]) * 3600.0 + int(zone[3] or 0) * 60.0
    return ahead if zone[1] == "+" else -ahead


def is_date(name: str) -> bool:
    """Whether a head is that of a date beside a time of day."""
    return plain(name)[0] in _DATES


def is_offset(name: str) -> bool:
    """Whether a head is that of how far the clock beside it is ahead of UTC."""
    return plain(name)[0] in _OFFSETS


def is_place(name: str) -> bool:
    """Whether a head is that of latitude and longitude in one cell."""
    return plain(name)[0] in _PLACES


def side_of(name: str) -> str | None:
    """The column, latitude or longitude, whose hemisphere a column of letters gives (``N/S``); None for any other."""
    return _SIDES.get(plain(name)[0])


def place(text: str) -> tuple[str, str]:
    """Latitude and longitude out of one cell, "36.9,-45.2" or "36.9 -45.2"; the second is empty where it is not."""
    first, _, second = re.sub(r"[,;\s]+", " ", text.strip().strip('"').strip("()[] ")).partition(" ")
    return first, second


def height_kind(name: str) -> HeightKind:
    """What a head says of where its heights come from."""
    words, unit = plain(name)
    words = _RUN_TOGETHER.get(words, words)
    if "press" in words or words == "alt_p" or "std" in words.split("_"):
        return "pressure"
    if name.strip() == "alt_ft":  # the course's own
        return "altimeter"
    if {"altimeter", "qnh"} & {*words.split("_")} or "baro" in (words + unit) or "indicated" in words:
        return "altimeter"
    if words in ("alt_ind", "alt_b"):
        return "altimeter"
    if any(part in words for part in ("gps", "gnss", "hae", "ellips", "satellite")):
        return "satellite"
    return "unknown"


def above_ellipsoid(name: str) -> bool:
    """Whether a head is that of heights above the ellipsoid, and not above the sea."""
    words = plain(name)[0]
    return "ellips" in words or "hae" in words.split("_")


def geoid_ft(name: str) -> float | None:
    """Feet in the unit of a column that says how far the sea lies above the ellipsoid; None for any other column."""
    words, unit = plain(name)
    if words not in _GEOIDS:  # the unit may stand behind the name without brackets
        words, _, unit = words.rpartition("_")
    factor = _UNITS["ft"].get(unit or "m")
    return factor[0] if words in _GEOIDS and factor is not None else None


def turned_by_hand(course_deg: Floats) -> bool:
    """Whether a column named "course" holds what stood on a selector, and not the track over the ground."""
    known = course_deg[~np.isnan(course_deg)]
    return len(known) > 1 and float((np.diff(known) != 0.0).mean()) < _OFTEN


def moment(text: str) -> datetime | None:
    """Read a date and time in one of the ways exports write it; without a zone it is taken as UTC."""
    text = text.strip().strip('"')
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        for form in _FORMATS:
            try:
                found = datetime.strptime(text.removesuffix("Z").strip(), form)
                break
            except ValueError:
                continue
        else:
            return None
    return found if found.tzinfo else found.replace(tzinfo=UTC)


def since_1970_s(number: float) -> float:
    """Seconds of a count since 1970, in seconds or in milliseconds; any other number as it is."""
    return number / 1000.0 if abs(number) > _MILLISECONDS else number


def angle(text: str) -> float | None:
    """Read a latitude or longitude with a letter, before or after: ``N36.90``, ``45 12.5 W``; None without one."""
    found = _HEMISPHERE.match(text)
    if found is None or not (found[1] or found[3]):
        return None
    try:
        parts = [float(part) for part in re.split(r"[^0-9.]+", found[2]) if part]
    except ValueError:
        return None
    if not 1 <= len(parts) <= 3:
        return None
    degrees = sum(part / 60.0**number for number, part in enumerate(parts))
    return -degrees if (found[1] or found[3]).upper() in "SW" else degrees
