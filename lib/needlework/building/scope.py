"""What the names in a block stand for: what is drawn, what a row adds, the functions of the lesson."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from types import ModuleType
from typing import Any

from needlework.building.faults import Faults, listed, near
from needlework.building.reading import QUANTITIES
from needlework.building.scan import Block
from needlework.building.settings import Settings
from needlework.exercises.binding import takes

ALWAYS = frozenset({"number", "letter"})
"""What every row of a table adds: its number from 1, its letter from A."""

_DRAWS = 12
_NAME = re.compile(r"\{([A-Za-z_]\w*)(?::(\w+))?\}")
_BRACES = re.compile(r"\{\{|\}\}|\{[A-Za-z_]\w*(?::\w+)?\}|[{}]")


def functions_of(module: ModuleType) -> dict[str, Callable[..., Any]]:
    """Give the functions a lesson may name: its own and those it imports.

    Parameters
    ----------
    module : module
        The lesson's functions.

    Returns
    -------
    dict of str to callable
        By name, without those that begin with an underscore.
    """
    found = vars(module).items()
    return {n: f for n, f in found if callable(f) and not isinstance(f, type) and not n.startswith("_")}


def draws(function: Callable[..., Any]) -> bool:
    """Say whether a function draws: it takes ``random``.

    Parameters
    ----------
    function : callable
        A function of a lesson.

    Returns
    -------
    bool
        True for a draw.
    """
    try:
        return next(iter(takes(function)), "") == "random"
    except (TypeError, ValueError):
        return False


@dataclass(frozen=True)
class Scope:
    """The names that hold in one block.

    Parameters
    ----------
    functions : mapping
        By name.
    quantities : Settings
        Kind of each quantity.
    faults : Faults
        Where to tell what is wrong.
    where : str
        Label of the block.
    drawn : frozenset of str
        What is drawn; in a repeated cell with what its row adds.
    derived : frozenset of str
        Names for the texts only.
    renamed : mapping
        Parameters that take another given, or a number.
    samples : tuple of mapping
        Some drawn givens.
    questions : mapping
        The blocks of the lesson's questions by label.
    above : frozenset of str
        What the cells above this one give: for functions, and not for texts, which would tell the answer.
    """

    functions: Mapping[str, Callable[..., Any]]
    quantities: Settings
    faults: Faults
    where: str
    drawn: frozenset[str] = frozenset()
    derived: frozenset[str] = frozenset()
    renamed: Mapping[str, Any] = field(default_factory=dict)
    samples: tuple[Mapping[str, Any], ...] = ()
    questions: Mapping[str, Block] = field(default_factory=dict)
    above: frozenset[str] = frozenset()

    def fault(self, line: int, says: str, once: bool = False) -> None:
        """Tell a fault of this block; ``once`` where its cause stands elsewhere."""
        self.faults.add(line, self.where, says, once)

    def within(self, where: str, names: Iterable[str] = (), renamed: Mapping[str, Any] | None = None) -> Scope:
        """Give the names that hold in a cell."""
        more = {**self.renamed, **(renamed or {})}
        return replace(self, where=where, drawn=self.drawn | set(names), renamed=more)

    def draw(self, label: str, name: str, line: int) -> Scope:
        """Give the names that hold after a draw."""
        function = self.functions.get(name)
        if function is None or not draws(function):
            known = [n for n, f in self.functions.items() if draws(f)]
            what = "no function" if function is None else "no draw, which takes `random`:"
            self.fault(line, f"{label}: {what} `{name}` in functions.py{near(name, known)}")
            return replace(self, drawn=frozenset({"*"}))
        samples = []
        for number in range(_DRAWS):
            try:
                drawn = dict(function(random.Random(f"{name}|{number}")))
            except Exception as error:
                self.fault(line, f"{label}: `{name}` fails: {type(error).__name__}: {error}")
                return replace(self, drawn=frozenset({"*"}))
            samples.append(drawn)
        names = frozenset(n for sample in samples for n in sample)
        return replace(self, drawn=names, samples=tuple(samples))

    @property
    def _unknown(self) -> bool:
        """True where the draw itself is at fault: then nothing that follows from it is told."""
        return "*" in self.drawn

    def _drawn_here(self) -> str:
        return f"(drawn: {listed(self.drawn - {'seed'})})"

    def function(self, label: str, name: Any, line: int, roles: Iterable[str] = (), first: int = 0) -> dict[str, str]:
        """See whether a name is a function that can be filled from what is drawn; give it as data.

        Parameters
        ----------
        label : str
            Which setting names it.
        name : str
            The function.
        line : int
            Line of the file.
        roles : iterable of str
            Further names it may ask for.
        first : int
            Number of arguments that are given to it before the named ones.

        Returns
        -------
        dict
            ``{"call": name}``.
        """
        function = self.functions.get(str(name))
        if function is None:
            known = [n for n, f in self.functions.items() if not draws(f)]
            self.fault(line, f"{label}: no function `{name}` in functions.py{near(str(name), known)}")
            return {"call": str(name)}
        try:
            wanted = list(takes(function).items())[first:]
        except (TypeError, ValueError):
            self.fault(
                line, f"{label}: `{name}` cannot be asked for its parameters; write a small function around it"
            )
            return {"call": str(name)}
        given = {*self.drawn, *self.above, *roles, "seed"}
        absent = []
        for parameter, optional in wanted:
            if parameter not in self.renamed and parameter not in given and not optional:
                absent.append(parameter)
        if absent and not self._unknown:
            asked = ", ".join(f"`{each}`" for each in absent)
            self.fault(line, f"{label}: `{name}` asks for {asked}, not drawn here {self._drawn_here()}")
        return {"call": str(name)}

    def value(self, label: str, value: Any, line: int, roles: Iterable[str] = ()) -> Any:
        """See what a value is and give it as data: a number, a given or a function.

        Parameters
        ----------
        label : str
            Which setting it is.
        value : object
            A number or a name.
        line : int
            Line of the file.
        roles : iterable of str
            Further names a function may ask for.

        Returns
        -------
        object
            A number, ``{"given": name}`` or ``{"call": name}``.
        """
        if isinstance(value, (int, float)):
            return value
        name = str(value)
        try:
            return float(name) if "." in name else int(name)
        except ValueError:
            pass
        if name in self.drawn and name in self.functions:
            self.fault(line, f"{label}: `{name}` is drawn and is a function as well; give one of them another name")
        if name in self.drawn or name in self.above:
            return {"given": name}
        if name not in self.functions and not self._unknown:
            known = [*self.drawn, *(n for n, f in self.functions.items() if not draws(f))]
            self.fault(
                line,
                f"{label}: `{name}` is neither drawn here nor a function in functions.py{near(name, known)} "
                f"{self._drawn_here()}",
            )
            return {"call": name}
        if name not in self.functions:
            return {"call": name}
        return self.function(label, name, line, roles)

    def template(self, text: str, line: int, *more: str) -> str:
        """See whether the names in a text's braces can be filled; give it with the format of each in it.

        Parameters
        ----------
        text : str
            The text.
        line : int
            Line of the file.
        *more : str
            Names that hold in this text only.

        Returns
        -------
        str
            As ``str.format`` takes it.
        """
        if any(found in "{}" for found in _BRACES.findall(text)):
            self.fault(
                line, "a brace stands alone: names stand in braces, `{name}` or `{name:kind}`; write {{ for a brace"
            )
            return text
        known = {*self.drawn, *self.derived, *more, "seed"}

        def filled(match: re.Match[str]) -> str:
            name, kind = match[1], match[2]
            if name not in known:
                if not self._unknown:
                    self.fault(line, f"`{{{name}}}` is not drawn here {self._drawn_here()}{near(name, known)}")
                return match[0]
            if kind is None and (name in more or name in ALWAYS):
                return match[0]
            if kind is None and name not in self.quantities:
                self.fault(
                    line,
                    f"`{{{name}}}` has no kind: add it to `quantities:` at the top (one of {', '.join(QUANTITIES)})",
                    once=True,
                )
                return match[0]
            kind = kind or self.quantities[name]
            if kind not in QUANTITIES:
                if match[2]:
                    self.fault(line, f"`{match[0]}`: `{kind}` is no kind of quantity{near(kind, QUANTITIES)}")
                return match[0]
            spec = QUANTITIES[kind]
            return f"{{{name}:{spec}}}" if spec else f"{{{name}}}"

        return re.sub(r"\{\{|\}\}|" + _NAME.pattern, lambda m: filled(m) if m[1] else m[0], text)
