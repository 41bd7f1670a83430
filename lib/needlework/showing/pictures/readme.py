"""The pictures of the README, made by one command so that they never fall behind the course."""

from __future__ import annotations

import argparse
import typing
from collections.abc import Callable
from pathlib import Path

import numpy as np

from needlework.basis.errors import BadData
from needlework.showing.pictures.arcs import draw_arc
from needlework.showing.pictures.dial import draw_needle
from needlework.showing.pictures.passage import draw_passage
from needlework.showing.pictures.procedures import draw_procedure_plan
from needlework.showing.pictures.profile import draw_flown_profile, draw_procedure_profile
from needlework.showing.pictures.show import png_bytes
from needlework.showing.pictures.style import Picture, new_figure, sentence_of, styled
from needlework.trade import vor
from needlework.trade.angles import reciprocal
from needlework.trade.dme import slant_nm

_COURSE_DEG = 214.0
_HEIGHT_FT = 3000.0


@styled
def draw_passage_story() -> Picture:
    """Draw a passage from the side and, below, what the instruments show before, inside and after the cone."""
    figure = new_figure(8.6, 7.0)
    grid = figure.add_gridspec(2, 1, height_ratios=(1.25, 1.0))
    top, low = figure.add_subfigure(grid[0]), figure.add_subfigure(grid[1])
    draw_passage(_HEIGHT_FT, 90.0, ax=top.add_subplot(), title="Station passage")
    faces = low.subplots(1, 3)
    off_nm = 0.05  # a little to the right of the course, as real flights are
    for ax, (name, along_nm) in zip(faces, (("Before", -1.5), ("Inside", -0.2), ("After", 1.5)), strict=True):
        beside_deg = float(np.rad2deg(np.arctan2(off_nm, abs(along_nm))))
        radial = _COURSE_DEG + beside_deg if along_nm > 0 else float(np.asarray(reciprocal(_COURSE_DEG))) - beside_deg
        dist = float(np.hypot(along_nm, off_nm))
        draw_needle(
            float(np.asarray(vor.needle_deg(radial_deg=radial, selected_course_deg=_COURSE_DEG))),
            _COURSE_DEG,
            str(vor.flag(radial_deg=radial, selected_course_deg=_COURSE_DEG, dist_nm=dist, height_ft=_HEIGHT_FT)),
            dme_nm=float(np.asarray(slant_nm(ground_nm=dist, height_ft=_HEIGHT_FT))),
            letter=name,
            ax=ax,
        )
    return figure


def _saltmarsh_plan() -> Picture:
    from needlework.world import procedure

    return draw_procedure_plan(procedure.load("saltmarsh"))


def _saltmarsh_profile() -> Picture:
    from needlework.world import procedure

    return draw_procedure_profile(procedure.load("saltmarsh"))


def _saltmarsh_arc() -> Picture:
    return draw_arc(
        10.0, 310.0, 30.0, "right", tas_kt=98.0, wind_from_deg=293.0, wind_kt=24.0, final_radial_deg=34.0,
        variation_deg=-13.0, title="Saltmarsh: the arc in steps of ten degrees, wind from the west",
    )  # fmt: skip


def _saltmarsh_flown() -> Picture:
    from needlework.flying import reference_pilot
    from needlework.world import aircraft, procedure, weather

    loaded = procedure.load("saltmarsh")
    day = weather.day("Crosser", field_elevation_ft=loaded.airport.elevation_ft)
    flown = reference_pilot.fly(loaded, aircraft.load("Finch"), day, faults=("missed step-down",)).one(0)
    return draw_flown_profile(flown.track("Merrow 27"), loaded)


README_PICTURES: dict[str, Callable[[], Picture]] = {
    "station-passage.png": draw_passage_story,
    "saltmarsh-plan.png": _saltmarsh_plan,
    "saltmarsh-profile.png": _saltmarsh_profile,
    "saltmarsh-arc.png": _saltmarsh_arc,
    "saltmarsh-flown.png": _saltmarsh_flown,
}
"""File name of each picture, and what draws it."""


def save_readme_pictures(folder: str | Path) -> dict[str, str]:
    """Write the pictures of the README, larger than on a page, into a folder.

    Parameters
    ----------
    folder : str or Path
        Where to write; made if need be.

    Returns
    -------
    dict of str to str
        For each file written, the sentence that says what it shows.
    """
    place, said = Path(folder), {}
    for name, draw in README_PICTURES.items():
        picture = draw()
        try:
            place.mkdir(parents=True, exist_ok=True)
            (place / name).write_bytes(png_bytes(picture, "page"))
        except OSError as error:
            raise BadData(
                f"{place / name} cannot be written: {error.strerror}; expected a folder of your own"
            ) from None
        said[name] = sentence_of(picture)
    return said


def _run(options: argparse.Namespace) -> int:
    for name, sentence in save_readme_pictures(options.folder).items():
        print(f"{name}: {sentence}")
    return 0


def add_command(commands: typing.Any) -> None:
    """Add ``pictures`` to the ``needlework`` command.

    Parameters
    ----------
    commands : argparse subparsers
        Where to add it.
    """
    parser = commands.add_parser("pictures", help="draw the pictures of the README (for authors)")
    parser.add_argument(
        "folder", nargs="?", default="lib/pictures", help="where to write them (default: lib/pictures)"
    )
    parser.set_defaults(run=_run)
