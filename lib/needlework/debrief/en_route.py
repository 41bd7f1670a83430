"""Judges of everything before the final: stations, selectors, floors, legs, passage, arc."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from needlework.basis.quantity import Floats
from needlework.debrief.findings import Finding, Judgement, Mask, View, apart, not_judged, worst_by_part
from needlework.debrief.rubric import Row
from needlework.debrief.segments import Piece, Span, along_across
from needlework.trade import vor
from needlework.trade.arc import lead_radial_deg

_GRACE_NM = 0.1  # the last digit of a DME: "at the fix" is no finer than this
_GRACE_DEG = 1.0  # what a radial is good for
_CORNER_NM = 1.3  # around a fix where the procedure turns, either floor will do
_TRACK_NOISE_DEG = 4.0  # how far a track from positions swings by their noise alone
_THROUGH_DEG = 1.8  # a needle this far past the centre has gone through
_SETTLED_S = 75.0  # of straight flight on a leg: established by then, or never
_SETTLE_S = 3.0  # a needle outside for less than this is a flicker
_DRIFT_DEG = 3.0  # less wind correction than this is no cause of anything
_ENOUGH, _LEE_SHARE = 0.55, -0.2  # shares of the wind correction: less is none of it, less still the wrong side
_CENTRED_DEG = 1.5  # a needle this far off weighs a quarter of a centred one
_ALIKE_S = 30.0
_LEE = "correction downwind: with the needle centred, the nose was on the lee side"
_NO_DRIFT = "no drift correction, or all of it taken out at the centre"


def identified(view: View, row: Row) -> Judgement:
    """The station is heard before it is used."""
    if "identified" not in view.seen.recorded:
        return not_judged(row, "The recording does not say whether a station was heard.")
    heard = ~(view.seen.columns["identified"] < 1)  # where nothing was recorded, nothing is held against anybody
    used = ~view.mask("before")
    silent = view.runs(used & ~heard)
    findings = [
        view.finding(
            row, run, run[2], "s", f"the station was used for {run[2]:.0f} s without being identified.", error=1
        )
        for run in silent[:1]
    ]
    return view.judged(row, findings)


def course_set(view: View, row: Row) -> Judgement:
    """One of the selectors holds the course that is flown."""
    limit = row.limit["limit_deg"]
    findings: list[Finding] = []
    judged = False
    for span in view.spans():
        course = span.piece.course_deg
        if span.piece.kind not in ("radial", "out") or course is None:
            continue
        right = view.set_course(course, limit)
        if right is None:
            return not_judged(row, "The recording does not hold the course selectors.")
        usable = (
            _inside(view, span) & ~view.turning & ~view.near & (span.first + _samples(view, 25) <= _numbers(view))
        )
        judged |= bool(usable.any())
        for run in view.runs(usable & ~right, 15.0):
            shown = float(
                view.seen.columns["course_1_deg" if "course_1_deg" in view.seen.recorded else "course_2_deg"][run[0]]
            )
            reverse = abs(float(apart(shown, course + 180.0))) <= limit
            error = 49 if span.piece.segment == "missed" else 9
            cause = "" if reverse or error == 49 else "a wrong course set"
            what = f"{course:03.0f} was flown with {shown:03.0f} on the selector for {run[2]:.0f} s."
            findings.append(
                view.finding(row, run, abs(float(apart(shown, course))), "deg", what, cause=cause, error=error)
            )
            break
    if not judged:
        return not_judged(row, "No leg was flown long enough to tell.")
    return view.judged(row, findings)


def floors_ft(view: View) -> Floats:
    """Lowest altitude allowed at every sample before the minimums; nan where the procedure gives none."""
    floor = np.full(len(view.seen), np.nan)
    pieces = view.split.pieces
    for span in view.spans():
        leg = span.piece.leg
        if leg is None or leg.minimum_ft is None:
            continue
        floor[span.slice] = leg.minimum_ft
        number = pieces.index(span.piece)
        following = pieces[number + 1] if number + 1 < len(pieces) else None
        if following is None or following.leg is None:
            continue
        lower = following.leg.minimum_ft
        lower = view.mda_ft if lower is None else lower
        if lower < leg.minimum_ft:
            at_fix = _within_grace(view, span, following)
            floor[at_fix] = np.minimum(floor[at_fix], lower)
    return floor


def _within_grace(view: View, span: Span, following: Piece) -> Mask:
    """Samples of a span so near its end that the next floor may be taken already."""
    seen, here = view.seen, _inside(view, span)
    leg = span.piece.leg
    assert leg is not None
    if leg.end is None:
        return np.zeros(len(seen), dtype=bool)
    fix = view.procedure.fix(leg.end)
    angle = np.deg2rad(fix.radial_deg + view.procedure.station.declination_deg)
    away = np.hypot(seen.east_nm - fix.dist_nm * np.sin(angle), seen.north_nm - fix.dist_nm * np.cos(angle))
    if span.piece.kind != following.kind:  # a turn: the fix is cut or overshot by the radius of it
        return np.asarray(here & (away < _CORNER_NM))
    if span.piece.kind == "arc":
        return np.asarray(here & (np.abs(apart(seen.radial_deg, fix.radial_deg)) <= _GRACE_DEG))
    return np.asarray(here & (away < _GRACE_NM))


def floor(view: View, row: Row) -> Judgement:
    """Nothing below the minimum of the segment."""
    floors = floors_ft(view)
    known = ~np.isnan(floors)
    if not known.any():
        return not_judged(row, "No segment with a floor was flown.")
    seen, grain = view.seen, view.seen.alt_grain_ft
    short = np.where(known, floors - seen.alt_ft, -1e9)
    findings = []
    for run in view.runs(short - grain > row.limit["limit_ft"] + 0.5):
        part = slice(run[0], run[1] + 1)
        worst = run[0] + int(np.argmax(short[part]))
        final = view.split.pieces[int(view.split.at[worst])].segment in ("final", "intermediate")
        limit_ft = f"{floors[worst]:,.0f} ft"
        what = (
            f"{short[worst]:.0f} ft below the floor of {limit_ft} for {run[2]:.0f} s. "
            "There the ground is not promised to be clear."
        )
        findings.append(view.finding(row, run, float(short[worst]), "ft", what, error=33 if final else 28))
    if not findings:
        findings += view.unclear(row, (short + grain > 0.5) & (grain > 0), short, "the floor")
    margin = float(np.min(np.where(known, seen.alt_ft - floors, np.inf)))
    return view.judged(row, worst_by_part(findings), margin=f"{max(margin, 0.0):.0f}")


def level(view: View, row: Row) -> Judgement:
    """What is level stays level."""
    seen = view.seen
    if seen.alt_step_ft >= 50:
        return not_judged(row, f"Altitudes come in steps of {seen.alt_step_ft:.0f} ft, too coarse for this.")
    steady = view.mask("initial", "intermediate") & (np.abs(seen.vs_fpm) < 250.0)
    runs = view.runs(steady, 40.0)
    if not runs:
        return not_judged(row, "Nothing was flown level before the final.")
    findings, worst_ft = [], 0.0
    for run in runs:
        part = slice(run[0], run[1] + 1)
        off = np.abs(seen.alt_ft[part] - np.median(seen.alt_ft[part]))
        worst_ft = max(worst_ft, float(off.max()))
        long_off = np.zeros(len(seen), dtype=bool)
        long_off[part] = off > row.limit["limit_ft"] + seen.alt_grain_ft
        for wander in view.runs(long_off, 5.0):
            size = float(np.abs(seen.alt_ft[wander[0] : wander[1] + 1] - np.median(seen.alt_ft[part])).max())
            what = f"{size:.0f} ft off the altitude that was being held, for {wander[2]:.0f} s."
            findings.append(view.finding(row, wander, size, "ft", what, cause="attention elsewhere, or out of trim"))
    return view.judged(row, worst_by_part(findings), worst=f"{worst_ft:.0f}")


def speed_before_final(view: View, row: Row) -> Judgement:
    """Airspeed by the aircraft's own numbers, from the first leg to the final fix."""
    if "ias_kt" not in view.seen.recorded:
        return not_judged(row, "The recording holds no airspeed.")
    if view.aircraft is None:
        return not_judged(row, "No aircraft was named, so no speed to keep is known.")
    craft = view.aircraft
    planned = {"initial": (craft.arc_kt, craft.cruise_kt), "intermediate": (craft.to_final_fix_kt, craft.arc_kt)}
    if not any(True for _ in view.spans(kind="arc")):
        planned["intermediate"] = (craft.to_final_fix_kt, craft.cruise_kt)
    low = np.full(len(view.seen), np.nan)
    high = np.full(len(view.seen), np.nan)
    for segment, (slow, fast) in planned.items():
        chosen = view.mask(segment)
        low[chosen], high[chosen] = slow, fast
    return speeds(view, row, low, high)


def speeds(view: View, row: Row, low_kt: Floats, high_kt: Floats) -> Judgement:
    """Airspeed against the band a phase allows, each side widened by the tolerance."""
    limit, ias = row.limit["limit_kt"], view.seen.columns["ias_kt"]
    known = ~np.isnan(low_kt) & ~np.isnan(ias)
    if not known.any():
        return not_judged(row, "That part was not flown.")
    over = np.where(known, np.maximum(ias - high_kt, low_kt - ias), 0.0)
    findings = []
    for run in view.runs(over > limit + 0.5, 10.0):
        part = slice(run[0], run[1] + 1)
        worst = run[0] + int(np.argmax(over[part]))
        fast = ias[worst] > high_kt[worst]
        aim = high_kt[worst] if fast else low_kt[worst]
        what = f"{ias[worst]:.0f} kt where {aim:.0f} was wanted, for {run[2]:.0f} s."
        error = 32 if fast else None
        cause = "" if fast else "power not matched to the configuration"
        findings.append(view.finding(row, run, float(over[worst]), "kt", what, cause=cause, error=error))
    return view.judged(row, worst_by_part(findings), worst=f"{max(float(over.max()), 0.0):.0f}")


def needle_before_final(view: View, row: Row) -> Judgement:
    """Needle on the radial legs before the final."""
    return needle(view, row, list(view.spans("initial", "intermediate", kind="radial")))


def needle(
    view: View, row: Row, spans: list[Span], until: int | None = None, settled_s: float = _SETTLED_S
) -> Judgement:
    """Needle of some legs: from established on within the tolerance, away from the station, not in turns.

    Not to be established after ``settled_s`` of straight flight is a fault of its own. [s]
    """
    limit, seen = row.limit["limit_deg"], view.seen
    findings: list[Finding] = []
    worst_deg, miles, judged_any = 0.0, 0.0, False
    for span in spans:
        off = view.off_deg(float(span.piece.course_deg or 0.0))
        judged = view.established(span, off)
        if until is not None:
            judged[until:] = False
        usable = _inside(view, span) & ~view.near & ~view.turning
        if until is not None:
            usable[until:] = False
        judged_any |= bool(judged.any())
        if judged.any():
            worst_deg = max(worst_deg, float(np.abs(off[judged]).max()))
            miles += float(seen.gs_kt[judged].mean() * judged.sum() * seen.step_s / 3600.0)
        never = not judged.any() and usable.sum() * seen.step_s > settled_s
        outside = judged & (np.abs(off) > limit)
        if never:
            outside, judged_any = usable, True
        for run in view.runs(outside, max(_SETTLE_S, 0.0)):
            part = slice(run[0], run[1] + 1)
            at = run[0] + int(np.argmax(np.abs(off[part])))
            side = "right" if off[at] < 0 else "left"
            size = f"{abs(off[at]):.0f} degrees" if abs(off[at]) < 10 else "full scale or more"
            what = f"{side} of the line by {size} for {run[2]:.0f} s."
            if never:
                what = f"never within half scale of {span.piece.course_deg:03.0f}; {what}"
            error, cause = why_off(view, span, run, off)
            findings.append(view.finding(row, run, abs(float(off[at])), "deg", what, cause=cause, error=error))
    if not judged_any:
        return not_judged(row, "No such leg was flown far enough from the station to tell.")
    return view.judged(row, worst_by_part(findings), worst=f"{worst_deg:.0f}", miles=f"{miles:.0f}")


def why_off(view: View, span: Span, run: tuple[int, int, float], off: Floats) -> tuple[int | None, str]:
    """Likely cause of a needle that left: number of the common error, and a few words more."""
    seen, course = view.seen, float(span.piece.course_deg or 0.0)
    right = view.set_course(course, 3.0)
    before = max(span.first, run[0] - _samples(view, 30))
    part = slice(before, run[1] + 1)
    if right is not None and not right[part].any():
        return 9, "another course stood on the selector"
    share, unsure, asked = wind_share(view)
    if share is not None and asked >= _DRIFT_DEG and share + unsure < _ENOUGH:
        return (8, _LEE) if share < _LEE_SHARE else (10, _NO_DRIFT)
    if share is not None and unsure > _ENOUGH:  # the flight as a whole cannot tell: look at this leg alone
        straight = ~view.turning[part]
        nose = float(np.median(apart(seen.heading_deg[part][straight], course))) if straight.any() else 0.0
        drift = (
            float(np.median(apart(seen.track_deg[part][straight], seen.heading_deg[part][straight]))) if nose else 0.0
        )
        if abs(drift) >= _DRIFT_DEG and nose * drift > 0 and abs(nose) >= 2.0:
            return 8, _LEE
        if abs(drift) >= _DRIFT_DEG and abs(nose) < _ENOUGH * abs(drift):
            return 10, _NO_DRIFT
    if abs(_trend(seen.time_s[part], off[part])) < 0.02 and run[2] >= 20.0:
        return 9, "the needle stood still off the centre: another radial was flown, as with a wrong course set"
    across = along_across(seen, view.procedure, course)[1]
    if _trend(seen.time_s[part], across[part]) * across[run[0]] > 0:
        if share is None:
            return 10, "too little drift correction, or to the wrong side (the recording cannot tell which)"
        return 10, "the correction did not follow the wind"
    return None, "corrected too late or too little"


def wind(view: View, row: Row) -> Judgement:
    """How much of the wind correction was flown, on all radial legs together."""
    if "heading_deg" not in view.seen.recorded:
        return not_judged(row, "The recording holds no heading.")
    share, unsure, asked = wind_share(view)
    wanted = row.limit["share_percent"] / 100.0
    if share is None or asked < row.limit["asked_deg"] or abs(share - wanted) <= unsure:
        return not_judged(row, "There was too little wind across, or too little straight flight, to tell.")
    percent = f"{min(max(share, 0.0), 1.0):.0%}"
    if share >= wanted:
        return view.judged(row, [], share=percent, asked=f"{asked:.0f}")
    span, need = _where_most(view)
    run = (span.first, span.last, float(view.seen.time_s[span.last] - view.seen.time_s[span.first]))
    lee = share < _LEE_SHARE
    flown = "it was laid off on the wrong side" if lee else f"{percent} of it was flown"
    what = f"the wind asked for {need:.0f} degrees; {flown}."
    error = 8 if lee else 10
    return view.judged(
        row, [view.finding(row, run, need, "deg", what, cause=_LEE if lee else _NO_DRIFT, error=error)]
    )


def _lines(view: View) -> list[Span]:
    """Spans flown along a radial."""
    return [span for span in view.spans("initial", "intermediate", "final") if span.piece.kind in ("radial", "timed")]


def _where_most(view: View) -> tuple[Span, float]:
    """Radial leg on which the wind asked for most, and how much."""
    legs = []
    for span in _lines(view):
        usable = _inside(view, span) & ~view.turning & ~view.near
        if usable.sum() * view.seen.step_s > 20.0:
            drift = apart(view.seen.track_deg, view.seen.heading_deg)[usable]
            legs.append((abs(float(np.median(drift))), span.first, span))
    most, _, span = max(legs)
    return span, most


def wind_share(view: View) -> tuple[float | None, float, float]:
    """Part of the wind correction this pilot flew, how unsure that is, and how much the wind asked for in degrees.

    On all radial legs the nose off the course is taken as a share of the correction needed plus a gain
    times the needle, by least squares in which a centred needle weighs most: 1 is all of it, 0 none,
    -1 the wrong side. None without a recorded heading, or with too little wind or flight to tell.
    """
    seen = view.seen
    if "heading_deg" not in seen.recorded:
        return None, 0.0, 0.0
    noses, needs, needles = [], [], []
    for span in _lines(view):
        course = float(span.piece.course_deg or 0.0)
        off = np.asarray(vor.offset_deg(radial_deg=seen.radial_deg, selected_course_deg=course))
        usable = _inside(view, span) & ~view.turning & ~view.near & (np.abs(off) < 9.5)
        usable &= np.abs(apart(seen.track_deg, course)) < 45.0
        if view.climb_at is not None:
            usable[view.climb_at :] = False
        nose = apart(seen.heading_deg, course)[usable]
        noses.append(nose)
        needs.append(-apart(seen.track_deg, seen.heading_deg)[usable] * np.cos(np.deg2rad(nose)))
        needles.append(off[usable])
    nose, need, needle_deg = (np.concatenate(parts) if parts else np.empty(0) for parts in (noses, needs, needles))
    if len(nose) * seen.step_s < 60.0:
        return None, 0.0, 0.0
    asked = float(np.sqrt(np.mean(need**2)))
    weight = 1.0 / (1.0 + (needle_deg / _CENTRED_DEG) ** 2) ** 2
    design = np.column_stack([need, needle_deg])
    normal = (design * weight[:, None]).T @ design
    if asked < 1.0 or np.linalg.cond(normal) > 1e8:
        return None, 0.0, asked
    found = np.linalg.solve(normal, (design * weight[:, None]).T @ nose)
    scatter = float((weight * (nose - design @ found) ** 2).sum() / weight.sum())
    # Neighbouring samples say the same thing: one new word every _ALIKE_S.
    unsure = float(np.sqrt(np.linalg.inv(normal)[0, 0] * scatter * max(1.0, _ALIKE_S / seen.step_s)))
    return float(found[0]), unsure, asked


def _trend(time_s: Floats, values: Floats) -> float:
    """Slope of a straight line through values, per second."""
    if len(time_s) < 3:
        return 0.0
    return float(np.polyfit(time_s - time_s[0], values, 1)[0])


def _inside(view: View, span: Span) -> Mask:
    inside = np.zeros(len(view.seen), dtype=bool)
    inside[span.slice] = True
    return inside


def _numbers(view: View) -> NDArray[np.intp]:
    return np.arange(len(view.seen))


def _samples(view: View, seconds: float) -> int:
    return max(1, round(seconds / view.seen.step_s))


# --- station passage ------------------------------------------------------------------------------


def _passages(view: View) -> list[tuple[int, int, int]]:
    """First sample near, passage, last sample near, of every time the station is overflown on the way in."""
    legs = view.mask("before", "initial", "intermediate", "final")
    found = []
    for first, last, _ in view.runs((view.seen.ground_nm < view.rubric.near_nm) & legs):
        nearest = first + int(np.argmin(view.seen.ground_nm[first : last + 1]))
        comes = first > 0 and view.seen.ground_nm[first - 1] > view.seen.ground_nm[first]
        if view.seen.ground_nm[nearest] < 0.6 and first < nearest and comes:
            found.append((first, nearest, last))
    return found


def _before_near(view: View, first: int) -> Mask:
    """Samples of the mile or so before the station, where the heading to keep is taken from."""
    number, seen = _numbers(view), view.seen
    recent = (number < first) & (seen.time_s > seen.time_s[first] - 45.0) & (seen.stretch == seen.stretch[first])
    return np.asarray(recent & (seen.ground_nm < view.rubric.near_nm + 0.6) & ~view.turning)


def _course_after(view: View, nearest: int) -> float | None:
    """Course of the first leg flown away from the station after a passage."""
    for span in view.spans("initial", "intermediate", "final"):
        piece = span.piece
        if span.last > nearest and piece.kind in ("radial", "timed") and piece.start_nm == 0.0:
            return piece.course_deg
    return None


def cone(view: View, row: Row) -> Judgement:
    """Hands still overhead: the heading inside the near zone against the one brought to it."""
    seen, limit = view.seen, row.limit["limit_deg"]
    source = "heading" if "heading_deg" in seen.recorded else "track"
    noise = 0.0 if source == "heading" else _TRACK_NOISE_DEG
    findings, worst_deg, judged = [], 0.0, False
    for first, nearest, last in _passages(view):
        brought = _before_near(view, first)
        if not brought.any():
            continue
        kept = _mean_direction(seen.heading_deg[brought])
        outbound = _course_after(view, nearest)
        inbound = _mean_direction(seen.track_deg[brought])
        change = 0.0 if outbound is None else float(apart(outbound, inbound))
        judged = True
        end = last if abs(change) <= 12.0 else nearest
        part = np.arange(first, end + 1)
        off = apart(seen.heading_deg[part], kept)
        # After the station a new course of a few degrees is part of the procedure, not of the chase.
        off = np.where((part >= nearest) & (abs(change) <= 12.0), off - change, off)
        swing, size = float(np.ptp(off)), float(np.abs(off).max())
        worst_deg = max(worst_deg, size)
        if max(size, swing - noise) <= limit:
            continue
        outside = _at(view, part[np.abs(off - np.median(off)) > min(limit, swing / 2) - 0.01])
        runs = view.runs(outside)
        run = (runs[0][0], runs[-1][1], sum(run[2] for run in runs))
        what = (
            f"{seen.dme_nm[run[0]]:.1f} miles from the station the {source} left what was brought in "
            f"by up to {size:.0f} degrees, and swung through {swing:.0f}. There the needle is nothing to follow."
        )
        findings.append(view.finding(row, run, max(size, swing), "deg", what, error=11))
    if not judged:
        return not_judged(row, "The station was not overflown on the way in.")
    return view.judged(row, findings, worst=f"{worst_deg:.0f}")


def outbound(view: View, row: Row) -> Judgement:
    """Outbound soon after the first steady FROM, with time for the turn itself."""
    seen, worst_s, judged, findings = view.seen, 0.0, False, []
    for first, nearest, _ in _passages(view):
        course = _course_after(view, nearest)
        brought = _before_near(view, first)
        if course is None or not brought.any():
            continue
        turn = abs(float(apart(course, _mean_direction(seen.track_deg[brought]))))
        if turn <= 12.0:
            continue
        towards = np.abs(apart(seen.track_deg, course)) <= 45.0
        done = np.flatnonzero(towards & (_numbers(view) >= nearest))
        judged = True
        taken = float(seen.time_s[done[0]] - seen.time_s[nearest]) if len(done) else np.inf
        worst_s = max(worst_s, taken)
        allowed = row.limit["limit_s"] + turn / 3.0
        if taken > allowed + seen.step_s:
            run = (nearest, min(nearest + 1, len(seen) - 1), min(taken, 600.0))
            what = f"it took {min(taken, 600.0):.0f} s to be on the way to {course:03.0f}; {allowed:.0f} s is enough."
            findings.append(view.finding(row, run, taken, "s", what, error=12))
    if not judged:
        return not_judged(row, "No passage with a new course behind it was flown.")
    return view.judged(row, findings, worst=f"{worst_s:.0f}")


def _mean_direction(direction_deg: Floats) -> float:
    angle = np.deg2rad(direction_deg)
    return float(np.mod(np.rad2deg(np.arctan2(np.sin(angle).mean(), np.cos(angle).mean())), 360.0))


# --- the arc ------------------------------------------------------------------------------------


def _arc(view: View) -> list[Span]:
    return list(view.spans(kind="arc"))


def _rolled_out(view: View) -> int | None:
    """First sample of the arc with the wings level after the turn on to it."""
    spans = _arc(view)
    if not spans:
        return None
    first, last = spans[0].first, spans[-1].last
    begun = first
    while begun < last and not view.turning[begun] and view.seen.time_s[begun] - view.seen.time_s[first] < 20.0:
        begun += 1
    if not view.turning[begun]:
        begun = first
    for at in range(begun, last + 1):
        if not view.turning[at : at + _samples(view, 4)].any():
            return at
    return None


def _turn_in(view: View) -> int | None:
    """Sample where the turn off the arc begins; None if the arc was never left inwards."""
    spans = _arc(view)
    if not spans:
        return None
    at = spans[-1].last
    if at + 1 >= len(view.seen):
        return None
    while at > spans[0].first and not view.turning[at]:
        at -= 1
    while at > spans[0].first and view.turning[at - 1]:
        at -= 1
    return at


def arc_join(view: View, row: Row) -> Judgement:
    """Distance off the arc when the turn on to it is done."""
    spans, at = _arc(view), _rolled_out(view)
    if at is None:
        return not_judged(row, "No arc was flown, or its beginning was not recorded.")
    arc_nm, seen = spans[0].piece.arc_nm, view.seen
    end = min(at + _samples(view, 45), spans[-1].last)
    off = seen.dme_nm[at : end + 1] - arc_nm
    worst = at + int(np.argmax(np.abs(off)))
    error_nm = float(seen.dme_nm[worst] - arc_nm)
    praise = {"rolled_out": f"{seen.dme_nm[at]:.1f}"}
    if abs(error_nm) <= row.limit["goal_nm"]:
        return view.judged(row, [], **praise)
    side = "outside" if error_nm > 0 else "inside"
    came = spans[0].first > 0 and seen.ground_nm[max(spans[0].first - _samples(view, 60), 0)] < arc_nm
    lead = "too little lead" if came == (error_nm > 0) else "too much lead"
    what = f"after the turn on to the arc the DME read {seen.dme_nm[worst]:.1f}: {abs(error_nm):.1f} NM {side}."
    run = (at, worst, float(seen.time_s[worst] - seen.time_s[at]) + seen.step_s)
    finding = view.finding(row, run, abs(error_nm), "NM", what, cause=lead, error=20)
    credit = 0.5 if abs(error_nm) <= row.limit["limit_nm"] else 0.0
    return Judgement(row, "missed", "DME after the turn on to the arc", credit, (finding,))


def arc(view: View, row: Row) -> Judgement:
    """Distance off the arc while it is flown."""
    spans, begun = _arc(view), _rolled_out(view)
    if begun is None:
        return not_judged(row, "No arc was flown.")
    seen, arc_nm, side = view.seen, spans[0].piece.arc_nm, spans[0].piece.side
    left = _turn_in(view)
    end = spans[-1].last if left is None else left
    off = seen.dme_nm - arc_nm
    flown = np.zeros(len(seen), dtype=bool)
    flown[begun : end + 1] = True
    if not flown.any():
        return not_judged(row, "The arc was too short to tell.")
    degrees = abs(float(apart(seen.radial_deg[end], seen.radial_deg[begun])))
    worst_nm = float(np.abs(off[flown]).max())
    findings = []
    for run in view.runs(flown & (np.abs(off) > row.limit["limit_nm"]), 5.0):
        at = run[0] + int(np.argmax(np.abs(off[run[0] : run[1] + 1])))
        where = "outside" if off[at] > 0 else "inside"
        what = f"{abs(off[at]):.1f} NM {where} the arc, beyond 1 NM for {run[2]:.0f} s."
        error, cause = _why_off_arc(view, begun, run[0], side, off)
        findings.append(view.finding(row, run, abs(float(off[at])), "NM", what, cause=cause, error=error))
    judgement = view.judged(row, worst_by_part(findings), worst=f"{worst_nm:.1f}", degrees=f"{degrees:.0f}")
    return judgement


def _why_off_arc(view: View, begun: int, left: int, side: int, off: Floats) -> tuple[int | None, str]:
    seen = view.seen
    if "course_2_deg" in seen.recorded:
        twists = apart(seen.columns["course_2_deg"][begun + 1 : left + 1], seen.columns["course_2_deg"][begun:left])
        turned = twists[np.abs(twists) > 0.5]
        degrees = side * float(apart(seen.radial_deg[left], seen.radial_deg[begun]))
        if not len(turned) and degrees > 12.0:
            return 22, "turn without twist: selector 2 was not turned"
        wrong = turned[(np.sign(turned) != side) & (np.abs(turned) < 90)]
        if len(wrong):
            return 24, "twisted back: selector 2 was turned the wrong way"
    straight = _longest_straight_deg(view, begun, left, side)
    if straight > 17.0:
        return (
            22,
            f"twist without turn, or turn without twist: one heading was kept for {straight:.0f} degrees of the arc",
        )
    if off[left] > 0:
        return (
            (25, "tangent habit, or wind from the station's side")
            if "heading_deg" not in seen.recorded
            else _nose(view, begun, left, side)
        )
    return 27, "wind forgotten as the arc turns, or the nose too far inside"


def _nose(view: View, begun: int, left: int, side: int) -> tuple[int, str]:
    seen, part = view.seen, slice(begun, left + 1)
    tangent = seen.radial_deg[part] + 90.0 * side
    inside = side * float(np.median(apart(seen.heading_deg[part], tangent)))
    drift_out = -side * float(np.median(apart(seen.track_deg[part], seen.heading_deg[part])))
    if drift_out > _DRIFT_DEG and inside < drift_out:
        return 27, f"wind forgotten as the arc turns: it pushed outwards by {drift_out:.0f} degrees"
    return 25, f"tangent habit: the nose was {inside:.0f} degrees inside the tangent on the whole"


def _longest_straight_deg(view: View, begun: int, left: int, side: int) -> float:
    """Degrees of the arc that pass by while one heading is kept (within 5 degrees)."""
    seen, longest = view.seen, 0.0
    at = begun
    for other in range(begun, left + 1):
        while abs(float(apart(seen.heading_deg[other], seen.heading_deg[at]))) > 5.0:
            at += 1
        longest = max(longest, side * float(apart(seen.radial_deg[other], seen.radial_deg[at])))
    return longest


def arc_final_course(view: View, row: Row) -> Judgement:
    """The final course stands on a selector before the arc is left."""
    spans = _arc(view)
    if not spans:
        return not_judged(row, "No arc was flown.")
    following = next((span for span in view.spans(kind="radial") if span.first > spans[-1].last), None)
    course = float((following.piece.course_deg if following else None) or view.procedure.final_course_deg)
    right = view.set_course(course, row.limit["limit_deg"])
    if right is None:
        return not_judged(row, "The recording does not hold the course selectors.")
    on_arc = np.zeros(len(view.seen), dtype=bool)
    on_arc[spans[0].first : spans[-1].last + 1] = True
    if (on_arc & right).any():
        radial = round(float(view.seen.radial_deg[np.flatnonzero(on_arc & right)[0]])) % 360 or 360
        return view.judged(row, [], radial=f"{radial:03d}")
    last = spans[-1].last
    what = f"{course:03.0f} was on neither selector when the arc was left."
    return view.judged(row, [view.finding(row, (last, last, view.seen.step_s), 1.0, "", what, error=29)])


def to_final(view: View, row: Row) -> Judgement:
    """The turn on to the final line: when it began, and how far it went through."""
    turned = [span for span in view.spans() if span.piece.kind in ("arc", "procedure turn")]
    following = [span for span in view.spans("intermediate", "final", kind="radial")]
    following = [span for span in following if turned and span.first > turned[-1].last]
    if not turned or not following:
        return not_judged(row, "No turn on to the final line was flown.")
    seen, line = view.seen, following[0]
    course = float(line.piece.course_deg or 0.0)
    off = np.asarray(vor.offset_deg(radial_deg=view.seen.radial_deg, selected_course_deg=course))
    boundary = line.first
    back = max(turned[-1].first, boundary - _samples(view, 60))
    came_from = _came_from(turned[-1], course)
    until = np.flatnonzero((_numbers(view) >= back) & (seen.time_s <= seen.time_s[boundary] + 120.0) & ~view.near)
    if not len(until):
        return not_judged(row, "The turn on to the final line lies too near the station to tell.")
    beyond = -came_from * off[until]
    worst = until[int(np.argmax(beyond))]
    overshoot = float(beyond.max())
    findings = []
    arc_flown = turned[-1].piece.kind == "arc"
    limit = row.limit["limit_deg"] if arc_flown else np.inf  # no lead helps where the wind carries a whole reversal
    if arc_flown:
        begun = _turn_in(view)
        late_deg = 0.0 if begun is None else _late_deg(view, begun, turned[-1], off)
        late = late_deg > row.limit["lead_deg"] and overshoot > row.limit["lead_deg"]
        began = f"; the turn began {late_deg:.0f} degrees late" if late_deg > row.limit["lead_deg"] else ""
    else:
        late = _turned_past(view, turned[-1], line, came_from * off)
        began = "; the turn began when the needle had gone through" if late else ""
    run = (int(worst), int(worst), seen.step_s)
    if overshoot > limit or late:
        what = f"through the final line by {overshoot:.0f} degrees{began}."
        findings.append(view.finding(row, run, overshoot, "deg", what, error=30))
    else:
        never = ~(np.abs(off[boundary : line.last + 1]) <= view.rubric.established_deg)
        long = seen.time_s[line.last] - seen.time_s[boundary] > 120.0
        if long and never[: _samples(view, 120)].all():
            what = "two minutes after the turn still not within half scale of the final line."
            findings.append(
                view.finding(row, (boundary, boundary, 120.0), abs(float(off[boundary])), "deg", what, error=31)
            )
    judgement = view.judged(row, findings, worst=f"{max(overshoot, 0.0):.0f}")
    if findings and overshoot <= limit:
        return Judgement(row, "missed", judgement.fact, 0.5, judgement.findings)
    return judgement


def _came_from(span: Span, course_deg: float) -> float:
    """Sign of the needle before the turn on to the final line, by the procedure."""
    piece, leg = span.piece, span.piece.leg
    if piece.kind == "arc":
        before = piece.radial_deg + piece.side * (piece.span_deg - 10.0)
    else:
        away = float(apart(float(leg.heading_out_deg or 0.0), course_deg + 180.0)) if leg else 0.0
        before = course_deg + 180.0 + 10.0 * np.sign(away)
    return float(np.sign(vor.offset_deg(radial_deg=before, selected_course_deg=course_deg)))


def _turned_past(view: View, turn: Span, line: Span, off_towards: Floats) -> bool:
    """Whether the last turn of a procedure turn began only when the needle had gone through the centre."""
    leg, seen = turn.piece.leg, view.seen
    heading_in = float(leg.heading_in_deg or 0.0) if leg else 0.0
    part = np.arange(turn.first, min(line.last, line.first + _samples(view, 60)) + 1)
    inbound = np.abs(apart(seen.heading_deg[part], heading_in)) < 30.0
    straight = view.runs(_at(view, part[inbound]) & ~view.turning, 4.0)
    if not straight:
        return False
    return bool(off_towards[straight[-1][1]] < -_THROUGH_DEG)


def _at(view: View, samples: NDArray[np.intp]) -> Mask:
    chosen = np.zeros(len(view.seen), dtype=bool)
    chosen[samples] = True
    return chosen


def _late_deg(view: View, begun: int, span: Span, off: Floats) -> float:
    """How many degrees after the ideal lead the turn off the arc began, the recording's own grain taken off."""
    seen = view.seen
    arc_nm, gs_nm_s = span.piece.arc_nm, float(seen.gs_kt[begun]) / 3600.0
    ideal = float(
        lead_radial_deg(arc_nm=arc_nm, tas_kt=float(np.clip(seen.gs_kt[begun], 40.0, 250.0)), direction="inbound")
    )
    grain = float(np.rad2deg(gs_nm_s * (seen.step_s + 2.0) / arc_nm))
    return ideal - abs(float(off[begun])) - grain
