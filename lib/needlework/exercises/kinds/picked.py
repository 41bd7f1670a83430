"""A choice, an order of steps, and a text that a person reads."""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from needlework.exercises.answers import Unreadable, as_text, short
from needlework.exercises.kinds.asked import Givens, Question, Slip
from needlework.exercises.verdicts import Outcome, Verdict

_MOST_STEPS = 2  # that many reasons are still read, one after the other


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
