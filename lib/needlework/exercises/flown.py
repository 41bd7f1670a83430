"""Questions that are flown: a plan filled in by the learner, and a flight flown by hand.

Both are judged from the recorded track by the same goals, never from what a notebook claims. Pilot, plan and
procedures are loaded when something is flown or shown.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from typing import TYPE_CHECKING, Any

from needlework.basis.errors import NeedleworkError
from needlework.exercises import wording
from needlework.exercises.answers import Unreadable, as_number, as_text, is_blank
from needlework.exercises.families import FAMILIES
from needlework.exercises.goals import UNSAFE_SHARE, Goal, Met, judged
from needlework.exercises.goals.seen import Seen
from needlework.exercises.kinds import DIGITS, Givens, Question, Slip, digits_exchanged, labelled
from needlework.exercises.verdicts import Outcome, Verdict
from needlework.trade.angles import wrap360

_MAY_BE = "It may be this, though what is written does not fit it quite: "
# How far what is worked out by hand lies from the exact number: a direction, and another line as a part of what passes.
_BY_HAND_DEG, _BY_HAND = 1.0, 0.35
_MOST_MENDED = 5  # plans flown once more to find the line that is wrong
_SPAN = re.compile(r"outside ([-\d.,]+) to ([-\d.,]+) (\w+)")

if TYPE_CHECKING:
    from needlework.exercises.own_flight import OwnFlight
    from needlework.exercises.recording import Recording
    from needlework.world.aircraft import Aircraft
    from needlework.world.procedure_parts import Station
    from needlework.world.weather import Day, Wind


@cache
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
    from needlework.world import procedure

    return procedure.load(name).station


@cache
def _craft(name: str) -> Aircraft:
    from needlework.world import aircraft

    return aircraft.load(name)


@dataclass(frozen=True)
class Blank:
    """One thing to fill in: a number (``words`` empty) or one of some words.

    ``formerly`` are labels it had in copies handed out before; ``circle`` is true for a direction.
    """

    words: tuple[str, ...] = ()
    example: str = "250"
    tolerance: float = 3.0
    formerly: tuple[str, ...] = ()
    circle: bool = False

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
        return abs(self.error(value, float(other))) <= self.tolerance  # type: ignore[arg-type]

    def error(self, value: float, other: float) -> float:
        """Give how far a number is from another; of directions the shorter way round, right positive."""
        return 180.0 - (180.0 - (value - other)) % 360.0 if self.circle else value - other


@dataclass(frozen=True, kw_only=True)
class FilledPlan(Question):
    """A plan with blanks: filled in by the learner, flown by the model, judged by what was flown.

    Parameters
    ----------
    blanks : mapping of label to Blank
        What is filled in, in order. A slip's function gives only those that it changes.
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
    gone : tuple of str
        Labels of lines that copies handed out before still hold; what stands there is left alone.
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
    unsafe_share: float = UNSAFE_SHARE
    read_as: Callable[[Givens, Mapping[str, Any]], Mapping[str, Any]] | None = None
    gone: tuple[str, ...] = ()

    def right(self, givens: Givens) -> dict[str, Any]:
        """Give blanks that pass."""
        return self.reference(givens)

    def mistakes(self, givens: Givens) -> list[tuple[Slip, dict[str, Any]]]:
        """Give every slip that these numbers admit with the blanks it leads to: those it changes, in a plan that passes."""
        right = self.right(givens)
        return [(slip, {**right, **changed}) for slip, changed in super().mistakes(givens)]

    def read(self, answer: object) -> dict[str, Any]:
        """Turn the answer into plain blanks; raises Unreadable with the one at fault."""
        old = {each: label for label, blank in self.blanks.items() for each in blank.formerly}
        filled = labelled(answer, list(self.blanks), old, self.gone, "line of this plan", "lines")
        empty = [label for label in self.blanks if is_blank(filled.get(label))]
        if empty:
            raise Unreadable(f"Still empty: {', '.join(empty)}. The plan can be flown once every line is filled.")
        return {label: blank.read(label, filled[label]) for label, blank in self.blanks.items()}

    def fly(self, givens: Givens, answer: object, hidden: bool = False) -> list[Seen]:
        """Fly the plan in each of its days."""
        (flown,) = self.fly_all([(givens, answer, hidden)])
        if isinstance(flown, Unreadable):
            raise flown
        return flown

    def fly_all(self, asked: Sequence[tuple[Givens, object, bool]]) -> list[list[Seen] | Unreadable]:
        """Fly the plans of a whole class, those that differ in numbers only at once.

        Parameters
        ----------
        asked : sequence of tuples
            Of each plan what :meth:`fly` and :meth:`judge` take: givens, answer, and whether it is the marking desk.

        Returns
        -------
        list
            For each plan, in order, its flights, one a day, the same to the last digit as :meth:`fly` gives; where it
            cannot be read or flown, the Unreadable that :meth:`fly` raises. Hand either to :meth:`judge` as ``flights``.
        """
        from needlework.flying import pilot, plan

        chosen, craft = station(self.on), _craft(self.flown_by)
        tasks: list[pilot.Task] = []
        parts: list[slice | Unreadable] = []
        for givens, answer, hidden in asked:
            try:
                filled = self.read(answer)
                try:
                    made = plan.make_plan(self.rows(givens, filled), self.begin(givens), "the plan")
                    days = enumerate(self.days(givens, hidden), 1)
                    wanted = [pilot.task(made, chosen, craft, day, seed=number) for number, day in days]
                except NeedleworkError as fault:
                    raise Unreadable(self._unflyable(givens, filled, str(fault))) from None
            except Unreadable as reason:
                parts.append(reason.anew())
                continue
            except RecursionError:
                parts.append(Unreadable("the answer contains itself."))
                continue
            parts.append(slice(len(tasks), len(tasks) + len(wanted)))
            tasks += wanted
        flown = [
            Seen(each.track(), chosen, self.on)
            for each in pilot.fly_tasks(tasks, chosen, craft, minutes=self.minutes)
        ]
        return [part if isinstance(part, Unreadable) else flown[part] for part in parts]

    def _unflyable(self, givens: Givens, filled: Mapping[str, Any], fault: str) -> str:
        """Say which line of a plan nobody can fly, by the label the learner knows it by."""
        from needlework.flying import plan

        right = self.right(givens)
        for label, value in filled.items():
            try:
                plan.make_plan(self.rows(givens, {**filled, label: right[label]}), self.begin(givens), "the plan")
            except NeedleworkError:
                continue
            if not isinstance(value, float):
                return f"“{label}”: with {value} here the plan cannot be flown."
            span = _SPAN.search(fault)
            if span is None:
                return f"“{label}”: nobody can fly {wording.number(value)} there."
            if span[3] == "deg":
                turns = "take away 360" if value > 360.0 else "add 360"
                return f"“{label}”: {wording.number(value)} is on no compass: directions run from 1 to 360; {turns}."
            what = {"NM": "the DME reads", "ft": "altitudes run"}.get(span[3], "it goes")
            return f"“{label}”: {wording.number(value)} is not to be flown; {what} from {span[1]} to {span[2]} {span[3]}."
        return "The plan cannot be flown: more than one of its lines is far from anything that can be. Look at each once more."

    def judge(
        self,
        givens: Givens,
        answer: object,
        hidden: bool = False,
        flights: list[Seen] | Unreadable | None = None,
    ) -> Verdict:
        """Judge the flights; a known slip in the blanks is named.

        ``flights`` are those :meth:`fly_all` gave for these givens, this answer and ``hidden``; left out, the plan is
        flown here. Raises Unreadable where it cannot be read or flown.
        """
        filled = self.read(answer)
        given = "; ".join(
            f"{label}: {wording.number(value)}" if isinstance(value, float) else f"{label}: {value}"
            for label, value in filled.items()
        )
        if flights is None:
            flights = self.fly(givens, answer, hidden)
        if isinstance(flights, Unreadable):
            raise flights.anew()
        verdict = self._judged(givens, filled, flights)
        passed = verdict.outcome is Outcome.PASS
        slip = self.slip_in(givens, filled) if self.named_always or not passed else None
        off = [] if passed else self._off_on_paper(givens, filled)
        if slip is not None or len(off) == 1:
            # A line of the plan is the cause; what the flight made of it is told, and no other cause beside it.
            verdict = replace(verdict, cells=tuple((label, _as_seen(label, cell)) for label, cell in verdict.cells))
        met = [goal for goal, cell in verdict.cells if cell.outcome is Outcome.PASS]
        settled = {label for label in self.blanks if any(f"“{label}”" in goal for goal in met)}
        worse = "" if slip else self._worse_than_named(givens, filled, settled)
        mistyped = slip is None and len(off) == 1 and self._digits_changed(off[0], givens, filled)
        if worse and mistyped:
            worse = f"“{off[0]}”: {DIGITS[0].lower()}{DIGITS[1:]}"
        if worse:
            outcome = Outcome.CLOSE if verdict.share >= 0.5 else Outcome.WRONG
            said = "Not yet. " + worse + (f" {_HARMLESS_HERE}" if passed else "")
            text = f"{said} {verdict.text.removeprefix('Not yet. ')}" if not passed else said
            return replace(verdict, outcome=outcome, share=min(verdict.share, 0.5), text=text, given=given)
        if slip is None and not passed:
            mend = self._to_mend(givens, filled, hidden, verdict.share)
            if mistyped:
                mend = f"{mend} {DIGITS}".strip()
            verdict = replace(
                verdict, text=f"Not yet. {mend} {verdict.text.removeprefix('Not yet. ')}" if mend else verdict.text
            )
        if slip is None and len(off) == 1 and self.named_by is not None:
            # Where single lines are judged by their mistakes, a wrong line without a name earns no more than one with.
            verdict = replace(verdict, share=min(verdict.share, 0.5))
        if slip is None and any(cell.share <= 0.0 for _, cell in verdict.cells):
            # On paper there is no bad luck: a goal missed altogether is a line of the plan that is wrong.
            return replace(verdict, outcome=Outcome.WRONG, share=min(verdict.share, 0.5), given=given)
        if slip is None:
            return replace(verdict, given=given)
        kind = _HARMLESS_HERE if passed else verdict.text.removeprefix("Not yet. ")
        # What the mistake bears on is not praised beside it; which goals these are the flight does not tell.
        verdict = replace(verdict, cells=tuple((label, _unpraised(cell)) for label, cell in verdict.cells))
        besides = self._besides(givens, filled, slip)
        near = _MAY_BE if self._only_near(givens, filled, slip) else ""
        text = f"Not yet. {near}{self.fill(slip.says, givens)} {f'And besides: {besides} ' if besides else ''}{kind}"
        # A named mistake costs at least half, however well the rest of the plan saved the flight.
        share = min(verdict.share, 0.5)
        return replace(verdict, outcome=Outcome.SLIP, share=share, text=text, slip=slip.code, given=given)

    def _judged(self, givens: Givens, filled: Mapping[str, Any], flights: list[Seen]) -> Verdict:
        """Judge what was flown by the goals; what the examiner cannot find in it was not flown."""
        goals = tuple(replace(goal, judge=_or_not_flown(goal.judge)) for goal in self.goals)
        return judged(goals, {**givens, "filled": filled}, flights, self.unsafe_share)

    def afterwards(self, givens: Givens, verdict: Verdict) -> list[tuple[str, dict[str, Any]]]:
        """Show the way flown, in the first of the days."""
        wind = self.days(givens, False)[0].wind
        return shown(verdict, self.views, self.on, wind, "The plan as flown", self.drawn(givens), self.view)

    def sound(self, givens: Givens) -> bool:
        """Every named mistake must change something, be known again by what was filled in, and leave what is right."""
        if not super().sound(givens):
            return False
        right = self.right(givens)
        made = self._with_changes(self.mistakes(givens), right)
        known = all(self._slip_among(made, right, givens, filled) is slip for slip, filled, _ in made)
        return known and self._slip_among(made, right, givens, right) is None

    def _off_on_paper(self, givens: Givens, filled: Mapping[str, Any]) -> list[str]:
        """Give the lines that are not what they are in a plan that passes."""
        right = self.right(givens)
        taken = {**filled, **self.read_as(givens, filled)} if self.read_as else filled
        return [label for label, blank in self.blanks.items() if not blank.same(taken[label], right[label])]

    def _worse_than_named(self, givens: Givens, filled: Mapping[str, Any], settled: set[str]) -> str:
        """Say which lines are as far off as a named mistake or farther: then they cost as much; empty if none are.

        A heading counts on both sides alike. What is farther off than a named mistake must not earn more than it.
        Lines that are ``settled`` have met a goal of their own: where more than one value is right, this is another.
        """
        right = self.right(givens)
        taken = {**filled, **self.read_as(givens, filled)} if self.read_as else filled
        for _, wrong in self.mistakes(givens):
            changed = [label for label in self.blanks if not self.blanks[label].same(wrong[label], right[label])]
            if any(label in settled or self.blanks[label].same(taken[label], right[label]) for label in changed):
                continue
            if changed and all(self._as_far(label, taken, wrong, right, len(changed)) for label in changed):
                far = [label for label in changed if isinstance(taken[label], float)]
                return " ".join(self._far_off(label, taken[label], right[label]) for label in far[:1])
        return ""

    def _to_mend(self, givens: Givens, filled: Mapping[str, Any], hidden: bool, share: float) -> str:
        """Say which line the flight failed by: the one with which, put right, the rest flies well; empty if none is found.

        What a flight shows last is often not where it went wrong, so each line that is not as in a plan that passes is
        put right by itself and the plan is flown again.
        """
        right = self.right(givens)
        off = [label for label in self.blanks if not self.blanks[label].same(filled[label], right[label])]
        if not 0 < len(off) <= _MOST_MENDED:
            return ""
        plans = [{**filled, label: right[label]} for label in off]
        flown = self.fly_all([(givens, plan, hidden) for plan in plans])
        found = [
            self._judged(givens, plan, flights)
            for plan, flights in zip(plans, flown, strict=True)
            if not isinstance(flights, Unreadable)
        ]
        if len(found) < len(off):
            return ""
        enough = [f"“{label}”" for label, verdict in zip(off, found, strict=True) if verdict.outcome is Outcome.PASS]
        if enough:
            return f"Correct {' or '.join(enough)}: with that line right, the rest of your plan flies well."
        better, label = max((verdict.share, label) for label, verdict in zip(off, found, strict=True))
        return f"More than one line is wrong; begin with “{label}”." if better > share + 0.02 else ""

    def _as_far(
        self, label: str, taken: Mapping[str, Any], wrong: Mapping[str, Any], right: Mapping[str, Any], changed: int
    ) -> bool:
        blank = self.blanks[label]
        if blank.words or isinstance(right[label], str):
            return bool(taken[label] == wrong[label])
        theirs, named = blank.error(taken[label], right[label]), blank.error(float(wrong[label]), right[label])
        either_side = blank.circle and changed == 1
        return (theirs * named > 0.0 or either_side) and abs(theirs) >= abs(named) - blank.tolerance

    def _digits_changed(self, label: str, givens: Givens, filled: Mapping[str, Any]) -> bool:
        """Say whether a line is right with two of its digits back in their places."""
        blank, value = self.blanks[label], filled[label]
        if not isinstance(value, float) or value != round(value) or value <= 0.0:
            return False
        right = self.right(givens)[label]
        return any(
            blank.same(float(each), right) for each in digits_exchanged(round(value), 3 if blank.circle else 1)
        )

    def _far_off(self, label: str, value: float, right: float) -> str:
        off = self.blanks[label].error(value, right)
        if not self.blanks[label].circle:
            return f"“{label}” is too {'large' if off > 0 else 'small'}."
        if abs(off) >= 150.0:
            return f"“{label}” is about the other way round."
        if "heading" in label:
            return f"“{label}” lies too far {'right' if off > 0 else 'left'}."
        return f"“{label}” lies too far {'clockwise' if off > 0 else 'anticlockwise'}."

    def slip_in(self, givens: Givens, filled: Mapping[str, Any]) -> Slip | None:
        """Find the named mistake behind what was filled in, before anything is flown; None if there is none."""
        right = self.right(givens)
        return self._slip_among(self._with_changes(self.mistakes(givens), right), right, givens, filled)

    def _slip_among(
        self,
        made: list[tuple[Slip, dict[str, Any], set[str]]],
        right: Mapping[str, Any],
        givens: Givens,
        filled: Mapping[str, Any],
    ) -> Slip | None:
        taken = {**filled, **self.read_as(givens, filled)} if self.read_as else filled
        fitting: list[tuple[Slip, set[str], bool]] = []
        for slip, wrong, changed in made:
            if changed and all(self._made(la, taken[la], wrong[la], right[la]) for la in changed):
                exact = all(self._exactly(label, taken[label], wrong[label]) for label in changed)
                fitting.append((slip, changed, exact))
        # A mistake in two lines is not that in one of them.
        widest = [each for each in fitting if not any(each[1] < other for _, other, _ in fitting)]
        if exactly := next((slip for slip, _, exact in widest if exact), None):
            return exactly
        found = widest[0][0] if widest else None
        # What is not to the degree what a mistake makes of it may be another's: a family knows more of them.
        named = self.named(givens, filled)
        return named if named is not None and (found is None or named.inherited) else found

    def _with_changes(
        self, made: list[tuple[Slip, dict[str, Any]]], right: Mapping[str, Any]
    ) -> list[tuple[Slip, dict[str, Any], set[str]]]:
        """Add to every named mistake the lines that it changes."""
        return [(slip, wrong, self._changed(wrong, right)) for slip, wrong in made]

    def _changed(self, wrong: Mapping[str, Any], right: Mapping[str, Any]) -> set[str]:
        return {label for label in self.blanks if not self.blanks[label].same(wrong[label], right[label])}

    def _besides(self, givens: Givens, filled: Mapping[str, Any], named: Slip) -> str:
        """Tell further mistakes, each in lines that those before say nothing of; empty where there is none."""
        right = self.right(givens)
        made = self._with_changes(self.mistakes(givens), right)
        said: list[str] = []
        codes, told, last = {named.code}, set[str](), named
        while lines := next((changed for slip, _, changed in made if slip is last), None):
            told |= lines
            others = [each for each in made if not each[2] & told]
            rest = {label: right[label] if label in told else value for label, value in filled.items()}
            found = self._slip_among(others, right, givens, rest)
            if found is None or found.code in codes:
                break
            said.append(self.fill(found.says, givens))
            codes.add(found.code)
            last = found
        return " And besides: ".join(said)

    def _only_near(self, givens: Givens, filled: Mapping[str, Any], named: Slip) -> bool:
        """Say whether a line is farther from what a mistake makes of it than working it out by hand explains."""
        right = self.right(givens)
        wrong = next((wrong for slip, wrong in self.mistakes(givens) if slip is named), right)
        for label in self._changed(wrong, right):
            blank, value = self.blanks[label], filled[label]
            if isinstance(value, float) and abs(blank.error(value, float(wrong[label]))) > (
                _BY_HAND_DEG if blank.circle else _BY_HAND * blank.tolerance
            ):
                return True
        return False

    def _exactly(self, label: str, value: float | str, wrong: object) -> bool:
        if isinstance(value, str) or isinstance(wrong, str) or "heading" not in label:
            return True
        return abs(self.blanks[label].error(value, float(wrong))) <= 0.5  # type: ignore[arg-type]

    def named(self, givens: Givens, answer: Any) -> Slip | None:
        """Give the slip that ``named_by`` names: one of its own, or as ``family/code/line`` a member of a family."""
        name = self.named_by(self.names(givens), answer) if self.named_by else None
        family, _, rest = (name or "").partition("/")
        if family not in FAMILIES:
            return super().named(givens, answer)
        code, _, label = rest.partition("/")
        member = next(member for member in FAMILIES[family].members if member.code == code)
        where = f"“{label}”: " if label else ""
        return Slip(code, None, where + member.says, inherited=True)

    def _made(self, label: str, value: float | str, wrong: object, right: object) -> bool:
        """Say whether a line is what a mistake makes of it, and much nearer to that than to what is right."""
        blank = self.blanks[label]
        if not blank.same(value, wrong) or blank.same(value, right):
            return False
        if isinstance(value, str) or isinstance(wrong, str) or isinstance(right, str):
            return True
        return abs(blank.error(value, float(wrong))) <= 0.5 * abs(blank.error(value, float(right)))  # type: ignore[arg-type]


@dataclass(frozen=True, kw_only=True)
class FlownByHand(Question):
    """A flight flown in the live panel; judged from its sealed recording, here and at the marking desk.

    Parameters
    ----------
    goal : str
        What to do, shown above the panel; names in braces are filled from the givens.
    day : callable
        From the givens, the day it is flown in; drawn for the student, so that neighbours fly in other winds.
    goals : tuple of Goal
        What the flight is judged by.
    begin : callable or None
        From the givens, where the flight starts (as :class:`needlework.flying.plan.Start`); None with ``entry``.
    rows : callable or None
        From the givens, the rows of a plan that flies it well: the reference; None with ``entry``.
    entry : str
        Fix from which the whole procedure is flown: it starts there, the examiner debriefs it, and the reference
        pilot of the course is the reference. Empty where only a part is flown.
    takes_own : bool
        True where a flight of the learner's own, as a file, may be handed in instead.
    laps : int
        Laps of the hold that the reference pilot flies after its entry.
    fails : callable
        From the givens, the reading at which the DME goes dark, None where nothing fails. [NM]
    sees : callable
        From the givens, the reading on the final at which the runway comes in sight, None where it never does. [NM]
    courses : callable
        From the givens, what the two selectors show at first. [deg magnetic]
    tuned : callable
        From the givens, what the two receivers begin with where they are to be tuned; else None. See
        :class:`needlework.showing.panel.receivers.Receivers`.
    ends_at_dme_nm : float or None
        The flight ends by itself when the DME, having been less, rises to this. [NM]
    ends_below_dme_nm : float or None
        The flight ends by itself when the DME, having been more, falls to this. [NM]
    ends_on : callable
        From the givens, the radial on which it does so, None for any: while the needle of that radial is on its stop the
        flight goes on. [deg magnetic]
    calls : callable
        From the givens, what is seen outside or heard when the DME rises to a reading: pairs of DME and words. [NM]
    most_min : float
        The flight ends by itself after this. [min]
    radials : callable or None
        From the givens, the radials that the plan view shows in place of the whole procedure. [deg magnetic]
    drawn : callable
        As in :class:`FilledPlan`, drawn once the flight has ended; what ``radials`` gives is drawn besides.
    on, flown_by : str
        Procedure whose station is used; aircraft.
    views, view
        As in :class:`FilledPlan`.
    """

    goal: str
    day: Callable[[Givens], Day]
    goals: tuple[Goal, ...]
    begin: Callable[[Givens], dict[str, Any]] | None = None
    rows: Callable[[Givens], list[dict[str, Any]]] | None = None
    entry: str = ""
    takes_own: bool = False
    laps: int = 0
    fails: Callable[[Givens], float | None] = field(default=lambda _givens: None)
    sees: Callable[[Givens], float | None] = field(default=lambda _givens: None)
    courses: Callable[[Givens], tuple[float, float]] = field(default=lambda _givens: (360.0, 360.0))
    tuned: Callable[[Givens], dict[str, Any] | None] = field(default=lambda _givens: None)
    ends_at_dme_nm: float | None = None
    ends_below_dme_nm: float | None = None
    ends_on: Callable[[Givens], float | None] = field(default=lambda _givens: None)
    calls: Callable[[Givens], tuple[tuple[float, str], ...]] = field(default=lambda _givens: ())
    most_min: float = 15.0
    radials: Callable[[Givens], tuple[float, ...]] | None = None
    drawn: Callable[[Givens], dict[str, Any]] = field(default=lambda _givens: {})
    on: str = "saltmarsh"
    flown_by: str = "Finch"
    views: tuple[str, ...] = ("plan",)
    view: Mapping[str, Any] = field(default_factory=dict)

    def about(self, givens: Givens) -> dict[str, Any]:
        """Say whose flight this is: a recording that says otherwise belongs to somebody else's numbers."""
        return {"exercise": self.key, "student": givens["seed"]}

    def starts(self, givens: Givens) -> dict[str, Any]:
        """Say where the flight starts, as :class:`needlework.flying.plan.Start`."""
        if self.begin is not None:
            return self.begin(givens)
        from needlework.flying import reference_pilot
        from needlework.world import procedure

        way, craft = procedure.load(self.on), _craft(self.flown_by)
        begins = reference_pilot.begins(way, craft, self.entry, givens.get("temperature_c"))
        return begins.model_dump(exclude_none=True)

    def right(self, givens: Givens) -> str:
        """Fly the reference and give its recording, sealed like one flown by hand."""
        from needlework.exercises import recording
        from needlework.flying import pilot, plan, reference_pilot
        from needlework.world import procedure

        chosen, craft, day = station(self.on), _craft(self.flown_by), self.day(givens)
        if self.rows is None:
            flown = reference_pilot.fly(
                procedure.load(self.on),
                craft,
                day,
                entry=self.entry,
                seed=1,
                laps=self.laps,
                temperature_c=givens.get("temperature_c"),
                lands=self._lands(givens),
                enters=True,
            ).one(0)
        else:
            made = plan.make_plan(self.rows(givens), self.starts(givens), self.key)
            flown = pilot.fly(made, chosen, craft, day, seed=1, minutes=self.most_min)
        return recording.sealed(self.key, self.about(givens), flown.track(), "the plan came to its end")

    def _lands(self, givens: Givens) -> bool:
        """Whether the runway comes in sight in time for a normal landing."""
        from needlework.exercises.goals.whole import in_time
        from needlework.world import procedure

        sight_nm = self.sees(givens)
        return sight_nm is not None and in_time(procedure.load(self.on), sight_nm)

    def judge(self, givens: Givens, answer: object, hidden: bool = False) -> Verdict:
        """Check the seals and whose flight it is, then judge what was flown."""
        from needlework.exercises import recording
        from needlework.exercises.own_flight import OwnFlight

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
        try:
            if isinstance(flown, OwnFlight):
                return self._judge_own(flown)
            given = f"flown for {flown.flown_s / 60:.1f} minutes"
            verdict = judged(self.goals, givens, [self.seen(flown)])
        except NeedleworkError as fault:
            raise Unreadable(str(fault)) from None
        return replace(verdict, given=given)

    def _judge_own(self, flown: OwnFlight) -> Verdict:
        """Judge a flight handed in as a file: the debrief on the procedure that was flown is the mark."""
        from needlework.exercises.goals.whole import own_goals

        if not self.takes_own:
            raise Unreadable("This one is flown on the panel: a file of your own is not taken here.")
        if flown.by_the_course:
            raise Unreadable(flown.by_the_course)
        seen = self.seen(flown)
        assert seen.own is not None
        given = f"{flown.file}, {flown.flown_s / 60:.1f} minutes, on {seen.own.name} at {seen.own.airport.name}"
        return replace(judged(own_goals(seen), {}, [seen]), given=given)

    def seen(self, flown: Recording) -> Seen:
        """Give a recording as its judge sees it: on the procedure of the question, or on the learner's own."""
        from needlework.exercises.own_flight import OwnFlight

        if isinstance(flown, OwnFlight):
            way = flown.way(self.on)
            return Seen(flown.track, way.station, way.name, way)
        return Seen(flown.track, station(self.on), self.on)

    def afterwards(self, givens: Givens, verdict: Verdict) -> list[tuple[str, dict[str, Any]]]:
        """Show the way flown, with the wind that was not known."""
        if verdict.evidence and verdict.evidence[0].own is not None:
            seen = verdict.evidence[0]
            return [("show_flown_plan", {"track": seen.track, "procedure": seen.own})]
        drawn = {"radials": list(self.radials(givens))} if self.radials else {}
        drawn |= self.drawn(givens)
        return shown(verdict, self.views, self.on, self.day(givens).wind, "As flown", drawn, self.view)


def _or_not_flown(judge: Callable[[Givens, Seen], Met]) -> Callable[[Givens, Seen], Met]:
    """Take a flight that has nothing to do with the procedure for one that misses a goal: a plan that was flown was read."""

    def found(givens: Givens, seen: Seen) -> Met:
        try:
            return judge(givens, seen)
        except Unreadable:
            return Met(
                0.0,
                "As filled in, the flight leads away from the procedure: none of its legs was flown.",
                flown=False,
            )

    return found


def _unpraised(cell: Verdict) -> Verdict:
    return replace(cell, text="Met on this flight.") if cell.outcome is Outcome.PASS else cell


_HARMLESS_HERE = (
    "(All goals were met on this flight: here it did no harm. What is written is wrong all the same, and counts.)"
)
_FIRST_WORDS = re.compile(r"^.*?(?=[:.] |: |$)")


def _as_seen(label: str, cell: Verdict) -> Verdict:
    """Leave of a goal that was missed what was seen, without what may have led to it."""
    if cell.outcome is Outcome.PASS or label.startswith("“"):
        return cell
    seen = _FIRST_WORDS.match(cell.text.strip())
    return replace(cell, text=f"{seen[0].rstrip('.')}." if seen else cell.text)


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
    from needlework.world import procedure

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
