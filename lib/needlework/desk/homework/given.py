"""Handing out: what students get, and what the gradebook has to know of it."""

from __future__ import annotations

import os
import shutil
import zipfile
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from needlework.basis.errors import BadData
from needlework.basis.places import BESIDE
from needlework.building import release
from needlework.course.command import lesson_named
from needlework.desk import due, exchange, handing_out, keeping
from needlework.desk.collect import words_of
from needlework.desk.homework.place import Place, alone, settings_for
from needlework.exercises.catalogue import LESSONS

_SOLVED_ARE = "hand out from a checkout of the course, or set NEEDLEWORK_SOLUTIONS to its folder 'solutions'"


class Given(Place):
    """Handing out: a lesson, a part of one, a supervised sitting."""

    @alone
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

    @alone
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

    @alone
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
