"""Marking: what is new, changed, or was not to be marked for the machine's own fault."""

from __future__ import annotations

import contextlib
import json
from collections.abc import Callable, Mapping
from typing import Any

from needlework.basis.errors import BadData
from needlework.desk import at_once, exchange, handing_out, keeping, room, whose
from needlework.desk.collect import full_names, has_time, read_roster, the_student
from needlework.desk.homework.place import INTERRUPTED, Place, stamped
from needlework.desk.keeping import digest

_NO_NAME = "no name was typed in it, so its numbers are nobody's: everyone who types no name has the same"


def _moved(was: Mapping[str, float | None], now: Mapping[str, float | None]) -> dict[str, list[float | None]]:
    """Give, by question, what marking gave before and gives now, where that is not the same."""
    pairs = {name: [was.get(name), now.get(name)] for name in sorted({*was, *now})}
    return {name: [a, b] for name, (a, b) in pairs.items() if a != b and round(a or 0, 2) != round(b or 0, 2)}


class Marked(Place):
    """Marking, and what comes of it besides the marks."""

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
                "look": [INTERRUPTED],
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
            when = stamped(self._submitted(lesson, student).with_name(exchange.STAMP))
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
                notes.append(_NO_NAME)
            ledger[student] = entry | {"of": of, "marked": marked, "look": look, "cells": one["cells"]}
            ledger[student] |= {"notes": notes, "named": one["begun"] or "", "homework": one["homework"]}
            if marked and not one["machine"]:
                was = ledger[student].pop("was", None)
                ledger[student]["moved"] = {} if was is None else _moved(was, one["marks"])
        if written:
            book.write(gradebook, lesson, written)
        keeping.write(self._ledger_path(lesson), json.dumps(ledger, indent=1))

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
