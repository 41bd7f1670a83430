"""What was worked out for the last few sets of numbers: drawn, judged and told of, the same come many times."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any


class Recent:
    """Keeps what was worked out for the last few sets of numbers.

    Parameters
    ----------
    most : int
        For how many sets.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._held: list[tuple[dict[str, Any], dict[Any, Any]]] = []

    def of(self, givens: Mapping[str, Any]) -> dict[Any, Any]:
        """Give what is known for these numbers, to read and to add to; empty at first.

        Parameters
        ----------
        givens : mapping
            The numbers; compared by value.

        Returns
        -------
        dict
            The same one each time, as long as it is kept.
        """
        for place, (numbers, known) in enumerate(self._held):
            if numbers == givens:
                if place:
                    self._held.insert(0, self._held.pop(place))
                return known
        self._held.insert(0, (dict(givens), {}))
        del self._held[self._most :]
        return self._held[0][1]
