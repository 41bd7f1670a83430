"""Reading answers: whatever stands in a cell becomes plain numbers and texts, or a sentence says why not.

An object that claims to equal everything gains nothing: it is turned into plain data before anything is compared.
"""

from __future__ import annotations

import math
import re
import unicodedata
from decimal import Decimal
from fractions import Fraction

import numpy as np


class Unreadable(Exception):
    """An answer that cannot be understood; the text says why and what was expected.

    Parameters
    ----------
    why : str
        The text.
    reads : float or None
        The number it would be, typed as it is asked for; None where that cannot be told.
    further : str
        What there is to say of that number besides; not told of a task before it is handed in.
    """

    def __init__(self, why: str, reads: float | None = None, further: str = "") -> None:
        super().__init__(f"{why} {further}".strip())
        self.why = why
        self.reads = reads

    def anew(self) -> Unreadable:
        """Give the same without where it was raised: kept with that, it keeps all that was being worked on there."""
        # No copy: where a cluster has loaded tblib, copies take the place with them.
        made = Unreadable(self.why, self.reads)
        made.args = self.args
        return made


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


_PLAIN = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)")
_TOO_LARGE = "That number is too large to be meant. A usual answer looks like {example}."
_REAL = (int, float, Fraction, Decimal, np.integer, np.floating)


def _single(answer: object) -> object:
    """Take what stands alone in a list, as behind a comma too many, or in an array without a length."""
    if isinstance(answer, np.ndarray) and answer.size == 1:
        return answer.reshape(-1)[0]
    if isinstance(answer, (list, tuple)) and len(answer) == 1 and isinstance(answer[0], (str, *_REAL)):
        return answer[0]
    return answer


def _written(text: str, example: str) -> float:
    """Read a number in quotation marks, as a heading is written: "045"; else say what is in the way."""
    plain = unicodedata.normalize("NFKC", text).replace("\u2212", "-").strip()
    if _PLAIN.fullmatch(plain):
        if math.isfinite(value := float(plain)):
            return value
        raise Unreadable(_TOO_LARGE.format(example=example))
    reads = None
    if re.fullmatch(r"[+-]?[1-9]\d{0,2}(,\d{3})+(\.\d+)?", plain):
        why = "Thousands are written without a comma: 1588."
        reads = float(plain.replace(",", ""))
    elif re.fullmatch(r"[+-]?\d+,\d+", plain):
        why = "Decimals have a point: 5.8."
        reads = float(plain.replace(",", "."))
    elif found := re.fullmatch(r"(\d+):([0-5]\d)", plain):
        why = "Minutes and seconds are written as seconds: 2:43 is 163."
        reads = 60.0 * int(found[1]) + int(found[2])
    elif re.fullmatch(r"\d+:[6-9]\d", plain):
        why = (
            "A minute has 60 seconds, so no minutes and seconds are written so. Decimals of a minute times 60 are seconds: "
            "2.50 minutes are 150 seconds."
        )
    elif found := re.match(r"([+-]?[1-9]\d{0,2}(?:,\d{3})+(?:\.\d+)?)\s*[^\d\s,.:][^\d,:]*$", plain):
        why = "The number stands alone, without its unit, and thousands are written without a comma: 1588."
        reads = float(found[1].replace(",", ""))
    elif found := re.match(r"[+-]?(\d+\.?\d*|\.\d+)", plain):
        why = "The number stands alone, without its unit."
        if not re.search(r"[\d,:]", plain[found.end() :]):
            reads = float(found[0])
    else:
        why = "Digits, please."
    raise Unreadable(f"'{short(text)}' is text. {why} Written like this, with your own figures: {example}.", reads)


def _around_a_comma(parts: tuple[object, ...]) -> float | None:
    """Put together what a comma has parted: three figures behind it are thousands, else they are decimals."""
    if len(parts) != 2 or not all(isinstance(part, int) and not isinstance(part, bool) for part in parts):
        return None
    whole, rest = str(parts[0]), str(parts[1])
    if not rest.isdigit():
        return None
    return float(f"{whole}{'' if len(rest) == 3 and parts[0] else '.'}{rest}")


def as_number(answer: object, example: str = "250") -> float:
    """Turn any real number into a plain float; refuse everything else with a reason.

    Parameters
    ----------
    answer : object
        An int, float, numpy number, Fraction or Decimal, alone or alone in a list; or the digits as text, "045".
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
    answer = _single(answer)
    if isinstance(answer, (bool, np.bool_)):
        raise Unreadable(f"{answer} is a yes or no; a number was asked for, for example {example}.")
    if isinstance(answer, str):
        return _written(str.__str__(answer), example)
    if isinstance(answer, _REAL):
        try:
            value = float(answer)
        except Exception:
            raise Unreadable(_TOO_LARGE.format(example=example)) from None
        if math.isfinite(value):
            return value
        raise Unreadable(f"The answer came out as '{value}', which is no number. Was something divided by zero?")
    if isinstance(answer, tuple) and answer and all(isinstance(part, _REAL) for part in answer):
        raise Unreadable(
            "A comma makes two numbers of it. Decimals with a point (5.8), thousands without a comma (1588), please; "
            f"here for example {example}.",
            _around_a_comma(answer),
        )
    kind = {
        "list": "a list",
        "tuple": "a list",
        "ndarray": "a list",
        "dict": "a table",
        "complex": "a number with a j behind it",
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
    answer = _single(answer)
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
        if type(answer) is dict:
            text = "; ".join(f"{label}: {'-' if value is None else value}" for label, value in answer.items())
        elif type(answer) in (list, tuple):
            text = ", ".join("-" if value is None else str(value) for value in answer)  # type: ignore[attr-defined]
        else:
            text = str(answer)
    except Exception:
        text = f"an object of type {type(answer).__name__}"
    text = " ".join(text.split())
    return text if len(text) <= longest else text[: longest - 1] + "…"
