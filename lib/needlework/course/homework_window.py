"""nbgrader's window for homework in a learner's server on a hub: its part of the server is loaded when it is opened.

It is 14 MB in each server of a class, and homework is fetched once a week. Until then a handler of our own stands
where nbgrader's will; the first who asks it loads them, and is sent to the same place again. What collects and marks,
which no learner's server does, is loaded only when it is used: 24 MB more.
"""

from __future__ import annotations

import importlib
from collections.abc import Callable
from typing import Any

from jupyter_server.base.handlers import JupyterHandler
from tornado import web

from needlework.basis import light

_PLACES = (r"assignments(?:/.*)?", "courses", "nbgrader_version")
_ITS_PART = "nbgrader.server_extensions.assignment_list"
_API, _ARCHIVES = "nbgrader.api", "setuptools.archive_util"
_KEPT = ("Gradebook", "Student", "Assignment", "SubmittedAssignment", "SubmittedNotebook")
_UNPACKED = ("unpack_archive", "unpack_tarfile", "unpack_zipfile")
_UNUSED: dict[str, dict[str, object]] = {
    _API: {"MissingEntry": light.NoneThere, **{name: light.Later(_API, name) for name in _KEPT}},
    _ARCHIVES: {name: light.Later(_ARCHIVES, name) for name in _UNPACKED},
    "sqlalchemy": {},
    "requests": {},
}
_SAME_WAY = 307
"""Temporary Redirect (RFC 9110, 15.4.8): asked again with the same method and body."""


class _First(JupyterHandler):
    def initialize(self, load: Callable[[], None]) -> None:
        self._load = load

    def _again(self) -> None:
        self._load()
        self.redirect(str(self.request.uri), status=_SAME_WAY)

    @web.authenticated
    def get(self) -> None:
        self._again()

    @web.authenticated
    def post(self) -> None:
        self._again()


def _jupyter_server_extension_points() -> list[dict[str, str]]:
    return [{"module": __name__}]


def _load_jupyter_server_extension(app: Any) -> None:
    """Stand where nbgrader's handlers will; called by Jupyter when the server starts."""
    rules = app.web_app.default_router.rules
    before = list(rules)

    def load() -> None:
        for rule in ours:
            if rule in rules:
                rules.remove(rule)
        light.stand_in(_UNUSED)
        try:
            its_part = importlib.import_module(_ITS_PART)
        finally:
            light.put_back()
        its_part.load_jupyter_server_extension(app)

    base = app.web_app.settings["base_url"]
    app.web_app.add_handlers(".*$", [(f"{base}{place}", _First, {"load": load}) for place in _PLACES])
    ours = [rule for rule in rules if rule not in before]
