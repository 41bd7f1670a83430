"""What the marks of a class say of its questions: how hard each is, and whether it goes with the rest.

Data in, data out. Every figure comes with how far it can be trusted, and where nothing can be told, that is said.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from needlework.basis.quantity import Constant

FEWEST = Constant(10.0, "hand-ins", "common-practice")
"""From so many hand-ins on a figure of how a question goes with the rest is given at all."""
_NINETY_FIVE = Constant(1.959964, "1", "definition")
"""Standard normal deviate that leaves 2.5 % above it."""
_NINETY_NINE = Constant(2.575829, "1", "definition")
"""Standard normal deviate that leaves 0.5 % above it."""
_LEAST = 0.15
"""A question that surely goes less than that with the rest is looked at. Common practice, no source; see tests."""


@dataclass(frozen=True)
class Together:
    """How a question goes with the rest of the lesson.

    Parameters
    ----------
    r : float or None
        Correlation of its marks with those of all the other questions together, -1 to 1; None where nothing can be
        told.
    low, high : float or None
        The interval that holds it 95 times of 100.
    surely_below : float or None
        The upper end of the interval that holds it 99 times of 100.
    why : str
        Why nothing can be told; a clause.
    """

    r: float | None = None
    low: float | None = None
    high: float | None = None
    surely_below: float | None = None
    why: str = ""

    @property
    def suspect(self) -> bool:
        """True if those who know the rest surely do little or no better in it, or worse."""
        return self.surely_below is not None and self.surely_below < _LEAST


def interval(r: float, count: int, deviate: float) -> tuple[float, float]:
    """Give the interval of a correlation by Fisher's transformation.

    Parameters
    ----------
    r : float
        The correlation, -1 to 1.
    count : int
        Of how many pairs, at least 4.
    deviate : float
        Standard normal deviate of the confidence wanted, for example 1.96.

    Returns
    -------
    low, high : float
        Its ends, ``tanh(artanh r -+ deviate / sqrt(count - 3))``.

    Notes
    -----
    Source: FISHER1921. It takes both quantities for normal; marks are not, and how often it holds what it should is
    counted in the tests.
    """
    if abs(r) >= 1.0:
        return r, r
    middle, half = math.atanh(r), deviate / math.sqrt(count - 3)
    return math.tanh(middle - half), math.tanh(middle + half)


def with_the_rest(marks: Sequence[Sequence[float]] | NDArray[np.float64]) -> list[Together]:
    """Tell of each question how its marks go with those of all the others together.

    Parameters
    ----------
    marks : array of float, shape (students, questions)
        Marks; what was left out counts 0.

    Returns
    -------
    list of Together
        Of each question, in order.

    Notes
    -----
    Pearson's correlation of the question with the total *without* it, so that no question goes with itself. Source:
    HENRYSSON1963.
    """
    held = np.asarray(marks, dtype=float)
    if held.ndim != 2 or held.shape[0] < FEWEST:
        few = f"there are fewer than {FEWEST:g} hand-ins"
        return [Together(why=few)] * (held.shape[1] if held.ndim == 2 else 0)
    if held.shape[1] < 2:
        return [Together(why="there is no other question to compare with")]
    rest = held.sum(axis=1, keepdims=True) - held
    own, others = held - held.mean(axis=0), rest - rest.mean(axis=0)
    # What is the same for everybody comes out as a rounding error of its mean.
    same, flat = (np.ptp(each, axis=0) < 1e-9 for each in (held, rest))
    spread = np.sqrt((own**2).sum(axis=0) * (others**2).sum(axis=0))
    found = []
    for n in range(held.shape[1]):
        if same[n]:
            found.append(Together(why="everybody has the same mark in it"))
        elif flat[n]:
            found.append(Together(why="everybody has the same marks in all the others"))
        else:
            r = float(np.clip((own[:, n] * others[:, n]).sum() / spread[n], -1.0, 1.0))
            low, high = interval(r, held.shape[0], _NINETY_FIVE)
            found.append(Together(r, low, high, interval(r, held.shape[0], _NINETY_NINE)[1]))
    return found


def shares(marks: Sequence[float], points: float) -> tuple[float, float]:
    """Give how hard a question is.

    Parameters
    ----------
    marks : sequence of float
        Marks of those who answered it, at least one.
    points : float
        Full marks, above 0.

    Returns
    -------
    right, mean : float
        Share of them with full marks, and the mean share of the marks; both 0 to 1.
    """
    held = np.asarray(marks, dtype=float) / points
    return float((held > 1.0 - 1e-9).mean()), float(held.mean())


def groups(marks: Sequence[float], out_of: float, most: int = 10) -> list[tuple[float, float, int]]:
    """Count the marks of a class in steps of equal width.

    Parameters
    ----------
    marks : sequence of float
        Mark of each student.
    out_of : float
        Full marks, above 0.
    most : int
        How many steps.

    Returns
    -------
    list of (float, float, int)
        From, to, and how many; full marks are in the last.
    """
    counts, edges = np.histogram(np.clip(marks, 0.0, out_of), bins=most, range=(0.0, out_of))
    return [(float(a), float(b), int(n)) for a, b, n in zip(edges, edges[1:], counts, strict=False)]


def summary(marks: Sequence[float]) -> dict[str, Any]:
    """Give least, quarter, half, three quarters and greatest of the marks, and their mean."""
    held = np.asarray(marks, dtype=float)
    least, first, middle, third, greatest = (float(each) for each in np.quantile(held, (0, 0.25, 0.5, 0.75, 1)))
    return {
        "mean": float(held.mean()),
        "least": least,
        "lower": first,
        "middle": middle,
        "upper": third,
        "greatest": greatest,
    }
