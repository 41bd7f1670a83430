"""Judges of the minimums: not below them, down to them in time, and what may be done with the runway in sight."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from needlework.debrief.evidence import View
from needlework.debrief.final import landed, on_final
from needlework.debrief.findings import Finding, Judgement, Mask, Run, not_judged, worst_only
from needlework.debrief.floors import floors_ft
from needlework.debrief.levels import SET_HIGH
from needlework.debrief.pieces import off_the_runway
from needlework.debrief.rubric import Row
from needlework.debrief.visual import LAST_DIGIT_NM, broken_off, has_vdp, in_sight_at, sight_s, visual_nm
from needlework.trade.units import FT_M, NM_M

_READ_FT = 20.0  # what an altimeter is read to
_DIP_FT = 80.0  # a dip that comes back up; deeper is a decision
_SHORTEST_S = 2.0
_LEVEL_FPM, _LEVEL_S = 200.0, 15.0
_SLIDES_FPM = 60.0  # level on the whole
_ROUNDED_FPM, _ROUNDED_S = 300.0, 6.0
_LEVELLED_S = 20.0  # shorter it is the rounding of a descent into the climb
_PUT_RIGHT_S, _PLAIN = 15.0, 1.5  # times the limit
_BY_MAP_NM = 0.4
_CLIMBING_S, _REALLY = 120.0, 0.7  # share of the climb that follows: less is a balloon
_AT_MAP_NM = 0.3  # a sink that begins there is no search for the runway
_FLAT_FT, _FLAT_S = 20.0, 20.0
_ABOVE_FIELD_FT, _SAME_FT = 200.0, 60.0  # level flight below the MDA, and no flare
_PLAINLY = 2.0  # times what the recording is unsure of: no tenth of a mile, and no height, explains it
_A_TENTH_S = 5.0  # the last digit of a DME at 70 kt: where heights are unsure, so little may be theirs
_ACT_S = 5.0  # from losing sight to climbing
_NEAR_FLOOR_FT = 150.0  # above a floor: level there until its fix
_AT_THE_FIX = "at the final fix: down"
_NOT_NEAR_FT = 300.0  # so far above them, keeping to the minimums was never asked
_FT_NM = NM_M / FT_M


def at_minimums(view: View) -> Mask:
    """Samples of the last part of the final and of what follows it, a circle to land left out: the MDA counts."""
    mask = view.mask("final", "landing") & ~view.mask(kind="circling") | view.mask("missed", kind="climb")
    last = [span for span in view.spans("final")][-1:]
    for span in last:
        mask[: span.first] = False
    return mask if last else np.zeros(len(view.seen), dtype=bool)


def mda(view: View, row: Row) -> Judgement:
    """Never below the MDA, unless to land."""
    seen = view.seen
    mask = at_minimums(view)
    if (down := off_the_runway(seen, view.procedure)) is not None:
        return view.judged(row, [_on_the_ground(view, row, *down)])
    if not mask.any():
        return not_judged(row, "The last part of the final was not flown.")
    if landed(view) and view.split.circled is None:  # when the last way down was begun is another row's matter
        left = _last_leaving(view, mask)
        seen_then = left < len(seen) and in_sight_at(view, left) is True
        mask[left if seen_then else _way_down(view, mask) :] = False
    else:
        mask &= ~_seen_below(view, mask)
    short = np.where(mask, view.mda_ft - seen.alt_ft, -1e9)
    if not mask.any():
        return not_judged(row, "The descent went straight on to the runway.")
    findings = []
    for run in view.runs(view.noticed(short), _SHORTEST_S):
        worst = float(short[run[0] : run[1] + 1].max())
        what = (
            f"{worst:.0f} ft below minimums ({view.mda_ft:,.0f} ft) for {run[2]:.0f} s. "
            "Below them nobody has checked for ground or masts."
        )
        at_point = float(view.final_along_nm[run[0]]) > view.along_of("MAP") - _AT_MAP_NM
        back_up = run[1] + 1 < len(seen) and mask[min(run[1] + 1, len(seen) - 1)] and worst <= _DIP_FT
        error, cause = (40, _held_low(view, run)) if back_up or _caught(view, run, worst) else (42, "")
        if error == 42 and _went_to_another(view, run):
            error, cause = 75, _which(view, run)
        if at_point and view.climb_at is not None:  # not to look for the runway: the way up was begun there
            error, cause = 46, "sank as the missed approach was begun: flap before power, or no power"
        published = view.procedure.mda_ft(view.category)
        if seen.height.set_wrong:
            error, cause = 68, "as all the way before it"
        elif view.mda_ft > published and worst <= view.mda_ft - published + 0.5 * view.tell_ft:
            error, cause = _why_higher(view, view.mda_ft - worst)
        elif not view.cold and _raised_before(view, worst):
            error, cause = 6, "the altitudes before were raised, as for cold, and the MDA was not"
        elif _perhaps_seen(view, run):
            what += " With the runway in sight it was right: whether it was, nobody said."
            findings.append(view.finding(row, run, worst, "ft", what, sure=False))
            continue
        critical = worst > view.tell_ft
        findings.append(
            view.finding(row, run, worst, "ft", what, error=error, cause=cause, critical=critical, beyond=critical)
        )
    if not findings:
        findings += view.unclear(row, view.perhaps_low(short), short, "minimums")
    margin = float(np.min(np.where(mask, seen.alt_ft - view.mda_ft, np.inf)))
    if not findings and margin > _NOT_NEAR_FT + view.tell_ft:
        return not_judged(row, "The flight did not come down to the minimums.")
    return view.judged(row, worst_only(findings), margin=f"{max(margin, 0.0):.0f}")


def _held_low(view: View, run: Run) -> str:
    """In other words than a dip, what was level a little below the minimums for long; empty where it was a dip."""
    level = np.abs(view.seen.vs_fpm[run[0] : run[1] + 1]) < _LEVEL_FPM
    held_s = float(level.sum()) * view.seen.step_s
    low = "held below the MDA for long: the altitude not watched, or another one in mind"
    went_there = _never_put_right(view, run) and _went_to_another(view, run)
    return low if held_s >= view.rubric.prompt_s or went_there else ""


def _never_put_right(view: View, run: Run) -> bool:
    """Whether the flight lay flat below the MDA and left it by the climb away only: a dip is followed by a way up."""
    seen = view.seen
    if view.climb_at is None or view.climb_at > run[1]:
        return False
    before = (view.numbers >= run[0]) & (view.numbers <= view.climb_at)
    flat_ft = _FLAT_FT + seen.alt_grain_ft
    ending = before & (seen.time_s > seen.time_s[view.climb_at] - _FLAT_S)
    low_ft = float(seen.alt_ft[run[0] : run[1] + 1].min())
    held_s = float(seen.time_s[view.climb_at] - seen.time_s[run[0]])
    return held_s >= _FLAT_S and bool((seen.alt_ft[ending] < low_ft + flat_ft).all())


def _went_to_another(view: View, run: Run) -> bool:
    """Whether a descent led through the MDA without a stop there, and was levelled off below it and held.

    Who looks for the runway leaves an MDA that was held; who took another number for it flies level there.
    """
    seen = view.seen
    low = (view.numbers >= run[0]) & (view.numbers <= run[1]) & (np.abs(seen.vs_fpm) < _LEVEL_FPM)
    level = [each for each in view.runs(low, _LEVEL_S) if np.ptp(seen.alt_ft[each[0] : each[1] + 1]) < _SAME_FT]
    before = at_minimums(view) & (view.numbers < run[0]) & (np.abs(seen.vs_fpm) < _LEVEL_FPM)
    stopped = before & (seen.alt_ft < view.mda_ft + _SAME_FT + view.tell_ft)
    return bool(level) and not view.runs(stopped, _ROUNDED_S)


def _which(view: View, run: Run) -> str:
    """In words, what an altitude held below the MDA was taken from."""
    low = slice(run[0], run[1] + 1)
    held_ft = float(np.median(view.seen.alt_ft[low][np.abs(view.seen.vs_fpm[low]) < _LEVEL_FPM]))
    for line in view.procedure.minimums.straight_in:
        if abs(view.today_ft(line.mda_ft) - held_ft) < _READ_FT + view.tell_ft and line.mda_ft < view.mda_ft:
            return f"the MDA of category {line.category} was flown, and category {view.category} has its own"
    return (
        f"straight on down through the MDA and level at about {held_ft:,.0f} ft: another altitude taken for it, "
        "misread, or gone down to look"
    )


def _raised_before(view: View, below_ft: float) -> bool:
    """Whether the heights before lie above what is published by a share of themselves, and the MDA alone does not.

    That share was taken off everywhere, so that an MDA flown as printed lies below it by its own part.
    """
    height = view.seen.height
    above_ft = view.mda_ft - view.procedure.airport.elevation_ft
    return height.share > 0.0 and below_ft <= height.share * above_ft + view.tell_ft


def _seen_below(view: View, mask: Mask) -> Mask:
    """Samples below the MDA on a way down that was begun with the runway in sight, and of the climb from it.

    Only where somebody says that it was in sight, or from where on; when it was lost, time to act is left.
    """
    seen, (begin, end) = view.seen, sight_s(view)
    if begin is None and view.given.in_sight and broken_off(view)[0]:
        return np.asarray(mask & (view.final_along_nm > visual_nm(view) - seen.position_nm))
    if begin is None:
        return np.zeros(len(mask), dtype=bool)
    until = np.inf if end is None else end + _ACT_S + seen.step_s
    since = mask & (seen.time_s >= begin - seen.step_s)
    return np.asarray(since & ((seen.time_s < until) | (seen.vs_fpm > 0.0)))


def _perhaps_seen(view: View, run: Run) -> bool:
    """Whether a way down began where the path to the runway is met, with nobody to say what was in sight.

    A way down is broken off within seconds; what is rounded off to level below the minimums was meant as an altitude.
    """
    seen = view.seen
    if view.given.sight_said or float(view.final_along_nm[run[0]]) < visual_nm(view) - seen.position_nm:
        return False
    low = (view.numbers >= run[0]) & (view.numbers <= run[1])
    return not view.runs(low & (np.abs(seen.vs_fpm) < _ROUNDED_FPM), _ROUNDED_S)


def _on_the_ground(view: View, row: Row, at: int, place: str) -> Finding:
    """The flight ended on the ground, and not on the runway."""
    what = f"the flight ended on the ground, not on the runway: {place}. In an aircraft that is an accident."
    run = (at, len(view.seen) - 1, float(view.seen.time_s[-1] - view.seen.time_s[at]))
    cause = "went down where no runway lay ahead"
    next_time = "no runway ahead: power, pitch, climb"
    return view.finding(
        row, run, view.mda_ft - float(view.seen.alt_ft[-1]), "ft", what, cause=cause, next_time=next_time
    )


def _caught(view: View, run: Run, worst_ft: float) -> bool:
    """Whether a level-off came too low and was climbed out of again, with no search for a runway."""
    seen, end = view.seen, run[1] if view.climb_at is None else min(run[1], view.climb_at)
    part = seen.alt_ft[run[0] : end + 1]
    if worst_ft > 1.5 * _DIP_FT or not landed(view) or view.given.in_sight is False or len(part) < 2:
        return False
    lowest = int(np.argmin(part))
    return float(part[lowest:].max() - part[lowest]) >= _READ_FT


def _why_higher(view: View, flown_ft: float) -> tuple[int, str]:
    """Why a lower MDA was flown on a day that has a higher one: by what was left out, the one nearest to it."""
    given, of = view.given, view.procedure.mda_ft
    left_out: list[tuple[float, tuple[int, str]]] = []
    if view.circles:
        straight_in = view.today_ft(of(view.category, remote=given.remote, step_down=given.step_down))
        left_out.append((straight_in, (75, "the MDA for straight in was flown, and then circled")))
    if view.cold:
        left_out.append((view.published_mda_ft, (6, "the cold was not added")))
    if not given.step_down:
        with_it = view.today_ft(of(view.category, remote=given.remote, step_down=True))
        cause = "the MDA without the step-down fix applied, and the one with it was flown"
        left_out.append((with_it, (75, cause)))
    if given.remote:
        near_by = view.today_ft(of(view.category, remote=False, step_down=given.step_down))
        left_out.append((near_by, (6, "the note on the altimeter setting was missed")))
    return min(left_out, key=lambda each: abs(each[0] - flown_ft))[1]


def _last_leaving(view: View, mask: Mask) -> int:
    """Sample where the last descent through the MDA begins."""
    above = np.flatnonzero(mask & (view.seen.alt_ft >= view.mda_ft))
    return int(above[-1]) + 1 if len(above) else int(np.flatnonzero(mask)[0])


def _way_down(view: View, mask: Mask) -> int:
    """Sample from which on it is the way down to the runway: after the last level flight below the MDA."""
    seen, left = view.seen, _last_leaving(view, mask)
    low = mask & (view.numbers >= left) & (seen.alt_ft > view.procedure.airport.elevation_ft + _ABOVE_FIELD_FT)
    low &= np.abs(seen.vs_fpm) < _LEVEL_FPM
    level = [run for run in view.runs(low, _LEVEL_S) if np.ptp(seen.alt_ft[run[0] : run[1] + 1]) < _SAME_FT]
    return level[-1][1] + 1 if level else left


def mda_high(view: View, row: Row) -> Judgement:
    """Down to the MDA before the point where the runway must come, and then stay there."""
    seen, limit = view.seen, row.limit["limit_ft"]
    final = on_final(view) & at_minimums(view) & (view.final_along_nm < visual_nm(view) + LAST_DIGIT_NM)
    reached = np.flatnonzero(final & (seen.alt_ft <= view.mda_ft + limit + min(view.tell_ft, _READ_FT)))
    if not len(reached):
        return _never_down(view, row, final, limit)
    after = final if landed(view) else on_final(view) & at_minimums(view)
    after &= (view.numbers >= reached[0]) & (view.final_along_nm < view.along_of("MAP"))
    over = np.where(after, seen.alt_ft - view.mda_ft, -1e9)
    findings = _ballooned(view, row, int(reached[0]))
    for run in view.runs(over > limit + view.tell_ft + 0.5, 3.0):
        worst = float(over[run[0] : run[1] + 1].max())
        if run[2] < _PUT_RIGHT_S and worst < _PLAIN * limit + view.tell_ft:
            continue  # a little, and put right at once
        lowest_ft = float(seen.alt_ft[reached[0] : run[0] + 1].min())
        if view.mda_ft + worst - lowest_ft < _READ_FT + view.tell_ft:
            continue  # held on the way down, and not climbed to
        what = f"climbed away to {worst:.0f} ft above minimums, for {run[2]:.0f} s."
        sure = worst > limit + view.tell_ft + seen.height.above_ft
        found = view.finding(row, run, worst, "ft", what, error=41, sure=sure)
        to_map = not landed(view) and float(view.final_along_nm[run[1]]) > view.along_of("MAP") - _AT_MAP_NM
        findings.append(replace(found, failed=found.failed or (sure and to_map and run[2] >= _PUT_RIGHT_S)))
    levelled = np.flatnonzero(after & (np.abs(seen.vs_fpm) < _LEVEL_FPM))  # what comes before it is the way down
    held_ft = float(over[levelled[0] :].max()) if len(levelled) else float(over.max())
    if not findings and len(levelled) and float(np.median(over[levelled])) < -(limit / 2 + view.tell_ft):
        return not_judged(row, "The flight was level below the minimums; that is another row's matter.")
    return view.judged(row, worst_only(findings), worst=f"{max(held_ft, 0.0):.0f}")


def climb_really_begun(view: View, limit_ft: float) -> tuple[int, bool] | None:
    """Where the climb of the missed approach was really begun after a slow one, and whether that was levelled off."""
    seen, at = view.seen, view.climb_at
    if at is None:
        return None
    later = (view.numbers > at) & (seen.time_s < seen.time_s[at] + _CLIMBING_S)
    steep = np.flatnonzero(later & (seen.vs_fpm > _REALLY * float(np.percentile(seen.vs_fpm[later], 80))))
    if not len(steep):
        return None
    begun = int(steep[0])
    if seen.stretch[begun] != seen.stretch[at]:
        return None  # in the pause nobody saw how it climbed
    at_map = np.flatnonzero((view.numbers >= at) & (view.final_along_nm >= view.along_of("MAP")))
    begun = min(begun, int(at_map[0])) if len(at_map) else begun
    # Level up there it was kept, and not put right; on the way up all the time it is a climb begun early.
    high = (view.numbers >= at) & (view.numbers <= begun) & (seen.alt_ft > view.mda_ft + limit_ft)
    level = view.runs(high & (np.abs(seen.vs_fpm) < _ROUNDED_FPM + seen.vs_grain_fpm), _ROUNDED_S)
    # By the heights as well: what shows the rate may be slow.
    most_ft_s = (_ROUNDED_FPM + seen.vs_grain_fpm) / 60.0
    kept = any(seen.alt_ft[last] - seen.alt_ft[first] <= most_ft_s * length_s for first, last, length_s in level)
    return begun, kept


def _ballooned(view: View, row: Row, reached: int) -> list[Finding]:
    """Away from the MDA slowly, long before the climb of the missed approach was really begun."""
    seen, at = view.seen, view.climb_at
    away = climb_really_begun(view, row.limit["limit_ft"])
    if at is None or at <= reached or away is None:
        return []
    begun, kept = away
    length = float(seen.time_s[begun] - seen.time_s[at])
    over = float(seen.alt_ft[begun]) - view.mda_ft
    before_map = float(view.final_along_nm[at]) < view.along_of("MAP") - _BY_MAP_NM
    long_s = _PUT_RIGHT_S if kept else view.rubric.prompt_s
    if length < long_s or over <= row.limit["limit_ft"] + view.tell_ft or not before_map:
        return []
    away_nm = view.along_of("MAP") - float(view.final_along_nm[at])
    then = "and kept there to it" if kept else "on the way up all the time"
    what = f"climbed away {away_nm:.1f} NM before the missed approach point to {over:.0f} ft above the MDA, {then}."
    sure = over > row.limit["limit_ft"] + view.tell_ft + seen.height.above_ft
    found = view.finding(row, (at, begun, length), over, "ft", what, error=41, sure=sure, beyond=False)
    return [replace(found, failed=sure and kept)]


def _never_down(view: View, row: Row, final: Mask, limit: float) -> Judgement:
    """Levelled off too high and flown on like that to the missed approach point."""
    seen = view.seen
    whole = on_final(view)
    nobody = not_judged(row, "The MDA was not reached before the visual descent or missed approach point.")
    if not whole.any():
        return nobody
    last = [span for span in view.spans("final")][-1]
    on = whole & view.inside(last)
    if landed(view):  # down to where the runway lies ahead, and no farther
        on &= view.final_along_nm < visual_nm(view) - seen.position_nm
    by_map = landed(view) or float(np.where(on, view.final_along_nm, -99.0).max()) > view.along_of("MAP") - _BY_MAP_NM
    runs = view.runs(on & (np.abs(seen.vs_fpm) < _LEVEL_FPM + seen.vs_grain_fpm), _LEVELLED_S)
    # A path down so shallow is none that was levelled off.
    level = [
        run for run in runs if seen.alt_ft[run[0]] - seen.alt_ft[run[1]] < _SLIDES_FPM * run[2] / 60.0 + _SAME_FT
    ]
    if not by_map or (on & (seen.alt_ft <= view.mda_ft + limit + view.tell_ft)).any():
        return nobody
    if not level:
        return nobody if landed(view) else _too_shallow(view, row, on, limit) or nobody
    run = max(level, key=lambda each: each[2])
    over = float(np.median(seen.alt_ft[run[0] : run[1] + 1])) - view.mda_ft
    if over <= limit + view.tell_ft:
        return nobody
    if not view.given.sight_said and (what := _another_line(view, view.mda_ft + over, limit)):
        return view.judged(row, [view.finding(row, run, over, "ft", what, sure=False)])
    end = "way down" if landed(view) else "missed approach point"
    what = f"level {over:.0f} ft above minimums for {run[2]:.0f} s, and never lower before the {end}."
    sure = over > limit + view.tell_ft + seen.height.above_ft
    if seen.height.set_high:
        found = view.finding(row, run, over, "ft", what, error=68, cause=SET_HIGH)
        return view.judged(row, [replace(found, failed=True)])
    # Too high is safe, and a look at the runway less: the standard speaks of holding the MDA once it is reached.
    error, cause, said = 59, "", ""
    passed = np.flatnonzero(whole & (view.final_along_nm >= view.along_of(view.procedure.final_fix)))
    if len(passed) and float(seen.alt_ft[passed[0]]) - view.mda_ft - over < _NEAR_FLOOR_FT:
        error, cause, said = 100, "the descent from the final fix never begun", _AT_THE_FIX
    found = view.finding(
        row, run, over, "ft", what, error=error, cause=cause, next_time=said, sure=sure, beyond=False
    )
    at_map_ft = float(seen.alt_ft[np.flatnonzero(on)[-1]]) - view.mda_ft
    far = not landed(view) and at_map_ft > row.limit["far_ft"] + view.tell_ft + seen.height.above_ft
    return view.judged(row, [replace(found, failed=sure and far)])


def _another_line(view: View, level_ft: float, limit: float) -> str:
    """What is to be said of a level that is one of the minimums of another day; empty where it is none."""
    given, of, minimums = view.given, view.procedure.mda_ft, view.procedure.minimums
    lines = []
    if given.step_down and minimums.without_step_down_ft:
        without = of(view.category, remote=given.remote, step_down=False)
        said = "without the step-down fix: right if it could not be identified, and high if it could"
        lines.append((without, said))
    if not given.remote and minimums.remote_setting_add_ft:
        said = f"with the setting of {minimums.remote_setting_from}: right if that was set, and high if not"
        lines.append((of(view.category, remote=True, step_down=given.step_down), said))
    for published_ft, said in lines:
        line_ft = view.today_ft(published_ft)
        if abs(level_ft - line_ft) <= limit + view.tell_ft:
            return f"level about {line_ft:,.0f} ft, the minimums {said}. The recording cannot tell."
    return ""


def _too_shallow(view: View, row: Row, on: Mask, limit: float) -> Judgement | None:
    """On the way down all the time, and still well above the minimums at the missed approach point."""
    seen = view.seen
    past = np.flatnonzero(on & (view.final_along_nm <= view.along_of("MAP") + LAST_DIGIT_NM))
    if not len(past):
        return None
    at = int(past[np.argmin(seen.alt_ft[past])])
    over = float(seen.alt_ft[at]) - view.mda_ft
    if over <= limit + view.tell_ft:
        return None
    how, error, cause, said = _why_above(view, at)
    what = f"still {over:.0f} ft above minimums at the missed approach point, {how}."
    sure = over > limit + view.tell_ft + seen.height.above_ft
    if seen.height.set_high:
        error, cause, said = 68, SET_HIGH, ""
    run = (at, at, seen.step_s)
    found = view.finding(
        row, run, over, "ft", what, error=error, cause=cause, next_time=said, sure=sure, beyond=False
    )
    far = over > row.limit["far_ft"] + view.tell_ft + seen.height.above_ft
    return view.judged(row, [replace(found, failed=sure and far)])


def _why_above(view: View, at: int) -> tuple[str, int, str, str]:
    """Why the minimums were not reached: how it was flown, number of the error, cause and cure where it has its own.

    Each explanation makes so many feet of it: those above the altitude of the final fix as it was passed; those that
    the descent, as steep as it was flown, makes of the miles that were level past the fix; and those that a path to
    the minimums, begun at the fix, would have made more. The one that makes most is told.
    """
    seen, fix = view.seen, view.procedure.final_fix
    leg = next((leg for leg in view.procedure.legs if leg.end == fix and leg.segment != "final"), None)
    here = np.flatnonzero(on_final(view) & (view.final_along_nm >= view.along_of(fix)) & (view.numbers <= at))
    slow = "on the way down all the time", 37, "", ""
    if leg is None or leg.minimum_ft is None or len(here) < 2:
        return slow
    moved_nm = np.diff(view.final_along_nm[here])
    level = np.abs(seen.vs_fpm[here][1:]) < 2.0 * _SLIDES_FPM + seen.vs_grain_fpm
    floors = floors_ft(view)[here][1:]
    waits = level & ~(seen.alt_ft[here][1:] < floors + _NEAR_FLOOR_FT + view.tell_ft)  # on a floor it has to
    down_ft = float(seen.alt_ft[here[0]] - seen.alt_ft[at])
    level_nm = float(moved_nm[waits].sum())
    steep_ft_nm = down_ft / max(float(moved_nm[~level].sum()), 0.1)
    published_ft = view.today_ft(leg.minimum_ft if leg.at_end_ft is None else leg.at_end_ft)
    high_ft, late_ft = float(seen.alt_ft[here[0]]) - published_ft, level_nm * steep_ft_nm
    shallow_ft = float(seen.alt_ft[at]) - view.mda_ft - high_ft - late_ft
    if high_ft > max(late_ft, shallow_ft):
        how = f"from {high_ft:.0f} ft above {published_ft:,.0f} ft at {fix}"
        return how, 100, "", ""
    if late_ft > shallow_ft:
        how = f"level for {level_nm:.1f} NM past {fix} before it went on down"
        return how, 100, "the descent begun late: level on past the final fix", _AT_THE_FIX
    return slow


def vdp(view: View, row: Row) -> Judgement:
    """A descent to land waits for the visual descent point."""
    if not landed(view):
        return not_judged(row, "No landing was made.")
    if view.split.circled is not None:
        return not_judged(row, "It was circled: the visual descent point is for straight in.")
    if not has_vdp(view):
        return not_judged(row, "This procedure has no visual descent point today.")
    if not at_minimums(view).any():
        return not_judged(row, "The last part of the final was not flown.")
    seen = view.seen
    early = view.mask("final") & (view.final_along_nm < visual_nm(view) - seen.position_nm)
    # What was left and taken up again is the minimums' matter: here it is the way down to the runway.
    early[: _last_leaving(view, at_minimums(view))] = False
    short = np.where(early, view.mda_ft - seen.alt_ft, -1e9)
    first, below_ft = _below_at_ft(view, visual_nm(view) - seen.position_nm)
    early[first], short[first] = True, below_ft
    findings = []
    for run in view.runs(view.low(short)):
        worst = float(short[run[0] : run[1] + 1].max())
        brief = run[2] < _A_TENTH_S + 2.0 * seen.step_s
        if (view.tell_ft > _READ_FT or run[0] == first) and brief and worst < _PLAINLY * view.tell_ft:
            continue
        away = visual_nm(view) + LAST_DIGIT_NM - float(view.final_along_nm[_left_at(view, run[0])])
        point = "the visual descent point" if view.given.step_down else "where the path to the runway is met from it"
        worst = max(worst, _below_at_ft(view, visual_nm(view) + LAST_DIGIT_NM)[1])
        what = f"left the MDA {away:.1f} NM before {point} and was {worst:.0f} ft below it there."
        error, cause = (42 if in_sight_at(view, run[0]) is False else 53), ""
        higher_ft = view.mda_ft - view.procedure.mda_ft(view.category)
        if higher_ft > 0.0 and worst <= higher_ft + 0.5 * view.tell_ft:
            error, cause = _why_higher(view, view.mda_ft - worst)
        findings.append(view.finding(row, run, worst, "ft", what, error=error, cause=cause))
    if not findings:
        findings += view.unclear(row, view.perhaps_low(short), short, "minimums")
    return view.judged(row, worst_only(findings))


def _below_at_ft(view: View, along_nm: float) -> tuple[int, float]:
    """First sample past a place of the final, and how far below the MDA that place itself was passed. [ft]"""
    past = np.flatnonzero(view.mask("final", "landing") & (view.final_along_nm >= along_nm))
    at = int(past[0]) if len(past) else len(view.seen) - 1
    if not len(past) or view.seen.stretch[at - 1] != view.seen.stretch[at]:
        return at, -1e9
    two = [at - 1, at]
    return at, float(view.mda_ft - np.interp(along_nm, view.final_along_nm[two], view.seen.alt_ft[two]))


def _left_at(view: View, at: int) -> int:
    """Sample at which the MDA was last left, up to another one."""
    above = np.flatnonzero((view.seen.alt_ft >= view.mda_ft) & (view.numbers <= at) & at_minimums(view))
    return int(above[-1]) if len(above) else at


def path_low(view: View, row: Row) -> Judgement:
    """The way down to the runway is not far below the path: there nothing but the eye keeps clear of the ground."""
    if not landed(view):
        return not_judged(row, "No landing was made.")
    seen, procedure, circled = view.seen, view.procedure, view.split.circled
    to_go = view.along_of("threshold") - view.final_along_nm
    if circled is not None:  # once lined up, the way down is that of any landing
        to_go = np.where(view.numbers >= circled.lined_up, -circled.past_nm, np.inf)
    here = view.mask("final", "landing") & (seen.alt_ft < view.mda_ft - view.tell_ft)
    here &= (to_go > row.limit["from_nm"]) & (to_go < row.limit["until_nm"])
    if not here.any():
        return not_judged(row, "The way down to the runway was not recorded.")
    angle = procedure.descent_angle_deg - row.limit["below_deg"]
    crossing_ft = procedure.runway.crossing_height_ft * angle / procedure.descent_angle_deg
    line_ft = procedure.runway.threshold_elevation_ft + crossing_ft + to_go * _FT_NM * np.tan(np.deg2rad(angle))
    short = np.where(here, line_ft - seen.alt_ft, -1e9)
    findings = []
    for run in view.runs(view.low(short), row.limit["limit_s"])[:1]:
        at = run[0] + int(np.argmax(short[run[0] : run[1] + 1]))
        over_ft = float(seen.alt_ft[at]) - procedure.runway.threshold_elevation_ft
        what = (
            f"{over_ft:.0f} ft above the threshold with {to_go[at]:.1f} NM to go, more than "
            f"{row.limit['below_deg']:g} degrees below the path, for {run[2]:.0f} s."
        )
        findings.append(view.finding(row, run, float(short[at]), "ft", what, error=87))
    if not findings:
        findings += view.unclear(row, view.perhaps_low(short), short, "the lowest path to the runway")
    margin = float(np.min(np.where(here, -short, np.inf)))
    return view.judged(row, findings, margin=f"{max(margin, 0.0):.0f}")


def in_sight(view: View, row: Row) -> Judgement:
    """Below the MDA to land only with the runway in sight, and only as long as it stays so."""
    if not landed(view):
        return not_judged(row, "No landing was made.")
    low = at_minimums(view) | view.mask(kind="circling")
    below = np.flatnonzero(low & (view.seen.alt_ft < view.mda_ft - view.tell_ft))
    at = int(below[0]) if len(below) else len(view.seen) - 1
    known = in_sight_at(view, at)
    if known is None:
        return not_judged(row, "The recording does not say whether the runway was in sight.")
    run = (at, len(view.seen) - 1, float(view.seen.time_s[-1] - view.seen.time_s[at]))
    if not known:
        when = "" if sight_s(view)[0] is None else ": it came in sight later"
        what = f"went below minimums to land with no runway in sight{when}."
        return view.judged(row, [view.finding(row, run, view.mda_ft, "ft", what, error=42)])
    until = sight_s(view)[1]
    if until is not None and until < float(view.seen.time_s[-1]) - _ACT_S:
        lost = int(np.searchsorted(view.seen.time_s, until))
        if lost >= at:
            run = (lost, len(view.seen) - 1, float(view.seen.time_s[-1] - until))
            what = "the runway was lost from sight below minimums, and the landing went on."
            return view.judged(row, [view.finding(row, run, run[2], "s", what, error=54)])
    return view.judged(row, [])
