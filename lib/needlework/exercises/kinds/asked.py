"""What every kind of question has: its texts, how it is drawn, the mistakes it knows."""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeAlias

from needlework.exercises import wording
from needlework.exercises.verdicts import Verdict

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
