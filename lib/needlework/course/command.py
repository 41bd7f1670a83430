"""The ``needlework`` command: opens the course for the learner and leads to every other door."""

from __future__ import annotations

import argparse
import hashlib
import importlib
import json
import os
import re
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, NoReturn

from needlework.basis.errors import BadData, NeedleworkError
from needlework.basis.places import BESIDE
from needlework.course import extra
from needlework.exercises import progress, recording
from needlework.exercises.catalogue import LESSONS, Lesson

ROOT = Path(__file__).resolve().parents[3]
"""The checkout: ``lessons``, ``solutions`` and ``datasets`` lie here."""

START_PAGE = "start.ipynb"
CAUTION = (
    "**Training aid with invented data. Not for navigation.** This course trains arithmetic, pictures and habits. "
    "It does not replace flight instruction, the aircraft's handbook, current charts and notices, published "
    "minimums or the rules of your state. Fly with a licensed instructor. In the aircraft identify every station, "
    "check receivers and altimeter as your rules demand, and go around when in doubt."
)

_NAMED_DUE = 3
_DAYS_BETWEEN = 3
"""Days after which a question that was hard is asked again: what is recalled twice, stays."""

DOORS = {
    "new": "needlework.building.scaffold",
    "proofread": "needlework.building.proofreading",
    "release": "needlework.building.release",
    "index": "needlework.building.index",
    "desk": "needlework.desk",
    "pictures": "needlework.showing.pictures",
    "fly": "needlework.course.flights",
    "debrief": "needlework.course.flights",
}
"""Subcommands in other modules, loaded when asked for; a module with ``add_command(commands)`` is a door."""
_EXTRAS = {"desk": "desk", "new": "authors", "proofread": "authors", "release": "authors"}
"""What a learner need not install: the extra of the package that a subcommand stands on."""


def released(lessons: Path = ROOT / "lessons") -> list[Lesson]:
    """List the released lessons in teaching order; a notebook that the course does not list comes last.

    Parameters
    ----------
    lessons : pathlib.Path
        Folder with one folder a lesson.

    Returns
    -------
    list of Lesson
        What the start page needs to know of each.

    Raises
    ------
    BadData
        If there are no lessons there.
    """
    there = sorted(path.stem for path in lessons.glob("*/*.ipynb") if path.stem == path.parent.name)
    if not there:
        raise BadData(f"There are no lessons in {lessons}: start from a checkout of the course, or restore it.")
    listed = [lesson for lesson in LESSONS.values() if lesson.key in there]
    return listed + [Lesson(key, key, 0, (), ()) for key in there if key not in LESSONS]


def lesson_named(named: str, there: Sequence[str], own: Mapping[str, str] | None = None) -> str:
    """Find the lesson that is meant: by its name, its title, or words that only one of them has.

    Parameters
    ----------
    named : str
        As it was typed.
    there : sequence of str
        Keys of the lessons to choose from.
    own : mapping of str to str, optional
        Titles of those that are not the course's, by key.

    Returns
    -------
    str
        Lesson key.

    Raises
    ------
    BadData
        If none is meant, or more than one may be.
    """
    if named in there:
        return named

    def words(text: str) -> set[str]:
        return set(re.findall(r"\w+", text.casefold()))

    asked = words(named.removesuffix(".ipynb"))
    own = own or {}
    titles = {key: LESSONS[key].title if key in LESSONS else own.get(key, key) for key in there}
    meant = [key for key in there if asked and asked <= words(key) | words(titles[key])]
    if len(meant) == 1:
        return meant[0]
    if meant:
        raise BadData(f"'{named}' may mean {' or '.join(meant)}: type more of its name.")
    raise BadData(f"There is no lesson called '{named}': choose from {', '.join(there) or 'none'}.")


# The learner's folder ---------------------------------------------------------------------------------------------


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _write(path: Path, content: bytes) -> None:
    """Write a file in one step: a crash leaves the old content or the new, never a part."""
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    with open(part, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    os.replace(part, path)


def _free_name(path: Path) -> Path:
    """Give the path itself if nothing is there, else the first of ``name-2``, ``name-3``, ... that is free."""
    number, free = 1, path
    while free.exists():
        number += 1
        free = path.with_name(f"{path.stem}-{number}{path.suffix}")
    return free


class Copies:
    """Which released file each file in the learner's folder was copied from, so that work is never overwritten.

    Parameters
    ----------
    folder : pathlib.Path
        The learner's folder.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.path = folder / ".needlework" / "copies.json"
        try:
            stored = json.loads(self.path.read_text(encoding="utf-8"))
            self.known: dict[str, list[str]] = {str(k): [str(v) for v in vs] for k, vs in stored.items()}
        except (OSError, ValueError, AttributeError, TypeError):
            # Nothing is known, so every file counts as the learner's own: the safe side.
            self.known = {}

    def set_aside(self, path: Path) -> Path:
        """Move a file to today's backup folder and give its new place."""
        place = self.folder / "backup" / time.strftime("%Y-%m-%d") / path.relative_to(self.folder)
        place.parent.mkdir(parents=True, exist_ok=True)
        place = _free_name(place)
        os.replace(path, place)
        return place

    def bring(self, source: Path, target: Path) -> str:
        """Bring one released file into the folder without losing anything; tell what happened in one line.

        Parameters
        ----------
        source : pathlib.Path
            The released file.
        target : pathlib.Path
            Where it belongs in the learner's folder.

        Returns
        -------
        str
            One sentence for the learner, or empty when there is nothing to tell.
        """
        name = target.relative_to(self.folder).as_posix()
        released_digest = _digest(source)
        seen = self.known.get(name, [])
        told = ""
        if not target.exists():
            _write(target, source.read_bytes())
        elif _digest(target) != released_digest:
            if released_digest in seen:
                return ""
            if seen and _digest(target) == seen[0]:
                kept = self.set_aside(target)
                _write(target, source.read_bytes())
                told = f"{name} is a newer version; the old one, which you had not changed, is {self._named(kept)}."
            else:
                beside = _free_name(target.with_name(f"{target.stem}-new{target.suffix}"))
                _write(beside, source.read_bytes())
                # The first entry stays the version the learner's own copy came from.
                self.known[name] = [*(seen or [""]), released_digest]
                self._save()
                return f"{name} has a newer version; your work is untouched, the new one is {self._named(beside)}."
        if seen[:1] != [released_digest]:
            self.known[name] = [released_digest]
            self._save()
        return told

    def put(self, source: Path, target: Path) -> None:
        """Put a file of data into the folder; what was there before is kept in the backup folder."""
        if target.exists() and _digest(target) == _digest(source):
            return
        if target.exists():
            self.set_aside(target)
        _write(target, source.read_bytes())

    def _named(self, path: Path) -> str:
        return path.relative_to(self.folder).as_posix()

    def _save(self) -> None:
        _write(self.path, json.dumps(self.known, indent=1, sort_keys=True).encode())

    def write_page(self, text: str) -> None:
        """Write the start page; if the learner changed the last one, that one is kept in the backup folder."""
        page = self.folder / START_PAGE
        if page.exists() and self.known.get(START_PAGE, [""])[0] not in (_digest(page), ""):
            self.set_aside(page)
        _write(page, text.encode())
        self.known[START_PAGE] = [_digest(page)]
        self._save()


def bring_lessons(folder: Path, lessons: Path = ROOT / "lessons") -> list[str]:
    """Copy the released lessons into the learner's folder; what the learner made is never overwritten.

    Parameters
    ----------
    folder : pathlib.Path
        The learner's folder; made if it is not there.
    lessons : pathlib.Path
        The released lessons.

    Returns
    -------
    list of str
        One sentence for each file that is not simply new or unchanged.
    """
    copies = Copies(folder)
    told = []
    for lesson in released(lessons):
        for source in sorted(p for p in (lessons / lesson.key).rglob("*") if p.is_file()):
            if ".ipynb_checkpoints" not in source.parts:
                told.append(copies.bring(source, folder / source.relative_to(lessons)))
    return [line for line in told if line]


def bring_own(folder: Path, found: Mapping[str, extra.Own]) -> list[str]:
    """Copy lessons of an instructor's own into the learner's folder, each with its data beside the notebook.

    Parameters
    ----------
    folder : pathlib.Path
        The learner's folder.
    found : mapping of str to Own
        The lessons, as built.

    Returns
    -------
    list of str
        One sentence for each file that is not simply new or unchanged.
    """
    copies = Copies(folder)
    told = []
    for key, own in found.items():
        data, wanted = folder / key / BESIDE, set[Path]()
        for source in sorted(path for path in own.place.rglob("*") if path.is_file()):
            name = source.relative_to(own.place)
            if name.suffix == ".ipynb":
                told.append(copies.bring(source, folder / key / name))
            else:
                copies.put(source, data / name)
                wanted.add(data / name)
        for old in [path for path in data.rglob("*") if path.is_file() and path not in wanted]:
            copies.set_aside(old)
    return [line for line in told if line]


def start_again(
    folder: Path, key: str, lessons: Path = ROOT / "lessons", own: Mapping[str, extra.Own] | None = None
) -> str:
    """Give a lesson back as it was released; the learner's worked copy is kept.

    Parameters
    ----------
    folder : pathlib.Path
        The learner's folder.
    key : str
        Lesson key.
    lessons : pathlib.Path
        The released lessons.
    own : mapping of str to Own, optional
        Lessons of an instructor's own, as built.

    Returns
    -------
    str
        One sentence: where the worked copy is kept.

    Raises
    ------
    BadData
        If there is no such lesson.
    """
    own = own or {}
    there = {lesson.key: lesson for lesson in released(lessons)} | {name: each.lesson for name, each in own.items()}
    key = lesson_named(key, list(there), {name: each.lesson.title for name, each in own.items()})
    copies = Copies(folder)
    target = folder / key / f"{key}.ipynb"
    kept = copies.set_aside(target) if target.exists() else None
    if key in own:
        bring_own(folder, {key: own[key]})
    else:
        copies.bring(lessons / key / target.name, target)
    begun = progress.read(folder)
    warning = ""
    if key in begun.opened or any(name in begun.questions for name in there[key].questions):
        warning = progress.note_again(key, there[key].questions, folder)
    for name in there[key].questions:
        for flight in recording.every(name, folder / "flights"):
            if flight.path is not None:
                copies.set_aside(flight.path)
    if kept is None:
        return " ".join(filter(None, [f"{key} is ready.", warning]))
    told = f"{key} is as new and counts from the beginning; your worked copy is kept as "
    return " ".join(filter(None, [f"{told}{kept.relative_to(folder).as_posix()}.", warning]))


# The start page ---------------------------------------------------------------------------------------------------


def _settled(record: progress.Record) -> bool:
    """Say whether nothing is left to do here: right at some time, or a task that only waits for its verdict."""
    return record.passed or (record.noted and not record.tries)


def _row(lesson: Lesson, done: progress.Progress) -> tuple[str, int, int]:
    """Give a lesson's line of the table, its minutes left, and how many questions are settled."""
    total = len(lesson.questions)
    passed = sum(done.record(key).passed for key in lesson.questions)
    settled = sum(_settled(done.record(key)) for key in lesson.questions)
    tried = sum(done.record(key).tries > 0 for key in lesson.questions)
    if total and passed == total:
        status = "done"
    elif total and settled == total:
        status = "task not yet judged"
    elif tried or lesson.key in done.opened:
        status = "begun"
    else:
        status = "not begun"
    shares = _open_shares(lesson, done)
    left = round(sum(minutes * share for minutes, share in zip(lesson.sittings, shares, strict=True)))
    sittings = " ".join(f"{m}{'' if share else '✓'}" for m, share in zip(lesson.sittings, shares, strict=True))
    link = f"[{lesson.title}]({lesson.key}/{lesson.key}.ipynb)"
    return f"| {link} | {status} | {sittings} | {passed} of {total} | {left} |", left, settled


def _open_shares(lesson: Lesson, done: progress.Progress) -> list[float]:
    """Give, for each sitting of a lesson, the share of its questions that is not settled; 1 where it has none."""
    shares = []
    for number in range(1, len(lesson.sittings) + 1):
        keys = [outline.key for outline in lesson.outlines if outline.sitting == number]
        still_open = [key for key in keys if not _settled(done.record(key))]
        shares.append(len(still_open) / len(keys) if keys else 1.0)
    return shares


def _due(record: progress.Record, now_s: float) -> bool:
    """Say whether a question is worth another look: tried and not right yet, or right at last but days ago."""
    if not record.tries or record.outcome != "PASS":
        return record.tries > 0
    hard = record.tries > 1 or record.rungs > 0
    return hard and now_s - record.when_s > _DAYS_BETWEEN * 86_400


def start_page(lessons: Sequence[Lesson], done: progress.Progress, told: Sequence[str] = ()) -> str:
    """Write the start page: what is done, what is next, what to look at again, how long it still takes.

    Parameters
    ----------
    lessons : sequence of Lesson
        In teaching order.
    done : needlework.exercises.progress.Progress
        The learner's progress.
    told : sequence of str
        What the learner should be told today, one sentence each.

    Returns
    -------
    str
        A notebook in text form; it holds text only, so nothing has to be run.
    """
    rows = [(lesson, *_row(lesson, done)) for lesson in lessons]
    waiting = [(lesson, settled) for lesson, _, _, settled in rows if settled < len(lesson.questions)]
    if waiting:
        lesson, settled = waiting[0]
        verb = "Go on with" if settled or lesson.key in done.opened else "Begin with"
        following = f"**Next.** {verb} [{lesson.title}]({lesson.key}/{lesson.key}.ipynb)."
        open_keys = [k for k in lesson.questions if not _settled(done.record(k))]
        if verb == "Go on with":
            number = lesson.questions.index(open_keys[0]) + 1
            following += f" The first question still open is number {number} of {len(lesson.questions)}."
        today = next(outline.sitting for outline in lesson.outlines if outline.key == open_keys[0])
        if len(lesson.sittings) > 1:
            share = _open_shares(lesson, done)[today - 1]
            minutes = max(1, round(lesson.sittings[today - 1] * share))
            following += f" Sitting {today} of {len(lesson.sittings)}: about {minutes} minutes."
    else:
        following = "**Next.** Every question of every lesson is answered. Fly it again on another day."
    due = [key for lesson in lessons for key in lesson.questions if _due(done.record(key), time.time())]
    if due:
        listed = []
        for lesson in lessons:
            names = [outline.title for outline in lesson.outlines if outline.key in due]
            if names:
                more = f" and {len(names) - _NAMED_DUE} more" if len(names) > _NAMED_DUE else ""
                place = f"[{lesson.title}]({lesson.key}/{lesson.key}.ipynb)"
                listed.append(f"{place}: {', '.join(f'“{name}”' for name in names[:_NAMED_DUE])}{more}")
        again = f"**Due.** {len(due)} to look at again. {'; '.join(listed)}."
    else:
        again = "**Due.** Nothing to look at again yet."
    left = sum(minutes for _, _, minutes, _ in rows)
    table = "\n".join(
        [
            "| lesson | state | sittings, in minutes | questions passed | minutes left |",
            "|---|---|---|---|---|",
            *(line for _, line, _, _ in rows),
        ]
    )
    notes = [f"*{line}*" for line in (*told, done.warning) if line]
    parts = [
        "# Needlework: approaches by needle, DME and clock",
        *notes,
        following,
        again,
        table,
        f"**Minutes left in all.** About {left}.",
        "Click a lesson's name to open it; in the menu choose *Run*, then *Run All Cells*, and read from the top. "
        "Your answers are saved in this folder. This page is written anew each time the course is opened.",
        CAUTION,
    ]
    cells = [
        {"cell_type": "markdown", "id": f"start-{number}", "metadata": {}, "source": part}
        for number, part in enumerate(parts, 1)
    ]
    kernel = {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"}
    # Exactly what the kernel will say of itself: the page would look changed, and ask to be saved, otherwise.
    language = {
        "codemirror_mode": {"name": "ipython", "version": 3},
        "file_extension": ".py",
        "mimetype": "text/x-python",
        "name": "python",
        "nbconvert_exporter": "python",
        "pygments_lexer": "ipython3",
        "version": ".".join(map(str, sys.version_info[:3])),
    }
    metadata = {"kernelspec": kernel, "language_info": language}
    book = {"cells": cells, "metadata": metadata, "nbformat": 4, "nbformat_minor": 5}
    return json.dumps(book, ensure_ascii=False, indent=1) + "\n"


# The commands -----------------------------------------------------------------------------------------------------


def _learners_folder(named: str | None) -> Path:
    folder = (Path(named) if named else progress.folder()).expanduser().absolute()
    if folder == ROOT or ROOT in folder.parents:
        raise BadData(f"{folder} lies inside the course itself: choose a folder of your own with --folder.")
    return folder


def _free_port(asked: int | None) -> int:
    """Give the port asked for, if it is free, or else any free one on this machine."""
    with socket.socket() as probe:
        if os.name != "nt":
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(("127.0.0.1", asked or 0))
        except (OSError, OverflowError) as error:
            raise BadData(f"Port {asked} cannot be used: leave --port out and a free one is found.") from error
        return int(probe.getsockname()[1])


def jupyter_environment(folder: Path) -> dict[str, str]:
    """Give the environment in which Jupyter finds the course's own kernel, settings and folder.

    Parameters
    ----------
    folder : pathlib.Path
        The learner's folder.

    Returns
    -------
    dict of str to str
        Environment variables.
    """
    environment = dict(os.environ)
    programs = str(Path(sys.executable).parent)
    environment["PATH"] = programs + os.pathsep + environment.get("PATH", "")
    settings = str(Path(__file__).parent / "jupyter")
    environment["JUPYTER_CONFIG_PATH"] = os.pathsep.join(
        filter(None, [settings, environment.get("JUPYTER_CONFIG_PATH", "")])
    )
    environment["JUPYTER_PREFER_ENV_PATH"] = "1"
    environment["NEEDLEWORK_FOLDER"] = str(folder)
    return environment


def _open(options: argparse.Namespace) -> int:
    folder = _learners_folder(options.folder)
    port = _free_port(options.port)
    wanted, told = extra.built_in(extra.folders(folder, options.extra))
    try:
        told += bring_lessons(folder) + bring_own(folder, wanted)
        own, left_out = extra.lying_in(folder)
        told += left_out
        lessons = [*released(), *(each.lesson for each in own.values())]
        Copies(folder).write_page(start_page(lessons, progress.read(folder), told))
    except OSError as error:
        raise BadData(f"{folder} cannot be used ({error.strerror}): choose another folder with --folder.") from error
    for line in told:
        print(line)
    print(f"Your folder is {folder}. Stop the course with Ctrl+C here.", flush=True)
    command = [sys.executable, "-m", "jupyterlab", f"--ServerApp.root_dir={folder}", f"--ServerApp.port={port}"]
    command += [f"--LabApp.default_url=/lab/tree/{START_PAGE}", "--log-level=WARN"]
    if os.name != "nt" and os.geteuid() == 0:
        command.append("--allow-root")
    if options.no_browser:
        command.append("--no-browser")
    environment = jupyter_environment(folder)
    if os.name != "nt":
        os.execve(command[0], command, environment)
    try:
        return subprocess.call(command, env=environment)
    except KeyboardInterrupt:
        return 0


def _again(options: argparse.Namespace) -> int:
    folder = _learners_folder(options.folder)
    own, _ = extra.built_in(extra.folders(folder, options.extra))
    print(start_again(folder, options.lesson, own=own))
    return 0


class _OneSentence(argparse.ArgumentParser):
    """An argument parser whose complaint is one sentence."""

    def error(self, message: str) -> NoReturn:
        """Say what was wrong and where the help is, and stop with code 2."""
        self.exit(2, f"{self.prog}: {message}; '{self.prog} --help' shows what can be asked.\n")


def _parser(words: Sequence[str]) -> argparse.ArgumentParser:
    parser = _OneSentence(prog="needlework", description="A notebook course in raw-data VOR/DME approaches.")
    commands = parser.add_subparsers(dest="command", metavar="command", required=True)
    opening = commands.add_parser("open", help="open the course in JupyterLab, on its start page")
    opening.add_argument("--no-browser", action="store_true", help="print the address and open no browser")
    opening.add_argument("--folder", help="your own folder (default: NEEDLEWORK_FOLDER, else ~/needlework)")
    opening.add_argument("--port", type=int, help="port to use (default: a free one)")
    opening.add_argument("--extra", metavar="FOLDER", help="a folder with lessons of your own, or your instructor's")
    opening.set_defaults(run=_open)
    again = commands.add_parser("again", help="give a lesson back as new; your worked copy is kept")
    again.add_argument("lesson", help="its name, for example station-passage")
    again.add_argument("--folder", help="your own folder (default: NEEDLEWORK_FOLDER, else ~/needlework)")
    again.add_argument("--extra", metavar="FOLDER", help="a folder with lessons of your own, or your instructor's")
    again.set_defaults(run=_again)
    asked = next((word for word in words if not word.startswith("-")), "")
    for name, module in DOORS.items():
        # A door is loaded only when it is asked for, or when the list of all of them is wanted.
        if asked == name or asked not in (*DOORS, *commands.choices):
            add: Callable[[Any], None] | None = getattr(_door(module), "add_command", None)
            if add is not None:
                add(commands)
    return parser


def _door(module: str) -> object:
    try:
        return importlib.import_module(module)
    except ModuleNotFoundError as error:
        if error.name != module:
            raise
        return None


def main(words: Sequence[str] | None = None) -> int:
    """Run the ``needlework`` command.

    Parameters
    ----------
    words : sequence of str, optional
        The command line without the program's name.

    Returns
    -------
    int
        Exit code: 0 if all went well, 2 after a user's error (one sentence on the error stream).
    """
    given = list(sys.argv[1:] if words is None else words)
    try:
        options = _parser(given).parse_args(given)
        return int(options.run(options) or 0)
    except NeedleworkError as error:
        print(f"needlework: {error}", file=sys.stderr)
        return 2
    except ModuleNotFoundError as error:
        extra = next((_EXTRAS[word] for word in given if word in _EXTRAS), None)
        package = (error.name or "needlework").split(".")[0]
        if extra is None or package == "needlework":
            raise
        told = f"{package} is not installed, and '{extra}' needs it: type pip install 'needlework[{extra}]'"
        print(f"needlework: {told}, or install as the README says.", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("needlework: stopped.", file=sys.stderr)
        return 130
