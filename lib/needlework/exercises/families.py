"""Families of mistakes: what goes wrong again and again with one kind of quantity, alone and two at a time.

A member of a family changes what the right answer is worked out from, what comes out, or both. So two members can
be made together, and what an answer would have been with them is worked out by the very function that gives the
right one. A question names its family and adds mistakes of its own.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, TypeAlias

import numpy as np

from needlework.exercises.recent import Recent
from needlework.trade import angles, holding, units, wind

Values: TypeAlias = Mapping[str, Any]
"""Quantities by the names the family uses."""

Worked: TypeAlias = Callable[..., float]
"""Works the answer out again, with the quantities that are named changed."""

_MOST_KEPT = 12
"""For how many sets of numbers what was worked out is kept: as many as a table has lines."""
_QUANTITIES = ("quantities",)
"""Under which the quantities of the family stand among what is kept."""


@dataclass(frozen=True)
class Member:
    """One usual mistake with a kind of quantity.

    Parameters
    ----------
    code : str
        Name in lists and reports.
    says : str
        What to tell the learner, where the question has no sentence of its own.
    inputs : callable or None
        From the quantities, those that the mistake takes for others; None where it does not arise from them.
    result : callable or None
        From the outcome and the quantities, the outcome with the mistake.
    anew : callable or None
        The same from the outcome, what works it out again with other quantities, and the quantities.
    instead_of : str
        Members of the same name exclude each other: of two amounts of correction only one can be laid off.
    rare : bool
        True where it is named if the numbers tell it from what is right, and refuses no draw; it comes in no pair.
    like : str
        Code of the member in whose words it is told, where it is the same mistake worked out another way.
    never_passes : bool
        True for a rare one whose numbers are refused where it would pass.
    otherwise : callable or None
        From the right outcome and the quantities, what another way to make the same mistake comes to.
    """

    code: str
    says: str
    inputs: Callable[[Values], Values | None] | None = None
    result: Callable[[float, Values], float] | None = None
    anew: Callable[[float, Worked, Values], float] | None = None
    instead_of: str = ""
    rare: bool = False
    like: str = ""
    never_passes: bool = False
    otherwise: Callable[[float, Values], float] | None = None


@dataclass(frozen=True)
class Family:
    """The usual mistakes with a kind of quantity.

    Parameters
    ----------
    name : str
        As a question names it.
    members : tuple of Member
        The mistakes.
    takes : tuple of str
        Quantities the members speak of; a question may have them under other names, or not at all.
    compares : callable or None
        From a wrong answer, the right one and the quantities, what is right about it and what is not, as a clause;
        empty where there is nothing to tell apart.
    """

    name: str
    members: tuple[Member, ...]
    takes: tuple[str, ...]
    compares: Callable[[float, float, Values], str] | None = None


@dataclass(frozen=True)
class Applied:
    """A family as one question has it.

    Parameters
    ----------
    family : Family
        The family.
    answer : callable
        From the givens, the right answer; it reads the quantities under the question's own names.
    names : mapping
        For a quantity of the family, the question's name for it, or the number that it is.
    without : frozenset of str
        Codes that do not arise in this question.
    rare : frozenset of str
        Codes that come in no pair here.
    taught : tuple of callable
        From the givens, the right answer by the sums that the lesson teaches.
    """

    family: Family
    answer: Callable[[Mapping[str, Any]], float]
    names: Mapping[str, str | float] = field(default_factory=dict)
    without: frozenset[str] = frozenset()
    rare: frozenset[str] = frozenset()
    taught: tuple[Callable[[Mapping[str, Any]], float], ...] = ()
    _worked: Recent = field(default_factory=lambda: Recent(_MOST_KEPT), init=False, repr=False, compare=False)

    def _own(self, name: str) -> str | float:
        return self.names.get(name, name)

    def _changed(self, givens: Mapping[str, Any], values: Values) -> dict[str, Any]:
        """Give the numbers of the question with some quantities of the family changed."""
        own = {self._own(name): value for name, value in values.items()}
        return {**givens, **{name: value for name, value in own.items() if isinstance(name, str)}}

    def value(self, givens: Mapping[str, Any], made: tuple[Member, ...]) -> float | None:
        """Give the answer with some mistakes made; None where these numbers do not admit them.

        Parameters
        ----------
        givens : mapping
            The numbers of the question.
        made : tuple of Member
            The mistakes, made one after the other.

        Returns
        -------
        float or None
            The wrong answer.
        """
        known = self._worked.of(givens)
        all_made = ("made", *(member.code for member in made))
        if all_made not in known:
            known[all_made] = self._with(givens, made, known)
        found: float | None = known[all_made]
        return found

    def _with(
        self, givens: Mapping[str, Any], made: tuple[Member, ...], known: dict[tuple[str, ...], Any]
    ) -> float | None:
        if _QUANTITIES not in known:
            known[_QUANTITIES] = self._quantities(givens)
        values: Values = known[_QUANTITIES]
        changed = dict(givens)
        takers = tuple(member for member in made if member.inputs is not None)
        for member in takers:
            assert member.inputs is not None
            try:
                found = member.inputs(values)
            except KeyError:
                return None
            if found is None:
                return None
            values = {**values, **found}
            changed = self._changed(changed, found)

        def worked(**more: Any) -> float:
            return float(self.answer(self._changed(changed, more)))

        codes = tuple(member.code for member in takers)
        try:
            if codes not in known:
                known[codes] = worked()
            outcome: float = known[codes]
            for member in made:
                if member.anew is not None:
                    outcome = float(member.anew(outcome, worked, values))
                if member.result is not None:
                    outcome = float(member.result(outcome, values))
        except (KeyError, ArithmeticError, ValueError):
            return None
        return outcome if math.isfinite(outcome) else None

    def compared(self, givens: Mapping[str, Any], value: float, right: float) -> str:
        """Say what is right about an answer of unknown cause, and what is not; empty where that cannot be told.

        Parameters
        ----------
        givens : mapping
            The numbers of the question.
        value : float
            The answer.
        right : float
            The right one.

        Returns
        -------
        str
            A clause.
        """
        if self.family.compares is None:
            return ""
        try:
            return self.family.compares(value, right, self._quantities(givens))
        except KeyError:
            return ""

    def _quantities(self, givens: Mapping[str, Any]) -> Values:
        found = {}
        for name in self.family.takes:
            own = self._own(name)
            if isinstance(own, (int, float)):
                found[name] = own
            elif own in givens:
                found[name] = givens[own]
        return found

    @cached_property
    def as_taught(self) -> tuple[Applied, ...]:
        """The same family by each of the sums that the lesson teaches."""
        return tuple(replace(self, answer=each, taught=()) for each in self.taught)

    def by_each_way(self, givens: Mapping[str, Any], code: str) -> list[float]:
        """Give what else a mistake comes to: by the sums that the lesson teaches, and made in another way.

        Parameters
        ----------
        givens : mapping
            The numbers of the question.
        code : str
            Code of the member.

        Returns
        -------
        list of float
            Wrong answers; empty where the lesson teaches no other sum than the question's own.
        """
        member = next(member for member in self.family.members if member.code == code)
        found = [each.value(givens, (member,)) for each in self.as_taught]
        if member.otherwise is not None:
            values = self._quantities(givens)
            rights = [each.value(givens, ()) for each in (self, *self.as_taught)]
            found += [member.otherwise(right, values) for right in rights if right is not None]
        return [value for value in found if value is not None and math.isfinite(value)]

    def pairs(self, givens: Mapping[str, Any], rare: bool = False) -> Iterator[tuple[tuple[Member, Member], float]]:
        """Give every two members that can be made together, with their value; with ``rare`` those of rare ones only."""
        usual = self._members()
        members = tuple(m for m in self.family.members if m.code not in self.without) if rare else usual
        common = {member.code for member in usual}
        for pair in itertools.combinations(members, 2):
            if rare and all(member.code in common for member in pair):
                continue
            first, second = pair
            if first.instead_of and first.instead_of == second.instead_of:
                continue
            value = self.value(givens, pair)
            if value is not None:
                yield pair, value

    def _members(self) -> tuple[Member, ...]:
        left_out = self.without | self.rare
        return tuple(member for member in self.family.members if not (member.rare or member.code in left_out))


# ---------------------------------------------------------------- headings and courses in wind


_NO_MISTAKE = float("nan")
_TOLD_APART_DEG = 4.0
_LARGEST_CORRECTION_DEG = 60.0  # more than this off the course is another course


def _course(values: Values) -> float:
    return float(values["course_deg"])


def _side_and_size(given_deg: float, right_deg: float, what: str, other_side: str) -> str:
    """Tell side and size apart; empty where there is none, or it is more than wind or a turn asks for."""
    if abs(right_deg) < 1.0 or abs(given_deg) > _LARGEST_CORRECTION_DEG:
        return ""
    size = "too large" if abs(given_deg) > abs(right_deg) else "too small"
    if given_deg * right_deg < 0.0:
        much = f" and {size}" if abs(abs(given_deg) - abs(right_deg)) > 2.0 else ""
        return f"the {what} is on the wrong side{much}. {other_side}"
    return f"the {what} is on the right side, and {size}"


def _correction(heading_deg: float, values: Values) -> float:
    return float(angles.difference_deg(from_deg=_course(values), to_deg=heading_deg))


def _times(factor: float) -> Callable[[float, Values], float]:
    return lambda heading, values: float(angles.wrap360(_course(values) + factor * _correction(heading, values)))


def _wind_from(values: Values) -> float:
    if "wind_from_deg" in values:
        return float(values["wind_from_deg"])
    return float(values["wind_true_deg"]) + float(values["variation_deg"])


def _from_there(values: Values, wind_from_deg: float) -> Values:
    """Let the wind come from another direction, under whichever name the question has for it."""
    if "wind_from_deg" in values:
        return {"wind_from_deg": float(angles.wrap360(wind_from_deg))}
    return {"wind_true_deg": float(angles.wrap360(wind_from_deg - float(values["variation_deg"])))}


def _swapped(values: Values) -> Values:
    """Take the part along for the part across and the other way round; a sketch still tells both sides."""
    off = float(angles.difference_deg(from_deg=_course(values), to_deg=_wind_from(values)))
    swapped = (90.0 if abs(off) <= 90.0 else 270.0) - abs(off)
    return _from_there(values, _course(values) + (swapped if off > 0.0 else -swapped))


def _variation_on_magnetic(sign: float) -> Callable[[Values], Values | None]:
    """Add variation to a wind that is magnetic already, or take it off."""

    def inputs(values: Values) -> Values | None:
        if "wind_from_deg" not in values:
            return None
        return _from_there(values, _wind_from(values) + sign * float(values["variation_deg"]))

    return inputs


_ALREADY = "The wind is given in magnetic already, like the course: no variation is added to it or taken off."


def _knots_as_degrees(heading: float, values: Values) -> float:
    """Lay off as many degrees as knots blow across."""
    across = float(values["tas_kt"]) * np.sin(np.deg2rad(_correction(heading, values)))
    if abs(across - _correction(heading, values)) < _TOLD_APART_DEG:
        return _NO_MISTAKE
    return float(angles.wrap360(_course(values) + across))


def _all_knots_as_degrees(heading: float, values: Values) -> float:
    """Lay off as many degrees as the wind has knots."""
    side = 1.0 if _correction(heading, values) > 0.0 else -1.0
    return float(angles.wrap360(_course(values) + side * float(values["wind_kt"])))


def _ground_speed_for_airspeed(values: Values) -> Values | None:
    along, _ = wind.components_kt(
        direction_deg=_course(values), wind_from_deg=angles.wrap360(_wind_from(values)), wind_kt=values["wind_kt"]
    )
    speed = float(values["tas_kt"]) - float(np.asarray(along))
    return {"tas_kt": speed} if speed > 2.0 * float(values["wind_kt"]) else None


_ALL_ACROSS = "All of the wind was taken as blowing across. It does so only at 90° to the course; at a smaller angle less of it does."


def _square(values: Values, course_deg: float) -> Values:
    """Let all of the wind blow across a course, from its own side."""
    off = float(angles.difference_deg(from_deg=course_deg, to_deg=_wind_from(values)))
    return _from_there(values, course_deg + (90.0 if off > 0.0 else -90.0))


HEADING = Family(
    "heading in wind",
    (
        Member(
            "NOWIND",
            "That is the course itself: a heading equals its course only without wind. To which side do you drift?",
            result=lambda _heading, values: _course(values),
            instead_of="amount",
        ),
        Member(
            "WCASIGN",
            "Right size, wrong side: this doubles the drift. The nose goes to where the wind comes **from**.",
            result=_times(-1.0),
            instead_of="side",
        ),
        Member(
            "HALF",
            "Right side, and half of the correction: half of the drift stays.",
            result=_times(0.5),
            instead_of="amount",
        ),
        Member(
            "DOUBLE",
            "Right side, and twice the correction: you cross to the upwind side.",
            result=_times(2.0),
            instead_of="amount",
        ),
        Member(
            "TRIPLE",
            "Right side, and three times the correction: that belongs to the outbound leg of a hold.",
            result=_times(3.0),
            instead_of="amount",
        ),
        Member(
            "GSTAS",
            "The correction was divided by the ground speed. The wind moves the air you fly in: it is the airspeed "
            "that counts.",
            inputs=_ground_speed_for_airspeed,
        ),
        Member(
            "TRUEWIND",
            "The wind was taken as it stands, in true; course and heading are magnetic. West variation is added to "
            "true before the two are compared.",
            inputs=lambda v: {"wind_true_deg": float(v["wind_true_deg"]) - float(v["variation_deg"])},
            instead_of="variation",
        ),
        Member(
            "VARSUB",
            "West variation was subtracted from the wind. From true to magnetic it is added.",
            inputs=lambda v: {"wind_true_deg": float(v["wind_true_deg"]) - 2.0 * float(v["variation_deg"])},
            instead_of="variation",
        ),
        Member(
            "MAGADD", _ALREADY + " Here it was added.", inputs=_variation_on_magnetic(1.0), instead_of="variation"
        ),
        Member(
            "MAGSUB",
            _ALREADY + " Here it was taken off.",
            inputs=_variation_on_magnetic(-1.0),
            instead_of="variation",
        ),
        Member(
            "VARSGN",
            "That is the true heading; the compass shows magnetic.",
            result=lambda heading, v: float(angles.wrap360(heading - float(v["variation_deg"]))),
            instead_of="reference",
        ),
        Member(
            "VARADD",
            "Variation was added to the result. It belongs to the wind: the course was magnetic from the start.",
            result=lambda heading, v: float(angles.wrap360(heading + float(v["variation_deg"]))),
            instead_of="reference",
        ),
        Member(
            "SWAP",
            "The part of the wind **along** the course was taken for the part across it. At 90° to the course all of "
            "the wind blows across.",
            inputs=_swapped,
            instead_of="amount",
        ),
        Member(
            "RECIP",
            "That leads the other way: about 180 degrees off. Which way along the line do you mean to fly?",
            result=lambda heading, _values: float(angles.wrap360(heading + 180.0)),
        ),
        Member("ALLACROSS", _ALL_ACROSS, inputs=lambda v: _square(v, _course(v)), rare=True),
        Member(
            "KNOTS",
            "The knots of the crosswind were taken for degrees. Degrees are 60 x crosswind / true airspeed.",
            result=_knots_as_degrees,
            rare=True,
        ),
        Member(
            "ALLKNOTS",
            "The knots of the wind were taken for degrees. First its part across, then 60 x that / true airspeed.",
            result=_all_knots_as_degrees,
            rare=True,
        ),
        Member(
            "WINDFROM",
            "That is where the wind comes from. The heading is the course, and a correction towards there.",
            result=lambda _heading, values: float(angles.wrap360(_wind_from(values))),
            rare=True,
        ),
        Member(
            "WINDTRUE",
            "That is where the wind comes from, in true. The heading is the course, and a correction towards there.",
            result=lambda _heading, values: float(values["wind_true_deg"]),
            rare=True,
        ),
        Member(
            "CORRECTION",
            "Those are the degrees of the correction. What is asked for is the heading: the course, and the correction into the wind.",
            result=lambda heading, values: abs(_correction(heading, values)),
            rare=True,
            never_passes=True,
        ),
    ),
    ("course_deg", "tas_kt", "wind_true_deg", "wind_from_deg", "wind_kt", "variation_deg"),
    lambda value, right, values: _side_and_size(
        _correction(value, values),
        _correction(right, values),
        "correction",
        "The nose goes to where the wind is from",
    ),
)


def _head_for_tail(gs_kt: float, values: Values) -> float:
    return 2.0 * float(values["tas_kt"]) - gs_kt


def _blowing_back(values: Values) -> Values:
    """Turn the part of the wind along the course round, and leave the part across it."""
    off = float(angles.difference_deg(from_deg=_course(values), to_deg=_wind_from(values)))
    return _from_there(values, _course(values) + 180.0 - off)


def _whole_airspeed(_gs_kt: float, values: Values) -> float:
    along, _ = wind.components_kt(
        direction_deg=_course(values), wind_from_deg=angles.wrap360(_wind_from(values)), wind_kt=values["wind_kt"]
    )
    return float(values["tas_kt"]) - float(np.asarray(along))


GROUND_SPEED = Family(
    "ground speed in wind",
    (
        Member(
            "IASGS",
            "That is the airspeed. What does the wind along the way do to it?",
            result=lambda _gs, values: float(values["tas_kt"]),
            instead_of="along",
        ),
        Member(
            "HDTL",
            "Headwind and tailwind have changed places. Does this wind help you along, or hold you back?",
            result=_head_for_tail,
            instead_of="along",
        ),
        Member(
            "BLOWNBACK", "Headwind and tailwind have changed places.", inputs=_blowing_back, rare=True, like="HDTL"
        ),
        Member(
            "NOSE",
            "The part along the course is right. But the nose is turned into the wind: less than the whole airspeed goes "
            "along the course.",
            result=_whole_airspeed,
            rare=True,
        ),
        Member(
            "ALLWIND",
            "All of the wind was taken along the way. How much of it blows from ahead or behind?",
            inputs=lambda v: _from_there(v, _course(v)) if _ahead(v) > 0 else _from_there(v, _course(v) + 180.0),
            rare=True,
        ),
        Member(
            "ALLWINDBACK",
            "Two things: all of the wind was taken along the way, and headwind and tailwind have changed places.",
            inputs=lambda v: _from_there(v, _course(v)) if _ahead(v) < 0 else _from_there(v, _course(v) + 180.0),
            rare=True,
        ),
        Member(
            "SWAP",
            "The part of the wind **across** the course was taken for the part along it.",
            inputs=_swapped,
            rare=True,
        ),
        Member(
            "ALONG",
            "That is the part of the wind along the way. Against you it is taken off the airspeed, from behind it is added.",
            result=lambda gs, values: abs(float(values["tas_kt"]) - gs),
            rare=True,
        ),
        Member(
            "TRUEWIND",
            "The wind was taken as it stands, in true; the course is magnetic.",
            inputs=lambda v: {"wind_true_deg": float(v["wind_true_deg"]) - float(v["variation_deg"])},
            instead_of="variation",
        ),
        Member(
            "VARSUB",
            "West variation was subtracted from the wind. From true to magnetic it is added.",
            inputs=lambda v: {"wind_true_deg": float(v["wind_true_deg"]) - 2.0 * float(v["variation_deg"])},
            instead_of="variation",
        ),
        Member(
            "MAGADD", _ALREADY + " Here it was added.", inputs=_variation_on_magnetic(1.0), instead_of="variation"
        ),
        Member(
            "MAGSUB",
            _ALREADY + " Here it was taken off.",
            inputs=_variation_on_magnetic(-1.0),
            instead_of="variation",
        ),
    ),
    HEADING.takes,
)


def _ahead(values: Values) -> float:
    off = np.deg2rad(float(angles.difference_deg(from_deg=_course(values), to_deg=_wind_from(values))))
    return float(np.cos(off))


# ---------------------------------------------------------------- a leg of an arc, and of a hold


def _still(worked: Worked) -> float:
    """What the answer is without wind."""
    return worked(wind_kt=0.0)


def _laid_off(times: float) -> Callable[[float, Worked, Values], float]:
    """So many times the correction, from the heading of still air."""

    def anew(heading: float, worked: Worked, _values: Values) -> float:
        still = _still(worked)
        return float(angles.wrap360(still + times * float(angles.difference_deg(from_deg=still, to_deg=heading))))

    return anew


def _turned(steps_deg: float) -> Callable[[Values], Values]:
    """Take the leg's course so far on, the way the arc goes."""

    def inputs(values: Values) -> Values:
        sign = 1.0 if values["turn"] == "right" else -1.0
        return {"course_deg": float(angles.wrap360(_course(values) + sign * steps_deg))}

    return inputs


def _turned_only(steps_deg: float) -> Callable[[float, Values], float]:
    """Keep the correction, and turn the heading so far on, the way the arc goes."""

    def result(heading: float, values: Values) -> float:
        return float(angles.wrap360(heading + (steps_deg if values["turn"] == "right" else -steps_deg)))

    return result


def _as_on_the_first(_heading: float, worked: Worked, values: Values) -> float:
    """Keep the correction of the first leg."""
    first = float(values["first_course_deg"])
    if first == _course(values):
        return _NO_MISTAKE
    kept = float(angles.difference_deg(from_deg=first, to_deg=worked(course_deg=first)))
    return float(angles.wrap360(_course(values) + kept))


def _parts_swapped(_heading: float, worked: Worked, values: Values) -> float:
    swapped = _swapped({**values, "course_deg": _still(worked)})
    return worked(**swapped)


_OF_VARIATION = ("TRUEWIND", "VARSUB", "MAGADD", "MAGSUB")


def _with_the_wind_in_true() -> tuple[Member, ...]:
    return tuple(member for member in HEADING.members if member.code in _OF_VARIATION)


_LITTLE_ON_SOME_LEGS = ("GSTAS", "SWAP", "MAGADD", "MAGSUB")
"""What comes to the right heading, or to a nose not inside, where the wind is along the leg or square to it."""

ARC_LEG = Family(
    "leg of an arc",
    (
        Member("ONECORR", "The correction of the first leg was kept. The arc has turned since then, the wind has not.",
               anew=_as_on_the_first, instead_of="amount"),
        Member("TANGENT", "Square to the radial on which the leg begins: it runs outside. Take the middle of the step.",
               inputs=_turned(-5.0), instead_of="amount", otherwise=_turned_only(-5.0)),
        Member("TENIN", "Square to the radial on which the leg ends: it runs inside. Take the middle of the step.",
               inputs=_turned(5.0), instead_of="amount", otherwise=_turned_only(5.0)),
        Member("NOTURN", "That is the leg before: at every step the heading turns as far as the radial.",
               inputs=_turned(-10.0), instead_of="amount", otherwise=_turned_only(-10.0)),
        Member("NEXTLEG", "That is the leg after: the heading has turned one step too far.",
               inputs=_turned(10.0), otherwise=_turned_only(10.0), rare=True),
        Member("LR", "That leads the other way round the arc.", inputs=_turned(170.0), instead_of="amount",
               otherwise=lambda _heading, v: float(_turned(170.0)(v)["course_deg"])),
        *(
            replace(member, rare=member.rare or member.code in _LITTLE_ON_SOME_LEGS)
            for member in HEADING.members
            if member.code != "RECIP"
        ),
    ),
    ("turn", "first_course_deg", *HEADING.takes),
)  # fmt: skip


def _times_of(values: Values) -> float:
    return float(holding.drift_factor(values["leg_min"]))


def _degrees_laid_off(heading: float, worked: Worked, degrees: float) -> float:
    still = _still(worked)
    off = float(angles.difference_deg(from_deg=still, to_deg=heading))
    return float(angles.wrap360(still + np.copysign(degrees, off)))


def _times_of_a_leg(times: float) -> Callable[[float, Worked, Values], float]:
    """So many times the correction inbound, in place of 1 + 2/T; no mistake where that is about as much."""

    def anew(heading: float, worked: Worked, values: Values) -> float:
        right = _times_of(values)
        return _NO_MISTAKE if abs(times - right) < 0.1 else _laid_off(times / right)(heading, worked, values)

    return anew


HOLD_OUTBOUND = Family(
    "outbound in a hold",
    (
        Member("SWAP", "The part of the wind **along** the course was taken for the part across it.",
               anew=_parts_swapped),
        Member("NOWIND", "The outbound course without the wind: leg and turns all drift the same way.",
               anew=_laid_off(0.0), instead_of="amount"),
        Member("WCASIGN", "Right size, wrong side. You have turned round: what was right of the nose is left of it now.",
               anew=_laid_off(-1.0), instead_of="amount"),
        Member("SINGLE", "Once pays for the leg alone: the two turns drift as well.",
               anew=_times_of_a_leg(1.0), instead_of="amount"),
        Member("TWICE", "Twice fits a leg of two minutes. How long is this one?",
               anew=_times_of_a_leg(2.0), instead_of="amount"),
        Member("TRIPLE", "Three times fits a leg of one minute. How long is this one?",
               anew=_times_of_a_leg(3.0), instead_of="amount"),
        Member("INBOUND", "That leads back to the fix. Outbound is the other end of the inbound course.",
               result=lambda heading, _values: float(angles.wrap360(heading + 180.0))),
        *_with_the_wind_in_true(),
        Member("BACKHDG", "That is the other end of the heading inbound: the correction once, and on the side it had. You "
               "have turned round: it goes to the other side, and more of it.",
               anew=lambda heading, worked, v: _laid_off(-1.0 / _times_of(v))(heading, worked, v), rare=True),
        Member("LONGLEG", "1.8 times fits legs of 4 NM, of two and a half minutes. How long is this one?",
               anew=_times_of_a_leg(1.8), rare=True),
        Member("MOST", "30 degrees is the most that is laid off. Here less is enough.",
               anew=lambda heading, worked, _v: _degrees_laid_off(heading, worked, 30.0), rare=True),
        Member("ALLACROSS", _ALL_ACROSS, anew=lambda _heading, worked, v: worked(**_square(v, _still(worked))), rare=True),
    ),
    ("leg_min", "tas_kt", "wind_true_deg", "wind_from_deg", "wind_kt", "variation_deg"),
)  # fmt: skip


# ---------------------------------------------------------------- leads


LEAD = Family(
    "lead",
    (
        Member("NOLEAD", "No lead: the turn takes room, and it ends beyond the line.",
               result=lambda _lead, _v: 0.0, instead_of="amount"),
        Member("HALF", "Half the lead: the turn is begun too late, and ends beyond the line.",
               result=lambda lead, _v: 0.5 * lead, instead_of="amount"),
        Member("DOUBLE", "Twice the lead: the turn ends short of the line.",
               result=lambda lead, _v: 2.0 * lead, instead_of="amount"),
        Member("SIXDEG", "Six degrees a mile holds at ten miles only. How many degrees is a mile here?",
               result=lambda lead, v: lead * float(v["dist_nm"]) / 10.0),
        Member("UPSIDE", "Upside down: farther out the same lead is **fewer** degrees.",
               result=lambda lead, _v: 3600.0 / lead if lead else 0.0),
        Member("MILES", "Those are the miles of the lead. What is asked for is degrees.",
               result=lambda lead, v: lead * float(v["dist_nm"]) / 60.0, instead_of="amount"),
    ),
    ("dist_nm", "gs_kt"),
)  # fmt: skip

LEAD_RADIAL = Family(
    "lead radial",
    (
        Member("NOLEAD", "That is the final itself: no lead, and the turn ends beyond it.",
               result=lambda _radial, v: float(v["final_deg"]), instead_of="amount"),
        Member("LEADSGN", "The lead lies on the wrong side: you cross this radial after the final.",
               result=lambda radial, v: float(angles.wrap360(2.0 * float(v["final_deg"]) - radial)),
               instead_of="side"),
        Member("HALF", "Half the lead: the turn is begun too late, and ends beyond the line.",
               result=lambda radial, v: _share_of_lead(radial, v, 0.5), instead_of="amount"),
        Member("DOUBLE", "Twice the lead: the turn ends short of the line.",
               result=lambda radial, v: _share_of_lead(radial, v, 2.0), instead_of="amount"),
        Member("SIXDEG", "Six degrees a mile holds at ten miles only. How many degrees is a mile here?",
               result=lambda radial, v: _share_of_lead(radial, v, float(v["arc_nm"]) / 10.0)),
        Member("COURSE", "That is counted from the course. A radial is asked: the other end of the line.",
               result=lambda radial, _v: float(angles.wrap360(radial + 180.0))),
    ),
    ("final_deg", "arc_nm"),
)  # fmt: skip


def _share_of_lead(radial_deg: float, values: Values, share: float) -> float:
    final = float(values["final_deg"])
    return float(angles.wrap360(final + share * float(angles.difference_deg(from_deg=final, to_deg=radial_deg))))


# ---------------------------------------------------------------- going down, and up


def _through_air(values: Values) -> Values:
    return {"gs_kt": float(values["tas_kt"])}


RATE = Family(
    "rate of descent",
    (
        Member("PERMIN", "Those are feet per **mile**. What is asked for is feet per minute: how many miles go by in one?",
               result=lambda _rate, v: float(v["gradient_ft_nm"]), instead_of="method"),
        Member("INV", "The ground speed is upside down: the faster over the ground, the greater the rate.",
               result=lambda _rate, v: float(v["gradient_ft_nm"]) * 60.0 / float(v["gs_kt"]), instead_of="method"),
        Member("IASGS", "That is the rate for the airspeed. The miles are on the ground.", inputs=_through_air),
        Member("RULE300", "300 feet a mile was used instead of the gradient asked for.",
               inputs=lambda _v: {"gradient_ft_nm": 300.0}),
        Member("FIVE", "Five times the ground speed is the rule for three degrees. Which gradient is asked for?",
               result=lambda _rate, v: 5.0 * float(v["gs_kt"]), instead_of="method"),
        Member("SIXTY", "Feet a mile times knots: knots are miles an **hour**. How many miles go by in a minute?",
               result=lambda _rate, v: float(v["gradient_ft_nm"]) * float(v["gs_kt"]), rare=True),
        Member("OPTIMUM", "318 feet a mile was used, three degrees, instead of the gradient asked for.",
               inputs=lambda _v: {"gradient_ft_nm": 318.0}, rare=True),
        Member("SPEED", "That is the ground speed. What is asked for is feet per minute: how many feet for each mile of it?",
               result=lambda _rate, v: float(v["gs_kt"]), rare=True),
        Member("HDTL", "Headwind and tailwind have changed places.",
               inputs=lambda v: {"gs_kt": 2.0 * float(v["tas_kt"]) - float(v["gs_kt"])}, rare=True),
    ),
    ("gradient_ft_nm", "gs_kt", "tas_kt"),
)  # fmt: skip

TIME = Family(
    "time to fly",
    (
        Member("MINUTES", "Those are minutes. What is asked for is seconds.",
               result=lambda seconds, _v: seconds / 60.0, instead_of="unit"),
        Member("HOURS", "Those are hours: a knot is a mile an hour.",
               result=lambda seconds, _v: seconds / 3600.0, instead_of="unit"),
        Member("TYPED", "Minutes and seconds stand one behind the other. What is asked for is seconds: 2:43 is 163.",
               result=lambda seconds, _v: float(int(seconds // 60) * 100 + round(seconds % 60)), instead_of="unit"),
        Member("INV", "Speed over distance is upside down: faster must be shorter.",
               result=lambda seconds, _v: 3600.0 * 3600.0 / seconds if seconds else 0.0, instead_of="unit"),
        Member("IASGS", "That is the time at the airspeed. The miles are on the ground.", inputs=_through_air),
        Member("TYPEDPOINT", "Minutes and seconds were typed with a point between. What is asked for is seconds: 2:43 is 163.",
               result=lambda seconds, _v: int(seconds // 60) + round(seconds % 60) / 100.0, rare=True),
        Member("MILES", "Those are the miles. What is asked for is the seconds they take.",
               result=lambda seconds, v: seconds * float(v["gs_kt"]) / 3600.0, rare=True),
        Member("HUNDREDTHS", "Those are hundredths of a minute. What is asked for is seconds: half a minute is 30 of them.",
               result=lambda seconds, _v: seconds / 0.6, rare=True),
        Member("SPEED", "That is the ground speed. What is asked for is the seconds that the miles take at it.",
               result=lambda _seconds, v: float(v["gs_kt"]), rare=True),
        Member("HDTL", "Headwind and tailwind have changed places.",
               inputs=lambda v: {"gs_kt": 2.0 * float(v["tas_kt"]) - float(v["gs_kt"])}, rare=True),
    ),
    ("gs_kt", "tas_kt", "dist_nm"),
)  # fmt: skip

HEIGHT = Family(
    "height",
    (
        Member("MSLH", "The altitude was used. What is asked for is the height above the ground the figure stands on.",
               inputs=lambda _v: {"elevation_ft": 0.0}),
        Member("NOCROSS", "The height over the threshold is missing: the line ends at 50 ft, not on the runway.",
               inputs=lambda _v: {"crossing_ft": 0.0}),
        Member("RULE300", "300 feet a mile was used instead of the gradient of this line.",
               inputs=lambda _v: {"gradient_ft_nm": 300.0}),
        Member("NOGROUND", "Neither the ground under the threshold nor the height over it was taken off: the line ends "
               "above both.",
               inputs=lambda _v: {"elevation_ft": 0.0, "crossing_ft": 0.0}, rare=True),
        Member("OPTIMUM", "318 feet a mile was used, three degrees, instead of the gradient asked for.",
               inputs=lambda _v: {"gradient_ft_nm": 318.0}, rare=True),
        Member("STEEPEST", "450 feet a mile was used, the steepest normal descent, instead of the gradient asked for.",
               inputs=lambda _v: {"gradient_ft_nm": 450.0}, rare=True),
        Member("USUALMOST", "400 feet a mile was used, the usual limit of a final, instead of the gradient asked for.",
               inputs=lambda _v: {"gradient_ft_nm": 400.0}, rare=True),
    ),
    ("elevation_ft", "crossing_ft", "gradient_ft_nm"),
)  # fmt: skip

MINIMUM = Family(
    "minimum of the day",
    (
        Member("ONLYCOLD", "The note is not in. Published, note, cold: all added, one after the other.",
               result=lambda alt, v: alt - float(v["note_ft"]), instead_of="note"),
        Member("SETSGN", "The note was subtracted: twice its feet too low. A note of this kind only ever adds.",
               result=lambda alt, v: alt - 2.0 * float(v["note_ft"]), instead_of="note"),
        Member("NOTE2", "The note's feet were added twice. Add them once, to the MDA.",
               result=lambda alt, v: alt + float(v["note_ft"]), instead_of="note"),
        Member("ONLYNOTE", "The cold is not in. Published, note, cold: all added, one after the other.",
               anew=lambda alt, worked, v: alt - _cold(worked, v), instead_of="cold"),
        Member("COLDSGN", "The cold correction was subtracted. The altimeter reads high already: this doubles the error.",
               anew=lambda alt, worked, v: alt - 2.0 * _cold(worked, v), instead_of="cold"),
        Member("COLD2", "The cold correction is in twice.",
               anew=lambda alt, worked, v: alt + _cold(worked, v), instead_of="cold"),
    ),
    ("note_ft", "cold_ft", "temperature_c"),
)  # fmt: skip


def _cold(worked: Worked, values: Values) -> float:
    """The cold correction that is in an altitude. [ft]"""
    return float(values["cold_ft"]) if "cold_ft" in values else worked() - worked(temperature_c=15.0)


COLD = Family(
    "cold correction",
    (
        Member("MSLH", "You took the altitude. The cold column of air stands on the field: use the height above it.",
               inputs=lambda _v: {"elevation_ft": 0.0}),
        Member("WARMROW", "That is the row of a warmer day.",
               inputs=lambda v: {"temperature_c": float(v["temperature_c"]) + 10.0}, instead_of="row"),
        Member("COLDROW", "That is the row of a colder day.",
               inputs=lambda v: {"temperature_c": float(v["temperature_c"]) - 10.0}, instead_of="row"),
        Member("BEFORENOTE", "The note raises the MDA first; its height above the field is then greater.",
               inputs=lambda v: {"note_ft": 0.0} if v["note_ft"] else None),
        Member("SIGN", "The sign: a cold correction is added, so write it without a minus.",
               result=lambda feet, _v: -feet),
    ),
    ("elevation_ft", "temperature_c", "note_ft"),
)  # fmt: skip

POINT = Family(
    "point on the way down",
    (
        *HEIGHT.members,
        Member("MAPVDP", "That is counted from the missed approach point. The line ends at the threshold.",
               inputs=lambda v: {"threshold_nm": float(v["map_nm"])}, instead_of="end"),
        Member("DMESGN", "Counted to the far side of the threshold. Does the DME rise or fall on this final?",
               result=lambda dme, v: 2.0 * float(v["threshold_nm"]) - dme),
        Member("THR", "Those are miles from the threshold. What does the DME read there?",
               result=lambda dme, v: abs(float(v["threshold_nm"]) - dme)),
    ),
    (*HEIGHT.takes, "threshold_nm", "map_nm"),
)  # fmt: skip

CONE = Family(
    "time in the cone",
    (
        Member("MSLH", "The altitude was used. The cone stands on the station: take the height above it.",
               inputs=lambda _v: {"elevation_ft": 0}, rare=True, instead_of="height"),
        Member("ELEVADDED", "The station's elevation was added. The height **above** it is what is left when it is taken away.",
               inputs=lambda v: {"elevation_ft": -v["elevation_ft"]}, rare=True, instead_of="height"),
        Member("IASGS", "The airspeed was used. The miles are on the ground.",
               inputs=lambda _v: {"headwind_kt": 0}, rare=True, instead_of="wind"),
        Member("HDTL", "The wind was added. A headwind takes speed away over the ground.",
               inputs=lambda v: {"headwind_kt": -v["headwind_kt"]}, rare=True, instead_of="wind"),
        Member("TAN", "That is tan 45°. The half angle here is another one, and so is its tan.",
               inputs=lambda v: None if v["half_angle_deg"] == 45 else {"half_angle_deg": 45}, rare=True),
        Member("DIAM", "Only the way to the middle was taken; you also have to come out on the other side.",
               result=lambda seconds, _v: 0.5 * seconds, rare=True, instead_of="width"),
        Member("TWICE", "Twice the width: the diameter is two radii, no more.",
               result=lambda seconds, _v: 2.0 * seconds, rare=True, instead_of="width"),
        Member("UNIT", "Those are minutes; asked are seconds.", result=lambda seconds, _v: seconds / 60.0, rare=True),
    ),
    ("elevation_ft", "headwind_kt", "half_angle_deg"),
)  # fmt: skip

SLOWING = Family(
    "slowing down",
    (
        Member("FAST", "Your present speed was taken for all of the slowing: the mean of both counts.",
               inputs=lambda v: {"mean_kt": v["fast_kt"]}, rare=True, instead_of="speed"),
        Member("SLOW", "The last speed was taken for all of the slowing: the mean of both counts.",
               inputs=lambda v: {"mean_kt": v["slow_kt"]}, rare=True, instead_of="speed"),
        Member("LEVEL", "A knot a second is lost in level flight. Here it is less.",
               inputs=lambda v: None if v["loss_kt_s"] == 1 else {"loss_kt_s": 1.0}, rare=True, instead_of="loss"),
        Member("MULTIPLIED", "The knots to lose were multiplied by the knots a second. Divide.",
               inputs=lambda v: None if v["loss_kt_s"] == 1 else {"loss_kt_s": 1.0 / v["loss_kt_s"]},
               rare=True, instead_of="loss"),
        Member("ATFIX", "The miles that come after the slowing are missing: you are slow where they begin.",
               inputs=lambda _v: {"ready_nm": 0.0}, rare=True, instead_of="after"),
        Member("MINUS", "The miles that come after the slowing were taken off. They are added.",
               inputs=lambda v: {"ready_nm": -v["ready_nm"]}, rare=True, instead_of="after"),
    ),
    ("fast_kt", "slow_kt", "loss_kt_s", "ready_nm"),
)  # fmt: skip

DISTANCE = Family(
    "distance",
    (
        Member("FEET", "Those are feet. What is asked for is nautical miles, of 6,076 ft each.",
               result=lambda dist, _v: dist * float(units.NM_FT)),
        Member("KM", "Those are kilometres. What is asked for is nautical miles.",
               result=lambda dist, _v: dist * float(units.NM_M) / 1000.0),
    ),
    (),
)  # fmt: skip

FAMILIES: dict[str, Family] = {
    family.name: family
    for family in (
        HEADING, GROUND_SPEED, ARC_LEG, HOLD_OUTBOUND, LEAD, LEAD_RADIAL,
        RATE, TIME, HEIGHT, POINT, MINIMUM, COLD, CONE, SLOWING, DISTANCE,
    )
}  # fmt: skip
"""Families by the name that a question gives."""


def common_cause(applied: Applied, answers: Sequence[tuple[float, Mapping[str, Any]]]) -> str:
    """Find the one mistake that all of some directions can come from.

    Parameters
    ----------
    applied : Applied
        The family as the question has it.
    answers : sequence of pairs
        Each a direction that was given and the numbers it was to be worked out from. [deg]

    Returns
    -------
    str
        Code of the member; empty where there is none, or more than one.
    """
    # Several from one cause may each be a degree off, as worked out by hand; one alone only by what rounding leaves open.
    for within in (0.5, 1.0) if len(answers) > 1 else (0.5,):
        if common := _common_causes(applied, answers, within):
            return common.pop() if len(common) == 1 else ""
    return ""


def _common_causes(applied: Applied, answers: Sequence[tuple[float, Mapping[str, Any]]], within: float) -> set[str]:
    """Find the mistakes that each of some directions can come from, so near. [deg]"""
    found = []
    for given, numbers in answers:
        codes = set()
        for member in applied.family.members:
            if member.code in applied.without:
                continue
            ways = [applied.value(numbers, (member,)), *applied.by_each_way(numbers, member.code)]
            off = [abs(180.0 - (180.0 - (given - way)) % 360.0) for way in ways if way is not None]
            if off and min(off) <= within + 1e-9:
                codes.add(member.code)
        found.append(codes)
    return set.intersection(*found) if found else set()
