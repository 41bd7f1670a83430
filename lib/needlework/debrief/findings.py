"""What every judge looks at, and what a judge says."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from needlework.basis.quantity import Floats
from needlework.debrief.indications import Seen
from needlework.debrief.rubric import Row, Rubric
from needlework.debrief.segments import Kind, Span, Split, along_across
from needlework.trade import vor
from needlework.world.aircraft import Aircraft
from needlework.world.procedure import Procedure
from needlework.world.procedure_parts import along_nm

Verdict = Literal["met", "missed", "cannot tell", "not judged"]
Mask = NDArray[np.bool_]

_TURNING_DEG_S = 1.2
_BRIEF_S = 10.0


@dataclass(frozen=True)
class Finding:
    """One thing that went wrong, or could not be told: when, how much, how long, why, and what to do."""

    row: str
    segment: str
    start_s: float
    length_s: float
    worst: float
    unit: str
    where: str
    what: str
    cause: str
    next_time: str
    error: int | None = None
    critical: bool = False
    sure: bool = True

    @property
    def text(self) -> str:
        """All of it in an instructor's words."""
        parts = [f"{clock(self.start_s)}, {self.where}, {self.segment}: {self.what}"]
        if self.cause:
            parts.append(f"Likely: {self.cause}.")
        if self.next_time:
            parts.append(f'Next time: "{self.next_time}".')
        return " ".join(parts)


@dataclass(frozen=True)
class Judgement:
    """What one row of the rubric says of the flight; ``credit`` is the share of its weight, 0 to 1."""

    row: Row
    verdict: Verdict
    fact: str
    credit: float = 0.0
    findings: tuple[Finding, ...] = ()


def one(words: str) -> str:
    """Write "1 degree", not "1 degrees"."""
    return re.sub(r"\b1 (degree|mile)s\b", r"1 \1", words)


def clock(time_s: float) -> str:
    """Write a time of the recording: ``12:34`` minutes and seconds."""
    return f"{int(time_s) // 60}:{int(time_s) % 60:02d}"


@dataclass(frozen=True, eq=False)
class View:
    """A flight, cut up, beside the procedure it is judged against."""

    seen: Seen
    split: Split
    procedure: Procedure
    rubric: Rubric
    aircraft: Aircraft | None
    category: str
    remote: bool
    in_sight: bool | None

    # --- where ----------------------------------------------------------------------------------

    def where(self, at: int) -> str:
        """Place of a sample as a pilot says it."""
        radial = round(float(self.seen.radial_deg[at])) % 360 or 360
        distance = (
            f"D{self.seen.dme_nm[at]:.1f}" if self.procedure.station.has_dme else f"{self.seen.ground_nm[at]:.1f} NM"
        )
        return f"{distance} on R{radial:03d}"

    def piece_text(self, at: int) -> str:
        """Name of the part of the flight a sample belongs to."""
        return self.split.pieces[int(self.split.at[at])].text

    def spans(self, *segments: str, kind: Kind | None = None) -> Iterator[Span]:
        """Spans of the given segments, in flying order."""
        for span in self.split.spans:
            if (not segments or span.piece.segment in segments) and kind in (None, span.piece.kind):
                yield span

    def mask(self, *segments: str, kind: Kind | None = None) -> Mask:
        """Samples of the given segments."""
        chosen = np.zeros(len(self.seen), dtype=bool)
        for span in self.spans(*segments, kind=kind):
            chosen[span.slice] = True
        return chosen

    # --- lines and needles ------------------------------------------------------------------------

    @cached_property
    def final_along_nm(self) -> Floats:
        """Distance past the station along the final course (negative before it)."""
        return along_across(self.seen, self.procedure, self.procedure.final_course_deg)[0]

    def along_of(self, name: str) -> float:
        """The same for a fix."""
        return along_nm(self.procedure.fix(name), self.procedure.final_course_deg)

    def off_deg(self, course_deg: float) -> Floats:
        """Needle for a course (right positive, without stops): as recorded where it was set, else worked out."""
        seen = self.seen
        off = np.asarray(vor.offset_deg(radial_deg=seen.radial_deg, selected_course_deg=course_deg))
        for number in ("1", "2"):
            needed = {f"course_{number}_deg", f"needle_{number}_deg"}
            if needed <= seen.recorded:
                needle = seen.columns[f"needle_{number}_deg"]
                set_so = np.abs(apart(seen.columns[f"course_{number}_deg"], course_deg)) < 0.6
                usable = set_so & (np.abs(needle) < 9.5) & (np.abs(needle - off) < 6.0)
                off = np.where(usable, needle, off)
        return off

    def set_course(self, course_deg: float, within_deg: float) -> Mask | None:
        """Samples with a course on one of the selectors (or nothing recorded); None where no selector ever was."""
        columns = [self.seen.columns[name] for name in ("course_1_deg", "course_2_deg") if name in self.seen.recorded]
        if not columns:
            return None
        right = np.any([np.abs(apart(column, course_deg)) <= within_deg for column in columns], axis=0)
        return np.asarray(right | np.any(np.isnan(columns), axis=0))

    @cached_property
    def turning(self) -> Mask:
        """Samples in a turn."""
        return np.abs(self.seen.turn_deg_s) > _TURNING_DEG_S

    @cached_property
    def near(self) -> Mask:
        """Samples where the needle means nothing: near the station or in its cone."""
        height_ft = np.clip(self.seen.alt_ft - self.procedure.station.elevation_ft, 0.0, 60_000.0)
        in_cone = np.asarray(vor.in_cone(dist_nm=self.seen.ground_nm, height_ft=height_ft))
        return np.asarray((self.seen.ground_nm < self.rubric.near_nm) | in_cone)

    def established(self, span: Span, off_deg: Floats) -> Mask:
        """Samples of a span from the first steady time within half scale on, turns and the cone left out.

        The turn that ends the leg is left out as well.
        """
        seen, here = self.seen, np.arange(span.first, span.last + 1)
        usable = ~self.near[here] & ~self.turning[here]
        inside = usable & (np.abs(off_deg[here]) <= self.rubric.established_deg)
        judged = np.zeros(len(seen), dtype=bool)
        for first, last in _runs(inside, seen.time_s[here], seen.stretch[here]):
            if seen.time_s[here[last]] - seen.time_s[here[first]] >= min(self.rubric.established_s, seen.step_s):
                if last > first and seen.time_s[here[last]] - seen.time_s[here[first]] < self.rubric.established_s:
                    continue
                judged[here[first] : span.last + 1] = True
                break
        end = span.last
        while end > span.first and not self.turning[end] and seen.time_s[span.last] - seen.time_s[end] < 15.0:
            end -= 1
        if self.turning[end]:
            while end > span.first and self.turning[end]:
                end -= 1
            judged[end + 1 :] = False
        judged[here] &= usable
        return judged

    def runs(self, mask: Mask, at_least_s: float = 0.0) -> list[tuple[int, int, float]]:
        """First and last sample and length [s] of each unbroken run of a mask that lasts long enough."""
        found = []
        for first, last in _runs(mask, self.seen.time_s, self.seen.stretch):
            length = float(self.seen.time_s[last] - self.seen.time_s[first]) + self.seen.step_s
            if length >= at_least_s:
                found.append((first, last, length))
        return found

    # --- the end of the final -----------------------------------------------------------------------

    @cached_property
    def mda_ft(self) -> float:
        """The MDA of the day."""
        return self.procedure.mda_ft(self.category, remote=self.remote)

    @cached_property
    def climb_at(self) -> int | None:
        """Sample where the climb of a missed approach begins; None if there was none."""
        if self.split.outcome != "missed":
            return None
        seen = self.seen
        on = np.flatnonzero(self.mask("final"))
        if not len(on):
            return None
        lowest = int(on[0] + np.argmin(seen.alt_ft[on[0] :]))
        above = np.flatnonzero(seen.alt_ft[lowest:] > seen.alt_ft[lowest] + 120.0 + seen.alt_grain_ft)
        if not len(above):
            return None
        begun = lowest + int(above[0])
        while begun > lowest and seen.vs_fpm[begun - 1] > 150.0:
            begun -= 1
        return begun

    # --- words ----------------------------------------------------------------------------------------

    def finding(
        self,
        row: Row,
        run: tuple[int, int, float],
        worst: float,
        unit: str,
        what: str,
        *,
        cause: str = "",
        error: int | None = None,
        sure: bool = True,
        next_time: str = "",
    ) -> Finding:
        """Make a finding for a run of samples; what is not said here comes from the words of the common error."""
        first, _, length = run
        known = self.rubric.error(error) if error else None
        if known and not cause:
            cause = known.name + (f" ({known.cause})" if known.cause else "")
        return Finding(
            row=row.key,
            segment=self.piece_text(first),
            start_s=float(self.seen.time_s[first]),
            length_s=length,
            worst=worst,
            unit=unit,
            where=self.where(first),
            what=one(what),
            cause=cause if sure else "",
            next_time=(next_time or (known.next_time if known else "")) if sure else "",
            error=error,
            critical=row.critical and sure,
            sure=sure,
        )

    def unclear(self, row: Row, mask: Mask, short_ft: Floats, of_what: str) -> list[Finding]:
        """At most one finding that says that the grain of the altitudes allows no verdict."""
        grain = self.seen.alt_grain_ft
        what = (
            f"the altitude recorded lies within {grain:.0f} ft of {of_what}, which is the grain of the recording: "
            "neither kept nor broken can be shown."
        )
        return [
            self.finding(row, run, float(short_ft[run[0] : run[1] + 1].max()), "ft", what, sure=False)
            for run in self.runs(mask)[:1]
        ]

    def judged(self, row: Row, findings: list[Finding], **facts: object) -> Judgement:
        """Sum up: met with its praise, missed, or not to be told."""
        missed = [finding for finding in findings if finding.sure]
        if missed:
            brief = sum(finding.length_s for finding in missed) <= _BRIEF_S and not row.critical
            return Judgement(row, "missed", _count(len(missed), row.quantity), 0.5 if brief else 0.0, tuple(findings))
        if findings:
            return Judgement(row, "cannot tell", "inside the grain of the recording", 0.0, tuple(findings))
        return Judgement(row, "met", one(row.praise.format(**facts)), 1.0)


def worst_by_part(findings: list[Finding]) -> list[Finding]:
    """Only the worst of the findings of one part of the flight, so that a wavering line is said once."""
    best: dict[tuple[str, bool], Finding] = {}
    for finding in findings:
        key = finding.segment, finding.sure
        if key not in best or finding.worst > best[key].worst:
            best[key] = finding
    return sorted(best.values(), key=lambda finding: finding.start_s)


def worst_only(findings: list[Finding]) -> list[Finding]:
    """Only the worst of some findings of one kind."""
    return [max(findings, key=lambda finding: finding.worst)] if findings else []


def not_judged(row: Row, why: str) -> Judgement:
    """Say that a row could not be judged, and why."""
    return Judgement(row, "not judged", why)


def apart(a_deg: Floats | float, b_deg: Floats | float) -> Floats:
    """Angle from one direction to another on the circle, right positive; nan stays nan."""
    return np.asarray(np.mod(np.asarray(a_deg) - b_deg + 180.0, 360.0) - 180.0)


def _count(number: int, quantity: str) -> str:
    return quantity if number == 1 else f"{quantity}, {number} times"


def _runs(mask: Mask, time_s: Floats, stretch: NDArray[np.int_]) -> Iterator[tuple[int, int]]:
    """First and last index of every unbroken run; a pause breaks a run."""
    if not len(mask):
        return
    cut = np.concatenate([[True], (np.diff(mask.astype(np.int8)) != 0) | (np.diff(stretch) != 0)])
    starts = np.flatnonzero(cut)
    ends = np.concatenate([starts[1:] - 1, [len(mask) - 1]])
    for first, last in zip(starts, ends, strict=True):
        if mask[first]:
            yield int(first), int(last)


Judge = Callable[[View, Row], Judgement]
