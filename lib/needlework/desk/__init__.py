"""The instructor's desk on the command line: hand out, collect, mark, hand back."""

from __future__ import annotations

import argparse
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from needlework.basis import light

_MOST_NAMED = 12

# nbgrader loads them by way of nbformat.
light.leave_out()


def _desk(options: argparse.Namespace) -> Any:
    from needlework.desk.homework import Desk, default_desk

    return Desk(Path(options.desk) if options.desk else default_desk(), named=options.extra)


def _hand_out(options: argparse.Namespace) -> int:
    from needlework.basis.errors import BadData

    desk = _desk(options)
    sittings, questions = options.sittings.replace(" ", ""), options.questions.replace(" ", "")
    if not all(each.isdecimal() for each in sittings.split(",") if each):
        raise BadData(f"'{options.sittings}' are no sittings: give their numbers, for example 1,2.")
    path = desk.hand_out(
        options.lesson,
        options.name,
        [int(each) for each in sittings.split(",") if each],
        [each for each in questions.split(",") if each],
        options.new_numbers,
    )
    for line in desk.own_lessons()[1]:
        print(line)
    key = path.stem.removesuffix("-homework") if path.suffix == ".ipynb" else path.stem
    shared = desk.put_out(key, options.exchange)
    _before_giving_out(desk, key)
    if shared is not None:
        print(f"Your students can fetch '{key}' now: Homework on their start page. It lies in {shared}.")
        print(f"When they have handed in: {desk.command('collect', key)}")
        return 0
    print(f"Give your students this file: {path}")
    if path.suffix == ".zip":
        print(
            "They unpack it in their folder of the course and open the notebook in it; the notebook alone comes back."
        )
    print(f"When it comes back: {desk.command('collect', key, 'FOLDER-OR-ZIP')}")
    return 0


def _before_giving_out(desk: Any, key: str) -> None:
    """Say what the file should have been made with, where it was not, and what it was made with."""
    from needlework.desk import due, handing_out
    from needlework.desk.collect import as_written

    names = as_written(desk.folder / "students.csv")
    if not names.exists():
        print(f"There is no class list yet. Write it before work comes back: {names},")
        print("    first line student,name; then a line for each student, for example finch-7,Finch Seven")
    else:
        count = len(desk.class_list())
        print(f"Class list: {count} {'student' if count == 1 else 'students'}, in {names}.")
    limit = desk.due(key)
    _tell_due_strange(desk)
    if limit is None:
        print(f"No time is set by which it is due. To set one, write it into {desk.folder / due.NAME},")
        print(f"    then type this once more, so that the file tells your students: {desk.command('hand-out', key)}")
    else:
        print(f"Due {limit.told(limit.when)}; the file says so.")
    if len(handing_out.record(desk.folder, key)["signs"]) > 1:
        print("A file that you gave out before its numbers were drawn anew keeps those, and is marked by them.")
    shared = handing_out.same_numbers(desk.folder, key)
    for other, count in shared.items():
        many = "1 question is" if count == 1 else f"{count} questions are"
        print(f"{many} also in '{other}', and each student has the same numbers there.")
    if shared:
        print(f"    To draw new numbers for this one: {desk.command('hand-out', key, '--new-numbers')}")


def _moment(text: str) -> Any:
    """Read a date and a time of the place where the desk is."""
    from datetime import UTC, datetime

    from needlework.basis.errors import BadData

    if not text:
        return None
    try:
        return datetime.fromisoformat(text).astimezone(UTC)
    except ValueError:
        raise BadData(f"'{text}' is no date and time: write it like \"2026-11-30 09:00\".") from None


def _sitting(options: argparse.Namespace) -> int:
    desk = _desk(options)
    begins, ends = _moment(options.begins), _moment(options.ends)
    made, place, word = desk.sitting(options.lesson, options.name, options.seats, begins, ends)
    print(f"A file for each seat: {place}")
    print(f"The word that you say when it begins, and not before: {word}")
    print(f"When the files are saved: {desk.command('collect', made.key, 'FOLDER-OR-ZIP')}")
    return 0


def _collect(options: argparse.Namespace) -> int:
    from needlework.desk.collect import full_names

    desk = _desk(options)
    lesson = desk.lesson(options.lesson)
    place = Path(options.place).expanduser() if options.place else None
    report = desk.collect(lesson, place, options.student, options.this_one)
    full = full_names(desk.folder / "students.csv")
    if not full:
        print("There is no class list, so the names below are taken from the files' names: look them over.")
    for student, name in report.taken:
        instead = f" (in place of {report.instead[student]})" if student in report.instead else ""
        print(f"taken      {student}: {name}{instead}")
    for student in report.same:
        print(f"unchanged  {student}")
    for student, name in report.older:
        print(f"older      {student}: {name} (another version counts)")
    for name, why in report.listed:
        print(f"NOT TAKEN  {name}: {why}")
    if report.listed_before:
        count = len(report.listed_before)
        more = f" and {count - _MOST_NAMED} more" if count > _MOST_NAMED else ""
        files = "1 file" if count == 1 else f"{count} files"
        print(f"as before  {files} not taken, as told then: {', '.join(report.listed_before[:_MOST_NAMED])}{more}")
    told_before = sum(map(len, report.before.values()))
    if told_before:
        kinds = (
            f"{len(students)} {kind}" + (f" ({', '.join(sorted(set(students)))})" if kind != "older" else "")
            for kind, students in report.before.items()
        )
        print(f"before     told of earlier, and not counted: {', '.join(kinds)}")
    if report.here:
        print(f"here       {', '.join(report.here)}: taken before under a student's name")
    for student in report.missing:
        print(f"missing    {student}{f' ({full[student]})' if full.get(student) else ''}")
    if report.strangers:
        print(
            f"not listed {', '.join(report.strangers)}: work is here, and nobody of that name is on the class list."
        )
        print(f"    To take it out again (it is kept): {desk.command('take-out', lesson, report.strangers[0])}")
    print(f"{len(report.taken)} taken, {len(report.same)} unchanged, {len(report.listed)} not taken.")
    told_again = report.before and not report.taken and not report.same
    if report.refused or report.older or report.instead or told_again:
        print("Of two versions the file with the later time counts. If another one is to count, give that one file:")
        # Who was just refused is whom the line is wanted for.
        for student, kept in list((report.refused or report.kept).items())[: _MOST_NAMED if report.refused else 1]:
            print(f"  {desk.command('collect', lesson, str(kept), '--student', student, '--this-one')}")
    if report.nameless and place is not None:
        print("Whose a file is you say like this, with the student's word of the class list in place of NAME:")
        many = place.is_dir() or (place.is_file() and place.suffix.lower() == ".zip")
        file = place / report.nameless[0] if many else place
        print(f"  {desk.command('collect', lesson, str(file), '--student', 'NAME')}")
    return 0


class _Bar:
    """A bar that says how far it is and how long it still takes; in a file or a pipe there is none."""

    def __init__(self, what: str, unit: str) -> None:
        self._what, self._unit = what, unit
        self._bar: Any = None

    def __call__(self, done: int, of: int) -> None:
        from tqdm import tqdm

        if self._bar is None:
            self._bar = tqdm(total=of, unit=self._unit, desc=self._what, disable=None)
        self._bar.update(done - self._bar.n)
        if done >= of:
            self._bar.close()


def _mark(options: argparse.Namespace) -> int:
    desk = _desk(options)
    lesson = desk.lesson(options.lesson)
    desk.mark(lesson, options.again, options.trust, _Bar("marking", "hand-in"), options.cluster)
    if not desk.just_marked:
        print("Nothing new has come.")
    _tell_moved(desk, lesson)
    return _tell_marks(desk, lesson)


def _tell_moved(desk: Any, lesson: str) -> None:
    """Say what marking anew moved, for whom."""
    moved = [one for one in desk.moved(lesson) if one["student"] in desk.just_marked]
    if not moved:
        return
    print("Marked anew, the same work has other marks:")
    for one in moved:
        stays = f" (set by hand to {one['by_hand']:g}, which stays)" if one["by_hand"] != "" else ""
        before, now = (f"{one[when]:g}" if one[when] != "" else "none" for when in ("before", "now"))
        print(f"    {one['student']}: '{one['question']}' {before}, now {now}{stays}")


def _tell_moved_by_time(desk: Any, lesson: str) -> list[str]:
    """Say whose mark moved because something else is taken off for the time; give who that is."""
    from needlework.desk import due

    moved = desk.moved_by_time(lesson)
    if moved:
        print(f"By {due.NAME} as it is now, these have other marks:")
    for one in moved:
        print(f"    {one['student']}: {one['before']:g}, now {one['now']:g} ({one['late'] or 'it is in time now'})")
    return [one["student"] for one in moved]


def _tell_out_of_date(desk: Any, lesson: str, changed: Sequence[str] = ()) -> None:
    """Say which pages that were handed back would tell something else now; nothing where none was handed back."""
    pages = desk.out_of_date(lesson, changed)
    if pages:
        print(f"Handed back before this, and out of date now ({len(pages)}): {', '.join(pages)}.")
        print(f"    Hand back anew: {desk.command('hand-back', lesson)}")


def _tell_due_strange(desk: Any) -> None:
    for line in desk.due_strange():
        print(f"LOOK       {line}")


def _tell_marks(desk: Any, lesson: str) -> int:
    _tell_due_strange(desk)
    changed = _tell_moved_by_time(desk, lesson)
    path, kept = desk.write_marks(lesson)
    rows = desk.marks(lesson)
    new = [row for row in rows if row["student"] in desk.just_marked]
    old = [row for row in rows if row["student"] not in desk.just_marked]
    if new and old:
        print(f"Marked now: {len(new)}.")
    _tell_rows(new)
    if new and old:
        print(f"Marked before: {len(old)}.")
    _tell_rows(old)
    facts = desk.facts(lesson)
    if facts:
        print("What hand-ins have in common, which may have good reasons:")
    for fact in facts:
        print(f"    {fact}")
    looked_at = [row for row in rows if row["look_at"]]
    if desk.waiting(lesson, rows):
        print(f"To mark what waits for your mark: {desk.command('by-hand', lesson)}")
    if looked_at:
        print(f"The work itself: {desk.folder / 'submitted'}, a folder a student.")
    if any(row["mark"] == "" for row in looked_at):
        print("What has no mark: read it there, or ask the student for the file again, then collect and mark it.")
    student = next((row["student"] for row in looked_at if row["mark"] != ""), "")
    if student:
        said = desk.command("set-mark", lesson, student, "QUESTION", "MARK", "--because")
        print(f'To set a mark by hand: {said} "WHAT THE STUDENT IS TOLD"')
    if kept is not None:
        print("The marks file had been changed; that file is kept. To take what was changed in it, type")
        print(f"    {desk.command('read-marks', lesson, str(kept))}")
    _tell_out_of_date(desk, lesson, [*changed, *desk.just_marked])
    print(f"Marks: {path}")
    return 0


def _tell_rows(rows: list[dict[str, Any]]) -> None:
    wide = max((len(row["student"]) for row in rows), default=0)
    for row in rows:
        mark = f"{row['mark']:6g} of {row['out_of']:g}" if row["mark"] != "" else f"no mark, of {row['out_of']:g}"
        print(f"{row['student']:<{wide}}  {mark}")
        for word, text in (("NEEDS A LOOK", row["look_at"]), ("note", row["notes"])):
            if text:
                print(f"    {word}: {text}")


def _due(options: argparse.Namespace) -> int:
    from needlework.desk import due

    desk = _desk(options)
    lesson = desk.lesson(options.lesson)
    limit = desk.due(lesson)
    file = desk.folder / due.NAME
    _tell_due_strange(desk)
    if limit is None:
        print(f"Nothing is said of '{lesson}': write it into {file}, which says how.")
        return 0
    late = limit.late
    print(f"'{lesson}' is due {limit.told(limit.when)}, as {file} says.")
    if late.per_day:
        print(f"Late: {late.per_day * 100:g} % of the full marks a day begun, at most {late.at_most * 100:g} %.")
    else:
        print("Late: nothing is taken off.")
    if late.grace_minutes:
        print(f"Not late: up to {late.grace_minutes:g} minutes after.")
    if late.closes_after_days is not None:
        print(f"After {late.closes_after_days:g} days all marks are taken off.")
    for student in sorted(limit.extra):
        print(f"    {student}: {limit.told(limit.of(student))}")
    for student, when in sorted(limit.came.items()):
        print(f"    {student}: came {limit.told(when)}")
    return 0


def _marks(options: argparse.Namespace) -> int:
    desk = _desk(options)
    lesson = desk.lesson(options.lesson)
    if not options.form and not options.fill:
        return _tell_marks(desk, lesson)
    given = Path(options.fill).expanduser() if options.fill else None
    path, filled = desk.for_platform(lesson, options.form, given, options.column)
    for line in filled.listed:
        print(f"LOOK       {line}")
    print(f"{len(filled.done)} marks for the platform: {path}")
    return 0


def _by_hand(options: argparse.Namespace) -> int:
    from needlework.basis.errors import BadData
    from needlework.desk import by_hand_server

    desk = _desk(options)
    lesson = desk.lesson(options.lesson)
    rows = desk.marks(lesson)
    if all(row["mark"] == "" for row in rows):
        raise BadData(f"Nothing is marked yet: type '{desk.command('mark', lesson)}' first.")
    waiting = desk.waiting(lesson, rows)
    count = len(waiting)
    print(f"{count} {'answer waits' if count == 1 else 'answers wait'} for your mark.")
    by_hand_server.serve(desk.folder, lesson, not options.no_browser)
    return _tell_marks(desk, lesson)


def _set_mark(options: argparse.Namespace) -> int:
    from needlework.basis.errors import BadData

    desk = _desk(options)
    lesson = desk.lesson(options.lesson)
    mark = None
    if options.mark != "back":
        try:
            mark = float(options.mark)
        except ValueError:
            raise BadData(f"'{options.mark}' is no mark: give a number such as 1.5, or the word back.") from None
    total = desk.set_mark(lesson, options.student, options.question, mark, options.because)
    done = "is as it was marked by itself" if mark is None else f"is set to {mark:g}"
    print(f"'{options.question}' of {options.student} {done}; in all {total:g}.")
    _tell_out_of_date(desk, lesson, [options.student])
    return 0


def _read_marks(options: argparse.Namespace) -> int:
    desk = _desk(options)
    lesson = desk.lesson(options.lesson)
    report = desk.read_marks(lesson, Path(options.file).expanduser() if options.file else None)
    for one in report.changes:
        if one.marks:
            mark = "back to what marking gave" if one.mark is None else f"{one.mark:g}"
            print(f"set        {one.student}, '{one.question}': {mark}")
        if one.because is not None:
            print(f"set        {one.student}, '{one.question}': the comment")
    for line in report.listed:
        print(f"NOT TAKEN  {line}")
    count = sum(one.marks + (one.because is not None) for one in report.changes)
    print(f"{count} set, {report.unchanged} rows unchanged, {len(report.listed)} not taken.")
    if report.changes:
        _tell_out_of_date(desk, lesson, [one.student for one in report.changes])
    return 0


def _accept_name(options: argparse.Namespace) -> int:
    desk = _desk(options)
    lesson = desk.lesson(options.lesson)
    back = options.back is not None
    named = desk.accept_name(lesson, options.student, back)
    if back:
        print(f"Taken back: the work of {options.student}, with the numbers of “{named}”, has no mark any more.")
    else:
        print(f"The work of {options.student} counts with the numbers of “{named}”. To take that back:")
        print(f"    {desk.command('accept-name', lesson, options.student, 'back')}")
    from needlework.desk.collect import read_roster, the_student

    student = the_student(options.student, read_roster(desk.folder / "students.csv"))
    path, _ = desk.write_marks(lesson)
    _tell_rows([row for row in desk.marks(lesson) if row["student"] == student])
    print(f"Marks: {path}")
    for place, step in ((f"class/{lesson}.html", "class"), (f"hand-back/{lesson}", "hand-back")):
        if (desk.folder / place).exists():
            print(f"Made before this, so make it once more: {desk.command(step, lesson)}")
    return 0


def _before_handing_back(desk: Any, lesson: str) -> None:
    """Say, before pages are made, whose work is not settled yet."""
    rows = desk.marks(lesson)
    unsettled = [row["student"] for row in rows if row["mark"] != "" and row["look_at"]]
    unmarked = [row["student"] for row in rows if row["mark"] == ""]
    full = desk.class_list()
    missing = [student for student in full if student not in {row["student"] for row in rows}]
    for students, said in (
        (unsettled, "Something still needs a look, and there is a page all the same"),
        (unmarked, "No mark, and so no page"),
        (missing, "Nothing handed in yet, so these may still read the pages of others"),
    ):
        if students:
            more = f" and {len(students) - _MOST_NAMED} more" if len(students) > _MOST_NAMED else ""
            print(f"{said} ({len(students)}): {', '.join(students[:_MOST_NAMED])}{more}.")


def _take_out(options: argparse.Namespace) -> int:
    desk = _desk(options)
    lesson = desk.lesson(options.lesson)
    if not options.student:
        place = desk.take_out_homework(lesson)
        print(f"'{lesson}' is not handed out any more; what was made for it is kept in {place}.")
        print(f"To hand it out after all: {desk.command('hand-out', lesson)}")
        return 0
    kept = desk.take_out(lesson, options.student)
    student = kept.parent.parent.name
    print(f"Nothing of {student} counts in '{lesson}' any more; the file is kept as {kept}.")
    print("If it is to count after all:")
    print(f"  {desk.command('collect', lesson, str(kept), '--student', student, '--this-one')}")
    for place, step in ((f"class/{lesson}.html", "class"), (f"hand-back/{lesson}", "hand-back")):
        if (desk.folder / place).exists():
            print(f"Made before this, so make it once more: {desk.command(step, lesson)}")
    return 0


def _hand_back(options: argparse.Namespace) -> int:
    from needlework.desk import handing_out

    desk = _desk(options)
    lesson = desk.lesson(options.lesson)
    _before_handing_back(desk, lesson)
    place, done, left = desk.hand_back(lesson, options.show, _Bar("pages", "page"))
    fetched, why = desk.put_back(lesson, done)
    for student, reason in left:
        print(f"no page for {student}: {reason}")
    print(f"{len(done)} {'page' if len(done) == 1 else 'pages'} to hand back: {place}")
    if len(fetched) < len(done):
        print("Nothing is sent by itself: each page is for the one student in its name, so send each theirs alone.")
    show = handing_out.shown(desk.folder, lesson)
    print(f"They show {handing_out.SHOWN[show]} (--show {show}); it stays so until you choose another:")
    for other in (each for each in handing_out.SHOWN if each != show):
        print(f"    {handing_out.SHOWN[other]}: {desk.command('hand-back', lesson, '--show', other)}")
    if fetched:
        print(f"{len(fetched)} of them can be fetched through the exchange now.")
    if why:
        print(why)
    return 1 if why else 0


def _class(options: argparse.Namespace) -> int:
    desk = _desk(options)
    page, table, first = desk.look_at_class(desk.lesson(options.lesson))
    for line in first:
        # What is bold or typed on the page is plain in a terminal.
        print(re.sub(r"\*\*([^*]+)\*\*|`([^`]+)`", r"\1\2", line))
    print(f"Open this page in a browser: {page}")
    print(f"The same as a table: {table}")
    return 0


def _tell_all(options: argparse.Namespace) -> int:
    desk = _desk(options)
    lesson = desk.lesson(options.lesson)
    path, reached = desk.tell_all(lesson, options.question, options.part, options.answer, options.comment)
    if options.comment == "back":
        print(f"The comment is taken back; the others, if there are any, stay in {path}.")
    else:
        who = f": {', '.join(reached)}" if reached else " so far; whoever hands in this answer later gets it"
        print(f"The comment reaches {len(reached)} {'student' if len(reached) == 1 else 'students'}{who}.")
        print(f"It is kept in {path}, which you may edit.")
    _tell_out_of_date(desk, lesson, reached)
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
    parser.add_argument("--extra", metavar="FOLDER", help="a folder of lessons of your own")
    steps = parser.add_subparsers(dest="step", metavar="step", required=True)

    def step(name: str, run: Any, text: str) -> argparse.ArgumentParser:
        made: argparse.ArgumentParser = steps.add_parser(name, help=text)
        made.add_argument("lesson", help="its name or title, for example station-passage")
        # Said after the step it means the same; not said there, it leaves what stands before the step.
        made.add_argument("--desk", default=argparse.SUPPRESS, help="the desk's folder, as above")
        made.add_argument(
            "--extra", metavar="FOLDER", default=argparse.SUPPRESS, help="lessons of your own, as above"
        )
        made.set_defaults(run=run)
        return made

    out = step("hand-out", _hand_out, "make the notebook for the students")
    out.add_argument("--name", default="", help="of a part of the lesson: what tells it from others, as week-2")
    out.add_argument("--sittings", default="", help="set these sittings only, for example 1,2")
    out.add_argument("--questions", default="", help="set these questions only, or besides")
    out.add_argument("--new-numbers", action="store_true", help="draw numbers that no hand-out had before")
    out.add_argument("--exchange", metavar="FOLDER", help="put it into nbgrader's exchange (or NEEDLEWORK_EXCHANGE)")
    sitting = step("sitting", _sitting, "make a supervised sitting: other numbers of the task at each seat")
    sitting.add_argument("--name", required=True, help="what tells it from others, for example monday")
    sitting.add_argument("--seats", type=int, required=True, help="how many seats there are")
    sitting.add_argument("--from", dest="begins", default="", help='when it begins, like "2026-11-30 09:00"')
    sitting.add_argument("--until", dest="ends", default="", help="when it ends")
    collecting = step("collect", _collect, "take in what came back")
    collecting.add_argument("place", nargs="?", help="folder, zip or notebook; without it, the exchange")
    collecting.add_argument("--student", default="", help="whose it is, if its name does not say so")
    collecting.add_argument("--this-one", action="store_true", help="let it count although a newer one is there")
    taking_out = step("take-out", _take_out, "take a student's work out again, or a homework that nobody handed in")
    taking_out.add_argument("student", nargs="?", default="", help="whose; without it, the homework itself")
    marking = step("mark", _mark, "mark what is new")
    marking.add_argument("--again", action="store_true", help="mark everything afresh")
    marking.add_argument("--trust", action="store_true", help="run the students' code even without bubblewrap")
    marking.add_argument(
        "--cluster", metavar="ADDRESS", default="", help="let a cluster do the work (dask scheduler)"
    )
    step("due", _due, "say when it is due, and for whom later")
    showing = step("marks", _marks, "show the marks and write them as CSV, or for a learning platform")
    showing.add_argument("--form", choices=("moodle", "canvas"), default="", help="make a form for this platform")
    showing.add_argument("--fill", metavar="FILE", default="", help="fill in the file that the platform gave you")
    showing.add_argument("--column", default="", help="its column, where it cannot be told")
    reading = step("read-marks", _read_marks, "take in the marks file after you changed it in a spreadsheet")
    reading.add_argument("file", nargs="?", default="", help="the file (default: the one in 'marks' on the desk)")
    hand = step("by-hand", _by_hand, "mark texts in the browser, on nbgrader's own pages")
    hand.add_argument("--no-browser", action="store_true", help="print the address only")
    setting = step("set-mark", _set_mark, "set the mark of one question by hand")
    setting.add_argument("student", help="as in the marks")
    setting.add_argument("question", help="its name, as in the marks file, for example sp-cone")
    setting.add_argument("mark", help="the mark, or the word back for what marking gave")
    setting.add_argument("--because", default="", help="what the student is told, in quotation marks")
    accepting = step("accept-name", _accept_name, "let a hand-in count that was worked under another name")
    accepting.add_argument("student", help="under whom it came in")
    accepting.add_argument("back", nargs="?", choices=("back",), help="the word back: take it back")
    step("class", _class, "what the class knows: a page with the marks, the questions and the mistakes")
    telling = step("tell-all", _tell_all, "tell everyone with the same answer the same, on the page handed back")
    telling.add_argument("question", help="its name, as in the marks file, for example sp-cone")
    telling.add_argument("answer", help='the answer, as the page of "class" writes it, for example "off by +10"')
    telling.add_argument("comment", help="what they are told, in quotation marks, or the word back")
    telling.add_argument("--part", default="", help="the cell of a table, as the page names it")
    back = step("hand-back", _hand_back, "make one page a student with marks and reasons")
    back.add_argument(
        "--show",
        choices=("worked", "verdicts", "marks"),
        default="",
        help="what the pages tell, until another is chosen (at first: worked)",
    )
