"""What can be wrong with a procedure whose single fields are readable, said in plain words.

Every check looks only at parts that could be read, and leaves out what follows from a fault already told.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import Any

from needlework.basis.quantity import Constant
from needlework.trade.angles import difference_deg, reciprocal, turn_deg, wrap360
from needlework.trade.dme import channel as paired_channel
from needlework.trade.units import deg_from_ft_nm
from needlework.trade.vor import is_vor_frequency
from needlework.world.datafiles import did_you_mean, one_of
from needlework.world.procedure_parts import ALLOWED_BY_KIND, NEEDED_BY_KIND, Fix, Leg, along_nm, meets_nm

FINAL_GRADIENT_MIN_FT_NM = Constant(250.0, "ft/NM", "scenario", "shallowest final leg a file may hold")
FINAL_GRADIENT_MAX_FT_NM = Constant(400.0, "ft/NM", "8260-3", "3.77 degrees, steepest straight-in final")
MISSED_GRADIENT_MIN_FT_NM = Constant(200.0, "ft/NM", "AIM-5-4-21", "what a missed approach assumes unless told")
STRAIGHT_IN_OFFSET_DEG = Constant(30.0, "deg", "from-memory", "most a straight-in final differs from the runway")
ARC_LEAD_DEG = Constant(30.0, "deg", "common-practice", "a lead radial further away than this is a slip")

# What a file may round away.
_COURSE_DEG = 0.5
_ANGLE_DEG = 0.05
_VDP_NM = 0.1
_MISSED_COURSE_DEG = 15.0
_HAIR = 1e-6
_SEGMENTS = ("initial", "intermediate", "final")


class _World:
    """The parts that could be read, with the few look-ups every check needs."""

    def __init__(self, parts: dict[str, Any], known_fixes: set[str] | None) -> None:
        self.head = parts["head"]
        self.airport = parts["airport"]
        self.runway = parts["runway"]
        self.station = parts["station"]
        self.other_stations = parts["other_stations"] or ()
        self.receiver_checks = parts["receiver_checks"] or ()
        self.sectors = parts["sector_altitudes"]
        self.entries = parts["entries"] or ()
        self.legs: tuple[Leg | None, ...] = parts["legs"] or ()
        self.descent = parts["descent"]
        self.minimums = parts["minimums"]
        self.missed = parts["missed"]
        self.hold = parts["hold"]
        self.all_fixes: list[Fix] = [fix for fix in parts["fixes"] or () if fix is not None]
        self.fixes = {fix.name: fix for fix in self.all_fixes if (fix.dme_nm, fix.distance_nm) != (None, None)}
        self.known_fixes = known_fixes

    def fix(self, name: str | None) -> Fix | None:
        """Return the fix; the station itself is at 0 NM; None if it is unknown or could not be read."""
        if name is None:
            return None
        if self.station is not None and name == self.station.ident:
            return Fix(name=name, radial_deg=0.0, distance_nm=0.0)
        return self.fixes.get(name)

    def place(self, leg: Leg) -> str:
        """Name a leg the way the reader of fields does."""
        number = next(n for n, other in enumerate(self.legs, 1) if other is leg)
        return f"leg {number} ({leg.text})"

    def whole_legs(self) -> list[Leg]:
        """Legs that could be read."""
        return [leg for leg in self.legs if leg is not None]

    def finals(self) -> list[Leg]:
        """Final legs, in order; none unless all legs could be read."""
        return [] if None in self.legs else [leg for leg in self.whole_legs() if leg.segment == "final"]

    def routes(self) -> Iterator[tuple[Any, list[Leg | None]]]:
        """Each way in with its legs; none where a leg names a way in that is not there."""
        ways = {None, *(entry.fix for entry in self.entries if entry is not None)}
        if any(leg.entry not in ways for leg in self.whole_legs()):
            return
        for entry in self.entries:
            if entry is not None:
                yield entry, [leg for leg in self.legs if leg is None or leg.entry in (None, entry.fix)]

    def final_course_deg(self) -> float | None:
        """Course of the final line by its fixes, not by what is typed on the legs."""
        finals = self.finals()
        if not finals:
            return None
        begin, end = self.fix(finals[-1].start), self.fix(finals[-1].end)
        if begin is None or end is None or end.dist_nm == begin.dist_nm:
            return None
        inward = end.dist_nm < begin.dist_nm
        return float(reciprocal(begin.radial_deg)) if inward else end.radial_deg

    def to_go_nm(self, name: str | None) -> float | None:
        """Distance to the threshold along the final line."""
        fix, course = self.fix(name), self.final_course_deg()
        if fix is None or course is None or self.runway is None:
            return None
        return self.threshold_along_nm(course) - along_nm(fix, course)

    def threshold_along_nm(self, course_deg: float) -> float:
        """Distance of the threshold past the station along a course."""
        where = self.runway
        return along_nm(
            Fix(name="", radial_deg=where.threshold_radial_deg, distance_nm=where.threshold_distance_nm), course_deg
        )

    def final_fix_ft(self) -> float | None:
        """Lowest altitude at the final approach fix."""
        finals = self.finals()
        ends = [leg.end_ft for leg in self.whole_legs() if finals and leg.end == finals[0].start and leg.end_ft]
        return ends[0] if ends else None

    def crossing_ft(self) -> float | None:
        """Altitude of the descent line over the threshold."""
        return None if self.runway is None else self.runway.threshold_elevation_ft + self.runway.crossing_height_ft

    def lowest_mda_ft(self) -> float | None:
        """Lowest straight-in MDA of all categories."""
        return None if self.minimums is None else min(line.mda_ft for line in self.minimums.straight_in)


def find_faults(parts: dict[str, Any], known_fixes: set[str] | None, day: datetime.date) -> list[str]:
    """List every fault; ``known_fixes`` are all names in the file, None if they could not be read."""
    world = _World(parts, known_fixes)
    faults = list(_dates(world, day))
    for check in _CHECKS:
        faults.extend(check(world))
    return list(dict.fromkeys(faults))


def _deg(direction_deg: float) -> str:
    return f"{round(direction_deg) % 360 or 360:03d}"


def _ft(altitude_ft: float) -> str:
    return f"{altitude_ft:,.0f} ft"


def _apart_deg(one_deg: float, other_deg: float) -> float:
    return abs(float(difference_deg(from_deg=one_deg, to_deg=other_deg)))


def _dates(world: _World, day: datetime.date) -> Iterator[str]:
    head = world.head
    if head is None:
        return
    if head.effective_until is not None and head.effective_until < head.effective_from:
        yield (
            f"effective_until = {head.effective_until} is before effective_from = {head.effective_from}: "
            "expected a later day"
        )
    elif day < head.effective_from:
        yield f"effective_from = {head.effective_from}: not yet in force on {day} (UTC), expected that day or earlier"
    elif head.effective_until is not None and day > head.effective_until:
        yield (
            f"effective_until = {head.effective_until}: out of date on {day} (UTC), "
            "expected that day or later: fly the current procedure"
        )


def _stations(world: _World) -> Iterator[str]:
    named = [("station", world.station)]
    named += [(f"other station {number}", other) for number, other in enumerate(world.other_stations, 1)]
    for place, station in named:
        if station is None:
            continue
        if not is_vor_frequency(station.frequency_mhz):
            yield (
                f"{place}.frequency_mhz = {station.frequency_mhz:.2f} MHz is no VOR channel: expected "
                "108.00 to 117.95 "
                "in steps of 0.05, below 112 only with an even first decimal"
            )
        elif station.has_dme and station.dme_channel != paired_channel(station.frequency_mhz):
            yield (
                f'{place}.dme_channel = "{station.dme_channel}" does not pair with {station.frequency_mhz:.2f} MHz: '
                f'expected "{paired_channel(station.frequency_mhz)}"'
            )
    idents = [station.ident for _, station in named if station is not None]
    for ident in sorted({ident for ident in idents if idents.count(ident) > 1}):
        yield f'other station ident = "{ident}" stands twice: expected another ident for each station'


def _other_tables(world: _World) -> Iterator[str]:
    for number, check in enumerate(world.receiver_checks, 1):
        if check is None:
            continue
        needed = ("frequency_mhz",) if check.kind == "test signal" else ("radial_deg", "distance_nm")
        for name in needed:
            if getattr(check, name) is None:
                yield f"receiver check {number}.{name} is missing: expected it for the kind {check.kind}"
    sectors = [sector for sector in world.sectors or () if sector is not None]
    for number, sector in enumerate(world.sectors or (), 1):
        if sector is not None and (sector.from_radial_deg is None) != (sector.to_radial_deg is None):
            yield (
                f"sector altitude {number} has one limiting radial: expected from_radial_deg and "
                "to_radial_deg, or neither"
            )
    if sectors and None not in world.sectors and all(s.from_radial_deg is not None for s in sectors):
        yield "sector_altitudes cover no full circle: expected one without radials, for all round the station"


def _fixes(world: _World) -> Iterator[str]:
    station = world.station
    for fix in world.all_fixes:
        if (fix.dme_nm is None) == (fix.distance_nm is None):
            found = "neither dme_nm nor distance_nm" if fix.dme_nm is None else "both dme_nm and distance_nm"
            yield f"fixes.{fix.name} has {found}: expected one of them"
        elif station is not None and not station.has_dme and fix.dme_nm is not None:
            yield (
                f"fixes.{fix.name}.dme_nm = {fix.dme_nm:g} NM: {station.ident} has no DME; expected distance_nm from "
                "survey, or a station with dme_channel"
            )
        if fix.name == "threshold" or (station is not None and fix.name == station.ident):
            yield f"fixes.{fix.name} is known already: expected another name"


def _names(world: _World) -> Iterator[str]:
    """Names of fixes that stand nowhere, and rows that stand twice."""
    used: list[tuple[str, str | None]] = []
    for number, entry in enumerate(world.entries, 1):
        if entry is not None:
            used.append((f"entry {number}.fix", entry.fix))
    for leg in world.whole_legs():
        used += [(f"{world.place(leg)}.from", leg.start), (f"{world.place(leg)}.to", leg.end)]
    if world.missed is not None:
        used += [("missed.turn_after", world.missed.turn_after), ("missed.fix", world.missed.fix)]
    if world.hold is not None:
        used.append(("hold.fix", world.hold.fix))
    for place, name in used:
        if world.known_fixes is not None and name is not None and name not in world.known_fixes:
            yield f'{place} = "{name}" is no fix of this procedure: {did_you_mean(name, world.known_fixes)}'
    ways = [entry.fix for entry in world.entries if entry is not None]
    for name in sorted({name for name in ways if ways.count(name) > 1}):
        yield f'entries: "{name}" stands twice: expected each fix once'
    if world.entries and None not in world.entries:
        for leg in world.whole_legs():
            if leg.entry is not None and leg.entry not in ways:
                yield (
                    f'{world.place(leg)}.entry = "{leg.entry}" is not among the entries: '
                    f"{did_you_mean(leg.entry, ways)}"
                )


def _leg_fields(world: _World) -> Iterator[str]:
    """Fields that belong to one kind of leg and not to another."""
    specific = sorted(set().union(*NEEDED_BY_KIND.values(), *ALLOWED_BY_KIND.values()))
    attribute = {"from": "start", "to": "end"}
    for leg in world.whole_legs():
        given = {name for name in specific if getattr(leg, attribute.get(name, name)) is not None}
        needed = NEEDED_BY_KIND[leg.kind]
        for name in sorted(needed - given):
            yield f"{world.place(leg)}.{name} is missing: expected it for the kind {leg.kind}"
        for name in sorted(given - needed - ALLOWED_BY_KIND[leg.kind]):
            yield (
                f"{world.place(leg)}.{name} does not belong to the kind {leg.kind}: expected it only for "
                f"{_kinds(name)}"
            )


def _kinds(name: str) -> str:
    return one_of(kind for kind in NEEDED_BY_KIND if name in NEEDED_BY_KIND[kind] | ALLOWED_BY_KIND[kind])


def _chain(world: _World) -> Iterator[str]:
    """Legs that do not follow one another."""
    legs = world.whole_legs()
    if None in world.legs or not legs or any(True for _ in _leg_fields(world)):
        return
    for before, leg in pairwise(legs):
        if _SEGMENTS.index(leg.segment) < _SEGMENTS.index(before.segment):
            yield (
                f'{world.place(leg)}.segment = "{leg.segment}" comes after {before.segment}: expected the order flown'
            )
    finals = world.finals()
    if not finals:
        yield 'legs hold no final segment: expected at least one leg with segment = "final"'
        return
    if finals[-1].end != "MAP":
        yield f'{world.place(finals[-1])}.to = "{finals[-1].end}": expected "MAP" at the end of the last final leg'
    fix = finals[0].start
    if fix is not None and not any(leg.end == fix for leg in legs):
        yield f'{world.place(finals[0])}.from = "{fix}": expected a leg that ends there, the final approach fix'
    elif fix is None and (finals[0] is legs[0] or legs[legs.index(finals[0]) - 1].end is None):
        yield f"{world.place(finals[0])}.from is missing: expected the final approach fix"
    for leg in finals:
        if leg.kind != "radial":
            yield f'{world.place(leg)}.kind = "{leg.kind}": expected "radial" in the final segment'
    for entry, route in world.routes():
        first = route[0] if route else None
        if first is not None and first.start not in (None, entry.fix):
            yield f'{world.place(first)}.from = "{first.start}": expected "{entry.fix}", where this way in begins'
        for before_, leg_ in pairwise(route):
            if before_ is None or leg_ is None:
                continue
            open_end = before_.kind in ("timed", "procedure turn")
            if not open_end and leg_.kind != "procedure turn" and leg_.start != before_.end:
                found = f'= "{leg_.start}"' if leg_.start else "is missing"
                yield f'{world.place(leg_)}.from {found}: expected "{before_.end}", where the leg before it ends'


def _courses(world: _World) -> Iterator[str]:
    """Radial legs whose course is not the line between their fixes."""
    for leg in world.whole_legs():
        begin, end = world.fix(leg.start), world.fix(leg.end)
        if leg.kind != "radial" or begin is None or end is None or leg.course_deg is None:
            continue
        if begin.dist_nm == 0 and end.dist_nm == 0:
            yield f"{world.place(leg)} begins and ends at the station: expected two places"
            continue
        if begin.dist_nm and end.dist_nm and _apart_deg(begin.radial_deg, end.radial_deg) > _COURSE_DEG:
            yield (
                f"{world.place(leg)}: {begin.name} lies on radial {_deg(begin.radial_deg)} and {end.name} on "
                f"{_deg(end.radial_deg)}: expected one radial for both"
            )
            continue
        radial = end.radial_deg if end.dist_nm else begin.radial_deg
        outward = end.dist_nm > begin.dist_nm
        wanted = radial if outward else float(reciprocal(radial))
        if _apart_deg(wanted, leg.course_deg) > _COURSE_DEG:
            why = f"outbound on radial {_deg(radial)}" if outward else f"the reciprocal of radial {_deg(radial)}"
            yield f"{world.place(leg)}.course_deg = {_deg(leg.course_deg)}: expected {_deg(wanted)}, {why}"


def _arcs(world: _World) -> Iterator[str]:
    for leg in world.whole_legs():
        if leg.kind != "arc" or leg.arc_dme_nm is None or leg.turn is None:
            continue
        place = world.place(leg)
        if world.station is not None and not world.station.has_dme:
            yield f"{place}.arc_dme_nm = {leg.arc_dme_nm:g} NM: {world.station.ident} has no DME; expected no arc"
            continue
        begin, end = world.fix(leg.start), world.fix(leg.end)
        off = [fix for fix in (begin, end) if fix is not None and abs(fix.dist_nm - leg.arc_dme_nm) > _HAIR]
        if len(off) == 2 and abs(off[0].dist_nm - off[1].dist_nm) < _HAIR:
            yield (
                f"{place}.arc_dme_nm = {leg.arc_dme_nm:g} NM: expected {off[0].dist_nm:g} NM, "
                f"the distance of {off[0].name} and {off[1].name}"
            )
        else:
            for fix in off:
                yield (
                    f"{place}: {fix.name} at {fix.dist_nm:g} NM is not on the arc: "
                    f"expected it at {leg.arc_dme_nm:g} NM"
                )
        if begin is None or end is None or off:
            continue
        swept = float(turn_deg(from_deg=begin.radial_deg, to_deg=end.radial_deg, side=leg.turn))
        if swept > 180 or swept < _COURSE_DEG:
            other = "left" if leg.turn == "right" else "right"
            yield (
                f'{place}.turn = "{leg.turn}" goes {swept:.0f} degrees round the station: '
                f'expected "{other}", the short way of {360 - swept:.0f} degrees'
            )
            continue
        if leg.lead_radial_deg is not None:
            to_lead = float(turn_deg(from_deg=begin.radial_deg, to_deg=leg.lead_radial_deg, side=leg.turn))
            if to_lead > swept or swept - to_lead > ARC_LEAD_DEG:
                yield (
                    f"{place}.lead_radial_deg = {_deg(leg.lead_radial_deg)}: the arc from radial "
                    f"{_deg(begin.radial_deg)} "
                    f"{leg.turn} to {_deg(end.radial_deg)} does not reach its lead-in there: expected a radial "
                    f"shortly before {_deg(end.radial_deg)}"
                )


def _reversals(world: _World) -> Iterator[str]:
    """Timed outbound legs and procedure turns."""
    for before, leg in pairwise(world.legs):
        if before is None or leg is None:
            continue
        if leg.kind == "procedure turn" and before.kind == "timed" and before.course_deg is not None and leg.turn:
            away = 45.0 if leg.turn == "right" else -45.0
            out = float(wrap360(before.course_deg + away))
            if leg.heading_out_deg is not None and _apart_deg(leg.heading_out_deg, out) > _COURSE_DEG:
                yield (
                    f"{world.place(leg)}.heading_out_deg = {_deg(leg.heading_out_deg)}: expected {_deg(out)}, "
                    f"45 degrees {leg.turn} of the outbound course {_deg(before.course_deg)}"
                )
            elif leg.heading_in_deg is not None and _apart_deg(leg.heading_in_deg, out) < 180 - _COURSE_DEG:
                yield (
                    f"{world.place(leg)}.heading_in_deg = {_deg(leg.heading_in_deg)}: expected "
                    f"{_deg(float(reciprocal(out)))}, the reciprocal of heading_out_deg"
                )
    outbound: Leg | None = None
    for leg in world.legs:
        if leg is not None and leg.kind == "timed":
            outbound = leg
        elif leg is not None and leg.kind == "radial" and outbound is not None and leg.start is None:
            wanted = None if outbound.course_deg is None else float(reciprocal(outbound.course_deg))
            if wanted is not None and leg.course_deg is not None and _apart_deg(wanted, leg.course_deg) > _COURSE_DEG:
                yield (
                    f"{world.place(leg)}.course_deg = {_deg(leg.course_deg)}: expected {_deg(wanted)}, "
                    f"the reciprocal of the outbound course {_deg(float(reciprocal(wanted)))}"
                )


def _altitudes(world: _World) -> Iterator[str]:
    finals = world.finals()
    for leg in world.whole_legs():
        place = world.place(leg)
        if leg.minimum_ft is not None and leg.at_end_ft is not None and leg.at_end_ft < leg.minimum_ft:
            yield (
                f"{place}.at_end_ft = {_ft(leg.at_end_ft)}: {leg.end} lies below the minimum of its leg, "
                f"expected {_ft(leg.minimum_ft)} or more"
            )
        if finals and (leg.minimum_ft is None) != (leg is finals[-1]):
            wanted = (
                '"MDA", as on every last final leg'
                if leg is finals[-1]
                else "feet: only the last final leg has the MDA"
            )
            found = '"MDA"' if leg.minimum_ft is None else _ft(leg.minimum_ft)
            yield f"{place}.minimum_ft = {found}: expected {wanted}"
        elif leg.minimum_ft is None and leg.at_end_ft is not None:
            yield f"{place}.at_end_ft = {_ft(leg.at_end_ft)}: expected it left out where minimum_ft is the MDA"
    for entry, route in world.routes():
        first = route[0] if route else None
        if first is not None and first.minimum_ft is not None and entry.minimum_ft < first.minimum_ft:
            yield (
                f"entries: {entry.fix} minimum_ft = {_ft(entry.minimum_ft)} lies below the minimum of its first leg: "
                f"expected {_ft(first.minimum_ft)} or more"
            )
        for before, leg_ in pairwise(route):
            if before is None or leg_ is None or before.end_ft is None or leg_.minimum_ft is None:
                continue
            if leg_.minimum_ft > before.end_ft:
                yield (
                    f"{world.place(leg_)}.minimum_ft = {_ft(leg_.minimum_ft)} lies above the minimum before it: "
                    f"expected {_ft(before.end_ft)} or less"
                )


def _runway(world: _World) -> Iterator[str]:
    """Threshold, missed approach point and the order of the final fixes."""
    runway, finals, course = world.runway, world.finals(), world.final_course_deg()
    if runway is None or course is None or finals[-1].end != "MAP":
        return
    outer = _outer(world)
    if outer is None:
        return
    if _apart_deg(outer.radial_deg, runway.threshold_radial_deg) > _COURSE_DEG:
        yield (
            f"runway.threshold_radial_deg = {_deg(runway.threshold_radial_deg)}: expected {_deg(outer.radial_deg)}, "
            f"the radial of {outer.name}: the final line passes over the threshold"
        )
        return
    if _apart_deg(course, runway.heading_deg) > STRAIGHT_IN_OFFSET_DEG:
        yield (
            f"runway.heading_deg = {_deg(runway.heading_deg)}: expected within "
            f"{STRAIGHT_IN_OFFSET_DEG:.0f} degrees of "
            f"the final course {_deg(course)}"
        )
    point, to_go = world.fixes.get("MAP"), world.to_go_nm("MAP")
    if point is not None and to_go is not None and to_go < -_HAIR:
        place, found = _where(point)
        side = "at least" if _inward(world) else "at most"
        yield (
            f"{place} = {found:g} NM: the missed approach point lies {-to_go:.1f} NM beyond the threshold, "
            f"expected {side} {runway.threshold_distance_nm:g} NM"
        )
    for leg in finals:
        begin_nm, end_nm = world.to_go_nm(leg.start), world.to_go_nm(leg.end)
        if begin_nm is not None and end_nm is not None and end_nm >= begin_nm:
            yield (
                f"{world.place(leg)}: {leg.end} does not lie past {leg.start}: expected the fixes in the order flown"
            )


def _where(fix: Fix) -> tuple[str, float]:
    name = "distance_nm" if fix.dme_nm is None else "dme_nm"
    return f"fixes.{fix.name}.{name}", fix.dist_nm


def _outer(world: _World) -> Fix | None:
    """Of the two ends of the last final leg the one further from the station: its radial is the line's."""
    finals = world.finals()
    ends = [fix for fix in (world.fix(finals[-1].start), world.fix(finals[-1].end)) if fix is not None]
    return max(ends, key=lambda fix: fix.dist_nm) if len(ends) == 2 else None


def _inward(world: _World) -> bool:
    begin, end = world.fix(world.finals()[-1].start), world.fix("MAP")
    return begin is not None and end is not None and end.dist_nm < begin.dist_nm


def _profile(world: _World) -> Iterator[str]:
    """Gradients of the final legs, the published angle, floors under the line, the VDP."""
    finals, top_ft, bottom_ft = world.finals(), world.final_fix_ft(), world.crossing_ft()
    to_go = [world.to_go_nm(leg.start) for leg in finals]
    if not finals or top_ft is None or bottom_ft is None or None in to_go:
        return
    dist = [float(d) for d in to_go if d is not None] + [0.0]
    if any(after >= before for before, after in pairwise(dist)):
        return
    step_ft = [leg.end_ft for leg in finals[:-1]]
    if None in step_ft:
        return
    heights = [top_ft, *(float(h) for h in step_ft if h is not None), bottom_ft]
    steep = False
    for n, leg in enumerate(finals):
        gradient = (heights[n] - heights[n + 1]) / (dist[n] - dist[n + 1])
        # A round number of feet may stand for an exact limit.
        if not FINAL_GRADIENT_MIN_FT_NM - 0.5 <= gradient <= FINAL_GRADIENT_MAX_FT_NM + 0.5:
            steep = True
            end = "over the threshold" if leg is finals[-1] else f"at {leg.end}"
            yield (
                f"{world.place(leg)}: gradient = {gradient:.0f} ft/NM, from {_ft(heights[n])} at {leg.start} to "
                f"{_ft(heights[n + 1])} {end} in {dist[n] - dist[n + 1]:.1f} NM: expected "
                f"{FINAL_GRADIENT_MIN_FT_NM:.0f} to {FINAL_GRADIENT_MAX_FT_NM:.0f} ft/NM"
            )
    if steep:
        return
    gradient = (top_ft - bottom_ft) / dist[0]
    angle = float(deg_from_ft_nm(gradient))
    if world.descent is not None and abs(world.descent.angle_deg - angle) > _ANGLE_DEG:
        yield (
            f"descent.angle_deg = {world.descent.angle_deg:g} deg: expected {angle:.2f}, from {_ft(top_ft)} at "
            f"{finals[0].start} to {_ft(bottom_ft)} over the threshold in {dist[0]:.1f} NM"
        )
    for leg, height, nm in zip(finals, heights[1:-1], dist[1:-1], strict=False):
        line_ft = bottom_ft + nm * gradient
        if line_ft < height - 0.5:
            yield (
                f"{world.place(leg)}.at_end_ft = {_ft(height)}: the straight line to the threshold passes "
                f"{leg.end} at "
                f"{_ft(line_ft)}, below its minimum: expected {_ft(line_ft)} or less"
            )
    yield from _vdp(world, gradient, bottom_ft)


def _vdp(world: _World, gradient_ft_nm: float, bottom_ft: float) -> Iterator[str]:
    course, lowest_ft, outer = world.final_course_deg(), world.lowest_mda_ft(), _outer(world)
    point, here_nm = world.fixes.get("VDP"), world.to_go_nm("VDP")
    if point is None or here_nm is None or course is None or lowest_ft is None or outer is None:
        return
    if _apart_deg(point.radial_deg, outer.radial_deg) > _COURSE_DEG:
        yield (
            f"fixes.VDP.radial_deg = {_deg(point.radial_deg)}: expected {_deg(outer.radial_deg)}, "
            f"the radial of {outer.name}"
        )
        return
    wanted_nm = (lowest_ft - bottom_ft) / gradient_ft_nm
    if abs(here_nm - wanted_nm) > _VDP_NM + _HAIR:
        place, found = _where(point)
        wanted = abs(world.threshold_along_nm(course) - wanted_nm)
        yield (
            f"{place} = {found:g} NM: expected {wanted:.1f} NM, where the descent line meets the MDA of "
            f"{_ft(lowest_ft)}"
        )


def _minimums(world: _World) -> Iterator[str]:
    minimums, runway, airport = world.minimums, world.runway, world.airport
    if minimums is None:
        return
    straight = {line.category: line.mda_ft for line in minimums.straight_in}
    for category, mda_ft in straight.items():
        if runway is not None and mda_ft <= runway.threshold_elevation_ft + runway.crossing_height_ft:
            yield (
                f"minimums.straight_in.{category}.mda_ft = {_ft(mda_ft)}: expected above the descent line over the "
                f"threshold at {_ft(runway.threshold_elevation_ft + runway.crossing_height_ft)}"
            )
    for line in minimums.circling:
        if line.mda_ft < straight.get(line.category, line.mda_ft):
            yield (
                f"minimums.circling.{line.category}.mda_ft = {_ft(line.mda_ft)}: expected at least the straight-in "
                f"MDA of {_ft(straight[line.category])}"
            )
        elif airport is not None and line.mda_ft <= airport.elevation_ft:
            yield (
                f"minimums.circling.{line.category}.mda_ft = {_ft(line.mda_ft)}: expected above the airport at "
                f"{_ft(airport.elevation_ft)}"
            )
    if (minimums.remote_setting_from is None) != (minimums.remote_setting_add_ft == 0):
        yield "minimums: remote_setting_from and remote_setting_add_ft belong together: expected both or neither"
    if (minimums.remote_setting_lat_deg is None) != (minimums.remote_setting_lon_deg is None):
        yield "minimums: remote_setting_lat_deg and remote_setting_lon_deg belong together: expected both or neither"
    if minimums.remote_setting_from is None and not minimums.remote_setting_add_ft:
        for name in ("remote_setting_lat_deg", "vdp_not_with_remote"):
            if getattr(minimums, name) not in (None, False):
                yield f"minimums.{name} is given without remote_setting_from: expected the field's identifier as well"
    elif minimums.vdp_not_with_remote and world.known_fixes is not None and "VDP" not in world.known_fixes:
        yield "minimums.vdp_not_with_remote is given but there is no fix VDP: expected it left out"
    finals = world.finals()
    highest_ft = max(straight.values(), default=0.0)
    if minimums.without_step_down_ft is not None and len(finals) == 1:
        yield "minimums.without_step_down_ft is given but the final has no step-down fix: expected it left out"
    elif minimums.without_step_down_ft is not None and minimums.without_step_down_ft < highest_ft:
        yield (
            f"minimums.without_step_down_ft = {_ft(minimums.without_step_down_ft)}: expected at least the MDA of "
            f"{_ft(highest_ft)}"
        )
    if minimums.without_step_down_visibility_m is not None:
        least_m = max(line.visibility_m for line in minimums.straight_in)
        if minimums.without_step_down_ft is None:
            yield (
                "minimums.without_step_down_visibility_m is given without without_step_down_ft: expected both, or "
                "neither"
            )
        elif minimums.without_step_down_visibility_m < least_m:
            yield (
                f"minimums.without_step_down_visibility_m = {minimums.without_step_down_visibility_m:,.0f} m: "
                f"expected at least {least_m:,.0f} m, as with the step-down fix"
            )
    before_ft = finals[-2].end_ft if len(finals) > 1 else world.final_fix_ft()
    if finals and before_ft is not None and highest_ft > before_ft:
        yield (
            f"minimums.straight_in: MDA of {_ft(highest_ft)}: expected at most {_ft(before_ft)}, the "
            "minimum before it"
        )


def _missed(world: _World) -> Iterator[str]:
    missed, course, lowest_ft = world.missed, world.final_course_deg(), world.lowest_mda_ft()
    if missed is None:
        return
    aside = course is not None and _apart_deg(missed.course_deg, course) > _MISSED_COURSE_DEG
    if aside and course is not None:
        yield f"missed.course_deg = {_deg(missed.course_deg)}: expected straight ahead, {_deg(course)}"
    if world.minimums is not None and missed.climb_to_ft <= max(m.mda_ft for m in world.minimums.straight_in):
        yield f"missed.climb_to_ft = {_ft(missed.climb_to_ft)}: expected above the MDA of {_ft(lowest_ft or 0)}"
    if missed.altitude_ft < missed.climb_to_ft:
        yield (
            f"missed.altitude_ft = {_ft(missed.altitude_ft)}: expected at least climb_to_ft, "
            f"{_ft(missed.climb_to_ft)}"
        )
    if missed.gradient_ft_nm < MISSED_GRADIENT_MIN_FT_NM:
        yield (
            f"missed.gradient_ft_nm = {missed.gradient_ft_nm:g} ft/NM: expected "
            f"{MISSED_GRADIENT_MIN_FT_NM:.0f} or more, "
            "what every missed approach assumes"
        )
    until_ft = missed.gradient_until_ft
    if until_ft is not None and lowest_ft is not None and not lowest_ft < until_ft <= missed.altitude_ft:
        yield (
            f"missed.gradient_until_ft = {_ft(until_ft)}: expected between the MDA and the missed approach altitude, "
            f"{_ft(missed.altitude_ft)}"
        )
    by_radial = missed.heading_deg is not None and missed.intercept_radial_deg is not None
    neither = missed.heading_deg is None and missed.intercept_radial_deg is None
    if not (missed.direct and neither) and not (by_radial and not missed.direct):
        yield "missed: expected heading_deg and intercept_radial_deg together, or direct = true without them"
    elif by_radial and not aside:
        yield from _intercept(world)


def _intercept(world: _World) -> Iterator[str]:
    """The heading after the turn must meet the radial short of the fix, however early or late the turn."""
    missed, fix = world.missed, world.fix(world.missed.fix)
    if fix is not None and _apart_deg(fix.radial_deg, missed.intercept_radial_deg) > _COURSE_DEG:
        yield (
            f"missed.intercept_radial_deg = {_deg(missed.intercept_radial_deg)}: expected {_deg(fix.radial_deg)}, "
            f"the radial of {fix.name}"
        )
        return
    turned = float(turn_deg(from_deg=missed.course_deg, to_deg=missed.heading_deg, side=missed.turn))
    if turned > 180:
        other = "left" if missed.turn == "right" else "right"
        yield (
            f'missed.turn = "{missed.turn}" goes {turned:.0f} degrees round to heading {_deg(missed.heading_deg)}: '
            f'expected "{other}", {360 - turned:.0f} degrees'
        )
        return
    course, lowest_ft, start = world.final_course_deg(), world.lowest_mda_ft(), world.fix("MAP")
    after = world.fix(missed.turn_after)
    if fix is None or course is None or lowest_ft is None or start is None or after is None:
        return
    earliest_nm = max(along_nm(start, course), along_nm(after, course))
    climbed_nm = along_nm(start, course) + (missed.climb_to_ft - lowest_ft) / missed.gradient_ft_nm
    for turn_nm in (earliest_nm, max(earliest_nm, climbed_nm)):
        met_nm = meets_nm(turn_nm, course, missed.heading_deg, missed.intercept_radial_deg)
        if met_nm is None or met_nm > fix.dist_nm:
            side = "past" if turn_nm > 0 else "short of"
            yield (
                f"missed.heading_deg = {_deg(missed.heading_deg)}: after a turn {abs(turn_nm):.1f} NM "
                f"{side} the station it "
                f"does not meet radial {_deg(missed.intercept_radial_deg)} before {fix.name}: expected a heading, "
                "or a turn_after, that does"
            )
            return


def _holding(world: _World) -> Iterator[str]:
    hold, missed = world.hold, world.missed
    if hold is None:
        return
    fix = world.fix(hold.fix)
    if missed is not None and hold.fix != missed.fix:
        off = fix is not None and missed.intercept_radial_deg is not None and fix.dist_nm > 0
        if off and fix is not None and _apart_deg(fix.radial_deg, missed.intercept_radial_deg) > _COURSE_DEG:
            why = f"which is not on the missed approach radial {_deg(missed.intercept_radial_deg)}"
        else:
            why = "which is not where the missed approach leads"
        yield f'hold.fix = "{hold.fix}", {why}: expected "{missed.fix}"'
    elif fix is not None and fix.dist_nm > 0:
        ends = (fix.radial_deg, float(reciprocal(fix.radial_deg)))
        if min(_apart_deg(hold.inbound_course_deg, end) for end in ends) > _COURSE_DEG:
            yield (
                f"hold.inbound_course_deg = {_deg(hold.inbound_course_deg)}: expected {_deg(ends[1])} or "
                f"{_deg(ends[0])}, "
                f"along the radial of {fix.name}"
            )
    if missed is not None and hold.altitude_ft != missed.altitude_ft:
        yield (
            f"hold.altitude_ft = {_ft(hold.altitude_ft)}: expected {_ft(missed.altitude_ft)}, as in the "
            "missed approach"
        )
    if (hold.leg_dme_nm is None) == (hold.leg_min is None):
        yield "hold: expected either leg_dme_nm or leg_min for the length of the leg"
    elif hold.leg_dme_nm is not None and world.station is not None and not world.station.has_dme:
        yield f"hold.leg_dme_nm = {hold.leg_dme_nm:g} NM: {world.station.ident} has no DME; expected leg_min"


_CHECKS: tuple[Callable[[_World], Iterator[str]], ...] = (
    _stations,
    _other_tables,
    _fixes,
    _names,
    _leg_fields,
    _chain,
    _courses,
    _arcs,
    _reversals,
    _altitudes,
    _runway,
    _profile,
    _minimums,
    _missed,
    _holding,
)
