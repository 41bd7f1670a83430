"""Putting a picture in a notebook, with its sentence for those who cannot see it."""

from __future__ import annotations

import base64
import functools
import html
import inspect
import io
import os
import sys
import typing
from collections.abc import Callable

from needlework.basis.errors import OutOfRange
from needlework.showing.pictures.style import Picture, figure_of, sentence_of, styled

SIZES = {"page": 1.0, "classroom": 1.6}
"""How much larger than on a page each size is shown."""

_DOTS_PER_INCH = 160


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
