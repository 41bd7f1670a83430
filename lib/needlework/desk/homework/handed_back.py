"""Handing back: a page a student, and which of them would tell something else by now."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from needlework.basis.errors import BadData
from needlework.course.hub import EXCHANGE
from needlework.desk import at_once, exchange, handing_out, keeping, room
from needlework.desk.homework.marks import Marks
from needlework.desk.homework.place import alone, dict_in, settings_for
from needlework.desk.keeping import digest

_MOST_PAGES_AT_ONCE = 15  # a page is megabytes while it is made


class HandedBack(Marks):
    """Pages for students."""

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
        stamps, ledger = dict_in(self._stamps_path(lesson)), self.ledger(lesson)
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

    @alone
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
        stamps, ledger = dict_in(self._stamps_path(lesson)), self.ledger(lesson)
        papers = self._papers(lesson, [row for row in rows if row["mark"] != ""])
        now = {student: self._page_stamp(ledger, student, paper) for student, paper in papers.items()}
        return [
            student
            for student in sorted(row["student"] for row in rows)
            if (stamps[student] != now.get(student) if student in stamps else student in changed)
        ]

    def _to_hand_back(self, lesson: str, rows: list[dict[str, Any]]) -> dict[str, Any]:
        """Gather what the page of each student is made of."""
        from needlework.desk import book

        papers = self._papers(lesson, rows)
        for student, paper in papers.items():
            paper["page"] = book.page_of(self.folder, student, lesson).read_text(encoding="utf-8")
        return papers
