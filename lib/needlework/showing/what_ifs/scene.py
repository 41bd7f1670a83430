"""What every what-if is made of: sliders, a scene, a still twin; and the few bits of geometry they share."""

from __future__ import annotations

import math
import typing
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import ipywidgets as widgets
import numpy as np

from needlework.basis.errors import NeedleworkError, OutOfRange
from needlework.basis.quantity import Floats, within
from needlework.showing.faces import Board, Face
from needlework.showing.faces.twin import show_with_still
from needlework.trade.angles import difference_deg, three_digits, wrap360

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes


@dataclass(frozen=True)
class Knob:
    """One slider, or one choice where ``options`` are given.

    Parameters
    ----------
    name : str
        Name of the parameter it sets, unit included.
    label, unit : str
        What stands above it, and in which unit.
    start : float or str or bool
        Where it stands at first.
    low, high, step : float
        Range and step, in the unit of the name.
    options : tuple of str
        Words to choose from instead of a number.
    play : bool
        Give it a button that moves it by itself.
    """

    name: str
    label: str
    unit: str
    start: float | str | bool
    low: float = 0.0
    high: float = 1.0
    step: float = 0.1
    options: tuple[str, ...] = ()
    play: bool = False

    def widget(self, start: Any) -> Any:
        """Make the widget, standing at ``start``."""
        if isinstance(self.start, bool):
            return widgets.Checkbox(value=bool(start), description=self.label, indent=False)
        words = f"{self.label}, {self.unit}" if self.unit else self.label
        style = {"description_width": "100%"}
        if self.options:
            return widgets.Dropdown(options=self.options, value=start, description=words, style=style)
        whole = float(self.step).is_integer()
        return (widgets.IntSlider if whole else widgets.FloatSlider)(
            value=int(start) if whole else float(start),
            min=int(self.low) if whole else self.low,
            max=int(self.high) if whole else self.high,
            step=int(self.step) if whole else self.step,
            description=words,
            readout_format=",d" if whole else f".{len(f'{self.step:g}'.partition('.')[2])}f",
            style=style,
        )

    def checked(self, value: Any) -> Any:
        """Return a starting value the caller asked for, or say in one sentence why it cannot be."""
        if isinstance(self.start, bool):
            if not isinstance(value, bool):
                raise OutOfRange(f"{self.name} = {value!r} is neither True nor False")
            return value
        if self.options:
            if value not in self.options:
                raise OutOfRange(
                    f"{self.name} = {value!r} is not a choice: expected one of {', '.join(self.options)}"
                )
            return value
        return float(within(self.name, value, self.low, self.high, self.unit))


@dataclass(frozen=True)
class Scene:
    """What a what-if shows for one setting of its sliders."""

    faces: Mapping[str, Face]
    sentence: str


class WhatIf:
    """Sliders and the picture they move; shows itself as the last line of a notebook cell.

    Parameters
    ----------
    knobs : iterable of Knob
        The sliders; their names are the parameters of ``scene`` and ``still``.
    scene : callable
        From the sliders' values to a :class:`Scene`.
    still : callable
        From the same values to the axes of the still twin.
    rows : sequence
        Columns of rows of face names; see :class:`needlework.showing.faces.Board`.
    start : mapping
        Where sliders stand at first, other than as their knob says.

    Attributes
    ----------
    controls : dict of str to widget
        The sliders by parameter name.
    board : Board
        The live picture.
    """

    def __init__(
        self,
        knobs: Iterable[Knob],
        scene: Callable[..., Scene],
        still: Callable[..., Axes],
        rows: Sequence[Any],
        start: Mapping[str, Any],
    ) -> None:
        self._scene, self._still = scene, still
        known = {knob.name: knob for knob in knobs}
        for name in start:
            if name not in known:
                raise OutOfRange(f"there is no slider '{name}' here: expected one of {', '.join(known)}")
        self.controls = {
            name: knob.widget(knob.checked(start[name]) if name in start else knob.start)
            for name, knob in known.items()
        }
        self._shown = self.values
        first = scene(**self._shown)
        self.board = Board(rows, first.faces, first.sentence)
        for control in self.controls.values():
            control.observe(self._moved, "value")
        self._box = self._arranged(known)

    def _arranged(self, knobs: Mapping[str, Knob]) -> Any:
        lines: list[Any] = []
        for name, control in self.controls.items():
            lines.append(control)
            if knobs[name].play:
                lines.append(self._player(knobs[name], control))
        side = widgets.VBox(lines, layout=widgets.Layout(margin="0 14px 8px 0"))
        side.add_class("nw-knobs")
        box = widgets.HBox([side, self.board], layout=widgets.Layout(flex_flow="row wrap", align_items="flex-start"))
        box.add_class("nw-whatif")
        return box

    def _player(self, knob: Knob, control: Any) -> Any:
        play = widgets.Play(
            min=control.min, max=control.max, step=control.step, value=control.value, interval=100, show_repeat=False
        )
        # Linked in the browser: the picture plays as smoothly as the kernel answers, and a slow one skips.
        self._link = widgets.jslink((play, "value"), (control, "value"))

        def smooth(change: Any) -> None:
            # While it plays the browser slides from one place to the next; under the hand it jumps at once.
            self.board.glide_ms = float(play.interval) if change["new"] else 0.0

        play.observe(smooth, "playing")
        return widgets.HBox([play, widgets.Label("fly past, ×10")])

    @property
    def values(self) -> dict[str, Any]:
        """Where every slider stands, by parameter name."""
        return {name: control.value for name, control in self.controls.items()}

    @property
    def sentence(self) -> str:
        """What the picture shows, in words."""
        return str(self.board.sentence)

    def _moved(self, _change: Any) -> None:
        try:
            now = self._scene(**self.values)
        except NeedleworkError as fault:
            # The picture stays as it was: sliders may be moved to where nothing can be flown.
            self.board.show({}, f"{str(fault).rstrip('.')}.")
            return
        self._shown = self.values
        self.board.show(now.faces, now.sentence)

    def still(self) -> Axes:
        """Draw the still twin of what the picture shows; returns its axes."""
        return self._still(**self._shown)

    def _ipython_display_(self) -> None:
        show_with_still(self._box, self.still(), self.sentence)


def point(along_nm: Any, right_nm: Any, direction_deg: Any) -> tuple[Any, Any]:
    """East and north of a place given along a direction and to the right of it."""
    angle = np.deg2rad(direction_deg)
    return (
        along_nm * np.sin(angle) + right_nm * np.cos(angle),
        along_nm * np.cos(angle) - right_nm * np.sin(angle),
    )


def polar(east_nm: Any, north_nm: Any) -> tuple[float, float]:
    """Radial and ground distance of a place; overhead the radial is north."""
    return float(np.asarray(wrap360(np.rad2deg(np.arctan2(east_nm, north_nm))))), float(np.hypot(east_nm, north_nm))


def between(course_deg: float, other_deg: float) -> float:
    """Angle from one direction to another, right positive. [deg]"""
    return float(np.asarray(difference_deg(from_deg=course_deg, to_deg=other_deg)))


def spoken(direction_deg: float) -> str:
    """Three digits, the way a pilot says a direction."""
    return three_digits(direction_deg=direction_deg)[:3]


def side_words(value: float, unit: str, digits: int = 0) -> str:
    """Write a signed size as a size and a side: ``"3° right"``."""
    return f"{abs(value):.{digits}f}{unit} {'right' if value > 0 else 'left'}"


@dataclass(frozen=True)
class Path:
    """A path over the ground, second by second: place on magnetic axes round the station, heading.

    Parameters
    ----------
    time_s, east_nm, north_nm, heading_deg : numpy.ndarray
        One value a sample. [s], [NM], [NM], [deg magnetic]
    """

    time_s: Floats
    east_nm: Floats
    north_nm: Floats
    heading_deg: Floats

    def at(self, time_s: float) -> tuple[float, float, float]:
        """East, north and heading at a moment; before the first sample and after the last they stand still."""
        turned = np.unwrap(self.heading_deg, period=360.0)
        east, north, heading = (
            float(np.interp(time_s, self.time_s, values)) for values in (self.east_nm, self.north_nm, turned)
        )
        return east, north, heading % 360.0

    def until(self, time_s: float) -> tuple[Floats, Floats]:
        """The part flown by a moment, thinned for drawing."""
        count = int(np.searchsorted(self.time_s, time_s, side="right"))
        east, north, _ = self.at(time_s)
        every = max(1, count // 150)
        return np.append(self.east_nm[:count:every], east), np.append(self.north_nm[:count:every], north)

    def thinned(self) -> tuple[Floats, Floats]:
        """All of it, thinned for drawing."""
        every = max(1, len(self.time_s) // 200)
        return (
            np.append(self.east_nm[::every], self.east_nm[-1]),
            np.append(self.north_nm[::every], self.north_nm[-1]),
        )


def flown(
    start_nm: tuple[float, float],
    heading_deg: Floats,
    tas_kt: float,
    wind_from_deg: float,
    wind_kt: float,
    step_s: float = 1.0,
) -> Path:
    """Add up headings into a path over the ground: air along the heading, and the air itself with the wind."""
    nose = np.deg2rad(heading_deg)
    blow = np.deg2rad(wind_from_deg)
    hours = step_s / 3600.0
    east = (tas_kt * np.sin(nose) - wind_kt * np.sin(blow)) * hours
    north = (tas_kt * np.cos(nose) - wind_kt * np.cos(blow)) * hours
    # The middle between two headings carries the aircraft from one sample to the next.
    east_nm = start_nm[0] + np.concatenate([[0.0], np.cumsum(0.5 * (east[:-1] + east[1:]))])
    north_nm = start_nm[1] + np.concatenate([[0.0], np.cumsum(0.5 * (north[:-1] + north[1:]))])
    time_s = np.arange(len(heading_deg), dtype=np.float64) * step_s
    return Path(time_s, east_nm, north_nm, np.mod(heading_deg, 360.0))


def turned(begin_deg: float, end_deg: float, rate_deg_s: float, step_s: float) -> Floats:
    """Headings of a turn the short way, a sample each step, both ends included."""
    way = between(begin_deg, end_deg)
    count = max(1, math.ceil(abs(way) / rate_deg_s / step_s))
    part = np.minimum(np.arange(count + 1, dtype=np.float64) * rate_deg_s * step_s / max(abs(way), 1e-9), 1.0)
    return np.asarray(begin_deg + way * part)
