"""The pictures of a report: the flown beside the wanted, with what was found marked where it happened."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from tqdm import tqdm

from needlework.debrief import Debrief, Finding

_MOST_MARKS = 5
_AFTER_S = 60.0


@dataclass(frozen=True)
class Picture:
    """One picture of a report: its name, the PNG, and the sentence that says what it shows."""

    name: str
    png: bytes
    sentence: str


def pictures(report: Debrief, progress: tqdm[Any] | None = None) -> tuple[Picture, ...]:
    """Draw plan view, descent and strips of a debriefed flight."""
    from needlework.showing import pictures as drawing

    marks = marks_of(report)
    wind = None
    if report.wind is not None and report.wind.kt > max(report.wind.unsure_kt, 2.0):
        wind = report.wind.from_deg_true, report.wind.kt
    made = []
    drawn: tuple[tuple[str, Any], ...] = (
        (
            "plan",
            lambda: drawing.draw_flown_plan(
                report.track, report.procedure, entry=_entry(report), marks=marks, wind=wind
            ),
        ),
        (
            "descent",
            lambda: drawing.draw_flown_profile(
                report.track.part(report.track.time_s <= _down_until_s(report)),
                report.procedure,
                category=report.category,
                remote=report.given.remote,
                marks=marks,
            ),
        ),
        ("strips", lambda: _draw_strips(report, marks)),
    )
    for name, draw in drawn:
        picture = draw()
        made.append(Picture(name, drawing.png_bytes(picture, "page"), drawing.sentence_of(picture)))
        if progress is not None:
            progress.update()
    return tuple(made)


def _down_until_s(report: Debrief) -> float:
    """Time up to which the flight belongs beside the descent: a hold may cross the same ground again. [s]"""
    ends = [part.end_s for part in report.parts if part.segment in ("final", "landing")]
    climb = [part.end_s for part in report.parts if part.text == "the climb straight ahead"]
    return max((*ends, *climb), default=float(report.track.time_s[-1])) + _AFTER_S


def _entry(report: Debrief) -> str | None:
    """Entry of the approach; None for a passage flown on its own."""
    return report.entry if report.entry in {way.fix for way in report.procedure.entries} else None


def marks_of(report: Debrief) -> list[tuple[float, str]]:
    """Write beside the track the few moments to talk about: the critical and the heavy first."""
    rows = {judgement.row.key: judgement.row for judgement in report.judgements}
    sure = sorted(report.findings, key=lambda finding: (not finding.critical, -rows[finding.row].weight))
    return sorted((finding.start_s, short(finding, rows[finding.row].short)) for finding in sure[:_MOST_MARKS])


def short(finding: Finding, words: str) -> str:
    """Say a finding in two or three words and its size."""
    return f"{words}: {finding.worst:,.3g} {finding.unit}" if finding.unit else words


def _draw_strips(report: Debrief, marks: Sequence[tuple[float, str]]) -> Any:
    from needlework.showing import pictures as drawing

    seen = report.seen
    needle_limit = report.rubric.row("needle_final").limit["limit_deg"]
    columns = {"needle_deg": report.needle_deg, "dme_nm": seen.dme_nm, "alt_ft": seen.alt_ft}
    bands: dict[str, Any] = {
        "needle_deg": (-needle_limit, needle_limit),
        "alt_ft": (np.where(np.isnan(report.floor_ft), -np.inf, report.floor_ft), np.full(len(seen), np.inf)),
    }
    if not report.procedure.station.has_dme:
        del columns["dme_nm"]
    columns["gs_kt"] = seen.gs_kt
    if "ias_kt" in seen.recorded:
        columns["ias_kt"] = seen.columns["ias_kt"]
        del columns["gs_kt"]
    title = "Needle of the leg flown, DME, altitude over its floor, speed"
    return drawing.draw_strips(seen.time_s, columns, bands=bands, marks=marks, title=title)
