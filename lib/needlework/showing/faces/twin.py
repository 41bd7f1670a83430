"""A live picture and its still twin: two outputs under one cell, of which whichever works hides the other."""

from __future__ import annotations

import base64
import html
from collections.abc import Mapping
from typing import Any

# Without a kernel JupyterLab writes an error where the live picture was: the still takes its place.
_STYLE = (
    "<style>.jp-OutputArea:has(.nw-still) .jp-OutputArea-output.jupyter-widgets:not(:has(*)){display:none}</style>"
)


def show_with_still(live: Any, picture: Any, sentence: str, beside: Mapping[str, Any] | None = None) -> None:
    """Display a widget and, for print and for a notebook without a kernel, a still picture with its sentence.

    Parameters
    ----------
    live : ipywidgets.Widget
        The live picture; holds a :class:`needlework.showing.faces.Board` somewhere, whose style hides the still.
    picture : Axes, sequence of Axes, or Figure
        What a ``draw_...`` function of :mod:`needlework.showing.pictures` returned.
    sentence : str
        What both show.
    beside : mapping, optional
        Further kinds of output that go with the still: the same as data, by the name of its kind.
    """
    from IPython.display import display

    from needlework.showing.pictures import png_bytes

    image = base64.b64encode(png_bytes(picture, "page")).decode("ascii")
    words = html.escape(sentence)
    page = (
        f'{_STYLE}<figure class="nw-still" style="margin:0"><img alt="{words}" width="860" '
        f'style="max-width:100%;height:auto" src="data:image/png;base64,{image}">'
        f"<figcaption>{words}</figcaption></figure>"
    )
    display(live)  # type: ignore[no-untyped-call]
    still = {"text/html": page, "image/png": image, "text/plain": sentence}
    display({**still, **(beside or {})}, raw=True)  # type: ignore[no-untyped-call]
