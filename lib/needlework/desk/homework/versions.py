"""The versions of a student's work: which one counts, and where the others are kept."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from needlework.desk import exchange, keeping, whose
from needlework.desk.collect import Found, HandIn, has_time, is_whole, later
from needlework.desk.hand_in import begun_in, fault_of, homework_in, typed_name
from needlework.desk.homework.place import SAID, stamped, text_in
from needlework.desk.keeping import digest

if TYPE_CHECKING:
    from needlework.desk.homework.taken import Taken

TAKEN_OUT = "taken-out.txt"
"""Beside a kept hand-in: that a person took it out."""


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


@dataclass
class Store:
    """Puts hand-ins in their places; whatever was there before is kept.

    ``alone`` says that one file was given, and is told of however often; ``signed``, that every copy of the homework
    has a sign.
    """

    desk: Taken
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
        return counted(target, target.read_bytes()) if target.exists() else None

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
            stamp = text_in(target.with_name(exchange.STAMP))
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
            words = [when_told(there.when), f"marked {mark}" if mark else "not marked"]
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
            keeping.write(folder / SAID, found.said)
        else:
            (folder / SAID).unlink(missing_ok=True)
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
            still = f"{when_told(counts.when)} still" if counts else "nothing"
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


def counted(target: Path, content: bytes) -> Found:
    """Give the version that counts so far, with what lies beside it."""
    beside = (text_in(target.with_name(name)).strip() for name in (exchange.STAMP, exchange.SECRET))
    when, said = stamped(target.with_name(exchange.STAMP)), text_in(target.with_name(SAID)).strip()
    return Found(target.name, when, content, origin=exchange.Origin("", "", *beside), said=said)


def when_told(when: datetime) -> str:
    """Name a version by its time."""
    return f"the version of {when:%Y-%m-%d %H:%M} UTC" if has_time(when) else "the version without a time"
