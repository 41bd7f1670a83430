"""The instructor's desk on the command line: hand out, collect, mark, hand back."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from pathlib import Path
from typing import Any


def _desk(options: argparse.Namespace) -> Any:
    from needlework.desk.homework import Desk, default_desk

    return Desk(Path(options.desk) if options.desk else default_desk())


def _hand_out(options: argparse.Namespace) -> int:
    path = _desk(options).hand_out(options.lesson)
    print(f"Give your students this file: {path}")
    print(f"When it comes back: desk collect {options.lesson} FOLDER-OR-ZIP")
    return 0


def _collect(options: argparse.Namespace) -> int:
    report = _desk(options).collect(options.lesson, Path(options.place).expanduser())
    for student, name in report.taken:
        print(f"taken      {student}: {name}")
    for student in report.same:
        print(f"unchanged  {student}")
    for student, name in report.older:
        print(f"older      {student}: {name} (a newer one counts)")
    for name, why in report.listed:
        print(f"NOT TAKEN  {name}: {why}")
    for student in report.missing:
        print(f"missing    {student}")
    print(f"{len(report.taken)} taken, {len(report.same)} unchanged, {len(report.listed)} not taken.")
    return 0


def _with_bar(students: Iterable[str]) -> Iterable[str]:
    from tqdm import tqdm

    bar: Iterable[str] = tqdm(students, unit="hand-in", desc="marking", disable=None)
    return bar


def _mark(options: argparse.Namespace) -> int:
    desk = _desk(options)
    desk.mark(options.lesson, again=options.again, trust=options.trust, progress=_with_bar)
    return _tell_marks(desk, options.lesson)


def _tell_marks(desk: Any, lesson: str) -> int:
    path = desk.write_marks(lesson)
    rows = desk.marks(lesson)
    wide = max((len(row["student"]) for row in rows), default=0)
    for row in rows:
        mark = f"{row['mark']:5.1f} of {row['out_of']:g}" if row["mark"] != "" else f"  no mark, of {row['out_of']:g}"
        look = f"   NEEDS A LOOK: {row['look_at']}" if row["look_at"] else ""
        print(f"{row['student']:<{wide}}  {mark}{look}")
    print(f"Marks: {path}")
    return 0


def _marks(options: argparse.Namespace) -> int:
    return _tell_marks(_desk(options), options.lesson)


def _hand_back(options: argparse.Namespace) -> int:
    place, done, left = _desk(options).hand_back(options.lesson)
    for student, why in left:
        print(f"no page for {student}: {why}")
    print(f"{len(done)} pages to hand back: {place}")
    return 0


def add_command(commands: Any) -> None:
    """Add ``desk`` to the ``needlework`` command.

    Parameters
    ----------
    commands : argparse subparsers
        Where to add it.
    """
    parser = commands.add_parser("desk", help="for the instructor: hand out, collect, mark, hand back")
    parser.add_argument("--desk", help="the desk's folder (default: NEEDLEWORK_DESK, else ~/needlework-desk)")
    steps = parser.add_subparsers(dest="step", metavar="step", required=True)

    def step(name: str, run: Any, text: str) -> argparse.ArgumentParser:
        made: argparse.ArgumentParser = steps.add_parser(name, help=text)
        made.add_argument("lesson", help="its name, for example station-passage")
        made.set_defaults(run=run)
        return made

    step("hand-out", _hand_out, "make the notebook for the students")
    step("collect", _collect, "take in what came back").add_argument("place", help="folder, zip or notebook")
    marking = step("mark", _mark, "mark what is new")
    marking.add_argument("--again", action="store_true", help="mark everything afresh")
    marking.add_argument("--trust", action="store_true", help="run the students' code even without bubblewrap")
    step("marks", _marks, "show the marks and write them as CSV")
    step("hand-back", _hand_back, "make one page a student with marks and reasons")
