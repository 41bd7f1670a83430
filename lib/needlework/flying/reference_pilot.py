"""The reference pilot: flies any procedure of the course on raw data, well or with one chosen fault.

:func:`rows_for` writes the kneepad for a procedure and an aircraft: the same when-and-then rows a
learner writes, with three things only this pilot can do: follow an arc by ten-degree steps, lead a turn
by what turn and wind will take, and keep a descent line by ground speed. :func:`fly` flies it.

The faults of :data:`FAULTS` are the ones instructors see; each changes one row or one habit and
nothing else.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike

from needlework.basis.errors import BadData
from needlework.basis.quantity import Constant, Floats, within
from needlework.flying import flight, pilot
from needlework.flying.pilot import Flights, Habits
from needlework.flying.plan import Row, Start
from needlework.trade import holding
from needlework.trade.angles import difference_deg, reciprocal, turn_deg, wrap360
from needlework.trade.units import NM_FT
from needlework.world.aircraft import Aircraft
from needlework.world.datafiles import did_you_mean
from needlework.world.procedure import Procedure
from needlework.world.procedure_parts import Leg, with_cold_ft
from needlework.world.weather import Day

MARGIN_FT = Constant(30.0, "ft", "common-practice", "flown above every floor, half the width of a pointer")
DIVE_FPM = Constant(950.0, "ft/min", "common-practice", "the dive of a pilot who forgot a floor")
EARLY_NM = Constant(1.0, "NM", "common-practice", "how far before the point the early turn is made")
LOST_NM = Constant(1.2, "NM", "common-practice", "how far off the arc the pilot of a dead needle wakes up")
LOW_FT = Constant(120.0, "ft", "common-practice", "how far below minimums the eager pilot levels")
MISREAD_DEG = Constant(10.0, "deg", "common-practice", "a tens digit misread")
ESTABLISHED_DEG = Constant(5.0, "deg", "IPH4", "half scale")
ARC_STEP_DEG = Constant(10.0, "deg", "common-practice", "turn ten, twist ten")
CUT_FOR_IT_NM = Constant(
    4.0, "NM", "common-practice", "before the fix at which the missed approach radial must be met"
)
PARALLEL_CUT_DEG = Constant(40.0, "deg", "common-practice", "cut to the inbound course after a parallel entry")
_TAS_SHARE = 1.06  # true over indicated airspeed at the height of a hold
TO_LAND_KT = Constant(4.0, "kt", "common-practice", "above threshold speed on the last mile")
TOUCH_FT = Constant(15.0, "ft", "common-practice", "above the threshold's elevation: the wheels are as good as down")
READY_NM = Constant(2.5, "NM", "common-practice", "final speed and flap are asked for this far before the final fix")


@dataclass(frozen=True)
class Fault:
    """One fault of a pilot: what is done, in which segment it shows, and which procedures can show it."""

    text: str
    segment: Literal["initial", "intermediate", "final", "missed", "hold", "any"]
    needs: Literal["", "arc", "step-down", "wind", "overhead"] = ""


FAULTS: dict[str, Fault] = {
    "late lead": Fault("begins the turn to final only when the needle has gone through", "intermediate"),
    "needle chased": Fault("follows the needle overhead the station", "any", "overhead"),
    "no drift correction": Fault("flies the course as heading and leaves the wind to the needle", "any", "wind"),
    "correction on the wrong side": Fault("puts the wind correction on the lee side", "any", "wind"),
    "selector turned the wrong way": Fault(
        "twists selector 2 back instead of on, once, on the arc", "initial", "arc"
    ),
    "selector not turned": Fault("turns ten without twisting ten, once, on the arc", "initial", "arc"),
    "missed step-down": Fault("dives from the final fix to minimums as if there were no floor", "final", "step-down"),
    "early descent below minimums": Fault("goes on down through the minimum descent altitude", "final"),
    "turn before the missed approach point": Fault("goes around and turns at once, a mile early", "missed"),
    "wrong course set": Fault("sets the final course ten degrees off", "intermediate"),
    "single drift in the hold": Fault("corrects outbound as inbound: once, not three times", "hold", "wind"),
}
"""The faults that can be switched on, by name; ``segment`` is where an examiner should find them."""


def _check(faults: Collection[str]) -> None:
    for name in faults:
        if name not in FAULTS:
            raise BadData(f"There is no fault {name!r}: {did_you_mean(name, FAULTS)}")


def shows(name: str, procedure: Procedure) -> bool:
    """Say whether a procedure gives a fault the chance to happen at all."""
    needs = FAULTS[name].needs
    kinds = {leg.kind for leg in procedure.legs}
    return {
        "arc": "arc" in kinds,
        "step-down": bool(procedure.step_downs),
        "overhead": any(leg.end == procedure.station.ident for leg in procedure.legs),
    }.get(needs, True)


class _Kneepad:
    """Writes the rows of one procedure, leg by leg."""

    def __init__(
        self,
        procedure: Procedure,
        aircraft: Aircraft,
        faults: Collection[str],
        extra_kt: ArrayLike,
        remote: bool,
        temperature_c: float | None,
    ) -> None:
        self.procedure, self.aircraft, self.faults = procedure, aircraft, set(faults)
        self.temperature_c = temperature_c
        self.extra_kt: Any = np.asarray(extra_kt, dtype=np.float64)
        self.remote = remote
        self.rows: list[Row] = []
        self.last_step = len(aircraft.configurations) - 1
        self.has_dme = procedure.station.has_dme

    def add(self, note: str, when: Mapping[str, Any], then: Mapping[str, Any]) -> None:
        """Write one row."""
        self.rows.append(Row(tuple(when.items()), dict(then), note))

    def kt(self, name: str) -> Any:
        """Give a speed of the aircraft with this pilot's own few knots on top."""
        wanted = getattr(self.aircraft, name) + self.extra_kt
        limits = [step.max_kt for step in self.aircraft.configurations if step.max_kt is not None]
        return np.minimum(wanted, limits[-1]) if limits and name in ("final_kt", "threshold_kt") else wanted

    def floor(self, leg: Leg) -> float:
        """Altitude flown on a leg."""
        return self.cold(self.procedure.leg_floor_ft(leg, self.aircraft.category, remote=self.remote)) + MARGIN_FT

    def cold(self, published_ft: float) -> float:
        """Give the altitude to fly for a published one: higher below freezing."""
        return with_cold_ft(published_ft, self.procedure.airport.elevation_ft, self.temperature_c)

    def course(self, course_deg: float | None, leg: Leg | None = None) -> float:
        """Give the course set for a leg: the right one, or the misread one."""
        right = float(course_deg or 0.0)
        wrong = "wrong course set" in self.faults and leg is not None and leg.segment != "initial"
        return float(wrap360(right + MISREAD_DEG)) if wrong else right

    def at_fix(self, name: str, course_deg: float) -> dict[str, Any]:
        """Say how a fix on the way is seen: flag, DME or clock."""
        fix = self.procedure.fix(name)
        if fix.dist_nm == 0.0:
            return {"flag_1": "FROM"}
        if not self.has_dme:
            return {"reckoned_nm": fix.dist_nm}
        falls = abs(float(difference_deg(from_deg=course_deg, to_deg=fix.radial_deg))) > 90.0
        return {"dme_falls_to_nm" if falls else "dme_rises_to_nm": fix.dist_nm}

    # --- the way in -------------------------------------------------------------------------------

    def write(self, entry: str | None, missed: bool, laps: int, lands: bool, enters: bool) -> tuple[Row, ...]:
        """Write everything from the initial fix to the end."""
        legs = self.procedure.route(entry)
        first = legs[0]
        self.add(
            f"{first.start}: outbound, identified" if first.start == self.procedure.station.ident else "identified",
            {},
            {
                "identify": True,
                "course_1_deg": self.course(first.course_deg, first),
                "course_2_deg": self.course(first.course_deg, first),
                "follow": "needle 1",
                "ias_kt": self.kt("cruise_kt" if self.has_dme else "arc_kt"),
                "level_ft": self.floor(first),
                "clock": "start",
            },
        )
        for number, leg in enumerate(legs):
            after = legs[number + 1] if number + 1 < len(legs) else None
            if leg.kind == "arc":
                self.arc(leg, legs[number - 1], after)
            elif leg.kind == "timed":
                self.timed(leg)
            elif leg.kind == "procedure turn":
                self.procedure_turn(leg, legs[number + 1])
            elif number > 0:
                self.radial(leg, legs[number - 1])
        if lands:
            self.landing()
            return tuple(self.rows)
        self.missed_approach(missed)
        if missed and (laps or enters):
            self.hold(laps)
        return tuple(self.rows)

    def arc(self, leg: Leg, before: Leg, after: Leg | None) -> None:
        """Join the arc from a radial, or go on from an arc to the next; ten degrees at a time."""
        side = 1.0 if leg.turn == "right" else -1.0
        arc_nm = float(leg.arc_dme_nm or 0.0)
        begin, end = (self.procedure.fix(str(name)).radial_deg for name in (leg.start, leg.end))
        length = float(turn_deg(from_deg=begin, to_deg=end, side=str(leg.turn)))
        last = length if after is not None and after.kind == "arc" else length - 9.0
        first_step = (begin * side // ARC_STEP_DEG + 1) * ARC_STEP_DEG * side - begin
        steps = [first_step * side]
        while steps[-1] < last - 4.0:
            steps.append(steps[-1] + ARC_STEP_DEG)
        # A first step of a degree or two is left out, and the last one ends where the leg does.
        steps = [step for step in steps if step >= 5.0]
        if after is not None and after.kind == "arc":
            steps = [*(step for step in steps if step < length - 4.0), length]
        else:
            steps = [step for step in steps if step <= last]
        marks = [0.0, *steps]
        middle = [0.5 * (a + b) for a, b in zip(marks, [*steps, max(length, steps[-1] + 1.0)], strict=True)]
        tangent = [float(wrap360(begin + side * (m + 90.0))) for m in middle]
        radial = [float(wrap360(begin + side * step)) for step in steps]
        join = {"follow": "arc", "arc_nm": arc_nm, "side": side, "level_ft": self.floor(leg)}
        if before.kind == "arc":
            self.rows[-1] = replace(
                self.rows[-1],
                then={**self.rows[-1].then, **join, "track_deg": tangent[0], "course_2_deg": radial[0]},
                note=f"{leg.start}: next floor",
            )
        else:
            self.add(
                f"lead for the {arc_nm:g} NM arc",
                {"arc_lead": (arc_nm, side)},
                {**join, "track_deg": tangent[0], "course_2_deg": radial[0], "ias_kt": self.kt("arc_kt")},
            )
        half_way = len(steps) // 2
        twist = before.kind != "arc" and self.faults & {"selector turned the wrong way", "selector not turned"}
        for number, step_radial in enumerate(radial):
            then: dict[str, Any] = {"follow": "arc", "track_deg": tangent[number + 1]}
            if number + 1 < len(radial):
                then["course_2_deg"] = radial[number + 1]
            when: dict[str, Any] = {"next_radial": side}
            if twist and number == 0:
                if "selector turned the wrong way" in self.faults:
                    then["course_2_deg"] = float(wrap360(step_radial - side * ARC_STEP_DEG))
                else:
                    del then["course_2_deg"]
            elif twist and number == 1:
                # The needle that was to call the next turn never does: the DME does, a mile out.
                when = {"off_arc_nm": LOST_NM}
            if number == half_way and after is not None and after.kind == "radial":
                then["course_1_deg"] = self.course(after.course_deg, after)
            self.add(f"radial {step_radial or 360.0:03.0f}", when, then)

    def radial(self, leg: Leg, before: Leg) -> None:
        """Join a course, or go on along one."""
        course = self.course(leg.course_deg, leg)
        final_fix = self.procedure.final_fix
        joins = before.kind in ("arc", "procedure turn")
        if joins:
            lead = "course_late" if "late lead" in self.faults else "course_lead"
            self.add(
                f"lead for course {leg.course_deg:03.0f}",
                {lead: course},
                {"course_1_deg": course, "follow": "needle 1", "ias_kt": self.kt("to_final_fix_kt"), **self.step(1)},
            )
            self.add(
                "established",
                {"heading_reached": True, "after_s": 22.0, "needle_within_deg": (1, ESTABLISHED_DEG)},
                {"level_ft": self.floor(leg)},
            )
        else:
            course_before = float(before.course_deg or 0.0)
            then: dict[str, Any] = {"course_1_deg": course, "follow": "needle 1"}
            if leg.segment == "final":
                then |= self.descent(leg)
                if leg.start == final_fix:
                    then["clock"] = "start"
                    then |= {"ias_kt": self.kt("final_kt"), **self.step(self.last_step)}
            else:
                then["level_ft"] = self.floor(leg)
            self.add(str(leg.start), self.at_fix(str(leg.start), course_before), then)
        if leg.end == final_fix:
            self.ready(leg)

    def descent(self, leg: Leg) -> dict[str, Any]:
        """Say how a leg of the final is descended."""
        level = self.floor(leg)
        then: dict[str, Any] = {"gradient_ft_nm": self.procedure.gradient_ft_nm, "level_ft": level}
        last = self.procedure.final_legs[-1]
        if "missed step-down" in self.faults and self.procedure.step_downs:
            then = {"vs_fpm": -DIVE_FPM, "level_ft": self.floor(last)}
        if "early descent below minimums" in self.faults and leg is last:
            then["level_ft"] = level - MARGIN_FT - LOW_FT
        return then

    def ready(self, leg: Leg) -> None:
        """Slow down and set the last flap before the final fix."""
        then = {"ias_kt": self.kt("final_kt"), **self.step(self.last_step)}
        fix = self.procedure.fix(str(leg.end))
        if self.has_dme:
            self.add("ready for the final fix", {"dme_falls_to_nm": fix.dist_nm + READY_NM}, then)
        else:
            self.add("ready for the final fix", {"after_s": 10.0}, then)

    def step(self, number: int) -> dict[str, Any]:
        """Ask for a step of flap or gear, as far as the aircraft has it."""
        return {"configuration": float(min(number, self.last_step))}

    # --- without DME ------------------------------------------------------------------------------

    def timed(self, leg: Leg) -> None:
        """Fly outbound as far as the time would take one in still air."""
        still_nm = self.kt("arc_kt") * 1.03 * float(leg.time_min or 0.0) / 60.0
        self.add("outbound time is up", {"reckoned_nm": still_nm}, {})

    def procedure_turn(self, leg: Leg, after: Leg) -> None:
        """Turn out, fly a minute, turn back and wait for the line."""
        out, back = float(leg.heading_out_deg or 0.0), float(leg.heading_in_deg or 0.0)
        other = "right" if leg.turn == "left" else "left"
        self.rows[-1] = replace(
            self.rows[-1],
            then={"heading_deg": out, "turn": leg.turn, "level_ft": self.floor(leg)},
            note="outbound time is up: turn out",
        )
        self.add("a minute out", {"heading_reached": True}, {})
        self.add(
            "turn back",
            {"after_s": float(leg.time_min or 0.0) * 60.0, "room_nm": (float(after.course_deg or 0.0), back, other)},
            {"heading_deg": back, "turn": other, "course_1_deg": self.course(after.course_deg, after)},
        )
        self.add("on the way to the line", {"heading_reached": True}, {"follow": "track", "track_deg": back})

    # --- the way out ------------------------------------------------------------------------------

    def landing(self) -> None:
        """Leave the minimums at the visual descent point, slow down, and fly on to the runway."""
        if not any(fix.name == "VDP" for fix in self.procedure.fixes):
            raise BadData(
                f"{self.procedure.name} has no visual descent point: expected one where it is to be landed."
            )
        ground_ft = self.procedure.runway.threshold_elevation_ft
        down = {
            "gradient_ft_nm": self.procedure.gradient_ft_nm,
            "level_ft": ground_ft,
            "ias_kt": self.kt("threshold_kt") + TO_LAND_KT,
        }
        self.add("VDP, runway in sight: down", self.at_fix("VDP", self.procedure.final_course_deg), down)
        self.add("on the runway", {"alt_reaches_ft": ground_ft + TOUCH_FT}, {"end": True})

    def missed_approach(self, missed: bool) -> None:
        """Go around at the missed approach point, clean up in steps, fly the published way to its fix."""
        out, plane = self.procedure.missed, self.aircraft
        course = self.procedure.final_course_deg
        early = "turn before the missed approach point" in self.faults
        at_map = self.at_fix("MAP", course)
        if early:
            key, value = next(iter(at_map.items()))
            at_map = {key: value + EARLY_NM if key == "dme_falls_to_nm" else value - EARLY_NM}
        climb: dict[str, Any] = {
            "ias_kt": self.kt("climb_kt"),
            "vs_fpm": plane.climb_fpm,
            "level_ft": self.cold(out.altitude_ft) + MARGIN_FT,
            **self.step(self.last_step - 1),
        }
        heading = float(reciprocal(course)) if out.heading_deg is None else out.heading_deg
        turn = {"heading_deg": heading, "turn": out.turn}
        if out.intercept_radial_deg is not None:
            climb["course_2_deg"] = out.intercept_radial_deg
        if not missed:
            self.add("MAP", at_map, {"end": True})
            return
        self.add("MAP: going around", at_map, {**climb, **turn} if early else climb)
        self.add("climbing: clean up", {"after_s": 12.0}, self.step(0))
        if not early:
            where = self.at_fix(out.turn_after, out.course_deg) if out.turn_after != "MAP" else {}
            if "dme_rises_to_nm" in where and "dme_falls_to_nm" in at_map:
                # Before the station the same reading comes once already: it counts behind it only.
                where["flag_1"] = "FROM"
            climbed = {"alt_above_ft": self.cold(out.climb_to_ft), **where}
            self.add(f"{out.climb_to_ft:,.0f} ft: turn {out.turn}", climbed, turn)
        if out.intercept_radial_deg is None:
            self.add("direct to the station", {"heading_reached": True}, {"direct": True, "follow": "needle 1"})
            self.add(f"{out.fix}: missed approach flown", {"flag_1": "FROM"}, {"end": True})
            return
        self.add(
            "heading for the radial",
            {"heading_reached": True},
            {"follow": "track", "track_deg": heading, "most_correction_deg": 10.0},
        )
        fix = self.procedure.fix(out.fix)
        # Where wind along the radial keeps it away, the needle is cut for in good time before the fix.
        self.add(
            f"lead for radial {out.intercept_radial_deg:03.0f}",
            {"course_lead_or_dme": (out.intercept_radial_deg, fix.dist_nm - CUT_FOR_IT_NM)},
            {"follow": "needle 2"},
        )
        self.add(f"{out.fix}: missed approach flown", {"dme_rises_to_nm": fix.dist_nm}, {"end": True})

    def drifts(self) -> float:
        """How many times the correction inbound goes outbound in the hold: 1 + 2/T, three on a leg of a minute."""
        leg_nm = self.procedure.hold.leg_dme_nm
        if leg_nm is None:
            return 1.0 + 2.0 / (self.procedure.hold.leg_min or 1.0)
        return 1.0 + 2.0 / float(leg_nm * 60.0 / (np.mean(self.kt("arc_kt")) * _TAS_SHARE))

    def hold(self, laps: int) -> None:
        """Enter the holding pattern by its sector and fly it: drift paid for outbound, the leg by DME or clock."""
        pattern, out = self.procedure.hold, self.procedure.missed
        inbound, side = pattern.inbound_course_deg, pattern.turn
        other = "left" if side == "right" else "right"
        arriving = out.intercept_radial_deg
        if arriving is None:
            arriving = float(reciprocal(self.procedure.final_course_deg))
        way = str(holding.entry(heading_deg=arriving, inbound_course_deg=inbound, side=side))
        speed = {"ias_kt": self.kt("arc_kt"), "level_ft": self.cold(pattern.altitude_ft) + MARGIN_FT}
        first = float(holding.entry_heading_deg(inbound_course_deg=inbound, side=side, entry=way))
        at_fix = self.at_fix(pattern.fix, inbound)
        last = self.rows.pop()
        turn_out = {"heading_deg": first, **({"turn": side} if way == "direct" else {}), **speed}
        self.add(
            f"{last.note.split(':')[0]}: hold, {way} entry", dict(last.when), {**turn_out, "course_1_deg": inbound}
        )
        for lap in range(laps + 1):
            outbound = first if lap == 0 else float(reciprocal(inbound))
            single = (lap == 0 and way == "parallel") or "single drift in the hold" in self.faults
            factor = 1.0 if single else self.drifts()
            self.add(
                "outbound",
                {"heading_reached": True},
                {"follow": "track", "track_deg": outbound, "wind_factor": factor, "most_correction_deg": 30.0},
            )
            turn_dme = self.procedure.hold_turn_dme()
            if turn_dme is None:
                end: dict[str, Any] = {"after_s": 60.0 * (pattern.leg_min or 1.0)}
            else:
                end_nm, rises = turn_dme
                end = {"dme_rises_to_nm" if rises else "dme_falls_to_nm": end_nm}
            inward: dict[str, Any] = {"heading_deg": inbound, "turn": side}
            if lap == 0 and way == "parallel":
                # The turn back ends well beside the inbound course: it is met at an angle.
                cut = PARALLEL_CUT_DEG if side == "right" else -PARALLEL_CUT_DEG
                inward = {"heading_deg": float(wrap360(inbound - cut)), "turn": other}
            self.add("turn inbound", end, inward)
            self.add("inbound", {"heading_reached": True}, {"follow": "needle 1"})
            turn = {"heading_deg": float(reciprocal(inbound)), "turn": side}
            done = {"end": True} if lap == laps else turn
            self.add(f"{pattern.fix}: {'entered' if lap == 0 else f'lap {lap}'}", at_fix, done)


def rows_for(
    procedure: Procedure,
    aircraft: Aircraft,
    *,
    entry: str | None = None,
    faults: Collection[str] = (),
    extra_kt: ArrayLike = 0.0,
    missed: bool = True,
    laps: int = 0,
    remote: bool = False,
    temperature_c: float | None = None,
    lands: bool = False,
    enters: bool = False,
) -> tuple[Row, ...]:
    """Write the kneepad of the reference pilot for a procedure.

    ``entry``: initial approach fix, the first one when left out. ``faults``: names of :data:`FAULTS`.
    ``extra_kt``: what this pilot flies faster or slower than the book, one number or one per flight.
    ``missed``: fly the missed approach to its fix, else the flight ends at the missed approach point.
    ``laps``: laps of the hold flown there after the entry. ``remote``: another field's altimeter setting.
    ``temperature_c``: at the field; below freezing every altitude is flown higher by the correction for it.
    ``lands``: the runway is in sight in time, and the flight ends on it. ``enters``: the hold is entered even
    where no lap of it is flown.
    """
    _check(faults)
    return _Kneepad(procedure, aircraft, faults, extra_kt, remote, temperature_c).write(
        entry, missed, laps, lands, enters
    )


def begins(
    procedure: Procedure, aircraft: Aircraft, entry: str | None = None, temperature_c: float | None = None
) -> Start:
    """Say where :func:`fly` begins: over the initial fix, along the first course, at cruising speed."""
    first = procedure.route(entry)[0]
    fix = procedure.fix(str(first.start))
    lowest_ft = next(way.minimum_ft for way in procedure.entries if way.fix == first.start)
    return Start(
        radial_deg=fix.radial_deg or 360.0,
        dme_nm=fix.dist_nm,
        altitude_ft=with_cold_ft(lowest_ft, procedure.airport.elevation_ft, temperature_c) + float(MARGIN_FT),
        heading_deg=float(first.course_deg or 0.0) or 360.0,
        ias_kt=aircraft.cruise_kt,
    )


def habits_for(faults: Collection[str]) -> Habits:
    """Give the habits that go with the faults."""
    _check(faults)
    habits = Habits(chases="needle chased" in faults)
    if "no drift correction" in faults:
        habits = replace(habits, wind_share=0.0, needle_gain=2.0, cut_deg=45.0)
    if "correction on the wrong side" in faults:
        habits = replace(habits, wind_share=-1.0, needle_gain=3.0, cut_deg=60.0)
    return habits


def fly(
    procedure: Procedure,
    aircraft: Aircraft,
    days: Day | Sequence[Day],
    *,
    entry: str | None = None,
    faults: Collection[str] = (),
    seed: int = 0,
    extra_kt: ArrayLike = 0.0,
    extra_ft: ArrayLike = 0.0,
    missed: bool = True,
    laps: int = 0,
    temperature_c: float | None = None,
    lands: bool = False,
    enters: bool = False,
) -> Flights:
    """Fly a procedure from its initial approach fix, once for each day given.

    ``missed``, ``laps``, ``lands`` and ``enters`` as in :func:`rows_for`. ``extra_kt`` and ``extra_ft``: flown
    faster, begun higher than the book, one number or one per flight. ``seed``: which waves the needles have. Without
    DME the pilot believes the day's wind at the height where the flight begins, as it was briefed; with
    DME the wind is found out on the way. ``temperature_c`` as in :func:`rows_for`.
    """
    chosen = [days] if isinstance(days, Day) else list(days)
    count = len(chosen)
    above: Floats = within("extra_ft", extra_ft, 0.0, 5000.0, "ft")
    faster: Floats = within("extra_kt", extra_kt, -20.0, 20.0, "kt")
    rows = rows_for(
        procedure,
        aircraft,
        entry=entry,
        faults=faults,
        extra_kt=faster,
        missed=missed,
        laps=laps,
        temperature_c=temperature_c,
        lands=lands,
        enters=enters,
    )
    station = procedure.station
    air = flight.air_over(station, chosen)
    begin = begins(procedure, aircraft, entry, temperature_c)
    angle = np.radians(begin.radial_deg + station.declination_deg)
    altitude = begin.altitude_ft + np.broadcast_to(above, (count,))
    height_nm = (altitude - station.elevation_ft) / NM_FT
    ground = np.sqrt(np.maximum(begin.dme_nm**2 - height_nm**2, 0.0)) if station.has_dme else begin.dme_nm
    state = flight.start(
        ground * np.sin(angle),
        ground * np.cos(angle),
        air.true_ft(altitude),
        begin.heading_deg,
        np.broadcast_to(aircraft.cruise_kt + faster, (count,)),
    )
    briefed = None
    if not station.has_dme:
        east, north = air.wind_kt(state.alt_ft, 0.0)
        turned = np.radians(station.declination_deg)
        briefed = east * np.cos(turned) - north * np.sin(turned), east * np.sin(turned) + north * np.cos(turned)
    return pilot.fly_rows(
        rows,
        state,
        station,
        aircraft,
        air,
        flight.radio(station, seed=seed, flights=count),
        habits=habits_for(faults),
        minutes=pilot.LONGEST_MIN,
        briefed_kt=briefed,
    )
