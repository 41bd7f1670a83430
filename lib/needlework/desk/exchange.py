"""Homework through nbgrader's exchange, the folder that everybody on a hub shares: out, in, and back.

The exchange is nbgrader's: its programs put work out, fetch it and hand it in. What was handed in is read here as any
folder of files is, so that every version is kept; with it come the time to the microsecond and the secret by which
nbgrader finds the page that goes back.
"""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path, PurePosixPath
from typing import Any

from needlework.basis.errors import BadData
from needlework.building import release
from needlework.course.hub import EXCHANGE
from needlework.desk import keeping

COURSE_ID = "needlework"
STAMP, SECRET = "timestamp.txt", "submission_secret.txt"
"""What nbgrader lays beside a hand-in: when it was handed in, and the secret that names its page."""
BESIDE = (STAMP, SECRET)
_OWN_FOLDER = re.compile(
    r"(?P<student>.+)\+(?P<lesson>[^+]+)\+(?P<when>\d{4}-\d\d-\d\d[ _]\d\d[:_]\d\d[:_]\d\d[^+]*)"
)
_LONGEST_SECRET = 1000
_ID_OF_A_CONTAINER = "jupyter-"
"""Some hubs put this before a user's name to make that of the system's user."""


@dataclass(frozen=True)
class Origin:
    """What a hand-in's place in an exchange says of it.

    Parameters
    ----------
    student : str
        The system's or hub's name of who handed it in; empty where the place does not say it.
    lesson : str
        For which homework.
    stamp : str
        The time as nbgrader wrote it; empty if none lies beside it.
    secret : str
        nbgrader's secret; empty if none lies beside it.
    """

    student: str = ""
    lesson: str = ""
    stamp: str = ""
    secret: str = field(default="", repr=False)


def of_stamp(text: str) -> datetime | None:
    """Read a time as nbgrader writes it.

    Parameters
    ----------
    text : str
        For example ``2026-11-27 02:06:31.404671 UTC``.

    Returns
    -------
    datetime.datetime or None
        UTC; None if it is no time.
    """
    try:
        when = datetime.fromisoformat(text.strip().replace(" UTC", "+00:00"))
    except ValueError:
        return None
    return when.replace(tzinfo=UTC) if when.tzinfo is None else when.astimezone(UTC)


def origin(name: str, beside: dict[str, bytes]) -> Origin | None:
    """Say what a file's place and what lies beside it tell, where nbgrader put it.

    Parameters
    ----------
    name : str
        Its path inside the folder or zip that came in.
    beside : dict of str to bytes
        Stamps and secrets that came in, by their paths.

    Returns
    -------
    Origin or None
        None for a file that nbgrader did not put there.
    """
    home = PurePosixPath(name).parent
    stamp = beside.get(str(home / STAMP), b"").decode("utf-8", "replace").strip()
    secret = beside.get(str(home / SECRET), b"").decode("utf-8", "replace").strip()
    stamp = stamp if of_stamp(stamp) else ""
    secret = secret if len(secret) <= _LONGEST_SECRET and secret.isalnum() else ""
    named = _OWN_FOLDER.match(home.name)
    if named:
        stamp = stamp or (named["when"] if of_stamp(named["when"]) else "")
        return Origin(named["student"], named["lesson"], stamp, secret)
    return Origin(stamp=stamp, secret=secret) if stamp else None


def lesson_of(folder: str) -> str:
    """Give the homework that a folder's name says, where nbgrader gave it its name; else nothing."""
    named = _OWN_FOLDER.match(folder)
    return named["lesson"] if named else ""


def meant(student: str, roster: Iterable[str] | None, as_id: str) -> str:
    """Find the student of the class list that an exchange's name stands for; never by a part of it.

    Parameters
    ----------
    student : str
        Name in the exchange.
    roster : iterable of str or None
        Ids on the class list.
    as_id : str
        The name as an id of the desk.

    Returns
    -------
    str
        Id at the desk; empty if nobody on the list is meant.
    """
    if roster is None or as_id in roster:
        return as_id
    shorter = as_id.removeprefix(_ID_OF_A_CONTAINER) if student.startswith(_ID_OF_A_CONTAINER) else ""
    return shorter if shorter in roster else ""


def chosen(desk: Path, named: str | None = None) -> Path | None:
    """Give the exchange: the one named, else ``NEEDLEWORK_EXCHANGE``, else that of the last hand-out.

    Parameters
    ----------
    desk : pathlib.Path
        The desk's folder.
    named : str, optional
        As typed behind ``--exchange``.

    Returns
    -------
    pathlib.Path or None
        Its folder; None if homework goes by files.
    """
    try:
        last = (desk / "ledger" / "exchange.txt").read_text(encoding="utf-8").strip()
    except OSError:
        last = ""
    folder = named or os.environ.get(EXCHANGE) or last
    return Path(folder).expanduser().absolute() if folder else None


def remember(desk: Path, folder: Path) -> None:
    """Note the exchange that homework went to, so that the later steps need not be told."""
    keeping.write(desk / "ledger" / "exchange.txt", str(folder))


def inbound(folder: Path) -> Path:
    """Give the folder in an exchange in which hand-ins lie.

    Parameters
    ----------
    folder : pathlib.Path
        The exchange.

    Returns
    -------
    pathlib.Path
        The folder.

    Raises
    ------
    BadData
        If it is not there, or may not be read: it belongs to whoever handed out first.
    """
    place = folder / COURSE_ID / "inbound"
    if not place.is_dir():
        raise BadData(f"Nothing was handed out through {folder}: hand out with --exchange first, or give a FOLDER.")
    if not os.access(place, os.R_OK | os.X_OK):
        raise BadData(f"{place} may be read by whoever handed out first: collect as that user.")
    return place


def put_by_somebody_else(place: Path, student: str) -> str:
    """Say that a hand-in's folder belongs to another user than its name says.

    Parameters
    ----------
    place : pathlib.Path
        The folder.
    student : str
        The name in its name.

    Returns
    -------
    str
        A clause; empty where it belongs to that user. Where all users of a hub are one for the system, as in
        containers, that user is the instructor as well, and nothing can be said.
    """
    if os.name == "nt":
        return ""
    import pwd

    uid = place.lstat().st_uid
    if uid == os.geteuid():
        return ""
    try:
        owner = pwd.getpwuid(uid).pw_name
    except KeyError:
        owner = f"number {uid}"
    return "" if owner == student else f"it says {student}, and was put there by the user {owner}"


# nbgrader's own programs -------------------------------------------------------------------------------------------


def _ran(kind: str, settings: Any, lesson: str, student: str = "*") -> None:
    from nbgrader.coursedir import CourseDirectory
    from nbgrader.exchange import ExchangeError, ExchangeFactory

    log = release.Listener()
    settings.CourseDirectory.assignment_id = lesson
    settings.CourseDirectory.student_id = student
    coursedir = CourseDirectory(config=settings, log=log)
    factory = ExchangeFactory(config=settings)
    try:
        getattr(factory, kind)(coursedir=coursedir, config=settings, log=log).start()
    except (ExchangeError, SystemExit, OSError) as error:
        reason = (log.said or [str(error)])[-1].rstrip(".")
        raise BadData(f"The exchange {settings.Exchange.root} refused it ({reason}).") from error


def put_out(settings: Any, lesson: str) -> Path:
    """Let nbgrader release a homework into the exchange; an earlier one of this name is replaced.

    Parameters
    ----------
    settings : traitlets.config.Config
        Settings of the desk, with the exchange's folder.
    lesson : str
        Key of the homework.

    Returns
    -------
    pathlib.Path
        Where it lies for the students.

    Raises
    ------
    BadData
        If the exchange cannot be used.
    """
    settings.ExchangeReleaseAssignment.force = True
    _ran("ReleaseAssignment", settings, lesson)
    return Path(settings.Exchange.root) / COURSE_ID / "outbound" / lesson


def put_back(settings: Any, desk: Path, lesson: str, students: Iterable[str]) -> list[str]:
    """Let nbgrader release the pages of those whose work came through the exchange.

    Parameters
    ----------
    settings : traitlets.config.Config
        Settings of the desk, with the exchange's folder.
    desk : pathlib.Path
        The desk's folder.
    lesson : str
        Key of the homework.
    students : iterable of str
        Who has a page.

    Returns
    -------
    list of str
        Students whose page is in the exchange now.

    Raises
    ------
    BadData
        If the exchange cannot be used.
    """
    done = []
    for student in students:
        submitted, back = desk / "submitted" / student / lesson, desk / "feedback" / student / lesson
        if not (submitted / SECRET).is_file():
            continue
        for name in BESIDE:
            shutil.copyfile(submitted / name, back / name)
        # The student reads the copy: its name is a secret, the file itself is open.
        (back / f"{lesson}.html").chmod(0o644)
        _ran("ReleaseFeedback", settings, lesson, student)
        done.append(student)
    return done
