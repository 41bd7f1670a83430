"""Words beside points that keep clear of each other, of lines and of the edge."""

from __future__ import annotations

import dataclasses
import typing
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from needlework.showing.pictures.style import figure_of, halo

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.text import Annotation

_SIDES = [(1, 1), (1, -1), (-1, 1), (-1, -1), (1, 0), (-1, 0), (0, 1), (0, -1)]
_ROUND = [(float(np.cos(a)), float(np.sin(a))) for a in np.deg2rad(np.arange(22.5, 382.5, 22.5))]
_ON_ANOTHER, _OFF_THE_AXES, _ON_A_LINE, _LATER_CHOICE = 60.0, 400.0, 3.0, 0.4
_AT_ANOTHER = 300.0
"""A label nearer to a stranger's symbol than to its own says something false: dearer than any crowding."""
_CLEARLY = 0.6
"""Its own symbol is at most this share of the distance to any other."""
_LEADER_FROM = 2.6
"""Farther from its symbol than so many gaps, a label gets a line that leads there."""


@dataclasses.dataclass
class _Label:
    text: Annotation
    places: list[tuple[float, float, float, float]]
    """Choices in order: anchor x, y in data, shift x, y in points."""
    centred: bool
    """True for turned words, which stand centred on their place instead of growing away from it."""
    gap: float = 0.0
    """Points between a symbol and its words; 0 for words that belong to a line, not to a symbol."""


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
        """Add a label beside the symbol at a point, on whichever side is free; ``gap`` in points.

        The words never stand nearer to another symbol than to their own; where room is short they stand farther
        off and a thin line leads to the symbol.
        """
        shifts = [(gap * dx, gap * dy) for dx, dy in _SIDES]
        shifts += [(2.2 * gap * dx, 2.2 * gap * dy) for dx, dy in _SIDES]
        shifts += [(far * gap * dx, far * gap * dy) for far in (3.5, 5.0, 7.0, 9.5, 12.0) for dx, dy in _ROUND]
        self.at(words, [(x, y)], shifts=shifts, **style)
        self._labels[-1].gap = gap

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
            ha="center",
            va="center",
            **{"zorder": 8, **halo(), **style},
        )
        self._labels.append(_Label(text, places, bool(text.get_rotation())))

    def settle(self) -> None:
        """Place every label, in the order given."""
        from matplotlib.text import Text

        figure = figure_of(self.ax)
        # Only the layout is needed to know where things will stand, not a whole drawing.
        engine = figure.get_layout_engine()
        if engine is not None:
            engine.execute(figure)
        self.ax.apply_aspect()
        points = figure.dpi / 72
        crowd = _crowd(self.ax)
        frame = self.ax.get_window_extent()
        mine = [label.text for label in self._labels]
        taken = [
            _Box(*other.get_window_extent().extents)
            for other in self.ax.texts
            if other.get_text() and all(other is not text for text in mine)
        ]
        symbols = self.ax.transData.transform(
            np.array([label.places[0][:2] for label in self._labels if label.gap]).reshape(-1, 2)
        )
        for label in self._labels:
            spin = label.text.get_rotation()
            label.text.set_rotation(0.0)
            extent = Text.get_window_extent(label.text)  # the words alone, without an arrow
            label.text.set_rotation(spin)
            best: tuple[float, int, _Box] | None = None
            at = self.ax.transData.transform([place[:2] for place in label.places])
            for rank, ((x, y), (_, _, dx, dy)) in enumerate(zip(at, label.places, strict=True)):
                sides = (0, 0) if label.centred else (_side(dx), _side(dy))
                middle = (
                    x + dx * points + 0.5 * extent.width * sides[0],
                    y + dy * points + 0.5 * extent.height * sides[1],
                )
                box = _Box.about(middle, extent.width + 3 * points, extent.height + 3 * points, spin)
                cost = _ON_A_LINE * box.count(crowd, spin, extent.height) + _LATER_CHOICE * rank
                cost += _ON_ANOTHER * sum(box.overlaps(other) for other in taken)
                if not (frame.x0 <= box.x0 and box.x1 <= frame.x1 and frame.y0 <= box.y0 and box.y1 <= frame.y1):
                    cost += _OFF_THE_AXES
                if label.gap and box.nearer_to_another((x, y), symbols):
                    cost += _AT_ANOTHER
                if best is None or cost < best[0]:
                    best = (cost, rank, box)
            assert best is not None
            x, y, dx, dy = label.places[best[1]]
            label.text.xy = (x, y)
            label.text.set_position((dx, dy))
            if not label.centred:
                label.text.set(ha={1: "left", 0: "center", -1: "right"}[_side(dx)])
                label.text.set(va={1: "bottom", 0: "center", -1: "top"}[_side(dy)])
            taken.append(best[2])
            if label.gap and np.hypot(dx, dy) > _LEADER_FROM * label.gap:
                self._lead(label.text, best[2], x, y)
        self._labels.clear()

    def _lead(self, text: Annotation, box: _Box, x: float, y: float) -> None:
        """Draw a thin line from a symbol to the nearest edge of its words."""
        px, py = self.ax.transData.transform((x, y))
        edge = (min(max(px, box.x0), box.x1), min(max(py, box.y0), box.y1))
        ex, ey = self.ax.transData.inverted().transform(edge)
        self.ax.plot(
            [x, ex], [y, ey], color=text.get_color(), linewidth=0.8, zorder=4.5, label=f"leader {text.get_text()}"
        )


@dataclasses.dataclass(frozen=True)
class _Box:
    """A rectangle in pixels."""

    x0: float
    y0: float
    x1: float
    y1: float

    @classmethod
    def about(cls, middle: tuple[float, float], width: float, height: float, spin_deg: float) -> _Box:
        """Upright rectangle round turned words."""
        cos, sin = abs(np.cos(np.deg2rad(spin_deg))), abs(np.sin(np.deg2rad(spin_deg)))
        wide, tall = 0.5 * (width * cos + height * sin), 0.5 * (width * sin + height * cos)
        return cls(middle[0] - wide, middle[1] - tall, middle[0] + wide, middle[1] + tall)

    def distance(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """Pixels from the rectangle's edge to each point; 0 inside."""
        across = np.maximum(np.maximum(self.x0 - points[:, 0], points[:, 0] - self.x1), 0.0)
        up = np.maximum(np.maximum(self.y0 - points[:, 1], points[:, 1] - self.y1), 0.0)
        return np.asarray(np.hypot(across, up))

    def nearer_to_another(self, own: tuple[float, float], symbols: NDArray[np.float64]) -> bool:
        """Whether a stranger's symbol is about as near as the label's own."""
        others = symbols[np.hypot(*(symbols - own).T) > 1.0]
        if not len(others):
            return False
        return bool(self.distance(np.array([own]))[0] > _CLEARLY * self.distance(others).min())

    def overlaps(self, other: _Box) -> bool:
        return self.x0 < other.x1 and other.x0 < self.x1 and self.y0 < other.y1 and other.y0 < self.y1

    def count(self, points: NDArray[np.float64], spin_deg: float, height: float) -> int:
        """How many points lie under the words; turned words cover a strip of their height only."""
        x, y = points[:, 0], points[:, 1]
        under = (x > self.x0) & (x < self.x1) & (y > self.y0) & (y < self.y1)
        if spin_deg:
            right, up = x - 0.5 * (self.x0 + self.x1), y - 0.5 * (self.y0 + self.y1)
            across = up * np.cos(np.deg2rad(spin_deg)) - right * np.sin(np.deg2rad(spin_deg))
            under &= np.abs(across) < 0.5 * height
        return int(np.count_nonzero(under))


def _side(shift: float) -> int:
    """Which side of its point a label grows to: 1 right or up, -1 left or down, 0 both."""
    return 1 if shift > 0.5 else -1 if shift < -0.5 else 0


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
