"""Judges of the missed approach: when it begins, straight ahead, the side, the gradient, heading and radial."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from needlework.basis.quantity import Floats
from needlework.debrief.events import TOO_WEAK
from needlework.debrief.evidence import View
from needlework.debrief.final import landed, on_final
from needlework.debrief.findings import Finding, Judgement, Mask, Run, apart, mean_deg, not_judged
from needlework.debrief.minimums import climb_really_begun
from needlework.debrief.pieces import along_across, place
from needlework.debrief.rubric import Row
from needlework.debrief.segments import Span
from needlework.debrief.tracking import course_as_heading, snaking, why_off
from needlework.debrief.visual import broken_off
from needlework.trade.vor import FULL_SCALE_DEG

_SOON_S = 60.0  # a recording that ends sooner after something was due says nothing about it
_FAR_EARLY = 2.5  # times what is said
_CLOCK_SHARE = 0.05  # of the distance by the clock: half a step of a timing box of 10 kt
_LEVEL_FPM, _LEVEL_S = 120.0, 15.0
_PAUSED = 0.25  # share of a climb: nobody saw more of it
_STRAIGHT_DEG = 30.0
_BESIDE_DEG, _BESIDE_S = 20.0, 60.0  # along the radial, and off it by no more than leaves no doubt which was meant
_BEFORE_UP_S, _ROUNDED_S = 60.0, 22.0  # down and up through so few feet at 500 fpm, the rounding between them in it
_ON_FT = 200.0
_TURNED_DEG = 25.0
_ROUND_S = 45.0  # of turning: by then the side is plain
_STEADY_S = 25.0
_UNDER_FT = 60.0
_DRIFT_DEG = 20.0  # of a wind of a third of the airspeed, from the side
_HELD_S, _HELD_DEG = 60.0, 2.5
_PLAIN_DEG, _BANKED_DEG_S, _BANK_SHARE = 55.0, 0.6, 0.3
_TURNED_BACK_DEG = 100.0
_AT_FIX_NM, _THERE_NM = 0.5, 0.6
_ROUND_DEG, _ELSEWHERE_NM = 330.0, 2.0  # once round, and beyond what an entry leaves the fix by
_ELSEWHERE_DEG, _OTHER_END_DEG = 60.0, 150.0  # nothing like the radial, and its other end
_STRAIGHT_TO_NM, _STRAIGHT_TO_DEG = 2.0, 8.0  # nearer the bearing turns with any error
_FAR_OFF = 1.5  # of the tolerance of a heading
_OUTWARD_DEG, _TURNED_ON_DEG = 15.0, 10.0
_ASTRAY_S, _ASTRAY_DEG = 20.0, 15.0  # of a heading straight ahead, off the line and away from it
_LEAST_NM, _SURFACE = 2.0, 0.76  # of climb; share of the gradient that is the surface no ground stands above (40:1)
_WINGS_LEVEL_DEG, _ROUGH = 10.0, 2.5


def _no_missed(view: View, row: Row) -> Judgement | None:
    if landed(view):
        return not_judged(row, "A landing was made.")
    if view.split.no_approach:
        return not_judged(row, "The final was not recorded, nor where the missed approach was begun.")
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


def _by_clock_nm(view: View) -> float:
    """What a missed approach point found by the clock may be off. [NM]"""
    return 0.0 if view.procedure.map_by_dme else _CLOCK_SHARE * view.procedure.final_fix_to_map_nm


def decision(view: View, row: Row) -> Judgement:
    """The climb begins at the missed approach point at the latest; well past it nothing protects."""
    if (none := _no_missed(view, row)) is not None:
        return none
    seen, at = view.seen, view.climb_at
    final = on_final(view)
    gs_nm_s = float(np.median(seen.gs_kt[final])) / 3600.0 if final.any() else 0.025
    recorded_nm = gs_nm_s * (seen.step_s / 2 + 60.0 * seen.alt_grain_ft / 500.0) + seen.position_nm
    grain = recorded_nm + _by_clock_nm(view)
    allowed = max(row.limit["limit_nm"], row.limit["limit_s"] * gs_nm_s) + grain
    deadly = max(row.limit["critical_nm"], row.limit["critical_s"] * gs_nm_s) + grain
    if at is None:
        past = np.flatnonzero(view.mask("final", "missed") & (view.final_along_nm > view.along_of("MAP")))
        at = int(past[0]) if len(past) else len(seen) - 1
        late = _beyond_map(view)
        what = f"no climb at the missed approach point: the flight went on, {late:.1f} NM past it."
    else:
        late = float(view.final_along_nm[at]) - view.along_of("MAP")
        what = f"the climb began {late:.1f} NM past the missed approach point."
    if late < -(row.limit["early_nm"] + grain) and view.climb_at is not None and _by_clock_nm(view) > 0.0:
        low = float(seen.alt_ft[at]) < view.mda_ft + _ON_FT / 2 + view.tell_ft
        away = climb_really_begun(view, view.rubric.row("mda_high").limit["limit_ft"])
        low &= away is None or not away[1]  # levelled off above it, the missed approach was not begun
        # From the minimums, or with the turn as well before it: so it was the clock that said so.
        if (low and not _straight_up(view, at)) or _turned_early(view):
            what = f"the climb began {-late:.1f} NM before the missed approach point, which is found by the clock."
            run = (at, at, -late / max(gs_nm_s, 1e-3))
            cause = "the time of another ground speed, or the clock started early"
            found = view.finding(row, run, -late, "NM", what, error=38, cause=cause, critical=False)
            # So early, no step of a timing box explains it.
            return view.judged(row, [replace(found, failed=-late > _FAR_EARLY * row.limit["early_nm"] + recorded_nm)])
    landing, in_sight = broken_off(view)
    if late <= allowed or (landing and in_sight):  # gone around from the way down to a runway that was seen
        if late > row.limit["limit_nm"] + _by_clock_nm(view) and not in_sight:
            return not_judged(row, f"The climb began {late:.1f} NM past the point, too little to be called late.")
        before = f", {-late:.1f} NM before the point" if late < -(row.limit["early_nm"] + grain) else ""
        return view.judged(row, [], decided=f"{_place(view, at)}{before}")
    run = (at, at, late / max(gs_nm_s, 1e-3))
    if landing and in_sight is None:
        what += " With the runway in sight it was a landing broken off: whether it was, nobody said."
        return view.judged(row, [view.finding(row, run, late, "NM", what, sure=False)])
    error, cause = 44, ""
    if view.climb_at is not None and _by_clock_nm(view) > 0.0:
        error, cause = 38, "the time of another ground speed, or the clock started late"
    # As high as the climb from the point leads, the ground is as far below as it is then.
    climbed_ft = view.mda_ft + view.procedure.missed.gradient_ft_nm * late
    deep = float(seen.alt_ft[at]) < climbed_ft + view.tell_ft
    return view.judged(
        row, [view.finding(row, run, late, "NM", what, error=error, cause=cause, critical=deep and late > deadly)]
    )


def _climbed_early(view: View) -> bool:
    """Whether the climb was begun well before a missed approach point that is found by the clock."""
    if view.climb_at is None or _by_clock_nm(view) == 0.0:
        return False
    early_nm = view.along_of("MAP") - float(view.final_along_nm[view.climb_at])
    return early_nm > view.rubric.row("decision").limit["early_nm"] + _by_clock_nm(view)


def _straight_up(view: View, at: int) -> bool:
    """Whether a descent in one line was turned into the climb at the minimums: so it is flown, wherever they come."""
    seen = view.seen
    before = (view.numbers <= at) & (seen.time_s > seen.time_s[at] - _BEFORE_UP_S)
    low = before & (seen.alt_ft < float(seen.alt_ft[before].min()) + _UNDER_FT + seen.alt_grain_ft)
    return float(low.sum() - 1) * seen.step_s < _ROUNDED_S


def _place(view: View, at: int) -> str:
    return f"{view.seen.dme_nm[at]:.1f} DME" if view.has_dme else f"{view.seen.ground_nm[at]:.1f} NM"


def turn_at(view: View) -> int | None:
    """Sample where the turn of the missed approach begins, by the track; None if there was none."""
    seen = view.seen
    course = view.procedure.missed.course_deg
    final = np.flatnonzero(on_final(view) & ~view.near)
    if not len(final):
        return None
    first = int(final[0])
    off = apart(seen.track_deg, course)
    after = view.numbers > max(first, view.climb_at or first) - 1
    wide = np.flatnonzero((np.abs(off) > _PLAIN_DEG) & after)
    if not len(wide):
        return None
    at = int(wide[0])
    while at > first and abs(off[at - 1]) > 12.0:
        at -= 1
    # Straight on off the line for long is no turn: that is begun where it ends.
    for run in view.runs((view.numbers >= at) & (view.numbers < wide[0]) & ~view.turning, _ASTRAY_S):
        at = run[1] + 1
    return at


def _banked_at(view: View, at: int) -> int:
    """Sample where the bank into the turn was laid on: back from where the turn is plain, unbroken.

    A correction towards the line straight ahead, rolled out of before the turn, is no part of it.
    """
    rate = view.seen.turn_deg_s
    off = np.abs(apart(view.seen.track_deg, view.procedure.missed.course_deg))
    first = at + int(np.argmax(off[at:] > _PLAIN_DEG))
    way = float(np.sign(rate[first]))
    straight = np.abs(rate[view.mask("final") & ~view.turning & (off < _WINGS_LEVEL_DEG)])
    rough = _ROUGH * float(np.median(straight)) if len(straight) else 0.0  # by the noise of the positions alone
    plain = first
    while first > 0 and rate[first - 1] * way > max(_BANKED_DEG_S, rough):
        first -= 1
    # A drift of the heading, however it leads, is no bank: that shows by the rate of the turn it became.
    banked = first + int(np.argmax(rate[first : plain + 1] * way >= _BANK_SHARE * rate[plain] * way))
    return max(first, min(banked, at))


def missed_turn(view: View, row: Row) -> Judgement:
    """Climb first: no turn before the point and the altitude."""
    if (none := _no_missed(view, row)) is not None:
        return none
    at, seen, missed = turn_at(view), view.seen, view.procedure.missed
    if at is None:
        never = _turned_late(view, row, len(seen) - 1)
        said = not_judged(row, "The turn of the missed approach was not recorded.")
        return said if never is None else view.judged(row, [never])
    point, early = missed.turn_after, _turned_before_nm(view, at)
    turn_ft = view.today_ft(missed.climb_to_ft)
    run = (at, at, seen.step_s)
    if early > 0.0:
        place = "the missed approach point" if point == "MAP" else point
        what = f"turned {early:.1f} NM before {place}. Only the line straight ahead is protected there."
        return view.judged(row, [view.finding(row, run, early, "NM", what, error=45)])
    banked = _banked_at(view, at)
    low = turn_ft - float(seen.alt_ft[banked])
    climb_ft = abs(float(seen.vs_fpm[banked])) / 60.0 * seen.step_s
    if low > row.limit["limit_ft"] + view.tell_ft + climb_ft:
        turned_ft = float(seen.alt_ft[banked])
        what = f"turned at {turned_ft:,.0f} ft; the procedure climbs straight ahead to {turn_ft:,.0f} ft first."
        uncorrected = view.cold and turned_ft > missed.climb_to_ft - row.limit["limit_ft"]
        cause = "the cold was not added" if uncorrected else "turns at the point, before the altitude is reached"
        return view.judged(
            row, [view.finding(row, run, low, "ft", what, cause=cause, error=6 if uncorrected else 45)]
        )
    late = _turned_late(view, row, banked)
    return view.judged(row, [] if late is None else [late])


def _turned_before_nm(view: View, at: int) -> float:
    """How far before its point the turn of the missed approach was begun, 0 where no more than may be. [NM]"""
    seen, point = view.seen, view.procedure.missed.turn_after
    grace = 0.1 + float(seen.gs_kt[at]) / 3600.0 * seen.step_s + seen.position_nm + _by_clock_nm(view)
    early = _short_of_nm(view, point, at)
    if _climbed_early(view):  # the clock was not waited for: what it may be off excuses nothing
        early, grace = max(early, _short_of_nm(view, point, _banked_at(view, at))), grace - _by_clock_nm(view)
    return early if early > grace else 0.0


def _turned_early(view: View) -> bool:
    """Whether the turn of the missed approach was begun before its point."""
    at = turn_at(view)
    return at is not None and _turned_before_nm(view, at) > 0.0


def _short_of_nm(view: View, name: str, at: int) -> float:
    """How far a sample lies before a fix of the line straight ahead: along it, or by the DME, which is what is read.

    Beside the line, and past the station, the DME shows its number where the line is not there yet.
    """
    along_nm, past = view.along_of(name), float(view.final_along_nm[at])
    short = along_nm - past
    if along_nm > 0.0 and past > 0.0 and view.procedure.fix(name).dme_nm is not None:
        short = min(short, view.procedure.fix(name).dist_nm - float(view.seen.dme_nm[at]))
    return short


def _turned_late(view: View, row: Row, turned: int) -> Finding | None:
    """Straight on long after the point and the altitude at which the turn is due; None where it was not so."""
    seen, missed, climb = view.seen, view.procedure.missed, view.climb_at
    if climb is None:
        return None
    ready = (view.numbers > climb) & (view.final_along_nm > view.along_of(missed.turn_after))
    ready &= seen.alt_ft > view.today_ft(missed.climb_to_ft) + view.tell_ft
    due = np.flatnonzero(ready)
    if not len(due) or due[0] >= turned:
        return None
    first = int(due[0])
    straight = np.abs(apart(seen.track_deg[first:turned], missed.course_deg)) < _STRAIGHT_DEG
    late_s = float(seen.time_s[turned] - seen.time_s[first])
    if late_s <= row.limit["late_s"] or not straight.all() or _astray(view, turned):
        return None
    away_nm = float(view.final_along_nm[turned] - view.final_along_nm[first])
    what = f"straight on for {late_s:.0f} s and {away_nm:.1f} NM after the turn to the {missed.turn} was due."
    critical = late_s > row.limit["critical_s"]
    found = view.finding(row, (first, turned, late_s), away_nm, "NM", what, error=85, critical=critical)
    return replace(found, failed=True)


def missed_side(view: View, row: Row) -> Judgement:
    """The turn of the missed approach goes to its published side."""
    if (none := _no_missed(view, row)) is not None:
        return none
    seen, missed, at = view.seen, view.procedure.missed, turn_at(view)
    if at is None:
        return not_judged(row, "The turn of the missed approach was not recorded.")
    side = 1.0 if missed.turn == "right" else -1.0
    part = slice(at, min(at + view.samples(_ROUND_S), len(seen)))
    turned = np.rad2deg(np.unwrap(np.deg2rad(seen.track_deg[part])))
    turned = turned - turned[0]
    plain = np.flatnonzero(np.abs(turned) > _TURNED_DEG)
    if not len(plain):
        return not_judged(row, "The turn of the missed approach is too short to tell.")
    way = float(turned[plain[0]])
    if way * side > 0:
        return view.judged(row, [], side=missed.turn)
    what = f"turned {'left' if side > 0 else 'right'}; the procedure turns {missed.turn}."
    run = (at, at, _ROUND_S)
    return view.judged(row, [view.finding(row, run, float(np.abs(turned).max()), "deg", what, error=48)])


def gradient(view: View, row: Row) -> Judgement:
    """Climb along the published gradient, from the missed approach point at the MDA up.

    What counts is the line that protects: from the MDA at the point where the climb begins (or at the
    missed approach point, if that comes later) upwards. The climb is looked at as far as it goes
    unbroken: level flight near the altitude of the missed approach is no part of it.
    """
    if (none := _no_missed(view, row)) is not None:
        return none
    seen, at, missed = view.seen, view.climb_at, view.procedure.missed
    if at is None:
        return not_judged(row, "No climb was recorded.")
    needed = missed.gradient_ft_nm
    top_ft = min(view.missed_ft - 150.0, missed.gradient_until_ft or np.inf)
    below = np.flatnonzero((view.numbers > at) & (seen.alt_ft >= top_ft))
    end = int(below[0]) if len(below) else len(seen) - 1
    level = view.runs((view.numbers >= at) & (view.numbers <= end) & (seen.vs_fpm < _LEVEL_FPM), _LEVEL_S)
    level = [run for run in level if seen.alt_ft[run[0]] - seen.alt_ft[at] > 200.0]
    # The climb ends with the first level-off after which it does not go on to the top.
    for run in level:
        if run[1] >= end - view.samples(_LEVEL_S) or seen.alt_ft[end] - seen.alt_ft[run[0]] < _ON_FT:
            end = min(end, run[0])
            break
    steps_s = np.diff(seen.time_s[at : end + 1])
    paused_s = float(steps_s[seen.stretch[at + 1 : end + 1] != seen.stretch[at:end]].sum())
    if seen.alt_ft[end] - seen.alt_ft[at] < 200.0 or paused_s > _PAUSED * float(steps_s.sum()):
        return not_judged(row, "Too little of the climb was recorded.")
    path_nm = np.concatenate([[0.0], np.cumsum(seen.gs_kt[:-1] * np.diff(seen.time_s) / 3600.0)])
    flown_nm = float(path_nm[end] - path_nm[at])
    flown = float(seen.alt_ft[end] - seen.alt_ft[at]) / max(flown_nm, 1e-3)
    unsure = 2 * max(seen.alt_grain_ft, 5.0) / max(flown_nm, 0.1)
    facts = {"flown": f"{flown:.0f}", "needed": f"{needed:.0f}"}
    low = _below_surface(view, at, end, path_nm, needed)
    if flown >= needed and low is None:
        return view.judged(row, [], **facts)
    if low is not None:
        end, flown_nm = low, float(path_nm[low] - path_nm[at])
        flown = float(seen.alt_ft[end] - seen.alt_ft[at]) / max(flown_nm, 1e-3)
        unsure = 2 * max(seen.alt_grain_ft, 5.0) / flown_nm
    sure = flown + unsure < needed * 0.97
    what = (
        f"{flown:.0f} ft/NM over {flown_nm:.1f} NM of climb; the procedure needs {needed:.0f}."
        if sure
        else f"about {flown:.0f} ft/NM where {needed:.0f} are needed: too close for this recording to tell."
    )
    run = (at, end, float(seen.time_s[end] - seen.time_s[at]))
    error, cause = _why_shallow(view, at, end)
    finding = view.finding(row, run, needed - flown, "ft/NM", what, error=error, cause=cause, sure=sure)
    return view.judged(row, [finding])


def _below_surface(view: View, at: int, end: int, path_nm: Floats, needed: float) -> int | None:
    """Last sample at which the climb so far lay below the surface that protects it; None where it never did.

    A climb that is steep later does not clear what stands where it was shallow.
    """
    seen, part = view.seen, np.arange(at, end + 1)
    flown_nm = path_nm[part] - path_nm[at]
    grain_ft = 2.0 * max(seen.alt_grain_ft, 5.0)
    low = (flown_nm > _LEAST_NM) & (seen.alt_ft[part] - seen.alt_ft[at] + grain_ft < _SURFACE * needed * flown_nm)
    return int(part[low][-1]) if low.any() else None


def _why_shallow(view: View, at: int, end: int) -> tuple[int, str]:
    """What made a climb shallow: it sank first, it was interrupted, it was fast over the ground, or weak."""
    seen = view.seen
    part = slice(at, end + 1)
    if float(np.maximum.accumulate(seen.alt_ft[part]).max() - seen.alt_ft[at]) < 0 or (
        float((np.maximum.accumulate(seen.alt_ft[part]) - seen.alt_ft[part]).max()) > _UNDER_FT
    ):
        return 46, ""
    rate = float(np.median(seen.vs_fpm[part]))
    if view.aircraft is not None and rate > 0.85 * view.aircraft.climb_fpm:
        return 71, "a climb as strong as the aircraft has, and a ground speed too high for it (tail wind, or fast)"
    return 71, f"{TOO_WEAK}: power, speed or flap; or it was levelled off on the way"


def missed_track(view: View, row: Row) -> Judgement:
    """Heading to the radial, the radial caught, and the needle on it."""
    if (none := _no_missed(view, row)) is not None:
        return none
    seen, missed, at = view.seen, view.procedure.missed, turn_at(view)
    if at is None:
        if astray := _off_straight(view, row, len(seen)):
            return view.judged(row, astray)
        return not_judged(row, "The turn of the missed approach was not recorded.")
    on = on_radial(view, at)
    astray = _off_straight(view, row, at)
    findings: list[Finding] = []
    findings += _never_met(view, row, at) or _beside(view, row, at)
    if missed.heading_deg is not None and not findings:  # another radial is no heading held badly
        findings += _heading(view, row, at, on)
    findings = findings or _snaked(view, row, at)
    through = [] if findings else _through(view, row, at)
    ends_soon = seen.time_s[-1] - seen.time_s[at] < 4 * _SOON_S
    hold = view.split.span("hold")
    if on is None and hold is None and not ends_soon and not findings and not through:
        left = view.set_course(missed.intercept_radial_deg or 0.0, 3.0)
        error = 49 if left is not None and not left[at:].any() and not missed.direct else 48
        if error == 48 and _another_radial(view, at):
            error = 63
        run = (at, len(seen) - 1, float(seen.time_s[-1] - seen.time_s[at]))
        goal = (
            f"radial {missed.intercept_radial_deg:03.0f}" if missed.intercept_radial_deg is not None else missed.fix
        )
        what = f"{goal} was never reached in the {run[2]:.0f} s that were recorded."
        cause = "turned from another place, to another side or too far" if error == 48 else ""
        findings.append(view.finding(row, run, run[2], "s", what, cause=cause, error=error, critical=True))
    if not findings:
        findings += through or _needle_out(view, row, at)
    if findings or astray:
        return view.judged(row, [*astray, *findings])
    if on is None:
        return not_judged(row, "The recording ends before the missed approach was flown out.")
    return view.judged(row, [], on_radial=_place(view, on))


def _astray(view: View, at: int) -> list[Run]:
    """Straight ahead up to a sample, but not along the line of the missed approach: off it, and farther off."""
    seen, climb, course = view.seen, view.climb_at, view.procedure.missed.course_deg
    if climb is None:
        return []
    off = apart(seen.track_deg, course)
    across = along_across(seen, view.procedure, course)[1]
    away = (
        (view.numbers >= climb) & (view.numbers < at) & ~view.turning & view.mask("final", "missed", "hold", "after")
    )
    away &= (np.abs(off) > _ASTRAY_DEG) & (np.abs(off) < _PLAIN_DEG) & (off * across > 0.0)
    return view.runs(away, _ASTRAY_S)[:1]


def _turned_too_little(view: View, run: Run) -> bool:
    """Whether what leads off the line straight ahead was the turn, begun where it is due and to its side."""
    seen, missed = view.seen, view.procedure.missed
    side = 1.0 if missed.turn == "right" else -1.0
    due = float(seen.alt_ft[run[0]]) > view.today_ft(missed.climb_to_ft) - view.tell_ft
    due &= _short_of_nm(view, missed.turn_after, run[0]) < _AT_FIX_NM
    off = float(np.median(apart(seen.track_deg[run[0] : run[1] + 1], missed.course_deg)))
    return bool(due and missed.heading_deg is not None and off * side > _TURNED_DEG)


def _off_straight(view: View, row: Row, at: int) -> list[Finding]:
    """What is to be said of a climb that leads away from the line straight ahead."""
    course = view.procedure.missed.course_deg
    found = []
    for run in _astray(view, at):
        part = slice(run[0], run[1] + 1)
        worst = float(np.median(np.abs(apart(view.seen.track_deg[part], course))))
        beside_nm = float(np.abs(along_across(view.seen, view.procedure, course)[1][part]).max())
        what = (
            f"{worst:.0f} degrees off {course:03.0f} straight ahead for {run[2]:.0f} s, {beside_nm:.1f} NM beside it."
        )
        if _turned_too_little(view, run):
            flown, wanted = mean_deg(view.seen.track_deg[part]), float(view.procedure.missed.heading_deg or 0.0)
            what = f"turned only to {flown:03.0f}, for {run[2]:.0f} s, where heading {wanted:03.0f} is published."
        one = view.finding(row, run, worst, "deg", what, error=74, critical=beside_nm > row.limit["straight_nm"])
        found.append(replace(one, failed=run[2] >= view.rubric.prompt_s))
    return found


def _never_met(view: View, row: Row, at: int) -> list[Finding]:
    """Another radial followed outbound until the fix was due, and the published one not met before it."""
    radial = view.procedure.missed.intercept_radial_deg
    if radial is None or not _another_radial(view, at):
        return []
    seen = view.seen
    before = _up_to_fix(view, at)
    off = np.abs(apart(seen.radial_deg, radial))
    outward = before & (np.abs(apart(seen.track_deg, seen.radial_deg)) < _OUTWARD_DEG) & ~view.turning
    if not outward.any() or (off[outward] <= row.limit["needle_deg"] + view.unsure_deg[outward]).any():
        return []
    on = np.flatnonzero(outward)
    run = (int(on[0]), int(on[-1]), float(seen.time_s[on[-1]] - seen.time_s[on[0]]))
    flown = mean_deg(seen.radial_deg[outward])
    what = f"radial {flown:03.0f} was flown for {run[2]:.0f} s where {radial:03.0f} is published."
    elsewhere = _held_elsewhere(view, on[-1])
    if elsewhere:
        what = (
            what.removesuffix(".")
            + f", and the hold flown {elsewhere:.1f} NM or more from {view.procedure.hold.fix}."
        )
    usual = float(np.median(off[outward]))
    cause = "the radial flown from its other end: its reciprocal" if usual > _OTHER_END_DEG else ""
    critical = elsewhere > 0.0 or usual > _ELSEWHERE_DEG
    return [view.told_in("out", view.finding(row, run, usual, "deg", what, error=63, cause=cause, critical=critical))]


def _held_elsewhere(view: View, since: int) -> float:
    """How far from its fix a hold was begun, as far out as the fix lies; 0 where none was flown, or at it. [NM]"""
    after = view.numbers > since
    if not after.any():
        return 0.0
    turned = np.ptp(np.rad2deg(np.unwrap(np.deg2rad(view.seen.track_deg[after]))))
    away, fix = view.away_nm(view.procedure.hold.fix), view.procedure.fix(view.procedure.hold.fix)
    abeam = np.flatnonzero(after & (view.seen.ground_nm >= fix.dist_nm))
    nearest = float(away[after].min())
    if len(abeam):  # how near the laps came to it later is a matter of their width
        nearest = max(nearest, float(away[since : abeam[0] + 1].min()))
    return nearest if turned > _ROUND_DEG and nearest > _ELSEWHERE_NM else 0.0


def _up_to_fix(view: View, at: int) -> Mask:
    """Samples after the turn, up to where the fix of the missed approach is due by its distance."""
    fix_nm = view.procedure.fix(view.procedure.missed.fix).dist_nm
    before = (view.numbers > at) & ~view.near
    due = np.flatnonzero(before & (view.seen.ground_nm > fix_nm - 1.0))
    if len(due):
        before[due[0] :] = False
    return before


def _beside(view: View, row: Row, at: int) -> list[Finding]:
    """Out along the radial and beside it all the way: it was meant, and not held."""
    seen, radial = view.seen, view.procedure.missed.intercept_radial_deg
    piece = next((piece for piece in view.split.pieces if piece.kind == "out"), None)
    if radial is None or piece is None:
        return []
    off = view.off_deg(radial)
    outward = np.minimum(np.abs(apart(seen.track_deg, radial)), np.abs(apart(seen.track_deg, seen.radial_deg)))
    along = _up_to_fix(view, at) & ~view.turning & (outward < _BESIDE_DEG)
    along &= view.mask("missed", "hold", "after")
    on = np.flatnonzero(along)
    if len(on) * seen.step_s < _BESIDE_S or float(np.abs(off[on]).max()) > _BESIDE_DEG:
        return []
    held = np.abs(off[on]) <= view.rubric.established_deg + view.unsure_deg[on]
    if held.sum() * seen.step_s >= view.rubric.established_s:
        return []
    beyond_s = float((np.abs(off[on]) > row.limit["needle_deg"] + view.unsure_deg[on]).sum()) * seen.step_s
    run = (int(on[0]), int(on[-1]), len(on) * seen.step_s)
    worst = float(np.abs(off[on]).max())
    side = "right" if float(np.median(off[on])) < 0 else "left"
    error, cause = why_off(view, Span(piece, run[0], run[1]), run, off)
    what = f"never within half scale of radial {radial:03.0f}; {side} of it by {worst:.0f} degrees."
    found = view.finding(row, run, worst, "deg", what, error=error, cause=cause, critical=False)
    return [replace(found, segment=piece.text, failed=beyond_s >= view.rubric.prompt_s)]


def _another_radial(view: View, at: int) -> bool:
    """Whether one radial, and no other, was followed outbound for long."""
    seen = view.seen
    outbound = (view.numbers > at) & view.readable & view.mask("missed", "hold", "after")
    outbound &= np.abs(apart(seen.track_deg, seen.radial_deg)) < 15.0
    for first, last, length in view.runs(outbound, _HELD_S):
        radial = np.rad2deg(np.unwrap(np.deg2rad(seen.radial_deg[first : last + 1])))
        spread = float(np.ptp(np.percentile(radial, [10, 90])))
        if length >= _HELD_S and spread < _HELD_DEG and seen.ground_nm[last] > 1.2 * seen.ground_nm[first]:
            return True
    return False


def _heading(view: View, row: Row, at: int, on: int | None) -> list[Finding]:
    """The published heading on the way to the radial: nose and track both well off it, straight and for long."""
    wanted, limit = float(view.procedure.missed.heading_deg or 0.0), row.limit["limit_deg"]
    before = view.mask("missed", kind="turn") & (view.numbers > at) & ~view.turning
    if on is not None:
        before[on:] = False
    if view.procedure.missed.intercept_radial_deg is not None:  # a needle that is alive is followed
        to_radial = np.abs(apart(view.seen.radial_deg, view.procedure.missed.intercept_radial_deg))
        before &= to_radial > FULL_SCALE_DEG + view.unsure_deg
    by_track = np.abs(apart(view.seen.track_deg, wanted))
    by_nose = np.abs(apart(view.seen.heading_deg, wanted))
    off = np.minimum(by_track, by_nose)
    if not view.nose_known:  # the track alone: a heading that was held may be drifting so much
        limit += _DRIFT_DEG
    for run in view.runs(before & (off > limit + 2.0), _STEADY_S):
        part = slice(run[0], run[1] + 1)
        flown = mean_deg(view.seen.heading_deg[part])
        worst = float(np.median(off[part]))
        out = np.abs(apart(view.seen.track_deg[part], view.seen.radial_deg[part]))
        if float(out.max()) < _OUTWARD_DEG and float(np.ptp(view.off_deg(flown)[part])) < _HELD_DEG:
            continue  # out along one radial, which is no heading
        if worst > 60.0 and on is None:  # that is no heading held badly: it is another way, which other rows name
            return []
        word = "heading" if view.nose_known else "track"
        direct = f", straight to {view.procedure.missed.fix}," if _straight_to_fix(view, run[0]) else ""
        what = f"{word} {flown:03.0f} for {run[2]:.0f} s{direct} where {wanted:03.0f} is published."
        found = view.finding(row, run, worst, "deg", what, error=74, critical=False)
        return [replace(found, failed=found.failed or worst > _FAR_OFF * limit)]
    return []


def _straight_to_fix(view: View, first: int) -> bool:
    """Whether the flight leads from a sample straight to the fix of the missed approach, and gets there."""
    seen, name = view.seen, view.procedure.missed.fix
    east_nm, north_nm = place(view.procedure, name)
    away = view.away_nm(name)
    there = np.flatnonzero((view.numbers > first) & (away < _STRAIGHT_TO_NM))
    if not len(there):
        return False
    part = slice(first, int(there[0]))
    bearing = np.rad2deg(np.arctan2(east_nm - seen.east_nm[part], north_nm - seen.north_nm[part]))
    off = np.abs(apart(seen.track_deg[part], bearing - view.procedure.station.declination_deg))
    return bool((off < _STRAIGHT_TO_DEG).all() and away[first] > 2.0 * _STRAIGHT_TO_NM)


def _through(view: View, row: Row, at: int) -> list[Finding]:
    """How far the radial was flown through before it was held; nothing if it was caught."""
    missed, seen = view.procedure.missed, view.seen
    if missed.intercept_radial_deg is None:
        return []
    off = apart(seen.radial_deg, float(missed.intercept_radial_deg))
    after = (view.numbers > at) & view.mask("missed", "hold", "after") & ~view.near
    before = np.flatnonzero(after & (np.abs(off) > view.rubric.established_deg))
    if not len(before):
        return []
    side = float(np.sign(off[before[0]]))
    outward = np.abs(apart(seen.track_deg, missed.intercept_radial_deg))
    held = view.runs(after & (np.abs(off) <= row.limit["needle_deg"]) & (outward < 20.0), 8.0)
    came_deg = _came_deg(view, at, off)
    held = [run for run in held if _turned_on(view, run, came_deg, float(missed.intercept_radial_deg))]
    until = held[0][0] if held else len(seen) - 1
    there = np.flatnonzero((view.numbers > at) & (view.away_nm(missed.fix) < _THERE_NM))
    if len(there) and there[0] < until:  # at the fix the radial has ended
        held, until = held or [(int(there[0]), int(there[0]), 0.0)], int(there[0])
    past = np.where(after & (view.numbers <= until), -side * off, 0.0)
    worst = int(np.argmax(past))
    degrees = float(past[worst])
    if degrees <= row.limit["say_deg"] + float(view.unsure_deg[worst]) or float(np.abs(off[worst])) > 90.0:
        return []
    begun = int(np.flatnonzero(past[: worst + 1] <= 0.0)[-1])
    run = (begun, worst, float(seen.time_s[until] - seen.time_s[begun]))
    then = "" if held else ", and it was not held"
    what = f"through radial {missed.intercept_radial_deg:03.0f} by {degrees:.0f} degrees{then}."
    lost = not held or degrees > row.limit["lost_deg"]
    beyond = degrees > row.limit["needle_deg"] + float(view.unsure_deg[worst])
    due = np.flatnonzero(_up_to_fix(view, at))
    if course_as_heading(
        view, slice(begun, min(until, int(due[-1]) if len(due) else until) + 1), missed.intercept_radial_deg
    ):
        what = f"carried off radial {missed.intercept_radial_deg:03.0f} by {degrees:.0f} degrees{then}."
        return [view.finding(row, run, degrees, "deg", what, error=10, critical=lost, beyond=beyond)]
    if not held and (elsewhere := _held_elsewhere(view, begun)):  # nobody holds on a radial that was not meant
        what = f"{what.removesuffix('.')}; the hold was flown {elsewhere:.1f} NM or more from {missed.fix}."
        return [view.finding(row, run, degrees, "deg", what, error=63, critical=lost, beyond=beyond)]
    return [view.finding(row, run, degrees, "deg", what, error=80, critical=lost, beyond=beyond)]


def _came_deg(view: View, at: int, off: Floats) -> float | None:
    """Track on which the radial was met, before its needle moved; None where it was alive at once."""
    seen = view.seen
    alive = np.flatnonzero((view.numbers > at) & (np.abs(off) < FULL_SCALE_DEG))
    if not len(alive):
        return None
    before = (view.numbers > at) & (view.numbers < alive[0]) & ~view.turning
    before &= seen.time_s > seen.time_s[alive[0]] - _STEADY_S
    return mean_deg(seen.track_deg[before]) if before.any() else None


def _turned_on(view: View, run: tuple[int, int, float], came_deg: float | None, radial_deg: float) -> bool:
    """Whether a run along a radial is flown on it, and is not the track that met it held on through it."""
    flown = mean_deg(view.seen.track_deg[run[0] : run[1] + 1])
    turned = came_deg is None or abs(float(apart(flown, came_deg))) > _TURNED_ON_DEG
    return turned or abs(float(apart(flown, radial_deg))) < _TURNED_ON_DEG


def _radial_leg(view: View, at: int) -> Span | None:
    """The radial of the missed approach from where it was caught to where its fix is due; None where it was not.

    Held badly, it may be filed under the heading before it or the hold after it, and is that radial all the same.
    """
    piece = next((piece for piece in view.split.pieces if piece.kind == "out"), None)
    on, span = on_radial(view, at), view.split.span("out")
    if piece is None or (on is None and span is None):
        return None
    first = min(each for each in (on, span.first if span else None) if each is not None)
    due_nm = view.procedure.fix(view.procedure.missed.fix).dist_nm - _AT_FIX_NM
    due = np.flatnonzero((view.numbers > first) & (view.seen.ground_nm > due_nm))
    last = int(due[0]) if len(due) else max(span.last if span else first, first)
    round_at = np.flatnonzero(np.abs(apart(view.seen.track_deg, float(piece.course_deg or 0.0))) > _TURNED_BACK_DEG)
    round_at = round_at[round_at > first]  # turned back, as for a hold, it is that radial no more
    last = max(min(last, int(round_at[0]) - 1), first) if len(round_at) else last
    if not view.mask("missed", "hold", "after")[first : last + 1].all():
        return None
    return Span(piece, first, last)


def _snaked(view: View, row: Row, at: int) -> list[Finding]:
    """Large cuts from side to side of the radial, whether or not its needle left the tolerance."""
    leg = _radial_leg(view, at)
    weave = None if leg is None else snaking(view, row, leg)
    return [] if weave is None or leg is None else [replace(weave, segment=leg.piece.text, critical=False)]


def _needle_out(view: View, row: Row, at: int) -> list[Finding]:
    """The needle of the missed approach radial."""
    leg = _radial_leg(view, at)
    if leg is None:
        return []
    piece = leg.piece
    off = view.off_deg(float(piece.course_deg or 0.0))
    outside = view.established(leg, off) & (np.abs(off) > row.limit["needle_deg"] + view.unsure_deg)
    found = []
    for run in view.runs(outside, 4.0)[:1]:
        worst = float(np.abs(off[run[0] : run[1] + 1]).max())
        side = "right" if off[run[0]] < 0 else "left"
        error, cause = why_off(view, leg, run, off)
        what = f"{side} of radial {piece.course_deg:03.0f} by {worst:.0f} degrees for {run[2]:.0f} s."
        one = view.finding(row, run, worst, "deg", what, error=error, cause=cause, critical=False)
        # In a turn the needle is not judged, and yet what it then still shows was not put right.
        out = (np.abs(off) > row.limit["needle_deg"] + view.unsure_deg) & view.inside(leg)
        lasted_s = next(length for first, last, length in view.runs(out) if first <= run[0] <= last)
        found.append(replace(one, segment=piece.text, failed=one.failed or lasted_s >= view.rubric.prompt_s))
    return found


def on_radial(view: View, at: int) -> int | None:
    """First sample settled on the radial (or, going direct, near the fix) of the missed approach."""
    seen, missed = view.seen, view.procedure.missed
    after = view.numbers > at
    if missed.direct:
        found = np.flatnonzero(after & (view.away_nm(missed.fix) < 1.0))
        return int(found[0]) if len(found) else None
    radial = float(missed.intercept_radial_deg or 0.0)
    off = np.abs(apart(seen.radial_deg, radial))
    outward = np.abs(apart(seen.track_deg, radial)) < 45.0
    inside = off <= view.rubric.established_deg + view.unsure_deg
    runs = view.runs(after & inside & outward, view.rubric.established_s)
    return runs[0][0] if runs else None
