"""Judge of the landing: the height at which the threshold is crossed, and where on the runway the wheels are down."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from needlework.basis.quantity import Floats
from needlework.debrief.endings import runway_frame
from needlework.debrief.evidence import View
from needlework.debrief.final import landed
from needlework.debrief.findings import Finding, Judgement, Mask, not_judged
from needlework.debrief.indications import POSITION_NM
from needlework.debrief.pieces import along_across, on_the_runway_ft
from needlework.debrief.rubric import Row
from needlework.trade.units import NM_M

_WHEELS_FT = 15.0  # so low they are as good as down
_FLOWN_KT = 45.0  # slower it rolls
_BY_RUNWAY_NM = 0.15
_SLOWED = 0.85  # of the speed over the threshold: the flare takes some of it, the brakes the rest
_ROLL_S, _ROLL_FT = 4.0, 8.0  # level on the runway at the end of a recording
_FT_A_MILE = 300.0
_TOUCH_S = 3.0
_BESIDE_M = 30.0  # of the centre line: half of the widest runways there are
_ROLLS_KT, _ROLL_LINE_S, _FEW = 25.0, 10.0, 3  # faster it has not turned off yet
_BLIND_M = 150.0  # the same by instruments that show no runway: as far as a flight of the panel ends on it


def touchdown(view: View, row: Row) -> Judgement:
    """Over the threshold at about the height published, and down on the runway while enough of it is left to stop.

    What heights and places may be off is taken for the pilot.
    """
    if not landed(view):
        return not_judged(row, "No landing was made.")
    seen, runway = view.seen, view.procedure.runway
    past_nm = view.final_along_nm - view.along_of("threshold")
    across = along_across(seen, view.procedure, view.procedure.final_course_deg)[1]
    by_runway = np.abs(across - view.procedure.threshold_right_nm) < _BY_RUNWAY_NM + seen.position_nm
    if (circled := view.split.circled) is not None:
        past_nm, across = circled.past_nm, circled.across_nm
        by_runway = (np.abs(across) < _BY_RUNWAY_NM + seen.position_nm) & (view.numbers >= circled.lined_up)
    here = view.mask("final", "landing", "after") & by_runway & (past_nm > -seen.position_nm)
    if not here.any():
        return not_judged(row, "The runway was not reached in the recording.")
    over, length_nm = int(np.flatnonzero(here)[0]), runway.length_m / NM_M
    ground_ft, sharp_ft = _ground_ft(view)
    crossed_ft = float(seen.alt_ft[over]) - ground_ft
    gone_nm = max(float(past_nm[over]) - seen.position_nm, 0.0)  # of few samples the first may lie well past it
    high_ft = crossed_ft + gone_nm * _FT_A_MILE - runway.crossing_height_ft - view.tell_ft
    flying = here & (seen.alt_ft > ground_ft + _WHEELS_FT + sharp_ft) & (seen.gs_kt > _FLOWN_KT)
    if slowing := _slowing_from(view, here):  # a float a foot above the runway shows in no height
        flying[over:slowing] = here[over:slowing]
    last = int(np.flatnonzero(flying)[-1]) if flying.any() else over
    used = max(float(past_nm[last]) - seen.position_nm, 0.0) / length_nm * 100.0
    high, deep = high_ft > row.limit["high_ft"], used > row.limit["share_percent"]
    facts = {"crossed": f"{max(crossed_ft, 0.0):.0f}", "used": f"{used:.0f}"}
    if not high and not deep:
        down = here & (view.numbers >= over) & (seen.alt_ft <= ground_ft + _WHEELS_FT + sharp_ft)
        beside = _beside(view, row, down, across * NM_M)
        return view.judged(row, [beside] if beside else [], **facts)
    parts = []
    if high:
        wanted_ft = runway.crossing_height_ft
        parts.append(f"over the threshold at {crossed_ft:.0f} ft, where {wanted_ft:.0f} are published")
    if deep:
        parts.append(f"still flying with {used:.0f} percent of the runway used up")
    first = over if high else last
    run = (first, max(last, first), float(seen.time_s[max(last, first)] - seen.time_s[first]) + seen.step_s)
    critical = high_ft > row.limit["critical_ft"] or used > row.limit["critical_percent"]
    worst, unit = (high_ft, "ft") if high else (used, "percent")
    found = view.finding(row, run, worst, unit, f"{'; '.join(parts)}.", error=90, critical=critical)
    return view.judged(row, [replace(found, failed=True)], **facts)


def _beside(view: View, row: Row, down: Mask, on_line_m: Floats) -> Finding | None:
    """What is to be said of wheels that came down beside the runway; None where they came down on it."""
    seen, own_m = view.seen, runway_frame(view.seen, view.procedure)[1] * NM_M
    rolls = down & (seen.gs_kt > _ROLLS_KT)
    if not rolls.any():
        return None
    shown = "needle_1_deg" not in seen.recorded
    first, last = (int(each) for each in np.flatnonzero(down)[[0, -1]])
    run = (first, last, float(seen.time_s[last] - seen.time_s[first]) + seen.step_s)

    def beside_m(line_m: Floats) -> float:
        return float(np.median(line_m[rolls][: max(view.samples(_TOUCH_S), _FEW)]))

    def on(line_m: Floats) -> bool:
        return abs(beside_m(line_m)) <= (_BESIDE_M if shown else _BLIND_M) + _unsure_m(view, line_m[rolls])

    if on(own_m):
        return None
    off_m = abs(beside_m(own_m))
    side = "right" if beside_m(own_m) > 0 else "left"
    # Where the published threshold lies beside the runway's own line, it is the place to land for who knows no other:
    # the line through it, along the runway or on along the final.
    if view.procedure.threshold_right_nm and (on(on_line_m) or on(own_m + _aside_m(view))):
        what = (
            f"touched down {off_m:.0f} m to the {side} of the centre line, in line with the threshold as radial and "
            "distance publish it: which of the two was taken for the runway cannot be told."
        )
        return view.finding(row, run, off_m, "m", what, sure=False) if shown else None
    what = f"touched down {off_m:.0f} m to the {side} of the centre line, beside the runway."
    return replace(view.finding(row, run, off_m, "m", what, error=93, critical=True), failed=True)


def _aside_m(view: View) -> float:
    """How far to the right of the published threshold the runway's own line leads by. [m]"""
    procedure = view.procedure
    return procedure.threshold_right_nm * float(np.cos(np.deg2rad(procedure.runway_turn_deg))) * NM_M


def _unsure_m(view: View, rolling_m: Floats) -> float:
    """How far the line of the first of the roll may be off: what no receiver knows better, and the scatter. [m]"""
    first_m = rolling_m[: max(view.samples(_ROLL_LINE_S), _FEW + 1)]
    if len(first_m) <= _FEW:
        return view.seen.position_nm * NM_M
    number = np.arange(len(first_m))
    scatter_m = float(np.std(first_m - np.polyval(np.polyfit(number, first_m, 1), number)))
    return POSITION_NM * NM_M + 2.0 * scatter_m / float(np.sqrt(len(first_m)))


def _slowing_from(view: View, here: Mask) -> int:
    """First sample on the runway at which it was slower than over the threshold, as after a landing; 0: never."""
    seen, on = view.seen, np.flatnonzero(here)
    over_kt = float(np.median(seen.gs_kt[on[: max(3, view.samples(5.0))]]))
    slow = on[seen.gs_kt[on] < _SLOWED * over_kt]
    return int(slow[0]) if len(slow) else 0


def _ground_ft(view: View) -> tuple[float, float]:
    """Where the recorded heights stand on the runway, and how far they may be off it. [ft]"""
    seen, runway = view.seen, view.procedure.runway
    ground_ft = runway.threshold_elevation_ft + (on_the_runway_ft(seen, view.split.outcome, view.procedure) or 0.0)
    last = seen.alt_ft[seen.time_s > seen.time_s[-1] - _ROLL_S - seen.step_s]
    rolled_ft = float(np.median(last))
    level = len(last) >= 3 and float(np.ptp(last)) < _ROLL_FT + seen.alt_grain_ft
    if level and abs(rolled_ft - ground_ft) < _WHEELS_FT + view.tell_ft:
        return rolled_ft, seen.alt_grain_ft
    return ground_ft, view.tell_ft
