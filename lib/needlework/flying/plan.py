"""A plan: the table on a pilot's kneepad, row by row *when* something is seen, *then* something is done.

A plan is plain data. In a lesson cell it is a list of rows, in a file it is TOML; both read alike::

    [start]
    radial_deg = 310
    dme_nm = 14
    altitude_ft = 3600
    heading_deg = 130
    ias_kt = 108

    [[rows]]
    then = { course_1_deg = 130, course_2_deg = 320, identify = true }

    [[rows]]
    when = { dme_falls_to_nm = 10.5 }
    then = { heading_deg = 45, turn = "left", ias_kt = 98 }
    note = "lead for the 10 NM arc"

Rows are taken strictly in order: the pilot waits for the *when* of one row only, does its *then*, and
looks at the next. A row with several conditions waits until all of them hold. What is not mentioned
stays as it is. The first row may leave *when* out: it is done at the start.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import Field

from needlework.trade.vor import course_from
from needlework.world.aircraft import Aircraft
from needlework.world.datafiles import Part, did_you_mean, make, ranged, read_toml, refuse, shown

Direction = Annotated[float, ranged(0, 360, "deg", "is this a distance or an altitude?")]
Dme = Annotated[float, ranged(0.1, 199, "NM", "is this a radial?")]
Feet = Annotated[float, ranged(-1000, 18000, "ft")]
Knots = Annotated[float, ranged(40, 250, "kt", "is this in mph or m/s?")]
Seconds = Annotated[float, ranged(1, 3600, "s", "is this in minutes?")]
Flag = Literal["TO", "FROM"]
NEEDLES = (1, 2)
_MOST_ROWS = 300


class When(Part):
    """What is waited for; all that is given must hold."""

    dme_reaches_nm: Dme | None = Field(default=None, description="a DME reading in NM, from either side")
    dme_falls_to_nm: Dme | None = Field(default=None, description="a DME reading in NM")
    dme_rises_to_nm: Dme | None = Field(default=None, description="a DME reading in NM")
    radial_reaches_deg: Direction | None = Field(default=None, description="a radial in degrees")
    needle_centres: Literal[1, 2] | None = Field(default=None, description="1 or 2, the needle")
    needle_alive: Literal[1, 2] | None = Field(default=None, description="1 or 2, the needle that leaves its stop")
    flag_1: Flag | None = Field(default=None, description='"TO" or "FROM"')
    flag_2: Flag | None = Field(default=None, description='"TO" or "FROM"')
    alt_reaches_ft: Feet | None = Field(default=None, description="an altitude in feet, from either side")
    after_s: Seconds | None = Field(default=None, description="seconds since the row before")
    clock_s: Seconds | None = Field(default=None, description="seconds since the clock was started")
    abeam: Literal[True] | None = Field(default=None, description="true: the station comes abeam")
    heading_reached: Literal[True] | None = Field(default=None, description="true: the turn is completed")


class Then(Part):
    """What is done; all at once."""

    heading_deg: Direction | None = Field(default=None, description="magnetic heading in degrees")
    turn: Literal["left", "right"] | None = Field(default=None, description='"left" or "right"')
    rate: Literal["standard", "half"] | None = Field(default=None, description='"standard" or "half"')
    follow: Literal["needle 1", "needle 2"] | None = Field(
        default=None, description='"needle 1" or "needle 2": hold that needle centred with a wind correction'
    )
    course_1_deg: Direction | None = Field(default=None, description="course on selector 1 in degrees")
    course_2_deg: Direction | None = Field(default=None, description="course on selector 2 in degrees")
    ias_kt: Knots | None = Field(default=None, description="indicated airspeed in kt")
    vs_fpm: Annotated[float, ranged(-3000, 3000, "ft/min")] | None = Field(
        default=None, description="vertical speed in ft/min, down negative"
    )
    level_ft: Feet | None = Field(default=None, description="altitude to level at, in feet")
    configuration: str | None = Field(default=None, min_length=1, description="a configuration of the aircraft")
    clock: Literal["start"] | None = Field(default=None, description='"start"')
    identify: Literal[True] | None = Field(default=None, description="true: the ident was heard and is right")
    end: Literal[True] | None = Field(default=None, description="true: the flight ends here")


class Start(Part):
    """Where and how the flight begins."""

    radial_deg: Direction = Field(description="radial of the station in degrees")
    dme_nm: Annotated[float, ranged(0, 60, "NM", "is this in km?")] = Field(description="distance in NM")
    altitude_ft: Feet = Field(description="altitude in feet")
    heading_deg: Direction = Field(description="magnetic heading in degrees")
    ias_kt: Knots = Field(description="indicated airspeed in kt")
    configuration: str | None = Field(default=None, min_length=1, description="a configuration of the aircraft")


class PlanRow(Part):
    """One row of the kneepad."""

    when: When | None = None
    then: Then
    note: str = ""


@dataclass(frozen=True)
class Plan:
    """A plan without a fault in itself; whether it fits an aircraft and a station shows when it is flown."""

    start: Start
    rows: tuple[PlanRow, ...]
    name: str = ""


@dataclass(frozen=True)
class Row:
    """A row as the pilot flies it: conditions and actions by name, values one for all flights or one each."""

    when: tuple[tuple[str, Any], ...]
    then: Mapping[str, Any]
    note: str = ""


def read(path: str | Path) -> Plan:
    """Read a plan from a TOML file; BadData lists every fault, one sentence each."""
    source = Path(path)
    raw = read_toml(source)
    faults = [f"{key} is not a part of a plan: {did_you_mean(key, PARTS)}" for key in raw if key not in PARTS]
    return _checked(raw.get("start"), raw.get("rows"), str(raw.get("name", "")), source.name, faults)


PARTS = ("name", "start", "rows")


def make_plan(rows: Iterable[Mapping[str, Any]], start: Mapping[str, Any], name: str = "") -> Plan:
    """Make a plan from rows as a lesson cell holds them; BadData lists every fault, one sentence each."""
    listed = _plain(rows) if isinstance(rows, (list, tuple)) else rows
    return _checked(_plain(start), listed, name, name or "The plan", [])


def _plain(value: Any) -> Any:
    """Turn numpy's numbers and tuples into Python's own: a learner's cell may hold either."""
    if isinstance(value, Mapping):
        return {str(key): _plain(inner) for key, inner in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(inner) for inner in value]
    if isinstance(value, np.generic) or (isinstance(value, np.ndarray) and value.ndim == 0):
        return value.item()
    return value


def _checked(start: Any, rows: Any, name: str, place: str, faults: list[str]) -> Plan:
    made_start = None
    if start is None:
        faults.append("start is missing: expected where the flight begins: radial, DME, altitude, heading, airspeed")
    else:
        made_start = make(Start, start, "start", faults)
    made: list[PlanRow] = []
    if not isinstance(rows, list) or not rows:
        faults.append(f"rows = {shown(rows)}: expected a list of at least one row with when and then")
    elif len(rows) > _MOST_ROWS:
        faults.append(f"the plan has {len(rows)} rows: expected at most {_MOST_ROWS}")
    else:
        for number, raw in enumerate(rows, 1):
            row = _row(number, raw, faults)
            if row is not None:
                made.append(row)
        if len(made) == len(rows):
            faults += _never_set(made)
    refuse(place, faults)
    assert made_start is not None
    return Plan(made_start, tuple(made), name)


def _row(number: int, raw: Any, faults: list[str]) -> PlanRow | None:
    here = f"row {number}"
    if not isinstance(raw, dict):
        faults.append(f"{here} = {shown(raw)}: expected a row with when and then")
        return None
    before = len(faults)
    known = ("when", "then", "note")
    faults.extend(
        f"{here}.{key} is not a part of a row: {did_you_mean(key, known)}" for key in raw if key not in known
    )
    when = None
    if raw.get("when") is not None:
        when = make(When, raw["when"], f"{here}.when", faults)
        if when is not None and not when.model_fields_set:
            faults.append(f"{here}.when is empty: expected what is waited for, such as dme_falls_to_nm = 10.5")
    elif number > 1:
        faults.append(f"{here}.when is missing: only the first row may go without, all others wait for something")
    if raw.get("then") is None:
        faults.append(f"{here}.then is missing: expected what is done, such as heading_deg = 40")
        then = None
    else:
        then = make(Then, raw["then"], f"{here}.then", faults)
    if then is not None:
        faults += [f"{here}.then{sentence}" for sentence in _contradictions(then)]
    note = raw.get("note", "")
    if not isinstance(note, str):
        faults.append(f"{here}.note = {shown(note)}: expected words in quotes")
    if len(faults) > before or then is None:
        return None
    return PlanRow(when=when, then=then, note=note)


def _contradictions(then: Then) -> list[str]:
    """Say what cannot be done together."""
    found = []
    if not then.model_fields_set:
        found.append(" is empty: expected what is done, such as heading_deg = 40")
    if then.turn is not None and then.heading_deg is None:
        found.append(f' turns {then.turn} to nowhere: give heading_deg with turn = "{then.turn}"')
    if then.follow is not None and then.heading_deg is not None:
        found.append(" gives a heading and follows a needle at once: keep one of the two")
    if then.rate is not None and then.heading_deg is None and then.follow is None:
        found.append(f' gives a rate of turn without a turn: give heading_deg with rate = "{then.rate}"')
    return found


def _never_set(rows: list[PlanRow]) -> list[str]:
    """Name the rows that wait for a needle or flag whose course nobody has set, or a clock nobody started."""
    found, courses, clock = [], set[int](), False
    for number, row in enumerate(rows, 1):
        when, then = row.when, row.then
        if when is not None:
            wanted = {int(n) for n in (when.needle_centres, when.needle_alive) if n is not None}
            wanted |= {n for n in NEEDLES if getattr(when, f"flag_{n}") is not None}
            found += [
                f"row {number} waits for receiver {n}, but no row before it sets course_{n}_deg"
                for n in sorted(wanted)
                if n not in courses
            ]
            if when.clock_s is not None and not clock:
                found.append(f'row {number} waits for the clock, but no row before it has clock = "start"')
        courses |= {n for n in NEEDLES if getattr(then, f"course_{n}_deg") is not None}
        if then.follow is not None and int(then.follow[-1]) not in courses:
            found.append(f"row {number} follows {then.follow}, but no row up to it sets course_{then.follow[-1]}_deg")
        clock = clock or then.clock is not None
    return found


def compiled(plan: Plan, aircraft: Aircraft, has_dme: bool, station: str) -> tuple[Row, ...]:
    """Turn a plan into the rows flown; BadData lists what does not fit the aircraft or the station."""
    faults, rows = [], []
    steps = [step.name for step in aircraft.configurations]
    for number, row in enumerate(plan.rows, 1):
        when = [(key, value) for key, value in (row.when or When()).model_dump(exclude_none=True).items()]
        if not has_dme and any(key.startswith("dme") for key, _ in when):
            faults.append(f"row {number} waits for the DME, but {station} has none: use the clock or a radial")
        then = row.then.model_dump(exclude_none=True)
        wanted = then.get("configuration")
        if wanted is not None:
            if wanted in steps:
                then["configuration"] = float(steps.index(wanted))
            else:
                faults.append(
                    f"row {number}: the {aircraft.name} has no configuration {shown(wanted)}: "
                    f"{did_you_mean(wanted, steps)}"
                )
        rows.append(Row(tuple(when), then, row.note or _words(when)))
    refuse(plan.name or "The plan", faults)
    return tuple(rows)


def _words(when: list[tuple[str, Any]]) -> str:
    """Say in words what a row waits for."""
    said = {
        "dme_reaches_nm": "the DME reaches {:g}",
        "dme_falls_to_nm": "the DME falls to {:g}",
        "dme_rises_to_nm": "the DME rises to {:g}",
        "radial_reaches_deg": "radial {:03.0f} is crossed",
        "needle_centres": "needle {} centres",
        "needle_alive": "needle {} comes alive",
        "flag_1": "flag 1 shows {}",
        "flag_2": "flag 2 shows {}",
        "alt_reaches_ft": "the altimeter shows {:,.0f}",
        "after_s": "{:.0f} seconds have passed",
        "clock_s": "the clock shows {:.0f} seconds",
        "abeam": "the station is abeam",
        "heading_reached": "the turn is completed",
    }
    words = [said[key].format(float(course_from(v)) if key == "radial_reaches_deg" else v) for key, v in when]
    return " and ".join(words) if words else "at the start"
