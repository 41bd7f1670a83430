"""The instructor's desk: a folder of its own, and what can be done with it."""

from __future__ import annotations

import contextlib
import functools
import json
import os
import shutil
import time
import zipfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, ParamSpec, TypeVar

from needlework.basis.errors import BadData
from needlework.basis.places import BESIDE, DATA, edition, typed
from needlework.building import release
from needlework.course import extra
from needlework.course.command import lesson_named
from needlework.course.hub import EXCHANGE
from needlework.desk import (
    at_once,
    due,
    exchange,
    handing_out,
    keeping,
    platforms,
    room,
    sheets,
    tables,
    to_all,
    whose,
)
from needlework.desk.collect import (
    NAMELESS,
    NO_TIME,
    Found,
    HandIn,
    as_written,
    full_names,
    has_time,
    is_whole,
    later,
    match,
    people,
    read_all,
    read_exchange,
    read_roster,
    the_student,
    words_of,
)
from needlework.desk.hand_in import begun_in, fault_of, homework_in, typed_name
from needlework.desk.keeping import digest
from needlework.exercises.catalogue import LESSONS, ORDER, Lesson, outlined, read_data

_Given = ParamSpec("_Given")
_Made = TypeVar("_Made")
_MOST_PAGES_AT_ONCE = 15  # a page is megabytes while it is made
_INTERRUPTED = "marking it was interrupted"
NO_NAME = "no name was typed in it, so its numbers are nobody's: everyone who types no name has the same"
_SOLVED_ARE = "hand out from a checkout of the course, or set NEEDLEWORK_SOLUTIONS to its folder 'solutions'"
_SAID = "said-by-platform.txt"
_TAKEN_OUT = "taken-out.txt"


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


@dataclass
class Collected:
    """What came of collecting.

    Parameters
    ----------
    taken : list of tuple of str
        Student, and the file that now counts.
    same : list of str
        Students whose file was here already.
    older : list of tuple of str
        Student, and a file that does not count because a newer or a chosen one is there.
    instead : dict of str to str
        By student, the version that a taken file replaced: its time, its mark, and where it is kept.
    listed : list of tuple of str
        A file that was not matched, and why.
    before : dict of str to list of str
        Students of files that were told of at an earlier collecting and still do not count, by what they are:
        ``older``, ``damaged``, ``with another name``.
    here : list of str
        Files that say nobody's name and are here already as somebody's work.
    missing : list of str
        Students on the class list with nothing handed in.
    listed_before : list of str
        Files that were not taken before either, for the same reason.
    nameless : list of str
        Files of which it cannot be told whose they are.
    kept : dict of str to pathlib.Path
        By student, a version that came now or counted until now and does not count, where it is kept on the desk.
    refused : dict of str to pathlib.Path
        By student, a version that came now and does not count for a reason of its own, not for its time.
    strangers : list of str
        Whose work is here, and who is not on the class list.
    """

    taken: list[tuple[str, str]] = field(default_factory=list)
    same: list[str] = field(default_factory=list)
    older: list[tuple[str, str]] = field(default_factory=list)
    instead: dict[str, str] = field(default_factory=dict)
    listed: list[tuple[str, str]] = field(default_factory=list)
    before: dict[str, list[str]] = field(default_factory=dict)
    here: list[str] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)
    listed_before: list[str] = field(default_factory=list)
    nameless: list[str] = field(default_factory=list)
    kept: dict[str, Path] = field(default_factory=dict)
    refused: dict[str, Path] = field(default_factory=dict)
    strangers: list[str] = field(default_factory=list)


def _to_look_at(known: dict[str, Any], set_now: dict[str, Any]) -> list[str]:
    """List the questions to look at: not judged, or judged by hand in an earlier version, and not settled since."""
    settled = {question for question, one in set_now.items() if one.mark is not None}
    look = [why for question, why in known.get("cells", {}).items() if question not in settled]
    for one in known.get("before", []):
        if one["question"] in settled:
            continue
        what = "the comment" if one["mark"] is None else f"the mark {one['mark']:g} set by hand"
        because = f" (“{one['because']}”)" if one["because"] else ""
        whose = f"{what} for '{one['question']}'{because}"
        look.append(f"{whose} was for another version and is taken out: set it again if it still holds")
    return look


def _moved(was: Mapping[str, float | None], now: Mapping[str, float | None]) -> dict[str, list[float | None]]:
    """Give, by question, what marking gave before and gives now, where that is not the same."""
    pairs = {name: [was.get(name), now.get(name)] for name in sorted({*was, *now})}
    return {name: [a, b] for name, (a, b) in pairs.items() if a != b and round(a or 0, 2) != round(b or 0, 2)}


def _told(set_now: dict[str, Any]) -> list[str]:
    marked = [one for one in set_now.values() if one.mark is not None]
    return [
        f"'{one.question}' marked by hand: {one.mark:g}"
        if one.by_itself is None
        else f"'{one.question}' set by hand to {one.mark:g}, marked by itself {one.by_itself:g}"
        for one in marked
    ]


@dataclass
class _Store:
    """Puts hand-ins in their places; whatever was there before is kept.

    ``alone`` says that one file was given, and is told of however often; ``signed``, that every copy of the homework
    has a sign.
    """

    desk: Desk
    lesson: str
    names: set[str]
    refused: dict[str, list[str]]
    report: Collected
    this_one: bool
    alone: bool
    signed: bool
    full: Mapping[str, str] = field(default_factory=dict)
    accepted: Mapping[str, str] = field(default_factory=dict)
    marks: dict[str, str] | None = None

    def not_own(self, content: bytes, student: str) -> str:
        """Say that somebody else's name is typed in a file; empty where it is not, or none is, or it was accepted."""
        typed_in = typed_name(content)
        if typed_in and self.accepted.get(student) == typed_in:
            return ""
        return whose.of_somebody_else(typed_in, student, self.full)

    def for_self_study(self, content: bytes) -> bool:
        """Say that a file is no copy of what was handed out, where that can be told."""
        return self.signed and bool(begun_in(content)) and not homework_in(content)

    def worth(self, student: str, content: bytes) -> tuple[bool, bool, bool]:
        """Say what goes before any time: it can be read, it is one's own, and it is the homework."""
        return (
            is_whole(content, self.names),
            not self.not_own(content, student),
            not self.for_self_study(content),
        )

    def passed_over(self, one: HandIn) -> bool:
        """Say whether a person chose another version instead of this one."""
        return not self.this_one and digest(one.found.content) in self.refused.get(one.student, ())

    def there(self, student: str) -> Found | None:
        """Give the version that counts so far."""
        target = self.desk._submitted(self.lesson, student)
        return _counted(target, target.read_bytes()) if target.exists() else None

    def best(self, came: Sequence[HandIn]) -> HandIn:
        """Find which of the versions that came together would count."""
        ordered = sorted(came, key=lambda one: (has_time(one.found.when), one.found.when, one.found.name))
        best = ordered[0]
        for one in ordered[1:]:
            mine, its = (
                (not self.passed_over(each), *self.worth(each.student, each.found.content)) for each in (one, best)
            )
            after = later(one.found, best.found)
            if mine > its or (mine == its and (after or (after is None and has_time(one.found.when)))):
                best = one
        return best

    def take_all(self, student: str, came: Sequence[HandIn]) -> None:
        """Take what came of one student: one version counts, all are kept."""
        there = self.there(student)
        same = next((one for one in came if there and one.found.content == there.content), None)
        new = [one for one in came if not (there and one.found.content == there.content)]
        # What was taken out stays out, also where nothing else is there.
        wanted = [one for one in new if there or not self.passed_over(one)]
        best = self.best(wanted) if wanted else None
        if best is not None:
            self.take(best, there)
        if there and same and student not in dict(self.report.taken):
            self.unchanged(same, there)
        counts = self.there(student)
        for one in new:
            if one is not best and not (counts and one.found.content == counts.content):
                self.pass_over(one, counts)

    def unchanged(self, one: HandIn, there: Found) -> None:
        """Say that a version counts already; where it was chosen, that is remembered."""
        self.report.same.append(one.student)
        target = self.desk._submitted(self.lesson, one.student)
        if one.found.origin and one.found.origin.secret and not target.with_name(exchange.SECRET).exists():
            # It came by a file first, and through the exchange now: its page can go back that way.
            stamp = _text(target.with_name(exchange.STAMP))
            self._stamp(target.parent, replace(one.found, origin=replace(one.found.origin, stamp=stamp)))
        if self.this_one:
            self._choose(one.student, there.content)

    def take(self, one: HandIn, there: Found | None) -> None:
        """Let one hand-in count, or say why it does not."""
        target = self.desk._submitted(self.lesson, one.student)
        if there is not None:
            mine, its = self.worth(one.student, one.found.content), self.worth(one.student, there.content)
            if its[0] and not mine[0]:
                self.pass_over(one, there)
                return
            chosen_before = self.passed_over(one) and mine[0] <= its[0]
            after = mine > its or (mine == its and later(one.found, there))
            if not self.this_one and (chosen_before or not after):
                self.pass_over(one, there)
                return
            mark = self._mark(one.student)
            kept, _ = self.keep(one.student, there)
            self.report.kept[one.student] = kept
            words = [_when(there.when), f"marked {mark}" if mark else "not marked"]
            if not its[1]:
                words.append(self.not_own(there.content, one.student))
            if self.for_self_study(there.content) and mine[2]:
                words.append("a copy for self-study, before which the homework goes")
            if not typed_name(one.found.content) and typed_name(there.content):
                words.append("with a name typed in it, and in the new one there is none")
            self.report.instead[one.student] = ", ".join([*words, f"kept as {self._named(kept)}"])
        if self.this_one:
            self._choose(one.student, one.found.content)
        # The stamp first: stopped in between, the next collecting finds the old content and does it again.
        self._stamp(target.parent, one.found)
        keeping.write(target, one.found.content)
        self.report.taken.append((one.student, one.found.name))

    @staticmethod
    def _stamp(folder: Path, found: Found) -> None:
        """Write the time beside a hand-in, and the secret by which an exchange finds the page that goes back."""
        origin = found.origin
        if found.said:
            keeping.write(folder / _SAID, found.said)
        else:
            (folder / _SAID).unlink(missing_ok=True)
        keeping.write(folder / exchange.STAMP, (origin and origin.stamp) or f"{found.when:%Y-%m-%d %H:%M:%S} UTC\n")
        if origin and origin.secret:
            keeping.write(folder / exchange.SECRET, origin.secret)
            (folder / exchange.SECRET).chmod(0o600)
        else:
            (folder / exchange.SECRET).unlink(missing_ok=True)

    def _named(self, path: Path) -> str:
        return path.relative_to(self.desk.folder).as_posix()

    def pass_over(self, one: HandIn, counts: Found | None) -> None:
        """Keep a version that does not count; it is told of by name when it comes for the first time."""
        fault = fault_of(one.found.content)
        not_own = self.not_own(one.found.content, one.student)
        alone = counts and self.for_self_study(one.found.content) and not self.for_self_study(counts.content)
        why, kind = (
            (fault, "damaged")
            if fault
            else (not_own, "with another name")
            if not_own
            else ("it is a copy for self-study, and the homework goes before it", "for self-study")
            if alone
            else ("", "older")
        )
        if counts is None:
            why, kind = "it was taken out", "taken out"
        elif not why and not self.passed_over(one) and later(one.found, counts) is None:
            same = has_time(one.found.when) and has_time(counts.when)
            why = "it has the same time" if same else "no time tells if it came before or after"
            kind = "of unknown order"
        kept, new = self.keep(one.student, one.found, "-damaged" if fault else "")
        self.report.kept.setdefault(one.student, kept)
        if not new and not self.alone and not self.this_one:
            self.report.before.setdefault(kind, []).append(one.student)
        elif why:
            still = f"{_when(counts.when)} still" if counts else "nothing"
            counting = f"so {still} counts for {one.student}"
            choice = "" if fault else ", and counts if you collect it alone with --this-one"
            if not fault:
                self.report.refused[one.student] = kept
            self.report.listed.append(
                (one.found.name, f"{why}, {counting}; this file is kept as {self._named(kept)}{choice}")
            )
        else:
            self.report.older.append((one.student, one.found.name))

    def keep(self, student: str, found: Found, ending: str = "") -> tuple[Path, bool]:
        """Write a version under ``earlier``, unless it is there already; give where it is, and if it is new there."""
        content = found.content
        of_student = self.desk.folder / "earlier" / student
        for file in of_student.glob(f"{self.lesson}-*/{self.lesson}.ipynb"):
            if file.stat().st_size == len(content) and file.read_bytes() == content:
                return file, False
        when = f"{found.when:%Y%m%d-%H%M%S}" if has_time(found.when) else "no-time"
        first = of_student / f"{self.lesson}-{when}{ending}"
        folder, number = first, 1
        while folder.exists():
            number += 1
            folder = first.with_name(f"{first.name}-{number}")
        self._stamp(folder, found)
        keeping.write(folder / f"{self.lesson}.ipynb", content)
        return folder / f"{self.lesson}.ipynb", True

    def _mark(self, student: str) -> str:
        """Give the mark that a student has now, as text; empty if there is none."""
        if not self.desk.ledger(self.lesson).get(student, {}).get("marked"):
            return ""
        if self.marks is None:
            rows = self.desk.marks(self.lesson)
            self.marks = {row["student"]: "" if row["mark"] == "" else f"{row['mark']:g}" for row in rows}
        return self.marks.get(student, "")

    def _choose(self, student: str, content: bytes) -> None:
        """Remember what was not chosen, all that is here, so that it does not come back with the next collecting."""
        kept = (self.desk.folder / "earlier" / student).glob(f"{self.lesson}-*/{self.lesson}.ipynb")
        self.refuse(student, {digest(path.read_bytes()) for path in kept}, but=digest(content))

    def refuse(self, student: str, versions: set[str], but: str = "") -> None:
        """Remember of versions that a person does not want them to count."""
        self.refused[student] = sorted({*self.refused.get(student, ()), *versions} - {but})
        keeping.write(self.desk._refused_path(self.lesson), json.dumps(self.refused, indent=1))


def _dict_in(path: Path) -> dict[str, Any]:
    """Read what was kept; without it nothing is known."""
    try:
        return dict(json.loads(path.read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError):
        return {}


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, ValueError):
        return ""


def _counted(target: Path, content: bytes) -> Found:
    """Give the version that counts so far, with what lies beside it."""
    beside = (_text(target.with_name(name)).strip() for name in (exchange.STAMP, exchange.SECRET))
    when, said = _stamped(target.with_name(exchange.STAMP)), _text(target.with_name(_SAID)).strip()
    return Found(target.name, when, content, origin=exchange.Origin("", "", *beside), said=said)


def _stamped(stamp: Path) -> datetime:
    """Read the time of a hand-in; where the stamp is lost, that of the notebook's own file counts."""
    if stamp.with_name(_SAID).exists():
        return NO_TIME
    told = exchange.of_stamp(_text(stamp))
    if told is not None:
        return told
    book = stamp.with_name(f"{stamp.parent.name}.ipynb")
    when = book.stat().st_mtime if book.exists() else 0
    return datetime.fromtimestamp(when, UTC).replace(microsecond=0)


def _when(when: datetime) -> str:
    return f"the version of {when:%Y-%m-%d %H:%M} UTC" if has_time(when) else "the version without a time"


def _alone(method: Callable[_Given, _Made]) -> Callable[_Given, _Made]:
    """Let a step of the desk begin only where no other one is at work on it."""

    @functools.wraps(method)
    def step(*given: _Given.args, **named: _Given.kwargs) -> _Made:
        desk = given[0]
        assert isinstance(desk, Desk)
        with desk.at_work():
            return method(*given, **named)

    return step


class Desk:
    """One desk: ``source``, ``release``, ``submitted``, ``autograded``, ``feedback``, a gradebook, and the results.

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

    # Lessons of the instructor's own -------------------------------------------------------------------------------

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

    def _packed(self, lesson: str, key: str, book: Path) -> Path:
        """Lay the data beside the released notebook, and pack both for the students."""
        data = self.folder / "own" / lesson
        beside = book.parent / BESIDE
        shutil.rmtree(beside, ignore_errors=True)
        shutil.copytree(data, beside)
        target = self.folder / "hand-out" / f"{key}.zip"
        target.parent.mkdir(parents=True, exist_ok=True)
        part = target.with_name(f".{key}.part")
        with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as archive:
            for path in [book, *sorted(path for path in beside.rglob("*") if path.is_file())]:
                archive.write(path, f"{key}/{path.relative_to(book.parent).as_posix()}")
        os.replace(part, target)
        return target

    # Handing out ---------------------------------------------------------------------------------------------------

    @_alone
    def hand_out(
        self,
        lesson: str,
        name: str = "",
        sittings: Sequence[int] = (),
        questions: Sequence[str] = (),
        new_numbers: bool = False,
    ) -> Path:
        """Make the notebook that students get and enter its questions into the gradebook.

        Parameters
        ----------
        lesson : str
            Lesson key.
        name : str
            Of a part of the lesson: what tells it from other parts; behind the lesson's key it names the homework.
        sittings : sequence of int
            Which sittings are set; with no questions either, the whole lesson.
        questions : sequence of str
            Which questions are set, besides.
        new_numbers : bool
            True for numbers that no hand-out had before.

        Returns
        -------
        pathlib.Path
            What to give to the students: the notebook, or a zip of the notebook with its data where the lesson is the
            instructor's own.

        Raises
        ------
        BadData
            If there is no such lesson, sitting or question, or it cannot be released.
        """
        called = "-".join(words_of(name))
        own, left_out = self.own_lessons()
        course = release.lesson_keys(self.solutions)
        titles = {key: one.lesson.title for key, one in own.items()}
        try:
            lesson, called = self._part_named(lesson) or (lesson_named(lesson, [*course, *own], titles), called)
        except BadData as fault:
            # Where the lesson that is meant was left out, the reason is what is wanted.
            none = "" if course else f"The solved lessons are not in {self.solutions}: {_SOLVED_ARE}."
            raise BadData(" ".join(filter(None, [none or str(fault), *left_out]))) from None
        key = f"{lesson}-{called}" if called else lesson
        if called and not sittings and not questions:
            sittings, questions = handing_out.part_of(self.folder, key)
        if bool(called) != bool(sittings or questions):
            raise BadData(
                "A part of a lesson needs a name and what is in it: for example --name week-2 --sittings 2, or "
                "--name needle --questions sp-flags,sp-cone."
            )
        when = self.due(key)
        solved = self.solutions
        if lesson not in course:
            solved = own[lesson].place.parents[1] / "solutions"
            self._take_own(lesson, own[lesson].place)
        worked = (solved / lesson / f"{lesson}.ipynb").read_bytes()
        if called:
            if "begins" in handing_out.record(self.folder, key):
                raise BadData(f"'{key}' is a sitting already: choose another name for this part.")
            title = own[lesson].lesson.title if lesson in own else LESSONS[lesson].title
            made = handing_out.as_part(self.folder, key, lesson, title, worked, sittings, questions, new_numbers)
        else:
            handing_out.note_earlier(self.folder, lesson)
            made = handing_out.as_homework(self.folder, lesson, worked, new_numbers)
        if when is not None:
            made = handing_out.with_due(made, when.told(when.when))
        keeping.write(self.folder / "source" / key / f"{key}.ipynb", made)
        if not (self.folder / due.NAME).exists():
            keeping.write(self.folder / due.NAME, due.TEMPLATE)
        book = self._enter(key)
        if lesson not in course:
            return self._packed(lesson, key, book)
        # Under the lesson's own name it would replace the student's copy of that lesson, put beside it.
        given = self.folder / "hand-out" / f"{key}-homework.ipynb"
        keeping.write(given, book.read_bytes())
        return given

    def _part_named(self, named: str) -> tuple[str, str] | None:
        """Give lesson and name of a part that was handed out before, by its homework's name; None if it is none.

        Raises
        ------
        BadData
            If it is a sitting, which is not handed out like this.
        """
        key = "-".join(words_of(named))
        told = handing_out.record(self.folder, key) if key in handing_out.kept(self.folder) else {}
        if "lesson" not in told:
            return None
        lesson = str(told["lesson"])
        called = key.removeprefix(f"{lesson}-")
        if "begins" in told:
            again = self.command("sitting", lesson, "--name", called, "--seats", str(len(told["signs"])))
            raise BadData(f"'{named}' is a sitting, and its files are made by its own command, such as '{again}'.")
        return lesson, called

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

    @_alone
    def put_out(self, lesson: str, named: str | None = None) -> Path | None:
        """Put what was handed out into the exchange, if there is one.

        Parameters
        ----------
        lesson : str
            Lesson key.
        named : str, optional
            Folder of the exchange, if another one than so far.

        Returns
        -------
        pathlib.Path or None
            The exchange; None if homework goes by files.

        Raises
        ------
        BadData
            If the exchange cannot be used.
        """
        shared = exchange.chosen(self.folder, named)
        if shared is not None:
            settings = settings_for(self.folder)
            settings.Exchange.root = str(shared)
            exchange.put_out(settings, lesson)
            exchange.remember(self.folder, shared)
        return shared

    @_alone
    def put_back(self, lesson: str, students: Sequence[str]) -> tuple[list[str], str]:
        """Release the pages of those who handed in through the exchange.

        Parameters
        ----------
        lesson : str
            Lesson key.
        students : sequence of str
            Who has a page.

        Returns
        -------
        list of str
            Who can fetch it now.
        str
            Why that is not everybody; empty if it is, or there is no exchange.
        """
        came = [one for one in students if self._submitted(lesson, one).with_name(exchange.SECRET).is_file()]
        if not came:
            return [], ""
        if exchange.chosen(self.folder) is None:
            return [], f"The exchange is not known any more: set {EXCHANGE} and hand back again."
        try:
            return exchange.put_back(settings_for(self.folder), self.folder, lesson, came), ""
        except BadData as fault:
            return [], f"{fault} The pages on the desk are good: hand back again."

    @_alone
    def sitting(
        self, lesson: str, name: str, seats: int, begins: datetime | None = None, ends: datetime | None = None
    ) -> tuple[handing_out.Sitting, Path, str]:
        """Make a supervised sitting: a copy with the lesson's task for each seat, each with numbers of its own.

        Parameters
        ----------
        lesson : str
            Lesson key.
        name : str
            What tells it from other sittings of the lesson.
        seats : int
            How many seats there are.
        begins, ends : datetime, optional
            The window of time, UTC.

        Returns
        -------
        Sitting
            What was made; under its key it is collected, marked and handed back.
        pathlib.Path
            Folder with a notebook for each seat.
        str
            The word that is told when it begins.

        Raises
        ------
        BadData
            If there is no such lesson, it has no task, or name, number or times cannot be used.
        """
        called = "-".join(words_of(name))
        if not called or not 1 <= seats <= 500:
            raise BadData("A sitting needs a name, for example monday, and from 1 to 500 seats.")
        if begins and ends and not begins < ends:
            raise BadData("A sitting begins before it ends: look at the two times once more.")
        lesson = self.lesson(lesson)
        # The task of a part is that of its lesson.
        lesson = str(handing_out.record(self.folder, lesson).get("lesson", lesson))
        made = handing_out.Sitting(f"{lesson}-{called}", lesson, seats, begins, ends)
        solved = self.solutions / lesson / f"{lesson}.ipynb"
        if not solved.exists():
            own, _ = self.own_lessons()
            if lesson not in own:
                raise BadData(f"There is no solved notebook of '{lesson}': say with --extra where your lessons are.")
            solved = own[lesson].place.parents[1] / "solutions" / lesson / f"{lesson}.ipynb"
            self._take_own(lesson, own[lesson].place)
        outline = self._own_lesson(lesson) or LESSONS.get(lesson)
        book = handing_out.as_sitting(self.folder, made, outline.title if outline else lesson, solved.read_bytes())
        keeping.write(self.folder / "source" / made.key / f"{made.key}.ipynb", book)
        released = self._enter(made.key).read_text(encoding="utf-8")
        place = self.folder / "hand-out" / made.key
        for number in range(1, seats + 1):
            copied = handing_out.at_seat(self.folder, made, number, released)
            keeping.write(place / f"seat-{number:02d}.ipynb", copied)
        return made, place, made.word(self.folder)

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

    # Collecting ----------------------------------------------------------------------------------------------------

    def _names(self, lesson: str) -> set[str]:
        source = release.read_notebook(self._handed_out(lesson))
        return {cell["metadata"].get("nbgrader", {}).get("grade_id") for cell in source["cells"]} - {None}

    def _of_other(self, lesson: str) -> Callable[[bytes, bool], str]:
        """Give what says of which other homework a file is; one that this desk did not sign stays where it fits."""
        keys = handing_out.kept(self.folder)
        signed = {sign: key for key in keys for sign in handing_out.record(self.folder, key)["signs"]}

        def said(content: bytes, fits: bool) -> str:
            meant = signed.get(homework_in(content), "")
            if meant == lesson or (fits and not meant):
                return ""
            other = meant or begun_in(content)
            if not other or other == lesson:
                return ""
            kind = "homework" if meant else "lesson"
            if meant or (self.folder / "source" / other).exists():
                return f"it is of the {kind} '{other}': type '{self.command('collect', other, 'FILE')}'"
            return f"it is of the lesson '{other}': that one must be handed out first, and the file collected there"

        return said

    def _nothing_yet(self, lesson: str) -> BadData:
        command = self.command("collect", lesson, "FOLDER")
        return BadData(f"Nothing is collected yet: type '{command}' first, with the folder or zip that came back.")

    def _owner(self, place: Path) -> str:
        """Give the student whose kept version a file on the desk itself is; empty if it is none."""
        parts = place.expanduser().resolve().relative_to(self.folder).parts if self._on_desk(place) else ()
        return parts[1] if len(parts) > 2 and parts[0] in ("earlier", "submitted") else ""

    def _on_desk(self, place: Path) -> bool:
        return self.folder in place.expanduser().resolve().parents

    @_alone
    def collect(self, lesson: str, place: Path | None, student: str = "", this_one: bool = False) -> Collected:
        """Take in the hand-ins from a folder or zip, or the exchange; every file is matched to a student or listed.

        Parameters
        ----------
        lesson : str
            Lesson key.
        place : pathlib.Path or None
            Folder, zip or single notebook; None for the exchange.
        student : str
            Whose it is, if its name does not say so.
        this_one : bool
            True to let it count although a newer one is there.

        Returns
        -------
        Collected
            What was taken and what was not.

        Raises
        ------
        BadData
            If the lesson is not handed out, or there is nothing at that place.
        """
        names = self._names(lesson)
        roster = self._list_as_before(lesson)
        if place is None:
            shared = exchange.chosen(self.folder)
            if shared is None:
                raise BadData(
                    f"Say where the hand-ins are: type '{self.command('collect', lesson, 'FOLDER-OR-ZIP')}', or hand "
                    "out with --exchange first."
                )
            found, whose = read_exchange(shared, lesson), the_student(student, roster) if student else ""
        else:
            found, whose = read_all(place), the_student(student, roster) if student else self._owner(place)
        if place is not None and self._on_desk(place):
            said = _text(place.with_name(_SAID)).strip()
            found = [replace(item, said=said) for item in found] if said else found
        matched, listed = match(found, lesson, names, roster, whose, self._of_other(lesson))
        report = Collected(listed=listed)
        of_whom = self._leave_out_known(lesson, report, found)
        if this_one and len(of_whom) == 1:
            # It was settled before whose it is; now it is to count.
            matched, _ = match(found, lesson, names, roster, of_whom[0], self._of_other(lesson))
            report = Collected()
        alone = place is not None and not place.is_dir() and len(found) == 1
        store = self._store(lesson, names, report, this_one, alone)
        came: dict[str, list[HandIn]] = {}
        for one in matched:
            came.setdefault(one.student, []).append(one)
        several = next((who for who, versions in came.items() if len(versions) > 1), "")
        if this_one and several:
            raise BadData(f"{place} has several files of {several}: give the one file that is to count.")
        for who, versions in sorted(came.items()):
            try:
                store.take_all(who, versions)
            except OSError as error:
                if keeping.stops_everything(error):
                    raise
                why = (
                    f"it cannot be stored under this name ({error.strerror or error}): collect it with --student NAME"
                )
                report.listed += [(one.found.name, why) for one in versions]
        if not alone and not this_one:
            self._leave_out_told(lesson, report, found)
        if roster is not None:
            report.missing = [s for s in roster if not self._submitted(lesson, s).exists()]
            report.strangers = [s for s in self.students(lesson) if s not in roster]
        return report

    def _list_as_before(self, lesson: str) -> dict[str, list[str]] | None:
        """Read the class list and keep a copy; where it is gone, files' names must not stand in for it unseen."""
        path = as_written(self.folder / "students.csv")
        roster, kept = read_roster(path), self.folder / "ledger" / "class-list.csv"
        if roster is not None:
            content = path.read_bytes()
            if not kept.exists() or kept.read_bytes() != content:
                keeping.write(kept, content)
        elif kept.exists():
            raise BadData(
                f"The class list {path} is gone, so nothing is taken for '{lesson}': students would go by what their "
                f"files are called. Put it back; as it was last used it lies in {kept}. To go on without a list, "
                "remove that copy too."
            )
        return roster

    def _store(
        self, lesson: str, names: set[str], report: Collected, this_one: bool = False, alone: bool = False
    ) -> _Store:
        told = handing_out.record(self.folder, lesson)
        return _Store(
            self,
            lesson,
            names,
            self._refused(lesson),
            report,
            this_one,
            alone,
            bool(told["signs"]) and not told["plain"],
            full_names(self.folder / "students.csv"),
            {who: str(known["accepted"]) for who, known in self.ledger(lesson).items() if "accepted" in known},
        )

    @_alone
    def take_out(self, lesson: str, student: str) -> Path:
        """Take out the work that counts for a student, as if it had not come in; it is kept.

        Parameters
        ----------
        lesson : str
            Lesson key.
        student : str
            Whose, by id or by the name on the class list.

        Returns
        -------
        pathlib.Path
            Where it is kept.

        Raises
        ------
        BadData
            If nothing counts for this student.
        """
        from needlework.desk import book

        roster, here = read_roster(self.folder / "students.csv"), self.students(lesson)
        student = student if student in here else the_student(student, roster)
        store = self._store(lesson, self._names(lesson), Collected())
        there = store.there(student)
        if there is None:
            raise BadData(f"No work of '{student}' counts in '{lesson}': choose from {', '.join(here) or 'none'}.")
        kept, _ = store.keep(student, there)
        keeping.write(kept.with_name(_TAKEN_OUT), "taken out by hand\n")
        store.refuse(student, {digest(there.content)})
        ledger = self.ledger(lesson)
        with book.opened(self.folder, self._remedy(lesson)) as gradebook:
            if book.known(gradebook, lesson):
                self._keep_by_hand(lesson, ledger, book.read(gradebook, lesson))
                book.remove(gradebook, lesson, student)
        known = ledger.pop(student, {})
        set_for = {**known.get("set_for", {}), known.get("hand_in", ""): known.get("by_hand", [])}
        if any(set_for.values()):
            ledger[student] = {"set_for": {version: marks for version, marks in set_for.items() if marks}}
        keeping.write(self._ledger_path(lesson), json.dumps(ledger, indent=1))
        self._put_page_aside(lesson, student)
        shutil.rmtree(self._submitted(lesson, student).parent)
        return kept

    def _put_page_aside(self, lesson: str, student: str) -> None:
        """Move away the page that was handed back: it tells of other marks."""
        path = self.folder / "hand-back" / lesson / f"{student}.html"
        if path.exists():
            stamp = time.strftime("%Y%m%d-%H%M%S")
            kept = self.folder / "earlier" / student / f"{lesson}-page-{stamp}.html"
            kept.parent.mkdir(parents=True, exist_ok=True)
            os.replace(path, kept)

    @_alone
    def take_out_homework(self, lesson: str) -> Path:
        """Take out a hand-out of which no work counts, as if it had not been made; it is kept.

        Parameters
        ----------
        lesson : str
            Under which name it is marked.

        Returns
        -------
        pathlib.Path
            Where it is kept.

        Raises
        ------
        BadData
            If it is not handed out, or somebody's work of it counts.
        """
        from needlework.desk import book

        self._handed_out(lesson)
        here = self.students(lesson)
        if here:
            raise BadData(
                f"Work of '{lesson}' counts for {', '.join(here)}, so it stays. To take out the work of one student: "
                f"'{self.command('take-out', lesson, here[0])}'."
            )
        place = self.folder / "earlier" / "handed-out" / f"{lesson}-{time.strftime('%Y%m%d-%H%M%S')}"
        out = self.folder / "hand-out"
        given = (out / f"{lesson}-homework.ipynb", out / f"{lesson}.zip", out / lesson)
        record = self.folder / "ledger" / f"{lesson}-handed-out.json"
        with book.opened(self.folder, self._remedy(lesson)) as gradebook:
            book.remove(gradebook, lesson)
        # Its source goes last: as long as it is there, the same command does the rest.
        for path in (*given, record, self.folder / "release" / lesson, self.folder / "source" / lesson):
            if path.exists():
                target = place / path.relative_to(self.folder)
                target.parent.mkdir(parents=True, exist_ok=True)
                os.replace(path, target)
        return place

    def _leave_out_told(self, lesson: str, report: Collected, found: Sequence[Found]) -> None:
        """Take off the list what stood on it at an earlier collecting, the same file for the same reason."""
        path = self.folder / "ledger" / f"{lesson}-not-taken.json"
        told = _dict_in(path)
        files = {item.name: digest(f"{item.when}".encode(), item.content) for item in found}
        now = {name: [files.get(name, ""), why] for name, why in report.listed}
        report.listed_before = [name for name, said in now.items() if told.get(name) == said]
        report.listed = [(name, why) for name, why in report.listed if name not in report.listed_before]
        report.nameless = [name for name in report.nameless if name not in report.listed_before]
        if report.listed:
            keeping.write(path, json.dumps({**told, **now}, indent=1))

    def _leave_out_known(self, lesson: str, report: Collected, found: Sequence[Found]) -> list[str]:
        """Take off the list what says nobody's name and is here as somebody's work; give whose."""
        counted = {item.name: digest(item.content) for item in found if item.content and not item.fault}
        report.nameless = [name for name, why in report.listed if NAMELESS in why and name in counted]
        if not report.nameless:
            return []
        kept = (
            *self.folder.glob(f"submitted/*/{lesson}/{lesson}.ipynb"),
            *self.folder.glob(f"earlier/*/{lesson}-*/{lesson}.ipynb"),
        )
        known: dict[str, set[str]] = {}
        for path in kept:
            if path.with_name(_TAKEN_OUT).exists():
                continue
            known.setdefault(digest(path.read_bytes()), set()).add(path.parent.parent.name)
        report.here = [name for name in report.nameless if counted[name] in known]
        report.nameless = [name for name in report.nameless if name not in report.here]
        report.listed = [(name, why) for name, why in report.listed if name not in report.here]
        return sorted({student for name in report.here for student in known[counted[name]]})

    def _submitted(self, lesson: str, student: str) -> Path:
        return self.folder / "submitted" / student / lesson / f"{lesson}.ipynb"

    def _refused_path(self, lesson: str) -> Path:
        return self.folder / "ledger" / f"{lesson}-not-these.json"

    def _refused(self, lesson: str) -> dict[str, list[str]]:
        """Read, by student, the versions that were passed over when an older one was chosen."""
        try:
            return {str(k): list(v) for k, v in json.loads(self._refused_path(lesson).read_text("utf-8")).items()}
        except (OSError, ValueError, AttributeError, TypeError):
            # Without it only the files' times count.
            return {}

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

    # Marking -------------------------------------------------------------------------------------------------------

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

    def mark(
        self,
        lesson: str,
        again: bool = False,
        trust: bool = False,
        progress: Callable[[int, int], None] = lambda done, of: None,
        cluster: str = "",
    ) -> dict[str, dict[str, Any]]:
        """Mark every hand-in that is new, or whose questions have changed since, or that the machine failed at.

        Parameters
        ----------
        lesson : str
            Lesson key.
        again : bool
            True to mark all of them afresh.
        trust : bool
            True to run the students' code without walls where there are none to be had.
        progress : callable
            Told how many are done, and how many there are to do.
        cluster : str
            Address of the scheduler of a cluster that does the work; empty for this machine.

        Returns
        -------
        dict
            The ledger, by student.

        Raises
        ------
        BadData
            If the lesson is not handed out, or nothing is collected, or the desk cannot be written to.
        """
        with self.at_work():
            return self._mark(lesson, again, trust, progress, cluster)

    def _mark(
        self, lesson: str, again: bool, trust: bool, progress: Callable[[int, int], None], cluster: str
    ) -> dict[str, dict[str, Any]]:
        from needlework.desk import book, marking

        source = self._handed_out(lesson).read_bytes()
        students = self.students(lesson)
        if not students:
            raise self._nothing_yet(lesson)
        if self.data_of(lesson) and not room.walls_stand() and not trust:
            raise BadData(
                "Marking runs the functions of this lesson, and this machine has no walls for them (bubblewrap, on "
                "Linux: 'sudo apt-get install bubblewrap'): install it, or add --trust if you know who wrote them."
            )
        ledger = self.ledger(lesson)
        with book.opened(self.folder, self._remedy(lesson)) as gradebook:
            entered = book.known(gradebook, lesson)
        if not entered:
            self._enter(lesson)
        with book.opened(self.folder, self._remedy(lesson)) as gradebook:
            entries = book.read(gradebook, lesson)
            papers: dict[str, bytes] = {}
            for student in students:
                work = self._submitted(lesson, student).read_bytes()
                known = ledger.get(student, {})
                there = student in entries or not known.get("marked")
                if again or not there or known.get("of") != digest(source, work):
                    papers[student] = work
            self.just_marked = set(papers)
            self._begin_marking(lesson, ledger, papers, gradebook, entries)
            task = {
                "lesson": lesson,
                "source": source.decode("utf-8"),
                "released": (self.folder / "release" / lesson / f"{lesson}.ipynb").read_text(encoding="utf-8"),
                "own": str(self.data_of(lesson) or ""),
                "walls": room.walls_stand(),
                "trust": trust,
            }
            done = 0
            progress(done, len(papers))
            with at_once.executor(len(papers), cluster) as make:
                for results in at_once.send(make, marking.mark_some, task, papers) if papers else ():
                    self._enter_marks(lesson, source, papers, results, ledger, gradebook)
                    done += len(results)
                    progress(done, len(papers))
        return ledger

    def _begin_marking(
        self,
        lesson: str,
        ledger: dict[str, dict[str, Any]],
        papers: Mapping[str, bytes],
        gradebook: Any,
        entries: Mapping[str, Any],
    ) -> None:
        """Until it is through, a hand-in counts as not marked, whatever stops the machine."""
        from needlework.desk import by_hand

        changed = []
        for student, work in papers.items():
            known = ledger.setdefault(student, {})
            if known.get("marked") and known.get("hand_in") == digest(work) and student in entries:
                # Kept until the new marks are there, so that it can be said what moved.
                known.setdefault("was", entries[student].by_itself)
            elif known.get("hand_in") != digest(work):
                known.pop("was", None)
            was, now, set_for = known.get("hand_in", ""), digest(work), known.get("set_for", {})
            if was != now and (was or set_for):
                # What was set by hand was said of other work; it comes back with that work.
                new = [one.as_data() for one in entries[student].by_hand] if student in entries else []
                new += [one for one in known.get("by_hand", []) if one not in new and student not in entries]
                if was and new:
                    set_for = {**set_for, was: new}
                back = set_for.get(now, [])
                again = {one["question"] for one in back}
                before = [*(one for one in known.get("before", []) if one not in new), *new]
                known["before"] = [one for one in before if one["question"] not in again]
                known["set_for"] = {version: kept for version, kept in set_for.items() if version != now}
                known["by_hand"] = back
                changed.append(student)
        if changed:
            keeping.write(self._ledger_path(lesson), json.dumps(ledger, indent=1))
            for student in changed:
                by_hand.set_aside(gradebook, lesson, student)
        for student, work in papers.items():
            kept = {
                name: ledger[student][name]
                for name in ("before", "by_hand", "accepted", "was", "set_for")
                if name in ledger[student]
            }
            entry = {
                "of": "",
                "hand_in": digest(work),
                "marked": False,
                "look": [_INTERRUPTED],
                "cells": {},
                "notes": [],
            }
            ledger[student] = entry | kept
        if papers:
            keeping.write(self._ledger_path(lesson), json.dumps(ledger, indent=1))

    def _enter_marks(
        self,
        lesson: str,
        source: bytes,
        papers: Mapping[str, bytes],
        results: Mapping[str, Mapping[str, Any]],
        ledger: dict[str, dict[str, Any]],
        gradebook: Any,
    ) -> None:
        """Write what came of some hand-ins: pages and answers, then the gradebook, last the ledger that counts."""
        from needlework.desk import book, by_hand

        written = []
        for student, one in results.items():
            entry = ledger[student]
            marked = "marks" in one
            when = _stamped(self._submitted(lesson, student).with_name(exchange.STAMP))
            if marked:
                page = book.page_of(self.folder, student, lesson)
                keeping.write(page, one["page"])
                if has_time(when):
                    keeping.write(page.with_name(exchange.STAMP), f"{when:%Y-%m-%d %H:%M:%S} UTC\n")
                else:
                    page.with_name(exchange.STAMP).unlink(missing_ok=True)
                held = {name: one[name] for name in ("answers", "right", "wrong", "told", "worked")}
                keeping.write(self.answers_path(lesson, student), json.dumps({"of": entry["hand_in"], **held}))
                set_by_hand = [by_hand.ByHand(**each) for each in entry.get("by_hand", [])]
                written.append(book.Paper(student, when if has_time(when) else None, one["marks"], set_by_hand))
            of = "" if one["machine"] else digest(source, papers[student])
            look, notes = handing_out.notes(self.folder, lesson, one["homework"] if marked else None)
            late = handing_out.outside(self.folder, lesson, when) if has_time(when) else ""
            look, notes = [*one["look"], *look], [*one["notes"], *notes, *([late] if late else [])]
            if marked and not str(one["begun"] or "").strip():
                notes.append(NO_NAME)
            ledger[student] = entry | {"of": of, "marked": marked, "look": look, "cells": one["cells"]}
            ledger[student] |= {"notes": notes, "named": one["begun"] or "", "homework": one["homework"]}
            if marked and not one["machine"]:
                was = ledger[student].pop("was", None)
                ledger[student]["moved"] = {} if was is None else _moved(was, one["marks"])
        if written:
            book.write(gradebook, lesson, written)
        keeping.write(self._ledger_path(lesson), json.dumps(ledger, indent=1))

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

    def accept_name(self, lesson: str, student: str, back: bool = False) -> str:
        """Let a hand-in count although its numbers are those of another name, or take that back.

        Parameters
        ----------
        lesson : str
            Lesson key.
        student : str
            Under whom it came in, by id or by the name on the class list.
        back : bool
            True to take it back: then there is no mark again.

        Returns
        -------
        str
            The name that was typed in it.

        Raises
        ------
        BadData
            If there is no hand-in of this student that has another name, or nothing to take back.
        """
        student = the_student(student, read_roster(self.folder / "students.csv"))
        with self.at_work():
            ledger = self.ledger(lesson)
            named = str(ledger.get(student, {}).get("named", ""))
            other = whose.of_somebody_else(named, student, full_names(self.folder / "students.csv"))
            if not other:
                raise BadData(
                    f"No hand-in of '{student}' in '{lesson}' has another name: look at the marks once more."
                )
            if not back:
                ledger[student]["accepted"] = named
            elif ledger[student].pop("accepted", None) is None:
                raise BadData(
                    f"No other name was accepted for '{student}' in '{lesson}': there is nothing to take back."
                )
            keeping.write(self._ledger_path(lesson), json.dumps(ledger, indent=1))
        return named

    def facts(self, lesson: str) -> list[str]:
        """Tell what the hand-ins of a lesson have in common, without an accusation.

        Parameters
        ----------
        lesson : str
            Lesson key.

        Returns
        -------
        list of str
            One sentence each.
        """
        ledger = self.ledger(lesson)
        compared = {}
        for student, known in ledger.items():
            with contextlib.suppress(OSError, ValueError):
                one = json.loads(self.answers_path(lesson, student).read_text(encoding="utf-8"))
                if one["of"] == known.get("hand_in") and known.get("marked"):
                    compared[student] = one
        return whose.facts(ledger, compared)

    # Marks ---------------------------------------------------------------------------------------------------------

    def marks(self, lesson: str) -> list[dict[str, Any]]:
        """Give the marks, one row a student; what could not be marked has no mark, never a 0.

        Parameters
        ----------
        lesson : str
            Lesson key.

        Returns
        -------
        list of dict
            ``student``, ``name`` (of the class list),
            ``lesson``, ``mark``, ``out_of``, ``state`` (``marked`` or ``needs a look``), ``look_at``,
            ``notes``, ``handed_in_utc`` (the time of the file), and the mark of each marked cell by its name; where
            there is a mark also ``late`` (what is said of the time) and ``off`` (marks taken off for it).

        Raises
        ------
        BadData
            If the lesson is not handed out.
        """
        return self._rows(lesson)[0]

    def _rows(self, lesson: str) -> tuple[list[dict[str, Any]], dict[str, dict[str, str]]]:
        """Give the marks, and the comments by student and question."""
        from needlework.desk import book

        source = self._handed_out(lesson).read_bytes()
        if not (self.folder / "gradebook.db").exists() and self.students(lesson):
            again = self.command("mark", lesson)
            raise BadData(
                f"The gradebook {self.folder / 'gradebook.db'} is missing: type '{again}'. The marks are made anew "
                "from the hand-ins; those set by hand are kept in the ledger and put back."
            )
        ledger = self.ledger(lesson)
        full = full_names(self.folder / "students.csv")
        rows: list[dict[str, Any]] = []
        with book.opened(self.folder, self._remedy(lesson)) as gradebook:
            out_of, entries = book.out_of(gradebook, lesson), book.read(gradebook, lesson)
        self._keep_by_hand(lesson, ledger, entries)
        limit = self.due(lesson)
        for student in self.students(lesson):
            known = ledger.get(student, {})
            submitted = self._submitted(lesson, student)
            said_by = _text(submitted.with_name(_SAID)).strip()
            machine = known.get("of") == "" and known.get("look") and known["look"] != [_INTERRUPTED]
            fresh = bool(known.get("of") == digest(source, submitted.read_bytes()) or machine)
            look = list(known.get("look", [])) if fresh else ["it is not marked yet"]
            notes = list(known.get("notes", [])) if fresh else []
            row = {"student": student, "name": full.get(student, ""), "lesson": lesson, "mark": "", "out_of": out_of}
            row |= {"state": "", "look_at": "", "notes": ""}
            came = _stamped(submitted.with_name(exchange.STAMP))
            row["handed_in_utc"] = f"{came:%Y-%m-%d %H:%M:%S}" if has_time(came) else ""
            if fresh and known.get("marked"):
                named = str(known.get("named", ""))
                other = whose.of_somebody_else(named, student, full)
                entry = entries.get(student)
                if entry is None:
                    look = ["its marks are not in the gradebook: mark it again"]
                elif other and known.get("accepted") != named:
                    accept = self.command("accept-name", lesson, student)
                    look = [f"{other}: ask whose work it is; if it is theirs, type '{accept}'"]
                else:
                    has = round(entry.total, 2)
                    late = due.lateness(limit, student, came, out_of, has, said_by)
                    row |= {"late": late.says, "off": late.off, "mark": round(has - late.off, 2)}
                    row |= {name: round(mark, 2) for name, mark in entry.marks.items()}
                    row |= dict.fromkeys(entry.waiting, "")
                    set_now = {one.question: one for one in entry.by_hand}
                    look += _to_look_at(known, set_now)
                    look += [f"'{name}' waits for your mark" for name in entry.waiting]
                    notes += _told(set_now)
                    if late.unknown:
                        settle = f"write when it came into {due.NAME}, under [{lesson}.came]"
                        look.append(f'{late.says}: {settle}, for example {student} = "2 hours"')
                    elif late.says:
                        notes.append(late.says)
                    elif limit and not has_time(came) and not said_by and student not in limit.came:
                        notes.append("its file has no time of its own, so nothing tells if it came late")
                    if other:
                        notes.append(f"{other}, and that was accepted")
            row["state"] = "needs a look" if look else "marked"
            row["look_at"], row["notes"] = "; ".join(look), "; ".join(notes)
            rows.append(row)
        said = {
            student: {one.question: one.because for one in entry.by_hand if one.because}
            for student, entry in entries.items()
        }
        return rows, said

    def _keep_by_hand(self, lesson: str, ledger: dict[str, dict[str, Any]], entries: Mapping[str, Any]) -> None:
        """Keep in the ledger as well what was set by hand, here or in nbgrader's own pages."""
        changed = False
        for student, entry in entries.items():
            known = ledger.get(student)
            now = [one.as_data() for one in entry.by_hand]
            if known is not None and known.get("marked") and known.get("by_hand", []) != now:
                known["by_hand"], changed = now, True
        if changed:
            # A desk that may only be read shows its marks all the same.
            with contextlib.suppress(OSError):
                keeping.write(self._ledger_path(lesson), json.dumps(ledger, indent=1))

    def write_marks(self, lesson: str) -> tuple[Path, Path | None]:
        """Write the marks as CSV; a file that was changed since is kept under another name.

        Parameters
        ----------
        lesson : str
            Lesson key.

        Returns
        -------
        pathlib.Path
            The file.
        pathlib.Path or None
            Where a changed file is kept.

        Raises
        ------
        BadData
            If the lesson is not handed out, or nothing is collected.
        """
        from needlework.desk import book

        rows, said = self._rows(lesson)
        if not rows:
            raise self._nothing_yet(lesson)
        with book.opened(self.folder, self._remedy(lesson)) as gradebook:
            book.take_off(gradebook, lesson, {row["student"]: row["off"] for row in rows if "off" in row})
        source = release.read_notebook(self._handed_out(lesson))
        order = [cell["metadata"].get("nbgrader", {}).get("grade_id", "") for cell in source["cells"]]
        text = sheets.text_of(self.folder, lesson, rows, said, order)
        path = self.folder / "marks" / f"{lesson}.csv"
        written, kept = self.folder / "ledger" / f"{lesson}-csv.txt", None
        if path.exists() and written.exists() and written.read_text("utf-8") != digest(path.read_bytes()):
            kept = path.with_name(f"{lesson}-changed-{time.strftime('%Y%m%d-%H%M%S')}.csv")
            os.replace(path, kept)
        # With a byte-order mark a spreadsheet reads letters beyond ASCII as they are.
        keeping.write(path, text.encode("utf-8-sig"))
        keeping.write(written, digest(path.read_bytes()))
        return path, kept

    def set_mark(self, lesson: str, student: str, question: str, mark: float | None, because: str = "") -> float:
        """Set the mark of one question by hand, or take it back; it stands in nbgrader's gradebook.

        Parameters
        ----------
        lesson : str
            Lesson key.
        student : str
            Whose, by id or by the name on the class list.
        question : str
            Name of the question, as the marks file has it.
        mark : float or None
            The mark; None to go back to what marking gave.
        because : str
            What the student is told of it.

        Returns
        -------
        float
            The student's mark for the whole lesson afterwards.

        Raises
        ------
        BadData
            If there are no marks of this student, no such question, or the mark is not possible.
        """
        student = the_student(student, read_roster(self.folder / "students.csv"))
        rows = {row["student"]: row for row in self.marks(lesson)}
        if student not in rows:
            raise BadData(f"There is no hand-in of '{student}': choose from {', '.join(rows) or 'none'}.")
        if rows[student]["mark"] == "":
            why = rows[student]["look_at"]
            raise BadData(f"{student} has no marks in which one could be changed ({why}): mark the work first.")
        from needlework.desk import book, by_hand

        with self.at_work():
            with book.opened(self.folder, self._remedy(lesson)) as gradebook:
                total = by_hand.write(gradebook, lesson, student, question, mark, because)
                entries = book.read(gradebook, lesson)
            ledger = self.ledger(lesson)
            entry = ledger.get(student, {})
            before = entry.get("before", [])
            entry["before"] = [one for one in before if one["question"] != question]
            self._keep_by_hand(lesson, ledger, {student: entries[student]})
            keeping.write(self._ledger_path(lesson), json.dumps(ledger, indent=1))
        return float(round(max(total - rows[student]["off"], 0.0), 2))

    def waiting(self, lesson: str, rows: list[dict[str, Any]] | None = None) -> list[tuple[str, str]]:
        """List what waits for a person's mark.

        Parameters
        ----------
        lesson : str
            Lesson key.
        rows : list of dict, optional
            The marks, where they are known.

        Returns
        -------
        list of tuple of str
            Student and question.

        """
        rows = self.marks(lesson) if rows is None else rows
        return [
            (row["student"], name)
            for row in rows
            if row["mark"] != ""
            for name, mark in row.items()
            if mark == "" and name not in sheets.NOT_QUESTIONS
        ]

    def moved(self, lesson: str) -> list[dict[str, Any]]:
        """Say which marks moved when the same work was marked for the last time, for whom, and from what to what.

        Parameters
        ----------
        lesson : str
            Lesson key.

        Returns
        -------
        list of dict
            ``student``, ``question``, ``before`` and ``now`` (empty for none), and ``by_hand``: the mark that a
            person set, which stays; empty for none.
        """
        rows = []
        for student, known in sorted(self.ledger(lesson).items()):
            set_now = {one["question"]: one["mark"] for one in known.get("by_hand", []) if one["mark"] is not None}
            for question, (before, now) in known.get("moved", {}).items():
                moved = {"before": "" if before is None else before, "now": "" if now is None else now}
                rows.append({"student": student, "question": question, **moved, "by_hand": set_now.get(question, "")})
        return rows

    def moved_by_time(self, lesson: str) -> list[dict[str, Any]]:
        """Say whose mark moved because another one is taken off for the time than when this was last asked.

        Parameters
        ----------
        lesson : str
            Lesson key.

        Returns
        -------
        list of dict
            ``student``, ``before`` and ``now``, and ``late``: what is said of the time, empty where it is in time.
        """
        path, ledger = self.folder / "ledger" / "time-told" / f"{lesson}.json", self.ledger(lesson)
        before = _dict_in(path)
        now = dict(before)
        moved = []
        for row in self.marks(lesson):
            if row["mark"] == "":
                continue
            student, off = row["student"], row["off"]
            was = before.get(student, {})
            now[student] = {"hand_in": ledger[student].get("hand_in", ""), "off": off}
            if was.get("hand_in") == now[student]["hand_in"] and was["off"] != off:
                has = round(row["mark"] + off, 2)
                first = round(has - min(was["off"], has), 2)
                moved.append({"student": student, "before": first, "now": row["mark"], "late": row["late"]})
        if now != before:
            keeping.write(path, json.dumps(now, indent=1))
        return [one for one in moved if one["before"] != one["now"]]

    def read_marks(self, lesson: str, path: Path | None = None) -> sheets.Read:
        """Take marks and comments from the marks file after somebody changed it in a spreadsheet.

        Parameters
        ----------
        lesson : str
            Lesson key.
        path : pathlib.Path, optional
            The file; by default the one in the desk's own folder ``marks``.

        Returns
        -------
        Read
            What was set, and what was not, and why.

        Raises
        ------
        BadData
            If the file cannot be read, or is no such table, or the lesson is not handed out.
        """
        from needlework.desk import book, by_hand

        rows, said = self._rows(lesson)
        if not rows:
            raise self._nothing_yet(lesson)
        table = tables.read(path or self.folder / "marks" / f"{lesson}.csv")
        with self.at_work():
            with book.opened(self.folder, self._remedy(lesson)) as gradebook:
                points = book.points(gradebook, lesson)
                now = sheets.as_written(rows, said)
                report = sheets.compare(
                    self.folder, lesson, table, now, points, read_roster(self.folder / "students.csv")
                )
                for one in report.changes:
                    if one.marks:
                        kept = said.get(one.student, {}).get(one.question, "")
                        by_hand.write(gradebook, lesson, one.student, one.question, one.mark, one.because or kept)
                    if one.because is not None:
                        by_hand.comment(gradebook, lesson, one.student, one.question, one.because)
                entries = book.read(gradebook, lesson)
            ledger = self.ledger(lesson)
            for one in report.changes:
                before = ledger[one.student].get("before", [])
                ledger[one.student]["before"] = [each for each in before if each["question"] != one.question]
            self._keep_by_hand(lesson, ledger, {one.student: entries[one.student] for one in report.changes})
            if report.changes:
                keeping.write(self._ledger_path(lesson), json.dumps(ledger, indent=1))
        return report

    def for_platform(
        self, lesson: str, platform: str = "", given: Path | None = None, column: str = ""
    ) -> tuple[Path, platforms.Filled]:
        """Write the marks for a learning platform.

        Parameters
        ----------
        lesson : str
            Lesson key.
        platform : str
            One of :data:`needlework.desk.platforms.FORMS`, for a form from the class list.
        given : pathlib.Path, optional
            A file that the platform gave out, to be filled in.
        column : str
            Its column, where it cannot be told.

        Returns
        -------
        pathlib.Path
            The file, in ``marks`` on the desk; the one that was given stays as it was.
        Filled
            What is in it, and what is not.

        Raises
        ------
        BadData
            If the file is none of a platform, or there are no marks.
        """
        rows, said = self._rows(lesson)
        title, titles = self.titles(lesson)
        # What everyone with one answer is told stands on the page, and belongs to the comments here as well.
        for student, paper in self._papers(lesson, [row for row in rows if row["mark"] != ""]).items():
            own = said.get(student, {})
            named = dict.fromkeys([*own, *paper["to_all"]])
            both = {name: [own.get(name, ""), *paper["to_all"].get(name, [])] for name in named}
            said[student] = {name: "\n".join(filter(None, lines)) for name, lines in both.items()}
        marks = platforms.marks_of(rows, said, titles)
        if not marks:
            raise self._nothing_yet(lesson) if not rows else BadData("There is no mark yet that could be passed on.")
        listed = people(self.folder / "students.csv")
        if given is not None:
            filled = platforms.fill(tables.read(given), title, float(rows[0]["out_of"]), marks, listed, column)
            name = f"{lesson}-{given.stem}"
        else:
            filled = platforms.form(platform, title, float(rows[0]["out_of"]), marks, listed)
            name = f"{lesson}-{platform}"
        path = self.folder / "marks" / f"{name}.csv"
        with keeping.told(self.folder):
            keeping.write(path, filled.text)
        return path, filled

    # The class -----------------------------------------------------------------------------------------------------

    def look_at_class(self, lesson: str) -> tuple[Path, Path, list[str]]:
        """Make the page that says what the class knows of a lesson.

        Parameters
        ----------
        lesson : str
            Lesson key.

        Returns
        -------
        page, table : pathlib.Path
            The page, and the same as CSV.
        first : list of str
            What stands first on it, one sentence each.

        Raises
        ------
        BadData
            If the lesson is not handed out, nothing is collected, or the comments cannot be read.
        """
        from needlework.desk import class_look, class_page

        self._handed_out(lesson)
        if not self.students(lesson):
            raise self._nothing_yet(lesson)
        look = class_look.look(self, lesson)
        file = to_all.place(self.folder, lesson)
        made = class_page.page(
            look,
            functools.partial(class_look.comment_command, self, lesson),
            str(file),
            f"{datetime.now().astimezone():%Y-%m-%d %H:%M}",
        )
        place = self.folder / "class"
        with self.at_work():
            keeping.write(place / f"{lesson}.html", made)
            keeping.write(place / f"{lesson}.csv", class_page.table(look).encode("utf-8-sig"))
        return place / f"{lesson}.html", place / f"{lesson}.csv", [text for _, text in look.first] + look.cannot

    def tell_all(self, lesson: str, question: str, part: str, answer: str, comment: str) -> tuple[Path, list[str]]:
        """Keep a comment for everyone with the same answer.

        Parameters
        ----------
        lesson, question, part : str
            Where the answer stands; no part for a question that has none.
        answer : str
            What it is, as :mod:`needlework.desk.alike` describes it.
        comment : str
            What these students are told; ``back`` to take it back.

        Returns
        -------
        pathlib.Path
            The file in which it is kept.
        list of str
            Whom it reaches now.

        Raises
        ------
        BadData
            If there is no such question or part, the answer cannot be read, or there is no comment to take back.
        """
        from needlework.desk import class_look
        from needlework.desk.alike import described, part_of, places_of

        self._handed_out(lesson)
        counted = class_look.counted_of(class_look.sheet_of(self, lesson))
        questions = list(counted)
        if question not in questions:
            raise BadData(f"There is no question '{question}' in '{lesson}': choose from {', '.join(questions)}.")
        told = class_look.told_of(self, lesson)
        answers = [one["told"].get(question, {}) for one in told.values()]
        parts = sorted(places_of(answers))
        there = any(part_of(one, part) is not None for one in answers)
        if told and not there and (part or len(parts) > 1):
            named = ", ".join(f"'{each}'" for each in parts if each)
            raise BadData(
                f"'{question}' has the parts {named}: say with --part which one is meant."
                if named
                else f"'{question}' has no parts: leave --part out."
            )
        if not comment.strip():
            raise BadData("The comment is empty: write what these students are told, or the word back.")
        with self.at_work():
            path = to_all.place(self.folder, lesson)
            before = to_all.read(path, questions)
            meant = described(answer)
            codes = class_look.codes_of(counted[question].key, answers) if self.data_of(lesson) is None else None
            if meant.way == "mistake" and comment != "back" and codes is not None and meant.value not in codes:
                listed = f"choose from {', '.join(codes)}" if codes else "it knows none"
                raise BadData(f"'{question}' knows no mistake '{meant.value}': {listed}.")
            new = to_all.Comment(question, part, meant, "" if comment == "back" else comment.strip())
            after = to_all.changed(before, new)
            if comment == "back" and len(after) == len(before):
                kept = "; ".join(f"{each.question} “{each.answer}”" for each in before) or "none"
                raise BadData(f"There is no comment to '{question}' “{new.answer}”: kept are {kept}.")
            to_all.write(path, after)
        return path, [
            student for student, one in sorted(told.items()) if new.text and new.reaches(one["told"], student)
        ]

    # Handing back --------------------------------------------------------------------------------------------------

    def hand_back(
        self, lesson: str, show: str = "", progress: Callable[[int, int], None] = lambda done, of: None
    ) -> tuple[Path, list[str], list[tuple[str, str]]]:
        """Make one page a student with the work, the marks and the reasons.

        Parameters
        ----------
        lesson : str
            Lesson key.
        show : str
            What the pages tell: ``worked`` (verdicts and worked answers), ``verdicts`` or ``marks``; empty for what
            was chosen last, at first ``worked``.
        progress : callable
            Told how many pages are done, and how many there are to do.

        Returns
        -------
        pathlib.Path
            Folder with one HTML page a student.
        list of str
            Students whose page is there.
        list of tuple of str
            Students without a page, and why.

        Raises
        ------
        BadData
            If the lesson is not handed out, or nothing is collected, or the desk cannot be written to.
        """
        with self.at_work():
            return self._hand_back(lesson, show, progress)

    def _hand_back(
        self, lesson: str, show: str, progress: Callable[[int, int], None]
    ) -> tuple[Path, list[str], list[tuple[str, str]]]:
        from needlework.desk import marking

        rows = self.marks(lesson)
        if not rows:
            raise self._nothing_yet(lesson)
        place = self.folder / "hand-back" / lesson
        done: list[str] = []
        left: list[tuple[str, str]] = []
        for row in rows:
            if row["mark"] != "":
                continue
            self._put_page_aside(lesson, row["student"])
            left.append((row["student"], row["look_at"]))
        papers = self._to_hand_back(lesson, [row for row in rows if row["mark"] != ""])
        stamps, ledger = _dict_in(self._stamps_path(lesson)), self.ledger(lesson)
        title, titles = self.titles(lesson)
        task = {
            "lesson": lesson,
            "source": self._handed_out(lesson).read_text(encoding="utf-8"),
            "released": (self.folder / "release" / lesson / f"{lesson}.ipynb").read_text(encoding="utf-8"),
            "title": title,
            "titles": titles,
            "show": handing_out.shown(self.folder, lesson, show),
            "kept": str(self.folder / "pictures"),
            "own": str(self.data_of(lesson) or ""),
            "walls": room.walls_stand(),
        }
        progress(0, len(papers))
        with at_once.executor(len(papers)) as make:
            parts = at_once.send(make, marking.make_pages, task, papers, _MOST_PAGES_AT_ONCE)
            for pages in parts if papers else ():
                for student, page in pages.items():
                    if "html" not in page:
                        left.append((student, "its page could not be made: hand back once more"))
                        continue
                    keeping.write(self.folder / "feedback" / student / lesson / f"{lesson}.html", page["html"])
                    keeping.write(place / f"{student}.html", page["html"])
                    stamps[student] = self._page_stamp(ledger, student, papers[student])
                    done.append(student)
                progress(len(done), len(papers))
        keeping.write(self._stamps_path(lesson), json.dumps(stamps, indent=1))
        return place, sorted(done), left

    def _stamps_path(self, lesson: str) -> Path:
        return self.folder / "ledger" / "handed-back" / f"{lesson}.json"

    @staticmethod
    def _page_stamp(ledger: Mapping[str, Any], student: str, paper: Mapping[str, Any]) -> str:
        """Give a short text that is another one when the student's page would tell something else."""
        told = {name: value for name, value in paper.items() if name not in ("page", "answers")}
        told["marks"] = {name: round(mark, 2) for name, mark in paper["marks"].items()}
        told["hand_in"] = ledger.get(student, {}).get("hand_in", "")
        return digest(json.dumps(told, sort_keys=True, default=str).encode("utf-8"))

    def out_of_date(self, lesson: str, changed: Sequence[str] = ()) -> list[str]:
        """List the students whose page was handed back and would tell something else now.

        Parameters
        ----------
        lesson : str
            Lesson key.
        changed : sequence of str
            Whose marks have just changed: these count also where it was not kept what their page was made of.

        Returns
        -------
        list of str
            Their ids, sorted.
        """
        place = self.folder / "hand-back" / lesson
        rows = [row for row in self.marks(lesson) if (place / f"{row['student']}.html").exists()]
        if not rows:
            return []
        stamps, ledger = _dict_in(self._stamps_path(lesson)), self.ledger(lesson)
        papers = self._papers(lesson, [row for row in rows if row["mark"] != ""])
        now = {student: self._page_stamp(ledger, student, paper) for student, paper in papers.items()}
        return [
            student
            for student in sorted(row["student"] for row in rows)
            if (stamps[student] != now.get(student) if student in stamps else student in changed)
        ]

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

    def _to_hand_back(self, lesson: str, rows: list[dict[str, Any]]) -> dict[str, Any]:
        """Gather what the page of each student is made of."""
        from needlework.desk import book

        papers = self._papers(lesson, rows)
        for student, paper in papers.items():
            paper["page"] = book.page_of(self.folder, student, lesson).read_text(encoding="utf-8")
        return papers

    def _papers(self, lesson: str, rows: list[dict[str, Any]]) -> dict[str, dict[str, Any]]:
        """Gather what the page of each student is made of, but for the work itself."""
        from needlework.desk import book

        full = full_names(self.folder / "students.csv")
        ledger = self.ledger(lesson)
        with book.opened(self.folder, self._remedy(lesson)) as gradebook:
            entries, comments = book.read(gradebook, lesson), book.comments(gradebook, lesson)
            questions = book.questions(gradebook, lesson)
        for_all = to_all.read(to_all.place(self.folder, lesson), questions)
        papers = {}
        for row in rows:
            student = row["student"]
            kept: dict[str, Any] = {}
            with contextlib.suppress(OSError, ValueError, KeyError):
                kept = json.loads(self.answers_path(lesson, student).read_text(encoding="utf-8"))
            papers[student] = {
                "student": f"{full[student]} ({student})" if full.get(student) else student,
                "marks": entries[student].marks,
                "off": row["off"],
                "late": row["late"],
                "out_of": row["out_of"],
                "by_hand": {one.question: one.by_itself for one in entries[student].by_hand if one.mark is not None},
                "waiting": entries[student].waiting,
                "comments": comments.get(student, {}),
                "to_all": to_all.lines_for(for_all, kept.get("told", {})),
                "answers": kept.get("answers", {}),
                "begun": ledger[student].get("named", ""),
                "homework": ledger[student].get("homework", ""),
            }
        return papers
