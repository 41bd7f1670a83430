"""What is to be flown in the panel, and when it is over."""

from __future__ import annotations

import math
from dataclasses import dataclass

from needlework.showing.panel.cockpit import Cockpit
from needlework.trade.angles import difference_deg
from needlework.trade.vor import FULL_SCALE_DEG


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
    ends_on_deg : float or None
        It does so only on this radial, its needle off the stop; on any where this is None. [deg magnetic]
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
    ends_on_deg: float | None = None
    calls: tuple[tuple[float, str], ...] = ()
    radials: tuple[float, ...] | None = None


@dataclass(frozen=True)
class Passed:
    """What was read and seen so far, by which a flight is called out to and ended: for a learner and a class alike.

    Parameters
    ----------
    least_nm, most_nm : float
        The least and the most it has read. [NM]
    said : str
        What is called out at this reading; mostly nothing.
    ended : str
        How the flight has ended, such as ``"at DME 5.8"``; empty while it has not.
    sighted : bool
        Whether it was called out that the runway has come in sight.
    behind : bool
        Whether it was called out that the runway has been left behind.
    """

    least_nm: float = math.inf
    most_nm: float = -math.inf
    said: str = ""
    ended: str = ""
    sighted: bool = False
    behind: bool = False

    def on(self, task: Task, cockpit: Cockpit) -> Passed:
        """Go on to what is read now.

        Parameters
        ----------
        task : Task
            What is to be flown.
        cockpit : Cockpit
            Where it has come to.

        Returns
        -------
        Passed
            The same with this reading.
        """
        sighted, behind = cockpit.runway_in_sight, cockpit.runway_behind
        said = "Runway in sight." if sighted and not self.sighted else ""
        if behind and not self.behind:
            said = "The runway is behind you: no landing from here. Go around."
        ended = cockpit.touched() if cockpit.sight_at_nm is not None else ""
        shown_nm = cockpit.dme_nm()
        if shown_nm is None or ended:
            return Passed(self.least_nm, self.most_nm, said, ended, sighted, behind)
        for at_nm, words in task.calls:
            if 0.0 <= self.most_nm < at_nm <= shown_nm:
                said = words
        least_nm, most_nm = min(self.least_nm, shown_nm), max(self.most_nm, shown_nm)
        rises_to, falls_to = task.ends_at_dme_nm, task.ends_below_dme_nm
        if rises_to is not None and least_nm < rises_to <= shown_nm:
            ended = f"at DME {rises_to:g}"
        elif falls_to is not None and most_nm > falls_to >= shown_nm:
            ended = f"at DME {falls_to:g}"
        return Passed(least_nm, most_nm, said, ended if _on_the_radial(task, cockpit) else "", sighted, behind)


def _on_the_radial(task: Task, cockpit: Cockpit) -> bool:
    """See whether a flight that is to end on a radial is on it; true where none is given."""
    if task.ends_on_deg is None:
        return True
    radial_deg = math.degrees(math.atan2(*cockpit.place_nm()))
    return abs(float(difference_deg(from_deg=task.ends_on_deg, to_deg=radial_deg))) < FULL_SCALE_DEG
