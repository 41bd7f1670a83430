"""Paper for a class: a side a seat with numbers of its own, a sheet with the answers, and the teacher's card."""

from __future__ import annotations

import argparse
import math
import re
import typing
from collections.abc import Sequence
from functools import cache, partial
from pathlib import Path
from typing import Any

from needlework.basis.errors import BadData
from needlework.basis.places import released_lessons
from needlework.course import command
from needlework.course.classroom import deck, films, flown, kept, replays
from needlework.exercises import judging, progress
from needlework.exercises.catalogue import LESSONS, QUESTIONS
from needlework.exercises.kinds import Choice, Number, Question, Table
from needlework.showing.pictures import CAUTION, new_figure

if typing.TYPE_CHECKING:
    from matplotlib.figure import Figure

_WIDE_IN, _HIGH_IN = 8.27, 11.69
"""A4. Source: ISO 216."""
_EDGE_IN, _POINTS = 0.75, 72.0
_BODY_PT, _HEAD_PT, _SEAT_PT = 10.5, 14.0, 40.0
_LEAST_SKETCH_IN = 1.2
_MOST_SEATS = 60
_SLIPS = 5
"""So many wrong values stand beside an answer; more is not read while walking."""
_COLUMNS, _SEAT_IN, _ROW_IN, _SLIP_IN, _HEAD_LINES = 10, 0.5, 0.33, 0.35, 4
_SMALL_PT, _TINY_PT = 8.0, 6.5
"""Of the table of answers: columns at most, room for a seat's number, a row and a wrong value, and sizes of type."""
_FONT = "DejaVu Sans"


@cache
def _width_in(words: str, size_pt: float, bold: bool) -> float:
    """Measure words as they will be printed. [in]"""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import TextToPath

    font = FontProperties(family=_FONT, size=size_pt, weight="bold" if bold else "normal")
    return float(TextToPath().get_text_width_height_descent(words, font, ismath=False)[0]) / _POINTS


def _plain(text: str) -> str:
    return re.sub(r"\*\*|`|(?<!\w)\*(?=\w)|(?<=\w)\*(?!\w)", "", text)


def _wrapped(text: str, wide_in: float, size_pt: float, bold: bool) -> list[str]:
    lines = []
    for paragraph in _plain(text).split("\n"):
        line = ""
        for word in paragraph.split():
            longer = f"{line} {word}".strip()
            if line and _width_in(longer, size_pt, bold) > wide_in:
                lines.append(line)
                longer = word
            line = longer
        lines.append(line)
    return lines


class _Paper:
    """Pages written from the top downwards."""

    def __init__(self, wide_in: float = _WIDE_IN, high_in: float = _HIGH_IN) -> None:
        self.wide_in, self.high_in = wide_in, high_in
        self.pages: list[Figure] = []
        self.left_in = 0.0
        self.turn()

    def turn(self) -> None:
        """Begin a new page."""
        page = new_figure(self.wide_in, self.high_in)
        page.set_layout_engine("none")
        page.text(_EDGE_IN / self.wide_in, 0.4 / self.high_in, CAUTION, fontsize=8.5, family=_FONT)
        self.pages.append(page)
        self.left_in = self.high_in - 2 * _EDGE_IN

    def _at(self, right_in: float) -> tuple[float, float]:
        return (_EDGE_IN + right_in) / self.wide_in, (_EDGE_IN + self.left_in) / self.high_in

    @property
    def inner_in(self) -> float:
        """Room from edge to edge. [in]"""
        return self.wide_in - 2 * _EDGE_IN

    def put(
        self, text: str, right_in: float, size_pt: float = _BODY_PT, bold: bool = False, align: str = "left"
    ) -> None:
        """Write one line at the present height without going on."""
        weight = "bold" if bold else "normal"
        page, (x, y) = self.pages[-1], self._at(right_in)
        page.text(x, y, text, fontsize=size_pt, weight=weight, family=_FONT, va="top", ha=align)

    def write(
        self, text: str, size_pt: float = _BODY_PT, bold: bool = False, right_in: float = 0.0, turns: bool = True
    ) -> None:
        """Write words, on as many lines as they need."""
        for line in _wrapped(text, self.inner_in - right_in, size_pt, bold):
            self.line(1.4 * size_pt / _POINTS, lambda line=line: self.put(line, right_in, size_pt, bold), turns)

    def line(self, high_in: float, draw: Any, turns: bool = True) -> None:
        """Draw something so high and go on below it; on the next page, where there is no room here."""
        if turns and self.left_in < high_in:
            self.turn()
        draw()
        self.left_in -= high_in

    def rule(self, from_in: float, to_in: float, drop_in: float = 0.0) -> None:
        """Draw a line from left to right at the present height."""
        from matplotlib.lines import Line2D

        (x0, y), (x1, _) = self._at(from_in), self._at(to_in)
        y -= drop_in / self.high_in
        self.pages[-1].add_artist(Line2D([x0, x1], [y, y], color="black", linewidth=0.9))

    def box(self, right_in: float, wide_in: float, high_in: float) -> None:
        """Draw an empty box below the present height."""
        from matplotlib.patches import Rectangle

        x, y = self._at(right_in)
        size = wide_in / self.wide_in, -high_in / self.high_in
        self.pages[-1].add_artist(Rectangle((x, y), *size, fill=False, linewidth=0.9))

    def save(self, path: Path) -> None:
        """Write all pages into one file; its folder is made where it is not there yet."""
        from matplotlib.backends.backend_pdf import PdfPages

        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            with PdfPages(path, metadata={"CreationDate": None}) as file:
                for page in self.pages:
                    file.savefig(page)
        except OSError as error:
            raise BadData(f"{path} cannot be written ({error.strerror}): choose another place with --to.") from error


# --- a side a seat ----------------------------------------------------------------------------------------------


def _fields(paper: _Paper, question: Question, givens: dict[str, Any], turns: bool = False) -> None:
    """Leave room for the answer: boxes for letters, lines for numbers."""
    if isinstance(question, Choice):
        for letter, text in question.options.items():
            said = question.fill(text, givens)
            lines = _wrapped(f"{letter}  {said}" if said != letter else letter, paper.inner_in - 0.4, _BODY_PT, False)
            for number, line in enumerate(lines):
                if not number:
                    paper.box(0.05, 0.16, 0.16)
                paper.line(0.22, lambda line=line: paper.put(line, 0.35), turns)
    elif isinstance(question, Table):
        for label, cell in question.cells(givens).items():
            options = " / ".join(cell.options) if isinstance(cell, Choice) else getattr(cell, "unit", "")
            lines = _wrapped(label, 3.4, _BODY_PT, False)
            for line in lines[:-1]:
                paper.line(0.2, lambda line=line: paper.put(line, 0.1), turns)
            paper.put(lines[-1], 0.1)
            paper.rule(3.7, 5.0, 0.19)
            paper.line(0.3, lambda options=options: paper.put(options, 5.1), turns)
    elif isinstance(question, Number):
        paper.left_in -= 0.08
        paper.rule(0.1, 2.0, 0.19)
        paper.line(0.3, lambda: paper.put(question.unit, 2.1), turns)


def _asked(paper: _Paper, number: int, question: Question, givens: dict[str, Any]) -> None:
    paper.write(f"{number}  {question.fill(question.prompt, givens)}", turns=False)
    if question.shown:
        paper.write(question.fill(question.shown, givens), bold=True, turns=False)
    _fields(paper, question, givens)
    paper.left_in -= 0.14


def _whole(key: str) -> deck.Deck:
    """Give a lesson's steps with the teacher's own periods."""
    return deck.with_own(deck.deck(key, released_lessons()), kept.periods(progress.folder(), key))


def chosen(key: str, wanted: Sequence[str] = (), period: str = "") -> list[Question]:
    """Choose the questions of a worksheet: those asked for, or those that a period has the class work on paper.

    Parameters
    ----------
    key : str
        Lesson key.
    wanted : sequence of str
        Labels of questions; empty for those of the period.
    period : str
        Name or number of the period; the lesson's first, if left out. Where it has no work on paper, as many of its
        questions as one side has room for.

    Returns
    -------
    list of Question
        In the order of the period, or as asked for.

    Raises
    ------
    BadData
        If there is no such question or period, it cannot be answered on paper, or they do not fit on one side.
    """
    made = deck.of_period(_whole(key), period) if period else None
    if not wanted:
        if made is None:
            lesson = deck.deck(key, released_lessons())
            made = deck.of_period(lesson, lesson.periods[0].name)
        wanted = [
            each.strip()
            for step in made.steps
            if step.kind == "paper"
            for each in step.name.removeprefix(deck.ON_PAPER).split(",")
        ]
    moved = deck.beside_what_ifs(key, released_lessons())
    there = [QUESTIONS[name] for name in LESSONS[key].questions if name not in moved]
    fit = [each for each in there if isinstance(each, (Choice, Number, Table)) and not each.task and not each.figure]
    if wanted:
        known = {each.key: each for each in fit}
        for name in wanted:
            if name not in known:
                raise BadData(f"'{name}' cannot be asked on paper: choose from {', '.join(known)}.")
        questions: list[Question] = [known[name] for name in wanted]
        if _room_left(key, questions) < 0:
            raise BadData("These questions need more than one side: ask for fewer of them.")
        return questions
    assert made is not None
    asked, questions = {step.name for step in made.steps}, []
    for each in fit:
        if each.key in asked and _room_left(key, [*questions, each]) >= _LEAST_SKETCH_IN:
            questions.append(each)
    if not questions:
        raise BadData(f"'{made.periods[0].name}' asks nothing that can be worked on paper: choose another period.")
    return questions


def _room_left(key: str, questions: Sequence[Question]) -> float:
    return _side(_Paper(), key, questions, 88)


def _seat(number: int) -> str:
    return f"seat {number:02d}"


def _side(paper: _Paper, key: str, questions: Sequence[Question], seat: int) -> float:
    """Write one side; give the room that is left on it, less than nothing where it is too full. [in]"""
    paper.put(f"{seat:02d}", paper.inner_in, _SEAT_PT, True, "right")
    paper.write(LESSONS[key].title, _HEAD_PT, True, turns=False)
    paper.left_in -= 0.1
    paper.line(0.45, lambda: paper.put("Name", 0.0), False)
    paper.rule(0.6, 4.5, -0.25)
    for number, question in enumerate(questions, 1):
        _asked(paper, number, question, judging.draw(question, _seat(seat)))
    return paper.left_in


def sheets(key: str, seats: int, wanted: Sequence[str] = (), period: str = "") -> _Paper:
    """Write one side a seat, each with numbers of its own: those of a learner whose name is ``seat 07``.

    Parameters
    ----------
    key : str
        Lesson key.
    seats : int
        How many.
    wanted : sequence of str
        Labels of questions; empty for those of the period.
    period : str
        Name or number of the period; the lesson's first, if left out.

    Returns
    -------
    _Paper
        One page a seat.

    Raises
    ------
    BadData
        If the questions do not fit on a side, or cannot be asked on paper.
    """
    paper, questions = _Paper(), chosen(key, wanted, period)
    for seat in range(1, seats + 1):
        if seat > 1:
            paper.turn()
        left = _side(paper, key, questions, seat)
        if left >= _LEAST_SKETCH_IN:
            paper.put("Sketch", 0.0)
            paper.left_in -= 0.22
            paper.box(0.0, paper.inner_in, left - 0.25)
    return paper


# --- the answers ------------------------------------------------------------------------------------------------


def _rows(question: Question, seat: int) -> list[tuple[str, str, dict[str, str], dict[str, str]]]:
    """Give, for each thing asked: its label, the right answer, and by code the wrong values and their sentences."""
    givens = judging.draw(question, _seat(seat))
    cells = question.cells(givens).items() if isinstance(question, Table) else [("", question)]
    made = []
    for label, cell in cells:
        right = _answer(cell, cell.right(givens), givens)
        values: dict[str, str] = {}
        says: dict[str, str] = {}
        for slip, value in sorted(cell.mistakes(givens), key=lambda each: (each[0].rare, each[0].inherited)):
            if slip.code not in values and deck.likely(cell, value, givens):
                values[slip.code] = _answer(cell, value, givens)
                says[slip.code] = cell.fill(slip.says, givens, chosen="", Chosen="")
        made.append((label, right, values, says))
    return made


def answers(key: str, seats: int, wanted: Sequence[str] = (), period: str = "") -> _Paper:
    """Write the answers: a row a seat, a column for each thing asked, and below each the values of usual mistakes.

    Parameters
    ----------
    key : str
        Lesson key.
    seats : int
        How many.
    wanted, period : sequence of str, str
        As for the sheets.

    Returns
    -------
    _Paper
        As many pages as it needs, on their long side.

    Raises
    ------
    BadData
        As for the sheets.
    """
    paper = _Paper(_HIGH_IN, _WIDE_IN)
    paper.write(f"{LESSONS[key].title}: answers", _HEAD_PT, True)
    columns = []
    for number, question in enumerate(chosen(key, wanted, period), 1):
        by_seat = [_rows(question, seat) for seat in range(1, seats + 1)]
        for place, (label, _, _, _) in enumerate(by_seat[0]):
            columns.append((number, question.title, label, [rows[place] for rows in by_seat]))
    # As alike in number as can be, where the page is not wide enough for all.
    tables = math.ceil(len(columns) / _COLUMNS)
    share = math.ceil(len(columns) / tables)
    for first in range(0, len(columns), share):
        _answer_table(paper, columns[first : first + share], seats)
    return paper


def _answer_table(paper: _Paper, columns: Sequence[tuple[int, str, str, Any]], seats: int) -> None:
    wide = (paper.inner_in - _SEAT_IN) / len(columns)
    slips = max(1, min(_SLIPS, int(wide / _SLIP_IN)))
    codes = [list(dict.fromkeys(code for row in rows for code in row[2]))[:slips] for *_, rows in columns]
    heads = [
        _wrapped(f"{number}  {label or title}", wide - 0.1, _SMALL_PT, True)[:_HEAD_LINES]
        for number, title, label, _ in columns
    ]

    def head() -> None:
        for n, lines in enumerate(heads):
            for at, line in enumerate(lines):
                paper.left_in -= 0.14 * at
                paper.put(line, _SEAT_IN + wide * n, _SMALL_PT, True)
                paper.left_in += 0.14 * at

    def row(seat: int) -> None:
        paper.put(f"{seat:02d}", 0.0, _BODY_PT)
        for n, (*_, rows) in enumerate(columns):
            _, right, values, _ = rows[seat - 1]
            paper.put(_cut(right, wide, _BODY_PT, True), _SEAT_IN + wide * n, _BODY_PT, True)
            said = "  ".join(f"{'abcde'[at]} {values[code]}" for at, code in enumerate(codes[n]) if code in values)
            paper.left_in -= 0.17
            paper.put(_cut(said, wide, _TINY_PT), _SEAT_IN + wide * n, _TINY_PT)
            paper.left_in += 0.17

    high = 0.14 * max(map(len, heads)) + 0.08
    paper.left_in -= 0.12
    for seat in range(1, seats + 1):
        if seat == 1 or paper.left_in < _ROW_IN:
            if paper.left_in < high + _ROW_IN:
                paper.turn()
            paper.line(high, head)
        paper.line(_ROW_IN, partial(row, seat))
    for n, (number, title, label, rows) in enumerate(columns):
        paper.left_in -= 0.06
        if paper.left_in < 0.5:
            paper.turn()
        paper.write(f"{number}  {title}{f': {label}' if label else ''}", _SMALL_PT, True)
        for at, code in enumerate(codes[n]):
            said = next(each[3][code] for each in rows if code in each[3])
            paper.write(f"{'abcde'[at]}  {said}", _SMALL_PT, right_in=0.2)


def _answer(cell: Question, value: Any, givens: dict[str, Any]) -> str:
    """Write an answer as it is compared while walking: without its unit."""
    said = deck.written(cell, value, givens)
    return said.removesuffix(cell.unit).removeprefix(cell.unit).strip() if isinstance(cell, Number) else said


def _cut(text: str, wide_in: float, size_pt: float, bold: bool = False) -> str:
    while text and _width_in(text, size_pt, bold) > wide_in - 0.08:
        text = text[:-2].rstrip() + "…" if len(text) > 2 else ""
    return text


# --- the teacher's card -----------------------------------------------------------------------------------------

_BEATS = {
    "ask": "question", "think": "think", "picture": "picture", "vote": "vote 0:30", "hold": "say why 1:30",
    "second": "vote again 0:30", "answer": "answer", "wrong": "usual wrong answers", "why": "why",
    "set": "covered: Space flies it",
    "shown": "at its end", "show": "show", "fly": "the class orders", "replay": "shown again",
    "beside": "beside the wanted flight", "what": "what was seen", "cause": "why", "next": "next time",
    "listen": "listen", "bands": "band by band", "work": "the class works 5:00", "answers": "answers seat by seat",
}  # fmt: skip


_KEYS = (
    ("Everywhere", "Page Down: next screen; a long beat has more than one. Page Up: back. . or b: black. "
     "g 12 Enter: to step 12. m 4 Enter: timer of "
     "4 minutes. c 18 Enter: 18 in the class. d: draw, and end drawing. h: dashes. x: wipe. p: paper to sketch on. "
     "o: ring round the pointer. ?: the keys of what is on the wall. Escape twice: leave."),
    ("Vote", "9 2 5 2 Enter: the counts of A, B, C, D. With the answer, Shift and a letter: what is wrong with it."),
    ("What flies", "Space: fly, freeze. n: to the next needle, in a flight to what comes next. +, −: faster, slower. "
     "1 to 5: cover or show plan, needle, numbers, words, way ahead; 0: show all. s 1: the first instrument alone. "
     "Up, down: choose a knob; left, right: move it; r: back to the setting."),
    ("A plate, recordings", "l: play, stop. 4: dots and dashes, when all have listened."),
    ("A flight", "Up, down: what is ordered; left, right: less or more of it, with Shift a small notch. Backspace: "
     "15 seconds back. r: anew. Shown again: left, right: 10 seconds, with Shift from event to event. "
     "f: another flight. t: by the clock, by the place."),
)  # fmt: skip


def _beat_boxes(paper: _Paper, step: deck.Step) -> None:
    """Write the beats of a step as boxes to be ticked, on as many lines as they need."""
    lines: list[list[tuple[float, str]]] = [[]]
    right_in = 0.35
    for beat in step.beats:
        said = _BEATS[beat] + (f" {step.think_s // 60}:{step.think_s % 60:02d}" if beat == "think" else "")
        wide = 0.35 + _width_in(said, 9.0, False)
        if lines[-1] and right_in + wide > paper.inner_in:
            lines.append([])
            right_in = 0.35
        lines[-1].append((right_in, said))
        right_in += wide
    for line in lines:
        paper.line(0.19, partial(_boxes, paper, line))


def _boxes(paper: _Paper, line: Sequence[tuple[float, str]]) -> None:
    for right_in, said in line:
        paper.box(right_in, 0.12, 0.12)
        paper.put(said, right_in + 0.17, 9.0)


def card(key: str, period: str) -> _Paper:
    """Write what the teacher has in the hand: steps, keys, settings, right answers, usual wrong ones, minutes.

    Parameters
    ----------
    key : str
        Lesson key.
    period : str
        Name or number of the period.

    Returns
    -------
    _Paper
        As many pages as it needs.

    Raises
    ------
    BadData
        If there is no such lesson or period.
    """
    made = deck.of_period(_whole(key), period)
    paper = _Paper()
    paper.write(f"{made.title}: {made.periods[0].name}", _HEAD_PT, True)
    # Half a minute counts up, as in the list of periods on the wall.
    paper.write(f"{math.floor(sum(step.minutes for step in made.steps) + 0.5)} minutes in all.", 9.0)
    for labels in (step.name.removeprefix(deck.ON_PAPER) for step in made.steps if step.kind == "paper"):
        asked = labels.replace(", ", ",")
        paper.write(f"Before the class, print: python3 lib/start.py worksheet {key} --questions {asked}", 9.0, True)
    for where, keys in _KEYS:
        paper.write(f"{where}. {keys}", 9.0)
    minute = 0.0
    for number, step in enumerate(made.steps, 1):
        paper.left_in -= 0.1
        if paper.left_in < 1.0:
            paper.turn()
        paper.write(f"{number}   {int(minute)}:{round(60 * (minute % 1)):02d}   {step.title}", bold=True)
        minute += step.minutes
        _beat_boxes(paper, step)
        if step.kind == "what-if":
            knobs = films.said_of(step.what_if, step.setting or {}) or "as it stands"
            paper.write(f"Setting: {knobs}. Shows: {step.shows}.", 9.0, right_in=0.35)
        if step.kind == "flight":
            paper.write(step.model, 9.0, right_in=0.35)
            orders = "; ".join(flown.notches(order) for order in flown.orderable(step.name))
            paper.write(f"To be ordered. {orders}.", 9.0, right_in=0.35)
        elif step.kind == "fault":
            _found(paper, key, step)
        elif step.kind == "paper":
            paper.write("Each seat has its worksheet with:", 9.0, right_in=0.35)
            paper.write(step.text, 9.0, right_in=0.35)
            continue
        elif step.kind == "text":
            paper.write(f"{_opening(step.text)} ...", 9.0, right_in=0.35)
        right = step.right or "; ".join(f"{line.label}: {line.right}" for line in step.lines)
        if right:
            paper.write(f"Right: {right}", 9.0, True, 0.35)
        for wrong in step.wrong:
            paper.write(f"{wrong.answer}: {wrong.says}", 9.0, right_in=0.6)
    return paper


def _opening(text: str) -> str:
    """The first sentence of a text, so that whoever holds the card knows which it is."""
    return re.split(r"(?<=[.?!:]) ", re.sub(r"[*_#`]|^[-\d.]+ ", "", text, flags=re.M).replace("\n", " ").strip())[0]


def _found(paper: _Paper, key: str, step: deck.Step) -> None:
    """Write what a class is to find in a flight; on the wall it stands under its number alone."""
    found = replays.to_find(key, int(step.name.rsplit(" ", 1)[1]))
    paper.write(f"The pilot {found.fault}.", 9.0, True, 0.35)
    for said in (f"{found.when} {found.what}", f"Why: {found.cause}", f"Next time: {found.next_time}"):
        paper.write(said, 9.0, right_in=0.6)


# --- commands ---------------------------------------------------------------------------------------------------


def _key(named: str) -> str:
    return command.lesson_named(named, [each.key for each in command.released() if each.key in LESSONS])


def _worksheet(options: argparse.Namespace) -> int:
    if not 1 <= options.seats <= _MOST_SEATS:
        raise BadData(f"{options.seats} seats: expected 1 to {_MOST_SEATS}; larger rooms in two goes.")
    key, wanted = _key(options.lesson), [each for each in (options.questions or "").split(",") if each]
    folder = Path(options.to).expanduser()
    for name, paper in (
        (f"{key} worksheet.pdf", sheets(key, options.seats, wanted, options.period)),
        (f"{key} answers.pdf", answers(key, options.seats, wanted, options.period)),
    ):
        paper.save(folder / name)
        print(f"{folder / name}: {len(paper.pages)} page{'s' if len(paper.pages) > 1 else ''}.")
    return 0


def _card(options: argparse.Namespace) -> int:
    key = _key(options.lesson)
    paper, path = card(key, options.period), Path(options.to).expanduser() / f"{key} card.pdf"
    paper.save(path)
    print(f"{path}: {len(paper.pages)} page{'s' if len(paper.pages) > 1 else ''}.")
    return 0


def add_command(commands: Any) -> None:
    """Add ``worksheet`` and ``card`` to the course's command (both, whichever is asked for; once).

    Parameters
    ----------
    commands : argparse subparsers
        Where they belong.
    """
    if "worksheet" in commands.choices:
        return
    sheet = commands.add_parser("worksheet", help="print one side a seat with numbers of its own, and the answers")
    sheet.add_argument("lesson", help="its name, for example flying-an-arc")
    sheet.add_argument("--seats", type=int, default=20, help="how many (default: 20)")
    sheet.add_argument("--period", default="", help="its name or number (default: the lesson's first)")
    sheet.add_argument("--questions", metavar="A,B", help="labels of questions (default: those of the period)")
    sheet.add_argument("--to", metavar="FOLDER", default=".", help="folder for both files, which is made")
    sheet.set_defaults(run=_worksheet)
    paper = commands.add_parser("card", help="print the teacher's card of a period")
    paper.add_argument("lesson", help="its name, for example flying-an-arc")
    paper.add_argument("--period", default="1", help="its name or number (default: the first)")
    paper.add_argument("--to", metavar="FOLDER", default=".", help="folder for the file; it is made (default: here)")
    paper.set_defaults(run=_card)
