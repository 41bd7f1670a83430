"""A flight asked for by an exercise: from the names of its parts to a panel that is ready to fly."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from needlework.basis.quantity import within
from needlework.flying.plan import Start
from needlework.showing.panel.cockpit import Cockpit
from needlework.showing.panel.own_file import OwnFile
from needlework.showing.panel.pages import debriefed
from needlework.showing.panel.task import Task
from needlework.showing.panel.widget import Panel
from needlework.world import aircraft as fleet
from needlework.world import procedure, weather
from needlework.world.datafiles import make, refuse
from needlework.world.weather import Day


def fly(
    name: str,
    goal: str,
    *,
    start: Mapping[str, Any],
    course_1_deg: float = 360.0,
    course_2_deg: float = 360.0,
    of: str = "saltmarsh",
    day: str | Day = "Still",
    aircraft: str = "Finch",
    seed: int = 0,
    most_min: float = 45.0,
    ends_at_dme_nm: float | None = None,
    ends_below_dme_nm: float | None = None,
    ends_on_deg: float | None = None,
    calls: tuple[tuple[float, str], ...] = (),
    radials: tuple[float, ...] | None = None,
    about: Mapping[str, Any] | None = None,
    whole: bool = False,
    beside: Mapping[str, Any] | None = None,
    tuned: Mapping[str, Any] | None = None,
    given: Mapping[str, Any] | None = None,
    dme_fails_at_nm: float | None = None,
    sight_at_nm: float | None = None,
    takes_own: bool = False,
) -> Panel:
    """Fly by hand; put it on the last line of a cell.

    Parameters
    ----------
    name, goal : str
        Name of the exercise, under which the flight is recorded, and what to do.
    start : mapping
        Where the flight begins, as in a plan: ``radial_deg``, ``dme_nm``, ``altitude_ft``, ``heading_deg``,
        ``ias_kt`` and, if it is not clean, ``configuration``.
    course_1_deg, course_2_deg : float
        What the selectors show at first. [deg magnetic]
    of : str
        Procedure that gives station, fixes and altitudes.
    day : str or Day
        Name of a day, or a day of one's own.
    aircraft : str
        Name of the aircraft.
    seed : int
        For gusts and the small waves of the needles.
    most_min, ends_at_dme_nm, ends_below_dme_nm, ends_on_deg, calls, radials : float, tuple
        See :class:`needlework.showing.panel.task.Task`.
    about : mapping, optional
        Further plain texts kept under the seal at the head of the recording, such as whose numbers were flown.
    whole : bool
        The whole procedure is flown: then the examiner judges it all. Else the debrief shows the readings only,
        and the exercise that asked for the flight judges it.
    beside : mapping, optional
        Further kinds of output shown with the panel: what is to be flown, as data.
    given : mapping, optional
        What the examiner is told of a whole flight: ``temperature_c`` at the field, ``remote``. [C]
    dme_fails_at_nm : float or None
        The DME goes dark when it comes to this reading. [NM]
    sight_at_nm : float or None
        The runway comes in sight at this reading of the final, and may be landed on; None: cloud all the way. [NM]
    takes_own : bool
        Below the panel stands where a flight of the learner's own is handed in as a file.
    tuned : mapping, optional
        What the receivers begin with, if they are to be tuned; see
        :class:`needlework.showing.panel.receivers.Receivers`.

    Returns
    -------
    Panel
        Ready to fly. An earlier panel of the same name is taken out of use.

    Raises
    ------
    BadData, OutOfRange
        If there is no such procedure, aircraft or day, or the start cannot be.
    """
    way = procedure.load(of)
    craft = fleet.load(aircraft)
    chosen = weather.day(day, field_elevation_ft=way.airport.elevation_ft, seed=seed) if isinstance(day, str) else day
    faults: list[str] = []
    begin = make(Start, dict(start), "start", faults)
    refuse("This flight", faults)
    assert begin is not None
    for label, course in (("course_1_deg", course_1_deg), ("course_2_deg", course_2_deg)):
        within(label, course, 0.0, 360.0, "deg")
    cockpit = Cockpit(
        way, craft, chosen, begin, course_1_deg, course_2_deg, seed, tuned, dme_fails_at_nm, sight_at_nm
    )
    told = {"procedure": of, "aircraft": craft.name, "day": chosen.name, "seed": seed, "start": dict(start)}
    return Panel(
        cockpit,
        Task(name, goal, most_min, ends_at_dme_nm, ends_below_dme_nm, ends_on_deg, calls, radials),
        {**told, **(about or {})},
        debriefed(way, craft, whole, given),
        beside,
        OwnFile(name, about or {}, of) if takes_own else None,
    )
