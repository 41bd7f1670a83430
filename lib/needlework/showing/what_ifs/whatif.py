"""A what-if: knobs, the scene they lead to, the faces and the still that show it."""

from __future__ import annotations

import typing
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

import ipywidgets as widgets

from needlework.basis.errors import NeedleworkError
from needlework.showing.faces import Board, Face
from needlework.showing.faces.twin import show_with_still
from needlework.showing.what_ifs.knobs import AnyKnobs, Knob, knobs_of, set_to

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes

AnyScene = TypeVar("AnyScene")
"""What comes of one setting of the knobs: a frozen dataclass of values."""


@dataclass(frozen=True)
class Shown:
    """What is seen of a scene: the faces by name, and the same in a sentence."""

    faces: Mapping[str, Face]
    sentence: str


class WhatIf(Generic[AnyKnobs, AnyScene]):
    """Sliders and the picture they move; shows itself as the last line of a notebook cell.

    Parameters
    ----------
    kind : type
        The knobs: a frozen dataclass whose fields were made by :mod:`needlework.showing.what_ifs.knobs`.
    scene : callable
        From the knobs to the scene; nothing is drawn by it.
    shown : callable
        From the scene to what is seen of it.
    still : callable
        From the scene to the axes of the still twin.
    rows : sequence
        Columns of rows of face names; see :class:`needlework.showing.faces.Board`.
    start : mapping
        Where sliders stand at first, other than as their knob says.

    Attributes
    ----------
    controls : dict of str to widget
        The sliders by the name of their knob.
    board : Board
        The live picture.
    scene : AnyScene
        What the picture shows, as values.

    Raises
    ------
    OutOfRange
        If a starting value is not one the slider can show, or there is no such slider.
    """

    def __init__(
        self,
        kind: type[AnyKnobs],
        scene: Callable[[AnyKnobs], AnyScene],
        shown: Callable[[AnyScene], Shown],
        still: Callable[[AnyScene], Axes],
        rows: Sequence[Any],
        start: Mapping[str, Any],
    ) -> None:
        self._kind, self._leads_to, self._seen, self._drawn = kind, scene, shown, still
        known, at_first = knobs_of(kind), vars(set_to(kind, start))
        self.controls = {name: knob.widget(at_first[name]) for name, knob in known.items()}
        self.scene = scene(self.knobs)
        first = shown(self.scene)
        self.board = Board(rows, first.faces, first.sentence)
        for control in self.controls.values():
            control.observe(self._moved, "value")
        self._box = self._arranged(known)

    def _arranged(self, knobs: Mapping[str, Knob]) -> Any:
        lines: list[Any] = []
        for name, control in self.controls.items():
            lines.append(control)
            if knobs[name].play:
                lines.append(self._player(control))
        side = widgets.VBox(lines, layout=widgets.Layout(margin="0 14px 8px 0"))
        side.add_class("nw-knobs")
        box = widgets.HBox([side, self.board], layout=widgets.Layout(flex_flow="row wrap", align_items="flex-start"))
        box.add_class("nw-whatif")
        return box

    def _player(self, control: Any) -> Any:
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
    def knobs(self) -> AnyKnobs:
        """Where every slider stands."""
        return self._kind(**{name: control.value for name, control in self.controls.items()})

    @property
    def sentence(self) -> str:
        """What the picture shows, in words."""
        return str(self.board.sentence)

    def _moved(self, _change: Any) -> None:
        try:
            scene = self._leads_to(self.knobs)
            now = self._seen(scene)
        except NeedleworkError as fault:
            # The picture stays as it was: sliders may be moved to where nothing can be flown.
            self.board.show({}, f"{str(fault).rstrip('.')}.")
            return
        self.scene = scene
        self.board.show(now.faces, now.sentence)

    def still(self) -> Axes:
        """Draw the still twin of what the picture shows; returns its axes."""
        return self._drawn(self.scene)

    def _ipython_display_(self) -> None:
        show_with_still(self._box, self.still(), self.sentence)
