"""A what-if: knobs, the scene they lead to, the faces and the still that show it."""

from __future__ import annotations

import math
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
        self._faces = first.faces
        self._played = next((name for name, knob in known.items() if knob.play), None)
        self.board = Board(rows, first.faces, first.sentence, player=self._player(known), at=self._at())
        self.board.on_msg(self._heard)
        self.board.observe(self._listed, "numbers_shown")
        for control in self.controls.values():
            control.observe(self._moved, "value")
        self._box = self._arranged()

    def _player(self, known: Mapping[str, Knob]) -> dict[str, Any]:
        if self._played is None:
            return {}
        knob = known[self._played]
        words = f"{knob.label}, {knob.unit}"
        return {"label": words, "low": knob.low, "high": knob.high, "step": knob.step, "rate": knob.play}

    def _at(self) -> float:
        return float(self.controls[self._played].value) if self._played else 0.0

    def _heard(self, _widget: Any, content: Any, _buffers: Any) -> None:
        """Move on to the place the browser plays to: the slider moves, and the picture with it."""
        place = content.get("play") if isinstance(content, dict) else None
        if self._played is None or not isinstance(place, int | float) or not math.isfinite(place):
            return
        control = self.controls[self._played]
        control.value = type(control.value)(min(max(place, control.min), control.max))

    def table(self) -> list[tuple[str, str, str]]:
        """Give the picture as a table: every knob and every reading with where it stands, a knob with its range."""
        known = knobs_of(self._kind)
        rows = [
            (known[name].label, known[name].said(c.value), known[name].range_said())
            for name, c in self.controls.items()
        ]
        for face in self._faces.values():
            rows += [(what, reading, "") for what, reading in face.numbers()]
        return rows

    def _listed(self, _change: Any) -> None:
        self.board.numbers = [list(row) for row in self.table()] if self.board.numbers_shown else []

    def _arranged(self) -> Any:
        side = widgets.VBox(list(self.controls.values()), layout=widgets.Layout(margin="0 14px 8px 0"))
        side.add_class("nw-knobs")
        box = widgets.HBox([side, self.board], layout=widgets.Layout(align_items="flex-start"))
        box.add_class("nw-whatif")
        return box

    @property
    def known(self) -> dict[str, Knob]:
        """What can be moved, by name."""
        return knobs_of(self._kind)

    @property
    def played(self) -> str:
        """Name of the knob that can be played; empty where there is none."""
        return self._played or ""

    def moment(self, setting: Mapping[str, Any]) -> Shown:
        """Say what is seen with some knobs set, the others as their sliders stand; nothing moves by it.

        Parameters
        ----------
        setting : mapping
            From the name of a knob to its value.

        Returns
        -------
        Shown
            Faces and sentence.

        Raises
        ------
        OutOfRange, NoSolution
            If there is no such knob, it cannot be set so, or what comes of it cannot be flown.
        """
        return self._seen(self._leads_to(set_to(self._kind, {**vars(self.knobs), **setting})))

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
            self._show({}, f"{str(fault).rstrip('.')}.")
            return
        self.scene, self._faces = scene, now.faces
        self._show(now.faces, now.sentence)

    def _show(self, faces: Mapping[str, Face], sentence: str) -> None:
        with self.board.hold_sync():
            self.board.show(faces, sentence)
            self.board.at = self._at()
            self._listed(None)

    def still(self) -> Axes:
        """Draw the still twin of what the picture shows; returns its axes."""
        return self._drawn(self.scene)

    def _ipython_display_(self) -> None:
        show_with_still(self._box, self.still(), self.sentence, table=self.table())
