"""Which cells of a notebook may run by themselves: those that do nothing but what a lesson's cells do."""

from __future__ import annotations

import ast
import re
from collections.abc import Callable

_VERBS = ("ask", "begin", "check", "fly", "recap", "reveal", "review")
_IMPORTS = {
    "needlework": {"listening", "pictures", "plate", "sliders", "procedure", "holding"},
    "needlework.lesson": {*_VERBS, "flight_of", "hint", "numbers"},
}
_SHOWN = ("listening", "pictures", "plate", "sliders")
_LONGEST = 20_000
_LARGEST = 1e12


def may_run(source: str, released: str | None = None) -> bool:
    """Say whether a cell does nothing but show, ask, check and hold answers.

    Taken are: the imports, questions, checks, pictures and what-ifs of a lesson with plain values, ``name = value``
    with a number, a text, a sum of numbers, or a list or table of them, and a cell exactly as it was released.

    Parameters
    ----------
    source : str
        Text of the cell.
    released : str, optional
        The same cell as the course released it.

    Returns
    -------
    bool
        False for everything else, and for what cannot be read.
    """
    if released is not None and source == released:
        return True
    if len(source) > _LONGEST:
        return False
    try:
        parsed = ast.parse(source)
    except (SyntaxError, ValueError, RecursionError, MemoryError):
        return False
    return all(_statement(each) for each in parsed.body)


def _statement(node: ast.stmt) -> bool:
    if isinstance(node, ast.ImportFrom):
        known = _IMPORTS.get(node.module or "", set())
        return not node.level and all(each.name in known and each.asname is None for each in node.names)
    if isinstance(node, ast.Expr):
        return _shown(node.value)
    if isinstance(node, ast.Assign) and len(node.targets) == 1 and isinstance(node.targets[0], ast.Name):
        name = node.targets[0].id
        reserved = name in _SHOWN or any(name in names for names in _IMPORTS.values()) or name.startswith("_")
        return not reserved and (_value(node.value) or _flight(node.value))
    return False


def _flight(node: ast.expr) -> bool:
    return _called(node, lambda name: name == "flight_of", names=False)


def _shown(node: ast.expr) -> bool:
    """A verb of a lesson, a picture or a what-if, with plain values; a check names its answer."""
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
        owner = node.func.value
        if not isinstance(owner, ast.Name) or owner.id not in _SHOWN or node.func.attr.startswith("_"):
            return False
        if owner.id != "sliders" and not re.match(
            r"play$" if owner.id == "listening" else r"show(_|$)", node.func.attr
        ):
            return False
        return _arguments(node, names=False)
    return _called(node, lambda name: name in _VERBS, names=True)


def _called(node: ast.expr, allowed: Callable[[str], bool], names: bool) -> bool:
    if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Name) or not allowed(node.func.id):
        return False
    return _arguments(node, names)


def _arguments(node: ast.Call, names: bool) -> bool:
    given = [*node.args, *(each.value for each in node.keywords if each.arg is not None)]
    if len(given) != len(node.args) + len(node.keywords):
        return False
    return all(
        _value(each)
        or _loaded(each)
        or _drawn(each)
        or (names and isinstance(each, ast.Name) and not each.id.startswith("_"))
        for each in given
    )


def _loaded(node: ast.expr) -> bool:
    """``procedure.load("name")``, which pictures take."""
    return (
        isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and node.func.attr == "load"
        and isinstance(node.func.value, ast.Name)
        and node.func.value.id == "procedure"
        and not node.keywords
        and all(isinstance(each, ast.Constant) and isinstance(each.value, str) for each in node.args)
    )


def _drawn(node: ast.expr) -> bool:
    """``numbers("key")["name"]``, a number of a question as it was drawn."""
    return (
        isinstance(node, ast.Subscript)
        and isinstance(node.slice, ast.Constant)
        and _called(node.value, lambda name: name == "numbers", names=False)
    )


def _value(node: ast.expr) -> bool:
    """A value that can be read off: a number, a text, a sum of numbers, or a list or table of these."""
    if isinstance(node, (ast.List, ast.Tuple)):
        return all(map(_value, node.elts))
    if isinstance(node, ast.Dict):
        return all(isinstance(key, ast.Constant) for key in node.keys) and all(map(_value, node.values))
    if isinstance(node, ast.Constant):
        return node.value is None or isinstance(node.value, (str, bool)) or _number(node) is not None
    return _number(node) is not None


def _number(node: ast.expr) -> float | None:
    """Work a plain sum out as far as it stays of a size that a pilot writes; None where it is anything else."""
    if isinstance(node, ast.Constant):
        if isinstance(node.value, bool) or not isinstance(node.value, (int, float)):
            return None
        return float(node.value) if abs(node.value) <= _LARGEST else None
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, (ast.USub, ast.UAdd)):
        inner = _number(node.operand)
        return None if inner is None else -inner if isinstance(node.op, ast.USub) else inner
    if not isinstance(node, ast.BinOp):
        return None
    left, right = _number(node.left), _number(node.right)
    if left is None or right is None:
        return None
    if isinstance(node.op, ast.Add):
        made = left + right
    elif isinstance(node.op, ast.Sub):
        made = left - right
    elif isinstance(node.op, ast.Mult):
        made = left * right
    elif isinstance(node.op, ast.Div) and right:
        made = left / right
    else:
        return None
    return made if abs(made) <= _LARGEST else None
