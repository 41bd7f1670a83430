"""Putting a picture in a notebook, with its sentence for those who cannot see it."""

from __future__ import annotations

import base64
import functools
import html
import inspect
import io
import os
import re
import sys
import typing
from collections.abc import Callable

from needlework.basis.errors import OutOfRange
from needlework.basis.quantity import Constant
from needlework.showing.pictures.style import Picture, every, figure_of, on_a_sheet, sentence_of, styled

if typing.TYPE_CHECKING:
    from matplotlib.figure import Figure
    from matplotlib.transforms import Bbox

SIZES = {"page": 1.0, "classroom": 1.6}
"""How much larger than on a page each size is shown."""

_DOTS_PER_INCH = 160
_SMALLEST_SHEET, _LEAST_BESIDE, _MOST_TIMES, _RIM_IN = 0.4, 0.45, 8, 0.02


def chosen_size(size: str | None = None) -> str:
    """Name of the size asked for: the argument, else NEEDLEWORK_SIZE, else ``"page"``."""
    wanted = size if size is not None else os.environ.get("NEEDLEWORK_SIZE", "").strip().lower() or "page"
    if wanted not in SIZES:
        raise OutOfRange(f"size = {wanted!r} is not a picture size: expected 'page' or 'classroom'")
    return wanted


@styled
def png_bytes(picture: Picture, size: str | None = None) -> bytes:
    """Render a picture as PNG, larger for the classroom.

    Parameters
    ----------
    picture : Axes, sequence of Axes, or Figure
        What a ``draw_...`` function returned, or its figure.
    size : {"page", "classroom"}, optional
        Default is the environment variable NEEDLEWORK_SIZE, else "page".
    """
    buffer = io.BytesIO()
    figure_of(picture).savefig(
        buffer,
        format="png",
        dpi=_DOTS_PER_INCH * SIZES[chosen_size(size)],
        metadata={"Software": None, "Description": sentence_of(picture)},
    )
    return buffer.getvalue()


CLASS_PX = (1224.0, 650.0)
"""Room for a picture before a class, on a projector of 1280 by 800. [px]"""
_CLASS_TYPE_PX = Constant(35.0, "px", "common-practice", "capitals of 15 minutes of arc at 4.5 widths of the picture")
"""Smallest type that is read from the back."""
_AMPLE_PX = 38.0
"""Type larger than this takes room from what is drawn, where there is little."""


class ClassPicture(typing.NamedTuple):
    """A picture for the wall: as SVG, how large its smallest type stands there [px], and what it says in words.

    The SVG's own size is the least at which that type is read from the back.
    """

    svg: bytes
    type_px: float
    words: str


@styled
def for_a_class(
    draw: Callable[..., Picture],
    values: typing.Mapping[str, typing.Any],
    room_px: tuple[float, float] = CLASS_PX,
) -> ClassPicture:
    """Draw a picture so that its smallest type is read from the back of a room.

    Parameters
    ----------
    draw : callable
        A ``draw_...`` function.
    values : mapping
        Its keyword arguments.
    room_px : tuple of float
        Width and height that it has on the wall. [px]

    Returns
    -------
    ClassPicture
        On a sheet so small that the type is large enough; what is then written over something larger is left out.
    """
    figure = _bare(draw, values, 1.0)
    part = 0.98 * _type_px(figure, room_px) / _CLASS_TYPE_PX
    if part < 0.98:
        # The type keeps its size, the sheet does not: so much smaller, it stands so much larger on the wall.
        figure = _bare(draw, values, max(_SMALLEST_SHEET, part))
        _apart(figure)
        if (spare := _type_px(figure, room_px) / _AMPLE_PX) > 1.0:
            # The smallest words had no room: for those that stay the sheet can be larger.
            figure = _bare(draw, values, min(1.0, max(_SMALLEST_SHEET, part) * spare))
            _apart(figure)
    for _ in range(_MOST_TIMES):
        lacks = _CLASS_TYPE_PX / _type_px(figure, room_px)
        if lacks <= 1.0:
            break
        for text in _texts(figure):
            text.set_fontsize(1.01 * lacks * text.get_fontsize())
        _apart(figure)
    _apart(figure)
    words, type_px, around = sentence_of(figure), _type_px(figure, room_px), _around(figure)
    buffer = io.BytesIO()
    figure.savefig(buffer, format="svg", metadata={"Date": None}, bbox_inches=around.padded(_RIM_IN))
    times = _scale(around, room_px) * _CLASS_TYPE_PX / type_px
    return ClassPicture(_sized(buffer.getvalue(), times), type_px, words)


@styled
def beside_words(draw: Callable[..., Picture], values: typing.Mapping[str, typing.Any]) -> tuple[float, float]:
    """Say how much room a picture takes at least where it stands beside words before a class.

    Parameters
    ----------
    draw : callable
        A ``draw_...`` function.
    values : mapping
        Its keyword arguments.

    Returns
    -------
    tuple of float
        Width and height on the wall of the smallest sheet on which its type is read from the back. [px]
    """
    figure = _bare(draw, values, 1.0)
    around, smallest_pt = _around(figure), min((float(text.get_fontsize()) for text in _texts(figure)), default=10.0)
    times = _LEAST_BESIDE * 72.0 * _CLASS_TYPE_PX / smallest_pt
    return around.width * times, around.height * times


def _bare(draw: Callable[..., Picture], values: typing.Mapping[str, typing.Any], part: float) -> Figure:
    """Draw on a sheet so small; caution and title stand on the page itself, and a plan has its scale in itself."""
    with on_a_sheet(part):
        figure = figure_of(draw(**values))
    figure.supxlabel("")
    figure.suptitle("")
    for axes in figure.axes:
        if len(figure.axes) == 1:
            axes.set_title("")
        if axes.get_aspect() == 1.0:
            axes.set(xlabel="", ylabel="", xticks=[], yticks=[])
            axes.spines[:].set_visible(False)
    # What is taken away or written larger from here on moves nothing else.
    figure.canvas.draw()
    figure.set_layout_engine("none")
    return figure


def _around(figure: Figure) -> Bbox:
    """Give the part of the sheet on which something stands: a plan without its axes has bare paper round it. [in]"""
    from matplotlib.transforms import Bbox

    figure.canvas.draw()
    boxes = [text.get_window_extent() for text in _texts(figure)]
    for axes in figure.axes:
        if axes.get_aspect() != 1.0:
            boxes.append(axes.get_tightbbox())
            continue
        frame = {axes.patch, axes.xaxis, axes.yaxis, *axes.spines.values()}
        for artist in axes.get_children():
            if artist in frame or not artist.get_visible():
                continue
            # An arrow belongs to the words at its end, which may be none.
            box = artist.get_window_extent() if hasattr(artist, "get_text") else artist.get_tightbbox()
            inside = Bbox.intersection(box, axes.bbox) if box and artist.get_clip_on() else box
            if inside and inside.width + inside.height > 0.0:
                boxes.append(inside)
    return Bbox(Bbox.union(boxes).get_points() / figure.dpi)


def _scale(around: Bbox, room_px: tuple[float, float]) -> float:
    """Say how large a point stands on the wall. [px]"""
    rims = 2.0 * _RIM_IN
    return min(room_px[0] / (around.width + rims), room_px[1] / (around.height + rims)) / 72.0


def _type_px(figure: Figure, room_px: tuple[float, float]) -> float:
    """Say how large the smallest type stands on the wall. [px]"""
    scale = _scale(_around(figure), room_px)
    return min((float(text.get_fontsize() * scale) for text in _texts(figure)), default=float(_CLASS_TYPE_PX))


def _sized(svg: bytes, px_per_pt: float) -> bytes:
    """Write a picture's own size [px] where the file says it in points."""
    # The first two are those of the whole picture.
    return re.sub(
        rb'(width|height)="([\d.]+)pt"',
        lambda said: b'%b="%.1f"' % (said[1], float(said[2]) * px_per_pt),
        svg,
        count=2,
    )


def _texts(figure: Figure) -> list[typing.Any]:
    return [text for text in every(figure, "Text") if text.get_visible() and text.get_text().strip()]


def _apart(figure: Figure) -> None:
    """Take away what is written over something larger: on the wall neither could be read."""
    figure.canvas.draw()
    kept: list[typing.Any] = []
    for text in sorted(_texts(figure), key=lambda text: -float(text.get_fontsize())):
        box = text.get_window_extent()
        if any(box.overlaps(other) for other in kept):
            text.set_visible(False)
        else:
            kept.append(box)


def markup(picture: Picture, size: str | None = None) -> str:
    """Give a drawn picture with its sentence as HTML.

    Parameters
    ----------
    picture : Axes, sequence of Axes, or Figure
        What a ``draw_...`` function returned, or its figure.
    size : {"page", "classroom"}, optional
        Default is the environment variable NEEDLEWORK_SIZE, else "page".
    """
    size = chosen_size(size)
    width_px = round(figure_of(picture).get_figwidth() * 96 * SIZES[size])
    image = base64.b64encode(png_bytes(picture, size)).decode("ascii")
    words = html.escape(sentence_of(picture))
    return (
        f'<figure style="margin:0"><img alt="{words}" width="{width_px}" style="max-width:100%;height:auto" '
        f'src="data:image/png;base64,{image}"><figcaption>{words}</figcaption></figure>'
    )


def show(picture: Picture, size: str | None = None) -> None:
    """Display any drawn picture with its sentence; outside a notebook, print the sentence alone.

    Parameters
    ----------
    picture : Axes, sequence of Axes, or Figure
        What a ``draw_...`` function returned, or its figure.
    size : {"page", "classroom"}, optional
        Default is the environment variable NEEDLEWORK_SIZE, else "page".
    """
    size, sentence = chosen_size(size), sentence_of(picture)
    if "IPython" in sys.modules and sys.modules["IPython"].get_ipython() is not None:
        from IPython.display import display

        display({"text/html": markup(picture, size), "text/plain": sentence}, raw=True)  # type: ignore[no-untyped-call]
    else:
        print(sentence)


def shown(draw: Callable[..., Picture]) -> Callable[..., None]:
    """Make the ``show_...`` twin of a ``draw_...`` function; it takes ``size`` besides, but no ``ax``."""

    @functools.wraps(draw)
    def show_it(*args: typing.Any, size: str | None = None, **kwargs: typing.Any) -> None:
        chosen_size(size)
        show(draw(*args, **kwargs), size)

    signature = inspect.signature(draw)
    kept = [parameter for name, parameter in signature.parameters.items() if name != "ax"]
    kept.append(inspect.Parameter("size", inspect.Parameter.KEYWORD_ONLY, default=None, annotation="str | None"))
    show_it.__signature__ = signature.replace(parameters=kept, return_annotation=None)  # type: ignore[attr-defined]
    show_it.__name__ = show_it.__qualname__ = draw.__name__.replace("draw_", "show_")
    show_it.__doc__ = f"Display the picture of :func:`{draw.__name__}` and say in one sentence what it shows.\n"
    return show_it
