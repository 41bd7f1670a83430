"""Goals that several lessons use: what was written in a plan, and the line that is flown."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from needlework.exercises.goals import Goal, Met
from needlework.exercises.goals.seen import Seen
from needlework.exercises.kinds import Givens
from needlework.trade.angles import difference_deg

_DRIFT_DEG = 15.0
# From a mile out beside the line, and hardly more later: that is how the turn ended, and no wind.
_CLEAR_NM, _BESIDE_NM, _GROWS = 1.0, 0.2, 1.3


def written(
    label: str, what: str, judge: Callable[[Givens, float], Met], weight: float = 1.0, critical: bool = False
) -> Goal:
    """Judge a line of a filled plan by the number written there, where the flight alone would forgive it."""
    return Goal(f"“{label}”{what}", weight, lambda g, _seen: judge(g, float(g["filled"][label])), critical)


def written_between(label: str, low: float, high: float, low_says: str, high_says: str, weight: float = 1.0) -> Goal:
    """Judge a line of a filled plan by the range in which it must lie."""

    def judge(_g: Givens, value: float) -> Met:
        if low <= value <= high:
            return Met(1.0, f"“{label}” as it should be.")
        return Met(0.0, low_says if value < low else high_says)

    return written(label, "", judge, weight)


def set_as_flown(label: str, course: str, within_deg: float = 1.0, weight: float = 1.0) -> Goal:
    """Judge what a plan sets on a selector: the course flown there, whose name in the givens is ``course``."""

    def judge(g: Givens, value: float) -> Met:
        if abs(float(difference_deg(from_deg=g[course], to_deg=value))) <= within_deg:
            return Met(1.0, f"“{label}” is the course flown.")
        return Met(0.0, f"“{label}”: needle and flag speak of the line that is set. Which one do you fly there?")

    return written(label, " is the course flown", judge, weight)


def heard_before(dme_nm: float, weight: float = 2.0) -> Goal:
    """Judge that the station was tuned and its ident heard before it was that near; till then nothing was proved."""

    def judge(_g: Givens, seen: Seen) -> Met:
        heard = np.flatnonzero(seen.column("identified") > 0)
        near = np.flatnonzero(seen.dist_nm <= dme_nm)
        if not heard.size:
            return Met(
                0.0,
                "The station was never identified: what the needle spoke of, nobody knew. Dial it into "
                "standby, change over, listen, and compare it letter by letter.",
            )
        if near.size and heard[0] > near[0]:
            return Met(
                0.0,
                f"The station was identified at {seen.dist_nm[heard[0]]:.1f} NM only, and flown on before "
                f"that. Listen first: then set the course.",
            )
        if not seen.column("identified")[-1] > 0:
            return Met(0.0, "The receiver was changed over again, and what is active now was not heard.")
        return Met(1.0, f"Identified {seen.dist_nm[heard[0]]:.1f} NM out, before the needle was followed.")

    return Goal(f"station identified before {dme_nm:g} NM", weight, judge, critical=True)


def selected_by(course: str, dme_nm: float, weight: float = 1.0) -> Goal:
    """Judge that selector 1 shows the course flown from a distance on the way in; ``course`` names it in the givens."""

    def judge(givens: Givens, seen: Seen) -> Met:
        near = np.flatnonzero(seen.dist_nm <= dme_nm)
        shown = seen.column("course_1_deg")[near[0] if near.size else -1 :]
        if (np.abs(np.asarray(difference_deg(from_deg=float(givens[course]), to_deg=shown))) < 1.5).all():
            return Met(1.0, "The course you flew was selected.")
        return Met(0.0, "Selector 1 showed another line than the one you flew. Select the course you fly.")

    return Goal(f"course selected by {dme_nm:g} NM", weight, judge)


def _beside_from_the_turn_nm(seen: Seen, course_deg: float, leg: NDArray[np.bool_]) -> float:
    """How far beside a line outbound it was flown all along, where no wind carried it there; else 0. [NM]"""
    begins, ends = np.flatnonzero(leg)[0], np.flatnonzero(leg)[-1]
    after = int(np.argmin(seen.dist_nm))
    out = np.arange(len(seen.dist_nm))
    out = out[(out >= after) & (out <= ends) & (seen.dist_nm >= _CLEAR_NM)]
    if not out.size or begins < after:
        return 0.0
    beside = np.abs(seen.dist_nm[out] * np.sin(np.deg2rad(seen.off_deg(course_deg)[out])))
    return float(beside[0]) if beside[0] > _BESIDE_NM and beside.max() < _GROWS * beside[0] else 0.0


def on_the_line(
    course: str,
    from_nm: float,
    to_nm: float,
    limit_deg: float = 5.0,
    weight: float = 2.0,
    part: float = 0.95,
    unflown: str = "",
    astray: str = "",
) -> Goal:
    """Judge the angle off a line, after the passage or on the way in; ``course`` names it in the givens.

    The needle's own waves do not count: judged is where the aircraft was. Between the two distances
    (which way they run says whether out or in) it must be within the limit for most of the time. ``unflown`` is
    said in place of the usual words where this part was not flown; ``astray``, with ``{worst}`` (degrees) and
    ``{side}`` to be filled in, where it is off by more than wind does.
    """
    outbound = to_nm > from_nm

    def judge(givens: Givens, seen: Seen) -> Met:
        wanted = float(givens[course])
        away = np.asarray(np.gradient(seen.dist_nm)) > 0
        near, far = sorted((from_nm, to_nm))
        along = (
            np.abs(
                np.asarray(difference_deg(from_deg=wanted if outbound else wanted + 180.0, to_deg=seen.radial_deg))
            )
            < 90.0
        )
        leg = (seen.dist_nm >= near) & (seen.dist_nm <= far) & (away == outbound) & along
        length = float(np.ptp(seen.dist_nm[leg])) if leg.any() else 0.0
        if length < 0.8 * (far - near):
            return Met(0.0, unflown or f"This part, from {from_nm:g} to {to_nm:g} NM, was never flown.")
        off = seen.off_deg(wanted)[leg]
        good = float(np.mean(np.abs(off) <= limit_deg))
        worst = float(off[np.argmax(np.abs(off))])
        side = "right" if worst > 0 else "left"
        dots = abs(worst) / 2.0
        drifts = abs(worst) <= _DRIFT_DEG
        beside_nm = _beside_from_the_turn_nm(seen, wanted, leg) if outbound and drifts else 0.0
        why = (
            f"The heading held the wind; the flight came out of the turn {beside_nm:.1f} NM beside the line and stayed "
            "there. When was the cut back to the line due?"
            if beside_nm > 0.0
            else "Which way was the wind, and how much of the correction stayed in?"
            if drifts
            else "That is more than wind does: which line was followed, and was the turn on to this one flown?"
        )
        if good >= part:
            return Met(
                1.0,
                f"Never more than {abs(worst):.1f} degrees ({dots:.1f} dots) off from {from_nm:g} to {to_nm:g} NM.",
            )
        if astray and abs(worst) > _DRIFT_DEG:
            return Met(max(0.0, good - 0.2), astray.format(worst=f"{abs(worst):.0f}", side=side))
        return Met(
            max(0.0, good - 0.2),
            f"Up to {abs(worst):.1f} degrees {side} of the line between {from_nm:g} and {to_nm:g} NM, inside half scale "
            f"for {good:.0%} of the time. {why}",
        )

    where = "outbound" if outbound else "inbound"
    return Goal(f"on the {where} course from {from_nm:g} to {to_nm:g} NM", weight, judge)
