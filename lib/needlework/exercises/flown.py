"""Questions that are flown: a plan filled in by the learner, and a flight flown by hand.

Both are judged from the recorded track by the same goals, never from what a notebook claims. A goal
is a plain function from what was seen on the flight to what it met and in which words.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np

from needlework.basis.errors import NeedleworkError
from needlework.basis.quantity import Constant, Floats
from needlework.exercises import recording
from needlework.exercises.kinds import (
    Givens,
    Outcome,
    Question,
    Slip,
    Unreadable,
    Verdict,
    as_number,
    as_text,
    is_blank,
)
from needlework.flying import pilot, plan
from needlework.flying.tracklog import Track
from needlework.trade import geodesy
from needlework.trade.angles import difference_deg, three_digits, wrap360
from needlework.world import aircraft, procedure
from needlework.world.procedure_parts import Station
from needlework.world.weather import Day, Wind


def station(name: str) -> Station:
    """Give the station of a procedure of the course, whatever today's date.

    Parameters
    ----------
    name : str
        Name of a file in ``datasets/procedures``, for example ``"saltmarsh"``.

    Returns
    -------
    Station
        The VOR.
    """
    return procedure.load(name).station


@dataclass(frozen=True)
class Seen:
    """A flight as its judge sees it: the truth by the station's own radials, and what was set.

    Parameters
    ----------
    track : Track
        The recording.
    station : Station
        The VOR it was flown on.
    """

    track: Track
    station: Station

    @cached_property
    def _place(self) -> tuple[Floats, Floats]:
        s = self.station
        radial, dist = geodesy.radial_and_distance(
            station_lat_deg=s.lat_deg,
            station_lon_deg=s.lon_deg,
            declination_deg=s.declination_deg,
            lat_deg=self.track.lat_deg,
            lon_deg=self.track.lon_deg,
        )
        return np.asarray(radial), np.asarray(dist)

    @property
    def radial_deg(self) -> Floats:
        """Radial of each sample. [deg]"""
        return self._place[0]

    @property
    def dist_nm(self) -> Floats:
        """Distance over the ground from the station. [NM]"""
        return self._place[1]

    @property
    def time_s(self) -> Floats:
        """Time of each sample. [s]"""
        return self.track.time_s

    def track_deg(self, begin: int, end: int) -> float:
        """Direction of the straight line from one sample to another, by the station's radials. [deg magnetic]"""
        radial, dist = np.deg2rad(self.radial_deg[[begin, end]]), self.dist_nm[[begin, end]]
        (x0, x1), (y0, y1) = dist * np.sin(radial), dist * np.cos(radial)
        return float(np.rad2deg(np.arctan2(x1 - x0, y1 - y0)))

    def column(self, name: str) -> Floats:
        """Give a column; raises Unreadable where the recording does not hold it."""
        values: Floats | None = getattr(self.track, name)
        if values is None:
            raise Unreadable(f"The recording holds no {name}: it cannot be judged here.")
        return values

    def off_deg(self, course_deg: float) -> Floats:
        """Angle of each sample off the line through the station, right of it positive, -90 to 90. [deg]"""
        off = np.asarray(difference_deg(from_deg=course_deg, to_deg=self.radial_deg))
        return np.where(np.abs(off) > 90.0, np.asarray(difference_deg(from_deg=off, to_deg=180.0)), off)

    @cached_property
    def passage(self) -> int | None:
        """Sample of the first FROM on receiver 1 after TO that does not go back to TO; None if there is none.

        Once another course is selected the flag speaks of another line, so only what was seen with the
        same course counts.
        """
        flag, time, course = self.column("flag_1"), self.time_s, self.column("course_1_deg")
        starts = np.flatnonzero((flag[1:] == -1) & (flag[:-1] != -1)) + 1
        for start in starts:
            same = np.abs(np.asarray(difference_deg(from_deg=float(course[start - 1]), to_deg=course))) < 1.0
            before = same & (time < time[start]) & (time > time[start] - 90.0)
            after = same & (time >= time[start]) & (time <= time[start] + 5.0)
            if (flag[before] == 1).any() and not (flag[after] == 1).any():
                return int(start)
        return None


@dataclass(frozen=True)
class Met:
    """What became of one goal: the share of it that was met, 0 to 1, and what to say."""

    share: float
    text: str


_UNSAFE_SHARE = 0.5
DIP_FT = Constant(50.0, "ft", "common-practice", "a floor touched while levelling off, not flown through")
DIPPED = Constant(0.4, "1", "common-practice", "share left to a floor that was only touched")


@dataclass(frozen=True)
class Goal:
    """One thing a flight is judged by.

    Parameters
    ----------
    label : str
        A few words.
    weight : float
        Its share of the marks, relative to the other goals.
    judge : callable
        From the givens and the flight as seen, what became of it. Of a filled plan the givens also hold, as
        ``filled``, what was written.
    critical : bool
        True where missing it altogether can kill: then the whole flight earns half of its marks at most.
    """

    label: str
    weight: float
    judge: Callable[[Givens, Seen], Met]
    critical: bool = False


def judged(
    goals: tuple[Goal, ...], givens: Givens, flights: list[Seen], unsafe_share: float = _UNSAFE_SHARE
) -> Verdict:
    """Judge flights by goals; of several flights the worst speaks, and the shares are averaged.

    Parameters
    ----------
    goals : tuple of Goal
        What to judge by.
    givens : mapping
        The numbers of the question.
    flights : list of Seen
        One or more flights.
    unsafe_share : float
        Largest share of the marks where a critical goal is missed altogether.

    Returns
    -------
    Verdict
        One cell a goal.
    """
    cells, share, unsafe = [], 0.0, ""
    for goal in goals:
        mets = [goal.judge(givens, seen) for seen in flights]
        worst = min(mets, key=lambda met: met.share)
        mean = sum(met.share for met in mets) / len(mets)
        share += goal.weight * mean
        if goal.critical and worst.share <= 0.0:
            unsafe = unsafe or worst.text
        outcome = Outcome.PASS if mean > 0.999 else Outcome.CLOSE if mean > 0.3 else Outcome.WRONG
        cells.append((goal.label, Verdict(outcome, mean, worst.text)))
    share /= sum(goal.weight for goal in goals)
    met = sum(cell.outcome is Outcome.PASS for _, cell in cells)
    if met == len(cells):
        return Verdict(Outcome.PASS, 1.0, f"Right: all {met} goals met.", cells=tuple(cells), evidence=tuple(flights))
    if unsafe:
        text = f"Not yet. This is what can kill: {unsafe} {met} of {len(cells)} goals met."
        return Verdict(Outcome.WRONG, min(share, unsafe_share), text, cells=tuple(cells), evidence=tuple(flights))
    outcome = Outcome.CLOSE if share >= 0.6 else Outcome.WRONG
    text = f"{met} of {len(cells)} goals met. What the others would mean stands below."
    return Verdict(outcome, share, text, cells=tuple(cells), evidence=tuple(flights))


@dataclass(frozen=True)
class Blank:
    """One thing to fill in: a number (``words`` empty) or one of some words."""

    words: tuple[str, ...] = ()
    example: str = "250"
    tolerance: float = 3.0

    def read(self, label: str, value: object) -> float | str:
        """Turn what was filled in into plain data."""
        try:
            if not self.words:
                return as_number(value, self.example)
            found = as_text(value, self.words[0]).casefold()
        except Unreadable as reason:
            raise Unreadable(f"“{label}”: {reason}") from None
        known = {word.casefold(): word for word in self.words}
        if found not in known:
            listed = ", ".join(f'"{word}"' for word in self.words)
            raise Unreadable(f"“{label}” takes one of {listed}.")
        return known[found]

    def same(self, value: float | str, other: object) -> bool:
        """Say whether a value is another, within what counts as the same."""
        if isinstance(value, str) or isinstance(other, str):
            return value == other
        gap = abs(value - float(other))  # type: ignore[arg-type]
        return min(gap, abs(gap - 360.0)) <= self.tolerance


@dataclass(frozen=True, kw_only=True)
class FilledPlan(Question):
    """A plan with blanks: filled in by the learner, flown by the model, judged by what was flown.

    Parameters
    ----------
    blanks : mapping of label to Blank
        What is filled in, in order.
    begin : callable
        From the givens, where the flight starts (as :class:`needlework.flying.plan.Start`).
    rows : callable
        From the givens and the filled blanks, the rows of the plan.
    days : callable
        From the givens and whether this is the marking desk, the days it is flown in (one or more).
    goals : tuple of Goal
        What the flights are judged by.
    reference : callable
        From the givens, blanks that pass.
    drawn : callable
        From the givens, what else :func:`needlework.showing.pictures.show_plan` draws with the way flown.
    on : str
        Procedure whose station is used.
    flown_by : str
        Aircraft.
    minutes : float
        Longest flight.
    views : tuple of str
        What is shown with the verdict: ``"plan"``, ``"side"`` (over the floors of the procedure) or ``"procedure"``
        (from above, over its missed approach and hold).
    view : mapping
        What else the picture from the side is given.
    named_always : bool
        True where a named mistake counts even if the wind was kind to it.
    unsafe_share : float
        Largest share of the marks where a critical goal is missed altogether.
    read_as : callable or None
        From the givens and the filled blanks, the blanks as the slips know them: only those that change.
    """

    blanks: Mapping[str, Blank]
    begin: Callable[[Givens], dict[str, Any]]
    rows: Callable[[Givens, Mapping[str, Any]], list[dict[str, Any]]]
    days: Callable[[Givens, bool], list[Day]]
    goals: tuple[Goal, ...]
    reference: Callable[[Givens], dict[str, Any]]
    drawn: Callable[[Givens], dict[str, Any]] = field(default=lambda _givens: {})
    on: str = "saltmarsh"
    flown_by: str = "Finch"
    minutes: float = 20.0
    views: tuple[str, ...] = ("plan",)
    view: Mapping[str, Any] = field(default_factory=dict)
    named_always: bool = False
    unsafe_share: float = _UNSAFE_SHARE
    read_as: Callable[[Givens, Mapping[str, Any]], Mapping[str, Any]] | None = None

    def right(self, givens: Givens) -> dict[str, Any]:
        """Give blanks that pass."""
        return self.reference(givens)

    def read(self, answer: object) -> dict[str, Any]:
        """Turn the answer into plain blanks; raises Unreadable with the one at fault."""
        if isinstance(answer, (list, tuple)) and len(answer) == len(self.blanks):
            answer = dict(zip(self.blanks, answer, strict=True))
        if not isinstance(answer, dict):
            raise Unreadable(f"A table was asked for; keep the lines and fill them: {', '.join(self.blanks)}.")
        known = {label.casefold(): label for label in self.blanks}
        filled: dict[str, Any] = {}
        for key, value in answer.items():
            label = known.get(str(key).strip().casefold())
            if label is None:
                raise Unreadable(f"“{key}” is not a line of this plan. The lines are: {', '.join(self.blanks)}.")
            filled[label] = value
        empty = [label for label in self.blanks if is_blank(filled.get(label))]
        if empty:
            raise Unreadable(f"Still empty: {', '.join(empty)}. The plan can be flown once every line is filled.")
        return {label: blank.read(label, filled[label]) for label, blank in self.blanks.items()}

    def fly(self, givens: Givens, answer: object, hidden: bool = False) -> list[Seen]:
        """Fly the plan in each of its days."""
        filled = self.read(answer)
        chosen = station(self.on)
        try:
            made = plan.make_plan(self.rows(givens, filled), self.begin(givens), "the plan")
            flights = [
                pilot.fly(made, chosen, aircraft.load(self.flown_by), day, seed=number, minutes=self.minutes)
                for number, day in enumerate(self.days(givens, hidden), 1)
            ]
        except NeedleworkError as fault:
            raise Unreadable(f"The plan cannot be flown: {fault}") from None
        return [Seen(flight.track(), chosen) for flight in flights]

    def judge(self, givens: Givens, answer: object, hidden: bool = False) -> Verdict:
        """Fly it and judge the flights; a known slip in the blanks is named."""
        filled = self.read(answer)
        given = "; ".join(
            f"{label}: {value:g}" if isinstance(value, float) else f"{label}: {value}"
            for label, value in filled.items()
        )
        flights = self.fly(givens, answer, hidden)
        verdict = judged(self.goals, {**givens, "filled": filled}, flights, self.unsafe_share)
        passed = verdict.outcome is Outcome.PASS
        slip = self._slip(givens, filled) if self.named_always or not passed else None
        if slip is None:
            return replace(verdict, given=given)
        kind = "In this wind the flight met its goals all the same." if passed else verdict.text
        text = f"Not yet. {self.fill(slip.says, givens)} {kind}"
        # A named mistake costs at least half, however well the rest of the plan saved the flight.
        share = min(verdict.share, 0.5)
        return replace(verdict, outcome=Outcome.SLIP, share=share, text=text, slip=slip.code, given=given)

    def afterwards(self, givens: Givens, verdict: Verdict) -> list[tuple[str, dict[str, Any]]]:
        """Show the way flown, in the first of the days."""
        wind = self.days(givens, False)[0].wind
        return shown(verdict, self.views, self.on, wind, "The plan as flown", self.drawn(givens), self.view)

    def _slip(self, givens: Givens, filled: Mapping[str, Any]) -> Slip | None:
        right = self.right(givens)
        taken = {**filled, **self.read_as(givens, filled)} if self.read_as else filled
        for slip, wrong in self.mistakes(givens):
            changed = [label for label in self.blanks if not self.blanks[label].same(wrong[label], right[label])]
            if changed and all(self.blanks[label].same(taken[label], wrong[label]) for label in changed):
                return slip
        return self.named(givens, filled)


@dataclass(frozen=True, kw_only=True)
class FlownByHand(Question):
    """A flight flown in the live panel; judged from its sealed recording, here and at the marking desk.

    Parameters
    ----------
    goal : str
        What to do, shown above the panel; names in braces are filled from the givens.
    begin : callable
        From the givens, where the flight starts (as :class:`needlework.flying.plan.Start`).
    day : callable
        From the givens, the day it is flown in; drawn for the student, so that neighbours fly in other winds.
    goals : tuple of Goal
        What the flight is judged by.
    rows : callable
        From the givens, the rows of a plan that flies it well: the reference.
    courses : callable
        From the givens, what the two selectors show at first. [deg magnetic]
    ends_at_dme_nm : float or None
        The flight ends by itself when the DME, having been less, rises to this. [NM]
    ends_below_dme_nm : float or None
        The flight ends by itself when the DME, having been more, falls to this. [NM]
    calls : callable
        From the givens, what is seen outside or heard when the DME rises to a reading: pairs of DME and words. [NM]
    most_min : float
        The flight ends by itself after this. [min]
    radials : callable or None
        From the givens, the radials that the plan view shows in place of the whole procedure. [deg magnetic]
    on, flown_by : str
        Procedure whose station is used; aircraft.
    views, view
        As in :class:`FilledPlan`.
    """

    goal: str
    begin: Callable[[Givens], dict[str, Any]]
    day: Callable[[Givens], Day]
    goals: tuple[Goal, ...]
    rows: Callable[[Givens], list[dict[str, Any]]]
    courses: Callable[[Givens], tuple[float, float]] = field(default=lambda _givens: (360.0, 360.0))
    ends_at_dme_nm: float | None = None
    ends_below_dme_nm: float | None = None
    calls: Callable[[Givens], tuple[tuple[float, str], ...]] = field(default=lambda _givens: ())
    most_min: float = 15.0
    radials: Callable[[Givens], tuple[float, ...]] | None = None
    on: str = "saltmarsh"
    flown_by: str = "Finch"
    views: tuple[str, ...] = ("plan",)
    view: Mapping[str, Any] = field(default_factory=dict)

    def about(self, givens: Givens) -> dict[str, Any]:
        """Say whose flight this is: a recording that says otherwise belongs to somebody else's numbers."""
        return {"exercise": self.key, "student": givens["seed"]}

    def right(self, givens: Givens) -> str:
        """Fly the reference plan and give its recording, sealed like one flown by hand."""
        chosen = station(self.on)
        made = plan.make_plan(self.rows(givens), self.begin(givens), self.key)
        craft = aircraft.load(self.flown_by)
        flown = pilot.fly(made, chosen, craft, self.day(givens), seed=1, minutes=self.most_min)
        return recording.sealed(self.key, self.about(givens), flown.track(), "the plan came to its end")

    def judge(self, givens: Givens, answer: object, hidden: bool = False) -> Verdict:
        """Check the seals and whose flight it is, then judge what was flown."""
        try:
            flown = recording.read(as_lines(answer))
        except NeedleworkError as fault:
            raise Unreadable(f"{fault} Fly the panel above to its end, then run this cell.") from None
        if not flown.intact:
            raise Unreadable(f"{flown.why} A changed recording cannot be judged; fly it again.")
        if {name: flown.about.get(name) for name in self.about(givens)} != self.about(givens):
            raise Unreadable("This is a recording of another exercise, or flown with another student's numbers.")
        if not flown.ended:
            raise Unreadable("This flight was broken off before its end. Fly it again to the end.")
        given = f"flown for {flown.flown_s / 60:.1f} minutes"
        try:
            verdict = judged(self.goals, givens, [Seen(flown.track, station(self.on))])
        except NeedleworkError as fault:
            raise Unreadable(str(fault)) from None
        return replace(verdict, given=given)

    def afterwards(self, givens: Givens, verdict: Verdict) -> list[tuple[str, dict[str, Any]]]:
        """Show the way flown, with the wind that was not known."""
        drawn = {"radials": list(self.radials(givens))} if self.radials else {}
        return shown(verdict, self.views, self.on, self.day(givens).wind, "As flown", drawn, self.view)


def as_lines(answer: object) -> str:
    """Take a recording as the text it is; raises Unreadable for anything else."""
    if isinstance(answer, str):
        return str.__str__(answer)
    raise Unreadable("This is not a recording of a flight. Keep the line of the answer cell as it was.")


def shown(
    verdict: Verdict,
    views: tuple[str, ...],
    on: str,
    wind: Wind,
    title: str,
    drawn: Mapping[str, Any],
    view: Mapping[str, Any],
) -> list[tuple[str, dict[str, Any]]]:
    """Name the pictures that show a verdict's first flight; none where nothing was flown."""
    if not verdict.evidence:
        return []
    track = verdict.evidence[0].track
    pictures = []
    for each in views:
        if each == "plan":
            pictures.append(_way_flown(verdict.evidence[0], wind, title, drawn))
        elif each == "side":
            pictures.append(("show_flown_profile", {"track": track, "procedure": procedure.load(on), **view}))
        else:
            blowing = (wind.from_deg_true[-1], wind.speed_kt[-1])
            values = {"track": track, "procedure": procedure.load(on), "wind": blowing}
            pictures.append(("show_flown_plan", values))
    return pictures


def _way_flown(seen: Seen, wind: Wind, title: str, drawn: Mapping[str, Any]) -> tuple[str, dict[str, Any]]:
    # Magnetic north up, like everything the lesson says; the day's wind is true.
    magnetic = float(wrap360(wind.from_deg_true[-1] - seen.station.declination_deg))
    values = {
        "station": seen.station.ident,
        "track": (seen.radial_deg[::5], seen.dist_nm[::5]),
        "wind": (magnetic, wind.speed_kt[-1]),
        "title": title,
        **drawn,
    }
    return "show_plan", values


# ---------------------------------------------------------------- goals that several lessons use

_DRIFT_DEG = 15.0


def written(
    label: str, what: str, judge: Callable[[Givens, float], Met], weight: float = 1.0, critical: bool = False
) -> Goal:
    """Judge a line of a filled plan by the number written there, where the flight alone would forgive it."""
    return Goal(f"“{label}”{what}", weight, lambda g, _seen: judge(g, float(g["filled"][label])), critical)


def written_between(label: str, low: float, high: float, low_says: str, high_says: str, weight: float = 1.0) -> Goal:
    """Judge a line of a filled plan by the range in which it must lie."""

    def judge(_g: Givens, value: float) -> Met:
        if low <= value <= high:
            return Met(1.0, f"“{label}” as it should be.")
        return Met(0.0, low_says if value < low else high_says)

    return written(label, "", judge, weight)


def hands_still(weight: float = 1.0, limit_deg: float = 10.0) -> Goal:
    """Judge the heading between the last mile and the first FROM that stays."""

    def judge(_givens: Givens, seen: Seen) -> Met:
        if seen.passage is None:
            return Met(
                0.0, "The flag never went from TO to a steady FROM: was the course you flew selected on receiver 1?"
            )
        heading = seen.column("heading_deg")[: seen.passage + 1]
        near = seen.dist_nm[: seen.passage + 1] < 1.0
        if not near.any():
            return Met(0.0, "The flight never came within a mile of the station.")
        swing = float(
            np.max(np.abs(np.asarray(difference_deg(from_deg=float(heading[near][0]), to_deg=heading[near]))))
        )
        if swing <= limit_deg + 0.5:
            return Met(1.0, f"Hands still: {swing:.0f} degrees of heading change in the last mile.")
        text = f"The heading changed by {swing:.0f} degrees in the last mile, where the needle tells nothing. Hands still."
        return Met(0.0, text)

    return Goal("hands still inside a mile", weight, judge)


def outbound_in_time(course: str, weight: float = 1.0, limit_s: float = 30.0) -> Goal:
    """Judge how soon after passage the outbound course is set; ``course`` names it in the givens."""

    def judge(givens: Givens, seen: Seen) -> Met:
        if seen.passage is None:
            return Met(0.0, "There was no passage to act on.")
        wanted = float(givens[course])
        after = seen.time_s - seen.time_s[seen.passage]
        selected = np.abs(np.asarray(difference_deg(from_deg=wanted, to_deg=seen.column("course_1_deg")))) < 1.5
        if not selected[-1]:
            set_now = three_digits(direction_deg=float(seen.column("course_1_deg")[-1]))
            text = (
                f"At the end {set_now} was selected: needle and flag spoke of another line. Set the course you fly."
            )
            return Met(0.0, text)
        changed = int(np.flatnonzero(~selected)[-1]) + 1 if (~selected).any() else 0
        if after[changed] < 0:
            return Met(
                0.0, "The outbound course was set before the station was passed: the passage could not be seen."
            )
        if after[changed] <= limit_s:
            return Met(1.0, f"Outbound course set {after[changed]:.0f} s after passage.")
        return Met(
            0.5 if after[changed] <= 3.0 * limit_s else 0.0,
            f"Outbound course set {after[changed]:.0f} s after passage; {limit_s:.0f} s was the goal.",
        )

    return Goal(f"outbound course set within {limit_s:.0f} s of passage", weight, judge)


def turned_after_passage(weight: float = 1.0, early_deg: float = 12.0) -> Goal:
    """Judge that the turn outbound begins at the passage, not before it and not long after."""

    def judge(_givens: Givens, seen: Seen) -> Met:
        if seen.passage is None:
            return Met(0.0, "There was no passage to turn at.")
        heading = seen.column("heading_deg")
        at = float(heading[seen.passage])
        later = np.abs(np.asarray(difference_deg(from_deg=at, to_deg=heading[seen.passage :]))) > early_deg
        before = np.abs(np.asarray(difference_deg(from_deg=at, to_deg=heading[: seen.passage])))
        dist = seen.dist_nm[: seen.passage]
        # Between two miles and one a cut back to the line is still allowed; a turn is larger.
        if (before[dist < 1.0] > early_deg).any() or (before[dist < 2.0] > 2.0 * early_deg).any():
            return Met(
                0.0,
                "Before the station was passed the heading had already changed, as it is by a turn begun too early or by "
                "chasing the needle. Hands still until a FROM that stays.",
            )
        if not later.any():
            return Met(0.0, "The aircraft never turned outbound.")
        wait = float(seen.time_s[seen.passage + int(np.argmax(later))] - seen.time_s[seen.passage])
        if wait <= 20.0:
            return Met(1.0, f"Turning {wait:.0f} s after passage.")
        late_nm = wait * 90.0 / 3600.0
        return Met(
            0.5 if wait <= 60.0 else 0.0,
            f"The turn came {wait:.0f} s after passage: at 90 kt that is {late_nm:.1f} NM on the old course.",
        )

    return Goal("turn at the passage", weight, judge)


def over_the_station(weight: float = 1.0, limit_nm: float = 0.35) -> Goal:
    """Judge how far beside the station the flight passed."""

    def judge(_givens: Givens, seen: Seen) -> Met:
        beside = float(seen.dist_nm.min())
        if beside <= limit_nm:
            return Met(1.0, f"Passed {beside:.1f} NM from the station.")
        return Met(0.0, f"Passed {beside:.1f} NM beside the station: how much wind correction did the way in need?")

    return Goal(f"over the station, within {limit_nm:g} NM", weight, judge)


def _rolled_out(seen: Seen) -> int | None:
    """Sample at which the turn outbound has come to rest; None if there was no passage."""
    if seen.passage is None:
        return None
    heading = seen.column("heading_deg")
    turned = np.abs(np.asarray(difference_deg(from_deg=float(heading[seen.passage]), to_deg=heading))) > 12.0
    for i in range(seen.passage + 1, heading.size - 4):
        later = np.abs(np.asarray(difference_deg(from_deg=float(heading[i]), to_deg=heading[i : i + 5])))
        if turned[i] and later.max() < 1.5:
            return i
    return min(seen.passage + 30, heading.size - 1)


def heading_after_passage(heading: Callable[[Givens], float], weight: float = 1.0, limit_deg: float = 5.0) -> Goal:
    """Judge the heading on which the turn outbound comes to rest against the one the wind asks for."""

    def judge(givens: Givens, seen: Seen) -> Met:
        at = _rolled_out(seen)
        if at is None:
            return Met(0.0, "There was no passage to turn at.")
        off = float(difference_deg(from_deg=heading(givens), to_deg=float(seen.column("heading_deg")[at])))
        if abs(off) <= limit_deg:
            return Met(1.0, "Outbound heading right for the wind.")
        side = "right" if off > 0 else "left"
        return Met(
            0.0, f"Outbound heading {abs(off):.0f} degrees too far {side} for this wind: a steady drift off the line."
        )

    return Goal("heading outbound right for the wind", weight, judge)


def waited_a_mile(weight: float = 1.0, until_nm: float = 0.8, limit_deg: float = 6.0) -> Goal:
    """Judge that the heading outbound is left alone until about a mile from the station."""

    def judge(_givens: Givens, seen: Seen) -> Met:
        at = _rolled_out(seen)
        if at is None:
            return Met(0.0, "There was no passage to wait after.")
        heading = seen.column("heading_deg")
        near = (np.arange(heading.size) >= at) & (seen.dist_nm < until_nm)
        if not near.any():
            return Met(1.0, "Corrected only when well clear of the station.")
        swing = float(np.max(np.abs(np.asarray(difference_deg(from_deg=float(heading[at]), to_deg=heading[near])))))
        if swing <= limit_deg:
            return Met(1.0, "Waited about a mile before correcting.")
        text = (
            f"Corrected by {swing:.0f} degrees less than a mile out, where the needle exaggerates. Wait about a mile."
        )
        return Met(0.0, text)

    return Goal("wait about a mile before correcting", weight, judge)


def on_the_line(
    course: str,
    from_nm: float,
    to_nm: float,
    limit_deg: float = 5.0,
    weight: float = 2.0,
    part: float = 0.95,
    unflown: str = "",
    astray: str = "",
) -> Goal:
    """Judge the angle off a line, after the passage or on the way in; ``course`` names it in the givens.

    The needle's own waves do not count: judged is where the aircraft was. Between the two distances
    (which way they run says whether out or in) it must be within the limit for most of the time. ``unflown`` is
    said in place of the usual words where this part was not flown; ``astray``, with ``{worst}`` (degrees) and
    ``{side}`` to be filled in, where it is off by more than wind does.
    """
    outbound = to_nm > from_nm

    def judge(givens: Givens, seen: Seen) -> Met:
        wanted = float(givens[course])
        away = np.asarray(np.gradient(seen.dist_nm)) > 0
        near, far = sorted((from_nm, to_nm))
        along = (
            np.abs(
                np.asarray(difference_deg(from_deg=wanted if outbound else wanted + 180.0, to_deg=seen.radial_deg))
            )
            < 90.0
        )
        leg = (seen.dist_nm >= near) & (seen.dist_nm <= far) & (away == outbound) & along
        length = float(np.ptp(seen.dist_nm[leg])) if leg.any() else 0.0
        if length < 0.8 * (far - near):
            return Met(0.0, unflown or f"This part, from {from_nm:g} to {to_nm:g} NM, was never flown.")
        off = seen.off_deg(wanted)[leg]
        good = float(np.mean(np.abs(off) <= limit_deg))
        worst = float(off[np.argmax(np.abs(off))])
        side = "right" if worst > 0 else "left"
        dots = abs(worst) / 2.0
        why = (
            "Which way was the wind, and how much of the correction stayed in?"
            if abs(worst) <= _DRIFT_DEG
            else "That is more than wind does: which line was followed, and was the turn on to this one flown?"
        )
        if good >= part:
            return Met(
                1.0,
                f"Never more than {abs(worst):.1f} degrees ({dots:.1f} dots) off from {from_nm:g} to {to_nm:g} NM.",
            )
        if astray and abs(worst) > _DRIFT_DEG:
            return Met(max(0.0, good - 0.2), astray.format(worst=f"{abs(worst):.0f}", side=side))
        return Met(
            max(0.0, good - 0.2),
            f"Up to {abs(worst):.1f} degrees {side} of the line between {from_nm:g} and {to_nm:g} NM, inside half scale "
            f"for {good:.0%} of the time. {why}",
        )

    where = "outbound" if outbound else "inbound"
    return Goal(f"on the {where} course from {from_nm:g} to {to_nm:g} NM", weight, judge)
