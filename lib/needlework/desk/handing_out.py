"""From a lesson to homework: the file does not answer itself, and its task has numbers that this desk drew.

A secret stands on the desk. From it comes the sign of a hand-out, which the first cell of the file holds; the numbers
of the task are drawn from the student's name and this sign, so that a copy of the lesson for self-study shows other
ones. In a sitting, part of it is a word that is not in the file: it is told when the sitting begins.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import re
import secrets
from pathlib import Path
from typing import Any

from needlework.basis.errors import BadData
from needlework.desk import keeping

_BEGIN = re.compile(r"""(?m)^begin\((["'][\w-]+["']), student\)[ \t]*$""")
_REVEAL = re.compile(r"""(?m)^reveal\(["'][\w-]+["']\)[ \t]*\n?""")
_ALONE = re.compile(r"\*\*Working alone\?\*\*[^\n]*(?:\n(?!\n)[^\n]*)*")
_LETTERS = "bcdfghjkmnpqrstvwxz"


def _secret(desk: Path) -> bytes:
    """Read the desk's secret; it is made the first time, and nobody but its owner may read it."""
    path = desk / "ledger" / "secret"
    try:
        return path.read_bytes()
    except FileNotFoundError:
        keeping.write(path, secrets.token_hex(16))
        path.chmod(0o600)
        return path.read_bytes()


def sign(desk: Path, *what: str, letters: int = 10) -> str:
    """Draw a sign from the desk's secret: always the same for the same desk and words.

    Parameters
    ----------
    desk : pathlib.Path
        The desk's folder.
    *what : str
        What it is for.
    letters : int
        How long it is.

    Returns
    -------
    str
        Letters that are not mistaken for each other, without vowels, so that no word comes of it.
    """
    drawn = hmac.new(_secret(desk), "|".join(what).encode("utf-8"), hashlib.sha256).digest()
    return "".join(_LETTERS[byte % len(_LETTERS)] for byte in drawn[:letters])


def _record_path(desk: Path, lesson: str) -> Path:
    return desk / "ledger" / f"{lesson}-handed-out.json"


def record(desk: Path, lesson: str) -> dict[str, Any]:
    """Read how a lesson was handed out.

    Parameters
    ----------
    desk : pathlib.Path
        The desk's folder.
    lesson : str
        Lesson key.

    Returns
    -------
    dict
        ``signs``: what each sign that was given out stands for. ``plain``: whether it was handed out without one.
    """
    try:
        told = json.loads(_record_path(desk, lesson).read_text(encoding="utf-8"))
        return {"signs": dict(told["signs"]), "plain": bool(told["plain"])}
    except (OSError, ValueError, KeyError, TypeError):
        # Nothing is known of it: it was handed out before there were signs.
        return {"signs": {}, "plain": (desk / "source" / lesson).exists()}


def note_earlier(desk: Path, lesson: str) -> None:
    """Keep, before anything is changed, that a lesson was handed out without a sign."""
    if not _record_path(desk, lesson).exists():
        keeping.write(_record_path(desk, lesson), json.dumps(record(desk, lesson), indent=1))


def as_homework(desk: Path, lesson: str, solved: bytes) -> bytes:
    """Turn a solved lesson into the one that is handed out.

    Parameters
    ----------
    desk : pathlib.Path
        The desk's folder.
    lesson : str
        Lesson key.
    solved : bytes
        The solved notebook.

    Returns
    -------
    bytes
        The solved notebook of the homework.
    """
    mark = sign(desk, "homework", lesson)
    told = record(desk, lesson)
    told["signs"].setdefault(mark, "homework")
    keeping.write(_record_path(desk, lesson), json.dumps(told, indent=1))
    return _with_sign(solved, lesson, f', homework="{mark}"')


def _with_sign(solved: bytes, lesson: str, said: str) -> bytes:
    book = json.loads(solved)
    begun = False
    cells = []
    for cell in book["cells"]:
        source = cell["source"] if isinstance(cell["source"], str) else "".join(cell["source"])
        new = source
        if cell["cell_type"] == "code":
            new, times = _BEGIN.subn(lambda found: f"begin({found[1]}, student{said})", source)
            begun = begun or bool(times)
            new = _REVEAL.sub("", new)
            if source.strip() and not new.strip():
                continue
        elif cell["cell_type"] == "markdown":
            new = _ALONE.sub("", source).rstrip()
        if new != source:
            cell = {**cell, "source": new}
        cells.append(cell)
    if not begun and lesson_begins(book):
        raise BadData(f"The first cell of '{lesson}' does not begin the lesson as it should: build the lesson again.")
    return (json.dumps({**book, "cells": cells}, ensure_ascii=False, indent=1, sort_keys=True) + "\n").encode("utf-8")


def lesson_begins(book: dict[str, Any]) -> bool:
    """Say whether a notebook has a cell that begins a lesson."""
    return any("begin(" in "".join(cell["source"]) for cell in book["cells"] if cell["cell_type"] == "code")


def shown(desk: Path, lesson: str, chosen: str = "") -> str:
    """Settle what the pages that are handed back tell; a choice stays until another one is made.

    Parameters
    ----------
    desk : pathlib.Path
        The desk's folder.
    lesson : str
        Lesson key.
    chosen : str
        What is chosen now; empty for what was chosen last.

    Returns
    -------
    str
        ``worked``, ``verdicts`` or ``marks``.
    """
    path = desk / "ledger" / f"{lesson}-shown.txt"
    if chosen:
        keeping.write(path, chosen)
        return chosen
    try:
        return path.read_text(encoding="utf-8").strip() or "worked"
    except OSError:
        return "worked"


def notes(desk: Path, lesson: str, homework: str | None) -> list[str]:
    """Say what is to be known of the hand-out that a hand-in belongs to.

    Parameters
    ----------
    desk : pathlib.Path
        The desk's folder.
    lesson : str
        Lesson key.
    homework : str or None
        What its session was told of the hand-out; None where nothing is known.

    Returns
    -------
    list of str
        Clauses.
    """
    if homework is None:
        return []
    told = record(desk, lesson)
    mark, _, _word = homework.partition("|")
    if mark in told["signs"]:
        return []
    if homework:
        return ["its task has the numbers of another hand-out than this desk's"]
    if told["plain"]:
        return ["it is a copy from before the task's numbers were this desk's own"]
    return ["it is a copy for self-study, which shows the task's worked answer"]
