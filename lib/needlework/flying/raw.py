"""What a reader collects before it is put in order: columns of numbers, and what there is to say of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

import numpy as np

from needlework.basis.quantity import Floats
from needlework.trade.units import FT_M

HeightKind = Literal["altimeter", "pressure", "satellite", "unknown"]
"""Where heights come from: an altimeter (or a simulator's), a pressure sensor set to 1013.25 hPa, a satellite
receiver, or nobody says."""

_MOST_POINTS = 200_000
_DAY_S = 86_400.0


@dataclass
class Raw:
    """Columns of one recording; ``refusal`` is why it cannot be used, in the words after the file's name."""

    names: tuple[str, ...]
    notes: list[str] = field(default_factory=list)
    start_utc: datetime | None = None
    height_kind: HeightKind = "unknown"
    refusal: str = ""
    columns: dict[str, list[float]] = field(init=False)
    _day_s: float = field(default=0.0, init=False)
    _last_s: float = field(default=0.0, init=False)

    def __post_init__(self) -> None:
        """Begin with empty columns."""
        self.columns = {name: [] for name in self.names}

    @property
    def count(self) -> int:
        """How many samples there are."""
        return len(self.columns[self.names[0]])

    def over_midnight_s(self, time_s: float) -> float:
        """A time of day as one that goes on over midnight: the clock falls back by most of a day only there. [s]"""
        self._day_s += _DAY_S if self._last_s - time_s > _DAY_S / 2 else 0.0
        self._last_s = time_s
        return time_s + self._day_s

    def full(self) -> bool:
        """Whether as many samples are there as are kept; says so, once it is."""
        if self.count < _MOST_POINTS:
            return False
        self.notes.append(f"Only the first {_MOST_POINTS:,} samples were read; the rest of the file was left out.")
        return True

    def add(self, *values: float) -> None:
        """Add one sample, in the order of the names."""
        for name, value in zip(self.names, values, strict=True):
            self.columns[name].append(value)

    def metres(self, name: str, values: Sequence[float]) -> None:
        """Fill a column in feet from metres."""
        self.columns[name] = [value / FT_M for value in values]

    def arrays(self) -> dict[str, Floats]:
        """All columns as arrays."""
        return {name: np.array(values, dtype=np.float64) for name, values in self.columns.items()}
