"""One output of a cell: a page for people, a line for everybody else, and the same as data."""

from __future__ import annotations

from typing import Any

from needlework.exercises import bundle, recording
from needlework.exercises.bundle import Bundle


def show(page: str, text: str, said: Bundle) -> None:
    """Show something that is no result.

    Parameters
    ----------
    page, text : str
        HTML and plain text.
    said : Bundle
        The same as data.
    """
    _display({"text/html": page, "text/plain": text, bundle.MIME: said.as_data()})


def carry(flight: str) -> None:
    """Put a recording into the notebook itself, unseen, so that one file is all there is to hand in.

    Parameters
    ----------
    flight : str
        The recording.
    """
    _display({recording.MIME: recording.packed(flight), "text/plain": ""})


def _display(data: dict[str, Any]) -> None:
    from IPython.display import display

    display(data, raw=True)  # type: ignore[no-untyped-call]


class Marks(float):
    """The marks of one answer: a plain number to nbgrader, the verdict to a person and to whoever reads data."""

    _page: str
    _said: Bundle
    _seen: bool

    def __new__(cls, marks: float, page: str, said: Bundle) -> Marks:
        """Hang page and data on the number."""
        made = super().__new__(cls, marks)
        made._page, made._said, made._seen = page, said, False
        return made

    def show_now(self) -> None:
        """Show the verdict before the cell ends; then it is not shown again as its result."""
        self._seen = True
        show(self._page, "", self._said)

    def __repr__(self) -> str:
        return "" if self._seen else super().__repr__()

    def _ipython_display_(self) -> None:
        # IPython asks this first; not to do it lets it ask for the rest.
        if not self._seen:
            raise NotImplementedError

    def _repr_html_(self) -> str:
        return self._page

    def _repr_mimebundle_(self, **_which: Any) -> dict[str, Any]:
        return {bundle.MIME: self._said.as_data()}
