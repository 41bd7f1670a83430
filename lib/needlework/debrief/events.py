"""One event, one finding: what several rows saw of the same thing is said once, by the cause that explains most.

Which row explains which others is a short table, and not a matter of points: a wrong way round explains
a distance that was not kept, a wrong course set explains a needle that left. A finding is taken up by
another one when the table says so and when it lies within the other's time, or a little after it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from needlework.debrief.findings import Finding

TOO_WEAK = "too little climb"
_SOON_S = 30.0
_WHOLE = 1e9
_EVER = math.inf  # before it as well
_GREW_NM = 0.25
_FAST_FPM = 1300.0  # three degrees at a ground speed of half as much again as usual, and a little more
_PASSING_S, _BACK_S_DEG = 60.0, 12.0
_LEADS_IN_S = 240.0  # of the leg before the final, on which its speed is taken up
_LANDS_S = 60.0  # from the dive to the wheels
_DIVES_S = 10.0
# So far off the arc, the next line is met where nothing is drawn.
_MILES_NM, _BEYOND_S = 2.0, 240.0

# What a full circle breaks as it goes round, and on the way back to the line.
_OF_A_CIRCLE = (
    *("needle_before_final", "needle_final", "full_scale", "cone", "outbound", "wind", "way_round", "arc_join"),
    *("arc", "floor/65", "turn_side", "turn_heading", "turn_time", "level"),
    *("to_final", "established_first", "gate", "decision", "missed_turn", "missed_side", "missed_track", "gradient"),
)

# Row: the rows whose findings it explains, and for how long after it [s].
# "row/error" is that row with that error only, on either side.
_EXPLAINS: dict[str, dict[str, float]] = {
    "floor/68": dict.fromkeys(
        (
            "floor",
            "established_first",
            "mda/68",
            "circling/68",
            "missed_turn",
            "after_missed_floor",
            "level",
            "sink",
            "vdp",
            "path_low",
        ),
        _EVER,  # one setting, from the first descent on
    ),
    "circle": dict.fromkeys(_OF_A_CIRCLE, 90.0),
    "floor/94": {"established_first": _SOON_S, "level": _SOON_S},  # so low before: no descent of its own
    "arc_join/79": {
        **dict.fromkeys(("arc", "to_final", "floor/28", "floor/65"), _WHOLE),
        **dict.fromkeys(("needle_before_final", "circle"), 0.0),
    },
    "to_final/31": {"needle_before_final/63": _SOON_S, "arc": _SOON_S, "gate": 240.0},
    "needle_final/63": {"needle_before_final": _SOON_S, "to_final": _SOON_S, "full_scale": _SOON_S, "gate": _SOON_S},
    "reversed": dict.fromkeys(
        ("course_set", "way_round", "outbound", "needle_before_final", "needle_final", "arc_join", "arc"), _WHOLE
    ),
    "needle_before_final/19": {"outbound/81": _WHOLE, "outbound/16": _WHOLE, "cone": _SOON_S},
    "outbound/9": {
        "needle_before_final": 240.0,
        "cone": _SOON_S,
        "course_set/12": _SOON_S,
        "arc_join/79": _WHOLE,
    },
    "needle_before_final/18": {"outbound/81": _WHOLE},
    # Of the leg that was flown beside it, nothing was left for its own time.
    "outbound/63": {**dict.fromkeys(("needle_before_final/63", "turn_heading"), _WHOLE), "turn_time": _EVER},
    "outbound/95": {"cone": 120.0},
    "outbound/16": {"needle_before_final": 150.0, "cone": _SOON_S},
    "outbound/81": {"needle_before_final": 150.0, "cone": _SOON_S},
    "to_final/30": {"needle_before_final/63": 60.0},
    "needle_before_final/63": {"to_final": _SOON_S, "established_first": _SOON_S},
    "needle_before_final/9": {"to_final": _SOON_S, "outbound/81": _WHOLE, "established_first": _SOON_S},
    "way_round": {
        "arc_join": _WHOLE,
        "arc": _WHOLE,
        "to_final": _WHOLE,
        "arc_final_course": _WHOLE,
        "outbound": 60.0,
    },
    "turn_side": {"to_final": _WHOLE, "turn_limit": 0.0, "established_first": _SOON_S, "turn_heading": _WHOLE},
    "turn_side/83": {"turn_time": _WHOLE, "to_final": _WHOLE, "established_first": _WHOLE},
    "turn_side/88": {"cone": _WHOLE, "turn_heading": _WHOLE, "established_first": _WHOLE},
    "turn_heading": {"turn_time": _WHOLE, "to_final": _WHOLE},
    "turn_time": {"cone/13": _WHOLE, "established_first": _WHOLE},
    "turn_limit": {"to_final": _SOON_S, "turn_time": _EVER},  # so far out, whatever the clock said
    "course_set": {
        "needle_before_final": 90.0,
        "needle_final": 90.0,
        "full_scale": 90.0,
        "to_final": 60.0,
        "gate": 0.0,
    },
    "cone": {"needle_before_final": 90.0, "outbound": 60.0},
    "outbound/12": {"turn_time": _WHOLE, "needle_before_final": 240.0, "cone": _SOON_S, "course_set/12": _SOON_S},
    "arc/78": {"arc_join/20": _SOON_S},
    "arc/25": {"arc_join/20": _SOON_S},
    "arc/26": {"arc_join/20": _SOON_S},
    "arc/27": {"arc_join/20": _SOON_S, "floor/65": _BEYOND_S},
    "arc/22": {"floor/28": _BEYOND_S, "floor/65": _BEYOND_S},
    "to_final/9": {"floor/28": _BEYOND_S, "floor/65": _BEYOND_S},
    "arc_join": {"arc": 150.0, "level": 0.0},
    "arc": {"to_final": 0.0},
    "to_final": {
        "needle_before_final": 150.0,
        "established_first": _SOON_S,
        "needle_final": 60.0,
        "full_scale": 60.0,
    },
    "established_first": {"floor": _SOON_S},
    "needle_before_final": {
        "wind": _WHOLE,
        "to_final": _SOON_S,
        "established_first": _SOON_S,
        "arc_join": _SOON_S,
        "needle_before_final/7": _SOON_S,
        "full_scale": _SOON_S,
    },
    "needle_final": {
        "outbound/81": 60.0,
        "outbound/8": 60.0,
        "outbound/10": 60.0,
        "wind": _WHOLE,
        "full_scale": _SOON_S,
        "gate": _SOON_S,
    },
    "cone/11": {
        **dict.fromkeys(("needle_final/7", "needle_final/10", "full_scale", "gate"), 90.0),
        "turn_time": 60.0,
    },
    "needle_final/15": dict.fromkeys(("full_scale", "gate", "decision", "cone", "outbound"), _SOON_S),
    "full_scale": {"wind": _WHOLE, "gate": _SOON_S},
    "floor/6": dict.fromkeys(("floor/6", "mda/6", "vdp/6", "missed_turn/6", "after_missed_floor/6"), _WHOLE),
    "mda/46": {"decision": 90.0, "gradient": 90.0, "after_missed_floor": 90.0},
    "sink/73": dict.fromkeys(("floor", "vdp", "gate", "mda", "mda_high", "path_low", "touchdown"), _SOON_S),
    "floor": {"level": _SOON_S, "established_first": _SOON_S, "sink": 0.0},
    "gear": {"ready": _WHOLE, "gate": _WHOLE},
    "ready": {"gate": _WHOLE, "speed_final": _SOON_S},
    "speed_final": {"gate": _SOON_S, "ready": _SOON_S, "sink": _SOON_S, "speed_before_final": 0.0},
    "sink": {"gate": _SOON_S, "mda": 0.0, "touchdown": _LANDS_S},
    "in_sight": {"vdp": _WHOLE, "sink": _WHOLE, "path_low": _WHOLE},
    "vdp": {"sink": _SOON_S, "path_low": _WHOLE},
    "path_low": {"sink": _SOON_S},
    "fix_high": {"mda_high/100": _WHOLE},
    "mda_high/68": {"after_missed_level/68": _EVER, "gate": _WHOLE},
    "circling/75": {"mda/75": _EVER, "path_low": _WHOLE},  # the same altitude, from the final on
    "mda/75": {"floor": _SOON_S},
    "circling/96": {"path_low": _WHOLE},
    "circling/97": {"circling/99": _WHOLE},
    "circling/99": {"circling/96": _WHOLE, "path_low": _WHOLE},  # on a leg so far out the way down is begun too soon
    "mda": {"vdp": _SOON_S, "in_sight": _SOON_S, "sink": 0.0},
    "missed_turn": {"missed_track": 120.0, "gradient": 0.0},
    "missed_side": {"missed_turn": _SOON_S, "missed_track": _WHOLE, "hold_entry": _WHOLE, "gradient": _SOON_S},
    "decision/38": {"missed_turn/45": _WHOLE, "mda_high/41": 0.0},
    "decision": {"missed_turn": _SOON_S},
    "speed_after_missed": {"gradient": _SOON_S},
    "gradient": {"after_missed_floor/71": _WHOLE, "decision/44": 0.0},
    "after_missed_floor": {"gradient": _SOON_S},
    "after_missed_floor/86": dict.fromkeys(("after_missed_floor/71", "after_missed_floor/60"), 240.0),
    "missed_turn/85": {"missed_track": _WHOLE, "hold_entry": _WHOLE},
    "missed_track": {"hold_entry": _SOON_S},
    "hold_side": {"hold_entry": _WHOLE, "hold_wind": _WHOLE, "hold_leg": _WHOLE, "hold_track": _WHOLE},
    # The entry was flown about that line, too.
    "hold_track/63": {"hold_wind": _WHOLE, "hold_entry": _EVER, "hold_leg": _WHOLE},
    "hold_entry/84": {"hold_leg/52": 0.0, "hold_leg/84": _WHOLE},
    "hold_entry": {"hold_wind": 0.0},
    "hold_leg": {"hold_entry": _WHOLE},
    "hold_wind": {"hold_track": _WHOLE, "hold_entry/51": _WHOLE},
}


def merged(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Give findings that are sure, in flying order, with each event said once."""
    kept = sorted(findings, key=lambda finding: finding.start_s)
    for key, explained in _EXPLAINS.items():
        row, _, error = key.partition("/")
        for finding in [one for one in kept if one.row == row and error in ("", str(one.error))]:
            if finding not in kept:
                continue
            taken = [one for one in kept if one is not finding and _same(finding, one, explained)]
            if not taken:
                continue
            also = tuple(
                dict.fromkeys((*finding.also, *(what.rstrip(".") for one in taken for what in (one.what, *one.also))))
            )
            stronger = replace(
                finding,
                also=also,
                critical=finding.critical or any(one.critical for one in taken),
                failed=finding.failed or any(one.failed for one in taken),
            )
            kept = [stronger if one is finding else one for one in kept if not any(one is gone for gone in taken)]
    return tuple(kept)


def _same(finding: Finding, other: Finding, explained: dict[str, float]) -> bool:
    """Whether another finding belongs to the event of this one."""
    if (finding.row, finding.error, other.row, other.error) == ("hold_leg", None, "hold_entry", 84):
        return True  # laps about another place: it was flown to on purpose
    if other.row == "hold_entry" and finding.row in ("hold_side", "hold_leg", "hold_wind"):
        # From the fix on the wrong hand, too far or with no wind laid off: the entry was where it began.
        whole = finding.critical or finding.unit == "circles" or (finding.row, other.error) == ("hold_wind", 51)
        return finding.row == "hold_side" or whole
    if (finding.row, other.row) == ("turn_side", "turn_time"):
        return finding.error == 83  # no leg of the turn was flown: all of its time went into the one before
    if (finding.row, other.row) == ("hold_leg", "missed_track"):
        return other.part == "hold"  # the radial was still on its way to a fix that was never reached
    if (finding.row, other.row) == ("decision", "mda_high"):
        return finding.start_s == other.start_s  # one climb
    after = explained.get(other.row, explained.get(f"{other.row}/{other.error}"))
    if after is None or after == _EVER:
        return after == _EVER
    if finding.row == "arc" and other.row == "arc_join" and finding.error == 26:
        return True  # a weave begins where the arc does, wherever it was widest
    if finding.row == "arc" and other.row == "arc_join":  # grew after the turn, or was held on purpose
        if finding.error != 78 and finding.worst < other.worst + _GREW_NM:
            return False
        return other.start_s <= finding.start_s + after and other.end_s >= finding.start_s - _SOON_S
    if finding.row == "arc" and other.row == "floor" and finding.worst < _MILES_NM:
        return False
    if finding.row == "speed_final" and other.row == "sink" and (finding.error != 32 or other.worst > _FAST_FPM):
        return False  # what the speed makes of the path is no dive
    if {finding.row, other.row} == {"sink", "mda"}:
        dive = finding if finding.row == "sink" else other
        if (dive.length_s >= _DIVES_S) != (finding is dive):
            return False  # a long dive led below the minimums; of a short one that is the matter
    if (finding.row, other.row) == ("speed_after_missed", "gradient") and TOO_WEAK in other.cause:
        return False  # with so little climb no speed would do
    if finding.row == "speed_final" and other.row == "speed_before_final":  # one speed, kept on past the final fix
        return finding.start_s - _LEADS_IN_S <= other.start_s and other.end_s > finding.start_s - _PASSING_S
    if finding.row == "gradient" and other.row == "decision" and (other.critical or other.failed):
        return False  # so late it is no look of a shallow climb
    # The farther through, the longer the way back.
    passing_s = max(_PASSING_S, _BACK_S_DEG * finding.worst) if finding.unit == "deg" else _PASSING_S
    if finding.row == "to_final" and other.row == "needle_before_final":
        left_arc = finding.error == 31 and finding.unit == "NM"  # and on the way to the line ever since
        if other.error == 63 and finding.error == 31 and not left_arc:
            return False  # the line was flown beside, and no arc left too soon
        if other.length_s > passing_s and not left_arc:
            return False  # so long beside it is no overshoot
    if finding.row == "needle_before_final" and finding.error == 63 and (other.row, other.error) == ("to_final", 30):
        # On the way to another line the published one was met and flown through.
        return finding.part == "intermediate" and other.start_s <= finding.end_s
    if other.row == "wind":  # a matter of the whole flight: the same cause, wherever it was said
        return other.error == finding.error
    return finding.start_s - _SOON_S <= other.start_s <= finding.end_s + after or (
        other.start_s <= finding.start_s <= other.end_s
    )
