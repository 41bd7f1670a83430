"""The marks as a person reads, sets and passes them on."""

from __future__ import annotations

import contextlib
import json
import os
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from needlework.basis.errors import BadData
from needlework.building import release
from needlework.desk import due, exchange, keeping, platforms, sheets, tables, to_all, whose
from needlework.desk.collect import full_names, has_time, people, read_roster, the_student
from needlework.desk.homework.place import INTERRUPTED, SAID, Place, dict_in, stamped, text_in
from needlework.desk.keeping import digest


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
    marked = [one for one in set_now.values() if one.mark is not None]
    return [
        f"'{one.question}' marked by hand: {one.mark:g}"
        if one.by_itself is None
        else f"'{one.question}' set by hand to {one.mark:g}, marked by itself {one.by_itself:g}"
        for one in marked
    ]


class Marks(Place):
    """Marks in the gradebook, in the marks file and for a platform."""

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
            said_by = text_in(submitted.with_name(SAID)).strip()
            machine = known.get("of") == "" and known.get("look") and known["look"] != [INTERRUPTED]
            fresh = bool(known.get("of") == digest(source, submitted.read_bytes()) or machine)
            look = list(known.get("look", [])) if fresh else ["it is not marked yet"]
            notes = list(known.get("notes", [])) if fresh else []
            row = {"student": student, "name": full.get(student, ""), "lesson": lesson, "mark": "", "out_of": out_of}
            row |= {"state": "", "look_at": "", "notes": ""}
            came = stamped(submitted.with_name(exchange.STAMP))
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
        before = dict_in(path)
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
