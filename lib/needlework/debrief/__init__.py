"""An honest examiner: a flown track judged against a procedure, by a rubric that is data.

The track is cut into the procedure's segments, the receivers' indications are worked out where they
were not recorded, and every row of the rubric gets a verdict: met, missed, cannot tell (inside the
recording's own grain) or not judged (the recording does not hold it). A critical row missed, such as
a descent below minimums, is never passed, whatever the points.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from needlework.basis.errors import BadData
from needlework.basis.quantity import Floats
from needlework.debrief import en_route, final_and_missed, hold_laps
from needlework.debrief.findings import Finding, Judge, Judgement, View, clock
from needlework.debrief.indications import Seen, see
from needlework.debrief.rubric import Rubric
from needlework.debrief.rubric import load as load_rubric
from needlework.debrief.segments import Outcome, Split, split
from needlework.flying.tracklog import CAUTION, Track
from needlework.trade.vor import FULL_SCALE_DEG
from needlework.world.aircraft import Aircraft
from needlework.world.procedure import Procedure

__all__ = ["JUDGES", "Debrief", "Finding", "Judgement", "Part", "clock", "debrief", "load_rubric", "text"]

JUDGES: dict[str, Judge] = {
    "identified": en_route.identified,
    "course_set": en_route.course_set,
    "floor": en_route.floor,
    "level": en_route.level,
    "speed_before_final": en_route.speed_before_final,
    "needle_before_final": en_route.needle_before_final,
    "wind": en_route.wind,
    "cone": en_route.cone,
    "outbound": en_route.outbound,
    "arc_join": en_route.arc_join,
    "arc": en_route.arc,
    "arc_final_course": en_route.arc_final_course,
    "to_final": en_route.to_final,
    "needle_final": final_and_missed.needle_final,
    "full_scale": final_and_missed.full_scale,
    "speed_final": final_and_missed.speed_final,
    "ready": final_and_missed.ready,
    "gate": final_and_missed.gate,
    "sink": final_and_missed.sink,
    "mda": final_and_missed.mda,
    "mda_high": final_and_missed.mda_high,
    "vdp": final_and_missed.vdp,
    "in_sight": final_and_missed.in_sight,
    "decision": final_and_missed.decision,
    "missed_turn": final_and_missed.missed_turn,
    "gradient": final_and_missed.gradient,
    "missed_track": final_and_missed.missed_track,
    "hold_entry": hold_laps.hold_entry,
    "hold_wind": hold_laps.hold_wind,
    "hold_leg": hold_laps.hold_leg,
}
"""Who judges which row of the rubric."""


_SLOWEST_KT, _FASTEST_KT = 20.0, 400.0


@dataclass(frozen=True)
class Part:
    """One part of the flight: which leg, from when to when. [s] of the recording."""

    text: str
    segment: str
    start_s: float
    end_s: float


@dataclass(frozen=True, eq=False)
class Debrief:
    """Everything the debrief has to say.

    ``score`` is 0 to 100 over what could be judged; ``passed`` is False as soon as a critical row is missed.
    ``findings`` stand in flying order. ``needle_deg`` (for the course of the leg, nan where there is none or
    nothing to read) and ``floor_ft`` (lowest altitude allowed, nan where the procedure gives none) go with
    ``seen.time_s``; ``seen`` and ``split`` hold the other arrays the pictures are drawn from.
    """

    procedure: Procedure
    track: Track
    entry: str
    outcome: Outcome
    mda_ft: float
    parts: tuple[Part, ...]
    judgements: tuple[Judgement, ...]
    findings: tuple[Finding, ...]
    score: float
    passed: bool
    notes: tuple[str, ...]
    needle_deg: Floats
    floor_ft: Floats
    seen: Seen
    split: Split

    def of(self, verdict: str) -> tuple[Judgement, ...]:
        """Judgements with one verdict, in the order of the rubric."""
        return tuple(judgement for judgement in self.judgements if judgement.verdict == verdict)

    def judgement(self, key: str) -> Judgement:
        """Judgement of one row of the rubric."""
        for judgement in self.judgements:
            if judgement.row.key == key:
                return judgement
        raise BadData(f"The rubric used has no row {key}")

    @property
    def worst(self) -> Finding | None:
        """The moment to talk about first: critical before heavy before long."""
        weight = {judgement.row.key: judgement.row.weight for judgement in self.judgements}
        sure = [finding for finding in self.findings if finding.sure]
        return max(sure, key=lambda f: (f.critical, weight[f.row], f.length_s), default=None)


def debrief(
    track: Track,
    procedure: Procedure,
    aircraft: Aircraft | None = None,
    *,
    entry: str | None = None,
    category: Literal["A", "B", "C", "D", "E"] | None = None,
    remote: bool = False,
    in_sight: bool | None = None,
    rubric: Rubric | None = None,
) -> Debrief:
    """Judge a flown track.

    ``aircraft`` gives the speeds to keep and the category; without it speeds are not judged and the
    category is A. ``entry``: fix where the approach begins, found from the track when left out.
    ``remote``: flown on another field's altimeter setting, which raises the minimums. ``in_sight``:
    whether the runway was in sight at minimums, None where nobody knows. Raises BadData, in one sentence,
    for a track that has nothing to do with the procedure or whose units cannot be right.
    """
    rubric = rubric or load_rubric(known=frozenset(JUDGES))
    chosen = category or (aircraft.category if aircraft else "A")
    seen = see(track, procedure)
    cut = split(seen, procedure, entry, chosen)
    _units_make_sense(seen, cut)
    view = View(seen, cut, procedure, rubric, aircraft, chosen, remote, in_sight)
    judgements = tuple(JUDGES[row.key](view, row) for row in rubric.rows)
    counted = [judgement for judgement in judgements if judgement.verdict in ("met", "missed")]
    weight = sum(judgement.row.weight for judgement in counted)
    score = 100.0 * sum(judgement.row.weight * judgement.credit for judgement in counted) / weight if weight else 0.0
    bust = any(judgement.row.critical and judgement.verdict == "missed" for judgement in judgements)
    findings = sorted(
        (finding for judgement in judgements for finding in judgement.findings), key=lambda finding: finding.start_s
    )
    parts = tuple(
        Part(span.piece.text, span.piece.segment, float(seen.time_s[span.first]), float(seen.time_s[span.last]))
        for span in cut.spans
    )
    return Debrief(
        procedure=procedure,
        track=track,
        entry=cut.entry,
        outcome=cut.outcome,
        mda_ft=view.mda_ft,
        parts=parts,
        judgements=judgements,
        findings=tuple(findings),
        score=score,
        passed=not bust and score >= rubric.pass_mark,
        notes=seen.notes,
        needle_deg=_needle(view),
        floor_ft=np.fmax(en_route.floors_ft(view), np.where(final_and_missed.at_minimums(view), view.mda_ft, np.nan)),
        seen=seen,
        split=cut,
    )


def _needle(view: View) -> Floats:
    """Needle for the course of the leg flown, held by its stops; nan where there is no line or nothing to read."""
    needle = np.full(len(view.seen), np.nan)
    for span in view.split.spans:
        if span.piece.kind in ("radial", "timed", "climb", "out") and span.piece.course_deg is not None:
            needle[span.slice] = view.off_deg(span.piece.course_deg)[span.slice]
    return np.where(view.near, np.nan, np.clip(needle, -FULL_SCALE_DEG, FULL_SCALE_DEG))


def _units_make_sense(seen: Seen, cut: Split) -> None:
    """Notice times in another unit by the speed, and heights in metres (or taken for metres) by the floors."""
    speed_kt = float(np.median(seen.gs_kt))
    if not _SLOWEST_KT <= speed_kt <= _FASTEST_KT:
        wanted = f"{_SLOWEST_KT:.0f} to {_FASTEST_KT:.0f} kt"
        raise BadData(
            f"The track moves at {speed_kt:,.0f} kt over the ground: expected {wanted}; "
            "check that the times are seconds and that it was recorded in flight"
        )
    ratios = [
        float(seen.alt_ft[at] / span.piece.leg.minimum_ft)
        for span in cut.spans
        if span.piece.leg is not None and span.piece.leg.minimum_ft and span.piece.segment != "final"
        for at in ((span.first + span.last) // 2,)
    ]
    if len(ratios) < 2:
        return
    if all(0.28 <= ratio <= 0.40 for ratio in ratios):
        raise BadData(
            "The altitudes lie at a third of every floor of the procedure: they seem to be metres; expected feet, "
            "so name the column alt_m or convert it"
        )
    if all(2.9 <= ratio <= 3.8 for ratio in ratios):
        raise BadData(
            "The altitudes lie at three times every floor of the procedure: they seem to be feet where metres were "
            "declared; write them in metres, or as alt_ft in a CSV file"
        )


_ENDED = {
    "landing": "a landing",
    "missed": "a missed approach",
    "incomplete": "neither a landing nor a missed approach: the recording ends before",
}


def text(report: Debrief) -> str:
    """Write the whole debrief as plain text, for a screen or a file."""
    procedure = report.procedure
    mark = "PASSED" if report.passed else "NOT PASSED"
    lines = [
        CAUTION,
        "",
        f"{procedure.airport.name}, {procedure.name}; flown from {report.entry}, ended in {_ENDED[report.outcome]}.",
        f"{mark}: {report.score:.0f} of 100 over what could be judged.",
    ]
    critical = [finding for finding in report.findings if finding.critical]
    if critical:
        lines.append("Not passed whatever the points, because of what is marked with ! below.")
    if report.worst:
        lines += ["", "First of all:", f"  {report.worst.text}"]
    lines += ["", "Parts of the flight:"]
    lines += [f"  {clock(part.start_s):>6} to {clock(part.end_s):>6}  {part.text}" for part in report.parts]
    sure = [finding for finding in report.findings if finding.sure]
    if sure:
        lines += ["", "What to work on, in flying order:"]
        lines += [f"  {'!' if finding.critical else '-'} {finding.text}" for finding in sure]
    met = report.of("met")
    if met:
        lines += ["", "What went well:"]
        lines += [f"  + {judgement.row.segment}, {judgement.row.quantity}: {judgement.fact}" for judgement in met]
    unclear = [finding for finding in report.findings if not finding.sure]
    if unclear:
        lines += ["", "Cannot tell:"]
        lines += [f"  ? {finding.text}" for finding in unclear]
    left = report.of("not judged")
    if left:
        lines += ["", "Not judged:"]
        lines += [f"  . {judgement.row.segment}, {judgement.row.quantity}: {judgement.fact}" for judgement in left]
    if report.notes:
        lines += ["", "About the recording:"]
        lines += [f"  . {note}" for note in report.notes]
    return "\n".join(lines) + "\n"
