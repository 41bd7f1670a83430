"""A button under a cell, and what it says when it is pressed."""

from __future__ import annotations

from collections.abc import Callable

from needlework.exercises import progress


def button(name: str, tip: str, press: Callable[[], tuple[str, bool]], adds: bool = False) -> None:
    """Show a button; each press shows what it says below, or adds it, until there is no more to say.

    Parameters
    ----------
    name, tip : str
        What stands on it, and what is said of it.
    press : callable
        Gives the HTML to show, and whether that was the last there is.
    adds : bool
        True to keep what earlier presses showed.
    """
    if progress.being_marked():
        return
    import ipywidgets
    from IPython.display import display

    made = ipywidgets.Button(description=name, tooltip=tip, layout=ipywidgets.Layout(width="max-content"))
    shown = ipywidgets.HTML()

    def pressed(_button: object) -> None:
        page, made.disabled = press()
        shown.value = shown.value + page if adds else page

    made.on_click(pressed)
    data = ipywidgets.VBox([made, shown])._repr_mimebundle_()
    # Where no kernel runs the button is useless: there its place stays empty.
    display({**data, "text/plain": ""}, raw=True)  # type: ignore[no-untyped-call]
