"""NMEA 0183 as satellite receivers send it: GGA for position and height, RMC for the date; any talker.

A sentence whose check sum does not fit is left out and counted; heights are above sea level, as the
receiver's own model of the geoid has it.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime

from needlework.flying.raw import Raw


def read(lines: Iterable[str]) -> Raw:
    """Collect the fixes; what cannot be read is counted and said."""
    raw = Raw(("time_s", "lat_deg", "lon_deg", "alt_ft"))
    heights_m: list[float] = []
    broken = without_fix = positions = 0
    for line in lines:
        begin = line.find("$")
        if begin < 0:
            continue
        fields = _fields(line[begin:])
        if fields is None:
            broken += 1
            continue
        kind = fields[0][-3:]
        if kind == "RMC":
            positions += 1
            raw.start_utc = raw.start_utc or _moment(fields)
        if kind != "GGA" or len(fields) < 10:
            continue
        time_s, lat_deg, lon_deg = _clock(fields[1]), _angle(fields[2], fields[3]), _angle(fields[4], fields[5])
        height_m = _number(fields[9])
        if time_s is None or lat_deg is None or lon_deg is None or height_m is None or fields[6] == "0":
            without_fix += 1
            continue
        raw.add(raw.over_midnight_s(time_s), lat_deg, lon_deg, 0.0)
        heights_m.append(height_m)
        if raw.full():
            break
    if broken:
        raw.notes.append(f"{broken:,} sentence{'' if broken == 1 else 's'} with a wrong check sum left out.")
    if without_fix:
        raw.notes.append(f"{without_fix:,} sentence{'' if without_fix == 1 else 's'} without a fix left out.")
    if not heights_m and positions:
        raw.refusal = "holds positions (RMC) and no heights: record the GGA sentence as well"
    raw.metres("alt_ft", heights_m)
    raw.height_kind = "satellite"
    return raw


def _fields(sentence: str) -> list[str] | None:
    """Fields of a sentence; None where its check sum does not fit."""
    body, star, given = sentence[1:].partition("*")
    if star:
        total = 0
        for letter in body:
            total ^= ord(letter) & 0xFF
        try:
            if int(given.strip()[:2], 16) != total:
                return None
        except ValueError:
            return None
    return body.strip().split(",")


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


def _clock(text: str) -> float | None:
    """Seconds of the day of hhmmss.ss."""
    try:
        hours, minutes, seconds = int(text[:2]), int(text[2:4]), float(text[4:])
    except ValueError:
        return None
    return hours * 3600.0 + minutes * 60.0 + seconds if hours < 24 and minutes < 60 and seconds < 61 else None


def _angle(text: str, side: str) -> float | None:
    """Degrees of dddmm.mmm and its letter."""
    point = text.find(".") if "." in text else len(text)
    try:
        degrees = int(text[: point - 2]) + float(text[point - 2 :]) / 60.0
    except ValueError:
        return None
    return -degrees if side in ("S", "W") else degrees


def _moment(fields: list[str]) -> datetime | None:
    if len(fields) < 10 or len(fields[9]) != 6:
        return None
    time_s = _clock(fields[1])
    try:
        day, month, year = (int(fields[9][at : at + 2]) for at in (0, 2, 4))
        date = datetime(2000 + year, month, day, tzinfo=UTC)
    except ValueError:
        return None
    return None if time_s is None else datetime.fromtimestamp(date.timestamp() + time_s, tz=UTC)
