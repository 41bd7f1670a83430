"""The debrief in words: head, verdict, findings, what went well, what to train next."""

from __future__ import annotations

import typing
from collections import Counter

from needlework.debrief.findings import Finding, Judgement, clock
from needlework.debrief.pieces import off_the_runway
from needlework.debrief.training import Training, next_training
from needlework.flying.tracklog import CAUTION

if typing.TYPE_CHECKING:
    from needlework.debrief import Debrief

_ENDED = {
    "landing": "a landing",
    "missed": "a missed approach",
    "incomplete": "neither a landing nor a missed approach: the recording ends before",
}


def ended(report: Debrief) -> str:
    """Say how the flight ended."""
    if report.split.no_approach:
        what = report.split.spans[0].piece.text if len(report.split.spans) == 1 else "a part of the missed approach"
        return f"the recording shows {what}, and no leg of the approach before it"
    down = off_the_runway(report.seen, report.procedure)
    return (
        f"ended in {_ENDED[report.outcome]}" if down is None else f"ended on the ground, not on the runway: {down[1]}"
    )


def flown(report: Debrief) -> str:
    """Say where the flight came from and how it ended."""
    return ended(report) if report.split.no_approach else f"flown from {report.entry}, {ended(report)}"


def head(report: Debrief) -> tuple[str, ...]:
    """Say which flight this is: file, date, aircraft, wind, how it was judged."""
    track, lines = report.track, []
    when = f"{track.start_utc:%Y-%m-%d %H:%M} UTC" if track.start_utc is not None else "no date recorded"
    craft = report.aircraft.name if report.aircraft is not None else "aircraft not named"
    lines.append(f"{track.name or 'A recording'}, {when}, {craft}.")
    wind = f"Wind {report.wind.text}." if report.wind is not None else "The wind cannot be told from this recording."
    lines.append(wind)
    lines.append(f"Judged by: {report.standard}.")
    return tuple(lines)


def verdict(report: Debrief) -> str:
    """The verdict in one line."""
    said = {"passed": "PASSED", "not passed": "NOT PASSED", "not complete": "NOT COMPLETE"}[report.verdict]
    if not report.of("met") and not report.of("missed"):
        return f"{said}: the recording holds nothing that can be judged."
    return f"{said}: {report.score:.0f} of 100 over what could be judged."


def why(report: Debrief) -> tuple[str, ...]:
    """What the verdict rests on besides the points."""
    lines = []
    if any(finding.critical for finding in report.findings):
        lines.append("Not passed whatever the points, because of what is marked with ! below.")
    failed = [finding for finding in report.findings if finding.failed and not finding.critical]
    if failed:
        lines.append(
            f"Not passed by the standard: beyond a tolerance for {report.rubric.prompt_s:.0f} s or more and not put "
            f"right, marked with / below ({', '.join(dict.fromkeys(finding.segment for finding in failed))})."
        )
    if report.missing:
        lines.append(f"Not flown, or not recorded: {', '.join(report.missing)}.")
    return tuple(lines)


def way_in(report: Debrief) -> tuple[str, ...]:
    """How the flight was cut, where another way in was nearly as likely."""
    second = report.split.second
    if second is None or not report.split.close:
        return ()
    return (
        f"The way in was close: {second[0]} fits nearly as well as {report.entry}. If it was flown, "
        f"set it by hand with --entry {second[0]}.",
    )


def well(report: Debrief) -> tuple[str, ...]:
    """What went well: facts of rows that were met and seen whole."""
    return tuple(f"{one.row.segment}, {one.row.quantity}: {one.fact}" for one in report.of("met"))


def text(report: Debrief) -> str:
    """Write the whole debrief as plain text, for a screen or a file."""
    procedure = report.procedure
    lines = [
        CAUTION,
        "",
        *head(report),
        f"{procedure.airport.name}, {procedure.name}; {flown(report)}.",
        *way_in(report),
        verdict(report),
        *why(report),
    ]
    if report.worst:
        lines += ["", "First of all:", f"  {report.worst.text}"]
    lines += ["", "Parts of the flight:"]
    lines += [f"  {clock(part.start_s):>6} to {clock(part.end_s):>6}  {part.text}" for part in report.parts]
    lines += _block("What to work on, in flying order:", [f"{_mark(one)} {one.text}" for one in report.findings])
    lines += _block("Train next:", [f"> {one.text}" for one in next_training(report)])
    lines += _block("What went well:", [f"+ {one}" for one in well(report)])
    reasons = Counter(one.fact for one in _left(report))
    left = [_not_judged(report, fact) for fact in reasons]
    lines += _block("Not judged:", left)
    lines += _block("About the recording:", [f". {note}" for note in report.notes])
    return "\n".join(lines) + "\n"


def _left(report: Debrief) -> tuple[Judgement, ...]:
    """Rows without a verdict: what was not flown or not recorded, and what the recording is too rough for."""
    return (*report.of("not judged"), *report.of("cannot tell"))


def _not_judged(report: Debrief, fact: str) -> str:
    rows = [f"{one.row.segment}: {one.row.quantity}" for one in _left(report) if one.fact == fact]
    return f". {', '.join(rows)}. {fact}"


def _mark(finding: Finding) -> str:
    return "!" if finding.critical else "/" if finding.failed else "-"


def _block(title: str, lines: list[str]) -> list[str]:
    return ["", title, *(f"  {line}" for line in lines)] if lines else []


__all__ = ["Training", "ended", "head", "text", "verdict", "way_in", "well", "why"]
