"""Judges of altitudes that are held, and of airspeeds."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np

from needlework.basis.quantity import Floats
from needlework.debrief.evidence import View
from needlework.debrief.findings import Finding, Judgement, Mask, Run, apart, not_judged, worst_by_part, worst_only
from needlework.debrief.rubric import Row
from needlework.trade.units import NM_M

SET_HIGH = "every level part lies as far above: the altimeter stood on another setting than the day's"
_LEVEL_FPM, _LEVEL_S = 250.0, 20.0
_HELD_S = 30.0  # an altitude held for so long was not flown through
_SAME_FT = 70.0  # two level parts at one altitude, with an excursion between them
_AT_IT_FT = 100.0  # above the altitude of a leg: flown at it
_OFF_S = 5.0
_PUT_RIGHT_S, _PLAIN = 15.0, 1.5  # times the limit
_READ_FT = 20.0
_NOT_PROMPT = 2.0  # times the limit: who levels off with it in mind gets nowhere near
_COARSE_FT, _MEANT_FT = 50.0, 500.0
_SWUNG = 3  # times up again: once or twice are excursions
_SPEED_S = 10.0
_MIDDLE = 0.3, 0.7  # of an arc
_WORKED_OUT_S = 40.0  # gusts and turns make a speed that is worked out rough
_KEPT_S = 60.0  # a speed worked out, kept beyond tolerance and uncertainty for so long, was flown
_BEFORE_S = 120.0
_SLOW_S = 30.0  # no gust
_BELOW_KT = 2.0  # below the threshold speed: what a needle is read to
_PERHAPS_KT, _PERHAPS_S = 3.0, 60.0
_SPEED_GRAIN_KT = 4.0  # of gusts and positions in a speed that is worked out
_BANKED_S, _FLYING_KT = 3.0, 50.0
_FEW_AT_MOST_S = 16.0  # over three points: in a turn at any rate half a circle may lie between more
_UNEVEN = 0.4  # of the limit: what turns show is less than what the positions make up
_NEARLY = 0.9  # of the limit, for as long as that
_MS_KT, _G_MS2 = NM_M / 3600.0, 9.81
_SETTLE_S = 45.0  # to come to a new speed


def level(view: View, row: Row) -> Judgement:
    """What is level stays level: an altitude that is left and taken up again was meant to be held."""
    seen, limit = view.seen, row.limit["limit_ft"]
    if seen.alt_step_ft >= _COARSE_FT:
        return not_judged(row, f"Altitudes come in steps of {seen.alt_step_ft:.0f} ft, too coarse for this.")
    chosen = view.mask("initial", "intermediate")
    # What was held on the way to the first leg is known too: an altitude may be left just as that leg begins.
    begun_s = float(seen.time_s[int(np.argmax(chosen))])
    chosen |= view.mask("before") & (seen.time_s > begun_s - _BEFORE_S) & (seen.time_s < begun_s)
    level = np.abs(seen.vs_fpm) < _LEVEL_FPM
    if view.between_fpm is not None:
        level &= np.abs(view.between_fpm) < _LEVEL_FPM
    parts = view.runs(chosen & level, _LEVEL_S)
    if not parts:
        none = not_judged(row, "Nothing was flown level before the final.")
        swung = _swung(view, row) if chosen.any() else []
        return view.judged(row, swung) if swung else none
    findings, worst_ft = [], 0.0
    for run in parts:
        off = np.abs(seen.alt_ft[run[0] : run[1] + 1] - np.median(seen.alt_ft[run[0] : run[1] + 1]))
        worst_ft = max(worst_ft, float(off.max()))
        wander = np.zeros(len(seen), dtype=bool)
        wander[run[0] : run[1] + 1] = off > limit + seen.alt_grain_ft
        findings += [_wandered(view, row, each, _middle(view, run)) for each in view.runs(wander, _OFF_S)]
    for held_ft, gap in _left_and_back(view, parts, chosen):
        off = np.abs(seen.alt_ft - held_ft)
        worst_ft = max(worst_ft, min(float(off[gap].max()), limit))
        findings += [
            _wandered(view, row, each, held_ft)
            for each in view.runs(gap & (off > limit + max(seen.alt_grain_ft, 10.0)), _OFF_S)
        ]
    findings += [_wandered(view, row, run, held_ft) for run, held_ft in _taken_higher(view, parts, limit)]
    for whole in _swung(view, row):  # said as one thing
        findings = [whole, *(one for one in findings if one.end_s < whole.start_s or one.start_s > whole.end_s)]
    return view.judged(row, worst_by_part(findings), worst=f"{worst_ft:.0f}")


def _taken_higher(view: View, parts: list[Run], limit_ft: float) -> list[tuple[Run, float]]:
    """Level parts above the one held before on the same leg, and that altitude: nothing published asks for a climb.

    Up to the altitude of the leg, or of the one before it taken up again, is another matter; so is a climb of
    hundreds of feet, which was meant.
    """
    seen, found = view.seen, []
    for before, after in pairwise(parts):
        leg = view.split.pieces[int(view.split.at[before[1]])].leg
        held_ft, over_ft = _middle(view, before), _middle(view, after) - _middle(view, before)
        if leg is None or leg.minimum_ft is None or view.split.at[before[1]] != view.split.at[after[0]]:
            continue
        grain_ft = max(seen.alt_grain_ft, 10.0)
        kept = held_ft > view.floor_today_ft(leg) - view.tell_ft and min(before[2], after[2]) >= _HELD_S
        earlier = any(
            abs(_middle(view, each) - _middle(view, after)) < _SAME_FT for each in parts if each[1] < before[0]
        )
        if kept and not earlier and limit_ft + grain_ft < over_ft < _MEANT_FT:
            found.append((after, held_ft))
    return found


def _swung(view: View, row: Row) -> list[Finding]:
    """An altitude never held: up and down by more than the tolerance from one to the next, again and again.

    A descent from leg to leg leads down and not up again; an excursion leads back once.
    """
    seen, least_ft = view.seen, row.limit["limit_ft"] + view.seen.alt_grain_ft
    part = view.numbers[view.mask("initial", "intermediate")]
    turns, side = [int(part[0])], 0
    for at in part[1:]:
        away = float(seen.alt_ft[at] - seen.alt_ft[turns[-1]])
        if side and away * side >= 0.0:
            turns[-1] = int(at)  # on in the same direction: the last turning point moves with it
        elif abs(away) > least_ft:
            side = 1 if away > 0.0 else -1
            turns.append(int(at))
    ups = [
        (a, b)
        for a, b in pairwise(turns)
        if seen.alt_ft[b] > seen.alt_ft[a] + least_ft and seen.time_s[b] - seen.time_s[a] < _BEFORE_S
    ]
    if len(ups) < _SWUNG:
        return []
    first, last = ups[0][0], ups[-1][1]
    swing_ft = float(np.median([seen.alt_ft[b] - seen.alt_ft[a] for a, b in ups]))
    run = (first, last, float(seen.time_s[last] - seen.time_s[first]))
    what = f"the altitude went up and down through {swing_ft:.0f} ft {len(ups)} times, and was not held."
    return [view.finding(row, run, swing_ft, "ft", what, error=64)]


def _middle(view: View, run: Run) -> float:
    return float(np.median(view.seen.alt_ft[run[0] : run[1] + 1]))


def _left_and_back(view: View, parts: list[Run], chosen: Mask) -> list[tuple[float, Mask]]:
    """Altitudes held before and after an excursion, and the samples between."""
    found = []
    for before, after in ((a, b) for n, a in enumerate(parts) for b in parts[n + 1 :]):
        first, then = _middle(view, before), _middle(view, after)
        between = chosen & (view.numbers > before[1]) & (view.numbers < after[0])
        if abs(first - then) >= _SAME_FT or not between.any():
            continue
        stepped = [each for each in parts if before[1] < each[0] < after[0] and _steps_down(view, before, each)]
        if not stepped:  # else it is the second altitude that was left, upwards
            found.append(((first + then) / 2, between))
    return found


def _steps_down(view: View, before: Run, after: Run) -> bool:
    """Whether two level parts were flown at the altitudes of two legs, the second one lower as published."""
    at_it = []
    for run in (before, after):  # it may begin a little before its leg, and end a little after it
        legs = [view.split.pieces[number].leg for number in set(view.split.at[run[0] : run[1] + 1].tolist())]
        above = [_middle(view, run) - view.floor_today_ft(leg) for leg in legs if leg and leg.minimum_ft]
        at_it.append(any(-view.tell_ft <= feet <= _AT_IT_FT for feet in above))
    return all(at_it) and _middle(view, before) - _middle(view, after) > _AT_IT_FT


def _wandered(view: View, row: Row, run: Run, held_ft: float) -> Finding:
    off = view.seen.alt_ft[run[0] : run[1] + 1] - held_ft
    worst = float(off[int(np.argmax(np.abs(off)))])
    side = "above" if worst > 0 else "below"
    what = f"{abs(worst):.0f} ft {side} the altitude that was being held, for {run[2]:.0f} s."
    return view.finding(row, run, abs(worst), "ft", what, error=64)


def after_missed_level(view: View, row: Row) -> Judgement:
    """The missed approach altitude is neither flown through nor left in the hold."""
    begun = view.after_missed_at
    if begun is None:
        return not_judged(row, "No missed approach was flown.")
    seen, limit, wanted = view.seen, row.limit["limit_ft"], view.missed_ft
    since = (view.numbers >= begun) & view.mask("missed", "hold")
    up = np.flatnonzero(since & (seen.alt_ft >= wanted - limit))
    if not len(up):
        return not_judged(row, "The recording ends below the missed approach altitude.")
    since &= view.numbers >= up[0]
    high = np.where(since, seen.alt_ft - wanted, -1e9)
    findings = []
    for run in view.runs(high > limit + view.tell_at_ft + 0.5, _OFF_S):
        worst = float(high[run[0] : run[1] + 1].max())
        if run[2] < _PUT_RIGHT_S and worst < _PLAIN * limit + view.tell_ft:
            continue  # a little, and put right at once
        usual = float(np.median(high[run[0] : run[1] + 1]))
        above = f"{worst:.0f}" if run[2] < _HELD_S else f"about {usual:.0f} (at most {worst:.0f})"
        what = f"{above} ft above {wanted:,.0f} ft, the missed approach altitude, for {run[2]:.0f} s."
        length = view.runs(since & (view.numbers < run[0]) & (np.abs(seen.alt_ft - wanted) < limit), _HELD_S)
        sure = bool(worst > limit + view.seen.height.above_ft + float(view.tell_at_ft[run[0] : run[1] + 1].max()))
        error, cause = (68, SET_HIGH) if view.seen.height.set_high else (64 if length else 58, "")
        found = view.finding(row, run, worst, "ft", what, error=error, cause=cause, sure=sure)
        far = sure and worst > _NOT_PROMPT * limit  # however soon it ended
        findings.append(replace(found, failed=found.failed or far))
    if not findings and (high[since] < -(limit + view.tell_at_ft[since])).any():
        return not_judged(row, "The missed approach altitude was left downwards; that is another row's matter.")
    there = since & settled_at(view, wanted, since)  # on the way up the last hundred feet are no error
    most = float(np.abs(seen.alt_ft[there] - wanted).max()) if there.any() else 0.0
    return view.judged(row, worst_by_part(findings), worst=f"{most:.0f}")


def settled_at(view: View, wanted_ft: float, since: Mask) -> Mask:
    """Samples from where a climb first came to an altitude, or was levelled off near it."""
    there = since & ((view.seen.alt_ft >= wanted_ft - _READ_FT) | (view.seen.vs_fpm < _LEVEL_FPM))
    settled = np.zeros(len(there), dtype=bool)
    if there.any():
        settled[int(np.argmax(there)) :] = True
    return settled


# --- speeds --------------------------------------------------------------------------------------------


def _no_speed(view: View, row: Row) -> Judgement | None:
    if view.airspeed is None:
        return not_judged(row, "The recording holds no airspeed, and none can be worked out.")
    if view.aircraft is None:
        return not_judged(row, "No aircraft was named, so no speed to keep is known.")
    return None


def speed_before_final(view: View, row: Row) -> Judgement:
    """Airspeed by the aircraft's own numbers, from the first leg to the final fix."""
    if (none := _no_speed(view, row)) is not None:
        return none
    craft = view.aircraft
    assert craft is not None
    arc = any(True for _ in view.spans(kind="arc"))
    planned = {
        "initial": (craft.to_final_fix_kt, craft.cruise_kt),
        "intermediate": (craft.final_kt, craft.arc_kt if arc else craft.cruise_kt),
    }
    low = np.full(len(view.seen), np.nan)
    high = np.full(len(view.seen), np.nan)
    for segment, (slow, fast) in planned.items():
        chosen = view.mask(segment)
        low[chosen], high[chosen] = slow, fast
    for first, last in _middle_of_arc(view):  # slowing down to it and to the final lies before and behind
        low[first : last + 1] = high[first : last + 1] = craft.arc_kt
    judgement = speeds(view, row, low, high)
    # Slower than over the threshold with all flap out, and none of it set: little is left above the stall.
    return replace(
        judgement,
        findings=tuple(
            replace(found, critical=_slower(view, found, craft.threshold_kt)) for found in judgement.findings
        ),
    )


def _middle_of_arc(view: View) -> list[tuple[int, int]]:
    """First and last sample of the part of an arc on which its own speed is flown."""
    spans = list(view.spans(kind="arc"))
    if not spans:
        return []
    first, last = spans[0].first, spans[-1].last
    begin, end = (first + int(share * (last - first)) for share in _MIDDLE)
    return [(begin, end)]


def _slower(view: View, found: Finding, least_kt: float) -> bool:
    """Whether the speed of a finding stayed below another one for certain, and for long."""
    if view.airspeed is None:
        return False
    ias, unsure_kt = view.airspeed
    here = (view.seen.time_s >= found.start_s) & (view.seen.time_s <= found.end_s)
    slow = here & (ias + unsure_kt < least_kt)
    return float(slow.sum()) * view.seen.step_s >= _SLOW_S


def speeds(view: View, row: Row, low_kt: Floats, high_kt: Floats) -> Judgement:
    """Airspeed against the band a phase allows, each side widened by the tolerance."""
    assert view.airspeed is not None
    ias, unsure_kt = view.airspeed
    limit = row.limit["limit_kt"] + unsure_kt
    known = ~np.isnan(low_kt) & ~np.isnan(ias)
    if not known.any():
        return not_judged(row, "That part was not flown.")
    over = np.where(known, np.maximum(ias - high_kt, low_kt - ias), 0.0)
    findings = []
    least_kt = view.aircraft.threshold_kt if view.aircraft else 0.0
    # Where an aim lies above the threshold speed by less than its tolerance, slower than that is slow all the same.
    slow = known & (low_kt > least_kt) & (ias < least_kt - np.maximum(unsure_kt, _BELOW_KT))
    for run in _speed_runs(view, (over > limit + 0.5) | _lasting(view, slow, _SLOW_S), ias > high_kt):
        part = slice(run[0], run[1] + 1)
        worst = run[0] + int(np.nanargmax(over[part]))
        fast = ias[worst] > high_kt[worst]
        aim = high_kt[worst] if fast else low_kt[worst]
        what = f"{ias[worst]:.0f} kt where {aim:.0f} was wanted, for {run[2]:.0f} s."
        error, cause = (32 if fast and row.segment == "final" else 67), ""
        if ias[worst] + unsure_kt[worst] < least_kt:
            what = f"{ias[worst]:.0f} kt where {aim:.0f} was wanted, below the threshold speed of {least_kt:.0f} kt, "
            what += f"for {run[2]:.0f} s."
            cause = "slower than over the threshold: little is left above the stall (power not matched to the phase)"
        # Worked out, a speed fails where it was kept for long beyond the tolerance and what the wind may be off, or
        # so far beyond it that no wind explains it.
        times = 1.0 if view.wind is not None and view.wind.layers else 2.0
        told = (
            "ias_kt" in view.seen.recorded
            or run[2] >= _KEPT_S
            or float(over[worst]) > times * row.limit["limit_kt"] + float(unsure_kt[worst]) + _SPEED_GRAIN_KT
        )
        findings.append(view.finding(row, run, float(over[worst]), "kt", what, error=error, cause=cause, beyond=told))
    findings = findings or _perhaps_off(view, row, over, np.where(ias > high_kt, high_kt, low_kt))
    if not findings and (none := _speed_not_known(view, row, over, known, unsure_kt)) is not None:
        return none
    return view.judged(row, worst_by_part(findings), worst=f"{_sustained(view, over):.0f}")


def _speed_runs(view: View, beyond: Mask, fast: Mask) -> list[Run]:
    """Stretches beyond the tolerance; where the speed was worked out, all that is too fast as one, and too slow.

    Turns and gusts lie between them, and are no end of it.
    """
    runs = view.runs(beyond, _SPEED_S)
    if "ias_kt" in view.seen.recorded:
        return runs
    found, least_s = [], _WORKED_OUT_S if view.wind is not None and view.wind.layers else _KEPT_S
    for side in (fast, ~fast):
        own = [run for run in runs if side[run[0]]]
        length = sum(run[2] for run in own)
        if length >= least_s:
            longest = max(own, key=lambda run: run[2])  # where it is told
            found.append((longest[0], own[-1][1], length))
    return sorted(found)


def _lasting(view: View, mask: Mask, least_s: float) -> Mask:
    """Samples of a mask in runs of so long."""
    lasting = np.zeros(len(mask), dtype=bool)
    for first, last, _ in view.runs(mask, least_s):
        lasting[first : last + 1] = True
    return lasting


def _speed_not_known(view: View, row: Row, over: Floats, known: Mask, unsure_kt: Floats) -> Judgement | None:
    """A speed that the recording does not show well enough to be praised; None where it does."""
    unsure, held_kt, limit = float(np.median(unsure_kt[known])), _sustained(view, over), row.limit["limit_kt"]
    if unsure > limit:
        return not_judged(row, f"The wind is not known well enough: by it the airspeed may be {unsure:.0f} kt off.")
    if held_kt > limit + 0.5:
        return not_judged(row, f"The airspeed worked out was up to {held_kt:.0f} kt off, which the wind may explain.")
    return None


def _sustained(view: View, over: Floats) -> float:
    """The most that lasted as long as is asked for a finding: a gust, or a position that jumps, is no speed. [kt]"""
    count = min(view.samples(_SPEED_S), len(over))
    held = np.lib.stride_tricks.sliding_window_view(np.maximum(over, 0.0), count).min(axis=1)
    return float(held.max())


def _perhaps_off(view: View, row: Row, over: Floats, aim_kt: Floats) -> list[Finding]:
    """What is to be said of a speed that was worked out and lies off, for long, by no more than its wind may be."""
    assert view.airspeed is not None
    runs = view.runs(over > row.limit["limit_kt"] + _PERHAPS_KT, _SPEED_S)
    length = sum(run[2] for run in runs)
    if "ias_kt" in view.seen.recorded or length < _PERHAPS_S:
        return []
    longest = max(runs, key=lambda run: run[2])
    part = slice(longest[0], longest[1] + 1)
    ias, aim = float(np.median(view.airspeed[0][part])), float(np.median(aim_kt[part]))
    what = (
        f"about {ias:.0f} kt for {length:.0f} s where {aim:.0f} was wanted, by a wind that was worked out: whether "
        "so far off, this recording cannot tell. Tell the wind."
    )
    return [view.finding(row, longest, float(over[part].max()), "kt", what, sure=False)]


def speed_after_missed(view: View, row: Row) -> Judgement:
    """Climb speed on the way up, and no more than the speed of the arc in the hold."""
    if (none := _no_speed(view, row)) is not None:
        return none
    craft = view.aircraft
    assert craft is not None
    begun = view.after_missed_at
    if begun is None:
        return not_judged(row, "No missed approach was flown.")
    seen = view.seen
    climbing = view.mask("final", "missed", "hold") & (view.numbers > begun + view.samples(_SETTLE_S))
    up = np.flatnonzero(climbing & (seen.alt_ft >= view.missed_ft - 150.0))
    climbing &= view.numbers < (up[0] if len(up) else len(seen))
    climbing &= seen.vs_fpm > _LEVEL_FPM  # level a little below the altitude is no climb any more
    low = np.where(climbing, craft.climb_kt, np.nan)
    high = low.copy()
    hold = view.split.span("hold")
    if hold is not None:
        settled = view.mask("hold") & (seen.time_s > seen.time_s[hold.first] + _SETTLE_S) & ~climbing
        low, high = np.where(settled, min(craft.final_kt, craft.climb_kt), low), np.where(settled, craft.arc_kt, high)
    judgement = speeds(view, row, low, high)
    slow = tuple(replace(found, critical=_slower(view, found, craft.threshold_kt)) for found in judgement.findings)
    return replace(judgement, findings=slow)


def limits(view: View, row: Row) -> Judgement:
    """No flap or gear above its limit."""
    seen = view.seen
    if not {"ias_kt", "configuration"} <= seen.recorded or view.aircraft is None:
        return not_judged(row, "Speed, configuration and aircraft are not all known.")
    step = seen.columns["configuration"]
    findings, least = [], np.inf
    for number, chosen in enumerate(view.aircraft.configurations):
        if chosen.max_kt is None:
            continue
        over = np.where(np.round(step) >= number, seen.columns["ias_kt"] - chosen.max_kt, -1e9)
        over = np.nan_to_num(over, nan=-1e9)
        least = min(least, float(-over.max()))
        for run in view.runs(over > row.limit["limit_kt"], 3.0):
            worst = float(over[run[0] : run[1] + 1].max())
            what = f"{chosen.name} out {worst:.0f} kt above its limit of {chosen.max_kt:.0f} kt, for {run[2]:.0f} s."
            findings.append(view.finding(row, run, worst, "kt", what, error=57))
    if least > 1e8:
        return not_judged(row, "Neither flap nor gear was used.")
    return view.judged(row, worst_only(findings))


def bank(view: View, row: Row) -> Judgement:
    """No turn far steeper than instrument flight asks for, by how the track bends.

    What bends it is the part of the lift across it: the bank that it shows was flown at least.
    """
    seen = view.seen
    few = seen.step_s > row.limit["step_s"]
    bent_ms2 = _from_point_to_point_ms2(view) if few else np.abs(seen.across_ms2)
    m_s2 = np.maximum(bent_ms2 - seen.across_grain_ms2, 0.0)
    shown = np.rad2deg(np.arctan2(m_s2, _G_MS2))
    flying = view.mask("initial", "intermediate", "final", "missed", "hold") & (seen.gs_kt > _FLYING_KT)
    findings = []
    for run in view.runs(flying & (shown > _NEARLY * row.limit["limit_deg"]), _BANKED_S):
        worst = float(shown[run[0] : run[1] + 1].max())
        if worst <= row.limit["limit_deg"]:  # what is shown was smoothed: at its peak it was more
            continue
        at = run[0] + int(np.argmax(shown[run[0] : run[1] + 1]))
        rate = float(np.rad2deg(m_s2[at] / (seen.gs_kt[at] * _MS_KT)))
        what = f"a turn at {rate:.0f} degrees a second, which takes a bank of {worst:.0f} degrees or more."
        findings.append(replace(view.finding(row, run, worst, "deg", what, error=89), failed=True))
    if few and not findings:
        return not_judged(row, "The recording has too few points of a turn to tell its bank.")
    grain_deg = float(np.rad2deg(np.arctan2(seen.across_grain_ms2, _G_MS2)))
    if not findings and grain_deg > _UNEVEN * row.limit["limit_deg"]:
        return not_judged(row, "The positions are too uneven to tell the bank of a turn.")
    most = float(shown[flying].max()) if flying.any() else 0.0
    return view.judged(row, worst_only(findings), worst=f"{most:.0f}")


def _from_point_to_point_ms2(view: View) -> Floats:
    """How far the track bends from one straight line between points to the next: no more than it did. [m/s2]"""
    seen = view.seen
    east, north, time_s = (np.asarray(each) for each in (seen.east_nm * NM_M, seen.north_nm * NM_M, seen.time_s))
    length_m, lasted_s = np.hypot(np.diff(east), np.diff(north)), np.diff(time_s)
    way_deg = np.rad2deg(np.arctan2(np.diff(east), np.diff(north)))
    turned = np.deg2rad(np.abs(apart(way_deg[1:], way_deg[:-1])))
    whole = (lasted_s[1:] + lasted_s[:-1] < _FEW_AT_MOST_S) & (seen.stretch[2:] == seen.stretch[:-2])
    rate = np.where(whole, 2.0 * turned / (lasted_s[1:] + lasted_s[:-1]), 0.0)
    speed = (length_m[1:] + length_m[:-1]) / (lasted_s[1:] + lasted_s[:-1])
    return np.concatenate([[0.0], rate * speed, [0.0]])
