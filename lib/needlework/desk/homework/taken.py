"""Collecting: every file is matched to a student or listed, and can be taken out again."""

from __future__ import annotations

import json
import os
import shutil
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from needlework.basis.errors import BadData
from needlework.building import release
from needlework.desk import exchange, handing_out, keeping
from needlework.desk.collect import (
    NAMELESS,
    Found,
    HandIn,
    as_written,
    full_names,
    match,
    read_all,
    read_exchange,
    read_roster,
    the_student,
)
from needlework.desk.hand_in import begun_in, homework_in
from needlework.desk.homework.marks import Marks
from needlework.desk.homework.place import SAID, alone, dict_in, text_in
from needlework.desk.homework.versions import TAKEN_OUT, Collected, Store
from needlework.desk.keeping import digest


class Taken(Marks):
    """Collecting, and taking out again."""

    @alone
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
            said = text_in(place.with_name(SAID)).strip()
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

    def _owner(self, place: Path) -> str:
        """Give the student whose kept version a file on the desk itself is; empty if it is none."""
        parts = place.expanduser().resolve().relative_to(self.folder).parts if self._on_desk(place) else ()
        return parts[1] if len(parts) > 2 and parts[0] in ("earlier", "submitted") else ""

    def _on_desk(self, place: Path) -> bool:
        return self.folder in place.expanduser().resolve().parents

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
    ) -> Store:
        told = handing_out.record(self.folder, lesson)
        return Store(
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

    @alone
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
        keeping.write(kept.with_name(TAKEN_OUT), "taken out by hand\n")
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

    @alone
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
        told = dict_in(path)
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
            if path.with_name(TAKEN_OUT).exists():
                continue
            known.setdefault(digest(path.read_bytes()), set()).add(path.parent.parent.name)
        report.here = [name for name in report.nameless if counted[name] in known]
        report.nameless = [name for name in report.nameless if name not in report.here]
        report.listed = [(name, why) for name, why in report.listed if name not in report.here]
        return sorted({student for name in report.here for student in known[counted[name]]})

    def _refused_path(self, lesson: str) -> Path:
        return self.folder / "ledger" / f"{lesson}-not-these.json"

    def _refused(self, lesson: str) -> dict[str, list[str]]:
        """Read, by student, the versions that were passed over when an older one was chosen."""
        try:
            return {str(k): list(v) for k, v in json.loads(self._refused_path(lesson).read_text("utf-8")).items()}
        except (OSError, ValueError, AttributeError, TypeError):
            # Without it only the files' times count.
            return {}
