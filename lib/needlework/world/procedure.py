"""Approach procedures as data: read from a file, checked through and through, frozen."""

from __future__ import annotations

import datetime
import re
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike

from needlework.basis.errors import BadData, OutOfRange
from needlework.basis.places import PROCEDURES, own_lessons
from needlework.basis.quantity import Constant, Result, plain, within
from needlework.trade import geodesy
from needlework.trade.angles import difference_deg
from needlework.trade.holding import outbound_end_nm
from needlework.world.datafiles import (
    AnyPart,
    Part,
    datasets_dir,
    did_you_mean,
    make,
    one_of,
    read_toml,
    refuse,
    shown,
)
from needlework.world.procedure_faults import find_faults
from needlework.world.procedure_parts import (
    IDENT,
    Airport,
    Descent,
    Entry,
    Fix,
    Head,
    Hold,
    Leg,
    Minimum,
    Minimums,
    Missed,
    ReceiverCheck,
    Runway,
    SectorAltitude,
    Station,
    along_nm,
    in_sector,
    leg_text,
)

_DISTANCE_ROUNDING_NM = 0.001
_EXAMPLE = "{kind}.A = {{ mda_ft = 560, visibility_m = 1600 }}"

STEEPEST_FT_NM = Constant(450.0, "ft/NM", "common-practice", "steepest descent from minimums to a normal landing")


@dataclass(frozen=True)
class FinalFix:
    """One row of the final table a pilot writes on the kneeboard.

    ``dme_nm`` is None where the station has no DME; ``to_go_nm`` is the distance to the threshold;
    ``trend`` says whether the DME falls or rises on the way there.
    """

    name: str
    dme_nm: float | None
    to_go_nm: float
    altitude_ft: float
    trend: Literal["falls", "rises"]


@dataclass(frozen=True)
class Procedure:
    """One approach procedure. Courses and radials are magnetic by the station's alignment."""

    file: str
    name: str
    effective_from: datetime.date
    effective_until: datetime.date | None
    notes: tuple[str, ...]
    airport: Airport
    runway: Runway
    station: Station
    other_stations: tuple[Station, ...]
    receiver_checks: tuple[ReceiverCheck, ...]
    sector_altitudes: tuple[SectorAltitude, ...]
    fixes: tuple[Fix, ...]
    entries: tuple[Entry, ...]
    legs: tuple[Leg, ...]
    descent_angle_deg: float
    minimums: Minimums
    missed: Missed
    hold: Hold

    # --- points -------------------------------------------------------------------------------

    @cached_property
    def _points(self) -> dict[str, Fix]:
        station, runway = self.station.ident, self.runway
        points = {
            station: Fix(name=station, radial_deg=0.0, distance_nm=0.0),
            "threshold": Fix(
                name="threshold", radial_deg=runway.threshold_radial_deg, distance_nm=runway.threshold_distance_nm
            ),
        }
        return points | {fix.name: fix for fix in self.fixes}

    def fix(self, name: str) -> Fix:
        """Look a fix up by name; the station's ident and ``"threshold"`` count too."""
        if name not in self._points:
            raise BadData(f"{self.name} has no fix {name}: {did_you_mean(name, self._points)}")
        return self._points[name]

    def position(self, name: str) -> tuple[float, float]:
        """Latitude and longitude of a fix, by its ground distance. [deg], WGS84."""
        fix = self.fix(name)
        return self.position_of(fix.radial_deg, fix.dist_nm)

    def position_of(self, radial_deg: float, dist_nm: float) -> tuple[float, float]:
        """Latitude and longitude of a radial and ground distance of the station. [deg], WGS84."""
        at = self.station
        lat_deg, lon_deg = geodesy.fix_position(
            station_lat_deg=at.lat_deg,
            station_lon_deg=at.lon_deg,
            declination_deg=at.declination_deg,
            radial_deg=radial_deg,
            dist_nm=dist_nm,
        )
        return float(lat_deg), float(lon_deg)

    # --- the way in ---------------------------------------------------------------------------

    def route(self, entry: str | None = None) -> tuple[Leg, ...]:
        """Legs in flying order for one initial approach fix (the first one when left out)."""
        names = [way.fix for way in self.entries]
        chosen = names[0] if entry is None else entry
        if chosen not in names:
            raise BadData(f"{self.name} does not begin at {chosen}: {did_you_mean(chosen, names)}")
        return tuple(leg for leg in self.legs if leg.entry in (None, chosen))

    def trend(self, leg: Leg) -> Literal["falls", "rises", "steady"]:
        """What the DME does along a leg (in a procedure turn: falls, as it ends inbound)."""
        if leg.kind == "arc":
            return "steady"
        if leg.kind == "timed":
            return "rises"
        if leg.start is None or leg.end is None:
            return "falls"
        return "rises" if self.fix(leg.end).dist_nm > self.fix(leg.start).dist_nm else "falls"

    def leg_floor_ft(self, leg: Leg, category: str = "A", *, remote: bool = False) -> float:
        """Lowest altitude on a leg: its minimum, or the MDA on the last final leg. [ft]"""
        return self.mda_ft(category, remote=remote) if leg.minimum_ft is None else leg.minimum_ft

    def sector_altitude_ft(self, radial_deg: float) -> float:
        """Minimum sector altitude on a radial: the highest that applies. [ft]"""
        radial = float(within("radial_deg", radial_deg, 0, 360, "deg"))
        return max(s.altitude_ft for s in self.sector_altitudes if in_sector(s, radial))

    # --- final --------------------------------------------------------------------------------

    @cached_property
    def final_legs(self) -> tuple[Leg, ...]:
        """Legs of the final segment."""
        return tuple(leg for leg in self.legs if leg.segment == "final")

    @cached_property
    def final_course_deg(self) -> float:
        """Final approach course. [deg], magnetic."""
        return float(self.final_legs[-1].course_deg or 0.0)

    @property
    def final_fix(self) -> str:
        """Name of the final approach fix."""
        return str(self.final_legs[0].start)

    @property
    def step_downs(self) -> tuple[str, ...]:
        """Names of the step-down fixes between the final fix and the missed approach point."""
        return tuple(str(leg.end) for leg in self.final_legs[:-1])

    @property
    def station_before_runway(self) -> bool:
        """True if the last of the final is flown away from the station, so that the DME rises to the MAP."""
        return self.trend(self.final_legs[-1]) == "rises"

    @property
    def map_by_dme(self) -> bool:
        """True if the DME gives the missed approach point, False if only the clock does."""
        return self.fix("MAP").dme_nm is not None

    @cached_property
    def final_fix_ft(self) -> float:
        """Lowest altitude at the final approach fix, where the descent line begins. [ft]"""
        return float(next(leg.end_ft for leg in self.legs if leg.end == self.final_fix and leg.end_ft is not None))

    @property
    def crossing_ft(self) -> float:
        """Altitude of the descent line over the threshold. [ft]"""
        return self.runway.threshold_elevation_ft + self.runway.crossing_height_ft

    @property
    def gradient_ft_nm(self) -> float:
        """Gradient of the descent line from the final fix to the crossing height. [ft/NM]"""
        return (self.final_fix_ft - self.crossing_ft) / self.fix_to_go_nm(self.final_fix)

    @property
    def final_fix_to_map_nm(self) -> float:
        """Distance from the final fix to the missed approach point. [NM]"""
        return self.fix_to_go_nm(self.final_fix) - self.fix_to_go_nm("MAP")

    def line_ft(self, to_go_nm: ArrayLike) -> Result:
        """Altitude of the descent line at a distance before the threshold. [ft]"""
        to_go = within("to_go_nm", to_go_nm, 0, 60, "NM")
        return plain(self.crossing_ft + to_go * self.gradient_ft_nm)

    def to_go_nm(self, dme_nm: ArrayLike, *, inbound: bool) -> Result:
        """Distance to the threshold along the straight-in line, for a ground distance from the station.

        ``inbound`` is True where the aircraft flies towards the station: always in a procedure whose
        station stands beyond the runway, and before station passage in the others. [NM]; negative
        beyond the threshold.
        """
        dist = within("dme_nm", dme_nm, 0, 199, "NM")
        past_station = -dist if inbound else dist
        return plain(along_nm(self.fix("threshold"), self.final_course_deg) - past_station)

    def fix_to_go_nm(self, name: str) -> float:
        """Distance to the threshold of a fix on the straight-in line. [NM]"""
        course = self.final_course_deg
        return along_nm(self.fix("threshold"), course) - along_nm(self.fix(name), course)

    def to_threshold_nm(self, name: str) -> float:
        """Distance from any fix to the threshold over the ground, as the crow flies. [NM]"""
        from_lat_deg, from_lon_deg = self.position(name)
        to_lat_deg, to_lon_deg = self.position("threshold")
        _, dist_nm = geodesy.inverse(
            from_lat_deg=from_lat_deg, from_lon_deg=from_lon_deg, to_lat_deg=to_lat_deg, to_lon_deg=to_lon_deg
        )
        return float(dist_nm)

    def straight_in_legs(self) -> tuple[Leg, ...]:
        """Intermediate and final legs, in flying order."""
        return tuple(leg for leg in self.legs if leg.segment != "initial")

    def floor_at(self, dme_nm: ArrayLike, *, inbound: bool, category: str = "A", remote: bool = False) -> Result:
        """Lowest altitude allowed on the straight-in line at a distance from the station. [ft]

        At a fix the floor of the leg before it still holds: the next one applies past the fix. Past the
        missed approach point the MDA stays. On arcs and other initial legs use :meth:`leg_floor_ft`.
        Raises OutOfRange before the intermediate segment begins. ``inbound`` as in :meth:`to_go_nm`.
        """
        legs = self.straight_in_legs()
        to_go = np.asarray(self.to_go_nm(dme_nm, inbound=inbound))
        first = legs[0].start
        if first is not None and np.any(to_go > self.fix_to_go_nm(first) + _DISTANCE_ROUNDING_NM):
            raise OutOfRange(f"dme_nm lies before {first}: expected a point between {first} and the threshold")
        floor_ft = np.full(to_go.shape, self.mda_ft(category, remote=remote))
        for leg in reversed(legs[:-1]):
            before = to_go >= self.fix_to_go_nm(str(leg.end)) - _DISTANCE_ROUNDING_NM
            floor_ft = np.where(before, self.leg_floor_ft(leg, category, remote=remote), floor_ft)
        return plain(floor_ft)

    def final_table(self, category: str = "A", *, remote: bool = False) -> tuple[FinalFix, ...]:
        """Fixes from the final approach fix to the missed approach point, with the VDP in its place.

        ``remote``: with another field's altimeter setting; where that takes the VDP away it is left out.
        """
        mda = self.mda_ft(category, remote=remote)
        altitudes = {self.final_fix: self.final_fix_ft, "MAP": mda}
        altitudes |= {str(leg.end): float(leg.end_ft or mda) for leg in self.final_legs[:-1]}
        if self.has_vdp(remote=remote):
            altitudes["VDP"] = mda
        rows = []
        places = {name: self.fix_to_go_nm(name) for name in altitudes}
        if "VDP" in places:
            places["VDP"] = self.vdp_to_go_nm(mda)
        for name in sorted(places, key=lambda each: places[each], reverse=True):
            fix = self.fix(name)
            before = along_nm(fix, self.final_course_deg) <= 0
            moved = (places[name] - self.fix_to_go_nm(name)) * (1.0 if before else -1.0)
            dme_nm = fix.dist_nm + moved if self.station.has_dme and fix.distance_nm in (None, 0.0) else None
            rows.append(FinalFix(name, dme_nm, places[name], altitudes[name], "falls" if before else "rises"))
        return tuple(rows)

    @cached_property
    def remarks(self) -> tuple[str, ...]:
        """What a procedure designer would ask about, each with its source; empty for the course's own."""
        from needlework.world import designer  # stands on this module

        return tuple(str(remark) for remark in designer.remarks(self))

    # --- minimums and missed approach ------------------------------------------------------------

    def minimum(self, category: str = "A", *, circling: bool = False) -> Minimum:
        """Minimums line of a category; BadData where there is none."""
        lines = self.minimums.circling if circling else self.minimums.straight_in
        for line in lines:
            if line.category == category:
                return line
        kind = "circling" if circling else "straight-in"
        if not lines:
            raise BadData(f"{self.name} has no {kind} minimums: {kind} is not authorised")
        known = one_of(line.category for line in lines)
        raise BadData(f"{self.name} has no {kind} minimums for category {category}: expected {known}")

    def may_circle(self, category: str = "A") -> bool:
        """Whether the procedure has minimums of a category for a circle to land."""
        return any(line.category == category for line in self.minimums.circling)

    def has_vdp(self, *, remote: bool = False) -> bool:
        """Whether a visual descent point may be used; ``remote``: with another field's altimeter setting."""
        return not (remote and self.minimums.vdp_not_with_remote) and any(fix.name == "VDP" for fix in self.fixes)

    def vdp_to_go_nm(self, mda_ft: float) -> float:
        """Distance to the threshold at which an MDA meets the line through the published VDP. [NM]

        A higher MDA moves it out along the line. What is worked out this way says nothing about obstacles below
        it, and may not be used where the procedure takes the VDP away. Raises BadData where none is published.
        """
        return (
            self.fix_to_go_nm("VDP")
            + (mda_ft - self.mda_ft(self.minimums.straight_in[0].category)) / self.gradient_ft_nm
        )

    def last_landing_to_go_nm(self, mda_ft: float) -> float:
        """Distance to the threshold from which a descent from the MDA to the crossing height is as steep as any. [NM]

        Nearer than this a runway that comes in sight is too late for a normal landing.
        """
        return (mda_ft - self.crossing_ft) / float(STEEPEST_FT_NM)

    def mda_ft(
        self, category: str = "A", *, remote: bool = False, step_down: bool = True, circling: bool = False
    ) -> float:
        """Minimum descent altitude with everything that raises it. [ft]

        ``remote``: the altimeter setting is another field's; ``step_down`` False: the step-down fix
        could not be identified.
        """
        mda = self.minimum(category, circling=circling).mda_ft
        if not step_down:
            mda = max(mda, self.minimums.without_step_down_ft or mda)
        return mda + (self.minimums.remote_setting_add_ft if remote else 0.0)

    def visibility_m(self, category: str = "A", *, step_down: bool = True, circling: bool = False) -> float:
        """Visibility asked for; ``step_down`` False: the step-down fix could not be identified. [m]"""
        asked = self.minimum(category, circling=circling).visibility_m
        return asked if step_down else max(asked, self.minimums.without_step_down_visibility_m or asked)

    @cached_property
    def remote_setting_nm(self) -> float | None:
        """Distance from the threshold to the field whose altimeter setting may be used; None if not told. [NM]"""
        where = self.minimums
        if where.remote_setting_lat_deg is None or where.remote_setting_lon_deg is None:
            return None
        lat_deg, lon_deg = self.position("threshold")
        _, dist_nm = geodesy.inverse(
            from_lat_deg=lat_deg,
            from_lon_deg=lon_deg,
            to_lat_deg=where.remote_setting_lat_deg,
            to_lon_deg=where.remote_setting_lon_deg,
        )
        return float(dist_nm)

    @property
    def runway_turn_deg(self) -> float:
        """From the final course to the runway's heading, right positive. [deg]"""
        return float(difference_deg(from_deg=self.final_course_deg, to_deg=self.runway.heading_deg))

    @property
    def threshold_right_nm(self) -> float:
        """How far the threshold lies to the right of the final line, left negative. [NM]"""
        return self.runway.centre_line_crossed_nm * float(np.tan(np.deg2rad(self.runway_turn_deg)))

    @property
    def station_off_centre_line_nm(self) -> float:
        """Distance of the station from the runway's centre line, extended both ways. [NM]"""
        past_crossing_nm = self.fix_to_go_nm(self.station.ident) - self.runway.centre_line_crossed_nm
        return abs(past_crossing_nm * float(np.sin(np.deg2rad(self.runway_turn_deg))))

    def hold_turn_dme(self) -> tuple[float, bool] | None:
        """DME at which the outbound leg of the hold ends, and whether it rises to it; None for a timed leg. [NM]"""
        if self.hold.leg_dme_nm is None:
            return None
        fix = self.fix(self.hold.fix)
        rises = abs(float(difference_deg(from_deg=self.hold.inbound_course_deg, to_deg=fix.radial_deg))) > 90.0
        return float(
            outbound_end_nm(
                fix_dme_nm=fix.dist_nm, leg_dme_nm=self.hold.leg_dme_nm, direction="to" if rises else "from"
            )
        ), rises


_TABLES: dict[str, type[Part]] = {
    "airport": Airport, "runway": Runway, "station": Station, "descent": Descent, "missed": Missed, "hold": Hold,
}  # fmt: skip
_LISTS: dict[str, type[Part]] = {
    "other_stations": Station, "receiver_checks": ReceiverCheck, "sector_altitudes": SectorAltitude,
    "entries": Entry, "legs": Leg,
}  # fmt: skip
_OPTIONAL = ("other_stations", "receiver_checks")
_HEAD = ("name", "effective_from", "effective_until", "notes")


def names(*, faulty: bool = False) -> tuple[str, ...]:
    """Names of the procedures in the course's folder; ``faulty`` gives the deliberately wrong ones."""
    folder = datasets_dir() / "procedures"
    found = (folder / "faulty").glob("*.toml") if faulty else folder.glob("*.toml")
    return tuple(sorted(("faulty/" if faulty else "") + path.stem for path in found))


def load(name_or_path: str | Path, on_date: datetime.date | None = None, *, faults_stay: bool = False) -> Procedure:
    """Load a procedure by its name in the course's folder or in a lesson's own, or from a file, and check all of it.

    ``on_date`` is the UTC day of the flight, today when left out; ``faults_stay`` lets through what can be read and
    drawn, faulty as it is, to be found by a learner. Raises BadData with every fault found.
    """
    path = _find(name_or_path)
    return read(read_toml(path), path.name, on_date, faults_stay=faults_stay)


def read(
    raw: dict[str, Any], file: str, on_date: datetime.date | None = None, *, faults_stay: bool = False
) -> Procedure:
    """Make a procedure from tables already read (``file`` is the name used in messages); else as :func:`load`."""
    faults: list[str] = []
    parts = _parts(raw, faults)
    day = datetime.datetime.now(datetime.UTC).date() if on_date is None else on_date
    if not faults_stay:
        faults += find_faults(parts, _fix_names(raw), day)
    refuse(file, faults)
    head, descent = parts.pop("head"), parts.pop("descent")
    return Procedure(
        file=file,
        name=head.name,
        effective_from=head.effective_from,
        effective_until=head.effective_until,
        notes=head.notes,
        descent_angle_deg=descent.angle_deg,
        **parts,
    )


def _find(name_or_path: str | Path) -> Path:
    if isinstance(name_or_path, str):
        known = {name.lower(): name for faulty in (False, True) for name in names(faulty=faulty)}
        asked = name_or_path.strip().lower().removesuffix(".toml")
        name = known.get(asked)
        if name and not Path(name_or_path).is_file():
            return datasets_dir() / "procedures" / f"{name}.toml"
        own = {path.stem: path for folder in own_lessons() for path in (folder / PROCEDURES).glob("*.toml")}
        found = next((path for stem, path in own.items() if stem.lower() == asked), None)
        if found is not None and not Path(name_or_path).is_file():
            return found
        if "/" not in name_or_path and "\\" not in name_or_path and not name_or_path.endswith(".toml"):
            hint = did_you_mean(name_or_path, (*names(), *own))
            raise BadData(f"There is no procedure {shown(name_or_path)}: {hint}")
    return Path(name_or_path).expanduser()


def _parts(raw: dict[str, Any], faults: list[str]) -> dict[str, Any]:
    """Make every part that can be made; a part with faults is None, a list keeps a None in its place."""
    known = (*_HEAD, *_TABLES, *_LISTS, "fixes", "minimums")
    for name in raw:
        if name not in known:
            absent = [other for other in known if other not in raw]
            faults.append(f"{name} is not a known field: {did_you_mean(name, known, absent)}")
    parts: dict[str, Any] = {"head": _head(raw, faults)}
    for name, kind in _TABLES.items():
        parts[name] = _table(kind, raw, name, faults)
    for name, kind in _LISTS.items():
        rows = raw.get(name, [])
        if not isinstance(rows, list):
            faults.append(f"{name} = {shown(rows)}: expected a list, each begun with [[{name}]]")
            rows = None
        elif not rows and name not in _OPTIONAL:
            faults.append(f"{name} is missing: expected at least one, begun with [[{name}]]")
            rows = None
        parts[name] = (
            None
            if rows is None
            else tuple(make(kind, row, _place(name, number, row), faults) for number, row in enumerate(rows, 1))
        )
    parts["fixes"] = _fixes(raw, faults)
    parts["minimums"] = _minimums(raw, faults)
    return parts


def _head(raw: dict[str, Any], faults: list[str]) -> Head | None:
    head = {name: raw[name] for name in _HEAD if name in raw}
    notes = head.get("notes", [])
    if not isinstance(notes, list) or not all(isinstance(note, str) for note in notes):
        faults.append(f"notes = {shown(notes)}: expected a list of texts in quotes")
        notes = []
    before = len(faults)
    made = make(Head, {**head, "notes": tuple(notes)}, "", faults)
    faults[before:] = [fault.removeprefix(".") for fault in faults[before:]]
    return made


def _table(kind: type[AnyPart], raw: dict[str, Any], name: str, faults: list[str]) -> AnyPart | None:
    if name not in raw:
        faults.append(f"{name} is missing: expected a table that begins with [{name}]")
        return None
    return make(kind, raw[name], name, faults)


def _place(name: str, number: int, row: Any) -> str:
    """Name a row of a list for messages: ``leg 3 (GELPO to R350)``."""
    if name == "legs" and isinstance(row, dict):
        ends = {end: row[end] if isinstance(row.get(end), str) else None for end in ("from", "to")}
        kind = row.get("kind")
        return f"leg {number} ({leg_text(ends['from'], ends['to'], kind if isinstance(kind, str) else 'of no kind')})"
    singular = {"legs": "leg", "entries": "entry", "sector_altitudes": "sector altitude"}.get(name, name[:-1])
    return f"{singular.replace('_', ' ')} {number}"


def _fixes(raw: dict[str, Any], faults: list[str]) -> tuple[Fix | None, ...] | None:
    rows = raw.get("fixes")
    if not isinstance(rows, dict) or not rows:
        found = "is missing" if rows is None else f"= {shown(rows)}"
        faults.append(f"fixes {found}: expected lines such as PARDO = {{ radial_deg = 214, dme_nm = 3.0 }}")
        return None
    made: list[Fix | None] = []
    for name, row in rows.items():
        if isinstance(row, dict) and "name" in row:
            faults.append(f"fixes.{name}.name is not a known field: the name stands before the equals sign")
            made.append(None)
        else:
            made.append(make(Fix, {**row, "name": name} if isinstance(row, dict) else row, f"fixes.{name}", faults))
    return tuple(made)


def _fix_names(raw: dict[str, Any]) -> set[str] | None:
    """All names a leg may use, read or not; None if the file does not say."""
    fixes, station = raw.get("fixes"), raw.get("station")
    ident = station.get("ident") if isinstance(station, dict) else None
    if not isinstance(fixes, dict) or not isinstance(ident, str) or not re.match(IDENT, ident):
        return None
    return {*fixes, ident}


def _minimums(raw: dict[str, Any], faults: list[str]) -> Minimums | None:
    table = raw.get("minimums")
    if not isinstance(table, dict):
        found = "is missing" if table is None else f"= {shown(table)}"
        faults.append(f"minimums {found}: expected a table that begins with [minimums]")
        return None
    before = len(faults)
    lines: dict[str, Any] = {}
    for kind in ("straight_in", "circling"):
        rows = table.get(kind, {})
        if not isinstance(rows, dict):
            faults.append(f"minimums.{kind} = {shown(rows)}: expected {_EXAMPLE.format(kind=kind)}")
        elif kind == "circling" or rows:
            lines[kind] = tuple(
                make(Minimum, _categorised(row, category), f"minimums.{kind}.{category}", faults)
                for category, row in rows.items()
            )
    good = len(faults) == before
    if not good:
        lines = {"straight_in": (Minimum(category="A", mda_ft=0, visibility_m=1000),), "circling": ()}
    made = make(Minimums, {**table, **lines}, "minimums", faults)
    return made if good else None


def _categorised(row: Any, category: str) -> Any:
    return {**row, "category": category} if isinstance(row, dict) else row
