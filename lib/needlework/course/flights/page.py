"""The debrief as one HTML page: it holds its pictures and its replay, and asks nobody for anything."""

from __future__ import annotations

import base64
import html
from collections.abc import Sequence
from pathlib import Path

from tqdm import tqdm

from needlework import debrief
from needlework.basis.errors import BadData
from needlework.course.flights import pictures as drawn
from needlework.course.flights import replay
from needlework.course.flights.pictures import Picture
from needlework.debrief import Debrief, Finding, Judgement, words
from needlework.debrief.training import next_training
from needlework.flying.tracklog import CAUTION

_ON_YOUR_OWN = "Nobody has checked a recording or a procedure of your own. For training on the ground only."
_BEFORE_FLIGHT = (
    "Below a floor, past the point or turned early, nobody has checked for ground or masts. In the air: climb first. "
    "A debrief does not replace a licensed instructor, the aircraft's handbook, current charts and notices."
)
_STYLE = """
:root { --ink: #1a1a1a; --paper: #fff; --line: #999; --soft: #595959; --warn: #b34700; --wanted: #0072b2; }
@media (prefers-color-scheme: dark) {
  :root { --ink: #e6e6e6; --paper: #16181b; --line: #666; --soft: #aaa; --warn: #ff9a5c; --wanted: #56b4e9; }
  figure img { filter: invert(.88) hue-rotate(180deg); }
}
body { font: 16px/1.5 system-ui, sans-serif; max-width: 60rem; margin: 2rem auto; padding: 0 1rem;
       color: var(--ink); background: var(--paper); }
h1 { font-size: 1.5rem; } h2 { font-size: 1.2rem; margin-top: 2rem; }
.caution { border: 2px solid var(--warn); padding: .6rem 1rem; }
.verdict { font-size: 1.2rem; font-weight: bold; }
table { border-collapse: collapse; width: 100%; }
th, td { border-bottom: 1px solid var(--line); padding: .3rem .6rem; text-align: left; vertical-align: top; }
li { margin: .5rem 0; } .paper { display: none; }
figure { margin: 1.5rem 0; } img { max-width: 100%; height: auto; } figcaption { color: var(--soft); }
@media print {
  :root { --ink: #000; --paper: #fff; --line: #999; --soft: #444; --warn: #b34700; --wanted: #0072b2; }
  @page { size: A4; margin: 12mm; }
  body { margin: 0; padding: 0; max-width: none; font-size: 9pt; line-height: 1.3; }
  h1 { font-size: 14pt; margin: .3rem 0; } h2 { font-size: 11pt; margin: .6rem 0 .2rem; break-after: avoid; }
  li { margin: .15rem 0; } th, td { padding: .1rem .3rem; } ol, ul { margin: .2rem 0; }
  figure { break-inside: avoid; margin: .4rem 0; text-align: center; } img { max-height: 108mm; filter: none; }
  figcaption { font-size: 8pt; } .left, .met, .screen { display: none; } .paper { display: block; }
  tr, li { break-inside: avoid; } .narrow { columns: 2; column-gap: 8mm; }
}
"""


def page(report: Debrief, shown: Sequence[Picture] = (), before: str = "") -> str:
    """Write the debrief as one self-contained HTML page; ``before`` is what earlier flights tell, ready-made HTML."""
    flown = report.procedure
    title = f"Debrief: {flown.airport.name}, {flown.name}"
    code, digest = replay.script_of(report)
    came = words.flown(report)
    parts = [
        f'<p class="caution"><strong>{_e(CAUTION)}</strong><br>{_e(_BEFORE_FLIGHT)}<br>{_e(_ON_YOUR_OWN)}</p>',
        f"<h1>{_e(title)}</h1>",
        f"<p>{'<br>'.join(_e(line) for line in words.head(report))}</p>",
        f"<p>{_e(came[0].upper() + came[1:])}. Minimums {report.mda_ft:,.0f} ft.</p>",
        *(f"<p>{_e(line)}</p>" for line in words.way_in(report)),
        f'<p class="verdict">{_e(words.verdict(report).capitalize())}</p>',
        *(
            f"<p>{_e(line.replace('with !', 'critical').replace('with /', 'beyond the standard'))}</p>"
            for line in words.why(report)
        ),
    ]
    if report.worst:
        parts.append(f"<h2>First of all</h2><p>{_e(report.worst.text)}</p>")
    parts += [
        _numbered("What to work on, in flying order", report.findings),
        _list("Train next", [one.text for one in next_training(report)]),
        _list("What went well", words.well(report), "narrow"),
        before,
        replay.MARKUP,
        *(_figure(picture) for picture in shown),
        "<h2>Parts of the flight</h2>",
        f'<div class="narrow">{_table(("from", "to", "part"), _times(report))}</div>',
        '<p class="screen">Where a part is another one, set it by hand with its words and the time it began: '
        + f"<code>--legs {_e(chr(34) + _example(report) + chr(34))}</code>.</p>",
        "<h2>Row by row</h2>" + _rows(report.judgements),
        '<p class="paper">What was met stands under What went well; what was not judged is left out on paper.</p>',
        _list("About the recording", report.notes),
    ]
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        '<meta name="color-scheme" content="light dark">'
        '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; img-src data:; '
        f"style-src 'unsafe-inline'; script-src '{digest}'\">"
        f"<title>{_e(title)}</title><style>{_STYLE}{replay.STYLE}</style></head><body><main>\n"
        + "\n".join(filter(None, parts))
        + f"\n</main><script>{code}</script></body></html>\n"
    )


def _e(text: str) -> str:
    return html.escape(text)


def _example(report: Debrief) -> str:
    part = report.parts[min(1, len(report.parts) - 1)]
    return f"{part.text} {debrief.clock(part.start_s)}"


def _weight(judgement: Judgement) -> str:
    if judgement.verdict in ("met", "missed"):
        return f"{judgement.row.weight * judgement.credit:g} of {judgement.row.weight:g}"
    return "not counted"


def _times(report: Debrief) -> list[tuple[str, str, str]]:
    return [(debrief.clock(part.start_s), debrief.clock(part.end_s), part.text) for part in report.parts]


def _rows(judgements: Sequence[Judgement]) -> str:
    head = "".join(f'<th scope="col">{word}</th>' for word in ("what", "verdict", "how", "points"))
    body = []
    for one in judgements:
        name = f"{one.row.segment}: {one.row.quantity}" + (" (can be critical)" if one.row.critical else "")
        cells = (name, one.verdict, one.fact, _weight(one))
        left = {"not judged": ' class="left"', "met": ' class="met"'}.get(one.verdict, "")
        body.append(f"<tr{left}>" + "".join(f"<td>{_e(cell)}</td>" for cell in cells) + "</tr>")
    return f"<table><thead><tr>{head}</tr></thead><tbody>{''.join(body)}</tbody></table>"


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    head = "".join(f'<th scope="col">{_e(word)}</th>' for word in heads)
    body = "".join("<tr>" + "".join(f"<td>{_e(cell)}</td>" for cell in row) + "</tr>" for row in rows)
    return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _numbered(title: str, findings: Sequence[Finding]) -> str:
    items = "".join(
        f"<li>{'<strong>critical:</strong> ' if one.critical else ''}"
        f"{'<strong>beyond the standard:</strong> ' if one.failed and not one.critical else ''}{_e(one.text)}</li>"
        for one in findings
    )
    return f"<h2>{_e(title)}</h2><ol>{items}</ol>" if items else ""


def _list(title: str, items: Sequence[str], style: str = "") -> str:
    if not items:
        return ""
    shown = f' class="{style}"' if style else ""
    return f"<h2>{_e(title)}</h2><ul{shown}>{''.join(f'<li>{_e(item)}</li>' for item in items)}</ul>"


def _figure(picture: Picture) -> str:
    data = base64.b64encode(picture.png).decode("ascii")
    said = _e(picture.sentence)
    return f'<figure><img src="data:image/png;base64,{data}" alt="{said}"><figcaption>{said}</figcaption></figure>'


def write(report: Debrief, folder: Path, stem: str, *, before: str = "", quiet: bool = False) -> tuple[Path, ...]:
    """Write page and pictures under names that are still free; returns them, the page first."""
    with tqdm(total=4, desc="report", unit="picture", leave=False, disable=True if quiet else None) as progress:
        shown = drawn.pictures(report, progress)
        try:
            folder.mkdir(parents=True, exist_ok=True)
            stem = free(folder, stem, [".html", *(f"-{picture.name}.png" for picture in shown)])
            written = [folder / f"{stem}.html"]
            written[0].write_text(page(report, shown, before), encoding="utf-8")
            for picture in shown:
                written.append(folder / f"{stem}-{picture.name}.png")
                written[-1].write_bytes(picture.png)
        except OSError as fault:
            raise BadData(f"{folder}: cannot be written to ({fault.strerror}): choose another with --out") from fault
        progress.update()
    return tuple(written)


def free(folder: Path, stem: str, endings: Sequence[str]) -> str:
    """Give the stem, with a number where a file of that name is there already."""
    number, name = 1, stem
    while any((folder / f"{name}{ending}").exists() for ending in endings):
        number += 1
        name = f"{stem}-{number}"
    return name
