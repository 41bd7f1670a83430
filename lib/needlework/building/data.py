"""From a lesson as it is written to the data a kernel loads, every name in it checked against the functions."""

from __future__ import annotations

import importlib
import inspect
import re
import typing
from collections.abc import Callable, Iterable
from dataclasses import replace
from types import ModuleType, SimpleNamespace
from typing import Any

from needlework.building.faults import Faults, listed, near
from needlework.building.reading import Lesson, options, texts
from needlework.building.scan import Block
from needlework.building.scope import ALWAYS, Scope, draws, functions_of
from needlework.building.settings import Settings
from needlework.exercises.binding import Binder
from needlework.exercises.catalogue import FORMS

_GOALS = ("common", "passage", "intercept", "arc", "descent", "missed", "whole")
"""Modules of goals."""

_DIRECTIONS = ("degrees magnetic", "degrees true")
_SPOKEN = {"ft": "feet", "kt": "knots", "fpm": "feet per minute"}
_OF_BLANKS = ("accept", "example", "words", "right", "stub", "formerly")
_PRECISION = {1: "whole", 0.1: "one decimal", 0.01: "two decimals"}


def data_of(lesson: Lesson, functions: ModuleType, faults: Faults) -> dict[str, Any]:
    """Give what a kernel loads of a lesson; every fault is told.

    Parameters
    ----------
    lesson : Lesson
        The lesson.
    functions : module
        Its functions.
    faults : Faults
        Where to tell what is wrong.

    Returns
    -------
    dict
        Plain data, without lines and without worked code.
    """
    questions = {block.name: block for block in lesson.questions}
    scope = Scope(functions_of(functions), lesson.quantities, faults, "", questions=questions)
    return {
        "form": FORMS[-1],
        "key": lesson.key,
        "title": lesson.top.get("title", ""),
        "minutes": sum(lesson.sittings),
        "sittings": lesson.sittings,
        "can": list(lesson.top.get("afterwards") or ()),
        "questions": [
            _question(block, scope) | {"sitting": sitting}
            for block, sitting in lesson.by_sitting()
            if not block.broken
        ],
    }


def _question(block: Block, scope: Scope) -> dict[str, Any]:
    settings = block.settings
    scope = replace(scope, where=block.name)
    if isinstance(settings.get("draw"), str):
        scope = scope.draw("draw", settings["draw"], settings.line_of("draw"))
    scope = _renamed(block, scope)
    made: dict[str, Any] = {
        "kind": block.kind,
        "key": block.name,
        "title": settings.get("title", block.name),
        "points": settings.get("marks", 1),
    }
    if settings.get("task"):
        made["task"] = True
    if "draw" in settings:
        made["draw"] = settings["draw"]
    if "figure" in settings:
        made["figure"] = _figure(settings, scope)
    scope = _common(block, scope, made)
    prompt = " ".join(text for text in (block.prompt, ending(block)) if text)
    made["prompt"] = scope.template(prompt, block.line)
    for kind in ("given", "model", "why", "look", "goal"):
        for item in texts(block, kind):
            made[kind] = scope.template(item.says, item.line, *(("answer",) if kind == "model" else ()))
    hints = texts(block, "hint")
    if hints:
        made["hints"] = [scope.template(item.says, item.line) for item in hints]
    _KINDS[block.kind](block, scope, made, None)
    return made


def _renamed(block: Block, scope: Scope) -> Scope:
    """Take up what ``with`` says, and tell what it names that is not there."""
    given = block.settings.get("with")
    if not isinstance(given, Settings):
        return scope
    plainly = replace(scope, renamed={})
    renamed = {name: plainly.value(f"with {name}", value, given.line_of(name)) for name, value in given.items()}
    return replace(scope, renamed={**scope.renamed, **renamed})


def _common(block: Block, scope: Scope, made: dict[str, Any]) -> Scope:
    """Add what questions and cells have alike; give the names with the derived ones."""
    settings = block.settings
    if scope.renamed:
        made["with"] = dict(scope.renamed)
    derived = settings.get("derive")
    if isinstance(derived, Settings):
        made["derive"] = {
            **made.get("derive", {}),
            **{name: scope.value(f"derive {name}", value, derived.line_of(name)) for name, value in derived.items()},
        }
        scope = replace(scope, derived=scope.derived | frozenset(derived))
    named = {item.name: scope.template(item.says, item.line) for item in texts(block, "text")}
    if named:
        made["texts"] = {**made.get("texts", {}), **named}
    if "sound" in settings:
        made["sound"] = scope.function("sound", settings["sound"], settings.line_of("sound"))["call"]
    if "slips by" in settings:
        roles = ("answer", "filled")
        made["slips by"] = scope.function("slips by", settings["slips by"], settings.line_of("slips by"), roles)[
            "call"
        ]
    if settings.get("slips apart"):
        made["slips apart"] = True
    return scope


def _figure(settings: Settings, scope: Scope) -> list[Any]:
    figure = settings["figure"]
    if not isinstance(figure, Settings) or len(figure) != 1:
        return ["", {"values": {}}]
    name, values = next(iter(figure.items()))
    if isinstance(values, str) and values:
        return [name, scope.function(f"figure {name}", values, figure.line_of(name))]
    return [name, {"values": plain(values) if isinstance(values, Settings) else {}}]


def plain(value: Any) -> Any:
    """Give settings as plain data.

    Parameters
    ----------
    value : object
        Settings, a list or a single value.

    Returns
    -------
    object
        Made of dict, list, text and numbers only.
    """
    if isinstance(value, dict):
        return {name: plain(each) for name, each in value.items()}
    if isinstance(value, list):
        return [plain(each) for each in value]
    return value


def ending(block: Block) -> str:
    """Give the words that end a question: unit and precision, where the author wrote none.

    Parameters
    ----------
    block : Block
        A question.

    Returns
    -------
    str
        One sentence; empty for a kind that needs none.
    """
    settings = block.settings
    if "ending" in settings:
        return str(settings["ending"])
    if block.kind != "number" or "unit" not in settings or "to" not in settings:
        return ""
    words = f"{spoken(settings['unit'])}, {precision(settings['to'])}."
    return words[0].upper() + words[1:]


def spoken(unit: Any) -> str:
    """Give a unit as it is spoken.

    Parameters
    ----------
    unit : str
        As the verdicts write it.

    Returns
    -------
    str
        For example ``"feet"``.
    """
    return _SPOKEN.get(str(unit), str(unit))


def precision(to: Any) -> str:
    """Give a precision in words.

    Parameters
    ----------
    to : float
        The step, in the unit.

    Returns
    -------
    str
        For example ``"one decimal"``.
    """
    return _PRECISION.get(to, f"to the nearest {to:g}" if isinstance(to, (int, float)) else "")


def _slips(block: Block, scope: Scope, wrong: Callable[[Any, int], Any], *more: str) -> list[dict[str, Any]]:
    made = []
    for item in texts(block, "slip"):
        slip: dict[str, Any] = {"slip": item.name}
        if item.under:
            slip["value"] = item.under
        elif item.value is not None:
            slip["value"] = wrong(item.value, item.line)
        if item.rare:
            slip["rare"] = True
        slip["says"] = scope.template(item.says, item.line, *more)
        made.append(slip)
    return made


def _number(block: Block, scope: Scope, made: dict[str, Any], table: Block | None) -> None:
    settings = block.settings
    for name in ("right", "accept", "close"):
        if name in settings:
            if table is None and name != "right" and isinstance(settings[name], str):
                scope.fault(
                    settings.line_of(name), f"{name}: only in a cell of a table may it differ; expected a number"
                )
            made[name] = scope.value(name, settings[name], settings.line_of(name))
    made["unit"] = settings.get("unit", "")
    made["to"] = settings.get("to", 1)
    made["compare"] = settings.get("compare", "circle" if made["unit"] in _DIRECTIONS else "plain")
    if "example" in settings:
        made["example"] = settings["example"]
    if isinstance(settings.get("passes"), list):
        line = settings.line_of("passes")
        made["passes"] = [scope.value("passes", end, line) for end in settings["passes"]]
    if "as taught" in settings:
        ways, line = settings["as taught"], settings.line_of("as taught")
        made["as taught"] = [
            scope.value("as taught", each, line) for each in (ways if isinstance(ways, list) else [ways])
        ]
    if isinstance(settings.get("also"), Settings) and "from" in settings["also"]:
        made["also"] = scope.value("also", settings["also"]["from"], settings["also"].line_of("from"))
        made["also says"] = "".join(scope.template(item.says, item.line) for item in texts(block, "also"))
    for item in texts(block, "close"):
        made["close says"] = scope.template(item.says, item.line)
    if "family" in settings:
        made["family"] = _family(settings, scope)
    made["slips"] = _slips(block, scope, lambda value, line: scope.value("slip", value, line))


def _family(settings: Settings, scope: Scope) -> dict[str, Any]:
    family = settings["family"]
    name = next(iter(family), "") if isinstance(family, Settings) else str(family)
    made: dict[str, Any] = {"name": name}
    if isinstance(family, Settings) and isinstance(family[name], Settings):
        made["names"] = {
            q: given if isinstance(given, (int, float)) else str(given) for q, given in family[name].items()
        }
        for quantity, given in made["names"].items():
            if isinstance(given, str) and given not in scope.drawn | scope.above and "*" not in scope.drawn:
                line = family[name].line_of(quantity)
                scope.fault(line, f"family: `{given}`, for {quantity}, is not drawn here{near(given, scope.drawn)}")
    if "without" in settings:
        made["without"] = list(settings["without"])
    return made


def _choice(block: Block, scope: Scope, made: dict[str, Any], table: Block | None) -> None:
    settings = block.settings
    letters = options(block, table)
    lines = {item.name: item.line for item in texts(block, "option")}
    made["options"] = {
        letter: scope.template(says, lines.get(letter, block.line)) for letter, says in letters.items()
    }
    right, line = settings.get("right"), settings.line_of("right")
    if isinstance(right, list):
        for each in right:
            if each not in letters:
                scope.fault(line, f"right: `{each}` is no option ({', '.join(letters)}){near(str(each), letters)}")
        made["right"] = right
    elif str(right) in letters:
        made["right"] = str(right)
    elif str(right) in scope.functions or str(right) in scope.drawn:
        made["right"] = scope.value("right", right, line)
    elif right is not None:
        known = [*letters, *(n for n, f in scope.functions.items() if not draws(f))]
        scope.fault(
            line,
            f"right: `{right}` is neither an option ({', '.join(letters)}) nor a function{near(str(right), known)}",
        )
    made["slips"] = _slips(
        block,
        scope,
        lambda value, at: value if value in letters else scope.value("slip", value, at),
        "chosen",
        "Chosen",
    )


def _order(block: Block, scope: Scope, made: dict[str, Any], _table: Block | None) -> None:
    settings = block.settings
    made["options"] = options(block)
    made["right"] = str(settings.get("right", ""))
    if "free" in settings:
        made["free"] = settings["free"]
    made["because"] = {item.name: item.says for item in texts(block, "because")}
    made["slips"] = _slips(block, scope, lambda value, _line: value)


def _text(_block: Block, _scope: Scope, made: dict[str, Any], _table: Block | None) -> None:
    made["task"] = True


def _rule(block: Block, scope: Scope, made: dict[str, Any], _table: Block | None) -> None:
    settings = block.settings
    names = settings.get("names") or []
    made |= {"names": names, "example": settings.get("example"), "unit": settings.get("unit")}
    within = re.fullmatch(r"([0-9.]+) ?%", str(settings.get("within", "")))
    made["within"] = float(within[1]) / 100.0 if within else 0.0
    inner = replace(scope, drawn=frozenset(names))
    if "right" in settings:
        made["right"] = inner.function("right", settings["right"], settings.line_of("right"))
    if "case" in settings:
        scope.draw("case", str(settings["case"]), settings.line_of("case"))
        made["case"] = settings["case"]
    if "tries" in settings:
        made["tries"] = settings["tries"]
    made["slips"] = _slips(block, scope, lambda value, _line: value)


def _table(block: Block, scope: Scope, made: dict[str, Any], _outer: Block | None) -> None:
    if "listed" in block.settings:
        made["listed"] = True
    made["cells"] = []
    above: dict[str, str] = {}
    for cell in block.cells:
        if cell.broken or cell.kind not in ("number", "choice"):
            continue
        within = replace(scope.within(f"{block.name}, cell {cell.name}"), above=frozenset(above))
        one: dict[str, Any] = {"kind": cell.kind}
        # What the table says of its texts holds in its cells.
        one |= {name: made[name] for name in ("derive", "texts") if name in made}
        if "for" in cell.settings:
            one["for"], names = rows_of(cell, within)
            within = within.within(within.where, names)
        within = _renamed(cell, within)
        within = _common(cell, within, one)
        one["key"] = within.template(cell.name, cell.line)
        for item in texts(cell, "look"):
            one["look"] = within.template(item.says, item.line)
        _KINDS[cell.kind](cell, within, one, block)
        if "formerly" in cell.settings:
            line = cell.settings.line_of("formerly")
            one["formerly"] = [within.template(label, line) for label in cell.settings["formerly"]]
        if "gives" in cell.settings:
            one["gives"] = _given_below(cell, within, above)
        made["cells"].append(one)
    made["slips"] = []
    if "gone" in block.settings:
        made["gone"] = list(block.settings["gone"])


def _given_below(cell: Block, scope: Scope, above: dict[str, str]) -> str:
    """See what a cell gives to the cells below it; give the name."""
    name, line = str(cell.settings["gives"]), cell.settings.line_of("gives")
    if name in scope.drawn:
        scope.fault(line, f"gives: `{name}` is drawn here; what a cell gives has a name of its own")
    if name in above:
        scope.fault(line, f"gives: `{name}` is given by the cell {above[name]} as well")
    above[name] = cell.name
    return name


def rows_of(cell: Block, scope: Scope) -> tuple[dict[str, Any], set[str]]:
    """See over what a cell is repeated; give that as data, and the names its rows add.

    Parameters
    ----------
    cell : Block
        A cell with ``for``.
    scope : Scope
        The names of its table.

    Returns
    -------
    tuple of (dict, set of str)
        What :func:`needlework.exercises.making.rows_of` takes, and the names.
    """
    said, line = cell.settings["for"], cell.settings.line_of("for")
    expected = (
        "for: expected `{drawn list: [name, name]}`, `{drawn list: name}`, `{name: [1.0, 2.0]}`, a drawn list of "
        "mappings, or a list of drawn mappings"
    )

    def keys(rows: Iterable[Any]) -> set[str]:
        return {str(name) for row in rows if isinstance(row, dict) for name in row}

    if isinstance(said, Settings) and len(said) == 1:
        name, inner = next(iter(said.items()))
        if name in scope.drawn:
            names = [inner] if isinstance(inner, str) else inner
            if isinstance(names, list) and names and all(isinstance(each, str) for each in names):
                return {"given": name, "names": names}, {*names, *ALWAYS}
        elif (
            isinstance(inner, list)
            and inner
            and all(isinstance(each, str) for each in inner)
            and name not in scope.drawn
        ):
            if "*" in scope.drawn:
                return {"given": name, "names": inner}, {*inner, *ALWAYS}
            return {"each": inner, "names": [name]}, {name, *ALWAYS}
        elif isinstance(inner, list) and inner:
            return {"each": inner, "names": [name]}, {name, *ALWAYS}
        elif "*" in scope.drawn:
            return {"given": name, "names": [str(inner)]}, {str(inner), *ALWAYS}
        scope.fault(line, f"{expected} (drawn: {listed(scope.drawn)}){near(name, scope.drawn)}")
        return {"each": [], "names": [name]}, {"*"}
    if isinstance(said, str) and said in scope.functions and said not in scope.drawn:
        made = scope.function("for", said, line)
        call = Binder(SimpleNamespace(**scope.functions), scope.renamed).function(said)
        rows: list[Any] = []
        try:
            rows = [row for sample in scope.samples for row in call({"seed": "", **sample})]
        except Exception as error:
            scope.fault(line, f"for: `{said}` fails: {type(error).__name__}: {error}")
        return made, {*keys(rows), *ALWAYS}
    if isinstance(said, str) and said in scope.drawn:
        return {"given": said}, {*keys(r for sample in scope.samples for r in sample.get(said, ())), *ALWAYS}
    if isinstance(said, list) and said and all(isinstance(each, str) and each in scope.drawn for each in said):
        return {"given": said}, {*keys(sample.get(each) for sample in scope.samples for each in said), *ALWAYS}
    if isinstance(said, list) and said and all(isinstance(each, Settings) for each in said):
        return {"each": plain(said)}, {*keys(said), *ALWAYS}
    if "*" not in scope.drawn:
        known = scope.drawn
        scope.fault(line, f"{expected} (drawn: {listed(known)}){near(str(said), known)}")
    return {"each": []}, {"*"}


def _plan(block: Block, scope: Scope, made: dict[str, Any], _table: Block | None) -> None:
    settings = block.settings
    made["blanks"] = {}
    blanks = settings.get("blanks")
    for label, blank in blanks.items() if isinstance(blanks, Settings) else ():
        if isinstance(blank, list):
            made["blanks"][label] = {"words": blank}
            continue
        one = {
            name: plain(value) for name, value in blank.items() if name in ("accept", "example", "words", "formerly")
        }
        if "right" in blank:
            one["right"] = scope.value(f"{label}: right", blank["right"], blank.line_of("right"))
        for name in blank:
            if name not in _OF_BLANKS:
                scope.fault(
                    blank.line_of(name), f"{label}: `{name}` is no setting of a blank{near(name, _OF_BLANKS)}"
                )
        made["blanks"][label] = one
    _flown(block, scope, made, {"begin": (), "rows": ("filled",), "days": ("hidden",), "right": (), "drawn": ()})
    if "read as" in settings:
        line = settings.line_of("read as")
        made["read as"] = scope.function("read as", settings["read as"], line, ("filled",))["call"]
    for name in ("minutes", "named mistakes count", "lost", "gone"):
        if name in settings:
            made[name] = settings[name]
    made["slips"] = _slips(block, scope, lambda value, line: scope.function("slip", value, line))


def _flight(block: Block, scope: Scope, made: dict[str, Any], _table: Block | None) -> None:
    names = ("begin", "day", "rows", "radials", "drawn", "courses", "tuned", "calls", "fails", "sees", "ends_on")
    _flown(block, scope, made, dict.fromkeys(names, ()))
    for name in ("ends_at_dme_nm", "ends_below_dme_nm", "most_min", "entry", "laps", "takes own"):
        if name in block.settings:
            made[name] = block.settings[name]
    made["slips"] = []


def _flown(block: Block, scope: Scope, made: dict[str, Any], names: dict[str, tuple[str, ...]]) -> None:
    settings = block.settings
    for name, roles in names.items():
        if name in settings:
            made[name] = scope.function(name, settings[name], settings.line_of(name), roles)
    for name in ("on", "flown by"):
        if name in settings:
            made[name] = settings[name]
    if "view" in settings:
        made["view"] = plain(settings["view"])
    if "shown" in settings:
        shown = settings["shown"]
        made["shown"] = shown if isinstance(shown, list) else [shown]
    made["goals"] = _goals(settings, scope)


def factories() -> dict[str, tuple[str, Callable[..., Any]]]:
    """Find the functions that make goals.

    Returns
    -------
    dict of str to (str, callable)
        By name, with the module they stand in.
    """
    found: dict[str, tuple[str, Callable[..., Any]]] = {}
    for name in _GOALS:
        module = importlib.import_module(f"needlework.exercises.goals.{name}")
        for each, function in vars(module).items():
            own = inspect.isfunction(function) and function.__module__ == module.__name__
            if own and not each.startswith("_") and inspect.signature(function).return_annotation in ("Goal",):
                found[each] = (name, function)
    return found


def _goals(settings: Settings, scope: Scope) -> list[dict[str, Any]]:
    listed_goals, known, line = settings.get("goals"), factories(), settings.line_of("goals")
    if not isinstance(listed_goals, list) or not listed_goals:
        scope.fault(line, "goals: expected a list of goals, `- name` or `- name: {parameter: value}`")
        return []
    made = []
    for goal in listed_goals:
        values: Any = Settings(line)
        if isinstance(goal, Settings) and list(goal) == ["like"]:
            made += _like_goals(goal, scope)
            continue
        if isinstance(goal, Settings) and len(goal) == 1:
            name, values = next(iter(goal.items()))
            line = goal.line
            if not isinstance(values, Settings):
                scope.fault(line, f"goals: {name}: expected `{{parameter: value}}` behind it")
                continue
        else:
            name = str(goal)
        if name not in known:
            scope.fault(line, f"goals: there is no goal `{name}`{near(name, known)}")
            continue
        module, factory = known[name]
        one: dict[str, Any] = {"goal": f"{module}.{name}"}
        parameters = inspect.signature(factory).parameters
        hints = typing.get_type_hints(factory)
        for parameter, value in values.items():
            at = values.line_of(parameter)
            if parameter not in parameters:
                scope.fault(
                    at, f"goals: {name} takes {listed(parameters)}, not `{parameter}`{near(parameter, parameters)}"
                )
                continue
            callables = [
                t for t in _parts(hints[parameter]) if typing.get_origin(t) is typing.get_origin(Callable[..., Any])
            ]
            if callables:
                first = len(typing.get_args(callables[0])[0]) - 1
                label = f"goals: {name}: {parameter}"
                of = scope.function(label, value, at, first=first) if first else scope.value(label, value, at)
                one.setdefault("with", {})[parameter] = {"of": of}
            else:
                one.setdefault("with", {})[parameter] = {"value": plain(value)}
        missing = [p.name for p in parameters.values() if p.default is p.empty and p.name not in values]
        if missing:
            scope.fault(line, f"goals: {name} needs {listed(missing)}")
        made.append(one)
    return made


def _like_goals(goal: Settings, scope: Scope) -> list[dict[str, Any]]:
    """Take goals from another question: all of them, or from a named one on."""
    said, line = goal["like"], goal.line_of("like")
    if isinstance(said, str):
        said = {"question": said}
    other = scope.questions.get(str(said.get("question")) if isinstance(said, dict) else "")
    if other is None:
        asked = str(said.get("question")) if isinstance(said, dict) else ""
        scope.fault(line, f"goals: like: there is no question `{asked}` in this lesson{near(asked, scope.questions)}")
        return []
    found = _goals(other.settings, scope)
    begin = said.get("from")
    names = [each["goal"].partition(".")[2] for each in found]
    if begin is None:
        return found
    if begin not in names:
        scope.fault(line, f"goals: like: {other.name} has no goal `{begin}`{near(str(begin), names)}")
        return []
    return found[names.index(begin) :]


def _parts(hint: Any) -> list[Any]:
    """A type, or the types of a union."""
    return (
        [hint, *typing.get_args(hint)]
        if typing.get_origin(hint) is not typing.get_origin(Callable[..., Any])
        else [hint]
    )


_KINDS: dict[str, Callable[[Block, Scope, dict[str, Any], Block | None], None]] = {
    "number": _number,
    "choice": _choice,
    "table": _table,
    "order": _order,
    "rule": _rule,
    "plan": _plan,
    "flight": _flight,
    "text": _text,
}
