"""The plate: one page of A4 to brief from, drawn from a procedure's file.

How it is made sure that it looks like nobody's plate but ours
---------------------------------------------------------------
* No published plate was opened, measured or copied; nothing here comes from a publisher's specimen or legend.
* The page is arranged by what the pilot does: seven bands, each named on a tab at the left (field, tune, way in, way
  down, how low, go around, notes). There is no strip of boxes at the head, no framed blocks beside each other, no
  border of coordinates.
* Every number stands once. Published plates repeat courses, altitudes and frequencies where they are needed again;
  here each is told in the band where it is used first, and ``tests/test_plate.py`` holds it.
* In the plan view no words stand on the drawing: they stand in two columns, each led to its place by a thin line.
* The profile has one column for each fix, all of one width, and floors as steps of solid ground, written as the
  course writes them (``≥ 780 ft``). The missed approach is told line by line, each behind the word
  for what is done (climb, turn, track, hold), beside one sketch of the way out from above; no step has a picture.
* The symbols are the course's own: a ring with a dot is the station, a ring with a cross a fix, two strokes a line of
  which a part is left out, a small disc with a black wedge a sector. The type is DejaVu Sans, which matplotlib
  brings.

Readable at arm's length: capitals and figures are a two-hundredth of the distance high, 3 mm at 0.6 m
(:data:`needlework.showing.plate.page.SMALLEST_PT`). What does not fit at that size is refused with a sentence.
"""

from __future__ import annotations

import argparse
import io
import os
import sys
import typing
from pathlib import Path

from needlework.basis.errors import BadData
from needlework.exercises import progress
from needlework.showing.pictures.show import markup
from needlework.showing.pictures.style import styled
from needlework.showing.plate import twin
from needlework.showing.plate.page import draw_plate

if typing.TYPE_CHECKING:
    from matplotlib.figure import Figure

    from needlework.world.procedure import Procedure

__all__ = ["add_command", "draw_plate", "save", "show", "show_faulty", "show_plate"]


@styled
def _bytes(figure: Figure, kind: str, title: str) -> bytes:
    from matplotlib import rc_context

    buffer = io.BytesIO()
    named = {"Title": title, ("Date" if kind == "svg" else "CreationDate"): None}
    # The same file each time; in a PDF the words can be searched and copied.
    with rc_context({"svg.hashsalt": "plate", "pdf.fonttype": 42}):
        figure.savefig(buffer, format=kind, metadata=named)
    return buffer.getvalue()


def save(procedure: Procedure, folder: str | Path, stem: str) -> list[Path]:
    """Write a procedure's plate as PDF, as SVG, and as a page with the same in words.

    Parameters
    ----------
    procedure : Procedure
        What :func:`needlework.world.procedure.load` returned.
    folder : str or Path
        Where to write; made if need be.
    stem : str
        Name of the files, without their endings.

    Returns
    -------
    list of Path
        What was written.

    Raises
    ------
    BadData
        If it does not fit on a page, or cannot be written there.
    """
    figure, title = draw_plate(procedure), f"{procedure.airport.name}: {procedure.name}"
    svg = _bytes(figure, "svg", title)
    text = svg.decode("utf-8")
    contents = {
        "pdf": _bytes(figure, "pdf", title),
        "svg": svg,
        "html": twin.page(procedure, text[text.index("<svg") :]).encode("utf-8"),
    }
    place, written = Path(folder).expanduser(), []
    for ending, content in contents.items():
        path = place / f"{stem}-plate.{ending}"
        try:
            place.mkdir(parents=True, exist_ok=True)
            part = path.with_name(f".{path.name}.{os.getpid()}.part")
            part.write_bytes(content)
            os.replace(part, path)
        except OSError as error:
            raise BadData(f"{path} cannot be written: {error.strerror}; expected a folder of your own") from None
        written.append(path)
    return written


def show_plate(procedure: Procedure, *, size: str | None = None) -> None:
    """Display a procedure's plate in a notebook, the same in words below it; outside one, print the words.

    Parameters
    ----------
    procedure : Procedure
        What :func:`needlework.world.procedure.load` returned.
    size : {"page", "classroom"}, optional
        Default is the environment variable NEEDLEWORK_SIZE, else "page".
    """
    if progress.being_marked():
        return
    plain = "\n".join(f"{heading}: " + "; ".join(said) for heading, said in twin.words(procedure))
    if "IPython" in sys.modules and sys.modules["IPython"].get_ipython() is not None:
        from IPython.display import display

        shown = markup(draw_plate(procedure), size)
        words = f"<details><summary>The plate in words</summary>{twin.words_html(procedure)}</details>"
        display({"text/html": shown + words, "text/plain": plain}, raw=True)  # type: ignore[no-untyped-call]
    else:
        print(plain)


def show(name: str) -> None:
    """Display the plate of one of the course's procedures.

    Parameters
    ----------
    name : str
        Its name in capitals or not, such as ``"Saltmarsh"``.
    """
    from needlework.world.procedure import load

    show_plate(load(name))


def show_faulty(copy: int) -> None:
    """Display the plate of a copy with a fault that is to be found.

    Parameters
    ----------
    copy : int
        Which of the faulty copies, from 1, in the order of their names.
    """
    from needlework.world.procedure import load, names

    show_plate(load(names(faulty=True)[copy - 1], faults_stay=True))


def _run(options: argparse.Namespace) -> int:
    from needlework.world.procedure import load

    loaded = load(options.procedure)
    for path in save(loaded, options.folder, Path(loaded.file).stem):
        print(path)
    for remark in loaded.remarks:
        print(remark)
    return 0


def add_command(commands: typing.Any) -> None:
    """Add ``plate`` to the ``needlework`` command.

    Parameters
    ----------
    commands : argparse subparsers
        Where to add it.
    """
    parser = commands.add_parser(
        "plate", help="draw a procedure's plate, one page to brief from, as PDF, SVG and page"
    )
    parser.add_argument("procedure", help="its name, for example saltmarsh, or a procedure file of your own")
    parser.add_argument("folder", nargs="?", default=".", help="where to write it (default: here)")
    parser.set_defaults(run=_run)
