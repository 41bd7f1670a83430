"""Several approaches in one recording: told apart by what was flown, where no pause parts them.

Every time the final is flown down to the minimums is an approach. Where one ends and the next begins is
decided by the same prices as the legs are: the moment at which the missed approach up to it and the
approach after it are together the cheapest reading.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import numpy as np

from needlework.basis.errors import BadData
from needlework.debrief.indications import Seen, see
from needlework.debrief.pieces import along_across, come_down
from needlework.debrief.segments import flown_so_far, still_to_fly
from needlework.flying.tracklog import Track
from needlework.world.procedure import Procedure
from needlework.world.procedure_parts import along_nm

_LOW_FT = 350.0  # above the minimums or less, near the missed approach point: an approach was flown
_NEAR_NM, _BESIDE_NM = 1.0, 1.0
_SOONEST_S = 300.0  # no approach follows another one sooner
_CLIMBED_FT = 400.0  # between two approaches, at least
_TOUCHED_FT = 60.0
_ROLLED_S = 20.0


def approaches(track: Track, procedure: Procedure, category: str = "A") -> tuple[Track, ...]:
    """Give the approaches of a flight one by one; a flight of one approach comes back as it is.

    Times start anew with each. A track that has nothing to do with the procedure comes back as it is, too.
    """
    try:
        seen = see(track, procedure)
    except BadData:
        return (track,)
    flown = _down(seen, procedure, category)
    if len(flown) < 2:
        return (track,)
    cuts = [float(seen.time_s[0])]
    for (_, ended), (begun, _) in pairwise(flown):
        cuts.append(_between(track, seen, procedure, category, cuts[-1], ended, begun))
    found = []
    for number, (start, end) in enumerate(zip(cuts, [*cuts[1:], np.inf], strict=True), 1):
        part = track.part((track.time_s >= start) & (track.time_s < end))
        begun_s = float(part.time_s[0] - track.time_s[0])
        when = None if track.start_utc is None else track.start_utc + timedelta(seconds=begun_s)
        note = f"Approach {number} of {len(flown)} in the flight, from {begun_s / 60.0:,.0f} min on."
        found.append(replace(part, time_s=part.time_s - part.time_s[0], start_utc=when, notes=(*track.notes, note)))
    return tuple(found)


def _down(seen: Seen, procedure: Procedure, category: str) -> list[tuple[int, int]]:
    """First and last sample near the minimums of every approach, in flying order."""
    along, across = along_across(seen, procedure, procedure.final_course_deg)
    point = along_nm(procedure.fix("MAP"), procedure.final_course_deg)
    towards = np.cos(np.deg2rad(seen.track_deg - procedure.final_course_deg)) > 0.8
    low_ft = procedure.mda_ft(category) + _LOW_FT
    here = (np.abs(along - point) < _NEAR_NM) & (np.abs(across) < _BESIDE_NM) & towards & (seen.alt_ft < low_ft)
    here &= come_down(seen, procedure)
    found: list[tuple[int, int]] = []
    for at in np.flatnonzero(here):
        if found:
            first, last = found[-1]
            climbed_ft = float(seen.alt_ft[last : at + 1].max()) - low_ft + _LOW_FT
            if seen.time_s[at] - seen.time_s[last] < _SOONEST_S or climbed_ft < _CLIMBED_FT:
                found[-1] = first, int(at)
                continue
        found.append((int(at), int(at)))
    return found


def _between(
    track: Track, seen: Seen, procedure: Procedure, category: str, since_s: float, ended: int, begun: int
) -> float:
    """Time at which one approach ends and the next begins. [s]"""
    touched = seen.alt_ft[: begun + 1] < procedure.airport.elevation_ft + _TOUCHED_FT
    touched[:ended] &= seen.time_s[:ended] > seen.time_s[ended] - _ROLLED_S
    if touched[: ended + 1].any():  # touched down and off again: the next one begins on the runway
        return float(seen.time_s[int(np.flatnonzero(touched)[-1])])
    first = see(track.part((track.time_s >= since_s) & (track.time_s <= seen.time_s[begun])), procedure)
    second = see(track.part(track.time_s >= seen.time_s[ended]), procedure)
    so_far = flown_so_far(first, procedure, category)
    left = still_to_fly(second, procedure, category)
    choices = np.flatnonzero((first.time_s > seen.time_s[ended]) & (first.time_s < seen.time_s[begun]))
    both = so_far[choices - 1] + np.interp(first.time_s[choices], second.time_s, left)
    return float(first.time_s[choices[int(np.argmin(both))]])
