"""What is to be flown in the panel, and when it is over."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Task:
    """What is to be flown, and when it is over.

    Parameters
    ----------
    name : str
        Name of the exercise; the recording is kept under it.
    goal : str
        What to do, in one or two sentences.
    most_min : float
        The flight ends by itself after this. [min]
    ends_at_dme_nm : float or None
        It ends by itself when the DME, having been less, rises to this. [NM]
    ends_below_dme_nm : float or None
        It ends by itself when the DME, having been more, falls to this. [NM]
    calls : tuple of (DME, words)
        What is seen outside or heard when the DME, having been less, rises to a reading. [NM]
    radials : tuple of float or None
        Radials drawn in the plan view in place of the whole procedure. [deg magnetic]
    """

    name: str
    goal: str
    most_min: float = 45.0
    ends_at_dme_nm: float | None = None
    ends_below_dme_nm: float | None = None
    calls: tuple[tuple[float, str], ...] = ()
    radials: tuple[float, ...] | None = None
