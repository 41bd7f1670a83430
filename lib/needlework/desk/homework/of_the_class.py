"""The class: what its hand-ins have in common, and one comment for all with the same answer."""

from __future__ import annotations

import functools
from datetime import datetime
from pathlib import Path

from needlework.basis.errors import BadData
from needlework.desk import keeping, to_all
from needlework.desk.homework.marks import Marks


class OfTheClass(Marks):
    """The page of a class, and comments for many."""

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
