"""Where the visual part of an approach may begin, and from when to when the runway was in sight."""

from __future__ import annotations

import numpy as np

from needlework.basis.quantity import Constant
from needlework.debrief.evidence import View

_BELOW_FT, _WELL_BELOW_FT, _BOTTOM_S = 40.0, 150.0, 20.0
LAST_DIGIT_NM = Constant(0.05, "NM", "common-practice", "half the last digit of a DME")


def has_vdp(view: View) -> bool:
    """Whether the procedure has a visual descent point today: with another field's setting there is none."""
    return not view.given.remote and any(fix.name == "VDP" for fix in view.procedure.fixes)


def visual_nm(view: View) -> float:
    """Along the final course: where a descent below the MDA may begin, the DME's last digit allowed for.

    Where the step-down fix could not be identified, the MDA is higher, and the path through the published point is
    met earlier.
    """
    if not has_vdp(view):
        return view.along_of("MAP") - LAST_DIGIT_NM
    published = view.procedure.mda_ft(view.category, step_down=view.given.step_down)
    return view.along_of("threshold") - view.procedure.vdp_to_go_nm(published) - LAST_DIGIT_NM


def past_visual_point(view: View, at: int) -> bool:
    """Whether a sample lies past the visual descent point."""
    return has_vdp(view) and bool(view.final_along_nm[at] > visual_nm(view))


def broken_off(view: View) -> tuple[bool, bool | None]:
    """Whether a climb was begun from a way down to the runway, and whether the runway was in sight on it.

    Such a way down begins where the path to the runway may be met, and leads well below the minimums; None where
    nobody knows what was in sight.
    """
    climb = view.climb_at
    if climb is None:
        return False, None
    # The climb is followed back to where it left; the bottom of the way down lies within some seconds of it.
    near = np.abs(view.seen.time_s - view.seen.time_s[climb]) < _BOTTOM_S
    at = int(np.flatnonzero(near)[np.argmin(view.seen.alt_ft[near])])
    in_sight = in_sight_at(view, at)
    deep_ft = _BELOW_FT if in_sight else _WELL_BELOW_FT  # where nobody said, a sink at the point is no way down
    low = float(view.seen.alt_ft[at]) < view.mda_ft - deep_ft - view.tell_ft
    above = np.flatnonzero((view.seen.alt_ft >= view.mda_ft) & (view.numbers < at))
    begun = int(above[-1]) if len(above) else 0
    seen_there = float(view.final_along_nm[begun]) > visual_nm(view) - view.seen.position_nm
    return bool(low and seen_there), in_sight


def in_sight_at(view: View, at: int) -> bool | None:
    """Whether the runway was in sight at a sample; None where nobody knows."""
    time_s = float(view.seen.time_s[at])
    begin, end = sight_s(view)
    if begin is not None and time_s < begin - view.seen.step_s:
        return False
    if end is not None and time_s > end + view.seen.step_s:
        return False
    if begin is not None or end is not None:
        return True
    return view.given.in_sight


def sight_s(view: View) -> tuple[float | None, float | None]:
    """When the runway came in sight and when it was lost, by time or by the place on the final. [s]"""
    given = view.given
    begin, end = given.sight_from_s, given.sight_until_s
    if begin is None and given.sight_from_nm is not None:
        begin = _passed_s(view, given.sight_from_nm)
    if end is None and given.sight_until_nm is not None:
        end = _passed_s(view, given.sight_until_nm)
    return begin, end


def _passed_s(view: View, dme_nm: float) -> float:
    """Time at which a distance of the station is passed on the last part of the final. [s]"""
    along = dme_nm if view.procedure.station_before_runway else -dme_nm
    past = np.flatnonzero(view.mask("final", "landing") & (view.final_along_nm >= along))
    return float(view.seen.time_s[past[0]] if len(past) else view.seen.time_s[-1])
