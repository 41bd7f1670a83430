"""The parts of an approach procedure: station, fixes, legs, minimums; frozen, with their ranges."""

from __future__ import annotations

import datetime
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import BeforeValidator, Field, ValidationInfo

from needlework.basis.errors import OutOfRange
from needlework.trade import altimetry
from needlework.trade.angles import difference_deg, turn_deg
from needlework.world.datafiles import Part, range_check, ranged, shown

IDENT = r"^[A-Z]{2,3}$"
Side = Literal["left", "right"]
Direction = Annotated[float, ranged(0, 360, "deg", "is this a distance or a frequency?")]
Distance = Annotated[float, ranged(0, 199, "NM", "is this a radial or a distance in km?")]
_feet = range_check(-1500, 20000, "ft")
Altitude = Annotated[float, BeforeValidator(_feet)]
Visibility = Annotated[float, ranged(100, 10000, "m", "is this in statute miles or km?")]
Latitude = Annotated[float, ranged(-85, 85, "deg")]
Longitude = Annotated[float, ranged(-180, 180, "deg")]


def _feet_or_mda(value: Any, info: ValidationInfo) -> float | None:
    if value == "MDA":
        return None
    if isinstance(value, str):
        raise OutOfRange(f'{info.field_name} = {shown(value)}: expected feet without quotes, or "MDA"')
    return _feet(value, info)


class Station(Part):
    """A VOR, with or without DME."""

    ident: str = Field(pattern=IDENT, description='two or three capital letters, such as "OVK"')
    name: str = Field(min_length=1, description="the name in quotes")
    lat_deg: Latitude = Field(description="latitude in degrees, north positive")
    lon_deg: Longitude = Field(description="longitude in degrees, east positive")
    declination_deg: Annotated[float, ranged(-180, 180, "deg")] = Field(
        description="its radial 360 against true north in degrees, east positive"
    )
    frequency_mhz: Annotated[float, ranged(1, 2000, "MHz")] = Field(description="frequency in MHz, such as 114.60")
    dme_channel: str | None = Field(default=None, description='DME channel in quotes, such as "93X"')
    elevation_ft: Altitude = Field(description="elevation in feet above mean sea level")
    service_class: Literal["T", "L", "H", "VL", "VH"] = Field(description='"T", "L", "H", "VL" or "VH"')

    @property
    def has_dme(self) -> bool:
        """True if the station gives distance."""
        return self.dme_channel is not None


class Airport(Part):
    """The airport served."""

    ident: str = Field(min_length=1, description='the identifier in quotes, such as "XSAM"')
    name: str = Field(min_length=1, description="the name in quotes")
    elevation_ft: Altitude = Field(description="elevation in feet above mean sea level")


class Runway(Part):
    """The runway; the final course passes its threshold at a radial and ground distance of the station.

    Where the two directions differ, the final course crosses the extended centre line
    ``centre_line_crossed_nm`` before the threshold: at 0 it leads over the threshold itself.
    """

    name: str = Field(min_length=1, description='the number in quotes, such as "21"')
    heading_deg: Direction = Field(description="magnetic heading in degrees")
    threshold_radial_deg: Direction = Field(description="radial of the station through the threshold, degrees")
    threshold_distance_nm: Distance = Field(description="ground distance from the station in NM")
    centre_line_crossed_nm: Annotated[float, ranged(0, 5, "NM", "is this in metres?")] = Field(
        default=0.0, description="distance before the threshold in NM"
    )
    threshold_elevation_ft: Altitude = Field(description="elevation in feet above mean sea level")
    crossing_height_ft: Annotated[float, ranged(20, 100, "ft")] = Field(description="height in feet")
    length_m: Annotated[float, ranged(300, 6000, "m")] = Field(description="length in metres")
    lights: bool = Field(description="true or false")
    approach_lights: bool = Field(description="true or false")


class SectorAltitude(Part):
    """Minimum sector altitude, all round or from one radial clockwise to another."""

    altitude_ft: Altitude = Field(description="altitude in feet")
    within_nm: Distance = Field(description="distance from the station in NM")
    from_radial_deg: Direction | None = Field(default=None, description="radial in degrees")
    to_radial_deg: Direction | None = Field(default=None, description="radial in degrees")


class ReceiverCheck(Part):
    """A place, or a test signal, by which a VOR receiver is checked."""

    kind: Literal["ground", "airborne", "test signal"] = Field(description='"ground", "airborne" or "test signal"')
    place: str = Field(min_length=1, description="the place in quotes")
    radial_deg: Direction | None = Field(default=None, description="radial in degrees")
    distance_nm: Distance | None = Field(default=None, description="distance from the station in NM")
    frequency_mhz: Annotated[float, ranged(108, 117.95, "MHz")] | None = Field(
        default=None, description="frequency in MHz"
    )


class Fix(Part):
    """A point by radial and DME, or by radial and surveyed distance; the station itself is a fix at 0 NM."""

    name: str
    radial_deg: Direction = Field(description="radial of the station in degrees")
    dme_nm: Distance | None = Field(default=None, description="DME distance in NM")
    distance_nm: Distance | None = Field(default=None, description="surveyed distance in NM")

    @property
    def dist_nm(self) -> float:
        """Distance from the station over the ground. [NM]"""
        return (self.distance_nm if self.dme_nm is None else self.dme_nm) or 0.0


class Entry(Part):
    """An initial approach fix and the lowest altitude there."""

    fix: str = Field(description="name of a fix in quotes")
    minimum_ft: Altitude = Field(description="altitude in feet")


NEEDED_BY_KIND = {
    "radial": {"to", "course_deg"},
    "arc": {"from", "to", "arc_dme_nm", "turn"},
    "timed": {"from", "course_deg", "time_min", "within_nm"},
    "procedure turn": {"turn", "heading_out_deg", "heading_in_deg", "time_min", "within_nm"},
}
ALLOWED_BY_KIND = {
    "radial": {"from"},
    "arc": {"lead_radial_deg"},
    "timed": set[str](),
    "procedure turn": set[str](),
}


class Leg(Part):
    """One leg: along a radial, on an arc, timed, or a procedure turn; ``minimum_ft`` None means the MDA."""

    segment: Literal["initial", "intermediate", "final"] = Field(description='"initial", "intermediate" or "final"')
    kind: Literal["radial", "arc", "timed", "procedure turn"] = Field(
        description='"radial", "arc", "timed" or "procedure turn"'
    )
    minimum_ft: Annotated[float | None, BeforeValidator(_feet_or_mda)] = Field(
        description='altitude in feet, or "MDA" on the last final leg'
    )
    at_end_ft: Altitude | None = Field(default=None, description="altitude in feet")
    entry: str | None = Field(default=None, description="fix where this way in begins, in quotes")
    start: str | None = Field(default=None, alias="from", description="name of a fix in quotes")
    end: str | None = Field(default=None, alias="to", description="name of a fix in quotes")
    course_deg: Direction | None = Field(default=None, description="magnetic course in degrees")
    arc_dme_nm: Annotated[float, ranged(3, 40, "NM")] | None = Field(default=None, description="DME distance in NM")
    turn: Side | None = Field(default=None, description='"left" or "right"')
    lead_radial_deg: Direction | None = Field(default=None, description="radial in degrees")
    heading_out_deg: Direction | None = Field(default=None, description="heading in degrees")
    heading_in_deg: Direction | None = Field(default=None, description="heading in degrees")
    time_min: Annotated[float, ranged(0.5, 5, "min", "is this in seconds?")] | None = Field(
        default=None, description="minutes"
    )
    within_nm: Distance | None = Field(default=None, description="distance from the station in NM")

    @property
    def end_ft(self) -> float | None:
        """Lowest altitude at the end of the leg, None for the MDA. [ft]"""
        return self.minimum_ft if self.at_end_ft is None else self.at_end_ft

    @property
    def text(self) -> str:
        """The leg in words: ``GELPO to R350``."""
        return leg_text(self.start, self.end, self.kind)


def leg_text(start: str | None, end: str | None, kind: str) -> str:
    """Name a leg by its ends, as far as it has any, else by its kind."""
    if start and end:
        return f"{start} to {end}"
    return f"from {start}" if start else f"to {end}" if end else kind


class Minimum(Part):
    """MDA and visibility of one approach category."""

    category: Literal["A", "B", "C", "D", "E"] = Field(description='"A" to "E"')
    mda_ft: Altitude = Field(description="minimum descent altitude in feet")
    visibility_m: Visibility = Field(description="visibility in metres")


class Minimums(Part):
    """All minimums; what raises them stands beside them."""

    straight_in: tuple[Minimum, ...] = Field(
        min_length=1,
        description="a line for each category, such as straight_in.A = { mda_ft = 560, visibility_m = 1600 }",
    )
    circling: tuple[Minimum, ...] = Field(default=(), description="one line for each category")
    circling_not: str | None = Field(default=None, description="where circling is not authorised, in quotes")
    remote_setting_from: str | None = Field(default=None, description="airport identifier in quotes")
    remote_setting_add_ft: Annotated[float, ranged(0, 1000, "ft")] = Field(default=0.0, description="feet")
    remote_setting_lat_deg: Latitude | None = Field(default=None, description="latitude in degrees, north positive")
    remote_setting_lon_deg: Longitude | None = Field(default=None, description="longitude in degrees, east positive")
    vdp_not_with_remote: bool = Field(default=False, description="true or false")
    without_step_down_ft: Altitude | None = Field(default=None, description="altitude in feet")
    without_step_down_visibility_m: Visibility | None = Field(default=None, description="visibility in metres")
    cold_limit_c: Annotated[float, ranged(-60, 20, "C")] | None = Field(default=None, description="degrees Celsius")


class Missed(Part):
    """Missed approach: straight climb, climbing turn, then a radial outbound or direct to the fix."""

    course_deg: Direction = Field(description="magnetic course in degrees")
    climb_to_ft: Altitude = Field(description="altitude in feet where the turn begins")
    turn_after: str = Field(default="MAP", description="fix before which no turn is made, in quotes")
    turn: Side = Field(description='"left" or "right"')
    heading_deg: Direction | None = Field(default=None, description="magnetic heading in degrees")
    intercept_radial_deg: Direction | None = Field(default=None, description="radial in degrees")
    direct: bool = Field(default=False, description="true or false")
    fix: str = Field(description="name of a fix in quotes")
    altitude_ft: Altitude = Field(description="altitude in feet")
    gradient_ft_nm: Annotated[float, ranged(1, 1000, "ft/NM", "is this in ft/min or percent?")] = Field(
        description="climb gradient in ft/NM"
    )
    gradient_until_ft: Altitude | None = Field(default=None, description="altitude in feet")


class Hold(Part):
    """Holding pattern; its leg is measured by DME or in minutes."""

    fix: str = Field(description="name of a fix in quotes")
    inbound_course_deg: Direction = Field(description="magnetic course in degrees")
    turn: Side = Field(description='"left" or "right"')
    altitude_ft: Altitude = Field(description="altitude in feet")
    leg_dme_nm: Annotated[float, ranged(1, 20, "NM")] | None = Field(
        default=None, description="leg length in NM by DME"
    )
    leg_min: Annotated[float, ranged(0.5, 3, "min")] | None = Field(default=None, description="minutes of a leg")


class Head(Part):
    """Name, dates and notes."""

    name: str = Field(min_length=1, description="the procedure's name in quotes")
    effective_from: datetime.date = Field(description="a date such as 2025-01-23, without quotes")
    effective_until: datetime.date | None = Field(
        default=None, description="a date such as 2025-02-20, without quotes"
    )
    notes: tuple[str, ...] = ()


class Descent(Part):
    """The published descent line."""

    angle_deg: Annotated[float, ranged(1, 7, "deg", "is this a gradient in ft/NM?")] = Field(
        description="descent angle in degrees"
    )


def in_sector(sector: SectorAltitude, radial_deg: float) -> bool:
    """Say whether a radial lies in a sector."""
    if sector.from_radial_deg is None or sector.to_radial_deg is None:
        return True
    width = turn_deg(from_deg=sector.from_radial_deg, to_deg=sector.to_radial_deg, side="right")
    return float(turn_deg(from_deg=sector.from_radial_deg, to_deg=radial_deg, side="right")) <= float(width)


def with_cold_ft(published_ft: float, field_ft: float, temperature_c: float | None) -> float:
    """A published altitude with the correction for cold air at the field added; as it is above freezing. [ft]"""
    if temperature_c is None or temperature_c >= 0.0 or published_ft <= field_ft:
        return published_ft
    return published_ft + float(
        altimetry.cold_correction_ft(
            height_ft=published_ft - field_ft, temperature_c=temperature_c, elevation_ft=field_ft
        )
    )


def along_nm(fix: Fix, course_deg: float) -> float:
    """Distance past the station along a course: negative before it, with the bend at the station ironed out."""
    beyond = abs(float(difference_deg(from_deg=course_deg, to_deg=fix.radial_deg))) < 90
    return fix.dist_nm if beyond else -fix.dist_nm


def meets_nm(turn_nm: float, course_deg: float, heading_deg: float, radial_deg: float) -> float | None:
    """Distance at which a heading, begun on a course through the station, meets a radial outbound."""
    cut = np.deg2rad(float(difference_deg(from_deg=heading_deg, to_deg=radial_deg)))
    off = np.deg2rad(float(difference_deg(from_deg=heading_deg, to_deg=course_deg)))
    swing = np.deg2rad(float(difference_deg(from_deg=course_deg, to_deg=radial_deg)))
    if abs(np.sin(cut)) < 1e-6:
        return None
    out_nm = turn_nm * np.sin(off) / np.sin(cut)
    flown_nm = -turn_nm * np.sin(swing) / np.sin(cut)
    return float(out_nm) if out_nm > -1e-9 and flown_nm > -1e-9 else None
