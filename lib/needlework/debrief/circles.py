"""Judge of what no leg asks for: a full circle flown on the way in, or in the climb of a missed approach."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from needlework.basis.quantity import Floats
from needlework.debrief.evidence import View
from needlework.debrief.findings import Judgement, Run, not_judged
from needlework.debrief.rubric import Row

_CIRCLE_DEG, _CIRCLE_S = 330.0, 240.0  # at half the standard rate a full turn takes this long
_TIGHT_S = 150.0
_FLYING_KT = 45.0
_MOST_OF_IT_DEG, _TURNING_DEG_S = 210.0, 0.8  # no leg begins or ends with so much
_ORBIT_S = 45.0  # between the end of one circle and the next, which is one orbit more


def circle(view: View, row: Row) -> Judgement:
    """No full circle on a leg: nobody expects it there, and nothing beside the line is promised to be clear."""
    if view.split.no_approach:
        return not_judged(row, "No leg of the approach was recorded.")
    findings = []
    for (first, last, length), side, times in _joined(view):
        count = "a full circle" if times == 1 else f"{times} full circles"
        what = f"{count} to the {side}, which the procedure does not ask for."
        span = next(span for span in view.spans() if span.first <= first <= span.last)
        low = span.piece.segment in ("final", "missed")
        found = view.finding(row, (first, last, length), 360.0 * times, "deg", what, error=91, critical=low)
        findings.append(replace(found, failed=True))
    if not findings and _nearly(view):
        return not_judged(row, "Most of a circle was turned where less would have done: another row's matter.")
    return view.judged(row, findings)


def _nearly(view: View) -> bool:
    """Whether most of a circle was turned in one go on the way in, out of a procedure turn."""
    seen = view.seen
    legs = view.mask("initial", "intermediate", "final")
    begins_s = float(seen.time_s[int(np.argmax(legs))])  # the turn at the first fix is cut in two there
    legs |= view.mask("before") & (seen.time_s > begins_s - _TIGHT_S) & (seen.time_s < begins_s)
    for span in view.spans():
        if span.piece.kind in ("procedure turn", "timed"):
            legs[span.slice] = False
    turned = np.unwrap(seen.track_deg, period=360.0)
    for first, last, _ in view.runs(legs & (np.abs(seen.turn_deg_s) > _TURNING_DEG_S)):
        if abs(turned[last] - turned[first]) > _MOST_OF_IT_DEG:
            return True
    return False


def _joined(view: View) -> Iterator[tuple[Run, str, int]]:
    """Circles one after another as one event: run, side and how many."""
    seen, before = view.seen, None
    for first, last, side in _circles(view):
        if before is not None and side == before[1] and seen.time_s[first] - seen.time_s[before[0][1]] < _ORBIT_S:
            whole = before[0][0], last, float(seen.time_s[last] - seen.time_s[before[0][0]])
            before = whole, side, before[2] + 1
            continue
        if before is not None:
            yield before
        before = (first, last, float(seen.time_s[last] - seen.time_s[first])), side, 1
    if before is not None:
        yield before


def _circles(view: View) -> Iterator[tuple[int, int, str]]:
    """First and last sample and side of every full circle of which no leg of the procedure asks."""
    seen = view.seen
    # At a walk the noise of the positions goes round as well.
    on_the_way = view.mask("initial", "intermediate", "final", "missed") & (seen.gs_kt > _FLYING_KT)
    turns_too = np.zeros(len(seen), dtype=bool)  # a procedure turn and the turns before and after it take longer
    for span in view.spans():
        if span.piece.kind in ("procedure turn", "timed"):
            turns_too[span.slice] = True
    turned = np.cumsum(np.diff(np.unwrap(seen.track_deg, period=360.0), prepend=seen.track_deg[0]))
    free_from_s = -np.inf
    if not on_the_way.any() or np.ptp(turned[on_the_way]) < _CIRCLE_DEG:
        return
    for at in np.flatnonzero(on_the_way):
        if seen.time_s[at] < free_from_s or (last := _round_by(seen.time_s, turned, int(at))) is None:
            continue
        # A turn that leads up to it is no part of it: the circle is where it goes round soonest.
        begun = int(at)
        for later in range(begun + 1, last):
            ends = _round_by(seen.time_s, turned, later)
            if ends is None:
                break
            if seen.time_s[ends] - seen.time_s[later] < seen.time_s[last] - seen.time_s[begun]:
                begun, last = later, ends
        if not on_the_way[begun : last + 1].all():
            continue
        if turns_too[begun : last + 1].any() and seen.time_s[last] - seen.time_s[begun] > _TIGHT_S:
            continue
        yield begun, last, "right" if turned[last] > turned[begun] else "left"
        free_from_s = float(seen.time_s[last])


def _round_by(time_s: Floats, turned_deg: Floats, at: int) -> int | None:
    """Sample by which a full circle has been turned since another one; None where it is not, in its time."""
    end = int(np.searchsorted(time_s, time_s[at] + _CIRCLE_S))
    reached = np.flatnonzero(np.abs(turned_deg[at:end] - turned_deg[at]) >= _CIRCLE_DEG)
    return at + int(reached[0]) if len(reached) else None
