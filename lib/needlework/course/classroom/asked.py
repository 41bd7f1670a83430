"""What a page before a class may ask about a lesson, answered as plain data; here, or in a process apart.

The course's own lessons are answered where they are asked. The functions of a lesson that somebody else wrote run in
a process of their own, as they do in a learner's kernel: nothing of them is loaded into the server.
"""

from __future__ import annotations

import base64
import json
import os
import subprocess
import sys
from collections.abc import Callable, Mapping
from dataclasses import asdict
from functools import lru_cache
from pathlib import Path
from select import select
from threading import Lock
from typing import Any

from needlework.basis.errors import BadData, NeedleworkError
from needlework.basis.places import BESIDE, VARIABLE, edition, released_lessons
from needlework.course import extra
from needlework.course.classroom import deck, films, flown, replays
from needlework.exercises.catalogue import ORDER
from needlework.showing import listening, pictures

_PATIENCE_S = 60.0


def _written_ns(key: str, lessons: Path) -> int:
    path = lessons / key / f"{key}.ipynb"
    return path.stat().st_mtime_ns if path.is_file() else 0


@lru_cache(maxsize=8)
def _deck(key: str, lessons: Path, _written_ns: int) -> dict[str, Any]:
    made = asdict(deck.deck(key, lessons))
    for step in made["steps"]:
        if step["picture"]:
            step["beside_px"] = pictures.beside_words(*_drawn_by(key, step["name"], lessons))
    return made


def _drawn_by(key: str, name: str, lessons: Path) -> tuple[Callable[..., Any], dict[str, Any]]:
    function, values = deck.picture(key, name, lessons)
    return getattr(pictures, f"draw_{function.removeprefix('show_')}"), values


@lru_cache(maxsize=64)
def _picture(key: str, name: str, times: float, lessons: Path, _written_ns: int) -> bytes:
    draw, values = _drawn_by(key, name, lessons)
    if not times:
        return pictures.for_a_class(draw, values).svg
    wide, high = pictures.beside_words(draw, values)
    return pictures.for_a_class(draw, values, (times * wide, times * high)).svg


def _sound(key: str, name: str, number: int, lessons: Path) -> bytes:
    steps = _deck(key, lessons, _written_ns(key, lessons))["steps"]
    heard = next((step["heard"] for step in steps if step["name"] == name), ())
    if not 0 <= number < len(heard):
        raise BadData(f"There is no recording {number + 1} of '{name}' in {key}: open the lesson anew.")
    return listening.wav(*heard[number])


def _film(
    folder: Path, key: str, name: str, setting: Mapping[str, Any], begin: float | None, count: int
) -> films.Film:
    kind, _, what = name.partition("/")
    if not what:
        return films.film(name, setting, begin, count)
    if kind == "fly":
        return flown.film(what, flown.orders_in(setting.get("orders", [])), begin, count)
    return replays.film(folder, key, name, setting, begin, count)


def _answered(what: str, folder: Path, key: str, lessons: Path, more: Mapping[str, Any]) -> Any:
    if what == "deck":
        made = _deck(key, lessons, _written_ns(key, lessons))
        return {**made, "flights": replays.listed(folder, key)}
    if what == "film":
        made_film = _film(folder, key, more["name"], more["setting"], more["begin"], more["count"])
        return asdict(made_film)
    if what == "sound":
        return base64.b64encode(_sound(key, more["name"], int(more["number"]), lessons)).decode("ascii")
    drawn = _picture(key, more["name"], more["times"], lessons, _written_ns(key, lessons))
    return base64.b64encode(drawn).decode("ascii")


def answer(what: str, folder: Path, key: str, **more: Any) -> Any:
    """Answer what a page asks about a lesson.

    Parameters
    ----------
    what : str
        ``"deck"``, ``"film"``, ``"picture"`` or ``"sound"``.
    folder : pathlib.Path
        The teacher's folder.
    key : str
        Lesson key.
    **more : object
        Of a film its ``name``, ``setting``, ``begin`` and ``count``, of a sound its ``name`` and ``number``, of a
        picture its ``name`` and ``times``: how much larger than it must be beside words, 0 for the whole wall.

    Returns
    -------
    object
        Plain data; a picture or a sound as text in base 64.

    Raises
    ------
    NeedleworkError
        If there is no such lesson, or it cannot be shown.
    """
    if key in ORDER:
        return _answered(what, folder, key, released_lessons(), more)
    if key not in extra.lying_in(folder)[0]:
        raise BadData(f"There is no lesson '{key}' in your folder: open the start page anew.")
    return _apart(folder / key / BESIDE, edition(folder / key / BESIDE)).ask(
        {"what": what, "folder": str(folder), "key": key, **more}
    )


class _Apart:
    """A process that knows one lesson; it is started when something is asked, and anew when it has ended."""

    def __init__(self, place: Path) -> None:
        self.place, self.lock = place, Lock()
        self.process: subprocess.Popen[str] | None = None

    def ask(self, said: Mapping[str, Any]) -> Any:
        """Ask it; a fault that has a sentence is raised with it."""
        with self.lock:
            if self.process is None or self.process.poll() is not None:
                self.process = self._begun()
            process = self.process
            assert process.stdin is not None and process.stdout is not None
            try:
                process.stdin.write(json.dumps(said) + "\n")
                process.stdin.flush()
                ready = os.name == "nt" or select([process.stdout], [], [], _PATIENCE_S)[0]
                line = process.stdout.readline() if ready else ""
            except OSError:
                line = ""
            if not line:
                process.kill()
                raise BadData(f"The functions of the lesson '{said['key']}' broke off or take too long: mend them.")
        told = json.loads(line)
        if "fault" in told:
            raise BadData(told["fault"])
        return told["answer"]

    def _begun(self) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [sys.executable, "-m", __name__],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            encoding="utf-8",
            env={**os.environ, VARIABLE: str(self.place)},
        )


@lru_cache(maxsize=8)
def _apart(place: Path, _edition: str) -> _Apart:
    return _Apart(place)


def _serve() -> None:
    """Answer line by line until nothing more is asked; what the lesson prints goes to the error stream."""
    told = os.fdopen(os.dup(sys.stdout.fileno()), "w", encoding="utf-8")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
    for line in sys.stdin:
        said = json.loads(line)
        what, folder, key = said.pop("what"), Path(said.pop("folder")), said.pop("key")
        try:
            reply = {"answer": _answered(what, folder, key, folder, said)}
        except NeedleworkError as fault:
            reply = {"fault": str(fault)}
        except Exception as fault:
            reply = {"fault": f"A function of the lesson '{key}' failed: {type(fault).__name__}: {fault}."}
        told.write(json.dumps(reply, ensure_ascii=False) + "\n")
        told.flush()


if __name__ == "__main__":
    _serve()
