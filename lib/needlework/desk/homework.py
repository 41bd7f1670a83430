"""The instructor's desk: a folder of its own, and what can be done with it."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import os
import shutil
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from needlework import release
from needlework.desk.collect import HandIn, match, read_all, read_roster
from needlework.errors import BadData


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
        Student, and a file that does not count because a newer one is there.
    listed : list of tuple of str
        A file that was not matched, and why.
    missing : list of str
        Students on the class list with nothing handed in.
    """

    taken: list[tuple[str, str]] = field(default_factory=list)
    same: list[str] = field(default_factory=list)
    older: list[tuple[str, str]] = field(default_factory=list)
    listed: list[tuple[str, str]] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)


def _write(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.part")
    part.write_text(text, encoding="utf-8", newline="")
    os.replace(part, path)


def _digest(*parts: bytes) -> str:
    return hashlib.sha256(b"".join(hashlib.sha256(part).digest() for part in parts)).hexdigest()


class Desk:
    """One desk: ``source``, ``release``, ``submitted``, ``autograded``, ``feedback``, a gradebook, and the results.

    Parameters
    ----------
    folder : pathlib.Path
        Its folder, outside the course's own.
    solutions : pathlib.Path
        Where the hand-written lessons are.
    """

    def __init__(self, folder: Path, solutions: Path = release.SOLUTIONS) -> None:
        self.folder = folder.expanduser().resolve()
        self.solutions = solutions
        if self.folder == release.ROOT or release.ROOT in self.folder.parents:
            raise BadData(f"{self.folder} lies inside the course itself: choose another folder with --desk.")

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
            The notebook to give to the students.

        Raises
        ------
        BadData
            If there is no such lesson, or it cannot be released.
        """
        from needlework.desk.marking import nbgrader_at_work

        there = release.lesson_keys(self.solutions)
        if lesson not in there:
            raise BadData(f"There is no lesson called '{lesson}': choose from {', '.join(there) or 'none'}.")
        source = self.folder / "source" / lesson / f"{lesson}.ipynb"
        source.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(self.solutions / lesson / source.name, source)
        with nbgrader_at_work():
            return release.generate(self.folder, "source", "release", lesson, gradebook=True)

    def _handed_out(self, lesson: str) -> Path:
        source = self.folder / "source" / lesson / f"{lesson}.ipynb"
        if not source.exists() or not (self.folder / "gradebook.db").exists():
            raise BadData(f"'{lesson}' is not handed out yet: run 'desk hand-out {lesson}' first.")
        return source

    # Collecting ----------------------------------------------------------------------------------------------------

    def collect(self, lesson: str, place: Path) -> Collected:
        """Take in the hand-ins from a folder or zip; every file is matched to a student or listed.

        Parameters
        ----------
        lesson : str
            Lesson key.
        place : pathlib.Path
            Folder, zip or single notebook.

        Returns
        -------
        Collected
            What was taken and what was not.

        Raises
        ------
        BadData
            If the lesson is not handed out, or there is nothing at that place.
        """
        source = release.read_notebook(self._handed_out(lesson))
        names = {cell["metadata"].get("nbgrader", {}).get("grade_id") for cell in source["cells"]} - {None}
        roster = read_roster(self.folder / "students.csv")
        matched, listed = match(read_all(place), lesson, names, roster)
        report = Collected(listed=listed)
        newest = {one.student: one for one in matched}
        report.older += [(one.student, one.found.name) for one in matched if newest[one.student] is not one]
        for _, one in sorted(newest.items()):
            self._store(lesson, one, report)
        if roster is not None:
            report.missing = [s for s in roster if not self._submitted(lesson, s).exists()]
        return report

    def _submitted(self, lesson: str, student: str) -> Path:
        return self.folder / "submitted" / student / lesson / f"{lesson}.ipynb"

    def _store(self, lesson: str, one: HandIn, report: Collected) -> None:
        """Put one hand-in in its place; what was there before is kept."""
        target = self._submitted(lesson, one.student)
        stamp = target.with_name("timestamp.txt")
        if target.exists():
            if target.read_bytes() == one.found.content:
                report.same.append(one.student)
                return
            before = datetime.fromisoformat(stamp.read_text(encoding="utf-8").strip().replace(" UTC", "+00:00"))
            if before > one.found.when:
                report.older.append((one.student, one.found.name))
                return
            kept = self.folder / "earlier" / one.student / f"{lesson}-{before:%Y%m%d-%H%M%S}"
            number = 1
            while kept.exists():
                number += 1
                kept = kept.with_name(f"{lesson}-{before:%Y%m%d-%H%M%S}-{number}")
            kept.parent.mkdir(parents=True, exist_ok=True)
            os.replace(target.parent, kept)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(one.found.content)
        stamp.write_text(f"{one.found.when:%Y-%m-%d %H:%M:%S} UTC\n", encoding="utf-8")
        report.taken.append((one.student, one.found.name))

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
            By student: ``of`` (which hand-in and question set), ``marked``, ``look`` and ``notes``.

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
            raise BadData(f"Nothing is collected yet: run 'desk collect {lesson} FOLDER' first.")
        walls = sealed.available()
        if not walls and not trust:
            raise BadData(
                "Marking runs the students' code, and this machine has no walls for it (bubblewrap, on Linux: "
                "'sudo apt-get install bubblewrap'): install it, or add --trust if you know who wrote the code."
            )
        ledger = self.ledger(lesson)
        for student in progress(students):
            of = _digest(source, self._submitted(lesson, student).read_bytes())
            if not again and ledger.get(student, {}).get("of") == of:
                continue
            # Until it is through, this hand-in counts as not marked, whatever stops the machine.
            ledger[student] = {"of": "", "marked": False, "look": ["marking it was interrupted"], "notes": []}
            _write(self._ledger_path(lesson), json.dumps(ledger, indent=1))
            finding = mark_one(settings_for(self.folder), lesson, student, sealed=walls)
            ledger[student] = {"of": of, "marked": finding.marked, "look": finding.look, "notes": finding.notes}
            _write(self._ledger_path(lesson), json.dumps(ledger, indent=1))
        return ledger

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
            ``handed_in_utc``, and the mark of each marked cell by its name.

        Raises
        ------
        BadData
            If the lesson is not handed out.
        """
        from nbgrader.api import Gradebook, MissingEntry

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
                row = {"student": student, "lesson": lesson, "mark": "", "out_of": out_of}
                row["state"] = "needs a look" if look else "marked"
                row["look_at"] = "; ".join(look)
                stamp = submitted.with_name("timestamp.txt")
                row["handed_in_utc"] = stamp.read_text(encoding="utf-8").strip().removesuffix(" UTC")
                if fresh and known.get("marked"):
                    try:
                        submission = gradebook.find_submission(lesson, student)
                    except MissingEntry:
                        row |= {"state": "needs a look", "look_at": "its marks are not in the gradebook"}
                    else:
                        row["mark"] = submission.score
                        row |= {grade.name: grade.score for book in submission.notebooks for grade in book.grades}
                rows.append(row)
        return rows

    def write_marks(self, lesson: str) -> Path:
        """Write the marks as CSV.

        Parameters
        ----------
        lesson : str
            Lesson key.

        Returns
        -------
        pathlib.Path
            The file.
        """
        rows = self.marks(lesson)
        columns = ["student", "lesson", "mark", "out_of", "state", "look_at", "handed_in_utc"]
        columns += sorted({name for row in rows for name in row} - set(columns))
        text = io.StringIO()
        writer = csv.DictWriter(text, columns, restval="")
        writer.writeheader()
        writer.writerows(rows)
        path = self.folder / "marks" / f"{lesson}.csv"
        _write(path, text.getvalue())
        return path

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
        from nbgrader.converters import GenerateFeedback
        from nbgrader.converters.base import NbGraderException
        from nbgrader.coursedir import CourseDirectory

        from needlework.desk.marking import nbgrader_at_work

        rows = self.marks(lesson)
        if not rows:
            raise BadData(f"Nothing is collected yet: run 'desk collect {lesson} FOLDER' first.")
        place = self.folder / "hand-back" / lesson
        done, left = [], []
        for row in rows:
            student = row["student"]
            page = place / f"{student}.html"
            if row["mark"] == "":
                # A page from an earlier hand-in would tell of other marks.
                page.unlink(missing_ok=True)
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
                    converter.start()
            except (NbGraderException, SystemExit) as error:
                left.append((student, f"its page could not be made ({(log.lines() or [str(error)])[-1]})"))
                continue
            place.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(self.folder / "feedback" / student / lesson / f"{lesson}.html", page)
            done.append(student)
        return place, done, left
