"""Numbers in sentences as a pilot reads them: no more decimals than say something, thousands apart, no powers of ten."""

from __future__ import annotations

import math
import string
from collections.abc import Mapping
from typing import Any

_MOST_DIGITS = 12
_BEFORE = frozenset(("channel", "radial", "runway", "flight level", "page", "number"))


class _Filler(string.Formatter):
    """Fills texts; behind a ``#`` stands what is counted: ``{minutes:#minute}`` is "1 minute" or "2 minutes"."""

    def format_field(self, value: Any, format_spec: str) -> Any:
        if not format_spec.startswith("#"):
            # A whole number is written without decimals, which would claim more than is known.
            whole = not format_spec and isinstance(value, float) and value.is_integer()
            return super().format_field(int(value) if whole else value, format_spec)
        return f"{number(float(value))} {format_spec[1:]}{'' if value == 1 else 's'}"


_FILLER = _Filler()


def filled(template: str, names: Mapping[str, Any]) -> str:
    """Fill the names in braces of a text.

    Parameters
    ----------
    template : str
        The text, as :meth:`str.format` takes it; besides, ``{name:#noun}`` is a number with the noun it counts.
    names : mapping
        What the names stand for.

    Returns
    -------
    str
        The text.
    """
    return _FILLER.vformat(template, (), names)


def number(value: float, decimals: int = 2) -> str:
    """Write a number for a sentence.

    Parameters
    ----------
    value : float
        The number.
    decimals : int
        Most decimals shown, 0 to 6; a number that would come out as nought gets as many as it needs, six at most.

    Returns
    -------
    str
        For example ``1,234.5``, ``0.04``, ``-3``; a number longer than anybody reads is told by its length.
    """
    if not math.isfinite(value):
        return "no number"
    if abs(value) >= 10.0**_MOST_DIGITS:
        return f"a number of {len(f'{abs(value):.0f}')} digits"
    while decimals < 6 and value and not float(f"{value:.{decimals}f}"):
        decimals += 1
    text = f"{value:,.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def measured(given: str, unit: str) -> str:
    """Put a number and its unit together as they are said.

    Parameters
    ----------
    given : str
        The number as it is written.
    unit : str
        Its unit; what names a thing by its number stands before it.

    Returns
    -------
    str
        ``5.8 NM``, but ``channel 52``; the number alone where there is no unit.

    Examples
    --------
    >>> measured("5.8", "NM"), measured("52", "channel")
    ('5.8 NM', 'channel 52')
    """
    return (f"{unit} {given}" if unit in _BEFORE else f"{given} {unit}").strip()


def direction(value_deg: float) -> str:
    """Write a direction as it is spoken.

    Parameters
    ----------
    value_deg : float
        The direction, 0 to 360. [deg]

    Returns
    -------
    str
        ``065``, and ``360`` for north; with decimals where it has some.
    """
    if value_deg == round(value_deg):
        return f"{round(value_deg) % 360 or 360:03d}"
    return number(value_deg)
