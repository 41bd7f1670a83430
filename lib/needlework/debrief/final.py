"""Judges of the final: needle, speed, configuration, the gate, the rate of descent."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from needlework.basis.quantity import Floats
from needlework.debrief.evidence import View
from needlework.debrief.findings import Finding, Judgement, Mask, Run, not_judged, worst_only
from needlework.debrief.levels import speeds
from needlework.debrief.rubric import Row
from needlework.debrief.segments import Span
from needlework.debrief.tracking import needle
from needlework.debrief.visual import past_visual_point, sight_s, visual_nm
from needlework.world.aircraft import Aircraft

_SETTLED_S = 40.0  # on the final the line is met established
_LOOK_S = 15.0
_SUSTAINED_S = 4.0
_GEAR_BY_FT = 1000.0
_FLAP_BY_FT = 500.0
_FROM_MDA_FT = 150.0
_SWINGS, _SWING_S, _EASED = 3, 40.0, 0.4  # so often, eased to such a share of the limit between them: no steps
_ON_LINE_DEG, _AT_FIX_NM = 10.0, 0.5
_BOTH = 1.4  # two heights, each as unsure
_UNDER_FT = 60.0  # so far below the MDA it has been left


def on_final(view: View) -> Mask:
    """Samples of the final, up to the climb of a missed approach."""
    mask = view.mask("final")
    if view.climb_at is not None:
        mask[view.climb_at :] = False
    return mask


def landed(view: View) -> bool:
    """Whether the flight went on to the runway."""
    return view.split.outcome == "landing"


def needle_final(view: View, row: Row) -> Judgement:
    """Needle from the final fix to the missed approach point or the climb."""
    spans = list(view.spans("final", kind="radial"))
    carried_s = sum(_beside_s(view, row, span) for span in view.spans("intermediate", kind="radial"))
    carried_s = carried_s if carried_s > view.rubric.prompt_s else 0.0
    return needle(
        view, row, spans, view.climb_at, _SETTLED_S, row.limit["limit_s"], carried_s, by_eye=_by_eye_from(view)
    )


def _by_eye_from(view: View) -> int | None:
    """First sample below the MDA on the way to the runway; None without a landing."""
    above = np.flatnonzero(view.mask("final") & (view.seen.alt_ft >= view.mda_ft))
    return int(above[-1]) + 1 if landed(view) and len(above) else None


def _beside_s(view: View, row: Row, span: Span) -> float:
    """How long a leg was flown beyond the tolerance of the needle. [s]"""
    off = view.off_deg(float(span.piece.course_deg or 0.0))
    beyond = np.abs(off) > row.limit["limit_deg"] + view.unsure_deg
    return float((view.inside(span) & view.readable & beyond).sum() * view.seen.step_s)


def fix_high(view: View, row: Row) -> Judgement:
    """Down to the altitude of the final fix by the time it is passed: from far above it only a dive leads down."""
    seen, fix = view.seen, view.procedure.final_fix
    leg = next((leg for leg in view.procedure.legs if leg.end == fix and leg.segment != "final"), None)
    fix_nm = view.along_of(fix)
    on_line = on_final(view) & (np.abs(view.off_deg(view.procedure.final_course_deg)) < _ON_LINE_DEG) | view.near
    past = np.flatnonzero(on_final(view) & on_line & (view.final_along_nm >= fix_nm))
    if leg is None or leg.minimum_ft is None or not len(past) or view.final_along_nm[past[0]] > fix_nm + _AT_FIX_NM:
        return not_judged(row, "The final fix was not passed.")
    at = int(past[0])
    published_ft = leg.minimum_ft if leg.at_end_ft is None else leg.at_end_ft
    alt_ft = float(seen.alt_ft[at])
    over_ft = alt_ft - view.today_ft(published_ft)
    steep = (alt_ft - view.mda_ft) / max(visual_nm(view) - fix_nm, 0.5)
    if over_ft <= row.limit["limit_ft"] + view.tell_ft or steep <= row.limit["limit_ft_nm"]:
        if over_ft < -view.tell_ft:
            return not_judged(row, "It was passed below its altitude; that is another row's matter.")
        return view.judged(row, [], over=f"{max(over_ft, 0.0):.0f}")
    what = f"{over_ft:.0f} ft above {alt_ft - over_ft:,.0f} ft at {fix}: from there {steep:.0f} ft/NM lead down."
    sure = over_ft > row.limit["limit_ft"] + view.tell_ft + seen.height.above_ft
    run = (at, at, seen.step_s)
    return view.judged(row, [view.finding(row, run, over_ft, "ft", what, error=100, sure=sure, beyond=False)])


def full_scale(view: View, row: Row) -> Judgement:
    """A needle that stays at full scale on the final ends the approach."""
    off = view.off_deg(view.procedure.final_course_deg)
    usable = on_final(view) & view.readable
    if usable.sum() * view.seen.step_s < view.rubric.prompt_s:
        return not_judged(row, "The final was not flown, or too little of it.")
    findings = []
    beyond = np.abs(off) >= row.limit["limit_deg"] - 0.1 + view.unsure_deg
    for run in view.runs(usable & beyond, row.limit["limit_s"]):
        what = f"needle at full scale for {run[2]:.0f} s and the descent went on. Where the line is, nobody knew."
        worst = float(np.abs(off[run[0] : run[1] + 1]).max())
        findings.append(view.finding(row, run, worst, "deg", what, error=72))
    return view.judged(row, worst_only(findings))


def speed_final(view: View, row: Row) -> Judgement:
    """Airspeed on the final."""
    if view.airspeed is None:
        return not_judged(row, "The recording holds no airspeed, and none can be worked out.")
    if view.aircraft is None:
        return not_judged(row, "No aircraft was named, so no speed to keep is known.")
    past_fix = view.final_along_nm > view.along_of(view.procedure.final_fix) + 0.5
    chosen = on_final(view) & past_fix & (view.final_along_nm < view.along_of("MAP"))
    slow = np.full(len(view.seen), view.aircraft.final_kt)
    if landed(view):  # threshold speed is for the way down to the runway
        left_ft = max(view.mda_ft - _UNDER_FT, view.procedure.airport.elevation_ft + _FLAP_BY_FT)
        slow[np.minimum.accumulate(np.where(chosen, view.seen.alt_ft, np.inf)) < left_ft] = view.aircraft.threshold_kt
    sighted_s = sight_s(view)[0]
    if sighted_s is not None:  # and may be taken as soon as the runway is there to be landed on
        slow[view.seen.time_s >= sighted_s] = view.aircraft.threshold_kt
    judgement = speeds(view, row, np.where(chosen, slow, np.nan), np.where(chosen, view.aircraft.final_kt, np.nan))
    return replace(
        judgement,
        findings=tuple(
            replace(found, critical=found.error == 67 and found.worst > row.limit["critical_slow_kt"])
            for found in judgement.findings
        ),
    )


def gear_step(aircraft: Aircraft | None) -> int | None:
    """Number of the configuration step that puts the gear down; None where it is always down."""
    names = [step.name.lower() for step in aircraft.configurations] if aircraft else []
    return next((number for number, name in enumerate(names) if "gear" in name), None)


def ready(view: View, row: Row) -> Judgement:
    """Flap and speed soon after the final fix."""
    seen = view.seen
    if not {"ias_kt", "configuration"} & seen.recorded:
        return not_judged(row, "The recording holds neither airspeed nor configuration.")
    fix_nm = view.along_of(view.procedure.final_fix)
    past = np.flatnonzero(on_final(view) & (view.final_along_nm > fix_nm + row.limit["limit_nm"]))
    if not len(past):
        return not_judged(row, "The final fix was not passed.")
    at = int(past[0])
    slow = view.aircraft.final_kt if view.aircraft else None
    wrong = []
    if "configuration" in seen.recorded and seen.columns["configuration"][at] < 0.5:
        wrong.append("flap still up")
    if "ias_kt" in seen.recorded and slow is not None:
        over = float(seen.columns["ias_kt"][at] - slow)
        if over > row.limit["limit_kt"]:
            wrong.append(f"{over:.0f} kt fast")
    findings = _landing_flap(view, row)
    if wrong:
        what = f"half a mile past the final fix: {' and '.join(wrong)}."
        findings.insert(0, view.finding(row, (at, at, _LOOK_S), 0.0, "", what, error=32))
    return view.judged(row, findings)


def _landing_flap(view: View, row: Row) -> list[Finding]:
    """Landed with the last step of flap not set 500 ft above the field."""
    seen = view.seen
    if not landed(view) or view.aircraft is None or "configuration" not in seen.recorded:
        return []
    last = len(view.aircraft.configurations) - 1
    low = view.mask("final", "landing") & (seen.alt_ft < view.procedure.airport.elevation_ft + _FLAP_BY_FT)
    short = low & (np.round(seen.columns["configuration"]) < last) & (seen.gs_kt > 0.6 * view.aircraft.threshold_kt)
    name = view.aircraft.configurations[last].name
    findings = []
    for run in view.runs(short, _SUSTAINED_S)[:1]:
        what = f"{name} not set below 500 ft above the field, for {run[2]:.0f} s."
        findings.append(replace(view.finding(row, run, run[2], "s", what, error=32), failed=True))
    return findings


def gear(view: View, row: Row) -> Judgement:
    """The gear is down soon after the final fix, and before the low part of the final at the latest."""
    step, seen = gear_step(view.aircraft), view.seen
    if view.aircraft is None or "configuration" not in seen.recorded:
        return not_judged(row, "Aircraft or configuration is not known.")
    if step is None:
        return not_judged(row, f"The gear of the {view.aircraft.name} is always down.")
    final = view.mask("final", "landing")
    if view.climb_at is not None:
        final[view.climb_at :] = False
    up = final & (np.round(seen.columns["configuration"]) < step)
    if "gear_down" in seen.columns:
        up = final & (seen.columns["gear_down"] < 0.5)
    late_nm = view.along_of(view.procedure.final_fix) + row.limit["limit_nm"]
    low_ft = view.procedure.airport.elevation_ft + _GEAR_BY_FT
    if not (final & (view.final_along_nm > late_nm)).any():
        return not_judged(row, "The final fix was not passed.")
    findings = []
    for run in view.runs(up & ((view.final_along_nm > late_nm) | (seen.alt_ft < low_ft)), _SUSTAINED_S)[:1]:
        low = bool((up & (seen.alt_ft < low_ft))[run[0] : run[1] + 1].sum() * seen.step_s > _SUSTAINED_S)
        what = f"gear up {'below 1,000 ft above the field' if low else 'past the final fix'} for {run[2]:.0f} s."
        findings.append(view.finding(row, run, run[2], "s", what, error=55, critical=low))
    return view.judged(row, findings)


def gate(view: View, row: Row) -> Judgement:
    """On line, on speed, configured and sinking gently 1,000 ft above the field."""
    seen, field = view.seen, view.procedure.airport.elevation_ft
    low = np.flatnonzero(on_final(view) & (seen.alt_ft < field + 1000.0))
    if not len(low):
        return not_judged(row, "The final was not flown down to 1,000 ft above the field.")
    at = int(low[0])
    end = int(np.searchsorted(seen.time_s, seen.time_s[at] + _LOOK_S))
    part = slice(at, max(end, at + 1))
    wrong = []
    off = _median(np.abs(np.where(view.near, np.nan, view.off_deg(view.procedure.final_course_deg))[part]))
    if off > row.limit["limit_deg"]:
        wrong.append(f"{off:.0f} degrees off the line")
    if float(np.median(seen.vs_fpm[part])) + seen.vs_grain_fpm < -row.limit["limit_fpm"] - 50.0:
        wrong.append(f"sinking at {-np.median(seen.vs_fpm[part]):.0f} fpm")
    if view.airspeed is not None and view.aircraft is not None:
        ias, unsure_kt = view.airspeed
        over, unsure = _median(ias[part]) - view.aircraft.threshold_kt, float(np.max(unsure_kt[part]))
        if over > row.limit["limit_kt"] + 2.0 + 2.0 * unsure:
            wrong.append(f"{over:.0f} kt above threshold speed")
        if over < -row.limit["below_kt"] - 2.0 * unsure:
            wrong.append(f"{-over:.0f} kt below threshold speed")
    if "configuration" in seen.recorded and _median(seen.columns["configuration"][part]) < 0.5:
        wrong.append("flap still up")
    if not wrong:
        height = f"{max(1000.0, float(seen.alt_ft[at] - field)):,.0f}"
        return view.judged(row, [], height=height, known=_known_at_gate(view, part, row))
    what = f"1,000 ft above the field and not settled: {', '.join(wrong)}."
    finding = view.finding(row, (at, end, _LOOK_S), 0.0, "", what, error=73, critical=landed(view))
    return view.judged(row, [finding])


def _known_at_gate(view: View, part: slice, row: Row) -> str:
    """What of being settled the recording shows, in words; what it does not show is named, and not praised."""
    shown = {
        "line": True,
        "rate of descent": True,
        "speed": view.airspeed is not None
        and view.aircraft is not None
        and float(np.max(view.airspeed[1][part])) <= row.limit["limit_kt"] / 2,
        "configuration": "configuration" in view.seen.recorded,
    }
    hidden = [name for name, known in shown.items() if not known]
    said = ", ".join(name for name, known in shown.items() if known)
    return f"{said} (not known: {', '.join(hidden)})" if hidden else said


def _median(values: Floats) -> float:
    """Median of what was recorded; nan, quietly, where nothing was."""
    known = values[~np.isnan(values)]
    return float(np.median(known)) if len(known) else float("nan")


def _sinks_fpm(view: View) -> Floats:
    """How fast it sinks at least, over some seconds or between samples: what is unsure taken off. [fpm]"""
    seen = view.seen
    rate = np.asarray(-seen.vs_fpm - seen.vs_grain_fpm)
    if view.between_fpm is None:
        return rate
    return np.maximum(rate, -view.between_fpm - 60.0 * _BOTH * seen.alt_grain_ft / seen.step_s)


def _swinging(view: View, row: Row) -> Finding | None:
    """The rate of descent swung from level to beyond its limit and back, again and again; None if it did not.

    Steps down to a floor are as steep once or twice, and level between them for longer.
    """
    seen = view.seen
    final = view.mask("final", "landing")
    if view.climb_at is not None:
        final[view.climb_at :] = False
    sinks = _sinks_fpm(view)
    eased = seen.vs_fpm if view.between_fpm is None else np.maximum(seen.vs_fpm, view.between_fpm)
    dives = view.runs(final & (sinks > row.limit["limit_fpm"]), _SUSTAINED_S)
    swings: list[Run] = []
    for dive in dives:
        between = slice(swings[-1][1] + 1, dive[0]) if swings else slice(0, 0)
        if swings and seen.time_s[dive[0]] - seen.time_s[swings[-1][1]] > _SWING_S:
            swings = []
        elif swings and not (eased[between] > -_EASED * row.limit["limit_fpm"]).any():
            swings[-1] = (swings[-1][0], dive[1], swings[-1][2] + dive[2])
            continue
        swings.append(dive)
        if len(swings) >= _SWINGS:
            break
    if len(swings) < _SWINGS:
        return None
    first = swings[0][0]
    last = next(run[1] for run in reversed(dives))
    run = (first, last, float(seen.time_s[last] - seen.time_s[first]))
    worst = float(np.maximum(sinks, -seen.vs_fpm)[first : last + 1].max())
    what = f"the rate of descent swung between level and {worst:.0f} fpm {len(dives)} times on the final."
    low = bool((seen.alt_ft[last] < view.procedure.airport.elevation_ft + 1000.0) and landed(view))
    cause = "no steady rate of descent: pitch and power chased"
    return replace(view.finding(row, run, worst, "fpm", what, error=73, cause=cause, critical=low), failed=True)


def sink(view: View, row: Row) -> Judgement:
    """Rate of descent low down; sustained and followed by a landing it is critical."""
    seen, field = view.seen, view.procedure.airport.elevation_ft
    low = view.mask("final", "landing") & (seen.alt_ft < field + 1000.0)
    if view.climb_at is not None:
        low[view.climb_at :] = False
    if not low.any():
        return not_judged(row, "Nothing was flown below 1,000 ft above the field.")
    if (swung := _swinging(view, row)) is not None:
        return view.judged(row, [swung])
    rate = _sinks_fpm(view)
    findings = []
    steep = view.mask("final", "landing") & (rate > row.limit["limit_fpm"] + 25.0)
    whole, sustained = view.runs(steep, view.rubric.prompt_s), view.runs(steep, _SUSTAINED_S)
    for run in view.runs(low & steep, _SUSTAINED_S / 2):
        if not any(first <= run[0] <= last for first, last, _ in sustained):
            continue
        worst = float(np.maximum(rate, -seen.vs_fpm)[run[0] : run[1] + 1].max())
        # After it dives who was down at the minimums; who still comes from above them catches up.
        down = float(seen.alt_ft[run[0]]) < view.mda_ft + _FROM_MDA_FT + view.tell_ft
        error = 43 if down and past_visual_point(view, run[0]) else 35
        what = f"{worst:.0f} fpm below 1,000 ft above the field, for {run[2]:.0f} s."
        critical = (landed(view) and run[2] >= _SUSTAINED_S) or run[2] >= row.limit["limit_s"]
        found = view.finding(row, run, worst, "fpm", what, error=error, critical=critical)
        # The end of a dive that was begun higher up, and not put right in time.
        findings.append(replace(found, failed=any(first <= run[0] <= last for first, last, _ in whole)))
    most = float(np.max(np.where(low, -seen.vs_fpm, 0.0)))
    return view.judged(row, findings, worst=f"{most:.0f}")
