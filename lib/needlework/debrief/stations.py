"""Judges of the receivers: heard before used, the course set, flags and distances that are there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from needlework.debrief.evidence import View
from needlework.debrief.findings import Finding, Judgement, apart, not_judged, worst_only
from needlework.debrief.rubric import Row

_AFTER_TURN_S = 25.0  # a selector may be turned a little after the leg has begun
_WRONG_S = 15.0
_GONE_S = 10.0
_NOT_PROMPT = 1.5  # times what is prompt: away from the station, where the needle was to be used


def turned_round(view: View, row: Row) -> Judgement:
    """The approach is flown on its own side of the station."""
    if view.split.no_approach:
        return not_judged(row, "No leg of the approach was recorded.")
    if not view.split.mirrored:
        return view.judged(row, [])
    first = next((span for span in view.spans() if span.piece.leg is not None), None)
    if first is None:
        into, out = (piece.course_deg for piece in view.split.pieces)
        what = f"flown from the other end: in on {into:03.0f}, out on {out:03.0f}; both courses were reversed."
        run = (0, len(view.seen) - 1, float(view.seen.time_s[-1] - view.seen.time_s[0]))
        return view.judged(row, [view.finding(row, run, 180.0, "deg", what, error=9)])
    run = (first.first, len(view.seen) - 1, float(view.seen.time_s[-1] - view.seen.time_s[first.first]))
    what = "the whole approach was flown on the opposite side of the station: every course was reversed."
    return view.judged(row, [view.finding(row, run, 180.0, "deg", what, error=9)])


def identified(view: View, row: Row) -> Judgement:
    """The station is heard before it is used."""
    if (other := view.split.about) is not None:
        first = next(span.first for span in view.spans() if span.piece.leg is not None)
        run = (first, len(view.seen) - 1, float(view.seen.time_s[-1] - view.seen.time_s[first]))
        own = view.procedure.station
        what = (
            f"the whole approach was flown about {other.name}, {other.ident}, and not about {own.name}, {own.ident}."
        )
        return view.judged(row, [view.finding(row, run, run[2], "s", what, error=1)])
    if "identified" not in view.seen.recorded:
        return not_judged(row, "The recording does not say whether a station was heard.")
    heard = ~(view.seen.columns["identified"] < 1)  # where nothing was recorded, nothing is held against anybody
    used = ~view.mask("before", "after")
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
    findings: list[Finding] = []
    judged = False
    for span in view.spans():
        course = span.piece.course_deg
        if span.piece.kind not in ("radial", "out") or course is None:
            continue
        limit = row.limit["final_deg" if span.piece.segment == "final" else "limit_deg"]
        right = view.set_course(course, limit)
        if right is None:
            return not_judged(row, "The recording does not hold the course selectors.")
        late = span.first + view.samples(_AFTER_TURN_S) <= view.numbers
        usable = view.inside(span) & view.readable & late
        judged |= bool(usable.any())
        for run in view.runs(usable & ~right, _WRONG_S)[:1]:
            first = "course_1_deg" if "course_1_deg" in view.seen.recorded else "course_2_deg"
            shown = float(view.seen.columns[first][run[0]])
            off = abs(float(apart(shown, course)))
            error, cause = 9, "a wrong course set"
            if span.piece.segment == "missed":
                error, cause = 49, ""
            elif abs(float(apart(shown, course + 180.0))) <= limit:
                cause = ""
            elif span.piece.start_nm == 0.0 and span.piece.segment != "final":
                error, cause = 12, ""
            what = f"{course:03.0f} was flown with {shown:03.0f} on the selector for {run[2]:.0f} s."
            found = view.finding(row, run, off, "deg", what, cause=cause, error=error)
            findings.append(replace(found, failed=error == 12 and run[2] >= _NOT_PROMPT * view.rubric.prompt_s))
    if not judged:
        return not_judged(row, "No leg was flown long enough to tell.")
    return view.judged(row, findings)


def flags(view: View, row: Row) -> Judgement:
    """On the final a blank flag, or a DME that does not read, ends the approach."""
    seen = view.seen
    held = [name for name in ("flag_1", "flag_2") if name in seen.recorded]
    has_distance = "dme_nm" in seen.recorded and view.procedure.map_by_dme
    if not held and not has_distance:
        return not_judged(row, "The recording holds neither flags nor the DME.")
    final = view.mask("final") & ~view.near
    if view.climb_at is not None:
        final[view.climb_at :] = False
    if not final.any():
        return not_judged(row, "The final was not flown.")
    findings = []
    if held:
        off = np.all([seen.columns[name] == 0 for name in held], axis=0)
        findings += [
            view.finding(row, run, run[2], "s", f"flag blank for {run[2]:.0f} s, and flown on.", error=56)
            for run in view.runs(final & off, _GONE_S)
        ]
    if has_distance:
        lost = np.isnan(seen.columns["dme_nm"])
        findings += [
            view.finding(
                row, run, run[2], "s", f"the DME did not read for {run[2]:.0f} s, and flown on down.", error=56
            )
            for run in view.runs(final & lost, _GONE_S)
        ]
    return view.judged(row, worst_only(findings))
