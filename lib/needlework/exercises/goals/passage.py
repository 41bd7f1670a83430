"""What a flown station passage is judged by: over the station, hands still, time, turn, set, wait."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from needlework.exercises.goals import Goal, Met
from needlework.exercises.goals.seen import Seen
from needlework.exercises.kinds import Givens
from needlework.trade.angles import difference_deg, three_digits


def hands_still(weight: float = 1.0, limit_deg: float = 10.0) -> Goal:
    """Judge the heading between the last mile and the first FROM that stays."""

    def judge(_givens: Givens, seen: Seen) -> Met:
        if seen.passage is None:
            return Met(
                0.0, "The flag never went from TO to a steady FROM: was the course you flew selected on receiver 1?"
            )
        heading = seen.column("heading_deg")[: seen.passage + 1]
        near = seen.dist_nm[: seen.passage + 1] < 1.0
        if not near.any():
            return Met(0.0, "The flight never came within a mile of the station.")
        swing = float(
            np.max(np.abs(np.asarray(difference_deg(from_deg=float(heading[near][0]), to_deg=heading[near]))))
        )
        if swing <= limit_deg + 0.5:
            return Met(1.0, f"Hands still: {swing:.0f} degrees of heading change in the last mile.")
        text = f"The heading changed by {swing:.0f} degrees in the last mile, where the needle tells nothing. Hands still."
        return Met(0.0, text)

    return Goal("hands still inside a mile", weight, judge)


def outbound_in_time(course: str, weight: float = 1.0, limit_s: float = 30.0) -> Goal:
    """Judge how soon after passage the outbound course is set; ``course`` names it in the givens."""

    def judge(givens: Givens, seen: Seen) -> Met:
        if seen.passage is None:
            return Met(0.0, "There was no passage to act on.")
        wanted = float(givens[course])
        after = seen.time_s - seen.time_s[seen.passage]
        selected = np.abs(np.asarray(difference_deg(from_deg=wanted, to_deg=seen.column("course_1_deg")))) < 1.5
        if not selected[-1]:
            set_now = three_digits(direction_deg=float(seen.column("course_1_deg")[-1]))
            text = (
                f"At the end {set_now} was selected: needle and flag spoke of another line. Set the course you fly."
            )
            return Met(0.0, text)
        changed = int(np.flatnonzero(~selected)[-1]) + 1 if (~selected).any() else 0
        if after[changed] < 0:
            return Met(
                0.0, "The outbound course was set before the station was passed: the passage could not be seen."
            )
        if after[changed] <= limit_s:
            return Met(1.0, f"From passage to the outbound course set: {after[changed]:.0f} s.")
        return Met(
            0.5 if after[changed] <= 3.0 * limit_s else 0.0,
            f"From passage to the outbound course set: {after[changed]:.0f} s; {limit_s:.0f} s was the goal.",
        )

    return Goal(f"outbound course set within {limit_s:.0f} s of passage", weight, judge)


def turned_after_passage(weight: float = 1.0, early_deg: float = 12.0) -> Goal:
    """Judge that the turn outbound begins at the passage, not before it and not long after."""

    def judge(_givens: Givens, seen: Seen) -> Met:
        if seen.passage is None:
            return Met(0.0, "There was no passage to turn at.")
        heading = seen.column("heading_deg")
        at = float(heading[seen.passage])
        later = np.abs(np.asarray(difference_deg(from_deg=at, to_deg=heading[seen.passage :]))) > early_deg
        before = np.abs(np.asarray(difference_deg(from_deg=at, to_deg=heading[: seen.passage])))
        dist = seen.dist_nm[: seen.passage]
        # Between two miles and one a cut back to the line is still allowed; a turn is larger.
        if (before[dist < 1.0] > early_deg).any() or (before[dist < 2.0] > 2.0 * early_deg).any():
            return Met(
                0.0,
                "Before the station was passed the heading had already changed, as it is by a turn begun too early or by "
                "chasing the needle. Hands still until a FROM that stays.",
            )
        if not later.any():
            return Met(0.0, "The aircraft never turned outbound.")
        wait = float(seen.time_s[seen.passage + int(np.argmax(later))] - seen.time_s[seen.passage])
        if wait <= 20.0:
            return Met(
                1.0,
                f"From passage until the heading had changed by {early_deg:.0f} degrees: {wait:.0f} s, rolling in included.",
            )
        late_nm = wait * 90.0 / 3600.0
        return Met(
            0.5 if wait <= 60.0 else 0.0,
            f"From passage until the heading had changed by {early_deg:.0f} degrees: {wait:.0f} s; at 90 kt that is "
            f"{late_nm:.1f} NM on the old course.",
        )

    return Goal("turn at the passage", weight, judge)


def over_the_station(weight: float = 1.0, limit_nm: float = 0.35) -> Goal:
    """Judge how far beside the station the flight passed."""

    def judge(_givens: Givens, seen: Seen) -> Met:
        beside = float(seen.dist_nm.min())
        if beside <= limit_nm:
            return Met(1.0, f"Passed {beside:.1f} NM from the station.")
        return Met(0.0, f"Passed {beside:.1f} NM beside the station: how much wind correction did the way in need?")

    return Goal(f"over the station, within {limit_nm:g} NM", weight, judge)


def _rolled_out(seen: Seen) -> int | None:
    """Sample at which the turn outbound has come to rest; None if there was no passage."""
    if seen.passage is None:
        return None
    heading = seen.column("heading_deg")
    turned = np.abs(np.asarray(difference_deg(from_deg=float(heading[seen.passage]), to_deg=heading))) > 12.0
    for i in range(seen.passage + 1, heading.size - 4):
        later = np.abs(np.asarray(difference_deg(from_deg=float(heading[i]), to_deg=heading[i : i + 5])))
        if turned[i] and later.max() < 1.5:
            return i
    return min(seen.passage + 30, heading.size - 1)


def heading_after_passage(heading: Callable[[Givens], float], weight: float = 1.0, limit_deg: float = 5.0) -> Goal:
    """Judge the heading on which the turn outbound comes to rest against the one the wind asks for."""

    def judge(givens: Givens, seen: Seen) -> Met:
        at = _rolled_out(seen)
        if at is None:
            return Met(0.0, "There was no passage to turn at.")
        # In a plan the heading written is judged: the needle may be followed before the turn has come to rest.
        written = givens.get("filled", {}).get("heading outbound", seen.column("heading_deg")[at])
        off = float(difference_deg(from_deg=heading(givens), to_deg=float(written)))
        if abs(off) <= limit_deg:
            return Met(1.0, "Outbound heading right for the wind.")
        side = "right" if off > 0 else "left"
        return Met(
            0.0, f"Outbound heading {abs(off):.0f} degrees too far {side} for this wind: a steady drift off the line."
        )

    return Goal("heading outbound right for the wind", weight, judge)


def waited_a_mile(weight: float = 1.0, until_nm: float = 0.8, limit_deg: float = 6.0) -> Goal:
    """Judge that the heading outbound is left alone until about a mile from the station."""

    def judge(_givens: Givens, seen: Seen) -> Met:
        at = _rolled_out(seen)
        if at is None:
            return Met(0.0, "There was no passage to wait after.")
        heading = seen.column("heading_deg")
        near = (np.arange(heading.size) >= at) & (seen.dist_nm < until_nm)
        if not near.any():
            return Met(1.0, "Corrected only when well clear of the station.")
        swing = float(np.max(np.abs(np.asarray(difference_deg(from_deg=float(heading[at]), to_deg=heading[near])))))
        if swing <= limit_deg:
            return Met(1.0, "Waited about a mile before correcting.")
        text = (
            f"Corrected by {swing:.0f} degrees less than a mile out, where the needle exaggerates. Wait about a mile."
        )
        return Met(0.0, text)

    return Goal("wait about a mile before correcting", weight, judge)
