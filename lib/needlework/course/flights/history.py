"""Several flights: what came of each, and whether the same fault was made again or is gone.

Each debriefed flight leaves one line in the learner's journal of progress, with the faults it had; a flight
that is debriefed again replaces nothing, it counts once by its name and start.
"""

from __future__ import annotations

import html
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from needlework.debrief import Debrief
from needlework.exercises import progress

_SORT = "debriefed"


@dataclass(frozen=True)
class Flown:
    """One flight of the history: its name and start, procedure, verdict, points, faults by name."""

    name: str
    start: str
    procedure: str
    verdict: str
    score: float
    faults: tuple[str, ...]

    @property
    def key(self) -> tuple[str, str, str]:
        """What makes it the same flight."""
        return self.name, self.start, self.procedure


def of(report: Debrief) -> Flown:
    """Sum a debrief up."""
    start = report.track.start_utc
    faults = tuple(
        dict.fromkeys(
            report.rubric.error(finding.error).name if finding.error is not None else finding.what
            for finding in report.findings
        )
    )
    return Flown(
        report.track.name,
        "" if start is None else f"{start:%Y-%m-%d %H:%M}",
        f"{report.procedure.airport.name}, {report.procedure.name}",
        report.verdict,
        round(report.score, 1),
        faults,
    )


def note(flown: Flown, where: Path | None = None) -> str:
    """Keep a flight with the learner's progress, unless it is there already; a warning where it cannot be kept."""
    if flown.key in {each.key for each in kept(where)}:
        return ""
    return progress.note_flight(
        {
            "name": flown.name,
            "score": flown.score,
            "passed": flown.verdict == "passed",
            "sort": _SORT,
            "start": flown.start,
            "procedure": flown.procedure,
            "verdict": flown.verdict,
            "faults": list(flown.faults),
        },
        where,
    )


def kept(where: Path | None = None) -> tuple[Flown, ...]:
    """Flights debriefed before, in the order flown."""
    flights = [_read(event) for event in progress.read(where).flights if event.get("sort") == _SORT]
    return tuple(sorted((flown for flown in flights if flown is not None), key=lambda flown: flown.start))


def _read(event: dict[str, Any]) -> Flown | None:
    faults = event.get("faults")
    if not isinstance(faults, list):
        return None
    return Flown(
        str(event.get("name", "")),
        str(event.get("start", "")),
        str(event.get("procedure", "")),
        str(event.get("verdict", "")),
        float(event.get("score") or 0.0),
        tuple(str(fault) for fault in faults),
    )


def again_or_gone(flights: Sequence[Flown]) -> tuple[str, ...]:
    """Say of every fault in how many flights it was made, and whether it is gone from the newest."""
    if len(flights) < 2:
        return ()
    newest, lines = flights[-1], []
    names = dict.fromkeys(fault for flown in flights for fault in flown.faults)
    for name in names:
        times = sum(name in flown.faults for flown in flights)
        if name in newest.faults:
            state = "again in the newest" if times > 1 else "new in the newest"
        else:
            since = next(n for n, flown in enumerate(reversed(flights)) if name in flown.faults)
            state = f"gone for {since} flight{'' if since == 1 else 's'}"
        lines.append(f"{name}: in {times} of {len(flights)}, {state}")
    return tuple(lines)


def text(flights: Sequence[Flown]) -> str:
    """The history as plain text."""
    if not flights:
        return "No flight has been debriefed yet.\n"
    lines = ["Flights, oldest first:"]
    lines += [
        f"  {flown.start or 'no date':16}  {flown.verdict:12} {flown.score:5.0f}  {flown.procedure}  ({flown.name})"
        for flown in flights
    ]
    told = again_or_gone(flights)
    if told:
        lines += ["", "Faults, again or gone:", *(f"  {line}" for line in told)]
    return "\n".join(lines) + "\n"


def page(flights: Sequence[Flown]) -> str:
    """The history as a part of a page; empty where there is nothing to compare."""
    if len(flights) < 2:
        return ""
    rows = "".join(
        "<tr>" + "".join(f"<td>{html.escape(cell)}</td>" for cell in _cells(flown)) + "</tr>" for flown in flights
    )
    told = "".join(f"<li>{html.escape(line)}</li>" for line in again_or_gone(flights))
    head = "".join(f'<th scope="col">{word}</th>' for word in ("flown", "procedure", "verdict", "points", "faults"))
    return f"<h2>Your flights</h2><table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table><ul>{told}</ul>"


def _cells(flown: Flown) -> tuple[str, ...]:
    faults = ", ".join(flown.faults) or "none"
    return flown.start or "no date", flown.procedure, flown.verdict, f"{flown.score:.0f}", faults
