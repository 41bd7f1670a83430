"""Reading answers: whatever stands in a cell becomes plain numbers and texts, or a sentence says why not.

An object that claims to equal everything gains nothing: it is turned into plain data before anything is compared.
"""

from __future__ import annotations

import math
import unicodedata
from decimal import Decimal
from fractions import Fraction

import numpy as np


class Unreadable(Exception):
    """An answer that cannot be understood; the text says why and what was expected."""


def is_blank(answer: object) -> bool:
    """Say whether the answer cell was left as it was.

    Parameters
    ----------
    answer : object
        ``None``, ``...``, an empty text, or a table or list of nothing but these count as blank.

    Returns
    -------
    bool
        True for an untouched answer.
    """
    if answer is None or answer is ...:
        return True
    if isinstance(answer, str):
        return not answer.strip()
    if isinstance(answer, dict):
        return all(is_blank(value) for value in answer.values())
    if isinstance(answer, (list, tuple)):
        return all(is_blank(value) for value in answer)
    return False


def as_number(answer: object, example: str = "250") -> float:
    """Turn any real number into a plain float; refuse everything else with a reason.

    Parameters
    ----------
    answer : object
        An int, float, numpy number, Fraction or Decimal.
    example : str
        What a readable answer looks like.

    Returns
    -------
    float
        The plain value.

    Raises
    ------
    Unreadable
        If it is true/false, text, a list, not a number or infinite.
    """
    if isinstance(answer, (bool, np.bool_)):
        raise Unreadable(f"{answer} is a yes or no; a number was asked for, for example {example}.")
    if isinstance(answer, str):
        raise Unreadable(f"'{short(answer)}' is text. Digits without quotation marks, please, for example {example}.")
    if isinstance(answer, (int, float, Fraction, Decimal, np.integer, np.floating)):
        try:
            value = float(answer)
        except Exception:
            raise Unreadable(f"That number is too large to be meant. A usual answer looks like {example}.") from None
        if math.isfinite(value):
            return value
        raise Unreadable(f"The answer came out as '{value}', which is no number. Was something divided by zero?")
    if isinstance(answer, tuple) and all(isinstance(part, int) for part in answer):
        raise Unreadable(
            "A comma makes two numbers of it. Decimals with a point (5.8), thousands without a comma (1588), please; "
            f"here for example {example}."
        )
    kind = {
        "list": "a list",
        "tuple": "a list",
        "ndarray": "a list",
        "dict": "a table",
        "complex": "a complex number",
    }
    name = kind.get(type(answer).__name__, "something else")
    raise Unreadable(f"One number was asked for and this is {name}. Write it like {example}.")


def as_text(answer: object, example: str = "B") -> str:
    """Turn an answer in words or a letter into a plain, trimmed, upper-case text.

    Parameters
    ----------
    answer : object
        A text.
    example : str
        What a readable answer looks like.

    Returns
    -------
    str
        Plain text in capitals.

    Raises
    ------
    Unreadable
        If it is not a text.
    """
    if isinstance(answer, str):
        return unicodedata.normalize("NFKC", str.__str__(answer)).strip().upper()
    raise Unreadable(f'{short(answer)} is not a text. Write it in quotation marks, for example "{example}".')


def short(answer: object, longest: int = 60) -> str:
    """Show what was given without letting a strange object break the message.

    Parameters
    ----------
    answer : object
        Anything.
    longest : int
        Longest text that is shown whole.

    Returns
    -------
    str
        One line.
    """
    try:
        text = str(answer)
    except Exception:
        text = f"an object of type {type(answer).__name__}"
    text = " ".join(text.split())
    return text if len(text) <= longest else text[: longest - 1] + "…"
