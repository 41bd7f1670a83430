"""The index of the trade: a page made from the docstrings, on which every formula is found by its trade name."""

from __future__ import annotations

import argparse
import importlib
import inspect
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from needlework import trade
from needlework.basis.errors import BadData
from needlework.basis.sources import SOURCES

PAGE = Path(trade.__file__).with_name("INDEX.md")

SUBJECTS: dict[str, str] = {
    "units": "Units and times",
    "angles": "Directions",
    "magnetic": "Variation, true and magnetic",
    "wind": "Wind, drift and ground speed",
    "altimetry": "Altimeter, cold air and airspeed",
    "turns": "Turns and bank",
    "ident": "Identification",
    "vor": "VOR: needle, flag, cone, receiver checks",
    "dme": "DME: slant range, channels, ground speed",
    "intercept": "Intercepting and tracking a radial, time to the station",
    "arc": "DME arcs",
    "descent": "Descent, minimums, visual descent point, timing",
    "missed": "Decision and missed approach",
    "holding": "Holding",
    "geodesy": "Positions on the earth",
}
"""Modules of the trade in the order in which a pilot meets them."""

_PARAMETER = re.compile(r"^(?P<names>\w+(?:, \w+)*) : (?P<kind>.*)\n(?P<text>(?:    .*\n?)+)", re.M)
_UNIT = re.compile(r"\[([^\]\d][^\]]*)\]")
_CODE = re.compile(r"``([^`]+)``")
_ROLE = re.compile(r":(?:func|data|class|mod):`(?:needlework\.trade\.)?([\w.]+)`")


@dataclass(frozen=True)
class Entry:
    """What the index says of one function.

    Parameters
    ----------
    name : str
        Module and function.
    gives : str
        First line of its docstring.
    parameters : tuple of (str, str)
        Name of each, and its unit or the words that it may be; empty where it has neither.
    result : str
        Unit or units of what it returns, else what kind of thing it is.
    rule : str
        First sentence of its notes, with the formula; empty where they name the source only.
    sources : tuple of str
        Keys of :data:`needlework.basis.sources.SOURCES`.
    terms : tuple of str
        Words under which a pilot looks for it.
    """

    name: str
    gives: str
    parameters: tuple[tuple[str, str], ...]
    result: str
    rule: str
    sources: tuple[str, ...]
    terms: tuple[str, ...]


def _section(doc: str, title: str) -> str:
    """Text of one section of a numpydoc docstring."""
    found = re.search(rf"^{title}\n-+\n(.*?)(?=^\w[\w ]*\n---|\Z)", doc, re.M | re.S)
    return found[1] if found else ""


def _one_line(text: str) -> str:
    return _ROLE.sub(r"`\1`", " ".join(text.split()))


def _first_sentence(text: str) -> str:
    return re.split(r"\. (?=[A-Z`])|\.$", _one_line(text))[0].replace("``", "`")


def _result(function: Callable[..., Any], returns: str) -> str:
    """Unit of what a function returns, in brackets, else what kind of thing it is."""
    units = ", ".join(dict.fromkeys(_UNIT.findall(returns)))
    if units:
        return f"[{units}]"
    if str(inspect.signature(function).return_annotation) in ("bool", "Truth"):
        return "yes or no"
    text = re.sub(r",? in the (broadcast )?shape of .*", "", _first_sentence(returns.partition("\n")[2]))
    return text[:1].lower() + text[1:]


def _rule(body: str) -> str:
    """First sentence of a function's notes, which has its formula; nothing where it names the source only."""
    words = _first_sentence(body)
    return "" if not words or words.startswith("Source") else f"{words}."


def entry_of(name: str, function: Callable[..., Any]) -> Entry:
    """Read what the index needs from a function's docstring.

    Parameters
    ----------
    name : str
        Module and function, as in ``wind.correction_deg``.
    function : callable
        A function of the trade.

    Returns
    -------
    Entry
        What the index says of it.

    Raises
    ------
    BadData
        If the docstring names no source that is on record, or no terms.
    """
    doc = (inspect.getdoc(function) or "") + "\n"
    notes = _section(doc, "Notes")
    body, _, terms = notes.partition("Terms: ")
    listed = tuple(term for term in (part.strip() for part in _one_line(terms).rstrip(".").split(";")) if term)
    if not listed:
        raise BadData(f"{name} has no line 'Terms: ...' at the end of its notes: add what a pilot would look for.")
    code = [_one_line(found) for found in _CODE.findall(body)]
    sources = tuple(dict.fromkeys(key for key in code if key in SOURCES))
    if not sources:
        raise BadData(f"{name} names no source that is on record: add one to its notes, as in ``definition``.")
    units: dict[str, str] = {}
    for found in _PARAMETER.finditer(_section(doc, "Parameters")):
        names, named = found["names"].split(", "), [f"[{unit}]" for unit in _UNIT.findall(found["text"])]
        words = re.match(r"\{.*\}", found["kind"])
        for number, one in enumerate(names):
            unit = named[number] if len(named) == len(names) else next(iter(named), "")
            units[one] = f"{words[0]} {unit}".strip() if words else unit
    return Entry(
        name,
        _one_line(doc.partition("\n\n")[0]),
        tuple((one, units.get(one, "")) for one in inspect.signature(function).parameters),
        _result(function, _section(doc, "Returns")),
        _rule(body),
        sources,
        listed,
    )


def entries() -> Iterator[Entry]:
    """Read every public function of the trade, subject by subject.

    Yields
    ------
    Entry
        In the order in which they stand in their modules.

    Raises
    ------
    BadData
        If a docstring lacks what the index needs, or a module of the trade has no subject.
    """
    there = {path.stem for path in Path(trade.__file__).parent.glob("*.py")} - {"__init__"}
    if there != set(SUBJECTS):
        raise BadData(f"The index has no place for {', '.join(sorted(there ^ set(SUBJECTS)))}: see SUBJECTS.")
    for subject in SUBJECTS:
        module = importlib.import_module(f"needlework.trade.{subject}")
        for key, function in vars(module).items():
            if inspect.isfunction(function) and not key.startswith("_") and function.__module__ == module.__name__:
                yield entry_of(f"{subject}.{key}", function)


def _anchor(heading: str) -> str:
    return re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-")


def page() -> str:
    """Write the index.

    Returns
    -------
    str
        A page in Markdown: subjects, sources, and at the end trade terms in alphabetical order.

    Raises
    ------
    BadData
        As :func:`entries`.
    """
    found = list(entries())
    lines = [
        "# Index of the trade",
        "",
        "<!-- Made from the docstrings by `needlework index`: change those, not this page. -->",
        "",
        "Every formula and rule of `needlework.trade`. Look for a word of the trade in the "
        "[list of terms](#terms) at the end, or read subject by subject. Call a function by its name and its "
        "parameters by theirs, for example "
        "`wind.correction_deg(course_deg=90, tas_kt=120, wind_from_deg=45, wind_kt=40)` "
        "after `from needlework.trade import wind`. Limits and examples: `help(wind.correction_deg)`.",
        "",
        *(f"- [{title}](#{_anchor(title)}): `{subject}`" for subject, title in SUBJECTS.items()),
        "- [Sources](#sources)",
        "- [Terms](#terms)",
        "",
    ]
    for subject, title in SUBJECTS.items():
        lines += [f"## {title}", ""]
        for entry in (entry for entry in found if entry.name.startswith(f"{subject}.")):
            given = ", ".join(f"`{name}` {unit}".strip() for name, unit in entry.parameters)
            named = "; ".join(f"{key} ({SOURCES[key].title})" for key in entry.sources)
            lines += [
                f'<a id="{entry.name}"></a>**{entry.name}** {entry.gives}  ',
                f"{given} → {entry.result}. {entry.rule} Source: {named}.".replace("  ", " "),
                "",
            ]
    used = {key for entry in found for key in entry.sources}
    lines += ["## Sources", "", "| key | title | edition | where |", "|---|---|---|---|"]
    for key, record in SOURCES.items():
        if key in used:
            title = record.title if record.seen else f"{record.title} (from memory)"
            lines.append(f"| {key} | {title} | {record.edition} | {record.section} |")
    lines += ["", "## Terms", "", "| looked for | found in |", "|---|---|"]
    places: dict[str, list[str]] = {}
    for entry in found:
        for term in entry.terms:
            places.setdefault(term, []).append(f"[{entry.name}](#{entry.name})")
    lines += [f"| {term} | {', '.join(places[term])} |" for term in sorted(places, key=str.casefold)]
    return "\n".join(lines) + "\n"


def _run(options: argparse.Namespace) -> int:
    wanted = page()
    there = PAGE.read_text(encoding="utf-8") if PAGE.exists() else ""
    if options.check:
        if there != wanted:
            raise BadData(f"{PAGE.name} is out of date: run 'needlework index' and commit it.")
        print(f"{PAGE.name} is up to date.")
    elif there == wanted:
        print(f"{PAGE} was up to date.")
    else:
        PAGE.write_text(wanted, encoding="utf-8")
        print(f"{PAGE} is written.")
    return 0


def add_command(commands: Any) -> None:
    """Add ``index`` to the ``needlework`` command.

    Parameters
    ----------
    commands : argparse subparsers
        Where to add it.
    """
    parser = commands.add_parser("index", help="write the index of the trade from its docstrings (for authors)")
    parser.add_argument("--check", action="store_true", help="change nothing; fail if it is out of date")
    parser.set_defaults(run=_run)
