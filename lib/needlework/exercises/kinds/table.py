"""Several numbers and choices of one question, and a mistake that goes through more than one of them."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from needlework.basis.errors import NeedleworkError
from needlework.exercises.answers import Unreadable, as_number, as_text, is_blank, short
from needlework.exercises.kinds.asked import Givens, Question
from needlework.exercises.kinds.number import COME, MAY_BE, NEAR, RATIOS, Number, another_given, copied_given
from needlework.exercises.kinds.picked import Choice
from needlework.exercises.verdicts import Outcome, Verdict

_EVERY_LINE = "In every line"
_LISTED = 160  # letters of a list that is read rather than skipped


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
            return again if MAY_BE in judged.text and MAY_BE not in again.text else judged
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
            copied = copied_given(self, givens, values[label])
            if not copied and _EVERY_LINE not in told[label].text:
                copied = another_given(self, cell, givens, values[label])
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
            words = [f"{MAY_BE}{each}" for each in words]
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
    for times, said in RATIOS.items():
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
    return any(said in told[label].text for label in labels for said in (COME, NEAR))


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
