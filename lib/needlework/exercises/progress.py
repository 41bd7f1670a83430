"""What the learner has done so far, in one file that survives a crash at any moment.

The file is a journal: one JSON object a line, written in one piece and flushed to the disk, never
rewritten. A crash can cost the line being written and nothing else. A line that cannot be read is
kept in a file of its own beside the journal, and the learner is told.
"""

from __future__ import annotations

import contextlib
import json
import os
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

FILE_NAME = "progress.jsonl"
COMING_BACK = "review"
"""What a sitting at which questions of all lessons come back has in place of a lesson's key."""
_LONGEST_LINE = 200_000


def folder() -> Path:
    """Give the learner's own folder: ``NEEDLEWORK_FOLDER`` if set, else ``needlework`` in the home folder.

    Returns
    -------
    pathlib.Path
        The folder; it may not exist yet.
    """
    named = os.environ.get("NEEDLEWORK_FOLDER")
    return Path(named) if named else Path.home() / "needlework"


def known_name() -> str:
    """Give the name by which whoever runs this machine knows the learner, as a JupyterHub does.

    Returns
    -------
    str
        ``NEEDLEWORK_STUDENT`` if set, else ``JUPYTERHUB_USER``, in one line; empty if neither is.
    """
    name = os.environ.get("NEEDLEWORK_STUDENT") or os.environ.get("JUPYTERHUB_USER") or ""
    return " ".join("".join(sign if sign.isprintable() else " " for sign in name).split())


def being_marked() -> bool:
    """Say whether this kernel belongs to the marking desk, where nothing of the learner's may be written.

    Returns
    -------
    bool
        True when ``NEEDLEWORK_GRADING`` is set.
    """
    return bool(os.environ.get("NEEDLEWORK_GRADING"))


@contextlib.contextmanager
def at_the_desk() -> Iterator[None]:
    """While this lasts the process belongs to the marking desk, as :func:`being_marked` says it."""
    before = os.environ.get("NEEDLEWORK_GRADING")
    os.environ["NEEDLEWORK_GRADING"] = "1"
    try:
        yield
    finally:
        if before is None:
            del os.environ["NEEDLEWORK_GRADING"]
        else:
            os.environ["NEEDLEWORK_GRADING"] = before


@dataclass
class Record:
    """All that is known of one question.

    Parameters
    ----------
    outcome : str
        Outcome of the latest try, for example ``"PASS"``.
    best : float
        Best share of the marks so far, 0 to 1.
    tries : int
        Number of tries; a stub left untouched is not one.
    rungs : int
        Hints taken so far, 0 to 4 (4 is the model answer).
    slips : list of str
        Codes of the slips made, in order.
    when_s : float
        Time of the latest event, seconds since 1970 UTC.
    noted : bool
        True for a task that is filled in; its verdict comes later, from the instructor or the button.
    """

    outcome: str = "NOT_ATTEMPTED"
    best: float = 0.0
    tries: int = 0
    rungs: int = 0
    slips: list[str] = field(default_factory=list)
    when_s: float = 0.0
    noted: bool = False

    @property
    def passed(self) -> bool:
        """True once any try was right; a later wrong one makes it worth another look, not undone."""
        return self.best >= 1.0


@dataclass(frozen=True)
class Happening:
    """A try at a question, or a hint taken, as it stands in the journal.

    Parameters
    ----------
    when_s : float
        Seconds since 1970 UTC.
    outcome : str
        Outcome of the try; empty for a hint.
    rung : int
        Hint taken, 1 to 4; 0 for a try.
    slip, given : str
        Code of the slip that was recognised; the answer in words.
    student : str
        Whose numbers they were.
    drawn : str
        Of which sitting the numbers were; empty for those of the lesson.
    """

    when_s: float
    outcome: str = ""
    rung: int = 0
    slip: str = ""
    given: str = ""
    student: str = ""
    drawn: str = ""


@dataclass(frozen=True)
class Sitting:
    """A sitting at which questions of all lessons came back.

    Parameters
    ----------
    name : str
        Its name, and that of its notebook.
    when_s : float
        When it was made, seconds since 1970 UTC.
    drawn : dict of str to str
        By question key, what its numbers were drawn from.
    """

    name: str
    when_s: float
    drawn: dict[str, str]


@dataclass
class Progress:
    """The journal read back.

    Parameters
    ----------
    questions : dict of str to Record
        By question key.
    history : dict of str to list of Happening
        By question key, everything in order.
    sittings : list of Sitting
        Sittings of coming back, in order.
    opened : dict of str to float
        Lesson key to the time it was first opened, seconds since 1970 UTC.
    flights : list of dict
        Flights flown, in order, as they were written.
    warning : str
        What the learner should be told about the file; empty when all is well.
    """

    questions: dict[str, Record] = field(default_factory=dict)
    history: dict[str, list[Happening]] = field(default_factory=dict)
    sittings: list[Sitting] = field(default_factory=list)
    opened: dict[str, float] = field(default_factory=dict)
    flights: list[dict[str, Any]] = field(default_factory=list)
    warning: str = ""

    def record(self, key: str) -> Record:
        """Give the record of a question, an empty one if it was never touched.

        Parameters
        ----------
        key : str
            Question key.

        Returns
        -------
        Record
            The record.
        """
        return self.questions.get(key, Record())


def _take(progress: Progress, event: dict[str, Any]) -> None:
    """Add one journal line to the picture; raises if the line is not one of ours."""
    kind, when_s = event["kind"], float(event["when_s"])
    if kind == "open":
        progress.opened.setdefault(str(event["lesson"]), when_s)
        return
    if kind == "flight":
        progress.flights.append(event)
        return
    if kind == "again":
        # A lesson begun afresh: what was done before stays in the journal and counts no more.
        progress.opened.pop(str(event["lesson"]), None)
        for key in event["keys"]:
            progress.questions.pop(str(key), None)
            progress.history.pop(str(key), None)
        return
    if kind == "sitting":
        drawn = {str(key): str(each) for key, each in event["drawn"].items()}
        progress.sittings.append(Sitting(str(event["name"]), when_s, drawn))
        return
    key, drawn_from = str(event["key"]), str(event.get("drawn", ""))
    happening = Happening(
        when_s,
        str(event["outcome"]) if kind == "try" else "",
        int(event["rung"]) if kind == "hint" else 0,
        str(event.get("slip", "")),
        str(event.get("given", "")),
        str(event.get("student", "")),
        drawn_from,
    )
    record = progress.questions.setdefault(key, Record())
    if kind == "hint":
        if not drawn_from:
            record.rungs = max(record.rungs, int(event["rung"]))
    elif kind == "noted":
        record.noted = True
    elif kind == "try":
        record.best = max(record.best, min(1.0, max(0.0, float(event["share"]))))
    else:
        raise ValueError(kind)
    if kind != "noted":
        progress.history.setdefault(key, []).append(happening)
    if drawn_from:
        # What came back with other numbers can make a question right; what stands in the lesson it leaves alone.
        return
    record.when_s = when_s
    if kind == "try":
        record.outcome = str(event["outcome"])
        record.tries += 1
        if event.get("slip"):
            record.slips.append(str(event["slip"]))


def read(where: Path | None = None, student: str | None = None) -> Progress:
    """Read the journal; set aside what cannot be read and say so.

    Parameters
    ----------
    where : pathlib.Path, optional
        The learner's folder, by default :func:`folder`.
    student : str, optional
        Take only what was done with this student's numbers (the normal form of the name); by default everything.

    Returns
    -------
    Progress
        What was read; ``warning`` says in one sentence what was set aside and where.
    """
    path = (where or folder()) / FILE_NAME
    progress = Progress()
    try:
        raw = path.read_bytes()
    except FileNotFoundError:
        return progress
    except OSError as error:
        progress.warning = (
            f"Your progress file {path} cannot be read ({error.strerror}); the lesson works without it."
        )
        return progress
    good: list[bytes] = []
    bad: list[bytes] = []
    for line in raw.split(b"\n"):
        if not line.strip():
            continue
        try:
            if len(line) > _LONGEST_LINE:
                raise ValueError("too long")
            event = json.loads(line)
            counts = (
                student is None
                or event["kind"] in ("open", "again", "sitting")
                or event.get("student", "") == student
            )
            _take(progress if counts else Progress(), event)
            good.append(line)
        except (ValueError, KeyError, TypeError, RecursionError):
            bad.append(line)
    if bad:
        progress.warning = _set_aside(path, raw, good, len(bad))
    return progress


def _set_aside(path: Path, raw: bytes, good: list[bytes], count: int) -> str:
    """Keep the damaged file whole under another name, and go on with the lines that can be read."""
    aside = path.with_name(f"progress-damaged-{time.strftime('%Y%m%d-%H%M%S')}-{os.getpid()}.jsonl")
    lines = "one line" if count == 1 else f"{count} lines"
    try:
        _replace(aside, raw)
        _replace(path, b"".join(line + b"\n" for line in good))
    except OSError:
        return f"{lines.capitalize()} of your progress file {path} cannot be read; the rest of it is used."
    return (
        f"{lines.capitalize()} of your progress file could not be read (a crash while saving?). The whole damaged "
        f"file is kept as {aside.name}; everything that could be read is still here."
    )


def _replace(path: Path, content: bytes) -> None:
    """Write a file so that a crash leaves either the old content or the new, never a part."""
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    with open(part, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    os.replace(part, path)


def _append(event: dict[str, Any], where: Path | None) -> str:
    """Add one line to the journal; return a warning in words if it could not be saved."""
    if being_marked():
        return ""
    place = where or folder()
    line = json.dumps({"when_s": round(time.time(), 3), **event}, ensure_ascii=False).encode() + b"\n"
    try:
        place.mkdir(parents=True, exist_ok=True)
        handle = os.open(place / FILE_NAME, os.O_RDWR | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0), 0o600)
        try:
            # A line torn by an earlier crash has no end: give it one, so that it spoils only itself. One that another
            # kernel is still writing looks the same and gets one too many: an empty line, which is read over.
            size = os.lseek(handle, 0, os.SEEK_END)
            if size:
                os.lseek(handle, size - 1, os.SEEK_SET)
                if os.read(handle, 1) != b"\n":
                    line = b"\n" + line
            os.write(handle, line)
            os.fsync(handle)
        finally:
            os.close(handle)
    except OSError as error:
        return f"Your progress could not be saved in {place} ({error.strerror}); your answer here still counts."
    return ""


def note_open(lesson: str, where: Path | None = None) -> str:
    """Note that a lesson was opened.

    Parameters
    ----------
    lesson : str
        Lesson key.
    where : pathlib.Path, optional
        The learner's folder, by default :func:`folder`.

    Returns
    -------
    str
        A warning in words if it could not be saved, else empty.
    """
    return _append({"kind": "open", "lesson": lesson}, where)


def note_again(lesson: str, keys: Sequence[str], where: Path | None = None) -> str:
    """Note that a lesson is begun afresh: what was done in it before counts no more, for nobody's numbers.

    Parameters
    ----------
    lesson : str
        Lesson key.
    keys : sequence of str
        Its questions.
    where : pathlib.Path, optional
        The learner's folder, by default :func:`folder`.

    Returns
    -------
    str
        A warning in words if it could not be saved, else empty.
    """
    return _append({"kind": "again", "lesson": lesson, "keys": list(keys)}, where)


def note_try(
    key: str,
    outcome: str,
    share: float,
    slip: str = "",
    given: str = "",
    where: Path | None = None,
    student: str = "",
    drawn: str = "",
) -> str:
    """Note a try at a question.

    Parameters
    ----------
    key : str
        Question key.
    outcome : str
        Name of the outcome.
    share : float
        Share of the marks, 0 to 1.
    slip : str
        Code of the slip, if one was recognised.
    given : str
        The answer in words, shortened.
    where : pathlib.Path, optional
        The learner's folder, by default :func:`folder`.
    student : str
        Whose numbers they were (the normal form of the name); empty for a student alone.
    drawn : str
        What the numbers were drawn from at a sitting of coming back; empty for those of the lesson.

    Returns
    -------
    str
        A warning in words if it could not be saved, else empty.
    """
    event = {"kind": "try", "key": key, "outcome": outcome, "share": share, "slip": slip, "given": given[:500]}
    return _append({**event, "student": student, **({"drawn": drawn} if drawn else {})}, where)


def note_sitting(name: str, drawn: dict[str, str], where: Path | None = None) -> str:
    """Note that a sitting of coming back was made.

    Parameters
    ----------
    name : str
        Its name.
    drawn : dict of str to str
        By question key, what its numbers are drawn from.
    where : pathlib.Path, optional
        The learner's folder, by default :func:`folder`.

    Returns
    -------
    str
        A warning in words if it could not be saved, else empty.
    """
    return _append({"kind": "sitting", "name": name, "drawn": drawn}, where)


def note_task(key: str, given: str = "", where: Path | None = None, student: str = "") -> str:
    """Note that a task is filled in, without a verdict.

    Parameters
    ----------
    key : str
        Question key.
    given : str
        The answer in words, shortened.
    where : pathlib.Path, optional
        The learner's folder, by default :func:`folder`.
    student : str
        Whose numbers they were (the normal form of the name); empty for a student alone.

    Returns
    -------
    str
        A warning in words if it could not be saved, else empty.
    """
    return _append({"kind": "noted", "key": key, "given": given[:500], "student": student}, where)


def note_hint(key: str, rung: int, where: Path | None = None, student: str = "", drawn: str = "") -> str:
    """Note that a hint was taken.

    Parameters
    ----------
    key : str
        Question key.
    rung : int
        1 to 4; 4 is the model answer.
    where : pathlib.Path, optional
        The learner's folder, by default :func:`folder`.
    student : str
        Whose numbers they were (the normal form of the name); empty for a student alone.
    drawn : str
        What the numbers were drawn from at a sitting of coming back; empty for those of the lesson.

    Returns
    -------
    str
        A warning in words if it could not be saved, else empty.
    """
    event = {"kind": "hint", "key": key, "rung": rung, "student": student}
    return _append({**event, **({"drawn": drawn} if drawn else {})}, where)


def note_flight(summary: dict[str, Any], where: Path | None = None) -> str:
    """Note a flight: what was flown, its score and where its recording lies.

    Parameters
    ----------
    summary : dict
        Plain data (texts and numbers) with at least ``name`` and ``score``.
    where : pathlib.Path, optional
        The learner's folder, by default :func:`folder`.

    Returns
    -------
    str
        A warning in words if it could not be saved, else empty.
    """
    return _append({**summary, "kind": "flight"}, where)
