"""How every picture looks: palette, line styles, hatches, fonts, and the caution that stands on each."""

from __future__ import annotations

import contextlib
import functools
import typing
from collections.abc import Callable, Iterator, Sequence
from contextvars import ContextVar

from needlework.basis import light
from needlework.basis.quantity import Constant

if typing.TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Picture: typing.TypeAlias = "Axes | Figure | Sequence[Axes]"
P = typing.ParamSpec("P")
R = typing.TypeVar("R")

CAUTION = "Invented data, for training only. Not for navigation."

PALETTE = {
    "paper": "#FFFFFF",
    "ink": "#000000",
    "track": "#000000",
    "course": "#0072B2",
    "radial": "#009E73",
    "warning": "#D55E00",
    "minimums": "#C56FA0",
    "secondary": "#595959",
    "grid": "#D9D9D9",
    "course text": "#005A8E",
    "radial text": "#00684C",
    "warning text": "#A94600",
    "minimums text": "#8E2F66",
    "band": "#E3EFF7",
    "cone": "#FBE5D6",
}
"""Colour by role. Lines have contrast 3:1 or more on paper, text 4.5:1 (the tests compute both)."""

LINE_ROLES = ("track", "course", "radial", "warning", "minimums", "secondary")
TEXT_ROLES = ("ink", "secondary", "course text", "radial text", "warning text", "minimums text")

LINES: dict[str, dict[str, typing.Any]] = {
    "track": {"color": PALETTE["track"], "linestyle": "-", "linewidth": 2.4},
    "course": {"color": PALETTE["course"], "linestyle": (0, (6, 3)), "linewidth": 2.0},
    "radial": {"color": PALETTE["radial"], "linestyle": (0, (7, 2.5, 1.5, 2.5)), "linewidth": 1.6},
    "warning": {"color": PALETTE["warning"], "linestyle": (0, (4, 2)), "linewidth": 1.8},
    "minimums": {"color": PALETTE["minimums"], "linestyle": (0, (1.5, 1.5)), "linewidth": 2.2},
    "secondary": {"color": PALETTE["secondary"], "linestyle": "-", "linewidth": 1.0},
}
"""Colour, dashes and weight by role, so that colour is never the only mark."""

HAIR = Constant(0.9, "pt", "common-practice", "the thinnest line that still prints")
"""Thinner than a line that means something, in points: words may stand over it."""

HATCHES = {"cone": "....", "floor": "\\\\\\\\"}

_RC: dict[str, typing.Any] = {
    "font.family": ["DejaVu Sans"],
    "font.size": 11.0,
    "axes.titlesize": 12.0,
    "axes.titleweight": "bold",
    "axes.labelsize": 11.0,
    "axes.edgecolor": PALETTE["secondary"],
    "axes.labelcolor": PALETTE["ink"],
    "axes.axisbelow": True,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.unicode_minus": True,
    "grid.color": PALETTE["grid"],
    "grid.linewidth": 0.8,
    "xtick.labelsize": 10.0,
    "ytick.labelsize": 10.0,
    "xtick.color": PALETTE["secondary"],
    "ytick.color": PALETTE["secondary"],
    "legend.fontsize": 10.0,
    "legend.frameon": False,
    "figure.facecolor": PALETTE["paper"],
    "savefig.facecolor": PALETTE["paper"],
    "hatch.linewidth": 0.8,
    "path.simplify": True,
}


def styled(draw: Callable[P, R]) -> Callable[P, R]:
    """Run a drawing function in the course's style, whatever the learner's own settings are."""

    @functools.wraps(draw)
    def in_style(*args: P.args, **kwargs: P.kwargs) -> R:
        from matplotlib import style

        light.drew()
        with style.context(["default", _RC]):
            return draw(*args, **kwargs)

    return in_style


_SHEET: ContextVar[float] = ContextVar("sheet", default=1.0)


@contextlib.contextmanager
def on_a_sheet(part: float) -> Iterator[None]:
    """Make figures on a sheet of part of their width and height: what is written on them is so much larger."""
    before = _SHEET.set(part)
    try:
        yield
    finally:
        _SHEET.reset(before)


def new_figure(width_in: float, height_in: float) -> Figure:
    """Make a figure of our own, outside pyplot, so that no notebook shows it by itself or keeps it open."""
    from matplotlib.figure import Figure

    part = _SHEET.get()
    return Figure(figsize=(width_in * part, height_in * part), dpi=100, layout="constrained")


def axes_or_new(ax: Axes | None, width_in: float, height_in: float) -> Axes:
    """Give back the caller's axes, or new ones in a new figure of that size in inches."""
    return ax if ax is not None else new_figure(width_in, height_in).add_subplot()


def halo(width: float = 3.0) -> dict[str, typing.Any]:
    """Text with a rim of paper, so that a line behind never makes it hard to read."""
    from matplotlib import patheffects

    return {"path_effects": [patheffects.withStroke(linewidth=width, foreground=PALETTE["paper"])]}


def figure_of(picture: Picture) -> Figure:
    """Figure of whatever a ``draw_...`` function returned."""
    one = picture[0] if isinstance(picture, Sequence) else picture
    figure = one.get_figure(root=True)
    assert figure is not None
    return figure


def caution(ax: Axes) -> None:
    """Write the caution small at the foot of the figure, once."""
    figure = figure_of(ax)
    if not figure.get_supxlabel():
        figure.supxlabel(CAUTION, fontsize=8.5, color=PALETTE["secondary"])


def every(artist: Artist, kind: str) -> list[typing.Any]:
    """All artists below one, of the class with that name or derived from it."""
    return artist.findobj(lambda found: any(base.__name__ == kind for base in type(found).__mro__))


def tell(ax: Axes, sentence: str) -> None:
    """Hang on the axes the sentence that says what it shows; :func:`sentence_of` reads it back."""
    ax.set_label(sentence)


def sentence_of(picture: Picture) -> str:
    """Say in words what a picture shows.

    Parameters
    ----------
    picture : Axes, sequence of Axes, or Figure
        What a ``draw_...`` function returned, or its figure.
    """
    told = [str(ax.get_label()) for ax in figure_of(picture).axes]
    return " ".join(dict.fromkeys(sentence for sentence in told if sentence.endswith(".")))
