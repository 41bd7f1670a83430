"""What can be moved in a what-if: the fields of a frozen dataclass, each with its slider, choice or tick."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from typing import Any, TypeVar

import ipywidgets as widgets

from needlework.basis.errors import OutOfRange
from needlework.basis.quantity import within

AnyKnobs = TypeVar("AnyKnobs")
"""The knobs of one what-if: a frozen dataclass whose fields were made here."""


@dataclass(frozen=True)
class Knob:
    """One slider, or one choice where ``options`` are given, or a tick where it starts as yes or no.

    Parameters
    ----------
    label, unit : str
        What stands above it, and in which unit.
    start : float or str or bool
        Where it stands at first.
    low, high, step : float
        Range and step, in the unit of the name.
    options : tuple of str
        Words to choose from instead of a number.
    play : float
        Give it a button that lets it run, so many times as fast as in the air; 0 gives none.
    """

    label: str
    unit: str
    start: float | str | bool
    low: float = 0.0
    high: float = 1.0
    step: float = 0.1
    options: tuple[str, ...] = ()
    play: float = 0.0

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

    def said(self, value: Any) -> str:
        """Write a value as the slider shows it, with its unit."""
        if isinstance(self.start, bool):
            return "yes" if value else "no"
        if self.options:
            return str(value)
        decimals = 0 if float(self.step).is_integer() else len(f"{self.step:g}".partition(".")[2])
        return f"{value:,.{decimals}f} {self.unit}".replace("-", "−").strip()

    def range_said(self) -> str:
        """Write between what it can be moved."""
        if isinstance(self.start, bool):
            return "yes or no"
        if self.options:
            return " or ".join(self.options)
        return f"{self.said(self.low).removesuffix(self.unit).strip()} to {self.said(self.high)}"

    def checked(self, name: str, value: Any) -> Any:
        """Return a value somebody asked for, or say in one sentence why it cannot be."""
        if isinstance(self.start, bool):
            if not isinstance(value, bool):
                raise OutOfRange(f"{name} = {value!r} is neither True nor False")
            return value
        if self.options:
            if value not in self.options:
                raise OutOfRange(f"{name} = {value!r} is not a choice: expected one of {', '.join(self.options)}")
            return value
        return float(within(name, value, self.low, self.high, self.unit))


def slider(label: str, unit: str, start: float, *, low: float, high: float, step: float, play: float = 0.0) -> Any:
    """Make a field that is moved by a slider; see :class:`Knob`."""
    return field(default=start, metadata={"knob": Knob(label, unit, start, low, high, step, play=play)})


def choice(label: str, options: tuple[str, ...]) -> Any:
    """Make a field that is one of some words, at first the first of them."""
    return field(default=options[0], metadata={"knob": Knob(label, "", options[0], options=options)})


def tick(label: str, start: bool) -> Any:
    """Make a field that is yes or no."""
    return field(default=start, metadata={"knob": Knob(label, "", start)})


def knobs_of(kind: type[Any]) -> dict[str, Knob]:
    """Give the knobs of a what-if by the name of their field, in order.

    Parameters
    ----------
    kind : type
        A dataclass whose fields were made by :func:`slider`, :func:`choice` and :func:`tick`.

    Returns
    -------
    dict of str to Knob
        Its knobs.
    """
    return {each.name: each.metadata["knob"] for each in fields(kind)}


def set_to(kind: type[AnyKnobs], wanted: Mapping[str, Any]) -> AnyKnobs:
    """Set some knobs and leave the others where they stand at first.

    Parameters
    ----------
    kind : type
        The knobs of a what-if.
    wanted : mapping
        From the name of a knob to its value.

    Returns
    -------
    AnyKnobs
        All of them.

    Raises
    ------
    OutOfRange
        If a value is not one the knob can show, or there is no such knob.
    """
    known = knobs_of(kind)
    for name in wanted:
        if name not in known:
            raise OutOfRange(f"there is no slider '{name}' here: expected one of {', '.join(known)}")
    return kind(**{name: known[name].checked(name, value) for name, value in wanted.items()})
