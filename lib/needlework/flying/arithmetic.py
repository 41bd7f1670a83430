"""The arithmetic of the flight model, for many flights in arrays and for one flight in plain numbers.

The model is written once, in the words of :class:`Many`. numpy takes as long over one number as over fifty, so a
flight alone is worked out with :class:`One`: the same words, on Python's own floats. :func:`of` gives the one that
fits.

Both come to the same last digit, up to :data:`exact_flights` flights at once: what is not rounded alike everywhere
(tangent and inverse functions) is then taken from the C library for arrays too, number by number. Sine, cosine and
the length of a vector are numpy's own; in the numpy of the lock file they are those of the C library.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import fields, replace
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

Record = TypeVar("Record", bound="DataclassInstance")

exact_flights = 100
"""Up to so many flights at once each comes out as it does alone, to the last digit; more are kept less finely."""


def of(value: Any) -> Any:
    """Give the arithmetic for a number, or for an array of numbers."""
    return One if type(value) is float else Many


def plainly(value: Any) -> Any:
    """Turn what one flight has as arrays, of shape (1,) or (levels, 1), into floats; words and truths stay."""
    if isinstance(value, np.ndarray):
        return float(value.flat[0]) if value.ndim < 2 else tuple(map(float, value[:, 0]))
    if isinstance(value, tuple):
        return tuple(plainly(each) for each in value)
    number = isinstance(value, (int, float, np.number)) and not isinstance(value, bool)
    return float(value) if number else value


def alone(record: Record) -> Record:
    """Give a record of one flight, whose fields are arrays of shape (1,) or (levels, 1), in plain numbers."""
    return replace(record, **{each.name: plainly(getattr(record, each.name)) for each in fields(record)})


def _one_by_one(single: Callable[..., float], many: Callable[..., Any]) -> Callable[..., Any]:
    def function(*given: Any) -> Any:
        if given[0].size > exact_flights:
            return many(*given)
        shared = np.broadcast_arrays(*given) if len(given) > 1 else given
        return np.array(list(map(single, *(each.tolist() for each in shared))), dtype=np.float64)

    return function


class Many:
    """The words of the model for arrays of shape (N,); ``who`` are numbers of flights, an array of whole numbers."""

    INNER: tuple[Any, ...]  # what every step of a flight needs, to be taken at once
    sin, cos, sqrt, hypot, sign, copysign = np.sin, np.cos, np.sqrt, np.hypot, np.sign, np.copysign
    minimum, maximum, floor, rint, isnan = np.minimum, np.maximum, np.floor, np.rint, np.isnan
    no, where, copy = np.logical_not, staticmethod(np.where), staticmethod(np.copy)
    tan = staticmethod(_one_by_one(math.tan, np.tan))
    arctan = staticmethod(_one_by_one(math.atan, np.arctan))
    arcsin = staticmethod(_one_by_one(math.asin, np.arcsin))
    arctan2 = staticmethod(_one_by_one(math.atan2, np.arctan2))

    @staticmethod
    def any(truths: Any) -> bool:
        """Say whether something holds for any flight."""
        return bool(truths.any())

    @staticmethod
    def all(truths: Any) -> bool:
        """Say whether something holds for every flight."""
        return bool(truths.all())

    @staticmethod
    def held(value: Any, low: Any, high: Any) -> Any:
        """Hold numbers between two others; what numpy's clip does, in less time for few."""
        return np.minimum(np.maximum(value, low), high)

    @staticmethod
    def flag(values: Any) -> Any:
        """Keep flags in as little room as they need."""
        return values.astype(np.int8)

    @staticmethod
    def picked(values: tuple[float, ...], places: Any) -> Any:
        """Pick one of some values for each flight."""
        return np.array(values)[places.astype(np.intp)]

    @staticmethod
    def full(like: Any, value: Any) -> Any:
        """One value for each of the flights of another array."""
        return np.full(len(like), value, dtype=np.int8 if type(value) is int else None)

    @staticmethod
    def at(value: Any, who: Any) -> Any:
        """Give what belongs to some of the flights; what is one for all stays one."""
        return value[who] if isinstance(value, np.ndarray) and value.ndim else value

    @staticmethod
    def put(values: Any, key: Any, who: Any, value: Any) -> None:
        """Set what belongs to some of the flights, in the array that ``values`` holds under a key."""
        values[key][who] = value

    @staticmethod
    def those(who: Any, truths: Any) -> Any:
        """Give those of some flights for which something holds; None where there are none."""
        found = who if truths is True else who[truths]
        return found if found.size else None


class One:
    """The words of the model for one flight in plain floats; ``who`` can only be that flight, and is left alone."""

    INNER: tuple[Any, ...]  # what every step of a flight needs, to be taken at once
    sin, cos, tan, sqrt, copysign = math.sin, math.cos, math.tan, math.sqrt, math.copysign
    arctan, arcsin, arctan2, isnan, any, all = math.atan, math.asin, math.atan2, math.isnan, bool, bool

    @staticmethod
    def hypot(x: float, y: float) -> float:
        """Length of a vector: of a complex number, because math.hypot rounds in a way of its own."""
        return abs(complex(x, y))

    @staticmethod
    def sign(value: float) -> float:
        """1, -1, or the value itself where it is 0 or nan."""
        return 1.0 if value > 0.0 else -1.0 if value < 0.0 else value

    @staticmethod
    def minimum(one: float, other: float) -> float:
        """The smaller; nan if the first is."""
        return other if other < one else one

    @staticmethod
    def maximum(one: float, other: float) -> float:
        """The larger; nan if the first is."""
        return other if other > one else one

    @staticmethod
    def held(value: float, low: float, high: float) -> float:
        """Hold a number between two others; nan stays nan."""
        return low if value < low else high if value > high else value

    @staticmethod
    def floor(value: float) -> float:
        """Next whole number below, as a float."""
        return float(math.floor(value))

    @staticmethod
    def rint(value: float) -> float:
        """Nearest whole number, as a float; of two as near the even one."""
        return float(round(value))

    @staticmethod
    def no(truth: bool) -> bool:
        """Whether something does not hold."""
        return not truth

    @staticmethod
    def where(truth: bool, one: Any, other: Any) -> Any:
        """One value if something holds, else the other."""
        return one if truth else other

    @staticmethod
    def copy(value: Any) -> Any:
        """The value: a number cannot change."""
        return value

    @staticmethod
    def flag(value: int) -> int:
        """The flag."""
        return value

    @staticmethod
    def picked(values: tuple[float, ...], place: float) -> float:
        """One of some values."""
        return values[int(place)]

    @staticmethod
    def full(_like: Any, value: Any) -> Any:
        """The value."""
        return value

    @staticmethod
    def at(value: Any, _who: Any) -> Any:
        """The value."""
        return value

    @staticmethod
    def put(values: Any, key: Any, _who: Any, value: Any) -> None:
        """Set what ``values`` holds under a key."""
        values[key] = value

    @staticmethod
    def those(who: Any, truth: bool) -> Any:
        """The flight if something holds, else None."""
        return who if truth else None


def _inner(words: Any) -> tuple[Any, ...]:
    names = "held minimum where isnan any copysign sqrt sin cos tan arctan"
    return tuple(getattr(words, name) for name in names.split())


Many.INNER, One.INNER = _inner(Many), _inner(One)
