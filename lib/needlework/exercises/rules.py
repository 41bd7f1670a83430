"""Rules for the kneepad: a formula a pilot writes, tried on numbers not seen before."""

from __future__ import annotations

import ast
import math
import random
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from needlework.exercises.answers import Unreadable, short
from needlework.exercises.kinds import Givens, Question
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
    """Turn a rule a pilot writes on a kneepad into a function; only arithmetic is understood.

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
    text = re.sub(r"(?<=\d) x (?=[\w(])|(?<=[\w)]) x (?=[\d(])", " * ", text.lower())
    if len(text) > 300:
        raise Unreadable(f"This rule is too long for a kneepad. {allowed}")
    cleaned = text.replace("^", "**").replace("×", "*").replace("÷", "/").replace("−", "-").replace("·", "*")
    if "=" in cleaned:
        raise Unreadable(f"Leave out the '=' and what stands before it: only the rule itself. {allowed}")
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
            shown = ", ".join(f"{name} = {given[name]:g}" for name in names)
            raise Unreadable(f"With {shown} this rule gives no number. Is something divided by zero there?") from None

    rule(dict.fromkeys(names, 1.0))
    return rule


@dataclass(frozen=True, kw_only=True)
class Rule(Question):
    """Write a rule for the kneepad; it is tried on numbers the learner has not seen.

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
        cases = self.cases(givens, hidden)
        ratios = [rule(case) / self.truth(case) for case in cases]
        good = sum(abs(ratio - 1) <= self.within for ratio in ratios)
        if good == len(cases):
            said = f"Right: within {self.within:.0%} in all {good} cases tried."
            return Verdict(Outcome.PASS, 1.0, said, given=text)
        for slip, mistaken in self.mistakes(givens):
            wrong = [read_rule(str(mistaken), self.symbols)(case) / self.truth(case) for case in cases]
            if all(abs(a - b) <= self.within / 2 * abs(b) for a, b in zip(ratios, wrong, strict=True)):
                said = f"Not yet. {good} of {len(cases)} cases. {self.fill(slip.says, givens)}"
                return Verdict(Outcome.SLIP, 0.0, said, slip.code, text)
        share = 0.5 * good / len(cases)
        middle = sorted(ratios)[len(ratios) // 2]
        trend = "sometimes too large, sometimes too small"
        if abs(middle - 1) > self.within:
            trend = f"mostly too {'large' if middle > 1 else 'small'}"
        outcome = Outcome.CLOSE if good >= len(cases) / 2 else Outcome.WRONG
        said = f"Not yet. Right in {good} of {len(cases)} cases; it is {trend}. {self.where_to_look(givens)}"
        return Verdict(outcome, share, said, given=text)

    def sound(self, givens: Givens) -> bool:
        """The example passes, and no slip's rule does."""
        if self.judge(givens, self.example).outcome is not Outcome.PASS:
            return False
        known = all(self.judge(givens, wrong).slip == slip.code for slip, wrong in self.mistakes(givens))
        return known and super().sound(givens)
