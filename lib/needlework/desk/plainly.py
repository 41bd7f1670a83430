"""What the cells of a hand-in give to their names, found out without running any of them.

Only what stands on a list of syntax is followed: numbers and texts, tables, arithmetic, the functions of a pocket
calculator, a loop over a short list. Everything is bounded in steps, in size and in depth. At the first thing that
is not on the list :class:`NeedsKernel` is raised, and the whole hand-in is run behind walls instead: one hand-in is
never read half in one way and half in the other.
"""

from __future__ import annotations

import ast
import builtins
import copy
import math
import operator
import re
import warnings
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from needlework.course.lesson.session import FIRST_CELL, NAME_IN_QUOTES, LessonError, hand_out
from needlework.desk import values

_LETTERS_OF_A_CELL = 20_000
_MOST_ITEMS = 2_000
_MOST_BITS = 16_000
_MOST_LETTERS = 100_000
_MOST_STEPS = 20_000
_LARGEST_EXPONENT, _LARGEST_BASE = 64, 10**9

_BINARY: dict[type[ast.operator], Callable[[Any, Any], Any]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.FloorDiv: operator.floordiv,
    ast.Mod: operator.mod,
    ast.Pow: operator.pow,
}
_IN_PLACE: dict[type[ast.operator], Callable[[Any, Any], Any]] = {
    **_BINARY,
    ast.Add: operator.iadd,
    ast.Mult: operator.imul,
}
_UNARY: dict[type[ast.unaryop], Callable[[Any], Any]] = {
    ast.USub: operator.neg,
    ast.UAdd: operator.pos,
    ast.Not: operator.not_,
}
_COMPARED: dict[type[ast.cmpop], Callable[[Any, Any], Any]] = {
    ast.Eq: operator.eq,
    ast.NotEq: operator.ne,
    ast.Lt: operator.lt,
    ast.LtE: operator.le,
    ast.Gt: operator.gt,
    ast.GtE: operator.ge,
    ast.In: lambda a, b: a in b,
    ast.NotIn: lambda a, b: a not in b,
}
_BUILTINS: dict[str, Callable[..., Any]] = {
    name: getattr(builtins, name)
    for name in (
        *("round", "abs", "min", "max", "sum", "int", "float", "str", "len", "divmod", "sorted", "list", "dict"),
        *("tuple", "bool", "zip", "enumerate", "reversed", "range"),
    )
}
_MATH: dict[str, Any] = {
    name: getattr(math, name)
    for name in (
        *("sin", "cos", "tan", "asin", "acos", "atan", "atan2", "radians", "degrees", "sqrt", "hypot", "floor"),
        *("ceil", "pi", "e", "fabs", "log", "exp", "log10", "trunc", "tau"),
    )
}
_METHODS: dict[type, set[str]] = {
    str: {"upper", "lower", "strip", "title", "replace", "capitalize", "split", "join"},
    dict: {"get", "keys", "values", "items", "copy", "update"},
    list: {"append", "copy", "index", "count", "sort", "reverse", "extend"},
}
_OF_THE_SHELL = {"get_ipython", "In", "Out", "exit", "quit", "display"}
_KEYWORDS = {"reverse", "default", "start", "ndigits"}
VERBS = {"ask", "begin", "check", "recap", "reveal", "hint", "numbers", "fly", "flight_of", "score"}
_SHOWING = {"pictures", "sliders"}
_MATH_MODULE, _SHOWING_MODULE = object(), object()


class NeedsKernel(Exception):
    """Something here is code: only a kernel can say what it gives."""


class Stops(Exception):
    """The cell stops with an error here, in a kernel as well.

    Parameters
    ----------
    error : BaseException
        The error that a kernel would show.
    """

    def __init__(self, error: BaseException) -> None:
        super().__init__(str(error))
        self.error = error


def weigh(value: Any, left: int = 5_000, depth: int = 0) -> int:
    """Count a value as the tree it is when it is printed or walked: a shared or endless one is as large as it looks.

    Parameters
    ----------
    value : object
        Plain data.
    left : int
        What it may still hold: entries, and one for every 64 letters.
    depth : int
        How deep it stands.

    Returns
    -------
    int
        What is left afterwards.

    Raises
    ------
    NeedsKernel
        If it is larger or deeper than an answer can be.
    """
    left -= 1
    if isinstance(value, str):
        left -= len(value) // 64
    if left < 0 or depth > 20:
        raise NeedsKernel("a large or deep value")
    if isinstance(value, (list, tuple)):
        for each in value:
            left = weigh(each, left, depth + 1)
    elif isinstance(value, dict):
        for key, each in value.items():
            left = weigh(each, weigh(key, left, depth + 1), depth + 1)
    return left


def _bounded(value: Any) -> Any:
    """Pass a value on that is no larger than an answer may be."""
    if isinstance(value, bool) or value is None or isinstance(value, float):
        return value
    if isinstance(value, int) and value.bit_length() > _MOST_BITS:
        raise NeedsKernel("a huge number")
    if isinstance(value, str) and len(value) > _MOST_LETTERS:
        raise NeedsKernel("a long text")
    if isinstance(value, (list, tuple, dict)):
        if len(value) > _MOST_ITEMS:
            raise NeedsKernel("a long list")
        weigh(value)
    return value


def _apply(function: Callable[..., Any], *given: Any, **named: Any) -> Any:
    """Call a function of the list; what it raises stops the cell, as it does in a kernel."""
    try:
        result = function(*given, **named)
    except RecursionError:
        raise NeedsKernel("deep nesting") from None
    except Exception as error:
        raise Stops(error) from None
    if isinstance(result, range) and len(result) > _MOST_ITEMS:
        raise NeedsKernel("a long range")
    if isinstance(result, (zip, enumerate, range)) or type(result).__name__ in _VIEWS:
        result = list(result)
    if not isinstance(result, values.PLAIN):
        raise NeedsKernel(type(result).__name__)
    if given and isinstance(given[0], (list, dict)):
        weigh(given[0])
    return _bounded(result)


_VIEWS = {"dict_keys", "dict_values", "dict_items", "list_reverseiterator", "reversed"}


def _repeated(op: ast.operator, left: Any, right: Any) -> None:
    """Refuse a calculation whose result would be far too large."""
    both = all(isinstance(each, (int, float)) for each in (left, right))
    if isinstance(op, ast.Pow):
        if not both:
            raise NeedsKernel("a power of no number")
        if abs(right) > _LARGEST_EXPONENT or (isinstance(left, int) and abs(left) > _LARGEST_BASE):
            raise NeedsKernel("a large power")
    if isinstance(op, ast.Mult) and not both:
        times = next((each for each in (left, right) if isinstance(each, int)), 0)
        what = next((each for each in (left, right) if isinstance(each, (str, list, tuple))), "")
        if times * len(what) > _MOST_ITEMS:
            raise NeedsKernel("a long repetition")
    if isinstance(op, ast.Mod) and isinstance(left, str) and (re.search(r"%[^%]*\d{3,}", left) or "*" in left):
        raise NeedsKernel("a wide format")


class Reader:
    """Follows the cells of one notebook in order, as a kernel would.

    Parameters
    ----------
    lesson : str
        Key of the lesson that may be begun.
    numbers : callable
        From a question's key and the student's name, the givens; raises what a kernel would.
    flight_of : callable
        From a question's key, the newest recording in the notebook, or None.

    Attributes
    ----------
    names : dict
        What each name holds.
    begun : str or None
        The student's name as it was given to ``begin``; None while the lesson is not begun.
    homework : str
        What ``begin`` was told of the hand-out it belongs to.
    """

    def __init__(
        self,
        lesson: str,
        numbers: Callable[[str, str, str], Mapping[str, Any]],
        flight_of: Callable[[str], str | None],
    ) -> None:
        self.names: dict[str, Any] = {}
        self.begun: str | None = None
        self.homework = ""
        self._lesson, self._draw, self._flight_of = lesson, numbers, flight_of
        self._ready: dict[str, Any] = {}
        self._givens: dict[str, dict[str, Any]] = {}
        self._steps = 0

    def cell(self, source: str) -> BaseException | None:
        """Follow one cell.

        Parameters
        ----------
        source : str
            Its text.

        Returns
        -------
        BaseException or None
            With what it stops, if it does.

        Raises
        ------
        NeedsKernel
            If only a kernel can tell what it gives.
        """
        if len(source) > _LETTERS_OF_A_CELL:
            raise NeedsKernel("a long cell")
        try:
            for statement in _parsed(source).body:
                self._statement(statement)
        except Stops as stopped:
            return stopped.error
        except SyntaxError as error:
            return error
        except RecursionError:
            raise NeedsKernel("deep nesting") from None
        return None

    # --- values ---------------------------------------------------------------------------------------------------

    def _step(self) -> None:
        self._steps += 1
        if self._steps > _MOST_STEPS:
            raise NeedsKernel("a long calculation")

    def _value(self, node: ast.expr) -> Any:
        self._step()
        match node:
            case ast.Constant(value=value):
                if isinstance(value, (bytes, complex)):
                    raise NeedsKernel("bytes or a complex number")
                return _bounded(value)
            case ast.Name(id=name):
                return self._named(name)
            case ast.List(elts=parts):
                return _bounded([*self._items(parts)])
            case ast.Tuple(elts=parts):
                return _bounded((*self._items(parts),))
            case ast.Dict():
                return self._table(node)
            case ast.UnaryOp(op=op, operand=operand) if type(op) in _UNARY:
                return _apply(_UNARY[type(op)], self._value(operand))
            case ast.BinOp(left=left, op=op, right=right) if type(op) in _BINARY:
                return self._calculated(_BINARY, op, self._value(left), self._value(right))
            case ast.BoolOp(op=op, values=parts):
                result: Any = None
                for each in parts:
                    result = self._value(each)
                    if bool(result) is isinstance(op, ast.Or):
                        break
                return result
            case ast.Compare():
                return self._comparison(node)
            case ast.IfExp(test=test, body=body, orelse=orelse):
                return self._value(body) if self._value(test) else self._value(orelse)
            case ast.Subscript(value=whole, slice=part):
                return _apply(operator.getitem, self._value(whole), self._index(part))
            case ast.JoinedStr(values=parts):
                return _bounded("".join(self._formatted(each) for each in parts))
            case ast.Attribute(value=ast.Name(id=name), attr=attribute) if self._ready.get(name) is _MATH_MODULE:
                if attribute in ("pi", "e", "tau"):
                    return _MATH[attribute]
                raise NeedsKernel(f"math.{attribute}")
            case ast.ListComp() | ast.GeneratorExp() | ast.DictComp():
                return self._comprehension(node)
            case ast.Call():
                return self._call(node)
        raise NeedsKernel(type(node).__name__)

    @staticmethod
    def _calculated(known: Mapping[type[ast.operator], Any], op: ast.operator, left: Any, right: Any) -> Any:
        _repeated(op, left, right)
        return _apply(known[type(op)], left, right)

    def _named(self, name: str) -> Any:
        if name in self.names:
            return self.names[name]
        if name in self._ready or hasattr(builtins, name) or name.startswith("_") or name in _OF_THE_SHELL:
            raise NeedsKernel(f"{name} as a value")
        raise Stops(NameError(f"name '{name}' is not defined", name=name))

    def _table(self, node: ast.Dict) -> dict[Any, Any]:
        made: dict[Any, Any] = {}
        for key, value in zip(node.keys, node.values, strict=True):
            if key is None:
                more = self._value(value)
                if not isinstance(more, dict):
                    raise NeedsKernel("** of no table")
                made.update(more)
                continue
            label = self._value(key)
            if isinstance(label, (list, dict)):
                raise Stops(TypeError(f"unhashable type: '{type(label).__name__}'"))
            if not isinstance(label, (str, int, float)):
                raise NeedsKernel("a strange key")
            made[label] = self._value(value)
        return dict(_bounded(made))

    def _comparison(self, node: ast.Compare) -> Any:
        left, result = self._value(node.left), None
        for op, other in zip(node.ops, node.comparators, strict=True):
            right = self._value(other)
            if type(op) in _COMPARED:
                result = _apply(_COMPARED[type(op)], left, right)
            elif isinstance(op, (ast.Is, ast.IsNot)) and (left is None or right is None):
                result = (left is right) is isinstance(op, ast.Is)
            else:
                raise NeedsKernel("is")
            if not result:
                return result
            left = right
        return result

    def _index(self, node: ast.expr) -> Any:
        if isinstance(node, ast.Slice):
            parts = (node.lower, node.upper, node.step)
            return slice(*(None if part is None else self._value(part) for part in parts))
        return self._value(node)

    def _formatted(self, node: ast.expr) -> str:
        if isinstance(node, ast.Constant):
            return str(node.value)
        if not isinstance(node, ast.FormattedValue):
            raise NeedsKernel(type(node).__name__)
        wanted = self._value(node.format_spec) if node.format_spec else ""
        if re.search(r"\d{3,}", wanted):
            raise NeedsKernel("a wide format")
        value = self._value(node.value)
        turned: Any = {114: repr, 115: str, 97: ascii}.get(node.conversion)
        return str(_apply(format, turned(value) if turned else value, wanted))

    def _comprehension(self, node: ast.ListComp | ast.GeneratorExp | ast.DictComp) -> Any:
        if len(node.generators) != 1 or node.generators[0].is_async:
            raise NeedsKernel("a nested comprehension")
        (loop,) = node.generators
        saved, ready = dict(self.names), dict(self._ready)
        made: list[Any] = []
        for each in self._looped(loop.iter):
            self._assign(loop.target, each)
            if all(self._value(wanted) for wanted in loop.ifs):
                if isinstance(node, ast.DictComp):
                    made.append((self._value(node.key), self._value(node.value)))
                else:
                    made.append(self._value(node.elt))
        self.names, self._ready = saved, ready
        return _bounded(_apply(dict, made) if isinstance(node, ast.DictComp) else made)

    def _looped(self, node: ast.expr) -> list[Any]:
        over = self._value(node)
        if not isinstance(over, (list, tuple, str, dict)):
            raise NeedsKernel("a strange loop")
        return list(over)

    def _items(self, parts: list[ast.expr]) -> Iterator[Any]:
        for each in parts:
            if isinstance(each, ast.Starred):
                yield from self._looped(each.value)
            else:
                yield self._value(each)

    # --- calls ----------------------------------------------------------------------------------------------------

    def _call(self, node: ast.Call) -> Any:
        given = list(self._items(node.args))
        named: dict[str, Any] = {}
        for each in node.keywords:
            if each.arg is None:
                raise NeedsKernel("**")
            named[each.arg] = self._value(each.value)
        match node.func:
            case ast.Name(id=name):
                return self._called(name, given, named)
            case ast.Attribute(value=ast.Name(id=name), attr=attribute) if self._ready.get(name) is _MATH_MODULE:
                function: Any = _MATH.get(attribute)
                if callable(function):
                    return _apply(function, *given, **named)
                raise NeedsKernel(f"math.{attribute}")
            case ast.Attribute(value=ast.Name(id=name)) if self._ready.get(name) is _SHOWING_MODULE:
                return None
            case ast.Attribute(value=whole, attr=attribute):
                return self._method(self._value(whole), attribute, given, named)
        raise NeedsKernel("a call")

    def _called(self, name: str, given: list[Any], named: dict[str, Any]) -> Any:
        if name in self.names:
            kind = type(self.names[name]).__name__
            raise Stops(TypeError(f"'{kind}' object is not callable"))
        if name in self._ready:
            found = self._ready[name]
            if isinstance(found, str):
                return self._verb(found, given, named)
            if callable(found):
                return _apply(found, *given, **named)
            raise NeedsKernel(f"{name}()")
        if name == "print":
            return None
        whole = given and all(isinstance(each, int) for each in given)
        if name == "range" and whole and max(map(abs, given)) > _MOST_ITEMS:
            raise NeedsKernel("a long range")
        if name in _BUILTINS:
            if named.keys() - _KEYWORDS:
                raise NeedsKernel("a named argument")
            return _apply(_BUILTINS[name], *given, **named)
        return self._named(name)

    @staticmethod
    def _method(whole: Any, name: str, given: list[Any], named: dict[str, Any]) -> Any:
        if name not in _METHODS.get(type(whole), ()) or "key" in named:
            raise NeedsKernel(f".{name}()")
        if name == "replace" and len(str(whole)) * max([len(str(each)) for each in given] or [0]) > _MOST_LETTERS:
            raise NeedsKernel("a long replacement")
        if name == "join" and len(str(whole)) > 64:
            raise NeedsKernel("a long join")
        result = _apply(getattr(whole, name), *given, **named)
        _bounded(whole)
        return result

    def _verb(self, verb: str, given: list[Any], named: dict[str, Any]) -> Any:
        if verb == "begin":
            return self._begin(given, named)
        if verb in ("check", "score") and len(given) == 2:
            self._known(given[0])
            return 0.0
        if named or len(given) != 1:
            raise NeedsKernel(f"{verb}() otherwise than usual")
        if verb == "numbers":
            return self._numbers(given[0])
        if verb == "flight_of":
            return self._flight_of(str(given[0]))
        if verb in ("ask", "hint", "fly"):
            self._known(given[0])
        return None

    def _begin(self, given: list[Any], named: dict[str, Any]) -> None:
        if len(given) not in (1, 2) or named.keys() - {"student", "homework", "word"} or given[0] != self._lesson:
            raise NeedsKernel("begin() otherwise than usual")
        student = given[1] if len(given) == 2 else named.get("student", "")
        if not isinstance(student, (str, int)) or isinstance(student, bool):
            raise Stops(LessonError(NAME_IN_QUOTES))
        if len(str(student)) > 200:
            raise NeedsKernel("a long name")
        self.begun, self._givens = str(student), {}
        self.homework = hand_out(named.get("homework", ""), named.get("word", ""))[:200]

    def _known(self, key: Any) -> None:
        if self.begun is None:
            raise Stops(LessonError(FIRST_CELL))
        if not isinstance(key, str):
            raise NeedsKernel("a question without a name")

    def _numbers(self, key: Any) -> dict[str, Any]:
        self._known(key)
        if key not in self._givens:
            try:
                drawn = dict(self._draw(key, self.begun or "", self.homework))
            except NeedsKernel:
                raise
            except Exception as error:
                raise Stops(error) from None
            if not values.is_plain(drawn):
                raise NeedsKernel("numbers of a kind of their own")
            self._givens[key] = copy.deepcopy(drawn)
        return self._givens[key]

    # --- statements -----------------------------------------------------------------------------------------------

    def _hold(self, name: str, value: Any) -> None:
        if name in VERBS or name in _BUILTINS:
            # From here on only a kernel knows what the name does.
            raise NeedsKernel(f"{name} is redefined")
        self.names[name] = value
        self._ready.pop(name, None)

    def _assign(self, target: ast.expr, value: Any) -> None:
        match target:
            case ast.Name(id=name):
                self._hold(name, value)
            case ast.Tuple(elts=parts) | ast.List(elts=parts):
                if not isinstance(value, (list, tuple, str)) or any(isinstance(p, ast.Starred) for p in parts):
                    raise NeedsKernel("unpacking")
                if len(value) != len(parts):
                    raise Stops(ValueError("another number of values to unpack"))
                for part, each in zip(parts, value, strict=True):
                    self._assign(part, each)
            case ast.Subscript(value=whole, slice=part) if not isinstance(part, ast.Slice):
                held = self._value(whole)
                if not isinstance(held, (list, dict)):
                    raise Stops(TypeError(f"'{type(held).__name__}' object does not support item assignment"))
                _apply(operator.setitem, held, self._value(part), value)
                _bounded(held)
            case _:
                raise NeedsKernel(type(target).__name__)

    def _statement(self, node: ast.stmt) -> None:
        self._step()
        each: Any
        match node:
            case ast.Assign(targets=targets, value=value):
                made = self._value(value)
                for target in targets:
                    self._assign(target, made)
            case ast.AnnAssign(target=target, value=maybe, simple=1):
                if maybe is not None:
                    self._assign(target, self._value(maybe))
            case ast.AugAssign(target=target, op=op, value=value) if type(op) in _IN_PLACE:
                loaded = copy.deepcopy(target)
                loaded.ctx = ast.Load()
                self._assign(target, self._calculated(_IN_PLACE, op, self._value(loaded), self._value(value)))
            case ast.Expr(value=ast.Name(id=name)) if name in self._ready:
                pass
            case ast.Expr(value=value):
                self._value(value)
            case ast.Pass():
                pass
            case ast.If(test=test, body=body, orelse=orelse):
                for each in body if self._value(test) else orelse:
                    self._statement(each)
            case ast.For(target=target, iter=over, body=body, orelse=[]):
                for value in self._looped(over):
                    self._assign(target, value)
                    for each in body:
                        self._statement(each)
            case ast.ImportFrom(module=module, names=names, level=0):
                for each in names:
                    self._import_from(module or "", each.name, each.asname or each.name)
            case ast.Import(names=names):
                for each in names:
                    if each.name != "math":
                        raise NeedsKernel(f"import {each.name}")
                    self._make_ready(each.asname or each.name, _MATH_MODULE)
            case _:
                raise NeedsKernel(type(node).__name__)

    def _make_ready(self, name: str, what: Any) -> None:
        self._ready[name] = what
        self.names.pop(name, None)

    def _import_from(self, module: str, name: str, known_as: str) -> None:
        if module == "needlework.lesson" and name in VERBS:
            self._make_ready(known_as, name)
        elif module == "needlework" and name in _SHOWING:
            self._make_ready(known_as, _SHOWING_MODULE)
        elif module == "math" and name == "*":
            for each, what in _MATH.items():
                self._take_of_math(each, what)
        elif module == "math" and name in _MATH:
            self._take_of_math(known_as, _MATH[name])
        else:
            raise NeedsKernel(f"import {name}")

    def _take_of_math(self, name: str, what: Any) -> None:
        if callable(what):
            self._make_ready(name, what)
        else:
            self._hold(name, what)


def _parsed(source: str) -> ast.Module:
    """Parse a cell as the kernel does: only what is no Python may be one of its own commands."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            return ast.parse(source)
        except SyntaxError as first:
            from IPython.core.inputtransformer2 import TransformerManager

            try:
                return ast.parse(TransformerManager().transform_cell(source))  # type: ignore[no-untyped-call]
            except SyntaxError:
                raise first from None
            except Exception:
                raise NeedsKernel("a cell that cannot be read") from None
        except (ValueError, MemoryError, RecursionError):
            raise NeedsKernel("a cell that cannot be read") from None
