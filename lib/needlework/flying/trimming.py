"""Where a flight begins and ends in a recording: standing around is left out, two flights are two."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

import numpy as np

from needlework.basis.quantity import Floats

_STANDING_KT = 25.0  # slower than any flight and faster than taxiing
_LONG_S = 120.0  # standing this long is no part of a flight
_KEPT_S = 20.0  # of it, so that the landing and the take-off are whole
_GAP_S = 240.0  # nothing recorded for so long: another flight
_FEWEST = 10
_SHORTEST_S = 60.0


def _slow(arrays: Mapping[str, Floats]) -> np.ndarray:
    """Samples that stand, by the way made in the half minute round them."""
    time_s, lat, lon = arrays["time_s"], arrays["lat_deg"], arrays["lon_deg"]
    east = np.cos(np.deg2rad(lat)) * 60.0 * (np.mod(lon - lon[0] + 180.0, 360.0) - 180.0)
    north = 60.0 * lat
    reach = 15.0
    later = np.minimum(np.searchsorted(time_s, time_s + reach), len(time_s) - 1)
    earlier = np.maximum(np.searchsorted(time_s, time_s - reach, side="right") - 1, 0)
    took = np.maximum(time_s[later] - time_s[earlier], 1e-6)
    return np.asarray(
        np.hypot(east[later] - east[earlier], north[later] - north[earlier]) / took * 3600 < _STANDING_KT
    )


def _runs(mask: np.ndarray) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], mask.astype(np.int8), [0]])))
    return [(int(first), int(last) - 1) for first, last in zip(edges[::2], edges[1::2], strict=True)]


def parts(arrays: Mapping[str, Floats]) -> list[slice]:
    """Give the flights of a recording: cut where it pauses or stands for long, and trimmed of the standing."""
    time_s = arrays["time_s"]
    keep = np.ones(len(time_s), dtype=bool)
    for first, last in _runs(_slow(arrays)):
        if time_s[last] - time_s[first] < _LONG_S:
            continue
        inner = np.arange(first, last + 1)
        before = 0.0 if first == 0 else _KEPT_S
        after = 0.0 if last == len(time_s) - 1 else _KEPT_S
        out = (time_s[inner] > time_s[first] + before) & (time_s[inner] < time_s[last] - after)
        keep[inner[out]] = False
    gaps = np.concatenate([[False], np.diff(time_s) > _GAP_S])
    found = []
    for first, last in _runs(keep):
        starts = [first, *(int(at) for at in np.flatnonzero(gaps[first + 1 : last + 1]) + first + 1), last + 1]
        for begin, end in pairwise(starts):
            if end - begin >= _FEWEST and time_s[end - 1] - time_s[begin] >= _SHORTEST_S:
                found.append(slice(begin, end))
    return found


def flown(arrays: Mapping[str, Floats]) -> slice:
    """Give the samples from the first flight to the last one; everything where nothing flies."""
    found = parts(arrays)
    return slice(found[0].start, found[-1].stop) if found else slice(0, len(arrays["time_s"]))
