"""The desk's folder: where things lie on it, who is at work there, and what is known of a lesson."""

from __future__ import annotations

import contextlib
import functools
import json
import os
import shutil
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, ParamSpec, TypeVar

from needlework.basis.errors import BadData
from needlework.basis.places import DATA, edition, typed
from needlework.building import release
from needlework.course import extra
from needlework.course.command import lesson_named
from needlework.desk import due, exchange, handing_out, keeping
from needlework.desk.collect import NO_TIME, full_names, read_roster, the_student
from needlework.exercises.catalogue import LESSONS, ORDER, Lesson, outlined, read_data

_Given = ParamSpec("_Given")
_Made = TypeVar("_Made")
INTERRUPTED = "marking it was interrupted"
"""Why a hand-in is to be looked at whose marking did not come to its end."""
SAID = "said-by-platform.txt"
"""Beside a hand-in: what a platform said of its time."""


def default_desk() -> Path:
    """Give the desk's folder: ``NEEDLEWORK_DESK`` if set, else ``needlework-desk`` in the home folder.

    Returns
    -------
    pathlib.Path
        The folder; it may not exist yet.
    """
    named = os.environ.get("NEEDLEWORK_DESK")
    return (Path(named) if named else Path.home() / "needlework-desk").expanduser().absolute()


def settings_for(desk: Path) -> Any:
    """Give nbgrader's settings for a desk.

    Parameters
    ----------
    desk : pathlib.Path
        The desk's folder.

    Returns
    -------
    traitlets.config.Config
        Settings for nbgrader's classes.
    """
    settings = release.configuration(desk, "source", "release")
    settings.CourseDirectory.db_url = f"sqlite:///{desk / 'gradebook.db'}"
    shared = exchange.chosen(desk)
    if shared is not None:
        settings.Exchange.root = str(shared)
    return settings


def dict_in(path: Path) -> dict[str, Any]:
    """Read what was kept; without it nothing is known."""
    try:
        return dict(json.loads(path.read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError):
        return {}


def text_in(path: Path) -> str:
    """Read a text that was kept; empty where there is none."""
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, ValueError):
        return ""


def stamped(stamp: Path) -> datetime:
    """Read the time of a hand-in; where the stamp is lost, that of the notebook's own file counts."""
    if stamp.with_name(SAID).exists():
        return NO_TIME
    told = exchange.of_stamp(text_in(stamp))
    if told is not None:
        return told
    book = stamp.with_name(f"{stamp.parent.name}.ipynb")
    when = book.stat().st_mtime if book.exists() else 0
    return datetime.fromtimestamp(when, UTC).replace(microsecond=0)


def alone(method: Callable[_Given, _Made]) -> Callable[_Given, _Made]:
    """Let a step of the desk begin only where no other one is at work on it."""

    @functools.wraps(method)
    def step(*given: _Given.args, **named: _Given.kwargs) -> _Made:
        desk = given[0]
        assert isinstance(desk, Place)
        with desk.at_work():
            return method(*given, **named)

    return step


class Place:
    """The desk's folder and what all its steps ask of it.

    Parameters
    ----------
    folder : pathlib.Path
        Its folder, outside the course's own.
    solutions : pathlib.Path
        Where the solved lessons are.
    named : str, optional
        A folder of lessons of the instructor's own; by default the settings on the desk say which.
    """

    def __init__(self, folder: Path, solutions: Path = release.SOLUTIONS, named: str | None = None) -> None:
        self.folder = folder.expanduser().resolve()
        self.solutions = solutions
        self.named = named
        self.just_marked: set[str] = set()
        if self.folder == release.ROOT or release.ROOT in self.folder.parents:
            raise BadData(f"{self.folder} lies inside the course itself: choose another folder with --desk.")

    @contextlib.contextmanager
    def at_work(self) -> Iterator[None]:
        """Keep the desk for one command, and tell what the disk refuses in one sentence.

        Raises
        ------
        BadData
            If another command is at work on the desk, or the disk is full, or may not be written to.
        """
        with keeping.told(self.folder), keeping.locked(self.folder):
            yield

    def command(self, *words: str) -> str:
        """Give a step of the desk as it is typed.

        Parameters
        ----------
        *words : str
            The step and what follows it.

        Returns
        -------
        str
            The whole command line.
        """
        where = [] if self.folder == default_desk().resolve() else ["--desk", str(self.folder)]
        # What is on the desk is found without it.
        own = ["--extra", self.named] if self.named and words[:1] in (("hand-out",), ("sitting",)) else []
        return typed("desk", *where, *own, *words)

    def lesson(self, named: str) -> str:
        """Find the lesson that is meant by its name, its title or a part of them.

        Parameters
        ----------
        named : str
            As it was typed.

        Returns
        -------
        str
            Lesson key.

        Raises
        ------
        BadData
            If there is no such lesson, or more than one may be meant.
        """
        handed_out = [path.parent.name for path in self.folder.glob("source/*/*.ipynb")]
        titles = {key: lesson.title for key in handed_out if (lesson := self._own_lesson(key)) is not None}
        there = {*release.lesson_keys(self.solutions), *handed_out}
        try:
            return lesson_named(named, sorted(there), titles)
        except BadData:
            # Only what is handed out can be collected and marked; where it is not, its name is known all the same.
            own, _ = self.own_lessons()
            titles |= {key: one.lesson.title for key, one in own.items()}
            return lesson_named(named, sorted({*there, *own}), titles)

    def own_lessons(self) -> tuple[dict[str, extra.Own], list[str]]:
        """Find the lessons of the instructor's own that can be handed out.

        Returns
        -------
        dict of str to Own
            By key.
        list of str
            What is left out, one sentence each.

        Raises
        ------
        BadData
            If their folder is not there, or the settings cannot be read.
        """
        return extra.built_in(extra.folders(self.folder, self.named))

    def data_of(self, lesson: str) -> Path | None:
        """Give the data of a lesson of the instructor's own as they were handed out: by these it is marked.

        Parameters
        ----------
        lesson : str
            Lesson key.

        Returns
        -------
        pathlib.Path or None
            Their folder; None for a lesson of the course.
        """
        lesson = handing_out.record(self.folder, lesson).get("lesson", lesson)
        folder = self.folder / "own" / lesson
        return folder if lesson not in ORDER and (folder / DATA).is_file() else None

    def _own_lesson(self, key: str) -> Lesson | None:
        """What is known of a lesson of the instructor's own, from its data alone."""
        data = self.data_of(key)
        return None if data is None else outlined(read_data(data, "hand it out again"))

    def _take_own(self, key: str, place: Path) -> None:
        """Keep the data that a lesson is handed out with; what was handed out before is kept as well."""
        target = self.folder / "own" / key
        part = target.with_name(f".{key}.part")
        shutil.rmtree(part, ignore_errors=True)
        shutil.copytree(place, part, ignore=shutil.ignore_patterns("*.ipynb"))
        if target.exists():
            if edition(target) == edition(part):
                shutil.rmtree(part)
                return
            before = self.folder / "earlier" / "own" / f"{key}-{edition(target)}"
            shutil.rmtree(before, ignore_errors=True)
            before.parent.mkdir(parents=True, exist_ok=True)
            os.replace(target, before)
        os.replace(part, target)

    def due(self, lesson: str) -> due.Due | None:
        """Say when homework is due, as the file ``due.toml`` on the desk has it.

        Parameters
        ----------
        lesson : str
            Under which name it is marked.

        Returns
        -------
        Due or None
            None where nothing is said of it.

        Raises
        ------
        BadData
            If the file cannot be used.
        """
        roster = read_roster(self.folder / "students.csv")
        return due.read(self.folder / due.NAME, lesson, lambda who: the_student(who, roster))

    def due_strange(self) -> list[str]:
        """Say what in the file ``due.toml`` names no homework.

        Returns
        -------
        list of str
            One sentence each.
        """
        handed_out = [path.parent.name for path in self.folder.glob("source/*/*.ipynb")]
        course = release.lesson_keys(self.solutions)
        return due.strange(self.folder / due.NAME, {*course, *self.own_lessons()[0], *handed_out})

    def _enter(self, lesson: str) -> Path:
        """Let nbgrader release a lesson's notebook and enter its questions into the gradebook."""
        from needlework.desk import book

        with book.opened(self.folder, self._remedy(lesson)):
            return release.generate(self.folder, "source", "release", lesson, gradebook=True)

    def _remedy(self, lesson: str) -> str:
        again = self.command("mark", lesson, "--again")
        return (
            f"move it away and type '{again}'. The marks are made anew from the hand-ins; those set by hand are kept "
            "in the ledger and put back."
        )

    def _handed_out(self, lesson: str) -> Path:
        source = self.folder / "source" / lesson / f"{lesson}.ipynb"
        if not source.exists():
            self.lesson(lesson)
            raise BadData(f"'{lesson}' is not handed out yet: type '{self.command('hand-out', lesson)}' first.")
        return source

    def _nothing_yet(self, lesson: str) -> BadData:
        command = self.command("collect", lesson, "FOLDER")
        return BadData(f"Nothing is collected yet: type '{command}' first, with the folder or zip that came back.")

    def _submitted(self, lesson: str, student: str) -> Path:
        return self.folder / "submitted" / student / lesson / f"{lesson}.ipynb"

    def class_list(self) -> list[str]:
        """List the students on the class list; none without one."""
        return list(full_names(self.folder / "students.csv"))

    def students(self, lesson: str) -> list[str]:
        """List the students whose work is here.

        Parameters
        ----------
        lesson : str
            Lesson key.

        Returns
        -------
        list of str
            Their ids, sorted.
        """
        return sorted(path.parent.parent.name for path in self.folder.glob(f"submitted/*/{lesson}/{lesson}.ipynb"))

    def _ledger_path(self, lesson: str) -> Path:
        return self.folder / "ledger" / f"{lesson}.json"

    def ledger(self, lesson: str) -> dict[str, dict[str, Any]]:
        """Read what is known of each hand-in besides its marks: whether it was marked, and why to look at it.

        Parameters
        ----------
        lesson : str
            Lesson key.

        Returns
        -------
        dict
            By student: ``of`` (which hand-in and question set), ``hand_in``, ``marked``, ``look``, ``cells`` (why to
            look at one question), ``notes`` and ``before`` (set by hand for an earlier version).

        Raises
        ------
        BadData
            If the file is damaged.
        """
        path = self._ledger_path(lesson)
        try:
            return dict(json.loads(path.read_text(encoding="utf-8")))
        except FileNotFoundError:
            return {}
        except (ValueError, TypeError) as error:
            raise BadData(f"{path} is damaged: move it away and mark again with --again.") from error

    def answers_path(self, lesson: str, student: str) -> Path:
        """Give the file with what marking kept of a student's answers.

        Parameters
        ----------
        lesson, student : str
            Whose.

        Returns
        -------
        pathlib.Path
            The file; it may not be there.
        """
        return self.folder / "ledger" / "answers" / lesson / f"{student}.json"

    def titles(self, lesson: str) -> tuple[str, dict[str, str]]:
        """Give the title of a lesson and those of its questions.

        Parameters
        ----------
        lesson : str
            Lesson key.

        Returns
        -------
        str
            Its title.
        dict of str to str
            Of each question by its name.
        """
        base = handing_out.record(self.folder, lesson).get("lesson", lesson)
        outline = self._own_lesson(base) or LESSONS.get(base)
        if outline is None:
            return lesson, {}
        return outline.title, {one.key: one.title for one in outline.outlines}

    def _put_page_aside(self, lesson: str, student: str) -> None:
        """Move away the page that was handed back: it tells of other marks."""
        path = self.folder / "hand-back" / lesson / f"{student}.html"
        if path.exists():
            stamp = time.strftime("%Y%m%d-%H%M%S")
            kept = self.folder / "earlier" / student / f"{lesson}-page-{stamp}.html"
            kept.parent.mkdir(parents=True, exist_ok=True)
            os.replace(path, kept)
