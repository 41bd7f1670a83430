"""What a flown arc is judged by: identified, joined, held, selectors kept ahead, final course set and flown.

Every goal reads the same four numbers from the givens: ``arc_nm``, ``from_deg`` (the radial it is joined on),
``final_deg`` (the radial it is left on) and ``turn`` (``"right"`` is clockwise).
"""

from __future__ import annotations

import numpy as np

from needlework.basis.quantity import Constant, Floats
from needlework.exercises.goals import DIP_FT, DIPPED, Goal, Met
from needlework.exercises.goals.common import on_the_line, written
from needlework.exercises.goals.seen import Seen
from needlework.exercises.kinds import Givens
from needlework.trade import arc
from needlework.trade.angles import difference_deg, turn_deg
from needlework.trade.arc import ARC_TOLERANCE_NM

LOST_NM = Constant(2.0, "NM", "common-practice", "so far from an arc its minimum altitude is no longer relied on")
LEAST_LEAD_NM = Constant(0.2, "NM", "common-practice", "a turn begun nearer to the arc has no lead")
_ASTRAY = 0.05  # share left to an arc that was flown badly, but never so far off as to be lost
_FINAL_NM = (7.2, 6.0)  # where the final is judged: a charted lead radial has led there by then
_JOINED_DEG = 8.0  # the turn on to the arc is over by then: twice what a standard-rate turn covers at 10 NM
_LONG_WAY_DEG = 180.0  # a radial crosses its arc at 90 degrees; no wind correction doubles that
_LOST_DEG = 45.0  # farther past the final radial nobody is leaving the arc any more
_STRAIGHT_ON_DEG = 25.0  # half a step and a strong wind's correction do not put the nose so far outside
_TURNED_DEG = 25.0  # more than a step and a correction: the turn to final
_CROSSED_DEG = 0.5  # a needle is read to a quarter of a dot
_DUE_DEG = 4.0  # the lead by the rule is three to four degrees at ten miles
_LEAVING_DEG = 9.0  # a lead radial lies no farther than this before the final one


def _sign(g: Givens) -> float:
    return 1.0 if g["turn"] == "right" else -1.0


def _sweep_deg(g: Givens) -> float:
    return float(turn_deg(from_deg=g["from_deg"], to_deg=g["final_deg"], side=g["turn"]))


def _along_deg(g: Givens, seen: Seen) -> Floats:
    """Degrees of arc behind each sample, from the middle of the part that is not flown on. [deg]"""
    half = 180.0 - _sweep_deg(g) / 2.0
    return np.asarray(np.mod(_sign(g) * (seen.radial_deg - g["from_deg"]) + half, 360.0) - half)


def _on_the_arc(g: Givens, seen: Seen) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    along = _along_deg(g, seen)
    return np.asarray((along >= _JOINED_DEG) & (along <= _sweep_deg(g) - _LEAVING_DEG))


def _three(direction_deg: float) -> str:
    return f"{round(direction_deg) % 360 or 360:03d}"


def _where(off_nm: float, decimals: int = 1) -> str:
    return f"{abs(off_nm):.{decimals}f} NM {'outside' if off_nm > 0 else 'inside'}"


def identified(weight: float = 1.0) -> Goal:
    """Judge that the station was identified before the arc was joined."""

    def judge(g: Givens, seen: Seen) -> Met:
        heard = seen.column("identified") > 0
        on = np.flatnonzero(_on_the_arc(g, seen))
        before = heard[: on[0]] if on.size else heard
        if before.any():
            return Met(1.0, "Station identified before the arc.")
        return Met(0.0, "The station was not identified before the arc: a needle of the wrong one centres, too.")

    return Goal("station identified before the arc", weight, judge)


def joined(weight: float = 1.0, good_nm: float = 0.5) -> Goal:
    """Judge where the turn on to the arc came out."""

    def judge(g: Givens, seen: Seen) -> Met:
        along = _along_deg(g, seen)
        out = (along >= _JOINED_DEG) & (along <= _JOINED_DEG + 5.0)
        if not out.any():
            return Met(0.0, "The arc was never joined. Which way is the first turn?")
        heading = np.unwrap(seen.column("heading_deg")[: int(np.argmax(out)) + 1], period=360.0)
        if np.ptp(heading) > _LONG_WAY_DEG:
            return Met(
                0.0, f"The turn on to the arc went {np.ptp(heading):.0f} degrees round. Which side is the short one?"
            )
        off = float(np.mean(seen.dist_nm[out])) - g["arc_nm"]
        if abs(off) <= good_nm:
            return Met(1.0, f"Rolled out {_where(off)}.")
        text = f"Rolled out {_where(off, 2)}: the turn was begun too {'early' if off > 0 else 'late'}."
        return Met(0.5 if abs(off) <= ARC_TOLERANCE_NM else 0.0, text)

    return Goal(f"on to the arc within {good_nm:g} NM", weight, judge)


def led_on(weight: float = 1.0, least_nm: float = LEAST_LEAD_NM) -> Goal:
    """Judge that the turn on to the arc was begun before it; the arc is joined inbound."""

    def judge(g: Givens, seen: Seen) -> Met:
        heading = seen.column("heading_deg")
        turned = np.abs(np.asarray(difference_deg(from_deg=float(heading[0]), to_deg=heading)))
        if turned.max() < _TURNED_DEG:
            return Met(0.0, "Never turned on to the arc.")
        # Back from the middle of the turn to where the heading began to change: corrections before it are no turn.
        middle = int(np.argmax(turned > _TURNED_DEG))
        began = np.flatnonzero(turned[: middle + 1] <= 3.0)[-1]
        early = float(seen.dist_nm[began]) - g["arc_nm"]
        if early >= least_nm:
            return Met(1.0, f"Turn on to the arc begun {early:.1f} NM before it.")
        if early < -least_nm:
            return Met(
                0.0, f"Turn on to the arc begun {-early:.1f} NM inside it. It takes room: it begins before the arc."
            )
        return Met(0.0, "The turn on to the arc had no lead: a turn takes room. How much, at this ground speed?")

    return Goal("turn on to the arc led", weight, judge)


def held(weight: float = 4.0, limit_nm: float = ARC_TOLERANCE_NM) -> Goal:
    """Judge the distance from the end of the turn on to the arc until shortly before the lead radial."""

    def judge(g: Givens, seen: Seen) -> Met:
        on = _on_the_arc(g, seen)
        if not on.any():
            return Met(0.0, "No part of the arc was flown, and nowhere else do its floors hold.")
        radials = seen.radial_deg[on]
        covered = np.unique(np.round(radials)).size / (_sweep_deg(g) - _JOINED_DEG - _LEAVING_DEG)
        off = seen.dist_nm[on] - g["arc_nm"]
        good = float(np.mean(np.abs(off) <= limit_nm))
        at = int(np.argmax(np.abs(off)))
        worst = f"{_where(float(off[at]))} on radial {_three(float(radials[at]))}"
        if abs(off[at]) > LOST_NM:
            back = "in" if off[at] > 0 else "out"
            return Met(
                0.0,
                f"Up to {worst}: so far from the arc do not trust its floor. In the air: climb, then turn {back}.",
            )
        if covered < 0.9:
            return Met(
                max(_ASTRAY, 0.3 * covered * good), f"Only {covered:.0%} of the arc was flown; farthest off {worst}."
            )
        if good > 0.995:
            return Met(1.0, f"Within {limit_nm:g} NM all the way; farthest off {worst}.")
        nose_deg = _sign(g) * float(
            difference_deg(from_deg=radials[at] + _sign(g) * 90.0, to_deg=seen.column("heading_deg")[on][at])
        )
        if nose_deg < -_STRAIGHT_ON_DEG:
            trend = "a straight leg with no turn by ten"
        elif off[0] * off[at] > 0 and abs(off[0]) > 0.6 * abs(off[at]):
            trend = "the turn on to the arc came out so, and the steps kept it"
        else:
            trend = f"the nose was {'not far enough' if off[at] > 0 else 'too far'} inside before it"
        return Met(max(_ASTRAY, good - 0.2), f"Up to {worst}, within {limit_nm:g} NM for {good:.0%}: {trend}.")

    return Goal(f"arc held within {limit_nm:g} NM", weight, judge, critical=True)


def corrected(weight: float = 3.0, within_deg: float = 2.0, step_deg: float = 10.0) -> Goal:
    """Judge the heading written for every leg by the wind of the givens, ``wind_deg`` and ``wind_kt`` at ``tas_kt``.

    The lines of the plan are the legs' ``heading to radial 320`` and so on; what the wind of one flight would forgive
    is judged all the same.
    """

    def judge(g: Givens, _seen: Seen) -> Met:
        ends = g["from_deg"] + _sign(g) * step_deg * np.arange(1, int(_sweep_deg(g) // step_deg) + 1)
        wanted = np.asarray(
            arc.heading_deg(
                radial_deg=ends - _sign(g) * step_deg / 2.0,
                turn=g["turn"],
                tas_kt=g["tas_kt"],
                wind_from_deg=g["wind_deg"],
                wind_kt=g["wind_kt"],
            )
        )
        names = [_three(float(end)) for end in ends]
        heading = np.array([float(g["filled"][f"heading to radial {name}"]) for name in names])
        offs = np.abs(np.asarray(difference_deg(from_deg=wanted, to_deg=heading)))
        good = float(np.mean(offs <= within_deg))
        if good == 1.0:
            return Met(1.0, f"Heading right for this wind on all {ends.size} legs.")
        text = (
            f"Heading right for this wind on {round(good * ends.size)} of {ends.size} legs; farthest off on the leg to "
            f"radial {names[int(np.argmax(offs))]}. On each leg: first the heading of still air, then how much of the "
            "wind blows across it, and from which side?"
        )
        # Half of the legs fit any one correction: that is not yet correcting.
        return Met(max(0.0, 2.0 * good - 1.0), text)

    return Goal("heading right for the wind on every leg", weight, judge)


def turn_on_written(label: str, within_nm: float = 0.1, weight: float = 1.0) -> Goal:
    """Judge the reading written for the turn on to the arc: by rule of the ground speed, or by the handbook's lead."""

    def judge(g: Givens, reading: float) -> Met:
        leads = (float(arc.lead_rule_nm(gs_kt=g["gs_kt"])), float(arc.lead_handbook_nm(g["gs_kt"])))
        lead = reading - g["arc_nm"]
        if min(leads) - within_nm <= lead <= max(leads) + within_nm + 1e-9:
            return Met(1.0, "The lead on to the arc fits the ground speed.")
        if lead < -within_nm:
            return Met(
                0.0, "The lead is laid off inside the arc. Inbound you come from outside: the turn begins there."
            )
        if lead <= within_nm:
            return Met(0.0, "There is no lead in that: it is the arc itself. Inbound the turn begins outside it.")
        much = "more" if lead > max(leads) else "less"
        return Met(0.0, f"That is {much} lead than the ground speed asks for. How many miles does the turn take?")

    return written(label, ": the lead on to the arc", judge, weight)


def lead_written(label: str, within_deg: float = 1.0, weight: float = 1.0) -> Goal:
    """Judge the radial written for the turn to final by the rule for a standard-rate turn."""

    def judge(g: Givens, radial: float) -> Met:
        lead = float(arc.lead_radial_rule_deg(arc_nm=g["arc_nm"], gs_kt=g["gs_kt"]))
        before = _sign(g) * float(difference_deg(from_deg=radial, to_deg=g["final_deg"]))
        if abs(before - lead) <= within_deg:
            return Met(1.0, "The lead radial is that of the rule.")
        if before <= 0.0:
            return Met(0.0, "That radial does not come before the final one on this arc.")
        much = "more" if before > lead else "less"
        return Met(
            0.0, f"That is {much} lead than the rule gives. How many miles does the turn take, how many degrees?"
        )

    return written(label, ": the lead to final", judge, weight)


def selector_ahead(weight: float = 1.0, part: float = 0.75) -> Goal:
    """Judge that selector 2 stood on the next radial, either end of its line, for most of the arc."""

    def judge(g: Givens, seen: Seen) -> Met:
        on = _on_the_arc(g, seen)
        if not on.any():
            return Met(0.0, "No part of the arc was flown.")
        line = _sign(g) * np.asarray(
            difference_deg(from_deg=seen.radial_deg[on], to_deg=seen.column("course_2_deg")[on])
        )
        ahead = 90.0 - np.mod(90.0 - line, 180.0)
        good = float(np.mean((ahead >= -3.0) & (ahead <= 13.0)))
        if good >= part:
            return Met(1.0, f"Selector 2 on the next radial for {good:.0%} of the arc.")
        if np.mean(ahead < -3.0) > np.mean(ahead > 13.0):
            text = "Selector 2 mostly stood on a radial already crossed: turned without a twist, or twisted back."
        else:
            text = (
                "Selector 2 mostly stood more than one step ahead: the needle comes late, after a long straight leg."
            )
        return Met(good / part, text)

    return Goal("selector 2 on the next radial", weight, judge)


def final_set(weight: float = 1.0) -> Goal:
    """Judge that the final course stood on selector 1 before the lead radial."""

    def judge(g: Givens, seen: Seen) -> Met:
        beyond = _along_deg(g, seen) - _sweep_deg(g)
        late = np.flatnonzero((beyond >= -_LEAVING_DEG) & (beyond <= _LOST_DEG))
        near = late[seen.dist_nm[late] < 1.5 * g["arc_nm"]]
        if not near.size:
            return Met(0.0, "The lead radial was never reached.")
        course = float(seen.column("course_1_deg")[near[0]])
        off = abs(float(difference_deg(from_deg=course, to_deg=g["course_deg"])))
        if off < 1.5:
            return Met(1.0, "Final course on selector 1 before the lead radial.")
        if off > 178.5:
            return Met(
                0.0,
                f"Selector 1 showed {_three(course)}, the other end of the final course: it reads reversed.",
            )
        return Met(
            0.0,
            f"Selector 1 still showed {_three(course)} at the lead: needle 1 could not come alive.",
        )

    return Goal("final course set before the lead", weight, judge)


def led_to_final(weight: float = 1.0, least_deg: float = 1.5) -> Goal:
    """Judge that the turn inbound was begun before the final radial."""

    def judge(g: Givens, seen: Seen) -> Met:
        beyond = _along_deg(g, seen) - _sweep_deg(g)
        late = np.flatnonzero((beyond >= -_LEAVING_DEG) & (beyond <= _LOST_DEG))
        near = late[np.abs(seen.dist_nm[late] / g["arc_nm"] - 1.0) < 0.4]
        if not near.size:
            return Met(0.0, "The lead radial was never reached.")
        heading = seen.column("heading_deg")[near]
        turned = np.abs(np.asarray(difference_deg(from_deg=float(heading[0]), to_deg=heading)))
        if turned.max() < _TURNED_DEG:
            straight = beyond[near].max() > 0.0
            return Met(0.0, "Never turned to final.") if straight else Met(1.0, "Turned to final well before it.")
        begun = float(beyond[near][max(int(np.argmax(turned > 3.0)) - 1, 0)])
        if begun <= -least_deg:
            return Met(1.0, f"Turn to final begun {-begun:.0f} degrees before it.")
        where = f"{begun:.0f} degrees past it" if begun >= 1.5 else "on the final radial itself"
        return Met(
            0.0, f"Turn to final begun {where}: it needs a lead of a turn radius. Which radial comes before it?"
        )

    return Goal("turn to final led", weight, judge)


def final_held(weight: float = 2.0) -> Goal:
    """Judge the final course from the turn inbound on, and say of a final that was missed that it was."""
    from_nm, to_nm = _FINAL_NM
    return on_the_line(
        "course_deg",
        from_nm,
        to_nm,
        weight=weight,
        unflown="The final was never flown. Did the turn to it come, and what stood on selector 1?",
        astray=f"Up to {{worst}} degrees {{side}} of the final between {from_nm:g} and {to_nm:g} NM: no wind does that. "
        "Where was the turn to final begun, and where did the arc end?",
    )


def floors_on_the_arc(weight: float = 2.0) -> Goal:
    """Judge that ``upper_ft`` was kept until the radial ``begins_deg`` was crossed, and ``floor_ft`` from there on."""

    def judge(g: Givens, seen: Seen) -> Met:
        begins = float(turn_deg(from_deg=g["from_deg"], to_deg=g["begins_deg"], side=g["turn"]))
        along, alt = _along_deg(g, seen), seen.track.alt_ft
        floor = np.where(along < begins - _CROSSED_DEG, g["upper_ft"], g["floor_ft"])
        at = int(np.argmax(floor - alt))
        low = float(floor[at] - alt[at])
        # A level held by hand wanders a few feet; the altimeter is read to ten.
        if low <= 10.0:
            return Met(1.0, "Never below the floor of the radial you were on.")
        cross = "Cross the radial, then go down." if floor[at] == g["upper_ft"] else "Where was it to end?"
        return Met(
            DIPPED if low <= DIP_FT else 0.0,
            f"{low:.0f} ft below {floor[at]:,.0f} ft on radial {_three(float(seen.radial_deg[at]))}: there the ground is "
            f"not promised to be clear. {cross}",
        )

    return Goal("every floor of the arc kept", weight, judge, critical=True)


def down_in_time(over_ft: float = 100.0, weight: float = 2.0) -> Goal:
    """Judge that the flight was down at ``floor_ft`` when the turn to final was due."""

    def judge(g: Givens, seen: Seen) -> Met:
        beyond = _along_deg(g, seen) - _sweep_deg(g)
        due = np.flatnonzero((beyond >= -_DUE_DEG) & (beyond <= _LOST_DEG))
        if not due.size:
            return Met(0.0, "The lead radial was never reached.")
        high = float(seen.track.alt_ft[due[0]]) - g["floor_ft"]
        if high <= over_ft + 10.0:
            return Met(1.0, f"Down to {g['floor_ft']:,.0f} ft before the lead radial.")
        drop = float(seen.track.alt_ft[0]) - g["floor_ft"]
        return Met(
            max(0.0, 1.0 - high / drop) * 0.6,
            f"Still {high:.0f} ft above {g['floor_ft']:,.0f} ft at the lead radial. How many degrees does the descent take?",
        )

    return Goal("down before the lead radial", weight, judge)


def not_below(limit_ft: float, weight: float = 2.0) -> Goal:
    """Judge that a floor was kept."""

    def judge(_g: Givens, seen: Seen) -> Met:
        low = limit_ft - float(np.min(seen.track.alt_ft))
        # A level held by hand wanders a few feet; the altimeter is read to ten.
        if low <= 10.0:
            return Met(1.0, f"Never below {limit_ft:,.0f} ft.")
        share = DIPPED if low <= DIP_FT else 0.0
        return Met(share, f"{low:.0f} ft below {limit_ft:,.0f} ft: there the ground is not promised to be clear.")

    return Goal(f"never below {limit_ft:,.0f} ft", weight, judge, critical=True)
