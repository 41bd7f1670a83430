"""Judge of the wind correction in the hold: what leg and turns asked for, and what was laid off.

Two things show it, and neither is read from the other: how the nose lay outbound, and how far downwind of the line
the turn inbound ended. Each explanation (as much as is asked, no more than inbound, none, to the wrong side)
predicts both, and the one that fits best is told; where none fits both, something else paid for the wind, such
as a turn flown steeper or cut short, and nothing is said.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from needlework.debrief import hold_pattern as pattern
from needlework.debrief.evidence import View
from needlework.debrief.findings import Finding, Judgement, apart, not_judged, worst_of_laps
from needlework.debrief.rubric import Row
from needlework.trade.angles import reciprocal
from needlework.trade.holding import DRIFT_MOST_DEG, drift_factor

_ENOUGH_TIMES, _ENOUGH_DEG = 1.25, 25.0  # who is near the limit passes
_LESS_DEG = 8.0  # of the correction outbound: what a heading is held to, and what the turns make of it
_LEG_MIN = 1.0, 20.0  # three times the drift is the most that is asked
_NOSE_DEG = 3.0  # how well a heading is held that was recorded
# How well the end of a turn shows the drift, short of what is predicted and beyond it: of itself, and a share of it.
_SHORT_NM, _SHORT_SHARE = 0.12, 0.3
_BEYOND_NM, _BEYOND_SHARE = 0.4, 0.9  # other things lead downwind as well, and more than thirty degrees may be asked
_FITS = 4.0  # two standard deviations
_BLOWN_NM = 1.0  # of the line where the turn inbound ends

ENOUGH = "as much as leg and turns ask for"
ONCE = "no more laid off outbound than inbound: the turns drift as well"
NONE = "no wind correction laid off outbound"
DOWNWIND = "wind correction laid off to the wrong side, downwind"


@dataclass(frozen=True)
class Drift:
    """The wind of one lap: corrections into the wind [deg], and how far downwind the turn inbound ended [NM].

    ``leg_nm``: way outbound over the ground; ``unsure_deg``: how well the nose is known.
    """

    inbound_deg: float
    outbound_deg: float
    factor: float
    downwind_nm: float
    leg_nm: float
    unsure_deg: float = _NOSE_DEG

    @property
    def wanted_deg(self) -> float:
        """What leg and turns ask for outbound."""
        return min(self.factor * self.inbound_deg, DRIFT_MOST_DEG)

    @property
    def enough_deg(self) -> float:
        """What passes: half of what is asked, and a little more than inbound."""
        return min(max(_ENOUGH_TIMES, self.factor / 2) * self.inbound_deg, _ENOUGH_DEG)

    @property
    def short_deg(self) -> float:
        """How much less than asked was laid off: by nose and ground together, each as good."""
        by_nose = self.wanted_deg - self.outbound_deg
        by_ground = float(np.rad2deg(self.downwind_nm / max(self.leg_nm, 0.1)))
        return by_nose if by_ground < by_nose else (by_nose + min(by_ground, 2.0 * by_nose)) / 2.0

    @property
    def explained(self) -> str:
        """The explanation that fits nose and ground best; empty where none fits."""
        enough_deg = max(self.enough_deg, min(self.outbound_deg, self.wanted_deg))
        laid_off = {ENOUGH: enough_deg, ONCE: self.inbound_deg, NONE: 0.0, DOWNWIND: -self.inbound_deg}
        misfit = {name: self._misfit(degrees) for name, degrees in laid_off.items()}
        best = min(misfit, key=lambda name: misfit[name])
        return best if misfit[best] < _FITS else ""

    def _misfit(self, laid_off_deg: float) -> float:
        """Sum of squares, in standard deviations, by which nose and ground miss what so much laid off predicts."""
        predicted_nm = self.leg_nm * np.deg2rad(self.wanted_deg - laid_off_deg)
        off_nm = self.downwind_nm - predicted_nm
        least_nm, share = (_SHORT_NM, _SHORT_SHARE) if off_nm < 0.0 else (_BEYOND_NM, _BEYOND_SHARE)
        # Of a crab that is not well known, what leg and turns make of it is known worse.
        nose_deg = np.hypot(self.unsure_deg, self.unsure_deg * laid_off_deg / max(self.inbound_deg, 1.0) / 2.0)
        nose, ground = (self.outbound_deg - laid_off_deg) / nose_deg, off_nm / (least_nm + share * predicted_nm)
        return float(nose**2 + ground**2)


def hold_wind(view: View, row: Row) -> Judgement:
    """Correction flown outbound, against what leg and turns ask for.

    The leg drifts for its own length, and each of the two turns for a minute: 1 + 2/T times the correction
    that holds the inbound course, for a leg of T minutes (three times for a minute, which AIM 5-3-8 has
    for every leg), and 30 degrees at most.
    """
    if not view.nose_known:
        return not_judged(row, "The recording holds no heading, and none could be worked out.")
    laps = list(pattern.laps(view))
    if not laps:
        return not_judged(row, "No lap after the entry has legs long enough to tell.")
    findings, told, otherwise = [], None, False  # otherwise: nose and ground do not agree
    for lap in laps:
        drift = _drift(view, lap)
        if drift.inbound_deg < row.limit["limit_deg"]:
            continue
        told = {"outbound": f"{drift.outbound_deg:.0f}", "inbound": f"{drift.inbound_deg:.0f}"}
        if drift.outbound_deg >= drift.enough_deg or drift.short_deg <= _LESS_DEG:
            otherwise |= drift.downwind_nm > _BLOWN_NM
            continue
        otherwise |= not drift.explained
        if drift.explained not in ("", ENOUGH):
            findings.append(_said(view, row, lap, drift))
    if told is None:
        return not_judged(row, "There was too little wind across the hold.")
    if otherwise and not findings:
        return not_judged(
            row, "What was laid off outbound and where the turn ended do not tell the same of the wind."
        )
    return view.judged(row, worst_of_laps(findings), **told)


def _drift(view: View, lap: pattern.Lap) -> Drift:
    """What a lap shows of its wind."""
    seen, hold = view.seen, view.procedure.hold
    (first, last, _), (begun, ended, length_s) = lap.inbound, lap.outbound
    # The crab, not the cut: what would hold the course, whether it was met yet or not.
    crab = float(np.median(apart(seen.heading_deg, seen.track_deg)[first : last + 1]))
    upwind = float(np.sign(crab))
    flown = float(np.median(apart(seen.heading_deg, float(reciprocal(hold.inbound_course_deg)))[begun : ended + 1]))
    return Drift(
        inbound_deg=abs(crab),
        outbound_deg=-upwind * flown,
        factor=float(drift_factor(np.clip(length_s / 60.0, *_LEG_MIN))),
        downwind_nm=-upwind * pattern.hand(view) * float(pattern.across_nm(view)[pattern.rolled_out(view, lap)]),
        leg_nm=float(np.median(seen.gs_kt[begun : ended + 1])) * length_s / 3600.0,
        unsure_deg=_NOSE_DEG if "heading_deg" in seen.recorded else pattern.HELD_DEG,
    )


def _said(view: View, row: Row, lap: pattern.Lap, drift: Drift) -> Finding:
    """What is said of a lap whose wind was not paid for."""
    away_deg = drift.outbound_deg
    away = f"{away_deg:.0f} degrees into the wind" if away_deg > -0.5 else f"{-away_deg:.0f} degrees downwind"
    what = (
        f"outbound {away.replace('-0 ', '0 ')}, where {drift.inbound_deg:.0f} hold the inbound course: leg and turns "
        f"ask for {drift.factor:.1f} times that, {drift.wanted_deg:.0f}."
    )
    short = round(drift.wanted_deg - away_deg)
    found = view.finding(row, lap.outbound, short, "degrees", what, cause=drift.explained, error=51)
    return replace(found, failed=_lost(view, lap))


def _lost(view: View, lap: pattern.Lap) -> bool:
    """Whether the fix was missed, or the turn ended far from the line and its needle was out of the tolerance."""
    since, across = pattern.rolled_out(view, lap), np.abs(pattern.across_nm(view))
    inbound = (view.numbers >= since) & (view.numbers <= lap.inbound[1])
    off = np.abs(view.off_deg(view.procedure.hold.inbound_course_deg))
    out = off > view.rubric.row("hold_track").limit["limit_deg"] + view.unsure_deg
    beside_nm = float(across[lap.inbound[0] : lap.inbound[1] + 1].min())
    blown = float(across[since]) > _BLOWN_NM and bool((inbound & out).any())
    return beside_nm > pattern.WELL_ASTRAY_NM or blown
