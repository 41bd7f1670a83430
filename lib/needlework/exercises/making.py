"""From the data of a lesson and its functions to the questions that are asked and judged.

The data were read and checked when the course was built; here they are taken as they are.
"""

from __future__ import annotations

import functools
import importlib
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from needlework.exercises import wording
from needlework.exercises.binding import Binder
from needlework.exercises.families import FAMILIES, Applied, Member
from needlework.exercises.kinds import Choice, Givens, Number, Order, Question, Slip, Table, Text
from needlework.exercises.recent import Recent
from needlework.exercises.rules import Rule

Data = Mapping[str, Any]

_MOST_KEPT = 4  # draws whose tables are kept

_DIRECTED = re.compile(r"\b(?:heading|course|radial)\b")  # a line of a plan that speaks of one is a direction


def questions_of(data: Data, functions: object) -> dict[str, Question]:
    """Make the questions of a lesson.

    Parameters
    ----------
    data : mapping
        What ``lesson.json`` holds.
    functions : module
        The lesson's functions.

    Returns
    -------
    dict of str to Question
        The questions by key, in the order they are met.
    """
    made = (_question(each, data["key"], functions) for each in data["questions"])
    return {question.key: question for question in made}


def _question(data: Data, lesson: str, functions: object) -> Question:
    return _MAKERS[data["kind"]](data, _common(data, lesson, functions), Binder(functions, data.get("with", {})))


def _common(data: Data, lesson: str, functions: object) -> dict[str, Any]:
    """What every kind of question takes from the data."""
    bind = Binder(functions, data.get("with", {}))
    common: dict[str, Any] = {
        "key": data["key"],
        "lesson": lesson,
        "title": data["title"],
        "prompt": data.get("prompt", ""),
        "points": float(data.get("points", 1.0)),
        "shown": data.get("given", ""),
        "hints": tuple(data.get("hints", ("", "", ""))),
        "model": data.get("model", ""),
        "why": data.get("why", ""),
        "look": data.get("look", ""),
        "task": data.get("task", False),
        "slips": tuple(_slip(slip, bind) for slip in data.get("slips", ())),
        "keeps_apart": data.get("slips apart", False),
        "gives": data.get("gives", ""),
        "formerly": tuple(data.get("formerly", ())),
    }
    if "draw" in data:
        common["draw"] = getattr(functions, data["draw"])
    if "sound" in data:
        common["usable"] = bind.function(data["sound"])
    if "slips by" in data:
        named = bind.function(data["slips by"])
        common["named_by"] = lambda givens, answer: named({**givens, "answer": answer, "filled": answer})
    if "derive" in data:
        common["derived"] = _derived(data, bind)
    if "figure" in data:
        name, values = data["figure"]
        common["figure"] = f"show_{name}"
        if "call" in values:
            common["figure_values"] = bind.function(values["call"])
        else:
            constants = values["values"]
            common["figure_values"] = lambda _givens: dict(constants)
    return common


def _derived(data: Data, bind: Binder) -> Callable[[Givens], dict[str, Any]]:
    """Names for the texts only; a value that is the name of a text of this block stands for the text."""
    values = {name: bind.value(value) for name, value in data["derive"].items()}
    texts: Mapping[str, str] = data.get("texts", {})

    def derived(givens: Givens) -> dict[str, Any]:
        found = {name: value(givens) for name, value in values.items()}
        said = {
            name: wording.filled(texts[str(v)], {**givens, **found}) for name, v in found.items() if str(v) in texts
        }
        return found | said

    return derived


def _slip(data: Data, bind: Binder) -> Slip:
    code, _, variant = data["slip"].partition("/")
    wrong = bind.value(data["value"]) if "value" in data else None
    return Slip(code, wrong, data["says"], variant, rare=data.get("rare", False))


def _number(data: Data, common: dict[str, Any], bind: Binder) -> Number:
    step = float(data["to"])
    more: dict[str, Any] = {}
    if "close says" in data:
        more["close_says"] = data["close says"]
    if "example" in data:
        more["example"] = str(data["example"])
    if "passes" in data:
        least, most = (bind.value(end) for end in data["passes"])
        more["passes"] = lambda givens: (float(least(givens)), float(most(givens)))
    answer = bind.value(data["right"])
    more["taught"] = tuple(bind.value(each) for each in data.get("as taught", ()))
    if "family" in data:
        more["family"], common = _inherited(data, common, answer, more["taught"])
    if "also" in data:
        more |= {"also": bind.value(data["also"]), "also_says": data["also says"]}
    return Number(
        **common,
        answer=answer,
        unit=data["unit"],
        tolerance=_size(data.get("accept", 0.0 if "passes" in data else step / 2.0)),
        close=_size(data.get("close", 0.0)),
        decimals=max(0, len(f"{step:.6f}".rstrip("0").partition(".")[2])) if step < 1.0 else 0,
        to=step,
        circle=data["compare"] in ("circle", "line"),
        line=data["compare"] == "line",
        **more,
    )


def _inherited(
    data: Data,
    common: dict[str, Any],
    answer: Callable[[Givens], float],
    taught: tuple[Callable[[Givens], float], ...],
) -> tuple[Applied, dict[str, Any]]:
    """Apply the family of a question: its members become slips, in the question's own words where it has some."""
    family = FAMILIES[data["family"]["name"]]
    slips = list(common["slips"])
    applied = Applied(
        family,
        answer,
        data["family"].get("names", {}),
        frozenset(data["family"].get("without", ())),
        frozenset(slip.code for slip in slips if slip.rare),
        taught,
    )
    for member in family.members:
        if member.code in applied.without:
            continue
        wrong = functools.partial(_alone, applied, member)
        as_member: dict[str, Any] = {"inherited": True, "never_passes": member.never_passes}
        own = [n for n, slip in enumerate(slips) if slip.code == member.code]
        if not own:
            says = next((slip.says for slip in slips if slip.code == member.like), member.says)
            slips.append(replace(Slip(member.code, wrong, says, rare=member.rare), **as_member))
        for n in own:
            if slips[n].wrong is None:
                slips[n] = replace(slips[n], wrong=wrong, rare=slips[n].rare or member.rare, **as_member)
    return applied, {**common, "slips": tuple(slips)}


def _alone(applied: Applied, member: Member, givens: Givens) -> float | None:
    return applied.value(givens, (member,))


def _size(value: Any) -> float:
    """A tolerance that is the same in every row; one that is not is filled in row by row."""
    return 0.0 if isinstance(value, Mapping) else float(value)


def _choice(data: Data, common: dict[str, Any], bind: Binder) -> Choice:
    right, options = data["right"], data["options"]
    correct: Any = bind.value(right) if isinstance(right, Mapping) else right
    if isinstance(correct, list):
        correct = tuple(correct)
    made = Choice(**common, options=options, correct=correct)
    # A letter's own sentence falls away where the letter is right.
    fixed = [isinstance(slip.get("value"), str) for slip in data.get("slips", ())]
    if callable(correct) and any(fixed):
        slips = tuple(
            replace(slip, wrong=functools.partial(_where_wrong, correct, each["value"])) if own else slip
            for own, slip, each in zip(fixed, made.slips, data["slips"], strict=True)
        )
        return replace(made, slips=slips)
    return made


def _where_wrong(correct: Callable[[Givens], str | Sequence[str]], letter: str, givens: Givens) -> str | None:
    right = correct(givens)
    return None if letter in ([right] if isinstance(right, str) else right) else letter


def _order(data: Data, common: dict[str, Any], _bind: Binder) -> Order:
    return Order(
        **common,
        cards=data["options"],
        correct=data["right"],
        free=tuple(data.get("free", ())),
        because=data.get("because", {}),
    )


def _text(_data: Data, common: dict[str, Any], _bind: Binder) -> Text:
    return Text(**common)


def _rule(data: Data, common: dict[str, Any], bind: Binder) -> Rule:
    return Rule(
        **common,
        symbols=tuple(data["names"]),
        truth=bind.value(data["right"]),
        case=getattr(bind.functions, data["case"]),
        within=data["within"],
        example=data["example"],
        unit=data["unit"],
        **({"tries": data["tries"]} if "tries" in data else {}),
    )


def _table(data: Data, common: dict[str, Any], bind: Binder) -> Table:
    groups: list[tuple[Any, list[_Cell]]] = []
    for each in data["cells"]:
        rows, cell = each.get("for"), _Cell(each, common["lesson"], bind.functions)
        if rows is not None and groups and groups[-1][0] == rows:
            groups[-1][1].append(cell)
        else:
            groups.append((rows, [cell]))

    worked = Recent(_MOST_KEPT)

    def cells(givens: Givens) -> dict[str, Question]:
        known = worked.of(givens)
        if "cells" not in known:
            known["cells"] = filled_in(givens)
        return dict(known["cells"])

    def filled_in(givens: Givens) -> dict[str, Question]:
        made = {}
        above: dict[str, Any] = {}
        for rows, group in groups:
            for row in [{}] if rows is None else rows_of(rows, givens, bind):
                for cell in group:
                    one = cell.in_row(givens, {**above, **row})
                    made[one.key] = one
                    if one.gives:
                        above[one.gives] = one.right(givens)
        return made

    return Table(**common, cells=cells, listed=data.get("listed", False), gone=tuple(data.get("gone", ())))


class _Cell:
    """A cell of a table, made once; what differs from row to row and with the draw is filled in when it is asked."""

    def __init__(self, data: Data, lesson: str, functions: object) -> None:
        bind = Binder(functions, data.get("with", {}))
        common = _common({**data, "title": data["key"]}, lesson, functions)
        self.cell = (_number if data["kind"] == "number" else _choice)(data, common, bind)
        sizes = (("tolerance", data.get("accept")), ("close", data.get("close")))
        self.sizes = {name: bind.value(value) for name, value in sizes if isinstance(value, Mapping)}

    def in_row(self, givens: Givens, row: Mapping[str, Any]) -> Question:
        cell = replace(self.cell, row=row) if row else self.cell
        names = cell.names(givens)
        label = cell.fill(cell.key, givens)
        if cell.formerly:
            cell = replace(cell, formerly=tuple(cell.fill(each, givens) for each in cell.formerly))
        changed: dict[str, Any] = {name: float(size(names)) for name, size in self.sizes.items()}
        if label != cell.key:
            changed |= {"key": label, "title": label}
        return replace(cell, **changed) if changed else cell


def rows_of(rows: Data, givens: Givens, bind: Binder) -> list[dict[str, Any]]:
    """Give what each row of a repeated cell adds to the givens.

    Parameters
    ----------
    rows : mapping
        As the data hold it: ``given`` (name of a drawn list, or names of drawn rows), ``call`` (a function that
        gives the rows) or ``each`` (the rows themselves), and ``names`` of what a row holds; without names every
        row is a mapping.
    givens : mapping
        The numbers of the question.
    bind : Binder
        The functions of the lesson.

    Returns
    -------
    list of dict
        With ``number`` (from 1) and ``letter`` (from A) besides.
    """
    if "call" in rows:
        found = bind.function(rows["call"])(givens)
    elif "each" in rows:
        found = rows["each"]
    elif isinstance(rows["given"], str):
        found = givens[rows["given"]]
    else:
        found = [givens[name] for name in rows["given"]]
    names = rows.get("names")
    made = []
    for number, row in enumerate(found, 1):
        if names is None:
            values = dict(row)
        elif len(names) == 1:
            values = {names[0]: row}
        else:
            values = dict(zip(names, row, strict=True))
        made.append({"number": number, "letter": chr(64 + number), **values})
    return made


def _goals(listed: Sequence[Data], bind: Binder) -> tuple[Any, ...]:
    made = []
    for goal in listed:
        module, _, name = goal["goal"].partition(".")
        factory = getattr(importlib.import_module(f"needlework.exercises.goals.{module}"), name)
        values = {n: v["value"] if "value" in v else bind.value(v["of"]) for n, v in goal.get("with", {}).items()}
        made.append(factory(**values))
    return tuple(made)


def _flown(data: Data, bind: Binder, names: Sequence[str]) -> dict[str, Any]:
    """What both kinds of flown questions take from the data, where it is given."""
    made: dict[str, Any] = {"goals": _goals(data["goals"], bind)}
    made |= {name.replace(" ", "_"): bind.value(data[name]) for name in names if name in data}
    made |= {
        name: data[key] for key, name in (("on", "on"), ("flown by", "flown_by"), ("view", "view")) if key in data
    }
    if "shown" in data:
        made["views"] = tuple(data["shown"])
    return made


def _plan(data: Data, common: dict[str, Any], bind: Binder) -> Question:
    from needlework.exercises.flown import Blank, FilledPlan

    blanks = {}
    for label, blank in data["blanks"].items():
        made: dict[str, Any] = {"words": tuple(blank["words"])} if "words" in blank else {}
        if "accept" in blank:
            made["tolerance"] = float(blank["accept"])
        if "example" in blank:
            made["example"] = str(blank["example"])
        made["formerly"] = tuple(blank.get("formerly", ()))
        made["circle"] = bool(_DIRECTED.search(label)) and "words" not in blank
        blanks[label] = Blank(**made)
    rights = {label: bind.value(blank["right"]) for label, blank in data["blanks"].items() if "right" in blank}
    whole = bind.value(data["right"]) if "right" in data else None

    def right(givens: Givens) -> dict[str, Any]:
        found = dict(whole(givens)) if whole else {}
        found |= {label: value(givens) for label, value in rights.items()}
        return {label: found[label] for label in blanks}

    more = _flown(data, bind, ("begin", "drawn"))
    rows, days = bind.value(data["rows"]), bind.value(data["days"])
    if "read as" in data:
        read_as = bind.function(data["read as"])
        more["read_as"] = lambda givens, filled: read_as({**givens, "filled": filled})
    if "minutes" in data:
        more["minutes"] = float(data["minutes"])
    if "gone" in data:
        more["gone"] = tuple(data["gone"])
    if "lost" in data:
        more["unsafe_share"] = float(data["lost"])
    return FilledPlan(
        **common,
        **more,
        blanks=blanks,
        rows=lambda givens, filled: rows({**givens, "filled": filled}),
        days=lambda givens, hidden: days({**givens, "hidden": hidden}),
        reference=right,
        named_always=data.get("named mistakes count") == "always",
    )


def _flight(data: Data, common: dict[str, Any], bind: Binder) -> Question:
    from needlework.exercises.flown import FlownByHand

    more = _flown(
        data,
        bind,
        ("begin", "day", "rows", "radials", "drawn", "courses", "tuned", "calls", "fails", "sees", "ends_on"),
    )
    for key in ("ends_at_dme_nm", "ends_below_dme_nm", "most_min"):
        if key in data:
            more[key] = float(data[key])
    if "entry" in data:
        more |= {"entry": data["entry"], "laps": int(data.get("laps", 0))}
    more["takes_own"] = bool(data.get("takes own", False))
    return FlownByHand(**common, **more, goal=data["goal"])


_MAKERS: dict[str, Callable[[Data, dict[str, Any], Binder], Question]] = {
    "number": _number,
    "choice": _choice,
    "table": _table,
    "order": _order,
    "rule": _rule,
    "plan": _plan,
    "flight": _flight,
    "text": _text,
}
