"""Missed approaches as they were flown, side by side, against the final and the radial outbound."""

from __future__ import annotations

import typing
from collections.abc import Mapping

import numpy as np

from needlework.basis.errors import OutOfRange
from needlework.showing.pictures.paths import Path
from needlework.showing.pictures.plan_view import Way, draw_aircraft, draw_station, xy_nm
from needlework.showing.pictures.procedures import frame
from needlework.showing.pictures.show import shown
from needlework.showing.pictures.style import LINES, PALETTE, caution, halo, new_figure, styled, tell
from needlework.showing.pictures.words import short_radial, spoken_radial
from needlework.trade.angles import difference_deg

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes

    from needlework.world.procedure import Procedure


@styled
def draw_ways_out(tracks: Mapping[str, Way], procedure: Procedure) -> list[Axes]:
    """Draw flown missed approaches side by side, magnetic north up: one picture a track, without a judgement.

    Parameters
    ----------
    tracks : mapping of letter to (radials_deg, dists_nm)
        What was flown, from the final on.
    procedure : Procedure
        Whose missed approach it was; it must lead to a radial.

    Returns
    -------
    list of Axes
        One a track; lines "final course", "radial", "track", point "MAP".
    """
    radial, course = procedure.missed.intercept_radial_deg, procedure.final_course_deg
    if radial is None:
        raise OutOfRange(f"The missed approach of {procedure.name} leads to no radial: expected one that does")
    point = procedure.fix("MAP")
    map_x, map_y = (float(value) for value in xy_nm(point.radial_deg, point.dist_nm))
    paths = {letter: Path(*(np.asarray(v) for v in xy_nm(*way))) for letter, way in tracks.items()}
    reach = max(float(np.max(np.asarray(dists))) for _, dists in tracks.values())
    line = Path(*(np.asarray(v) for v in xy_nm(radial, np.array([0.0, reach]))))
    final = Path(*(np.asarray(v) for v in xy_nm(point.radial_deg, np.array([0.0, point.dist_nm + 2.5]))))
    figure = new_figure(9.6, 3.9)
    drawn = []
    for index, (letter, path) in enumerate(paths.items()):
        ax = figure.add_subplot(1, len(paths), index + 1)
        frame(ax, [*paths.values(), line, final])
        ax.set(xticks=[], yticks=[])
        ax.plot(final.x, final.y, label="final course", **LINES["course"])
        ax.plot(line.x, line.y, label="radial", **LINES["radial"])
        ax.plot(path.x, path.y, label="track", zorder=4, **LINES["track"])
        ax.plot(
            map_x, map_y, label="MAP", marker="^", markersize=10, color=PALETTE["ink"], markerfacecolor="white",
            linestyle="", zorder=5,
        )  # fmt: skip
        draw_station(ax, size=0.4)
        last = float(np.rad2deg(np.arctan2(path.x[-1] - path.x[-2], path.y[-1] - path.y[-2])))
        draw_aircraft(ax, *path.end, last, length=1.0)
        ax.annotate("MAP", (map_x, map_y), (-12, -12), textcoords="offset points", ha="right", fontsize=10, **halo())
        ax.annotate(
            short_radial(radial), (line.x[-1], line.y[-1]), (6, 6), textcoords="offset points",
            fontsize=10, color=PALETTE["radial text"], **halo(),
        )  # fmt: skip
        ax.set_title(letter, loc="left", fontsize=16)
        tell(ax, _words(letter, path, (map_x, map_y), course, radial))
        drawn.append(ax)
    caution(drawn[0])
    return drawn


def _words(letter: str, path: Path, point: tuple[float, float], course_deg: float, radial_deg: float) -> str:
    """Say what a track does, not what is wrong with it."""
    track = np.rad2deg(np.arctan2(np.diff(path.x), np.diff(path.y)))
    left = int(np.argmax(np.abs(np.asarray(difference_deg(from_deg=course_deg, to_deg=track))) > 20.0))
    angle = np.deg2rad(course_deg)
    ahead = (path.x[left] - point[0]) * np.sin(angle) + (path.y[left] - point[1]) * np.cos(angle)
    where = (
        "at the missed approach point"
        if abs(ahead) < 0.3
        else f"{abs(ahead):.1f} NM {'past' if ahead > 0 else 'before'} the missed approach point"
    )
    side = (
        "right"
        if float(difference_deg(from_deg=course_deg, to_deg=track[min(left + 3, len(track) - 1)])) > 0
        else "left"
    )
    end = float(np.rad2deg(np.arctan2(path.x[-1], path.y[-1])))
    off = float(difference_deg(from_deg=radial_deg, to_deg=end))
    wanted = spoken_radial(radial_deg)
    ends = f"on {wanted}" if abs(off) < 5.0 else f"{abs(off):.0f} degrees beyond {wanted}"
    return f"{letter}: leaves the final {where}, turning {side}, and ends {ends}."


show_ways_out = shown(draw_ways_out)
