"""What the page before a class asks of the server; no kernel is needed for any of it."""

from __future__ import annotations

import base64
import json
import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from jupyter_server.base.handlers import APIHandler
from tornado import web
from tornado.ioloop import IOLoop

from needlework.basis.errors import NeedleworkError
from needlework.course import command, extra
from needlework.course.classroom import kept
from needlework.exercises import progress
from needlework.exercises.catalogue import ORDER

# Read where it lies: a server that is a learner's loads nothing that draws.
_FACES = Path(command.__file__).parents[1] / "showing" / "faces"
_TIMES = ("0", "1", "1.25", "1.5", "2")
_KINDS = {"faces.js": "text/javascript", "faces.css": "text/css"}


def _answer(*given: Any, **more: Any) -> Any:
    """Load what works it out when it is first asked for: most servers are a learner's, and never are."""
    from needlework.course.classroom import asked

    return asked.answer(*given, **more)


class _Handler(APIHandler):
    async def answer(self, work: Callable[[], Any]) -> Any:
        """Do some work beside the loop; a fault that has a sentence is told in it."""
        try:
            return await IOLoop.current().run_in_executor(None, work)
        except NeedleworkError as fault:
            raise web.HTTPError(400, str(fault), reason="It cannot be shown") from fault

    def known(self, key: str) -> bool:
        """Say whether there is such a lesson, of the course or of the teacher's own."""
        return key in ORDER or key in extra.lying_in(progress.folder())[0]

    def asked(self) -> Mapping[str, Any]:
        """Give what was sent, as a mapping."""
        sent = self.get_json_body()
        if not isinstance(sent, Mapping):
            raise web.HTTPError(400, "Expected a mapping.")
        return sent


class DeckHandler(_Handler):
    """Gives the steps of a lesson, and what was kept of the last time."""

    @web.authenticated
    async def post(self) -> None:
        """Take a lesson's key."""
        key = str(self.asked().get("lesson", ""))
        folder = progress.folder()
        made = await self.answer(lambda: _answer("deck", folder, key))
        own = kept.periods(folder, key)
        self.finish(json.dumps({**made, "kept": kept.read(folder, key), "own": own}))


class FilmHandler(_Handler):
    """Gives moments of a what-if."""

    @web.authenticated
    async def post(self) -> None:
        """Take the name of a what-if or a flight, its setting, where to begin and how many moments."""
        sent = self.asked()
        key = str(sent.get("lesson", ""))
        name, setting, begin = str(sent.get("name", "")), sent.get("setting") or {}, sent.get("begin")
        count = sent.get("count", 1)
        if (
            not isinstance(setting, Mapping)
            or not isinstance(count, int)
            or not isinstance(begin, (int, float, type(None)))
        ):
            raise web.HTTPError(400, "Expected a setting, a place and a count.")
        more = {"name": name, "setting": setting, "begin": begin, "count": count}
        self.finish(json.dumps(await self.answer(lambda: _answer("film", progress.folder(), key, **more))))


class KeptHandler(_Handler):
    """Keeps place and votes."""

    @web.authenticated
    async def post(self) -> None:
        """Take a lesson's key and what is to be kept."""
        sent = self.asked()
        key, what = str(sent.get("lesson", "")), sent.get("kept")
        if not self.known(key) or not isinstance(what, dict):
            raise web.HTTPError(400, "Expected a lesson and what is to be kept.")
        await self.answer(lambda: kept.write(progress.folder(), key, what))
        self.finish("{}")


class PeriodsHandler(_Handler):
    """Keeps the periods that a teacher has put together."""

    @web.authenticated
    async def post(self) -> None:
        """Take a lesson's key and the periods."""
        sent = self.asked()
        key, made = str(sent.get("lesson", "")), sent.get("periods")
        if not self.known(key):
            raise web.HTTPError(400, "Expected a lesson.")
        await self.answer(lambda: kept.write_periods(progress.folder(), key, made))
        self.finish("{}")


class NextHandler(_Handler):
    """Puts the work, the flights and the votes of the last class away, with their date."""

    @web.authenticated
    async def post(self) -> None:
        """Take a lesson's key; give the sentence that says where all of it is kept."""
        key = str(self.asked().get("lesson", ""))
        if not self.known(key):
            raise web.HTTPError(400, "Expected a lesson.")
        told = await self.answer(lambda: _again(key))
        self.finish(json.dumps({"told": told}))


def _again(key: str) -> str:
    folder = progress.folder()
    own, _ = extra.built_in(extra.folders(folder, os.environ.get(command.EXTRA)))
    return command.next_class(folder, key, own=own)


class PictureHandler(_Handler):
    """Gives the still picture of a step."""

    @web.authenticated
    async def get(self) -> None:
        """Take lesson and step from the address, and how large it is beside words."""
        key, name, times = (self.get_query_argument(each, "0") for each in ("lesson", "step", "times"))
        if times not in _TIMES:
            raise web.HTTPError(400, f"Expected one of {', '.join(_TIMES)} times.")
        drawn = await self.answer(lambda: _answer("picture", progress.folder(), key, name=name, times=float(times)))
        self.finish(base64.b64decode(drawn), set_content_type="image/svg+xml")


class SoundHandler(_Handler):
    """Gives a recording of a step."""

    @web.authenticated
    async def get(self) -> None:
        """Take lesson, step and which of its recordings from the address."""
        key, name, number = (self.get_query_argument(each) for each in ("lesson", "step", "number"))
        if not number.isdecimal():
            raise web.HTTPError(400, "Expected the number of a recording.")
        sent = await self.answer(lambda: _answer("sound", progress.folder(), key, name=name, number=number))
        self.finish(base64.b64decode(sent), set_content_type="audio/wav")


class FacesHandler(_Handler):
    """Gives the program that draws instruments, and its look: the same as in the notebook."""

    @web.authenticated
    def get(self, name: str) -> None:
        """Take the name of the file."""
        self.finish((_FACES / name).read_bytes(), set_content_type=f"{_KINDS[name]}; charset=utf-8")


HANDLERS = (
    ("needlework/class/deck", DeckHandler),
    ("needlework/class/film", FilmHandler),
    ("needlework/class/kept", KeptHandler),
    ("needlework/class/periods", PeriodsHandler),
    ("needlework/class/next", NextHandler),
    ("needlework/class/picture", PictureHandler),
    ("needlework/class/sound", SoundHandler),
    (r"needlework/class/(faces\.js|faces\.css)", FacesHandler),
)
"""Addresses below the server's own, and who answers."""
