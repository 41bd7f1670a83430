"""Judge of a circle to land: at its minimums until the runway can be reached from there, on its side, and near."""

from __future__ import annotations

from math import atan2, degrees

import numpy as np

from needlework.basis.quantity import Floats
from needlework.debrief.evidence import View
from needlework.debrief.findings import Finding, Judgement, Mask, apart, not_judged, worst_only
from needlework.debrief.rubric import Row
from needlework.debrief.segments import Circled
from needlework.trade.units import FT_M, NM_M

_FT_NM = NM_M / FT_M
_SHORTEST_S = 3.0
_WELL_ASIDE_NM, _ASIDE_S = 0.3, 15.0  # a circle is flown so far beside the runway
_DOWNWIND_DEG, _BASE_DEG = 150.0, 60.0  # off the direction of the landing
_POINTS = {"north": (0, 1), "south": (0, -1), "east": (1, 0), "west": (-1, 0)}


def circling(view: View, row: Row) -> Judgement:
    """A circle to land keeps its minimums, its side and its area."""
    circled = view.split.circled
    if circled is None:
        return not_judged(row, "No circle to land was flown.")
    if not view.procedure.minimums.circling:
        run = _run(view, circled.begun, circled.landed)
        what = "circled to land, for which this procedure has no minimums."
        return view.judged(row, [view.finding(row, run, run[2], "s", what, error=98)])
    here = (view.numbers >= circled.begun) & (view.numbers < circled.landed)
    findings = [*_below(view, row, circled, here), *_wrong_side(view, row, circled, here), *_far(view, row, here)]
    return view.judged(row, findings)


def _run(view: View, first: int, last: int) -> tuple[int, int, float]:
    return first, last, float(view.seen.time_s[last] - view.seen.time_s[first]) + view.seen.step_s


def to_go_nm(view: View, circled: Circled) -> Floats:
    """How far every sample is from the threshold along the way that was flown. [NM]"""
    seen = view.seen
    over = np.flatnonzero((view.numbers >= circled.lined_up) & (circled.past_nm >= 0.0))
    at = int(over[0]) if len(over) else circled.landed
    flown = np.concatenate([[0.0], np.cumsum(seen.gs_kt[:-1] * np.diff(seen.time_s) / 3600.0)])
    beyond = max(float(circled.past_nm[at]), 0.0)  # of few samples the first may lie past it
    return np.asarray(np.maximum(flown[at] - flown - beyond, 0.0))


def _below(view: View, row: Row, circled: Circled, here: Mask) -> list[Finding]:
    """Below the circling minimums from where a normal path does not lead down to the runway yet."""
    seen, to_go = view.seen, to_go_nm(view, circled)
    short = np.where(here, np.minimum(view.mda_ft, _path_ft(view, row, to_go)) - seen.alt_ft, -1e9)
    findings = []
    for run in view.runs(view.low(short) & (to_go > row.limit["from_nm"]), _SHORTEST_S):
        part = slice(run[0], run[1] + 1)
        at = run[0] + int(np.argmax(short[part]))
        worst = view.mda_ft - float(seen.alt_ft[at])
        what = (
            f"{worst:.0f} ft below the circling minimums ({view.mda_ft:,.0f} ft) on the {_leg(view, circled, at)}, "
            f"{to_go[at]:.1f} NM of flight from the threshold, for {run[2]:.0f} s."
        )
        error, cause = 96, ""
        straight_ft = view.today_ft(
            view.procedure.mda_ft(view.category, remote=view.given.remote, step_down=view.given.step_down)
        )
        came_low = float(seen.alt_ft[circled.begun]) < view.mda_ft - view.tell_ft
        if came_low and abs(float(seen.alt_ft[circled.begun]) - straight_ft) < row.limit["same_ft"] + view.tell_ft:
            error, cause = 75, f"the straight-in MDA of {straight_ft:,.0f} ft kept for the circling"
        if seen.height.set_wrong:
            error, cause = 68, "as all the way before it"
        findings.append(view.finding(row, run, worst, "ft", what, error=error, cause=cause))
    return worst_only(findings)


def _path_ft(view: View, row: Row, to_go_nm: Floats) -> Floats:
    """Altitude of the shallowest path that is normal, along the way that was flown. [ft]"""
    angle = np.deg2rad(view.procedure.descent_angle_deg - row.limit["below_deg"])
    return np.asarray(view.procedure.runway.threshold_elevation_ft + to_go_nm * _FT_NM * float(np.tan(angle)))


def _leg(view: View, circled: Circled, at: int) -> str:
    """Which part of the circle a sample lies on, by its track against the landing."""
    off = abs(float(apart(view.seen.track_deg[at], view.seen.track_deg[circled.landed])))
    return "downwind leg" if off > _DOWNWIND_DEG else "base leg" if off > _BASE_DEG else "last part"


def side_not_authorised(words: str | None, heading_deg: float) -> int:
    """Side of a runway's direction (1 right, -1 left) on which it may not be circled, by the words of the plate."""
    named = [_POINTS[point] for point in _POINTS if point in (words or "").lower()]
    east, north = (sum(each[axis] for each in named) for axis in (0, 1))
    if not east and not north:
        return 0
    off = float(apart(degrees(atan2(east, north)), heading_deg))
    return 0 if abs(np.sin(np.deg2rad(off))) < 0.5 else 1 if off > 0.0 else -1


def _wrong_side(view: View, row: Row, circled: Circled, here: Mask) -> list[Finding]:
    """Beside the runway on the side that the plate rules out."""
    words = view.procedure.minimums.circling_not
    true_deg = view.procedure.runway.heading_deg + view.procedure.station.declination_deg
    side = side_not_authorised(words, true_deg)
    aside = here & (side * circled.across_nm > _WELL_ASIDE_NM + view.seen.position_nm)
    findings = []
    for run in view.runs(aside, _ASIDE_S) if side else []:
        worst = float(np.abs(circled.across_nm[run[0] : run[1] + 1]).max())
        what = f"circled {words}, {worst:.1f} NM beside it, where circling is not authorised."
        findings.append(view.finding(row, run, worst, "NM", what, error=97))
    return worst_only(findings)


def _far(view: View, row: Row, here: Mask) -> list[Finding]:
    """So far from the runway that no circling area reaches there.

    Where the minimums of a wider category were kept as well, the area of that one was looked at for obstacles at an
    altitude no higher; how wide it was drawn (the US areas are smaller) the plate does not say.
    """
    if (circled := view.split.circled) is None:
        return []
    seen, length_nm = view.seen, view.procedure.runway.length_m / NM_M
    past_nm = circled.past_nm
    away = np.hypot(np.maximum(np.maximum(-past_nm, past_nm - length_nm), 0.0), circled.across_nm)
    path_ft = _path_ft(view, row, to_go_nm(view, circled))
    own_nm = row.limit[f"{view.category.lower()}_nm"]
    reach_nm = np.full(len(seen), own_nm)
    for line in view.procedure.minimums.circling:
        of_line_ft = view.today_ft(
            view.procedure.mda_ft(
                line.category, remote=view.given.remote, step_down=view.given.step_down, circling=True
            )
        )
        kept = seen.alt_ft >= np.minimum(of_line_ft, path_ft) - view.tell_at_ft
        reach_nm[kept] = np.maximum(reach_nm[kept], row.limit[f"{line.category.lower()}_nm"])
    aside = here & (np.abs(circled.across_nm) > _WELL_ASIDE_NM)
    findings = []
    for run in view.runs(aside & (away > reach_nm + seen.position_nm), _ASIDE_S):
        at = run[0] + int(np.argmax((away - reach_nm)[run[0] : run[1] + 1]))
        what = f"circled {away[at]:.1f} NM from the runway; for category {view.category} the area ends at {own_nm:g}."
        findings.append(view.finding(row, run, float(away[at]), "NM", what, error=99))
    for run in [] if findings else view.runs(aside & (away > own_nm + seen.position_nm), _ASIDE_S):
        worst = float(away[run[0] : run[1] + 1].max())
        what = (
            f"circled {worst:.1f} NM from the runway: beyond {own_nm:g} NM, where the area of category "
            f"{view.category} ends, and within that of a wider one whose minimums were kept as well; whether that "
            "one was drawn so wide, the plate does not say."
        )
        findings.append(view.finding(row, run, worst, "NM", what, sure=False))
    return worst_only(findings)
