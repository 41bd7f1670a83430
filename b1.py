import re
def sub(path, old, new, n=1):
    s=open(path).read(); assert s.count(old)>=1, (path, old[:60]); s=s.replace(old,new,n); open(path,'w').write(s)
# events
sub('events.py','''    "cone/11": dict.fromkeys(("needle_final/7", "full_scale", "gate"), 90.0),
''','''    "cone/11": {
        **dict.fromkeys(("needle_final/7", "needle_final/10", "full_scale", "gate"), 90.0),
        "turn_time": 60.0,
    },
''')
sub('events.py','''    "full_scale": {"wind"''','''    "needle_final/15": dict.fromkeys(("full_scale", "gate", "decision"), _SOON_S),
    "full_scale": {"wind"''')
sub('events.py','"vdp/6", "missed_turn/6"), _WHOLE)','"vdp/6", "missed_turn/6", "after_missed_floor/6"), _WHOLE)')
sub('events.py','''    "gradient": {"after_missed_floor/71": _WHOLE},''','''    "gradient": {"after_missed_floor/71": _WHOLE, "decision/44": 0.0},''')
sub('events.py','''    "arc/27": {"arc_join/20": _SOON_S},''','''    "arc/27": {"arc_join/20": _SOON_S, "floor/65": _BEYOND_S},''')
sub('events.py','''_PASSING_S, _BACK_S_DEG = 60.0, 12.0
''','''_PASSING_S, _BACK_S_DEG = 60.0, 12.0
_MILES_NM, _BEYOND_S = 2.0, 240.0  # so far off the arc, the next line is met elsewhere than its altitudes are drawn for
''')
sub('events.py','''    # The farther through, the longer''','''    if finding.row == "arc" and other.row == "floor" and finding.worst < _MILES_NM:
        return False
    if finding.row == "gradient" and other.row == "decision" and (other.critical or other.failed):
        return False  # so late it is no look of a shallow climb
    # The farther through, the longer''')
sub('events.py','''*(one.what.rstrip(".") for one in taken))))''','''*(what.rstrip(".") for one in taken for what in (one.what, *one.also)))))''')
# floors: cold in the missed approach
sub('floors.py','''        error = 60 if (reached & (view.numbers < run[0])).any() else 71
        findings.append(view.finding(row, run, worst, "ft", what, error=error, critical=True))''','''        error, cause = (60 if (reached & (view.numbers < run[0])).any() else 71), ""
        if view.cold and worst <= wanted - view.procedure.missed.altitude_ft + limit:
            error, cause = 6, "the cold was not added"
        findings.append(view.finding(row, run, worst, "ft", what, error=error, cause=cause, critical=True))''')
# missed: never reached, where it was flown through
sub('missed.py','''    if missed.heading_deg is not None:
        findings += _heading(view, row, at, on)
    findings += _never_met(view, row, at)
''','''    findings += _never_met(view, row, at)
    if missed.heading_deg is not None and not findings:  # another radial is no heading held badly
        findings += _heading(view, row, at, on)
    through = _through(view, row, at)
''')
sub('missed.py','and not ends_soon and not findings:','and not ends_soon and not findings and not through:')
sub('missed.py','findings += _through(view, row, at) or _needle_out','findings += through or _needle_out')
# arcs
sub('arcs.py','''    leaving = np.flatnonzero((view.numbers > on) & inward & (view.numbers <= end))
''','''    by_its_end = np.abs(apart(seen.radial_deg, last_deg)) < _LEAVES_DEG
    leaving = np.flatnonzero((view.numbers > on) & inward & by_its_end & (view.numbers <= end))
''')
sub('arcs.py','''_TURNING_OFF_DEG = 15.0''','''_LEAVES_DEG = 35.0  # before the end of the arc, where one may leave it; farther away a cut inwards is a correction
_TURNING_OFF_DEG = 15.0''')
sub('arcs.py','''    while begun < last and not view.turning[begun] and view.seen.time_s[begun] - view.seen.time_s[first] < 20.0:
        begun += 1
    if not view.turning[begun]:
        begun = first
''','''    along = np.abs(apart(view.seen.track_deg, view.seen.radial_deg + 90.0))
    straight_on = np.minimum(along, 180.0 - along) > _STRAIGHT_ON_DEG
    while (
        begun < last
        and not view.turning[begun]
        and (view.seen.time_s[begun] - view.seen.time_s[first] < 20.0 or straight_on[begun])
    ):
        begun += 1
    if not view.turning[begun]:
        begun = first
''')
sub('arcs.py','''_ELSEWHERE_S, _EL''','''_STRAIGHT_ON_DEG = 70.0  # so far off the arc's direction it is the leg before, flown on
_ELSEWHERE_S, _EL''')
# passage
sub('passage.py','''    if float(towards[-1]) < limit / 2 or float(back.min()) < limit / 2:''','''    taken_back = max(limit / 2, _TAKEN_BACK_SHARE * float(towards.max()))
    if float(towards[-1]) < limit / 2 or float(back.min()) < taken_back:''')
sub('passage.py','''_TAKEN_BACK_S = 25.0
''','''_TAKEN_BACK_S, _TAKEN_BACK_SHARE = 25.0, 0.35
''')
sub('passage.py','''    runs = [run for run in view.runs(towards & (view.numbers < nearest), _LONG_S) if run[1] <= nearest]
    if not runs:
        return []
''','''    runs = view.runs(towards & (view.numbers < nearest), _STEADY_S)
    if not runs or sum(run[2] for run in runs) < _LONG_S:  # a pause of the recording parts what was one way in
        return []
''')
sub('passage.py','''_LOOK_S, _LONG_S = 60.0, 40.0
''','''_LOOK_S, _LONG_S, _STEADY_S = 60.0, 40.0, 8.0
''')
# final speed
sub('final.py','''    slow = view.aircraft.threshold_kt if landed(view) else view.aircraft.final_kt
    judgement = speeds(view, row, np.where(chosen, slow, np.nan),''','''    slow = np.full(len(view.seen), view.aircraft.final_kt)
    if landed(view):  # threshold speed is for the way down to the runway
        left_ft = max(view.mda_ft - _UNDER_FT, view.procedure.airport.elevation_ft + _FLAP_BY_FT)
        slow[np.minimum.accumulate(np.where(chosen, view.seen.alt_ft, np.inf)) < left_ft] = view.aircraft.threshold_kt
    judgement = speeds(view, row, np.where(chosen, slow, np.nan),''')
sub('final.py','''_FROM_MDA_FT = 150.0
''','''_FROM_MDA_FT = 150.0
_UNDER_FT = 60.0  # so far below the MDA it has been left
''')
# tracking
sub('tracking.py','''    if found < _WEAVES:
        return None
''','''    if found < (_MEETING if wild else _WEAVES):
        return None
''')
