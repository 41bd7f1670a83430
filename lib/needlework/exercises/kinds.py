"""Kinds of questions: what each asks, what passes, which mistakes it knows; plain functions over plain data."""

from __future__ import annotations

import functools
import itertools
import math
import random
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, TypeAlias, TypeVar

import numpy as np

from needlework.basis.errors import NeedleworkError
from needlework.exercises import wording
from needlework.exercises.answers import Unreadable, as_number, as_text, is_blank, short
from needlework.exercises.families import Applied, Member
from needlework.exercises.recent import Recent
from needlework.exercises.verdicts import Outcome, Verdict
from needlework.trade import units

_Found = TypeVar("_Found")
_OTHER_WAY_DEG = 150.0  # from here on it hardly matters round which side
_OTHER_UNIT = 12.0  # no usual mistake with the right unit is that many times off
_EVERY_LINE = "In every line"
_COME = " mistakes come to this. Either: "
_MAY_BE = "It may be this, though it does not give quite this number: "
_NEAR = "It may be one of these, though none gives quite this number. Either: "
_LISTED = 160  # letters of a list that is read rather than skipped
_MOST_CAUSES = 3  # that many are still read; of more nobody can tell
_MOST_KEPT = 4  # draws whose sums are kept
_MOST_STEPS = 2  # that many reasons are still read, one after the other
_POINT_MOVED = "has the decimal point moved?"
DIGITS = "Have two of its digits changed places?"
_RATIOS = {
    10.0: f"Ten times too much: {_POINT_MOVED}",
    0.1: f"A tenth of it: {_POINT_MOVED}",
    100.0: f"A hundred times too much: {_POINT_MOVED}",
    0.01: f"A hundredth of it: {_POINT_MOVED}",
    1000.0: f"A thousand times too much: {_POINT_MOVED}",
    60.0: "Sixty times too much: an hour for a minute, or a minute for a second?",
    1.0 / 60.0: "Sixty times too little: a minute for an hour, or a second for a minute?",
    3600.0: "3,600 times too much: an hour for a second?",
    1.0 / 3600.0: "3,600 times too little: a second for an hour?",
    2.0: "Twice too much: was something counted twice?",
    0.5: "Half of it: was something halved, or counted once where it counts twice?",
}
"""What an answer may be to the right one, and what it then asks."""
_OTHER_UNITS: dict[str, tuple[tuple[str, float, str], ...]] = {
    "m": (
        ("NM", units.NM_M, "metres are asked for: a nautical mile is 1,852 m."),
        ("km", 1000.0, "metres are asked for: a kilometre is 1,000 m."),
        ("feet", units.FT_M, "metres are asked for: a metre is 3.28 ft."),
    ),
    "NM": (
        ("metres", 1.0 / units.NM_M, "nautical miles are asked for: one is 1,852 m."),
        ("km", 1000.0 / units.NM_M, "nautical miles are asked for: one is 1.852 km."),
        ("feet", 1.0 / units.NM_FT, "nautical miles are asked for: one is 6,076 ft."),
    ),
    "ft": (
        ("NM", units.NM_FT, "feet are asked for: a nautical mile is 6,076 ft."),
        ("metres", 1.0 / units.FT_M, "feet are asked for: a metre is 3.28 ft."),
    ),
}
"""For a unit that is asked for: others, how many of it each is, and what is said."""
_KINDS_OF_GIVENS = {"kt": " kt", "ft": " ft", "nm": " NM", "deg": "°", "fpm": " ft a minute"}
"""What the name of a quantity ends in, and how it is said."""
_SIZES_IN_DEGREES = frozenset(
    (
        "angle",
        "bank",
        "correction",
        "cut",
        "difference",
        "drift",
        "error",
        "inside",
        "least",
        "off",
        "step",
        "sweep",
        "variation",
        "wca",
        "width",
    )
)
"""Words of names that end in ``deg`` for so many degrees; the others are directions."""

Givens: TypeAlias = Mapping[str, Any]
"""The numbers and texts of one question as drawn for one student."""


@dataclass(frozen=True)
class Slip:
    """A named mistake: how the wrong value comes about and what it would mean in the air.

    Parameters
    ----------
    code : str
        Name in the list of slips, for example ``"RECIP"``.
    wrong : callable
        From the givens, the answer this mistake leads to (a number, letter, order or table row).
    says : str
        What to tell the learner: what was done, what it would mean in the air, where to look.
    variant : str
        Which of several sentences of the same mistake this is; empty where there is one.
    inherited : bool
        True where the mistake comes from the question's family: then it need only be told apart from what passes
        and from the other mistakes, however little.
    rare : bool
        True where numbers may be drawn that do not tell it: from what passes, then it is left out; from another
        mistake, then both are named.
    never_passes : bool
        True for a rare one whose numbers are refused where it would pass.

    Notes
    -----
    ``wrong`` is None where only the question's ``named_by`` knows the mistake; it gives None where these
    numbers do not admit the mistake.
    """

    code: str
    wrong: Callable[[Givens], Any] | None
    says: str
    variant: str = ""
    inherited: bool = False
    rare: bool = False
    never_passes: bool = False

    @property
    def name(self) -> str:
        """Give the code, and after a slash the variant."""
        return f"{self.code}/{self.variant}" if self.variant else self.code

    @property
    def causes(self) -> set[str]:
        """Give the mistakes that are meant: of a variant such as ``mirror-or-recip`` each of them, else the code."""
        several = self.variant.upper().split("-OR-")
        return set(several) if len(several) > 1 else {self.code}


@dataclass(frozen=True, kw_only=True)
class Question:
    """What every kind of question has.

    Parameters
    ----------
    key : str
        Unique name.
    lesson : str
        Key of the lesson it belongs to.
    title : str
        A few words for lists and reports.
    prompt : str
        The question; names in braces are filled from the givens. States unit, reference and precision.
    points : float
        Full marks.
    draw : callable
        From a seeded :class:`random.Random`, the givens of one student. Empty for questions without numbers.
    shown : str
        How the givens are shown under the prompt; names in braces. Empty if the prompt says all.
    slips : tuple of Slip
        The named mistakes.
    hints : tuple of three str
        Where to look; the rule; the first line of the working.
    model : str
        The worked answer; may use the givens and ``{answer}``.
    why : str
        Shown after a pass and with the model answer.
    look : str
        Where to look when the answer is wrong and no slip fits; by default the first hint.
    figure : str
        Name of a ``show_...`` function of :mod:`needlework.showing.pictures`; empty for no picture.
    figure_values : callable
        From the givens, the keyword arguments of that function.
    task : bool
        True for the graded task at the end of a lesson: no verdict and no hints before it is handed in.
    row : mapping
        In a cell that is repeated: what its row of the table adds to the givens.
    derived : callable
        From the givens, further names for the texts; nothing is judged by them.
    usable : callable
        From the givens, whether these numbers may be used, besides what :meth:`sound` asks.
    named_by : callable or None
        From the givens and a wrong answer, the name of the slip behind it, or None; asked after the slips' values.
    keeps_apart : bool
        True to leave out, with the numbers drawn, what cannot be told from the right answer; what cannot be told from
        an earlier slip is then as a rare one.
    gives : str
        In a cell of a table: the quantity that its answer is for the cells below it; empty for none.
    formerly : tuple of str
        In a cell of a table: labels it had in copies handed out before.
    """

    key: str
    lesson: str
    title: str
    prompt: str
    points: float = 1.0
    draw: Callable[[random.Random], dict[str, Any]] = field(default=lambda _random: {})
    shown: str = ""
    slips: tuple[Slip, ...] = ()
    hints: tuple[str, str, str] = ("", "", "")
    model: str = ""
    why: str = ""
    look: str = ""
    figure: str = ""
    figure_values: Callable[[Givens], dict[str, Any]] = field(default=lambda _givens: {})
    task: bool = False
    row: Mapping[str, Any] = field(default_factory=dict)
    derived: Callable[[Givens], dict[str, Any]] = field(default=lambda _givens: {})
    usable: Callable[[Givens], bool] = field(default=lambda _givens: True)
    named_by: Callable[[Givens, Any], str | None] | None = None
    keeps_apart: bool = False
    gives: str = ""
    formerly: tuple[str, ...] = ()

    def right(self, givens: Givens) -> Any:
        """Give the reference answer for these givens."""
        raise NotImplementedError

    def judge(self, givens: Givens, answer: object, hidden: bool = False) -> Verdict:
        """Judge a non-blank answer; ``hidden`` adds what only the marking desk tries."""
        raise NotImplementedError

    def sound(self, givens: Givens) -> bool:
        """Say whether with these givens every slip can be told from the right answer and from the others."""
        return bool(self.usable(self.names(givens)))

    def names(self, givens: Givens) -> Givens:
        """Give the givens together with what the row of the table adds."""
        return {**givens, **self.row} if self.row else givens

    def mistakes(self, givens: Givens) -> list[tuple[Slip, Any]]:
        """Give every slip that these numbers admit with the answer it leads to, in the order they are tried."""
        names = self.names(givens)
        found = [(slip, slip.wrong(names)) for slip in self.slips if slip.wrong is not None]
        return [(slip, wrong) for slip, wrong in found if wrong is not None]

    def named(self, givens: Givens, answer: Any) -> Slip | None:
        """Give the slip that ``named_by`` names for an answer; None if there is none."""
        name = self.named_by(self.names(givens), answer) if self.named_by else None
        if name is None:
            return None
        found = next((slip for slip in self.slips if slip.name == name), None)
        if found is None:
            raise LookupError(f"{self.key}: a wrong answer is named '{name}', and no sentence has that name")
        return found

    def afterwards(self, givens: Givens, verdict: Verdict) -> list[tuple[str, dict[str, Any]]]:
        """Name the pictures shown with the verdict: ``show_...`` functions and their keyword arguments."""
        return []

    def fill(self, template: str, givens: Givens, **more: Any) -> str:
        """Fill the names in braces of a text of this question."""
        if "{" not in template and "}" not in template:
            return template
        names = self.names(givens)
        return wording.filled(template, {**names, **self.derived(names), **more})

    def where_to_look(self, givens: Givens) -> str:
        """Give the sentence that ends an unexplained wrong answer."""
        return self.fill(self.look or self.hints[0], givens)


def digits_exchanged(value: int, least: int) -> list[int]:
    """Give what a whole number becomes with two neighbouring digits exchanged.

    Parameters
    ----------
    value : int
        The number.
    least : int
        How many digits it is written with at least; only then one of them may be a zero in front.

    Returns
    -------
    list of int
        One for each place where it makes a difference.
    """
    figures = str(value).zfill(least)
    places = [place for place in range(len(figures) - 1) if figures[place] != figures[place + 1]]
    made = [figures[:n] + figures[n + 1] + figures[n] + figures[n + 2 :] for n in places]
    return [int(each) for each in made if each[0] != "0" or len(each) == least]


def _told(asked: Question) -> list[str]:
    """Name the numbers that stand in a question, in the order in which they are read."""
    return list(dict.fromkeys(re.findall(r"(?<!\{)\{(\w+)", f"{asked.shown} {asked.prompt}")))


def _is_size(name: str) -> bool:
    """Say whether a number of degrees is a size by its name, such as a variation, and no direction."""
    return not _SIZES_IN_DEGREES.isdisjoint(name.split("_"))


def _copied(asked: Question, givens: Givens, value: float) -> str:
    """Tell a number that stands in the question, given as the answer; empty where it does not stand there."""
    told = _told(asked)
    known = [given for name, given in asked.names(givens).items() if name in told]
    alike = [each for each in known if isinstance(each, (int, float)) and not isinstance(each, bool)]
    return "That number stands in the question itself: the answer is worked out from it." if value in alike else ""


def _exchanges(asked: Question, names: Givens) -> list[tuple[dict[str, Any], str]]:
    """Give the numbers of a question with one of them taken for another of its kind, each with its words.

    A number's kind is what its name ends in; of degrees some are directions and some sizes, such as a variation.
    """
    known = {name: names[name] for name in _told(asked) if isinstance(names.get(name), (int, float))}
    found = []
    for name, other in itertools.permutations(known, 2):
        kind = name.rpartition("_")[2]
        if kind not in _KINDS_OF_GIVENS or kind != other.rpartition("_")[2] or known[name] == known[other]:
            continue
        unit = _KINDS_OF_GIVENS[kind]
        size = _is_size(name)
        if unit == "°" and size != _is_size(other):
            continue
        taken = wording.direction if unit == "°" and not size else wording.number
        words = f"{taken(known[other])}{unit} in place of {taken(known[name])}{unit}"
        found.append(({**names, name: known[other]}, words))
    return found


def _another_given(asked: Question, cell: Number, givens: Givens, value: float) -> str:
    """Tell which number of the question was taken for another of its kind, where the sum comes to the answer so.

    Only one such exchange says anything.
    """
    names = cell.names(givens)
    found = [words for changed, words in _exchanges(asked, names) if cell.comes_so(changed, value)]
    if len(set(found)) != 1:
        return ""
    return f"It comes out so with {found[0]}: was one number of the question taken for the other?"


def _another_unit(unit: str, value: float, wanted: float) -> str:
    """Tell an answer that is right in another unit than the one asked for; empty where it is in none."""
    behind = len(f"{value:.6f}".rstrip("0").partition(".")[2])
    for other, size, said in _OTHER_UNITS.get(unit, ()):
        reach = min(0.5 * 10.0**-behind, 0.05 * abs(value)) if value else 0.0
        if abs(value - wanted / size) <= reach:
            return f"That is right in {other}, and {said}"
    return ""


def _once(work: Callable[[Number, Givens], _Found]) -> Callable[[Number, Givens], _Found]:
    """Work something out once for the same numbers: they come again for each mistake, and when an answer is judged."""

    @functools.wraps(work)
    def known(self: Number, givens: Givens) -> _Found:
        found = self._worked.of(givens)
        if work.__name__ not in found:
            found[work.__name__] = work(self, givens)
        kept: _Found = found[work.__name__]
        return kept

    return known


@dataclass(frozen=True, kw_only=True)
class Number(Question):
    """One number with a unit.

    Parameters
    ----------
    answer : callable
        From the givens, the reference value.
    unit : str
        Unit in words, for example ``"seconds"`` or ``"degrees magnetic"``.
    tolerance : float
        Largest error that passes, in the unit.
    close : float
        Largest error that earns half marks, in the unit.
    decimals : int
        Decimals asked for.
    circle : bool
        True for directions, which are compared on the compass circle.
    close_says : str
        How a close answer's verdict ends.
    line : bool
        True where both ends of a line through the station are the same answer.
    to : float
        Precision asked for, in the unit: 1, 0.1, 10 and so on.
    example : str
        What a readable answer looks like; by default built from the reference value, and not it.
    passes : callable or None
        From the givens, the least and the greatest of a band that passes as a whole.
    also : callable or None
        From the givens, a second value; whatever lies between the reference value and this one passes, too.
    also_says : str
        How the verdict ends where an answer passes by ``also``.
    family : Applied or None
        The usual mistakes with this kind of quantity, for two of them made together; each by itself is among the
        slips.
    taught : tuple of callable
        From the givens, the same answer by the sums that the lesson teaches. What lies between the least and the
        greatest of them and the reference value passes, and every mistake is worked out by them as well.
    """

    answer: Callable[[Givens], float]
    unit: str
    tolerance: float
    close: float = 0.0
    decimals: int = 0
    circle: bool = False
    close_says: str = "Was something rounded early?"
    line: bool = False
    to: float = 1.0
    example: str = ""
    passes: Callable[[Givens], tuple[float, float]] | None = None
    also: Callable[[Givens], float] | None = None
    also_says: str = ""
    family: Applied | None = None
    taught: tuple[Callable[[Givens], float], ...] = ()
    _worked: Recent = field(default_factory=lambda: Recent(_MOST_KEPT), init=False, repr=False, compare=False)

    def _error(self, value: float, wanted: float) -> float:
        gap = value - wanted
        if self.line:
            return 90.0 - (90.0 - gap) % 180.0
        return 180.0 - (180.0 - gap) % 360.0 if self.circle else gap

    def _off(self, value: float, wanted: float, band: tuple[float, float] | None) -> float:
        """Give how far a value is from the reference value, or from the band that passes."""
        gap = self._error(value, wanted)
        if band is None:
            return gap
        least, greatest = (self._error(end, wanted) for end in band) if self.circle else (e - wanted for e in band)
        return min(0.0, gap - least) or max(0.0, gap - greatest)

    @_once
    def _band(self, givens: Givens) -> tuple[float, float] | None:
        names = self.names(givens)
        if self.passes is not None:
            return self.passes(names)
        if not self.taught:
            return None
        wanted = float(self.answer(names))
        off = [0.0, *(self._error(float(each(names)), wanted) for each in self.taught)]
        return wanted + min(off), wanted + max(off)

    @_once
    def _earning(self, givens: Givens) -> tuple[float, float] | None:
        """Give the band of all that earns marks, ``also`` and ``close`` included; None where it is about one value."""
        if self.also is None or self.circle:
            return self._band(givens)
        wanted = self.right(givens)
        other = float(self.also(self.names(givens)))
        return min(wanted, other), max(wanted, other)

    @_once
    def _passing(self, givens: Givens) -> tuple[float, float] | None:
        """Give the band of :meth:`_earning`, on the compass circle with ``also`` included."""
        if self.also is None or not self.circle:
            return self._earning(givens)
        wanted = self.right(givens)
        between = self._error(float(self.also(self.names(givens))), wanted)
        ends = [0.0, between, *(self._error(end, wanted) for end in self._band(givens) or ())]
        return wanted + min(ends), wanted + max(ends)

    @_once
    def right(self, givens: Givens) -> float:
        """Give the reference value, unrounded."""
        return float(self.answer(self.names(givens)))

    @_once
    def mistakes(self, givens: Givens) -> list[tuple[Slip, float]]:
        """Give every slip that these numbers admit with the value it leads to, in the order they are tried."""
        found = [(slip, float(wrong)) for slip, wrong in super().mistakes(givens)]
        rare = [(slip, wrong) for slip, wrong in found if slip.rare]
        if not (self.keeps_apart or rare):
            return found
        kept: list[tuple[Slip, float]] = []
        wanted, band, passing = self.right(givens), self._earning(givens), self._passing(givens)
        for slip, wrong in found:
            usual = [w for s, w in kept if not s.rare]
            if not slip.rare and (not self.keeps_apart or self._apart(wanted, band, [*usual, wrong])):
                kept.append((slip, wrong))
            elif math.isfinite(wrong) and abs(self._off(wrong, wanted, passing)) > self._least():
                # What cannot be told from an earlier mistake is named together with it.
                kept.append((replace(slip, rare=True), wrong))
        return kept

    def _least(self) -> float:
        """Give how far off an answer that earns nothing lies at least, however it is rounded."""
        return max(self.close, self.tolerance) + 0.5 * self.to

    def _apart(self, wanted: float, band: tuple[float, float] | None, values: list[float]) -> bool:
        clear = all(
            abs(self._off(v, wanted, band)) > max(self.close, self.tolerance) + self.tolerance for v in values
        )
        apart = all(abs(self._error(a, b)) > self.tolerance for i, a in enumerate(values) for b in values[:i])
        return clear and apart and all(map(math.isfinite, [wanted, *values]))

    def written(self, value: float) -> str:
        """Write a value the way the question asks for it."""
        if self.circle:
            return wording.measured(f"{round(value) % 360 or 360:03d}", self.unit)
        shown = round(value / self.to) * self.to if self.to > 1 else value
        return wording.measured(f"{shown:,.{self.decimals}f}", self.unit)

    def sound(self, givens: Givens) -> bool:
        """Every slip must lie clear of what passes or comes close, and of every other slip's value.

        What comes from the family, alone or two at a time, must not pass, rounded to the precision asked for;
        each by itself must lie clear of what passes, and must come to another answer than every other mistake. Where
        it comes close all the same, the verdict says both.
        """
        if not super().sound(givens):
            return False
        wanted, band = self.right(givens), self._earning(givens)
        inside = self._off(wanted, wanted, band) == 0.0
        made = [(slip, wrong) for slip, wrong in self.mistakes(givens) if not slip.rare]
        own = [wrong for slip, wrong in made if not slip.inherited]
        if not (inside and self._apart(wanted, band, own)):
            return False
        # Rounded, a mistake may come into what passes besides the right value, too.
        passing = self._passing(givens)
        if any(self._passes(wrong, wanted, passing) for _, wrong in made):
            return False
        return self.family is None or self._family_apart(givens, made)

    def _family_apart(self, givens: Givens, made: list[tuple[Slip, float]]) -> bool:
        assert self.family is not None
        wanted, band = self.right(givens), self._earning(givens)
        least, grain = self.tolerance + 0.5 * self.to, 0.5 * self.to
        for number, (slip, wrong) in enumerate(made):
            others = [value for other, value in made[:number] if slip.inherited or other.inherited]
            if slip.inherited and abs(self._off(wrong, wanted, band)) <= least:
                return False
            if any(abs(self._error(wrong, value)) <= grain for value in others):
                return False
        names = self.names(givens)
        never = [
            float(s.wrong(names)) for s in self.slips if s.never_passes and s.wrong and s.wrong(names) is not None
        ]
        ways = [value for slip, ways in self._ways_wrong(givens) if not slip.rare for value in ways]
        if any(self._passes(value, wanted, band) for value in (*never, *ways)):
            return False
        # What cannot be told in these numbers is no mistake here, alone or with another.
        told = {slip.code for slip, _ in made}
        together = (
            value
            for pair, value in self.family.pairs(self.names(givens))
            if not self.keeps_apart or all(member.code in told for member in pair)
        )
        # An answer is written to the precision asked for: rounded, two mistakes together must not pass either.
        return not any(
            abs(self._off(written, wanted, band)) <= self.tolerance
            for value in together
            for written in (value, round(value / self.to) * self.to)
        )

    @_once
    def _ways_wrong(self, givens: Givens) -> list[tuple[Slip, list[float]]]:
        """Give every mistake with what it comes to, by each of the ways in which the answer can be worked out."""
        names = self.names(givens)
        wanted, band = self.right(givens), self._earning(givens)
        found: list[tuple[Slip, list[float]]] = []
        for slip, first in self.mistakes(givens):
            ways = self.family.by_each_way(names, slip.code) if self.family is not None and slip.inherited else []
            if slip.rare:
                ways = [value for value in ways if not self._passes(value, wanted, band)]
            found.append((slip, [first, *ways]))
        return found

    def _passes(self, value: float, wanted: float, band: tuple[float, float] | None) -> bool:
        """Say whether a value passes, rounded to the precision asked for."""
        return abs(self._off(round(value / self.to) * self.to, wanted, band)) <= self.tolerance

    def _alone(self, givens: Givens, value: float, rounding_only: bool = False) -> list[Slip]:
        """Find the single mistakes that an answer can come from, the nearest first.

        What rounding leaves open comes first. Farther off, an answer within the tolerance of a mistake's value comes
        from it only if it lies much nearer to it than that value lies to the right one: an inexact right answer is
        given no method's name. Of two about equally near, and of two that round to it, nobody can tell which it was.
        """
        wanted = self.right(givens)
        slack = 1e-9 * max(1.0, abs(value))
        grain = 0.5 * self.to + slack
        made = [
            (min(abs(self._error(value, each)) for each in ways), abs(self._error(ways[0], wanted)), slip, ways[0])
            for slip, ways in self._ways_wrong(givens)
        ]
        near = [each for each in made if each[0] <= self._reach(each[3], wanted, value) + slack]
        near.sort(key=lambda each: (each[0], each[2].rare))
        if not near:
            return []
        nearest, from_right = near[0][0], near[0][1]
        if nearest <= slack:
            # To the last figure it is this one, or what comes to the same by the same sum.
            firsts = [(abs(self._error(value, first)), slip) for _, _, slip, first in near]
            same = [slip for gap, slip in firsts if gap < grain - 2.0 * slack]
            # By a sum that is taught it may be to the last figure, and by the exact one farther off.
            same = same or [slip for gap, _, slip, _ in near if gap <= slack]
            return same if len(same) <= _MOST_CAUSES else [slip for slip in same if not slip.rare]
        if nearest <= grain:
            return [slip for gap, _, slip, _ in near if gap <= grain]
        if rounding_only or nearest > 0.25 * from_right or (self.taught and nearest > self.to):
            return []
        return [slip for gap, _, slip, _ in near if gap - nearest < self.to]

    def _reach(self, wrong: float, wanted: float, value: float) -> float:
        """Give how near to a mistake's value an answer must lie: what is in another unit is read to its own figures."""
        reach = max(self.tolerance, 0.5 * self.to)
        if self.circle or not wanted or abs(wrong) * _OTHER_UNIT > abs(wanted):
            return reach
        behind = len(f"{value:.6f}".rstrip("0").partition(".")[2])
        own_figures = min(0.5 * 10.0**-behind, 0.2 * abs(wrong)) if behind else 0.0
        return min(reach, max(0.005, 0.03 * abs(wrong), own_figures))

    def _comes_to(self, slip: Slip, givens: Givens, value: float) -> bool:
        """Say whether a mistake leads to an answer itself, as it is rounded, and not only near to it."""
        reach = 0.5 * self.to + 1e-9 * max(1.0, abs(value))
        return any(
            abs(self._error(value, each)) <= reach
            for other, ways in self._ways_wrong(givens)
            if other.name == slip.name
            for each in ways
        )

    def _together(self, givens: Givens, value: float) -> tuple[str, str]:
        """Name the only two mistakes that lead to an answer together: codes, and words for the learner.

        One comes before two: where a single mistake comes within a unit of the answer, nobody is told of two.
        """
        if self.family is None:
            return "", ""
        if any(abs(self._error(value, each)) <= self.to for _, ways in self._ways_wrong(givens) for each in ways):
            return "", ""
        says = {code: self.fill(words, givens) for code, words in self._words_of_members().items()}
        # With two mistakes there are so many answers that only one to the last figure says anything.
        reach = 0.5 * self.to + 1e-9
        names = self.names(givens)
        found = self._pairs_that_give(names, value, reach)
        # What few learners make comes second.
        found = found or self._pairs_that_give(names, value, reach, rare=True)
        common = [member for member in found[0] if all(member in pair for pair in found)] if found else []
        if not common:
            return "", ""
        words = " ".join(says.get(member.code, member.says) for member in common)
        # It need not be these: said is what they would come to.
        told = (
            "Two things at once would give this."
            if len(common) == 2
            else "Two things at once would give this. One is:"
        )
        return "+".join(member.code for member in common), f"{told} {words}"

    def _words_of_members(self) -> dict[str, str]:
        """Give the question's own words for mistakes of its family; what is said of a variant is said of that alone."""
        return {slip.code: slip.says for slip in self.slips if not slip.variant}

    def _pairs_that_give(
        self, names: Givens, value: float, reach: float, rare: bool = False
    ) -> list[tuple[Member, Member]]:
        """Give every two members that lead to an answer together, by the exact sum or by one that is taught."""
        assert self.family is not None
        return list(
            {
                tuple(member.code for member in pair): pair
                for way in (self.family, *self.family.as_taught)
                for pair, wrong in way.pairs(names, rare=rare)
                if abs(self._error(value, wrong)) <= reach
            }.values()
        )

    def all_that_fit(self, givens: Givens, value: float) -> dict[str, Slip]:
        """Give every single mistake that comes to an answer by one of its sums, those that these numbers hide included.

        Parameters
        ----------
        givens : mapping
            The numbers of the question.
        value : float
            The answer.

        Returns
        -------
        dict
            Mistakes by name. One of them lies too near to what passes to be named in this line alone.
        """
        names, reach = self.names(givens), 0.5 * self.to + 1e-9 * max(1.0, abs(value))
        found = {}
        for slip, first in super().mistakes(givens):
            ways = self.family.by_each_way(names, slip.code) if self.family is not None and slip.inherited else []
            if any(abs(self._error(value, float(way))) <= reach for way in (first, *ways)):
                found[slip.name] = slip
        return found

    def goes_in(self, code: str) -> bool:
        """Say whether a mistake of the family is made in what the answer is worked out from."""
        members = self.family.family.members if self.family is not None else ()
        return any(member.code == code and member.inputs is not None for member in members)

    def two_that_give(self, givens: Givens, value: float) -> dict[str, str]:
        """Give every two usual mistakes that lead to an answer together, with the words for the learner."""
        if self.family is None:
            return {}
        says = self._words_of_members()
        reach = 0.5 * self.to + 1e-9
        return {
            "+".join(member.code for member in pair): "Two things at once would give this. "
            + " ".join(says.get(member.code, member.says) for member in pair)
            for pair, wrong in self.family.pairs(self.names(givens))
            if abs(self._error(value, wrong)) <= reach
        }

    def _why(self, givens: Givens, value: float, rounding_only: bool = False) -> tuple[str, str]:
        """Name the cause of a wrong answer: codes for the record, words for the learner; empty where none is known.

        A cause is named only where the answer can come from no other; where it can come from two, both are. With
        ``rounding_only`` a cause must come to the answer, rounded as it is asked for.
        """
        alone = self._alone(givens, value, rounding_only)
        near = bool(alone) and not self._comes_to(alone[0], givens, value)
        if near and (found := _another_given(self, self, givens, value)):
            return "", found
        if near and not self.circle and (typed := self._only_typed(givens, value)):
            return "", typed
        if alone:
            said = list(dict.fromkeys(self.fill(slip.says, givens) for slip in alone))
            if len(said) > _MOST_CAUSES:
                return "", ""
            if near and (typed := self._clock_time(givens, value, within=0.5 * self.to)):
                # To the second it is that; the mistake beside it only comes near.
                return "", typed
            if (typed := self._clock_time(givens, value)) and len(said) < _MOST_CAUSES:
                said.append(typed)
            # Where a named mistake and two digits in each other's places come to one number, nobody can tell which.
            if (
                not near
                and len(said) < _MOST_CAUSES
                and self._mistyped(value, self.right(givens), exactly=True) == DIGITS
            ):
                said.append(DIGITS)
            many = f"{'Two' if len(said) == 2 else 'Three'}{_COME}" if len(said) > 1 else ""
            if near:
                many = _NEAR if many else _MAY_BE
            return alone[0].code, many + " Or: ".join(said)
        if rounding_only:
            return "", ""
        if self._thousands(givens, value, self.right(givens)):
            return "", ""
        slip = self.named(givens, value)
        if slip is not None:
            return slip.code, self.fill(slip.says, givens)
        unsigned = self._without_its_minus(givens, value)
        if unsigned[1]:
            return unsigned
        together = self._together(givens, value)
        return together if together[1] else self.with_another_given(self, givens, value)

    def _without_its_minus(self, givens: Givens, value: float) -> tuple[str, str]:
        """Name the only mistake that comes to the answer below nought, where its minus was dropped."""
        if self.circle or self.line or value <= 0.0 or self.right(givens) < 0.0:
            return "", ""
        gaps = {
            slip.name: (min(abs(value + each) for each in below), slip)
            for slip, ways in self._ways_wrong(givens)
            if (below := [each for each in ways if each < 0.0])
        }
        reach = 0.5 * self.to + 1e-9
        near = [slip for gap, slip in gaps.values() if gap <= max(reach, self.tolerance)]
        if len(near) != 1:
            return "", ""
        exact = gaps[near[0].name][0] <= reach
        if not exact and (_copied(self, givens, value) or _another_given(self, self, givens, value)):
            return "", ""
        said = f"{self.fill(near[0].says, givens)} It comes out below nought, and the minus was left out."
        return near[0].code, said if exact else f"{_MAY_BE}{said}"

    def with_another_given(self, asked: Question, givens: Givens, value: float) -> tuple[str, str]:
        """Name the only mistake that leads to an answer where one number was taken for another as well.

        Parameters
        ----------
        asked : Question
            The question that tells the numbers: this one, or the table that it is a cell of.
        givens : mapping
            The numbers of the question.
        value : float
            The answer.

        Returns
        -------
        tuple of str
            Code of the mistake, and words for the learner; empty where there is none, or more than one.
        """
        names, reach = self.names(givens), 0.5 * self.to + 1e-9
        if any(abs(self._error(value, each)) <= self.to for _, ways in self._ways_wrong(givens) for each in ways):
            return "", ""
        found: dict[tuple[str, str], str] = {}
        exchanges = _exchanges(asked, names)
        for slip, first in super().mistakes(givens) if exchanges else ():
            assert slip.wrong is not None
            for changed, words in exchanges:
                try:
                    wrong = slip.wrong(changed)
                except (ArithmeticError, ValueError, LookupError, NeedleworkError):
                    continue
                if wrong is None or wrong in names.values() or abs(self._error(float(wrong), float(first))) <= reach:
                    continue
                if abs(self._error(value, float(wrong))) <= reach:
                    found[slip.code, words] = self.fill(slip.says, givens)
        if len(found) != 1 or _another_given(asked, self, givens, value):
            return "", ""
        ((code, words), says), *_ = found.items()
        return (
            code,
            f"Two things at once would give this. {says} And it comes out so with {words}: was one taken for the other?",
        )

    def judge(self, givens: Givens, answer: object, hidden: bool = False) -> Verdict:
        """Compare with the reference value, then with every slip, then say direction or size."""
        wanted = self.right(givens)
        example = (wanted + 90.0) % 360.0 if self.circle else wanted * 1.7
        try:
            value = as_number(answer, self.example or f"{example:.{self.decimals}f}")
        except Unreadable as reason:
            raise Unreadable(reason.why, reason.reads, self._read_so(givens, reason.reads)) from None
        if self.circle and not 0.0 <= value <= 360.0:
            turns = "take away 360" if value > 360.0 else "add 360"
            raise Unreadable(
                f"{wording.number(value)} is on no compass: directions run from 1 to 360. Round the circle means: "
                f"{turns}{', as often as it takes' if not -360.0 <= value <= 720.0 else ''}. "
                "A change of so many degrees is no direction: give the one it ends on."
            )
        given = wording.direction(value) if self.circle else wording.number(value, max(2, self.decimals + 1))
        error = self._off(value, wanted, self._band(givens))
        slack = 1e-9 * max(1.0, abs(wanted))
        if abs(error) <= self.tolerance + slack:
            return Verdict(Outcome.PASS, 1.0, f"Right: {wording.measured(given, self.unit)}.", given=given)
        if self.also is not None:
            between = self._error(float(self.also(self.names(givens))), wanted)
            if min(0.0, between) - self.tolerance <= error <= max(0.0, between) + self.tolerance:
                text = f"Right: {wording.measured(given, self.unit)}. {self.fill(self.also_says, givens)}"
                return Verdict(Outcome.PASS, 1.0, text, given=given)
        if abs(error) <= self.close + slack:
            code, why = self._why(givens, value, rounding_only=True)
            if why:
                text = f"Not yet, though close. {self.gave(given)}. It may be a slip of the sum, or this: {why}"
                return Verdict(Outcome.SLIP, 0.0, text, code, given)
            text = (
                f"Close. {self.gave(given)}; that is more than {self._plain(self.tolerance)} off. "
                f"{self.fill(self.close_says, givens)}"
            )
            return Verdict(Outcome.CLOSE, 0.5, text, given=given)
        code, why = self._why(givens, value)
        if why:
            return Verdict(
                Outcome.SLIP if code else Outcome.WRONG,
                0.0,
                f"Not yet. {self.gave(given)}. {why}",
                code,
                given,
            )
        said = self._unexplained(givens, value, error)
        return Verdict(Outcome.WRONG, 0.0, f"Not yet. {self.gave(given)}{said}", given=given)

    def _read_so(self, givens: Givens, value: float | None) -> str:
        """Say what is wrong with a number besides its typing; empty where nothing is, or nothing is known of it."""
        if value is None or (self.circle and not 0.0 <= value <= 360.0):
            return ""
        judged = self.judge(givens, value)
        if judged.outcome in (Outcome.PASS, Outcome.CLOSE):
            return ""
        _, _, why = judged.text.partition(self.gave(judged.given))
        return f"Read as {judged.given} it is not right yet{why if why.startswith(';') else why.replace('.', ':', 1)}"

    def _unexplained(self, givens: Givens, value: float, error: float) -> str:
        """Say of an answer of unknown cause what can be seen in the number itself, and where to look."""
        wanted, look = self.right(givens), self.where_to_look(givens)
        if found := _another_unit(self.unit, value, wanted):
            return f". {found}"
        if found := self._thousands(givens, value, wanted):
            return f". {found}"
        if found := self._compared(givens, value, wanted):
            return f"; {found}. {look}"
        said = f"; that is {self._direction(error, value, wanted)}."
        seen = _copied(self, givens, value) or _another_given(self, self, givens, value)
        seen = seen or self._seen_in_it(givens, value)
        return f"{said} {seen} {look}" if seen else f"{said} {look}"

    def _thousands(self, givens: Givens, value: float, wanted: float) -> str:
        """Tell a point that was meant to part thousands; empty where there is none."""
        full = round(value * 1000.0)
        part = abs(full) % 1000
        if self.circle or self.to < 1 or not part or abs(value) < 1.0 or abs(full - value * 1000.0) > 1e-6:
            return ""
        if not wanted or not 1.0 / _OTHER_UNIT < full / wanted < _OTHER_UNIT or abs(value) * 30.0 > abs(wanted):
            return ""
        said = "A point makes decimals of what stands behind it. Thousands are written without one:"
        return f"{said} {full}. {self._read_so(givens, float(full))}".rstrip()

    def _seen_in_it(self, givens: Givens, value: float) -> str:
        """Say what an answer of unknown cause is to the right one, where that is more than chance."""
        names = self.names(givens)
        if said := self._clock_time(givens, value):
            return said
        for wanted in (self.right(givens), *(float(each(names)) for each in self.taught)):
            if said := self._to_the_right_one(value, wanted):
                return said
        return self._misread(givens, value)

    def _clock_time(self, givens: Givens, value: float, within: float | None = None) -> str:
        """Tell seconds that were typed as minutes and seconds, or as minutes and their decimals; empty where not.

        Typed so, they come so near to the right ones, by default as near as what passes; of decimals of a minute a
        whole hundredth is asked for.
        """
        if self.unit != "seconds" or value <= 0.0 or any(slip.code.startswith("TYPED") for slip in self.slips):
            return ""
        wanted = self.right(givens)
        for typed, how in ((value, "one behind the other"), (value * 100.0, "with a point between")):
            minutes, seconds = divmod(round(typed), 100)
            meant = 60 * minutes + seconds
            if (
                abs(typed - round(typed)) > 1e-6
                or seconds >= 60
                or meant == value
                or (not minutes and typed == value)
            ):
                continue
            if abs(meant - wanted) <= (self.tolerance if within is None else within) + 1e-9:
                return f"Minutes and seconds were typed {how}. What is asked for is seconds: 1:10 is 70."
        names = self.names(givens)
        for right in (wanted, *(float(each(names)) for each in self.taught)):
            hundredths = round(right / 0.6)
            if value in (hundredths, 60 * (hundredths // 100) + hundredths % 100) and value != round(right):
                return "The decimals of a minute were read as seconds. A minute has 60 of them: 0.50 minutes are 30 seconds."
        return ""

    def _misread(self, givens: Givens, value: float) -> str:
        """Ask whether two digits of a number of the question changed places as it was read; empty where not."""
        names, found = self.names(givens), []
        for name in _told(self):
            read = names.get(name)
            if isinstance(read, bool) or not isinstance(read, (int, float)) or read != round(read) or read < 12:
                continue
            figures = str(round(read))
            for other in digits_exchanged(round(read), 1):
                if self.comes_so({**names, name: type(read)(other)}, value):
                    found.append(f"It comes out so with {other} in place of {figures}: was a number misread?")
        return found[0] if len(found) == 1 else ""

    def _to_the_right_one(self, value: float, wanted: float) -> str:
        grain, gap = 0.5 * self.to + 1e-9, self._error(value, wanted)
        if typed := self._mistyped(value, wanted):
            return typed
        if self.line:
            return ""
        if self.circle:
            lost = next((n for n in (10.0, 100.0) if abs(abs(gap) - n) <= grain), 0.0)
            lost_is = {10.0: "Ten degrees", 100.0: "A hundred degrees"}
            if lost:
                return f"{lost_is[lost]} too {'many' if gap > 0 else 'few'}: is it the sum, or another angle?"
            if abs(abs(gap) - 180.0) <= grain:
                return "That leads the other way: it is 180 degrees off."
            if abs(abs(gap) - 90.0) <= grain:
                return "That is square to it: 90 degrees off."
            if abs(self._error(value, -wanted)) <= grain:
                return "That is what is left to 360: the circle was run the other way."
            return ""
        if abs(value + wanted) <= max(grain, self.tolerance) and abs(wanted) > 2.0 * max(grain, self.tolerance):
            return "The size is right, and the sign is the other one."
        for times, said in _RATIOS.items():
            # A coincidence within rounding says nothing of a number that is little more than its rounding.
            reach = min(grain, 0.02 * abs(times * wanted))
            if said.endswith(_POINT_MOVED):
                # Moved back it would pass: so far off that is no chance.
                reach = max(reach, min(self.tolerance * times, 0.05 * abs(times * wanted)))
            if abs(value - times * wanted) <= reach:
                return said
        lost = next((n for n in (10.0, 100.0, 1000.0) if abs(abs(gap) - n) <= grain and 2.0 * n < abs(wanted)), 0.0)
        if lost and self.to >= 1:
            lost_is = {10.0: "Ten", 100.0: "A hundred", 1000.0: "A thousand"}
            return f"{lost_is[lost]} too {'many' if gap > 0 else 'few'}: was the sum carried over?"
        return ""

    def _only_typed(self, givens: Givens, value: float) -> str:
        """Ask whether the right number was typed with a digit elsewhere or the point moved; empty where it was not."""
        said = self._to_the_right_one(value, self.right(givens))
        return said if said == DIGITS or said.endswith(_POINT_MOVED) else ""

    def _mistyped(self, value: float, wanted: float, exactly: bool = False) -> str:
        """Ask whether the right number was typed wrongly; empty where it was not.

        With two neighbouring digits back in their places, or the zero of a direction in front, it would pass; be the
        right one as rounded, where that is asked ``exactly``.
        """
        scale = 10.0**self.decimals if self.to < 1 else 1.0
        full = round(value * scale)
        if full <= 0 or abs(full - value * scale) > 1e-6:
            return ""
        if self.circle and full % 10 == 0 and abs(self._error(full / 10, wanted)) <= 0.5 * self.to + 1e-9:
            return "Was the zero typed behind instead of in front? A direction has three digits."
        meant = [each / scale for each in digits_exchanged(full, 3 if self.circle else 1)]
        # Of a wide band many a number would come out right by chance: what was exchanged must matter far more.
        near = max(0.5 * self.to, 0.0 if exactly else min(self.tolerance, 0.1 * abs(value - wanted))) + 1e-9
        return DIGITS if any(abs(self._error(each, wanted)) <= near for each in meant) else ""

    def comes_so(self, numbers: Givens, value: float) -> bool:
        """Say whether the sum comes to an answer with other numbers.

        Parameters
        ----------
        numbers : mapping
            What the sum is worked out from.
        value : float
            The answer.

        Returns
        -------
        bool
            True within what rounding to the precision asked for leaves open; False where the sum has no value.
        """
        try:
            comes = float(self.answer(numbers))
        except (ArithmeticError, ValueError, LookupError, NeedleworkError):
            return False
        return abs(self._error(value, comes)) <= 0.5 * self.to + 1e-9

    def gave(self, given: str) -> str:
        """Say an answer back, with its unit.

        Parameters
        ----------
        given : str
            The answer as it is written.

        Returns
        -------
        str
            For example ``"You gave 5.8 NM"``.
        """
        return f"You gave {wording.measured(given, self.unit)}"

    def is_times(self, times: float, givens: Givens, value: float) -> bool:
        """Say whether an answer is so many times what passes.

        Parameters
        ----------
        times : float
            How many times.
        givens : mapping
            The numbers of the question.
        value : float
            The answer.

        Returns
        -------
        bool
            True within what rounding to the precision asked for leaves open.
        """
        names = self.names(givens)
        right = (self.right(givens), *(float(each(names)) for each in self.taught))
        reach = max(self.tolerance, 0.5 * self.to) * times
        return bool(value) and any(abs(value - times * each) <= max(reach, 0.02 * abs(value)) for each in right)

    def _plain(self, size: float) -> str:
        """Write a tolerance: a decimal more than is asked for at most."""
        return wording.number(round(size, self.decimals + (1 if self.to < 10 else 0)), self.decimals + 1)

    def _compared(self, givens: Givens, value: float, wanted: float) -> str:
        return "" if self.family is None else self.family.compared(self.names(givens), value, wanted)

    def _direction(self, error: float, value: float, wanted: float) -> str:
        if self.circle:
            size = abs(error)
            if self.line and size > 60.0:
                return "across the line asked for, more than along it"
            if size >= _OTHER_WAY_DEG:
                return "about the other way round"
            far = "a long way" if size > 45 else "some way" if size > 10 else "a few degrees"
            return f"{far} too far {'right (clockwise)' if error > 0 else 'left (anticlockwise)'}"
        if wanted * value < 0.0:
            return f"{'below' if value < 0.0 else 'above'} nought, and it should be {'above' if wanted > 0.0 else 'below'}"
        large = "large" if error > 0 else "small"
        if wanted and value and max(value / wanted, wanted / value) > _OTHER_UNIT:
            return f"far too {large}. Compare its unit with the one asked for"
        if wanted and abs(error) > 0.5 * abs(wanted):
            return f"far too {large}"
        return f"too {large}"


@dataclass(frozen=True, kw_only=True)
class Choice(Question):
    """Pick one letter; every wrong letter stands for one misconception.

    Parameters
    ----------
    options : mapping of letter to text
        What can be picked.
    correct : str or tuple of str or callable
        The letter that is right, or the letters where several are accepted, or a function from the givens to them.
    """

    options: Mapping[str, str]
    correct: str | tuple[str, ...] | Callable[[Givens], str | tuple[str, ...]]

    def right(self, givens: Givens) -> str:
        """Give the right letter (the first, where several are accepted)."""
        return self.accepted(givens)[0]

    def accepted(self, givens: Givens) -> tuple[str, ...]:
        """Give all letters that are accepted."""
        found = self.correct(self.names(givens)) if callable(self.correct) else self.correct
        return (found,) if isinstance(found, str) else tuple(found)

    def mistakes(self, givens: Givens) -> list[tuple[Slip, str]]:
        """Give the slip behind every wrong letter."""
        if self.named_by is None:
            return [(slip, str(wrong)) for slip, wrong in super().mistakes(givens)]
        right = self.accepted(givens)
        wrong = [letter for letter in self.options if letter not in right]
        found = [(self.named(givens, letter), letter) for letter in wrong]
        return [(slip, letter) for slip, letter in found if slip is not None]

    def judge(self, givens: Givens, answer: object, hidden: bool = False) -> Verdict:
        """Compare the letter; a wrong letter gets the sentence of its misconception."""
        letters = ", ".join(self.options)
        letter = " ".join(re.sub(r"[^\w]+", " ", as_text(answer, next(iter(self.options)))).split())
        if letter not in self.options:
            raise Unreadable(f"'{short(letter)}' is not one of {letters}. Write one of them.")
        if letter in self.accepted(givens):
            return Verdict(Outcome.PASS, 1.0, f"Right: {letter}.", given=letter)
        for slip, wrong in self.mistakes(givens):
            if wrong == letter:
                return Verdict(Outcome.SLIP, 0.0, self.told_of(slip, givens, letter), slip.code, letter)
        return Verdict(Outcome.WRONG, 0.0, f"Not yet. You chose {letter}. {self.where_to_look(givens)}", given=letter)

    def told_of(self, slip: Slip, givens: Givens, letter: str) -> str:
        """Tell a mistake to who chose a letter.

        Parameters
        ----------
        slip : Slip
            The mistake.
        givens : mapping
            The numbers of the question.
        letter : str
            What was chosen.

        Returns
        -------
        str
            The text of the verdict.
        """
        chosen = self.options[letter] or letter
        said = self.fill(slip.says, givens, chosen=chosen, Chosen=chosen[:1].upper() + chosen[1:])
        return f"Not yet. You chose {letter}. {said}"

    def sound(self, givens: Givens) -> bool:
        """No slip may stand for a right letter, and every wrong letter has exactly one slip."""
        right = set(self.accepted(givens))
        wrong = sorted(letter for _, letter in self.mistakes(givens))
        return right <= set(self.options) and wrong == sorted(set(self.options) - right) and super().sound(givens)


@dataclass(frozen=True, kw_only=True)
class Order(Question):
    """Put shuffled cards in order; the message says which of two cards comes first, and names one that alone stands wrong.

    Parameters
    ----------
    cards : mapping of letter to text
        The cards, in shuffled order.
    correct : str
        The right order as letters, for example ``"CADB"``.
    free : tuple of str
        Groups of letters whose order among themselves does not matter, for example ``("AD",)``.
    because : mapping of pair to str
        For a pair such as ``"CA"``: why C comes before A.
    """

    cards: Mapping[str, str]
    correct: str
    free: tuple[str, ...] = ()
    because: Mapping[str, str] = field(default_factory=dict)

    def right(self, givens: Givens) -> str:
        """Give the right order as letters."""
        return self.correct

    def judge(self, givens: Givens, answer: object, hidden: bool = False) -> Verdict:
        """Find the first neighbouring pair that stands the wrong way round."""
        if isinstance(answer, (list, tuple)):
            answer = "".join(as_text(item) for item in answer)
        letters = "".join(c for c in as_text(answer, self.correct[::-1]) if c.isalnum())
        if sorted(letters) != sorted(self.cards):
            missing = [c for c in self.cards if c not in letters]
            twice = sorted({c for c in letters if letters.count(c) > 1})
            strange = sorted({c for c in letters if c not in self.cards})
            parts = [f"{'missing' if n == 0 else 'given twice' if n == 1 else 'unknown'}: {', '.join(found)}"
                     for n, found in enumerate((missing, twice, strange)) if found]  # fmt: skip
            raise Unreadable(f"Each letter {', '.join(self.cards)} once, please; {'; '.join(parts)}.")
        place = {letter: i for i, letter in enumerate(self.correct)}
        pairs = [
            (late, early)
            for late, early in itertools.combinations(letters, 2)
            if place[late] > place[early] and not any(late in group and early in group for group in self.free)
        ]
        if not pairs:
            return Verdict(Outcome.PASS, 1.0, f"Right: {letters}.", given=letters)
        for slip, wrong in self.mistakes(givens):
            if wrong == letters:
                text = f"Not yet. You gave {letters}. {self.fill(slip.says, givens)}"
                return Verdict(Outcome.SLIP, 0.0, text, slip.code, letters)
        late, early = self._told_first(letters, pairs)
        reason = self._reason(early, late) or self.where_to_look(givens)
        alone = [card for card in (early, late) if len(pairs) > 1 and all(card in pair for pair in pairs)]
        stands = f"Only {alone[0]} stands wrong, too {'late' if alone[0] == early else 'early'}: " if alone else ""
        text = f"Not yet. You gave {letters}. {stands}{self._before(early, late)}, not after it. {reason}"
        if also := self._besides(letters, pairs, {late, early}):
            text += f" {also}"
        return Verdict(Outcome.WRONG, 0.0, text, given=letters)

    def _told_first(self, letters: str, pairs: list[tuple[str, str]]) -> tuple[str, str]:
        """Choose the pair to tell: of a single card that stands wrong the place it belongs to, else the nearest two."""
        near = min(pairs, key=lambda pair: letters.index(pair[1]) - letters.index(pair[0]))
        far = max(pairs, key=lambda pair: letters.index(pair[1]) - letters.index(pair[0]))
        alone = any(all(card in pair for pair in pairs) for card in far)
        return far if alone and self._reason(far[1], far[0]) else near

    def _before(self, early: str, late: str) -> str:
        return f"{early} (“{self.cards[early]}”) comes before {late} (“{self.cards[late]}”)"

    def _besides(self, letters: str, pairs: list[tuple[str, str]], told: set[str]) -> str:
        """Tell a second pair that stands the wrong way round; empty where moving one card of the first puts all right."""
        if any(all(card in pair for pair in pairs) for card in told):
            return ""
        late, early = min(
            (pair for pair in pairs if set(pair) != told),
            key=lambda pair: (len(told.intersection(pair)), letters.index(pair[1]) - letters.index(pair[0])),
        )
        return f"And {self._before(early, late)}. {self._reason(early, late)}".rstrip()

    def _reason(self, early: str, late: str) -> str:
        """Say why one card comes before another: in its own words, or by the cards that stand between the two."""
        ways: list[str] = [early]
        for way in ways:
            if way[-1] == late:
                steps = [way[n : n + 2] for n in range(len(way) - 1)]
                if len(steps) == 1:
                    return self.because[steps[0]]
                ends = steps if len(steps) <= _MOST_STEPS else [steps[0], steps[-1]]
                return " ".join(
                    f"“{self.cards[step[0]]}” before “{self.cards[step[1]]}”: {self.because[step]}" for step in ends
                )
            ways.extend(way + pair[1] for pair in self.because if pair[0] == way[-1] and pair[1] not in way)
        return ""

    def sound(self, givens: Givens) -> bool:
        """The right order uses every card once; no slip is the right order."""
        told = all(wrong != self.correct for _, wrong in self.mistakes(givens))
        return sorted(self.correct) == sorted(self.cards) and told and super().sound(givens)


@dataclass(frozen=True, kw_only=True)
class Text(Question):
    """Free text, which nobody but a person can mark: a task, of which ``model`` is an answer for full marks."""

    def right(self, givens: Givens) -> str:
        """Give the model, filled with these numbers."""
        return self.fill(self.model, givens)

    def judge(self, givens: Givens, answer: object, hidden: bool = False) -> Verdict:
        """Say that it waits for a mark, whatever it is."""
        as_text(answer)
        return Verdict(Outcome.WAITS, 0.0, "This waits for your instructor's mark.", given=short(answer))


@dataclass(frozen=True)
class _Own:
    """What a learner gave in a cell that cells below it work on with."""

    label: str
    cell: Question
    value: Any
    right: bool


def _plain_value(cell: Question, value: object) -> Any:
    return as_number(value) if isinstance(cell, Number) else " ".join(as_text(value).split())


def _carried_through(cell: Question, givens: Givens, value: object, judged: Verdict, own: list[_Own]) -> Verdict:
    """Judge a wrong cell once more with what the learner gave above it: what is worked rightly from there is right.

    Parameters
    ----------
    cell : Question
        The cell.
    givens : mapping
        The numbers of the table.
    value : object
        What was given in it.
    judged : Verdict
        What became of it with the right values above it.
    own : list of _Own
        The learner's own values above it.

    Returns
    -------
    Verdict
        Right, naming the cells to correct; a mistake that shows only from there; or the verdict as it was.
    """
    theirs = replace(cell, row={**cell.row, **{each.cell.gives: each.value for each in own}})
    try:
        again = theirs.judge(givens, value)
        if again.outcome not in (Outcome.PASS, Outcome.SLIP):
            return judged
        if again.slip == judged.slip != "":
            # The same mistake: told as it is where only from their own value its number is this one.
            return again if _MAY_BE in judged.text and _MAY_BE not in again.text else judged
        if again.outcome is Outcome.PASS is judged.outcome or again.share < judged.share:
            return judged
        used = [each for each in own if _changes(cell, givens, each)]
    except (ArithmeticError, ValueError, LookupError, NeedleworkError, Unreadable):
        return judged
    if not used:
        return judged
    # What was right above it is no cause.
    wrong = [each.label for each in used if not each.right]
    named = " and ".join(f"“{label}”" for label in wrong or [each.label for each in used])
    if again.outcome is judged.outcome is Outcome.SLIP:
        return replace(judged, text=f"{judged.text} Or, worked from your own {named}: {_why_of(again)[1]}")
    if again.outcome is Outcome.SLIP:
        begins, why = _why_of(again)
        return replace(again, text=f"{begins}Worked from your own {named}: {why}")
    ending = f"; correct {'that one' if len(wrong) == 1 else 'those'}." if wrong else ", rounded as you gave it."
    return replace(again, text=f"Right from your own {named}{ending}")


def _why_of(verdict: Verdict) -> tuple[str, str]:
    """Part what is told of a mistake: that it is not right and what was given, and what it was."""
    found = re.match(rf"Not yet[^.]*\. (?:You \w+ {re.escape(verdict.given)}.*?[.;] )?", verdict.text)
    begins = found[0] if found else ""
    return begins, verdict.text[len(begins) :]


def _changes(cell: Question, givens: Givens, own: _Own) -> bool:
    """Say whether a value given above a cell changes what is right in it."""
    theirs = replace(cell, row={**cell.row, own.cell.gives: own.value})
    return bool(theirs.right(givens) != cell.right(givens))


@dataclass(frozen=True, kw_only=True)
class Table(Question):
    """Fill a table; every cell is judged by itself and the marks are shared among the cells.

    Parameters
    ----------
    cells : callable
        From the givens, an ordered mapping of cell label to the small question that judges the cell.
        The student answers with a mapping of the same labels (or a list in the same order).
    listed : bool
        True if the labels are shown with the question, where the answer cell does not hold them.
    gone : tuple of str
        Labels of cells that copies handed out before still hold; what stands there is left alone.
    """

    cells: Callable[[Givens], dict[str, Question]]
    listed: bool = False
    gone: tuple[str, ...] = ()

    def right(self, givens: Givens) -> dict[str, Any]:
        """Give the reference answer of every cell."""
        return {label: cell.right(givens) for label, cell in self.cells(givens).items()}

    def sound(self, givens: Givens) -> bool:
        """Every cell must be sound."""
        return super().sound(givens) and all(cell.sound(givens) for cell in self.cells(givens).values())

    def judge(self, givens: Givens, answer: object, hidden: bool = False) -> Verdict:
        """Judge cell by cell and add up."""
        cells = self.cells(givens)
        letters = all(
            isinstance(cell, Choice) and all(len(each) == 1 for each in cell.options) for cell in cells.values()
        )
        if letters and isinstance(answer, str):
            # Letters in a row are letters, with or without what stands between them.
            answer = [letter for letter in str.__str__(answer) if letter.isalnum()]
        filled = labelled(answer, list(cells), {old: new for new, cell in cells.items() for old in cell.formerly},
                          self.gone, "cell of this table", "cells")  # fmt: skip
        own: list[_Own] = []
        verdicts = []
        for label, cell in cells.items():
            value = filled.get(label)
            if is_blank(value):
                verdicts.append((label, Verdict(Outcome.NOT_ATTEMPTED, 0.0, "No answer yet.")))
                continue
            try:
                judged = cell.judge(givens, value, hidden)
                if judged.outcome is not Outcome.PASS and own:
                    judged = _carried_through(cell, givens, value, judged, own)
                # From nothing at all nothing is worked out.
                if cell.gives and not (isinstance(cell, Number) and not cell.circle and not as_number(value)):
                    own.append(_Own(label, cell, _plain_value(cell, value), judged.outcome is Outcome.PASS))
                verdicts.append((label, judged))
            except Unreadable as reason:
                said = reason.why if self.task else str(reason)
                verdicts.append((label, Verdict(Outcome.ERROR, 0.0, said, given=short(value))))
        verdicts = self._seen_together(cells, givens, filled, verdicts)
        share = sum(v.share for _, v in verdicts) / len(verdicts)
        right = sum(v.outcome is Outcome.PASS for _, v in verdicts)
        given = "; ".join(f"{label}: {v.given or '-'}" for label, v in verdicts)
        if right == len(verdicts):
            said = f"Right: {'both' if right == 2 else f'all {right}'} answers."
            return Verdict(Outcome.PASS, 1.0, said, given=given, cells=tuple(verdicts))
        slip = next((v.slip for _, v in verdicts if v.slip), "")
        outcomes = [v.outcome for _, v in verdicts]
        worst = next(
            o
            for o in (Outcome.SLIP, Outcome.WRONG, Outcome.ERROR, Outcome.CLOSE, Outcome.NOT_ATTEMPTED)
            if o in outcomes
        )
        if worst is Outcome.NOT_ATTEMPTED:
            worst = Outcome.CLOSE if right else Outcome.WRONG
        many = len(verdicts)
        none = "Neither answer is" if many == 2 else f"None of the {many} answers are"
        others = "the other" if many - right == 1 else "each of the others"
        text = (
            f"{right} of {many} answers {'is' if right == 1 else 'are'} right. Read what is said beside {others}."
            if right
            else f"{none} right yet. Read what is said beside each."
        )
        text += _turned_round(cells, dict(verdicts))
        return Verdict(worst, share, text, slip, given, tuple(verdicts))

    def _seen_together(
        self,
        cells: Mapping[str, Question],
        givens: Givens,
        filled: Mapping[str, Any],
        verdicts: list[tuple[str, Verdict]],
    ) -> list[tuple[str, Verdict]]:
        """Tell what only several lines together show: the same value in all of them, or values of other lines."""
        wrong = [label for label, each in verdicts if each.outcome in (Outcome.SLIP, Outcome.WRONG)]
        numbers: dict[str, Number] = {}
        for label in wrong:
            cell = cells[label]
            if isinstance(cell, Number):
                numbers[label] = cell
        values = {label: as_number(filled[label]) for label in numbers}
        told = dict(verdicts)
        # Sorted, so that the words do not hang on chance.
        for unit in sorted({cell.unit for cell in numbers.values()}):
            alike = [label for label, cell in cells.items() if isinstance(cell, Number) and cell.unit == unit]
            theirs = [label for label in alike if label in numbers]
            if len(alike) > 2 and _all_the_same([filled.get(label) for label in alike]):
                # Of one cause for all, the lines that can come from another one say nothing.
                if len({told[label].slip for label in theirs} - {""}) != 1 or not all(told[n].slip for n in theirs):
                    for label in theirs:
                        look = cells[label].where_to_look(givens)
                        told[label] = replace(
                            told[label], slip="", outcome=Outcome.WRONG,
                            text=f"Not yet. The same value stands in every line. What changes from one to the next? {look}",
                        )  # fmt: skip
                continue
            told.update(_of_one_cause({label: numbers[label] for label in theirs}, givens, values, told))
            elsewhere = {
                label: [
                    other
                    for other in theirs
                    if other != label and numbers[other].judge(givens, values[label]).outcome is Outcome.PASS
                ]
                for label in theirs
            }
            # Where every wrong value is right in another line, that says more than what else each may come from.
            all_moved = len(theirs) > 2 and all(elsewhere.values())
            for label in theirs:
                if elsewhere[label] and (all_moved or told[label].outcome is Outcome.WRONG):
                    there = elsewhere[label][0]
                    text = f"Not yet. {told[label].given} belongs to “{there}”: have lines changed places?"
                    told[label] = replace(told[label], text=text, slip="", outcome=Outcome.WRONG)
        told.update(_of_one_ratio(numbers, givens, values, told))
        told.update(_of_what_went_in(numbers, givens, values, told))
        told.update(_close_of_the_same_cause(cells, givens, filled, told))
        told.update(_chosen_from_one_cause({label: cells[label] for label in wrong}, givens, told))
        for label, cell in numbers.items():
            if told[label].outcome is not Outcome.WRONG:
                continue
            copied = _copied(self, givens, values[label])
            if not copied and _EVERY_LINE not in told[label].text:
                copied = _another_given(self, cell, givens, values[label])
            if copied:
                text = f"Not yet. {cell.gave(told[label].given)}. {copied} {cell.where_to_look(givens)}"
                told[label] = replace(told[label], text=text)
            elif _EVERY_LINE not in told[label].text:
                code, two = cell.with_another_given(self, givens, values[label])
                if two:
                    text = f"Not yet. {cell.gave(told[label].given)}. {two}"
                    told[label] = replace(told[label], outcome=Outcome.SLIP, text=text, slip=code)
        return [(label, told[label]) for label, _ in verdicts]


def _chosen_from_one_cause(
    cells: Mapping[str, Question], givens: Givens, told: Mapping[str, Verdict]
) -> dict[str, Verdict]:
    """Name the one mistake from which all wrong choices can come, where one alone could come from several."""
    chosen = {label: cell for label, cell in cells.items() if isinstance(cell, Choice)}
    slips = {label: cell.named(givens, told[label].given) for label, cell in chosen.items()}
    causes = [slip.causes for slip in slips.values() if slip is not None]
    common = set.intersection(*causes) if len(causes) == len(slips) > 1 else set()
    if len(common) != 1 or all(len(each) == 1 for each in causes):
        return {}
    code = common.pop()
    found: dict[str, Verdict] = {}
    for label, cell in chosen.items():
        slip = next((each for each in cell.slips if each.name == code), None)
        if slip is None:
            return {}
        found[label] = replace(told[label], slip=code, text=cell.told_of(slip, givens, told[label].given))
    return found


def _turned_round(cells: Mapping[str, Question], told: Mapping[str, Verdict]) -> str:
    """Say that of two things to choose from each stands where the other is right; empty where that is not so."""
    said = ""
    for pair in dict.fromkeys(tuple(cell.options) for cell in cells.values() if isinstance(cell, Choice)):
        alike = [label for label, cell in cells.items() if isinstance(cell, Choice) and tuple(cell.options) == pair]
        wrong = all(told[label].outcome in (Outcome.SLIP, Outcome.WRONG) for label in alike)
        if len(pair) == 2 and len(alike) > 2 and wrong and len({told[label].given for label in alike}) == 2:
            said += f" All {len(alike)} are turned round: {pair[0]} where it is {pair[1]}, and {pair[1]} where it is {pair[0]}."
    return said


def _close_of_the_same_cause(
    cells: Mapping[str, Question], givens: Givens, filled: Mapping[str, Any], told: Mapping[str, Verdict]
) -> dict[str, Verdict]:
    """Say of a close answer that it comes from what all wrong lines come from; the marks stay.

    One wrong line is enough where the mistake is made in what both are worked out from.
    """
    numbers = {label: cell for label, cell in cells.items() if isinstance(cell, Number)}
    wrong = [label for label in numbers if told[label].outcome in (Outcome.SLIP, Outcome.WRONG)]
    codes = {told[label].slip for label in wrong}
    found: dict[str, Verdict] = {}
    if len(codes) != 1 or "" in codes or _several(told, {label: numbers[label] for label in wrong}):
        return found
    code = codes.pop()
    for label, cell in numbers.items():
        if told[label].outcome is not Outcome.CLOSE:
            continue
        went_in = cell.goes_in(code) and all(numbers[other].goes_in(code) for other in wrong)
        if not went_in and (len(wrong) < 2 or cell.unit != numbers[wrong[0]].unit):
            continue
        slip = next((s for s in cell.all_that_fit(givens, as_number(filled[label])).values() if s.code == code), None)
        if slip is not None:
            where = "the other lines" if len(wrong) > 1 else f"“{wrong[0]}”"
            text = f"Close. {cell.gave(told[label].given)}. As in {where}: {cell.fill(slip.says, givens)}"
            found[label] = replace(told[label], text=text)
    return found


def _of_one_cause(
    cells: Mapping[str, Number], givens: Givens, values: Mapping[str, float], told: Mapping[str, Verdict]
) -> dict[str, Verdict]:
    """Name the one mistake, or the one pair, that all wrong lines can come from; nothing where there is none."""
    if len(cells) < 2:
        return {}
    fitting = [cell.all_that_fit(givens, values[label]) for label, cell in cells.items()]
    if len({told[label].slip for label in cells}) == 1 and not _several(told, cells):
        code = told[next(iter(cells))].slip
        # What is named in every line stays, unless in one it only comes near and another fits them all.
        if not code or all(any(slip.code == code for slip in each.values()) for each in fitting):
            return {}
    names, words = _common([{name: slip.says for name, slip in each.items()} for each in fitting])
    if not names:
        near = {
            label: {slip.name: slip for slip in cell._alone(givens, values[label])} for label, cell in cells.items()
        }
        names, words = _common([{name: slip.says for name, slip in each.items()} for each in near.values()])
        if names and not any(
            cell._comes_to(near[label][names], givens, values[label]) for label, cell in cells.items()
        ):
            words = [f"{_MAY_BE}{each}" for each in words]
    if not names:
        names, words = _common([cell.two_that_give(givens, values[label]) for label, cell in cells.items()])
    return _told_so(cells, givens, told, names, words) if names else {}


def _of_one_ratio(
    cells: Mapping[str, Number], givens: Givens, values: Mapping[str, float], told: Mapping[str, Verdict]
) -> dict[str, Verdict]:
    """Say in every wrong line that it is the same part of the right value, where no one mistake is named in them all."""
    if len(cells) < 3 or any(cell.circle or cell.line for cell in cells.values()):
        return {}
    codes = {told[label].slip for label in cells}
    if len(codes) == 1 and "" not in codes:
        return {}
    for times, said in _RATIOS.items():
        if all(cell.is_times(times, givens, values[label]) for label, cell in cells.items()):
            return {
                label: replace(
                    told[label], outcome=Outcome.WRONG, share=0.0, slip="",
                    text=f"Not yet. {cell.gave(told[label].given)}. {_EVERY_LINE}: {said[0].lower()}{said[1:]} "
                    f"{cell.where_to_look(givens)}",
                )
                for label, cell in cells.items()
            }  # fmt: skip
    return {}


def _told_so(
    cells: Mapping[str, Number], givens: Givens, told: Mapping[str, Verdict], names: str, words: list[str]
) -> dict[str, Verdict]:
    return {
        label: replace(
            told[label], outcome=Outcome.SLIP, share=0.0, slip=names.partition("/")[0],
            text=f"Not yet. {cell.gave(told[label].given)}. {cell.fill(words[number], givens)}",
        )
        for number, (label, cell) in enumerate(cells.items())
    }  # fmt: skip


def _of_what_went_in(
    cells: Mapping[str, Number], givens: Givens, values: Mapping[str, float], told: Mapping[str, Verdict]
) -> dict[str, Verdict]:
    """Name in a line the mistake that another line shows, where both are worked out from what it was made in.

    So too in a line that may come from several: of these the one that another line shows for certain.
    """
    fitting = {label: cell.all_that_fit(givens, values[label]) for label, cell in cells.items()}
    sure = {label: told[label].slip for label in cells if not _several(told, {label: cells[label]})}
    found: dict[str, Verdict] = {}
    for label, cell in cells.items():
        for other, code in sure.items():
            slip = next((slip for slip in fitting[label].values() if slip.code == code), None)
            if other == label or slip is None:
                continue
            if label in sure and not (cell.goes_in(code) and cells[other].goes_in(code)):
                continue
            mine = sure.get(label, "")
            if mine == code or any(each.code == mine for each in fitting[other].values()):
                continue
            found.update(_told_so({label: cell}, givens, told, slip.name, [slip.says]))
    return found


def _several(told: Mapping[str, Verdict], labels: Mapping[str, Number]) -> bool:
    return any(said in told[label].text for label in labels for said in (_COME, _NEAR))


def _common(found: list[dict[str, str]]) -> tuple[str, list[str]]:
    """Give the name that all have, with the words of each; empty where there is none, or more than one."""
    common = set(found[0]).intersection(*found[1:]) if found else set()
    if len(common) != 1:
        return "", []
    name = common.pop()
    return name, [each[name] for each in found]


def _all_the_same(answers: list[Any]) -> bool:
    try:
        return len({as_number(answer) for answer in answers}) == 1
    except Unreadable:
        return False


def labelled(
    answer: object, labels: list[str], formerly: Mapping[str, str], gone: tuple[str, ...], one: str, many: str
) -> dict[str, Any]:
    """Read what stands under each label of a table or a plan; raises Unreadable with the one at fault.

    Parameters
    ----------
    answer : object
        A mapping of labels to answers, or the answers in a list.
    labels : list of str
        The labels, in order.
    formerly : mapping
        For a label of a copy handed out before, the label of today.
    gone : tuple of str
        Labels of such copies that are asked no more.
    one, many : str
        What a label stands for, for the sentence about one that is not known.

    Returns
    -------
    dict
        The answers by today's labels, in the order of the answer.
    """
    if isinstance(answer, dict):
        known = {old.casefold(): new for old, new in formerly.items()} | {label.casefold(): label for label in labels}
        old = {label.casefold() for label in gone}
        filled = {}
        for key, value in answer.items():
            name = str(key).strip().casefold()
            if name in known:
                filled[known[name]] = value
            elif name not in old:
                raise Unreadable(f"“{short(key)}” is not a {one}. The {many} are: {', '.join(labels)}.")
        return filled
    if isinstance(answer, np.ndarray):
        answer = answer.tolist()
    if isinstance(answer, (list, tuple)):
        if len(answer) != len(labels):
            more = len(answer) > len(labels)
            comma = f" {'A comma inside a number makes two of it' if more else 'Between any two stands a comma'}."
            listed = ", ".join(labels)
            listed = f": {listed}" if len(listed) <= _LISTED else ""
            raise Unreadable(f"{len(answer)} entries where {len(labels)} were asked for{listed}.{comma}")
        return dict(zip(labels, answer, strict=True))
    raise Unreadable(f"A table was asked for; keep the lines that stand there and fill them: {', '.join(labels)}.")
