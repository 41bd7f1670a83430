"""What the page before a class asks of the server; no kernel is needed for any of it."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import asdict
from functools import lru_cache
from pathlib import Path
from typing import Any

from jupyter_server.base.handlers import APIHandler
from tornado import web
from tornado.ioloop import IOLoop

from needlework.basis.errors import NeedleworkError
from needlework.basis.places import released_lessons
from needlework.course import command
from needlework.course.classroom import deck, films, flown, kept, replays
from needlework.exercises import progress
from needlework.exercises.catalogue import LESSONS
from needlework.showing import faces

LESSONS_AT = released_lessons()
_FACES = Path(faces.__file__).parent
_KINDS = {"faces.js": "text/javascript", "faces.css": "text/css"}


@lru_cache(maxsize=8)
def _deck(key: str, _written_ns: int) -> str:
    return json.dumps(asdict(deck.deck(key, LESSONS_AT)), ensure_ascii=False)


@lru_cache(maxsize=64)
def _picture(key: str, name: str, _written_ns: int) -> bytes:
    from needlework.showing import pictures

    function, values = deck.picture(key, name, LESSONS_AT)
    return pictures.for_a_class(getattr(pictures, f"draw_{function.removeprefix('show_')}"), values).svg


def _written_ns(key: str) -> int:
    path = LESSONS_AT / key / f"{key}.ipynb"
    return path.stat().st_mtime_ns if key in LESSONS and path.is_file() else 0


class _Handler(APIHandler):
    async def answer(self, work: Callable[[], Any]) -> Any:
        """Do some work beside the loop; a fault that has a sentence is told in it."""
        try:
            return await IOLoop.current().run_in_executor(None, work)
        except NeedleworkError as fault:
            raise web.HTTPError(400, str(fault), reason="It cannot be shown") from fault

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
        made = json.loads(await self.answer(lambda: _deck(key, _written_ns(key))))
        folder = progress.folder()
        own = kept.periods(folder, key)
        flights = await self.answer(lambda: replays.listed(folder, key))
        self.finish(json.dumps({**made, "kept": kept.read(folder, key), "own": own, "flights": flights}))


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
        made = await self.answer(lambda: _film(key, name, setting, begin, count))
        self.finish(json.dumps(asdict(made)))


def _film(key: str, name: str, setting: Mapping[str, Any], begin: float | None, count: int) -> films.Film:
    kind, _, what = name.partition("/")
    if not what:
        return films.film(name, setting, begin, count)
    if kind == "fly":
        return flown.film(what, flown.orders_in(setting.get("orders", [])), begin, count)
    return replays.film(progress.folder(), key, name, setting, begin, count)


class KeptHandler(_Handler):
    """Keeps place and votes."""

    @web.authenticated
    async def post(self) -> None:
        """Take a lesson's key and what is to be kept."""
        sent = self.asked()
        key, what = str(sent.get("lesson", "")), sent.get("kept")
        if key not in LESSONS or not isinstance(what, dict):
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
        if key not in LESSONS:
            raise web.HTTPError(400, "Expected a lesson.")
        await self.answer(lambda: kept.write_periods(progress.folder(), key, made))
        self.finish("{}")


class NextHandler(_Handler):
    """Puts the work, the flights and the votes of the last class away, with their date."""

    @web.authenticated
    async def post(self) -> None:
        """Take a lesson's key; give the sentence that says where all of it is kept."""
        key = str(self.asked().get("lesson", ""))
        if key not in LESSONS:
            raise web.HTTPError(400, "Expected a lesson.")
        told = await self.answer(lambda: command.start_again(progress.folder(), key))
        self.finish(json.dumps({"told": told}))


class PictureHandler(_Handler):
    """Gives the still picture of a step."""

    @web.authenticated
    async def get(self) -> None:
        """Take lesson and step from the address."""
        key, name = self.get_query_argument("lesson"), self.get_query_argument("step")
        drawn = await self.answer(lambda: _picture(key, name, _written_ns(key)))
        self.finish(drawn, set_content_type="image/svg+xml")


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
    (r"needlework/class/(faces\.js|faces\.css)", FacesHandler),
)
"""Addresses below the server's own, and who answers."""
