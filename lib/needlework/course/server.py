"""The course's own part of the Jupyter server: what the pages in the browser ask of it.

It runs no cell. What needs a lesson's functions is done by a process of its own: the sitting of what is due, the
pages to print.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

from jupyter_server.base.handlers import APIHandler, JupyterHandler
from jupyter_server.utils import url_path_join
from tornado import web
from tornado.ioloop import IOLoop, PeriodicCallback

from needlework.basis import light
from needlework.basis.errors import NeedleworkError
from needlework.basis.places import released_lessons
from needlework.course import command, extra
from needlework.course.classroom import kept
from needlework.course.classroom.serving import HANDLERS
from needlework.course.export_menu import ExportersHandler
from needlework.course.runnable import may_run
from needlework.course.start_page import others_in, overview
from needlework.exercises import progress
from needlework.exercises.catalogue import LESSONS, ORDER

_GIVE_BACK_EVERY_MS = 30_000
"""A class has thirty servers on one machine; it takes a few milliseconds, and each start leaves 7 MB."""


def _lessons(folder: Path) -> tuple[list[Any], list[str]]:
    own, told = extra.lying_in(folder)
    return [*command.released(), *(each.lesson for each in own.values())], told


class OverviewHandler(APIHandler):
    """Says how far the learner is, as true as the progress file is at this moment."""

    @web.authenticated
    def get(self) -> None:
        """Give the overview as data."""
        folder = progress.folder()
        try:
            lessons, told = _lessons(folder)
        except NeedleworkError as fault:
            raise web.HTTPError(500, str(fault)) from fault
        seen = asdict(overview(lessons, progress.read(folder), told, others_in(folder, lessons)))
        own = list(extra.lying_in(folder)[0])
        course = [lesson.key for lesson in command.released() if lesson.key in ORDER]
        classes = [key for key in [*course, *own] if kept.path_of(folder, key).is_file()]
        teach = os.environ.get(command.TEACH, "")
        room = {"taught": [*course, *own], "anew": [*course, *_known_sources(folder)], "classes": classes}
        self.finish(json.dumps({**seen, **room, "teach": teach}))


class KnownHandler(APIHandler):
    """Says under which name the learner is known to whoever runs this server, as on a JupyterHub."""

    @web.authenticated
    def get(self) -> None:
        """Give the name; empty where nobody knows any."""
        self.finish(json.dumps({"name": progress.known_name()}))


def _known_sources(folder: Path) -> list[str]:
    """Name the lessons of somebody's own that can be given back as new."""
    try:
        return list(extra.built_in(extra.folders(folder, os.environ.get(command.EXTRA)))[0])
    except NeedleworkError:
        return []


class ReviewHandler(APIHandler):
    """Makes today's sitting of what is due, or finds the one that is not finished."""

    @web.authenticated
    async def post(self) -> None:
        """Give the path of its notebook in the learner's folder; empty if nothing is due."""
        try:
            path = await IOLoop.current().run_in_executor(None, command.made_review, progress.folder())
        except NeedleworkError as fault:
            raise web.HTTPError(500, str(fault)) from fault
        self.finish(json.dumps({"path": path}))


class SheetHandler(JupyterHandler):
    """Shows a page to print."""

    @web.authenticated
    async def get(self, name: str) -> None:
        """Give the page as HTML."""
        try:
            path = await IOLoop.current().run_in_executor(None, command.made_sheet, progress.folder(), name)
        except NeedleworkError as fault:
            raise web.HTTPError(500, str(fault)) from fault
        self.set_header("Content-Type", "text/html; charset=UTF-8")
        self.finish(path.read_text(encoding="utf-8"))


class RunnableHandler(APIHandler):
    """Says which cells of a notebook may run by themselves when it is opened."""

    @web.authenticated
    def post(self) -> None:
        """Take a lesson's key and the texts of the notebook's code cells; give one yes or no a cell."""
        asked = self.get_json_body()
        if not isinstance(asked, Mapping) or not isinstance(asked.get("cells"), list):
            raise web.HTTPError(400, "Expected a lesson and its cells.")
        key = str(asked.get("lesson", ""))
        released = _released(key)
        known = released is not None or key == progress.COMING_BACK or key in extra.lying_in(progress.folder())[0]
        answers = [
            known
            and isinstance(cell, Mapping)
            and isinstance(cell.get("source"), str)
            and may_run(cell["source"], (released or {}).get(str(cell.get("id", ""))))
            for cell in asked["cells"]
        ]
        self.finish(json.dumps({"known": known, "run": answers}))


def _released(key: str) -> dict[str, str] | None:
    """Give the code cells of a lesson as it was released, by their ids; None if there is no such lesson."""
    own, _ = extra.lying_in(progress.folder())
    path = released_lessons() / key / f"{key}.ipynb"
    if key not in LESSONS or key in own or not path.is_file():
        return None
    try:
        book = json.loads(path.read_text(encoding="utf-8"))
        return {cell["id"]: "".join(cell["source"]) for cell in book["cells"] if cell["cell_type"] == "code"}
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _told_at_once(connection: type) -> type:
    """Give the class of a kernel's connection to the browser, of which no small message waits for another.

    Left alone, TCP holds back a small packet until the one before it has been acknowledged (RFC 896), which a browser
    with nothing to say does 40 ms later (RFC 1122, 4.2.3.2): a picture would come two frames late.
    """

    class AtOnce(connection):  # type: ignore[misc]
        def connect(self) -> Any:
            self.websocket_handler.set_nodelay(True)
            return super().connect()

    return AtOnce


def _jupyter_server_extension_points() -> list[dict[str, str]]:
    return [{"module": "needlework.course.server"}]


def _load_jupyter_server_extension(server: Any) -> None:
    # Where the kernels are is worked out while it is known without loading IPython; later it is asked by name.
    getattr(server.kernel_spec_manager, "kernel_dirs", None)
    light.put_back()
    PeriodicCallback(light.give_back, _GIVE_BACK_EVERY_MS).start()
    settings = server.web_app.settings
    settings["kernel_websocket_connection_class"] = _told_at_once(settings["kernel_websocket_connection_class"])
    base = settings["base_url"]
    own = (
        ("needlework/overview", OverviewHandler),
        ("needlework/known", KnownHandler),
        ("needlework/runnable", RunnableHandler),
        ("needlework/review", ReviewHandler),
        (r"needlework/print/(rules|weak-spots)", SheetHandler),
        ("api/nbconvert", ExportersHandler),
    )
    server.web_app.add_handlers(".*$", [(url_path_join(base, path), handler) for path, handler in (*own, *HANDLERS)])
