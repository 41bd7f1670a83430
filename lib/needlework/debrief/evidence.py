"""What every judge looks at: the flight, cut up, beside the procedure and the day it is judged by."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from needlework.basis.quantity import Floats
from needlework.debrief.air import Wind, through_air
from needlework.debrief.findings import Finding, Judgement, Mask, Run, apart, one, runs_of
from needlework.debrief.height import air_share
from needlework.debrief.indications import Seen
from needlework.debrief.pieces import along_across, away_nm
from needlework.debrief.rubric import Row, Rubric
from needlework.debrief.segments import Kind, Span, Split
from needlework.trade import vor
from needlework.world.aircraft import Aircraft
from needlework.world.procedure import Procedure
from needlework.world.procedure_parts import Leg, along_nm, with_cold_ft

_TURNING_DEG_S = 1.2
_BRIEF_S = 10.0
_SHARP_FT = 25.0  # heights that are read, or agree with what is published, to a graduation or so
_GRADUATION_FT, _LASTS_S = 20.0, 10.0
_CLIMBED_FT = 120.0  # above the lowest: a climb, no waver
_LEAVES_FT = 12.0  # above the level before: the climb has begun
_LEVEL_BEFORE_S = 90.0
_FEW_S = 3.5  # between two samples
_USABLE_WIND_KT = 14.0  # a wind more unsure than this tells no airspeed
_SHEAR, _SHEAR_FT = 0.6, 2000.0  # at the ground half of the wind of 2,000 ft is left as a rule,
_VEER = 0.4  # and it has turned by twenty degrees or so: share of it that then blows along another way
_HOVERS_FPM, _HOVERS_FT = 80.0, 25.0  # level a little higher than before; a shallow climb is steeper
_LEVEL_FPM, _LEVEL_AGAIN_S, _AWAY_FT, _SAME_FT = 200.0, 12.0, 500.0, 60.0


@dataclass(frozen=True)
class Conditions:
    """What nobody can see in a recording and somebody may know.

    ``in_sight``: whether the runway was in sight at minimums, None where nobody knows; ``sight_from_s`` and
    ``sight_until_s``: when it came in sight and was lost again. ``temperature_c``: at the field, None where
    nobody knows. ``remote``: flown on another field's altimeter setting. ``step_down``: the step-down fix
    could be identified. ``setting_hpa``: the day's setting, for heights by pressure. ``sight_from_nm`` and
    ``sight_until_nm``: the same as DME on the final. ``winds``: altitude [ft], from [deg true] and speed [kt] of each
    wind that is known. ``height_told``: somebody said of which kind the heights of the recording are.
    """

    remote: bool = False
    step_down: bool = True
    temperature_c: float | None = None
    in_sight: bool | None = None
    sight_from_s: float | None = None
    sight_until_s: float | None = None
    sight_from_nm: float | None = None
    sight_until_nm: float | None = None
    setting_hpa: float | None = None
    winds: tuple[tuple[float, float, float], ...] = ()
    height_told: bool = False

    @property
    def sight_said(self) -> bool:
        """Whether anything is known of the runway in sight."""
        of_sight = (self.in_sight, self.sight_from_s, self.sight_from_nm, self.sight_until_s, self.sight_until_nm)
        return any(each is not None for each in of_sight)


@dataclass(frozen=True, eq=False)
class View:
    """A flight, cut up, beside the procedure it is judged against."""

    seen: Seen
    split: Split
    procedure: Procedure
    rubric: Rubric
    aircraft: Aircraft | None
    category: str
    given: Conditions = field(default_factory=Conditions)
    wind: Wind | None = None
    nose_known: bool = False

    # --- where ----------------------------------------------------------------------------------

    def where(self, at: int) -> str:
        """Place of a sample as a pilot says it."""
        radial = round(float(self.seen.radial_deg[at])) % 360 or 360
        distance = f"{self.seen.dme_nm[at]:.1f} DME" if self.has_dme else f"{self.seen.ground_nm[at]:.1f} NM"
        return f"{distance} on radial {radial:03d}"

    @property
    def has_dme(self) -> bool:
        """Whether the station has a DME."""
        return self.procedure.station.has_dme

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

    def inside(self, span: Span) -> Mask:
        """Samples of a span."""
        return self.at(np.arange(span.first, span.last + 1))

    def at(self, samples: NDArray[np.intp]) -> Mask:
        """Samples given by their numbers."""
        chosen = np.zeros(len(self.seen), dtype=bool)
        chosen[samples] = True
        return chosen

    @cached_property
    def numbers(self) -> NDArray[np.intp]:
        """Number of every sample."""
        return np.arange(len(self.seen))

    def samples(self, seconds: float) -> int:
        """How many samples a time takes, at least one."""
        return max(1, round(seconds / self.seen.step_s))

    def away_nm(self, name: str) -> Floats:
        """Distance of every sample from a fix. [NM]"""
        return away_nm(self.seen, self.procedure, name)

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

    @cached_property
    def airspeed(self) -> tuple[Floats, Floats] | None:
        """Indicated airspeed at every sample and how unsure it is [kt]: as recorded, or worked out by the wind.

        A wind that was worked out is that of the altitude flown most: lower down it may be another.
        """
        seen, wind = self.seen, self.wind
        if "ias_kt" in seen.recorded:
            return seen.columns["ias_kt"], np.zeros(len(seen))
        if wind is None or wind.unsure_kt > _USABLE_WIND_KT:
            return None
        east, north = through_air(seen, wind, self.procedure.station.declination_deg)
        tas_kt = np.hypot(east, north)
        thinner = (1.0 + 0.02 * np.clip(seen.alt_ft, 0.0, 20_000.0) / 1000.0) * self._warmer
        if wind.layers:
            return tas_kt / thinner, np.full(len(seen), wind.unsure_kt)
        lower = np.clip((np.median(seen.alt_ft) - seen.alt_ft) / _SHEAR_FT, 0.0, 1.0)
        from_rad = np.deg2rad(wind.from_deg_true)
        along = (east * np.sin(from_rad) + north * np.cos(from_rad)) / np.maximum(tas_kt, 1.0)
        sheared_kt = wind.kt * lower * np.hypot(_SHEAR * along, _VEER * np.sqrt(np.clip(1.0 - along**2, 0.0, 1.0)))
        return tas_kt / thinner, np.hypot(1.5 * wind.unsure_along_kt(east, north), sheared_kt)

    @property
    def _warmer(self) -> float:
        """True airspeed of the day against that of standard air, at one indicated airspeed; 1 where nobody knows."""
        if self.given.temperature_c is None:
            return 1.0
        return float(np.sqrt(1.0 + air_share(self.procedure.airport.elevation_ft, self.given.temperature_c)))

    @cached_property
    def unsure_deg(self) -> Floats:
        """How many degrees of a radial the recording's own noise is worth."""
        return np.rad2deg(self.seen.position_nm / np.maximum(self.seen.ground_nm, 0.2))

    def set_course(self, course_deg: float, within_deg: float) -> Mask | None:
        """Samples with a course on one of the selectors (or nothing recorded); None where no selector ever was."""
        columns = [self.seen.columns[name] for name in ("course_1_deg", "course_2_deg") if name in self.seen.recorded]
        if not columns:
            return None
        right = np.any([np.abs(apart(column, course_deg)) <= within_deg for column in columns], axis=0)
        return np.asarray(right | np.any(np.isnan(columns), axis=0))

    @cached_property
    def between_fpm(self) -> Floats | None:
        """Vertical speed from every sample to the next; None where samples are close, and noise would be most of it.

        With few samples what is smoothed over several of them makes a short descent shallow.
        """
        seen = self.seen
        if seen.step_s < _FEW_S:
            return None
        rate = np.diff(seen.alt_ft) / np.diff(seen.time_s) * 60.0
        return np.append(np.where(np.diff(seen.stretch) == 0, rate, 0.0), 0.0)

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

    @cached_property
    def readable(self) -> Mask:
        """Samples out of turns where the needle means something."""
        return ~self.turning & ~self.near

    def established(self, span: Span, off_deg: Floats) -> Mask:
        """Samples of a span from the first steady time within half scale on, turns and the cone left out.

        The turn that ends the leg is left out as well.
        """
        seen, here = self.seen, np.arange(span.first, span.last + 1)
        usable = ~self.near[here] & ~self.turning[here]
        inside = usable & (np.abs(off_deg[here]) <= self.rubric.established_deg + self.unsure_deg[here])
        judged = np.zeros(len(seen), dtype=bool)
        for first, last in runs_of(inside, seen.stretch[here]):
            length = seen.time_s[here[last]] - seen.time_s[here[first]]
            if length >= self.rubric.established_s or (last > first and seen.step_s >= self.rubric.established_s):
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

    def runs(self, mask: Mask, at_least_s: float = 0.0) -> list[Run]:
        """First and last sample and length [s] of each unbroken run of a mask that lasts long enough."""
        found = []
        for first, last in runs_of(mask, self.seen.stretch):
            length = float(self.seen.time_s[last] - self.seen.time_s[first]) + self.seen.step_s
            if length >= at_least_s:
                found.append((first, last, length))
        return found

    # --- altitudes ------------------------------------------------------------------------------------

    def today_ft(self, published_ft: float) -> float:
        """A published altitude as it is flown today: with the cold of the field added. [ft]"""
        return with_cold_ft(published_ft, self.procedure.airport.elevation_ft, self.given.temperature_c)

    def floor_today_ft(self, leg: Leg) -> float:
        """The floor of a leg as it is at least flown today. [ft]

        The AIM (7-3-5) raises the floors of the final by the correction of the MDA, and the altitudes before it by
        that of the final fix; other rules raise each by its own. Who keeps the lower of the two keeps one of them.
        """
        published_ft = float(leg.minimum_ft or 0.0)
        at_the_fix = (each.minimum_ft for each in self.procedure.legs if each.end == self.procedure.final_fix)
        of_ft = self.published_mda_ft if leg.segment == "final" else next(at_the_fix, None) or published_ft
        own = self.today_ft(published_ft) - published_ft
        return published_ft + min(own, self.today_ft(of_ft) - of_ft)

    @property
    def cold(self) -> bool:
        """Whether the cold raises the altitudes of the day."""
        return self.given.temperature_c is not None and self.given.temperature_c < 0.0

    @cached_property
    def mda_ft(self) -> float:
        """The MDA of the day, with everything that raises it."""
        return self.today_ft(self.published_mda_ft)

    @property
    def published_mda_ft(self) -> float:
        """The MDA with what the plate's notes add to it today. [ft]"""
        return self.procedure.mda_ft(
            self.category, remote=self.given.remote, step_down=self.given.step_down, circling=self.circles
        )

    @property
    def circles(self) -> bool:
        """Whether it was circled to land where the procedure has minimums for that."""
        return self.split.circled is not None and self.procedure.may_circle(self.category)

    @property
    def missed_ft(self) -> float:
        """The missed approach altitude of the day."""
        return self.today_ft(self.procedure.missed.altitude_ft)

    @property
    def tell_ft(self) -> float:
        """How far off a limit an altitude must lie to tell anything."""
        return self.seen.tell_ft

    @cached_property
    def tell_at_ft(self) -> Floats:
        """The same at every sample. [ft]"""
        return self.seen.tell_at_ft

    @cached_property
    def after_missed_at(self) -> int | None:
        """Sample from which what follows a missed approach is judged: its climb, or the hold seen alone."""
        if not self.split.no_approach:
            return self.climb_at
        begins = self.split.span("climb") or self.split.span("hold")
        return None if begins is None else begins.first

    @cached_property
    def climb_at(self) -> int | None:
        """Sample where the climb of a missed approach begins; None if there was none.

        The climb is followed back from where it is plain to where it left the altitude before it: a
        shallow climb begins where it begins, not where it is first steep.
        """
        if self.split.outcome != "missed":
            return None
        seen = self.seen
        on = np.flatnonzero(self.mask("final"))
        if not len(on):
            return None
        alt = seen.alt_ft
        lowest = self._lowest_from(int(on[0]))
        from_ft, since = alt[lowest], lowest
        for run in self._level_again(
            lowest
        ):  # up a little and level again before the point: a climb away, no decision
            from_ft, since = float(np.median(alt[run[0] : run[1] + 1])), run[1]
        if (back := self._back_down(since)) is not None:
            from_ft, since = alt[back], back
        above = np.flatnonzero(alt[since:] > from_ft + _CLIMBED_FT + seen.alt_grain_ft)
        if not len(above):
            return None
        plain = since + int(above[0])
        recent = self.numbers[(seen.time_s > seen.time_s[plain] - _LEVEL_BEFORE_S) & (self.numbers <= plain)]
        recent = recent[recent >= since] if since > lowest else recent
        # The altitude the climb leaves, in case a dip came well before it.
        level = float(np.median(alt[recent][alt[recent] <= alt[recent].min() + 40.0 + seen.alt_grain_ft]))
        left = np.flatnonzero(alt[recent] <= level + max(_LEAVES_FT, seen.alt_grain_ft))
        at = int(recent[left[-1]])
        # A waver of the hand that was levelled off again is no climb: it begins where the last level part ends.
        hovers = (self.numbers >= at) & (self.numbers < plain) & (np.abs(seen.vs_fpm) < _HOVERS_FPM)
        for first, last, _ in self.runs(hovers, _LEVEL_AGAIN_S):
            if float(np.ptp(alt[first : last + 1])) <= _HOVERS_FT + seen.alt_grain_ft:
                level = float(np.median(alt[first : last + 1]))
                still = np.flatnonzero(alt[first : plain + 1] <= level + max(_LEAVES_FT, seen.alt_grain_ft))
                at = max(at, first + int(still[-1]))
        return at

    def _back_down(self, lowest: int) -> int | None:
        """Lowest sample, before the missed approach point, of an altitude climbed away from and taken up again."""
        alt, near_ft = self.seen.alt_ft, self.seen.alt_ft[lowest] + _SAME_FT + self.seen.alt_grain_ft
        before = (self.numbers > lowest) & (self.final_along_nm < self.along_of("MAP"))
        away = np.flatnonzero(before & (alt > alt[lowest] + _CLIMBED_FT + self.seen.alt_grain_ft))
        if not len(away):
            return None
        near = np.flatnonzero(before & (self.numbers > away[0]) & (alt < near_ft) & ~self.turning)
        return int(near[np.argmin(alt[near])]) if len(near) else None

    def _level_again(self, lowest: int) -> list[Run]:
        """Level parts after the lowest sample, above it but not far, that end before the missed approach point."""
        seen = self.seen
        after = (self.numbers > lowest) & self.mask("final") & (np.abs(seen.vs_fpm) < _LEVEL_FPM)
        after &= (seen.alt_ft > seen.alt_ft[lowest] + _CLIMBED_FT) & (seen.alt_ft < seen.alt_ft[lowest] + _AWAY_FT)
        before = self.final_along_nm < self.along_of("MAP")
        level = self.runs(after & before, _LEVEL_AGAIN_S)
        return [run for run in level if np.ptp(seen.alt_ft[run[0] : run[1] + 1]) < _SAME_FT + seen.alt_grain_ft]

    def _lowest_from(self, first: int) -> int:
        """Lowest sample of the final and the straight climb, not of what comes after a later descent."""
        end = max((span.last for span in self.spans("final", "missed")), default=len(self.seen) - 1)
        final = np.flatnonzero(self.mask("final"))
        stop = min(int(final[-1]) + self.samples(60.0), end)
        return first + int(np.argmin(self.seen.alt_ft[first : stop + 1]))

    # --- words ----------------------------------------------------------------------------------------

    def finding(
        self,
        row: Row,
        run: Run,
        worst: float,
        unit: str,
        what: str,
        *,
        cause: str = "",
        error: int | None = None,
        sure: bool = True,
        next_time: str = "",
        critical: bool | None = None,
        beyond: bool = True,
    ) -> Finding:
        """Make a finding for a run of samples; what is not said here comes from the words of the common error.

        ``critical``: the row's own word when left out. ``beyond``: outside the tolerance, not only off the goal.
        """
        first, _, length = run
        known = self.rubric.error(error) if error else None
        if known and not cause:
            cause = known.name + (f" ({known.cause})" if known.cause else "")
        piece = self.split.pieces[int(self.split.at[first])]
        return Finding(
            row=row.key,
            segment=piece.text,
            part=piece.segment,
            start_s=float(self.seen.time_s[first]),
            length_s=float(length),
            worst=float(worst),
            unit=unit,
            where=self.where(first),
            what=one(what),
            cause=cause if sure else "",
            next_time=(next_time or (known.next_time if known else "")) if sure else "",
            error=error,
            critical=bool(row.critical if critical is None else critical) and sure,
            sure=sure,
            failed=sure and beyond and length >= self.rubric.prompt_s and row.source in self.rubric.standard_sources,
        )

    def told_in(self, kind: Kind, found: Finding) -> Finding:
        """A finding told as one of a part that was due, where the flight was filed otherwise as none was flown."""
        piece = next((piece for piece in self.split.pieces if piece.kind == kind), None)
        return found if piece is None else replace(found, segment=piece.text, part=piece.segment)

    def unclear(self, row: Row, mask: Mask, short_ft: Floats, of_what: str) -> list[Finding]:
        """At most one finding that says that the heights of the recording allow no verdict."""
        found = []
        for run in self.runs(mask)[:1]:
            worst = run[0] + int(np.argmax(short_ft[run[0] : run[1] + 1]))
            within = float(self.tell_at_ft[worst])
            why = "the grain" if self.seen.alt_grain_ft >= within else "the uncertainty"
            what = (
                f"the altitude recorded lies within {within:.0f} ft of {of_what}, which is {why} of the recording: "
                "neither kept nor broken can be told from it."
            )
            if short_ft[worst] > within + 0.5:
                what = (
                    f"the altitude recorded lies {short_ft[worst]:.0f} ft below {of_what} for {run[2]:.0f} s, "
                    f"within {within:.0f} ft: too little, or too short, to count."
                )
            found.append(self.finding(row, run, float(short_ft[worst]), "ft", what, sure=False))
        return found

    @cached_property
    def notice_at_ft(self) -> Floats:
        """How far below a limit an altitude costs points: half a graduation where the heights are that good."""
        tell = self.tell_at_ft
        return np.where(tell <= _SHARP_FT, 0.5 * tell, tell)

    def noticed(self, short_ft: Floats) -> Mask:
        """Samples below a limit by as much as costs points: a whole graduation, or half of one that lasts."""
        least_ft = np.maximum(self.notice_at_ft, self.seen.alt_grain_ft) + 0.5
        whole = np.asarray(short_ft > np.maximum(least_ft, _GRADUATION_FT))
        for first, last, _ in self.runs(np.asarray(short_ft > least_ft), _LASTS_S):
            whole[first : last + 1] = True
        return whole

    def low(self, short_ft: Floats) -> Mask:
        """Samples below a limit by more than the recording is unsure of."""
        return np.asarray(short_ft > self.tell_at_ft + 0.5)

    def perhaps_low(self, short_ft: Floats) -> Mask:
        """Samples that may lie below a limit, as far as this recording can tell; none where an altimeter was read."""
        if self.seen.alt_grain_ft > self.seen.height.within_ft:
            return np.asarray(short_ft + self.seen.alt_grain_ft > 0.5)
        if self.seen.height.kind == "altimeter" and not self.seen.height.sentences:
            return np.zeros(len(self.seen), dtype=bool)
        return np.asarray(short_ft > 0.5)

    def judged(self, row: Row, findings: list[Finding], **facts: object) -> Judgement:
        """Sum up: met with its praise, missed, or not to be told."""
        missed = [finding for finding in findings if finding.sure]
        if missed:
            brief = sum(finding.length_s for finding in missed) <= _BRIEF_S and not any(f.critical for f in missed)
            fact = row.quantity if len(missed) == 1 else f"{row.quantity}, {len(missed)} times"
            return Judgement(row, "missed", fact, 0.5 if brief else 0.0, tuple(findings))
        if findings:
            return Judgement(row, "cannot tell", "It cannot be told from this recording.", 0.0, tuple(findings))
        return Judgement(row, "met", one(row.praise.format(**facts)), 1.0)


Judge: TypeAlias = Callable[[View, Row], Judgement]
