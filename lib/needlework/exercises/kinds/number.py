"""A number: what passes, which mistakes come to it, and what is said of one that nothing explains."""

from __future__ import annotations

import functools
import itertools
import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

from needlework.basis.errors import NeedleworkError
from needlework.exercises import wording
from needlework.exercises.answers import Unreadable, as_number
from needlework.exercises.families import Applied, Member
from needlework.exercises.kinds.asked import Givens, Question, Slip
from needlework.exercises.recent import Recent
from needlework.exercises.verdicts import Outcome, Verdict
from needlework.trade import units

_Found = TypeVar("_Found")
_OTHER_WAY_DEG = 150.0  # from here on it hardly matters round which side
_OTHER_UNIT = 12.0  # no usual mistake with the right unit is that many times off
COME = " mistakes come to this. Either: "
MAY_BE = "It may be this, though it does not give quite this number: "
NEAR = "It may be one of these, though none gives quite this number. Either: "
_MOST_CAUSES = 3  # that many are still read; of more nobody can tell
_MOST_KEPT = 4  # draws whose sums are kept
_POINT_MOVED = "has the decimal point moved?"
DIGITS = "Have two of its digits changed places?"
RATIOS = {
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


def copied_given(asked: Question, givens: Givens, value: float) -> str:
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


def another_given(asked: Question, cell: Number, givens: Givens, value: float) -> str:
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
        if near and (found := another_given(self, self, givens, value)):
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
            many = f"{'Two' if len(said) == 2 else 'Three'}{COME}" if len(said) > 1 else ""
            if near:
                many = NEAR if many else MAY_BE
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
        if not exact and (copied_given(self, givens, value) or another_given(self, self, givens, value)):
            return "", ""
        said = f"{self.fill(near[0].says, givens)} It comes out below nought, and the minus was left out."
        return near[0].code, said if exact else f"{MAY_BE}{said}"

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
        if len(found) != 1 or another_given(asked, self, givens, value):
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
        seen = copied_given(self, givens, value) or another_given(self, self, givens, value)
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
        for times, said in RATIOS.items():
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
