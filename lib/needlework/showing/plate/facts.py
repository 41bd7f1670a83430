"""What stands on a plate: sentences made from a procedure's file, each with the fields whose values it tells.

A field is named as in the file: ``station.frequency_mhz``, ``fixes.GELPO.dme_nm``, ``legs.3.minimum_ft`` (lists count
from 1). Every field with a number is told by exactly one fact; fields of one value that belong together, such as the
lowest altitude at an entry and on the leg that begins there, share one.
"""

from __future__ import annotations

import dataclasses
import re
import typing
from collections.abc import Iterator

from needlework.basis.quantity import Constant
from needlework.trade.angles import three_digits
from needlework.trade.ident import MORSE

if typing.TYPE_CHECKING:
    from needlework.world.procedure import Procedure
    from needlework.world.procedure_parts import Fix, Leg, Minimum, SectorAltitude, Station

CAUTION = "Training aid, invented, not for navigation."
WORKED = "worked"
"""Field of what is worked out from the file: times from the final fix to the missed approach point, nothing else."""

TIMED_KT = (60, 70, 80, 90, 100, 110, 120, 140)
"""Ground speeds of the times. [kt]"""
_SECONDS_IN_HOUR = Constant(3600.0, "s", "definition")
_FINAL_NAMES = ("VDP", "MAP")


@dataclasses.dataclass(frozen=True)
class Fact:
    """One piece of text on a plate.

    Parameters
    ----------
    text : str
        What is read.
    fields : tuple of str
        Fields of the file that it tells, or :data:`WORKED`.
    """

    text: str
    fields: tuple[str, ...] = ()


def _deg(direction_deg: float) -> str:
    """Write a direction: 034°, or 034.5° where the file has a fraction."""
    if float(direction_deg).is_integer():
        return three_digits(direction_deg=direction_deg, reference="")
    return (
        f"{direction_deg % 360:05.1f}°" if round(direction_deg, 1) == direction_deg else f"{direction_deg % 360:g}°"
    )


def _radial(radial_deg: float) -> str:
    return f"R{_deg(radial_deg).rstrip('°')}"


def _feet(altitude_ft: float) -> str:
    return f"{altitude_ft:,.0f} ft" if float(altitude_ft).is_integer() else f"{altitude_ft:,} ft"


def _above(altitude_ft: float) -> str:
    return f"≥ {_feet(altitude_ft)}"


def _metres(length_m: float) -> str:
    return f"{length_m:,.0f} m" if float(length_m).is_integer() else f"{length_m:,} m"


def _coordinate(value_deg: float, ends: str) -> str:
    return f"{abs(value_deg)!r}°{ends[value_deg < 0]}".replace(".0°", "°")


def morse(letters: str) -> str:
    """Write letters as dots and dashes to be read from paper, wide enough to tell apart."""
    return "   ".join(MORSE[sign].replace(".", "•").replace("-", "–") for sign in letters)


def head(procedure: Procedure) -> dict[str, Fact]:
    """Title, field and dates."""
    where, until = procedure.airport, procedure.effective_until
    till = "until further notice" if until is None else f"to {until.isoformat()}"
    dates = ("effective_from",) if until is None else ("effective_from", "effective_until")
    return {
        "name": Fact(procedure.name, ("name",)),
        "field": Fact(f"{where.name}  {where.ident}", ("airport.name", "airport.ident")),
        "dates": Fact(f"In force {procedure.effective_from.isoformat()} {till}", dates),
    }


def runway(procedure: Procedure) -> Fact:
    """Say where the runway lies, how long it is, what lights it has."""
    where, field = procedure.runway, procedure.airport
    fields = ["airport.elevation_ft"] + [f"runway.{name}" for name in (
        "name", "heading_deg", "length_m", "lights", "approach_lights", "threshold_radial_deg",
        "threshold_distance_nm", "threshold_elevation_ft", "crossing_height_ft",
    )]  # fmt: skip
    lights = "lights" if where.lights else "no lights"
    lights += ", approach lights" if where.approach_lights else ", no approach lights"
    turn = procedure.runway_turn_deg
    side = "straight ahead" if abs(turn) < 0.5 else "turned to the left" if turn < 0 else "turned to the right"
    words = (
        f"Elevation {_feet(field.elevation_ft)}. "
        f"Runway {where.name}: {_deg(where.heading_deg)}, {side} of the final; "
        f"{_metres(where.length_m)}, {lights}. Threshold: {_radial(where.threshold_radial_deg)}, "
        f"{where.threshold_distance_nm:g} NM by survey, elevation {_feet(where.threshold_elevation_ft)}, crossed at "
        f"{_feet(where.crossing_height_ft)}"
    ).replace("straight ahead of", "in line with")
    if where.centre_line_crossed_nm:
        words += f"; centre line crossed {where.centre_line_crossed_nm:g} NM before it"
        fields.append("runway.centre_line_crossed_nm")
    return Fact(words + ".", tuple(fields))


def _station_tail(station: Station, at: str) -> Fact:
    declination = f"aligned {_coordinate(station.declination_deg, 'EW')}"
    return Fact(
        f"{_coordinate(station.lat_deg, 'NS')} {_coordinate(station.lon_deg, 'EW')}, {declination}, elevation "
        f"{_feet(station.elevation_ft)}, class {station.service_class}",
        tuple(f"{at}.{name}" for name in ("lat_deg", "lon_deg", "declination_deg", "elevation_ft", "service_class")),
    )


def station(procedure: Procedure) -> dict[str, Fact]:
    """Frequency, channel, ident and the rest of the station that guides the approach."""
    at = procedure.station
    channel = f"DME {at.dme_channel}" if at.dme_channel else "no DME"
    return {
        "ident": Fact(at.ident, ("station.ident",)),
        "frequency": Fact(f"{at.frequency_mhz:.2f}", ("station.frequency_mhz",)),
        "channel": Fact(channel, ("station.dme_channel",) if at.dme_channel else ()),
        "morse": Fact(morse(at.ident)),
        "tail": Fact(
            f"{at.name}: " + (tail := _station_tail(at, "station")).text + ".", (*tail.fields, "station.name")
        ),
    }


def others(procedure: Procedure) -> list[Fact]:
    """Other stations that can be heard, and where receivers are checked."""
    found = []
    for number, other in enumerate(procedure.other_stations, 1):
        at = f"other_stations.{number}"
        channel = f"DME {other.dme_channel}" if other.dme_channel else "no DME"
        tail = _station_tail(other, at)
        fields = (
            f"{at}.ident",
            f"{at}.name",
            f"{at}.frequency_mhz",
            *([f"{at}.dme_channel"] if other.dme_channel else []),
        )
        found.append(Fact(
            f"Not this one: {other.ident} {other.name}  {morse(other.ident)}  {other.frequency_mhz:.2f}, {channel}; "
            f"{tail.text}.", (*fields, *tail.fields),
        ))  # fmt: skip
    checks, fields_of = [], []
    for number, check in enumerate(procedure.receiver_checks, 1):
        at, words = f"receiver_checks.{number}", f"{check.kind} {check.place}"
        fields_of += [f"{at}.kind", f"{at}.place"]
        if check.radial_deg is not None:
            words += f", {_radial(check.radial_deg)}"
            fields_of.append(f"{at}.radial_deg")
        if check.distance_nm is not None:
            words += f" at {check.distance_nm:g} NM"
            fields_of.append(f"{at}.distance_nm")
        if check.frequency_mhz is not None:
            words += f", {check.frequency_mhz:.2f}"
            fields_of.append(f"{at}.frequency_mhz")
        checks.append(words)
    if checks:
        found.append(Fact(f"Receiver check: {'; '.join(checks)}.", tuple(fields_of)))
    return found


def sectors(procedure: Procedure) -> list[tuple[SectorAltitude, Fact]]:
    """Sector altitudes, each with its sector."""
    found = []
    for number, sector in enumerate(procedure.sector_altitudes, 1):
        at, fields = f"sector_altitudes.{number}", ["altitude_ft", "within_nm"]
        if sector.from_radial_deg is None or sector.to_radial_deg is None:
            where = "sector"
        else:
            where = f"{_radial(sector.from_radial_deg)} clockwise to {_radial(sector.to_radial_deg)}"
            fields += ["from_radial_deg", "to_radial_deg"]
        words = f"{where} {_above(sector.altitude_ft)}, {sector.within_nm:g} NM"
        found.append((sector, Fact(words, tuple(f"{at}.{name}" for name in fields))))
    return found


def on_final(procedure: Procedure) -> list[str]:
    """Fixes of the intermediate and final segments and the VDP, in flying order; the profile tells where they are."""
    legs = procedure.straight_in_legs()
    names = [name for leg in legs for name in (leg.start, leg.end) if name]
    names += ["VDP"] if procedure.has_vdp() else []
    return sorted(dict.fromkeys(names), key=procedure.fix_to_go_nm, reverse=True)


def fix(procedure: Procedure, name: str, *, lines: bool = True) -> Fact:
    """Name of a fix, its radial and distance, each once: a name that says one of them is enough."""
    if name == procedure.station.ident:
        return Fact(f"{name}\noverhead" if lines else f"{name}, overhead")
    at = procedure.fix(name)
    words, fields = [name], [f"fixes.{name}.radial_deg"]
    if not _says(name, _radial(at.radial_deg)):
        words.append(_radial(at.radial_deg))
    unit, kind = ("DME", "dme_nm") if at.dme_nm is not None else ("NM", "distance_nm")
    fields.append(f"fixes.{name}.{kind}")
    if not _tells_distance(name, at):
        words.append(f"{at.dist_nm:g} {unit}" + ("" if at.dme_nm is not None or name != "MAP" else " by time"))
    return Fact(("\n" if lines else " ").join(words), tuple(fields))


def _says(name: str, words: str) -> bool:
    return re.search(rf"(^|\s){re.escape(words)}(\s|$)", name) is not None


def _tells_distance(name: str, at: Fix) -> bool:
    told = re.search(r"(^|\s)(\d+(?:\.\d+)?) DME$", name)
    return told is not None and float(told[2]) == at.dist_nm


def elsewhere(procedure: Procedure) -> list[tuple[str, Fact]]:
    """Fixes that are not on the straight-in line, where the approach may begin, as far as no leg tells it."""
    line, begun = on_final(procedure), _entries_told_by_legs(procedure)
    found = []
    for each in procedure.fixes:
        if each.name not in line:
            found.append((each.name, fix(procedure, each.name, lines=False)))
    for number, entry in enumerate(procedure.entries, 1):
        if number in begun:
            continue
        told = Fact(
            f"{entry.fix}: begin {_above(entry.minimum_ft)}",
            (f"entries.{number}.fix", f"entries.{number}.minimum_ft"),
        )
        found.append((entry.fix, told))
    return found


def _entries_told_by_legs(procedure: Procedure) -> dict[int, int]:
    """Number of each entry whose lowest altitude is that of the leg which begins there, and that leg's."""
    told = {}
    for number, entry in enumerate(procedure.entries, 1):
        leg = procedure.route(entry.fix)[0]
        if leg.minimum_ft == entry.minimum_ft and leg.segment == "initial":
            told[number] = procedure.legs.index(leg) + 1
    return told


def _course(leg: Leg, at: str) -> tuple[str, list[str]]:
    """How a leg is flown, and the fields that say so."""
    if leg.kind == "arc":
        words, fields = f"{leg.arc_dme_nm:g} DME arc {leg.turn}", [f"{at}.arc_dme_nm"]
        if leg.lead_radial_deg is not None:
            words += f", lead {_radial(leg.lead_radial_deg)}"
            fields.append(f"{at}.lead_radial_deg")
        return words, fields
    if leg.kind == "timed":
        return (
            f"{_deg(leg.course_deg or 0)} for {leg.time_min:g} min, within {leg.within_nm:g} NM",
            [f"{at}.course_deg", f"{at}.time_min", f"{at}.within_nm"],
        )
    if leg.kind == "procedure turn":
        words = f"{leg.turn} to {_deg(leg.heading_out_deg or 0)}, {leg.time_min:g} min, "
        words += f"back on {_deg(leg.heading_in_deg or 0)}, within {leg.within_nm:g} NM"
        return words, [f"{at}.{name}" for name in ("heading_out_deg", "time_min", "heading_in_deg", "within_nm")]
    return f"{_deg(leg.course_deg or 0)}", [f"{at}.course_deg"]


def _floor(leg: Leg, at: str) -> tuple[str, list[str]]:
    if leg.minimum_ft is None:
        return "MDA", []
    words, fields = _above(leg.minimum_ft), [f"{at}.minimum_ft"]
    if leg.at_end_ft is not None:
        fields.append(f"{at}.at_end_ft")
        if leg.at_end_ft != leg.minimum_ft:
            words += f"\nat its end\n{_above(leg.at_end_ft)}"
    return words, fields


def way_in(procedure: Procedure) -> list[tuple[Leg, Fact]]:
    """Legs of the initial segment, each with how it is flown and its floor."""
    shared: dict[int, list[int]] = {}
    for entry, first in _entries_told_by_legs(procedure).items():
        shared.setdefault(first, []).append(entry)
    found = []
    for number, leg in enumerate(procedure.legs, 1):
        if leg.segment != "initial":
            continue
        course, fields = _course(leg, f"legs.{number}")
        floor, more = _floor(leg, f"legs.{number}")
        more += [f"entries.{entry}.minimum_ft" for entry in shared.get(number, [])]
        found.append((leg, Fact(f"{course} {floor}".replace("\n", " "), (*fields, *more))))
    return found


def courses_down(procedure: Procedure) -> list[tuple[list[Leg], Fact]]:
    """Courses of the straight-in legs: legs that follow one another on one course share it."""
    runs: list[list[tuple[int, Leg]]] = []
    for number, leg in enumerate(procedure.legs, 1):
        if leg.segment == "initial":
            continue
        before = runs[-1][-1][1] if runs else None
        same = before is not None and before.kind == leg.kind == "radial" and before.course_deg == leg.course_deg
        if same:
            runs[-1].append((number, leg))
        else:
            runs.append([(number, leg)])
    found = []
    for run in runs:
        parts = [_course(leg, f"legs.{number}") for number, leg in run]
        found.append(
            ([leg for _, leg in run], Fact(parts[0][0], tuple(name for _, fields in parts for name in fields)))
        )
    return found


def floors_down(procedure: Procedure) -> list[tuple[Leg, Fact]]:
    """Floors of the straight-in legs; the last is the MDA, whose numbers stand in the minimums."""
    found = []
    for number, leg in enumerate(procedure.legs, 1):
        if leg.segment != "initial":
            words, fields = _floor(leg, f"legs.{number}")
            found.append((leg, Fact(words, tuple(fields))))
    return found


def descent(procedure: Procedure) -> Fact:
    """Angle of the line, and what the DME does on the way to the missed approach point."""
    angle = procedure.descent_angle_deg
    words = f"Line of {f'{angle:.2f}' if round(angle, 2) == angle else f'{angle!r}'}° from the final fix"
    if procedure.map_by_dme:
        words += f"; the DME {procedure.trend(procedure.final_legs[-1])} to the MAP"
    else:
        words += "; the clock gives the MAP"
    return Fact(words + ".", ("descent.angle_deg",))


def times(procedure: Procedure) -> list[tuple[Fact, Fact]]:
    """Ground speeds and times from the final fix to the missed approach point; none where the DME gives it."""
    if procedure.map_by_dme:
        return []
    found = []
    for speed_kt in TIMED_KT:
        seconds = round(procedure.final_fix_to_map_nm / speed_kt * _SECONDS_IN_HOUR)
        found.append((Fact(f"{speed_kt}", (WORKED,)), Fact(f"{seconds // 60}:{seconds % 60:02d}", (WORKED,))))
    return found


def minimums(procedure: Procedure) -> tuple[list[str], list[tuple[str, list[Fact]]]]:
    """Give the table of minimums: its categories, and a row of cells for each kind."""
    lines = procedure.minimums
    kinds: list[tuple[str, str, tuple[Minimum, ...]]] = [
        ("straight in", "straight_in", lines.straight_in), ("circling", "circling", lines.circling)
    ]  # fmt: skip
    categories: list[str] = sorted({line.category for _, _, rows in kinds for line in rows})
    table = []
    for words, name, rows in kinds:
        cells = []
        for category in categories:
            line = next((row for row in rows if row.category == category), None)
            at = f"minimums.{name}.{category}"
            cells.append(
                Fact("none")
                if line is None
                else Fact(
                    f"{_feet(line.mda_ft)}\n{_metres(line.visibility_m)}", (f"{at}.mda_ft", f"{at}.visibility_m")
                )
            )
        table.append((words, cells))
    return categories, table


def changes(procedure: Procedure) -> list[Fact]:
    """Everything that changes the minimums, with what it does."""
    lines, found = procedure.minimums, []
    if lines.circling_not:
        found.append(Fact(f"No circling {lines.circling_not}.", ("minimums.circling_not",)))
    if lines.remote_setting_from:
        words, fields = f"Setting of {lines.remote_setting_from}", ["remote_setting_from", "remote_setting_add_ft"]
        if lines.remote_setting_lat_deg is not None and lines.remote_setting_lon_deg is not None:
            lat, lon = lines.remote_setting_lat_deg, lines.remote_setting_lon_deg
            words += f" ({_coordinate(lat, 'NS')} {_coordinate(lon, 'EW')})"
            fields += ["remote_setting_lat_deg", "remote_setting_lon_deg"]
        words += f": every MDA + {_feet(lines.remote_setting_add_ft)}"
        if lines.vdp_not_with_remote:
            words += ", no VDP"
            fields.append("vdp_not_with_remote")
        found.append(Fact(words + ".", tuple(f"minimums.{name}" for name in fields)))
    if lines.without_step_down_ft is not None:
        words, fields = f"Step-down fix not identified: {_feet(lines.without_step_down_ft)}", ["without_step_down_ft"]
        if lines.without_step_down_visibility_m is not None:
            words += f", {_metres(lines.without_step_down_visibility_m)}"
            fields.append("without_step_down_visibility_m")
        found.append(Fact(words + ".", tuple(f"minimums.{name}" for name in fields)))
    if lines.cold_limit_c is not None:
        found.append(
            Fact(f"Colder than {lines.cold_limit_c:g} °C: only with corrections.", ("minimums.cold_limit_c",))
        )
    return found


def go_around(procedure: Procedure) -> Iterator[tuple[str, Fact]]:
    """Lines of the missed approach as they are flown, each with the word for it: climb, turn, track, hold."""
    plan, hold = procedure.missed, procedure.hold
    after = "" if plan.turn_after == "MAP" else f"; no turn before {plan.turn_after}"
    yield "climb", Fact(
        f"on {_deg(plan.course_deg)} to {_feet(plan.climb_to_ft)}{after}", (
            "missed.course_deg", "missed.climb_to_ft", *(["missed.turn_after"] if after else []),
        ),
    )  # fmt: skip
    side = plan.turn.upper()
    if plan.heading_deg is not None:
        yield "turn", Fact(f"{side}, climbing, on to heading {_deg(plan.heading_deg)}", ("missed.heading_deg",))
    else:
        yield "turn", Fact(f"{side}, climbing")
    if plan.intercept_radial_deg is not None:
        words = f"{procedure.station.ident} {_radial(plan.intercept_radial_deg)} outbound to {plan.fix}"
        yield "track", Fact(words, ("missed.intercept_radial_deg", "missed.fix"))
    else:
        yield "track", Fact(f"direct to {plan.fix}", ("missed.fix",))
    by, field = (
        (f"{hold.leg_dme_nm:g} NM by DME", "hold.leg_dme_nm")
        if hold.leg_dme_nm is not None
        else (f"legs of {hold.leg_min:g} min", "hold.leg_min")
    )
    at = "" if hold.fix == plan.fix else f"at {hold.fix}, "
    fields = ["hold.fix", "hold.inbound_course_deg", "hold.altitude_ft", field, "missed.altitude_ft"]
    words = f"{at}{_deg(hold.inbound_course_deg)} inbound, {hold.turn} turns, {by}, {_feet(hold.altitude_ft)}"
    yield "hold", Fact(words, tuple(fields))


def gradient(procedure: Procedure) -> Fact:
    """Lowest climb gradient of the missed approach."""
    plan = procedure.missed
    words, fields = f"{plan.gradient_ft_nm:g} ft/NM or more", ["missed.gradient_ft_nm"]
    if plan.gradient_until_ft is not None:
        words += f" to {_feet(plan.gradient_until_ft)}"
        fields.append("missed.gradient_until_ft")
    return Fact(words, tuple(fields))


def notes(procedure: Procedure) -> list[Fact]:
    """Notes as they stand in the file."""
    return [Fact(note, (f"notes.{number}",)) for number, note in enumerate(procedure.notes, 1)]
