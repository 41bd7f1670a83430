"""Rules for the kneeboard: a formula a pilot writes, tried on numbers not seen before."""

from __future__ import annotations

import ast
import math
import random
import re
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from needlework.exercises import wording
from needlework.exercises.answers import Unreadable, short
from needlework.exercises.kinds import Givens, Question, Slip
from needlework.exercises.verdicts import Outcome, Verdict

_FUNCTIONS: dict[str, Callable[[float], float]] = {
    "sqrt": math.sqrt,
    "sin": lambda angle_deg: math.sin(math.radians(angle_deg)),
    "cos": lambda angle_deg: math.cos(math.radians(angle_deg)),
    "tan": lambda angle_deg: math.tan(math.radians(angle_deg)),
    "atan": lambda ratio: math.degrees(math.atan(ratio)),
    "asin": lambda ratio: math.degrees(math.asin(ratio)),
}


def read_rule(text: str, names: Sequence[str]) -> Callable[[Mapping[str, float]], float]:
    """Turn a rule a pilot writes on a kneeboard into a function; only arithmetic is understood.

    Parameters
    ----------
    text : str
        For example ``"1200 * h / gs"``. Numbers, the names given, ``+ - * / ( )``, ``**`` or ``^`` for powers,
        and sqrt, sin, cos, tan, asin, atan with angles in degrees. ``x`` or ``×`` between spaces is not read.
    names : sequence of str
        The quantities the rule may use.

    Returns
    -------
    callable
        From a mapping of the names to numbers, the rule's value.

    Raises
    ------
    Unreadable
        If it is no such rule; the text names the part that was not understood.
    """
    allowed = f"Use the names {', '.join(names)}, numbers, + - * / and brackets, with * between a number and a name."
    text = unicodedata.normalize("NFKC", text)
    if len(text) > 300:
        raise Unreadable(f"This rule is too long for a kneeboard. {allowed}")
    cleaned = re.sub(r"(?<=\d) x (?=[\w(])|(?<=[\w)]) x (?=[\d(])", " * ", text.lower())
    cleaned = re.sub(r"(?<=\d),(?=\d{3}(?!\d))", "", cleaned)
    cleaned = cleaned.replace("^", "**").replace("×", "*").replace("÷", "/").replace("−", "-").replace("·", "*")
    if why := _unread(cleaned, [name.lower() for name in names]):
        raise Unreadable(f"{why} {allowed}")
    try:
        tree = ast.parse(cleaned.strip(), mode="eval").body
    except (SyntaxError, ValueError, MemoryError, RecursionError):
        raise Unreadable(f"'{short(text)}' cannot be read as arithmetic. {allowed}") from None

    known = {name.lower(): name for name in names}

    def value(node: ast.expr, given: Mapping[str, float]) -> float:
        match node:
            case ast.Constant(value=bool()):
                pass
            case ast.Constant(value=int() | float() as number):
                return float(number)
            case ast.Name(id=name) if name in known:
                return float(given[known[name]])
            case ast.UnaryOp(op=ast.USub(), operand=inner):
                return -value(inner, given)
            case ast.BinOp(left=left, op=op, right=right):
                a, b = value(left, given), value(right, given)
                match op:
                    case ast.Add():
                        return a + b
                    case ast.Sub():
                        return a - b
                    case ast.Mult():
                        return a * b
                    case ast.Div():
                        return a / b
                    case ast.Pow() if abs(b) <= 10:
                        return float(a**b)
            case ast.Call(func=ast.Name(id=name), args=[inner], keywords=[]) if name in _FUNCTIONS:
                return _FUNCTIONS[name](value(inner, given))
        raise Unreadable(f"'{short(ast.unparse(node))}' is not understood here. {allowed}")

    def rule(given: Mapping[str, float]) -> float:
        try:
            return float(value(tree, given))
        except Unreadable:
            raise
        except (ArithmeticError, ValueError, TypeError):
            shown = ", ".join(f"{name} = {wording.number(given[name])}" for name in names)
            raise Unreadable(f"With {shown} this rule gives no number. Is something divided by zero there?") from None

    rule(dict.fromkeys(names, 1.0))
    return rule


_OPERATORS = {"//": "/", "%": "/ 100 *"}


def _unread(rule: str, names: Sequence[str]) -> str:
    """Say what in a rule is written as on paper and not as a formula; empty where nothing is."""
    words = [*names, *_FUNCTIONS]
    if re.search(r"[<>=]", rule):
        return "Leave out the '=' and what stands before it: only the rule itself."
    if found := re.search(r"\d+,\d+", rule):
        return f"Decimals have a point: {found[0].replace(',', '.')}, not {found[0]}."
    if found := re.search(r"\d+(?:\.\d+)?\s*(?=\()", rule):
        return f"Put * between {found[0].strip()} and the bracket."
    if found := re.search(rf"(?<![\w.])(\d+(?:\.\d+)?)\s*({'|'.join(map(re.escape, words))})\b", rule):
        return f"Put * between {found[1]} and {found[2]}: {found[1]} * {found[2]}."
    if found := re.search(r"(?<![\w.])0+([1-9]\d*)(?![\d.])", rule):
        return f"No number begins with 0: {found[1]}, not {found[0]}."
    if found := re.search(r"\b([a-z_]\w*)\b", re.sub(rf"\b(?:{'|'.join(map(re.escape, words))})\b", " ", rule)):
        return f"'{short(found[1])}' is none of the names here; units and words stay out."
    if ":" in rule:
        return "A division is written with /, not with a colon."
    for sign, instead in _OPERATORS.items():
        if sign in rule:
            return f"'{sign}' is not taken; write {instead}."
    if rule.count("(") != rule.count(")"):
        return "A bracket is missing: as many close as open."
    return ""


_Read = Callable[[Mapping[str, float]], float]


@dataclass(frozen=True, kw_only=True)
class Rule(Question):
    """Write a rule for the kneeboard; it is tried on numbers the learner has not seen.

    Parameters
    ----------
    symbols : tuple of str
        The quantities the rule may use, with their units told in the prompt.
    truth : callable
        From one case, the exact value.
    case : callable
        From a seeded :class:`random.Random`, one case: a mapping of the names to numbers.
    within : float
        Largest relative error that passes, for example 0.1.
    example : str
        A reference rule, which passes.
    unit : str
        Unit of the result.
    tries : int
        Number of cases, shown and hidden alike.
    """

    symbols: tuple[str, ...]
    truth: Callable[[Mapping[str, float]], float]
    case: Callable[[random.Random], dict[str, float]]
    within: float
    example: str
    unit: str
    tries: int = 20

    def right(self, givens: Givens) -> str:
        """Give a rule that passes."""
        return self.example

    def cases(self, givens: Givens, hidden: bool) -> list[dict[str, float]]:
        """Draw the cases the rule is tried on; the hidden ones differ from the ones tried while learning."""
        chance = random.Random(f"{givens['seed']}|{self.key}|{'hidden' if hidden else 'open'}")
        return [self.case(chance) for _ in range(self.tries)]

    def judge(self, givens: Givens, answer: object, hidden: bool = False) -> Verdict:
        """Try the rule; say how many cases it got, and on a miss what the misses have in common."""
        text = answer.strip() if isinstance(answer, str) else ""
        if not text:
            raise Unreadable(
                f"The rule is a text in quotation marks with {', '.join(self.symbols)}, numbers, + - * / and brackets."
            )
        rule = read_rule(text, self.symbols)
        return self._judged(text, rule, _Tried(self, givens, hidden), givens)

    def _judged(self, text: str, rule: _Read, tried: _Tried, givens: Givens) -> Verdict:
        cases, ratios = tried.cases, tried.ratios(rule)
        good = sum(abs(ratio - 1) <= self.within for ratio in ratios)
        if good == len(cases):
            said = f"Right: within {self.within:.0%} in all {good} cases tried."
            return Verdict(Outcome.PASS, 1.0, said, given=text)
        for slip, wrong in tried.mistaken:
            if all(abs(a - b) <= self.within / 2 * abs(b) for a, b in zip(ratios, wrong, strict=True)):
                said = f"Not yet. {good} of {len(cases)} cases. {self.fill(slip.says, givens)}"
                return Verdict(Outcome.SLIP, 0.0, said, slip.code, text)
        share = 0.5 * good / len(cases)
        middle = sorted(ratios)[len(ratios) // 2]
        trend = "sometimes too large, sometimes too small"
        if abs(middle - 1) > self.within:
            trend = f"mostly too {'large' if middle > 1 else 'small'}"
        outcome = Outcome.CLOSE if good >= len(cases) / 2 else Outcome.WRONG
        seen = self._acts(rule, cases[0], middle)
        said = f"Not yet. Right in {good} of {len(cases)} cases; it is {trend}. {seen}{self.where_to_look(givens)}"
        return Verdict(outcome, share, said, given=text)

    def _acts(self, rule: _Read, case: Mapping[str, float], middle: float) -> str:
        """Say which quantity does not act as it should when it is doubled; else that the number in the rule is at fault."""
        try:
            now, true = rule(case), self.truth(case)
            for name in self.symbols:
                twice = {**case, name: 2.0 * case[name]}
                made, wanted = rule(twice) / now, self.truth(twice) / true
                if abs(made - wanted) > 0.1 * wanted:
                    return f"Twice as much {name} {_grows(wanted)}; in this rule it {_grows(made)}. "
        except (ArithmeticError, ValueError):
            return ""
        if abs(middle - 1.0) <= self.within:
            return ""
        listed = " and ".join(self.symbols)
        return f"{listed} act as they should; the number in the rule is too {'large' if middle > 1 else 'small'}. "

    def sound(self, givens: Givens) -> bool:
        """The example passes, and every slip's rule is told by its own name."""
        # Each student's cases are others, so this is asked for each; all rules are tried on the same cases.
        tried = _Tried(self, givens, False)

        def told(text: str) -> Verdict:
            return self._judged(text, read_rule(text, self.symbols), tried, givens)

        if told(self.example).outcome is not Outcome.PASS:
            return False
        known = all(told(str(wrong)).slip == slip.code for slip, wrong in self.mistakes(givens))
        return known and super().sound(givens)


_GROWTH = {2.0: "doubles the answer", 0.5: "halves the answer", 1.0: "leaves the answer as it is",
           4.0: "makes it four times as much", 0.25: "makes it a quarter"}  # fmt: skip


def _grows(ratio: float) -> str:
    near = min(_GROWTH, key=lambda each: abs(each - ratio))
    return _GROWTH[near] if abs(near - ratio) <= 0.1 * near else f"makes it {ratio:.1f} times as much"


class _Tried:
    """Cases of a question with what is true of each, and what the named mistakes come to: worked out once."""

    def __init__(self, question: Rule, givens: Givens, hidden: bool) -> None:
        self._question, self._givens = question, givens
        self.cases = question.cases(givens, hidden)
        self._truths = [question.truth(case) for case in self.cases]

    def ratios(self, rule: _Read) -> list[float]:
        """Of each case, what a rule gives over what is true."""
        return [rule(case) / truth for case, truth in zip(self.cases, self._truths, strict=True)]

    @cached_property
    def mistaken(self) -> list[tuple[Slip, list[float]]]:
        """Every named mistake with the ratios of its rule."""
        question = self._question
        made = question.mistakes(self._givens)
        return [(slip, self.ratios(read_rule(str(wrong), question.symbols))) for slip, wrong in made]
