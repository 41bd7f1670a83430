"""What a number outside its range may have been meant as: a hint is given only where it fits the number."""

from __future__ import annotations

import math
from collections.abc import Callable

_JUST_PAST = 0.05
"""Part of a limit: a number so little past it is past it, and nothing else."""

_READ_AS: dict[tuple[str, str], float] = {
    ("kt", "m/s"): 1.944,
    ("kt", "km/h"): 0.54,
    ("kt", "mph"): 0.869,
    ("fpm", "m/s"): 196.85,
    ("ft/min", "m/s"): 196.85,
    ("ft/min", "ft/NM"): 1.5,  # at ninety knots
    ("ft/NM", "ft/min"): 1.0 / 1.5,
    ("ft/NM", "per cent"): 60.76,
    ("ft", "metres"): 3.281,
    ("ft", "flight level"): 100.0,
    ("NM", "metres"): 1.0 / 1852.0,
    ("NM", "m"): 1.0 / 1852.0,
    ("NM", "feet"): 1.0 / 6076.0,
    ("NM", "km"): 0.54,
    ("NM", "statute miles"): 0.869,
    ("NM", "minutes"): 1.5,
    ("m", "miles"): 1609.0,
    ("s", "minutes"): 60.0,
    ("min", "seconds"): 1.0 / 60.0,
    ("hPa", "inches of mercury"): 33.864,
    ("hPa", "inHg"): 33.864,
    ("inHg", "hectopascals"): 1.0 / 33.864,
    ("Hz", "kHz"): 1000.0,
    ("MHz", "kHz"): 0.001,
    ("deg", "per cent"): 0.573,
    ("deg", "ft/NM"): 0.00943,
    ("deg", "full angle of the cone"): 0.5,
}
"""What a number in the second unit is in the first, roughly: enough to see whether it could be that."""


def _whole_degrees(value: float, high: float) -> bool:
    """A direction as pilots write it: whole, and once round at most."""
    return value == round(value) and 0.0 <= value <= 360.0


def _positive(value: float, high: float) -> bool:
    return value > 0.0


_THINGS: dict[str, Callable[[float, float], bool]] = {
    "heading": _whole_degrees,
    "radial": _whole_degrees,
    "direction": _whole_degrees,
    "wind direction": _whole_degrees,
    "bank angle": lambda value, high: 5.0 <= value <= 45.0,
    "longitude": lambda value, high: abs(value) <= 360.0,
    "altitude above the sea": lambda value, high: high < value <= 45_000.0,
    "distance": _positive,
    "speed": _positive,
    "time": _positive,
    # In MHz with its point or without.
    "frequency": lambda value, high: any(100.0 <= value / scale < 140.0 for scale in (1.0, 10.0, 100.0, 1000.0)),
}
_ONLY_BELOW = ("without a sign", "without a side", "only ever adds", "not below it", "back in time", "in the future")
_ONLY_ABOVE = ("not the altitude",)


def _alternatives(question: str) -> list[str]:
    """Split "a speed in m/s or km/h" into "a speed in m/s" and "a speed in km/h"."""
    first, *others = question.split(" or ")
    unit_of = first[: first.rindex("in ") + 3] if "in " in first else ""
    return [first, *(text if text.startswith(("a ", "an ", "the ", "in ")) else unit_of + text for text in others)]


def _fits(meant: str, value: float, low: float, high: float, unit: str) -> bool:
    thing = meant.split(" in ")[-1].removeprefix("in ")
    thing = thing.removeprefix("a ").removeprefix("an ").removeprefix("the ").replace("percent", "per cent")
    if thing == "Fahrenheit":
        return low <= (value - 32.0) / 1.8 <= high
    if (unit, thing) in _READ_AS:
        return low <= value * _READ_AS[unit, thing] <= high
    return thing not in _THINGS or _THINGS[thing](value, high)


def likely(slip: str, value: float, low: float, high: float, unit: str) -> str:
    """Keep of a hint what fits the number that is outside the range.

    Parameters
    ----------
    slip : str
        The likely mistake as a question, ``"is this in m/s or km/h?"``, or a sentence about the quantity.
    value : float
        The number, in ``unit``.
    low, high : float
        The range it is outside of, in ``unit``.
    unit : str
        Its unit.

    Returns
    -------
    str
        The question with those of its guesses that the number could be; empty where it could be none of
        them, and where the number is hardly past the end of the range.

    Examples
    --------
    >>> likely("is this in m/s or km/h?", 500.0, 40.0, 400.0, "kt")
    'is this in km/h?'
    >>> likely("is this a heading?", 270.0, 0.1, 60.0, "deg")
    'is this a heading?'
    >>> likely("is this a heading?", 60.1, 0.1, 60.0, "deg")
    ''
    """
    limit = high if value > high else low
    if any(words in slip for words in (_ONLY_BELOW if value > high else _ONLY_ABOVE)):
        return ""
    if not slip.startswith("is this "):
        return slip
    if math.isinf(value) or abs(value - limit) <= _JUST_PAST * abs(limit):
        return ""
    meant = _alternatives(slip.removeprefix("is this ").removesuffix("?"))
    left = [text for text in meant if _fits(text, value, low, high, unit)]
    if len(left) == len(meant):
        return slip
    return f"is this {' or '.join(left)}?" if left else ""
