"""A lesson as its file says it, and whether every block has what its kind needs."""

from __future__ import annotations

import keyword
import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from needlework.basis.errors import BadData
from needlework.building.faults import Faults, listed, meant, near
from needlework.building.scan import Block, Item, Note, Part, Prose, scan
from needlework.building.settings import LOADERS, Settings
from needlework.exercises.families import FAMILIES

KINDS = ("number", "choice", "table", "order", "rule", "plan", "flight", "text")
"""Kinds of questions."""

OTHERS = ("picture", "what-if", "reveal", "cell")
"""Kinds of blocks that are no questions."""

QUANTITIES = {
    "direction": "03.0f",
    "feet": ",.0f",
    "whole": ".0f",
    "short": "g",
    "tenths": ".1f",
    "hundredths": ".2f",
    "plain": "",
    "minutes": "#minute",
    "seconds": "#second",
    "miles": "#mile",
    "degrees": "#degree",
}
"""Kinds of quantities, and how each is written."""

PARTS = (
    "recall",
    "predict",
    "concept",
    "example",
    "exercise",
    "what-if",
    "flight",
    "task",
    "if-it-looks-wrong",
    "rules",
    "exit",
)
"""What a part of a lesson can be: the tags of its cells."""

_NOTES = ("sitting", "part", "beat")
# Keys and labels are names of folders and cells, and are written in the notebook's code.
_KEY = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_LONGEST_LABEL = 50
_NUMBER = (int, float)


def _text(value: Any) -> str:
    return "" if isinstance(value, str) and value else "a text"


def _words(value: Any) -> str:
    return "" if isinstance(value, str) or (isinstance(value, _NUMBER) and not isinstance(value, bool)) else "a text"


def _identifier(value: Any) -> str:
    good = isinstance(value, str) and value.isidentifier() and not keyword.iskeyword(value)
    return "" if good else "a name as Python takes it, for example `course_in`"


def _amount(value: Any) -> str:
    good = isinstance(value, _NUMBER) and not isinstance(value, bool) and value > 0
    return "" if good else "a number above zero"


def _whole(value: Any) -> str:
    return "" if isinstance(value, int) and not isinstance(value, bool) and value > 0 else "a whole number above zero"


def _yes(value: Any) -> str:
    return "" if isinstance(value, bool) else "true or false"


def _value(value: Any) -> str:
    if isinstance(value, str) and value.isidentifier():
        return ""
    if isinstance(value, _NUMBER) and not isinstance(value, bool):
        return ""
    return "a number, or the name of what is drawn or of a function"


def _two_values(value: Any) -> str:
    return "" if isinstance(value, list) and len(value) == 2 and not any(map(_value, value)) else "[least, greatest]"


def _function(value: Any) -> str:
    return "" if isinstance(value, str) and value.isidentifier() else "the name of a function"


def _any(_value: Any) -> str:
    return ""


def _texts(value: Any) -> str:
    good = isinstance(value, list) and value and all(isinstance(each, str) and each for each in value)
    return "" if good else "a list of texts"


def _mapping(value: Any) -> str:
    return "" if isinstance(value, Settings) else "a mapping `{name: value}`"


def _one_of(*words: str) -> Callable[[Any], str]:
    return lambda value: "" if value in words else " or ".join(f"`{word}`" for word in words)


def _views(value: Any) -> str:
    found = value if isinstance(value, list) else [value]
    return (
        ""
        if all(each in ("plan", "side", "procedure") for each in found)
        else "`plan`, `side`, `procedure` or a list"
    )


def _percent(value: Any) -> str:
    good = isinstance(value, str) and re.fullmatch(r"[0-9.]+ ?%", value)
    return "" if good else "a percentage, for example `10 %`"


def _named(value: Any) -> str:
    if not isinstance(value, Settings):
        return "a mapping `{name: function}`"
    return (
        "" if all(name.isidentifier() and not _value(each) for name, each in value.items()) else "names and functions"
    )


def _renamed(value: Any) -> str:
    expected = "a mapping `{parameter: given, function or number}`"
    if not isinstance(value, Settings) or not all(name.isidentifier() for name in value):
        return expected
    return "" if not any(map(_value, value.values())) else expected


def _family(value: Any) -> str:
    name = next(iter(value)) if isinstance(value, Settings) and len(value) == 1 else value
    if not isinstance(name, str) or name not in FAMILIES:
        return f"one of {', '.join(FAMILIES)}, or one of them with `{{quantity: given}}`"
    renamed = value[name] if isinstance(value, Settings) else Settings(0)
    takes = FAMILIES[name].takes
    if not isinstance(renamed, Settings) or not set(renamed) <= set(takes):
        return f"quantities of this family: {', '.join(takes)}"
    return ""


def _figure(value: Any) -> str:
    if not isinstance(value, Settings) or len(value) != 1:
        return "one picture `{name: {values}}`"
    inner = next(iter(value.values()))
    return "" if isinstance(inner, (Settings, str)) else "one picture `{name: {values}}` or `{name: function}`"


_ALL: dict[str, Callable[[Any], str]] = {
    "like": _text,
    "with": _renamed,
    "derive": _named,
    "sound": _function,
}
_QUESTION: dict[str, Callable[[Any], str]] = {
    "title": _text,
    "as": _identifier,
    "marks": _amount,
    "task": _yes,
    "draw": _function,
    "ending": _any,
    "stub": _any,
    "figure": _figure,
    "part": _text,
}
_CELL: dict[str, Callable[[Any], str]] = {"for": _any, "stub": _any, "gives": _identifier, "formerly": _texts}
_OWN: dict[str, dict[str, Callable[[Any], str]]] = {
    "number": {
        "right": _value,
        "unit": _text,
        "to": _amount,
        "accept": _value,
        "close": _value,
        "compare": _one_of("circle", "line", "plain"),
        "passes": _two_values,
        "also": _mapping,
        "as taught": _texts,
        "example": _words,
        "slips by": _function,
        "slips apart": _yes,
        "family": _family,
        "without": _texts,
    },
    "choice": {"right": _any, "options": _texts, "slips by": _function},
    "table": {
        "listed": _whole,
        "options": _texts,
        "gone": _texts,
    },
    "order": {"right": _text, "free": _texts},
    "rule": {
        "names": _texts,
        "right": _function,
        "case": _function,
        "within": _percent,
        "example": _text,
        "unit": _text,
        "tries": _whole,
    },
    "plan": {
        "blanks": _mapping,
        "begin": _function,
        "rows": _function,
        "days": _function,
        "right": _function,
        "goals": _any,
        "drawn": _function,
        "on": _text,
        "flown by": _text,
        "minutes": _amount,
        "shown": _views,
        "view": _mapping,
        "named mistakes count": _one_of("always"),
        "lost": _amount,
        "gone": _texts,
        "read as": _function,
        "slips by": _function,
    },
    "flight": {
        "begin": _function,
        "day": _function,
        "rows": _function,
        "goals": _any,
        "radials": _function,
        "drawn": _function,
        "courses": _function,
        "tuned": _function,
        "calls": _function,
        "ends_at_dme_nm": _amount,
        "ends_below_dme_nm": _amount,
        "ends_on": _function,
        "most_min": _amount,
        "entry": _text,
        "laps": _whole,
        "takes own": _yes,
        "fails": _function,
        "sees": _function,
        "on": _text,
        "flown by": _text,
        "shown": _views,
        "view": _mapping,
    },
    "text": {},
}
_NEEDED = {
    "number": ("right", "unit", "to"),
    "choice": ("right",),
    "table": (),
    "order": ("right",),
    "rule": ("names", "right", "case", "within", "example", "unit"),
    "plan": ("blanks", "begin", "rows", "days", "goals"),
    "flight": ("day", "goals"),
    "text": (),
}
_IN_CELLS = ("number", "choice")
# What a cell takes from the question or cell that it is like.
_TAKEN_BY_CELLS = {*_ALL, *_OWN["number"], *_OWN["choice"]}
_TEXTS_OF_CELLS = ("slip", "option", "look", "close", "also", "text")
_TOP = ("key", "title", "afterwards", "builds on", "not here", "quantities", "periods", "in class")


@dataclass
class Lesson:
    """A lesson as it is written.

    Parameters
    ----------
    top : Settings
        What stands at the top of the file.
    parts : list
        Prose, notes and blocks in order; what is like another question is filled in.
    """

    top: Settings
    parts: list[Part] = field(default_factory=list)

    @property
    def key(self) -> str:
        """Give the lesson's key."""
        return str(self.top.get("key", ""))

    @property
    def questions(self) -> list[Block]:
        """Give the questions, in order."""
        return [part for part in self.parts if isinstance(part, Block) and part.kind in KINDS]

    @property
    def sittings(self) -> list[int]:
        """Give the minutes of each sitting."""
        notes = [part for part in self.parts if isinstance(part, Note) and part.name == "sitting"]
        return [int(found[1]) for note in notes if (found := re.match(r"(\d+)", note.value))]

    def by_sitting(self) -> list[tuple[Block, int]]:
        """Give the questions, in order, each with the number of its sitting, from 1."""
        made, sitting = [], 0
        for part in self.parts:
            if isinstance(part, Note):
                sitting += part.name == "sitting"
            elif isinstance(part, Block) and part.kind in KINDS:
                made.append((part, max(sitting, 1)))
        return made

    @property
    def quantities(self) -> Settings:
        """Give the kind of each quantity by its name."""
        found = self.top.get("quantities")
        return found if isinstance(found, Settings) else Settings(self.top.line)


def read(path: Path, faults: Faults, loader: Any = LOADERS[0]) -> Lesson:
    """Read a lesson's file and see whether every block has what it needs.

    Parameters
    ----------
    path : pathlib.Path
        The file.
    faults : Faults
        Where to tell what is wrong.
    loader : class
        The parser of settings.

    Raises
    ------
    BadData
        If it is no text in UTF-8.

    Returns
    -------
    Lesson
        The lesson; where there are faults, as much of it as could be read.
    """
    try:
        text = path.read_text(encoding="utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        raise BadData(f"{path.name} is not written in UTF-8: save it as UTF-8 text.") from error
    top, parts = scan(text, faults, loader)
    lesson = Lesson(top, parts)
    _check_top(top, faults)
    _check_notes(lesson, faults)
    seen: dict[str, int] = {}
    for part in parts:
        if isinstance(part, Block):
            if part.kind not in (*KINDS, *OTHERS):
                kinds = (*KINDS, *OTHERS)
                faults.add(
                    part.line,
                    part.name,
                    f"`{part.kind}` is no kind of block; the kinds are {', '.join(kinds)}{near(part.kind, kinds)}",
                )
                part.broken = True
            elif part.kind in KINDS:
                if not part.name:
                    faults.add(part.line, "", f"this {part.kind} has no label: expected `:::{{{part.kind}}} label`")
                elif part.name in seen:
                    faults.add(part.line, part.name, f"this label stands twice (first on line {seen[part.name]})")
                elif not _KEY.fullmatch(part.name) or len(part.name) > _LONGEST_LABEL:
                    faults.add(
                        part.line,
                        "",
                        f"label `{part.name}`: expected small letters, digits and hyphens, {_LONGEST_LABEL} at most",
                    )
                seen.setdefault(part.name, part.line)
    written = [part for part in parts if isinstance(part, Block)]
    lesson.parts = [_filled_in(p, written, faults) if isinstance(p, Block) and p.kind in KINDS else p for p in parts]
    names: dict[str, int] = {}
    for question in lesson.questions:
        _check_block(question, None, faults)
        name = str(question.settings.get("as", ""))
        if name and name in names:
            faults.add(
                question.settings.line_of("as"),
                question.name,
                f"as: `{name}` is the answer of another question as well (line {names[name]}); each has its own",
            )
        names.setdefault(name, question.settings.line_of("as"))
    _check_order(lesson, faults)
    _check_periods(lesson, faults)
    _check_in_class(lesson, faults)
    for part in lesson.parts:
        if isinstance(part, Block) and part.kind in OTHERS:
            _check_other(part, faults)
    return lesson


def _check_top(top: Settings, faults: Faults) -> None:
    where = "top of the file"
    for name in list(top):
        if name not in _TOP:
            faults.add(
                top.line_of(name),
                where,
                f"`{name}` does not belong here; expected {', '.join(_TOP)}{near(name, _TOP)}",
            )
            top.take_as(name, meant(name, _TOP))
    for name in ("key", "title", "builds on", "not here"):
        if not isinstance(top.get(name), str) or not top[name]:
            faults.add(top.line_of(name), where, f"expected `{name}: ` and a text")
    key = top.get("key")
    if isinstance(key, str) and key and not _KEY.fullmatch(key):
        faults.add(top.line_of("key"), where, f"key: `{key}`: expected small letters, digits and hyphens")
    can = top.get("afterwards")
    if not isinstance(can, list) or len(can) != 3 or not all(isinstance(each, str) for each in can):
        faults.add(top.line_of("afterwards"), where, "`afterwards` is a list of three things that can be done then")
    kinds = top.get("quantities", Settings(top.line))
    if not isinstance(kinds, Settings):
        faults.add(top.line_of("quantities"), where, "`quantities` is a mapping `name: kind`")
        return
    for name, kind in kinds.items():
        if kind not in QUANTITIES:
            faults.add(
                kinds.line_of(name),
                where,
                f"{name}: `{kind}` is no kind of quantity; the kinds are {', '.join(QUANTITIES)}"
                f"{near(str(kind), QUANTITIES)}",
            )


_MOST_WORDS = 5
_PAPER = "on paper: "
_NUMBERED = re.compile(r"(?:flight to find|plate|picture) \d+")
"""Steps of a period besides questions, sections and settings; the page before a class knows them by these words."""


def _check_periods(lesson: Lesson, faults: Faults) -> None:
    """A period of a class is a list of questions and of settings of what-ifs, all of them of this lesson."""
    periods = lesson.top.get("periods", Settings(lesson.top.line))
    if not isinstance(periods, Settings) or any(_texts(each) for each in periods.values()):
        faults.add(lesson.top.line_of("periods"), "top of the file", "`periods` is a mapping `name: [label, ...]`")
        return
    known = _labels(lesson)
    for name, labels in periods.items():
        for label in labels:
            if _NUMBERED.fullmatch(label):
                continue
            asked = [each.strip() for each in label.removeprefix(_PAPER).split(",")]
            if label.startswith(_PAPER) and all(each in known for each in asked):
                continue
            if label not in known:
                told = f"periods, {name}: there is no question, section or setting `{label}`{near(label, known)}"
                faults.add(periods.line_of(name), "top of the file", told)


def _labels(lesson: Lesson) -> list[str]:
    """Name the questions, the settings of what-ifs and the sections: what a class is shown."""
    known = [block.name for block in lesson.questions]
    for part in lesson.parts:
        if isinstance(part, Block) and part.kind == "what-if":
            named = part.settings.get("settings")
            known += list(named) if isinstance(named, Settings) else []
        elif isinstance(part, Prose) and part.lines[0].startswith("## "):
            known.append(part.lines[0][3:].strip())
    return known


def _check_in_class(lesson: Lesson, faults: Faults) -> None:
    """What something is called before a class is short: it is looked for in a list while one speaks."""
    names = lesson.top.get("in class", Settings(lesson.top.line))
    if not isinstance(names, Settings) or not all(isinstance(name, str) for name in names.values()):
        faults.add(lesson.top.line_of("in class"), "top of the file", "`in class` is a mapping `label: name`")
        return
    known = _labels(lesson)
    for label, name in names.items():
        if label not in known:
            told = f"in class: there is no question, section or setting `{label}`{near(label, known)}"
            faults.add(names.line_of(label), "top of the file", told)
        elif len(name.split()) > _MOST_WORDS:
            told = f"in class, {label}: `{name}` has more than {_MOST_WORDS} words, and is looked for in a list"
            faults.add(names.line_of(label), "top of the file", told)


def _check_notes(lesson: Lesson, faults: Faults) -> None:
    for part in lesson.parts:
        if not isinstance(part, Note):
            continue
        if part.name not in _NOTES:
            faults.add(
                part.line,
                "",
                f"`{part.name}` is no note; the notes are {', '.join(_NOTES)}{near(part.name, _NOTES)}",
            )
        elif part.name == "sitting" and not re.fullmatch(r"[1-9]\d* minutes", part.value):
            faults.add(part.line, "", f"`{part.value}`: expected `<!-- sitting: 50 minutes -->`")
        elif part.name == "part" and part.value not in PARTS:
            faults.add(
                part.line,
                "",
                f"`{part.value}` is no part of a lesson; the parts are {', '.join(PARTS)}{near(part.value, PARTS)}",
            )
    if not lesson.sittings:
        faults.add(
            lesson.top.line, "", "no sitting: expected `<!-- sitting: 50 minutes -->` before the first section"
        )


def _check_order(lesson: Lesson, faults: Faults) -> None:
    """Nothing stands before the first part, and a task is followed by what shows its answer."""
    first = next((part for part in lesson.parts if not isinstance(part, Note) or part.name == "part"), None)
    if first is not None and not isinstance(first, Note):
        faults.add(first.line, "", "expected `<!-- part: recall -->`, or another part, before the first section")
    tasks = [block for block in lesson.questions if block.settings.get("task")]
    reveals = [part for part in lesson.parts if isinstance(part, Block) and part.kind == "reveal"]
    if tasks and not reveals:
        faults.add(
            tasks[0].line, tasks[0].name, "a task needs a block `:::{reveal}` after it, which shows its answer"
        )
    for extra in reveals[1:]:
        faults.add(extra.line, "", f"a second block `:::{{reveal}}` (first on line {reveals[0].line})")
    for part in lesson.parts:
        for number, line in enumerate(part.lines if isinstance(part, Prose) else ()):
            if line.lstrip().startswith("<!--"):
                faults.add(
                    part.line + number,
                    "",
                    f"`{line.strip()[:40]}`: a comment would be released; notes are {', '.join(_NOTES)}",
                )


def _check_other(block: Block, faults: Faults) -> None:
    if block.kind == "cell":
        if set(block.code) != {""}:
            faults.add(block.line, block.name, "a cell takes one fence of `python`")
    elif block.kind in ("picture", "what-if") and not re.fullmatch(r"[a-z][a-z0-9_-]*", block.name):
        faults.add(block.line, block.name, f"expected the name of the {block.kind} behind `{{{block.kind}}}`")
    if block.kind == "what-if":
        _check_settings_shown(block, faults)
    for item in block.items:
        faults.add(item.line, block.name, f"a {block.kind} has no texts")


def _check_settings_shown(block: Block, faults: Faults) -> None:
    """A what-if may say which question it shows, and has named settings, each with what it shows."""
    known = ("for", "settings")
    for name in block.settings:
        if name not in known:
            line = block.settings.line_of(name)
            faults.add(line, block.name, f"`{name}` is no setting of a what-if; expected {listed(known)}")
    named = block.settings.get("settings", Settings(block.line))
    if not isinstance(named, Settings):
        faults.add(block.settings.line_of("settings"), block.name, "`settings` is a mapping `name: {knob: value}`")
        return
    for name, values in named.items():
        if not isinstance(values, Settings) or not isinstance(values.get("shows"), str):
            faults.add(
                named.line_of(name),
                block.name,
                f"{name}: expected `{{knob: value, shows: words}}`, the words as the sentence says them at the end",
            )


# ---------------------------------------------------------------- what is like another


def _filled_in(block: Block, written: list[Block], faults: Faults, trail: tuple[str, ...] = ()) -> Block:
    """Give a block with what it takes from others, its cells too."""
    cells = [_filled_in_cell(cell, block.name, written, faults, trail) for cell in block.cells]
    block = replace(block, cells=cells)
    if "like" not in block.settings:
        return block
    other = _other(block, block.name, written, faults, trail)
    return replace(block, broken=True) if other is None else _joined(block, other, None)


def _filled_in_cell(cell: Block, table: str, written: list[Block], faults: Faults, trail: tuple[str, ...]) -> Block:
    if "like" not in cell.settings:
        return cell
    other = _other(cell, f"{table}, cell {cell.name}", written, faults, trail)
    return replace(cell, broken=True) if other is None else _joined(cell, other, _TAKEN_BY_CELLS)


def _other(block: Block, where: str, written: list[Block], faults: Faults, trail: tuple[str, ...]) -> Block | None:
    """Find what a block is like, itself filled in; None where there is none."""
    line, name = block.settings.line_of("like"), str(block.settings["like"])
    if name in trail:
        faults.add(line, where, f"like: `{name}` is itself like this one")
        return None
    question, _, label = name.partition("/")
    found = next((each for each in written if each.name == question and each.kind in KINDS), None)
    if found is None:
        known = [each.name for each in written if each.kind in KINDS]
        faults.add(line, where, f"like: there is no question `{question}` in this lesson{near(question, known)}")
        return None
    if label:
        cell = next((each for each in found.cells if each.name == label), None)
        if cell is None:
            known = [each.name for each in found.cells]
            faults.add(
                line,
                where,
                f"like: `{question}` has no cell `{label}`; it has {listed(known)}{near(label, known)}",
            )
            return None
        found = _filled_in_cell(cell, question, written, faults, (*trail, name))
    else:
        found = _filled_in(found, written, faults, (*trail, name))
    if found.kind == block.kind:
        return found
    if {found.kind, block.kind} != {"plan", "flight"}:
        faults.add(line, where, f"like: `{name}` is a {found.kind}, and this is a {block.kind}")
        return None
    # A plan and a flight of the same thing: only what both have.
    both = {*_ALL, *_QUESTION, *_OWN[block.kind]} - {"slips by", "read as"}
    settings = Settings(found.settings.line)
    for each, value in found.settings.items():
        if each in both and not (block.kind == "flight" and each in ("begin", "rows")):
            settings[each] = value
            settings.lines[each] = found.settings.line_of(each)
    items = [item for item in found.items if item.kind != "slip" and item.kind in _allowed_texts(block, False)]
    return replace(found, settings=settings, items=items, code={})


def _joined(block: Block, other: Block, taken: set[str] | None) -> Block:
    """Lay a block over the one it is like; ``taken`` limits the settings, for a cell."""
    settings = Settings(block.settings.line)
    for source in (other.settings, block.settings):
        for name, value in source.items():
            if source is other.settings and (name in ("like", "part") or (taken is not None and name not in taken)):
                continue
            settings[name] = value
            settings.lines[name] = source.line_of(name)
    own = {item.kind for item in block.items}
    named = {(item.kind, item.name): item for item in block.items if item.name}
    items: list[Item] = []
    for item in (replace(each, taken=True) for each in other.items):
        if taken is not None and item.kind not in _TEXTS_OF_CELLS:
            continue
        if (item.kind, item.name) in named:
            items.append(named.pop((item.kind, item.name)))
        elif item.name or item.kind not in own:
            items.append(item)
    if taken is not None and not any(item.kind == "look" for item in (*items, *block.items)):
        # A question says where to look by its first hint.
        items += [replace(item, kind="look") for item in texts(other, "hint")[:1]]
    items += [item for item in block.items if not item.name or (item.kind, item.name) in named]
    cells = {cell.name: cell for cell in other.cells}
    cells |= {cell.name: cell for cell in block.cells}
    return replace(
        block,
        settings=settings,
        items=items,
        cells=list(cells.values()),
        prompt=block.prompt or ("" if taken is not None else other.prompt),
        code={**({} if taken is not None else other.code), **block.code},
        broken=block.broken or other.broken,
    )


# ---------------------------------------------------------------- one block


def texts(block: Block, kind: str) -> list[Item]:
    """Give the texts of a kind.

    Parameters
    ----------
    block : Block
        A block.
    kind : str
        For example ``"hint"``.

    Returns
    -------
    list of Item
        In order.
    """
    return [item for item in block.items if item.kind == kind]


def options(block: Block, table: Block | None = None) -> dict[str, str]:
    """Give what can be chosen, and in which words.

    Parameters
    ----------
    block : Block
        A choice or an order.
    table : Block or None
        The table it stands in, which may name the options of its cells.

    Returns
    -------
    dict of str to str
        By letter.
    """
    found = {item.name: item.says for item in texts(block, "option")}
    plain = block.settings.get("options")
    if not found and isinstance(plain, list):
        found = dict.fromkeys(map(str, plain), "")
    return found or (options(table) if table is not None else {})


def _allowed_texts(block: Block, cell: bool) -> set[str]:
    found = {"slip", "look", "text"} | (set() if cell else {"given", "hint", "model", "why"})
    more = {
        "number": {"close", "also"},
        "choice": {"option"},
        "order": {"option", "because"},
        "table": {"option"},
        "flight": {"goal"},
    }
    if block.kind == "text":
        # Nobody but a person judges it: there is nothing to name or to hint at.
        found -= {"slip", "look", "hint", "why"}
    return found | more.get(block.kind, set())


def settings_of(kind: str, cell: bool = False) -> dict[str, Callable[[Any], str]]:
    """Give the settings of a kind of question.

    Parameters
    ----------
    kind : str
        One of :data:`KINDS`.
    cell : bool
        True for a cell of a table.

    Returns
    -------
    dict of str to callable
        By name, what says of a value what was expected; empty where it is good.
    """
    return {**_ALL, **(_CELL if cell else _QUESTION), **_OWN[kind]}


def _check_block(block: Block, table: Block | None, faults: Faults) -> None:
    """See whether a question, or a cell of a table, has what its kind needs and nothing else."""
    cell = table is not None
    if cell and block.kind not in _IN_CELLS:
        kinds = " or ".join(_IN_CELLS)
        faults.add(
            block.line,
            block.name,
            f"`{block.kind}` is no kind of cell: expected {kinds}{near(block.kind, _IN_CELLS)}",
        )
        return
    if cell and not block.name:
        faults.add(block.line, table.name if table else "", "this cell has no label behind its kind")
    where = block.name if table is None else f"{table.name}, cell {block.name}"
    if block.broken:
        return
    known = settings_of(block.kind, cell)
    settings = block.settings
    for name, value in list(settings.items()):
        if name not in known:
            faults.add(
                settings.line_of(name),
                where,
                f"`{name}` is no setting of a {block.kind}{' in a table' if cell else ''}; it has "
                f"{', '.join(sorted(known))}{near(name, known)}",
            )
            settings.take_as(name, meant(name, known))
        elif expected := known[name](value):
            faults.add(settings.line_of(name), where, f"{name}: expected {expected}")
    needed = _NEEDED[block.kind] if cell else ("title", "as", *_NEEDED[block.kind])
    for name in needed:
        if name not in settings:
            faults.add(block.line, where, f"a {block.kind} needs `{name}:`")
    if not cell and "worked" not in block.code and needs_worked(block):
        faults.add(block.line, where, "the worked answer is missing: expected a fence of `python worked`")
    for role in block.code:
        if role != "worked":
            faults.add(block.line, where, "the worked answer stands in a fence of `python worked`")
    _check_texts(block, where, cell, faults)
    _check_kind(block, table, where, faults)
    if "gives" in settings and "for" in settings:
        line = settings.line_of("gives")
        faults.add(line, where, "gives: a cell that is repeated gives nothing to the cells below it")
    labels: dict[str, int] = {}
    for each in block.cells:
        if block.kind != "table":
            faults.add(each.line, where, f"a {block.kind} has no cells; only a table has")
            break
        if each.name in labels:
            faults.add(each.line, where, f"the cell `{each.name}` stands twice (first on line {labels[each.name]})")
        labels.setdefault(each.name, each.line)
        _check_block(each, block, faults)


def _check_texts(block: Block, where: str, cell: bool, faults: Faults) -> None:
    allowed = _allowed_texts(block, cell)
    once: dict[tuple[str, str], int] = {}
    for item in (each for each in block.items if not each.taken):
        if item.kind not in allowed:
            what = f"a {block.kind}{' in a table' if cell else ''}"
            faults.add(item.line, where, f"`{item.kind}` is no text of {what}; it has {', '.join(sorted(allowed))}")
        if not item.says and item.kind != "option":
            name = f"{item.kind} {item.name}".strip()
            faults.add(item.line, where, f"{name} has no text")
        if item.kind != "hint":
            if (item.kind, item.name) in once:
                name = f"{item.kind} {item.name}".strip()
                faults.add(item.line, where, f"{name} stands twice (first on line {once[item.kind, item.name]})")
            once.setdefault((item.kind, item.name), item.line)
        if item.kind == "slip":
            _check_slip(block, item, where, faults)
    if cell:
        return
    hints = len(texts(block, "hint"))
    if not block.settings.get("task") and block.kind != "text" and hints != 3:
        faults.add(
            block.line, where, f"{hints} hints where three are expected: where to look, the rule, the first line"
        )
    if block.settings.get("task") and hints:
        faults.add(block.line, where, "a task has no hints")
    if not block.prompt:
        faults.add(block.line, where, "there is no question: expected its text after the settings")
    for kind in ("model",) if block.kind == "text" else ("model", "why"):
        if not texts(block, kind):
            faults.add(block.line, where, f"expected `- {kind}: ` and a text")


def _members(block: Block) -> set[str]:
    """Give the codes that the family of a block knows."""
    family = block.settings.get("family")
    name = next(iter(family), "") if isinstance(family, Settings) else family
    return {member.code for member in FAMILIES[name].members} if name in FAMILIES else set()


def _check_slip(block: Block, slip: Item, where: str, faults: Faults) -> None:
    by = "slips by" in block.settings or slip.name in _members(block)
    if slip.rare and block.kind != "number":
        faults.add(slip.line, where, f"rare {slip.name}: only where a number is asked for; expected `- slip`")
    if slip.under and slip.value:
        faults.add(slip.line, where, f"slip {slip.name} hangs below option {slip.under}: it has no `= value`")
    elif slip.value is None and not slip.under and not by:
        hint = " or to hang below an option" if block.kind == "choice" else ""
        faults.add(slip.line, where, f"slip {slip.name} has no value: expected `- slip {slip.name} = value: `{hint}")
    elif slip.value is None and slip.name not in _members(block) and by and block.kind in ("number", "plan"):
        faults.add(
            slip.line,
            where,
            f"slip {slip.name} needs an example: expected `- slip {slip.name} = value: `, to prove it",
        )


def _check_kind(block: Block, table: Block | None, where: str, faults: Faults) -> None:
    settings = block.settings
    if block.kind == "number":
        _check_number(block, where, faults)
    elif block.kind == "choice":
        _check_choice(block, table, where, faults)
    elif block.kind == "table":
        if not block.cells:
            faults.add(block.line, where, "a table needs cells: blocks within it, of one colon less")
    elif block.kind == "order":
        cards, right = options(block), str(settings.get("right", ""))
        if sorted(right) != sorted(cards):
            faults.add(
                settings.line_of("right"), where, f"right: `{right}` does not use each of {', '.join(cards)} once"
            )
        for item in texts(block, "because"):
            if not set(item.name) <= set(cards):
                faults.add(item.line, where, f"because {item.name}: there are only the cards {', '.join(cards)}")
    elif block.kind == "flight":
        if not texts(block, "goal"):
            faults.add(block.line, where, "a flight needs `- goal: `, the words above its panel")
        for name in ("begin", "rows"):
            if name not in settings and "entry" not in settings:
                faults.add(
                    block.line, where, f"a flight needs `{name}:`, or `entry:` where the whole procedure is flown"
                )
    elif block.kind == "text" and "task" in settings:
        faults.add(settings.line_of("task"), where, "a text is a task already: leave `task:` out")
    elif block.kind == "plan":
        for label, blank in settings["blanks"].items() if isinstance(settings.get("blanks"), Settings) else ():
            good = isinstance(blank, Settings) and {"accept", "words"} & set(blank)
            if not good and not (isinstance(blank, list) and blank):
                faults.add(
                    settings["blanks"].line_of(label), where, f"{label}: expected `{{accept: 1}}` or `[ONE, OTHER]`"
                )
        blanks = settings.get("blanks")
        if "right" not in settings and not (
            isinstance(blanks, Settings) and all(isinstance(b, Settings) and "right" in b for b in blanks.values())
        ):
            faults.add(block.line, where, "a plan needs `right:`, for all blanks or in each of them")


def _check_number(block: Block, where: str, faults: Faults) -> None:
    settings = block.settings
    also = settings.get("also")
    if isinstance(also, Settings) and (set(also) != {"from"} or _value(also["from"])):
        faults.add(settings.line_of("also"), where, "also: expected `{from: value}`")
    if ("also" in settings) != bool(texts(block, "also")):
        faults.add(settings.line_of("also"), where, "`also: {from: value}` and `- also: text` belong together")


def _check_choice(block: Block, table: Block | None, where: str, faults: Faults) -> None:
    settings, given = block.settings, options(block, table)
    if not given:
        faults.add(block.line, where, "a choice needs options: `- A: ` and a text, or `options: [ONE, OTHER]`")
        return
    for slip in texts(block, "slip"):
        if slip.under and slip.under not in given:
            faults.add(slip.line, where, f"slip {slip.name} hangs below no option")
    right = settings.get("right")
    fixed = right if isinstance(right, list) else [right]
    if "slips by" in settings or not all(each in given for each in fixed):
        return
    told = {slip.under for slip in texts(block, "slip")}
    if any(slip.value for slip in texts(block, "slip")):
        return
    lines = {item.name: item.line for item in texts(block, "option")}
    for letter in given:
        if letter not in fixed and letter not in told:
            faults.add(
                lines.get(letter, block.line),
                where,
                f"option {letter} has no slip: every wrong letter needs a sentence",
            )
        if letter in fixed and letter in told:
            faults.add(lines.get(letter, block.line), where, f"option {letter} is right and has a slip")


def needs_worked(block: Block) -> bool:
    """Say whether the author must write the worked answer: what is proved by an independent way.

    Parameters
    ----------
    block : Block
        A question.

    Returns
    -------
    bool
        False where the answer stands in the settings, or is flown by the model.
    """
    if block.kind in ("order", "rule", "flight", "text"):
        return False
    right = block.settings.get("right")
    fixed = right if isinstance(right, list) else [right]
    return not (block.kind == "choice" and all(each in options(block) for each in fixed))
