"""Flown tracks: what a recording holds, how it is written, and how a stranger's recording is read.

A recording needs four things a row: time, latitude, longitude and altitude. What a cockpit
showed (heading, airspeed, needles, flags, DME) is welcome and optional: the debrief works the
receivers' indications out of the positions where they are missing.

Three formats are written. **CSV** holds every column of :data:`COLUMNS` under these names, one row a
sample, lines that begin with ``#`` are remarks. **GPX 1.1** and **KML** (a ``gx:Track``) hold
positions, altitudes and times only. Read are also **IGC** (:mod:`needlework.flying.igc`), **NMEA 0183**
(:mod:`needlework.flying.nmea`) and CSV in the spellings of other programs (:mod:`needlework.flying.heads`).

Reading never trusts the file. XML is read as a stream by a parser that refuses entities and
document types, so nothing is expanded and nothing is held but the points; every loop has a bound.
What can be mended honestly is mended and said in ``Track.notes``; what cannot is refused in one
sentence.
"""

from __future__ import annotations

import bisect
import codecs
import csv
import os
import re
import tempfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from typing import Any, TypeVar
from xml.sax import SAXParseException
from xml.sax.handler import ContentHandler

import defusedxml.sax
import numpy as np
from defusedxml import DefusedXmlException
from numpy.typing import NDArray

from needlework.basis.errors import BadData
from needlework.basis.quantity import Floats
from needlework.flying import heads, igc, nmea, packed, trimming
from needlework.flying.raw import HeightKind, Raw
from needlework.trade.units import FT_M, NM_M

CAUTION = "Training aid with invented data. Not for navigation."

_FT_PER_M = 1.0 / FT_M
_KT_PER_KMH = 1000.0 / NM_M
_NM_PER_DEG = 60.0  # of latitude: good to 0.5 %, enough to spot a jump or a wrong unit

_MOST_BYTES = 64_000_000
_MOST_DEPTH = 64
_MOST_UNREADABLE = 1_000
_LONGEST_LINE = 4_096
_LONGEST_TEXT = 256
_CHUNK = 65_536
_FEWEST_POINTS = 10
_MOST_POINTS = 200_000
_DAY_S = 86_400.0
_MOST_TITLES = 5
_FASTEST_KT = 600.0
_EPOCH = datetime(2026, 11, 25, 9, 0, 0, tzinfo=UTC)
_ANY_TEXT = (".txt", ".log", ".tsv")  # endings that say nothing of what is inside
_FIRST_BYTES = 4_096
_THOUSANDS = re.compile(r"[+-]?\d{1,3}(,\d{3})+(\.\d+)?")
_PLACES_AND_TIME = ("time_s", "lat_deg", "lon_deg")
_LATEST_FIRST = 0.9  # of the steps go backwards
_Choice = TypeVar("_Choice")


@dataclass(frozen=True)
class Column:
    """One column of a recording.

    Parameters
    ----------
    name : str
        Name in the CSV file and attribute of :class:`Track`; ends with the unit.
    unit : str
        The unit, spelled out for the reader.
    low, high : float
        Values outside cannot be meant and are dropped.
    decimals : int
        Digits after the point when written.
    text : str
        What the column holds.
    """

    name: str
    unit: str
    low: float
    high: float
    decimals: int
    text: str


COLUMNS = (
    Column("time_s", "seconds", -1e12, 1e12, 2, "time since the recording began"),
    Column("lat_deg", "degrees", -90, 90, 7, "latitude, WGS84, north positive"),
    Column("lon_deg", "degrees", -180, 360, 7, "longitude, WGS84, east positive"),
    Column("alt_ft", "feet", -2_000, 60_000, 1, "altitude above mean sea level, as the altimeter shows it"),
    Column("heading_deg", "degrees magnetic", -360, 720, 1, "where the nose points"),
    Column("ias_kt", "knots", 0, 600, 1, "indicated airspeed"),
    Column("course_1_deg", "degrees magnetic", -360, 720, 0, "course set on selector 1"),
    Column("course_2_deg", "degrees magnetic", -360, 720, 0, "course set on selector 2"),
    Column("needle_1_deg", "degrees", -180, 180, 2, "needle 1 off centre, right positive"),
    Column("needle_2_deg", "degrees", -180, 180, 2, "needle 2 off centre, right positive"),
    Column("flag_1", "TO, FROM or OFF", -1, 1, 0, "flag 1: 1 TO, -1 FROM, 0 no usable signal"),
    Column("flag_2", "TO, FROM or OFF", -1, 1, 0, "flag 2: 1 TO, -1 FROM, 0 no usable signal"),
    Column("dme_nm", "nautical miles", 0, 400, 2, "DME reading (slant distance)"),
    Column("vs_fpm", "feet per minute", -10_000, 10_000, 0, "vertical speed, up positive"),
    Column("bank_deg", "degrees", -90, 90, 1, "bank, right positive"),
    Column("configuration", "step", 0, 9, 0, "configuration step of the aircraft: 0 clean, then 1, 2, ..."),
    Column("identified", "0 or 1", 0, 1, 0, "1 once the station in use has been identified"),
)
"""Every column a recording may have, in the order they are written; the first four must be there."""

_COLUMN = {column.name: column for column in COLUMNS}
_NEEDED = tuple(column.name for column in COLUMNS[:4])
_GEOID = "geoid_ft"  # beside heights above the ellipsoid: what makes heights above the sea of them
_FLAGS = {1.0: "TO", -1.0: "FROM", 0.0: "OFF"}
_FLAG_VALUES = {"TO": 1.0, "FROM": -1.0, "OFF": 0.0, "NONE": 0.0}


@dataclass(frozen=True, eq=False)
class Track:
    """One flown track, in time order; immutable, and every array read-only.

    Parameters
    ----------
    time_s, lat_deg, lon_deg, alt_ft : numpy.ndarray
        Time from the first sample [s], strictly rising; WGS84 position [deg]; altitude above mean sea level [ft].
    heading_deg, ias_kt, ... : numpy.ndarray or None
        The optional columns of :data:`COLUMNS`, in its units, nan where a sample has no value;
        None where the recording has no such column.
    start_utc : datetime or None
        Time of day of the first sample, where known.
    name : str
        File or flight the track came from.
    notes : tuple of str
        What was mended or dropped while reading, one sentence each.
    height_kind : {"altimeter", "pressure", "satellite", "unknown"}
        Where the altitudes come from.
    configuration_names : tuple of str
        Where the recording names its configurations: the names, in the order of the numbers in ``configuration``;
        empty where it numbers them itself.

    Raises
    ------
    BadData
        If the arrays differ in length, are too short, hold nan where a value must be, or time does not rise.
    """

    time_s: Floats
    lat_deg: Floats
    lon_deg: Floats
    alt_ft: Floats
    heading_deg: Floats | None = None
    ias_kt: Floats | None = None
    course_1_deg: Floats | None = None
    course_2_deg: Floats | None = None
    needle_1_deg: Floats | None = None
    needle_2_deg: Floats | None = None
    flag_1: Floats | None = None
    flag_2: Floats | None = None
    dme_nm: Floats | None = None
    vs_fpm: Floats | None = None
    bank_deg: Floats | None = None
    configuration: Floats | None = None
    identified: Floats | None = None
    start_utc: datetime | None = None
    name: str = ""
    notes: tuple[str, ...] = ()
    height_kind: HeightKind = "altimeter"
    configuration_names: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Copy the arrays, lock them and hold the track to its promises."""
        for name in self.columns:
            array = np.array(getattr(self, name), dtype=np.float64).reshape(-1)
            if len(array) != np.size(self.time_s):
                raise BadData(f"{name} has {len(array)} samples and time_s {np.size(self.time_s)}: expected as many")
            array.flags.writeable = False
            object.__setattr__(self, name, array)
        if len(self) < _FEWEST_POINTS:
            raise BadData(f"the track has {len(self)} usable points: at least {_FEWEST_POINTS} are needed")
        for name in _NEEDED:
            if not np.isfinite(getattr(self, name)).all():
                raise BadData(f"{name} has samples without a value: leave those samples out")
        if (np.diff(self.time_s) <= 0).any():
            raise BadData("time_s must rise from sample to sample: sort the samples and leave out doubles")

    @property
    def columns(self) -> tuple[str, ...]:
        """Names of the columns this track has, in the order of :data:`COLUMNS`."""
        return tuple(column.name for column in COLUMNS if getattr(self, column.name) is not None)

    def __len__(self) -> int:
        return int(np.size(self.time_s))

    def part(self, wanted: NDArray[np.bool_] | slice) -> Track:
        """Give the samples chosen by a mask or slice as a track of its own, times kept."""
        chosen = {name: getattr(self, name)[wanted] for name in self.columns}
        return replace(self, **{**dict.fromkeys(_COLUMN), **chosen})


# --- writing ---------------------------------------------------------------------------------


def write(track: Track, path: str | os.PathLike[str]) -> Path:
    """Write a track in the format its file name asks for: ``.csv``, ``.gpx`` or ``.kml``.

    The file appears whole or not at all: an older one of the same name is replaced only at the end.

    Raises
    ------
    BadData
        If the name asks for another format, or the folder cannot be written to.
    """
    target = Path(path)
    writer = _by_suffix(target, {".csv": _csv_text, ".gpx": _gpx_text, ".kml": _kml_text})
    text = writer(track)
    try:
        handle, temporary = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
    except OSError as fault:
        raise BadData(f"{target}: cannot be written ({fault.strerror}): choose another folder") from fault
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as out:
            out.write(text)
        Path(temporary).chmod(0o644)
        Path(temporary).replace(target)
    except OSError as fault:
        Path(temporary).unlink(missing_ok=True)
        raise BadData(f"{target}: cannot be written ({fault.strerror}): choose another folder") from fault
    return target


def _csv_text(track: Track) -> str:
    columns = [_COLUMN[name] for name in track.columns]
    lines = [f"# {CAUTION}", f"# start_utc {(track.start_utc or _EPOCH).isoformat()}"]
    lines += [f"# {column.name}: {column.text} [{column.unit}]" for column in columns]
    lines.append(",".join(column.name for column in columns))
    written = [[_cell(column, value) for value in getattr(track, column.name)] for column in columns]
    lines += [",".join(row) for row in zip(*written, strict=True)]
    return "\n".join(lines) + "\n"


def _cell(column: Column, value: float) -> str:
    if np.isnan(value):
        return ""
    if column.name.startswith("flag_"):
        return _FLAGS[float(np.round(value))]
    return f"{value:.{column.decimals}f}"


def _moments(track: Track) -> list[datetime]:
    start = track.start_utc or _EPOCH
    return [start + timedelta(seconds=round(float(t - track.time_s[0]), 3)) for t in track.time_s]


def _gpx_text(track: Track) -> str:
    import gpxpy.gpx  # here, as no lesson writes one

    document = gpxpy.gpx.GPX()
    document.creator = "needlework"
    document.description = CAUTION
    line = gpxpy.gpx.GPXTrack(name=track.name or None)
    segment = gpxpy.gpx.GPXTrackSegment()
    for when, lat, lon, alt in zip(_moments(track), track.lat_deg, track.lon_deg, track.alt_ft, strict=True):
        point = gpxpy.gpx.GPXTrackPoint(
            round(float(lat), 7), round(float(lon), 7), elevation=round(float(alt) / _FT_PER_M, 2), time=when
        )
        segment.points.append(point)
    line.segments.append(segment)
    document.tracks.append(line)
    text: str = document.to_xml(version="1.1")
    return text


def _kml_text(track: Track) -> str:
    import simplekml  # here, as no lesson writes one

    document = simplekml.Kml(name=track.name or "Flown track")
    line = document.newgxtrack(name=track.name or "Flown track", description=CAUTION)
    line.altitudemode = simplekml.AltitudeMode.absolute
    line.newwhen([when.isoformat().replace("+00:00", "Z") for when in _moments(track)])
    line.newgxcoord(
        [
            (round(float(lon), 7), round(float(lat), 7), round(float(alt) / _FT_PER_M, 2))
            for lat, lon, alt in zip(track.lat_deg, track.lon_deg, track.alt_ft, strict=True)
        ]
    )
    text: str = document.kml()
    return text


# --- reading ---------------------------------------------------------------------------------


def read(path: str | os.PathLike[str]) -> Track:
    """Read a track from a ``.csv``, ``.gpx``, ``.kml``, ``.igc`` or ``.nmea`` file made by any program.

    It may be packed as ``.gz``, or alone in a ``.zip`` or ``.kmz``.

    Parameters
    ----------
    path : path
        The file. At most 64 MB are looked at and 200,000 samples kept; memory stays bounded.

    Returns
    -------
    Track
        The readable part, in time order; ``notes`` says what was mended, converted or left out.

    Raises
    ------
    BadData
        One sentence: what was wrong, what was expected, what to do.
    """
    source = Path(path)
    if source.exists() and not source.is_file():
        raise BadData(f"{source}: is not a file: expected a .csv, .gpx, .kml, .igc or .nmea file")
    if source.suffix.lower() not in packed.PACKED:
        _reader_of(source)
    try:
        with packed.opened(source, {*_READERS, *_ANY_TEXT}) as (inside, stream):
            return (_reader_of(inside) or _by_content(stream))(inside, stream)
    except OSError as fault:
        raise BadData(f"{source}: cannot be opened ({fault.strerror}): check the name and the folder") from fault


def _reader_of(path: Path) -> Callable[[Path, Any], Track] | None:
    """Say who reads a file by its ending; None where only what it holds can tell."""
    return None if path.suffix.lower() in _ANY_TEXT else _by_suffix(path, _READERS)


def _by_suffix(path: Path, choices: Mapping[str, _Choice]) -> _Choice:
    suffix = path.suffix.lower()
    if suffix not in choices:
        raise BadData(f"{path.name}: {suffix or 'no ending'} is not a known format: expected {', '.join(choices)}")
    return choices[suffix]


def _lines(name: str, stream: Any, notes: list[str]) -> Iterator[str]:
    """Yield the lines of a text file, each of bounded length, as far as the file is text and its bound allows."""
    taken, begins = 0, stream.read(2)
    stream.seek(0)
    if begins in (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE):  # "Unicode text" of a spreadsheet
        stream = codecs.EncodedFile(stream, "utf-8", "utf-16")
    while raw := stream.readline(_LONGEST_LINE):
        first, taken = not taken, taken + len(raw)
        damage = ""
        if b"\0" in raw:
            damage = "bytes that are no text"
        elif len(raw) == _LONGEST_LINE and not raw.endswith(b"\n"):
            damage = f"a line longer than {_LONGEST_LINE:,} characters"
        if damage and first:
            raise BadData(
                f"{name}: begins with {damage}: expected CSV, one sample a line, saved as plain text (UTF-8)"
            )
        if damage:
            notes.append(
                f"The file holds {damage} after {taken - len(raw):,} bytes: only what stands before was read."
            )
            return
        yield raw.decode("utf-8-sig" if first else "utf-8", errors="replace").rstrip("\r\n")
        if taken > _MOST_BYTES:
            notes.append(f"Only the first {_MOST_BYTES // 1_000_000} MB were read; the rest was left out.")
            return


def _read_csv(path: Path, stream: Any) -> Track:
    name = path.name
    notes: list[str] = []
    lines = _lines(name, stream, notes)
    start_utc: datetime | None = None
    columns: dict[int, str] | None = None
    factors: dict[str, float] | None = None
    delimiter, date_at, place_at = ",", None, None
    sides: dict[int, str] = {}
    kind: HeightKind = "unknown"
    ahead_s = 0.0
    first_row = remark = ""
    offset_at = None
    for line in lines:
        if line.startswith("# start_utc "):
            start_utc = heads.moment(line.removeprefix("# start_utc "))
        if not line.strip() or line.startswith("#"):
            remark = line.removeprefix("#")
            continue
        if line.lstrip().startswith("<"):
            raise BadData(f"{name}: holds XML, not CSV: give the file its right ending, .gpx or .kml")
        first_row, tried = first_row or line, line
        delimiter = max(",;\t", key=line.count)
        cells_said = [cell.strip().strip('"') for cell in tried.split(delimiter)]
        units = [cell.strip().strip('"') for cell in remark.split(delimiter)]
        found = _header(name, cells_said, units if len(units) == len(cells_said) else [], notes)
        if found is not None:
            offset_at = next((at for at, cell in enumerate(cells_said) if heads.is_offset(cell)), None)
            columns, factors, date_at, place_at, kind, ahead_s, sides = found
            break
        notes.append(f"A line before the column names left out: {tried[:40].strip()}.")
        if len(notes) > _MOST_TITLES:
            break
    if not first_row:
        raise BadData(f"{name}: is empty: expected a row of column names, then one row a sample")
    if columns is None or factors is None:
        raise BadData(
            f"{name}: the first row names no known column: expected at least {', '.join(_NEEDED)} as names, "
            "then one row a sample"
        )
    in_one = () if place_at is None else ("lat_deg", "lon_deg")
    values: dict[str, list[float]] = {column: [] for column in (*columns.values(), *in_one)}
    named: dict[str, int] = {}
    first_moment: datetime | None = None
    unreadable = in_a_row = rows = short = 0
    day_s = last_s = 0.0
    for row in _rows(name, lines, delimiter):
        rows += 1
        cells = {column: row[at] if at < len(row) else "" for at, column in columns.items()}
        if offset_at is not None and offset_at < len(row):
            ahead_s = heads.ahead_s(row[offset_at]) or ahead_s
        if date_at is not None and date_at < len(row):
            cells["time_s"] = f"{row[date_at].strip()} {cells['time_s'].strip()}"
        if place_at is not None:
            cells["lat_deg"], cells["lon_deg"] = heads.place(row[place_at] if place_at < len(row) else "")
        for at, column in sides.items():
            cells[column] += row[at] if at < len(row) else ""
        short += len(row) <= max(columns)
        time_s, moment, of_day = _time_of(cells["time_s"], delimiter)
        if time_s is None:
            unreadable, in_a_row = unreadable + 1, in_a_row + 1
            if in_a_row < _MOST_UNREADABLE:
                continue
            notes.append(f"Nothing readable after row {rows - in_a_row:,}: the rest of the file was left out.")
            unreadable, rows = unreadable - in_a_row, rows - in_a_row
            break
        in_a_row = 0
        if of_day:  # the clock falls back by most of a day only at midnight
            day_s += _DAY_S if last_s - time_s > _DAY_S / 2 else 0.0
            last_s, time_s = time_s, time_s + day_s
        first_moment = first_moment or (moment - timedelta(seconds=ahead_s) if moment else None)
        for column, text in cells.items():
            if column == "configuration" and (word := text.strip().strip('"').lower()) and not word[0].isdigit():
                values[column].append(float(named.setdefault(word, len(named))) if len(named) < 10 else float("nan"))
            else:
                values[column].append(time_s if column == "time_s" else _number(column, text, delimiter))
        if len(values["time_s"]) >= _MOST_POINTS:
            notes.append(f"Only the first {_MOST_POINTS:,} samples were read; the rest of the file was left out.")
            break
    if not values["time_s"] or unreadable > rows / 2:
        raise BadData(
            f"{name}: {rows - unreadable:,} of {_count(rows, 'row')} begin with a readable time: expected numbers, "
            "one sample a row, under the column names of the first row"
        )
    if unreadable:
        notes.append(f"{_count(unreadable, 'row')} without a readable time left out.")
    if short:
        notes.append(f"{_count(short, 'row')} shorter than the first row: the file may be cut off there.")
    arrays = {
        column: np.array(numbers) * (1.0 if column == "time_s" and first_moment else factors[column])
        for column, numbers in values.items()
    }
    if _GEOID in arrays:
        arrays["alt_ft"] = arrays["alt_ft"] - arrays.pop(_GEOID)
        notes.append("Heights above the ellipsoid made heights above the sea by the geoid separation beside them.")
    for column in ("course_1_deg", "course_2_deg"):
        if column in arrays and not heads.turned_by_hand(arrays[column]):
            del arrays[column]
            notes.append("A course that changes all the time is a track over the ground, not a selector: not used.")
    return replace(_mended(name, arrays, notes, start_utc or first_moment, kind), configuration_names=tuple(named))


def _rows(name: str, lines: Iterator[str], delimiter: str) -> Iterator[list[str]]:
    try:
        yield from filter(None, csv.reader((line for line in lines if not line.startswith("#")), delimiter=delimiter))
    except csv.Error as fault:
        raise BadData(
            f"{name}: has a cell that never ends: a quotation mark is open; save it again as CSV"
        ) from fault


def _by_content(stream: Any) -> Callable[[Path, Any], Track]:
    """Say who reads a file whose ending says nothing, by its first characters."""
    begins = stream.read(_FIRST_BYTES).lstrip()
    stream.seek(0)
    if begins.startswith(b"<"):
        return _read_xml
    if re.match(rb"(\S+ +)?\$[A-Z]{5},", begins):
        return _read_nmea
    return _read_igc if begins.startswith(b"A") and b"HFDTE" in begins else _read_csv


_Header = tuple[dict[int, str], dict[str, float], int | None, int | None, HeightKind, float, dict[int, str]]


def _header(name: str, cells: list[str], units: list[str], notes: list[str]) -> _Header | None:
    """Match a row against the known names.

    ``units``: what a remark right above says of the unit of each, empty where none does; only a height, whose head
    may hold feet as well as metres, is read by it.

    Gives the place of each column, the factor to its unit, the place of a date and of a position in one cell, the
    kind of the heights, the seconds that the clock is ahead of UTC, and the places of letters of a hemisphere with
    the column each belongs to. Of several heights the altimeter's is taken, which is what the pilot flew by.

    None for a row that names none of them, such as a title.
    """
    columns: dict[int, str] = {}
    factors: dict[str, float] = {}
    said: list[str] = []
    ignored: list[str] = []
    date_at: int | None = None
    place_at: int | None = None
    kind: HeightKind = "unknown"
    ahead_s = 0.0
    geoid_at: int | None = None
    sides = {at: column for at, cell in enumerate(cells) if (column := heads.side_of(cell)) is not None}
    for at, cell in enumerate(cells):
        if at in sides:
            continue
        exact = cell.lower()
        head = heads.Head(exact, 1.0, "") if exact in _COLUMN else heads.known(cell)
        if units and head is not None and head.silent and (told := heads.known(f"{cell} ({units[at]})")) is not None:
            head, cell = told, f"{cell} ({units[at]})"
        if head is None and heads.is_date(cell):
            date_at = at
            continue
        if head is None and heads.is_place(cell):
            place_at = at
            continue
        if head is None and heads.geoid_ft(cell) is not None:
            geoid_at = at
            continue
        if head is not None and head.column == "alt_ft" and "alt_ft" in factors:
            if kind == "altimeter" or heads.height_kind(cell) != "altimeter":
                ignored.append(cell)
                continue
            before = next(place for place, column in columns.items() if column == "alt_ft")
            ignored.append(cells[before])
            del columns[before], factors["alt_ft"]
        if head is None or head.column in factors:
            if cell:
                ignored.append(cell)
            continue
        columns[at], factors[head.column] = head.column, head.factor
        if head.column == "alt_ft":
            kind = heads.height_kind(cell)
        if head.column == "time_s":
            ahead_s = heads.zone_s(cell) or 0.0
        if head.factor != 1.0:
            said.append(f"{cell} is in {head.unit}: converted to {_COLUMN[head.column].unit}.")
        elif head.silent:
            said.append(f"{cell} names no unit: read as feet.")
    if geoid_at is not None:
        height = next((cells[at] for at, column in columns.items() if column == "alt_ft"), "")
        if heads.above_ellipsoid(height):
            columns[geoid_at], factors[_GEOID] = _GEOID, heads.geoid_ft(cells[geoid_at]) or 1.0
        else:
            ignored.append(cells[geoid_at])
    if date_at is not None and "time_s" not in factors:
        columns[date_at], factors["time_s"], date_at = "time_s", 1.0, None
    if place_at is not None and not {"lat_deg", "lon_deg"} & factors.keys():
        factors["lat_deg"] = factors["lon_deg"] = 1.0
    else:
        place_at = None
    missing = [column for column in _NEEDED if column not in factors]
    if len(missing) == len(_NEEDED):
        return None
    if missing:
        raise BadData(
            f"{name}: has no column {' and no '.join(missing)}: expected at least {', '.join(_NEEDED)} "
            f"(found {', '.join(list(factors) + ignored)})"
        )
    notes += said
    if ignored:
        shown = ", ".join(ignored[:8]) + (" and more" if len(ignored) > 8 else "")
        notes.append(f"Columns not used: {shown}.")
    sides = {at: column for at, column in sides.items() if column in columns.values()}
    return columns, factors, date_at, place_at, kind, ahead_s, sides


def _number(column: str, text: str, delimiter: str) -> float:
    """Read one cell; nan where it is empty, unreadable or cannot be meant."""
    text = text.strip().strip('"')
    if column.startswith("flag_") and text.upper() in _FLAG_VALUES:
        return _FLAG_VALUES[text.upper()]
    if column not in _PLACES_AND_TIME and _THOUSANDS.fullmatch(text) and delimiter == ",":
        text = text.replace(",", "")
    text = text.replace(",", ".")
    try:
        return float(text) if "_" not in text else float("nan")
    except ValueError:
        lettered = heads.angle(text) if column in ("lat_deg", "lon_deg") else None
        return float("nan") if lettered is None else lettered


def _time_of(text: str, delimiter: str) -> tuple[float | None, datetime | None, bool]:
    """Read a time: its seconds, its moment where it has a date, and whether it is a time of day."""
    text = text.strip().strip('"')
    number = _number("time_s", text, delimiter)
    if np.isfinite(number):
        seconds = heads.since_1970_s(number)
        dated = datetime.fromtimestamp(seconds, tz=UTC) if 1e9 < seconds < 4e9 else None
        return (seconds if dated else number), dated, False
    if text[1:3].count(":") and len(text) <= 15:  # h:mm:ss or hh:mm:ss.fff
        try:
            clock = time.fromisoformat(text if text[2] == ":" else f"0{text}")
        except ValueError:
            return None, None, False
        return clock.hour * 3600 + clock.minute * 60 + clock.second + clock.microsecond / 1e6, None, True
    moment = heads.moment(text)
    return (moment.timestamp(), moment, False) if moment else (None, None, False)


def _read_lines(path: Path, stream: Any, reader: Callable[[Iterator[str]], Raw], sort: str) -> Track:
    """Read a format of one record a line."""
    notes: list[str] = []
    raw = reader(_lines(path.name, stream, notes))
    if raw.refusal or not raw.count:
        raise BadData(f"{path.name}: {raw.refusal or f'holds no fixes: expected {sort}'}")
    return _mended(path.name, raw.arrays(), notes + raw.notes, raw.start_utc, raw.height_kind)


def _read_igc(path: Path, stream: Any) -> Track:
    return _read_lines(path, stream, igc.read, "an IGC file of a flight recorder, with B records")


def _read_nmea(path: Path, stream: Any) -> Track:
    return _read_lines(path, stream, nmea.read, "NMEA 0183 with GGA and RMC sentences")


class _TooDeep(Exception):
    """The XML nests deeper than any track file does."""


class _Enough(Exception):
    """As many points as are kept have been read."""


class _Points(ContentHandler):
    """Collect the timed points of a GPX or KML stream and nothing else."""

    def __init__(self) -> None:
        super().__init__()
        self.rows: list[tuple[datetime, float, float, float]] = []
        self.unreadable = self.untimed = self.depth = 0
        self.above_ground = False
        self.root = ""
        self._text = ""
        self._here: dict[str, str] | None = None
        self._whens: list[str] = []
        self._coords: list[str] = []
        self._points: list[str] = []

    def startElement(self, name: str, attrs: Any) -> None:  # noqa: N802 (the parser's own name)
        """Note where we are."""
        self.depth += 1
        if self.depth > _MOST_DEPTH:
            raise _TooDeep
        tag = name.rpartition(":")[2]
        self.root = self.root or tag.lower()
        self._text = ""
        if tag == "trkpt":
            self._here = {"lat": attrs.get("lat", ""), "lon": attrs.get("lon", "")}

    def characters(self, content: str) -> None:
        """Keep the text of the innermost element, up to a bound."""
        if len(self._text) < _LONGEST_TEXT:
            self._text += content

    def endElement(self, name: str) -> None:  # noqa: N802 (the parser's own name)
        """Take what the element held."""
        self.depth -= 1
        tag, text = name.rpartition(":")[2], self._text.strip()
        self._text = ""
        if self._here is not None and tag in ("ele", "time"):
            self._here.setdefault(tag, text)
        elif tag == "trkpt" and self._here is not None:
            here, self._here = self._here, None
            self._take(here.get("time", ""), here["lat"], here["lon"], here.get("ele", ""))
        elif tag == "when" and len(self._whens) < _MOST_POINTS:  # all times may stand before all places
            self._whens.append(text)
        elif tag == "coord" and len(self._coords) < _MOST_POINTS:
            self._coords.append(text)
        elif tag == "coordinates" and len(self._points) < _MOST_POINTS:
            self._points.append(text)
        elif tag == "Placemark":
            self._finish_points()
        elif tag == "altitudeMode" and text == "relativeToGround":
            self.above_ground = True
        elif tag == "Track":
            self.finish()
        if len(self.rows) + min(len(self._whens), len(self._coords)) >= _MOST_POINTS:
            raise _Enough

    def _finish_points(self) -> None:
        """Take the place mark read so far: one place with one time is a sample, any other has no time."""
        if len(self._points) == len(self._whens) == 1 and not self._coords and len(self._points[0].split()) == 1:
            lon, lat, alt = [*self._points[0].split(","), "", "", ""][:3]
            self._take(self._whens[0], lat, lon, alt)
            self._whens = []
        else:
            self.untimed += len(self._points)
        self._points = []

    def finish(self) -> None:
        """Pair the times and places of a KML track read so far."""
        for when, coord in zip(self._whens, self._coords, strict=False):
            lon, lat, alt = [*coord.split(), "", "", ""][:3]
            self._take(when, lat, lon, alt)
        self._whens, self._coords = [], []

    def _take(self, when: str, lat: str, lon: str, alt: str) -> None:
        moment = heads.moment(when)
        try:
            place = float(lat), float(lon), float(alt)
        except ValueError:
            self.unreadable += 1
            return
        if moment is None:
            self.untimed += 1
        else:
            self.rows.append((moment, *place))


def _read_xml(path: Path, stream: Any) -> Track:
    name = path.name
    notes: list[str] = []
    handler = _Points()
    parser = defusedxml.sax.make_parser()
    parser.forbid_dtd = True
    parser.setContentHandler(handler)
    taken, broken = 0, ""
    try:
        while chunk := stream.read(_CHUNK):
            taken += len(chunk)
            if taken > _MOST_BYTES:
                notes.append(f"Only the first {_MOST_BYTES // 1_000_000} MB were read; the rest was left out.")
                break
            parser.feed(chunk)
        else:
            if taken:
                parser.close()
    except DefusedXmlException as fault:
        raise BadData(
            f"{name}: declares a document type or entities, which no track needs and which can harm: "
            "export the track again"
        ) from fault
    except _TooDeep as fault:
        raise BadData(f"{name}: nests deeper than any track file: expected GPX 1.1 or KML") from fault
    except _Enough:
        notes.append(f"Only the first {_MOST_POINTS:,} samples were read; the rest of the file was left out.")
    except (SAXParseException, ValueError, LookupError) as fault:
        broken = f"line {fault.getLineNumber()}" if isinstance(fault, SAXParseException) else "its encoding"
    handler.finish()
    handler.untimed += len(handler._points)
    if not taken:
        raise BadData(f"{name}: is empty: expected a track in GPX 1.1 or KML")
    if not handler.rows:
        raise BadData(f"{name}: {_why_no_points(handler, broken)}")
    if broken:
        notes.append(
            f"The file is damaged or cut off at {broken}: "
            f"the {_count(len(handler.rows), 'point')} before it were read."
        )
    if handler.untimed:
        notes.append(f"{_count(handler.untimed, 'point')} without a time left out.")
    if handler.unreadable:
        notes.append(f"{_count(handler.unreadable, 'point')} without a readable position and altitude left out.")
    if handler.above_ground:
        notes.append("Heights are marked as above ground, not above sea level: they were read as above sea level.")
    moments, lat, lon, alt = zip(*handler.rows, strict=True)
    arrays = {
        "time_s": np.array([moment.timestamp() for moment in moments]),
        "lat_deg": np.array(lat),
        "lon_deg": np.array(lon),
        "alt_ft": np.array(alt) * _FT_PER_M,
    }
    return _mended(name, arrays, notes, moments[0], "unknown")


def _why_no_points(handler: _Points, broken: str) -> str:
    if handler.root not in ("gpx", "kml"):
        return "is not a GPX or KML file: expected a track in GPX 1.1 or KML"
    if handler.untimed:
        return "its points carry no times, so no speed can be told: export the track with times (in KML a gx:Track)"
    if handler.unreadable:
        return "its points carry no altitudes: export the track with altitudes"
    if broken:
        return f"is damaged at {broken} before the first point: export the track again"
    return "holds no track points: expected a recorded track, not a route or a place mark"


_READERS: dict[str, Callable[[Path, Any], Track]] = {
    ".csv": _read_csv,
    ".gpx": _read_xml,
    ".kml": _read_xml,
    ".igc": _read_igc,
    ".nmea": _read_nmea,
    ".nma": _read_nmea,
}
"""Who reads which ending."""


# --- mending ---------------------------------------------------------------------------------


def _count(number: int, noun: str) -> str:
    return f"{number:,} {noun}{'' if number == 1 else 's'}"


def _mended(
    name: str, arrays: dict[str, Floats], notes: list[str], start_utc: datetime | None, kind: HeightKind
) -> Track:
    """Drop what cannot be, keep the longest run in time order, notice wrong units, and say all of it."""
    for column in list(arrays):
        known, values = _COLUMN[column], arrays[column]
        with np.errstate(invalid="ignore"):
            bad = np.isinf(values) | (values < known.low) | (values > known.high)
        arrays[column] = np.where(bad, np.nan, values)
        if bad.any() and column not in _NEEDED:
            notes.append(
                f"{column}: {_count(int(bad.sum()), 'value')} outside {known.low:g} to {known.high:g} ignored."
            )
        if column not in _NEEDED and np.isnan(arrays[column]).all():
            del arrays[column]
    usable = np.isfinite([arrays[column] for column in _NEEDED]).all(axis=0)
    usable &= ~((arrays["lat_deg"] == 0) & (arrays["lon_deg"] == 0))  # what a receiver without a fix writes
    if (~usable).any():
        notes.append(f"{_count(int((~usable).sum()), 'sample')} without a usable position or altitude left out.")
    arrays = {column: values[usable] for column, values in arrays.items()}
    _enough(name, len(arrays["time_s"]), len(usable))

    if (np.diff(arrays["time_s"]) < 0).mean() > _LATEST_FIRST:
        arrays = {column: values[::-1] for column, values in arrays.items()}
        notes.append("The latest sample stood first: turned round.")
        if start_utc is not None:
            start_utc -= timedelta(seconds=float(arrays["time_s"][-1] - arrays["time_s"][0]))
    ordered = _longest_rise(arrays["time_s"])
    if len(ordered) < len(arrays["time_s"]):
        lost = len(arrays["time_s"]) - len(ordered)
        if len(ordered) < len(arrays["time_s"]) / 2:
            raise BadData(
                f"{name}: time runs backwards or stands still in {lost:,} of {len(arrays['time_s']):,} samples: "
                "expected samples in the order they were flown"
            )
        notes.append(f"{_count(lost, 'sample')} with a repeated or backward time left out.")
    arrays = {column: values[ordered] for column, values in arrays.items()}
    arrays["lon_deg"] = np.where(arrays["lon_deg"] > 180, arrays["lon_deg"] - 360, arrays["lon_deg"])

    kept = ~_spikes(arrays)
    if (~kept).any():
        notes.append(f"{_count(int((~kept).sum()), 'sample')} far off the line of the others left out.")
    arrays = {column: values[kept] for column, values in arrays.items()}
    _enough(name, len(arrays["time_s"]), len(usable))

    whole = len(arrays["time_s"])
    used = trimming.flown(arrays)
    if used.stop - used.start < whole:
        first_s, last_s = arrays["time_s"][[0, -1]]
        lost_s = arrays["time_s"][used.start] - first_s + last_s - arrays["time_s"][used.stop - 1]
        notes.append(f"{lost_s / 60.0:,.0f} min of standing before and after the flight left out.")
        if start_utc is not None:
            start_utc = start_utc + timedelta(seconds=float(arrays["time_s"][used.start] - first_s))
        arrays = {column: values[used] for column, values in arrays.items()}
    arrays["time_s"] = arrays["time_s"] - arrays["time_s"][0]
    _mend_units(arrays, notes)
    step_s = np.diff(arrays["time_s"])
    usual_s = float(np.median(step_s))
    gaps = step_s > max(15.0, 5 * usual_s)
    if gaps.any():
        at = float(arrays["time_s"][:-1][gaps][0])
        longest = float(step_s[gaps].max())
        notes.append(
            f"{_count(int(gaps.sum()), 'gap')} in the recording, "
            f"the first at {at:,.0f} s, the longest {longest:,.0f} s."
        )
    columns: dict[str, Any] = dict(arrays)
    return Track(**columns, start_utc=start_utc, name=name, notes=tuple(notes), height_kind=kind)


def of_kind(track: Track, kind: HeightKind) -> Track:
    """Give the same track with the kind of its heights as somebody knows it."""
    return replace(track, height_kind=kind)


def flights(track: Track) -> tuple[Track, ...]:
    """Give the flights of a recording one by one: cut where it stands for minutes or was not recorded.

    Times start anew with each flight. A recording of one flight comes back as it is.
    """
    cuts = trimming.parts({name: getattr(track, name) for name in _NEEDED})
    if len(cuts) < 2:
        return (track,)
    found = []
    for number, cut in enumerate(cuts, 1):
        part = track.part(cut)
        begun_s = float(part.time_s[0] - track.time_s[0])
        start = None if track.start_utc is None else track.start_utc + timedelta(seconds=begun_s)
        note = f"Flight {number} of {len(cuts)} in the file, from {begun_s / 60.0:,.0f} min on."
        found.append(replace(part, time_s=part.time_s - part.time_s[0], start_utc=start, notes=(*track.notes, note)))
    return tuple(found)


def _enough(name: str, usable: int, given: int) -> None:
    if usable < _FEWEST_POINTS:
        raise BadData(
            f"{name}: {usable} of {_count(given, 'sample')} can be used: at least {_FEWEST_POINTS} with time, "
            "position and altitude are needed"
        )


def _longest_rise(time_s: Floats) -> NDArray[np.intp]:
    """Indices of the longest strictly rising run of times (so one wild clock value costs one sample)."""
    if (np.diff(time_s) > 0).all():
        return np.arange(len(time_s))
    tails: list[float] = []
    tail_at: list[int] = []
    before = np.full(len(time_s), -1)
    for at, value in enumerate(time_s.tolist()):
        length = bisect.bisect_left(tails, value)
        before[at] = tail_at[length - 1] if length else -1
        if length == len(tails):
            tails.append(value)
            tail_at.append(at)
        else:
            tails[length], tail_at[length] = value, at
    chain = [tail_at[-1]]
    while before[chain[-1]] >= 0:
        chain.append(int(before[chain[-1]]))
    return np.array(chain[::-1])


def ground_velocity_kt(time_s: Floats, lat_deg: Floats, lon_deg: Floats) -> tuple[Floats, Floats]:
    """East and north ground speed between samples [kt], one value fewer than samples; flat earth, within 1 %."""
    east = (np.mod(np.diff(lon_deg) + 180, 360) - 180) * np.cos(np.deg2rad((lat_deg[1:] + lat_deg[:-1]) / 2))
    north = np.diff(lat_deg)
    scale = _NM_PER_DEG * 3600.0 / np.diff(time_s)
    return east * scale, north * scale


def _velocity(arrays: Mapping[str, Floats]) -> tuple[Floats, Floats]:
    return ground_velocity_kt(arrays["time_s"], arrays["lat_deg"], arrays["lon_deg"])


def _spikes(arrays: Mapping[str, Floats]) -> NDArray[np.bool_]:
    """Single samples reached and left at an impossible speed while their neighbours agree."""
    east, north = _velocity(arrays)
    fast = np.hypot(east, north) > _FASTEST_KT
    spike = np.zeros(len(arrays["time_s"]), dtype=bool)
    spike[1:-1] = fast[1:] & fast[:-1]
    spike[0] = fast[0] and not fast[1]
    spike[-1] = fast[-1] and not fast[-2]
    # Two jumps in a row are a spike only if skipping the middle one makes the speed plausible again.
    for at in np.flatnonzero(spike[1:-1]) + 1:
        pair = {name: arrays[name][[at - 1, at + 1]] for name in ("time_s", "lat_deg", "lon_deg")}
        spike[at] = bool(np.hypot(*_velocity(pair))[0] <= _FASTEST_KT)
    return spike


def _mend_units(arrays: dict[str, Floats], notes: list[str]) -> None:
    """Notice metres under a name in feet, and km/h under a name in knots, where the file itself proves it."""
    if "vs_fpm" in arrays:
        ratio = _slope(arrays["vs_fpm"][1:] / 60 * np.diff(arrays["time_s"]), np.diff(arrays["alt_ft"]))
        if 0.25 < ratio < 0.36:
            arrays["alt_ft"] = arrays["alt_ft"] * _FT_PER_M
            notes.append(
                f"alt_ft changes {ratio:.2f} times as fast as vs_fpm says, so it holds metres: converted to feet."
            )
    if "ias_kt" in arrays:
        ratio = _air_to_ground(arrays)
        if 0.45 < ratio < 0.68:
            arrays["ias_kt"] = arrays["ias_kt"] * _KT_PER_KMH
            notes.append(
                f"The ground passes at {ratio:.2f} times ias_kt whatever the direction, so it holds km/h: "
                "converted to knots."
            )


def _slope(given: Floats, seen: Floats) -> float:
    """Least-squares factor from one rate to another; nan where there is too little movement to tell."""
    usable = np.isfinite(given) & np.isfinite(seen)
    if usable.sum() < 10 or np.abs(given[usable]).sum() < 500:
        return float("nan")
    return float((given[usable] * seen[usable]).sum() / (given[usable] ** 2).sum())


def _air_to_ground(arrays: Mapping[str, Floats]) -> float:
    """Ratio of true to indicated speed that fits the track in one steady wind; nan where it cannot be told."""
    east, north = _velocity(arrays)
    ias = (arrays["ias_kt"][1:] + arrays["ias_kt"][:-1]) / 2
    usable = np.isfinite(ias) & (ias > 40) & (np.hypot(east, north) < _FASTEST_KT)
    direction = np.arctan2(east, north)
    directions = len(np.unique(np.floor(np.rad2deg(direction[usable]) / 30)))
    if usable.sum() < 60 or directions < 6:  # half a turn at least, or wind and airspeed cannot be told apart
        return float("nan")
    east, north, ias = east[usable], north[usable], ias[usable]
    # Ground velocities in one steady wind lie on a circle about it: |ground|^2 is linear in twice the
    # centre (the wind) and in radius^2 - centre^2; the radius is the true airspeed.
    design = np.column_stack([2 * east, 2 * north, np.ones_like(east)])
    wind_east, wind_north, rest = np.linalg.lstsq(design, east**2 + north**2, rcond=None)[0]
    return float(np.sqrt(max(rest + wind_east**2 + wind_north**2, 0.0)) / ias.mean())
