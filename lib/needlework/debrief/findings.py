"""What a judge says: findings, the verdict of a row, and the few words around them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from needlework.basis.quantity import Floats
from needlework.debrief.rubric import Row

Verdict = Literal["met", "missed", "cannot tell", "not judged"]
Mask: TypeAlias = NDArray[np.bool_]
Run: TypeAlias = tuple[int, int, float]
"""First sample, last sample (included) and length of an unbroken run [s]."""


@dataclass(frozen=True)
class Finding:
    """One thing that went wrong, or could not be told: when, how much, how long, why, and what to do.

    ``part`` is the segment of the procedure (initial, intermediate, final, missed, hold), ``segment`` the
    leg in words. ``failed``: beyond a tolerance of the standard for so long that it was not put right in
    time. ``also`` names what else the same event broke.
    """

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
    part: str = ""
    failed: bool = False
    also: tuple[str, ...] = ()

    @property
    def end_s(self) -> float:
        """Time at which it was over. [s]"""
        return self.start_s + self.length_s

    @property
    def text(self) -> str:
        """All of it in an instructor's words."""
        parts = [f"{clock(self.start_s)}, {self.where}, {self.segment}: {self.what}"]
        if self.cause:
            parts.append(f"Likely: {self.cause}.")
        if self.also:
            parts.append(f"With it went: {'; '.join(self.also)}.")
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
    return re.sub(r"(?<![\d.,])1 (degree|mile)s\b", r"1 \1", words)


def clock(time_s: float) -> str:
    """Write a time of the recording: ``12:34`` minutes and seconds."""
    return f"{int(time_s) // 60}:{int(time_s) % 60:02d}"


def worst_by_part(findings: list[Finding]) -> list[Finding]:
    """Only the worst of the findings of one part of the flight, so that a wavering line is said once."""
    best: dict[tuple[str, bool], Finding] = {}
    for finding in findings:
        key = finding.segment, finding.sure
        if key not in best or (finding.critical, finding.worst) > (best[key].critical, best[key].worst):
            best[key] = finding
    return sorted(best.values(), key=lambda finding: finding.start_s)


def worst_of_laps(findings: list[Finding]) -> list[Finding]:
    """The worst of the findings of one part, not passed where any of the laps is not, whichever is told."""
    failed = any(found.failed for found in findings)
    return [replace(found, failed=found.failed or failed) for found in worst_by_part(findings)]


def worst_only(findings: list[Finding]) -> list[Finding]:
    """Only the worst of some findings of one kind."""
    return [max(findings, key=lambda finding: (finding.critical, finding.worst))] if findings else []


def not_judged(row: Row, why: str) -> Judgement:
    """Say that a row could not be judged, and why."""
    return Judgement(row, "not judged", why)


def apart(a_deg: Floats | float, b_deg: Floats | float) -> Floats:
    """Angle from one direction to another on the circle, right positive; nan stays nan."""
    return np.asarray(np.mod(np.asarray(a_deg) - b_deg + 180.0, 360.0) - 180.0)


def mean_deg(direction_deg: Floats) -> float:
    """Mean of directions on the circle. [deg]"""
    angle = np.deg2rad(direction_deg)
    return float(np.mod(np.rad2deg(np.arctan2(np.sin(angle).mean(), np.cos(angle).mean())), 360.0))


def trend(time_s: Floats, values: Floats) -> float:
    """Slope of a straight line through values, per second."""
    if len(time_s) < 3:
        return 0.0
    return float(np.polyfit(time_s - time_s[0], values, 1)[0])


def runs_of(mask: Mask, stretch: NDArray[np.int_]) -> Iterator[tuple[int, int]]:
    """First and last index of every unbroken run; a pause breaks a run."""
    if not len(mask):
        return
    cut = np.concatenate([[True], (np.diff(mask.astype(np.int8)) != 0) | (np.diff(stretch) != 0)])
    starts = np.flatnonzero(cut)
    ends = np.concatenate([starts[1:] - 1, [len(mask) - 1]])
    for first, last in zip(starts, ends, strict=True):
        if mask[first]:
            yield int(first), int(last)
