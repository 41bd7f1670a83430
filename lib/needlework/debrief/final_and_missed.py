"""Judges of the final, the minimums, the missed approach and the hold."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from needlework.basis.quantity import Floats
from needlework.debrief.en_route import needle, speeds
from needlework.debrief.findings import Finding, Judgement, Mask, View, apart, not_judged, worst_only
from needlework.debrief.rubric import Row
from needlework.debrief.segments import along_across

_REACTION_S = 4.0  # a climb shows in the altitude some seconds after the hand moves
_SETTLED_S = 40.0  # on the final the line is met established
_SOON_S = 60.0  # a recording that ends sooner after something was due says nothing about it


def _final(view: View) -> Mask:
    """Samples of the final, up to the climb of a missed approach."""
    mask = view.mask("final")
    if view.climb_at is not None:
        mask[view.climb_at :] = False
    return mask


def needle_final(view: View, row: Row) -> Judgement:
    """Needle from the final fix to the missed approach point or the climb."""
    return needle(view, row, list(view.spans("final", kind="radial")), view.climb_at, _SETTLED_S)


def full_scale(view: View, row: Row) -> Judgement:
    """A needle that stays at full scale on the final ends the approach."""
    off = view.off_deg(view.procedure.final_course_deg)
    usable = _final(view) & ~view.near & ~view.turning
    if not usable.any():
        return not_judged(row, "The final was not flown.")
    findings = []
    for run in view.runs(usable & (np.abs(off) >= row.limit["limit_deg"] - 0.1), row.limit["limit_s"]):
        what = f"needle at full scale for {run[2]:.0f} s and the descent went on. Where the line is, nobody knew."
        finding = view.finding(row, run, float(np.abs(off[run[0] : run[1] + 1]).max()), "deg", what, error=39)
        findings.append(replace(finding, cause="", next_time="full scale on final = go around"))
    return view.judged(row, worst_only(findings))


def speed_final(view: View, row: Row) -> Judgement:
    """Airspeed on the final."""
    if "ias_kt" not in view.seen.recorded:
        return not_judged(row, "The recording holds no airspeed.")
    if view.aircraft is None:
        return not_judged(row, "No aircraft was named, so no speed to keep is known.")
    past_fix = view.final_along_nm > view.along_of(view.procedure.final_fix) + 0.5
    chosen = _final(view) & past_fix & (view.final_along_nm < view.along_of("MAP"))
    slow = view.aircraft.final_kt if view.split.outcome != "landing" else view.aircraft.threshold_kt
    return speeds(view, row, np.where(chosen, slow, np.nan), np.where(chosen, view.aircraft.final_kt, np.nan))


def ready(view: View, row: Row) -> Judgement:
    """Flap (and gear) and speed soon after the final fix."""
    seen = view.seen
    if not {"ias_kt", "configuration"} & seen.recorded:
        return not_judged(row, "The recording holds neither airspeed nor configuration.")
    fix_nm = view.along_of(view.procedure.final_fix)
    past = np.flatnonzero(_final(view) & (view.final_along_nm > fix_nm + row.limit["limit_nm"]))
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
    if not wrong:
        return view.judged(row, [])
    what = f"half a mile past the final fix: {' and '.join(wrong)}."
    return view.judged(row, [view.finding(row, (at, at, 30.0), 0.0, "", what, error=32)])


def gate(view: View, row: Row) -> Judgement:
    """On line, on speed, configured and sinking gently 1,000 ft above the field."""
    seen, field = view.seen, view.procedure.airport.elevation_ft
    low = np.flatnonzero(_final(view) & (seen.alt_ft < field + 1000.0))
    if not len(low):
        return not_judged(row, "The final was not flown down to 1,000 ft above the field.")
    at = int(low[0])
    end = int(np.searchsorted(seen.time_s, seen.time_s[at] + 15.0))
    part = slice(at, max(end, at + 1))
    course = view.procedure.final_course_deg
    wrong = []
    needles = np.where(view.near, np.nan, view.off_deg(course))[part]
    if np.isfinite(needles).any() and np.nanmin(np.abs(needles)) > row.limit["limit_deg"]:
        wrong.append(f"{np.nanmin(np.abs(needles)):.0f} degrees off the line")
    if float(np.median(seen.vs_fpm[part])) + seen.vs_grain_fpm < -row.limit["limit_fpm"] - 50.0:
        wrong.append(f"sinking at {-np.median(seen.vs_fpm[part]):.0f} fpm")
    if "ias_kt" in seen.recorded and view.aircraft is not None:
        over = _median(seen.columns["ias_kt"][part]) - view.aircraft.threshold_kt
        if over > row.limit["limit_kt"] + 2.0:
            wrong.append(f"{over:.0f} kt above threshold speed")
    if "configuration" in seen.recorded and _median(seen.columns["configuration"][part]) < 0.5:
        wrong.append("flap still up")
    if not wrong:
        return view.judged(row, [], height=f"{max(1000.0, float(seen.alt_ft[at] - field)):,.0f}")
    what = f"1,000 ft above the field and not settled: {', '.join(wrong)}."
    cause, next_time = "behind the aeroplane", "not settled at the gate: go around"
    finding = view.finding(row, (at, end, 15.0), 0.0, "", what, cause=cause, error=32, next_time=next_time)
    return view.judged(row, [finding])


def _median(values: Floats) -> float:
    """Median of what was recorded; nan, quietly, where nothing was."""
    known = values[~np.isnan(values)]
    return float(np.median(known)) if len(known) else float("nan")


def sink(view: View, row: Row) -> Judgement:
    """Rate of descent low down."""
    seen, field = view.seen, view.procedure.airport.elevation_ft
    low = (view.mask("final", "landing")) & (seen.alt_ft < field + 1000.0)
    if view.climb_at is not None:
        low[view.climb_at :] = False
    if not low.any():
        return not_judged(row, "Nothing was flown below 1,000 ft above the field.")
    rate = -seen.vs_fpm - seen.vs_grain_fpm
    findings = []
    for run in view.runs(low & (rate > row.limit["limit_fpm"] + 25.0), 4.0):
        worst = float(-seen.vs_fpm[run[0] : run[1] + 1].min())
        past_vdp = _past_vdp(view, run[0])
        what = f"{worst:.0f} fpm below 1,000 ft above the field, for {run[2]:.0f} s."
        findings.append(view.finding(row, run, worst, "fpm", what, error=43 if past_vdp else 35))
    most = float(np.max(np.where(low, -seen.vs_fpm, 0.0)))
    return view.judged(row, findings, worst=f"{most:.0f}")


# --- minimums ---------------------------------------------------------------------------------------


def _has_vdp(view: View) -> bool:
    return any(fix.name == "VDP" for fix in view.procedure.fixes)


def _visual_nm(view: View) -> float:
    """Along the final course: where a descent below the MDA may begin, the DME's last digit allowed for."""
    if not _has_vdp(view):
        return view.along_of("MAP") - 0.1
    return view.along_of("threshold") - view.procedure.vdp_to_go_nm(view.mda_ft) - 0.1


def _past_vdp(view: View, at: int) -> bool:
    return _has_vdp(view) and bool(view.final_along_nm[at] > _visual_nm(view))


def at_minimums(view: View) -> Mask:
    """Samples of the last part of the final and what follows it, where the MDA is the floor."""
    mask = view.mask("final", "landing") | view.mask("missed", kind="climb")
    last = [span for span in view.spans("final")][-1:]
    for span in last:
        mask[: span.first] = False
    return mask if last else np.zeros(len(view.seen), dtype=bool)


def mda(view: View, row: Row) -> Judgement:
    """Never below the MDA, unless to land."""
    seen = view.seen
    mask = at_minimums(view)
    if not mask.any():
        return not_judged(row, "The last part of the final was not flown.")
    if view.split.outcome == "landing":  # the last way down is the landing; when it began is another row's matter
        mask[_last_leaving(view, mask) :] = False
    short = np.where(mask, view.mda_ft - seen.alt_ft, -1e9)
    if not mask.any():
        return not_judged(row, "The descent went straight on to the runway.")
    findings = []
    for run in view.runs(short - seen.alt_grain_ft > row.limit["limit_ft"] + 0.5):
        worst = float(short[run[0] : run[1] + 1].max())
        what = (
            f"{worst:.0f} ft below minimums ({view.mda_ft:,.0f} ft) for {run[2]:.0f} s. "
            "Below them nobody has checked for ground or masts."
        )
        back_up = run[1] + 1 < len(seen) and mask[min(run[1] + 1, len(seen) - 1)] and worst <= 80.0
        findings.append(view.finding(row, run, worst, "ft", what, error=40 if back_up else 42))
    if not findings:
        findings += view.unclear(row, (short + seen.alt_grain_ft > 0.5) & (seen.alt_grain_ft > 0), short, "minimums")
    margin = float(np.min(np.where(mask, seen.alt_ft - view.mda_ft, np.inf)))
    return view.judged(row, worst_only(findings), margin=f"{max(margin, 0.0):.0f}")


def _last_leaving(view: View, mask: Mask) -> int:
    """Sample where the last descent through the MDA begins."""
    above = np.flatnonzero(mask & (view.seen.alt_ft >= view.mda_ft))
    return int(above[-1]) + 1 if len(above) else int(np.flatnonzero(mask)[0])


def mda_high(view: View, row: Row) -> Judgement:
    """Once down at the MDA, stay there."""
    seen, limit = view.seen, row.limit["limit_ft"]
    final = _final(view) & (view.final_along_nm < _visual_nm(view) + 0.1)
    reached = np.flatnonzero(final & (seen.alt_ft <= view.mda_ft + limit - seen.alt_grain_ft))
    if not len(reached):
        return not_judged(row, "The MDA was not reached before the visual descent or missed approach point.")
    after = final.copy()
    after[: reached[0]] = False
    over = np.where(after, seen.alt_ft - view.mda_ft, -1e9)
    findings = []
    for run in view.runs(over - seen.alt_grain_ft > limit + 0.5, 3.0):
        worst = float(over[run[0] : run[1] + 1].max())
        what = f"climbed away to {worst:.0f} ft above minimums, for {run[2]:.0f} s."
        findings.append(view.finding(row, run, worst, "ft", what, error=41))
    return view.judged(row, worst_only(findings), worst=f"{max(float(over.max()), 0.0):.0f}")


def vdp(view: View, row: Row) -> Judgement:
    """A descent to land waits for the visual descent point."""
    if view.split.outcome != "landing":
        return not_judged(row, "No landing was made.")
    if not _has_vdp(view):
        return not_judged(row, "This procedure has no visual descent point.")
    seen = view.seen
    early = view.mask("final") & (view.final_along_nm < _visual_nm(view))
    short = np.where(early, view.mda_ft - seen.alt_ft, -1e9)
    findings = []
    for run in view.runs(short - seen.alt_grain_ft > 0.5):
        worst = float(short[run[0] : run[1] + 1].max())
        away = _visual_nm(view) + 0.1 - float(view.final_along_nm[run[0]])
        what = f"left the MDA {away:.1f} NM before the visual descent point and was {worst:.0f} ft below it there."
        findings.append(view.finding(row, run, worst, "ft", what, error=42))
    if not findings and seen.alt_grain_ft:
        findings += view.unclear(row, short + seen.alt_grain_ft > 0.5, short, "minimums")
    return view.judged(row, worst_only(findings))


def in_sight(view: View, row: Row) -> Judgement:
    """Below the MDA to land only with the runway in sight."""
    if view.split.outcome != "landing":
        return not_judged(row, "No landing was made.")
    if view.in_sight is None:
        return not_judged(row, "The recording does not say whether the runway was in sight.")
    if view.in_sight:
        return view.judged(row, [])
    below = np.flatnonzero(at_minimums(view) & (view.seen.alt_ft < view.mda_ft))
    at = int(below[0]) if len(below) else len(view.seen) - 1
    what = "went below minimums to land with no runway in sight."
    run = (at, len(view.seen) - 1, float(view.seen.time_s[-1] - view.seen.time_s[at]))
    return view.judged(row, [view.finding(row, run, view.mda_ft, "ft", what, error=42)])


# --- missed approach ----------------------------------------------------------------------------------


def _no_missed(view: View, row: Row) -> Judgement | None:
    if view.split.outcome == "landing":
        return not_judged(row, "A landing was made.")
    if view.climb_at is None and view.split.outcome == "missed":
        return not_judged(row, "The final was not flown.")
    if view.split.outcome == "incomplete" and not (_beyond_map(view) > 0.5):
        return not_judged(row, "No missed approach was flown.")
    return None


def _beyond_map(view: View) -> float:
    """How far past the missed approach point the flight went on along the final line. [NM]"""
    seen = view.seen
    across = along_across(seen, view.procedure, view.procedure.final_course_deg)[1]
    on_line = (view.mask("final") | view.mask("missed")) & (np.abs(across) < 1.0)
    on_line &= np.abs(apart(seen.track_deg, view.procedure.final_course_deg)) < 30.0
    return float(np.max(np.where(on_line, view.final_along_nm, -99.0))) - view.along_of("MAP")


def decision(view: View, row: Row) -> Judgement:
    """The climb begins at the missed approach point at the latest."""
    if (none := _no_missed(view, row)) is not None:
        return none
    seen, at = view.seen, view.climb_at
    gs_nm_s = float(np.median(seen.gs_kt[_final(view)])) / 3600.0 if _final(view).any() else 0.025
    late_by_clock = 0.0 if view.procedure.map_by_dme else 0.15 * view.procedure.final_fix_to_map_nm
    grain = gs_nm_s * (seen.step_s + (60.0 * seen.alt_grain_ft / 500.0))
    allowed = (
        max(row.limit["limit_nm"], row.limit["limit_s"] * gs_nm_s) + _REACTION_S * gs_nm_s + grain + late_by_clock
    )
    if at is None:
        past = np.flatnonzero(view.mask("final") & (view.final_along_nm > view.along_of("MAP")))
        at = int(past[0]) if len(past) else len(seen) - 1
        late = _beyond_map(view)
        what = f"{late:.1f} NM past the missed approach point and no climb."
    else:
        late = float(view.final_along_nm[at]) - view.along_of("MAP")
        what = f"the climb began {late:.1f} NM past the missed approach point."
    if late <= allowed:
        return view.judged(row, [], decided=f"{seen.dme_nm[at]:.1f}")
    run = (at, at, late / max(gs_nm_s, 1e-3))
    return view.judged(row, [view.finding(row, run, late, "NM", what, error=44)])


def _missed_turn_at(view: View) -> int | None:
    """Sample where the turn of the missed approach begins, by the track; None if there was none."""
    seen = view.seen
    course = view.procedure.missed.course_deg
    final = np.flatnonzero(_final(view) & ~view.near)
    if not len(final):
        return None
    first = int(final[0])
    off = apart(seen.track_deg, course)
    wide = np.flatnonzero((np.abs(off) > 55.0) & (np.arange(len(seen)) > max(first, view.climb_at or first) - 1))
    if not len(wide):
        return None
    at = int(wide[0])
    while at > first and abs(off[at - 1]) > 12.0:
        at -= 1
    return at


def missed_turn(view: View, row: Row) -> Judgement:
    """Climb first: no turn before the point and the altitude."""
    if (none := _no_missed(view, row)) is not None:
        return none
    at, seen, missed = _missed_turn_at(view), view.seen, view.procedure.missed
    if at is None:
        return not_judged(row, "The turn of the missed approach was not recorded.")
    point = missed.turn_after
    early = view.along_of(point) - float(view.final_along_nm[at])
    gs_nm_s = float(seen.gs_kt[at]) / 3600.0
    by_clock = 0.0 if view.procedure.map_by_dme else 0.15 * view.procedure.final_fix_to_map_nm
    grace = 0.1 + gs_nm_s * seen.step_s + by_clock
    low = missed.climb_to_ft - float(seen.alt_ft[at])
    run = (at, at, seen.step_s)
    if early > grace:
        place = "the missed approach point" if point == "MAP" else point
        what = f"turned {early:.1f} NM before {place}. Only the line straight ahead is protected there."
        return view.judged(row, [view.finding(row, run, early, "NM", what, error=45)])
    climb_ft = abs(float(seen.vs_fpm[at])) / 60.0 * (seen.step_s + 3.0)
    if low > row.limit["limit_ft"] + seen.alt_grain_ft + climb_ft:
        what = (
            f"turned at {seen.alt_ft[at]:,.0f} ft; "
            f"the procedure climbs straight ahead to {missed.climb_to_ft:,.0f} ft first."
        )
        return view.judged(row, [view.finding(row, run, low, "ft", what, error=45)])
    return view.judged(row, [])


def gradient(view: View, row: Row) -> Judgement:
    """Climb along the published gradient from the missed approach point at the MDA."""
    if (none := _no_missed(view, row)) is not None:
        return none
    seen, at, missed = view.seen, view.climb_at, view.procedure.missed
    if at is None:
        return not_judged(row, "No climb was recorded.")
    needed = missed.gradient_ft_nm
    top_ft = min(missed.altitude_ft - 150.0, missed.gradient_until_ft or np.inf)
    here = np.arange(len(seen))
    past = np.flatnonzero((here >= at) & (seen.alt_ft < top_ft))
    # Unbroken from the start of the climb on.
    past = past[: int(np.argmin(np.concatenate([np.diff(past) == 1, [False]]))) + 1] if len(past) else past
    if len(past) < 3 or seen.alt_ft[past[-1]] - seen.alt_ft[at] < 200.0 or seen.stretch[past[-1]] != seen.stretch[at]:
        return not_judged(row, "Too little of the climb was recorded.")
    step_nm = seen.gs_kt[:-1] * np.diff(seen.time_s) / 3600.0
    path_nm = np.concatenate([[0.0], np.cumsum(step_nm)])
    flown_nm = float(path_nm[past[-1]] - path_nm[at])
    climbed_ft = float(seen.alt_ft[past[-1]] - seen.alt_ft[at])
    flown = climbed_ft / max(flown_nm, 1e-3)
    unsure = 2 * seen.alt_grain_ft / max(flown_nm, 0.1)
    facts = {"flown": f"{flown:.0f}", "needed": f"{needed:.0f}"}
    if flown >= needed:
        return view.judged(row, [], **facts)
    sure = flown + unsure < needed * 0.97
    what = (
        f"{flown:.0f} ft/NM over {flown_nm:.1f} NM of climb; the procedure needs {needed:.0f}."
        if sure
        else f"about {flown:.0f} ft/NM of the {needed:.0f} needed: too close for this recording to tell."
    )
    run = (at, int(past[-1]), float(seen.time_s[past[-1]] - seen.time_s[at]))
    return view.judged(row, [view.finding(row, run, needed - flown, "ft/NM", what, error=46, sure=sure)])


def missed_track(view: View, row: Row) -> Judgement:
    """Side of the turn, heading, radial and altitude."""
    if (none := _no_missed(view, row)) is not None:
        return none
    seen, missed = view.seen, view.procedure.missed
    at = _missed_turn_at(view)
    if at is None:
        return not_judged(row, "The turn of the missed approach was not recorded.")
    findings: list[Finding] = []
    side = 1.0 if missed.turn == "right" else -1.0
    wide = slice(at, min(at + max(2, round(25 / seen.step_s)), len(seen)))
    turned = float(np.rad2deg(np.unwrap(np.deg2rad(seen.track_deg[wide])))[-1] - seen.track_deg[at])
    if abs(turned) > 25.0 and turned * side < 0:
        what = f"turned {'left' if side > 0 else 'right'}; the procedure turns {missed.turn}."
        findings.append(view.finding(row, (at, at, 25.0), abs(turned), "deg", what, error=48))
    high = seen.alt_ft - missed.altitude_ft - seen.alt_grain_ft
    after = np.arange(len(seen)) > at
    for run in view.runs(after & (high > row.limit["limit_ft"] + 0.5), 5.0)[:1]:
        worst = float(seen.alt_ft[run[0] : run[1] + 1].max() - missed.altitude_ft)
        what = (
            f"{worst:.0f} ft above the missed approach altitude of {missed.altitude_ft:,.0f} ft, for {run[2]:.0f} s."
        )
        findings.append(view.finding(row, run, worst, "ft", what, cause="attention elsewhere in the climb"))
    on = _on_radial(view, at)
    ends_soon = seen.time_s[-1] - seen.time_s[at] < 4 * _SOON_S
    if on is None and not ends_soon and not findings:
        left = view.set_course(missed.intercept_radial_deg or 0.0, 3.0)
        error = 49 if left is not None and not left[at:].any() and not missed.direct else None
        run = (at, len(seen) - 1, float(seen.time_s[-1] - seen.time_s[at]))
        goal = (
            f"radial {missed.intercept_radial_deg:03.0f}" if missed.intercept_radial_deg is not None else missed.fix
        )
        what = f"{goal} was never reached in the {run[2]:.0f} s that were recorded."
        findings.append(
            view.finding(
                row,
                run,
                run[2],
                "s",
                what,
                cause="" if error else "turned from another place, or too far",
                error=error,
            )
        )
    if findings:
        return view.judged(row, findings)
    if on is None:
        return not_judged(row, "The recording ends before the missed approach was flown out.")
    return view.judged(row, [], on_radial=f"{seen.dme_nm[on]:.1f}")


def _on_radial(view: View, at: int) -> int | None:
    """First sample settled on the radial (or, going direct, near the fix) of the missed approach."""
    seen, missed = view.seen, view.procedure.missed
    after = np.arange(len(seen)) > at
    if missed.direct:
        fix = view.procedure.fix(missed.fix)
        angle = np.deg2rad(fix.radial_deg + view.procedure.station.declination_deg)
        away = np.hypot(seen.east_nm - fix.dist_nm * np.sin(angle), seen.north_nm - fix.dist_nm * np.cos(angle))
        found = np.flatnonzero(after & (away < 1.0))
        return int(found[0]) if len(found) else None
    radial = float(missed.intercept_radial_deg or 0.0)
    off = np.abs(apart(seen.radial_deg, radial))
    outward = np.abs(apart(seen.track_deg, radial)) < 45.0
    runs = view.runs(after & (off <= view.rubric.established_deg) & outward, view.rubric.established_s)
    return runs[0][0] if runs else None
