"""What a procedure designer would remark on in a procedure that loads.

The loader refuses what contradicts itself (:mod:`needlework.world.procedure_faults`). What stands here can be read
and flown, and a designer would still not sign it. An instructor's own procedure may be odd on purpose, so these are
remarks, not faults: all of them at once, each in one sentence with its source.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from needlework.basis.errors import NoSolution
from needlework.basis.quantity import Constant
from needlework.basis.sources import source
from needlework.trade.angles import turn_deg
from needlework.trade.missed import after_turn, climb_gradient_ft_nm, meets_radial_nm
from needlework.trade.turns import turn_radius_nm
from needlework.trade.units import NM_M
from needlework.world import aircraft
from needlework.world.aircraft import Aircraft
from needlework.world.procedure import Procedure
from needlework.world.procedure_parts import Minimum, along_nm

LEAD_MIN_NM = Constant(2.0, "NM", "DOC8168-2-ARC", "lead radial before the end of an arc")
LEAD_FROM_DEG = Constant(70.0, "deg", "DOC8168-2-ARC", "a larger turn off an arc has a lead radial")
ALIGNED_DEG = Constant(5.0, "deg", "DOC8168-2-FINAL", "a final within this of the runway counts as aligned")
CROSSED_MIN_M = Constant(1400.0, "m", "DOC8168-2-FINAL", "where a final crosses the centre line, or is judged")
ASIDE_MAX_M = Constant(150.0, "m", "DOC8168-2-FINAL", "an aligned final at 1,400 m lies within this of the line")
STATION_CLEAR_M = Constant(140.0, "m", "ANX14", "half the width of a runway strip, code number 3 or 4")
OVER_STEP_DOWN_FT = Constant(15.0, "ft", "common-practice", "less than this an altimeter hardly shows")
REMOTE_MAX_NM = Constant(75.0, "NM", "8260-3", "farthest source of an altimeter setting")
REMOTE_NEAR_NM = Constant(5.0, "NM", "DOC8168-2-RASS", "nearer than this a setting counts as local")
REMOTE_FT_NM = Constant(5.0, "ft/NM", "DOC8168-2-RASS", "beyond that, from memory")
NO_LIGHTS_M = Constant(1500.0, "m", "EASA-AMC5", "category A and B without approach lights")
LIGHTS_MIN_M = Constant(750.0, "m", "EASA-AMC5", "non-precision runway, least of all")
LOW_MDA_FT = Constant(500.0, "ft", "EASA-AMC5", "up to this height approach lights lower the visibility")
CIRCLING_STEP_FT = Constant(100.0, "ft", "common-practice", "from so much higher more visibility is asked")
HOLD_ROOM_NM = Constant(3.0, "NM", "common-practice", "a minute and a half at 120 kt, to set up a hold")
SETTLE_NM = Constant(2.0, "NM", "common-practice", "to hear, set and read the needle before the radial")
NEEDLE_NM = Constant(2.0, "NM", "common-practice", "nearer the station the needle tells nothing for certain")
SECTOR_OVER_FT = Constant(1000.0, "ft", "AIM-5-4-5", "a sector altitude above all that stands in its sector")

_CIRCLING = {"A": (400.0, 1500.0), "B": (500.0, 1600.0), "C": (600.0, 2400.0)}
"""Least height above the airport [ft] and visibility [m] for circling, EASA AMC5 CAT.OP.MPA.110, by category."""
_PLAIN = {"common-practice": "common practice", "definition": "geometry"}
_ROUNDING_NM = 0.025
_ROUNDING_FT = 5.0
_HAIR_DEG = 0.01


@dataclass(frozen=True)
class Remark:
    """One thing a designer would ask about.

    Parameters
    ----------
    rule : str
        Short name of what was checked.
    says : str
        The sentence, without its source.
    source : str
        Key of a record in :mod:`needlework.basis.sources`.
    """

    rule: str
    says: str
    source: str

    def __str__(self) -> str:
        cited = source(self.source)
        if self.source in _PLAIN:
            return f"{self.says}. Source: {_PLAIN[self.source]}."
        where = ", ".join(part for part in (cited.title, cited.section) if part)
        return f"{self.says}. Source: {where}{'' if cited.seen else '; from memory'}."


@dataclass(frozen=True)
class MissedGeometry:
    """Where a missed approach turns and meets its radial, in still air.

    Parameters
    ----------
    turns_nm : float
        Distance past the station, on the missed approach course, where the turn begins; negative before it. [NM]
    flown_nm : float
        From wings level on the heading to the radial. [NM]
    met_nm : float
        Distance from the station at which the radial is met. [NM]
    """

    turns_nm: float
    flown_nm: float
    met_nm: float


def missed_geometry(procedure: Procedure, *, climb_ft_nm: float, tas_kt: float) -> MissedGeometry | None:
    """Work out where the heading of a missed approach meets its radial.

    Parameters
    ----------
    procedure : Procedure
        The procedure, climbed from its lowest MDA at the missed approach point.
    climb_ft_nm : float
        Climb gradient. [ft/NM], more than 0.
    tas_kt : float
        True airspeed of the climb, for the radius of the turn at standard rate. [kt]

    Returns
    -------
    MissedGeometry or None
        None where the heading never meets the radial, or where the missed approach goes direct.

    Notes
    -----
    Straight climb to the altitude of the turn, not turning before the fix that is named; circle; sine rule.
    Source: ``definition``.
    """
    missed = procedure.missed
    if missed.heading_deg is None or missed.intercept_radial_deg is None:
        return None
    start_nm = along_nm(procedure.fix("MAP"), missed.course_deg)
    lowest_ft = min(line.mda_ft for line in procedure.minimums.straight_in)
    turns_nm = max(
        start_nm + (missed.climb_to_ft - lowest_ft) / climb_ft_nm,
        along_nm(procedure.fix(missed.turn_after), missed.course_deg),
    )
    radial_deg = missed.course_deg + (0.0 if turns_nm >= 0 else 180.0)
    try:
        level_radial_deg, level_nm = after_turn(
            radial_deg=radial_deg,
            dist_nm=abs(turns_nm),
            start_track_deg=missed.course_deg,
            end_track_deg=missed.heading_deg,
            side=missed.turn,
            radius_nm=turn_radius_nm(tas_kt=tas_kt),
        )
        met_nm, flown_nm = meets_radial_nm(
            radial_deg=level_radial_deg,
            dist_nm=level_nm,
            track_deg=missed.heading_deg,
            wanted_radial_deg=missed.intercept_radial_deg,
        )
    except NoSolution:
        return None
    return MissedGeometry(float(turns_nm), float(flown_nm), float(met_nm))


def remarks(procedure: Procedure, fleet: Sequence[Aircraft] | None = None) -> tuple[Remark, ...]:
    """List what a designer would remark on.

    Parameters
    ----------
    procedure : Procedure
        A procedure that loaded.
    fleet : sequence of Aircraft, optional
        Aircraft to fly its missed approach; all of the course when left out.

    Returns
    -------
    tuple of Remark
        Empty where there is nothing to ask.
    """
    flown = [aircraft.load(name) for name in aircraft.names()] if fleet is None else list(fleet)
    found = [remark for check in _CHECKS for remark in check(procedure)]
    found += [*_meeting(procedure, flown), *_climb(procedure, flown)]
    return tuple(found)


def _deg(direction_deg: float) -> str:
    return f"{round(direction_deg) % 360 or 360:03d}"


def _lead(procedure: Procedure) -> Iterator[Remark]:
    for leg, after in pairwise(procedure.legs):
        if leg.kind != "arc" or after.kind != "radial" or leg.end is None or leg.arc_dme_nm is None:
            continue
        if leg.lead_radial_deg is None:
            yield Remark(
                "lead",
                f"The arc {leg.text} ends in a turn of 90 degrees and has no lead radial: a turn of more than "
                f"{LEAD_FROM_DEG:.0f} degrees has one",
                LEAD_FROM_DEG.source,
            )
            continue
        lead_deg = float(
            turn_deg(from_deg=leg.lead_radial_deg, to_deg=procedure.fix(leg.end).radial_deg, side=str(leg.turn))
        )
        lead_nm = leg.arc_dme_nm * float(np.deg2rad(lead_deg))
        if lead_nm < LEAD_MIN_NM - _ROUNDING_NM:
            yield Remark(
                "lead",
                f"Lead radial {_deg(leg.lead_radial_deg)} lies {lead_nm:.1f} NM before {leg.end}: expected "
                f"{LEAD_MIN_NM:.0f} NM or more",
                LEAD_MIN_NM.source,
            )


def _alignment(procedure: Procedure) -> Iterator[Remark]:
    turn, crossed_m = abs(procedure.runway_turn_deg), procedure.runway.centre_line_crossed_nm * NM_M
    if turn > ALIGNED_DEG + _HAIR_DEG:
        if crossed_m < CROSSED_MIN_M:
            yield Remark(
                "alignment",
                f"The final is {turn:.0f} degrees off the runway and crosses its centre line {crossed_m:,.0f} m "
                f"before the threshold: expected {CROSSED_MIN_M:,.0f} m or more, or an offset of at most "
                f"{ALIGNED_DEG:.0f} degrees",
                CROSSED_MIN_M.source,
            )
        return
    aside_m = abs(CROSSED_MIN_M - crossed_m) * float(np.sin(np.deg2rad(turn)))
    if aside_m > ASIDE_MAX_M:
        yield Remark(
            "alignment",
            f"{CROSSED_MIN_M:,.0f} m before the threshold the final lies {aside_m:,.0f} m beside the centre line: "
            f"expected at most {ASIDE_MAX_M:.0f} m",
            ASIDE_MAX_M.source,
        )


def _station(procedure: Procedure) -> Iterator[Remark]:
    past_m = -procedure.fix_to_go_nm(procedure.station.ident) * NM_M
    aside_m = procedure.station_off_centre_line_nm * NM_M
    if -60.0 < past_m < procedure.runway.length_m + 60.0 and aside_m < STATION_CLEAR_M:
        yield Remark(
            "station",
            f"{procedure.station.ident} stands {aside_m:.0f} m beside the centre line of runway "
            f"{procedure.runway.name}: expected {STATION_CLEAR_M:.0f} m or more",
            STATION_CLEAR_M.source,
        )


def _step_downs(procedure: Procedure) -> Iterator[Remark]:
    for leg in procedure.final_legs[:-1]:
        line_ft = float(np.asarray(procedure.line_ft(procedure.fix_to_go_nm(str(leg.end)))))
        over_ft = line_ft - float(leg.end_ft or 0.0)
        if over_ft < OVER_STEP_DOWN_FT:
            yield Remark(
                "step-down",
                f"The descent line passes {leg.end} {over_ft:.0f} ft above its minimum: expected "
                f"{OVER_STEP_DOWN_FT:.0f} ft or more",
                OVER_STEP_DOWN_FT.source,
            )


def _remote(procedure: Procedure) -> Iterator[Remark]:
    minimums, far_nm = procedure.minimums, procedure.remote_setting_nm
    if minimums.remote_setting_from is None:
        return
    name = minimums.remote_setting_from
    if procedure.has_vdp(remote=True):
        yield Remark(
            "remote setting",
            f"The visual descent point may be used with the altimeter setting of {name}: expected "
            "vdp_not_with_remote = true",
            "common-practice",
        )
    if far_nm is None:
        return
    if far_nm > REMOTE_MAX_NM:
        yield Remark(
            "remote setting",
            f"{name} lies {far_nm:.0f} NM from the runway: expected an altimeter setting from at most "
            f"{REMOTE_MAX_NM:.0f} NM",
            REMOTE_MAX_NM.source,
        )
        return
    needed_ft = max(far_nm - REMOTE_NEAR_NM, 0.0) * REMOTE_FT_NM
    if minimums.remote_setting_add_ft < needed_ft - _ROUNDING_FT:
        yield Remark(
            "remote setting",
            f"With the setting of {name}, {far_nm:.0f} NM away, the MDA goes up by "
            f"{minimums.remote_setting_add_ft:.0f} ft: expected {needed_ft:.0f} ft or more",
            REMOTE_FT_NM.source,
        )


def _visibility(procedure: Procedure) -> Iterator[Remark]:
    lights = procedure.runway.approach_lights
    for line in procedure.minimums.straight_in:
        height_ft = line.mda_ft - procedure.runway.threshold_elevation_ft
        least_m = LIGHTS_MIN_M if lights else NO_LIGHTS_M
        which = f"Category {line.category}: visibility {line.visibility_m:,.0f} m"
        if line.visibility_m < least_m:
            yield Remark(
                "visibility",
                f"{which} {'with' if lights else 'without'} approach lights: expected {least_m:,.0f} m or more",
                least_m.source,
            )
        elif lights and line.category in "AB" and height_ft <= LOW_MDA_FT and line.visibility_m > NO_LIGHTS_M:
            yield Remark(
                "visibility",
                f"{which} at a height of {height_ft:.0f} ft with approach lights: without any, {NO_LIGHTS_M:,.0f} m "
                "are enough, and lights lower it",
                NO_LIGHTS_M.source,
            )
    for line in procedure.minimums.circling:
        yield from _circling(procedure, line)


def _circling(procedure: Procedure, line: Minimum) -> Iterator[Remark]:
    height_ft = line.mda_ft - procedure.airport.elevation_ft
    least_ft, least_m = _CIRCLING.get(line.category, (0.0, 0.0))
    if height_ft < least_ft or line.visibility_m < least_m:
        yield Remark(
            "visibility",
            f"Circling in category {line.category}: {height_ft:.0f} ft above the airport and "
            f"{line.visibility_m:,.0f} m: expected {least_ft:.0f} ft and {least_m:,.0f} m or more",
            "EASA-AMC5",
        )
    straight = next((one for one in procedure.minimums.straight_in if one.category == line.category), None)
    if straight is None:
        return
    higher_ft = line.mda_ft - straight.mda_ft
    if line.visibility_m < straight.visibility_m or (
        higher_ft >= CIRCLING_STEP_FT and line.visibility_m == straight.visibility_m
    ):
        yield Remark(
            "visibility",
            f"Circling in category {line.category} is flown {higher_ft:.0f} ft higher with a visibility of "
            f"{line.visibility_m:,.0f} m: expected more than the {straight.visibility_m:,.0f} m straight in",
            CIRCLING_STEP_FT.source,
        )


def _back_again(procedure: Procedure) -> Iterator[Remark]:
    hold_ft, lowest = procedure.hold.altitude_ft, min(procedure.entries, key=lambda entry: entry.minimum_ft)
    if hold_ft < lowest.minimum_ft:
        yield Remark(
            "back again",
            f"The hold is at {hold_ft:,.0f} ft and the approach begins at {lowest.fix} at "
            f"{lowest.minimum_ft:,.0f} ft: expected a hold from which it can begin again without a climb",
            "common-practice",
        )


def _sectors(procedure: Procedure) -> Iterator[Remark]:
    everywhere = max(sector.altitude_ft for sector in procedure.sector_altitudes)
    for what, name, altitude_ft in (
        *(("The approach begins", entry.fix, entry.minimum_ft) for entry in procedure.entries),
        ("The missed approach ends", procedure.missed.fix, procedure.missed.altitude_ft),
    ):
        fix = procedure.fix(name)
        sector_ft = everywhere if fix.dist_nm == 0 else procedure.sector_altitude_ft(fix.radial_deg)
        if altitude_ft < sector_ft:
            yield Remark(
                "sector altitude",
                f"{what} at {name} at {altitude_ft:,.0f} ft: expected the sector altitude there, {sector_ft:,.0f} ft",
                "common-practice",
            )
    reach_nm = min(sector.within_nm for sector in procedure.sector_altitudes)
    for fix in procedure.fixes:
        if fix.dist_nm > reach_nm:
            yield Remark(
                "sector altitude",
                f"{fix.name} lies {fix.dist_nm:g} NM out: the sector altitudes hold to {reach_nm:g} NM",
                SECTOR_OVER_FT.source,
            )
    ground_ft = max(procedure.station.elevation_ft, procedure.airport.elevation_ft)
    for sector in procedure.sector_altitudes:
        if sector.altitude_ft < ground_ft + SECTOR_OVER_FT:
            yield Remark(
                "sector altitude",
                f"A sector altitude of {sector.altitude_ft:,.0f} ft over ground of {ground_ft:,.0f} ft: expected "
                f"{SECTOR_OVER_FT:,.0f} ft above it or more",
                SECTOR_OVER_FT.source,
            )


def _climb(procedure: Procedure, fleet: Sequence[Aircraft]) -> Iterator[Remark]:
    missed = procedure.missed
    for craft in fleet:
        made = float(np.asarray(climb_gradient_ft_nm(vs_fpm=craft.climb_fpm, gs_kt=craft.climb_kt)))
        if made < missed.gradient_ft_nm:
            yield Remark(
                "climb",
                f"The missed approach asks for {missed.gradient_ft_nm:.0f} ft/NM: the {craft.name} makes {made:.0f}",
                "definition",
            )
    if missed.gradient_ft_nm > _GRADIENT_FT_NM and missed.gradient_until_ft is None:
        yield Remark(
            "climb",
            f"The missed approach asks for {missed.gradient_ft_nm:.0f} ft/NM and does not say up to which altitude",
            _GRADIENT_FT_NM.source,
        )


def _meeting(procedure: Procedure, fleet: Sequence[Aircraft]) -> Iterator[Remark]:
    missed = procedure.missed
    if missed.intercept_radial_deg is None:
        return
    slowest = min(craft.climb_kt for craft in fleet) if fleet else 90.0
    climbs = [("At the published gradient", missed.gradient_ft_nm, slowest)]
    for craft in fleet:
        made = float(np.asarray(climb_gradient_ft_nm(vs_fpm=craft.climb_fpm, gs_kt=craft.climb_kt)))
        climbs.append((f"Flown by the {craft.name}", made, craft.climb_kt))
    radial = f"radial {_deg(missed.intercept_radial_deg)}"
    for who, climb_ft_nm, tas_kt in climbs:
        met = missed_geometry(procedure, climb_ft_nm=climb_ft_nm, tas_kt=tas_kt)
        if met is None:
            yield Remark("meeting", f"{who} the missed approach never meets {radial}", "definition")
            continue
        if met.met_nm < NEEDLE_NM or met.flown_nm < SETTLE_NM:
            yield Remark(
                "meeting",
                f"{who} the missed approach meets {radial} {met.met_nm:.1f} NM from {procedure.station.ident}, "
                f"{met.flown_nm:.1f} NM after the turn: expected {NEEDLE_NM:.0f} NM and {SETTLE_NM:.0f} NM or more",
                SETTLE_NM.source,
            )
        room_nm = procedure.fix(missed.fix).dist_nm - met.met_nm
        if room_nm < HOLD_ROOM_NM:
            yield Remark(
                "room",
                f"{who} the missed approach meets {radial} at {met.met_nm:.1f} NM and {missed.fix} is at "
                f"{procedure.fix(missed.fix).dist_nm:g} NM: expected {HOLD_ROOM_NM:.0f} NM or more between them",
                HOLD_ROOM_NM.source,
            )


_GRADIENT_FT_NM = Constant(200.0, "ft/NM", "AIM-5-4-21", "what a missed approach assumes unless told")
_CHECKS: tuple[Callable[[Procedure], Iterator[Remark]], ...] = (
    _lead,
    _alignment,
    _station,
    _step_downs,
    _remote,
    _visibility,
    _back_again,
    _sectors,
)
