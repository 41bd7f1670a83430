"""An honest examiner: a flown track judged against a procedure, by a rubric that is data.

The track is cut into the procedure's segments, the receivers' indications are worked out where they
were not recorded, and every row of the rubric gets a verdict: met, missed, cannot tell (inside the
recording's own uncertainty) or not judged (the recording does not hold it). A critical row missed, such
as a descent below minimums, is never passed, whatever the points; what was not flown or not recorded
makes a flight not complete, which is neither passed nor failed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from needlework.basis.errors import BadData
from needlework.basis.quantity import Floats
from needlework.debrief import (
    arcs,
    circles,
    circling,
    final,
    floors,
    hold_drift,
    hold_entry,
    holding,
    landing,
    levels,
    minimums,
    missed,
    passage,
    stations,
    tracking,
    turn_in,
)
from needlework.debrief.air import Wind, as_said, nose, told, wind_of
from needlework.debrief.approaches import approaches
from needlework.debrief.endings import circled, told_apart
from needlework.debrief.events import merged
from needlework.debrief.evidence import Conditions, Judge, View
from needlework.debrief.findings import Finding, Judgement, apart, clock, mean_deg
from needlework.debrief.height import Height, altimeter_ft, put_right
from needlework.debrief.indications import Seen, half_round, see
from needlework.debrief.pieces import off_the_runway, on_the_runway_ft
from needlework.debrief.praise import unpraised
from needlework.debrief.rubric import Row, Rubric
from needlework.debrief.rubric import load as load_rubric
from needlework.debrief.segments import Outcome, Split, split, split_passage
from needlework.flying.tracklog import Track
from needlework.trade import altimetry
from needlework.trade.vor import FULL_SCALE_DEG
from needlework.world.aircraft import Aircraft
from needlework.world.procedure import Procedure
from needlework.world.procedure_parts import Station, with_cold_ft

__all__ = [
    "JUDGES",
    "Conditions",
    "Debrief",
    "Finding",
    "Judgement",
    "Part",
    "Verdict",
    "approaches",
    "clock",
    "debrief",
    "debrief_passage",
    "load_rubric",
    "text",
]

JUDGES: dict[str, Judge] = {
    "reversed": stations.turned_round,
    "identified": stations.identified,
    "course_set": stations.course_set,
    "flags": stations.flags,
    "floor": floors.floor,
    "established_first": floors.established_first,
    "fix_high": final.fix_high,
    "level": levels.level,
    "speed_before_final": levels.speed_before_final,
    "limits": levels.limits,
    "bank": levels.bank,
    "circle": circles.circle,
    "needle_before_final": tracking.needle_before_final,
    "wind": tracking.wind,
    "cone": passage.cone,
    "outbound": passage.outbound,
    "way_round": arcs.way_round,
    "arc_join": arcs.arc_join,
    "arc": arcs.arc,
    "arc_final_course": arcs.arc_final_course,
    "turn_side": turn_in.turn_side,
    "turn_heading": turn_in.turn_heading,
    "turn_limit": turn_in.turn_limit,
    "turn_time": turn_in.turn_time,
    "to_final": turn_in.to_final,
    "needle_final": final.needle_final,
    "full_scale": final.full_scale,
    "speed_final": final.speed_final,
    "ready": final.ready,
    "gear": final.gear,
    "gate": final.gate,
    "sink": final.sink,
    "mda": minimums.mda,
    "mda_high": minimums.mda_high,
    "vdp": minimums.vdp,
    "path_low": minimums.path_low,
    "circling": circling.circling,
    "touchdown": landing.touchdown,
    "in_sight": minimums.in_sight,
    "decision": missed.decision,
    "missed_turn": missed.missed_turn,
    "missed_side": missed.missed_side,
    "gradient": missed.gradient,
    "missed_track": missed.missed_track,
    "after_missed_floor": floors.after_missed_floor,
    "after_missed_level": levels.after_missed_level,
    "speed_after_missed": levels.speed_after_missed,
    "hold_entry": hold_entry.hold_entry,
    "hold_side": holding.hold_side,
    "hold_wind": hold_drift.hold_wind,
    "hold_track": holding.hold_track,
    "hold_leg": holding.hold_leg,
}
"""Who judges which row of the rubric."""

PASSAGE_ROWS = (
    "reversed",
    "identified",
    "course_set",
    "level",
    "bank",
    "circle",
    "needle_before_final",
    "cone",
    "outbound",
)
"""Rows that judge a station passage flown on its own."""

Verdict = Literal["passed", "not passed", "not complete"]

_SLOWEST_KT, _FASTEST_KT = 20.0, 400.0
_PLAUSIBLE = 0.45  # mean price of a second: dearer is hardly this approach
_FAR_OFF_FT = 150.0  # of the heights of a recording
_PAUSE = 2.5  # times the usual time between two samples
_SHORT_NM = 2.0  # of the fix where the missed approach ends
_BEGINS_S, _BEGINS_ON_S = 90.0, 10.0  # just outside a leg, and on its line from the first samples on
_ON_ARC_NM, _ALONG_DEG = 1.0, 45.0  # the tolerance of an arc; along it or the line, and not across
_FLOWN_SHARE = 0.5  # of a leg: less of it was not flown, or not recorded


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

    ``score`` is 0 to 100 over what could be judged; ``verdict`` is "not passed" as soon as something critical
    was missed or a tolerance of the standard was left and not put right in time, "not complete" where parts
    named in ``missing`` were not flown or not recorded. ``findings`` are what the recording proves, in flying
    order, each event once; what it cannot tell is said in the notes and stands with the judgements.
    ``needle_deg`` (for the course of the leg, nan where there is
    none or nothing to read) and ``floor_ft`` (lowest altitude allowed, nan where the procedure gives
    none) go with ``seen.time_s``; ``seen`` and ``split`` hold the other arrays the pictures are drawn
    from. ``wind`` is what the recording tells of it, None where it does not.
    """

    procedure: Procedure
    track: Track
    aircraft: Aircraft | None
    given: Conditions
    category: str
    standard: str
    entry: str
    outcome: Outcome
    mda_ft: float
    parts: tuple[Part, ...]
    judgements: tuple[Judgement, ...]
    findings: tuple[Finding, ...]
    score: float
    verdict: Verdict
    missing: tuple[str, ...]
    notes: tuple[str, ...]
    needle_deg: Floats
    floor_ft: Floats
    seen: Seen
    split: Split
    wind: Wind | None
    rubric: Rubric

    @property
    def passed(self) -> bool:
        """Whether the whole approach was flown, recorded and passed."""
        return self.verdict == "passed"

    @property
    def height(self) -> Height:
        """What the heights of the recording are worth."""
        return self.seen.height

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
        """The moment to talk about first: an accident, then critical before heavy before long."""
        weight = {judgement.row.key: judgement.row.weight for judgement in self.judgements}
        accident = "mda" if off_the_runway(self.seen, self.procedure) is not None else ""
        return max(
            self.findings, key=lambda f: (f.critical, f.row == accident, weight[f.row], f.length_s), default=None
        )


def debrief(
    track: Track,
    procedure: Procedure,
    aircraft: Aircraft | None = None,
    *,
    entry: str | None = None,
    legs: Mapping[str, float] | None = None,
    category: Literal["A", "B", "C", "D", "E"] | None = None,
    remote: bool = False,
    in_sight: bool | None = None,
    given: Conditions | None = None,
    standard: str = "ACS",
    rubric: Rubric | None = None,
) -> Debrief:
    """Judge a flown track.

    ``aircraft`` gives the speeds to keep and the category; without it speeds are not judged and the
    category is A. ``entry``: fix where the approach begins, found from the track when left out. ``legs``:
    parts by the debrief's own words, with the time at which each began [s], where its own cut is to be
    put right. ``given``: what no recording shows (:class:`Conditions`); ``remote`` and ``in_sight`` are the
    two of them asked for most. ``standard``: "ACS" or "FCL". Raises BadData, in one sentence, for a track
    that has nothing to do with the procedure or whose units cannot be right.
    """
    rubric = (rubric or load_rubric(known=frozenset(JUDGES))).by(standard)
    chosen = category or (aircraft.category if aircraft else "A")
    day = given or Conditions()
    day = replace(day, remote=remote or day.remote, in_sight=day.in_sight if in_sight is None else in_sight)

    def shown(way: Procedure) -> tuple[Seen, Split]:
        seen = _set(_steps(see(track, way), track, aircraft), day, way.airport.elevation_ft)
        _speed_makes_sense(seen)
        return _cut(seen, way, entry, chosen, legs)

    about = None
    try:
        seen, cut = shown(procedure)
    except BadData:
        elsewhere = _elsewhere(shown, procedure)
        if elsewhere is None:
            raise
        procedure, about = elsewhere
        seen, cut = shown(procedure)
    _heights_make_sense(seen, cut)
    circles = procedure.may_circle(chosen) and circled(cut, seen, procedure) is not None
    published_mda_ft = procedure.mda_ft(chosen, remote=day.remote, step_down=day.step_down, circling=circles)
    field_ft = procedure.airport.elevation_ft

    def right(cut: Split) -> tuple[Floats, Height]:
        return put_right(
            seen,
            cut,
            procedure,
            published_mda_ft,
            lambda feet: with_cold_ft(feet, field_ft, day.temperature_c),
            day.temperature_c,
            on_the_runway_ft(seen, cut.outcome, procedure),
            lambda feet, temperature_c: with_cold_ft(feet, field_ft, temperature_c),
        )

    alt_ft, height = right(cut)
    if abs(height.offset_ft) > _FAR_OFF_FT:  # so far off, the heights may have misled the cut as well
        cut = _cut(replace(seen, alt_ft=alt_ft), procedure, entry, chosen, legs)[1]
        alt_ft, height = right(cut)
    seen = replace(seen, alt_ft=alt_ft, height=height, notes=(*seen.notes, *height.sentences))
    cut = told_apart(replace(cut, about=about), seen, procedure, day.temperature_c)
    return _judged(track, _view(seen, cut, procedure, rubric, aircraft, chosen, day), rubric.judged)


def debrief_passage(
    track: Track,
    procedure: Procedure,
    aircraft: Aircraft | None,
    inbound_deg: float,
    outbound_deg: float,
    *,
    given: Conditions | None = None,
    rubric: Rubric | None = None,
) -> Debrief:
    """Judge a passage of a procedure's station flown on its own, in on one course and out on another.

    Only what belongs to a passage is judged: idents, courses set, altitude held, bank, needle, hands still, the turn
    outbound.
    """
    rubric = rubric or load_rubric(known=frozenset(JUDGES))
    seen = see(track, procedure)
    _speed_makes_sense(seen)
    cut = split_passage(seen, inbound_deg, outbound_deg)
    view = _view(
        seen, cut, procedure, rubric, aircraft, aircraft.category if aircraft else "A", given or Conditions()
    )
    return _judged(track, view, tuple(row for row in rubric.judged if row.key in PASSAGE_ROWS))


def _elsewhere(
    shown: Callable[[Procedure], tuple[Seen, Split]], procedure: Procedure
) -> tuple[Procedure, Station] | None:
    """The procedure about another station of its data, where that is what was flown, and the station; or None."""
    for other in procedure.other_stations:
        place = {"lat_deg": other.lat_deg, "lon_deg": other.lon_deg, "declination_deg": other.declination_deg}
        station = procedure.station.model_copy(update=place)
        moved = replace(procedure, station=station)
        try:
            cut = shown(moved)[1]
        except BadData:
            continue
        if cut.price < _PLAUSIBLE and not cut.mirrored and not cut.no_approach:
            return moved, other
    return None


def _cut(
    seen: Seen, procedure: Procedure, entry: str | None, category: str, legs: Mapping[str, float] | None
) -> tuple[Seen, Split]:
    """Cut the flight; where it fits far better turned half round the station, every course was reversed."""
    try:
        cut: Split | None = split(seen, procedure, entry, category, legs)
        refused = None
    except BadData as fault:
        cut, refused = None, fault
    if cut is not None and cut.price < _PLAUSIBLE:
        return seen, cut
    turned = half_round(seen)
    try:
        other: Split | None = split(turned, procedure, entry, category, legs)
    except BadData:
        other = None
    dearest = _PLAUSIBLE if cut is None else min(_PLAUSIBLE, 0.5 * cut.price)
    if other is not None and not other.no_approach and other.price < dearest:
        return turned, replace(other, mirrored=True)
    if cut is None:
        assert refused is not None
        raise refused
    return seen, cut


def _steps(seen: Seen, track: Track, aircraft: Aircraft | None) -> Seen:
    """Configurations that the recording names as the steps of the aircraft; left out where nobody can say."""
    names = track.configuration_names
    if not names or "configuration" not in seen.recorded:
        return seen
    known = [step.name.lower() for step in aircraft.configurations] if aircraft is not None else []
    step_of = np.array([float(known.index(name)) if name in known else np.nan for name in names])
    given = seen.columns["configuration"]
    steps = np.where(np.isnan(given), np.nan, step_of[np.nan_to_num(given).astype(int).clip(0, len(names) - 1)])
    if np.isnan(steps).all():
        return replace(seen, recorded=seen.recorded - {"configuration"})
    columns = {**seen.columns, "configuration": steps}
    gear = final.gear_step(aircraft)
    if gear is not None:  # by name it is seen whether the gear was ever put down, whatever came after it
        columns["gear_down"] = np.maximum.accumulate(np.where(steps == gear, 1.0, 0.0))
    return replace(seen, columns=columns)


def _set(seen: Seen, day: Conditions, field_ft: float) -> Seen:
    """Heights as an altimeter shows them, where the setting or the temperature of the day is known."""
    if seen.height.kind == "satellite" and day.temperature_c is not None:
        return replace(seen, alt_ft=altimeter_ft(seen.alt_ft, field_ft, day.temperature_c))
    if seen.height.kind == "altimeter" and day.height_told:
        return replace(seen, height=replace(seen.height, told=True))
    if seen.height.kind != "pressure" or day.setting_hpa is None:
        return seen
    knob_ft = float(altimetry.pressure_altitude_ft(indicated_ft=0.0, setting_hpa=day.setting_hpa))
    return replace(seen, alt_ft=seen.alt_ft - knob_ft, height=Height("altimeter", told=True))


def _view(
    seen: Seen,
    cut: Split,
    procedure: Procedure,
    rubric: Rubric,
    aircraft: Aircraft | None,
    category: str,
    day: Conditions,
) -> View:
    told_wind = told(day.winds, seen) if day.winds and not {"heading_deg", "ias_kt"} <= seen.recorded else None
    wind = told_wind or wind_of(seen, procedure.station.declination_deg)
    heading = nose(seen, cut, wind, procedure.station.declination_deg)
    if heading is not None:
        seen = replace(seen, heading_deg=heading)
    return View(seen, cut, procedure, rubric, aircraft, category, day, wind, heading is not None)


def _judged(track: Track, view: View, rows: tuple[Row, ...]) -> Debrief:
    """Let every row have its say and draw the sum."""
    seen, cut, rubric = view.seen, view.split, view.rubric
    judgements = unpraised(tuple(JUDGES[row.key](view, row) for row in rows))
    every = [finding for judgement in judgements for finding in judgement.findings]
    findings = merged([finding for finding in every if finding.sure])
    said = {finding.row for finding in findings}
    # What an event also broke is named with it, and costs half.
    judgements = tuple(
        replace(one, credit=max(one.credit, 0.5)) if one.verdict == "missed" and one.row.key not in said else one
        for one in judgements
    )
    counted = [judgement for judgement in judgements if judgement.verdict in ("met", "missed")]
    weight = sum(judgement.row.weight for judgement in counted)
    gained = sum(judgement.row.weight * judgement.credit for judgement in counted)
    score = 100.0 * gained / weight if weight else 100.0  # of a part that holds nothing to judge nothing was lost
    whole = rows == rubric.judged
    missing = _missing(view) if whole else ()
    parts = tuple(
        Part(span.piece.text, span.piece.segment, float(seen.time_s[span.first]), float(seen.time_s[span.last]))
        for span in cut.spans
    )
    floor_ft = np.full(len(seen), np.nan)
    if whole:
        floor_ft = np.fmax(floors.floors_ft(view), np.where(minimums.at_minimums(view), view.mda_ft, np.nan))
    return Debrief(
        procedure=view.procedure,
        track=track,
        aircraft=view.aircraft,
        given=view.given,
        category=view.category,
        standard=rubric.standards[rubric.standard].name,
        entry=cut.entry,
        outcome=cut.outcome,
        mda_ft=view.mda_ft,
        parts=parts,
        judgements=judgements,
        findings=findings,
        score=score,
        verdict=_verdict(findings, score, rubric.pass_mark, missing),
        missing=missing,
        notes=(
            _worth(seen),
            *(_begun_on(view) if whole else ()),
            *(_granted(view, low=any(finding.row == "mda" for finding in every)) if whole else ()),
            *_left_the_hold(view),
            *_unclear(every),
            *seen.notes,
            *_part_of_points(judgements),
            *rubric.notes,
        ),
        needle_deg=_needle(view),
        floor_ft=floor_ft,
        seen=seen,
        split=cut,
        wind=as_said(view.wind, view.given.winds, view.seen),
        rubric=rubric,
    )


def _granted(view: View, *, low: bool) -> tuple[str, ...]:
    """What no recording shows and nobody said: a fault against it cannot be told, and is not praised away."""
    said, day, minimums_of = [], view.given, view.procedure.minimums
    if day.temperature_c is None:
        said.append("whether it was cold")
    if not day.remote and minimums_of.remote_setting_add_ft:
        said.append("whether the altimeter setting was another field's")
    if day.step_down and minimums_of.without_step_down_ft:
        said.append("whether the step-down fix was identified")
    if (view.split.outcome == "landing" or low) and not day.sight_said:
        said.append("whether the runway was in sight")
    if not said:
        return ()
    return (
        f"No recording shows, and nobody said: {', '.join(said)}. A fault against that cannot be told; judged as on "
        "a day that asks nothing more.",
    )


def _left_the_hold(view: View) -> tuple[str, ...]:
    """Say what nobody told: whether the way on from the hold was cleared."""
    span = view.split.span("elsewhere")
    if span is None:
        return ()
    way_deg = mean_deg(view.seen.track_deg[(span.first + span.last) // 2 : span.last + 1])
    return (
        f"{clock(float(view.seen.time_s[span.first]))}: left {view.procedure.hold.fix} on {way_deg:03.0f}, taken as "
        "cleared and not judged. Without a clearance the hold goes on; beyond it nothing is promised to be clear.",
    )


def _unclear(findings: list[Finding]) -> tuple[str, ...]:
    """What lies inside the uncertainty of the recording: one remark a flight."""
    unclear = sorted((finding for finding in findings if not finding.sure), key=lambda finding: finding.start_s)
    if not unclear:
        return ()
    others = len(unclear) - 1
    more = f" So it is at {others} more {'places' if others > 1 else 'place'}." if others else ""
    return (f"{unclear[0].text}{more}",)


def _part_of_points(judgements: tuple[Judgement, ...]) -> tuple[str, ...]:
    """Say what cost a part of its points and is no finding."""
    return tuple(
        f"{one.row.segment}, {one.row.quantity}, has {one.credit:.0%} of its points. {one.fact}"
        for one in judgements
        if one.verdict == "met" and one.credit < 0.995
    )


def _worth(seen: Seen) -> str:
    """Say what the recording can tell: how far its heights, positions and moments may be off."""
    gap_s = float(np.max(np.diff(seen.time_s)))
    pause = f", the longest pause {gap_s:.0f} s" if gap_s > _PAUSE * seen.step_s else ""
    every = f"every {seen.step_s:.0f} s" if seen.step_s >= 1.5 else "every second"
    moment_s = max(seen.step_s / 2.0, 0.5)
    return (
        f"What it can tell: heights to {max(seen.tell_ft, 1.0):.0f} ft at the minimums, positions to "
        f"{max(seen.position_nm, 0.01):.2f} NM, moments to {moment_s:.1f} s (a sample {every}{pause})."
    )


def _verdict(findings: tuple[Finding, ...], score: float, pass_mark: float, missing: tuple[str, ...]) -> Verdict:
    if any(finding.critical or finding.failed for finding in findings) or score < pass_mark:
        return "not passed"
    return "not complete" if missing else "passed"


def _missing(view: View) -> tuple[str, ...]:
    """Parts of the approach that were not flown, or not recorded."""
    if view.split.no_approach:
        return ("the approach, from its first leg to the missed approach point",)
    seen, found = view.seen, []
    step_nm = seen.gs_kt * seen.step_s / 3600.0
    begins = _begins_on(view)
    for number, piece in enumerate(view.split.pieces):
        if piece.leg is None or number < begins:
            continue
        if view.split.circled is not None and piece.leg.minimum_ft is None:
            continue  # the last of the final is left for the circle
        flown_nm = sum(float(step_nm[span.slice].sum()) for span in view.spans() if span.piece is piece)
        if piece.kind == "arc":
            length_nm = float(np.deg2rad(piece.span_deg)) * piece.arc_nm
        elif piece.kind == "radial" and piece.fix is not None:
            length_nm = piece.end_nm - piece.start_nm
        else:
            length_nm = 1.0
        if flown_nm < _FLOWN_SHARE * length_nm and length_nm - flown_nm > 0.5:
            found.append(piece.text)
    if view.split.outcome == "incomplete" and off_the_runway(seen, view.procedure) is None:
        found.append("a landing or a missed approach")
    elif view.split.outcome == "missed" and view.split.span("hold") is None:
        at = missed.turn_at(view)
        if at is None or missed.on_radial(view, at) is None or _short_of_fix(view, at):
            found.append("the missed approach to its end")
    return tuple(found)


def _begins_on(view: View) -> int:
    """Number of the leg that the recording begins on, held from its first samples on; 0 where it begins before it.

    Nobody saw what came before it, nor from where.
    """
    span = next((span for span in view.spans() if span.piece.leg is not None), None)
    if span is None or span.piece.segment == "final":  # without all of a final it is no approach
        return 0
    if view.seen.time_s[span.first] - view.seen.time_s[0] > _BEGINS_S:
        return 0
    seen, piece, first = view.seen, span.piece, slice(0, max(span.first, view.samples(_BEGINS_ON_S)))
    if piece.kind == "arc":
        off = np.abs(seen.ground_nm[first] - piece.arc_nm)
        held, along_deg = bool((off < _ON_ARC_NM).all()), seen.radial_deg[first] + 90.0 * piece.side
    elif piece.kind == "radial" and piece.course_deg is not None:
        off = np.abs(view.off_deg(piece.course_deg)[first])
        held, along_deg = bool((off < view.rubric.established_deg).all()), np.full(len(off), piece.course_deg)
    else:
        return 0
    along = np.abs(apart(seen.track_deg[first], along_deg)) < _ALONG_DEG
    return view.split.pieces.index(piece) if held and along.all() else 0


def _begun_on(view: View) -> tuple[str, ...]:
    """Say where a recording that shows no earlier leg begins."""
    begins = _begins_on(view)
    if not any(piece.leg is not None for piece in view.split.pieces[:begins]):
        return ()
    return (f"The recording begins on {view.split.pieces[begins].text}: what came before it is not judged.",)


def _short_of_fix(view: View, at: int) -> bool:
    """Whether the recording ends on the way to the fix of the missed approach, well short of it."""
    return bool(view.away_nm(view.procedure.missed.fix)[at:].min() > _SHORT_NM)


def _needle(view: View) -> Floats:
    """Needle for the course of the leg flown, held by its stops; nan where there is no line or nothing to read."""
    needle = np.full(len(view.seen), np.nan)
    for span in view.split.spans:
        if span.piece.kind in ("radial", "timed", "climb", "out") and span.piece.course_deg is not None:
            needle[span.slice] = view.off_deg(span.piece.course_deg)[span.slice]
    return np.where(view.near, np.nan, np.clip(needle, -FULL_SCALE_DEG, FULL_SCALE_DEG))


def _speed_makes_sense(seen: Seen) -> None:
    """Notice times in another unit by the speed."""
    speed_kt = float(np.median(seen.gs_kt))
    if not _SLOWEST_KT <= speed_kt <= _FASTEST_KT:
        wanted = f"{_SLOWEST_KT:.0f} to {_FASTEST_KT:.0f} kt"
        raise BadData(
            f"The track moves at {speed_kt:,.0f} kt over the ground: expected {wanted}; "
            "check that the times are seconds and that it was recorded in flight"
        )


def _heights_make_sense(seen: Seen, cut: Split) -> None:
    """Notice heights in metres (or taken for metres) by the floors."""
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


from needlework.debrief.words import text  # noqa: E402 (the words need what stands above)
