"""Answers as plain data: out of the room in which a hand-in ran, through a pipe, and back; nothing of it is called.

A list, a tuple, a table and the numbers that JSON does not know keep their kind, because what a pilot is told of an
answer depends on it. What is none of these becomes the name of its kind.
"""

from __future__ import annotations

import math
import sys
from typing import Any

PLAIN = (int, float, str, bool, type(None), list, tuple, dict, type(...))
"""The kinds an answer is made of."""

_MOST_ITEMS, _MOST_VALUES, _DEEPEST = 2_000, 5_000, 12
_MOST_LETTERS = 3_000_000
_MOST_BITS = 16_000


class Strange:
    """Something in an answer that is no plain data.

    Parameters
    ----------
    kind : str
        Name of its kind.
    """

    def __init__(self, kind: str) -> None:
        self.kind = kind

    def __str__(self) -> str:
        return f"something of the kind {self.kind}"


def is_plain(value: Any, depth: int = 0) -> bool:
    """Say whether a value is plain data all through.

    Parameters
    ----------
    value : object
        Anything.
    depth : int
        How deep it stands.

    Returns
    -------
    bool
        True if it is.
    """
    if depth > _DEEPEST or type(value) not in PLAIN:
        return False
    if isinstance(value, dict):
        return all(is_plain(each, depth + 1) for pair in value.items() for each in pair)
    if isinstance(value, (list, tuple)):
        return all(is_plain(each, depth + 1) for each in value)
    return True


def packed(value: Any, depth: int = 0, left: list[int] | None = None) -> Any:
    """Give a value in a form that JSON keeps.

    Parameters
    ----------
    value : object
        Anything that stands in an answer cell.
    depth : int
        How deep it stands.
    left : list of int, optional
        How many values there may still be.

    Returns
    -------
    object
        None, a truth value, an int, a float, a text, or a table with the kind as its one key.
    """
    left = [_MOST_VALUES] if left is None else left
    left[0] -= 1
    kind = type(value)
    if depth > _DEEPEST or left[0] < 0:
        return {"?": "too much"}
    if value is None or kind is bool:
        return value
    if value is ...:
        return {"e": 0}
    if kind is int:
        return value if value.bit_length() <= _MOST_BITS else {"?": "a huge number"}
    if kind is float:
        return value if math.isfinite(value) else {"f": repr(value)}
    if kind is str:
        return value[:_MOST_LETTERS]
    if kind in (list, tuple):
        return {"l" if kind is list else "t": [packed(each, depth + 1, left) for each in value[:_MOST_ITEMS]]}
    if kind is dict:
        pairs = list(value.items())[:_MOST_ITEMS]
        return {"d": [[packed(key, depth + 1, left), packed(each, depth + 1, left)] for key, each in pairs]}
    return _of_another_kind(value, depth, left)


def _of_another_kind(value: Any, depth: int, left: list[int]) -> Any:
    """Turn what stands for a plain value into one: an array, a number or a text of another kind."""
    numpy = sys.modules.get("numpy")
    if numpy is not None and isinstance(value, (numpy.ndarray, numpy.generic)):
        if value.size > _MOST_ITEMS:
            return {"?": "a large array"}
        if type(value) is numpy.ndarray and value.ndim:
            return {"a": packed(value.tolist(), depth + 1, left)}
        return packed(value.item(), depth + 1, left)
    if isinstance(value, int):
        return packed(int.__int__(value), depth + 1, left)
    if isinstance(value, float):
        return packed(float.__float__(value), depth + 1, left)
    if isinstance(value, str):
        return packed(str.__str__(value), depth + 1, left)
    for base in (list, tuple, dict):
        if isinstance(value, base):
            return packed(base(value), depth + 1, left)
    numbers = [getattr(sys.modules.get(module), name, None) for module, name in _FRACTIONS]
    if any(type(value) is each for each in numbers if each):
        return packed(float(value), depth + 1, left)
    return {"?": type(value).__name__[:60]}


_FRACTIONS = (("fractions", "Fraction"), ("decimal", "Decimal"))


def unpacked(held: Any, depth: int = 0) -> Any:
    """Turn a packed value into plain data again.

    Parameters
    ----------
    held : object
        As :func:`packed` gave it; whoever wrote it is not trusted.
    depth : int
        How deep it stands.

    Returns
    -------
    object
        Plain data; :class:`Strange` where it was none.

    Raises
    ------
    ValueError
        If it is of another form.
    """
    if depth > 2 * _DEEPEST:
        raise ValueError("too deep")
    if held is None or isinstance(held, (bool, int, float, str)):
        return held
    if not isinstance(held, dict) or len(held) != 1:
        raise ValueError("no packed value")
    ((kind, inner),) = held.items()
    match kind:
        case "l" if isinstance(inner, list):
            return [unpacked(each, depth + 1) for each in inner]
        case "t" if isinstance(inner, list):
            return tuple(unpacked(each, depth + 1) for each in inner)
        case "d" if isinstance(inner, list):
            return dict(_pair(each, depth) for each in inner)
        case "a":
            import numpy as np

            return np.asarray(unpacked(inner, depth + 1))
        case "e":
            return ...
        case "f" if inner in ("inf", "-inf", "nan"):
            return float(inner)
        case "?" if isinstance(inner, str):
            return Strange(inner[:60])
    raise ValueError("no packed value")


def _pair(pair: Any, depth: int) -> tuple[Any, Any]:
    if not isinstance(pair, list) or len(pair) != 2:
        raise ValueError("no packed table")
    key, value = (unpacked(each, depth + 1) for each in pair)
    return key if isinstance(key, (str, int, float)) else str(key), value
