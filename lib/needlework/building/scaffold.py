"""Scaffolds: a lesson's folder, or one question more, that reads without faults and is then filled in."""

from __future__ import annotations

import argparse
import ast
import json
import os
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from needlework.basis.errors import BadData
from needlework.basis.places import typed
from needlework.building import reading
from needlework.building.faults import Faults, near
from needlework.building.reading import KINDS
from needlework.exercises import catalogue

_TEMPLATES = Path(__file__).resolve().parent / "scaffolds"
_KEY = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_INCLUDED = re.compile(r"@ (\w+) (\S+) (.*)")
_FENCE = re.compile(r"\n```(python functions|yaml quantities)\n(.*?)```\n", re.S)
_SWITCHED_OFF = re.compile(r"(?m)^# .*\n#\w.*\n")
_IMPORTS = ("from random import Random", "from typing import Any")
# Settings that every kind has and that are seldom needed: what each is for, and an example.
_COMMON = {
    "draw": ("the function that draws the numbers, where the question has any", "NAME_drawn"),
    "derive": ("names that only the texts need, each with its function", "{told: NAME_told}"),
    "with": ("a parameter of the functions takes another given, a number or what a function gives", "{gs_kt: 90}"),
    "slips by": ("names the sentence of a wrong answer, CODE or CODE/variant; asked after the values", "NAME_named"),
    "slips apart": (
        "leave out, in a draw, what cannot be told from the right answer; name both of two alike",
        "true",
    ),
    "sound": ("says whether numbers that were drawn may be used, besides keeping slips apart", "NAME_usable"),
    "figure": (
        "a picture of needlework.pictures, with its values or a function that gives them",
        "{needle: {needle_deg: 10.0, course_deg: 130.0, flag: TO, dme_nm: 0.7}}",
    ),
    "ending": ("how the question ends, in place of unit and precision", "Whole; 5 either way are accepted."),
    "stub": ("the comment behind the empty answer", "what is written here"),
    "part": ("the part its cells belong to, where the note above says another", "example"),
    "task": ("judged at the desk only; write no hints then, and a block `:::{reveal}` after it", "true"),
    "like": ("takes everything from another question; what stands here comes on top", "OTHER-QUESTION"),
}


@dataclass(frozen=True)
class Piece:
    """A question to be filled in.

    Parameters
    ----------
    block : str
        What goes into ``lesson.md``.
    imports : tuple of str
        What its functions import, a line each.
    functions : str
        What goes into ``functions.py``.
    quantities : dict of str to str
        Kind of each quantity its texts name.
    """

    block: str
    imports: tuple[str, ...]
    functions: str
    quantities: dict[str, str]


@dataclass(frozen=True)
class Added:
    """A question that was added.

    Parameters
    ----------
    label : str
        Its label.
    line, functions_line : int
        Where it begins in ``lesson.md``, and its functions in ``functions.py``.
    """

    label: str
    line: int
    functions_line: int


def piece(kind: str, label: str) -> Piece:
    """Give a question with every setting its kind has: those seldom needed are switched off by a ``#``.

    Parameters
    ----------
    kind : str
        One of :data:`needlework.building.reading.KINDS`.
    label : str
        Its label.

    Returns
    -------
    Piece
        Block and functions.
    """
    text = (_TEMPLATES / f"{kind}.md").read_text(encoding="utf-8")
    seldom = "".join(
        f"# {says}\n#{name}: {example}\n"
        for name, (says, example) in _COMMON.items()
        if name in reading.settings_of(kind) and not re.search(rf"(?m)^#?{name}:", text)
    )
    text = text.replace("# COMMON\n", seldom)
    text = text.replace("LABEL", label).replace("NAME", label.replace("-", "_"))
    fences = dict(_FENCE.findall(text))
    source = fences.get("python functions", "")
    head = [line for line in source.splitlines() if line.startswith("from ")]
    source = re.sub(r"(?m)^from .*\n", "", source).strip("\n")
    quantities = dict(line.split(": ") for line in fences.get("yaml quantities", "").splitlines())
    return Piece(_FENCE.sub("", text).strip("\n"), tuple(head), source, quantities)


def _lean(full: Piece, title: str, explained: bool, task: bool) -> Piece:
    """Take out what is switched off, and for a task its hints."""
    block = _SWITCHED_OFF.sub("", full.block)
    if not explained:
        block = re.sub(r"(?m)^# .*\n", "", block)
    block = re.sub(r"(?m)^title: .*$", lambda _: f"title: {json.dumps(title, ensure_ascii=False)}", block, count=1)
    if task:
        block = re.sub(r"(?m)^- hint: .*\n(  .*\n)*", "", block)
        block = re.sub(r"(?m)^(marks: .*\n)", r"\1task: true\n", block, count=1)
    return Piece(block, full.imports, full.functions.partition("# OFF")[0].strip("\n"), full.quantities)


def prefix_of(key: str) -> str:
    """Give the letters that begin the labels of a lesson's questions: no question of the course begins so.

    Parameters
    ----------
    key : str
        Key of the lesson.

    Returns
    -------
    str
        For example ``"sp"`` for ``station-passage``.
    """
    words = key.split("-")
    short = "".join(word[0] for word in words) if len(words) > 1 else key[:2]
    taken = {label.split("-")[0] for name, label in _course_labels() if name != key}
    while short in taken:
        joined = "".join(words)
        short = joined[: len(short) + 1] if len(short) < len(joined) else short + "x"
    return short


def _course_labels() -> list[tuple[str, str]]:
    return [(key, label) for key, lesson in catalogue.LESSONS.items() for label in lesson.questions]


def new_lesson(named: str, lessons: Path, package: bool) -> Path:
    """Write the folder of a lesson that can be filled in.

    Parameters
    ----------
    named : str
        Its name or title.
    lessons : pathlib.Path
        Where lessons stand.
    package : bool
        True in the course's own folder, whose lessons are packages.

    Returns
    -------
    pathlib.Path
        The folder.

    Raises
    ------
    BadData
        If the name cannot be one, or there is such a lesson.
    """
    key = "-".join(re.findall(r"[a-z0-9]+", named.lower()))
    if not _KEY.fullmatch(key):
        raise BadData(f"'{named}' cannot be the name of a lesson: use letters and digits, for example dme-arrivals.")
    folder = lessons / key.replace("-", "_")
    if folder.exists():
        raise BadData(f"There is a folder {folder} already: choose another name, or add questions to that lesson.")
    prefix, explained = prefix_of(key), set[str]()
    made: list[Piece] = []

    def included(match: re.Match[str]) -> str:
        kind, name, title = match.groups()
        one = _lean(piece(kind, f"{prefix}-{name}"), title, kind not in explained, name == "task")
        explained.add(kind)
        made.append(one)
        return one.block

    title = " ".join(named.replace("-", " ").replace("_", " ").split())
    text = (_TEMPLATES / "lesson.md").read_text(encoding="utf-8")
    text = text.replace("KEY", key).replace("TITLE", json.dumps(title[:1].upper() + title[1:], ensure_ascii=False))
    text = re.sub(rf"(?m)^{_INCLUDED.pattern}$", included, text)
    text = _with_quantities(text, {name: kind for one in made for name, kind in one.quantities.items()})
    source = f'"""Numbers of the lesson {title}: draws, right answers, and what the named slips lead to."""\n\n'
    source = _with_imports(source + "from __future__ import annotations\n", _IMPORTS)
    source += "".join(f"\n\n{one.functions}\n" for one in made if one.functions)
    folder.mkdir(parents=True)
    (folder / "lesson.md").write_text(text, encoding="utf-8", newline="\n")
    (folder / "functions.py").write_text(source, encoding="utf-8", newline="\n")
    if package:
        (folder / "__init__.py").write_text(f'"""The lesson {title}."""\n', encoding="utf-8", newline="\n")
    return folder


def new_question(folder: Path, kind: str, label: str = "") -> Added:
    """Add a question to a lesson: its block at the end of ``lesson.md``, its functions at that of ``functions.py``.

    Parameters
    ----------
    folder : pathlib.Path
        The lesson's folder.
    kind : str
        One of :data:`needlework.building.reading.KINDS`.
    label : str
        Its label; by default made from the labels that are there.

    Returns
    -------
    Added
        Where it stands.

    Raises
    ------
    BadData
        If there is no such kind, the label cannot be one or is taken, or the lesson cannot be read.
    """
    if kind not in KINDS:
        raise BadData(
            f"There is no kind of question called '{kind}': the kinds are {', '.join(KINDS)}{near(kind, KINDS)}."
        )
    lesson_path, functions_path = folder / "lesson.md", folder / "functions.py"
    lesson = reading.read(lesson_path, Faults())
    there = {block.name for block in lesson.questions}
    taken = there | {name for key, name in _course_labels() if key != lesson.key}
    if not label:
        prefix = next((name.split("-")[0] for name in sorted(there)), "") or prefix_of(lesson.key)
        label = _free(f"{prefix}-{kind}", taken)
    if not _KEY.fullmatch(label):
        raise BadData(
            f"'{label}' cannot be a label: use small letters, digits and hyphens, for example {label[:2]}-cone."
        )
    if label in taken:
        raise BadData(f"There is a question '{label}' already: choose another label.")
    one = piece(kind, label)
    text = _with_quantities(lesson_path.read_text(encoding="utf-8-sig"), one.quantities).rstrip("\n")
    source = _with_imports(functions_path.read_text(encoding="utf-8"), (*_IMPORTS, *one.imports)).rstrip("\n")
    unused = f"# Only for settings that are switched off in {label}: delete what is not used."
    functions = one.functions.replace("# OFF", unused)
    line, functions_line = text.count("\n") + 3, source.count("\n") + 4
    _write(lesson_path, f"{text}\n\n{one.block}\n")
    _write(functions_path, f"{source}\n\n\n{functions}\n")
    return Added(label, line, functions_line)


def _free(name: str, taken: set[str]) -> str:
    number, free = 1, name
    while free in taken:
        number += 1
        free = f"{name}-{number}"
    return free


def _write(path: Path, text: str) -> None:
    part = path.with_name(f".{path.name}.part")
    part.write_text(text, encoding="utf-8", newline="\n")
    os.replace(part, path)


def _with_quantities(text: str, wanted: dict[str, str]) -> str:
    """Add to ``quantities:`` at the top what is not there yet."""
    head, line, rest = text.partition("\n---\n")
    kinds = re.search(r"(?m)^quantities:[ \t]*(\{\})?[ \t]*\n?((?:[ \t]+.*\n?|#.*\n?)*)", head)
    known = set(re.findall(r"(?m)^[ \t]+(\w+):", kinds[2])) if kinds else set()
    more = "".join(f"  {name}: {kind}\n" for name, kind in wanted.items() if name not in known)
    if not more:
        return text
    if kinds is None:
        return f"{head}\nquantities:\n{more.rstrip()}{line}{rest}"
    before, after = head[: kinds.start()], head[kinds.end() :]
    stood = kinds[2].rstrip("\n") + "\n" if kinds[2].strip() else ""
    return f"{before}quantities:\n{stood}{more}{after}".rstrip("\n") + line + rest


def _with_imports(source: str, wanted: tuple[str, ...]) -> str:
    """Add the imports of which a name is not bound yet, behind those that are there."""
    try:
        body = ast.parse(source).body
    except SyntaxError as error:
        raise BadData(f"functions.py:{error.lineno} cannot be read as Python: mend it first.") from error
    bound = {alias.asname or alias.name for node in body if isinstance(node, ast.ImportFrom) for alias in node.names}
    bound |= {node.name for node in body if isinstance(node, (ast.FunctionDef, ast.ClassDef))}
    lines = source.splitlines()
    for line in wanted:
        module, _, names = line.removeprefix("from ").partition(" import ")
        absent = [name for name in names.split(", ") if name not in bound]
        if absent:
            bound.update(absent)
            _import(lines, module, absent)
    return "\n".join(lines) + "\n"


def _import(lines: list[str], module: str, names: list[str]) -> None:
    """Add an import where a sorter of imports wants it: the standard library first, then by the module's name."""
    own = module.startswith("needlework")
    at = after = None
    for number, line in enumerate(lines):
        found = re.match(r"from ([\w.]+) import ([\w, ]+)$", line)
        if found is None or found[1] == "__future__" or found[1].startswith("needlework") != own:
            continue
        if found[1] == module and " as " not in line:
            lines[number] = f"from {module} import {', '.join(sorted({*found[2].split(', '), *names}))}"
            return
        at = number if at is None and found[1] > module else at
        after = number + 1
    at = after if at is None else at
    new = [f"from {module} import {', '.join(sorted(names))}"]
    if at is None:
        # The first of its group stands alone: behind what is imported so far, or behind the docstring.
        last = max((n + 1 for n, line in enumerate(lines) if re.match(r"(from|import) ", line)), default=0)
        doc = ast.parse("\n".join(lines)).body[:1]
        at = last or (doc[0].end_lineno or 0 if doc and isinstance(doc[0], ast.Expr) else 0)
        new = ["", *new]
    lines[at:at] = new


# ---------------------------------------------------------------- the command


def _lesson(options: argparse.Namespace) -> int:
    own = Path(options.extra).expanduser().absolute() if options.extra else None
    folder = new_lesson(options.name, own / "lessons" if own else catalogue.FOLDER, package=own is None)
    key = folder.name.replace("_", "-")
    print(f"{folder / 'lesson.md'}: fill it in; its functions are in functions.py beside it.")
    if own is None:
        print(f"Add '{key}' to ORDER in {Path(catalogue.__file__).resolve()}.")
    extra = ("--extra", str(own)) if own else ()
    print(f"Look it over: {typed('proofread', key, *extra)}")
    print(f"Another question: {typed('new', 'question', key, 'KIND', *extra)}")
    return 0


def _question(options: argparse.Namespace) -> int:
    lessons = Path(options.extra).expanduser().absolute() / "lessons" if options.extra else catalogue.FOLDER
    folder = lesson_folder(options.lesson, lessons)
    added = new_question(folder, options.kind, options.label)
    print(f"{folder / 'lesson.md'}:{added.line}: {added.label}, to be filled in and moved to where it belongs.")
    print(f"{folder / 'functions.py'}:{added.functions_line}: its functions.")
    return 0


def lesson_folder(named: str, lessons: Path) -> Path:
    """Find the folder of a lesson by its name.

    Parameters
    ----------
    named : str
        Its key, or the name of its folder.
    lessons : pathlib.Path
        Where lessons stand.

    Returns
    -------
    pathlib.Path
        The folder.

    Raises
    ------
    BadData
        If there is none.
    """
    there = {path.parent.name.replace("_", "-"): path.parent for path in sorted(lessons.glob("*/lesson.md"))}
    key = named.replace("_", "-")
    if key not in there:
        raise BadData(
            f"There is no lesson '{named}' in {lessons}: there are {', '.join(there) or 'none'}{near(key, there)}."
        )
    return there[key]


def add_command(commands: Any) -> None:
    """Add ``new`` to the ``needlework`` command.

    Parameters
    ----------
    commands : argparse subparsers
        Where to add it.
    """
    parser = commands.add_parser("new", help="write a lesson or a question to be filled in (for authors)")
    steps = parser.add_subparsers(dest="step", metavar="what", required=True)
    lesson = steps.add_parser("lesson", help="a lesson's folder")
    lesson.add_argument("name", help='its name or title, for example "DME arrivals"')
    lesson.set_defaults(run=_lesson)
    question = steps.add_parser("question", help="one question more, with every setting of its kind")
    question.add_argument("lesson", help="name of the lesson")
    question.add_argument("kind", help=", ".join(KINDS))
    question.add_argument("label", nargs="?", default="", help="its label (default: made from those that are there)")
    question.set_defaults(run=_question)
    for each in (lesson, question):
        each.add_argument("--extra", metavar="FOLDER", help="a folder of lessons of your own")
