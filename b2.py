def sub(path, old, new, n=1):
    s=open(path).read(); assert s.count(old)>=1, (path, old[:60]); s=s.replace(old,new,n); open(path,'w').write(s)
# hold: the turn inbound, and not the leg after a cut back
sub('holding.py','''        if abs(float(_across_nm(view)[lap.inbound[0]])) < _MET_NM:  # the turn inbound ended on the line: it was paid
''','''        if abs(float(_across_nm(view)[_rolled_out(view, lap)])) < _MET_NM:  # the turn ended on the line: it was paid
''')
sub('holding.py','''def hold_track(view''','''def _rolled_out(view: View, lap: _Lap) -> int:
    """Sample where the turn inbound ended, whatever cut back to the line came after it."""
    between = (view.numbers > lap.outbound[1]) & (view.numbers < lap.inbound[0]) & ~view.turning
    straight = view.runs(between, _LEVEL_WINGS_S)
    return straight[0][0] if straight else lap.inbound[0]


def hold_track(view''')
sub('holding.py','''_LONG_LEG_S = 40.0''','''_LEVEL_WINGS_S = 8.0
_LONG_LEG_S = 40.0''')
# arc_join: where one came from
sub('arcs.py','''seen.ground_nm[max(spans[0].first - view.samples(60), 0)] < arc_nm''','''seen.ground_nm[max(spans[0].first - view.samples(_CAME_S), 0)] < arc_nm''')
sub('arcs.py','''_JOIN_S = 45.0
''','''_JOIN_S = 45.0
_CAME_S = 180.0  # before the arc, where it is plain from which side it was met
''')
# f884
sub('events.py','''    "needle_final/15": dict.fromkeys(("full_scale", "gate", "decision"), _SOON_S),
''','''    "needle_final/15": dict.fromkeys(("full_scale", "gate", "decision", "cone", "outbound"), _SOON_S),
''')
sub('tracking.py','''            out_s = float((outside & (np.abs(off) > limit + view.unsure_deg)).sum() * seen.step_s)
''','''            out_s = float((over & (np.abs(off) > limit + view.unsure_deg)).sum() * seen.step_s)
''')
# f230
sub('passage.py','''    if not judged:
        before = _turned_before(view, row)
        if before:
            return view.judged(row, before)
        return not_judged''','''    findings = sorted(_turned_before(view, row) + findings, key=lambda found: found.start_s)
    if not judged and not findings:
        return not_judged''')
sub('passage.py','''    by = int(first.last)
    nearest = int(np.argmin(seen.ground_nm[: by + 1]))
''','''    by = int(first.last)
    nearest = int(np.argmin(seen.ground_nm[: by + 1]))
    if any(over <= by for _, over, _ in passages(view)):
        return []
''')
# f495
sub('levels.py','''    for run in view.runs(high > limit + view.tell_at_ft + 0.5, _OFF_S):
        worst = float(high[run[0] : run[1] + 1].max())
''','''    for run in view.runs(high > limit + view.tell_at_ft + 0.5, _OFF_S):
        worst = float(high[run[0] : run[1] + 1].max())
        if run[2] < _PUT_RIGHT_S and worst < _PLAIN * limit + view.tell_ft:
            continue  # a little, and put right at once
''')
sub('levels.py','''_OFF_S = 5.0
''','''_OFF_S = 5.0
_PUT_RIGHT_S, _PLAIN = 15.0, 1.5  # times the limit
''')
# f716
sub('floors.py','''        if not (deep or read):
            continue
''','''        told = float(short[worst]) > row.limit["say_ft"] + unsure_ft  # below the floor, if not by how much
        if not (deep or read or told):
            continue
''')
# f809
sub('minimums.py','''    if not whole.any() or landed(view):
        return nobody
    last = [span for span in view.spans("final")][-1]
    on = whole & view.inside(last)
    by_map =''','''    if not whole.any():
        return nobody
    last = [span for span in view.spans("final")][-1]
    on = whole & view.inside(last)
    if landed(view):  # down to where the runway lies ahead, and no farther
        on &= view.final_along_nm < visual_nm(view) - seen.position_nm
    by_map = landed(view) or''')
sub('minimums.py','''    if not level:
        return _too_shallow(view, row, on, limit) or nobody
''','''    if not level:
        return nobody if landed(view) else _too_shallow(view, row, on, limit) or nobody
''')
sub('minimums.py','''and never lower before the missed approach point."
    sure = over''','''and never lower before the {'way down' if landed(view) else 'missed approach point'}."
    sure = over''')
# tracking: another radial met on a cut
sub('tracking.py','''    if steady is not None and not away:
        return 63, _ANOTHER
''','''    if steady is not None and (not away or _met_beside(view, run, off)):
        return 63, _ANOTHER
    if steady is None and _cut_away(view, part, course):
        return 63, f"{_ANOTHER}: the heading was far more off the course than any wind asked for"
''')
sub('tracking.py','''    habit = _habit(view)
    if habit is not None:
        return habit
    steady, away''','''    habit = _habit(view)
    steady, away''')
sub('tracking.py','''    if steady is not None and (not away or''','''    if habit is not None and not (steady is not None and away and _met_beside(view, run, off)):
        return habit
    if steady is not None and (not away or''')
sub('tracking.py','''def _parallel(view: View''','''def _met_beside(view: View, run: Run, off: Floats) -> bool:
    """Whether the line that was held beside the published one was met on a cut: drift alone makes one straight line."""
    seen, held = view.seen, slice(_settled(view, run), run[1] + 1)
    before = slice(max(run[0] - view.samples(_CUT_BEFORE_S), 0), _settled(view, run))
    usable = ~view.turning & ~view.near
    if usable[held].sum() * seen.step_s < _STEADY_S or usable[before].sum() * seen.step_s < _MET_S:
        return False
    cut = float(np.median(apart(seen.track_deg[before], mean_deg(seen.track_deg[held]))[usable[before]]))
    return cut * float(np.sign(np.median(off[held]))) > _MET_DEG


def _cut_away(view: View, part: slice, course_deg: float) -> bool:
    """Whether a heading far more off the course than the drift was held, away from the line and for long."""
    seen, straight = view.seen, ~view.turning[part] & ~view.near[part]
    if not view.nose_known or straight.sum() * seen.step_s < _LONG_S:
        return False
    nose = apart(seen.heading_deg[part], course_deg)[straight]
    drift = float(np.median(apart(seen.track_deg[part], seen.heading_deg[part])[straight]))
    across = along_across(seen, view.procedure, course_deg)[1][part][straight]
    over = float(np.median(nose)) + drift
    away = over * (float(across[-1]) - float(across[0])) > 0
    held = float(np.ptp(np.percentile(nose, [15, 85]))) < _HELD_HEADING_DEG
    return bool(away and held and abs(over) > _PARALLEL_DEG and abs(over) > _LEE_MOST * abs(drift))


def _parallel(view: View''')
sub('tracking.py','''_MIRRORED_SHARE = 0.4
''','''_MIRRORED_SHARE = 0.4
_CUT_BEFORE_S, _MET_S, _MET_DEG = 30.0, 15.0, 5.0  # a cut on which a line is met
_HELD_HEADING_DEG = 8.0
''')
sub('tracking.py','apart, not_judged, trend,','apart, mean_deg, not_judged, trend,')
