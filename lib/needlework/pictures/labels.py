"""Words beside points that keep clear of each other, of lines and of the edge."""

from __future__ import annotations

import dataclasses
import typing
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from needlework.pictures.style import figure_of, halo

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.text import Annotation

_SIDES = [(1, 1), (1, -1), (-1, 1), (-1, -1), (1, 0), (-1, 0), (0, 1), (0, -1)]
_ON_ANOTHER, _OFF_THE_AXES, _ON_A_LINE, _LATER_CHOICE = 60.0, 400.0, 3.0, 0.4


@dataclasses.dataclass
class _Label:
    text: Annotation
    places: list[tuple[float, float, float, float]]
    """Choices in order: anchor x, y in data, shift x, y in points."""


class Labels:
    """Collects labels, then puts each at the first of its places that is free.

    Parameters
    ----------
    ax : Axes
        Where the labels stand; draw the lines first, labels avoid what is there when they settle.
    """

    def __init__(self, ax: Axes) -> None:
        self.ax = ax
        self._labels: list[_Label] = []

    def beside(self, words: str, x: float, y: float, *, gap: float = 9.0, **style: typing.Any) -> None:
        """Add a label beside a point, on whichever side is free; ``gap`` in points."""
        shifts = [(gap * dx, gap * dy) for dx, dy in _SIDES]
        shifts += [(2.2 * gap * dx, 2.2 * gap * dy) for dx, dy in _SIDES]
        self.at(words, [(x, y)], shifts=shifts, **style)

    def at(
        self,
        words: str,
        anchors: Sequence[tuple[float, float]],
        *,
        shifts: Sequence[tuple[float, float]] = ((0.0, 0.0),),
        **style: typing.Any,
    ) -> None:
        """Add a label for one of several points, each with the same choice of shifts in points."""
        places = [(float(x), float(y), dx, dy) for dx, dy in shifts for x, y in anchors]
        x, y, dx, dy = places[0]
        text = self.ax.annotate(
            words,
            (x, y),
            (dx, dy),
            textcoords="offset points",
            annotation_clip=False,
            **{"zorder": 8, **halo(), **style},
        )
        self._labels.append(_Label(text, places))

    def settle(self) -> None:
        """Place every label, in the order given."""
        figure = figure_of(self.ax)
        figure.draw_without_rendering()
        points = figure.dpi / 72
        crowd = _crowd(self.ax)
        frame = self.ax.get_window_extent()
        taken = [
            other.get_window_extent()
            for other in self.ax.texts
            if other.get_text() and all(other is not label.text for label in self._labels)
        ]
        for label in self._labels:
            best: tuple[float, typing.Any] = (np.inf, None)
            for rank, (x, y, dx, dy) in enumerate(label.places):
                label.text.xy = (x, y)
                label.text.set_position((dx, dy))
                label.text.set_horizontalalignment("left" if dx > 0.5 else "right" if dx < -0.5 else "center")
                label.text.set_verticalalignment("bottom" if dy > 0.5 else "top" if dy < -0.5 else "center")
                box = label.text.get_window_extent().padded(1.5 * points)
                inside = (
                    (crowd[:, 0] > box.x0) & (crowd[:, 0] < box.x1) & (crowd[:, 1] > box.y0) & (crowd[:, 1] < box.y1)
                )
                cost = _ON_A_LINE * np.count_nonzero(inside) + _LATER_CHOICE * rank
                cost += _ON_ANOTHER * sum(box.overlaps(other) for other in taken)
                if not (frame.x0 <= box.x0 and box.x1 <= frame.x1 and frame.y0 <= box.y0 and box.y1 <= frame.y1):
                    cost += _OFF_THE_AXES
                if cost < best[0]:
                    best = (cost, (x, y, dx, dy, box))
            x, y, dx, dy, box = best[1]
            label.text.xy = (x, y)
            label.text.set_position((dx, dy))
            label.text.set_horizontalalignment("left" if dx > 0.5 else "right" if dx < -0.5 else "center")
            label.text.set_verticalalignment("bottom" if dy > 0.5 else "top" if dy < -0.5 else "center")
            taken.append(box)
        self._labels.clear()


def _crowd(ax: Axes) -> NDArray[np.float64]:
    """Points every few pixels along everything drawn, in display coordinates."""
    found = [np.empty((0, 2))]
    outlines: list[NDArray[np.float64]] = [line.get_transform().transform(line.get_xydata()) for line in ax.lines]
    outlines += [
        np.asarray(ring)
        for patch in ax.patches
        for ring in patch.get_transform().transform_path(patch.get_path()).to_polygons()
    ]
    for outline in outlines:
        outline = outline[np.isfinite(outline).all(axis=1)]
        if len(outline) < 2:
            found.append(outline)
            continue
        lengths = np.hypot(*np.diff(outline, axis=0).T)
        along = np.concatenate([[0.0], np.cumsum(lengths)])
        steps = np.linspace(0, along[-1], min(4000, int(along[-1] / 5) + 2))
        found.append(np.column_stack([np.interp(steps, along, outline[:, axis]) for axis in (0, 1)]))
    return np.vstack(found)
