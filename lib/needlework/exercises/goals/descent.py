"""What a flown final is judged by: floors kept, minimums held, no dive low down, the climb where it belongs.

Every goal reads ``course_deg`` (the final course) from the givens. "Along" is measured on that course from the
station: negative before station passage, positive after it.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from needlework.basis.quantity import Constant, Floats
from needlework.exercises.goals import DIP_FT, DIPPED, Goal, Met
from needlework.exercises.goals.common import written
from needlework.exercises.goals.seen import Seen
from needlework.exercises.kinds import Givens
from needlework.trade.angles import difference_deg
from needlework.trade.descent import LOW_LIMIT_FPM

Floors = Callable[[Givens], tuple[tuple[float, float, float], ...]]
"""From the givens: from and to [NM along], lowest altitude [ft]; in the order flown."""

READ_FT = Constant(10.0, "ft", "common-practice", "an altimeter is read to ten feet")
_FIX_NM = 0.05  # the DME's last digit
_OFF_LINE_SHARE = 0.7  # of the marks, a hair beyond the limit
_HIGH = "Was it the rate, the place where the descent began, or the level it was set to end at?"
_GONE_DOWN_FT, _DESCENT_FPM = 300.0, 100.0  # what counts as having gone down at all


def along_nm(g: Givens, seen: Seen) -> Floats:
    """Distance of each sample from the station along the final course. [NM]"""
    off = np.deg2rad(np.asarray(difference_deg(from_deg=g["course_deg"], to_deg=seen.radial_deg)))
    return np.asarray(seen.dist_nm * np.cos(off))


def _place(along: float) -> str:
    return f"{abs(along):.1f} NM {'before' if along < 0 else 'past'} the station"


def climb_at(seen: Seen) -> int:
    """Sample at which the last climb of the flight begins; the number of samples if there is none."""
    climbing = seen.column("vs_fpm") > 100.0
    lowest = int(np.argmin(seen.track.alt_ft[::-1]))
    begin = len(climbing) - 1 - lowest
    return begin if climbing[begin:].any() else len(climbing)


def floors_kept(floors: Floors, weight: float = 3.0) -> Goal:
    """Judge that no floor is broken before its fix is crossed."""

    def judge(g: Givens, seen: Seen) -> Met:
        along, alt = along_nm(g, seen), seen.track.alt_ft
        seconds = np.gradient(seen.time_s)
        for begin, end, floor in floors(g):
            low = (along >= begin + _FIX_NM) & (along <= end - _FIX_NM) & (alt < floor - READ_FT)
            if low.any():
                depth = np.where(low, floor - alt, 0.0)
                at = int(np.argmax(depth))
                last = end == max(leg[1] for leg in floors(g))  # nothing is left to cross
                return Met(
                    DIPPED if depth[at] <= DIP_FT else 0.0,
                    f"{depth[at]:.0f} ft below the floor of {floor:,.0f} ft, {_place(float(along[at]))}, for "
                    f"{float(seconds[low].sum()):.0f} s. There the ground is not promised to be clear."
                    + ("" if last else " Cross the fix, then go down."),
                )
        if float(alt.min()) > min(floor for _, _, floor in floors(g)) + _GONE_DOWN_FT:
            return Met(0.0, "No descent was flown, so no floor was put to the test.", flown=False)
        return Met(1.0, "No floor broken, ten feet of reading allowed.")

    return Goal("every floor kept", weight, judge, critical=True)


def at_minimums(
    mda: Callable[[Givens], float], from_nm: float, to_nm: float, weight: float = 2.0, over_ft: float = 100.0
) -> Goal:
    """Judge the altitude between two places on the final: down to the minimum, at most ``over_ft`` above it."""

    def judge(g: Givens, seen: Seen) -> Met:
        along = along_nm(g, seen)
        part = (along >= from_nm) & (along <= to_nm)
        begin = climb_at(seen)
        part[begin:] = False
        if begin < len(along) and 0.0 < along[begin] < from_nm:
            low = float(seen.track.alt_ft[begin] - mda(g))
            if -READ_FT <= low <= over_ft + READ_FT:
                return Met(1.0, f"One line, and around from {max(low, 0.0):.0f} ft above minimums.")
        if not part.any():
            return Met(0.0, f"The flight was not at minimums between {from_nm:g} and {to_nm:g} NM past the station.")
        over = seen.track.alt_ft[part] - mda(g)
        if over.min() < -READ_FT:
            return Met(
                0.0, f"{-over.min():.0f} ft below minimums. Below them the ground is not promised to be clear."
            )
        good = float(np.mean(over <= over_ft + READ_FT))
        if good > 0.99:
            return Met(1.0, f"Between {max(over.min(), 0.0):.0f} and {over.max():.0f} ft above minimums.")
        return Met(
            max(0.0, good - 0.2),
            f"Still {over.max():.0f} ft above minimums at {from_nm:g} NM: high for a normal descent from there. {_HIGH}",
        )

    return Goal(f"at minimums from {from_nm:g} DME, within +{over_ft:.0f}/-0 ft", weight, judge)


def near_the_line(
    line_ft: Callable[[Givens, Floats], Floats],
    from_nm: float,
    to_nm: float,
    weight: float = 2.0,
    limit_ft: float = 100.0,
) -> Goal:
    """Judge the height off a descent line between two places on the final: the farther off the less, low twice."""

    def judge(g: Givens, seen: Seen) -> Met:
        along = along_nm(g, seen)
        part = (along >= from_nm) & (along <= to_nm)
        if not part.any():
            told = f"The flight was not on the final from {from_nm:g} to {to_nm:g} NM past the station."
            return Met(0.0, told, flown=False)
        off = seen.track.alt_ft[part] - line_ft(g, along[part])
        worst = float(off[np.argmax(np.abs(off))])
        if abs(worst) <= limit_ft:
            return Met(1.0, f"Never more than {abs(worst):.0f} ft off the line.")
        beyond = (abs(worst) - limit_ft) / limit_ft
        if -float(off.min()) > 2.5 * limit_ft:
            crossed = np.flatnonzero(along >= 0.0)[:1]
            early = float((line_ft(g, along[crossed]) - seen.track.alt_ft[crossed])[0]) > limit_ft
            why = (
                "the descent had begun before the final fix."
                if early
                else "a dive, and nothing but the level-off ends it above the ground. For which speed was the rate?"
            )
            return Met(0.0, f"Up to {-float(off.min()):.0f} ft low on the line: {why}")
        share = _OFF_LINE_SHARE * (1.0 - (2.0 if worst < 0 else 1.0) * beyond)
        return Met(
            max(share, 0.0 if worst < 0 else 0.1),
            f"Up to {abs(worst):.0f} ft high on the line. {_HIGH}"
            if worst > 0
            else f"Up to {abs(worst):.0f} ft low on the line: for which speed was the rate?",
        )

    return Goal(
        f"within {limit_ft:.0f} ft of the line from {from_nm:g} to {to_nm:g} DME", weight, judge, critical=True
    )


def written_floor(label: str, floor_ft: Callable[[Givens], float], where: str, weight: float = 1.0) -> Goal:
    """Judge a line of a filled plan against the floor there, whatever this day's wind makes of it."""

    def judge(g: Givens, level_ft: float) -> Met:
        low = floor_ft(g) - level_ft
        if low <= 0.0:
            return Met(1.0, "Set at or above the floor.")
        return Met(
            0.0,
            f"Your line lets the aircraft down to {low:.0f} ft below the floor {where}, in this wind or in another.",
        )

    return written(label, " at or above the floor", judge, weight, critical=True)


def no_dive(weight: float = 1.0, limit_fpm: float = LOW_LIMIT_FPM) -> Goal:
    """Judge the rate of descent."""

    def judge(_g: Givens, seen: Seen) -> Met:
        most = float(-np.min(seen.column("vs_fpm")))
        if most < _DESCENT_FPM:
            return Met(0.0, "No descent was flown.")
        if most <= limit_fpm + 25.0:
            return Met(1.0, f"Never more than {most:.0f} fpm down.")
        return Met(
            0.0, f"{most:,.0f} fpm down, so near the ground. Who would need that to get down goes around instead."
        )

    return Goal(f"never over {limit_fpm:,.0f} fpm", weight, judge)


def climb_at_the_point(map_nm: float, weight: float = 1.0, late_nm: float = 0.2, too_late_nm: float = 0.5) -> Goal:
    """Judge that the climb begins by the missed approach point and that nobody turns before it.

    Later than ``late_nm`` is a fault, later than ``too_late_nm`` one that can kill.
    """

    def judge(g: Givens, seen: Seen) -> Met:
        begin, along = climb_at(seen), along_nm(g, seen)
        if begin >= len(along):
            return Met(
                0.0, "There was no climb. At the missed approach point it is land or go around, no third choice."
            )
        where = float(along[begin])
        if where > map_nm + late_nm:
            share = 0.3 if where <= map_nm + too_late_nm else 0.0
            return Met(
                share,
                f"The climb began {where - map_nm:.1f} NM after the missed approach point. Nothing past it is checked at "
                "this height.",
            )
        if where < 0.0:
            return Met(0.0, "The flight climbed before the final fix: the final was not flown.", flown=False)
        before = (along > where) & (along < map_nm)
        turned = np.abs(
            np.asarray(
                difference_deg(from_deg=float(seen.column("heading_deg")[begin]), to_deg=seen.column("heading_deg"))
            )
        )
        if (turned[before] > 15.0).any():
            return Met(
                0.0, "Climbed in time, but turned before the missed approach point: no early turn is protected."
            )
        return Met(1.0, f"Climbing at {where:.1f} NM, straight ahead.")

    return Goal(f"climb by {map_nm:g} DME, no turn before it", weight, judge, critical=True)
