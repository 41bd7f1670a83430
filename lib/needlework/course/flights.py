"""The door to flying and debriefing: ``needlework fly`` and ``needlework debrief``.

Both print the debrief and write it as one HTML page that holds its pictures and asks nobody for
anything, beside the pictures themselves. No file that is there already is ever written over.
"""

from __future__ import annotations

import argparse
import base64
import html
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from tqdm import tqdm

from needlework import debrief
from needlework.basis.errors import BadData
from needlework.debrief import Debrief, Finding, Judgement
from needlework.flying import pilot, plan, reference_pilot, tracklog
from needlework.flying.tracklog import CAUTION, Track
from needlework.world import aircraft, procedure, weather
from needlework.world.datafiles import did_you_mean

_MOST_MARKS = 5
_ON_YOUR_OWN = "Nobody has checked a recording or a procedure of your own. For training on the ground only."
_BEFORE_FLIGHT = (
    "Below a floor, past the point or turned early, nobody has checked for ground or masts. In the air: climb first. "
    "A debrief does not replace a licensed instructor, the aircraft's handbook, current charts and notices."
)
_STYLE = """
body { font: 16px/1.5 system-ui, sans-serif; max-width: 60rem; margin: 2rem auto; padding: 0 1rem;
       color: #1a1a1a; background: #fff; }
h1 { font-size: 1.5rem; } h2 { font-size: 1.2rem; margin-top: 2rem; }
.caution { border: 2px solid #d55e00; padding: .6rem 1rem; }
.verdict { font-size: 1.2rem; font-weight: bold; }
table { border-collapse: collapse; width: 100%; }
th, td { border-bottom: 1px solid #999; padding: .3rem .6rem; text-align: left; vertical-align: top; }
li { margin: .5rem 0; }
figure { margin: 1.5rem 0; } img { max-width: 100%; height: auto; } figcaption { color: #595959; }
@media print { body { margin: 0; } }
"""


@dataclass(frozen=True)
class Picture:
    """One picture of a report: its name, the PNG, and the sentence that says what it shows."""

    name: str
    png: bytes
    sentence: str


def pictures(report: Debrief, progress: tqdm[Any] | None = None) -> tuple[Picture, ...]:
    """Draw plan view, descent and strips of a debriefed flight."""
    from needlework.showing import pictures as drawing

    marks = _marks(report)
    way: dict[str, Any] = {"entry": report.entry}
    made = []
    drawn: tuple[tuple[str, Any], ...] = (
        ("plan", lambda: drawing.draw_flown_plan(report.track, report.procedure, marks=marks, **way)),
        ("descent", lambda: drawing.draw_flown_profile(report.track, report.procedure, marks=marks)),
        ("strips", lambda: _draw_strips(report, marks)),
    )
    for name, draw in drawn:
        picture = draw()
        made.append(Picture(name, drawing.png_bytes(picture, "page"), drawing.sentence_of(picture)))
        if progress is not None:
            progress.update()
    return tuple(made)


def _marks(report: Debrief) -> list[tuple[float, str]]:
    """Write beside the track the few moments to talk about: the critical and the heavy first."""
    rows = {judgement.row.key: judgement.row for judgement in report.judgements}
    sure = sorted(
        (finding for finding in report.findings if finding.sure),
        key=lambda finding: (not finding.critical, -rows[finding.row].weight),
    )
    return sorted((finding.start_s, _short(finding, rows[finding.row].short)) for finding in sure[:_MOST_MARKS])


def _short(finding: Finding, words: str) -> str:
    return f"{words}: {finding.worst:,.3g} {finding.unit}" if finding.unit else words


def _draw_strips(report: Debrief, marks: Sequence[tuple[float, str]]) -> Any:
    from needlework.showing import pictures as drawing

    seen = report.seen
    needle_limit = report.judgement("needle_final").row.limit["limit_deg"]
    columns = {"needle_deg": report.needle_deg, "dme_nm": seen.dme_nm, "alt_ft": seen.alt_ft}
    bands: dict[str, Any] = {
        "needle_deg": (-needle_limit, needle_limit),
        "alt_ft": (np.where(np.isnan(report.floor_ft), -np.inf, report.floor_ft), np.full(len(seen), np.inf)),
    }
    if not report.procedure.station.has_dme:
        del columns["dme_nm"]
    columns["gs_kt"] = seen.gs_kt
    if "ias_kt" in seen.recorded:
        columns["ias_kt"] = seen.columns["ias_kt"]
        del columns["gs_kt"]
    title = "Needle of the leg flown, DME, altitude over its floor, speed"
    return drawing.draw_strips(seen.time_s, columns, bands=bands, marks=marks, title=title)


def page(report: Debrief, shown: Sequence[Picture] = ()) -> str:
    """Write the debrief as one self-contained HTML page."""
    procedure_flown = report.procedure
    title = f"Debrief: {procedure_flown.airport.name}, {procedure_flown.name}"
    verdict = "Passed" if report.passed else "Not passed"
    ended = {"landing": "a landing", "missed": "a missed approach"}.get(report.outcome, "the end of the recording")
    sure = [finding for finding in report.findings if finding.sure]
    parts = [
        f'<p class="caution"><strong>{_e(CAUTION)}</strong><br>{_e(_BEFORE_FLIGHT)}<br>{_e(_ON_YOUR_OWN)}</p>',
        f"<h1>{_e(title)}</h1>",
        f"<p>Flown from {_e(report.entry)}; the flight ended in {ended}. Minimums {report.mda_ft:,.0f} ft.</p>",
        f'<p class="verdict">{verdict}: {report.score:.0f} of 100 over what could be judged.</p>',
    ]
    if any(finding.critical for finding in sure):
        parts.append("<p>Not passed whatever the points, because of what is marked <strong>critical</strong>.</p>")
    if report.worst:
        parts.append(f"<h2>First of all</h2><p>{_e(report.worst.text)}</p>")
    if sure:
        items = "".join(
            f"<li>{'<strong>critical:</strong> ' if finding.critical else ''}{_e(finding.text)}</li>"
            for finding in sure
        )
        parts.append(f"<h2>What to work on, in flying order</h2><ol>{items}</ol>")
    parts += [_figure(picture) for picture in shown]
    parts.append("<h2>Parts of the flight</h2>" + _table(("from", "to", "part"), _times(report)))
    rows = [(_quantity(j), j.verdict, j.fact, _weight(j)) for j in report.judgements]
    parts.append("<h2>Row by row</h2>" + _table(("what", "verdict", "how", "points"), rows))
    unclear = [finding.text for finding in report.findings if not finding.sure]
    parts += [_list("Cannot tell", unclear), _list("About the recording", report.notes)]
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; img-src data:; '
        "style-src 'unsafe-inline'\">"
        f"<title>{_e(title)}</title><style>{_STYLE}</style></head><body>\n"
        + "\n".join(filter(None, parts))
        + "\n</body></html>\n"
    )


def _e(words: str) -> str:
    return html.escape(words)


def _quantity(judgement: Judgement) -> str:
    return f"{judgement.row.segment}: {judgement.row.quantity}" + (" (critical)" if judgement.row.critical else "")


def _weight(judgement: Judgement) -> str:
    if judgement.verdict in ("met", "missed"):
        return f"{judgement.row.weight * judgement.credit:g} of {judgement.row.weight:g}"
    return "not counted"


def _times(report: Debrief) -> list[tuple[str, str, str]]:
    return [(debrief.clock(part.start_s), debrief.clock(part.end_s), part.text) for part in report.parts]


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    head = "".join(f'<th scope="col">{_e(word)}</th>' for word in heads)
    body = "".join("<tr>" + "".join(f"<td>{_e(cell)}</td>" for cell in row) + "</tr>" for row in rows)
    return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _list(title: str, items: Sequence[str]) -> str:
    return f"<h2>{_e(title)}</h2><ul>{''.join(f'<li>{_e(item)}</li>' for item in items)}</ul>" if items else ""


def _figure(picture: Picture) -> str:
    data = base64.b64encode(picture.png).decode("ascii")
    words = _e(picture.sentence)
    return f'<figure><img src="data:image/png;base64,{data}" alt="{words}"><figcaption>{words}</figcaption></figure>'


def write(report: Debrief, folder: Path, stem: str, *, quiet: bool = False) -> tuple[Path, ...]:
    """Write page and pictures under names that are still free; returns them, the page first."""
    with tqdm(total=4, desc="report", unit="picture", leave=False, disable=True if quiet else None) as progress:
        shown = pictures(report, progress)
        try:
            folder.mkdir(parents=True, exist_ok=True)
            stem = _free(folder, stem, [".html", *(f"-{picture.name}.png" for picture in shown)])
            written = [folder / f"{stem}.html"]
            written[0].write_text(page(report, shown), encoding="utf-8")
            for picture in shown:
                written.append(folder / f"{stem}-{picture.name}.png")
                written[-1].write_bytes(picture.png)
        except OSError as fault:
            raise BadData(f"{folder}: cannot be written to ({fault.strerror}): choose another with --out") from fault
        progress.update()
    return tuple(written)


def _free(folder: Path, stem: str, endings: Sequence[str]) -> str:
    """Give the stem, with a number where a file of that name is there already."""
    number, name = 1, stem
    while any((folder / f"{name}{ending}").exists() for ending in endings):
        number += 1
        name = f"{stem}-{number}"
    return name


# --- commands ------------------------------------------------------------------------------------------


def add_command(commands: Any) -> None:
    """Add ``fly`` and ``debrief`` to the command line (both, whichever is asked for; once)."""
    if "fly" in commands.choices:
        return
    flying = commands.add_parser(
        "fly", help="fly a plan (or let the reference pilot fly) in a wind, and be debriefed"
    )
    flying.add_argument("procedure", help="name of a procedure or a file of your own")
    flying.add_argument("--plan", help="file with your plan; without it the reference pilot flies")
    flying.add_argument("--wind", help="wind from, true, and knots, such as 240/25 or 240/25G35")
    flying.add_argument("--day", help="one of the preset days, in place of --wind")
    flying.add_argument("--entry", help="fix where the approach begins (default: the first)")
    flying.add_argument("--fault", help="a fault for the reference pilot to make, for a class to find")
    flying.add_argument(
        "--laps", type=int, default=0, help="laps of the hold flown after the missed approach, 0 to 9 (default 0)"
    )
    flying.add_argument("--seed", type=int, default=0, help="which waves needle and gusts have (default 0)")
    _shared(flying, "Finch")
    flying.set_defaults(run=_fly)
    judging = commands.add_parser("debrief", help="debrief a recording from any simulator or receiver")
    judging.add_argument("track", help="the recording: .csv, .gpx or .kml")
    judging.add_argument("--procedure", required=True, help="name of a procedure or a file of your own")
    judging.add_argument("--entry", help="fix where the approach began (default: found from the track)")
    judging.add_argument(
        "--category", choices=list("ABCDE"), help="approach category (default: the aircraft's, else A)"
    )
    _shared(judging, None)
    judging.set_defaults(run=_debrief)


def _shared(parser: argparse.ArgumentParser, craft: str | None) -> None:
    known = f"default {craft}" if craft else "without it speeds are not judged"
    parser.add_argument("--aircraft", default=craft, help=f"one of the course's aircraft ({known})")
    parser.add_argument("--remote", action="store_true", help="the altimeter setting was another field's")
    parser.add_argument(
        "--in-sight",
        choices=["yes", "no"],
        help="whether the runway was in sight at minimums (default: nobody knows)",
    )
    parser.add_argument("--out", default=".", help="folder for report and pictures (default: here)")


def _fly(options: argparse.Namespace) -> int:
    flown = procedure.load(options.procedure)
    craft = aircraft.load(options.aircraft)
    day = _day(options, flown.airport.elevation_ft)
    with tqdm(total=1, desc="flying", unit="flight", leave=False, disable=None) as progress:
        track, waiting = _flown(options, flown, craft, day)
        progress.update()
    folder, stem = Path(options.out), f"fly-{Path(flown.file).stem}"
    _made(folder)
    stem = _free(folder, stem, [".csv", ".html"])
    recording = tracklog.write(track, folder / f"{stem}.csv")
    if waiting:
        print(f"The plan was not flown to its end: it still waited for {waiting}.\n")
    _finish(options, track, flown, craft, folder, stem)
    print(f"Recording: {recording}")
    return 0


def _flown(
    options: argparse.Namespace, flown: procedure.Procedure, craft: aircraft.Aircraft, day: weather.Day
) -> tuple[Track, str]:
    if options.plan:
        for given, name in ((options.fault, "--fault"), (options.laps, "--laps")):
            if given:
                raise BadData(f"{name} is for the reference pilot: leave --plan or {name} out")
        chosen = plan.read(options.plan)
        flight = pilot.fly(chosen, flown.station, craft, day, seed=options.seed)
        return flight.track(chosen.name or Path(options.plan).stem), flight.waiting
    faults = [options.fault] if options.fault else []
    for fault in faults:
        if fault not in reference_pilot.FAULTS:
            raise BadData(f"There is no fault {fault!r}: {did_you_mean(fault, reference_pilot.FAULTS)}")
        if reference_pilot.FAULTS[fault].segment == "hold" and not options.laps:
            raise BadData(f"The fault {fault!r} shows in the hold: add --laps 2")
    if not 0 <= options.laps <= 9:
        raise BadData(f"--laps {options.laps}: expected 0 to 9 laps of the hold")
    flights = reference_pilot.fly(
        flown, craft, day, entry=options.entry, faults=faults, seed=options.seed, laps=options.laps
    )
    flight = flights.one(0)
    return flight.track("reference pilot"), flight.waiting


def _day(options: argparse.Namespace, field_ft: float) -> weather.Day:
    if options.wind and options.day:
        raise BadData("--wind and --day both name a wind: leave one of them out")
    if options.day:
        return weather.day(options.day, field_elevation_ft=field_ft, seed=options.seed)
    wind = weather.parse(options.wind or "calm")
    return weather.Day("As given", "a wind given on the command line", wind, 15.0, 1013.25)


def _debrief(options: argparse.Namespace) -> int:
    flown = procedure.load(options.procedure)
    craft = aircraft.load(options.aircraft) if options.aircraft else None
    track = tracklog.read(options.track)
    folder = Path(options.out)
    _made(folder)
    _finish(options, track, flown, craft, folder, f"debrief-{Path(options.track).stem}")
    return 0


def _made(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise BadData(f"{folder}: cannot be made ({fault.strerror}): choose another with --out") from fault


def _finish(
    options: argparse.Namespace,
    track: Track,
    flown: procedure.Procedure,
    craft: aircraft.Aircraft | None,
    folder: Path,
    stem: str,
) -> None:
    """Judge, print and write."""
    report = debrief.debrief(
        track,
        flown,
        craft,
        entry=options.entry,
        category=getattr(options, "category", None),
        remote=options.remote,
        in_sight={"yes": True, "no": False, None: None}[options.in_sight],
    )
    print(debrief.text(report))
    written = write(report, folder, stem)
    print(f"Report: {written[0]}\nPictures: {', '.join(str(path) for path in written[1:])}")
