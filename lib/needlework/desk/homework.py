"""The instructor's desk: a folder of its own, and what can be done with it."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import os
import shutil
import time
import zipfile
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from needlework.basis.errors import BadData
from needlework.basis.places import BESIDE, DATA, edition, typed
from needlework.building import release
from needlework.course import extra
from needlework.course.command import lesson_named
from needlework.desk.collect import HandIn, full_names, is_whole, match, read_all, read_roster, the_student
from needlework.exercises.catalogue import LESSONS, ORDER, Lesson, outlined, read_data

_INTERRUPTED = "marking it was interrupted"


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
    missing : list of str
        Students on the class list with nothing handed in.
    """

    taken: list[tuple[str, str]] = field(default_factory=list)
    same: list[str] = field(default_factory=list)
    older: list[tuple[str, str]] = field(default_factory=list)
    instead: dict[str, str] = field(default_factory=dict)
    listed: list[tuple[str, str]] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)


def _write(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.part")
    part.write_text(text, encoding="utf-8", newline="")
    os.replace(part, path)


def _digest(*parts: bytes) -> str:
    return hashlib.sha256(b"".join(hashlib.sha256(part).digest() for part in parts)).hexdigest()


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


def _told(set_now: dict[str, Any]) -> list[str]:
    return [
        f"'{one.question}' set by hand to {one.mark:g}, marked by itself {one.by_itself or 0:g}"
        for one in set_now.values()
        if one.mark is not None
    ]


@dataclass
class _Store:
    """Puts hand-ins in their places; whatever was there before is kept."""

    desk: Desk
    lesson: str
    names: set[str]
    refused: dict[str, list[str]]
    report: Collected
    this_one: bool
    marks: dict[str, str] | None = None

    def take(self, one: HandIn) -> None:
        """Let one hand-in count, or say why it does not."""
        target = self.desk._submitted(self.lesson, one.student)
        stamp = target.with_name("timestamp.txt")
        if target.exists():
            there = target.read_bytes()
            if there == one.found.content:
                self.report.same.append(one.student)
                return
            before = datetime.fromisoformat(stamp.read_text(encoding="utf-8").strip().replace(" UTC", "+00:00"))
            sound, was_sound = is_whole(one.found.content, self.names), is_whole(there, self.names)
            if was_sound and not sound:
                kept = self._keep(one.student, one.found.when, "-damaged", one.found.content)
                self.report.listed.append(
                    (
                        one.found.name,
                        f"it is damaged, so the version of {_when(before)} still counts for {one.student}; "
                        f"the damaged file is kept as {self._named(kept)}",
                    )
                )
                return
            passed_over = _digest(one.found.content) in self.refused.get(one.student, ())
            if not self.this_one and sound <= was_sound and (passed_over or before > one.found.when):
                self.report.older.append((one.student, one.found.name))
                return
            mark = self._mark(one.student)
            kept = self._keep(one.student, before)
            words = [_when(before), f"marked {mark}" if mark else "not marked", f"kept as {self._named(kept)}"]
            self.report.instead[one.student] = ", ".join(words)
            if self.this_one:
                self._choose(one, there)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(one.found.content)
        stamp.write_text(f"{one.found.when:%Y-%m-%d %H:%M:%S} UTC\n", encoding="utf-8")
        self.report.taken.append((one.student, one.found.name))

    def _named(self, path: Path) -> str:
        return path.relative_to(self.desk.folder).as_posix()

    def _keep(self, student: str, when: datetime, ending: str = "", content: bytes | None = None) -> Path:
        """Move what is there, or write what is not to be there, under ``earlier``."""
        first = self.desk.folder / "earlier" / student / f"{self.lesson}-{when:%Y%m%d-%H%M%S}{ending}"
        kept, number = first, 1
        while kept.exists():
            file = kept / f"{self.lesson}.ipynb"
            if content is not None and file.exists() and file.read_bytes() == content:
                return file
            number += 1
            kept = first.with_name(f"{first.name}-{number}")
        kept.parent.mkdir(parents=True, exist_ok=True)
        file = kept / f"{self.lesson}.ipynb"
        if content is None:
            os.replace(self.desk._submitted(self.lesson, student).parent, kept)
        else:
            kept.mkdir()
            file.write_bytes(content)
        return file

    def _mark(self, student: str) -> str:
        """Give the mark that a student has now, as text; empty if there is none."""
        if not self.desk.ledger(self.lesson).get(student, {}).get("marked"):
            return ""
        if self.marks is None:
            rows = self.desk.marks(self.lesson)
            self.marks = {row["student"]: "" if row["mark"] == "" else f"{row['mark']:g}" for row in rows}
        return self.marks.get(student, "")

    def _choose(self, one: HandIn, instead_of: bytes) -> None:
        """Remember that a version was passed over, so that it does not come back with the next collecting."""
        passed_over = set(self.refused.get(one.student, ())) | {_digest(instead_of)}
        self.refused[one.student] = sorted(passed_over - {_digest(one.found.content)})
        _write(self.desk._refused_path(self.lesson), json.dumps(self.refused, indent=1))


def _when(when: datetime) -> str:
    return f"{when:%Y-%m-%d %H:%M} UTC"


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
        if self.folder == release.ROOT or release.ROOT in self.folder.parents:
            raise BadData(f"{self.folder} lies inside the course itself: choose another folder with --desk.")

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
        return typed("desk", *where, *words)

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

    def _packed(self, key: str, book: Path) -> Path:
        """Lay the data beside the released notebook, and pack both for the students."""
        data = self.folder / "own" / key
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

    def hand_out(self, lesson: str) -> Path:
        """Make the notebook that students get and enter its questions into the gradebook.

        Parameters
        ----------
        lesson : str
            Lesson key.

        Returns
        -------
        pathlib.Path
            What to give to the students: the notebook, or a zip of the notebook with its data where the lesson is the
            instructor's own.

        Raises
        ------
        BadData
            If there is no such lesson, or it cannot be released.
        """
        own, left_out = self.own_lessons()
        course = release.lesson_keys(self.solutions)
        titles = {key: one.lesson.title for key, one in own.items()}
        try:
            lesson = lesson_named(lesson, [*course, *own], titles)
        except BadData as fault:
            # Where the lesson that is meant was left out, the reason is what is wanted.
            raise BadData(" ".join([str(fault), *left_out])) from None
        from needlework.desk.marking import nbgrader_at_work

        source = self.folder / "source" / lesson / f"{lesson}.ipynb"
        source.parent.mkdir(parents=True, exist_ok=True)
        solved = self.solutions
        if lesson not in course:
            solved = own[lesson].place.parents[1] / "solutions"
            self._take_own(lesson, own[lesson].place)
        shutil.copyfile(solved / lesson / source.name, source)
        with nbgrader_at_work():
            book = release.generate(self.folder, "source", "release", lesson, gradebook=True)
        return book if lesson in course else self._packed(lesson, book)

    def _handed_out(self, lesson: str) -> Path:
        source = self.folder / "source" / lesson / f"{lesson}.ipynb"
        if not source.exists() or not (self.folder / "gradebook.db").exists():
            self.lesson(lesson)
            raise BadData(f"'{lesson}' is not handed out yet: type '{self.command('hand-out', lesson)}' first.")
        return source

    # Collecting ----------------------------------------------------------------------------------------------------

    def _names(self, lesson: str) -> set[str]:
        source = release.read_notebook(self._handed_out(lesson))
        return {cell["metadata"].get("nbgrader", {}).get("grade_id") for cell in source["cells"]} - {None}

    def _nothing_yet(self, lesson: str) -> BadData:
        command = self.command("collect", lesson, "FOLDER")
        return BadData(f"Nothing is collected yet: type '{command}' first, with the folder or zip that came back.")

    def _owner(self, place: Path) -> str:
        """Give the student whose kept version a file on the desk itself is; empty if it is none."""
        parts = place.expanduser().resolve().relative_to(self.folder).parts if self._on_desk(place) else ()
        return parts[1] if len(parts) > 2 and parts[0] in ("earlier", "submitted") else ""

    def _on_desk(self, place: Path) -> bool:
        return self.folder in place.expanduser().resolve().parents

    def collect(self, lesson: str, place: Path, student: str = "", this_one: bool = False) -> Collected:
        """Take in the hand-ins from a folder or zip; every file is matched to a student or listed.

        Parameters
        ----------
        lesson : str
            Lesson key.
        place : pathlib.Path
            Folder, zip or single notebook.
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
        roster = read_roster(self.folder / "students.csv")
        whose = the_student(student, roster) if student else self._owner(place)
        matched, listed = match(read_all(place), lesson, names, roster, whose)
        report = Collected(listed=listed)
        refused = self._refused(lesson)

        def rank(one: HandIn) -> tuple[bool, bool]:
            passed_over = not this_one and _digest(one.found.content) in refused.get(one.student, ())
            return not passed_over, is_whole(one.found.content, names)

        newest: dict[str, HandIn] = {}
        for one in matched:
            if one.student not in newest or rank(one) >= rank(newest[one.student]):
                newest[one.student] = one
        others = [one for one in matched if newest[one.student] is not one]
        if this_one and others:
            raise BadData(f"{place} has several files of {others[0].student}: give the one file that is to count.")
        report.older += [(one.student, one.found.name) for one in others]
        store = _Store(self, lesson, names, refused, report, this_one)
        for _, one in sorted(newest.items()):
            store.take(one)
        if roster is not None:
            report.missing = [s for s in roster if not self._submitted(lesson, s).exists()]
        return report

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
        progress: Callable[[Iterable[str]], Iterable[str]] = lambda students: students,
    ) -> dict[str, dict[str, Any]]:
        """Mark every hand-in that is new or whose questions have changed since.

        Parameters
        ----------
        lesson : str
            Lesson key.
        again : bool
            True to mark all of them afresh.
        trust : bool
            True to run the students' code without walls where there are none to be had.
        progress : callable
            Wraps the list of students, to show how far it is.

        Returns
        -------
        dict
            The ledger, by student.

        Raises
        ------
        BadData
            If the lesson is not handed out, nothing is collected, or the code cannot be sealed and is not trusted.
        """
        from needlework.desk import sealed
        from needlework.desk.marking import mark_one

        source = self._handed_out(lesson).read_bytes()
        students = self.students(lesson)
        if not students:
            raise self._nothing_yet(lesson)
        walls = sealed.available()
        if not walls and not trust:
            raise BadData(
                "Marking runs the students' code, and this machine has no walls for it (bubblewrap, on Linux: "
                "'sudo apt-get install bubblewrap'): install it, or add --trust if you know who wrote the code."
            )
        ledger = self.ledger(lesson)
        full = full_names(self.folder / "students.csv")
        for student in progress(students):
            work = self._submitted(lesson, student).read_bytes()
            of, hand_in = _digest(source, work), _digest(work)
            known = ledger.get(student, {})
            if not again and known.get("of") == of:
                continue
            entry: dict[str, Any] = {"of": "", "hand_in": hand_in, "marked": False, "look": [_INTERRUPTED]}
            if known.get("hand_in", hand_in) != hand_in:
                # What was set by hand was said of other work.
                self._set_aside(lesson, student, ledger)
            entry |= {"cells": {}, "notes": [], "before": known.get("before", [])}
            # Until it is through, this hand-in counts as not marked, whatever stops the machine.
            ledger[student] = dict(entry)
            _write(self._ledger_path(lesson), json.dumps(ledger, indent=1))
            finding = mark_one(
                settings_for(self.folder), lesson, student, walls, full.get(student, ""), self.data_of(lesson)
            )
            entry |= {"of": of, "marked": finding.marked, "look": finding.look, "cells": finding.cells}
            ledger[student] = entry | {"notes": finding.notes}
            _write(self._ledger_path(lesson), json.dumps(ledger, indent=1))
        return ledger

    def _set_aside(self, lesson: str, student: str, ledger: dict[str, dict[str, Any]]) -> None:
        """Move marks and comments set by hand from the gradebook to the ledger, to be told with the new version."""
        from nbgrader.api import Gradebook

        from needlework.desk import by_hand
        from needlework.desk.marking import nbgrader_at_work

        def keep(found: list[by_hand.ByHand]) -> None:
            before = ledger[student].get("before", [])
            new = [one.as_data() for one in found]
            ledger[student]["before"] = [*(one for one in before if one not in new), *new]
            _write(self._ledger_path(lesson), json.dumps(ledger, indent=1))

        settings = settings_for(self.folder)
        with nbgrader_at_work(), Gradebook(settings.CourseDirectory.db_url, "needlework") as gradebook:
            by_hand.set_aside(gradebook, lesson, student, keep)

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
            ``student``, ``lesson``, ``mark``, ``out_of``, ``state`` (``marked`` or ``needs a look``), ``look_at``,
            ``notes``, ``handed_in_utc`` (the time of the file), and the mark of each marked cell by its name.

        Raises
        ------
        BadData
            If the lesson is not handed out.
        """
        from nbgrader.api import Gradebook, MissingEntry

        from needlework.desk import by_hand
        from needlework.desk.marking import nbgrader_at_work

        source = self._handed_out(lesson).read_bytes()
        ledger = self.ledger(lesson)
        rows: list[dict[str, Any]] = []
        settings = settings_for(self.folder)
        with nbgrader_at_work(), Gradebook(settings.CourseDirectory.db_url, "needlework") as gradebook:
            out_of = gradebook.find_assignment(lesson).max_score
            for student in self.students(lesson):
                known = ledger.get(student, {})
                submitted = self._submitted(lesson, student)
                fresh = known.get("of") == _digest(source, submitted.read_bytes())
                look = list(known.get("look", [])) if fresh else ["it is not marked yet"]
                notes = list(known.get("notes", [])) if fresh else []
                row = {"student": student, "lesson": lesson, "mark": "", "out_of": out_of, "state": "", "look_at": ""}
                row["notes"] = ""
                stamp = submitted.with_name("timestamp.txt")
                row["handed_in_utc"] = stamp.read_text(encoding="utf-8").strip().removesuffix(" UTC")
                if fresh and known.get("marked"):
                    try:
                        submission = gradebook.find_submission(lesson, student)
                    except MissingEntry:
                        look = ["its marks are not in the gradebook"]
                    else:
                        row["mark"] = round(submission.score, 2)
                        grades = [grade for book in submission.notebooks for grade in book.grades]
                        row |= {grade.name: round(grade.score, 2) for grade in grades}
                        set_now = {one.question: one for one in by_hand.read(gradebook, lesson, student)}
                        look += _to_look_at(known, set_now)
                        notes += _told(set_now)
                row["state"] = "needs a look" if look else "marked"
                row["look_at"], row["notes"] = "; ".join(look), "; ".join(notes)
                rows.append(row)
        return rows

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
        rows = self.marks(lesson)
        if not rows:
            raise self._nothing_yet(lesson)
        columns = ["student", "lesson", "mark", "out_of", "state", "look_at", "notes", "handed_in_utc"]
        columns += sorted({name for row in rows for name in row} - set(columns))
        text = io.StringIO()
        writer = csv.DictWriter(text, columns, restval="")
        writer.writeheader()
        writer.writerows(rows)
        path = self.folder / "marks" / f"{lesson}.csv"
        written, kept = self.folder / "ledger" / f"{lesson}-csv.txt", None
        if path.exists() and written.exists() and written.read_text("utf-8") != _digest(path.read_bytes()):
            kept = path.with_name(f"{lesson}-changed-{time.strftime('%Y%m%d-%H%M%S')}.csv")
            os.replace(path, kept)
        _write(path, text.getvalue())
        _write(written, _digest(path.read_bytes()))
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
        from nbgrader.api import Gradebook

        from needlework.desk import by_hand
        from needlework.desk.marking import nbgrader_at_work

        settings = settings_for(self.folder)
        with nbgrader_at_work(), Gradebook(settings.CourseDirectory.db_url, "needlework") as gradebook:
            total = by_hand.write(gradebook, lesson, student, question, mark, because)
        ledger = self.ledger(lesson)
        entry = ledger.get(student, {})
        if any(one["question"] == question for one in entry.get("before", [])):
            entry["before"] = [one for one in entry["before"] if one["question"] != question]
            _write(self._ledger_path(lesson), json.dumps(ledger, indent=1))
        return total

    # Handing back --------------------------------------------------------------------------------------------------

    def hand_back(self, lesson: str) -> tuple[Path, list[str], list[tuple[str, str]]]:
        """Make one page a student with the work, the marks and the reasons.

        Parameters
        ----------
        lesson : str
            Lesson key.

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
            If the lesson is not handed out, or nothing is collected.
        """
        import nbformat
        from nbgrader.api import Gradebook
        from nbgrader.converters import GenerateFeedback
        from nbgrader.converters.base import NbGraderException
        from nbgrader.coursedir import CourseDirectory

        from needlework.desk import by_hand
        from needlework.desk.marking import nbgrader_at_work
        from needlework.desk.page import Page, lay_out

        rows = self.marks(lesson)
        if not rows:
            raise self._nothing_yet(lesson)
        place = self.folder / "hand-back" / lesson
        released = nbformat.read(self.folder / "release" / lesson / f"{lesson}.ipynb", 4)  # type: ignore[no-untyped-call]
        full = full_names(self.folder / "students.csv")
        outline = self._own_lesson(lesson) or LESSONS.get(lesson)
        done, left = [], []
        for row in rows:
            student = row["student"]
            path = place / f"{student}.html"
            if row["mark"] == "":
                # A page from an earlier hand-in would tell of other marks.
                if path.exists():
                    kept = self.folder / "earlier" / student / f"{lesson}-page-{time.strftime('%Y%m%d-%H%M%S')}.html"
                    kept.parent.mkdir(parents=True, exist_ok=True)
                    os.replace(path, kept)
                left.append((student, row["look_at"]))
                continue
            settings = settings_for(self.folder)
            settings.CourseDirectory.assignment_id = lesson
            settings.CourseDirectory.student_id = student
            log = release.Listener()
            converter = GenerateFeedback(
                coursedir=CourseDirectory(config=settings, log=log), config=settings, force=True, log=log
            )
            try:
                with nbgrader_at_work():
                    with Gradebook(settings.CourseDirectory.db_url, "needlework") as gradebook:
                        found = by_hand.read(gradebook, lesson, student)
                    given = {one.question: one.by_itself or 0.0 for one in found if one.mark is not None}
                    named = f"{full[student]} ({student})" if full.get(student) else student
                    lay_out(converter, Page(outline, named, released, given))
                    converter.start()
            except (NbGraderException, SystemExit) as error:
                left.append((student, f"its page could not be made ({(log.lines() or [str(error)])[-1]})"))
                continue
            place.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(self.folder / "feedback" / student / lesson / f"{lesson}.html", path)
            done.append(student)
        return place, done, left
