"""What is said after a flight, in words, pages and pictures."""

from __future__ import annotations

import base64
import html
import typing
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np

from needlework.exercises import progress, recording
from needlework.flying.tracklog import Track
from needlework.showing.panel.cockpit import FLAG_WORDS
from needlework.world.aircraft import Aircraft
from needlework.world.procedure import Procedure

if typing.TYPE_CHECKING:
    from needlework.debrief import Debrief

_MOST = 3  # findings that are said at once

Debriefed: TypeAlias = Callable[[recording.Recording], tuple[str, dict[str, Any]]]
"""From a finished recording to a page for the learner and a summary for the progress file."""


def spoken_time(seconds: float) -> str:
    """Write how long was flown in minutes and seconds. [s]"""
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02d} min"


def near(path: Path) -> str:
    """A path as short as it can be said: below the notebook's folder without that folder."""
    try:
        return str(path.relative_to(Path.cwd()))
    except ValueError:
        return str(path)


def broken_off(name: str) -> str:
    """Say where the newest flight of this name lies if it came to no end: a crash, a restart, the cell run again."""
    flown = [] if progress.being_marked() else recording.every(name)
    if not flown or flown[-1].ended or flown[-1].path is None:
        return ""
    return f"A flight broken off after {spoken_time(flown[-1].flown_s)} is kept in {near(flown[-1].path)}."


def debriefed(way: Procedure, craft: Aircraft, whole: bool, given: Mapping[str, Any] | None = None) -> Debriefed:
    """Make the function that says how a flight went: by the examiner's rubric, or by its readings alone.

    ``given`` is what the examiner is told beside the recording, by the names of his
    :class:`needlework.debrief.Conditions`.
    """

    def told(flown: recording.Recording) -> tuple[str, dict[str, Any]]:
        track = flown.track
        hands = _by_hand(flown.about)
        if not whole:
            return hands + _strips(track), {"score": None}
        # Most flights ask for no examiner, and his rubric takes its time to load.
        from needlework import debrief

        report = debrief.debrief(track, way, craft, given=debrief.Conditions(**(given or {})))
        summary = {"score": round(report.score, 1), "passed": report.passed}
        return hands + page_of(report, debrief.text(report)) + _strips(track), summary

    return told


def _by_hand(about: Mapping[str, Any]) -> str:
    """Say which way was flown, as the recording has it under its seal; recordings of an earlier version do not."""
    taken = str(about.get("by_hand", ""))
    if not taken:
        return ""
    if taken == "nothing":
        return "<p>Heading, speed and level-off were held for you.</p>"
    return f"<p>Flown the harder way, by hand: {html.escape(taken)}.</p>"


def page_of(report: Debrief, said: str) -> str:
    """The examiner's words as a page for the cell: the verdict, what matters most, and the rest folded away."""
    verdict = "Passed" if report.passed else "Not passed"
    order = sorted(
        report.findings, key=lambda found: (found is not report.worst, not found.critical, not found.failed)
    )
    most = "".join(f"<li>{html.escape(found.text)}</li>" for found in order[:_MOST])
    more = len(order) - _MOST
    rest = f" ({more} more to work on)" if more > 0 else ""
    return (
        f"<h4>Debrief: {verdict}, {report.score:.0f} of 100 over what could be judged</h4>"
        + (f"<ol>{most}</ol>" if most else "")
        + f"<details><summary>The whole debrief{rest}</summary>"
        f'<div style="white-space:pre-wrap;max-width:62em">{html.escape(said)}</div></details>'
    )


def _strips(track: Track) -> str:
    """The readings over the flight, as a picture with its sentence."""
    from needlework.showing import pictures

    names = ("needle_1_deg", "flag_1", "needle_2_deg", "dme_nm", "heading_deg", "alt_ft")
    columns = {name: values for name in names if (values := getattr(track, name)) is not None}
    for name in [name for name in columns if name.startswith("flag")]:
        columns[name] = [FLAG_WORDS[int(value)] for value in columns[name]]
    shown = {name: values for name, values in columns.items() if name.startswith("flag") or np.isfinite(values).any()}
    drawn = pictures.draw_strips(track.time_s, shown, title="What the instruments showed")
    image = base64.b64encode(pictures.png_bytes(drawn, "page")).decode("ascii")
    words = html.escape(pictures.sentence_of(drawn))
    return (
        f'<figure style="margin:.6em 0"><img alt="{words}" width="860" style="max-width:100%;height:auto" '
        f'src="data:image/png;base64,{image}"><figcaption>{words}</figcaption></figure>'
    )
