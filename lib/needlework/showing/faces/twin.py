"""A live picture and its still twin: two outputs under one cell, of which whichever works hides the other."""

from __future__ import annotations

import base64
import html
from collections.abc import Mapping, Sequence
from typing import Any

# Without a kernel JupyterLab writes an error where the live picture was: the still takes its place.
_STYLE = (
    "<style>.jp-OutputArea:has(.nw-still) .jp-OutputArea-output.jupyter-widgets:not(:has(*)){display:none}</style>"
)


def show_with_still(
    live: Any,
    picture: Any,
    sentence: str,
    beside: Mapping[str, Any] | None = None,
    table: Sequence[tuple[str, str, str]] = (),
) -> None:
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
    table : sequence of (what, reading, range)
        The same as a table, folded away under the still.
    """
    from IPython.display import display

    from needlework.showing.pictures import png_bytes

    image = base64.b64encode(png_bytes(picture, "page")).decode("ascii")
    words = html.escape(sentence)
    page = (
        f'{_STYLE}<figure class="nw-still" style="margin:0"><img alt="{words}" width="860" '
        f'style="max-width:100%;height:auto" src="data:image/png;base64,{image}">'
        f"<figcaption>{words}</figcaption>{_folded(table)}</figure>"
    )
    # Not the words of the widget itself: where nothing can draw it they would stand above the still.
    shown = live._repr_mimebundle_()
    display({**shown, "text/plain": ""}, raw=True)  # type: ignore[no-untyped-call]
    still = {"text/html": page, "image/png": image, "text/plain": sentence}
    display({**still, **(beside or {})}, raw=True)  # type: ignore[no-untyped-call]


def _folded(table: Sequence[tuple[str, str, str]]) -> str:
    """Write a table under a heading that opens it."""
    if not table:
        return ""
    rows = "".join(
        f'<tr><th scope="row" style="text-align:left">{html.escape(what)}</th>'
        f"<td>{html.escape(reading)}</td><td>{html.escape(between)}</td></tr>"
        for what, reading, between in table
    )
    return f"<details><summary>Numbers</summary><table>{rows}</table></details>"
