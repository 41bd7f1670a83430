"""What a what-if shows from moment to moment, worked out without a kernel and without sliders."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from needlework.basis.errors import BadData
from needlework.showing import what_ifs
from needlework.showing.what_ifs.knobs import Knob
from needlework.showing.what_ifs.whatif import WhatIf

_NOTCHES = 40
"""No more notches than these from end to end of a knob: a smaller one is not seen from the back."""
_MOST = 120
"""Moments in one answer."""


def most(count: int) -> int:
    """Say how many moments of those asked for are given in one answer: one at least."""
    return max(1, min(count, _MOST))


@dataclass(frozen=True)
class Film:
    """Some moments of a what-if.

    Parameters
    ----------
    at : tuple of float
        Where the played knob stands at each.
    faces : tuple of dict
        The state of each face by name; what is as it was a moment before is left out.
    sentences : tuple of str
        What each shows, in words.
    rows : list
        Where the faces stand.
    low, high, step, rate : float
        Of the played knob.
    knobs : list of dict
        Every other knob: name, label, where it stands in words and as a value, and one notch down and up of it.
    standing : tuple of list of str
        Of a flight: where each knob stands at each moment, in words.
    ends : int or None
        Of a flight: the moment with which it has ended.
    events : tuple of int
        Of a replay: moments at which something is done or seen.
    told : mapping
        Of a flight with a fault: what is said of it, piece by piece.
    """

    at: tuple[float, ...]
    faces: tuple[dict[str, Any], ...]
    sentences: tuple[str, ...]
    rows: list[Any]
    low: float
    high: float
    step: float
    rate: float
    knobs: list[dict[str, Any]]
    standing: tuple[list[str], ...] = ()
    ends: int | None = None
    events: tuple[int, ...] = ()
    told: Mapping[str, str] = field(default_factory=dict)


def said_of(name: str, setting: Mapping[str, Any]) -> str:
    """Say in words where the knobs of a setting stand.

    Parameters
    ----------
    name : str
        Name of the what-if.
    setting : mapping
        From the name of a knob to its value.

    Returns
    -------
    str
        For example ``"Nose inside the tangent 5 deg"``.

    Raises
    ------
    BadData
        If there is no such what-if.
    """
    known = _made(name).known
    return ", ".join(f"{known[each].label} {known[each].said(value)}" for each, value in setting.items())


@cache
def _made(name: str) -> WhatIf[Any, Any]:
    """Make a what-if once: its sliders belong to no kernel and are never moved."""
    if name not in what_ifs.__all__ or not name.islower():
        raise BadData(f"There is no what-if '{name}': open the lesson anew.")
    made: WhatIf[Any, Any] = getattr(what_ifs, name)()
    return made


def film(name: str, setting: Mapping[str, Any], begin: float | None = None, count: int = 1) -> Film:
    """Give some moments of a what-if, one after the other.

    Parameters
    ----------
    name : str
        Name of the what-if.
    setting : mapping
        From the name of a knob to its value.
    begin : float, optional
        Where the played knob stands first; at its lowest, if left out.
    count : int
        So many moments at most.

    Returns
    -------
    Film
        The moments.

    Raises
    ------
    BadData
        If there is no such what-if.
    OutOfRange, NoSolution
        If it cannot be set so, or what comes of it cannot be flown.
    """
    made = _made(name)
    knob = made.known[made.played]
    step = float(knob.step)
    asked = knob.low if begin is None else min(max(begin, knob.low), knob.high)
    first, last = (round((place - knob.low) / step) for place in (asked, knob.high))
    places = [knob.low + step * n for n in range(first, min(last, first + most(count) - 1) + 1)]
    faces, sentences, before = [], [], dict[str, Any]()
    for place in places:
        seen = made.moment({**setting, made.played: place})
        states = {face: shown.state() for face, shown in seen.faces.items()}
        faces.append({face: state for face, state in states.items() if state != before.get(face)})
        sentences.append(seen.sentence)
        before = states
    return Film(
        tuple(places),
        tuple(faces),
        tuple(sentences),
        list(made.board.layout_names),
        float(knob.low),
        float(knob.high),
        step,
        float(knob.play),
        _knobs(made, setting),
    )


def _knobs(made: WhatIf[Any, Any], setting: Mapping[str, Any]) -> list[dict[str, Any]]:
    standing = vars(made.knobs)
    rows = []
    for name, knob in made.known.items():
        if name == made.played:
            continue
        value = setting.get(name, standing[name])
        down, up = _notches(knob, value)
        rows.append(
            {"name": name, "label": knob.label, "said": knob.said(value), "value": value, "down": down, "up": up}
        )
    return rows


def _notches(knob: Knob, value: Any) -> tuple[Any, Any]:
    """Give where a knob stands one notch down and one up; where it ends it stays."""
    if isinstance(knob.start, bool):
        return False, True
    if knob.options:
        at = knob.options.index(value)
        return knob.options[max(0, at - 1)], knob.options[min(len(knob.options) - 1, at + 1)]
    low, high, step = float(knob.low), float(knob.high), float(knob.step)
    while (high - low) / step > _NOTCHES:
        step *= 2.0 if f"{step:e}"[0] in "15" else 2.5
    # From where it stands, or on to a whole notch: a class sees each of them.
    place = (float(value) - low) / step
    down, up = (round(low + step * n, 6) for n in (math.ceil(place - 1e-6) - 1, math.floor(place + 1e-6) + 1))
    return max(low, down), min(high, up)
