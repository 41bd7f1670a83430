"""Goals of a flown intercept: course, cut, lead, roll-out, and the needle held afterwards.

All are judged from where the aircraft was and how its nose pointed, second by second.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from needlework.basis.quantity import Floats
from needlework.exercises.goals import Goal, Met
from needlework.exercises.goals.common import on_the_line
from needlework.exercises.goals.seen import Seen
from needlework.exercises.kinds import Givens
from needlework.trade.angles import difference_deg, three_digits
from needlework.trade.turns import STANDARD_RATE_DEG_S
from needlework.trade.vor import FULL_SCALE_DEG

_HALF_SCALE_DEG = float(FULL_SCALE_DEG) / 2.0
_ALIGNED_DEG = 30.0
_TOWARDS_LEAST_DEG, _TOWARDS_MOST_DEG = 15.0, 95.0
_TURNING_DEG, _HELD_DEG, _STILL_DEG_S = 4.0, 2.0, 0.2
_STANDARD_DEG_S = float(STANDARD_RATE_DEG_S)
_ROLLING_S, _CATCHING_S = 12.0, 75.0
_EARLY_DEG = 2.5  # what reaction, roll-in, a decimal and the receiver may add to a lead

Side = Callable[[Givens], float]
"""From the givens: 1 if the line lies to the right of an aircraft flying parallel to the course, -1 to the left."""


def _degrees(angle_deg: float) -> str:
    """Write the size of an angle, whole."""
    size = round(abs(angle_deg))
    return f"{size} degree{'' if size == 1 else 's'}"


def _nose_deg(seen: Seen, course_deg: float) -> Floats:
    """Heading less course, right positive. [deg]"""
    return np.asarray(difference_deg(from_deg=course_deg, to_deg=seen.column("heading_deg")))


def _meeting(seen: Seen, course_deg: float) -> int | None:
    """First sample within half scale of the line, on the way in or out; None if the line was never met."""
    near = np.abs(seen.off_deg(course_deg)) <= _HALF_SCALE_DEG
    return int(np.argmax(near)) if near.any() else None


def _cut(seen: Seen, course_deg: float) -> tuple[int, float] | None:
    """Last sample before the turn on to the line, and heading less course there; None without an intercept."""
    meeting = _meeting(seen, course_deg)
    if meeting is None:
        return None
    nose = _nose_deg(seen, course_deg)
    # The cut is the heading held longest on the way to the line; the turn begins where it is left.
    rounded = np.round(nose[: meeting + 1])
    values, counts = np.unique(rounded[np.abs(rounded) > _TURNING_DEG], return_counts=True)
    if not len(values):
        return None
    held = float(values[np.argmax(counts)])
    on_it = np.abs(nose - held) <= _HELD_DEG
    first = int(np.argmax(on_it))
    left = np.flatnonzero(~on_it[first:])
    if not len(left):
        return len(nose) - 1, held
    begun = first + int(left[0]) - 1
    # The turn had begun before the heading was seen to be another one.
    while begun > first and abs(nose[begun] - nose[begun - 1]) > _STILL_DEG_S * (
        seen.time_s[begun] - seen.time_s[begun - 1]
    ):
        begun -= 1
    return begun, held


def _turned_in(seen: Seen, course_deg: float) -> int | None:
    """First sample after the cut with the nose somewhere else and no longer turning; None if there is none."""
    cut = _cut(seen, course_deg)
    if cut is None:
        return None
    begun, held = cut
    nose = _nose_deg(seen, course_deg)
    rate = np.abs(np.gradient(nose, seen.time_s))
    good = (np.abs(nose - held) > _HELD_DEG) & (rate < 0.5)
    good[: begun + 1] = False
    return int(np.argmax(good)) if good.any() else None


def _no_turn(seen: Seen, course_deg: float) -> str:
    """Say why there was no turn from the cut on to the course; empty if there was one."""
    if _meeting(seen, course_deg) is None:
        return "The line was never met, so no turn on to it could be judged."
    end = _turned_in(seen, course_deg)
    if end is None:
        return "No turn from the cut on to the course was flown."
    nose = float(_nose_deg(seen, course_deg)[end])
    if abs(nose) <= _ALIGNED_DEG:
        return ""
    side = "right" if nose > 0 else "left"
    return f"The turn ended with the nose {_degrees(nose)} {side} of the course: it was no turn on to the line."


def course_selected(course: str, weight: float = 1.0) -> Goal:
    """Judge that selector 1 shows the course flown from the time the line is met; ``course`` names it."""

    def judge(givens: Givens, seen: Seen) -> Met:
        wanted = float(givens[course])
        selected = seen.column("course_1_deg")
        meeting = _meeting(seen, wanted)
        begin = meeting if meeting is not None else len(selected) - 1
        right = np.abs(np.asarray(difference_deg(from_deg=wanted, to_deg=selected[begin:]))) < 1.5
        if right.all():
            return Met(1.0, "The course you flew was selected.")
        showed = three_digits(direction_deg=float(selected[begin:][~right][0]))
        return Met(
            0.0, f"On the line {showed} was selected. Select the course you fly; the needle then speaks of it."
        )

    return Goal("the course flown is selected", weight, judge)


def cut_towards(course: str, side: Side, weight: float = 1.0) -> Goal:
    """Judge the cut: towards the line, at a usable angle."""

    def judge(givens: Givens, seen: Seen) -> Met:
        found = _cut(seen, float(givens[course]))
        if found is None:
            return Met(
                0.0, "The line was never met. Parallel first: on which side is it, and by how much do you turn?"
            )
        angle = found[1] * side(givens)
        if _TOWARDS_LEAST_DEG <= angle <= _TOWARDS_MOST_DEG:
            return Met(1.0, f"Cut of {angle:.0f} degrees, towards the line.")
        if angle < 0:
            return Met(0.0, f"The cut led {-angle:.0f} degrees away from the line before it was met.")
        size = "shallow" if angle < _TOWARDS_LEAST_DEG else "steep"
        return Met(0.3, f"The cut was {angle:.0f} degrees from the course: too {size}.")

    return Goal("a cut of 20 to 90 degrees towards the line", weight, judge)


def led(course: str, side: Side, weight: float = 1.0, part: float = 0.4) -> Goal:
    """Judge that the turn begins about one lead before the line, and that it ends within half scale of it.

    ``part`` is the least share of a right lead that counts as one: turns are rolled into, and wind helps or not.
    """

    def judge(givens: Givens, seen: Seen) -> Met:
        wanted = float(givens[course])
        found, out = _cut(seen, wanted), _turned_in(seen, wanted)
        reason = _no_turn(seen, wanted)
        if reason or found is None or out is None:
            return Met(0.0, reason)
        begun, held = found
        # Degrees still to go to the line, which lies to the right of an aircraft left of it. [deg]
        to_go = -seen.off_deg(wanted) * side(givens)
        # What is flown after the turn is tracking, and judged there.
        turn_s = abs(held) / _STANDARD_DEG_S + _ROLLING_S
        during = (seen.time_s >= seen.time_s[begun]) & (seen.time_s <= seen.time_s[begun] + turn_s)
        beyond = max(0.0, -float(to_go[during].min()))
        radius_nm = float(np.hypot(*_velocity_nm_s(seen, begun))) / np.deg2rad(_STANDARD_DEG_S)
        sine = radius_nm * (1.0 - np.cos(np.deg2rad(min(abs(held), 90.0)))) / max(float(seen.dist_nm[begun]), 0.1)
        lead = float(np.rad2deg(np.arcsin(min(sine, 1.0))))
        before = float(to_go[begun])
        if beyond > _HALF_SCALE_DEG:
            return Met(
                0.0,
                f"The turn ended {beyond:.1f} degrees beyond the line: more than half scale. Begin it earlier, or meet "
                "the line farther out.",
            )
        if before < part * lead:
            where = f"only {before:.1f} degrees before the line" if before > 0 else "on the line or beyond it"
            return Met(0.3, f"The turn began {where}; it ended {beyond:.1f} degrees beyond it. One lead earlier.")
        if before > lead + _EARLY_DEG:
            short = max(0.0, float(to_go[out]))
            return Met(
                0.3,
                f"The turn began {before:.1f} degrees before the line, far too early: it ended {short:.1f} degrees "
                "short of it, beside the line.",
            )
        return Met(
            1.0,
            f"Turn begun {before:.1f} degrees before the line, by the true radial; at most {beyond:.1f} degrees "
            "beyond it.",
        )

    return Goal("turn begun one lead early, rolled out within half scale", weight, judge)


def _velocity_nm_s(seen: Seen, at: int) -> tuple[float, float]:
    """Movement over the ground in the ten seconds up to a sample, along radials 090 and 360. [NM/s]"""
    radial, dist = np.deg2rad(seen.radial_deg), seen.dist_nm
    x, y = dist * np.sin(radial), dist * np.cos(radial)
    begin = max(at - 10, 0)
    time_s = max(float(seen.time_s[at] - seen.time_s[begin]), 1.0)
    return float(x[at] - x[begin]) / time_s, float(y[at] - y[begin]) / time_s


def heading_holds(course: str, weight: float = 1.0, for_s: float = 35.0, limit_deg: float = 6.0) -> Goal:
    """Judge the heading after the turn: held for a while, its track is the course, on the line or beside it."""

    def judge(givens: Givens, seen: Seen) -> Met:
        wanted = float(givens[course])
        begin, reason = _turned_in(seen, wanted), _no_turn(seen, wanted)
        if reason or begin is None:
            return Met(0.0, reason)
        end = int(np.searchsorted(seen.time_s, seen.time_s[begin] + for_s))
        end = min(end, len(seen.time_s) - 1)
        drift = float(difference_deg(from_deg=wanted, to_deg=seen.track_deg(begin, end)))
        if abs(drift) <= limit_deg:
            return Met(1.0, f"The heading after the turn gave a track within {_degrees(drift)} of the course.")
        to = "right" if drift > 0 else "left"
        return Met(0.0, f"The heading after the turn gave a track {_degrees(drift)} {to} of the course.")

    return Goal("the heading after the turn holds the course", weight, judge)


def established(course: str, from_nm: float, to_nm: float, weight: float = 2.0) -> Goal:
    """Judge the way in on the line between two distances; where it was not met in time, say so.

    The needle at full scale anywhere between them is no course held, however well the rest was flown.
    """
    line = on_the_line(course, from_nm, to_nm, weight=weight)

    def judge(givens: Givens, seen: Seen) -> Met:
        met = line.judge(givens, seen)
        leg = np.flatnonzero((seen.dist_nm >= to_nm) & (seen.dist_nm <= from_nm))
        if met.share >= 1.0 or not len(leg):
            return met
        wanted = float(givens[course])
        off = seen.off_deg(wanted)
        at = int(leg[np.argmax(np.abs(off[leg]))])
        worst, out, meeting = float(off[at]), _turned_in(seen, wanted), _meeting(seen, wanted)
        share = met.share if abs(worst) <= 2.0 * _HALF_SCALE_DEG else 0.0
        where = f"Up to {abs(worst):.1f} degrees {'right' if worst > 0 else 'left'} of the line"
        if meeting is not None and seen.dist_nm[meeting] < from_nm and (out is None or at <= out):
            return Met(
                share,
                f"{where}, since the cut met it too near the station: at {float(seen.dist_nm[meeting]):.1f} NM, where "
                f"you were to be on it from {from_nm:g} NM. A shallower cut meets it nearer.",
            )
        inside = float(np.mean(np.abs(off[leg]) <= _HALF_SCALE_DEG))
        return Met(
            share,
            f"{where} between {from_nm:g} and {to_nm:g} NM, inside half scale for {inside:.0%} of the time. Where did the "
            "turn end, and did the heading after it hold against the wind?",
        )

    return Goal(line.label, weight, judge)


def rolled_out(course: str, side: Side, weight: float = 1.0) -> Goal:
    """Judge the turn on to the line by where it ends: not beyond half scale on the far side."""

    def judge(givens: Givens, seen: Seen) -> Met:
        wanted = float(givens[course])
        meeting = _meeting(seen, wanted)
        if meeting is None:
            return Met(0.0, "The line was never met, so no turn on to it could be judged.")
        later = (seen.time_s >= seen.time_s[meeting]) & (seen.time_s <= seen.time_s[meeting] + _CATCHING_S)
        beyond = max(0.0, float((seen.off_deg(wanted)[later] * side(givens)).max()))
        if beyond <= _HALF_SCALE_DEG:
            return Met(1.0, f"Caught with at most {beyond:.1f} degrees beyond the line.")
        text = f"Through the line by {beyond:.1f} degrees: more than half scale. How fast was the needle moving?"
        return Met(max(0.0, 1.0 - (beyond - _HALF_SCALE_DEG) / _HALF_SCALE_DEG), text)

    return Goal("rolled out within half scale", weight, judge)


def held_for(course: str, miles_nm: float = 3.0, weight: float = 2.0) -> Goal:
    """Judge the longest stretch flown without a break within half scale of the course."""

    def judge(givens: Givens, seen: Seen) -> Met:
        wanted = float(givens[course])
        nose = np.abs(_nose_deg(seen, wanted))
        good = (np.abs(seen.off_deg(wanted)) <= _HALF_SCALE_DEG) & (nose <= 60.0)
        edges = np.flatnonzero(np.diff(np.r_[0, good.astype(int), 0]))
        stretches = [
            float(np.ptp(seen.dist_nm[a:b])) for a, b in zip(edges[::2], edges[1::2], strict=True) if b - a > 1
        ]
        longest = max(stretches, default=0.0)
        if longest >= miles_nm:
            return Met(1.0, f"Within half scale for {longest:.1f} NM in one piece.")
        text = (
            f"Within half scale for {longest:.1f} NM at a stretch; {miles_nm:g} were asked for. Take out half of a cut, "
            "never all."
        )
        return Met(longest / miles_nm, text)

    return Goal(f"within half scale for {miles_nm:g} miles", weight, judge)


def wind_found(course: str, weight: float = 1.0, miles_nm: float = 1.0, limit_deg: float = 7.0) -> Goal:
    """Judge the last mile: on the line, and flown along it, so that the wind correction was found.

    The needle's own waves keep a good pilot swinging by a few degrees; the limit leaves room for them.
    """

    def judge(givens: Givens, seen: Seen) -> Met:
        wanted = float(givens[course])
        last = np.abs(seen.dist_nm - seen.dist_nm[-1]) <= miles_nm
        begin = int(np.flatnonzero(~last)[-1]) + 1 if (~last).any() else 0
        off = seen.off_deg(wanted)[begin:]
        if np.abs(off).max() > 2.0 * _HALF_SCALE_DEG:
            return Met(
                0.0, f"In the last mile the needle stood at full scale: {abs(float(off[-1])):.0f} degrees off."
            )
        drift = float(difference_deg(from_deg=wanted, to_deg=seen.track_deg(begin, -1)))
        correction = float(np.median(_nose_deg(seen, wanted)[begin:]))
        side = "right" if correction > 0 else "left"
        held = f"nose {_degrees(correction)} {side} of the course" if abs(correction) >= 0.5 else "nose on course"
        # A cut back to the line is a correction at work, not a wind forgotten.
        closing = drift * float(off[0]) < 0.0 and abs(float(off[-1])) < abs(float(off[0]))
        if closing and limit_deg < abs(drift) <= 2.0 * limit_deg:
            return Met(1.0, f"In the last mile a cut of {_degrees(drift)} brought you back: {held}.")
        if abs(drift) <= limit_deg:
            within = f"within {_degrees(drift)}"
            return Met(1.0, f"In the last mile the correction held the course {within}: {held}.")
        text = (
            f"In the last mile the track led {_degrees(drift)} {'right' if drift > 0 else 'left'} of the course, "
            f"{held}. Which correction was too little, which too much?"
        )
        return Met(0.5 if abs(drift) <= 2 * limit_deg else 0.0, text)

    return Goal("wind correction found", weight, judge)
