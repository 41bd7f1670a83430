"""Goals of a whole approach: the debrief is the mark.

The examiner of :mod:`needlework.debrief` judges the flight once; each goal takes one part of what he said. What he
needs to know beside the recording stands in the givens: ``temperature_c`` at the field, ``remote``, true where
another field's altimeter setting was used, and ``sight_from_nm``, the DME on the final at which the runway came in sight.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from needlework.basis.errors import BadData
from needlework.exercises.answers import Unreadable
from needlework.exercises.goals import TOLD, Goal, Met
from needlework.exercises.goals.seen import Seen
from needlework.exercises.kinds import Givens
from needlework.trade.angles import difference_deg

if TYPE_CHECKING:
    from needlework.debrief import Conditions, Debrief
    from needlework.world.procedure import Procedure

PARTS: dict[str, tuple[str, tuple[str, ...]]] = {
    "idents and floors": ("idents, selectors and floors", ("all",)),
    "way in": ("the way in: needle, altitude, station", ("before final", "tracking", "passage", "procedure turn")),
    "arc": ("the arc, joined and flown", ("arc join", "arc")),
    "final": ("on to the final and down it", ("to final", "final")),
    "minimums": ("minimums", ("minimums",)),
    "missed": ("the missed approach", ("missed",)),
    "hold": ("the hold", ("hold",)),
}
"""Parts of a debrief that are a goal: the label, and the parts of the flight as the rubric names them."""

_MISSED = 0.6
_SAID, _PRAISED = 2, 3


def report_of(givens: Givens, seen: Seen, aircraft: str = "Finch") -> Debrief:
    """Debrief a flight, once for all its goals.

    Parameters
    ----------
    givens : mapping
        The numbers of the question.
    seen : Seen
        The flight; it knows its procedure.
    aircraft : str
        What was flown.

    Returns
    -------
    Debrief
        What the examiner has to say.

    Raises
    ------
    Unreadable
        If the flight has nothing to do with the procedure.
    """
    key = ("debrief", seen.procedure, aircraft, *(str(givens.get(name)) for name in TOLD))
    if key not in seen.worked_out:
        # The rubric takes its time to load, and most flights ask for no examiner.
        from needlework import debrief
        from needlework.world import aircraft as fleet
        from needlework.world import procedure

        try:
            way = seen.own or procedure.load(seen.procedure)
            craft = None if seen.own else fleet.load(aircraft)
            seen.worked_out[key] = debrief.debrief(seen.track, way, craft, given=conditions(givens))
        except BadData as refused:
            raise Unreadable(f"{refused}. Fly the whole procedure, from the first fix on.") from None
    report: Debrief = seen.worked_out[key]
    return report


def conditions(givens: Givens) -> Conditions:
    """Give what no recording shows and the numbers of a question say.

    Parameters
    ----------
    givens : mapping
        The numbers of the question.

    Returns
    -------
    Conditions
        For :func:`needlework.debrief.debrief`.
    """
    from needlework.debrief import Conditions

    return Conditions(**{name: givens[name] for name in TOLD if name in givens})


def debriefed(part: str, weight: float = 1.0, critical: bool = False) -> Goal:
    """Judge one part of a whole approach by what the debrief says of it; ``part`` is one of :data:`PARTS`.

    Met where nothing critical was missed, no tolerance of the standard was left for long, and the part earns the
    pass mark of the rubric. A critical goal is missed altogether only by what the debrief calls critical.
    """
    label, segments = PARTS[part]

    def judge(givens: Givens, seen: Seen) -> Met:
        report = report_of(givens, seen)
        mine = [each for each in report.judgements if each.row.segment in segments]
        counted = [each for each in mine if each.verdict in ("met", "missed")]
        total = sum(each.row.weight for each in counted)
        if not total and report.outcome == "landing" and part in ("missed", "hold"):
            return Met(1.0, "Landed: none was flown.")
        if not total:
            return Met(0.0, "Not flown to where it can be judged.", flown=False)
        rows = {each.row.key for each in mine}
        found = [finding for finding in report.findings if finding.row in rows]
        share = sum(each.row.weight * each.credit for each in counted) / total
        said = " ".join(finding.text for finding in found[:_SAID])
        if not found:
            # One event may break several rows; it is told once, where it began.
            said = " ".join(each.fact for each in counted if each.verdict == "missed")
        if len(found) > _SAID:
            said += f" And {len(found) - _SAID} more: the whole debrief stands below the panel."
        if any(finding.critical for finding in found):
            return Met(0.0 if critical else min(share, _MISSED) / 2.0, said)
        if any(finding.failed for finding in found) or share < report.rubric.pass_mark / 100.0:
            return Met(min(share, _MISSED), said)
        heavy = sorted((each for each in counted if each.verdict == "met"), key=lambda each: -each.row.weight)
        return Met(1.0, said or " ".join(each.fact for each in heavy[:_PRAISED]))

    return Goal(label, weight, judge, critical)


def to_the_hold(weight: float = 1.0, hold: bool = True, runway: bool = False) -> Goal:
    """Judge that the whole of it was flown: every leg, the missed approach and, if asked for, the entry of the hold.

    ``runway``: a landing ends it as well.
    """

    def judge(givens: Givens, seen: Seen) -> Met:
        report = report_of(givens, seen)
        if (down := _off_the_runway(report)) is not None:
            return Met(0.0, down)
        left = list(report.missing)
        landed = runway and report.outcome == "landing"
        if hold and not landed and not left and report.split.span("hold") is None:
            left.append("the entry of the hold")
        if left:
            return Met(0.0, f"Not flown, or not recorded: {', '.join(left)}.", flown=False)
        if report.outcome == "missed" and report.split.span("hold") is None:
            return Met(1.0, "Flown from the first fix through the missed approach; the recording holds no hold.")
        return Met(1.0, "Flown from the first fix to the end.")

    return Goal("the whole of it flown", weight, judge, critical=True)


def _off_the_runway(report: Debrief) -> str | None:
    """Say that the flight ended on the ground away from the runway; None if it did not."""
    from needlework.debrief.pieces import off_the_runway

    down = off_the_runway(report.seen, report.procedure)
    return (
        None if down is None else f"The flight ended on the ground, not on the runway: {down[1]}. That is no landing."
    )


_OVER_FT, _FAR_OVER_FT = 150.0, 300.0
_LAST_DIGIT_NM = 0.05


def in_time(way: Procedure, sight_nm: float) -> bool:
    """Say whether a runway that comes in sight at a reading of the final can be landed on normally. [NM]"""
    to_go_nm = float(way.to_go_nm(sight_nm, inbound=not way.station_before_runway))
    return to_go_nm >= way.last_landing_to_go_nm(way.mda_ft()) - _LAST_DIGIT_NM


def landed_or_around(weight: float = 3.0) -> Goal:
    """Judge the decision by the moment of sight: in time for a normal landing, land; too late for it, or never, around.

    The moment stands in the givens as ``sight_from_nm``. Normal is no steeper than the course's 450 ft a mile from
    minimums to the crossing height, and over the threshold no higher than a runway of this length forgives.
    """

    def judge(givens: Givens, seen: Seen) -> Met:
        from needlework.world.procedure import STEEPEST_FT_NM

        report = report_of(givens, seen)
        if (down := _off_the_runway(report)) is not None:
            return Met(0.0, down)
        way, sight_nm = report.procedure, givens.get("sight_from_nm")
        if report.outcome == "incomplete":
            return Met(0.0, "Neither landed nor gone around.", flown=False)
        landed = report.outcome == "landing"
        if sight_nm is None:
            return Met(0.0, "Landed without having seen the runway.") if landed else Met(1.0, "Nothing seen: around.")
        when = f"The runway came in sight at {sight_nm:.1f} DME"
        if not in_time(way, sight_nm):
            late = f"{when}: from there it was steeper than {STEEPEST_FT_NM:.0f} ft a mile"
            return Met(0.0, f"{late}. Seen is not landed.") if landed else Met(1.0, f"{late}, and you went around.")
        if not landed:
            return Met(0.6, f"{when}, in time for a normal landing. Around is never wrong; here it was not needed.")
        over_ft = _over_threshold_ft(report)
        if over_ft <= _OVER_FT:
            return Met(1.0, f"{when}, in time, and you landed: {max(over_ft, 0.0):.0f} ft over the threshold.")
        share = 0.5 if over_ft <= _FAR_OVER_FT else 0.0
        return Met(
            share, f"{over_ft:.0f} ft over the threshold: too high for the runway. The minimums were left too late."
        )

    return Goal("landed, or around, by the moment of sight", weight, judge, critical=True)


def _over_threshold_ft(report: Debrief) -> float:
    """Height above the threshold where it is passed; of a flight that ends before it, at its end. [ft]"""
    from needlework.debrief.pieces import along_across
    from needlework.world.procedure_parts import along_nm

    way, seen = report.procedure, report.seen
    last = [span for span in report.split.spans if span.piece.segment in ("final", "landing")][-1]
    past = along_across(seen, way, way.final_course_deg)[0] >= along_nm(way.fix("threshold"), way.final_course_deg)
    past[: last.first] = False
    at = int(np.argmax(past)) if past.any() else len(past) - 1
    return float(seen.alt_ft[at]) - way.runway.threshold_elevation_ft


_WEIGHTS = {"idents and floors": 4.0, "final": 3.0, "minimums": 3.0, "missed": 3.0, "way in": 2.0, "arc": 2.0}
_KILLS = ("idents and floors", "minimums", "missed")


def own_goals(seen: Seen) -> tuple[Goal, ...]:
    """Make the goals of a flight handed in as a file: the whole of it, and each part of which anything was judged."""
    judged = {each.row.segment for each in report_of({}, seen).judgements if each.verdict in ("met", "missed")}
    parts = [name for name, (_, segments) in PARTS.items() if judged & set(segments)]
    goals = [debriefed(name, _WEIGHTS.get(name, 1.0), name in _KILLS) for name in parts]
    return (to_the_hold(2.0, hold=False, runway=True), *goals)


_DARK_S = 12.0
_CLIMBING_FPM = 200.0
_ASTRAY_DEG = 10.0


def _dark_from(lost_nm: float, seen: Seen) -> int | None:
    """Find the first sample at which the DME is dark, or would be; None where it never came so far."""
    reading = seen.column("dme_nm")
    dark = np.flatnonzero(np.isnan(reading) | (reading <= lost_nm))
    return int(dark[0]) if dark.size else None


def climbed_when_dark(dme: str, weight: float = 3.0) -> Goal:
    """Judge that the climb began as soon as the DME was gone; ``dme`` names its last reading in the givens."""

    def judge(givens: Givens, seen: Seen) -> Met:
        dark = _dark_from(float(givens[dme]), seen)
        if dark is None:
            return Met(0.0, "The DME never failed: the flight ended before it.", flown=False)
        time_s, up = seen.time_s[dark:], np.flatnonzero(seen.column("vs_fpm")[dark:] > _CLIMBING_FPM)
        if not up.size:
            return Met(0.0, "The DME was gone, and there was no climb. Without it no fix and no point can be found.")
        late_s = float(time_s[up[0]] - time_s[0])
        if late_s <= _DARK_S:
            return Met(1.0, f"Climbing {late_s:.0f} s after the DME was gone.")
        sunk_ft = float(seen.track.alt_ft[dark] - seen.track.alt_ft[dark : dark + int(up[0]) + 1].min())
        said = f"The DME was gone for {late_s:.0f} s before you climbed"
        return Met(0.3, f"{said}, {sunk_ft:.0f} ft lower. What were you waiting for?")

    return Goal("around as soon as the DME is gone", weight, judge, critical=True)


def straight_when_dark(dme: str, heading_from: str, climb_ft: float, weight: float = 2.0) -> Goal:
    """Judge that it was straight ahead after the DME was gone, and up to an altitude before the flight ended.

    ``dme`` names the last reading in the givens, ``heading_from`` the course of the final: a track within ten degrees
    of it is straight ahead.
    """

    def judge(givens: Givens, seen: Seen) -> Met:
        dark = _dark_from(float(givens[dme]), seen)
        if dark is None or len(seen.time_s) - dark < 20:
            return Met(0.0, "After the DME had failed hardly anything was flown.", flown=False)
        top_ft = float(seen.track.alt_ft[dark:].max())
        if top_ft < climb_ft:
            return Met(0.0, f"Climbed to {top_ft:,.0f} ft only: fly on to {climb_ft:,.0f} before you end the flight.")
        at = dark + int(np.argmax(seen.track.alt_ft[dark:] >= climb_ft))
        track = seen.track_deg(dark, at)
        off = abs(float(difference_deg(from_deg=float(givens[heading_from]), to_deg=track)))
        if off <= _ASTRAY_DEG:
            return Met(1.0, f"Straight ahead to {climb_ft:,.0f} ft.")
        said = f"{off:.0f} degrees off the final course on the way up"
        return Met(0.0, f"{said}. The turn is protected from its own place on.")

    return Goal(f"straight ahead to {climb_ft:,.0f} ft", weight, judge)
