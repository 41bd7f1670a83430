"""What *Save and Export Notebook As* offers, told without loading what exports: each page that is opened asks for it.

Asked in Jupyter's own way, that loads nbconvert and makes each of its exporters: 9 MB in a learner's server, and a
second of the time in which a lesson opens. Whoever exports loads them then.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from importlib.metadata import EntryPoint, entry_points
from typing import Any

from jupyter_server.auth.decorator import authorized
from jupyter_server.services.nbconvert.handlers import NbconvertRootHandler
from tornado import web

_EXPORTERS = re.compile(r"nbconvert\.exporters:\w+")
_KNOWN = {
    "asciidoc": "text/asciidoc",
    "custom": "",
    "html": "text/html",
    "latex": "text/latex",
    "markdown": "text/markdown",
    "notebook": "application/json",
    "pdf": "application/pdf",
    "python": "text/x-python",
    "qtpdf": "text/html",
    "qtpng": "text/html",
    "rst": "text/x-rst",
    "script": "",
    "slides": "text/html",
    "webpdf": "text/html",
}
"""The exporters of nbconvert 7 and the kind of file that each says it makes."""


def offered(exporters: Iterable[EntryPoint], settings: Mapping[str, Any]) -> dict[str, dict[str, str]] | None:
    """Give the exporters as the page expects them.

    Parameters
    ----------
    exporters : iterable of importlib.metadata.EntryPoint
        All that are installed.
    settings : mapping
        The server's settings, by class.

    Returns
    -------
    dict or None
        Of each name the kind of file; None if only they themselves can say it: of another package, or set up.
    """
    found = sorted(exporters, key=lambda each: each.name)
    if not found or any("Exporter" in name for name in settings):
        return None
    if not all(each.name in _KNOWN and _EXPORTERS.fullmatch(each.value) for each in found):
        return None
    return {each.name: {"output_mimetype": _KNOWN[each.name]} for each in found}


class ExportersHandler(NbconvertRootHandler):
    """Stands before Jupyter's own and knows what it would say."""

    @web.authenticated
    @authorized
    async def get(self) -> None:
        """Give the list of exporters."""
        known = offered(entry_points(group="nbconvert.exporters"), self.config or {})
        if known is None:
            await super().get()  # type: ignore[misc]
        else:
            self.finish(json.dumps(known))
