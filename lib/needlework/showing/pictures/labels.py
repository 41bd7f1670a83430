"""Words beside points that keep clear of each other, of lines and of the edge."""

from __future__ import annotations

import dataclasses
import typing
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from needlework.showing.pictures.style import HAIR, figure_of, halo

if typing.TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes
    from matplotlib.lines import Line2D
    from matplotlib.text import Annotation

_SIDES = [(1, 1), (1, -1), (-1, 1), (-1, -1), (1, 0), (-1, 0), (0, 1), (0, -1)]
_BETWEEN = [(1, 0.5), (1, -0.5), (-1, 0.5), (-1, -0.5), (0.5, 1), (-0.5, 1), (0.5, -1), (-0.5, -1)]
_ROUND = [(float(np.cos(a)), float(np.sin(a))) for a in np.deg2rad(np.arange(22.5, 382.5, 22.5))]
_ON_ANOTHER, _OFF_THE_AXES, _ON_A_LINE, _LATER_CHOICE = 150.0, 400.0, 10.0, 0.4
_AT_ANOTHER = 600.0
"""A label nearer to a stranger's symbol than to its own says something false: dearer than any crowding."""
_OVER_A_SYMBOL = 60.0
_AT_ANOTHER_LINE = 120.0
"""Words of a line that stand nearer to another line read as that one's."""
_CLEARLY, _UNCLEAR = 0.6, 200.0
"""Its own symbol is at most this share of the distance to any other, or it costs."""
_CORE = 0.4
_TOUCHING_PX = 2.0
_TRIES, _ROUNDS = 25, 6
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
    line: Line2D | None = None
    """The line that the words name."""


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
        shifts = [(gap * dx, gap * dy) for dx, dy in (*_SIDES, *_BETWEEN)]
        shifts += [(1.5 * gap * dx, 1.5 * gap * dy) for dx, dy in (*_SIDES, *_BETWEEN)]
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
        line: Line2D | None = None,
        **style: typing.Any,
    ) -> None:
        """Add a label for one of several points, each with the same choice of shifts in points.

        ``line`` is the line it names: the words never stand nearer to another one where there is room beside it.
        """
        if line is None:
            places = [(float(x), float(y), dx, dy) for dx, dy in shifts for x, y in anchors]
        else:
            # Words of a line keep to its middle, on whichever side.
            places = [(float(x), float(y), dx, dy) for x, y in anchors for dx, dy in shifts]
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
        self._labels.append(_Label(text, places, bool(text.get_rotation()), line=line))

    def settle(self) -> None:
        """Place every label: each where it is best, the others being where they are, a few times over."""
        figure = figure_of(self.ax)
        # Only the layout is needed to know where things will stand, not a whole drawing.
        engine = figure.get_layout_engine()
        if engine is not None:
            engine.execute(figure)
        for part in (*figure.axes, self.ax):
            # A small one within another stands where the other puts it.
            locator: Callable[..., typing.Any] | None = part.get_axes_locator()
            part.apply_aspect(None if locator is None else locator(part, None))
        mine = [label.text for label in self._labels]
        fixed = [
            _Box(*other.get_window_extent().extents)
            for other in self.ax.texts
            if other.get_text() and all(other is not text for text in mine)
        ]
        fixed += _arrows(self.ax)
        fixed += [_Box(*inset.get_window_extent().extents) for inset in self.ax.child_axes]
        choices = self._choices(fixed)
        for label, (boxes, _), at in zip(self._labels, choices, _best(choices), strict=True):
            x, y, dx, dy = label.places[at]
            label.text.xy = (x, y)
            label.text.set_position((dx, dy))
            if not label.centred:
                label.text.set(ha={1: "left", 0: "center", -1: "right"}[_side(dx)])
                label.text.set(va={1: "bottom", 0: "center", -1: "top"}[_side(dy)])
            if label.gap and np.hypot(dx, dy) > _LEADER_FROM * label.gap:
                self._lead(label.text, boxes[at], x, y)
        self._labels.clear()

    def _choices(self, fixed: Sequence[_Box]) -> list[tuple[list[_Box], NDArray[np.float64]]]:
        """For each label its possible rectangles, and what each costs whatever the other labels do."""
        from matplotlib.text import Text

        points = figure_of(self.ax).dpi / 72
        outlines = _outlines(self.ax)
        crowd = np.vstack([np.empty((0, 2)), *(along for _, along in outlines)])
        marks = _marks(self.ax, points)
        frame = self.ax.get_window_extent()
        symbols = self.ax.transData.transform(
            np.array([label.places[0][:2] for label in self._labels if label.gap]).reshape(-1, 2)
        )
        found = []
        for label in self._labels:
            own = [along for owner, along in outlines if owner is label.line] if label.line is not None else []
            strangers = (
                [along for owner, along in outlines if owner is not label.line and len(along) > 2] if own else []
            )
            beside = (np.vstack(own), np.vstack(strangers)) if own and strangers else None
            spin = label.text.get_rotation()
            label.text.set_rotation(0.0)
            extent = Text.get_window_extent(label.text)  # the words alone, without an arrow
            label.text.set_rotation(spin)
            boxes, costs = [], []
            at = self.ax.transData.transform([place[:2] for place in label.places])
            for rank, ((x, y), (_, _, dx, dy)) in enumerate(zip(at, label.places, strict=True)):
                sides = (0, 0) if label.centred else (_side(dx), _side(dy))
                middle = (
                    x + dx * points + 0.5 * extent.width * sides[0],
                    y + dy * points + 0.5 * extent.height * sides[1],
                )
                box = _Box.about(middle, extent.width + 3 * points, extent.height + 3 * points, spin)
                cost = _ON_A_LINE * box.count(crowd, spin, extent.height) + _LATER_CHOICE * rank
                cost += _ON_ANOTHER * sum(box.overlaps(other) for other in fixed)
                cost += _OVER_A_SYMBOL * sum(box.overlaps(mark) for mark in marks)
                if not (frame.x0 <= box.x0 and box.x1 <= frame.x1 and frame.y0 <= box.y0 and box.y1 <= frame.y1):
                    cost += _OFF_THE_AXES
                if label.gap:
                    share = box.share_of_another((x, y), symbols, above_or_below=abs(dx) < abs(dy) / 4)
                    cost += _AT_ANOTHER if share >= 1.0 else _UNCLEAR * max(share - _CLEARLY, 0.0)
                if beside and box.distance(beside[1]).min() < box.distance(beside[0]).min() - _TOUCHING_PX:
                    cost += _AT_ANOTHER_LINE
                boxes.append(box)
                costs.append(cost)
            found.append((boxes, np.array(costs)))
        return found

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

    def share_of_another(
        self, own: tuple[float, float], symbols: NDArray[np.float64], *, above_or_below: bool
    ) -> float:
        """Distance to the label's own symbol, as a share of that to the nearest stranger: from 1 on it is wrong."""
        others = symbols[np.hypot(*(symbols - own).T) > 1.0]
        if not len(others):
            return 0.0
        # Words beside read as those of the symbol at their own height, words above or below as those of the symbol
        # at their middle: what counts is the core, not the edge.
        aside = 0.5 * (1.0 - _CORE) * (self.x1 - self.x0) if above_or_below else 0.0
        up = 0.5 * (1.0 - _CORE) * (self.y1 - self.y0)
        core = _Box(self.x0 + aside, self.y0 + up, self.x1 - aside, self.y1 - up)
        nearest, mine = float(core.distance(others).min()), float(core.distance(np.array([own]))[0])
        return mine / nearest if nearest > 0 else np.inf

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


def _best(choices: Sequence[tuple[list[_Box], NDArray[np.float64]]]) -> list[int]:
    """Choose a place for each label so that all together cost least, as far as a few tries find it.

    Each try puts the labels in another order, each where it is best while the others stay, until none wants to move.
    """
    edges = [np.array([(box.x0, box.y0, box.x1, box.y1) for box in boxes]) for boxes, _ in choices]
    clash = {
        (i, j): (
            (one[:, None, 0] < other[None, :, 2])
            & (other[None, :, 0] < one[:, None, 2])
            & (one[:, None, 1] < other[None, :, 3])
            & (other[None, :, 1] < one[:, None, 3])
        )
        for i, one in enumerate(edges)
        for j, other in enumerate(edges)
        if i != j
    }
    best: tuple[float, list[int]] = (np.inf, [])
    order = np.random.default_rng(0)
    for attempt in range(_TRIES):
        turns = np.arange(len(choices)) if attempt == 0 else order.permutation(len(choices))
        chosen: dict[int, int] = {}
        for _ in range(_ROUNDS):
            before = dict(chosen)
            for i in map(int, turns):
                costs = choices[i][1].copy()
                for j, at in chosen.items():
                    if i != j:
                        costs += _ON_ANOTHER * clash[i, j][:, at]
                chosen[i] = int(np.argmin(costs))
            if chosen == before:
                break
        total = sum(float(choices[i][1][at]) for i, at in chosen.items())
        total += _ON_ANOTHER * sum(clash[i, j][chosen[i], chosen[j]] for i in chosen for j in chosen if i < j)
        if total < best[0] - 1e-9:
            best = total, [chosen[i] for i in range(len(choices))]
    return best[1]


def _bare_arrows(ax: Axes, coords: str) -> list[Annotation]:
    """Notes without words, of which only the arrow is seen."""
    from matplotlib.text import Annotation

    notes = [text for text in ax.texts if isinstance(text, Annotation)]
    return [text for text in notes if not text.get_text() and text.arrow_patch and text.xycoords == coords]


def _arrows(ax: Axes) -> list[_Box]:
    """Rectangles of the arrows that stand at a place of the axes, such as that to the north."""
    ends = [ax.transAxes.transform([text.xy, text.xyann]) for text in _bare_arrows(ax, "axes fraction")]
    return [_Box(*(both.min(axis=0) - 5.0), *(both.max(axis=0) + 5.0)) for both in ends]


def _marks(ax: Axes, points: float) -> list[_Box]:
    """Rectangles of the symbols that stand alone: fixes, marks, the ends of tracks."""
    boxes = []
    for line in ax.lines:
        data = np.asarray(line.get_xydata())
        if line.get_marker() in ("None", None, "", " ") or len(data) != 1:
            continue
        (x, y), half = line.get_transform().transform(data)[0], 0.38 * line.get_markersize() * points
        if np.isfinite([x, y]).all():
            boxes.append(_Box(x - half, y - half, x + half, y + half))
    return boxes


def _outlines(ax: Axes) -> list[tuple[Artist, NDArray[np.float64]]]:
    """Everything drawn, each with points every few pixels along it, in display coordinates."""
    found = []
    outlines: list[tuple[Artist, NDArray[np.float64]]] = [
        (line, line.get_transform().transform(line.get_xydata()))
        for line in ax.lines
        if line.get_linewidth() > HAIR or len(np.asarray(line.get_xydata())) == 1
    ]
    outlines += [
        (patch, np.asarray(ring))
        for patch in ax.patches
        for ring in patch.get_transform().transform_path(patch.get_path()).to_polygons()
    ]
    # The heads of arrows on a line.
    outlines += [(text, ax.transData.transform([text.xy])) for text in _bare_arrows(ax, "data")]
    for artist, outline in outlines:
        outline = outline[np.isfinite(outline).all(axis=1)]
        if len(outline) < 2:
            found.append((artist, outline))
            continue
        lengths = np.hypot(*np.diff(outline, axis=0).T)
        along = np.concatenate([[0.0], np.cumsum(lengths)])
        steps = np.linspace(0, along[-1], min(4000, int(along[-1] / 5) + 2))
        found.append((artist, np.column_stack([np.interp(steps, along, outline[:, axis]) for axis in (0, 1)])))
    return found
