"""The ``needlework`` command: opens the course for the learner and leads to every other door."""

from __future__ import annotations

import argparse
import hashlib
import importlib
import json
import os
import re
import secrets
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from threading import Lock
from typing import Any, NoReturn

from needlework.basis import light
from needlework.basis.errors import BadData, NeedleworkError
from needlework.basis.places import BESIDE, checkout, of_the_course, released_lessons
from needlework.course import extra, start_page
from needlework.course.classroom import kept as of_class
from needlework.exercises import progress
from needlework.exercises.catalogue import LESSONS, ORDER, Lesson

ROOT = of_the_course()
"""The course's own folder, in which a learner keeps nothing."""

RELEASED = released_lessons()
"""The lessons as learners get them."""

TEACH = "NEEDLEWORK_TEACH"
"""Environment variable of the server: the lesson that is opened before a class at once."""
EXTRA = "NEEDLEWORK_EXTRA"
"""Environment variable of the server: the folder with lessons of an instructor's own that was named when it began."""
_PORTS = range(20_000, 30_000)  # none that a system gives out by itself
_CELLS = "#cells"
"""Behind a file's name: what its cells say, where only that is compared."""
START_URL = f"/lab/tree/{start_page.NAME}"
"""Where JupyterLab begins."""

DOORS = {
    "new": "needlework.building.scaffold",
    "proofread": "needlework.building.proofreading",
    "release": "needlework.building.release",
    "index": "needlework.building.index",
    "desk": "needlework.desk",
    "pictures": "needlework.showing.pictures",
    "plate": "needlework.showing.plate",
    "fly": "needlework.course.flights",
    "debrief": "needlework.course.flights",
    "review": "needlework.course.review",
    "sheet": "needlework.course.sheets",
    "worksheet": "needlework.course.classroom.paper",
    "card": "needlework.course.classroom.paper",
    "hub-user": "needlework.course.hub",
}
"""Subcommands in other modules, loaded when asked for; a module with ``add_command(commands)`` is a door."""
_EXTRAS = {"desk": "desk", "new": "authors", "proofread": "authors", "release": "authors", "hub-user": "hub"}
"""What a learner need not install: the extra of the package that a subcommand stands on."""


def released(lessons: Path = RELEASED) -> list[Lesson]:
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
        what = "restore the checkout" if checkout() else "install the course again"
        raise BadData(f"There are no lessons in {lessons}: {what}.")
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
    # Words that are all of one name or title mean that one, whatever others hold them as well.
    whole = [key for key in meant if asked in (words(key), words(titles[key]))]
    meant = whole if len(whole) == 1 else meant
    if len(meant) == 1:
        return meant[0]
    if meant:
        raise BadData(f"'{named}' may mean {' or '.join(meant)}: type more of its name.")
    raise BadData(f"There is no lesson called '{named}': choose from {', '.join(there) or 'none'}.")


# The learner's folder ---------------------------------------------------------------------------------------------


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def write_file(path: Path, content: bytes) -> None:
    """Write a file in one step: a crash leaves the old content or the new, never a part.

    Parameters
    ----------
    path : pathlib.Path
        The file; its folder is made.
    content : bytes
        What is written.
    """
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


def _work(path: Path) -> str:
    """Give a digest of what is written in a notebook's cells: running it changes the file, and not this."""
    try:
        book = json.loads(path.read_text(encoding="utf-8"))
        cells = [(cell["cell_type"], "".join(cell["source"])) for cell in book["cells"]]
    except (OSError, ValueError, KeyError, TypeError):
        return ""
    return hashlib.sha256(json.dumps(cells).encode()).hexdigest()


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
            write_file(target, source.read_bytes())
        elif _digest(target) != released_digest:
            if released_digest in seen:
                return ""
            if seen and (_digest(target) == seen[0] or _work(target) in self.known.get(f"{name}{_CELLS}", [])):
                kept = self.set_aside(target)
                write_file(target, source.read_bytes())
                told = f"{name} is a newer version; the old one, which you had not changed, is {self._named(kept)}."
            else:
                beside = _free_name(target.with_name(f"{target.stem}-new{target.suffix}"))
                write_file(beside, source.read_bytes())
                # The first entry stays the version the learner's own copy came from.
                self.known[name] = [*(seen or [""]), released_digest]
                self._save()
                return f"{name} has a newer version; your work is untouched, the new one is {self._named(beside)}."
        cells = [_work(source)] if source.suffix == ".ipynb" else []
        if seen[:1] != [released_digest] or self.known.get(f"{name}{_CELLS}", []) != cells:
            self.known[name] = [released_digest]
            if cells:
                self.known[f"{name}{_CELLS}"] = cells
            self._save()
        return told

    def put(self, source: Path, target: Path) -> None:
        """Put a file of data into the folder; what was there before is kept in the backup folder."""
        if target.exists() and _digest(target) == _digest(source):
            return
        if target.exists():
            self.set_aside(target)
        write_file(target, source.read_bytes())

    def _named(self, path: Path) -> str:
        return path.relative_to(self.folder).as_posix()

    def _save(self) -> None:
        write_file(self.path, json.dumps(self.known, indent=1, sort_keys=True).encode())

    def write_page(self, text: str) -> None:
        """Write the start page; if the learner changed the last one, that one is kept in the backup folder."""
        page = self.folder / start_page.NAME
        if page.exists() and self.known.get(start_page.NAME, [""])[0] not in (_digest(page), ""):
            self.set_aside(page)
        write_file(page, text.encode())
        self.known[start_page.NAME] = [_digest(page)]
        self._save()


def bring_lessons(folder: Path, lessons: Path = RELEASED) -> list[str]:
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


@dataclass(frozen=True)
class _Away:
    """What was put away of a lesson, and what has to be said of it."""

    lesson: Lesson
    copy: Path | None
    votes: Path | None
    flights: int
    warning: str


def _put_away(folder: Path, key: str, lessons: Path, own: Mapping[str, extra.Own]) -> _Away:
    """Give a lesson back as it was released; what was worked, voted and flown is kept in the backup folder."""
    from needlework.exercises import recording

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
    votes = of_class.path_of(folder, key)
    votes_kept = copies.set_aside(votes) if votes.exists() else None
    flights = 0
    for name in there[key].questions:
        for place in recording.places_of(key, folder):
            for flight in recording.every(name, place, own=True):
                if flight.path is not None:
                    copies.set_aside(flight.path)
                    flights += 1
    return _Away(there[key], kept, votes_kept, flights, warning)


def start_again(folder: Path, key: str, lessons: Path = RELEASED, own: Mapping[str, extra.Own] | None = None) -> str:
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
    away = _put_away(folder, key, lessons, own or {})
    if away.copy is None:
        return " ".join(filter(None, [f"{away.lesson.key} is ready.", away.warning]))
    told = f"{away.lesson.key} is as new and counts from the beginning; your worked copy is kept as "
    return " ".join(filter(None, [f"{told}{away.copy.relative_to(folder).as_posix()}.", away.warning]))


_next_class = Lock()


def next_class(folder: Path, key: str, lessons: Path = RELEASED, own: Mapping[str, extra.Own] | None = None) -> str:
    """Put the lesson, the votes and the flights of the last class away; asked twice, the second time changes nothing.

    Parameters
    ----------
    folder, key, lessons, own
        As :func:`start_again` takes them.

    Returns
    -------
    str
        One sentence: what was put away, when and where.

    Raises
    ------
    BadData
        If there is no such lesson.
    """
    with _next_class:
        if not of_class.path_of(folder, key).exists():
            return "The last class is put away already: there is nothing of it in this lesson."
        away = _put_away(folder, key, lessons, own or {})
    assert away.votes is not None
    flights = ["one flight" if away.flights == 1 else f"{away.flights} flights"] if away.flights else []
    what = ["the worked lesson", "the votes", *flights]
    when = f"{time.localtime().tm_mday} {time.strftime('%B %Y at %H:%M')}"
    place = "/".join(away.votes.relative_to(folder).parts[:2])
    told = f"Put away on {when}, in {place}: {', '.join(what[:-1])} and {what[-1]}. {away.lesson.title} is as new."
    return " ".join(filter(None, [told, away.warning]))


# The commands -----------------------------------------------------------------------------------------------------


def learners_folder(named: str | None) -> Path:
    """Give the learner's folder: the one named, else ``NEEDLEWORK_FOLDER``, else ``needlework`` in the home folder.

    Parameters
    ----------
    named : str or None
        As typed behind ``--folder``.

    Returns
    -------
    pathlib.Path
        The folder; it need not exist.

    Raises
    ------
    BadData
        If it lies inside the course.
    """
    folder = (Path(named) if named else progress.folder()).expanduser().absolute()
    if folder == ROOT or ROOT in folder.parents:
        raise BadData(f"{folder} lies inside the course itself: choose a folder of your own with --folder.")
    return folder


def _port(asked: int | None, folder: Path) -> int:
    """Give the port asked for, or the one that belongs to the folder, or where that is taken any free one.

    What a browser keeps, it keeps by the address: with the same one each time, an answer that did not get into its
    file when the course was stopped is there again, and so is a bookmark.
    """
    usual = _PORTS.start + int(hashlib.sha256(str(folder).encode()).hexdigest(), 16) % len(_PORTS)
    for port in (asked,) if asked is not None else (usual, 0):
        with socket.socket() as probe:
            if os.name != "nt":
                probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind(("127.0.0.1", port))
            except (OSError, OverflowError):
                continue
            return int(probe.getsockname()[1])
    raise BadData(f"Port {asked} cannot be used: leave --port out and a free one is found.")


def jupyter_environment(folder: Path, *before: Path) -> dict[str, str]:
    """Give the environment in which Jupyter finds the course's own kernel, settings and folder.

    Parameters
    ----------
    folder : pathlib.Path
        The learner's folder.
    *before : pathlib.Path
        Folders of settings that count before the course's.

    Returns
    -------
    dict of str to str
        Environment variables.
    """
    environment = dict(os.environ)
    programs = str(Path(sys.executable).parent)
    environment["PATH"] = programs + os.pathsep + environment.get("PATH", "")
    settings = str(Path(__file__).parent / "jupyter")
    # Under JUPYTER_PATH lies what is shown in front of a lesson, for JupyterLab and for Notebook alike.
    environment["JUPYTER_PATH"] = os.pathsep.join(filter(None, [settings, environment.get("JUPYTER_PATH", "")]))
    # The first of two settings counts: what whoever runs the server has set, then the course's.
    given = [environment.get("JUPYTER_CONFIG_PATH", ""), *map(str, before), settings]
    environment["JUPYTER_CONFIG_PATH"] = os.pathsep.join(filter(None, given))
    environment["JUPYTER_PREFER_ENV_PATH"] = "1"
    environment["NEEDLEWORK_FOLDER"] = str(folder)
    return environment


def _teach(options: argparse.Namespace) -> int:
    folder = learners_folder(options.folder)
    own = {**extra.lying_in(folder)[0], **extra.built_in(extra.folders(folder, options.extra))[0]}
    there = [*(lesson.key for lesson in released() if lesson.key in ORDER), *own]
    return open_course(
        options, lesson_named(options.lesson, there, {key: each.lesson.title for key, each in own.items()})
    )


def prepare(folder: Path, named: str | None = None) -> list[str]:
    """Bring a learner's folder up to date: the lessons, those of somebody's own, and the start page.

    Parameters
    ----------
    folder : pathlib.Path
        The learner's folder; made if it is not there.
    named : str, optional
        A folder of lessons of somebody's own; by default the settings in the learner's folder say which.

    Returns
    -------
    list of str
        One sentence for each thing that the learner should know.

    Raises
    ------
    BadData
        If the folder cannot be used, or there are no lessons.
    """
    wanted, told = extra.built_in(extra.folders(folder, named))
    try:
        told += bring_lessons(folder) + bring_own(folder, wanted)
        own, left_out = extra.lying_in(folder)
        told += left_out
        lessons = [*released(), *(each.lesson for each in own.values())]
        others = start_page.others_in(folder, lessons)
        seen = start_page.overview(lessons, progress.read(folder), told, others)
        Copies(folder).write_page(start_page.page(seen))
    except OSError as error:
        raise BadData(f"{folder} cannot be used ({error.strerror}): choose another folder with --folder.") from error
    return told


def _prepare(options: argparse.Namespace) -> int:
    folder = learners_folder(options.folder)
    for line in prepare(folder, options.extra):
        print(line)
    print(f"{folder} is ready.")
    return 0


def _plainly(options: argparse.Namespace) -> int:
    return open_course(options)


def made_review(folder: Path) -> str:
    """Make today's sitting of what is due, in a process of its own: lessons of an instructor's own are programs.

    Parameters
    ----------
    folder : pathlib.Path
        The learner's folder.

    Returns
    -------
    str
        Where its notebook lies in that folder; empty if nothing is due.

    Raises
    ------
    BadData
        If it could not be made.
    """
    return _apart("review", "--write-only", "--folder", str(folder))


def made_sheet(folder: Path, name: str) -> Path:
    """Write a page to print, in a process of its own.

    Parameters
    ----------
    folder : pathlib.Path
        The learner's folder.
    name : str
        Which one, as ``needlework sheet`` takes it.

    Returns
    -------
    pathlib.Path
        The page.

    Raises
    ------
    BadData
        If it could not be made.
    """
    return Path(_apart("sheet", name, "--folder", str(folder)))


def _apart(*words: str) -> str:
    """Run a command of the course in a process of its own and give the last line that it prints."""
    asked = [sys.executable, "-m", "needlework", *words]
    done = subprocess.run(asked, capture_output=True, text=True, encoding="utf-8")
    if done.returncode:
        why = (done.stderr.strip().splitlines() or ["no reason was given."])[-1].removeprefix("needlework: ")
        raise BadData(f"It could not be put together: {why}")
    return (done.stdout.strip().splitlines() or [""])[-1]


def open_course(options: argparse.Namespace, teach: str = "", review: bool = False) -> int:
    """Bring the lessons into the learner's folder and open the course there.

    Parameters
    ----------
    options : argparse.Namespace
        As :func:`add_opening_options` takes them.
    teach : str
        Key of the lesson that is opened before a class at once.
    review : bool
        True to open what is due today; without anything due, the start page as usual.

    Returns
    -------
    int
        Exit code.

    Raises
    ------
    BadData
        If the folder cannot be used.
    """
    folder = learners_folder(options.folder)
    port = _port(options.port, folder)
    for line in prepare(folder, options.extra):
        print(line)
    first = made_review(folder) if review else ""
    if review and not first:
        print("Nothing is due today; the start page says what comes next.")
    print(f"Your folder is {folder}. Stop the course with Ctrl+C here.")
    opens = "Copy" if options.no_browser else "If no browser opens, copy"
    print(f"{opens} the line below that begins with http://127.0.0.1 into your browser.", flush=True)
    command = [sys.executable, "-m", light.__name__, "jupyterlab"]
    command += [f"--ServerApp.root_dir={folder}", f"--ServerApp.port={port}"]
    page = f"/lab/tree/{first}" if first else START_URL
    # Jupyter writes "?token=" behind the address that it prints: nothing else may be asked for there. A workspace of
    # its own is as empty as one that is reset.
    fresh = (
        page.replace("/lab/", f"/lab/workspaces/{secrets.token_hex(4)}/", 1)
        if options.no_browser
        else f"{page}?reset"
    )
    command += [f"--LabApp.default_url={fresh}", "--log-level=WARN"]
    if os.name != "nt" and os.geteuid() == 0:
        command.append("--allow-root")
    if options.no_browser:
        command.append("--no-browser")
    environment = jupyter_environment(folder)
    if teach:
        environment[TEACH] = teach
    if options.extra:
        environment[EXTRA] = str(Path(options.extra).expanduser().absolute())
    return run_in_place(command, environment)


def run_in_place(command: Sequence[str], environment: Mapping[str, str]) -> int:
    """Become another program; where the system has no such thing, wait for it.

    Parameters
    ----------
    command : sequence of str
        The program, with its whole path, and its words.
    environment : mapping
        Its environment variables.

    Returns
    -------
    int
        Exit code.
    """
    if os.name != "nt":
        os.execve(command[0], list(command), dict(environment))
    try:
        return subprocess.call(list(command), env=dict(environment))
    except KeyboardInterrupt:
        return 0


def _again(options: argparse.Namespace) -> int:
    folder = learners_folder(options.folder)
    own, _ = extra.built_in(extra.folders(folder, options.extra))
    print(start_again(folder, options.lesson, own=own))
    return 0


class _OneSentence(argparse.ArgumentParser):
    """An argument parser whose complaint is one sentence."""

    def error(self, message: str) -> NoReturn:
        """Say what was wrong and where the help is, and stop with code 2."""
        self.exit(2, f"{self.prog}: {message}; '{self.prog} --help' shows what can be asked.\n")


def add_opening_options(parser: argparse.ArgumentParser) -> None:
    """Let a command that opens the course take what all of them take.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        Of the command.
    """
    parser.add_argument("--no-browser", action="store_true", help="print the address and open no browser")
    parser.add_argument("--folder", help="your own folder (default: NEEDLEWORK_FOLDER, else ~/needlework)")
    parser.add_argument("--port", type=int, help="port to use (default: one of the folder, or any that is free)")
    parser.add_argument("--extra", metavar="FOLDER", help="a folder with lessons of your own, or your instructor's")


def _parser(words: Sequence[str]) -> argparse.ArgumentParser:
    parser = _OneSentence(prog="needlework", description="A notebook course in raw-data VOR/DME approaches.")
    commands = parser.add_subparsers(dest="command", metavar="command", required=True)
    opening = commands.add_parser("open", help="open the course in JupyterLab, on its start page")
    opening.set_defaults(run=_plainly)
    teaching = commands.add_parser("teach", help="open the course with a lesson before a class")
    teaching.add_argument("lesson", help="its name, for example flying-an-arc")
    teaching.set_defaults(run=_teach)
    for each in (opening, teaching):
        add_opening_options(each)
    preparing = commands.add_parser("prepare", help="bring a learner's folder up to date, without opening it")
    preparing.set_defaults(run=_prepare)
    preparing.add_argument("--folder", help="the folder (default: NEEDLEWORK_FOLDER, else ~/needlework)")
    preparing.add_argument("--extra", metavar="FOLDER", help="a folder with lessons of somebody's own")
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
    light.leave_out()
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
