"""Goals that several lessons use: what was written in a plan, and the line that is flown."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from needlework.exercises.goals import Goal, Met
from needlework.exercises.goals.seen import Seen
from needlework.exercises.kinds import Givens
from needlework.trade.angles import difference_deg

_DRIFT_DEG = 15.0


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
        why = (
            "Which way was the wind, and how much of the correction stayed in?"
            if abs(worst) <= _DRIFT_DEG
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
