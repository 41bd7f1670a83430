"""The words of the course: what each means, beside the trade's abbreviation, at the end of its lesson."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from needlework.basis.errors import BadData
from needlework.exercises.catalogue import FOLDER, ORDER

GLOSSARY = FOLDER / "glossary.toml"


@dataclass(frozen=True)
class Term:
    """One word of the course.

    Parameters
    ----------
    term : str
        As the course says it.
    meaning : str
        One sentence.
    lesson : str
        Key of the lesson in which it is first used.
    trade : str
        The trade's abbreviation or fuller name; empty if there is none.
    place : str
        Heading of the section that explains it; empty for a word that a pilot brings along.
    said : str
        Words of that section that explain it.
    forms : tuple of str
        Other forms of it in the texts.
    known : bool
        True for a word that a pilot brings along.
    """

    term: str
    meaning: str
    lesson: str
    trade: str = ""
    place: str = ""
    said: str = ""
    forms: tuple[str, ...] = ()
    known: bool = False


@dataclass(frozen=True)
class Never:
    """What is not said, since a word of the course means something else: a pattern, and what is said instead."""

    pattern: str
    instead: str


@cache
def read(path: Path = GLOSSARY) -> tuple[tuple[Term, ...], tuple[Never, ...]]:
    """Read the words of the course, and what is not said.

    Parameters
    ----------
    path : pathlib.Path
        The file.

    Returns
    -------
    tuple of (tuple of Term, tuple of Never)
        As they stand there.

    Raises
    ------
    BadData
        If a term lacks something, stands twice, or names no lesson of the course.
    """
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8"))
        terms = tuple(Term(**{**each, "forms": tuple(each.get("forms", ()))}) for each in data["terms"])
        never = tuple(Never(**each) for each in data.get("never", ()))
    except (OSError, ValueError, TypeError, KeyError) as error:
        raise BadData(f"{path.name}: {error}; compare with the terms beside it.") from error
    seen: set[str] = set()
    for term in terms:
        if term.term in seen:
            raise BadData(f"{path.name}: '{term.term}' stands twice; keep one.")
        if term.lesson not in ORDER:
            raise BadData(
                f"{path.name}: '{term.term}': there is no lesson '{term.lesson}'; expected one of the course."
            )
        if not term.known and not (term.place and term.said):
            raise BadData(f"{path.name}: '{term.term}': say where it is explained, place and said, or known = true.")
        seen.add(term.term)
    return terms, never


def words_of(lesson: str) -> str:
    """Write the words that a lesson brings, folded, for its end.

    Parameters
    ----------
    lesson : str
        Key of the lesson.

    Returns
    -------
    str
        Markdown; empty for a lesson that brings none.
    """
    rows = [
        f"| **{term.term}**{f' ({term.trade})' if term.trade else ''} | {term.meaning} |"
        for term in read()[0]
        if term.lesson == lesson
    ]
    if not rows:
        return ""
    head = "<details><summary><b>Words of this lesson</b></summary>\n\n| word | what it means here |\n|---|---|"
    return "\n".join([head, *rows, "", "</details>"])
