"""The flight recorder format of the FAI: B records, one a fix, read line by line.

A B record holds time of day, position, and two altitudes: by pressure (setting 1013.25 hPa) and by
satellite (above the ellipsoid). The pressure altitude is what an altimeter is made of, so it is taken
where the recorder had a sensor; the date stands in an H record of its own.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import UTC, datetime

from needlework.flying.raw import Raw

_FIX = re.compile(r"B(\d{2})(\d{2})(\d{2})(\d{2})(\d{5})([NS])(\d{3})(\d{5})([EW])([AV])(-\d{4}|\d{5})(-\d{4}|\d{5})")
_DATE = re.compile(r"HFDTE(?:DATE)?:?\s*(\d{2})(\d{2})(\d{2})", re.IGNORECASE)


def read(lines: Iterable[str]) -> Raw:
    """Collect the fixes; what cannot be read is counted and said."""
    raw = Raw(("time_s", "lat_deg", "lon_deg", "alt_ft"))
    pressure: list[float] = []
    satellite: list[float] = []
    bad = 0
    for line in lines:
        if (dated := _DATE.match(line)) is not None and raw.start_utc is None:
            raw.start_utc = _date(dated)
        if not line.startswith("B"):
            continue
        fix = _FIX.match(line)
        if fix is None:
            bad += 1
            continue
        hours, minutes, seconds = (int(fix[number]) for number in (1, 2, 3))
        time_s = hours * 3600.0 + minutes * 60.0 + seconds
        lat_deg = (int(fix[4]) + int(fix[5]) / 60_000.0) * (1 if fix[6] == "N" else -1)
        lon_deg = (int(fix[7]) + int(fix[8]) / 60_000.0) * (1 if fix[9] == "E" else -1)
        raw.add(raw.over_midnight_s(time_s), lat_deg, lon_deg, 0.0)
        pressure.append(float(fix[11]))
        satellite.append(float(fix[12]))
        if raw.full():
            break
    if bad:
        raw.notes.append(f"{bad:,} fix{'' if bad == 1 else 'es'} that cannot be read left out.")
    by_pressure = sum(value != 0.0 for value in pressure) > len(pressure) / 2
    raw.metres("alt_ft", pressure if by_pressure else satellite)
    raw.height_kind = "pressure" if by_pressure else "satellite"
    raw.notes.append(
        "Altitudes are by pressure with 1013.25 hPa set: name the setting of the day for what the altimeter showed."
        if by_pressure
        else "Altitudes are a satellite receiver's, above the ellipsoid: the recorder had no pressure sensor."
    )
    if raw.start_utc is not None and raw.count:
        raw.start_utc = datetime.fromtimestamp(raw.start_utc.timestamp() + raw.columns["time_s"][0], tz=UTC)
    return raw


def _date(found: re.Match[str]) -> datetime | None:
    try:
        return datetime(2000 + int(found[3]), int(found[2]), int(found[1]), tzinfo=UTC)
    except ValueError:
        return None
