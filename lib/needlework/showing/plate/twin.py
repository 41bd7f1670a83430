"""A plate in words, for those who cannot see it, and the page that holds drawing and words."""

from __future__ import annotations

import html
import re
import typing

from needlework.showing.plate import facts
from needlework.showing.plate.facts import CAUTION, Fact

if typing.TYPE_CHECKING:
    from needlework.world.procedure import Procedure

_STYLE = """
:root { color-scheme: light dark; --paper: #fff; --ink: #000; --soft: #595959; --warn: #a94600; }
@media (prefers-color-scheme: dark) { :root { --paper: #111; --ink: #f2f2f2; --soft: #b8b8b8; --warn: #ff9d5c; } }
body { margin: 0 auto; padding: 0.5rem; max-width: 60rem; background: var(--paper); color: var(--ink);
  font: 1.15rem/1.45 "DejaVu Sans", system-ui, sans-serif; }
.plate { background: #fff; } .plate svg { display: block; width: 100%; height: auto; }
.caution { color: var(--warn); font-weight: bold; }
h2 { margin: 1.2rem 0 0.3rem; border-bottom: 1px solid var(--soft); }
table { border-collapse: collapse; } th, td { padding: 0.2rem 0.8rem 0.2rem 0; text-align: left; }
@media print { @page { size: A4; margin: 0; } body { padding: 0; max-width: none; }
  h1, .caution { display: none; } .plate { break-after: page; }
  .plate svg { height: 296mm; width: auto; margin: 0 auto; } .words { padding: 12mm; font-size: 12pt; } }
"""


def words(procedure: Procedure) -> list[tuple[str, list[str]]]:
    """Give what a plate says, band by band, in the order in which it is used.

    Parameters
    ----------
    procedure : Procedure
        What :func:`needlework.world.procedure.load` returned.

    Returns
    -------
    list of (str, list of str)
        Heading of each band and its sentences.
    """
    head, station = facts.head(procedure), facts.station(procedure)
    told: list[tuple[str, list[str]]] = [
        ("Field", [_one(head["name"]), _one(head["field"]), _one(head["dates"]), _one(facts.runway(procedure))]),
        (
            "Tune",
            [
                f"{station['ident'].text} {station['frequency'].text}, {station['channel'].text}, ident "
                f"{_spoken(station['morse'].text)}",
                *(_one(fact) for fact in (station["tail"], *facts.others(procedure))),
            ],
        ),
    ]
    way_in = [_one(fact) for _, fact in facts.sectors(procedure)]
    way_in += [f"{leg.text}: {_one(fact)}" for leg, fact in facts.way_in(procedure)]
    way_in += [_one(fact) for _, fact in facts.elsewhere(procedure)]
    told.append(("Way in", way_in))
    down = [
        f"{'Final fix' if name == procedure.final_fix else 'Fix'} {_one(facts.fix(procedure, name, lines=False))}"
        for name in facts.on_final(procedure)
    ]
    down += [
        f"{legs[0].start or 'in'} to {legs[-1].end}: course {_one(fact)}"
        for legs, fact in facts.courses_down(procedure)
    ]
    down += [f"{leg.text}: floor {_one(fact)}" for leg, fact in facts.floors_down(procedure)]
    down.append(_one(facts.descent(procedure)))
    down += [f"at {speed.text} kt over the ground {took.text} to the MAP" for speed, took in facts.times(procedure)]
    told.append(("Way down", down))
    told.append(("How low", [*_lines_of_minimums(procedure), *(_one(fact) for fact in facts.changes(procedure))]))
    steps = [f"{word}: {_one(fact)}" for word, fact in facts.go_around(procedure)]
    told.append(("Go around", [*steps, f"gradient: {_one(facts.gradient(procedure))}"]))
    told.append(("Notes", [_one(fact) for fact in facts.notes(procedure)]))
    return told


def for_a_class(procedure: Procedure) -> list[tuple[str, list[str]]]:
    """Give what a plate says to a class: the minimums in sentences too, and no ident in dots and dashes.

    Parameters
    ----------
    procedure : Procedure
        What :func:`needlework.world.procedure.load` returned.

    Returns
    -------
    list of (str, list of str)
        Heading of each band and its sentences.
    """
    station, told = facts.station(procedure), dict(words(procedure))
    told["Tune"][0] = f"{station['ident'].text} {station['frequency'].text}, {station['channel'].text}"
    told["Tune"] = [re.sub(r"\s*[•–](?:\s*[•–])*\s*", " ", said) for said in told["Tune"]]
    categories, table = facts.minimums(procedure)
    lines = [
        f"{kind}: " + "; ".join(f"{name} {_one(fact)}" for name, fact in zip(categories, cells, strict=True))
        for kind, cells in table
    ]
    told["How low"] = [*lines, *told["How low"]]
    return [(band, said) for band, said in told.items() if said]


def _one(fact: Fact) -> str:
    return fact.text.replace("\n", " ")


def _spoken(morse: str) -> str:
    """Say dots and dashes, letter by letter."""
    letters = [" ".join({"•": "dot", "–": "dash"}[sign] for sign in letter) for letter in morse.split()]
    return ", ".join(letters)


def words_html(procedure: Procedure) -> str:
    """Give the words of a plate as HTML: lists, and the minimums as a table."""
    parts = []
    in_the_table = _lines_of_minimums(procedure)
    for heading, said in words(procedure):
        sentences = [sentence for sentence in said if sentence not in in_the_table]
        items = "".join(f"<li>{html.escape(sentence)}</li>" for sentence in sentences)
        table = _minimums(procedure) if heading == "How low" else ""
        if items or table:
            parts.append(f"<h2>{heading}</h2>{table}<ul>{items}</ul>" if items else f"<h2>{heading}</h2>{table}")
    return "".join(parts)


def _lines_of_minimums(procedure: Procedure) -> list[str]:
    """Say the table of minimums line by line."""
    categories, table = facts.minimums(procedure)
    return [
        f"{kind}, category {category}: {', '.join(fact.text.splitlines())}"
        for kind, cells in table
        for category, fact in zip(categories, cells, strict=True)
    ]


def _minimums(procedure: Procedure) -> str:
    categories, table = facts.minimums(procedure)
    head = "".join(f'<th scope="col">{category}</th>' for category in categories)
    rows = "".join(
        f'<tr><th scope="row">{kind}</th>'
        + "".join(f"<td>{html.escape(_one(fact))}</td>" for fact in cells)
        + "</tr>"
        for kind, cells in table
    )
    return f'<table><tr><th scope="col">category</th>{head}</tr>{rows}</table>'


def page(procedure: Procedure, svg: str) -> str:
    """Give the page: the drawing, which prints on one sheet, then the same in words.

    Parameters
    ----------
    procedure : Procedure
        What :func:`needlework.world.procedure.load` returned.
    svg : str
        The drawing, from its ``<svg`` on.

    Returns
    -------
    str
        One file of HTML that needs nothing else.
    """
    title = html.escape(f"{procedure.airport.name}: {procedure.name}")
    return (
        f'<!doctype html>\n<html lang="en-GB"><head><meta charset="utf-8"><title>{title}</title>'
        f'<meta name="viewport" content="width=device-width, initial-scale=1"><style>{_STYLE}</style></head>'
        "<body><main>"
        f'<h1>{title}</h1><p class="caution">{CAUTION}</p>'
        f'<div class="plate" role="img" aria-label="Plate of {title}; the same in words stands below.">{svg}</div>'
        f'<section class="words">{words_html(procedure)}</section></main></body></html>\n'
    )
