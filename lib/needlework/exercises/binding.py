"""The functions of a lesson by their names: loaded from a file, their parameters filled from the givens."""

from __future__ import annotations

import importlib.util
import inspect
import re
import sys
from collections.abc import Callable, Mapping
from functools import cache
from hashlib import sha256
from pathlib import Path
from types import ModuleType
from typing import Any

from needlework.basis.errors import BadData

Value = Any
"""A value as a lesson's data hold it: a number, ``{"given": name}`` or ``{"call": name of a function}``."""


def load(path: Path, key: str) -> ModuleType:
    """Load the functions of a lesson from their file, under a name of their own.

    Parameters
    ----------
    path : pathlib.Path
        The file.
    key : str
        Key of the lesson.

    Returns
    -------
    module
        The module; its folder is not entered into the paths that are searched for modules.

    Raises
    ------
    BadData
        If the file is missing or cannot be run.
    """
    place = sha256(str(path.resolve()).encode()).hexdigest()[:8]
    name = f"needlework_lessons_{re.sub(r'[^A-Za-z0-9]', '_', key)}_{place}"
    spec = importlib.util.spec_from_file_location(name, path)
    if spec is None or spec.loader is None:
        raise BadData(f"{path.name} of the lesson {key} is no file of Python functions.")
    module = importlib.util.module_from_spec(spec)
    # Before it runs: a dataclass in it looks itself up there.
    sys.modules[name] = module
    try:
        spec.loader.exec_module(module)
    except Exception as error:
        del sys.modules[name]
        line = _line_in(error, path)
        raise BadData(
            f"{path.name}{f':{line}' if line else ''} of the lesson {key} cannot be run: "
            f"{type(error).__name__}: {error}."
        ) from error
    return module


def _line_in(error: BaseException, path: Path) -> int:
    """Line of a file at which an error arose; 0 if it is not in the file."""
    if isinstance(error, SyntaxError):
        return error.lineno or 0
    line, trace = 0, error.__traceback__
    while trace is not None:
        if trace.tb_frame.f_code.co_filename == str(path):
            line = trace.tb_lineno
        trace = trace.tb_next
    return line


@cache
def takes(function: Callable[..., Any]) -> dict[str, bool]:
    """Give the parameters of a function that are filled by name, and whether each may be left out.

    Parameters
    ----------
    function : callable
        A function of a lesson, or of the library.

    Returns
    -------
    dict of str to bool
        Names in order; True where there is a default.
    """
    named = (inspect.Parameter.KEYWORD_ONLY, inspect.Parameter.POSITIONAL_OR_KEYWORD)
    found = inspect.signature(function).parameters.values()
    return {p.name: p.default is not p.empty for p in found if p.kind in named}


def bound(function: Callable[..., Any], renamed: Mapping[str, Callable[..., Any]]) -> Callable[..., Any]:
    """Make a function of the givens from one of named quantities.

    Parameters
    ----------
    function : callable
        Its parameters are named like what is drawn.
    renamed : mapping
        For a parameter, what it takes instead of the given of its own name: a function of the givens.

    Returns
    -------
    callable
        From the givens and further arguments, which come first, the function's value.
    """
    wanted = list(takes(function).items())

    def call(givens: Mapping[str, Any], *more: Any) -> Any:
        values = {}
        for name, optional in wanted[len(more) :] if more else wanted:
            if name in renamed:
                values[name] = renamed[name](givens)
            elif name in givens:
                values[name] = givens[name]
            elif not optional:
                raise KeyError(f"{function.__name__} asks for {name}, which is not among the givens")
        return function(*more, **values)

    return call


class Binder:
    """Turns values as the data hold them into functions of the givens.

    Parameters
    ----------
    functions : module
        The functions of the lesson, as attributes.
    renamed : mapping
        For a parameter, the value it takes instead of the given of its own name.
    """

    def __init__(self, functions: object, renamed: Mapping[str, Value]) -> None:
        self.functions = functions
        self.renamed: Mapping[str, Callable[..., Any]] = {}
        self.renamed = {name: self.value(value) for name, value in renamed.items()}

    def function(self, name: str) -> Callable[..., Any]:
        """Give the function of a name as a function of the givens."""
        return bound(getattr(self.functions, name), self.renamed)

    def value(self, value: Value) -> Callable[..., Any]:
        """Give a value as a function of the givens."""
        if isinstance(value, Mapping) and "call" in value:
            return self.function(value["call"])
        if isinstance(value, Mapping) and "given" in value:
            name = value["given"]
            return lambda givens, *_more: givens[name]
        return lambda _givens, *_more: value
