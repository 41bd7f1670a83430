"""A station passage as a recorder would have caught it, with four moments to choose from."""

from __future__ import annotations

import typing

import numpy as np

from needlework.basis.quantity import Floats
from needlework.showing.pictures.show import shown
from needlework.showing.pictures.strips import draw_strips
from needlework.trade import vor
from needlework.trade.dme import slant_nm

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes

_COURSE_DEG = 130.0
_HEIGHT_FT = 2500.0
_GS_KT = 90.0
_HALF_ANGLE_DEG = 40.0
_FLICKER_S = 2


def passage_record(seed: int = 7) -> tuple[Floats, dict[str, typing.Any], dict[str, float]]:
    """Make two minutes of readings of a passage a little to one side, and the four moments A to D.

    Parameters
    ----------
    seed : int
        Which waves the needle has.

    Returns
    -------
    tuple
        Times [s]; columns needle_deg, flag, dme_nm; moments by letter [s].
    """
    time = np.arange(0.0, 121.0, 1.0)
    along = (time - 55.0) * _GS_KT / 3600.0
    beside = 0.07 * np.clip((1.15 - along) / 1.2, -0.3, 1.0)
    distance = np.hypot(along, beside)
    # Facing along the course the aircraft is left of the line: the needle stands to the right.
    radial = _COURSE_DEG + np.rad2deg(np.arctan2(-beside, along))
    wanted = np.asarray(vor.needle_deg(radial_deg=radial, selected_course_deg=_COURSE_DEG)) + np.asarray(
        vor.scalloping_deg(time_s=time, seed=seed, amplitude_deg=2.0)
    )
    needle = np.zeros_like(time)
    needle[0] = wanted[0]
    for i in range(1, time.size):
        needle[i] = float(vor.lagged_deg(shown_deg=float(needle[i - 1]), wanted_deg=float(wanted[i]), dt_s=1.0))
    inside = np.asarray(vor.in_cone(dist_nm=distance, height_ft=_HEIGHT_FT, half_angle_deg=_HALF_ANGLE_DEG))
    flag = np.where(inside, "NONE", np.asarray(vor.flag(radial_deg=radial, selected_course_deg=_COURSE_DEG))).astype(
        object
    )
    first = int(np.flatnonzero(inside)[0])
    last = int(np.flatnonzero(inside)[-1])
    # At the edge of the cone the signal comes and goes.
    flag[first + _FLICKER_S : first + 2 * _FLICKER_S] = "TO"
    flag[last - 2 * _FLICKER_S : last - _FLICKER_S] = "FROM"
    centred = int(np.flatnonzero((time > time[last] + 5) & (np.abs(needle) < 0.7))[0])
    wander = int(np.flatnonzero(np.abs(needle) > 6.5)[0])
    moments = {"A": time[wander], "B": time[first], "C": time[last + 1], "D": time[centred]}
    columns = {
        "needle_deg": np.clip(needle, -10, 10),
        "flag": flag,
        "dme_nm": np.asarray(slant_nm(ground_nm=distance, height_ft=_HEIGHT_FT)),
    }
    return time, columns, {letter: float(when) for letter, when in moments.items()}


def draw_passage_strip() -> list[Axes]:
    """Draw the recorded passage with the moments A to D named above the strips.

    Returns
    -------
    list of Axes
        One per reading, as :func:`needlework.showing.pictures.draw_strips` returns them.
    """
    time, columns, moments = passage_record()
    return draw_strips(time, columns, marks=[(when, letter) for letter, when in moments.items()])


show_passage_strip = shown(draw_passage_strip)
