"""What became of an answer: the verdict and its words."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Any


class Outcome(StrEnum):
    """What became of an answer."""

    NOT_ATTEMPTED = "NOT_ATTEMPTED"
    PASS = "PASS"
    CLOSE = "CLOSE"
    SLIP = "SLIP"
    WRONG = "WRONG"
    ERROR = "ERROR"
    WAITS = "WAITS"


@dataclass(frozen=True)
class Verdict:
    """The judgement of one answer.

    Parameters
    ----------
    outcome : Outcome
        What became of it.
    share : float
        Share of the marks, 0 to 1.
    text : str
        Verdict, what was given, what it means in the air, where to look: two to four short sentences.
    slip : str
        Code of the slip, empty if none was recognised.
    given : str
        The answer as it was understood.
    cells : tuple of (label, Verdict)
        For tables: the verdict of every cell, in order.
    evidence : tuple
        What was judged, where it can be shown: the flights of a plan.
    """

    outcome: Outcome
    share: float
    text: str
    slip: str = ""
    given: str = ""
    cells: tuple[tuple[str, Verdict], ...] = ()
    evidence: tuple[Any, ...] = ()
